"""Write the likely wrong answers into the tutor's notes, from the bank and from the panels, and the table of ideas.

    python tests/refresh_tutor_notes.py            renew the part between the two marks of every workbook/tutor/NN_*.md
                                                   and of how_to_run_an_evening.md
    python tests/refresh_tutor_notes.py --check    change nothing; say which are stale, or missing

Text outside the marks is written by hand and is left as it is, byte for byte. No right answer of a page is written into
its notes: a wrong value that is right for another of its questions is named by that question's number, and one that has
the right digits is given as a multiple. Exit 0, or 1 if something is amiss.
"""

from __future__ import annotations

import argparse
import functools
import math
import sys
from collections.abc import Mapping
from pathlib import Path

from test_no_answers import answers_in

from pondheat.core import units
from pondheat.core.places import WORKBOOK
from pondheat.front_door import copying
from pondheat.lesson import challenge, ideas, questions
from pondheat.lesson.questions import BANK, Question
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.lesson.unseen_pond import UnseenPond
from pondheat.tutor import challenge_sheets, guesses, key, papers, routes

BEGIN = "<!-- From here to the next mark: made by python tests/refresh_tutor_notes.py; changes are overwritten. -->"
END = "<!-- End of what is made. -->"
OPENING = "The right values, and how far off still counts as right, are in the key: `python -m pondheat key`."
EVENING = "how_to_run_an_evening"  # whose part between the marks is the table of ideas
NOTHING = "Nothing on this page is marked right or wrong."


class Unmarked(ValueError):
    """Notes without the two marks, each once and in order."""


def likely_answers(page: str) -> str:
    """What learners are likely to answer on a page, what each answer shows, and what to ask back; as Markdown."""
    guess = guesses.guess_of(page)
    parts = [_guess(guess)] if guess else []
    parts += [_exercise(question, page) for question in BANK.values() if question.notebook == page]
    parts += [_exercise(question, page, " worked backwards") for question in backwards_on(page)]
    if page == challenge.NOTEBOOK:
        parts += _challenge(challenge_sheets.ponds_of_teams()[0])
    return "\n\n".join([OPENING, *parts] if parts else [NOTHING])


def _challenge(pond: UnseenPond) -> list[str]:
    """What is likely to go wrong with pond 1 of the challenge, step by step."""
    parts = []
    for title, question in challenge_sheets.titled(pond):
        if isinstance(question, ReasonQuestion):
            lines = _wrong(question.choices, question.right, question.replies)
        else:
            lines = "\n".join(f"- **{road.name}**: {road.sentence}" for road in question.misconceptions)
            lines += f"\n\nAsk back: {question.nudge} Then, if need be: {question.step}"
        parts.append(f"**The challenge, pond {pond.number}: {title.lower().rstrip('?')}.**\n\n{lines}")
    return parts


def _guess(guess: guesses.Guess) -> str:
    """The wrong choices of the question before the picture, with the page's own words to each."""
    return f"**The guess.** {guess.question}\n\n{_wrong(guess.options, guess.right, guess.feedback)}"


def _wrong(choices: Mapping[str, str], right: str, replies: Mapping[str, str]) -> str:
    """The wrong choices, with the letter that each has on the screen, and the reply to it."""
    shown = papers.lettered(choices)
    return "\n".join(f"- **{text}**: {replies[key]}" for key, text in shown.items() if key != right)


@functools.cache
def backwards_on(page: str) -> tuple[Question, ...]:
    """The questions of earlier pages that a page asks worked backwards, as it asks them."""
    back = [BANK[key].on(page) for key in routes.returning_on(WORKBOOK / f"{page}.ipynb")]
    return tuple(question for question in back if question.told)


def _exercise(question: Question, page: str, how: str = "") -> str:
    """An exercise with the page's numbers: where each wrong road leads, what it shows, and what to ask back."""
    right, roads = question.values()
    slips = [
        f"- **{typed(roads[road.name], right, question, page)}** ({road.name}): {road.sentence}"
        for road in question.misconceptions
    ]
    return (
        f"**{question.key}{how}** {questions.asked(question, question.given)}\n\n"
        + "\n".join(slips)
        + f"\n\nAsk back: {question.nudge} Then, if need be: {question.step}"
    )


def typed(value: float, right: float, question: Question, page: str) -> str:
    """A wrong value as a learner may give it, or what it is called where it would give an answer away."""
    tens = math.log10(value / right) if value / right > 0 else math.nan
    if math.isfinite(tens) and abs(tens - round(tens)) < 5e-4:  # the right digits with the point in another place
        times = units.digits(10 ** abs(round(tens)))
        return f"{times} times the right value" if tens > 0 else f"1/{times} of the right value"
    if question.unit != "money" and value == round(value):
        unit = question.word or units.pretty(question.unit)
        written = f"{units.digits(value)} {unit}".strip()
    else:
        written = key.answer_text(value, question, units.GBP)
    owners = answers_of(page, written)
    return f"what {' or '.join(owners)} comes to" if owners else written


def answers_of(page: str, text: str) -> list[str]:
    """Keys of a page's own questions, and of those worked backwards there, to which a text gives the right answer."""
    own = frozenset(name for name, question in BANK.items() if question.notebook == page)
    own |= {question.key for question in backwards_on(page)}
    return sorted({name for name, _ in answers_in(text, own, page)} & own)


def table_of_ideas(workbook: Path = WORKBOOK) -> str:
    """Where each idea is predicted, met, practised, tested again and in the challenge; as Markdown."""
    pages = [path.stem for path in sorted(workbook.glob("[0-9][0-9]_*.ipynb"))]
    rows = [ideas.HEADS, ("---",) * len(ideas.HEADS), *ideas.overview(pages, routes.returns(workbook))]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)


def renewed(notes: str, page: str, workbook: Path = WORKBOOK) -> str:
    """Notes with the part between the marks made anew; raises Unmarked."""
    if notes.count(BEGIN) != 1 or notes.count(END) != 1 or notes.index(END) < notes.index(BEGIN):
        raise Unmarked("the two marks must stand in it once each, in order")
    before, rest = notes.split(BEGIN)
    made = table_of_ideas(workbook) if page == EVENING else likely_answers(page)
    return f"{before}{BEGIN}\n\n{made}\n\n{END}{rest.split(END)[1]}"


def main(arguments: list[str] | None = None) -> int:
    """Renew the notes, or with --check only look; returns the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--workbook", type=Path, default=WORKBOOK)
    args = parser.parse_args(arguments)
    amiss = 0
    pages = [path.stem for path in sorted(args.workbook.glob("[0-9][0-9]_*.ipynb"))]
    for page in [*pages, *([EVENING] if args.workbook == WORKBOOK else [])]:
        notes = args.workbook / "tutor" / f"{page}.md"
        try:
            before = notes.read_bytes().decode("utf-8")
            after = renewed(before, page, args.workbook)
        except (OSError, Unmarked) as fault:
            amiss += 1
            print(f"{notes.name}: {fault if isinstance(fault, Unmarked) else 'there are no such notes'}")
            continue
        if args.check and before != after:
            amiss += 1
            print(f"{notes.name}: stale; run python tests/refresh_tutor_notes.py")
        elif before != after:
            copying.write_atomically(notes, after.encode("utf-8"))
            print(f"changed {notes.name}")
    return 1 if amiss else 0


if __name__ == "__main__":
    sys.exit(main())

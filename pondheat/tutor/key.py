"""The tutor's key: questions with their right values, the results of wrong approaches, and the hints.

It is made from the question bank on request and kept out of the workbook, where learners would find it.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.places import WORKBOOK
from pondheat.lesson import questions
from pondheat.lesson.questions import Question
from pondheat.lesson.reasons import ReasonQuestion, of_page
from pondheat.lesson.unseen_pond import UnseenPond
from pondheat.tutor.challenge_sheets import ponds_of_teams, titled
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.papers import lettered, paper
from pondheat.tutor.routes import ROUTES, SHORT, core_keys, pages_of, returning_on, title_of


def key_page(currency: units.Currency = units.GBP, usual: DisplayUnits = METRIC, route: str | None = None) -> str:
    """The key as an HTML file, in the order of the workbook's pages.

    currency: of the exercises; usual: units shown after °C and m³, and the currency of the guesses; route: of which to
    give only what its question sheets ask, by default every question. Raises KeyError for an unknown route.
    """
    title = "Key for the tutor" if route is None else f"Key for the tutor: {ROUTES[route][0].lower()}"
    paths = sorted(WORKBOOK.glob("[0-9][0-9]_*.ipynb")) if route is None else pages_of(route)
    pages = [
        {
            "number": path.stem[:2],
            "title": title_of(path),
            "guess": _guess(path.stem, usual),
            "reasons": [_reason(reason) for reason in of_page(path.stem)],
            "questions": _questions(path, currency, usual, route),
        }
        for path in paths
    ]
    pages = [page for page in pages if page["guess"] or page["questions"]]
    challenge = [_challenge(pond, currency, usual, route == SHORT) for pond in ponds_of_teams(currency)]
    return paper("key.html", title, display=usual, pages=pages, challenge=challenge)


def _guess(page: str, usual: DisplayUnits) -> dict[str, object] | None:
    """The question before a page's picture with its answers; None where the page asks none."""
    guess = guess_of(page, usual)
    if guess is None:
        return None
    return {"ask": guess.question, **_choices(guess.options, guess.right, guess.feedback)}


def _reason(question: ReasonQuestion) -> dict[str, object]:
    return {"ask": question.ask, **_choices(question.choices, question.right, question.replies)}


def _choices(choices: Mapping[str, str], right: str, replies: Mapping[str, str]) -> dict[str, object]:
    """The right choice, its letter, and each wrong one with the reply to it."""
    shown = lettered(choices)
    wrong = [(text, replies[key]) for key, text in shown.items() if key != right]
    return {"right": choices[right], "letter": shown[right][0], "wrong": wrong}


def _questions(path: Path, currency: units.Currency, usual: DisplayUnits, route: str | None) -> list[dict[str, object]]:
    """A page's own questions and then those that come back on it; of a route only those of the page's core."""
    own = [question for question in questions.BANK.values() if question.notebook == path.stem]
    if route is not None:
        return [_question(question, currency, usual) for question in own if question.key in core_keys(path)]
    again = [questions.BANK[key].on(path.stem) for key in returning_on(path)]
    return [
        *(_question(one, currency, usual) for one in own),
        *(_question(one, currency, usual, again=True) for one in again),
    ]


def _challenge(pond: UnseenPond, currency: units.Currency, usual: DisplayUnits, short: bool) -> dict[str, object]:
    """The questions about a team's pond with their answers; short: the three of a one-hour evening."""
    steps = [
        (title, _reason(question) if isinstance(question, ReasonQuestion) else _question(question, currency, usual))
        for title, question in titled(pond, currency, short)
    ]
    return {"name": pond.sheet.name, "saved": "" if short else f"{100 * pond.record.saved:.0f}", "steps": steps}


def _question(
    question: Question, currency: units.Currency, usual: DisplayUnits, again: bool = False
) -> dict[str, object]:
    """A question with its answers, for the numbers printed on the page; again: whether it comes back there."""
    given = question.numbers()
    right, wrong = question.values()
    return {
        "key": question.key,
        "again": again,
        "backwards": question.told is not None,
        "asked": questions.asked(question, given, currency, usual),
        "right": answer_text(right, question, currency, usual),
        "unit": question.word or units.pretty(question.unit, currency),
        "tolerance": question.tolerance_text,
        "worked": questions.worked(question, given, currency, usual),
        "nudge": question.nudge_template,
        "step": question.step_template,
        "misconceptions": [
            (road.name, _wrong_text(road.name, wrong[road.name], question, currency, usual), road.reply_template)
            for road in question.misconceptions
        ],
    }


def _wrong_text(name: str, value: float, question: Question, currency: units.Currency, usual: DisplayUnits) -> str:
    """A wrong value as somebody would write it: a fraction in place of a percentage has no unit."""
    return units.significant(value, 3) if name == "fraction" else answer_text(value, question, currency, usual)


def answer_text(value: float, question: Question, currency: units.Currency, usual: DisplayUnits = METRIC) -> str:
    """A value as an answer to a question would be written: “24 kWh”, “£6.72”, “1.2 winters”."""
    if question.unit == "money":
        return units.money(value, currency, 2 if abs(value) < 1000 else 0)
    unit = question.word or units.pretty(question.unit, currency)
    return usual.quantity(units.significant(value, 3), question.unit, unit)

"""Marking of answers: five outcomes and three hints; no message reveals the right value before the worked solution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.units import Currency, Unreadable
from pondheat.lesson import answers, questions, slips
from pondheat.lesson.answers import Answer
from pondheat.lesson.questions import Question

RIGHT, MISCONCEPTION, WRONG, UNTRIED, UNREADABLE = "right", "a common slip", "not yet", "not tried yet", "not read"
SIGNS = {
    RIGHT: "✓ Right.",
    MISCONCEPTION: "A common slip.",
    WRONG: "Not yet.",
    UNTRIED: "Not tried yet.",
    UNREADABLE: "? Not read.",
}
TRIES_BEFORE_SOLUTION = 2


@dataclass(frozen=True)
class Mark:
    """The mark of one answer: the outcome, the name of the misconception behind it if any, and the reply."""

    outcome: str
    misconception: str | None
    message: str


def mark(
    question: Question,
    typed: str,
    given: Mapping[str, float],
    currency: Currency = units.GBP,
    preferred: DisplayUnits = METRIC,
) -> Mark:
    """The mark of a typed answer to a question with these numbers; preferred: units to add to the reply.

    A right answer and a misconception are recognised in any notation and unit; a wrong value that is neither gets the
    slip it suggests (see `slips`).
    """
    if not str(typed).strip():
        return Mark(UNTRIED, None, SIGNS[UNTRIED])
    try:
        found = answers.readings(typed, question.unit, currency, question.word)
    except Unreadable as error:
        how = slips.format_sentence(question, given, currency)
        return Mark(UNREADABLE, None, f"{SIGNS[UNREADABLE]} {error} {how}")
    marks = [_mark_of(question, one, given, preferred) for one in found]
    return next((one for one in marks if one.outcome != WRONG), marks[0])


def _mark_of(question: Question, answer: Answer, given: Mapping[str, float], preferred: DisplayUnits) -> Mark:
    """The mark of one reading of an answer."""
    note = f" {answer.note}" if answer.note else ""
    right, wrong = question.values(given)
    if slips.near(answer.value, right, question.tolerance):
        return Mark(RIGHT, None, f"{SIGNS[RIGHT]} That's how it's done.{note}")
    for one in question.misconceptions:
        if slips.near(answer.value, wrong[one.name], question.tolerance):
            reply = preferred.with_alt_units(one.reply_template)
            return Mark(MISCONCEPTION, one.name, f"{SIGNS[MISCONCEPTION]} {reply}{note}")
    said = slips.slip(question, answer.value, given) or slips.direction(question, answer.value, given)
    return Mark(WRONG, None, f"{SIGNS[WRONG]} {said} Take a hint, or try again.{note}")


def not_quite(reason: str) -> str:
    """The reply to a wrong choice: why many people make it, and what it misses.

    >>> not_quite("It's what we feel. But it's the smallest.")
    "Not quite – here's why many people think so: it's what we feel. But it's the smallest."
    """
    return f"Not quite – here's why many people think so: {reason[0].lower()}{reason[1:]}"


@dataclass
class Exercise:
    """One exercise as a reader works on it: its numbers, tries and hints. `attempt`, `hint` and `renew` change it.

    preferred: units to add to all its texts; page: the notebook it is asked on, by default its own; own: a question
    that is not in the bank.
    """

    key: str
    currency: Currency = units.GBP
    preferred: DisplayUnits = METRIC
    seed: int | None = None
    tries: int = 0
    hints: list[str] = field(default_factory=list)
    solved: bool = False
    page: str = ""
    own: Question | None = None

    @property
    def question(self) -> Question:
        """The question, as the page asks it."""
        if self.own is not None:
            return self.own
        question = questions.BANK[self.key]
        return question.on(self.page or question.notebook)

    @property
    def given(self) -> dict[str, float]:
        """The present numbers."""
        return self.question.numbers(self.seed)

    def text(self) -> str:
        """The question with its numbers, unit and rounding."""
        unit = self.question.word or units.pretty(self.question.unit, self.currency)
        how = f"Answer in {unit}, {self.question.rounding}" if unit else self.question.rounding.capitalize()
        tolerance = self.preferred.with_alt_units(self.question.tolerance_text)
        return (
            f"{questions.asked(self.question, self.given, self.currency, self.preferred)} "
            f"({how}. Up to {tolerance} out counts as right.)"
        )

    def attempt(self, typed: str) -> Mark:
        """Mark an answer; wrong ones count as tries, unreadable ones do not."""
        found = mark(self.question, typed, self.given, self.currency, self.preferred)
        if found.outcome in (MISCONCEPTION, WRONG):
            self.tries += 1
        self.solved = self.solved or found.outcome == RIGHT
        return found

    @property
    def may_see_solution(self) -> bool:
        """Whether the worked solution may be opened: after two tries, or after both other hints."""
        return self.tries >= TRIES_BEFORE_SOLUTION or len(self.hints) >= 2

    def hint(self) -> str | None:
        """Append and return the next hint: a nudge, a step, the worked solution; None after that."""
        if len(self.hints) == 0:
            self.hints.append(self.preferred.with_alt_units(self.question.nudge_template))
        elif len(self.hints) == 1:
            self.hints.append(self.preferred.with_alt_units(self.question.step_template))
        elif len(self.hints) == 2:
            solution = questions.worked(self.question, self.given, self.currency, self.preferred)
            self.hints.append(f"Worked: {solution}")
        else:
            return None
        return self.hints[-1]

    def renew(self) -> None:
        """Draw fresh numbers and reset tries and hints."""
        self.seed = 1 if self.seed is None else self.seed + 1
        self.tries, self.hints, self.solved = 0, [], False

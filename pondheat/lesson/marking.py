"""Marking: five outcomes, never the expected value in a message, three hints, fresh numbers after the worked solution."""

from __future__ import annotations

from dataclasses import dataclass, field

from pondheat.core import units
from pondheat.core.units import Currency, Unreadable
from pondheat.lesson import answers, questions
from pondheat.lesson.questions import Question

RIGHT, ROAD, WRONG, UNTRIED, UNREADABLE = "right", "a common slip", "not yet", "not tried yet", "not read"
SIGNS = {
    RIGHT: "✓ Right.",
    ROAD: "A common slip.",
    WRONG: "Not yet.",
    UNTRIED: "Not tried yet.",
    UNREADABLE: "? Not read.",
}
TRIES_BEFORE_SOLUTION = 2


@dataclass(frozen=True)
class Mark:
    """What marking says of one answer: the outcome, the road's name where one was taken, and the sentence."""

    outcome: str
    road: str | None
    message: str


def mark(question: Question, typed: str, given: dict, currency: Currency = units.GBP) -> Mark:
    """Hold one typed answer against a question with these numbers.

    Roads are for bare numbers only: an answer with a unit is converted first and then right or not yet.
    """
    if not str(typed).strip():
        return Mark(UNTRIED, None, SIGNS[UNTRIED])
    try:
        answer = answers.read(typed, question.unit, currency, question.word)
    except Unreadable as fault:
        return Mark(UNREADABLE, None, f"{SIGNS[UNREADABLE]} {fault}")
    right, roads = question.values(given)
    if _near(answer.value, right, question.tolerance):
        return Mark(RIGHT, None, f"{SIGNS[RIGHT]} That is how it is done.")
    if answer.bare:
        for road in question.roads:
            if _near(answer.value, roads[road.name], question.tolerance):
                return Mark(ROAD, road.name, f"{SIGNS[ROAD]} {road.sentence}")
    way = "too large" if answer.value > right else "too small"
    return Mark(WRONG, None, f"{SIGNS[WRONG]} The number is {way}. Take a hint, or try once more.")


def _near(value: float, wanted: float, tolerance: float) -> bool:
    return abs(value - wanted) <= max(tolerance * abs(wanted), 1e-9)


@dataclass
class Exercise:
    """One exercise as a reader works on it: its numbers, tries and hints. `attempt`, `hint` and `renew` change it."""

    key: str
    currency: Currency = units.GBP
    seed: int | None = None
    tries: int = 0
    hints: list[str] = field(default_factory=list)
    solved: bool = False
    roads_taken: list[str] = field(default_factory=list)

    @property
    def question(self) -> Question:
        """The question from the bank."""
        return questions.BANK[self.key]

    @property
    def given(self) -> dict:
        """The numbers at present."""
        return self.question.numbers(self.seed)

    def text(self) -> str:
        """The question with its numbers, unit and rounding."""
        unit = self.question.word or units.pretty(self.question.unit, self.currency)
        how = f"Answer in {unit}, {self.question.rounding}" if unit else self.question.rounding.capitalize()
        return (
            f"{questions.asked(self.question, self.given, self.currency)} "
            f"({how}. Up to {100 * self.question.tolerance:g} % off is right.)"
        )

    def attempt(self, typed: str) -> Mark:
        """Mark an answer; honest tries are counted, unreadable ones are not."""
        found = mark(self.question, typed, self.given, self.currency)
        if found.outcome in (ROAD, WRONG):
            self.tries += 1
            if found.road:
                self.roads_taken.append(found.road)
        self.solved = self.solved or found.outcome == RIGHT
        return found

    @property
    def may_see_solution(self) -> bool:
        """Whether the worked solution may be opened: after two honest tries, or when both other hints were taken."""
        return self.tries >= TRIES_BEFORE_SOLUTION or len(self.hints) >= 2

    def hint(self) -> str | None:
        """The next hint: a nudge, a step, then the worked solution (after which `renew` sets fresh numbers)."""
        if len(self.hints) == 0:
            self.hints.append(self.question.nudge)
        elif len(self.hints) == 1:
            self.hints.append(self.question.step)
        elif len(self.hints) == 2:
            self.hints.append("Worked: " + questions.worked(self.question, self.given, self.currency))
        else:
            return None
        return self.hints[-1]

    def renew(self) -> None:
        """Fresh numbers; tries and hints start anew."""
        self.seed = 1 if self.seed is None else self.seed + 1
        self.tries, self.hints, self.solved = 0, [], False

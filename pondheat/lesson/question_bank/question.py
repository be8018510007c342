"""What a question is: its templates, its right answer and its misconceptions as functions of the same numbers."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import product

from pondheat.core.display_units import METRIC

HEAT_OF_WATER = 1.163  # kWh/(m³·K), with 1000 kg/m³: the workbook's number for work by hand
KELVIN = 273  # K at 0 °C, as used by hand
EXAMPLE_SEED = 7  # for the numbers of worked examples


@dataclass(frozen=True)
class Misconception:
    """A common misconception: its name, the answer it leads to with the given numbers, and the reply to it.

    reply_template: may mark quantities with square brackets (see `core.display_units`).
    """

    name: str
    value: Callable[..., float]
    reply_template: str

    @property
    def sentence(self) -> str:
        """The reply, in metric units."""
        return METRIC.with_alt_units(self.reply_template)


@dataclass(frozen=True)
class Inverse:
    """A question worked backwards: its answer is told, as the number `told`, and one of its numbers is asked for.

    number: name of the number asked for; unit, misconceptions, hints, rounding and word: as in `Question`. The
    question's formula works out what is told, so it is written once; misconceptions are functions of the numbers and
    of `told`.
    """

    number: str
    unit: str
    misconceptions: tuple[Misconception, ...]
    nudge_template: str
    step_template: str
    rounding: str = "three figures are enough"
    word: str = ""

    def right(self, **given: float) -> float:
        """The number asked for."""
        return given[self.number]


@dataclass(frozen=True)
class Again:
    """How a question comes back on a later page: about another pond, with other numbers or in another unit.

    ask, worked: templates, as in `Question`; without `worked` the question's own is used; draws: the few values that
    each number may take, while all others stay as they are; stated: names for the templates, each a number of the
    question in another unit, as (name of the number, factor); inverse: if it comes back worked backwards.
    """

    ask: str
    draws: Mapping[str, Sequence[float]]
    stated: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    worked: str = ""
    inverse: Inverse | None = None


@dataclass(frozen=True)
class Question:
    """One question. Its texts are templates to fill in with numbers; they may mark quantities with square brackets.

    unit: of the answer, as `core.units` knows it; given: printed numbers; draws: the values each number may take;
    worked: the worked solution, which may also use {right}; digits: decimals of the answer in the tutor's key;
    tolerance: relative; rounding: advice shown with the question; word: what the answer counts, if it has no unit
    (“winters”); again: how it comes back on later pages; ideas: keys of `lesson.ideas` that it practises; stated: as
    in `Again`; told: for a question worked backwards, the formula of its number `told` (see `Inverse`).
    """

    key: str
    notebook: str
    ask: str
    unit: str
    given: Mapping[str, float]
    draws: Mapping[str, Sequence[float]]
    right: Callable[..., float]
    misconceptions: tuple[Misconception, ...]
    nudge_template: str
    step_template: str
    worked: str
    digits: int = 3
    tolerance: float = 0.01
    rounding: str = "three figures are enough"
    word: str = ""
    again: Again | None = None
    ideas: tuple[str, ...] = ()
    stated: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    told: Callable[..., float] | None = None

    @property
    def tolerance_text(self) -> str:
        """How far off counts as right: a share, or marked kelvins, as a share of degrees Celsius means nothing."""
        return "[0.1 K]" if self.unit == "degC" else f"{100 * self.tolerance:g} %"

    @property
    def nudge(self) -> str:
        """The first hint, in metric units."""
        return METRIC.with_alt_units(self.nudge_template)

    @property
    def step(self) -> str:
        """The second hint, in metric units."""
        return METRIC.with_alt_units(self.step_template)

    def values(self, given: Mapping[str, float] | None = None) -> tuple[float, dict[str, float]]:
        """The right answer, and the answer of each misconception by name, for these numbers."""
        numbers = given or self.given
        return self.right(**numbers), {one.name: one.value(**numbers) for one in self.misconceptions}

    def answers_distinct(self, given: Mapping[str, float]) -> bool:
        """Whether all answers, right and wrong, differ by more than twice the tolerance, as each may be rounded."""
        right, wrong = self.values(given)
        answers = [right, *wrong.values()]
        return all(
            abs(a - b) > 2.2 * self.tolerance * max(abs(a), abs(b)) and abs(a - b) > 1e-9
            for i, a in enumerate(answers)
            for b in answers[i + 1 :]
        )

    def on(self, page: str) -> Question:
        """The question as a page asks it: unchanged on its own page, about another pond with other numbers elsewhere.

        page: the notebook's name. The numbers depend only on the page's number; the formula stays the same, and so do
        the misconceptions unless it is worked backwards; the answer differs from the first one by more than both
        tolerances.
        """
        if self.again is None or page == self.notebook:
            return self
        again = replace(self, ask=self.again.ask, draws=self.again.draws, stated=self.again.stated)
        again = replace(again, worked=self.again.worked or self.worked)
        if inverse := self.again.inverse:
            changed = {one.name: getattr(inverse, one.name) for one in fields(inverse) if one.name != "number"}
            again = replace(again, right=inverse.right, told=self.right, **changed)
        sets = again._sets_other_than(self)
        return replace(again, given=sets[int(page[:2]) % len(sets)])

    def _sets_other_than(self, first: Question) -> list[dict[str, float]]:
        """All sets of numbers that a return may have, shuffled once and for all."""
        before = first.right(**first.given)
        drawn = [{**first.given, **dict(zip(self.draws, values))} for values in product(*self.draws.values())]
        random.Random(self.key).shuffle(drawn)
        return [
            numbers
            for numbers in map(self._with_told, drawn)
            if self.answers_distinct(numbers)
            and abs(self.right(**numbers) - before)
            > 2.2 * self.tolerance * max(abs(before), abs(self.right(**numbers)))
        ]

    def _with_told(self, numbers: Mapping[str, float]) -> dict[str, float]:
        """The numbers with what the question tells, to four figures, if it is worked backwards."""
        return {**numbers, "told": float(f"{self.told(**numbers):.4g}")} if self.told else dict(numbers)

    def shown(self, given: Mapping[str, float]) -> dict[str, float]:
        """The numbers under the names that the templates may use."""
        return {**given, **{name: given[number] * factor for name, (number, factor) in self.stated.items()}}

    def numbers(self, seed: int | None = None) -> dict[str, float]:
        """The printed numbers, or fresh ones from a seed, chosen so that all answers are distinct."""
        if seed is None:
            return dict(self.given)
        rng = random.Random(f"{self.key}/{seed}")
        for _ in range(500):
            drawn = {
                name: rng.choice(list(self.draws[name])) if name in self.draws else value
                for name, value in self.given.items()
                if name != "told"
            }
            drawn = self._with_told(drawn)
            if drawn != self.given and self.answers_distinct(drawn):
                return drawn
        return dict(self.given)


def steps(low: float, high: float, step: float) -> tuple[float, ...]:
    """The values from `low` to `high` in equal steps."""
    count = round((high - low) / step)
    return tuple(round(low + i * step, 6) for i in range(count + 1))


def pence(value: float) -> float:
    """An amount of pence in pounds, or of another currency's hundredths in its main unit."""
    return value / 100

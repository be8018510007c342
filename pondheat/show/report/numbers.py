"""All numbers of a decision sheet, each with the steps that lead to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from pondheat.analysis.results import Assessment, LikelyRange, Uncertainty
from pondheat.core import units
from pondheat.core.likely import QUANTILES
from pondheat.show.report.energy_numbers import EnergyNumbers
from pondheat.show.report.money_numbers import MoneyNumbers
from pondheat.show.report.saving_numbers import SavingNumbers
from pondheat.show.report.sheet_numbers import SheetNumbers
from pondheat.show.report.trace import RUNS, Trace, rounded_step, single_value

ENDS = dict(zip(("low", "middle", "high"), zip(("low end", "middle", "high end"), QUANTILES)))  # of a likely range


@dataclass(frozen=True)
class FromRuns:
    """A quantity that the runs give, by its key and title in the trace; step: to whose multiples it is rounded."""

    key: str
    title: str
    band: LikelyRange
    write: Callable[[float], str]
    unit: str
    step: float | None = None


@dataclass(frozen=True)
class PrintedRange:
    """P10 and P90 of the runs, and their median where the pond's own meter taught the runs."""

    low: Markup
    high: Markup
    median: Markup | None


class Numbers:
    """Numbers of one assessment by topic. Every method gives HTML and records its derivation in `trace`."""

    def __init__(self, assessment: Assessment, trace: Trace) -> None:
        self.trace, self._uncertainty = trace, assessment.uncertainty
        self.sheet = SheetNumbers(assessment, trace)
        self.energy = EnergyNumbers(assessment, trace)
        self.money = None if assessment.open.cost is None else MoneyNumbers(assessment, trace)
        self.saving = SavingNumbers(assessment, trace, self.energy, self.money)

    @property
    def uncertainty(self) -> Uncertainty:
        """The Monte Carlo runs of the assessment; only for an assessment that has them."""
        assert self._uncertainty is not None
        return self._uncertainty

    def likely_range(self, of: FromRuns) -> PrintedRange:
        """The likely range of a quantity from the runs.

        Where a meter taught the runs, the median is given too, because no number of the sheet belongs to that range.
        """
        low, high = self.run(of, "low"), self.run(of, "high")
        return PrintedRange(low, high, self.run(of, "middle") if self.uncertainty.learned else None)

    def run(self, of: FromRuns, end: str) -> Markup:
        """One of the runs of `likely_range`; end: of ENDS."""
        name, share = ENDS[end]
        count = self.uncertainty.scenarios
        label = f"number {round(share * (count - 1)) + 1} of {count} runs, smallest first"
        steps = [single_value(label, getattr(of.band, end), of.unit, RUNS)]
        if of.step is not None:
            steps.append(rounded_step(steps[0].result, of.step, of.unit))
        return self.trace.number(f"{of.key}-{end}", f"{of.title}, {name}", steps, of.write)

    def runs(self) -> Markup:
        """How many runs a likely range comes from."""
        return self.trace.number(
            "runs",
            "Runs behind each likely range",
            [single_value("runs", float(self.uncertainty.scenarios), "", "study.SCENARIOS")],
            units.digits,
            note="Each run takes its own value of every unknown; they are listed under “The runs”.",
        )

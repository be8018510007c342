"""The answer of the decision sheet: the one answer of `text.pond_answer` with every number traced, and power cuts.

Every function gives plain values for the template `answer.html`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from markupsafe import Markup

from pondheat.analysis.assessment import SHORT_SEASON
from pondheat.analysis.power_cut import PowerCut
from pondheat.analysis.results import Assessment, LikelyRange
from pondheat.analysis.scenarios import what_if as what_ifs
from pondheat.core import units
from pondheat.show.report import formats
from pondheat.show.report.energy_numbers import HOURS
from pondheat.show.report.numbers import FromRuns, Numbers
from pondheat.show.report.rendering import printable
from pondheat.show.report.trace import RUNS, Step, rounded_step, single_value
from pondheat.text.amounts import keeper_amount, rounding_step
from pondheat.text.pond_answer import BEST, CHANGES, HEATER, Phrase, pond_answer

SAID_BY = "text.pond_answer"
# Where the numbers of a line come from that is worked out; the other lines hold advice, common practice.
WORKED_OUT = {
    HEATER: HOURS,
    CHANGES: RUNS,
    BEST: "a season with that choice and one without it, as season --what-if lists them",
}


class Answer:
    """The answer of one assessment, with the scenarios that were worked out beside it."""

    def __init__(self, assessment: Assessment, numbers: Numbers) -> None:
        self.assessment, self.numbers = assessment, numbers
        self.sheet, self.trace = assessment.sheet, numbers.trace
        self.currency = assessment.sheet.currency

    def values(self, what_if: what_ifs.ScenarioTable | None, cuts: Sequence[PowerCut]) -> dict[str, object]:
        """Values for the template; a part that has nothing to say is None."""
        told = pond_answer(self.assessment, what_if)

        def sentence(key: str, title: str, text: str) -> Markup:
            return self.trace.sentence(key, title, text, SAID_BY, ("practice",))

        return {
            "headline": self._filled(told.headline, "Headline"),
            "beside": self._filled(told.beside, "Beside the headline"),
            "lines": [
                (title, self._line(f"line-{number}", title, text)) for number, (title, text) in enumerate(told.lines, 1)
            ],
            "warnings": [
                sentence(f"warning-{number}", "Warning", text) for number, text in enumerate(told.warnings, 1)
            ],
            "unheated": [
                sentence(f"unheated-{side}", "No heat at all", text) for side, text in enumerate(told.unheated or (), 1)
            ],
            "sure": [
                self.trace.sentence(f"sure-{number}", "How sure", text, RUNS)
                for number, text in enumerate(told.sure, 1)
            ],
            "measure": self._measure_first(),
            "payback": self._payback() if self.sheet.is_heated and self.assessment.payback_years is not None else None,
            "cuts": [self._power_cut(cut, number) for number, cut in enumerate(cuts, 1)],
            "oxygen": self._oxygen_hours(cuts[0]) if cuts else None,
        }

    def _line(self, key: str, title: str, text: str) -> Markup:
        """One line below the headline; its numbers lead to where they were worked out, or to common practice."""
        worked_out = WORKED_OUT.get(title)
        return self.trace.sentence(key, title, text, worked_out or SAID_BY, () if worked_out else ("practice",))

    # --- the headline and what is beside it ---

    def _filled(self, phrase: Phrase, title: str) -> Markup:
        """A phrase with each of its numbers linked to its arithmetic."""
        numbers = {name: self._number(name, text, title) for name, text in phrase.numbers.items()}
        return Markup(printable(str(Markup.escape(phrase.pattern)))).format(**numbers)

    def _number(self, name: str, text: str, title: str) -> Markup:
        """A number of the answer by its name there, as it is written there."""
        saving, numbers, unsure = self.numbers.saving, self.numbers, self.assessment.uncertainty
        case = "open" if self.assessment.covered is None else "covered"

        def write(value: float) -> str:
            return text

        if name in ("amount", "low", "high") and (found := self._of_saving(name, write)) is not None:
            return found
        band = None if unsure is None else unsure.saving_kwh
        if name == "energy":
            if unsure is not None and case == "open":
                energy = unsure.open_kwh
                step = rounding_step(energy.middle, energy)
                return numbers.run(FromRuns("open-kwh", "Taken open", energy, write, "kWh", step), "middle")
            if unsure is not None and unsure.learned and band is not None:
                step = rounding_step(band.middle, band)
                return numbers.run(FromRuns("saving-kwh", "Saving in energy", band, write, "kWh", step), "middle")
            return saving.kwh(write, rounding_step(self._exact(priced=False), band))
        if name == "share":
            return saving.share(int(text.removesuffix(" %")))
        if name == "price":
            plan = self.sheet.cover_plan
            return numbers.sheet.value("cover.price", "price", plan.price or 0.0, self.currency.sign, write)
        if name == "used":
            return self._rounded(f"used-{case}", f"Taken, {case}, rounded", numbers.energy.used_steps(case), write)
        if name == "cost" and numbers.money is not None:
            return self._rounded(f"cost-{case}", f"Cost, {case}, rounded", numbers.money.total_steps(case), write)
        return self.trace.sentence(f"answer-{name}", title, text, SAID_BY)

    def _of_saving(self, name: str, write: Callable[[float], str]) -> Markup | None:
        """The headline's amount or an end of its likely range, of the saving or of what the open pond costs."""
        unsure, numbers = self.assessment.uncertainty, self.numbers
        priced, has_cover = numbers.money is not None, self.assessment.covered is not None
        unit = self.currency.sign if priced else "kWh"
        key, title = ("saving", "Saving") if has_cover else ("open", "Cost open")
        key, title = f"{key}-{'money' if priced else 'kwh'}", f"{title} in {'money' if priced else 'energy'}"
        band = None if unsure is None else vars(unsure)[key.replace("-", "_")]
        middle = band.middle if band is not None and unsure is not None and unsure.learned else None
        step = rounding_step(self._exact(priced) if middle is None else middle, band)
        if middle is not None or name != "amount":
            if band is None:
                return None

            def write_end(value: float) -> str:
                return keeper_amount(value, self.currency if priced else None, step)

            likely = numbers.likely_range(FromRuns(key, title, band, write_end, unit, step))
            return {"amount": likely.median, "low": likely.low, "high": likely.high}[name]
        if has_cover:
            return numbers.saving.money(write, step) if priced else numbers.saving.kwh(write, step)
        steps = numbers.energy.used_steps("open") if numbers.money is None else numbers.money.total_steps("open")
        return self._rounded(key, title, steps, write, band)

    def _rounded(
        self,
        key: str,
        title: str,
        steps: list[Step],
        write: Callable[[float], str],
        band: LikelyRange | None = None,
    ) -> Markup:
        """A number that its steps work out, rounded as in the answer; band: its likely range, if that decides."""
        exact = steps[-1]
        step = rounding_step(exact.result, band)
        return self.trace.number(key, title, [*steps, rounded_step(exact.result, step, exact.unit)], write)

    def _exact(self, priced: bool) -> float:
        """The headline's amount before it is rounded [money] or [kWh]."""
        found = self.assessment
        if found.covered is None:
            amount = found.open.money if priced else found.open.input_kwh
        else:
            amount = found.saving.total if priced and found.saving is not None else found.saving_kwh
        assert amount is not None
        return amount

    def _payback(self) -> dict[str, object]:
        """When the cover has paid for itself, and what is left over its life."""
        assessment, saving, life = self.assessment, self.numbers.saving, self.sheet.cover_plan.life
        years = assessment.payback_years
        assert years is not None
        time, likely = saving.payback(), None
        band = None if assessment.uncertainty is None else assessment.uncertainty.payback
        if band is not None and not (math.isinf(years) and math.isinf(band.low)):  # not “never to never”
            likely = self.numbers.likely_range(FromRuns("payback", "Payback", band, formats.seasons, "seasons"))
        return {
            "never": math.isinf(years),
            "time": time,
            "likely": likely,
            "net_present_value": saving.net_present_value(),
            "outlives_cover": life is not None and years > life,
            "short_season": len(assessment.open.hours) / 24 < SHORT_SEASON,
        }

    def _measure_first(self) -> Markup | None:
        """How to measure what is likeliest to overturn the answer; None where nothing unsure changes it."""
        unsure = self.assessment.uncertainty
        if unsure is None or not unsure.variance_shares or not unsure.measure_first[0].how:
            return None
        return self.trace.sentence("measure", "What to measure first", unsure.measure_first[0].how, SAID_BY)

    def _power_cut(self, cut: PowerCut, number: int) -> dict[str, object]:
        """How fast the water cools after a power cut: its last fall that is reached; `number`: of the cut, from 1."""
        mark = "" if number == 1 else f"-{number}"
        side = "cover on" if cut.covered else "open"
        reached = [(fall, hours) for fall, hours in cut.hours_to.items() if math.isfinite(hours)]
        fall = hours = None
        if reached:
            step = single_value("fall looked for", reached[-1][0], "K", "power_cut.FALLS")
            fall = self.trace.number(f"fall{mark}", "Fall of the water", [step], lambda v: f"[{v:g} K]")
            title = f"Hours until the water has fallen so far, {side}"
            hours = self._hours(f"cut-hours{mark}", title, reached[-1][1])
        return {"start": cut.start, "side": side, "fall": fall, "hours": hours}

    def _oxygen_hours(self, cut: PowerCut) -> Markup | None:
        """How long oxygen lasts in a power cut; None where the mass of fish is not known."""
        if cut.oxygen_hours is None:
            return None
        return self._hours("oxygen-hours", "Hours of oxygen without power", cut.oxygen_hours)

    def _hours(self, key: str, title: str, value: float) -> Markup:
        step = single_value(title, value, "h", "power_cut.power_cut")
        return self.trace.number(key, title, [step], lambda v: f"{units.significant(v, 2)} h")

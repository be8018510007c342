"""The answer of the decision sheet: saving, payback and what would overturn them, or no heat at all.

Every function gives plain values for the template `answer.html`, which holds the wording.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from markupsafe import Markup

from pondheat.analysis.assessment import SHORT_SEASON, Assessment
from pondheat.analysis.freezing import freezing_warning
from pondheat.analysis.power_cut import PowerCut
from pondheat.analysis.results import too_warm_above
from pondheat.analysis.scenarios import what_if as what_ifs
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core import units
from pondheat.fish.temperature import WINTERING_DEPTH
from pondheat.sheet.unstated import missing_text
from pondheat.show.report import formats
from pondheat.show.report.numbers import RUNS, Numbers
from pondheat.show.report.rendering import shortened
from pondheat.show.report.trace import Step, single_value
from pondheat.text.answers import IDLE
from pondheat.text.uncertainty_text import measurement_text

LONGEST_CHOICE = 60  # characters of a what-if choice on the first page


class Answer:
    """The answer of one assessment, with the scenarios that were worked out beside it."""

    def __init__(self, assessment: Assessment, numbers: Numbers) -> None:
        self.assessment, self.numbers = assessment, numbers
        self.sheet, self.trace = assessment.sheet, numbers.trace
        self.currency = assessment.sheet.currency

    def values(self, what_if: what_ifs.ScenarioTable | None, cuts: Sequence[PowerCut]) -> dict[str, object]:
        """Values for the template; a part that has nothing to say is None."""
        heated, has_cover = self.sheet.is_heated, self.assessment.covered is not None
        idle = heated and not self.assessment.needs_heat
        if idle:
            heated = False
        return {
            "idle": IDLE if idle else None,
            "freezing": self._freezing(),
            "saving": self._saving() if heated and has_cover else None,
            "cost": self._cost() if heated and not has_cover else None,
            "payback": self._payback() if heated and self.assessment.payback_years is not None else None,
            "limits": self._limits() if heated else None,
            "unheated": None if heated or idle else self._unheated(),
            "missing": missing_text(self.sheet.unstated) if heated and not idle else "",
            "overturned": None if idle else self._overturned_by(),
            "what_if": self._best_choice(what_if),
            "cuts": [self._power_cut(cut, number) for number, cut in enumerate(cuts, 1)],
            "oxygen": self._oxygen_hours(cuts[0]) if cuts else None,
        }

    # --- saving and payback ---

    def _saving(self) -> dict[str, object]:
        """What the cover saves: money and energy, or energy alone without a tariff."""
        assessment, saving, ranges = self.assessment, self.numbers.saving, self.assessment.uncertainty
        saved_kwh = assessment.saving_kwh
        assert saved_kwh is not None
        used = assessment.open.electricity_kwh + assessment.open.gas_kwh
        share = saving.share() if used > 0 else None
        likely = energy = None
        if assessment.saving is None:
            saved, amount, verb = saved_kwh, saving.kwh(), "takes"
            if ranges and ranges.saving_kwh:
                likely = self.numbers.likely_range(
                    "saving-kwh", "Saving in energy", ranges.saving_kwh, formats.rounded_kwh, "kWh"
                )
        else:
            saved, amount, verb = assessment.saving.total, saving.money(), "costs"
            if ranges and ranges.saving_money:
                likely = self.numbers.likely_range(
                    "saving-money", "Saving in money", ranges.saving_money, self._rounded_money, self.currency.sign
                )
            energy = saving.kwh()
        return {
            "positive": saved >= 0,
            "amount": amount,
            "verb": verb,
            "likely": likely,
            "energy": energy,
            "energy_positive": saved_kwh >= 0,
            "emissions": self.numbers.energy.emissions_saved() if assessment.saving_co2_kg else None,
            "emissions_positive": (assessment.saving_co2_kg or 0.0) >= 0,
            "share": share,
        }

    def _cost(self) -> dict[str, object]:
        """What the season costs a pond without a cover."""
        energy, money, ranges = self.numbers.energy, self.numbers.money, self.assessment.uncertainty
        values: dict[str, object] = {"energy": energy.used("open"), "money": money and money.total("open")}
        values["emissions"] = energy.emitted("open")
        likely = None
        if ranges is not None and ranges.open_money is not None and money is not None:
            likely = self.numbers.likely_range(
                "open-money", "Cost open", ranges.open_money, self._rounded_money, self.currency.sign
            )
        elif ranges is not None:
            likely = self.numbers.likely_range("open-kwh", "Energy open", ranges.open_kwh, formats.rounded_kwh, "kWh")
        return values | {"likely": likely}

    def _payback(self) -> dict[str, object]:
        """When the cover has paid for itself, and what is left over its life."""
        assessment, saving, life = self.assessment, self.numbers.saving, self.sheet.cover_plan.life
        years = assessment.payback_years
        assert years is not None
        time, likely = saving.payback(), None
        band = None if assessment.uncertainty is None else assessment.uncertainty.payback
        if band is not None and not (math.isinf(years) and math.isinf(band.low)):  # not “never to never”
            likely = self.numbers.likely_range("payback", "Payback", band, formats.seasons, "seasons")
        return {
            "never": math.isinf(years),
            "time": time,
            "likely": likely,
            "net_present_value": saving.net_present_value(),
            "outlives_cover": life is not None and years > life,
            "short_season": len(assessment.open.hours) / 24 < SHORT_SEASON,
        }

    def _rounded_money(self, value: float) -> str:
        return formats.money(value, self.currency, 2)

    # --- where the heater or the water reaches a limit ---

    def _limits(self) -> dict[str, object]:
        """A heater that can't keep up, and water that is too warm."""
        assessment, season = self.assessment, self.assessment.as_described
        short = lowest = hottest = None
        if season.short_hours:
            short = self.numbers.of_run("short", "Hours the heater is short", season.short_hours, "hours")
            lowest = self._lowest_temp("open" if assessment.covered is None else "covered")
        if season.highest_temp > too_warm_above(self.sheet):
            title = "Highest temperature of the water"
            hottest = self.numbers.of_run("highest", title, season.highest_temp, "°C", formats.celsius(1))
        return {
            "short": short,
            "lowest": lowest,
            "shorter_open": assessment.open.short_hours > season.short_hours,
            "hottest": hottest,
            "covered": assessment.covered is not None,
        }

    def _lowest_temp(self, case: str) -> Markup:
        temp = self.numbers.energy.seasons[case].lowest_temp
        title = f"Lowest temperature of the water, {case}"
        return self.numbers.of_run(f"lowest-{case}", title, temp, "°C", formats.celsius(1))

    def _freezing(self) -> Markup | None:
        """The warning where the pond as described freezes through, or may do so."""
        warning = freezing_warning(self.assessment.as_described.frozen_share)
        if not warning:
            return None
        return self.trace.sentence("freezing", "Share of the water that is ice", warning, "heat.ice", ("crc_ice",))

    def _unheated(self) -> dict[str, object]:
        """How cold an unheated pond gets, and what its pump still costs."""
        assessment, numbers, season = self.assessment, self.numbers, self.assessment.open
        known = WINTERING_DEPTH
        farm_depth = self.trace.number(
            "wintering",
            "Depth of ponds in which farmed carp pass the winter",
            [single_value(known.note, known.value, "m", known.source)],
            lambda v: f"{v:g} m",
            (known.source,),
        )
        return {
            "farm_depth": farm_depth,
            "lowest_open": self._lowest_temp("open"),
            "lowest_covered": None if assessment.covered is None else self._lowest_temp("covered"),
            "depth": numbers.sheet.depth(),
            "ice": season.most_ice_kg > 0,
            "cost": numbers.money.total("open") if season.electricity_kwh > 0 and numbers.money else None,
            "energy": numbers.energy.used("open") if season.electricity_kwh > 0 else None,
            "emissions": numbers.energy.emitted("open"),
        }

    # --- what would change the answer ---

    def _overturned_by(self) -> dict[str, object] | None:
        """The unknown that is likeliest to overturn the answer; None where nothing unsure changes it."""
        uncertainty = self.assessment.uncertainty
        if uncertainty is None or not uncertainty.variance_shares:
            return None
        first = uncertainty.measure_first[0]
        sentence = self.trace.sentence(
            "break",
            "What the answer would be if this one unknown lay at its low or its high end",
            measurement_text(first, self.currency),
            "mean over a fifth of the runs, see “The runs”",
            ("practice",),
        )
        steps = [
            single_value("explained ÷ whole variance of the runs", first.share, "", RUNS),
            Step("in per cent", (("", first.share, ""), ("", 100.0, "%")), "×", "%", "by definition"),
        ]
        title = "Share of the spread that this alone explains"
        return {
            "sentence": sentence,
            "unknown": UNCERTAIN_INPUTS[first.name].words,
            "share": self.trace.number("matters", title, steps, lambda v: f"{v:.0f} %"),
            "runs": self.numbers.runs(),
        }

    def _best_choice(self, what_if: what_ifs.ScenarioTable | None) -> dict[str, object] | None:
        """The cheapest what-if choice, of those that keep the water as warm if there are any; None without a choice."""
        rows = [] if what_if is None else [row for row in what_if.rows if row.of_pond]
        others = [row for row in rows[1:] if row.eligible]
        if not others:
            return None
        base = rows[0]
        best = min([row for row in others if row.as_warm] or others, key=lambda row: row.worth)
        write: Callable[[float], str] = formats.kwh
        unit = "kWh"
        if best.money is not None:
            write, unit = lambda value: formats.money(value, self.currency), self.currency.sign

        def amount(key: str, row: what_ifs.ScenarioRow) -> Markup:
            value = row.taken_kwh if best.money is None else row.money
            assert value is not None
            step = single_value(row.words, value, unit, "what_if: a whole season of its own")
            return self.trace.number(f"what-if-{key}", row.words, [step], write)

        return {
            "best_amount": amount("best", best),
            "base_amount": amount("base", base),
            "as_warm": best.as_warm,
            "choice": self.trace.sentence(
                "what-if", "The choice", shortened(best.words, LONGEST_CHOICE), "what_if.CHOICES"
            ),
        }

    def _power_cut(self, cut: PowerCut, number: int) -> dict[str, object]:
        """How fast the water cools after a power cut: its last fall that is reached; `number`: of the cut, from 1."""
        mark = "" if number == 1 else f"-{number}"
        side = "cover on" if cut.covered else "open"
        reached = [(fall, hours) for fall, hours in cut.hours_to.items() if math.isfinite(hours)]
        fall = hours = None
        if reached:
            step = single_value("fall looked for", reached[-1][0], "K", "power_cut.FALLS")
            fall = self.trace.number(f"fall{mark}", "Fall of the water", [step], lambda v: f"{v:g} K")
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

"""Heat lost and gained over the season, and the energy that heater and pump use."""

from __future__ import annotations

import functools
import math

import pandas as pd
from markupsafe import Markup

from pondheat.analysis.results import ROUTE_GROUPS, Assessment, Season, month_names
from pondheat.heat import surface
from pondheat.money.emissions import emissions_text
from pondheat.season.heaters import COP_FORMULAS
from pondheat.show.pictures.pond import SPOKEN
from pondheat.show.report.formats import three_figures
from pondheat.show.report.trace import Step, Trace, single_value, sum_of
from pondheat.text.season_tables import ROUTE_NAMES

GAINS = {"solar": "sun", "pump": "pump", "heater": "heater"}  # column of the hours → where the heat comes from
HOURS = "hours of the run"
MONTH = "%b %Y"  # “Oct 2025”


def seasons_of(assessment: Assessment) -> dict[str, Season]:
    """The seasons of an assessment by name: "open", and "covered" where the pond has a cover."""
    seasons = {"open": assessment.open}
    return seasons if assessment.covered is None else seasons | {"covered": assessment.covered}


def monthly_kwh(season: Season) -> pd.DataFrame:
    """The columns of a season's hours, in watts, summed by month [kWh]."""
    watts = season.hours.select_dtypes("number")
    return watts.groupby(month_names(season.index, MONTH), sort=False).sum() / 1000


def month_parts(months: pd.Series, unit: str) -> tuple[tuple[str, float, str], ...]:
    """Parts of a step: the value of each month."""
    return tuple((str(month), float(value), unit) for month, value in months.items())


class EnergyNumbers:
    """Heat and energy of one assessment, open and covered."""

    def __init__(self, assessment: Assessment, trace: Trace) -> None:
        self.sheet, self.trace, self.seasons = assessment.sheet, trace, seasons_of(assessment)
        self._monthly = functools.cache(lambda case: monthly_kwh(self.seasons[case]))

    def lost_by(self, case: str, way: str) -> tuple[Markup, float]:
        """Heat lost by one of ROUTE_GROUPS over the season, and its value [kWh]."""
        season = self.seasons[case]
        steps = [
            self._sum_of_months(case, route, ROUTE_NAMES[route])
            for route in ROUTE_GROUPS[way]
            if season.routes_kwh[route]
        ] or [single_value(way, 0.0, "kWh", f"{HOURS}, {case}")]
        if len(steps) > 1:
            parts = [(step.label, step.result, "kWh") for step in steps]
            steps.append(sum_of(way, parts, "kWh", "the lines above"))
        key, title = f"heat-{case}-{list(ROUTE_GROUPS).index(way) + 1}", f"Heat lost by {SPOKEN.get(way, way)}, {case}"
        number = self.trace.number(key, title, steps, three_figures, self._sources_of(way))
        return number, steps[-1].result

    def lost(self, case: str) -> Markup:
        """All heat lost over the season."""
        routes = self.seasons[case].routes_kwh
        parts = [(way, math.fsum(routes[name] for name in names), "kWh") for way, names in ROUTE_GROUPS.items()]
        step = sum_of("all ways", parts, "kWh", "each has its own entry")
        return self.trace.number(f"lost-{case}", f"Heat lost in all, {case}", [step], three_figures)

    def gained(self, case: str, column: str) -> Markup:
        """Heat from the sun, the pump or the heater over the season; `column`: a key of GAINS."""
        heater = self.sheet.heater
        sources: tuple[str, ...] = ()
        if column == "solar":
            sources = ("fao_56",)
        elif column == "heater" and heater.kind == "heat pump":
            sources = (COP_FORMULAS[heater.cop_formula].source,)
        steps = [self._sum_of_months(case, column, f"heat from the {GAINS[column]}")]
        title = f"Heat from the {GAINS[column]}, {case}"
        return self.trace.number(f"gain-{case}-{column}", title, steps, three_figures, sources)

    def used(self, case: str) -> Markup:
        """Electricity and gas over the season."""
        return self.trace.number(
            f"taken-{case}", f"Electricity and gas taken, {case}", self.used_steps(case), three_figures
        )

    def used_steps(self, case: str) -> list[Step]:
        """Steps that end in the electricity and gas of a season [kWh]."""
        fuels = [name for name in ("electricity", "gas") if self._monthly(case)[name].any()]
        return [*(self._sum_of_months(case, name, name) for name in fuels), self.used_step(case)]

    def used_step(self, case: str) -> Step:
        """The sum of electricity and gas over the season."""
        season = self.seasons[case]
        parts = [("electricity", season.electricity_kwh, "kWh")]
        if season.gas_kwh:
            parts.append(("gas", season.gas_kwh, "kWh"))
        return sum_of(f"taken, {case}", parts, "kWh", f"{HOURS}, {case}")

    def emitted(self, case: str) -> Markup | None:
        """Greenhouse gases of the energy taken; None where a factor is not known, or nothing is taken."""
        if not self.seasons[case].co2_kg:
            return None
        return self._emissions(f"co2-{case}", f"Greenhouse gases, {case}", self.emitted_steps(case))

    def emitted_steps(self, case: str) -> list[Step]:
        """Steps that end in the greenhouse gases of a season's energy [kg]."""
        season, factors = self.seasons[case], self.sheet.emission_factors
        fuels = (("electricity", season.electricity_kwh, factors.electricity), ("gas", season.gas_kwh, factors.gas))
        steps = [
            Step(
                f"{name}, {case}",
                (("", kwh, "kWh"), ("", factor.kg_per_kwh or 0.0, "kg/kWh")),
                "×",
                "kg",
                factor.origin,
            )
            for name, kwh, factor in fuels
            if kwh
        ]
        if len(steps) == 1:
            return steps
        parts = [(step.label, step.result, "kg") for step in steps]
        return [*steps, sum_of(f"in all, {case}", parts, "kg", "the lines above")]

    def _emissions(self, key: str, title: str, steps: list[Step]) -> Markup:
        factors = self.sheet.emission_factors
        used = (
            (factors.electricity, factors.gas)
            if any(one.gas_kwh for one in self.seasons.values())
            else (factors.electricity,)
        )
        sources = [one.source for one in used if one.source]
        kilograms = steps[-1].result
        if not emissions_text(kilograms).endswith(" t"):
            return self.trace.number(key, title, steps, emissions_text, sources)
        tonnes = Step("in tonnes", (("", kilograms, "kg"), ("", 1000.0, "kg/t")), "÷", "t", "by definition")
        return self.trace.number(key, title, [*steps, tonnes], lambda v: emissions_text(1000 * v), sources)

    def _sum_of_months(self, case: str, column: str, label: str) -> Step:
        parts = month_parts(self._monthly(case)[column], "kWh")
        return sum_of(label, parts, "kWh", f"{HOURS}, {case}, by month")

    def _sources_of(self, way: str) -> tuple[str, ...]:
        pond = self.sheet.pond
        evaporation = surface.EVAPORATION[pond.evaporation].source
        return {
            "evaporation": (evaporation,),
            "convection": (evaporation, "fao_56"),
            "long wave": surface.SKY[pond.sky].sources,
            "walls and floor": ("iso_6946", "iso_13370", "iso_10456"),
            "filter, air, new water": ("merkel_1925", "practice"),
        }[way]

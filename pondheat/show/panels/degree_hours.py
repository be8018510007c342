"""A season's heat from its degree-hours and one month's meter, beside the season worked out hour by hour."""

from __future__ import annotations

import calendar
from dataclasses import replace

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.season.degree_days import degree_hours
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice
from pondheat.show.panels import Panel
from pondheat.show.ponds import held_all_season

WATER_TEMP = 18.0
AMPLE = 12_000.0  # W: a heater that always keeps up
MONTHS = (11, 1, 3, 5)  # whose meter may be read


class SeasonByDegreeHours(Panel):
    """The open pond's heat in each month of the season: by the model, and by degree-hours times one month's loss."""

    MOST = 5000.0  # kWh, top of the scale

    def __init__(self):
        self.sheet = replace(held_all_season(WATER_TEMP, AMPLE), tariff=None)
        place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        hours = assessment.run_season(self.sheet, place, covered=False).hours
        air = place.hours["air_temp"][place.counted]
        of_month = times_of(air).month
        self.heat = {int(m): float(hours["heater"].to_numpy()[of_month == m].sum()) / 1000 for m in of_month.unique()}
        self.cold = {m: float(degree_hours(air.to_numpy()[of_month == m], WATER_TEMP)) for m in self.heat}
        super().__init__(
            "degree-hours",
            {
                "month": Choice(
                    "The month whose meter you read", {str(m): calendar.month_name[m] for m in MONTHS}, str(MONTHS[1])
                )
            },
        )

    def redraw(self, month):
        """Heat of each month by the model, and by this month's heat for each degree-hour."""
        self.month = int(month)
        self.rate = self.heat[self.month] / self.cold[self.month]
        by_hours = {m: self.rate * cold for m, cold in self.cold.items()}
        self.true, self.rough = sum(self.heat.values()), sum(by_hours.values())
        at = list(range(len(self.heat)))
        figure = figures.lines(
            {
                "hour by hour": (at, list(self.heat.values())),
                "degree-hours": (at, list(by_hours.values())),
            },
            self.name,
            "Heat of the open pond in each month, kWh",
            (0, len(at) - 1),
            {place: calendar.month_abbr[m] for place, m in enumerate(self.heat)},
            (0, self.MOST),
        )
        return figure, self._text(by_hours)

    def _text(self, by_hours: dict[int, float]) -> str:
        out = {m: 100 * (by_hours[m] / heat - 1) for m, heat in self.heat.items()}
        worst = max(out, key=lambda m: abs(out[m]))
        name, season = calendar.month_name[self.month], units.digits(sum(self.cold.values()))
        more = 100 * (self.rough / self.true - 1)
        return (
            f"{name} has {units.digits(self.cold[self.month])} degree-hours below {temperature(WATER_TEMP)} and "
            f"{units.digits(self.heat[self.month])} kWh on the meter: {units.digits(self.rate, 2)} kWh for each. At "
            f"that rate the season's {season} would take {units.digits(self.rough)} kWh; hour by hour it takes "
            f"{units.digits(self.true)} kWh, so that's {units.digits(abs(more))} % too "
            f"{'much' if more > 0 else 'little'}. {calendar.month_name[worst]} is furthest out, by "
            f"{units.digits(abs(out[worst]))} %: degree-hours take no account of wind, sun and sky."
        )

    def arithmetic(self):
        """One hour; then one month's heat for each degree-hour, times the season's degree-hours."""
        chain = Chain()
        cold_hour = float(degree_hours([WATER_TEMP - 10], WATER_TEMP))
        chain.times(
            f"An hour with the air at [{WATER_TEMP - 10:g} °C]",
            (1.0, "hour"),
            (cold_hour, "delta_degC"),
            "delta_degC*hour",
            f"water of [{WATER_TEMP:g} °C] less air",
        )
        name = calendar.month_name[self.month]
        cold = chain.given(f"Degree-hours of {name}", self.cold[self.month], "delta_degC*hour", source("try_2010"))
        heat = chain.given(f"Heat in {name}", self.heat[self.month], "kWh", "the invented garden pond, hour by hour")
        rate = chain.given("Heat for each degree-hour", heat / cold, "kWh/delta_degC/hour", "both lines above")
        chain.times(
            "The season",
            (sum(self.cold.values()), "delta_degC*hour"),
            (rate, "kWh/delta_degC/hour"),
            "kWh",
            f"its degree-hours; shown above as {units.digits(self.rough)} kWh",
        )
        return chain

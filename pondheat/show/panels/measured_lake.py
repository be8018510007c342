"""Page 10: the measured water of a shallow lake beside the computed one, month by month, and how far they are apart."""

from __future__ import annotations

import functools

import numpy as np
import pandas as pd

from pondheat.analysis.measured_water import computed_water, read_lake, water_error
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature_difference
from pondheat.heat.sky import DEFAULT_SKY
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice
from pondheat.show.panels import Panel

MONTHS = {"7": "July", "8": "August", "9": "September", "10": "October"}
SKIES = {
    DEFAULT_SKY: "ours: cloud estimated from the sun, by Crawford and Duchon",
    "berdahl_martin": "an older one: Walton's cloud on a clear sky by Berdahl and Martin",
    "clark_allen": "Walton's cloud on a clear sky by Clark and Allen",
}


class MeasuredLake(Panel):
    """A month of the measured lake: its water as it was and as the model makes it, under a sky of one's choice."""

    def __init__(self):
        self.lake = read_lake()
        self.computed = functools.lru_cache(8)(lambda sky: computed_water(self.lake, sky=sky))
        super().__init__(
            "lake",
            {
                "month": Choice("Month of 2018", MONTHS, "9"),
                "sky": Choice("Heat from the sky by", SKIES, DEFAULT_SKY),
            },
        )

    def redraw(self, month, sky):
        """Measured and computed water of the month, and the error over the whole record."""
        made = self.computed(sky)
        self.lake_error = water_error(made, self.lake.water_temp)
        times = times_of(self.lake.weather.hours)
        chosen = times.month == int(month)
        days = (times[chosen] - pd.Timestamp(2018, int(month), 1, tz=times.tz)) / pd.Timedelta("1D")
        measured = self.lake.water_temp[chosen]
        known = np.isfinite(measured)
        self.month_error = float((made[chosen] - measured)[known].mean())
        both = np.concatenate([measured[known], made[chosen]])
        low, high = 2 * np.floor(both.min() / 2), 2 * np.ceil(both.max() / 2)
        last = int(np.ceil(days[-1]))
        ticks = {float(day - 1): f"{day}" for day in (1, 8, 15, 22, 29)}
        lines = {"measured": (days[known], measured[known]), "computed": (days, made[chosen])}
        title = f"Water of the lake in {MONTHS[month]} 2018, °C, by day of the month"
        figure = figures.lines(
            lines,
            self.name,
            title,
            (0.0, float(last)),
            ticks,
            (low, high),
            celsius=True,
            where=lambda day: f"{int(day) + 1} {MONTHS[month]}, {int(24 * day) % 24}:00",
        )
        return figure, self._text(MONTHS[month])

    def _text(self, month: str) -> str:
        side = "too warm" if self.lake_error.bias > 0 else "too cold"
        that_month = "warmer" if self.month_error > 0 else "colder"
        found = self.lake_error
        return (
            f"In {month} the computed water is {temperature_difference(abs(self.month_error), 1)} {that_month} than "
            f"the measured water on average. Over the whole record, {units.digits(found.hours)} hours from July to "
            f"October, it is {temperature_difference(abs(found.bias), 1)} {side} on average, typically "
            f"{temperature_difference(found.rmse, 1)} out, and {temperature_difference(found.worst, 1)} in the worst "
            "hour. Nothing was fitted. This lake is open and unheated, so it says nothing about a cover or a heater."
        )

    def arithmetic(self):
        """The errors, and where the record is from."""
        chain, whence = Chain(), source("csls_data")
        chain.given("Hours compared", self.lake_error.hours, "dimensionless", f"without the first three days. {whence}")
        chain.given(
            "Computed less measured, mean", self.lake_error.bias, "delta_degC", "mean of two neighbouring hours"
        )
        chain.given(
            "Root mean square error", self.lake_error.rmse, "delta_degC", "square root of the mean squared error"
        )
        chain.given("Largest error of an hour", self.lake_error.worst, "delta_degC", "warmer or colder")
        return chain


def panel() -> MeasuredLake:
    """The measured lake beside the computed one."""
    return MeasuredLake()

"""The weather: degree-days of a month, by day and from its mean; and two records compared."""

from __future__ import annotations

import calendar

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature, temperature_difference
from pondheat.season.degree_days import degree_days, degree_days_from_extremes
from pondheat.season.weather.calendar import standard_time_index
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel
from pondheat.show.ponds import invented
from pondheat.show.tables import show_table

START_BASE, START_MONTH = 4.0, 11
RECORD_MONTH = 3  # of the two records


def air_of_year() -> pd.Series:
    """Air temperature of the built-in year by hour of standard time [°C]."""
    temps = assessment.weather_of(invented()).hours["air_temp"]
    return pd.Series(temps.to_numpy(), standard_time_index(times_of(temps)))


def in_month(temps: pd.Series, month: int) -> pd.Series:
    """The hours or days of one month (1–12)."""
    return temps[times_of(temps).month == month]


class DegreeDays(Panel):
    """A month's daily mean temperatures, a base, and the degree-days below it."""

    LOW, HIGH = -10.0, 30.0  # °C, ends of the scale

    def __init__(self):
        self.daily = air_of_year().resample("D").mean()
        super().__init__(
            "days",
            {
                "base": Slider("Base: the water, or a frost guard", START_BASE, 0, 26, 0.5, "degC"),
                "month": Slider("Month of the year, 1 to 12", START_MONTH, 1, 12, 1),
            },
            caution="power_cut",
        )

    def redraw(self, base, month):
        """Degree-days of the month, added day by day and from the month's mean."""
        self.base, self.name_of_month = base, calendar.month_name[int(month)]
        self.means = in_month(self.daily, int(month)).to_numpy()
        self.total = float(degree_days(self.means, base))
        self.averaged = len(self.means) * float(degree_days(self.means.mean(), base))
        days = list(range(1, len(self.means) + 1))
        figure = figures.lines(
            {"day's mean": (days, list(self.means))},
            self.name,
            f"Daily means in {self.name_of_month}, °C, Potsdam test year",
            (-6, 31),
            {day: str(day) for day in (1, 8, 15, 22, 29)},
            (self.LOW, self.HIGH),
            {base: f"base [{units.digits(base, 1)} °C]"},
            celsius=True,
            where=lambda day: f"{int(day)} {self.name_of_month}",
        )
        return figure, self._text()

    def _text(self) -> str:
        cold = int((self.means < self.base).sum())
        text = (
            f"{self.name_of_month} averages {temperature(self.means.mean(), 1)}. With {cold} of its {len(self.means)} "
            f"days below {temperature(self.base, 1)}, it has {units.digits(self.total)} degree-days."
        )
        if round(self.averaged) == round(self.total):
            few = "no day is" if cold in (0, len(self.means)) else "hardly a day is far"
            side = "above" if round(self.total) else "below"
            return f"{text} Average the month first and you get the same: {few} {side} it."
        return f"{text} Average the month first and you get {units.digits(self.averaged)}."

    def arithmetic(self):
        """The misleading degree-days from the mean, then those of the days below the base."""
        chain = Chain()
        days, mean = len(self.means), float(self.means.mean())
        chain.times(
            "Averaged first",
            (days, "day"),
            (float(degree_days(mean, self.base)), "delta_degC"),
            "delta_degC*day",
            f"base − mean of [{units.digits(mean, 1)} °C], at least 0, the same for every day",
        )
        below = self.means[self.means < self.base]
        if not below.size:
            chain.add("Degree-days", [("no day is below the base", 0.0)], "delta_degC*day", source("try_2010"))
            return chain
        count = chain.given("Days below the base", below.size, "day", source("try_2010"))
        chain.given("Their mean", float(below.mean()), "degC", source("try_2010"))
        chain.times(
            "Degree-days",
            (count, "day"),
            (self.base - float(below.mean()), "delta_degC"),
            "delta_degC*day",
            f"base − their mean, shown above as {units.digits(self.total)}",
        )
        return chain


class TwoRecords(Panel):
    """A station's hourly record and an invented garden logger's, which stamps each hour with its end."""

    def __init__(self):
        self.station = in_month(air_of_year(), RECORD_MONTH)
        # in whole degrees, like many loggers
        self.garden = self.station.round().shift(1, freq="h")
        swing = self.station.resample("D").agg(np.ptp).rolling(2).sum()
        self.last_day = times_of(swing)[int(swing.argmax())]  # the two days shown have the largest swing
        super().__init__("records", {"shift": Slider("Move the garden's record by", 0, -3, 3, 1, "hour")})

    def redraw(self, shift):
        """Two days of both records, and their mean absolute difference over the month."""
        self.shift = int(shift)
        moved = self.garden.shift(self.shift, freq="h")
        both = pd.DataFrame({"station": self.station, "garden": moved}).dropna()
        self.apart = (both["station"] - both["garden"]).abs()
        self.mean_apart = float(self.apart.mean())
        first = self.last_day - pd.Timedelta("1D")
        shown = both[first : first + pd.Timedelta("47h")]
        at = list((times_of(shown) - first) / pd.Timedelta("1h"))
        low, high = 5 * np.floor(self.station[shown.index].min() / 5), 5 * np.ceil(self.station[shown.index].max() / 5)
        figure = figures.lines(
            {str(name): (at, list(shown[name])) for name in shown},
            self.name,
            "Air temperature in two days of March, °C",
            (0, 48),
            {hour: f"{hour % 24} h" for hour in range(6, 48, 12)},
            (float(low), float(high)),
            celsius=True,
            where=lambda hour: f"{int(hour) % 24}:00",
        )
        words = {0: "as it is", 1: "moved one hour on", -1: "moved one hour back"}
        how = words.get(self.shift, f"moved {abs(self.shift)} hours {'on' if self.shift > 0 else 'back'}")
        return figure, (
            f"With the garden's record {how}, the two differ by {temperature_difference(self.mean_apart, 2)} on "
            "average over March."
        )

    def arithmetic(self):
        """The mean absolute difference: the sum of all differences over all hours."""
        chain = Chain()
        total = chain.given(
            "All differences added up",
            float(self.apart.sum()),
            "delta_degC*hour",
            f"{source('try_2010')}; garden invented",
        )
        hours = chain.given("Hours in both records", len(self.apart), "hour", "March of the test year")
        chain.given(
            "Mean difference", total / hours, "delta_degC", f"shown above as [{units.digits(self.mean_apart, 2)} K]"
        )
        return chain


def panel() -> DegreeDays:
    """The panel of this page."""
    return DegreeDays()


def two_records() -> TwoRecords:
    """The second panel of this page."""
    return TwoRecords()


SITUATION = {"length": 2.0, "depth": 0.8, "raised": 0.8, "water_temp": 4.0, "heater": 0.0, "hour": 8.0, "cloud": 1.0}
QUESTION = "How much cold did the guard have to deal with in November?"
OPTIONS = {
    "none": "none: the month averaged above [4 °C]",
    "much": "a good deal: warm days give nothing back",
    "a little": "next to none: the average was so close",
}
RIGHT = "much"
WORDS = {
    "none": "The average makes it look that way. But the guard has to deal with each cold day on the day itself.",
    "a little": "The average is very close to the setting. But see how far below the line the coldest days are.",
}


def ways(base: float = START_BASE, month: int = START_MONTH) -> dict[str, float]:
    """Degree-days of one month below `base` [°C] by four methods [K·d]."""
    hourly = in_month(air_of_year(), month)
    by_day = hourly.resample("D")
    means = by_day.mean()
    return {
        "from the month's mean": len(means) * float(degree_days(means.mean(), base)),
        "from each day's mean": float(degree_days(means, base)),
        "from each day's highest and lowest": float(
            np.sum(degree_days_from_extremes(by_day.max(), by_day.min(), base))
        ),
        "from every hour": float(degree_days(hourly, base)) / 24,
    }


def print_ways() -> None:
    """Show one month's degree-days by four methods, as a table."""
    show_table(
        f"{calendar.month_name[START_MONTH]} of the Potsdam test year, below [{START_BASE:g} °C]",
        ("worked out", "degree-days"),
        [(way, f"{value:.0f}") for way, value in ways().items()],
    )

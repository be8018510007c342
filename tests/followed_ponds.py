"""Synthetic unheated ponds with thermometer logs: computed by the model itself from known properties, and disturbed.

The water is that of a pond whose wind shelter, sky view, shade, volume and surface loss differ from the sheet's by
known factors; the thermometer adds a constant error, slow noise (first-order autoregressive) and rounding. The weather
is a typical year's, taken as if it had been measured on those days.
"""

import datetime as dt
import functools
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import following
from pondheat.heat import balance
from pondheat.meter.reading import thermometer_file
from pondheat.season import schedule
from pondheat.season.simulate import air_of, integrate
from pondheat.season.weather import weather
from pondheat.season.weather.record import MEASURED
from pondheat.sheet import pond_sheet

SHEET = """name = "Invented pond"
timezone = "Europe/London"

[place]
wind_shelter = 0.5
sky_view = 0.8
shade = 0.2

[pond]
surface_area = "10 m²"
volume = "12 m³"

[[wall]]
area = "15.6 m²"
u_value = "0.5 W/m²K"

[base]
against = "ground"
"""
TRUTH = {"wind": 0.7, "sky": 0.9, "sun": 0.85, "volume": 1.1, "surface": 1.1}
FIRST = dt.date(2025, 5, 1)
NOISE, STICKS, OFFSET = 0.15, 0.95, 0.1  # K, correlation from hour to hour, K


@functools.cache
def record(first: dt.date = FIRST, days: int = 45):
    """Weather of so many days, as if measured."""
    year = weather.read("potsdam", timezone="Europe/London", year=first.year)
    hours = weather.season_hours(year, first, first + dt.timedelta(days=days - 1), 0).drop(columns="spin_up")
    return replace(year, hours=hours, kind=MEASURED, place="an invented station")


def sheet(more: str = ""):
    """The pond as its keeper describes it."""
    return pond_sheet.from_text(SHEET + more)


def water(
    factors: dict[str, float] | None = None, first: dt.date = FIRST, days: int = 45, seed: int = 1, start: float = 14.0,
    pond_sheet_text: str = "", set_point: float = np.nan,
) -> pd.Series:  # fmt: skip
    """Hourly means of the true water as its thermometer shows them [degC]."""
    known, hours = sheet(pond_sheet_text), record(first, days).hours
    factor = dict.fromkeys(TRUTH, 1.0) | (factors or {})
    pond = replace(
        known.pond,
        wind_shelter=known.pond.wind_shelter * factor["wind"],
        sky_view=known.pond.sky_view * factor["sky"],
        shade=1 - (1 - known.pond.shade) * factor["sun"],
        volume=known.pond.volume * factor["volume"],
    )
    plan = known.cover_plan
    covered = schedule.covered_share(pd.DatetimeIndex(hours.index), plan.on, plan.off, plan.days, plan.exceptions)
    prepared = balance.prepare(pond, air_of(hours, 10.0), covered).with_factors(surface_factor=factor["surface"])
    course = integrate(prepared, set_point, 1e5, known.pump_heat, start)
    rng = np.random.default_rng(seed)
    noise, shocks = np.zeros(len(hours)), rng.normal(0, NOISE * np.sqrt(1 - STICKS**2), len(hours))
    for at in range(1, len(noise)):
        noise[at] = STICKS * noise[at - 1] + shocks[at]
    return pd.Series(np.round(course.mean + noise + OFFSET, 2), hours.index)


def log_text(series: pd.Series, head: str = "time,water temp [°C]") -> str:
    """A log as a logger writes it."""
    rows = (f"{at:%Y-%m-%d %H:%M},{value:.2f}" for at, value in series.items())
    return "\n".join([head, *rows, ""])


def follow(text: str, pond: str = "", weather_record=None, **options) -> following.Following:
    """The comparison for a log's text."""
    log = thermometer_file.read(text.encode(), "Europe/London", **options)
    return following.follow(sheet(pond), log, weather_record or record())

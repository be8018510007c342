"""Synthetic pairs of open and covered periods that test the comparison.

The truth differs from what the comparison knows (`pondheat.meter.savings.synthetic_logs`): an evaporation formula that
is none of its own, another sky formula; wind, sky view, shade, walls, filter, leak, lost water and volume each off
independently; weather that differs from the record day by day; a thermostat band, five per cent of unexplained scatter
a day, a register of 0.1 kWh, a thermometer of 0.1 K with a constant error. A load of 30 W is on the meter.
"""

from __future__ import annotations

import datetime as dt
import functools

import numpy as np

from pondheat.core.places import PONDS
from pondheat.meter.savings import planning, trials
from pondheat.meter.savings.trials import Site, Trial
from pondheat.season import simulate
from pondheat.season.schedule import covered_share
from pondheat.season.weather import weather
from pondheat.sheet import pond_sheet

STATIONS = ("potsdam", "rostock", "hamburg", "essen", "chemnitz", "mannheim")
FIRST, LAST = dt.date(2025, 10, 1), dt.date(2026, 4, 15)
NIGHTS = (LAST - FIRST).days
WEEKS = ((7, 0), (14, 0), (7, 14))  # nights of each period, and between the two


@functools.cache
def site(number: int) -> Site:
    """One of two ponds in one of six weathers; the cover is on from 17:00 to 09:00."""
    pond = pond_sheet.read(PONDS / f"{('garden_pond', 'growing_on_tank')[number % 2]}.toml")
    record = weather.read(STATIONS[number // 2 % 6], timezone="Europe/London", year=2025)
    hours = weather.season_hours(record, FIRST, LAST, 0)
    schedule = covered_share(hours.index, 17 * 60, 9 * 60)
    return Site(
        pond.pond,
        hours.index,
        simulate.air_of(hours, record.wind_height),
        schedule,
        pond.set_point[0][1],
        pond.heater,
        pond.pump_heat,
        base_load=30.0,
    )


def weather_only(number: int) -> Trial:
    """Two periods without any cover, one of them labelled covered; either may come first."""
    rng = np.random.default_rng((1, number))
    nights, between = WEEKS[number % 3]
    order = ["open"] * nights + [""] * between + ["covered"] * nights
    if rng.random() < 0.5:
        order.reverse()
    return trials.trial(
        site(int(rng.integers(12))), order, int(rng.integers(3, NIGHTS - len(order) - 3)), 10_000 + number, None
    )


def as_planned(number: int, nights: int, saving_fraction: float = 0.4) -> Trial:
    """A log of a given number of nights in randomised blocks of two, with a cover of known saving."""
    rng = np.random.default_rng((2, number))
    return trials.trial(
        site(int(rng.integers(12))),
        planning.order_of("blocks of two", nights, number),
        int(rng.integers(3, NIGHTS - nights - 3)),
        20_000 + number,
        saving_fraction,
    )

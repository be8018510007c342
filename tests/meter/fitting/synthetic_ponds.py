"""Invented ponds with invented logs, drawn from outside what `fit` believes.

How the truth differs from the fitted model. By `twins.drawn`: evaporation by a formula that is none of the fit's rivals
(Brady–Graves–Geyer, Penman 1948, Carrier with its wind near the surface), another sky formula, wind shelter, sky view,
shade, U-values, filter, leak and volume each off by an amount of its own and not by a common factor, a trickle of lost
water that stands in no sheet. By `twins.seen`: the weather at the pond is not quite the weather in the record. By
`twins.log`: a thermostat with a band, days off for no reason, gaps, rounding, a thermometer that reads wrong. Here: one
night on which the cover was forgotten, and a pump that takes another power. The season to be predicted runs in another
year than the typical one the prediction is given: another station's hours, with means of air, wind and sun that
differ from the typical year's as years do, not as places do.
"""

from __future__ import annotations

import datetime as dt
import functools
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.heat.balance import Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.meter.fitting.pond_fit import Conditions, band, fit, predict, unlearned
from pondheat.meter.savings import synthetic_logs
from pondheat.season import simulate
from pondheat.season.heaters import Heater
from pondheat.season.schedule import covered_share
from pondheat.season.weather import weather

ZONE, YEAR = "Europe/Berlin", 2025
FIRST, LAST = dt.date(2025, 10, 1), dt.date(2026, 4, 30)
STATIONS = ("rostock", "hamburg", "essen", "chemnitz", "mannheim", "bremerhaven")
SHEET = Pond(
    surface_area=10.0,
    volume=12.0,
    walls=(Wall(15.6, 0.5), Wall(10.0, 0.49, "ground")),
    filter_air_flow=0.002,
    filter_effectiveness=0.5,
    casing_u_value_area=3.0,
    aeration_air_flow=0.0005,
    water_change=1.39e-6,
    cover=Cover("sheet", 3.1, 0.8, 0.002),
    wind_shelter=0.5,
    sky_view=0.8,
    shade=0.2,
)
SET_POINT, HEATER, PUMP, SPIN_UP = 18.0, Heater("resistance", 12_000.0), 100.0, 48
ON, OFF = 18 * 60, 8 * 60


@functools.cache
def hours_of(station: str) -> pd.DataFrame:
    record = weather.read(station, timezone=ZONE, year=YEAR)
    assert record.wind_height == 10.0
    return weather.season_hours(record, FIRST, LAST, 0)


def typical() -> Conditions:
    """The season that the keeper plans with."""
    hours = hours_of("potsdam")
    return Conditions(
        SHEET,
        hours.index,
        simulate.air_of(hours, 10.0, 9.5, 9.5),
        SET_POINT,
        covered_share(hours.index, ON, OFF),
        HEATER.power,
        PUMP,
        PUMP,
    )


@dataclass(frozen=True)
class Twin:
    """A keeper's log and its conditions as he knows them, and what only we know: the season's true kWh in its own year
    and in the typical one, as (open, covered)."""

    use: pd.DataFrame
    conditions: Conditions
    true_year: tuple[float, float]
    true_typical: tuple[float, float]


def _year(rng) -> pd.DataFrame:
    """Another station's hours as this year's: means of air, wind and sun near the typical year's, as years are."""
    other, usual = hours_of(STATIONS[rng.integers(len(STATIONS))]).copy(), hours_of("potsdam")
    shift = usual["air_temp"].mean() - other["air_temp"].mean() + rng.normal(0, 0.9)
    kelvin = other["air_temp"] + 273.15
    other["sky_long_wave"] *= ((kelvin + shift) / kelvin) ** 4
    other["air_temp"] += shift
    for name in ("wind_speed", "solar"):
        other[name] *= usual[name].mean() / other[name].mean() * np.exp(rng.normal(0, 0.06))
    return other


def _season(pond, hours, base) -> tuple[float, float]:
    """Metered kWh of the season, open and covered every night."""
    air, nights = simulate.air_of(hours, 10.0, 9.5, 9.5), covered_share(hours.index, ON, OFF)
    return tuple(
        float(
            (
                simulate.simulate(
                    replace(pond, cover=cover),
                    hours,
                    air,
                    set_point=SET_POINT,
                    heater=HEATER,
                    covered=nights,
                    pump_heat=base,
                    start_temp=SET_POINT,
                )["heater"]
                + base
            ).sum()
            / 1000
        )
        for cover in (None, pond.cover)
    )


def twin(seed: int) -> Twin:
    """Pond number `seed`; three to four weeks of log, half of them with the water's temperature."""
    rng = np.random.default_rng([seed, 1])  # a stream of its own, as pond, weather and log have theirs
    pond, year, base = synthetic_logs.drawn(SHEET, seed), _year(rng), PUMP * np.exp(rng.normal(0, 0.05))
    true, in_usual = (_season(pond, lived, base) for lived in (year, hours_of("potsdam")))

    days, begin = int(rng.integers(21, 29)), 24 * int(rng.integers(3, 60))
    hours = year.iloc[begin - SPIN_UP : begin + 24 * days]
    dates = pd.date_range(hours.index[0].date(), hours.index[-1].date()).date
    open_nights = [date for date in dates if rng.random() < 0.5]
    forgotten = rng.choice([date for date in dates[3:-2] if date not in open_nights])
    told, really = (
        covered_share(hours.index, ON, OFF, exceptions=nights) for nights in (open_nights, [*open_nights, forgotten])
    )
    air = simulate.air_of(hours, 10.0, 9.5, 9.5)
    logged = synthetic_logs.log(
        pond,
        hours.index,
        air,
        really,
        set_point=SET_POINT,
        heater=HEATER,
        pump_heat=base,
        base_load=base,
        thermostat_band=0.3,
        noise=0.03,
        gaps=int(rng.integers(1, 4)),
        counter_step=0.1,
        thermometer_step=0.1 if rng.random() < 0.5 else 0.0,
        seed=2_000_000 + seed,
        spin_up=SPIN_UP,
        truth=False,
    )
    known = Conditions(
        SHEET, hours.index, synthetic_logs.seen(air, 1_000_000 + seed), SET_POINT, told, HEATER.power, PUMP, PUMP
    )
    return Twin(logged.use, known, true, in_usual)


@functools.cache
def _planned():
    season = typical()
    return season, predict(unlearned(season), season)


def foretold(seed: int) -> dict[str, dict[str, float]]:
    """Learn twin `seed` and foretell its season: for "open" and "covered" whether the 90 % band held the truth (held,
    and held_typical in the typical year), relative errors of the middle (learned, assumed, and
    both again in the typical year) and half-widths."""
    season, assumed = _planned()
    invented = twin(seed)
    fitted = fit(invented.use, invented.conditions)
    coming, known = predict(fitted, season), predict(fitted, season, count=100, year_spread=0.0)
    found = {}
    for at, case in enumerate(("open", "covered")):
        year, usual = invented.true_year[at], invented.true_typical[at]
        learned, narrow, wide = (band(getattr(p, f"{case}_kwh")) for p in (coming, known, assumed))
        found[case] = {
            "held": learned[0] <= year <= learned[2],
            "held_typical": narrow[0] <= usual <= narrow[2],
            "learned": learned[1] / year - 1,
            "assumed": wide[1] / year - 1,
            "learned_typical": narrow[1] / usual - 1,
            "assumed_typical": wide[1] / usual - 1,
            "reach": (learned[2] - learned[0]) / 2 / learned[1],
            "reach_assumed": (wide[2] - wide[0]) / 2 / wide[1],
        }
    return found

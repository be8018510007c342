"""Synthetic ponds with logs, drawn from outside the assumptions of `fit`.

The truth differs from the fitted model as follows. `synthetic_logs.perturbed_pond`: an evaporation formula that is none
of the fit's (Brady–Graves–Geyer, Penman 1948, Carrier with its wind near the surface), another sky formula; wind
shelter, sky view, shade, U-values, filter, leak and volume each off independently, and lost water that no sheet
mentions. `perturbed_weather`: the weather at the pond is not exactly the recorded one. `synthetic_log`: a thermostat
band, unexplained scatter between days, gaps, rounding, a thermometer with a constant error. Here: one night on which
the cover was forgotten, and a pump that takes another power. The season to be predicted is another year than the
typical one that the prediction is given: another station's hours, with means of air, wind and sun that differ from the
typical year's as years do, not as places do.
"""

from __future__ import annotations

import datetime as dt
import functools
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.heat.balance import Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.meter.fitting.pond_fit import Conditions, fit, predict, prior_fit, quantile_interval
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
def hours_of(station: str, last: dt.date = LAST) -> pd.DataFrame:
    """Weather of a station from FIRST to `last`."""
    record = weather.read(station, timezone=ZONE, year=YEAR)
    assert record.wind_height == 10.0
    return weather.season_hours(record, FIRST, last, 0)


def typical(last: dt.date = LAST) -> Conditions:
    """The season in typical weather, as the keeper plans it."""
    hours = hours_of("potsdam", last)
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
class LoggedPond:
    """A log with its conditions as the keeper knows them, and the true energy of the season in its own year and in the
    typical one, (open, covered) [kWh]."""

    use: pd.DataFrame
    conditions: Conditions
    true_year: tuple[float, float]
    true_typical: tuple[float, float]


def _coming_year(rng: np.random.Generator, last: dt.date) -> pd.DataFrame:
    """Another station's hours as the coming year, with means of air, wind and sun near the typical year's."""
    other, typical_hours = hours_of(STATIONS[rng.integers(len(STATIONS))], last).copy(), hours_of("potsdam", last)
    shift = typical_hours["air_temp"].mean() - other["air_temp"].mean() + rng.normal(0, 0.9)
    kelvin = other["air_temp"] + 273.15
    other["sky_long_wave"] *= ((kelvin + shift) / kelvin) ** 4
    other["air_temp"] += shift
    for name in ("wind_speed", "solar"):
        other[name] *= typical_hours[name].mean() / other[name].mean() * np.exp(rng.normal(0, 0.06))
    return other


def _season(pond, hours, pump_power) -> tuple[float, float]:
    """Metered energy of the season [kWh], open and covered every night."""
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
                    pump_heat=pump_power,
                    start_temp=SET_POINT,
                )["heater"]
                + pump_power
            ).sum()
            / 1000
        )
        for cover in (None, pond.cover)
    )


def logged_pond(seed: int, last: dt.date = LAST) -> LoggedPond:
    """Pond number `seed` with three to four weeks of log, half of them with the water temperature."""
    rng = np.random.default_rng([seed, 1])  # independent of the streams of pond, weather and log
    pond, year, pump_power = (
        synthetic_logs.perturbed_pond(SHEET, seed),
        _coming_year(rng, last),
        PUMP * np.exp(rng.normal(0, 0.05)),
    )
    true_year, true_typical = (_season(pond, lived, pump_power) for lived in (year, hours_of("potsdam", last)))

    days, begin = int(rng.integers(21, 29)), 24 * int(rng.integers(3, 60))
    hours = year.iloc[begin - SPIN_UP : begin + 24 * days]
    dates = pd.date_range(hours.index[0].date(), hours.index[-1].date()).date
    open_nights = [date for date in dates if rng.random() < 0.5]
    forgotten = rng.choice([date for date in dates[3:-2] if date not in open_nights])
    told, really = (
        covered_share(hours.index, ON, OFF, exceptions=nights) for nights in (open_nights, [*open_nights, forgotten])
    )
    air = simulate.air_of(hours, 10.0, 9.5, 9.5)
    logged = synthetic_logs.synthetic_log(
        pond,
        hours.index,
        air,
        really,
        set_point=SET_POINT,
        heater=HEATER,
        pump_heat=pump_power,
        base_load=pump_power,
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
        SHEET,
        hours.index,
        synthetic_logs.perturbed_weather(air, 1_000_000 + seed),
        SET_POINT,
        told,
        HEATER.power,
        PUMP,
        PUMP,
    )
    return LoggedPond(logged.use, known, true_year, true_typical)


@functools.cache
def _planned_season(last: dt.date):
    season = typical(last)
    return season, predict(prior_fit(season), season)


def prediction_errors(seed: int, last: dt.date = LAST) -> dict[str, dict[str, float]]:
    """Fit pond `seed` and predict its season, which ends on `last`.

    For "open" and "covered": whether the likely range held the truth (held; held_typical in the typical year),
    relative errors of the median (learned, assumed, and both in the typical year) and half-widths of the intervals.
    """
    season, assumed = _planned_season(last)
    pond = logged_pond(seed, last)
    fitted = fit(pond.use, pond.conditions)
    coming, known = predict(fitted, season), predict(fitted, season, count=100, year_spread=0.0)
    found = {}
    for at, case in enumerate(("open", "covered")):
        year_kwh, typical_kwh = pond.true_year[at], pond.true_typical[at]
        learned, narrow, wide = (quantile_interval(getattr(p, f"{case}_kwh")) for p in (coming, known, assumed))
        found[case] = {
            "held": learned[0] <= year_kwh <= learned[2],
            "held_typical": narrow[0] <= typical_kwh <= narrow[2],
            "learned": learned[1] / year_kwh - 1,
            "assumed": wide[1] / year_kwh - 1,
            "learned_typical": narrow[1] / typical_kwh - 1,
            "assumed_typical": wide[1] / typical_kwh - 1,
            "reach": (learned[2] - learned[0]) / 2 / learned[1],
            "reach_assumed": (wide[2] - wide[0]) / 2 / wide[1],
        }
    return found

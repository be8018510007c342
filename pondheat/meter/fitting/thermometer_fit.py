"""Fits an unheated pond to its logged water temperature: `fit`.

Without a heater the water itself is the meter: from noon to noon it warms by the sun and the pump less what surface,
walls and streams lose. So the terms, days, priors and search are those of the meter's fit, with the heat stored in the
water as what was measured, and the surface's loss taken apart into the part that wind makes and the part that the open
sky makes: these two have keys in a pond sheet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.meter.factors import FACTORS, PRIORS, Prior
from pondheat.meter.fitting.days import Days, NoWholeDay, daily_readings
from pondheat.meter.fitting.heat_terms import Conditions, linear_terms
from pondheat.meter.fitting.pond_fit import MIN_DAYS
from pondheat.meter.fitting.priors import InsufficientReadings
from pondheat.meter.fitting.search import posterior_search
from pondheat.meter.reading.energy_use import night_of, start_times
from pondheat.meter.surface_models import SurfaceModel

PLACE_PRIORS = {
    "wind": Prior(0.5, "judgement: the wind at the water may be half or twice the estimate, as for the meter's fit"),
    "sky": Prior(0.2, "judgement: the open sky is estimated to 0.15 by eye"),
    "volume": Prior(0.15, "judgement: water measured by tape to a tenth; mud and bed warm with it"),
}
WATER_FACTORS = ("wind", "sky", "sun", "volume", "surface", "cover", "walls", "streams")
WITH_KEY = ("wind", "sky", "sun", "volume")  # those that a pond sheet can say; for the sun, its shade
FREEZING = 0.5  # °C; days with colder water are left out, since ice holds heat that no thermometer shows (judgement)
_STEP = 0.1  # relative change of shelter and sky view from which their parts are found: the loss is linear in both
_HALF_WIDTH = 1.645  # standard deviations to either side of a 90 % interval
_COLUMNS = ("surface", "cover", "walls", "streams", "sun")


@dataclass(frozen=True, eq=False)
class WaterFit:
    """An unheated pond fitted to its water temperature. Arrays follow WATER_FACTORS.

    factors, low, high: median and 90 % interval of each factor on what the sheet says [–]; variance_reduction: share of
    the prior's variance that the log removed [–]; writable: factors of WITH_KEY that fit best together if all that no
    key can say stays as the sheet has it [–]; days: frame by day (residual [kWh], hours, weight); independent:
    effective number of days; noise: standard deviation of a day [kWh]; notes: on readings dropped.
    """

    factors: np.ndarray
    low: np.ndarray
    high: np.ndarray
    variance_reduction: np.ndarray
    writable: dict[str, float]
    days: pd.DataFrame
    independent: float
    noise: float
    notes: tuple[str, ...]


def fit(water: pd.DataFrame, conditions: Conditions) -> WaterFit:
    """Fit the factors of an unheated pond to its water temperature.

    water: frame of readings of at most a few hours (index: start of each; water_temp [degC], hours); conditions: pond,
    weather and cover in the same hours, set point and limit without meaning. Days at freezing point are left out.
    Raises InsufficientReadings for fewer than seven whole days, OutOfRange. Source: see `pond_fit.fit`.
    """
    days, notes = _days(water, conditions)
    columns = _daily_terms(conditions, days)
    names = list(WATER_FACTORS)
    priors = PLACE_PRIORS | PRIORS
    widths = np.array([priors[name].width for name in names])
    pond = conditions.pond
    caps = {"wind": pond.wind_shelter, "sky": pond.sky_view, "sun": 1 - pond.shade}
    most = np.array([np.log(1 / caps[name]) if caps.get(name) else np.inf for name in names])

    def predict(logs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        shifted = logs[0] + 0.01 * np.vstack([np.zeros(len(names)), np.eye(len(names))])
        daily = np.array([_warming(columns, dict(zip(names, np.exp(row)))) for row in shifted])
        return daily[:1], ((daily[1:] - daily[0]) / 0.01).T[None]

    found = posterior_search(columns["stored"], days.hours, days.dates, predict, widths, np.ones(1), most)
    centre, covariance = found.centres[0], found.covariances[0]
    reach = _HALF_WIDTH * np.sqrt(np.diag(covariance))
    frame = pd.DataFrame(
        {"residual": columns["stored"] - found.predicted, "hours": days.hours, "weight": found.weights},
        index=days.dates,
    )
    return WaterFit(
        np.exp(centre),
        np.exp(centre - reach),
        np.exp(np.minimum(centre + reach, most)),
        np.clip(1 - np.diag(covariance) / widths**2, 0, 1),
        _writable(centre, covariance, most),
        frame,
        found.effective,
        found.noise,
        notes,
    )


def _days(water: pd.DataFrame, conditions: Conditions) -> tuple[Days, tuple[str, ...]]:
    """Whole days of the log above freezing point, noon to noon."""
    use = water[["water_temp", "hours"]].dropna().assign(kwh=0.0)
    nights = night_of(start_times(use))
    thawed = use["water_temp"].groupby(nights).transform("min").to_numpy() >= FREEZING
    icy = len(nights.unique()) - len(nights[thawed].unique())
    if not thawed.any():
        raise InsufficientReadings(
            "The water was near freezing point on every day, and ice stores heat that a thermometer can't see."
        )
    try:
        days = daily_readings(use[thawed], conditions.index)
    except NoWholeDay as few:
        raise InsufficientReadings(str(few)) from None
    notes = (
        f"{icy} {'day' if icy == 1 else 'days'} near freezing point taught us nothing: ice stores heat that a "
        "thermometer can't see.",
    )
    if len(days.hours) < MIN_DAYS:
        raise InsufficientReadings(
            f"Only {len(days.hours)} whole {'day' if len(days.hours) == 1 else 'days'} of the log can teach "
            f"anything; at least {MIN_DAYS} are needed."
        )
    return days, (*days.notes, *(notes if icy else ()))


def _daily_terms(conditions: Conditions, days: Days) -> dict[str, np.ndarray]:
    """Daily sums [kWh] of each term, of the parts of surface and cover that grow with wind and with sky, and of the
    heat stored in the water as logged ("stored") and given by the pump ("pump")."""
    pond, model = conditions.pond, SurfaceModel(conditions.pond.evaporation, 1.0, 1.0)

    def hourly(shelter: float, sky_view: float):
        changed = replace(pond, wind_shelter=shelter, sky_view=sky_view)
        return linear_terms(replace(conditions, pond=changed), (model,), days.water_temp)

    own = hourly(pond.wind_shelter, pond.sky_view)
    calmer = hourly(pond.wind_shelter * (1 - _STEP), pond.sky_view)
    closed = hourly(pond.wind_shelter, pond.sky_view * (1 - _STEP))
    assert own.rise is not None  # the path was logged
    found = {name: own.value[0, :, FACTORS.index(name)] for name in _COLUMNS}
    for part, other in (("wind", calmer), ("sky", closed)):
        for name in ("surface", "cover"):
            at = FACTORS.index(name)
            found[f"{name} by {part}"] = (own.value[0, :, at] - other.value[0, :, at]) / _STEP
    found["stored"] = own.rise
    found["pump"] = np.full(len(own.rise), conditions.pump_heat)
    return {name: days.sums(values) / 1000 for name, values in found.items()}


def _warming(columns: dict[str, np.ndarray], factor: dict[str, float]) -> np.ndarray:
    """Heat that the water should have stored on each day for one set of factors [kWh], as if of the sheet's volume."""
    wind, sky = factor["wind"] - 1, factor["sky"] - 1
    lost = sum(factor[name] * columns[name] for name in ("walls", "streams", "sun")) - columns["pump"]
    for name in ("surface", "cover"):
        parts = columns[name] + wind * columns[f"{name} by wind"] + sky * columns[f"{name} by sky"]
        lost = lost + factor[name] * parts
    return -lost / factor["volume"]


def _writable(centre: np.ndarray, covariance: np.ndarray, most: np.ndarray) -> dict[str, float]:
    """Factors with a key that are likeliest if all others are as the sheet has them (conditional normal mean)."""
    keyed = [WATER_FACTORS.index(name) for name in WITH_KEY]
    rest = [at for at in range(len(centre)) if at not in keyed]
    pull = covariance[np.ix_(keyed, rest)] @ np.linalg.solve(covariance[np.ix_(rest, rest)], centre[rest])
    return dict(zip(WITH_KEY, np.exp(np.minimum(centre[keyed] - pull, most[keyed])).tolist()))

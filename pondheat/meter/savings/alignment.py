"""A meter's readings and the weather laid side by side, hour by hour, with what the open pond would have lost.

Where either is missing the other is cut too, and what was cut is listed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, require
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.meter.reading.energy_use import require_use
from pondheat.meter.surface_models import surface_models
from pondheat.season.simulate import HOUR

SUN_OFF = 0.2  # a keeper's idea of his shade: sun into the water this share too much or too little (judgement)
_WHOLE = 1e-3  # hours: less of an hour than this is none


@dataclass(frozen=True, eq=False)
class Aligned:
    """Hours for which both meter and weather are known.

    hours: index start; kwh [kWh] as read, heat [kWh] into the water (base load off, times what a unit of energy gives),
    hours [h] read of each hour, water_temp [degC], air_temp, wind_speed, rel_humidity, solar; stored [kWh] that the
    water took up, heat capacity × rise, 0 where its temperature was not logged; open_loss [kWh] of the open pond at
    that water temperature in that weather, sun [kWh] it takes up, open_need = open_loss − sun − other heat [kWh]: what
    a heater would have to give; degree_hours [K·h] of water above air. rivals: open_need reckoned in other ways
    (formula, wind, sun), a column each, with their weights [–]. stored_known: the water's temperature was logged, so
    that heat stored at the ends of a spell can be allowed for. capacity: heat that warms the pond by a degree [kWh/K];
    efficiency [–]: heat a unit of energy gives.
    """

    hours: pd.DataFrame
    rivals: np.ndarray
    weights: np.ndarray
    capacity: float
    efficiency: float
    stored_known: bool
    cut: tuple[str, ...]


def align(
    use: pd.DataFrame,
    pond: Pond,
    index: pd.DatetimeIndex,
    air: Air,
    *,
    set_point=None,
    cop=1.0,
    base_load: float = 0.0,
    pump_heat: float = 0.0,
) -> Aligned:
    """Lay readings of any step over hourly weather.

    use: frame with kwh, hours, perhaps water_temp, indexed by the start of each interval; index: starts of the
    weather's hours; air: their weather, NaN where it is missing. set_point: [degC], taken for the water where its
    temperature was not logged; one value or one an hour. cop: [–] heat a kilowatt-hour of the meter gives: 1 for
    resistance, a gas heater's efficiency, a heat pump's coefficient of performance; one value or one an hour.
    base_load: [W] on the same meter whose heat misses the water; what warms it (a submerged pump) stays in. pump_heat:
    [W] into the water from what is not on this meter. A reading longer than an hour is spread evenly over its hours.
    Raises OutOfRange for a log that cannot be used, and where neither a water temperature nor a set point is known.
    """
    require(cop=cop, base_load=base_load, pump_heat=pump_heat, set_point=set_point)
    require_use(use)
    use = use.sort_index()
    begin = ((use.index - index[0]) / pd.Timedelta("1h")).to_numpy(float)
    length = use["hours"].to_numpy(float)
    end = begin + length
    if (begin[1:] < end[:-1] - _WHOLE).any():
        at = int((begin[1:] < end[:-1] - _WHOLE).argmax()) + 1
        raise OutOfRange(f"The reading from {use.index[at]:%Y-%m-%d %H:%M} begins before the one above it ends.")
    cut: list[str] = []
    count = len(index)
    read = _spread(begin, end, length, count)
    kwh = _spread(begin, end, use["kwh"].to_numpy(float), count)
    outside = int(((begin < -_WHOLE) | (end > count + _WHOLE)).sum())
    if outside:
        cut.append(f"{outside} readings lie outside the hours of the weather and were cut.")
    gaps = np.flatnonzero(begin[1:] > end[:-1] + _WHOLE)
    cut += [
        f"{length:.0f} hours are missing in the meter from {when:%Y-%m-%d %H:%M}; the weather was cut there too."
        for when, length in ((index[0] + pd.Timedelta(hours=float(end[g])), begin[g + 1] - end[g]) for g in gaps)
    ]
    names = ("air_temp", "rel_humidity", "wind_speed", "cloud_cover", "solar", "pressure", "ground_temp", "mains_temp")
    columns = {name: np.array(np.broadcast_to(np.asarray(getattr(air, name), float), count)) for name in names}
    known = np.logical_and.reduce([np.isfinite(column) for column in columns.values()])
    lost = ~known & (read > _WHOLE)
    if lost.any():
        cut.append(
            f"The weather lacks {lost.sum()} of the meter's hours, the first "
            f"{index[lost.argmax()]:%Y-%m-%d %H:%M}; they were "
            "cut."
        )
    water, logged = _water(use, begin, end, count, set_point)
    kept = (read > _WHOLE) & known & np.isfinite(water[:-1]) & np.isfinite(water[1:])
    if not kept.any():
        raise OutOfRange("No hour of the readings lies in the hours of this weather: are they of the same year?")
    sky = air.sky_long_wave
    if sky is not None:
        sky = np.array(np.broadcast_to(np.asarray(sky, float), count))[kept]
    here = replace(air, **{name: column[kept] for name, column in columns.items()}, sky_long_wave=sky)
    middle = ((water[1:] + water[:-1]) / 2)[kept]
    part = read[kept]
    bare, capacity = replace(pond, cover=None), pond.heat_capacity / 3.6e6
    loss, sun = _open(bare, here, middle, part)
    other = pump_heat * part / 1000
    factor = np.broadcast_to(np.asarray(cop, float), count)[kept]
    frame = pd.DataFrame(
        {
            "kwh": kwh[kept],
            "heat": (kwh[kept] - base_load * part / 1000) * factor,
            "hours": part,
            "water_temp": middle,
            "stored": capacity * np.diff(water)[kept] * part if logged else 0.0,
            **{name: columns[name][kept] for name in ("air_temp", "wind_speed", "rel_humidity", "solar")},
            "open_loss": loss,
            "sun": sun,
            "open_need": loss - sun - other,
            "degree_hours": (middle - columns["air_temp"][kept]) * part,
        },
        index=index[kept].rename("start"),
    )
    members, weights = [], []
    for model in surface_models(pond):
        members.append(_open(model.applied_to(bare), here, middle, part)[0] - sun - other)
        weights.append(model.weight)
    for off in (-SUN_OFF, SUN_OFF):
        members.append(frame["open_need"].to_numpy() - off * sun)
        weights.append(0.0)  # beside the formulae, not among them
    return Aligned(frame, np.array(members).T, np.array(weights), capacity, float(factor.mean()), logged, tuple(cut))


def _spread(begin, end, amount, count: int) -> np.ndarray:
    """Amounts given over spans, as amounts in each whole hour."""
    edges = np.column_stack((begin, end)).ravel()
    running = np.cumsum(np.column_stack((np.zeros(len(amount)), amount)).ravel())
    return np.diff(np.interp(np.arange(count + 1), edges, running))


def _water(use: pd.DataFrame, begin, end, count: int, set_point) -> tuple[np.ndarray, bool]:
    """Water temperature at the edges of all hours, and whether it was logged."""
    edges = np.arange(count + 1)
    if "water_temp" in use and use["water_temp"].notna().sum() >= 2:
        known = use["water_temp"].notna().to_numpy()
        logged = use["water_temp"].to_numpy(float)[known]
        require(water_temp=logged)
        return np.interp(edges, ((begin + end) / 2)[known], logged), True  # means of intervals stand at their middles
    if set_point is None:
        raise OutOfRange("Neither the readings nor the pond say how warm the water was: give its set point.")
    held = np.array(np.broadcast_to(np.asarray(set_point, float), count))
    return np.append(held, held[-1]), False


def _open(pond: Pond, air: Air, water, part) -> tuple[np.ndarray, np.ndarray]:
    """What an uncovered pond loses and takes up from the sun [kWh] in each (part of an) hour."""
    prepared = balance.prepare(pond, air, 0.0)
    loss = sum(balance.losses(prepared, water)[0].values())
    return loss * part * HOUR / 3.6e6, prepared.solar_gain * part * HOUR / 3.6e6

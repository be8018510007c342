"""Meter readings and weather on one hourly grid, with the modelled heat loss of the open pond.

Hours in which either is missing are dropped and reported.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange, require
from pondheat.heat import balance
from pondheat.heat.balance import NEEDED, Air, Pond
from pondheat.heat.water import JOULES_PER_KWH
from pondheat.meter.factors import FACTORS, STREAMS, WALLS, prior_widths
from pondheat.meter.reading.energy_use import require_use, start_times
from pondheat.meter.reading.intervals import longest_carried
from pondheat.meter.surface_models import surface_models
from pondheat.season.hour_step import HOUR

SKY_VIEW_ERROR = 0.15  # standard deviation of a keeper's estimate of the open sky [–] (judgement)
LONG = 6.0  # h; longer readings keep their own sum, as hours cannot be separated within them (judgement)
# K; error of the water temperature at one time: where it was not logged, what a thermostat's band of ± 0.1 to ± 0.5 K
# leaves (a uniform distribution's half width over √3); where it was, at least half a tenth of a degree (judgement).
HELD_ERRORS, READ_ERROR = (0.06, 0.13, 0.29), 0.05
_EPSILON = 1e-3  # h; rounding of interval ends


@dataclass(frozen=True, eq=False)
class Aligned:
    """A log with its weather, for the hours in which both are known.

    hours: frame by start of the hour; kwh [kWh] as metered, heat [kWh] into the water (without base load, times cop),
    hours [h] metered of each hour, water_temp [degC], air_temp, wind_speed, rel_humidity, solar; stored [kWh], heat
    capacity × rise, 0 if the water temperature was not logged; open_loss [kWh], modelled loss of the open pond at that
    water temperature, sun [kWh] it absorbs, open_need = open_loss − sun − other heat [kWh], the heat a heater would
    have to supply; degree_hours [K·h] of water above air. alternatives: open_need by other models, one column each,
    with weights [–]: other formulas and winds, and, with weight 0, variations of one standard deviation (walls,
    streams, sun, sky view). capacity: [kWh/K] of the pond; efficiency [–]: mean heat per unit of metered energy;
    water_logged: whether the water temperature is measured, so that stored heat is known; water_errors [K]: standard
    deviations that one of its values may have; position: number of each hour among the weather's; long: readings of
    more than six hours (begin, end [h since the weather's first hour], kwh), whose energy the hours hold spread evenly;
    notes: sentences on hours that were dropped.
    """

    hours: pd.DataFrame
    alternatives: np.ndarray
    weights: np.ndarray
    capacity: float
    efficiency: float
    water_logged: bool
    water_errors: tuple[float, ...]
    position: np.ndarray
    long: pd.DataFrame
    notes: tuple[str, ...]


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
    """Align readings of any interval length with hourly weather.

    use: frame with kwh, hours, perhaps water_temp, indexed by the start of each interval; index: starts of the
    weather's hours; air: their weather, NaN where it is missing. set_point: [degC], the water temperature where it was
    not logged; one value, or one per hour. cop: [–] heat per kilowatt-hour metered: 1 for resistance, a gas heater's
    efficiency, a heat pump's coefficient of performance; one value, or one per hour. base_load: [W] on the same meter
    that does not heat the water (a submerged pump does, and is not part of it). pump_heat: [W] into the water from what
    is not on this meter. A reading longer than an hour is spread evenly over its hours.
    Raises OutOfRange for an unusable log, and if neither a water temperature nor a set point is known.
    """
    require(cop=cop, base_load=base_load, pump_heat=pump_heat, set_point=set_point)
    require_use(use)
    use = use.sort_index()
    begin, end = _begins_and_ends(use, index)
    count = len(index)
    notes = _notes_on_readings(begin, end, index)
    metered = _hourly_amounts(begin, end, end - begin, count)
    kwh = _hourly_amounts(begin, end, use["kwh"].to_numpy(float), count)
    columns = {name: _hourly(getattr(air, name), count) for name in NEEDED}
    known = np.logical_and.reduce([np.isfinite(column) for column in columns.values()])
    water, logged, water_errors = _water(use, begin, end, count, set_point)
    water_known = np.isfinite(water[:-1]) & np.isfinite(water[1:])
    in_log = metered > _EPSILON
    notes += _notes_on_unknown(index, ~known & in_log, ~water_known & known & in_log)
    kept = in_log & known & water_known
    if not kept.any():
        raise OutOfRange("No hour of the readings is within this weather: are they from the same year?")
    weather = _weather_of(air, columns, kept)
    mean_water, metered = ((water[1:] + water[:-1]) / 2)[kept], metered[kept]
    capacity = pond.heat_capacity / JOULES_PER_KWH
    routes, sun = _open_pond_energy(replace(pond, cover=None), weather, mean_water, metered)
    loss = sum(routes.values())
    other = pump_heat * metered / 1000
    factor = _hourly(cop, count)[kept]
    frame = pd.DataFrame(
        {
            "kwh": kwh[kept],
            "heat": (kwh[kept] - base_load * metered / 1000) * factor,
            "hours": metered,
            "water_temp": mean_water,
            "stored": capacity * np.diff(water)[kept] * metered if logged else 0.0,
            **{name: columns[name][kept] for name in ("air_temp", "wind_speed", "rel_humidity", "solar")},
            "open_loss": loss,
            "sun": sun,
            "open_need": loss - sun - other,
            "degree_hours": (mean_water - columns["air_temp"][kept]) * metered,
        },
        index=index[kept].rename("start"),
    )
    alternatives, weights = _alternatives(pond, weather, mean_water, metered, sun + other)
    readings = pd.DataFrame({"begin": begin, "end": end, "kwh": use["kwh"].to_numpy(float)})
    return Aligned(
        frame,
        alternatives,
        weights,
        capacity,
        float(factor.mean()),
        logged,
        water_errors,
        np.flatnonzero(kept),
        readings[end - begin > LONG + _EPSILON],
        tuple(notes),
    )


def _begins_and_ends(use: pd.DataFrame, index: pd.DatetimeIndex) -> tuple[np.ndarray, np.ndarray]:
    """Begin and end of each reading [h since the weather's first hour]; raises OutOfRange where two overlap."""
    begin = ((start_times(use) - index[0]) / pd.Timedelta("1h")).to_numpy(float)
    end = begin + use["hours"].to_numpy(float)
    early = begin[1:] < end[:-1] - _EPSILON
    if early.any():
        at = int(early.argmax()) + 1
        raise OutOfRange(f"The reading from {use.index[at]:%Y-%m-%d %H:%M} begins before the one above it ends.")
    return begin, end


def _notes_on_readings(begin, end, index: pd.DatetimeIndex) -> list[str]:
    """Sentences on readings outside the weather and on gaps between readings."""
    outside = int(((begin < -_EPSILON) | (end > len(index) + _EPSILON)).sum())
    notes = []
    if outside:
        notes.append(f"{counted(outside, 'reading lies', 'readings lie')} outside the hours of the weather, and cut.")
    for at in np.flatnonzero(begin[1:] > end[:-1] + _EPSILON):
        since = index[0] + pd.Timedelta(hours=float(end[at]))
        hours = begin[at + 1] - end[at]
        gap = counted(round(hours), "hour is", "hours are")
        if hours < 1:  # a counter read again some minutes later, as when a meter is swapped
            gap = counted(round(60 * hours), "minute is", "minutes are")
        notes.append(f"{gap} missing in the meter from {since:%Y-%m-%d %H:%M}; the weather was cut there too.")
    return notes


def _notes_on_unknown(index: pd.DatetimeIndex, no_weather: np.ndarray, no_water: np.ndarray) -> list[str]:
    """Sentences on metered hours without weather, and on others without a water temperature."""
    notes = []
    if no_weather.any():
        notes.append(
            f"The weather lacks {no_weather.sum()} of the meter's hours, the first "
            f"{index[int(no_weather.argmax())]:%Y-%m-%d %H:%M}; they were cut."
        )
    if no_water.any():
        notes.append(
            f"The water's temperature is missing in {counted(no_water.sum(), 'metered hour', 'metered hours')}, the "
            f"first {index[int(no_water.argmax())]:%Y-%m-%d %H:%M}: too long to carry a value over; left out."
        )
    return notes


def _hourly(values, count: int) -> np.ndarray:
    """One value for each hour, from one for all or one for each."""
    return np.array(np.broadcast_to(np.asarray(values, float), count))


def _weather_of(air: Air, columns: dict[str, np.ndarray], kept: np.ndarray) -> Air:
    """The weather of the hours that are kept; columns: of NEEDED, one value for each hour."""
    sky = {name: values for name in ("sky_long_wave", "sun_dimming") if (values := getattr(air, name)) is not None}
    hourly = columns | {name: _hourly(values, len(kept)) for name, values in sky.items()}
    return replace(air, **{name: column[kept] for name, column in hourly.items()})


def _alternatives(pond: Pond, weather: Air, water, share, gained) -> tuple[np.ndarray, np.ndarray]:
    """Heat needed by the open pond [kWh] by other models, one column each, and their weights [–]; see `Aligned`.

    gained: heat from the sun and from what is not on the meter [kWh].
    """
    open_pond = replace(pond, cover=None)

    def need_of(other_pond: Pond) -> np.ndarray:
        return sum(_open_pond_energy(other_pond, weather, water, share)[0].values()) - gained

    models = surface_models(pond)
    needs = [need_of(model.applied_to(open_pond)) for model in models]
    routes, sun = _open_pond_energy(open_pond, weather, water, share)
    need = sum(routes.values()) - gained
    width = dict(zip(FACTORS, prior_widths(pond)))
    variations = [
        need + width["walls"] * sum(routes[name] for name in WALLS),
        need + width["streams"] * sum(routes[name] for name in STREAMS),
        need - width["sun"] * sun,
    ]
    if not pond.room:
        variations.append(need_of(replace(open_pond, sky_view=min(pond.sky_view + SKY_VIEW_ERROR, 1.0))))
    weights = [model.weight for model in models] + [0.0] * len(variations)  # variations aren't formulas
    return np.array([*needs, *variations]).T, np.array(weights)


def _hourly_amounts(begin, end, amount, count: int) -> np.ndarray:
    """Amounts given per interval as amounts per whole hour, each interval spread evenly."""
    edges = np.column_stack((begin, end)).ravel()
    running = np.cumsum(np.column_stack((np.zeros(len(amount)), amount)).ravel())
    return np.diff(np.interp(np.arange(count + 1), edges, running))


def _water(use: pd.DataFrame, begin, end, count: int, set_point) -> tuple[np.ndarray, bool, tuple[float, ...]]:
    """Water temperature [degC] at the edges of all hours, whether it was logged, and its possible errors [K].

    No value is carried into a gap: an edge further from the nearest reading than three usual steps, or an hour if that
    is longer, is NaN.
    """
    edges = np.arange(count + 1)
    if "water_temp" in use and use["water_temp"].notna().sum() >= 2:
        known = use["water_temp"].notna().to_numpy()
        logged = use["water_temp"].to_numpy(float)[known]
        require(water_temp=logged)
        middle = ((begin + end) / 2)[known]  # an interval's mean belongs to its middle
        usual = float(np.median(np.diff(middle)))
        found = np.interp(edges, middle, logged)
        after = np.searchsorted(middle, edges).clip(1, len(middle) - 1)
        nearest = np.minimum(np.abs(edges - middle[after - 1]), np.abs(edges - middle[after]))
        found[nearest > longest_carried(usual)] = np.nan
        # An independent error of each value shows in second differences with six times its variance; the water itself
        # bends little from one reading to the next where readings are close together.
        bend = np.diff(logged, 2) if usual <= 2.0 else np.zeros(0)
        scatter = float(np.sqrt(np.mean(bend**2) / 6)) if len(bend) > 10 else 0.0
        return found, True, (max(scatter / np.sqrt(2), READ_ERROR),)  # an edge is the mean of the readings beside it
    if set_point is None:
        raise OutOfRange("Neither the readings nor the pond say how warm the water was: give its set point.")
    held = np.array(np.broadcast_to(np.asarray(set_point, float), count))
    return np.append(held, held[-1]), False, HELD_ERRORS


def _open_pond_energy(pond: Pond, air: Air, water, share) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Heat loss by route and absorbed sun [kWh] of an uncovered pond in each metered part (`share`) of an hour."""
    prepared, kwh = balance.prepare(pond, air, 0.0), share * HOUR / JOULES_PER_KWH
    losses = balance.losses(prepared, water)[0]
    return {name: loss * kwh for name, loss in losses.items()}, prepared.solar_gain * kwh

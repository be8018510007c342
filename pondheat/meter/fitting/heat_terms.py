"""The pond's heat as a sum of named terms, each with a factor, for many sets of factors at once.

The model's own path of the water (or the logged one) is marched once; about it every term is a straight line in the
water's temperature. Along these lines any set of factors is followed hour by hour, so that a thermostat, a heater at
its limit and a sun that overfills the pond stay what they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.meter.surface_models import SurfaceModel
from pondheat.season.simulate import HOUR, integrate

FACTORS = ("surface", "cover", "walls", "streams", "sun", "base")
_WALLS = ("walls", "ground")
_STREAMS = ("falling_water", "casing", "aeration", "water_change")
_TERMS = len(FACTORS) - 1  # base is no heat


@dataclass(frozen=True, eq=False)
class Conditions:
    """A pond in its weather, hour by hour, as the keeper describes it.

    index: starts of the hours with their zone; air: the weather of the same hours; set_point [degC], NaN where nothing
    is held; covered [–]; limit [W] of the heater; pump_heat [W] that warms the water; base_power [W] on the same meter
    beside the heater; taken [–]: what the meter counts for each unit of heat (1 for resistance, 1/COP, 1/efficiency),
    float or one an hour; counted: hours that are summed, all where None; start_temp [degC]: None is the set point, or
    the first day's air.
    """

    pond: Pond
    index: pd.DatetimeIndex
    air: Air
    set_point: np.ndarray | float
    covered: np.ndarray | float = 0.0
    limit: np.ndarray | float = np.inf
    pump_heat: float = 0.0
    base_power: float = 0.0
    taken: np.ndarray | float = 1.0
    counted: np.ndarray | None = None
    start_temp: float | None = None

    def every(self, name: str) -> np.ndarray:
        """One of the fields that may be a float, as an array with one value an hour."""
        return np.array(np.broadcast_to(np.asarray(getattr(self, name), float), len(self.index)))


@dataclass(frozen=True, eq=False)
class Terms:
    """Straight lines about the path of the water, per rival: value [W] and slope [W/K], (rivals, hours, terms).

    middle: the path [degC] at the start of each hour; given: the path is logged, and its rise [W] is booked.
    """

    value: np.ndarray
    slope: np.ndarray
    middle: np.ndarray
    rise: np.ndarray | None


def _lines(prepared: balance.Prepared, temp):
    """Every term and its slope at the water's temperature, (hours, terms)."""
    nothing = np.zeros_like(prepared.moment.air_temp)
    bare = prepared.with_factors(cover_factor=0.0)
    found = []
    for whole, alone in zip(balance.losses(prepared, temp), balance.losses(bare, temp)):
        routes = ("evaporation", "convection", "long_wave")
        surface = sum(alone[name] for name in routes)
        cover, walls, streams = (sum(whole[name] for name in names) for names in (routes, _WALLS, _STREAMS))
        found.append(np.column_stack((surface, cover - surface, walls, streams, nothing)))
    found[0][:, 4] = -prepared.solar_gain
    return found


def terms_of(conditions: Conditions, models: Sequence[SurfaceModel], water_temp=None) -> Terms:
    """The straight lines of all rivals about one path: the logged one, or the pond's own by `simulate.march`.

    water_temp: [degC] at the ends of all hours (one more than hours), or None.
    """
    own = balance.prepare(conditions.pond, conditions.air, conditions.every("covered"))
    rise = None
    if water_temp is None:
        path = integrate(
            own,
            conditions.every("set_point"),
            np.minimum(conditions.every("limit"), 1e9),
            conditions.pump_heat,
            _begin(conditions),
        )
        if path.ice.any():
            raise OutOfRange(
                "The pond as described freezes in these hours; a meter is learned from water that is held."
            )
        middle = path.start
    else:
        middle = (water_temp[1:] + water_temp[:-1]) / 2
        rise = np.diff(water_temp) * conditions.pond.heat_capacity / HOUR
    covered = conditions.every("covered")
    lines = [
        _lines(balance.prepare(model.applied_to(conditions.pond), conditions.air, covered), middle) for model in models
    ]
    return Terms(np.array([v for v, _ in lines]), np.array([s for _, s in lines]), middle, rise)


def _begin(conditions: Conditions) -> float:
    first = conditions.every("set_point")[0]
    if conditions.start_temp is not None:
        return conditions.start_temp
    return max(float(np.mean(np.atleast_1d(conditions.air.air_temp)[:24])), 0.0) if np.isnan(first) else float(first)


def modelled_kwh(
    conditions: Conditions,
    terms: Terms,
    which: np.ndarray,
    factors: np.ndarray,
    shift=None,
    shifted: Terms | None = None,
) -> np.ndarray:
    """What the meter counts in each hour [kWh], (hours, scenarios).

    which: number of the rival of each scenario; factors: (scenarios, FACTORS); shift: how much warmer each scenario's
    weather is, in K, with `shifted` the terms about the same path in weather warmer by one kelvin.
    """
    heat_factors = factors[:, :_TERMS]
    hours = len(conditions.index)
    value, slope = np.empty((hours, len(which))), np.empty((hours, len(which)))
    for rival in np.unique(which):
        mine = np.flatnonzero(which == rival)
        value[:, mine] = terms.value[rival] @ heat_factors[mine].T
        slope[:, mine] = terms.slope[rival] @ heat_factors[mine].T
        if shift is not None:
            value[:, mine] += (shifted.value[rival] - terms.value[rival]) @ heat_factors[mine].T * shift[mine]
    value -= conditions.pump_heat
    if terms.rise is not None:
        heat = value + terms.rise[:, None]
    else:
        heat = _followed(conditions, terms.middle, value, slope)
    base = conditions.base_power * factors[:, _TERMS]
    return (heat * conditions.every("taken")[:, None] + base) / 1000


def _followed(conditions: Conditions, middle, value, slope):
    """Heater power [W] hour by hour where the water is held: every scenario's own path beside `middle`."""
    capacity = conditions.pond.heat_capacity
    ease = -np.expm1(-slope * (HOUR / capacity)) / np.maximum(slope, 1e-6)
    target, limit = conditions.every("set_point"), conditions.every("limit")
    temp = np.full(value.shape[1], _begin(conditions))
    heat = np.zeros_like(value)
    for i, (here, wanted, most) in enumerate(zip(middle.tolist(), target.tolist(), limit.tolist())):
        loss = value[i] + slope[i] * (temp - here)
        if wanted == wanted:
            heat[i] = np.minimum(np.maximum((wanted - temp) / ease[i] + loss, 0.0), most)
        temp = np.maximum(temp + (heat[i] - loss) * ease[i], 0.0)
    return heat

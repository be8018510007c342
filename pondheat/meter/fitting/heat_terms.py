"""The pond's heat balance as a sum of named terms, each with a factor, for many sets of factors at once.

The water temperature is simulated once (or taken from the log), and every term is linearised about it. With the linear
terms any set of factors is integrated hour by hour, so that thermostat, heater limit and overheating by the sun are
kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.meter.factors import FACTORS, STREAMS, WALLS
from pondheat.meter.surface_models import SurfaceModel
from pondheat.season.hour_step import HOUR
from pondheat.season.simulate import integrate, unstated_start_temp

_TERMS = len(FACTORS) - 1  # without base, which is not a heat flow


@dataclass(frozen=True, eq=False)
class Conditions:
    """A pond in its weather, hour by hour, as the keeper describes it.

    index: starts of the hours with their zone; air: the weather of the same hours; set_point [degC], NaN for no
    heating; covered [–]; limit [W] of the heater; pump_heat [W] into the water; base_power [W] on the same meter
    besides the heater; input_per_heat [–]: metered energy per unit of heat (1 for resistance, 1/COP, 1/efficiency),
    one value, or one an hour; counted: mask of the hours to be summed, all if None; start_temp [degC]: None for the set
    point, or the mean air of the first day.
    """

    pond: Pond
    index: pd.DatetimeIndex
    air: Air
    set_point: np.ndarray | float
    covered: np.ndarray | float = 0.0
    limit: np.ndarray | float = np.inf
    pump_heat: float = 0.0
    base_power: float = 0.0
    input_per_heat: np.ndarray | float = 1.0
    counted: np.ndarray | None = None
    start_temp: float | None = None

    def hourly(self, name: str) -> np.ndarray:
        """A field as an array with one value an hour."""
        return np.array(np.broadcast_to(np.asarray(getattr(self, name), float), len(self.index)))


@dataclass(frozen=True, eq=False)
class Terms:
    """Linearised terms about a path of the water temperature: value [W] and slope [W/K], (models, hours, terms).

    path: water temperature [degC] of each hour; rise: heat stored [W] if the path was logged, otherwise None.
    """

    value: np.ndarray
    slope: np.ndarray
    path: np.ndarray
    rise: np.ndarray | None


def _lines(prepared: balance.Prepared, temp):
    """Values [W] and slopes [W/K] of all terms at a water temperature, each (hours, terms)."""
    zero = np.zeros_like(prepared.moment.air_temp)
    open_only = prepared.with_factors(cover_factor=0.0)
    found = []
    for whole, alone in zip(balance.losses(prepared, temp), balance.losses(open_only, temp)):
        routes = ("evaporation", "convection", "long_wave")
        surface = sum(alone[name] for name in routes)
        cover, walls, streams = (sum(whole[name] for name in names) for names in (routes, WALLS, STREAMS))
        found.append(np.column_stack((surface, cover - surface, walls, streams, zero)))
    found[0][:, 4] = -prepared.solar_gain
    return found


def linear_terms(conditions: Conditions, models: Sequence[SurfaceModel], water_temp=None) -> Terms:
    """Linear terms of all surface models about one path: the logged one, or one simulated from the sheet.

    water_temp: [degC] at the edges of all hours (one more than hours), or None. Raises OutOfRange if the pond freezes.
    """
    own = balance.prepare(conditions.pond, conditions.air, conditions.hourly("covered"))
    rise = None
    if water_temp is None:
        path = integrate(
            own,
            conditions.hourly("set_point"),
            np.minimum(conditions.hourly("limit"), 1e9),
            conditions.pump_heat,
            _initial_water_temp(conditions),
        )
        if path.ice.any():
            raise OutOfRange(
                "The pond as described freezes in these hours; a meter only teaches us about water that is kept warm."
            )
        path_temp = path.start
    else:
        path_temp = (water_temp[1:] + water_temp[:-1]) / 2
        rise = np.diff(water_temp) * conditions.pond.heat_capacity / HOUR
    covered = conditions.hourly("covered")
    lines = [
        _lines(balance.prepare(model.applied_to(conditions.pond), conditions.air, covered), path_temp)
        for model in models
    ]
    return Terms(np.array([v for v, _ in lines]), np.array([s for _, s in lines]), path_temp, rise)


def _initial_water_temp(conditions: Conditions) -> float:
    """Water temperature [degC] at the start of the first hour."""
    first = conditions.hourly("set_point")[0]
    if conditions.start_temp is not None:
        return conditions.start_temp
    return unstated_start_temp(conditions.air.air_temp) if np.isnan(first) else float(first)


def modelled_kwh(
    conditions: Conditions,
    terms: Terms,
    which: np.ndarray,
    factors: np.ndarray,
    shift=None,
    shifted: Terms | None = None,
) -> np.ndarray:
    """Metered energy of each hour [kWh], (hours, scenarios).

    which: index of the surface model of each scenario; factors: (scenarios, FACTORS); shift: how much warmer each
    scenario's weather is, in K, with `shifted` the terms about the same path in weather warmer by one kelvin.
    """
    heat_factors = factors[:, :_TERMS]
    hours = len(conditions.index)
    value, slope = np.empty((hours, len(which))), np.empty((hours, len(which)))
    for model in np.unique(which):
        rows = np.flatnonzero(which == model)
        value[:, rows] = terms.value[model] @ heat_factors[rows].T
        slope[:, rows] = terms.slope[model] @ heat_factors[rows].T
        if shift is not None and shifted is not None:
            value[:, rows] += (shifted.value[model] - terms.value[model]) @ heat_factors[rows].T * shift[rows]
    value -= conditions.pump_heat
    if terms.rise is not None:
        heat = value + terms.rise[:, None]
    else:
        heat = _heat_to_hold(conditions, terms.path, value, slope)
    base = conditions.base_power * factors[:, _TERMS]
    return (heat * conditions.hourly("input_per_heat")[:, None] + base) / 1000


def _heat_to_hold(conditions: Conditions, path_temp, value, slope):
    """Heater power [W] of each hour that holds the set point, along each scenario's own path near `path_temp`."""
    ease = -np.expm1(-slope * (HOUR / conditions.pond.heat_capacity)) / np.maximum(slope, 1e-6)  # [K/W] over an hour
    kept, drop = 1 - slope * ease, ease * (value - slope * path_temp[:, None])
    target, most = conditions.hourly("set_point"), conditions.hourly("limit")[:, None] * ease
    temp = np.full(value.shape[1], _initial_water_temp(conditions))
    rise = np.zeros_like(value)
    for i, wanted in enumerate(target.tolist()):
        unheated = kept[i] * temp - drop[i]  # at the hour's end
        if wanted == wanted:
            np.minimum(np.maximum(wanted - unheated, 0.0), most[i], out=rise[i])
        temp = np.maximum(unheated + rise[i], 0.0)
    return rise / ease

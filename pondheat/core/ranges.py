"""Plausible ranges of all parameters, and messages for values outside them.

`require` checks the arguments of public functions; `range_error` makes the message for a form, a sheet or a file.
"""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from pondheat.core import display_units, nomenclature, units
from pondheat.core.sources import ZERO_CELSIUS


class OutOfRange(ValueError):
    """A value is outside its plausible range; the message gives the value and the range."""


@dataclass(frozen=True)
class Range:
    """Limits of a parameter: impossible outside [least, most], unusual outside [low, high]."""

    least: float
    most: float
    low: float
    high: float


def _r(least, most, low=None, high=None) -> Range:
    return Range(least, most, least if low is None else low, most if high is None else high)


_FRACTION = _r(0, 1)
# The limits are a judgement, wide enough for every real pond.
RANGES: dict[str, Range] = {
    "temp": _r(-100, 200),
    "water_temp": _r(-5, 60, 0, 35),
    "air_temp": _r(-60, 60, -30, 45),
    "sky_temp": _r(-120, 60),
    "ground_temp": _r(-40, 50),
    "room_temp": _r(-40, 60),
    "mains_temp": _r(0, 50),
    "start_temp": _r(-5, 100),
    "end_temp": _r(-5, 100),
    "base_temp": _r(-30, 60),
    "max_temp": _r(-80, 70),
    "min_temp": _r(-80, 70),
    "mean_temp": _r(-80, 70),
    "daily_temps": _r(-80, 70),
    "amplitude": _r(0, 40),
    "lift": _r(-40, 100),
    "temp_difference": _r(-100, 100),
    "start_difference": _r(-60, 60),
    "end_difference": _r(-60, 60),
    "thermometer_step": _r(0, 5, 0.001, 1),
    "year_spread": _r(0, 10, 0, 3),
    "inside_temp": _r(-60, 100),
    "outside_temp": _r(-100, 100),
    "rel_humidity": _FRACTION,
    "pressure": _r(45_000, 110_000, 70_000, 105_000),
    "vapour_pressure": _r(0, 20_000),
    "humidity_ratio": _r(0, 0.2),
    "altitude": _r(-450, 6000, -450, 3000),
    "wind_speed": _r(0, 75, 0, 40),
    "from_height": _r(0.1, 300),
    "to_height": _r(0.1, 300),
    "cloud_cover": _FRACTION,
    "air_flow": _r(0, 50, 0, 1),
    "layers": _r(1, 20),
    "electricity_kwh": _r(0, 1e9),
    "gas_kwh": _r(0, 1e9),
    "measured": _r(-1e12, 1e12),
    "predicted": _r(-1e12, 1e12),
    "base_load": _r(0, 1e6),
    "thermostat_band": _r(0, 10, 0, 2),
    "noise": _FRACTION,
    "counter_step": _r(0, 1000, 0, 10),
    "chance": _r(0.01, 0.9999),
    "covered": _FRACTION,
    "set_point": _r(0, 60, 1, 35),
    "limit": _r(0, 1e7),
    "pump_power": _r(0, 1e6),
    "pump_heat": _r(0, 1e6),
    "gain": _r(0, 1e7),
    "start_ice": _r(0, 1e8),
    "ice": _r(0, 1e8),
    "freezing_degree_days": _r(0, 10_000),
    "sky_long_wave": _r(30, 700, 80, 550),
    "sun_dimming": _FRACTION,
    "clearness": _r(0, 3),
    "wind_height": _r(0.1, 300, 1, 80),
    "spin_up_days": _r(0, 400),
    "sky_view": _FRACTION,
    "sky_emissivity": _r(0.3, 1.2),
    "emissivity": _FRACTION,
    "solar": _r(0, 1500),
    "absorbed_sun": _r(0, 1500),
    "latitude": _r(-90, 90),
    "longitude": _r(-180, 180),
    "day_of_year": _r(1, 366),
    "area": _r(0, 100_000),
    "surface_area": _r(0.05, 20_000, 0.2, 2000),
    "perimeter": _r(0.01, 5000),
    "air_volume": _r(0, 100_000),
    "lid_air_height": _r(0, 5, 0, 1),
    "fish_kg": _r(0.001, 100_000, 0.1, 1000),
    "depth": _r(0.05, 20, 0.2, 4),
    "volume": _r(0.0, 100_000),
    "thickness": _r(0, 5),
    "thicknesses": _r(0, 10),
    "wall_thickness": _r(0, 3),
    "conductivities": _r(0.005, 500),
    "conductivity": _r(0.005, 500),
    "ground_conductivity": _r(0.1, 8),
    "inside_resistance": _r(0, 5),
    "outside_resistance": _r(0, 5),
    "floor_resistance": _r(0, 50),
    "wall_resistance": _r(0, 50),
    "u_value": _r(0, 100, 0.05, 12),
    "gap_length": _r(0, 1000),
    "gap_width": _r(0, 5),
    "thread_width": _r(1e-5, 0.05),
    "mesh_width": _r(1e-4, 1),
    "open_area": _FRACTION,
    "casing_u_value_area": _r(0, 10_000),
    "effectiveness": _FRACTION,
    "share": _FRACTION,
    "flow": _r(0, 10),
    "head": _r(0, 200),
    "efficiency": _r(0.001, 1),
    "power": _r(0, 1e7),
    "losses": _r(-1e7, 1e7),
    "loss_coefficient": _r(1e-6, 1000),
    "pond_loss": _r(1e-9, 1e5),
    "heat_capacity": _r(1e-9, 1e6),
    "cop": _r(0.1, 20),
    "hours": _r(0, 1e6),
    "energy": _r(-1e9, 1e9),
    "rate": _r(-100, 100, -1, 2),
    "price": _r(0, 1e9),
    "yearly_saving": _r(-1e9, 1e9),
    "years": _r(0, 200),
    "discount_rate": _r(-0.5, 1.0),
    "nominal": _r(-0.5, 2.0),
    "inflation": _r(-0.5, 2.0),
    "otherwise": _r(-100, 100, -1, 2),
    "export_rate": _r(-100, 100, -1, 2),
    "gas_rate": _r(-100, 100, -1, 2),
    "standing_charge": _r(0, 100, 0, 10),
    "tax_rate": _FRACTION,
    "step_minutes": _r(1, 1440),
    "kg_per_kwh": _r(0, 2, 0, 1.2),
    "seconds_per_flash": _r(1e-3, 1e6),
    "flashes": _r(0, 1e12),
    "flashes_per_kwh": _r(1, 1e6),
    "previous": _r(0, 1e12),
    "now": _r(0, 1e12),
    "digits": _r(1, 12),
    "current": _r(0, 1000),
    "voltage": _r(1, 1000),
    "power_factor": _r(0, 1, 0.3, 1),
    "calorific_value": _r(3, 150, 30, 50),
    "correction_factor": _r(0.5, 10),
    "confidence": _r(0.01, 0.9999),
    "cv_rmse": _r(0, 100),
    "saving_fraction": _r(-10, 1),
    "baseline_readings": _r(1, 1e9),
    "reporting_readings": _r(1, 1e9),
    "independent": _r(1e-6, 1e9),
    "parameters": _r(0, 100),
    "readings": _r(1, 1e9),
    "lag_one_correlation": _r(-0.9999, 0.9999),
    "ph": _r(0, 14, 5, 10),
    "total_ammonia": _r(0, 100, 0, 10),
    "year": _r(1800, 2300),
    "theta": _r(0.9, 1.3, 1.0, 1.12),
}


class _Guess(NamedTuple):
    """What an implausible number may have meant: the value in the parameter's unit, the words for it, and the number
    that they begin with."""

    value: float
    words: str
    number: float


def suggest_correction(name: str, value: float) -> str:
    """Likely meaning of an implausible value, as the end of a sentence; "" where there is none.

    >>> suggest_correction("pressure", 1021), suggest_correction("rel_humidity", 80)
    ('did you mean 1021 hPa?', 'did you mean 80 % (0.8)?')
    >>> suggest_correction("share", 2.5), suggest_correction("power_factor", 1.4)
    ('did you mean 2.5 % (0.025) or 25 % (0.25)?', '')
    """
    guess = _likely_guess(name, value)
    return f"did you mean {guess.words}?" if guess else ""


def _likely_guess(name: str, value: float) -> _Guess | None:
    """The first of the guesses at an implausible value that is in the parameter's usual range."""
    limits = RANGES.get(name)
    unit = nomenclature.PARAMETERS.get(name, (None,))[0]
    if limits is None or unit is None or not math.isfinite(value):
        return None
    return next((one for one in _guesses(name, unit, limits, value) if limits.low <= one.value <= limits.high), None)


def _guesses(name: str, unit: str, limits: Range, value: float) -> list[_Guess]:
    """What a number of this unit may have meant, the likeliest first."""
    if unit == "dimensionless" and limits.most == 1:
        slipped = [value / 10] if value < 10 and value != round(value) else []
        return [_Guess(value / 100, percentages(value / 100, *slipped, numbers=True), value)]
    if unit == "Pa":
        return [_Guess(value * 100, f"{value:g} hPa", value), _Guess(value * 1000, f"{value:g} kPa", value)]
    if unit == "degC":
        from_kelvin, from_fahrenheit = value - ZERO_CELSIUS.value, (value - 32) / 1.8
        return [
            _Guess(from_kelvin, f"{value:g} K ({from_kelvin:.1f} °C)", value),
            _Guess(from_fahrenheit, f"{value:g} °F ({from_fahrenheit:.1f} °C)", value),
            _Guess(value / 10, display_units.quantity(f"{value / 10:g}", "degC"), value / 10),
        ]
    if unit == "m":
        feet = _Guess(value * 0.3048, f"{value:g} ft", value)
        if name == "altitude":  # nobody measures a place's height in millimetres
            return [feet]
        return [_Guess(value / 1000, f"{value:g} mm", value), _Guess(value / 100, f"{value:g} cm", value), feet]
    if unit == "m**3":
        return [_Guess(value / 1000, display_units.quantity(f"{value:g}", "L"), value)]
    if unit == "W":
        return [_Guess(value / 1000, f"{value / 1000:g} W", value / 1000), _Guess(value * 1000, f"{value:g} kW", value)]
    if unit == "m/s":
        return [_Guess(value / 3.6, f"{value:g} km/h", value), _Guess(value / 10, f"{value / 10:g} m/s", value / 10)]
    if unit == "m**3/s":
        return [
            _Guess(value / 3600, f"{value:g} m³/h", value),
            _Guess(value / 3.6e6, f"{value:g} L/h", value),
            _Guess(value / 1000, f"{value:g} L/s", value),
        ]
    if unit in ("money/kWh", "kg/kWh"):
        smaller, called = (100, "hundredths a kWh") if unit == "money/kWh" else (1000, "g/kWh")
        return [_Guess(value / smaller, f"{value:g} {called} ({value / smaller:g})", value)]
    if name in ("nominal", "inflation", "confidence"):
        return [_Guess(value / 100, f"{value:g} % ({value / 100:g})", value)]
    return []


def percentages(*shares: float, numbers: bool = False) -> str:
    """Shares to choose from, in per cent; numbers: each as a number too.

    >>> percentages(0.025, 0.25), percentages(0.8, numbers=True)
    ('2.5 % or 25 %', '80 % (0.8)')
    """
    return " or ".join(f"{100 * share:g} %" + (f" ({share:g})" if numbers else "") for share in shares)


def _limit(value: float) -> str:
    return units.digits(value) if abs(value) >= 1e5 else f"{value:g}"


def range_error(
    name: str, value: float, unit: str | None = None, currency: units.Currency = units.GBP, typed: str = ""
) -> str | None:
    """Message for an impossible value of parameter `name` in its own unit; None for a possible one.

    typed: what was typed, which the message then quotes instead of the value.
    """
    limits = RANGES.get(name)
    unit = unit if unit is not None else nomenclature.PARAMETERS.get(name, ("",))[0] or ""
    label = units.pretty(unit, currency)
    space = " " if label and label != "°" else ""
    about = f"{typed} can't be right: " if typed else ""
    if not math.isfinite(value):
        return f"{about}{name} is not a number."
    if limits is None or limits.least <= value <= limits.most:
        return None
    guess = _likely_guess(name, value)

    def shown(numbers: str) -> str:
        return f"{numbers}{space}{label}{display_units.load().in_brackets(numbers, unit)}"

    span = f"between {shown(f'{_limit(limits.least)} and {_limit(limits.most)}')}"
    if not guess and (limits.low, limits.high) != (limits.least, limits.most):
        span += f", and usually is between {_limit(limits.low)} and {_limit(limits.high)}"
    if typed and guess and f"{guess.number:g}" not in typed:  # a guess at the unit keeps the number that was typed
        guess = None
    about = about or f"{shown(f'{value:g}')} given for {name}: "
    return f"{about}it should be {span}{f'; did you mean {guess.words}?' if guess else '.'}"


def unusual(name: str, value: float) -> bool:
    """Whether a value is outside the usual range of parameter `name`."""
    limits = RANGES.get(name)
    return limits is not None and not limits.low <= value <= limits.high


def require(**values) -> None:
    """Raise `OutOfRange` for the first value (float or array) outside its plausible range.

    >>> require(rel_humidity=80)
    Traceback (most recent call last):
    pondheat.core.ranges.OutOfRange: 80 given for rel_humidity: it should be between 0 and 1; did you mean 80 % (0.8)?
    """
    for name, value in values.items():
        if value is None:
            continue
        limits = RANGES[name]
        if isinstance(value, (float, int)):
            if limits.least <= value <= limits.most:
                continue
            raise OutOfRange(range_error(name, float(value)) or f"{name} is not a number.")
        try:
            given = np.asarray(value, dtype=float)
        except (TypeError, ValueError):
            raise OutOfRange(f"{name} is not a number.") from None
        if given.size == 0:
            raise OutOfRange(f"{name} has no values.")
        least, most = float(np.min(given)), float(np.max(given))
        if limits.least <= least and most <= limits.most:
            continue
        if not np.all(np.isfinite(given)):
            raise OutOfRange(f"{name} has a value that is not a number.")
        raise OutOfRange(range_error(name, least) or range_error(name, most) or f"{name} is not a number.")


def plain(value):
    """A zero-dimensional result as a float, any other unchanged: floats in, floats out."""
    return float(value) if np.ndim(value) == 0 else value


def choose(name: str, given: str, known) -> str:
    """`given`, where it is one of `known`. Raises `OutOfRange` naming the nearest and all known ones."""
    if isinstance(given, str) and given in known:
        return given
    near = difflib.get_close_matches(str(given).lower().replace(" ", "_"), list(known), 1, 0.6)
    hint = f" Did you mean “{near[0]}”?" if near else ""
    raise OutOfRange(f"“{given}” is not a known {name}.{hint} Known: {', '.join(known)}.")

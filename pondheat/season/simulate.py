"""A season hour by hour: one well-mixed body of water, each gain and loss in a column of its own."""

from __future__ import annotations

from collections.abc import Callable
from math import exp

import numpy as np
import pandas as pd

from pondheat.core.compilation import fastest
from pondheat.core.display_units import quantity, temperature
from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.core.sources import Constant
from pondheat.heat import balance
from pondheat.heat.balance import ROUTES, Air, Pond
from pondheat.heat.routes import Moment
from pondheat.heat.water import density, specific_heat
from pondheat.season.heaters import Heater
from pondheat.season.hour_step import HOTTEST, HOUR, Course, run_hours

COLUMNS = ("water_temp", "ice", "heater", "electricity", "gas", *ROUTES, "solar", "pump", "stored", "covered")
_COLUMN_INDEX = pd.Index(COLUMNS)
# Ground about a metre down: the yearly wave of the air reaches it smaller and later.
GROUND_DEPTH = Constant(1.0, "m", "practice", "middle of a pond's wall (judgement)")
GROUND_WAVE = Constant(2.2, "m", "iso_13370", "depth at which the yearly wave has shrunk to 37 %, clay (memory)")


class TooHot(OutOfRange):
    """Water that passes `HOTTEST`, as under a tight clear cover left on in the sun."""

    def __init__(self):
        super().__init__(
            f"The water would go above {temperature(HOTTEST)}, and nothing can live in that. A tight, clear cover left "
            "on in the sun does it: lift it by day, or check the light it lets through, its gap and the pond's walls."
        )


def time_constant(depth, loss_coefficient):
    """Hours in which a pond left alone loses 63 % of its lead over the air [h]: ρ c d / U.

    depth: [m] mean depth; loss_coefficient: [W/(m²·K)] per water surface; floats or arrays. Raises OutOfRange.
    Source: by definition.

    >>> round(time_constant(1.5, 20.0) / 24, 1)
    3.6
    """
    require(depth=depth, loss_coefficient=loss_coefficient)
    return plain(
        density(15.0) * specific_heat(15.0) * np.asarray(depth, float) / np.asarray(loss_coefficient, float) / HOUR
    )


def ground_temperature(hours: pd.DataFrame) -> np.ndarray:
    """Ground temperature beside the pond [degC] for each hour of a weather frame.

    The yearly sine wave of the air, 0.63 of its height and some four weeks late at a metre's depth. A record shorter
    than 300 days shows no yearly wave: its mean air temperature is taken. Source: ISO 13370 (damping depth, memory).
    """
    air, index = hours["air_temp"].to_numpy(), hours.index
    assert isinstance(index, pd.DatetimeIndex)
    if len(hours) < 300 * 24:
        return np.full(len(hours), air.mean())
    day = index.day_of_year.to_numpy() + index.hour.to_numpy() / 24
    angle = 2 * np.pi * day / 365.25
    design = np.column_stack([np.ones(len(air)), np.cos(angle), np.sin(angle)])
    mean, cosine, sine = np.linalg.lstsq(design, air, rcond=None)[0]
    late = GROUND_DEPTH.value / GROUND_WAVE.value
    return mean + exp(-late) * (cosine * np.cos(angle - late) + sine * np.sin(angle - late))


def air_of(
    hours: pd.DataFrame, wind_height: float, ground_temp=None, mains_temp=None, room_temp=None, room_humidity=None
) -> Air:
    """The heat balance's `Air` from a weather frame; inside a room its temperature and humidity take the air's place.

    Mains water where none is given: as the ground, but never frozen.
    """
    ground = ground_temperature(hours) if ground_temp is None else ground_temp
    judged = "sun_dimming" in hours and hours["sun_dimming"].notna().any()
    return Air(
        air_temp=hours["air_temp"].to_numpy() if room_temp is None else np.full(len(hours), float(room_temp)),
        rel_humidity=hours["rel_humidity"].to_numpy()
        if room_humidity is None
        else np.full(len(hours), float(room_humidity)),
        wind_speed=hours["wind_speed"].to_numpy(),
        cloud_cover=hours["cloud_cover"].to_numpy(),
        solar=hours["solar"].to_numpy(),
        pressure=hours["pressure"].to_numpy(),
        sky_long_wave=hours["sky_long_wave"].to_numpy() if room_temp is None else None,
        sun_dimming=hours["sun_dimming"].to_numpy() if judged else None,
        ground_temp=ground,
        mains_temp=np.maximum(ground, 0.0) if mains_temp is None else mains_temp,
        wind_height=wind_height,
    )


def integrate(
    prepared: balance.Prepared,
    set_point,
    limit,
    pump_heat: float,
    start_temp: float,
    start_ice: float = 0.0,
    machine_code: Callable | None = None,
    course: Course | None = None,
) -> Course:
    """Run a pond through the hours of `prepared`; see `hour_step.Course` for what it returns, as arrays.

    set_point: [degC] one for each hour, NaN where no heat is held; limit: [W] most heat the heater gives; pump_heat:
    [W]; start_temp: [degC]; start_ice: [kg]. The heater is an ideal thermostat at the set point, capped at limit.
    machine_code: `run_hours` compiled, None for the fastest form at hand; course: arrays to fill, None for new ones.
    Raises TooHot.
    """
    count = len(prepared.moment.air_temp)
    wanted, most = (np.array(np.broadcast_to(np.asarray(values, float), count)) for values in (set_point, limit))
    run, is_compiled = fastest(run_hours) if machine_code is None else (machine_code, True)
    start = float(pump_heat), float(start_temp), float(start_ice)
    if course is None:
        course = Course(*np.empty((len(Course._fields), count)))
    if is_compiled:
        done = run(prepared.moment, prepared.coefficients, wanted, most, *start, course)
    else:  # plain floats are faster taken from lists than from arrays
        lists = Course(*([0.0] * count for _ in course))
        weather = Moment(*(values.tolist() for values in prepared.moment))
        done = run(weather, prepared.coefficients, wanted.tolist(), most.tolist(), *start, lists)
        for filled, values in zip(course, lists):
            filled[:] = values
    if course.end[done - 1] > HOTTEST:
        raise TooHot
    return course


def unstated_start_temp(air_temp) -> float:
    """The water at the start where nobody says [degC]: the mean of the first day's air, but not below 0 °C.

    air_temp: [degC] of each hour, or one for all.
    """
    return max(float(np.mean(np.atleast_1d(air_temp)[:24])), 0.0)


def simulate(
    pond: Pond,
    hours: pd.DataFrame,
    air: Air,
    *,
    set_point=None,
    heater: Heater | None = None,
    covered=0.0,
    pump_power: float = 0.0,
    pump_heat: float = 0.0,
    start_temp: float | None = None,
    start_ice: float = 0.0,
) -> pd.DataFrame:
    """A season hour by hour: a frame with COLUMNS, indexed like `hours`.

    hours: weather frame whose index gives the hours' starts; air: the same weather as `air_of` made it.
    set_point: [degC] float or one a hour, None or NaN where no heat is held. covered: [–] share of each hour the cover
    lies on. pump_power: [W] taken; pump_heat: [W] of it that warms the water. start_temp: [degC], default
    `unstated_start_temp`; start_ice: [kg] on the pond then. Columns are W as mean of the hour; `water_temp`
    [degC] and `ice` [kg] are at its end; `stored` is worked out from heat capacity × temperature change and ice, never
    as a remainder.
    Raises OutOfRange. Source: one well-mixed node; see the module's first lines.
    """
    count = len(hours)
    if count == 0:
        raise OutOfRange("The weather has no hours.")
    wanted = np.asarray(np.nan if set_point is None else set_point, float)
    held = wanted[~np.isnan(wanted)]
    if held.size:
        require(water_temp=held)
        if held.min() <= 0:
            raise OutOfRange(f"A set point at or below {temperature(0)} is given: water that is held must be liquid.")
    heater = heater or Heater("none")
    prepared = balance.prepare(pond, air, covered)
    outdoor = hours["air_temp"].to_numpy()
    begin = unstated_start_temp(outdoor) if start_temp is None else float(start_temp)
    require(water_temp=begin, start_ice=start_ice)
    if begin < 0:
        raise OutOfRange(f"A start at {quantity(f'{begin:g}', 'degC')} is given: water is not below {temperature(0)}.")
    # one block, filled in place: a frame made of columns, or of a copy, takes longer than the season itself
    table = np.empty((len(COLUMNS), count))
    columns = dict(zip(COLUMNS, table))
    course = Course(
        start=np.empty(count),
        mean=np.empty(count),
        end=columns["water_temp"],
        **{name: columns[name] for name in Course._fields if name in columns},
    )
    integrate(prepared, wanted, heater.limit(outdoor), pump_heat, begin, start_ice, course=course)
    electricity, columns["gas"][:] = heater.taken(course.heater, course.mean, outdoor)
    columns["electricity"][:] = electricity + pump_power
    columns["pump"][:] = pump_heat
    columns["covered"][:] = prepared.moment.covered
    return pd.DataFrame(table.T, index=hours.index, columns=_COLUMN_INDEX, copy=False)


def heat_to_hold(pond: Pond, air: Air, *, set_point, covered=0.0, pump_heat: float = 0.0) -> np.ndarray:
    """Heat that water at the set point needs in each hour to stay there [W], 0 where no heat is held.

    Arguments as for `simulate`; what the water really does has no part in it. Raises OutOfRange.
    """
    prepared = balance.prepare(pond, air, covered)
    wanted = np.broadcast_to(np.asarray(set_point, float), prepared.moment.air_temp.shape)
    held = ~np.isnan(wanted)
    lost, _ = balance.losses(prepared, np.where(held, wanted, 0.0))
    return np.where(held, np.maximum(sum(lost.values()) - prepared.solar_gain - pump_heat, 0.0), 0.0)

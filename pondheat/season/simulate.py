"""Hour by hour through a season: one well-mixed body of water, an exact step, every term by its name.

Within an hour the losses are taken as a straight line about the temperature at its start; that line is solved exactly,
and the moment the thermostat's set point (or freezing) is reached is found in closed form. Letting the water cool for an
hour and then topping it up looks natural and loses up to 3.5 % of the bill: the losses would be those of cooled water.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.core.sources import FUSION_HEAT, Constant
from pondheat.heat import balance
from pondheat.heat.balance import ROUTES, Air, Pond
from pondheat.heat.water import density, specific_heat
from pondheat.season.heaters import Heater

HOUR = 3600.0
COLUMNS = ("water_temp", "ice", "heater", "electricity", "gas", *ROUTES, "solar", "pump", "stored", "covered")
# Ground about a metre down: the yearly wave of the air reaches it smaller and later.
GROUND_DEPTH = Constant(1.0, "m", "practice", "middle of a pond's wall (judgement)")
GROUND_WAVE = Constant(2.2, "m", "iso_13370", "depth at which the yearly wave has shrunk to 37 %, clay (memory)")
_FUSION = FUSION_HEAT.value
HOTTEST = 60.0  # °C that water may reach; no pond gets there, and what is reckoned beyond means nothing (judgement)


class TooHot(OutOfRange):
    """Water that passes `HOTTEST`, as under a tight clear cover left on in the sun."""

    def __init__(self):
        super().__init__(
            f"The water would pass {HOTTEST:g} °C, and nothing lives in that. A tight, clear cover left on in the sun does "
            "it: lift it by day, or look again at the light it lets through, its gap and the pond's walls."
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
    air = hours["air_temp"].to_numpy()
    if len(hours) < 300 * 24:
        return np.full(len(hours), air.mean())
    day = hours.index.day_of_year.to_numpy() + hours.index.hour.to_numpy() / 24
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
        ground_temp=ground,
        mains_temp=np.maximum(ground, 0.0) if mains_temp is None else mains_temp,
        wind_height=wind_height,
    )


@dataclass(frozen=True)
class Path:
    """What `march` found: for each hour the temperature at its start, over it, at its end [degC], ice at its end [kg],
    the heat given by the heater [W], and the heat that holding the set point would need [W], 0 where nothing is held."""

    start: np.ndarray
    mean: np.ndarray
    end: np.ndarray
    ice: np.ndarray
    heater: np.ndarray
    need: np.ndarray


def _hour(temp, ice, loss, slope, gain, set_point, limit, capacity):
    """One hour from `temp` and `ice` with losses loss + slope·(T − temp): (end, mean, ice, mean heater power)."""
    if ice == 0.0 and slope > 1e-6 and temp != set_point:  # most hours: nothing is reached on the way
        power = limit if temp < set_point else 0.0
        way = (power + gain - loss) / slope
        end = temp + way * (1.0 - exp(-slope * HOUR / capacity))
        if end > 0.0 and (temp < set_point) == (end < set_point):
            return end, temp + way - capacity / slope * (end - temp) / HOUR, 0.0, power
    left, area, heat, here = HOUR, 0.0, 0.0, temp
    if -1e-6 < slope < 1e-6:
        slope = 1e-6
    for _ in range(8):  # at most: thaw, set point, hold; eight leaves room
        if ice > 0.0:
            power = limit if set_point > 0.0 else 0.0
            net = power + gain - (loss - slope * temp)
            if net * left < ice * _FUSION:
                return 0.0, area / HOUR, ice - net * left / _FUSION, (heat + power * left) / HOUR
            thaw = ice * _FUSION / net
            heat += power * thaw
            left -= thaw
            ice = here = 0.0
        if here == set_point:
            need = loss + slope * (here - temp) - gain
            if 0.0 <= need <= limit:
                return here, (area + here * left) / HOUR, ice, (heat + need * left) / HOUR
            power = limit if need > limit else 0.0
        else:
            power = limit if here < set_point else 0.0
        net = power + gain - loss - slope * (here - temp)
        if here <= 0.0 and net < 0.0:
            return 0.0, area / HOUR, -net * left / _FUSION, (heat + power * left) / HOUR
        way = net / slope
        end = here + way * (1.0 - exp(-slope * left / capacity))
        if here < set_point < end or end < set_point < here:
            goal = set_point
        elif end < 0.0 < here:
            goal = 0.0
        else:
            area += (here + way) * left - capacity / slope * (end - here)
            return end, area / HOUR, ice, (heat + power * left) / HOUR
        spent = min(-capacity / slope * log(1.0 - (goal - here) / way), left)
        area += (here + way) * spent - capacity / slope * (goal - here)
        heat += power * spent
        left -= spent
        here = goal
    return here, (area + here * left) / HOUR, ice, heat / HOUR


def integrate(prepared: balance.Prepared, set_point, limit, gain, start_temp: float, start_ice: float = 0.0) -> Path:
    """Go through the hours of `prepared` one after another.

    set_point: [degC] one a hour, NaN where nothing is held; limit: [W] most heat the heater gives; gain: [W] sun and
    pump; start_temp: [degC]; start_ice: [kg]. The heater is an ideal thermostat at the set point, capped at limit.
    """
    count = len(prepared.air_temp)
    set_point, limit, gain = (np.array(np.broadcast_to(c, count), float) for c in (set_point, limit, gain))
    idle = np.isnan(set_point)
    set_point[idle] = -1e9
    held, held_slope = balance.losses(prepared, np.clip(set_point, 0.0, 60.0))
    held, held_slope = sum(held.values()), sum(held_slope.values())
    need = held - gain
    at, capacity, table = balance.total(prepared.pond), prepared.pond.heat_capacity, prepared.table()
    control = np.column_stack((set_point, limit, gain, held, held_slope))
    # Hours in a row through which the heater simply holds are filled in one stroke, up to the next break.
    breaks = ~((need >= 0) & (need <= limit))
    following = np.append(np.flatnonzero(breaks | np.append(True, np.diff(set_point) != 0)), count)
    next_break = following[np.searchsorted(following, np.arange(count), side="right")].tolist()
    breaks, wanted_list, needs = breaks.tolist(), set_point.tolist(), need.tolist()

    temp, ice = float(start_temp), float(start_ice)
    start, mean, end, ices, heats = ([0.0] * count for _ in range(5))
    i = 0
    while i < count:
        if temp == wanted_list[i] and not breaks[i] and ice == 0.0:
            j = next_break[i]
            start[i:j] = mean[i:j] = end[i:j] = [temp] * (j - i)
            heats[i:j] = needs[i:j]
            i = j
            continue
        block = slice(i, i + 24)
        for row, (wanted, most, gained, loss, slope) in zip(table[block].tolist(), control[block].tolist()):
            start[i] = temp
            if temp != wanted or ice > 0.0:
                loss, slope = at(temp, row)
            elif not breaks[i]:
                break
            temp, mean[i], ice, heats[i] = _hour(temp, ice, loss, slope, gained, wanted, most, capacity)
            if temp > HOTTEST:
                raise TooHot
            end[i], ices[i] = temp, ice
            i += 1
    need = np.where(idle, 0.0, np.maximum(need, 0.0))
    return Path(*(np.array(a) for a in (start, mean, end, ices, heats)), need)


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
) -> pd.DataFrame:
    """A season hour by hour: a frame with COLUMNS, indexed like `hours`.

    hours: weather frame whose index gives the hours' starts; air: the same weather as `air_of` made it.
    set_point: [degC] float or one a hour, None or NaN where no heat is held. covered: [–] share of each hour the cover
    lies on. pump_power: [W] taken; pump_heat: [W] of it that warms the water. start_temp: [degC], default the mean of
    the first day's air, not below 0. Columns are W as mean of the hour; `water_temp` [degC] and `ice` [kg] stand at
    its end; `stored` is reckoned from heat capacity × temperature change and ice, never as a remainder.
    Raises OutOfRange. Source: one well-mixed node; see the module's first lines.
    """
    return simulate_with_need(
        pond,
        hours,
        air,
        set_point=set_point,
        heater=heater,
        covered=covered,
        pump_power=pump_power,
        pump_heat=pump_heat,
        start_temp=start_temp,
    )[0]


def simulate_with_need(
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
) -> tuple[pd.DataFrame, np.ndarray]:
    """`simulate`, and beside its frame the heat each hour would need to hold the set point [W]."""
    count = len(hours)
    if count == 0:
        raise OutOfRange("The weather holds no hours.")
    wanted = np.broadcast_to(np.asarray(np.nan if set_point is None else set_point, float), count)
    held = wanted[~np.isnan(wanted)]
    if held.size:
        require(water_temp=held)
        if held.min() <= 0:
            raise OutOfRange("A set point at or below 0 °C is given: water that is held must be liquid.")
    heater = heater or Heater("none")
    prepared = balance.prepare(pond, air, covered)
    outdoor = hours["air_temp"].to_numpy()
    begin = max(float(outdoor[:24].mean()), 0.0) if start_temp is None else float(start_temp)
    require(water_temp=begin)
    if begin < 0:
        raise OutOfRange(f"A start at {begin:g} °C is given: water is not below 0 °C.")
    path = integrate(prepared, wanted, heater.limit(outdoor), prepared.solar_gain + pump_heat, begin)
    value, slope = balance.losses(prepared, path.start)
    away = path.mean - path.start
    terms = {name: value[name] + slope[name] * away for name in ROUTES}
    ice_before = np.concatenate(([0.0], path.ice[:-1]))
    stored = (pond.heat_capacity * (path.end - path.start) - _FUSION * (path.ice - ice_before)) / HOUR
    electricity, gas = heater.taken(path.heater, path.mean, outdoor)
    columns = {
        "water_temp": path.end,
        "ice": path.ice,
        "heater": path.heater,
        "electricity": electricity + pump_power,
        "gas": gas,
        **terms,
        "solar": prepared.solar_gain,
        "pump": np.full(count, float(pump_heat)),
        "stored": stored,
        "covered": prepared.covered,
    }
    return pd.DataFrame(columns, index=hours.index, columns=list(COLUMNS)), path.need

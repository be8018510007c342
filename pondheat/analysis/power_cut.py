"""A power cut from any hour of the weather year: how fast the water cools, and how long its oxygen lasts.

Heater, pump, filter stream and air stones stop; sun, weather, walls and new water go on as the sheet has them. The
water is assumed to be well mixed: without a pump a real pond stratifies, and its surface cools sooner than its depth.
`text.power_cut_text` puts the result into sentences.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import BoundaryConditions, times_of
from pondheat.core.ranges import OutOfRange, require
from pondheat.core.sources import ZERO_CELSIUS, Constant
from pondheat.fish import oxygen
from pondheat.heat import balance
from pondheat.heat.balance import Pond
from pondheat.heat.moist_air import saturation_vapour_pressure
from pondheat.heat.water import JOULES_PER_KWH
from pondheat.season import simulate
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

_DATE = re.compile(r"\s*\d{4}-\d{1,2}-\d{1,2}(?!\d)")
FALLS = (1.0, 3.0, 5.0)  # K
DAY, DAYS, MOST_DAYS = 24, 10, 60
WORST_FALL = 3.0  # K; the fall that `every_evening` times
HEATER_RESTS = 1.0  # K over the set point; above it the sun, not the heater, keeps the water warm (judgement)
EVENING = 18  # hour of the day at which `every_evening` starts its power cuts, with the night ahead
LIDS = ("sheet", "insulated lid")  # covers with air under them
RESPIRATION = Constant(0.2, "g/kg/hour", "practice", "carp at rest about 0.1, warm and fed 0.3 and more, from memory")
LOWEST_OXYGEN = Constant(4.0, "mg/L", "practice", "carp are in trouble somewhere between 3 and 5, from memory")
OXYGEN_SHARE = Constant(0.2095, "dimensionless", "ashrae_f01", "oxygen in dry air by volume (memory)")
OXYGEN_GAS = Constant(259.84, "J/kg/K", "codata_2018", "gas constant 8.31446 over 31.998 g/mol (memory)")


@dataclass(frozen=True, eq=False)
class PowerCut:
    """The cooling and the oxygen of one pond without power.

    start_temp [°C]; water_temps [°C] at each hour's end and net_loss [W], mean heat loss less the sun's gain, both
    indexed by the hours' starts; heat_capacity [kWh/K] of the water; pressure [Pa]; hours_to: fall [K] → hours, inf
    where it is not reached; fastest_rate [K/d]: greatest fall within any 24 hours, negative where the water only
    warms; oxygen_stock [g] in the water above lowest_oxygen; water_oxygen_hours: how long that lasts the fish;
    oxygen_hours: with the air under the lid added; both None without fish_kg. heated, in_room: of the sheet; days,
    fish_kg [kg], respiration, lowest_oxygen: as asked for; lid_air [m³]: air under the lid that was counted;
    hours_to_ice: until the first ice, 0 where there is some at the start, inf where none forms; frozen_share: of the
    water that is ice at most [–].
    """

    start: pd.Timestamp
    covered: bool
    start_temp: float
    water_temps: pd.Series
    net_loss: pd.Series
    heat_capacity: float
    pressure: float
    hours_to: dict[float, float]
    fastest_rate: float
    oxygen_stock: float
    water_oxygen_hours: float | None
    oxygen_hours: float | None
    heated: bool
    in_room: bool
    days: int
    fish_kg: float | None
    respiration: Constant
    lowest_oxygen: Constant
    lid_air: float
    hours_to_ice: float
    frozen_share: float


def oxygen_stock(volume, water_temp, pressure, lowest_oxygen: Constant = LOWEST_OXYGEN):
    """Oxygen in saturated water above the lowest concentration the fish may meet [g]: volume × (saturation − lowest).

    volume [m³]; water_temp [degC]; pressure [Pa]; floats or arrays. 0 where saturated water holds no more than
    lowest_oxygen. Raises OutOfRange. Source: `fish.oxygen.saturation`.
    """
    require(volume=volume)
    _require_unit("lowest oxygen", lowest_oxygen, LOWEST_OXYGEN)
    return volume * np.maximum(oxygen.saturation(water_temp, pressure) - lowest_oxygen.value, 0.0)  # 1 mg/L = 1 g/m³


def air_oxygen_stock(air_volume, water_temp, pressure, lowest_oxygen: Constant = LOWEST_OXYGEN):
    """Oxygen that air over the water can give before water in equilibrium with it falls to the lowest [g].

    air_volume [m³], saturated at water_temp [degC]; pressure [Pa]; floats or arrays. 20.95 % of the dry air's pressure
    over R T, times 1 − lowest/saturation (Henry's law); 0 where that is negative. Raises OutOfRange.
    """
    require(air_volume=air_volume)
    _require_unit("lowest oxygen", lowest_oxygen, LOWEST_OXYGEN)
    share = np.maximum(1 - lowest_oxygen.value / oxygen.saturation(water_temp, pressure), 0.0)
    partial = OXYGEN_SHARE.value * (pressure - saturation_vapour_pressure(water_temp))
    return 1000 * air_volume * share * partial / (OXYGEN_GAS.value * (water_temp + ZERO_CELSIUS.value))


def power_cut(
    sheet: Sheet,
    record: Weather | None = None,
    *,
    start,
    covered: bool,
    fish_kg: float | None = None,
    days: int = DAYS,
    respiration: Constant = RESPIRATION,
    lowest_oxygen: Constant = LOWEST_OXYGEN,
    lid_air_height: float | None = None,
) -> PowerCut:
    """A power cut at one pond from the hour of `start` on.

    record: weather already read, else the sheet's own; start: a time, local where it names no zone: any hour of a
    typical year, or one that a measured record holds with its days after; covered: the cover lies on from then on, or
    never. Until then the pond runs as the sheet says, for 60 days. fish_kg: mass of fish [kg], None gives no hours of
    oxygen; days: 1 to 60; respiration [g/(kg·h)] and lowest_oxygen [mg/L] with their sources; lid_air_height: mean
    height of the air under a lid [m], None counts none. Raises OutOfRange, `season.weather.record.WeatherError`.
    """
    _require_plausible(fish_kg, days, respiration, lid_air_height)
    pond = _without_power(sheet, covered)
    record = record or assessment.weather_of(sheet)
    moment = _hour(start, record)
    last = (moment + pd.Timedelta(days=days)).date()
    conditions, before = _as_described(replace(sheet, start=moment.date(), end=last), record)
    first = int(conditions.index.searchsorted(moment, side="right")) - 1
    start_temp, start_ice = map(float, before[["water_temp", "ice"]].iloc[first - 1])
    hours = slice(first, first + DAY * days)
    run = simulate.simulate(
        pond,
        conditions.hours.iloc[hours],
        conditions.air.part(hours),
        covered=float(covered),
        start_temp=start_temp,
        start_ice=start_ice,
    )
    temps, net_loss = run["water_temp"], run[list(balance.ROUTES)].sum(axis=1) - run["solar"]
    course, ice = np.append(start_temp, temps), np.append(start_ice, run["ice"])
    pressure = float(conditions.hours["pressure"].iloc[first])
    stock = float(oxygen_stock(pond.volume, start_temp, pressure, lowest_oxygen))
    lid_air, in_water, in_all = 0.0, None, None
    if fish_kg is not None:
        lid_air, used = _lid_air(pond, lid_air_height), fish_kg * respiration.value
        in_water = stock / used
        in_all = in_water + float(air_oxygen_stock(lid_air, start_temp, pressure, lowest_oxygen)) / used
    return PowerCut(
        start=times_of(temps)[0],
        covered=covered,
        start_temp=start_temp,
        water_temps=temps,
        net_loss=net_loss,
        heat_capacity=pond.heat_capacity / JOULES_PER_KWH,
        pressure=pressure,
        hours_to={fall: _first_hour(course, start_temp - fall) for fall in FALLS},
        fastest_rate=_fastest_rate(course),
        oxygen_stock=stock,
        water_oxygen_hours=in_water,
        oxygen_hours=in_all,
        heated=heated(sheet),
        in_room=bool(sheet.room),
        days=int(days),
        fish_kg=fish_kg,
        respiration=respiration,
        lowest_oxygen=lowest_oxygen,
        lid_air=lid_air,
        hours_to_ice=float(np.argmax(ice > 0)) if ice.any() else np.inf,
        frozen_share=float(ice.max()) / pond.water_mass,
    )


def heated(sheet: Sheet) -> bool:
    """Whether the sheet's pond is heated, and so cools in a power cut."""
    return sheet.heater.kind != "none" and bool(sheet.set_point)


def every_evening(
    sheet: Sheet, record: Weather | None = None, *, covered: bool = False, until_worst: bool = False
) -> pd.DataFrame:
    """Power cuts at 18:00 on every day with ten days of the season after it, as a frame indexed by the start.

    Columns: `hours` until the water has fallen by 3 K, inf where ten days are not enough; `fall`, the greatest in
    these days [K]; `over`, how far the water is above its set point at the start [K], NaN without heat. All starts
    are stepped at once, each hour as `simulate` does. until_worst: end with the hour in which the first evening that
    counts for `worst_start` has fallen so far, as none that falls later is worse. Arguments and errors as of
    `power_cut`; raises OutOfRange for a season that is too short.
    """
    pond = _without_power(sheet, covered)
    conditions, before = _as_described(sheet, record or assessment.weather_of(sheet))
    index, count = conditions.index, DAY * DAYS
    starts = np.flatnonzero(conditions.counted & (index.hour == EVENING))
    starts = starts[(starts > 0) & (starts + count <= len(index))]
    if not starts.size:
        raise OutOfRange(f"The season is too short for a power cut of {DAYS} days: give a longer one.")
    prepared = balance.prepare(pond, conditions.air, float(covered))
    temps = start_temps = before["water_temp"].to_numpy()[starts - 1]
    over = start_temps - (conditions.set_point[starts] if heated(sheet) else np.nan)
    needed = _needed(over)
    reached, lowest = np.full(len(starts), np.inf), start_temps
    for hour in range(count):
        rows = prepared.at(starts + hour)
        loss, slope = (sum(part.values()) for part in balance.losses(rows, temps))
        ease = -np.expm1(-slope * simulate.HOUR / pond.heat_capacity) / slope
        later = np.maximum(temps + (rows.solar_gain - loss) * ease, 0.0)  # freezing water gets no colder
        crossed = np.isinf(reached) & (later <= start_temps - WORST_FALL)
        reached[crossed] = hour + (temps - start_temps + WORST_FALL)[crossed] / (temps - later)[crossed]
        temps, lowest = later, np.minimum(lowest, later)
        if until_worst and np.isfinite(reached[needed]).any():
            break
    return pd.DataFrame({"hours": reached, "fall": start_temps - lowest, "over": over}, index=index[starts])


def worst_start(sheet: Sheet, record: Weather | None = None, *, covered: bool = False) -> pd.Timestamp:
    """The evening of the season on which a power cut cools the water fastest.

    By the hours until it has fallen by 3 K; by the greatest fall in ten days where none falls so far. For a heated pond
    only evenings when the heater is needed count: what the May sun brought, the night takes even with power. Arguments
    and errors as of `every_evening`.
    """
    evenings = every_evening(sheet, record, covered=covered, until_worst=True)
    evenings = evenings[_needed(evenings["over"].to_numpy())]
    fall, hours = evenings["fall"].to_numpy(), evenings["hours"].to_numpy()
    return times_of(evenings)[int(fall.argmax() if np.isinf(hours).all() else hours.argmin())]


def _needed(over: np.ndarray) -> np.ndarray:
    """Evenings on which the heater is needed, all where it never is; over: water above its set point [K]."""
    needed = ~(over > HEATER_RESTS)
    return needed if needed.any() else np.ones_like(needed)


# --- the run ------------------------------------------------------------------------------------------------------


def _require_plausible(fish_kg: float | None, days: int, respiration: Constant, lid_air_height: float | None) -> None:
    """Raise OutOfRange unless these arguments of `power_cut` are plausible."""
    require(fish_kg=fish_kg, lid_air_height=lid_air_height)
    _require_unit("respiration", respiration, RESPIRATION)
    if respiration.value <= 0:
        raise OutOfRange(f"{respiration.value:g} g/(kg·h) given for respiration: living fish use some oxygen.")
    if not (isinstance(days, (int, np.integer)) and 1 <= days <= MOST_DAYS):
        raise OutOfRange(f"{days} given for days: it should be a whole number from 1 to {MOST_DAYS}.")


def _without_power(sheet: Sheet, covered: bool) -> Pond:
    """The pond with its pump and air pump off, with or without its cover."""
    if covered and sheet.pond.cover is None:
        raise OutOfRange("The sheet has no cover to lay on: give it a [cover], or ask for the open pond.")
    return replace(
        sheet.pond,
        filter_air_flow=0.0,
        casing_u_value_area=0.0,
        aeration_air_flow=0.0,
        cover=sheet.pond.cover if covered else None,
    )


def _as_described(sheet: Sheet, record: Weather) -> tuple[BoundaryConditions, pd.DataFrame]:
    """Boundary conditions with 60 days of spin-up, and the pond simulated in them with its power on."""
    conditions = assessment.boundary_conditions(replace(sheet, start_temp=None), record)
    first = conditions.set_point[0]
    return conditions, simulate.simulate(
        sheet.pond,
        conditions.hours,
        conditions.air,
        set_point=conditions.set_point,
        heater=sheet.heater,
        covered=conditions.covered,
        pump_power=sheet.pump_power,
        pump_heat=sheet.pump_heat,
        start_temp=None if np.isnan(first) else float(first),
    )


def _hour(start, record: Weather) -> pd.Timestamp:
    """`start` in the time zone of the weather record; raises OutOfRange for anything but a full date."""
    moment = None
    # 05/01 means different days to different people, and “18:00” alone would be today's: neither is guessed
    if isinstance(start, dt.date) or _DATE.match(str(start)):
        try:
            moment = pd.Timestamp(start)
        except (ValueError, TypeError):
            moment = None
    if moment is None or not isinstance(moment, pd.Timestamp):  # pandas reads some texts as “not a time”
        raise OutOfRange(
            f"“{str(start)[:40]}” given for the start of the power cut: that is not a day and hour; write it as "
            "“2026-01-15 18:00”."
        )
    require(year=moment.year)
    zone = times_of(record.hours).tz
    if moment.tzinfo is None:
        return moment.tz_localize(zone, ambiguous=True, nonexistent="shift_forward")
    return moment.tz_convert(zone)


def _fastest_rate(course: np.ndarray) -> float:
    """The greatest fall within any 24 hours [K/d], negative where the water only warms."""
    # within a day, not from one hour to the same hour of the next day: the sun may give back what the night took
    return float(max((course[:-hours] - course[hours:]).max() for hours in range(1, DAY + 1)))


def _lid_air(pond: Pond, height: float | None) -> float:
    """The air under the pond's lid [m³]: none without a lid, or where the height of the air [m] isn't known."""
    if not height or pond.cover is None or pond.cover.kind not in LIDS:
        return 0.0
    return pond.surface_area * pond.cover.share * height


def _first_hour(course: np.ndarray, goal: float) -> float:
    """Hours until the temperature first falls to `goal`, interpolated within the hour; inf where it never does."""
    below = np.flatnonzero(course <= goal)
    if not below.size:
        return np.inf
    at = below[0]
    return float(at - 1 + (course[at - 1] - goal) / (course[at - 1] - course[at]))


def _require_unit(name: str, given: Constant, like: Constant) -> None:
    """Raise OutOfRange unless `given` is a constant in the unit of `like`."""
    if not isinstance(given, Constant) or given.unit != like.unit:
        raise OutOfRange(f"{name} is to be given as a Constant in {like.unit}, with its source.")

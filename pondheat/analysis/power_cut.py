"""A power cut from any hour of the weather year: hours of warmth, and beside them hours of oxygen.

Heater, pump, filter stream and air stones stop; sun, weather, walls and new water go on as the sheet has them. One
well-mixed body of water: without a pump a real pond layers, and its surface cools sooner than its depth.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.core.ranges import OutOfRange, require
from pondheat.core.sources import ZERO_CELSIUS, Constant
from pondheat.fish import oxygen
from pondheat.fish.cautions import CAUTIONS
from pondheat.heat import balance
from pondheat.heat.balance import Pond
from pondheat.heat.moist_air import saturation_vapour_pressure
from pondheat.season import simulate
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet
from pondheat.text import power_cut_text as words

_DATE = re.compile(r"\s*\d{4}-\d{1,2}-\d{1,2}(?!\d)")
FALLS = (1.0, 3.0, 5.0)  # K
DAY, DAYS, MOST_DAYS = 24, 10, 60
KWH = 3.6e6  # J
HEATER_RESTS = 1.0  # K over the set point: from here on it is the sun that keeps the water warm (judgement)
EVENING = 18  # the hour of each day from which `worst_start` looks: the night lies before it
LIDS = ("sheet", "insulated lid")  # covers with air under them
RESPIRATION = Constant(0.2, "g/kg/hour", "practice", "carp at rest about 0.1, warm and fed 0.3 and more, from memory")
LOWEST_OXYGEN = Constant(4.0, "mg/L", "practice", "carp are in trouble somewhere between 3 and 5, from memory")
OXYGEN_SHARE = Constant(0.2095, "dimensionless", "ashrae_f01", "oxygen in dry air by volume (memory)")
OXYGEN_GAS = Constant(259.84, "J/kg/K", "codata_2018", "gas constant 8.31446 over 31.998 g/mol (memory)")


@dataclass(frozen=True, eq=False)
class PowerCut:
    """What a power cut does to one pond.

    start_temp [°C]; water_temps [°C] at each hour's end and net_loss [W], heat lost less what the sun gives, its mean,
    both indexed by the hours' starts; heat_capacity [kWh/K] of the water; pressure [Pa]; hours_to: fall [K] → hours,
    inf where it is not reached in the days asked for; fastest_rate [K/d]: greatest fall within any 24 hours,
    negative where the water only warms; oxygen_stock [g] in the water above the lowest; water_oxygen_hours: from the
    water alone; oxygen_hours: with the air under the lid where its height is given; both None without a mass of fish.
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
    sentences: tuple[str, ...]


def oxygen_stock(volume, water_temp, pressure, lowest_oxygen: Constant = LOWEST_OXYGEN):
    """Oxygen in full water above the lowest that fish are to meet [g]: volume × (saturation − lowest).

    volume: [m³]; water_temp: [degC]; pressure: [Pa]; floats or arrays. 0 where even full water holds no more than
    lowest_oxygen. Raises OutOfRange. Source: `fish.oxygen.saturation`; the lowest is the caller's.
    """
    require(volume=volume)
    _in_unit("lowest oxygen", lowest_oxygen, LOWEST_OXYGEN)
    return volume * np.maximum(oxygen.saturation(water_temp, pressure) - lowest_oxygen.value, 0.0)  # 1 mg/L = 1 g/m³


def air_oxygen_stock(air_volume, water_temp, pressure, lowest_oxygen: Constant = LOWEST_OXYGEN):
    """Oxygen that air over the water can give before water in balance with it holds the lowest [g].

    air_volume: [m³], saturated at water_temp [degC]; pressure: [Pa]; floats or arrays. 20.95 % of the dry air's
    pressure over R T, times the share 1 − lowest/saturation (Henry's law); 0 as in `oxygen_stock`. Raises OutOfRange.
    """
    require(air_volume=air_volume)
    _in_unit("lowest oxygen", lowest_oxygen, LOWEST_OXYGEN)
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
    """The pond of a sheet without power from the hour of `start` on.

    record: weather already read; otherwise the sheet's own. start: a time, local where it names no zone; any hour of a
    typical year, or one that a measured record holds with its days after. covered: the cover lies on from then on, or
    never. Until then the pond runs as the sheet says, for 60 days. fish_kg: [kg] mass of fish, None gives no hours of
    oxygen. days: 1 to 60. respiration: [g/(kg·h)] and lowest_oxygen: [mg/L] with their sources. lid_air_height: [m]
    mean height of air under a lid, None counts none. Raises OutOfRange, `season.weather.record.WeatherError`.
    """
    require(fish_kg=fish_kg, lid_air_height=lid_air_height)
    _in_unit("respiration", respiration, RESPIRATION)
    if respiration.value <= 0:
        raise OutOfRange(f"{respiration.value:g} g/(kg·h) given for respiration: living fish use some oxygen.")
    if not (isinstance(days, (int, np.integer)) and 1 <= days <= MOST_DAYS):
        raise OutOfRange(f"{days} given for days: a whole number from 1 to {MOST_DAYS} is plausible.")
    pond = _without_power(sheet, covered)
    record = record or assessment.weather_of(sheet)
    start = _hour(start, record)
    last = (start + pd.Timedelta(days=days)).date()
    place, before = _as_described(replace(sheet, start=start.date(), end=last), record)
    first = int(place.hours.index.searchsorted(start, side="right")) - 1
    begin = float(before["water_temp"].iloc[first - 1])
    hours = slice(first, first + DAY * days)
    run = simulate.simulate(
        pond, place.hours.iloc[hours], place.air.part(hours), covered=float(covered), start_temp=begin
    )
    temps, net_loss = run["water_temp"], run[list(balance.ROUTES)].sum(axis=1) - run["solar"]
    course = np.append(begin, temps)
    hours_to = {fall: _first_hour(course, begin - fall) for fall in FALLS}
    # within a day, not from one hour to the same hour of the next day: the sun may bring back what the night took
    rate = float(max((course[:-hours] - course[hours:]).max() for hours in range(1, DAY + 1)))
    sentences = [words.warmth(temps.index[0], covered, begin, hours_to, days), words.rate(rate)]
    if not heated(sheet):
        sentences.append(words.UNHEATED)
    if sheet.room:
        sentences.append("The room round the pond is taken to stay as the sheet has it; without power it may cool too.")
    pressure = float(place.hours["pressure"].iloc[first])
    stock = float(oxygen_stock(pond.volume, begin, pressure, lowest_oxygen))
    in_water = in_all = None
    if fish_kg is None:
        sentences.append(
            "No hours of oxygen are given: for them the mass of the fish is needed, and it is not guessed."
        )
    else:
        air = 0.0
        if lid_air_height and covered and pond.cover.kind in LIDS:
            air = pond.surface_area * pond.cover.share * lid_air_height
        used = fish_kg * respiration.value
        in_water = stock / used
        in_all = in_water + float(air_oxygen_stock(air, begin, pressure, lowest_oxygen)) / used
        sentences += words.oxygen(in_water, in_all, stock, fish_kg, respiration, lowest_oxygen, air, covered)
    sentences.append(CAUTIONS["power_cut"].text)
    return PowerCut(
        temps.index[0],
        covered,
        begin,
        temps,
        net_loss,
        pond.heat_capacity / KWH,
        pressure,
        hours_to,
        rate,
        stock,
        in_water,
        in_all,
        tuple(sentences),
    )


def heated(sheet: Sheet) -> bool:
    """Whether the pond of a sheet has warmth to lose by a power cut."""
    return sheet.heater.kind != "none" and bool(sheet.set_point)


def every_evening(sheet: Sheet, record: Weather | None = None, *, covered: bool = False) -> pd.DataFrame:
    """A power cut at 18:00 of every day that has ten days of the season after it.

    A frame indexed by the start: `hours` until the water has fallen by 3 K, inf where ten days do not bring it,
    `fall`, the furthest in these days [K], and `over`, how far the water stands over what is held [K], NaN without
    heat. All starts are stepped at once, each hour as `simulate` does. Arguments and faults as of `analysis.power_cut`;
    raises OutOfRange for a season too short.
    """
    pond = _without_power(sheet, covered)
    place, before = _as_described(sheet, record or assessment.weather_of(sheet))
    index, count = place.hours.index, DAY * DAYS
    starts = np.flatnonzero(place.counted & (index.hour == EVENING))
    starts = starts[(starts > 0) & (starts + count <= len(index))]
    if not starts.size:
        raise OutOfRange(f"The season is too short for a power cut of {DAYS} days: give a longer one.")
    prepared = balance.prepare(pond, place.air, float(covered))
    temps = begin = before["water_temp"].to_numpy()[starts - 1]
    reached, lowest = np.full(len(starts), np.inf), begin
    for hour in range(count):
        rows = _rows(prepared, starts + hour)
        loss, slope = (sum(part.values()) for part in balance.losses(rows, temps))
        ease = -np.expm1(-slope * simulate.HOUR / pond.heat_capacity) / slope
        later = np.maximum(temps + (rows.solar_gain - loss) * ease, 0.0)  # who freezes has fallen all it can
        crossed = np.isinf(reached) & (later <= begin - 3.0)
        reached[crossed] = hour + (temps - begin + 3.0)[crossed] / (temps - later)[crossed]
        temps, lowest = later, np.minimum(lowest, later)
    over = begin - (place.set_point[starts] if heated(sheet) else np.nan)
    return pd.DataFrame({"hours": reached, "fall": begin - lowest, "over": over}, index=index[starts])


def worst_start(sheet: Sheet, record: Weather | None = None, *, covered: bool = False) -> pd.Timestamp:
    """The evening of the season from which, without power, the water falls by 3 K soonest; where none brings that in
    ten days, the one that falls furthest. Of a heated pond those evenings count on which the heater is wanted: what the
    sun brought in May the night takes with power too. Arguments and faults as of `every_evening`."""
    evenings = every_evening(sheet, record, covered=covered)
    wanted = ~(evenings["over"] > HEATER_RESTS)
    evenings = evenings[wanted] if wanted.any() else evenings
    return evenings["fall"].idxmax() if np.isinf(evenings["hours"]).all() else evenings["hours"].idxmin()


# --- the run ------------------------------------------------------------------------------------------------------


def _without_power(sheet: Sheet, covered: bool) -> Pond:
    """The pond whose pump and air pump stand still, with or without its cover."""
    if covered and sheet.pond.cover is None:
        raise OutOfRange("The sheet has no cover to lay on: give it a [cover], or ask for the open pond.")
    return replace(
        sheet.pond,
        filter_air_flow=0.0,
        casing_u_value_area=0.0,
        aeration_air_flow=0.0,
        cover=sheet.pond.cover if covered else None,
    )


def _as_described(sheet: Sheet, record: Weather) -> tuple[assessment.BoundaryConditions, pd.DataFrame]:
    """A sheet's calendar after 60 days of run-up, and the pond run through it with its power on."""
    place = assessment.setting(replace(sheet, start_temp=None), record)
    held = place.set_point[0]
    return place, simulate.simulate(
        sheet.pond,
        place.hours,
        place.air,
        set_point=place.set_point,
        heater=sheet.heater,
        covered=place.covered,
        pump_power=sheet.pump_power,
        pump_heat=sheet.pump_heat,
        start_temp=None if np.isnan(held) else float(held),
    )


def _hour(start, record: Weather) -> pd.Timestamp:
    """`start` in the record's own zone."""
    try:
        # 05/01 is one day to some and another to others, and “18:00” alone would be today's: neither is guessed
        moment = pd.Timestamp(start) if isinstance(start, dt.date) or _DATE.match(str(start)) else pd.NaT
    except (ValueError, TypeError):
        moment = pd.NaT
    if moment is pd.NaT:
        raise OutOfRange(
            f"“{str(start)[:40]}” given for the start of the power cut: that is no day and hour; write it as "
            "“2026-01-15 18:00”."
        )
    require(year=moment.year)
    zone = record.hours.index.tz
    if moment.tzinfo is None:
        return moment.tz_localize(zone, ambiguous=True, nonexistent="shift_forward")
    return moment.tz_convert(zone)


def _rows(prepared: balance.Prepared, which: np.ndarray) -> balance.Prepared:
    """Some moments of what is prepared."""
    return replace(
        prepared,
        **{
            f.name: getattr(prepared, f.name)[which]
            for f in fields(prepared)
            if isinstance(getattr(prepared, f.name), np.ndarray)
        },
    )


def _first_hour(course: np.ndarray, goal: float) -> float:
    """Hours until the temperature first stands at `goal`, straight within the hour; inf where it never does."""
    below = np.flatnonzero(course <= goal)
    if not below.size:
        return np.inf
    at = below[0]
    return float(at - 1 + (course[at - 1] - goal) / (course[at - 1] - course[at]))


def _in_unit(name: str, given: Constant, like: Constant) -> None:
    if not isinstance(given, Constant) or given.unit != like.unit:
        raise OutOfRange(f"{name} is to be given as a Constant in {like.unit}, with its source.")

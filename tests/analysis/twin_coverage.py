"""How often likely ranges hold the truth of independent ponds (`independent_ponds`): by the sheet alone, and learned.

The keeper plans by a typical year without measured long wave, so that the season's sky is the library's model; the log
brings the long wave of its own file. What a station's file says and what a formula says differ, as they do in earnest.
"""

from __future__ import annotations

import datetime as dt
import functools
from dataclasses import replace

import independent_ponds
import numpy as np
import pandas as pd

from pondheat.analysis import assessment, uncertainty
from pondheat.season.weather import weather
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_sheet import Sheet, from_text

ZONE, YEAR = "Europe/Berlin", 2025
FIRST, LAST = dt.date(2025, 11, 1), dt.date(2026, 3, 31)
LOG_DAYS = 21
SEED = 20261129  # fixed; widths were argued, and looked at on twins of other seeds
ANSWERS = ("open_kwh", "covered_kwh", "saving_kwh")
SHEET = """
name = "Twin {number} (invented)"
timezone = "Europe/Berlin"
[season]
start = {first}
end = {last}
[place]
wind_shelter = {wind_shelter}
sky_view = {sky_view}
shade = {shade}
[pond]
length = "{length} m"
width = "{width} m"
depth = "{depth} m"
set_point = "{set_point} °C"
start_temp = "{set_point} °C"
[[wall]]
area = "{sides} m²"
u_value = "{wall_u} W/m²K"
[base]
u_value = "{floor_u} W/m²K"
[cover]
u_value = "{cover_u} W/m²K"
light = "{light} %"
gap = "{gap} L/s"
on = "18:00"
off = "08:00"
[filter]
air_flow = "{filter_air} L/s"
effectiveness = "50 %"
casing = "2 W/K"
[pump]
power = "{pump} W"
[water]
change_per_day = "{change} %"
[heater]
power = "{power} kW"
"""


@functools.cache
def planned():
    """The typical weather by which every keeper plans, without long wave of its own."""
    record = weather.read("potsdam", timezone=ZONE, year=YEAR)
    return replace(record, hours=record.hours.assign(sky_long_wave=np.nan))


def sheet_of(sheets: dict[str, np.ndarray], number: int) -> Sheet:
    """The sheet as the keeper of a twin wrote it."""
    values = {name: float(column[number]) for name, column in sheets.items()}
    length, width, depth = (values[name] for name in ("length", "width", "depth"))
    text = SHEET.format(
        number=number,
        first=FIRST,
        last=LAST,
        sides=round(2 * (length + width) * depth, 3),
        light=round(100 * values["cover_light"]),
        power=round(1.5 * length * width, 2),
        **values,
    )
    return from_text(text)


def typical_of(hours: pd.DataFrame) -> dict[str, np.ndarray]:
    """A weather frame's columns by the names of `independent_ponds`."""
    names = {
        "air": "air_temp",
        "humidity": "rel_humidity",
        "wind": "wind_speed",
        "sun": "solar",
        "cloud": "cloud_cover",
    }
    return {name: hours[column].to_numpy() for name, column in names.items()}


def twins_of(seed: int, count: int) -> tuple[independent_ponds.Twins, pd.DatetimeIndex]:
    """Twins in worlds about Potsdam's typical year, and the hours of their season."""
    hours = weather.season_hours(planned(), FIRST, LAST, 0)
    index = pd.DatetimeIndex(hours.index)
    day = index.day_of_year.to_numpy()
    ground = 9.5 - 6.0 * np.cos(2 * np.pi * (day - 45) / 365)  # a metre down, coldest in mid-February
    covered = np.asarray((index.hour >= 18) | (index.hour < 8), float)
    return independent_ponds.twins_of(seed, count, typical_of(hours), ground, covered, LOG_DAYS), index


def recorded(found: independent_ponds.Weather, hours: pd.DatetimeIndex, number: int) -> pd.DataFrame:
    """The weather of a log as the station near a twin recorded it."""
    columns = {
        "air_temp": found.air,
        "rel_humidity": found.humidity,
        "wind_speed": found.wind,
        "solar": found.sun,
        "sky_long_wave": found.long_wave,
    }
    frame = pd.DataFrame({name: column[:, number] for name, column in columns.items()}, index=hours)
    frame["cloud_cover"], frame["pressure"] = 0.5, float(planned().hours["pressure"].mean())
    return frame


def log_of(
    twins: independent_ponds.Twins, index: pd.DatetimeIndex, number: int
) -> tuple[pd.DataFrame, weather.Weather]:
    """The meter's log of a twin, every other one with a thermometer, and the weather of those days as recorded."""
    start = int(twins.log_start[number])
    hours = index[start : start + len(twins.log_kwh)]
    use = pd.DataFrame({"kwh": twins.log_kwh[:, number], "hours": 1.0}, index=hours.rename("start"))
    if number % 2:
        use["water_temp"] = twins.log_water[:, number].round(1)
    frame = recorded(twins.log_weather, hours.rename("time"), number)
    return use, replace(planned(), hours=frame, kind=MEASURED, place="a station near the twin")


def ranges_of(twins: independent_ponds.Twins, index: pd.DatetimeIndex, number: int, scenarios: int) -> dict:
    """Likely ranges of a twin's season by its sheet (“sheet”), and learned from its log (“learned”)."""
    sheet = sheet_of(twins.sheets, number)
    conditions = assessment.boundary_conditions(sheet, planned())
    use, recorded = log_of(twins, index, number)
    nights = {stamp.date() for stamp in (use.index - pd.Timedelta("12h"))}
    laid = {stamp.date() for stamp, on in zip(use.index - pd.Timedelta("12h"), twins.log_covered, strict=True) if on}
    logged = replace(sheet, cover_plan=replace(sheet.cover_plan, exceptions=tuple(sorted(nights - laid))))
    fitted = assessment.learn(logged, use, recorded)
    return {
        "sheet": uncertainty.season_uncertainty(sheet, conditions, scenarios, planned().kind),
        "learned": uncertainty.season_uncertainty(sheet, conditions, scenarios, planned().kind, fitted),
    }


def coverage(seed: int, count: int, scenarios: int) -> pd.DataFrame:
    """For each way and answer: share of twins whose truth the likely range holds, is above and is below; widths."""
    twins, index = twins_of(seed, count)
    truth = {
        "open_kwh": twins.open_kwh,
        "covered_kwh": twins.covered_kwh,
        "saving_kwh": twins.open_kwh - twins.covered_kwh,
    }
    rows = []
    for number in range(count):
        for way, found in ranges_of(twins, index, number, scenarios).items():
            for answer in ANSWERS:
                likely, true = getattr(found, answer), truth[answer][number]
                rows.append(
                    {
                        "way": way,
                        "answer": answer,
                        "held": likely.low <= true <= likely.high,
                        "range below": true > likely.high,
                        "range above": true < likely.low,
                        "middle over truth": likely.middle / true - 1,
                        "width": (likely.high - likely.low) / 2 / likely.middle,
                    }
                )
    return pd.DataFrame(rows).groupby(["way", "answer"]).mean()

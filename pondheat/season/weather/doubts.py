"""Wrong units and clocks that the numbers of a weather table give away; a suspicion is a question, never a guess."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.season import sun
from pondheat.season.weather.answers import Answers, ask
from pondheat.season.weather.columns import unit_conversion
from pondheat.season.weather.record import Record, WeatherError

# Judgements: limits that the weather where ponds are kept hardly ever exceeds.
_DRIEST = 0.02  # highest humidity of a whole record [–]
_WINDIEST = 6.5  # mean of a record [m/s]; open coasts average 6 to 7
_HOTTEST = 33.0  # median of a record [°C]
_LATITUDES = (0.0, 30.0, 40.0, 50.0, 60.0, 70.0)
_MILDEST = (30.0, 22.0, 17.0, 13.0, 10.0, 8.0)  # mean of a mild winter month at these latitudes [°C]
_COOLEST = (10.0, 8.0, 5.0, 3.0, 1.0, -2.0)  # mean of a cool summer month at these latitudes [°C]
_DULLEST, _BRIGHTEST = 0.45, 1.6  # radiation over the expected, in the sunnier hours
_LATEST = 0.75  # h by which the sun may seem late or early
_FEWEST = 96  # h of record; with fewer, sun and season prove nothing


def check(record: Record, written: Mapping[str, str], answers: Answers, minutes: float) -> None:
    """Raise WeatherError where a column's numbers are not in the unit its header gives, or the clock is wrong.

    record: values in the library's units; written: column → unit it was read in; minutes: usual step of the rows [min].
    Columns whose unit the reader gave are not questioned.
    """
    doubted = {column: unit for column, unit in written.items() if column not in answers.units}
    for column, find in (
        ("rel_humidity", _humidity),
        ("cloud_cover", _cloud),
        ("air_temp", _warmth),
        ("dew_point", _warmth),
        ("wind_speed", _wind),
        ("solar", _radiation),
    ):
        if column not in doubted or column not in record.hours or record.hours[column].notna().sum() < 12:
            continue
        factor, offset = unit_conversion(column, doubted[column], minutes)
        values = record.hours[column].dropna()
        raw = (values - offset) / factor
        for other, why in find(record, column, values, raw, doubted[column], minutes):
            if other != doubted[column]:
                span = f"{units.significant(float(raw.min()), 3)} to {units.significant(float(raw.max()), 3)}"
                raise WeatherError(
                    f"{column} is given in {doubted[column]} and runs from {span}: {why}. Is it in {other}? "
                    + ask(column, doubted[column], other)
                )
    _clock(record, answers)


def _humidity(record: Record, column: str, values: pd.Series, raw: pd.Series, unit: str, minutes: float):
    if unit == "%" and 0 < raw.max() <= 100 * _DRIEST:
        yield "fraction", "no air is that dry"


def _cloud(record: Record, column: str, values: pd.Series, raw: pd.Series, unit: str, minutes: float):
    whole = bool(np.allclose(raw, raw.round(), atol=1e-6))
    if unit != "%" or raw.max() <= 0:
        return
    if raw.max() <= 1:
        yield "fraction", "never a cloud in the sky"
    elif raw.max() <= 8 and whole:
        yield "oktas", "whole numbers up to eight only"
    elif raw.max() <= 10 and whole:
        yield "tenths", "whole numbers up to ten only"


def _warmth(record: Record, column: str, values: pd.Series, raw: pd.Series, unit: str, minutes: float):
    middle = float(values.median())
    if middle > _HOTTEST or middle < -45:
        for other in ("°C", "°F", "K"):
            factor, offset = unit_conversion(column, other, minutes)
            if other != unit and -30 < float(raw.median()) * factor + offset < _HOTTEST:
                yield other, "not the climate of any place where ponds are kept"
    if record.latitude is None or len(values) < _FEWEST:
        return
    away = abs(record.latitude)
    month = pd.DatetimeIndex(values.index).month
    month = month if record.latitude >= 0 else (month + 5) % 12 + 1
    winter, summer = values[(month == 12) | (month <= 2)], values[(month >= 6) & (month <= 8)]
    warm = len(winter) >= _FEWEST and winter.mean() > np.interp(away, _LATITUDES, _MILDEST)
    cold = len(summer) >= _FEWEST and summer.mean() < np.interp(away, _LATITUDES, _COOLEST)
    if warm and unit in ("°C", "degC", "C"):
        yield "°F", f"a winter warmer than any at {away:.0f}° of latitude"
    if cold and unit in ("°F", "degF", "F"):
        yield "°C", f"a summer colder than any at {away:.0f}° of latitude"


def _wind(record: Record, column: str, values: pd.Series, raw: pd.Series, unit: str, minutes: float):
    if values.mean() <= _WINDIEST:
        return
    for other in ("mph", "knots", "km/h"):
        factor, _ = unit_conversion(column, other, minutes)
        if raw.mean() * factor <= _WINDIEST:
            why = f"{units.significant(float(values.mean()), 2)} m/s on average, windier than any open coast"
            yield other, why + (" (or in knots, which are 15 % more)" if other == "mph" else "")
            return


def _radiation(record: Record, column: str, values: pd.Series, raw: pd.Series, unit: str, minutes: float):
    if record.latitude is None or record.longitude is None or len(record.hours) < _FEWEST:
        return
    measured = record.hours[column].to_numpy(float)
    possible = sun.clear_sky_irradiance(record.true_times(), record.latitude, record.longitude, record.altitude or 0.0)
    if np.nanmean(np.where(possible == 0, measured, np.nan)) > 20:
        return  # sun at night: if anything is wrong, it is not the unit
    cloud = record.hours.get("cloud_cover")
    if cloud is not None and cloud.notna().mean() > 0.9:
        possible = possible * sun.cloud_factor(cloud.fillna(0.5).clip(0, 1).to_numpy(float))
    elif len(record.hours) < 240:
        return  # a single dull week looks like a wrong unit
    usable = (possible > 100) & np.isfinite(measured)
    if usable.sum() < 24:
        return
    if cloud is not None and cloud.notna().mean() > 0.9:
        share = float(measured[usable].sum() / possible[usable].sum())
    else:
        share = float(np.quantile(measured[usable] / possible[usable], 0.95))
    if _DULLEST <= share <= _BRIGHTEST:
        return
    now, _ = unit_conversion(column, unit, minutes)
    for other in ("kJ/m²", "J/cm²", "MJ/m²", "kWh/m²", "Wh/m²", "W/m²"):
        factor, _ = unit_conversion(column, other, minutes)
        if 0.6 <= share * factor / now <= 1.3:
            yield other, f"{units.significant(share, 2)} times the sun there can be"
            return


def _clock(record: Record, answers: Answers) -> None:
    """Raise WeatherError where the sun in a record is an hour or more out of step with its clock."""
    hours = record.hours
    if answers.clock or answers.stamps or "solar" not in hours or len(hours) < _FEWEST:
        return
    if record.latitude is None or record.longitude is None or hours["solar"].notna().mean() < 0.5:
        return
    late = sun.solar_time_lag(record.true_times(), hours["solar"], record.latitude, record.longitude)
    if not abs(late) > _LATEST:  # also where there is no sun
        return
    raise WeatherError(
        f"The sun in {record.place} is {abs(late):.1f} hours too {'late' if late > 0 else 'early'} for "
        f"{record.latitude:.1f}°, {record.longitude:.1f}°. If the time stamps are the ends of the hours, give "
        "--weather-stamps end; if the clock is UTC, --weather-clock utc; if it is winter time all year, "
        "--weather-clock standard; if it is right as it is, --weather-clock local. Or write “# stamps: end” or “# "
        "clock: utc” above the header."
    )


def note_solar_time_lag(record: Record) -> None:
    """Add a note where the irradiance is out of step with the sun: its time stamps or time zone are probably wrong."""
    assert record.latitude is not None and record.longitude is not None
    late = sun.solar_time_lag(record.true_times(), record.hours["solar"], record.latitude, record.longitude)
    if abs(late) > 0.6:
        record.notes.append(
            f"Check the times: the sun in this source is {abs(late) * 60:.0f} minutes too "
            f"{'late' if late > 0 else 'early'} for {record.latitude:.1f}°, {record.longitude:.1f}°. Are the time "
            "stamps the ends of the hours, or is the time zone wrong?"
        )

"""Placing weather in the calendar: a typical year in a given year, and a season with its spin-up from a record."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from pondheat.season.weather.record import Record, WeatherError
from pondheat.season.weather.times import standard_offset


def local_midnight(day: date, zone: str) -> pd.Timestamp:
    """Start of a local day in a time zone (IANA name)."""
    return pd.Timestamp(pd.Timestamp(day).date()).tz_localize(zone, ambiguous=True, nonexistent="shift_forward")


def standard_time_index(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Naive hours in the zone's standard time of tz-aware hours."""
    return index.tz_convert("UTC").tz_localize(None) + standard_offset(str(index.tz), index[len(index) // 2].year)


def hours_of_the_year(index: pd.DatetimeIndex) -> pd.Index:
    """Month, day and hour of each hour as one number, the same in every year."""
    local = index.tz_localize(None)  # once, not for each of the three
    return pd.Index(local.month.to_numpy() * 10_000 + local.day.to_numpy() * 100 + local.hour.to_numpy())


def positions_in_year(year_hours: pd.DatetimeIndex, hours: pd.DatetimeIndex) -> np.ndarray:
    """Positions of the same dates and times in a year of standard hours; 29 February falls back to the 28th."""

    lookup = pd.Series(np.arange(len(year_hours)), index=hours_of_the_year(year_hours))
    wanted = hours_of_the_year(hours)
    missing = ~wanted.isin(lookup.index)
    return lookup.reindex(np.where(missing, wanted - 100, wanted)).to_numpy(int)


def place_in_calendar(record: Record, zone: str, year: int) -> pd.DataFrame:
    """Hours of a typical year placed in a calendar year, tz-aware.

    record: with naive standard hours, taken as those of `zone` (IANA name); a sentence is added to its notes.
    """
    calendar = pd.date_range(f"{year}-01-01", f"{year}-12-31 23:00", freq="h")
    hours = record.hours.iloc[positions_in_year(pd.DatetimeIndex(record.hours.index), calendar)]
    if len(calendar) > len(record.hours):
        record.notes.append(f"29 February {year} repeats 28 February.")
    record.notes.append(
        f"Its standard hours are taken as those of {zone} (without summer time) in {year}; the sun is that of "
        f"{record.place} itself."
    )
    index = (calendar - standard_offset(zone, year)).tz_localize("UTC").tz_convert(zone)
    return hours.set_axis(index.rename("time"))


def typical_season(
    year_hours: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp, spin_up: pd.Timedelta
) -> tuple[pd.DataFrame, list[str]]:
    """Hours of a season and its spin-up from a typical year repeated every year, and notes.

    year_hours: the typical year, tz-aware; first, last: start of the season and its end (excluded); spin_up: time
    before `first`.
    """
    index = pd.DatetimeIndex(year_hours.index)
    origin = index[0]
    start = origin + pd.Timedelta(hours=float(np.ceil((first - spin_up - origin) / pd.Timedelta("1h"))))
    wanted = pd.date_range(start.tz_convert("UTC"), last.tz_convert("UTC"), freq="h", inclusive="left")
    wanted = wanted.tz_convert(index.tz)
    hours = year_hours.iloc[positions_in_year(standard_time_index(index), standard_time_index(wanted))]
    notes = []
    if wanted[0].year != wanted[-1].year or wanted[0].year != index[len(index) // 2].year:
        notes.append("The typical year repeats: every year has the same weather.")
    return hours.set_axis(wanted.rename("time")), notes


def measured_season(
    hours: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp, spin_up: pd.Timedelta, place: str
) -> tuple[pd.DataFrame, list[str]]:
    """Hours of a season and its spin-up from a measured record, and notes.

    hours: the record, tz-aware; first, last: start of the season and its end (excluded); spin_up: time before `first`,
    for which the record's first days are repeated where it starts too late; place: its name. Raises `WeatherError`
    where the record does not cover the season.
    """
    begins, ends = hours.index[0], hours.index[-1] + pd.Timedelta("1h")
    if first < begins or last > ends:
        raise WeatherError(
            f"The season from {first:%Y-%m-%d} to {last - pd.Timedelta('1h'):%Y-%m-%d} is not covered: {place} only "
            f"has hours from {begins:%Y-%m-%d %H:%M} to {ends:%Y-%m-%d %H:%M}."
        )
    recorded = hours[(hours.index >= first - spin_up) & (hours.index < last)]
    missing = int((recorded.index[0] - (first - spin_up)) / pd.Timedelta("1h"))
    if missing <= 0:
        return recorded.copy(), []
    block = min(72, len(hours) // 24 * 24)
    repeated = hours.iloc[np.arange(-missing, 0) % block]
    index = pd.date_range(end=begins.tz_convert("UTC") - pd.Timedelta("1h"), periods=missing, freq="h")
    index = index.tz_convert(pd.DatetimeIndex(hours.index).tz)
    note = (
        f"The record begins {begins:%Y-%m-%d %H:%M}; for the {missing / 24:.0f} days before that, its first "
        f"{block // 24} days are repeated, so that the pond does not start from a guess."
    )
    return pd.concat([repeated.set_axis(index.rename("time")), recorded]), [note]

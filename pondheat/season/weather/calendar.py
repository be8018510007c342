"""Weather in the calendar: a typical year set into one, and a season cut from a record with the days before it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from pondheat.season.weather.record import Record, WeatherError
from pondheat.season.weather.times import standard_offset


def local_midnight(day: date, zone: str) -> pd.Timestamp:
    """The start of a local day."""
    return pd.Timestamp(pd.Timestamp(day).date()).tz_localize(zone, ambiguous=True, nonexistent="shift_forward")


def standard_time_index(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Aware hours as naive hours of the zone's standard time."""
    return index.tz_convert("UTC").tz_localize(None) + standard_offset(str(index.tz), index[len(index) // 2].year)


def _positions_in_year(year_hours: pd.DatetimeIndex, wanted: pd.DatetimeIndex) -> np.ndarray:
    """Positions of wanted standard hours in a year of standard hours; a missing 29 February falls back to the 28th."""

    def keys(index):
        return index.month * 10_000 + index.day * 100 + index.hour

    lookup = pd.Series(np.arange(len(year_hours)), index=keys(year_hours))
    asked = keys(wanted)
    missing = ~asked.isin(lookup.index)
    return lookup.reindex(np.where(missing, asked - 100, asked)).to_numpy(int)


def place_in_calendar(record: Record, zone: str, year: int) -> pd.DataFrame:
    """A typical year's standard hours as those of `zone` in `year`, tz-aware; says so in the record's notes."""
    wanted = pd.date_range(f"{year}-01-01", f"{year}-12-31 23:00", freq="h")
    hours = record.hours.iloc[_positions_in_year(pd.DatetimeIndex(record.hours.index), wanted)]
    if len(wanted) > len(record.hours):
        record.notes.append(f"29 February {year} repeats 28 February.")
    record.notes.append(
        f"Its standard hours are read as those of {zone} (without summer time), in the calendar of "
        f"{year}; the sun is that of {record.place} itself."
    )
    index = (wanted - standard_offset(zone, year)).tz_localize("UTC").tz_convert(zone)
    return hours.set_axis(index.rename("time"))


def typical_season(year_hours: pd.DataFrame, first, last, spin_up) -> tuple[pd.DataFrame, list[str]]:
    """The hours from `first` to before `last` and `spin_up` before them, from a typical year used round and round."""
    index = year_hours.index
    origin = index[0]
    from_ = origin + pd.Timedelta(hours=float(np.ceil((first - spin_up - origin) / pd.Timedelta("1h"))))
    wanted = pd.date_range(from_.tz_convert("UTC"), last.tz_convert("UTC"), freq="h", inclusive="left")
    wanted = wanted.tz_convert(index.tz)
    hours = year_hours.iloc[_positions_in_year(standard_time_index(index), standard_time_index(wanted))]
    notes = []
    if wanted[0].year != wanted[-1].year or wanted[0].year != index[len(index) // 2].year:
        notes.append("The typical year is used round and round: the same weather stands for every year.")
    return hours.set_axis(wanted.rename("time")), notes


def measured_season(hours: pd.DataFrame, first, last, spin_up, place: str) -> tuple[pd.DataFrame, list[str]]:
    """The hours from `first` to before `last` and `spin_up` before; the record's first days stand for missing ones."""
    begins, ends = hours.index[0], hours.index[-1] + pd.Timedelta("1h")
    if first < begins or last > ends:
        raise WeatherError(
            f"The season from {first:%Y-%m-%d} to {last - pd.Timedelta('1h'):%Y-%m-%d} is not "
            f"covered: {place} has hours from {begins:%Y-%m-%d %H:%M} to "
            f"{ends:%Y-%m-%d %H:%M}."
        )
    own = hours[(hours.index >= first - spin_up) & (hours.index < last)]
    lacking = int((own.index[0] - (first - spin_up)) / pd.Timedelta("1h"))
    if lacking <= 0:
        return own.copy(), []
    block = min(72, len(hours) // 24 * 24)
    before = hours.iloc[np.arange(-lacking, 0) % block]
    index = pd.date_range(end=begins.tz_convert("UTC") - pd.Timedelta("1h"), periods=lacking, freq="h")
    index = index.tz_convert(hours.index.tz)
    note = (
        f"The record begins {begins:%Y-%m-%d %H:%M}; for the {lacking / 24:.0f} days before it, its first "
        f"{block // 24} days are repeated, so that the pond does not start from a guess."
    )
    return pd.concat([before.set_axis(index.rename("time")), own]), [note]

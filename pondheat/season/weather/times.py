"""Times of a measured table: parsing time stamps, resolving clock changes and averaging rows to hours."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.season.weather.record import WeatherError

_ISO_TIME = r"\d{4}-\d{2}-\d{2}(?:[T ]\d{2}(?::\d{2})?(?::\d{2}(?:\.\d+)?)?)?\s*(?:Z|[+-]\d{2}:?\d{2})?"
_UTC_OFFSET = r"(?:Z|[+-]\d{2}:?\d{2})$"
_DAY_OR_MONTH_FIRST = r"(\d{1,2})([./-])(\d{1,2})[./-](\d{4})[T ]+(\d{1,2}):(\d{2})(?::(\d{2}))?\s*([AaPp][Mm])?"
_YEAR_FIRST = r"^(\d{4})[/.](\d{2})[/.](\d{2})"


@dataclass
class Stamps:
    """Times of a table's rows.

    start: starts of the rows' intervals in UTC, in the order of the file; minutes: the usual interval.
    """

    start: pd.DatetimeIndex
    minutes: float


def standard_offset(timezone: str, year: int) -> pd.Timedelta:
    """Offset of a zone's standard time from UTC, the smaller of those in January and July."""
    days = [pd.Timestamp(year, month, 15, 12, tz=timezone) for month in (1, 7)]
    return min(day.tz_localize(None) - day.tz_convert("UTC").tz_localize(None) for day in days)


def parse_times(
    cells: pd.Series, dates: pd.Series | None, header: str, row: pd.Series, timezone: str, notes: list[str]
) -> Stamps:
    """Parse the times of a table's rows.

    cells: the time column; dates: a separate date column, if any; header: of the time column, which may include
    “[hour ending]”, “[standard time]” or “[UTC+1]”; row: line numbers, for messages; timezone: IANA name, for times
    without an offset; notes: list to which assumptions are added. Raises `WeatherError` naming the row.
    """
    label = header.lower()
    text = cells.astype(str).str.strip()
    if dates is not None:
        text = dates.astype(str).str.strip() + " " + text
    naive, aware = _parse_stamps(text, row)
    if aware is not None:
        found = aware
    else:
        assert naive is not None  # _parse_stamps returns one of the two
        fixed = re.search(r"utc\s*(?:([+-]\d{1,2})(?::?(\d{2}))?)?|gmt", label)
        descending = naive[0] > naive[-1]
        if descending:
            notes.append("The rows run from the newest to the oldest and were turned round.")
            naive, row = naive[::-1], row[::-1].reset_index(drop=True)
        if fixed:
            hours, minutes = fixed[1] or "0", fixed[2] or "0"
            shift = pd.Timedelta(hours=int(hours), minutes=int(minutes) * (-1 if hours.startswith("-") else 1))
            found = (naive - shift).tz_localize("UTC")
        elif re.search(r"standard|winter", label):
            found = (naive - standard_offset(timezone, naive[0].year)).tz_localize("UTC")
            notes.append(f"Times are the standard time of {timezone} all year, as the header says.")
        else:
            found = _localise_civil(naive, row, timezone, notes)
        found = found[::-1] if descending else found
    found = found.tz_convert("UTC").as_unit("ns")
    minutes = _interval(found)
    if re.search(r"ending|time.?end|end of|\bend\b", label):
        found = found - pd.Timedelta(minutes=minutes)
        notes.append("Times are the ends of the intervals, as the header says.")
    else:
        notes.append(
            "Times are taken as the starts of the hours (or of the shorter intervals); write [hour ending] "
            "behind “time” if they are the ends."
        )
    return Stamps(found, minutes)


def _parse_stamps(text: pd.Series, row: pd.Series) -> tuple[pd.DatetimeIndex | None, pd.DatetimeIndex | None]:
    """Naive times and None, or None and UTC times where the text includes offsets."""
    midnight = text.str.contains(r"[T ]24:00(?::00)?$", regex=True)
    text = text.mask(midnight, text.str.replace(r"([T ])24:00", r"\g<1>00:00", regex=True))
    text = text.str.replace(_YEAR_FIRST, r"\1-\2-\3", regex=True)
    iso = text.str.fullmatch(_ISO_TIME)
    if not iso.all():
        text = _day_first(text, row)
    offset = text.str.contains(_UTC_OFFSET, regex=True)
    if offset.any() and not offset.all():
        at = int(np.flatnonzero(offset != offset[0])[0])
        raise WeatherError(
            f"Row {row[at]}: “{text[at]}” and “{text[0]}” are not written alike; give every time an "
            "offset from UTC, or none."
        )
    stamps = pd.to_datetime(text, format="ISO8601", utc=bool(offset.all()), errors="coerce")
    wrong = stamps.isna() | ~stamps.dt.year.between(1850, 2150)
    if wrong.any():
        at = int(np.flatnonzero(wrong)[0])
        raise WeatherError(f"Row {row[at]}: “{text[at]}” is not a time that exists.")
    index = pd.DatetimeIndex(stamps + pd.to_timedelta(midnight.astype(int), unit="D"))
    return (None, index) if offset.all() else (index, None)


def _day_first(text: pd.Series, row: pd.Series) -> pd.Series:
    """Dates such as 31.12.2025 or 12/31/2025 as 2025-12-31; raises `WeatherError` where the order is ambiguous."""
    parts = text.str.extract("^" + _DAY_OR_MONTH_FIRST + "$")
    unmatched = parts[0].isna()
    if unmatched.any():
        at = int(np.flatnonzero(unmatched)[0])
        raise WeatherError(
            f"Row {row[at]}: “{text[at][:40]}” is not a time. Write it as 2025-12-31 14:00, with or "
            "without an offset such as +01:00."
        )
    one, two = parts[0].astype(int), parts[2].astype(int)
    if (one > 12).any() and (two > 12).any():
        raise WeatherError("Some dates have the day first and some the month: write them all as 2025-12-31.")
    if (parts[1] != ".").any() and not (one > 12).any() and not (two > 12).any():
        raise WeatherError(
            f"Row {row[0]}: is “{text[0]}” day/month or month/day? No date in the file tells; write them as 2025-12-31."
        )
    day_first = bool((parts[1] == ".").all() or (one > 12).any())
    day, month = (one, two) if day_first else (two, one)
    half = parts[7].fillna("").str.lower()
    hour = parts[4].astype(int)
    hour = hour.where(half == "", hour % 12) + 12 * (half == "pm")
    return (
        parts[3]
        + "-"
        + month.astype(str).str.zfill(2)
        + "-"
        + day.astype(str).str.zfill(2)
        + " "
        + hour.astype(str).str.zfill(2)
        + ":"
        + parts[5]
        + ":"
        + parts[6].fillna("00")
    )


def _localise_civil(naive: pd.DatetimeIndex, row: pd.Series, timezone: str, notes: list[str]) -> pd.DatetimeIndex:
    """Local civil times with their time zone; rows in a repeated hour are assigned by their order."""
    summer = np.ones(len(naive), bool)
    localised = naive.tz_localize(timezone, ambiguous=summer, nonexistent="NaT")
    if localised.isna().any():
        at = int(np.flatnonzero(localised.isna())[0])
        raise WeatherError(
            f"Row {row.iloc[at]}: {naive[at]:%Y-%m-%d %H:%M} does not exist in {timezone}: the clocks "
            "jump over it. If the record keeps winter time all year, write [standard time] behind "
            "“time” in the header."
        )
    ambiguous = np.flatnonzero(naive.tz_localize(timezone, ambiguous="NaT", nonexistent="NaT").isna())
    dates = naive[ambiguous].normalize()
    for date in dates.unique():
        rows = ambiguous[dates == date]
        back = np.concatenate([[False], np.diff(naive[rows].asi8) <= 0])
        summer[rows] = np.cumsum(back) == 0
        day = f"{date:%Y-%m-%d}"
        notes.append(
            f"On {day} the clocks repeat an hour: "
            + (
                "its rows were told apart by their order."
                if back.any()
                else "it stands in the record once and is taken as summer time; its repetition is missing."
            )
        )
    return naive.tz_localize(timezone, ambiguous=summer) if len(ambiguous) else localised


def _interval(stamps: pd.DatetimeIndex) -> float:
    """Usual step between rows [min]; raises `WeatherError` where it is longer than an hour."""
    steps = np.diff(np.sort(stamps.asi8)) / 60e9
    steps = steps[steps > 0]
    if len(steps) == 0:
        raise WeatherError("The table has one time only; a weather record needs at least a day of hours.")
    usual = float(np.median(steps))
    if usual > 61:
        raise WeatherError(
            f"The rows stand {usual / 60:g} hours apart. Hourly weather or finer is needed: sun, "
            "night and a cover's hours do not meet in coarser data."
        )
    return 60.0 if usual > 45 else usual


def to_hours(table: pd.DataFrame, stamps: Stamps, timezone: str, notes: list[str]) -> pd.DataFrame:
    """Table of gapless hours averaged from rows at any step up to an hour.

    table: the columns, and row, the line numbers; stamps: times of the rows; timezone: IANA name of the resulting
    hours; notes: list to which repairs are added. Hours with less than half of their rows become gaps. Raises
    `WeatherError` for two different rows of one time and for a table without air temperature.
    """
    columns = [str(column) for column in table if column != "row"]
    table = table.assign(start=stamps.start)
    if not table["start"].is_monotonic_increasing:
        back = int((table["start"].diff() < pd.Timedelta(0)).sum())
        if back < len(table) - 1:
            notes.append(f"The rows go back in time in {back} places and were sorted.")
        table = table.sort_values("start", kind="stable")
    table = _drop_duplicates(table, columns, notes)

    start = pd.DatetimeIndex(table["start"])
    if stamps.minutes == 60 and ((start.minute == 0) & (start.second == 0)).mean() > 0.95:
        grid = start.floor("h")
    else:
        phase = pd.Timedelta(minutes=(standard_offset(timezone, start[0].year) / pd.Timedelta("1min")) % 60)
        grid = (start + phase).floor("h") - phase
        if stamps.minutes < 60:
            notes.append(f"Rows every {stamps.minutes:g} minutes were averaged to hours.")
        else:
            notes.append(
                f"The times do not stand on the hour ({start[0]:%H:%M} UTC first); each row counts for the "
                "hour it is in."
            )
    grouped = table.groupby(grid.rename("time"))
    means, counts = grouped[columns].mean(), grouped[columns].count()
    hours = means.mask(counts * stamps.minutes < 30)
    hours["row"] = grouped["row"].min()
    full = pd.date_range(hours.index[0], hours.index[-1], freq="h", name="time")
    hours = hours.reindex(full).tz_convert(timezone)
    known = np.flatnonzero(hours["air_temp"].notna())
    if len(known) == 0:
        raise WeatherError("No row holds an air temperature.")
    return hours.iloc[known[0] : known[-1] + 1]


def _drop_duplicates(table: pd.DataFrame, columns: list[str], notes: list[str]) -> pd.DataFrame:
    """Table without identical duplicate rows; raises `WeatherError` for different rows of one time."""
    duplicates = table["start"].duplicated(keep=False)
    if not duplicates.any():
        return table
    kept = table.drop_duplicates(subset=["start", *columns])
    clash = kept["start"].duplicated(keep=False)
    if clash.any():
        one, two = kept.loc[clash, "row"].iloc[:2]
        raise WeatherError(
            f"Rows {min(one, two):.0f} and {max(one, two):.0f} have the same time, "
            f"{kept.loc[clash, 'start'].iloc[0]:%Y-%m-%d %H:%M} UTC, and different values: which one "
            "holds?"
        )
    notes.append(
        f"{counted(len(table) - len(kept), 'row was', 'rows were')} in the table twice, alike; each counts once."
    )
    return kept

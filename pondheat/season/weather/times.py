"""Times of a measured table: parsing time stamps, resolving clock changes and averaging rows to hours."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.tables import time_formats, timestamps
from pondheat.core.tables.read_log import OptionNames, ReadingsFault
from pondheat.season.weather.answers import Answers
from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.sampling import present_minutes, row_minutes

_ISO_TIME = r"\d{4}-\d{2}-\d{2}(?:[T ]\d{2}(?::\d{2})?(?::\d{2}(?:\.\d+)?)?)?\s*(?:Z|[+-]\d{2}:?\d{2})?"
_UTC_OFFSET = r"(?:Z|[+-]\d{2}:?\d{2})$"
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
    cells: pd.Series,
    dates: pd.Series | None,
    header: str,
    row: pd.Series,
    timezone: str,
    notes: list[str],
    answers: Answers | None = None,
) -> Stamps:
    """Parse the times of a table's rows.

    cells: the time column; dates: a separate date column, if any; header: of the time column, which may include “[hour
    ending]”, “[standard time]” or “[UTC+1]”; row: line numbers, for messages; timezone: IANA name, for times without an
    offset; notes: list to which assumptions are added; answers: the reader's, which override the header. Raises
    `WeatherError` naming the row.
    """
    answers = answers or Answers()
    label = _label(header, answers)
    text = cells.astype(str).str.strip()
    if dates is not None:
        text = _whole_dates(dates.astype(str).str.strip()) + " " + _clock_of_hours(text, notes)
    else:
        text = _whole_dates(text)
    naive, aware = _parse_stamps(text, row, answers.dates)
    if aware is not None:
        found = aware
    else:
        assert naive is not None  # _parse_stamps returns one of the two
        fixed = re.search(r"utc\s*(?:([+-]\d{1,2})(?::?(\d{2}))?)?|gmt", label)
        descending = naive[0] > naive[-1]
        if descending:
            notes.append("The rows run from newest to oldest and were put in order.")
            naive, row = naive[::-1], row[::-1].reset_index(drop=True)
        if fixed:
            hours, minutes = fixed[1] or "0", fixed[2] or "0"
            shift = pd.Timedelta(hours=int(hours), minutes=int(minutes) * (-1 if hours.startswith("-") else 1))
            found = (naive - shift).tz_localize("UTC")
        elif re.search(r"standard|winter", label):
            found = (naive - standard_offset(timezone, naive[0].year)).tz_localize("UTC")
            notes.append(f"Times are in the standard time of {timezone} all year, as the header says.")
        else:
            found = _localise_civil(naive, row, timezone, notes, answers.clock is not None)
        found = found[::-1] if descending else found
    found = found.tz_convert("UTC").as_unit("ns")
    minutes = _interval(found)
    if answers.stamps != "start" and re.search(r"ending|time.?end|end of|\bend\b", label):
        each = row_minutes(found, minutes, ends=True)
        found = found - (pd.Timedelta(minutes=minutes) if each is None else pd.to_timedelta(each, unit="min"))
        notes.append("Times are the ends of the intervals, as the header says.")
    else:
        notes.append(
            "Times are taken as the starts of the hours (or of the shorter intervals); write [hour ending] after "
            "“time” if they are the ends."
        )
    return Stamps(found, minutes)


def _parse_stamps(
    text: pd.Series, row: pd.Series, dates: str | None
) -> tuple[pd.DatetimeIndex | None, pd.DatetimeIndex | None]:
    """Naive times and None, or None and UTC times where the text includes offsets."""
    midnight = text.str.contains(r"[T ]24:00(?::00)?$", regex=True)
    text = text.mask(midnight, text.str.replace(r"([T ])24:00", r"\g<1>00:00", regex=True))
    text = text.str.replace(_YEAR_FIRST, r"\1-\2-\3", regex=True)
    iso = text.str.fullmatch(_ISO_TIME)
    if not iso.all():
        text = _in_any_format(text, row, dates)
    offset = text.str.contains(_UTC_OFFSET, regex=True)
    if offset.any() and not offset.all():
        at = int(np.flatnonzero(offset != offset[0])[0])
        raise WeatherError(
            f"Row {row[at]}: “{text[at]}” and “{text[0]}” are written differently; give every time an offset from UTC, "
            "or none."
        )
    stamps = pd.to_datetime(text, format="ISO8601", utc=bool(offset.all()), errors="coerce")
    wrong = stamps.isna() | ~stamps.dt.year.between(1850, 2150)
    if wrong.any():
        at = int(np.flatnonzero(wrong)[0])
        raise WeatherError(f"Row {row[at]}: “{text[at]}” is not a real time: correct it.")
    index = pd.DatetimeIndex(stamps + pd.to_timedelta(midnight.astype(int), unit="D"))
    return (None, index) if offset.all() else (index, None)


def _label(header: str, answers: Answers) -> str:
    """The words of the time column's header, replaced by what the reader said."""
    label = header.lower()
    if answers.clock:
        label = re.sub(r"utc\s*[+-]?\d*:?\d*|gmt|standard|winter", "", label) + {
            "utc": " utc",
            "standard": " standard",
        }.get(answers.clock, "")
    return label + (" ending" if answers.stamps == "end" else "")


def _whole_dates(text: pd.Series) -> pd.Series:
    """Times written as digits only, such as 20240601 or 2024060113, as 2024-06-01 and 2024-06-01 13:00."""
    parts = text.str.extract(r"^(\d{4})(\d{2})(\d{2})[T_:]?(\d{2})?(\d{2})?$")
    plain = parts[0].notna() & parts[0].between("1850", "2150")
    if not plain.any():
        return text
    day = parts[0] + "-" + parts[1] + "-" + parts[2]
    clock = (" " + parts[3] + ":" + parts[4].fillna("00")).where(parts[3].notna(), "")
    return text.mask(plain, day + clock)


def _clock_of_hours(text: pd.Series, notes: list[str]) -> pd.Series:
    """Clock times from a column of hours: 0 to 23 are starts; 1 to 24 are taken as written, with a note."""
    if not text.str.fullmatch(r"\d{1,2}|\d{1,2}00").all():
        return text
    hour = text.str.replace(r"00$", "", regex=True).where(text.str.len() > 2, text).replace("", "0").astype(int)
    if hour.max() > 24:
        return text
    if hour.max() == 24 and hour.min() > 0:
        notes.append("The hours run from 1 to 24: they are read as clock time, with 24 as the next midnight.")
    return hour.astype(str).str.zfill(2) + ":00"


def _in_any_format(text: pd.Series, row: pd.Series, dates: str | None) -> pd.Series:
    """Times in any format that a log may have, as ISO times; raises `WeatherError` where a cell is not a time, and
    where nothing tells the day from the month."""
    sample = [[one] for one in text[~text.str[:10].duplicated()]]  # one time for each date
    try:
        found = timestamps.find_time_columns(sample, [""], dates, "the table", OptionNames("--weather-dates "))
        naive = time_formats.parse(text.to_numpy(object), found.formats)
    except ReadingsFault as wrong:
        if "No column" not in str(wrong):
            raise WeatherError(str(wrong)) from None
        naive = np.full(len(text), np.datetime64("NaT"))
    if np.isnat(naive).any():
        at = int(np.flatnonzero(np.isnat(naive))[0])
        raise WeatherError(
            f"Row {row[at]}: “{text[at][:40]}” is not a time. Write it as 2025-12-31 14:00, with or "
            "without an offset such as +01:00."
        )
    if dates is None and timestamps.day_month_unknown(found.formats, sample, 0):
        raise WeatherError(
            f"Row {row[0]}: is “{text[0]}” day/month or month/day? No date in the file settles it. Write them as "
            '2025-12-31, or give --weather-dates "day first" or "month first", or write “# dates: day first” above the '
            "header."
        )
    form = "%Y-%m-%dT%H:%M:%S" + ("+00:00" if found.formats[0].aware else "")
    return pd.Series(pd.DatetimeIndex(naive).strftime(form), text.index)


def _localise_civil(
    naive: pd.DatetimeIndex, row: pd.Series, timezone: str, notes: list[str], sure: bool
) -> pd.DatetimeIndex:
    """Local civil times with their time zone; rows in a repeated hour are assigned by their order."""
    summer = np.ones(len(naive), bool)
    localised = time_formats.localised(naive, timezone, "NaT")
    if localised.isna().any():
        at = int(np.flatnonzero(localised.isna())[0])
        raise WeatherError(
            f"Row {row.iloc[at]}: {naive[at]:%Y-%m-%d %H:%M} does not exist in {timezone}: the clocks skip it. If the "
            "record keeps winter time all year, write [standard time] after “time” in the header, or give "
            "--weather-clock standard; if it is in UTC, --weather-clock utc."
        )
    ambiguous = np.flatnonzero(naive.tz_localize(timezone, ambiguous="NaT", nonexistent="NaT").isna())
    dates = naive[ambiguous].normalize()
    for date in dates.unique():
        rows = ambiguous[dates == date]
        back = np.concatenate([[False], np.diff(naive[rows].asi8) <= 0])
        summer[rows] = np.cumsum(back) == 0
        day = f"{date:%Y-%m-%d}"
        near = naive[(naive >= date) & (naive < date + pd.Timedelta("6h"))]
        steps = np.diff(near.asi8)
        if not back.any() and not sure and len(steps) > 4 and (steps == steps[0]).all():
            raise WeatherError(
                f"Row {row.iloc[rows[0]]}: on {day} the clocks of {timezone} show the hour from {naive[rows[0]]:%H:%M} "
                "twice, but the table has it once and without a gap, like a record in UTC or in winter time all year. "
                "Give --weather-clock utc, standard or, if an hour is missing, local; or write “# clock: utc” above "
                "the header."
            )
        notes.append(
            f"On {day} the clocks repeat an hour: "
            + (
                "its rows are told apart by their order."
                if back.any()
                else "the record has it once, taken as summer time; the repeat is missing."
            )
        )
    return naive.tz_localize(timezone, ambiguous=summer) if len(ambiguous) else localised


def _interval(stamps: pd.DatetimeIndex) -> float:
    """Usual step between rows [min]; raises `WeatherError` where it is longer than an hour."""
    steps = np.diff(np.sort(stamps.asi8)) / 60e9
    steps = steps[steps > 0]
    if len(steps) == 0:
        raise WeatherError("The table has only one time; a weather record needs at least a day of hours.")
    usual = float(np.median(steps))
    if usual > 61:
        raise WeatherError(
            f"The rows are {usual / 60:g} hours apart. Weather must be hourly or finer: coarser data can't match sun "
            "and night to a cover's hours."
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
            notes.append(f"The rows go back in time in {back} places and were put in order.")
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
                f"The times are not on the hour ({start[0]:%H:%M} UTC first); each row counts for the hour it is in."
            )
    grouped = table.groupby(grid.rename("time"))
    means, minutes = grouped[columns].mean(), grouped[columns].count() * stamps.minutes
    slower = {}
    for column in columns if stamps.minutes < 60 else ():
        each = present_minutes(start, table[column].notna().to_numpy(), stamps.minutes)
        if each is not None:
            minutes[column], slower[column] = pd.Series(each, table.index).groupby(grid).sum(), each.max()
    if slower:
        notes.append(
            f"Some values are up to {max(slower.values()):g} minutes apart instead of {stamps.minutes:g} "
            f"({', '.join(slower)}); each counts for its own interval."
        )
    hours = means.mask(minutes < 30)
    hours["row"] = grouped["row"].min()
    full = pd.date_range(hours.index[0], hours.index[-1], freq="h", name="time")
    hours = hours.reindex(full).tz_convert(timezone)
    known = np.flatnonzero(hours["air_temp"].notna())
    if len(known) == 0:
        raise WeatherError("No row has an air temperature: fill in the column air_temp of your file.")
    cut = len(hours) - (known[-1] + 1 - known[0])
    if cut:
        notes.append(f"{counted(cut, 'hour', 'hours')} without an air temperature left out at the start or end.")
    return hours.iloc[known[0] : known[-1] + 1]


def _drop_duplicates(table: pd.DataFrame, columns: list[str], notes: list[str]) -> pd.DataFrame:
    """Table without identical duplicate rows; raises `WeatherError` for different rows with the same time."""
    duplicates = table["start"].duplicated(keep=False)
    if not duplicates.any():
        return table
    kept = table.drop_duplicates(subset=["start", *columns])
    clash = kept["start"].duplicated(keep=False)
    if clash.any():
        one, two = kept.loc[clash, "row"].iloc[:2]
        raise WeatherError(
            f"Rows {min(one, two):.0f} and {max(one, two):.0f} have the same time, "
            f"{kept.loc[clash, 'start'].iloc[0]:%Y-%m-%d %H:%M} UTC, and different values: remove the wrong one."
        )
    notes.append(
        f"{counted(len(table) - len(kept), 'row appears', 'rows appear')} in the table twice; each is counted once."
    )
    return kept

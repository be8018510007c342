"""Reshapes other tables to one row for each time: suppliers' day-by-period grids, numbered periods, several devices.

Each row of the result keeps the number of the row it comes from.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.number_format import counted as counted_text
from pondheat.core.tables import estimates, timestamps
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.rows import MISSING_WORDS, UNIT_WORD, Lines

# Columns or periods in a day, and the minutes of each; the larger numbers include autumn's extra hour.
_PER_DAY = {24: 60, 25: 60, 48: 30, 50: 30, 96: 15, 100: 15, 288: 5, 300: 5}
_CLOCK_LABEL = re.compile(
    r"(?:\w+ )?(\d{1,2})[:.h](\d{2})(?::00)?(?:\s*(?:-|–|to|bis|à)\s*\d{1,2}[:.h]\d{2}(?::\d\d)?)?"
)
_NUMBER_LABEL = re.compile(
    r"(?:h|hh|hr|hour|p|sp|t|interval|period|settlement period|value|wert)?[ _]?0*(\d{1,3})", re.I
)
_PERIOD_HEAD = re.compile(r"\b(settlement[ _]?period|half[ _-]?hour|period|sp|hh|interval|slot|hour of day)\b", re.I)
_RANGE = re.compile(r"(.*\d{1,2}:\d{2}(?::\d{2})?) ?(?:-|–|to|bis) ?(.*\d{1,2}:\d{2}(?::\d{2})?)")
_DEVICE_HEAD = re.compile(
    r"\b(meter|device|id|mpan|mprn|serial|sensor|channel|register|entity|name|site|unit id|z.hler|compteur|point)\b",
    re.I,
)
_MOST_DEVICES = 50
_MOST_UNDATED = 0.3  # with a larger share of rows without a date, the file isn't understood


def reshaped(lines: Lines, timezone: str, dates: str | None, device: str | None, read_log: ReadLog) -> Lines:
    """The lines, each with one time and its values.

    timezone: of the clock that numbers the periods of a day; dates, device: the reader's options. Raises ReadingsFault
    where it is not clear which of several devices to read.
    """
    lines = _one_device(lines, dates, device, read_log)
    lines = _ranges_apart(lines, read_log)
    try:
        found = timestamps.find_time_columns(lines.sample(), lines.headers, dates, lines.name)
    except ReadingsFault:
        return lines  # the reader records it, in its own order
    if len(found.at) > 1 or found.end_at or "%H" in found.formats[0].format or found.formats[0].unit:
        return lines
    labels = _matrix_labels(lines, found.at[0])
    if labels is not None:
        return _from_matrix(lines, found, labels, timezone, dates, read_log)
    period = _period_column(lines, found.at[0])
    return lines if period is None else _from_periods(lines, found, period, timezone, dates, read_log)


def _of_columns(
    lines: Lines, headers: list[str], columns: Sequence[Iterable[str]], rows: np.ndarray, own_times: bool = True
) -> Lines:
    """Lines made from columns of text; rows: the row of the file that each comes from; own_times: whether the
    times were rewritten here, as 2025-10-01 18:30."""
    data = ("\n".join("\t".join(cells) for cells in zip(*columns)) + "\n").encode("utf-8")
    ends = np.flatnonzero(np.frombuffer(data, np.uint8) == 10)
    starts = np.append(0, ends[:-1] + 1)
    made = Lines(lines.name, data, starts, ends, np.asarray(rows), "\t", headers, False)
    made.preamble, made.own_times = lines.preamble, own_times
    return made


# --- several devices ----------------------------------------------------------------------------------------------


def _one_device(lines: Lines, dates: str | None, device: str | None, read_log: ReadLog) -> Lines:
    """The lines of one device, where a column names several devices with the same times."""
    sample = lines.sample()
    candidates = []
    for at, head in enumerate(lines.headers):
        shown = {fields[at] for fields in sample} - {""}
        text = not any(re.fullmatch(r"[-+]?\d*[.,]?\d+", cell) or re.match(r"\d{1,4}[-/.:]\d", cell) for cell in shown)
        named = bool(_DEVICE_HEAD.search(head.replace("_", " "))) and not UNIT_WORD.search(head)
        if 1 < len(shown) <= _MOST_DEVICES and (named or text):
            candidates.append(at)
    if device is None and not candidates:
        return lines
    if device is not None:
        wanted = str(device).strip().casefold()
        for at in candidates or range(len(lines.headers)):
            cells = lines.column_text(at)
            mine = np.array([cell.casefold() == wanted for cell in cells])
            if mine.any():
                return _kept(lines, mine, f"Reading only the rows of “{device}” in {_label(lines, at)}", read_log)
        listed = f" There are: {_listed(lines.column_text(candidates[0]))}." if candidates else ""
        raise ReadingsFault(f"No column of {lines.name} names a device “{str(device)[:40]}”.{listed}")
    try:
        time_columns = timestamps.find_time_columns(sample, lines.headers, dates, lines.name)
    except ReadingsFault:
        return lines
    taken = {*time_columns.at, *time_columns.end_at}
    others = [at for at in candidates if at not in taken | {one.at for one in estimates.find(lines, sample, taken)}]
    period = _period_column(lines, time_columns.at[0])
    keys = [lines.column_text(at) for at in (*time_columns.at, *(() if period is None else (period[0],)))]
    times = pd.Series([" ".join(parts) for parts in zip(*keys)])
    if not others or times.duplicated().mean() < 0.3:
        return lines
    for at in others:
        names = lines.column_text(at)
        if (times + "\0" + names).duplicated().mean() < 0.05:
            raise ReadingsFault(
                f"{_subject(lines, at)} names several devices with the same times: {_listed(names)}. Which one "
                'should be read? Give device="…".'
            )
    return lines


def _kept(lines: Lines, which: np.ndarray, sentence: str, read_log: ReadLog) -> Lines:
    left = int((~which).sum())
    read_log.interpretation.append(f"{sentence}; the other {left} belong to other devices.")
    lines.keep(which)
    return lines


def _listed(names: np.ndarray) -> str:
    found = sorted(set(names) - {""})
    return ", ".join(f"“{one[:40]}”" for one in found[:12]) + (
        f" and {len(found) - 12} more" if len(found) > 12 else ""
    )


def _label(lines: Lines, at: int) -> str:
    return f"column {at + 1}" + (f" (“{lines.headers[at]}”)" if lines.headers[at] else "")


def _subject(lines: Lines, at: int) -> str:
    """A column, named to begin a sentence."""
    label = _label(lines, at)
    return label[0].upper() + label[1:]


# --- start and end in one cell ------------------------------------------------------------------------------------


def _ranges_apart(lines: Lines, read_log: ReadLog) -> Lines:
    """Cells such as “00:00 - 00:30” as two columns, start and end."""
    sample = lines.sample()
    for at, head in enumerate(lines.headers):
        if sum(bool(_RANGE.fullmatch(fields[at])) for fields in sample) < 0.9 * len(sample):
            continue
        found = [_RANGE.fullmatch(cell) for cell in lines.column_text(at)]
        halves = [[one[half].strip() if one else "" for one in found] for half in (1, 2)]
        rest = [other for other in range(len(lines.headers)) if other != at]
        before = [other for other in rest if other < at]
        columns: list[Iterable[str]] = [lines.column_text(other) for other in before]
        after = [other for other in rest if other > at]
        headers = [lines.headers[one] for one in before] + [f"{head} start".strip(), f"{head} end".strip()]
        read_log.interpretation.append(f"{_subject(lines, at)} gives both start and end.")
        return _of_columns(
            lines,
            headers + [lines.headers[one] for one in after],
            [*columns, *halves, *(lines.column_text(other) for other in after)],
            lines.row,
            own_times=False,
        )
    return lines


# --- a grid of days by periods ------------------------------------------------------------------------------------


def _matrix_labels(lines: Lines, date_at: int) -> tuple[dict[int, int], int, bool] | None:
    """For a day-by-period grid: the first minute of each column, the minutes in one, and whether they count from
    midnight rather than by the clock; None for any other table."""
    heads = {at: head.strip() for at, head in enumerate(lines.headers) if at != date_at}
    clock = {at: found for at, head in heads.items() if (found := _CLOCK_LABEL.fullmatch(head))}
    if len(clock) in _PER_DAY:
        step = _PER_DAY[len(clock)]
        minutes = [int(found[1]) * 60 + int(found[2]) for found in clock.values()]
        ends = minutes[0] == step and minutes[-1] in (0, 1440)
        wanted = [(number + ends) * step for number in range(len(clock))]
        if all(one % 1440 == other % 1440 for one, other in zip(minutes, wanted)):
            return {at: number * step for number, at in enumerate(clock)}, step, False
    numbers = {at: int(found[1]) for at, head in heads.items() if (found := _NUMBER_LABEL.fullmatch(head))}
    first = min(numbers.values(), default=0)
    if len(numbers) in _PER_DAY and sorted(numbers.values()) == list(range(first, first + len(numbers))) and first < 2:
        step = _PER_DAY[len(numbers)]
        return {at: (number - first) * step for at, number in numbers.items()}, step, True
    if not any(lines.headers) and len(heads) in _PER_DAY:
        step = _PER_DAY[len(heads)]
        return {at: number * step for number, at in enumerate(heads)}, step, True
    return None


def _from_matrix(lines: Lines, found, labels, timezone: str, dates: str | None, read_log: ReadLog) -> Lines:
    """A row for each cell of a day-by-period grid."""
    minutes, step, counted = labels
    days = _days(lines, found, dates, read_log)
    cells = np.array([lines.column_text(at) for at in minutes]).T  # a row for each day
    offsets = np.array(list(minutes.values()))
    unit = _unit_beside(lines, set(minutes))
    read_log.interpretation.append(
        f"Each row is a day of {counted_text(len(minutes), 'value', 'values')}, {step} minutes each, counted "
        + ("from midnight." if counted else "by the clock times in the header.")
    )
    day_index = np.repeat(np.arange(len(days)), len(offsets))
    at = np.tile(offsets, len(days))
    text = cells.ravel()
    empty = np.array([cell.casefold() in MISSING_WORDS for cell in text])
    if counted:
        begins, lengths = _midnights(days, timezone)
        after = at >= lengths[day_index]
        if (after & ~empty & (text != "0")).any():
            row = lines.row[day_index[after & ~empty & (text != "0")][0]]
            raise ReadingsFault(
                f"Row {row} has more values than that day has periods of {step} minutes in {timezone}. Is the file "
                "from another time zone? Give timezone, or move those values."
            )
        keep = ~after
        stamps = begins[day_index] + at.astype("timedelta64[m]")
        written = _written(stamps[keep], "%Y-%m-%dT%H:%M+00:00")
    else:
        stamps = days[day_index] + at.astype("timedelta64[m]")
        skipped = _never(stamps, timezone) & (empty | (text == "0"))
        if skipped.any():
            read_log.interpretation.append(
                f"Left out: {counted_text(skipped.sum(), 'cell', 'cells')} in an hour that the clocks skip."
            )
        keep = ~skipped
        written = _written(stamps[keep], "%Y-%m-%d %H:%M")
    return _of_columns(
        lines, ["time start", f"use {unit}".strip()], [written, text[keep].tolist()], lines.row[day_index[keep]]
    )


def _unit_beside(lines: Lines, labelled: set[int]) -> str:
    """The one unit given above the grid or beside its labels, in brackets; "" if there is none or more than one."""
    sample = lines.sample()[:20]
    rest = [at for at in range(len(lines.headers)) if at not in labelled]
    near = [lines.preamble, *(lines.headers[at] for at in rest), *(fields[at] for fields in sample for at in rest)]
    found = {one.lower().replace("m3", "m³") for text in near for one in UNIT_WORD.findall(text)}
    return f"[{found.pop()}]" if len(found) == 1 else ""


# --- date and number of a period ----------------------------------------------------------------------------------


def _period_column(lines: Lines, date_at: int) -> tuple[int, int] | None:
    """The column that numbers the periods of a day, and the minutes of a period; None if there is none."""
    for at, head in enumerate(lines.headers):
        if at == date_at or not _PERIOD_HEAD.search(head.replace("_", " ")) or UNIT_WORD.search(head):
            continue
        numbers = [fields[at] for fields in lines.sample()]
        if not all(re.fullmatch(r"\d{1,3}", one) for one in numbers):
            continue
        most = max(map(int, lines.column_text(at))) if len(numbers) else 0
        if re.search(r"settlement|half|\bhh\b|\bsp\b", head, re.I) and most <= 50:
            return at, 30
        return next(((at, minutes) for count, minutes in _PER_DAY.items() if most <= count), None)
    return None


def _from_periods(
    lines: Lines, found, period: tuple[int, int], timezone: str, dates: str | None, read_log: ReadLog
) -> Lines:
    """One time from the date and the number of the period."""
    at, step = period
    days = _days(lines, found, dates, read_log)
    numbers = np.array([int(cell) for cell in lines.column_text(at)])
    first = int(numbers.min() > 0)
    begins, lengths = _midnights(days, timezone)
    minutes = (numbers - first) * step
    late = np.flatnonzero(minutes >= lengths)
    if len(late):
        raise ReadingsFault(
            f"Row {lines.row[late[0]]}: that day has no period {numbers[late[0]]} of {step} minutes in {timezone}. Is "
            "the file from another time zone? Give timezone, or correct the row."
        )
    read_log.interpretation.append(
        f"{_subject(lines, at)} numbers periods of {step} minutes from midnight, starting with {first}."
    )
    stamps = _written(begins + minutes.astype("timedelta64[m]"), "%Y-%m-%dT%H:%M+00:00")
    rest = [other for other in range(len(lines.headers)) if other not in (at, found.at[0])]
    return _of_columns(
        lines,
        ["time start", *(lines.headers[other] for other in rest)],
        [stamps, *(lines.column_text(other) for other in rest)],
        lines.row,
    )


# --- days ---------------------------------------------------------------------------------------------------------


def _days(lines: Lines, found, dates: str | None, read_log: ReadLog) -> np.ndarray:
    """Local dates of the rows, as datetime64[m]; rows without one are dropped from `lines`, and reported.

    Raises ReadingsFault where day and month could be the other way round, and where many rows have no date.
    """
    sample = lines.sample()
    cells = lines.column_text(found.at[0])
    formats = found.formats
    if dates is None and timestamps.day_month_unknown(formats, sample, found.at[0]):
        parts = [re.match(r"(\d{1,2})[-/](\d{1,2})[-/]", cell) for cell in cells]
        tell = [(int(one[1]), int(one[2])) for one in parts if one and (int(one[1]) > 12) != (int(one[2]) > 12)]
        if not tell:
            raise ReadingsFault(
                f"Row {lines.row[0]}: is “{cells[0]}” day/month or month/day? No date in {lines.name} has a number "
                'above 12 to settle it. Give dates="day first" or dates="month first".'
            )
        formats = formats if tell[0][0] > 12 else tuple(one.swapped() for one in formats)
    days = timestamps.parse(cells.astype(object), formats).astype("datetime64[m]")
    undated = np.isnat(days)
    if undated.any():
        first = f"“{cells[undated][0][:40]}”"
        if undated.mean() > _MOST_UNDATED:
            raise ReadingsFault(
                f"Row {lines.row[undated][0]}: {first} is not a real date, nor are {int(undated.sum()) - 1} more. "
                "Write dates as 2025-01-31."
            )
        read_log.add_repair(
            "time",
            f"{counted_text(undated.sum(), 'row has', 'rows have')} no date that can be read ({first}), left out: "
            f"{rows_text(lines.row[undated])}.",
            lines.row[undated],
        )
        lines.keep(~undated)
    return days[~undated]


def _midnights(days: np.ndarray, timezone: str) -> tuple[np.ndarray, np.ndarray]:
    """Start of local days in UTC [datetime64[m]], and their lengths [min]."""
    zone = value_parsers.time_zone(timezone)
    ends = []
    for shift in (0, 1):
        index = pd.DatetimeIndex((days + np.timedelta64(shift, "D")).astype("datetime64[us]"))
        local = index.tz_localize(zone, ambiguous=np.ones(len(index), bool), nonexistent="shift_forward")
        ends.append(local.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[m]"))
    return ends[0], (ends[1] - ends[0]).astype("timedelta64[m]").astype(float)


def _never(stamps: np.ndarray, timezone: str) -> np.ndarray:
    """Whether local times fall in an hour that the clocks skip."""
    index = pd.DatetimeIndex(stamps.astype("datetime64[us]"))
    zone = value_parsers.time_zone(timezone)
    found = index.tz_localize(zone, ambiguous=np.ones(len(index), bool), nonexistent="NaT")
    return np.asarray(found.isna()) & ~np.asarray(index.isna())


def _written(stamps: np.ndarray, form: str) -> list[str]:
    return pd.DatetimeIndex(stamps.astype("datetime64[s]")).strftime(form).tolist()

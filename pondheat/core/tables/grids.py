"""A row for each day, or for each numbered period of one, turned into a row for each time."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.number_format import counted as counted_text
from pondheat.core.tables import time_formats, timestamps
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.rows import MISSING_WORDS, UNIT_WORD, Lines

# Columns or periods in a day, and the minutes of each; the larger numbers include autumn's extra hour.
_PER_DAY = {24: 60, 25: 60, 48: 30, 50: 30, 96: 15, 100: 15, 288: 5, 300: 5}
_CLOCK_LABEL = re.compile(
    r"(?:[^\W\d]+[ _])?(\d{1,2}[:.h]|\d\d)(\d{2})(?::00)?(?:\s*(?:-|–|to|bis|à)\s*\d{1,2}[:.h]\d{2}(?::\d\d)?)?"
)
_NUMBER_LABEL = re.compile(
    r"(?:h|hh|hr|hour|p|sp|t|interval|period|settlement period|value|wert|kwh|wh|kw|w)?[ _]?0*(\d{1,3})", re.I
)
_PERIOD_HEAD = re.compile(r"\b(settlement[ _]?period|half[ _-]?hour|period|sp|hh|interval|slot|hour of day)\b", re.I)
_MOST_UNDATED = 0.3  # with a larger share of rows without a date, the file isn't understood


def of_columns(
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


# --- a grid of days by periods ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class DayColumns:
    """The columns of a day-by-period grid.

    first: position → its first minute of the day; minutes: in each; counted: whether they count from midnight rather
    than by the clock; total: position of a column with each day's sum, if there is one.
    """

    first: dict[int, int]
    minutes: int
    counted: bool
    total: int | None = None


def matrix_labels(lines: Lines, date_at: int) -> DayColumns | None:
    """The columns of a day-by-period grid, by their labels or else by their number; None for any other table."""
    heads = {at: head.strip() for at, head in enumerate(lines.headers) if at != date_at}
    clock = {at: found for at, head in heads.items() if (found := _CLOCK_LABEL.fullmatch(head))}
    if len(clock) in _PER_DAY:
        step = _PER_DAY[len(clock)]
        minutes = [int(found[1].rstrip(":.h")) * 60 + int(found[2]) for found in clock.values()]
        ends = minutes[0] == step and minutes[-1] in (0, 1440)
        wanted = [(number + ends) * step for number in range(len(clock))]
        if all(one % 1440 == other % 1440 for one, other in zip(minutes, wanted)):
            return DayColumns({at: number * step for number, at in enumerate(clock)}, step, False)
    numbers = {at: int(found[1]) for at, head in heads.items() if (found := _NUMBER_LABEL.fullmatch(head))}
    first = min(numbers.values(), default=0)
    if len(numbers) in _PER_DAY and sorted(numbers.values()) == list(range(first, first + len(numbers))) and first < 2:
        step = _PER_DAY[len(numbers)]
        return DayColumns({at: (number - first) * step for at, number in numbers.items()}, step, True)
    return _unlabelled([at for at, head in heads.items() if not head], lines)


def _unlabelled(without: list[int], lines: Lines) -> DayColumns | None:
    """A grid whose columns have no labels, by their number; without: positions of the columns without a header."""
    sample = lines.sample()
    numeric = [
        at
        for at in without
        if all(fields[at].casefold() in MISSING_WORDS or _as_number(fields[at]) is not None for fields in sample)
    ]
    total = None
    if len(numeric) - 1 in _PER_DAY:
        sums = [sum(_as_number(fields[at]) or 0.0 for at in numeric[:-1]) for fields in sample]
        given = [_as_number(fields[numeric[-1]]) or 0.0 for fields in sample]
        if any(sums) and np.allclose(sums, given, rtol=0.02, atol=0.1):
            total = numeric.pop()
    if len(numeric) not in _PER_DAY:
        return None
    step = _PER_DAY[len(numeric)]
    return DayColumns({at: number * step for number, at in enumerate(numeric)}, step, True, total)


def _as_number(cell: str) -> float | None:
    """A cell as a number, whichever its decimal mark; None where it is none."""
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None


def unclear_meaning(
    lines: Lines, found, labels: DayColumns, *, dates: str | None, unit: str | None, kind: str | None
) -> str:
    """Everything that a grid of a meter's readings doesn't say about its cells, in one sentence; empty if nothing."""
    sample, date_at = lines.sample(), found.at[0]
    open_questions, answers = [], []
    if unit is None and not _unit_beside(lines, set(labels.first)):
        open_questions.append("what their unit is")
        answers.append('unit="kWh" (or another)')
    values = [_as_number(fields[at]) for fields in sample for at in labels.first]
    steps = np.diff(np.array([one for one in values if one is not None]))
    if kind is None and len(steps) > 1 and (steps < 0).sum() <= 0.02 * (steps > 0).sum():
        open_questions.append("whether they are readings of a counter, as they only rise,")
        answers.append('kind="counter" (or "interval")')
    cells = lines.column_text(date_at)
    if open_questions and dates is None and timestamps.order_of(cells, found.formats, sample, date_at) is None:
        open_questions.append(f"whether “{cells[0]}” in row {lines.row[0]} is day/month or month/day")
        answers.append('dates="day first" (or "month first")')
    if not open_questions:
        return ""
    values_of_day = counted_text(len(labels.first), "value", "values")
    return (
        f"Each row of {lines.name} is a day of {values_of_day}, the first in row {lines.row[0]}, but "
        f"nothing says {' and '.join(open_questions)}. Give {' and '.join(answers)}."
    )


def from_matrix(lines: Lines, found, labels: DayColumns, timezone: str, dates: str | None, read_log: ReadLog) -> Lines:
    """A row for each cell of a day-by-period grid, with its mark where the grid has marks."""
    minutes, step = labels.first, labels.minutes
    days = _days(lines, found, dates, read_log)
    text = np.array([lines.column_text(at) for at in minutes]).T.ravel()  # day by day
    marks = _marks_of_cells(lines, found.at[0], labels)
    offsets = np.array(list(minutes.values()))
    unit = _unit_beside(lines, set(minutes))
    read_log.interpretation.append(
        f"Each row is a day of {counted_text(len(minutes), 'value', 'values')}, {step} minutes each, counted "
        + ("from midnight" if labels.counted else "by the clock times in the header")
        + (f"; {lines.label(labels.total)} is their sum." if labels.total is not None else ".")
    )
    day_index = np.repeat(np.arange(len(days)), len(offsets))
    at = np.tile(offsets, len(days))
    empty = np.array([cell.casefold() in MISSING_WORDS for cell in text])
    if labels.counted:
        begins, lengths = _midnights(days, timezone)
        after = at >= lengths[day_index]
        if (after & ~empty & (text != "0")).any():
            row = lines.row[day_index[after & ~empty & (text != "0")][0]]
            raise ReadingsFault(
                f"Row {row} has more values than that day has periods of {step} minutes in {timezone}. Is the file "
                f"from another time zone? Give {read_log.asks.timezone}, or move those values."
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
    columns = {"time start": written, f"use {unit}".strip(): text[keep].tolist()}
    columns |= {head: cells[keep].tolist() for head, cells in marks.items()}
    return of_columns(lines, list(columns), list(columns.values()), lines.row[day_index[keep]])


def _marks_of_cells(lines: Lines, date_at: int, labels: DayColumns) -> dict[str, np.ndarray]:
    """Columns of text beside a grid, by header, cell for cell: as many as the grid has are a mark for each cell, others
    hold for the whole day."""
    rest = [at for at in range(len(lines.headers)) if at not in {date_at, labels.total, *labels.first}]
    sample = lines.sample()
    text = [at for at in rest if not all(_as_number(fields[at]) is not None for fields in sample)]
    count = len(labels.first)
    if len(text) % count == 0 and text:
        return {"quality": np.array([lines.column_text(at) for at in text[:count]]).T.ravel()}
    return {lines.headers[at] or "mark": np.repeat(lines.column_text(at), count) for at in text}


def _unit_beside(lines: Lines, labelled: set[int]) -> str:
    """The one unit given above the grid or beside its labels, in brackets; "" if there is none or more than one."""
    sample = lines.sample()[:20]
    rest = [at for at in range(len(lines.headers)) if at not in labelled]
    near = [lines.preamble, *lines.headers, *(fields[at] for fields in sample for at in rest)]
    found = {one.lower().replace("m3", "m³") for text in near for one in UNIT_WORD.findall(text.replace("_", " "))}
    return f"[{found.pop()}]" if len(found) == 1 else ""


# --- date and number of a period ----------------------------------------------------------------------------------


def period_column(lines: Lines, date_at: int) -> tuple[int, int] | None:
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


def from_periods(
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
            f"the file from another time zone? Give {read_log.asks.timezone}, or correct the row."
        )
    read_log.interpretation.append(
        f"{lines.subject(at)} numbers periods of {step} minutes from midnight, starting with {first}."
    )
    stamps = _written(begins + minutes.astype("timedelta64[m]"), "%Y-%m-%dT%H:%M+00:00")
    rest = [other for other in range(len(lines.headers)) if other not in (at, found.at[0])]
    return of_columns(
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
    if dates is None:
        at, asks = found.at[0], read_log.asks
        formats = timestamps.settled_by_dates(cells, lines.row, formats, sample, at, lines.name, asks)
    days = time_formats.parse(cells.astype(object), formats).astype("datetime64[m]")
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
        local = time_formats.localised((days + np.timedelta64(shift, "D")).astype("datetime64[us]"), zone)
        ends.append(local.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[m]"))
    return ends[0], (ends[1] - ends[0]).astype("timedelta64[m]").astype(float)


def _never(stamps: np.ndarray, timezone: str) -> np.ndarray:
    """Whether local times fall in an hour that the clocks skip."""
    zone = value_parsers.time_zone(timezone)
    found = time_formats.localised(stamps.astype("datetime64[us]"), zone, "NaT")
    return np.asarray(found.isna()) & ~np.isnat(stamps)


def _written(stamps: np.ndarray, form: str) -> list[str]:
    return pd.DatetimeIndex(stamps.astype("datetime64[s]")).strftime(form).tolist()

"""Rows of a log at instants: cells that cannot be read are dropped, and written times become instants in UTC."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.number_format import counted
from pondheat.core.tables import rows as table_reader
from pondheat.core.tables import time_formats
from pondheat.core.tables import timestamps as times
from pondheat.core.tables.numbers import cut_short
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.time_formats import SECOND
from pondheat.meter.reading import cells as cell_reader
from pondheat.meter.reading import columns, kinds, local_clock, repairs
from pondheat.meter.reading.cell_text import plain_text
from pondheat.meter.reading.headers import multiple_from_header
from pondheat.meter.reading.open_table import LogTable

_MOST_UNREAD = 0.3
_CLOCK_HEADERS = {"time", "time of day", "clock", "clock time", "uhrzeit", "zeit", "tijd", "heure"}


def has_clock(time_columns: times.TimeColumns) -> bool:
    """Whether the times of a table have a time of day, not only a date."""
    usual = time_columns.formats[0]
    return bool(usual.unit or usual.parts()[1].format)


def require_readable_clock(table: LogTable) -> None:
    """Raise ReadingsFault where the times are dates alone, beside a column of clock times that can't be read.

    Without it each date would count as its midnight, hours from the reading.
    """
    if has_clock(table.times):
        return
    sample = table.sample
    for at, header in enumerate(table.lines.headers):
        if at in table.taken or header.strip().lower() not in _CLOCK_HEADERS:
            continue
        cells = [fields[at].strip() for fields in sample if at < len(fields) and fields[at].strip()]
        label = table.lines.subject(at)
        if odd := next((cell for cell in cells if not time_formats.clock_format(cell)), None):
            raise ReadingsFault(
                f"{label} should hold the time of day, but “{odd[:20]}” can't be read as one. Write times as 18:30."
            )
        if cells:
            raise ReadingsFault(
                f"{label} gives the time of day in only {len(cells)} of {counted(len(sample), 'row', 'rows')}. Fill in "
                "the others, or take the column out; each date then counts as its midnight."
            )


def read_rows(table: LogTable, roles: columns.Roles, tell: Callable[[float], None]) -> repairs.MeterRows:
    """Rows in order of time, at instants; rows and cells that cannot be read are reported and dropped.

    tell: called with the share of the cells read.
    """
    lines, read_log = table.lines, table.read_log
    table.times = cell_reader.settle_day_month_from_file(lines, table.times, table.dates, table.sample, table.name)
    cells = cell_reader.read_cells(lines, table.times, roles, tell)
    times.describe_time(table.times, lines.headers, read_log)
    if cells.end is not None and table.times.end_at[0] == table.times.at[0]:  # one date: 00:00 ends its day
        midnight = (cells.end < cells.naive) & (cells.end == cells.end.astype("datetime64[D]"))
        cells.end = np.where(midnight, cells.end + np.timedelta64(1, "D"), cells.end)
    untimed = _untimed(lines, table.times, cells)
    for column in roles.columns():
        _report_invalid(column, cells.invalid[column.at], len(lines.row), read_log)
        _report_cut_short(column, lines, read_log)
    keep = ~untimed if untimed.any() else np.s_[:]
    for column in roles.columns():
        if (multiple := multiple_from_header(column.header)) != 1:
            cells.numbers[column.at] = cells.numbers[column.at] * multiple
            read_log.interpretation.append(f"{column.subject} counts in {multiple:g} of its unit, as its header says.")
    value = cells.numbers[roles.value.at]
    for one in roles.added:
        value = value + cells.numbers[one.at]
    for beside in (roles.voltage, roles.factor):
        if beside:
            value = value * cells.numbers[beside.at]
    meter_at = None if table.meter_at in {one.at for one in roles.columns()} else table.meter_at
    rows = repairs.MeterRows(
        cells.naive[keep],
        np.where(table.estimated, np.nan, value)[keep],
        lines.row[keep],
        cells.numbers[roles.temp.at][keep] if roles.temp else None,
        cells.end[keep] if cells.end is not None else None,
        np.where(table.estimated, value, np.nan)[keep] if table.estimated.any() else None,
        None if meter_at is None else lines.column_text(meter_at)[keep],
    )
    for moments in (rows.at, rows.end):
        if moments is not None:
            table_reader.require_plausible_span(moments, rows.row)
    if untimed.any():
        read_log.add_repair(
            "time",
            f"{counted(untimed.sum(), 'row has', 'rows have')} no time that can be read "
            f"(“{_time_text(lines, table.times, untimed)}”), left out: {rows_text(lines.row[untimed])}.",
            lines.row[untimed],
        )
    if len(rows.at) > 2 and (np.diff(rows.at) < np.timedelta64(0)).mean() > 0.5:
        read_log.add_repair("order", "The rows run from newest to oldest and were put in order.")
        rows = rows.take(np.s_[::-1])
    rows = _at_instants(rows, table)
    if roles.temp and rows.temp is not None:
        rows.temp, _ = kinds.water_temp_celsius(roles.temp, rows.temp, rows.row, read_log)
    return repairs.sort_by_time(rows, read_log)


def _time_text(lines: table_reader.Lines, time_columns: times.TimeColumns, which: np.ndarray) -> str:
    """The time cells of the first of these lines, as they are in the file."""
    fields = lines.fields(int(np.flatnonzero(which)[0]))
    return " ".join(fields[place] for place in time_columns.at)[:40]


def _untimed(lines: table_reader.Lines, time_columns: times.TimeColumns, cells: cell_reader.Cells) -> np.ndarray:
    """Whether each line has no time that can be read; raises ReadingsFault where that is so of many."""
    untimed = np.isnat(cells.naive) | (np.isnat(cells.end) if cells.end is not None else False)
    if untimed.mean() > _MOST_UNREAD:
        raise ReadingsFault(
            f"Row {lines.row[untimed][0]}: “{_time_text(lines, time_columns, untimed)}” is not a time written as "
            f"{time_columns.formats[0].example() or 'a count of seconds'}, nor are {int(untimed.sum()) - 1} "
            "more. Write times as 2025-10-01 18:30."
        )
    return untimed


def _report_invalid(column: columns.Column, wrong: list[tuple[int, str]], count: int, read_log: ReadLog) -> None:
    """Record the cells of a column that hold no number; raises ReadingsFault where they are many.

    wrong: row and text of each; count: of the lines.
    """
    if len(wrong) > _MOST_UNREAD * count:
        raise ReadingsFault(
            f"Row {wrong[0][0]}, {column.label}: “{wrong[0][1][:40]}” is not a number, nor are {len(wrong) - 1} "
            "more. Correct them, leave the cells empty where nothing was read, or give another column."
        )
    if wrong:
        rows = [one for one, _ in wrong]
        read_log.add_repair(
            "unreadable",
            f"{counted(len(wrong), 'cell', 'cells')} in {column.label} without a number (“{wrong[0][1][:20]}”), "
            f"taken as missing: {rows_text(rows)}.",
            rows,
        )


def _report_cut_short(column: columns.Column, lines: table_reader.Lines, read_log: ReadLog) -> None:
    """Record the numbers of a column that may have lost their decimals; they are kept as they are."""
    mark, beside = column.decimal, {lines.separator, "\n", "\r", '"', " "}
    pairs = [pair.encode() for other in beside - {column.decimal} for pair in (mark + other, other + mark)]
    if not any(pair in lines.data for pair in pairs):  # found in no time even in a large file
        return
    text = [plain_text(cell) for cell in lines.column_text(column.at)]
    if cut := cut_short(text):
        rows = lines.row[cut]
        read_log.add_repair(
            "cut",
            f"{counted(len(cut), 'number', 'numbers')} in {column.label} with nothing on one side of the decimal mark "
            f"(“{text[cut[0]]}”), kept: {rows_text(rows)}. If digits were lost, put them back.",
            rows,
        )


def _at_instants(rows: repairs.MeterRows, table: LogTable) -> repairs.MeterRows:
    """Rows with their local times converted to instants."""
    timezone, clock = table.timezone, table.options.clock
    said, where = _said_of_clock(table)
    read_log, naive = table.read_log, rows.at
    ahead = re.search(r"\b(?:utc|gmt) ?([+-−])(\d{1,2})(?::?(\d{2}))?\b", said)
    if table.times.formats[0].aware:
        clock = "utc"
        read_log.interpretation.append("The times include their offset from UTC.")
    elif clock is None and ahead:
        clock, minutes = "utc", 60 * int(ahead[2]) + int(ahead[3] or 0)
        offset = np.timedelta64(minutes if ahead[1] == "+" else -minutes, "m")
        naive, rows.end = naive - offset, None if rows.end is None else rows.end - offset
        read_log.interpretation.append(f"The times keep {ahead[0].upper()} all year, as {where}.")
    elif clock is None and (found := re.search(r"\b(utc|gmt|zulu)\b", said)):
        clock = "utc"
        read_log.interpretation.append(f"The times are in UTC, as {where} ({found[1].upper()}).")
    elif clock is None and re.search(r"\b(standard|winter)\b", said):
        clock = "standard"
        read_log.interpretation.append(f"The times are in the winter time of {timezone} all year, as {where}.")
    else:
        if clock is None:
            _require_same_zone(rows, said, where, timezone)
        read_log.interpretation.append(
            {
                "utc": "The times are in UTC, as given.",
                "standard": f"The times are in the winter time of {timezone} all year, as given.",
            }.get(clock or "local", f"The times are taken as local clock time in {timezone}.")
        )
    rows.at = local_clock.instants(naive, rows.row, timezone, clock or "local", read_log, sure=clock is not None)
    if rows.end is not None:
        rows.end = local_clock.instants(rows.end, rows.row, timezone, clock or "local", ReadLog())
    if clock in (None, "local"):
        local_clock.report_skipped_hours(rows.at, naive, timezone, read_log)
    return rows


def _said_of_clock(table: LogTable) -> tuple[str, str]:
    """What the file says of its clock, in lower case, in the header of the times or else in a line above the table, and
    who says so."""
    header = " ".join(table.lines.headers[at] for at in table.times.at).lower()
    above = time_formats.ZONE_ABOVE.search(table.lines.preamble)
    if time_formats.NAMED_ZONE.search(header) or above is None:
        return header, "the header says"
    return above[1].strip().lower(), f"a line above the table says (“{above[0].strip()[:40]}”)"


def _require_same_zone(rows: repairs.MeterRows, said: str, where: str, timezone: str) -> None:
    """Raise ReadingsFault where the file names a zone that is not that of the clock by which its times are read."""
    found = time_formats.NAMED_ZONE.search(said)
    named = (one for one in value_parsers.zone_names() if "/" in one and one.lower() in said)
    place = max(named, key=lambda name: (len(name), name), default=timezone)
    if place != timezone:
        raise ReadingsFault(
            f"The times are of {place}, as {where}, not of {timezone}. Give timezone {place}, or "
            f'clock="local" if they are of {timezone} all the same.'
        )
    if not found:
        return
    name = found[0].upper()
    hours, minutes = (int(part) for part in time_formats.ZONE_NAMES[name][1:].split(":"))
    ahead = (hours * 60 + minutes) * (-1 if time_formats.ZONE_NAMES[name][0] == "-" else 1)
    local = time_formats.localised(rows.at, value_parsers.time_zone(timezone))
    shift = (local.tz_localize(None) - local.tz_convert("UTC").tz_localize(None)) / pd.Timedelta("1min")
    other = np.flatnonzero(np.asarray(shift) != ahead)
    if len(other):
        raise ReadingsFault(
            f"The times are in {name}, as {where}, but in row {rows.row[other[0]]}, on {str(rows.at[other[0]])[:10]}, "
            f"clocks in {timezone} show another time. Give "
            f'clock="standard" if the clock is never changed, or clock="local" if it follows those of {timezone}.'
        )


def whole_ends(rows: repairs.MeterRows, timezone: str, stamps: str, read_log: ReadLog) -> tuple[repairs.MeterRows, str]:
    """Rows with their true ends, where times such as 00:29 or 00:29:59 are the last minute or second of their
    intervals.

    Also returns the convention that then applies; other rows and their convention are returned unchanged.
    """
    ends = rows.at if rows.end is None else rows.end
    if len(ends) < 3:
        return rows, stamps
    usual = int(np.median(np.diff(rows.at)))
    local = local_clock.local_times(ends, timezone)
    clock = local.tz_localize(None).asi8
    for length, name in ((SECOND, "second"), (60 * SECOND, "minute")):
        if usual < 10 * length or usual % (5 * 60 * SECOND) or usual > 24 * repairs.HOUR:
            continue
        if ((clock + length) % usual == 0).mean() > 0.95:
            read_log.interpretation.append(
                f"Times such as {local[0]:%H:%M:%S} are the last {name} of the intervals; taken as their ends, a "
                f"{name} later."
            )
            if rows.end is None:
                return replace(rows, at=rows.at + length), "end"
            return replace(rows, end=rows.end + length), stamps
    return rows, stamps


def stamp_convention(table: LogTable) -> str:
    """Whether times are the “start” or the “end” of their intervals; the reason is recorded."""
    stamps, read_log = table.options.stamps, table.read_log
    if table.times.end_at:
        return "start"
    header = " ".join(table.lines.headers[at] for at in table.times.at).lower()
    ends = re.search(r"\b(end|ending|ends|until|to)\b", header)
    begins = re.search(r"\b(start|starting|from|begin|beginning)\b", header)
    word = ends or begins
    if stamps is not None:
        read_log.interpretation.append(f"Times are the {stamps}s of the intervals, as given.")
    elif word and not (ends and begins):
        stamps = "end" if ends else "start"
        read_log.interpretation.append(f"Times are the {stamps}s of the intervals, as the header says (“{word[1]}”).")
    else:
        stamps = "start"
        read_log.interpretation.append(
            'Times are taken as the starts of the intervals; give stamps="end" if they are the ends.'
        )
    return stamps

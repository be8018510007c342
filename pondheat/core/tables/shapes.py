"""Reshapes other tables to one row for each time: suppliers' day-by-period grids, numbered periods, several devices.

Each row of the result keeps the number of the row it comes from.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
import pandas as pd

from pondheat.core.tables import estimates, grids, timestamps
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, listed
from pondheat.core.tables.rows import UNIT_WORD, Lines
from pondheat.core.tables.time_formats import ANY_ZONE

_RANGE = re.compile(r"(.*\d{1,2}:\d{2}(?::\d{2})?) ?(?:-|–|/|to|bis) ?(.*\d{1,2}:\d{2}(?::\d{2})?)")
_ZONE = re.compile(rf"[+-](?:0\d|1[0-4]):(?:00|15|30|45)|Z|{ANY_ZONE}")
_DEVICE_HEAD = re.compile(
    r"\b(meter|device|id|mpan|mprn|serial|sensor|channel|register|entity|name|site|unit id|z.hler|compteur|point)\b",
    re.I,
)
_MOST_DEVICES = 50


def reshaped(
    lines: Lines,
    timezone: str,
    read_log: ReadLog,
    *,
    dates: str | None,
    device: str | None,
    unit: str | None,
    kind: str | None,
    energy: bool,
) -> Lines:
    """The lines, each with one time and its values.

    timezone: of the clock that numbers the periods of a day; dates, device, unit, kind: the reader's options; energy:
    whether this is known to be a meter's. Raises ReadingsFault where it is not clear which of several devices to read,
    or what the cells of a meter's grid are; `Lines.unclear` is empty or says so of a grid of which that isn't known.
    """
    lines = _one_device(lines, dates, device, read_log)
    lines = _marks_apart(lines, read_log)
    lines = _ranges_apart(lines, read_log)
    lines = _with_zones(lines, dates, read_log)
    try:
        found = timestamps.find_time_columns(lines.sample(), lines.headers, dates, lines.name)
    except ReadingsFault:
        return lines  # the reader records it, in its own order
    if len(found.at) > 1 or found.end_at or "%H" in found.formats[0].format or found.formats[0].unit:
        return lines
    labels = grids.matrix_labels(lines, found.at[0])
    if labels is not None:
        unclear = grids.unclear_meaning(lines, found, labels, dates=dates, unit=unit, kind=kind)
        if energy and unclear:
            raise ReadingsFault(unclear)
        made = grids.from_matrix(lines, found, labels, timezone, dates, read_log)
        made.unclear = unclear
        return made
    period = grids.period_column(lines, found.at[0])
    return lines if period is None else grids.from_periods(lines, found, period, timezone, dates, read_log)


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
                return _kept(lines, mine, f"Reading only the rows of “{device}” in {lines.label(at)}", read_log)
        listed = f" There are: {_listed(lines.column_text(candidates[0]))}." if candidates else ""
        raise ReadingsFault(f"No column of {lines.name} names a device “{str(device)[:40]}”.{listed}")
    try:
        time_columns = timestamps.find_time_columns(sample, lines.headers, dates, lines.name)
    except ReadingsFault:
        return lines
    taken = {*time_columns.at, *time_columns.end_at}
    others = [at for at in candidates if at not in taken | {one.at for one in estimates.find(lines, sample, taken)}]
    period = grids.period_column(lines, time_columns.at[0])
    keys = [lines.column_text(at) for at in (*time_columns.at, *(() if period is None else (period[0],)))]
    times = pd.Series([" ".join(parts) for parts in zip(*keys)])
    if not others or times.duplicated().mean() < 0.3:
        return lines
    for at in others:
        names = lines.column_text(at)
        if (times + "\0" + names).duplicated().mean() < 0.05:
            raise ReadingsFault(
                f"{lines.subject(at)} {read_log.asks.several} the same times: {_listed(names)}. Which one "
                f'should be read? Give {read_log.asks.device}"…"{read_log.asks.where}.'
            )
    return lines


def device_column(lines: Lines, taken: set[int]) -> int | None:
    """The column that names the meter of each row, such as its serial number, if there is one and it changes."""
    for at, head in enumerate(lines.headers):
        if at in taken or not _DEVICE_HEAD.search(head.replace("_", " ")) or UNIT_WORD.search(head):
            continue
        names = lines.column_text(at)
        changes = int((names[1:] != names[:-1]).sum())
        numbers = all(name.replace(".", "").replace(",", "").isdecimal() for name in set(names))
        serial = not numbers or changes == 1 and all(name.isdecimal() and len(name) > 4 for name in set(names))
        if 0 < changes < max(2, 0.05 * len(names)) and "" not in names and serial:
            return at
    return None


def _kept(lines: Lines, which: np.ndarray, sentence: str, read_log: ReadLog) -> Lines:
    left = int((~which).sum())
    read_log.interpretation.append(f"{sentence}; the other {left} belong to other devices.")
    lines.keep(which)
    return lines


def _listed(names: np.ndarray) -> str:
    return listed([f"“{one[:40]}”" for one in sorted(set(names) - {""})])


# --- a mark after the number --------------------------------------------------------------------------------------


def _marks_apart(lines: Lines, read_log: ReadLog) -> Lines:
    """The marks of a column of cells such as “10432.5 E”, where some mean an estimate, as a column of their own."""
    sample = lines.sample()
    for at in range(len(lines.headers)):
        if not any(estimates.mark_in_cell(fields[at])[1] for fields in sample):
            continue
        parts = [estimates.mark_in_cell(cell) for cell in lines.column_text(at)]
        if not any(mark and estimates.is_estimate(mark, True) for _, mark in parts):
            continue
        others: list[Iterable[str]] = [lines.column_text(other) for other in range(len(lines.headers)) if other != at]
        columns: list[Iterable[str]] = [*others[:at], (number for number, _ in parts), *others[at:]]
        columns.append(mark for _, mark in parts)
        read_log.interpretation.append(f"{lines.subject(at)} has marks after its numbers, read as a column beside it.")
        return grids.of_columns(lines, [*lines.headers, "quality"], columns, lines.row, own_times=False)
    return lines


# --- a zone beside the time ---------------------------------------------------------------------------------------


def _with_zones(lines: Lines, dates: str | None, read_log: ReadLog) -> Lines:
    """The zones or offsets of a column of their own, such as “BST” or “+01:00”, written after the times."""
    sample = lines.sample()
    zoned = [at for at in range(len(lines.headers)) if all(_ZONE.fullmatch(fields[at]) for fields in sample)]
    if len(zoned) != 1:
        return lines
    try:
        found = timestamps.find_time_columns(sample, lines.headers, dates, lines.name)
    except ReadingsFault:
        return lines
    clock, zone = found.at[-1], zoned[0]
    if found.end_at or found.formats[0].aware or not found.formats[0].parts()[1].format:
        return lines
    rest = [at for at in range(len(lines.headers)) if at != zone]
    columns = {at: lines.column_text(at) for at in range(len(lines.headers))}
    columns[clock] = np.array([f"{one} {beside}" for one, beside in zip(columns[clock], columns[zone])], object)
    read_log.interpretation.append(f"{lines.subject(zone)} gives the zone or offset of each time.")
    return grids.of_columns(
        lines, [lines.headers[at] for at in rest], [columns[at] for at in rest], lines.row, own_times=False
    )


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
        read_log.interpretation.append(f"{lines.subject(at)} gives both start and end.")
        return grids.of_columns(
            lines,
            headers + [lines.headers[one] for one in after],
            [*columns, *halves, *(lines.column_text(other) for other in after)],
            lines.row,
            own_times=False,
        )
    return lines

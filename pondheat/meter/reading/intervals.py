"""Length of each interval of a record from its time stamps, with days and months of the local calendar."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.time_formats import SECOND, localised
from pondheat.meter.reading.local_clock import local_times
from pondheat.meter.reading.repairs import HOUR, MeterRows

STAMPS = ("start", "end")
_DAY = 24 * HOUR


def longest_carried(usual: float) -> float:
    """The longest time [h] over which a value is carried over: three usual steps [h], but at least an hour."""
    return max(3 * usual, 1.0)


def interval_lengths(
    rows: MeterRows, timezone: str, stamps: str, read_log: ReadLog, carried: bool = False
) -> tuple[np.ndarray, np.ndarray]:
    """Start [µs] and length [h] of each row's interval; gaps are reported.

    stamps: whether the times are the "start" or the "end" of the intervals; carried: whether a value is a state that
    lasts until the next row, such as a power, which must not be carried over a long gap.
    """
    if rows.end is not None:
        return _from_start_and_end(rows, read_log)
    if len(rows.at) < 2:
        raise ReadingsFault(
            "A single row doesn't show how long its interval is. Add a column for the end of the interval, or a "
            "second row."
        )
    steps = np.diff(rows.at)
    usual = int(np.median(steps))
    nominal = _calendar_lengths(rows.at, usual, timezone, stamps)
    if nominal is None and usual > 0 and (steps == usual).all():
        read_log.interpretation.append(f"The record is regular: a row every {duration(usual)}.")
        return (rows.at if stamps == "start" else rows.at - usual), np.full(len(rows.at), usual / HOUR)
    calendar = nominal is not None
    if nominal is None:
        nominal = np.full(len(rows.at), usual)
    span = np.append(steps, nominal[-1]) if stamps == "start" else np.append(nominal[0], steps)
    if calendar or (np.abs(steps - usual) <= 0.1 * usual).mean() > 0.7:
        unit = "each day or month of the calendar" if calendar else duration(usual)
        read_log.interpretation.append(f"The record is regular: a row for {unit}.")
        gap = span > 1.5 * nominal
        _report_missing_rows(rows.row[gap], span[gap], nominal[gap], stamps, read_log)
        if not calendar:
            report_odd_steps(rows, read_log)
        length = np.where(gap, nominal, span)
    else:
        length = _irregular_lengths(rows.row, span, usual, stamps, carried, read_log)
    return (rows.at if stamps == "start" else rows.at - length), length / HOUR


def _report_missing_rows(row: np.ndarray, span, nominal, stamps: str, read_log: ReadLog) -> None:
    """Record the gaps of a regular record; row, span, nominal [µs]: of the rows beside them."""
    if not len(row):
        return
    missing = int(np.round(span / nominal - 1).sum())
    read_log.add_repair(
        "gap",
        f"{missing} {'row is' if missing == 1 else 'rows are'} missing in {counted(len(row), 'gap', 'gaps')} "
        f"({(span - nominal).sum() / HOUR:.5g} hours), {'after' if stamps == 'start' else 'before'} "
        f"{rows_text(row)}; not filled in.",
        row,
    )


def report_odd_steps(rows: MeterRows, read_log: ReadLog) -> None:
    """Record the few steps that aren't whole multiples of the usual one, where nearly all others are.

    Steps of a day or more are left out: days of 23 and 25 hours are no mistake.
    """
    row, steps = rows.row, np.diff(rows.at)
    usual = int(np.median(steps)) if len(steps) else 0
    odd = steps % usual != 0 if 0 < usual < 0.9 * _DAY else np.zeros(len(steps), bool)
    if 0 < odd.sum() < 0.1 * len(odd):
        read_log.add_repair(
            "step",
            f"{rows_text(row[:-1][odd], 'Row', 'Rows')}: the next row doesn't follow after {duration(usual)} like the "
            "others; taken as written.",
            row[:-1][odd],
        )


def _irregular_lengths(
    row: np.ndarray, span: np.ndarray, usual: int, stamps: str, carried: bool, read_log: ReadLog
) -> np.ndarray:
    """Length [µs] of each interval of an irregular record, from the time to its neighbour, `span` [µs]."""
    gap = span > longest_carried(usual / HOUR) * HOUR if carried else np.zeros(len(span), bool)
    if gap.any():
        read_log.add_repair(
            "gap",
            f"{counted(gap.sum(), 'gap', 'gaps')} ({(span - usual)[gap].sum() / HOUR:.5g} hours) by "
            f"{rows_text(row[gap])}: longer than an hour and three usual steps, so no value is carried across.",
            row[gap],
        )
    read_log.interpretation.append(
        f"The record is irregular (half the steps are longer than {duration(usual)}); each interval runs "
        f"{'to the next' if stamps == 'start' else 'from the previous'} row."
    )
    edge = row[-1] if stamps == "start" else row[0]
    read_log.add_repair(
        "length", f"Row {edge}: its interval has no known length; taken as the usual {duration(usual)}.", [edge]
    )
    return np.where(gap, usual, span)


def duration(micro: float) -> str:
    """A length of time [µs] as text.

    >>> duration(90e6), duration(3600e6), duration(86400e6 * 2)
    ('90 s', '60 min', '48 h')
    """
    seconds = micro / SECOND
    size, unit = (1, "s") if seconds < 120 else (60, "min") if seconds < 7200 else (3600, "h")
    return f"{seconds / size:.4g} {unit}"


def _calendar_lengths(at: np.ndarray, usual: int, timezone: str, stamps: str) -> np.ndarray | None:
    """Length [µs] of each interval if all are whole days or months of the local calendar, otherwise None."""
    if usual < 0.9 * _DAY:
        return None
    times = local_times(at, timezone)
    zone, local = times.tz, times.tz_localize(None)
    sign = 1 if stamps == "start" else -1
    days = round(usual / _DAY)
    steps = np.diff(local.asi8)
    if 28 <= days <= 31 and np.unique(local.day).size == 1 and (local.normalize() == local).all():
        other = local + sign * pd.DateOffset(months=1)
    elif (steps == days * _DAY).mean() > 0.7:
        other = local + sign * pd.Timedelta(days=days)
    else:
        return None
    return sign * (localised(pd.DatetimeIndex(other).as_unit("us"), zone).asi8 - at)


def _from_start_and_end(rows: MeterRows, read_log: ReadLog) -> tuple[np.ndarray, np.ndarray]:
    """Start [µs] and length [h] of intervals whose start and end are both in the file."""
    end = rows.end
    assert end is not None
    if (end <= rows.at).any():
        bad = rows.row[end <= rows.at]
        raise ReadingsFault(
            f"{rows_text(bad, 'Row', 'Rows')}: the interval ends before it begins. Are the two time columns swapped?"
        )
    over = np.append(end[:-1] > rows.at[1:], False)
    if over.any():
        read_log.add_repair(
            "step",
            f"The intervals of {rows_text(rows.row[over])} overlap the next; each is cut short where the next begins, "
            "and keeps its energy.",
            rows.row[over],
        )
        end = np.where(over, np.append(rows.at[1:], end[-1]), end)
    gap = np.append(end[:-1] < rows.at[1:], False)
    if gap.any():
        hours = (rows.at[1:] - end[:-1]).clip(0).sum() / HOUR
        read_log.add_repair(
            "gap",
            f"{counted(gap.sum(), 'gap', 'gaps')} ({hours:.5g} hours), after {rows_text(rows.row[gap])}; not filled "
            "in.",
            rows.row[gap],
        )
    return rows.at, (end - rows.at) / HOUR

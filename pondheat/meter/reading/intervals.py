"""How long each interval is: by its stamps, be they its start or its end, in days and months of the zone."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.meter.reading.read_log import Ledger, ReadingsFault, where
from pondheat.meter.reading.repairs import HOUR, Rows
from pondheat.meter.reading.timestamps import SECOND

STAMPS = ("start", "end")
_DAY = 24 * HOUR


def of_rows(rows: Rows, timezone: str, stamps: str, ledger: Ledger) -> tuple[np.ndarray, np.ndarray]:
    """Start [µs] and length [h] of each row's interval; gaps in a regular record are named."""
    if rows.end is not None:
        return _between_columns(rows, ledger)
    if len(rows.at) < 2:
        raise ReadingsFault(
            "One row alone does not say how long its interval is: give a column for its end, or two rows."
        )
    steps = np.diff(rows.at)
    usual = int(np.median(steps))
    regular = bool((np.abs(steps - usual) <= 0.1 * usual).mean() > 0.7)
    other = _calendar_neighbours(rows.at, usual, timezone, stamps)
    if other is None and usual > 0 and (steps == usual).all():
        ledger.took.append(f"The record is regular, a row for {duration(usual)}.")
        return (rows.at if stamps == "start" else rows.at - usual), np.full(len(rows.at), usual / HOUR)
    unit = "days or months of the calendar" if other is not None else duration(usual)
    calendar = other is not None
    regular = regular or calendar
    if not calendar:
        other = rows.at + (usual if stamps == "start" else -usual)
    start, end = (rows.at, other) if stamps == "start" else (other, rows.at)
    near = np.append(rows.at[1:], end[-1]) if stamps == "start" else np.append(start[0], rows.at[:-1])
    if regular:
        nominal = end - start
        span = np.abs(near - rows.at)
        far = span > 1.5 * nominal
        length = np.where(far, nominal, span)
        ledger.took.append(f"The record is regular, a row for {unit}.")
        if far.any():
            missing = int(np.round(span[far] / nominal[far] - 1).sum())
            side = "after" if stamps == "start" else "before"
            ledger.add(
                "gap",
                f"{missing} {'row is' if missing == 1 else 'rows are'} missing in "
                f"{'one gap' if far.sum() == 1 else f'{int(far.sum())} gaps'} "
                f"({(span - nominal)[far].sum() / HOUR:.5g} "
                f"hours), {side} {where(rows.row[far])}; nothing is put in their place.",
                rows.row[far],
            )
        odd = (
            np.append(steps % usual != 0, False)
            if not calendar and (steps % usual == 0).mean() > 0.9
            else np.zeros(0, bool)
        )
        if odd.any():
            ledger.add(
                "step",
                f"{where(rows.row[odd], 'Row', 'Rows')}: the next row follows after another time than "
                "the "
                f"others' {unit}; taken as written.",
                rows.row[odd],
            )
    else:
        length = np.abs(near - rows.at)
        edge = rows.row[-1] if stamps == "start" else rows.row[0]
        ledger.took.append(
            f"The record is irregular (half of the steps are longer than {duration(usual)}); an "
            "interval "
            f"runs {'to the next' if stamps == 'start' else 'from the last'} row."
        )
        ledger.add(
            "length",
            f"Row {edge}: nothing says how long its interval is; taken as the usual {duration(usual)}.",
            [edge],
        )
    return (rows.at if stamps == "start" else rows.at - length), length / HOUR


def duration(micro: float) -> str:
    """A length of time in words.

    >>> duration(90e6), duration(3600e6), duration(86400e6 * 2)
    ('90 s', '60 min', '48 h')
    """
    seconds = micro / SECOND
    size, unit = (1, "s") if seconds < 120 else (60, "min") if seconds < 7200 else (3600, "h")
    return f"{seconds / size:.4g} {unit}"


def _calendar_neighbours(at: np.ndarray, usual: int, timezone: str, stamps: str) -> np.ndarray | None:
    """The other ends of intervals of whole days or months by the local calendar; None where they are not such."""
    if usual < 0.9 * _DAY:
        return None
    zone = value_parsers.time_zone(timezone)
    local = pd.DatetimeIndex(at.astype("datetime64[us]"), tz="UTC").tz_convert(zone).tz_localize(None)
    sign = 1 if stamps == "start" else -1
    days = round(usual / _DAY)
    steps = np.diff(local.asi8)
    if 28 <= days <= 31 and np.unique(local.day).size == 1 and (local.normalize() == local).all():
        other = local + sign * pd.DateOffset(months=1)
    elif (steps == days * _DAY).mean() > 0.7:
        other = local + sign * pd.Timedelta(days=days)
    else:
        return None
    return (
        pd.DatetimeIndex(other)
        .as_unit("us")
        .tz_localize(zone, ambiguous=np.ones(len(other), bool), nonexistent="shift_forward")
        .asi8
    )


def _between_columns(rows: Rows, ledger: Ledger) -> tuple[np.ndarray, np.ndarray]:
    """Intervals whose two ends stand in the file."""
    if (rows.end <= rows.at).any():
        bad = rows.row[rows.end <= rows.at]
        raise ReadingsFault(
            f"{where(bad, 'Row', 'Rows')}: the interval ends before it begins. Are the two time columns exchanged?"
        )
    over = np.append(rows.end[:-1] > rows.at[1:], False)
    end = rows.end
    if over.any():
        ledger.add(
            "step",
            f"The intervals of {where(rows.row[over])} run into the next; each is cut where the next "
            "begins, "
            "its energy stays.",
            rows.row[over],
        )
        end = np.where(over, np.append(rows.at[1:], end[-1]), end)
    gap = np.append(end[:-1] < rows.at[1:], False)
    if gap.any():
        hours = (rows.at[1:] - end[:-1]).clip(0).sum() / HOUR
        ledger.add(
            "gap",
            f"{int(gap.sum())} gaps ({hours:.5g} hours), after {where(rows.row[gap])}; nothing is put in their place.",
            rows.row[gap],
        )
    return rows.at, (end - rows.at) / HOUR

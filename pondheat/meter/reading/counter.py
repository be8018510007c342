"""The use between the readings of a counter, over its roll-overs, resets, misreads and standstills.

A fall is a roll-over where the counter stood near its nines and the use across it is like the rest, a misread where its
neighbours agree without it, and otherwise a reset or another meter: then the use across it is not known.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pondheat.core.ranges import RANGES, OutOfRange
from pondheat.meter.reading.conversions import counter_use
from pondheat.meter.reading.read_log import Ledger, ReadingsFault, where
from pondheat.meter.reading.repairs import EXTREME, HOUR, TOLERANCE, Intervals, Rows, nine_of_ten, note_extreme

_MOST_FALLS, _RUN = 100, 5


def of_counter(rows: Rows, per_unit: float, digits: float | None, rating: float | None, ledger: Ledger) -> Intervals:
    """Intervals between the readings of a counter; per_unit: kWh of one of its units."""
    rows, broken = _without_falls(rows, per_unit, digits, rating, ledger)
    rows, broken = _without_leaps(rows, broken, per_unit, rating, ledger)
    hours = np.diff(rows.at) / HOUR
    temp = None
    if rows.temp is not None:
        ends = np.stack([rows.temp[:-1], rows.temp[1:]])
        known = np.isfinite(ends)
        count = known.sum(axis=0)
        temp = np.where(count > 0, np.where(known, ends, 0).sum(axis=0) / np.maximum(count, 1), np.nan)
    made = Intervals(rows.at[:-1], hours, np.diff(rows.value) * per_unit, rows.row[1:], temp)
    usual = float(np.median(hours))
    long = (hours > 1.5 * usual) & ~broken
    if long.any() and (np.abs(hours - usual) <= 0.1 * usual).mean() > 0.7:
        kwh = made.kwh[long].sum()
        ledger.add(
            "gap",
            f"{_spans(int(long.sum()))} without readings, before {where(made.row[long])}; the counter "
            "gives "
            f"{kwh:.4g} kWh for {'it, kept as one long interval' if long.sum() == 1 else 'them, kept as long intervals'}.",
            made.row[long],
        )
    return made.take(~broken) if broken.any() else made


def _spans(count: int) -> str:
    return "One span" if count == 1 else f"{count} spans"


def _limit(rating: float | None, hours, per_unit: float, resolution: float, typical: float):
    """The most a counter can rise in some hours, in its own units."""
    if rating is not None:
        return TOLERANCE * rating * hours / 1000 / per_unit + resolution
    return 10 * typical * hours + 2 * resolution


def _usual(value: np.ndarray, hours: np.ndarray) -> tuple[float, float]:
    """Smallest rise, and the rate that nine of ten rises stay below [1/h]."""
    rise = np.diff(value)
    smallest = float(np.min(rise, where=rise > 0, initial=np.inf))
    return (smallest if np.isfinite(smallest) else 0.0), nine_of_ten(rise / hours)[0]


def _without_falls(rows: Rows, per_unit: float, digits, rating, ledger: Ledger) -> tuple[Rows, np.ndarray]:
    """Readings that never fall, carried on over roll-over and reset, and which steps between them are not known."""
    falls = int((np.diff(rows.value) < 0).sum())
    broken_rows: list[int] = []
    if falls > _MOST_FALLS or falls > max(3, 0.05 * len(rows.at)):
        at = int(np.flatnonzero(np.diff(rows.value) < 0)[0]) + 1
        raise ReadingsFault(
            f"The counter falls {falls} times, first in row {rows.row[at]} ({rows.value[at - 1]:g}, "
            "then "
            f"{rows.value[at]:g}): a counter only rises. Is it the use of each interval "
            '(kind="interval")?'
        )
    if falls:
        rows = replace(rows, value=rows.value.copy())
    for _ in range(falls * (_RUN + 1)):
        fall = np.flatnonzero(np.diff(rows.value) < 0)
        if not len(fall):
            break
        at = int(fall[0])
        before, after = float(rows.value[at]), float(rows.value[at + 1])
        hours = np.diff(rows.at) / HOUR
        resolution, typical = _usual(rows.value, hours)
        run = _misread(rows.value, at, hours, typical, rating, per_unit, resolution)
        top = _top(before, after, digits, _limit(rating, hours[at], per_unit, resolution, typical), at, rows)
        line = f"Row {rows.row[at + 1]}: the counter goes from {before:.10g} to {after:.10g}"
        if top:
            rows.value[at + 1 :] += top
            ledger.add(
                "roll-over",
                f"{line}; taken as a run through its nines, {top * per_unit:.10g} kWh were added.",
                [rows.row[at + 1]],
                top * per_unit,
            )
        elif run is not None:
            ledger.add(
                "misread",
                f"{line}; {where(rows.row[run])} does not fit what stands before and after, and is "
                "left "
                "out as misread.",
                rows.row[run],
            )
            keep = np.ones(len(rows.at), bool)
            keep[run] = False
            rows = rows.take(keep)
        else:
            rows.value[at + 1 :] += before - after
            broken_rows.append(int(rows.row[at + 1]))
            ledger.add(
                "reset",
                f"{line}: a reset, another meter or a misread, not a run through its nines"
                + ("" if digits else " (give digits=… if it was)")
                + ". What was used between the two "
                "readings is "
                "not known and left out.",
                [rows.row[at + 1]],
                (before - after) * per_unit,
            )
    return rows, np.isin(rows.row[1:], broken_rows) if broken_rows else np.zeros(len(rows.row) - 1, bool)


def _top(before: float, after: float, digits, limit: float, at: int, rows: Rows) -> float | None:
    """What a counter adds at its run through zero, where such a run is likely."""
    count = digits if digits is not None else len(str(int(before)))
    top = 10.0**count
    if digits is not None and before >= top:
        raise ReadingsFault(
            f"Row {rows.row[at]}: {before:.10g} has more than the {digits:g} digits before the point "
            "that "
            "digits= gives."
        )
    if digits is None and (before < 0.9 * top or top < 1000):
        return None
    try:
        use = counter_use(before, after, float(count))
    except OutOfRange:
        return None
    return top if use <= max(limit, 0.02 * top if digits is not None else 0.0) else None


def _misread(value, at: int, hours, typical, rating, per_unit, resolution) -> np.ndarray | None:
    """Places of the few readings before or after a fall without which the counter rises as it should."""

    def leap(step: int) -> bool:
        rise = value[step + 1] - value[step]
        return rise > _limit(rating, hours[step], per_unit, resolution, typical)

    found = []
    low = next((back for back in range(at, max(-1, at - _RUN - 1), -1) if value[back] <= value[at + 1]), None)
    if low is not None and (at - low == 1 or leap(low)):
        found.append(np.arange(low + 1, at + 1))
    high = next((on for on in range(at + 1, min(len(value), at + _RUN + 2)) if value[on] >= value[at]), None)
    if high is not None and (high - at == 2 or leap(high - 1)):
        found.append(np.arange(at + 1, high))
    return min(found, key=len) if found else None


def _without_leaps(rows: Rows, broken: np.ndarray, per_unit: float, rating, ledger: Ledger) -> tuple[Rows, np.ndarray]:
    """A rise beyond the rating belongs to the standstill before it, or is left out; extreme rises are noted."""
    hours, rise = np.diff(rows.at) / HOUR, np.diff(rows.value)
    resolution, typical = _usual(rows.value, hours)
    most = TOLERANCE * (rating or RANGES["power"].most) * hours / 1000 / per_unit + resolution
    high = np.flatnonzero((rise > most) & ~broken)
    if len(high) > max(20, 0.02 * len(rise)):
        watts = 1000 * per_unit * rise[high[0]] / hours[high[0]]
        raise ReadingsFault(
            f"{len(high)} steps of the counter are more than {rating or RANGES['power'].most:g} W can "
            f"give, first in row {rows.row[high[0] + 1]} ({watts:.4g} W): is the rating or the unit "
            "another?"
        )
    keep = np.ones(len(rows.at), bool)
    for step in high.tolist():
        still = step
        while still > 0 and rise[still - 1] == 0 and not broken[still - 1]:
            still -= 1
        together = hours[still : step + 1].sum()
        spread = TOLERANCE * (rating or RANGES["power"].most) * together / 1000 / per_unit + resolution
        kwh = rise[step] * per_unit
        if still < step and rise[step] <= spread:
            keep[still + 1 : step + 1] = False
            ledger.add(
                "stuck",
                f"{where(rows.row[still + 1 : step + 1], 'Row', 'Rows')} show a counter that stands "
                "still, "
                f"row {rows.row[step + 1]} then brings {kwh:.4g} kWh at once: kept as one interval.",
                rows.row[still + 1 : step + 2],
            )
        else:
            broken = broken.copy()
            broken[step] = True
            ledger.add(
                "spike",
                f"Row {rows.row[step + 1]}: {kwh:.6g} kWh since the reading before is "
                f"{1000 * kwh / hours[step]:.4g} W, more than {rating or RANGES['power'].most:g} W can "
                "give; left out (a misread, or another meter).",
                [rows.row[step + 1]],
                -kwh,
            )
    if rating is None and typical:
        extreme = np.flatnonzero((rise > EXTREME * typical * hours + 2 * resolution) & ~broken)
        if len(extreme):
            note_extreme(
                rows.row[extreme + 1],
                float((rise[extreme] / hours[extreme]).max()) * per_unit * 1000,
                typical * per_unit * 1000,
                ledger,
            )
    if keep.all():
        return rows, broken
    unknown = rows.row[1:][broken]
    rows = rows.take(keep)
    return rows, np.isin(rows.row[1:], unknown)

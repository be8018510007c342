"""Energy between the readings of a counter, across roll-overs, resets, misread digits and stuck readings.

A fall is a roll-over if the counter was near its nines and the use across it is like the rest; a misread digit if the
readings on both sides agree without it; otherwise a reset or a new meter, and the use across it is unknown.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pondheat.core.number_format import counted, times
from pondheat.core.ranges import RANGES, OutOfRange
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.meter.reading.columns import Roles
from pondheat.meter.reading.conversions import counter_use
from pondheat.meter.reading.intervals import report_odd_steps
from pondheat.meter.reading.local_clock import local_times
from pondheat.meter.reading.repairs import (
    HOUR,
    OUTLIER_FACTOR,
    TOLERANCE,
    Intervals,
    MeterRows,
    ninetieth_percentile,
    report_outliers,
)

_MAX_FALLS, _MAX_MISREAD = 100, 5
_MIN_RESTARTS = 3
_LIKE_THE_REST = 3  # times the usual rise, up to which a fall may be a roll-over: more is a new meter (judgement)
_NEARBY = 5  # steps on each side of a fall that tell what is usual there, as in a cold spell (judgement)
_DAY = 24 * HOUR


def restarts_daily(rows: MeterRows, roles: Roles, timezone: str) -> bool:
    """Whether the counter shows the use since midnight: it falls around midnight, and only then.

    A fall from the day's use to nearly nothing within the first two hours of a local day, on most days, several times a
    day read: neither a running total nor the use of each interval looks like that.
    """
    known = np.flatnonzero(np.isfinite(rows.value))
    value, at = rows.value[known], rows.at[known]
    if roles.is_power or len(at) < 3 * _MIN_RESTARTS or np.median(np.diff(at)) > 8 * HOUR:
        return False
    local = local_times(at, timezone).tz_localize(None).asi8
    fall = np.flatnonzero(np.diff(value) < 0)
    days = np.unique(local // _DAY)
    if len(fall) < _MIN_RESTARTS or len(fall) < 0.5 * (len(days) - 1):
        return False
    new_day = local[fall + 1] // _DAY > local[fall] // _DAY
    early = (local[fall + 1] % _DAY <= 2 * HOUR) | new_day
    return bool(early.all() and (value[fall + 1] <= 0.25 * value[fall]).mean() > 0.9 and (value >= 0).all())


def without_restarts(rows: MeterRows, timezone: str, subject: str, read_log: ReadLog) -> MeterRows:
    """Readings of a daily counter turned into a running total; the use across midnight is the new day's first."""
    rise = np.diff(rows.value)
    restart = rise < 0
    rise = np.where(restart, rows.value[1:], rise)
    read_log.interpretation.append(
        f"{subject} counts from midnight: it starts again around midnight "
        f"({counted(restart.sum(), 'time', 'times')}). The last reading of a day is taken as that day's use; anything "
        "used between it and midnight is not in the file."
    )
    return replace(rows, value=np.append(0.0, np.cumsum(rise)) + rows.value[0])


def counter_intervals(
    rows: MeterRows, per_unit: float, digits: float | None, rating: float | None, read_log: ReadLog
) -> Intervals:
    """Intervals between the readings of a counter, repaired; per_unit: kWh of one unit; rating: of the heater [W]."""
    rows, exchanged = _joined_at_exchanges(rows, per_unit, read_log)
    rows, unknown_use = _repair_falls(rows, per_unit, digits, rating, read_log)
    unknown_use |= np.isin(rows.row[1:], exchanged)
    rows, unknown_use = _repair_jumps(rows, unknown_use, per_unit, rating, read_log)
    report_odd_steps(rows, read_log)
    hours = np.diff(rows.at) / HOUR
    temp = None
    if rows.temp is not None:
        ends = np.stack([rows.temp[:-1], rows.temp[1:]])
        known = np.isfinite(ends)
        count = known.sum(axis=0)
        temp = np.where(count > 0, np.where(known, ends, 0).sum(axis=0) / np.maximum(count, 1), np.nan)
    intervals = Intervals(rows.at[:-1], hours, np.diff(rows.value) * per_unit, rows.row[1:], temp)
    usual = float(np.median(hours))
    long = (hours > 1.5 * usual) & ~unknown_use
    if long.any() and (np.abs(hours - usual) <= 0.1 * usual).mean() > 0.7:
        kwh = intervals.kwh[long].sum()
        one = long.sum() == 1
        read_log.add_repair(
            "gap",
            f"{'One gap' if one else f'{long.sum()} gaps'} in the readings, before {rows_text(intervals.row[long])}; "
            f"the counter gives {kwh:.4g} kWh for "
            f"{'it, kept as one long interval' if one else 'them, kept as long intervals'}.",
            intervals.row[long],
        )
    return intervals.take(~unknown_use) if unknown_use.any() else intervals


def _joined_at_exchanges(rows: MeterRows, per_unit: float, read_log: ReadLog) -> tuple[MeterRows, list[int]]:
    """Readings that go on where one meter is followed by another, and the first rows of the new meters."""
    meter = rows.meter
    if meter is None:
        return rows, []
    rows = replace(rows, value=rows.value.copy())
    exchanged = []
    for at in np.flatnonzero(meter[1:] != meter[:-1]).tolist():
        before, after = float(rows.value[at]), float(rows.value[at + 1])
        rows.value[at + 1 :] += before - after
        exchanged.append(int(rows.row[at + 1]))
        read_log.add_repair(
            "reset",
            f"Row {rows.row[at + 1]}: the readings are of another meter, “{meter[at + 1]}” after "
            f"“{meter[at]}”. The use between its first reading and the last one before is unknown and left out.",
            [rows.row[at + 1]],
            (before - after) * per_unit,
        )
    return rows, exchanged


def _largest_rise(rating: float | None, hours, per_unit: float, resolution: float, typical: float, times_usual=10):
    """The most a counter can rise in some hours, in its own units: from the rating, otherwise some times the usual."""
    if rating is not None:
        return TOLERANCE * rating * hours / 1000 / per_unit + resolution
    return times_usual * typical * hours + 2 * resolution


def _typical_rise(value: np.ndarray, hours: np.ndarray) -> tuple[float, float]:
    """Smallest rise, and the 90th percentile of the rate of rise [1/h]."""
    rise = np.diff(value)
    smallest = float(np.min(rise, where=rise > 0, initial=np.inf))
    return (smallest if np.isfinite(smallest) else 0.0), ninetieth_percentile(rise / hours)[0]


def _rise_nearby(rates: np.ndarray, at: int) -> float:
    """The usual rate of rise [1/h] just before or just after step `at`, the larger; 0 where too few steps tell.

    The lower median, so that a reading misread there doesn't count.

    >>> _rise_nearby(np.array([1.0, 1, 1, -999, 30, 990, 30, 30]), 3), _rise_nearby(np.array([1.0, -999, 998]), 1)
    (30.0, 0.0)
    """
    sides = (np.sort(side[side > 0]) for side in (rates[max(0, at - _NEARBY) : at], rates[at + 1 : at + 1 + _NEARBY]))
    return max((float(side[(len(side) - 1) // 2]) for side in sides if len(side) > 1), default=0.0)


def _repair_falls(rows: MeterRows, per_unit: float, digits, rating, read_log: ReadLog) -> tuple[MeterRows, np.ndarray]:
    """Readings made to rise throughout, and a mask of the steps across which the use is unknown (resets)."""
    falls = int((np.diff(rows.value) < 0).sum())
    reset_rows: list[int] = []
    if falls > _MAX_FALLS or falls > max(3, 0.05 * len(rows.at)):
        at = int(np.flatnonzero(np.diff(rows.value) < 0)[0]) + 1
        raise ReadingsFault(
            f"The counter falls {times(falls)}, first in row {rows.row[at]} ({rows.value[at - 1]:g}, then "
            f"{rows.value[at]:g}): a counter only goes up. "
            'Is it the use of each interval (kind="interval")?'
        )
    if falls:
        rows = replace(rows, value=rows.value.copy())
    for _ in range(falls * (_MAX_MISREAD + 1)):
        fall = np.flatnonzero(np.diff(rows.value) < 0)
        if not len(fall):
            break
        at = int(fall[0])
        before, after = float(rows.value[at]), float(rows.value[at + 1])
        hours = np.diff(rows.at) / HOUR
        resolution, typical = _typical_rise(rows.value, hours)
        misread = _misread(rows.value, at, hours, typical, rating, per_unit, resolution)
        usual = max(typical, _rise_nearby(np.diff(rows.value) / hours, at))
        like_the_rest = _largest_rise(rating, hours[at], per_unit, resolution, usual, _LIKE_THE_REST)
        rollover = _rollover_size(before, after, digits, like_the_rest, at, rows)
        line = f"Row {rows.row[at + 1]}: the counter goes from {before:.10g} to {after:.10g}"
        if rollover:
            rows.value[at + 1 :] += rollover
            read_log.add_repair(
                "roll-over",
                f"{line}; the counter probably passed its nines and began again at zero: "
                f"{rollover * per_unit:.10g} kWh were added.",
                [rows.row[at + 1]],
                rollover * per_unit,
            )
        elif misread is not None:
            read_log.add_repair(
                "misread",
                f"{line}; {rows_text(rows.row[misread])} {'does' if len(misread) == 1 else 'do'} not fit the readings "
                f"before and after, and {'is' if len(misread) == 1 else 'are'} left out as misread.",
                rows.row[misread],
            )
            keep = np.ones(len(rows.at), bool)
            keep[misread] = False
            rows = rows.take(keep)
        else:
            rows.value[at + 1 :] += before - after
            reset_rows.append(int(rows.row[at + 1]))
            read_log.add_repair(
                "reset",
                f"{line}: a reset, a new meter or a misread digit, not a roll-over"
                + ("" if digits else " (give digits=… if it was)")
                + ". The use between the two readings is unknown and left out.",
                [rows.row[at + 1]],
                (before - after) * per_unit,
            )
    return rows, np.isin(rows.row[1:], reset_rows) if reset_rows else np.zeros(len(rows.row) - 1, bool)


def _rollover_size(before: float, after: float, digits, limit: float, at: int, rows: MeterRows) -> float | None:
    """Size of the counter's range where the fall is probably a roll-over, otherwise None."""
    count = digits if digits is not None else len(str(int(before)))
    rollover = 10.0**count
    if digits is not None and before >= rollover:
        raise ReadingsFault(
            f"Row {rows.row[at]}: {before:.10g} has more than the {digits:g} digits before the decimal point that you "
            f"gave. Give digits={len(str(int(before)))}, or leave it out."
        )
    if digits is None and (before < 0.9 * rollover or rollover < 1000):
        return None
    try:
        use = counter_use(before, after, float(count))
    except OutOfRange:
        return None
    return rollover if use <= max(limit, 0.02 * rollover if digits is not None else 0.0) else None


def _misread(value, at: int, hours, typical, rating, per_unit, resolution) -> np.ndarray | None:
    """Positions of the few readings next to a fall without which the counter would rise normally; None if none."""

    def jump(step: int) -> bool:
        rise = value[step + 1] - value[step]
        return rise > _largest_rise(rating, hours[step], per_unit, resolution, typical)

    found = []
    low = next((back for back in range(at, max(-1, at - _MAX_MISREAD - 1), -1) if value[back] <= value[at + 1]), None)
    if low is not None and (at - low == 1 or jump(low)):
        found.append(np.arange(low + 1, at + 1))
    high = next((on for on in range(at + 1, min(len(value), at + _MAX_MISREAD + 2)) if value[on] >= value[at]), None)
    if high is not None and (high - at == 2 or jump(high - 1)):
        found.append(np.arange(at + 1, high))
    return min(found, key=len) if found else None


def _repair_jumps(
    rows: MeterRows, unknown_use: np.ndarray, per_unit: float, rating, read_log: ReadLog
) -> tuple[MeterRows, np.ndarray]:
    """Readings and unknown steps after rises beyond the rating: merged with the stuck readings before, or dropped."""
    hours, rise = np.diff(rows.at) / HOUR, np.diff(rows.value)
    resolution, typical = _typical_rise(rows.value, hours)
    most = TOLERANCE * (rating or RANGES["power"].most) * hours / 1000 / per_unit + resolution
    high = np.flatnonzero((rise > most) & ~unknown_use)
    if len(high) > max(20, 0.02 * len(rise)):
        watts = 1000 * per_unit * rise[high[0]] / hours[high[0]]
        raise ReadingsFault(
            f"{counted(len(high), 'step of the counter is', 'steps of the counter are')} more than "
            f"{rating or RANGES['power'].most:g} W can give, first in row {rows.row[high[0] + 1]} ({watts:.4g} W). Is "
            "the rating or the unit wrong?"
        )
    keep = np.ones(len(rows.at), bool)
    for step in high.tolist():
        stuck_from = step
        while stuck_from > 0 and rise[stuck_from - 1] == 0 and not unknown_use[stuck_from - 1]:
            stuck_from -= 1
        stuck_hours = hours[stuck_from : step + 1].sum()
        most_after_stuck = TOLERANCE * (rating or RANGES["power"].most) * stuck_hours / 1000 / per_unit + resolution
        kwh = rise[step] * per_unit
        if stuck_from < step and rise[step] <= most_after_stuck:
            keep[stuck_from + 1 : step + 1] = False
            read_log.add_repair(
                "stuck",
                f"{rows_text(rows.row[stuck_from + 1 : step + 1], 'Row', 'Rows')}: the counter is stuck, then row "
                f"{rows.row[step + 1]} adds {kwh:.4g} kWh at once: kept as one interval.",
                rows.row[stuck_from + 1 : step + 2],
            )
        else:
            unknown_use = unknown_use.copy()
            unknown_use[step] = True
            read_log.add_repair(
                "spike",
                f"Row {rows.row[step + 1]}: {kwh:.6g} kWh since the previous reading is "
                f"{1000 * kwh / hours[step]:.4g} W, more than {rating or RANGES['power'].most:g} W can use; left out "
                "(a misread digit, or a new meter).",
                [rows.row[step + 1]],
                -kwh,
            )
    if rating is None and typical:
        extreme = np.flatnonzero((rise > OUTLIER_FACTOR * typical * hours + 2 * resolution) & ~unknown_use)
        if len(extreme):
            report_outliers(
                rows.row[extreme + 1],
                float((rise[extreme] / hours[extreme]).max()) * per_unit * 1000,
                typical * per_unit * 1000,
                read_log,
            )
    if keep.all():
        return rows, unknown_use
    unknown_rows = rows.row[1:][unknown_use]
    rows = rows.take(keep)
    return rows, np.isin(rows.row[1:], unknown_rows)

"""Repairs of meter rows, every one recorded: wrong order, duplicates, impossible values, outliers, stuck readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core.number_format import counted, digits
from pondheat.core.ranges import RANGES
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.time_formats import SECOND

HOUR = 3600 * SECOND
TOLERANCE = 1.1  # of the rating: mains voltage 5 % up is 10 % more power (common practice, no source)
OUTLIER_FACTOR = 8  # times the 90th percentile: reported but kept
_STUCK_ROWS, _STUCK_HOURS = 12, 6.0


@dataclass
class MeterRows:
    """Rows of the file as arrays: instants [µs], values in the column's unit, row numbers, water
    temperature [°C], end of the interval [µs]; estimate: the value of a row marked as an estimate, which then has no
    other, NaN elsewhere; meter: name of each row's meter, where it changes."""

    at: np.ndarray
    value: np.ndarray
    row: np.ndarray
    temp: np.ndarray | None = None
    end: np.ndarray | None = None
    estimate: np.ndarray | None = None
    meter: np.ndarray | None = None

    def take(self, which) -> MeterRows:
        """The rows chosen by a mask or by positions."""
        rest = (
            None if column is None else column[which] for column in (self.temp, self.end, self.estimate, self.meter)
        )
        return MeterRows(self.at[which], self.value[which], self.row[which], *rest)


@dataclass
class Intervals:
    """Intervals as arrays: start [µs], length [h], energy [kWh], row of the file, water temperature [°C]."""

    start: np.ndarray
    hours: np.ndarray
    kwh: np.ndarray
    row: np.ndarray
    temp: np.ndarray | None

    def take(self, which) -> Intervals:
        """The intervals chosen by a mask."""
        return Intervals(
            self.start[which],
            self.hours[which],
            self.kwh[which],
            self.row[which],
            None if self.temp is None else self.temp[which],
        )

    @property
    def watts(self) -> np.ndarray:
        """Mean power of each interval [W]."""
        return 1000 * self.kwh / self.hours


# --- order and duplicates -----------------------------------------------------------------------------------------


def sort_by_time(rows: MeterRows, read_log: ReadLog) -> MeterRows:
    """Rows in order of time; any that were out of order are reported."""
    steps = np.diff(rows.at)
    if not (steps < 0).any():
        return rows
    late = rows.at < np.maximum.accumulate(rows.at)
    read_log.add_repair(
        "order",
        f"{counted(late.sum(), 'row was', 'rows were')} out of order, now sorted by time: {rows_text(rows.row[late])}.",
        rows.row[late],
    )
    return rows.take(np.argsort(rows.at, kind="stable"))


def actual_readings(
    rows: MeterRows, counter: bool, kwh_per_value: float, estimated_by: str, read_log: ReadLog
) -> MeterRows:
    """Rows with each time once and, of a counter, without missing values; estimates left out are reported too.

    kwh_per_value: 0 where a value is no energy, such as a power or a temperature; estimated_by: marks of estimates.
    """
    rows = _drop_duplicates(rows, 0.0 if counter else kwh_per_value, read_log)
    _report_estimates(rows, counter, kwh_per_value, estimated_by, read_log)
    return _drop_missing(rows, counter, read_log)


def _drop_duplicates(rows: MeterRows, kwh_per_value: float, read_log: ReadLog) -> MeterRows:
    """Rows with each time once: of two values for one time the first is kept, unless one of them is missing.

    kwh_per_value: 0 where the values are states, not amounts that add up. Raises ReadingsFault if many times have two
    different values.
    """
    repeated = np.flatnonzero(np.diff(rows.at) == 0) + 1
    if not len(repeated):
        return rows
    keep = np.ones(len(rows.at), bool)
    same_value: list[int] = []
    other_value: list[int] = []
    once_missing: list[int] = []
    kept_at: int | None = None
    for place in repeated.tolist():
        kept_at = place - 1 if kept_at is None or rows.at[kept_at] != rows.at[place] else kept_at
        one, two = rows.value[kept_at], rows.value[place]
        if np.isnan(one) and not np.isnan(two):
            keep[kept_at], kept_at = False, place
            once_missing.append(place)
            continue
        keep[place] = False
        (
            once_missing
            if np.isnan(two) and not np.isnan(one)
            else same_value
            if one == two or (np.isnan(one) and np.isnan(two))
            else other_value
        ).append(place)
    if len(other_value) > max(3, 0.01 * len(rows.at)):
        one = other_value[0]
        raise ReadingsFault(
            f"Rows {rows.row[one - 1]} and {rows.row[one]} have the same time and different values "
            f"({rows.value[one - 1]:g} and {rows.value[one]:g}), as do {len(other_value) - 1} more pairs. Does the "
            "file hold two meters? Keep the rows of one."
        )

    def lost(places) -> float:
        return -kwh_per_value * float(np.nansum(rows.value[places])) if kwh_per_value else 0.0

    if same_value:
        read_log.add_repair(
            "double",
            f"{counted(len(same_value), 'row repeats', 'rows repeat')} the time and value of another row, counted "
            f"once: {rows_text(rows.row[same_value])}.",
            rows.row[same_value],
            lost(same_value),
        )
    if other_value:
        read_log.add_repair(
            "double",
            f"{counted(len(other_value), 'row has', 'rows have')} the time of an earlier row but another value; the "
            f"first is kept, left out: {rows_text(rows.row[other_value])}.",
            rows.row[other_value],
            lost(other_value),
        )
    if once_missing:
        read_log.add_repair(
            "double",
            f"{counted(len(once_missing), 'time appears', 'times appear')} twice, once without a value; the value is "
            "kept.",
        )
    return rows.take(keep)


def _report_estimates(rows: MeterRows, counter: bool, kwh_per_value: float, marks: str, read_log: ReadLog) -> None:
    """Record the readings that are left out as estimates; raises ReadingsFault where hardly any other is left.

    marks: how they are marked.
    """
    if rows.estimate is None or not np.isfinite(rows.estimate).any():
        return
    estimated = np.isfinite(rows.estimate)
    count, first = int(estimated.sum()), rows.row[estimated][0]
    if np.isfinite(rows.value).sum() < 2:
        raise ReadingsFault(
            f"{count} of {counted(len(rows.row), 'reading', 'readings')} are marked as estimated ({marks}), the first "
            f"in row {first}, and too few are left that were read. Add readings that were, or give "
            'estimates="use" to count estimates like any other reading.'
        )
    read_log.add_repair(
        "estimate",
        f"{counted(count, 'reading is', 'readings are')} marked as estimated ({marks}) and left out, since an estimate "
        f"proves nothing: {rows_text(rows.row[estimated])}. "
        + ("The use up to the next actual reading is kept as one interval. " if counter else "")
        + 'Give estimates="use" to count them all the same.',
        rows.row[estimated],
        0.0 if counter else -kwh_per_value * float(np.nansum(rows.estimate)),
    )


def _drop_missing(rows: MeterRows, counter: bool, read_log: ReadLog) -> MeterRows:
    """Rows of a counter without missing or negative values; rows of intervals are kept, as they delimit the others."""
    missing = np.isnan(rows.value)
    told = missing if rows.estimate is None else missing & np.isnan(rows.estimate)
    if told.any():
        lost = rows.row[told]
        read_log.add_repair(
            "missing", f"{counted(len(lost), 'row has', 'rows have')} no value: {rows_text(lost)}.", lost
        )
    if not counter:
        return rows
    below = rows.value < 0
    if below.any():
        read_log.add_repair(
            "negative",
            f"{counted(below.sum(), 'reading', 'readings')} below zero, which no counter shows, left out: "
            f"{rows_text(rows.row[below])}.",
            rows.row[below],
        )
    rows = rows.take(~(missing | below)) if (missing | below).any() else rows
    if len(rows.at) < 2:
        raise ReadingsFault(
            "It takes at least two readings of the counter, at different times; there is "
            f"{'only one' if len(rows.at) else 'none'}."
        )
    return rows


# --- intervals and power ------------------------------------------------------------------------------------------


def drop_impossible(intervals: Intervals, rating: float | None, read_log: ReadLog) -> Intervals:
    """Intervals without impossible values (negative, or beyond the rating [W]); outliers are reported and kept.

    Raises ReadingsFault if many values are impossible: the unit, the kind or the rating is then wrong.
    """
    watts = intervals.watts
    below = watts < 0
    if below.any():
        if below.mean() > 0.2:
            raise ReadingsFault(
                f"Values below zero: {int(below.sum())} of {len(watts)}, first in row {intervals.row[below][0]}: is "
                "the clamp the wrong way round, or is this electricity exported? Give the column of what was used."
            )
        kwh = float(intervals.kwh[below].sum())
        read_log.add_repair(
            "negative",
            f"{counted(below.sum(), 'value', 'values')} below zero ({kwh:.4g} kWh), left out: "
            f"{rows_text(intervals.row[below])}.",
            intervals.row[below],
            -kwh,
        )
    most = TOLERANCE * rating if rating is not None else RANGES["power"].most
    high = watts > most
    if high.any():
        if high.mean() > 0.1:
            raise ReadingsFault(
                f"Values above what {rating or most:g} W can use: {int(high.sum())} of {len(watts)}, first in row "
                f"{intervals.row[high][0]} ({watts[high][0]:.4g} W). Is the rating, the unit or the kind wrong, or is "
                "it a counter?"
            )
        kwh = float(intervals.kwh[high].sum())
        read_log.add_repair(
            "spike",
            f"{counted(high.sum(), 'value', 'values')} beyond {rating or most:g} W ({kwh:.6g} kWh, up to "
            f"{watts[high].max():.4g} W), which is impossible, left out: {rows_text(intervals.row[high])}.",
            intervals.row[high],
            -kwh,
        )
    if below.any() or high.any():
        intervals = intervals.take(~(below | high))
        watts = intervals.watts
    usual, count = ninetieth_percentile(watts)
    if count > 4:
        extreme = watts > OUTLIER_FACTOR * usual
        if rating is None and extreme.any():
            report_outliers(intervals.row[extreme], float(watts.max()), usual, read_log)
    _report_stuck(intervals, watts, read_log)
    return intervals


def ninetieth_percentile(values: np.ndarray) -> tuple[float, int]:
    """90th percentile of the values above 0, from a sample of some 20 000 of them, and the size of that sample."""
    sample = values[:: max(1, len(values) // 20_000)]
    sample = sample[sample > 0]
    place = int(0.9 * (len(sample) - 1))
    return (float(np.partition(sample, place)[place]) if len(sample) else 0.0), len(sample)


def report_outliers(rows, watts: float, usual: float, read_log: ReadLog) -> None:
    """Record values far above the rest, which are kept."""
    read_log.add_repair(
        "outlier",
        f"{rows_text(rows, 'Row', 'Rows')}: up to {digits(watts / 1000, 2)} kW, while nine readings in ten are below "
        f"{digits(usual / 1000, 2)} kW. "
        "Kept, as no rating is given; give rating=… [W] to have such values checked.",
        rows,
    )


def _report_stuck(intervals: Intervals, watts: np.ndarray, read_log: ReadLog) -> None:
    """Record long runs of one value: the instrument may have been stuck, or the heater running steadily."""
    cuts = np.flatnonzero(np.diff(intervals.kwh)) + 1
    first, last = np.append(0, cuts), np.append(cuts, len(watts)) - 1
    long = last - first + 1 >= _STUCK_ROWS
    first, last = first[long], last[long]
    hours = (intervals.start[last] - intervals.start[first]) / HOUR + intervals.hours[last]
    stuck = (hours >= _STUCK_HOURS) & (watts[first] > 0) & (watts[first] < 0.98 * watts.max())
    if stuck.any():
        rows = np.concatenate([intervals.row[a : b + 1] for a, b in zip(first[stuck], last[stuck])])
        read_log.add_repair(
            "stuck",
            f"The value does not change for six hours or longer in {rows_text(rows)}: the instrument may have been "
            "stuck. Kept.",
            rows,
        )


def check_water_temp(intervals: Intervals, read_log: ReadLog) -> None:
    """Record jumps of the water temperature, and columns that look swapped."""
    if intervals.temp is None:
        return
    known = np.flatnonzero(np.isfinite(intervals.temp))
    if len(known) < 2:
        return
    temp, start = intervals.temp[known], intervals.start[known]
    jump = (np.abs(np.diff(temp)) > 5) & (np.diff(start) <= 2 * HOUR)
    if jump.any():
        rows = intervals.row[known[1:]][jump]
        read_log.add_repair(
            "temperature",
            f"The water temperature jumps by more than 5 K within two hours at {rows_text(rows)}. Was the sensor out "
            "of the water, or are columns swapped? Kept.",
            rows,
        )
    if intervals.kwh.min() > 0 and intervals.kwh.max() < 2 * intervals.kwh.min() and np.mean(temp <= 0.05) > 0.05:
        read_log.add_repair(
            "columns", "The use hardly changes, while the water temperature is often 0. Are the two columns swapped?"
        )

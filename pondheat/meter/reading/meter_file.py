"""Reads tables of meter readings as loggers, suppliers and people write them, with `read`.

Every interpretation and every repair is listed with its rows; a file that can be read in two ways is refused, with the
option that settles it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from pondheat.core.tables.read_log import ReadingsFault, ReadLog, Repair, rows_text
from pondheat.core.units import digits as shown
from pondheat.meter.reading import columns, doubts, headers, kinds, repairs, timed_rows
from pondheat.meter.reading import counter as counter_reader
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading.local_clock import local_times
from pondheat.meter.reading.open_table import LogTable, ReadingOptions, open_table

_AT_MIDNIGHT = (
    "The dates have no time of day: each reading counts as taken at midnight, as its day begins. If you read the "
    "counter at another time, add a column “time”, such as 08:00."
)


@dataclass(frozen=True, eq=False)
class Readings:
    """A meter file as read.

    use: index `start` (local time), kwh [kWh], hours [h], and water_temp [°C] if the file has it; interpretation:
    sentences on how each part of the file was read; repairs: each with its rows and its effect on the total; kind: one
    of `meter.reading.headers.KINDS`; totals: kwh, kwh_in_file, hours, rows, rows_in_file.
    kwh − kwh_in_file is the sum of the repairs' kwh.
    """

    use: pd.DataFrame
    interpretation: tuple[str, ...]
    repairs: tuple[Repair, ...]
    kind: str
    totals: dict[str, float]

    def text(self) -> str:
        """A report for the reader, one sentence a line."""
        first, last = self.use.index[0], self.use.index[-1] + pd.Timedelta(hours=self.use["hours"].iloc[-1])
        lines = [
            f"{shown(self.totals['kwh'], 3)} kWh in {shown(self.totals['hours'], 1)} hours, {first:%Y-%m-%d %H:%M} to "
            f"{last:%Y-%m-%d %H:%M}, {shown(self.totals['rows'])} intervals.",
            "",
            "How the file was read:",
            *self.interpretation,
            "",
            "Repairs:" if self.repairs else "Nothing needed repair.",
        ]
        for one in self.repairs:
            lines.append(one.sentence + (f" ({shown(one.kwh, 3)} kWh)" if one.kwh else ""))
        if self.totals["kwh"] != self.totals["kwh_in_file"] >= 0:  # below: the counter was exchanged
            lines.append(f"The file's own numbers come to {shown(self.totals['kwh_in_file'], 3)} kWh.")
        return "\n".join(lines)


def read(
    source: Path | bytes | str, timezone: str, *, progress: Callable[[float], None] | None = None, **given: Any
) -> Readings:
    """Read a table of meter readings as energy per interval.

    source: path or bytes; timezone: IANA name, of the clock that the file uses; progress: called with the share done,
    from 0 to 1; an exception from it ends the reading; given: what the file doesn't say, by the names of
    `meter.reading.open_table.ReadingOptions`. Raises ReadingsFault, which names the place and the option to give;
    `core.units.Unreadable` and `OutOfRange` for invalid options.
    """
    if progress is not None:
        progress(0.0)
    return of_table(open_table(source, timezone, ReadingOptions(**given), energy=True), progress)


def of_table(table: LogTable, progress: Callable[[float], None] | None = None) -> Readings:
    """The readings of an opened table with nothing `unclear`; progress and errors as for `read`."""
    options, timezone, read_log = table.options, table.timezone, table.read_log
    rating = options.rating
    tell = progress or (lambda share: None)
    tell(0.1)
    timed_rows.require_readable_clock(table)
    roles = columns.assign_roles(table)
    rows = timed_rows.read_rows(table, roles, lambda share: tell(0.1 + 0.5 * share))
    tell(0.75)
    daily = counter_reader.restarts_daily(rows, roles, timezone)
    counter = daily or kinds.is_counter(rows.value, roles, rows.row, options.kind is not None, read_log)
    if counter and not timed_rows.has_clock(table.times):
        read_log.interpretation.append(_AT_MIDNIGHT)
    per_unit = kinds.conversion_factor(roles, options, read_log)
    kwh_per_value = 0.0 if roles.is_power else per_unit
    rows = repairs.actual_readings(rows, counter, kwh_per_value, table.estimated_by, read_log)
    tell(0.8)
    if daily:
        rows = counter_reader.without_restarts(rows, timezone, roles.value.subject, read_log)
    if counter:
        doubts.check_power(np.diff(rows.value) * per_unit, np.diff(rows.at) / repairs.HOUR, roles, options.unit, rating)
        in_file = float(rows.value[-1] - rows.value[0]) * per_unit
        intervals = counter_reader.counter_intervals(rows, per_unit, options.digits, rating, read_log)
    else:
        convention = timed_rows.stamp_convention(table)
        intervals = _intervals_of_rows(rows, per_unit, roles.is_power, timezone, convention, read_log)
        doubts.check_power(intervals.kwh, intervals.hours, roles, options.unit, rating)
        in_file = float(intervals.kwh.sum()) - sum(one.kwh for one in read_log.repairs)
        intervals = repairs.drop_impossible(intervals, rating, read_log)
    _require_energy(intervals, rows)
    repairs.check_water_temp(intervals, read_log)
    tell(0.95)
    found = _readings(intervals, timezone, in_file, len(table.lines.row), _kind_of(roles.quantity, counter), read_log)
    tell(1.0)
    return found


# --- use ----------------------------------------------------------------------------------------------------------


def _intervals_of_rows(
    rows: repairs.MeterRows, per_unit: float, power: bool, timezone: str, stamps: str, read_log: ReadLog
) -> repairs.Intervals:
    """Intervals of rows that give the use of an interval, or a power that is constant through it."""
    rows, stamps = timed_rows.whole_ends(rows, timezone, stamps, read_log)
    start, hours = interval_reader.interval_lengths(rows, timezone, stamps, read_log, carried=power)
    kwh = rows.value * per_unit * (hours / 1000 if power else 1.0)
    intervals = repairs.Intervals(start, hours, kwh, rows.row, rows.temp)
    known = np.isfinite(kwh)
    return intervals if known.all() else intervals.take(known)


def _require_energy(intervals: repairs.Intervals, rows: repairs.MeterRows) -> None:
    """Raise ReadingsFault where no interval is left whose energy is known."""
    if not len(intervals.kwh):
        raise ReadingsFault(
            f"{rows_text(rows.row[[0, -1]], 'Row', 'Rows')}: from {rows.value[0]:g} to {rows.value[-1]:g} nothing "
            "shows how much was used. It takes at least two readings of one counter, the later one larger."
        )


def _readings(
    intervals: repairs.Intervals, timezone: str, kwh_in_file: float, rows_in_file: int, kind: str, read_log: ReadLog
) -> Readings:
    """The result of reading a file, with its totals."""
    totals = {
        "kwh": float(intervals.kwh.sum()),
        "kwh_in_file": kwh_in_file,
        "hours": float(intervals.hours.sum()),
        "rows": float(len(intervals.kwh)),
        "rows_in_file": float(rows_in_file),
    }
    use = _use_frame(intervals, timezone)
    return Readings(use, tuple(read_log.interpretation), tuple(read_log.repairs), kind, totals)


def _kind_of(quantity: str | None, counter: bool) -> str:
    """The key of KINDS for a quantity, as a counter or per interval."""
    return next(name for name, meant in headers.KINDS.items() if meant == (quantity, counter))


def _use_frame(intervals: repairs.Intervals, timezone: str) -> pd.DataFrame:
    """Intervals as a use, indexed in local time."""
    index = local_times(intervals.start, timezone).rename("start")
    use = pd.DataFrame({"kwh": intervals.kwh, "hours": intervals.hours}, index=index)
    if intervals.temp is not None:
        use["water_temp"] = intervals.temp
    return use

"""Reads tables of meter readings as loggers, suppliers and people write them: `read`.

Every interpretation and every repair is listed with its rows; a file that can be read in two ways is refused with the
option that settles it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.number_format import counted
from pondheat.core.ranges import require
from pondheat.core.tables import rows as table_reader
from pondheat.core.tables import timestamps as times
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, Repair, rows_text
from pondheat.core.units import digits as shown
from pondheat.meter.reading import cells as cell_reader
from pondheat.meter.reading import columns, kinds, local_clock, repairs
from pondheat.meter.reading import counter as counter_reader
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading.open_table import open_table

_MOST_UNREAD = 0.3


@dataclass(frozen=True, eq=False)
class Readings:
    """A meter file as read.

    use: index `start` (local time), kwh [kWh], hours [h], and water_temp [°C] if the file has it; interpretation:
    sentences on how each part of the file was read; repairs: each with its rows and its effect on the total; kind: one
    of `meter.reading.columns.KINDS`; totals: kwh, kwh_in_file, hours, rows, rows_in_file.
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
            "What was taken for what:",
            *self.interpretation,
            "",
            "Repairs:" if self.repairs else "Nothing had to be mended.",
        ]
        for one in self.repairs:
            lines.append(one.sentence + (f" ({shown(one.kwh, 3)} kWh)" if one.kwh else ""))
        if self.totals["kwh"] != self.totals["kwh_in_file"]:
            lines.append(f"The file's own numbers come to {shown(self.totals['kwh_in_file'], 3)} kWh.")
        return "\n".join(lines)


def read(
    source: Path | bytes | str,
    timezone: str,
    *,
    kind: str | None = None,
    dates: str | None = None,
    stamps: str | None = None,
    clock: str | None = None,
    unit: str | None = None,
    column: str | int | None = None,
    temp_column: str | int | None = None,
    decimal: str | None = None,
    rating: float | None = None,
    voltage: float | None = None,
    power_factor: float = 1.0,
    flashes_per_kwh: float | None = None,
    calorific_value: float | None = None,
    correction_factor: float = 1.0,
    digits: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> Readings:
    """Read a table of meter readings as energy per interval.

    source: path or bytes; timezone: IANA name, of the clock that the file uses. Options for what a file leaves open:
    kind: one of `meter.reading.columns.KINDS`; dates: “day first” or “month first”; stamps: “start” or “end” of the
    interval; clock: “local”, “standard” (winter time all year) or “utc”; unit: of the meter's column; column,
    temp_column: name or number from 1; decimal: “point” or “comma”. rating: of the heater, in watts, the limit beyond
    which readings are impossible; voltage: [V], power_factor: [–], for a current; flashes_per_kwh: [–];
    calorific_value: [MJ/m³] and correction_factor: [–], for gas; digits: [–], of the counter before the decimal point.
    progress: called with the share done, from 0 to 1; an exception from it ends the reading.
    Raises ReadingsFault, which names the place and the option to give; `core.units.Unreadable` and `OutOfRange` for
    invalid options.
    """

    def report(share: float) -> None:
        if progress is not None:
            progress(share)

    require(
        power=rating,
        voltage=voltage,
        power_factor=power_factor,
        flashes_per_kwh=flashes_per_kwh,
        calorific_value=calorific_value,
        correction_factor=correction_factor,
        digits=digits,
    )
    report(0.0)
    lines, name, read_log = open_table(source, timezone, stamps, clock)
    report(0.1)
    sample = lines.sample()
    time_columns = times.find_time_columns(sample, lines.headers, dates, name)
    roles = columns.assign_roles(
        sample,
        lines.headers,
        {*time_columns.at, *time_columns.end_at},
        kind=kind,
        unit=unit,
        column=column,
        temp_column=temp_column,
        decimal=decimal,
        name=name,
        read_log=read_log,
    )
    time_columns = cell_reader.settle_day_month_from_file(lines, time_columns, dates, sample, name)
    cells = cell_reader.read_cells(lines, time_columns, roles, lambda share: report(0.1 + 0.5 * share))
    times.describe_time(time_columns, lines.headers, read_log)
    rows = meter_rows(lines, time_columns, roles, cells, timezone, clock, read_log)
    report(0.75)
    counter = kinds.is_counter(rows.value, roles, rows.row, kind is not None, read_log)
    per_unit = kinds.conversion_factor(
        roles,
        voltage=voltage,
        power_factor=power_factor,
        read_log=read_log,
        flashes_per_kwh=flashes_per_kwh,
        calorific_value=calorific_value,
        correction_factor=correction_factor,
    )
    power = roles.quantity in ("power", "current")
    rows = repairs.drop_duplicates(rows, counter or power, per_unit, read_log)
    rows = repairs.drop_missing(rows, counter, roles.value.label, read_log)
    report(0.8)
    if counter:
        in_file = float(rows.value[-1] - rows.value[0]) * per_unit
        intervals = counter_reader.counter_intervals(rows, per_unit, digits, rating, read_log)
    else:
        intervals = _intervals_of_rows(
            rows, per_unit, power, timezone, stamp_convention(stamps, lines, time_columns, read_log), read_log
        )
        in_file = float(intervals.kwh.sum()) - sum(one.kwh for one in read_log.repairs)
        intervals = repairs.drop_impossible(intervals, rating, read_log)
    if not len(intervals.kwh):
        raise ReadingsFault("No interval is left whose use is known.")
    repairs.check_water_temp(intervals, read_log)
    report(0.95)
    use = _use_frame(intervals, timezone)
    totals = {
        "kwh": float(intervals.kwh.sum()),
        "kwh_in_file": in_file,
        "hours": float(intervals.hours.sum()),
        "rows": float(len(intervals.kwh)),
        "rows_in_file": float(len(lines.row)),
    }
    report(1.0)
    return Readings(
        use, tuple(read_log.interpretation), tuple(read_log.repairs), _kind_of(roles.quantity, counter), totals
    )


# --- rows ---------------------------------------------------------------------------------------------------------


def meter_rows(
    lines: table_reader.Lines,
    time_columns: times.TimeColumns,
    roles: columns.Roles,
    cells: cell_reader.Cells,
    timezone: str,
    clock: str | None,
    read_log: ReadLog,
) -> repairs.MeterRows:
    """Rows in order of time, at instants; rows and cells that cannot be read are reported and dropped."""
    value, row = cells.numbers[roles.value.at], lines.row
    untimed = np.isnat(cells.naive) | (np.isnat(cells.end) if cells.end is not None else False)
    if untimed.mean() > _MOST_UNREAD:
        at = int(np.flatnonzero(untimed)[0])
        raise ReadingsFault(
            f"Row {row[at]}: “{' '.join(lines.fields(at)[place] for place in time_columns.at)[:40]}” is no time "
            f"written as {time_columns.formats[0].example() or 'a count of seconds'}, nor are {int(untimed.sum()) - 1} "
            "more. Write times as 2025-10-01 18:30."
        )
    for column in roles.columns():
        wrong = cells.invalid[column.at]
        if len(wrong) > _MOST_UNREAD * len(row):
            raise ReadingsFault(
                f"Row {wrong[0][0]}, {column.label}: “{wrong[0][1][:40]}” is not a number, nor are {len(wrong) - 1} "
                "more."
            )
        if wrong:
            rows_of = [one for one, _ in wrong]
            read_log.add_repair(
                "unreadable",
                f"{counted(len(wrong), 'cell', 'cells')} of {column.label} without a number "
                f"(“{wrong[0][1][:20]}”), taken as missing: "
                f"{rows_text(rows_of)}.",
                rows_of,
            )
    keep = ~untimed if untimed.any() else np.s_[:]
    rows = repairs.MeterRows(
        cells.naive[keep],
        value[keep],
        row[keep],
        cells.numbers[roles.temp.at][keep] if roles.temp else None,
        cells.end[keep] if cells.end is not None else None,
    )
    rest = [cells.numbers[one.at][keep] if one else None for one in (roles.voltage, roles.factor)]
    if untimed.any():
        at = int(np.flatnonzero(untimed)[0])
        read_log.add_repair(
            "time",
            f"{counted(untimed.sum(), 'row has', 'rows have')} no time that can be read "
            f"(“{' '.join(lines.fields(at)[place] for place in time_columns.at)[:40]}”) and are left out: "
            f"{rows_text(row[untimed])}.",
            row[untimed],
        )
    if not len(rows.row):
        raise ReadingsFault("No row has a time that can be read.")
    if len(rows.at) > 2 and (np.diff(rows.at) < np.timedelta64(0)).mean() > 0.5:
        read_log.add_repair("order", "The rows run from the newest to the oldest and were turned round.")
        rows, rest = rows.take(np.s_[::-1]), [None if one is None else one[::-1] for one in rest]
    rows = _at_instants(rows, time_columns, lines.headers, timezone, clock, read_log)
    if rest[0] is not None or rest[1] is not None:
        volts, share = (1.0 if one is None else one for one in rest)
        rows.value = rows.value * volts * share
    if roles.temp and rows.temp is not None:
        rows.temp = kinds.water_temp_celsius(roles.temp, rows.temp, rows.row, read_log)
    return repairs.sort_by_time(rows, read_log)


def _at_instants(
    rows: repairs.MeterRows,
    time_columns: times.TimeColumns,
    headers: list[str],
    timezone: str,
    clock: str | None,
    read_log: ReadLog,
) -> repairs.MeterRows:
    """Rows with their written times converted to instants."""
    header = " ".join(headers[at] for at in time_columns.at).lower()
    naive = rows.at
    ahead = re.search(r"\b(?:utc|gmt) ?([+-−])(\d{1,2})(?::?(\d{2}))?\b", header)
    if time_columns.formats[0].aware:
        clock = "utc"
        read_log.interpretation.append("The times carry their own offset from universal time.")
    elif clock is None and ahead:
        clock, minutes = "utc", 60 * int(ahead[2]) + int(ahead[3] or 0)
        naive = naive - np.timedelta64(minutes if ahead[1] == "+" else -minutes, "m")
        rows.end = (
            None if rows.end is None else rows.end - np.timedelta64(minutes if ahead[1] == "+" else -minutes, "m")
        )
        read_log.interpretation.append(f"The times keep {ahead[0].upper()} all year, as the header says.")
    elif clock is None and (found := re.search(r"\b(utc|gmt|zulu)\b", header)):
        clock = "utc"
        read_log.interpretation.append(f"The times are universal time, as the header says ({found[1].upper()}).")
    elif clock is None and re.search(r"\b(standard|winter)\b", header):
        clock = "standard"
        read_log.interpretation.append(f"The times are the winter time of {timezone} all year, as the header says.")
    else:
        read_log.interpretation.append(
            {
                "utc": "The times are universal time, as given.",
                "standard": f"The times are the winter time of {timezone} all year, as given.",
            }.get(clock or "local", f"The times are taken as the clock on the wall in {timezone}.")
        )
    rows.at = local_clock.instants(naive, rows.row, timezone, clock or "local", read_log)
    if rows.end is not None:
        rows.end = local_clock.instants(rows.end, rows.row, timezone, clock or "local", ReadLog())
    if clock in (None, "local"):
        local_clock.report_skipped_hours(rows.at, naive, timezone, read_log)
    return rows


# --- use ----------------------------------------------------------------------------------------------------------


def stamp_convention(
    stamps: str | None, lines: table_reader.Lines, time_columns: times.TimeColumns, read_log: ReadLog
) -> str:
    """Whether times are the “start” or the “end” of their intervals; the reason is recorded."""
    if time_columns.end_at:
        return "start"
    header = " ".join(lines.headers[at] for at in time_columns.at).lower()
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


def _intervals_of_rows(
    rows: repairs.MeterRows, per_unit: float, power: bool, timezone: str, stamps: str, read_log: ReadLog
) -> repairs.Intervals:
    """Intervals of rows that hold a use, or a power constant through the interval."""
    start, hours = interval_reader.interval_lengths(rows, timezone, stamps, read_log, carried=power)
    kwh = rows.value * per_unit * (hours / 1000 if power else 1.0)
    intervals = repairs.Intervals(start, hours, kwh, rows.row, rows.temp)
    known = np.isfinite(kwh)
    return intervals if known.all() else intervals.take(known)


def _kind_of(quantity: str | None, counter: bool) -> str:
    """The key of KINDS for a quantity, as a counter or per interval."""
    return next(name for name, meant in columns.KINDS.items() if meant == (quantity, counter))


def _use_frame(intervals: repairs.Intervals, timezone: str) -> pd.DataFrame:
    """Intervals as a use, indexed in local time."""
    index = pd.DatetimeIndex(intervals.start.astype("datetime64[us]"), tz="UTC").tz_convert(
        value_parsers.time_zone(timezone)
    )
    use = pd.DataFrame({"kwh": intervals.kwh, "hours": intervals.hours}, index=index.rename("start"))
    if intervals.temp is not None:
        use["water_temp"] = intervals.temp
    return use

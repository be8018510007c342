"""The first step of reading any log: check the options about its clock, read its table, and find its times."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pondheat.core import value_parsers
from pondheat.core.ranges import choose
from pondheat.core.tables import estimates as estimate_marks
from pondheat.core.tables import timestamps as times
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.decoding import read_bytes
from pondheat.core.tables.read_log import ReadLog
from pondheat.core.tables.rows import Lines, read_table
from pondheat.core.tables.shapes import device_column, reshaped
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading import local_clock
from pondheat.meter.reading.cell_text import holds_numbers
from pondheat.meter.reading.unit_column import name_unit


@dataclass
class LogTable:
    """The table of a log.

    lines: at least one; name: of the file, for messages; sample: fields of some of the lines; times: its time columns;
    marks: columns that mark readings; units: positions of columns of units; meter_at: of one that names
    the meter, which changes; estimated: whether each line's reading is
    marked as an estimate that is to be left out; estimated_by: by which marks, for messages; dates: the option, None
    where the times are no longer as in the file; read_log: how it was read so far.
    """

    lines: Lines
    name: str
    sample: list[list[str]]
    times: times.TimeColumns
    marks: list[estimate_marks.Marks]
    units: set[int]
    meter_at: int | None
    estimated: np.ndarray
    estimated_by: str
    dates: str | None
    read_log: ReadLog

    @property
    def taken(self) -> set[int]:
        """Positions of the columns that hold times, marks or units."""
        return {*self.times.at, *self.times.end_at, *(one.at for one in self.marks), *self.units}

    @property
    def numeric(self) -> list[int]:
        """Positions of the other columns that hold numbers."""
        rest = set(range(len(self.lines.headers))) - self.taken
        return [at for at in sorted(rest) if holds_numbers(self.sample, at)]


def open_table(
    source: Path | bytes | str,
    timezone: str,
    *,
    stamps: str | None = None,
    clock: str | None = None,
    dates: str | None = None,
    device: str | None = None,
    worksheet: str | None = None,
    estimates: str | None = None,
    unit: str | None = None,
    kind: str | None = None,
    energy: bool = True,
) -> LogTable:
    """The table of a log; energy: whether it is a meter's; other arguments and errors as in `meter_file.read`."""
    value_parsers.time_zone(timezone)
    for option, given, known in (("stamps", stamps, interval_reader.STAMPS), ("clock", clock, local_clock.CLOCKS)):
        if given is not None:
            choose(f"value of {option}", given, known)
    read_log = ReadLog()
    data, name = read_bytes(source)
    lines = read_table(unpacked(data, name, worksheet, read_log), name, read_log)
    lines = reshaped(lines, timezone, read_log, dates=dates, device=device, unit=unit, kind=kind, energy=energy)
    dates, sample = None if lines.own_times else dates, lines.sample()
    found = times.find_time_columns(sample, lines.headers, dates, name)
    marks = estimate_marks.find(lines, sample, {*found.at, *found.end_at})
    units = name_unit(lines, sample, {*found.at, *found.end_at, *(one.at for one in marks)}, unit, read_log)
    meter_at = device_column(lines, {*found.at, *found.end_at, *(one.at for one in marks)})
    estimated = estimate_marks.marked(lines, marks, estimates, read_log)
    return LogTable(lines, name, sample, found, marks, units, meter_at, *estimated, dates, read_log)

"""The first step of reading any log: check the options about its clock, read its table, and find its times."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pondheat.core import value_parsers
from pondheat.core.ranges import choose
from pondheat.core.tables import timestamps as times
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.decoding import read_bytes
from pondheat.core.tables.read_log import ReadLog
from pondheat.core.tables.rows import Lines, read_table
from pondheat.core.tables.shapes import reshaped
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading import local_clock


@dataclass
class LogTable:
    """The table of a log.

    lines: at least one; name: of the file, for messages; sample: fields of some of the lines; times: its time columns;
    dates: the option, None where the times are no longer as in the file; read_log: how it was read so far.
    """

    lines: Lines
    name: str
    sample: list[list[str]]
    times: times.TimeColumns
    dates: str | None
    read_log: ReadLog

    @property
    def taken(self) -> set[int]:
        """Positions of the columns that hold times."""
        return {*self.times.at, *self.times.end_at}


def open_table(
    source: Path | bytes | str,
    timezone: str,
    *,
    stamps: str | None = None,
    clock: str | None = None,
    dates: str | None = None,
    device: str | None = None,
    worksheet: str | None = None,
) -> LogTable:
    """The table of a log; arguments and errors as in `meter_file.read`."""
    value_parsers.time_zone(timezone)
    for option, given, known in (("stamps", stamps, interval_reader.STAMPS), ("clock", clock, local_clock.CLOCKS)):
        if given is not None:
            choose(option, given, known)
    read_log = ReadLog()
    data, name = read_bytes(source)
    lines = read_table(unpacked(data, name, worksheet, read_log), name, read_log)
    lines = reshaped(lines, timezone, dates, device, read_log)
    dates, sample = None if lines.own_times else dates, lines.sample()
    return LogTable(lines, name, sample, times.find_time_columns(sample, lines.headers, dates, name), dates, read_log)

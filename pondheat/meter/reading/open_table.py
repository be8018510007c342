"""The first step of reading any log: check the options about its clock, and read its table into lines."""

from __future__ import annotations

from pathlib import Path

from pondheat.core import value_parsers
from pondheat.core.ranges import choose
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.decoding import read_bytes
from pondheat.core.tables.read_log import ReadLog
from pondheat.core.tables.rows import Lines, read_table
from pondheat.core.tables.shapes import reshaped
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading import local_clock


def open_table(
    source: Path | bytes | str,
    timezone: str,
    *,
    stamps: str | None = None,
    clock: str | None = None,
    dates: str | None = None,
    device: str | None = None,
    worksheet: str | None = None,
) -> tuple[Lines, str, ReadLog]:
    """The lines of a table, which has at least one, its name, and the log of how it is read.

    Checks the options about its clock; arguments and errors as in `meter_file.read`.
    """
    value_parsers.time_zone(timezone)
    for option, given, known in (("stamps", stamps, interval_reader.STAMPS), ("clock", clock, local_clock.CLOCKS)):
        if given is not None:
            choose(option, given, known)
    read_log = ReadLog()
    data, name = read_bytes(source)
    lines = read_table(unpacked(data, name, worksheet, read_log), name, read_log)
    return reshaped(lines, timezone, dates, device, read_log), name, read_log

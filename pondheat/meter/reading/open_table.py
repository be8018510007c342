"""The first step of every reader of a log: options of its clock checked, its table read into lines."""

from __future__ import annotations

from pathlib import Path

from pondheat.core import value_parsers
from pondheat.core.ranges import choose
from pondheat.core.tables.read_log import ReadingsFault, ReadLog
from pondheat.core.tables.rows import Lines, read_bytes, read_table
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading import local_clock


def open_table(
    source: Path | bytes | str, timezone: str, stamps: str | None, clock: str | None
) -> tuple[Lines, str, ReadLog]:
    """The lines of a table that has some, its name, and the log of what is done with it.

    Checks the options that say what its clock is; arguments and errors as of `meter_file.read`.
    """
    value_parsers.time_zone(timezone)
    for option, given, known in (("stamps", stamps, interval_reader.STAMPS), ("clock", clock, local_clock.CLOCKS)):
        if given is not None:
            choose(option, given, known)
    read_log = ReadLog()
    data, name = read_bytes(source)
    lines = read_table(data, name, read_log)
    if not len(lines.row):
        raise ReadingsFault(f"{name} holds no readings.")
    return lines, name, read_log

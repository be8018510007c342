"""The first step of every reader of a log: options of its clock checked, its table read into lines."""

from __future__ import annotations

from pathlib import Path

from pondheat.core import value_parsers
from pondheat.core.ranges import choose
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading import local_clock
from pondheat.meter.reading.read_log import ReadingsFault, ReadLog
from pondheat.meter.reading.rows import Lines, read_table

MOST_BYTES = 200_000_000  # reading takes some eight times as much memory


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


def read_bytes(source: Path | bytes | str) -> tuple[bytes, str]:
    """Contents of the file, and its name for messages; raises ReadingsFault if it cannot be read."""
    if isinstance(source, (bytes, bytearray)):
        return bytes(source), "the file"
    if not isinstance(source, (str, Path)) or "\0" in str(source):
        raise ReadingsFault("Give the meter file as a path or as its bytes.")
    try:
        if (size := Path(source).stat().st_size) > MOST_BYTES:
            raise ReadingsFault(
                f"{Path(source).name} has {size / 1e6:.0f} MB, and up to {MOST_BYTES / 1e6:.0f} MB are read (some ten "
                "years of minutes): keep the weeks you need, or let the logger write a row a minute."
            )
        return Path(source).read_bytes(), Path(source).name
    except OSError as misfit:
        raise ReadingsFault(
            f"The meter file {str(source)[:200]} could not be read: {misfit.strerror or 'no such file'}."
        ) from None

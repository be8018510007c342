"""The first step of reading any log: check the options about its clock, read its table, and find its times."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pondheat.core import value_parsers
from pondheat.core.ranges import choose, require
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

# Options that are numbers of the parameter of the same name.
_NUMBERS = ("voltage", "power_factor", "flashes_per_kwh", "calorific_value", "correction_factor", "digits")


@dataclass(frozen=True)
class ReadingOptions:
    """What a log doesn't say itself, as its reader gave it.

    kind: one of `meter.reading.headers.KINDS`; dates: “day first” or “month first”; stamps: “start” or “end” of the
    interval; clock: “local”, “standard” (winter time all year) or “utc”; unit: of the meter's column, or of the
    temperatures of a log without a meter; column, temp_column: name or number from 1; `column` may be two or more
    joined by “+”, such as day and night registers, which are then added; decimal: “point” or “comma”; rating: of the
    heater, in watts, the limit beyond which readings are impossible; voltage: [V], power_factor: [–], for a current;
    flashes_per_kwh: [–]; calorific_value: [MJ/m³] and correction_factor: [–], for gas; digits: [–], of the counter
    before the decimal point; device: which of several meters in one file, as a column names it; worksheet: of a
    workbook, by name or number; estimates: “use” to count readings that the file marks as estimated, which are
    otherwise left out, or the marks that mean an estimate.
    """

    kind: str | None = None
    dates: str | None = None
    stamps: str | None = None
    clock: str | None = None
    unit: str | None = None
    column: str | int | None = None
    temp_column: str | int | None = None
    decimal: str | None = None
    rating: float | None = None
    voltage: float | None = None
    power_factor: float = 1.0
    flashes_per_kwh: float | None = None
    calorific_value: float | None = None
    correction_factor: float = 1.0
    digits: float | None = None
    device: str | None = None
    worksheet: str | None = None
    estimates: str | None = None

    def __post_init__(self) -> None:
        """Raise OutOfRange for a number that is implausible."""
        require(power=self.rating, **{name: getattr(self, name) for name in _NUMBERS})


@dataclass
class LogTable:
    """The table of a log.

    timezone: IANA name, of the log's clock; lines: at least one; name: of the file, for messages; sample: fields of
    some of the lines; times: its time columns; marks: columns that mark readings; units: positions of columns of units;
    meter_at: of one that names the meter, which changes; estimated: whether each line's reading is marked as an
    estimate that is to be left out; estimated_by: by which marks, for messages; dates: the option, None where the times
    are no longer as in the file; read_log: how it was read so far.
    """

    timezone: str
    options: ReadingOptions
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


def open_table(source: Path | bytes | str, timezone: str, options: ReadingOptions, energy: bool) -> LogTable:
    """The table of a log; energy: whether it is known to be a meter's; else as in `meter_file.read`."""
    value_parsers.time_zone(timezone)
    for option, known in (("stamps", interval_reader.STAMPS), ("clock", local_clock.CLOCKS)):
        if (given := getattr(options, option)) is not None:
            choose(f"value of {option}", given, known)
    read_log, unit = ReadLog(), options.unit
    data, name = read_bytes(source)
    lines = read_table(unpacked(data, name, options.worksheet, read_log), name, read_log)
    lines = reshaped(
        lines, timezone, read_log,
        dates=options.dates, device=options.device, unit=unit, kind=options.kind, energy=energy,
    )  # fmt: skip
    dates, sample = None if lines.own_times else options.dates, lines.sample()
    found = times.find_time_columns(sample, lines.headers, dates, name)
    marks = estimate_marks.find(lines, sample, {*found.at, *found.end_at})
    units = name_unit(lines, sample, {*found.at, *found.end_at, *(one.at for one in marks)}, unit, read_log)
    meter_at = device_column(lines, {*found.at, *found.end_at, *(one.at for one in marks)})
    estimated = estimate_marks.marked(lines, marks, options.estimates, read_log)
    return LogTable(timezone, options, lines, name, sample, found, marks, units, meter_at, *estimated, dates, read_log)

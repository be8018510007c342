"""Reads tables of water temperatures alone, from a logging thermometer or a notebook, with `read`.

Lines, times, clocks and numbers are read by the same code as a meter's file (`meter_file`); only the column differs,
and how readings that cannot be right are handled.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.ranges import RANGES
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, Repair, rows_text
from pondheat.meter.reading import columns, kinds, repairs, timed_rows
from pondheat.meter.reading import intervals as interval_reader
from pondheat.meter.reading.energy_use import start_times
from pondheat.meter.reading.local_clock import local_times
from pondheat.meter.reading.open_table import LogTable, ReadingOptions, open_table

# Options of `read` for what a file doesn't say itself.
OPTIONS = ("dates", "stamps", "clock", "unit", "temp_column", "decimal", "device", "worksheet", "estimates")
LEAP, LEAP_HOURS = 5.0, 2.0  # K off both neighbours within this many hours: the probe was in the air (judgement)
END_HOURS = 24.0  # so near the log's ends, the probe was not yet, or no longer, in the water (judgement)
MOST_IMPOSSIBLE = 0.3  # above this share of values that no pond can have, the scale must be wrong (judgement)


@dataclass(frozen=True, eq=False)
class WaterLog:
    """A thermometer's file as read.

    water: frame by start of each reading (local time): water_temp [°C] and the hours [h] it covers; interpretation:
    sentences on how each part of the file was read; repairs: each with its rows; by_date: whether the file gives days
    without a clock time; rows: in the file.
    """

    water: pd.DataFrame
    interpretation: tuple[str, ...]
    repairs: tuple[Repair, ...]
    by_date: bool
    rows: int

    @property
    def step(self) -> float:
        """Usual time between readings [h]."""
        steps = np.diff(start_times(self.water).as_unit("us").asi8)
        return float(np.median(steps)) / repairs.HOUR if len(steps) else float("nan")


def read(source: Path | bytes | str, timezone: str, **given: Any) -> WaterLog:
    """Read a table of times and water temperatures.

    source: path or bytes; timezone: IANA name, of the clock that the file uses; given: those of OPTIONS that the file
    doesn't say, as in `meter.reading.open_table.ReadingOptions`; unit: “°C”, “°F” or “K”. Raises ReadingsFault, which
    names the place and the option to give; `core.units.Unreadable` and `OutOfRange` for invalid options.
    """
    if stray := given.keys() - set(OPTIONS):
        raise TypeError(f"A thermometer's log has no option {', '.join(sorted(stray))}.")
    return of_table(open_table(source, timezone, ReadingOptions(**given), energy=False))


def of_table(table: LogTable) -> WaterLog:
    """The temperatures of an opened table; errors as for `read`."""
    timezone, read_log = table.timezone, table.read_log
    unit = None if table.options.unit is None else _normalised_unit(table.options.unit)
    timed_rows.require_readable_clock(table)
    column = columns.water_column(table)
    roles = columns.Roles(column, None, False, None, None, None)
    rows = timed_rows.read_rows(table, roles, lambda _: None)
    rows.value = _in_celsius(column, rows, unit, read_log)
    rows = repairs.actual_readings(rows, False, 0.0, table.estimated_by, read_log)
    convention = timed_rows.stamp_convention(table)
    start, hours = interval_reader.interval_lengths(rows, timezone, convention, read_log)
    known = np.isfinite(rows.value)
    start, hours, temps, row = start[known], hours[known], rows.value[known], rows.row[known]
    leaps = _leaps(start, temps)
    _report_leaps(row[leaps], read_log)
    index = local_times(start[~leaps], timezone).rename("start")
    water = pd.DataFrame({"water_temp": temps[~leaps], "hours": hours[~leaps]}, index=index)
    return WaterLog(
        water,
        tuple(read_log.interpretation),
        tuple(read_log.repairs),
        not timed_rows.has_clock(table.times),
        len(table.lines.row),
    )


def _normalised_unit(unit: str) -> str:
    """The standard name of a temperature unit given by the caller."""
    for name, spellings in kinds.SCALES.items():
        if str(unit).strip().lower() in spellings:
            return name
    raise ReadingsFault(f"“{str(unit)[:40]}” is not a temperature unit known here. Known: {', '.join(kinds.SCALES)}.")


def _in_celsius(column: columns.Column, rows: repairs.MeterRows, unit: str | None, read_log: ReadLog) -> np.ndarray:
    """Temperatures of the rows [°C], NaN where no pond can have them; raises ReadingsFault where those are many."""
    temps, scale = kinds.water_temp_celsius(column, rows.value, rows.row, read_log, unit, by_option=True)
    written = np.isfinite(rows.value)
    lost = int((written & ~np.isfinite(temps)).sum())
    if lost > MOST_IMPOSSIBLE * written.sum():
        raise _wrong_scale(column, rows.value, lost, scale)
    return temps


def _wrong_scale(column: columns.Column, written: np.ndarray, lost: int, scale: str) -> ReadingsFault:
    """The error for a column with many values that cannot be a pond's in the scale it was read in."""
    middle, limits = float(np.nanmedian(written)), RANGES["water_temp"]
    other = "°F" if scale == "°C" else "°C"
    hint = ""
    if limits.least <= kinds.in_celsius(middle, other) <= limits.most:
        hint = f' In {other} they could. Give unit="{other}".'
    return ReadingsFault(
        f"{lost} of {int(np.isfinite(written).sum())} numbers of {column.label} can't be a pond's temperature in "
        f"{scale}: half of them are above {middle:.4g}.{hint}"
    )


def _report_leaps(row: np.ndarray, read_log: ReadLog) -> None:
    """Record the rows that are left out because the probe was out of the water."""
    if not len(row):
        return
    read_log.add_repair(
        "temperature",
        f"{counted(len(row), 'reading jumps', 'readings jump')} by more than {LEAP:g} °C within two hours, as if the "
        f"probe was out of the water, and {'is' if len(row) == 1 else 'are'} left out: {rows_text(row)}.",
        row,
    )


def _leaps(start: np.ndarray, temps: np.ndarray) -> np.ndarray:
    """Readings of a probe out of the water: runs of at most two hours more than 5 K off the readings on both sides, and
    the log's first or last day where such a jump separates it from the rest."""
    found = np.zeros(len(temps), bool)
    steps = np.diff(start)
    jumps = np.flatnonzero((np.abs(np.diff(temps)) > LEAP) & (steps <= LEAP_HOURS * repairs.HOUR))
    for first, last in zip(jumps[:-1], jumps[1:]):
        within = start[last + 1] - start[first] <= (LEAP_HOURS + 0.01) * repairs.HOUR + np.median(steps)
        if within and abs(temps[last + 1] - temps[first]) < LEAP and not found[first]:
            found[first + 1 : last + 1] = True
    for jump in jumps:
        if found[jump] or found[jump + 1]:
            continue
        if start[jump] - start[0] < END_HOURS * repairs.HOUR:
            found[: jump + 1] = True
        elif start[-1] - start[jump + 1] < END_HOURS * repairs.HOUR:
            found[jump + 1 :] = True
    return found

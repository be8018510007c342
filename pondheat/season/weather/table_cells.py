"""Cells of a weather table as numbers, and the unit of each column."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.core.number_format import counted
from pondheat.core.tables.numbers import cut_short, likely_decimal_mark, to_floats, ungrouped
from pondheat.core.tables.read_log import rows_text
from pondheat.core.tables.rows import MISSING_WORDS
from pondheat.season.weather.columns import COLUMN_UNITS, RANGE_NAMES, Column, is_unit, unit_conversion
from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.sampling import present_minutes
from pondheat.season.weather.table_shape import Table
from pondheat.season.weather.times import Stamps

_UNIT_EXAMPLES = {
    "air_temp": "°F",
    "rel_humidity": "%",
    "wind_speed": "km/h",
    "solar": "kJ/m²",
    "cloud_cover": "oktas",
    "sky_long_wave": "W/m²",
    "pressure": "hPa",
}
_MISSING_MARKS = MISSING_WORDS | {"m"}
_CALM = {"calm", "still", "windstill", "windstille", "calme"}  # no wind
_FEWEST_COUNT = 0.05  # share of a column's largest value that “less than” may be, to be taken as half of it
# numbers that loggers and archives write for "missing"; treated as such only where they are implausible as values
_MISSING_CODES = {
    -99999.0,
    -9999.9,
    -9999.0,
    -9900.0,
    -999.9,
    -999.0,
    -99.9,
    -99.0,
    99.9,
    999.0,
    999.9,
    9999.0,
    9999.9,
    99999.0,
}


def column_values(
    column: str, found: Column, table: Table, separator: str, stamps: Stamps, notes: list[str]
) -> pd.Series:
    """Values of a column in the library's unit, NaN where missing; raises `WeatherError`."""
    cells = _without_units(column, found, table.cells[found.position])
    numbers = _to_numbers(column, cells, found.header, table.rows_at(found.position), separator, notes)
    factor, offset = _column_conversion(column, found, numbers, stamps.minutes, notes)
    values = numbers * factor + offset
    if cells.dtype == object or str(cells.dtype).startswith("str"):
        grouped = _in_groups(column, cells, values, lambda given: given * factor + offset)
        if grouped is not None:
            notes.append(f"{column}: commas separate groups of digits, as in “{cells.iloc[0]}”.")
            values = grouped
    if found.unit and unit_conversion(column, found.unit, 60.0) != unit_conversion(column, found.unit, 30.0):
        values = _over_own_interval(values, stamps)
    codes = numbers.isin(_MISSING_CODES) & ~_plausible(column, values)
    if codes.any():
        notes.append(
            f"{column}: {counted(codes.sum(), 'value', 'values')} such as {numbers[codes].iloc[0]:g} mean “missing”."
        )
    return values.mask(codes)


def _over_own_interval(values: pd.Series, stamps: Stamps) -> pd.Series:
    """Means of sums that were divided by the usual interval, where some are over a longer one."""
    if stamps.minutes >= 60:
        return values
    minutes = present_minutes(stamps.start, values.notna().to_numpy(), stamps.minutes)
    return values if minutes is None else values * stamps.minutes / np.where(minutes > 0, minutes, stamps.minutes)


def _without_units(column: str, found: Column, cells: pd.Series) -> pd.Series:
    """Cells without the unit that all of them repeat, such as “2.9 °C”, which becomes the column's own."""
    if pd.to_numeric(cells, errors="coerce").notna().mean() > 0.5:
        return cells  # most are bare numbers
    parts = cells.astype(str).str.strip().str.extract(r"^([-+−]?\d*[.,]?\d+)\s*([^\d\s.,][^\d]*\d?)$")
    said = set(parts[1].dropna())
    if len(said) != 1 or parts[1].notna().mean() < 0.5:
        return cells
    unit = said.pop()
    if (
        not is_unit(column, unit)
        or found.unit
        and unit_conversion(column, found.unit, 60.0) != unit_conversion(column, unit, 60.0)
    ):
        return cells
    found.unit = found.unit or unit
    return cells.mask(parts[0].notna(), parts[0])


def _to_numbers(
    column: str, cells: pd.Series, header: str, row: pd.Series, separator: str, notes: list[str]
) -> pd.Series:
    """Numbers in a column, NaN where missing; raises `WeatherError` for other text and ambiguous decimal commas."""
    if cut := cut_short([str(cell).strip() for cell in cells]):
        notes.append(
            f"{column}: {counted(len(cut), 'number', 'numbers')} with nothing on one side of the decimal mark "
            f"(“{cells.iloc[cut[0]]}”, {rows_text(row.iloc[cut])}), kept. If digits were lost, put them back."
        )
    bare = pd.to_numeric(cells, errors="coerce")
    if bare.notna().all():
        return bare.astype(float).replace([np.inf, -np.inf], np.nan)
    clean = cells.astype(str).str.strip().str.replace("−", "-", regex=False)
    low = clean.str.lower()
    clean = clean.mask(low.isin(_MISSING_MARKS) | low.str.fullmatch(r"[*#–—-]+"), "")
    if column == "wind_speed" and (still := low.isin(_CALM)).any():
        clean = clean.mask(still, "0")
        notes.append(f"wind_speed: {counted(still.sum(), 'cell', 'cells')} such as “{cells[still].iloc[0]}” mean 0.")
    clean = _small_numbers(column, clean, notes)
    comma = clean.str.contains(",", regex=False)
    if comma.any():
        clean = _with_points(clean.map(ungrouped), comma, header, row, separator, notes)
    numbers = pd.to_numeric(clean.mask(clean == ""), errors="coerce")
    wrong = numbers.isna() & (clean != "")
    if wrong.any():
        at = int(np.flatnonzero(wrong)[0])
        raise WeatherError(
            f"Row {row[at]}, {header.strip()}: “{clean[at][:40]}” is not a number"
            + (f" (and {int(wrong.sum()) - 1} more in this column)" if wrong.sum() > 1 else "")
            + ": correct it, or leave the cell empty where nothing was measured."
        )
    return numbers.astype(float).replace([np.inf, -np.inf], np.nan)


def _small_numbers(column: str, cells: pd.Series, notes: list[str]) -> pd.Series:
    """Cells with half the number of those such as “<0.1”, where that is small beside the others."""
    below = cells.str.extract(r"^<\s*(\d*[.,]?\d+)$")[0]
    which = below.notna()
    if not which.any():
        return cells
    limit = pd.to_numeric(below.str.replace(",", ".", regex=False), errors="coerce")
    largest = pd.to_numeric(cells.str.replace(",", ".", regex=False), errors="coerce").abs().max()
    if not limit.max() <= _FEWEST_COUNT * largest:
        return cells
    notes.append(
        f"{column}: {counted(which.sum(), 'cell', 'cells')} such as “{cells[which].iloc[0]}” are taken as half of that."
    )
    return cells.mask(which, (limit / 2).map("{:g}".format))


def _with_points(
    cells: pd.Series, comma: pd.Series, header: str, row: pd.Series, separator: str, notes: list[str]
) -> pd.Series:
    """Ungrouped cells with a decimal point; where the comma also separates columns, only if nothing else can be meant.

    comma: which of them have a comma. Raises `WeatherError` to ask.
    """
    several = cells[comma & cells.str.fullmatch(r"[-+]?\d{1,3}(?:,\d{3}){2,}(?:\.\d*)?|[-+]?\d{1,3}(?:,\d{3})+\.\d*")]
    if len(several):  # “1,013,250” and “1,013.2” are in groups
        return cells.str.replace(r"(?<=\d),(?=\d{3}(?!\d))", "", regex=True)
    plain = cells.str.fullmatch(r"[-+]?\d*,\d+")
    if separator == "," and plain.any():
        at = int(np.flatnonzero(plain)[0])
        if cells.str.contains(".", regex=False).any() or likely_decimal_mark(cells[comma].tolist()) != ",":
            raise WeatherError(
                f"Row {row[at]}, {header.strip()}: does “{cells[at]}” mean {cells[at].replace(',', '.')}? A decimal "
                "comma is read only where semicolons or tabs separate the columns: save the file that way."
            )
        notes.append(f"{header.strip()}: commas are decimal, as in “{cells[at]}”.")
    grouped = cells.str.fullmatch(r"[-+]?\d{1,3}(?:\.\d{3})+,\d*")
    cells = cells.mask(grouped, cells.str.replace(".", "", regex=False))
    return cells.mask(plain | grouped, cells.str.replace(",", ".", regex=False))


def _in_groups(column: str, cells: pd.Series, values: pd.Series, convert) -> pd.Series | None:
    """The values of a column whose commas stand between groups of digits, as in “101,325” Pa; None where they don't.

    values: as read with decimal commas; convert: from numbers to the library's unit. Commas are only taken so where
    the values would be out of any plausible range otherwise.
    """
    if _plausible(column, values.dropna()).any():
        return None
    given = cells[cells.str.contains(",", regex=False)].map(ungrouped)
    if not len(given) or likely_decimal_mark(given.tolist()) is not None:
        return None
    other = convert(pd.Series(to_floats(cells.map(ungrouped), "."), cells.index))
    return other if _plausible(column, other.dropna()).all() else None


def _plausible(column: str, values: pd.Series) -> pd.Series:
    """Whether each value is within the plausible range for its quantity."""
    limits = ranges.RANGES[RANGE_NAMES.get(column, column)]
    return (values >= limits.least) & (values <= limits.most)


def _column_conversion(
    column: str, found: Column, numbers: pd.Series, minutes: float, notes: list[str]
) -> tuple[float, float]:
    """Factor and offset of a column; without a unit in the header the library's own, if the values are plausible."""
    if found.unit:
        try:
            factor, shift = unit_conversion(column, found.unit, minutes)
        except units.Unreadable as error:
            raise WeatherError(
                f"The unit of the column “{found.header.strip()}” cannot be used for {column}: {error}"
            ) from None
        if column in ("solar", "sky_long_wave") and "h" in found.unit.lower().replace("w/m", ""):
            notes.append(f"{column}: [{found.unit}] is energy over {minutes:g} minutes, converted to mean power.")
        return factor, shift
    name = RANGE_NAMES.get(column, column)
    if column == "rel_humidity" and 1.5 < numbers.max() <= 101:
        notes.append(f"{column}: the header gives no unit. Values up to {numbers.max():g} can only be per cent.")
        return 0.01, 0.0
    given = numbers[~numbers.isin(_MISSING_CODES)].dropna()
    for value in (given.min(), given.max()) if len(given) else ():
        sentence = ranges.range_error(name, float(value))
        if sentence:
            raise WeatherError(
                f"The column “{found.header.strip()}” has no unit and cannot be in {unit_text(column)}: {sentence} "
                f"Write the unit into the header, such as {column} [{_UNIT_EXAMPLES[name]}], or give "
                f'--weather-unit "{column}={_UNIT_EXAMPLES[name]}".'
            )
    span = f" ({given.min():g} to {given.max():g})" if len(given) else ""
    notes.append(f"{column}: the header gives no unit; {unit_text(column)} is assumed{span}.")
    return 1.0, 0.0


def unit_text(column: str) -> str:
    """A column's own unit, as messages write it."""
    return units.pretty(COLUMN_UNITS[column]) or "a fraction from 0 to 1"

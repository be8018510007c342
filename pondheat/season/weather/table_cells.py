"""Cells of a weather table as numbers, and the unit of each column."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.season.weather.columns import COLUMN_UNITS, RANGE_NAMES, Column, is_unit, unit_conversion
from pondheat.season.weather.record import WeatherError

_UNIT_EXAMPLES = {
    "air_temp": "°F",
    "rel_humidity": "%",
    "wind_speed": "km/h",
    "solar": "kJ/m²",
    "cloud_cover": "oktas",
    "sky_long_wave": "W/m²",
    "pressure": "hPa",
}
_MISSING_MARKS = {"", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "missing", "m"}
# numbers that loggers and archives write for "missing"; treated as such only where they are implausible as values
MISSING_CODES = {
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


def without_units(column: str, found: Column, cells: pd.Series) -> pd.Series:
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


def to_numbers(cells: pd.Series, header: str, row: pd.Series, separator: str) -> pd.Series:
    """Numbers in a column, NaN where missing; raises `WeatherError` for other text and ambiguous decimal commas."""
    bare = pd.to_numeric(cells, errors="coerce")
    if bare.notna().all():
        return bare.astype(float).replace([np.inf, -np.inf], np.nan)
    clean = cells.astype(str).str.strip().str.replace("−", "-", regex=False)
    clean = clean.mask(clean.str.lower().isin(_MISSING_MARKS), "")
    comma = clean.str.fullmatch(r"[-+]?\d*,\d+")
    if comma.any():
        if separator == ",":
            at = int(np.flatnonzero(comma)[0])
            raise WeatherError(
                f"Row {row[at]}, {header.strip()}: does “{clean[at]}” mean {clean[at].replace(',', '.')}? A decimal "
                "comma is read only where semicolons or tabs separate the columns: save the file that way."
            )
        clean = clean.mask(comma, clean.str.replace(",", ".", regex=False))
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


def plausible(column: str, values: pd.Series) -> pd.Series:
    """Whether each value is within the plausible range for its quantity."""
    limits = ranges.RANGES[RANGE_NAMES.get(column, column)]
    return (values >= limits.least) & (values <= limits.most)


def column_conversion(
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
    given = numbers[~numbers.isin(MISSING_CODES)].dropna()
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

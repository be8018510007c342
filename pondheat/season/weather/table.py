"""Reader of hourly tables of measured weather: a header with names and units, then one row for each time.

Names, units and separators may vary, but every assumption, average and unused column is noted. Anything ambiguous
(a decimal comma, a date that can be read two ways, a column whose unit cannot be right) is an error.
"""

from __future__ import annotations

import csv
import io
import re

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.core.number_format import counted
from pondheat.season.weather import answers as answers_of
from pondheat.season.weather import times
from pondheat.season.weather.columns import (
    COLUMN_UNITS,
    GUST_WORDS,
    RANGE_NAMES,
    Column,
    is_unit,
    parse_column_header,
    plain_letters,
    unit_conversion,
)
from pondheat.season.weather.record import MEASURED, Record, WeatherError

_UNIT_EXAMPLES = {
    "air_temp": "°F",
    "rel_humidity": "%",
    "wind_speed": "km/h",
    "solar": "kJ/m²",
    "cloud_cover": "oktas",
    "sky_long_wave": "W/m²",
    "pressure": "hPa",
}
_PLACE_COMMENT = re.compile(r"\s*#\s*(place|source|latitude|longitude|altitude|wind height)\s*[:=]\s*(.+?)\s*$", re.I)
_MAX_HEAD = 40  # lines searched for the header of a table
_MISSING_MARKS = {"", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "missing", "m"}
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


def read_table(text: str, name: str, timezone: str) -> Record:
    """Record from an hourly table.

    text: of the file; name: of the file; timezone: IANA name, for times without an offset. Raises `WeatherError` with
    the row and the reason.
    """
    answers = answers_of.in_text(text, name)
    about, rows, lines = _split_lines(text)
    if not lines:
        raise WeatherError(
            f"{name} has no table: it needs a header such as “time, air_temp [°C], rel_humidity [%], wind_speed [m/s], "
            "solar [W/m²]” and a row for each hour."
        )
    head = head_line(lines)
    above, rows, lines = head, rows[head:], lines[head:]
    separator = max("\t;|,", key=lines[0].count)
    if not lines[0].count(separator):
        raise WeatherError(
            f"Row {rows[0]} of {name}, “{lines[0][:40]}”, should be a header with columns separated by commas, "
            "semicolons or tabs, such as: time, air_temp [°C], rel_humidity [%], wind_speed [m/s], solar [W/m²]."
        )
    headers = next(csv.reader([lines[0]], delimiter=separator))
    headers, units_below = _with_units_below(headers, lines, separator)
    columns, unused = _parse_header(headers, name, rows[0])
    if units_below:
        rows, lines = rows[:1] + rows[2:], lines[:1] + lines[2:]
    if len(lines) == 1:
        raise WeatherError(f"{name} has a header but no rows: it needs at least a day of hours.")
    for column, unit in answers.units.items():
        if column not in columns:
            raise WeatherError(f"{name}: a unit is given for {column}, but there is no such column. Leave it out.")
        columns[column].unit = unit
    cells = _read_cells(lines[1:], rows[1:], separator, len(headers), name)
    row = pd.Series(rows[1:])
    notes = [f"Columns in {name} not used: {', '.join(unused)}."] if unused else []
    if above:
        notes.append(f"Not read: {counted(above, 'line', 'lines')} above the header of {name}.")

    stamps = times.parse_times(
        cells[columns["time"].position],
        cells[columns["date"].position] if "date" in columns else None,
        columns["time"].header,
        row,
        timezone,
        notes,
        answers,
    )
    table = pd.DataFrame({"row": row.to_numpy()})
    for column in [each for each in columns if each in COLUMN_UNITS]:
        numbers = _to_numbers(cells[columns[column].position], columns[column].header, row, separator)
        factor, offset = _column_conversion(column, columns[column], numbers, stamps.minutes, notes)
        values = numbers * factor + offset
        codes = numbers.isin(_MISSING_CODES) & ~_plausible(column, values)
        if codes.any():
            notes.append(
                f"{column}: {counted(codes.sum(), 'value', 'values')} such as {numbers[codes].iloc[0]:g} mean "
                "“missing”."
            )
        table[column] = values.mask(codes).to_numpy()
    hours = times.to_hours(table, stamps, timezone, notes)
    record = _make_record(hours, about, columns, name, notes)
    record.written = {
        column: columns[column].unit or _unit_text(column).replace("a fraction from 0 to 1", "fraction")
        for column in columns
        if column in COLUMN_UNITS
    }
    record.minutes = stamps.minutes
    if "wind_speed" not in columns and (
        gusts := [one for one in unused if GUST_WORDS & set(plain_letters(one).split())]
    ):
        notes.append(f"{gusts[0]} gives gusts, which can't replace the mean wind.")
    return record


def _make_record(
    hours: pd.DataFrame, about: dict[str, str], columns: dict[str, Column], name: str, notes: list[str]
) -> Record:
    """The record, with place and heights from comment lines and header."""
    record = Record(hours, MEASURED, about.get("place", name), about.get("source", f"the file {name}"), notes=notes)
    try:
        for key, unit in (("latitude", "deg"), ("longitude", "deg"), ("altitude", "m"), ("wind height", "m")):
            if key in about:
                value = units.parse(about[key], unit)
                ranges.require(**{key.replace(" ", "_"): value})
                setattr(record, key.replace(" ", "_"), value)
    except ValueError as error:
        raise WeatherError(f"In the comment lines of {name}: {error}") from None
    if "wind_speed" in columns and columns["wind_speed"].height is not None:
        record.wind_height = columns["wind_speed"].height
    return record


def is_weather(text: str) -> bool:
    """Whether a table's header names the air temperature and one more weather column."""
    _, _, lines = _split_lines(text[:20_000])
    for line in lines[:_MAX_HEAD]:
        cells = next(csv.reader([line], delimiter=max("\t;|,", key=line.count)), [])
        found = {column[0] for cell in cells if (column := parse_column_header(cell)) is not None}
        if "air_temp" in found and len(found & set(COLUMN_UNITS)) > 1:
            return True
    return False


# --- lines, header, cells -----------------------------------------------------------------------------------------


def head_line(lines: list[str]) -> int:
    """Position of the header: the first line near the top that names a time and the air temperature; 0 if none does."""
    for at, line in enumerate(lines[:_MAX_HEAD]):
        cells = next(csv.reader([line], delimiter=max("\t;|,", key=line.count)), [])
        found = {column[0] for cell in cells if (column := parse_column_header(cell)) is not None}
        if "air_temp" in found and {"time", "date"} & found:
            return at
    return 0


def _with_units_below(headers: list[str], lines: list[str], separator: str) -> tuple[list[str], bool]:
    """Headers with the units of a second header line, and whether there is one."""
    if len(lines) < 3:
        return headers, False
    below = [cell.strip().strip("[]()") for cell in next(csv.reader([lines[1]], delimiter=separator))]
    if any(re.search(r"\d{2}|^[-+]?\d", cell) for cell in below) or len(below) != len(headers):
        return headers, False
    parsed = [parse_column_header(head) for head in headers]
    said = [bool(one and one[0] in COLUMN_UNITS and cell and is_unit(one[0], cell)) for one, cell in zip(parsed, below)]
    if not any(said):
        return headers, False
    return [
        f"{head} [{cell}]" if named and one is not None and not one[1] else head
        for head, cell, named, one in zip(headers, below, said, parsed)
    ], True


def _split_lines(text: str) -> tuple[dict[str, str], list[int], list[str]]:
    """Entries of comment lines (“# place: …”), and line numbers and text of the other lines."""
    about: dict[str, str] = {}
    rows, lines = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("#"):
            entry = _PLACE_COMMENT.match(line)
            if entry:
                about[entry[1].lower()] = entry[2]
        elif line.strip(" \t,;"):
            rows.append(number)
            lines.append(line)
    return about, rows, lines


def _parse_header(headers: list[str], name: str, row: int) -> tuple[dict[str, Column], list[str]]:
    """Recognised columns by name, and the headers of the others; raises `WeatherError` for duplicates or none."""
    columns: dict[str, Column] = {}
    unused = []
    for position, header in enumerate(headers):
        found = parse_column_header(header)
        if found is None:
            unused += [header.strip()] if header.strip() else []
            continue
        column, unit, height = found
        if column in columns:
            raise WeatherError(
                f"Two columns of {name} look like {column}: “{columns[column].header.strip()}” and "
                f"“{header.strip()}”. Rename or remove one of them."
            )
        columns[column] = Column(position, header, unit, height)
    if "time" not in columns and "date" in columns:
        columns["time"] = columns.pop("date")
    if "time" not in columns or "air_temp" not in columns:
        lacking = "time" if "time" not in columns else "air_temp"
        raise WeatherError(
            f"There is no column {lacking} in row {row} of {name}, which was taken as the header "
            f"({', '.join(h.strip() for h in headers[:8]) or 'empty'}). Name one of its columns “{lacking}” "
            "if it is there by another name, and put # in front of any lines above the header."
        )
    return columns, unused


def _read_cells(lines: list[str], rows: list[int], separator: str, width: int, name: str) -> pd.DataFrame:
    """Table of the cells as text; raises `WeatherError` for rows that are too long or cannot be separated."""
    try:
        cells = pd.read_csv(
            io.StringIO("\n".join(lines)),
            sep=separator,
            header=None,
            names=range(width),
            dtype=str,
            keep_default_na=False,
            index_col=False,
            skipinitialspace=True,
            skip_blank_lines=False,
        )
    except (pd.errors.ParserError, ValueError):
        cells = None
    long = [
        row
        for row, line in zip(rows, lines)
        if line.count(separator) >= width
        and any(cell.strip() for cell in next(csv.reader([line], delimiter=separator))[width:])
    ]
    if long:
        raise WeatherError(
            f"Row {long[0]} of {name} has more fields than the header has columns ({width}). Is there a decimal comma "
            "or an unquoted separator in it?"
        )
    if cells is None or len(cells) != len(lines):
        raise WeatherError(f"The rows of {name} cannot be separated. Is a quotation mark left open somewhere?")
    return cells.fillna("")


# --- numbers and units --------------------------------------------------------------------------------------------


def _to_numbers(cells: pd.Series, header: str, row: pd.Series, separator: str) -> pd.Series:
    """Numbers in a column, NaN where missing; raises `WeatherError` for other text and ambiguous decimal commas."""
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
    given = numbers[~numbers.isin(_MISSING_CODES)].dropna()
    for value in (given.min(), given.max()) if len(given) else ():
        sentence = ranges.range_error(name, float(value))
        if sentence:
            raise WeatherError(
                f"The column “{found.header.strip()}” has no unit and cannot be in {_unit_text(column)}: {sentence} "
                f"Write the unit into the header, such as {column} [{_UNIT_EXAMPLES[name]}], or give "
                f'--weather-unit "{column}={_UNIT_EXAMPLES[name]}".'
            )
    span = f" ({given.min():g} to {given.max():g})" if len(given) else ""
    notes.append(f"{column}: the header gives no unit; {_unit_text(column)} is assumed{span}.")
    return 1.0, 0.0


def _unit_text(column: str) -> str:
    return units.pretty(COLUMN_UNITS[column]) or "a fraction from 0 to 1"

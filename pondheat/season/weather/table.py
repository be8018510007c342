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
from pondheat.core.tables import estimates, time_formats
from pondheat.core.tables.decoding import plain_letters, require_table
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.spellings import respelt
from pondheat.season.weather import answers as answers_of
from pondheat.season.weather import table_shape, times
from pondheat.season.weather.columns import (
    COLUMN_UNITS,
    GUST_WORDS,
    Column,
    is_unit,
    parse_column_header,
)
from pondheat.season.weather.record import MEASURED, Record, WeatherError
from pondheat.season.weather.table_cells import column_values, unit_text

_PLACE_COMMENT = re.compile(r"\s*#\s*(place|source|latitude|longitude|altitude|wind height)\s*[:=]\s*(.+?)\s*$", re.I)
_MAX_HEAD = 40  # lines searched for the header of a table


def read_table(text: str, name: str, timezone: str) -> Record:
    """Record from an hourly table.

    text: of the file; name: of the file; timezone: IANA name, for times without an offset. Raises `WeatherError` with
    the row and the reason.
    """
    text, notes = _respelt(text, name)
    answers = answers_of.in_text(text, name)
    about, rows, lines = _split_lines(text)
    if not lines:
        raise WeatherError(
            f"{name} has no table: it needs a header such as “time, air_temp [°C], rel_humidity [%], wind_speed [m/s], "
            "solar [W/m²]” and a row for each hour."
        )
    above = head_line(lines)
    rows, lines = rows[above:], lines[above:]
    separator = max("\t;|,", key=lines[0].count)
    whole = _whole_table(lines, rows, separator, name)
    whole = table_shape.one_station(table_shape.without_strays(whole, notes), answers, notes)
    whole = table_shape.widened(whole, answers, notes)
    columns, unused = _columns_with_units(whole, rows[0], answers)
    notes += [f"Columns in {name} not used: {', '.join(unused)}."] if unused else []
    if above:
        notes.append(f"Not read: {counted(above, 'line', 'lines')} above the header of {name}.")
    stamps = times.parse_times(
        whole.cells[columns["time"].position],
        whole.cells[columns["date"].position] if "date" in columns else None,
        columns["time"].header + _zone_above("\n".join(text.splitlines()[: rows[0]]), name, timezone),
        whole.row,
        timezone,
        notes,
        answers,
    )
    table = pd.DataFrame({"row": whole.row.to_numpy()})
    for column in [each for each in columns if each in COLUMN_UNITS]:
        table[column] = column_values(column, columns[column], whole, separator, stamps, notes).to_numpy()
    _drop_faulty(table, whole.cells.drop(columns=[one.position for one in columns.values()]), notes)
    record = _make_record(times.to_hours(table, stamps, timezone, notes), about, columns, name, notes)
    record.minutes = stamps.minutes
    if "wind_speed" not in columns and (
        gusts := [one for one in unused if GUST_WORDS & set(plain_letters(one).split())]
    ):
        notes.append(f"{gusts[0]} gives gusts, which can't replace the mean wind.")
    return record


def _respelt(text: str, name: str) -> tuple[str, list[str]]:
    """The text with times in a spelling known here, and notes on it; raises `WeatherError` for what is no table."""
    read_log, data = ReadLog(), text.encode("utf-8")
    try:
        require_table(data, name)
    except ReadingsFault as wrong:
        raise WeatherError(str(wrong)) from None
    return respelt(data, read_log, hours=False).decode("utf-8"), read_log.interpretation


def _zone_above(text: str, name: str, timezone: str) -> str:
    """The zone that a line above the table gives, as the time column's header would say it; "" for the local clock."""
    found = time_formats.ZONE_ABOVE.search(text)
    if found is None or found[1].strip().casefold() == timezone.casefold():
        return ""
    if re.match(r"(utc|gmt)\b", found[1].strip(), re.I):
        return f" [{found[1].strip()}]"
    raise WeatherError(
        f"A line above the table of {name} says “{found[0].strip()[:60]}”, but its times are read by the clock of "
        f"{timezone}. If they are by that clock, take the line out; otherwise write each time with its offset from UTC."
    )


def _drop_faulty(table: pd.DataFrame, beside: pd.DataFrame, notes: list[str]) -> None:
    """Take the values out of rows that a column beside them marks as faulty, such as “bad”; beside: unused columns."""
    for at in map(int, beside.columns):
        marks = [one for one in beside[at].unique() if estimates.is_faulty(one)]
        which = beside[at].isin(marks).to_numpy()
        if which.any():
            table.loc[which, [column for column in table if column != "row"]] = np.nan
            notes.append(
                f"Column {at + 1} marks {counted(which.sum(), 'row', 'rows')} as “{marks[0][:20]}”, left out: "
                f"{rows_text(table['row'][which])}."
            )


def _make_record(
    hours: pd.DataFrame, about: dict[str, str], columns: dict[str, Column], name: str, notes: list[str]
) -> Record:
    """The record, with place and heights from comment lines and header, and its units as written there."""
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
    record.written = {
        column: found.unit or unit_text(column).replace("a fraction from 0 to 1", "fraction")
        for column, found in columns.items()
        if column in COLUMN_UNITS
    }
    return record


def is_weather(text: str) -> bool:
    """Whether a table's header names the air temperature and one more weather column, or a long table has them."""
    _, _, lines = _split_lines(text[:20_000])
    for line in lines[:_MAX_HEAD]:
        cells = next(csv.reader([line], delimiter=max("\t;|,", key=line.count)), [])
        found = {column[0] for cell in cells if (column := parse_column_header(cell)) is not None}
        if "air_temp" in found and len(found & set(COLUMN_UNITS)) > 1:
            return True
        if table_shape.is_long_header(cells):
            mark = max("\t;|,", key=line.count)
            every = {cell for one in text.splitlines() for cell in one.split(mark) if cell.strip(' "')[:1].isalpha()}
            named = {column[0] for cell in every if (column := parse_column_header(cell))}
            if "air_temp" in named and len(named & set(COLUMN_UNITS)) > 1:
                return True
    return False


# --- lines, header, cells -----------------------------------------------------------------------------------------


def head_line(lines: list[str]) -> int:
    """Position of the header: the first line near the top that names a time, and the air temperature or the columns of
    a long table; 0 if none does."""
    for at, line in enumerate(lines[:_MAX_HEAD]):
        cells = next(csv.reader([line], delimiter=max("\t;|,", key=line.count)), [])
        found = {column[0] for cell in cells if (column := parse_column_header(cell)) is not None}
        if "air_temp" in found and {"time", "date"} & found or table_shape.is_long_header(cells):
            return at
    return 0


def _with_units_below(headers: list[str], lines: list[str], separator: str) -> tuple[list[str], int]:
    """Headers with the units of a second or third header line, and how many lines there are below the first."""
    parsed = [parse_column_header(head) for head in headers]
    for count in (1, 2):
        if len(lines) < count + 2:
            break
        below = [cell.strip().strip("[]()") for cell in next(csv.reader([lines[count]], delimiter=separator))]
        if any(re.search(r"\d{2}|^[-+]?\d", cell) for cell in below) or len(below) != len(headers):
            break
        said = [
            bool(one and one[0] in COLUMN_UNITS and cell and is_unit(one[0], cell)) for one, cell in zip(parsed, below)
        ]
        if any(said):
            return [
                f"{head} [{cell}]" if named and one is not None and not one[1] else head
                for head, cell, named, one in zip(headers, below, said, parsed)
            ], count
    return headers, 0


def _whole_table(lines: list[str], rows: list[int], separator: str, name: str) -> table_shape.Table:
    """The table as it is in the file: lines, rows: from the header on, with their numbers. Raises `WeatherError`."""
    if not lines[0].count(separator):
        raise WeatherError(
            f"Row {rows[0]} of {name}, “{lines[0][:40]}”, should be a header with columns separated by commas, "
            "semicolons or tabs, such as: time, air_temp [°C], rel_humidity [%], wind_speed [m/s], solar [W/m²]."
        )
    headers = next(csv.reader([lines[0]], delimiter=separator))
    headers, units_below = _with_units_below(headers, lines, separator)
    below = slice(1 + units_below, None)
    if not lines[below]:
        _parse_header(headers, name, rows[0])
        raise WeatherError(f"{name} has a header but no rows: it needs at least a day of hours.")
    cells = _read_cells(lines[below], rows[below], separator, len(headers), name)
    return table_shape.Table(name, headers, cells, pd.Series(rows[below]))


def _columns_with_units(
    whole: table_shape.Table, header_row: int, answers: answers_of.Answers
) -> tuple[dict[str, Column], list[str]]:
    """Recognised columns by name, with units from answers and columns of units, and the headers of unused columns."""
    columns, unused = _parse_header(whole.headers, whole.name, header_row)
    if "date" in columns and not whole.cells[columns["date"].position].str.contains(r"\d").any():
        unused.append(columns.pop("date").header.strip())  # the day of the week
    for column, unit in answers.units.items():
        if column not in columns:
            raise WeatherError(
                f"{whole.name}: a unit is given for {column}, but there is no such column. Leave it out."
            )
        columns[column].unit = unit
    of_units = table_shape.take_units_beside(whole, columns, answers)
    return columns, [one for one in unused if one not in {whole.headers[at].strip() for at in of_units}]


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

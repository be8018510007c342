"""An hourly table of measured weather as people keep it: a header with names and units, one row for each time.

Names, units and separators are taken tolerantly, but nothing silently: what was assumed, averaged or left out is said,
what is ambiguous (a decimal comma, a date that reads two ways, a column whose unit cannot be right) is asked back.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.season.weather import times
from pondheat.season.weather.record import MEASURED, Record, WeatherFault

# column -> the names it goes by, words in lower case; the library's own name need not be repeated
_NAMES = {
    "air_temp": "air temp;air temperature;temp air;temp;temperature;outside temp;outside temperature;outdoor "
    "temp;outdoor temperature;dry bulb;t2m;ta;tair",
    "rel_humidity": "rel humidity;relative humidity;humidity;outdoor humidity;outside humidity;rh;hum",
    "wind_speed": "wind speed;windspeed;wind;ws;wspd",
    "solar": "solar;ghi;global irradiance;global radiation;global horizontal irradiance;solar radiation;solar "
    "irradiance;shortwave radiation;irradiance;radiation;sun;g",
    "cloud_cover": "cloud cover;cloudcover;cloud;clouds;cloudiness;total cloud;total cloud cover;sky cover;total "
    "sky cover",
    "sky_long_wave": "sky long wave;sky longwave;long wave down;longwave down;long wave;longwave;infrared",
    "pressure": "pressure;air pressure;station pressure;surface pressure;atmospheric pressure;sp",
    "dew_point": "dew point;dewpoint;dew point temperature;temp dew;dew;td",
    "date": "date;day",
    "time": "time;date time;datetime;timestamp;time start;start;time end;end;local time;date and time",
}
_BY_NAME = {name: column for column, names in _NAMES.items() for name in names.split(";")}
_UNITS = {
    "air_temp": "degC",
    "dew_point": "degC",
    "rel_humidity": "dimensionless",
    "wind_speed": "m/s",
    "solar": "W/m**2",
    "cloud_cover": "dimensionless",
    "sky_long_wave": "W/m**2",
    "pressure": "Pa",
}
_EXAMPLES = {
    "air_temp": "°F",
    "rel_humidity": "%",
    "wind_speed": "km/h",
    "solar": "kJ/m²",
    "cloud_cover": "oktas",
    "sky_long_wave": "W/m²",
    "pressure": "hPa",
}
_RANGE_OF = {"dew_point": "air_temp"}
_EIGHTHS, _TENTHS = {"okta", "oktas", "eighth", "eighths", "1/8", "/8"}, {"tenth", "tenths", "1/10", "/10"}
_PLAIN = {"fraction", "0-1", "0–1", "-", "–", "1", "share"}
_RESPELT = {
    "w m-2": "W/m²",
    "w m^-2": "W/m²",
    "w m2": "W/m²",
    "wm2": "W/m²",
    "w/m2": "W/m²",
    "wh m2": "Wh/m²",
    "wh/m2": "Wh/m²",
    "m s-1": "m/s",
    "m s^-1": "m/s",
    "m s": "m/s",
    "ms": "m/s",
    "km h": "km/h",
    "deg c": "°C",
    "deg f": "°F",
    "percentage": "%",
}
_ABOUT = re.compile(r"\s*#\s*(place|source|latitude|longitude|altitude|wind height)\s*[:=]\s*(.+?)\s*$", re.I)
_NOTHING = {"", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "missing", "m"}
# numbers that loggers and archives write for "missing"; taken so only where they cannot be meant
_CODES = {
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


@dataclass
class _Column:
    at: int
    header: str
    unit: str
    height: float | None = None  # of the wind [m]


def read_table(text: str, name: str, timezone: str) -> Record:
    """The `Record` of an hourly table; `WeatherFault` with the row and the reason where it cannot be read."""
    about, rows, lines = _lines(text)
    if not lines:
        raise WeatherFault(f"{name} holds no table.")
    separator = max("\t;,", key=lines[0].count)
    if not lines[0].count(separator):
        raise WeatherFault(
            f"Row {rows[0]} of {name}, “{lines[0][:40]}”, is to be a header with columns separated by "
            "commas, semicolons or tabs, such as: time, air_temp [°C], rel_humidity [%], wind_speed "
            "[m/s], solar [W/m²]."
        )
    headers = next(csv.reader([lines[0]], delimiter=separator))
    columns, unused = _header(headers, name, rows[0])
    if len(lines) == 1:
        raise WeatherFault(f"{name} has a header and no rows.")
    cells = _cells(lines[1:], rows[1:], separator, len(headers), name)
    row = pd.Series(rows[1:])
    notes = [f"Columns of {name} not used: {', '.join(unused)}."] if unused else []

    stamps = times.read(
        cells[columns["time"].at],
        cells[columns["date"].at] if "date" in columns else None,
        columns["time"].header,
        row,
        timezone,
        notes,
    )
    table = pd.DataFrame({"row": row.to_numpy()})
    for column in [each for each in columns if each in _UNITS]:
        numbers = _numbers(cells[columns[column].at], columns[column].header, row, separator)
        factor, shift = _scale(column, columns[column], numbers, stamps.minutes, notes)
        values = numbers * factor + shift
        codes = numbers.isin(_CODES) & ~_plausible(column, values)
        if codes.any():
            notes.append(f"{column}: {int(codes.sum())} values such as {numbers[codes].iloc[0]:g} stand for “missing”.")
        table[column] = values.mask(codes).to_numpy()
    hours = times.hours_of(table, stamps, timezone, notes)
    return _described(hours, about, columns, name, notes)


def _described(hours: pd.DataFrame, about: dict, columns: dict, name: str, notes: list[str]) -> Record:
    """The record, with what comment lines say about the place."""
    record = Record(hours, MEASURED, about.get("place", name), about.get("source", f"the file {name}"), notes=notes)
    try:
        for key, unit in (("latitude", "deg"), ("longitude", "deg"), ("altitude", "m"), ("wind height", "m")):
            if key in about:
                value = units.parse(about[key], unit)
                ranges.require(**{key.replace(" ", "_"): value})
                setattr(record, key.replace(" ", "_"), value)
    except ValueError as error:
        raise WeatherFault(f"In the comment lines of {name}: {error}") from None
    if "wind_speed" in columns and columns["wind_speed"].height is not None:
        record.wind_height = columns["wind_speed"].height
    return record


# --- lines, header, cells -----------------------------------------------------------------------------------------


def _lines(text: str) -> tuple[dict[str, str], list[int], list[str]]:
    """What comment lines say (“# place: …”), and the other lines with their numbers in the file."""
    about: dict[str, str] = {}
    rows, lines = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("#"):
            said = _ABOUT.match(line)
            if said:
                about[said[1].lower()] = said[2]
        elif line.strip(" \t,;"):
            rows.append(number)
            lines.append(line)
    return about, rows, lines


def _header(headers: list[str], name: str, row: int) -> tuple[dict[str, _Column], list[str]]:
    columns: dict[str, _Column] = {}
    unused = []
    for at, header in enumerate(headers):
        found = _column_of(header)
        if found is None:
            unused += [header.strip()] if header.strip() else []
            continue
        column, unit, height = found
        if column in columns:
            raise WeatherFault(
                f"Two columns of {name} look like {column}: “{columns[column].header.strip()}” and "
                f"“{header.strip()}”. Rename or remove one of them."
            )
        columns[column] = _Column(at, header, unit, height)
    if "time" not in columns and "date" in columns:
        columns["time"] = columns.pop("date")
    if "time" not in columns or "air_temp" not in columns:
        lacking = "time" if "time" not in columns else "air_temp"
        raise WeatherFault(
            f"No column named {lacking} is in row {row} of {name}, which was taken for the header "
            f"({', '.join(h.strip() for h in headers[:8]) or 'empty'}). Put # in front of lines above "
            "the header."
        )
    return columns, unused


def _column_of(header: str) -> tuple[str, str, float | None] | None:
    """Column, written unit and height of a header such as “Wind speed (mph at 4 m)”, “wind [m/s] at 4 m” or “air_temp_degC”."""
    found = re.fullmatch(
        r"\s*([^\[(]*?)\s*(?:[\[(](.*)[\])])?\s*((?:\bat\s)?\s*\d+(?:\.\d+)?\s*(?:m|ft))?\s*", header.strip().strip('"')
    )
    if not found:
        return None
    bare, inside = found[1], f"{found[2] or ''} {found[3] or ''}".strip()  # “wind [m/s] at 10 m” too
    words = [word for word in re.split(r"[\s_.\-]+", bare.lower()) if word]
    for count in range(len(words), 0, -1):
        column = _BY_NAME.get(" ".join(words[:count]))
        if column is None:
            continue
        rest, height = " ".join(words[count:]), None
        for place in (rest, inside):
            metres = re.search(r"(?:^|\s|\bat\s*)(\d+(?:\.\d+)?)\s*(m|ft)(?=\s|$)", place)
            if metres:
                height = units.parse(f"{metres[1]} {metres[2]}", "m")
                rest, inside = (text.replace(metres[0], "").strip() for text in (rest, inside))
                break
        if column in ("time", "date"):
            return (column, "", None) if not rest or rest in ("utc", "gmt", "start", "end") else None
        inside = re.sub(r"\s*\bat$", "", inside).strip()
        rest = re.sub(r"\s*\bat$", "", rest).strip()
        if rest and not _is_unit(column, rest):
            return None  # “wind direction”, “temp min”: another quantity
        return column, inside or rest, height
    return None


def _is_unit(column: str, written: str) -> bool:
    try:
        _linear(column, written, 60.0)
    except units.Unreadable:
        return False
    return True


def _cells(lines: list[str], rows: list[int], separator: str, width: int, name: str) -> pd.DataFrame:
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
        raise WeatherFault(
            f"Row {long[0]} of {name} has more fields than the header has columns ({width}): is a "
            "decimal comma or an unquoted separator in it?"
        )
    if cells is None or len(cells) != len(lines):
        raise WeatherFault(f"The rows of {name} cannot be told apart: is a quotation mark left open somewhere?")
    return cells.fillna("")


# --- numbers and units --------------------------------------------------------------------------------------------


def _numbers(cells: pd.Series, header: str, row: pd.Series, separator: str) -> pd.Series:
    clean = cells.astype(str).str.strip().str.replace("−", "-", regex=False)
    clean = clean.mask(clean.str.lower().isin(_NOTHING), "")
    comma = clean.str.fullmatch(r"[-+]?\d*,\d+")
    if comma.any():
        if separator != ";":
            at = int(np.flatnonzero(comma)[0])
            raise WeatherFault(
                f"Row {row[at]}, {header.strip()}: is “{clean[at]}” meant as "
                f"{clean[at].replace(',', '.')}? A decimal comma is read only where semicolons "
                "separate the columns."
            )
        clean = clean.mask(comma, clean.str.replace(",", ".", regex=False))
    numbers = pd.to_numeric(clean.mask(clean == ""), errors="coerce")
    wrong = numbers.isna() & (clean != "")
    if wrong.any():
        at = int(np.flatnonzero(wrong)[0])
        raise WeatherFault(
            f"Row {row[at]}, {header.strip()}: “{clean[at][:40]}” is not a number"
            + (f" (and {int(wrong.sum()) - 1} more in this column)." if wrong.sum() > 1 else ".")
        )
    return numbers.astype(float).replace([np.inf, -np.inf], np.nan)


def _plausible(column: str, values) -> pd.Series:
    limits = ranges.RANGES[_RANGE_OF.get(column, column)]
    return (values >= limits.least) & (values <= limits.most)


def _linear(column: str, written: str, minutes: float) -> tuple[float, float]:
    """Factor and shift that turn the written unit into the column's own."""
    unit, low = _UNITS[column], written.lower().strip()
    if column == "cloud_cover" and low in _EIGHTHS | _TENTHS:
        return (1 / 8 if low in _EIGHTHS else 1 / 10), 0.0
    if unit == "dimensionless" and low in _PLAIN:
        return 1.0, 0.0
    spelt = _RESPELT.get(low, written)
    try:
        shift = units.parse(f"0 {spelt}", unit)
        return units.parse(f"1 {spelt}", unit) - shift, shift
    except units.WrongDimension:
        if unit != "W/m**2":
            raise
        # energy gathered in one interval
        return units.parse(f"1 {spelt}", "Wh/m**2") * 60 / minutes, 0.0


def _scale(column: str, said: _Column, numbers: pd.Series, minutes: float, notes: list[str]) -> tuple[float, float]:
    if said.unit:
        try:
            factor, shift = _linear(column, said.unit, minutes)
        except units.Unreadable as error:
            raise WeatherFault(
                f"The unit of the column “{said.header.strip()}” cannot be used for {column}: {error}"
            ) from None
        if column in ("solar", "sky_long_wave") and "h" in said.unit.lower().replace("w/m", ""):
            notes.append(
                f"{column}: [{said.unit}] is energy gathered in {minutes:g} minutes, turned into its mean power."
            )
        return factor, shift
    name = _RANGE_OF.get(column, column)
    given = numbers[~numbers.isin(_CODES)].dropna()
    for value in (given.min(), given.max()) if len(given) else ():
        sentence = ranges.range_error(name, float(value))
        if sentence:
            raise WeatherFault(
                f"The column “{said.header.strip()}” has no unit and cannot be in {_shown(column)}: "
                f"{sentence} Write the unit into the header, as in {column} [{_EXAMPLES[name]}]."
            )
    span = f" ({given.min():g} to {given.max():g})" if len(given) else ""
    notes.append(f"{column}: the header gives no unit; {_shown(column)} is assumed{span}.")
    return 1.0, 0.0


def _shown(column: str) -> str:
    return units.pretty(_UNITS[column]) or "a fraction from 0 to 1"

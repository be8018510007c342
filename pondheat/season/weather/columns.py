"""Columns of an hourly weather table: the names and units people write in headers, and their conversion."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core import units

# column -> its names in headers, in lower case
COLUMN_NAMES = {
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
_COLUMN_BY_NAME = {name: column for column, names in COLUMN_NAMES.items() for name in names.split(";")}
COLUMN_UNITS = {
    "air_temp": "degC",
    "dew_point": "degC",
    "rel_humidity": "dimensionless",
    "wind_speed": "m/s",
    "solar": "W/m**2",
    "cloud_cover": "dimensionless",
    "sky_long_wave": "W/m**2",
    "pressure": "Pa",
}
RANGE_NAMES = {"dew_point": "air_temp"}
_EIGHTHS, _TENTHS = {"okta", "oktas", "eighth", "eighths", "1/8", "/8"}, {"tenth", "tenths", "1/10", "/10"}
_FRACTION_UNITS = {"fraction", "0-1", "0–1", "-", "–", "1", "share"}
_UNIT_SPELLINGS = {
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


@dataclass
class Column:
    """A recognised column: position in the table, header, written unit, and height of a wind measurement [m]."""

    position: int
    header: str
    unit: str
    height: float | None = None


def parse_column_header(header: str) -> tuple[str, str, float | None] | None:
    """Column name, written unit and height [m] of a header, or None for a column that is not used.

    header: for instance “Wind speed (mph at 4 m)”, “wind [m/s] at 4 m” or “air_temp_degC”.
    """
    found = re.fullmatch(
        r"\s*([^\[(]*?)\s*(?:[\[(](.*)[\])])?\s*((?:\bat\s)?\s*\d+(?:\.\d+)?\s*(?:m|ft))?\s*", header.strip().strip('"')
    )
    if not found:
        return None
    bare, inside = found[1], f"{found[2] or ''} {found[3] or ''}".strip()  # the height may follow the brackets
    words = [word for word in re.split(r"[\s_.\-]+", bare.lower()) if word]
    for count in range(len(words), 0, -1):
        column = _COLUMN_BY_NAME.get(" ".join(words[:count]))
        if column is None:
            continue
        rest = " ".join(words[count:])
        rest, inside, height = _split_height(rest, inside)
        if column in ("time", "date"):
            return (column, "", None) if not rest or rest in ("utc", "gmt", "start", "end") else None
        if rest and not _is_unit(column, rest):
            return None  # another quantity, such as “wind direction” or “temp min”
        return column, inside or rest, height
    return None


def _split_height(rest: str, inside: str) -> tuple[str, str, float | None]:
    """The words after a column's name and those in brackets without a height such as “at 4 m”, and the height [m]."""
    height = None
    for text in (rest, inside):
        found = re.search(r"(?:^|\s|\bat\s*)(\d+(?:\.\d+)?)\s*(m|ft)(?=\s|$)", text)
        if found:
            height = units.parse(f"{found[1]} {found[2]}", "m")
            rest, inside = (each.replace(found[0], "").strip() for each in (rest, inside))
            break
    rest, inside = (re.sub(r"\s*\bat$", "", each).strip() for each in (rest, inside))
    return rest, inside, height


def _is_unit(column: str, written: str) -> bool:
    """Whether the text is a unit in which the column can be given."""
    try:
        unit_conversion(column, written, 60.0)
    except units.Unreadable:
        return False
    return True


def unit_conversion(column: str, written: str, minutes: float) -> tuple[float, float]:
    """Factor and offset that convert a column's written unit into its own.

    minutes: the usual interval between rows, over which an energy such as Wh/m² was summed. Raises
    `core.units.Unreadable` for a unit of another dimension.
    """
    unit, low = COLUMN_UNITS[column], written.lower().strip()
    if column == "cloud_cover" and low in _EIGHTHS | _TENTHS:
        return (1 / 8 if low in _EIGHTHS else 1 / 10), 0.0
    if unit == "dimensionless" and low in _FRACTION_UNITS:
        return 1.0, 0.0
    spelt = _UNIT_SPELLINGS.get(low, written)
    try:
        offset = units.parse(f"0 {spelt}", unit)
        return units.parse(f"1 {spelt}", unit) - offset, offset
    except units.WrongDimension:
        if unit != "W/m**2":
            raise
        # energy summed over one interval
        return units.parse(f"1 {spelt}", "Wh/m**2") * 60 / minutes, 0.0

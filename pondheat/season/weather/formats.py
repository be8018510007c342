"""Weather files: reading the text, detecting the format and choosing its reader."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from pondheat.core.files import NotRead, read_input
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.decoding import as_text
from pondheat.core.tables.read_log import ReadingsFault, ReadLog
from pondheat.season.weather import answers, pvgis_reader, typical_years
from pondheat.season.weather.record import Record, WeatherError

_PARSE_ERRORS = (ValueError, KeyError, IndexError, TypeError, AttributeError, StopIteration, pd.errors.ParserError)
READERS: dict[str, tuple[Callable[[Path, str], Record], str]] = {  # format -> reader, name in messages
    "epw": (typical_years.read_epw, "an EPW file"),
    "tmy3": (typical_years.read_tmy3, "a TMY3 file"),
    "tmy2": (typical_years.read_tmy2, "a TMY2 file"),
    "try": (typical_years.read_try2010, "a German test reference year"),
    "pvgis": (pvgis_reader.read_pvgis, "a PVGIS file"),
}


def read_text(path: Path) -> tuple[str, list[str]]:
    """Text of a file, and notes on how it was unpacked and decoded; raises `WeatherError` for anything but text."""
    try:
        raw = read_input(path)
    except NotRead as wrong:
        raise WeatherError(str(wrong)) from None
    except OSError as error:
        raise WeatherError(f"{path} cannot be read: {error.strerror or error}.") from None
    if not raw.strip():
        raise WeatherError(f"{path.name} is empty: it should be hourly weather. Download or save it again.")
    read_log = ReadLog()
    try:
        data = unpacked(raw, path.name, answers.of_shell().worksheet, read_log, option="--weather-worksheet …")
        text = as_text(data, path.name, read_log)
    except ReadingsFault as wrong:
        raise WeatherError(str(wrong)) from None
    return text, [*read_log.interpretation, *(one.sentence for one in read_log.repairs)]


def detect_format(text: str, suffix: str = "") -> str:
    """Format of a weather file, from its content: epw, tmy3, tmy2, try, pvgis, toml or table.

    text: of the file; suffix: its extension, such as “.toml”. Raises `WeatherError` for a web page.

    >>> detect_format("LOCATION,Somewhere,-,-,-,-,52.0,1.0,0.0,10")
    'epw'
    """
    head = text[:20_000]
    lines = head.splitlines() or [""]
    first, second = lines[0], lines[1] if len(lines) > 1 else ""
    if first.upper().startswith("LOCATION,"):
        return "epw"
    if second.startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return "tmy3"
    if re.match(r"\s?\d{5}\s+\S.*\s-?\d+\s+[NS]\s+\d+\s+\d+\s+[EW]\s+\d+\s+\d+\s+-?\d+", first):
        return "tmy2"
    if re.search(r"^\*\*\*", head, re.M) and re.search(r"^\s*(RG|RW)\s", head, re.M) or "Art des TRY" in head:
        return "try"
    if first.startswith("Latitude (decimal degrees)"):
        return "pvgis"
    if head.lstrip().startswith("{") and re.search(r'"(inputs|outputs|meta|months_selected)"', head):
        return "pvgis"
    if re.match(r"\s*<(!doctype|html)", head, re.I):
        raise WeatherError(
            "This file is a web page, not weather data. The download probably failed; download it again."
        )
    if suffix == ".toml" or re.search(r"^\s*(air_temp|daily_range)\s*=", head, re.M):
        return "toml"
    return "table"


def read_file(path: Path, kind: str, text: str) -> Record:
    """Record from the text of a file in one of the formats of `READERS`; raises `WeatherError` where it is damaged."""
    reader, name = READERS[kind]
    try:
        return reader(path, text)
    except WeatherError:
        raise
    except _PARSE_ERRORS as error:
        reason = (str(error).strip().splitlines() or [type(error).__name__])[0][:100]
        raise WeatherError(
            f"{path.name} looks like {name} but cannot be read as one ({reason}). It may be cut short or edited; "
            "download it again."
        ) from None

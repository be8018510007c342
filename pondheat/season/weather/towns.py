"""Look up a town by its name, offline: where it is, and its time zone.

The list has the 34,000 towns of the GeoNames gazetteer with 15,000 people or more (geonames.org, CC BY 4.0), extracted
by `tests/make_towns.py`. For smaller places a reader gives a town near by, or latitude and longitude.
"""

from __future__ import annotations

import difflib
import functools
import gzip
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from pondheat.core import ranges
from pondheat.season.weather.record import WeatherError

TOWNS = Path(__file__).with_name("towns.tsv.gz")
CREDIT = "Town names and positions: GeoNames, geonames.org, CC BY 4.0"
STEP = 0.1  # degrees a position is rounded to before it is sent: about 11 km by 7 km in Britain
_MOST_SHOWN = 8  # towns of the same name, or similar names, listed in a message
_LIKE = 0.72  # least similarity of a name that is suggested (judgement)
_LONGEST = 80  # characters of a place
# Letters that Unicode does not split into a plain letter and an accent, as people usually type them.
_PLAIN = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})
_OTHER_CODES = {"uk": "GB", "great britain": "GB", "britain": "GB", "usa": "US", "america": "US", "eire": "IE"}
_NUMBER = r"([-+−]?\d+(?:\.\d+)?)\s*°?\s*"
_POSITION = re.compile(rf"{_NUMBER}([NS]?)\s*[,;\s]\s*{_NUMBER}([EW]?)", re.IGNORECASE)


@dataclass(frozen=True)
class Town:
    """A place on Earth.

    label: how it is shown, and found again: “Leeds, England, GB”; latitude, longitude: [deg]; timezone: IANA name,
    "" where only a position was given.
    """

    label: str
    latitude: float
    longitude: float
    timezone: str = ""

    @property
    def rounded(self) -> tuple[float, float]:
        """Latitude and longitude rounded to 0.1°, the only ones that are ever sent [deg]."""
        return round(self.latitude, 1) + 0.0, round(self.longitude, 1) + 0.0


class _Row(NamedTuple):
    """A town of the list; people: population in thousands; others: its other names, folded."""

    name: str
    country: str
    region: str
    latitude: float
    longitude: float
    timezone: str
    people: int
    others: tuple[str, ...]


class _List(NamedTuple):
    """The whole list: names of countries and regions by code, and towns by folded name."""

    countries: dict[str, str]
    regions: dict[tuple[str, str], str]
    by_name: dict[str, list[_Row]]


def folded(text: str) -> str:
    """Text in lower case without accents and punctuation, for comparing names.

    >>> folded("Saint-Étienne"), folded("Newcastle upon Tyne"), folded("Łódź")
    ('saint etienne', 'newcastle upon tyne', 'lodz')
    """
    letters = text.casefold().translate(_PLAIN)
    if not letters.isascii():
        letters = "".join(one for one in unicodedata.normalize("NFKD", letters) if not unicodedata.combining(one))
    return " ".join(re.sub(r"[^\w]+", " ", letters.replace("'", "").replace("’", "")).split())


@functools.cache
def _list() -> _List:
    """The list that comes with the package, read once."""
    found = _List({}, {}, {})
    for line in gzip.decompress(TOWNS.read_bytes()).decode("utf-8").splitlines():
        cells = line.split("\t")
        if cells[0] == "#":
            _, country, region, name = cells
            if region:
                found.regions[country, region] = name
            else:
                found.countries[country] = name
            continue
        country, region, timezone, name, latitude, longitude, people, others = cells
        others_of = tuple(filter(None, others.split("|")))
        row = _Row(name, country, region, float(latitude), float(longitude), timezone, int(people), others_of)
        for known in {folded(name), *others_of}:
            found.by_name.setdefault(known, []).append(row)
    return found


def find(text: str) -> Town:
    """The place that a reader names: a town of the list, or latitude and longitude.

    text: “Leeds”, “Newport, Wales”, “Springfield, Illinois, US”, or “53.8, -1.5”; capitals and accents do not matter.
    Raises `WeatherError` with suggestions for a name that is not in the list, or is there several times.
    """
    typed = " ".join(str(text).split())
    if not typed or len(typed) > _LONGEST:
        long = f"“{typed[:30]}…” is too long for a town's name. " if typed else ""
        raise WeatherError(
            f"{long}Name a town, such as “Leeds, GB”, or give latitude and longitude, such as “53.8, -1.5”."
        )
    if position := _POSITION.fullmatch(typed):
        return _position(*position.groups())
    name, *beside = [part.strip() for part in typed.split(",")]
    rows = _list().by_name.get(folded(name), [])
    if not rows:
        raise WeatherError(_unknown(name, tuple(beside)))
    fitting = [row for row in rows if _is_in(row, beside)]
    if not fitting:
        raise WeatherError(f"“{name}” is known, but not in “{', '.join(beside)}”. Which is yours? {_choices(rows)}")
    if beside and len(fitting) > 1:  # within one area, a town's main name takes precedence over another's second name
        fitting = [row for row in fitting if folded(row.name) == folded(name)] or fitting
    if len(fitting) > 1:
        raise WeatherError(f"{len(fitting)} towns are called “{name}”. Which is yours? {_choices(fitting)}")
    row = fitting[0]
    return Town(_label(row), row.latitude, row.longitude, row.timezone)


def _position(north: str, side: str, east: str, other_side: str) -> Town:
    """The place at latitude and longitude as typed."""
    latitude, longitude = (float(number.replace("−", "-")) for number in (north, east))
    latitude = -abs(latitude) if side.upper() == "S" else latitude
    longitude = -abs(longitude) if other_side.upper() == "W" else longitude
    try:
        ranges.require(latitude=latitude, longitude=longitude)
    except ranges.OutOfRange as wrong:
        raise WeatherError(f"{wrong} Write latitude first, such as “53.8, -1.5” (west and south are −).") from None
    return Town(f"{latitude:g}, {longitude:g}", latitude, longitude)


def _area(row: _Row) -> str:
    """Region and country of a town, as in its label."""
    region = _list().regions.get((row.country, row.region), "")
    return ", ".join(filter(None, (region, row.country)))


def _label(row: _Row) -> str:
    """The shortest text that finds this town alone; latitude and longitude where no text does."""
    label = f"{row.name}, {_area(row)}"
    alike = _list().by_name[folded(row.name)]
    same = [other for other in alike if folded(other.name) == folded(row.name) and _area(other) == _area(row)]
    return label if len(same) == 1 else f"{row.latitude:g}, {row.longitude:g}"


def _names_of_area(row: _Row) -> set[str]:
    """All folded names and codes of a town's region and country."""
    known = _list()
    codes = {code for code, country in _OTHER_CODES.items() if country == row.country}
    region = known.regions.get((row.country, row.region), "")
    return {folded(part) for part in (row.country, row.region, region, known.countries[row.country])} - {""} | codes


def _is_in(row: _Row, areas: Sequence[str]) -> bool:
    """Whether a town is in all of these regions and countries."""
    return all(folded(part) in _names_of_area(row) for part in areas if part)


def _choices(rows: list[_Row]) -> str:
    """The largest of several towns, each as text that finds it."""
    rows = sorted(rows, key=lambda row: -row.people)
    shown = []
    for row in rows[:_MOST_SHOWN]:
        label, people = _label(row), f"{row.people * 1000:,} people"
        shown.append(f"“{label}” ({people})" if label[0].isalpha() else f"“{label}” ({_area(row)}, {people})")
    more = f" and {len(rows) - _MOST_SHOWN} smaller ones" if len(rows) > _MOST_SHOWN else ""
    return f"{'; '.join(shown)}{more}."


@functools.cache
def _unknown(name: str, areas: tuple[str, ...]) -> str:
    """Message for a name that is not in the list, with similar names that are, in these regions and countries."""
    known, wanted = _list().by_name, folded(name)
    within = [one for one, rows in known.items() if one[:1] == wanted[:1]]
    if areas:
        within = [one for one in within if any(_is_in(row, areas) for row in known[one])]
    near = difflib.get_close_matches(wanted, within, _MOST_SHOWN // 2, _LIKE)
    rows = [row for one in near for row in sorted(known[one], key=lambda row: -row.people)[:2] if _is_in(row, areas)]
    labels = list(dict.fromkeys(map(_label, rows)))
    hint = f" Did you mean {' or '.join(f'“{label}”' for label in labels)}?" if labels else ""
    return (
        f"“{name}” is not in the list of towns, which has those with 15,000 people or more.{hint} You can also name a "
        "larger town near by, or give latitude and longitude, such as “53.8, -1.5”."
    )

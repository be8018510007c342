"""Where a time zone lies: country and coordinates of the place it is named after, from the IANA database."""

from __future__ import annotations

import functools
import os
import re
from importlib import resources
from typing import NamedTuple

# Names of offsets that present tables link to a city, which whoever writes them need not mean.
_OFFSETS = ("CET", "EET", "EST", "HST", "MET", "MST", "WET")


class ZonePlace(NamedTuple):
    """The place a time zone is named after.

    zone: its present name; country: ISO 3166 code; latitude, longitude: [deg].
    """

    zone: str
    country: str
    latitude: float
    longitude: float


def zone_place(timezone: str) -> ZonePlace | None:
    """The place a time zone is named after; None for zones of no place, such as UTC or CET.

    timezone: IANA name, older names included. A zone may be hundreds of kilometres wide and cross a border, so this
    tells the country and the half of the Earth, not where a pond is. Source: zone.tab and the links of tzdata.zi, both
    in the tzdata package.

    >>> zone_place("Australia/Sydney").country, round(zone_place("Australia/Sydney").latitude)
    ('AU', -34)
    """
    if timezone in _OFFSETS:
        return None
    places = _places()
    return places.get(timezone) or places.get(_links().get(timezone, ""))


def is_southern(timezone: str) -> bool:
    """Whether a time zone is named after a place south of the equator; False for zones of no place."""
    place = zone_place(timezone)
    return place is not None and place.latitude < 0


def own_zone() -> str | None:
    """The time zone that this computer keeps, as an IANA name; None where it does not tell.

    Source: the variable TZ, otherwise what /etc/localtime is a link to; other systems do not name it.
    """
    named = os.environ.get("TZ", "").removeprefix(":") or os.path.realpath("/etc/localtime").partition("zoneinfo/")[2]
    return named if zone_place(named) is not None else None


@functools.cache
def _places() -> dict[str, ZonePlace]:
    """Place of each zone that zone.tab names."""
    rows = (line.split("\t") for line in _file("zone.tab").splitlines() if not line.startswith("#"))
    return {zone: ZonePlace(zone, country, *_degrees(where)) for country, where, zone, *_ in rows}


@functools.cache
def _links() -> dict[str, str]:
    """Present name of each older name of a zone."""
    links = (line.split() for line in _file("tzdata.zi").splitlines() if line.startswith("L "))
    return {link: target for _, target, link in links}


def _file(name: str) -> str:
    return resources.files("tzdata").joinpath("zoneinfo", name).read_text(encoding="utf-8")


def _degrees(text: str) -> tuple[float, float]:
    """Latitude and longitude [deg] of a place written ±DDMM±DDDMM or ±DDMMSS±DDDMMSS."""
    parts = re.findall(r"([+-])(\d+)", text)
    north, east = (
        (-1 if sign == "-" else 1)
        * (int(digits[:whole]) + int(digits[whole : whole + 2]) / 60 + int(digits[whole + 2 :] or 0) / 3600)
        for (sign, digits), whole in zip(parts, (2, 3))
    )
    return north, east

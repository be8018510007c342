"""Weather for a town: fetched, or that of the nearest built-in place if nothing has been fetched yet."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

from pondheat.season.weather import elevation, fetching, stored, weather
from pondheat.season.weather.fetching import POWER, PVGIS, Request
from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.towns import CREDIT, Town
from pondheat.season.weather.weather import Weather

SOURCE = "town"  # the [weather] source that means this weather
_YEAR = dt.timedelta(days=365)  # of hours before the first day, so that the ground's yearly wave is known
_WIND_NOTE = (
    "The wind is the average over a weather model's grid square, tens of kilometres wide. In hills, valleys and on "
    "coasts the real wind may be a third stronger or weaker, which the likely range allows for"
)
# Standard deviation of the logarithm of real wind over the source's, over a season. Judgement: ERA5 follows 245
# stations in Europe well (Molina et al. 2021, Int. J. Climatology 41); over 40 stations in China it was 4 % off on
# average, 33 % at most (abstract read); MERRA-2 is mostly too windy over land (Brune et al. 2021, Adv. Sci. Res. 18).
WIND_UNCERTAINTY = {PVGIS.name: 0.2, POWER.name: 0.3}
NEAR = 50.0  # km, up to which another place's weather is as good as one's own, hills and coasts apart (judgement)
# Latitude and longitude [deg] of the built-in places, to find the nearest without reading all their files.
POSITIONS = {
    "bremerhaven": (53.53, 8.58),
    "rostock": (54.18, 12.08),
    "hamburg": (53.63, 10.00),
    "potsdam": (52.38, 13.07),
    "essen": (51.40, 6.97),
    "bad marienberg": (50.67, 7.97),
    "kassel": (51.30, 9.45),
    "braunlage": (51.73, 10.60),
    "chemnitz": (50.80, 12.87),
    "hof": (50.32, 11.88),
    "fichtelberg": (50.43, 12.95),
    "mannheim": (49.52, 8.55),
    "muehldorf": (48.28, 12.50),
    "stoetten": (48.67, 9.87),
    "garmisch-partenkirchen": (47.48, 11.07),
    "greensboro": (36.10, -79.95),
    "sand point": (55.32, -160.52),
    "miami": (25.80, -80.27),
    "sollerwick": (52.60, -1.60),
}


def request_for(town: Town, days: tuple[dt.date, dt.date] | None = None) -> Request:
    """What to fetch for a town: a typical year, or for real days their hours and those of the year before."""
    if days is None:
        return Request(town)
    return Request(town, max(days[0] - _YEAR, fetching.FIRST_DAY), days[1])


def read(
    town: Town,
    *,
    timezone: str,
    year: int,
    days: tuple[dt.date, dt.date] | None = None,
    altitude: float | None = None,
    wind_height: float | None = None,
    spread_seed: int | None = None,
    beside: Path | None = None,
) -> Weather:
    """The fetched weather for a town, or that of the nearest built-in place, with a note that says so.

    timezone, year, wind_height, spread_seed: as for `season.weather.weather.read`; days: first and last day, for hours
    of real days instead of a typical year; altitude: height of the pond [m], for which the weather is corrected;
    beside: folder whose `fetched-weather` is looked into before the shell's. Never fetches. Raises `WeatherError` where
    the nearest place is in the other hemisphere.
    """
    request = request_for(town, days)
    # a log's days are also looked for without the year before: a shorter record will do
    wanted = [request] if days is None else [request, Request(town, *days)]
    places = stored.folders(beside)
    kept = next((one for one in (stored.find(each, places) for each in wanted) if one is not None), None)
    north, east = town.latitude, town.longitude
    if kept is None:
        return _stand_in(request, timezone, year, altitude, wind_height, spread_seed)
    record = weather.read(kept.path, timezone=timezone, year=year, latitude=north, longitude=east)
    record = replace(
        record,
        place=town.label,
        source=f"{request.service.credit}; fetched once, kept in {kept.path}",
        notes=(f"{request.service.credit}. {CREDIT}.", *record.notes, f"{_WIND_NOTE}."),
        wind_uncertainty=WIND_UNCERTAINTY[request.service.name],
    )
    if altitude is not None:
        return elevation.at_altitude(record, altitude)
    note = (
        f"This weather is for a height of {record.altitude:.0f} m. If your pond is higher or lower, that is not "
        "corrected: give its height as [place] altitude."
    )
    return replace(record, notes=(*record.notes, note))


def nearest_built_in(town: Town) -> tuple[str, float]:
    """The built-in place nearest to a town, and how far away it is [km].

    Raises `WeatherError` where that is in the other hemisphere, where winter is at another time.
    """
    north, east = town.latitude, town.longitude
    away = {
        name: weather.great_circle_km(north, east, *where)
        for name, where in POSITIONS.items()
        if name in weather.names()  # an installed package has no data folder
    }
    nearest = min(away, key=lambda name: away[name])
    if POSITIONS[nearest][0] * north < 0:
        raise WeatherError(
            f"The weather of {town.label} has not been fetched, and no built-in place is in its hemisphere. Fetch it, "
            "or give a weather file."
        )
    return nearest, away[nearest]


def _stand_in(
    request: Request,
    timezone: str,
    year: int,
    altitude: float | None,
    wind_height: float | None,
    spread_seed: int | None,
) -> Weather:
    """The weather of the nearest built-in place, with a note that says so first."""
    town = request.town
    name, distance = nearest_built_in(town)
    record = weather.read(
        name,
        timezone=timezone,
        year=year,
        latitude=town.latitude,
        longitude=town.longitude,
        altitude=altitude,
        wind_height=wind_height,
        spread_seed=spread_seed,
    )
    note = (
        f"For {town.label} {request.what} has not been fetched yet. The nearest built-in place is used instead: "
        f"{record.place}, {distance:.0f} km away."
    )
    beside = (
        f"This isn't the weather of {town.label}, which has not been fetched, but that of {record.place}, "
        f"{distance:.0f} km away{'' if distance <= NEAR else ', so take the amounts as a rough guess'}."
    )
    return replace(record, notes=(note, *record.notes), stand_in=beside)

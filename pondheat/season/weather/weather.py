"""Hourly weather for a pond from any source: built-in years, files in common formats, monthly normals.

Hours are labelled by their start, in the pond's time zone, without gaps. Repairs, shifts and assumptions are listed in
`Weather.notes`.
"""

from __future__ import annotations

import difflib
import functools
import importlib.resources
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import ranges, units, value_parsers
from pondheat.core.places import DATA
from pondheat.season.degree_days import degree_days
from pondheat.season.weather import answers, bridging, doubts, formats, normals, pvgis_reader, table
from pondheat.season.weather.calendar import (
    local_midnight,
    measured_season,
    place_in_calendar,
    standard_time_index,
    typical_season,
)
from pondheat.season.weather.record import MAX_FILL_HOURS, MEASURED, NORMALS, Record, WeatherError, complete_record
from pondheat.season.weather.times import standard_offset

WEATHER_FOLDER = DATA / "weather"
_TRY_STATIONS = (
    "Bremerhaven",
    "Rostock",
    "Hamburg",
    "Potsdam",
    "Essen",
    "Bad Marienberg",
    "Kassel",
    "Braunlage",
    "Chemnitz",
    "Hof",
    "Fichtelberg",
    "Mannheim",
    "Muehldorf",
    "Stoetten",
    "Garmisch-Partenkirchen",
)
# name -> package and file in it; the data are read in place, not copied
BUILT_IN: dict[str, tuple[str, str]] = {
    **{
        place.lower(): ("demandlib", f"vdi/resources_weather/TRY2010_{number:02d}_Jahr.dat")
        for number, place in enumerate(_TRY_STATIONS, 1)
    },
    "greensboro": ("pvlib", "data/723170TYA.CSV"),
    "sand point": ("pvlib", "data/703165TY.csv"),
    "miami": ("pvlib", "data/12839.tm2"),
}
DEFAULT = "potsdam"
_HEATING_BASE = 18.0  # °C, the usual base of heating degree-days; for a heated pond the base is its water temperature


@dataclass(frozen=True, eq=False)
class Weather:
    """Hourly weather and its origin.

    `hours`: index "time", tz-aware starts of hours without gaps; columns air_temp [°C], rel_humidity [–], wind_speed
    [m/s at `wind_height`], solar [W/m², hourly mean global horizontal irradiance], cloud_cover [–], sky_long_wave
    [W/m², downward long-wave radiation, NaN where the source has none], pressure [Pa]. `latitude`, `longitude` [deg]
    and `altitude` [m] are those of the source; latitude and longitude are None where neither a measured record nor the
    pond gives them. `kind`: “typical year”, “measured” or “made from monthly normals”. `source`: origin and licence.
    `notes`: sentences on repairs and assumptions. `wind_uncertainty`: standard deviation of the logarithm of the real
    wind over this one's, 0 where the source is a station. `bridged`: spans filled from a typical year, as the reader
    asked. `stand_in`: a sentence for beside the result where this is another place's weather than the one asked for.
    """

    hours: pd.DataFrame
    place: str
    latitude: float | None
    longitude: float | None
    altitude: float
    wind_height: float
    kind: str
    source: str
    notes: tuple[str, ...]
    wind_uncertainty: float = 0.0
    bridged: tuple[tuple[pd.Timestamp, pd.Timestamp], ...] = ()
    stand_in: str = ""


def names() -> tuple[str, ...]:
    """Names that `read` accepts without a file: typical years in installed packages, and normals in data/weather."""
    return (*BUILT_IN, *sorted(path.stem for path in WEATHER_FOLDER.glob("*.toml")))


def read(
    source=DEFAULT,
    *,
    timezone: str,
    year: int,
    latitude: float | None = None,
    longitude: float | None = None,
    altitude: float | None = None,
    wind_height: float | None = None,
    spread_seed: int | None = None,
) -> Weather:
    """Weather from a built-in name or a file: hourly CSV, EPW, TMY3, TMY2, TRY 2010, PVGIS or monthly normals.

    `source`: a name from `names()` or a path. `timezone`: IANA name of the pond's zone. `year` [–]: calendar year for a
    typical year; measured weather keeps its own. `latitude` [deg], `longitude` [deg], `altitude` [m]: the pond's place,
    used where the source has none. `wind_height` [m]: height of the wind measurement, where the source does not give
    it. `spread_seed`: see `season.weather.normals.hourly_record`. Standard hours of a typical year are read as those of
    `timezone`; its irradiance remains that of its own place. Raises `WeatherError` with a sentence on what is wrong and
    where.
    """
    ranges.require(latitude=latitude, longitude=longitude, altitude=altitude, wind_height=wind_height, year=year)
    zone = value_parsers.time_zone(timezone).key
    year = int(year)
    if not 1900 <= year <= 2200:
        raise WeatherError(f"The year {year} can't be right; give one from 1900 to 2200.")
    record = _load_record(source, zone, year, latitude, longitude, altitude, spread_seed)
    if spread_seed is not None and record.kind != NORMALS:
        record.notes.append("The seed for day-to-day spread is ignored: only monthly normals use one.")
    if wind_height is not None:
        if record.wind_height not in (None, wind_height):
            record.notes.append(
                f"Wind is taken as measured at {wind_height:g} m, as you asked; the source says {record.wind_height:g} "
                "m."
            )
        record.wind_height = float(wind_height)
    elif record.wind_height is None:
        record.wind_height = 10.0
        record.notes.append(
            "The height of the wind is not given; 10 m is assumed, as at weather stations. For a station in your "
            "garden write its height into the header, as in “wind_speed [m/s at 2 m]”."
        )
    if record.kind == MEASURED:
        hours = record.hours.tz_convert(zone).rename_axis("time")
        if record.altitude is None:
            record.altitude = 0.0
            record.notes.append("No altitude was given; sea level is assumed.")
        record.notes.append(f"Measured weather keeps its own calendar; the year {year} is ignored.")
    else:
        _compare_place(record, latitude, longitude, altitude, zone, year)
        hours = place_in_calendar(record, zone, year)
    assert record.altitude is not None  # every typical year gives its altitude
    north, east = (None if angle is None else float(angle) for angle in (record.latitude, record.longitude))
    return Weather(
        hours,
        record.place,
        north,
        east,
        float(record.altitude),
        record.wind_height,
        record.kind,
        record.source,
        tuple(record.notes),
        bridged=record.bridged,
    )


# --- finding and completing the source ----------------------------------------------------------------------------


def _load_record(source, zone: str, year: int, latitude, longitude, altitude, spread_seed) -> Record:
    """The completed record of a name or a path."""
    name = str(source).strip()
    if name.lower() in BUILT_IN:
        kept = built_in_record(name.lower())
        return replace(kept, notes=list(kept.notes))
    path = WEATHER_FOLDER / f"{name.lower()}.toml" if name.lower() in names() else Path(name)
    path = _expand_home(path)
    if not file_exists(path):
        known = names()
        near = difflib.get_close_matches(name.lower(), known, 3, 0.5)
        hint = f" Did you mean {' or '.join(f'“{one}”' for one in near)}?" if near else ""
        raise WeatherError(
            f"“{name}” is neither a weather file nor a built-in name.{hint} Built-in names: {', '.join(known)}."
        )
    text, notes = formats.read_text(path)
    kind = formats.detect_format(text, path.suffix.lower())
    if kind == "toml":
        seed = normals.DEFAULT_SEED if spread_seed is None else spread_seed
        record = normals.record_of_file(text, path.name, year, seed)
        record.notes[:0] = notes
        return complete_record(record)
    if kind == "table":
        record = table.read_table(text, path.name, zone)
        record.notes[:0] = notes
        for key, given in (("latitude", latitude), ("longitude", longitude), ("altitude", altitude)):
            if getattr(record, key) is None and given is not None:
                setattr(record, key, float(given))
        said = answers.in_text(text, path.name)
        doubts.check(record, record.written, said, record.minutes)
        if said.gaps:
            bridging.bridge(record, built_in_record(bridging.nearest_year(record)), zone)
        if record.latitude is None or record.longitude is None:
            _allow_unknown_place(record, path.name)
    else:
        record = formats.read_file(path, kind, text)
        record.notes[:0] = notes
    had_sun = "solar" in record.hours and record.hours["solar"].notna().any()
    record = complete_record(record)
    if had_sun and record.latitude is not None and record.longitude is not None:
        doubts.note_solar_time_lag(record)
    return record


def _expand_home(path: Path) -> Path:
    """Path with ~ expanded, if possible."""
    try:
        return path.expanduser()
    except RuntimeError:  # "~name" of a user that this computer doesn't know
        return path


def file_exists(path: Path) -> bool:
    """Whether the file exists; False for a path that the operating system rejects."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _allow_unknown_place(record: Record, name: str) -> None:
    """Accept a table without coordinates if nothing in it depends on the sun's position.

    Long-wave radiation makes cloud cover unnecessary. Raises `WeatherError` where irradiance or cloud cover would have
    to be computed from the sun's position.
    """
    hours = record.hours
    lacking = []
    for column in ("solar", "cloud_cover"):
        gaps = hours[column].isna() if column in hours else pd.Series(True, hours.index)
        # shorter gaps are interpolated, whatever the sun's position
        if (gaps.rolling(MAX_FILL_HOURS + 1).sum() > MAX_FILL_HOURS).any():
            lacking.append(column)
    if lacking == ["cloud_cover"] and "sky_long_wave" in hours and hours["sky_long_wave"].notna().all():
        hours["cloud_cover"] = 0.5
        record.notes.append("There is no cloud cover, and none is needed: the file has the radiation from the sky.")
    elif len(lacking) == 1:
        raise WeatherError(
            f"{name} has no {lacking[0]}, which can be worked out from the sun's position, but it does not say where "
            "it was measured: give latitude and longitude (in a pond sheet under [place])."
        )


@functools.cache
def built_in_record(name: str) -> Record:
    """The completed record of a typical year in an installed package; name: key of BUILT_IN. Do not change it."""
    package, inside = BUILT_IN[name]
    try:
        path = Path(str(importlib.resources.files(package) / inside))
    except ModuleNotFoundError:
        raise WeatherError(
            f"The weather for {name} comes with the package {package}, which is not installed."
        ) from None
    text, _ = formats.read_text(path)
    record = complete_record(formats.read_file(path, formats.detect_format(text), text))
    record.source += f"; read from the package {package}"
    return record


def _compare_place(record: Record, latitude, longitude, altitude, zone: str, year: int) -> None:
    """Note distance and height difference between pond and source; rotate a UTC year of the same place to its zone."""
    if latitude is not None and longitude is not None:
        away = great_circle_km(latitude, longitude, record.latitude, record.longitude)
        if away > 50:
            record.notes.append(f"The weather is from a place {away:.0f} km from the pond.")
        elif record.exact_utc:
            own = standard_offset(zone, year) / pd.Timedelta("1h")
            if round(own - record.utc_offset):
                pvgis_reader.roll_to_offset(record, own)
                record.notes.append(
                    "The file is for the pond's own place, so its UTC hours were shifted to the standard time of "
                    f"{zone} instead, UTC{record.utc_offset:+.0f}."
                )
    if altitude is not None and record.altitude is not None and abs(altitude - record.altitude) > 100:
        record.notes.append(
            f"The pond is {abs(altitude - record.altitude):.0f} m {'above' if altitude > record.altitude else 'below'} "
            "the place of the weather; air cools by about [0.65 K] per 100 m, which is not corrected."
        )


def great_circle_km(north, east, other_north, other_east) -> float:
    """Great-circle distance [km]."""
    one, two, across = np.radians(north), np.radians(other_north), np.radians(other_east - east)
    half = np.sin((two - one) / 2) ** 2 + np.cos(one) * np.cos(two) * np.sin(across / 2) ** 2
    return float(2 * 6371 * np.arcsin(np.sqrt(half)))


# --- one season ---------------------------------------------------------------------------------------------------


def season_hours(weather: Weather, start: date | None, end: date | None, spin_up_days: int = 60) -> pd.DataFrame:
    """Hourly weather of a season, preceded by its spin-up period.

    `start`, `end`: local dates, both included; None is the record's own first or last day. `spin_up_days` [d]: days
    before the start. Columns as in `Weather.hours`, and `spin_up` (True before the start). A typical year fits any
    dates and repeats at New Year. A measured record fits the dates it covers; if it starts too late for the spin-up,
    its first three days are repeated. `frame.attrs["notes"]` says which. Raises `WeatherError` for dates not covered.
    """
    ranges.require(spin_up_days=spin_up_days)
    index = pd.DatetimeIndex(weather.hours.index)
    zone = str(index.tz)
    first = index[0] if start is None else local_midnight(start, zone)
    last = (
        index[-1] + pd.Timedelta("1h") if end is None else local_midnight(pd.Timestamp(end) + pd.Timedelta("1D"), zone)
    )
    if first >= last:
        raise WeatherError(f"The season ends ({end}) before it starts ({start}).")
    spin_up = pd.Timedelta(days=spin_up_days)
    if weather.kind == MEASURED:
        found, notes = measured_season(weather.hours, first, last, spin_up, weather.place)
    else:
        found, notes = typical_season(weather.hours, first, last, spin_up)
    found["spin_up"] = found.index < first
    found.attrs["notes"] = tuple(notes)
    return found


# --- summary ------------------------------------------------------------------------------------------------------


def record_degree_days(weather: Weather, base_temp: float) -> float:
    """Degree-days of the whole record below `base_temp` [°C], from daily means in standard time [K·d]."""
    temps = weather.hours["air_temp"]
    days = temps.groupby(standard_time_index(pd.DatetimeIndex(temps.index)).floor("D"))
    shares = days.count() / 24  # 1, except for a measured record's first and last day
    return float(sum(degree_days(mean, base_temp) * share for mean, share in zip(days.mean(), shares)))


def solar_energy(weather: Weather) -> float:
    """Global horizontal radiation summed over the whole record [kWh/m²]."""
    return float(weather.hours["solar"].sum() / 1000)


def summary(weather: Weather) -> str:
    """One line with place, kind, period (unless a year), mean temperature, degree-days and sun; quantities marked."""
    index = weather.hours.index
    days = len(index) / 24
    span = "" if 364.9 < days < 366.1 else f", {index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}"
    return (
        f"{weather.place}, {weather.kind}{span}: mean [{units.digits(weather.hours['air_temp'].mean(), 1)} °C], "
        f"{units.digits(record_degree_days(weather, _HEATING_BASE))} K·d below [{_HEATING_BASE:.0f} °C], sun "
        f"{units.digits(solar_energy(weather))} kWh/m²"
    )

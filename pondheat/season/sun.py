"""Solar radiation at a place: extraterrestrial energy, day length, clear-sky irradiance and the effect of cloud.

Solar positions, extraterrestrial and clear-sky irradiance come from pvlib. Hours are labelled by their start; an hourly
value is the mean of six samples ten minutes apart.
"""

from __future__ import annotations

import functools

import numpy as np
import pandas as pd

from pondheat.core import ranges
from pondheat.core.ranges import plain
from pondheat.heat.sky import cloud_of_dimming, dimming_of_cloud

SUN_FORMULAS = ("ephemeris", "fao_56")
DEFAULT_SUN = "ephemeris"
_COMMON_YEAR = 2025
_SAMPLES_PER_HOUR = 6  # sixty give the same annual sum to 1e-6


class MissingTimeZone(ValueError):
    """The hours carry no time zone, so the sun's position is unknown."""


def _sunset_angle(declination: np.ndarray, latitude: np.ndarray) -> np.ndarray:
    """Hour angle of sunset [rad]: 0 in polar night, π in polar day (FAO-56 eq 25)."""
    return np.arccos(np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0))


@functools.cache
def _noon_declinations() -> np.ndarray:
    """Declination of the sun at noon UTC [rad] on each day of a common year, and of the one after it."""
    from pvlib import solarposition

    noons = pd.date_range(f"{_COMMON_YEAR}-01-01 12:00", periods=366, tz="UTC")
    # seen from the pole, the sun stands as high as its declination
    return np.radians(solarposition.spa_python(noons, 90.0, 0.0)["elevation"].to_numpy())


def _noon_declination(day: np.ndarray) -> np.ndarray:
    """Declination of the sun [rad] on days of the year; leap years shift it by up to 0.2°."""
    return np.interp(day, np.arange(1, 367), _noon_declinations())


def _fao_declination(day: np.ndarray) -> np.ndarray:
    """Declination of the sun [rad] by FAO-56 eq 24, up to 1° off."""
    return 0.409 * np.sin(2 * np.pi * day / 365 - 1.39)


def extraterrestrial_day(day_of_year, latitude, formula=DEFAULT_SUN):
    """Daily extraterrestrial radiation on a horizontal surface [MJ/m²].

    Arguments: `day_of_year` [–] 1 to 366 and `latitude` [deg], north positive; floats or arrays that broadcast.
    `formula`: "ephemeris" (declination at noon by NREL's solar position algorithm, through pvlib; distance by Spencer
    1971; 1366.1 W/m²) or "fao_56" (all by its eq 21 to 25, 1367 W/m²), whose declination is up to 1° off and which its
    examples use. Returns [MJ/m²], float or array. Formula: Ra = (24·3600/π) G (ωs sin φ sin δ + cos φ cos δ sin ωs).
    Valid everywhere, 0 in polar night. Raises `core.ranges.OutOfRange`. Source: FAO-56; its example 8 prints 32.2.

    >>> round(extraterrestrial_day(246, -20, "fao_56"), 1), round(extraterrestrial_day(246, -20), 1)
    (32.2, 31.9)
    """
    from pvlib import irradiance

    ranges.require(day_of_year=day_of_year, latitude=latitude)
    ranges.choose("sun formula", formula, SUN_FORMULAS)
    day, north = np.broadcast_arrays(np.asarray(day_of_year, float), np.asarray(latitude, float))
    if formula == "fao_56":
        declination = _fao_declination(day)
        normal = 0.0820e6 / 60 * (1 + 0.033 * np.cos(2 * np.pi * day / 365))
    else:
        declination = _noon_declination(day)
        normal = np.asarray(irradiance.get_extra_radiation(day.ravel(), method="spencer")).reshape(day.shape)
    sunset, phi = _sunset_angle(declination, north), np.radians(north)
    shape = sunset * np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.sin(sunset)
    return plain(86_400 / np.pi * normal * np.maximum(shape, 0.0) / 1e6)


def daylight_hours(day_of_year, latitude):
    """Day length from sunrise to sunset [h].

    Arguments: `day_of_year` [–] and `latitude` [deg]; floats or arrays that broadcast. Returns [h], 24 in polar day
    and 0 in polar night. Formula: N = 24 ωs/π (FAO-56 eq 34), declination at noon through pvlib. Valid for the
    centre of the sun and a flat horizon without refraction; refraction and the sun's disc add about 10 minutes at 50°.
    Raises `core.ranges.OutOfRange`. Source: FAO-56, example 18 prints 16.1.

    >>> round(daylight_hours(187, 50.8), 1)
    16.1
    """
    ranges.require(day_of_year=day_of_year, latitude=latitude)
    day, north = np.broadcast_arrays(np.asarray(day_of_year, float), np.asarray(latitude, float))
    return plain(24 / np.pi * _sunset_angle(_noon_declination(day), north))


def _sample_times(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """UTC times 5, 15, … 55 minutes into each hour: all hours at 5 minutes past, then all at 15, and so on."""
    if index.tz is None:
        raise MissingTimeZone("These hours carry no time zone; give the index one, such as Europe/London.")
    starts = index.tz_convert("UTC").tz_localize(None).as_unit("ns").to_numpy()
    minutes = np.timedelta64(60 // _SAMPLES_PER_HOUR, "m") * np.arange(_SAMPLES_PER_HOUR) + np.timedelta64(
        30 // _SAMPLES_PER_HOUR, "m"
    )
    return pd.DatetimeIndex((starts[None, :] + minutes[:, None]).ravel(), tz="UTC")


def clear_sky_irradiance(
    index: pd.DatetimeIndex, latitude: float, longitude: float, altitude: float = 0.0
) -> np.ndarray:
    """Hourly mean global horizontal irradiance under a clear sky [W/m²].

    Arguments: `index`, tz-aware starts of hours; `latitude` [deg], `longitude` [deg], `altitude` [m]: floats.
    Returns an array [W/m²] as long as `index`. Formula: simplified Solis with aerosol optical depth 0.1 and 1 cm of
    water vapour (a clean temperate sky), in pvlib. In four typical years (Potsdam, Greensboro, Miami, Sand Point) the
    measured sum over hours reported cloudless is 96 to 100 % of it. Raises `MissingTimeZone`,
    `core.ranges.OutOfRange`. Source: Ineichen 2008, A broadband simplified version of the Solis clear sky model, Solar
    Energy 82.
    """
    from pvlib import atmosphere, clearsky, irradiance, solarposition

    ranges.require(latitude=latitude, longitude=longitude, altitude=altitude)
    times = _sample_times(index)
    elevation = solarposition.ephemeris(times, latitude, longitude)["apparent_elevation"].to_numpy()
    extraterrestrial = np.asarray(irradiance.get_extra_radiation(times, method="spencer"))
    ghi = clearsky.simplified_solis(
        elevation,
        aod700=0.1,
        precipitable_water=1.0,
        dni_extra=extraterrestrial,
        pressure=atmosphere.alt2pres(altitude),
    )["ghi"]
    return np.where(elevation > 0, np.nan_to_num(np.asarray(ghi)), 0.0).reshape(_SAMPLES_PER_HOUR, -1).mean(axis=0)


def cloud_factor(cloud_cover):
    """Hourly global irradiance under cloud as a fraction of clear-sky irradiance [–].

    Argument: `cloud_cover` [–] 0 to 1, float or array. Returns [–], 1 under a clear sky, 0.25 when overcast. Formula:
    1 − 0.75 N^3.4. Valid for hours, not for monthly means: a changing sky transmits less on average than its mean cloud
    cover suggests. With `clear_sky_irradiance` the annual sum of four typical years is right to −4 … +3 %. Raises
    `core.ranges.OutOfRange`. Source: Kasten & Czeplak 1980, Solar and terrestrial radiation dependent on the amount and
    type of cloud, Solar Energy 24 (memory).

    >>> cloud_factor(1.0), round(cloud_factor(0.5), 3)
    (0.25, 0.929)
    """
    ranges.require(cloud_cover=cloud_cover)
    return plain(1 - dimming_of_cloud(np.asarray(cloud_cover, float)))


def cloud_from_clearness(clearness):
    """Cloud cover estimated from the clearness of the sky [–].

    Argument: `clearness` [–], irradiance over clear-sky irradiance, float or array; 1 and above is clear, 0.25 and
    below overcast. Returns [–], 0 to 1. Formula: √((1 − k)/0.75). This is not the inverse of `cloud_factor`, which
    would read slight haze as half a sky of cloud. Source: none, judgement; compared with the cloud observed in six
    typical years the annual mean is within 0.04 (the inverse: 0.04 to 0.17 too cloudy) and single days within about
    0.15.

    >>> cloud_from_clearness(1.0), round(cloud_from_clearness(0.7), 3), cloud_from_clearness(0.25)
    (0.0, 0.632, 1.0)
    """
    return plain(cloud_of_dimming(1 - np.asarray(clearness, float)))


def solar_time_lag(index: pd.DatetimeIndex, solar, latitude: float, longitude: float) -> float:
    """Time lag of a record's solar radiation behind the true sun of its place [h]; NaN without any radiation.

    Arguments: `index`, tz-aware starts of hours; `solar` [W/m²], array as long; `latitude` [deg], `longitude` [deg].
    Returns [h]: the radiation-weighted mean time of day of the record minus that of a clear sky over the same days,
    positive when the record is late. Cloudier mornings or afternoons shift it by up to about a quarter of an hour over
    a year, a wrong time stamp or time zone by whole hours. Raises `MissingTimeZone`, `core.ranges.OutOfRange`.
    """
    clear = clear_sky_irradiance(index, latitude, longitude)
    given = np.nan_to_num(np.asarray(solar, float))
    utc = index.tz_convert("UTC")
    # Days run from midnight to midnight in mean solar time of the place.
    clock = (utc.hour + utc.minute / 60 + 0.5 + longitude / 15) % 24
    day = np.floor(((utc - pd.Timestamp("2000-01-01", tz="UTC")) / pd.Timedelta("1h") + 0.5 + longitude / 15) / 24)
    weighted = {"given": given, "clear": clear, "given_t": given * clock, "clear_t": clear * clock}
    sums = pd.DataFrame(weighted).groupby(day).sum()
    sums = sums[(sums["given"] > 0) & (sums["clear"] > 0)]
    if sums.empty:
        return float("nan")
    late = sums["given_t"] / sums["given"] - sums["clear_t"] / sums["clear"]
    return float(np.average(late, weights=sums["given"]))

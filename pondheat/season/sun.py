"""The sun over a place: a day's extraterrestrial energy, daylight, clear-sky hours, what cloud leaves of them.

Positions, extraterrestrial and clear-sky irradiance are pvlib's; hours are named by their start, and an hour's value is
the mean of six moments in it, ten minutes apart.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import ranges
from pondheat.core.ranges import plain

_STEPS = 6  # moments in an hour; sixty give the same year's sun to 1e-6


class NoTimeZone(ValueError):
    """Hours were given without a time zone, so nobody can say where the sun stands."""


def _sunset_angle(declination: np.ndarray, latitude: np.ndarray) -> np.ndarray:
    """Hour angle of sunset [rad]: 0 in polar night, π in polar day (FAO-56 eq 25)."""
    return np.arccos(np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0))


def extraterrestrial_day(day_of_year, latitude):
    """Energy of the sun on a level square metre outside the atmosphere in one day [MJ/m²].

    Arguments: `day_of_year` [–] 1 to 366 and `latitude` [deg], north positive; floats or arrays that broadcast.
    Returns [MJ/m²], float or array. Formula: Ra = (24·3600/π) G (ωs sin φ sin δ + cos φ cos δ sin ωs), G and δ by
    Spencer 1971 through pvlib (δ up to half a degree off in September, 0.6 % of a day's sun). Valid everywhere, 0 in
    polar night. Raises `core.ranges.OutOfRange`.
    Source: FAO-56 eq 21; its example 8 prints 32.2 (its own declination is up to 1.3° off).

    >>> round(extraterrestrial_day(246, -20), 1)
    31.7
    """
    from pvlib import irradiance, solarposition

    ranges.require(day_of_year=day_of_year, latitude=latitude)
    day, north = np.broadcast_arrays(np.asarray(day_of_year, float), np.asarray(latitude, float))
    tilt = np.asarray(solarposition.declination_spencer71(day))
    outside = np.asarray(irradiance.get_extra_radiation(day.ravel(), method="spencer")).reshape(day.shape)
    sunset, phi = _sunset_angle(tilt, north), np.radians(north)
    shape = sunset * np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.sin(sunset)
    return plain(86_400 / np.pi * outside * np.maximum(shape, 0.0) / 1e6)


def daylight_hours(day_of_year, latitude):
    """Hours from sunrise to sunset, centre of the sun, level horizon, no refraction [h].

    Arguments: `day_of_year` [–] and `latitude` [deg]; floats or arrays that broadcast. Returns [h], 24 in polar day
    and 0 in polar night. Formula: N = 24 ωs/π (FAO-56 eq 34), declination by Spencer 1971 through pvlib; refraction and
    the sun's disc add about 10 minutes at 50°. Raises `core.ranges.OutOfRange`. Source: FAO-56, example 18 prints 16.1.

    >>> round(daylight_hours(187, 50.8), 1)
    16.1
    """
    from pvlib import solarposition

    ranges.require(day_of_year=day_of_year, latitude=latitude)
    day, north = np.broadcast_arrays(np.asarray(day_of_year, float), np.asarray(latitude, float))
    return plain(24 / np.pi * _sunset_angle(np.asarray(solarposition.declination_spencer71(day)), north))


def _moments(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """The moments 5, 15, … 55 minutes into each hour, all hours for one minute after another, in UTC."""
    if index.tz is None:
        raise NoTimeZone("These hours carry no time zone; give the index one, such as Europe/London.")
    starts = index.tz_convert("UTC").tz_localize(None).as_unit("ns").to_numpy()
    minutes = np.timedelta64(60 // _STEPS, "m") * np.arange(_STEPS) + np.timedelta64(30 // _STEPS, "m")
    return pd.DatetimeIndex((starts[None, :] + minutes[:, None]).ravel(), tz="UTC")


def clear_sky_hours(index: pd.DatetimeIndex, latitude: float, longitude: float, altitude: float = 0.0) -> np.ndarray:
    """Global irradiance on the level under a clear sky, mean of each hour [W/m²].

    Arguments: `index` starts of hours, tz-aware; `latitude` [deg], `longitude` [deg], `altitude` [m]: floats.
    Returns an array [W/m²] as long as `index`. Formula: simplified Solis with aerosol optical depth 0.1 and 1 cm of
    water vapour (a clean temperate sky), in pvlib. In four typical years (Potsdam, Greensboro, Miami, Sand Point) the
    hours reported cloudless sum to 96 to 100 % of it. Raises `NoTimeZone`, `core.ranges.OutOfRange`.
    Source: Ineichen 2008, A broadband simplified version of the Solis clear sky model, Solar Energy 82.
    """
    from pvlib import atmosphere, clearsky, irradiance, solarposition

    ranges.require(latitude=latitude, longitude=longitude, altitude=altitude)
    moments = _moments(index)
    height = solarposition.ephemeris(moments, latitude, longitude)["apparent_elevation"].to_numpy()
    outside = np.asarray(irradiance.get_extra_radiation(moments, method="spencer"))
    sky = clearsky.simplified_solis(
        height, aod700=0.1, precipitable_water=1.0, dni_extra=outside, pressure=atmosphere.alt2pres(altitude)
    )["ghi"]
    return np.where(height > 0, np.nan_to_num(np.asarray(sky)), 0.0).reshape(_STEPS, -1).mean(axis=0)


def sun_position_hours(index: pd.DatetimeIndex, latitude: float, longitude: float) -> pd.DataFrame:
    """Where the sun stands in each hour: columns `elevation` [deg] and `azimuth` [deg, from north over east].

    Arguments: `index` starts of hours, tz-aware; `latitude` [deg], `longitude` [deg]: floats. An hour's direction is
    the mean of the sun's directions while it is up, weighted by the sine of its elevation (so a sunrise hour points
    to the risen sun); an hour without sun has its middle's direction, elevation below 0. Raises `NoTimeZone`,
    `core.ranges.OutOfRange`. Source: pvlib, ephemeris method.
    """
    from pvlib import solarposition

    ranges.require(latitude=latitude, longitude=longitude)
    found = solarposition.ephemeris(_moments(index), latitude, longitude)
    up, round_ = np.radians(found["elevation"].to_numpy()), np.radians(found["azimuth"].to_numpy())
    ways = np.array([np.cos(up) * np.sin(round_), np.cos(up) * np.cos(round_), np.sin(up)]).reshape(3, _STEPS, -1)
    weight = np.maximum(ways[2], 0.0)
    dark = weight.sum(axis=0) == 0
    weight[:, dark] = 1.0
    east, north, high = (ways * weight).sum(axis=1)
    return pd.DataFrame(
        {
            "elevation": np.degrees(np.arctan2(high, np.hypot(east, north))),
            "azimuth": np.degrees(np.arctan2(east, north)) % 360,
        },
        index=index,
    )


def cloud_factor(cloud_cover):
    """Share of the clear sky's sun that comes through in an hour of this cloud [–].

    Argument: `cloud_cover` [–] 0 to 1, float or array. Returns [–], 1 under a clear sky, 0.25 when overcast. Formula:
    1 − 0.75 N^3.4. For hours, not for monthly means: the mean of a changing sky lets less through than its mean cloud.
    With `clear_sky_hours` it gives the year's sun of four typical years to −4 … +3 %. Raises `core.ranges.OutOfRange`.
    Source: Kasten & Czeplak 1980, Solar and terrestrial radiation dependent on the amount and type of cloud, Solar
    Energy 24 (memory).

    >>> cloud_factor(1.0), round(cloud_factor(0.5), 3)
    (0.25, 0.929)
    """
    ranges.require(cloud_cover=cloud_cover)
    return plain(1 - 0.75 * np.asarray(cloud_cover, float) ** 3.4)


def cloud_from_clearness(clearness):
    """Cloud cover judged from the share of the clear sky's sun that came through [–].

    Argument: `clearness` [–] sun over clear-sky sun, float or array; 1 and above counts as clear, 0.25 and below as
    overcast. Returns [–], 0 to 1. Formula: √((1 − k)/0.75). Not `cloud_factor` turned round: that reads every haze as
    half a sky of cloud. Source: none, judgement; against the cloud observed in six typical years the year's mean
    comes out within 0.04 (turned round: 0.04 to 0.17 too cloudy), single days within about 0.15 of the sky.

    >>> cloud_from_clearness(1.0), round(cloud_from_clearness(0.7), 3), cloud_from_clearness(0.25)
    (0.0, 0.632, 1.0)
    """
    return plain(np.sqrt(np.clip(1 - np.asarray(clearness, float), 0.0, 0.75) / 0.75))


def sun_lateness(index: pd.DatetimeIndex, solar, latitude: float, longitude: float) -> float:
    """How late the sun in a record stands behind the true sun of its place [h]; not a number without sun.

    Arguments: `index` starts of hours, tz-aware; `solar` [W/m²], array as long; `latitude` [deg], `longitude` [deg].
    Returns [h]: the middle of the record's sunshine minus that of a clear sky's over the same days, positive when late.
    Clouds that favour mornings or afternoons move it by up to about a quarter of an hour in a year, a wrong stamp or
    time zone by whole hours. Raises `NoTimeZone`, `core.ranges.OutOfRange`.
    """
    clear = clear_sky_hours(index, latitude, longitude)
    given = np.nan_to_num(np.asarray(solar, float))
    utc = index.tz_convert("UTC")
    # The day runs from midnight to midnight of the place's own mean solar time.
    clock = (utc.hour + utc.minute / 60 + 0.5 + longitude / 15) % 24
    day = np.floor(((utc - pd.Timestamp("2000-01-01", tz="UTC")) / pd.Timedelta("1h") + 0.5 + longitude / 15) / 24)
    moments = {"given": given, "clear": clear, "given_t": given * clock, "clear_t": clear * clock}
    sums = pd.DataFrame(moments).groupby(day).sum()
    sums = sums[(sums["given"] > 0) & (sums["clear"] > 0)]
    if sums.empty:
        return float("nan")
    late = sums["given_t"] / sums["given"] - sums["clear_t"] / sums["clear"]
    return float(np.average(late, weights=sums["given"]))

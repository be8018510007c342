"""Monthly normals for a town from its monthly temperatures, completed from the most similar built-in place."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from pondheat.core import ranges, units
from pondheat.season.weather import weather
from pondheat.season.weather.normals import MONTHS, YearGrid
from pondheat.season.weather.record import WeatherError

# Monthly mean temperatures [°C] of the built-in places, worked out by tests/make_monthly_temps.py: to find the most
# similar, reading all of them took seconds.
MONTHLY_TEMPS = Path(__file__).with_name("monthly_temps.csv")
MAX_RMS_DIFFERENCE = 3.0  # K; a place whose months differ more than this is not similar (judgement)
# K by which June to August must be colder than December to February for a southern winter; a smaller difference is not
# conclusive near the equator (judgement)
MIN_SEASON_DIFFERENCE = 2.0
_ANY_YEAR = 2025  # has no effect, as only typical years are read


@dataclass(frozen=True)
class TownNormals:
    """Monthly normals made for a town.

    toml: the normals as TOML, in the format of `season.weather.normals`; nearest_place: the built-in place that
    supplies everything but the temperatures; rms_difference: root mean square difference of the monthly temperatures
    [K]; shifted: whether that place's year was shifted by six months, for the southern hemisphere.
    """

    toml: str
    nearest_place: str
    rms_difference: float
    shifted: bool = False


def normals_for_town(air_temp: ArrayLike, name: str = "My town") -> TownNormals:
    """Monthly normals of a town from its monthly temperatures and the most similar built-in place.

    air_temp: [°C], twelve monthly means from January on; name: of the town. The most similar place has the smallest
    root mean square difference. The built-in places are all in the northern hemisphere; for a town in the southern
    their year is shifted by six months. Raises `WeatherError` for other than twelve values, OutOfRange for implausible
    ones.
    """
    temps = np.asarray(air_temp, float)
    if temps.shape != (MONTHS,):
        raise WeatherError(f"{temps.size} temperatures were read; give twelve, from January to December.")
    ranges.require(air_temp=temps)
    shifted = is_southern(temps)
    known = {str(place): months.to_numpy(float) for place, months in _monthly_temps().iterrows()}
    for place in set(weather.names()) - set(known):  # the invented one, where the clone is there
        known[place] = monthly_means(read_place(place).hours["air_temp"])

    def rms_difference(months: np.ndarray) -> float:
        return float(np.sqrt(np.mean((_shift_half_year(months, shifted) - temps) ** 2)))

    like = read_place(min(known, key=lambda place: rms_difference(known[place])))
    rms = rms_difference(monthly_means(like.hours["air_temp"]))
    return TownNormals(_write_toml(temps, name, like, shifted), like.place, rms, shifted)


def northern_summer(temps: np.ndarray) -> float:
    """How much warmer June to August are than December to February [K]; temps: twelve months from January on [degC]."""
    return float(temps[[5, 6, 7]].mean() - temps[[11, 0, 1]].mean())


def is_southern(temps: np.ndarray) -> bool:
    """Whether twelve monthly temperatures [degC] from January on have their winter in July; False near the equator."""
    return northern_summer(temps) < -MIN_SEASON_DIFFERENCE


def _shift_half_year(months: np.ndarray, shifted: bool) -> np.ndarray:
    """Monthly values, shifted by six months on request."""
    return np.roll(months, MONTHS // 2) if shifted else months


@functools.cache
def _monthly_temps() -> pd.DataFrame:
    return pd.read_csv(MONTHLY_TEMPS, index_col="place", comment="#")


@functools.cache
def read_place(place: str) -> weather.Weather:
    """The typical year of a built-in place in UTC, read once."""
    return weather.read(place, timezone="UTC", year=_ANY_YEAR)


def monthly_means(hours: pd.Series) -> np.ndarray:
    """Mean of each calendar month, from January on, of hourly values with their times."""
    return hours.groupby(pd.DatetimeIndex(hours.index).month).mean().to_numpy()


def _write_toml(temps: np.ndarray, name: str, like: weather.Weather, shifted: bool) -> str:
    """TOML text of a town's normals, with everything but the temperatures from the place `like`."""
    assert like.latitude is not None and like.longitude is not None  # every built-in place has its coordinates
    hours, grid = like.hours, YearGrid(_ANY_YEAR)
    ranges_of_days = hours["air_temp"].groupby(pd.DatetimeIndex(hours.index).date).agg(np.ptp)
    daily_range = ranges_of_days.groupby(pd.DatetimeIndex(ranges_of_days.index).month).mean().to_numpy()

    smooth = grid.smooth(grid.monthly_means(hours["air_temp"].to_numpy()))
    days = (hours["air_temp"] - smooth).groupby(pd.DatetimeIndex(hours.index).date).mean()
    spread = np.sqrt((days**2).groupby(pd.DatetimeIndex(days.index).month).mean()).to_numpy()

    def twelve(values: np.ndarray, unit: str) -> str:
        return f'"{" ".join(f"{value:.1f}" for value in values)} {unit}"'

    def of_like(months: np.ndarray) -> np.ndarray:
        return _shift_half_year(months, shifted)

    lines = [
        "# The temperatures were typed in; everything else is from the most similar built-in place, as a default.",
        f'place = "{_one_line(name)} (temperatures typed in, all else from {_one_line(like.place)})"',
        f'source = "typed in; the rest: {_one_line(like.source)}"',
        f'latitude = "{-like.latitude if shifted else like.latitude:.2f} deg"',
        f'longitude = "{like.longitude:.2f} deg"',
        f'altitude = "{like.altitude:.0f} m"',
        f'wind_height = "{like.wind_height:g} m"',
        f"air_temp = {twelve(temps, '°C')}",
        f"daily_range = {twelve(of_like(daily_range), 'K')}",
        f"day_to_day_spread = {twelve(of_like(spread), 'K')}",
        f"rel_humidity = {twelve(of_like(100 * monthly_means(hours['rel_humidity'])), '%')}",
        f"wind_speed = {twelve(of_like(monthly_means(hours['wind_speed'])), 'm/s')}",
        f"cloud_cover = {twelve(of_like(100 * monthly_means(hours['cloud_cover'])), '%')}",
        f"solar = {twelve(of_like(monthly_means(hours['solar'])), 'W/m²')}",
    ]
    return "\n".join(lines) + "\n"


def _one_line(text: str) -> str:
    """Text without line breaks, backslashes and double quotes, for a TOML string."""
    return " ".join(text.replace("\\", "/").replace('"', "'").split())


def explain(found: TownNormals) -> str:
    """Sentences telling the reader which place was used and how similar it is."""
    near = (
        ""
        if found.rms_difference <= MAX_RMS_DIFFERENCE
        else " That is not close: a file of your own weather would be better."
    )
    half = ", shifted by half a year as your winter is in July" if found.shifted else ""
    return (
        f"Of the places known here {found.nearest_place} has the most similar climate{half}: its months differ by "
        f"[{units.digits(found.rms_difference, 1)} K]. Sun, wind, clouds and humidity are taken from there.{near}"
    )

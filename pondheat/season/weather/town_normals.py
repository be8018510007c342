"""Monthly normals of a town of which only the temperatures are known; all else is that of the built-in place most alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.season.weather import weather
from pondheat.season.weather.normals import MONTHS
from pondheat.season.weather.record import WeatherError

MAX_RMS_DIFFERENCE = 3.0  # K; where months differ by more than this, no place counts as like the town (judgement)
MIN_SEASON_DIFFERENCE = (
    2.0  # K by which July is colder than January where winter is then; less says nothing near the equator (judgement)
)
_ANY_YEAR = 2025  # any: typical years only


@dataclass(frozen=True)
class TownNormals:
    """text: normals as TOML, as `season.weather.normals` reads them; like: place the rest is taken from; apart: root mean square
    of the months' differences [K]; turned: whether that place was turned by half a year, to lie in the southern half."""

    text: str
    like: str
    apart: float
    shifted: bool = False


def normals_for_town(air_temp, name: str = "My town") -> TownNormals:
    """Normals of a town: twelve means of the air from January on, the rest of the built-in place most like it.

    air_temp: twelve values [°C]; name: of the town. Most like is the place whose months differ least (root mean
    square). The places here lie in the northern half of the Earth; for a town of the southern they are turned by half a year.
    Raises `WeatherError` where there are not twelve, OutOfRange where one is not plausible.
    """
    temps = np.asarray(air_temp, float)
    if temps.shape != (MONTHS,):
        raise WeatherError(f"{temps.size} temperatures were read; twelve are wanted, from January to December.")
    ranges.require(air_temp=temps)
    turned = is_southern(temps)
    known = {place: _read_place(place) for place in weather.names()}
    apart = {
        place: float(np.sqrt(np.mean((_shift_half_year(_monthly_means(found.hours["air_temp"]), turned) - temps) ** 2)))
        for place, found in known.items()
    }
    like = min(apart, key=apart.get)
    return TownNormals(_write_toml(temps, name, known[like], turned), known[like].place, apart[like], turned)


def is_southern(temps: np.ndarray) -> bool:
    """Whether twelve monthly temperatures [degC] from January on are of a place whose winter is in July; near the equator: no."""
    return bool(temps[[5, 6, 7]].mean() < temps[[11, 0, 1]].mean() - MIN_SEASON_DIFFERENCE)


def _shift_half_year(months: np.ndarray, shifted: bool) -> np.ndarray:
    return np.roll(months, MONTHS // 2) if turned else months


def _read_place(place: str) -> weather.Weather:
    return weather.read(place, timezone="UTC", year=_ANY_YEAR)


def _monthly_means(hours: pd.Series) -> np.ndarray:
    return hours.groupby(hours.index.month).mean().to_numpy()


def _write_toml(temps: np.ndarray, name: str, like: weather.Weather, shifted: bool) -> str:
    hours = like.hours
    days = hours["air_temp"].groupby(hours.index.date).agg(lambda day: day.max() - day.min())
    swing = days.groupby(pd.DatetimeIndex(days.index).month).mean().to_numpy()

    def twelve(values, unit: str, places: int = 1) -> str:
        return f'"{" ".join(f"{value:.{places}f}" for value in values)} {unit}"'

    def of_like(months) -> np.ndarray:
        return _shift_half_year(np.asarray(months), turned)

    lines = [
        "# The temperatures were typed in; all else is that of the built-in place most like it, and a start value.",
        f'place = "{_one_line(name)} (temperatures typed in, all else of {_one_line(like.place)})"',
        f'source = "typed in; the rest: {_one_line(like.source)}"',
        f'latitude = "{-like.latitude if turned else like.latitude:.2f} deg"',
        f'longitude = "{like.longitude:.2f} deg"',
        f'altitude = "{like.altitude:.0f} m"',
        f'wind_height = "{like.wind_height:g} m"',
        f"air_temp = {twelve(temps, '°C')}",
        f"daily_range = {twelve(of_like(swing), 'K')}",
        f"rel_humidity = {twelve(of_like(100 * _monthly_means(hours['rel_humidity'])), '%')}",
        f"wind_speed = {twelve(of_like(_monthly_means(hours['wind_speed'])), 'm/s')}",
        f"cloud_cover = {twelve(of_like(100 * _monthly_means(hours['cloud_cover'])), '%')}",
        f"solar = {twelve(of_like(_monthly_means(hours['solar'])), 'W/m²')}",
    ]
    return "\n".join(lines) + "\n"


def _one_line(text: str) -> str:
    return " ".join(text.replace("\\", "/").replace('"', "'").split())


def explain(found: Town) -> str:
    """What the reader is told of it."""
    near = "" if found.rms_difference <= MAX_RMS_DIFFERENCE else " None is near: a file of your own weather would be better."
    half = ", turned by half a year as your winter is in July" if found.shifted else ""
    return (
        f"Of the places known here {found.nearest_place} is most like it{half}: its months differ by {units.digits(found.rms_difference, 1)} K. "
        f"Sun, wind, clouds and humidity are taken from there.{near}"
    )

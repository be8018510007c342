"""A synthetic year of hours from twelve monthly normals, with a daily cycle and day-to-day variation.

Each quantity is interpolated linearly between mid-month values chosen so that every monthly mean is as given. The
temperature rises from 06:00 to 15:00 and falls until 06:00; humidity follows from a vapour pressure that is constant
through the day; irradiance is clear-sky irradiance scaled month by month. The result is reproducible.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import pandas as pd

from pondheat.core import ranges, toml_errors, units
from pondheat.core.number_format import counted
from pondheat.heat import moist_air
from pondheat.season import sun
from pondheat.season.weather.record import NORMALS, Record, WeatherError

MONTHS = 12
_COLDEST_HOUR, _WARMEST_HOUR = 6.0, 15.0  # standard time; judgement
DEFAULT_SEED = 1  # of the day-to-day variation, if none is given
# K, standard deviation of daily mean temperatures about the smooth curve, from January: the root mean square of fifteen
# German test reference years (tests/make_day_to_day_spread.py). Mild coasts have less, some 3 K in winter.
_DEFAULT_SPREAD = (4.0, 3.5, 3.7, 3.1, 3.3, 3.2, 3.1, 2.8, 2.5, 2.9, 2.9, 3.8)
_SPREAD_SOURCE = "as in fifteen German test reference years"
# Lag-one correlation of daily departures: 0.68 in the same years. The midday values are drawn with 0.55; the straight
# lines between them raise that of the daily means to 0.68.
_KEPT, _PERSISTENCE = 0.68, 0.55
# key in the file → unit, and the parameter whose plausible range applies
_MONTHLY_KEYS = {
    "air_temp": ("degC", "air_temp"),
    "daily_range": ("delta_degC", "amplitude"),
    "rel_humidity": ("dimensionless", "rel_humidity"),
    "wind_speed": ("m/s", "wind_speed"),
    "cloud_cover": ("dimensionless", "cloud_cover"),
    "solar": ("W/m**2", "solar"),
    "day_to_day_spread": ("delta_degC", "amplitude"),
}
_SCALAR_KEYS = {
    "latitude": "deg",
    "longitude": "deg",
    "altitude": "m",
    "wind_height": "m",
}
_TEXT_KEYS = ("place", "source")
_OPTIONAL_KEYS = ("cloud_cover", "solar", "wind_height", "day_to_day_spread", "source")


@dataclass(frozen=True)
class Normals:
    """Monthly normals in the library's units.

    place, source: text; months: arrays of twelve by key (air_temp, daily_range, rel_humidity, …); latitude, longitude:
    [deg]; altitude, wind_height: [m].
    """

    place: str
    source: str
    months: dict[str, np.ndarray]
    latitude: float
    longitude: float
    altitude: float
    wind_height: float = 10.0

    @property
    def utc_offset(self) -> int:
        """The place's standard time minus UTC [h], by its longitude."""
        return round(self.longitude / 15)


def _monthly_values(key: str, given: object, unit: str) -> np.ndarray:
    """Twelve values in `unit`, from one text "4.8 5.0 … °C" or twelve texts each with its unit; one spread for all."""
    if key == "day_to_day_spread" and isinstance(given, str) and len(re.findall(r"[\d.,]+", given)) == 1:
        return np.full(MONTHS, units.parse(given, unit))
    if isinstance(given, str):
        words = re.split(r"[\s,;]+", given.strip())
        numbers = list(itertools.takewhile(re.compile(r"[-+−]?\d+(\.\d+)?").fullmatch, words))
        parts = [f"{number} {' '.join(words[len(numbers) :])}".strip() for number in numbers]
    elif isinstance(given, list) and all(isinstance(one, str) for one in given):
        parts = given
    else:
        raise units.Unreadable(f"{key} must be text with a unit, such as “4.8 5.0 … °C”.")
    if len(parts) != MONTHS:
        raise units.Unreadable(
            f"{key} has {counted(len(parts), 'value', 'values')}; give one for each of the twelve months."
        )
    if "month" in parts[0]:
        raise units.Unreadable(f"{key} is given per month, but months differ in length: write it per day or in W/m².")
    return np.array([units.parse(part, unit) for part in parts])


def read_normals(text: str, name: str) -> Normals:
    """Monthly normals from TOML text.

    text: of the file; name: of the file. Raises one `WeatherError` that lists every error in the file.
    """
    try:
        given = toml_errors.loads(text)
    except units.Unreadable as error:
        raise WeatherError(f"{name} could not be read: {error}") from None
    known = [*_TEXT_KEYS, *_SCALAR_KEYS, *_MONTHLY_KEYS]
    faults: list[str] = []
    months: dict[str, np.ndarray] = {}
    numbers: dict[str, float] = {}
    texts: dict[str, str] = {}
    for key, value in given.items():
        try:
            if key in _MONTHLY_KEYS:
                unit, plausible = _MONTHLY_KEYS[key]
                months[key] = _monthly_values(key, value, unit)
                ranges.require(**{plausible: months[key]})
            elif key in _SCALAR_KEYS:
                numbers[key] = units.parse(value, _SCALAR_KEYS[key])
                if key in ranges.RANGES:
                    ranges.require(**{key: numbers[key]})
            elif key in _TEXT_KEYS and isinstance(value, str):
                texts[key] = value
            else:
                ranges.choose("key of monthly normals", key, known)
                raise units.Unreadable(f"it must be text in quotation marks, not {value!r}.")
        except ValueError as error:
            faults.append(f"{key}: {error}")
    faults += [f"{key} is missing." for key in known if key not in given and key not in _OPTIONAL_KEYS]
    if "cloud_cover" not in given and "solar" not in given:
        faults.append("cloud_cover or solar is missing; give one of them.")
    if faults:
        raise WeatherError(f"{name} cannot be used as monthly normals: {' '.join(faults)}")
    texts.setdefault("source", f"monthly normals of {name}; licence: as its author states")
    return Normals(texts["place"], texts["source"], months, **numbers)


class YearGrid:
    """The hours of one year, with weights for linear interpolation between mid-month values."""

    def __init__(self, year: int):
        self.index = pd.date_range(f"{year}-01-01", f"{year}-12-31 23:00", freq="h", name="time")
        self.month = self.index.month.to_numpy() - 1
        counts = np.bincount(self.month)
        self.averages = (np.arange(MONTHS)[:, None] == self.month) / counts[:, None]  # month × hour
        middles = np.cumsum(counts) - counts / 2
        total, mid_hours = len(self.index), np.arange(len(self.index)) + 0.5
        nodes = np.concatenate([[middles[-1] - total], middles, [middles[0] + total]])
        right = np.searchsorted(nodes, mid_hours)
        share = (mid_hours - nodes[right - 1]) / (nodes[right] - nodes[right - 1])
        self.weights = np.zeros((total, MONTHS))  # hour × month
        self.weights[np.arange(total), (right - 2) % MONTHS] += 1 - share
        self.weights[np.arange(total), (right - 1) % MONTHS] += share

    def monthly_means(self, hours: np.ndarray) -> np.ndarray:
        """Mean of hourly values in each month."""
        return self.averages @ hours

    def smooth(self, monthly: np.ndarray, factor: np.ndarray | float = 1.0) -> np.ndarray:
        """Hourly curve, linear between mid-months, whose product with `factor` has these monthly means."""
        matrix = self.averages @ (self.weights * np.broadcast_to(factor, len(self.index))[:, None])
        return self.weights @ np.linalg.lstsq(matrix, monthly, rcond=None)[0]


def _daily_wave(clock: np.ndarray) -> np.ndarray:
    """Daily temperature cycle at clock hours: −1 at the coldest, +1 at the warmest, half-cosines between, mean 0."""
    rising = _WARMEST_HOUR - _COLDEST_HOUR
    since = (clock - _COLDEST_HOUR) % 24
    return np.where(since < rising, -np.cos(np.pi * since / rising), np.cos(np.pi * (since - rising) / (24 - rising)))


def _departures(grid: YearGrid, spread: np.ndarray, seed: int) -> np.ndarray:
    """Hourly departures from the smooth temperature: zero on average over each month, with the given day-to-day spread.

    spread: standard deviation of the days about the smooth curve by month [K]. Days follow each other as a first-order
    autoregressive process; over the year they are scaled to the given standard deviation, whatever the seed.
    """
    days = len(grid.index) // 24
    shocks = np.random.default_rng(seed).normal(0, 1, days)
    daily = np.empty(days)
    daily[0] = shocks[0]
    for day in range(1, days):
        daily[day] = _PERSISTENCE * daily[day - 1] + np.sqrt(1 - _PERSISTENCE**2) * shocks[day]
    by_day = grid.weights[12::24] @ spread
    hourly = np.interp(np.arange(len(grid.index)) + 0.5, np.arange(days) * 24 + 12, daily * by_day)
    hourly = hourly - grid.smooth(grid.monthly_means(hourly))
    scatter = hourly.reshape(-1, 24).mean(axis=1).std()
    return hourly * (np.sqrt(np.mean(by_day**2)) / scatter if scatter > 0 else 0.0)


@lru_cache(maxsize=4)
def _kept_record(text: str, name: str, year: int, spread_seed: int | None) -> Record:
    return hourly_record(read_normals(text, name), year, spread_seed)


def record_of_file(text: str, name: str, year: int, spread_seed: int | None) -> Record:
    """`hourly_record` of a file's text, made once; name: of the file, for error messages. Raises `WeatherError`."""
    kept = _kept_record(text, name, year, spread_seed)
    return replace(kept, hours=kept.hours.copy(), notes=list(kept.notes))


def hourly_record(normals: Normals, year: int, spread_seed: int | None = DEFAULT_SEED) -> Record:
    """A synthetic year of hours from monthly normals, in standard time.

    `year`: its calendar. `spread_seed`: a whole number from which the day-to-day variation of the temperature is drawn,
    the same for the same seed; with None every day lies on the smooth curve. Monthly means are as given either way.
    """
    months, grid = normals.months, YearGrid(year)
    daily_mean, spread_note = _daily_means(months, grid, spread_seed)
    air_temp = _with_daily_cycle(daily_mean, months, grid)
    sun_and_cloud, sun_notes = _sun_and_cloud(normals, grid)
    hours = pd.DataFrame(
        {
            "air_temp": air_temp,
            "rel_humidity": _rel_humidity(air_temp, daily_mean, months["rel_humidity"], grid),
            "wind_speed": np.maximum(grid.smooth(months["wind_speed"]), 0.0),
            **sun_and_cloud,
            "sky_long_wave": np.nan,
            "pressure": float(moist_air.pressure_at_altitude(normals.altitude)),
        },
        index=grid.index,
    )
    made_note = (
        f"Made from twelve monthly normals: smooth from month to month, warmest about {_WARMEST_HOUR:.0f}:00 and "
        f"coldest about {_COLDEST_HOUR:.0f}:00, wind and cloud constant through the day, humidity from a constant "
        "vapour pressure."
    )
    return Record(
        hours,
        NORMALS,
        normals.place,
        normals.source,
        normals.latitude,
        normals.longitude,
        normals.altitude,
        normals.wind_height,
        float(normals.utc_offset),
        [made_note, spread_note, *sun_notes],
    )


def _daily_means(months: dict[str, np.ndarray], grid: YearGrid, spread_seed: int | None) -> tuple[np.ndarray, str]:
    """The air temperature without its daily cycle [degC], with day-to-day variation if there is a seed, and a note."""
    smooth = grid.smooth(months["air_temp"])
    if spread_seed is None:
        return smooth, (
            "Without day-to-day spread there are no cold spells, so the peaks and the heater size come out too low."
        )
    given = "day_to_day_spread" in months
    spread = months["day_to_day_spread"] if given else np.array(_DEFAULT_SPREAD)
    span = " to ".join(dict.fromkeys(f"{value:g}" for value in (spread.min(), spread.max())))
    return smooth + _departures(grid, spread, spread_seed), (
        f"Cold and mild spells are drawn at random (seed {spread_seed}): daily means vary by [{span} K], "
        f"{'as its file says' if given else _SPREAD_SOURCE}, and {_KEPT:g} of a day's "
        "departure carries over to the next. Monthly means are unchanged. They are not a real winter's: "
        "another seed gives others."
    )


def _with_daily_cycle(daily_mean: np.ndarray, months: dict[str, np.ndarray], grid: YearGrid) -> np.ndarray:
    """Hourly air temperature [degC]: the daily cycle added, and each month's mean as given."""
    wave = _daily_wave(grid.index.hour.to_numpy() + 0.5)
    air_temp = daily_mean + wave * (grid.weights @ months["daily_range"]) / 2
    return air_temp + (months["air_temp"] - grid.monthly_means(air_temp))[grid.month]


def _rel_humidity(air_temp: np.ndarray, daily_mean: np.ndarray, monthly: np.ndarray, grid: YearGrid) -> np.ndarray:
    """Hourly relative humidity of a vapour pressure that is constant through the day, with these monthly means."""
    saturated = moist_air.saturation_vapour_pressure(air_temp)
    saturated_mean = moist_air.saturation_vapour_pressure(daily_mean)
    target = monthly.copy()
    for _ in range(6):  # the daily cycle and the cap at 1 lower the monthly mean: adjust the target until it is right
        humidity = np.clip(grid.smooth(target) * saturated_mean / saturated, 0.01, 1.0)
        target = target * monthly / grid.monthly_means(humidity)
    return humidity


def _sun_and_cloud(normals: Normals, grid: YearGrid) -> tuple[dict[str, np.ndarray], list[str]]:
    """Hourly irradiance, cloud cover and dimming of the sun, each by its column, and notes on how they were made."""
    months = normals.months
    true_time = (grid.index - pd.Timedelta(hours=normals.utc_offset)).tz_localize("UTC")
    clear = sun.clear_sky_irradiance(true_time, normals.latitude, normals.longitude, normals.altitude)
    if "solar" in months:
        solar = clear * np.maximum(grid.smooth(months["solar"], clear), 0.0)
        notes = ["Sun: clear-sky hours (simplified Solis) scaled to the monthly sun given."]
    else:
        solar = clear * (1 - 0.65 * np.clip(grid.smooth(months["cloud_cover"]), 0, 1))
        notes = [
            "Sun: clear-sky hours (simplified Solis) times 1 − 0.65 cloud (Larson et al. 2016), for monthly means; 3 "
            "to 11 % low in the four real years it was tried on."
        ]
    # A month's mean cloud is a mixture of clear and overcast hours: its mean sun shows how much of each.
    share = grid.monthly_means(solar) / np.maximum(grid.monthly_means(clear), 1e-9)
    if "cloud_cover" in months:
        cloud = grid.smooth(months["cloud_cover"])
    else:
        cloud = grid.smooth(np.clip((1 - share) / 0.65, 0, 1))
        notes.append("Cloud: estimated from the monthly sun, 1 − 0.65 cloud (Larson et al. 2016).")
    return {
        "solar": solar,
        "cloud_cover": np.clip(cloud, 0.0, 1.0),
        "sun_dimming": np.clip(grid.smooth(1 - share), 0.0, 1.0),
    }, notes

"""How much real winters differ at a town, from the hours of many years that were fetched."""

from __future__ import annotations

import datetime as dt
import functools
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.season.weather import stored
from pondheat.season.weather.fetching import Request
from pondheat.season.weather.towns import Town

COUNT = 20  # years asked for
_LEAST = 10  # seasons from which a spread is taken: of fewer it may be a third out by chance (judgement)
_WHOLE = 0.99  # share of its hours from which a season counts


def requests(town: Town, today: dt.date) -> list[Request]:
    """What to fetch for the last 20 whole years about their winter: July to June, January to December in the south."""
    month = 7 if town.latitude >= 0 else 1
    year = today.year if dt.date(today.year, month, 1) <= today else today.year - 1
    starts = [dt.date(year - back, month, 1) for back in range(COUNT, 0, -1)]
    return [Request(town, start, dt.date(start.year + 1, month, 1) - dt.timedelta(days=1)) for start in starts]


@functools.cache
def _air_temps(path: Path, changed: int) -> pd.Series:
    """Hourly air temperature [degC] of a stored file; `changed`: when it was written, so that a new one is read."""
    table = pd.read_csv(path, comment="#", usecols=[0, 1])
    return pd.Series(table.iloc[:, 1].to_numpy(float), pd.to_datetime(table.iloc[:, 0], utc=True))


def season_temps(town: Town, places: tuple[Path, ...], start: dt.date, end: dt.date) -> np.ndarray:
    """Mean air temperature of the season from `start` to `end` in every year whose hours were fetched [degC].

    places: folders that may hold them; start, end: of any year, only their day and month count. Empty where none was.
    """
    kept = [one.path for one in stored.of_town(town, places) if one.first is not None]
    if not kept:
        return np.array([])
    hours = pd.concat([_air_temps(path, path.stat().st_mtime_ns) for path in kept])
    hours = hours[~hours.index.duplicated()].sort_index()
    length, found = (end - start).days + 1, []
    index = pd.DatetimeIndex(hours.index)
    for year in range(index[0].year - 1, index[-1].year + 1):
        first = pd.Timestamp(year, start.month, min(start.day, 28), tz="UTC")
        season = hours[(index >= first) & (index < first + pd.Timedelta(days=length))]
        if len(season) >= _WHOLE * 24 * length:
            found.append(float(season.mean()))
    return np.array(found)


def year_spread(town: Town, places: tuple[Path, ...], start: dt.date, end: dt.date) -> float | None:
    """Standard deviation of the season's mean air temperature between the fetched years [K]; None for fewer than ten.

    Arguments as for `season_temps`.
    """
    temps = season_temps(town, places, start, end)
    return float(temps.std(ddof=1)) if len(temps) >= _LEAST else None

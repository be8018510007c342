"""How much real winters differ in a town, from fetched hours of many years."""

from __future__ import annotations

import datetime as dt
import functools
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.season.weather import stored
from pondheat.season.weather.fetching import Request
from pondheat.season.weather.towns import Town

COUNT = 20  # years to fetch
_LEAST = 10  # fewest seasons for a spread: with fewer it may be a third out by chance (judgement)
_WHOLE = 0.99  # least share of its hours for a season to count


def requests(town: Town, today: dt.date) -> list[Request]:
    """What to fetch for the last 20 whole years around winter: July to June, in the south January to December."""
    month = 7 if town.latitude >= 0 else 1
    year = today.year if dt.date(today.year, month, 1) <= today else today.year - 1
    starts = [dt.date(year - back, month, 1) for back in range(COUNT, 0, -1)]
    return [Request(town, start, dt.date(start.year + 1, month, 1) - dt.timedelta(days=1)) for start in starts]


@functools.cache
def _air_temps(path: Path, changed: int) -> pd.Series:
    """Hourly air temperature [degC] of a stored file; `changed`: when it was written, so that a new file is read."""
    table = pd.read_csv(path, comment="#", usecols=[0, 1])
    return pd.Series(table.iloc[:, 1].to_numpy(float), pd.to_datetime(table.iloc[:, 0], utc=True))


def season_temps(town: Town, places: tuple[Path, ...], start: dt.date, end: dt.date) -> np.ndarray:
    """Mean air temperature of the season from `start` to `end` in every year whose hours were fetched [degC].

    places: folders that may hold them; start, end: of any year, only their day and month count. Empty if none was
    fetched.
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

"""The ground beside a pond, hour by hour, from the yearly wave of its weather."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pandas as pd

from pondheat.analysis.results import times_of
from pondheat.season import simulate
from pondheat.season.weather.calendar import hours_of_the_year
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

YEAR_ROUND = 300  # days of a weather record from which the ground's yearly wave can be worked out


def ground_of(
    sheet: Sheet, record: Weather, index: pd.DatetimeIndex, mains_known: bool
) -> tuple[np.ndarray, str | None]:
    """Ground temperature of each hour [degC], and a note where the record is too short for its yearly wave.

    The wave is worked out from the whole record, not from the season cut from it.
    """
    if len(record.hours) >= YEAR_ROUND * 24:
        return _year_of_ground(record).reindex(hours_of_the_year(index)).ffill().bfill().to_numpy(), None
    mean = np.full(len(index), simulate.ground_temperature(record.hours).mean())
    touches_ground = any(wall.against == "ground" for wall in sheet.pond.walls)
    if not touches_ground and not (sheet.pond.water_change and not mains_known):
        return mean, None
    return mean, (
        "The record is too short to show the yearly cycle: ground and new water are assumed to be at its mean "
        f"air temperature, [{mean[0]:.1f} °C]."
    )


@lru_cache(maxsize=4)  # a table of choices asks for the same record again and again
def _year_of_ground(record: Weather) -> pd.Series:
    """Ground temperature [degC] by `hours_of_the_year`."""
    ground = simulate.ground_temperature(record.hours)
    return pd.Series(ground, index=hours_of_the_year(times_of(record.hours))).groupby(level=0).mean()

"""Fills longer gaps of a measured record from a typical year, where the reader asked for it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.season.weather.calendar import positions_in_year, standard_time_index
from pondheat.season.weather.record import MAX_FILL_HOURS, Record, WeatherError, describe_runs, runs_of

# Built-in typical years by latitude [deg]; the nearest in latitude is used.
YEARS = {"potsdam": 52.4, "greensboro": 36.1, "miami": 25.8}
_COLUMNS = ("air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover")


def nearest_year(record: Record) -> str:
    """The name of the built-in typical year nearest in latitude; raises `WeatherError` south of the equator."""
    north = record.latitude if record.latitude is not None else YEARS["potsdam"]
    if north < 0:
        raise WeatherError(
            "Gaps cannot be filled south of the equator: no typical year from there is built in. Fill in the missing "
            "values, or cut the record to where it is complete."
        )
    return min(YEARS, key=lambda name: abs(YEARS[name] - north))


def bridge(record: Record, typical: Record, zone: str) -> None:
    """Fill gaps of more than MAX_FILL_HOURS with the same hours of a typical year; notes and `bridged` say which.

    typical: a completed typical year; zone: of the pond. Columns that the record doesn't have are left out.
    """
    hours = record.hours
    position = positions_in_year(
        pd.DatetimeIndex(typical.hours.index), standard_time_index(pd.DatetimeIndex(hours.index).tz_convert(zone))
    )
    whole = np.zeros(len(hours), bool)
    for column in _COLUMNS:
        if column not in hours or hours[column].isna().all():
            continue
        gaps = hours[column].isna().to_numpy()
        values = hours[column].to_numpy(float).copy()
        for first, last in runs_of(gaps):
            if last - first >= MAX_FILL_HOURS:
                values[first : last + 1] = typical.hours[column].to_numpy(float)[position[first : last + 1]]
                whole[first : last + 1] = True
        hours[column] = values
    if whole.any():
        runs = runs_of(whole)
        record.bridged = tuple((hours.index[first], hours.index[last] + pd.Timedelta("1h")) for first, last in runs)
        record.notes.append(
            f"{counted(whole.sum(), 'hour is', 'hours are')} filled from a typical year ({typical.place}), as you "
            f"asked: {describe_runs(record, runs)}. That is not the weather there was, and proves nothing."
        )

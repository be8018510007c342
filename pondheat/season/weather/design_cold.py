"""The design temperature a heater is sized for, from a year of hours."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core.sources import Constant
from pondheat.season.weather.record import NORMALS
from pondheat.season.weather.weather import Weather

COLDER_SHARE = Constant(0.004, "dimensionless", "ashrae_f14", "the 99.6 % heating design temperature: 35 h/year colder")
_WHOLE_YEAR = 300 * 24  # hours


def design_temp(record: Weather) -> float | None:
    """The air temperature that all but 0.4 % of a year's hours exceed [degC]; None for a record shorter than 300 days.

    record: of one year; for a mild or a harsh one it is that year's value, not the long-term one of design tables.
    Source: ASHRAE Fundamentals 2017, chapter 14 (99.6 % heating dry-bulb temperature).
    """
    if len(record.hours) < _WHOLE_YEAR:
        return None
    return float(np.quantile(record.hours["air_temp"], COLDER_SHARE.value))


def heater_caution(record: Weather) -> str:
    """What it proves that a heater keeps up in this weather, with the cold it met; one or two sentences."""
    temps = record.hours["air_temp"]
    coldest_day = temps.groupby(pd.DatetimeIndex(temps.index).date).mean().min()
    cold = design_temp(record)
    met = f"its coldest hour is {_degrees(temps.min())}, its coldest day averages {_degrees(coldest_day)}"
    if cold is not None:
        met += f", and 35 of its hours are below {_degrees(cold)} (the temperature heaters are sized for)"
    if record.kind == NORMALS:
        return (
            "This proves nothing about a real winter: the year is made from monthly means, with cold spells added at "
            f"random; {met}. Ask for your region's own design temperature, and size the heater for that."
        )
    return f"There may be colder years. In this one, {met.replace('its', 'the', 1)}."


def _degrees(temp: float) -> str:
    return f"[{temp:.1f} °C]".replace("-", "−")

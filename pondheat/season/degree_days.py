"""Heating degree-days and degree-hours below a base temperature. For a heated pond the base is its own temperature."""

from __future__ import annotations

import numpy as np

from pondheat.core import ranges
from pondheat.core.display_units import quantity
from pondheat.core.ranges import plain


def degree_days(daily_temps, base_temp):
    """Degree-days of a series of days from their mean temperatures [K·d].

    Arguments: `daily_temps` [°C], the daily means (a list or array); `base_temp` [°C], float or array. Returns [K·d],
    one value for each base. Formula: Σ max(0, base − daily mean). Days warmer than the base count zero, so averaging
    the days first gives too little. Raises `core.ranges.OutOfRange`. Source: by definition; Statistics Netherlands
    prints 22 for a day of −4 °C and base 18 °C.

    >>> degree_days([6, 10, 13, 16, 18], 18), degree_days(-4, 18)
    (27.0, 22.0)
    """
    ranges.require(daily_temps=daily_temps, base_temp=base_temp)
    temps = np.atleast_1d(np.asarray(daily_temps, float))
    return plain(np.maximum(0.0, np.asarray(base_temp, float)[..., None] - temps).sum(axis=-1))


def degree_hours(hourly_temps, base_temp):
    """Degree-hours of a series of hours from their temperatures [K·h].

    Arguments: `hourly_temps`, one an hour in °C (a list or array); `base_temp` [°C], float or array. Returns [K·h], one
    value for each base. Formula: as `degree_days`, with hours for days: an hour 10 °C below the base counts ten.
    Raises `core.ranges.OutOfRange`. Source: by definition.

    >>> degree_hours([8], 18), degree_hours([8, 13, 20], 18)
    (10.0, 15.0)
    """
    return degree_days(hourly_temps, base_temp)


def degree_days_from_extremes(max_temp, min_temp, base_temp):
    """Degree-days of a day from its maximum and minimum temperature [K·d].

    Arguments: `max_temp`, `min_temp`, `base_temp` [°C]; floats or arrays that broadcast. Returns [K·d].
    Formula, with the mean m = (max + min)/2: min ≥ base: 0 · max ≤ base: base − m · m ≥ base: (base − min)/4 ·
    else (base − min)/2 − (max − base)/4. Raises `core.ranges.OutOfRange`, also where a minimum exceeds its maximum.
    Source: Irish meteorological service, degree days, cases I to IV.

    >>> degree_days_from_extremes(21, 12, 15.5), degree_days_from_extremes(19.5, 11.5, 15.5)
    (0.875, 1.0)
    """
    ranges.require(max_temp=max_temp, min_temp=min_temp, base_temp=base_temp)
    high, low, base = np.broadcast_arrays(*(np.asarray(each, float) for each in (max_temp, min_temp, base_temp)))
    if np.any(low > high):
        at = np.argmax(low > high)
        raise ranges.OutOfRange(
            f"A day's lowest temperature, {quantity(f'{low.flat[at]:g}', 'degC')}, is above its highest, "
            f"{quantity(f'{high.flat[at]:g}', 'degC')}: are the two swapped?"
        )
    mean = (high + low) / 2
    cases = [low >= base, high <= base, mean >= base]
    return plain(
        np.select(cases, [np.zeros_like(base), base - mean, (base - low) / 4], (base - low) / 2 - (high - base) / 4)
    )


def degree_days_of_sine(mean_temp, amplitude, base_temp):
    """Degree-days of a day with a sinusoidal temperature [K·d].

    Arguments: `mean_temp` [°C], `amplitude` [K] half the daily range, `base_temp` [°C]; floats or arrays that
    broadcast. Returns [K·d]: the integral of max(0, base − T) over the day. Formula, with d = base − mean and x = d/a
    within ±1: [d (π/2 + asin x) + a √(1 − x²)]/π; d where the whole day is colder than the base, 0 where it is warmer.
    Raises `core.ranges.OutOfRange`. Source: own integral.

    >>> round(degree_days_of_sine(15.5, 5, 15.5), 4)
    1.5915
    """
    ranges.require(mean_temp=mean_temp, amplitude=amplitude, base_temp=base_temp)
    mean, swing, base = np.broadcast_arrays(*(np.asarray(each, float) for each in (mean_temp, amplitude, base_temp)))
    below = base - mean
    steady = swing < 1e-9
    ratio = np.clip(np.where(steady, np.sign(below), below / np.where(steady, 1.0, swing)), -1.0, 1.0)
    return plain((below * (np.pi / 2 + np.arcsin(ratio)) + swing * np.sqrt(1 - ratio**2)) / np.pi)

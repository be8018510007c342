"""Readings of any step as sums of days, and the model's hours added up over the very same spans.

A day runs from noon to noon, so that a night lies in one day: with midnights between them, covered and open nights in
turn would make all days alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, require
from pondheat.meter.reading.energy_use import night_of, require_use

WHOLE_ENOUGH = 18.0  # hours of a day that must have been read for it to count (judgement)


class FewDays(OutOfRange):
    """No day of readings lies in the weather's hours."""


@dataclass(frozen=True, eq=False)
class Days:
    """measured [kWh] and hours [h] of each day (or longer reading), named by the date on which it
    begins; water_temp [degC]: the logged one at the ends of all hours of the weather (one more than hours), None where
    none was logged."""

    dates: pd.DatetimeIndex
    measured: np.ndarray
    hours: np.ndarray
    water_temp: np.ndarray | None
    notes: tuple[str, ...]
    begin: np.ndarray  # of each used row, in hours since the weather's first
    end: np.ndarray
    day: np.ndarray  # which day each row belongs to

    def sums(self, hourly: np.ndarray) -> np.ndarray:
        """Sum of a quantity per hour, (hours,) or (hours, k), over the read spans of each day; parts of hours too."""
        running = np.concatenate([np.zeros((1, *hourly.shape[1:])), np.cumsum(hourly, axis=0)])

        def until(at):
            whole = np.minimum(at.astype(int), len(hourly) - 1)
            part = (at - whole).reshape(-1, *[1] * (hourly.ndim - 1))
            return running[whole] + part * hourly[whole]

        found = np.zeros((len(self.dates), *hourly.shape[1:]))
        np.add.at(found, self.day, until(self.end) - until(self.begin))
        return found

    def shares(self, hourly: np.ndarray) -> np.ndarray:
        """Mean of a quantity over the read spans of each day."""
        return self.sums(hourly) / self.hours


def _left_out(count: int, what: str, which: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'} {which} {'was' if count == 1 else 'were'} left out."


def days_of(use: pd.DataFrame, index: pd.DatetimeIndex) -> Days:
    """Lay readings over the hours of a weather index and group them by day, noon to noon.

    use: frame with kwh, hours, perhaps water_temp, indexed by the start of each interval; index: starts of the
    weather's hours, gapless. Days with less than 18 hours read are left out, and counted in the notes.
    """
    require_use(use)
    if (use["kwh"] < 0).any():
        first = use.index[(use["kwh"] < 0).argmax()]
        raise OutOfRange(f"The meter ran backwards in the interval from {first:%Y-%m-%d %H:%M}.")
    use = use.sort_index()
    hour = pd.Timedelta("1h")
    begin = ((use.index - index[0]) / hour).to_numpy(float)
    length = use["hours"].to_numpy(float)
    if (begin[1:] < (begin + length)[:-1] - 1e-6).any():
        raise OutOfRange("Two readings of the meter overlap in time.")
    inside = (begin >= -1e-9) & (begin + length <= len(index) + 1e-9)
    notes = [] if inside.all() else [_left_out((~inside).sum(), "reading", "outside the weather's hours")]
    span = f"{use.index[0]:%Y-%m-%d} to {use.index[-1]:%Y-%m-%d}"
    use, begin, length = use[inside], np.maximum(begin[inside], 0.0), length[inside]
    local = use.index.tz_convert(index.tz)
    # A reading over more than a day is a block of its own, named by its start; shorter ones add up to their day.
    clock = local.tz_localize(None)
    dates, day = np.unique(clock.where(length > 26.0, night_of(local)), return_inverse=True)
    hours = np.bincount(day, length, len(dates))
    kept = hours >= WHOLE_ENOUGH
    if not kept.any():
        raise FewDays(
            f"No whole day of readings lies in the hours of this weather: the readings are of {span}, the weather of "
            f"{index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}. Is one of another year?"
        )
    if not kept.all():
        notes.append(_left_out((~kept).sum(), "day", f"with less than {WHOLE_ENOUGH:.0f} hours of readings"))
    row = kept[day]
    renamed = np.cumsum(kept) - 1
    water = None
    if "water_temp" in use and use["water_temp"].notna().sum() >= 2:
        known = use["water_temp"].notna().to_numpy()
        require(water_temp=use["water_temp"].to_numpy(float)[known])
        # Means of intervals stand at their middles.
        water = np.interp(
            np.arange(len(index) + 1), (begin + length / 2)[known], use["water_temp"].to_numpy(float)[known]
        )
    measured = np.bincount(day, use["kwh"].to_numpy(float), len(dates))
    return Days(
        pd.DatetimeIndex(dates)[kept],
        measured[kept],
        hours[kept],
        water,
        tuple(notes),
        begin[row],
        (begin + length)[row],
        renamed[day[row]],
    )

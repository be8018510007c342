"""Daily sums of readings of any length, and of hourly quantities over exactly the same spans.

A day runs from noon to noon, so that each night is within one day; days from midnight would mix alternating covered and
open nights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, require
from pondheat.meter.reading.energy_use import night_of, require_use, start_times
from pondheat.meter.reading.intervals import longest_carried

MIN_HOURS = 18.0  # h of a day that must be metered (judgement)


class NoWholeDay(OutOfRange):
    """No whole day of readings is within the weather's hours."""


@dataclass(frozen=True, eq=False)
class Days:
    """Daily sums of a log.

    measured [kWh] and hours [h] of each day (or longer reading), dated by its beginning; water_temp [degC]: logged, at
    the edges of all hours of the weather (one more than hours), None if not logged; notes: on readings dropped; begin,
    end, day: start and end of each run of readings without a gap in hours since the weather's first, and the day it
    belongs to.
    """

    dates: pd.DatetimeIndex
    measured: np.ndarray
    hours: np.ndarray
    water_temp: np.ndarray | None
    notes: tuple[str, ...]
    begin: np.ndarray
    end: np.ndarray
    day: np.ndarray

    def sums(self, hourly: np.ndarray) -> np.ndarray:
        """Daily sums of an hourly quantity, (hours,) or (hours, k), over the metered spans; parts of hours pro rata."""
        running = np.concatenate([np.zeros((1, *hourly.shape[1:])), np.cumsum(hourly, axis=0)])

        def until(at):
            whole = np.minimum(at.astype(int), len(hourly) - 1)
            part = (at - whole).reshape(-1, *[1] * (hourly.ndim - 1))
            return running[whole] + part * hourly[whole]

        found = np.zeros((len(self.dates), *hourly.shape[1:]))
        np.add.at(found, self.day, until(self.end) - until(self.begin))
        return found

    def means(self, hourly: np.ndarray) -> np.ndarray:
        """Daily means of an hourly quantity over the metered spans."""
        return self.sums(hourly) / self.hours


def _dropped_note(count: int, what: str, which: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'} {which} {'was' if count == 1 else 'were'} left out."


def _water_unknown(use: pd.DataFrame, middle: np.ndarray) -> np.ndarray:
    """Mask of readings of a log with a thermometer that lie in a gap of it longer than its own rhythm explains."""
    known = middle[use["water_temp"].notna().to_numpy()] if "water_temp" in use else np.zeros(0)
    if len(known) < 2:
        return np.zeros(len(use), bool)
    after = np.searchsorted(known, middle).clip(1, len(known) - 1)
    nearest = np.minimum(np.abs(middle - known[after - 1]), np.abs(middle - known[after]))
    return nearest > longest_carried(float(np.median(np.diff(known))))


def daily_readings(use: pd.DataFrame, index: pd.DatetimeIndex) -> Days:
    """Group readings by day, noon to noon, within the hours of a weather record.

    use: frame with kwh, hours, perhaps water_temp, indexed by the start of each interval; index: starts of the
    weather's hours, without gaps. Days with less than 18 hours metered are dropped, and counted in the notes. Raises
    OutOfRange for an unusable log, NoWholeDay if no day is left.
    """
    require_use(use)
    starts = start_times(use)
    if (use["kwh"] < 0).any():
        first = starts[int((use["kwh"] < 0).argmax())]
        raise OutOfRange(f"The meter ran backwards in the interval from {first:%Y-%m-%d %H:%M}.")
    use = use.sort_index()
    hour = pd.Timedelta("1h")
    begin = ((start_times(use) - index[0]) / hour).to_numpy(float)
    length = use["hours"].to_numpy(float)
    if (begin[1:] < (begin + length)[:-1] - 1e-6).any():
        raise OutOfRange("Two readings of the meter overlap in time.")
    inside = (begin >= -1e-9) & (begin + length <= len(index) + 1e-9)
    notes = [] if inside.all() else [_dropped_note((~inside).sum(), "reading", "outside the weather's hours")]
    span = f"{use.index[0]:%Y-%m-%d} to {use.index[-1]:%Y-%m-%d}"
    use, begin, length = use[inside], np.maximum(begin[inside], 0.0), length[inside]
    if (no_water := _water_unknown(use, begin + length / 2)).any():
        notes.append(_dropped_note(no_water.sum(), "reading", "too far from any water temperature to carry one over"))
        use, begin, length = use[~no_water], begin[~no_water], length[~no_water]
    local = start_times(use).tz_convert(index.tz)
    # A reading of more than a day is a block of its own, dated by its start; shorter ones add up to days.
    clock = local.tz_localize(None)
    dates, day = np.unique(clock.where(length > 26.0, night_of(local)), return_inverse=True)
    hours = np.bincount(day, length, len(dates))
    kept = hours >= MIN_HOURS
    if not kept.any():
        raise NoWholeDay(
            f"No whole day of readings is within this weather: the readings run from {span}, the weather from "
            f"{index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}. Is one from another year?"
        )
    if not kept.all():
        notes.append(_dropped_note((~kept).sum(), "day", f"with less than {MIN_HOURS:.0f} hours of readings"))
    row = kept[day]
    renamed = np.cumsum(kept) - 1
    water = None
    if "water_temp" in use and use["water_temp"].notna().sum() >= 2:
        known = use["water_temp"].notna().to_numpy()
        require(water_temp=use["water_temp"].to_numpy(float)[known])
        # An interval's mean belongs to its middle.
        water = np.interp(
            np.arange(len(index) + 1), (begin + length / 2)[known], use["water_temp"].to_numpy(float)[known]
        )
    measured = np.bincount(day, use["kwh"].to_numpy(float), len(dates))
    begin, end, place = begin[row], (begin + length)[row], renamed[day[row]]
    # A sum over readings that follow each other is one over their whole span: minutes need not be added one by one.
    opens = np.append(True, (begin[1:] > end[:-1] + 1e-6) | (place[1:] != place[:-1]))
    return Days(
        pd.DatetimeIndex(dates)[kept],
        measured[kept],
        hours[kept],
        water,
        tuple(notes),
        begin[opens],
        end[np.append(opens[1:], True)],
        place[opens],
    )

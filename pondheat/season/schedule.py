"""A cover's hours and a set point's dates laid over a season, in local civil time, round New Year."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

ALWAYS = ((1, 1), (12, 31))


def _between_days(number, first, last):
    low, high = first[0] * 100 + first[1], last[0] * 100 + last[1]
    return (number >= low) & (number <= high) if low <= high else (number >= low) | (number <= high)


def covered_share(index: pd.DatetimeIndex, on=None, off=None, days=(ALWAYS,), exceptions=()) -> np.ndarray:
    """Share of each hour for which the cover lies on [–].

    index: tz-aware starts of the hours in local civil time. on, off: clock times in minutes; None for both (or the
    same time twice) = day and night. days: ranges of (month, day) pairs; a night belongs to the day it begins on.
    exceptions: full dates or (month, day) whose covering is forgotten, again by the day it begins on. An hour is laid
    against the clock from its start; a clock change inside an hour is not followed.
    """
    local = index.tz_localize(None)
    minute = local.hour.to_numpy() * 60 + local.minute.to_numpy()
    forgotten = pd.DatetimeIndex(sorted({d for d in exceptions if isinstance(d, dt.date)}))
    yearly = [m * 100 + d for m, d in (e for e in exceptions if not isinstance(e, dt.date))]

    def wanted(shift: int) -> np.ndarray:
        """Whether the cover is used on each hour's day, or so many days after it (in days of the calendar)."""
        date = local.normalize() + pd.Timedelta(days=shift)
        number = date.month.to_numpy() * 100 + date.day.to_numpy()
        used = np.logical_or.reduce([_between_days(number, first, last) for first, last in days])
        return used & ~np.isin(number, yearly) & ~date.isin(forgotten)

    def overlap(start: int, end: int) -> np.ndarray:
        return np.clip(np.minimum(minute + 60, end) - np.maximum(minute, start), 0, 60) / 60

    day = 1440
    if on is None or off is None or (on - off) % day == 0:
        return overlap(0, day) * wanted(0) + overlap(day, 2 * day) * wanted(1)
    length = (off - on) % day
    # An hour touches what began the day before, on its own day, or (from 23:30, say) on the next.
    return sum(overlap(on + shift * day, on + shift * day + length) * wanted(shift) for shift in (-1, 0, 1))


def share_about(index: pd.DatetimeIndex, hours: float, middle: int) -> np.ndarray:
    """Share of each hour [–] for a cover that lies on so many hours of every 24, evenly about a clock time in minutes."""
    if not 0 < hours < 24:
        return np.full(len(index), hours / 24)
    half = round(hours * 30)
    return covered_share(index, (middle - half) % 1440, (middle + half) % 1440)


def stepped(index: pd.DatetimeIndex, steps: list[tuple[tuple[int, int], float | None]]) -> np.ndarray:
    """A value that changes on given days of the year, each kept until the next, round New Year. None becomes NaN."""
    ordered = sorted((m * 100 + d, np.nan if v is None else v) for (m, d), v in steps)
    starts = np.array([s for s, _ in ordered])
    values = np.array([v for _, v in ordered], float)
    number = index.month.to_numpy() * 100 + index.day.to_numpy()
    return values[np.searchsorted(starts, number, side="right") - 1]

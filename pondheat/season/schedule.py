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

    index: tz-aware starts of the hours in local civil time. on, off: clock times in minutes; None for both = day and
    night. days: ranges of (month, day) pairs; a night belongs to the day it begins on. exceptions: full dates or
    (month, day) whose covering is forgotten, again by the day it begins on.
    """
    minute = index.hour.to_numpy() * 60 + index.minute.to_numpy()
    number = index.month.to_numpy() * 100 + index.day.to_numpy()
    before = index - pd.Timedelta(days=1)
    previous = before.month.to_numpy() * 100 + before.day.to_numpy()
    forgotten = {d for d in exceptions if isinstance(d, dt.date)}
    yearly = {m * 100 + d for m, d in (e for e in exceptions if not isinstance(e, dt.date))}

    def wanted(numbers, stamps):
        ok = np.zeros(len(index), bool)
        for first, last in days:
            ok |= _between_days(numbers, first, last)
        if yearly:
            ok &= ~np.isin(numbers, list(yearly))
        if forgotten:
            ok &= ~np.isin(stamps.normalize().tz_localize(None), pd.DatetimeIndex(sorted(forgotten)))
        return ok

    today = wanted(number, index)
    if on is None or off is None or on == off:
        return today.astype(float)

    def overlap(start, end):
        return np.clip(np.minimum(minute + 60, end) - np.maximum(minute, start), 0, 60) / 60

    if on < off:
        return overlap(on, off) * today
    return overlap(on, 1440) * today + overlap(0, off) * wanted(previous, before)


def stepped(index: pd.DatetimeIndex, steps: list[tuple[tuple[int, int], float | None]]) -> np.ndarray:
    """A value that changes on given days of the year, each kept until the next, round New Year. None becomes NaN."""
    ordered = sorted((m * 100 + d, np.nan if v is None else v) for (m, d), v in steps)
    starts = np.array([s for s, _ in ordered])
    values = np.array([v for _, v in ordered], float)
    number = index.month.to_numpy() * 100 + index.day.to_numpy()
    return values[np.searchsorted(starts, number, side="right") - 1]

"""Calendars as people write them: "1 Oct", "19:30", ranges that cross New Year, in local civil time."""

from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pandas as pd

from pondheat.units import Unreadable

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
ALWAYS = ((1, 1), (12, 31))


def day_of(text) -> tuple[int, int]:
    """A day of the year as (month, day) from "1 Oct", "October 1", "10-01" or a full date.

    >>> day_of("1 Oct"), day_of("Oct 1"), day_of("2025-10-01")
    ((10, 1), (10, 1), (10, 1))
    """
    if isinstance(text, (dt.date, dt.datetime)):
        return text.month, text.day
    written = str(text).strip().lower()
    month = day = None
    if match := re.fullmatch(r"(?:\d{4}-)?(\d{1,2})-(\d{1,2})", written):
        month, day = int(match[1]), int(match[2])
    elif match := re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]{3})[a-z]*\.?(?:\s+\d{4})?", written):
        month, day = _MONTHS.index(match[2]) + 1 if match[2] in _MONTHS else None, int(match[1])
    elif match := re.fullmatch(r"([a-z]{3})[a-z]*\.?\s+(\d{1,2})(?:st|nd|rd|th)?", written):
        month, day = _MONTHS.index(match[1]) + 1 if match[1] in _MONTHS else None, int(match[2])
    try:
        dt.date(2024, month, day)
    except (TypeError, ValueError):
        raise Unreadable(f"“{str(text)[:40]}” is not a day of the year. Write it as 1 Oct or 10-01.") from None
    return month, day


def clock_of(text) -> int:
    """A clock time as minutes after midnight from "19:30", "7:00", "24:00" or a TOML time.

    >>> clock_of("19:30")
    1170
    """
    if isinstance(text, dt.time):
        return text.hour * 60 + text.minute
    match = re.fullmatch(r"\s*(\d{1,2})[:.](\d{2})\s*", str(text))
    if match and int(match[1]) * 60 + int(match[2]) <= 1440 and int(match[2]) < 60:
        return int(match[1]) * 60 + int(match[2])
    raise Unreadable(f"“{str(text)[:40]}” is not a time of day. Write it as 19:30.")


def within_days(index: pd.DatetimeIndex, first: tuple[int, int], last: tuple[int, int]) -> np.ndarray:
    """Which stamps fall on days from first to last, both included, round New Year where last comes before first."""
    return _between_days(index.month.to_numpy() * 100 + index.day.to_numpy(), first, last)


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

"""Cover hours and dated set points evaluated for each hour of a season, in local civil time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

MonthDay = tuple[int, int]
ALWAYS: tuple[MonthDay, MonthDay] = ((1, 1), (12, 31))


def _in_date_range(month_day: np.ndarray, first: MonthDay, last: MonthDay) -> np.ndarray:
    """Whether each 100 × month + day is within the range, which may run across New Year."""
    low, high = first[0] * 100 + first[1], last[0] * 100 + last[1]
    if low <= high:
        return (month_day >= low) & (month_day <= high)
    return (month_day >= low) | (month_day <= high)


def covered_share(
    index: pd.DatetimeIndex,
    on: int | None = None,
    off: int | None = None,
    days: Sequence[tuple[MonthDay, MonthDay]] = (ALWAYS,),
    exceptions: Iterable[dt.date | MonthDay] = (),
) -> np.ndarray:
    """Share of each hour during which the cover is on [–].

    index: tz-aware starts of the hours in local civil time. on, off: clock times in minutes after midnight; None for
    either, or twice the same time, means day and night. days: date ranges as (month, day) pairs, both ends included; a
    night belongs to the day on which it begins. exceptions: full dates, or (month, day) for every year, on which the
    cover is forgotten, again by the day on which the covering begins. Clock times are counted from the start of the
    hour, so a clock change within an hour is ignored.
    """
    local = index.tz_localize(None)
    minute = local.hour.to_numpy() * 60 + local.minute.to_numpy()
    skipped = list(exceptions)
    skipped_dates = pd.DatetimeIndex(sorted({each for each in skipped if isinstance(each, dt.date)}))
    skipped_days = [each[0] * 100 + each[1] for each in skipped if not isinstance(each, dt.date)]

    midnights, day_of = np.unique(local.to_numpy().astype("datetime64[D]"), return_inverse=True)

    def in_use(shift: int) -> np.ndarray:
        """Whether the cover is used on the calendar day `shift` days after each hour's own."""
        date = pd.DatetimeIndex(midnights) + pd.Timedelta(days=shift)
        month_day = date.month.to_numpy() * 100 + date.day.to_numpy()
        used = np.logical_or.reduce([_in_date_range(month_day, first, last) for first, last in days])
        return (used & ~np.isin(month_day, skipped_days) & ~date.isin(skipped_dates))[day_of]

    def overlap(start: int, end: int) -> np.ndarray:
        """Share of each hour between two clock times, in minutes after the midnight before it."""
        return np.clip(np.minimum(minute + 60, end) - np.maximum(minute, start), 0, 60) / 60

    day = 1440
    if on is None or off is None or (on - off) % day == 0:
        return overlap(0, day) * in_use(0) + overlap(day, 2 * day) * in_use(1)
    length = (off - on) % day
    # A covering that overlaps an hour began the day before, the same day or, for an hour from 23:30 say, the next day.
    return np.sum(
        [overlap(on + shift * day, on + shift * day + length) * in_use(shift) for shift in (-1, 0, 1)], axis=0
    )


def covered_share_around(index: pd.DatetimeIndex, hours: float, middle: int) -> np.ndarray:
    """Share of each hour covered [–] by a cover that is on `hours` of every 24, centred on a clock time.

    index: tz-aware starts of the hours in local civil time. hours: [hour], 0 to 24. middle: clock time in minutes after
    midnight.
    """
    if not 0 < hours < 24:
        return np.full(len(index), hours / 24)
    half = round(hours * 30)
    return covered_share(index, (middle - half) % 1440, (middle + half) % 1440)


def values_by_date(index: pd.DatetimeIndex, steps: list[tuple[tuple[int, int], float | None]]) -> np.ndarray:
    """Value at each hour of a quantity that changes on given dates of every year; None becomes NaN.

    index: starts of the hours in local civil time. steps: ((month, day), value); each value holds from its date until
    the next one, the last of the year also from 1 January.
    """
    ordered = sorted((month * 100 + day, np.nan if value is None else value) for (month, day), value in steps)
    starts = np.array([start for start, _ in ordered])
    values = np.array([value for _, value in ordered], float)
    month_day = index.month.to_numpy() * 100 + index.day.to_numpy()
    return values[np.searchsorted(starts, month_day, side="right") - 1]

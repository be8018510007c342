"""Arithmetic of local civil time: clock changes of a time zone, and time spans split by local days and clock times.

An instant is whole seconds since 1970-01-01 00:00 UTC. Local seconds count what a wall clock shows in the same way;
they repeat when clocks go back and jump when clocks go forward.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo
from datetime import date as calendar_date

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.ranges import require
from pondheat.core.units import Unreadable

DAY, HOUR, MINUTE = 86_400, 3600, 60
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# Every known zone keeps an offset for at least some days, so a quarter of a day cannot hide a change and its reversal.
_SAMPLE_STEP = DAY // 4


def day_number(date) -> int:
    """Days from 1970-01-01 to a date.

    date: “YYYY-MM-DD”. Raises `Unreadable` for anything else, OutOfRange before 1800.
    """
    try:
        day = calendar_date.fromisoformat(str(date))
    except ValueError:
        raise Unreadable(f"“{date}” is not a date: write it as 2025-03-30.") from None
    require(year=day.year)
    return day.toordinal() - _EPOCH.date().toordinal()


def instants(index: pd.Index) -> np.ndarray:
    """Instants of a tz-aware index; raises `Unreadable` for an index without a time zone."""
    if not isinstance(index, pd.DatetimeIndex) or index.tz is None:
        raise Unreadable("These times carry no time zone: without one nobody can say which hours are the cheap ones.")
    return index.as_unit("s").asi8


def zone_of(index: pd.Index) -> tzinfo:
    """Time zone of an index; raises `Unreadable` for an index without one."""
    instants(index[:0])
    zone = pd.DatetimeIndex(index).tz
    assert zone is not None
    return zone


def _offset(instant: int, tz: tzinfo) -> int:
    """Offset from UTC [s] at an instant."""
    offset = (_EPOCH + timedelta(seconds=instant)).astimezone(tz).utcoffset()
    assert offset is not None
    return int(offset.total_seconds())


@functools.lru_cache(maxsize=1024)
def _changes(tz: tzinfo, year: int) -> tuple[list[int], list[int]]:
    """Instants in a year, by UTC, from which an offset holds, and these offsets [s]; the first is the year's start."""
    begin, end = (int((datetime(at, 1, 1, tzinfo=UTC) - _EPOCH).total_seconds()) for at in (year, year + 1))
    since, offsets = [begin], [_offset(begin, tz)]
    for late in range(begin + _SAMPLE_STEP, end + 1, _SAMPLE_STEP):
        after = _offset(late, tz)
        if after == offsets[-1]:
            continue
        early = late - _SAMPLE_STEP
        while late - early > 1:
            middle = (early + late) // 2
            early, late = (middle, late) if _offset(middle, tz) == offsets[-1] else (early, middle)
        since.append(late)
        offsets.append(after)
    return since, offsets


def _offsets_between(tz: tzinfo, begin: int, end: int) -> tuple[np.ndarray, np.ndarray]:
    """Instants from which an offset from UTC holds, in order, and these offsets [s], for the years of a time span."""
    first, last = ((_EPOCH + timedelta(seconds=int(instant))).year for instant in (begin, end))
    years = [_changes(tz, year) for year in range(first, last + 1)]
    since, offsets = (np.concatenate([year[part] for year in years]) for part in (0, 1))
    changed = np.append(True, np.diff(offsets) != 0)
    return since[changed], offsets[changed]


def local_seconds(instant: np.ndarray, tz: tzinfo) -> np.ndarray:
    """Local seconds at these instants, that is what a wall clock shows, counted from 1970-01-01 00:00."""
    since, offsets = _offsets_between(tz, int(instant.min()), int(instant.max()))
    return instant + offsets[np.searchsorted(since, instant, side="right") - 1]


def segments(tz: tzinfo, begin: int, end: int, clock_minutes: Iterable[int]) -> tuple[np.ndarray, np.ndarray]:
    """Starts of the segments of a time span split at local midnights, given clock times and clock changes.

    begin, end: instants. clock_minutes: further cuts, in minutes after local midnight. Returns the starts as instants
    and as local seconds; a segment lasts until the next one starts, the last until `end`.
    """
    since, offsets = _offsets_between(tz, begin, end)
    marks = MINUTE * np.unique(np.append(np.asarray(list(clock_minutes), dtype=np.int64), 0))
    starts, local = [], []
    for number, (first, offset) in enumerate(zip(since, offsets, strict=True)):
        first = max(begin, first)
        last = min(end, since[number + 1]) if number + 1 < len(since) else end
        if first >= last:
            continue
        days = np.arange((first + offset) // DAY, (last + offset - 1) // DAY + 1)
        cuts = (days[:, None] * DAY + marks).ravel() - offset
        cuts = np.append(first, cuts[(cuts > first) & (cuts < last)])
        starts.append(cuts)
        local.append(cuts + offset)
    return np.concatenate(starts), np.concatenate(local)


@functools.lru_cache(maxsize=256)
def day_segments(
    timezone: str, first: int, last: int, clock_minutes: tuple[int, ...] = ()
) -> tuple[np.ndarray, np.ndarray]:
    """Local starts and lengths of the segments of whole local days.

    first, last: days since 1970-01-01, both included. clock_minutes: further cuts, in minutes after local midnight.
    Returns the starts in local seconds and the lengths [s].
    """
    begin, end = (first - 2) * DAY, (last + 3) * DAY
    starts, local = segments(value_parsers.time_zone(timezone), begin, end, clock_minutes)
    lengths = np.diff(np.append(starts, end))
    inside = (local // DAY >= first) & (local // DAY <= last)
    return local[inside], lengths[inside]

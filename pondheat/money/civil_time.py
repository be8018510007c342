"""Local civil time as arithmetic: where a zone's clocks change, and how a span of time falls into pieces of local days.

Instants are whole seconds since 1970-01-01 00:00 UTC. Local seconds are what the clock on the wall shows, counted the
same way; they repeat when clocks go back and jump when clocks go forward.
"""

from __future__ import annotations

import functools
from datetime import date as calendar_date
from datetime import datetime, timedelta, tzinfo
from datetime import timezone as fixed_zone

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.ranges import require
from pondheat.core.units import Unreadable

DAY, HOUR, MINUTE = 86_400, 3600, 60
_EPOCH = datetime(1970, 1, 1, tzinfo=fixed_zone.utc)
# Every zone known keeps its offset for at least some days; a quarter of a day cannot hide a change and its undoing.
_SAMPLE = DAY // 4


def day_number(date) -> int:
    """Days since 1970-01-01 of a date “YYYY-MM-DD”; `Unreadable` for what is none, OutOfRange before 1800."""
    try:
        day = calendar_date.fromisoformat(str(date))
    except ValueError:
        raise Unreadable(f"“{date}” is not a date: write it as 2025-03-30.") from None
    require(year=day.year)
    return day.toordinal() - _EPOCH.date().toordinal()


def instants(index: pd.DatetimeIndex) -> np.ndarray:
    """Seconds since 1970 UTC of an index that knows its time zone; `Unreadable` for one that does not."""
    if not isinstance(index, pd.DatetimeIndex) or index.tz is None:
        raise Unreadable("These times carry no time zone: without one nobody can say which hours are the cheap ones.")
    return index.as_unit("s").asi8


def _offset(instant: int, tz: tzinfo) -> int:
    moment = (_EPOCH + timedelta(seconds=instant)).astimezone(tz)
    return int(moment.utcoffset().total_seconds())


@functools.lru_cache(maxsize=64)
def _offsets(tz: tzinfo, first_year: int, last_year: int) -> tuple[np.ndarray, np.ndarray]:
    """Instants from which an offset holds, and these offsets [s], from the eve of one year to the morrow of another."""
    begin = int((datetime(first_year, 1, 1, tzinfo=fixed_zone.utc) - _EPOCH).total_seconds()) - 2 * DAY
    end = int((datetime(last_year + 1, 1, 1, tzinfo=fixed_zone.utc) - _EPOCH).total_seconds()) + 2 * DAY
    since, offsets = [begin], [_offset(begin, tz)]
    for late in range(begin + _SAMPLE, end + _SAMPLE, _SAMPLE):
        after = _offset(late, tz)
        if after == offsets[-1]:
            continue
        early = late - _SAMPLE
        while late - early > 1:
            middle = (early + late) // 2
            early, late = (middle, late) if _offset(middle, tz) == offsets[-1] else (early, middle)
        since.append(late)
        offsets.append(after)
    return np.array(since), np.array(offsets)


def _offsets_over(tz: tzinfo, begin: int, end: int) -> tuple[np.ndarray, np.ndarray]:
    def year(instant: int) -> int:
        return (_EPOCH + timedelta(seconds=int(instant))).year

    return _offsets(tz, year(begin), year(end))


def local_seconds(instant: np.ndarray, tz: tzinfo) -> np.ndarray:
    """What the clock on the wall shows at these instants, in seconds since 1970-01-01 00:00 on that clock."""
    since, offsets = _offsets_over(tz, instant.min(), instant.max())
    return instant + offsets[np.searchsorted(since, instant, side="right") - 1]


def pieces(tz: tzinfo, begin: int, end: int, clock_minutes) -> tuple[np.ndarray, np.ndarray]:
    """Cut the span from `begin` to `end` at local midnights, at given local clock times and at every clock change.

    clock_minutes: minutes after local midnight at which to cut. Returns the start of each piece as instants and as
    local seconds; a piece lasts until the next one starts, the last until `end`.
    """
    since, offsets = _offsets_over(tz, begin, end)
    marks = MINUTE * np.unique(np.append(np.asarray(list(clock_minutes), dtype=np.int64), 0))
    starts, local = [], []
    for here, (first, offset) in enumerate(zip(since, offsets, strict=True)):
        first = max(begin, first)
        last = min(end, since[here + 1]) if here + 1 < len(since) else end
        if first >= last:
            continue
        days = np.arange((first + offset) // DAY, (last + offset - 1) // DAY + 1)
        cuts = (days[:, None] * DAY + marks).ravel() - offset
        mine = np.append(first, cuts[(cuts > first) & (cuts < last)])
        starts.append(mine)
        local.append(mine + offset)
    return np.concatenate(starts), np.concatenate(local)


@functools.lru_cache(maxsize=256)
def pieces_of_days(
    timezone: str, first: int, last: int, clock_minutes: tuple[int, ...] = ()
) -> tuple[np.ndarray, np.ndarray]:
    """Local seconds and lengths [s] of the pieces of the local days `first` to `last` (days since 1970-01-01)."""
    begin, end = (first - 2) * DAY, (last + 3) * DAY
    starts, local = pieces(value_parsers.time_zone(timezone), begin, end, clock_minutes)
    lengths = np.diff(np.append(starts, end))
    inside = (local // DAY >= first) & (local // DAY <= last)
    return local[inside], lengths[inside]

"""Local clock times to instants, across the hours that clocks skip or repeat.

Naive times are numpy datetime64[us] as written; instants are microseconds since 1970-01-01 00:00 UTC.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.time_formats import SECOND, localised
from pondheat.season.weather.times import standard_offset

CLOCKS = ("local", "standard", "utc")
_DAY = 86_400 * SECOND


def local_times(at: np.ndarray, timezone: str) -> pd.DatetimeIndex:
    """Instants [µs] as times by the clock of a zone."""
    return pd.DatetimeIndex(at.astype("datetime64[us]"), tz="UTC").tz_convert(value_parsers.time_zone(timezone))


def instants(
    naive: np.ndarray, row: np.ndarray, timezone: str, clock: str, read_log: ReadLog, sure: bool = True
) -> np.ndarray:
    """Instants [µs] of naive times in rows that mostly rise; within a repeated hour, the order of rows decides.

    clock: one of CLOCKS, "standard" being winter time all year; sure: whether the caller said so. Raises ReadingsFault
    for a time that clocks skip, and unless `sure` where a regular record has an hour shown twice only once.
    """
    if clock == "utc":
        return naive.astype(np.int64)
    if clock == "standard":
        ahead = standard_offset(timezone, int(str(naive[0])[:4]))
        return naive.astype(np.int64) - int(ahead.total_seconds()) * SECOND
    zone = value_parsers.time_zone(timezone)
    local = naive.astype(np.int64)
    made, left = _on_regular_days(local, zone)
    if len(left):
        index = pd.DatetimeIndex(naive[left])
        moments = index.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
        made[left] = moments.asi8
        unclear = np.flatnonzero(moments.isna())
        if len(unclear):
            made[left[unclear]] = _skipped_or_repeated(
                index[unclear], unclear, index, row[left], zone, timezone, read_log
            )
            if not sure:
                _ask_for_clock(naive, index[unclear], row[left][unclear], zone, timezone)
    return made


def _on_regular_days(local: np.ndarray, zone) -> tuple[np.ndarray, np.ndarray]:
    """Instants of times on local days of 24 hours, and the positions of all others (a fast path: nearly all days)."""
    day = local // _DAY
    begins = np.append(0, np.flatnonzero(np.diff(day)) + 1)
    days = day[begins]
    midnight, next_midnight = (localised((one * _DAY).astype("datetime64[us]"), zone).asi8 for one in (days, days + 1))
    counts = np.diff(np.append(begins, len(local)))
    made = local - np.repeat(days * _DAY - midnight, counts)
    return made, np.flatnonzero(np.repeat(next_midnight - midnight != _DAY, counts))


def _ask_for_clock(naive: np.ndarray, unclear: pd.DatetimeIndex, row: np.ndarray, zone, timezone: str) -> None:
    """Raise ReadingsFault where a gapless record has an hour that the clocks show twice only once."""
    steps = np.diff(np.sort(naive))
    usual = np.median(steps) if len(steps) else np.timedelta64(0, "us")
    if not np.timedelta64(0, "us") < usual <= np.timedelta64(1, "h"):
        return
    for day in np.unique(unclear.normalize().to_numpy().astype("datetime64[D]")):
        mine = unclear[unclear.normalize() == pd.Timestamp(day)]
        if mine.has_duplicates or mine.tz_localize(zone, ambiguous="NaT", nonexistent="shift_forward").notna().any():
            continue
        near = np.sort(naive[(naive >= mine.min() - 3 * usual) & (naive <= mine.max() + 3 * usual)])
        if len(near) < 5 or (np.diff(near) != usual).any():
            continue
        raise ReadingsFault(
            f"Row {row[int(np.argmax(unclear == mine[0]))]}: on {day} the clocks of {timezone} show the hour from "
            f"{mine.min():%H:%M} twice, but the file has it once and without a gap, like a record in UTC or in "
            'winter time all year. Give clock="utc" or clock="standard" if it is one of these, or clock="local" if its '
            "clock was put back and an hour is missing."
        )


def _skipped_or_repeated(
    index: pd.DatetimeIndex,
    unclear: np.ndarray,
    all_times: pd.DatetimeIndex,
    row: np.ndarray,
    zone,
    timezone: str,
    read_log: ReadLog,
) -> np.ndarray:
    """Instants of times that the clock shows twice or never, at positions `unclear` of `all_times`."""
    first = localised(index, zone, "NaT")
    never = np.asarray(first.isna())
    made = first.asi8.copy()
    if never.any():
        shifted = index[never].tz_localize(zone, nonexistent="shift_forward")
        back = index[never].tz_localize(zone, nonexistent="shift_backward")
        begins = np.asarray(index[never] - back.tz_localize(None) <= pd.Timedelta(1, "us"))
        if not begins.all():
            at = unclear[never][int(np.argmin(begins))]
            raise ReadingsFault(
                f"Row {row[at]}: {all_times[at]:%Y-%m-%d %H:%M} does not exist in {timezone}: the clocks skip it. If "
                'the record keeps winter time all year, give clock="standard"; if it is in UTC, clock="utc".'
            )
        made[never] = shifted.asi8
        read_log.add_repair(
            "clock",
            f"{rows_text(row[unclear[never]], 'Row', 'Rows')} gives the moment the clocks go forward in the old time; "
            "taken as that moment.",
            row[unclear[never]],
        )
    twice = np.flatnonzero(~never)
    if not len(twice):
        return made
    second = index[twice].tz_localize(zone, ambiguous=np.zeros(len(twice), bool)).asi8
    day = index[twice].normalize().asi8
    for one in np.unique(day):
        mine = np.flatnonzero(day == one)
        times = index[twice[mine]].asi8
        falls = np.append(False, np.diff(times) < 0)
        again = (np.cumsum(falls) > 0) | (pd.Series(times).groupby(times).cumcount().to_numpy() > 0)
        made[twice[mine[again]]] = second[mine[again]]
        shown = f"{index[twice[mine[0]]]:%Y-%m-%d}"
        read_log.add_repair(
            "clock",
            f"On {shown} the clocks of {timezone} show an hour twice: "
            + (
                "its rows are told apart by their order."
                if again.any()
                else "the file has it once, taken as the first of the two (summer time)."
            ),
            row[unclear[twice[mine]]],
        )
    return made


def report_skipped_hours(start: np.ndarray, naive: np.ndarray, timezone: str, read_log: ReadLog) -> None:
    """Record each time the clocks go forward within the file."""
    shift = naive.astype(np.int64) - start
    for at in np.flatnonzero(np.diff(shift) > 0):
        minutes = (shift[at + 1] - shift[at]) / 60 / SECOND
        day, eve = (str(naive[one])[:10] for one in (at + 1, at))
        read_log.add_repair(
            "clock",
            f"{f'On {day}' if day == eve else f'Between {eve} and {day}'} the clocks of {timezone} go forward: "
            f"{minutes:g} minutes do not exist that day, and nothing is missing.",
        )

"""Summaries of metered energy: power statistics, profile by hour and by day, whole hours, energy and cost by rate.

A *use* is a frame with index `start` (with a time zone), columns kwh [kWh], hours [h] and optionally water_temp [°C].
An interval that has to be divided is assumed to use its energy evenly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange
from pondheat.core.units import digits as shown
from pondheat.core.units import money
from pondheat.money import civil_time
from pondheat.money.tariffs import Tariff
from pondheat.season.weather.times import standard_offset

_LONGEST_SPLIT = 6.0  # h; judgement: spreading longer intervals evenly would invent a daily profile


@dataclass(frozen=True, eq=False)
class UseStatistics:
    """Statistics of a use.

    kwh: total [kWh]; hours: metered [h]; mean, median, highest, lowest: power [W], the median by time; highest_from,
    lowest_from: starts of those intervals, the first of equals; by_hour: mean power [W] and kwh [kWh] by local hour of
    day; by_day: kwh [kWh], hours metered and length of the local day [h], power [W] by date.
    """

    kwh: float
    hours: float
    mean: float
    median: float
    highest: float
    highest_from: pd.Timestamp
    lowest: float
    lowest_from: pd.Timestamp
    by_hour: pd.DataFrame
    by_day: pd.DataFrame

    def text(self) -> str:
        """The main statistics in one sentence."""
        return (
            f"{shown(self.kwh, 1)} kWh in {shown(self.hours, 1)} metered hours: {shown(self.mean)} W on average, half "
            f"the time below {shown(self.median)} W, highest {shown(self.highest)} W from "
            f"{self.highest_from:%Y-%m-%d %H:%M}, lowest {shown(self.lowest)} W from {self.lowest_from:%Y-%m-%d %H:%M}."
        )


@dataclass(frozen=True, eq=False)
class CostByRate:
    """Energy and cost of a use by rate.

    by_rate: kwh [kWh] and money [money] by name of rate; notes: sentences, one on intervals that were divided.
    """

    by_rate: pd.DataFrame
    kwh: float
    energy_money: float
    notes: tuple[str, ...]


def start_times(use: pd.DataFrame) -> pd.DatetimeIndex:
    """The index of a use: the start of each interval."""
    return cast(pd.DatetimeIndex, use.index)


def require_use(use: pd.DataFrame) -> None:
    """Raise OutOfRange unless a frame is a use: its columns, times with a zone, finite numbers, positive lengths."""
    for column in ("kwh", "hours"):
        if column not in use:
            raise OutOfRange(f"The readings have no column “{column}”.")
    if not isinstance(use.index, pd.DatetimeIndex) or use.index.tz is None:
        raise OutOfRange("The readings must be indexed by times with a time zone.")
    values = use[["kwh", "hours"]].to_numpy(float)
    if not np.isfinite(values).all() or (use["hours"] <= 0).any():
        raise OutOfRange("The readings contain a value that is not a number, or an interval of no length.")


def night_of(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Date on whose evening the night of each time begins; a night runs from noon to noon by the local clock."""
    return (index.tz_localize(None) - pd.Timedelta(hours=12)).normalize()


def statistics(use: pd.DataFrame, timezone: str) -> UseStatistics:
    """Mean, median, highest and lowest power of a use, and its profile by hour of day and by local day.

    use: see the module's docstring; timezone: IANA name; days have 23 to 25 hours when clocks change, and hours that
    were not metered are not counted as hours of no use.
    Raises OutOfRange for a use without rows, `core.units.Unreadable` for an unknown zone or times without one.
    """
    begin, end, kwh, hours = _arrays(use)
    watts = 1000 * kwh / hours
    order = np.argsort(watts, kind="stable")
    passed = np.cumsum(hours[order])
    median = float(watts[order][np.searchsorted(passed, passed[-1] / 2)])
    top, low = int(watts.argmax()), int(watts.argmin())
    tz = value_parsers.time_zone(timezone)
    first, last = int(np.floor(begin[0])), int(np.ceil(end[-1]))
    starts, local = civil_time.segments(tz, first, last, range(0, 1440, 60))
    energy, metered = _between(begin, end, kwh, np.append(starts, last))
    clock = local // civil_time.HOUR % 24
    by_clock = np.bincount(clock, energy, 24), np.bincount(clock, metered, 24)
    with np.errstate(invalid="ignore", divide="ignore"):
        by_hour = pd.DataFrame(
            {"power": 1000 * by_clock[0] / by_clock[1], "kwh": by_clock[0]}, index=pd.RangeIndex(24, name="hour")
        )
        days, place = np.unique(local // civil_time.DAY, return_inverse=True)
        by_date = np.bincount(place, energy), np.bincount(place, metered)
        power = 1000 * by_date[0] / by_date[1]
    parts, lengths = civil_time.day_segments(timezone, int(days[0]), int(days[-1]))
    day_hours = np.bincount(parts // civil_time.DAY - days[0], lengths)[days - days[0]] / civil_time.HOUR
    by_day = pd.DataFrame(
        {"kwh": by_date[0], "hours": by_date[1], "day_hours": day_hours, "power": power},
        index=pd.Index(days.astype("datetime64[D]").astype(str), name="date"),
    )
    at = start_times(use).tz_convert(tz)
    return UseStatistics(
        float(kwh.sum()),
        float(hours.sum()),
        float(1000 * kwh.sum() / hours.sum()),
        median,
        float(watts[top]),
        at[top],
        float(watts[low]),
        at[low],
        by_hour,
        by_day[by_day["hours"] > 1e-9],
    )


def hourly(use: pd.DataFrame) -> pd.DataFrame:
    """A use resampled to whole hours in its time zone; energy is conserved.

    use: see the module's docstring. Hours begin at full hours of the zone's standard time (at half past in UTC for
    Asia/Kolkata). Intervals of up to six hours are divided by time; longer ones (days, months, hand readings) stay as
    they are. The column hours gives the metered part of each hour.
    Raises OutOfRange for a use without rows, `core.units.Unreadable` for times without a zone.
    """
    begin, end, kwh, hours = _arrays(use)
    stay = hours > _LONGEST_SPLIT + 1e-9
    parts = [use[stay]]
    if not stay.all():
        some = ~stay
        long_end = end[stay]
        begin, end, kwh = begin[some], end[some], kwh[some]
        phase = standard_offset(str(start_times(use).tz), use.index[0].year).total_seconds() % civil_time.HOUR
        first = (begin[0] + phase) // civil_time.HOUR * civil_time.HOUR - phase
        edges = np.arange(first, end[-1] + civil_time.HOUR, civil_time.HOUR)
        columns = dict(zip(("kwh", "hours"), _between(begin, end, kwh, edges)))
        if "water_temp" in use:
            columns["water_temp"] = _mean_between(begin, end, use["water_temp"].to_numpy(float)[some], edges)
        starts = edges[:-1].copy()
        for late in long_end:  # an hour in which a long reading ends starts at that reading's end
            starts[(starts < late) & (late < starts + civil_time.HOUR)] = late
        made = pd.DataFrame(columns, index=_index(starts, start_times(use).tz))
        parts.append(made[made["hours"] > 1e-9])
    whole = pd.concat([part for part in parts if len(part)]).sort_index()
    return whole.rename_axis("start")


def cost_by_rate(use: pd.DataFrame, tariff: Tariff) -> CostByRate:
    """Energy and cost by rate, without standing charge and added tax.

    use: see the module's docstring; tariff: `money.tariffs.Tariff`. Time windows are those of the use's own zone; an
    interval across a change of rate is divided by time, which a note reports.
    Raises OutOfRange for a use without rows, `core.units.Unreadable` for times without a zone or without a price.
    """
    begin, end, kwh, _ = _arrays(use)
    zone = start_times(use).tz
    assert zone is not None
    starts, owner, rate = tariff.rate_segments(zone, int(np.floor(begin[0])), int(np.ceil(end.max())))
    edges = np.append(starts, np.ceil(end.max()))
    # Both are in order, and there are few pieces: look the pieces up among the intervals.
    piece = np.arange(len(starts))
    first = np.repeat(piece, np.diff(np.append(np.searchsorted(begin, starts), len(begin))))
    last = np.repeat(piece, np.diff(np.append(np.searchsorted(end, starts, side="right"), len(end))))
    one = first == last
    energy = np.zeros(len(starts)) + np.bincount(first[one], kwh[one], len(starts))
    if not one.all():
        energy += _between(begin[~one], end[~one], kwh[~one], edges)[0]
    changes = np.cumsum(np.append(False, (np.diff(owner) != 0) | (np.diff(rate) != 0)))
    mixed = changes[last] > changes[first]
    divided = float(kwh[mixed].sum())
    names = list(tariff.rate_names)
    table = pd.DataFrame(
        {"kwh": np.bincount(owner, energy, len(names)), "money": np.bincount(owner, energy * rate, len(names))},
        index=pd.Index(names, name="rate"),
    )
    total = float(table["money"].sum())
    notes = [
        f"{shown(float(kwh.sum()), 1)} kWh cost {money(total, tariff.currency)} at these rates, without the standing "
        "charge" + (" and tax." if tariff.tax_rate and not tariff.tax_included else ".")
    ]
    if mixed.any():
        notes.append(
            f"{counted(mixed.sum(), 'interval', 'intervals')} across a change of rate ({shown(divided, 2)} kWh) "
            "divided by time, as if used evenly: shorter intervals would be more accurate."
        )
    return CostByRate(table, float(kwh.sum()), total, tuple(notes))


# --- energy between moments ---------------------------------------------------------------------------------------


def _arrays(use: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Start and end of the intervals [s since 1970 UTC], kwh and hours; raises OutOfRange for an unusable use."""
    civil_time.instants(start_times(use)[:1])  # raises for times without a zone
    if not len(use):
        raise OutOfRange("The use has no intervals.")
    begin = start_times(use).as_unit("us").asi8 / 1e6
    hours = use["hours"].to_numpy(float)
    kwh = use["kwh"].to_numpy(float)
    end = begin + hours * civil_time.HOUR
    if not (np.isfinite(kwh).all() and np.isfinite(hours).all() and (hours > 0).all()):
        raise OutOfRange("Every interval of a use needs its kwh and, above 0, its hours.")
    if (np.diff(begin) <= 0).any() or (np.diff(end) < 0).any():
        raise OutOfRange("The intervals of a use must be in order of time, each once.")
    # Lengths in hours are rounded: to a millisecond, an end is again the start of the next interval.
    return begin, np.round(end * 1e3) / 1e3, kwh, hours


def _between(begin, end, kwh, edges) -> tuple[np.ndarray, np.ndarray]:
    """Energy [kWh] and metered time [h] between successive edges, from cumulative sums that stay level across gaps."""
    at = np.stack([begin, end], axis=1).ravel()
    at = np.maximum.accumulate(at)
    energy = np.stack([np.append(0.0, np.cumsum(kwh)[:-1]), np.cumsum(kwh)], axis=1).ravel()
    span = np.cumsum(end - begin) / civil_time.HOUR
    time = np.stack([np.append(0.0, span[:-1]), span], axis=1).ravel()
    return np.diff(np.interp(edges, at, energy)), np.diff(np.interp(edges, at, time))


def _mean_between(begin, end, value, edges) -> np.ndarray:
    """Time-weighted mean of the known values between successive edges; NaN where none is known."""
    known = np.isfinite(value)
    if not known.any():
        return np.full(len(edges) - 1, np.nan)
    hours = (end - begin)[known] / civil_time.HOUR
    total, time = _between(begin[known], end[known], value[known] * hours, edges)
    return np.where(time > 1e-9, total / np.where(time > 1e-9, time, 1.0), np.nan)


def _index(seconds: np.ndarray, tz) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(np.round(seconds * 1e6).astype("int64").astype("datetime64[us]"), tz="UTC").tz_convert(tz)

"""What metered energy tells: power and its spread, hours of the day, local days, whole hours, kilowatt-hours by rate.

A *use* is a table with index `start` (with a time zone), columns kwh [kWh] and hours [h], perhaps water_temp [°C];
energy is taken as spread evenly over its interval wherever an interval has to be divided.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.ranges import OutOfRange
from pondheat.core.units import digits as shown
from pondheat.core.units import money
from pondheat.money import civil_time
from pondheat.money.tariffs import Tariff
from pondheat.season.weather.times import standard_offset

_LONGEST_SPLIT = 6.0  # h; judgement: even spreading over more would invent the hours of a day


@dataclass(frozen=True, eq=False)
class UseStatistics:
    """What a use comes to.

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
        """The same in one sentence."""
        return (
            f"{shown(self.kwh, 1)} kWh in {shown(self.hours, 1)} metered hours: {shown(self.mean)} W in the "
            "mean, half of "
            f"the time below {shown(self.median)} W, most {shown(self.highest)} W from "
            f"{self.highest_from:%Y-%m-%d %H:%M}, least {shown(self.lowest)} W from "
            f"{self.lowest_from:%Y-%m-%d %H:%M}."
        )


@dataclass(frozen=True, eq=False)
class CostByRate:
    """by_rate: kwh [kWh] and money [money] by name of rate; notes: sentences, also on intervals that were divided."""

    by_rate: pd.DataFrame
    kwh: float
    energy_money: float
    notes: tuple[str, ...]


def require_use(use: pd.DataFrame) -> None:
    """Raise OutOfRange for a frame that is no use of a meter: columns, times, numbers."""
    for column in ("kwh", "hours"):
        if column not in use:
            raise OutOfRange(f"The readings have no column “{column}”.")
    if not isinstance(use.index, pd.DatetimeIndex) or use.index.tz is None:
        raise OutOfRange("The readings must be indexed by times with a time zone.")
    values = use[["kwh", "hours"]].to_numpy(float)
    if not np.isfinite(values).all() or (use["hours"] <= 0).any():
        raise OutOfRange("The readings hold a value that is not a number, or an interval of no length.")


def night_of(index: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """The date of the evening of each time's night; a night is counted from noon to noon, by the clock."""
    return (index.tz_localize(None) - pd.Timedelta(hours=12)).normalize()


def statistics(use: pd.DataFrame, timezone: str) -> UseStatistics:
    """Mean, median, highest and lowest power of a use, and what it is by hour of day and by local civil day.

    use: as at the head of this module; timezone: IANA name; days last 23 to 25 hours there when clocks change, and days
    and hours without metering do not count as hours without use.
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
    starts, local = civil_time.pieces(tz, first, last, range(0, 1440, 60))
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
    lengths = [civil_time.pieces_of_days(timezone, int(day), int(day))[1].sum() / civil_time.HOUR for day in days]
    by_day = pd.DataFrame(
        {"kwh": by_date[0], "hours": by_date[1], "day_hours": lengths, "power": power},
        index=pd.Index(days.astype("datetime64[D]").astype(str), name="date"),
    )
    at = use.index.tz_convert(tz)
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
    """A use folded into whole hours of its zone; energy is conserved.

    use: as at the head of this module. Hours begin where the zone's standard time shows a full hour (at half past in
    universal time for Asia/Kolkata). Intervals of up to six hours are divided by time; longer ones (days, months, hand
    readings) stay as they are. Of an hour that is only in part metered, hours says how much of it is.
    Raises OutOfRange for a use without rows, `core.units.Unreadable` for times without a zone.
    """
    begin, end, kwh, hours = _arrays(use)
    stay = hours > _LONGEST_SPLIT + 1e-9
    parts = [use[stay]]
    if not stay.all():
        some = ~stay
        long_end = end[stay]
        begin, end, kwh = begin[some], end[some], kwh[some]
        phase = standard_offset(str(use.index.tz), use.index[0].year).total_seconds() % civil_time.HOUR
        first = (begin[0] + phase) // civil_time.HOUR * civil_time.HOUR - phase
        edges = np.arange(first, end[-1] + civil_time.HOUR, civil_time.HOUR)
        columns = dict(zip(("kwh", "hours"), _between(begin, end, kwh, edges)))
        if "water_temp" in use:
            columns["water_temp"] = _mean_between(begin, end, use["water_temp"].to_numpy(float)[some], edges)
        starts = edges[:-1].copy()
        for late in long_end:  # the rest of an hour that a long reading runs into begins where that reading ends
            starts[(starts < late) & (late < starts + civil_time.HOUR)] = late
        made = pd.DataFrame(columns, index=_index(starts, use.index.tz))
        parts.append(made[made["hours"] > 1e-9])
    whole = pd.concat([part for part in parts if len(part)]).sort_index()
    return whole.rename_axis("start")


def cost_by_rate(use: pd.DataFrame, tariff: Tariff) -> CostByRate:
    """Kilowatt-hours and their cost by rate, at the rates alone: standing charge and added tax are not in it.

    use: as at the head of this module; tariff: `money.tariffs.Tariff`. Clock windows are those of the use's own zone;
    an interval across a change of rate is divided by time, and that is said.
    Raises OutOfRange for a use without rows, `core.units.Unreadable` for times without a zone or without a price.
    """
    begin, end, kwh, _ = _arrays(use)
    starts, owner, rate = tariff.course(use.index.tz, int(np.floor(begin[0])), int(np.ceil(end.max())))
    edges = np.append(starts, np.ceil(end.max()))
    # Pieces are few and intervals many, both in order: the pieces are looked up among the intervals.
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
        f"{shown(float(kwh.sum()), 1)} kWh cost {money(total, tariff.currency)} at the rates; the standing charge"
        + (" and the tax are" if tariff.tax_rate and not tariff.tax_included else " is")
        + " not in it."
    ]
    if mixed.any():
        notes.append(
            f"{int(mixed.sum())} intervals ({shown(divided, 2)} kWh) run across a change of rate and were "
            "divided "
            "by time, as if their use were even: shorter intervals would tell better."
        )
    return CostByRate(table, float(kwh.sum()), total, tuple(notes))


# --- energy between moments ---------------------------------------------------------------------------------------


def _arrays(use: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Begin and end of the intervals [s since 1970 UTC], kwh and hours."""
    civil_time.instants(use.index[:1])  # refuses times without a zone
    if not len(use):
        raise OutOfRange("The use holds no intervals.")
    begin = use.index.as_unit("us").asi8 / 1e6
    hours = use["hours"].to_numpy(float)
    kwh = use["kwh"].to_numpy(float)
    end = begin + hours * civil_time.HOUR
    if not (np.isfinite(kwh).all() and np.isfinite(hours).all() and (hours > 0).all()):
        raise OutOfRange("Every interval of a use needs its kwh and, above 0, its hours.")
    if (np.diff(begin) <= 0).any() or (np.diff(end) < 0).any():
        raise OutOfRange("The intervals of a use must stand in order of time, each once.")
    # Lengths in hours carry the rounding of thirds: to a thousandth of a second, an end is the next one's start again.
    return begin, np.round(end * 1e3) / 1e3, kwh, hours


def _between(begin, end, kwh, edges) -> tuple[np.ndarray, np.ndarray]:
    """Energy [kWh] and metered time [h] between moments: rises of two broken lines that rest in gaps."""
    at = np.stack([begin, end], axis=1).ravel()
    at = np.maximum.accumulate(at)
    energy = np.stack([np.append(0.0, np.cumsum(kwh)[:-1]), np.cumsum(kwh)], axis=1).ravel()
    span = np.cumsum(end - begin) / civil_time.HOUR
    time = np.stack([np.append(0.0, span[:-1]), span], axis=1).ravel()
    return np.diff(np.interp(edges, at, energy)), np.diff(np.interp(edges, at, time))


def _mean_between(begin, end, value, edges) -> np.ndarray:
    """Mean by time of what is known between moments; NaN where nothing is."""
    known = np.isfinite(value)
    if not known.any():
        return np.full(len(edges) - 1, np.nan)
    hours = (end - begin)[known] / civil_time.HOUR
    total, time = _between(begin[known], end[known], value[known] * hours, edges)
    return np.where(time > 1e-9, total / np.where(time > 1e-9, time, 1.0), np.nan)


def _index(seconds: np.ndarray, tz) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(np.round(seconds * 1e6).astype("int64").astype("datetime64[us]"), tz="UTC").tz_convert(tz)

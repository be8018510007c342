"""Nights from noon to noon, labelled open or covered.

A day is the natural unit: hours are autocorrelated, and what a cover saves at night partly shows in the morning.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange
from pondheat.meter.reading.energy_use import night_of, start_times
from pondheat.meter.savings.alignment import Aligned

OPEN, COVERED = "open", "covered"
# h a day; with less, the evening or the morning is missing (judgement)
MIN_HOURS = 20.0
EVENING = 18  # hour of the clock at which a night's period is asked for (judgement)
_SUMMED = ("kwh", "heat", "stored", "open_need", "open_loss", "sun", "degree_hours", "hours")
FORGOTTEN = ("left out", "counted as open", "kept")
# A covered night is marked as forgotten if open and covered nights differ by _SEPARATION robust deviations, and the
# night is _OUTLYING deviations above the other covered ones and closer to the open ones (judgement; three deviations
# are the usual sign of an outlier).
_SEPARATION, _OUTLYING = 4.0, 3.0
_ROBUST = 1.4826  # standard deviation over median absolute deviation, normal distribution


@dataclass(frozen=True, eq=False)
class Nights:
    """Labelled daily readings.

    days: one row a night (index: the date on which it begins) with label, heat, stored, used = heat − stored,
    open_need, sun [kWh], degree_hours [K·h], hours [h], kwh, forgotten; label_of: label by date, also of nights that
    were not metered as a whole, “” if nobody says; notes: sentences on days that were dropped.
    """

    days: pd.DataFrame
    label_of: pd.Series
    notes: tuple[str, ...]

    def labelled(self, label: str) -> np.ndarray:
        """Mask of the rows with this label."""
        return self.days["label"].to_numpy() == label


def label_nights(
    aligned: Aligned,
    *,
    covered: Sequence[dt.date] | None = None,
    open_nights: Sequence[dt.date] | None = None,
    periods: Sequence[tuple[str, object, object]] | None = None,
) -> Nights:
    """Nights of an aligned log, noon to noon, each labelled open or covered.

    covered: dates on whose evening the cover was put on; all other nights are open, or only those in open_nights. Or
    periods: (label, start, end) with labels "open" and "covered", times or dates, the end excluded: a night has the
    label of its evening (18:00). Nights with less than 20 hours metered or in no period are dropped and counted in the
    notes, and so are those across the edge of a period, unless the readings are so long that they straddle it anyway.
    Raises OutOfRange if a label has no night.
    """
    hours = aligned.hours
    index = start_times(hours)
    date = night_of(index)
    dates = pd.date_range(date.min() - pd.Timedelta("1D"), date.max() + pd.Timedelta("1D"))
    if periods is not None:
        mark = _period_marks(index, periods)
        evenings = (dates + pd.Timedelta(hours=EVENING)).tz_localize(
            index.tz, ambiguous=True, nonexistent="shift_forward"
        )
        by_date = _period_marks(evenings, periods)
    elif covered is not None:
        covered_nights = pd.DatetimeIndex(pd.to_datetime(list(covered)))
        by_date = np.where(dates.isin(covered_nights), 2, 1)
        if open_nights is not None:
            bare_nights = pd.DatetimeIndex(pd.to_datetime(list(open_nights)))
            by_date = np.where(dates.isin(covered_nights) | dates.isin(bare_nights), by_date, 0)
        mark = by_date[dates.get_indexer(date)]
    else:
        raise OutOfRange("Say which nights were covered: give covered, or periods with a label, a start and an end.")
    names = np.array(("", OPEN, COVERED), dtype=object)
    label_of = pd.Series(names[by_date], dates)
    first = np.flatnonzero(np.append(True, date[1:] != date[:-1]))
    own = by_date[dates.get_indexer(date[first])]
    uniform = np.minimum.reduceat(mark, first) == np.maximum.reduceat(mark, first)
    uniform |= usually_long(aligned)
    sums = {name: np.add.reduceat(hours[name].to_numpy(), first) for name in _SUMMED}
    whole = sums["hours"] >= MIN_HOURS
    counted = np.maximum.reduceat(mark, first) > 0
    short, split = int((counted & ~whole).sum()), int((counted & whole & ~uniform).sum())
    kept = counted & whole & uniform & (own > 0)
    days = pd.DataFrame(sums, index=date[first])[kept].rename_axis("date")
    days.insert(0, "label", names[own[kept]])
    notes = [
        f"{count} {'day was' if count == 1 else 'days were'} left out: {why}."
        for count, why in (
            (short, f"less than {MIN_HOURS:.0f} hours of them were read"),
            (split, "a period began or ended in them, or they go beyond one"),
        )
        if count
    ]
    for label in (OPEN, COVERED):
        if not (days["label"] == label).any():
            raise OutOfRange(
                f"No whole day is {label}: nothing can be compared. A day must be read for {MIN_HOURS:.0f} hours."
            )
    days["used"] = days["heat"] - days["stored"]
    days["forgotten"] = False
    if not aligned.water_logged:
        notes.append(
            "The water's temperature was not logged: heat stored at the ends of each night is not allowed for."
        )
    return Nights(days, label_of, tuple(notes))


def number_of_nights(index: pd.DatetimeIndex, dates: pd.DatetimeIndex) -> np.ndarray:
    """Number of each hour's night among some dates, −1 for none of them."""
    return dates.get_indexer(night_of(index))


def usually_long(aligned: Aligned) -> bool:
    """Whether most of the metered time is in readings too long to tell hours apart."""
    long = aligned.long
    return bool((long["end"] - long["begin"]).sum() > 0.5 * aligned.hours["hours"].sum())


def _period_marks(index: pd.DatetimeIndex, periods) -> np.ndarray:
    """For each hour 0 (in no period), 1 (open) or 2 (covered)."""
    mark = np.zeros(len(index), int)
    for label, start, end in periods:
        if label not in (OPEN, COVERED):
            raise OutOfRange(f"A period is called “{label}”; give “{OPEN}” or “{COVERED}”.")
        start, end = (t if t.tzinfo else t.tz_localize(index.tz) for t in (pd.Timestamp(start), pd.Timestamp(end)))
        if start >= end:
            raise OutOfRange(
                f"The {label} period ends ({end:%Y-%m-%d %H:%M}) before it begins ({start:%Y-%m-%d %H:%M})."
            )
        inside = (index >= start) & (index < end)
        if mark[inside].any():
            raise OutOfRange(f"Two periods overlap, the later one from {start:%Y-%m-%d %H:%M}.")
        mark[inside] = 1 if label == OPEN else 2
    return mark


def forgotten_nights(nights: Nights) -> np.ndarray:
    """Mask of covered nights that look as if the cover had been forgotten, judged by used over open_need.

    Nothing is marked unless open and covered nights clearly differ anyway: sorting nights of two similar periods would
    create a saving out of nothing.
    """
    days = nights.days
    usable = (days["open_need"] > 0.2 * days["open_need"].median()).to_numpy()  # otherwise a ratio means nothing
    ratio = (days["used"] / days["open_need"].where(usable)).to_numpy()
    covered_nights, bare_nights = nights.labelled(COVERED) & usable, nights.labelled(OPEN) & usable
    marked = np.zeros(len(days), bool)
    if covered_nights.sum() < 3 or bare_nights.sum() < 3:
        return marked
    covered_level, open_level = np.median(ratio[covered_nights]), np.median(ratio[bare_nights])
    off = np.concatenate([ratio[covered_nights] - covered_level, ratio[bare_nights] - open_level])
    scatter = _ROBUST * np.median(np.abs(off))
    if open_level - covered_level < _SEPARATION * scatter or scatter == 0:
        return marked
    limit = max(covered_level + _OUTLYING * scatter, (covered_level + open_level) / 2)
    marked[covered_nights] = ratio[covered_nights] > limit
    return marked

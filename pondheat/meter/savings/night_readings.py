"""Readings of a whole day each, noon to noon or midnight to midnight, with their spell's label.

A day is the natural reading: hours lean on each other, and a cover's night pays back in the morning.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange
from pondheat.meter.reading.energy_use import night_of
from pondheat.meter.savings.alignment import Aligned

OPEN, COVERED = "open", "covered"
# a day read for less does not count: what is missing would be the evening or the morning (judgement)
FEWEST_HOURS = 20.0
SUMMED = ("kwh", "heat", "stored", "open_need", "open_loss", "sun", "degree_hours", "hours")
FORGOTTEN = ("left out", "counted as open", "kept")
# A night counts as forgotten where covered and open nights lie this many robust deviations apart, the night itself
# stands this
# far above the other covered ones, and nearer to the open ones (judgement; three is the usual sign of an outlier).
APART, ASTRAY = 4.0, 3.0
_ROBUST = 1.4826  # median absolute deviation of a normal distribution to its standard deviation


@dataclass(frozen=True, eq=False)
class Nights:
    """days: one row a night (index: the date it begins on) with label, heat, stored, used = heat − stored, open_need,
    sun [kWh], degree_hours [K·h], hours [h], kwh, forgotten; rivals: open_need reckoned in other ways (days, ways)."""

    days: pd.DataFrame
    rivals: np.ndarray
    notes: tuple[str, ...]

    def of(self, label: str) -> np.ndarray:
        """Which rows have this label, as a mask."""
        return self.days["label"].to_numpy() == label


def nights_of(
    aligned: Aligned,
    *,
    covered: Sequence[dt.date] | None = None,
    open_nights: Sequence[dt.date] | None = None,
    spells: Sequence[tuple[str, object, object]] | None = None,
    from_noon: bool = True,
) -> Nights:
    """Days of an aligned log, each with its label.

    covered: dates on whose evening the cover was laid; all others are open, or those in open_nights alone. Or spells:
    (label, start, end) with labels "open" and "covered", times or dates, the end not included. from_noon: a day runs
    from noon to noon, so that a night is whole; otherwise from midnight. Days with less than 20 hours read and those
    that lie in no spell, or across the edge of one, are left out and counted. Raises OutOfRange where a kind of spell
    has no day.
    """
    hours = aligned.hours
    date = night_of(hours.index) if from_noon else hours.index.tz_localize(None).normalize()
    if spells is not None:
        mark = _marks(hours.index, spells)
    elif covered is not None:
        laid = pd.DatetimeIndex(pd.to_datetime(list(covered)))
        mark = np.where(date.isin(laid), 2, 1)
        if open_nights is not None:
            bare = pd.DatetimeIndex(pd.to_datetime(list(open_nights)))
            mark = np.where(date.isin(laid) | date.isin(bare), mark, 0)
    else:
        raise OutOfRange("Say which nights were covered: give covered, or spells with a label, a start and an end.")
    first = np.flatnonzero(np.append(True, date[1:] != date[:-1]))
    alike = np.minimum.reduceat(mark, first) == np.maximum.reduceat(mark, first)
    sums = {name: np.add.reduceat(hours[name].to_numpy(), first) for name in SUMMED}
    whole = sums["hours"] >= FEWEST_HOURS
    touched = np.maximum.reduceat(mark, first) > 0
    short, split = int((touched & ~whole).sum()), int((touched & whole & ~alike).sum())
    kept = touched & whole & alike
    days = pd.DataFrame(sums, index=date[first])[kept].rename_axis("date")
    days.insert(0, "label", np.array(("", OPEN, COVERED), dtype=object)[mark[first][kept]])
    rivals = np.add.reduceat(aligned.rivals, first, axis=0)[kept]
    notes = [
        f"{count} {'day was' if count == 1 else 'days were'} left out: {why}."
        for count, why in (
            (short, f"less than {FEWEST_HOURS:.0f} hours of them were read"),
            (split, "a spell began or ended in them, or they reach out of one"),
        )
        if count
    ]
    for label in (OPEN, COVERED):
        if not (days["label"] == label).any():
            raise OutOfRange(
                f"No whole day is {label}: nothing can be compared. A day must be read for {FEWEST_HOURS:.0f} hours."
            )
    days["used"] = days["heat"] - days["stored"]
    days["forgotten"] = False
    if not aligned.stored_known:
        notes.append(
            "The water's temperature was not logged: heat stored at the ends of each night is not allowed for."
        )
    return Nights(days, rivals, tuple(notes))


def _marks(index: pd.DatetimeIndex, spells) -> np.ndarray:
    """For each hour 0 in no spell, 1 open, 2 covered."""
    mark = np.zeros(len(index), int)
    for label, start, end in spells:
        if label not in (OPEN, COVERED):
            raise OutOfRange(f"A spell is called “{label}”; give “{OPEN}” or “{COVERED}”.")
        start, end = (t if t.tzinfo else t.tz_localize(index.tz) for t in (pd.Timestamp(start), pd.Timestamp(end)))
        if start >= end:
            raise OutOfRange(
                f"The {label} spell ends ({end:%Y-%m-%d %H:%M}) before it begins ({start:%Y-%m-%d %H:%M})."
            )
        inside = (index >= start) & (index < end)
        if mark[inside].any():
            raise OutOfRange(f"Two spells overlap, the later one from {start:%Y-%m-%d %H:%M}.")
        mark[inside] = 1 if label == OPEN else 2
    return mark


def forgotten(nights: Nights) -> np.ndarray:
    """Which covered nights look as if the cover had been forgotten (mask of the days).

    Judged by used over open_need. Nothing is marked unless open and covered nights lie well apart without it: nights of
    two spells that differ little must not be sorted until they differ.
    """
    days = nights.days
    sound = (days["open_need"] > 0.2 * days["open_need"].median()).to_numpy()  # in mild sunshine a ratio says nothing
    ratio = (days["used"] / days["open_need"].where(sound)).to_numpy()
    laid, bare = nights.of(COVERED) & sound, nights.of(OPEN) & sound
    marked = np.zeros(len(days), bool)
    if laid.sum() < 3 or bare.sum() < 3:
        return marked
    under, above = np.median(ratio[laid]), np.median(ratio[bare])
    apart = _ROBUST * np.median(np.abs(np.concatenate([ratio[laid] - under, ratio[bare] - above])))
    if above - under < APART * apart or apart == 0:
        return marked
    marked[laid] = (ratio[laid] > under + ASTRAY * apart) & (ratio[laid] > (under + above) / 2)
    return marked

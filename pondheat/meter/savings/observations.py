"""What a log says about open and covered hours: sums over hours, each with its nights and hours of cover.

A reading that ends at noon holds one night. One that ends at 08:00, or a calendar day, holds parts of two, and where
the cover changed between them it is a sum of open and covered hours. Nothing is guessed about its parts: it stays one
sum, and `interval_fit` treats it as one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.sparse import csr_array

from pondheat.meter.reading.energy_use import night_of, start_times
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.night_readings import COVERED, OPEN, Nights, number_of_nights, usually_long
from pondheat.season.schedule import covered_share

DAY = 1440  # minutes
_WITHIN = 1.0  # h; a reading that reaches into another night by no more than this belongs to one night (judgement)
_PURE = 0.1  # share of a covering by which an observation may miss being of one kind (judgement)
_EPSILON = 1e-3  # h

CoverTimes = tuple[int | None, int | None]


@dataclass(frozen=True, eq=False)
class Observations:
    """Sums that are certain from a log, over the hours of an `Aligned`.

    measured: frame with kwh, heat, used [kWh], one row an observation; sums: (observations, hours) share of each hour
    in each observation; position: number of each hour among the weather's; covered: [–] share of each hour with the
    cover on; covered_part: [–] of each observation, 0 for an open night and 1 for a covered one; night: date of each
    hour's night; in_covered, in_open: masks of the hours of compared nights of either kind; edges: (observations,
    moments) +1 where an observation ends and −1 where it begins.
    """

    measured: pd.DataFrame
    sums: csr_array
    position: np.ndarray
    covered: np.ndarray
    covered_part: np.ndarray
    night: pd.DatetimeIndex
    in_covered: np.ndarray
    in_open: np.ndarray
    edges: csr_array

    @property
    def mixed(self) -> float:
        """Share of the observations that hold hours of both kinds of night [–]."""
        return float(np.mean((self.covered_part > 0) & (self.covered_part < 1)))

    @property
    def left_out(self) -> int:
        """Number of the hours that are in no observation."""
        return int((self.sums.sum(axis=0) == 0).sum())


def covered_hours(index: pd.DatetimeIndex, nights: Nights, cover_times: CoverTimes | None) -> np.ndarray:
    """Share of each hour with the cover on [–]; NaN where the cover may have been on and nobody says.

    A covering belongs to the night on whose evening it begins; cover_times: minutes after midnight when it is put on
    and taken off; None (or the same twice) for noon to noon.
    """
    on, off = cover_times or (None, None)
    local = index.tz_localize(None)
    if on is None or off is None or (on - off) % DAY == 0:
        share, evening = np.ones(len(index)), (local - pd.Timedelta(hours=12)).normalize()
    else:
        share = covered_share(index, on, off)
        # half an hour later, so that an hour in which the cover is put on counts for that covering
        evening = (local + pd.Timedelta(minutes=30) - pd.Timedelta(minutes=on)).normalize()
        if on < DAY // 2:  # put on after midnight
            evening = evening - pd.Timedelta(days=1)
    label = nights.label_of.reindex(evening).to_numpy()
    return np.where(share == 0, 0.0, np.select([label == COVERED, label == OPEN], [share, 0.0], np.nan))


def observe(aligned: Aligned, nights: Nights, cover_times: CoverTimes | None) -> Observations:
    """The sums of a log's readings: nights where readings are short or end at noon, otherwise each reading.

    Readings for which the cover's state is not known throughout are left out. A long reading in an hourly log, such as
    a counter's across a gap, joins the nights it reaches into.
    """
    index = start_times(aligned.hours)
    covered = covered_hours(index, nights, cover_times)
    night = number_of_nights(index, pd.DatetimeIndex(nights.days.index))
    by_reading = usually_long(aligned)
    rows, share, owner = _overlaps(aligned) if by_reading else _by_night(aligned, night)
    count = len(aligned.long) if by_reading else int(owner.max(initial=-1)) + 1
    sums = csr_array((share, (owner, rows)), shape=(count, len(index)))
    unknown = ~np.isfinite(covered)
    hours = sums @ aligned.hours["hours"].to_numpy(float)
    usable = (sums @ unknown.astype(float) == 0) & (hours > 0)
    kept = np.flatnonzero(usable)
    sums = sums[kept]
    measured = pd.DataFrame({name: sums @ aligned.hours[name].to_numpy(float) for name in ("kwh", "heat", "stored")})
    if by_reading:  # in an hour where one reading ends and the next begins, only the sum of both was spread
        off = aligned.long["kwh"].to_numpy(float)[kept] - measured["kwh"]
        measured["kwh"] += off
        measured["heat"] += off * aligned.efficiency
    measured["used"] = measured["heat"] - measured["stored"]
    labels = nights.days["label"].to_numpy()
    in_covered = (night >= 0) & (labels[night] == COVERED)
    in_open = (night >= 0) & (labels[night] == OPEN)
    covered = np.where(unknown, 0.0, covered)
    part = sums @ covered / (sums @ np.ones(len(index))) / covered[in_covered].mean()
    part = np.select([part < _PURE, part > 1 - _PURE], [0.0, 1.0], part)
    return Observations(
        measured,
        sums,
        aligned.position,
        covered,
        part,
        night_of(index),
        in_covered,
        in_open,
        _edges(sums, aligned.position),
    )


def _overlaps(aligned: Aligned) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Row of an hour, share of its metered time, and the long reading that holds it; readings cut by gaps left out."""
    begin, end = aligned.long["begin"].to_numpy(), aligned.long["end"].to_numpy()
    first, last = np.floor(begin + _EPSILON).astype(int), np.ceil(end - _EPSILON).astype(int)
    owner = np.repeat(np.arange(len(begin)), last - first)
    hour = np.concatenate([np.arange(a, b) for a, b in zip(first, last)]) if len(begin) else np.zeros(0, int)
    overlap = np.minimum(end[owner], hour + 1) - np.maximum(begin[owner], hour)
    row = np.searchsorted(aligned.position, hour).clip(0, len(aligned.position) - 1)
    there = aligned.position[row] == hour
    lost = np.bincount(owner, ~there & (overlap > _EPSILON), len(begin)) > 0
    keep = there & ~lost[owner]
    metered = aligned.hours["hours"].to_numpy()[row]
    return row[keep], (overlap / np.maximum(metered, overlap))[keep], owner[keep]


def _by_night(aligned: Aligned, night: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """One observation per compared night; nights are joined where a long reading reaches from one into the next.

    A night into which a long reading reaches from outside the compared ones is left out.
    """
    group = np.arange(int(night.max(initial=-1)) + 1)
    rows, _, owner = _overlaps(aligned)
    for reading in np.unique(owner):
        held = night[rows[owner == reading]]
        inside = [n for n in np.unique(held) if (held == n).sum() > _WITHIN]
        known = [n for n in inside if n >= 0]
        if len(inside) > 1 and known:
            joined = group[known].min() if len(known) == len(inside) else -1
            group[np.isin(group, group[known])] = joined
    at = np.flatnonzero((night >= 0) & (group[night] >= 0))
    return at, np.ones(len(at)), np.unique(group[night[at]], return_inverse=True)[1]


def _edges(sums: csr_array, position: np.ndarray) -> csr_array:
    """Moments at which each observation begins (−1) and ends (+1), by the number of the hour nearest to it."""
    place = [position[sums.indices[a:b]] for a, b in zip(sums.indptr[:-1], sums.indptr[1:])]
    ends = np.array([(hours.min(), hours.max() + 1) for hours in place]).reshape(-1, 2)
    moment, column = np.unique(ends, return_inverse=True)
    row = np.repeat(np.arange(len(ends)), 2)
    return csr_array((np.tile([-1.0, 1.0], len(ends)), (row, column.ravel())), shape=(len(ends), len(moment)))

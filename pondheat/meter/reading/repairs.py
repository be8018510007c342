"""Faults of meter rows, each mended or left out and always listed: order, doubles, what cannot be, what is odd."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core.ranges import RANGES
from pondheat.meter.reading.read_log import Ledger, ReadingsFault, where
from pondheat.meter.reading.timestamps import SECOND

HOUR = 3600 * SECOND
TOLERANCE = 1.1  # over the rating: mains voltage 5 % up is 10 % of power (common practice, no source)
EXTREME = 8  # times what nine of ten readings stay below: only noted
_STUCK_ROWS, _STUCK_HOURS = 12, 6.0


@dataclass
class Rows:
    """Rows of the file in arrays: instants [µs], values in the column's unit, their numbers, and what rides along."""

    at: np.ndarray
    value: np.ndarray
    row: np.ndarray
    temp: np.ndarray | None = None
    end: np.ndarray | None = None

    def take(self, which) -> Rows:
        """The rows of a mask or of places."""
        return Rows(
            *(None if one is None else one[which] for one in (self.at, self.value, self.row, self.temp, self.end))
        )


@dataclass
class Intervals:
    """Energy [kWh] of intervals, their starts [µs] and lengths [h]; the row each comes from."""

    start: np.ndarray
    hours: np.ndarray
    kwh: np.ndarray
    row: np.ndarray
    temp: np.ndarray | None

    def take(self, which) -> Intervals:
        """The intervals of a mask."""
        return Intervals(
            self.start[which],
            self.hours[which],
            self.kwh[which],
            self.row[which],
            None if self.temp is None else self.temp[which],
        )

    @property
    def watts(self) -> np.ndarray:
        """Mean power of each [W]."""
        return 1000 * self.kwh / self.hours


# --- order and doubles --------------------------------------------------------------------------------------------


def in_order(rows: Rows, ledger: Ledger) -> Rows:
    """Sorted by time; what stood out of order is named."""
    steps = np.diff(rows.at)
    if not (steps < 0).any():
        return rows
    late = rows.at < np.maximum.accumulate(rows.at)
    ledger.add(
        "order",
        f"{int(late.sum())} rows stand later in the file than their time says and were sorted in: "
        f"{where(rows.row[late])}.",
        rows.row[late],
    )
    return rows.take(np.argsort(rows.at, kind="stable"))


def once(rows: Rows, counts: bool, kwh_per_value: float, ledger: Ledger) -> Rows:
    """Each time once: exact doubles go, of two different values the first stays; many of those refuse the file."""
    same = np.flatnonzero(np.diff(rows.at) == 0) + 1
    if not len(same):
        return rows
    keep = np.ones(len(rows.at), bool)
    alike, differing, emptied = [], [], []
    held = None
    for place in same.tolist():
        held = place - 1 if held is None or rows.at[held] != rows.at[place] else held
        one, two = rows.value[held], rows.value[place]
        if np.isnan(one) and not np.isnan(two):
            keep[held], held = False, place
            emptied.append(rows.row[place])
            continue
        keep[place] = False
        (
            emptied
            if np.isnan(two) and not np.isnan(one)
            else alike
            if one == two or (np.isnan(one) and np.isnan(two))
            else differing
        ).append(place)
    if len(differing) > max(3, 0.01 * len(rows.at)):
        one = differing[0]
        raise ReadingsFault(
            f"Rows {rows.row[one - 1]} and {rows.row[one]} have the same time and different values "
            f"({rows.value[one - 1]:g} and {rows.value[one]:g}), and so have {len(differing) - 1} more "
            "pairs. Are two meters in one file? Keep the rows of one."
        )

    def lost(places) -> float:
        return 0.0 if counts else -kwh_per_value * float(np.nansum(rows.value[places]))

    if alike:
        ledger.add(
            "double",
            f"{len(alike)} rows repeat another row's time and value and count once: {where(rows.row[alike])}.",
            rows.row[alike],
            lost(alike),
        )
    if differing:
        ledger.add(
            "double",
            f"{len(differing)} rows have the time of an earlier row and another value; the first "
            f"stays, left out: {where(rows.row[differing])}.",
            rows.row[differing],
            lost(differing),
        )
    if emptied:
        ledger.add("double", f"{len(emptied)} times stand twice, once without a value; the value stays.")
    return rows.take(keep)


def known(rows: Rows, counts: bool, label: str, ledger: Ledger) -> Rows:
    """Rows without those that have no value (of a counter; of intervals they stay, to tell how long the others are)."""
    missing = np.isnan(rows.value)
    if missing.all():
        raise ReadingsFault(f"No row holds a value in {label}.")
    if missing.any():
        lost = rows.row[missing]
        ledger.add("missing", f"{len(lost)} rows have no value: {where(lost)}.", lost)
    if not counts:
        return rows
    below = rows.value < 0
    if below.any():
        ledger.add(
            "negative",
            f"{int(below.sum())} readings below zero, which no counter shows, are left out: {where(rows.row[below])}.",
            rows.row[below],
        )
    rows = rows.take(~(missing | below)) if (missing | below).any() else rows
    if len(rows.at) < 2:
        raise ReadingsFault(
            "At least two readings of the counter, apart in time, are wanted; "
            f"{'one' if len(rows.at) else 'none'} was found."
        )
    return rows


# --- intervals and power ------------------------------------------------------------------------------------------


def sound(made: Intervals, rating: float | None, ledger: Ledger) -> Intervals:
    """Without what cannot be: below zero, beyond the rating; what is odd is noted and kept."""
    watts = made.watts
    below = watts < 0
    if below.any():
        if below.mean() > 0.2:
            raise ReadingsFault(
                f"{int(below.sum())} of {len(watts)} values are below zero, first in row "
                f"{made.row[below][0]}: is the clamp the wrong way round, or is it electricity sent "
                "back? "
                "Give the column of what was used."
            )
        kwh = float(made.kwh[below].sum())
        ledger.add(
            "negative",
            f"{int(below.sum())} values below zero ({kwh:.4g} kWh) are left out: {where(made.row[below])}.",
            made.row[below],
            -kwh,
        )
    most = TOLERANCE * rating if rating is not None else RANGES["power"].most
    high = watts > most
    if high.any():
        if high.mean() > 0.1:
            raise ReadingsFault(
                f"{int(high.sum())} of {len(watts)} values are more than {rating or most:g} W can "
                "give, "
                f"first in row {made.row[high][0]} ({watts[high][0]:.4g} W): is the rating, the unit "
                "or the "
                "kind another, or is it a counter?"
            )
        kwh = float(made.kwh[high].sum())
        ledger.add(
            "spike",
            f"{int(high.sum())} values beyond {rating or most:g} W ({kwh:.6g} kWh, up to "
            f"{watts[high].max():.4g} W) cannot be and are left out: {where(made.row[high])}.",
            made.row[high],
            -kwh,
        )
    if below.any() or high.any():
        made = made.take(~(below | high))
        watts = made.watts
    if not len(watts):
        raise ReadingsFault("No value is left once those that cannot be are left out.")
    usual, some = nine_of_ten(watts)
    if some > 4:
        extreme = watts > EXTREME * usual
        if rating is None and extreme.any():
            note_extreme(made.row[extreme], float(watts.max()), usual, ledger)
    _note_stuck(made, watts, ledger)
    return made


def nine_of_ten(values: np.ndarray) -> tuple[float, int]:
    """What nine of ten values above 0 stay below, judged by some 20 000 of them, and by how many it was judged."""
    some = values[:: max(1, len(values) // 20_000)]
    some = some[some > 0]
    place = int(0.9 * (len(some) - 1))
    return (float(np.partition(some, place)[place]) if len(some) else 0.0), len(some)


def note_extreme(rows, watts: float, usual: float, ledger: Ledger) -> None:
    """Name what is far above the rest and kept."""
    ledger.add(
        "outlier",
        f"{where(rows, 'Row', 'Rows')}: up to {watts:.4g} W, where nine of ten readings stay below "
        f"{usual:.4g} W. Kept, since no rating is given; give rating=… [W] to have such values "
        "judged.",
        rows,
    )


def _note_stuck(made: Intervals, watts: np.ndarray, ledger: Ledger) -> None:
    """Long runs of one value are named: an instrument that stands still looks so (and so does a steady heater)."""
    cuts = np.flatnonzero(np.diff(made.kwh)) + 1
    first, last = np.append(0, cuts), np.append(cuts, len(watts)) - 1
    long = last - first + 1 >= _STUCK_ROWS
    first, last = first[long], last[long]
    hours = (made.start[last] - made.start[first]) / HOUR + made.hours[last]
    stuck = (hours >= _STUCK_HOURS) & (watts[first] > 0) & (watts[first] < 0.98 * watts.max())
    if stuck.any():
        rows = np.concatenate([made.row[a : b + 1] for a, b in zip(first[stuck], last[stuck])])
        ledger.add(
            "stuck",
            f"The same value stands for six hours or longer in {where(rows)}: an instrument may have "
            "stood still. Kept.",
            rows,
        )


def note_temperature(made: Intervals, ledger: Ledger) -> None:
    """Leaps of the water's temperature, and columns that look exchanged, are named."""
    if made.temp is None:
        return
    known = np.flatnonzero(np.isfinite(made.temp))
    if len(known) < 2:
        return
    temp, start = made.temp[known], made.start[known]
    leap = (np.abs(np.diff(temp)) > 5) & (np.diff(start) <= 2 * HOUR)
    if leap.any():
        rows = made.row[known[1:]][leap]
        ledger.add(
            "temperature",
            f"The water temperature leaps by more than 5 K within two hours at {where(rows)}: a "
            "sensor out of the water, or columns exchanged? Kept.",
            rows,
        )
    if made.kwh.min() > 0 and made.kwh.max() < 2 * made.kwh.min() and np.mean(temp <= 0.05) > 0.05:
        ledger.add(
            "columns", "The use hardly changes while the water temperature is often 0: are the two columns exchanged?"
        )

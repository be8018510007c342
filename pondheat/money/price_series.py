"""Half-hourly prices (or any step up to an hour), without gaps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
import pandas as pd

from pondheat.core import units, value_parsers
from pondheat.core.units import Unreadable
from pondheat.money.civil_time import HOUR


@dataclass(frozen=True, eq=False)
class PriceSeries:
    """Prices at a regular step.

    starts: seconds since 1970 UTC, rising by `step`; prices: [money/kWh], each valid from its start for one step; step:
    [s]; notes: how the file was read.
    """

    starts: np.ndarray
    prices: np.ndarray
    step: int
    notes: tuple[str, ...] = ()

    def step_starts(self, begin: int, end: int) -> np.ndarray:
        """Instants between `begin` and `end` (both excluded) at which a step begins, also outside the series."""
        first = begin + self.step - (begin - int(self.starts[0])) % self.step
        return np.arange(first, end, self.step)

    def first_whole_day(self, timezone: str) -> date:
        """The first local day all of whose prices are in the series."""
        begin = pd.Timestamp(int(self.starts[0]), unit="s", tz="UTC").tz_convert(timezone)
        return (begin if begin == begin.normalize() else begin + pd.Timedelta(days=1)).date()

    def whole_days(self, timezone: str, first: date) -> int:
        """How many local days from `first` on have all their prices in the series."""
        end = pd.Timestamp(int(self.starts[-1]) + self.step, unit="s", tz="UTC").tz_convert(timezone)
        return (end.date() - first).days

    def price_at(self, instants: np.ndarray) -> np.ndarray:
        """Price at these instants [money/kWh]; raises `Unreadable` naming the times without one."""
        outside = (instants < self.starts[0]) | (instants >= self.starts[-1] + self.step)
        if outside.any():
            begun = instants[outside] - (instants[outside] - self.starts[0]) % self.step
            raise Unreadable(
                f"The prices run from {utc_text(self.starts[0])} to {utc_text(self.starts[-1] + self.step)}. "
                f"There is none for {_times_text(np.unique(begun))}."
            )
        return self.prices[np.searchsorted(self.starts, instants, side="right") - 1]


def utc_text(instant: int) -> str:
    """Text of an instant, as in ``2025-01-03 04:30 UTC``."""
    return f"{datetime.fromtimestamp(int(instant), UTC):%Y-%m-%d %H:%M} UTC"


def _times_text(instants: np.ndarray) -> str:
    """Text of the first four instants and the number of the others."""
    shown = ", ".join(utc_text(one) for one in instants[:4])
    return shown + (f" and {len(instants) - 4} more" if len(instants) > 4 else "")


def by_steps(
    starts: np.ndarray, ends: np.ndarray, prices: np.ndarray, rows: np.ndarray, name: str
) -> tuple[np.ndarray, np.ndarray]:
    """Starts and prices of steps of one length, from prices that each hold from a start to an end.

    starts, ends: seconds since 1970 UTC; the end of the last may be missing, as the smallest integer; rows: numbers in
    the file. Raises `Unreadable` where a price ends otherwise than the next begins.
    """
    order = np.argsort(starts, kind="stable")
    starts, ends, prices, rows = starts[order], ends[order], prices[order], rows[order]
    missing = ends == np.iinfo(np.int64).min
    if missing.all() or len(starts) < 2:
        return starts, prices
    missing_within = np.flatnonzero(missing[:-1])
    ends[missing_within] = starts[missing_within + 1]
    late = set((starts[1:] - ends[:-1]).tolist()) if not missing.any() else set()
    if late in ({1}, {60}):  # 00:29:59 or 00:29 as the last second or minute before 00:30
        ends = ends + late.pop()
    wrong = np.flatnonzero((ends <= starts)[: len(ends) - missing[-1]])
    wrong = wrong if len(wrong) else np.flatnonzero(ends[:-1] != starts[1:])
    if len(wrong):
        at = int(wrong[0])
        raise Unreadable(
            f"{name}, row {rows[at]}: this price holds until {utc_text(ends[at])}, and the next one does not begin "
            "there. Add what is missing, or remove what is there twice."
        )
    lengths = np.diff(starts)
    lengths = np.append(lengths, lengths[-1] if missing[-1] else ends[-1] - starts[-1])
    if lengths.max() == lengths.min() <= HOUR:
        return starts, prices
    step = int(np.gcd.reduce(np.append(lengths, HOUR)))
    counts = lengths // step
    return starts[0] + step * np.arange(counts.sum()), np.repeat(prices, counts)


def require_sure_size(prices: np.ndarray, label: str, name: str, currency: units.Currency) -> None:
    """Raise `Unreadable` where prices without a unit may be of another than money/kWh."""
    size = np.abs(prices)
    typical, high = float(np.median(size)), float(np.quantile(size, 0.95))
    limit = value_parsers.price_limits("rate", currency)[1]
    if typical > limit / 2 or high > limit:
        raise Unreadable(
            f"{name}: prices of {typical:g} {currency.sign}/kWh are not plausible, and {label} gives no unit. If they "
            f"are {currency.hundredth}/kWh, name the column “price [{currency.hundredth}/kWh]”; if they are per MWh, "
            f"“price [{currency.sign}/MWh]”."
        )


def validated(
    starts: np.ndarray, prices: np.ndarray, name: str, currency: units.Currency, notes: tuple[str, ...] = ()
) -> PriceSeries:
    """The series in order of time; raises `Unreadable` for gaps, duplicates, odd steps or an implausible unit."""
    if len(starts) < 2:
        raise Unreadable(f"{name}: at least two prices are needed.")
    order = np.argsort(starts, kind="stable")
    starts, prices = starts[order], prices[order]
    steps = np.diff(starts)
    if steps.min() == 0:
        raise Unreadable(
            f"{name}: two prices are given for {_times_text(np.unique(starts[1:][steps == 0]))}. Take one out."
        )
    step = int(min(steps[HOUR % steps == 0], default=steps.min()))  # not a step to a time that is out
    if step > HOUR or HOUR % step:
        raise Unreadable(f"{name}: prices come every {step / 60:g} minutes; a step that divides the hour is needed.")
    if np.any((starts - starts[0]) % step):
        odd = starts[(starts - starts[0]) % step != 0]
        raise Unreadable(
            f"{name}: prices come every {step / 60:g} minutes, but {_times_text(odd)} is between two steps. Correct "
            "the time."
        )
    missing = np.setdiff1d(np.arange(starts[0], starts[-1], step), starts)
    if missing.size:
        raise Unreadable(f"{name}: there is no price for {_times_text(missing)}. Fill the gap or cut the file there.")
    typical = float(np.median(np.abs(prices)))
    if typical > value_parsers.price_limits("rate", currency)[1]:
        raise Unreadable(
            f"{name}: prices of {typical:g} {currency.sign}/kWh are not plausible; if they are "
            f"{currency.hundredth}/kWh, name the column “price [{currency.hundredth}/kWh]”."
        )
    return PriceSeries(starts, prices, step, notes)

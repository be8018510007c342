"""Half-hourly price files (or any step up to an hour); files with gaps are rejected."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import units, value_parsers
from pondheat.core.files import read_input_text
from pondheat.core.units import Unreadable
from pondheat.money.civil_time import HOUR


@dataclass(frozen=True, eq=False)
class PriceSeries:
    """Prices at a regular step.

    starts: seconds since 1970 UTC, rising by `step`; prices: [money/kWh], each valid from its start for one step; step:
    [s].
    """

    starts: np.ndarray
    prices: np.ndarray
    step: int

    def step_starts(self, begin: int, end: int) -> np.ndarray:
        """Instants between `begin` and `end` (both excluded) at which a step begins, also outside the series."""
        first = begin + self.step - (begin - int(self.starts[0])) % self.step
        return np.arange(first, end, self.step)

    def first_whole_day(self, timezone: str) -> date:
        """The first local day all of whose prices are in the series."""
        begin = pd.Timestamp(int(self.starts[0]), unit="s", tz="UTC").tz_convert(timezone)
        return (begin if begin == begin.normalize() else begin + pd.Timedelta(days=1)).date()

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


def read(path: Path, currency: units.Currency) -> PriceSeries:
    """Read prices from a CSV file with the columns ``time`` and ``price``; other columns are ignored.

    A time is the start of its step and includes its offset from UTC (``2025-01-03T04:30Z``,
    ``2025-06-03 04:30+01:00``). The header of the price column may name its unit (``price [p/kWh]``); without one it is
    [money/kWh]. Raises `Unreadable` with line and reason: a time without offset, a duplicate or missing time, steps
    longer than an hour.
    """
    try:
        rows = list(csv.reader(io.StringIO(read_input_text(Path(path)))))
    except (OSError, UnicodeDecodeError, csv.Error) as wrong:
        reason = str(getattr(wrong, "strerror", None) or wrong).removesuffix(".")
        raise Unreadable(f"The price file {path} could not be read: {reason}.") from None
    heads = [head.strip().lower() for head in rows[0]] if rows else []
    price_heads = [re.fullmatch(r"price\s*(?:[\[(](.+)[\])])?", head) for head in heads]
    if "time" not in heads or not any(price_heads):
        raise Unreadable(
            f"{path.name}: the first line must name the columns, as in “time,price [{currency.hundredth}/kWh]”."
        )
    time_column, price_column = heads.index("time"), next(n for n, head in enumerate(price_heads) if head)
    price_head = price_heads[price_column]
    unit = price_head[1] if price_head else None
    factor = 1.0 if unit is None else units.parse(f"1 {unit}", "money/kWh", currency)
    starts, prices = [], []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        try:
            starts.append(_instant(row[time_column]))
            prices.append(factor * _number(row[price_column]))
        except IndexError:
            raise Unreadable(f"{path.name}, line {number}: a time and a price are wanted.") from None
        except ValueError as wrong:
            raise Unreadable(f"{path.name}, line {number}: {wrong}") from None
    return _validated(np.array(starts, dtype=np.int64), np.array(prices), path.name, currency)


def _instant(text: str) -> int:
    """Seconds since 1970 UTC of an ISO 8601 time with an offset."""
    try:
        given = datetime.fromisoformat(text.strip())
    except ValueError:
        raise Unreadable(f"“{text.strip()}” is not a time: write 2025-01-03T04:30Z.") from None
    if given.tzinfo is None:
        raise Unreadable(f"“{text.strip()}” carries no zone: end it with Z for universal time or +01:00, say.")
    return round(given.timestamp())


def _number(text: str) -> float:
    """Finite number in a price cell."""
    try:
        given = float(text)
    except ValueError:
        return units.number(text)
    if not np.isfinite(given):
        raise Unreadable(f"“{text.strip()}” is not a price.")
    return given


def _validated(starts: np.ndarray, prices: np.ndarray, name: str, currency: units.Currency) -> PriceSeries:
    """The series in order of time; raises `Unreadable` for gaps, duplicates, odd steps or an implausible unit."""
    if len(starts) < 2:
        raise Unreadable(f"{name}: at least two prices are wanted.")
    order = np.argsort(starts, kind="stable")
    starts, prices = starts[order], prices[order]
    steps = np.diff(starts)
    if steps.min() == 0:
        raise Unreadable(f"{name}: two prices are given for {_times_text(starts[1:][steps == 0])}.")
    step = int(steps.min())
    if step > HOUR or HOUR % step:
        raise Unreadable(f"{name}: prices come every {step / 60:g} minutes; a step that divides the hour is wanted.")
    if np.any((starts - starts[0]) % step):
        odd = starts[(starts - starts[0]) % step != 0]
        raise Unreadable(
            f"{name}: prices come every {step / 60:g} minutes, but {_times_text(odd)} lies between two steps."
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
    return PriceSeries(starts, prices, step)

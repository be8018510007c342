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
from pondheat.core.files import read_input
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.decoding import as_text
from pondheat.core.tables.read_log import ReadingsFault, ReadLog
from pondheat.core.tables.rows import require_plausible_span
from pondheat.core.units import Unreadable
from pondheat.money.civil_time import HOUR

# Names of columns, in lower case and without underscores.
TIMES = {"time", "valid from", "from", "start", "start time", "timestamp", "datetime", "date time", "delivery start"}
ENDS = {"valid to", "to", "end", "end time", "delivery end"}
PRICES = {"price", "value inc vat", "value", "rate", "unit rate", "unit price", "spot price", "day ahead price"}


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


def read(path: Path, currency: units.Currency, timezone: str | None = None) -> PriceSeries:
    """Read prices from a CSV file with a column of times and one of prices, named as in TIMES and PRICES.

    A time is the start of its step, with its offset from UTC (``2025-01-03T04:30Z``, ``2025-06-03 04:30+01:00``) or by
    the clock of `timezone` (IANA name, or “UTC”); a column ``valid_to`` is the end of each step. The header of the
    price column may name its unit (``price [p/kWh]``); without one it is [money/kWh]. Other columns are ignored. Raises
    `Unreadable` with line and reason: a time without offset or zone, a duplicate or missing time, steps longer than an
    hour.
    """
    rows = _rows(Path(path))
    time_at, end_at, price_at, unit = _columns(rows[0] if rows else [], path.name, currency)
    factor = 1.0 if unit is None else units.parse(f"1 {unit}", "money/kWh", currency)
    cells = [(number, row) for number, row in enumerate(rows[1:], start=2) if any(cell.strip() for cell in row)]
    times: list[str] = []
    ends: list[str] = []
    prices: list[float] = []
    for number, row in cells:
        try:
            times.append(row[time_at].strip())
            ends.append("" if end_at is None else row[end_at].strip())
            prices.append(factor * _number(row[price_at]))
        except IndexError:
            raise Unreadable(f"{path.name}, line {number}: a time and a price are needed.") from None
        except ValueError as wrong:
            raise Unreadable(f"{path.name}, line {number}: {wrong}") from None
    lines = [number for number, _ in cells]
    starts = _instants(times, lines, path.name, timezone)
    try:
        require_plausible_span(starts.astype("datetime64[s]"), lines)
    except ReadingsFault as wrong:
        raise Unreadable(f"{path.name}: {wrong}") from None
    if end_at is not None and ends and ends[-1]:
        _check_ends(starts, _instants(ends, lines, path.name, timezone), lines, path.name)
    return _validated(starts, np.array(prices), path.name, currency)


def _rows(path: Path) -> list[list[str]]:
    """The cells of a file, line by line; raises `Unreadable` for what is no text or can't be unpacked."""
    try:
        content, read_log = read_input(path), ReadLog()
        content = unpacked(content, path.name, None, read_log, option=None)
        text = as_text(content, path.name, read_log) if content.strip() else ""
        first = text.partition("\n")[0]
        return list(csv.reader(io.StringIO(text), delimiter=max(";\t,", key=first.count)))
    except ReadingsFault as wrong:
        raise Unreadable(str(wrong)) from None
    except (OSError, csv.Error) as wrong:
        reason = str(getattr(wrong, "strerror", None) or wrong).removesuffix(".")
        raise Unreadable(f"The price file {path} could not be read: {reason}.") from None


def _columns(head: list[str], name: str, currency: units.Currency) -> tuple[int, int | None, int, str | None]:
    """Positions of the columns of time, end and price, and the price's unit; raises `Unreadable` without them."""
    named = [re.fullmatch(r"([^\[(]*?)\s*(?:[\[(](.+)[\])])?", one.strip().lower().replace("_", " ")) for one in head]
    plain = [found[1] if found else "" for found in named]
    time_at, end_at, price_at = (
        next((at for at, one in enumerate(plain) if one in known), None) for known in (TIMES, ENDS, PRICES)
    )
    if time_at is None or price_at is None:
        raise Unreadable(
            f"{name}: the first line must name the columns, as in “time,price [{currency.hundredth}/kWh]”. Known for "
            f"the time: {', '.join(sorted(TIMES))}; for the price: {', '.join(sorted(PRICES))}."
        )
    found = re.search(r"[\[(](.+)[\])]", head[price_at])
    return time_at, end_at, price_at, found[1] if found else None


def _instants(texts: list[str], lines: list[int], name: str, timezone: str | None) -> np.ndarray:
    """Seconds since 1970 UTC of ISO 8601 times, those without an offset by the clock of `timezone`."""
    found, naive = np.zeros(len(texts), np.int64), []
    for at, (text, line) in enumerate(zip(texts, lines)):
        try:
            given = datetime.fromisoformat(text)
        except ValueError:
            raise Unreadable(f"{name}, line {line}: “{text}” is not a time: write 2025-01-03T04:30Z.") from None
        if given.tzinfo is None and timezone is None:
            raise Unreadable(
                f"{name}, line {line}: “{text}” carries no zone: end it with Z for UTC or +01:00, say; or "
                'write prices_timezone = "Europe/London" (or "UTC") into the tariff.'
            )
        if given.tzinfo is None:
            naive.append(at)
        found[at] = round(given.replace(tzinfo=given.tzinfo or UTC).timestamp())
    if naive and timezone is not None:
        local = pd.DatetimeIndex(found[naive].astype("datetime64[s]"))
        zone = value_parsers.time_zone(timezone)
        # Of an hour shown twice the later one is winter's, in files that run backwards the first.
        again = pd.Series(local).duplicated(keep="last" if local[0] > local[-1] else "first").to_numpy()
        moments = local.tz_localize(zone, ambiguous=~again, nonexistent="NaT")
        if moments.isna().any():
            at = naive[int(np.flatnonzero(moments.isna())[0])]
            raise Unreadable(
                f"{name}, line {lines[at]}: {texts[at]} does not exist in {timezone}, the clocks skip it. Is "
                'prices_timezone = "UTC" meant?'
            )
        found[naive] = moments.as_unit("s").asi8
    return found


def _check_ends(starts: np.ndarray, ends: np.ndarray, lines: list[int], name: str) -> None:
    """Raise `Unreadable` where a step ends otherwise than the next begins."""
    order = np.argsort(starts, kind="stable")
    wrong = np.flatnonzero(ends[order][:-1] != starts[order][1:])
    if (ends <= starts).any() or len(wrong):
        at = int(np.flatnonzero(ends <= starts)[0]) if (ends <= starts).any() else int(order[wrong[0]])
        raise Unreadable(
            f"{name}, line {lines[at]}: this price holds until {utc_text(ends[at])}, and the next one does not begin "
            "there. Add what is missing, or remove what is there twice."
        )


def _number(text: str) -> float:
    """Finite number in a price cell."""
    try:
        given = float(text)
    except ValueError:
        return units.number(text)
    if not np.isfinite(given):
        raise Unreadable(f"“{text.strip()}” is not a price: write a number, as in 24.5.")
    return given


def _validated(starts: np.ndarray, prices: np.ndarray, name: str, currency: units.Currency) -> PriceSeries:
    """The series in order of time; raises `Unreadable` for gaps, duplicates, odd steps or an implausible unit."""
    if len(starts) < 2:
        raise Unreadable(f"{name}: at least two prices are needed.")
    order = np.argsort(starts, kind="stable")
    starts, prices = starts[order], prices[order]
    steps = np.diff(starts)
    if steps.min() == 0:
        raise Unreadable(f"{name}: two prices are given for {_times_text(starts[1:][steps == 0])}. Take one out.")
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
    return PriceSeries(starts, prices, step)

"""A week of a tariff as it was understood, as plain text and as data."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.number_format import counted
from pondheat.money.civil_time import HOUR
from pondheat.money.tariffs import Tariff
from pondheat.text.layout import wrapped

_MOST_STRETCHES = 8  # in a day; days of more are shown as a table of means
_BLOCK = 3  # h, of a column of that table
_MOST_SPANS = 6  # times named in one sentence


@dataclass
class Stretch:
    """A stretch of a local day at one rate.

    start, end: minutes after midnight by the clock; name: of the rate; rate: [money/kWh].
    """

    start: int
    end: int
    name: str
    rate: float

    def text(self, tariff: Tariff) -> str:
        """As in “00:30–07:30 night 12 p/kWh”."""
        clock = "–".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in (self.start, self.end))
        return f"{clock} {self.name} {rate_text(self.rate, tariff)}"


def rate_text(rate: float, tariff: Tariff) -> str:
    """A rate in the hundredth of its currency, as in “12 p/kWh”."""
    return f"{round(100 * rate, 2):g} {tariff.currency.hundredth}/kWh".replace("-", "−")


def day_of_tariff(tariff: Tariff, timezone: str, day: dt.date) -> list[Stretch]:
    """The stretches of one local day, in order; raises `core.units.Unreadable` for days without a price."""
    begin = pd.Timestamp(day, tz=timezone)
    end = pd.Timestamp(day + dt.timedelta(days=1), tz=timezone)
    first, last = int(begin.timestamp()), int(end.timestamp())
    assert begin.tz is not None
    starts, owner, rate = tariff.rate_segments(begin.tz, first, last)
    found: list[Stretch] = []
    for at, which, value in zip(starts.tolist(), owner.tolist(), rate.tolist()):
        clock = pd.Timestamp(at, unit="s", tz="UTC").tz_convert(timezone)
        minute = clock.hour * 60 + clock.minute if at > first else 0
        name = tariff.rate_names[which]
        if found and (found[-1].name, found[-1].rate) == (name, value):
            continue
        if found:
            found[-1].end = minute
        found.append(Stretch(minute, 1440, name, value))
    return found


def tariff_text(tariff: Tariff, timezone: str, monday: dt.date, count: int = 7) -> str:
    """A week of a tariff as it was understood, or fewer days (count) from `monday` on, days that are alike in one
    line."""
    code, sign = tariff.currency.code, tariff.currency.sign
    lines = wrapped(
        f"{tariff.name}, in {code}. {_span_name(count)} from {monday.day} {monday:%B %Y}, "
        f"by the clock on the wall in {timezone}:"
    )
    days = [(day, day_of_tariff(tariff, timezone, day)) for day in _days(monday, count)]
    if max(len(stretches) for _, stretches in days) > _MOST_STRETCHES:
        lines += _table_of_week(tariff, timezone, monday, count)
    else:
        for same, stretches in _alike((day, [one.text(tariff) for one in found]) for day, found in days):
            lines += wrapped("; ".join(stretches) + ".", f"{_span_of_days(same):<9}")
    lines += _extremes(tariff, timezone, monday, count)
    lines += wrapped(f"Standing charge: {sign}{tariff.standing_charge:.2f} a day.")
    if tariff.tax_rate:
        held = "is in these rates already" if tariff.tax_included else "is added to all of it"
        lines += wrapped(f"Tax of {units.digits(100 * tariff.tax_rate, 1)} % {held}.")
    if tariff.export_rate is not None:
        lines += wrapped(f"Paid for a kWh sent back: {rate_text(tariff.export_rate, tariff)}.")
    if tariff.rounding != "none":
        lines += wrapped(f"The bill is rounded once, to the {tariff.rounding}.")
    if tariff.price_series is not None and tariff.price_series.notes:
        lines += ["", "How the price file was read:"]
        lines += [line for one in tariff.price_series.notes for line in wrapped(one, "- ")]
    return "\n".join(lines)


def _alike(days: Iterable[tuple[dt.date, list[str]]]) -> list[tuple[list[dt.date], list[str]]]:
    """Days in a row that say the same, with what they say."""
    groups: list[tuple[list[dt.date], list[str]]] = []
    for day, said in days:
        if groups and groups[-1][1] == said:
            groups[-1][0].append(day)
        else:
            groups.append(([day], said))
    return groups


def _span_of_days(same: list[dt.date]) -> str:
    return f"{same[0]:%a}" + (f"–{same[-1]:%a}" if len(same) > 1 else "")


def _days(first: dt.date, count: int) -> list[dt.date]:
    return [first + dt.timedelta(days=n) for n in range(count)]


def _span_name(count: int) -> str:
    return "The week" if count == 7 else counted(count, "day", "days")


def _week(timezone: str, monday: dt.date, count: int) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Start and end of the days from one on, by the clock of a zone."""
    return pd.Timestamp(monday, tz=timezone), pd.Timestamp(monday + dt.timedelta(days=count), tz=timezone)


def _table_of_week(tariff: Tariff, timezone: str, monday: dt.date, count: int) -> list[str]:
    """The mean rate of each three hours of each day."""
    hours = pd.date_range(*_week(timezone, monday, count), freq="h", inclusive="left")
    prices = pd.Series(100 * tariff.rates(hours)[0], hours)
    rows = []
    for day in dict.fromkeys(hours.date.tolist()):
        part = prices[hours.date == day]
        means = part.groupby(pd.DatetimeIndex(part.index).hour // _BLOCK).mean()
        rows.append((day, [units.digits(mean, 1) for mean in means.reindex(range(24 // _BLOCK))]))
    lines = wrapped(f"Means of {_BLOCK} hours, in {tariff.currency.hundredth}/kWh:")
    heads = [f"{hour:02d}–{hour + _BLOCK:02d}" for hour in range(0, 24, _BLOCK)]
    for name, cells in (("", heads), *((_span_of_days(same), cells) for same, cells in _alike(rows))):
        lines.append(f"{name:<9}" + "".join(f"{cell:>8}" for cell in cells))
    return lines


def _extremes(tariff: Tariff, timezone: str, monday: dt.date, count: int) -> list[str]:
    """Sentences on the lowest, highest and mean rate of the week, and when it is lowest, highest and below zero."""
    begin, end = _week(timezone, monday, count)
    assert begin.tz is not None
    starts, _, rates = tariff.rate_segments(begin.tz, int(begin.timestamp()), int(end.timestamp()))
    bounds = np.append(starts, int(end.timestamp()))
    low, high = float(rates.min()), float(rates.max())
    if tariff.price_series is None:
        return wrapped(
            f"The cheapest hour costs {rate_text(low, tariff)}, the most expensive {rate_text(high, tariff)}."
        )
    hours = np.diff(bounds) / HOUR
    lines = wrapped(
        f"Cheapest: {rate_text(low, tariff)}, {_spans(bounds, rates == low, timezone)}. Most expensive: "
        f"{rate_text(high, tariff)}, {_spans(bounds, rates == high, timezone)}. On average "
        f"{rate_text(float((rates * hours).sum() / hours.sum()), tariff)}."
    )
    if low < 0:
        below = f"{hours[rates < 0].sum():.4g}"
        lines += wrapped(f"Below zero for {below} hours in all: {_spans(bounds, rates < 0, timezone)}.")
    return lines


def _spans(bounds: np.ndarray, which: np.ndarray, timezone: str) -> str:
    """When something holds, as in “Mon 02:00–03:30, Tue 13:00–24:00”, the first few times.

    bounds: ends of the segments [s since 1970 UTC], one more than there are; which: whether it holds in each.
    """
    local = pd.DatetimeIndex(bounds.astype("datetime64[s]"), tz="UTC").tz_convert(timezone)
    begins = np.flatnonzero(which & ~np.append(False, which[:-1]))
    ends = np.flatnonzero(which & ~np.append(which[1:], False)) + 1
    said = []
    for begin, end in zip(local[begins[:_MOST_SPANS]], local[ends[:_MOST_SPANS]]):
        late = end.normalize() == end
        last = end - pd.Timedelta("1s")
        day = "" if last.date() == begin.date() else f"{last:%a} "
        said.append(f"{begin:%a %H:%M}–{day}{'24:00' if late else f'{end:%H:%M}'}")
    more = len(begins) - _MOST_SPANS
    return ", ".join(said) + (f" and {counted(more, 'more time', 'more times')}" if more > 0 else "")


def tariff_dict(tariff: Tariff, timezone: str, monday: dt.date, count: int = 7) -> dict:
    """A tariff and its week as data for JSON: money/kWh, minutes as clock times."""
    return {
        "name": tariff.name,
        "currency": tariff.currency.code,
        "standing_charge_per_day": tariff.standing_charge,
        "tax_rate": tariff.tax_rate,
        "tax_included": tariff.tax_included,
        "export_rate": tariff.export_rate,
        "notes": [] if tariff.price_series is None else list(tariff.price_series.notes),
        "week": {
            str(day): [
                {"from": f"{one.start // 60:02d}:{one.start % 60:02d}", "name": one.name, "rate": one.rate}
                for one in day_of_tariff(tariff, timezone, day)
            ]
            for day in _days(monday, count)
        },
    }

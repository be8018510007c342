"""The hours in which a rate holds: a clock window, on named days, perhaps within dates; overlaps and gaps among them.

Days and dates are those of the local calendar at the moment itself. So a window across midnight is two pieces of each
day it names: a Saturday's 23:00 to 07:00 holds from 00:00 to 07:00 and from 23:00 to 24:00 of that Saturday.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from pondheat.core import units, value_parsers
from pondheat.money.civil_time import DAY, MINUTE

KEYS = ("name", "rate", "start", "end", "days", "from", "to")
# Each weekday meets each date, leap days too, within 28 years; written tariffs do not lie outside these 56.
_CALENDAR = np.arange(np.datetime64("2000-01-01"), np.datetime64("2056-01-01")).astype(np.int64)
_CLOCK = np.arange(0, DAY, MINUTE)


@dataclass(frozen=True)
class Window:
    """A rate and the local hours in which it holds.

    name: text; rate: [money/kWh]; start, end: “HH:MM” of the local clock (end not after start runs across midnight;
    the same twice is the whole day); days: “all”, “weekdays”, “weekends” or names of days; date_from, date_to: first
    and last date, both “MM-DD” (of every year, across New Year where the first is the later) or “YYYY-MM-DD”, of
    which one may be left open. Raises `core.units.Unreadable` for what is no time, day or date.

    >>> night = Window("night", 0.12, "23:00", "07:00")
    >>> [bool(hit) for hit in night.on_clock(np.array([6, 7, 22, 23]) * 3600)]
    [True, False, False, True]
    """

    name: str
    rate: float
    start: str
    end: str
    days: str | tuple[str, ...] = "all"
    date_from: str | None = None
    date_to: str | None = None

    def __post_init__(self):
        if isinstance(self.days, list):
            object.__setattr__(self, "days", tuple(self.days))
        value_parsers.weekdays(self.days)
        _ = self.clock_minutes
        for name in ("date_from", "date_to"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, value_parsers.calendar_date(getattr(self, name)))
        given = [day for day in (self.date_from, self.date_to) if day is not None]
        if len({len(day) for day in given}) > 1:
            raise units.Unreadable("Write both dates with the year, or both without.")
        if len(given) == 1 and len(given[0]) == 5:
            raise units.Unreadable("A date without a year needs the other one too: from = “10-01”, to = “03-31”.")
        if len(given) == 2 and len(given[0]) == 10 and given[0] > given[1]:
            raise units.Unreadable(f"The dates end ({given[1]}) before they begin ({given[0]}).")

    @functools.cached_property
    def clock_minutes(self) -> tuple[int, int]:
        """Start and end as minutes after midnight, 0 to 1439."""
        return value_parsers.clock_minutes(self.start) % 1440, value_parsers.clock_minutes(self.end) % 1440

    @property
    def dated(self) -> bool:
        """True where the window holds within dates only; such a window goes before one that holds always."""
        return self.date_from is not None or self.date_to is not None

    def on_clock(self, second_of_day: np.ndarray) -> np.ndarray:
        """Whether the window holds at these seconds after local midnight, on a day on which it holds at all."""
        start, end = (MINUTE * minutes for minutes in self.clock_minutes)
        if start < end:
            return (second_of_day >= start) & (second_of_day < end)
        return (second_of_day >= start) | (second_of_day < end)

    def on_days(self, day: np.ndarray) -> np.ndarray:
        """Whether the window holds on these local days (days since 1970-01-01, a Thursday)."""
        hit = np.isin((day + 3) % 7, list(value_parsers.weekdays(self.days)))
        if not self.dated:
            return hit
        dates = day.astype("datetime64[D]")
        if len(self.date_from or self.date_to) == 10:
            first = dates >= np.datetime64(self.date_from) if self.date_from else True
            last = dates <= np.datetime64(self.date_to) if self.date_to else True
            return hit & first & last
        months = dates.astype("datetime64[M]")
        of_year = 100 * (months.astype(np.int64) % 12 + 1) + (dates - months).astype(np.int64) + 1
        first, last = (int(text.replace("-", "")) for text in (self.date_from, self.date_to))
        if first <= last:
            return hit & (of_year >= first) & (of_year <= last)
        return hit & ((of_year >= first) | (of_year <= last))


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _named(days: np.ndarray) -> str:
    """Which days of the calendar these are, as people say it; the first of them where it takes a date to tell."""
    weekdays = np.unique((_CALENDAR[days] + 3) % 7)
    if np.isin((_CALENDAR + 3) % 7, weekdays).sum() > days.sum():
        return f"on {np.datetime64(int(_CALENDAR[days.argmax()]), 'D')}, for instance"
    return (
        "every day" if len(weekdays) == 7 else "on " + ", ".join(f"{value_parsers.DAY_NAMES[day]}s" for day in weekdays)
    )


def overlaps(windows: tuple[Window, ...]) -> list[tuple[int, int, str]]:
    """Pairs of windows (by place) that claim the same moment, with a sentence.

    Only a dated window may lie over an undated one, and goes before it. All others are refused: the order of lines
    in a file should not decide what a kilowatt-hour costs.
    """
    found = []
    for second, late in enumerate(windows):
        for first, early in enumerate(windows[:second]):
            if early.dated != late.dated:
                continue
            clock = early.on_clock(_CLOCK) & late.on_clock(_CLOCK)
            days = early.on_days(_CALENDAR) & late.on_days(_CALENDAR)
            if clock.any() and days.any():
                found.append(
                    (
                        first,
                        second,
                        f"“{early.name}” and “{late.name}” both hold at {_clock(clock.argmax())} "
                        f"{_named(days)}. Let one begin where the other ends, or give one of them "
                        "dates: it then goes before the other.",
                    )
                )
    return found


def gap(windows: tuple[Window, ...]) -> str | None:
    """A sentence for the first moment that no window covers, or None where they cover every moment of every day."""
    clocks = np.array([window.on_clock(_CLOCK) for window in windows])
    active = np.array([window.on_days(_CALENDAR) for window in windows])
    patterns, firsts, pattern_of_day = np.unique(active, axis=1, return_index=True, return_inverse=True)
    for pattern in np.argsort(firsts):
        covered = clocks[patterns[:, pattern]].any(axis=0)
        if not covered.all():
            start = int(covered.argmin())
            end = start + int(covered[start:].argmax()) if covered[start:].any() else len(_CLOCK)
            return (
                f"No rate holds from {_clock(start)} to {_clock(end)} {_named(pattern_of_day.ravel() == pattern)}: "
                "give the rate of all other hours as “otherwise”."
            )
    return None


def from_table(values, number: int, currency: units.Currency) -> tuple[Window | None, list[tuple[str, str]]]:
    """A window from the table a person wrote, and every fault in it as (key path, sentence); windows count from 1.

    Keys: name, rate (“12 p/kWh”), start, end (“00:30”), days, from, to (“10-01”).
    """
    path = f"window[{number}]"
    if not isinstance(values, dict):
        return None, [(path, "A window is a table of its own: begin it with [[tariff.window]].")]
    table = value_parsers.TableReader(values, KEYS, path)
    taken = {
        "name": table.take("name", value_parsers.text, f"window {number}"),
        "rate": table.take(
            "rate", lambda value: value_parsers.rate(value, currency), example=f'"12 {currency.hundredth}/kWh"'
        ),
        "start": table.take("start", value_parsers.clock, example='"00:30"'),
        "end": table.take("end", value_parsers.clock, example='"07:30"'),
        "days": table.take("days", value_parsers.days, "all"),
        "date_from": table.take("from", value_parsers.calendar_date, None),
        "date_to": table.take("to", value_parsers.calendar_date, None),
    }
    if any(place.removeprefix(f"{path}.") in KEYS for place, _ in table.faults):
        return None, table.faults
    try:
        return Window(**taken), table.faults
    except units.Unreadable as wrong:
        table.fault("from", str(wrong))
        return None, table.faults

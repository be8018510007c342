"""Time-of-day windows of a tariff, by weekday and date, with checks for overlaps and gaps.

Weekday and date are those of the local calendar at the moment in question. So a window across midnight covers both ends
of each day it names: 23:00 to 07:00 on Saturdays is valid from 00:00 to 07:00 and from 23:00 to 24:00 of the Saturday.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from pondheat.core import units, value_parsers
from pondheat.money.civil_time import DAY, MINUTE

KEYS = ("name", "rate", "start", "end", "days", "from", "to")
# Within 28 years every date, leap days included, falls on every weekday; tariffs are not dated outside these 56 years.
_CALENDAR_DAYS = np.arange(np.datetime64("2000-01-01"), np.datetime64("2056-01-01")).astype(np.int64)
_CLOCK_SECONDS = np.arange(0, DAY, MINUTE)


@dataclass(frozen=True)
class Window:
    """A rate and the local hours in which it is valid.

    name: text; rate: [money/kWh]; start, end: “HH:MM” of the local clock (an end before the start is on the next day;
    equal times mean the whole day); days: “all”, “weekdays”, “weekends” or names of days; date_from, date_to: first and
    last date, both “MM-DD” (every year, across New Year if the first is later) or “YYYY-MM-DD”, of which one may be
    None. Raises `core.units.Unreadable` for invalid times, days or dates.

    >>> night = Window("night", 0.12, "23:00", "07:00")
    >>> [bool(hit) for hit in night.holds_at(np.array([6, 7, 22, 23]) * 3600)]
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
            raise units.Unreadable(f"The dates end ({given[1]}) before they begin ({given[0]}): exchange them.")

    @functools.cached_property
    def clock_minutes(self) -> tuple[int, int]:
        """Start and end as minutes after midnight, 0 to 1439."""
        return value_parsers.clock_minutes(self.start) % 1440, value_parsers.clock_minutes(self.end) % 1440

    @property
    def dated(self) -> bool:
        """Whether the window is limited to dates; if so, it takes precedence over windows without dates."""
        return self.date_from is not None or self.date_to is not None

    def holds_at(self, second_of_day: np.ndarray) -> np.ndarray:
        """Whether the window includes these times of day, in seconds after local midnight."""
        start, end = (MINUTE * minutes for minutes in self.clock_minutes)
        if start < end:
            return (second_of_day >= start) & (second_of_day < end)
        return (second_of_day >= start) | (second_of_day < end)

    def holds_on(self, day: np.ndarray) -> np.ndarray:
        """Whether the window includes these local days, counted from 1970-01-01 (a Thursday)."""
        valid = np.isin((day + 3) % 7, list(value_parsers.weekdays(self.days)))
        dates = day.astype("datetime64[D]")
        if self.date_from and self.date_to and len(self.date_from) == 5:
            months = dates.astype("datetime64[M]")
            month_day = 100 * (months.astype(np.int64) % 12 + 1) + (dates - months).astype(np.int64) + 1
            first, last = (int(text.replace("-", "")) for text in (self.date_from, self.date_to))
            if first <= last:
                return valid & (month_day >= first) & (month_day <= last)
            return valid & ((month_day >= first) | (month_day <= last))
        if self.date_from:
            valid = valid & (dates >= np.datetime64(self.date_from))
        if self.date_to:
            valid = valid & (dates <= np.datetime64(self.date_to))
        return valid


def _clock_text(minute: int) -> str:
    """Clock time “HH:MM” of a minute of the day."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _days_text(days: np.ndarray) -> str:
    """Text naming the days of a mask of `_CALENDAR_DAYS`: by weekday, or by an example where dates matter."""
    weekdays = np.unique((_CALENDAR_DAYS[days] + 3) % 7)
    if np.isin((_CALENDAR_DAYS + 3) % 7, weekdays).sum() > days.sum():
        return f"on {np.datetime64(int(_CALENDAR_DAYS[days.argmax()]), 'D')}, for instance"
    return (
        "every day" if len(weekdays) == 7 else "on " + ", ".join(f"{value_parsers.DAY_NAMES[day]}s" for day in weekdays)
    )


def overlaps(windows: tuple[Window, ...]) -> list[tuple[int, int, str]]:
    """Pairs of overlapping windows, as their positions and a sentence.

    A dated window may overlap an undated one, over which it takes precedence. All other overlaps are errors: the order
    of lines in a file should not decide what a kilowatt-hour costs.
    """
    found = []
    for second, later in enumerate(windows):
        for first, earlier in enumerate(windows[:second]):
            if earlier.dated != later.dated:
                continue
            clock = earlier.holds_at(_CLOCK_SECONDS) & later.holds_at(_CLOCK_SECONDS)
            days = earlier.holds_on(_CALENDAR_DAYS) & later.holds_on(_CALENDAR_DAYS)
            if clock.any() and days.any():
                found.append(
                    (
                        first,
                        second,
                        f"“{earlier.name}” and “{later.name}” both apply at {_clock_text(int(clock.argmax()))} "
                        f"{_days_text(days)}. Let one begin where the other ends, or give one of them "
                        "dates: that one then takes precedence.",
                    )
                )
    return found


def coverage_gap(windows: tuple[Window, ...]) -> str | None:
    """Sentence naming the first gap between the windows, or None if they cover all hours."""
    clocks = np.array([window.holds_at(_CLOCK_SECONDS) for window in windows])
    active = np.array([window.holds_on(_CALENDAR_DAYS) for window in windows])
    patterns, firsts, pattern_of_day = np.unique(active, axis=1, return_index=True, return_inverse=True)
    for pattern in np.argsort(firsts):
        covered = clocks[patterns[:, pattern]].any(axis=0)
        if not covered.all():
            start = int(covered.argmin())
            end = start + int(covered[start:].argmax()) if covered[start:].any() else len(_CLOCK_SECONDS)
            days = _days_text(pattern_of_day.ravel() == pattern)
            return (
                f"No rate applies from {_clock_text(start)} to {_clock_text(end)} {days}: "
                "give the rate of all other hours as “otherwise”."
            )
    return None


def from_table(values, number: int, currency: units.Currency) -> tuple[Window | None, list[tuple[str, str]]]:
    """Window from its TOML table, or None with every error in the table as (key path, sentence).

    values: the table, with the keys name, rate (“12 p/kWh”), start, end (“00:30”), days, from, to (“10-01”); number:
    position in the tariff, from 1, for names and key paths.
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

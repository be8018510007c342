"""Meter files for a comparison: read, checked against the heater, and merged into one table of intervals."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from pondheat.analysis.printable import printable_name
from pondheat.analysis.results import times_of
from pondheat.core import value_parsers
from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange
from pondheat.core.tables.read_log import ReadingsFault
from pondheat.core.units import Currency
from pondheat.meter.reading import meter_file
from pondheat.meter.reading.energy_use import night_of
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.reading.open_table import ReadingOptions
from pondheat.meter.savings.alignment import LONG
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.money import tariffs
from pondheat.money.tariffs import Tariff
from pondheat.season.heaters import Heater
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

READING = tuple(one.name for one in fields(ReadingOptions))  # what a meter's file may not say itself
LONGEST = 36.0  # h; a log of longer readings does not tell one night from the next (judgement)
LONGEST_GAP = 240.0  # h; over longer ones the weather of single nights no longer shows in a sum (judgement)
OVERLAP = pd.Timedelta("4s")  # allowed overlap of intervals in two files, as clocks round
Stretch = tuple[str, pd.Timestamp, pd.Timestamp]  # open or covered, start, end


class Incomparable(OutOfRange):
    """Two logs that cannot be compared as given; the message says why and what to do."""


class Intervals(NamedTuple):
    """All metered intervals in the pond's time zone.

    use: as `meter.reading.meter_file.read` gives it; label: open or covered, for each interval; stretches: runs of one
    label from start to end, None where dates of covered nights tell them apart.
    """

    use: pd.DataFrame
    label: pd.Series
    stretches: list[Stretch] | None


def tariff_of(path: str | Path, currency: Currency) -> Tariff:
    """A tariff from a TOML file; raises Incomparable with everything wrong in it."""
    tariff, faults = tariffs.read(path, currency)
    if tariff is None or faults:
        raise Incomparable(
            "\n".join(
                f"{printable_name(path)}: {where + ': ' if where else ''}{sentence}" for where, sentence in faults
            )
        )
    return tariff


def dates_of(text: str) -> list[dt.date]:
    """Dates and ranges of dates as typed on a command line; both ends of a range belong to it.

    Raises Incomparable for anything else, or for none.

    >>> [f"{day:%d}" for day in dates_of("2026-01-19, 2026-01-22..2026-01-24")]
    ['19', '22', '23', '24']
    """
    dates: list[dt.date] = []
    for part in filter(None, re.split(r"[,;\s]+", re.sub(r"\s*\.\.\s*", "..", text.strip()))):
        ends = part.split("..")
        try:
            first, last = dt.date.fromisoformat(ends[0]), dt.date.fromisoformat(ends[-1])
        except ValueError:
            ends = []
        if len(ends) not in (1, 2):
            raise Incomparable(
                f"“{part[:40]}” is not a date or span of dates: write 2026-01-19, or 2026-01-22..2026-01-25."
            )
        if last < first or (last - first).days > 1000:
            raise Incomparable(f"“{part[:40]}” ends before it begins, or lasts for years: which nights were covered?")
        dates += [first + dt.timedelta(days=k) for k in range((last - first).days + 1)]
    if not dates:
        raise Incomparable("No covered night is named: write them as 2026-01-19,2026-01-22..2026-01-25.")
    return dates


def read_file(
    file, name: str, timezone: str, options: Mapping[str, Any], progress: Callable[[float], None]
) -> Readings:
    """One meter file; raises ReadingsFault for anything wrong in it, with the file's printable name first."""
    try:
        return meter_file.read(file, timezone, **options, progress=progress)
    except ReadingsFault as wrong:
        message = str(wrong) if isinstance(file, bytes) else str(wrong).replace(Path(str(file)).name, name)
        raise ReadingsFault(message if name in message else f"{name}: {message}") from None


def require_same_meter(
    readings: tuple[Readings, ...], names: tuple[str, ...], heater: Heater, notes: list[str]
) -> None:
    """Raise Incomparable unless all files count what the sheet's heater uses, as far as they say."""
    for one, name in zip(readings, names):
        if one.kind.startswith("gas") and heater.kind != "gas":
            raise Incomparable(
                f"{name} counts gas, but the sheet's heater is of kind {heater.kind}: write "
                '[heater] kind = "gas" and its efficiency into the sheet.'
            )
    if len({one.kind.startswith("gas") for one in readings}) > 1:
        raise Incomparable("One file counts gas and the other does not: both must be of the same heater's meter.")
    logged = [has_water_temp(one.use) for one in readings]
    if any(logged) and not all(logged):
        notes.append(
            f"{names[logged.index(False)]} has no water temperature; the set point is used instead in both "
            "periods, so that they are treated alike."
        )


def has_water_temp(use: pd.DataFrame) -> bool:
    """Whether readings have a water temperature at two times or more."""
    return "water_temp" in use and bool(use["water_temp"].notna().sum() >= 2)


def _nightly(use: pd.DataFrame, name: str, notes: list[str]) -> pd.DataFrame:
    """Readings short enough to separate nights, with single longer ones as sums over theirs; raises Incomparable."""
    hours = use["hours"].to_numpy(float)
    if float(np.median(hours)) > LONGEST:
        raise Incomparable(
            f"{name} has readings of {use['hours'].median():.0f} hours and more: how much one night "
            "differs from the next, and so how sure a saving is, can't be worked out from them. Read the meter at "
            "least once a day, best at noon."
        )
    long, too_long = hours > LONGEST, hours > LONGEST_GAP
    if too_long.any():
        notes.append(
            f"{counted(too_long.sum(), 'reading', 'readings')} of more than {LONGEST_GAP / 24:.0f} days in {name} left "
            "out: a reading that long can't tell one night from the next."
        )
    if (long & ~too_long).any():
        notes.append(
            f"{counted((long & ~too_long).sum(), 'reading', 'readings')} of more than {LONGEST:.0f} hours in {name}: "
            "taken as one sum of all nights in it, by what you say about the cover on each."
        )
    if np.median(hours) > LONG and _off_noon(use[~too_long]):
        notes.append(
            f"{name} has readings of {np.median(hours):.0f} hours that do not begin at noon, so they hold parts of two "
            "nights: each counts as one sum of its open and covered hours, by the sheet's times of the cover. Read the "
            "meter at noon, or log it every hour, and the range narrows."
        )
    return use[~too_long]


def _off_noon(use: pd.DataFrame) -> bool:
    """Whether most readings begin more than two hours from noon."""
    local = times_of(use).tz_localize(None)
    hour = local.hour.to_numpy() + local.minute.to_numpy() / 60
    return bool((np.abs(hour - 12) > 2).mean() > 0.5)


def merge(
    readings: tuple[Readings, ...],
    names: tuple[str, ...],
    sheet: Sheet,
    covered_nights: Sequence[dt.date] | None,
    notes: list[str],
) -> Intervals:
    """All intervals of one file labelled by its covered nights, or of an open and a covered file in order of time.

    notes: sentences on what was left out are added. Raises Incomparable for covered nights outside the file, or files
    that overlap.
    """
    parts = [
        _nightly(one.use.tz_convert(value_parsers.time_zone(sheet.timezone)), name, notes)
        for one, name in zip(readings, names)
    ]
    if covered_nights is not None:
        return _one_file(parts[0], names[0], covered_nights, notes)
    return _two_files(parts)


def _one_file(use: pd.DataFrame, name: str, covered_nights: Sequence[dt.date], notes: list[str]) -> Intervals:
    night = night_of(times_of(use)).date
    last_night = night_of(times_of(use) + pd.to_timedelta(use["hours"].to_numpy() - 1, unit="h")).date
    metered = {day.date() for begin, end in zip(night, last_night) for day in pd.date_range(begin, end)}
    missing = sorted(set(covered_nights) - metered)
    if len(missing) == len(set(covered_nights)):
        first, last = use.index[0], use.index[-1]
        raise Incomparable(
            f"None of the covered nights is in {name}, which runs from {first:%Y-%m-%d} to {last:%Y-%m-%d}."
        )
    if missing:
        notes.append(
            f"{counted(len(missing), 'covered night is', 'covered nights are')} outside {name}, the first {missing[0]}."
        )
    label = pd.Series(np.where(np.isin(night, np.array(covered_nights)), COVERED, OPEN), use.index)
    return Intervals(use, label, None)


def _two_files(parts: list[pd.DataFrame]) -> Intervals:
    if not all(map(has_water_temp, parts)):
        parts = [part.drop(columns="water_temp", errors="ignore") for part in parts]
    use = pd.concat(parts)
    label = pd.Series(np.repeat([OPEN, COVERED], [len(part) for part in parts]), use.index)
    order = np.argsort(times_of(use).asi8, kind="stable")
    use, label = use.iloc[order], label.iloc[order]
    start = times_of(use)
    end = start + pd.to_timedelta(use["hours"].to_numpy(float), "h")
    changes = label[1:].to_numpy() != label[:-1].to_numpy()
    overlaps = np.flatnonzero((start[1:] < end[:-1] - OVERLAP) & changes)
    if len(overlaps):
        raise Incomparable(
            f"Both files have readings of the same time, first {start[int(overlaps[0]) + 1]:%Y-%m-%d %H:%M}: "
            "was one file given twice? Each night was either open or covered."
        )
    firsts = np.flatnonzero(np.append(True, changes))
    lasts = np.append(firsts[1:], len(use)) - 1
    stretches = [
        (str(label.iloc[first]), start[first], end[last]) for first, last in zip(firsts.tolist(), lasts.tolist())
    ]
    return Intervals(use, label, stretches)


def by_the_hour(stretches: list[Stretch], index: pd.DatetimeIndex) -> list[Stretch]:
    """Stretches moved to begin with the hour of weather that their first reading falls in, if that hour is free."""
    moved: list[Stretch] = []
    for which, start, end in stretches:
        at = int(index.searchsorted(start, side="right")) - 1
        start = index[at] if at >= 0 else start
        moved.append((which, max(start, moved[-1][2]) if moved else start, end))
    return moved


def require_shared_days(use: pd.DataFrame, record: Weather) -> None:
    """Raise Incomparable where the readings lie outside the weather record."""
    first, last = use.index[0], use.index[-1]
    index = times_of(record.hours)
    start, end = index[0], index[-1] + pd.Timedelta("1h")
    if last < start or first >= end:
        raise Incomparable(
            f"The weather of {printable_name(record.place)} has hours from {start:%Y-%m-%d} to "
            f"{end:%Y-%m-%d}, the readings run from {first:%Y-%m-%d} to {last:%Y-%m-%d}: give the "
            "weather of those very days, from a station nearby."
        )

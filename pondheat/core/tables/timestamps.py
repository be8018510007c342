"""Time columns of a meter file: which ones they are, their format, and whether the day or the month comes first."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pondheat.core.tables.header_lines import column_label
from pondheat.core.tables.read_log import OF_READER, OptionNames, ReadingsFault, ReadLog
from pondheat.core.tables.time_formats import (
    CLOCK_ONLY,
    DATE,
    DATE_AND_CLOCK,
    DATE_ONLY,
    TimeFormat,
    time_format_of,
)

DATES = ("day first", "month first", "year first")
_MIN_SHARE = 0.5


@dataclass(frozen=True)
class TimeColumns:
    """Positions of the columns of the time and, where present, of the interval's end; formats, the commonest first.

    A second position in `at` or `end_at` is the clock time that goes with the date.
    """

    at: tuple[int, ...]
    end_at: tuple[int, ...]
    formats: tuple[TimeFormat, ...]


def find_time_columns(
    sample: list[list[str]], headers: list[str], dates: str | None, name: str, asks: OptionNames = OF_READER
) -> TimeColumns:
    """Time columns of a table, judged by their contents; raises ReadingsFault if there are none."""
    width = len(headers)
    kinds: list[Counter[str]] = [Counter() for _ in range(width)]
    formats: list[Counter[TimeFormat]] = [Counter() for _ in range(width)]
    for fields in sample:
        for at, field in enumerate(fields[:width]):
            kind, time_format = time_format_of(field)
            if kind:
                kinds[at][kind] += 1
                formats[at][time_format] += 1
    share = [{kind: count / len(sample) for kind, count in counted.items()} for counted in kinds]
    dated = [at for at in range(width) if share[at].get(DATE_ONLY, 0) + share[at].get(DATE_AND_CLOCK, 0) > _MIN_SHARE]
    # A counter in watt-hours may look like seconds since 1970: such a column is a time only if no other is.
    if sure := [at for at in dated if not formats[at].most_common(1)[0][0].unit]:
        dated = sure
    if not dated:
        raise ReadingsFault(
            f"No column of {name} has dates that can be read. Its first reading is “{' '.join(sample[0])[:60]}”. Write "
            "them as 2025-10-01 18:30."
        )
    free = [at for at in range(width) if share[at].get(CLOCK_ONLY, 0) > _MIN_SHARE]
    pairs: list[tuple[int, ...]] = []
    for at in dated:
        beside = [clock for clock in free if clock > at] or free
        if share[at].get(DATE_AND_CLOCK, 0) < 0.5 * share[at].get(DATE_ONLY, 0) and beside:
            pairs.append((at, beside[0]))
            free.remove(beside[0])
        else:
            pairs.append((at,))
    pairs = _one_clock(pairs, headers)
    if len(pairs) == 1 and free and len(pairs[0]) == 2:
        pairs.append((pairs[0][0], free[0]))  # one date, clock times of start and end
    found = _combined([formats[at] for at in pairs[0]])
    if found[0].unit:
        chosen = found[:1]
    else:
        if len(pairs) > 1:  # ends may be written differently, for instance with seconds
            found += [one for one in _combined([formats[at] for at in pairs[1]]) if one not in found]
        chosen = _settle_day_month([one for one in found if not one.unit], sample, pairs[0], dates, name, asks)
    return TimeColumns(pairs[0], pairs[1] if len(pairs) > 1 else (), tuple(chosen))


def _one_clock(pairs: list[tuple[int, ...]], headers: list[str]) -> list[tuple[int, ...]]:
    """Without a second time of the same moment: of a time in UTC and one by the local clock, only that in UTC."""
    in_utc = [bool(re.search(r"(?<![a-z])(utc|gmt|zulu)(?![a-z])", headers[at[0]].lower())) for at in pairs]
    if len(pairs) == 2 and in_utc.count(True) == 1:
        return [pairs[in_utc.index(True)]]
    return pairs


def _combined(formats: list[Counter[TimeFormat]]) -> list[TimeFormat]:
    """The commonest formats of a time column, or of a date column joined with those of its clock column."""
    clocks = [clock for clock, _ in formats[1].most_common(3)] if len(formats) == 2 else [TimeFormat()]
    return [
        replace(date, format=f"{date.format} {clock.format}".strip(), aware=date.aware or clock.aware)
        for date, _ in formats[0].most_common(4)
        for clock in clocks
    ]


def describe_time(columns: TimeColumns, headers: list[str], read_log: ReadLog) -> None:
    """Record in the log which columns are the time, and in which format."""
    label = " and ".join(column_label(at, headers[at]) for at in columns.at)
    time_format = columns.formats[0]
    how = {"s": "seconds since 1970 UTC", "ms": "milliseconds since 1970 UTC"}.get(
        time_format.unit
    ) or time_format.example()
    which = (
        (", the day first" if time_format.format.index("%d") < time_format.format.index("%m") else ", the month first")
        if time_format.ambiguous
        else ""
    )
    read_log.interpretation.append(f"The time is in {label}, written as {how}{which}.")
    if columns.end_at:
        read_log.interpretation.append(
            f"Column {columns.end_at[-1] + 1} (“{headers[columns.end_at[-1]]}”) gives the end of each interval."
        )


def _settle_day_month(
    formats: list[TimeFormat], sample, at: tuple[int, ...], dates: str | None, name: str, asks: OptionNames
) -> list[TimeFormat]:
    """Formats with day and month in the right order, from the caller's option, from dots, or from dates above 12."""
    cure = f'Give {asks.dates}"day first" or "month first"{asks.where}.'
    if dates is not None and dates not in DATES:
        raise ReadingsFault(f"“{str(dates)[:40]}” is not a way of writing dates. {cure}")
    if not formats[0].ambiguous:
        if dates in DATES[:2] and formats[0].format.startswith("%Y"):
            raise ReadingsFault(
                f"The dates of {name} have the year first, as in {sample[0][at[0]]}, not the {dates.split()[0]}. "
                f'Leave {asks.dates}"{dates}" out.'
            )
        return formats
    years = _short_years_first(formats, sample, at)
    if years and dates in (None, "year first"):
        return years
    if dates == "year first":
        raise ReadingsFault(f"The dates of {name} do not have the year first (the first is {sample[0][at[0]]}). {cure}")
    if dates:
        return formats if dates == "day first" else [one.swapped() for one in formats]
    pairs = [
        (int(found["one"]), int(found["two"]), fields[at[0]])
        for fields in sample
        if (found := DATE.match(fields[at[0]])) and found["one"]
    ]
    day = sum(one > 12 >= two for one, two, _ in pairs)
    month = sum(two > 12 >= one for one, two, _ in pairs)
    if day and month and min(day, month) > 0.02 * len(pairs):
        raise ReadingsFault(
            f"Some dates of {name} have the day first and some the month, such as "
            f"{next(text for one, _, text in pairs if one > 12)} and "
            f"{next(text for _, two, text in pairs if two > 12)}. Write them all as 2025-12-31."
        )
    if day or month:
        return formats if day > month else [one.swapped() for one in formats]
    return [replace(one, ambiguous=True) for one in formats]


def _short_years_first(formats: list[TimeFormat], sample, at: tuple[int, ...]) -> list[TimeFormat]:
    """The formats with the year first, for dates such as 25-01-31, of which the last number changes more often than the
    first; none for other dates."""
    parts = [
        found[0] for fields in sample if (found := re.findall(r"^(\d\d)[-/.](\d\d?)[-/.](\d\d)(?!\d)", fields[at[0]]))
    ]
    first, last = ({part[which] for part in parts} for which in (0, 2))
    if len(parts) < len(sample) / 2 or len(last) <= len(first) or "%y" not in formats[0].format:
        return []
    return [replace(one.swapped("%d", "%y"), ambiguous=False) for one in formats]


def day_month_unknown(formats: tuple[TimeFormat, ...], sample, at: int) -> bool:
    """Whether nothing in the sample, neither a dot nor a number above 12, tells the day from the month."""
    if not formats[0].ambiguous:
        return False
    found = [DATE.match(fields[at]) for fields in sample]
    return not any(
        one and one["one"] and (one["s2"] == "." or int(one["one"]) > 12 or int(one["two"]) > 12) for one in found
    )


def order_of(
    cells: Sequence[str] | np.ndarray, formats: tuple[TimeFormat, ...], sample: list[list[str]], at: int
) -> tuple[TimeFormat, ...] | None:
    """The formats with day and month in the order that all the dates of a column show; None where they show none."""
    if not day_month_unknown(formats, sample, at):
        return formats
    parts = (re.match(r"(\d{1,2})[-/](\d{1,2})[-/]", cell) for cell in cells)
    day = next((int(one[1]) for one in parts if one and (int(one[1]) > 12) != (int(one[2]) > 12)), None)
    if day is None:
        return None
    return formats if day > 12 else tuple(one.swapped() for one in formats)


def settled_by_dates(
    cells: Sequence[str] | np.ndarray,
    row: Sequence[int] | np.ndarray,
    formats: tuple[TimeFormat, ...],
    sample: list[list[str]],
    at: int,
    name: str,
    asks: OptionNames = OF_READER,
) -> tuple[TimeFormat, ...]:
    """The formats in the order that all the dates of a column show; raises ReadingsFault where they show none.

    row: number of each cell's row in the file.
    """
    order = order_of(cells, formats, sample, at)
    if order is None:
        raise ReadingsFault(
            f"Row {row[0]}: is “{cells[0]}” day/month or month/day? No date in {name} has a number above 12 to settle "
            f'it. Give {asks.dates}"day first" or {asks.dates}"month first"{asks.where}.'
        )
    return order

"""The times of a meter file: how they are written, day or month first, and local clock time made into instants.

Naive times are numpy datetime64[us] as written; instants are microseconds since 1970-01-01 00:00 UTC.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.meter.reading.read_log import Ledger, ReadingsFault, where
from pondheat.season.weather.times import standard_offset

DATES = ("day first", "month first", "year first")
CLOCKS = ("local", "standard", "utc")
SECOND = 1_000_000  # microseconds
_DAY = 86_400 * SECOND
_DATE = re.compile(
    r"(?P<year>\d{4})(?P<s1>[-/.])\d{1,2}(?P=s1)\d{1,2}(?!\d)"
    r"|(?P<one>\d{1,2})(?P<s2>[-/.])(?P<two>\d{1,2})(?P=s2)(?P<late>\d{4}|\d{2})(?!\d)"
    r"|\d{1,2}(?P<s3>[ .-]+)(?P<name>[A-Za-z]{3,9})(?P<s4>[ .,-]+)(?P<late2>\d{4}|\d{2})(?!\d)"
    r"|(?P<first>[A-Za-z]{3,9}) \d{1,2}(?P<s5>,? )\d{4}(?!\d)"
)
_CLOCK = re.compile(
    r"\d{1,2}:\d{2}(?P<sec>:\d{2}(?P<part>[.,]\d{1,9})?)?(?P<half>(?P<gap> ?)[AaPp]\.?[Mm]\.?)?"
    r"(?P<offset> ?(?:Z|UTC|[+-]\d{2}:?\d{2}))?"
)
_EPOCH = re.compile(r"(?:1\d|2[0-4])\d{8}(?P<milli>\d{3})?(?:\.\d+)?")
_DATED, _CLOCKED, _FULL = "date", "clock", "date and clock"
_LEAST_READ = 0.5


@dataclass(frozen=True)
class Writing:
    """How times are written: a format of strptime, or an epoch count; `unit` is “s” or “ms” for those."""

    format: str = ""
    unit: str = ""
    aware: bool = False
    twisted: bool = False  # day and month could be exchanged

    def exchanged(self) -> Writing:
        """Month for day and day for month."""
        return replace(self, format=self.format.replace("%d", "\0").replace("%m", "%d").replace("\0", "%m"))

    def example(self) -> str:
        """The format as people write one."""
        words = {
            "%Y": "YYYY",
            "%y": "YY",
            "%m": "MM",
            "%d": "DD",
            "%b": "Mon",
            "%B": "Month",
            "%H": "hh",
            "%I": "hh",
            "%M": "mm",
            "%S": "ss",
            "%f": "f",
            "%p": "AM/PM",
            "%z": "offset",
        }
        return re.sub(r"%[a-zA-Z]", lambda found: words.get(found[0], found[0]), self.format)


@dataclass(frozen=True)
class TimeColumns:
    """Which columns hold the time (a second one the clock), perhaps which the interval's end, and how it is written."""

    at: tuple[int, ...]
    end_at: tuple[int, ...]
    writings: tuple[Writing, ...]


def find(sample: list[list[str]], headers: list[str], dates: str | None, name: str) -> TimeColumns:
    """The time columns, by what stands in them; raises ReadingsFault where there are none."""
    width = len(headers)
    kinds: list[Counter] = [Counter() for _ in range(width)]
    formats: list[Counter] = [Counter() for _ in range(width)]
    for fields in sample:
        for at, field in enumerate(fields[:width]):
            kind, writing = _written(field)
            if kind:
                kinds[at][kind] += 1
                formats[at][writing] += 1
    share = [{kind: count / len(sample) for kind, count in counted.items()} for counted in kinds]
    dated = [at for at in range(width) if share[at].get(_DATED, 0) + share[at].get(_FULL, 0) > _LEAST_READ]
    # A counter in watt-hours may look like an epoch: such a column is time only where nothing else is.
    if sure := [at for at in dated if not formats[at].most_common(1)[0][0].unit]:
        dated = sure
    if not dated:
        raise ReadingsFault(f"No column of {name} holds dates that can be read. Write them as 2025-10-01 18:30.")
    clocked = [at for at in range(width) if share[at].get(_CLOCKED, 0) > _LEAST_READ]
    pairs, free = [], list(clocked)
    for at in dated:
        beside = [clock for clock in free if clock > at] or free
        if share[at].get(_FULL, 0) < 0.5 * share[at].get(_DATED, 0) and beside:
            pairs.append((at, beside[0]))
            free.remove(beside[0])
        else:
            pairs.append((at,))
    if len(pairs) == 1 and free and len(pairs[0]) == 2:
        pairs.append((pairs[0][0], free[0]))  # one date with the clock times of start and end
    writings = []
    for writing, _ in formats[pairs[0][0]].most_common(4):
        for clock, _ in formats[pairs[0][1]].most_common(3) if len(pairs[0]) == 2 else [(Writing(), 0)]:
            writings.append(
                replace(writing, format=f"{writing.format} {clock.format}".strip(), aware=writing.aware or clock.aware)
            )
    if writings[0].unit:
        writings = writings[:1]
    chosen = (
        _day_or_month([writing for writing in writings if not writing.unit], sample, pairs[0], dates, name)
        if not writings[0].unit
        else writings
    )
    return TimeColumns(pairs[0], pairs[1] if len(pairs) > 1 else (), tuple(chosen))


def say(columns: TimeColumns, headers: list[str], ledger: Ledger) -> None:
    """What the time columns were taken for."""
    label = " and ".join(f"column {at + 1}" + (f" (“{headers[at]}”)" if headers[at] else "") for at in columns.at)
    writing = columns.writings[0]
    how = {"s": "seconds since 1970 UTC", "ms": "milliseconds since 1970 UTC"}.get(writing.unit) or writing.example()
    which = (
        (", the day first" if writing.format.index("%d") < writing.format.index("%m") else ", the month first")
        if writing.twisted
        else ""
    )
    ledger.took.append(f"The time is {label}, written {how}{which}.")
    if columns.end_at:
        ledger.took.append(
            f"Column {columns.end_at[-1] + 1} (“{headers[columns.end_at[-1]]}”) is the end of each interval."
        )


# --- how a cell is written ----------------------------------------------------------------------------------------


def _written(field: str) -> tuple[str, Writing]:
    """What a field is as a time (empty where it is none), and how it is written."""
    epoch = _EPOCH.fullmatch(field)
    if epoch:
        return _FULL, Writing(unit="ms" if epoch["milli"] else "s", aware=True)
    date = _DATE.match(field)
    if not date:
        clock = _clock_format(field)
        return (_CLOCKED, Writing(clock[0], aware=clock[1])) if clock else ("", Writing())
    twisted = date["one"] is not None
    if date["year"]:
        form = f"%Y{date['s1']}%m{date['s1']}%d"
    elif twisted:
        form = f"%d{date['s2']}%m{date['s2']}{'%Y' if len(date['late']) == 4 else '%y'}"
    elif date["name"]:
        form = f"%d{date['s3']}{_month(date['name'])}{date['s4']}{'%Y' if len(date['late2']) == 4 else '%y'}"
    else:
        form = f"{_month(date['first'])} %d{date['s5']}%Y"
    rest = field[date.end() :]
    if not rest:
        return _DATED, Writing(form, twisted=twisted)
    gap = re.match(r"[T,; -]+", rest)
    clock = _clock_format(rest[gap.end() :]) if gap else None
    return (_FULL, Writing(form + gap[0] + clock[0], aware=clock[1], twisted=twisted)) if clock else ("", Writing())


def _month(word: str) -> str:
    return "%b" if len(word) == 3 else "%B"


def _clock_format(text: str) -> tuple[str, bool] | None:
    found = _CLOCK.fullmatch(text)
    if not found:
        return None
    form = ("%I" if found["half"] else "%H") + ":%M" + (":%S" if found["sec"] else "")
    form += f"{found['part'][0]}%f" if found["part"] else ""
    form += f"{found['gap']}%p" if found["half"] else ""
    offset = found["offset"] or ""
    return form + (" %z" if offset.startswith(" ") else "%z" if offset else ""), bool(offset)


def _day_or_month(writings: list[Writing], sample, at: tuple[int, ...], dates: str | None, name: str) -> list[Writing]:
    """The writings with day and month where they belong, by what was given, by dots, or by the file's own dates."""
    if dates is not None and dates not in DATES:
        raise ReadingsFault(
            f'“{str(dates)[:40]}” is not a way to write dates; give dates="day first" or "month first".'
        )
    if not writings[0].twisted:
        if dates in DATES[:2] and writings[0].format.startswith("%Y"):
            raise ReadingsFault(
                f"The dates of {name} have the year first, as {sample[0][at[0]]}, not the {dates.split()[0]}."
            )
        return writings
    if dates == "year first":
        raise ReadingsFault(f"The dates of {name} do not have the year first, as {sample[0][at[0]]}.")
    if dates:
        return writings if dates == "day first" else [one.exchanged() for one in writings]
    pairs = [
        (int(found["one"]), int(found["two"]), fields[at[0]])
        for fields in sample
        if (found := _DATE.match(fields[at[0]])) and found["one"]
    ]
    day = sum(one > 12 >= two for one, two, _ in pairs)
    month = sum(two > 12 >= one for one, two, _ in pairs)
    if day and month and min(day, month) > 0.02 * len(pairs):
        raise ReadingsFault(
            f"Some dates of {name} have the day first and some the month, as "
            f"{next(text for one, _, text in pairs if one > 12)} and "
            f"{next(text for _, two, text in pairs if two > 12)}: write them all as 2025-12-31."
        )
    if day or month:
        return writings if day > month else [one.exchanged() for one in writings]
    return [replace(one, twisted=True) for one in writings]


def undecided(writings: tuple[Writing, ...], sample, at: int) -> bool:
    """True where neither a dot nor any date of the sample tells the day from the month."""
    if not writings[0].twisted:
        return False
    found = [_DATE.match(fields[at]) for fields in sample]
    return not any(
        one and one["one"] and (one["s2"] == "." or int(one["one"]) > 12 or int(one["two"]) > 12) for one in found
    )


# --- cells to times -----------------------------------------------------------------------------------------------


def parse(cells: np.ndarray, writings: tuple[Writing, ...]) -> np.ndarray:
    """Naive times (or UTC where the writing has an offset) of the cells, NaT for those that are no time."""
    made = np.full(len(cells), np.datetime64("NaT"), "datetime64[us]")
    left = np.arange(len(cells))
    text = pd.Series(cells, dtype=object)
    for writing in writings:
        if not len(left):
            return made
        got = _strptime(text.iloc[left], writing)
        made[left] = got
        left = left[np.isnat(got)]
    if len(left):  # “24:00” is the midnight that ends a day
        late = text.iloc[left].astype(str).str.contains(r"(?:^|\D)24:00(?::00)?(?:\D|$)")
        if late.any():
            chosen = left[late.to_numpy()]
            early = text.iloc[chosen].astype(str).str.replace("24:00", "00:00")
            got = np.full(len(chosen), np.datetime64("NaT"), "datetime64[us]")
            for writing in writings:
                got = np.where(np.isnat(got), _strptime(early, writing), got)
            made[chosen] = got + np.timedelta64(1, "D")
    return made


def _strptime(cells: pd.Series, writing: Writing) -> np.ndarray:
    if writing.unit:
        number = pd.to_numeric(cells, errors="coerce").to_numpy(float) * (SECOND if writing.unit == "s" else 1000)
        good = np.isfinite(number) & (np.abs(number) < 5e15)
        return np.where(
            good, np.where(good, number, 0).round().astype("int64").astype("datetime64[us]"), np.datetime64("NaT")
        )
    if "%p" in writing.format:
        cells = cells.astype(str).str.replace(r"([AaPp])\.?([Mm])\.?", r"\1\2", regex=True)
    if "UTC" in str(cells.iloc[0]):
        cells = cells.astype(str).str.replace("UTC", "+00:00")
    if "," in writing.format and "%f" in writing.format:
        cells = cells.astype(str).str.replace(",", ".")
        writing = replace(writing, format=writing.format.replace(",%f", ".%f"))
    try:
        made = pd.to_datetime(cells, format=writing.format, errors="coerce", utc=writing.aware)
    except (ValueError, OverflowError):
        return np.full(len(cells), np.datetime64("NaT"), "datetime64[us]")
    naive = made.dt.tz_localize(None) if writing.aware else made
    return naive.to_numpy().astype("datetime64[us]")


# --- local clock to instants --------------------------------------------------------------------------------------


def instants(naive: np.ndarray, row: np.ndarray, timezone: str, clock: str, ledger: Ledger) -> np.ndarray:
    """Instants of naive times, rising in the main; the hour that clocks repeat is told apart by the order of rows."""
    if clock == "utc":
        return naive.astype(np.int64)
    if clock == "standard":
        ahead = standard_offset(timezone, int(str(naive[0])[:4]))
        return naive.astype(np.int64) - int(ahead.total_seconds()) * SECOND
    zone = value_parsers.time_zone(timezone)
    local = naive.astype(np.int64)
    made, left = _on_steady_days(local, zone)
    if len(left):
        index = pd.DatetimeIndex(naive[left])
        moments = index.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
        made[left] = moments.asi8
        odd = np.flatnonzero(moments.isna())
        if len(odd):
            made[left[odd]] = _odd_hours(index[odd], odd, index, row[left], zone, timezone, ledger)
    return made


def _on_steady_days(local: np.ndarray, zone) -> tuple[np.ndarray, np.ndarray]:
    """Instants of clock times on local days of 24 hours, and the places of all others; most days need no more."""
    day = local // _DAY
    begins = np.append(0, np.flatnonzero(np.diff(day)) + 1)
    days = day[begins]
    midnight, next_midnight = (
        pd.DatetimeIndex((one * _DAY).astype("datetime64[us]"))
        .tz_localize(zone, ambiguous=np.ones(len(days), bool), nonexistent="shift_forward")
        .asi8
        for one in (days, days + 1)
    )
    counts = np.diff(np.append(begins, len(local)))
    made = local - np.repeat(days * _DAY - midnight, counts)
    return made, np.flatnonzero(np.repeat(next_midnight - midnight != _DAY, counts))


def _odd_hours(
    index: pd.DatetimeIndex,
    odd: np.ndarray,
    whole: pd.DatetimeIndex,
    row: np.ndarray,
    zone,
    timezone: str,
    ledger: Ledger,
) -> np.ndarray:
    """Instants of times that the clock shows twice or never."""
    first = index.tz_localize(zone, ambiguous=np.ones(len(index), bool), nonexistent="NaT")
    never = np.asarray(first.isna())
    made = first.asi8.copy()
    if never.any():
        shifted = index[never].tz_localize(zone, nonexistent="shift_forward")
        back = index[never].tz_localize(zone, nonexistent="shift_backward")
        begins = np.asarray(index[never] - back.tz_localize(None) <= pd.Timedelta(1, "us"))
        if not begins.all():
            at = odd[never][int(np.argmin(begins))]
            raise ReadingsFault(
                f"Row {row[at]}: {whole[at]:%Y-%m-%d %H:%M} does not exist in {timezone}, the clocks "
                "jump "
                'over it. If the record keeps winter time all year give clock="standard", if it is '
                "in "
                'universal time clock="utc".'
            )
        made[never] = shifted.asi8
        ledger.add(
            "clock",
            f"{where(row[odd[never]], 'Row', 'Rows')} names the moment at which clocks go forward by "
            "the old time; taken as that moment.",
            row[odd[never]],
        )
    twice = np.flatnonzero(~never)
    if not len(twice):
        return made
    second = index[twice].tz_localize(zone, ambiguous=np.zeros(len(twice), bool)).asi8
    day = index[twice].normalize().asi8
    for one in np.unique(day):
        mine = np.flatnonzero(day == one)
        times = index[twice[mine]].asi8
        back = np.append(False, np.diff(times) < 0)
        again = (np.cumsum(back) > 0) | (pd.Series(times).groupby(times).cumcount().to_numpy() > 0)
        made[twice[mine[again]]] = second[mine[again]]
        shown = f"{index[twice[mine[0]]]:%Y-%m-%d}"
        ledger.add(
            "clock",
            f"On {shown} the clocks of {timezone} show an hour twice: "
            + (
                "its rows were told apart by their order."
                if again.any()
                else "it stands in the file once and is taken as the first of the two, summer time."
            ),
            row[odd[twice[mine]]],
        )
    return made


def say_clocks(start: np.ndarray, naive: np.ndarray, timezone: str, ledger: Ledger) -> None:
    """A sentence for each hour that clocks jump over within the file."""
    shift = naive.astype(np.int64) - start
    for at in np.flatnonzero(np.diff(shift) > 0):
        minutes = (shift[at + 1] - shift[at]) / 60 / SECOND
        day, eve = (str(naive[one])[:10] for one in (at + 1, at))
        ledger.add(
            "clock",
            f"{f'On {day}' if day == eve else f'Between {eve} and {day}'} the clocks of {timezone} go "
            f"forward: {minutes:g} minutes do not exist there, nothing is missing.",
        )

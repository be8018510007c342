"""Time columns of a meter file: which ones they are, their format, and whether the day or the month comes first."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.tables.read_log import ReadingsFault, ReadLog

# Names of time zones in time stamps, as far as each means the same offset wherever it is used.
ZONE_NAMES = {
    **dict.fromkeys(("UTC", "GMT", "WET", "UT"), "+00:00"),
    **dict.fromkeys(("BST", "CET", "MEZ", "WEST"), "+01:00"),
    **dict.fromkeys(("CEST", "MESZ", "EET"), "+02:00"),
    "EEST": "+03:00",
    "EDT": "-04:00",
    "EST": "-05:00",
    "CDT": "-05:00",
    "MDT": "-06:00",
    "MST": "-07:00",
    "PDT": "-07:00",
    "PST": "-08:00",
    "AEST": "+10:00",
    "AEDT": "+11:00",
    "AWST": "+08:00",
    "NZST": "+12:00",
    "NZDT": "+13:00",
}
_NAMED_OFFSET = re.compile(rf"(?<=[\d ])({'|'.join(sorted(ZONE_NAMES, key=len, reverse=True))})\b")
_NAMED_PLACE = re.compile(r" ?\[?[A-Z][A-Za-z]+/[A-Za-z_/+-]+\]?$")
SECOND = 1_000_000  # microseconds
_NO_DATE = np.datetime64("1900-01-01", "us")  # the date that strptime gives a clock time alone
DATES = ("day first", "month first", "year first")
_DATE = re.compile(
    r"(?P<year>\d{4})(?P<s1>[-/.])\d{1,2}(?P=s1)\d{1,2}(?!\d)"
    r"|(?P<one>\d{1,2})(?P<s2>[-/.])(?P<two>\d{1,2})(?P=s2)(?P<late>\d{4}|\d{2})(?!\d)"
    r"|\d{1,2}(?P<s3>[ .-]+)(?P<name>[A-Za-z]{3,9})(?P<s4>[ .,-]+)(?P<late2>\d{4}|\d{2})(?!\d)"
    r"|(?P<first>[A-Za-z]{3,9}) \d{1,2}(?P<s5>,? )\d{4}(?!\d)"
)
_CLOCK = re.compile(
    r"\d{1,2}:\d{2}(?P<sec>:\d{2}(?P<part>[.,]\d{1,9})?)?(?P<half>(?P<gap> ?)[AaPp]\.?[Mm]\.?)?"
    r"(?P<offset> ?(?:Z|[+-]\d{2}:?\d{2}|" + "|".join(sorted(ZONE_NAMES, key=len, reverse=True)) + r"))?"
    r"(?P<place> ?\[?[A-Z][A-Za-z]+/[A-Za-z_/+-]+\]?)?"
)
_EPOCH = re.compile(r"(?:1\d|2[0-4])\d{8}(?P<milli>\d{3})?(?:\.\d+)?")
_DATE_ONLY, _CLOCK_ONLY, _DATE_AND_CLOCK = "date", "clock", "date and clock"
_MIN_SHARE = 0.5


@dataclass(frozen=True)
class TimeFormat:
    """Format of written times: for strptime, or a count since 1970 in `unit` (“s” or “ms”). aware: with an offset."""

    format: str = ""
    unit: str = ""
    aware: bool = False
    ambiguous: bool = False  # day and month could be swapped

    def swapped(self) -> TimeFormat:
        """The same format with day and month swapped."""
        return replace(self, format=self.format.replace("%d", "\0").replace("%m", "%d").replace("\0", "%m"))

    def parts(self) -> tuple[TimeFormat, TimeFormat]:
        """The format of the date, and that of the clock time with its offset; the latter is empty without a clock."""
        clock = re.search("%[HI].*", self.format)
        if clock is None:
            return self, TimeFormat()
        return TimeFormat(self.format[: clock.start()]), TimeFormat(clock[0], aware=self.aware)

    def example(self) -> str:
        """The format as a reader would write it, such as “YYYY-MM-DD hh:mm”."""
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
    """Positions of the columns of the time and, where present, of the interval's end; formats, the commonest first.

    A second position in `at` or `end_at` is the clock time that goes with the date.
    """

    at: tuple[int, ...]
    end_at: tuple[int, ...]
    formats: tuple[TimeFormat, ...]


def find_time_columns(sample: list[list[str]], headers: list[str], dates: str | None, name: str) -> TimeColumns:
    """Time columns of a table, judged by their contents; raises ReadingsFault if there are none."""
    width = len(headers)
    kinds: list[Counter[str]] = [Counter() for _ in range(width)]
    formats: list[Counter[TimeFormat]] = [Counter() for _ in range(width)]
    for fields in sample:
        for at, field in enumerate(fields[:width]):
            kind, time_format = _time_format_of(field)
            if kind:
                kinds[at][kind] += 1
                formats[at][time_format] += 1
    share = [{kind: count / len(sample) for kind, count in counted.items()} for counted in kinds]
    dated = [at for at in range(width) if share[at].get(_DATE_ONLY, 0) + share[at].get(_DATE_AND_CLOCK, 0) > _MIN_SHARE]
    # A counter in watt-hours may look like seconds since 1970: such a column is a time only if no other is.
    if sure := [at for at in dated if not formats[at].most_common(1)[0][0].unit]:
        dated = sure
    if not dated:
        raise ReadingsFault(
            f"No column of {name} has dates that can be read. Its first reading is “{' '.join(sample[0])[:60]}”. Write "
            "them as 2025-10-01 18:30."
        )
    free = [at for at in range(width) if share[at].get(_CLOCK_ONLY, 0) > _MIN_SHARE]
    pairs: list[tuple[int, ...]] = []
    for at in dated:
        beside = [clock for clock in free if clock > at] or free
        if share[at].get(_DATE_AND_CLOCK, 0) < 0.5 * share[at].get(_DATE_ONLY, 0) and beside:
            pairs.append((at, beside[0]))
            free.remove(beside[0])
        else:
            pairs.append((at,))
    if len(pairs) == 1 and free and len(pairs[0]) == 2:
        pairs.append((pairs[0][0], free[0]))  # one date, clock times of start and end
    found = _combined([formats[at] for at in pairs[0]])
    if found[0].unit:
        chosen = found[:1]
    else:
        if len(pairs) > 1:  # ends may be written differently, for instance with seconds
            found += [one for one in _combined([formats[at] for at in pairs[1]]) if one not in found]
        chosen = _settle_day_month([one for one in found if not one.unit], sample, pairs[0], dates, name)
    return TimeColumns(pairs[0], pairs[1] if len(pairs) > 1 else (), tuple(chosen))


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
    label = " and ".join(f"column {at + 1}" + (f" (“{headers[at]}”)" if headers[at] else "") for at in columns.at)
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


# --- format of a cell ----------------------------------------------------------------------------------------


def _time_format_of(field: str) -> tuple[str, TimeFormat]:
    """Whether a field is a date, a clock time or both (empty if none of them), and its format."""
    epoch = _EPOCH.fullmatch(field)
    if epoch:
        return _DATE_AND_CLOCK, TimeFormat(unit="ms" if epoch["milli"] else "s", aware=True)
    date = _DATE.match(field)
    if not date:
        clock = clock_format(field)
        return (_CLOCK_ONLY, TimeFormat(clock[0], aware=clock[1])) if clock else ("", TimeFormat())
    ambiguous = date["one"] is not None
    if date["year"]:
        form = f"%Y{date['s1']}%m{date['s1']}%d"
    elif ambiguous:
        form = f"%d{date['s2']}%m{date['s2']}{'%Y' if len(date['late']) == 4 else '%y'}"
    elif date["name"]:
        form = f"%d{date['s3']}{_month(date['name'])}{date['s4']}{'%Y' if len(date['late2']) == 4 else '%y'}"
    else:
        form = f"{_month(date['first'])} %d{date['s5']}%Y"
    rest = field[date.end() :]
    if not rest:
        return _DATE_ONLY, TimeFormat(form, ambiguous=ambiguous)
    gap = re.match(r"[T,; -]+", rest)
    clock = clock_format(rest[gap.end() :]) if gap else None
    if not gap or not clock:
        return "", TimeFormat()
    return _DATE_AND_CLOCK, TimeFormat(form + gap[0] + clock[0], aware=clock[1], ambiguous=ambiguous)


def _month(word: str) -> str:
    return "%b" if len(word) == 3 else "%B"


def clock_format(text: str) -> tuple[str, bool] | None:
    """Format of a clock time and whether it carries an offset from UTC, or None if the text is no clock time."""
    found = _CLOCK.fullmatch(text)
    if not found:
        return None
    form = ("%I" if found["half"] else "%H") + ":%M" + (":%S" if found["sec"] else "")
    form += f"{found['part'][0]}%f" if found["part"] else ""
    form += f"{found['gap']}%p" if found["half"] else ""
    offset = found["offset"] or ""
    if found["place"] and not offset:
        return None  # the zone is an option of the reader, not given in each cell
    return form + (" %z" if offset.startswith(" ") else "%z" if offset else ""), bool(offset)


def _settle_day_month(
    formats: list[TimeFormat], sample, at: tuple[int, ...], dates: str | None, name: str
) -> list[TimeFormat]:
    """Formats with day and month in the right order, from the caller's option, from dots, or from dates above 12."""
    if dates is not None and dates not in DATES:
        raise ReadingsFault(
            f'“{str(dates)[:40]}” is not a way of writing dates. Give dates="day first" or "month first".'
        )
    if not formats[0].ambiguous:
        if dates in DATES[:2] and formats[0].format.startswith("%Y"):
            raise ReadingsFault(
                f"The dates of {name} have the year first, as in {sample[0][at[0]]}, not the {dates.split()[0]}. "
                f'Leave dates="{dates}" out.'
            )
        return formats
    if dates == "year first":
        raise ReadingsFault(
            f"The dates of {name} do not have the year first (the first is {sample[0][at[0]]}). Give "
            'dates="day first" or "month first".'
        )
    if dates:
        return formats if dates == "day first" else [one.swapped() for one in formats]
    pairs = [
        (int(found["one"]), int(found["two"]), fields[at[0]])
        for fields in sample
        if (found := _DATE.match(fields[at[0]])) and found["one"]
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


def day_month_unknown(formats: tuple[TimeFormat, ...], sample, at: int) -> bool:
    """Whether nothing in the sample, neither a dot nor a number above 12, tells the day from the month."""
    if not formats[0].ambiguous:
        return False
    found = [_DATE.match(fields[at]) for fields in sample]
    return not any(
        one and one["one"] and (one["s2"] == "." or int(one["one"]) > 12 or int(one["two"]) > 12) for one in found
    )


# --- cells to times -----------------------------------------------------------------------------------------------


def parse(cells: np.ndarray, formats: tuple[TimeFormat, ...]) -> np.ndarray:
    """Naive times of the cells (in UTC where the format has an offset), NaT where a cell is not a time."""
    made = np.full(len(cells), np.datetime64("NaT"), "datetime64[us]")
    left = np.arange(len(cells))
    text = pd.Series(cells, dtype=object)
    for time_format in formats:
        if not len(left):
            return made
        got = _strptime(text.iloc[left], time_format)
        made[left] = got
        left = left[np.isnat(got)]
    if len(left):  # “24:00” is the midnight that ends a day
        late = text.iloc[left].astype(str).str.contains(r"(?:^|\D)24:00(?::00)?(?:\D|$)")
        if late.any():
            chosen = left[late.to_numpy()]
            early = text.iloc[chosen].astype(str).str.replace("24:00", "00:00")
            got = np.full(len(chosen), np.datetime64("NaT"), "datetime64[us]")
            for time_format in formats:
                got = np.where(np.isnat(got), _strptime(early, time_format), got)
            made[chosen] = got + np.timedelta64(1, "D")
    return made


def _strptime(cells: pd.Series, time_format: TimeFormat) -> np.ndarray:
    if time_format.unit:
        number = pd.to_numeric(cells, errors="coerce").to_numpy(float) * (SECOND if time_format.unit == "s" else 1000)
        good = np.isfinite(number) & (np.abs(number) < 5e15)
        return np.where(
            good, np.where(good, number, 0).round().astype("int64").astype("datetime64[us]"), np.datetime64("NaT")
        )
    texts = cells.astype(str).tolist()
    date_format, clock_format = time_format.parts()
    if not clock_format.format:
        return _each_once(texts, date_format)
    # A year of minutes has half a million time stamps, but only 365 dates and 1440 clock times: each is parsed once.
    places = [_clock_begins(text) for text in texts]
    dates = _each_once([text[:at] for text, at in zip(texts, places)], date_format)
    clocks = _each_once([text[at:] for text, at in zip(texts, places)], clock_format)
    return dates + (clocks - _NO_DATE)


def _clock_begins(text: str) -> int:
    """Where the clock time begins in a time stamp: at the hour, one or two digits before the first colon."""
    colon = text.find(":")
    return max(colon - 1 - text[max(colon - 2, 0) : max(colon - 1, 0)].isdigit(), 0)


def _each_once(texts: list[str], time_format: TimeFormat) -> np.ndarray:
    """Times of texts in one strptime format; a text that occurs several times is parsed once."""
    place, distinct = pd.factorize(np.array(texts, dtype=object))
    return _read_texts(pd.Series(distinct, dtype=object), time_format)[place]


def _read_texts(cells: pd.Series, time_format: TimeFormat) -> np.ndarray:
    """Times of texts in one strptime format, in UTC where it has an offset; NaT where a text is not a time."""
    if "%p" in time_format.format:
        cells = cells.str.replace(r"([AaPp])\.?([Mm])\.?", r"\1\2", regex=True)
    if time_format.aware:
        cells = cells.str.replace(_NAMED_PLACE, "", regex=True)
        cells = cells.str.replace(_NAMED_OFFSET, lambda found: ZONE_NAMES[found[1]], regex=True)
    if ",%f" in time_format.format:
        cells = cells.str.replace(",", ".")
        time_format = replace(time_format, format=time_format.format.replace(",%f", ".%f"))
    try:
        made = pd.to_datetime(cells, format=time_format.format, errors="coerce", utc=time_format.aware)
    except (ValueError, OverflowError):
        return np.full(len(cells), np.datetime64("NaT"), "datetime64[us]")
    naive = made.dt.tz_localize(None) if time_format.aware else made
    return naive.to_numpy().astype("datetime64[us]")

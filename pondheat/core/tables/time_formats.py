"""The ways in which times are written: the format of a cell, and cells as times."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pandas as pd

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
ANY_ZONE = "|".join(sorted(ZONE_NAMES, key=len, reverse=True))  # as a pattern
NAMED_ZONE = re.compile(rf"(?i)(?<![a-z])(?:{ANY_ZONE})(?![a-z])")
_NAMED_OFFSET = re.compile(rf"(?<=[\d ])({ANY_ZONE})\b")
_NAMED_PLACE = re.compile(r" ?\[?[A-Z][A-Za-z]+/[A-Za-z_/+-]+\]?$")
# A line above a table that says of which zone its times are.
ZONE_ABOVE = re.compile(r"(?im)^\W*(?:time ?zone|zeitzone|fuseau horaire|tijdzone|tz)\W+(.+)$")
SECOND = 1_000_000  # microseconds
_NO_DATE = np.datetime64("1900-01-01", "us")  # the date that strptime gives a clock time alone
DATE = re.compile(
    r"(?P<year>\d{4})(?P<s1>[-/.])\d{1,2}(?P=s1)\d{1,2}(?!\d)"
    r"|(?P<one>\d{1,2})(?P<s2>[-/.])(?P<two>\d{1,2})(?P=s2)(?P<late>\d{4}|\d{2})(?!\d)"
    r"|\d{1,2}(?P<s3>[ .-]+)(?P<name>[A-Za-z]{3,9})(?P<s4>[ .,-]+)(?P<late2>\d{4}|\d{2})(?!\d)"
    r"|(?P<first>[A-Za-z]{3,9}) \d{1,2}(?P<s5>,? )\d{4}(?!\d)"
)
_CLOCK = re.compile(
    r"\d{1,2}:\d{2}(?P<sec>:\d{2}(?P<part>[.,]\d{1,9})?)?(?P<half>(?P<gap> ?)[AaPp]\.?[Mm]\.?)?"
    r"(?P<offset> ?(?:Z|[+-]\d{2}:?\d{2}|" + ANY_ZONE + r"))?"
    r"(?P<place> ?\[?[A-Z][A-Za-z]+/[A-Za-z_/+-]+\]?)?"
)
_EPOCH = re.compile(r"(?:1\d|2[0-4])\d{8}(?P<milli>\d{3})?(?:\.\d+)?")
DATE_ONLY, CLOCK_ONLY, DATE_AND_CLOCK = "date", "clock", "date and clock"


@dataclass(frozen=True)
class TimeFormat:
    """Format of written times: for strptime, or a count since 1970 in `unit` (“s” or “ms”). aware: with an offset."""

    format: str = ""
    unit: str = ""
    aware: bool = False
    ambiguous: bool = False  # day and month could be swapped

    def swapped(self, one: str = "%d", other: str = "%m") -> TimeFormat:
        """The same format with two of its parts swapped, day and month by default."""
        return replace(self, format=self.format.replace(one, "\0").replace(other, one).replace("\0", other))

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


# --- format of a cell ----------------------------------------------------------------------------------------


def time_format_of(field: str) -> tuple[str, TimeFormat]:
    """Whether a field is a date, a clock time or both (empty if none of them), and its format."""
    epoch = _EPOCH.fullmatch(field)
    if epoch:
        return DATE_AND_CLOCK, TimeFormat(unit="ms" if epoch["milli"] else "s", aware=True)
    date = DATE.match(field)
    if not date:
        clock = clock_format(field)
        return (CLOCK_ONLY, TimeFormat(clock[0], aware=clock[1])) if clock else ("", TimeFormat())
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
        return DATE_ONLY, TimeFormat(form, ambiguous=ambiguous)
    gap = re.match(r"[T,; -]+", rest)
    clock = clock_format(rest[gap.end() :]) if gap else None
    if not gap or not clock:
        return "", TimeFormat()
    return DATE_AND_CLOCK, TimeFormat(form + gap[0] + clock[0], aware=clock[1], ambiguous=ambiguous)


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


def localised(
    naive: np.ndarray | pd.DatetimeIndex, zone, skipped: Literal["shift_forward", "NaT"] = "shift_forward"
) -> pd.DatetimeIndex:
    """Times of a zone's clock with their zone: those shown twice as the first of the two, that is in summer time.

    skipped: what becomes of those that the clocks skip, as pandas has it.
    """
    index = pd.DatetimeIndex(naive)
    return index.tz_localize(zone, ambiguous=np.ones(len(index), bool), nonexistent=skipped)

"""Lines and fields of a meter file from its bytes: encoding, separator, header lines, and lines that don't fit.

Lines are found with array operations over the bytes, not one by one, so that a year of minutes is read quickly.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.tables.decoding import normalised, require_table
from pondheat.core.tables.header_lines import below_gap, column_label, column_names, split
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.spellings import respelt

SEPARATORS = {"\t": "tab", ";": "semicolon", "|": "vertical bar", ",": "comma"}
MISSING_WORDS = frozenset(
    (
        "na",
        "n/a",
        "#n/a",
        "nan",
        "null",
        "none",
        "-",
        "--",
        "---",
        "–",
        "—",
        "error",
        "err",
        "missing",
        "unknown",
        "invalid",
        "?",
        ".",
        "x",
        "#value!",
        "#ref!",
        "#div/0!",
        "",
        "no data",
        "not available",
    )
)
_TIME_LIKE = re.compile(
    r"(?!\d\.\d\.\d(?!\d))\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[ .-]+[A-Za-z]{3,9}[ .,-]+\d{2,4}"
    r"|[A-Za-z]{3,9} \d{1,2},? \d{4}|(?:1\d|2[0-4])\d{8}(?:\d{3})?(?:\.\d+)?$"
)
_NUMBER_LIKE = re.compile(r"[-+−]?\d[\d.,'’ \u00a0\u2009\u202f]*(?:[eE][-+]?\d+)?\s*(?:[a-zA-Z°³/]{1,5}\d?)?")
UNIT_WORD = re.compile(r"\b(kwh|wh|mwh|kw|w|m³|m3)\b", re.I)  # in the header of a meter's column
_NO_SIGNS = str.maketrans("", "", "£€$¢")
_YEAR = 31_556_952  # s
LONGEST_SPAN = 100 * _YEAR  # s; no logger or station has noted hours for longer (judgement)
_MAX_HEADER_LINES, _MAX_TRIED, _SAMPLE_SIZE = 200, 40, 120
_MIN_USABLE = 0.5  # below this share of usable lines the file is not a table at all


@dataclass
class Lines:
    """The data lines of a file: start and end of each in `data`, and its row number (from 1)."""

    name: str
    data: bytes
    starts: np.ndarray
    ends: np.ndarray
    row: np.ndarray
    separator: str
    headers: list[str]
    quoted: bool
    separator_at: np.ndarray | None = None  # positions of the separators, one row a line, if they were cheap to find
    preamble: str = ""  # the lines above the readings
    own_times: bool = False  # whether the times were rewritten here, and are no longer as in the file
    unclear: str = ""  # what a grid that may be a meter's doesn't say of its cells, as a sentence

    def fields(self, at: int) -> list[str]:
        """The fields of one data line, padded or cut to the number of columns."""
        found = split(self.data[self.starts[at] : self.ends[at]].decode("utf-8", "replace"), self.separator)
        return (found + [""] * len(self.headers))[: len(self.headers)]

    def label(self, at: int) -> str:
        """What messages call a column."""
        return column_label(at, self.headers[at])

    def subject(self, at: int) -> str:
        """What messages call a column at the beginning of a sentence."""
        return f"C{self.label(at)[1:]}"

    @property
    def csv_options(self) -> dict[str, Any]:
        """What tells pandas how the lines are written, one row for each."""
        return {
            "sep": self.separator,
            "header": None,
            "index_col": False,
            "skip_blank_lines": False,
            "quoting": 0 if self.quoted else 3,
            "engine": "c",
            "encoding_errors": "replace",
        }

    def column_text(self, at: int) -> np.ndarray:
        """The cells of one column as text, one for each line."""
        count = len(self.row)
        if not count:
            return np.empty(0, object)
        try:
            content, names = io.BytesIO(self.raw_lines(0, count)), range(len(self.headers))
            table = pd.read_csv(content, names=names, usecols=[at], dtype=object, na_filter=False, **self.csv_options)
            if len(table) == count:
                return table[at].astype(str).str.strip().to_numpy(object)
        except (ValueError, pd.errors.ParserError):
            pass  # a quotation mark within a cell, say
        return np.array([self.fields(line)[at] for line in range(count)], object)

    def sample(self) -> list[list[str]]:
        """Fields of the first and last lines, and of some in between."""
        count = len(self.starts)
        chosen = np.unique(
            np.concatenate(
                [
                    np.arange(min(40, count)),
                    np.arange(max(0, count - 20), count),
                    np.linspace(0, count - 1, _SAMPLE_SIZE).astype(int),
                ]
            )
        )
        return [self.fields(at) for at in chosen]

    def has_fixed_width(self, at: int) -> bool:
        """Whether a field has the same length in every line (False if that is unknown)."""
        if self.separator_at is None:
            return False
        begin = self.starts if at == 0 else self.separator_at[:, at - 1] + 1
        length = (self.separator_at[:, at] if at < self.separator_at.shape[1] else self.ends) - begin
        return bool((length == length[0]).all())

    def keep(self, which: np.ndarray) -> None:
        """Drop all lines but these."""
        self.starts, self.ends, self.row = self.starts[which], self.ends[which], self.row[which]
        self.separator_at = None if self.separator_at is None else self.separator_at[which]

    def raw_lines(self, first: int, last: int) -> bytes:
        """Bytes of the data lines from `first` up to but not including `last`."""
        if self.row[last - 1] - self.row[first] == last - 1 - first:  # no line between them was dropped
            return self.data[self.starts[first] : self.ends[last - 1]]
        return b"\n".join(
            [
                self.data[start:end]
                for start, end in zip(self.starts[first:last].tolist(), self.ends[first:last].tolist())
            ]
        )


def read_table(data: bytes, name: str, read_log: ReadLog, prices: bool = False) -> Lines:
    """Data lines of the table in a file; raises ReadingsFault if there is no table.

    prices: whether it is one of prices, which may have a currency's sign, and trailing zeros left out.
    """
    data = normalised(data, name, read_log)
    if not data:
        raise ReadingsFault(f"{name} is empty: it should be a table of times and readings.")
    require_table(data, name)
    data = respelt(data, read_log)
    buffer = np.frombuffer(data, np.uint8)
    ends = np.flatnonzero(buffer == 10)
    if not len(ends) or ends[-1] != len(data) - 1:
        ends = np.append(ends, len(data))
        read_log.interpretation.append(
            "The last line of the file has no line end. If the file was cut off, its last value may be incomplete."
        )
    starts = np.append(0, ends[:-1] + 1)
    row = np.arange(1, len(starts) + 1)
    full = (ends > starts) & (buffer[np.minimum(starts, len(data) - 1)] != ord("#"))  # “#” begins a comment
    if not full.all():
        starts, ends, row = starts[full], ends[full], row[full]
    if not len(starts):
        raise ReadingsFault(f"{name} is empty: it should be a table of times and readings.")
    head = [
        data[start:end].decode("utf-8", "replace")
        for start, end in zip(starts[:_MAX_HEADER_LINES].tolist(), ends[:_MAX_HEADER_LINES].tolist())
    ]
    separator, first, width = _detect_layout([one.translate(_NO_SIGNS) for one in head] if prices else head, name)
    headers = column_names(below_gap(head[:first], row, separator), separator, width)
    read_log.interpretation.append(
        f"Columns are separated by a {SEPARATORS[separator]}; the readings begin in row {row[first]}"
        + (
            f", below {first} header lines."
            if first > 1
            else "; the line above names the columns."
            if first
            else "; no line names the columns."
        )
    )
    unread = [at for at in range(first) if _TIME_LIKE.match(head[at].strip(' "'))]
    if len(unread) > 2:
        read_log.add_repair(
            "text",
            f"{counted(len(unread), 'line above the first reading starts', 'lines above the first reading start')} "
            f"like a reading but can't be read: {rows_text(row[unread])}.",
            row[unread],
        )
    lines = Lines(name, data, starts[first:], ends[first:], row[first:], separator, headers, b'"' in data)
    lines.preamble = "\n".join(head[:first])
    _drop_blank(lines, width)
    lines = _drop_misfits(lines, buffer, width, read_log)
    if not prices:
        _drop_truncated(lines, buffer, read_log)
    return lines


def require_plausible_span(moments: np.ndarray, row: Sequence[int] | np.ndarray) -> None:
    """Raise ReadingsFault for a time a century from the file's middle one, such as a mistyped year.

    Between it and the others would be millions of missing hours, which every later step would count one by one.
    moments: datetime64, in any order; row: number of each one's row in the file.
    """
    seconds = moments.astype("datetime64[s]").astype(np.int64)
    middle = int(np.median(seconds)) if len(seconds) else 0
    away = np.abs(seconds - middle)
    if len(away) and away.max() > LONGEST_SPAN:
        at = int(away.argmax())
        far, usual = (np.datetime64(int(one), "s").astype("datetime64[D]") for one in (seconds[at], middle))
        raise ReadingsFault(
            f"Row {row[at]}: {far} is {away[at] / _YEAR:.0f} years away from the middle of the file, {usual}. "
            "Correct its year."
        )


# --- lines --------------------------------------------------------------------------------------------------------


def _looks_like_reading(fields: list[str]) -> bool:
    """Whether a line has a time and a number, or a word for a missing number."""
    timed = [at for at, field in enumerate(fields) if _TIME_LIKE.match(field)]
    return bool(timed) and any(
        _NUMBER_LIKE.fullmatch(field) or field.lower() in MISSING_WORDS - {""}
        for at, field in enumerate(fields)
        if at != timed[0]
    )


def _detect_layout(head: list[str], name: str) -> tuple[str, int, int]:
    """Separator, position of the first line that is a reading, and usual number of fields; raises ReadingsFault."""
    best = (0, ",", 0, 0)
    for separator in SEPARATORS:
        found: list[tuple[int, int]] = []  # position and width of lines that are readings with this separator
        for at, line in enumerate(head):
            if separator in line and len(found) < _MAX_TRIED and _looks_like_reading(fields := split(line, separator)):
                found.append((at, len(fields)))
        if found:
            width, alike = Counter(width for _, width in found).most_common(1)[0]
            if alike > best[0]:
                best = (alike, separator, found[0][0], width)
    if not best[0]:
        raise ReadingsFault(
            f"No line of {name} looks like a reading: a time and a number with a comma, a semicolon or a tab between "
            f"them, such as 2025-10-01 18:30;10432.5. Row 1 begins “{head[0][:40]}”."
        )
    return best[1:]


def _drop_blank(lines: Lines, width: int) -> None:
    """Drop lines of separators alone."""
    short = np.flatnonzero(lines.ends - lines.starts < 2 * width)
    blank = [at for at in short.tolist() if not lines.data[lines.starts[at] : lines.ends[at]].strip(b" \t,;|")]
    if blank:
        lines.keep(~np.isin(np.arange(len(lines.row)), blank))


def _drop_misfits(lines: Lines, buffer: np.ndarray, width: int, read_log: ReadLog) -> Lines:
    """Lines with the usual number of fields; others are dropped and reported."""
    marks = buffer == ord(lines.separator)
    if lines.quoted:
        quotes = buffer == ord('"')
        marks &= ~np.logical_xor.accumulate(quotes)
    places = np.flatnonzero(marks)
    own = places[np.searchsorted(places, lines.starts[0]) :]
    if not lines.quoted and len(own) == len(lines.row) * (width - 1):
        grid = own.reshape(len(lines.row), width - 1)
        if (grid[:, 0] >= lines.starts).all() and (grid[:, -1] < lines.ends).all():
            lines.separator_at = grid
            return lines
    misfit = np.searchsorted(places, lines.ends) - np.searchsorted(places, lines.starts) + 1 != width
    if lines.quoted:
        places = np.flatnonzero(quotes)
        misfit |= (np.searchsorted(places, lines.ends) - np.searchsorted(places, lines.starts)) % 2 == 1
    if misfit.any():
        empty = (
            [at for at in np.flatnonzero(misfit) if not lines.data[lines.starts[at] : lines.ends[at]].strip(b" \t,;|")]
            if misfit.sum() < 10_000
            else []
        )
        bad = np.setdiff1d(np.flatnonzero(misfit), empty)
        if len(bad) > (1 - _MIN_USABLE) * len(misfit):
            raise ReadingsFault(
                f"{len(bad)} of {len(misfit)} rows of {lines.name} {'does' if len(bad) == 1 else 'do'} not have "
                f"{width} fields, such as row {lines.row[bad[0]]}: “{' '.join(lines.fields(bad[0]))[:40]}”. Does it "
                "use the comma for decimals as well, or hold several tables? Save one table with semicolons."
            )
        if len(bad):
            read_log.add_repair(
                "text",
                f"{counted(len(bad), 'row does', 'rows do')} not have the {width} fields of the others (cut short, "
                f"separated differently, or not readings), left out: {rows_text(lines.row[bad])}.",
                lines.row[bad],
            )
        lines.keep(~misfit)
    return lines


def _drop_truncated(lines: Lines, buffer: np.ndarray, read_log: ReadLog) -> None:
    """Drop lines whose last number has fewer or more decimals than all the others: they were probably truncated."""
    count = len(lines.row)
    sample = [lines.fields(at)[-1] for at in np.unique(np.linspace(0, count - 1, 40).astype(int))]
    decimals = Counter(
        (found[1], len(found[2])) if (found := re.fullmatch(r"[-+]?\d+([.,])(\d+)", field)) else None
        for field in sample
    )
    commonest, alike = decimals.most_common(1)[0]
    if not commonest or lines.quoted or alike < 0.9 * len(sample) or len(lines.row) < 8:
        return
    point, usual = commonest
    other = np.flatnonzero(buffer[np.maximum(lines.ends - 1 - usual, 0)] != ord(point)).tolist()
    # More than nine decimals are a program's rounding error, as in 2039.0000000000002, and no damage.
    odd = [at for at in other if re.fullmatch(r"[-+]?\d+(?:[.,]\d{0,9})?", lines.fields(at)[-1])]
    # Programs that drop trailing zeros write many such numbers; truncated lines are rare.
    if 0 < len(odd) <= max(3, 0.01 * len(lines.row)):
        read_log.add_repair(
            "text",
            f"{rows_text(lines.row[odd], 'Row', 'Rows')}: the last number (“{lines.fields(odd[0])[-1]}”) does not "
            f"have the {usual} decimal places of all the others, as if the line was cut short; left out.",
            lines.row[odd],
        )
        lines.keep(~np.isin(np.arange(len(lines.row)), odd))

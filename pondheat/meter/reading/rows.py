"""Bytes of a meter file to rows of fields: encoding, separator, header lines, and the lines that do not fit.

Lines are found with arrays over the bytes, never one by one, so that a year of minutes costs what a few rows cost.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pondheat.meter.reading.read_log import Ledger, ReadingsFault, where

SEPARATORS = {"\t": "tab", ";": "semicolon", "|": "upright stroke", ",": "comma"}
WORDS = frozenset(
    "na n/a #n/a nan null none - -- --- – — error err missing unknown invalid ? . x #value! #ref! #div/0!".split()
) | {"", "no data", "not available"}
_LOOKS_TIMED = re.compile(
    r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[ .-]+[A-Za-z]{3,9}[ .,-]+\d{2,4}"
    r"|[A-Za-z]{3,9} \d{1,2},? \d{4}|(?:1\d|2[0-4])\d{8}(?:\d{3})?(?:\.\d+)?$"
)
_LOOKS_NUMERIC = re.compile(r"[-+−]?\d[\d.,'’ \u00a0\u2009\u202f]*(?:[eE][-+]?\d+)?\s*(?:[a-zA-Z°³/]{1,5}\d?)?")
_HEAD_LINES, _TRIED, _SAMPLED = 200, 40, 120
_LEAST_GOOD = 0.5  # below this share of usable lines the file is not a table with faults but something else


@dataclass
class Lines:
    """The data lines of a file: where each begins and ends in `data`, and its number in the file."""

    name: str
    data: bytes
    starts: np.ndarray
    ends: np.ndarray
    row: np.ndarray
    separator: str
    headers: list[str]
    quoted: bool
    places: np.ndarray | None = None  # of the separators, a row for each line, where that could be had cheaply

    def fields(self, at: int) -> list[str]:
        """The fields of one data line, as many as there are columns."""
        found = split(self.data[self.starts[at] : self.ends[at]].decode("utf-8", "replace"), self.separator)
        return (found + [""] * len(self.headers))[: len(self.headers)]

    def sample(self) -> list[list[str]]:
        """Fields of the first lines, the last ones, and of some between."""
        count = len(self.starts)
        chosen = np.unique(
            np.concatenate(
                [
                    np.arange(min(40, count)),
                    np.arange(max(0, count - 20), count),
                    np.linspace(0, count - 1, _SAMPLED).astype(int),
                ]
            )
        )
        return [self.fields(at) for at in chosen]

    def alike(self, at: int) -> bool:
        """Whether the field has the same length in every line (False also where that is not known)."""
        if self.places is None:
            return False
        begin = self.starts if at == 0 else self.places[:, at - 1] + 1
        length = (self.places[:, at] if at < self.places.shape[1] else self.ends) - begin
        return bool((length == length[0]).all())

    def keep(self, which: np.ndarray) -> None:
        """Leave out all other lines."""
        self.starts, self.ends, self.row = self.starts[which], self.ends[which], self.row[which]
        self.places = None if self.places is None else self.places[which]

    def blob(self, first: int, last: int) -> bytes:
        """The bytes of the data lines `first` to `last` (not included), one below the other."""
        if self.row[last - 1] - self.row[first] == last - 1 - first:  # none between was left out
            return self.data[self.starts[first] : self.ends[last - 1]]
        return b"\n".join(
            [
                self.data[start:end]
                for start, end in zip(self.starts[first:last].tolist(), self.ends[first:last].tolist())
            ]
        )


def read_bytes(source: Path | bytes | str) -> tuple[bytes, str]:
    """What stands in the file, and the name by which sentences call it."""
    if isinstance(source, (bytes, bytearray)):
        return bytes(source), "the file"
    if not isinstance(source, (str, Path)) or "\0" in str(source):
        raise ReadingsFault("Give the meter file as a path or as its bytes.")
    try:
        return Path(source).read_bytes(), Path(source).name
    except OSError as wrong:
        raise ReadingsFault(
            f"The meter file {str(source)[:200]} could not be read: {wrong.strerror or 'no such file'}."
        ) from None


def lines_of(data: bytes, name: str, ledger: Ledger) -> Lines:
    """The table's lines; raises ReadingsFault where there is no table."""
    data = _clean(data, name, ledger)
    if not data:
        raise ReadingsFault(f"{name} is empty: a table with times and readings is wanted.")
    buffer = np.frombuffer(data, np.uint8)
    ends = np.flatnonzero(buffer == 10)
    if not len(ends) or ends[-1] != len(data) - 1:
        ends = np.append(ends, len(data))
        ledger.took.append("The file does not end with a line end: if it was cut off, its last value may be short.")
    starts = np.append(0, ends[:-1] + 1)
    row = np.arange(1, len(starts) + 1)
    full = (ends > starts) & (buffer[np.minimum(starts, len(data) - 1)] != ord("#"))  # “#” begins a remark
    if not full.all():
        starts, ends, row = starts[full], ends[full], row[full]
    if not len(starts):
        raise ReadingsFault(f"{name} is empty: a table with times and readings is wanted.")
    head = [
        data[start:end].decode("utf-8", "replace")
        for start, end in zip(starts[:_HEAD_LINES].tolist(), ends[:_HEAD_LINES].tolist())
    ]
    separator, first, width = _shape(head, name)
    headers = _headers(head[:first], separator, width)
    ledger.took.append(
        f"Columns are separated by the {SEPARATORS[separator]}; the readings begin in row {row[first]}"
        + (
            f", the {first} lines above are its head."
            if first > 1
            else ", the line above names the columns."
            if first
            else "; no line names the columns."
        )
    )
    unfit = [at for at in range(first) if _LOOKS_TIMED.match(head[at].strip(' "'))]
    if len(unfit) > 2:
        ledger.add(
            "text",
            f"{len(unfit)} lines above the first reading begin like readings and are none that can be "
            "read: "
            f"{where(row[unfit])}.",
            row[unfit],
        )
    lines = Lines(name, data, starts[first:], ends[first:], row[first:], separator, headers, b'"' in data)
    return _fitting(lines, buffer, width, ledger)


def split(line: str, separator: str) -> list[str]:
    """Fields of one line; separators between quotation marks do not count."""
    if '"' in line:
        parts = re.findall(rf'((?:"[^"]*"|[^{re.escape(separator)}"])*)(?:{re.escape(separator)}|$)', line)
        parts = parts[:-1] if len(parts) > 1 and not line.endswith(separator) else parts
        return [part.strip().strip('"').strip() for part in parts]
    return [part.strip() for part in line.split(separator)]


# --- bytes --------------------------------------------------------------------------------------------------------


def _clean(data: bytes, name: str, ledger: Ledger) -> bytes:
    """The file as UTF-8 with plain line ends; characters that are no text become “?”, so that their cell is refused."""
    text, encoding = _decoded(data, name)
    if encoding:
        ledger.took.append(f"The file is read as {encoding}.")
        data = text.encode("utf-8")
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    buffer = np.frombuffer(data, np.uint8)
    if ((buffer < 9) | (buffer - np.uint8(11) < 21)).any():  # 0 to 8 and 11 to 31
        odd = data.translate(None, bytes(byte for byte in range(256) if byte >= 32 or byte in (9, 10)))
        if len(odd) > 0.05 * len(data):
            raise ReadingsFault(
                f"{name} is no text ({len(odd)} of {len(data)} bytes are control characters): save the "
                "table as CSV, that is as plain text."
            )
        at = next(place for place, byte in enumerate(data) if byte in odd)
        data = data.translate(bytes(byte if byte >= 32 or byte in (9, 10) else ord("?") for byte in range(256)))
        ledger.add(
            "text",
            f"{len(odd)} control characters stand in the file, the first in row "
            f"{data[:at].count(10) + 1}; cells that hold one are not read.",
        )
    return data


def _decoded(data: bytes, name: str) -> tuple[str, str]:
    """The text, and its encoding in words where it is not plain UTF-8 (then the text is not needed)."""
    if not data[:4096].strip() and not data.strip():
        raise ReadingsFault(f"{name} is empty: a table with times and readings is wanted.")
    if data[:4] in (b"PK\3\4", b"%PDF") or data[:4] == b"\xd0\xcf\x11\xe0":
        raise ReadingsFault(f"{name} is a workbook or a document, not plain text: save the table as CSV.")
    zeros = [data[offset:4096:2].count(0) for offset in (0, 1)]
    for mark, codec in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        little = codec.endswith("le")
        if data.startswith(mark) or (zeros[little] > 0.3 * len(data[:4096]) / 2 > zeros[not little] * 3):
            return data.removeprefix(mark).decode(
                codec, "replace"
            ), f"UTF-16 ({'little' if little else 'big'} end first)"
    if data.startswith(b"\xef\xbb\xbf"):
        return data[3:].decode("utf-8", "replace"), "UTF-8 with a mark at its head"
    try:
        if not data.isascii():
            data.decode("utf-8")
        return "", ""
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace"), "cp1252 (the Western table of Windows), for it is not UTF-8"


# --- lines --------------------------------------------------------------------------------------------------------


def _is_reading(fields: list[str]) -> bool:
    timed = [at for at, field in enumerate(fields) if _LOOKS_TIMED.match(field)]
    return bool(timed) and any(
        _LOOKS_NUMERIC.fullmatch(field) or field.lower() in WORDS - {""}
        for at, field in enumerate(fields)
        if at != timed[0]
    )


def _shape(head: list[str], name: str) -> tuple[str, int, int]:
    """Separator, place of the first line that is a reading, and the usual number of fields."""
    best = (0, ",", 0, 0)
    for separator in SEPARATORS:
        found: list[tuple[int, int]] = []  # place and width of lines that are readings under this separator
        for at, line in enumerate(head):
            if separator in line and len(found) < _TRIED and _is_reading(fields := split(line, separator)):
                found.append((at, len(fields)))
        if found:
            width, alike = Counter(width for _, width in found).most_common(1)[0]
            if alike > best[0]:
                best = (alike, separator, found[0][0], width)
    if not best[0]:
        raise ReadingsFault(
            f"No line of {name} looks like a reading, a time and a number apart by a comma, a "
            "semicolon "
            f"or a tab, such as 2025-10-01 18:30;10432.5. Row 1 begins “{head[0][:40]}”."
        )
    return best[1:]


def _headers(head: list[str], separator: str, width: int) -> list[str]:
    """A name for each column: lines of the head with as many fields, joined from top to bottom, or empty names."""
    rows = [split(line, separator) for line in head]
    named = [fields for fields in rows if len(fields) == width or fields[width:] == [""]][-3:]
    return [" ".join(fields[at] for fields in named if fields[at]).strip() for at in range(width)]


def _fitting(lines: Lines, buffer: np.ndarray, width: int, ledger: Ledger) -> Lines:
    """Without lines of another number of fields; those cut short at the end of a number are named."""
    marks = buffer == ord(lines.separator)
    if lines.quoted:
        quotes = buffer == ord('"')
        marks &= np.cumsum(quotes, dtype=np.int64) % 2 == 0
    places = np.flatnonzero(marks)
    own = places[np.searchsorted(places, lines.starts[0]) :]
    if not lines.quoted and len(own) == len(lines.row) * (width - 1):
        grid = own.reshape(len(lines.row), width - 1)
        if (grid[:, 0] >= lines.starts).all() and (grid[:, -1] < lines.ends).all():
            lines.places = grid
            _short_ends(lines, buffer, ledger)
            return lines
    wrong = np.searchsorted(places, lines.ends) - np.searchsorted(places, lines.starts) + 1 != width
    if lines.quoted:
        places = np.flatnonzero(quotes)
        wrong |= (np.searchsorted(places, lines.ends) - np.searchsorted(places, lines.starts)) % 2 == 1
    if wrong.any():
        empty = (
            [at for at in np.flatnonzero(wrong) if not lines.data[lines.starts[at] : lines.ends[at]].strip(b" \t,;|")]
            if wrong.sum() < 10_000
            else []
        )
        bad = np.setdiff1d(np.flatnonzero(wrong), empty)
        if len(bad) > (1 - _LEAST_GOOD) * len(wrong):
            raise ReadingsFault(
                f"{len(bad)} of {len(wrong)} rows of {lines.name} do not have {width} fields, as row "
                f"{lines.row[bad[0]]}: “{' '.join(lines.fields(bad[0]))[:40]}”. Are decimal commas "
                "between commas in it, or is it several tables? Save it with semicolons."
            )
        if len(bad):
            ledger.add(
                "text",
                f"{len(bad)} rows do not have the {width} fields of the others (cut short, of another "
                f"separator, or no readings) and are left out: {where(lines.row[bad])}.",
                lines.row[bad],
            )
        lines.keep(~wrong)
    _short_ends(lines, buffer, ledger)
    return lines


def _short_ends(lines: Lines, buffer: np.ndarray, ledger: Ledger) -> None:
    """Leave out lines whose last number has other places than all the rest: a line cut inside a number looks so."""
    count = len(lines.row)
    sample = [lines.fields(at)[-1] for at in np.unique(np.linspace(0, count - 1, 40).astype(int))]
    places = Counter(
        (found[1], len(found[2])) if (found := re.fullmatch(r"[-+]?\d+([.,])(\d+)", field)) else None
        for field in sample
    )
    found, alike = places.most_common(1)[0]
    if not found or lines.quoted or alike < 0.9 * len(sample) or len(lines.row) < 8:
        return
    point, usual = found
    odd = np.flatnonzero(buffer[np.maximum(lines.ends - 1 - usual, 0)] != ord(point))
    odd = np.array([at for at in odd if re.fullmatch(r"[-+]?\d+(?:[.,]\d*)?", lines.fields(at)[-1])], dtype=int)
    # Programs that drop zeros at the end write many such numbers, a cut line is a rare thing.
    if 0 < len(odd) <= max(3, 0.01 * len(lines.row)):
        ledger.add(
            "text",
            f"{where(lines.row[odd], 'Row', 'Rows')}: the last number is written with fewer or more "
            f"places than the {usual} of all others (“{lines.fields(odd[0])[-1]}”), as where a line is "
            "cut short; left out.",
            lines.row[odd],
        )
        lines.keep(~np.isin(np.arange(len(lines.row)), odd))

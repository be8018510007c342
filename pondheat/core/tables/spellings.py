"""Times in spellings that the readers don't know, rewritten to ones they do, before a table's columns are sought.

What is rewritten is said in the log. Lines keep their numbers.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Sequence

from pondheat.core.tables.decoding import plain_letters
from pondheat.core.tables.read_log import ReadLog

_MONTHS = (
    "jan januar janner janvier janv januari",
    "feb februar fevrier fevr februari",
    "mar marz mrz maerz mars maart mrt",
    "apr april avril avr",
    "may mai mei",
    "jun juni juin",
    "jul juli juillet juil",
    "aug august aout augustus",
    "sep sept september septembre",
    "oct okt oktober octobre",
    "nov november novembre",
    "dec dez dezember decembre december",
)
_MONTH_OF_WORD = {word: names[:3].capitalize() for names in _MONTHS for word in names.split()}
_WEEKDAY = (
    "mon(?:day)?|tue(?:s(?:day)?)?|wed(?:nesday)?|thu(?:r(?:s(?:day)?)?)?|fri(?:day)?|sat(?:urday)?|sun(?:day)?"
    "|mo|di|mi|do|fr|sa|so|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch"
    "|(?:lun|mar|mercre|jeu|vendre|same)di|dimanche|lun|mer|jeu|ven|sam|dim"
    "|(?:maan|dins|woens|donder|vrij|zater|zon)dag|ma|wo|vr|za|zo"
)
_HOUR = r"(?:[01]?\d|2[0-4])"


def _month(found: re.Match[str]) -> str:
    name = _MONTH_OF_WORD.get(plain_letters(found[2]))
    return found[0] if name is None else f"{found[1]} {name} {found[3]}"


# What to look for in a line, and what to put there; in this order.
_TEXT: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile(rf'(?i)(^|[\t;|,"])\s*(?:{_WEEKDAY})[.,]?\s+(?=\d|[a-z]{{3}} \d)'), r"\1"),
    (re.compile(r" (?:GMT|UTC)([+-]\d{4}) \([^)]*\)"), r" \1"),
    (re.compile(r"(?<=\d)(?:st|nd|rd|th)\b(?= [A-Za-z])"), ""),
    (re.compile(r"\b(\d{1,2})[. ]+([^\W\d_]{3,10})\.?[ ,]+(\d{4})\b"), _month),
    (re.compile(r"\b(\d{1,2})-?([A-Za-z]{3})-?(\d{4}):(?=\d\d:)"), r"\1 \2 \3 "),
    (re.compile(rf"(?<=\d) (?:at|um|à|om) (?={_HOUR}:)"), " "),
    (re.compile(r"(?<=:\d\d) (?:Uhr|uur|hrs?|heures)\b"), ""),
    (re.compile(rf'(?:(?<=\d )|(?<=[;,\t|"]))({_HOUR})h([0-5]\d)\b'), r"\1:\2"),
    (re.compile(rf"(\d{{1,2}}\.\d{{1,2}}\.\d{{4}} {_HOUR})\.([0-5]\d)(?![\d.])"), r"\1:\2"),
    (re.compile(r"(?i)(?<=\d )(\d{1,2}) ?([ap])\.?m\b"), r"\1:00 \2m"),
    (re.compile(r"(?<=:\d\d)(Z|[+-]\d\d:?\d\d)?/P(?:T\d+[HMS]|\d+D)(?![\w])"), r"\1"),
    (re.compile(r'="([^"]*)"'), r'"\1"'),
    (re.compile(r"(?:(?<=^)|(?<=[;,\t|]))'([^']*)'(?=[;,\t|]|$)"), r'"\1"'),
    (re.compile(r"^[^;,|\t]*\S {2,}\S[^;,|\t]*$"), lambda found: re.sub(r" {2,}", "\t", found[0].strip())),
)
_TIMES = {"time", "date", "datetime", "timestamp", "datum", "zeit", "zeitpunkt", "tag", "jour", "dag", "tijd", "day"}
_TIMES |= {"stamp", "uhrzeit", "zeitstempel", "horodatage", "heure", "start", "begin", "from", "epoch", "ts"}
_HOURS = {"hour", "hr", "hours", "stunde", "heure", "uur", "he"}
_DECIMAL_HOUR = r"\d{1,2}[.,](?:0|00|25|5|50|75)"
_HOURS_FROM_TO = r"\d{1,2} ?[-–] ?\d{1,2}"
_CLOCKS = {"time", "uhrzeit", "zeit", "heure", "tijd", "clock", "hhmm"}
_PARTS = ("year", "month", "day", "hour", "minute")
_WORDS_OF_PARTS = (
    "year yr jahr annee jaar yyyy",
    "month mo monat mois maand mm",
    "day dy tag jour dag dd",
    "hour hr stunde heure uur hh",
    "minute min minuten minutes mi",
)
_PART_OF_WORD = {word: part for part, words in zip(_PARTS, _WORDS_OF_PARTS) for word in words.split()}
_COMPACT = re.compile(r"(20\d\d)(0[1-9]|1[0-2])([0-3]\d)(?:[T _]?([01]\d|2[0-4])([0-5]\d)([0-5]\d)?Z?)?")
_SERIAL = re.compile(r"[3-6]\d{4}(?:[.,]\d+)?")  # days from 1899-12-30, of the years 1982 to 2090
_DAY_ZERO = dt.datetime(1899, 12, 30)
_DATED = re.compile(rb'\s*"?\d{1,4}[-/.]\d').match  # a line that begins as a reading does
_FEWEST = 0.9  # share of the lines looked at that a spelling must fit
_LOOKED_AT = 60  # lines


def respelt(data: bytes, read_log: ReadLog, hours: bool = True) -> bytes:
    """A table, as UTF-8 with “\\n” line ends, with the times of its lines in a spelling that the readers know.

    hours: whether a column of hours beside the date is joined to it.
    """
    data = _with_header(_unbroken(data))
    head = [line for line in data[:20_000].decode("utf-8", "replace").split("\n")[:_LOOKED_AT] if line.strip()]
    chosen = _in_text(head)
    if chosen:
        lines = data.decode("utf-8", "replace").split("\n")
        before = next(line for line in lines[len(head) // 2 :] if line.strip())
        after = _rewritten(before, chosen)
        read_log.interpretation.append(f"Lines such as “{before[:40]}” are read as “{after[:40]}”.")
        return "\n".join(_rewritten(line, chosen) for line in lines).encode("utf-8")
    return _in_columns(data, head, read_log, hours)


def _unbroken(data: bytes) -> bytes:
    """The table with each cell of its header on one line; empty lines take the place of those that are joined."""
    head, rest = data[:20_000], data[20_000:]
    if b'"' not in head:
        return data
    lines = head.split(b"\n")
    for at in range(min(_LOOKED_AT, len(lines) - 1)):
        if lines[at].count(b'"') % 2 == 0:
            continue
        closing = next((to for to in range(at + 1, min(at + 8, len(lines) - 1)) if lines[to].count(b'"') % 2), at)
        if closing == at or any(map(_DATED, lines[at : closing + 1])):
            break  # a quotation mark left open, not a header
        lines[at] = b" ".join(lines[at : closing + 1])
        lines[at + 1 : closing + 1] = [b""] * (closing - at)
    return b"\n".join(lines) + rest


def _with_header(data: bytes) -> bytes:
    """The table with its header readable where that begins with “#”, as a remark does."""
    lines = data[:20_000].split(b"\n")[:_LOOKED_AT]
    last = max((at for at, line in enumerate(lines) if line.startswith(b"#")), default=None)
    if last is None or last + 1 >= len(lines):
        return data
    header, first = lines[last], lines[last + 1]
    words = set(re.findall(r"[a-z]+", plain_letters(header.decode("utf-8", "replace"))))
    if not words & _TIMES or not any(header.count(mark) == first.count(mark) > 0 for mark in (b",", b";", b"\t", b"|")):
        return data
    before = b"\n".join(lines[:last])
    named = re.sub(rb"^#(?=\s*[,;\t|])", b"No.", header).lstrip(b"# ")
    return data.replace(before + b"\n" * bool(before) + header, before + b"\n" * bool(before) + named, 1)


def _in_text(head: list[str]) -> list[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]]]:
    """The replacements that change most of the lines, each tried on what those before it leave."""
    chosen = []
    for pattern, instead in _TEXT:
        changed = [pattern.sub(instead, line) for line in head]
        if sum(one != other for one, other in zip(changed, head)) > 0.5 * len(head):
            chosen.append((pattern, instead))
            head = changed
    return chosen


def _rewritten(line: str, chosen) -> str:
    for pattern, instead in chosen:
        line = pattern.sub(instead, line)
    return line


# --- columns of digits --------------------------------------------------------------------------------------------


def _in_columns(data: bytes, head: list[str], read_log: ReadLog, hours: bool) -> bytes:
    """The table with columns of digits that their header calls a time, or parts of one, as times."""
    for separator in "\t;|,":
        for at, line in enumerate(head[:-1]):
            names = [plain_letters(cell.strip().strip('"')) for cell in line.split(separator)]
            words = {word for name in names for word in re.findall(r"[a-z]+", name)}
            if len(names) < 2 or not words & (_TIMES | set(_PART_OF_WORD)):
                continue
            below = [one.split(separator) for one in head[at + 1 :]]
            if any(len(cells) != len(names) for cells in below[:3]):
                continue
            cells = [[cell.strip().strip('"') for cell in one] for one in below if len(one) == len(names)]
            writer = _writer(names, cells, hours)
            if writer is None:
                continue
            label, columns, write = writer
            return _with_times(data, line, separator, label, columns, write, read_log)
    return data


Writer = tuple[str, list[int], Callable[[Sequence[str]], str]]


def _writer(names: list[str], cells: list[list[str]], hours: bool) -> Writer | None:
    """A header for the time, the columns that make it, and how to write their cells as a time; None where the table
    has times of its own, or none."""

    def column(known: set[str], pattern: str) -> int | None:
        good = (
            at
            for at, name in enumerate(names)
            if known & set(re.findall(r"[a-z]+", name))
            and sum(bool(re.fullmatch(pattern, row[at])) for row in cells) >= _FEWEST * len(cells)
        )
        return next(good, None)

    parts = {part: at for at, name in enumerate(names) if (part := _PART_OF_WORD.get(name))}
    if {"year", "month", "day"} <= set(parts):
        return "time", [parts[one] for one in _PARTS if one in parts], _from_parts
    date = column(_TIMES, r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|20\d{6})")
    hour = column(_HOURS, rf"\d{{1,2}}|{_HOURS_FROM_TO}|{_DECIMAL_HOUR}")
    if hours and date is not None and hour is not None and hour != date:
        numbers = [int(found[0]) for row in cells if (found := re.match(r"\d+", row[hour]))]
        if max(numbers) <= 24:
            ends = min(numbers) > 0 and all(row[hour].isdecimal() for row in cells)  # 1 to 24
            return "time end" if ends else "time start", [date, hour], _from_date_and_hour
    clock = column(_CLOCKS, r"(?:[01]\d|2[0-4])[0-5]\d(?:[0-5]\d)?|0?\.\d+|0|1")
    if date is None:
        date = column(_TIMES, _SERIAL.pattern)
    if date is not None and clock is not None and clock != date:
        return "time", [date, clock], _from_date_and_clock
    digits = column(_TIMES, rf"{_COMPACT.pattern}|{_SERIAL.pattern}|1\d{{15}}(?:\d{{3}})?")
    if digits is None:
        return None
    dates = all(re.fullmatch(r"\d{5}|\d{8}", row[digits]) for row in cells)
    return "date" if dates else "time", [digits], lambda row: _from_digits(row[0])


def _with_times(
    data: bytes,
    header: str,
    separator: str,
    label: str,
    columns: list[int],
    write: Callable[[Sequence[str]], str],
    read_log: ReadLog,
) -> bytes:
    """The table with the cells of some columns as one time, in the place of the first of them."""
    names = header.split(separator)
    words = " ".join(re.sub(r"[^\w+ -]", " ", names[at]).strip() for at in columns)
    made, shown, begun = [], "", False
    for line in data.decode("utf-8", "replace").split("\n"):
        cells = line.split(separator)
        if not begun and line == header:
            begun, made_cell = True, f"{label} [{words}]"
        elif begun and len(cells) == len(names):
            made_cell = write([cells[at].strip().strip('"') for at in columns])
            shown = shown or f"“{' '.join(cells[at].strip() for at in columns)}” is read as {made_cell}"
        else:
            made.append(line)
            continue
        made.append(separator.join(
            made_cell if at == columns[0] else cell for at, cell in enumerate(cells) if at not in columns[1:]
        ))  # fmt: skip
    said = ", ".join(f"“{names[at].strip()}”" for at in columns)
    read_log.interpretation.append(f"The time is made from {said}: {shown}.")
    return "\n".join(made).encode("utf-8")


def _from_digits(cell: str) -> str:
    """Digits alone, or a spreadsheet's count of days, as 2025-01-31 18:30:00; other cells as they are."""
    if found := _COMPACT.fullmatch(cell):
        clock = f" {found[4]}:{found[5]}:{found[6] or '00'}" if found[4] else ""
        return f"{found[1]}-{found[2]}-{found[3]}{clock}{'Z' if cell.endswith('Z') else ''}"
    if _SERIAL.fullmatch(cell):
        days, _, rest = cell.replace(",", ".").partition(".")
        moment = _DAY_ZERO + dt.timedelta(days=int(days), seconds=round(86_400 * float(f"0.{rest or 0}")))
        return f"{moment:%Y-%m-%d %H:%M:%S}" if rest else f"{moment:%Y-%m-%d}"
    if re.fullmatch(r"1\d{15}(?:\d{3})?", cell):
        return f"{dt.datetime.fromtimestamp(int(cell[:10]), dt.UTC):%Y-%m-%d %H:%M:%S}Z"
    return cell


def _from_parts(cells: Sequence[str]) -> str:
    if not all(cell.isdecimal() for cell in cells):
        return " ".join(cells)
    year, month, day, *clock = (int(cell) for cell in cells)
    hour, minute = (*clock, 0, 0)[:2]
    return f"{year:04d}-{month:02d}-{day:02d}" + (f" {hour:02d}:{minute:02d}" if clock else "")


def _from_date_and_hour(cells: Sequence[str]) -> str:
    hour, mark, part = re.split(r"([^0-9]+|$)", cells[1], maxsplit=1)
    minutes = round(60 * float(f"0.{part}")) if mark in (".", ",") else 0
    return f"{_from_digits(cells[0])} {hour.zfill(2)}:{minutes:02d}"


def _from_date_and_clock(cells: Sequence[str]) -> str:
    date, clock = _from_digits(cells[0]), cells[1]
    if len(clock) in (4, 6) and clock.isdecimal():
        return f"{date} {clock[:2]}:{clock[2:4]}"
    seconds = round(86_400 * float(clock or 0))
    return f"{date} {seconds // 3600:02d}:{seconds // 60 % 60:02d}"

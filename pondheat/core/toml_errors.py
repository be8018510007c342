"""Read TOML as people type it; an error message says where it is wrong, why, and what to write instead."""

from __future__ import annotations

import re
import tomllib

from pondheat.core.units import Unreadable

_KEY = r"[\w.-]+"
_BARE = r"[^\"'#\[{]*[^\"'#\[{\s]"  # a value without quotation marks


def loads(text: str) -> dict:
    """Document of a TOML text. Raises `Unreadable` with a sentence for the reader.

    >>> loads('length = "4 m"')
    {'length': '4 m'}
    >>> loads("length = ")
    Traceback (most recent call last):
        ...
    pondheat.core.errors.Unreadable: line 1, “length =”: the value is missing after =.
    """
    try:
        document = tomllib.loads(text.removeprefix("\ufeff"))
        _refuse_giants(document)
        return document
    except tomllib.TOMLDecodeError as wrong:
        raise Unreadable(_sentence(text, str(wrong))) from None
    except RecursionError:
        raise Unreadable("it is not TOML: brackets are nested too deep.") from None
    except ValueError as wrong:  # a number too long is no TOMLDecodeError
        raise Unreadable(f"it is not TOML: {wrong}.") from None


def _refuse_giants(value) -> None:
    """Raise ValueError for whole numbers beyond TOML's 64 bits, which Python would read but no float can hold."""
    if isinstance(value, (dict, list)):
        for inside in value.values() if isinstance(value, dict) else value:
            _refuse_giants(inside)
    elif isinstance(value, int) and abs(value) >= 2**63:
        raise ValueError("a whole number has more digits than can be meant")


def _sentence(text: str, reason: str) -> str:
    lines = text.splitlines() or [""]
    place = re.search(r"at line (\d+)", reason)
    number = int(place[1]) if place else _open_quote(lines) or len(lines)
    line = lines[min(number, len(lines)) - 1].strip()
    said = _diagnosis(line) or f"this is not TOML ({reason.rsplit(' (at ', 1)[0].lower()})"
    if "verwrite" in reason or "twice" in reason:
        said, line, number = "the same key or table is there twice; keep one of them", *_repeated(lines, line, number)
    shown = line if len(line) <= 60 else line[:59] + "…"
    return f"line {number}, “{shown}”: {said}."


def _diagnosis(line: str) -> str | None:
    """What is wrong with a line, with the corrected line where possible; None where it cannot be told."""
    if re.search("[“”„‟«»‘’]", line) and not re.search(r"[\"']", line):
        return f"these quotation marks are curly; TOML takes straight ones: {_straight(line)}"
    if colon := re.fullmatch(rf"({_KEY})\s*:\s*(.+)", line):
        return f"write = between key and value, not a colon: {colon[1]} = {_quoted(colon[2])}"
    if no_sign := re.fullmatch(rf"({_KEY})\s+(\"[^\"]*\"|'[^']*'|[\d.]+)", line):
        return f"write = between key and value: {no_sign[1]} = {no_sign[2]}"
    if re.fullmatch(rf"\[+\s*{_KEY}", line):
        return f"the bracket is not closed: {line}]"
    if day := re.fullmatch(rf"{_KEY}\s*=\s*(\d{{4}}-\d+-\d+)\s*(#.*)?", line):
        return f"there is no such date as {day[1]}"
    if bare := re.fullmatch(rf"({_KEY})\s*=\s*({_BARE})\s*(#.*)?", line):
        if day := re.fullmatch(r"(\d{1,2})[-./](\d{1,2})[-./](\d{4})", bare[2]):
            turned = f"{day[3]}-{int(day[2]):02}-{int(day[1]):02}"
            return f"a date begins with its year, year-month-day, as in {bare[1]} = {turned}"
        if comma := re.fullmatch(r"(\d+),(\d+)", bare[2]):
            return f"a number takes a point, not a comma: {bare[1]} = {comma[1]}.{comma[2]}"
        return f'a value with a unit or a word needs quotation marks: {bare[1]} = "{bare[2]}"'
    if re.fullmatch(rf"{_KEY}\s*=\s*(#.*)?", line):
        return "the value is missing after ="
    if line.count('"') % 2:
        return "a quotation mark is missing: a text begins and ends with one"
    if re.fullmatch(rf"{_KEY}\s*=.*\s{_KEY}\s*=.*", line):
        return "each key begins on a line of its own"
    return None


def _straight(line: str) -> str:
    return re.sub("[“”„‟«»‘’]", '"', line)


def _quoted(value: str) -> str:
    value = _straight(value.strip())
    return value if value[0] in "\"'[{" or re.fullmatch(r"-?\d+(\.\d+)?|true|false", value) else f'"{value}"'


def _open_quote(lines: list[str]) -> int | None:
    """Number of the first line with an odd count of quotation marks, where an unclosed text may begin."""
    return next((number for number, line in enumerate(lines, 1) if line.count('"') % 2 or line.count("'") % 2), None)


def _repeated(lines: list[str], line: str, number: int) -> tuple[str, int]:
    """The line that repeats a key or table, with its number; the line given where none does."""
    seen: set[str] = set()
    table = ""
    for at, one in enumerate((one.strip() for one in lines), 1):
        if one.startswith("["):
            table = one
        name = one if one.startswith("[") else f"{table} {one.split('=')[0].strip()}"
        if one.startswith("[["):
            seen = {known for known in seen if not known.startswith(one)}
        elif one and not one.startswith("#") and name in seen:
            return one, at
        seen.add(name)
    return line, number

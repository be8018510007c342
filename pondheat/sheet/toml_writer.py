"""Writing a pond sheet: its document as TOML text that reads back as the same document."""

from __future__ import annotations

import datetime as dt
import re

from pondheat.core import toml_errors
from pondheat.core.units import Unreadable
from pondheat.sheet.keys import KEYS, Fault, SheetFaults


def with_values(text: str, changes: dict[str, object]) -> str:
    """A sheet's text with some values changed: {"pond.set_point": "16 °C", "cover": None}.

    None takes a key or a table out. Comments and order are not kept. Raises `SheetFaults` where the text is not TOML
    or a path runs through a value.
    """
    try:
        document = toml_errors.loads(text)
    except Unreadable as wrong:
        raise SheetFaults([Fault("the file", "", str(wrong))]) from None
    for path, value in changes.items():
        *tables, key = path.split(".")
        here = document
        for name in tables:
            here = here.setdefault(name, {}) if value is not None else here.get(name, {})
            if not isinstance(here, dict):
                raise SheetFaults([Fault(path, str(here)[:60], f"“{name}” is no table, so nothing can be set in it.")])
        if value is None:
            here.pop(key, None)
        else:
            here[key] = value
    return text_of(document)


def text_of(document: dict) -> str:
    """TOML text of a sheet's document, in the order of `KEYS`. The text reads back as the same document."""
    lines: list[str] = []
    order = [*KEYS[""], *(name for name in KEYS if name)]
    keys = sorted(document, key=lambda k: order.index(k) if k in order else len(order))
    for key in keys:
        if not _is_table(document[key]):
            lines.append(f"{_key(key)} = {_value(document[key])}")
    for key in keys:
        value = document[key]
        if _is_table(value):
            for one in value if isinstance(value, list) else [value]:
                _write_table(lines, [key], one, isinstance(value, list))
    return "\n".join(lines) + "\n"


def _is_table(value) -> bool:
    listed = isinstance(value, list) and value and all(isinstance(one, dict) for one in value)
    return isinstance(value, dict) or bool(listed)


def _write_table(lines: list[str], path: list[str], table: dict, listed: bool) -> None:
    name = ".".join(_key(p) for p in path)
    lines += ["", f"[[{name}]]" if listed else f"[{name}]"]
    # A set point by date is written on one line, as a person would.
    inside = [key for key in table if _is_table(table[key]) and [*path, key] != ["pond", "set_point"]]
    for key, value in table.items():
        if key not in inside:
            lines.append(f"{_key(key)} = {_value(value)}")
    for key in inside:
        for one in table[key] if isinstance(table[key], list) else [table[key]]:
            _write_table(lines, [*path, key], one, isinstance(table[key], list))


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, int):
        return str(value)
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in text) + '"'

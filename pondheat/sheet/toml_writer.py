"""Write pond sheets as TOML: change single values of a reader's file and keep everything else in it as it is.

Files are edited with tomlkit, which keeps comments, order, blank lines and the way values are written.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, Item, Key, Table, Trivia

from pondheat.core import toml_errors
from pondheat.core.units import Unreadable
from pondheat.sheet.keys import KEYS, SheetError, SheetFault

_STRING_OR_COMMENT = re.compile(
    r""" "{3}[\s\S]*?"{3} | '{3}[\s\S]*?'{3} | "(?:\\.|[^"\\\n])*" | '[^'\n]*' | (\#[^\n]*) """, re.VERBOSE
)
_ONE_LINE = ("pond", "set_point")  # a set point by date is written on one line, as people do


def with_values(text: str, changes: Mapping[str, object]) -> str:
    """Text of a pond sheet with some values changed: {"pond.set_point": "16 °C", "cover": None}.

    None takes a key or a table out. Comments (also those of what is taken out), order, blank lines, line ends and the
    formatting of all other values stay; only a comment inside a list that stays goes with the entry it follows. New
    keys follow the last key of their table, new tables come last, in the order of `KEYS`. Raises `SheetError` where the
    text is not TOML or a path runs through a value.
    """
    try:
        document = toml_errors.loads(text)
    except Unreadable as wrong:
        raise SheetError([SheetFault("the file", "", str(wrong))]) from None
    expected = _changed(document, changes)
    if _same(document, expected):
        return text
    if not text.strip("\ufeff \t\r\n"):
        return text_of(expected)
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    plain = text.removeprefix(mark)
    windows = "\r\n" in plain and "\n" not in plain.replace("\r\n", "")
    try:
        edited = _Edit(plain.replace("\r\n", "\n") if windows else plain).to(document, expected)
        faithful = _same(toml_errors.loads(edited), expected)
    except (TOMLKitError, Unreadable):
        faithful = False
    if not faithful:  # better without its comments than with another value
        edited = text_of(expected)
    return mark + (edited.replace("\n", "\r\n") if windows else edited)


def text_of(document: Mapping[str, Any]) -> str:
    """TOML text of a pond sheet's document, in the order of `KEYS`; it reads back as the same document."""
    made = tomlkit.document()
    for key in sorted(document, key=lambda key: (_is_table(document[key]), _rank(key))):
        made.append(_key(key), _item(document[key], (key,)))
    return made.as_string()


def _changed(document: dict[str, Any], changes: Mapping[str, object]) -> dict[str, Any]:
    """The document with the changes made; raises `SheetError` where a path runs through a value."""
    made = copy.deepcopy(document)
    for path, value in changes.items():
        *tables, key = path.split(".")
        here = made
        for name in tables:
            here = here.setdefault(name, {}) if value is not None else here.get(name, {})
            if not isinstance(here, dict):
                raise SheetError(
                    [SheetFault(path, str(here)[:60], f"“{name}” is not a table, so nothing can be set in it.")]
                )
        if value is None:
            here.pop(key, None)
        else:
            here[key] = copy.deepcopy(value)
    return made


def _same(one: object, other: object) -> bool:
    """Whether two documents hold the same values of the same types, in any order of their keys; nan is equal to nan."""
    first, second = (json.dumps(value, sort_keys=True, default=repr) for value in (one, other))
    return first == second


def _rank(key: str) -> int:
    order = [*KEYS[""], *(name for name in KEYS if name)]
    return order.index(key) if key in order else len(order)


def _is_table(value: object) -> bool:
    """Whether a value is written under a heading of its own, [table] or [[table]]."""
    return isinstance(value, dict) or _is_list_of_tables(value)


def _is_list_of_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


# --- new entries --------------------------------------------------------------------------------------------------


def _key(name: str) -> Key:
    return tomlkit.key(name)


def _item(value: Any, path: tuple[str, ...], inline: bool = False) -> Item:
    """tomlkit's item of a value; tables within lists and those of `inline` are written on one line."""
    inline = inline or path == _ONE_LINE
    if isinstance(value, dict):
        table: Table | InlineTable = tomlkit.inline_table() if inline else tomlkit.table()
        for key, inside in value.items():
            table.append(_key(key), _item(inside, (*path, key), inline))
        return table
    if _is_list_of_tables(value) and not inline:
        tables = tomlkit.aot()
        for one in value:
            tables.append(_item(one, path))
        return tables
    if isinstance(value, list):
        array = tomlkit.array()
        for one in value:
            array.append(_item(one, path, inline=True))
        return array
    return tomlkit.item(value)


def _lines(path: tuple[str, ...], value: Any, inline: bool = False) -> str:
    """The lines that a new entry takes: “key = value”, or a table under its heading, [path] or [[path]]."""
    made = tomlkit.document()
    here: tomlkit.TOMLDocument | Table = made
    *tables, key = path
    for name in tables:
        above = tomlkit.table(is_super_table=True)
        here.append(_key(name), above)
        here = above
    here.append(_key(key), _item(value, path, inline))
    return made.as_string()


# --- editing ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Scope:
    """One table of the file.

    pieces: its content, perhaps in several places; path: its keys; prefix: text in front of its new keys where
    its keys are written with dots (“pond.”); heading: of the line [table], None where there is none.
    """

    pieces: list[Container]
    path: tuple[str, ...] = ()
    prefix: str = ""
    heading: Trivia | None = None

    def entries(self, name: str) -> list[tuple[Container, int, Key, Item]]:
        """Occurrences of `name` in this table: the piece, the index in its body, the key and the item."""
        return [
            (piece, index, key, item)
            for piece in self.pieces
            for index, (key, item) in enumerate(piece.body)
            if key is not None and key.key == name
        ]


class _Edit:
    """One edit of a file's text. Line ends are \\n."""

    def __init__(self, text: str):
        self.document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
        self.above: list[str] = []  # keys of the document where it has none yet
        self.below: dict[tuple[str, ...], str] = {}  # new tables by path

    def to(self, old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
        """The text with everything changed that differs between the two documents."""
        self._merge(_Scope([self.document]), old, new)
        text = self.document.as_string()
        if self.above:
            text = _under_the_heading(text, "".join(self.above))
        if self.below:
            text = text.rstrip("\n") + "\n\n" + "\n".join(self.below.values())
        return text

    def _merge(self, scope: _Scope, old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
        for name in old:
            if name not in new:
                _take_out(scope, name)
        missing = {name for name in new if name not in old}
        for name in old:
            if name in new and not _same(old[name], new[name]) and not self._change(scope, name, old[name], new[name]):
                _take_out(scope, name)
                missing.add(name)
        # last, as a new line hangs on the one before it and would go with that
        for name in sorted(new, key=_rank) if not scope.path else new:
            if name in missing:
                self._insert(scope, name, new[name])

    def _change(self, scope: _Scope, name: str, old: Any, new: Any) -> bool:
        """Change an entry in its place; whether that was possible."""
        found = scope.entries(name)
        items = [item for _, _, _, item in found]
        path = (*scope.path, name)
        headings = [item.trivia for item in items if isinstance(item, Table) and not item.is_super_table()]
        if isinstance(new, dict) and (new or headings) and all(isinstance(item, Table) for item in items):
            dotted = found[0][2].is_dotted()
            pieces = [item.value for item in items]
            prefix = f"{scope.prefix}{_key(name).as_string()}." if dotted else ""
            self._merge(_Scope(pieces, path, prefix, headings[0] if headings else None), old, new)
        elif isinstance(items[0], InlineTable) and isinstance(new, dict):
            _merge_inline(items[0], old, new, path)
        elif isinstance(items[0], AoT) and _is_list_of_tables(new):
            self._merge_tables(items[0], old, new, path)
        elif any(isinstance(item, (Table, AoT)) for item in items):
            return False
        elif not (isinstance(items[0], Array) and isinstance(new, list) and _merge_array(items[0], old, new, path)):
            found[0][0][name] = _item(new, path, inline=True)
        return True

    def _merge_tables(self, tables: AoT, old: list[Any], new: list[Any], path: tuple[str, ...]) -> None:
        """Change a list of tables [[path]] table by table."""
        for table, before, after in zip(list(tables.body), old, new):
            self._merge(_Scope([table.value], path, "", table.trivia), before, after)
        for number in range(len(old) - 1, len(new) - 1, -1):
            comments = _comments(tables.body[number])
            del tables[number]
            tables.body[number - 1].value.body.append((None, tomlkit.ws(comments)))
        if (line := _last_line(tables)) and len(new) > len(old):
            line.trail += "\n" + _lines(path, new[len(old) :])

    def _insert(self, scope: _Scope, name: str, value: Any) -> None:
        path = (*scope.path, name)
        if _is_table(value) and path != _ONE_LINE and not scope.prefix:
            if scope.path and (line := _last_of(scope, with_tables=True)):
                line.trail += "\n" + _lines(path, value)
            else:
                self.below[path] = _lines(path, value)
            return
        lines = _lines((name,), value, inline=True)
        if line := _last_of(scope) or scope.heading:
            line.trail += scope.prefix + lines
        elif scope.path:
            self.below[scope.path] = self.below.get(scope.path, _lines(scope.path, {})) + lines
        else:
            self.above.append(lines)


def _last_of(scope: _Scope, with_tables: bool = False) -> Trivia | None:
    """The end of a table's last value, `with_tables` also of its sub-tables' values; None where it has none."""
    for piece in reversed(scope.pieces):
        for key, item in reversed(piece.body):
            counts = key is not None and (with_tables or key.is_dotted() or not isinstance(item, (Table, AoT)))
            if counts and (line := _last_line(item)):
                return line
    return None


def _last_line(item: Item) -> Trivia | None:
    """The end of an item's last line that is no comment of its own; None where it has no line."""
    if isinstance(item, AoT):
        return _last_line(item.body[-1]) if item.body else None
    if isinstance(item, Table):
        inside = _last_of(_Scope([item.value]), with_tables=True)
        return inside or (None if item.is_super_table() else item.trivia)
    return item.trivia


def _take_out(scope: _Scope, name: str) -> None:
    """Take an entry out of its table; its comments stay in its place."""
    found = scope.entries(name)
    for piece in {id(piece): piece for piece, *_ in found}.values():
        piece.remove(name)
    for piece, index, _, item in found:
        piece.body[index] = (None, tomlkit.ws(_comments(item)))


def _comments(item: Item) -> str:
    """The comments of an item, each on a line of its own, with the blank lines among them; "" where it has none."""
    lines = ""
    if isinstance(item, AoT):
        lines = "".join(_comments(table) for table in item.body)
    else:
        if isinstance(item, Array):
            lines = "".join(f"{found[1]}\n" for found in _STRING_OR_COMMENT.finditer(item.as_string()) if found[1])
        if item.trivia.comment:
            lines += f"{item.trivia.indent}{item.trivia.comment}\n"
        if isinstance(item, Table):
            lines += "".join(
                inside.as_string() if key is None else _comments(inside) for key, inside in item.value.body
            )
    return lines if "#" in lines else ""


def _merge_inline(table: InlineTable, old: Mapping[str, Any], new: Mapping[str, Any], path: tuple[str, ...]) -> None:
    for name in old:
        if name not in new:
            table.remove(name)
    for name, value in new.items():
        if name not in old:
            table.append(_key(name), _item(value, (*path, name), inline=True))
        elif not _same(old[name], value):
            table[name] = _item(value, (*path, name), inline=True)


def _merge_array(array: Array, old: list[Any], new: list[Any], path: tuple[str, ...]) -> bool:
    """Change a list entry by entry, which keeps its lines and comments; whether that was possible.

    Entries are swapped, or some are taken out and others added; where their order changes as well, nothing is done.
    """
    differing = [number for number, pair in enumerate(zip(old, new)) if not _same(*pair)]
    if len(old) == len(new) and all(old[number] not in new and new[number] not in old for number in differing):
        for number in differing:
            array[number] = _item(new[number], path, inline=True)
        return True
    kept = [value for value in old if value in new]
    if kept != [value for value in new if value in old]:
        return False
    for number in range(len(old) - 1, -1, -1):
        if old[number] not in new:
            del array[number]
    for number, value in enumerate(new):
        if value not in old:
            array.insert(number, _item(value, path, inline=True))
    return True


def _under_the_heading(text: str, lines: str) -> str:
    """A text without keys of its own at the top, with such lines put in above its first table.

    They follow the comments at the top as far as a blank line parts these from the first table.
    """
    opening = re.match(r"(?:[ \t]*(?:#[^\n]*)?\n)*", text)
    head = opening[0] if opening else ""
    if head == text:
        return head + lines
    cut = head.rfind("\n\n") + 2 if "\n\n" in head else 0
    return f"{text[:cut]}{lines}\n{text[cut:]}"

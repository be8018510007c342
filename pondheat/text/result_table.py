"""A table of results as plain data; the shell prints it in columns, pages show it as an HTML table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class ResultTable:
    """A table whose first column names the rows.

    caption: what it shows, with the unit where all cells share it; heads: of the columns, the first for the names;
    rows: names and cells as text; groups: a heading before a row, by the row's number from 0; faint: numbers of rows
    that are no choice, with the reason in the row itself; texts: numbers of columns that hold words, not numbers.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    groups: Mapping[int, str] = field(default_factory=dict)
    faint: frozenset[int] = frozenset()
    texts: frozenset[int] = frozenset()

"""Columns that repeat the unit of each row, such as “kWh” or “°C”, beside a column of numbers."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from pondheat.core.tables.decoding import plain_letters

_HEADS = {"unit", "units", "uom", "einheit", "einheiten", "unite", "unites", "eenheid", "eenheden"}


def names_units(header: str) -> bool:
    """Whether a header calls its column one of units.

    >>> names_units("temp_unit"), names_units("Unité"), names_units("unit rate")
    (True, True, False)
    """
    words = re.findall(r"[a-z]+", plain_letters(header))
    return bool(_HEADS & set(words)) and "rate" not in words and "price" not in words


def holds_units(header: str, cells: Iterable[str], known: Callable[[str], bool]) -> bool:
    """Whether a column holds units: by its header, or as all its cells are units of more than one letter.

    known: whether a text in lower case is a unit.
    """
    shown = {cell.lower() for cell in cells} - {""}
    if not shown or any(re.search(r"\d", re.sub(r"m[23]|-[123]\b", "", one)) for one in shown):
        return False
    return names_units(header) or all(len(one) > 1 and known(one) for one in shown)


def nearest(numbers: Iterable[int], at: int, after: bool = False) -> int | None:
    """Position of the column of numbers that a column of units belongs to: the nearest, the one before it first.

    after: whether the one after it comes first.
    """
    return min(numbers, key=lambda one: ((one < at) if after else (one > at), abs(one - at)), default=None)

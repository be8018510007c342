"""Numbers in the cells of a table: digits in groups, and the decimal mark."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pandas as pd

NUMBER = re.compile(r"[-+]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][-+]?\d+)?")
# Spaces and apostrophes stand between groups of three digits; anywhere else they are a fault of the cell.
_GROUPING = re.compile(r"(?<=\d)[\s'’](?=\d{3}(?!\d))|(?<=^[-+])\s+")


def ungrouped(cell: str) -> str:
    """A cell without quotation marks and grouping spaces, its minus sign that of a keyboard.

    >>> ungrouped("−10 432,5")
    '-10432,5'
    """
    return _GROUPING.sub("", cell.strip().strip('"').strip().replace("−", "-"))


def likely_decimal_mark(cells: Sequence[str]) -> str | None:
    """Decimal mark of numbers, “.” or “,”; None where all of them can be read both ways, as “1,234” can.

    >>> likely_decimal_mark(["0,5", "1,234"]), likely_decimal_mark(["1.234,5"]), likely_decimal_mark(["1,234"])
    (',', ',', None)
    """
    comma = [cell for cell in cells if "," in cell]
    if not comma:
        return "."
    both = [cell for cell in comma if "." in cell]
    if both:
        return "," if both[0].rindex(",") > both[0].rindex(".") else "."
    return "," if any(not re.fullmatch(r"[-+]?[1-9]\d{0,2}(?:,\d{3})+", cell) for cell in comma) else None


def cut_short(cells: Sequence[str]) -> list[int]:
    """Places of numbers that end or begin with their decimal mark: the rest may be lost. None where many do, by habit.

    >>> cut_short(["8.58", "8.", "8.62", ".6"])
    [1, 3]
    """
    marks = {".", ","}
    found = [
        at
        for at, cell in enumerate(cells)
        if (cell[-1:] in marks or cell.lstrip("-+")[:1] in marks) and re.fullmatch(r"[-+]?(\d+[.,]|[.,]\d+)", cell)
    ]
    return found if len(found) <= max(3, len(cells) // 20) else []


def to_floats(cells: pd.Series, decimal: str) -> np.ndarray:
    """Ungrouped cells as numbers, NaN where a cell is none; decimal: their decimal mark, “.” or “,”."""
    other = "," if decimal == "." else "."
    grouped = cells.str.fullmatch(rf"[-+]?\d{{1,3}}(?:\{other}\d{{3}})+(?:\{decimal}\d*)?")
    if decimal == "," or cells.str.contains(r",\d{3}\b").mean() > 0.3:
        cells = cells.mask(grouped, cells.str.replace(other, "", regex=False))
    if decimal == ",":
        cells = cells.mask(cells.str.contains(".", regex=False), "?").str.replace(",", ".", regex=False)
    found = pd.to_numeric(cells, errors="coerce").to_numpy(float).copy()
    found[cells.str.contains(r"[^0-9.eE+-]").to_numpy(bool)] = np.nan  # “inf”, “0x1f”, “1_000”
    return found

"""The fields of a line, and the names of columns from the lines above a table."""

from __future__ import annotations

import re

import numpy as np

from pondheat.core.tables.decoding import plain_letters

_PRICE_WORDS = {"price", "prices", "preis", "strompreis", "arbeitspreis", "prix", "prijs", "stroomprijs"}
_PRICE_UNIT = re.compile(
    r"(?:[£€$¢]|(?<![a-z])(?:p|pence|cts?|cents?|c|gbp|eur|euros?|usd))\s*(?:/|\bper\b|\bpro\b|\bpar\b|\bje\b)\s*"
    r"(?:[kmg]?wh|m3|m³|therm|unit)\b"
)


def column_label(at: int, header: str) -> str:
    """What messages call the column at a position: by its number from 1, and its header if it has one."""
    return f"column {at + 1}" + (f" (“{header}”)" if header else "")


def split(line: str, separator: str) -> list[str]:
    """Fields of one line; separators inside quotation marks do not count."""
    if '"' in line:
        parts = re.findall(rf'((?:"[^"]*"|[^{re.escape(separator)}"])*)(?:{re.escape(separator)}|$)', line)
        parts = parts[:-1] if len(parts) > 1 and not line.endswith(separator) else parts
        return [part.strip().strip('"').strip() for part in parts]
    return [part.strip() for part in line.split(separator)]


def below_gap(head: list[str], row: np.ndarray, separator: str) -> list[str]:
    """The header lines below an empty line, if the last of them has a name in every cell: those above are remarks."""
    gaps = [at for at in range(1, len(head)) if row[at] - row[at - 1] > 1]
    return head[gaps[-1] :] if gaps and all(split(head[-1], separator)) else head


def column_names(head: list[str], separator: str, width: int) -> list[str]:
    """A name for each column, joined from the header lines that have as many fields; empty if there are none.

    A line above them with a single cell filled, as a workbook's title, names no column.
    """
    rows = [split(line, separator) for line in head]
    named = [fields for fields in rows if len(fields) == width or fields[width:] == [""]][-3:]
    full = next((at for at, fields in enumerate(named) if sum(map(bool, fields)) > 1), 0)
    named = named[full:]
    return [" ".join(fields[at] for fields in named if fields[at]).strip() for at in range(width)]


def names_price(header: str) -> bool:
    """Whether a header is that of a price of energy, not of an amount of it.

    >>> names_price("Unit rate (p/kWh)"), names_price("Strompreis"), names_price("use [kWh]")
    (True, True, False)
    """
    low = plain_letters(header).replace("_", " ")
    return bool(_PRICE_WORDS & set(re.findall(r"[a-z]+", low)) or _PRICE_UNIT.search(low))

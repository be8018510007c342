"""Rows of a table that are no readings: totals, means and counts below it, and its header repeated further down."""

from __future__ import annotations

import re

from pondheat.core.tables.decoding import plain_letters

_SUMMARY = {
    *("total", "totals", "subtotal", "sum", "average", "avg", "mean", "median", "min", "minimum", "max", "maximum"),
    *("count", "std", "stdev", "summe", "gesamt", "gesamtsumme", "zwischensumme", "mittel", "mittelwert", "schnitt"),
    *("durchschnitt", "anzahl", "somme", "moyenne", "ecart", "nombre", "totaal", "subtotaal", "som", "gemiddelde"),
    *("aantal", "end", "ende", "fin", "einde"),
}


def is_summary(cell: str) -> bool:
    """Whether the cell in the place of a time begins a row of totals, means or the like.

    >>> is_summary("Total (kWh)"), is_summary("Moyenne :"), is_summary("noon")
    (True, True, False)
    """
    words = re.findall(r"[a-z]+", plain_letters(cell))
    return bool(words) and not re.search(r"\d{2}", cell) and bool(_SUMMARY & {words[0], words[-1]})

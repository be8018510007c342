"""A column that repeats the unit of each row, such as “kWh”: it counts as if the header of the readings named it."""

from __future__ import annotations

from pondheat.core.tables import unit_columns
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.rows import Lines
from pondheat.meter.reading.cell_text import holds_numbers
from pondheat.meter.reading.headers import SCALES, UNIT_OF_WORD, header_words, unit_from_header

_UNITS = UNIT_OF_WORD | SCALES
_MONEY = {
    "cost",
    "price",
    "charge",
    "amount",
    "gbp",
    "eur",
    "usd",
    "pence",
    "kosten",
    "preis",
    "betrag",
    "prix",
    "cout",
}


def name_unit(lines: Lines, sample: list[list[str]], taken: set[int], unit: str | None, read_log: ReadLog) -> set[int]:
    """Write the unit that a column repeats into the header of the readings beside it; returns the column's position.

    taken: positions of the columns of times and marks; unit: as the reader gave it, which then settles it. Raises
    ReadingsFault for a column with several units, or with another than the header's.
    """
    at = next((at for at in range(len(lines.headers)) if at not in taken and _holds_units(lines, sample, at)), None)
    if at is None:
        return set()
    if unit is not None:
        return {at}
    cells = lines.column_text(at)
    label = lines.subject(at)
    written = sorted(set(cells.tolist()) - {""})
    units = {_UNITS.get(one.lower(), one) for one in written}
    if len(units) > 1:
        first = [int(lines.row[(cells == one).argmax()]) for one in written]
        raise ReadingsFault(
            f"{label} gives several units: {', '.join(f'“{one[:20]}”' for one in written[:6])}, first in "
            f'{rows_text(first)}. To read the rows of one, give device="{written[0][:20]}"; or convert them all to one '
            "unit."
        )
    beside = _readings_beside(lines, sample, taken | {at}, at)
    if beside is None:
        return {at}
    found, header = units.pop(), lines.headers[beside]
    own = unit_from_header(header) or next((SCALES[word] for word in header_words(header) if word in SCALES), "")
    if own and own != found:
        raise ReadingsFault(
            f"{label} says {found}, but the header of column {beside + 1} (“{header}”) says {own}. Which is it? Give "
            f'unit="{found}" or unit="{own}".'
        )
    if not own:
        lines.headers[beside] = f"{header} [{found}]".strip()
        read_log.interpretation.append(f"{label} gives the unit, {found}.")
    return {at}


def _holds_units(lines: Lines, sample: list[list[str]], at: int) -> bool:
    return unit_columns.holds_units(lines.headers[at], (fields[at] for fields in sample), _UNITS.__contains__)


def _readings_beside(lines: Lines, sample: list[list[str]], taken: set[int], at: int) -> int | None:
    """The column of numbers that a column of units belongs to; amounts of money don't count."""
    return unit_columns.nearest(
        (
            one
            for one, header in enumerate(lines.headers)
            if one not in taken and holds_numbers(sample, one) and not _MONEY & set(header_words(header))
        ),
        at,
    )

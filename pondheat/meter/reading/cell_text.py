"""The text of a cell: its number, decimal mark and unit; and whether a column holds numbers."""

from __future__ import annotations

import re

from pondheat.core.tables.numbers import NUMBER, likely_decimal_mark, ungrouped
from pondheat.core.tables.read_log import ReadingsFault
from pondheat.core.tables.rows import MISSING_WORDS
from pondheat.meter.reading.headers import QUANTITY_OF_UNIT, UNIT_OF_WORD

_SUFFIX = re.compile(r"(?<=\d)\s*(kWh|Wh|MWh|kW|W|A|m³|m3|°C|°F|C|F|°)$", re.I)


def plain_text(cell: str) -> str:
    """A cell with grouping spaces, typographic minus signs and a trailing unit removed."""
    if cell.replace(".", "", 1).isdecimal():
        return cell
    return _SUFFIX.sub("", ungrouped(cell))


def unit_of_cell(cell: str) -> str:
    """The meter's unit that a cell names after its number, as in “850 W”; "" where it names none."""
    suffix = _SUFFIX.search(cell.strip().strip('"').strip())
    return UNIT_OF_WORD.get(suffix[1].lower(), "") if suffix else ""


def holds_numbers(sample, at: int) -> bool:
    """Whether more than half of a column's cells are numbers, of those that are not missing."""
    cells = [fields[at] for fields in sample if at < len(fields)]
    good = sum(bool(NUMBER.fullmatch(plain_text(cell))) for cell in cells)
    return good / max(1, len(cells) - sum(cell.lower() in MISSING_WORDS for cell in cells)) > 0.5


def unit_in_cells(sample, at: int) -> str:
    """The unit written in the cells; of several that measure the same, the one of the first cell that has one."""
    found = [unit for fields in sample if (unit := unit_of_cell(fields[at]))]
    return found[0] if len({QUANTITY_OF_UNIT[unit] for unit in found}) == 1 else ""


def decimal_mark(sample, at: int, header: str, decimal: str | None) -> str:
    """Decimal mark of a column, “.” or “,”; raises ReadingsFault where its numbers can be read both ways."""
    if decimal is not None:
        return {"comma": ",", "point": "."}.get(str(decimal), str(decimal))
    cells = [plain_text(fields[at]) for fields in sample]
    if (mark := likely_decimal_mark(cells)) is not None:
        return mark
    comma = [cell for cell in cells if "," in cell]
    raise ReadingsFault(
        f"Is “{comma[0]}” in {f'“{header}”' if header else f'column {at + 1}'} "
        f'{comma[0].replace(",", "")} or {comma[0].replace(",", ".")}? Give decimal="comma" or '
        'decimal="point".'
    )

"""The role of each column of a meter file (meter, water temperature, voltage, power factor), its unit and decimals."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from pondheat.core.ranges import choose
from pondheat.core.tables.header_lines import column_label, names_price
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, listed
from pondheat.meter.reading.cell_text import decimal_mark, unit_in_cells, unit_of_cell
from pondheat.meter.reading.headers import (
    KINDS,
    NOT_USED,
    NOT_WATER,
    PREFERENCE,
    QUANTITY_OF_UNIT,
    header_says_counter,
    header_words,
    names_reading,
    normalised_unit,
    quantity_from_header,
    role_from_header,
    unit_from_header,
)
from pondheat.meter.reading.open_table import LogTable


@dataclass(frozen=True)
class Column:
    """A column of numbers: its position, header, decimal mark, and unit (empty if unknown)."""

    at: int
    header: str
    decimal: str
    unit: str

    @property
    def label(self) -> str:
        """What messages to the reader call it."""
        return column_label(self.at, self.header)

    @property
    def subject(self) -> str:
        """What messages call it at the beginning of a sentence."""
        return f"C{self.label[1:]}"


@dataclass(frozen=True)
class Roles:
    """The columns to be read. counter: whether the header calls the meter's column a counter, None if unsaid."""

    value: Column
    quantity: str | None
    counter: bool | None
    temp: Column | None
    voltage: Column | None
    factor: Column | None
    added: tuple[Column, ...] = ()  # added to the meter's, as the night register to the day register

    @property
    def is_power(self) -> bool:
        """Whether the meter's column gives a power, or a current that makes one, rather than energy."""
        return self.quantity in ("power", "current")

    def columns(self) -> list[Column]:
        """The columns that the file has, the meter's first."""
        return [one for one in (self.value, self.temp, self.voltage, self.factor, *self.added) if one]


def assign_roles(table: LogTable) -> Roles:
    """Roles of the columns, from their headers and contents; raises ReadingsFault where two columns fit one role."""
    sample, headers, taken, name = table.sample, table.lines.headers, table.taken, table.name
    options, read_log, kind = table.options, table.read_log, table.options.kind
    if kind is not None:
        choose("kind of meter", kind, KINDS)
    numeric = table.numeric
    if not numeric:
        raise _no_numbers(headers, taken, name)
    named: dict[str, list[Column]] = {"price": [], "temp": [], "voltage": [], "factor": [], "value": []}
    wanted = [] if options.column is None else _requested_columns(options.column, headers, numeric, name)
    chosen = wanted[0] if wanted else None
    warm = None if options.temp_column is None else _requested_column(options.temp_column, headers, numeric, name)
    for at in numeric:
        place = "value" if at in wanted else "temp" if at == warm else role_from_header(headers[at])
        named[place].append(
            Column(
                at,
                headers[at],
                decimal_mark(sample, at, headers[at], options.decimal),
                unit_from_header(headers[at]) or (unit_in_cells(sample, at) if place == "value" else ""),
            )
        )
    value = _meter_column(named["value"], kind, chosen, name, [headers[at] for at in numeric])
    if warm is not None:
        named["temp"] = [one for one in named["temp"] if one.at == warm]
    if len(named["temp"]) > 1:
        water = [one for one in named["temp"] if re.search("water|pond", one.header.lower())]
        if len(water) != 1:
            raise ReadingsFault(
                f'Which of these is the water temperature: {_labels(named["temp"])}? Give temp_column="…".'
            )
        named["temp"] = water
    if options.unit is not None:
        value = Column(value.at, value.header, value.decimal, normalised_unit(options.unit))
    own = sorted({given for fields in sample if (given := unit_of_cell(fields[value.at]))}) if value.unit else []
    if set(own) - {value.unit}:
        read_log.interpretation.append(
            f"Cells of {value.label} name their own units ({', '.join(own)}), which are converted to {value.unit}."
        )
    quantity = QUANTITY_OF_UNIT.get(value.unit) or (KINDS[kind][0] if kind else quantity_from_header(value.header))
    if kind and QUANTITY_OF_UNIT.get(value.unit, KINDS[kind][0]) != KINDS[kind][0]:
        raise ReadingsFault(f'kind="{kind}" does not fit: {value.label} is in {value.unit}.')
    counter = KINDS[kind][1] if kind else header_says_counter(value.header)
    warm_column, voltage, factor = (next(iter(named[role]), None) for role in ("temp", "voltage", "factor"))
    found = Roles(value, quantity, counter, warm_column, voltage, factor)
    if quantity != "current":
        found = Roles(value, quantity, counter, found.temp, None, None)
    if len(wanted) > 1:
        found = replace(found, added=_added(value, wanted[1:], named["value"], read_log))
    used = {one.at for one in found.columns()}
    if rest := [
        headers[at] or f"column {at + 1}"
        for at in range(len(headers))
        if at not in used | taken and (headers[at] or at in numeric)
    ]:
        read_log.interpretation.append(f"Not used: {', '.join(rest)}.")
    return found


def water_column(table: LogTable) -> Column:
    """The water temperature column of a file without a meter; raises ReadingsFault where none or several fit.

    In a file with a single column of numbers it needs no name, as long as its header doesn't name something else.
    """
    sample, headers, taken, name = table.sample, table.lines.headers, table.taken, table.name
    numeric, temp_column, decimal = table.numeric, table.options.temp_column, table.options.decimal
    if not numeric:
        raise _no_numbers(headers, taken, name)
    ask = 'Give temp_column="…" (its name, or its number from 1).'
    if temp_column is not None:
        fit = [_requested_column(temp_column, headers, numeric, name)]
    else:
        warm = [at for at in numeric if role_from_header(headers[at]) == "temp"]
        wet = [at for at in warm or numeric if re.search("water|pond", headers[at].lower())]
        fit = wet or warm or [at for at in numeric if not unit_from_header(headers[at]) and len(numeric) == 1]
    found = [Column(at, headers[at], decimal_mark(sample, at, headers[at], decimal), "") for at in fit]
    shown = [table.lines.label(at) for at in fit or numeric]
    if not fit:
        raise ReadingsFault(
            f"Which column of {name} is the water temperature? No header says so: {', '.join(shown)}. {ask}"
        )
    if len(fit) > 1:
        raise ReadingsFault(f"Which of these is the water temperature: {', '.join(shown)}? {ask}")
    if temp_column is None and NOT_WATER & set(header_words(found[0].header)):
        raise ReadingsFault(f"Is {shown[0]} the water temperature? Its name says otherwise. {ask}")
    if rest := [headers[at] for at in range(len(headers)) if at not in {fit[0], *taken} and headers[at]]:
        table.read_log.interpretation.append(f"Not used: {', '.join(rest)}.")
    return found[0]


def only_temperatures(table: LogTable) -> bool:
    """Whether a header names a temperature, and none names anything a meter shows."""
    headers, numeric = table.lines.headers, table.numeric
    warm = [at for at in numeric if role_from_header(headers[at]) == "temp"]
    rest = [headers[at] for at in numeric if at not in warm]
    return bool(warm) and not any(unit_from_header(head) or quantity_from_header(head) for head in rest)


def _requested_columns(column, headers: list[str], numeric: list[int], name: str) -> list[int]:
    """Positions of the column requested, or of several joined by “+”."""
    whole = str(column).strip().lower()
    if "+" not in whole or whole in (head.lower() for head in headers):
        return [_requested_column(column, headers, numeric, name)]
    parts = [part.strip() for part in str(column).split("+")]
    found = [_requested_column(one, headers, numeric, name) for one in parts]
    if len(set(found)) < len(found):
        raise ReadingsFault(f"“{str(column)[:40]}” names one column twice. Give each column once.")
    return found


def _added(value: Column, others: list[int], found: list[Column], read_log: ReadLog) -> tuple[Column, ...]:
    """The columns to add to the meter's; raises ReadingsFault where their units differ."""
    added = tuple(one for at in others for one in found if one.at == at)
    for one in added:
        if one.unit and value.unit and one.unit != value.unit:
            raise ReadingsFault(
                f"{one.subject} is in {one.unit} and {value.label} in {value.unit}: "
                'they cannot be added. Give column="…" with one of them, or convert both to one unit.'
            )
    read_log.interpretation.append(f"Added, row by row: {_labels([value, *added])}.")
    return added


def _requested_column(column, headers: list[str], numeric: list[int], name: str) -> int:
    """Position of the column requested by name or by number (from 1)."""
    wanted = str(column).strip().lower()
    same = [at for at in numeric if headers[at].lower() == wanted]
    if len(same) == 1:
        return same[0]
    if wanted.isdecimal() and int(wanted) - 1 in numeric:
        return int(wanted) - 1
    raise ReadingsFault(
        f"{name} has no column of numbers “{str(column)[:40]}”. It has: "
        + ", ".join(f"{at + 1} {headers[at]}".strip() for at in numeric)
        + "."
    )


def _meter_column(found: list[Column], kind, chosen, name: str, headers: list[str]) -> Column:
    """The meter's column, from those without another role; raises ReadingsFault where none or several fit."""
    if chosen is not None:
        return next(one for one in found if one.at == chosen)
    if not found and all(map(names_price, headers)):
        raise ReadingsFault(
            f"{name} holds prices, “{headers[0]}”, and no readings of a meter. A tariff names it, as in "
            f'[tariff] prices = "{name}". If they are readings all the same, give column="{headers[0]}".'
        )
    if not found:
        raise ReadingsFault(
            f"No column of {name} looks like a meter's, only {', '.join(f'“{one}”' for one in headers)}. Name the "
            "meter's column with its unit, such as “reading [kWh]”."
        )

    def quantity(one: Column):
        return QUANTITY_OF_UNIT.get(one.unit) or quantity_from_header(one.header)

    wanted = KINDS[kind][0] if kind else next((q for q in PREFERENCE if any(quantity(one) == q for one in found)), None)
    fit = [one for one in found if quantity(one) == wanted] or [one for one in found if quantity(one) is None]
    if kind and any(quantity(one) not in (None, wanted) for one in found):
        # beside a column of another quantity, one without a unit need not be the meter's: it may be a probe's
        fit = [one for one in fit if quantity(one) == wanted or names_reading(one.header)]
    fit = [one for one in fit if not NOT_USED & set(header_words(one.header))] or fit
    if len(fit) > 1 and kind:
        says = [one for one in fit if header_says_counter(one.header) is KINDS[kind][1]]
        fit = says if len(says) == 1 else fit
    elif len(fit) > 1:
        says = [one for one in fit if header_says_counter(one.header)]
        fit = says if len(says) == 1 else fit
    if len(fit) == 1:
        return fit[0]
    if kind and not fit:
        raise ReadingsFault(
            f'kind="{kind}" was given, but no column of {name} has such a unit: '
            + ", ".join(f"{one.label} {f'is in {one.unit}' if one.unit else 'has no unit'}" for one in found)
            + '. Leave kind out, give the kind that fits a unit, or name the meter\'s column: column="…".'
        )
    raise ReadingsFault(
        f"Which of these is the "
        f'meter\'s column: {_labels(fit or found)}? Give column="…" (its name or number), or column="A+B" to add two, '
        "such as day and night registers."
    )


def _no_numbers(headers: list[str], taken: set[int], name: str) -> ReadingsFault:
    """The error for a table with times but no numbers."""
    rest = ", ".join(f"“{head}”" for at, head in enumerate(headers) if at not in taken and head)
    return ReadingsFault(
        f"Apart from the time, no column of {name} holds numbers{f', not even {rest}' if rest else ''}. Put the "
        "readings into one, such as 10432.5."
    )


def _labels(columns: list[Column]) -> str:
    """The labels of columns."""
    return listed([one.label for one in columns])

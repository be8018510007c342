"""Other shapes of a weather table made into one row for each time: long tables, several stations, columns of units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.tables import unit_columns
from pondheat.core.tables.decoding import plain_letters
from pondheat.core.tables.estimates import is_faulty
from pondheat.core.tables.read_log import listed, rows_text
from pondheat.core.tables.stray_rows import is_summary
from pondheat.season.weather.answers import Answers, ask
from pondheat.season.weather.columns import COLUMN_UNITS, Column, is_unit, parse_column_header, unit_conversion
from pondheat.season.weather.record import WeatherError

# Names of the columns of a long table, in lower case and without accents: English, German, French, Dutch.
_QUANTITIES = {"parameter", "param", "variable", "quantity", "element", "measurement", "measurand", "type", "channel"}
_QUANTITIES |= {
    "code",
    "observation",
    "metric",
    "sensor",
    "name",
    "messgrosse",
    "grosse",
    "merkmal",
    "grandeur",
    "mesure",
}
_QUANTITIES |= {"parametre", "grootheid", "meetgrootheid", "kenmerk"}
_VALUES = {"value", "values", "reading", "result", "val", "wert", "messwert", "valeur", "waarde", "meetwaarde"}
_STATIONS = {
    "station",
    "site",
    "location",
    "place",
    "sensor",
    "device",
    "id",
    "standort",
    "messstelle",
    "ort",
    "stelle",
}
_STATIONS |= {"lieu", "poste", "locatie", "plaats", "logger", "stations"}
_MOST_STATIONS = 200
_TIMES = ("time", "date")


@dataclass
class Table:
    """A table as text: headers, cells by position, and the number of each row in the file.

    row_of: position → rows of its cells, where a long table had a row for each.
    """

    name: str
    headers: list[str]
    cells: pd.DataFrame
    row: pd.Series
    row_of: dict[int, pd.Series] = field(default_factory=dict)

    def rows_at(self, at: int) -> pd.Series:
        """The row of each cell of a column."""
        return self.row_of.get(at, self.row)

    def kept(self, which: np.ndarray) -> Table:
        """The table with only some of its rows."""
        cells, row = self.cells[which].reset_index(drop=True), self.row[which].reset_index(drop=True)
        return Table(self.name, self.headers, cells, row)


def words_of(header: str) -> set[str]:
    """The words of a header in lower case, without accents and what is in brackets."""
    return set(re.findall(r"[a-z]+", plain_letters(re.sub(r"[\[(].*", "", header))))


def is_long_header(headers: Sequence[str]) -> bool:
    """Whether a header names a time, a quantity and its value, as that of a long table does.

    >>> is_long_header(["Time", "Parameter", "Value", "Unit"]), is_long_header(["time", "air_temp", "wind"])
    (True, False)
    """
    named = [parse_column_header(head) for head in headers]
    timed = any(one and one[0] in ("time", "date") for one in named)
    return timed and any(words_of(one) & _QUANTITIES for one in headers) and any(words_of(h) & _VALUES for h in headers)


def names_air(cells: Sequence[str]) -> bool:
    """Whether one of these cells names the air temperature, as the column of quantities of a long table does."""
    return any((found := parse_column_header(cell)) is not None and found[0] == "air_temp" for cell in cells)


def without_strays(table: Table, notes: list[str]) -> Table:
    """The table without totals and remarks below it, and without its header where that is repeated."""
    times = [at for at, head in enumerate(table.headers) if (one := parse_column_header(head)) and one[0] in _TIMES]
    if not times or not len(table.row):
        return table
    first = table.cells[min(times)].to_numpy(object)
    odd = [at for at, cell in enumerate(first) if cell[:1].isalpha() or not cell.strip()]
    if len(odd) > 0.5 * len(first):
        return table
    begun = table.headers[min(times)].strip()
    stray = []
    for at in odd:
        cells = [str(cell).strip() for cell in table.cells.iloc[at]]
        words = first[at].strip() or cells[0]
        if words == begun or is_summary(words) or words and sum(map(bool, cells)) == 1:
            stray.append(at)
    if stray:
        rows = rows_text(table.row.iloc[stray])
        notes.append(f"{counted(len(stray), 'row', 'rows')} of totals, heads or remarks left out: {rows}.")
        return table.kept(~np.isin(np.arange(len(first)), stray))
    return table


def one_station(table: Table, answers: Answers, notes: list[str]) -> Table:
    """The rows of one station, where a column names several with the same times; raises `WeatherError` to ask which."""
    quantity = _quantity_column(table)
    keyed = [at for at, head in enumerate(table.headers) if (one := parse_column_header(head)) and one[0] in _TIMES]
    candidates = {
        at: names
        for at, head in enumerate(table.headers)
        if at != quantity and at not in keyed and words_of(head) & _STATIONS and not words_of(head) & {"height"}
        if 0 < len(names := sorted(set(table.cells[at].unique()) - {""})) <= _MOST_STATIONS
    }
    if answers.station is not None:
        for at in candidates:
            mine = (table.cells[at].str.casefold() == answers.station.strip().casefold()).to_numpy()
            if mine.all():
                return table
            if mine.any():
                notes.append(
                    f"Only the rows of “{answers.station}” in column {at + 1} are read; the other {int((~mine).sum())} "
                    "belong to other stations."
                )
                return table.kept(mine)
        there = "; ".join(_listed(names) for names in candidates.values())
        raise WeatherError(
            f"No column of {table.name} names a station “{answers.station[:40]}”. "
            + (f"There are: {there}." if there else "Leave the station out.")
        )
    candidates = {at: names for at, names in candidates.items() if len(names) > 1}
    if not candidates or not keyed:
        return table
    keys = table.cells[[*keyed, *([] if quantity is None else [quantity])]]
    if keys.duplicated().mean() < 0.3:
        return table
    for at, names in candidates.items():
        if pd.concat([keys, table.cells[at].rename("station")], axis=1).duplicated().mean() < 0.05:
            raise WeatherError(
                f"Column {at + 1} (“{table.headers[at].strip()}”) of {table.name} names several stations with the same "
                f'times: {_listed(names)}. Which one should be read? Give --weather-station "{names[0][:40]}", say, or '
                f"write the line “# station: {names[0][:40]}” above the header."
            )
    return table


def _listed(names: Sequence[str]) -> str:
    return listed([f"“{one[:40]}”" for one in names])


# --- a row for each value -----------------------------------------------------------------------------------------


def _quantity_column(table: Table) -> int | None:
    """The column of a long table that names the quantity of each row; None in a table with a column of air
    temperature, or without a cell that names it."""
    if names_air(table.headers):
        return None
    for at, head in enumerate(table.headers):
        if words_of(head) & _QUANTITIES and names_air(list(table.cells[at].unique()[:500])):
            return at
    return None


def widened(table: Table, answers: Answers, notes: list[str]) -> Table:
    """A long table, with a row for each value, as one with a row for each time; other tables as they are.

    Raises `WeatherError` where a quantity is given in several units, or the column of values isn't clear.
    """
    quantity_at = _quantity_column(table)
    if quantity_at is None:
        _require_air(table)
        return table
    keyed = [at for at, head in enumerate(table.headers) if (one := parse_column_header(head)) and one[0] in _TIMES]
    values = [at for at, head in enumerate(table.headers) if words_of(head) & _VALUES and at != quantity_at]
    if len(values) != 1 or not keyed:
        said = ", ".join(f"“{table.headers[at].strip()}”" for at in values) or "none"
        raise WeatherError(
            f"{table.name} has a row for each value, with the quantity in column {quantity_at + 1} "
            f"(“{table.headers[quantity_at].strip()}”). It needs one column “time” and one column “value”; called so: "
            f"{said}."
        )
    unit_at = next((at for at, head in enumerate(table.headers) if unit_columns.names_units(head)), None)
    rest = [at for at in range(len(table.headers)) if at not in {*keyed, quantity_at, values[0], unit_at}]
    given = _without_faulty(table, values[0], rest, notes)
    names = table.cells[quantity_at].str.strip()
    listed: list[str] = names.drop_duplicates().tolist()
    code = names.map({one: at for at, one in enumerate(listed)}).to_numpy(int)
    key = table.cells[keyed[0]]
    for at in keyed[1:]:
        key = key + "\0" + table.cells[at]
    again = pd.DataFrame({"key": key, "code": code}).groupby(["key", "code"]).cumcount()
    place, first = pd.factorize(key + "\0" + again.astype(str))
    shape = (len(first), len(listed))
    made, rows = np.full(shape, "", object), np.zeros(shape, np.int64)
    made[place, code] = given.to_numpy(object)
    rows[place, code] = table.row.to_numpy()
    leads = np.unique(place, return_index=True)[1]
    rows = np.where(rows == 0, table.row.to_numpy()[leads][:, None], rows)
    headers = [table.headers[at] for at in keyed]
    headers += [_with_unit(name, table, names == name, unit_at, answers) for name in listed]
    columns = [table.cells[at].to_numpy(object)[leads] for at in keyed] + list(made.T)
    notes.append(
        f"{table.name} has a row for each value: column {quantity_at + 1} “{table.headers[quantity_at].strip()}” names "
        f"{counted(len(listed), 'quantity', 'quantities')}, read as {counted(len(first), 'row', 'rows')} of times."
    )
    return Table(
        table.name,
        headers,
        pd.DataFrame(dict(enumerate(columns))),
        pd.Series(rows.min(axis=1)),
        {at + len(keyed): pd.Series(rows[:, at]) for at in range(len(listed))},
    )


def _require_air(table: Table) -> None:
    """Raise `WeatherError` where a long table has no quantity known as the air temperature."""
    if names_air(table.headers) or not is_long_header(table.headers):
        return
    at = next(at for at, head in enumerate(table.headers) if words_of(head) & _QUANTITIES)
    names = table.cells[at].str.strip().drop_duplicates().tolist()
    raise WeatherError(
        f"{table.name} has a row for each value, but none of the quantities in column {at + 1} "
        f"(“{table.headers[at].strip()}”) is known as the air temperature: {_listed(names)}. Call it air_temp there, "
        "and the others rel_humidity, wind_speed, solar and so on."
    )


def _without_faulty(table: Table, value_at: int, beside: Sequence[int], notes: list[str]) -> pd.Series:
    """The values of a long table without those that a column beside them marks as faulty; other columns are told."""
    values, unused = table.cells[value_at], []
    for at in beside:
        marks = [one for one in table.cells[at].unique() if is_faulty(one)]
        which = table.cells[at].isin(marks)
        if which.any():
            values = values.mask(which, "")
            notes.append(
                f"Column {at + 1} marks {counted(int(which.sum()), 'row', 'rows')} as “{marks[0][:20]}”, left out: "
                f"{rows_text(table.row[which])}."
            )
        elif table.headers[at].strip():
            unused.append(table.headers[at].strip())
    if unused:
        notes.append(f"Columns in {table.name} not used: {', '.join(unused)}.")
    return values


def _with_unit(name: str, table: Table, mine: pd.Series, unit_at: int | None, answers: Answers) -> str:
    """The name of a quantity with the unit that a column gives it, as a header."""
    found = parse_column_header(name)
    if unit_at is None or found is None or found[0] not in COLUMN_UNITS or found[0] in answers.units:
        return name
    unit = _one_unit(found[0], found[1], unit_at, table, mine)
    return name if found[1] or not unit else f"{name} [{unit}]"


def _one_unit(column: str, own: str, at: int, table: Table, mine: pd.Series | None = None) -> str:
    """The unit in a column of units; raises `WeatherError` for several, and for another than the header's own."""
    cells = table.cells[at].str.strip() if mine is None else table.cells[at][mine].str.strip()
    written = [one for one in cells.unique() if one]
    known = {one: unit_conversion(column, one, 60.0) if is_unit(column, one) else one for one in written}
    label = f"Column {at + 1} (“{table.headers[at].strip()}”) of {table.name}"
    if len(set(known.values())) > 1:
        others = [one for one in written if known[one] != known[written[0]]]
        rows = [int(table.row[cells.index[(cells == one).to_numpy().argmax()]]) for one in (written[0], others[0])]
        raise WeatherError(
            f"{label} gives {column} in several units: “{written[0][:20]}” (first in row {rows[0]}) and "
            f"“{others[0][:20]}” (row {rows[1]}). Convert them to one; or, if the numbers are all in "
            f'one unit, give --weather-unit "{column}={written[0][:20]}", or write the line “# unit {column}: '
            f"{written[0][:20]}” above the header."
        )
    if own and written and is_unit(column, own) and known[written[0]] != unit_conversion(column, own, 60.0):
        raise WeatherError(
            f"{label} gives {column} in {written[0][:20]}, but its header says {own}. Which is it? "
            + ask(column, own, written[0])
        )
    return written[0] if written else ""


# --- units beside the values --------------------------------------------------------------------------------------


def take_units_beside(table: Table, columns: dict[str, Column], answers: Answers) -> set[int]:
    """Give the columns the units that columns beside them repeat; returns the positions of those.

    Raises `WeatherError` for a column of several units, or of another than the header's.
    """
    position = {one.position: name for name, one in columns.items()}
    taken: set[int] = set()
    found = []
    for at, head in enumerate(table.headers):
        if at in position:
            continue
        shown = table.cells[at].iloc[:50]
        if unit_columns.holds_units(head, shown, lambda cell: any(is_unit(one, cell) for one in COLUMN_UNITS)):
            found.append(at)
    numbers = [at for at in range(len(table.headers)) if at in position or _numeric(table.cells[at])]
    numbers = [at for at in numbers if position.get(at) not in _TIMES]
    numbers = [at for at in numbers if at not in found]
    first = bool(found) and not any(at < found[0] for at in numbers)  # each unit before its numbers
    for at in found:
        beside = unit_columns.nearest(numbers, at, first)
        name = position.get(beside) if beside is not None else None
        taken.add(at)
        if name not in COLUMN_UNITS or name in answers.units:
            continue
        unit = _one_unit(name, columns[name].unit, at, table)
        columns[name].unit = columns[name].unit or unit
    return taken


def _numeric(cells: pd.Series) -> bool:
    """Whether most of a column's first cells are numbers."""
    return bool(cells.iloc[:50].str.fullmatch(r"\s*[-+−]?\d*[.,]?\d+\s*").mean() > 0.5)

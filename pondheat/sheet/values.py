"""Parse the values of a pond sheet's tables as people write them, and collect all faults."""

from __future__ import annotations

import datetime as dt
import difflib
import re
from pathlib import Path

from pondheat.core import display_units, ranges, units, value_parsers
from pondheat.core.errors import OTHER_CURRENCY
from pondheat.core.number_format import counted
from pondheat.core.units import Unreadable
from pondheat.core.value_parsers import TableReader
from pondheat.heat import walls
from pondheat.heat.covers import gap_air_flow
from pondheat.sheet.keys import KEYS, TARIFF_KEYS, SheetFault

CRACK_WIND = 0.5  # m/s in a gap behind a hedge: common practice, no source
_MOST_LEAK = 1.0  # m³/s; more is not a cover
_LONG = 60  # characters of a value that a message repeats


class Reader:
    """Reads a document's tables and values, and collects faults and notes."""

    def __init__(self, document: dict, folder: Path):
        self.document, self.folder = document, folder
        self.faults: list[SheetFault] = []
        self.notes: list[str] = []
        self.currency = units.GBP
        tables = [name for name in KEYS if name]
        self.top = _table({k: v for k, v in document.items() if k not in tables}, (*KEYS[""], *tables), "")

    def table(self, name: str) -> TableReader:
        """Reader of the table `name`, which is empty where the sheet has none."""
        return self._as_table(self.document.get(name, {}), name, name, f"[{name}]")

    def listed(self, name: str) -> list[TableReader]:
        """Readers of the tables `[[name]]`; their paths are numbered from 1."""
        given = self.document.get(name, [])
        if not isinstance(given, list):
            self.faults.append(
                SheetFault(name, _short(given), f"this is a list: begin each with [[{name}]] in double brackets.")
            )
            return []
        numbered = enumerate(given, start=1)
        return [self._as_table(one, name, f"{name}[{number}]", f"[[{name}]]") for number, one in numbered]

    def _as_table(self, values, name: str, path: str, heading: str) -> TableReader:
        if not isinstance(values, dict):
            self.faults.append(SheetFault(path, _short(values), f"this is a table: begin it with {heading}."))
            values = {}
        return _table(values, tuple(KEYS[name]), path)

    def close(self, *taken: TableReader) -> None:
        """Collect the faults of these tables."""
        for table in taken:
            for path, sentence in table.faults:
                given = table.values.get(path.removeprefix(table.path), "")
                for whole in {str(given), str(given).strip().lower()}:
                    if len(whole) > _LONG:
                        sentence = sentence.replace(whole, _short(whole))
                self.faults.append(SheetFault(_short(path), _short(given), sentence.replace(path, _short(path))))

    def forget_other_currencies(self) -> None:
        """Drop what is said of amounts in another currency where the sheet's own can't be read: they may be in it."""
        if any(one.key == "currency" for one in self.faults):
            self.faults = [one for one in self.faults if OTHER_CURRENCY not in one.sentence]

    def value(self, table: TableReader, key: str, unit: str, name: str | None = None, absent=None, positive=False):
        """A quantity in `unit`, checked against the plausible range of parameter `name`; None where it is wrong.

        absent: returned where the key is missing; positive: refuse zero and less.
        """
        example = KEYS[table.path.rstrip(".").split("[")[0]][key][0]

        def read(given):
            try:
                got = units.parse(given, unit, self.currency)
            except Unreadable:
                _refuse_bare(given, unit, name, example)
                raise
            if name and (wrong := ranges.range_error(name, got, unit, self.currency, f"“{given}”")):
                raise Unreadable(wrong)
            if positive and got <= 0:
                raise Unreadable(f"“{given}” is not above zero.")
            if name and ranges.unusual(name, got):
                self.notes.append(f"{table.path}{key} = {given}: unusual, but used as given.")
            return got

        return table.take(key, read, absent, example)


def _table(values: dict, known: tuple[str, ...], path: str) -> TableReader:
    """Reader of a table; faults of unknown keys name the tables that have such a key."""
    made = TableReader(values, known, path)
    for number, (where, sentence) in enumerate(made.faults):
        homes = [f"[{name}]" for name, keys in KEYS.items() if name and where.removeprefix(made.path) in keys]
        if homes:
            made.faults[number] = (where, f"{sentence} It belongs under {' or '.join(homes)}.")
    return made


def _short(value) -> str:
    text = str(value)
    return text if len(text) <= _LONG else text[: _LONG - 3] + "…"


def _refuse_bare(given, unit: str, name: str | None, example: str) -> None:
    """Raise a clearer error for a number without a unit that is implausible in the library's own unit, too."""
    try:
        number = units.parse(given, unit, bare=True)
    except Unreadable:
        return
    if name and ranges.range_error(name, number, unit):
        raise Unreadable(
            f"“{given}” has no unit, and {number:g} {units.pretty(unit)} can't be right. Write it as {example}."
        ) from None


# --- parsers of single values -------------------------------------------------------------------------------------


def one_of(what: str, known):
    """Parser that accepts one of the `known` words for `what`."""

    def read(value):
        return ranges.choose(what, str(value).strip().lower(), known)

    return read


def date(value) -> dt.date:
    """A full date from a TOML date or text."""
    if isinstance(value, dt.datetime):
        value = value.date()
    try:
        day = value if isinstance(value, dt.date) else dt.date.fromisoformat(str(value).strip())
    except ValueError:
        raise Unreadable(f"“{value}” is not a date. Write it as 2025-09-01.") from None
    if not 1900 <= day.year <= 2200:
        raise Unreadable(f"{day} can't be right: the year should be from 1900 to 2200.")
    return day


def evenings(value) -> tuple:
    """Evenings on which a cover is forgotten: full dates, or (month, day) of every year."""
    days = []
    for item in value if isinstance(value, list) else [value]:
        full = isinstance(item, dt.date) or re.fullmatch(r"\d{4}-\d{2}-\d{2}", str(item).strip())
        days.append(date(item) if full else value_parsers.day_of_year(item))
    return tuple(days)


def keys_of_the_sheet(value) -> tuple[str, ...]:
    """A list of sheet keys such as “cover.u_value”. Raises `Unreadable` for unknown ones."""
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise Unreadable(f'“{_short(value)}” given: a list of keys is needed, such as ["cover.u_value", "pump.power"].')
    known = [f"{table}.{key}" if table else key for table, keys in KEYS.items() for key in keys] + list(TARIFF_KEYS)
    for one in value:
        if one not in known:
            near = difflib.get_close_matches(one, known, 1, 0.5)
            meant = f" Did you mean “{near[0]}”?" if near else ""
            raise Unreadable(f"“{_short(one)}” is not a key of a pond sheet.{meant}")
    return tuple(value)


def layers(value) -> tuple[list[float], list[float]]:
    """Thicknesses [m] and conductivities [W/(m·K)] of a list such as ["2 mm HDPE", "50 mm EPS"]."""
    if not isinstance(value, list) or not value:
        raise Unreadable('A list is needed, inside to outside: ["2 mm HDPE", "50 mm EPS"].')
    known = {name.lower(): constant.value for name, constant in walls.MATERIALS.items()}
    thicknesses, conductivities = [], []
    for item in value:
        size, _, material = str(item).strip().rpartition(" ")
        if not size or material.lower() not in known:
            raise Unreadable(
                f"“{_short(item)}” is not a layer. Write a thickness and a material: 50 mm EPS. "
                f"Known: {', '.join(walls.MATERIALS)}."
            )
        thickness = units.parse(size, "m")
        if not 0 < thickness <= 2:
            raise Unreadable(f"A layer {thickness:g} m thick can't be right: it should be between 0 and 2 m.")
        thicknesses.append(thickness)
        conductivities.append(known[material.lower()])
    return thicknesses, conductivities


def leak(value) -> float:
    """Air that leaks under a cover [m³/s] from a flow or an open gap “1 m x 1 cm”."""
    match = re.fullmatch(r"\s*(.+?)\s*[x×]\s*(.+?)\s*", str(value))
    if match:
        # air must come out as well as in: half of the gap is inlet
        flow = 0.5 * gap_air_flow(units.parse(match[1], "m"), units.parse(match[2], "m"), CRACK_WIND)
    else:
        flow = units.parse(value, "m**3/s")
    if not 0 <= flow <= _MOST_LEAK:
        raise Unreadable(
            f"“{value}” is {1000 * flow:g} L/s: it should be between 0 and {1000 * _MOST_LEAK:g} L/s; "
            "a gap of 1 m by 1 cm leaks about 5."
        )
    return flow


def set_point(value) -> tuple:
    """Steps ((month, day), °C or None for no heat) from one temperature or a table by date."""

    def one(given):
        if str(given).strip().lower() in ("none", "off", "no heat"):
            return None
        got = units.parse(given, "degC")
        if not 1 <= got <= 35:
            raise Unreadable(
                f"“{given}” can't be right: a pond is held between {display_units.quantity('1 and 35', 'degC')}"
                + ("; " + hint if (hint := ranges.suggest_correction("set_point", got)) else ".")
            )
        return got

    if not isinstance(value, dict):
        return (((1, 1), one(value)),)
    if not value:
        raise Unreadable('No date is given. Write { "1 Sep" = "18 °C" } or one temperature.')
    steps = tuple((value_parsers.day_of_year(day), one(given)) for day, given in value.items())
    if len({day for day, _ in steps}) < len(steps):
        raise Unreadable("One day of the year is here twice: which of its temperatures is right?")
    return steps


def water_change(value, volume: float | None) -> float:
    """Water change as a flow [m³/s], from a daily share of the volume [m³, None where unknown] or a daily amount."""
    text = str(value)
    percent = "%" in text or "per cent" in text
    daily = re.sub(r"\s*(?:/|\bper\b|\ban?\b)\s*day\s*$", "", text)
    try:
        share = units.parse(daily if percent else value, "dimensionless")
    except units.WrongDimension:
        flow = units.parse(f"{daily}/day" if daily == text and "/" not in text else text, "m**3/s")
        share = 0.0 if volume is None else flow * 86_400 / volume
        if not 0 <= share <= 5:
            raise Unreadable(
                f"“{value}” is {100 * share:.3g} % of the volume a day: it should be between 0 and 500 %."
            ) from None
        return flow
    if not 0 <= share <= (5 if percent else 1):
        hint = f"; did you mean {share:g} %?" if 1 < share <= 100 and not percent else "."
        raise Unreadable(f"“{value}” can't be right: it should be between 0 and 500 % of the volume a day{hint}")
    return share * (volume or 1.0) / 86_400


def emission_factor(value) -> float:
    """Greenhouse gases of a kWh [kg/kWh] from “0.2 kg/kWh”, “207 g CO2e/kWh” or “450 lb/MWh”."""
    text = re.sub(r"\s*(?:of\s+)?CO(?:2|₂)\s*-?\s*(?:eq?\b\.?|equivalent)?", "", str(value), flags=re.IGNORECASE)
    given = units.parse(value if isinstance(value, (int, float)) else text, "kg/kWh")
    if wrong := ranges.range_error("kg_per_kwh", given, typed=f"“{value}”"):
        raise Unreadable(wrong)
    return given


def mains(value) -> tuple[float, ...]:
    """Temperatures of new water in the twelve months [°C] from one or twelve values."""
    listed = value if isinstance(value, list) else [value]
    if len(listed) not in (1, 12):
        raise Unreadable(
            f"{counted(len(listed), 'value', 'values')} given: one, or twelve from January to December, are needed."
        )
    temps = tuple(units.parse(item, "degC") for item in listed)
    for given, temp in zip(listed, temps):
        if wrong := ranges.range_error("mains_temp", temp, typed=f"“{given}”"):
            raise Unreadable(wrong)
    return temps * (12 // len(temps))


def whole(value) -> int:
    """A whole number, zero or more."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise Unreadable(f"“{value}” is not a whole number such as 1.")
    return value

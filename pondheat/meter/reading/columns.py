"""The role of each column of a meter file (meter, water temperature, voltage, power factor), its unit and decimals."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core.ranges import choose
from pondheat.core.tables.read_log import ReadingsFault, ReadLog
from pondheat.core.tables.rows import MISSING_WORDS

# kind: (quantity, whether it is a running counter)
KINDS = {
    "counter": ("energy", True),
    "interval": ("energy", False),
    "power": ("power", False),
    "current": ("current", False),
    "flashes": ("flashes", False),
    "flash counter": ("flashes", True),
    "gas": ("gas", False),
    "gas counter": ("gas", True),
}
_UNIT_SPELLINGS = {
    "kWh": "kwh units",
    "Wh": "wh",
    "MWh": "mwh",
    "MJ": "mj",
    "GJ": "gj",
    "kW": "kw",
    "W": "w watt watts",
    "A": "a amp amps ampere amperes",
    "m³": "m³ m3 m^3",
    "ft³": "ft³ ft3 cuft cf",
    "100 ft³": "ccf hcf",
    "flashes": "imp pulses impulses flashes pulse impulse flash blinks",
}
_UNIT_OF_WORD = {word: unit for unit, words in _UNIT_SPELLINGS.items() for word in words.split()}
_UNITS_OF_QUANTITY = {
    "energy": ("kWh", "Wh", "MWh", "MJ", "GJ"),
    "power": ("kW", "W"),
    "current": ("A",),
    "gas": ("m³", "ft³", "100 ft³"),
    "flashes": ("flashes",),
}
_QUANTITY_OF_UNIT = {unit: quantity for quantity, known in _UNITS_OF_QUANTITY.items() for unit in known}
# What one of each unit is in kWh, W, A, m³ or flashes.
UNIT_FACTOR = {
    "kWh": 1.0,
    "Wh": 1e-3,
    "MWh": 1e3,
    "MJ": 1 / 3.6,
    "GJ": 1e3 / 3.6,
    "kW": 1e3,
    "W": 1.0,
    "A": 1.0,
    "m³": 1.0,
    "ft³": 0.3048**3,
    "100 ft³": 100 * 0.3048**3,
    "flashes": 1.0,
}
_COUNTER_WORDS = {"counter", "reading", "readings", "register", "cumulative", "index", "odometer", "running"}
_INTERVAL_WORDS = {"use", "usage", "used", "consumption", "consumed", "interval", "delta", "per", "difference"}
_TEMP_WORDS = {"temp", "temperature", "°c", "degc", "°f", "degf", "celsius", "fahrenheit", "watertemp"}
_NOT_WATER = {"air", "room", "outdoor", "outdoors", "outside", "ambient", "dew"}
_PREFERENCE = ("energy", "gas", "flashes", "power", "current")  # the most direct measurement first
_NUMBER = re.compile(r"[-+]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][-+]?\d+)?")
_SUFFIX = re.compile(r"(?<=\d)\s*(kWh|Wh|MWh|kW|W|A|m³|m3|°C|°F|C|F)$", re.I)


@dataclass(frozen=True)
class Column:
    """A column of numbers: its position, header, decimal mark, and unit (empty if unknown)."""

    at: int
    header: str
    decimal: str
    unit: str

    @property
    def label(self) -> str:
        """How sentences for the reader refer to it."""
        return f"column {self.at + 1}" + (f" (“{self.header}”)" if self.header else "")


@dataclass(frozen=True)
class Roles:
    """The columns to be read. counter: whether the header calls the meter's column a counter, None if it is silent."""

    value: Column
    quantity: str | None
    counter: bool | None
    temp: Column | None
    voltage: Column | None
    factor: Column | None

    def columns(self) -> list[Column]:
        """The columns that the file has, the meter's first."""
        return [one for one in (self.value, self.temp, self.voltage, self.factor) if one]


def assign_roles(
    sample,
    headers: list[str],
    taken: set[int],
    *,
    kind,
    unit,
    column,
    decimal,
    temp_column,
    name: str,
    read_log: ReadLog,
) -> Roles:
    """Roles of the columns, from their headers and contents; raises ReadingsFault where two columns fit one role."""
    if kind is not None:
        choose("kind", kind, KINDS)
    numeric = [at for at in range(len(headers)) if at not in taken and _numeric_share(sample, at) > 0.5]
    if not numeric:
        raise ReadingsFault(f"No column of {name} beside the time holds numbers.")
    named: dict[str, list[Column]] = {"temp": [], "voltage": [], "factor": [], "value": []}
    chosen = _requested_column(column, headers, numeric, name) if column is not None else None
    warm = _requested_column(temp_column, headers, numeric, name) if temp_column is not None else None
    for at in numeric:
        place = "value" if at == chosen else "temp" if at == warm else _role_from_header(headers[at])
        named[place].append(
            Column(
                at,
                headers[at],
                _decimal_mark(sample, at, headers[at], decimal),
                _unit_from_header(headers[at]) or (_unit_in_cells(sample, at) if place == "value" else ""),
            )
        )
    value = _meter_column(named["value"], kind, chosen, name)
    if len(named["temp"]) > 1:
        water = [one for one in named["temp"] if re.search("water|pond", one.header.lower())]
        if len(water) != 1:
            raise ReadingsFault(
                f'Which of these is the water\'s temperature: {_labels(named["temp"])}? Give temp_column="…".'
            )
        named["temp"] = water
    if unit is not None:
        value = Column(value.at, value.header, value.decimal, _normalised_unit(unit))
    quantity = _QUANTITY_OF_UNIT.get(value.unit) or (KINDS[kind][0] if kind else quantity_from_header(value.header))
    if kind and _QUANTITY_OF_UNIT.get(value.unit, KINDS[kind][0]) != KINDS[kind][0]:
        raise ReadingsFault(f'kind="{kind}" was given, but {value.label} is in {value.unit}.')
    counter = KINDS[kind][1] if kind else _header_says_counter(value.header)
    found = Roles(
        value, quantity, counter, *(named[role][0] if named[role] else None for role in ("temp", "voltage", "factor"))
    )
    if quantity != "current":
        found = Roles(value, quantity, counter, found.temp, None, None)
    used = {one.at for one in found.columns()}
    if rest := [
        headers[at] or f"column {at + 1}"
        for at in range(len(headers))
        if at not in used | taken and (headers[at] or _numeric_share(sample, at) > 0.5)
    ]:
        read_log.interpretation.append(f"Not used: {', '.join(rest)}.")
    return found


def water_column(
    sample, headers: list[str], taken: set[int], *, temp_column, decimal, name: str, read_log: ReadLog
) -> Column:
    """The column of the water temperature in a file without a meter; raises ReadingsFault where none or several fit.

    A file with one column of numbers need not name it, unless its header names something else.
    """
    numeric = [at for at in range(len(headers)) if at not in taken and _numeric_share(sample, at) > 0.5]
    if not numeric:
        raise ReadingsFault(f"No column of {name} beside the time holds numbers.")
    ask = 'Give temp_column="…" (its name, or its number from 1).'
    if temp_column is not None:
        fit = [_requested_column(temp_column, headers, numeric, name)]
    else:
        warm = [at for at in numeric if _role_from_header(headers[at]) == "temp"]
        wet = [at for at in warm or numeric if re.search("water|pond", headers[at].lower())]
        fit = wet or warm or [at for at in numeric if not _unit_from_header(headers[at]) and len(numeric) == 1]
    found = [Column(at, headers[at], _decimal_mark(sample, at, headers[at], decimal), "") for at in fit]
    shown = [f"column {at + 1}" + (f" (“{headers[at]}”)" if headers[at] else "") for at in (fit or numeric)]
    if not fit:
        raise ReadingsFault(f"No column of {name} is named as the water's temperature: {', '.join(shown)}. {ask}")
    if len(fit) > 1:
        raise ReadingsFault(f"Which of these is the water's temperature: {', '.join(shown)}? {ask}")
    if temp_column is None and _NOT_WATER & set(header_words(found[0].header)):
        raise ReadingsFault(f"Is {shown[0]} the water's temperature? Its name says otherwise. {ask}")
    if rest := [headers[at] for at in range(len(headers)) if at not in {fit[0], *taken} and headers[at]]:
        read_log.interpretation.append(f"Not used: {', '.join(rest)}.")
    return found[0]


def only_temperatures(sample, headers: list[str], taken: set[int]) -> bool:
    """Whether a column of numbers is named as a temperature, and none as what a meter shows."""
    numeric = [at for at in range(len(headers)) if at not in taken and _numeric_share(sample, at) > 0.5]
    warm = [at for at in numeric if _role_from_header(headers[at]) == "temp"]
    rest = [headers[at] for at in numeric if at not in warm]
    return bool(warm) and not any(_unit_from_header(head) or quantity_from_header(head) for head in rest)


def _requested_column(column, headers: list[str], numeric: list[int], name: str) -> int:
    """Position of the column requested by name or by number (from 1)."""
    if isinstance(column, int) and not isinstance(column, bool) and column - 1 in numeric:
        return column - 1
    same = [at for at in numeric if headers[at].lower() == str(column).strip().lower()]
    if len(same) == 1:
        return same[0]
    raise ReadingsFault(
        f"“{str(column)[:40]}” is no column of numbers of {name}. There are: "
        + ", ".join(f"{at + 1} {headers[at]}".strip() for at in numeric)
        + "."
    )


def _meter_column(found: list[Column], kind, chosen, name: str) -> Column:
    """The meter's column among those of no other role; raises ReadingsFault where none or several fit."""
    if chosen is not None:
        return next(one for one in found if one.at == chosen)
    if not found:
        raise ReadingsFault(f"No column of {name} looks like a meter's: name it with its unit, as in “reading [kWh]”.")

    def quantity(one: Column):
        return _QUANTITY_OF_UNIT.get(one.unit) or quantity_from_header(one.header)

    wanted = (
        KINDS[kind][0] if kind else next((q for q in _PREFERENCE if any(quantity(one) == q for one in found)), None)
    )
    fit = [one for one in found if quantity(one) == wanted] or [one for one in found if quantity(one) is None]
    if len(fit) > 1 and kind:
        says = [one for one in fit if _header_says_counter(one.header) is KINDS[kind][1]]
        fit = says if len(says) == 1 else fit
    elif len(fit) > 1:
        says = [one for one in fit if _header_says_counter(one.header)]
        fit = says if len(says) == 1 else fit
    if len(fit) == 1:
        return fit[0]
    if kind and not fit:
        raise ReadingsFault(
            f'kind="{kind}" was given, but no column of {name} is such by its unit: '
            + ", ".join(f"{one.label} is in {one.unit}" for one in found)
            + "."
        )
    raise ReadingsFault(
        f'Which of these is the meter\'s column: {_labels(fit or found)}? Give column="…" (its name, or its number).'
    )


def _labels(columns: list[Column]) -> str:
    return ", ".join(one.label for one in columns)


# --- headers ------------------------------------------------------------------------------------------------------


def header_words(header: str) -> list[str]:
    """Words of a column header in lower case, units included."""
    low = header.lower().replace("_", " ").replace("º", "°").replace("cubic feet", "ft3").replace("cu ft", "ft3")
    return re.findall(r"[a-z°³µ]+\^?[0-9]?", re.sub(r"cubic met(?:re|er)s", "m3", low))


def _unit_from_header(header: str) -> str:
    return next((_UNIT_OF_WORD[word] for word in reversed(header_words(header)) if word in _UNIT_OF_WORD), "")


def _normalised_unit(unit) -> str:
    """The standard name of a unit given by the caller."""
    if str(unit) in UNIT_FACTOR:
        return str(unit)
    known = _UNIT_OF_WORD.get(str(unit).strip().lower())
    if not known:
        raise ReadingsFault(
            f"“{str(unit)[:40]}” is not a unit a meter's column has here. Known: {', '.join(UNIT_FACTOR)}."
        )
    return known


def _role_from_header(header: str) -> str:
    words = set(header_words(header))
    if words & _TEMP_WORDS:
        return "temp"
    if words & {"pf", "cos", "phi"} or {"power", "factor"} <= words:
        return "factor"
    if words & {"v", "volt", "volts", "voltage"}:
        return "voltage"
    return "value"


def quantity_from_header(header: str) -> str | None:
    """The quantity that the words of a header name ("gas", "power", "energy", "current"), or None."""
    words = set(header_words(header))
    for quantity, said in (
        ("gas", {"gas", "volume"}),
        ("power", {"power", "load"}),
        ("energy", {"energy", "electricity"}),
        ("current", {"current"}),
    ):
        if words & said and not (quantity == "current" and words & _COUNTER_WORDS):
            return quantity
    return None


def _header_says_counter(header: str) -> bool | None:
    words = set(header_words(header))
    on, afresh = bool(words & _COUNTER_WORDS), bool(words & _INTERVAL_WORDS)
    return None if on == afresh else on


# --- cells --------------------------------------------------------------------------------------------------------


def plain_text(cell: str) -> str:
    """A cell with grouping spaces, typographic minus signs and a trailing unit removed."""
    if cell.replace(".", "", 1).isdecimal():
        return cell
    cell = re.sub(r"[\s'’]", "", cell.strip().strip('"').replace("−", "-"))
    return _SUFFIX.sub("", cell)


def _numeric_share(sample, at: int) -> float:
    cells = [fields[at] for fields in sample if at < len(fields)]
    good = sum(bool(_NUMBER.fullmatch(plain_text(cell))) for cell in cells)
    return good / max(1, len(cells) - sum(cell.lower() in MISSING_WORDS for cell in cells))


def _unit_in_cells(sample, at: int) -> str:
    found = {
        _UNIT_OF_WORD.get(unit[1].lower(), "") for fields in sample if (unit := _SUFFIX.search(fields[at].strip()))
    }
    return found.pop() if len(found) == 1 else ""


def _decimal_mark(sample, at: int, header: str, decimal: str | None) -> str:
    """Decimal mark of a column, “.” or “,”; raises ReadingsFault where its numbers can be read both ways."""
    if decimal is not None:
        return {"comma": ",", "point": "."}.get(str(decimal), str(decimal))
    cells = [plain_text(fields[at]) for fields in sample]
    comma = [cell for cell in cells if "," in cell]
    if not comma:
        return "."
    both = [cell for cell in comma if "." in cell]
    if both:
        return "," if both[0].rindex(",") > both[0].rindex(".") else "."
    if any(not re.fullmatch(r"[-+]?[1-9]\d{0,2}(?:,\d{3})+", cell) for cell in comma):
        return ","
    raise ReadingsFault(
        f"Is “{comma[0]}” in {f'“{header}”' if header else f'column {at + 1}'} "
        f'{comma[0].replace(",", "")} or {comma[0].replace(",", ".")}? Give decimal="comma" or '
        'decimal="point".'
    )

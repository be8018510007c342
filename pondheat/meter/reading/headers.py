"""What a column's header says: unit, quantity, role, and whether it is a counter or the use of each interval."""

from __future__ import annotations

import re

from pondheat.core.tables.header_lines import names_price
from pondheat.core.tables.read_log import ReadingsFault

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
    "J": "j joule joules",
    "BTU": "btu btus",
    "therms": "therm therms",
    "kW": "kw",
    "W": "w watt watts",
    "A": "a amp amps ampere amperes",
    "m³": "m³ m3 m^3",
    "litres": "litre litres liter liters dm3 dm³",
    "ft³": "ft³ ft3 cuft cf",
    "100 ft³": "ccf hcf",
    "flashes": "imp pulses impulses flashes pulse impulse flash blinks",
}
UNIT_OF_WORD = {word: unit for unit, words in _UNIT_SPELLINGS.items() for word in words.split()}
UNITS_OF_QUANTITY = {
    "energy": ("kWh", "Wh", "MWh", "MJ", "GJ", "J", "BTU", "therms"),
    "power": ("kW", "W"),
    "current": ("A",),
    "gas": ("m³", "litres", "ft³", "100 ft³"),
    "flashes": ("flashes",),
}
QUANTITY_OF_UNIT = {unit: quantity for quantity, known in UNITS_OF_QUANTITY.items() for unit in known}
# What one of each unit is in kWh, W, A, m³ or flashes.
UNIT_FACTOR = {
    "kWh": 1.0,
    "Wh": 1e-3,
    "MWh": 1e3,
    "MJ": 1 / 3.6,
    "GJ": 1e3 / 3.6,
    "J": 1 / 3.6e6,
    "BTU": 1055.05585262 / 3.6e6,  # the International Table BTU
    "therms": 105_505_585.262 / 3.6e6,
    "kW": 1e3,
    "W": 1.0,
    "A": 1.0,
    "m³": 1.0,
    "litres": 1e-3,
    "ft³": 0.3048**3,
    "100 ft³": 100 * 0.3048**3,
    "flashes": 1.0,
}
_COUNTER_WORDS = {"counter", "reading", "readings", "register", "cumulative", "index", "odometer", "running"}
_INTERVAL_WORDS = {"use", "usage", "used", "consumption", "consumed", "interval", "delta", "per", "difference"}
_TEMP_WORDS = {"temp", "temperature", "°c", "degc", "°f", "degf", "celsius", "fahrenheit", "watertemp"}
# “Wassertemperatur”, “tankTemp”, “Temp1 (F)”; “probe 1 (F)”; “tank_c”, but neither “phase C” nor “kWh (C)”.
_TEMPERATURE = re.compile(
    r"temp[eé]ratu|temp\d*\s*(?:$|[\[(])|(?:water|pond|tank|probe|sensor)[\s_\d]*[\[(]?\s*[cf]\s*[\])]?\s*$"
)
_GLUED = re.compile(
    r"(temp|temperature|energy|power|use|usage|consumption|reading|total|import|load|gas|volume|current)"
    r"(kwh|wh|mwh|kw|w|m3|m³|a|c|f|degc|degf|°c|°f)(?![a-z])"
)
NOT_WATER = {"air", "room", "outdoor", "outdoors", "outside", "ambient", "dew"}
# Words of columns that a heater's use is not in: what is sent back, and what is no energy used.
NOT_USED = {"export", "exported", "feed", "einspeisung", "injection", "teruglevering", "generation", "generated"}
NOT_USED |= {"reactive", "kvarh", "varh", "apparent", "va", "scheinleistung", "blindleistung"}
SCALES = {"°c": "°C", "c": "°C", "degc": "°C", "celsius": "°C", "°f": "°F", "f": "°F", "degf": "°F"}
SCALES |= {"fahrenheit": "°F", "k": "K", "kelvin": "K"}  # word of a header → scale of temperature
PREFERENCE = ("energy", "gas", "flashes", "power", "current")  # the most direct measurement first


def header_words(header: str) -> list[str]:
    """Words of a column header in lower case, units included; also of “waterTempC”, “energykwh” and “tempf”."""
    apart = re.sub(r"(?<=[a-z]{3})(?:(?<!k)(?=[A-Z])|(?=kWh?\b))", " ", header)
    low = (
        _GLUED.sub(r"\1 \2", apart.lower())
        .replace("_", " ")
        .replace("º", "°")
        .replace("cubic feet", "ft3")
        .replace("cu ft", "ft3")
    )
    return re.findall(r"[a-z°³µ]+\^?[0-9]?", re.sub(r"cubic met(?:re|er)s", "m3", low))


def unit_from_header(header: str) -> str:
    """The unit that a column's header names last, such as "kWh"; "" where it names none."""
    return next((UNIT_OF_WORD[word] for word in reversed(header_words(header)) if word in UNIT_OF_WORD), "")


def multiple_from_header(header: str) -> float:
    """How many of its unit one is, as in “reading [0.1 kWh]” or “water [m°C]”; 1 where the header names no multiple.

    >>> multiple_from_header("reading [0.1 kWh]"), multiple_from_header("use [kWh]")
    (0.1, 1.0)
    """
    low = header.lower()
    found = re.search(r"[\[(]\s*[x×*]?\s*(\d+(?:[.,]\d+)?)\s*[x×*]?\s*([a-z°³][^\s\])]*)\s*[\])]", low)
    if found and (found[2] in UNIT_OF_WORD or found[2] in SCALES):
        return float(found[1].replace(",", "."))
    return 0.001 if re.search(r"[\[(]\s*m(?:°|deg ?)[ck]\s*[\])]", low) else 1.0


def normalised_unit(unit) -> str:
    """The standard name of a unit given by the caller."""
    if str(unit) in UNIT_FACTOR:
        return str(unit)
    known = UNIT_OF_WORD.get(str(unit).strip().lower())
    if not known:
        raise ReadingsFault(
            f"“{str(unit)[:40]}” is not a unit known here for a meter's column. Known: {', '.join(UNIT_FACTOR)}."
        )
    return known


def role_from_header(header: str) -> str:
    """What a column holds by its header: "price", "temp", "factor" (a power factor), "voltage", or else "value"."""
    if names_price(header):
        return "price"
    words = set(header_words(header))
    if words & _TEMP_WORDS or _TEMPERATURE.search(header.lower()):
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


def names_reading(header: str) -> bool:
    """Whether a header names what a meter shows, a running total or the use of an interval."""
    return bool(set(header_words(header)) & (_COUNTER_WORDS | _INTERVAL_WORDS))


def header_says_counter(header: str) -> bool | None:
    """Whether a header names a running total (True) or the use of an interval (False); None where it names neither."""
    words = set(header_words(header))
    on, afresh = bool(words & _COUNTER_WORDS), bool(words & _INTERVAL_WORDS)
    return None if on == afresh else on

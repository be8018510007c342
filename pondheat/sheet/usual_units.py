"""The unit that a bare number takes in each line of the form: 12 for a temperature is 12 °C."""

from __future__ import annotations

import re

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.units import Currency, Unreadable

LARGEST_KW, LARGEST_SHARE = 50.0, 1.0  # a larger power is in watts; a larger share in per cent (judgement)
_FIXED = {
    "u_value": "W/m²K",
    "gap": "L/s",
    "life": "years",
    "pump": "W",
    "filter_air": "L/s",
    "air_pump": "L/min",
    "change": "%",
}
LENGTHS, SHARES, RATES = ("length", "width", "depth"), ("sky_view", "shade"), ("rate", "gas_rate")


def with_usual_unit(key: str, typed: str, currency: Currency, preferred: DisplayUnits = METRIC) -> str:
    """What was typed, with the usual unit of that question behind (or before) it where it is a bare number.

    key: of the question; preferred: the reader's own units. Anything that is not a bare number is given back as it is.

    >>> with_usual_unit("held", "12", units.GBP), with_usual_unit("rate", "28", units.GBP)
    ('12 °C', '28 p/kWh')
    >>> with_usual_unit("power", "3", units.GBP), with_usual_unit("length", "4 ft", units.GBP)
    ('3 kW', '4 ft')
    """
    text = typed.strip()
    if not re.fullmatch(r"[-+−]?[\d.,]+", text):
        return typed
    try:
        value = units.number(text)
    except Unreadable:
        return typed
    if key in LENGTHS:
        return f"{text} {'ft' if preferred.gallons else 'm'}"
    if key == "held":
        return f"{text} {'°F' if preferred.fahrenheit else '°C'}"
    if key == "power":
        return f"{text} {'kW' if abs(value) <= LARGEST_KW else 'W'}"
    if key in SHARES:
        return f"{text} %" if abs(value) > LARGEST_SHARE else text
    if key in RATES:
        return f"{currency.sign}{text}/kWh" if 0 < value < 1 else f"{text} {currency.hundredth}/kWh"
    if key == "standing":
        return f"{text} {currency.hundredth}/day"
    if key in ("cover_price", "machine_price"):
        return units.money(value, currency, 0 if value == int(value) else 2)
    return f"{text} {_FIXED[key]}" if key in _FIXED else typed

"""The options of `season --what-if` that no pond sheet gives, and their values in the library's units."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pondheat.core.units import Currency

# Inputs of `analysis.scenarios.what_if` that no sheet gives: option, metavar, help.
SCENARIO_OPTIONS = (
    ("house-kwh", "KWH", "what the house uses in a year, without the pond"),
    ("house-cheap-share", "SHARE", "part of it in the tariff's cheap hours, as in 25%%"),
    ("flat-rate", "RATE", "one rate for all hours to compare with, including tax, as in “25 p/kWh”"),
    ("flat-standing-charge", "CHARGE", "its standing charge, as in “50 p/day”"),
    ("solar-peak-kw", "KW", "peak power of your own panels"),
    ("solar-kwh-per-day", "KWH", "or what they send back on an average day of the year"),
    ("export-rate", "RATE", "paid for a kWh sent back"),
    ("room-temp", "TEMP", "air of a room round the pond"),
    ("heat-pump-price", "PRICE", "of a heat pump, including fitting"),
    ("heat-pump-backup-kw", "KW", "of an electric heater that helps it in the cold"),
)


def scenario_inputs(arguments: argparse.Namespace, currency: Currency) -> dict[str, float]:
    """The given options of `SCENARIO_OPTIONS` in the library's units."""
    from pondheat.analysis.scenarios.context import ScenarioInputs
    from pondheat.core import units, value_parsers
    from pondheat.text.what_if_text import as_options

    parsers: dict[str, Callable[[str], float]] = {
        "house-cheap-share": value_parsers.fraction,
        "room-temp": lambda text: units.parse(text, "degC", bare=True),
        "flat-rate": lambda text: value_parsers.rate(text, currency),
        "export-rate": lambda text: value_parsers.rate(text, currency),
        "flat-standing-charge": lambda text: value_parsers.daily_charge(text, currency),
        "heat-pump-price": lambda text: units.parse(text, "money", currency, bare=True),
    }
    found = {}
    for name, _, _ in SCENARIO_OPTIONS:
        key = name.replace("-", "_")
        text = getattr(arguments, key)
        if text is None:
            continue
        if not arguments.what_if:
            raise ValueError(f"--{name} belongs to --what-if: give that too.")
        try:
            found[key] = parsers.get(name, units.number)(text)
        except ValueError as wrong:
            raise ValueError(f"--{name}: {wrong}") from None
    try:
        ScenarioInputs(**found)  # what can't be is refused before any work
    except ValueError as wrong:
        raise ValueError(as_options(str(wrong))) from None
    return found

"""A check row opened: what is checked, in words; the formula; the arguments as the library takes them; and whether
the digits that its source prints explain the difference."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass
from decimal import Decimal

from pondheat.checks import runner
from pondheat.checks.runner import Outcome, Refused
from pondheat.core import nomenclature, units

ROOMS = {
    "heat": "heat at one moment",
    "season": "the season",
    "money": "money",
    "meter": "meter and proof",
    "fish": "fish and water",
}


@dataclass(frozen=True)
class Opened:
    """How a row's value came about.

    words: what the function says of itself, its formula in it; arguments: name in words → value with unit, as the
    library takes them; before: the library's value in its own unit, before it is converted and rounded.
    """

    words: str
    arguments: dict[str, str]
    before: str


def room_of(outcome: Outcome) -> str:
    """The room whose function a row checks: a key of ROOMS."""
    return outcome.quantity.split(".")[0]


def in_words(quantity: str) -> str:
    """A quantity's dotted name as one reads it.

    >>> in_words("heat.moist_air.wet_bulb")
    'moist air: wet bulb'
    """
    module, function = quantity.split(".")[-2:]
    return f"{module}: {function}".replace("_", " ")


def named(parameter: str) -> str:
    """A parameter's name as one reads it.

    >>> named("rel_humidity"), named("daily_temps")
    ('relative humidity', 'daily temperatures')
    """
    whole = {"temp": "temperature", "temps": "temperatures", "rel": "relative", "ph": "pH"}
    return " ".join(whole.get(word, word) for word in parameter.split("_"))


def own_words(quantity: str) -> str:
    """What a function says of itself: summary, arguments, formula, validity, source; not its examples and errors."""
    text = inspect.getdoc(runner.function_of(quantity)).split(">>>")[0].replace("`", "")
    said = re.sub(r"Raises .*?\.(?=\s|$)\s*", "", " ".join(text.split())).strip()
    return f"{said[:-1]}." if said.endswith(":") else said  # an example stood behind it


def exactly(value: float) -> str:
    """A number with all digits that mean something.

    >>> exactly(12.188414673678770)
    '12.18841467'
    """
    return f"{value:.10g}".replace("-", "−")


def open_row(outcome: Outcome) -> Opened:
    """How an evaluated row came about; it is evaluated once more. Raises `checks.runner.Refused` as `checks.runner.evaluate`."""
    function = runner.function_of(outcome.quantity)
    given = runner.arguments_of(function, outcome.inputs)
    shown = {}
    for name, value in given.items():
        unit = nomenclature.PARAMETERS[name][0]
        text = ", ".join(map(exactly, value)) if isinstance(value, list) else value if unit is None else exactly(value)
        shown[named(name)] = f"{text} {units.pretty(unit or '')}".strip()
    try:
        before = exactly(float(function(**given)))
    except (ValueError, ArithmeticError) as fault:
        raise Refused(str(fault)) from None
    return Opened(
        own_words(outcome.quantity), shown, f"{before} {units.pretty(nomenclature.RETURNS[outcome.quantity])}".strip()
    )


def half_digit(written: str) -> float:
    """Half of the last digit of a number as it is written: how far it may lie from what was rounded to it.

    >>> half_digit("12.1"), half_digit("2.220"), half_digit("800")
    (0.05, 0.0005, 0.5)
    """
    return 0.5 * 10.0 ** min(Decimal(written).as_tuple().exponent, 300)


def is_rounding(outcome: Outcome) -> bool:
    """Whether rounding the source's value to the digits it prints explains the whole difference."""
    return abs(outcome.difference) <= half_digit(outcome.written) * (1 + 1e-9)


def why(outcome: Outcome) -> str:
    """Whether the digits that the source prints explain a row's difference, in one or two sentences."""
    half = half_digit(outcome.written)
    low, high = (exactly(end) for end in (outcome.printed - half, outcome.printed + half))
    said = f"A source that writes {outcome.written} may have rounded anything from {low} to {high}"
    if not outcome.difference:
        return "The two are the same."
    if is_rounding(outcome):
        return f"{said}. Ours lies between: rounding alone explains the difference."
    return f"{said}. Ours lies outside: rounding alone does not explain the difference."

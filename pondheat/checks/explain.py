"""Explain a check row: what its function computes, its arguments in the library's units, and whether rounding explains
the difference from the printed value."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from pondheat.checks import runner
from pondheat.checks.runner import CheckError, CheckResult
from pondheat.core import nomenclature, units

ROOMS = {
    "heat": "heat at one moment",
    "season": "the season",
    "money": "money",
    "meter": "meter and proof",
    "fish": "fish and water",
}


@dataclass(frozen=True)
class Explanation:
    """How the library's value of a check row was computed.

    description: the function's own documentation with its formula; arguments: label → value with unit, in the
    library's units; value: the result with the library's unit, before it is converted and rounded; rename_note: one
    sentence where the row uses a former name of the quantity, otherwise "".
    """

    description: str
    arguments: dict[str, str]
    value: str
    rename_note: str = ""


def room_of(row: CheckResult) -> str:
    """Room of the function that a row checks: a key of ROOMS."""
    return row.quantity.split(".")[0]


def quantity_label(quantity: str) -> str:
    """Label of a quantity, made from its dotted name.

    >>> quantity_label("heat.moist_air.wet_bulb")
    'moist air: wet bulb'
    """
    module, function = quantity.split(".")[-2:]
    return f"{module}: {function}".replace("_", " ")


def parameter_label(parameter: str) -> str:
    """Label of a parameter, with its abbreviations written out.

    >>> parameter_label("rel_humidity"), parameter_label("daily_temps")
    ('relative humidity', 'daily temperatures')
    """
    whole = {"temp": "temperature", "temps": "temperatures", "rel": "relative", "ph": "pH"}
    return " ".join(whole.get(word, word) for word in parameter.split("_"))


def description(quantity: str) -> str:
    """A function's docstring without examples and errors: summary, arguments, formula, validity, source."""
    text = (inspect.getdoc(runner.function_of(quantity)) or "").split(">>>")[0].replace("`", "")
    said = re.sub(r"Raises .*?\.(?=\s|$)\s*", "", " ".join(text.split())).strip()
    return f"{said[:-1]}." if said.endswith(":") else said  # an example followed


def all_digits(value: float) -> str:
    """A number with its ten significant digits.

    >>> all_digits(12.188414673678770)
    '12.18841467'
    """
    return f"{value:.10g}".replace("-", "−")


def explain_row(row: CheckResult) -> Explanation:
    """Explanation of an evaluated row, which is evaluated again. Raises `CheckError` like `checks.runner.evaluate`."""
    function = runner.function_of(row.quantity)
    given = runner.arguments_of(function, row.inputs)
    shown = {}
    for name, value in given.items():
        unit = nomenclature.PARAMETERS[name][0]
        if isinstance(value, list):
            text = ", ".join(map(all_digits, value))
        else:
            text = value if unit is None else all_digits(value)
        shown[parameter_label(name)] = f"{text} {units.pretty(unit or '')}".strip()
    try:
        result = all_digits(float(function(**given)))
    except (ValueError, ArithmeticError) as error:
        raise CheckError(str(error)) from None
    unit = units.pretty(nomenclature.RETURNS[row.quantity])
    note = nomenclature.rename_note(row.former_name)
    return Explanation(description(row.quantity), shown, f"{result} {unit}".strip(), note)


def half_digit(written: str) -> float:
    """Half a unit in the last digit of a printed number: the most that rounding can have changed.

    >>> half_digit("12.1"), half_digit("2.220"), half_digit("800")
    (0.05, 0.0005, 0.5)
    """
    exponent = Decimal(written).as_tuple().exponent
    if not isinstance(exponent, int):
        raise InvalidOperation(f"{written} has no digits")
    return 0.5 * 10.0 ** min(exponent, 300)


def is_rounding(row: CheckResult) -> bool:
    """Whether rounding in the source can explain the whole difference."""
    return abs(row.difference) <= half_digit(row.printed_text) * (1 + 1e-9)


def rounding_note(row: CheckResult) -> str:
    """One or two sentences on whether rounding in the source can explain a row's difference."""
    half = half_digit(row.printed_text)
    low, high = (all_digits(end) for end in (row.printed - half, row.printed + half))
    said = f"A source that writes {row.printed_text} may have rounded anything from {low} to {high}"
    if not row.difference:
        return "The two are the same."
    if is_rounding(row):
        return f"{said}. Ours is between them: rounding alone explains the difference."
    return f"{said}. Ours is outside that range: rounding alone does not explain the difference."

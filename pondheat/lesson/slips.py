"""Slips that may happen in any question: a factor, a sign, a fraction upside down, a number of the other pond.

No sentence here holds a digit: the factor itself may be the right answer (24 hours in a day, 24 kWh).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from pondheat.core import units
from pondheat.core.units import Currency
from pondheat.lesson.question_bank.question import EXAMPLE_SEED, Question
from pondheat.lesson.questions import BANK

# Factors between units or decimal places, and what being out by them suggests.
FACTORS = {
    10.0: "You're out by a factor of ten. Look for a decimal point in the wrong place.",
    100.0: "You're out by a factor of a hundred. Look for a decimal point in the wrong place, or a percentage used as "
    "a plain number.",
    1000.0: "You're out by a factor of a thousand. Look for a “kilo”: W and kW, Wh and kWh, litres and cubic metres.",
    3.6: "You're out by the factor between kWh and MJ. Check which of the two you started from.",
    24.0: "You're out by the number of hours in a day. Look for a day treated as an hour, or the other way round.",
    60.0: "You're out by the number of minutes in an hour. Look for a minute treated as an hour or a second.",
    3600.0: "You're out by the number of seconds in an hour. A watt is a joule per second, and an hour has many "
    "seconds.",
}
# Units of answers in which being out by a factor can mean that; all other factors go with any unit.
WITH_FACTOR = {
    3.6: ("kWh", "kWh/day"),
    24.0: ("kWh", "kWh/day", "kW", "W", "money", "hour", "delta_degC*day", "kg/hour"),
    60.0: ("kWh", "kWh/day", "kW", "W", "hour", "kg/hour", "delta_degC"),
    3600.0: ("kWh", "kWh/day", "kW", "W", "hour", "kg/hour", "delta_degC"),
}
# What being out by a hundred means in units where it has one likely cause.
HUNDREDFOLD = {
    "percent": "You're out by a factor of a hundred. Look for a fraction in place of a percentage, or the reverse.",
    "money": "You're out by a factor of a hundred. Look for pence or cents used as pounds or dollars.",
}
# Names of numbers in questions that describe the same thing of two ponds, periods, times or rates.
TWO_OF_A_KIND = (
    ("open", "covered"),
    ("mild", "cold"),
    ("first", "second"),
    ("before", "after"),
    ("high", "low"),
    ("area", "floor"),
    ("pond", "house"),
    ("power", "cold"),
    ("a", "b"),
    ("da", "db"),
    ("ta", "tb"),
)
SIGN = "The size is right, but the sign isn't."
INVERSE = "That's upside down. Swap the two numbers you divided."
REST = "That's the rest of the whole. Which part does the question ask for?"
OTHER_NUMBERS = "That's right for other numbers, on the page or in the worked example. Use the ones in this question."
COPIED = "That number is in the question. What do you have to do with it?"
OTHER_POND = "It looks as if you used the other pond's number, or the other period's. Check which belongs where."
# Example values for the format of an answer; the first that looks nothing like the answer is shown.
_EXAMPLES = (4.3, 6.1, 7.9, 9.4, 5.7, 3.8, 8.6, 6.7, 9.7, 7.3, 5.9, 4.7, 8.3, 3.4)


def near(value: float, expected: float, tolerance: float) -> bool:
    """Whether a value counts as the expected one."""
    return abs(value - expected) <= max(tolerance * abs(expected), 1e-9)


def slip(question: Question, value: float, given: Mapping[str, float]) -> str:
    """What a wrong value off every known misconception suggests, as a sentence; "" if nothing is recognised."""
    right, tolerance = question.right(**given), question.tolerance
    if near(value, -right, tolerance):
        return SIGN
    scale = question.unit == "degC"  # its zero is arbitrary, so only the decimal point makes sense as a factor
    for factor, suggestion in FACTORS.items():
        if (question.unit in WITH_FACTOR.get(factor, (question.unit,)) and (not scale or factor == 10)) and (
            near(value, right * factor, tolerance) or near(value, right / factor, tolerance)
        ):
            return HUNDREDFOLD.get(question.unit, suggestion) if factor == 100 else suggestion
    whole = 100.0 if question.unit == "percent" else 1.0
    if not scale and right and near(value, whole**2 / right, tolerance):
        return INVERSE
    if question.unit == "percent" and near(value, whole - right, tolerance):
        return REST
    if any(near(value, other, tolerance) for other in _with_other_numbers(question, given)):
        return OTHER_NUMBERS
    if any(near(value, other, 1e-6) for other in given.values()):
        return COPIED
    # two equal ponds differ by zero, so a zero says nothing about which number was mistaken for which
    if value and any(near(value, other, tolerance) for other in _with_the_others(question, given)):
        return OTHER_POND
    return ""


def direction(question: Question, value: float, given: Mapping[str, float]) -> str:
    """Which way, and roughly how far, a wrong value is out, as a sentence."""
    right = question.right(**given)
    way = "large" if value > right else "small"
    if near(value, right, 5 * question.tolerance):
        return f"Close, but a little too {way}. Did you round before the end?"
    if right > 0 and question.unit != "degC" and not right / 3 <= value <= 3 * right:
        return f"The number is far too {way}. Is a step missing, or a unit mixed up?"
    return f"The number is too {way}."


def format_sentence(question: Question, given: Mapping[str, float], currency: Currency) -> str:
    """How an answer may be typed, with numbers that look nothing like the right one."""
    right = question.right(**given)
    taken = looks(right) | {_bare_digits(value) for value in given.values()}
    fits = (value for value in _EXAMPLES if not near(value, right, 5 * question.tolerance))
    example = next(value for value in fits if _bare_digits(value) not in taken)
    if question.unit == "money":
        return f"Type one number, such as {currency.sign}{example:.2f} or {100 * example:.0f}{currency.hundredth}."
    unit = question.word or units.pretty(question.unit, currency)
    return f"Type one number, such as {example:g} {unit}." if unit else f"Type one number, such as {example:g}."


def looks(value: float) -> set[str]:
    """The digits of a value, as it is and rounded to one, two, three and four figures; without zeros at the ends.

    >>> sorted(looks(0.2496))
    ['2', '2496', '25']
    """
    return {_bare_digits(float(f"{value:.{figures}g}")) for figures in (1, 2, 3, 4)} | {_bare_digits(value)}


def _bare_digits(value: float) -> str:
    return f"{abs(value):.12g}".partition("e")[0].replace(".", "").strip("0")


def _with_other_numbers(question: Question, given: Mapping[str, float]) -> Iterator[float]:
    """Right answers for the printed numbers, first or again, and for the worked example's, if they are others."""
    first = BANK.get(question.key, question)
    for one, other in (
        (question, question.numbers()),
        (question, question.numbers(EXAMPLE_SEED)),
        (first, first.numbers()),
    ):
        if other != given:
            yield one.right(**other)


def _with_the_others(question: Question, given: Mapping[str, float]) -> Iterator[float]:
    """Answers with one number in place of its counterpart of the other pond or period, and with both exchanged."""
    for one, other in TWO_OF_A_KIND:
        if one in given and other in given:
            for changed in ({one: given[other]}, {other: given[one]}, {one: given[other], other: given[one]}):
                try:
                    value = question.right(**{**given, **changed})
                except (ArithmeticError, ValueError):
                    continue
                if math.isfinite(value):
                    yield value

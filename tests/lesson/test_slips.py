"""Every wrong answer is diagnosed however it is written, and no reply holds the right answer or its digits."""

import random
import re

import pytest
from usual_cases import all_in_one

from pondheat.core import units
from pondheat.lesson import marking, slips
from pondheat.lesson.questions import BANK, Question

BACKWARDS = {
    f"{key} worked backwards": one.on("20_later") for key, one in BANK.items() if one.again and one.again.inverse
}
ASKED = BANK | BACKWARDS
OTHER_UNITS = {  # of each unit: others of the same kind, and the factor from the first
    "kWh": (("Wh", 1000), ("MJ", 3.6)),
    "kW": (("W", 1000),),
    "W": (("kW", 0.001),),
    "W/m**2": (("kW/m²", 0.001),),
    "kW/K": (("W/K", 1000),),
    "kWh/day": (("Wh/day", 1000),),
    "Pa": (("hPa", 0.01), ("kPa", 0.001)),
    "hour": (("min", 60), ("days", 1 / 24)),
    "dimensionless": (("%", 100), ("times", 1)),
    "percent": (("per cent", 1),),
    "money": (("p", 100), ("pence", 100)),
    "delta_degC": (("°C", 1), ("K", 1)),
    "delta_degC*day": (("degree-days", 1), ("K d", 1)),
    "year": (("winters", 1),),
    "kg/hour": (("g/h", 1000), ("kg an hour", 1)),
    "day": (("nights", 1),),
}
NONSENSE = (
    "abc",
    "",
    "12 bananas",
    "x" * 40_960,
    "🐟💧",
    "3*8+1",
    "=SUM(A1:A3)",
    "<script>alert(1)</script>",
    "1e999",
    "kWh",
)
PIECES = tuple("0123456789.,-+*/()=%£€°~½eExWCKhΩ𝟝٣🐟\t\n'\"\\{}<>_; ") + ("kWh", "kW", "fish")


def plain(value: float) -> str:
    """A value with a point and without an exponent."""
    return f"{value:.9f}".rstrip("0").rstrip(".") if value else "0"


def spellings(value: float, question: Question) -> list[str]:
    """A value as different readers may type it."""
    number, unit = plain(value), units.pretty(question.unit)
    grouped = f"{value:,.9f}".rstrip("0").rstrip(".")
    if len(number.partition(".")[2]) == 3:  # with a comma it would be thousands
        number, grouped = number + "0", grouped + "0"
    comma, continental = number.replace(".", ","), grouped.translate(str.maketrans(",.", ".,"))
    typed = [number, f"~{number}", f"≈ {number}", f"about {number}", grouped, grouped.replace(",", " "), comma]
    typed += [continental] if "," in continental else []
    if question.unit == "money":
        typed += [f"£{number}", f"£ {grouped}", f"{number} £"] if value >= 0 else [f"{number} £"]
    elif unit:
        typed += [f"{number} {unit}", f"{number}{unit}", f"≈{grouped} {unit}", f"{comma} {unit}"]
    return typed + [f"{plain(value * factor)} {other}" for other, factor in OTHER_UNITS.get(question.unit, ())]


@all_in_one(ASKED)
def test_a_misconception_is_recognised_in_every_spelling(key):
    question = ASKED[key]
    right, wrong = question.values()
    for typed in spellings(right, question):
        assert marking.mark(question, typed, question.given).outcome == marking.RIGHT, typed
    for one in question.misconceptions:
        for typed in spellings(wrong[one.name], question):
            found = marking.mark(question, typed, question.given)
            assert (found.outcome, found.misconception) == (marking.MISCONCEPTION, one.name), typed
            assert one.sentence in found.message


def leaks(message: str, question: Question, given: dict[str, float]) -> list[str]:
    """Numbers in a message that have the digits of the right answer, wherever the point is."""
    forbidden = slips.looks(question.right(**given))
    numbers = re.findall(r"\d[\d.,\u202f]*", message)
    return [number for number in numbers if re.sub(r"\D", "", number.rstrip(".")).strip("0") in forbidden]


def check_nonsense(question: Question, typed: str, given: dict[str, float]) -> None:
    found = marking.mark(question, typed, given)
    assert len(found.message) < 300 and found.message[-1] in ".?)", typed[:60]
    if found.outcome in (marking.UNREADABLE, marking.UNTRIED):
        assert not leaks(found.message, question, given), (typed[:60], found.message)
    if found.outcome == marking.UNREADABLE:
        assert "Type one number, such as" in found.message


@all_in_one(ASKED)
def test_nonsense_is_told_the_format_and_never_the_answer(key):
    question = ASKED[key]
    for seed in (None, 1, 2):
        given = question.numbers(seed)
        for typed in NONSENSE:
            assert marking.mark(question, typed, given).outcome in (marking.UNREADABLE, marking.UNTRIED), typed[:60]
            check_nonsense(question, typed, given)


@pytest.mark.long
@pytest.mark.parametrize("key", ASKED)
def test_much_nonsense_never_gets_the_answer(key):
    question, seed = ASKED[key], random.randrange(10**6)
    print(f"seed {seed}")
    rng = random.Random(seed)
    for _ in range(200):
        typed = "".join(rng.choice(PIECES) for _ in range(rng.choice((1, 2, 4, 8, 20, 200, 5000))))
        check_nonsense(question, typed, question.numbers(rng.choice((None, 1, 2, 3))))


@all_in_one(ASKED)
def test_the_example_of_the_format_can_be_read_and_is_wrong(key):
    question = ASKED[key]
    for seed in (None, *range(8)):
        given = question.numbers(seed)
        for currency in units.CURRENCIES.values():
            said = slips.format_sentence(question, given, currency)
            example = said.removeprefix("Type one number, such as ").removesuffix(".").partition(" or ")[0]
            assert marking.mark(question, example, given, currency).outcome in (marking.WRONG, marking.MISCONCEPTION)


@all_in_one((key, factor) for key in ASKED for factor in slips.FACTORS)
def test_a_factor_is_recognised(key, factor):
    question = ASKED[key]
    right, wrong = question.values()
    if question.unit == "degC" and factor != 10:
        return
    said = slips.FACTORS[factor] if factor != 100 else slips.HUNDREDFOLD.get(question.unit, slips.FACTORS[factor])
    suggests = question.unit in slips.WITH_FACTOR.get(factor, (question.unit,))
    for value in (right * factor, right / factor):
        if any(slips.near(value, other, question.tolerance) for other in wrong.values()):
            continue
        found = marking.mark(question, f"{value:.12f}", question.given)
        assert (said in found.message) == suggests


@pytest.mark.parametrize(
    "key, typed, suggestion",
    [
        ("11.4", "-2.15", slips.SIGN),
        ("1.2", "-6.72", slips.SIGN),
        ("4.1", "0.001333", slips.INVERSE),
        ("12.4", "234.4", slips.INVERSE),
        ("12.4", "57.34", slips.REST),
        ("7.1", "2.8", slips.COPIED),
        ("7.1", "2.5", slips.OTHER_POND),
        ("13.2", "182", slips.COPIED),
        ("14.4", "0.471", slips.HUNDREDFOLD["percent"]),
        ("7.3", "0", "far too small"),
        ("2.1", "71.5", "Close, but a little too large"),
        ("2.1", "500", "far too large"),
        ("2.1", "90", "too large"),
        ("2.1", "50", "too small"),
    ],
)
def test_a_slip_is_named(key, typed, suggestion):
    question = ASKED[key]
    found = marking.mark(question, typed, question.given)
    assert found.outcome in (marking.WRONG, marking.MISCONCEPTION) and suggestion in found.message


def test_the_answer_to_other_numbers_is_recognised():
    question = BANK["2.1"]
    printed, example = question.numbers(), question.numbers(slips.EXAMPLE_SEED)
    fresh = question.numbers(3)
    for other in (printed, example):
        assert slips.OTHER_NUMBERS in marking.mark(question, repr(question.right(**other)), fresh).message


def test_what_is_said_of_a_slip_holds_no_digit():
    said = [*slips.FACTORS.values(), slips.SIGN, slips.INVERSE, slips.REST, slips.OTHER_NUMBERS, slips.COPIED]
    assert not [text for text in [*said, slips.OTHER_POND] if re.search(r"\d", text)]

"""The bank tests itself: right passes, every road gets its own sentence, nothing collides for 200 draws of numbers."""

import re

import pytest
from usual_cases import all_in_one

from pondheat.core import units
from pondheat.lesson import marking, questions
from pondheat.lesson.questions import BANK

SEEDS = (None, *range(200))


@all_in_one(BANK)
def test_no_two_ends_collide(key):
    question = BANK[key]
    drawn = set()
    for seed in SEEDS:
        given = question.numbers(seed)
        assert question.answers_distinct(given), (seed, given)
        drawn.add(tuple(given.items()))
    assert len(drawn) >= 5, "fresh numbers must be fresh"
    assert all(question.numbers(seed) == question.numbers(seed) for seed in (3, 4))


@all_in_one(BANK)
def test_right_and_every_road(key):
    question = BANK[key]
    for seed in (None, *range(10)):
        given = question.numbers(seed)
        right, roads = question.values(given)
        assert marking.mark(question, f"{right!r}", given).outcome == marking.RIGHT
        seen = set()
        for road in question.misconceptions:
            found = marking.mark(question, f"{roads[road.name]!r}", given)
            assert (found.outcome, found.misconception) == (marking.MISCONCEPTION, road.name)
            seen.add(found.message)
        assert len(seen) == len(question.misconceptions)


@all_in_one(BANK)
def test_no_message_gives_the_answer_away(key):
    """No sentence of a road, no nudge and no step holds the right value, at any rounding a reader would use."""
    question = BANK[key]
    for seed in (None, *range(10)):
        given = question.numbers(seed)
        right, roads = question.values(given)
        texts = [question.nudge, question.step, *(r.sentence for r in question.misconceptions)]
        texts += [marking.mark(question, f"{v!r}", given).message for v in (*roads.values(), right * 1.4 + 3)]
        for text in texts:
            numbers = [float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text.replace(",", ""))]
            fixed = {1.163, 3.6, 273, 24, 1000, 3600, 4187, 365, 100, 60, 1, 0, 12, 15, 18, 0.05, 5.67, 2450000, 4}
            assert not [n for n in numbers if n not in fixed and abs(n - right) <= question.tolerance * abs(right)], (
                text
            )


@all_in_one(BANK)
def test_printed_numbers_of_the_worked_solution(key):
    question = BANK[key]
    for seed in (None, 1, 2):
        given = question.numbers(seed)
        text = questions.worked(question, given)
        right = question.right(**given)
        shown = units.money(right, units.GBP, 2) if question.unit == "money" else units.significant(right, 3)
        assert shown in text and "{" not in text


@all_in_one(BANK)
def test_two_spellings_agree(key):
    question = BANK[key]
    right = question.right(**question.given)
    spellings = {
        "kWh": [f"{right} kWh", f"{right * 3.6} MJ", f"{right * 1000} Wh"],
        "money": [f"£{right:.4f}", f"{100 * right:.3f}p", f"{right:.4f}"],
        "W": [f"{right} W", f"{right / 1000} kW"],
        "kW": [f"{right} kW", f"{right * 1000} W"],
        "percent": [f"{right}%", f"{right} %", f"{right}"],
        "hour": [f"{right} h", f"{right * 60} min"],
        "degC": [f"{right} C", f"{right} °C", f"{right * 1.8 + 32} F"],
        "Pa": [f"{right} Pa", f"{right / 100} hPa"],
    }.get(question.unit, [f"{right}"])
    for spelling in spellings:
        assert marking.mark(question, spelling, question.given).outcome == marking.RIGHT, spelling


@all_in_one(BANK)
def test_an_is_written_before_a_vowel(key):
    """No “a 800 W heater”, whatever numbers are drawn, on the first page or later."""
    first = BANK[key]
    pages = [first.notebook, *(f"{int(first.notebook[:2]) + step:02d}_later" for step in (1, 3, 6))]
    for question in map(first.on, pages):
        for seed in (None, *range(20)):
            given = question.numbers(seed)
            text = f"{questions.asked(question, given)} {questions.worked(question, given)}"
            assert not re.search(r"\ba (?:8\d*|11|18)(?:\.\d+)?(?![\d,])", text, re.IGNORECASE), text


def test_printed_answers_of_the_lessons():
    """Worked by hand, each from the numbers printed in its question."""
    by_hand = {
        "1.1": 3 * 8,
        "1.2": 6.72,
        "1.3": 245.28,
        "2.1": 69.78,
        "2.3": 15.3516,
        "4.1": 750,
        "6.1": 62.4,
        "6.2": 81.9,
        "7.1": 29.2 / 24,
        "7.2": 100 * (1 - 29.2 / 60),
        "8.2": 16.75,
        "9.1": 52,
        "9.2": 8,
        "9.3": 16_500,
        "10.1": 55.82,
        "11.2": 7.5,
        "12.1": 7.44,
        "12.2": 27.78,
        "12.3": 116.4,
        "12.4": 42.66,
        "13.1": 172,
        "13.2": 26,
        "13.3": 38,
        "14.1": 88,
        "14.2": 468,
        "14.3": 58.17,
        "14.3b": 53.41,
        "14.4": 47.06,
        "15.1": 1.2,
        "15.2": 228.49,
    }
    for key, value in by_hand.items():
        assert BANK[key].right(**BANK[key].given) == pytest.approx(value, rel=1e-3)

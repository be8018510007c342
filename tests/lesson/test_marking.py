"""Marking as a reader meets it."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from usual_cases import all_in_one

from pondheat.core import units
from pondheat.lesson import answers, marking, progress
from pondheat.lesson.marking import MISCONCEPTION, RIGHT, UNREADABLE, UNTRIED, WRONG, Exercise


@all_in_one(
    [
        ("£6.72", "money", 6.72),
        ("672p", "money", 6.72),
        ("672 pence", "money", 6.72),
        ("6.72", "money", 6.72),
        ("1,200.50", "money", 1200.5),
        ("24 kWh", "kWh", 24),
        ("24000 Wh", "kWh", 24),
        ("86.4 MJ", "kWh", 24),
        ("18 C", "degC", 18),
        ("0.215 K/h", "K/h", 0.215),
        ("43.75%", "percent", 43.75),
        ("43.75", "percent", 43.75),
        ("1.0 kW", "W", 1000),
        ("24 kWh/day", "kW", 1.0),
        (" 24 ", "kWh", 24),
        ("2½", "kWh", 2.5),
        ("1e3", "W", 1000),
        ("6,72", "money", 6.72),
        ("£6,72", "money", 6.72),
        ("1.350,5 W", "W", 1350.5),
        ("0,215 K/h", "K/h", 0.215),
        ("1'350 W", "W", 1350),
        ("1\u202f350 W", "W", 1350),
        ("~24", "kWh", 24),
        ("≈ 24 kWh", "kWh", 24),
        ("about 24 kWh", "kWh", 24),
        ("ca. 24 kWh.", "kWh", 24),
        ("= 24?", "kWh", 24),
        ("52 degree-days", "delta_degC*day", 52),
        ("2.1 times", "dimensionless", 2.1),
        ("0.28 kW for each degree", "kW/K", 0.28),
        ("26 kWh a day", "kWh/day", 26),
        ("26 kWh", "kWh/day", 26),
        ("16.8 kWh a day", "kWh", 16.8),
        ("88 kWh/night", "kWh", 88),
        ("£245 a year", "money", 245),
        ("0.2 kg", "kg/hour", 0.2),
        ("200g", "kg/hour", 0.2),
        ("0.28 kW", "kW/K", 0.28),
        ("about 750 or so", "W", 750),
        ("18-ish", "degC", 18),
        ("750ish.", "W", 750),
    ]
)
def test_reads(typed, unit, value):
    assert answers.readings(typed, unit)[0].value == pytest.approx(value)


def test_a_comma_before_three_digits_is_read_both_ways():
    assert [one.value for one in answers.readings("1,275 kW", "kW")] == [1275, 1.275]
    assert [one.value for one in answers.readings("1,275,000", "kW")] == [1275000]
    said = Exercise("7.1").attempt("1,217")
    assert said.outcome == RIGHT and "decimal point" in said.message
    assert Exercise("1.3").attempt("245,28").outcome == RIGHT


def test_a_point_before_three_digits_is_read_both_ways():
    assert [one.value for one in answers.readings("1.350 W", "W")] == [1.35, 1350]
    assert [one.value for one in answers.readings("0.350 W", "W")] == [0.35]
    said = Exercise("4.1").attempt("1.350")
    assert said.outcome == MISCONCEPTION and answers.AS_SEPARATOR in said.message
    assert Exercise("1.1").attempt("24.000").message == "✓ Right. That's how it's done."


@all_in_one(
    [
        (",", "kWh", "no number"),
        ("", "kWh", "number first"),
        ("six", "kWh", "no number"),
        ("2.5 kW", "kWh", "“kW” says how fast; the question asks how much. Please answer in kWh."),
        ("2.5 kWh", "W", "“kWh” says how much, not how fast. Please answer in W."),
        ("2.5 m", "kWh", "“m” measures something else"),
        ("2.5 kW", "hour", "“kW” measures something else"),
        ("3 bananas", "kWh", "“bananas” isn't a unit"),
        ("3 fish", "degC", "“fish” isn't a unit"),
        ("£750", "W", "“£” measures something else"),
        ("€5", "money", "currency"),
        ("3*8", "kWh", "a sum"),
        ("=(3+5)", "kWh", "a sum"),
        ("10.8–12.4", "kWh", "sum or a range"),
        ("10 - 12 kWh", "kWh", "sum or a range"),
        ("9" * 40_000, "kWh", "too long"),
        ("1e999", "kWh", "too large"),
        ("12:30", "kWh", "one number"),
    ]
)
def test_asks_back(typed, unit, says):
    with pytest.raises(units.Unreadable, match=says):
        answers.readings(typed, unit)


def test_another_currency():
    euro = units.CURRENCIES["EUR"]
    assert answers.readings("€6.72", "money", euro)[0].value == 6.72
    assert answers.readings("672c", "money", euro)[0].value == pytest.approx(6.72)


@given(st.text(max_size=60))
def test_any_text_is_met_with_a_mark(typed):
    found = marking.mark(Exercise("1.1").question, typed, Exercise("1.1").given)
    assert found.outcome in (RIGHT, MISCONCEPTION, WRONG, UNTRIED, UNREADABLE) and found.message


def test_hints_and_fresh_numbers():
    exercise = Exercise("1.1")
    assert exercise.attempt("").outcome == UNTRIED and exercise.tries == 0
    assert exercise.attempt("abc").outcome == UNREADABLE and exercise.tries == 0
    assert not exercise.may_see_solution
    exercise.attempt("11")
    exercise.attempt("12345")
    assert exercise.tries == 2 and exercise.may_see_solution
    assert exercise.hint() == exercise.question.nudge
    assert exercise.hint() == exercise.question.step
    assert "24" in exercise.hint() and exercise.hint() is None
    before = exercise.given
    exercise.renew()
    assert exercise.given != before and exercise.tries == 0 and exercise.hints == []
    assert exercise.attempt(str(exercise.question.right(**exercise.given))).outcome == RIGHT


def test_question_shows_unit_and_tolerance():
    text = Exercise("2.1").text()
    assert text.endswith("(Answer in kWh, three figures are enough. Up to 1 % out counts as right.)")
    assert Exercise("3.2").text().endswith("(Three figures are enough. Up to 1 % out counts as right.)")
    assert Exercise("11.4").text().endswith("(Answer in °C, to a tenth of a degree. Up to 0.1 K out counts as right.)")
    assert "−2 and 4 °C" in Exercise("9.1").text()
    assert "costs £180 and saves £150" in Exercise("15.1").text()
    assert "costs $180" in Exercise("15.1", units.CURRENCIES["USD"]).text()
    assert "28 c" in Exercise("1.2", units.CURRENCIES["EUR"]).text()


@pytest.mark.parametrize("typed", ("1.2", "1.2 winters", "1.2winters", "1.2 Winter", "1.2 years"))
def test_a_word_may_stand_for_the_unit(typed):
    assert Exercise("15.1").attempt(typed).outcome == marking.RIGHT


def test_a_word_alone_is_no_number():
    assert Exercise("15.1").attempt("winters").outcome == marking.UNREADABLE


def test_too_large_and_too_small_go_by_the_sign():
    cold = Exercise("11.4")
    assert "too small" in cold.attempt("-5").message and "too large" in cold.attempt("9").message
    assert cold.attempt("2.2").outcome == marking.RIGHT


# --- progress ------------------------------------------------------------------------------------------------------


def test_progress_is_kept(tmp_path):
    kept = progress.load(tmp_path)
    kept.note("1.1", MISCONCEPTION, sure=True)
    kept.note("1.2", RIGHT)
    again = progress.load(tmp_path)
    assert again.answers == {"1.1": MISCONCEPTION, "1.2": RIGHT} and again.misses == {"1.1": 1}
    assert again.dots(["1.1", "1.2", "1.3"]) == "◐●○"
    again.note("1.1", RIGHT)
    again.note("1.1", WRONG)
    assert progress.load(tmp_path).answers["1.1"] == RIGHT and "1.1" not in progress.load(tmp_path).misses


@pytest.mark.parametrize(
    "damage", ["", "{", "[]", '{"answers": 3, "misses": {}}', "\x00\x01", '{"answers": {"1.1": 2}, "misses": {}}']
)
def test_damaged_file_is_set_aside_and_said(tmp_path, damage):
    (tmp_path / progress.NAME).write_text(damage)
    found = progress.load(tmp_path)
    assert found.answers == {} and "kept as progress-damaged.json" in found.message
    assert (tmp_path / "progress-damaged.json").read_text() == damage
    found.note("1.1", RIGHT)
    assert progress.load(tmp_path).answers == {"1.1": RIGHT}


def test_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("in the way")
    kept = progress.load(tmp_path / "file")
    kept.note("1.1", RIGHT)
    assert "couldn't be saved" in kept.message and kept.answers == {"1.1": RIGHT}


@pytest.mark.skipif(os.name != "posix", reason="kills a process by signal")
def test_killed_at_any_moment(tmp_path):
    """A writer killed again and again never leaves a file that cannot be read."""
    code = (
        "import sys; from pathlib import Path; from pondheat.lesson import progress\n"
        "kept = progress.load(Path(sys.argv[1]))\n"
        "print('up', flush=True)\n"
        "for i in range(10**6): kept.note(f'{i % 50}', 'right' * 1)\n"
    )
    for pause in (0.0, 0.01, 0.023, 0.05):
        writer = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE)
        writer.stdout.readline()
        time.sleep(pause)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        found = progress.load(tmp_path)
        assert found.message == ""
        if (tmp_path / progress.NAME).exists():
            json.loads((tmp_path / progress.NAME).read_text())

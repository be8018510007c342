"""The final challenge: every answer is worked out by the library from an invented pond, and no reply gives one away."""

import re
from collections import Counter

import numpy as np
import pytest

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.core.ranges import OutOfRange
from pondheat.lesson import challenge, marking, questions, slips, unseen_pond
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.money import payback, running_cost
from pondheat.show import challenge_tables
from pondheat.show.panels.challenge import shipped_or_invented

NUMBERS = (1, 2, 7, 9, 11, 42, 365)  # those of the tutor's teams, and one of each trap and verdict
MORE = (3, 4, 5, 6, 8, 10, 12)  # for the long command
each = pytest.mark.parametrize("number", [*NUMBERS, *(pytest.param(number, marks=pytest.mark.long) for number in MORE)])
_PONDS = {}


def pond(number):
    if number not in _PONDS:
        _PONDS[number] = shipped_or_invented(number)
    return _PONDS[number]


def asked(number):
    return challenge.questions_of(pond(number))


@pytest.mark.parametrize(
    "number", [pytest.param(number, marks=() if number == 2 else pytest.mark.long) for number in (*NUMBERS, *MORE)]
)
def test_a_number_gives_the_same_pond_again(number):
    again = shipped_or_invented(number)
    assert again.record == pond(number).record
    assert (again.price, again.saving, again.verdict) == (pond(number).price, pond(number).saving, pond(number).verdict)


def test_ponds_differ_and_every_trap_and_verdict_occurs():
    assert len({pond(number).record.days for number in NUMBERS}) == len(NUMBERS)
    assert set(Counter(pond(number).record.trap for number in NUMBERS)) == set(unseen_pond.TRAPS)
    assert len({pond(number).verdict for number in NUMBERS}) >= 3
    assert len({asked(number)["way"].right for number in NUMBERS}) >= 2


@pytest.mark.parametrize("number", (0, -1, 1000))
def test_other_numbers_are_refused(number):
    with pytest.raises(OutOfRange):
        shipped_or_invented(number)


@each
def test_the_five_answers_are_those_of_the_season(number):
    made, steps = pond(number), asked(number)
    assert list(steps) == [step.key for step in challenge.STEPS] and len(steps) == 5
    season = assessment.assess(made.sheet, scenarios=0).open
    ways = {"evaporation": 0.0, "convection": 0.0, "long_wave": 0.0}
    ways = {name: season.hours[name].sum() for name in ways} | {
        "walls": season.hours["walls"].sum() + season.hours["ground"].sum()
    }
    assert max(ways, key=ways.get).replace("long_wave", "sky") == steps["way"].right
    assert steps["trap"].right == made.record.trap
    cost = running_cost.running_cost(season.hours["electricity"] / 1000, made.sheet.tariff)
    assert steps["cost"].right(**steps["cost"].given) == pytest.approx(cost.energy_money, rel=0.02)
    years, rate = made.sheet.cover_plan.life, made.sheet.discount_rate
    pays = [payback.net_present_value(made.price, saving, years, rate) > 0 for saving in made.saving]
    verdict = {3: "sure", 2: "likely", 1: "unlikely", 0: "no"}[sum(pays)]
    assert steps["pays"].right == made.verdict == verdict


@each
def test_the_share_by_hand_is_near_what_the_cover_really_saved(number):
    """From the table alone, as a reader works it out; the line by numpy."""
    made, question = pond(number), asked(number)["share"]
    record, load = made.record, 24 * made.record.blower / 1000
    rows = [day for day in record.days if day.counted]
    opened, covered = ([day for day in rows if day.covered == on] for on in (False, True))
    slope, base = np.polyfit([day.warmer for day in opened], [day.kwh for day in opened], 1)
    expected = base + slope * np.mean([day.warmer for day in covered]) - load
    by_hand = 1 - (np.mean([day.kwh for day in covered]) - load) / expected
    assert question.right(**question.given) == pytest.approx(100 * by_hand, rel=0.01)
    assert by_hand == pytest.approx(record.saved, abs=unseen_pond.TRUTH + 0.005)


@each
def test_the_line_of_the_open_days_follows_the_weather(number):
    """A line that hardly rises would look like a mistake of ours, and would say nothing of milder days."""
    record = pond(number).record
    opened = [day for day in record.days if not day.covered and day.counted]
    slope, base = np.polyfit([day.warmer for day in opened], [day.kwh for day in opened], 1)
    heat = base + slope * np.mean([day.warmer for day in opened]) - 24 * record.blower / 1000
    assert slope * np.mean([day.warmer for day in opened]) > 0.32 * heat


@each
def test_only_one_trap_is_in_a_record(number):
    record = pond(number).record
    difference = record.mean(False, "warmer") - record.mean(True, "warmer")
    assert (difference >= unseen_pond.MILDER) == (record.trap == "milder")
    assert record.trap == "milder" or abs(difference) <= unseen_pond.ALIKE
    assert (record.blower > 0) == (record.trap == "blower")
    assert sum(not day.counted for day in record.days) == {"forgotten": 1, "midnight": 5}.get(record.trap, 0)
    said = " ".join(challenge_tables.keeper_says(pond(number)))
    assert ("midnight" in said) == (record.trap == "midnight") and ("blower" in said) == (record.trap == "blower")


@each
def test_the_trap_changes_the_answer(number):
    made, question = pond(number), asked(number)["share"]
    right, roads = question.values()
    trapped = roads.get("other weather" if made.record.trap == "milder" else "trap left in")
    assert trapped is not None and not slips.near(trapped, right, question.tolerance)


@each
def test_every_wrong_answer_is_told_which_page_to_go_back_to_and_none_the_right_one(number):
    pages = {one.notebook[:2] for one in BANK.values()}
    for question in asked(number).values():
        if isinstance(question, ReasonQuestion):
            replies = list(question.replies.values())
            assert set(question.replies) == set(question.choices) - {question.right}
            assert all(". But " in reply for reply in replies)
            assert not any(question.choices[question.right] in reply for reply in replies)
            replies_with_page = replies
        else:
            right, roads = question.values()
            assert question.answers_distinct(question.given) and roads
            assert marking.mark(question, f"{right:.4g}", question.given).outcome == marking.RIGHT
            replies_with_page = []
            for road in question.misconceptions:
                found = marking.mark(question, f"{roads[road.name]!r}", question.given)
                assert found.misconception == road.name
                replies_with_page.append(found.message)
            told = [
                marking.mark(question, text, question.given).message for text in ("fish", "-1", "1e9", "42 kg", "0")
            ]
            for reply in (*told, *replies_with_page, question.nudge, question.step):
                numbers = [float(one) for one in re.findall(r"\d+\.?\d*", reply.replace(",", ""))]
                assert not any(slips.near(one, right, question.tolerance) for one in numbers), reply
        for reply in replies_with_page:
            assert set(re.findall(r"Page (\d\d)", reply)) & pages, reply


@each
def test_the_facts_hold_what_the_questions_need(number):
    made = pond(number)
    shown = " ".join(" ".join(row) for row in challenge_tables.facts(made).rows)
    assert f"{made.sheet.pond.surface_area:g} m²" in shown
    table = challenge_tables.record(made)
    assert [float(row[3]) for row in table.rows] == [day.kwh for day in made.record.days]
    for question in asked(number).values():
        if not isinstance(question, ReasonQuestion):
            assert "{" not in questions.asked(question, question.given) + questions.worked(question, question.given)


def test_prices_are_in_the_readers_currency():
    ask = challenge.pays_question(pond(2), units.CURRENCIES["USD"]).ask
    assert "$" in ask and "£" not in ask


def test_steps_name_questions_and_pages_that_are_there():
    for step in challenge.STEPS:
        assert set(step.returns) <= set(BANK) and re.fullmatch(r"\d\d", step.page)

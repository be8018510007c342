"""The challenge of a one-hour evening: three answers from the simulated season, and pages of that evening only."""

import dataclasses
import re

import numpy as np
import pytest
from usual_cases import some_of

from pondheat.core.ranges import OutOfRange
from pondheat.lesson import marking, questions, short_challenge, slips, unseen_pond
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.show.panels.challenge import shipped_or_invented
from pondheat.tutor.challenge_sheets import TEAMS
from pondheat.tutor.routes import ROUTES, SHORT

each = pytest.mark.parametrize("number", some_of([*TEAMS, 2, 3, 5], 0, 1, 3))
_PONDS = {}


def pond(number):
    if number not in _PONDS:
        _PONDS[number] = shipped_or_invented(number)
    return _PONDS[number]


@each
def test_the_three_answers_are_those_of_the_season(number):
    made, asked = pond(number), short_challenge.questions_of(pond(number))
    assert list(asked) == [step.key for step in short_challenge.STEPS] and len(asked) == 3
    assert asked["way"].right == max(made.losses, key=made.losses.get)
    share = asked["saves"].right(**asked["saves"].given)
    saved = 1 - made.assessed.covered.heat_kwh / made.open.heat_kwh  # hour by hour, stored heat and all
    assert share == pytest.approx(100 * saved, abs=2)
    years = made.sheet.cover_plan.life
    pays = sum(saving * years > made.price for saving in made.saving)
    assert asked["winters"].right == {3: "sure", 2: "likely", 1: "unlikely", 0: "no"}[pays]


@each
def test_every_wrong_answer_is_told_a_page_of_the_evening_and_none_the_right_one(number):
    for question in short_challenge.questions_of(pond(number)).values():
        if isinstance(question, ReasonQuestion):
            replies = list(question.replies.values())
            assert set(question.replies) == set(question.choices) - {question.right}
            assert all(". But " in reply for reply in replies)
        else:
            right, roads = question.values()
            assert len(roads) >= 3 and question.answers_distinct(question.given)
            found = [marking.mark(question, f"{value!r}", question.given) for value in roads.values()]
            assert [one.misconception for one in found] == list(roads)
            replies = [one.message for one in found]
            for reply in (*replies, question.nudge, question.step):
                numbers = [float(one) for one in re.findall(r"\d+\.?\d*", reply.replace("Page 07", ""))]
                assert not any(slips.near(one, right, question.tolerance) for one in numbers), reply
        for reply in replies:
            pages = set(re.findall(r"[Pp]ages? (\d\d)", reply))
            assert pages and pages <= set(ROUTES[SHORT][1]), reply


def test_the_worked_solution_is_the_sum_of_page_07():
    question = short_challenge.saves_question(pond(1))
    sums = questions.worked(question, question.given).partition(" = ")[0].translate(str.maketrans("×÷−", "*/-"))
    assert 100 * eval(sums) == pytest.approx(question.right(**question.given))


def test_verdicts_of_the_teams_differ():
    assert len({short_challenge.winters_question(pond(number)).right for number in TEAMS}) >= 3


def test_what_is_too_close_to_call_is_refused():
    made = pond(1)
    low, *_ = made.saving
    close = np.nextafter(low * made.sheet.cover_plan.life, np.inf)
    assert unseen_pond.verdict_at(close, made.saving, made.sheet.cover_plan.life, 0.0) is None
    with pytest.raises(OutOfRange, match="another number"):
        short_challenge.winters_question(dataclasses.replace(made, price=close))

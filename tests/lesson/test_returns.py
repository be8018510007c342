"""Exercises come back on later pages: of another pond, with other numbers, worked out and diagnosed as before.

About a third come back to be worked backwards: their answer is told, and one of their numbers is asked for.
"""

import re

import pytest
from usual_cases import all_in_one

from pondheat.core import units
from pondheat.lesson import marking, questions, slips
from pondheat.lesson.challenge import STEPS
from pondheat.lesson.questions import BANK
from pondheat.show.exercises import AnswerBox
from pondheat.tutor import routes

FIGURES = re.compile(r"(?<![\w.])\d[\d.]*(?:\.\d+)?")
LATEST = "12"  # a question of a later page may come back in the challenge alone


RETURNS = routes.returns()
EACH = [(key, page) for key, pages in RETURNS.items() for page in pages]
each = all_in_one(EACH)


def apart(question, one: float, other: float) -> bool:
    """Whether neither answer would be taken for the other."""
    return not slips.near(one, other, question.tolerance) and not slips.near(other, one, question.tolerance)


@all_in_one(BANK)
def test_every_exercise_comes_back(key):
    in_challenge = {name for step in STEPS for name in step.returns}
    assert RETURNS[key] or (key in in_challenge and BANK[key].notebook[:2] > LATEST)


@each
def test_it_comes_back_later_with_other_numbers_and_another_answer(key, page):
    first, again = BANK[key], BANK[key].on(page)
    assert page > first.notebook
    assert again.given != first.given and again.ask != first.ask
    assert apart(first, first.right(**first.given), again.right(**again.given))
    assert again == first.on(page), "always the same on one page"
    others = [first.on(other) for other in RETURNS[key] if other != page]
    assert all(again.given != other.given for other in others)


@each
def test_its_numbers_are_from_the_stated_set_and_its_answer_from_the_questions_own_formula(key, page):
    first, again = BANK[key], BANK[key].on(page)
    for name, value in again.given.items():
        assert name == "told" or value in first.again.draws.get(name, (first.given[name],))
    assert (again.told or again.right) is first.right
    assert again.told or again.misconceptions is first.misconceptions
    assert again.right(**again.given) > 0
    for seed in range(20):  # fresh numbers stay in the set too
        given = again.numbers(seed)
        assert again.answers_distinct(given)
        plain = {name: value for name, value in given.items() if name != "told"}
        assert all(value in first.again.draws.get(name, (first.given[name],)) for name, value in plain.items())


@pytest.mark.parametrize("key, page", EACH)
def test_it_is_marked_and_diagnosed_as_the_first_time(key, page, tmp_path):
    box = AnswerBox(key, folder=tmp_path, page=page)
    question, given = box.exercise.question, box.exercise.given
    right, roads = question.values(given)
    for road in question.misconceptions:
        found = marking.mark(question, f"{roads[road.name]!r}", given)
        assert (found.outcome, found.misconception) == (marking.MISCONCEPTION, road.name)
    assert marking.mark(question, f"{right!r}", given).outcome == marking.RIGHT
    before = BANK[key].right(**BANK[key].given)  # the answer of the first time, from memory
    assert marking.mark(question, f"{before!r}", given).outcome != marking.RIGHT


@each
def test_every_number_is_in_the_text_and_the_worked_solution_ends_with_the_answer(key, page):
    question = BANK[key].on(page)
    text, solution = (way(question, question.given) for way in (questions.asked, questions.worked))
    assert "{" not in text + solution
    plain = re.sub(r"(?<=\d),(?=\d{3})", "", text.replace("−", ""))
    shown = {float(one.rstrip(".")) for one in FIGURES.findall(plain)}
    mentioned = set(re.findall(r"\{(\w+)", question.ask)) - {"h", "sign"}
    inverse = question.again.inverse
    assert ("told" in mentioned) == (inverse is not None)
    for name in question.again.draws:
        if inverse and name == inverse.number:
            assert name not in mentioned and all(name != number for number, _ in question.stated.values())
            continue
        sources = {name} | {stated for stated, (number, _) in question.stated.items() if number == name}
        assert sources & mentioned, f"{name} isn't told"
    for value in (question.shown(question.given)[name] for name in mentioned):
        assert any(abs(abs(value) - one) <= 6e-4 * abs(value) + 1e-12 for one in shown), (value, text)
    right = question.right(**question.given)
    assert (units.money(right, units.GBP, 2) if question.unit == "money" else units.significant(right, 3)) in solution


@each
def test_no_message_gives_the_answer_away(key, page):
    question = BANK[key].on(page)
    right, roads = question.values()
    said = [
        marking.mark(question, f"{value!r}", question.given).message for value in (*roads.values(), right * 1.4 + 3)
    ]
    said += [question.nudge, question.step, marking.mark(question, "fish", question.given).message]
    asked = questions.asked(question, question.given)
    for text in said:
        for one in FIGURES.findall(text.replace(",", "")):
            assert not slips.near(float(one.rstrip(".")), right, question.tolerance) or one in asked, text


def test_about_a_third_come_back_backwards():
    turned = [page for key, pages in RETURNS.items() for page in pages if BANK[key].on(page).told]
    assert 0.3 <= len(turned) / len(EACH) <= 0.4
    assert len(set(turned)) >= 9, "on most pages"
    in_whole = {page: sum(page in pages for pages in RETURNS.values()) for page in turned}
    assert all(turned.count(page) < in_whole[page] for page in turned), "never all of a page"


@all_in_one([key for key, one in BANK.items() if one.again and one.again.inverse])
def test_a_question_backwards_is_solved_by_its_worked_line_from_the_printed_numbers(key):
    """The line is calculated as it is printed, so that what is told may be rounded no further than it is shown."""
    first = BANK[key]
    for step in (1, 3, 6):
        question = first.on(f"{int(first.notebook[:2]) + step:02d}_later")
        for given in (question.given, *(question.numbers(seed) for seed in range(10))):
            line = questions.worked(question, given)
            sums, _, answer = re.split("; |: ", line)[-1].rpartition(" = ")
            sums = re.sub(r"(?<=\d) (?=\d{3})", "", sums.translate(str.maketrans("×÷−", "*/-")))
            assert re.fullmatch(r"[\d.()*/+ -]+", sums), line
            right = question.right(**given)
            assert eval(sums) == pytest.approx(right, rel=question.tolerance / 4), line
            forward = first.right(**{name: value for name, value in given.items() if name != "told"})
            assert given["told"] == pytest.approx(forward, rel=1e-3)
            assert float(re.search(r"\d+(?:\.\d+)?", answer)[0]) == pytest.approx(right, rel=question.tolerance / 2)


@all_in_one(BANK)
def test_there_are_enough_sets_for_pages_one_three_and_six_on(key):
    first = BANK[key]
    home = int(first.notebook[:2])
    later = [first.on(f"{home + step:02d}_later") for step in (1, 3, 6)]
    assert len({tuple(one.given.items()) for one in later}) == 3


def test_on_its_own_page_it_is_as_printed():
    for question in BANK.values():
        assert question.on(question.notebook) is question


def test_the_first_answer_is_known_again():
    first = BANK["7.1"]
    again = first.on("13_readings")
    assert slips.OTHER_NUMBERS in marking.mark(again, f"{first.right(**first.given)}", again.given).message

"""The tutor's papers: the whole bank in the key, a handout of two pages, a route's core on its sheets, no answers."""

import html
import json
import re
import subprocess

import numpy as np
import pytest
from usual_cases import all_in_one

from pondheat import cli
from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.core.display_units import METRIC
from pondheat.core.places import CLONE
from pondheat.fish.cautions import CAUTIONS, STANDING
from pondheat.lesson import challenge, marking, questions
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS, ReasonQuestion
from pondheat.sheet import pond_sheet
from pondheat.show import ponds
from pondheat.show.panels import show_of_hands
from pondheat.tutor import challenge_sheets, guesses, handout, key, papers, question_sheets, routes, writing

HOSTILE = "<script>alert(1)</script>\"'&{}%s 🐟 " + "x" * 5000
UNHEATED = f"""
name = {json.dumps(HOSTILE, ensure_ascii=False)}
timezone = "America/New_York"
currency = "USD"
[pond]
length = "13 ft"
width = "8 ft"
depth = "4 ft"
[weather]
source = "greensboro"
"""


def text(made: str) -> str:
    """The text of a paper, with single blanks."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", made.split("<body>")[1])).split())


@pytest.fixture(scope="module")
def garden():
    """The handout of the invented garden pond."""
    return handout.handout(ponds.invented())


@pytest.fixture(scope="module")
def unheated():
    """The handout of a pond with a hostile name, without heater and tariff."""
    return handout.handout(pond_sheet.from_text(UNHEATED))


@pytest.fixture(scope="module")
def whole_key():
    return key.key_page()


@pytest.fixture(scope="module")
def key_text(whole_key):
    return text(whole_key)


@pytest.fixture(scope="module")
def sheets():
    """The question sheets of every route."""
    return {route: question_sheets.question_sheets(route) for route in routes.ROUTES}


@pytest.fixture(scope="module")
def keys():
    """The key to each route's question sheets."""
    return {route: key.key_page(route=route) for route in routes.ROUTES}


# --- the key ---


@pytest.mark.parametrize("name", BANK)
def test_the_key_has_question_right_value_every_misconception_and_both_hints(name, key_text):
    question = BANK[name]
    right, wrong = question.values()
    for wanted in (
        questions.asked(question, question.given),
        f"Right: {key.answer_text(right, question, units.GBP)}",
        question.nudge,
        question.step,
        *(road.sentence for road in question.misconceptions),
        *(
            f"{road} {units.significant(value, 3)} "
            if road == "fraction"
            else f"{road} {key.answer_text(value, question, units.GBP)}"
            for road, value in wrong.items()
        ),
    ):
        assert " ".join(wanted.split()) in key_text


@all_in_one(BANK)
def test_a_value_of_the_key_is_marked_right(name):
    question = BANK[name]
    answer = key.answer_text(question.values()[0], question, units.GBP)
    assert marking.mark(question, answer, question.given).outcome == marking.RIGHT


def test_the_key_names_the_right_guess_of_each_picture(key_text):
    asked = [guesses.guess_of(path.stem) for path in sorted(routes.WORKBOOK.glob("[0-9][0-9]_*.ipynb"))]
    found = [guess for guess in asked if guess is not None]
    assert len(found) >= 16
    for guess in found:
        assert " ".join(f"The picture shows: {guess.options[guess.right]}".split()) in key_text
        assert set(guess.feedback) >= set(guess.options) - {guess.right}


@pytest.mark.parametrize("reason", REASONS, ids=[one.key for one in REASONS])
def test_the_key_and_the_sheets_have_each_reason_to_choose(reason, key_text, sheets):
    def said(template: str) -> str:
        return METRIC.with_alt_units(template)

    choices = {key: said(choice) for key, choice in reason.choices.items()}
    assert said(reason.ask) in key_text and f"Right: {choices[reason.right]}" in key_text
    shown = text(sheets["four_evenings"])
    assert said(reason.ask) in shown and all(choice in shown for choice in choices.values())
    shown_choices = papers.lettered(choices)
    assert f"Right: {choices[reason.right]} ({shown_choices[reason.right][0]})" in key_text
    for choice, reply in reason.replies.items():
        assert f"{shown_choices[choice]} {said(reply)}" in key_text and said(reply) not in shown
    assert all(choice in shown for choice in shown_choices.values())


@pytest.mark.parametrize("path", sorted(routes.WORKBOOK.glob("[0-9][0-9]_*.ipynb")), ids=lambda path: path.stem[:2])
def test_the_key_has_the_exercises_that_come_back_with_their_numbers(path, key_text):
    for name in routes.returning_on(path):
        question = BANK[name].on(path.stem)
        for wanted in (
            questions.asked(question, question.given),
            f"Right: {key.answer_text(question.values()[0], question, units.GBP)}",
        ):
            assert " ".join(wanted.split()) in key_text


def test_letters_on_the_papers_are_those_of_the_tutors_page(key_text, sheets):
    assert papers.LETTERS == show_of_hands.LETTERS
    shown = text(sheets["one_hour"])
    guess = guesses.guess_of("07_covers")
    assert guess is not None and list(guess.options).index(guess.right) == 2
    assert f"The picture shows: {guess.options[guess.right]} (C)" in key_text
    assert all(f"{letter}. {choice}" in shown for letter, choice in zip("ABC", guess.options.values()))


def test_each_team_has_another_trap_and_not_every_cover_pays():
    made = challenge_sheets.ponds_of_teams()
    assert len({pond.record.trap for pond in made}) == len(made)
    assert len({pond.verdict for pond in made}) >= 3
    assert len({challenge.way_question(pond).right for pond in made}) == 2


def test_the_key_has_the_teams_answers_and_their_sheets_have_none(key_text):
    shown = text(challenge_sheets.challenge_sheets())
    for pond in challenge_sheets.ponds_of_teams():
        for question in challenge.questions_of(pond).values():
            if isinstance(question, ReasonQuestion):
                assert f"Right: {question.choices[question.right]}" in key_text
                assert question.ask in shown and all(choice in shown for choice in question.choices.values())
                assert not any(reply in shown for reply in question.replies.values())
                assert all(reply in key_text for reply in question.replies.values())
            else:
                assert f"Right: {key.answer_text(question.values()[0], question, units.GBP)}" in key_text
                assert questions.asked(question, question.given) in shown
                assert questions.worked(question, question.given) not in shown


# --- the question sheets ---


CORES = {  # the exercises for which an evening has time, read off the pages by hand
    "one_hour": {"7.2"},
    "two_hours": {"4.2", "7.2"},
    "four_evenings": {
        *("1.3", "2.1", "3.1", "4.2", "5.2", "6.2", "7.2"),
        *("9.2", "11.3", "11.4", "12.4", "13.3", "14.4", "15.2"),
    },
}


@pytest.mark.parametrize("route", routes.ROUTES)
def test_the_papers_of_a_route_hold_the_exercises_of_its_core_and_no_others(route, sheets, keys):
    shown, answers = text(sheets[route]), text(keys[route])
    assert {path.stem[:2] for path in routes.pages_of(route)} == set(routes.ROUTES[route][1])
    for question in BANK.values():
        asked = questions.asked(question, question.given)
        assert (asked in shown) == (question.key in CORES[route]), question.key
        assert (asked in answers) == (question.key in CORES[route]), question.key
        if question.key in CORES[route]:
            right = f"Right: {key.answer_text(question.values()[0], question, units.GBP)}"
            assert right in answers and questions.worked(question, question.given) not in shown


@pytest.mark.parametrize("route", routes.ROUTES)
def test_the_sheets_show_an_example_with_other_numbers_where_the_core_has_one(route, sheets):
    examples = [found for path in routes.pages_of(route) for found in routes.core_keys(path, "worked_example")]
    assert examples == (["2.1", "3.1"] if route == "four_evenings" else [])
    assert text(sheets[route]).count("An example to read first") == len(examples)
    for name in examples:
        assert BANK[name].numbers(question_sheets.EXAMPLE_SEED) != BANK[name].given
        assert questions.worked(BANK[name], BANK[name].numbers(question_sheets.EXAMPLE_SEED)) in text(sheets[route])


def test_the_papers_of_a_route_hold_its_guesses_and_reasons_and_no_others(sheets, keys):
    shown, answers = text(sheets["one_hour"]), text(keys["one_hour"])
    for path in sorted(routes.WORKBOOK.glob("[0-9][0-9]_*.ipynb")):
        on_route = path.stem[:2] in ("00", "07")
        if guess := guesses.guess_of(path.stem):
            wanted = " ".join(guess.question.split())
            assert (wanted in shown) == (wanted in answers) == on_route, path.stem
    for one in REASONS:
        asked = METRIC.with_alt_units(one.ask)
        assert (asked in shown) == (asked in answers) == (one.notebook[:2] in ("00", "07"))


def test_what_the_core_of_a_page_is(tmp_path):
    page = tmp_path / "01_page.ipynb"
    cells = ["# A", 'exercise("1.1")', "## ◆ Look", 'exercise("1.2")', "## On", 'exercise("1.3")', "## ◆ End"]
    cells += ['worked_example("1.4")\nexercise("1.5", blanks=1)']
    page.write_text(json.dumps({"cells": [{"source": [cell]} for cell in cells]}), encoding="utf-8")
    assert routes.core_keys(page) == ["1.1", "1.2", "1.5"]
    assert routes.core_keys(page, "worked_example") == ["1.4"]


@pytest.mark.parametrize("code, asked", [("GBP", "£ (28 p is £0.28)"), ("USD", "$ (28 ¢ is $0.28)")])
def test_the_sheet_for_ones_own_pond_asks_the_price_in_whole_money(code, asked):
    assert f"Price of a kWh, {asked}" in text(question_sheets.question_sheets("one_hour", units.CURRENCIES[code]))


def test_the_sheet_for_ones_own_pond_uses_all_that_it_asks_for():
    """A row that is typed in, and so holds no arithmetic, is named in a later one that does."""
    rows = question_sheets.OWN_POND
    worked_out = [at for at, row in enumerate(rows) if any(sign in row for sign in "=×÷") or "difference" in row]
    for at, named in (("Length", "length"), ("Width", "width"), ("Mean depth", "depth"), ("Surface", "surface")):
        assert any(named in rows[later].partition("=")[2] or f"{named} ×" in rows[later] for later in worked_out), at
    for asked, named in (("Volume", "volume ×"), ("Hours a day", "My hours ÷"), ("Price of a kWh", "× price")):
        first = next(at for at, row in enumerate(rows) if row.startswith(asked))
        assert any(named in rows[later] for later in worked_out if later > first), asked
    assert "at my temperature" in " ".join(rows)
    shown = text(question_sheets.question_sheets("one_hour"))
    assert f"volume × {questions.HEAT_OF_WATER:g} kWh × price" in shown


def test_an_unknown_route_is_refused():
    for make in (question_sheets.question_sheets, lambda route: key.key_page(route=route)):
        with pytest.raises(KeyError):
            make("three_minutes")


def test_the_one_hour_key_has_the_teams_three_answers_and_their_sheets_have_none(keys):
    shown, answers = text(challenge_sheets.challenge_sheets(short=True)), text(keys[routes.SHORT])
    assert "Decide three things" in shown and "The keeper says" not in shown and "really saved" not in answers
    for pond in challenge_sheets.ponds_of_teams():
        for title, question in challenge_sheets.titled(pond, short=True):
            assert title in shown and title in answers
            if isinstance(question, ReasonQuestion):
                assert question.ask in shown and all(choice in shown for choice in question.choices.values())
                assert f"Right: {question.choices[question.right]}" in answers
                assert all(reply in answers and reply not in shown for reply in question.replies.values())
            else:
                right = key.answer_text(question.values()[0], question, units.GBP)
                assert f"Right: {right}" in answers and right not in shown
                assert questions.asked(question, question.given) in shown


# --- the handout ---


def test_the_handouts_numbers_are_those_of_the_library(garden):
    shown, pond = text(garden), ponds.invented()
    found, conditions = (
        assessment.assess(pond, scenarios=0),
        assessment.boundary_conditions(pond, assessment.weather_of(pond)),
    )
    lack = np.maximum(18 - conditions.hours["air_temp"][conditions.counted], 0).sum()
    never_covered = handout.about_difference(found.open.money, found.covered.money)
    for wanted in (
        f"covered at night, the season takes about {units.significant(found.covered.electricity_kwh, 3)} kWh",
        units.digits(lack),
        f"never covered, instead of covered by night +{never_covered}",
        "covered by night (14 h), kWh for each m²",
        "1.163",
        "0.68",
    ):
        assert " ".join(wanted.split()) in shown


def test_the_handout_has_both_experiments_a_form_and_the_cautions(garden):
    shown = text(garden)
    for wanted in (
        "Weigh the heat",
        "Cool-down test",
        "Readings",
        "counter, kWh",
        STANDING,
        *(
            METRIC.with_alt_units(CAUTIONS[name].text)
            for name in ("electricity", "children", "gas_exchange", "fish_disease")
        ),
    ):
        assert wanted in shown


def test_an_unheated_pond_without_a_tariff_has_a_handout_too(unheated):
    shown = text(unheated)
    assert "kWh ÷ 100" in shown and "¢" in shown and "£" not in shown and "January, K·h" in shown


def test_hostile_names_do_not_run(unheated):
    assert "<script" not in unheated and "xxx…" in unheated and len(unheated) < 20_000


# --- writing ---


def test_the_command_writes_the_same_bytes_again(tmp_path, capsys, monkeypatch, garden, whole_key, sheets, keys):
    monkeypatch.chdir(tmp_path)  # where no my-workbook asks for other units
    assert cli.main(["key", "--sheets", "--folder", "papers"]) == 0
    written = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "papers").iterdir()}
    expected = {"key.html": whole_key, "handout.html": garden}
    expected |= {f"sheets_{route}.html": made for route, made in sheets.items()}
    expected["sheets_challenge.html"] = challenge_sheets.challenge_sheets()
    expected["sheets_challenge_one_hour.html"] = challenge_sheets.challenge_sheets(short=True)
    assert written == expected | {f"key_{route}.html": made for route, made in keys.items()}
    assert "key.html" in capsys.readouterr().out


def test_no_key_among_the_learners_pages(tmp_path, capsys):
    for folder in (CLONE / "workbook", CLONE / "workbook" / "tutor", tmp_path / "my-workbook" / "x"):
        assert cli.main(["key", "--folder", str(folder)]) == 2
        assert "learners" in capsys.readouterr().err
    assert not list((CLONE / "workbook").rglob("key.html"))


def test_git_ignores_the_papers():
    done = subprocess.run(["git", "check-ignore", "-q", f"{writing.FOLDER}/key.html"], cwd=CLONE)
    if done.returncode == 128:
        pytest.skip("no git repository here")
    assert done.returncode == 0


def test_the_papers_load_nothing(whole_key, sheets, keys, garden):
    for made in (whole_key, garden, challenge_sheets.challenge_sheets(), *sheets.values(), *keys.values()):
        assert not re.search(r"<script|<link|<img|<iframe|url\(|https?:|@import|\bsrc=|\bon[a-z]+=", made)

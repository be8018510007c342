"""The tutor's papers: all of the bank in the key, two pages of handout, nothing given away on the question sheets."""

import html
import math
import re
import subprocess

import numpy as np
import pytest

from pondheat import cli as front
from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.core.places import CLONE
from pondheat.lesson import questions
from pondheat.lesson.questions import BANK
from pondheat.sheet import pond_sheet
from pondheat.tutor import guesses, handout, key, question_sheets, routes, writing

GARDEN = pond_sheet.read(CLONE / "data" / "ponds" / "garden_pond.toml")
SMALL = '[pond]\nlength = "13 ft"\nwidth = "8 ft"\ndepth = "4 ft"\n[weather]\nsource = "greensboro"\n'
HOSTILE = "<script>alert(1)</script>\"'&{}%s 🐟 " + "x" * 5000


def text(made: str) -> str:
    """A paper as one reads it."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", made.split("<body>")[1])).split())


@pytest.fixture(scope="module")
def whole_key():
    return key.key_page()


@pytest.fixture(scope="module")
def garden():
    return handout.handout(GARDEN)


# --- the key --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BANK)
def test_the_key_holds_question_right_value_every_road_and_both_hints(name, whole_key):
    question, said = BANK[name], text(whole_key)
    right, roads = question.values()
    for wanted in (
        questions.asked(question, question.given),
        f"Right: {key.written(right, question, units.GBP)}",
        question.nudge,
        question.step,
        *(road.sentence for road in question.misconceptions),
        *(f"{road} {key.written(value, question, units.GBP)}" for road, value in roads.items()),
    ):
        assert " ".join(wanted.split()) in said


@pytest.mark.parametrize("name", BANK)
def test_a_value_of_the_key_would_be_marked_right(name):
    from pondheat.lesson import marking

    question = BANK[name]
    written = key.written(question.values()[0], question, units.GBP)
    assert marking.mark(question, written, question.given).outcome == marking.RIGHT


def test_the_key_names_what_each_picture_bears_out(whole_key):
    asked = [guesses.guess_of(path.stem) for path in sorted(routes.WORKBOOK.glob("[0-9][0-9]_*.ipynb"))]
    found = [guess for guess in asked if guess is not None]
    assert len(found) >= 16
    for guess in found:
        assert " ".join(f"The picture bears out: {guess.options[guess.right]}".split()) in text(whole_key)
        assert set(guess.words) >= set(guess.options) - {guess.right}


# --- the question sheets --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("route", routes.ROUTES)
def test_the_sheets_ask_all_of_a_route_and_answer_nothing(route):
    said = text(question_sheets.question_sheets(route))
    pages = {path.stem for path in routes.pages_of(route)}
    assert {name[:2] for name in pages} == set(routes.ROUTES[route][1])
    for question in BANK.values():
        stands = questions.asked(question, question.given) in said
        assert stands == (question.notebook in pages)
        if stands:
            assert questions.worked(question, question.given) not in said
            example = question.numbers(question_sheets.EXAMPLE_SEED)
            assert example != question.given or question.key not in {q.key for q in _first_of_each()}


def _first_of_each():
    first = {}
    for question in BANK.values():
        first.setdefault(question.notebook, question)
    return first.values()


def test_a_route_that_is_not_known_is_refused():
    with pytest.raises(KeyError):
        question_sheets.question_sheets("three_minutes")


def test_the_small_tables_lead_to_the_answers_by_a_straight_line():
    for name, inside in (
        ("10.2", lambda g: 24 * g["loss"] / g["capacity"]),
        ("10.3", lambda g: g["first"] / g["second"]),
    ):
        found = re.findall(r"<td>([\d.]+)</td>|<th scope=\"col\">([\d.]+)</th>", question_sheets._help(name))
        numbers = [float(a or b) for a, b in found]
        across, up = numbers[: len(numbers) // 2], numbers[len(numbers) // 2 :]
        question = BANK[name]
        given = dict(question.given)
        x = 0.43 if name == "10.2" else 10 / 9
        assert across[0] < x < across[-1]
        exact = math.exp(-x) if name == "10.2" else math.log(x)
        assert np.interp(x, across, up) == pytest.approx(exact, rel=0.01), given


# --- the handout ----------------------------------------------------------------------------------------------------


def test_the_handouts_numbers_are_those_of_the_library(garden):
    said = text(garden)
    found, place = assessment.assess(GARDEN, scenarios=0), assessment.boundary_conditions(GARDEN, assessment.weather_of(GARDEN))
    lack = np.maximum(18 - place.hours["air_temp"][place.counted], 0).sum()
    never = handout.about(found.open.money - found.covered.money)
    for wanted in (
        f"covered by night, the season takes {units.digits(found.covered.electricity_kwh)} kWh",
        units.digits(lack),
        f"never covered, instead of by night +{never}",
        "1.163",
        "0.68",
    ):
        assert " ".join(wanted.split()) in said


def test_the_handout_has_both_experiments_a_form_and_the_cautions(garden):
    from pondheat.fish.cautions import CAUTIONS, STANDING

    said = text(garden)
    for wanted in (
        "Weigh the heat",
        "Cool-down test",
        "Readings",
        "counter, kWh",
        STANDING,
        *(CAUTIONS[name].text for name in ("electricity", "children", "gas_exchange", "fish_disease")),
    ):
        assert wanted in said


def test_an_unheated_pond_without_a_tariff_has_a_handout_too():
    said = text(
        handout.handout(pond_sheet.from_text(f'name = "x"\ntimezone = "America/New_York"\ncurrency = "USD"\n{SMALL}'))
    )
    assert "kWh ÷ 100" in said and "¢" in said and "£" not in said and "January, K·h" in said


def test_hostile_names_do_not_run(tmp_path):
    import json

    made = handout.handout(
        pond_sheet.from_text(f'name = {json.dumps(HOSTILE, ensure_ascii=False)}\ntimezone = "Europe/London"\n{SMALL}')
    )
    assert "<script" not in made and "xxx…" in made and len(made) < 20_000


# --- writing --------------------------------------------------------------------------------------------------------


def test_the_papers_are_the_same_bytes_again(tmp_path, capsys):
    for folder in ("one", "two"):
        assert front.main(["key", "--sheets", "--folder", str(tmp_path / folder)]) == 0
    one, two = ({path.name: path.read_bytes() for path in (tmp_path / folder).iterdir()} for folder in ("one", "two"))
    assert one == two
    assert set(one) == {"key.html", "handout.html", *(f"sheets_{route}.html" for route in routes.ROUTES)}
    assert "key.html" in capsys.readouterr().out


def test_no_key_among_the_learners_pages(tmp_path, capsys):
    for folder in (CLONE / "workbook", CLONE / "workbook" / "tutor", tmp_path / "my-workbook" / "x"):
        assert front.main(["key", "--folder", str(folder)]) == 2
        assert "learners" in capsys.readouterr().err
    assert not list((CLONE / "workbook").rglob("key.html"))


def test_git_passes_the_papers_over():
    done = subprocess.run(["git", "check-ignore", "-q", f"{writing.FOLDER}/key.html"], cwd=CLONE)
    if done.returncode == 128:
        pytest.skip("no git repository here")
    assert done.returncode == 0


def test_nothing_from_outside():
    for made in (key.key_page(), question_sheets.question_sheets("one_hour")):
        assert not re.search(r"<script|<link|<img|<iframe|url\(|https?:|@import|\bsrc=|\bon[a-z]+=", made)

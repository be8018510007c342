"""A guess before the panel, what comes back of it on later pages, and the list of what was done so far."""

import html
import importlib
import json
import re

import pytest

from pondheat.core import files
from pondheat.core.places import WORKBOOK
from pondheat.lesson import marking, progress, questions
from pondheat.show import pages, ponds
from pondheat.show.pages import ComeBack, PredictFirst, SoFar
from pondheat.show.pictures.of_sheet import basin_of, length_of

PAGES = sorted({question.notebook for question in questions.BANK.values()})


def miss(page, folder, sure="sure", times=1):
    for _ in range(times):
        asked = PredictFirst(page, folder)
        asked.guess.value = next(iter(asked.topic.WORDS))
        asked.sure.value = sure
    return asked


@pytest.mark.parametrize("page", PAGES)
def test_every_page_has_a_whole_question(page):
    topic = importlib.import_module(f"pondheat.show.panels.{page[3:]}")
    assert topic.QUESTION and topic.RIGHT in topic.OPTIONS
    assert set(topic.WORDS) == set(topic.OPTIONS) - {topic.RIGHT}, (
        "each other choice has its own sentence, the right one none"
    )
    assert len(set(topic.WORDS.values())) == len(topic.WORDS)


def shown(part):
    return part.layout.display != "none"


@pytest.mark.parametrize("chosen", ("convection", "long wave"))
def test_a_guess_and_how_sure_open_the_panel(chosen, tmp_path):
    asked = PredictFirst("04_open_surface", tmp_path)
    assert not shown(asked.panel) and not shown(asked.sure)
    asked.guess.value = chosen
    assert not shown(asked.panel) and shown(asked.sure) and asked.HOW_SURE in asked.reply.value
    asked.sure.value = "guess"
    assert shown(asked.panel) and asked.HOW_SURE not in asked.reply.value


def test_the_pond_at_rest_is_the_one_in_its_sheet():
    sheet, drawn = ponds.invented(), ponds.garden_at_rest()
    assert basin_of(sheet.pond, length_of(sheet)) == ponds.BASIN
    assert (drawn.water_temp, drawn.shelter) == (sheet.set_point[0][1], sheet.pond.wind_shelter)


@pytest.mark.parametrize("page", PAGES)
def test_before_a_guess_the_pond_in_the_question_is_drawn_and_tells_nothing_that_its_text_does_not(page, tmp_path):
    asked = PredictFirst(page, tmp_path)
    drawn = asked.situation.value
    if page == "17_checking_bench":  # asks about check rows, not about a pond
        assert drawn == "" and not hasattr(asked.topic, "SITUATION")
        return
    assert drawn.startswith("<svg") and shown(asked.situation) and not re.search(r"\d W\b", drawn)
    cells = json.loads((WORKBOOK / f"{page}.ipynb").read_text(encoding="utf-8"))["cells"]
    read = "".join("".join(cell["source"]) for cell in cells if cell["id"] in ("head", "setting", "diary"))
    said = {"18", *re.findall(r"−?\d+(?= to | or |.°C)", read)}  # 18 °C: the invented pond, as on the first page
    temperatures = re.findall(r">(?:water|air) (\S+?)\.0.°C<", drawn)
    assert temperatures and set(temperatures) <= said
    asked.guess.value = pages.SHOW_ME
    assert not shown(asked.situation)


def test_show_me_opens_the_panel_at_once(tmp_path):
    asked = PredictFirst("04_open_surface", tmp_path)
    asked.guess.value = pages.SHOW_ME
    assert shown(asked.panel) and not shown(asked.sure)


def test_only_the_first_guess_is_kept(tmp_path):
    asked = miss("04_open_surface", tmp_path)
    asked.guess.value = asked.topic.RIGHT
    assert html.escape(asked.ON) in asked.reply.value
    assert progress.load(tmp_path).misses == {"predict-04_open_surface": 1}
    asked.sure.value = "guess"
    assert progress.load(tmp_path).misses == {"predict-04_open_surface": 1}


def test_who_has_guessed_before_can_go_on_without(tmp_path):
    def last_choice() -> str:
        return PredictFirst("04_open_surface", tmp_path).guess.options[-1][1]

    assert last_choice().startswith("I don't know")
    miss("05_moist_air", tmp_path)
    assert last_choice().startswith("I don't know")
    miss("04_open_surface", tmp_path)
    assert last_choice() == "I've made my guess before, show me"


def test_show_me_is_no_guess(tmp_path):
    PredictFirst("04_open_surface", tmp_path).guess.value = pages.SHOW_ME
    assert progress.load(tmp_path).answers == {}


def test_only_a_sure_miss_comes_back_and_only_later(tmp_path):
    miss("04_open_surface", tmp_path, sure="guess")
    assert ComeBack("06_walls_and_ground", tmp_path).missed is None
    said = html.unescape(miss("04_open_surface", tmp_path).reply.value)
    assert marking.not_quite(importlib.import_module("pondheat.show.panels.open_surface").WORDS["evaporation"]) in said
    assert ComeBack("06_walls_and_ground", tmp_path).missed == "04_open_surface"
    assert ComeBack("15_payback", tmp_path).missed == "04_open_surface"
    assert ComeBack("04_open_surface", tmp_path).missed is None
    assert ComeBack("03_fish_first", tmp_path).missed is None


def test_most_often_missed_comes_first_then_the_latest(tmp_path):
    miss("02_warming_water", tmp_path)
    miss("04_open_surface", tmp_path)
    assert ComeBack("07_covers", tmp_path).missed == "04_open_surface"
    miss("02_warming_water", tmp_path)
    assert ComeBack("07_covers", tmp_path).missed == "02_warming_water"


def test_a_right_choice_settles_it_a_wrong_one_does_not(tmp_path):
    miss("04_open_surface", tmp_path)
    again = ComeBack("06_walls_and_ground", tmp_path)
    again.guess.value = "convection"
    assert "Page 04 shows it." in again.reply.value
    assert ComeBack("06_walls_and_ground", tmp_path).missed == "04_open_surface"
    again.guess.value = "long wave"
    assert html.escape("That's right.") in again.reply.value
    assert ComeBack("06_walls_and_ground", tmp_path).missed is None


def test_a_miss_of_a_page_that_is_gone_is_passed_over(tmp_path):
    (tmp_path / progress.NAME).write_text(json.dumps({"answers": {}, "misses": {"predict-00_gone": 3}}))
    assert ComeBack("07_covers", tmp_path).missed is None


def test_text_form_is_the_same_for_everyone(tmp_path):
    """Notebooks are compared by it, wherever a reader's progress stands."""
    assert ComeBack("07_covers", tmp_path)._repr_mimebundle_()["text/plain"] == ComeBack.NOTHING
    assert "Nothing chosen yet" in PredictFirst("07_covers", tmp_path)._repr_mimebundle_()["text/plain"]
    before = SoFar(tmp_path)._repr_mimebundle_()["text/plain"]
    progress.load(tmp_path).note("4.1", "right")
    assert SoFar(tmp_path)._repr_mimebundle_()["text/plain"] == before


def page(folder, name, heading):
    (folder / f"{name}.ipynb").write_text(
        json.dumps({"cells": [{"cell_type": "markdown", "source": [heading, "\n", "more"]}]})
    )


def test_list_shows_titles_links_and_what_was_done(tmp_path):
    page(tmp_path, "04_open_surface", "# Which <way>?")
    page(tmp_path, "99_own page", "# Mine")
    (tmp_path / "07_covers.ipynb").write_text("{damaged")
    kept = progress.load(tmp_path)
    kept.note("4.1", "right")
    kept.note("4.2", "not yet")
    shown = SoFar(tmp_path).value
    assert '<a href="04_open_surface.ipynb"><b>04</b> Which &lt;way&gt;?</a>' in shown
    assert 'aria-label="1 of 3 right">●◐○</span>' in shown
    assert '<a href="99_own%20page.ipynb"><b>99</b> Mine</a>' in shown
    assert "<b>07</b> covers</a>" in shown


def test_list_gives_each_page_s_minutes_and_says_which_is_optional():
    rows = dict(re.findall(r'href="(\d\d)_.*?<small>(.*?)</small>', SoFar(WORKBOOK).value))
    assert len(rows) == len(list(WORKBOOK.glob("*.ipynb"))) and set(rows) >= {"00", "08", "17"}
    for number, said in rows.items():
        assert re.fullmatch(r"\d\d minutes(, optional)?", said) and ("optional" in said) == (number == "08"), said


def test_damaged_progress_is_said_once_and_kept_aside(tmp_path):
    (tmp_path / progress.NAME).write_text("{")
    assert "kept as progress-damaged.json" in SoFar(tmp_path).value
    assert (tmp_path / "progress-damaged.json").read_text() == "{"
    assert "damaged" not in SoFar(tmp_path).value


def test_progress_that_cannot_be_kept_is_said(tmp_path, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.tempfile, "mkstemp", full)
    asked = miss("04_open_surface", tmp_path)
    assert "be saved: No space left on device" in asked.reply.value
    assert asked.panel.layout.display != "none"


def test_handbook_puts_printed_values_first_and_speaks_plainly(capsys):
    pages.handbook("heat.surface", 6)
    text = capsys.readouterr().out
    assert text.index("printed: ") < text.index("worked out another way")
    assert "water temperature 28 °C" in text and "_" not in text and "degC" not in text
    pages.handbook("season.degree_days", 9)
    assert "|" not in capsys.readouterr().out

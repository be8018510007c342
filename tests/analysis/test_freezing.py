"""A pond that freezes through says so before anything else, and no heat is then no normal practice."""

import re
from dataclasses import replace

import pytest

import pondheat
from pondheat.analysis import assessment, export
from pondheat.analysis.freezing import DEEP_ICE, freezing_warning
from pondheat.analysis.scenarios import what_if
from pondheat.core.places import CLONE
from pondheat.heat.ice import ice_thickness
from pondheat.show.choices_figure import choices
from pondheat.show.report.decision_sheet import report
from pondheat.text import summary, what_if_text
from pondheat.text.pond_answer import pond_answer

GARDEN = pondheat.read_sheet(CLONE / "data" / "ponds" / "garden_pond.toml")
NORMAL, WARNING = "normal practice", "The pond freezes through"


def of_depth(depth, cover=False, heated=False):
    """The garden pond at another mean depth, in the typical Potsdam year."""
    pond = replace(GARDEN.pond, volume=depth * GARDEN.pond.surface_area, cover=GARDEN.pond.cover if cover else None)
    return replace(GARDEN, pond=pond, set_point=GARDEN.set_point if heated else ())


def flat(text):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", text))


@pytest.fixture(scope="module")
def shallow():
    return assessment.assess(of_depth(0.1), scenarios=0)


def test_the_warning_has_two_levels():
    assert freezing_warning(1.0).startswith(WARNING) and freezing_warning(0.9995).startswith(WARNING)
    assert "72 % of the water is ice" in freezing_warning(0.72) and "colder winter" in freezing_warning(DEEP_ICE.value)
    assert freezing_warning(DEEP_ICE.value - 0.01) == freezing_warning(0.0) == ""


def test_ice_takes_all_the_water_and_no_more(shallow):
    season = shallow.open
    assert season.frozen_share == pytest.approx(1.0) and season.most_ice_kg == pytest.approx(999.1, abs=0.5)
    assert export.as_dict(shallow)["open"]["frozen_share"] == season.frozen_share
    deep = assessment.assess(of_depth(1.2), scenarios=0).open
    assert 0.05 < deep.frozen_share < 0.2 and 0.08 < ice_thickness(deep.most_ice_kg, 10.0) < 0.2


def test_the_text_begins_with_the_warning(shallow):
    text = flat(summary.season_text(shallow))
    assert text.index(f"Warning. {WARNING}") < text.index("Heat over the season")
    assert "Keep a hole open" in text and "ice, thickest, cm * 10.9" in text
    deep = flat(summary.season_text(assessment.assess(of_depth(1.2), scenarios=0)))
    assert "Warning" not in deep and "Keep a hole open" in deep  # it still bears ice
    assert pond_answer(shallow).lines[0][1].startswith(f"Warning. {WARNING}")


def test_a_cover_that_saves_a_pond_from_freezing_is_told():
    found = assessment.assess(of_depth(0.1, cover=True), scenarios=0)
    assert found.covered.frozen_share < DEEP_ICE.value and found.open.frozen_share == pytest.approx(1.0)
    text = flat(summary.season_text(found))
    assert "Warning. Without its cover: the pond freezes through" in text and f"Warning. {WARNING}" not in text


def test_the_decision_sheet_does_not_offer_no_heat(shallow):
    first = flat(report(shallow.sheet, shallow).split('<main id="first"')[1].split("</main>")[0])
    assert f"Warning. {WARNING}" in first and "Do not leave this pond without heat." in first
    assert "farms overwinter them" not in first and "No heat, no heating cost" not in first
    deep = of_depth(1.2)
    told = flat(report(deep, assessment.assess(deep, scenarios=0)))
    assert "farms overwinter them in ponds about" in told and "Warning." not in told and "keep a hole open" in told


def test_no_heat_is_not_the_best_choice_of_a_pond_that_freezes_through():
    table = what_if.what_if(of_depth(0.1, heated=True), None, ["no_heat", "floor_4"])
    row = next(one for one in table.rows if one.key == "no_heat")
    assert row.freezing and not row.eligible and row.notes[0].startswith("the pond freezes through")
    assert row.money == min(one.money for one in table.rows)
    text = flat(what_if_text.table_text(table))
    assert text.index("Warning. No heat at all: the pond freezes through") < text.index("Most expensive")
    assert "Cheapest: a floor: held at 4 °C" in text and NORMAL not in text
    figure = choices(table.grouped, "choices")
    assert "may freeze through" in str(figure.__dict__)
    garden = flat(what_if_text.table_text(what_if.what_if(of_depth(1.2, heated=True), None, ["no_heat"])))
    assert "Cheapest: no heat at all" in garden and NORMAL in garden and "Warning" not in garden

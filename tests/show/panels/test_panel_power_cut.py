"""The panel of a power cut: hours by hand, every kind of pond, and sentences where nothing can be worked out."""

import math
import re
from dataclasses import replace

import pytest
from panel_values import putting

from pondheat.analysis import assessment
from pondheat.analysis import power_cut as cuts
from pondheat.core import units
from pondheat.core.display_units import METRIC
from pondheat.core.number_format import unbroken
from pondheat.fish.cautions import CAUTIONS, STANDING
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet as sheets
from pondheat.show import ponds
from pondheat.show.panels import power_cut

START = {"when": "worst", "start": "", "fish": "", "lid": "both", "lid_air_height": 0.0}


@pytest.fixture(scope="module")
def panel():
    return power_cut.panel()


@pytest.fixture(scope="module")
def garden():
    return ponds.invented()


put = putting(START)


def short_of(record: Weather, days: int) -> Weather:
    """The first days of January as a measured record."""
    hours = record.hours
    first = hours.index.get_indexer([hours.index[(hours.index.month == 1) & (hours.index.day == 1)][0]])[0]
    return replace(record, hours=hours.iloc[first : first + 24 * days], kind=MEASURED)


def test_worst_evening_is_the_librarys_and_worked_out_once(panel, garden, monkeypatch):
    put(panel)
    start = cuts.worst_start(garden)
    bare, lidded = (cuts.power_cut(garden, start=start, covered=covered) for covered in (False, True))
    assert list(panel.found) == [False, True] and panel.first.start == start
    for cut in (bare, lidded):
        assert panel.found[cut.covered].hours_to == cut.hours_to
        assert f"{units.significant(cut.hours_to[3.0], 2)} h" in panel.sentence()
        assert f"{units.significant(cut.fastest_rate, 2)} K" in panel.sentence()
    monkeypatch.setattr(cuts, "worst_start", None)  # not asked again
    put(panel, fish="7 kg")
    assert "the usual limit is 1 K a day (common practice, no source)" in panel.sentence()


def test_mass_of_fish_is_asked_in_any_unit_and_never_assumed(panel):
    put(panel)
    assert panel.fish_kg is None and "we don't guess it" in panel.sentence()
    shown = panel.picture.value + panel.chart.value
    assert "not known" in shown and not re.search(r"Oxygen[^:]*: \d", shown)
    hours = {}
    for typed, kg in (("20 kg", 20.0), ("20000 g", 20.0), ("44 lb", 19.958), ("44 pounds", 19.958), ("0.02 t", 20.0)):
        put(panel, fish=typed)
        assert panel.fish_kg == pytest.approx(kg, rel=1e-4)
        hours[typed] = panel.first.water_oxygen_hours
    # by hand: 17.9 °C and 1023 hPa hold 9.57 mg/L; (9.57 − 4) × 12 m³ = 66.9 g; ÷ (20 × 0.2 g/h) = 16.7 h
    assert hours["20 kg"] == pytest.approx(16.7, abs=0.15) and "20 kg of fish for about 17 h" in panel.sentence()


def test_which_is_gone_first_is_said_and_true(panel):
    for fish, gone in (("4 kg", False), ("200 kg", True)):
        put(panel, fish=fish)
        assert (panel.first.water_oxygen_hours < panel.first.hours_to[3.0]) == gone
        assert ("runs out before the water is 3 K colder" in panel.sentence()) == gone
        assert ("fish can wait for warmth, not for air" in panel.sentence()) == (not gone)


def test_air_under_the_lid_is_a_best_case_and_counts_under_the_lid_only(panel):
    put(panel, fish="20 kg")
    bare = panel.first.water_oxygen_hours
    put(panel, fish="20 kg", lid_air_height=0.2)
    assert panel.found[False].oxygen_hours == panel.first.water_oxygen_hours == bare < panel.found[True].oxygen_hours
    assert "at best" in panel.sentence() and "we do not know that it does" in panel.sentence()
    put(panel, fish="20 kg", lid_air_height=0.2, lid="open")
    assert "at best" not in panel.sentence() and "With its cover on" not in panel.sentence()


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"fish": "20 kg"},
        {"lid": "covered", "fish": "20 kg"},
        {"when": "typed", "start": "2026-07-15 12:00", "lid": "open"},
    ],
)
def test_arithmetic_ends_in_the_number_shown(panel, values):
    put(panel, **values)
    lines = panel.arithmetic().lines
    assert all(line[2] for line in lines)
    for name, _, told in lines:
        if "shown above as" in told:
            assert told.split("shown above as ")[1] in panel.sentence(), name
    if values.get("fish"):
        ended = float(re.search(r"= ([\d.]+) h$", lines[-1][1])[1])
        assert ended == pytest.approx(panel.first.water_oxygen_hours, rel=0.005)
    for covered, cut in panel.found.items():
        line = next((line for line in lines if line[0] == f"Hours of warmth, {power_cut.NAMES[covered]}"), None)
        assert (line is None) == math.isinf(cut.hours_to[3.0])
        if line:  # from the heat lost by its ways, not from the temperatures that the hours were read from
            assert float(re.search(r"= ([\d.]+) h$", line[1])[1]) == pytest.approx(cut.hours_to[3.0], rel=0.01)
    assert panel.arithmetic().html()


def test_pictures_hold_the_marks_and_one_axis_of_hours(panel):
    put(panel, fish="20 kg")
    shown = panel.picture.value + panel.chart.value
    assert shown.count("<svg") == 2 and shown.count("<desc") == 2
    for words in ("1 K colder", "3 K colder", "5 K colder", "Oxygen in the water", "Warmth, open", "Warmth, cover on"):
        assert words in shown
    ids = re.findall(r'\bid="([^"]+)"', shown)
    assert len(ids) == len(set(ids))


def test_advice_and_standing_sentence_are_always_there(panel):
    foot = panel.children[-1].value
    assert unbroken(METRIC.with_alt_units(CAUTIONS["power_cut"].text)) in foot and STANDING in foot
    assert "What is counted, and what is not" in panel.words.value and "layers" in panel.words.value


def test_typing_an_hour_chooses_it(panel):
    put(panel)
    panel.controls["start"]._take({"typed": "2026-02-03 06:00"})
    assert panel.controls["when"].value == "typed" and panel.error.value == ""
    assert "power fails on 3 February 2026 at 06:00" in panel.sentence()


@pytest.mark.parametrize(
    "values, words",
    [
        ({"when": "typed"}, "Type a date and an hour"),
        ({"when": "typed", "start": "3/2/2026"}, "write it as"),
        ({"when": "typed", "start": "<b>soon</b>"}, "&lt;b&gt;soon"),
        ({"fish": "12"}, "“12 kg”"),
        ({"fish": "-3 kg"}, "the mass of the fish"),
        ({"fish": "0 kg"}, "the mass of the fish"),
        ({"fish": "12 m"}, "in m"),
        ({"fish": "<script>"}, "&lt;script"),
        ({"fish": "many"}, "No number"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(panel, values, words):
    put(panel)
    for name, value in values.items():
        panel.controls[name].value = value
    assert words in panel.error.value and "<details" not in panel.error.value and "<script" not in panel.error.value
    assert "Still for what could be read last" in panel.words.value  # the old numbers do not pass for new ones
    put(panel)
    assert "Still for" not in panel.words.value


def test_an_answer_takes_two_runs_at_most_and_one_given_before_takes_none(panel, monkeypatch):
    """One with the cover and one without; the season is never run again."""
    put(panel)
    asked = []
    monkeypatch.setattr(
        cuts, "power_cut", lambda *given, _run=cuts.power_cut, **more: asked.append(more) or _run(*given, **more)
    )
    monkeypatch.setattr(assessment, "assess", None)
    for name, value, runs in (
        ("fish", "9 kg", 2),
        ("lid_air_height", 0.15, 1),
        ("start", "2026-03-09 05:00", 0),
        ("when", "typed", 2),
        ("when", "worst", 0),
        ("lid_air_height", 0.0, 0),
        ("fish", "", 0),
    ):
        asked.clear()
        panel.controls[name].value = value
        assert len(asked) == runs, (name, asked)


def test_text_form_is_the_sentence_and_the_same_each_time(panel):
    put(panel)
    assert panel._repr_mimebundle_()["text/plain"] == panel.sentence() == power_cut.panel().sentence()


@pytest.mark.parametrize("name", ["garden_pond", "growing_on_tank", "my_first_sheet"])
def test_any_shipped_sheet(name):
    shown = power_cut.PowerFails(sheets.read(ponds.PONDS / f"{name}.toml"))
    assert shown.error.value == "" and "power fails on" in shown.sentence()
    assert ("lid" in shown.controls) == (shown.sheet.pond.cover is not None)


def test_without_cover_without_heater_and_with_a_cover_that_lies_on_the_water(garden):
    pond = garden.pond
    bare = power_cut.PowerFails(replace(garden, pond=replace(pond, cover=None)))
    assert list(bare.controls) == ["when", "start", "fish"] and bare.error.value == "" and list(bare.found) == [False]
    cold = power_cut.PowerFails(replace(garden, set_point=(), heater=replace(garden.heater, kind="none")))
    assert cold.error.value == "" and "is not heated" in cold.sentence() and "is not heated" not in bare.sentence()
    assert cold.arithmetic().html()
    flat = power_cut.PowerFails(replace(garden, pond=replace(pond, cover=replace(pond.cover, kind="floating"))))
    assert "lid_air_height" not in flat.controls and flat.error.value == ""
    frozen = power_cut.PowerFails(replace(garden, set_point=(), heater=replace(garden.heater, kind="none")))
    frozen.controls["start"]._take({"typed": "2026-01-20 00:00"})
    assert frozen.error.value == "" and "nan" not in frozen.sentence() and "inf" not in frozen.sentence()


def test_short_record_is_a_sentence(garden):
    short = short_of(assessment.weather_of(garden), 6)
    shown = power_cut.PowerFails(garden, short)
    assert "No worst evening" in shown.error.value and "<details" not in shown.error.value
    assert "worked out yet" in shown._repr_mimebundle_()["text/plain"] and shown._arithmetic() == "<p>Choose first.</p>"
    day = short.hours.index[0]
    shown.controls["start"]._take({"typed": f"{day:%Y}-01-02 18:00"})
    assert shown.error.value == "" and "holds only 3 days after that hour" in shown.sentence()
    shown.controls["start"]._take({"typed": f"{day:%Y}-08-02 18:00"})
    assert "<details" not in shown.error.value and shown.error.value


def test_missing_weather_is_a_sentence(garden):
    shown = power_cut.PowerFails(replace(garden, weather="nowhere.csv"))
    assert "nowhere" in shown.error.value and "<details" not in shown.error.value and "worst" not in shown.error.value

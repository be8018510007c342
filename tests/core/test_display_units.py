"""The line of money and units: what may stand in it, what stands beside, and that a spoilt one does no harm."""

import re

import pytest

from pondheat import cli as front
from pondheat.core import display_units, units
from pondheat.core.display_units import METRIC, Usual
from pondheat.core.units import Unreadable
from pondheat.front_door import opening
from pondheat.text.layout import WIDTH

AMERICAN = Usual(units.currency_of("USD"), True, "US gallons")


@pytest.mark.parametrize("line", ["USD, °F, US gallons", "us gallons; f; usd", " Fahrenheit,US GALLONS ,\n USD "])
def test_a_line_in_any_order(line):
    assert display_units.read_line(line) == AMERICAN
    assert AMERICAN.line() == "USD, °F, US gallons"


def test_an_empty_line_and_the_metric_words_change_nothing():
    assert display_units.read_line("") == display_units.read_line("GBP, °C, m³") == METRIC


@pytest.mark.parametrize("line", ["gallons", "dollars", "USD °F", "<b>", "x" * 5000])
def test_what_is_not_known_is_asked_back(line):
    with pytest.raises(Unreadable, match="US gallons") as told:
        display_units.read_line(line)
    assert len(str(told.value)) < 250


@pytest.mark.parametrize(
    "said, shown",
    [
        ("at 18 °C", "at 18 °C (64 °F)"),
        ("−4.5 °C", "−4.5 °C (23.9 °F)"),
        ("1 K a day", "1 K (1.8 °F) a day"),
        ("12 m³ of 18.0\u00a0°C", "12 m³ (3\u202f170 US gallons) of 18.0\u00a0°C (64.4 °F)"),
        ("5 K·d", "5 K·d"),
        ("0.25 kW/K and 10 W/(m²·K)", "0.25 kW/K and 10 W/(m²·K)"),
        ("2.45 kWh/m³", "2.45 kWh/m³"),
        ("1\u202f200 m³", "1\u202f200 m³ (317\u202f000 US gallons)"),
        ("4000 L an hour", "4000 L (1\u202f060 US gallons) an hour"),
        ("means of 12, 6, −2 and 4 °C", "means of 12, 6, −2 and 4 °C (54, 43, 28 and 39 °F)"),
        ("10 to 14\n    °C, 2–3 K", "10 to 14\n    °C (50 to 57 °F), 2–3 K (3.6–5.4 °F)"),
        ("2 L/s, 2 mg/L", "2 L/s, 2 mg/L"),
        ("at pH 8 and 18 °C", "at pH 8 and 18 °C (64 °F)"),
        ("0.120 °C", "0.120 °C (32.2 °F)"),
        ("18 °C\n  (64 °F)", "18 °C\n  (64 °F)"),
        ("one degree warmer", "one degree (1.8 °F) warmer"),
        ("counts one degree-day", "counts one degree-day"),
        ("18 °C or 64 °F", "18 °C or 64 °F"),
        ('<path d="M 1 2 L 3 4"/><b>18 °C</b>', '<path d="M 1 2 L 3 4"/><b>18 °C (64 °F)</b>'),
    ],
)
def test_what_stands_beside(said, shown):
    assert display_units.beside(said, AMERICAN) == shown
    assert display_units.beside(shown, AMERICAN) == shown  # words may come by twice
    assert display_units.beside(said, METRIC) == said


def test_the_scale_beside_a_control_agrees_with_the_units():
    degrees = display_units.scale("degC", 1, AMERICAN)
    assert 18 * degrees["times"] + degrees["plus"] == pytest.approx(units.parse("18 °C", "degF"))
    volume = display_units.scale("m**3", 0, AMERICAN)
    assert 12 * volume["times"] == pytest.approx(units.parse("12 m³", "US_liquid_gallon"))
    assert display_units.scale("kWh", 0, AMERICAN) == display_units.scale("degC", 1, METRIC) == {}


def test_it_is_kept_in_the_learners_folder_and_found_from_one_below(tmp_path):
    below = tmp_path / "tutor"
    below.mkdir()
    assert display_units.load(below) == METRIC
    display_units.keep("usd, f, us gallons", tmp_path)
    assert display_units.load(tmp_path) == display_units.load(below) == AMERICAN


def test_a_spoilt_line_leaves_the_pages_as_they_are(tmp_path):
    (tmp_path / display_units.NAME).write_bytes(b"\xff\xfe\x00 nonsense")
    assert display_units.load(tmp_path) == METRIC


def test_the_command_refuses_what_it_does_not_know(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(opening, "_serve", lambda *_: 0)
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "pounds"]) == 2
    assert "US gallons" in capsys.readouterr().err
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "usd, f"]) == 0
    assert display_units.load(tmp_path / "mine").line() == "USD, °F"


def test_invented_ponds_bear_the_usual_money(tmp_path, monkeypatch):
    from pondheat.analysis import assessment
    from pondheat.show import ponds

    pounds = assessment.assess(ponds.invented(), scenarios=0)
    display_units.keep("USD", tmp_path)
    monkeypatch.chdir(tmp_path)
    dollars = assessment.assess(ponds.invented(), scenarios=0)
    assert dollars.sheet.currency.code == "USD" and dollars.saving.total == pytest.approx(pounds.saving.total)
    assert dollars.sheet.cover_plan.price == pounds.sheet.cover_plan.price


# --- what the pages, the decision sheet and the tutor's papers show -------------------------------------------------


@pytest.fixture
def american(tmp_path, monkeypatch):
    display_units.keep(AMERICAN.line(), tmp_path)
    monkeypatch.chdir(tmp_path)


BARE = re.compile(r"\d[ \u00a0](?:°C|m³|K|L)(?![\w·/])(?!\s+\([^()]*(?:°F|gallons)\))")


def test_controls_and_words_have_it_beside(american):
    from pondheat.show.controls import Choice, Slider, Words

    assert Slider("Up to 18 °C", 3, 1, 8).label == "Up to 18 °C (64 °F)"
    assert Choice("Which?", {"one": "of 4 m³", "two": "of 5 m³"}).options[0] == [
        "one",
        "of 4 m³ (1\u202f060 US gallons)",
    ]
    words = Words("<td>18 °C</td>")
    assert words.value == "<td>18 °C (64 °F)</td>"
    words.value += "<td>2 K</td>"
    assert words.value == "<td>18 °C (64 °F)</td><td>2 K (3.6 °F)</td>"


def test_a_printed_line_goes_on_in_the_next(american, capsys):
    display_units.say("    water 18.0 °C, 6 hours later 17.0 °C, air 6.7 °C in the mean")
    first, second = capsys.readouterr().out.splitlines()
    assert (
        first.startswith("    water 18.0 °C (64.4 °F), 6 hours")
        and second.startswith("        ")
        and "44.1 °F" in second
    )
    display_units.say("x" * 100)
    assert capsys.readouterr().out == "x" * 100 + "\n"


@pytest.mark.parametrize("key", ["2.1", "8.1", "9.1", "11.3"])
def test_exercises_and_worked_examples_have_it_beside(key, american):
    from pondheat.show.exercises import exercise
    from pondheat.show.pages import worked_example

    box = exercise(key, blanks=1)
    for said in (box.label, *box.hints, worked_example(key).value):
        assert not BARE.search(said)
    assert "°F" in box.label or "gallons" in box.label


def test_a_degree_added_in_the_arithmetic_is_a_difference(american):
    from pondheat.show.arithmetic import Chain

    chain = Chain()
    chain.add("At the end", [("began at", 18.0), ("change", -5.0)], "degC")
    assert "began at 18.0 °C (64.4 °F) − change 5.00 °C (9.0 °F) = 13.0 °C (55.4 °F)" in chain.text()


def test_a_scale_of_degrees_has_fahrenheit_too(american, monkeypatch):
    from pondheat.show import figures

    def drawn(title):
        return figures.lines({"water": ([0, 1], [5.0, 15.0])}, "one", title, (0, 1), {0: "0 d"}, (-10, 30))

    figure = drawn("Water, °C, in ten days")
    assert figure.title == "Water, °C (°F), in ten days"
    for degrees in ("−10 (14)", "0 (32)", "30 (86)"):
        assert f">{degrees}<" in figure.svg
    assert "runs from 5.00 to 15.0 °C, lowest 5.00 °C" in figure.description  # so °F comes beside where it is shown
    assert drawn("Heat, kW, of water at 18 °C").title == "Heat, kW, of water at 18 °C"
    monkeypatch.chdir("/")
    assert drawn("Water, °C, in ten days").title == "Water, °C, in ten days"


def test_tables_get_a_column_or_a_line_of_fahrenheit():
    from pondheat.analysis import assessment
    from pondheat.analysis.scenarios import what_if
    from pondheat.show import ponds
    from pondheat.text import summary, what_if_text

    pond = ponds.invented()
    table = what_if.what_if(pond)
    plain, both = what_if_text.table_text(table), what_if_text.table_text(table, usual=AMERICAN)
    assert re.search(r"water °C +°F ", both) and "°F" not in plain
    assert (
        f"{display_units.fahrenheit(table.rows[0].lowest_temp)}–{display_units.fahrenheit(table.rows[0].highest_temp)}"
        in both
    )
    season = summary.season_text(assessment.assess(pond, scenarios=0), AMERICAN)
    assert "water, lowest and highest °F" in season
    assert "°F" not in summary.season_text(assessment.assess(pond, scenarios=0))
    for text in (both, season):
        assert max(map(len, text.splitlines())) <= WIDTH and not BARE.search(text)
    grid = [line for line in both.splitlines() if re.search(r"\d  +\d+$", line)]
    assert len(grid) >= len(table.rows) and len({len(line) for line in grid}) == 1  # its columns stay under each other


def test_the_decision_sheet_has_it_on_its_first_page_and_keeps_the_sheet_as_given():
    from pondheat.analysis import assessment
    from pondheat.show import ponds
    from pondheat.show.report.decision_sheet import report

    pond = ponds.invented()
    found = assessment.assess(pond, scenarios=0)
    plain, both = report(pond, found), report(pond, found, usual=AMERICAN)
    first, appendix = both.split('id="appendix"')
    assert "12 m³ (3\u202f170 US gallons)" in first and "18 °C (64 °F)" in first
    assert not BARE.search(re.sub(r"<style>.*?</style>", "", first, flags=re.S))
    assert appendix == plain.split('id="appendix"')[1]  # what is reckoned, and what was given


def test_the_tutors_papers_have_it(tmp_path, monkeypatch, capsys):
    (tmp_path / "my-workbook").mkdir()
    display_units.keep(AMERICAN.line(), tmp_path / "my-workbook")
    monkeypatch.chdir(tmp_path)
    assert front.main(["key", "--sheets"]) == 0
    capsys.readouterr()
    for name in ("key", "handout", "sheets_two_hours"):
        made = (tmp_path / "for-the-tutor" / f"{name}.html").read_text(encoding="utf-8")
        assert "°F" in made and "£" not in made.replace("£/kWh", "")
        assert not BARE.search(made.split("<body>")[1]), BARE.search(made.split("<body>")[1])

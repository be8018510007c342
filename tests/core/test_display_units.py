"""The line of preferred units: what it may contain, and what it adds to values and texts."""

import re

import pytest

from pondheat import cli as front
from pondheat.core import display_units, units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.units import Unreadable
from pondheat.front_door import opening
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS
from pondheat.text.layout import WIDTH

AMERICAN = DisplayUnits(units.currency_of("USD"), True, "US gallons")


@pytest.mark.parametrize("line", ["USD, °F, US gallons", "us gallons; f; usd", " Fahrenheit,US GALLONS ,\n USD "])
def test_a_line_in_any_order(line):
    assert display_units.read_line(line) == AMERICAN
    assert AMERICAN.line() == "USD, °F, US gallons"


def test_an_empty_line_and_the_metric_words_change_nothing():
    assert display_units.read_line("") == display_units.read_line("GBP, °C, m³") == METRIC


@pytest.mark.parametrize("line", ["gallons", "dollars", "USD °F", "<b>", "x" * 5000])
def test_an_unknown_unit_is_refused(line):
    with pytest.raises(Unreadable, match="US gallons") as told:
        display_units.read_line(line)
    assert len(str(told.value)) < 250


def test_a_difference_is_no_temperature():
    """2 °C is 36 °F as a temperature; 2 °C warmer is 3.6 °F warmer."""
    assert AMERICAN.temperature(2.0) == "2 °C (36 °F)"
    assert AMERICAN.temperature_difference(2.0) == "2 K (3.6 °F)"
    assert METRIC.temperature(2.0) == "2 °C" and METRIC.temperature_difference(2.0) == "2 K"


@pytest.mark.parametrize(
    "shown, text",
    [
        (AMERICAN.temperature(18), "18 °C (64 °F)"),
        (AMERICAN.temperature(-4.5, 1), "−4.5 °C (23.9 °F)"),
        (AMERICAN.temperature(17.96, 1), "18.0 °C (64.4 °F)"),  # of the rounded number the reader sees
        (AMERICAN.temperature_range(8, 10), "8–10 °C (46–50 °F)"),
        (AMERICAN.temperature_range(5.04, 15, 1, " to "), "5.0 to 15.0 °C (41.0 to 59.0 °F)"),
        (AMERICAN.volume(12), "12 m³ (3,170 US gallons)"),
        (DisplayUnits(gallons="UK gallons").volume(12), "12 m³ (2,640 UK gallons)"),
        (AMERICAN.quantity("5", "W/m**2/K"), "5 W/(m²·K)"),
        (AMERICAN.quantity("64", "degC", "°C"), "64 °C (147 °F)"),
    ],
)
def test_a_value_is_written_with_its_preferred_unit(shown, text):
    assert shown == text


@pytest.mark.parametrize(
    "marked, shown",
    [
        ("air of [20 °C] is [10 K] colder", "air of 20 °C (68 °F) is 10 K (18 °F) colder"),
        ("grow from [8–10 °C] on", "grow from 8–10 °C (46–50 °F) on"),
        ("[1 K] a day", "1 K (1.8 °F) a day"),
        ("1.163 kWh/(m³·K) × 12 m³ × 2 K", "1.163 kWh/(m³·K) × 12 m³ × 2 K"),  # a formula has no marks
        ("[12 m³] of [18.0\u00a0°C]", "12 m³ (3,170 US gallons) of 18.0\u00a0°C (64.4 °F)"),
        ("[1,200 m³] of water", "1,200 m³ (317,000 US gallons) of water"),
        ("[4000 L] an hour", "4000 L (1,060 US gallons) an hour"),
        ("means of [12, 6, −2 and 4 °C]", "means of 12, 6, −2 and 4 °C (54, 43, 28 and 39 °F)"),
        ("[0.120 °C]", "0.120 °C (32.2 °F)"),
        ("[one degree] warmer", "one degree (1.8 °F) warmer"),
        ("is [Δ0.5 °C] too warm", "is 0.5 °C (0.90 °F) too warm"),
        ("a [note], [W/m²], [3], [12 kWh]", "a [note], [W/m²], [3], [12 kWh]"),
    ],
)
def test_marked_quantities_of_a_text(marked, shown):
    assert AMERICAN.with_alt_units(marked) == shown
    assert AMERICAN.with_alt_units(shown) == shown, "a text may pass twice"
    assert METRIC.with_alt_units(marked) == re.sub(r"\[(?=\d|one|Δ)Δ?([^\]]*(?:°C|K|m³|L|degree))\]", r"\1", marked)


def test_the_scale_of_a_control_agrees_with_the_units():
    degrees = AMERICAN.scale("degC", 1)
    assert 18 * degrees["times"] + degrees["plus"] == pytest.approx(units.parse("18 °C", "degF"))
    assert AMERICAN.scale("delta_degC", 1)["plus"] == 0
    volume = AMERICAN.scale("m**3", 0)
    assert 12 * volume["times"] == pytest.approx(units.parse("12 m³", "US_liquid_gallon"))
    assert AMERICAN.scale("kWh", 0) == METRIC.scale("degC", 1) == {}


def test_a_line_is_found_from_its_folder_and_one_below(tmp_path):
    below = tmp_path / "tutor"
    below.mkdir()
    assert display_units.load(below) == METRIC
    display_units.keep("usd, f, us gallons", tmp_path)
    assert display_units.load(tmp_path) == display_units.load(below) == AMERICAN


def test_a_broken_line_leaves_the_pages_metric(tmp_path):
    (tmp_path / display_units.NAME).write_bytes(b"\xff\xfe\x00 nonsense")
    assert display_units.load(tmp_path) == METRIC


def test_the_command_refuses_an_unknown_unit(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(opening, "_serve", lambda *_: 0)
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "pounds"]) == 2
    assert "US gallons" in capsys.readouterr().err
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "usd, f"]) == 0
    assert display_units.load(tmp_path / "mine").line() == "USD, °F"


def test_invented_ponds_are_priced_in_the_preferred_currency(tmp_path, monkeypatch):
    from pondheat.show import ponds

    pounds = ponds.invented()
    display_units.keep("USD", tmp_path)
    monkeypatch.chdir(tmp_path)
    dollars = ponds.invented()
    assert dollars.currency.code == dollars.tariff.currency.code == "USD"
    assert dollars.cover_plan.price == pounds.cover_plan.price
    assert dollars.tariff.otherwise == pounds.tariff.otherwise


# --- what an American club sees on the pages, the decision sheet and the tutor's papers -----------------------------


@pytest.fixture
def american(tmp_path, monkeypatch):
    display_units.keep(AMERICAN.line(), tmp_path)
    monkeypatch.chdir(tmp_path)


BARE = re.compile(r"\d[ \u00a0](?:°C|m³|K|L)(?![\w·/])(?!\s+\([^()]*(?:°F|gallons)\))")


def test_controls_show_preferred_units(american):
    from pondheat.show.controls import Choice, Slider

    slider = Slider("Up to [18 °C]", 3, 1, 8, 0.5, "degC")
    assert slider.label == "Up to 18 °C (64 °F)" and slider.shown() == "3.0 °C (37.4 °F)"
    assert slider.alt_unit == {"times": 1.8, "plus": 32.0, "digits": 1, "unit": "°F"}
    options = Choice("Which?", {"one": "of [4 m³]", "two": "of [5 m³]"}).options
    assert options[0] == ["one", "of 4 m³ (1,060 US gallons)"]


@pytest.mark.parametrize("page", ["moist_air", "warming_water", "fish_first", "falling_water", "open_surface"])
def test_a_panel_leaves_no_value_without_its_preferred_unit(page, american):
    import importlib

    topic = importlib.import_module(f"pondheat.show.panels.{page}")
    panel = topic.panel()
    picture = re.sub(r"<[^>]+>", " ", panel.picture.value)  # the other unit may stand on a line of its own
    shown = [panel.sentence(), picture, panel.children[-1].value, panel.arithmetic().text()]
    shown += [display_units.localise(text) for text in (topic.QUESTION, *topic.OPTIONS.values(), *topic.WORDS.values())]
    for text in shown + [control.label for control in panel.controls.values()]:
        assert not BARE.search(text), BARE.search(text)
        assert not re.search(r"\[[^\]]*(?:°C|K|m³)\]", text), "marks are for the formatter, not for readers"


def test_reasons_and_replies_have_both_units():
    for question in REASONS:
        for text in (question.ask, *question.choices.values(), *question.replies.values()):
            assert not BARE.search(AMERICAN.with_alt_units(text)), (question.key, text)


@pytest.mark.parametrize("key", ["2.1", "8.1", "9.1", "10.3", "11.3", "14.1"])
def test_exercises_and_worked_examples_show_preferred_units(key, american):
    from pondheat.show.exercises import exercise
    from pondheat.show.pages import worked_example

    box = exercise(key, blanks=1, on=BANK[key].notebook)  # whatever page an earlier test has opened
    for said in (box.label, *box.hints, worked_example(key).value):
        assert not BARE.search(said)
    assert "°F" in box.label or "gallons" in box.label


def test_a_degree_added_in_the_arithmetic_is_a_difference(american):
    from pondheat.show.arithmetic import Chain

    chain = Chain()
    chain.add("At the end", [("began at", 18.0), ("change", -5.0)], "degC")
    assert "began at 18.0 °C (64.4 °F) − change 5.00 °C (9.0 °F) = 13.0 °C (55.4 °F)" in chain.text()


def test_a_pocket_calculator_arrives_at_the_printed_product():
    from pondheat.show.arithmetic import Chain

    chain = Chain()
    chain.times("Evaporation", (10.0, "m**2"), (111.5, "W/m**2"), "W")
    chain.times("Pump", (100.0, "W"), (24.0, "hour"), "kWh")
    assert [sum_ for _, sum_, _ in chain.lines] == ["10.0 m² × 111.5 W/m² = 1,115 W", "100 W × 24.0 h = 2.40 kWh"]


def test_a_scale_of_degrees_has_fahrenheit_too(american, monkeypatch):
    from pondheat.show import figures

    def drawn(title, celsius):
        return figures.lines(
            {"water": ([0, 1], [5.0, 15.0])}, "one", title, (0, 1), {0: "0 d"}, (-10, 30), celsius=celsius
        )

    figure = drawn("Water, °C, in ten days", True)
    assert figure.title == "Water, °C (°F), in ten days"
    for degrees in ("−10 (14)", "0 (32)", "30 (86)"):
        assert f">{degrees}<" in figure.svg
    assert "runs from 5.00 to 15.0 °C (41.0 to 59.0 °F), lowest 5.00 °C (41.0 °F)" in figure.description
    assert drawn("Heat, kW, of water at [18 °C]", False).title == "Heat, kW, of water at 18 °C (64 °F)"
    monkeypatch.chdir("/")
    assert drawn("Water, °C, in ten days", True).title == "Water, °C, in ten days"


@pytest.fixture(scope="module")
def garden():
    """The invented pond, and its assessment without likely ranges."""
    from pondheat.analysis import assessment
    from pondheat.show import ponds

    pond = ponds.invented()
    return pond, assessment.assess(pond, scenarios=0)


def test_tables_have_a_column_or_a_line_of_fahrenheit(garden):
    from pondheat.analysis.scenarios import what_if
    from pondheat.text import summary, what_if_text

    pond, found = garden
    table = what_if.what_if(pond)
    plain, both = what_if_text.table_text(table), what_if_text.table_text(table, usual=AMERICAN)
    assert re.search(r"water °C +°F ", both) and "°F" not in plain
    assert (
        f"{display_units.fahrenheit(table.rows[0].lowest_temp)}–{display_units.fahrenheit(table.rows[0].highest_temp)}"
        in both
    )
    season = summary.season_text(found, AMERICAN)
    assert "water, lowest and highest, °F" in season
    assert "°F" not in summary.season_text(found)
    for text in (both, season):
        assert max(map(len, text.splitlines())) <= WIDTH and not BARE.search(text)
    grid = [line for line in both.splitlines() if re.search(r"\d  +\d+$", line)]
    assert len(grid) >= len(table.rows) and len({len(line) for line in grid}) == 1, "columns stay aligned"


def test_the_decision_sheet_has_it_on_its_first_page_and_keeps_the_sheet_as_given(garden):
    from pondheat.show.report.decision_sheet import report

    pond, found = garden
    plain, both = report(pond, found), report(pond, found, usual=AMERICAN)
    first, appendix = both.replace("\u00a0", " ").split('id="appendix"')
    assert "12 m³ (3,170 US gallons)" in first and "18 °C (64 °F)" in first
    # in the picture the other unit is on a line of its own
    assert not BARE.search(re.sub(r"<style>.*?</style>|<[^>]+>", " ", first, flags=re.S))
    assert appendix == plain.replace("\u00a0", " ").split('id="appendix"')[1], "calculated and given values stay metric"


@pytest.mark.parametrize(
    "options, names",
    [
        ([], ("key", "handout")),
        pytest.param(["--sheets"], ("key", "handout", "sheets_two_hours"), marks=pytest.mark.long),
    ],
)
def test_the_tutors_papers_have_it(tmp_path, monkeypatch, capsys, options, names):
    (tmp_path / "my-workbook").mkdir()
    display_units.keep(AMERICAN.line(), tmp_path / "my-workbook")
    monkeypatch.chdir(tmp_path)
    assert front.main(["key", *options]) == 0
    capsys.readouterr()
    for name in names:
        made = (tmp_path / "for-the-tutor" / f"{name}.html").read_text(encoding="utf-8")
        assert "°F" in made and "£" not in made.replace("£/kWh", "")
        assert not BARE.search(made.split("<body>")[1]), BARE.search(made.split("<body>")[1])

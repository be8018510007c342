"""The line of money and units: what may stand in it, what stands beside, and that a spoilt one does no harm."""

import pytest

from pondheat import __main__ as front
from pondheat import units, usual
from pondheat.front_door import opening
from pondheat.units import Unreadable
from pondheat.usual import METRIC, Usual

AMERICAN = Usual(units.currency_of("USD"), True, "US gallons")


@pytest.mark.parametrize("line", ["USD, °F, US gallons", "us gallons; f; usd", " Fahrenheit,US GALLONS ,\n USD "])
def test_a_line_in_any_order(line):
    assert usual.read_line(line) == AMERICAN
    assert AMERICAN.line() == "USD, °F, US gallons"


def test_an_empty_line_and_the_metric_words_change_nothing():
    assert usual.read_line("") == usual.read_line("GBP, °C, m³") == METRIC


@pytest.mark.parametrize("line", ["gallons", "dollars", "USD °F", "<b>", "x" * 5000])
def test_what_is_not_known_is_asked_back(line):
    with pytest.raises(Unreadable, match="US gallons") as told:
        usual.read_line(line)
    assert len(str(told.value)) < 250


@pytest.mark.parametrize("said, shown", [
    ("at 18 °C", "at 18 °C (64 °F)"), ("−4.5 °C", "−4.5 °C (23.9 °F)"), ("1 K a day", "1 K (1.8 °F) a day"),
    ("12 m³ of 18.0\u00a0°C", "12 m³ (3\u202f170 US gallons) of 18.0\u00a0°C (64.4 °F)"), ("5 K·d", "5 K·d"),
    ("0.25 kW/K and 10 W/(m²·K)", "0.25 kW/K and 10 W/(m²·K)"), ("2.45 kWh/m³", "2.45 kWh/m³"),
    ("1\u202f200 m³", "1\u202f200 m³ (317\u202f000 US gallons)")])
def test_what_stands_beside(said, shown):
    assert usual.beside(said, AMERICAN) == shown
    assert usual.beside(said, METRIC) == said


def test_the_scale_beside_a_control_agrees_with_the_units():
    degrees = usual.scale("degC", 1, AMERICAN)
    assert 18 * degrees["times"] + degrees["plus"] == pytest.approx(units.parse("18 °C", "degF"))
    volume = usual.scale("m**3", 0, AMERICAN)
    assert 12 * volume["times"] == pytest.approx(units.parse("12 m³", "US_liquid_gallon"))
    assert usual.scale("kWh", 0, AMERICAN) == usual.scale("degC", 1, METRIC) == {}


def test_it_is_kept_in_the_learners_folder_and_found_from_one_below(tmp_path):
    below = tmp_path / "tutor"
    below.mkdir()
    assert usual.load(below) == METRIC
    usual.keep("usd, f, us gallons", tmp_path)
    assert usual.load(tmp_path) == usual.load(below) == AMERICAN


def test_a_spoilt_line_leaves_the_pages_as_they_are(tmp_path):
    (tmp_path / usual.NAME).write_bytes(b"\xff\xfe\x00 nonsense")
    assert usual.load(tmp_path) == METRIC


def test_the_command_refuses_what_it_does_not_know(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(opening, "_serve", lambda *_: 0)
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "pounds"]) == 2
    assert "US gallons" in capsys.readouterr().err
    assert front.main(["--folder", str(tmp_path / "mine"), "--money-and-units", "usd, f"]) == 0
    assert usual.load(tmp_path / "mine").line() == "USD, °F"


def test_invented_ponds_bear_the_usual_money(tmp_path, monkeypatch):
    from pondheat import study
    from pondheat.show import ponds

    pounds = study.assess(ponds.invented(), scenarios=0)
    usual.keep("USD", tmp_path)
    monkeypatch.chdir(tmp_path)
    dollars = study.assess(ponds.invented(), scenarios=0)
    assert dollars.sheet.currency.code == "USD" and dollars.saving.total == pytest.approx(pounds.saving.total)
    assert dollars.sheet.cover_plan.price == pounds.sheet.cover_plan.price

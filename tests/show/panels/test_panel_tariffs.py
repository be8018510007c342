"""The panel of the tariffs: what it says, what stands behind it, and the cheap hours that a cover leaves."""

import pytest
from panel_values import putting

from pondheat.core import units
from pondheat.show.panels import tariffs

START = {"hours": 14, "night_rate": 12, "day_rate": 30, "house": 3000}


@pytest.fixture(scope="module")
def panel():
    return tariffs.panel()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    before = panel.difference("covered")
    assert f"{units.money(before, units.GBP, 0)} more expensive than one" in panel.sentence()
    assert "Covered 14 hours each night" in panel.sentence()
    for dearer in ({"night_rate": 13}, {"day_rate": 31}, {"house": 3500}):
        put(panel, **dearer)
        assert panel.difference("covered") > before
    put(panel, night_rate=5, day_rate=20)
    assert panel.difference("covered") < 0
    assert panel.sentence().endswith("cheaper than one.")
    put(panel, hours=0)
    assert "Covered" not in panel.sentence()
    assert panel.difference("covered") == pytest.approx(panel.difference("open"))


def test_arithmetic_ends_in_the_number_shown(panel):
    for values in ({}, {"hours": 20, "house": 500}, {"night_rate": 5}):
        put(panel, **values)
        lines = panel.arithmetic().lines
        assert lines[-1][1].endswith(f"= {units.money(panel.difference('covered'), units.GBP, 2)}")
        assert units.money(abs(panel.difference("covered")), units.GBP, 0) in panel.sentence()
        assert all(line[2] for line in lines)


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert tariffs.RIGHT == "flat" and set(tariffs.WORDS) == set(tariffs.OPTIONS) - {tariffs.RIGHT}
    assert panel.difference("open") < -50  # the page says so
    assert panel.difference("covered") > 50
    # the reason given: cheap hours become fewer than an even spread over the clock would give
    assert panel.cheap_share(panel.covered_season) < 100 * 7 / 24 < panel.cheap_share(panel.open_season)


def test_the_house_by_hand(panel):
    """3000 units that cost 5 p more by day than flat: £150; the standing charge 10 p a day more, 273 days: £27.30."""
    put(panel, house=3000)
    with_house = panel.difference("covered")
    put(panel, house=0)
    assert with_house - panel.difference("covered") == pytest.approx(150.0)
    put(panel, night_rate=25, day_rate=25, house=0)
    assert panel.difference("covered") == pytest.approx(27.30)


def test_units_are_weighed_by_hand(panel):
    """Two rates of the pond alone: night share × 12 p + day share × 30 p, and 60 p a day."""
    put(panel, house=0)
    share, kwh = panel.cheap_share(panel.covered_season) / 100, panel.covered_season.electricity_kwh
    by_hand = kwh * (share * 0.12 + (1 - share) * 0.30) + 273 * 0.60
    assert panel.bills["covered", "two"].total == pytest.approx(by_hand)


def test_every_bill_stands_on_the_picture(panel):
    put(panel)
    figure = panel.redraw(**START)[0]
    assert len(figure.numbers) == 4
    for total in figure.numbers.values():
        assert units.money(total, units.GBP, 0) in figure.description


@pytest.mark.parametrize("name", START)
def test_extremes(panel, name):
    for value in (panel.controls[name].least, panel.controls[name].most):
        put(panel, **{name: value})
        assert "nan" not in panel.sentence()
    put(panel)


def test_a_cover_saves_less_money_than_units_unless_it_stays_on(capsys):
    tariffs.print_cover_hours()
    rows = [line.replace("%", "").split() for line in capsys.readouterr().out.splitlines()[2:]]
    assert [int(row[0]) for row in rows] == [0, 4, 8, 12, 16, 20, 24]
    assert all(int(row[3]) < int(row[2]) for row in rows[1:-1])
    assert rows[-1][1] == rows[0][1]

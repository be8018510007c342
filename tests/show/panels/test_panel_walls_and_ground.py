"""The panel of walls and ground: what it says, the arithmetic behind it, and the share it asks about."""

import re

import pytest
from panel_values import putting

from pondheat.core import units
from pondheat.heat import surface
from pondheat.show.panels import walls_and_ground
from pondheat.show.pictures.scene import MUCH_WIDER

START = {"insulation": 0, "board": "XPS", "stands": "above", "wind": 1}


@pytest.fixture(scope="module")
def panel():
    return walls_and_ground.panel()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    bare = panel.sides
    assert f"together {units.significant(panel.sides_shown, 3)} W" in panel.sentence()
    put(panel, insulation=50)
    board = panel.sides
    assert board < bare / 2 and f"together {units.significant(panel.sides_shown, 3)} W" in panel.sentence()
    for name, sign in (("PIR", -1), ("EPS", 1), ("timber", 1)):
        put(panel, insulation=50, board=name)
        assert sign * (panel.sides - board) > 0
    put(panel, stands="sunk")
    assert panel.sides < bare
    put(panel, wind=4)
    assert panel.sides > bare


@pytest.mark.parametrize("stands", walls_and_ground.STANDS)
@pytest.mark.parametrize("insulation", range(0, 151, 10))
def test_what_is_shown_adds_up(panel, stands, insulation):
    """The amounts of the sentence, rounded as they are; and rounding moves their sum by less than a hundredth."""
    put(panel, stands=stands, insulation=insulation)
    told = re.match(r"The walls lose ([\d.]+) W and the floor ([\d.]+) W, together ([\d.]+) W", panel.sentence())
    walls, floor, both = map(float, told.groups())
    assert both == float(units.significant(walls + floor, 3))
    assert both == pytest.approx(panel.sides, rel=0.01)
    last = panel.arithmetic().lines[-1][1]
    walls, floor, both = map(float, re.findall(r"([\d.]+) W", last))
    assert both == pytest.approx(walls + floor, abs=0.51 if both >= 100 else 0.051), last


def test_wind_means_nothing_to_a_sunk_wall(panel):
    put(panel, stands="sunk", wind=0)
    still = panel.sides
    put(panel, stands="sunk", wind=4)
    assert panel.sides == still


def test_wall_by_hand(panel):
    """0.001/0.25 + 0.05/0.13 + 0.05/0.034 + 1/(4 + 4 + 4.14) = 1.942 m²·K/W; 15.6 m² × 10 K ÷ 1.942 = 80.3 W."""
    put(panel, insulation=50)
    assert panel.watts["walls"] == pytest.approx(80.3, abs=0.05)


def test_floor_by_hand(panel):
    """ISO 13370: B' = 10/6.5 m, dt = 0.1 + 1.5 × (0.004 + 0.04) = 0.166 m; U = 3/(4.833 + 0.166) × ln(30.1) = 2.04."""
    put(panel)
    assert panel.floor_u == pytest.approx(2.04, abs=0.01)


@pytest.mark.parametrize("stands", walls_and_ground.STANDS)
def test_arithmetic_ends_in_the_number_shown(panel, stands):
    put(panel, insulation=30, stands=stands)
    lines = panel.arithmetic().lines
    assert lines[-1][0] == "Walls and floor together"
    assert float(re.search(r"= ([\d.]+) W$", lines[-1][1])[1]) == pytest.approx(panel.sides, rel=0.005)
    assert f"together {units.significant(panel.sides_shown, 3)} W" in panel.sentence()
    assert all(line[2] for line in lines)


def test_resistances_in_the_arithmetic_make_the_u_value(panel):
    put(panel, insulation=60)
    total = float(re.search(r"= ([\d.]+) m²·K/W", panel.arithmetic().lines[0][1])[1])
    assert 1 / total == pytest.approx(panel.wall_u, rel=0.005)


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert panel.share < 20 and walls_and_ground.RIGHT == "fifth"
    assert set(walls_and_ground.WORDS) == set(walls_and_ground.OPTIONS) - {walls_and_ground.RIGHT}
    # the reasons given to the other choices
    per_metre = panel.sides / (walls_and_ground.WALLS + walls_and_ground.SURFACE)
    assert panel.watts["open surface"] / walls_and_ground.SURFACE > 5 * per_metre


def test_open_surface_is_the_library_s(panel):
    put(panel, wind=2)
    by_hand = 10 * (
        surface.evaporation(18.0, 8.0, 0.8, 2.0)
        + surface.convection(18.0, 8.0, 0.8, 2.0)
        + surface.long_wave_loss(18.0, 8.0, 0.8, 0.5)
    )
    assert panel.watts["open surface"] == pytest.approx(by_hand)


@pytest.mark.parametrize("name", ("insulation", "wind"))
@pytest.mark.parametrize("stands", walls_and_ground.STANDS)
@pytest.mark.parametrize("board", walls_and_ground.BOARDS)
def test_extremes(panel, name, stands, board):
    for value in (panel.controls[name].least, panel.controls[name].most):
        put(panel, stands=stands, board=board, **{name: value})
        assert all(0 < watts < MUCH_WIDER * walls_and_ground.FULL for watts in panel.watts.values())
    put(panel)


def test_doubts_by_hand():
    """15.6 m² × 10 K ÷ (0.471 + 0.05/0.030) = 73 W and ÷ (0.471 + 0.05/0.045) = 98.6 W."""
    low, high = walls_and_ground.uncertain_losses()["walls with 50 mm EPS, the best or the worst sold"]
    assert (low, high) == pytest.approx((73.0, 98.6), abs=0.1)
    low, high = walls_and_ground.uncertain_losses()["bare floor, on clay or on sand"]
    assert 0 < low < high

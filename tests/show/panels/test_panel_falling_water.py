"""The panel of falling water: two bounds, the estimate between, and the drop that no thermometer shows."""

import re

import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.core import units
from pondheat.heat.water import latent_heat
from pondheat.show.panels import falling_water
from pondheat.show.pictures.scene import MUCH_WIDER

START = {"air_flow": 2, "water_temp": 18, "air_temp": 8, "humidity": 80}


@pytest.fixture(scope="module")
def panel():
    return falling_water.panel()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    before = panel.loss
    assert f"half of that, {units.significant(before, 3)} W" in panel.sentence()
    put(panel, air_flow=4)
    assert panel.loss == pytest.approx(2 * before) and f"{units.significant(panel.loss, 3)} W" in panel.sentence()
    for more in ({"air_temp": 2}, {"water_temp": 22}, {"humidity": 50}):
        put(panel, **more)
        assert panel.loss > before


def test_air_s_bound_by_hand(panel):
    """The handbook's relations give 42.7 W for each L/s at 22/12 °C, 80 % (psychrolib 2.5.0)."""
    put(panel, air_flow=1, water_temp=22, air_temp=12)
    assert panel.limit == pytest.approx(42.7, rel=0.01)
    assert panel.wet_bulb == pytest.approx(10.17, abs=0.05)  # psychrolib 2.5.0


def test_drop_by_hand():
    """8 m³/h × 998.6 kg/m³ × 4184 J/(kg·K) ÷ 3600 s = 9285 W for each degree: 100 W are 0.011 K."""
    assert falling_water.drop(100, 8 / 3600, 18.0) == pytest.approx(100 / 9285, rel=0.002)
    assert f"{falling_water.drop(100, 8 / 3600, 18.0):.3f}" == "0.011"


def test_estimate_lies_below_both_bounds(panel):
    for air_flow in (0.5, 2, 5):
        put(panel, air_flow=air_flow)
        assert 0 < panel.loss < panel.limit < panel.water_limit


def test_arithmetic_ends_in_the_number_shown(panel):
    for values in ({}, {"air_flow": 4.5, "air_temp": -5}, {"water_temp": 26, "humidity": 20}):
        put(panel, **values)
        lines = panel.arithmetic().lines
        end = float(re.search(r"= ([\d.]+) W$", lines[-1][1])[1])
        assert end == pytest.approx(panel.loss, rel=0.005)
        assert all(line[2] for line in lines)


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert falling_water.RIGHT == "hundredth" and panel.drop < 0.01
    assert falling_water.drop(panel.limit, falling_water.FLOW, 18.0) < 0.01  # even at the bound
    assert set(falling_water.WORDS) == set(falling_water.OPTIONS) - {falling_water.RIGHT}
    per_degree = 1 / falling_water.drop(1, falling_water.FLOW, 18.0)
    assert per_degree > 9000 and 0.1 * per_degree > 900 > 10 * panel.limit  # what the other choices are told


def test_warm_damp_air_warms_the_water(panel):
    put(panel, water_temp=8, air_temp=25, humidity=100)
    assert panel.limit < panel.loss < 0 and "would warm the water" in panel.sentence()
    put(panel, air_flow=0)
    assert "No air" in panel.sentence()


@pytest.mark.parametrize("air_flow", (0, 5))
@pytest.mark.parametrize("water_temp", (8, 26))
@pytest.mark.parametrize("air_temp", (-10, 25))
@pytest.mark.parametrize("humidity", some_of((20, 100), 1))
def test_extremes(panel, air_flow, water_temp, air_temp, humidity):
    put(panel, air_flow=air_flow, water_temp=water_temp, air_temp=air_temp, humidity=humidity)
    assert (
        max(panel.redraw(air_flow, water_temp, air_temp, humidity)[0].numbers.values())
        <= MUCH_WIDER * falling_water.FULL
    )
    panel.arithmetic()
    put(panel)


def test_trade_s_rule_by_hand():
    """0.5 % of 8 m³ is 40 L a day; times 2.46 MJ/kg ÷ 86 400 s is about 1.14 kW."""
    low, high = falling_water.by_the_rule()
    assert low == pytest.approx(40 * 0.9986 * latent_heat(18.0) / 86_400, rel=1e-4)
    assert (low, high) == pytest.approx((1137, 2274), rel=0.01)

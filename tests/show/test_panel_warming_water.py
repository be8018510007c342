"""The panel of warming: what it says, what stands behind it, and that it agrees with sums done by hand."""

import itertools
import math

import pytest

from pondheat import units
from pondheat.show.panels import warming_water

START = {"volume": 12, "rise": 3, "power": 4, "losses": "with"}


@pytest.fixture(scope="module")
def panel():
    return warming_water.panel()


def put(panel, **values):
    for name, value in {**START, **values}.items():
        panel.controls[name].value = value
    assert panel.fault.value == "", panel.fault.value


def test_by_hand(panel):
    """12 m³ × 998.8 kg/m³ × 4185.5 J/(kg·K) × 3 K ÷ 3.6e6 = 41.8 kWh (16.5 °C, IAPWS-95); ÷ 4 kW = 10.45 h."""
    put(panel, losses="without")
    assert panel.energy == pytest.approx(12 * 998.8 * 4185.5 * 3 / 3.6e6, rel=2e-4)
    assert panel.hours == pytest.approx(10.45, abs=0.01)
    assert "41.8 kWh" in panel.sentence() and "if no heat were lost" in panel.sentence()


def test_hours_agree_with_the_closed_form(panel):
    """With a loss in proportion to the lead over a still point T₀, t = τ ln((T∞ − Ta)/(T∞ − Tb)); the real loss bends a
    little, so a line through its two ends must agree to 2 %."""
    put(panel, rise=5, power=3)
    at_goal = panel.keeping
    put(panel, rise=5, power=3, volume=12)
    weak = {"volume": 12, "rise": 5, "power": 3, "losses": "with"}
    panel.redraw(**weak)
    mean = panel.mean_loss
    # loss at the start from the mean of a nearly straight line, weighted to the late, warm hours
    capacity = panel.energy / 5 * 1000  # Wh/K

    def hours(slope):
        end = 18 + (3000 - at_goal) / slope
        return capacity / slope * math.log((end - 13) / (end - 18))

    slope = 234.0  # W/K, (2511 − 1342)/5: the balance at 18 and 13 °C in this weather
    assert panel.hours == pytest.approx(hours(slope), rel=0.02)
    assert mean < at_goal


def test_hours_agree_with_the_run(panel):
    """Heat given over the hours = heat stored + heat lost, both from the same run: the line crosses 18 °C at that hour."""
    for moved in ({}, {"volume": 24}, {"power": 12, "rise": 1, "volume": 4}, {"power": 3, "rise": 8}):
        put(panel, **moved)
        figure, _ = panel.redraw(**{**START, **moved})
        at, way = figure.numbers["with losses"]
        crossing = next(i for i, temp in enumerate(way) if temp >= 18.0)
        assert crossing - 1 <= panel.hours * 1.003 and panel.hours * 0.997 <= crossing


def test_the_right_answer_is_borne_out(panel):
    put(panel)
    energy, keeping = panel.energy, panel.keeping
    put(panel, volume=24)
    doubled = {"warming": panel.energy / energy == pytest.approx(2), "keeping": panel.keeping / keeping > 1.5}
    assert doubled == {"warming": True, "keeping": False}
    assert panel.keeping / keeping < 1.05
    assert warming_water.RIGHT == "warming"
    assert set(warming_water.WORDS) == set(warming_water.OPTIONS) - {warming_water.RIGHT}


def test_sentence_follows_the_controls(panel):
    put(panel)
    hours, keeping = panel.hours, panel.keeping
    assert units.significant(hours, 3) in panel.sentence()
    put(panel, losses="without")
    assert panel.hours < hours and panel.keeping == pytest.approx(keeping)
    put(panel, rise=4)
    assert panel.hours > hours
    put(panel, power=5)
    assert panel.hours < hours
    put(panel, power=2)
    assert math.isinf(panel.hours) and "never gets to 18 °C" in panel.sentence()
    put(panel, power=2.5)
    assert "at 17.9 °C" in panel.sentence()


def test_arithmetic_ends_in_the_number_shown(panel):
    for moved in ({}, {"losses": "without"}, {"volume": 24, "power": 3}, {"rise": 1, "volume": 4, "power": 12}):
        put(panel, **moved)
        last = panel.arithmetic().lines[-1]
        shown = units.digits(panel.hours, 0) if panel.hours >= 100 else units.significant(panel.hours, 3)
        assert last[1].endswith(f"= {shown} h")
        assert f"{units.significant(panel.hours, 3)} hours" in panel.sentence()
        assert all(line[2] for line in panel.arithmetic().lines)
    put(panel, power=1)
    assert panel.arithmetic().lines[-1][1] == "never"
    assert "−1.51 kW" in panel.arithmetic().lines[-2][1]


def test_extremes_give_no_fault(panel):
    ends = [(control.least, control.most) if control.kind == "slider" else ("without", "with")
            for control in panel.controls.values()]
    for values in itertools.product(*ends):
        put(panel, **dict(zip(panel.controls, values)))
        assert "<svg" in panel.picture.value and "kWh" in panel.sentence()
        assert panel.arithmetic().lines

"""The panel of warming: what it says, what stands behind it, and that it agrees with sums done by hand."""

import itertools
import math
import re

import numpy as np
import pytest
from panel_values import putting

from pondheat.core import units
from pondheat.heat import balance
from pondheat.show.panels import warming_water

START = {"volume": 12, "rise": 3, "power": 4, "losses": True}


@pytest.fixture(scope="module")
def panel():
    return warming_water.panel()


put = putting(START)


def test_by_hand(panel):
    """IAPWS-95 gives 1.165 kWh for 1 m³ by 1 K at 10 °C and 1.1602 at 20 °C, so 1.1619 at 16.5 °C (in a straight line;
    the first is printed to 0.05 %); × 12 m³ × 3 K = 41.8 kWh; ÷ 4 kW = 10.46 h."""
    put(panel, losses=False)
    assert panel.energy == pytest.approx(12 * 3 * 1.1619, rel=5e-4)
    assert panel.hours == pytest.approx(10.46, abs=0.01)
    assert "41.8 kWh" in panel.sentence() and "if no heat were lost" in panel.sentence()


def test_hours_lie_between_two_closed_forms(panel):
    """A loss in a straight line of the temperature gives t = C/s · ln((E − start)/(E − goal)), E where the heater and
    it balance. The real loss curves upward: the line through its ends lies above it, its tangent at the goal below."""
    put(panel, rise=5, power=3)
    prepared = balance.prepare(panel.pond, warming_water.NIGHT, 0.0)

    def loss(temp):
        value, slope = balance.losses(prepared, np.array([temp]))
        return float(sum(value.values())[0]), float(sum(slope.values())[0])

    def hours(slope):
        even = 18 + (3000 - loss(18.0)[0]) / slope
        return 1000 * panel.energy / 5 / slope * math.log((even - 13) / (even - 18))

    chord, tangent = (loss(18.0)[0] - loss(13.0)[0]) / 5, loss(18.0)[1]
    assert chord < tangent
    assert hours(tangent) < panel.hours < hours(chord)
    assert hours(chord) / hours(tangent) < 1.06  # the two stand close enough to say something


def test_hours_agree_with_the_run(panel):
    """Heat given = heat stored + heat lost, both from the same run: the line crosses 18 °C at that hour."""
    for moved in ({}, {"volume": 24}, {"power": 12, "rise": 1, "volume": 4}, {"power": 3, "rise": 5}):
        put(panel, **moved)
        figure, _ = panel.redraw(**{**START, **moved})
        at, way = figure.numbers["with heat loss"]
        crossing = next(i for i, temp in enumerate(way) if temp >= 18.0)
        assert crossing - 1 <= panel.hours * 1.003 and panel.hours * 0.997 <= crossing


def test_both_lines_are_read_at_every_hour(panel):
    """By a pointer or the arrow keys, although one of the lines is straight."""
    svg = panel.redraw(**START)[0].svg
    told = re.findall(r"after (\d+) hours?: no heat loss [\d.]+, with heat loss [\d.]+", svg)
    assert {int(hour) for hour in told} == set(range(97))


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
    put(panel, losses=False)
    assert panel.hours < hours and panel.keeping == pytest.approx(keeping)
    put(panel, rise=4)
    assert panel.hours > hours
    put(panel, power=5)
    assert panel.hours < hours
    put(panel, power=2)
    assert math.isinf(panel.hours) and "never gets to 18 °C" in panel.sentence()
    assert 12 < panel.highest < 18 and f"at {math.floor(10 * panel.highest) / 10:.1f} °C it loses" in panel.sentence()
    panel.highest = 17.99  # never rounded up to the goal that it doesn't reach
    assert "at 17.9 °C it loses" in panel._text()


def test_arithmetic_ends_in_the_number_shown(panel):
    for moved in ({}, {"losses": False}, {"volume": 24, "power": 3}, {"rise": 1, "volume": 4, "power": 12}):
        put(panel, **moved)
        last = panel.arithmetic().lines[-1]
        shown = units.digits(panel.hours, 0) if panel.hours >= 100 else units.significant(panel.hours, 3)
        assert last[1].endswith(f"= {shown} h")
        assert f"{units.significant(panel.hours, 3)} hours" in panel.sentence()
        assert all(line[2] for line in panel.arithmetic().lines)
    put(panel, power=1)
    assert panel.arithmetic().lines[-1][1] == "never"
    assert f"−{panel.keeping / 1000 - 1:.2f} kW" in panel.arithmetic().lines[-2][1]


def test_extremes_give_no_fault(panel):
    ends = [
        (control.least, control.most) if control.kind == "slider" else (False, True)
        for control in panel.controls.values()
    ]
    for values in itertools.product(*ends):
        put(panel, **dict(zip(panel.controls, values)))
        assert "<svg" in panel.picture.value and "kWh" in panel.sentence()
        assert panel.arithmetic().lines

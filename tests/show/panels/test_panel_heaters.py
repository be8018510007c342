"""The panel of heaters: what it says, where the lines cross, and what stands behind it."""

import itertools
import re

import numpy as np
import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.show.panels import heaters

START = {"kind": "heat pump", "power": 6, "water_temp": 18, "air_temp": 5}


@pytest.fixture(scope="module")
def panel():
    return heaters.panel()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    before = panel.crossing
    assert "to spare" in panel.sentence() and "two formulae" in panel.sentence()
    put(panel, air_temp=-5)
    assert "short" in panel.sentence()
    put(panel, power=9)
    assert panel.crossing < before
    put(panel, water_temp=22)
    assert panel.crossing > before
    put(panel, kind="resistance")
    assert "gives 1.0 kWh" in panel.sentence()
    put(panel, kind="gas")
    assert "one kWh of gas it gives 0.9 kWh" in panel.sentence()
    put(panel, kind="resistance", power=12)
    assert panel.crossing == heaters.COLDEST and "down to −15 °C" in panel.sentence()
    put(panel, power=2, water_temp=26, air_temp=20)
    assert panel.crossing is None and "can't keep up" in panel.sentence()


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"air_temp": -10},
        {"air_temp": -15},
        {"kind": "resistance"},
        {"kind": "gas", "air_temp": -12},
        {"water_temp": 8, "air_temp": 20},
    ],
)
def test_arithmetic_ends_in_the_number_shown(panel, values):
    put(panel, **values)
    lines = panel.arithmetic().lines
    reached = float(re.search(r"= (−?[\d.,]+) W$", lines[-1][1])[1].replace("−", "-").replace(",", ""))
    assert reached == pytest.approx(panel.spare, rel=0.005, abs=0.6)
    assert f"{abs(panel.spare) / 1000:.1f} kW {'to spare' if panel.spare >= 0 else 'short'}" in panel.sentence()
    assert lines[-1][2] == f"shown above as {abs(panel.spare) / 1000:.1f} kW"
    assert all(line[2] for line in lines)


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert set(heaters.WORDS) == set(heaters.OPTIONS) - {heaters.RIGHT}
    assert panel.crossing > 0
    # the label's 6 kW are lost at about −6 °C, as the first option has it
    assert np.interp(-6.0, heaters.AIRS, panel.lost) == pytest.approx(6000, rel=0.03)
    # and at the crossing the pond loses less than the label
    assert np.interp(panel.crossing, heaters.AIRS, panel.lost) < 5000


def test_lines_cross_where_it_is_said(panel):
    put(panel)
    at = int(np.flatnonzero(panel.crossing == heaters.AIRS)[0])
    assert panel.given[at] >= panel.lost[at] and panel.given[at - 1] < panel.lost[at - 1]


def test_output_and_electricity_by_hand(panel):
    """6 kW less 2.7 % for each of 15 degrees; Staffell 2012 at a lift of 18 + 5 − 0 = 23 K."""
    put(panel, air_temp=0)
    assert panel.given[panel.chosen] == pytest.approx(6000 * (1 - 0.027 * 15))
    cop = 6.81 - 0.121 * 23 + 0.000630 * 23**2
    assert panel.taken["staffell"][panel.chosen] == pytest.approx(panel.heat[panel.chosen] / cop)


@pytest.mark.parametrize("kind", some_of(heaters.KINDS, 0))
def test_extremes_stay_on_the_scale(panel, kind):
    for power, water_temp, air_temp in itertools.product((2, 12), (8, 26), (-15, 20)):
        put(panel, kind=kind, power=power, water_temp=water_temp, air_temp=air_temp)
        assert "nan" not in panel.sentence() and "inf" not in panel.sentence()
        figure = panel.redraw(kind, power, water_temp, air_temp)[0].below
        for _, values in figure.numbers.values():
            assert min(values) >= 0 and max(values) <= panel.MOST
        assert panel.arithmetic().html()


def test_the_table_has_the_cop_of_both_formulae(capsys):
    heaters.print_cop()
    _, heads, *rows = capsys.readouterr().out.splitlines()
    assert heads.split() == ["air", "by", "Staffell", "by", "Ruhnau"] and len(rows) == 3
    for row, air in zip(rows, (-10, 0, 7)):
        lift = 18 + heaters.APPROACH.value - air
        both = [float(heaters.heat_pump_cop(lift, formula)) for formula in heaters.COP_FORMULAS]
        assert [float(cell) for cell in row.split()[-2:]] == pytest.approx(both, abs=0.0051)
        assert len(set(both)) == 2

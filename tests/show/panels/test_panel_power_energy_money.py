"""The panel of power, energy and money: what it says, what stands behind it, and which machine is the dearer one."""

import itertools

import pytest
from panel_values import putting

from pondheat.core import units
from pondheat.show import figures
from pondheat.show.panels import power_energy_money
from pondheat.show.panels.power_energy_money import HEATER, PUMP

START = {"pump_power": 100, "heater_power": 3, "hours": 250, "price": 25}


@pytest.fixture(scope="module")
def panel():
    return power_energy_money.panel()


put = putting(START)


def test_by_hand(panel):
    """0.1 kW for 8760 h are 876 kWh, at 0.25 £219.00; 3 kW for 250 h are 750 kWh, £187.50."""
    put(panel)
    assert panel.kwh == pytest.approx({PUMP: 876.0, HEATER: 750.0})
    assert panel.money == pytest.approx({PUMP: 219.0, HEATER: 187.5})
    for shown in ("876 kWh", "£219.00", "750 kWh", "£187.50", "£31.50 more"):
        assert shown in panel.sentence()


def test_sentence_follows_the_controls(panel):
    seen = set()
    for moved in ({}, {"pump_power": 50}, {"heater_power": 4}, {"hours": 300}, {"price": 30}):
        put(panel, **moved)
        seen.add(panel.sentence())
    assert len(seen) == 5
    put(panel, hours=300)
    assert "The heater costs" in panel.sentence()
    put(panel, price=50)
    assert "The pump costs" in panel.sentence()  # the price does not change which is the dearer one
    put(panel, pump_power=200, heater_power=4, hours=450)
    assert "The heater costs" in panel.sentence()  # 1800 against 1752 kWh


def test_no_difference_is_said():
    panel = power_energy_money.panel()
    panel.redraw(pump_power=100, heater_power=3, hours=292, price=25)  # 876 kWh each; a slider does not stop there
    assert panel.difference == pytest.approx(0.0)
    panel.difference = 0.0
    assert panel._text().endswith("They cost the same.")


def test_arithmetic_ends_in_the_numbers_shown(panel):
    for moved in ({}, {"hours": 500}, {"price": 10}, {"pump_power": 20, "hours": 0}):
        put(panel, **moved)
        lines = panel.arithmetic().lines
        assert lines[-1][1].endswith(f"= {units.money(abs(panel.difference), places=2)}")
        assert f"{units.money(abs(panel.difference), places=2)} more" in panel.sentence()
        assert all(line[2] for line in lines)


def test_the_right_answer_is_borne_out(panel):
    put(panel)
    assert set(power_energy_money.OPTIONS) == {"pump", "heater", "same"}
    dearer = "pump" if panel.money[PUMP] > panel.money[HEATER] else "heater"
    assert dearer == power_energy_money.RIGHT
    # not "about the same": the words say by about a sixth, and thirty times against thirty-five
    assert panel.money[PUMP] / panel.money[HEATER] - 1 == pytest.approx(1 / 6, abs=0.01)
    assert 3000 / 100 == 30 and pytest.approx(35, abs=0.1) == 8760 / 250
    assert set(power_energy_money.WORDS) == set(power_energy_money.OPTIONS) - {power_energy_money.RIGHT}


def test_extremes_give_no_fault(panel):
    ends = [(control.least, control.most) for control in panel.controls.values()]
    for values in itertools.product(*ends):
        put(panel, **dict(zip(panel.controls, values)))
        assert figures.ROOM * max(panel.kwh.values()) <= power_energy_money.SCALES[-1]
        assert "<svg" in panel.picture.value

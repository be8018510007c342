"""Heaters: what they can give and what they take, by hand."""

import numpy as np
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.season.heaters import COP_FORMULAS, Heater, fade_between, heat_pump_cop, pump_power

AIR = np.array([20.0, 15.0, 7.0, 0.0, -10.0, -10.1])


def test_resistance_gives_its_power_in_any_air():
    heater = Heater("resistance", 3000)
    assert heater.limit(AIR).tolist() == [3000.0] * 6
    electricity, gas = heater.taken(np.array([0.0, 1234.0]), 18.0, -5.0)
    assert electricity.tolist() == [0, 1234] and gas.tolist() == [0, 0]
    assert Heater("none", 3000).limit(AIR).tolist() == [0.0] * 6


def test_a_heat_pump_fades():
    """Sold as 6 kW at 15 °C, gives 3.6 at 0 °C: (6 − 3.6)/6/15 = 2.667 % for each kelvin, and no more than sold."""
    fade = fade_between(6000, 15, 3600, 0)
    assert fade == pytest.approx(0.026667, abs=1e-6)
    heater = Heater("heat pump", 6000, fade=fade)
    # 7 °C: 6000 − 8 × 160; −10 °C: 6000 − 25 × 160; below −10 it stands still
    assert heater.limit(AIR) == pytest.approx([6000, 6000, 4720, 3600, 2000, 0])
    assert Heater("heat pump", 6000, fade=fade, backup=1000).limit(AIR) == pytest.approx(
        [7000, 7000, 5720, 4600, 3000, 1000]
    )
    assert Heater("heat pump", 6000, fade=0.1, lowest_air_temp=-30).limit(np.array([4.0])) == pytest.approx(
        [0]
    )  # never below 0
    for warm, cold in (((6000, 0), (3600, 0)), ((0, 15), (0, 0))):
        with pytest.raises(OutOfRange, match="warmer point first"):
            fade_between(*warm, *cold)


def test_cop_from_the_lift():
    """6.81 − 0.121 ΔT + 0.000630 ΔT², 15 to 60 K (Staffell et al. 2012); held at its ends."""
    # by hand: 30 K → 6.81 − 3.63 + 0.567; 15 K → 6.81 − 1.815 + 0.14175; 60 K → 6.81 − 7.26 + 2.268
    assert heat_pump_cop(np.array([30.0, 15.0, 60.0])) == pytest.approx([3.747, 5.13675, 1.818])
    assert heat_pump_cop(np.array([-20.0, 0.0, 14.9])) == pytest.approx([5.13675] * 3)
    assert heat_pump_cop(80.0) == pytest.approx(1.818)
    lifts = np.linspace(15, 60, 91)
    for name in COP_FORMULAS:
        curve = heat_pump_cop(lifts, name)
        assert (np.diff(curve) < 0).all() and curve.min() > 1 and curve.max() < 7
    with pytest.raises(OutOfRange, match="Did you mean “staffell”"):
        heat_pump_cop(30.0, "stafell")


def test_what_a_heat_pump_takes():
    """Water 18 °C in air of 3 °C: its own water 5 K warmer, so a lift of 20 K, COP 6.81 − 2.42 + 0.252 = 4.642."""
    heater = Heater("heat pump", 6000, fade=0.02, backup=1500)
    electricity, gas = heater.taken(np.array([2000.0]), np.array([18.0]), np.array([3.0]))
    assert electricity == pytest.approx([2000 / 4.642]) and gas.tolist() == [0]
    # it gives 6000 × (1 − 0.02 × 12) = 4560 W there; of 5060 W the last 500 come from the backup, watt for watt
    assert heater.taken(np.array([5060.0]), 18.0, np.array([3.0]))[0] == pytest.approx([4560 / 4.642 + 500])
    # below its lowest working temperature the backup alone
    assert heater.taken(np.array([1500.0]), 18.0, np.array([-10.5]))[0] == pytest.approx([1500])
    poor = Heater("heat pump", 6000, cop_factor=0.8)
    assert poor.taken(np.array([2000.0]), 18.0, np.array([3.0]))[0] == pytest.approx([2000 / (0.8 * 4.642)])
    awful = Heater("heat pump", 6000, cop_factor=0.1)
    assert awful.taken(np.array([2000.0]), 18.0, np.array([3.0]))[0] == pytest.approx([2000])  # never worse than a wire


def test_gas_by_its_efficiency():
    heater = Heater("gas", 9000, efficiency=0.9)
    electricity, gas = heater.taken(np.array([0.0, 4500.0]), 18.0, -20.0)
    assert electricity.tolist() == [0, 0] and gas == pytest.approx([0, 5000])  # 4.5 kW of heat from 5 kW burnt
    assert heater.limit(np.array([-30.0])).tolist() == [9000]


def test_pump_power_by_hand():
    # 10 m³/h lifted 2 m: 999.1 × 9.80665 × 10/3600 × 2 = 54.4 W of water power; at 35 % 155.5 W
    assert pump_power(10 / 3600, 2.0, 0.35) == pytest.approx(999.1 * 9.80665 * 10 / 3600 * 2 / 0.35, rel=1e-4)


@pytest.mark.parametrize(
    "given, sentence",
    [
        ({"kind": "solar"}, "not a known kind of heater"),
        ({"power": -1}, "power"),
        ({"kind": "gas", "efficiency": 1.2}, "efficiency"),
        ({"kind": "resistance", "power": 3000, "backup": 100}, "belongs to a heat pump"),
        ({"kind": "heat pump", "cop_formula": "mine"}, "not a known COP formula"),
    ],
)
def test_heaters_that_cannot_be(given, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        Heater(**given)

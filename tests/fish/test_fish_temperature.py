"""The filter's factor, and facts of feeding and growth with their sources."""

import pytest

from pondheat.fish import temperature
from pondheat.fish.temperature import nitrification_factor
from pondheat.ranges import OutOfRange
from pondheat.sources import BIBLIOGRAPHY


def test_one_at_twenty_and_theta_for_each_degree():
    for theta in (1.02, 1.06, 1.10):
        assert nitrification_factor(20.0, theta) == 1.0
        assert nitrification_factor(15.0, theta) / nitrification_factor(14.0, theta) == pytest.approx(theta)


def test_by_hand():
    # 1.1 multiplied by itself ten times is 2.5937; 1.02 gives 1.2190
    assert 1 / nitrification_factor(10.0, 1.10) == pytest.approx(2.5937, abs=1e-4)
    assert 1 / nitrification_factor(10.0, 1.02) == pytest.approx(1.2190, abs=1e-4)


def test_measured_filters():
    """Zhu and Chen 2002, abstract: a degree more at 20 °C gives 1.108 % (short of oxygen), 4.275 % (of ammonia)."""
    for constant, percent in ((temperature.THETA_SHORT_OF_OXYGEN, 1.108), (temperature.THETA_SHORT_OF_AMMONIA, 4.275)):
        assert 100 * (nitrification_factor(21.0, constant.value) - 1) == pytest.approx(percent, abs=1e-6)


def test_growth_rises_with_warmth_and_levels_off():
    temps, growth = zip(*sorted(temperature.CARP_GROWTH.items()))
    steps = [b - a for a, b in zip(growth, growth[1:])]
    assert all(step > 0 for step in steps) and steps == sorted(steps, reverse=True)
    assert temperature.CARP_GROWTH_SOURCE in BIBLIOGRAPHY
    assert temperature.NO_FOOD_FROM.value < temperature.LITTLE_FOOD_BELOW.value < min(temps)


def test_refuses_nonsense():
    with pytest.raises(OutOfRange):
        nitrification_factor(10.0, 106)
    with pytest.raises(OutOfRange):
        nitrification_factor(150.0)

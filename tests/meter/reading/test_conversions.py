"""Conversions of what a meter shows; values by hand from the definitions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.meter.reading import conversions


def test_flashes():
    # 3600 s an hour over 1000 flashes a kWh: one flash a second is 3.6 kW.
    assert np.allclose(conversions.power_from_flashes(np.array([1.0, 20.0]), 1000.0), [3600.0, 180.0])
    assert conversions.power_from_flashes(2.0, 800.0) == 2250.0
    assert conversions.energy_from_flashes(500.0, 1000.0) == 0.5


@given(st.floats(0.1, 1000), st.floats(100, 10_000), st.floats(0.1, 100))
def test_power_and_energy_from_flashes_agree(seconds, per_kwh, hours):
    flashes = hours * 3600 / seconds
    power = conversions.power_from_flashes(seconds, per_kwh)
    assert conversions.energy_from_flashes(flashes, per_kwh) == pytest.approx(power * hours / 1000)


def test_counter_and_roll_over():
    assert conversions.counter_use(10_432.0, 10_600.0, 5) == 168.0
    assert conversions.counter_use(99_998.0, 12.0, 5) == 14.0
    assert conversions.counter_use(999_850.0, 150.0, 6) == 300.0
    assert conversions.counter_use(12.0, 12.0, 5) == 0.0
    assert np.array_equal(conversions.counter_use(np.array([1.0, 99_999.0]), np.array([3.5, 1.0]), 5), [2.5, 2.0])


@given(st.integers(0, 99_999), st.integers(0, 49_999))
def test_counter_round_trip(previous, used):
    assert conversions.counter_use(previous, (previous + used) % 100_000, 5) == used


def test_refuses_impossible_readings():
    with pytest.raises(OutOfRange, match="swapped, or was a digit misread"):
        conversions.counter_use(10_600.0, 10_432.0, 5)
    with pytest.raises(OutOfRange, match="more digits"):
        conversions.counter_use(10_432.0, 106_000.0, 5)
    with pytest.raises(OutOfRange):
        conversions.power_from_flashes(0.0, 1000.0)


def test_current():
    assert conversions.power_from_current(4.0, 230.0) == 920.0
    assert conversions.power_from_current(np.array([1.0, 2.0]), 230.0, 0.5).tolist() == [115.0, 230.0]

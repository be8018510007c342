"""Falling water: the air-side limit by an independent road, its signs, and the filter built on it."""

import numpy as np
import psychrolib
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.heat import falling_water, moist_air

psychrolib.SetUnitSystem(psychrolib.SI)


def test_the_air_side_limit_against_psychrolib():
    rng = np.random.default_rng(4)
    for _ in range(50):
        water, air = rng.uniform(0.5, 35), rng.uniform(-20, 35)
        humidity, pressure = rng.uniform(0.05, 1), rng.uniform(75_000, 104_000)
        ratio = psychrolib.GetHumRatioFromRelHum(air, humidity, pressure)
        mass = 0.003 / psychrolib.GetMoistAirVolume(air, ratio, pressure)
        printed = mass * (psychrolib.GetSatAirEnthalpy(water, pressure) - psychrolib.GetMoistAirEnthalpy(air, ratio))
        ours = falling_water.air_side_limit(0.003, water, air, humidity, pressure)
        assert ours == pytest.approx(printed, rel=2e-4, abs=0.02)


def test_water_at_the_wet_bulb_has_nothing_left_to_lose():
    # the wet bulb's enthalpy differs from the air's by the water taken up alone, 2 to 4 % of the loss at 10 K more
    for air, humidity in ((12.0, 0.8), (25.0, 0.3), (3.0, 0.6)):
        wet = moist_air.wet_bulb(air, humidity, 101_325.0)
        at_wet_bulb = falling_water.air_side_limit(0.01, wet, air, humidity)
        warmer = falling_water.air_side_limit(0.01, wet + 10, air, humidity)
        assert abs(at_wet_bulb) < 0.04 * warmer
        assert falling_water.air_side_limit(0.01, wet - 1, air, humidity) < 0 < at_wet_bulb + 0.04 * warmer


def test_proportional_to_air_and_rising_with_the_waters_warmth():
    assert falling_water.air_side_limit(0.0, 22, 12, 0.8) == 0.0
    single, double = (falling_water.air_side_limit(flow, 22, 12, 0.8) for flow in (0.003, 0.006))
    assert double == pytest.approx(2 * single)
    assert np.all(np.diff(falling_water.air_side_limit(0.003, np.linspace(0, 35, 71), 12.0, 0.8)) > 0)
    assert np.all(np.diff(falling_water.air_side_limit(0.003, 22.0, 12.0, np.linspace(0, 1, 21))) < 0)
    assert falling_water.air_side_limit(0.003, 12.0, 12.0, 1.0) == pytest.approx(0.0, abs=1e-9)


def test_filter_loss_is_its_two_parts():
    limit = falling_water.air_side_limit(0.002, 20, 5, 0.9)
    assert falling_water.filter_loss(0.002, 0.6, 3.0, 20, 5, 0.9) == pytest.approx(0.6 * limit + 3.0 * 15)
    assert falling_water.filter_loss(0.002, 0.0, 0.0, 20, 5, 0.9) == 0.0
    with pytest.raises(OutOfRange, match="effectiveness.*60 %"):
        falling_water.filter_loss(0.002, 60, 3.0, 20, 5, 0.9)


def test_a_stream_gives_and_takes_alike():
    assert falling_water.stream_heat(0.002, 18, 17) == -falling_water.stream_heat(0.002, 17, 18)
    # 100 W out of 8 m³/h is 0.011 K: too little for a thermometer
    assert falling_water.stream_heat(8 / 3600, 18.0, 18.0 - 0.0108) == pytest.approx(100, rel=0.01)

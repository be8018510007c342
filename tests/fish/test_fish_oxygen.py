"""Oxygen at saturation against printed tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.fish.oxygen import saturation, saturation_at_altitude


@pytest.mark.parametrize(
    "temp, printed",
    [
        # Benson & Krause 1980/1984 as adopted by APHA Standard Methods 1985, mg/L at 101.325 kPa.
        (0.0, 14.621),
        (8.0, 11.843),
        (15.0, 10.084),
        (22.0, 8.744),
        (30.0, 7.559),
    ],
)
def test_printed_table(temp, printed):
    assert saturation(temp) == pytest.approx(printed, abs=0.0011)  # one in the last printed digit


@pytest.mark.parametrize("pressure, printed", [(97_770.0, 10.89), (89_870.0, 10.0), (84_560.0, 9.4)])
def test_low_pressure(pressure, printed):
    # Benson & Krause pressure factor (APHA; USGS since 2011), recomputed, at 10 °C.
    assert saturation(10.0, pressure) == pytest.approx(printed, abs=0.01)


def test_theta_is_a_function_of_celsius():
    # A public code feeds θ with kelvin: at 10 °C it is then 0.00210 instead of 0.00084, and the result at 84.56 kPa
    # comes out 0.021 % high.
    p, kelvin = 84_560 / 101_325, 283.15
    vapour = np.exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    assert vapour * 101_325 == pytest.approx(1228.2, rel=0.005)  # ASHRAE Fundamentals 2017: 1.2282 kPa at 10 °C

    def factor(temp):
        theta = 0.000975 - 1.426e-5 * temp + 6.436e-8 * temp**2
        return (p - vapour) * (1 - theta * p) / ((1 - vapour) * (1 - theta))

    ours = saturation(10.0, 84_560.0) / saturation(10.0)
    assert ours == pytest.approx(factor(10.0), rel=1e-9)
    assert factor(kelvin) / ours - 1 == pytest.approx(0.00021, abs=0.00001)


@given(st.floats(0, 39), st.floats(70_000, 105_000))
def test_falls_with_temperature_and_altitude(temp, pressure):
    assert saturation(temp + 1, pressure) < saturation(temp, pressure)
    assert saturation(temp, pressure - 1000) < saturation(temp, pressure)


def test_arrays_and_refusals():
    assert saturation(np.array([0.0, 10.0]), 101_325.0).shape == (2,)
    assert type(saturation(10.0)) is float
    with pytest.raises(OutOfRange, match="did you mean 1013 hPa"):
        saturation(10.0, 1013.0)


@pytest.mark.parametrize(
    "temp, printed",
    [
        # An oxygen meter's manual (HI 98193), at 0, 300, 600, 900 m; one decimal, one in the last digit allowed.
        (0.0, (14.6, 14.1, 13.6, 13.1)),
        (10.0, (11.3, 10.9, 10.5, 10.1)),
        (14.0, (10.3, 9.9, 9.6, 9.2)),
        (20.0, (9.1, 8.8, 8.4, 8.1)),
    ],
)
def test_printed_table_of_altitudes(temp, printed):
    assert saturation_at_altitude(temp, np.array([0.0, 300.0, 600.0, 900.0])) == pytest.approx(printed, abs=0.1)


def test_altitude_stands_for_its_pressure():
    # ASHRAE Fundamentals 2017 ch. 1 table 1 prints 89.875 kPa at 1000 m
    assert saturation_at_altitude(10.0, 1000.0) == pytest.approx(saturation(10.0, 89_875.0), rel=1e-4)
    assert saturation_at_altitude(10.0, 0.0) == saturation(10.0)
    with pytest.raises(OutOfRange, match="altitude"):
        saturation_at_altitude(10.0, 12_000.0)

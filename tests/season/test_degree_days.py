"""Degree-days: published cases, the three formulae against each other, and the error of averaging first."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.season.degree_days import degree_days, degree_days_from_extremes, degree_days_of_sine, degree_hours

TEMP = st.floats(-30, 40)


def test_a_series_by_hand():
    # 6, 10, 13, 16, 18 °C below 18 °C: 12 + 8 + 5 + 2 + 0
    assert degree_days([6, 10, 13, 16, 18], 18) == 27


def test_warm_days_do_not_offset_cold_ones():
    # the mean of 4 and 32 is the base, yet the cold day counts
    assert degree_days([4, 32], 18) == 14


def test_printed_value_of_a_day_below_zero():
    # Statistics Netherlands 2015: a day of −4 °C counts 22 below 18 °C
    assert degree_days(-4, 18) == 22


def test_degree_hours_by_hand():
    # an hour with the air 10 °C below the water counts ten; a warm hour gives nothing back
    assert degree_hours([8], 18) == 10 and degree_hours([8, 13, 20], 18) == 15
    day = np.full(24, 6.0)
    assert degree_hours(day, 18) == 24 * degree_days(6.0, 18)


def test_array_of_bases():
    assert degree_days([10, 20], [15, 25]).tolist() == [5, 20]


@pytest.mark.parametrize(
    "highest, lowest, expected",
    [
        # Irish meteorological service, cases I to IV with base 15.5 °C; the second column of each is recomputed by hand
        (22, 16, 0.0),
        (14, 6, 5.5),
        (21, 12, 0.875),
        (19.5, 11.5, 1.0),
    ],
)
def test_four_cases_of_daily_extremes(highest, lowest, expected):
    assert degree_days_from_extremes(highest, lowest, 15.5) == pytest.approx(expected, abs=1e-12)


def test_exchanged_extremes_are_rejected():
    with pytest.raises(OutOfRange, match="swapped"):
        degree_days_from_extremes(5, 12, 15.5)


@given(mean=TEMP, amplitude=st.floats(0, 15), base=TEMP)
def test_sine_formula_against_numerical_integral(mean, amplitude, base):
    hours = (np.arange(4000) + 0.5) / 4000
    by_sum = np.maximum(0, base - mean - amplitude * np.sin(2 * np.pi * hours)).mean()
    # the midpoint rule on 4000 steps is good to (slope × step)
    assert degree_days_of_sine(mean, amplitude, base) == pytest.approx(by_sum, abs=1e-4)


@given(mean=TEMP, amplitude=st.floats(0, 15), base=TEMP)
def test_four_cases_approximate_the_sine(mean, amplitude, base):
    """The piecewise formula is within a quarter of the amplitude of the sine."""
    cases = degree_days_from_extremes(mean + amplitude, mean - amplitude, base)
    assert abs(cases - degree_days_of_sine(mean, amplitude, base)) <= 0.25 * amplitude + 1e-9


@given(mean=TEMP, base=TEMP)
def test_constant_temperature_gives_the_difference(mean, base):
    plain = max(0.0, base - mean)
    assert degree_days(mean, base) == pytest.approx(plain)
    assert degree_days_of_sine(mean, 0, base) == pytest.approx(plain, abs=1e-9)
    assert degree_days_from_extremes(mean, mean, base) == pytest.approx(plain, abs=1e-9)


def test_floats_stay_floats_and_arrays_broadcast():
    assert isinstance(degree_days_of_sine(10, 4, 15.5), float)
    assert degree_days_of_sine(np.array([[10.0], [20.0]]), 4, np.array([12.0, 15.0, 18.0])).shape == (2, 3)

"""Uncertainty measures: recomputed values of the Guideline 14 formulas, and their limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings import period_comparison


def test_effective_number_of_readings():
    assert round(period_comparison.independent_readings(168, 0.9), 3) == 8.842  # 168 × 0.1/1.9
    assert period_comparison.independent_readings(30, 0.2) == pytest.approx(20.0)  # 30 × 0.8/1.2
    assert period_comparison.independent_readings(np.array([12, 12]), np.array([0.0, -0.5])).tolist() == [12.0, 12.0]


def test_independent_readings_agree_with_the_sum_over_all_lags():
    # n / (1 + 2 Σ ρ^k) over many lags, for a first-order autoregressive series.
    for correlation in (0.1, 0.5, 0.9):
        total = 1 + 2 * sum(correlation**lag for lag in range(1, 1000))
        assert period_comparison.independent_readings(1000, correlation) == pytest.approx(1000 / total)


def test_scatter_of_a_fit():
    # Residuals −2, 2, −2, 4, −3, 2: sum of squares 41; √(41/4)/63.333 = 5.055 %. With n for n − p: 4.1275 %.
    measured, predicted = [50, 60, 55, 70, 65, 80], [52, 58, 57, 66, 68, 78]
    assert period_comparison.cv_rmse(measured, predicted, 2) == pytest.approx(0.05055, abs=5e-6)
    assert period_comparison.cv_rmse(measured, predicted, 0) == pytest.approx(0.041275, abs=5e-6)
    assert period_comparison.cv_rmse(measured, measured, 2) == 0.0


@pytest.mark.parametrize(
    "confidence, cv, saved, n, m, percent",
    [
        # ASHRAE Guideline 14-2014 Annex B form, recomputed; two parameters, all readings independent.
        (0.90, 0.25, 0.20, 365, 365, 13.63),
        (0.68, 0.15, 0.10, 12, 12, 61.67),
        (0.90, 0.30, 0.50, 7, 7, 65.29),  # one week each proves little
    ],
)
def test_uncertainty_of_a_saving(confidence, cv, saved, n, m, percent):
    got = period_comparison.savings_uncertainty(confidence, cv, saved, n, 2, n, m)
    assert 100 * got == pytest.approx(percent, abs=0.005)


@given(st.floats(0.5, 0.99), st.floats(0.05, 1), st.integers(5, 400), st.integers(1, 400), st.floats(0, 0.9))
def test_autocorrelation_only_widens_the_interval(confidence, cv, n, m, correlation):
    counted = period_comparison.independent_readings(n, correlation)
    if counted <= 2:
        with pytest.raises(OutOfRange, match="nothing can be said"):
            period_comparison.savings_uncertainty(confidence, cv, 0.3, n, 2, counted, m)
        return
    loose = period_comparison.savings_uncertainty(confidence, cv, 0.3, n, 2, counted, m)
    assert loose >= period_comparison.savings_uncertainty(confidence, cv, 0.3, n, 2, n, m) * (1 - 1e-12)
    t = stats.t.ppf(0.5 + confidence / 2, counted - 2)
    assert loose == pytest.approx(t * 1.26 * cv / 0.3 * np.sqrt(n / counted * (1 + 2 / counted) / m))


def test_arrays_broadcast():
    both = period_comparison.savings_uncertainty(0.9, 0.3, np.array([0.5, -0.25]), 7, 2, 7, 7)
    assert both[1] == pytest.approx(2 * both[0])  # a smaller saving, also a negative one, is less certain


@pytest.mark.parametrize(
    "measured, predicted, parameters, sentence",
    [
        ([1, 2, 3], [1, 2], 1, "same length"),
        ([1, 2], [1, 2], 2, "too few"),
        ([-1, 1, 0], [0, 0, 0], 1, "mean"),
        ([1, np.nan, 2], [1, 1, 1], 1, "not a number"),
    ],
)
def test_refuses_unusable_fits(measured, predicted, parameters, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        period_comparison.cv_rmse(measured, predicted, parameters)


def test_refuses_a_saving_of_zero():
    with pytest.raises(OutOfRange, match="A saving of zero"):
        period_comparison.savings_uncertainty(0.9, 0.3, 0.0, 7, 2, 7, 7)

"""A straight line through nights: least squares against numpy, misses by hand, and what two short ways make of it."""

import numpy as np
import pytest

from pondheat.meter.savings.degree_line import fitted_line, line_between, savings_of_nights
from pondheat.meter.savings.interval_fit import Undetermined


def test_least_squares_are_numpys():
    rng = np.random.default_rng(3)
    for _ in range(20):
        warmer = rng.uniform(2, 25, 14)
        used = 20 + 4 * warmer + rng.normal(0, 10, 14)
        line, (slope, start) = fitted_line(warmer, used), np.polyfit(warmer, used, 1)
        assert (line.per_kelvin, line.at_zero) == pytest.approx((slope, start), rel=1e-9)
        for other in (line_between((0, start + 0.5), (10, start + 10 * slope)), line_between((0, start), (10, 99))):
            assert other.squares(warmer, used) > line.squares(warmer, used)


def test_misses_by_hand():
    """20 + 5 K: at 2 and 4 K the line reads 30 and 40; nights of 33 and 36 miss it by 3 and 4."""
    line = line_between((0, 20), (10, 70))
    assert (line.at_zero, line.per_kelvin, line.at(4)) == (20, 5, 40)
    assert line.squares([2, 4], [33, 36]) == pytest.approx(25)
    assert line.typical_miss([2, 4], [33, 36]) == pytest.approx(np.sqrt(12.5))


def test_three_nights_are_needed_and_not_all_equally_cold():
    for warmer in ([3, 9], [8, 8, 8]):
        with pytest.raises(Undetermined):
            fitted_line(warmer, [40.0] * len(warmer))


def test_savings_by_hand():
    """Open nights on 20 + 5 K at 10, 16 and 22 K; covered ones take half of that at 6 and 8 K."""
    found = savings_of_nights([10, 16, 22], [70, 100, 130], [6, 8], [25, 30])
    assert found.by_line == pytest.approx(0.5)
    assert found.by_average == pytest.approx(1 - 27.5 / 100)
    assert found.per_degree == pytest.approx(1 - (55 / 14) / (300 / 48))
    assert found.per_degree < found.by_line < found.by_average
    same = savings_of_nights([10, 16, 22], [70, 100, 130], [10, 16, 22], [35, 50, 65])
    assert (same.by_line, same.by_average, same.per_degree) == pytest.approx((0.5, 0.5, 0.5))

"""The pond as a store: settings that stay within what is accepted, and how fast heated water rises."""

import numpy as np
import pytest

from pondheat.fish.temperature import CUSTOMARY_RATE
from pondheat.season import thermal_storage
from pondheat.season.thermal_storage import Band, fastest_rise, set_points

CHEAP, DEAR = np.array([True, True, False, False]), np.array([False, False, True, False])


def test_no_band_is_wider_than_the_custom():
    assert all(0 <= band.below <= band.above and band.width <= CUSTOMARY_RATE.value for band in thermal_storage.BANDS)
    assert len(set(thermal_storage.BANDS)) == len(thermal_storage.BANDS)


def test_higher_in_cheap_hours_lower_in_dear_ones_and_else_as_asked():
    wanted = np.array([18.0, np.nan, 18.0, 18.0])
    found = set_points(wanted, CHEAP, DEAR, Band(0.5, 0.25))
    assert found == pytest.approx([18.5, np.nan, 17.75, 18.0], nan_ok=True)  # where nothing is held, nothing is


@pytest.mark.parametrize(
    "set_point, floor, ceiling, found",
    (
        (18.0, None, 18.2, [18.2, 17.5]),
        (18.0, 17.8, None, [18.5, 17.8]),
        (18.0, 19.0, 17.0, [18.0, 18.0]),  # a set point beyond both: the band takes it no further
        (1.2, None, None, [1.7, 1.0]),  # held water is never let down to freezing
        (0.5, None, None, [1.0, 0.5]),
        (1.2, 0.0, None, [1.7, 1.0]),
    ),
)
def test_what_is_accepted_is_not_passed(set_point, floor, ceiling, found):
    got = set_points(np.full(4, set_point), CHEAP, DEAR, Band(0.5, 0.5), floor, ceiling)
    assert got[[0, 2]] == pytest.approx(found)


def test_the_rise_is_that_of_a_day_and_of_heated_hours():
    slow = 10 + np.arange(100) * 0.01
    assert fastest_rise(slow, np.ones(100)) == pytest.approx(0.24)  # 24 hours of it
    assert fastest_rise(slow, np.zeros(100)) == 0.0
    jump = np.array([18.0, 17.0, 21.0, 20.9])
    assert fastest_rise(jump, np.array([0, 0, 0, 1.0])) == pytest.approx(3.9)  # still within the day of the cold
    assert fastest_rise(jump[:3], np.array([0, 1.0, 0])) == 0.0  # falling water does not rise

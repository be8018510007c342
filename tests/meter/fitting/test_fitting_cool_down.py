"""The cool-down test: formula, interval from the thermometer's resolution, and refusals."""

import numpy as np
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond, Wall
from pondheat.meter.fitting.pond_fit import cool_down_interval, cool_down_loss
from pondheat.season.simulate import integrate


def test_loss_coefficient_by_hand():
    """12 m³ × 1.163 kWh/K; from 10 to 9 K in 5.9 h: ln(10/9) = 0.10536; by definition."""
    assert cool_down_loss(13.956, 10.0, 9.0, 5.9) == pytest.approx(13.956 * 0.1053605 / 5.9, rel=1e-6)
    assert round(cool_down_loss(13.956, 10.0, 9.0, 5.9), 3) == 0.249


def test_recovers_the_walls_of_a_pond_that_loses_heat_only_there():
    """Simulate a pond without surface losses hour by hour: the cool-down gives area × U again."""
    pond = Pond(1.0, 2.0, (Wall(10.0, 0.8),), cover=None, evaporation="vdi_2089", sky_view=0.0)
    prepared = balance.prepare(pond, Air(np.full(12, 5.0), 0.8, 0.0), 0.0)
    bare = prepared.with_factors(surface_factor=0.0)
    path = integrate(bare, np.nan, 0.0, 0.0, 20.0)
    found = cool_down_loss(pond.heat_capacity / 3.6e6, 15.0, path.end[-1] - 5.0, 12.0)
    assert found == pytest.approx(0.008, rel=1e-6)


def test_interval_holds_every_reading_error_within_half_a_step():
    rng = np.random.default_rng(1)
    low, high = cool_down_interval(14.0, 10.0, 9.0, 6.0, thermometer_step=0.2)
    off = rng.uniform(-0.1, 0.1, (3, 5000))
    found = cool_down_loss(14.0, 10.0 + off[0] - off[2], 9.0 + off[1] - off[2], 6.0)
    assert low <= found.min() < low * 1.05 and high * 0.95 < found.max() <= high
    narrow = cool_down_interval(14.0, 10.0, 9.0, 6.0, thermometer_step=0.02)
    assert narrow[1] - narrow[0] < 0.2 * (high - low)
    assert low < cool_down_loss(14.0, 10.0, 9.0, 6.0) < high


@pytest.mark.parametrize(
    "start, end, hours, words",
    [
        (10.0, 10.0, 6.0, "swapped"),
        (9.0, 10.0, 6.0, "swapped"),
        (10.0, -1.0, 6.0, "warmer than the air"),
        (10.0, 0.0, 6.0, "warmer than the air"),
        (10.0, 9.0, 0.0, "0 hours"),
        (100.0, 9.0, 5.0, "given for start_difference"),
    ],
)
def test_refuses_impossible_cool_downs(start, end, hours, words):
    with pytest.raises(OutOfRange, match=words):
        cool_down_loss(14.0, start, end, hours)


def test_interval_refuses_a_fall_within_the_thermometers_step():
    with pytest.raises(OutOfRange, match="wait until it has fallen"):
        cool_down_interval(14.0, 10.0, 9.9, 6.0, thermometer_step=0.1)
    with pytest.raises(OutOfRange, match="within a step of the air"):
        cool_down_interval(14.0, 10.0, 0.4, 60.0, thermometer_step=0.5)

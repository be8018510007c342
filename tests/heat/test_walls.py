"""Walls and ground: the printed tables in full, limits each formula must reach, order."""

import numpy as np
import pytest

from pondheat.core import sources
from pondheat.core.ranges import OutOfRange
from pondheat.heat import walls
from pondheat.heat.balance import Alternative, Wall

# ISO 6946:2007 Table 2: thickness [mm], resistance upward, horizontal, downward [m²·K/W]
TABLE_2 = [
    (0, 0.00, 0.00, 0.00),
    (5, 0.11, 0.11, 0.11),
    (7, 0.13, 0.13, 0.13),
    (10, 0.15, 0.15, 0.15),
    (15, 0.16, 0.17, 0.17),
    (25, 0.16, 0.18, 0.19),
    (50, 0.16, 0.18, 0.21),
    (100, 0.16, 0.18, 0.22),
    (300, 0.16, 0.18, 0.23),
]


@pytest.mark.parametrize("row", TABLE_2, ids=lambda row: f"{row[0]} mm")
def test_air_layers_as_printed(row):
    for direction, printed in zip(("upward", "horizontal", "downward"), row[1:]):
        assert walls.air_layer_resistance(row[0] / 1000, direction) == pytest.approx(printed, abs=1e-12)


def test_air_layers_between_the_printed_rows():
    thickness = np.linspace(0, 0.3, 601)
    for direction in ("upward", "horizontal", "downward"):
        resistance = walls.air_layer_resistance(thickness, direction)
        assert np.all(np.diff(resistance) >= 0) and resistance[-1] <= 0.23
    assert walls.air_layer_resistance(0.0085) == pytest.approx(0.14)
    with pytest.raises(OutOfRange, match="300 mm"):
        walls.air_layer_resistance(0.301)
    with pytest.raises(OutOfRange, match="Did you mean “upward”"):
        walls.air_layer_resistance(0.01, "upwards")


# ISO 6946:2007 Table A.2, outside surface resistance by wind speed, printed to 0.01
@pytest.mark.parametrize("wind, printed", [(2, 0.06), (5, 0.04), (10, 0.02)])
def test_outside_resistance_as_printed(wind, printed):
    assert walls.outside_resistance(wind) == pytest.approx(printed, abs=0.005)


# Trade ranges of multiwall polycarbonate [W/(m²·K)] (common practice, no source): mm, hollow layers, from, to
@pytest.mark.parametrize(
    "millimetres, layers, low, high",
    [(6, 1, 3.4, 3.7), (10, 1, 2.8, 3.2), (16, 2, 2.1, 2.5), (25, 3, 1.5, 2.0), (32, 4, 1.2, 1.5)],
)
def test_multiwall_sheets_fall_in_the_trades_range(millimetres, layers, low, high):
    assert low <= walls.multiwall_u_value(millimetres / 1000, layers) <= high


def test_multiwall_refuses_half_a_layer():
    with pytest.raises(OutOfRange, match="whole number"):
        walls.multiwall_u_value(0.016, 1.5)
    with pytest.raises(OutOfRange, match="layers"):
        walls.multiwall_u_value(0.016, 0)
    more = walls.multiwall_u_value(0.032, np.array([1, 2, 3, 4]))
    assert more.shape == (4,) and np.all(np.diff(more) < 0)


def test_resistances_add_and_u_values_do_not():
    layers = ([0.002, 0.05, 0.012], [0.5, 0.036, 0.13])
    whole = 1 / walls.u_value(*layers)
    assert whole == pytest.approx(sum(1 / walls.u_value([t], [k], 0.0, 0.0) for t, k in zip(*layers)) + 0.04)
    assert walls.u_value(*(x[::-1] for x in layers)) == pytest.approx(1 / whole)  # order does not matter
    assert walls.u_value(0.05, 0.036) == walls.u_value([0.05], [0.036])
    with pytest.raises(OutOfRange, match="2 thicknesses and 1 conductivity"):
        walls.u_value([0.05, 0.02], [0.036])
    with pytest.raises(OutOfRange, match="add up to zero"):
        walls.u_value([0.0], [0.036], 0.0, 0.0)


# ISO 13370 slab without insulation, 0.3 m walls, 1.5 W/(m·K), by perimeter over area as in CIBSE Guide A and BR 443
# (memory; printed to 0.01)
@pytest.mark.parametrize("ratio, printed", [(0.3, 0.49), (0.4, 0.60), (0.6, 0.78), (0.8, 0.93), (1.0, 1.05)])
def test_slab_on_ground_as_printed(ratio, printed):
    assert walls.ground_u_value(100.0, 100 * ratio, 1.5, 0.3) == pytest.approx(printed, abs=0.0055)


def test_the_slabs_two_formulae_nearly_meet():
    # the standard changes over where dt = B'; there its two forms are 0.4 % apart
    resistance = (3.0 - 0.1) / 1.5 - 0.17 - 0.04  # dt = 3 m = B' of a 6 m × 6 m floor
    below, above = (walls.ground_u_value(36.0, 24.0, 1.5, 0.1, resistance + step) for step in (-1e-9, 1e-9))
    assert above == pytest.approx(below, rel=0.01)
    across = walls.ground_u_value(36.0, 24.0, 1.5, 0.1, np.linspace(0, 5, 200))
    assert np.all(np.diff(across) < 0)


def test_a_well_insulated_slab_is_its_insulation():
    assert walls.ground_u_value(1e4, 0.04, 1.5, 0.0, 10.0) < 0.01  # ground without edge: nothing but the earth's depth
    thin = walls.ground_u_value(1.0, 4.0, 2.0, 0.0, 8.0)
    assert thin == pytest.approx(1 / (8.0 + 0.17 + 0.04 + 0.457 * 0.5 / 2.0), rel=1e-12)


def test_a_pond_of_no_depth_is_a_slab_under_water():
    slab = walls.ground_u_value(12.0, 14.0, 1.5, 0.1, 0.5, inside_resistance=0.0)
    assert walls.sunk_floor_u_value(12.0, 14.0, 0.05, 1.5, 0.1, 0.5) == pytest.approx(slab, rel=0.02)
    deeper = walls.sunk_floor_u_value(12.0, 14.0, np.linspace(0.05, 4, 40))
    assert np.all(np.diff(deeper) < 0)
    # ISO 13370, basement floor, worked by hand: B' = 2 m, z = 1.2 m, λ = 1.5; dt = 0.1 + 1.5 (0.5 + 0.04) = 0.91 m:
    # 2·1.5/(6.2832 + 0.91 + 0.6)·ln(6.2832/1.51 + 1) = 0.38496·1.64097 = 0.6317
    assert walls.sunk_floor_u_value(12.0, 12.0, 1.2, 1.5, 0.1, 0.5) == pytest.approx(0.6317, abs=1e-4)
    # well insulated, Rf = 8: dt = 12.16 m: 1.5/(0.457·2 + 12.16 + 0.6) = 0.10970
    assert walls.sunk_floor_u_value(12.0, 12.0, 1.2, 1.5, 0.1, 8.0) == pytest.approx(0.10970, abs=1e-5)


def test_sunk_walls():
    # a shallow strip loses as the wall itself; the standard's (1 + 0.5 dt/(dt + z))·2/π overshoots nothing by 5 %
    shallow = walls.sunk_wall_u_value(0.05, 1.5, 0.1, 3.0, 3.0)
    assert shallow == pytest.approx(1 / (3.0 + 0.04), rel=0.06)
    deeper = walls.sunk_wall_u_value(np.linspace(0.1, 4, 40), 1.5, 0.1, 0.5, 0.5)
    assert np.all(np.diff(deeper) < 0)
    assert np.all(np.diff(walls.sunk_wall_u_value(1.2, 1.5, 0.1, np.linspace(0, 4, 40))) < 0)
    # the floor's own path counts only as far as it is not better than the wall's
    assert walls.sunk_wall_u_value(1.2, 1.5, 0.1, 0.5, 5.0) == walls.sunk_wall_u_value(1.2, 1.5, 0.1, 0.5, 9.0)


def test_wall_loss_is_linear_and_signed():
    assert walls.wall_loss(15.6, 0.5, 8.0, 18.0) == -walls.wall_loss(15.6, 0.5, 18.0, 8.0)
    assert walls.wall_loss(15.6, 0.5, 18.0, 18.0) == 0.0


def test_materials():
    for name, constant in walls.MATERIALS.items():
        assert constant.unit == "W/m/K" and constant.source in sources.BIBLIOGRAPHY, name
        assert 0.02 < constant.value < 3
    # declared ranges (EN 13163, 13164, 13165)
    for name, low, high in (("EPS", 0.030, 0.045), ("XPS", 0.031, 0.036), ("PIR", 0.022, 0.028)):
        assert low <= walls.MATERIALS[name].value <= high


def test_a_sunk_wall_by_hand():
    """dw = 2 (0.5 + 0.04) = 1.08 m, dt = 0.05 + 2 × 0.04 = 0.13 m; 4/(1.2 π) (1 + 0.065/1.33) ln(1.2/1.08 + 1)."""
    assert walls.sunk_wall_u_value(1.2, 2.0, 0.05, wall_resistance=0.5) == pytest.approx(0.831566, abs=1e-6)


def test_insulation_is_added_where_a_wall_stands_in_the_air():
    """2 W/(m²·K) with 0.5 m²·K/W more: 1 / (1/2 + 0.5) = 1 W/(m²·K)."""
    wall = Wall(3.0, 2.0, "air", (Alternative("bare", 4.0, "air"), Alternative("sunk", 1.5, "ground")))
    better = wall.insulated(0.5)
    assert better.u_value == pytest.approx(1.0) and better.area == 3.0
    assert [one.u_value for one in better.alternatives] == pytest.approx([4.0 / 3.0, 1.5])

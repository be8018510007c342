"""A mesh net over open water: its sun, wind, sky, and how little that comes to."""

from dataclasses import replace

import numpy as np
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance, covers, mesh_net
from pondheat.heat.balance import Air, Pond
from pondheat.heat.covers import Cover

AIR = Air(np.array([8.0, 8.0]), 0.8, 3.0, 0.2, np.array([400.0, 0.0]))
OPEN = Pond(10.0, 12.0, wind_shelter=0.5)


def under(open_area, pond=OPEN, covered=0.0):
    return balance.moment(replace(pond, net_open_area=open_area), AIR, np.array([18.0, 18.0]), covered)


def test_no_net_changes_nothing():
    assert all(np.array_equal(under(1.0)[key], balance.moment(OPEN, AIR, np.full(2, 18.0))[key]) for key in under(1.0))


def test_sun_follows_the_open_area():
    assert under(0.9)["solar"] == pytest.approx(0.9 * under(1.0)["solar"])


def test_wind_and_sky_are_the_ones_under_the_net():
    """The same as an open pond with so much less wind, and so much less sky."""
    same = replace(OPEN, wind_shelter=0.5 * (1 - 4 / 3 * 0.1), sky_view=1 - 0.9 * 0.1)
    by_hand = balance.moment(same, AIR, np.full(2, 18.0))
    for route in ("evaporation", "convection", "long_wave"):
        assert under(0.9)[route] == pytest.approx(by_hand[route])
        assert (under(0.9)[route] < under(1.0)[route]).all()


def test_next_to_no_effect():
    """A net of 90 % open area saves less than a tenth of the loss, and by day takes back more in sun."""
    net, bare = under(0.9), under(1.0)
    lost, lost_bare = (sum(one[route] for route in balance.ROUTES) for one in (net, bare))
    assert (0.9 * lost_bare < lost).all() and (lost < lost_bare).all()
    assert net["net"][0] > bare["net"][0]  # the hour of sun
    wide = under(0.98)
    assert sum(wide[route] for route in balance.ROUTES) == pytest.approx(lost_bare, rel=0.02)


def test_a_cover_lies_above_or_in_place_of_the_net():
    covered = replace(OPEN, cover=Cover("sheet", 3.1, 0.8))
    assert under(0.9, covered, 1.0)["net"] == pytest.approx(under(1.0, covered, 1.0)["net"])


def test_loss_under_net_is_the_balance():
    air, humidity, wind, sky = 8.0, 0.8, 2.0, -10.0
    assert mesh_net.loss_under_net(18.0, air, humidity, wind, sky) == pytest.approx(
        mesh_net.loss_under_net(18.0, air, humidity, wind, sky, 1.0)
    )
    found = mesh_net.loss_under_net(18.0, air, humidity, wind, sky, np.array([0.8, 1.0, 0.9]))
    assert found.shape == (3,) and found[0] < found[2] < found[1]


def test_open_area_by_hand():
    assert covers.mesh_open_area(0.001, 0.010) == pytest.approx(0.81)
    with pytest.raises(OutOfRange, match="as wide as the mesh"):
        covers.mesh_open_area(0.01, 0.01)
    assert covers.net_wind(0.2) == 0.0  # a cloth, not a net

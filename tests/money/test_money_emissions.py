"""Emissions and their default factor."""

import numpy as np

from pondheat.core import sources
from pondheat.money.emissions import INVENTED_GRID_MIX, emissions


def test_energy_times_factor():
    assert np.allclose(emissions(np.array([0.0, 250.0]), 0.4), [0.0, 100.0])
    assert type(emissions(10.0)) is float


def test_the_default_is_marked_as_invented():
    assert emissions(1.0) == INVENTED_GRID_MIX.value
    assert "invented" in sources.cite(INVENTED_GRID_MIX.source)
    assert "enter your supplier's own figure" in sources.cite(INVENTED_GRID_MIX.source)

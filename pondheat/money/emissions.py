"""Carbon dioxide emissions of energy use."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import plain, require
from pondheat.core.sources import Constant

INVENTED_GRID_MIX = Constant(0.3, "kg/kWh", "invented_grid_mix", "grids run from almost 0 to about 1 kg/kWh (memory)")


def emissions(energy, kg_per_kwh=INVENTED_GRID_MIX.value):
    """Carbon dioxide equivalent of an amount of energy [kg]: energy × kg_per_kwh.

    energy: [kWh]; kg_per_kwh: [kg/kWh]; floats or arrays. The default is an invented round number, not that of any
    grid: use your supplier's own figure. An annual mean is not valid for a single night. Raises OutOfRange. Source: by
    definition.

    >>> emissions(energy=1000.0, kg_per_kwh=0.2)
    200.0
    """
    require(energy=energy, kg_per_kwh=kg_per_kwh)
    return plain(np.asarray(energy, float) * np.asarray(kg_per_kwh, float))

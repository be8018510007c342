"""What warmth does to a carp pond's life: its filter, growth and feeding; where sources disagree, all of them."""

from __future__ import annotations

import numpy as np

from pondheat.ranges import plain, require
from pondheat.sources import Constant

# Growth of juvenile carp fed all they eat [% of body weight a day] by water temperature [°C].
CARP_GROWTH = {12: 0.71, 18: 2.31, 24: 3.12, 30: 3.32}
CARP_GROWTH_SOURCE = "goolish_adelman_1984"
LITTLE_FOOD_BELOW = Constant(10.0, "degC", "fao_carp", "carp eat very little in colder water")
NO_FOOD_FROM = Constant(7.0, "degC", "fao_carp", "carp stop feeding when water cools to this")
WINTERING_DEPTH = Constant(2.0, "m", "fao_carp", "ponds in which farmed carp pass the winter unfed and unheated")
CUSTOMARY_RATE = Constant(1.0, "delta_degC/day", "practice", "no published limit for warming a pond was found")

# Speed-up of nitrification for each degree: what texts give, and what was measured on filters.
THETA_LOW = Constant(1.02, "dimensionless", "practice", "low end of the texts (from memory, no source)")
THETA = Constant(1.06, "dimensionless", "practice", "this workbook, between the ends (our choice)")
THETA_HIGH = Constant(1.10, "dimensionless", "practice", "high end of the texts (from memory, no source)")
THETA_SHORT_OF_OXYGEN = Constant(1.01108, "dimensionless", "zhu_chen_2002", "measured on a filter short of oxygen")
THETA_SHORT_OF_AMMONIA = Constant(1.04275, "dimensionless", "zhu_chen_2002", "measured on a filter short of ammonia")


def nitrification_factor(water_temp, theta=THETA.value):
    """How fast a filter's bacteria turn ammonia, over the same at 20 °C [–]: theta^(water_temp − 20).

    water_temp: [degC]; theta: [–]; floats or arrays. A rule of thumb between about 5 and 30 °C: bacteria need weeks to
    follow, and a filter short of oxygen hardly speeds up at all. Raises OutOfRange.
    Sources: texts give theta from 1.02 to 1.10; Zhu and Chen 2002 found 1.011 to 1.043 in filters.

    >>> round(nitrification_factor(water_temp=10.0, theta=1.10), 3)
    0.386
    """
    require(water_temp=water_temp, theta=theta)
    return plain(np.asarray(theta, float) ** (np.asarray(water_temp, float) - 20.0))

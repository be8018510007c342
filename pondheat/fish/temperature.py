"""Effect of water temperature on filter bacteria, and on growth and feeding of carp, by source."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import plain, require
from pondheat.core.sources import PRACTICE, Constant

# Growth of juvenile carp fed to satiation [% of body weight per day] by water temperature [°C].
CARP_GROWTH = {12: 0.71, 18: 2.31, 24: 3.12, 30: 3.32}
CARP_GROWTH_SOURCE = "goolish_adelman_1984"
FRY_GROWTH = {28: 3.82, 32: 3.57}  # fry of about 1 g at the best of four rations
FRY_GROWTH_SOURCE = "desai_singh_2009"
FARM_GROWTH_FROM = (
    Constant(18.0, "degC", "fao_affris_carp", "farmed carp grow intensively above 18 to 20 °C"),
    Constant(20.0, "degC", "fao_affris_carp", "the upper of the two"),
)
LITTLE_FOOD_BELOW = Constant(10.0, "degC", "fao_carp", "carp eat very little in colder water")
NO_FOOD_FROM = Constant(7.0, "degC", "fao_carp", "carp stop feeding when water cools to this")
WINTERING_DEPTH = Constant(2.0, "m", "fao_carp", "ponds in which farmed carp spend the winter unfed and unheated")
CUSTOM_STOPS_FEEDING = (
    Constant(6.0, "degC", "practice", "lowest at which keepers say to stop (memory)"),
    Constant(10.0, "degC", "practice", "highest at which keepers say to stop (memory)"),
)
CUSTOMARY_RATE = Constant(1.0, "delta_degC/day", "practice", "no published limit for warming a pond was found")

# Factor on the rate of nitrification for each degree, from texts and from measurements on filters. Our value is the
# geometric mean of the texts, √(1.02 × 1.10) = 1.06, slightly above all measurements; it can't be known for one pond.
THETA_LOW = Constant(1.02, "dimensionless", "practice", "low end of the texts (from memory, no source)")
THETA = Constant(1.06, "dimensionless", "practice", "this workbook, between the ends (our choice)")
THETA_HIGH = Constant(1.10, "dimensionless", "practice", "high end of the texts (from memory, no source)")
THETA_SHORT_OF_OXYGEN = Constant(1.01108, "dimensionless", "zhu_chen_2002", "measured on a filter short of oxygen")
THETA_SHORT_OF_AMMONIA = Constant(1.04275, "dimensionless", "zhu_chen_2002", "measured on a filter short of ammonia")
THETAS = (THETA_SHORT_OF_OXYGEN, THETA_LOW, THETA_SHORT_OF_AMMONIA, THETA, THETA_HIGH)  # ascending


def nitrification_factor(water_temp, theta=THETA.value):
    """Rate of nitrification in a filter relative to that at 20 °C [–]: theta^(water_temp − 20).

    water_temp: [degC]; theta: [–]; floats or arrays. A rule of thumb between about 5 and 30 °C: bacteria take weeks
    to adapt, and a filter short of oxygen hardly speeds up at all. Raises OutOfRange.
    Sources: texts give theta from 1.02 to 1.10; Zhu and Chen 2002 found 1.011 to 1.043 in filters.

    >>> round(nitrification_factor(water_temp=10.0, theta=1.10), 3)
    0.386
    """
    require(water_temp=water_temp, theta=theta)
    return plain(np.asarray(theta, float) ** (np.asarray(water_temp, float) - 20.0))


def growth_by_source(water_temp: float) -> dict[str, str]:
    """What each source says about the growth of carp at a water temperature, by the name of the source.

    water_temp: [degC], a float. Interpolated linearly between measured temperatures, never extrapolated.
    Sources: as named; they are about juveniles, fry and farm stock, none about old fish in a garden.
    Raises OutOfRange.

    >>> growth_by_source(18.0)["Goolish and Adelman 1984, juveniles"]
    '2.3 % of their weight a day'
    """
    require(water_temp=water_temp)
    low, high = (constant.value for constant in FARM_GROWTH_FROM)
    farm = (
        "carp grow well"
        if water_temp >= high
        else "where carp begin to grow well"
        if water_temp >= low
        else "growth is slow, or stops"
    )
    return {
        "Goolish and Adelman 1984, juveniles": _measured(CARP_GROWTH, water_temp),
        "Desai and Singh 2009, fry": _measured(FRY_GROWTH, water_temp),
        "FAO, farms": f"{farm} (it names [{low:g} to {high:g} °C])",
    }


def feeding_by_source(water_temp: float) -> dict[str, str]:
    """What each source says about feeding carp at a water temperature, by the name of the source.

    water_temp: [degC], a float. Raises OutOfRange. Sources: FAO's training series on carp; keepers' custom, for
    which no source was found.

    >>> feeding_by_source(8.0)
    {'FAO, farms': 'they eat very little', 'Keepers (common practice, no source)': 'some still feed, some have stopped'}
    """
    require(water_temp=water_temp)
    lowest, highest = (constant.value for constant in CUSTOM_STOPS_FEEDING)
    farm = (
        "they do not eat"
        if water_temp <= NO_FOOD_FROM.value
        else "they eat very little"
        if water_temp < LITTLE_FOOD_BELOW.value
        else "they eat"
    )
    custom = (
        "nobody feeds"
        if water_temp < lowest
        else "some still feed, some have stopped"
        if water_temp <= highest
        else "all feed"
    )
    return {"FAO, farms": farm, f"Keepers ({PRACTICE})": custom}


def _measured(table: dict[int, float], water_temp: float) -> str:
    """Growth interpolated in a table, as text."""
    if not min(table) <= water_temp <= max(table):
        return f"not measured: only from [{min(table)} to {max(table)} °C]"
    between = "" if water_temp in table else ", between two that were measured"
    return f"{np.interp(water_temp, list(table), list(table.values())):.1f} % of their weight a day{between}"

"""The factors by which a pond may differ from its sheet, and how far each is believed to before any reading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.heat.balance import Pond

FACTORS = ("surface", "cover", "walls", "streams", "sun", "base")
WALLS = ("walls", "ground")  # the routes of loss that a factor multiplies
STREAMS = ("falling_water", "casing", "aeration", "water_change")


@dataclass(frozen=True)
class Prior:
    """Log-normal prior of a factor, around 1: standard deviation of its logarithm (`width`) [–] and its source."""

    width: float
    why: str


PRIORS: dict[str, Prior] = {
    "surface": Prior(0.25, "Shah 2002: best and second-best of eleven evaporation formulae 18 and 26 % off on average"),
    "cover": Prior(0.35, "judgement: U-value ± 15 %, leaks a third to three times"),
    "walls": Prior(0.25, "judgement: two published ground methods differ by 20 %, insulation may be wet"),
    "streams": Prior(0.5, "judgement: effectiveness of a filter is hardly ever known"),
    "sun": Prior(0.2, "judgement: shade by hedge and house"),
    "base": Prior(0.05, "judgement: a pump's plate against what it takes"),
}


def prior_widths(pond: Pond) -> np.ndarray:
    """Standard deviation of each factor's logarithm before any reading [–], in the order of FACTORS.

    Where nobody described the pond's walls, theirs is that of all constructions that are possible.
    """
    widths = np.array([PRIORS[name].width for name in FACTORS])
    if pond.constructions:
        losses = [sum(w.area * w.u_value for w in pond.built_as(name).walls) for name in pond.constructions]
        widths[FACTORS.index("walls")] = np.hypot(PRIORS["walls"].width, np.std(np.log(losses)))
    return widths

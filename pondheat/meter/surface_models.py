"""Alternative models of a pond's open surface, with the weight each has before any reading.

Published evaporation formulas disagree by more than the scatter of a good log, and wind at the water is hardly ever
measured. A comparison or a fit therefore runs several of them side by side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pondheat.heat.balance import Pond


@dataclass(frozen=True)
class SurfaceModel:
    """An evaporation formula (`evaporation`), its wind as a multiple of the pond's own (`shelter`) [–], and its prior
    weight [–]."""

    evaporation: str
    shelter: float
    weight: float

    def applied_to(self, pond: Pond) -> Pond:
        """The pond with its open surface described by this model."""
        shelter = min(pond.wind_shelter * self.shelter, 1.0)
        return replace(pond, evaporation=self.evaporation, wind_shelter=shelter)


# Half of the weight goes to the sheet's own formula; its wind may be half or twice the estimate (judgement).
_OTHER_FORMULAS = {"smith_lof_jones": 0.4, "penman_1956": 1.0, "rafferty_boyd": 1.0, "ashrae_quiet": 1.0}
_OWN_WIND = {0.5: 0.125, 1.0: 0.25, 2.0: 0.125}


def surface_models(pond: Pond) -> tuple[SurfaceModel, ...]:
    """The pond's own formula at several winds (at one only in a room) and the other formulas; weights add up to 1."""
    own = {1.0: 0.5} if pond.room else _OWN_WIND
    others = {name: wind for name, wind in _OTHER_FORMULAS.items() if name != pond.evaporation}
    return (
        *(SurfaceModel(pond.evaporation, wind, weight) for wind, weight in own.items()),
        *(SurfaceModel(name, wind, 0.5 / len(others)) for name, wind in others.items()),
    )

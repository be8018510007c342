"""Walls and floor of a pond whose sheet names none: what the pond is taken to be, and what else it may be.

Bare sides lose five times what insulated ones do, so leaving them out would be the one answer that is surely wrong.
The sheet's `pond.construction`, or a wall or base that it does give, says which constructions are possible; the
uncertainty of a season draws among them by their weights.
"""

from __future__ import annotations

from dataclasses import dataclass

from pondheat.heat import walls
from pondheat.heat.balance import Alternative, Wall

SUNK, RAISED = "sunk", "raised"
# m, thickness of the walls round a floor in the ground formulae (judgement)
FLOOR_EDGE = 0.1
# m/s along the side of a tub in a garden: half of a light wind of 2 m/s (judgement)
_SIDE_WIND = 1.0


@dataclass(frozen=True)
class Construction:
    """One way to build a pond: in words, sunk or raised, resistance of sides and floor [m²·K/W], and how likely it is.

    weight: share of ponds of which nothing is known [–] (judgement; no count of garden ponds was found). Bare sides
    weigh more than they are common: they are the one construction that a keeper may not leave out unharmed, so the
    likely range has to reach it.
    """

    words: str
    kind: str
    sides: float
    floor: float
    weight: float


def _resistance(*stacked: tuple[float, str]) -> float:
    """Thermal resistance [m²·K/W] of layers: thickness [m], material."""
    return sum(thickness / walls.MATERIALS[material].value for thickness, material in stacked)


_FOAM = _resistance((0.05, "XPS"))
CONSTRUCTIONS: dict[str, Construction] = {
    "sunk, liner on soil": Construction("sunk in the ground, a liner on bare soil", SUNK, 0.0, 0.0, 0.35),
    "sunk, insulated": Construction("sunk in the ground behind 50 mm of foam", SUNK, _FOAM, _FOAM, 0.05),
    "raised, timber": Construction(
        "above the ground, with sides of 100 mm timber", RAISED, _resistance((0.1, "timber")), 0.0, 0.1
    ),
    "raised, insulated": Construction(
        "above the ground, with 50 mm of foam", RAISED, _resistance((0.05, "EPS"), (0.012, "plywood")), _FOAM, 0.2
    ),
    "raised, thin-walled": Construction(
        "above the ground, with sides of bare plastic", RAISED, _resistance((0.004, "GRP")), 0.0, 0.3
    ),
}


def possible(kind: str | None, indoors: bool = False) -> dict[str, Construction]:
    """The constructions of a kind, or all of them; the first is what a pond is taken to be.

    indoors: a tank in a room stands on its floor sooner than it is sunk in it.

    >>> next(iter(possible(None).values())).kind, next(iter(possible(None, indoors=True).values())).kind
    ('sunk', 'raised')
    """
    found = {name: one for name, one in CONSTRUCTIONS.items() if kind in (None, one.kind)}
    return dict(sorted(found.items(), key=lambda item: item[1].kind != RAISED)) if indoors else found


def default_sides(area: float, depth: float, conductivity: float, choices: dict[str, Construction]) -> Wall:
    """Sides [m² of water against them] of a pond of this mean depth [m].

    conductivity: of the ground [W/(m·K)]; choices: what they may be (`possible`), the likeliest first.
    """
    found = []
    for name, one in choices.items():
        if one.kind == SUNK:
            u = walls.sunk_wall_u_value(depth, conductivity, FLOOR_EDGE, one.sides)
        else:
            u = 1 / (one.sides + walls.outside_resistance(_SIDE_WIND))
        found.append(Alternative(name, float(u), "ground" if one.kind == SUNK else "air"))
    return Wall(area, found[0].u_value, found[0].against, tuple(found))


def default_floor(
    area: float,
    perimeter: float,
    depth: float,
    conductivity: float,
    choices: dict[str, Construction],
    own_depth: float | None = None,
) -> Wall:
    """Floor of this area [m²] and outline [m] in the ground, or on it under a raised pond.

    depth: of the pond [m]; choices: as of `default_sides`; own_depth: how far the floor is below the ground [m], where
    the sheet says.
    """
    found = []
    for name, one in choices.items():
        below = own_depth if own_depth is not None else depth if one.kind == SUNK else 0.0
        found.append(Alternative(name, floor_u_value(area, perimeter, below, conductivity, one.floor), "ground"))
    return Wall(area, found[0].u_value, "ground", tuple(found))


def floor_u_value(area: float, perimeter: float, depth: float, conductivity: float, resistance: float) -> float:
    """Transmittance of a floor under water [W/(m²·K)], by the formula for a floor on the ground or for a sunk one."""
    if depth >= 0.05:  # less is a floor on the ground
        return float(walls.sunk_floor_u_value(area, perimeter, depth, conductivity, FLOOR_EDGE, resistance))
    return float(walls.ground_u_value(area, perimeter, conductivity, FLOOR_EDGE, resistance, 0.0))

"""The picture of a pond over its season: the mean of every flow of heat, the open pond's as outlines."""

from __future__ import annotations

import math

from pondheat.analysis.assessment import Assessment
from pondheat.analysis.results import ROUTE_GROUPS, Season
from pondheat.core import toml_errors, units
from pondheat.core.errors import Unreadable
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.pictures.scene import PondScene

RAISED = 0.7  # share of the depth that is drawn above the lawn where a pond stands above the ground
HEAT, COVER = 1, 2  # steps of page 16 from which the heater, and the cover and the hedge, are drawn


def season_flows(season: Season) -> dict[str, float]:
    """Mean heat loss of a season by the picture's ways [W]."""
    hours = len(season.hours)
    return {way: 1000 * sum(season.routes_kwh[name] for name in names) / hours for way, names in ROUTE_GROUPS.items()}


def season_scene(found: Assessment, size: tuple[float, float, float], step: int = COVER) -> PondScene:
    """The mean of a season: the open pond first, then with its heater, then with its cover, the open pond as outlines.

    size [m]: length, depth and height above the lawn of the cut through it; step: the furthest that was opened.
    """
    sheet, covered = found.sheet, found.covered is not None and step >= COVER
    season = found.as_described if covered else found.open
    frame, heated = season.hours, sheet.is_heated and step >= HEAT
    length, depth, raised = size
    return PondScene(
        length,
        depth,
        season_flows(season),
        water_temp=float(frame["water_temp"].mean()),
        air_temp=float(found.weather.hours["air_temp"].reindex(season.index).mean()),
        raised=raised,
        sun=float(frame["solar"].mean()),
        heater=float(frame["heater"].mean()) if heated else None,
        pump=float(frame["pump"].mean()) if sheet.pump_heat and step >= HEAT else None,
        outlines=season_flows(found.open) if covered else {},
        has_cover=covered,
        covered=float(frame["covered"].mean()) if covered else 0.0,
        shelter=None if sheet.room or step < COVER else sheet.pond.wind_shelter,
        room=bool(sheet.room),
        has_filter=sheet.pond.filter_air_flow > 0,
        full=max(season_flows(found.open).values()),
    )


def sheet_size(sheet: Sheet) -> tuple[float, float, float]:
    """Length, depth and height above the lawn [m] of the cut through a sheet's pond, a square if no length is given."""
    pond = sheet.pond
    try:
        body = toml_errors.loads(sheet.text)["pond"]
        length = max(units.parse(body[side], "m") for side in ("length", "width"))
    except (KeyError, TypeError, Unreadable):
        length = math.sqrt(pond.surface_area)
    depth = pond.volume / pond.surface_area
    in_air = sum(wall.area for wall in pond.walls if wall.against == "air")
    return length, depth, RAISED * depth if in_air > sum(wall.area for wall in pond.walls) / 2 else 0.0

"""The picture of the reader's own pond: it grows with each step of the form and shows the season's mean heat."""

from __future__ import annotations

from collections.abc import Mapping

from pondheat.analysis.assessment import Assessment
from pondheat.analysis.results import ROUTE_GROUPS, Season
from pondheat.core import units
from pondheat.core.errors import Unreadable
from pondheat.core.ranges import OutOfRange
from pondheat.sheet.pond_form import NONE, SHELTER, depth_or_volume, is_no_heat
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.pictures.scene import PondScene

RAISED = 0.7  # share of the depth that is drawn above the lawn where a pond stands above the ground
STILL_WATER = 12.0  # °C of the water in a picture before anything is worked out
HEAT, COVER, PLACE = 1, 2, 3  # steps from which heater, cover and hedge, and weather are drawn


def season_flows(season: Season) -> dict[str, float]:
    """Mean heat loss of a season by the picture's ways [W]."""
    hours = len(season.hours)
    return {way: 1000 * sum(season.routes_kwh[name] for name in names) / hours for way, names in ROUTE_GROUPS.items()}


def season_scene(found: Assessment, size: tuple[float, float, float], step: int = PLACE) -> PondScene:
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
        without_cover=season_flows(found.open) if covered else {},
        has_cover=covered,
        covered=float(frame["covered"].mean()) if covered else 0.0,
        shelter=None if sheet.room or step < COVER else sheet.pond.wind_shelter,
        room=bool(sheet.room),
        has_filter=sheet.pond.filter_air_flow > 0,
        full=max(season_flows(found.open).values()),
    )


def picture_html(answers: Mapping[str, str], step: int, found: Assessment | None = None) -> str:
    """The picture for the form's answers as HTML, empty where the size can't be drawn.

    step: the furthest step that was opened, from 0; found: the latest assessment, whose heat is drawn.
    """
    try:
        length, depth, raised = _size(answers)
        if found is not None:
            scene = season_scene(found, (length, depth, raised), step)
            title = f"Your pond on average, {found.first.day} {found.first:%B} to {found.last.day} {found.last:%B}"
        else:
            title, cover = "Your pond so far", step >= COVER and answers["cover"] != NONE
            heated = step >= HEAT and answers["heater"] != NONE and not is_no_heat(answers["held"])
            scene = PondScene(
                length,
                depth,
                {},
                STILL_WATER,
                raised=raised,
                heater=0.0 if heated else None,
                has_cover=cover,
                covered=1.0 if cover else 0.0,
                shelter=SHELTER.get(answers["shelter"]) if step >= COVER else None,
                has_filter=False,
            )
    except (Unreadable, OutOfRange, ZeroDivisionError):
        return ""
    return f'<figure class="ph-figure"><figcaption>{title}</figcaption>{pond_picture(scene, "own", title)}</figure>'


def _size(answers: Mapping[str, str]) -> tuple[float, float, float]:
    """Length, depth, and height above the lawn [m] of the cut through the pond."""
    length, width = (units.parse(answers[key], "m") for key in ("length", "width"))
    if depth_or_volume(answers["depth"]) == "volume":
        depth = units.parse(answers["depth"], "m**3") / (length * width)
    else:
        depth = units.parse(answers["depth"], "m")
    return max(length, width), depth, RAISED * depth if answers["sunk"] == "above" else 0.0

"""The picture of the reader's own pond: it grows with each step of the form and shows the season's mean heat."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondheat.analysis.assessment import Assessment
from pondheat.core import units
from pondheat.core.errors import Unreadable
from pondheat.core.ranges import OutOfRange
from pondheat.sheet.pond_form import NONE, SHELTER, depth_or_volume, is_no_heat
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.of_sheet import assessed_scene, mean_losses
from pondheat.show.pictures.scene import PondScene

RAISED = 0.7  # share of the depth that is drawn above the lawn where a pond stands above the ground
HEAT, COVER = 1, 2  # steps of the form from which the heater, and the cover and the hedge, are drawn
STILL_WATER = 12.0  # °C of the water in a picture before anything is worked out


def picture_html(answers: Mapping[str, str], step: int, found: Assessment | None = None) -> str:
    """The picture for the form's answers as HTML, empty where the size can't be drawn.

    step: the furthest step that was opened, from 0; found: the latest assessment, whose heat is drawn.
    """
    try:
        length, depth, raised = _size(answers)
        if found is not None:
            scene = assessed_scene(found, length=length, depth=depth, raised=raised, **_not_yet(found, step))
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
    return pond_figure(scene, "own", title).html()


def _not_yet(found: Assessment, step: int) -> dict[str, Any]:
    """What the picture of a season leaves out until its step of the form was opened."""
    hidden: dict[str, Any] = {}
    if step < HEAT:
        hidden |= {"heater": None, "pump": None}
    if step < COVER:
        hidden |= {"shelter": None}
        if found.covered is not None:
            hidden |= {"has_cover": False, "covered": 0.0, "losses": mean_losses(found.open), "outlines": {}}
    return hidden


def _size(answers: Mapping[str, str]) -> tuple[float, float, float]:
    """Length, depth, and height above the lawn [m] of the cut through the pond."""
    length, width = (units.parse(answers[key], "m") for key in ("length", "width"))
    if depth_or_volume(answers["depth"]) == "volume":
        depth = units.parse(answers["depth"], "m**3") / (length * width)
    else:
        depth = units.parse(answers["depth"], "m")
    return max(length, width), depth, RAISED * depth if answers["sunk"] == "above" else 0.0

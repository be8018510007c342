"""The pictures of the reader's own pond: one grows with each step of the form, one shows every hour of the season."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets
import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.results import Assessment
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.core.errors import Unreadable
from pondheat.core.ranges import OutOfRange
from pondheat.sheet.pond_form import NONE, SHELTER, depth_or_volume, is_no_heat
from pondheat.show.controls import Switch
from pondheat.show.cover_frame import hours_of_plan, season_frame
from pondheat.show.pictures.carpet import SeasonCarpets
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.of_sheet import assessed_scene
from pondheat.show.pictures.scene import PondScene

RAISED = 0.7  # share of the depth drawn above the lawn for a pond built above ground
HEAT, COVER = 1, 2  # steps of the form from which the heater, the cover and the hedge are drawn
STILL_WATER = 12.0  # °C, the water in a picture before anything is worked out


def picture_html(answers: Mapping[str, str], step: int, found: Assessment | None = None) -> str:
    """The picture for the form's answers as HTML, empty where the size can't be drawn.

    step: the furthest step that was opened, from 0; found: the latest assessment, whose heat is drawn.
    """
    try:
        length, depth, raised = _size(answers)
        if found is not None:
            scene = assessed_scene(found, length=length, depth=depth, raised=raised, **_not_yet(step))
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


def _not_yet(step: int) -> dict[str, Any]:
    """What the picture of a season leaves out until its step of the form has been opened."""
    hidden: dict[str, Any] = {}
    if step < HEAT:
        hidden |= {"heater": None, "pump": None}
    if step < COVER:
        hidden |= {"shelter": None, "with_cover": False}
    return hidden


def _size(answers: Mapping[str, str]) -> tuple[float, float, float]:
    """Length, depth, and height above the lawn [m] of the cut through the pond."""
    length, width = (units.parse(answers[key], "m") for key in ("length", "width"))
    if depth_or_volume(answers["depth"]) == "volume":
        depth = units.parse(answers["depth"], "m**3") / (length * width)
    else:
        depth = units.parse(answers["depth"], "m")
    return max(length, width), depth, RAISED * depth if answers["sunk"] == "above" else 0.0


class SeasonHours(ipywidgets.VBox):
    """Every hour of the reader's season as a carpet plot, with a frame for the cover's hours; worked out on demand."""

    LABEL = "Show every hour of your season, and what covering it saves"
    NOTHING = "This picture needs a pond that is heated and has a cover. Fill in both, and it appears here."

    def __init__(self):
        self.shown = Switch(self.LABEL)
        self._found: Assessment | None = None
        self.shown.observe(lambda _: self._draw(), "value")
        super().__init__([self.shown])

    def follow(self, found: Assessment) -> None:
        """Show the season of another assessment."""
        self._found = found
        self._draw()

    def _draw(self) -> None:
        found, below = self._found, tuple[ipywidgets.Widget, ...]()
        if self.shown.value and found is not None:
            if found.sheet.is_heated and found.sheet.pond.cover is not None:
                below = self._carpet(found)
            else:
                below = (ipywidgets.HTML(f'<p class="ph-kept">{self.NOTHING}</p>'),)
        self.children = (self.shown, *below)

    @staticmethod
    def _carpet(found: Assessment) -> tuple[ipywidgets.Widget, ...]:
        sheet = found.sheet
        conditions = assessment.boundary_conditions(sheet, found.weather)
        held = float(np.nanmean(np.broadcast_to(conditions.set_point, len(conditions.hours))[conditions.counted]))
        carpets = SeasonCarpets(conditions, held)
        carpet = carpets.of(sheet.pond)
        if sheet.tariff is not None and sheet.heater.kind == "resistance":
            carpet = carpets.priced(carpet, sheet.tariff, sheet.currency.hundredth)
        frame = season_frame("own-hours", carpet, sheet.currency, hours_of_plan(sheet.cover_plan))
        said = f"Here the water is held at {temperature(held, 1)} throughout, whether or not your heater can do it."
        return ipywidgets.HTML(f'<p class="ph-kept">{said}</p>'), frame

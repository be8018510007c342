"""A picture with what goes with it: its title, its numbers, and a description in words."""

from __future__ import annotations

import html
from dataclasses import dataclass

from pondheat.core import display_units
from pondheat.core.number_format import unbroken
from pondheat.show.pictures.pond import describe, pond_picture
from pondheat.show.pictures.scene import PondScene


@dataclass(frozen=True)
class Figure:
    """A picture: its SVG, the numbers in it, a title and a description in words; below: one that goes with it."""

    svg: str
    numbers: dict
    title: str
    description: str
    below: Figure | None = None

    def html(self) -> str:
        """The picture with its title as an HTML figure."""
        return (
            f'<figure class="ph-figure"><figcaption>{html.escape(unbroken(self.title))}</figcaption>{self.svg}</figure>'
        )


def pond_figure(scene: PondScene, panel: str, title: str, below: Figure | None = None) -> Figure:
    """The picture of a pond as a figure; panel: prefix of its ids; title: may mark quantities with square brackets."""
    title = display_units.localise(title)
    key = f"{panel}-pond"
    return Figure(
        pond_picture(scene, key, title), dict(scene.flows), title, describe(scene, display_units.load()), below
    )

"""A picture with what goes with it: its title, its numbers, and a description in words."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from pondheat.core import display_units
from pondheat.core.number_format import unbroken
from pondheat.show.pictures.pond import describe, pond_picture
from pondheat.show.pictures.scene import PondScene


@dataclass(frozen=True)
class Figure:
    """A picture: its SVG, the numbers in it, a title and a description in words.

    draw_below: draws a second picture that goes with it, not before `below` is asked for: the first shows at once.
    """

    svg: str
    numbers: dict
    title: str
    description: str
    draw_below: Callable[[], Figure] | None = None

    @cached_property
    def below(self) -> Figure | None:
        """The picture that goes with this one, if there is one."""
        return None if self.draw_below is None else self.draw_below()

    def html(self) -> str:
        """The picture with its title as an HTML figure."""
        return (
            f'<figure class="ph-figure"><figcaption>{html.escape(unbroken(self.title))}</figcaption>{self.svg}</figure>'
        )


def pond_figure(scene: PondScene, panel: str, title: str, draw_below: Callable[[], Figure] | None = None) -> Figure:
    """The picture of a pond as a figure; panel: prefix of its ids; title: may mark quantities with square brackets;
    draw_below: see `Figure`."""
    title = display_units.localise(title)
    key = f"{panel}-pond"
    return Figure(
        pond_picture(scene, key, title), dict(scene.flows), title, describe(scene, display_units.load()), draw_below
    )

"""Rendering of the tutor's papers: HTML files without scripts that any printer can print."""

from __future__ import annotations

from collections.abc import Mapping

from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.show.report.rendering import kept_together, render

TEMPLATES = "pondheat.tutor"
LETTERS = "ABCDE"  # of the choices, in the order of the page, as on the screen and on the tutor's page


def paper(template: str, title: str, *, points: float = 9.5, display: DisplayUnits = METRIC, **values: object) -> str:
    """A whole HTML file.

    template: its name in the folder `templates` here; points: size of its type on paper [pt]; display: units shown
    after °C and m³; values: what the template names.
    """
    html = render(TEMPLATES, template, title=title, points=f"{points:g}", display=display, **values)
    return str(kept_together(html))


def lettered(choices: Mapping[str, str]) -> dict[str, str]:
    """The choices with their letters, by key: “B. evaporation”."""
    return {key: f"{letter}. {text}" for letter, (key, text) in zip(LETTERS, choices.items())}

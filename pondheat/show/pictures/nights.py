"""Nights as points: how much warmer the water was than the air (across), and what the heater took (up)."""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass

from pondheat.show.pictures.palette import COVERED, OPEN

WIDTH, HEIGHT = 720, 380
LEFT, TOP, PLOT_WIDTH, PLOT_HEIGHT = 58, 12, 648, 310  # px of the plot within the picture
MOST_WARMER, MOST_USED = 28.0, 160.0  # K and kWh at the ends of the scales
_SIDE = 10  # px of a covered night's square; an open night's ring is about as large


@dataclass(frozen=True)
class NightPoint:
    """A night of the picture: its name, difference of temperature [K] and use [kWh]."""

    name: str
    warmer: float
    used: float


@dataclass(frozen=True)
class DrawnLine:
    """A line across the picture by its ends (difference [K], use [kWh]); look: SVG attributes of its stroke."""

    start: tuple[float, float]
    end: tuple[float, float]
    look: str


def across(warmer: float) -> float:
    """Where a difference of temperature [K] is drawn [px]."""
    return LEFT + PLOT_WIDTH * warmer / MOST_WARMER


def up(used: float) -> float:
    """Where a use [kWh] is drawn [px], from the top."""
    return TOP + PLOT_HEIGHT * (1 - used / MOST_USED)


def nights_svg(
    opened: Sequence[NightPoint], covered: Sequence[NightPoint], lines: Sequence[DrawnLine], key: str, title: str
) -> str:
    """The picture as SVG text: open nights as rings, covered ones as squares; key: prefix of ids.

    An empty group `ph-handles` is where the browser adds what the reader moves; `ph-sticks` lies under the points.
    """
    points = "".join(
        f'<circle class="ph-night" cx="{across(one.warmer):.1f}" cy="{up(one.used):.1f}" r="5.5" fill="none" '
        f'stroke="{OPEN}" stroke-width="2.5">{_told(one, "open")}</circle>'
        for one in opened
    ) + "".join(
        f'<rect class="ph-night" x="{across(one.warmer) - _SIDE / 2:.1f}" y="{up(one.used) - _SIDE / 2:.1f}" '
        f'width="{_SIDE}" height="{_SIDE}" fill="{COVERED}">{_told(one, "covered")}</rect>'
        for one in covered
    )
    drawn = "".join(
        f'<line class="ph-drawn" x1="{across(one.start[0]):.1f}" y1="{up(one.start[1]):.1f}" '
        f'x2="{across(one.end[0]):.1f}" y2="{up(one.end[1]):.1f}" {one.look}/>'
        for one in lines
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="group" '
        f'aria-label="{html.escape(title)}" style="width:100%;height:auto;display:block" fill="currentColor" '
        f'font-size="16" font-family="inherit"><defs><clipPath id="{key}-plot"><rect x="{LEFT}" y="{TOP}" '
        f'width="{PLOT_WIDTH}" height="{PLOT_HEIGHT}"/></clipPath></defs>{_axes()}<g class="ph-sticks"></g>'
        f'<g clip-path="url(#{key}-plot)">{drawn}</g>{points}{_legend(bool(covered))}<g class="ph-handles"></g></svg>'
    )


def _told(one: NightPoint, kind: str) -> str:
    return f"<title>{html.escape(one.name)}, {kind}: {one.warmer:.1f} K warmer, {one.used:.0f} kWh</title>"


def _axes() -> str:
    levels = "".join(
        f'<path d="M{LEFT},{up(used):.1f} h{PLOT_WIDTH}" stroke="currentColor" stroke-opacity=".2"/>'
        f'<text x="{LEFT - 8}" y="{up(used) + 5:.1f}" text-anchor="end">{used}</text>'
        for used in range(0, round(MOST_USED) + 1, 50)
    )
    differences = "".join(
        f'<path d="M{across(warmer):.1f},{TOP + PLOT_HEIGHT} v6" stroke="currentColor"/>'
        f'<text x="{across(warmer):.1f}" y="{TOP + PLOT_HEIGHT + 24}" text-anchor="middle">{warmer}</text>'
        for warmer in range(0, round(MOST_WARMER), 5)
    )
    return (
        f'{levels}{differences}<text x="{LEFT + PLOT_WIDTH}" y="{HEIGHT - 6}" text-anchor="end">'
        f'water warmer than the air, K</text><text x="{LEFT + 8}" y="{TOP + 10}">kWh a night</text>'
    )


def _legend(covered: bool) -> str:
    y = HEIGHT - 11
    text = (
        f'<circle cx="{LEFT + 6}" cy="{y}" r="5.5" fill="none" stroke="{OPEN}" stroke-width="2.5"/>'
        f'<text x="{LEFT + 18}" y="{y + 5}">open</text>'
    )
    if covered:
        text += (
            f'<rect x="{LEFT + 76}" y="{y - _SIDE / 2}" width="{_SIDE}" height="{_SIDE}" fill="{COVERED}"/>'
            f'<text x="{LEFT + 92}" y="{y + 5}">covered</text>'
        )
    return text

"""Arrows whose width is a flow of heat, always of the same points, so that a browser can let them grow."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pondheat.show.pictures import palette

Corners = list[tuple[float, float]]  # of a convex shape, in order [px]
WIDEST = 46.0  # px: the arrow of the flow that fills the scale


@dataclass(frozen=True)
class Arrow:
    """An arrow from (x, y) along (dx, dy) [px]; its shaft is `width` [px] wide, as wide as the flow is large.

    without: width of the outline that shows the same flow without the cover [px], negative where that flows the other
    way, None for none.
    """

    name: str
    x: float
    y: float
    dx: float
    dy: float
    width: float
    without: float | None = None

    @property
    def half(self) -> float:
        """Half the width of the head [px]."""
        return _head_half(max(self.width, abs(self.without or 0.0)))

    def shapes(self) -> tuple[Corners, Corners]:
        """Its shaft and its head, with the outline's width where that is wider [px]."""
        length = math.hypot(self.dx, self.dy)
        along, across = (self.dx / length, self.dy / length), (-self.dy / length, self.dx / length)
        width = max(self.width, abs(self.without or 0.0))
        body, half, wide = length - _head(length, width), width / 2, _head_half(width)

        def corners(*places: tuple[float, float]) -> Corners:
            return [(self.x + t * along[0] + s * across[0], self.y + t * along[1] + s * across[1]) for t, s in places]

        shaft = corners((0, -half), (body, -half), (body, half), (0, half))
        return shaft, corners((body, -wide), (length, 0), (body, wide))

    def svg(self, key: str) -> str:
        """The arrow as an SVG group; key: prefix of the picture's ids."""
        length = math.hypot(self.dx, self.dy)
        turn = math.degrees(math.atan2(self.dy, self.dx))
        wavy = self.name == "evaporation"
        path = outline(length, self.width, wavy)
        hue = palette.COLOURS[self.name]
        thin = max(0.0, 1.6 - self.width)  # an arrow of hardly any width would vanish: a thin line of its hue remains
        opacity = int(self.width > 0 or bool(self.without))  # no sun by night, no heat out of a filter without air
        ghost = ""
        if self.without is not None:
            turned = f' transform="translate({length:.1f} 0) rotate(180)"' if self.without < 0 else ""
            around = f'd="{outline(length, abs(self.without), wavy)}"{turned}'
            ghost = (
                f'<path data-without="1" {around} fill="#fff" fill-opacity=".38" '
                'stroke="#fff" stroke-width="3" stroke-linejoin="round"/>'
                f'<path {around} fill="none" stroke="{hue}" stroke-width="1.6" stroke-dasharray="5 3"/>'
            )
        return (
            f'<g data-k="arrow {self.name}" opacity="{opacity}" transform="translate({self.x:.1f} {self.y:.1f}) '
            f'rotate({turn:.1f})">{ghost}'
            f'<path d="{path}" fill="#fff" stroke="#fff" stroke-opacity=".85" stroke-width="3.4" '
            'stroke-linejoin="round"/>'
            f'<path data-flow="1" d="{path}" fill="{hue}" stroke="{hue}" stroke-width="{thin:.1f}"/>'
            f'<path d="{path}" fill="{palette.pattern_url(key, self.name)}"/>'
            "</g>"
        )


def _head_half(width: float) -> float:
    return 0.72 * width + 4.5


def _head(length: float, width: float) -> float:
    return min(0.5 * length, 9 + 0.42 * width)


def gap(one: Corners, other: Corners) -> float:
    """Room between two convex shapes [px], across the edge that parts them most; below 0 where they meet."""
    best = -math.inf
    for shape in (one, other):
        for (x, y), (next_x, next_y) in zip(shape, shape[1:] + shape[:1]):
            size = math.hypot(next_x - x, next_y - y)
            if size == 0:  # an arrow without width
                continue
            across = (next_y - y) / size, (x - next_x) / size
            first, second = ([across[0] * a + across[1] * b for a, b in corners] for corners in (one, other))
            best = max(best, min(first) - max(second), min(second) - max(first))
    return best


def outline(length: float, width: float, wavy: bool = False) -> str:
    """Path data of an arrow along the x axis [px]: always the same commands, whatever its size."""
    body, half, wide = length - _head(length, width), width / 2, _head_half(width)
    swing = min(4.0, 0.28 * width) if wavy else 0.0
    third, two_thirds = body / 3, 2 * body / 3
    return (
        f"M0,{-half:.2f} C{third:.1f},{-half - swing:.2f} {two_thirds:.1f},{-half + swing:.2f} {body:.1f},{-half:.2f} "
        f"L{body:.1f},{-wide:.2f} L{length:.1f},0 L{body:.1f},{wide:.2f} L{body:.1f},{half:.2f} "
        f"C{two_thirds:.1f},{half + swing:.2f} {third:.1f},{half - swing:.2f} 0,{half:.2f} Z"
    )

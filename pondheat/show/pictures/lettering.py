"""Text in pictures: its greatest width, how numbers are written, and labels with a ground of their own."""

from __future__ import annotations

import functools
import html
from dataclasses import dataclass

from pondheat.core import units

# Widths of letters in thousandths of the size, of a wide sans serif (DejaVu Sans), so that other fonts fit as well.
_WIDTHS = {" ": 320, "m": 970, "w": 820, "M": 870, "W": 990, "°": 500, "−": 840, "–": 500}
_WIDTHS |= dict.fromkeys("ijl,.", 320) | dict.fromkeys("frtIJ()/", 400) | dict.fromkeys("sczkvyx", 590)
_USUAL, _BOLD = 640, 1.1  # of all other letters; how much wider bold ones are
NAME, NUMBER = 15, 16  # px: size of a label's names and of its number
_LINE, _SIDE, _FOOT, GAP = 18, 6, 6, 4  # px: from line to line; room beside and below the text; between two labels


@functools.lru_cache(1000)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is at most, in the units of its size."""
    return sum(_WIDTHS.get(letter, _USUAL) for letter in text) * size / 1000 * (_BOLD if bold else 1)


def watts(value: float) -> str:
    """A flow of heat as a label has it, to three figures and to the watt: “1,460 W”."""
    rounded = units.significant(value, 3) if abs(value) >= 100 else units.digits(value)
    return f"{rounded} W"


def spread(middles: list[float], widths: list[float], low: float, high: float) -> list[float]:
    """Middles moved as little as it takes to keep things of these widths apart, in order, between low and high [px]."""
    placed: list[float] = []
    edge = low
    for middle, wide in zip(middles, widths):
        placed.append(max(middle, edge + wide / 2))
        edge = placed[-1] + wide / 2 + GAP
    edge = high
    for at in range(len(placed) - 1, -1, -1):
        placed[at] = min(placed[at], edge - widths[at] / 2)
        edge = placed[at] - widths[at] / 2 - GAP
    return placed


@dataclass(frozen=True)
class Label:
    """A few lines of text on a light ground: names first, then the number in bold, then small print.

    x: middle [px]; y: top [px]; colour: of the edge that ties it to its arrow, "" for none; scale: times the usual
    size.
    """

    key: str
    names: tuple[str, ...]
    number: str
    x: float
    y: float
    colour: str = ""
    small: tuple[str, ...] = ()
    opacity: int = 1
    scale: float = 1.0

    @functools.cached_property
    def width(self) -> float:
        """Of its ground [px]."""
        texts = [text_width(name, NAME) for name in self.names]
        texts += [text_width(self.number, NUMBER, True), *(text_width(one, NAME - 1.5) for one in self.small)]
        return self.scale * (max(texts) + 2 * _SIDE)

    @property
    def height(self) -> float:
        """Of its ground [px]."""
        return self.scale * (_LINE * (len(self.names) + bool(self.number) + len(self.small)) + _FOOT)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom [px]."""
        return self.x - self.width / 2, self.y, self.x + self.width / 2, self.y + self.height

    @property
    def corners(self) -> list[tuple[float, float]]:
        """Of its ground [px], in order round it."""
        left, top, right, bottom = self.box
        return [(left, top), (right, top), (right, bottom), (left, bottom)]

    def svg(self) -> str:
        """The label as an SVG group, drawn about its own middle so that it can glide."""
        wide, high = self.width / self.scale, self.height / self.scale
        left, larger = -wide / 2, "" if self.scale == 1 else f" scale({self.scale:g})"
        lines = [(name, f'font-size="{NAME}"') for name in self.names]
        lines += [(self.number, f'font-size="{NUMBER}" font-weight="700"')] if self.number else []
        lines += [(one, f'font-size="{NAME - 1.5}" fill="#4a4a4a"') for one in self.small]
        edge = (
            f'<rect x="{left:.1f}" y="0" width="{wide:.1f}" height="4" rx="2" fill="{self.colour}"/>'
            if self.colour
            else ""
        )
        written = "".join(
            f'<text y="{_LINE * (at + 1) - 1:.0f}" text-anchor="middle" {look}>{html.escape(line)}</text>'
            for at, (line, look) in enumerate(lines)
        )
        placed = f"translate({self.x:.1f} {self.y:.1f}){larger}"
        return (
            f'<g data-k="label {self.key}" opacity="{self.opacity}" transform="{placed}" '
            'fill="#1d2226">'
            f'<rect data-box="1" x="{left:.1f}" y="0" width="{wide:.1f}" height="{high:.1f}" rx="5" fill="#fff" '
            f'fill-opacity=".9"/>{edge}{written}</g>'
        )

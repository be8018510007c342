"""Colours and patterns of everything drawn: one hue and one mark for each way heat moves, the same on every page."""

from __future__ import annotations

# Okabe and Ito's colour-blind-safe palette without black, one hue for each route of heat loss on every page.
HUES = {
    "evaporation": "#0072b2",
    "convection": "#e69f00",
    "long wave": "#cc79a7",
    "walls and floor": "#009e73",
    "filter, air, new water": "#56b4e9",
}
SUN, HEATER, PUMP = "#f0c419", "#d55e00", "#7a7a7a"
OPEN, COVERED = "#0072b2", "#d55e00"
COLOURS = {**HUES, "walls": HUES["walls and floor"], "floor": HUES["walls and floor"]}
COLOURS["filter"] = HUES["filter, air, new water"]
COLOURS |= {"open surface": "#5b7f95", "sun": SUN, "heater": HEATER, "pump": PUMP}

_STROKE = 'stroke="#fff" stroke-opacity=".62" fill="none"'
# A second mark beside the hue, for readers who can't tell hues apart and for paper printed in grey: size, then drawing.
_MARKS = {
    "evaporation": (12, f'<path d="M0,3 q3,-3 6,0 t6,0 M0,9 q3,-3 6,0 t6,0" {_STROKE} stroke-width="1.6"/>'),
    "convection": (9, f'<path d="M-2,11 L11,-2 M-2,2 L2,-2 M7,11 L11,7" {_STROKE} stroke-width="1.8"/>'),
    "long wave": (10, f'<path d="M0,7.5 L2.5,2.5 L7.5,7.5 L10,2.5" {_STROKE} stroke-width="1.6"/>'),
    "walls and floor": (
        14,
        f'<path d="M0,.5 H14 M0,7.5 H14 M3.5,.5 V7.5 M10.5,7.5 V14" {_STROKE} stroke-width="1.4"/>',
    ),
    "filter, air, new water": (8, '<circle cx="4" cy="4" r="1.5" fill="#fff" fill-opacity=".8"/>'),
    "open surface": (8, f'<path d="M0,4 H8" {_STROKE} stroke-width="1.6"/>'),
    "sun": (12, '<path d="M6,2 V10 M2,6 H10" stroke="#7a5c00" stroke-opacity=".55" stroke-width="1.3"/>'),
    "heater": (9, f'<path d="M0,0 L9,9 M0,9 L9,0" {_STROKE} stroke-width="1.2"/>'),
    "pump": (6, f'<path d="M3,0 V6" {_STROKE} stroke-width="1.4"/>'),
}


def _mark_of(name: str) -> str:
    return {"walls": "walls and floor", "floor": "walls and floor", "filter": "filter, air, new water"}.get(name, name)


def pattern_url(key: str, name: str) -> str:
    """The fill that lays the mark of a way over its hue; key: prefix of the picture's ids."""
    return f"url(#{key}-{_mark_of(name).split(',')[0].replace(' ', '-')})"


def patterns(key: str, names) -> str:
    """SVG definitions of the marks of these ways of heat; key: prefix of the picture's ids."""
    out = []
    for mark in dict.fromkeys(_mark_of(name) for name in names):
        size, drawing = _MARKS[mark]
        out.append(
            f'<pattern id="{pattern_url(key, mark)[5:-1]}" width="{size}" height="{size}" '
            f'patternUnits="userSpaceOnUse">{drawing}</pattern>'
        )
    return "".join(out)

"""What is round a pond in its picture: sky, lawn, hedge, basin, cover, filter, heater and pump, as SVG text."""

from __future__ import annotations

import functools
import math

from pondheat.show.pictures.layout import (
    BOX_TOP,
    COVER_THICKNESS,
    EQUIPMENT,
    FILTER_TOP,
    HIGHEST,
    LAWN,
    PIPE,
    WIDTH,
    Layout,
)
from pondheat.show.pictures.scene import FILTERS, PondScene

# Colours of the water by its temperature [°C], of the sky by how light it is: clear above, clear below, overcast.
_WATER = ((0, "#b7d9ec"), (6, "#7fb8d8"), (12, "#4f9dbf"), (18, "#3d9490"), (24, "#86a267"), (30, "#d49a56"))
_SKY = {
    "top": ((0.0, "#141d38"), (0.5, "#6f86b5"), (1.0, "#a9d3ef")),
    "low": ((0.0, "#3b4a70"), (0.5, "#f0c9a0"), (1.0, "#e6f3fa")),
    "grey": ((0.0, "#3a4152"), (0.5, "#9aa0ab"), (1.0, "#cfd6dc")),
}
_STARS = (
    (34, 22),
    (96, 66),
    (128, 18),
    (214, 34),
    (300, 16),
    (352, 44),
    (430, 84),
    (470, 54),
    (560, 92),
    (410, 14),
    (246, 70),
    (64, 100),
    (520, 24),
    (330, 92),
    (180, 84),
)
_CLOUDS = ((210, 40, 1.0), (396, 28, 0.85), (96, 62, 0.7), (470, 64, 0.75), (312, 66, 0.9))


@functools.lru_cache(1000)
def blend(stops, value: float) -> str:
    """The colour at a value between (value, colour) stops."""
    value = min(max(value, stops[0][0]), stops[-1][0])
    for (low, first), (high, second) in zip(stops, stops[1:]):
        if value <= high:
            share = (value - low) / (high - low)
            mixed = (
                round(int(first[at : at + 2], 16) * (1 - share) + int(second[at : at + 2], 16) * share)
                for at in (1, 3, 5)
            )
            return "#{:02x}{:02x}{:02x}".format(*mixed)
    return stops[-1][1]


def _sky_colours(scene: PondScene, light: float) -> tuple[str, str]:
    """Colours of the sky above and at the horizon; cloud greys it."""
    grey = blend(_SKY["grey"], light)
    share = min(max(scene.cloud, 0.0), 1.0) ** 1.5
    top, low = (blend(((0, blend(_SKY[part], light)), (1, grey)), share) for part in ("top", "low"))
    return top, low


def definitions(scene: PondScene, key: str) -> str:
    """Gradients of sky, water and earth; a mean of day and night has night at its left and day at its right."""
    water = blend(_WATER, scene.water_temp)
    light = blend(((0, water), (1, "#ffffff")), 0.3)
    deep = blend(((0, water), (1, "#0d2b3a")), 0.22)
    if scene.hour is None:
        first, last = _sky_colours(scene, 0.0)[0], _sky_colours(scene, 1.0)[0]
        stops, across = ((0.2, 0.0), (0.46, 0.4), (0.6, 0.8), (0.75, 1.0)), 'x2="1" y2=".12"'
    else:
        first, last = _sky_colours(scene, scene.daylight)
        stops, across = ((0.0, 0.0), (0.4, 0.45), (0.7, 0.8), (1.0, 1.0)), 'x2="0" y2="1"'
    sky = "".join(f'<stop offset="{at}" stop-color="{blend(((0, first), (1, last)), share)}"/>' for at, share in stops)
    return (
        f'<linearGradient id="{key}-sky" {across}>{sky}</linearGradient>'
        f'<linearGradient id="{key}-water" x2="0" y2="1"><stop stop-color="{light}"/>'
        f'<stop offset="1" stop-color="{deep}"/></linearGradient>'
        f'<linearGradient id="{key}-earth" x2="0" y2="1"><stop stop-color="#c9b79c"/><stop offset="1" '
        'stop-color="#ddd1bd"/></linearGradient>'
    )


def _shown(share: float) -> str:
    return f'opacity="{min(max(share, 0.0), 1.0):.2f}"'


def sky(scene: PondScene, laid: Layout, key: str) -> str:
    """Sky with stars, moon, sun and cloud; indoors a room."""
    if scene.room:
        rafters = "".join(
            f'<path d="M{x},0 L{x - 26},34 H{x + 26} Z" fill="#c7b08d" opacity=".55"/>' for x in range(60, WIDTH, 120)
        )
        return (
            f'<rect width="{WIDTH}" height="{LAWN}" fill="#efe7da"/><rect width="{WIDTH}" height="9" fill="#9c8363"/>'
            f'{rafters}<rect y="{LAWN - 60}" width="{WIDTH}" height="60" fill="#e3d8c6"/>'
        )
    whole_day = scene.hour is None
    light, clear = scene.daylight, 1 - 0.85 * min(max(scene.cloud, 0.0), 1.0)
    stars = "".join(
        f'<circle cx="{x}" cy="{y}" r="{1.1 + 0.5 * (x % 3 == 0)}"/>' for x, y in _STARS if not whole_day or x < 220
    )
    noon = (scene.sunrise + scene.sunset) / 2
    half = max(scene.sunset - scene.sunrise, 1.0) / 2
    height = (
        1.0 if whole_day or scene.hour is None else math.cos(min(1.0, abs(scene.hour % 24 - noon) / half) * math.pi / 2)
    )
    sun_y = 40 + 60 * (1 - height)
    moon_x = 112 if whole_day else 566
    clouds = "".join(
        f'<g data-k="cloud {at}" transform="translate({x} {y}) scale({size})" '
        f'{_shown(5 * scene.cloud - at)}><ellipse rx="46" ry="13"/><ellipse cx="-14" cy="-10" rx="22" ry="14"/>'
        '<ellipse cx="14" cy="-14" rx="26" ry="17"/></g>'
        for at, (x, y, size) in enumerate(_CLOUDS)
    )
    cloud_hue = blend(((0, "#66708a"), (1, "#ffffff")), 0.7 if whole_day else light)
    by_night = _shown(clear * (0.9 if whole_day else 1 - 2 * light))
    return (
        f'<rect width="{WIDTH}" height="{LAWN + 4 - laid.skipped:g}" fill="url(#{key}-sky)"/>'
        f'<g data-k="stars" fill="#fff" {by_night}>{stars}</g>'
        f'<g data-k="moon" {by_night}>'
        f'<circle cx="{moon_x}" cy="44" r="17" fill="#f4efd8"/>'
        f'<circle cx="{moon_x - 7}" cy="39" r="3.6" fill="#dcd5ba"/><circle cx="{moon_x + 5}" cy="51" r="2.6" '
        f'fill="#dcd5ba"/></g>'
        f'<g data-k="sun" transform="translate(566 {sun_y:.1f})" '
        f"{_shown((1 if whole_day else light) * (0.25 + clear))}>"
        '<circle r="33" fill="#f9dc6b" opacity=".32"/><circle r="21" fill="#f6c92e"/></g>'
        f'<g data-k="clouds" fill="{cloud_hue}" fill-opacity=".86">{clouds}</g>'
    )


def ground(scene: PondScene, key: str) -> str:
    """The lawn, the cut through the earth, the hedge that shelters the pond, and the wind over it."""
    stones = "".join(
        f'<ellipse cx="{x}" cy="{y}" rx="{r}" ry="{0.6 * r:.1f}"/>'
        for x, y, r in (
            (40, 392, 7),
            (96, 340, 5),
            (18, 318, 4),
            (210, 392, 5),
            (330, 396, 8),
            (436, 352, 5),
            (590, 398, 6),
        )
    )
    top = "#b3a083" if scene.room else "#8aa871"
    out = (
        f'<rect y="{LAWN}" width="{WIDTH}" height="{HIGHEST - LAWN}" fill="url(#{key}-earth)"/>'
        f'<g fill="#bda98a" opacity=".7">{stones}</g><rect y="{LAWN - 4}" width="{WIDTH}" height="9" fill="{top}"/>'
    )
    if scene.room:
        return out
    if scene.shelter is not None:
        tall = 92 * (1 - min(max(scene.shelter, 0.0), 1.0))
        out += (
            f'<g data-k="hedge" transform="translate(64 {LAWN}) scale(1 {max(tall, 1) / 80:.3f})">'
            '<path d="M-46,0 C-58,-20 -54,-44 -44,-56 C-44,-74 -22,-84 -8,-76 C4,-88 28,-82 32,-64 C48,-60 52,-30 44,0 '
            'Z" fill="#5f8a55"/><path d="M-34,-50 q8,-12 18,-4 M-6,-60 q10,-12 20,-3 M-26,-24 q9,-11 18,-3 '
            'M6,-32 q9,-12 20,-4 M24,-14 q6,-8 13,-2" stroke="#4a7142" stroke-width="3" fill="none" '
            'stroke-linecap="round"/></g>'
        )
    streaks = "".join(
        f'<path data-k="gust {at}" d="M{x},{y} q{18 + 3 * at},-7 {34 + 4 * at},0 t{30 + 4 * at},-2" '
        f"{_shown(scene.wind - at)}/>"
        for at, (x, y) in enumerate(((26, 122), (44, 138), (18, 108), (52, 152)))
    )
    hue = blend(((0, "#dfe7f5"), (1, "#5f7a8c")), 0.0 if scene.hour is None else scene.daylight)
    return out + f'<g data-k="wind" stroke="{hue}" stroke-width="2.2" fill="none" stroke-linecap="round">{streaks}</g>'


def _is_free(laid: Layout, x: float, y: float, half_wide: float, half_high: float) -> bool:
    """Whether no label lies over a box [px] round a middle."""
    boxes = (label.box for label in laid.labels if label.opacity)
    return all(
        x + half_wide < left or x - half_wide > right or y + half_high < top or y - half_high > bottom
        for left, top, right, bottom in boxes
    )


def basin(scene: PondScene, laid: Layout, key: str) -> str:
    """The basin with its water, ice and fish."""
    left, top, wide, deep = laid.left, laid.top, laid.width, laid.depth
    long = min(max(0.42 * laid.px_a_metre, 13), 54)  # px: a fish of 42 cm
    size = min(long / 54, 0.55 * deep / 24)
    fish = "".join(
        f'<g transform="translate({left + wide * x:.1f} {top + deep * y:.1f}) scale({size * turn:.3f} {size:.3f})" '
        f"{_shown(_is_free(laid, left + wide * x, top + deep * y, 29 * size, 13 * size))}>"
        f'<path d="M-26,0 C-14,-13 8,-12 17,-3 L29,-11 C27,-4 27,4 29,11 L17,3 C8,12 -14,13 -26,0 Z" fill="{hue}"/>'
        f'<path d="M-4,-8 q8,5 2,15 q9,-2 11,-8 q0,-6 -13,-7" fill="{mark}"/><circle cx="-17" cy="-2.5" r="1.8" '
        'fill="#222"/></g>'
        for x, y, turn, hue, mark in (
            (0.15, 0.34, 1, "#f6efe2", "#d9622b"),
            (0.8, 0.8, -1, "#e58a3c", "#f6efe2"),
        )
    )
    board = min(scene.insulation * laid.px_a_metre, 24)
    ice = 0.0 if scene.ice <= 0 else min(max(scene.ice * laid.px_a_metre, 5.0), 0.6 * deep)
    return (
        f'<path data-k="board" d="M{left - 8 - board:.1f},{top - 4:.1f} V{top + deep + 8 + board:.1f} '
        f'H{left + wide + 8 + board:.1f} V{top - 4:.1f} Z" fill="#f0d98c" {_shown(board)}/>'
        f'<path d="M{left - 8:.1f},{top - 5:.1f} V{top + deep:.1f} q0,8 8,8 H{left + wide:.1f} q8,0 8,-8 '
        f'V{top - 5:.1f} h-8 V{top + deep:.1f} H{left:.1f} V{top - 5:.1f} Z" fill="#6b6259"/>'
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{deep:.1f}" fill="url(#{key}-water)"/>'
        f'<path d="M{left:.1f},{top + 1:.1f} H{left + wide:.1f}" stroke="#fff" stroke-opacity=".75" stroke-width="2"/>'
        f"{fish}"
        f'<rect data-k="ice" x="{left:.1f}" y="{top - 3:.1f}" width="{wide:.1f}" height="{ice:.1f}" fill="#f7fcff" '
        'stroke="#5b8fae" stroke-width="1.4"/>'
    )


def cover(scene: PondScene, laid: Layout) -> str:
    """The cover: a thick sheet that slides from its roll at the left over the water."""
    if not scene.has_cover:
        return ""
    share = min(max(scene.covered, 0.0), 1.0)
    over, y = share * (laid.width + 14), laid.top - COVER_THICKNESS
    roll = 5 + 9 * math.sqrt(1 - share)
    return (
        f'<g data-k="cover"><rect x="{laid.left - 7:.1f}" y="{y:.1f}" width="{over:.1f}" height="{COVER_THICKNESS}" '
        f'rx="4" fill="#33424f"/><rect x="{laid.left - 7:.1f}" y="{y + 2:.1f}" width="{over:.1f}" height="3" '
        f'rx="1.5" fill="#9fb6c6"/><circle cx="{laid.left - 9:.1f}" cy="{laid.top - 5 - roll:.1f}" r="{roll:.1f}" '
        'fill="#33424f"/>'
        f'<circle cx="{laid.left - 9:.1f}" cy="{laid.top - 5 - roll:.1f}" r="{0.55 * roll:.1f}" fill="none" '
        'stroke="#9fb6c6" stroke-width="2"/></g>'
    )


def equipment(scene: PondScene, laid: Layout) -> str:
    """Filter, heater and pump, and the pipe that leads from them back to the pond."""
    parts = []
    shown = {name for name in ("heater", "pump") if name in scene.gains}
    has_filter = scene.has_filter or not FILTERS.isdisjoint(scene.losses)
    if not shown and not has_filter:
        return ""
    end, inlet = laid.right + 24, laid.top + 11
    path = f"M592,{PIPE} H{end:.1f} V{inlet:.1f} H{laid.right - 10:.1f}"
    parts.append(
        f'<path d="{path}" fill="none" stroke="#59636b" stroke-width="13" stroke-linejoin="round"/>'
        f'<path d="{path}" fill="none" stroke="#8cc0d4" stroke-width="7" stroke-linejoin="round"/>'
    )
    if has_filter:
        x = EQUIPMENT["filter"]
        parts.append(
            f'<g><rect x="{x - 34}" y="{FILTER_TOP}" width="68" height="{LAWN - FILTER_TOP - 3}" rx="5" '
            'fill="#4d5a55"/>'
            f'<rect x="{x - 29}" y="{FILTER_TOP + 8}" width="58" height="{LAWN - FILTER_TOP - 15}" rx="2" '
            f'fill="#7fb8c9"/><path d="M{x - 29},{FILTER_TOP + 18} h58 M{x - 29},{FILTER_TOP + 26} h58" '
            f'stroke="#4d5a55" stroke-width="4" stroke-dasharray="5 3"/>'
            f'<path d="M{x + 18},{LAWN - 4} V{PIPE}" stroke="#59636b" stroke-width="9"/></g>'
        )
    if "heater" in shown:
        x, hue = EQUIPMENT["heater"], "#f4a261" if (scene.heater or 0) > 0 else "#8d949a"
        parts.append(
            f'<g><rect x="{x - 27}" y="{BOX_TOP}" width="54" height="24" rx="5" fill="#4a4f55"/>'
            f'<path d="M{x - 18},{BOX_TOP + 12} q4.5,-10 9,0 t9,0 t9,0 t9,0" fill="none" stroke="{hue}" '
            'stroke-width="3.4" stroke-linecap="round"/></g>'
        )
    if "pump" in shown:
        x = EQUIPMENT["pump"]
        parts.append(
            f'<g><circle cx="{x}" cy="{BOX_TOP + 12}" r="13" fill="#5f6b73"/><path d="M{x},{BOX_TOP + 12} '
            f'm-8,0 a8,8 0 0 1 8,-8 M{x},{BOX_TOP + 12} m8,0 a8,8 0 0 1 -8,8" stroke="#dfe6ea" stroke-width="3" '
            f'fill="none"/><circle cx="{x}" cy="{BOX_TOP + 12}" r="2.6" fill="#dfe6ea"/></g>'
        )
    return "".join(parts)


def thermometer(x: float, y: float, tall: float, celsius: float, hue: str = "#c0392b") -> str:
    """A thermometer whose column is at a temperature between −20 and 40 °C; (x, y): its top."""
    share = min(max((celsius + 20) / 60, 0.02), 1.0)
    column = share * (tall - 6)
    marks = "".join(f"M{x + 3},{y + 3 + (tall - 6) * at / 6:.1f} h4 " for at in range(7))
    return (
        f'<g><rect x="{x - 5}" y="{y:.1f}" width="10" height="{tall:.1f}" rx="5" fill="#fff" stroke="#4a4a4a" '
        f'stroke-width="1.2"/><circle cx="{x}" cy="{y + tall + 3:.1f}" r="7.5" fill="{hue}" stroke="#4a4a4a" '
        f'stroke-width="1.2"/><rect x="{x - 2.2}" y="{y + tall - column:.1f}" width="4.4" height="{column + 3:.1f}" '
        f'fill="{hue}"/><path d="{marks.strip()}" stroke="#4a4a4a" stroke-width="1"/></g>'
    )

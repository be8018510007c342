"""Where everything in a picture of a pond is: the basin, the arrows and the labels, as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from pondheat.core import display_units, units
from pondheat.show.pictures import palette
from pondheat.show.pictures.arrows import WIDEST, Arrow, gap
from pondheat.show.pictures.lettering import GAP, Label, spread, watts
from pondheat.show.pictures.scene import FILTERS, SURFACE, PondScene

WIDTH, HIGHEST, LAWN = 600, 436, 246  # px; LAWN: height of the ground's surface
_FOOT = 28  # px: the line at the foot of a picture
_LEAST_SKY = 88  # px, over a pond with nothing above it: room for the sun and a cloud
MIDDLE, WIDEST_POND = 280, 280  # px
_DEEPEST, _DEEPEST_OVER_FLOOR, _HIGHEST = 104, 78, 80  # px: of the basin, of one with an arrow below it, above the lawn
_SHALLOWEST, _NARROWEST = 24, 56  # px, below which a pond would be a line
_COLUMNS = (165, 271, 377)  # px: middles of the labels over the water
_SUNNY, _SUNNY_COLUMNS = 14, 20  # px: how far arrows and labels over a wide pond make way for the sun's arrow
_CLEAR = 3  # px: between one arrow and the next
_WIDEST_STEP = 0.38  # of the pond's width, from one arrow over it to the next
PIPE = LAWN + 13  # px: height of the pipe that leads back to the pond
EQUIPMENT = {"filter": 548, "heater": 478, "pump": 556}  # px: middles
FILTER_TOP = LAWN - 42
BOX_TOP = LAWN + 74
COVER_THICKNESS = 13
_THERMOMETER = 28  # px: of the water beside its right wall, where the thermometer is
_AIR_THERMOMETER = 38  # px: right edge of the one below the label of the air
_NAMES = {
    "evaporation": ("evaporation",),
    "convection": ("convection",),
    "long wave": ("radiation", "to the sky"),
    "walls and floor": ("walls", "and floor"),
    "walls": ("walls",),
    "floor": ("floor",),
    "open surface": ("open surface",),
    "filter, air, new water": ("filter, air,", "new water"),
    "filter": ("filter",),
    "sun": ("sun",),
    "heater": ("heater",),
    "pump": ("pump",),
}


@dataclass(frozen=True)
class Layout:
    """A picture's geometry [px], except px_a_metre; arrows and labels in the order in which they are drawn.

    skipped: sky left out at the top, all else being placed as if it were there; preferred: the units of its
    temperatures.
    """

    preferred: display_units.DisplayUnits
    px_a_metre: float
    left: float
    top: float
    width: float
    depth: float
    arrows: tuple[Arrow, ...]
    labels: tuple[Label, ...]
    skipped: float = 0.0

    @property
    def height(self) -> float:
        """Of the picture: no more earth than it needs."""
        lowest = max([self.bottom + 10, *(label.box[3] for label in self.labels)])
        return min(HIGHEST, max(LAWN + 40, lowest + 8) + _FOOT)

    @property
    def right(self) -> float:
        """The pond's right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The pond's floor."""
        return self.top + self.depth


def _deepest(scene: PondScene) -> float:
    return _DEEPEST_OVER_FLOOR if "floor" in scene.losses else _DEEPEST


def _px_a_metre(scene: PondScene) -> float:
    """Scale of a scene, by which the largest of those compared with it fits."""
    length, depth, raised = scene.fit or (scene.length, scene.depth, scene.raised)
    return min(WIDEST_POND / length, _deepest(scene) / depth, _HIGHEST / raised if raised else math.inf)


def _width(length: float, px: float) -> float:
    """Width of a pond of this length [px]."""
    return min(max(length * px, _NARROWEST), WIDEST_POND)


def shaft(scene: PondScene, flow: float) -> float:
    """Width of the arrow of a flow [W] in a scene [px]: in proportion, whatever the flow.

    Over a narrow pond, or where the widest of those compared is narrow, three of the widest stand side by side.
    """
    length, *_ = scene.fit or (scene.length,)
    widest = min(WIDEST, _WIDEST_STEP * _width(length, _px_a_metre(scene)) - _CLEAR)
    return widest * abs(flow) / scene.scale


def place(scene: PondScene, preferred: display_units.DisplayUnits | None = None) -> Layout:
    """The geometry of a scene; preferred: the units of its temperatures, by default those of the current folder."""
    px = _px_a_metre(scene)
    wide, deep = _width(scene.length, px), min(max(scene.depth * px, _SHALLOWEST), _deepest(scene))
    top = LAWN - min(scene.raised * px, _HIGHEST)
    basin = Layout(preferred or display_units.load(), px, MIDDLE - wide / 2, top, wide, deep, (), ())
    arrows, labels = [], []
    for found in (_over_the_water(scene, basin), _beside(scene, basin), _equipment(scene)):
        arrows += [arrow for arrow, _ in found]
        labels += [label for _, label in found]
    for arrow, label in _sunbeam(scene, basin, arrows, labels):
        arrows.append(arrow)
        labels.append(label)
    labels += [*_air(scene, basin), _water(scene, basin)]
    bare = not (scene.flows or scene.outlines or scene.room or scene.air_temp is not None)
    skipped = max(top - _LEAST_SKY, 0.0) if bare else 0.0
    return replace(basin, arrows=tuple(arrows), labels=tuple(labels), skipped=skipped)


def _arrow(scene: PondScene, name: str, foot: tuple[float, float], tip: tuple[float, float]) -> Arrow:
    """The arrow of a loss from foot to tip; turned round where the pond gains by it."""
    flow = scene.flows[name]
    if flow < 0:
        foot, tip = tip, foot
    before = scene.outlines.get(name)
    without = None if before is None else shaft(scene, before) * (1 if (before < 0) == (flow < 0) else -1)
    return Arrow(name, *foot, tip[0] - foot[0], tip[1] - foot[1], shaft(scene, flow), without)


def _label(scene: PondScene, name: str, x: float, y: float, above: bool = False) -> Label:
    """The label of a flow; y: its top, or its bottom if it is above."""
    flow, names = scene.flows[name], _NAMES[name]
    if name == "long wave" and scene.room:
        names = ("radiation", "to the room")
    before = scene.outlines.get(name)
    small = [] if before is None else [f"{scene.outlined} {watts(abs(before))}"]
    if flow < 0 or (before is not None and before < 0):  # a loss is only named one beside a gain
        ways = ["gained" if one < 0 else "lost" if one > 0 else "" for one in (flow, before) if one is not None]
        small = [text for text in (ways[0], *small, "" if len(set(ways)) == 1 else ways[-1]) if text]
    number = watts(abs(flow)) if scene.has_flows else ""
    made = Label(name, names, number, x, y, palette.COLOURS[name], tuple(small), scale=scene.lettering)
    return replace(made, y=y - made.height) if above else made


def _apart(found: list[tuple[Arrow, Label]], low: float, high: float) -> list[tuple[Arrow, Label]]:
    """The same with their labels moved sideways until none meets another."""
    labels = [label for _, label in found]
    middles = spread([label.x for label in labels], [label.width for label in labels], low, high)
    return [(arrow, replace(label, x=x)) for (arrow, label), x in zip(found, middles)]


def _over_the_water(scene: PondScene, basin: Layout) -> list[tuple[Arrow, Label]]:
    """Arrows up from the surface with their labels above."""
    names = [name for name in (*SURFACE, "open surface") if name in scene.losses]
    foot = _foot_of_arrows(scene, basin)
    widths = [shaft(scene, max(abs(scene.flows[name]), abs(scene.outlines.get(name, 0.0)))) for name in names]
    needed = max((0.5 * (one + other) + _CLEAR for one, other in zip(widths, widths[1:])), default=0.0)
    # A narrow pond uses all of its width.
    step = min(max(0.29 * basin.width, min(needed, _WIDEST_STEP * basin.width)), 82)
    share = basin.width / WIDEST_POND
    aside, column_aside = (0.0, 0.0) if scene.sun is None else (_SUNNY * share, _SUNNY_COLUMNS)
    middle = max(MIDDLE - 9 - aside, basin.left + step + 1)
    highest = max((_label(scene, name, 0, 0).height for name in names), default=0) + 8
    tip = max(foot - 92, highest)
    found = []
    for name in names:
        at = SURFACE.index(name) if name in SURFACE else 1
        x, column = middle + (at - 1) * step, _COLUMNS[at] - column_aside
        arrow = _arrow(scene, name, (x, foot), (x + 0.72 * (column - x), tip))
        found.append((arrow, _label(scene, name, column, tip - 4, above=True)))
    low = min((label.y for _, label in found), default=0)
    left, right = 4.0, 462 - column_aside
    room = sum(label.width + GAP for _, label in found) - GAP
    if beside := [air.box[2] for air in _air(scene, basin) if air.box[3] + 4 > low]:
        left += max(beside)
    else:  # below it, beside its thermometer, and over a narrow pond away from the sun's arrow
        left, right = left + _AIR_THERMOMETER, right - column_aside * 3 * (1 - share)
    return _apart(found, left, max(right, left + room))


def _sunbeam(scene: PondScene, basin: Layout, arrows: list[Arrow], labels: list[Label]) -> list[tuple[Arrow, Label]]:
    """The sun's arrow, down to the water, or as far towards it as it stays clear of the arrows and labels beside it."""
    if scene.sun is None:
        return []
    label = Label("sun", (f"sun {watts(scene.sun)}",), "", 530, 6, palette.SUN, opacity=int(scene.sun > 0))
    beside = [arrow for arrow in arrows if arrow.name in (*SURFACE, "open surface")][-1:]
    near = [shape for arrow in beside for shape in arrow.shapes()]
    near += [one.corners for one in labels if one.key in (*(arrow.name for arrow in beside), *FILTERS)]
    wide, end = shaft(scene, scene.sun), (basin.right - 0.06 * basin.width, _foot_of_arrows(scene, basin))

    def beam(x: float, share: float) -> Arrow:
        return Arrow("sun", x, 52, share * (end[0] - x), share * (end[1] - 52), wide)

    x = 508 - 0.35 * wide

    def room(way: Arrow) -> float:
        return min((gap(part, other) for part in way.shapes() for other in near), default=_CLEAR)

    ways = [beam(x + aside, 1 - 0.06 * less) for less in range(10) for aside in (0, 8, -10, 20)]
    clear = (way for way in ways if room(way) >= _CLEAR)
    return [(next(clear, None) or max(ways, key=room), label)]


def _foot_of_arrows(scene: PondScene, basin: Layout) -> float:
    """Height at which arrows leave the water or its cover [px]."""
    return basin.top - (COVER_THICKNESS + 3 if scene.covered else 1)


def _beside(scene: PondScene, basin: Layout) -> list[tuple[Arrow, Label]]:
    """Arrows out of the walls, to the left, and out of the floor, down."""
    found = []
    for name in ("walls and floor", "walls"):
        if name in scene.losses:
            x, y = basin.left - 9, basin.top + 0.5 * basin.depth
            arrow = _arrow(scene, name, (x, y), (x - 62, y))
            label = _label(scene, name, 66, y + max(arrow.half, 8) + 5)
            found += _apart([(arrow, _inside(label))], 4, basin.left - 12)
    if "floor" in scene.losses:
        x, y = MIDDLE - 0.2 * basin.width, basin.bottom + 9
        arrow = _arrow(scene, "floor", (x, y), (x, y + 50))
        found.append((arrow, _inside(_label(scene, "floor", x + arrow.half + 40, y + 8))))
    return found


def _inside(label: Label) -> Label:
    """A label in the ground, moved up where it would leave the picture."""
    return replace(label, y=min(label.y, HIGHEST - _FOOT + 2 - label.height))


def _equipment(scene: PondScene) -> list[tuple[Arrow, Label]]:
    """The arrow out of the filter, and those of heater and pump up into the pipe that leads back to the pond."""
    found = []
    for name in FILTERS.intersection(scene.losses):
        x = EQUIPMENT["filter"]
        arrow = _arrow(scene, name, (x, FILTER_TOP - 2), (x, FILTER_TOP - 50))
        found += _apart([(arrow, _label(scene, name, x, FILTER_TOP - 54, above=True))], 470, WIDTH - 4)
    below = []
    for name in ("heater", "pump"):
        if name in scene.gains:
            x = EQUIPMENT[name]
            arrow = _arrow(scene, name, (x, BOX_TOP - 2), (x, PIPE + 9))
            below.append((arrow, _label(scene, name, x, BOX_TOP + 28)))
    return found + _apart(below, 400, WIDTH - 4)


def _air(scene: PondScene, basin: Layout) -> list[Label]:
    """The label of the air's thermometer, if there is one."""
    if scene.air_temp is None:
        return []
    made = Label("air", _reading("air", scene.air_temp, basin), "", 0, 6, scale=scene.lettering)
    return [replace(made, x=6 + made.width / 2)]


def _reading(what: str, celsius: float, basin: Layout) -> tuple[str, ...]:
    """A temperature as the lines of a label; °F is on a second one where it is preferred."""
    first, _, second = basin.preferred.temperature(round(celsius, 1), 1).partition(" (")
    return (f"{what} {first}", f"({second}") if second else (f"{what} {first}",)


def _water(scene: PondScene, basin: Layout) -> Label:
    """The water's temperature, in the water where there is room, otherwise at the left under the air's thermometer."""
    words = _reading("water", scene.water_temp, basin)
    if scene.ice > 0:
        words = (words[0], f"ice {units.significant(100 * scene.ice, 2)} cm")
    made = Label("water", words, "", MIDDLE, 0, scale=scene.lettering)
    if made.width < basin.width - _THERMOMETER - 12 and made.height < basin.depth - 14:
        x = min(MIDDLE, basin.right - _THERMOMETER - made.width / 2)
        return replace(made, x=x, y=basin.top + 0.52 * basin.depth - made.height / 2 + 4)
    return replace(made, x=6 + made.width / 2, y=154)  # below the labels of the arrows out of the surface


def round_flow(scene: PondScene) -> float:
    """A round flow for the key of the scale, a fifth to a half of the widest arrow's [W]."""
    power = 10 ** math.floor(math.log10(scene.scale))
    return next(step * power for step in (5, 2, 1, 0.5, 0.2) if step * power <= 0.55 * scene.scale)

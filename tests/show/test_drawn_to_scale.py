"""Pictures of the pages, measured: all is as long or as wide as its number is large, and arrows meet nothing."""

import importlib
import itertools
import math
import re
import xml.etree.ElementTree as tree

import numpy as np
import pytest

from pondheat.show import panels
from pondheat.show.pictures.arrows import gap
from pondheat.show.pictures.figure import Figure
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.pictures.scene import PondScene

SVG = "{http://www.w3.org/2000/svg}"
# Each panel that draws at once, with a move that changes its picture.
PANELS = {
    "start_here.first": {"water_temp": 12},
    "fish_first.panel": {"water_temp": 20},
    "moist_air.panel": {"humidity": 40},
    "open_surface.panel": {"wind": 4},
    "walls_and_ground.panel": {"insulation": 100},
    "covers.panel": {"hours": 6},
    "falling_water.panel": {"air_flow": 5},
    "a_season.panel": {"depth": 2.0},
    "heaters.panel": {"air_temp": -5},
    "tariffs.panel": {"hours": 4},
}


def arrows(svg: str) -> dict[str, float]:
    """Width of each arrow of a pond's picture [px], and of the key to its scale, by the flow that it stands for."""
    root = tree.fromstring(svg)
    found = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("data-k", "").startswith("arrow "):
            path = next(part for part in group if part.get("data-flow"))
            found[group.get("data-k")[6:]] = -2 * float(re.match(r"M0,(-?[\d.]+)", path.get("d"))[1])
    for key in root.iter(f"{SVG}rect"):
        if key.get("data-watts"):
            found["key"] = float(key.get("height"))
            found["key's watts"] = float(key.get("data-watts"))
    return found


def shapes(svg: str) -> dict[str, list[list[tuple[float, float]]]]:
    """The corners of what is drawn of each arrow (shaft and head, and those of its outline) and each label."""
    found = {}
    for group in tree.fromstring(svg).iter(f"{SVG}g"):
        name = group.get("data-k", "")
        if not name.startswith(("arrow ", "label ")) or group.get("opacity") == "0":
            continue
        x, y = map(float, re.match(r"translate\((\S+) (\S+)\)", group.get("transform")).groups())
        if name.startswith("label "):
            box = next(part for part in group if part.get("data-box"))
            left, wide, high = (float(box.get(part)) for part in ("x", "width", "height"))
            found[name] = [
                [(x + a, y + b) for a, b in ((left, 0), (left + wide, 0), (left + wide, high), (left, high))]
            ]
            continue
        turn = math.radians(float(re.search(r"rotate\((\S+)\)$", group.get("transform"))[1]))
        parts = []
        for path in group:
            if path.get("data-flow") or (path.get("data-without") and not path.get("transform")):
                points = [tuple(map(float, at.split(","))) for at in re.findall(r"-?[\d.]+,-?[\d.]+", path.get("d"))]
                turned = [
                    (x + a * math.cos(turn) - b * math.sin(turn), y + a * math.sin(turn) + b * math.cos(turn))
                    for a, b in points
                ]
                start, upper, one, tip, other, lower, end = (turned[at] for at in (0, 3, 4, 5, 6, 7, 10))
                parts += [[start, upper, lower, end], [one, tip, other]]
        found[name] = parts
    return found


def meeting(svg: str) -> list[tuple[str, str]]:
    """Arrows of a pond's picture that meet another, or any label."""
    found = shapes(svg)
    return [
        (one, other)
        for one, other in itertools.combinations(sorted(found), 2)
        if one.startswith("arrow ") and any(gap(a, b) < 0 for a in found[one] for b in found[other])
    ]


def bars(svg: str) -> list[float]:
    """Heights of the bars, left to right [px]."""
    found = re.findall(r'<rect x="([\d.]+)" y="[\d.]+" height="([\d.]+)"[^>]*fill="rgb', svg)
    return [float(high) for _, high in sorted((float(x), high) for x, high in found)]


def lines(svg: str) -> list[np.ndarray]:
    """Heights of the points of each line [px], from the top."""
    paths = re.findall(r'<path d="(M[^"A-KN-Z]*)"', svg)
    found = [np.array(re.findall(r"[ML]\s*[-\d.]+[ ,]([-\d.]+)", path), float) for path in paths]
    return [heights[1:] for heights in found if len(heights) > 4]  # the first point is written twice


def misdrawn(figure: Figure) -> list[str]:
    """What is not drawn in the proportion of its number."""
    numbers, wrong = figure.numbers, []
    if 'class="ph-pond"' in figure.svg:
        drawn = arrows(figure.svg)
        if numbers:
            px = drawn["key"] / drawn["key's watts"]
            wrong += [name for name, flow in numbers.items() if abs(drawn[name] - px * abs(flow)) > 0.05]
    elif all(isinstance(value, tuple) for value in numbers.values()):
        drawn_lines = lines(figure.svg)
        values = [np.asarray(line[1], float) for line in numbers.values()]
        if [len(line) for line in drawn_lines] != [len(line) for line in values]:
            return [f"{len(drawn_lines)} lines of {[len(line) for line in drawn_lines]}"]
        slope, start = np.polyfit(np.concatenate(values), np.concatenate(drawn_lines), 1)
        for name, wanted, heights in zip(numbers, values, drawn_lines):
            if np.abs(start + slope * wanted - heights).max() > 0.6 or slope >= 0:
                wrong.append(name)
    else:
        heights = bars(figure.svg)
        if len(heights) != len(numbers):
            return [f"{len(heights)} bars"]
        px = max(heights) / max(numbers.values())
        said = re.sub(r"\s+", " ", " ".join(tree.fromstring(figure.svg.replace("<br>", " ")).itertext()))
        wrong += [
            f"no label for {name}" for name in numbers if said.count(name) < 2
        ]  # below it, and in the description
        wrong += [name for (name, value), high in zip(numbers.items(), heights) if abs(high - px * value) > 0.6]
    return wrong


def pictures_of(panel: panels.Panel) -> list[Figure]:
    """The pictures that a panel shows, from top to bottom."""
    figure = panel.redraw(**{name: control.value for name, control in panel.controls.items()})[0]
    found = []
    while figure is not None:
        found.append(figure)
        figure = figure.below
    return found


@pytest.mark.parametrize("name", PANELS)
def test_pictures_are_drawn_to_scale(name):
    module, function = name.split(".")
    panel = getattr(importlib.import_module(f"pondheat.show.panels.{module}"), function)()
    seen = [figure.svg for figure in pictures_of(panel)]
    for moved in ({}, PANELS[name]):
        for control, value in moved.items():
            panel.controls[control].value = value
        assert panel.error.value == ""
        for figure in pictures_of(panel):
            assert misdrawn(figure) == [], figure.title
            assert 'class="ph-pond"' not in figure.svg or meeting(figure.svg) == [], figure.title
            assert figure.description and figure.title
    assert [figure.svg for figure in pictures_of(panel)] != seen


@pytest.mark.parametrize("sun", [0.1, 0.4, 0.8])
@pytest.mark.parametrize("length, depth", [(1, 1), (1, 1.5), (2, 0.8), (2.5, 1.2), (3.5, 1.5), (4, 1.2), (9, 1.4)])
def test_no_arrow_meets_another_or_a_label(length, depth, sun):
    """In ponds of many shapes, open and covered, by much sun and little."""
    losses = {"evaporation": 1460, "convection": 930, "long wave": 1220, "walls and floor": 300, "filter": 130}
    given = {"sun": 1460 * sun, "heater": 2000, "pump": 97, "full": 1460}
    for raised, covered, air in itertools.product((0, 0.7), (0, 0.6), (None, 6.7)):
        scene = PondScene(
            length,
            depth,
            {name: flow * (1 - 0.8 * covered) for name, flow in losses.items()},
            18,
            air,
            raised=raised * depth,
            outlines=losses if covered else {},
            has_cover=True,
            covered=covered,
            **given,
        )
        assert meeting(pond_picture(scene)) == []


def test_an_arrow_that_meets_another_is_found():
    svg = pond_picture(PondScene(4, 1.2, {"evaporation": 1460, "convection": 930}, 18, heater=500))
    there = re.search(r'data-k="arrow evaporation" opacity="1" transform="translate\((\S+) ', svg)[1]
    moved = svg.replace(f"translate({there} ", f"translate({float(there) + 60:.1f} ", 1)
    assert meeting(svg) == [] and ("arrow convection", "arrow evaporation") in meeting(moved)


def test_what_is_misdrawn_is_found():
    """Each kind of picture, with one of its parts drawn a tenth too large."""
    from pondheat.show import figures
    from pondheat.show.pictures.figure import pond_figure

    bar = figures.bars({"a": 2.0, "b": 3.0}, "b", "t", {"a": "2", "b": "3"})
    line = figures.lines({"a": (range(6), [1.0, 2, 4, 3, 5, 2])}, "l", "t", (0, 5), {0: "0"}, (0, 6))
    pond = pond_figure(PondScene(4, 1.2, {"evaporation": 700.0, "convection": 300.0}, 18.0), "p", "t")
    for figure, part in (
        (bar, f'height="{bars(bar.svg)[0]}"'),
        (line, str(lines(line.svg)[0][2])),
        (pond, f"M0,-{arrows(pond.svg)['convection'] / 2:.2f}"),
    ):
        assert misdrawn(figure) == []
        value = re.search(r"[\d.]+$", part.rstrip('"'))[0]
        larger = part.replace(value, f"{1.1 * float(value):.2f}")
        assert misdrawn(Figure(figure.svg.replace(part, larger), figure.numbers, "t", "d")) != [], figure.title

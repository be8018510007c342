"""Charts as SVG, each with the numbers in it and a description in words.

lets-plot draws them. The SVG is then adapted to any page: no fixed size, text in the page's own colour, element ids
that are stable for one panel and differ between panels, and a title and description for screen readers.

Titles and labels may mark quantities with square brackets (see `core.display_units`).
"""

from __future__ import annotations

import html
import json
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from lets_plot import (
    aes,
    element_blank,
    element_line,
    element_text,
    geom_bar,
    geom_hline,
    geom_line,
    geom_point,
    geom_segment,
    geom_text,
    geom_vline,
    ggplot,
    ggsize,
    scale_fill_identity,
    scale_x_continuous,
    scale_y_continuous,
    theme,
    theme_none,
)

from pondheat.core import display_units, units
from pondheat.show.pictures.figure import Figure
from pondheat.show.pictures.palette import COVERED, OPEN

NEUTRAL, MARKED = "#8a8a8a", "#0072b2"
_WIDTH, _HEIGHT = 720, 330
INK, _GRID = "#010203", "#040506"  # placeholders, replaced by the page's own colours
_LABEL = {"size": 7.6, "color": INK, "family": "inherit", "hjust": 0}


def _look(grid: bool):
    blank = element_blank()
    return theme_none() + theme(
        plot_background=blank,
        panel_background=blank,
        panel_grid_major_x=blank,
        panel_grid_minor=blank,
        axis_line=blank,
        axis_ticks=blank,
        legend_position="none",
        panel_grid_major_y=element_line(color=_GRID, size=0.5) if grid else blank,
        axis_text=element_text(color=INK, size=16),
        axis_text_x=element_text(margin=[8, 0, 0, 0], angle=0),  # else long labels are turned
        axis_title=blank,
        panel_border=blank,
    )


def finish(
    plot, panel: str, title: str, description: str, numbers: dict, height: int = _HEIGHT, grid: bool = True
) -> Figure:
    title = display_units.localise(title)
    svg = (plot + _look(grid) + ggsize(_WIDTH, height)).to_svg()
    for count, name in enumerate(dict.fromkeys(re.findall(r'\bid="([^"]+)"', svg))):
        svg = svg.replace(name, f"{panel}-{count}")
    style = re.search(r"<style.*?</style>", svg, re.S)
    assert style is not None  # lets-plot always writes one
    rules = re.findall(
        rf"(#{re.escape(panel)}-\d+ \.axis-(?:text|title)-[xy]) \{{.*?font-size: ([\d.]+)px.*?\}}", style[0], re.S
    )
    kept = " ".join(f"{name} {{ fill: currentColor; font-size: {size}px; }}" for name, size in rules)
    svg = svg.replace(style[0], f"<style>{kept}</style>")
    svg = svg.replace('stroke="rgb(4,5,6)" stroke-opacity="1.0"', 'stroke="currentColor" stroke-opacity="0.25"')
    svg = svg.replace("rgb(1,2,3)", "currentColor").replace(f"fill:{INK};", "fill:currentColor;")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" role="img" '
        f'aria-labelledby="{panel}-title {panel}-desc" style="width:100%;max-width:{_WIDTH}px;height:auto;'
        f'font-family:inherit"><title id="{panel}-title">{html.escape(title)}</title>'
        f'<desc id="{panel}-desc">{html.escape(description)}</desc>'
    )
    return Figure(re.sub(r"<svg[^>]*>", head, svg, count=1), numbers, title, description)


def _apart(middles: list[float], least: float, lowest: float) -> list[float]:
    """Label positions near their `middles`, at least `least` apart and not below `lowest`."""
    placed: list[float] = []
    for middle in middles:
        placed.append(max(middle, (placed[-1] + least) if placed else lowest))
    return placed


def _scale_labels(steps: list[float], fahrenheit: bool) -> list[str]:
    """The labels of a scale, with as many decimals as its steps need; fahrenheit: [°C] steps with °F in brackets."""
    places = next(n for n in range(6) if all(abs(t * 10**n - round(t * 10**n)) < 1e-6 for t in steps))
    labels = [units.digits(t, places) for t in steps]
    if not fahrenheit:
        return labels
    return [f"{label} ({display_units.fahrenheit(t, places)})" for label, t in zip(labels, steps)]


def _ticks(most: float) -> list[float]:
    """Four to seven round steps from zero to `most`."""
    power = 10 ** math.floor(math.log10(most))
    step = next(s * power for s in (0.1, 0.2, 0.25, 0.5, 1.0, 2.0) if most / (s * power) <= 6.5)
    return [i * step for i in range(int(most / step + 1e-9) + 1)]


_ABOVE = 1.05  # a numbered scale goes on above its top number, so that this stands clear of the caption
_LETTERS_ACROSS = 64  # of names below columns, side by side
ROOM = 1.04  # a column this much higher, and its text would not fit below that


def bars(
    values: Mapping[str, float],
    panel: str,
    title: str,
    written: dict[str, str],
    marked: str | None = None,
    most: float | None = None,
    scales: Sequence[float] = (),
) -> Figure:
    """Columns side by side from zero, each with a text above it.

    written: text by column; marked: the highlighted column; most: top of the scale, fixed so that columns can be
    compared between moves; scales: instead of it, tops from low to high, of which the first with room for all columns
    is used. Such a scale has numbers, which show that it has changed.
    """
    tallest = max(max(values.values()), 1e-9)
    if scales:
        most = next((top for top in scales if ROOM * tallest <= top), scales[-1])
    most = 1.15 * tallest if most is None else most
    steps, high = (_ticks(most), _ABOVE * most) if scales else ([], most)
    places = list(range(len(values)))
    data = {
        "x": places,
        "y": list(values.values()),
        "fill": [MARKED if name == marked else NEUTRAL for name in values],
    }
    words = {"x": places, "y": [v + 0.045 * most for v in values.values()], "says": [written[name] for name in values]}
    plot = (
        ggplot()
        + geom_bar(aes("x", "y", fill="fill"), data=data, stat="identity", width=0.62, size=0, tooltips="none")
        + scale_fill_identity()
        + geom_text(aes("x", "y", label="says"), data=words, size=8, color=INK, family="inherit")
        + geom_hline(yintercept=0, color=INK, size=0.7)
        + scale_x_continuous(breaks=places, labels=_column_labels(values), limits=[-0.5, len(values) - 0.5])
        + scale_y_continuous(limits=[0, high], breaks=steps, labels=_scale_labels(steps, False), expand=[0, 0])
    )
    described = ", ".join(f"{name} {written[name]}" for name in values) + "."
    return finish(plot, panel, title, described, dict(values), 300)


def _column_labels(names: Iterable[str]) -> list[str]:
    """Names of columns, on two lines where there is no room on one: the library leaves out a name that has none."""
    names = list(names)
    longest = max(map(len, names), default=0)
    return [name.replace(", ", ",\n") if longest * len(names) > _LETTERS_ACROSS else name for name in names]


def ranges(
    rows: Mapping[str, tuple[float, ...]],
    panel: str,
    title: str,
    across: tuple[float, float],
    ticks: Mapping[int, str] | Mapping[float, str],
    written: dict[str, str],
    marked: tuple[str, ...] = (),
) -> Figure:
    """A line from low to high for each row with a dot at its value, its name above and its numbers at the right.

    rows: name → (value, low, high), not finite where unknown; across: left and right end of the scale, at which lines
    are cut; ticks: position → label; written: the numbers of each row as text; marked: highlighted rows.
    """
    left, right = across
    wide, count = right - left, len(rows)
    plot = ggplot() + geom_vline(xintercept=0, color=INK, size=0.7)
    names: dict[str, list] = {"x": [], "y": [], "says": []}
    numbers: dict[str, list] = {"x": [], "y": [], "says": []}
    for place, (name, (value, low, high)) in enumerate(rows.items()):
        y, hue = float(count - place), MARKED if name in marked else NEUTRAL
        names["x"].append(max(left, 0.0) + 0.012 * wide)  # clear of the line at zero
        names["y"].append(y + 0.34)
        names["says"].append(name)
        numbers["x"].append(right + 0.03 * wide)
        numbers["y"].append(y)
        numbers["says"].append(written[name])
        ends = [min(max(end, left), right) for end in (low, high)]
        plot += geom_segment(
            aes("x", "y", xend="to", yend="y"),
            data={"x": [ends[0]], "to": [ends[1]], "y": [y]},
            color=hue,
            size=3 if name in marked else 2,
            tooltips="none",
        )
        if left <= value <= right:
            plot += geom_point(aes("x", "y"), data={"x": [value], "y": [y]}, color=hue, size=6, tooltips="none")
    for data in (names, numbers):
        plot += geom_text(aes("x", "y", label="says"), data=data, **_LABEL)
    plot += scale_x_continuous(
        breaks=list(ticks), labels=list(ticks.values()), limits=[left, right + 0.42 * wide], expand=[0.01, 0]
    )
    plot += scale_y_continuous(limits=[0.6, count + 0.6], breaks=[], expand=[0, 0])
    described = "; ".join(f"{name}: {written[name]}" for name in rows) + "."
    return finish(plot, panel, title, described, dict(rows), 60 * count + 40, grid=False)


LINES = (OPEN, COVERED, "#009e73", "#cc79a7")  # of the same palette; dashes are the second distinction
Points = Sequence[float] | np.ndarray
_DASHES = ("solid", "dashed", "longdash", "dotted")


def lines(
    series: Mapping[str, tuple[Points, Points]],
    panel: str,
    title: str,
    across: tuple[float, float],
    ticks: Mapping[int, str] | Mapping[float, str],
    up: tuple[float, float],
    marks: Mapping[float, str] | None = None,
    celsius: bool = False,
    where: Callable[[float], str] = lambda at: units.significant(at, 3),
) -> Figure:
    """Lines over a shared axis, each named at its right end and distinguished by dashes as well as colour.

    series: name → (positions, values); across: left and right end of the axis; ticks: position → label; up: lowest and
    highest value of the scale; marks: value → label of a horizontal line (a set point, freezing); celsius: values are
    temperatures [°C] and the title names the scale with “, °C”, so °F is added to both where it is preferred; where: a
    position in words, for a reader who points at the picture or reads it with the arrow keys.
    """
    low, high = up
    span, wide = high - low, across[1] - across[0]
    steps = [low + t for t in _ticks(span)]
    preferred = display_units.load()
    fahrenheit = celsius and preferred.fahrenheit
    labels = _scale_labels(steps, fahrenheit)
    if fahrenheit:
        title = title.replace(", °C", ", °C (°F)")
    left, room = across[0], 0.3 if fahrenheit else 0.24  # for names at the right; longer scale labels narrow the plot
    drawn = {name: (np.asarray(at, float), np.asarray(values, float)) for name, (at, values) in series.items()}
    mark_labels = {value: preferred.with_alt_units(words) for value, words in (marks or {}).items()}
    if any(display_units.METRIC.with_alt_units(words) not in mark_labels.values() for words in (marks or {}).values()):
        left -= 0.22 * wide  # room for longer labels, clear of the lines
    plot = ggplot()
    if low < 0 < high:
        plot += geom_hline(yintercept=0, color=INK, size=0.5)
    for value, words in mark_labels.items():
        plot += geom_hline(yintercept=value, color=INK, size=0.5, linetype="dotted")
        plot += _text(left + 0.01 * wide, value + 0.045 * span, words)
    plot = _with_named_lines(plot, drawn, wide, up)
    right = across[1] + room * wide
    plot += scale_x_continuous(
        breaks=list(ticks), labels=list(ticks.values()), limits=[left, right], expand=[_BESIDE, 0]
    )
    plot += scale_y_continuous(limits=[low, high], breaks=steps, labels=labels, expand=[0, 0])

    def written(*values: float) -> str:
        numbers = " to ".join(units.significant(value, 3) for value in values)
        return preferred.quantity(numbers, "degC") if fahrenheit else numbers

    described = "; ".join(
        f"{name} runs from {written(v[0], v[-1])}, lowest {written(v.min())}, highest {written(v.max())}"
        for name, (_, v) in drawn.items()
    )
    made = finish(plot, panel, title, f"{described}.", dict(series))
    readings = _readings(drawn, (left, right), up, where, written)
    return replace(made, svg=_readable(made.svg, readings))


def _text(x: float, y: float, says: str):
    """A text that begins at this place."""
    return geom_text(aes("x", "y", label="says"), data={"x": [x], "y": [y], "says": [says]}, **_LABEL)


def _with_named_lines(plot, drawn: Mapping[str, tuple[np.ndarray, np.ndarray]], wide: float, up: tuple[float, float]):
    """The plot with its lines, each named at its right end; wide: length of the axis without the room for names."""
    low, span = up[0], up[1] - up[0]
    ends = sorted(drawn, key=lambda name: float(drawn[name][1][-1]))
    places = dict(zip(ends, _apart([float(drawn[name][1][-1]) for name in ends], 0.085 * span, low + 0.04 * span)))
    for number, (name, (at, values)) in enumerate(drawn.items()):
        hue, dashes = LINES[number % 4], _DASHES[number % 4]
        line = {"x": at, "y": values}  # arrays: lets-plot checks lists item by item
        plot += geom_line(aes("x", "y"), data=line, color=hue, size=1.1, linetype=dashes, tooltips="none")
        end = float(at[-1])
        plot += geom_segment(  # from a line's end to its name, which may have had to give way to another
            aes("x", "y", xend="to_x", yend="to_y"),
            data={"x": [end], "y": [float(values[-1])], "to_x": [end + 0.026 * wide], "to_y": [places[name]]},
            color=hue,
            size=0.7,
            tooltips="none",
        )
        plot += _text(end + 0.034 * wide, places[name], name)
    return plot


_MOST_READINGS = 121  # along a picture: a step of some five pixels
_BESIDE = 0.01  # of the axis's length, left free at each end


def _readings(drawn: Mapping, axis: tuple[float, float], up: tuple[float, float], where: Callable, written: Callable):
    """Places along the axis, each with what the lines are there: shares of the picture's width and height, and words.

    Lines are read at their nearest point, and only where they have one.
    """
    places = np.unique(np.concatenate([at for at, _ in drawn.values()]))
    if len(places) > _MOST_READINGS:
        places = places[np.linspace(0, len(places) - 1, _MOST_READINGS).round().astype(int)]
    (left, right), (low, high) = axis, up
    slack = np.diff(places).max() / 2 if len(places) > 1 else 0.0
    found = []
    for place in places:
        nearest = {name: int(np.abs(at - place).argmin()) for name, (at, _) in drawn.items()}
        there = {
            name: float(drawn[name][1][n]) for name, n in nearest.items() if abs(drawn[name][0][n] - place) <= slack
        }
        x = (place - left + _BESIDE * (right - left)) / ((1 + 2 * _BESIDE) * (right - left))
        heights = [round((high - value) / (high - low), 4) for value in there.values()]
        told = ", ".join(f"{name} {written(value)}" for name, value in there.items())
        found.append((round(x, 4), heights, f"{where(float(place))}: {told}"))
    return found


def _readable(svg: str, readings: list) -> str:
    """The SVG with its readings and with the frame they are shares of, for `live_picture.js`."""
    moved = re.search(r'<g transform="translate\(([\d.]+) ([\d.]+) ?\)', svg)
    frame = re.search(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg)
    assert moved is not None and frame is not None  # lets-plot always writes both
    x, y, wide, high = map(float, frame.groups())
    box = [round(number, 2) for number in (x + float(moved[1]), y + float(moved[2]), wide, high)]
    kept = html.escape(json.dumps({"frame": box, "readings": readings}, ensure_ascii=False, separators=(",", ":")))
    return svg.replace("<svg ", f'<svg data-readings="{kept}" ', 1)

"""A line through nights that the reader moves by its two ends, and the best line beside it."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import traitlets

from pondheat.meter.savings.degree_line import StraightLine, fitted_line, line_between
from pondheat.show.elements import Element, with_elements
from pondheat.show.pictures import nights as picture
from pondheat.show.pictures.nights import DrawnLine, NightPoint, nights_svg
from pondheat.show.pictures.palette import COVERED, OPEN

HERE = Path(__file__).parent
HANDLES = (2.0, 26.0)  # K at which the line's handles are
START = (80.0, 80.0)  # kWh of a new line at its handles: level, so that there is something to do
STEPS = {"ArrowUp": 1.0, "ArrowRight": 1.0, "ArrowDown": -1.0, "ArrowLeft": -1.0, "PageUp": 10.0, "PageDown": -10.0}
ENDS = {"Home": 0.0, "End": picture.MOST_USED}
OWN, BEST, WITH_COVERED = range(3)  # what the picture shows, one after the other
ACTIONS = ("Show the best line", "Now the covered nights", "Start again")
HOW = (
    "Drag the two round handles until the line fits the open nights. By keyboard: Tab to a handle, then arrow keys.",
    "The solid line is the best one. You can still move yours.",
    "The dotted line is what the cover saved, read in the covered nights' own weather.",
)
TITLE = "What the heater took each night, against how much warmer the water was than the air"
MOST_PAST = 100


class LineFit(Element):
    """Open and covered nights with a line through the open ones; `ends` are its uses at the two handles [kWh].

    The browser sets `ends` while a handle is dragged and sends a message for all else: `grip` before a drag, a `key`
    on the handle `at`, `undo`, and `next` for the next of the three stages. key: prefix of ids; opened, covered: frames
    with night (its name), warmer [K], wind [m/s] and used [kWh], one row a night.
    """

    _esm = with_elements(HERE / "line_fit.js")
    _css = HERE / "line_fit.css"
    svg = traitlets.Unicode().tag(sync=True)
    plot: traitlets.List = traitlets.List(
        default_value=[picture.LEFT, picture.TOP, picture.PLOT_WIDTH, picture.PLOT_HEIGHT]
    ).tag(sync=True)
    scale: traitlets.List = traitlets.List(default_value=[picture.MOST_WARMER, picture.MOST_USED]).tag(sync=True)
    handles: traitlets.List = traitlets.List(default_value=list(HANDLES)).tag(sync=True)
    points: traitlets.List = traitlets.List().tag(sync=True)  # of the open nights: difference and use
    ends: traitlets.List = traitlets.List(traitlets.Float(), default_value=list(START)).tag(sync=True)
    stage = traitlets.Int(OWN).tag(sync=True)
    action = traitlets.Unicode(ACTIONS[OWN]).tag(sync=True)
    how = traitlets.Unicode(HOW[OWN]).tag(sync=True)
    may_undo = traitlets.Bool(False).tag(sync=True)
    says = traitlets.Unicode().tag(sync=True)  # the sentence under the picture, as HTML
    table = traitlets.Unicode().tag(sync=True)

    def __init__(self, key: str, opened: pd.DataFrame, covered: pd.DataFrame):
        self.key, self.opened, self.covered = key, opened, covered
        self._past: list[tuple[float, ...]] = []
        super().__init__(points=opened[["warmer", "used"]].to_numpy().tolist())
        self.draw(covered)
        self.observe(self._tabulate, "ends")
        self.observe(self._staged, "stage")
        self.on_msg(self._answer)

    @traitlets.validate("ends")
    def _possible(self, proposal) -> list[float]:
        wanted = list(proposal["value"])
        if len(wanted) != len(HANDLES) or not all(math.isfinite(value) for value in wanted):
            return list(self.ends)
        return [min(max(round(2 * value) / 2, 0.0), picture.MOST_USED) for value in wanted]

    @property
    def own(self) -> StraightLine:
        """The reader's line."""
        return line_between(*zip(HANDLES, self.ends))

    @property
    def best(self) -> StraightLine:
        """The open nights' line of least squares."""
        return fitted_line(self.opened["warmer"], self.opened["used"])

    @property
    def best_covered(self) -> StraightLine:
        """The covered nights' line of least squares."""
        return fitted_line(self.covered["warmer"], self.covered["used"])

    def misses(self, line: StraightLine) -> np.ndarray:
        """What each open night took above the line [kWh]."""
        return self.opened["used"].to_numpy() - line.at(self.opened["warmer"].to_numpy())

    def draw(self, covered: pd.DataFrame) -> None:
        """Show the present stage, with these covered nights."""
        self.covered = covered
        lines = []
        if self.stage >= BEST:
            lines.append(_drawn(self.best, (0.0, picture.MOST_WARMER), f'stroke="{OPEN}" stroke-width="3"'))
        if self.stage == WITH_COVERED:
            at = float(covered["warmer"].mean())
            lines += [
                _drawn(self.best_covered, (0.0, picture.MOST_WARMER), f'stroke="{COVERED}" stroke-width="3"'),
                DrawnLine(
                    (at, float(covered["used"].mean())),
                    (at, float(self.best.at(at))),
                    'stroke="currentColor" stroke-width="4" stroke-dasharray="2 4"',
                ),
            ]
        shown = _points(covered) if self.stage == WITH_COVERED else []
        self.svg = nights_svg(_points(self.opened), shown, lines, self.key, TITLE)
        self._tabulate()

    def _staged(self, _change) -> None:
        self.action, self.how = ACTIONS[self.stage], HOW[self.stage]
        self.draw(self.covered)

    def _answer(self, _, message: dict, buffers) -> None:
        if "grip" in message:
            self._remember()
        elif "undo" in message:
            while self._past and self._past[-1] == tuple(self.ends):
                self._past.pop()
            if self._past:
                self.ends = list(self._past.pop())
        elif "next" in message:
            if self.stage == WITH_COVERED:
                self._remember()
                self.ends = list(START)
            self.stage = (self.stage + 1) % len(ACTIONS)
        elif message.get("at") in (0, 1):
            at, key = message["at"], message.get("key")
            if key in STEPS or key in ENDS:
                self._remember()
                wanted = list(self.ends)
                wanted[at] = ENDS[key] if key in ENDS else wanted[at] + STEPS[key]
                self.ends = wanted
        self.may_undo = any(past != tuple(self.ends) for past in self._past)

    def _remember(self) -> None:
        self._past = [*self._past[1 - MOST_PAST :], tuple(self.ends)]

    def _tabulate(self, _change=None) -> None:
        """The nights and what the lines say of them, as an HTML table."""
        line, name = (self.own, "your line") if self.stage == OWN else (self.best, "best line")
        rows = _rows(self.opened, "open", line)
        if self.stage == WITH_COVERED:
            rows += _rows(self.covered, "covered", line)
        heads = ("night", "pond", "water warmer by, K", "wind, m/s", "used, kWh", f"{name} says, kWh", "miss, kWh")
        head = "".join(f"<th scope='col'>{each}</th>" for each in heads)
        self.table = (
            "<table class='ph-steps'><caption>The nights and the line through the open ones</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        )


def _drawn(line: StraightLine, between: tuple[float, float], look: str) -> DrawnLine:
    start, end = ((warmer, float(line.at(warmer))) for warmer in between)
    return DrawnLine(start, end, look)


def _points(nights: pd.DataFrame) -> list[NightPoint]:
    columns = (nights[name].tolist() for name in ("night", "warmer", "used"))
    return [NightPoint(*night) for night in zip(*columns)]


def _rows(nights: pd.DataFrame, kind: str, line: StraightLine) -> str:
    rows = ""
    columns = (nights.sort_values("warmer")[name].tolist() for name in ("night", "warmer", "wind", "used"))
    for night, warmer, wind, used in zip(*columns):
        says = line.at(warmer)
        miss = f"{used - says:+.1f}".replace("-", "−")
        cells = (kind, f"{warmer:.1f}", f"{wind:.1f}", f"{used:.1f}", f"{says:.1f}", miss)
        rows += f"<tr><th scope='row'>{night}</th>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    return rows

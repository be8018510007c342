"""A carpet of a season with the cover as a frame over it, whose edges the reader moves."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path

import numpy as np
import traitlets

from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.sheet.parts import CoverPlan
from pondheat.show.controls import status
from pondheat.show.elements import Element, with_elements
from pondheat.show.pictures import carpet as carpets
from pondheat.show.pictures.carpet import NOON, Carpet, Frame, carpet_svg, clock, day_name

HERE = Path(__file__).parent
MOST_HOURS = 24
EVENING_TO_MORNING = (18, 32)  # 18:00 to 08:00
HOW = "Drag an edge of the frame, or press Tab until it has a ring and use the arrow keys."
NOT_THE_HEATER = "The heater's saving differs, as at times the sun and the pump keep the pond warm without it."
TITLE = "Heat lost in each hour of the season; within the frame the cover is on"


class CoverFrame(Element):
    """A season's carpet; `frame` holds first and last day (from 0), and the hours on and off after a noon (12–36).

    key: prefix of element ids; title: what the carpet shows; money: how an amount is written.
    """

    _esm = with_elements(HERE / "cover_frame.js")
    _css = HERE / "cover_frame.css"
    svg = traitlets.Unicode().tag(sync=True)
    plot: traitlets.List = traitlets.List(
        default_value=[carpets.LEFT, carpets.TOP, carpets.PLOT_WIDTH, carpets.PLOT_HEIGHT]
    ).tag(sync=True)
    days: traitlets.List = traitlets.List(traitlets.Unicode()).tag(sync=True)
    frame: traitlets.List = traitlets.List(traitlets.Int()).tag(sync=True)
    watts = traitlets.Bytes().tag(sync=True)  # of the open and of the covered pond, as 32-bit floats, row by row
    says = traitlets.Unicode().tag(sync=True)
    table = traitlets.Unicode().tag(sync=True)

    def __init__(self, key: str, carpet: Carpet, frame: Frame, title: str, money: Callable[[float], str]):
        self.key, self.title, self.money = key, title, money
        self.carpet = carpet
        self._drawn_from: tuple[float, ...] = ()
        self._hours: float | None = None
        super().__init__(frame=[frame.first, frame.last, frame.on, frame.off])
        self.draw(carpet)
        self.observe(self._tell, "frame")

    @traitlets.validate("frame")
    def _possible(self, proposal) -> list[int]:
        last_day = len(self.carpet.days) - 1
        first, last, on, off = (int(value) for value in proposal["value"])
        first = min(max(first, 0), last_day)
        on = min(max(on, NOON), NOON + MOST_HOURS)
        return [first, min(max(last, first), last_day), on, min(max(off, on), NOON + MOST_HOURS)]

    @property
    def chosen(self) -> Frame:
        """The frame as it is set."""
        return Frame(*self.frame)

    def draw(self, carpet: Carpet) -> None:
        """Show another carpet of the same days under the same frame."""
        if not self.days or carpet.days != self.carpet.days:
            self.days = [day_name(day) for day in carpet.days]
        self.carpet = carpet
        self.watts = np.stack([carpet.open, carpet.covered]).astype("<f4").tobytes()
        self.svg = f"<p>{html.escape(self.title)}. {HOW}</p>{carpet_svg(carpet, self.key, self.title)}"
        self._tell()

    def follow(self, hours: float, middle: float, drawn_from: tuple[float, ...], carpet: Callable[[], Carpet]) -> None:
        """Show the carpet of other controls, and other hours as the frame, where they have changed.

        hours, middle: as for `hours_around`; drawn_from: what the carpet depends on; carpet: makes it.
        """
        if drawn_from != self._drawn_from:
            self.draw(carpet())
        if hours != self._hours:
            first, last, *_ = self.frame
            self.frame = [first, last, *hours_around(hours, middle)]
        self._drawn_from, self._hours = drawn_from, hours

    def _tell(self, _change=None) -> None:
        self.says = status(unbroken(self.sentence()))
        self.table = self._table()

    def sentence(self) -> str:
        """What the cover saves in the frame's hours, and what an hour in it and out of it is worth."""
        frame, found = self.chosen, self.carpet
        mask = frame.mask(len(found.days))
        lost = float(found.open.sum()) / 1000
        if not mask.any():
            return f"The open pond loses {_kwh(lost)}. The cover is never on."
        hours = int(mask.sum())
        saved = found.saved_kwh(frame)
        worth = "" if found.price is None else f", {self.money(found.saved_money(frame))}"
        text = (
            f"The open pond loses {_kwh(lost)}. A cover on {_when(frame)}, {_span(frame, found)}, saves "
            f"{_kwh(saved)}{worth}: {_per_hour(saved, hours)} for each hour it is on."
        )
        if hours < mask.size:
            rest = float(found.saved[~mask].sum()) / 1000
            text += f" The hours outside the frame would save {_per_hour(rest, mask.size - hours)} each."
        return f"{text} {NOT_THE_HEATER}"

    def _table(self) -> str:
        """The frame's hours by month, as an HTML table."""
        found, mask = self.carpet, self.chosen.mask(len(self.carpet.days))
        months = [f"{day:%B %Y}" for day in found.days]
        rows = ""
        for month in dict.fromkeys(months):
            columns = [at for at, name in enumerate(months) if name == month]
            part = mask[:, columns]
            cells = (
                f"{int(part.sum()):,}",
                f"{found.open[:, columns].sum() / 1000:,.0f}",
                f"{found.saved[:, columns][part].sum() / 1000:,.0f}",
            )
            rows += f"<tr><th scope='row'>{month}</th>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
        return (
            "<table class='ph-steps'><caption>What the covered hours save, by month</caption><thead><tr>"
            "<th scope='col'>month</th><th scope='col'>hours covered</th><th scope='col'>lost when open, kWh</th>"
            f"<th scope='col'>saved, kWh</th></tr></thead><tbody>{rows}</tbody></table>"
        )


def season_frame(
    key: str, carpet: Carpet, currency: units.Currency, hours: tuple[int, int] = EVENING_TO_MORNING
) -> CoverFrame:
    """The carpet of a season with the cover on at these hours of all its days; hours: on and off, after a noon."""

    def money(value: float) -> str:
        return units.money(value, currency, 0)

    return CoverFrame(key, carpet, carpet.whole(*hours), TITLE, money)


def hours_of_plan(plan: CoverPlan) -> tuple[int, int]:
    """On and off of a frame for a plan's times [hours after a noon], rounded; day and night where it names none."""
    if plan.on is None or plan.off is None or plan.on == plan.off:
        return NOON, NOON + MOST_HOURS
    on = (round(plan.on / 60) - NOON) % 24 + NOON
    return on, min(on + round((plan.off - plan.on) % (24 * 60) / 60), NOON + MOST_HOURS)


def hours_around(hours: float, middle: float) -> tuple[int, int]:
    """On and off of a frame that covers so many whole hours around a clock time [hours after a noon]."""
    on = min(max(round(middle - hours / 2), NOON), NOON + MOST_HOURS - round(hours))
    return on, on + round(hours)


def _kwh(value: float) -> str:
    return f"{units.significant(value, 3)} kWh"


def _per_hour(kwh: float, hours: int) -> str:
    return f"{units.significant(kwh / hours, 2)} kWh"


def _when(frame: Frame) -> str:
    if frame.off - frame.on == MOST_HOURS:
        return "day and night"
    return f"from {clock(frame.on)} to {clock(frame.off)}"


def _span(frame: Frame, found: Carpet) -> str:
    return f"{day_name(found.days[frame.first])} to {day_name(found.days[frame.last])}"

"""Panels: a few controls, a chart, a sentence with the numbers, the arithmetic and the matching caution.

There is one module for each notebook, named like it, with a function `panel()`. A panel's text form is its whole
sentence, which pages without widgets show and nbval compares.
"""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any, TypeVar

import ipywidgets

from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.fish import cautions
from pondheat.show import figures, ponds
from pondheat.show.arithmetic import Chain, Fold
from pondheat.show.controls import as_text, live, status, tried
from pondheat.show.live_picture import LivePicture
from pondheat.show.live_range import LiveRange, Rest, Work, avoid_pauses
from pondheat.show.tables import page_text

T = TypeVar("T")
STYLE = (Path(__file__).parent / "panel.css").read_text(encoding="utf-8")


class Panel(ipywidgets.VBox):
    """Controls and chart, side by side where there is room and stacked where there is not.

    name: prefix of element ids; controls: by the argument names of `redraw`; caution: a key of `cautions.CAUTIONS`, or
    None for the general one alone.
    """

    LIVE = False  # whether a line under the sentence says how likely its numbers are; then `uncertain` is needed
    children: tuple[ipywidgets.Widget, ...]

    def __init__(self, name: str, controls: dict, caution: str | None = None):
        self.name = name
        self.controls = controls
        self.picture, self.chart = LivePicture(), LivePicture()  # beside the controls, and under the sentence
        self.words, self.error = ipywidgets.HTML(), ipywidgets.HTML()
        self.likely, self._rest = LiveRange(), Rest()
        for said in (self.error, self.words, self.likely):
            said.add_class("ph-said")
        avoid_pauses()
        self._sentence = ""
        self.fold = Fold(self._arithmetic)
        shown = [html.escape(cautions.STANDING)]
        if caution is not None:
            chosen = cautions.CAUTIONS[caution]
            shown.append(f"<b>{html.escape(chosen.title)}.</b> {page_text(chosen.text)}")
        foot = "".join(f"<p>{text}</p>" for text in shown)
        left = ipywidgets.VBox(list(controls.values())).add_class("ph-left")
        right = ipywidgets.VBox([self.picture]).add_class("ph-right")
        super().__init__(
            [
                ipywidgets.HTML(f"<style>{STYLE}</style>"),
                ipywidgets.Box([left, right]).add_class("ph-pair"),
                self.error,
                self.words,
                *([self.likely] if self.LIVE else []),
                self.chart.add_class("ph-chart"),
                self.fold,
                ipywidgets.HTML(f'<div class="ph-caution">{foot}</div>'),
            ]
        )
        self.add_class("ph-panel")
        self._drawn = False
        live(controls, self._move, self.error)

    def show_below(self, widget: ipywidgets.DOMWidget) -> None:
        """Put another widget under the sentence."""
        at = self.children.index(self.fold)
        self.children = (*self.children[:at], widget, *self.children[at:])

    def _move(self, values: dict) -> None:
        self._rest.drop()
        figure, self._sentence = self.redraw(**values)
        self.picture.value = figure.html() if figure is not None else ""
        self.words.value = status(unbroken(self._sentence))
        self.follow(**values)
        self.fold.renew()
        if self.LIVE:
            self.likely.follow(self.uncertain(**values))
        if self._drawn:  # the next move is answered before a second chart is drawn
            self._rest.ask(lambda: tried(lambda: self._draw_below(figure), self.error))
        else:
            self._draw_below(figure)
            self._drawn = True

    def _draw_below(self, figure: figures.Figure | None) -> None:
        self.chart.value = figure.below.html() if figure is not None and figure.below is not None else ""

    def follow(self, *args: Any, **values: Any) -> None:
        """What else a panel shows for these values of the controls, after its pictures and its sentence."""

    def uncertain(self, *args: Any, **values: Any) -> Work:
        """The work that gives the likely range for these values of the controls, see `live_range`."""
        raise NotImplementedError

    def _arithmetic(self) -> str:
        chain = self.arithmetic()
        return chain.html() if chain is not None else "<p>Choose first.</p>"

    def redraw(self, *args: Any, **values: Any) -> tuple[figures.Figure | None, str]:
        """The chart and the sentence for these values of the controls."""
        raise NotImplementedError

    def arithmetic(self) -> Chain | None:
        """The steps behind the sentence's headline number at the present values; None if there is no number yet."""
        raise NotImplementedError

    def sentence(self) -> str:
        """The sentence at the present values."""
        return self._sentence

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), self.sentence())


def known(value: T | None) -> T:
    """A value that is optional in general but which the invented pond has, such as its tariff."""
    assert value is not None
    return value


def about(value: float, currency: units.Currency | None = None) -> str:
    """An amount to three figures from 100 on and two below; currency: by default the preferred one."""
    return _with_sign(_about(abs(value)), value < 0, currency)


def about_difference(amount: float, less: float, currency: units.Currency | None = None) -> str:
    """How much more one amount is than another, for a reader who subtracts: that of the two as `about` writes them.

    To two figures, as a difference of two estimates deserves no more: £4,410 less £2,280 is about £2,100.
    """
    more = units.number(_about(amount)) - units.number(_about(less))
    return _with_sign(units.significant(abs(more), 2), more < 0, currency)


def _about(value: float) -> str:
    return units.significant(value, 3 if abs(value) >= 100 else 2)


def _with_sign(text: str, negative: bool, currency: units.Currency | None) -> str:
    return f"{'−' if negative else ''}{(currency or ponds.currency()).sign}{text}"


def in_full(value: float) -> str:
    """An amount to its hundredths, in the preferred currency."""
    return units.money(value, ponds.currency(), 2)

"""Panels: a few controls, a picture, one sentence with the numbers, the arithmetic, and the caution that fits.

One module a notebook, each with a function `panel()`. A panel's text form is its sentence, in full: readers without
widgets see it, and nbval compares it.
"""

from __future__ import annotations

import html
from pathlib import Path

import ipywidgets

from pondheat.core import units
from pondheat.fish import cautions
from pondheat.show import figures, ponds
from pondheat.show.arithmetic import Chain, Fold
from pondheat.show.controls import Words, as_text, live, status

_STYLE = (Path(__file__).parent / "panel.css").read_text(encoding="utf-8")


class Panel(ipywidgets.VBox):
    """Controls and picture side by side where there is room, one under the other where there is not."""

    def __init__(self, name: str, controls: dict, caution: str | None = None):
        self.name = name
        self.controls = controls
        self.picture, self.words, self.fault = (Words() for _ in range(3))
        self._sentence = ""
        self.fold = Fold(self._arithmetic)
        stand = [html.escape(cautions.STANDING)]
        if caution is not None:
            chosen = cautions.CAUTIONS[caution]
            stand.append(f"<b>{html.escape(chosen.title)}.</b> {html.escape(chosen.text)}")
        foot = "".join(f"<p>{text}</p>" for text in stand)
        left = ipywidgets.VBox(list(controls.values())).add_class("ph-left")
        right = ipywidgets.VBox([self.picture]).add_class("ph-right")
        super().__init__(
            [
                ipywidgets.HTML(f"<style>{_STYLE}</style>"),
                ipywidgets.Box([left, right]).add_class("ph-pair"),
                self.fault,
                self.words,
                self.fold,
                Words(f'<div class="ph-caution">{foot}</div>'),
            ]
        )
        self.add_class("ph-panel")
        live(controls, self._move, self.fault)

    def _move(self, values: dict) -> None:
        figure, self._sentence = self.redraw(**values)
        self.picture.value = figure.html() if figure is not None else ""
        self.words.value = status(self._sentence)
        self.fold.renew()

    def _arithmetic(self) -> str:
        chain = self.arithmetic()
        return chain.html() if chain is not None else "<p>Choose first.</p>"

    def redraw(self, **values) -> tuple[figures.Figure | None, str]:
        """The picture and the sentence for these values of the controls."""
        raise NotImplementedError

    def arithmetic(self) -> Chain | None:
        """The steps behind the sentence's headline number, for the present values."""
        raise NotImplementedError

    def sentence(self) -> str:
        """What the panel says at present."""
        return self._sentence

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), self.sentence())


def about(value: float, currency: units.Currency | None = None) -> str:
    """Money as it deserves: three figures from a hundred on, two below; without a currency in the usual one."""
    text = units.significant(abs(value), 3 if abs(value) >= 100 else 2)
    return f"{'−' if value < 0 else ''}{(currency or ponds.currency()).sign}{text}"


def in_full(value: float) -> str:
    """Money to its hundredths, in the usual currency."""
    return units.money(value, ponds.currency(), 2)

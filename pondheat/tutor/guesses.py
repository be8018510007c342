"""What each page asks before its picture opens: question, choices, which one the picture bears out, words to the others."""

from __future__ import annotations

import importlib
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.display_units import METRIC
from pondheat.show import ponds


@dataclass(frozen=True)
class Guess:
    """A guess: `options` and `words` by choice; `right` is the choice that the picture bears out."""

    question: str
    options: dict[str, str]
    right: str
    words: dict[str, str]


def guess_of(page: str, money: units.Currency = units.GBP) -> Guess | None:
    """The guess of a page by its notebook's name, its invented prices in `money`; None where it asks none."""

    def put(text: str) -> str:
        return METRIC.with_alt_units(text).replace(ponds.currency().sign, money.sign)

    found = _as_on_the_page(page)
    return found and Guess(
        put(found.question),
        {name: put(text) for name, text in found.options.items()},
        found.right,
        {name: put(text) for name, text in found.words.items()},
    )


def _as_on_the_page(page: str) -> Guess | None:
    if page == "00_start_here":
        from pondheat.show.panels.start_here import four_ponds

        made = four_ponds()
        options = {name: text for name, text in made.controls["guess"].options if name}
        return Guess(made.controls["guess"].label, options, made.dearest, made.SLIPS)
    try:
        topic = importlib.import_module(f"pondheat.show.panels.{page[3:]}")
        return Guess(topic.QUESTION, topic.OPTIONS, topic.RIGHT, topic.WORDS)
    except (ModuleNotFoundError, AttributeError):
        return None

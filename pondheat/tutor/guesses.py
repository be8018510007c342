"""The question that each page asks before its picture opens, so that the tutor's papers can print it."""

from __future__ import annotations

import functools
import importlib
from dataclasses import dataclass

from pondheat.core.display_units import METRIC, DisplayUnits, load
from pondheat.show import ponds


@dataclass(frozen=True)
class Guess:
    """A question with choices, of which `right` is the one that the picture confirms.

    options: text of each choice; feedback: what to say to those who took a wrong one; both by the key of the choice.
    """

    question: str
    options: dict[str, str]
    right: str
    feedback: dict[str, str]


def guess_of(page: str, usual: DisplayUnits = METRIC) -> Guess | None:
    """The question before a page's picture; None where the page asks none.

    page: the notebook's name without its ending; usual: the currency of invented prices, and units shown after °C.
    """
    found = _as_on_the_page(page, load())
    if found is None:
        return None

    def written(text: str) -> str:
        return usual.with_alt_units(text).replace(ponds.currency().sign, usual.currency.sign)

    return Guess(
        written(found.question),
        {key: written(text) for key, text in found.options.items()},
        found.right,
        {key: written(text) for key, text in found.feedback.items()},
    )


@functools.cache
def _as_on_the_page(page: str, preferred: DisplayUnits) -> Guess | None:
    """The question as the page words it in the preferred units; made once, as page 00 works out four seasons for it."""
    if page == "00_start_here":
        from pondheat.show.panels.start_here import four_ponds

        panel = four_ponds()
        return Guess(panel.controls["guess"].label, panel.OPTIONS, panel.dearest, panel.SLIPS)
    try:
        topic = importlib.import_module(f"pondheat.show.panels.{page[3:]}")
        return Guess(topic.QUESTION, topic.OPTIONS, topic.RIGHT, topic.WORDS)
    except (ModuleNotFoundError, AttributeError):
        return None

"""What each page asks before its picture opens: question, choices, which one the picture bears out, words to the others."""

from __future__ import annotations

import importlib
from dataclasses import dataclass


@dataclass(frozen=True)
class Guess:
    """A guess: `options` and `words` by choice; `right` is the choice that the picture bears out."""

    question: str
    options: dict[str, str]
    right: str
    words: dict[str, str]


def guess_of(page: str) -> Guess | None:
    """The guess of a page by its notebook's name; None where it asks none."""
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

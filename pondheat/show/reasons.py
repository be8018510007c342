"""Questions for a reason in a notebook: `reasons("07_covers")` shows those of a page and replies to each choice."""

from __future__ import annotations

from pathlib import Path

import ipywidgets

from pondheat.core import display_units
from pondheat.lesson import marking, progress
from pondheat.lesson.reasons import ReasonQuestion, of_page
from pondheat.show.controls import Choice, as_text, status


class ReasonChoice(ipywidgets.VBox):
    """One question with reasons to choose from, and the reply to the reason chosen."""

    RIGHT = "✓ Right."

    def __init__(self, question: ReasonQuestion, folder: Path):
        self.question, self.folder = question, folder
        self.guess = Choice(question.ask, question.choices).add_class("ph-lettered")
        self.reply = ipywidgets.HTML()
        super().__init__([self.guess, self.reply])
        self.guess.observe(self._chosen, "value")

    def _chosen(self, _change) -> None:
        chosen = self.guess.value
        if chosen is None:
            return
        right = chosen == self.question.right
        saved = progress.load(self.folder)
        message = saved.message
        saved.note(self.question.key, marking.RIGHT if right else marking.MISCONCEPTION)
        text = self.RIGHT if right else marking.not_quite(self.question.replies[chosen])
        self.reply.value = status(f"{display_units.localise(text)} {saved.message or message}".strip())


class Reasons(ipywidgets.VBox):
    """The questions for reasons of one page.

    page: the notebook's name; folder: of the reader's progress, by default the current one; again: whether those on
    earlier pages' ideas are wanted, else those on its own.
    """

    def __init__(self, page: str, folder: Path | None = None, again: bool = False):
        self.parts = [ReasonChoice(question, folder or Path.cwd()) for question in of_page(page, again)]
        super().__init__(self.parts)

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), "\n".join(one.guess.label for one in self.parts))


def reasons(page: str, again: bool = False) -> Reasons:
    """The questions for reasons of the page with this name; again: those on earlier pages' ideas."""
    return Reasons(page, again=again)

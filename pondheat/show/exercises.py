"""Exercises in a notebook: `exercise("1.1")` shows a question, marks typed answers and saves the progress.

On a later page than its own an exercise is of another pond, with other numbers; a page says which it is when its
guess opens (`open_page`).
"""

from __future__ import annotations

from pathlib import Path

import traitlets

from pondheat.core import display_units, units
from pondheat.lesson import marking, progress
from pondheat.lesson.marking import Exercise, Mark
from pondheat.lesson.questions import Question
from pondheat.show import ponds
from pondheat.show.controls import Control, as_text, for_screens

_opened: list[str] = []  # the page that this kernel serves, once it has said so


def open_page(page: str) -> None:
    """Say which notebook the exercises that follow are on."""
    _opened[:] = [page]


class AnswerBox(Control):
    """A question with an answer box, hints one after another, and fresh numbers after the worked solution.

    opened: number of hints shown at the start; page: the notebook it is on, by default the question's own; own: a
    question that is not in the bank.
    """

    kind = traitlets.Unicode("answer").tag(sync=True)
    value = traitlets.Unicode("").tag(sync=True)
    hints: traitlets.List = traitlets.List().tag(sync=True, to_json=for_screens)
    more_hints = traitlets.Bool(True).tag(sync=True)
    may_renew = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self,
        key: str,
        currency: units.Currency = units.GBP,
        folder: Path | None = None,
        opened: int = 0,
        page: str = "",
        own: Question | None = None,
    ):
        self.exercise = Exercise(key, currency, display_units.load(), page=page, own=own)
        for _ in range(opened):
            self.exercise.hint()
        self.folder = Path.cwd() if folder is None else folder
        self.mark: Mark | None = None
        super().__init__(
            label=self.exercise.text(), says=marking.SIGNS[marking.UNTRIED], hints=list(self.exercise.hints)
        )

    def _take(self, message: dict) -> str:
        wants = message.get("wants")
        if wants == "hint":
            if len(self.exercise.hints) == 2 and not self.exercise.may_see_solution:
                return "Try it twice yourself first; then the worked solution opens."
            self.exercise.hint()
            said = self.says if self.mark else ""
        elif wants == "fresh":
            self.exercise.renew()
            self.mark = None
            said = "Fresh numbers."
        else:
            typed = str(message.get("typed", ""))
            self.value = typed[:200]  # for display; the whole text is marked
            self.mark = self.exercise.attempt(typed)
            said = self.mark.message
            said = f"{said} {self._save(self.mark)}".strip()
        self.label = self.exercise.text()
        self.hints = list(self.exercise.hints)
        self.more_hints = len(self.exercise.hints) < 3
        self.may_renew = len(self.exercise.hints) == 3 or self.exercise.solved
        return said

    def _save(self, mark: Mark) -> str:
        """Save the outcome; returns a message if the file could not be read or written, otherwise ""."""
        saved = progress.load(self.folder)
        message = saved.message
        saved.note(self.exercise.key, mark.outcome)
        return saved.message or message

    def shown(self) -> str:
        """The present message of the exercise."""
        return self.says

    def _repr_mimebundle_(self, **kwargs):
        said = marking.SIGNS[marking.UNTRIED] if self.mark is None else self.mark.message
        return as_text(super()._repr_mimebundle_(**kwargs), "\n".join([self.exercise.text(), *self.hints, said]))


def exercise(key: str, blanks: int = 3, currency: units.Currency | None = None, on: str = "") -> AnswerBox:
    """The answer box for the question with this key.

    blanks: how much is left to the reader: 1 with both hints open, 2 with the first, 3 with none. currency: by default
    the preferred one; on: the notebook it is on, by default the one that is open.
    """
    page = on or next(iter(_opened), "")
    return AnswerBox(key, currency or ponds.currency(), opened=3 - blanks, page=page)

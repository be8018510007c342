"""An exercise in a notebook: `exercise("1.1")` shows the question, marks what is typed and keeps the progress."""

from __future__ import annotations

from pathlib import Path

import traitlets

from pondheat.core import display_units, units
from pondheat.lesson import marking, progress
from pondheat.lesson.marking import Exercise, Mark
from pondheat.show import ponds
from pondheat.show.controls import Control, as_text


class AnswerBox(Control):
    """A question with a box for the answer, hints one after another, and fresh numbers after the worked solution."""

    kind = traitlets.Unicode("answer").tag(sync=True)
    value = traitlets.Unicode("").tag(sync=True)
    hints = traitlets.List().tag(sync=True)
    more_hints = traitlets.Bool(True).tag(sync=True)
    may_renew = traitlets.Bool(False).tag(sync=True)

    @traitlets.validate("hints")
    def _hints_beside(self, proposal) -> list[str]:
        return [display_units.here(hint) for hint in proposal["value"]]

    def __init__(self, key: str, currency: units.Currency = units.GBP, folder: Path | None = None, opened: int = 0):
        self.exercise = Exercise(key, currency)
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
            self.value = typed[:200]  # as it is shown; marked is the whole
            self.mark = self.exercise.attempt(typed)
            said = self.mark.message
            said = f"{said} {self._keep()}".strip()
        self.label = self.exercise.text()
        self.hints = list(self.exercise.hints)
        self.more_hints = len(self.exercise.hints) < 3
        self.may_renew = len(self.exercise.hints) == 3 or self.exercise.solved
        return said

    def _keep(self) -> str:
        kept = progress.load(self.folder)
        said = kept.said
        kept.note(self.exercise.key, self.mark.outcome)
        return kept.said or said

    def shown(self) -> str:
        """What the exercise says at present."""
        return self.says

    def _repr_mimebundle_(self, **kwargs):
        said = marking.SIGNS[marking.UNTRIED] if self.mark is None else self.mark.message
        return as_text(super()._repr_mimebundle_(**kwargs), "\n".join([self.label, *self.hints, said]))


def exercise(key: str, blanks: int = 3, currency: units.Currency | None = None) -> AnswerBox:
    """The exercise with this key from the bank.

    blanks: what is left to the reader: 1 with nudge and step opened, 2 with the nudge, 3 alone. currency: left out, the
    usual one.
    """
    return AnswerBox(key, currency or ponds.currency(), opened=3 - blanks)

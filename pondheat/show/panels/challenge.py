"""The final challenge of page 16: an unseen pond, five decisions or three, one screen each."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path

import ipywidgets

from pondheat.core import units
from pondheat.core.ranges import OutOfRange
from pondheat.lesson import challenge, marking, short_challenge, unseen_pond
from pondheat.lesson.challenge import Step
from pondheat.lesson.question_bank.question import Question
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.lesson.unseen_pond import UnseenPond
from pondheat.show import challenge_tables, ponds, tables
from pondheat.show.controls import Switch, Text
from pondheat.show.exercises import AnswerBox
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.your_pond_steps import Steps
from pondheat.show.reasons import ReasonChoice

STYLE = (Path(__file__).parent / "your_pond.css").read_text(encoding="utf-8")
WITH_RECORD = ("trap", "share")  # the steps that need the meter's record; the others need the facts


def shipped_or_invented(number: int, money: units.Currency | None = None) -> UnseenPond:
    """The pond with this number, its prices in `money` (default: the preferred currency)."""
    name = "growing_on_tank" if number == unseen_pond.SHIPPED else "garden_pond"
    return unseen_pond.unseen_pond(number, ponds.invented_text(name, money))


class ChallengeAnswer(AnswerBox):
    """An answer with a number; every wrong one is told which page to go back to."""

    def __init__(self, question: Question, step: Step, truth: str, folder: Path | None):
        self.step, self.truth = step, truth
        super().__init__(question.key, ponds.currency(), folder, own=question)

    def _take(self, message: dict) -> str:
        said = super()._take(message)
        self.may_renew = False  # a fresh pond is one number on
        if self.mark is None or "wants" in message:
            return said
        if self.mark.outcome == marking.RIGHT:
            return f"{said} {self.truth}".strip()
        pointed = self.mark.outcome in (marking.UNTRIED, marking.UNREADABLE) or "Page " in said
        return said if pointed else f"{said} {self.step.back}"


class Challenge(BackgroundTask):
    """A line for the pond's number, a switch for the short form, and the steps once the pond is open."""

    NOTHING = "Pond 1 is a small tank. Every other number is another pond; each team takes one."
    DOING = "Filling"
    PATIENCE = 1.0

    def __init__(self, folder: Path | None = None):
        self.folder = folder
        self.number = Text(f"Number of the pond, 1 to {unseen_pond.HIGHEST}", "Open this pond", "1")
        self.steps: Steps | None = None
        self.short = Switch("Only three decisions, after a one-hour evening")
        super().__init__([ipywidgets.HTML(f"<style>{tables.STYLES}{STYLE}</style>"), self.number, self.short])
        self.closed = self.children
        self.number.observe(lambda _: self.begin(), "turn")

    def begin(self) -> None:
        """Open the pond whose number is typed."""
        self.stop("")
        self.steps, self.children = None, self.closed
        typed, short = self.number.value.strip(), self.short.value

        def work(_progress: Callable[[float], None]) -> tuple[str, str]:
            if not typed.isascii() or not typed.isdigit():
                raise OutOfRange(f"Type a whole number from 1 to {unseen_pond.HIGHEST}.")
            turn = self._turn
            pond = shipped_or_invented(int(typed[:9]))
            form = short_challenge if short else challenge
            asked = form.questions_of(pond, ponds.currency())
            if turn == self._turn:
                self._show_steps([(step, self._step(pond, step, asked[step.key])) for step in form.STEPS])
            things = "three" if short else "five"
            return f"Pond {pond.number} is open: decide {things} things. Everything about it is invented.", ""

        self.start("the pond", work)

    def _show_steps(self, boxes: list[tuple[Step, ipywidgets.Box]]) -> None:
        self.steps = Steps([(step.title, box) for step, box in boxes])
        self.children = (*self.closed, self.steps.trail, self.steps)

    def _step(self, pond: UnseenPond, step: Step, question: ReasonQuestion | Question) -> ipywidgets.Box:
        """The screen of one step: what it needs of the pond, and its question."""
        if step.key in WITH_RECORD:
            said = "".join(f"<li>{html.escape(sentence)}</li>" for sentence in challenge_tables.keeper_says(pond))
            told = f"<p>The keeper says:</p><ul>{said}</ul>{tables.table_html(challenge_tables.record(pond))}"
        else:
            told = tables.table_html(challenge_tables.facts(pond))
        shown = ipywidgets.HTML(f"<div class='ph-words'>{told}</div>")
        if isinstance(question, ReasonQuestion):
            asked: ipywidgets.Widget = ReasonChoice(question, self.folder or Path.cwd())
        else:
            asked = ChallengeAnswer(question, step, truth(pond, step), self.folder)
        return ipywidgets.Box([shown, asked]).add_class("ph-told")


def truth(pond: UnseenPond, step: Step) -> str:
    """What the simulated pond says to a right answer with a number."""
    if step.key == "share":
        return f"In the simulated pond the cover really saved {units.digits(100 * pond.record.saved)} % on those days."
    if step.key == "saves":
        covered = pond.assessed.covered
        assert covered is not None  # every pond of the challenge has a cover
        saved = 100 * (1 - covered.heat_kwh / pond.open.heat_kwh)
        return f"Hour by hour, the simulated cover saves {units.digits(saved)} % of the season's heat."
    money = pond.open.money
    return (
        ""
        if money is None
        else f"The season, hour by hour, comes to {units.money(round(money, -1), ponds.currency())}."
    )


def panel() -> Challenge:
    """The final challenge."""
    return Challenge()

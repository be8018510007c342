"""What every page of the workbook is made of, beside its panel: predict first, worked examples, handbook values, and
what was missed or done so far."""

from __future__ import annotations

import functools
import html
import importlib
import json
import textwrap
from pathlib import Path
from urllib.parse import quote

import ipywidgets
import numpy as np

from pondheat.checks import explain, runner
from pondheat.core import display_units, units
from pondheat.core.places import CHECKS
from pondheat.lesson import progress, questions
from pondheat.show import ponds
from pondheat.show.controls import Choice, Words, as_text, status

KINDS = {
    "published": "printed",
    "library": "by another library",
    "derived": "reckoned another way",
    "practice": "the trade says",
    "memory": "from memory",
}
SHOW_ME = "show"
PREDICT = "predict-"  # before a page's name, the key its guess is kept under
SURE = {"guess": "Just a guess", "fairly": "Fairly sure", "sure": "Sure"}


class PredictFirst(ipywidgets.VBox):
    """A page's question before its panel: a guess and how sure it is open it, or “I don't know, show me”.

    page: the notebook's name; its panel's module holds the question, the choices, the one the panel bears out, and
    what to say to the others. The first guess is kept; if it was a sure miss, a later page comes back to it.
    """

    HOW_SURE = "Now say how sure you are. Then the picture opens."
    ON = "So it is. Look at the picture, then move the sliders: does it stay so?"

    def __init__(self, page: str, folder: Path | None = None):
        self.page, self.topic = page, _topic(page)
        self.folder = Path.cwd() if folder is None else folder
        self.panel = self.topic.panel()
        self.guess = Choice(self.topic.QUESTION, {**self.topic.OPTIONS, SHOW_ME: "I don't know, show me"})
        self.sure = Choice("How sure are you?", SURE)
        self.said = Words()
        self.kept = ""
        self.opened = False
        self._show(self.sure, False)
        self._show(self.panel, False)
        super().__init__([self.guess, self.sure, self.said, self.panel])
        self.guess.observe(self._chosen, "value")
        self.sure.observe(self._chosen, "value")

    @staticmethod
    def _show(part, shown: bool) -> None:
        part.layout.display = "" if shown else "none"

    def _chosen(self, _change) -> None:
        chosen = self.guess.value
        if chosen is None:
            return
        guessed = chosen != SHOW_ME
        self._show(self.sure, guessed or self.sure.value is not None)
        if guessed and self.sure.value is None and not self.opened:
            self.said.value = status(self.HOW_SURE)
            return
        right = chosen == self.topic.RIGHT
        if guessed and not self.opened:
            self.kept = _keep(self.folder, self.page, right, self.sure.value == "sure")
        self.opened = True
        self._show(self.panel, True)
        text = getattr(self.topic, "ON", self.ON) if right else self.topic.WORDS.get(chosen, "Look at the picture.")
        self.said.value = status(f"{text} {self.kept}".strip())

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), f"{self.topic.QUESTION}\nNothing chosen yet.")


class ComeBack(ipywidgets.VBox):
    """One question of an earlier page that was missed while sure; a right choice settles it.

    page: the notebook this stands in. Without such a miss it says so. Which of several comes: the one missed most
    often, of these the latest.
    """

    NOTHING = "Nothing to repeat: you were sure of no wrong guess."

    def __init__(self, page: str, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.missed = _missed_before(page, self.folder)
        self.said = Words(status(self.NOTHING))
        if self.missed is None:
            super().__init__([self.said])
            return
        self.topic = _topic(self.missed)
        self.guess = Choice(self.topic.QUESTION, self.topic.OPTIONS)
        self.said.value = ""
        where = Words(f"<p>From page {self.missed[:2]}. You were sure then; what would you say now?</p>")
        super().__init__([where.add_class("ph-words"), self.guess, self.said])
        self.guess.observe(self._chosen, "value")

    def _chosen(self, _change) -> None:
        right = self.guess.value == self.topic.RIGHT
        text = "So it is." if right else f"{self.topic.WORDS[self.guess.value]} Page {self.missed[:2]} shows it."
        self.said.value = status(f"{text} {_keep(self.folder, self.missed, right)}".strip())

    def _repr_mimebundle_(self, **kwargs):
        asked = self.NOTHING if self.missed is None else self.topic.QUESTION
        return as_text(super()._repr_mimebundle_(**kwargs), asked)


def _topic(page: str):
    return importlib.import_module(f"pondheat.show.panels.{page[3:]}")


def _keep(folder: Path, page: str, right: bool, sure: bool = False) -> str:
    kept = progress.load(folder)
    said = kept.said
    kept.note(f"{PREDICT}{page}", "right" if right else "a common slip", sure)
    return kept.said or said


def _missed_before(page: str, folder: Path) -> str | None:
    misses = {
        key.removeprefix(PREDICT): count
        for key, count in progress.load(folder).misses.items()
        if key.startswith(PREDICT)
    }
    earlier = [name for name in misses if name < page and name in {q.notebook for q in questions.BANK.values()}]
    return max(earlier, key=lambda name: (misses[name], name), default=None)


class SoFar(Words):
    """The pages of a folder, each with one sign a question: right, tried, not yet. It is made anew when shown."""

    SIGNS = "● right, ◐ tried, ○ not yet"

    def __init__(self, folder: Path | None = None):
        folder = Path.cwd() if folder is None else folder
        kept = progress.load(folder)
        rows = "".join(self._row(path, kept) for path in sorted(folder.glob("[0-9][0-9]_*.ipynb")))
        said = f"<p>{html.escape(kept.said)}</p>" if kept.said else ""
        super().__init__(
            f'<ol class="ph-pages">{rows}</ol><p>{self.SIGNS}. It is kept in {progress.NAME} beside this page, '
            f"on this machine only.</p>{said}"
        )
        self.add_class("ph-words")

    @staticmethod
    def _row(path: Path, kept: progress.Progress) -> str:
        keys = [key for key, question in questions.BANK.items() if question.notebook == path.stem]
        dots, right = kept.dots(keys), sum(kept.answers.get(key) == "right" for key in keys)
        title = html.escape(_title(path))
        link = f'<a href="{quote(path.name)}">{path.stem[:2]} {title}</a>'
        count = f'<span role="img" aria-label="{right} of {len(keys)} right">{dots}</span>' if keys else ""
        return f"<li>{count}{link}</li>"

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), "The pages, with what you have done so far.")


def _title(path: Path) -> str:
    """A page's title: the first heading in its first cell."""
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        return "".join(cells[0]["source"]).strip().splitlines()[0].removeprefix("# ")
    except (OSError, ValueError, KeyError, IndexError, TypeError):
        return path.stem[3:].replace("_", " ")


class WorkedExample(Words):
    """A question with numbers of its own, and every step of its solution."""

    def __init__(self, key: str, seed: int, currency: units.Currency):
        question = questions.BANK[key]
        given = question.numbers(seed)
        self.steps = {
            "": questions.asked(question, given, currency),
            "First ask": question.nudge,
            "The step": question.step,
            "With the numbers": questions.worked(question, given, currency),
        }
        super().__init__(
            "".join(
                f"<p>{f'<b>{name}:</b> ' if name else ''}{html.escape(said)}</p>" for name, said in self.steps.items()
            )
        )
        self.add_class("ph-words")

    def _repr_mimebundle_(self, **kwargs):
        said = "\n".join(f"{name}: {said}" if name else said for name, said in self.steps.items())
        return as_text(super()._repr_mimebundle_(**kwargs), said)


def worked_example(key: str, seed: int = 7, currency: units.Currency | None = None) -> WorkedExample:
    """The question with this key, worked with the numbers of a seed; in the usual money where none is named."""
    return WorkedExample(key, seed, currency or ponds.currency())


@functools.cache
def _outcomes() -> tuple[runner.CheckResult, ...]:
    outcomes, faults = runner.run([CHECKS])
    if faults:
        raise runner.CheckError(faults[0])
    return tuple(outcomes)


def handbook(quantity: str, count: int = 6) -> None:
    """Print shipped check rows of a quantity (or a whole room): our number, the printed one, the source, the difference."""
    rows = [o for o in _outcomes() if o.quantity.startswith(quantity)]
    if not rows:
        raise runner.CheckError(f"No check row begins with “{quantity}”.")
    printed = [o for o in rows if o.kind == "published"]
    print(
        f"{len(rows)} values stand behind this page, {len(printed)} of them printed in a book or paper; here are some."
    )
    others = [o for o in rows if o.kind != "published"]
    shown = _spread_out(printed, count)
    for o in shown + _spread_out(others, count - len(shown)):
        function = o.quantity.rsplit(".", 1)[1].replace("_", " ")
        apart = 100 * abs(o.difference) / abs(o.printed) if o.printed else 0
        print(wrapped(f"{function}: {plainly(o.inputs)}"))
        unit = units.pretty(o.unit, ponds.currency())  # a sum by whatever money
        values = f"ours {units.significant(o.ours, 4)}, {KINDS[o.kind]} {units.significant(o.printed, 4)} {unit}"
        display_units.say(f"    {values.strip()} ({apart:.2f} % apart)")
        print(wrapped(o.source, "    "))


def _spread_out(rows: list, count: int) -> list:
    """At most `count` of them, from first to last."""
    return [rows[round(at)] for at in np.linspace(0, len(rows) - 1, min(count, len(rows)))]


def wrapped(text: str, indent: str = "") -> str:
    """A text as lines of at most 68 signs."""
    return "\n".join(textwrap.wrap(display_units.here(text), 68, initial_indent=indent, subsequent_indent=indent))


def plainly(inputs: str) -> str:
    """A check row's inputs as one reads them: “water temperature 22 °C, formula carrier”."""
    said = []
    for part in filter(None, (part.strip() for part in inputs.split(";"))):
        name, _, value = part.partition("=")
        number, space, unit = value.strip().partition(" ")
        number = (number if "/" in number else number.replace("_", " ")).replace("|", ", ")  # a zone keeps its name
        said.append(f"{explain.parameter_label(name.strip())} {number}{space}{units.pretty(unit, ponds.currency())}")
    return ", ".join(said)

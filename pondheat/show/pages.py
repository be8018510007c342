"""Parts that pages share besides their panel: predict first, worked examples, handbook values and progress so far."""

from __future__ import annotations

import functools
import html
import importlib
import json
import re
from pathlib import Path
from urllib.parse import quote

import ipywidgets
import numpy as np

from pondheat.checks import explain, runner
from pondheat.core import display_units, units
from pondheat.core.number_format import counted, unbroken
from pondheat.core.places import CHECKS
from pondheat.lesson import marking, progress, questions
from pondheat.lesson.question_bank.question import EXAMPLE_SEED
from pondheat.show import ponds
from pondheat.show.controls import Choice, as_text, status
from pondheat.show.exercises import open_page
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.tables import show_table

KINDS = {
    "published": "printed",
    "library": "by another library",
    "derived": "worked out another way",
    "practice": "the trade says",
    "memory": "from memory",
}
THUMBNAILS = Path(__file__).parent / "thumbnails"
SHOW_ME = "show"
PREDICT = "predict-"  # prefix of a page's name in the key its guess is saved under
LARGER = 1.4  # letters of the picture beside a question, which is shown small
SURE = {"guess": "Just a guess", "fairly": "Fairly sure", "sure": "Sure"}


class PredictFirst(ipywidgets.VBox):
    """A page's question, asked before its panel opens: a guess and how sure it is, or “I don't know, show me” (to
    readers who come back: “I've made my guess before, show me”).

    page: the notebook's name; the module of its panel holds the question, the options, the right one, the replies to
    the others, and how the pond that is drawn beside them differs from the invented one at rest (`SITUATION`, as fields
    of a `PondScene`), if there is one. The first guess is saved; a confident wrong one is asked again on a later page.
    """

    HOW_SURE = "Now say how sure you are, to see the answer."
    ON = "That's right. Look at the picture, then move the sliders: does it stay that way?"

    def __init__(self, page: str, folder: Path | None = None):
        open_page(page)
        self.page, self.topic = page, _topic(page)
        self.folder = Path.cwd() if folder is None else folder
        self.panel = self.topic.panel()
        guessed = f"{PREDICT}{page}" in progress.load(self.folder).answers
        show_me = "I've made my guess before, show me" if guessed else "I don't know, show me"
        self.guess = Choice(self.topic.QUESTION, {**self.topic.OPTIONS, SHOW_ME: show_me})
        self.guess.add_class("ph-lettered").add_class("ph-guess")
        self.sure = Choice("How sure are you?", SURE).add_class("ph-inline")
        self.reply = ipywidgets.HTML()
        self.situation = ipywidgets.HTML(self._drawn_situation()).add_class("ph-situation")
        self.save_message = ""
        self.opened = False
        self._show(self.sure, False)
        self._show(self.panel, False)
        super().__init__([self.guess, self.sure, self.reply, self.situation, self.panel])
        self.add_class("ph-predict")
        self.guess.observe(self._chosen, "value")
        self.sure.observe(self._chosen, "value")

    def _drawn_situation(self) -> str:
        """The pond that is asked about, without a flow of heat; empty where the question is about none."""
        changed = getattr(self.topic, "SITUATION", None)
        if changed is None:
            return ""
        scene = ponds.garden_at_rest(lettering=LARGER, **changed)
        return pond_picture(scene, "situation", "The pond in the question")

    @staticmethod
    def _show(part, shown: bool) -> None:
        part.layout.display = "" if shown else "none"

    def _chosen(self, _change) -> None:
        chosen = self.guess.value
        if chosen is None:
            return
        guessed = chosen != SHOW_ME
        self._show(self.sure, guessed and not self.opened)
        if guessed and self.sure.value is None and not self.opened:
            self.reply.value = status(self.HOW_SURE)
            return
        right = chosen == self.topic.RIGHT
        if guessed and not self.opened:
            self.save_message = _save(self.folder, self.page, right, self.sure.value == "sure")
        self.opened = True
        self._show(self.sure, False)
        self._show(self.situation, False)
        self.guess.folded = True  # the picture takes the choices' place
        self._show(self.panel, True)
        self.add_class("ph-guessed")
        (self.reply.remove_class if guessed else self.reply.add_class)(
            "ph-heard"
        )  # who asked to be shown looks already
        text = "Look at the picture."
        if guessed:
            text = getattr(self.topic, "ON", self.ON) if right else marking.not_quite(self.topic.WORDS[chosen])
        self.reply.value = status(f"{display_units.localise(text)} {self.save_message}".strip())

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), f"{self.guess.label}\nNothing chosen yet.")


class ComeBack(ipywidgets.VBox):
    """A question of an earlier page that had a confident wrong guess; a right choice settles it.

    page: the notebook this is shown in. Of several, the one missed most often is asked, of these the latest; if there
    is none, it says so.
    """

    NOTHING = "Nothing to go over again: none of the guesses you were sure of was wrong."

    def __init__(self, page: str, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.missed = _missed_before(page, self.folder)
        self.reply = ipywidgets.HTML(status(self.NOTHING))
        if self.missed is None:
            super().__init__([self.reply])
            return
        self.topic = _topic(self.missed)
        self.guess = Choice(self.topic.QUESTION, self.topic.OPTIONS)
        self.reply.value = ""
        where = ipywidgets.HTML(f"<p>From page {self.missed[:2]}. You were sure then; what would you say now?</p>")
        super().__init__([where.add_class("ph-words"), self.guess, self.reply])
        self.guess.observe(self._chosen, "value")

    def _chosen(self, _change) -> None:
        assert self.missed is not None  # else there is no choice to observe
        right = self.guess.value == self.topic.RIGHT
        why = "" if right else marking.not_quite(self.topic.WORDS[self.guess.value])
        text = "That's right." if right else f"{why} Page {self.missed[:2]} shows it."
        message = _save(self.folder, self.missed, right)
        self.reply.value = status(f"{display_units.localise(text)} {message}".strip())

    def _repr_mimebundle_(self, **kwargs):
        text = self.NOTHING if self.missed is None else self.guess.label
        return as_text(super()._repr_mimebundle_(**kwargs), text)


def _topic(page: str):
    return importlib.import_module(f"pondheat.show.panels.{page[3:]}")


def _save(folder: Path, page: str, right: bool, sure: bool = False) -> str:
    """Save a guess; returns a message if the progress file could not be read or written, otherwise ""."""
    saved = progress.load(folder)
    message = saved.message
    saved.note(f"{PREDICT}{page}", marking.RIGHT if right else marking.MISCONCEPTION, sure)
    return saved.message or message


def _missed_before(page: str, folder: Path) -> str | None:
    """The earlier page with most confident wrong guesses, of several the latest; None if there is none."""
    misses = {
        key.removeprefix(PREDICT): count
        for key, count in progress.load(folder).misses.items()
        if key.startswith(PREDICT)
    }
    earlier = [name for name in misses if name < page and name in {q.notebook for q in questions.BANK.values()}]
    return max(earlier, key=lambda name: (misses[name], name), default=None)


class SoFar(ipywidgets.HTML):
    """The pages of a folder, each with one sign per question: right, tried, not yet."""

    SIGNS = "● right, ◐ tried, ○ not yet"

    def __init__(self, folder: Path | None = None):
        folder = Path.cwd() if folder is None else folder
        saved = progress.load(folder)
        rows = "".join(self._row(path, saved) for path in sorted(folder.glob("[0-9][0-9]_*.ipynb")))
        message = f"<p>{html.escape(saved.message)}</p>" if saved.message else ""
        super().__init__(
            f'<ol class="ph-pages">{rows}</ol><p>{self.SIGNS}. Your progress is kept in {progress.NAME}, on this '
            f"machine only.</p>{message}"
        )
        self.add_class("ph-words")

    @staticmethod
    def _row(path: Path, saved: progress.Progress) -> str:
        keys = [key for key, question in questions.BANK.items() if question.notebook == path.stem]
        dots, right = saved.dots(keys), sum(saved.answers.get(key) == marking.RIGHT for key in keys)
        title, minutes = _title_and_minutes(path)
        link = f'<a href="{quote(path.name)}"><b>{path.stem[:2]}</b> {html.escape(title)}</a>'
        count = f'<span role="img" aria-label="{right} of {len(keys)} right">{dots}</span>' if keys else ""
        time = f"<small>{minutes}</small>" if minutes else ""
        return f"<li>{_thumbnail(path.stem)}{link}<div>{time}{count}</div></li>"

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), "The pages, with what you have done so far.")


def _thumbnail(page: str) -> str:
    """The small picture of a page as SVG, "" where there is none (`tests/make_thumbnails.py` makes them)."""
    made = THUMBNAILS / f"{page}.svg"
    return made.read_text(encoding="utf-8") if made.exists() else ""


def _title_and_minutes(path: Path) -> tuple[str, str]:
    """A page's title, the heading in its first cell, and its minutes, “27 minutes, optional”, or "" where not said."""
    try:
        cells = ["".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]]
        about = next((cell for cell in cells if re.match(r"\*\d+ minutes", cell)), "")
        minutes = about[1:].partition(":")[0] + (", optional" if " Optional: " in about else "")
        return cells[0].strip().splitlines()[0].removeprefix("# "), minutes
    except (OSError, ValueError, KeyError, IndexError, TypeError):
        return path.stem[3:].replace("_", " "), ""


class WorkedExample(ipywidgets.HTML):
    """A question with fresh numbers and every step of its solution."""

    def __init__(self, key: str, seed: int, currency: units.Currency):
        question = questions.BANK[key]
        given, preferred = question.numbers(seed), display_units.load()
        self.steps = {
            "": questions.asked(question, given, currency, preferred),
            "First ask": preferred.with_alt_units(question.nudge_template),
            "The step": preferred.with_alt_units(question.step_template),
            "With the numbers": questions.worked(question, given, currency, preferred),
        }
        super().__init__(
            "".join(
                f"<p>{f'<b>{name}:</b> ' if name else ''}{html.escape(unbroken(said))}</p>"
                for name, said in self.steps.items()
            )
        )
        self.add_class("ph-words")

    def _repr_mimebundle_(self, **kwargs):
        said = "\n".join(f"{name}: {said}" if name else said for name, said in self.steps.items())
        return as_text(super()._repr_mimebundle_(**kwargs), said)


def worked_example(key: str, seed: int = EXAMPLE_SEED, currency: units.Currency | None = None) -> WorkedExample:
    """The question with this key, worked with the numbers of a seed; currency: by default the preferred one."""
    return WorkedExample(key, seed, currency or ponds.currency())


@functools.cache
def _check_outcomes(quantity: str) -> tuple[runner.CheckResult, ...]:
    outcomes, errors = runner.run([CHECKS], quantity)  # all others would take a page two seconds more
    if errors:
        raise runner.CheckError(errors[0])
    return tuple(outcomes)


def handbook(quantity: str, count: int = 6) -> None:
    """Show shipped check rows of a quantity, or of a whole room: our number, the printed one, source and difference.

    Raises `checks.runner.CheckError` if no row begins with `quantity`.
    """
    rows = _check_outcomes(quantity)
    if not rows:
        raise runner.CheckError(f"No check row begins with “{quantity}”.")
    printed = [o for o in rows if o.kind == "published"]
    others = [o for o in rows if o.kind != "published"]
    preferred = display_units.load()
    shown = []
    for o in [*_evenly_spaced(printed, count), *_evenly_spaced(others, count - min(count, len(printed)))]:
        function = o.quantity.rsplit(".", 1)[1].replace("_", " ")
        apart = 100 * abs(o.difference) / abs(o.printed) if o.printed else 0
        unit = units.pretty(o.unit, preferred.currency)  # sums of money hold in any currency
        shown.append(
            (
                f"{function}: {plainly(o.inputs, preferred)}",
                units.significant(o.ours, 4),
                preferred.quantity(units.significant(o.printed, 4), o.unit, unit),
                f"{apart:.2f} %",
                f"{KINDS[o.kind]}: {o.source}",
            )
        )
    share = {0: "none of them", len(rows): "all of them"}.get(len(printed), f"{len(printed)} of them")
    show_table(
        f"We check this against {counted(len(rows), 'value', 'values')}, {share} printed in a book or paper"
        f"{'; here are some' if len(shown) < len(rows) else ''}.",
        ("what is worked out", "ours", "theirs", "difference", "where theirs comes from"),
        shown,
        texts=(4,),
    )


def _evenly_spaced(rows: list, count: int) -> list:
    """At most `count` rows at even distances, from the first to the last."""
    return [rows[round(at)] for at in np.linspace(0, len(rows) - 1, min(count, len(rows)))]


def plainly(inputs: str, preferred: display_units.DisplayUnits | None = None) -> str:
    """A check row's inputs in words: “water temperature 22 °C, formula carrier”.

    preferred: units to add; by default none, as the source prints them.
    """
    preferred = preferred or display_units.DisplayUnits(ponds.currency())
    words = []
    for part in filter(None, (part.strip() for part in inputs.split(";"))):
        name, _, value = part.partition("=")
        number, space, unit = value.strip().partition(" ")
        number = (number if "/" in number else number.replace("_", " ")).replace(
            "|", ", "
        )  # a time zone keeps its name
        number = re.sub(r"(?<!\w)-(?=\d)", "−", number)
        shown = preferred.quantity(number, unit, units.pretty(unit, preferred.currency), space)
        words.append(f"{explain.parameter_label(name.strip())} {shown}")
    return ", ".join(words)

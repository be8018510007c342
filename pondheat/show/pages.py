"""What every page of the workbook is made of, beside its panel: predict first, worked examples, handbook values."""

from __future__ import annotations

import functools
import html
import textwrap
from pathlib import Path

import ipywidgets

from pondheat import bench, units
from pondheat.lesson import progress, questions
from pondheat.show.controls import Choice
from pondheat.show.panels import Panel

CHECKS = Path(__file__).resolve().parents[2] / "data" / "checks"
_KINDS = {"published": "printed", "library": "by another library", "derived": "reckoned another way", "practice": "the trade says",
          "memory": "from memory"}
SHOW_ME = "show"
SURE = {"guess": "Just a guess", "fairly": "Fairly sure", "sure": "Sure"}


class PredictFirst(ipywidgets.VBox):
    """A question before the panel: it opens once something is chosen, also by “I don't know, show me”.

    options: key → words; right: the key that the panel bears out; words: what to say to each wrong choice. A miss that
    was sure is kept, so that a later page can come back to it.
    """

    def __init__(self, key: str, question: str, options: dict[str, str], right: str, words: dict[str, str], panel: Panel,
                 folder: Path | None = None):
        self.key, self.question, self.right, self.words, self.panel = key, question, right, words, panel
        self.folder = Path.cwd() if folder is None else folder
        self.guess = Choice(question, {**options, SHOW_ME: "I don't know, show me"})
        self.sure = Choice("How sure are you?", SURE)
        self.said = ipywidgets.HTML()
        panel.layout.display = "none"
        super().__init__([self.sure, self.guess, self.said, panel])
        self.guess.observe(self._chosen, "value")

    def _chosen(self, _change) -> None:
        chosen = self.guess.value
        if chosen is None:
            return
        self.panel.layout.display = ""
        if chosen == self.right:
            text = "So it is. Look at the picture, then move the sliders: when does it stop being so?"
        else:
            text = self.words.get(chosen, "Look at the picture.")
        self.said.value = f'<p class="ph-sentence" role="status">{html.escape(text)}</p>'
        if chosen != SHOW_ME:
            kept = progress.load(self.folder)
            kept.note(f"predict-{self.key}", "right" if chosen == self.right else "a common slip",
                      sure=self.sure.value == "sure")

    def _repr_mimebundle_(self, **kwargs):
        data = super()._repr_mimebundle_(**kwargs)
        if isinstance(data, tuple):
            data = data[0]
        data["text/plain"] = f"{self.question}\nNothing chosen yet."
        return data


def worked_example(key: str, seed: int = 7, currency: units.Currency = units.GBP) -> None:
    """Print a question with numbers of its own, and every step of its solution."""
    question = questions.BANK[key]
    given = question.numbers(seed)
    lines = [question.ask.format(**given, h=currency.hundredth), f"First ask: {question.nudge}", f"The step: {question.step}",
             f"With the numbers: {questions.worked(question, given, currency)}"]
    print("\n".join("\n".join(textwrap.wrap(line, 68)) for line in lines))


@functools.cache
def _outcomes() -> tuple[bench.Outcome, ...]:
    outcomes, faults = bench.run([CHECKS])
    if faults:
        raise bench.Refused(faults[0])
    return tuple(outcomes)


def handbook(quantity: str, count: int = 6) -> None:
    """Print shipped check rows of a quantity (or a whole room): our number, the printed one, the source, the difference."""
    rows = [o for o in _outcomes() if o.quantity.startswith(quantity)]
    if not rows:
        raise bench.Refused(f"No check row begins with “{quantity}”.")
    step = max(1, len(rows) // count)
    printed = sum(o.kind == "published" for o in rows)
    print(f"{len(rows)} values stand behind this page, {printed} of them printed in a book or paper; here are some.")
    for o in rows[::step][:count]:
        function = o.quantity.rsplit(".", 1)[1].replace("_", " ")
        print("\n".join(textwrap.wrap(f"{function}, {o.inputs}:", 68)))
        print(f"    ours {units.significant(o.ours, 4)}, {_KINDS[o.kind]} {units.significant(o.printed, 4)} {units.pretty(o.unit)}"
              f" (off by {100 * abs(o.difference) / abs(o.printed) if o.printed else 0:.2f} %)")
        print("\n".join(textwrap.wrap(o.source, 68, initial_indent="    ", subsequent_indent="    ")))

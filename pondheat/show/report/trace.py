"""The thread from each printed number back to where it comes from: steps that anyone can reckon again.

A number on the first page is a link to its entry; the entry's steps end in that very number. What a step prints is
enough to reckon it again: every value stands in a `data` element, the sign between them in `data-sign`.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pondheat.core.sources import cite
from pondheat.show.report.html_parts import said

FIGURES = 9  # of each value in a step, so that a step reckoned again from print ends in the same number
_SIGNS = {
    "+": math.fsum,
    "×": math.prod,
    "−": lambda parts: parts[0] - math.fsum(parts[1:]),
    "÷": lambda parts: parts[0] / parts[1] if parts[1] > 0 else math.inf,
}
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
# Dates and clock times are not numbers of ours; a number takes its sign of money and its unit along.
_FOUND = re.compile(
    rf"(?P<time>\d{{4}}-\d\d-\d\d|\d{{1,2}} (?:{_MONTHS})(?: \d{{4}})?|\d\d:\d\d)|"
    r"(?P<number>[−±]? ?[^\w\s()“;,.:−±]?\d(?:[\d\u202f]|[.](?=\d))*(?:\s?(?:%|°C|kWh|mA|ft|m\b|K\b|kg|h\b))?)"
)


@dataclass(frozen=True)
class Step:
    """One line of arithmetic: parts (name, value, unit) joined by `sign` (+ − × ÷), or one number given ("")."""

    words: str
    parts: tuple[tuple[str, float, str], ...]
    sign: str = ""
    unit: str = ""
    source: str = ""

    @property
    def result(self) -> float:
        """What the line comes to."""
        values = [value for _, value, _ in self.parts]
        return _SIGNS[self.sign](values) if self.sign else values[0]

    def html(self) -> str:
        """The line as a row of a table."""
        joined = f" {self.sign} ".join(
            f"{said(name)} {_data(value)} {said(unit)}".strip() for name, value, unit in self.parts
        )
        total = f" = {_data(self.result)} {said(self.unit)}" if self.sign else ""
        return (
            f'<tr data-sign="{self.sign}"><th scope="row">{said(self.words)}</th><td>{joined}{total}</td>'
            f"<td>{said(self.source)}</td></tr>"
        )


def given(words: str, value: float, unit: str, source: str) -> Step:
    """A number that is not reckoned here, with where it comes from."""
    return Step(words, (("", value, unit),), "", unit, source)


def _data(value: float) -> str:
    if math.isinf(value):
        return '<data value="inf">never</data>'
    text = f"{value:.{FIGURES}g}"
    if "e" in text:
        text = f"{value:.0f}" if abs(value) >= 1 else f"{value:.12f}"
    return f'<data value="{value!r}">{text.replace("-", "−")}</data>'


@dataclass(frozen=True)
class Entry:
    """How one number came about: a title, what is printed, the steps, keys of sources, a note."""

    title: str
    shown: str
    steps: tuple[Step, ...]
    sources: tuple[str, ...] = ()
    note: str = ""

    def html(self, key: str) -> str:
        """The entry for the appendix."""
        rows = "".join(step.html() for step in self.steps)
        cited = "; ".join(f'<a href="#source-{name}"><cite>{said(name)}</cite></a>' for name in self.sources)
        foot = f"<p>{said(self.note)}</p>" if self.note else ""
        foot += f"<p>Sources: {cited}</p>" if cited else ""
        return (
            f'<section class="entry" id="from-{key}" tabindex="-1"><h4>{said(self.title)}: {said(self.shown)}</h4>'
            "<table><thead><tr><th scope='col'>step</th><th scope='col'>arithmetic</th><th scope='col'>from</th></tr>"
            f'</thead><tbody>{rows}</tbody></table>{foot}<p><a href="#n-{key}">Back to the number</a></p></section>'
        )


class Trace:
    """Gathers the entries of a page while its numbers are written."""

    def __init__(self):
        self.entries: dict[str, Entry] = {}
        self._uses: Counter[str] = Counter()

    def number(
        self,
        key: str,
        title: str,
        steps: Sequence[Step],
        write: Callable[[float], str],
        sources: Sequence[str] = (),
        note: str = "",
    ) -> str:
        """A number as HTML: a link to its entry, which is written down the first time.

        write: turns the last step's result into what is printed, with its unit.
        """
        if key not in self.entries:
            for source in sources:
                cite(source)
            self.entries[key] = Entry(title, write(steps[-1].result), tuple(steps), tuple(sources), note)
        return self.link(key, write(steps[-1].result))

    def link(self, key: str, shown: str) -> str:
        """What leads from a number to its entry."""
        self._uses[key] += 1
        count = "" if self._uses[key] == 1 else f"-use-{self._uses[key]}"
        return f'<a class="number" id="n-{key}{count}" href="#from-{key}" data-trace="from-{key}">{said(shown)}</a>'

    def sentence(self, key: str, title: str, text: str, source: str, sources: Sequence[str] = ()) -> str:
        """A sentence made elsewhere, as HTML, with each number in it led back to that place."""
        made, end = [], 0
        for count, found in enumerate(_FOUND.finditer(text), 1):
            made.append(said(text[end : found.start()]))
            if found["time"]:
                made.append(f"<time>{said(found[0])}</time>")
            else:
                value = float(re.search(r"\d[\d\u202f]*(?:\.\d+)?", found[0])[0].replace("\u202f", ""))
                value = -value if found[0].startswith("−") else value
                lead = found[0][: len(found[0]) - len(found[0].lstrip())]
                made.append(
                    lead
                    + self.number(
                        f"{key}-{count}",
                        title,
                        [given("as the sentence says", value, "", source)],
                        lambda _, shown=found[0].strip(): shown,
                        sources,
                    )
                )
            end = found.end()
        return "".join(made) + said(text[end:])

"""How each printed number was worked out: the steps behind it, and links from the number to the steps and back.

A number on the first page is a link to its derivation in the appendix, whose last step ends in that very number. A step
prints enough to be checked by hand: every value is in a `data` element, the sign between the values in `data-sign`.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from pondheat.core.display_units import METRIC
from pondheat.core.sources import cite
from pondheat.show.report.rendering import printable
from pondheat.text.amounts import rounded

STEP_DIGITS = 9  # significant digits of a value in a step: enough for the printed step to give the same number again
RUNS = "runs of the season, see “The runs”"  # where a number of the runs comes from
_OPERATIONS: dict[str, Callable[[Sequence[float]], float]] = {
    "+": math.fsum,
    "×": math.prod,
    "−": lambda values: values[0] - math.fsum(values[1:]),
    "÷": lambda values: values[0] / values[1] if values[1] > 0 else math.inf,
}
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
# Dates and clock times need no derivation; a number takes its currency sign and its unit, or its mark, into the link.
_NUMBER_OR_TIME = re.compile(
    rf"(?P<time>\d{{4}}-\d\d-\d\d|\d{{1,2}} (?:{_MONTHS})(?: \d{{4}})?|\d\d:\d\d)|"
    r"(?P<number>[−±]? ?(?:\[[−\d][^\[\]]*\]|"
    r"[^\w\s()“;,.:−±]?\d(?:\d|,(?=\d{3})|[.](?=\d))*(?:\s?(?:%|°C|kWh|mA|ft|m\b|K\b|kg|h\b))?))"
)
_DIGITS = re.compile(r"\d[\d,]*(?:\.\d+)?")

Part = tuple[str, float, str]  # name, value, unit


@dataclass(frozen=True)
class Step:
    """One line of arithmetic: parts joined by `sign` (+ − × ÷), or a single value where `sign` is empty."""

    label: str
    parts: tuple[Part, ...]
    sign: str = ""
    unit: str = ""
    source: str = ""

    @property
    def result(self) -> float:
        """The value of the line [`unit`]."""
        values = [value for _, value, _ in self.parts]
        return _OPERATIONS[self.sign](values) if self.sign else values[0]


def single_value(label: str, value: float, unit: str, source: str) -> Step:
    """A step for a value that is taken from elsewhere rather than worked out."""
    return Step(label, (("", value, unit),), "", unit, source)


def sum_of(label: str, parts: Sequence[Part], unit: str, source: str) -> Step:
    """A step that adds up its parts."""
    return Step(label, tuple(parts), "+", unit, source)


def rounded_step(value: float, step: float, unit: str) -> Step:
    """A step that rounds an amount to a multiple of `step`, as the answer prints it."""
    return single_value(f"to the nearest {step:g}", rounded(value, step), unit, "text.amounts")


def step_value(value: float) -> str:
    """A value of a step as text: STEP_DIGITS significant digits, never in powers of ten."""
    if math.isinf(value):
        return "never"
    text = f"{value:.{STEP_DIGITS}g}"
    if "e" in text:
        text = f"{value:.0f}" if abs(value) >= 1 else f"{value:.12f}"
    return text.replace("-", "−")


@dataclass(frozen=True)
class Derivation:
    """How one number was worked out: a title, the number as printed, its steps, keys of its sources, a note."""

    title: str
    shown: str
    steps: tuple[Step, ...]
    sources: tuple[str, ...] = ()
    note: str = ""


class Trace:
    """Collects the derivations of all numbers on a page, in the order in which the numbers are first asked for."""

    def __init__(self) -> None:
        self.derivations: dict[str, Derivation] = {}
        self._uses: Counter[str] = Counter()

    @property
    def sources(self) -> set[str]:
        """Keys of all sources used so far."""
        return {source for derivation in self.derivations.values() for source in derivation.sources}

    def number(
        self,
        key: str,
        title: str,
        steps: Sequence[Step],
        write: Callable[[float], str],
        sources: Sequence[str] = (),
        note: str = "",
    ) -> Markup:
        """A number as a link to its derivation, which is recorded on first use.

        write: turns the last step's result into the printed text, with its unit; a quantity in it may be marked, as the
        page is to add preferred units to it, and the derivation is not. Raises KeyError for a source that is
        not in the bibliography.
        """
        shown = write(steps[-1].result)
        if key not in self.derivations:
            for source in sources:
                cite(source)
            self.derivations[key] = Derivation(title, METRIC.with_alt_units(shown), tuple(steps), tuple(sources), note)
        self._uses[key] += 1
        use = "" if self._uses[key] == 1 else f"-use-{self._uses[key]}"
        link = Markup('<a class="number" id="n-{}{}" href="#from-{}" data-trace="from-{}">{}</a>')
        return link.format(key, use, key, key, printable(shown))

    def sentence(self, key: str, title: str, text: str, source: str, sources: Sequence[str] = ()) -> Markup:
        """A finished sentence in which every number is a link to a derivation that names `source`."""
        html, end = Markup(""), 0
        for count, found in enumerate(_NUMBER_OR_TIME.finditer(text), 1):
            html += escape(printable(text[end : found.start()]))
            if found["time"]:
                html += Markup("<time>{}</time>").format(found[0])
            else:
                shown = found[0].lstrip()
                steps = [single_value("as the sentence says", _value(METRIC.with_alt_units(found[0])), "", source)]
                link = self.number(f"{key}-{count}", title, steps, _always(shown.strip()), sources)
                html += found[0][: len(found[0]) - len(shown)] + link
            end = found.end()
        return html + escape(printable(text[end:]))


def _value(text: str) -> float:
    """The number in a piece of text such as “−£1,200”."""
    digits = _DIGITS.search(text)
    assert digits is not None, text
    value = float(digits[0].replace(",", ""))
    return -value if text.startswith("−") else value


def _always(text: str) -> Callable[[float], str]:
    """A writer that gives the same text for every value."""
    return lambda _: text

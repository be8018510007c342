"""No notebook of the workbook contains a right answer to a question with its printed numbers.

Searched are the sources and the stored outputs of every cell of every notebook, for every question of the bank: a page
may also ask questions of earlier pages, and a reader may look ahead. A number is an answer where it is the right value
itself or the right value rounded to two, three or four significant digits, as far as the question's tolerance allows;
however its thousands are parted, with however many zeros behind, in any unit of the same kind, in pounds or in pence.

The rule for which numbers are forbidden where:
- One or two digits (zeros at either end not counted: 24, 0.28, 750) would be met by chance everywhere. They are
  forbidden beside a unit in which they are the answer ("24 kWh", "24,000 Wh", "0.28 kW for each K"), also where the
  unit follows later, as in "24 or 30 kWh". Per cents of two digits are met by chance even so ("28 % apart"): they are
  forbidden only on the pages that ask for them.
- What comes back on a later page with other numbers has two answers there: the new one is looked for on that page too.
- Three digits and more (69.8, 245.28) are forbidden everywhere but beside a unit of another kind ("15.5 °C" for hours).
"""

import functools
import re
from pathlib import Path

import nbformat
from usual_cases import all_in_one

from pondheat.core import units
from pondheat.core.places import WORKBOOK
from pondheat.lesson.questions import BANK, Question

NOTEBOOKS = sorted((WORKBOOK).rglob("*.ipynb"))
THIN = "\u202f\u2009\u00a0"  # may separate thousands, as a comma and a plain space may
NUMBER = re.compile(rf"(?<![\w.,])(?:\d{{1,3}}(?:[, {THIN}]\d{{3}})+(?!\d)|\d+)(?:\.\d+)?(?!\d)")
WORDS = {
    "winter": "years",
    "winters": "years",
    "watt": "W",
    "watts": "W",
    "kilowatts": "kW",
    "kilowatt-hours": "kWh",
    "degree-days": "K·d",
    "degrees": "K",
    "per cent": "%",
    "times": "",
    "pence": "p",
}
_ONE = (
    r"(?:kilowatt-hours|degree-days|kilowatts?|per cent|winters?|degrees|minutes?|months?|pence|hours?|years?"
    r"|watts?|times|days?|kWh|hPa|kPa|Wh|MJ|kJ|kW|Pa|°[CF]|m[²³]|cm|mm|kg|ft|min|[WJKLlmhgspd%£])(?![A-Za-z])"
)
UNIT = re.compile(rf"({_ONE})((?:(?:[/·]| per | for each | for every | an? )\(?{_ONE}(?:·{_ONE}\)?)?)*)")
# What can come between a number and the unit that it shares with the next ones.
LIST = re.compile(rf"(?:[ {THIN}]?(?:,|–|or|and|to)[ {THIN}]?[-−]?{NUMBER.pattern})*[ {THIN}]?")


@functools.cache
def scale(written: str, unit: str) -> tuple[float, float] | None:
    """From numbers in a written unit to numbers in `unit`: what to add, by what to multiply; None: another kind."""
    for word, known in WORDS.items():
        written = re.sub(rf"\b{word}\b", known, written)
    written = re.sub(r" for (each|every) ", "/", written)
    try:
        nought, one = (units.parse(f"{value} {written}", unit, bare=True) for value in (0, 1))
    except units.Unreadable:
        return None
    return nought, one - nought


def rounded(right: float, tolerance: float) -> set[float]:
    """The answer and its roundings that would be marked right."""
    shorter = {float(f"{right:.{figures}g}") for figures in (2, 3, 4)}
    return {right, *(value for value in shorter if abs(value - right) <= tolerance * abs(right))}


def spelled(question: Question) -> tuple[set[float], float]:
    """The answer's roundings, and by how much a number may differ from one."""
    right = question.right(**question.given)
    return rounded(abs(right), question.tolerance), 1e-6 * abs(right)


SPELLED = {key: spelled(one) for key, one in BANK.items()}


@functools.cache
def come_back(key: str, page: str) -> tuple[Question, tuple[set[float], float]]:
    """A question as it comes back on a later page, and its answer `spelled`."""
    question = BANK[key].on(page)
    return question, spelled(question)


def is_answer(value: float, spellings: tuple[set[float], float]) -> bool:
    known, apart = spellings
    return any(abs(value - one) <= apart for one in known)


def short(number: str) -> bool:
    return len(re.sub(r"\D", "", number).strip("0")) < 3


def units_beside(text: str, start: int, end: int) -> list[str]:
    """The unit that belongs to the number at this place, whole and its first part: “kW/K” and “kW”."""
    if text[:start].endswith("£"):
        return ["£"]
    # a list's unit counts where one follows at all
    found = UNIT.match(text, LIST.match(text, end).end()) or UNIT.match(text, end)
    return [found[0], found[1]] if found else []


def answers_in(text: str, asked: frozenset[str] = frozenset(BANK), page: str = "") -> list[tuple[str, str]]:
    """Every answer in a text of a page that asks these questions: the question's key, and the words around it.

    page: the notebook's name; what comes back there is asked with the numbers it has there, and those answers are
    looked for beside the ones of its own page.
    """
    text = text.replace("\n", " ")
    found = []
    back = {key: come_back(key, page) for key in asked if page and BANK[key].notebook != page}
    searched = [(key, one, SPELLED[key], key in asked and key not in back) for key, one in BANK.items()]
    searched += [(key, *one, True) for key, one in back.items()]
    for match in NUMBER.finditer(text):
        value = float(re.sub(rf"[, {THIN}]", "", match[0]))
        beside = units_beside(text, *match.span())
        for key, question, spellings, here in searched:
            if question.unit == "percent" and not here and short(match[0]):
                continue
            scales = [known for written in beside if (known := scale(written, question.unit))]
            if scales:
                meant = any(is_answer(nought + by * value, spellings) for nought, by in scales)
            else:
                meant = not beside and not short(match[0]) and is_answer(value, spellings)
            if meant:
                found.append((key, text[max(0, match.start() - 30) : match.end() + 20]))
    return found


def texts(path: Path):
    """A notebook's texts, each with its cell: sources and every output that is text."""
    for cell in nbformat.read(path, as_version=4).cells:
        yield cell.id, cell.source
        for output in cell.get("outputs", []):
            yield cell.id, output.get("text", "")
            for kind, data in output.get("data", {}).items():
                if kind.startswith("text/") or kind.endswith("svg+xml"):
                    yield cell.id, re.sub(r"<style>.*?</style>", "", data, flags=re.DOTALL)  # its sizes are no answers


@all_in_one(NOTEBOOKS)
def test_no_notebook_contains_an_answer(path):
    looked = list(texts(path))
    assert any(NUMBER.search(text) for _, text in looked), "there is something to search"
    asked = frozenset(key for _, text in looked for key in re.findall(r'exercise\("([^"]+)"', text))
    found = [
        f"{cell}: answer of {key} in “…{words}…”"
        for cell, text in looked
        for key, words in answers_in(text, asked, path.stem)
    ]
    assert not found, "\n".join(found)


@all_in_one(BANK)
def test_every_answer_would_be_found(key):
    """Each answer is found when it is planted, in every usual spelling."""
    question = BANK[key]
    right = question.right(**question.given)
    unit = units.pretty(question.unit)
    unit = " times" if question.unit == "dimensionless" else f" {unit}"
    for value in rounded(right, question.tolerance):
        for written in (f"{value:.10g}", *(f"{value:,.10g}".replace(",", parting) for parting in ", \u202f")):
            planted = f"It is {written}{unit}, or so." if question.unit != "money" else f"It is £{written}."
            assert key in dict(answers_in(planted)), planted
            if not short(written):
                assert key in dict(answers_in(f"So: {written}")), written


@all_in_one(
    [
        ("24 kWh", {"1.1"}),
        ("24\u202f000 Wh", {"1.1"}),
        ("86.4 MJ", {"1.1"}),
        ("24.0 kWh", {"1.1"}),
        ("20 or 24 kWh", {"1.1"}),
        ("24kWh", {"1.1"}),
        ("672p", {"1.2"}),
        ("672 p", {"1.2"}),
        ("6.72", {"1.2"}),
        ("1,217 W", {"7.1"}),
        ("1.217 kW", {"7.1"}),
        ("0.75 kW", {"4.1"}),
        ("0.28 kW for each K", {"10.3"}),
        ("0.28 kW/K", {"10.3"}),
        ("1.2 winters", {"15.1"}),
        ("8 degree-days", {"9.2"}),
        ("42.7 per cent", {"12.4"}),
        ("about 70 kWh", {"2.1"}),
        ("69.8", {"2.1"}),
        ("24 hours", set()),
        ("24", set()),
        ("15.5 °C", set()),
        ("15.5 or 18 °C", set()),
        ('exercise("1.2")', set()),
        ("68 kWh", set()),
        ("750 m", set()),
        ("1.245.28", set()),
    ]
)
def test_the_rule(text, keys):
    assert {key for key, _ in answers_in(text)} == keys


def test_short_per_cents_count_where_they_are_asked_for():
    assert answers_in("28 % apart", frozenset({"6.1"})) == [] and answers_in("28 % apart", frozenset({"12.2"}))
    assert answers_in("27.8 % apart", frozenset({"6.1"}))

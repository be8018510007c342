"""Question sheets for people without a computer: a guess, a worked example, questions with room to calculate.

They print the numbers that the pages print, so that one key serves both. A calculator with four functions is enough:
where e to the x or a logarithm is needed, a small table of values is printed beside the question.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from pathlib import Path

from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.fish import cautions
from pondheat.lesson import questions
from pondheat.lesson.marking import Exercise
from pondheat.lesson.question_bank.question import EXAMPLE_SEED
from pondheat.lesson.reasons import of_page
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.papers import paper
from pondheat.tutor.routes import ROUTES, pages_of, title_of

POINTS = 13  # pt: larger than the other papers, as the sheets are written on
OWN_POND_PAGE = "16"
OWN_POND = (
    "Length, m",
    "Width, m",
    "Mean depth, m",
    "Surface = length × width, m²",
    "Volume = surface × depth, m³",
    "Temperature I want, °C",
    "Hours a day under a cover",
    "Price of a kWh",
    "kWh for each m² from the handout, open",
    "kWh for each m² from the handout, covered",
    "Open: m² × kWh × price",
    "Covered: m² × kWh × price",
    "The difference: what a cover might save",
    "Price of the cover ÷ that difference = winters",
)


def question_sheets(route: str, currency: units.Currency = units.GBP, usual: Usual = METRIC) -> str:
    """The question sheets of one route as an HTML file.

    route: a key of ROUTES; currency: of the exercises; usual: units shown after °C and m³, and the currency of the
    guesses. Raises KeyError for an unknown route.
    """
    return paper(
        "question_sheets.html",
        f"Question sheets: {ROUTES[route][0].lower()}",
        points=POINTS,
        display=usual,
        pages=[_page(path, currency, usual.currency) for path in pages_of(route)],
        standing=cautions.STANDING,
    )


def _page(path: Path, currency: units.Currency, guess_currency: units.Currency) -> dict[str, object]:
    """What one page of the workbook asks."""
    bank = [question for question in questions.BANK.values() if question.notebook == path.stem]
    example = None
    if bank:
        numbers = bank[0].numbers(EXAMPLE_SEED)
        example = {
            "asked": questions.asked(bank[0], numbers, currency),
            "step": bank[0].step,
            "worked": questions.worked(bank[0], numbers, currency),
        }
    return {
        "number": path.stem[:2],
        "title": title_of(path),
        "guess": guess_of(path.stem, guess_currency),
        "example": example,
        "reasons": of_page(path.stem),
        "questions": [
            {"key": one.key, "text": Exercise(one.key, currency).text(), "function_table": function_table(one.key)}
            for one in bank
        ],
        "own_pond": [(label, "") for label in OWN_POND] if path.stem.startswith(OWN_POND_PAGE) else None,
    }


def function_table(key: str) -> list[list[str]] | None:
    """Two rows of function values round the one that a question needs; None where four functions are enough."""
    if key == "10.2":
        return _rows("x", (0.38, 0.40, 0.42, 0.44, 0.46, 0.48), "e to the −x", lambda x: f"{math.exp(-x):.3f}")
    if key == "10.3":
        return _rows("ratio", (1.08, 1.10, 1.12, 1.14, 1.16), "its ln", lambda x: f"{math.log(x):.4f}")
    return None


def _rows(head: str, arguments: Iterable[float], name: str, write: Callable[[float], str]) -> list[list[str]]:
    return [[head, *(f"{x:.2f}" for x in arguments)], [name, *(write(x) for x in arguments)]]

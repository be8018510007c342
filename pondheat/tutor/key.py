"""The tutor's key: questions with their right values, the results of wrong approaches, and the hints.

It is made from the question bank on request and kept out of the workbook, where learners would find it.
"""

from __future__ import annotations

from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.lesson import questions
from pondheat.lesson.questions import Question
from pondheat.lesson.reasons import of_page
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.papers import paper
from pondheat.tutor.routes import ROUTES, WORKBOOK, core_keys, pages_of, title_of


def key_page(currency: units.Currency = units.GBP, usual: Usual = METRIC, route: str | None = None) -> str:
    """The key as an HTML file, in the order of the workbook's pages.

    currency: of the exercises; usual: units shown after °C and m³, and the currency of the guesses; route: of which to
    give only what its question sheets ask, by default every question. Raises KeyError for an unknown route.
    """
    title = "Key for the tutor" if route is None else f"Key for the tutor: {ROUTES[route][0].lower()}"
    paths = sorted(WORKBOOK.glob("[0-9][0-9]_*.ipynb")) if route is None else pages_of(route)
    pages = [
        {
            "number": path.stem[:2],
            "title": title_of(path),
            "guess": guess_of(path.stem, usual.currency),
            "reasons": of_page(path.stem),
            "questions": [
                _question(question, currency)
                for question in questions.BANK.values()
                if question.notebook == path.stem and (route is None or question.key in core_keys(path))
            ],
        }
        for path in paths
    ]
    pages = [page for page in pages if page["guess"] or page["questions"]]
    return paper("key.html", title, display=usual, pages=pages)


def _question(question: Question, currency: units.Currency) -> dict[str, object]:
    """A question with its answers, for the numbers printed on the page."""
    given = question.numbers()
    right, wrong = question.values()
    return {
        "key": question.key,
        "asked": questions.asked(question, given, currency),
        "right": answer_text(right, question, currency),
        "unit": question.word or units.pretty(question.unit, currency),
        "tolerance": f"{100 * question.tolerance:g}",
        "worked": questions.worked(question, given, currency),
        "nudge": question.nudge,
        "step": question.step,
        "misconceptions": [
            (road.name, answer_text(wrong[road.name], question, currency), road.sentence)
            for road in question.misconceptions
        ],
    }


def answer_text(value: float, question: Question, currency: units.Currency) -> str:
    """A value as an answer to a question would be written: “24 kWh”, “£6.72”, “1.2 winters”."""
    if question.unit == "money":
        return units.money(value, currency, 2 if abs(value) < 1000 else 0)
    unit = question.word or units.pretty(question.unit, currency)
    return f"{units.significant(value, 3)} {unit}".strip()

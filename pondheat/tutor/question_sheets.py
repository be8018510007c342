"""Blank question sheets for people without a computer: a guess, a worked example, questions with room to reckon.

They print the numbers that the pages print, so that one key serves both, and all of it can be done with a calculator
of four keys; where e or ln is needed a small table stands beside.
"""

from __future__ import annotations

import math

from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.fish import cautions
from pondheat.lesson import questions
from pondheat.lesson.marking import Exercise
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.page import page, said, table
from pondheat.tutor.routes import ROUTES, pages_of, title_of

EXAMPLE_SEED = 7  # the worked examples of the pages have these numbers too, so never those of a question
YOUR_POND = (
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
    """The sheets of one route as an HTML page in larger type; raises KeyError for a route that is not known."""
    title = f"Question sheets: {ROUTES[route][0].lower()}"
    body = [
        f"<h1>{said(title)}</h1>",
        "<p>Guess first, then reckon. A pocket calculator is enough. Whoever is stuck asks his neighbour, then the tutor. "
        "All ponds and prices are invented.</p>",
    ]
    for path in pages_of(route):
        body += [
            f'<div class="sheet"><h2>{path.stem[:2]} {said(title_of(path))}</h2>',
            *_one_page(path.stem, currency, usual.currency),
            "</div>",
        ]
    return page(
        title, "\n".join(body) + f'<div class="care"><p class="small">{said(cautions.STANDING)}</p></div>', 13, usual
    )


def _one_page(name: str, currency: units.Currency, guessed_in: units.Currency) -> list[str]:
    parts = _guess(name, guessed_in)
    asked = [question for question in questions.BANK.values() if question.notebook == name]
    if asked:
        first, given = asked[0], asked[0].numbers(EXAMPLE_SEED)
        parts.append(
            f'<div class="question"><h3>An example to read first</h3><p>{said(questions.asked(first, given, currency))}</p>'
            f"<p>{said(first.step)} {said(questions.worked(first, given, currency))}</p></div>"
        )
    parts += [
        f'<div class="question"><h3>{said(one.key)}</h3><p>{said(Exercise(one.key, currency).text())}</p>{_help(one.key)}'
        '<div class="line"></div><div class="line"></div></div>'
        for one in asked
    ]
    if name.startswith("16"):
        parts += [
            "<p>Your own pond, with the handout beside you. It is a first estimate; the handout says "
            "how far off it may be even for its own pond.</p>",
            table(["", "mine"], [[label, ""] for label in YOUR_POND], "words fill"),
        ]
    return parts


def _guess(name: str, money: units.Currency) -> list[str]:
    """A page's question before its picture; nothing where the page asks none."""
    guess = guess_of(name, money)
    if guess is None:
        return []
    choices = "".join(
        f'<li><span class="box" style="min-width:1.4em"></span> {said(text)}</li>' for text in guess.options.values()
    )
    return [
        f'<div class="question"><h3>Guess first</h3><p>{said(guess.question)}</p><ul style="list-style:none">{choices}</ul>'
        "<p>How sure are you? just a guess / fairly sure / sure</p></div>"
    ]


def _help(key: str) -> str:
    """For the two questions that a calculator of four keys cannot do: the values round about the one that is needed."""
    if key == "10.2":
        values = [(f"{x:.2f}", f"{math.exp(-x):.3f}") for x in (0.38, 0.40, 0.42, 0.44, 0.46, 0.48)]
        return table(["x", *(x for x, _ in values)], [["e to the −x", *(y for _, y in values)]])
    if key == "10.3":
        values = [(f"{x:.2f}", f"{math.log(x):.4f}") for x in (1.08, 1.10, 1.12, 1.14, 1.16)]
        return table(["ratio", *(x for x, _ in values)], [["its ln", *(y for _, y in values)]])
    return ""

"""The tutor's key: every question with its right value, the ends of all wrong roads, and the hints.

It is made from the bank when it is asked for, and kept out of the workbook: a key beside its question teaches nothing.
"""

from __future__ import annotations

from itertools import groupby

from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.lesson import questions
from pondheat.lesson.questions import Question
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.page import page, said, table
from pondheat.tutor.routes import WORKBOOK, title_of

GUESSED_FIRST = "Guessed before the picture opens"


def key_page(currency: units.Currency = units.GBP, usual: Usual = METRIC) -> str:
    """The whole key as an HTML page, in the order of the workbook's pages."""
    body = [
        "<h1>Key for the tutor</h1>",
        "<p>Right values are those for the numbers printed on the pages and on the question sheets; on a screen a reader may "
        "have drawn fresh numbers. An answer is right within the tolerance named with it, and in any unit of the same "
        "kind. A wrong value that stands here says which road was taken; ask, rather than tell.</p>",
    ]
    asked = {notebook: list(found) for notebook, found in groupby(questions.BANK.values(), lambda one: one.notebook)}
    for path in sorted(WORKBOOK.glob("[0-9][0-9]_*.ipynb")):
        parts = _guess(path.stem, usual.currency) + [_question(one, currency) for one in asked.get(path.stem, ())]
        if parts:
            body += [f"<h2>{said(path.stem[:2])} {said(title_of(path))}</h2>", *parts]
    return page("Key for the tutor", "\n".join(body), usual=usual)


def _question(question: Question, currency: units.Currency) -> str:
    given = question.numbers()
    right, roads = question.values(given)
    unit = question.word or units.pretty(question.unit, currency)
    rows = [
        [name, written(value, question, currency), road.sentence]
        for road in question.misconceptions
        for name, value in [(road.name, roads[road.name])]
    ]
    return (
        f'<div class="question"><h3>{said(question.key)}</h3><p>{said(questions.asked(question, given, currency))}</p>'
        f"<p><b>Right: {said(written(right, question, currency))}</b> ({said(unit or 'a plain number')}, up to "
        f"{100 * question.tolerance:g} % off). {said(questions.worked(question, given, currency))}</p>"
        f"<p>Ask first: {said(question.nudge)} Then: {said(question.step)}</p>"
        f"{table(['wrong road', 'leads to', 'what to say'], rows, 'words roads')}</div>"
    )


def written(value: float, question: Question, currency: units.Currency) -> str:
    """A value as the question's answer would be written: “24 kWh”, “£6.72”, “1.2 winters”."""
    if question.unit == "money":
        return units.money(value, currency, 2 if abs(value) < 1000 else 0)
    unit = question.word or units.pretty(question.unit, currency)
    return f"{units.significant(value, 3)} {unit}".strip()


def _guess(name: str, money: units.Currency) -> list[str]:
    """A page's question before its picture, where it asks one by guess."""
    guess = guess_of(name, money)
    if guess is None:
        return []
    rows = [[text, guess.words.get(choice, "")] for choice, text in guess.options.items() if choice != guess.right]
    return [
        f'<div class="question"><h3>{GUESSED_FIRST}</h3><p>{said(guess.question)}</p><p><b>The picture bears out: '
        f"{said(guess.options[guess.right])}</b></p>{table(['other choices', 'what to say'], rows, 'words')}</div>"
    ]

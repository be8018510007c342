"""The final challenge on paper: a sheet for each team's pond, and the answers for the key."""

from __future__ import annotations

import functools

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.lesson import challenge, short_challenge
from pondheat.lesson.marking import Exercise
from pondheat.lesson.question_bank.question import Question
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.lesson.unseen_pond import UnseenPond
from pondheat.show import challenge_tables
from pondheat.show.panels.challenge import shipped_or_invented
from pondheat.tutor.papers import lettered, paper

TEAMS = (1, 7, 42, 365)  # numbers of their ponds: each has another trap, and not every cover pays
POINTS = 12  # pt


@functools.cache
def ponds_of_teams(money: units.Currency = units.GBP) -> tuple[UnseenPond, ...]:
    """The ponds of the teams, with prices in this currency."""
    return tuple(shipped_or_invented(number, money) for number in TEAMS)


def challenge_sheets(money: units.Currency = units.GBP, usual: DisplayUnits = METRIC, short: bool = False) -> str:
    """A sheet for each team as an HTML file, without answers.

    usual: units shown after °C and m³; short: with the three decisions of a one-hour evening, which need no record.
    """
    return paper(
        "challenge_sheets.html",
        "The challenge: four unseen ponds",
        points=POINTS,
        display=usual,
        things="three things" if short else "five things",
        ponds=[
            {
                "facts": challenge_tables.facts(pond),
                "says": () if short else challenge_tables.keeper_says(pond),
                "record": None if short else challenge_tables.record(pond),
                "steps": [_asked(title, question, money, usual) for title, question in titled(pond, money, short)],
            }
            for pond in ponds_of_teams(money)
        ],
        standing=cautions.STANDING,
    )


def titled(
    pond: UnseenPond, money: units.Currency = units.GBP, short: bool = False
) -> list[tuple[str, ReasonQuestion | Question]]:
    """Each of the questions about a pond, five or for a short evening three, with the title of its step."""
    form = short_challenge if short else challenge
    asked = form.questions_of(pond, money)
    return [(step.title, asked[step.key]) for step in form.STEPS]


def _asked(
    title: str, question: ReasonQuestion | Question, money: units.Currency, usual: DisplayUnits
) -> dict[str, object]:
    """A question as a team sees it: its text, and its choices if it has any."""
    if isinstance(question, ReasonQuestion):
        return {"title": title, "text": question.ask, "choices": lettered(question.choices).values()}
    return {"title": title, "text": Exercise(question.key, money, usual, own=question).text(), "choices": []}

"""The challenge of a one-hour evening: three decisions about an unseen pond, from pages 00, 07 and 16 alone.

The ponds are those of the challenge with five decisions. Replies to wrong answers name only pages of that evening.
"""

from __future__ import annotations

from dataclasses import replace

from pondheat.core import units
from pondheat.core.ranges import OutOfRange
from pondheat.lesson.challenge import NOTEBOOK, VERDICTS, Step, choice_question, way_question, with_distinct
from pondheat.lesson.question_bank.question import Question
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.lesson.unseen_pond import UnseenPond, verdict_at

STEPS = (
    Step("way", "Where the heat goes", "start_here", ("evaporation",)),
    Step("saves", "What the cover saves", "covers", ("hours covered",), ("7.2",)),
    Step("winters", "Does the cover pay?", "your_pond", ("payback",)),
)
_VERDICT_REPLIES = {
    "sure": "It would be a safe buy. But multiply the low end of the saving by the winters that the cover lasts, and "
    "compare that with its price.",
    "likely": "Many covers are like that. But multiply all three savings by the winters that it lasts, and compare "
    "each with the price.",
    "unlikely": "The price does look high beside one winter. But multiply the middle and the high end of the range by "
    "the winters that it lasts, and compare both with the price.",
    "no": "Against a single winter's saving it may look hopeless. But multiply by all the winters that it lasts, at "
    "the high end too.",
}


def saves_question(pond: UnseenPond) -> Question:
    """What share of the season's heat the cover saves: question 7.2 about this pond."""
    first, covered = BANK["7.2"], pond.assessed.covered
    assert covered is not None  # every pond of the challenge has a cover
    under = covered.hours["covered"].to_numpy() > 0.5
    opened, lidded = (season.hours["heater"].to_numpy() / 1000 for season in (pond.open, covered))
    given = {
        "open": round(float(opened[under].mean()), 2),
        "hours": round(24 * float(under.mean()), 1),
        "day": round(float(opened[~under].mean()), 2),
        "covered": round(float(lidded[under].mean()), 2),
    }
    asked = replace(
        first,
        key=f"challenge-{pond.number}-saves",
        notebook=NOTEBOOK,
        ask="Over the season, with no cover, this pond's heater gives on average {open:g} kW at night and {day:g} kW "
        "by day. With the cover on for {hours:g} hours each night, it gives only {covered:g} kW at night. What share "
        "of the season's heat does the cover save?",
        given=given,
        draws={},
        misconceptions=(),
        tolerance=0.03,
        rounding="to a whole per cent",
        again=None,
    )
    back = STEPS[1].back
    return with_distinct(
        asked, tuple(replace(one, reply_template=f"{one.reply_template} {back}") for one in first.misconceptions)
    )


def winters_question(pond: UnseenPond, currency: units.Currency = units.GBP) -> ReasonQuestion:
    """Whether the cover pays, interest left out, and how sure that is. Raises OutOfRange if it is too close to call."""
    life = pond.sheet.cover_plan.life or 0.0
    verdict = verdict_at(pond.price, pond.saving, life, 0.0)
    if verdict is None:
        raise OutOfRange(f"Pond {pond.number} is too close to call without interest; choose another number.")
    low, middle, high = (units.money(end, currency) for end in pond.saving)
    ask = (
        f"The cover, fitted, costs {units.money(pond.price, currency)} and lasts {life:g} winters. A winter saves "
        f"about {middle}, likely between {low} and {high}. Leave interest out. Does the cover pay, and how sure is "
        "that?"
    )
    return choice_question(pond, STEPS[2], ask, VERDICTS, verdict, _VERDICT_REPLIES)


def questions_of(pond: UnseenPond, currency: units.Currency = units.GBP) -> dict[str, ReasonQuestion | Question]:
    """The three questions about a pond, by the key of their step, in order."""
    return {
        "way": way_question(pond, STEPS[0]),
        "saves": saves_question(pond),
        "winters": winters_question(pond, currency),
    }

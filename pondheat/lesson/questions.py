"""The bank of questions by key, and their texts with numbers filled in.

No answer is stored: the right one and those of known misconceptions are functions of the same numbers. Fresh numbers
are used only if all these answers are distinct within their tolerance, so each slip gets its own reply.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.lesson.question_bank import (
    a_season,
    covers,
    falling_water,
    fish_first,
    heaters,
    moist_air,
    open_surface,
    payback,
    power_energy_money,
    readings,
    tariffs,
    two_spells,
    walls_and_ground,
    warming_water,
    weather,
)
from pondheat.lesson.question_bank.question import HEAT_OF_WATER, Question

__all__ = ["BANK", "HEAT_OF_WATER", "Question", "asked", "worked"]

_PAGES = (
    power_energy_money,
    warming_water,
    fish_first,
    open_surface,
    moist_air,
    walls_and_ground,
    covers,
    falling_water,
    weather,
    a_season,
    heaters,
    tariffs,
    readings,
    two_spells,
    payback,
)
BANK: dict[str, Question] = {question.key: question for page in _PAGES for question in page.QUESTIONS}


def asked(
    question: Question,
    given: Mapping[str, float],
    currency: units.Currency = units.GBP,
    preferred: DisplayUnits = METRIC,
) -> str:
    """The question with its numbers; preferred: units to add to its quantities."""
    return _filled(question.ask, question.shown(given), currency, preferred)


def worked(
    question: Question,
    given: Mapping[str, float],
    currency: units.Currency = units.GBP,
    preferred: DisplayUnits = METRIC,
) -> str:
    """The worked solution with its numbers; arguments as for `asked`."""
    right = question.right(**given)
    shown = units.money(right, currency, 2) if question.unit == "money" else units.significant(right, 3)
    return _filled(question.worked, {**question.shown(given), "right": shown}, currency, preferred)


def _filled(template: str, given: Mapping[str, float | str], currency: units.Currency, preferred: DisplayUnits) -> str:
    text = template.format(**given, h=currency.hundredth, sign=currency.sign)
    text = re.sub(r"(?<![\w.)-])-(?=\d)", "−", text)  # a true minus sign, as everywhere
    return preferred.with_alt_units(text)

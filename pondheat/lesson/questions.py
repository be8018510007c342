"""The bank of questions by key, and their texts with numbers filled in.

No answer is stored: the right one and those of known misconceptions are functions of the same numbers. Fresh numbers
are used only if all these answers are distinct within their tolerance, so each slip gets its own reply.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.lesson import question_bank
from pondheat.lesson.question_bank.question import HEAT_OF_WATER, Question

__all__ = ["BANK", "HEAT_OF_WATER", "Question", "asked", "worked"]


def _all_questions() -> list[Question]:
    """The questions of every module of the bank, by page."""
    modules = (import_module(f"{question_bank.__name__}.{one.name}") for one in iter_modules(question_bank.__path__))
    return sorted((q for module in modules for q in getattr(module, "QUESTIONS", ())), key=lambda q: q.notebook)


BANK: dict[str, Question] = {question.key: question for question in _all_questions()}


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

"""What people type into an answer box → a number in the unit that was asked for."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.units import Currency, Unreadable, WrongDimension


@dataclass(frozen=True)
class Answer:
    """A typed answer: its value in the asked unit, and whether it came without a unit of its own."""

    value: float
    bare: bool


class OtherKind(Unreadable):
    """A number with a unit that measures something else than what was asked."""


def read(text: str, unit: str, currency: Currency = units.GBP, word: str = "") -> Answer:
    """An answer typed for a question that asks for `unit`.

    "£6.72", "672p", "6.72", "1,200.50", "24 kWh", "24000 Wh", "86.4 MJ", "18 C", "0.215 K/h", "43.75%": a number alone
    is taken in the asked unit, a number with a unit is converted first, so a right value in another unit is right.
    "6,72" and a lone comma are asked back. `word`: a plural that may stand after the number in place of a unit
    ("2.3 winters"). Raises `OtherKind` for a unit of another kind, `Unreadable` for all else.

    >>> read("86.4 MJ", "kWh"), read("672p", "money").value
    (Answer(value=24.0, bare=False), 6.72)
    """
    typed = str(text).strip()
    if not typed:
        raise Unreadable("Type a number first.")
    if word:
        typed = re.sub(rf"\s*{re.escape(word.removesuffix('s'))}s?$", "", typed, flags=re.IGNORECASE) or typed
    try:
        return Answer(units.number(typed), True)
    except Unreadable as fault:
        if "decimals with a point" in str(fault):
            raise
    try:
        return Answer(units.parse(typed, unit, currency), False)
    except WrongDimension:
        wanted = units.pretty(unit, currency) or "a plain number"
        shown = typed if len(typed) <= 30 else typed[:27] + "…"
        raise OtherKind(f"“{shown}” measures something else. This answer is wanted in {wanted}.") from None

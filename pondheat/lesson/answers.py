"""Reading of typed answers: from text to a number in the unit of the question."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.units import Currency, Unreadable, WrongDimension


@dataclass(frozen=True)
class Answer:
    """A typed answer: its value in the unit of the question, and whether it was typed without a unit."""

    value: float
    bare: bool


class OtherKind(Unreadable):
    """The typed unit measures something else than the question asks for."""


def read(text: str, unit: str, currency: Currency = units.GBP, word: str = "") -> Answer:
    """The value of an answer typed for a question in `unit`.

    A number alone is taken in that unit; one with a unit is converted, so a right value in another unit is right:
    "£6.72", "672p", "6.72", "1,200.50", "24 kWh", "24000 Wh", "86.4 MJ", "18 C", "0.215 K/h", "43.75%". A decimal comma
    ("6,72") is refused as ambiguous. word: a plural allowed after the number in place of a unit ("2.3 winters"). Raises
    `OtherKind` for a unit of another kind, `Unreadable` for anything else.

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
    except Unreadable as error:
        if "decimals with a point" in str(error):
            raise
    try:
        return Answer(units.parse(typed, unit, currency), False)
    except WrongDimension:
        asked = units.pretty(unit, currency) or "a plain number"
        shown = typed if len(typed) <= 30 else typed[:27] + "…"
        raise OtherKind(f"“{shown}” measures something else. Please answer in {asked}.") from None

"""Reading of typed answers: from text to a number in the unit of the question."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.units import Currency, Unreadable, WrongDimension

LONGEST = 80  # characters of an answer that is read at all
_ABOUT = r"(?:[~≈≃≅∼=]|(?:about|around|roughly|approximately|circa)\b|approx\b\.?|ca?\.(?=\s*\d))"
# A comma that may be a decimal point: the digits before it, perhaps in groups, and those after it.
_COMMA = re.compile(r"(?<![\d.,])(\d{1,3}(?:[. ]\d{3})+|\d*),(\d+)(?![\d,.])")
_POINTS = re.compile(r"(?<![\d.,])[1-9]\d{0,2}\.\d{3}(?![\d.,])")  # as “1.350” is written where a comma is the point
AS_POINT, AS_SEPARATOR = "(The comma was read as a decimal point.)", "(The point was read as a thousands separator.)"
_SUM = re.compile(r"[\d)]\s*[*×x·/÷+^=–−-]+\s*[(\d]|[(){}]")
_EACH = r"\s*(?:/|\b(?:a|per|each|every|in a)\b)\s*"  # “kWh a day” where a question asks how many kWh a day takes
_PERIOD = rf"{_EACH}(?:day|night|week|month|year|winter|season)$"
_WORDS_FOR_UNITS = {  # by the unit of the question: a way of saying it, and what to read instead
    "kWh": (_PERIOD, ""),
    "money": (_PERIOD, ""),
    "kWh/day": (r"(?<=Wh)$", "/day"),
    "kg/hour": (r"(?<![/A-Za-z])(k?g|grams?|kilos?|kilograms?)$", r"\1/h"),
    "delta_degC*day": (r"\b(?:degree|kelvin)[- ]?days?\b", "K*day"),
    "kW/K": (r"\b(?:for each|for every|per|an?) (?:degree|kelvin)\b(?: C\b)?|(?<=W)$", "/K"),
    "dimensionless": (r"\s*(?:times(?: as much)?|x|×)$", ""),
}


@dataclass(frozen=True)
class Answer:
    """One reading of a typed answer: its value in the unit of the question, and how its comma or point was read.

    note: a sentence on a comma read as a decimal point, or on points read as separators; "" in English notation.
    """

    value: float
    note: str = ""


class OtherKind(Unreadable):
    """The typed unit measures something else than the question asks for."""


def readings(text: str, unit: str, currency: Currency = units.GBP, word: str = "") -> tuple[Answer, ...]:
    """The values a typed answer may have for a question in `unit`, the likeliest first; mostly there is only one.

    A number alone is taken in that unit; one with a unit is converted, so a right value in another unit is right:
    "£6.72", "672p", "~6.72", "1,200.50", "24 kWh", "24000 Wh", "86.4 MJ", "18 C", "43,75 %". A comma or point before
    three digits may separate thousands or decimals, so "1,275" and "1.275" have two readings. word: a plural allowed
    after the number in place of a unit ("2.3 winters"). Raises `OtherKind` for a unit of another kind, `Unreadable` for
    anything else; their sentences repeat no digit, because an example of a value could be the answer.

    >>> readings("86.4 MJ", "kWh"), [one.value for one in readings("1,275", "kW")]
    ((Answer(value=24.0, note=''),), [1275.0, 1.275])
    """
    typed = str(text).strip()
    if not typed:
        raise Unreadable("Type a number first.")
    if len(typed) > LONGEST:
        raise Unreadable("That's too long for an answer.")
    if not re.search(r"[\d½¼¾⅓⅔]", typed):
        raise Unreadable("There's no number in that.")
    typed = re.sub(rf"^(?:{_ABOUT}\s*)+", "", typed, flags=re.IGNORECASE)
    typed = re.sub(r"(?:\s+or so|(?<=[\d½¼¾⅓⅔])\s*-?ish)$", "", typed.rstrip(".?! "), flags=re.IGNORECASE)
    typed = re.sub(r"(?<=\d)['’](?=\d{3}(?!\d))", "", typed).rstrip(".?! ")
    typed = typed.replace("\u202f", " ").replace("\u00a0", " ").replace("\u2009", " ")
    if word:
        typed = re.sub(rf"\s*{re.escape(word.removesuffix('s'))}s?$", "", typed, flags=re.IGNORECASE) or typed
    if unit in _WORDS_FOR_UNITS:
        typed = re.sub(_WORDS_FOR_UNITS[unit][0], _WORDS_FOR_UNITS[unit][1], typed, flags=re.IGNORECASE)
    asked = word or units.pretty(unit, currency) or "a plain number"
    return tuple(Answer(_value(one, unit, currency, asked), note) for one, note in _in_english(typed))


def _in_english(typed: str) -> list[tuple[str, str]]:
    """An answer in English notation, with a note on any other; twice if a comma or point may be read in two ways."""
    if points := _POINTS.search(typed):
        return [(typed, ""), (typed.replace(points[0], points[0].replace(".", "")), AS_SEPARATOR)]
    comma = _COMMA.search(typed)
    if not comma:
        return [(typed, "")]
    pointed = typed[: comma.start()] + re.sub("[. ]", "", comma[1]) + "." + comma[2] + typed[comma.end() :]
    thousands = len(comma[2]) == 3 and re.fullmatch(r"[1-9]\d{0,2}", comma[1])
    return [*([(typed, "")] if thousands else []), (pointed, AS_POINT)]


def _value(typed: str, unit: str, currency: Currency, asked: str) -> float:
    """The value of an answer in English notation, in `unit`."""
    try:
        return units.parse(typed, unit, currency, bare=True)
    except WrongDimension:
        kind = _unit_of(typed) or "That unit"
        raise OtherKind(f"{kind} {_what_it_measures(typed, unit)}. Please answer in {asked}.") from None
    except Unreadable as error:
        if re.search(r"\d\s*[-–]\s*\d", typed) and not _SUM.search(re.sub("[-–]", "", typed)):
            raise Unreadable("That looks like a sum or a range. Give one number.") from None
        if _SUM.search(typed):
            raise Unreadable("That looks like a sum, so work it out first.") from None
        said = str(error)
        raise Unreadable(said if not re.search(r"\d", said) else _complaint(typed)) from None


def _what_it_measures(typed: str, unit: str) -> str:
    """What the unit of an answer says that the question doesn't ask: power and energy are the pair mixed up most."""
    for other, said in (("kW", "says how fast; the question asks how much"), ("kWh", "says how much, not how fast")):
        try:
            units.parse(typed, other)
        except Unreadable:
            continue
        if unit in ("kWh", "kW", "W"):
            return said
    return "measures something else"


def _complaint(typed: str) -> str:
    """What is wrong with an answer, without its digits."""
    if re.fullmatch(r"[-+−]?[\d., ]*\d(?:[eE][-+]?\d+)?", typed):
        return "That number can't be read, or is too large to be meant."
    unit = _unit_of(typed)
    return f"{unit} isn't a unit that fits here." if unit else "That can't be read as one number."


def _unit_of(typed: str) -> str:
    """The unit after or before an answer, in quotation marks; without its number, which could be the right one."""
    found = re.search(r"[^\d\s.,½¼¾⅓⅔+−-][^\d]*$", typed) or re.match(r"[^\d\s.,½¼¾⅓⅔+−-]+", typed)
    written = "".join(one for one in found[0] if one.isprintable()).strip() if found else ""
    return f"“{written[:30]}”" if written else ""

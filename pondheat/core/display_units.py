"""The money and units usual where a reader lives: one line, such as “USD, °F, US gallons”, in a file beside the pages.

The workbook reckons in °C and m³ whatever the line says; what it names is shown beside, and invented prices bear its
currency's sign.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pondheat.core import units
from pondheat.core.units import Currency, Unreadable

NAME = "money_and_units.txt"
LONGEST = 68  # signs of a printed line, which fit on a page 800 pixels wide
GALLONS = {"US gallons": "US_liquid_gallon", "UK gallons": "imperial_gallon"}  # as written → as units knows it
_NUMBER = r"(?<![\w.,])[−-]?\d+(?:[\u202f\u2009,]\d{3})*(?:\.\d+)?"
_NUMBERS = rf"(?<!pH )({_NUMBER}(?:(?:,\s+|\s+(?:and|to|or)\s+|–|-){_NUMBER})*)(?:[ \u00a0]|\n *)"
# “12, 6 and −2 °C”: each is of that unit, also where the line breaks between.
# What bears the other unit already stays, so that words may come by twice; “18 °C or 64 °F” is written for everybody.
_ONCE = r"(?![\w·/])(?!\s+\([^()]*(?:°F|gallons)\)| or [\d.]+ °F)"


@dataclass(frozen=True)
class Usual:
    """Currency of invented prices; whether °F, and which gallons (a key of GALLONS, or None), stand beside °C and m³."""

    currency: Currency = units.GBP
    fahrenheit: bool = False
    gallons: str | None = None

    def line(self) -> str:
        """The line that says this."""
        return ", ".join(filter(None, [self.currency.code, "°F" if self.fahrenheit else "", self.gallons or ""]))


METRIC = Usual()


def read_line(line: str) -> Usual:
    """What a line asks for: a currency (GBP, EUR, USD), °F or °C, and US or UK gallons or m³, in any order.

    >>> read_line("usd, F, us gallons").line()
    'USD, °F, US gallons'

    Raises Unreadable with what may stand in it.
    """
    currency, fahrenheit, gallons = units.GBP, False, None
    for part in (part.strip() for part in re.split(r"[,;\n]", line)):
        known = part.casefold().replace("°", "").replace("º", "").strip()
        if known in ("", "c", "celsius", "m³", "m3", "litres"):
            continue
        if known in ("f", "fahrenheit"):
            fahrenheit = True
        elif known in (name.casefold() for name in GALLONS):
            gallons = next(name for name in GALLONS if name.casefold() == known)
        elif known.upper() in units.CURRENCIES:
            currency = units.currency_of(known)
        else:
            raise Unreadable(
                f"“{part[:30]}” is not known here. A line such as “USD, °F, US gallons” is wanted: of "
                f"{', '.join(units.CURRENCIES)} one, °F or °C, {' or '.join(GALLONS)} or m³."
            )
    return Usual(currency, fahrenheit, gallons)


def load(folder: Path | None = None) -> Usual:
    """The line of a folder or the one above it, by default the present one; METRIC where there is none or it is spoilt."""
    here = Path.cwd() if folder is None else Path(folder)
    for place in (here / NAME, here.parent / NAME):
        try:
            return read_line(place.read_text(encoding="utf-8-sig"))
        except FileNotFoundError:
            continue
        except (OSError, ValueError):
            return METRIC
    return METRIC


def keep(line: str, folder: Path) -> Usual:
    """Write a line that can be read into a folder. Raises Unreadable, OSError."""
    found = read_line(line)
    (folder / NAME).write_text(f"{found.line()}\n", encoding="utf-8")
    return found


def scale(unit: str, digits: int, usual: Usual) -> dict:
    """How a control's value in `unit` (as `units` knows it) is shown beside: value × times + plus, its digits and unit;
    empty where nothing is usual beside it."""
    if usual.fahrenheit and unit in ("degC", "delta_degC"):
        return {"times": 1.8, "plus": 32.0 if unit == "degC" else 0.0, "digits": digits, "unit": "°F"}
    if usual.gallons and unit == "m**3":
        return {
            "times": units.convert(1.0, "m**3", GALLONS[usual.gallons]),
            "plus": 0.0,
            "digits": 0,
            "unit": usual.gallons,
        }
    return {}


def _value(text: str) -> float:
    return float(re.sub(r"[\u202f\u2009,]", "", text).replace("−", "-"))


def _places(text: str) -> int:
    """Decimals that °F deserves beside such a number: one where it has any."""
    return int("." in text)


def _after(text: str, unit: str, write: Callable[[str], str], name: str) -> str:
    """Text with each run of numbers of a unit (a pattern) followed by the same numbers in another."""

    def put(found: re.Match) -> str:
        if found[1] is None:  # a tag: the L of a path is no litre
            return found[0]
        return f"{found[0]} ({re.sub(_NUMBER, lambda number: write(number[0]), found[1])} {name})"

    return re.sub(rf"<[A-Za-z/!][^<>]*>|{_NUMBERS}(?:{unit}){_ONCE}", put, text)


def fahrenheit(celsius: float, places: int = 0) -> str:
    """A temperature in °F as text, without its unit."""
    return units.digits(celsius * 1.8 + 32, places)


def beside(text: str, usual: Usual, differences: bool = False) -> str:
    """Words, as text or HTML, with °F after each temperature and difference, and gallons after each volume, where usual.

    differences: °C stands for a difference here, as in a sum.

    >>> beside("It falls by 2 K to 16.0 °C in 12 m³.", Usual(fahrenheit=True, gallons="US gallons"))
    'It falls by 2 K (3.6 °F) to 16.0 °C (60.8 °F) in 12 m³ (3\\u202f170 US gallons).'
    """

    def apart(number: str) -> str:
        return units.significant(_value(number) * 1.8, 2)

    if usual.fahrenheit:
        text = _after(
            text, "°C", apart if differences else lambda number: fahrenheit(_value(number), _places(number)), "°F"
        )
        text = _after(text, "K", apart, "°F")
        # who thinks in °F would take “one degree warmer” for less than it is
        text = re.sub(r"\b(?:[Oo]ne|1) degree\b(?!-|\s+\(1\.8)", r"\g<0> (1.8 °F)", text)
    if usual.gallons:
        per = units.convert(1.0, "m**3", GALLONS[usual.gallons])
        for unit, volume in (("m³", 1.0), ("L|litres?", 0.001)):
            text = _after(text, unit, lambda number: units.significant(_value(number) * volume * per, 3), usual.gallons)
    return text


def here(text: str) -> str:
    """Words with what is usual in the present folder beside: what a page shows goes through this."""
    return beside(text, load())


def beside_in_lines(text: str, usual: Usual, longest: int) -> str:
    """Lines with what is usual beside; one that this makes longer than `longest` signs goes on in the next."""
    lines = []
    for line in text.split("\n"):
        shown = beside(line, usual)
        if shown != line and len(shown) > longest:
            inset = " " * (len(line) - len(line.lstrip()) + 4)
            shown = "\n".join(textwrap.wrap(shown, longest, subsequent_indent=inset))
        lines.append(shown)
    return "\n".join(lines)


def say(text: str = "") -> None:
    """Print lines of a page."""
    print(beside_in_lines(text, load(), LONGEST))

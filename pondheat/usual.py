"""The money and units usual where a reader lives: one line, such as “USD, °F, US gallons”, in a file beside the pages.

The workbook reckons in °C and m³ whatever the line says; what it names is shown beside, and invented prices bear its
currency's sign.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from pondheat import units
from pondheat.units import Currency, Unreadable

NAME = "money_and_units.txt"
GALLONS = {"US gallons": "US_liquid_gallon", "UK gallons": "imperial_gallon"}  # as written → as units knows it
_NUMBER = r"(?<![\w.,])[−-]?\d[\d\u202f\u2009,]*(?:\.\d+)?"


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
            raise Unreadable(f"“{part[:30]}” is not known here. A line such as “USD, °F, US gallons” is wanted: of "
                             f"{', '.join(units.CURRENCIES)} one, °F or °C, {' or '.join(GALLONS)} or m³.")
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
        return {"times": units.convert(1.0, "m**3", GALLONS[usual.gallons]), "plus": 0.0, "digits": 0, "unit": usual.gallons}
    return {}


def _value(text: str) -> float:
    return float(re.sub(r"[\u202f\u2009,]", "", text).replace("−", "-"))


def _places(text: str) -> int:
    return len(text.split(".")[1]) if "." in text else 0


def beside(text: str, usual: Usual) -> str:
    """A sentence with °F after each temperature and difference, and gallons after each volume, where these are usual.

    >>> beside("It falls by 2 K to 16.0 °C in 12 m³.", Usual(fahrenheit=True, gallons="US gallons"))
    'It falls by 2 K (3.6 °F) to 16.0 °C (60.8 °F) in 12 m³ (3\\u202f170 US gallons).'
    """
    if usual.fahrenheit:
        text = re.sub(rf"({_NUMBER})[ \u00a0]°C(?!\w)", lambda found: (
            f"{found[0]} ({units.digits(_value(found[1]) * 1.8 + 32, _places(found[1]))} °F)"), text)
        text = re.sub(rf"({_NUMBER})[ \u00a0]K(?![\w·/])", lambda found: (
            f"{found[0]} ({units.significant(_value(found[1]) * 1.8, 2)} °F)"), text)
    if usual.gallons:
        per = units.convert(1.0, "m**3", GALLONS[usual.gallons])
        text = re.sub(rf"({_NUMBER})[ \u00a0]m³(?![\w·/])", lambda found: (
            f"{found[0]} ({units.significant(_value(found[1]) * per, 3)} {usual.gallons})"), text)
    return text

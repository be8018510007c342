"""The currency and units a reader prefers: one line, such as “USD, °F, US gallons”, in a file next to the pages.

The workbook calculates in °C and m³ whatever the line says. A preferred unit is added in brackets at the moment a
value is written down, because only there is it known whether “2 °C” is a temperature (36 °F) or a difference (3.6 °F).

- Values: `temperature(18.0)`, `temperature_difference(2.0)`, `volume(12.0)`, `temperature_range(8, 10)`, or
  `quantity("18.0", "degC")` for a number already written.
- Sentences and templates: put square brackets round each quantity, as in "Air of [8 °C] is [10 K] colder", and pass the
  text through `localise` where it is shown. In metric units only the brackets go. “K” means a difference, “°C” a
  temperature, unless it is "[Δ0.5 °C] too warm".

A sentence that is kept, such as a note of an assessment, keeps its marks until it is shown, since its units are the
reader's: `text.layout.wrapped`, `show.tables.page_text`, the templates of papers and reports, and `without_marks` for
JSON, resolve them. An error is shown at once, so its message is written with the functions. What a reader typed is
quoted as it is, and so is an example to copy. A finished text is never searched for units.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pondheat.core import units
from pondheat.core.files import write_atomically
from pondheat.core.units import Currency, Unreadable

NAME = "money_and_units.txt"
LINE_WIDTH = 68  # characters of a printed line that fit on a page 800 pixels wide
GALLONS = {"US gallons": "US_liquid_gallon", "UK gallons": "imperial_gallon"}  # as written → as `units` knows it
_NUMBER = r"(?<![\w.,])[−-]?\d+(?:[\u202f\u2009,]\d{3})*(?:\.\d+)?"
_MARKED = re.compile(
    r"\[(Δ?)((?:[^\[\]<>]*\d[^\[\]<>]*?)|[Oo]ne(?= degree))([ \u00a0\n]\s*)(°C|K|m³|L|litres?|degree)\]"
)
_UNIT_OF_MARK = {"°C": "degC", "K": "delta_degC", "degree": "delta_degC", "m³": "m**3"}  # the others are litres


@dataclass(frozen=True)
class DisplayUnits:
    """Preferred currency; whether °F, and which gallons (a key of GALLONS, or None), are shown after °C and m³."""

    currency: Currency = units.GBP
    fahrenheit: bool = False
    gallons: str | None = None

    def line(self) -> str:
        """The line that asks for these units."""
        return ", ".join(filter(None, [self.currency.code, "°F" if self.fahrenheit else "", self.gallons or ""]))

    def temperature(self, celsius: float, places: int | None = None) -> str:
        """A temperature [°C] as text with its unit; places: decimals, by default as many as the value needs.

        >>> DisplayUnits(fahrenheit=True).temperature(18.0), METRIC.temperature(-4.25, 1)
        ('18 °C (64 °F)', '−4.2 °C')
        """
        return self.quantity(_written(celsius, places), "degC")

    def temperature_range(self, low: float, high: float, places: int | None = None, join: str = "–") -> str:
        """Two temperatures [°C] that share one unit, with `join` between them.

        >>> DisplayUnits(fahrenheit=True).temperature_range(8, 10)
        '8–10 °C (46–50 °F)'
        """
        return self.quantity(f"{_written(low, places)}{join}{_written(high, places)}", "degC")

    def temperature_difference(self, kelvin: float, places: int | None = None) -> str:
        """A difference of temperatures [K] as text with its unit.

        >>> DisplayUnits(fahrenheit=True).temperature_difference(2.0)
        '2 K (3.6 °F)'
        """
        return self.quantity(_written(kelvin, places), "delta_degC")

    def volume(self, cubic_metres: float, places: int | None = None) -> str:
        """A volume [m³] as text with its unit.

        >>> DisplayUnits(gallons="US gallons").volume(12.0)
        '12 m³ (3,170 US gallons)'
        """
        return self.quantity(_written(cubic_metres, places), "m**3")

    def quantity(self, numbers: str, unit: str, shown_unit: str | None = None, space: str = " ") -> str:
        """A number written as text, or several that share a unit, followed by its unit and the preferred one.

        unit: as `units` knows it; degC is a temperature and delta_degC a difference. shown_unit: how the unit is
        written, by default as `units.pretty` does. The preferred value is that of the rounded number the reader sees.
        """
        text = units.with_unit(numbers, units.pretty(unit) if shown_unit is None else shown_unit, space)
        return text + self.in_brackets(numbers, unit)

    def with_alt_units(self, text: str) -> str:
        """A text in which each quantity in square brackets is written with its preferred unit.

        >>> DisplayUnits(fahrenheit=True).with_alt_units("[1 K] a day, from [10–14 °C]; [one degree] more")
        '1 K (1.8 °F) a day, from 10–14 °C (50–57 °F); one degree (1.8 °F) more'
        >>> METRIC.with_alt_units("[1 K] a day")
        '1 K a day'
        """

        def written(found: re.Match[str]) -> str:
            difference, numbers, space, unit = found.groups()
            kind = "delta_degC" if difference else _UNIT_OF_MARK.get(unit, "L")
            return self.quantity(numbers, kind, unit, space)

        return _MARKED.sub(written, text)

    def scale(self, unit: str, digits: int) -> dict[str, float | str]:
        """How a control converts its value in `unit` (as `units` knows it): value × times + plus, with digits and unit.

        Empty where no other unit is preferred.
        """
        if self.fahrenheit and unit in ("degC", "delta_degC"):
            return {"times": 1.8, "plus": 32.0 if unit == "degC" else 0.0, "digits": digits, "unit": "°F"}
        if self.gallons and unit == "m**3":
            return {"times": self._gallons_per("m**3"), "plus": 0.0, "digits": 0, "unit": self.gallons}
        return {}

    def in_brackets(self, numbers: str, unit: str) -> str:
        """The same numbers in the preferred unit, as “ (64 °F)”; empty where none is preferred."""
        if unit in ("degC", "delta_degC", "K") and self.fahrenheit:
            numbers = "1" if numbers.casefold() == "one" else numbers

            def convert(text: str) -> str:
                if unit == "degC":
                    return fahrenheit(_value(text), int("." in text))
                return units.significant(_value(text) * 1.8, 2)

            name = "°F"
        elif unit in ("m**3", "L") and self.gallons:
            name, each = self.gallons, self._gallons_per(unit)

            def convert(text: str) -> str:
                return units.significant(_value(text) * each, 3)

        else:
            return ""
        return f" ({re.sub(_NUMBER, lambda found: convert(found[0]), numbers)} {name})"

    def _gallons_per(self, unit: str) -> float:
        assert self.gallons is not None
        return units.convert(1.0, unit, GALLONS[self.gallons])


METRIC = DisplayUnits()


def read_line(line: str) -> DisplayUnits:
    """The units a line asks for: a currency (GBP, EUR, USD), °F or °C, and US or UK gallons or m³, in any order.

    >>> read_line("usd, F, us gallons").line()
    'USD, °F, US gallons'

    Raises Unreadable, naming what the line may contain.
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
                f"“{part[:30]}” is not known here. A line such as “USD, °F, US gallons” is needed: of "
                f"{', '.join(units.CURRENCIES)} one, °F or °C, {' or '.join(GALLONS)} or m³."
            )
    return DisplayUnits(currency, fahrenheit, gallons)


def load(folder: Path | None = None) -> DisplayUnits:
    """The units preferred in a folder (default: the current one) or its parent; METRIC if no readable line is there."""
    start = Path.cwd() if folder is None else Path(folder)
    for place in (start / NAME, start.parent / NAME):
        try:
            return read_line(place.read_text(encoding="utf-8-sig"))
        except FileNotFoundError:
            continue
        except (OSError, ValueError):
            return METRIC
    return METRIC


def keep(line: str, folder: Path) -> DisplayUnits:
    """Store a line in a folder and return its units. Raises Unreadable, OSError."""
    found = read_line(line)
    write_atomically(folder / NAME, f"{found.line()}\n".encode())
    return found


def fahrenheit(celsius: float, places: int = 0) -> str:
    """A temperature in °F as text, without its unit."""
    return units.digits(celsius * 1.8 + 32, places)


def temperature(celsius: float, places: int | None = None) -> str:
    """`DisplayUnits.temperature` in the units of the current folder."""
    return load().temperature(celsius, places)


def temperature_range(low: float, high: float, places: int | None = None, join: str = "–") -> str:
    """`DisplayUnits.temperature_range` in the units of the current folder."""
    return load().temperature_range(low, high, places, join)


def temperature_difference(kelvin: float, places: int | None = None) -> str:
    """`DisplayUnits.temperature_difference` in the units of the current folder."""
    return load().temperature_difference(kelvin, places)


def volume(cubic_metres: float, places: int | None = None) -> str:
    """`DisplayUnits.volume` in the units of the current folder."""
    return load().volume(cubic_metres, places)


def quantity(numbers: str, unit: str) -> str:
    """`DisplayUnits.quantity` in the units of the current folder."""
    return load().quantity(numbers, unit)


def localise(text: str) -> str:
    """`DisplayUnits.with_alt_units` in the units of the current folder."""
    return load().with_alt_units(text)


def without_marks(data: Any) -> Any:
    """Plain data for JSON, in metric units: the marks are taken from all its texts.

    >>> without_marks({"notes": ["the air is [2 K] cooler"], "kWh": 3})
    {'notes': ['the air is 2 K cooler'], 'kWh': 3}
    """
    if isinstance(data, str):
        return METRIC.with_alt_units(data)
    if isinstance(data, dict):
        return {key: without_marks(value) for key, value in data.items()}
    return [without_marks(value) for value in data] if isinstance(data, list | tuple) else data


def _written(value: float, places: int | None) -> str:
    """A number as text, with a true minus sign; places None: as many decimals as it needs."""
    return f"{value:g}".replace("-", "−") if places is None else units.digits(value, places)


def _value(text: str) -> float:
    """The number written as text, thousands separators and true minus sign allowed."""
    return float(re.sub(r"[\u202f\u2009,]", "", text).replace("−", "-"))

"""Values with units as people type them, and the functions for units, currencies and printed numbers in one place.

Inside the library everything is a bare float or numpy array in the unit that `nomenclature` gives. Only forms, files
and check tables pass through here.
"""

from __future__ import annotations

import math
import re

from pondheat.core.currencies import CURRENCIES, GBP, Currency, currency_of
from pondheat.core.errors import Unreadable, WrongDimension
from pondheat.core.number_format import digits, money, pretty, rate, significant, with_unit
from pondheat.core.unit_conversion import convert, registry, shorten
from pondheat.core.unit_names import WHICH_GALLON, pint_name

__all__ = [
    "CURRENCIES",
    "GBP",
    "WHICH_GALLON",
    "Currency",
    "Unreadable",
    "WrongDimension",
    "convert",
    "currency_of",
    "digits",
    "example",
    "money",
    "number",
    "parse",
    "pretty",
    "rate",
    "registry",
    "significant",
    "with_unit",
]

_SAME = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "–": "-", "º": "°", "˚": "°", "℃": "°C", "℉": "°F"}
)
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".3333333333333333", "⅔": ".6666666666666667"}
_SLASHED = re.compile(r"(?<![\d./])(?:(\d+)[ -])?(\d{1,2})/(\d{1,2})(?= ?[A-Za-z\"'″′])")  # before a unit
_NUMBER = r"[-+]?(?:(?:\d{1,3}(?:,\d{3})+(?!\d)|\d{1,3}(?: \d{3})+(?!\d)|\d+)(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
# Text that begins like a number, well or badly written; `number` decides.
_NUMERAL = r"[-+]?[\d.,½¼¾⅓⅔]+(?: \d{3}(?!\d))*(?:[.,]\d+)?(?:[eE][-+]?\d+)?(?: ?[½¼¾⅓⅔])?"
_EXAMPLES = {
    "m": "4 m or 13 ft",
    "m**2": "10 m² or 108 sq ft",
    "m**3": "12 m³ or 1500 UK gallons",
    "degC": "18 °C or 64 °F",
    "W": "3 kW",
    "kWh": "24 kWh",
    "money": "{s}6.72 or 672{h}",
    "money/kWh": "28 {h}/kWh or {s}0.28/kWh",
    "money/day": "53 {h}/day or {s}16 a month",
    "m/s": "3 m/s or 7 mph",
    "W/m**2/K": "3.1 W/m²K",
    "m**3/s": "2000 L/h",
    "Pa": "1013 hPa",
    "hour": "8 h",
    "dimensionless": "0.8 or 80 %",
    "delta_degC": "10 °C",
    "deg": "52.4° N or −1.6",
}


def example(unit: str, currency: Currency = GBP) -> str:
    """How a value in `unit` may be typed, as messages say it: ``4 m or 13 ft``."""
    return _EXAMPLES.get(unit, f"5 {pretty(unit, currency)}").format(s=currency.sign, h=currency.hundredth)


def number(text: str) -> float:
    """Value of a typed number without a unit: ``1,200.50``, ``12 000``, ``−3``, ``1e3``. Raises `Unreadable`.

    >>> number("1,200.50"), number("2½")
    (1200.5, 2.5)
    """
    shown = shorten(text.strip())
    clean = text.translate(_SAME).strip()
    for sign, digits_after in _FRACTIONS.items():
        clean = re.sub(rf"(\d) ?{sign}", rf"\g<1>{digits_after}", clean).replace(sign, "0" + digits_after)
    if not clean:
        raise Unreadable("Nothing was typed.")
    comma = re.fullmatch(r"([-+]?)(\d*|\d{1,3}(?:[. ]\d{3})+),(\d+)", clean)
    if comma and (len(comma[3]) != 3 or not re.fullmatch(r"[1-9]\d{0,2}", comma[2])):
        meant = f"{comma[1]}{re.sub('[. ]', '', comma[2]) or '0'}.{comma[3]}"
        raise Unreadable(
            f"Is “{shown}” meant as {shorten(meant)}? Write decimals with a point, as in {shorten(meant)}."
        )
    if not re.fullmatch(_NUMBER, clean):
        raise Unreadable(f"“{shown}” is not a number.")
    value = float(re.sub(r"[, ]", "", clean))
    if not math.isfinite(value):
        raise Unreadable(f"“{shown}” is too large to be right.")
    return value


def _with_unit(shown: str, value: float, unit: str, currency: Currency) -> str:
    """Likely meanings of a number typed without its unit: “15 m” or “15 ft”."""
    if unit == "money":
        return f"{currency.sign}{shown}"
    if unit.startswith("money/"):
        per = unit.removeprefix("money")
        return f"{currency.sign}{shown}{per}" if abs(value) < 1 else f"{shown} {currency.hundredth}{per}"
    likely = [pretty(unit, currency)]
    if unit == "m":
        likely = ["m", "ft"] if value >= 1 else ["m"]
    elif unit == "m**3":
        likely = ["m³", "L"] if value < 100 else ["L", "UK gallons", "US gallons"]
    elif unit == "degC":
        likely = ["°C"] if value < 32 else ["°C", "°F"] if value <= 45 else ["°F"]
    elif unit == "W" and 0 < value < 20:
        likely = ["kW"]
    elif unit == "m**3/s":
        likely = ["L/s", "L/min"] if value < 200 else ["L/h"]
    *first, last = (f"{shown} {name}" for name in likely)
    return f"{'”, “'.join(first)}” or “{last}" if first else last


def _without_unit(quoted: str, value: float, unit: str, currency: Currency) -> str:
    """Error message for a number without its unit, offering only plausible values."""
    shown = quoted.strip("“”")
    above = value > 0 if unit in ("m", "m**2", "m**3") else value >= 0 or unit in ("degC", "delta_degC", "money/kWh")
    if not above or abs(value) >= 1e6:
        return f"{quoted} has no unit. Write it as {example(unit, currency)}."
    return f"{quoted} has no unit. Did you mean “{_with_unit(shown, value, unit, currency)}”?"


def _angle(text: str) -> float | None:
    """Degrees of latitude or longitude of “52.4° N”, “1.6 W” or “−1.6°”; None for any other text."""
    match = re.fullmatch(rf"({_NUMBER})\s*(?:°|deg|degrees?)?\s*([NSEW])?", text, re.IGNORECASE)
    if not match:
        return None
    value = number(match[1])
    return -value if match[2] and match[2].upper() in "SW" else value


def parse(text, unit: str, currency: Currency = GBP, bare: bool = False) -> float:
    """The value in `unit` of what a person typed.

    `text`: "4 m", "13 ft", "13 ft 6 in", "1500 UK gallons", "18 C", "£6.72", "672p", "28 p/kWh", "£16 a month", "80 %".
    `bare`: whether a number without a unit is taken to be in `unit`; pure numbers and angles may be bare.

    >>> parse("13 ft 6 in", "m"), parse("28 p/kWh", "money/kWh"), parse("18 C", "degC")
    (4.1148, 0.28, 18.0)

    Raises `Unreadable` with a sentence on what was typed and how to type it, and `WrongDimension` where the value
    measures something else than `unit`.
    """
    if isinstance(text, bool) or text is None:
        raise Unreadable(f"A value such as {example(unit, currency)} is needed here.")
    bare = bare or unit in ("dimensionless", "deg")
    if isinstance(text, (int, float)):
        return _bare_number(text, unit, currency, bare)
    original = str(text).strip()
    shown = shorten(original)
    clean = _SLASHED.sub(_as_decimal, original.translate(_SAME).strip())
    if not clean:
        raise Unreadable(f"Nothing was typed. Write it as {example(unit, currency)}.")
    if unit == "deg" and (angle := _angle(clean)) is not None:
        return angle
    match = re.match(rf"({_NUMERAL})\s*(.*)$", _number_first(clean, currency))
    if not match:
        raise Unreadable(f"No number was found in “{shown}”. Write it as {example(unit, currency)}.")
    value, written = number(match[1]), match[2].strip()
    if not written:
        if bare:
            return value
        raise Unreadable(_without_unit(f"“{shown}”", value, unit, currency))
    return _in_unit(value, written, unit, currency, shown)


def _as_decimal(fraction: re.Match) -> str:
    """A number written as a fraction, “4 1/2” or “1/6”, as a decimal."""
    whole, above, below = (int(part or 0) for part in fraction.groups())
    return f"{whole + above / below:.12g}" if below else fraction[0]


def _bare_number(given: float, unit: str, currency: Currency, bare: bool) -> float:
    """Value of a number that came without text; raises `Unreadable` where a unit is needed."""
    try:
        value = float(given)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise Unreadable("The number is not finite.")
    if not bare:
        raise Unreadable(_without_unit(f"{given:g}", value, unit, currency))
    return value


def _number_first(text: str, currency: Currency) -> str:
    """The text with its number before its unit: “13 ft 6 in” becomes “13.5 ft”, “£6.72” becomes “6.72 £”."""
    feet = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:ft|feet|foot|'|′)\s*(\d+(?:\.\d+)?)\s*(?:in|inch|inches|\"|″)?", text)
    if feet:
        return f"{float(feet[1]) + float(feet[2]) / 12!r} ft"
    own = f"{re.escape(currency.sign)}|{re.escape(currency.code)}"
    sign_first = re.fullmatch(rf"([-+]?)\s*([£€$]|GBP|EUR|USD|{own})\s*({_NUMERAL})(.*)", text, re.IGNORECASE)
    return f"{sign_first[1]}{sign_first[3]} {sign_first[2]} {sign_first[4]}" if sign_first else text


def _in_unit(value: float, written: str, unit: str, currency: Currency, shown: str) -> float:
    """A value with the unit `written`, converted to `unit`; error messages repeat `shown`."""
    letters = written.replace(currency.sign, "").replace(currency.hundredth, "")  # these may be in any script
    if len(written) > 40 or not re.fullmatch(r"[A-Za-z°%'\"′″/*^()·×²³⁴µμ£€$¢\d ._]*", letters):
        raise Unreadable(f"“{shown}” could not be read. Write it as {example(unit, currency)}.")
    if re.search(r"(?:\bby\b|[x×])\s*\d", written):
        raise Unreadable(f"“{shown}” looks like two measurements: type one here, and the other in a box of its own.")
    name = pint_name(written, currency, "money" in unit)
    if unit in ("delta_degC", "K") and name in ("degC", "degF"):
        name = "delta_" + name
    try:
        got = convert(value, name, unit)
    except WrongDimension:
        raise WrongDimension(
            f"“{shown}” is in {written}; something like {example(unit, currency)} is needed here."
        ) from None
    except Unreadable:
        raise Unreadable(
            f"“{written}” in “{shown}” is not a unit this workbook knows. Write it as {example(unit, currency)}."
        ) from None
    if not math.isfinite(got):
        raise Unreadable(f"“{shown}” is too large to be right.")
    return round(got, 12) if abs(got) > 1e-6 else got

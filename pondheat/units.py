"""Units at the door: one pint registry that also knows money, reading what people type, printing numbers.

Inside the library everything is a bare float or numpy array in the unit that `nomenclature` gives.
Only forms, files and check tables pass through here.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

import pint


@dataclass(frozen=True)
class Currency:
    """The reader's money: code, sign and the name of its hundredth part (``p``, ``c``, ``¢``)."""

    code: str
    sign: str
    hundredth: str


CURRENCIES = {
    "GBP": Currency("GBP", "£", "p"),
    "EUR": Currency("EUR", "€", "c"),
    "USD": Currency("USD", "$", "¢"),
}
GBP = CURRENCIES["GBP"]


class Unreadable(ValueError):
    """What was typed cannot be taken as a value; the message is a sentence for the person who typed it."""


class WrongDimension(Unreadable):
    """A value was read, but it is of another kind (a power where an energy is wanted, say)."""


@functools.cache
def registry() -> pint.UnitRegistry:
    """The one pint registry (made at first use: it costs about 0.2 s)."""
    made = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    made.define("money = [currency]")
    made.define("hundredth_of_money = 0.01 * money")
    return made


def convert(value, unit: str, to: str):
    """`value` (float or list) in `unit`, as a float (or list) in unit `to`.

    Temperatures on a scale (degC, degF, kelvin) and differences (delta_degC) stay two things, except that
    kelvin may be either.

    >>> round(convert(13, "ft", "m"), 4)
    3.9624
    >>> round(convert(50, "degF", "degC"), 6)
    10.0

    Raises `WrongDimension` if the kinds differ.
    """
    if isinstance(value, (list, tuple)):
        return [convert(one, unit, to) for one in value]
    if to in ("delta_degC", "K"):
        unit = {"degC": "delta_degC", "degF": "delta_degF"}.get(unit, unit)
    ureg = registry()
    try:
        return float(ureg.Quantity(value, unit).to(to).magnitude)
    except pint.DimensionalityError:
        raise WrongDimension(f"{unit} cannot be turned into {to}: they measure different things.") from None
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError, OverflowError):
        raise Unreadable(f"“{unit}” is not a unit this workbook knows.") from None


# --- reading what people type ------------------------------------------------------------------------------------

# Written form (lower case) -> pint's name. Only what pint would miss or misread stands here.
_ALIASES = {
    "°c": "degC", "c": "degC", "deg c": "degC", "degc": "degC", "celsius": "degC", "centigrade": "degC",
    "degrees c": "degC", "degrees": "degC", "degree": "degC", "°": "degC", "degrees celsius": "degC",
    "°f": "degF", "f": "degF", "deg f": "degF", "degf": "degF", "fahrenheit": "degF", "degrees f": "degF",
    "k": "K", "kelvin": "K", "delta_degc": "delta_degC", "delta_degf": "delta_degF",
    "kwh": "kWh", "kw h": "kWh", "kw·h": "kWh", "kw*h": "kWh", "wh": "Wh", "mwh": "MWh", "units": "kWh", "unit": "kWh",
    "kw": "kW", "w": "W", "watt": "W", "watts": "W", "mj": "MJ", "kj": "kJ", "j": "J", "mw": "MW",
    "btu": "Btu", "btus": "Btu", "therm": "therm", "therms": "therm",
    "l": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "ltr": "L", "ltrs": "L",
    "m3": "m**3", "m^3": "m**3", "cubic metre": "m**3", "cubic metres": "m**3", "cubic meter": "m**3",
    "cubic meters": "m**3", "cu m": "m**3",
    "ft3": "ft**3", "ft^3": "ft**3", "cubic feet": "ft**3", "cubic foot": "ft**3", "cu ft": "ft**3",
    "m2": "m**2", "m^2": "m**2", "sq m": "m**2", "sqm": "m**2", "square metre": "m**2", "square metres": "m**2",
    "square meter": "m**2", "square meters": "m**2",
    "ft2": "ft**2", "ft^2": "ft**2", "sq ft": "ft**2", "sqft": "ft**2", "square feet": "ft**2", "square foot": "ft**2",
    "uk gallon": "imperial_gallon", "uk gallons": "imperial_gallon", "uk gal": "imperial_gallon",
    "imperial gallon": "imperial_gallon", "imperial gallons": "imperial_gallon", "imp gal": "imperial_gallon",
    "imp gallons": "imperial_gallon", "imperial_gallon": "imperial_gallon", "imperial gal": "imperial_gallon",
    "us gallon": "US_gallon", "us gallons": "US_gallon", "us gal": "US_gallon", "us liquid gallon": "US_gallon",
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m", "cm": "cm", "mm": "mm",
    "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "′": "ft", "in": "inch", "inch": "inch", "inches": "inch",
    '"': "inch", "″": "inch", "yd": "yard", "yards": "yard",
    "h": "hour", "hr": "hour", "hrs": "hour", "hour": "hour", "hours": "hour", "min": "minute", "mins": "minute",
    "minute": "minute", "minutes": "minute", "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "d": "day", "day": "day", "days": "day", "week": "week", "weeks": "week", "month": "month", "months": "month",
    "year": "year", "years": "year", "yr": "year", "yrs": "year", "a": "year",
    "mph": "mile/hour", "km/h": "km/hour", "kmh": "km/hour", "kph": "km/hour", "knots": "knot", "knot": "knot",
    "kn": "knot", "kt": "knot", "kts": "knot", "m/s": "m/s",
    "pa": "Pa", "hpa": "hPa", "kpa": "kPa", "mbar": "mbar", "millibar": "mbar", "bar": "bar", "mmhg": "mmHg",
    "lpm": "L/minute", "lph": "L/hour", "v": "V", "a_current": "A", "volt": "V", "volts": "V", "amp": "A", "amps": "A",
    "%": "percent", "per cent": "percent", "percent": "percent", "pct": "percent",
    "kg": "kg", "g": "g", "lb": "pound", "lbs": "pound", "mg": "mg", "deg": "deg",
}
_GALLON = re.compile(r"^(gal|gals|gallon|gallons|gph|gpm)$")
_SUPER = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "·": "*", "×": "*", "µ": "u", "μ": "u"})
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".3333333333333333", "⅔": ".6666666666666667"}
_NUMBER = r"[-+]?(?:\d{1,3}(?:,\d{3})+(?!\d)|\d+(?:[ \u2009\u202f]\d{3})+(?!\d)|\d+)?(?:\.\d+)?(?:[eE][-+]?\d+)?"
_EXAMPLES = {
    "m": "4 m or 13 ft", "m**2": "10 m² or 108 sq ft", "m**3": "12 m³ or 1500 UK gallons", "degC": "18 °C or 64 °F",
    "W": "3 kW", "kWh": "24 kWh", "money": "{s}6.72 or 672{h}", "money/kWh": "28 {h}/kWh or {s}0.28/kWh",
    "m/s": "3 m/s or 7 mph", "W/m**2/K": "3.1 W/m²K", "m**3/s": "2000 L/h", "Pa": "1013 hPa", "hour": "8 h",
    "dimensionless": "0.8 or 80 %", "delta_degC": "10 °C",
}


def example(unit: str, currency: Currency = GBP) -> str:
    """How a value in `unit` may be typed, for messages: ``4 m or 13 ft``."""
    return _EXAMPLES.get(unit, f"5 {pretty(unit)}").format(s=currency.sign, h=currency.hundredth)


def pretty(unit: str, currency: Currency = GBP) -> str:
    """The unit as people write it: ``W/m**2/K`` → ``W/(m²·K)``, ``money/kWh`` → ``£/kWh``.

    >>> pretty("W/m**2/K"), pretty("degC"), pretty("m**3/s")
    ('W/(m²·K)', '°C', 'm³/s')
    """
    known = {"dimensionless": "", "degC": "°C", "delta_degC": "K", "percent": "%", "hour": "h", "money": currency.sign,
             "money/kWh": f"{currency.sign}/kWh", "W/m**2/K": "W/(m²·K)", "W/m/K": "W/(m·K)", "kg/h/m**2": "kg/(m²·h)",
             "m**2*K/W": "m²·K/W", "J/kg/K": "J/(kg·K)", "delta_degC*day": "K·d", "deg": "°", "year": "years",
             "day": "days", "K/h": "K/h"}
    if unit in known:
        return known[unit]
    return (unit.replace("delta_degC", "K").replace("degC", "°C").replace("**2", "²").replace("**3", "³")
            .replace("**4", "⁴").replace("*", "·").replace("hour", "h"))


def _pint_unit(written: str, currency: Currency, money_wanted: bool) -> str:
    """What a person wrote for a unit → the name pint knows; raises `Unreadable` with a sentence."""
    text = " ".join(written.strip().split())
    for other in CURRENCIES.values():
        if other.sign in text and other.sign != currency.sign:
            raise Unreadable(f"Prices here are in {currency.sign}; “{other.sign}” is another currency.")
    text = text.replace(currency.sign, "money")
    low = text.lower().rstrip(".")
    if _GALLON.match(low.split("/")[0].strip()) or low in ("gph", "gpm"):
        raise Unreadable("Which gallon? Write “UK gallons” (4.546 L) or “US gallons” (3.785 L).")
    if not money_wanted and low in _ALIASES:
        return _ALIASES[low]
    text = text.translate(_SUPER).replace("**", "^")
    text = re.sub(r"\s*\bper\b\s*", "/", text)
    parts = re.split(r"([/*()])", text)
    out = []
    for part in parts:
        bare = part.strip()
        key = bare.lower()
        power = ""
        match = re.fullmatch(r"(.+?)\^?([234])", bare)
        if bare in ("", "/", "*", "(", ")"):
            out.append(bare)
            continue
        if key == "money":
            out.append("money")
            continue
        if money_wanted and key in (currency.hundredth.lower(), "pence", "penny", "cent", "cents", "¢"):
            out.append("hundredth_of_money")
            continue
        if money_wanted and key in (currency.code.lower(), "pound", "pounds", "euro", "euros", "dollar", "dollars", "quid"):
            out.append("money")
            continue
        if key in _ALIASES:
            out.append(_ALIASES[key])
            continue
        if match and match[1].lower() in _ALIASES and match[1].lower() not in ("f", "c"):
            bare, power = match[1], f"**{match[2]}"
            out.append(_ALIASES[bare.lower()] + power)
            continue
        # "m²K/W", "m2K": a power in the middle, then another unit
        run = re.fullmatch(r"([A-Za-z]+)\^?([23])\s*([A-Za-z°]+)", bare)
        if run and run[1].lower() in _ALIASES and run[3].lower() in _ALIASES:
            joined = f"{_ALIASES[run[1].lower()]}**{run[2]}*{_ALIASES[run[3].lower()]}"
            out.append(f"({joined})" if out and out[-1] == "/" else joined)
            continue
        pair = re.fullmatch(r"([A-Za-z]+)\s+([A-Za-z°]+)", bare)
        if pair and pair[1].lower() in _ALIASES and pair[2].lower() in _ALIASES:
            joined = f"{_ALIASES[pair[1].lower()]}*{_ALIASES[pair[2].lower()]}"
            out.append(f"({joined})" if out and out[-1] == "/" else joined)
            continue
        run = re.fullmatch(r"m(K|C|°C)", bare)
        if run:
            out.append("(m*K)" if out and out[-1] == "/" else "m*K")
            continue
        out.append(bare)
    name = "".join(out).replace("^", "**")
    if "degC" in name and name != "degC" and "delta_degC" not in name:
        name = name.replace("degC", "delta_degC")
    if "degF" in name and name != "degF" and "delta_degF" not in name:
        name = name.replace("degF", "delta_degF")
    return name


def number(text: str) -> float:
    """A typed number without a unit: ``1,200.50``, ``12 000``, ``−3``, ``1e3``. Raises `Unreadable`.

    >>> number("1,200.50"), number("2½")
    (1200.5, 2.5)
    """
    clean = text.strip().replace("\u00a0", " ").replace("\u2212", "-").replace("–", "-")
    for sign, digits in _FRACTIONS.items():
        clean = re.sub(rf"(\d)\s*{sign}", rf"\g<1>{digits}", clean).replace(sign, "0" + digits)
    if not clean:
        raise Unreadable("Nothing was typed.")
    comma = re.search(r"(\d*),(\d+)", clean)
    if comma and not re.fullmatch(_NUMBER, clean) or re.match(r"[-+]?0\d*,", clean):
        whole, part = (comma[1] or "0", comma[2]) if comma else ("", "")
        raise Unreadable(f"Is “{text.strip()}” meant as {whole}.{part}? Write decimals with a point, as in {whole}.{part}.")
    if not re.fullmatch(_NUMBER, clean) or not re.search(r"\d", clean):
        raise Unreadable(f"“{text.strip()[:40]}” is not a number.")
    value = float(re.sub(r"[, \u2009\u202f]", "", clean))
    if not math.isfinite(value):
        raise Unreadable(f"“{text.strip()[:40]}” is too large to be meant.")
    return value


def parse(text, unit: str, currency: Currency = GBP, bare: bool = False) -> float:
    """What a person typed, as a float in `unit`.

    `text`: "4 m", "13 ft", "13 ft 6 in", "1500 UK gallons", "18 C", "£6.72", "672p", "28 p/kWh", "80 %".
    `bare`: a number without a unit is taken to be in `unit`; otherwise only where `unit` is dimensionless or deg.

    >>> parse("13 ft 6 in", "m"), parse("28 p/kWh", "money/kWh"), parse("18 C", "degC")
    (4.1148, 0.28, 18.0)

    Raises `Unreadable` (with a sentence that says what was typed and how to type it), or `WrongDimension` when the
    value is of another kind than `unit`.
    """
    if isinstance(text, bool) or text is None:
        raise Unreadable(f"A value such as {example(unit, currency)} is wanted here.")
    if isinstance(text, (int, float)):
        if not math.isfinite(text):
            raise Unreadable("The number is not finite.")
        if bare or unit in ("dimensionless", "deg"):
            return float(text)
        raise Unreadable(f"{text:g} has no unit. Did you mean “{text:g} {pretty(unit, currency)}”?")
    original = str(text).strip()
    shown = original if len(original) <= 40 else original[:37] + "…"
    clean = original.replace("\u00a0", " ").replace("\u2212", "-")
    if not clean:
        raise Unreadable(f"Nothing was typed. Write it as {example(unit, currency)}.")
    money_wanted = "money" in unit
    feet = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:ft|feet|foot|'|′)\s*(\d+(?:\.\d+)?)\s*(?:in|inch|inches|\"|″)?\s*", clean)
    if feet:
        clean = f"{float(feet[1]) + float(feet[2]) / 12!r} ft"
    signed = re.fullmatch(rf"([-+]?)\s*([£€$])\s*({_NUMBER})(.*)", clean)
    if signed:
        clean = f"{signed[1]}{signed[3]} {signed[2]}{signed[4].strip()}"
    match = re.match(r"\s*([-+]?[\d.,½¼¾⅓⅔]+(?:[ \u2009\u202f]\d{3}(?!\d))*(?:\.\d+)?(?:[eE][-+]?\d+)?[½¼¾]?)\s*(.*)$", clean)
    if not match:
        raise Unreadable(f"No number was found in “{shown}”. Write it as {example(unit, currency)}.")
    value = number(match[1])
    written = match[2].strip()
    if not written:
        if bare or unit in ("dimensionless", "deg"):
            return value
        raise Unreadable(f"“{shown}” has no unit. Did you mean “{shown} {pretty(unit, currency)}”?")
    if len(written) > 40 or not re.fullmatch(r"[A-Za-z°%'\"′″/*^()·×²³⁴µμ£€$¢\d ._]+", written):
        raise Unreadable(f"“{shown}” could not be read. Write it as {example(unit, currency)}.")
    name = _pint_unit(written, currency, money_wanted)
    if unit in ("delta_degC", "K") and name in ("degC", "degF"):
        name = "delta_" + name
    try:
        return _in_unit(value, name, unit)
    except WrongDimension:
        raise WrongDimension(f"“{shown}” is in {written}; something like {example(unit, currency)} is wanted here.") from None
    except Unreadable:
        raise Unreadable(f"“{written}” in “{shown}” is not a unit this workbook knows. "
                         f"Write it as {example(unit, currency)}.") from None


def _in_unit(value: float, name: str, unit: str) -> float:
    # An energy per day typed for a power, and the other way round, are one thing to pint already.
    got = convert(value, name, unit)
    if not math.isfinite(got):
        raise Unreadable("not finite")
    return round(got, 12) if got and abs(got) > 1e-6 else got


# --- printing -----------------------------------------------------------------------------------------------------

def digits(value: float, places: int = 0) -> str:
    """A number with fixed places and a thin space in thousands; ``never`` for infinity.

    >>> digits(12345.678, 1), digits(-0.04)
    ('12\\u202f345.7', '0')
    """
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "never"
    text = f"{value:,.{places}f}".replace(",", "\u202f")
    return text[1:] if text.startswith("-") and not any(c in "123456789" for c in text) else text.replace("-", "−", 1)


def significant(value: float, figures: int = 3) -> str:
    """A number rounded to so many significant figures, thin space in thousands.

    >>> significant(0.03456), significant(45678.0, 3)
    ('0.0346', '45\\u202f700')
    """
    if value is None or not math.isfinite(value) or value == 0:
        return digits(value if value is not None else math.nan)
    power = math.floor(math.log10(abs(value)))
    rounded = round(value, figures - 1 - power)
    return digits(rounded, max(0, figures - 1 - math.floor(math.log10(abs(rounded)))))


def money(value: float, currency: Currency = GBP, places: int | None = None) -> str:
    """An amount in the reader's money: pennies shown below 20 only.

    >>> money(312.47), money(6.72)
    ('£312', '£6.72')
    """
    if value is None or math.isnan(value) or math.isinf(value):
        return digits(value if value is not None else math.nan)
    if places is None:
        places = 2 if abs(value) < 20 else 0
    text = digits(abs(value), places)
    minus = "−" if value < 0 and any(c in "123456789" for c in text) else ""
    return f"{minus}{currency.sign}{text}"


def rate(value: float, currency: Currency = GBP) -> str:
    """A price per kWh in hundredths: ``28.0 p/kWh``."""
    return f"{digits(100 * value, 1)} {currency.hundredth}/kWh"

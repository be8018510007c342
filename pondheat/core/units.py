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


def currency_of(value) -> Currency:
    """The reader's currency from its code ("GBP", "EUR", "USD"), or any other from a table of code, sign and hundredth.

    >>> currency_of({"code": "SEK", "sign": "kr", "hundredth": "öre"}).sign
    'kr'

    Raises `Unreadable`.
    """
    if isinstance(value, dict):
        parts = {name: str(value.get(name, "")).strip() for name in ("code", "sign", "hundredth")}
        short = all(re.fullmatch(r"[^\W\d]{1,6}|[^\w\s.,+*/()^-]", part) for part in parts.values())
        if set(value) - set(parts) or not short:
            raise Unreadable(
                'A currency of your own needs three short words: { code = "SEK", sign = "kr", hundredth = "öre" }.'
            )
        return Currency(**parts)
    code = str(value).strip().upper()
    if code not in CURRENCIES:
        raise Unreadable(
            f"“{str(value)[:20]}” is not a currency known here. Known: {', '.join(CURRENCIES)}; any other "
            'as { code = "SEK", sign = "kr", hundredth = "öre" }.'
        )
    return CURRENCIES[code]


class WrongDimension(Unreadable):
    """A value was read, but it is of another kind (a power where an energy is wanted, say)."""


@functools.cache
def registry() -> pint.UnitRegistry:
    """The one pint registry (made at first use: it costs about 0.2 s)."""
    made = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    made.define("money = [currency]")
    made.define("hundredth_of_money = 0.01 * money")
    return made


# Names, products, quotients and one small power each: pint would reckon 9**9**9 for as long as the machine lasts.
_UNIT_TEXT = re.compile(
    r"(?:[A-Za-zµμΩ°%][A-Za-z0-9_µμ]*+|\s|[()/·]|\*(?!\*)|1(?=\s*/)"
    r"|(?:\*\*|\^)\s*-?[1-4](?!\s*[\d.^]|\s*\*\*)|[²³⁴](?![²³⁴]))*+"
)
_BARE_GALLON = re.compile(r"\b(?:gal|gals|gallons?|gph|gpm)\b", re.IGNORECASE)
WHICH_GALLON = "Which gallon? Write “UK gallons” (4.546 L) or “US gallons” (3.785 L)."


def _unit(text: str) -> pint.Unit:
    """pint's unit of that name; raises `Unreadable`."""
    if not text.strip():
        text = "dimensionless"
    if _BARE_GALLON.search(text):
        raise Unreadable("Which gallon? Write imperial_gallon (4.546 L) or US_liquid_gallon (3.785 L).")
    try:
        if len(text) <= 80 and _UNIT_TEXT.fullmatch(text):
            return registry().Unit(text)
    except Exception:  # pint lets out whatever its tokenizer and its arithmetic meet
        pass
    raise Unreadable(f"“{_short(text)}” is not a unit this workbook knows.")


def _temperature_kind(unit: pint.Unit) -> str:
    if str(unit).startswith("delta_"):
        return "difference"
    return "scale" if str(unit) in ("degree_Celsius", "degree_Fahrenheit") else ""


def convert(value, unit: str, to: str):
    """`value` (float or list) in `unit`, as a float (or list) in unit `to`.

    Temperatures on a scale (degC, degF) and differences (delta_degC) stay two things; kelvin may be either.

    >>> round(convert(13, "ft", "m"), 4)
    3.9624
    >>> round(convert(50, "degF", "degC"), 6), convert(6, "K", "delta_degC")
    (10.0, 6.0)

    Raises `WrongDimension` if the kinds differ, `Unreadable` for what is no unit.
    """
    if isinstance(value, (list, tuple)):
        return [convert(one, unit, to) for one in value]
    source, target = _unit(unit), _unit(to)
    if {_temperature_kind(source), _temperature_kind(target)} == {"scale", "difference"}:
        raise WrongDimension(f"{unit} cannot be turned into {to}: one is a temperature, the other a difference of two.")
    try:
        return float(registry().Quantity(value, source).to(target).magnitude)
    except pint.DimensionalityError:
        raise WrongDimension(
            f"{unit or 'A bare number'} cannot be turned into {to}: they measure different things."
        ) from None
    except (pint.PintError, ArithmeticError):
        raise Unreadable(f"{unit} cannot be turned into {to}.") from None


# --- reading what people type ------------------------------------------------------------------------------------

# pint's name -> how people write it (lower case). Only what pint would miss or misread stands here.
_WRITTEN = {
    "degC": "°c, c, degc, deg c, °, degree, degrees, degrees c, degrees celsius, celsius, celcius, centigrade",
    "degF": "°f, f, degf, deg f, degrees f, degrees fahrenheit, fahrenheit",
    "K": "k, kelvin",
    "delta_degC": "delta_degc",
    "delta_degF": "delta_degf",
    "deg": "deg",
    "kWh": "kwh, kw h, units, unit",
    "Wh": "wh, w h",
    "MWh": "mwh",
    "MJ": "mj",
    "kJ": "kj",
    "J": "j",
    "Btu": "btu, btus",
    "therm": "therm, therms",
    "kW": "kw",
    "W": "w, watt, watts",
    "MW": "mw",
    "L": "l, litre, litres, liter, liters, ltr, ltrs",
    "imperial_gallon": "uk gallon, uk gallons, uk gal, imperial gallon, imperial gallons, imperial gal, imp gal, "
    "imp gallon, imp gallons, imperial_gallon",
    "US_liquid_gallon": "us gallon, us gallons, us gal, us liquid gallon, us liquid gallons, us_liquid_gallon",
    "imperial_gallon/hour": "uk gph",
    "US_liquid_gallon/hour": "us gph",
    "imperial_gallon/minute": "uk gpm",
    "US_liquid_gallon/minute": "us gpm",
    "m": "m, metre, metres, meter, meters",
    "cm": "cm",
    "mm": "mm",
    "yard": "yd, yard, yards",
    "ft": "ft, feet, foot, ', ′",
    "inch": 'in, inch, inches, ", ″',
    "hour": "h, hr, hrs, hour, hours",
    "minute": "min, mins, minute, minutes",
    "s": "s, sec, secs, second, seconds",
    "day": "d, day, days",
    "week": "week, weeks",
    "month": "month, months",
    "year": "year, years, yr, yrs, a",
    "mile/hour": "mph",
    "km/hour": "kmh, kph",
    "knot": "knot, knots, kn, kt, kts",
    "Pa": "pa",
    "hPa": "hpa",
    "kPa": "kpa",
    "mbar": "mbar, mb, millibar, millibars",
    "bar": "bar",
    "mmHg": "mmhg",
    "L/minute": "lpm",
    "L/hour": "lph",
    "ft**3/minute": "cfm",
    "V": "v, volt, volts",
    "A": "amp, amps, ampere, amperes",
    "percent": "%, per cent, percent, pct",
    "kg": "kg",
    "g": "g",
    "mg": "mg",
    "pound": "lb, lbs",
}
_ALIASES = {form: name for name, forms in _WRITTEN.items() for form in forms.split(", ")}
for _length in ("m", "cm", "mm", "ft", "inch"):
    for _form in _WRITTEN[_length].split(", "):
        _ALIASES |= {
            f"{word} {_form}": f"{_length}**{power}"
            for word, power in (("sq", 2), ("square", 2), ("cu", 3), ("cubic", 3))
        }
_ALIASES |= {"sqm": "m**2", "sqft": "ft**2", "cuft": "ft**3"}
# What people call their money: the whole and its hundredth part.
_MONEY = {
    "GBP": (("gbp", "pound", "pounds", "quid"), ("p", "penny", "pence")),
    "EUR": (("eur", "euro", "euros"), ("c", "ct", "cent", "cents")),
    "USD": (("usd", "dollar", "dollars"), ("¢", "c", "cent", "cents")),
}
_SAME = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "–": "-", "º": "°", "˚": "°", "℃": "°C", "℉": "°F"}
)
_POWERS = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "×": "*", "·": " "})
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".3333333333333333", "⅔": ".6666666666666667"}
_NUMBER = r"[-+]?(?:(?:\d{1,3}(?:,\d{3})+(?!\d)|\d{1,3}(?: \d{3})+(?!\d)|\d+)(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
# What begins like a number, well or badly written; `number` judges it.
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
    """How a value in `unit` may be typed, for messages: ``4 m or 13 ft``."""
    return _EXAMPLES.get(unit, f"5 {pretty(unit, currency)}").format(s=currency.sign, h=currency.hundredth)


def pretty(unit: str, currency: Currency = GBP) -> str:
    """The unit as people write it: ``W/m**2/K`` → ``W/(m²·K)``, ``money/kWh`` → ``£/kWh``.

    >>> pretty("W/m**2/K"), pretty("degC"), pretty("m**3/s")
    ('W/(m²·K)', '°C', 'm³/s')
    """
    known = {
        "dimensionless": "",
        "degC": "°C",
        "delta_degC": "K",
        "percent": "%",
        "hour": "h",
        "W/m**2/K": "W/(m²·K)",
        "W/m/K": "W/(m·K)",
        "kg/h/m**2": "kg/(m²·h)",
        "m**2*K/W": "m²·K/W",
        "J/kg/K": "J/(kg·K)",
        "delta_degC*day": "K·d",
        "deg": "°",
        "year": "years",
        "day": "days",
        "K/h": "K/h",
    }
    if unit in known:
        return known[unit]
    return (
        unit.replace("delta_degC", "K")
        .replace("degC", "°C")
        .replace("**2", "²")
        .replace("**3", "³")
        .replace("**4", "⁴")
        .replace("*", "·")
        .replace("hour", "h")
        .replace("hundredth_of_money", currency.hundredth)
        .replace("money", currency.sign)
    )


def _money_name(word: str, currency: Currency) -> str | None:
    """pint's name where `word` names the reader's money; raises `Unreadable` where it names another."""
    low = word.lower()
    whole, hundredth = _MONEY.get(currency.code, ((), ()))
    if word == currency.sign or low in (currency.code.lower(), *whole):
        return "money"
    if low in (currency.hundredth.lower(), *hundredth):
        return "hundredth_of_money"
    for other in CURRENCIES.values():
        if word == other.sign or low in (other.hundredth, *_MONEY[other.code][0], *_MONEY[other.code][1]):
            raise Unreadable(
                f"Prices here are in {currency.sign} and {currency.hundredth}; “{word}” is another currency."
            )
    return None


def _one_unit(word: str, currency: Currency, money_wanted: bool) -> str | None:
    """pint's name for one written unit, perhaps with a power (“m^2”, “ft3”); None where it is not known so."""
    low = word.lower()
    if word == currency.sign or money_wanted or word in [c.sign for c in CURRENCIES.values()]:
        if name := _money_name(word, currency):
            return name
    if _BARE_GALLON.fullmatch(low):
        raise Unreadable(WHICH_GALLON)
    if word in ("mW", "mWh", "mJ"):
        raise Unreadable(f"In “{word}” the m means a thousandth. Write M for a million: M{word[1:]}.")
    if word == "A":
        return "A"
    if low in _ALIASES:
        return _ALIASES[low]
    power = re.fullmatch(r"(.+?)\^?([234])", low)
    if power and power[1] in _ALIASES and "deg" not in _ALIASES[power[1]]:
        return f"{_ALIASES[power[1]]}**{power[2]}"
    if pair := re.fullmatch(r"(m|kg)(K|°?C)", word):  # W/mK, kJ/kgK
        return f"{pair[1]}*K"
    return None


def _product(text: str, currency: Currency, money_wanted: bool) -> list[str]:
    """Units written side by side (“m^2 K”, “m^2K”, “US gallons”) as pint's names, each the longest that is known."""
    words = re.findall(r"[A-Za-z]+\^?[234](?=[A-Za-z°])|\S+", text)  # “m2K” is two units
    names = []
    while words:
        for count in range(min(3, len(words)), 0, -1):
            name = _one_unit(" ".join(words[:count]), currency, money_wanted)
            if name:
                break
        names.append(name or words[0])
        words = words[count:]
    return names


def _pint_unit(written: str, currency: Currency, money_wanted: bool) -> str:
    """What a person wrote for a unit → the name pint knows; raises `Unreadable` with a sentence."""
    text = re.sub(r"°\s+(?=[CFcf]\b)", "°", written.translate(_POWERS)).rstrip(". ")
    text = re.sub(r"\.(?=\s*[A-Za-z°])", " ", text)  # “sq. ft”, “W/m2.K”
    if name := _one_unit(" ".join(text.split()), currency, money_wanted):
        return name
    text = re.sub(r"(?<=\S)\s+(?:per|an?)\s+(?=\S)", "/", text)
    out: list[str] = []
    for part in re.split(r"([/*()])", text):
        if not part.strip() or part in "/*()":
            out.append(part.strip())
            continue
        names = _product(part, currency, money_wanted)
        joined = "*".join(names)
        # what stands side by side after a stroke stands under it: W/m²K is W/(m²·K)
        under = [o for o in out if o][-1:] == ["/"] and "*" in joined.replace("**", "")
        out.append(f"({joined})" if under else joined)
    name = "".join(out).replace("^", "**")
    for scale in ("degC", "degF"):
        if name != scale:
            name = re.sub(rf"(?<!delta_){scale}", f"delta_{scale}", name)
    return name


def number(text: str) -> float:
    """A typed number without a unit: ``1,200.50``, ``12 000``, ``−3``, ``1e3``. Raises `Unreadable`.

    >>> number("1,200.50"), number("2½")
    (1200.5, 2.5)
    """
    shown = _short(text.strip())
    clean = text.translate(_SAME).strip()
    for sign, digits_after in _FRACTIONS.items():
        clean = re.sub(rf"(\d) ?{sign}", rf"\g<1>{digits_after}", clean).replace(sign, "0" + digits_after)
    if not clean:
        raise Unreadable("Nothing was typed.")
    comma = re.fullmatch(r"([-+]?)(\d*|\d{1,3}(?:[. ]\d{3})+),(\d+)", clean)
    if comma and (len(comma[3]) != 3 or not re.fullmatch(r"[1-9]\d{0,2}", comma[2])):
        meant = f"{comma[1]}{re.sub('[. ]', '', comma[2]) or '0'}.{comma[3]}"
        raise Unreadable(f"Is “{shown}” meant as {_short(meant)}? Write decimals with a point, as in {_short(meant)}.")
    if not re.fullmatch(_NUMBER, clean):
        raise Unreadable(f"“{shown}” is not a number.")
    value = float(re.sub(r"[, ]", "", clean))
    if not math.isfinite(value):
        raise Unreadable(f"“{shown}” is too large to be meant.")
    return value


def _short(text: str) -> str:
    """Text as it is quoted back, cut where it is long."""
    return text if len(text) <= 40 else text[:37] + "…"


def _with_unit(shown: str, value: float, unit: str, currency: Currency) -> str:
    """A number typed without its unit, as it was perhaps meant: “15 m” or “15 ft”."""
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
    """The sentence for a number without its unit; what is offered must be such as could be meant."""
    shown = quoted.strip("“”")
    above = value > 0 if unit in ("m", "m**2", "m**3") else value >= 0 or unit in ("degC", "delta_degC", "money/kWh")
    if not above or abs(value) >= 1e6:
        return f"{quoted} has no unit. Write it as {example(unit, currency)}."
    return f"{quoted} has no unit. Did you mean “{_with_unit(shown, value, unit, currency)}”?"


def _angle(text: str) -> float | None:
    """Degrees of latitude or longitude from “52.4° N”, “1.6 W”, “−1.6°”; None where it is written otherwise."""
    match = re.fullmatch(rf"({_NUMBER})\s*(?:°|deg|degrees?)?\s*([NSEW])?", text, re.IGNORECASE)
    if not match:
        return None
    value = number(match[1])
    return -value if match[2] and match[2].upper() in "SW" else value


def parse(text, unit: str, currency: Currency = GBP, bare: bool = False) -> float:
    """What a person typed, as a float in `unit`.

    `text`: "4 m", "13 ft", "13 ft 6 in", "1500 UK gallons", "18 C", "£6.72", "672p", "28 p/kWh", "£16 a month", "80 %".
    `bare`: a number without a unit is taken to be in `unit`; otherwise only where `unit` is dimensionless or deg.

    >>> parse("13 ft 6 in", "m"), parse("28 p/kWh", "money/kWh"), parse("18 C", "degC")
    (4.1148, 0.28, 18.0)

    Raises `Unreadable` (with a sentence that says what was typed and how to type it), or `WrongDimension` when the
    value is of another kind than `unit`.
    """
    if isinstance(text, bool) or text is None:
        raise Unreadable(f"A value such as {example(unit, currency)} is wanted here.")
    unitless = bare or unit in ("dimensionless", "deg")
    if isinstance(text, (int, float)):
        try:
            value = float(text)
        except OverflowError:
            value = math.inf
        if not math.isfinite(value):
            raise Unreadable("The number is not finite.")
        if unitless:
            return value
        raise Unreadable(_without_unit(f"{text:g}", value, unit, currency))
    original = str(text).strip()
    shown = _short(original)
    clean = original.translate(_SAME).strip()
    if not clean:
        raise Unreadable(f"Nothing was typed. Write it as {example(unit, currency)}.")
    if unit == "deg" and (angle := _angle(clean)) is not None:
        return angle
    feet = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:ft|feet|foot|'|′)\s*(\d+(?:\.\d+)?)\s*(?:in|inch|inches|\"|″)?", clean)
    if feet:
        clean = f"{float(feet[1]) + float(feet[2]) / 12!r} ft"
    own = f"{re.escape(currency.sign)}|{re.escape(currency.code)}"
    sign_first = re.fullmatch(rf"([-+]?)\s*([£€$]|GBP|EUR|USD|{own})\s*({_NUMERAL})(.*)", clean, re.IGNORECASE)
    if sign_first:
        clean = f"{sign_first[1]}{sign_first[3]} {sign_first[2]} {sign_first[4]}"
    match = re.match(rf"({_NUMERAL})\s*(.*)$", clean)
    if not match:
        raise Unreadable(f"No number was found in “{shown}”. Write it as {example(unit, currency)}.")
    value = number(match[1])
    written = match[2].strip()
    if not written:
        if unitless:
            return value
        raise Unreadable(_without_unit(f"“{shown}”", value, unit, currency))
    usual = written.replace(currency.sign, "").replace(currency.hundredth, "")  # these may be any letters
    if len(written) > 40 or not re.fullmatch(r"[A-Za-z°%'\"′″/*^()·×²³⁴µμ£€$¢\d ._]*", usual):
        raise Unreadable(f"“{shown}” could not be read. Write it as {example(unit, currency)}.")
    name = _pint_unit(written, currency, "money" in unit)
    if unit in ("delta_degC", "K") and name in ("degC", "degF"):
        name = "delta_" + name
    try:
        got = convert(value, name, unit)
    except WrongDimension:
        raise WrongDimension(
            f"“{shown}” is in {written}; something like {example(unit, currency)} is wanted here."
        ) from None
    except Unreadable:
        raise Unreadable(
            f"“{written}” in “{shown}” is not a unit this workbook knows. Write it as {example(unit, currency)}."
        ) from None
    if not math.isfinite(got):
        raise Unreadable(f"“{shown}” is too large to be meant.")
    return round(got, 12) if abs(got) > 1e-6 else got


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
    if currency.sign.isalpha():  # a word stands behind, a sign before: 180 kr, £180
        return f"{minus}{text} {currency.sign}"
    return f"{minus}{currency.sign}{text}"


def rate(value: float, currency: Currency = GBP) -> str:
    """A price per kWh in hundredths: ``28.0 p/kWh``."""
    return f"{digits(100 * value, 1)} {currency.hundredth}/kWh"

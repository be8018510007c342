"""Names of units as people write them, translated to those that pint knows."""

from __future__ import annotations

import re

from pondheat.core.currencies import CURRENCIES, SPOKEN_NAMES, Currency
from pondheat.core.errors import OTHER_CURRENCY, OtherCurrency, Unreadable
from pondheat.core.unit_conversion import BARE_GALLON

# pint's name → how people write it (lower case), for what pint would not know or would misread.
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
_POWERS = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "×": "*", "·": " "})
WHICH_GALLON = "Which gallon? Write “UK gallons” (4.546 L) or “US gallons” (3.785 L)."


def _money_name(word: str, currency: Currency) -> str | None:
    """pint's name of a word for the reader's money, None for other words. Raises `OtherCurrency`."""
    low = word.lower()
    whole, hundredth = SPOKEN_NAMES.get(currency.code, ((), ()))
    if word == currency.sign or low in (currency.code.lower(), *whole):
        return "money"
    if low in (currency.hundredth.lower(), *hundredth):
        return "hundredth_of_money"
    for other in CURRENCIES.values():
        if word == other.sign or low in (other.hundredth, *SPOKEN_NAMES[other.code][0], *SPOKEN_NAMES[other.code][1]):
            raise OtherCurrency(
                f"Prices here are in {currency.sign} and {currency.hundredth}; “{word}” {OTHER_CURRENCY}."
            )
    return None


def _one_unit(word: str, currency: Currency, money_wanted: bool) -> str | None:
    """pint's name of one unit as written, perhaps with a power (“m^2”, “ft3”); None for an unknown one."""
    low = word.lower()
    may_be_money = money_wanted or word == currency.sign or word in [c.sign for c in CURRENCIES.values()]
    if may_be_money and (name := _money_name(word, currency)):
        return name
    if BARE_GALLON.fullmatch(low):
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
    """pint's names of units written side by side (“m^2 K”, “m^2K”, “US gallons”), each the longest known."""
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


def pint_name(written: str, currency: Currency, money_wanted: bool) -> str:
    """pint's name of a unit as people write it. Raises `Unreadable` with a sentence."""
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
        # units side by side after a slash all belong to the denominator: W/m²K is W/(m²·K)
        under = [o for o in out if o][-1:] == ["/"] and "*" in joined.replace("**", "")
        out.append(f"({joined})" if under else joined)
    name = "".join(out).replace("^", "**")
    for scale in ("degC", "degF"):
        if name != scale:
            name = re.sub(rf"(?<!delta_){scale}", f"delta_{scale}", name)
    return name

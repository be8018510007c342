"""Numbers, amounts of money and units as they are printed for readers."""

from __future__ import annotations

import math
import re
import unicodedata

from pondheat.core.currencies import GBP, Currency

NO_BREAK = "\u00a0"
_UNITS = "[kM]?Wh|k?W|m?A|°[CF]|K|[kMh]?(?:J|Pa)|[ckm]?m[²³]?|[km]?g|m?L|h|%|p|¢|[£$€](?=/)|ft[²³]?|lb|gal"
_MONTHS = "(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*"
_COUNTED = (
    "seconds?|hours?|days?|nights?|evenings?|weeks?|months?|winters?|seasons?|years?|times|degrees?|"
    "degree-(?:day|hour)s?|watts?|kilowatts?|joules|litres?|(?:UK|US) gallons|tonnes?|met(?:re|er)s?|feet|inch(?:es)?|"
    "pence|pounds|cents|dollars|euros?|readings?|ponds?|fish"
)
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS}|{_MONTHS}|{_COUNTED})(?!\w))")


def unbroken(text: str) -> str:
    """A text for a page, in which no line end parts a number from its unit or what it counts, or a day from its month.

    >>> unbroken("3 kW for 5 hours at 18 °C") == "3\\u00a0kW for 5\\u00a0hours at 18\\u00a0°C"
    True
    """
    return _BEFORE_UNIT.sub(NO_BREAK, text)


def pretty(unit: str, currency: Currency = GBP) -> str:
    """A unit as people write it: ``W/m**2/K`` → ``W/(m²·K)``, ``money/kWh`` → ``£/kWh``.

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


def with_unit(number: str, unit: str, space: str = " ") -> str:
    """A written number with its unit, as `pretty` writes it; a sign of money precedes it.

    >>> with_unit("12.1", "mg/L"), with_unit("−15.95", "£"), with_unit("180", "kr"), with_unit("7", "")
    ('12.1 mg/L', '−£15.95', '180 kr', '7')
    """
    if len(unit) == 1 and unicodedata.category(unit) == "Sc":
        return f"−{unit}{number[1:]}" if number.startswith("−") else f"{unit}{number}"
    return f"{number}{space}{unit}".rstrip()


def digits(value: float, places: int = 0) -> str:
    """A number with fixed decimal places and commas between thousands; ``never`` for infinity.

    >>> digits(12345.678, 1), digits(-0.04)
    ('12,345.7', '0')
    """
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "never"
    text = f"{value:,.{places}f}"
    return text[1:] if text.startswith("-") and not any(c in "123456789" for c in text) else text.replace("-", "−", 1)


def counted(count, one: str, many: str) -> str:
    """A whole number with the words that follow it, in the singular after 1.

    >>> counted(1, "row has", "rows have"), counted(0, "row", "rows")
    ('1 row has', '0 rows')
    """
    return f"{int(count)} {one if int(count) == 1 else many}"


def times(count: int) -> str:
    """How often something happens, in words.

    >>> times(1), times(5)
    ('once', '5 times')
    """
    return "once" if count == 1 else f"{count} times"


def significant(value: float, figures: int = 3) -> str:
    """A number rounded to significant figures, with commas between thousands.

    >>> significant(0.03456), significant(45678.0, 3)
    ('0.0346', '45,700')
    """
    if value is None or not math.isfinite(value) or value == 0:
        return digits(value if value is not None else math.nan)
    power = math.floor(math.log10(abs(value)))
    rounded = round(value, figures - 1 - power)
    return digits(rounded, max(0, figures - 1 - math.floor(math.log10(abs(rounded)))))


def money(value: float, currency: Currency = GBP, places: int | None = None) -> str:
    """An amount of money, with its hundredths below 20 only.

    >>> money(312.47), money(6.72)
    ('£312', '£6.72')
    """
    if value is None or math.isnan(value) or math.isinf(value):
        return digits(value if value is not None else math.nan)
    if places is None:
        places = 2 if abs(value) < 20 else 0
    text = digits(abs(value), places)
    minus = "−" if value < 0 and any(c in "123456789" for c in text) else ""
    if currency.sign.isalpha():  # words follow the amount, signs precede it: 180 kr, £180
        return f"{minus}{text} {currency.sign}"
    return f"{minus}{currency.sign}{text}"


def rate(value: float, currency: Currency = GBP) -> str:
    """A price per kWh in hundredths of the currency: ``28.0 p/kWh``."""
    return f"{digits(100 * value, 1)} {currency.hundredth}/kWh"

"""Parse values as people write them in TOML tables: rates, charges, clock times, days and dates."""

from __future__ import annotations

import difflib
import functools
import re
import zoneinfo
from collections.abc import Callable
from datetime import date, datetime, time

from pondheat.core import ranges, units
from pondheat.core.units import Unreadable

DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_DAY_GROUPS = {"all": range(7), "weekdays": range(5), "weekends": range(5, 7)}
REQUIRED = object()


class TableReader:
    """Reads the values of one TOML table and collects what is wrong with them.

    known: keys that the table may have; path: of the table in its file; faults: list of (key path, sentence).
    """

    def __init__(self, values: dict, known: tuple[str, ...], path: str = ""):
        self.values, self.path = values, f"{path}." if path else ""
        self.faults: list[tuple[str, str]] = []
        for key in values:
            if key not in known:
                near = difflib.get_close_matches(str(key).lower(), known, 1, 0.6)
                hint = f" Did you mean “{near[0]}”?" if near else ""
                self.fault(key, f"“{key}” is not a key of this table.{hint} Known: {', '.join(known)}.")

    def fault(self, key: str, sentence: str) -> None:
        """Add a fault of `key`."""
        self.faults.append((f"{self.path}{key}", sentence))

    def take(self, key: str, read: Callable, absent=REQUIRED, example: str = ""):
        """The value of `key`, parsed by `read`; None and a fault where that raises ValueError.

        absent: returned where the key is missing; REQUIRED adds a fault with `example`.
        """
        if key not in self.values:
            if absent is REQUIRED:
                self.fault(key, f"“{key}” is missing: write {key} = {example}.")
                return None
            return absent
        try:
            return read(self.values[key])
        except ValueError as wrong:
            self.fault(key, str(wrong))
            return None


def text(value) -> str:
    """Text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise Unreadable(f"This needs text in quotation marks, not {value!r}.")
    return value.strip()


def yes_or_no(value) -> bool:
    """True or false, as TOML has them."""
    if not isinstance(value, bool):
        raise Unreadable(f"Write true or false here (without quotation marks), not {value!r}.")
    return value


def fraction(value) -> float:
    """A share [–] from “5 %” or 0.05."""
    given = units.parse(value, "dimensionless")
    wrong = ranges.range_error("share", given, typed=f"{given:g}")
    if wrong and str(value).strip().endswith("%"):
        meant = f"; did you mean {ranges.percentages(given / 100, given / 10)}?" if 1.5 <= given <= 10 else "."
        raise Unreadable(f"“{value}” can't be right: it should be between 0 and 100 %{meant}")
    if wrong:
        raise Unreadable(wrong)
    return given


def rate(value, currency: units.Currency) -> float:
    """A price per kilowatt-hour [money/kWh] from “28 p/kWh”; a hundredfold price is refused."""
    return _price(value, "kWh", f"28 {currency.hundredth}/kWh", currency, price_limits("rate", currency))


def daily_charge(value, currency: units.Currency) -> float:
    """A standing charge [money/day] from “53 p/day” or “£16 a month”."""
    return _price(value, "day", f"53 {currency.hundredth}/day", currency, price_limits("standing_charge", currency))


def price_limits(name: str, currency: units.Currency) -> tuple[float, float]:
    """Lowest and highest plausible price for the parameter `name`.

    The limits are narrow for pounds, euros and dollars. What a reader's own currency buys is not known, so only
    impossible prices are refused there.
    """
    limits = ranges.RANGES[name]
    return (limits.low, limits.high) if currency.code in units.CURRENCIES else (limits.least, limits.most)


def _price(value, per: str, example: str, currency: units.Currency, limits: tuple[float, float]) -> float:
    whole, part = f"{currency.sign}/{per}", f"{currency.hundredth}/{per}"
    try:
        given = units.parse(value, f"money/{per}", currency)
    except units.WrongDimension:
        raise Unreadable(f"“{value}” is not a price per {per}. Write it as {example}.") from None
    low, high = limits
    if not low <= given <= high:
        hint = f"; did you mean {given:g} {part}?" if low <= given / 100 <= high else "."
        raise Unreadable(f"“{value}” is {given:g} {whole}: it should be between {low:g} and {high:g} {whole}{hint}")
    return given


@functools.cache
def zone_names() -> frozenset[str]:
    """All IANA names, looked up once: they are the names of some six hundred files."""
    return frozenset(zoneinfo.available_timezones())


def time_zone(value) -> zoneinfo.ZoneInfo:
    """Time zone of an IANA name such as “Europe/London”. Raises `Unreadable` naming the nearest known one."""
    try:
        return zoneinfo.ZoneInfo(str(value))
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, TypeError, OSError):
        near = difflib.get_close_matches(str(value)[:80], sorted(zone_names()), 1, 0.5)
        hint = f" Did you mean “{near[0]}”?" if near else ""
        raise Unreadable(f"“{str(value)[:80]}” is not a known time zone.{hint} Write it as Europe/London.") from None


def clock_minutes(value) -> int:
    """Minutes after midnight of “00:30”, “7:30”, “6 pm”, “24:00” (the end of the day) or a TOML time.

    >>> clock_minutes("00:30"), clock_minutes("24:00")
    (30, 1440)
    """
    if isinstance(value, time) and not value.second:
        return value.hour * 60 + value.minute
    half = re.fullmatch(r"\s*(1[0-2]|0?[1-9])(?:[:.]([0-5]\d))?\s*([ap])\.?\s?m\.?\s*", str(value), re.IGNORECASE)
    if half:  # 12 am begins the day, 12 pm is noon
        return int(half[1]) % 12 * 60 + int(half[2] or 0) + 720 * (half[3].lower() == "p")
    match = re.fullmatch(r"\s*(\d{1,2})[:.](\d{2})\s*", str(value))
    minutes = int(match[1]) * 60 + int(match[2]) if match else -1
    if not match or int(match[2]) > 59 or minutes > 24 * 60:
        hint = ""
        if match and int(match[2]) <= 59 and minutes < 48 * 60:
            hint = f" Did you mean “{minutes // 60 - 24:02d}:{minutes % 60:02d}”?"
        raise Unreadable(f"“{value}” is not a time of day: write it from “00:00” to “24:00”.{hint}")
    return minutes


def day_of_year(value) -> tuple[int, int]:
    """Month and day of “1 Oct”, “October 1”, “10-01” or a full date.

    >>> day_of_year("1 Oct"), day_of_year("Oct 1"), day_of_year("2025-10-01")
    ((10, 1), (10, 1), (10, 1))
    """
    if isinstance(value, date):
        return value.month, value.day
    low = str(value).strip().lower()
    named = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]{3,})\.?(?:\s+\d{4})?", low)
    turned = re.fullmatch(r"([a-z]{3,})\.?\s+(\d{1,2})(?:st|nd|rd|th)?(?:,?\s+\d{4})?", low)
    plain = re.fullmatch(r"(?:\d{4}-)?(\d{1,2})-(\d{1,2})", low)
    month, day = 0, 0
    if plain:
        month, day = int(plain[1]), int(plain[2])
    elif found := named or turned:
        day, called = (int(found[1]), found[2]) if found is named else (int(found[2]), found[1])
        called = "sep" if called == "sept" else called
        month = next((number for number, name in enumerate(_MONTHS, 1) if name.startswith(called)), 0)
    try:
        date(2024, month, day)  # a leap year, so that 29 February may be written
    except ValueError:
        raise Unreadable(f"“{str(value)[:40]}” is not a day of the year: write it as “1 Oct” or “10-01”.") from None
    return month, day


def clock(value) -> str:
    """A clock time as “HH:MM”, from any form that `clock_minutes` reads."""
    minutes = clock_minutes(value)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def weekdays(value) -> frozenset[int]:
    """Numbers of weekdays (Monday 0) from “all”, “weekdays”, “weekends” or a list of names (“Mo” or longer).

    >>> sorted(weekdays(["Sat", "sunday"]))
    [5, 6]
    """
    names = [value] if isinstance(value, str) else list(value) if isinstance(value, (list, tuple)) else [value]
    found: set[int] = set()
    for name in names:
        low = str(name).strip().lower()
        group = list(_DAY_GROUPS.get(low) or _DAY_GROUPS.get(low + "s") or ())
        short = low.removesuffix("s")
        if not group and len(short) >= 2:
            group = [number for number, day in enumerate(DAY_NAMES) if day.lower().startswith(short)]
        if not group:
            raise Unreadable(
                f'“{name}” is not a day: write “all”, “weekdays”, “weekends” or a list such as ["Saturday", "Sunday"].'
            )
        found.update(group)
    if not found:
        raise Unreadable("No day is named: write “all”, “weekdays”, “weekends” or a list of days.")
    return frozenset(found)


def days(value) -> str | tuple[str, ...]:
    """Days of the week as written, after a check that `weekdays` can read them."""
    weekdays(value)
    return value.strip().lower() if isinstance(value, str) else tuple(str(name) for name in value)


def calendar_date(value) -> str:
    """A date as “MM-DD” (every year) or “YYYY-MM-DD” (one year).

    >>> calendar_date("10-01"), calendar_date("2025-10-01")
    ('10-01', '2025-10-01')
    """
    if isinstance(value, date) and not isinstance(value, datetime):
        return value.isoformat()
    match = re.fullmatch(r"\s*(?:(\d{4})-)?(\d{1,2})-(\d{1,2})\s*", str(value))
    try:
        # 2024 is a leap year, so that 29 February may be written.
        day = date(int(match[1] or 2024), int(match[2]), int(match[3])) if match else None
    except ValueError:
        day = None
    if match is None or day is None:
        raise Unreadable(f"“{value}” is not a date: write “10-01” (1 October of every year) or “2025-10-01”.")
    return day.isoformat() if match[1] else f"{day:%m-%d}"


def bare_number(text: str, name: str, example: str) -> float:
    """A number typed without a unit; raises `Unreadable` that says what is called `name` and shows `example`."""
    try:
        return units.number(text)
    except Unreadable as wrong:
        raise Unreadable(f"{name}: {wrong} Write a number without a unit, such as {example}.") from None

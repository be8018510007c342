"""Questions of a pond's form: labels, default values, when each is asked, and how an answer was understood.

`sheet.form_sheet` converts the answers to a pond sheet and back.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pondheat.core import units, value_parsers
from pondheat.core.units import Currency, Unreadable
from pondheat.season.weather.town_weather import SOURCE as TOWN
from pondheat.sheet import form_town
from pondheat.sheet.defaults import COVER_U_VALUES

BY_HAND = "as in my sheet"  # marks a value in the sheet that the form cannot show
NO_HEAT, NONE, OWN = "no heat", "none", "own"
GROUPS = {
    "pond": "The pond",
    "heat": "The heat",
    "cover": "The cover",
    "bill": "Bill and place",
    "more": "More",
}
SHELTER = {"open": 1.0, "some": 0.5, "walled": 0.25}  # wind at the water over wind in the open (judgement)
ZONES = {
    "greensboro": "America/New_York",
    "sand point": "America/Anchorage",
    "hamburg": "Europe/Berlin",
    "potsdam": "Europe/Berlin",
}
NO_LAYER = (NONE, "no", "0", "")  # ways to write that there is no insulation
FILLED = ("power", "gas_rate", "hours", "timezone", "start", "end", "town")  # where they are asked, they need an answer
LONGEST = 300  # characters of an answer
_TIME = r"(\d{1,2}(?:[:.]\d\d)?(?:\s*[ap]\.?m\b\.?)?)"
_SPAN = rf"{_TIME}\s*(?:to|-|–|until)\s*{_TIME}"


@dataclass(frozen=True)
class FormQuestion:
    """One question of the form.

    key: its name; label: text shown; group: a key of GROUPS; start: default answer, "" for none; path: key of the sheet
    that it fills, "" where there are several; unit: of a plain quantity; choices: answers by key; needed: whether the
    pond cannot be worked out without it.
    """

    key: str
    label: str
    group: str
    start: str = ""
    path: str = ""
    unit: str = ""
    choices: Mapping[str, str] | None = None
    needed: bool = False

    @property
    def more(self) -> bool:
        """Whether the question is shown under “more about your pond”."""
        return self.group == "more"


# In the order of the form; {whole} and {part} are signs such as £ and p, {year} is the one in which the season starts.
_QUESTIONS = (
    FormQuestion("length", "Length of the water", "pond", "4 m", path="pond.length", unit="m", needed=True),
    FormQuestion("width", "Width of the water", "pond", "3 m", path="pond.width", unit="m", needed=True),
    FormQuestion("depth", "Mean depth; or the volume, if you know it", "pond", "1.2 m", needed=True),
    FormQuestion("sunk", "The pond is", "pond", "sunk", choices={"sunk": "in the ground", "above": "above the ground"}),
    FormQuestion("held", "Temperature to hold, or “no heat”", "heat", "12 °C", unit="degC"),
    FormQuestion(
        "heater",
        "Heater",
        "heat",
        "resistance",
        "heater.kind",
        choices={"resistance": "electric", "heat pump": "heat pump", "gas": "gas", NONE: "none"},
    ),
    FormQuestion("power", "Heat it can give, from its label", "heat", "3 kW", "heater.power", "W"),
    FormQuestion("gas_rate", "Price of a kWh of gas", "heat", "9 {part}/kWh"),
    FormQuestion(
        "cover",
        "Cover you have or are thinking of",
        "cover",
        "sheet",
        "cover.kind",
        choices={
            "sheet": "clear sheet",
            "insulated lid": "solid insulated lid",
            "floating": "floating on the water",
            NONE: "none",
        },
    ),
    FormQuestion("hours", "The cover is on from … to …, or “day and night”", "cover", "18:00 to 08:00"),
    FormQuestion("cover_price", "Price of the cover", "cover", "{whole}300", "cover.price", "money"),
    FormQuestion(
        "shelter",
        "Around the pond are",
        "cover",
        "some",
        choices={"open": "open fields", "some": "hedges, fences and houses", "walled": "walls on all sides"},
    ),
    FormQuestion("rate", "Price of a kWh of electricity", "bill", "28 {part}/kWh"),
    FormQuestion("cheap", "Cheap hours, if there are two prices (12 {part} from 00:30 to 07:30)", "bill"),
    FormQuestion(
        "place",
        "Weather most like yours",
        "bill",
        "sollerwick",
        choices={
            "sollerwick": "mild, near the sea (an invented English town)",
            "hamburg": "Hamburg",
            "potsdam": "Potsdam, near Berlin",
            "greensboro": "Greensboro, North Carolina",
            "sand point": "Sand Point, Alaska",
            TOWN: "my own town’s, fetched once if you agree",
            OWN: "another place, or my own numbers",
        },
    ),
    FormQuestion("town", form_town.LABEL, "bill", path="place.town"),
    FormQuestion("name", "Name of the pond", "more", "My pond", "name"),
    FormQuestion("insulation", "Insulation of the walls (50 mm EPS), or “none”", "more", NONE),
    FormQuestion("base", "Insulation under the floor, or “none”", "more", NONE),
    FormQuestion("sky_view", "Share of open sky above it", "more", "80 %", "place.sky_view"),
    FormQuestion("shade", "Share of the sun kept off by trees and walls", "more", "20 %", "place.shade"),
    FormQuestion("u_value", "U-value of the cover", "more", COVER_U_VALUES["sheet"], "cover.u_value", "W/m**2/K"),
    FormQuestion("gap", "Air that leaks under it, or its gap (1 m x 1 cm)", "more", "2 L/s", "cover.gap"),
    FormQuestion("life", "How long it lasts", "more", "6 years", "cover.life", "year"),
    FormQuestion("machine_price", "Price of a heat pump, fitted", "more", path="money.heat_pump_price", unit="money"),
    FormQuestion("pump", "Power of the pump", "more", "60 W", "pump.power", "W"),
    FormQuestion(
        "filter_air", "Air that meets falling water (trickle filter)", "more", "0 L/s", "filter.air_flow", "m**3/s"
    ),
    FormQuestion("air_pump", "Air blown through the water", "more", "0 L/min", "aeration.air_flow", "m**3/s"),
    FormQuestion("change", "New water each day", "more", "1 %", "water.change_per_day"),
    FormQuestion("standing", "Standing charge", "more", "50 {part}/day"),
    FormQuestion(
        "latitude",
        "Latitude, if a weather file does not say (51.5; south is −)",
        "more",
        path="place.latitude",
        unit="deg",
    ),
    FormQuestion(
        "longitude", "Longitude, the same (1.5 for east, −1.5 for west)", "more", path="place.longitude", unit="deg"
    ),
    FormQuestion("timezone", "Time zone of your clock", "more", "Europe/London", "timezone"),
    FormQuestion("start", "First day of the season", "more", "{year}-09-01"),
    FormQuestion("end", "Last day of the season", "more", "{next_year}-05-31"),
)


def questions(currency: Currency = units.GBP, today: dt.date | None = None) -> dict[str, FormQuestion]:
    """All questions in the order of the form; the season defaults to 1 September to 31 May, this or next winter."""
    day = today or dt.date.today()
    year = day.year if day.month >= 6 else day.year - 1
    words = {"whole": currency.sign, "part": currency.hundredth, "year": year, "next_year": year + 1}
    return {
        one.key: replace(one, label=one.label.format(**words), start=one.start.format(**words)) for one in _QUESTIONS
    }


# --- what depends on other answers --------------------------------------------------------------------------------


def start_value(question: FormQuestion, answers: Mapping[str, str]) -> str:
    """Default of a question, which may depend on other answers: a lid has another U-value than a sheet."""
    if question.key == "u_value":
        return COVER_U_VALUES.get(answers.get("cover", ""), question.start)
    if question.key == "timezone":
        usual = ZONES.get(answers.get("place", ""), question.start)
        return form_town.start_value(question.key, usual, answers)
    return form_town.start_value(question.key, question.start, answers)


def is_asked(key: str, answers: Mapping[str, str]) -> bool:
    """Whether a question applies to this pond: no hours without a cover, no power without a heater."""
    warmed, heater = not is_no_heat(answers["held"]), answers["heater"]
    asked = {
        "heater": warmed,
        "power": warmed and heater != NONE,
        "gas_rate": warmed and heater == "gas",
        "machine_price": warmed and heater not in (NONE, "heat pump"),
        "town": answers["place"] == TOWN,
    }
    if key in asked:
        return asked[key]
    if key in ("hours", "cover_price", "u_value", "gap", "life"):
        return answers["cover"] != NONE
    return key not in ("cheap", "standing") or answers["rate"].strip() != ""


def is_no_heat(answer: str) -> bool:
    """Whether the answer on the temperature means that the pond is not heated."""
    return answer.strip().lower() in (NO_HEAT, NONE, "no", "")


# --- how an answer was understood ---------------------------------------------------------------------------------


def echo(question: FormQuestion, answer: str, currency: Currency = units.GBP) -> str:
    """How an answer was understood, also in other units: “4 m = 13.1 ft”. Raises `Unreadable` with a sentence."""
    typed = answer.strip()
    if len(typed) > LONGEST:
        raise Unreadable(f"That answer is too long, with {len(typed)} characters: type a value and its unit.")
    if typed == BY_HAND:
        return "It stays as you wrote it into the sheet."
    if not typed:
        if question.needed:
            raise Unreadable("This is needed: measure it, and type it with its unit.")
        if question.key in FILLED:
            raise Unreadable(left_empty(question))
        return "Nothing is typed: the pond is not heated." if question.key == "held" else "This is left out."
    if question.key in _SAID:
        return _SAID[question.key](typed, currency)
    return _other(typed, question.unit, currency) if question.unit else ""


def left_empty(question: FormQuestion) -> str:
    """Message for a question of FILLED without an answer."""
    return f"Nothing has been typed here. Type it like this: {question.start or 'Leeds, GB'}."


def _other(typed: str, unit: str, currency: Currency) -> str:
    """The value also in another common unit; "" for units without one."""
    value = units.parse(typed, unit, currency)
    pairs = {
        "m": ("m", 3.28084, "ft"),
        "m**3": ("m³", 264.172, "US gallons"),
        "degC": ("°C", 1.8, "°F"),
        "W": ("W", 0.001, "kW"),
    }
    if unit not in pairs:
        return ""
    own, times, name = pairs[unit]
    other = f"{units.significant(value * times + (32 if unit == 'degC' else 0), 3)} {name}"
    this = f"{units.significant(value, 3)} {own}"
    return f"{other} = {this}." if re.search(r"(?i)ft|foot|feet|['′]|gal|°?f$|kW", typed) else f"{this} = {other}."


def depth_or_volume(typed: str) -> str:
    """“depth” or “volume”, whichever was typed. Raises `Unreadable` for anything else."""
    try:
        units.parse(typed, "m")
        return "depth"
    except units.WrongDimension as no_length:
        try:
            units.parse(typed, "m**3")
        except units.WrongDimension:
            raise no_length from None
        return "volume"


def _depth(typed: str, currency: Currency) -> str:
    return _other(typed, "m" if depth_or_volume(typed) == "depth" else "m**3", currency)


def _held(typed: str, currency: Currency) -> str:
    return "No heat at all." if is_no_heat(typed) else _other(typed, "degC", currency)


def hours_of(typed: str) -> tuple[str, str] | None:
    """Clock times of “18:00 to 08:00”; None for day and night. Raises `Unreadable`."""
    if typed.lower() in ("day and night", "always", "24 h", "24 hours"):
        return None
    found = re.fullmatch(rf"(?:from\s+)?{_SPAN}", typed, re.IGNORECASE)
    if not found:
        raise Unreadable("That was not understood: write 18:00 to 08:00, or day and night.")
    begin, end = _on_the_clock(found[1]), _on_the_clock(found[2])
    if value_parsers.clock_minutes(begin) == value_parsers.clock_minutes(end):
        raise Unreadable("Both times are the same: write 18:00 to 08:00, or day and night.")
    return begin, end


def _on_the_clock(typed: str) -> str:
    """A time as a sheet has it: “6 pm” and “18” become “18:00”, “7.30” becomes “7:30”."""
    if "m" in typed.lower():
        return value_parsers.clock(typed)
    return typed.replace(".", ":") if re.search("[:.]", typed) else f"{typed}:00"


def _hours(typed: str, currency: Currency) -> str:
    found = hours_of(typed)
    if found is None:
        return "It is on day and night."
    begin, end = map(value_parsers.clock_minutes, found)
    return f"{units.digits(((end - begin) % 1440) / 60, 1).removesuffix('.0')} hours, from {found[0]} to {found[1]}."


def rate_of(typed: str, currency: Currency) -> str:
    """A price per kWh as a sheet has it: “28p” becomes “28p/kWh”."""
    text = re.sub(r"\s*(?:per|a|an|each)\s+kwh$", "/kWh", typed.strip(), flags=re.IGNORECASE)
    try:
        units.parse(text, "money", currency)
    except Unreadable:  # a price with its unit already, or something that the sheet will report
        return text
    return f"{text}/kWh"


def _rate(typed: str, currency: Currency) -> str:
    return f"{units.money(value_parsers.rate(rate_of(typed, currency), currency), currency, 3)} for each kWh."


def cheap_of(typed: str, currency: Currency) -> tuple[str, str, str]:
    """Rate and clock times of “12 p/kWh from 00:30 to 07:30”. Raises `Unreadable`."""
    found = re.fullmatch(rf"(.+?)[\s,;:]+(?:from\s+)?({_SPAN})", typed, re.IGNORECASE)
    if not found:
        raise Unreadable(
            f"That was not understood: write it as 12 {currency.hundredth} from 00:30 to 07:30, a price and its hours."
        )
    begin, end = hours_of(found[2]) or ("", "")  # never day and night, as the pattern has two times
    return rate_of(found[1], currency), begin, end


def _cheap(typed: str, currency: Currency) -> str:
    rate, begin, end = cheap_of(typed, currency)
    return f"{units.money(value_parsers.rate(rate, currency), currency, 3)} for each kWh from {begin} to {end}."


def _standing(typed: str, currency: Currency) -> str:
    return f"{units.money(value_parsers.daily_charge(typed, currency), currency, 3)} a day."


def layer_of(typed: str) -> str | None:
    """A layer of insulation as typed; None for none. Raises `Unreadable`."""
    if typed.strip().lower() in NO_LAYER:
        return None
    if not re.match(r"[\d.,]+\s*\w+\s+\w+", typed):
        raise Unreadable("Type a thickness and a material, such as 50 mm EPS, or “none”.")
    return typed


def _layer(typed: str, currency: Currency) -> str:
    return "None." if layer_of(typed) is None else ""


_SAID = {
    "depth": _depth,
    "held": _held,
    "hours": _hours,
    "rate": _rate,
    "gas_rate": _rate,
    "cheap": _cheap,
    "standing": _standing,
    "town": form_town.understood,
    "insulation": _layer,
    "base": _layer,
}

"""The questions of a pond's form and the sheet they make: answers as typed ↔ a pond sheet's text.

Every answer is kept as it was typed. Only the form's own keys are changed in a sheet; what a keeper added by hand stays.
An answer that nobody gave stands at its start value, and the sheet lists it under `assumed`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass

from pondheat import toml_text, units, written
from pondheat.sheet import KEYS, with_values
from pondheat.sheet_keys import TARIFF_KEYS
from pondheat.units import Currency, Unreadable

BY_HAND = "as in my sheet"  # stands for what a keeper wrote into the sheet and the form cannot show
NO_HEAT = "no heat"
SIDES = "sides (from the form)"
SHELTER = {"open": 1.0, "some": 0.5, "walled": 0.25}  # wind at the water over wind in the open (judgement)
SHELL = {"above": "25 mm timber", "sunk": "1 mm EPDM"}  # what holds the water, where only insulation is asked (judgement)
LID = "0.7 W/m²K"  # start value of a solid lid: 50 mm of EPS and its joints (judgement)
SEVERAL = {"insulation": "wall.layers", "base": "base.layers", "hours": "cover.on", "sunk": "wall.against", "rate": "tariff.rate"}
LONGEST = 300  # characters of an answer
OWN = "own"


@dataclass(frozen=True)
class Question:
    """One question. key: its name; label: as asked; start: answer at the start, "" for none; path: the sheet's key it fills,
    "" where it fills several; unit: of a plain quantity [as `units` knows it]; choices: answers by key; more: whether it
    stands under “more about your pond”; needed: whether nothing can be reckoned without it."""

    key: str
    label: str
    start: str
    path: str = ""
    unit: str = ""
    choices: Mapping[str, str] | None = None
    more: bool = False
    needed: bool = False


def questions(currency: Currency = units.GBP, today: dt.date | None = None) -> dict[str, Question]:
    """All questions in the form's order; the season is the coming or present winter's, from 1 September to 31 May."""
    day = today or dt.date.today()
    year = day.year if day.month >= 6 else day.year - 1
    made = (
        Question("length", "Length of the water", "", "pond.length", "m", needed=True),
        Question("width", "Width of the water", "", "pond.width", "m", needed=True),
        Question("depth", "Mean depth", "", "pond.depth", "m", needed=True),
        Question("sunk", "It stands", "sunk", choices={"sunk": "in the ground", "above": "above the ground"}),
        Question("shelter", "Round about it are", "some", "place.wind_shelter", choices={
            "open": "open fields", "some": "hedges, fences and houses", "walled": "walls on all sides"}),
        Question("held", "Temperature to hold, or “no heat”", "12 °C", "pond.set_point", "degC"),
        Question("heater", "Heater", "resistance", "heater.kind", choices={
            "resistance": "electric", "heat pump": "heat pump", "gas": "gas", "none": "none"}),
        Question("power", "Heat it can give", "3 kW", "heater.power", "W"),
        Question("cover", "Cover", "sheet", "cover.kind", choices={
            "sheet": "clear sheet", "insulated lid": "solid insulated lid", "floating": "floating on the water", "none": "none"}),
        Question("hours", "It lies on from … to …, or “day and night”", "18:00 to 08:00"),
        Question("cover_price", "Price of the cover", f"{currency.sign}300", "cover.price", "money"),
        Question("rate", "Price of a kWh, from the bill", f"28 {currency.hundredth}/kWh"),
        Question("cheap", "Cheap hours, if the bill has two prices (12 " + currency.hundredth + "/kWh from 00:30 to 07:30)", ""),
        Question("place", "Weather most like yours", "sollerwick", "weather.source", choices={
            "sollerwick": "mild and maritime (invented English town, monthly means)", "hamburg": "Hamburg",
            "potsdam": "Potsdam, near Berlin", "greensboro": "Greensboro, North Carolina", "sand point": "Sand Point, Alaska",
            OWN: "my own file or numbers, below"}),
        Question("name", "Name of the pond", "My pond", "name", more=True),
        Question("volume", "Volume, if you know it better than the depth", "", "pond.volume", "m**3", more=True),
        Question("insulation", "Insulation of the walls (50 mm EPS), or “none”", "none", more=True),
        Question("base", "Insulation under the floor, or “none”", "none", more=True),
        Question("sky_view", "Share of open sky above it", "80 %", "place.sky_view", more=True),
        Question("shade", "Share of the sun kept off by trees and walls", "20 %", "place.shade", more=True),
        Question("u_value", "U-value of the cover", "3 W/m²K", "cover.u_value", "W/m**2/K", more=True),
        Question("gap", "Air that leaks under it, or its gap (1 m x 1 cm)", "2 L/s", "cover.gap", more=True),
        Question("life", "Winters it lasts", "6 years", "cover.life", "year", more=True),
        Question("pump", "Power of the pump", "60 W", "pump.power", "W", more=True),
        Question("filter_air", "Air that meets falling water (trickle filter)", "0 L/s", "filter.air_flow", "m**3/s", more=True),
        Question("air_pump", "Air blown through the water", "0 L/min", "aeration.air_flow", "m**3/s", more=True),
        Question("change", "New water each day", "1 %", "water.change_per_day", more=True),
        Question("gas_rate", "Price of a kWh of gas, for a gas heater", f"9 {currency.hundredth}/kWh", "heater.gas_rate", more=True),
        Question("standing", "Standing charge", f"50 {currency.hundredth}/day", "tariff.standing_charge", more=True),
        Question("timezone", "Time zone of your clock", "Europe/London", "timezone", more=True),
        Question("start", "First day reckoned", f"{year}-09-01", "season.start", more=True),
        Question("end", "Last day reckoned", f"{year + 1}-05-31", "season.end", more=True),
    )
    return {question.key: question for question in made}


# --- answers -----------------------------------------------------------------------------------------------------------

def echo(question: Question, answer: str, currency: Currency = units.GBP) -> str:
    """How an answer was understood, in other units too: “4 m, that is 13.1 ft”. Raises Unreadable with what is wanted."""
    typed = answer.strip()
    if len(typed) > LONGEST:
        raise Unreadable(f"{len(typed)} characters are too long for an answer: a value and its unit are wanted.")
    if typed == BY_HAND:
        return "It stays as you wrote it into the sheet."
    if not typed:
        if question.needed:
            raise Unreadable("This is needed: measure it, and type it with its unit.")
        return "Left out."
    if question.key == "held" and typed.lower() in (NO_HEAT, "none", "no"):
        return "No heat."
    if question.key == "hours":
        found = _hours(typed)
        return "Day and night." if found is None else f"{((_minutes(found[1]) - _minutes(found[0])) % 1440 or 1440) / 60:g} hours."
    if question.key == "rate":
        return f"{units.money(written.rate(typed, currency), currency, 3)} for each kWh."
    if question.key == "cheap":
        rate, begin, end = _cheap(typed)
        return f"{units.money(written.rate(rate, currency), currency, 3)} for each kWh from {begin} to {end}."
    if question.key in ("insulation", "base") and typed.lower() != "none" and not re.match(r"[\d.]+\s*\w+\s+\w+", typed):
        raise Unreadable(f"“{typed}”: a thickness and a material are wanted, such as 50 mm EPS, or “none”.")
    if not question.unit:
        return ""
    value = units.parse(typed, question.unit, currency)
    return _other(value, question.unit)


def _other(value: float, unit: str) -> str:
    """The same in a unit that another reader may know better."""
    told = {"m": (3.28084, "ft"), "m**3": (264.172, "US gallons"), "degC": (1.8, "°F"), "W": (0.001, "kW")}.get(unit)
    if told is None:
        return ""
    factor, name = told
    other = value * factor + (32 if unit == "degC" else 0)
    own = {"m": "m", "m**3": "m³", "degC": "°C", "W": "W"}[unit]
    return f"{units.significant(value, 3)} {own}, that is {units.significant(other, 3)} {name}."


def _hours(text: str) -> tuple[str, str] | None:
    """Clock times of “18:00 to 08:00”; None for day and night. Raises Unreadable."""
    if text.lower() in ("day and night", "always", "24 h", "24 hours"):
        return None
    found = re.fullmatch(r"(?:from\s+)?(\d{1,2}[:.]\d\d)\s*(?:to|-|–|until)\s*(\d{1,2}[:.]\d\d)", text, re.IGNORECASE)
    if not found:
        raise Unreadable(f"“{text}” was not understood: write 18:00 to 08:00, or day and night.")
    for one in found.groups():
        written.clock_minutes(one)
    return found[1].replace(".", ":"), found[2].replace(".", ":")


def _minutes(clock: str) -> int:
    return written.clock_minutes(clock)


def _cheap(text: str) -> tuple[str, str, str]:
    """Rate and clock times of “12 p/kWh from 00:30 to 07:30”. Raises Unreadable."""
    found = re.fullmatch(r"(.+?)[\s,;]+(?:from\s+)?(\d{1,2}[:.]\d\d\s*(?:to|-|–|until)\s*\d{1,2}[:.]\d\d)", text, re.IGNORECASE)
    if not found:
        raise Unreadable(f"“{text}” was not understood: write a price and its hours, such as 12 p/kWh from 00:30 to 07:30.")
    hours = _hours(found[2])
    return found[1].strip(), hours[0], hours[1]


# --- the sheet ---------------------------------------------------------------------------------------------------------

def sheet_text(answers: Mapping[str, str], untouched: set[str], before: str = "", currency: Currency = units.GBP,
               weather: str | None = None) -> str:
    """The sheet that the answers make, changed in the text `before`; answers at BY_HAND leave their keys alone.

    untouched: questions whose answer is a start value; their keys are listed under `assumed`. weather: source of one's
    own, for the place OWN. Raises `SheetFaults` where the text before is no TOML.
    """
    asked = questions(currency)
    changes: dict[str, object] = {}
    if "currency" not in toml_text.loads(before or ""):
        changes["currency"] = currency.code
    for key, question in asked.items():
        answer = answers.get(key, question.start).strip()
        if answer == BY_HAND or not question.path:
            continue
        changes[question.path] = answer or None
    own = {key for key, answer in answers.items() if answer.strip() == BY_HAND}
    changes |= _several(answers, own, weather)
    known = {f"{table}.{name}" if table else name for table, names in KEYS.items() for name in names} | set(TARIFF_KEYS)
    paths = {key: question.path for key, question in asked.items()} | SEVERAL
    if answers.get("cheap", "").strip():
        paths["rate"] = "tariff.otherwise"
    assumed = [paths[key] for key in asked if key in untouched and key != "name" and paths[key] in known
               and changes.get(paths[key], "there") is not None]
    if answers.get("cover") == "insulated lid" and "u_value" in untouched:
        changes["cover.u_value"] = LID
    changes["assumed"] = assumed or None
    return with_values(before, changes)


def _several(answers: Mapping[str, str], own: set[str], weather: str | None) -> dict[str, object]:
    """What is made of answers that fill several keys."""
    made: dict[str, object] = {}
    text = {key: answer.strip() for key, answer in answers.items()}
    if "held" not in own and text["held"].lower() in (NO_HEAT, "none", "no", ""):
        made["pond.set_point"] = None
    if "shelter" not in own:
        made["place.wind_shelter"] = SHELTER.get(text["shelter"], 0.5)
    if text.get("volume"):
        made["pond.depth"] = None
    if "sunk" not in own:
        made["wall"] = _sides(text)
    if "base" not in own:
        made["base"] = {"layers": [text["base"]]} if text["base"].lower() != "none" else {"against": "ground"}
    if "hours" not in own:
        try:
            hours = _hours(text["hours"])
        except Unreadable:
            hours = (text["hours"], text["hours"])  # kept as typed; the sheet says what is wrong with it
        made["cover.on"], made["cover.off"] = hours or (None, None)
    if "cover" not in own and text["cover"] == "insulated lid":
        made["cover.light"] = "0 %"
    if text["heater"] != "gas":
        made["heater.gas_rate"] = None
    if text["cover"] == "none":
        for key in ("u_value", "gap", "life", "price"):
            made[f"cover.{key}"] = None
    if not {"rate", "cheap"} & own:
        made |= _tariff(text)
    if text["place"] == OWN:
        made["weather.source"] = weather
    for key in ("start", "end"):
        if key not in own:
            made[f"season.{key}"] = _date(text[key])
    return made


def _date(text: str):
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return text or None


def _sides(text: dict[str, str]):
    """The walls, from length, width and depth; as an area the sheet's reader can take, or none where a size is missing."""
    try:
        length, width = (units.parse(text[key], "m") for key in ("length", "width"))
        depth = units.parse(text["volume"], "m**3") / (length * width) if text.get("volume") else units.parse(text["depth"], "m")
    except (Unreadable, ZeroDivisionError):
        return None
    layers = [SHELL[text["sunk"]]] + ([] if text["insulation"].lower() == "none" else [text["insulation"]])
    wall: dict[str, object] = {"name": SIDES, "area": f"{2 * (length + width) * depth:.4g} m²", "layers": layers,
                               "against": "ground" if text["sunk"] == "sunk" else "air"}
    if text["sunk"] == "sunk":
        wall["depth"] = f"{depth:.4g} m"
    return [wall]


def _tariff(text: dict[str, str]) -> dict[str, object]:
    if not text["rate"]:
        return {"tariff": None}
    if not text["cheap"]:
        return {"tariff.rate": text["rate"], "tariff.otherwise": None, "tariff.window": None}
    try:
        rate, begin, end = _cheap(text["cheap"])
    except Unreadable:  # kept as typed; the sheet says what is wrong with it
        rate, begin, end = text["cheap"], "", ""
    return {"tariff.rate": None, "tariff.otherwise": text["rate"],
            "tariff.window": [{"name": "cheap hours", "rate": rate, "start": begin, "end": end}]}


def answers_of(text: str, currency: Currency = units.GBP) -> tuple[dict[str, str], set[str]]:
    """The answers that a sheet holds, and those of them that are start values; BY_HAND where the form cannot show what is
    there. Raises Unreadable where the text is no TOML."""
    document = toml_text.loads(text)
    asked, answers = questions(currency), {}
    for key, question in asked.items():
        value = _at(document, question.path) if question.path else None
        answers[key] = "" if value is None else _shown(value, question)
    answers["held"] = _shown(_at(document, "pond.set_point"), asked["held"]) if _at(document, "pond.set_point") is not None else NO_HEAT
    shelter = _at(document, "place.wind_shelter")
    answers["shelter"] = next((key for key, value in SHELTER.items() if value == shelter), BY_HAND if shelter is not None else "some")
    answers |= _walls_of(document) | _tariff_of(document)
    base = document.get("base", {})
    layers = base.get("layers") if isinstance(base, dict) else None
    answers["base"] = ("none" if base in ({}, {"against": "ground"}) else layers[0]
                       if isinstance(layers, list) and len(layers) == 1 and set(base) == {"layers"} else BY_HAND)
    on, off = _at(document, "cover.on"), _at(document, "cover.off")
    answers["hours"] = str(on) if on is not None and on == off else f"{_clock(on)} to {_clock(off)}" if on is not None and off is not None else (
        "day and night" if on is None and off is None else BY_HAND)
    if answers["place"] not in asked["place"].choices:
        answers["place"] = OWN if answers["place"] else asked["place"].start
    for key in ("heater", "cover"):
        if answers[key] not in asked[key].choices:
            answers[key] = BY_HAND if answers[key] else ("none" if key == "cover" else "resistance")
    assumed = document.get("assumed", [])
    untouched = {key for key, question in asked.items() if SEVERAL.get(key, question.path) in assumed}
    if "tariff.otherwise" in assumed:
        untouched.add("rate")
    return answers, untouched


def _at(document: dict, path: str):
    here = document
    for name in path.split("."):
        here = here.get(name) if isinstance(here, dict) else None
    return here


def _shown(value, question: Question) -> str:
    if isinstance(value, (dict, list, bool)):
        return BY_HAND
    return str(value)


def _clock(value) -> str:
    return value.strftime("%H:%M") if isinstance(value, dt.time) else str(value)


def _walls_of(document: dict) -> dict[str, str]:
    walls = document.get("wall")
    if walls is None:
        return {"sunk": "sunk", "insulation": "none"}
    if isinstance(walls, list) and len(walls) == 1 and isinstance(walls[0], dict) and walls[0].get("name") == SIDES:
        layers = walls[0].get("layers", [])
        if isinstance(layers, list) and len(layers) <= 2:
            return {"sunk": "sunk" if walls[0].get("against") == "ground" else "above",
                    "insulation": layers[1] if len(layers) == 2 else "none"}
    return {"sunk": BY_HAND, "insulation": BY_HAND}


def _tariff_of(document: dict) -> dict[str, str]:
    tariff = document.get("tariff")
    if not isinstance(tariff, dict):
        return {"rate": "", "cheap": ""}
    windows = tariff.get("window")
    if "rate" in tariff and not windows:
        return {"rate": str(tariff["rate"]), "cheap": ""}
    if (isinstance(windows, list) and len(windows) == 1 and isinstance(windows[0], dict) and set(windows[0]) == {
            "name", "rate", "start", "end"} and "otherwise" in tariff):
        only = windows[0]
        hours = f" from {_clock(only['start'])} to {_clock(only['end'])}" if only["start"] else ""
        return {"rate": str(tariff["otherwise"]), "cheap": f"{only['rate']}{hours}"}
    return {"rate": BY_HAND, "cheap": BY_HAND}

"""Convert answers of the form to a pond sheet and back.

Answers are stored as typed. Only keys whose answer has changed are written into a sheet; everything a keeper added by
hand stays. Default values that were not changed are listed in the sheet's `assumed`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Set
from typing import Any

from pondheat.core import toml_errors, units
from pondheat.core.units import Currency, Unreadable
from pondheat.sheet import pond_form
from pondheat.sheet.keys import TARIFF_KEYS
from pondheat.sheet.pond_form import BY_HAND, NO_HEAT, NO_LAYER, NONE, OWN, SHELTER
from pondheat.sheet.pond_sheet import KEYS, with_values

SIDES = "sides (from the form)"
SHELL = {
    "above": "25 mm timber",
    "sunk": "1 mm EPDM",
}  # the wall itself, where only its insulation is asked for (judgement)
# Keys that a question fills; the first one is listed in `assumed`.
FILLS = {
    "depth": ("pond.depth", "pond.volume"),
    "sunk": ("wall.against", "wall"),
    "shelter": ("place.wind_shelter",),
    "held": ("pond.set_point",),
    "gas_rate": ("heater.gas_rate",),
    "hours": ("cover.on", "cover.off"),
    "rate": ("tariff.rate", "tariff.otherwise", "tariff"),
    "cheap": ("tariff.window",),
    "place": ("weather.source",),
    "insulation": ("wall.layers",),
    "base": ("base.layers", "base.against", "base"),
    "standing": ("tariff.standing_charge",),
    "start": ("season.start",),
    "end": ("season.end",),
}
PATHS = {key: FILLS.get(key) or (question.path,) for key, question in pond_form.questions().items()}
# Defaults with the largest effect come first, as a printed sheet has room for a few only (judgement).
_WEIGHTY = ("rate", "place", "shelter", "u_value", "held", "gap", "hours")
_KNOWN = {f"{table}.{name}" if table else name for table, names in KEYS.items() for name in names} | set(TARIFF_KEYS)
_NEAR = {
    "wall": "insulation",
    "base": "base",
    "tariff.window": "cheap",
    "tariff": "rate",
    "heater": "heater",
    "cover": "cover",
    "pond.surface_area": "length",
    "season": "start",
}  # question for keys that no question fills


def question_of(path: str) -> str | None:
    """Question that can mend a fault of this key (“wall[1].area”); None where there is none."""
    plain = re.sub(r"\[\d+\]", "", path)
    exact = [key for key, paths in PATHS.items() if plain in paths]
    near = [key for start, key in _NEAR.items() if plain == start or plain.startswith(f"{start}.")]
    return next(iter(exact + near), None)


# --- from answers to a sheet --------------------------------------------------------------------------------------


def sheet_text(
    answers: Mapping[str, str],
    untouched: Set[str],
    before: str = "",
    currency: Currency = units.GBP,
    weather: str | None = None,
) -> str:
    """Text of the sheet `before` with the answers written into it; answers BY_HAND leave their keys unchanged.

    untouched: questions that still have their default value, listed under `assumed` where they matter; weather: source
    for the place OWN, without which the sheet keeps its own. Raises `SheetError` where `before` is not TOML.
    """
    document = _document(before)
    was = {} if not document else _values(answers_of(before, currency)[0], currency, _at(document, "weather.source"))
    changes: dict[str, object] = {}
    for path, value in _values(answers, currency, weather).items():
        if path not in was or was[path] != value or value is not None and _at(document, path) is None:
            changes[path] = value
    if "currency" not in document:
        changes["currency"] = currency.code
    made = with_values(before, changes)
    return with_values(made, {"assumed": _assumed(answers, untouched, toml_errors.loads(made)) or None})


def _document(text: str) -> dict[str, Any]:
    """Document of a text, empty where it is not TOML."""
    try:
        return toml_errors.loads(text)
    except Unreadable:
        return {}  # `with_values` raises the error


def _assumed(answers: Mapping[str, str], untouched: Set[str], document: dict) -> list[str]:
    """Keys for `assumed`: those added by hand, and those of defaults that matter for this pond."""
    listed = document.get("assumed", [])
    ours = {path for paths in PATHS.values() for path in paths}
    kept = [one for one in listed if one not in ours] if isinstance(listed, list) else []
    for key in (*_WEIGHTY, *(key for key in PATHS if key not in _WEIGHTY)):
        if key in untouched and key != "name" and pond_form.is_asked(key, answers):
            kept += [path for path in PATHS[key] if path in _KNOWN and _is_given(document, path)][:1]
    return kept


def _is_given(document: dict, path: str) -> bool:
    return path.startswith("wall.") or _at(document, path) is not None


def _values(answers: Mapping[str, str], currency: Currency, weather: str | None) -> dict[str, object]:
    """Values of these answers by key, None for a key to be removed; answers BY_HAND have none."""
    text = {key: answer.strip() for key, answer in answers.items()}
    for key, beside in (("sunk", "insulation"), ("rate", "cheap")):
        if text[key] != BY_HAND and text[beside] == BY_HAND:  # the form now sets both
            text[beside] = NONE if beside == "insulation" else ""
    own = {key for key, answer in text.items() if answer == BY_HAND}
    made: dict[str, object] = {
        question.path: text[key] or None
        for key, question in pond_form.questions(currency).items()
        if question.path and key not in own
    }
    if "depth" not in own:
        made |= _size(text["depth"])
    if "held" not in own:
        heated = not pond_form.is_no_heat(text["held"]) and text["heater"] != NONE
        made["pond.set_point"] = text["held"] if heated else None
    if "gas_rate" not in own:  # belongs to a gas heater alone
        made["heater.gas_rate"] = (
            pond_form.rate_of(text["gas_rate"], currency) or None if text["heater"] == "gas" else None
        )
    if "shelter" not in own:
        made["place.wind_shelter"] = SHELTER.get(text["shelter"], SHELTER["some"])
    if "cover" not in own:
        made["cover.light"] = "0 %" if text["cover"] == "insulated lid" else None
    if "sunk" not in own:
        made["wall"] = [_sides(text)]
    if "base" not in own:
        made["base"] = {"against": "ground"} if text["base"].lower() in NO_LAYER else {"layers": [text["base"]]}
    if "hours" not in own:
        made["cover.on"], made["cover.off"] = _clock_times(text["hours"])
    if "rate" not in own:
        made |= _tariff(text, currency)
    if "standing" not in own:
        made["tariff.standing_charge"] = text["standing"] or None if text["rate"] else None
    if "place" not in own and (text["place"] != OWN or weather):
        made["weather.source"] = weather if text["place"] == OWN else text["place"]
    made |= {f"season.{key}": _date(text[key]) for key in ("start", "end") if key not in own}
    return made


def _size(typed: str) -> dict[str, str | None]:
    """Depth or volume, depending on the unit typed; anything else as a depth, so that the sheet reports it."""
    try:
        which = pond_form.depth_or_volume(typed)
    except Unreadable:
        which = "depth"
    return {"pond.depth": None, "pond.volume": None} | {f"pond.{which}": typed or None}


def _date(text: str) -> dt.date | str | None:
    """A date where it is one, otherwise the text as typed."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return text or None


def _clock_times(typed: str) -> tuple[str | None, str | None]:
    """Times at which the cover is laid on and taken off; None for day and night."""
    try:
        return pond_form.hours_of(typed) or (None, None)
    except Unreadable:
        return typed, typed  # stored as typed, so that the sheet reports it


def _sides(text: Mapping[str, str]) -> dict[str, object]:
    """The walls, with their area from length, width and depth where all of these are known."""
    sunk = text["sunk"] != "above"
    layers = [SHELL["sunk" if sunk else "above"]] + (
        [] if text["insulation"].lower() in NO_LAYER else [text["insulation"]]
    )
    wall: dict[str, object] = {"name": SIDES, "layers": layers, "against": "ground" if sunk else "air"}
    try:
        length, width = (units.parse(text[key], "m") for key in ("length", "width"))
        volume = pond_form.depth_or_volume(text["depth"]) == "volume"
        depth = units.parse(text["depth"], "m**3") / (length * width) if volume else units.parse(text["depth"], "m")
    except (Unreadable, ZeroDivisionError):
        return wall
    return wall | {"area": f"{2 * (length + width) * depth:.4g} m²"} | ({"depth": f"{depth:.4g} m"} if sunk else {})


def _tariff(text: Mapping[str, str], currency: Currency) -> dict[str, object]:
    """Values of the tariff by key, with one price or with cheap hours."""
    if not text["rate"]:
        return {"tariff": None}
    rate = pond_form.rate_of(text["rate"], currency)
    if not text["cheap"]:
        return {"tariff.rate": rate, "tariff.otherwise": None, "tariff.window": None}
    try:
        cheap, begin, end = pond_form.cheap_of(text["cheap"], currency)
    except Unreadable:
        cheap, begin, end = text["cheap"], "", ""  # stored as typed, so that the sheet reports it
    return {
        "tariff.rate": None,
        "tariff.otherwise": rate,
        "tariff.window": [{"name": "cheap hours", "rate": cheap, "start": begin, "end": end}],
    }


# --- from a sheet to answers --------------------------------------------------------------------------------------


def answers_of(text: str, currency: Currency = units.GBP) -> tuple[dict[str, str], set[str]]:
    """Answers in a sheet, BY_HAND where the form cannot show a value, and the questions with a default value.

    Raises `Unreadable` where the text is not TOML.
    """
    document = toml_errors.loads(text)
    asked = pond_form.questions(currency)
    answers = {key: _shown(_at(document, PATHS[key][0])) for key in asked}
    answers |= _size_of(document) | _walls_of(document) | _tariff_of(document) | _hours_of(document)
    if answers["held"] == "":
        answers["held"] = NO_HEAT
    shelter = _at(document, "place.wind_shelter")
    known = [key for key, value in SHELTER.items() if value == shelter]
    answers["shelter"] = known[0] if known else "some" if shelter is None else BY_HAND
    base = document.get("base")
    layers = base.get("layers") if isinstance(base, dict) and set(base) == {"layers"} else None
    answers["base"] = (
        NONE
        if base == {"against": "ground"}
        else (layers[0] if isinstance(layers, list) and len(layers) == 1 and isinstance(layers[0], str) else BY_HAND)
    )
    if answers["place"] not in (asked["place"].choices or {}):
        answers["place"] = OWN if answers["place"] else BY_HAND
    for key in ("heater", "cover"):
        if answers[key] not in (asked[key].choices or {}):
            answers[key] = BY_HAND if answers[key] or document.get(key) else NONE
    listed = document.get("assumed", [])
    listed = listed if isinstance(listed, list) else []
    starts = {key: pond_form.start_value(question, answers) for key, question in asked.items()}
    untouched = {key for key in asked if any(path in listed for path in PATHS[key])}
    for key in asked:
        if not pond_form.is_asked(key, answers) and answers[key] in ("", starts[key]):
            answers[key] = starts[key]  # if it is asked again, it begins with its default
            untouched |= {key} if starts[key] else set()
    return answers, untouched


def _at(document: dict, path: str) -> Any:
    """Value of a key path in a document; None where there is none."""
    here: Any = document
    for name in path.split("."):
        here = here.get(name) if isinstance(here, dict) else None
    return here


def _shown(value: Any) -> str:
    """A value as the form shows it; BY_HAND for what does not fit on its line."""
    return "" if value is None else BY_HAND if isinstance(value, (dict, list, bool)) else str(value)


def _clock(value: Any) -> str:
    """A clock time as the form shows it."""
    return value.strftime("%H:%M") if isinstance(value, dt.time) else str(value)


def _size_of(document: dict) -> dict[str, str]:
    """Answers on the size in a document."""
    volume, depth = _at(document, "pond.volume"), _at(document, "pond.depth")
    found = {"depth": _shown(depth if volume is None else volume)}
    if _at(document, "pond.surface_area") is not None:
        found |= {"length": BY_HAND, "width": BY_HAND}
    return found


def _hours_of(document: dict) -> dict[str, str]:
    """Answers on the hours of the cover in a document."""
    on, off = _at(document, "cover.on"), _at(document, "cover.off")
    if on is None and off is None:
        return {"hours": "day and night"}
    if on is None or off is None:
        return {"hours": BY_HAND}
    return {"hours": _clock(on) if on == off else f"{_clock(on)} to {_clock(off)}"}


def _walls_of(document: dict) -> dict[str, str]:
    """Answers on the walls in a document."""
    walls = document.get("wall")
    only = walls[0] if isinstance(walls, list) and len(walls) == 1 and isinstance(walls[0], dict) else {}
    layers = only.get("layers")
    if (
        only.get("name") == SIDES
        and isinstance(layers, list)
        and 1 <= len(layers) <= 2
        and all(isinstance(one, str) for one in layers)
    ):
        return {
            "sunk": "sunk" if only.get("against") == "ground" else "above",
            "insulation": layers[1] if len(layers) == 2 else NONE,
        }
    return {"sunk": BY_HAND, "insulation": BY_HAND}


def _tariff_of(document: dict) -> dict[str, str]:
    """Answers on the tariff in a document."""
    tariff = document.get("tariff")
    if tariff is None:
        return {"rate": "", "cheap": ""}
    windows = tariff.get("window") if isinstance(tariff, dict) else None
    if isinstance(tariff, dict) and "rate" in tariff and not windows:
        return {"rate": _shown(tariff["rate"]), "cheap": ""}
    only = windows[0] if isinstance(windows, list) and len(windows) == 1 and isinstance(windows[0], dict) else {}
    if set(only) == {"name", "rate", "start", "end"} and "otherwise" in tariff:
        hours = f" from {_clock(only['start'])} to {_clock(only['end'])}" if only["start"] else ""
        return {"rate": _shown(tariff["otherwise"]), "cheap": f"{only['rate']}{hours}"}
    return {"rate": BY_HAND, "cheap": BY_HAND}

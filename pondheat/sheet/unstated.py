"""What a sheet leaves out: the default of each key that matters for heat, and what the answer says of it.

Where a key is missing, its default is taken, the likely range allows for what the pond may be instead, and the answer
says so in its first sentence (`missing_text`). Parts that a pond may really lack, such as a filter, are not guessed:
the answer names them as left out.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable

WIND_SHELTER, SKY_VIEW = 0.5, 0.8  # of a garden with a hedge and a house (judgement)
_LEAK_PER_METRE = 0.15e-3  # m³/s of outside air for each metre of a rigid cover's edge (judgement)

# Keys with a default, and their words in an answer; ranges widen where they are missing (`analysis.samples`).
UNSTATED = {
    "wall": "its walls",
    "base": "its floor",
    "place.wind_shelter": "its shelter from wind",
    "place.sky_view": "its view of the sky",
    "place.shade": "its shade",
    "cover.gap": "the leak under the cover",
    "cover.light": "the light through the cover",
    "filter.effectiveness": "how well the filter's air is used",
    "heater.efficiency": "its gas heater's efficiency",
}
NO_COVER = ("none", "no", "no cover", "no cover yet")  # kinds of cover that are none
# Parts without which the pond is calculated as having none: no range can allow for them.
_SAID_BY = {
    "filter": ("air_flow", "casing"),
    "pump": ("power",),
    "aeration": ("air_flow",),
    "water": ("change_per_day",),
}
LEFT_OUT = {"filter": "a filter", "pump": "a pump", "aeration": "air stones", "water": "water changes"}
ALWAYS_ON = "cover.on"  # without hours the cover is taken to stay on, which is another pond's answer if it doesn't


def default_leak(surface_area: float) -> float:
    """Outside air that leaks under a rigid cover [m³/s] where nobody says.

    surface_area: [m²]; the edge is taken to be that of a square.

    >>> round(1000 * default_leak(10.0), 1)
    1.9
    """
    return _LEAK_PER_METRE * 4 * math.sqrt(surface_area)


def unstated_keys(document: dict) -> tuple[str, ...]:
    """Keys and tables, of those above, that matter for this pond and that its sheet does not give."""
    place = _table(document, "place")
    in_room = str(place.get("surroundings", "open air")).strip().lower() != "open air"
    cover, stream = _table(document, "cover"), _table(document, "filter")
    kind = str(cover.get("kind", "")).strip().lower()
    covered, film = bool(cover) and kind not in NO_COVER, kind == "film"
    asked = {
        "wall": True,
        "base": True,
        "place.wind_shelter": not in_room,
        "place.sky_view": not in_room,
        "place.shade": not in_room,
        "cover.gap": covered and not film and kind != "floating",
        "cover.light": covered and not film,
        "filter.effectiveness": "air_flow" in stream,
        "heater.efficiency": str(_table(document, "heater").get("kind", "")).strip().lower() == "gas",
        **dict.fromkeys(LEFT_OUT, True),
        ALWAYS_ON: covered,
    }
    return tuple(key for key, wanted in asked.items() if wanted and not _is_given(document, key))


def _table(document: dict, name: str) -> dict:
    found = document.get(name, {})
    return found if isinstance(found, dict) else {}


def _is_given(document: dict, path: str) -> bool:
    table, _, key = path.partition(".")
    if table in _SAID_BY and not key:
        return any(one in _table(document, table) for one in _SAID_BY[table])
    return table in document if not key else key in _table(document, table)


def missing_text(unstated: Collection[str]) -> str:
    """Sentences that lower the claim of an answer by what the sheet leaves out; empty where it leaves out nothing."""
    sentences = []
    if known := [words for key, words in UNSTATED.items() if key in unstated]:
        sentences.append(f"The sheet doesn't give {_listed(known)}, so the likely range is wider.")
    if absent := [words for key, words in LEFT_OUT.items() if key in unstated]:
        sentences.append(f"No heat is counted for {_listed(absent, 'or')}, because the sheet has none.")
    if ALWAYS_ON in unstated:
        sentences.append("We assume the cover stays on day and night, because the sheet gives no hours.")
    return " ".join(sentences)


def _listed(words: Iterable[str], last: str = "and") -> str:
    """Words as a list in a sentence.

    >>> _listed(["a", "b", "c"])
    'a, b and c'
    """
    *first, end = words
    return f"{', '.join(first)} {last} {end}" if first else end

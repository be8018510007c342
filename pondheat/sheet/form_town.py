"""The form's question on the reader's town: which one is meant, its season, and how the answer was understood."""

from __future__ import annotations

from collections.abc import Mapping

from pondheat.core.units import Currency, Unreadable
from pondheat.season.weather import towns
from pondheat.season.weather.town_weather import SOURCE

LABEL = "Your town (Leeds, GB), or its latitude and longitude (53.8, -1.5)"


def town_of(answers: Mapping[str, str]) -> towns.Town | None:
    """The town whose weather is chosen; None where another place is, or the town is not known."""
    if answers.get("place") != SOURCE:
        return None
    try:
        return towns.find(answers.get("town", ""))
    except Unreadable:
        return None


def start_value(key: str, usual: str, answers: Mapping[str, str]) -> str:
    """Default of the time zone and the season of a town; `usual` where the town does not change it.

    key: of the question; where winter is in July the season is from March to November.
    """
    town = town_of(answers)
    if town is None:
        return usual
    if key == "timezone":
        return town.timezone or usual
    if town.latitude < 0 and key == "start":
        return f"{int(usual[:4]) + 1}-03-01"
    return f"{usual[:4]}-11-30" if town.latitude < 0 and key == "end" else usual


def understood(typed: str, currency: Currency) -> str:
    """The town found, where it is, and the credit of the list; raises `Unreadable` with what was perhaps meant."""
    found = towns.find(typed)
    north, east = ("N" if found.latitude >= 0 else "S"), ("E" if found.longitude >= 0 else "W")
    return f"{found.label}: {abs(found.latitude):.1f}° {north}, {abs(found.longitude):.1f}° {east}. {towns.CREDIT}."

"""A power cut in sentences: warmth, the fall held against custom, and oxygen with all that is not counted."""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.sources import PRACTICE, Constant, cite
from pondheat.fish.temperature import CUSTOMARY_RATE

UNHEATED = (
    "The pond is not heated: its water falls much as it would with power, and what the cut takes from the fish is air."
)


def warmth(start: pd.Timestamp, covered: bool, begin: float, hours_to: dict[float, float], days: int) -> str:
    """From when, how warm, and after how many hours the water has fallen by each of the kelvins in `hours_to`."""
    reached = [
        f"{fall:g} K after {units.significant(hours, 2)} h" for fall, hours in hours_to.items() if np.isfinite(hours)
    ]
    missed = [f"{fall:g} K" for fall, hours in hours_to.items() if np.isinf(hours)]
    told = ["it falls by " + ", ".join(reached)] if reached else []
    told += [f"not by {' or '.join(missed)} within {days} days"] if missed else []
    return (
        f"Power gone on {start.day} {start:%B %Y} at {start:%H:%M}, {'cover on' if covered else 'open'}, the water "
        f"at {begin:.1f} °C: {', '.join(told) if reached else 'it falls ' + told[0]}."
    )


def rate(fastest: float) -> str:
    """The greatest fall within 24 hours [K], held against custom."""
    custom = f"custom allows {CUSTOMARY_RATE.value:g} K a day ({PRACTICE})"
    if fastest <= 0:
        return f"It never falls; {custom}."
    return f"At its fastest it falls {units.significant(fastest, 2)} K within 24 hours; {custom}."


def oxygen(
    in_water: float,
    in_all: float,
    stock: float,
    fish_kg: float,
    respiration: Constant,
    lowest: Constant,
    air: float,
    covered: bool,
) -> list[str]:
    """Hours of oxygen in the water and with the air under a lid, by which rates, and what is not counted."""
    rates = (
        f"{respiration.value:g} g an hour for each kg of fish ({_told(respiration)}), down to "
        f"{lowest.value:g} mg/L ({_told(lowest)})"
    )
    sentences = [
        f"The water, full of oxygen at the start, has {units.significant(stock, 2)} g to give to "
        f"{float(f'{fish_kg:.3g}'):g} kg of fish: {units.significant(in_water, 2)} h at {rates}."
    ]
    if air:
        sentences.append(
            f"With the {units.significant(air, 2)} m³ of air under the lid it is at best "
            f"{units.significant(in_all, 2)} h, if the still water takes that oxygen up as fast as it is "
            "breathed. What the fish breathe out gathers under the lid and is not counted: leave a vent "
            "open."
        )
    elif covered:
        sentences.append("Air under the cover is not counted: its height is not given, or it lies on the water.")
    else:
        sentences.append(
            "Open water without a pump takes up some oxygen by itself; that is not counted, and makes the hours more."
        )
    sentences.append(
        "Mud, filter and plants at night breathe too, and a stocked pond is seldom full of oxygen; that "
        "is not counted either, and makes the hours fewer."
    )
    return sentences


def _told(constant: Constant) -> str:
    """Where a constant comes from, in brackets' words."""
    from_where = PRACTICE if constant.source == "practice" else cite(constant.source)
    return f"{from_where}; {constant.note}" if constant.note else from_where

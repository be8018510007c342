"""A power cut in sentences: how the water cools, the fall against custom, and oxygen with all that is not counted."""

from __future__ import annotations

import numpy as np

from pondheat.analysis.freezing import freezing_warning
from pondheat.analysis.power_cut import PowerCut
from pondheat.core import units
from pondheat.core.sources import PRACTICE, Constant, cite
from pondheat.fish.cautions import CAUTIONS
from pondheat.fish.temperature import CUSTOMARY_RATE

UNHEATED = (
    "The pond is not heated: its water cools much as it would with power. What the fish lose in a power cut is air."
)


def power_cut_text(cut: PowerCut) -> tuple[str, ...]:
    """A power cut as sentences, their quantities marked: ice, cooling, rate, what is assumed, oxygen, cautions last."""
    ice = ice_text(cut)
    warnings = [CAUTIONS[key].text for key in ("power_cut", *(["ice"] if ice else []))]
    return (*([ice] if ice else []), _cooling(cut), _rate(cut.fastest_rate), *assumptions(cut), *warnings)


def ice_text(cut: PowerCut) -> str:
    """When the pond begins to freeze and how much of it does, the warning first; empty where there is no ice."""
    if cut.frozen_share <= 0:
        return ""
    begins = (
        "There is ice on the pond when the power goes"
        if cut.hours_to_ice == 0
        else f"The water begins to freeze after {units.significant(cut.hours_to_ice, 2)} h"
    )
    part = f"{units.significant(100 * cut.frozen_share, 2)} %"
    said = f"{begins}; at its most, within {cut.days} days, {part} of it is ice."
    return f"{freezing_warning(cut.frozen_share)} {said}".strip()


def assumptions(cut: PowerCut) -> tuple[str, ...]:
    """What a power cut's numbers take as given, and the hours of oxygen with what they leave out."""
    sentences = [] if cut.heated else [UNHEATED]
    if cut.in_room:
        sentences.append("We assume the room round the pond stays as the sheet says; without power it may cool too.")
    return (*sentences, *_oxygen(cut))


def _cooling(cut: PowerCut) -> str:
    """From when, how warm, and after how many hours the water has fallen by each fall in `hours_to`."""
    reached = [
        f"[{fall:g} K] after {units.significant(hours, 2)} h"
        for fall, hours in cut.hours_to.items()
        if np.isfinite(hours)
    ]
    missed = [f"[{fall:g} K]" for fall, hours in cut.hours_to.items() if np.isinf(hours)]
    told = ["it falls by " + ", ".join(reached)] if reached else []
    told += [f"not by {' or '.join(missed)} within {cut.days} days"] if missed else []
    return (
        f"Power off from {cut.start.day} {cut.start:%B %Y} at {cut.start:%H:%M}, "
        f"{'cover on' if cut.covered else 'open'}, the water at [{cut.start_temp:.1f} °C]: "
        f"{', '.join(told) if reached else 'it falls ' + told[0]}."
    )


def _rate(fastest: float) -> str:
    """The greatest fall within 24 hours [K], compared with custom."""
    custom = f"the usual limit is [{CUSTOMARY_RATE.value:g} K] a day ({PRACTICE})"
    if fastest <= 0:
        return f"It never falls; {custom}."
    return f"At its fastest it falls [{units.significant(fastest, 2)} K] within 24 hours; {custom}."


def _oxygen(cut: PowerCut) -> list[str]:
    """Hours of oxygen in the water and with the air under a lid, by which rates, and what is not counted."""
    if cut.fish_kg is None or cut.water_oxygen_hours is None or cut.oxygen_hours is None:
        return ["No hours of oxygen are given: they need the mass of your fish, which we don't guess."]
    rates = (
        f"{cut.respiration.value:g} g an hour for each kg of fish ({_source(cut.respiration)}), down to "
        f"{cut.lowest_oxygen.value:g} mg/L ({_source(cut.lowest_oxygen)})"
    )
    sentences = [
        f"The water, full of oxygen at the start, has {units.significant(cut.oxygen_stock, 2)} g to give to "
        f"{float(f'{cut.fish_kg:.3g}'):g} kg of fish: {units.significant(cut.water_oxygen_hours, 2)} h at {rates}."
    ]
    if cut.lid_air:
        sentences.append(
            f"With the [{units.significant(cut.lid_air, 2)} m³] of air under the lid it is at best "
            f"{units.significant(cut.oxygen_hours, 2)} h, if the still water takes that oxygen up as fast as it is "
            "breathed. What the fish breathe out gathers under the lid and is not counted: leave a vent "
            "open."
        )
    elif cut.covered:
        sentences.append("Air under the cover is not counted: its height is not given, or the cover is on the water.")
    else:
        sentences.append(
            "Open water without a pump takes up some oxygen by itself; that is not counted, and would add to the hours."
        )
    sentences.append(
        "Mud, filter and plants at night breathe too, and a stocked pond is seldom full of oxygen; that "
        "is not counted either, and would leave fewer hours."
    )
    return sentences


def _source(constant: Constant) -> str:
    """Where a constant comes from, as put in brackets."""
    from_where = PRACTICE if constant.source == "practice" else cite(constant.source)
    return f"{from_where}; {constant.note}" if constant.note else from_where

"""Steps of arithmetic for a power cut: hours of warmth and hours of oxygen."""

from __future__ import annotations

import math

from pondheat.analysis import power_cut as cuts
from pondheat.analysis.power_cut import PowerCut
from pondheat.core import units
from pondheat.core.sources import PRACTICE
from pondheat.fish import oxygen
from pondheat.show.arithmetic import Chain, source
from pondheat.show.panels import known

FALL = 3.0  # K, the fall whose hours are compared with those of oxygen


def add_warmth(chain: Chain, name: str, cut: PowerCut, volume: float) -> None:
    """Append the steps from heat capacity and mean heat loss to the hours of one fall, or to the fall after all days.

    name: of the case; volume: [m³].
    """
    capacity = chain.given(
        f"Heat for [one degree], {name}",
        cut.heat_capacity,
        "kWh/delta_degC",
        f"[{volume:.3g} m³]; {source('iapws_95')}",
    )
    hours, watts = cut.hours_to[FALL], cut.net_loss.to_numpy()
    if math.isinf(hours):
        lost = chain.given(
            f"Heat lost in {len(watts) // cuts.DAY} days, {name}",
            float(watts.sum()) / 1000,
            "kWh",
            "all ways of loss less the sun, hour by hour; what is lost at [0 °C] makes ice",
        )
        chain.times(
            f"Fall, if nothing freezes, {name}",
            (lost, "kWh"),
            (1 / capacity, "delta_degC/kWh"),
            "delta_degC",
            "heat ÷ heat for [one degree]",
        )
        return
    needed = chain.times(
        f"Heat for [{FALL:g} K], {name}",
        (capacity, "kWh/delta_degC"),
        (FALL, "delta_degC"),
        "kWh",
        "heat for [one degree] × degrees",
    )
    whole = int(hours)
    lost = float(watts[:whole].sum() + (hours - whole) * watts[whole]) if whole < len(watts) else float(watts.sum())
    mean = chain.given(
        f"Mean loss until then, {name}",
        lost / hours,
        "W",
        "all ways of loss less the sun, mean of the hours; " + source("ryan_harleman_1973"),
    )
    chain.times(
        f"Hours of warmth, {name}",
        (needed, "kWh"),
        (1000 / mean, "hour/kWh"),
        "hour",
        f"heat ÷ mean loss, shown above as {units.significant(hours, 2)} h",
    )


def add_oxygen(chain: Chain, cut: PowerCut, volume: float, fish_kg: float) -> None:
    """Append the steps from the oxygen in full water to the hours it lasts; volume: [m³], fish_kg: [kg]."""
    full = oxygen.saturation(cut.start_temp, cut.pressure)
    chain.given(
        "Oxygen in full water",
        full,
        "mg/L",
        f"[{cut.start_temp:.1f} °C], {cut.pressure / 100:.0f} hPa; " + source("benson_krause_1984"),
    )
    above = max(full - cuts.LOWEST_OXYGEN.value, 0.0)
    chain.given(
        "Of that above the lowest",
        above,
        "mg/L",
        f"lowest {cuts.LOWEST_OXYGEN.value:g} mg/L; {PRACTICE}; {cuts.LOWEST_OXYGEN.note}",
    )
    stock = chain.times("Oxygen to give", (volume, "m**3"), (above, "mg/L"), "g", "volume × oxygen")
    used = chain.times(
        "Used by the fish",
        (fish_kg, "kg"),
        (cuts.RESPIRATION.value, "g/kg/hour"),
        "g/hour",
        f"{PRACTICE}; {cuts.RESPIRATION.note}",
    )
    chain.times(
        "Hours of oxygen in the water",
        (stock, "g"),
        (1 / used, "hour/g"),
        "hour",
        f"oxygen ÷ use, shown above as {units.significant(known(cut.water_oxygen_hours), 2)} h",
    )

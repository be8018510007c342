"""Greenhouse gas emissions of the energy a pond takes, and the published factors behind them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core import units
from pondheat.core.ranges import plain, require
from pondheat.core.sources import Constant, cite
from pondheat.core.time_zones import zone_place

UK_GENERATION = Constant(0.177, "kg/kWh", "uk_factors_2025", "UK electricity as generated (0.20705 the year before)")
UK_LOSSES = Constant(0.0185, "kg/kWh", "uk_factors_2025", "lost in transmission and distribution (memory)")
GERMAN_MIX = Constant(0.363, "kg/kWh", "uba_2025", "CO₂ alone for a kWh used in 2024, an estimate")
US_GENERATION = Constant(
    0.3733, "kg/kWh", "egrid_2022", "823.1 lb CO₂ a MWh; its regions run from about a third to twice"
)
US_LOSSES = Constant(0.051, "dimensionless", "egrid_2022", "share lost before it reaches you (memory)")
# Scope 2 (generation) and scope 3 (losses and fuel supply) by the time zone of each state.
_AUSTRALIAN = {
    "Sydney": ("New South Wales", 0.66, 0.04),
    "Melbourne": ("Victoria", 0.77, 0.09),
    "Brisbane": ("Queensland", 0.71, 0.10),
    "Adelaide": ("South Australia", 0.23, 0.05),
    "Perth": ("Western Australia", 0.51, 0.06),
    "Hobart": ("Tasmania", 0.15, 0.03),
    "Darwin": ("Northern Territory", 0.56, 0.07),
}
AUSTRALIAN_STATES = {
    f"Australia/{zone}": Constant(
        generation + rest, "kg/kWh", "nga_2024", f"{state}: {generation:g} and {rest:g} added"
    )
    for zone, (state, generation, rest) in _AUSTRALIAN.items()
}
NATURAL_GAS = Constant(
    0.181, "kg/kWh", "epa_hub_2024", "53.06 kg CO₂ a million Btu burnt, as gas meters and bills count"
)
CURRENCIES = {"GB": "GBP", "DE": "EUR", "US": "USD", "AU": "AUD"}


@dataclass(frozen=True)
class Factor:
    """Emissions for each kWh [kg/kWh], None where nobody knows them; where they come from in words, and its source."""

    kg_per_kwh: float | None
    origin: str
    source: str = ""


@dataclass(frozen=True)
class Factors:
    """The factors of one pond's energy: electricity from the grid, and gas as burnt."""

    electricity: Factor
    gas: Factor

    def of(self, electricity_kwh: float, gas_kwh: float) -> float | None:
        """Emissions of a season's energy [kg]; None where a factor that it needs is not known."""
        total = 0.0
        for energy, factor in ((electricity_kwh, self.electricity), (gas_kwh, self.gas)):
            if energy and factor.kg_per_kwh is None:
                return None
            total += emissions(energy, factor.kg_per_kwh or 0.0)
        return total


def emissions_text(kg: float) -> str:
    """Emissions as people say them, in two figures: kilograms, or tonnes from one up.

    kg: in kilograms.

    >>> emissions_text(2123.0), emissions_text(637.0), emissions_text(0.2)
    ('2.1 t', '640 kg', 'less than 1 kg')
    """
    size = float(f"{abs(kg):.2g}")
    if size < 0.5:
        return "less than 1 kg" if kg else "none"
    written = f"{units.significant(size / 1000, 2)} t" if size >= 1000 else f"{units.digits(size)} kg"
    return f"−{written}" if kg < 0 else written


def emissions(energy, kg_per_kwh):
    """Emissions of an amount of energy as carbon dioxide equivalent [kg]: energy × kg_per_kwh.

    energy: [kWh]; kg_per_kwh: [kg/kWh]; floats or arrays. An annual mean is not valid for a single night, and what a
    kWh more or less changes (the marginal plant) may be twice the mean. Raises OutOfRange. Source: by definition.

    >>> emissions(energy=1000.0, kg_per_kwh=0.2)
    200.0
    """
    require(energy=energy, kg_per_kwh=kg_per_kwh)
    return plain(np.asarray(energy, float) * np.asarray(kg_per_kwh, float))


def grid_factor(timezone: str, currency: str | None = None) -> Factor:
    """The published factor of the grid a time zone belongs to; a factor of None where there is none to give.

    timezone: IANA name; currency: code of the currency that the reader named, None where none was: where it is not
    that of the country, the pond may be elsewhere, and nothing is guessed.
    """
    place = zone_place(timezone)
    country = "" if place is None else place.country
    if country not in CURRENCIES:
        return _unknown(f"no published factor is kept here for the grid of {timezone}")
    if currency is not None and currency != CURRENCIES[country]:
        return _unknown(f"the time zone {timezone} and the currency {currency} name two different grids")
    if country == "GB":
        return _published(
            UK_GENERATION.value + UK_LOSSES.value, "UK grid 2025, generation and grid losses", UK_GENERATION
        )
    if country == "DE":
        return _published(GERMAN_MIX.value, "German grid 2024, CO₂ alone", GERMAN_MIX)
    if country == "US":
        delivered = US_GENERATION.value / (1 - US_LOSSES.value)
        return _published(
            delivered, "mean US grid 2022 with grid losses; yours may be half or twice that", US_GENERATION
        )
    assert place is not None
    state = AUSTRALIAN_STATES.get(place.zone)
    if state is None:
        return _unknown(f"Australian factors go by state, and {timezone} does not name one")
    return _published(state.value, f"{state.note.split(':')[0]} 2024, generation, losses and fuel supply", state)


def no_factors() -> Factors:
    """The factors of a pond of no known place: none for electricity, natural gas for gas."""
    return Factors(_unknown("no place is known"), gas_factor())


def gas_factor() -> Factor:
    """The published factor of natural gas, which is nearly the same in every country."""
    return Factor(
        NATURAL_GAS.value,
        f"{NATURAL_GAS.value:.3g} kg a kWh of natural gas burnt ({cite(NATURAL_GAS.source)}); bottled gas is about 15 "
        "% higher",
        NATURAL_GAS.source,
    )


def own_factor(kg_per_kwh: float, key: str) -> Factor:
    """A factor that the reader gave under a key of the sheet [kg/kWh]."""
    return Factor(kg_per_kwh, f"{kg_per_kwh:.3g} kg a kWh, as {key} says")


def _published(kg_per_kwh: float, words: str, constant: Constant) -> Factor:
    return Factor(kg_per_kwh, f"{kg_per_kwh:.3g} kg a kWh: {words} ({cite(constant.source)})", constant.source)


def _unknown(reason: str) -> Factor:
    return Factor(None, f"{reason}. Give your supplier's figure: [emissions] electricity, such as 0.2 kg/kWh")

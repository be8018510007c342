"""Heaters and pumps: what heat they can give, what they take for it, and whether they hold the coldest hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import GRAVITY, Constant
from pondheat.heat.water import density

KINDS = ("none", "resistance", "heat pump", "gas")
SUBMERGED_SHARE = Constant(0.97, "dimensionless", "practice", "a pump under water leaves nearly all its power in it")
DRY_SHARE = Constant(
    0.35, "dimensionless", "practice", "a dry-mounted pump leaves its hydraulic part; the motor warms air"
)
APPROACH = Constant(
    5.0, "delta_degC", "practice", "a heat pump's own water is some kelvin warmer than the pond (judgement)"
)
# Measured over a season against the laboratory's fit: standby, short runs, frost in damp air and the site are in it.
FIELD_FACTOR = Constant(0.85, "dimensionless", "ruhnau_field", "COP in the field over that of the laboratory's fit")
FIELD_LOW = Constant(0.71, "dimensionless", "est_2010", "0.85 × 2.2/2.65, an early field trial over a later one")
FIELD_HIGH = Constant(
    1.0, "dimensionless", "ofgem_in_situ", "the laboratory's own; 6 % of metered pumps reach their design"
)


@dataclass(frozen=True)
class CopFormula:
    """Coefficient of performance from the lift [K]; valid from `least` to `most` kelvin."""

    name: str
    value: Callable
    least: float
    most: float
    source: str


COP_FORMULAS: dict[str, CopFormula] = {
    f.name: f
    for f in (
        CopFormula("staffell", lambda lift: 6.81 - 0.121 * lift + 0.000630 * lift**2, 15.0, 60.0, "staffell_2012"),
        CopFormula("ruhnau", lambda lift: 6.08 - 0.09 * lift + 0.0005 * lift**2, 15.0, 60.0, "ruhnau_2019"),
    )
}


def heat_pump_cop(lift, formula="staffell"):
    """Coefficient of performance of an air-source heat pump in the laboratory [–].

    lift: [K] water it makes minus air it takes from, float or array; below 15 K the value at 15 K, above 60 K the value
    at 60 K. formula: a key of COP_FORMULAS. Fan, controls and the defrosting that fell within a test are in it, as
    EN 14511 defines a COP (memory). Standby (EN 14825) and short runs are not: see FIELD_FACTOR.
    Raises OutOfRange. Source: Staffell et al. 2012; Ruhnau et al. 2019 (memory).

    >>> round(heat_pump_cop(28.0), 2)
    3.92
    """
    require(lift=lift)
    record = COP_FORMULAS[choose("COP formula", formula, COP_FORMULAS)]
    return plain(record.value(np.clip(np.asarray(lift, float), record.least, record.most)))


def pump_power(flow, head, efficiency):
    """Electric power of a pump [W]: ρ g Q H / η.

    flow: [m³/s]; head: [m] friction included; efficiency: [–]; floats or arrays. Raises OutOfRange.
    Source: by definition.

    >>> round(pump_power(10 / 3600, 2.0, 0.35))
    156
    """
    require(flow=flow, head=head, efficiency=efficiency)
    return plain(
        density(15.0)
        * GRAVITY.value
        * np.asarray(flow, float)
        * np.asarray(head, float)
        / np.asarray(efficiency, float)
    )


@dataclass(frozen=True)
class Heater:
    """What stands beside the pond.

    kind: one of KINDS. power [W] of heat; for a heat pump at `rated_air_temp` [degC], falling by `fade` [1/K] per
    kelvin below it (and not rising above it); it stops below `lowest_air_temp` [degC]. backup [W]: resistance beside a
    heat pump. efficiency [–] of a gas heater. cop_factor [–] scales the COP formula: 1 is the laboratory's,
    FIELD_FACTOR what field trials found (standby, short runs, defrosting, the site).
    """

    kind: str = "resistance"
    power: float = 0.0
    rated_air_temp: float = 15.0
    fade: float = 0.027
    lowest_air_temp: float = -10.0
    backup: float = 0.0
    efficiency: float = 0.9
    cop_formula: str = "staffell"
    cop_factor: float = 1.0

    def __post_init__(self):
        choose("kind of heater", self.kind, KINDS)
        require(power=self.power, efficiency=self.efficiency)
        require(power=self.backup)
        choose("COP formula", self.cop_formula, COP_FORMULAS)
        if self.backup and self.kind != "heat pump":
            raise OutOfRange("A backup belongs to a heat pump; give a larger power instead.")

    def heat_pump_limit(self, air_temp):
        """Heat the pump itself can give [W] at an air temperature [degC]; 0 below its lowest working temperature."""
        air = np.asarray(air_temp, float)
        share = np.clip(1 - self.fade * (self.rated_air_temp - air), 0.0, 1.0)
        return np.where(air < self.lowest_air_temp, 0.0, self.power * share)

    def limit(self, air_temp):
        """Most heat the water can get [W] at an air temperature [degC], as an array."""
        air = np.asarray(air_temp, float)
        if self.kind == "none":
            return np.zeros_like(air)
        if self.kind == "heat pump":
            return self.heat_pump_limit(air) + self.backup
        return np.full_like(air, self.power)

    def taken(self, heat, water_temp, air_temp) -> tuple[np.ndarray, np.ndarray]:
        """What a heat output takes: (electricity [W], gas [W]). heat [W]; water_temp, air_temp [degC]; arrays."""
        heat = np.asarray(heat, float)
        nothing = np.zeros_like(heat)
        if self.kind == "gas":
            return nothing, heat / self.efficiency
        if self.kind != "heat pump":
            return heat, nothing
        pumped = np.minimum(heat, self.heat_pump_limit(air_temp))
        lift = np.asarray(water_temp, float) + APPROACH.value - np.asarray(air_temp, float)
        cop = np.maximum(self.cop_factor * np.asarray(heat_pump_cop(lift, self.cop_formula)), 1.0)
        return pumped / cop + (heat - pumped), nothing


def fade_between(power_warm, air_warm, power_cold, air_cold) -> float:
    """Fade per kelvin [1/K] from two printed outputs: 6 kW at 15 °C and 3.6 kW at 0 °C give 0.0267.

    >>> round(fade_between(6000, 15, 3600, 0), 4)
    0.0267
    """
    if air_warm <= air_cold or power_warm <= 0:
        raise OutOfRange("Give the warmer point first, with a power above zero.")
    return (1 - power_cold / power_warm) / (air_warm - air_cold)

"""The published formulae for evaporation from open water, each with a record, and the one coefficient they all give.

Published formulae differ two- to threefold at one and the same state, and more with the two for still indoor air; each
record names its source, its wind height and what it was made for. A formula that is added gets a function, a record in
`EVAPORATION`, and a branch in one of the two functions at the end.
"""

from __future__ import annotations

from dataclasses import dataclass

from pondheat.core.compilation import cbrt, formula, maximum, some, where
from pondheat.core.sources import MOLAR_RATIO, VAPOUR_GAS, ZERO_CELSIUS
from pondheat.heat.moist_air import dry_air_density, ratio_at_pressure
from pondheat.heat.water import heat_of_evaporation

_KELVIN = ZERO_CELSIUS.value
_MOLAR_RATIO = MOLAR_RATIO.value
_VAPOUR_GAS = VAPOUR_GAS.value
_MMHG = 133.322  # Pa
_PER_MMHG = 1.0 / _MMHG
_PSI = 6894.757  # Pa
_MPH = 0.44704  # m/s
_BTU_PER_HOUR_FT2 = 3.154591  # W/m²
_SECONDS_PER_DAY = 86_400.0
_STEP = 0.05  # K: small enough for a numerical slope of the formulae that have no other


# Each formula returns the heat lost per Pa of vapour pressure difference [W/(m²·Pa)] from: water_temp, air_temp [degC];
# water_vapour (saturated), air_vapour [Pa]; wind [m/s] at the formula's height; pressure [Pa].


@formula
def _carrier(wind):
    return (89.0 + 78.2 * wind) / 1000


@formula
def _smith_lof_jones(wind):
    return (64.1 + 68.2 * wind) / 1000


@formula
def _rafferty_boyd(wind):
    # lb/(h·ft²) per psi, wind in mph; 1050 Btu/lb is the latent heat that the source's heat column implies (memory)
    return (0.097 + 0.038 * wind / _MPH) * 1050.0 * _BTU_PER_HOUR_FT2 / _PSI


@formula
def _penman_1948(wind):
    return 6.43e6 * (1 + 0.536 * wind) / _SECONDS_PER_DAY / 1000


@formula
def _penman_1956(wind):
    return 6.43e6 * (0.5 + 0.536 * wind) / _SECONDS_PER_DAY / 1000


@formula
def _brady_graves_geyer(wind):
    return (19.0 + 0.95 * wind * wind) * 0.48426 / _MMHG  # cal/(cm²·day) per mmHg


@formula
def _ryan_harleman(water_temp, air_temp, water_vapour, vapour_slope, air_vapour, wind, pressure):
    """The coefficient and its slope in the water's temperature [1/K of it]; vapour_slope: of water_vapour [Pa/K]."""
    lightness = 0.378 / pressure
    dry = 1.0 - lightness * water_vapour
    virtual = (water_temp + _KELVIN) / dry
    # air over warm water is lighter and rises; no free convection where it is heavier
    difference = maximum(virtual - (air_temp + _KELVIN) / (1.0 - lightness * air_vapour), 0.0)
    root = cbrt(difference)
    # 1e-3 K keeps the slope finite where the root begins; the loss itself is exact
    root_slope = root * (1.0 + lightness * vapour_slope * virtual) / ((3.0 * difference + 3e-3) * dry)
    return (3.59 * root + 4.26 * wind) * _PER_MMHG, 3.59 * root_slope * _PER_MMHG


@formula
def _vdi_2089(water_temp, air_temp):
    mean_kelvin = 0.5 * (water_temp + air_temp) + _KELVIN
    return 7.0 / 3600 / (_VAPOUR_GAS * mean_kelvin) * heat_of_evaporation(water_temp)


@formula
def _shah_quiet(water_temp, air_temp, water_vapour, air_vapour, pressure):
    # densities in kg of dry air per cubic metre of the mixture, as the source's tables need them
    over_water = dry_air_density(water_temp, ratio_at_pressure(water_vapour, pressure), pressure)
    in_room = dry_air_density(air_temp, ratio_at_pressure(air_vapour, pressure), pressure)
    buoyancy = cbrt(maximum(in_room - over_water, 0.0))
    dry = (pressure - water_vapour) * (pressure - air_vapour)
    rate = maximum(35.0 * over_water * buoyancy * _MOLAR_RATIO * pressure / dry, 5e-5)  # kg/(h·m²·Pa)
    return rate / 3600 * heat_of_evaporation(water_temp)


@dataclass(frozen=True)
class EvaporationFormula:
    """One published evaporation formula: where it comes from and what it was made for.

    number: by which `evaporation_coefficient` knows it. wind_height [m]: None where the source gives the wind over the
    surface "as given", or has none. condenses: whether a negative vapour pressure difference warms the water;
    otherwise the formula stops at zero.
    """

    name: str
    number: float
    source: str
    wind_height: float | None
    validity: str
    condenses: bool = True


_RYAN, _CARRIER, _QUIET, _SMITH, _RAFFERTY = 0.0, 1.0, 2.0, 3.0, 4.0
_PENMAN_48, _PENMAN_56, _BRADY, _VDI, _SHAH = 5.0, 6.0, 7.0, 8.0, 9.0

EVAPORATION: dict[str, EvaporationFormula] = {
    record.name: record
    for record in (
        EvaporationFormula(
            "ryan_harleman",
            _RYAN,
            "ryan_harleman_1973",
            2.0,
            "heated ponds and cooling lakes: calm-air loss grows with the warmth of the water",
        ),
        EvaporationFormula("carrier", _CARRIER, "carrier_1918", None, "indoor pool with bathers; high outdoors"),
        EvaporationFormula("ashrae_quiet", _QUIET, "ashrae_apps", None, "Carrier, halved for a quiet pool"),
        EvaporationFormula("smith_lof_jones", _SMITH, "smith_1994", None, "unoccupied outdoor heated pool, measured"),
        EvaporationFormula("rafferty_boyd", _RAFFERTY, "rafferty_boyd", None, "outdoor fish ponds and raceways"),
        EvaporationFormula("penman_1948", _PENMAN_48, "penman_1948", 2.0, "open water near air temperature"),
        EvaporationFormula("penman_1956", _PENMAN_56, "penman_1956", 2.0, "open water near air temperature"),
        EvaporationFormula("brady_graves_geyer", _BRADY, "brady_1969", 7.0, "cooling lakes of power stations"),
        EvaporationFormula("vdi_2089", _VDI, "vdi_2089", None, "indoor pool at rest; no wind term", condenses=False),
        EvaporationFormula(
            "shah_quiet", _SHAH, "shah_2012", None, "indoor pool, quiet, still air; no wind term", condenses=False
        ),
    )
}
DEFAULT_EVAPORATION = "ryan_harleman"
FORMULA_WIND_HEIGHT = 2.0  # m; formulae whose source gives no height take the wind at 2 m


@formula
def _wind_coefficient(number, wind):
    """Coefficient of the formulae that take nothing but the wind; 0 for the others."""
    found = 0.0 * wind
    if some(number == _CARRIER):
        found = where(number == _CARRIER, _carrier(wind), found)
    if some(number == _QUIET):
        found = where(number == _QUIET, 0.5 * _carrier(wind), found)
    if some(number == _SMITH):
        found = where(number == _SMITH, _smith_lof_jones(wind), found)
    if some(number == _RAFFERTY):
        found = where(number == _RAFFERTY, _rafferty_boyd(wind), found)
    if some(number == _PENMAN_48):
        found = where(number == _PENMAN_48, _penman_1948(wind), found)
    if some(number == _PENMAN_56):
        found = where(number == _PENMAN_56, _penman_1956(wind), found)
    if some(number == _BRADY):
        found = where(number == _BRADY, _brady_graves_geyer(wind), found)
    return found


@formula
def evaporation_coefficient(number, water_temp, air_temp, water_vapour, vapour_slope, air_vapour, wind, pressure):
    """Heat lost by evaporation per Pa of vapour difference [W/(m²·Pa)], and its slope in water_temp [1/K of it].

    number: of an `EVAPORATION` record, one or an array of them; water_temp, air_temp: [degC]; water_vapour:
    saturated at the water [Pa] with its slope [Pa/K]; air_vapour: [Pa]; wind: [m/s] at the formula's height;
    pressure: [Pa].
    """
    coefficient = _wind_coefficient(number, wind)
    slope = 0.0 * coefficient
    if some(number == _RYAN):
        ryan, ryan_slope = _ryan_harleman(water_temp, air_temp, water_vapour, vapour_slope, air_vapour, wind, pressure)
        coefficient = where(number == _RYAN, ryan, coefficient)
        slope = where(number == _RYAN, ryan_slope, slope)
    warmer, wetter = water_temp + _STEP, water_vapour + vapour_slope * _STEP
    if some(number == _VDI):
        here = _vdi_2089(water_temp, air_temp)
        coefficient = where(number == _VDI, here, coefficient)
        slope = where(number == _VDI, (_vdi_2089(warmer, air_temp) - here) / _STEP, slope)
    if some(number == _SHAH):
        here = _shah_quiet(water_temp, air_temp, water_vapour, air_vapour, pressure)
        there = _shah_quiet(warmer, air_temp, wetter, air_vapour, pressure)
        coefficient = where(number == _SHAH, here, coefficient)
        slope = where(number == _SHAH, (there - here) / _STEP, slope)
    return coefficient, slope

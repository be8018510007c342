"""Moist air: vapour pressure, humidity, wet bulb, density, enthalpy, air pressure at a height.

Below 0 °C two saturation curves exist. `saturation_vapour_pressure` is over water (what weather services refer
relative humidity to), `saturation_vapour_pressure_ice` over ice; humidity ratio, dew point and wet bulb use ice there.
"""

from __future__ import annotations

import numpy as np

from pondheat.core.compilation import exp, formula, log, minimum, where
from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.core.sources import (
    DRY_AIR_GAS,
    DRY_AIR_HEAT,
    EVAPORATION_HEAT,
    MOLAR_RATIO,
    STANDARD_PRESSURE,
    VAPOUR_HEAT,
    ZERO_CELSIUS,
)

_KELVIN = ZERO_CELSIUS.value
_MOLAR_RATIO = MOLAR_RATIO.value
_DRY_AIR_GAS = DRY_AIR_GAS.value
_DRY_AIR_HEAT, _VAPOUR_HEAT, _EVAPORATION_HEAT = DRY_AIR_HEAT.value, VAPOUR_HEAT.value, EVAPORATION_HEAT.value

# Hyland & Wexler, as printed in ASHRAE Fundamentals 2017 ch. 1: eq 5 over ice, eq 6 over water; T in kelvin, Pa.
_ICE = (-5.6745359e3, 6.3925247, -9.6778430e-3, 6.2215701e-7, 2.0747825e-9, -9.4840240e-13, 4.1635019)
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)


@formula
def saturation_curve(temp):
    """Vapour pressure over water at saturation [Pa] and its slope [Pa/K] at temp [degC]."""
    kelvin = temp + _KELVIN
    inverse = 1.0 / kelvin
    a, b, c, d, e, f = _WATER
    pressure = exp(a * inverse + b + kelvin * (c + kelvin * (d + kelvin * e)) + f * log(kelvin))
    return pressure, pressure * (inverse * (f - a * inverse) + c + kelvin * (2 * d + kelvin * 3 * e))


@formula
def ice_curve(temp):
    """Vapour pressure over ice at saturation [Pa] at temp [degC], not above 0.01 °C."""
    kelvin = temp + _KELVIN
    c0, c1, c2, c3, c4, c5, c6 = _ICE
    polynomial = c1 + kelvin * (c2 + kelvin * (c3 + kelvin * (c4 + kelvin * c5)))
    return exp(c0 / kelvin + polynomial + c6 * log(kelvin))


@formula
def outdoor_air(air_temp, rel_humidity, pressure):
    """Outdoor air, unchecked: vapour pressure [Pa], humidity ratio [kg/kg], enthalpy [J/kg], dry air [kg/m³].

    air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]. The vapour pressure is over water, as weather services define
    humidity; the humidity ratio over ice below 0 °C, as the handbook does.
    """
    over_water = saturation_curve(air_temp)[0]
    over_ice = where(air_temp > 0.01, over_water, ice_curve(minimum(air_temp, 0.01)))
    ratio = ratio_at_pressure(rel_humidity * over_ice, pressure)
    enthalpy = enthalpy_of_air(air_temp, ratio)
    return rel_humidity * over_water, ratio, enthalpy, dry_air_density(air_temp, ratio, pressure)


@formula
def ratio_at_pressure(vapour, pressure):
    """Humidity ratio [kg/kg] of air with a vapour pressure [Pa] at a total pressure [Pa]."""
    return _MOLAR_RATIO * vapour / (pressure - vapour)


@formula
def enthalpy_of_air(temp, ratio):
    """Enthalpy of moist air [J/kg of dry air] at temp [degC] with humidity ratio [kg/kg]."""
    return _DRY_AIR_HEAT * temp + ratio * (_EVAPORATION_HEAT + _VAPOUR_HEAT * temp)


@formula
def saturated_air(temp, vapour, vapour_slope, pressure):
    """Air saturated at temp [degC]: humidity ratio [kg/kg], its slope [1/K], enthalpy [J/kg], its slope [J/(kg·K)]."""
    dry = pressure - vapour
    ratio = ratio_at_pressure(vapour, pressure)
    ratio_slope = _MOLAR_RATIO * pressure * vapour_slope / (dry * dry)
    enthalpy_slope = _DRY_AIR_HEAT + _VAPOUR_HEAT * ratio + ratio_slope * (_EVAPORATION_HEAT + _VAPOUR_HEAT * temp)
    return ratio, ratio_slope, enthalpy_of_air(temp, ratio), enthalpy_slope


@formula
def dry_air_density(temp, ratio, pressure):
    """Mass of dry air in a cubic metre of moist air [kg/m³] at temp [degC], humidity ratio [kg/kg], pressure [Pa]."""
    return pressure / (_DRY_AIR_GAS * (temp + _KELVIN) * (1 + 1.607858 * ratio))


def saturation_vapour_pressure(temp):
    """Vapour pressure of saturated air over (liquid) water [Pa], also below 0 °C.

    temp: [degC], float or array.
    Hyland–Wexler equation; 0 to 200 °C, below 0 °C an extrapolation in common use.
    Raises OutOfRange outside −100 to 200 °C. Source: ASHRAE Fundamentals 2017 ch. 1 eq 6.

    >>> round(saturation_vapour_pressure(5.0), 1)      # the handbook's Table 3 prints 872.6
    872.5
    """
    require(temp=temp)
    return plain(saturation_curve(np.asarray(temp, float))[0])


def saturation_vapour_pressure_ice(temp):
    """Vapour pressure of saturated air over ice [Pa]; above 0.01 °C there is no ice and the water curve is given.

    temp: [degC], float or array. Hyland–Wexler equation, −100 to 0 °C.
    Raises OutOfRange outside −100 to 200 °C. Source: ASHRAE Fundamentals 2017 ch. 1 eq 5.

    >>> round(saturation_vapour_pressure_ice(-20.0), 1)      # the handbook's Table 3 prints 103.24
    103.3
    """
    require(temp=temp)
    temp = np.asarray(temp, float)
    return plain(np.where(temp > 0.01, saturation_curve(temp)[0], ice_curve(np.minimum(temp, 0.01))))


def vapour_pressure(air_temp, rel_humidity):
    """Vapour pressure of air [Pa]: rel_humidity × saturation over water, as weather services define it.

    air_temp: [degC]; rel_humidity: [–]; floats or arrays. Raises OutOfRange. Source: by definition.
    """
    require(air_temp=air_temp, rel_humidity=rel_humidity)
    return plain(np.asarray(rel_humidity, float) * saturation_curve(np.asarray(air_temp, float))[0])


def pressure_at_altitude(altitude):
    """Air pressure of the standard atmosphere at a height [Pa]: 101325 (1 − 2.25577e-5 z)^5.2559.

    altitude: [m], float or array, −450 to 6000. Raises OutOfRange.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq 3.

    >>> round(pressure_at_altitude(500.0))      # Table 1 prints 95.461 kPa
    95461
    """
    require(altitude=altitude)
    return plain(STANDARD_PRESSURE.value * (1 - 2.25577e-5 * np.asarray(altitude, float)) ** 5.2559)


def saturation_humidity_ratio(temp, pressure):
    """Water vapour per mass of dry air at saturation [kg/kg]: 0.622 p/(P − p); over ice below 0 °C.

    temp: [degC]; pressure: [Pa]; floats or arrays. Ideal gas: 0.4–0.7 % below the real gas of the printed tables.
    Raises OutOfRange, also where water boils. Source: ASHRAE Fundamentals 2017 ch. 1 eq 21.
    """
    require(temp=temp, pressure=pressure)
    vapour, pressure = np.asarray(saturation_vapour_pressure_ice(temp)), np.asarray(pressure, float)
    if np.any(vapour >= pressure):
        raise OutOfRange("At this temperature and pressure water boils: no air can be saturated.")
    return plain(ratio_at_pressure(vapour, pressure))


def humidity_ratio(air_temp, rel_humidity, pressure):
    """Water vapour per mass of dry air [kg/kg], saturation over ice below 0 °C (the handbook's convention).

    air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays. Raises OutOfRange.
    Source: ASHRAE Fundamentals 2017 ch. 1 eqs 20, 22.
    """
    require(air_temp=air_temp, rel_humidity=rel_humidity, pressure=pressure)
    vapour = np.asarray(rel_humidity, float) * saturation_vapour_pressure_ice(air_temp)
    return plain(ratio_at_pressure(vapour, np.asarray(pressure, float)))


def enthalpy(air_temp, humidity_ratio):
    """Heat content of moist air per mass of dry air [J/kg], zero for dry air at 0 °C.

    air_temp: [degC]; humidity_ratio: [kg/kg]; floats or arrays. 1006 t + W (2501000 + 1860 t). Raises OutOfRange.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq 30.

    >>> enthalpy(30.0, 0.02)
    81316.0
    """
    require(air_temp=air_temp, humidity_ratio=humidity_ratio)
    return plain(enthalpy_of_air(np.asarray(air_temp, float), np.asarray(humidity_ratio, float)))


def density(air_temp, rel_humidity, pressure):
    """Density of moist air [kg/m³]: (1 + W)/v with v = R T (1 + 1.607858 W)/P.

    air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays. Raises OutOfRange.
    Source: ASHRAE Fundamentals 2017 ch. 1 eqs 26, 11.
    """
    ratio = humidity_ratio(air_temp, rel_humidity, pressure)
    return plain((1 + ratio) * dry_air_density(np.asarray(air_temp, float), ratio, np.asarray(pressure, float)))


def dew_point(air_temp, rel_humidity):
    """Temperature at which this air would be saturated [degC]; frost point (over ice) below 0 °C.

    air_temp: [degC]; rel_humidity: [–], above 0; floats or arrays.
    Solves saturation = rel_humidity × saturation at air_temp (over ice below 0 °C on both sides) by Newton's method.
    Raises OutOfRange, also for air without vapour. Source: ASHRAE Fundamentals 2017 ch. 1 eqs 5, 6.
    """
    require(air_temp=air_temp, rel_humidity=rel_humidity)
    vapour = np.asarray(rel_humidity, float) * saturation_vapour_pressure_ice(air_temp)
    if np.any(vapour < saturation_vapour_pressure_ice(-99.0)):
        raise OutOfRange("This air is so dry that it has no dew point above −99 °C.")
    point = np.asarray(air_temp, float) + 0 * vapour
    for _ in range(30):
        here = saturation_vapour_pressure_ice(point)
        slope = (saturation_vapour_pressure_ice(point + 0.01) - here) / 0.01
        # Newton on the logarithm: nearly straight, so it settles in a few steps from any start
        point = np.maximum(point - np.log(here / vapour) * here / slope, -99.0)
    return plain(point)


def _ratio_of_wet_bulb(wet, air, pressure):
    """Humidity ratio of air whose wet bulb reads `wet`, over ice below 0 °C (eqs 33, 35); it jumps down at 0 °C."""
    saturated = saturation_humidity_ratio(wet, pressure)
    over_water = ((2501 - 2.326 * wet) * saturated - 1.006 * (air - wet)) / (2501 + 1.86 * air - 4.186 * wet)
    over_ice = ((2830 - 0.24 * wet) * saturated - 1.006 * (air - wet)) / (2830 + 1.86 * air - 2.1 * wet)
    return np.where(wet >= 0, over_water, over_ice)


def wet_bulb(air_temp, rel_humidity, pressure):
    """Thermodynamic wet-bulb temperature [degC]: the lowest to which falling water can be cooled by this air.

    air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays.
    Solves the adiabatic saturation balance by halving; over ice below 0 °C. For some air near freezing a wet bulb under
    water and another under ice both fit: the one under water is given. Raises OutOfRange.
    Source: ASHRAE Fundamentals 2017 ch. 1 eqs 33, 35.

    >>> round(wet_bulb(10.0, 0.8, 101325.0), 2)
    8.29
    """
    require(air_temp=air_temp, rel_humidity=rel_humidity, pressure=pressure)
    pressure = np.asarray(pressure, float)
    target = np.asarray(humidity_ratio(air_temp, rel_humidity, pressure))
    air = np.asarray(air_temp, float) + 0 * target
    liquid = _ratio_of_wet_bulb(0.0 * air, air, pressure) <= target
    low, high = np.where(liquid, 0.0, -99.0), np.where(liquid, air, np.minimum(air, 0.0))
    for _ in range(60):
        middle = (low + high) / 2
        too_wet = _ratio_of_wet_bulb(middle, air, pressure) > target
        low, high = np.where(too_wet, low, middle), np.where(too_wet, middle, high)
    return plain((low + high) / 2)

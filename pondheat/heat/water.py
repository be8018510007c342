"""Water: density, specific heat, latent heat, and the heat and hours to warm a mass of it."""

from __future__ import annotations

import numpy as np

from pondheat.core.compilation import formula
from pondheat.core.ranges import plain, require
from pondheat.core.sources import EVAPORATION_HEAT, EVAPORATION_HEAT_FALL

JOULES_PER_KWH = 3.6e6
_EVAPORATION_HEAT, _EVAPORATION_HEAT_FALL = EVAPORATION_HEAT.value, EVAPORATION_HEAT_FALL.value


def density(temp):
    """Density of fresh water at 1 atm [kg/m³].

    temp: [degC], float or array; 0 to 100 °C (supercooled −5 to 0 °C as an extrapolation). Raises OutOfRange.
    Source: Kell 1975 (memory); within 0.0004 % of IAPWS-95 from 0 to 60 °C.

    >>> round(density(10.0), 1)
    999.7
    """
    require(water_temp=temp)
    t = np.asarray(temp, float)
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return plain(above / (1 + 16.879850e-3 * t))


def specific_heat(temp):
    """Specific heat of fresh water at 1 atm [J/(kg·K)].

    temp: [degC], float or array; 0 to 60 °C. Raises OutOfRange.
    Fourth-degree polynomial fitted by the editors every kelvin from 0.5 to 59.5 °C, within 0.008 %. Source: IAPWS-95.

    >>> round(specific_heat(20.0))
    4184
    """
    require(water_temp=temp)
    t = np.asarray(temp, float)
    return plain(4219.0238 + t * (-3.2202180 + t * (0.096750678 + t * (-1.3218562e-3 + 7.4550199e-6 * t))))


@formula
def heat_of_evaporation(temp):
    """Heat to evaporate water [J/kg] at temp [degC], unchecked."""
    return _EVAPORATION_HEAT - _EVAPORATION_HEAT_FALL * temp


def latent_heat(temp):
    """Heat to evaporate water [J/kg]: (2.501 − 0.002361 t) MJ/kg.

    temp: [degC], float or array; 0 to 50 °C. Raises OutOfRange.
    Source: FAO-56 Annex 3 (after Harrison 1963); the 2257 kJ/kg of school books belongs to 100 °C.

    >>> round(latent_heat(20.0) / 1000, 1)
    2453.8
    """
    require(water_temp=temp)
    return plain(heat_of_evaporation(np.asarray(temp, float)))


def heat_capacity(volume, temp=20.0):
    """Heat to warm a volume of water by one degree [kWh/K]: density × specific heat × volume.

    volume: [m³]; temp: [degC]; floats or arrays. Raises OutOfRange. Source: by definition.

    >>> round(heat_capacity(1.0), 3)
    1.16
    """
    require(volume=volume)
    return plain(density(temp) * specific_heat(temp) * np.asarray(volume, float) / JOULES_PER_KWH)


def warming_energy(volume, start_temp, end_temp):
    """Heat to bring a volume of water from one temperature to another, losses left out [kWh].

    volume: [m³]; start_temp, end_temp: [degC]; floats or arrays; negative where the water cools.
    Properties at the middle of the two temperatures. Raises OutOfRange. Source: by definition.

    >>> round(warming_energy(1.0, 17.0, 27.0), 1)
    11.6
    """
    require(volume=volume, start_temp=start_temp, end_temp=end_temp)
    rise = np.asarray(end_temp, float) - np.asarray(start_temp, float)
    return plain(heat_capacity(volume, np.asarray(start_temp, float) + rise / 2) * rise)


def warming_hours(volume, start_temp, end_temp, power, losses=0.0):
    """Hours a heater needs to warm a volume of water against steady losses [h]; inf where it cannot.

    volume: [m³]; start_temp, end_temp: [degC]; power: [W] given to the water; losses: [W]; floats or arrays.
    Raises OutOfRange. Source: by definition.
    """
    require(power=power, losses=losses)
    energy = np.asarray(warming_energy(volume, start_temp, end_temp))
    spare = (np.asarray(power, float) - np.asarray(losses, float)) / 1000
    with np.errstate(divide="ignore", invalid="ignore"):
        hours = np.where(energy <= 0, 0.0, np.where(spare > 0, energy / spare, np.inf))
    return plain(hours)

"""Ice on a pond: how thick it is, how far it insulates the water, and how fast it grows.

It is an even sheet of clear ice on the whole surface. Snow on it, slush, and ice on walls are left out; over it vapour
and radiation are taken as over water of the same temperature.
"""

from __future__ import annotations

import numpy as np

from pondheat.core.compilation import formula, maximum, minimum, some, where
from pondheat.core.ranges import plain, require
from pondheat.core.sources import FUSION_HEAT, Constant
from pondheat.heat.routes import Routes, route_losses, total_loss

ICE_CONDUCTIVITY = Constant(2.14, "W/m/K", "crc_ice", "at 0 °C; 2.3 at −10 °C")
ICE_DENSITY = Constant(916.7, "kg/m**3", "crc_ice", "at 0 °C")
_CONDUCTIVITY, _DENSITY, _FUSION = ICE_CONDUCTIVITY.value, ICE_DENSITY.value, FUSION_HEAT.value
_HOUR = 3600.0  # s
_MOST_STEPS = 12  # Newton's method on the ice's surface takes two or three
_SETTLED = 0.01  # K: over so small a step of the ice's surface the losses are as good as straight


@formula
def ice_resistance(ice, surface_area):
    """Thermal resistance [K/W] of an even sheet of ice [kg] on a surface [m²]."""
    return ice / (_DENSITY * _CONDUCTIVITY * maximum(surface_area * surface_area, 1e-12))


@formula
def surface_loss(losses):
    """Sum over the routes of a `Routes` that leave by the water's surface or its cover."""
    return losses.evaporation + losses.convection + losses.long_wave


@formula
def losses_through_ice(losses, slopes, ice, given, moment, pond):
    """Losses of water at 0 °C under ice, as `Routes` [W]: what leaves by the surface has to pass the ice.

    losses, slopes: of the same water without ice [W], [W/K]; ice: [kg] at the hour's start; given: [W] from heater, sun
    and pump. The ice's surface has the temperature at which conduction
    from 0 °C brings as much as leaves it, never above 0 °C, where it melts. Newton's method about that temperature; the
    thickness is that of the middle of the hour.
    """
    here, tilt, surface = losses, slopes, 0.0 * ice
    streams = total_loss(losses) - surface_loss(losses)
    step, frozen = surface, ice > 0.0
    for _ in range(_MOST_STEPS):
        slope = maximum(surface_loss(tilt), 1e-6)
        at_zero = surface_loss(here) - slope * surface
        net = given - streams - at_zero / (1.0 + slope * ice_resistance(ice, pond.surface_area))
        resistance = ice_resistance(maximum(ice - net * _HOUR / (2.0 * _FUSION), 0.0), pond.surface_area)
        new = minimum(-at_zero * resistance / (1.0 + slope * resistance), 0.0)
        step = where(frozen, new - surface, 0.0)
        surface = surface + step
        if not some(abs(step) > _SETTLED):
            break
        here, tilt = route_losses(surface, moment, pond)
        step = 0.0 * step
    return Routes(
        where(frozen, here.evaporation + tilt.evaporation * step, losses.evaporation),
        where(frozen, here.convection + tilt.convection * step, losses.convection),
        where(frozen, here.long_wave + tilt.long_wave * step, losses.long_wave),
        losses.walls,
        losses.ground,
        losses.falling_water,
        losses.casing,
        losses.aeration,
        losses.water_change,
    )


def ice_thickness(ice, surface_area):
    """Thickness of an even sheet of ice [m]: mass / (density × area).

    ice: [kg]; surface_area: [m²]; floats or arrays. Clear ice without air or snow. Raises OutOfRange.
    Source: CRC Handbook (density of ice).

    >>> round(ice_thickness(917.0, 10.0), 3)
    0.1
    """
    require(ice=ice, surface_area=surface_area)
    return plain(np.asarray(ice, float) / (ICE_DENSITY.value * np.asarray(surface_area, float)))


def ice_growth(air_temp, loss_coefficient, hours, conductivity=ICE_CONDUCTIVITY.value):
    """Thickness of bare ice that grows on still water at 0 °C in steady frost [m].

    air_temp: [degC], above 0 °C no ice grows; loss_coefficient: [W/(m²·K)] from the ice's surface to the air, between
    10 and 30; hours: [h]; conductivity: [W/(m·K)] of the ice; floats or arrays. Ice and surface in series:
    h = −k/H + √((k/H)² + 2 k (0 − Ta) t / (ρ L)). Raises OutOfRange. Source: Ashton, ice in lakes and rivers.

    >>> round(ice_growth(-10.0, 20.0, 240.0), 3)
    0.257
    """
    require(air_temp=air_temp, loss_coefficient=loss_coefficient, hours=hours, conductivity=conductivity)
    frost = np.maximum(-np.asarray(air_temp, float), 0.0) * np.asarray(hours, float) * 3600
    conductivity = np.asarray(conductivity, float)
    bare = conductivity / np.maximum(np.asarray(loss_coefficient, float), 1e-9)
    return plain(np.sqrt(bare**2 + 2 * conductivity * frost / (_DENSITY * _FUSION)) - bare)


def stefan_ice_thickness(freezing_degree_days, conductivity=ICE_CONDUCTIVITY.value):
    """Most ice by Stefan's degree-day rule [m]: √(2 k FDD / (ρ L)), some 3.5 cm √FDD.

    freezing_degree_days: [K·d] below 0 °C; conductivity: [W/(m·K)] of the ice; floats or arrays. The surface is taken
    to be as cold as the air, so real ice is thinner: manuals print 0.8 of it for a windy lake without snow, 0.5 to 0.7
    for a lake with snow. Raises OutOfRange. Source: Stefan's rule; fractions from CRREL Technical Note 04-3.

    >>> round(stefan_ice_thickness(100.0), 3)
    0.348
    """
    require(freezing_degree_days=freezing_degree_days, conductivity=conductivity)
    frost = np.asarray(freezing_degree_days, float) * 86_400
    return plain(np.sqrt(2 * np.asarray(conductivity, float) * frost / (_DENSITY * _FUSION)))

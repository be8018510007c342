"""Every way in which a pond loses heat at one moment: the formulae of the other modules put together.

`route_losses` is the one sum behind `balance.moment`, the hourly season and the uncertainty runs. It takes a `Moment`
of weather and the `Coefficients` of a pond; each of their fields may be a float or an array.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from pondheat.core.compilation import exp, formula, maximum, some, where
from pondheat.core.sources import (
    DRY_AIR_HEAT,
    EVAPORATION_HEAT,
    MOLAR_RATIO,
    PSYCHROMETRIC,
    STEFAN_BOLTZMANN,
    VAPOUR_HEAT,
    ZERO_CELSIUS,
)
from pondheat.heat.covers import NET_EMISSIVITY, net_wind, sheet_flux
from pondheat.heat.evaporation import evaporation_coefficient
from pondheat.heat.moist_air import saturated_air, saturation_curve
from pondheat.heat.sky import black_body
from pondheat.heat.water import heat_of_evaporation

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value
_MOLAR_RATIO = MOLAR_RATIO.value
_PSYCHROMETRIC = PSYCHROMETRIC.value
_DRY_AIR_HEAT, _VAPOUR_HEAT, _EVAPORATION_HEAT = DRY_AIR_HEAT.value, VAPOUR_HEAT.value, EVAPORATION_HEAT.value
_NET_EMISSIVITY = NET_EMISSIVITY.value
# Share of the difference across a cover that the last step of its face may be: the loss is then right to 1e-5 W/m².
_SETTLED = 0.01

# Numbers by which the kinds of cover are known here: none, a liquid film, a sheet over a humid gap, a floating cover.
NO_COVER, FILM, SHEET, FLOATING = 0.0, 1.0, 2.0, 3.0
_LEAK_TEMP = 15.0  # °C at which the open surface's transfer bounds what a leak can carry off
_LEAK_VAPOUR, _LEAK_SLOPE = (float(value) for value in saturation_curve(_LEAK_TEMP))
_LEAK_HEAT = float(heat_of_evaporation(_LEAK_TEMP))


class Moment(NamedTuple):
    """Weather and cover of one hour or many.

    Temperatures [degC]: air_temp, ground_temp, mains_temp. air_vapour: vapour pressure [Pa]; air_ratio: humidity ratio
    [kg/kg]; air_enthalpy [J/kg]; air_density: dry air [kg/m³]; wind: [m/s] at 2 m in the open; pressure [Pa];
    surroundings: radiation of a black surface at air temperature [W/m²]; sky: long wave from the sky [W/m²]; solar:
    [W/m²] on the level; covered: share of the hour for which the cover is on [–].
    """

    air_temp: Any
    air_vapour: Any
    air_ratio: Any
    air_enthalpy: Any
    air_density: Any
    wind: Any
    pressure: Any
    surroundings: Any
    sky: Any
    ground_temp: Any
    mains_temp: Any
    solar: Any
    covered: Any


class Coefficients(NamedTuple):
    """A pond as numbers.

    surface_area [m²]; heat_capacity [J/K]; emissivity, sky_view [–]; evaporation: number of the formula; condenses: 1
    where that formula lets vapour condense; shelter: wind at the water over wind in the open [–]; evaporation_wind: the
    same for the wind at the formula's height, over wind at 2 m; wall_air, wall_ground, casing [W/K]; falling_air:
    outside air that meets falling water, times effectiveness [m³/s]; aeration_air [m³/s]; water_change: [W/K];
    absorbing_area: surface × what water and shade leave of the sun [m²]. Cover: kind (a number above), share of the
    surface [–], core resistance [m²·K/W], emissivity, light it lets through [–], leak of outside air [m³/s],
    evaporation_cut of a film [–]. net_open: open area of a mesh net over the water where no cover lies, 1 for none [–].
    Factors on whole terms [–]: surface (evaporation, convection, long wave of open
    water), cover (what passes a cover or leaks round it), stream (falling water, casing, aeration, new water), sun.
    In an ensemble, sky: row of the table of sky formulae; sky_error: added to the long wave of the sky [W/m²].
    """

    surface_area: Any
    heat_capacity: Any
    emissivity: Any
    sky_view: Any
    evaporation: Any
    condenses: Any
    shelter: Any
    evaporation_wind: Any
    wall_air: Any
    wall_ground: Any
    casing: Any
    falling_air: Any
    aeration_air: Any
    water_change: Any
    absorbing_area: Any
    cover_kind: Any
    cover_share: Any
    cover_core: Any
    cover_emissivity: Any
    cover_light: Any
    cover_leak: Any
    evaporation_cut: Any
    net_open: Any
    surface_factor: Any
    cover_factor: Any
    stream_factor: Any
    sun_factor: Any
    sky: Any
    sky_error: Any


class Routes(NamedTuple):
    """One number for each way in which heat leaves, in the order used everywhere."""

    evaporation: Any
    convection: Any
    long_wave: Any
    walls: Any
    ground: Any
    falling_water: Any
    casing: Any
    aeration: Any
    water_change: Any


@formula
def covered_share(moment, pond):
    """Share of the surface under the cover [–], over the hour."""
    return moment.covered * pond.cover_share


@formula
def solar_gain(moment, pond):
    """Sun that the water takes up [W], through the cover where it is on, elsewhere between the threads of a net."""
    under = covered_share(moment, pond)
    let_in = (1.0 - under) * pond.net_open + under * pond.cover_light
    return pond.absorbing_area * moment.solar * let_in * pond.sun_factor


@formula
def leaking_air(moment, pond):
    """Dry air that leaks under the cover and leaves saturated [kg/s].

    Air over water takes up a share 1 − exp(−capacity/flow) of what it could, so that a wide gap loses no more than the
    open surface would: the textbook's heat exchanger with one side at rest.
    """
    flow = maximum(moment.air_density * pond.cover_leak, 1e-12)
    coefficient, _ = evaporation_coefficient(
        pond.evaporation,
        _LEAK_TEMP,
        moment.air_temp,
        _LEAK_VAPOUR,
        _LEAK_SLOPE,
        moment.air_vapour,
        moment.wind * pond.evaporation_wind,
        moment.pressure,
    )
    # dry air that carries off as much as the open surface loses by evaporation and convection
    capacity = pond.surface_area * coefficient * moment.pressure / (_MOLAR_RATIO * _LEAK_HEAT)
    taken = flow
    if some(capacity < 40.0 * flow):  # beyond, the exponential is lost beside the 1
        taken = flow * (1.0 - exp(-capacity / flow))
    return taken * covered_share(moment, pond)


@formula
def _open_water(water_temp, vapour, vapour_slope, moment, pond, area, under):
    """Evaporation, convection and long wave of water with no sheet over it [W], each with its slope [W/K].

    vapour: saturated at the water [Pa], vapour_slope: [Pa/K]; area: [m²]; under: share of the surface under a film.
    """
    coefficient, coefficient_slope = evaporation_coefficient(
        pond.evaporation,
        water_temp,
        moment.air_temp,
        vapour,
        vapour_slope,
        moment.air_vapour,
        moment.wind * pond.evaporation_wind * net_wind(pond.net_open),
        moment.pressure,
    )
    excess, warmer = vapour - moment.air_vapour, water_temp - moment.air_temp
    # a film is known to hold evaporation back, not dew
    left = where(pond.cover_kind == FILM, 1.0 - under * pond.evaporation_cut, 1.0)
    wet_area = area * where(excess > 0.0, left, pond.condenses)
    gamma = _PSYCHROMETRIC * moment.pressure * area
    kelvin = water_temp + _KELVIN
    radiating = area * pond.emissivity
    # the threads are about as warm as the air, and so take the sky's place as trees do
    view = pond.sky_view * (1.0 - _NET_EMISSIVITY * (1.0 - pond.net_open))
    incoming = view * moment.sky + (1.0 - view) * moment.surroundings
    return (
        wet_area * coefficient * excess,
        wet_area * (coefficient * vapour_slope + coefficient_slope * excess),
        gamma * coefficient * warmer,
        gamma * (coefficient + coefficient_slope * warmer),
        radiating * (black_body(water_temp) - incoming),
        radiating * 4.0 * _SIGMA * kelvin * kelvin * kelvin,
    )


@formula
def _covered_water(water_temp, vapour, vapour_slope, moment, pond, area):
    """Convection and long wave from the outer face of a sheet [W], each with its slope [W/K].

    vapour: saturated at the water [Pa], vapour_slope: [Pa/K]; area: [m²] under the sheet.
    """
    incoming = pond.sky_view * moment.sky + (1.0 - pond.sky_view) * moment.surroundings
    flux, flux_slope, to_air, to_air_slope, _ = sheet_flux(
        water_temp,
        vapour,
        vapour_slope,
        moment.air_temp,
        moment.wind * pond.shelter,
        pond.cover_emissivity * incoming,
        pond.cover_core,
        pond.cover_emissivity,
        moment.pressure,
        pond.cover_kind == FLOATING,
        _SETTLED,
    )
    passing = area * pond.cover_factor
    long_wave, long_wave_slope = passing * (flux - to_air), passing * (flux_slope - to_air_slope)
    return passing * to_air, passing * to_air_slope, long_wave, long_wave_slope


@formula
def _leak_losses(water_temp, ratio, ratio_slope, moment, leak):
    """Evaporation and convection carried off by air that leaks under a cover [W], each with its slope [W/K].

    ratio: humidity ratio of air saturated at the water [kg/kg], ratio_slope: [1/K]; leak: [kg/s] dry air.
    """
    vapour_heat = _EVAPORATION_HEAT + _VAPOUR_HEAT * water_temp
    moist_heat = _DRY_AIR_HEAT + _VAPOUR_HEAT * moment.air_ratio
    gained = ratio - moment.air_ratio
    return (
        leak * gained * vapour_heat,
        leak * (ratio_slope * vapour_heat + gained * _VAPOUR_HEAT),
        leak * moist_heat * (water_temp - moment.air_temp),
        leak * moist_heat,
    )


@formula
def route_losses(water_temp, moment, pond):
    """Heat lost by each route [W] and its slope in the water's temperature [W/K].

    water_temp: [degC]; moment: a `Moment`; pond: `Coefficients`. What passes a cover is counted where it leaves its
    outer face, under convection and long wave; a leak under evaporation and convection. Sun is a gain and not among the
    routes.
    """
    vapour, vapour_slope = saturation_curve(water_temp)
    return route_losses_at(water_temp, vapour, vapour_slope, moment, pond)


@formula
def route_losses_at(water_temp, vapour, vapour_slope, moment, pond):
    """As `route_losses`, where the vapour pressure saturated at the water [Pa] and its slope [Pa/K] are known."""
    warmer = water_temp - moment.air_temp
    none = 0.0 * warmer
    under = covered_share(moment, pond)
    sheet_area = where(pond.cover_kind == FILM, 0.0 * under, pond.surface_area * under)
    open_area = (pond.surface_area - sheet_area) * pond.surface_factor

    evaporation, evaporation_slope, convection, convection_slope = none, none, none, none
    long_wave, long_wave_slope = none, none
    if some(open_area > 0.0):
        evaporation, evaporation_slope, convection, convection_slope, long_wave, long_wave_slope = _open_water(
            water_temp, vapour, vapour_slope, moment, pond, open_area, under
        )
    if some(sheet_area > 0.0):
        to_air, to_air_slope, radiated, radiated_slope = _covered_water(
            water_temp, vapour, vapour_slope, moment, pond, sheet_area
        )
        convection, convection_slope = convection + to_air, convection_slope + to_air_slope
        long_wave, long_wave_slope = long_wave + radiated, long_wave_slope + radiated_slope

    stream = (pond.falling_air + pond.aeration_air) * moment.air_density * pond.stream_factor
    falling_share = where(stream > 0.0, pond.falling_air / maximum(pond.falling_air + pond.aeration_air, 1e-12), 0.0)
    airborne, airborne_slope = none, none
    leaks = pond.cover_leak * under
    if some(stream > 0.0) or some(leaks > 0.0):
        ratio, ratio_slope, enthalpy, enthalpy_slope = saturated_air(water_temp, vapour, vapour_slope, moment.pressure)
        airborne, airborne_slope = stream * (enthalpy - moment.air_enthalpy), stream * enthalpy_slope
        if some(leaks > 0.0):
            leak = where(leaks > 0.0, leaking_air(moment, pond) * pond.cover_factor, 0.0)
            wet, wet_slope, dry, dry_slope = _leak_losses(water_temp, ratio, ratio_slope, moment, leak)
            evaporation, evaporation_slope = evaporation + wet, evaporation_slope + wet_slope
            convection, convection_slope = convection + dry, convection_slope + dry_slope

    casing = pond.casing * pond.stream_factor
    change = pond.water_change * pond.stream_factor
    losses = Routes(
        evaporation,
        convection,
        long_wave,
        pond.wall_air * warmer,
        pond.wall_ground * (water_temp - moment.ground_temp),
        falling_share * airborne,
        casing * warmer,
        (1.0 - falling_share) * airborne,
        change * (water_temp - moment.mains_temp),
    )
    slopes = Routes(
        evaporation_slope,
        convection_slope,
        long_wave_slope,
        pond.wall_air,
        pond.wall_ground,
        falling_share * airborne_slope,
        casing,
        (1.0 - falling_share) * airborne_slope,
        change,
    )
    return losses, slopes


@formula
def total_loss(losses):
    """Sum over the routes of a `Routes`, those that take longest to work out last."""
    return (
        losses.walls
        + losses.ground
        + losses.casing
        + losses.water_change
        + losses.falling_water
        + losses.aeration
        + losses.evaporation
        + losses.long_wave
        + losses.convection
    )

"""Covers: a sheet over a humid gap by its own energy balance, floating covers, film, leaks, wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import PSYCHROMETRIC, STANDARD_PRESSURE, STEFAN_BOLTZMANN, WATER_EMISSIVITY, ZERO_CELSIUS
from pondheat.heat.falling_water import air_side_limit
from pondheat.heat.moist_air import water_curve
from pondheat.heat.surface import black_body

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value
_WATER = WATER_EMISSIVITY.value
# Free convection over a level face, 0.22 ΔT_F^(1/3) Btu/(h·ft²·°F), as W/(m²·K) per K^(1/3). ASHRAE form (memory).
FREE_CONVECTION = 1.52
# Resistances of ISO 6946 already inside a stated U-value of a level sheet with heat flowing up [m²·K/W].
STATED_INSIDE, STATED_OUTSIDE = 0.10, 0.04

KINDS = ("sheet", "insulated lid", "floating", "film")


def _possible_emissivity(emissivity) -> None:
    if np.any(np.asarray(emissivity) < 0.02):
        raise OutOfRange("An emissivity below 0.02 is given: even polished metal has more.")


@dataclass(frozen=True)
class Cover:
    """A cover as the heat balance sees it.

    kind: one of KINDS. u_value [W/(m²·K)] as stated by the trade (not for film). light [–]: share of the sun's energy
    it lets through to the water. gap_air_flow [m³/s]: outside air that leaks under it. share [–]: part of the surface
    it covers. emissivity [–] of its faces. evaporation_cut [–]: for film, the share of evaporation it stops, measured
    14–16 % (California Polytechnic State University 2015). A clear cover costs 5–15 % of the sun's gain, an opaque one
    20–40 % (US Department of Energy); twin wall passes about 80 % (memory).
    """

    kind: str = "sheet"
    u_value: float = 3.0
    light: float = 0.8
    gap_air_flow: float = 0.0
    share: float = 1.0
    emissivity: float = 0.9
    evaporation_cut: float = 0.15

    def __post_init__(self):
        choose("kind of cover", self.kind, KINDS)
        require(u_value=self.u_value, share=self.share, emissivity=self.emissivity, air_flow=self.gap_air_flow)
        require(share=self.light)
        require(share=self.evaporation_cut)
        _possible_emissivity(self.emissivity)


@dataclass(frozen=True)
class SheetBalance:
    """What `sheet_balance` found: flux [W/m²] through the sheet, its two faces [degC], how the outer one sheds it."""

    flux: np.ndarray
    inside_temp: np.ndarray
    outside_temp: np.ndarray
    to_air: np.ndarray
    to_sky: np.ndarray


def core_resistance(u_value):
    """Resistance of the sheet itself [m²·K/W]: what is left of 1/U when the stated surface resistances are taken off.

    A U-value below 0.01 (ten times better than any lid) counts as 0.01: the faces could not be told apart otherwise.
    """
    return np.maximum(1 / np.maximum(np.asarray(u_value, float), 0.01) - STATED_INSIDE - STATED_OUTSIDE, 1e-4)


def _gap(water, water_vapour, inside, emissivity, pressure):
    """Heat from water to a sheet's inner face through a humid gap [W/m²] and its slope in the face's temperature."""
    difference = water - inside
    size = np.maximum(np.abs(difference), 1e-6)
    film = FREE_CONVECTION * np.cbrt(size)
    film_slope = -film / (3 * size) * np.sign(difference)
    exchange = 1 / (1 / _WATER + 1 / emissivity - 1)
    face_vapour, vapour_slope = water_curve(inside)
    gamma = PSYCHROMETRIC.value * pressure
    excess = water_vapour - face_vapour
    wet = excess > 0  # vapour only carries heat to a face colder than the water
    flux = (
        film * difference
        + exchange * (black_body(water) - black_body(inside))
        + np.where(wet, film * excess / gamma, 0.0)
    )
    kelvin = inside + _KELVIN
    slope = (
        film_slope * difference
        - film
        - exchange * 4 * _SIGMA * kelvin * kelvin * kelvin
        + np.where(wet, (film_slope * excess - film * vapour_slope) / gamma, 0.0)
    )
    return flux, slope


def sheet_balance(
    water_temp,
    air_temp,
    wind_speed,
    sky_temp,
    sky_view,
    u_value,
    emissivity=0.9,
    pressure=STANDARD_PRESSURE.value,
    floating=False,
    start=None,
    settled=1e-5,
) -> SheetBalance:
    """Solve the two faces of a sheet between humid gap (or water, if `floating`) and open air; unchecked arrays.

    Units as `sheet_loss`. Newton's method on the inner face, halving the span that holds the root where a step would
    leave it; `start` is a first guess of that face [degC] where a neighbouring case has been
    solved; a step below `settled` kelvin ends it.
    """
    water, air, wind, sky, view, eps, pressure = (
        np.asarray(x, float) for x in (water_temp, air_temp, wind_speed, sky_temp, sky_view, emissivity, pressure)
    )
    core = core_resistance(u_value)
    coefficient = 4 + 4 * wind
    incoming = eps * (view * black_body(sky) + (1 - view) * black_body(air))

    def outer(face):
        kelvin = face + _KELVIN
        cube = eps * _SIGMA * kelvin * kelvin * abs(kelvin)  # rising even where a step has gone below absolute zero
        return coefficient * (face - air) + cube * kelvin - incoming, coefficient + 4 * abs(cube)

    if floating:
        inside = water + 0 * (air + incoming + coefficient + core)
        face = (inside + air) / 2
        for _ in range(40):
            out, out_slope = outer(face)
            step = ((inside - face) / core - out) / (1 / core + out_slope)
            face = face + step
            if np.max(np.abs(step)) < 1e-8:
                break
    else:
        water_vapour = water_curve(water)[0]
        lowest = np.minimum(np.minimum(air, sky), water) - 1.0
        highest = np.maximum(np.maximum(air, sky), water) + 1.0
        if start is None:  # from the usual sizes: gap film about 12, outside about 4 + 4 v + 5 W/(m²·K)
            effective = air - eps * (black_body(air) - incoming / eps) / (coefficient + 5.0)
            start = water - (water - effective) / 12.0 / (1 / 12.0 + core + 1 / (coefficient + 5.0))
        inside = np.minimum(np.maximum(start, lowest), highest) + 0 * core
        for _ in range(60):
            flux, flux_slope = _gap(water, water_vapour, inside, eps, pressure)
            out, out_slope = outer(inside - core * flux)
            miss = flux - out
            slope = flux_slope - out_slope * (1 - core * flux_slope)  # always negative: one root
            lowest, highest = np.where(miss > 0, inside, lowest), np.where(miss > 0, highest, inside)
            new = inside - miss / slope
            new = np.where((new >= lowest) & (new <= highest), new, (lowest + highest) / 2)
            moved = np.max(np.abs(new - inside))
            inside = new
            if moved < settled:  # the next step would be about its square
                break
        face = inside - core * _gap(water, water_vapour, inside, eps, pressure)[0]
    flux = outer(face)[0]
    to_air = coefficient * (face - air)
    return SheetBalance(flux, inside, face, to_air, flux - to_air)


def sheet_loss(
    water_temp, air_temp, wind_speed, sky_temp, sky_view, u_value, emissivity=0.9, pressure=STANDARD_PRESSURE.value
):
    """Heat from water through a sheet laid over a humid gap [W/m²].

    water_temp, air_temp, sky_temp: [degC]; wind_speed: [m/s] at the sheet; sky_view, emissivity: [–];
    u_value: [W/(m²·K)] as stated by the trade; pressure: [Pa]; floats or arrays.
    Inside: free convection 1.52 ΔT^(1/3), long wave between two grey faces, condensation by the same coefficient.
    Core 1/U − 0.10 − 0.04. Outside: (4 + 4 v)(To − Ta) + ε σ to sky and surroundings. Sun on the sheet is left out.
    Raises OutOfRange. Source: the balance as written here; coefficients ISO 6946 and ASHRAE (memory).

    >>> round(sheet_loss(18.0, 8.0, 1.0, -10.0, 1.0, 3.1), 1)
    45.4
    """
    require(
        water_temp=water_temp,
        air_temp=air_temp,
        wind_speed=wind_speed,
        sky_temp=sky_temp,
        sky_view=sky_view,
        u_value=u_value,
        emissivity=emissivity,
        pressure=pressure,
    )
    _possible_emissivity(emissivity)
    return plain(
        sheet_balance(water_temp, air_temp, wind_speed, sky_temp, sky_view, u_value, emissivity, pressure).flux
    )


def gap_air_flow(gap_length, gap_width, wind_speed):
    """Air through an open gap [m³/s]: length × width × speed of the air in it.

    gap_length, gap_width: [m]; wind_speed: [m/s] in the gap itself (about half a metre a second behind a hedge:
    common practice, no source); floats or arrays. Raises OutOfRange. Source: by definition.

    >>> gap_air_flow(1.0, 0.01, 0.5)
    0.005
    """
    require(gap_length=gap_length, gap_width=gap_width, wind_speed=wind_speed)
    return plain(np.asarray(gap_length, float) * np.asarray(gap_width, float) * np.asarray(wind_speed, float))


def leak_loss(air_flow, water_temp, air_temp, rel_humidity, pressure=STANDARD_PRESSURE.value):
    """Heat carried off by air that leaks under a cover and leaves saturated [W].

    air_flow: [m³/s] of outside air; water_temp, air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays.
    An upper bound: the air may leave before it is warm and wet; `balance` bounds it by the open surface's own loss. Raises OutOfRange. Source: Merkel 1925, as
    `falling_water.air_side_limit`.
    """
    return air_side_limit(air_flow, water_temp, air_temp, rel_humidity, pressure)


def wind_pressure(wind_speed):
    """Pressure of the wind on a flat face [Pa]: 0.613 v².

    wind_speed: [m/s], float or array. A teaching number: it passes no cover as safe. Raises OutOfRange.
    Source: ASCE 7 velocity pressure in SI, all factors 1.

    >>> round(wind_pressure(10.0), 1)
    61.3
    """
    require(wind_speed=wind_speed)
    return plain(0.613 * np.asarray(wind_speed, float) ** 2)

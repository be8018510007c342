"""Covers: a sheet over a humid gap by its own energy balance, floating covers, film, leaks, wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core.compilation import cbrt, formula, maximum, minimum, rough_cbrt, some, where
from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import (
    PSYCHROMETRIC,
    STANDARD_PRESSURE,
    STEFAN_BOLTZMANN,
    WATER_EMISSIVITY,
    ZERO_CELSIUS,
    Constant,
)
from pondheat.heat.falling_water import air_side_limit
from pondheat.heat.moist_air import saturation_curve
from pondheat.heat.sky import black_body
from pondheat.heat.surface import CONVECTION

_KELVIN, _SIGMA = ZERO_CELSIUS.value, STEFAN_BOLTZMANN.value
_WATER_EMISSIVITY = WATER_EMISSIVITY.value
_PSYCHROMETRIC = PSYCHROMETRIC.value
# Free convection over a level face, 0.22 ΔT_F^(1/3) Btu/(h·ft²·°F), as W/(m²·K) per K^(1/3). ASHRAE form (memory).
_FREE_CONVECTION = 1.52
_STILL, _PER_WIND = CONVECTION["iso_6946"].still, CONVECTION["iso_6946"].per_wind  # at the outer face
_THIRD = 1.0 / 3.0  # a product is several times faster than a quotient
# Resistances of ISO 6946 already inside a stated U-value of a level sheet with heat flowing up [m²·K/W].
STATED_INSIDE, STATED_OUTSIDE = 0.10, 0.04
# Where the search for a sheet's inner face begins: an ordinary gap [W/(m²·K)], and the share of the vapour's slope that
# is lost, as the mean between water and face, for each kelvin that the face is colder [1/K].
_LIKELY_GAP, _SLOPE_FALL = 12.0, 0.025
_MOST_STEPS = 60  # Newton's method takes three or four; halving the span, its fallback, no more than this

# A mesh net that keeps birds and leaves off the water.
NET_WIND = Constant(
    4 / 3,
    "dimensionless",
    "tanny_cohen_2003",
    "share of the wind lost for each share of the area that is thread: 40 % under a net of 30 % (its density from "
    "memory), taken in proportion (judgement)",
)
NET_EMISSIVITY = Constant(0.9, "dimensionless", "practice", "of thin plastic threads (judgement)")
_NET_WIND = NET_WIND.value

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
    """Flux through a sheet [W/m²], its slope in the water's temperature, both faces [degC], and where the flux goes."""

    flux: np.ndarray
    slope: np.ndarray
    inside_temp: np.ndarray
    outside_temp: np.ndarray
    to_air: np.ndarray
    to_sky: np.ndarray


def core_resistance(u_value):
    """Resistance of the sheet itself [m²·K/W]: what is left of 1/U when the stated surface resistances are taken off.

    A U-value below 0.01 (ten times better than any lid) counts as 0.01: the faces could not be told apart otherwise.
    """
    return np.maximum(1 / np.maximum(np.asarray(u_value, float), 0.01) - STATED_INSIDE - STATED_OUTSIDE, 1e-4)


@formula
def _grey_exchange(emissivity):
    """Long wave between water and a sheet's inner face over that between two black faces [–]."""
    return 1.0 / (1.0 / _WATER_EMISSIVITY + 1.0 / emissivity - 1.0)


@formula
def _gap(water, water_vapour, vapour_slope, inside, exchange, wetting):
    """Heat from water through a humid gap to a sheet's inner face [W/m²], its slopes in the face and in the water
    [W/(m²·K)], and how the two change with the face [W/(m²·K²)], to some per cent.

    exchange: `_grey_exchange` [–]; wetting: [K/Pa] one over the psychrometric constant. Free convection, long wave
    between two grey faces, and condensation, which only a face colder than the water gets.
    """
    difference = water - inside
    size = maximum(abs(difference), 1e-6)
    film = _FREE_CONVECTION * cbrt(size)
    inverse = 1.0 / size
    # in the water's temperature; less in the face's
    film_slope = where(difference < 0.0, -film, film) * inverse * _THIRD
    face_vapour, face_slope = saturation_curve(inside)
    excess = maximum(water_vapour - face_vapour, 0.0) * wetting
    wet = where(excess > 0.0, wetting, 0.0)
    flux = film * (difference + excess) + exchange * (black_body(water) - black_body(inside))
    kelvin, water_kelvin = inside + _KELVIN, water + _KELVIN
    radiation = exchange * 4.0 * _SIGMA
    in_both = film + film_slope * (difference + excess)
    in_face = -in_both - radiation * kelvin * kelvin * kelvin - film * wet * face_slope
    in_water = in_both + radiation * water_kelvin * water_kelvin * water_kelvin + film * wet * vapour_slope
    # the vapour's curve bends as by Clausius and Clapeyron, with a latent heat that stays the same
    vapour_bend = face_slope * (face_slope / face_vapour - 2.0 / kelvin)
    bend = film_slope * (4.0 - 2.0 * excess * inverse) * _THIRD
    in_face_bend = bend + wet * (2.0 * film_slope * face_slope - film * vapour_bend) - 3.0 * radiation * kelvin * kelvin
    return flux, in_face, in_water, in_face_bend, -bend - film_slope * wet * (face_slope + vapour_slope)


@formula
def _outside(face, air, film, emissivity, incoming):
    """Heat that a sheet's outer face gives to air, sky and surroundings [W/m²], its slope in the face and how that
    changes with the face [W/(m²·K²)]."""
    kelvin = face + _KELVIN
    size = abs(kelvin)  # rising, even where a step went below absolute zero
    radiation = emissivity * _SIGMA
    cube = radiation * (kelvin * kelvin) * size
    return film * (face - air) + cube * kelvin - incoming, film + 4.0 * cube, 12.0 * radiation * kelvin * size


@formula
def _likely_difference(water, vapour_slope, pull, beyond, exchange, wetting):
    """Difference between water and a sheet's inner face [K], right to some hundredths: where the search begins.

    pull: [K] water over what the outer face sees; beyond: [m²·K/W] from the inner face to there; exchange,
    wetting: as for `_gap`. Newton's method, one step, with the mean slope of the vapour's curve taken as falling in a
    straight line.
    """
    rough = pull / (1.0 + _LIKELY_GAP * beyond)
    film = _FREE_CONVECTION * rough_cbrt(abs(rough))
    wetness = where(rough > 0.0, film * vapour_slope * wetting, 0.0)
    damp = wetness * minimum(_SLOPE_FALL * rough, 0.5)
    kelvin = water + _KELVIN - 0.5 * rough
    through = exchange * 4.0 * _SIGMA * kelvin * kelvin * kelvin + film + wetness - damp
    steeper = through + (film + wetness - damp) * _THIRD - damp
    return rough - (rough * (1.0 + beyond * through) - pull) / (1.0 + beyond * steeper)


@formula
def sheet_flux(water, water_vapour, vapour_slope, air, wind, incoming, core, emissivity, pressure, floating, settled):
    """Heat through a cover [W/m²] from its own energy balance.

    water, air: [degC]; water_vapour: saturated at the water [Pa], vapour_slope [Pa/K]; wind: [m/s] at the cover;
    incoming: long wave from sky and surroundings that the cover absorbs [W/m²]; core: resistance of the sheet itself
    [m²·K/W]; floating: 1 where it lies on the water, 0 over a humid gap; settled: [–] a step that is a smaller share
    of the difference across the gap (of a floating cover: of 0.1 K) ends the search. Returns the flux, its slope in the
    water's temperature, the part of it that goes to the air, the slope of that, and the inner face [degC]. Newton's
    method on the inner face (on the outer one of a floating cover), halving the span that holds the root where a step
    would leave it; the last step is the root of a parabola.
    """
    film = _STILL + _PER_WIND * wind
    radiated, radiation_slope, _ = _outside(air, air, 0.0, emissivity, incoming)
    outer = 1.0 / (film + radiation_slope)
    effective = air - radiated * outer  # temperature of the surroundings, roughly
    if floating:
        inside = water + 0.0 * (effective + core)
        face = 0.5 * (water + effective)
        for _ in range(_MOST_STEPS):
            out, out_slope, _ = _outside(face, air, film, emissivity, incoming)
            step = ((inside - face) / core - out) / (1.0 / core + out_slope)
            face = face + step
            if not some(abs(step) > 0.1 * settled):
                break
        out, out_slope, _ = _outside(face, air, film, emissivity, incoming)
        slope = out_slope / (1.0 + core * out_slope)
        to_air_slope = film / (1.0 + core * out_slope)
    else:
        exchange, wetting = _grey_exchange(emissivity), 1.0 / (_PSYCHROMETRIC * pressure)
        likely = _likely_difference(water, vapour_slope, water - effective, core + outer, exchange, wetting)
        lowest, highest = minimum(air, water) - 60.0, maximum(air, water) + 60.0
        inside = minimum(maximum(water - likely, lowest), highest)
        for _ in range(_MOST_STEPS):
            flux, in_face, in_water, in_face_bend, in_water_bend = _gap(
                water, water_vapour, vapour_slope, inside, exchange, wetting
            )
            face = inside - core * flux
            out, out_slope, out_bend = _outside(face, air, film, emissivity, incoming)
            outer_share = 1.0 - core * in_face  # step of the outer face over that of the inner one
            steepness = 1.0 / (in_face - out_slope * outer_share)  # always below zero: one root
            step = (out - flux) * steepness
            far = abs(step) > settled * maximum(abs(water - inside), 0.1)
            if not some(far):
                break
            lowest, highest = where(flux > out, inside, lowest), where(flux > out, highest, inside)
            new = inside + step
            new = where((new >= lowest) & (new <= highest), new, 0.5 * (lowest + highest))
            inside = where(far, new, inside)
        bend = in_face_bend * (1.0 + core * out_slope) - out_bend * outer_share * outer_share
        step = step - 0.5 * bend * steepness * step * step
        out = flux + (in_face + 0.5 * in_face_bend * step) * step
        in_face, in_water = in_face + in_face_bend * step, in_water + in_water_bend * step
        inside, face, before = inside + step, inside + step - core * out, face
        out_slope = out_slope + out_bend * (face - before)
        steepness = 1.0 / (in_face - out_slope * (1.0 - core * in_face))
        following = -in_water * steepness  # step of the outer face over the water's
        slope, to_air_slope = following * out_slope, following * film
    return out, slope, film * (face - air), to_air_slope, inside


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
) -> SheetBalance:
    """The energy balance of a sheet over a humid gap, or floating on the water: unchecked arrays, as `sheet_loss`."""
    given = (water_temp, air_temp, wind_speed, sky_temp, sky_view, emissivity, pressure, core_resistance(u_value))
    water, air, wind, sky, view, emissivity, pressure, core = np.broadcast_arrays(
        *(np.asarray(value, float) for value in given)
    )
    incoming = emissivity * (view * black_body(sky) + (1 - view) * black_body(air))
    vapour, slope = saturation_curve(water)
    flux, flux_slope, to_air, _, inside = sheet_flux(
        water, vapour, slope, air, wind, incoming, core, emissivity, pressure, floating, 1e-8
    )
    if floating:
        inside = water
    return SheetBalance(flux, flux_slope, inside, inside - core * flux, to_air, flux - to_air)


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


@formula
def net_wind(open_area):
    """Wind under a mesh net over the wind above it [–]: 1 − 4/3 of the area that is thread, and not below zero."""
    return maximum(1.0 - _NET_WIND * (1.0 - open_area), 0.0)


def mesh_open_area(thread_width, mesh_width):
    """Open area of a square mesh [–]: (1 − thread ÷ mesh)².

    thread_width: [m]; mesh_width: [m] from the middle of one thread to the middle of the next; floats or arrays. Seen
    from straight above; from the side the threads hide more. Raises OutOfRange. Source: geometry.

    >>> round(mesh_open_area(0.0005, 0.010), 4)
    0.9025
    """
    require(thread_width=thread_width, mesh_width=mesh_width)
    thread, mesh = np.asarray(thread_width, float), np.asarray(mesh_width, float)
    if np.any(thread >= mesh):
        raise OutOfRange("The threads are as wide as the mesh, so the net is a cloth: give both in the same unit.")
    return plain((1 - thread / mesh) ** 2)


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
    An upper bound: the air may leave before it is warm and wet; `balance` bounds it by the open surface's own loss.
    Raises OutOfRange. Source: Merkel 1925, as `falling_water.air_side_limit`.
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

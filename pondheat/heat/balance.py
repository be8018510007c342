"""The sum at one moment: everything a pond gains and loses, each way by its name.

A `Pond` is what stands still, an `Air` what the weather does (one moment or many, as arrays). `prepare` folds both into
per-moment numbers; `losses` gives every way of loss by name at any water temperature, `total` the sum on plain floats
for the hour-by-hour loop. Both follow the same equations; a test holds them together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from pondheat.core.ranges import choose, require
from pondheat.core.sources import (
    MOLAR_RATIO,
    PSYCHROMETRIC,
    STEFAN_BOLTZMANN,
    WATER_ALBEDO,
    WATER_EMISSIVITY,
    ZERO_CELSIUS,
)
from pondheat.heat import surface
from pondheat.heat.covers import Cover, sheet_balance
from pondheat.heat.falling_water import dry_air_flow
from pondheat.heat.moist_air import WATER_CURVE, enthalpy_of, humidity_ratio, water_curve
from pondheat.heat.water import density, specific_heat

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value
_RATIO = MOLAR_RATIO.value

# The ways heat leaves, in the one order used everywhere.
ROUTES = (
    "evaporation",
    "convection",
    "long_wave",
    "walls",
    "ground",
    "falling_water",
    "casing",
    "aeration",
    "water_change",
)
FORMULA_WIND_HEIGHT = 2.0  # m; formulae whose source gives no height take the wind at 2 m
# A sheet's loss is a nearly smooth function of the water's temperature: five knots hold the sum over a heated year to
# 0.15 %. It bends where condensation begins, so single mild hours, when little is lost, are out by as much as
# 0.1 U² W/m² (1 W/m² at U 3). Above 40 °C it is an extrapolation.
_KNOTS = 5
_COLDEST, _WARMEST = -0.5, 36.0


@dataclass(frozen=True)
class Wall:
    """One wall or floor: area [m²], u_value [W/(m²·K)], and what lies beyond it ("air" or "ground")."""

    area: float
    u_value: float
    against: str = "air"

    def __post_init__(self):
        require(area=self.area, u_value=self.u_value)
        choose("far side of a wall", self.against, ("air", "ground"))


@dataclass(frozen=True)
class Pond:
    """A pond as the heat balance sees it.

    surface_area [m²], volume [m³], walls, filter_air_flow [m³/s] with filter_effectiveness [–], casing_u_value_area
    [W/K], aeration_air_flow [m³/s], water_change [m³/s] of mains water, cover, wind_shelter [–] (wind at the water over
    wind at the same height in the open), sky_view [–], shade [–] (share of the sun kept off), names of the evaporation
    and sky formulae, emissivity [–]. room: True inside a greenhouse or pond house (no wind, no sky).
    """

    surface_area: float
    volume: float
    walls: tuple[Wall, ...] = ()
    filter_air_flow: float = 0.0
    filter_effectiveness: float = 1.0
    casing_u_value_area: float = 0.0
    aeration_air_flow: float = 0.0
    water_change: float = 0.0
    cover: Cover | None = None
    wind_shelter: float = 0.5
    sky_view: float = 1.0
    shade: float = 0.0
    evaporation: str = surface.DEFAULT_EVAPORATION
    sky: str = surface.DEFAULT_SKY
    emissivity: float = WATER_EMISSIVITY.value
    room: bool = False

    def __post_init__(self):
        require(
            surface_area=self.surface_area,
            volume=self.volume,
            air_flow=self.filter_air_flow,
            effectiveness=self.filter_effectiveness,
            casing_u_value_area=self.casing_u_value_area,
            flow=self.water_change,
            sky_view=self.sky_view,
            emissivity=self.emissivity,
        )
        require(air_flow=self.aeration_air_flow, share=self.shade)
        require(share=self.wind_shelter)
        choose("evaporation formula", self.evaporation, surface.EVAPORATION)
        choose("sky formula", self.sky, surface.SKY)

    @property
    def heat_capacity(self) -> float:
        """Heat to warm the water by one degree [J/K], properties at 15 °C (0.3 % off at 0 and 30 °C)."""
        return density(15.0) * specific_heat(15.0) * self.volume


@dataclass(frozen=True)
class Air:
    """Weather at one moment or many: floats or equally long arrays.

    air_temp, ground_temp, mains_temp [degC]; rel_humidity, cloud_cover [–]; wind_speed [m/s] at wind_height [m];
    solar [W/m²]; pressure [Pa]; sky_long_wave [W/m²] downward, NaN (or None) where it is to be reckoned from cloud.
    """

    air_temp: np.ndarray | float
    rel_humidity: np.ndarray | float
    wind_speed: np.ndarray | float
    cloud_cover: np.ndarray | float = 0.5
    solar: np.ndarray | float = 0.0
    pressure: np.ndarray | float = 101_325.0
    sky_long_wave: np.ndarray | float | None = None
    ground_temp: np.ndarray | float = 10.0
    mains_temp: np.ndarray | float = 10.0
    wind_height: float = 10.0

    def warmer(self, by: float) -> Air:
        """The same weather, its air and the sky's radiation warmer by so many kelvin; relative humidity stays."""
        temp, sky = np.asarray(self.air_temp, float), self.sky_long_wave
        if sky is not None:
            sky = np.asarray(sky, float) * ((temp + by + ZERO_CELSIUS.value) / (temp + ZERO_CELSIUS.value)) ** 4
        return replace(self, air_temp=temp + by, sky_long_wave=sky)

    def part(self, moments: slice) -> Air:
        """The same weather for some of its moments."""
        return replace(self, **{name: value[moments] for name, value in vars(self).items() if np.ndim(value)})


@dataclass(frozen=True)
class Prepared:
    """Everything about many moments that does not depend on the water's temperature; arrays of one length."""

    pond: Pond
    air_temp: np.ndarray
    air_vapour: np.ndarray
    air_ratio: np.ndarray
    air_enthalpy: np.ndarray
    wind: np.ndarray  # at the evaporation formula's height, after shelter
    pressure: np.ndarray
    open_area: np.ndarray  # m² of water facing the air
    wet_area: np.ndarray  # the same, less what a film keeps from evaporating
    incoming: np.ndarray  # long wave from sky and surroundings, W/m²
    ground_temp: np.ndarray
    mains_temp: np.ndarray
    falling_air: np.ndarray  # kg/s of dry air that meets falling water, effectiveness applied
    aeration_air: np.ndarray
    leak_air: np.ndarray
    sheet_area: np.ndarray  # m² of water under a cover with a balance of its own
    sheet_flux: np.ndarray  # (moments, knots): polynomial in (T − middle)/half
    sheet_to_air: np.ndarray
    solar_gain: np.ndarray  # W into the water
    covered: np.ndarray
    wall_air: float  # W/K
    wall_ground: float
    change: float

    def table(self) -> np.ndarray:
        """One row a moment of the numbers that `total` wants, (moments, 13)."""
        air_flow = self.falling_air + self.aeration_air + self.leak_air
        casing = self.wall_air + self.pond.casing_u_value_area
        fixed = (
            casing * self.air_temp
            + self.wall_ground * self.ground_temp
            + self.change * self.mains_temp
            + self.open_area * self.pond.emissivity * self.incoming
            + air_flow * self.air_enthalpy
        )
        return np.column_stack(
            (
                self.air_temp,
                self.air_vapour,
                self.wind,
                self.pressure,
                self.open_area,
                self.wet_area,
                air_flow,
                fixed,
                self.sheet_flux * self.sheet_area[:, None],
            )
        )


def _spread(value, like):
    return np.array(np.broadcast_to(np.asarray(value, float), np.shape(like)), float)


def _sheet_polynomials(pond: Pond, cover: Cover, air_temp, wind, incoming_sky, pressure):
    """Loss through the cover as a polynomial in the water's temperature, one row a moment: (flux, share to the air)."""
    nodes = np.cos(np.pi * (2 * np.arange(_KNOTS) + 1) / (2 * _KNOTS))
    temps = (_COLDEST + _WARMEST) / 2 + nodes * (_WARMEST - _COLDEST) / 2
    solved, start, rise = [], None, 0.75  # the inner face follows the water most of the way; then as it did before
    for water, following in zip(temps, [*temps[1:], temps[-1]]):
        solved.append(
            sheet_balance(
                water,
                air_temp,
                wind,
                incoming_sky,
                0.0 if pond.room else pond.sky_view,
                cover.u_value,
                cover.emissivity,
                pressure,
                cover.kind == "floating",
                start,
                settled=2e-3,
            )
        )
        if len(solved) > 1:
            rise = (solved[-1].inside_temp - solved[-2].inside_temp) / (water - before)
        start, before = solved[-1].inside_temp + rise * (following - water), water
    inverse = np.linalg.inv(np.vander(nodes, increasing=True))
    return tuple((inverse @ np.array([getattr(s, name) for s in solved])).T for name in ("flux", "to_air"))


def prepare(pond: Pond, air: Air, covered) -> Prepared:
    """Fold a pond and its weather into per-moment numbers.

    covered: [–] share of each moment for which the cover lies on (float or array); taken as 0 without a cover.
    Raises OutOfRange for weather no place on Earth has.
    """
    require(
        air_temp=air.air_temp,
        rel_humidity=air.rel_humidity,
        wind_speed=air.wind_speed,
        cloud_cover=air.cloud_cover,
        solar=air.solar,
        pressure=air.pressure,
        ground_temp=air.ground_temp,
        mains_temp=air.mains_temp,
    )
    length = np.broadcast(
        air.air_temp,
        air.rel_humidity,
        air.wind_speed,
        air.cloud_cover,
        air.solar,
        air.pressure,
        air.ground_temp,
        air.mains_temp,
        covered,
    ).shape or (1,)
    air_temp = np.array(np.broadcast_to(np.asarray(air.air_temp, float), length))
    humidity, cloud, pressure, solar, ground, mains = (
        _spread(x, air_temp)
        for x in (air.rel_humidity, air.cloud_cover, air.pressure, air.solar, air.ground_temp, air.mains_temp)
    )
    covered = _spread(covered if pond.cover else 0.0, air_temp)
    require(share=covered)

    vapour = humidity * water_curve(air_temp)[0]
    height = surface.EVAPORATION[pond.evaporation].wind_height or FORMULA_WIND_HEIGHT
    shelter = 0.0 if pond.room else pond.wind_shelter
    station = _spread(air.wind_speed, air_temp)
    wind = shelter * surface.wind_at_height(station, air.wind_height, height)
    low_wind = shelter * surface.wind_at_height(station, air.wind_height, 2.0)

    reckoned = surface.black_body(air_temp) * surface.sky_emissivity(air_temp, humidity, cloud, pond.sky)
    if air.sky_long_wave is None:
        sky = reckoned
    else:
        given = _spread(air.sky_long_wave, air_temp)
        sky = np.where(np.isnan(given), reckoned, given)
    view = 0.0 if pond.room else pond.sky_view
    incoming = view * sky + (1 - view) * surface.black_body(air_temp)

    cover = pond.cover
    under = covered * (cover.share if cover else 0.0)
    film = cover is not None and cover.kind == "film"
    sheet_area = np.zeros_like(air_temp) if film else pond.surface_area * under
    open_area = pond.surface_area - sheet_area
    flux = to_air = np.zeros((len(air_temp), _KNOTS))
    busy = sheet_area > 0
    if busy.any():
        sky_temp = (sky[busy] / _SIGMA) ** 0.25 - _KELVIN
        flux, to_air = flux.copy(), to_air.copy()
        flux[busy], to_air[busy] = _sheet_polynomials(
            pond, cover, air_temp[busy], low_wind[busy], sky_temp, pressure[busy]
        )
    through = (1 - under) + under * (cover.light if cover and not film else 1.0)

    falling, enthalpy = dry_air_flow(pond.filter_air_flow * pond.filter_effectiveness, air_temp, humidity, pressure)
    unit_flow = dry_air_flow(1.0, air_temp, humidity, pressure)[0]
    return Prepared(
        pond,
        air_temp,
        vapour,
        np.asarray(humidity_ratio(air_temp, humidity, pressure)),
        enthalpy,
        wind,
        pressure,
        open_area,
        open_area * (1 - under * cover.evaporation_cut) if film else open_area,
        incoming,
        ground,
        mains,
        falling,
        unit_flow * pond.aeration_air_flow,
        _leak(pond, unit_flow, air_temp, vapour, wind, pressure) * under,
        sheet_area,
        flux,
        to_air,
        (1 - WATER_ALBEDO.value) * solar * (1 - pond.shade) * pond.surface_area * through,
        covered,
        wall_air=sum(w.area * w.u_value for w in pond.walls if w.against == "air"),
        wall_ground=sum(w.area * w.u_value for w in pond.walls if w.against == "ground"),
        change=_exchange(pond),
    )


LEAK_WATER_TEMP = 15.0  # °C at which the open surface's transfer is taken for the bound on a leak


def leak_capacity(pond: Pond, air_temp, air_vapour, wind, pressure):
    """Dry air [kg/s] that carries off as much as the open surface itself would lose by evaporation and convection."""
    water_vapour = water_curve(np.asarray(LEAK_WATER_TEMP))[0]
    coefficient = surface.EVAPORATION[pond.evaporation].coefficient(
        LEAK_WATER_TEMP, air_temp, water_vapour, air_vapour, wind, pressure
    )
    return pond.surface_area * coefficient * pressure / (_RATIO * 2.45e6)


def _leak(pond: Pond, unit_flow, air_temp, air_vapour, wind, pressure):
    """Dry air that leaks under the cover and leaves saturated [kg/s].

    Air over water takes up a share 1 − exp(−capacity/flow) of what it could, so a wide gap loses at most what the open
    surface would; the textbook's exchanger with one side at rest.
    """
    if pond.cover is None or pond.cover.gap_air_flow == 0.0:
        return np.zeros_like(unit_flow)
    flow = unit_flow * pond.cover.gap_air_flow
    return flow * -np.expm1(-leak_capacity(pond, air_temp, air_vapour, wind, pressure) / flow)


def _exchange(pond: Pond) -> float:
    """Heat that new water takes up for each kelvin it is colder than the pond [W/K]."""
    return pond.water_change * density(15.0) * specific_heat(15.0)


def _saturated(temp, vapour, vapour_slope, pressure):
    """Enthalpy of air saturated at the water's temperature [J/kg], its humidity ratio, and both slopes."""
    ratio = _RATIO * vapour / (pressure - vapour)
    ratio_slope = _RATIO * pressure * vapour_slope / ((pressure - vapour) * (pressure - vapour))
    return (
        enthalpy_of(temp, ratio),
        ratio,
        1006.0 + 1860.0 * ratio + ratio_slope * (2.501e6 + 1860.0 * temp),
        ratio_slope,
    )


def losses(prepared: Prepared, water_temp) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Every way of loss by name [W] and its slope in the water's temperature [W/K], for arrays of moments.

    water_temp: [degC], float or one value a moment. The sum over ROUTES is the whole loss; sun is not in it.
    What a cover lets through is booked where it leaves the cover's outer face: convection and long wave; a leak's
    share is booked under evaporation and convection.
    """
    h, pond = prepared, prepared.pond
    temp = _spread(water_temp, h.air_temp)
    vapour, vapour_slope = water_curve(temp)
    formula = surface.EVAPORATION[pond.evaporation]
    coefficient, slope = formula.pair(temp, h.air_temp, vapour, h.air_vapour, h.wind, h.pressure, vapour_slope)
    excess = vapour - h.air_vapour
    rising = 1.0
    if not formula.condenses:
        rising = (excess > 0).astype(float)
        excess = excess * rising
    wet_area = np.where(excess > 0, h.wet_area, h.open_area)  # a film is known to hold evaporation back, not dew
    gamma = PSYCHROMETRIC.value * h.pressure
    warmer = temp - h.air_temp
    enthalpy, ratio, enthalpy_slope, ratio_slope = _saturated(temp, vapour, vapour_slope, h.pressure)
    kelvin = temp + _KELVIN
    half = (_WARMEST - _COLDEST) / 2
    z = (temp - (_COLDEST + _WARMEST) / 2) / half
    flux, flux_slope = _polynomial(h.sheet_flux, z, half)
    to_air, to_air_slope = _polynomial(h.sheet_to_air, z, half)
    vapour_heat = 2.501e6 + 1860.0 * temp
    moist_heat = 1006.0 + 1860.0 * h.air_ratio
    value = {
        "evaporation": wet_area * coefficient * excess + h.leak_air * (ratio - h.air_ratio) * vapour_heat,
        "convection": ((h.open_area * gamma * coefficient + h.leak_air * moist_heat) * warmer + h.sheet_area * to_air),
        "long_wave": (
            h.open_area * pond.emissivity * (surface.black_body(temp) - h.incoming) + h.sheet_area * (flux - to_air)
        ),
        "walls": h.wall_air * warmer,
        "ground": h.wall_ground * (temp - h.ground_temp),
        "falling_water": h.falling_air * (enthalpy - h.air_enthalpy),
        "casing": pond.casing_u_value_area * warmer,
        "aeration": h.aeration_air * (enthalpy - h.air_enthalpy),
        "water_change": h.change * (temp - h.mains_temp),
    }
    one = np.ones_like(temp)
    slopes = {
        "evaporation": (
            wet_area * (coefficient * vapour_slope * rising + slope * excess)
            + h.leak_air * (ratio_slope * vapour_heat + (ratio - h.air_ratio) * 1860.0)
        ),
        "convection": (
            h.open_area * gamma * (coefficient + slope * warmer) + h.leak_air * moist_heat + h.sheet_area * to_air_slope
        ),
        "long_wave": (
            4 * h.open_area * pond.emissivity * _SIGMA * kelvin * kelvin * kelvin
            + h.sheet_area * (flux_slope - to_air_slope)
        ),
        "walls": h.wall_air * one,
        "ground": h.wall_ground * one,
        "falling_water": h.falling_air * enthalpy_slope,
        "casing": pond.casing_u_value_area * one,
        "aeration": h.aeration_air * enthalpy_slope,
        "water_change": h.change * one,
    }
    return value, slopes


def _polynomial(rows, z, half):
    value, slope = rows[:, -1].copy(), np.zeros(len(rows))
    for power in range(_KNOTS - 2, -1, -1):
        slope = slope * z + value
        value = value * z + rows[:, power]
    return value, slope / half


def total(pond: Pond):
    """A function (water_temp, row) → (whole loss [W], its slope [W/K]) on plain floats; rows of `Prepared.table`."""
    formula = surface.EVAPORATION[pond.evaporation]
    pair, condenses = formula.pair, formula.condenses
    middle, half = (_COLDEST + _WARMEST) / 2, (_WARMEST - _COLDEST) / 2
    exp, log, freezing, ratio_of = math.exp, math.log, _KELVIN, _RATIO
    psychrometric, radiating = PSYCHROMETRIC.value, pond.emissivity * _SIGMA
    steady = sum(wall.area * wall.u_value for wall in pond.walls) + pond.casing_u_value_area + _exchange(pond)
    a, b, c, d, e, f = WATER_CURVE

    def at(temp, row):
        # The hottest lines of the library, so everything is written out: each call saved is a millisecond a year.
        air_temp, air_vapour, wind, pressure, bare, wet, air_flow, fixed, c0, c1, c2, c3, c4 = row
        slope = steady
        loss = steady * temp - fixed
        if bare or air_flow:
            kelvin = temp + freezing
            vapour = exp(a / kelvin + b + kelvin * (c + kelvin * (d + kelvin * e)) + f * log(kelvin))
            vapour_slope = vapour * (c - a / (kelvin * kelvin) + kelvin * (2 * d + kelvin * 3 * e) + f / kelvin)
        if bare:
            coefficient, change = pair(temp, air_temp, vapour, air_vapour, wind, pressure, vapour_slope)
            excess = vapour - air_vapour
            if excess <= 0:
                wet = bare if condenses else 0.0
            gamma = psychrometric * pressure * bare
            driving = wet * excess + gamma * (temp - air_temp)
            cube = radiating * bare * kelvin * kelvin * kelvin
            loss += coefficient * driving + cube * kelvin
            slope += coefficient * (wet * vapour_slope + gamma) + change * driving + 4 * cube
        if air_flow:
            dry = pressure - vapour
            ratio, heat = ratio_of * vapour / dry, 2.501e6 + 1860.0 * temp
            loss += air_flow * (1006.0 * temp + ratio * heat)
            slope += air_flow * (1006.0 + 1860.0 * ratio + ratio_of * pressure * vapour_slope / (dry * dry) * heat)
        if c0 or c1:
            z = (temp - middle) / half
            loss += c0 + z * (c1 + z * (c2 + z * (c3 + z * c4)))
            slope += (c1 + z * (2 * c2 + z * (3 * c3 + z * 4 * c4))) / half
        return loss, slope

    return at


def moment(pond: Pond, air: Air, water_temp, covered=0.0) -> dict[str, np.ndarray]:
    """Every loss by name [W] at one moment or many, with `solar` (gain) and `net` (losses − solar).

    water_temp: [degC]; covered: [–] share of the moment the cover lies on; floats, or arrays as long as those of `air`.
    Raises OutOfRange. Source: the formulae named in the pond, see `surface`, `covers`, `walls`, `falling_water`.
    """
    require(water_temp=water_temp, share=covered)
    single = np.ndim(air.air_temp) == np.ndim(water_temp) == 0
    air = replace(air, air_temp=np.asarray(air.air_temp, float) + 0 * np.asarray(water_temp, float))
    prepared = prepare(pond, air, covered)
    value, _ = losses(prepared, water_temp)
    result = {name: value[name] for name in ROUTES}
    result["solar"] = prepared.solar_gain
    result["net"] = sum(value.values()) - prepared.solar_gain
    return {name: float(v[0]) if single and np.size(v) == 1 else v for name, v in result.items()}

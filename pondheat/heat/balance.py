"""The heat balance of a pond at one moment: what it gains and loses, each route by its name.

A `Pond` is what stays the same, an `Air` what the weather does (one moment or many, as arrays). `prepare` turns both
into the numbers that `routes.route_losses` works on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from pondheat.core.ranges import choose, require
from pondheat.core.sources import STANDARD_PRESSURE, WATER_ALBEDO, WATER_EMISSIVITY, ZERO_CELSIUS
from pondheat.heat import routes
from pondheat.heat.covers import Cover, core_resistance
from pondheat.heat.evaporation import DEFAULT_EVAPORATION, EVAPORATION, FORMULA_WIND_HEIGHT
from pondheat.heat.moist_air import outdoor_air
from pondheat.heat.routes import Coefficients, Moment, Routes
from pondheat.heat.sky import DEFAULT_SKY, SKY, black_body, sky_emissivity
from pondheat.heat.surface import wind_at_height
from pondheat.heat.water import density, specific_heat

WATER_DENSITY = density(15.0)  # kg/m³
WATER_CAPACITY = WATER_DENSITY * specific_heat(15.0)  # J/(m³·K)
ROUTES = Routes._fields  # the ways heat leaves, in the one order used everywhere
# Fields of `Air` without which nothing can be worked out.
NEEDED = ("air_temp", "rel_humidity", "wind_speed", "cloud_cover", "solar", "pressure", "ground_temp", "mains_temp")
_KINDS = {"sheet": routes.SHEET, "insulated lid": routes.SHEET, "floating": routes.FLOATING, "film": routes.FILM}


@dataclass(frozen=True)
class Alternative:
    """What a wall that nobody described may be: name of a construction, u_value [W/(m²·K)], "air" or "ground"."""

    construction: str
    u_value: float
    against: str


@dataclass(frozen=True)
class Wall:
    """One wall or floor: area [m²], u_value [W/(m²·K)], and what lies beyond it ("air" or "ground").

    alternatives: what else it may be, for a wall that nobody described; () for one that is known.
    """

    area: float
    u_value: float
    against: str = "air"
    alternatives: tuple[Alternative, ...] = ()

    def __post_init__(self):
        require(area=self.area, u_value=self.u_value)
        choose("far side of a wall", self.against, ("air", "ground"))

    def built_as(self, construction: str) -> Wall:
        """The wall in one of its possible constructions; itself where it is known."""
        for one in self.alternatives:
            if one.construction == construction:
                return replace(self, u_value=one.u_value, against=one.against)
        return self

    def insulated(self, resistance: float) -> Wall:
        """The wall with a resistance [m²·K/W] added where it stands in the air, whatever it may be."""

        def better(u_value: float, against: str) -> float:
            return u_value / (1 + u_value * resistance) if against == "air" else u_value

        others = tuple(replace(one, u_value=better(one.u_value, one.against)) for one in self.alternatives)
        return replace(self, u_value=better(self.u_value, self.against), alternatives=others)


@dataclass(frozen=True)
class Pond:
    """A pond as the heat balance sees it.

    surface_area [m²], volume [m³], walls, filter_air_flow [m³/s] with filter_effectiveness [–], casing_u_value_area
    [W/K], aeration_air_flow [m³/s], water_change [m³/s] of mains water, cover, wind_shelter [–] (wind at the water over
    wind at the same height in the open), sky_view [–], shade [–] (share of the sun kept off), names of the evaporation
    and sky formulae, emissivity [–]. net_open_area [–]: open area of a mesh net over the water where no cover lies, 1
    for none (`covers.mesh_open_area`). room: True inside a greenhouse or pond house (no wind, no sky).
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
    evaporation: str = DEFAULT_EVAPORATION
    sky: str = DEFAULT_SKY
    emissivity: float = WATER_EMISSIVITY.value
    net_open_area: float = 1.0
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
        require(share=self.net_open_area)
        choose("evaporation formula", self.evaporation, EVAPORATION)
        choose("sky formula", self.sky, SKY)

    def built_as(self, construction: str) -> Pond:
        """The pond with the walls that nobody described in one of their possible constructions."""
        return replace(self, walls=tuple(wall.built_as(construction) for wall in self.walls))

    @property
    def constructions(self) -> tuple[str, ...]:
        """Names of what the walls that nobody described may be, the likeliest first; () where all are known."""
        return next((tuple(a.construction for a in w.alternatives) for w in self.walls if w.alternatives), ())

    @property
    def heat_capacity(self) -> float:
        """Heat to warm the water by one degree [J/K], properties at 15 °C (0.3 % off at 0 and 30 °C)."""
        return self.volume * WATER_CAPACITY

    @property
    def water_mass(self) -> float:
        """Mass of the water [kg], at 15 °C."""
        return WATER_DENSITY * self.volume


@dataclass(frozen=True)
class Air:
    """Weather at one moment or many: floats or equally long arrays.

    air_temp, ground_temp, mains_temp [degC]; rel_humidity, cloud_cover [–]; wind_speed [m/s] at wind_height [m];
    solar [W/m²]; pressure [Pa]; sky_long_wave [W/m²] downward, NaN (or None) where it is worked out from cloud;
    sun_dimming [–], share of the clear sky's sun kept off, from which cloud is judged, NaN (or None) where cloud_cover
    was observed.
    """

    air_temp: np.ndarray | float
    rel_humidity: np.ndarray | float
    wind_speed: np.ndarray | float
    cloud_cover: np.ndarray | float = 0.5
    solar: np.ndarray | float = 0.0
    pressure: np.ndarray | float = STANDARD_PRESSURE.value
    sky_long_wave: np.ndarray | float | None = None
    ground_temp: np.ndarray | float = 10.0
    mains_temp: np.ndarray | float = 10.0
    wind_height: float = 10.0
    sun_dimming: np.ndarray | float | None = None

    @cached_property
    def moments(self) -> dict[str, Moment]:
        """The weather as numbers by sky formula, so far as `moment_of` has worked it out."""
        return {}

    @property
    def has_long_wave(self) -> bool:
        """Whether most moments bring their own long wave from the sky."""
        sky = self.sky_long_wave
        return sky is not None and bool(np.isfinite(np.asarray(sky, float)).mean() > 0.5)

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
    """A pond and its weather as numbers: arrays of one length in `moment`, floats in `coefficients`."""

    pond: Pond
    moment: Moment
    coefficients: Coefficients

    @property
    def solar_gain(self) -> np.ndarray:
        """Sun that the water takes up [W]."""
        return routes.solar_gain(self.moment, self.coefficients)

    def at(self, rows) -> Prepared:
        """Some of the moments, by number or as a mask."""
        return replace(self, moment=Moment(*(np.asarray(values)[rows] for values in self.moment)))

    def with_factors(self, **factors: float) -> Prepared:
        """The same with factors on whole terms, such as `surface_factor` (see `routes.Coefficients`)."""
        return replace(self, coefficients=self.coefficients._replace(**factors))


def coefficients_of(pond: Pond) -> Coefficients:
    """A pond as the numbers that the formulae take."""
    cover, shelter = pond.cover, 0.0 if pond.room else float(pond.wind_shelter)
    formula = EVAPORATION[pond.evaporation]
    to_formula = wind_at_height(1.0, FORMULA_WIND_HEIGHT, formula.wind_height or FORMULA_WIND_HEIGHT)
    return Coefficients(
        surface_area=float(pond.surface_area),
        heat_capacity=float(pond.heat_capacity),
        emissivity=float(pond.emissivity),
        sky_view=0.0 if pond.room else float(pond.sky_view),
        evaporation=formula.number,
        condenses=float(formula.condenses),
        shelter=shelter,
        evaporation_wind=shelter * to_formula,
        wall_air=float(sum(wall.area * wall.u_value for wall in pond.walls if wall.against == "air")),
        wall_ground=float(sum(wall.area * wall.u_value for wall in pond.walls if wall.against == "ground")),
        casing=float(pond.casing_u_value_area),
        falling_air=float(pond.filter_air_flow * pond.filter_effectiveness),
        aeration_air=float(pond.aeration_air_flow),
        water_change=float(pond.water_change * WATER_CAPACITY),
        absorbing_area=float((1 - WATER_ALBEDO.value) * (1 - pond.shade) * pond.surface_area),
        cover_kind=routes.NO_COVER if cover is None else _KINDS[cover.kind],
        cover_share=0.0 if cover is None else float(cover.share),
        cover_core=1.0 if cover is None else float(core_resistance(cover.u_value)),
        cover_emissivity=1.0 if cover is None else float(cover.emissivity),
        cover_light=1.0 if cover is None or cover.kind == "film" else float(cover.light),
        cover_leak=0.0 if cover is None else float(cover.gap_air_flow),
        evaporation_cut=float(cover.evaporation_cut) if cover is not None and cover.kind == "film" else 0.0,
        net_open=float(pond.net_open_area),
        surface_factor=1.0,
        cover_factor=1.0,
        stream_factor=1.0,
        sun_factor=1.0,
        sky=0,
        sky_error=0.0,
    )


def moment_of(air: Air, covered, sky: str = DEFAULT_SKY) -> Moment:
    """Weather and cover as the numbers that the formulae take, arrays of one length.

    covered: [–] share of each moment for which the cover is on, float or array; sky: key of SKY, used where the weather
    brings no long wave of its own. Raises OutOfRange for weather that no place on Earth has.
    """
    require(share=covered)
    if sky not in air.moments:
        air.moments[sky] = _uncovered(air, sky)
    weather, covered = air.moments[sky], np.asarray(covered, float)
    shape = np.broadcast_shapes(weather.air_temp.shape, covered.shape)
    if shape != weather.air_temp.shape:
        weather = Moment(*(np.array(np.broadcast_to(values, shape)) for values in weather))
    return weather._replace(covered=np.array(np.broadcast_to(covered, shape)))


def _uncovered(air: Air, sky: str) -> Moment:
    """The weather as numbers, with no cover on."""
    given = {name: getattr(air, name) for name in NEEDED}
    dimming = None if air.sun_dimming is None else np.asarray(air.sun_dimming, float)
    require(**given, sun_dimming=None if dimming is None else np.nan_to_num(dimming))
    from_sky = np.nan if air.sky_long_wave is None else air.sky_long_wave
    columns = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, float)) for value in (*given.values(), from_sky)))
    # copies: compiled code takes arrays that are whole and writeable
    air_temp, humidity, wind, cloud, solar, pressure, ground, mains, from_sky = map(np.array, columns)
    surroundings = black_body(air_temp)
    vapour, ratio, enthalpy, air_density = outdoor_air(air_temp, humidity, pressure)
    if (unknown := np.isnan(from_sky)).any():
        dimming = None if dimming is None else np.broadcast_to(dimming, cloud.shape)
        worked_out = surroundings * sky_emissivity(SKY[sky], air_temp, vapour, cloud, dimming)
        from_sky = np.where(unknown, worked_out, from_sky)
    return Moment(
        air_temp=air_temp,
        air_vapour=vapour,
        air_ratio=ratio,
        air_enthalpy=enthalpy,
        air_density=air_density,
        wind=wind * wind_at_height(1.0, air.wind_height, FORMULA_WIND_HEIGHT),
        pressure=pressure,
        surroundings=surroundings,
        sky=from_sky,
        ground_temp=ground,
        mains_temp=mains,
        solar=solar,
        covered=np.zeros(air_temp.shape),
    )


def prepare(pond: Pond, air: Air, covered) -> Prepared:
    """A pond and its weather as numbers.

    covered: [–] share of each moment for which the cover is on (float or array); of no effect without a cover.
    Raises OutOfRange for weather that no place on Earth has.
    """
    return Prepared(pond, moment_of(air, covered if pond.cover else 0.0, pond.sky), coefficients_of(pond))


def losses(prepared: Prepared, water_temp) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Heat lost by each route [W] and its slope in the water's temperature [W/K], as arrays of moments by name.

    water_temp: [degC], float or one value for each moment. The sum over ROUTES is the whole loss; sun is not in it.
    """
    water = np.array(np.broadcast_to(np.asarray(water_temp, float), np.shape(prepared.moment.air_temp)))
    value, slope = routes.route_losses(water, prepared.moment, prepared.coefficients)
    return (
        {name: np.asarray(one) for name, one in zip(ROUTES, value)},
        {name: one + 0.0 * water for name, one in zip(ROUTES, slope)},
    )


def moment(pond: Pond, air: Air, water_temp, covered=0.0) -> dict:
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
    result["net"] = np.asarray(sum(value.values()) - prepared.solar_gain)
    return {name: float(v[0]) if single and np.size(v) == 1 else v for name, v in result.items()}

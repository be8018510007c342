"""Many scenarios of one season at once: numpy over scenarios, one loop over hours.

Takes plain samples and returns kilowatt-hours; what they cost is for `analysis.assessment` to say. The physics is that of `simulate`
with two short cuts that a test holds to 0.3 % of a season: the heater's power is constant within an hour, and a cover's
two faces follow the hour before by one fixed-point step.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pondheat.core.ranges import OutOfRange
from pondheat.core.sources import (
    FUSION_HEAT,
    MOLAR_RATIO,
    PSYCHROMETRIC,
    STEFAN_BOLTZMANN,
    WATER_EMISSIVITY,
    ZERO_CELSIUS,
)
from pondheat.heat import balance, covers, surface
from pondheat.heat.balance import Air, Pond
from pondheat.heat.falling_water import dry_air_flow
from pondheat.heat.moist_air import enthalpy_of, water_curve
from pondheat.season.simulate import HOUR

DAY = 24  # hours
_SIGMA, _KELVIN = STEFAN_BOLTZMANN.value, ZERO_CELSIUS.value
SAMPLED = (
    "evaporation",
    "wind_shelter",
    "sky_view",
    "u_value",
    "gap_air_flow",
    "wall_factor",
    "surface_factor",
    "cover_factor",
    "stream_factor",
    "sun_factor",
    "year_warmth",
    "cover_used",
)


@dataclass(frozen=True)
class Spread:
    """Per scenario: heat given over the season [kWh], the same by weight (scenarios, weights) [kWh], and the lowest
    water temperature [degC]."""

    heat_kwh: np.ndarray
    weighted_kwh: np.ndarray
    lowest_temp: np.ndarray


def spread(
    pond: Pond,
    air: Air,
    samples: dict[str, np.ndarray],
    *,
    set_point,
    limit,
    covered=0.0,
    gain=0.0,
    weights=None,
    first=None,
    counted=None,
    start_temp: float = 10.0,
    progress=None,
) -> Spread:
    """Run every scenario through the same hours.

    samples: equally long arrays by name, from SAMPLED: evaporation (names of formulae), wind_shelter [–], sky_view [–],
    u_value [W/(m²·K)] of the cover, gap_air_flow [m³/s]; and factors [–] on whole terms: wall_factor on all walls and
    the ground, surface_factor on evaporation, convection and long wave of open water (and of water under a film),
    cover_factor on what goes through any other cover or leaks round it, stream_factor on falling water, casing,
    aeration and water change, sun_factor on the sun's gain; and year_warmth [K], by which air, sky, ground and new
    water are warmer through all hours, relative humidity kept (straight lines about the weather as given); and cover_used,
    1 where the cover lies on as `covered` says, 0 where it never does. What is not sampled is the pond's own, its
    factor 1.
    set_point [degC], limit [W], covered [–], gain [W] (pump): one a hour or one for all; NaN set point: no heat.
    weights: (hours, k) factors on the heat of each hour, such as the share that falls under a rate. first (in W): only
    heat up to it takes the weights, what is above takes the second half of their columns (a heat pump, then its backup;
    (hours, 2 k) then). counted: which hours are summed (spin-up is not). progress: called with the share done, a
    hundred times.
    Raises OutOfRange for an unknown name or samples of unlike length.
    """
    for name in samples:
        if name not in SAMPLED:
            raise OutOfRange(f"“{name}” cannot be sampled. Known: {', '.join(SAMPLED)}.")
    sizes = {len(v) for v in samples.values()}
    if len(sizes) != 1:
        raise OutOfRange("The samples differ in length, or there are none.")
    count = sizes.pop()

    # Scenarios of one formula stand side by side, so that each formula is evaluated on one slice.
    formulas = np.asarray(samples.get("evaporation", np.full(count, pond.evaporation)), dtype=object)
    order = np.argsort(formulas.astype(str), kind="stable")
    formulas = formulas[order]

    def sampled(name, own):
        return np.asarray(samples[name], float)[order] if name in samples else np.full(count, float(own))

    shelter = np.zeros(count) if pond.room else sampled("wind_shelter", pond.wind_shelter)
    view = np.zeros(count) if pond.room else sampled("sky_view", pond.sky_view)
    cover = pond.cover
    core = covers.core_resistance(sampled("u_value", cover.u_value)) if cover else None
    gap = sampled("gap_air_flow", cover.gap_air_flow) if cover else np.zeros(count)
    factor = sampled("wall_factor", 1.0)
    # Plain 1.0 where not sampled, so that what is one number for all scenarios stays one.
    surface_factor, cover_factor, stream_factor, sun_factor = (
        sampled(name, 1.0) if name in samples else 1.0
        for name in ("surface_factor", "cover_factor", "stream_factor", "sun_factor")
    )

    used = sampled("cover_used", 1.0) if "cover_used" in samples and cover else None
    if used is not None:
        cover_factor = cover_factor * used

    slices = []
    for name in dict.fromkeys(formulas):
        formula = surface.EVAPORATION[name]
        where = np.flatnonzero(formulas == name)
        open_field = replace(pond, evaporation=name, wind_shelter=1.0)
        slices.append(
            (slice(where[0], where[-1] + 1), formula, balance.prepare(open_field, air, covered).wind[:, None])
        )
    # One prepared set without sheet: its faces are solved here, scenario by scenario.
    h = balance.prepare(
        replace(
            pond,
            wind_shelter=1.0,
            room=pond.room,
            cover=replace(cover, kind="film", evaporation_cut=0.0, gap_air_flow=0.0) if cover else None,
        ),
        air,
        covered,
    )
    film = cover is not None and cover.kind == "film"
    under = h.covered * (cover.share if cover else 0.0)
    sheet_area = np.zeros_like(under) if film or cover is None else pond.surface_area * under
    open_area = pond.surface_area - sheet_area
    wet_area = open_area * (1 - under * cover.evaporation_cut) if film else open_area
    through = (1 - under) + under * (cover.light if cover and not film else 1.0)
    hours = len(h.air_temp)
    sun = h.solar_gain * through
    low_wind = (0.0 if pond.room else 1.0) * surface.wind_at_height(
        np.broadcast_to(np.asarray(air.wind_speed, float), hours), air.wind_height, 2.0
    )
    black = surface.black_body(h.air_temp)
    sky = (
        np.broadcast_to(h.incoming, hours)
        if pond.room
        else (h.incoming - (1 - pond.sky_view) * black) / max(pond.sky_view, 1e-9)
    )
    if not pond.room and pond.sky_view < 1e-6:  # the sky cannot be told from the surroundings; reckon it anew
        sky = balance.prepare(replace(pond, sky_view=1.0), air, 0.0).incoming

    shift = sampled("year_warmth", 0.0) if "year_warmth" in samples else None
    a_kelvin = np.zeros((hours, 4))  # what a kelvin adds: vapour pressure, surroundings, sky, enthalpy of the air
    if shift is not None:
        warm = balance.prepare(replace(pond, cover=None), air.warmer(1.0), 0.0)
        warm_black = surface.black_body(warm.air_temp)
        warm_sky = (
            np.zeros(hours)
            if pond.room
            else balance.prepare(replace(pond, cover=None, sky_view=1.0), air.warmer(1.0), 0.0).incoming
            - balance.prepare(replace(pond, cover=None, sky_view=1.0), air, 0.0).incoming
        )
        a_kelvin = np.column_stack(
            (warm.air_vapour - h.air_vapour, warm_black - black, warm_sky, warm.air_enthalpy - h.air_enthalpy)
        )

    leak_unit = (
        dry_air_flow(1.0, h.air_temp, np.broadcast_to(air.rel_humidity, hours), h.pressure)[0]
        if gap.any()
        else np.zeros(hours)
    ) * (under > 0)
    reference_vapour = float(water_curve(np.asarray(balance.LEAK_WATER_TEMP))[0])
    whole, pressure = pond.surface_area, np.broadcast_to(h.pressure, hours)[:, None]
    wanted, limit, gain = (np.broadcast_to(np.asarray(v, float), hours) for v in (set_point, limit, gain))
    counted = np.ones(hours, bool) if counted is None else np.asarray(counted, bool)
    weights = np.zeros((hours, 0)) if weights is None else np.asarray(weights, float)
    capacity, emissivity = pond.heat_capacity, pond.emissivity
    wall_air, wall_ground = h.wall_air * factor, h.wall_ground * factor
    casing, change = pond.casing_u_value_area * stream_factor, h.change * stream_factor
    steady = wall_air + wall_ground + casing + change
    exchange = 1 / (1 / WATER_EMISSIVITY.value + 1 / cover.emissivity - 1) if cover else 0.0
    melt = FUSION_HEAT.value

    # While the heater holds in every scenario `temp` is one float for all, and most of an hour's work is done once.
    temp = np.full(count, float(start_temp))
    ice = np.zeros(count)
    all_condense = all(formula.condenses for _, formula, _ in slices)
    inside_film, outside = np.full(count, 12.0), np.full(count, float(start_temp))
    heat_kwh, lowest = np.zeros(count), np.full(count, np.inf)
    surplus = None if first is None else weights[:, weights.shape[1] // 2 :]
    if first is not None:
        first, weights = np.broadcast_to(np.asarray(first, float), hours), weights[:, : weights.shape[1] // 2]
    weighted = np.zeros((count, weights.shape[1]))
    ones = np.ones(count)
    of_water = [(part, formula) for part, formula, _ in slices if not formula.wind_only]

    def at(value, part):
        """The scenarios of one formula, of a value that may be one for all."""
        return value if shift is None else value[part]

    def without_the_water(first_hour):
        """Of a day, what need not wait for the water's temperature, as (hours, scenarios): the wind, the coefficients of
        formulae that take it alone, and all coefficients at the water of a leak (None where nothing leaks)."""
        day = slice(first_hour, first_hour + DAY)
        blown, known = (np.empty((len(leak_unit[day]), count)) for _ in range(2))
        leaking = np.empty_like(known) if leak_unit[day].any() else None
        for part, formula, winds in slices:
            blown[:, part] = winds[day] * shelter[part]
            if formula.wind_only:
                known[:, part] = formula.coefficient(None, None, None, None, blown[:, part], None)
            if leaking is not None:
                air_temp, vapour = h.air_temp[day, None], h.air_vapour[day, None]
                if shift is not None:
                    air_temp, vapour = air_temp + shift[part], vapour + a_kelvin[day, :1] * shift[part]
                leaking[:, part] = (
                    known[:, part]
                    if formula.wind_only
                    else formula.coefficient(
                        balance.LEAK_WATER_TEMP, air_temp, reference_vapour, vapour, blown[:, part], pressure[day]
                    )
                )
        return blown, known, leaking

    per_hour = zip(
        *(
            c.tolist()
            for c in (
                h.air_temp,
                h.air_vapour,
                h.pressure,
                open_area,
                wet_area,
                sheet_area,
                black,
                sky,
                h.ground_temp,
                h.mains_temp,
                h.falling_air + h.aeration_air,
                leak_unit,
                h.air_enthalpy,
                low_wind,
                sun,
                gain,
                wanted,
                limit,
                counted,
                under,
                h.solar_gain,
                *a_kelvin.T,
            )
        )
    )
    for i, (
        ta,
        pa,
        p,
        bare,
        wet,
        lid,
        dark,
        above,
        ground,
        mains,
        stream,
        leak,
        dry_heat,
        wind,
        shone,
        pumped,
        target,
        most,
        count_it,
        share,
        full_sun,
        vapour_k,
        dark_k,
        above_k,
        dry_k,
    ) in enumerate(per_hour):
        if shift is not None:
            ta, ground = ta + shift, ground + shift
            mains = np.maximum(mains + shift, 0.0)  # new water never comes frozen
            pa, dark = pa + vapour_k * shift, dark + dark_k * shift
            above, dry_heat = above + above_k * shift, dry_heat + dry_k * shift
        hour = i % DAY
        if hour == 0:
            blown, known, leaking = without_the_water(i)
        any_open = bool(bare)
        if used is not None and share:
            any_open = True
            bare, wet = whole + (bare - whole) * used, whole + (wet - whole) * used
            shone = full_sun + (shone - full_sun) * used
        held = isinstance(temp, float)
        vapour, vapour_slope = water_curve(temp)
        kelvin = temp + _KELVIN
        gained = shone * sun_factor + pumped
        loss = steady * temp - (wall_air + casing) * ta - wall_ground * ground - change * mains
        slope = steady
        if any_open:
            coefficient = known[hour]
            for part, formula in of_water:
                coefficient[part] = formula.coefficient(
                    temp if held else temp[part],
                    at(ta, part),
                    vapour if held else vapour[part],
                    at(pa, part),
                    blown[hour, part],
                    p,
                )
            bare, wet = bare * surface_factor, wet * surface_factor
            excess = vapour - pa
            area = wet
            if film:
                area = np.where(excess > 0, wet, bare)
            evaporating = area * excess
            if not all_condense:
                evaporating = evaporating * ones
                for part, formula, _ in slices:
                    if not formula.condenses:
                        evaporating[part] = np.maximum(evaporating[part], 0.0)
            gamma = PSYCHROMETRIC.value * p * bare
            radiated = bare * emissivity * _SIGMA * kelvin * kelvin * kelvin
            loss = loss + coefficient * (evaporating + gamma * (temp - ta)) + radiated * kelvin
            loss -= bare * emissivity * (view * above + (1 - view) * dark)
            slope = slope + coefficient * (area * vapour_slope + gamma) + 4 * radiated
        flow = stream * stream_factor
        if leak:  # as `balance` bounds it: a share of what the open surface would lose
            through_gap = np.maximum(leak * gap, 1e-12)
            capacity_air = whole * leaking[hour] * p / (MOLAR_RATIO.value * 2.45e6)
            flow = flow + through_gap * -np.expm1(-capacity_air / through_gap) * share * cover_factor
        if stream or leak:
            ratio = MOLAR_RATIO.value * vapour / (p - vapour)
            loss = loss + flow * (enthalpy_of(temp, ratio) - dry_heat)
            slope = slope + flow * (1006.0 + 1860.0 * ratio + 2.5e6 * MOLAR_RATIO.value / p * vapour_slope)
        if lid:
            speed = 4 + 4 * wind * shelter
            sky_in = cover.emissivity * (view * above + (1 - view) * dark)
            face = outside + _KELVIN
            cube = cover.emissivity * _SIGMA * face * face * face
            shed = speed * (outside - ta) + cube * face - sky_in  # leaving at the present guess of the face
            out_slope = speed + 4 * cube
            resistance = core if cover.kind == "floating" else core + 1 / inside_film
            flux = (temp - outside + shed / out_slope) / (resistance + 1 / out_slope)
            outside = outside + (flux - shed) / out_slope
            if cover.kind != "floating":
                step = flux / inside_film
                size = np.maximum(np.abs(step), 1e-3)
                step = np.where(step < 0, -size, size)
                inner = temp - step
                film_air = covers.FREE_CONVECTION * np.cbrt(size)
                pulled = np.maximum(vapour - water_curve(inner)[0], 0.0) / (PSYCHROMETRIC.value * p)
                inner_kelvin = inner + _KELVIN
                radiation = (
                    exchange * _SIGMA * (kelvin * kelvin + inner_kelvin * inner_kelvin) * (kelvin + inner_kelvin)
                )
                inside_film = film_air + radiation + film_air * pulled / step
            lid = lid * cover_factor
            loss = loss + lid * flux
            slope = slope + lid / (resistance + 1 / out_slope)
        ease = -np.expm1(-slope * HOUR / capacity) / slope
        heat = (target - temp) / ease + loss - gained if target == target else 0.0
        if target == target and heat.min() >= 0.0 and heat.max() <= most and not ice.any():
            temp = target
        else:
            heat = np.clip(heat, 0.0, most)
            temp = temp + (heat + gained - loss) * ease
            if temp.min() < 0.0 or ice.any():
                energy = temp * capacity - ice * melt
                temp, ice = np.maximum(energy, 0.0) / capacity, np.maximum(-energy, 0.0) / melt
        if count_it:
            heat_kwh += heat
            if weights.shape[1]:
                lower = heat * ones if first is None else np.minimum(heat * ones, first[i])
                weighted += np.multiply.outer(lower, weights[i])
                if first is not None:
                    weighted += np.multiply.outer(heat - lower, surplus[i])
            lowest = np.minimum(lowest, temp)
        if progress is not None and i % max(hours // 100, 1) == 0:
            progress(i / hours)
    back = np.empty(count, int)
    back[order] = np.arange(count)
    return Spread(heat_kwh[back] / 1000, weighted[back] / 1000, lowest[back])

"""One hour of a pond, and the loops over the hours of a season: for a single pond, and for many scenarios of one.

Within an hour the losses are a straight line about the water's temperature at its start. That line is solved exactly,
and the moments at which ice has thawed, the thermostat's set point is reached or the water freezes are found in closed
form. Ice is an even sheet on the whole surface: what leaves by the surface passes it first (`heat.ice`). (Letting the
water cool for an hour and then topping it up looks natural and loses up to 3.5 % of the bill: the
losses would be those of cooled water.)
"""

from __future__ import annotations

from typing import Any, NamedTuple

from pondheat.core.compilation import exp, formula, log, maximum, minimum, some, where
from pondheat.core.sources import FUSION_HEAT
from pondheat.heat.ice import losses_through_ice
from pondheat.heat.moist_air import saturation_curve
from pondheat.heat.routes import Coefficients, Moment, route_losses_at, solar_gain, total_loss
from pondheat.heat.water import specific_heat

HOUR = 3600.0  # s
HOTTEST = 60.0  # °C that water may reach: no pond gets there, and results beyond it mean nothing (judgement)
_FUSION = FUSION_HEAT.value
_NOT_HELD = -1e9  # set point where no heat is held: the water is always above it
_SPECIFIC_HEAT = float(specific_heat(15.0))  # J/(kg·K), as in a pond's heat capacity


@formula
def _drift(temp, settles, rate, left, goal):
    """Water that tends from temp towards `settles` [degC] at a rate [1/s], for `left` seconds or until it reaches goal.

    Returns its temperature then, the seconds spent, and the integral of its temperature over them [K·s].
    """
    end = settles + (temp - settles) * exp(-rate * left)
    reaches = ((temp < goal) & (end >= goal)) | ((temp >= goal) & (end < goal))
    spent = left
    if some(reaches):
        distance = temp - settles
        ratio = where(reaches, (goal - settles) / where(distance == 0.0, 1.0, distance), 1.0)
        spent = where(reaches, minimum(-log(ratio) / rate, left), left)
        end = where(reaches, goal, end)
    return end, spent, settles * spent - (end - temp) / rate


@formula
def hour_step(temp, ice, loss, slope, gain, set_point, limit, capacity):
    """The water and its heater after one hour.

    temp: [degC] and ice: [kg] at the start; loss: [W] at temp, slope: [W/K]; gain: [W] sun and pump; set_point: [degC]
    of an ideal thermostat, far below zero where no heat is held; limit: [W] the heater's most; capacity: [J/K].
    Returns the temperature at the end, its mean [degC], the ice at the end [kg], the heater's mean power [W], and the
    part of the losses [W] that does not leave because no water is left to freeze: ice never exceeds the water.
    """
    slope = maximum(slope, 1e-6)
    rate = slope / capacity
    left, area, heat, now = HOUR + 0.0 * temp, 0.0 * temp, 0.0 * temp, temp
    held_above_zero = where(set_point > 0.0, limit, 0.0)
    most_ice = maximum(capacity / _SPECIFIC_HEAT, ice)

    if some(ice > 0.0):  # it thaws first, at 0 °C
        net = held_above_zero + gain - loss
        thawing = where(net > 0.0, ice * _FUSION / maximum(net, 1e-9), 2.0 * HOUR)
        spent = where(ice > 0.0, minimum(thawing, HOUR), 0.0)
        heat = held_above_zero * spent
        ice = where(thawing >= HOUR, maximum(ice - net * spent / _FUSION, 0.0), 0.0)
        left = left - spent

    if some((now != set_point) & (left > 0.0)):  # towards the set point, or down to freezing
        below = now < set_point
        power = where(below, limit, 0.0)
        settles = temp + (power + gain - loss) / slope
        goal = where(below, where(settles > now, set_point, 0.0), maximum(set_point, 0.0))
        end, spent, part = _drift(now, settles, rate, left, goal)
        moving = now != set_point
        heat = heat + where(moving, power * spent, 0.0)
        area = area + where(moving, part, 0.0)
        left = where(moving, left - spent, left)
        now = where(moving, end, now)

    if some((now == set_point) & (left > 0.0)):  # held there, or pushed on by the sun or by a heater too small
        need = loss + slope * (now - temp) - gain
        holds = (now == set_point) & (need >= 0.0) & (need <= limit)
        heat = heat + where(holds, need * left, 0.0)
        area = area + where(holds, now * left, 0.0)
        left = where(holds, 0.0, left)
        if some((now == set_point) & (left > 0.0)):
            moving = (now == set_point) & (left > 0.0)
            power = where(need > limit, limit, 0.0)
            end, spent, part = _drift(now, temp + (power + gain - loss) / slope, rate, left, 0.0)
            heat = heat + where(moving, power * spent, 0.0)
            area = area + where(moving, part, 0.0)
            left = where(moving, left - spent, left)
            now = where(moving, end, now)

    if some(left > 0.0):  # at 0 °C: it freezes
        net = held_above_zero + gain - (loss - slope * temp)
        heat = heat + held_above_zero * left
        ice = ice + maximum(-net, 0.0) * left / _FUSION
    kept = maximum(ice - most_ice, 0.0)
    return now, area / HOUR, ice - kept, heat / HOUR, kept * _FUSION / HOUR


@formula
def losses_of_hour(temp, ice, vapour, vapour_slope, gain, set_point, limit, moment, pond):
    """Heat lost by each route [W] and its slope [W/K] at the start of an hour, from open water or through ice.

    vapour: saturated at the water [Pa] with its slope [Pa/K]; the rest as for `hour_step`, `Moment`, `Coefficients`.
    """
    losses, slopes = route_losses_at(temp, vapour, vapour_slope, moment, pond)
    if some(ice > 0.0):
        given = where(set_point > 0.0, gain + limit, gain)
        losses = losses_through_ice(losses, slopes, ice, given, moment, pond)
    return losses, slopes


@formula
def moment_at(weather, hour):
    """One hour of a `Moment` of arrays."""
    return Moment(
        weather.air_temp[hour],
        weather.air_vapour[hour],
        weather.air_ratio[hour],
        weather.air_enthalpy[hour],
        weather.air_density[hour],
        weather.wind[hour],
        weather.pressure[hour],
        weather.surroundings[hour],
        weather.sky[hour],
        weather.ground_temp[hour],
        weather.mains_temp[hour],
        weather.solar[hour],
        weather.covered[hour],
    )


@formula
def warmer_moment(moment, per_kelvin, shift, sky_change):
    """The same hour in air that is `shift` kelvin warmer, by the change for each kelvin.

    Wind, pressure, sun and cover stay. sky_change: added to the long wave of the sky [W/m²].
    """
    return Moment(
        moment.air_temp + shift * per_kelvin.air_temp,
        moment.air_vapour + shift * per_kelvin.air_vapour,
        moment.air_ratio + shift * per_kelvin.air_ratio,
        moment.air_enthalpy + shift * per_kelvin.air_enthalpy,
        moment.air_density + shift * per_kelvin.air_density,
        moment.wind,
        moment.pressure,
        moment.surroundings + shift * per_kelvin.surroundings,
        moment.sky + shift * per_kelvin.sky + sky_change,
        moment.ground_temp + shift * per_kelvin.ground_temp,
        maximum(moment.mains_temp + shift * per_kelvin.mains_temp, 0.0),  # new water never comes frozen
        moment.solar,
        moment.covered,
    )


@formula
def pond_at(ponds, scenario):
    """One scenario of `Coefficients` of arrays."""
    return Coefficients(
        ponds.surface_area[scenario],
        ponds.heat_capacity[scenario],
        ponds.emissivity[scenario],
        ponds.sky_view[scenario],
        ponds.evaporation[scenario],
        ponds.condenses[scenario],
        ponds.shelter[scenario],
        ponds.evaporation_wind[scenario],
        ponds.wall_air[scenario],
        ponds.wall_ground[scenario],
        ponds.casing[scenario],
        ponds.falling_air[scenario],
        ponds.aeration_air[scenario],
        ponds.water_change[scenario],
        ponds.absorbing_area[scenario],
        ponds.cover_kind[scenario],
        ponds.cover_share[scenario],
        ponds.cover_core[scenario],
        ponds.cover_emissivity[scenario],
        ponds.cover_light[scenario],
        ponds.cover_leak[scenario],
        ponds.evaporation_cut[scenario],
        ponds.net_open[scenario],
        ponds.surface_factor[scenario],
        ponds.cover_factor[scenario],
        ponds.stream_factor[scenario],
        ponds.sun_factor[scenario],
        ponds.sky[scenario],
        ponds.sky_error[scenario],
    )


class Course(NamedTuple):
    """What `run_hours` fills in, one value for each hour.

    start, mean, end: the water [degC]; ice: at the end [kg]; heater, solar: [W] mean heat given; stored: [W], from
    heat capacity × temperature change and ice; the rest: mean loss by each route [W].
    """

    start: Any
    mean: Any
    end: Any
    ice: Any
    heater: Any
    solar: Any
    stored: Any
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
def run_hours(weather, pond, set_point, limit, pump_heat, temp, ice, course):
    """Run one pond through the hours of `weather`, filling `course`; returns the number of hours done.

    set_point: [degC] one for each hour, NaN where no heat is held; limit: [W] one for each hour; pump_heat: [W]; temp:
    [degC] and ice: [kg] at the start. It ends early where the water passes HOTTEST.
    """
    known = temp  # the vapour pressure of water that keeps its temperature need not be worked out again
    vapour, vapour_slope = saturation_curve(temp)
    for i in range(len(set_point)):
        moment = moment_at(weather, i)
        solar = solar_gain(moment, pond)
        gain = solar + pump_heat
        if some(temp != known):
            known = temp
            vapour, vapour_slope = saturation_curve(temp)
        target = set_point[i]
        if target != target:
            target = _NOT_HELD
        losses, slopes = losses_of_hour(temp, ice, vapour, vapour_slope, gain, target, limit[i], moment, pond)
        loss = total_loss(losses)
        start, before = temp, ice
        tilt = total_loss(slopes)
        temp, mean, ice, heat, kept = hour_step(start, ice, loss, tilt, gain, target, limit[i], pond.heat_capacity)
        away = mean - start
        share = 1.0
        if kept > 0.0:  # frozen through: nothing more leaves than comes in
            share = 1.0 - kept / (loss + tilt * away)
        course.start[i] = start
        course.mean[i] = mean
        course.end[i] = temp
        course.ice[i] = ice
        course.heater[i] = heat
        course.solar[i] = solar
        course.stored[i] = (pond.heat_capacity * (temp - start) - _FUSION * (ice - before)) / HOUR
        course.evaporation[i] = share * (losses.evaporation + slopes.evaporation * away)
        course.convection[i] = share * (losses.convection + slopes.convection * away)
        course.long_wave[i] = share * (losses.long_wave + slopes.long_wave * away)
        course.walls[i] = share * (losses.walls + slopes.walls * away)
        course.ground[i] = share * (losses.ground + slopes.ground * away)
        course.falling_water[i] = share * (losses.falling_water + slopes.falling_water * away)
        course.casing[i] = share * (losses.casing + slopes.casing * away)
        course.aeration[i] = share * (losses.aeration + slopes.aeration * away)
        course.water_change[i] = share * (losses.water_change + slopes.water_change * away)
        if temp > HOTTEST:
            return i + 1
    return len(set_point)


class Schedule(NamedTuple):
    """What all scenarios share, hour by hour: set_point [degC] (NaN: no heat), limit and pump_limit of the heater [W],
    counted (1 where the hour is summed), weights and backup_weights (kinds, hours) by which its heat is multiplied, up
    to pump_limit and above it; pump_heat [W]."""

    set_point: Any
    limit: Any
    pump_limit: Any
    counted: Any
    weights: Any
    backup_weights: Any
    pump_heat: Any


@formula
def run_scenario(weather, per_kelvin, skies, shift, pond, schedule, first, last, temp, ice, heat_sum, lowest, weighted):
    """Run hours first to last of one scenario, or of many as arrays, adding up its heat.

    skies: (formulae, hours) what each sky formula sends down above that of weather [W/m²]; shift: [K] by which the
    weather is warmer; temp, ice, heat_sum, lowest: the state so far; weighted: sums by weight, added to in place.
    Returns the state after the last hour.
    """
    known = temp
    vapour, vapour_slope = saturation_curve(temp)
    for i in range(first, last):
        moment = warmer_moment(
            moment_at(weather, i), moment_at(per_kelvin, i), shift, skies[pond.sky, i] + pond.sky_error
        )
        if some(temp != known):
            known = temp
            vapour, vapour_slope = saturation_curve(temp)
        target, limit = schedule.set_point[i], schedule.limit[i]
        if target != target:
            target = _NOT_HELD
        gain = solar_gain(moment, pond) + schedule.pump_heat
        losses, slopes = losses_of_hour(temp, ice, vapour, vapour_slope, gain, target, limit, moment, pond)
        loss, tilt = total_loss(losses), total_loss(slopes)
        temp, _, ice, heat, _ = hour_step(temp, ice, loss, tilt, gain, target, limit, pond.heat_capacity)
        temp = minimum(temp, HOTTEST)
        if schedule.counted[i] > 0.0:
            heat_sum = heat_sum + heat
            lowest = minimum(lowest, temp)
            by_pump = minimum(heat, schedule.pump_limit[i])
            for k in range(len(weighted)):
                weighted[k] += by_pump * schedule.weights[k, i] + (heat - by_pump) * schedule.backup_weights[k, i]
    return temp, ice, heat_sum, lowest


@formula
def run_scenarios(weather, per_kelvin, skies, shifts, ponds, schedule, start_temp, begin, end, heat, lowest, weighted):
    """Run scenarios begin to end through all hours, one after another, filling heat, lowest and weighted (scenario, k).

    shifts: [K] and ponds: `Coefficients`, arrays with one value for each scenario.
    """
    for s in range(begin, end):
        _, _, heat[s], lowest[s] = run_scenario(
            weather,
            per_kelvin,
            skies,
            shifts[s],
            pond_at(ponds, s),
            schedule,
            0,
            len(schedule.set_point),
            start_temp,
            0.0,
            0.0,
            1e9,
            weighted[s],
        )

"""Tariff scenarios: heat stored in the cheap hours, one flat rate for the whole house, solar panels."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis.assessment import is_short
from pondheat.analysis.results import BoundaryConditions, Season
from pondheat.analysis.scenarios.context import YEAR_HOURS, ScenarioContext, ScenarioResult, TwoRates, percent, priced
from pondheat.core import units
from pondheat.core.sources import Constant
from pondheat.fish.temperature import CUSTOMARY_RATE
from pondheat.season import thermal_storage

PERFORMANCE_RATIO = Constant(
    0.8, "dimensionless", "practice", "what panels give over sun × peak power; taken as lying flat (judgement)"
)
LEAST_DAYS = 14  # of a season; 1 K left in the water at its end is then a few per cent of the energy (judgement)
DAYS_AHEAD = 4  # days for which a warm spell is forecast, and for which stored warmth may last (judgement)
NO_COLDER = 0.005  # K below the mean as described; a colder band would save by heating less, not by storing heat


# --- heat storage --------------------------------------------------------------------------------------------


def stored_in_cheap_hours(context: ScenarioContext) -> ScenarioResult | str:
    """The thermostat raised in cheap hours and perhaps lowered in expensive ones: the cheapest safe setting.

    Of `thermal_storage.BANDS` only those count that keep the water as warm on average, leave the heater short and the
    ceiling exceeded in no more hours, and warm by no more than the customary 1 K a day (or than the sheet does as it
    is). Around days on which the heater is short, or the water near its ceiling, the set point is left as it is.
    """
    sheet, base, rates = context.sheet, context.base, context.rates
    if not sheet.is_heated:
        return "the sheet has no heating"
    if sheet.tariff is None:
        return "the sheet has no tariff"
    if rates is None:
        return "the tariff has the same rate at all hours"
    if sheet.heater.kind == "gas":
        return "gas costs the same at all hours"
    if base.heat_kwh == 0:
        return "the heater has nothing to do as it is"
    if context.days < LEAST_DAYS:
        return f"in fewer than {LEAST_DAYS} days the warmth left in the water at the end would decide"
    if _excluded_hours(context).all():
        return "the heater can't keep up, or the water is near its ceiling, around every day"
    allowed = max(CUSTOMARY_RATE.value, _fastest_rise(context, base))
    safe = []
    for band in thermal_storage.BANDS:
        season, conditions = _run(context, rates, band)
        warm_enough = season.hours["water_temp"].mean() >= base.hours["water_temp"].mean() - NO_COLDER
        worse = season.short_hours > base.short_hours or (season.above_ceiling_hours or 0) > (
            base.above_ceiling_hours or 0
        )
        if warm_enough and not worse and _fastest_rise(context, season) <= allowed:
            safe.append((priced(season), band, season, conditions))
    if not safe:
        return "no setting that was tried keeps the water as warm, below its ceiling and rising by at most [1 K] a day"
    _, band, season, conditions = min(safe, key=lambda one: one[0])
    note = _storage_note(context, rates, band, season, len(safe))
    return ScenarioResult(sheet, season, (note,), as_warm=band.below == 0, conditions=conditions)


def _fastest_rise(context: ScenarioContext, season: Season) -> float:
    """Fastest rise of the water within a day with the heater on [K], in hours that are not excluded."""
    heater = np.where(_excluded_hours(context), 0.0, season.hours["heater"])
    return thermal_storage.fastest_rise(season.hours["water_temp"].to_numpy(), heater)


def _run(context: ScenarioContext, rates: TwoRates, band: thermal_storage.Band) -> tuple[Season, BoundaryConditions]:
    """A season with the set point moved within a band, and its conditions.

    Short hours still count against the sheet's own set point, not against the raised one.
    """
    sheet, conditions = context.sheet, context.conditions
    counted = conditions.counted
    cheap, dear, excluded = np.zeros((3, len(counted)), bool)
    cheap[counted] = rates.timed & (rates.cheap > 0.5 + 1e-9)
    dear[counted] = rates.timed & ~cheap[counted]
    excluded[counted] = _excluded_hours(context)
    moved = thermal_storage.set_points(
        conditions.set_point, cheap & ~excluded, dear & ~excluded, band, sheet.floor, sheet.ceiling
    )
    moved_conditions = replace(conditions, set_point=moved)
    season = context.run(sheet, moved_conditions)
    short = _short_hours(context, season, np.minimum(conditions.set_point, moved))
    return replace(season, short_hours=int(short.sum())), moved_conditions


def _short_hours(context: ScenarioContext, season: Season, set_point: np.ndarray) -> np.ndarray:
    """True in hours in which the heater is short of a set point [degC]."""
    counted = context.conditions.counted
    limit = context.sheet.heater.limit(context.conditions.hours["air_temp"].to_numpy())[counted]
    return is_short(season.hours, limit, set_point[counted])


@functools.lru_cache(maxsize=1)  # asked for by every setting that is tried
def _excluded_hours(context: ScenarioContext) -> np.ndarray:
    """True in hours of days on which the set point must not be moved.

    These are the days on which the heater is short as it is and the day after, and the days on which the water as it
    is comes within a day's customary rise of the ceiling and the days before, while stored warmth would last.
    """
    day = context.index.tz_localize(None).normalize()
    one_day = pd.Timedelta(days=1)
    short = day[_short_hours(context, context.base, context.conditions.set_point)].unique()
    excluded = day.isin(short) | day.isin(short + one_day)
    if context.sheet.ceiling is not None:
        limit = context.sheet.ceiling - CUSTOMARY_RATE.value
        hot = day[context.base.hours["water_temp"].to_numpy() > limit].unique()
        ahead = [day.isin(hot - before * one_day) for before in range(DAYS_AHEAD + 1)]
        excluded = np.logical_or.reduce([excluded, *ahead])
    return np.asarray(excluded)


def _cheap_share(rates: TwoRates, season: Season) -> float:
    """Share of a season's electricity in cheap hours [–]."""
    electricity = season.hours["electricity"].to_numpy()
    return float(electricity @ rates.cheap / electricity.sum())


def lost_kwh(season: Season) -> float:
    """Heat loss of the water over a season by all routes [kWh]."""
    return sum(season.routes_kwh.values())


def _storage_note(
    context: ScenarioContext, rates: TwoRates, band: thermal_storage.Band, season: Season, safe: int
) -> str:
    """Note on a band: what it saves, how the energy moves, and how fast the water warms."""
    base, currency = context.base, context.sheet.currency
    money = context.base_money
    change = priced(season) - money
    if change < 0:
        share = f" ({percent(-change / money)})" if money > 0 else ""
        worth = f"it takes {units.money(-change, currency)} off {units.money(money, currency)}{share}"
    else:
        worth = f"it costs {units.money(change, currency)} more than it saves: better left alone"
    lower = f", [{band.below:g} K] lower in the expensive ones" if band.below else ", never lower in the expensive ones"
    days = round(_excluded_hours(context).sum() / 24)
    idle = (
        f" It is left alone on {days} days, around those when the heater can't keep up or the water is near its "
        "ceiling."
        if days
        else ""
    )
    extra = lost_kwh(season) - lost_kwh(base)
    warmer = season.hours["water_temp"].mean() - base.hours["water_temp"].mean()
    return (
        f"the best of {safe} safe setting{'s' if safe > 1 else ''}: set [{band.above:g} K] higher in the cheap hours"
        f"{lower}; {worth}. {percent(_cheap_share(rates, season))} of the kWh fall in cheap hours "
        f"({percent(_cheap_share(rates, base))} as it is). On average the water is [{max(warmer, 0.0):.2f} K] "
        f"warmer and loses {units.digits(abs(extra))} kWh {'more' if extra >= 0 else 'less'}. With the heater on "
        f"it rises by at most [{_fastest_rise(context, season):.2f} K] within a day "
        f"([{_fastest_rise(context, base):.2f} K] as it is; by custom at most [{CUSTOMARY_RATE.value:g} K]). "
        "The thermostat is moved at whole hours; one that is cheap for half or less counts as expensive."
        f"{idle}"
    )


# --- the whole house --------------------------------------------------------------------------------------------------


def on_a_flat_rate(context: ScenarioContext) -> ScenarioResult | str:
    """House and pond on one flat rate instead of the sheet's tariff.

    The money is the pond's on the flat rate plus what the house's own bill changes by.
    """
    sheet, inputs, rates = context.sheet, context.inputs, context.rates
    if sheet.tariff is None:
        return "the sheet has no tariff"
    if rates is None:
        return "the tariff has the same rate at all hours"
    house_kwh, cheap_share, flat_rate = inputs.house_kwh, inputs.house_cheap_share, inputs.flat_rate
    if house_kwh is None or cheap_share is None or flat_rate is None:
        missing = [
            words
            for words, value in (
                ("what the house takes in a year (house_kwh)", house_kwh),
                ("its share in the cheap hours (house_cheap_share)", cheap_share),
                ("the flat rate to compare with (flat_rate)", flat_rate),
            )
            if value is None
        ]
        return f"not given: {', '.join(missing)}"
    house = house_kwh * len(context.index) / YEAR_HOURS
    cheap = house * cheap_share
    house_now = cheap * rates.cheap_rate + (house - cheap) * rates.dear_rate
    house_flat = house * flat_rate
    electricity = context.base.hours["electricity"].to_numpy() / 1000
    pond_now, pond_flat = float(electricity @ context.rate), float(electricity.sum()) * flat_rate
    standing = 0.0
    if inputs.flat_standing_charge is not None:
        now = sheet.tariff.standing_charge * (1 + context.added_tax_rate)
        standing = (inputs.flat_standing_charge - now) * context.days
    money = context.base_money - pond_now + pond_flat + house_flat - house_now + standing
    currency = sheet.currency
    alike = (
        " Standing charges are assumed to be the same."
        if inputs.flat_standing_charge is None
        else f" The standing charge changes by {units.money(standing, currency)}, which is included in the difference."
    )
    whole = house + electricity.sum()
    cheap_now = (cheap + float(electricity @ rates.cheap)) / whole if whole else 0.0
    break_even = (rates.dear_rate - flat_rate) / (rates.dear_rate - rates.cheap_rate)
    turning = (
        f" Standing charges aside, both tariffs cost the same when {percent(break_even)} of all kWh fall in cheap "
        f"hours; here {percent(cheap_now)} do."
        if 0 <= break_even <= 1
        else ""
    )
    note = (
        f"pond: {units.money(pond_flat, currency)} instead of {units.money(pond_now, currency)} for electricity; "
        f"house over the same days, taken evenly over the year: {units.money(house_flat, currency)} instead of "
        f"{units.money(house_now, currency)}. The money is the pond's, with what the house's bill changes by."
        f"{alike}{turning}"
    )
    return ScenarioResult(sheet, context.base, (note,), money=money)


# --- solar panels -----------------------------------------------------------------------------------------------------


def fed_by_panels(context: ScenarioContext) -> ScenarioResult | str:
    """The pond fed by surplus solar power, hour by hour, each kWh priced at the export rate that is forgone."""
    sheet, inputs = context.sheet, context.inputs
    if sheet.tariff is None:
        return "the sheet has no tariff"
    export = inputs.export_rate if inputs.export_rate is not None else sheet.tariff.export_rate
    missing = []
    if inputs.solar_peak_kw is None and inputs.solar_kwh_per_day is None:
        missing.append("panels (solar_peak_kw, or solar_kwh_per_day sent back on an average day)")
    if export is None:
        missing.append("the price paid for a kWh sent back (export_rate)")
    if missing or export is None:
        return f"not given: {', '.join(missing)}"
    electricity = context.base.hours["electricity"].to_numpy() / 1000
    surplus, words = _surplus(context)
    own = np.minimum(electricity, surplus)
    bought_kwh, own_kwh = float((electricity - own).sum()), float(own.sum())
    if own_kwh == 0:
        return "no hour has both sun to spare and something to feed"
    gas = context.base_money - float(electricity @ context.rate)
    money = gas + float((electricity - own) @ context.rate) + own_kwh * export
    currency = sheet.currency
    note = (
        f"{words}. {units.digits(own_kwh)} of the {units.digits(own_kwh + bought_kwh)} kWh come from the panels. "
        f"Each counts with the {units.rate(export, currency)} it would have been sold for, "
        f"{units.money(own_kwh * export, currency)} in all: your own sun is not free while somebody pays for it. "
        "Their greenhouse gases count as none here, though what you no longer send back is made elsewhere. "
        "Matched hour by hour, which flatters a strong heater that runs in short bursts; what panels cost is left out."
    )
    return ScenarioResult(sheet, context.base, (note,), money=money, own_kwh=own_kwh)


def _surplus(context: ScenarioContext) -> tuple[np.ndarray, str]:
    """Surplus power of the panels in each hour [kWh], and how it was worked out, in words."""
    inputs = context.inputs
    sun = context.conditions.hours["solar"].to_numpy()[context.conditions.counted] / 1000
    if inputs.solar_kwh_per_day is not None:
        daily = float(context.record.hours["solar"].mean()) * 24 / 1000
        share = sun / daily if daily > 0 else np.zeros_like(sun)
        return inputs.solar_kwh_per_day * share, (
            f"{inputs.solar_kwh_per_day:g} kWh to spare on the mean day of the weather's span, shared out by its sun"
        )
    assert inputs.solar_peak_kw is not None
    made = inputs.solar_peak_kw * PERFORMANCE_RATIO.value * sun
    words = (
        f"{inputs.solar_peak_kw:g} kW of panels give {PERFORMANCE_RATIO.value:g} of their power times the sun on "
        "flat ground (judgement)"
    )
    if inputs.house_kwh is None:
        return made, f"{words}; what the house takes of it first was not given (house_kwh), so nothing is taken off"
    return np.maximum(made - inputs.house_kwh / YEAR_HOURS, 0.0), (
        f"{words}; the house, with its use spread evenly, comes first"
    )

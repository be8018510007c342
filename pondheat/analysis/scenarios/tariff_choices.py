"""Choices of tariff and hours: heat stored in the cheap hours, one flat rate for the whole house, one's own panels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.scenarios.context import YEAR_HOURS, Case, Outcome, TwoRates, percent
from pondheat.core import units
from pondheat.core.sources import Constant
from pondheat.fish.temperature import CUSTOMARY_RATE
from pondheat.season import thermal_storage

PERFORMANCE_RATIO = Constant(
    0.8, "dimensionless", "practice", "what panels give over sun × peak power; taken as lying flat (judgement)"
)
LEAST_DAYS = 14  # a kelvin left in the water is then a few per cent of what a pond takes (judgement)
DAYS_AHEAD = 4  # a warm spell is seen coming about so long, and stored warmth may last as long (judgement)
NO_COLDER = 0.005  # K; a band whose water is colder on average than this would save by heating less, not by storing


# --- the pond as a store ----------------------------------------------------------------------------------------------


def stored_in_cheap_hours(case: Case) -> Outcome | str:
    """The thermostat set higher in cheap hours and no more than a little lower in dear ones; the best of `store.BANDS`.

    Only bands that keep the water as warm on average, leave the heater short and the ceiling passed in no more hours,
    and warm by no more than the custom of 1 K a day (or than the sheet does as it is) are compared. About days on
    which the heater is short, or the water near its ceiling, the thermostat is left alone.
    """
    sheet, base, rates = case.sheet, case.base, case.rates
    if not sheet.is_heated:
        return "the sheet heats nothing"
    if sheet.tariff is None:
        return "the sheet has no tariff"
    if rates is None:
        return "the tariff has the same rate at all hours"
    if sheet.heater.kind == "gas":
        return "gas costs the same at all hours"
    if base.heat_kwh == 0:
        return "the heater has nothing to do as it is"
    if case.days < LEAST_DAYS:
        return f"in fewer than {LEAST_DAYS} days the warmth left in the water at the end would decide"
    if _left_alone(case).all():
        return "the heater is short, or the water near its ceiling, about every day"
    allowed = max(CUSTOMARY_RATE.value, _fastest(case, base))
    safe = []
    for band in thermal_storage.BANDS:
        season = _run(case, rates, band)
        warm_enough = season.hours["water_temp"].mean() >= base.hours["water_temp"].mean() - NO_COLDER
        worse = season.short_hours > base.short_hours or (season.above_ceiling_hours or 0) > (
            base.above_ceiling_hours or 0
        )
        if warm_enough and not worse and _fastest(case, season) <= allowed:
            safe.append((season.money, band, season))
    if not safe:
        return "no band that was tried keeps the water as warm, below its ceiling and rising by at most 1 K a day"
    money, band, season = min(safe, key=lambda one: one[0])
    return Outcome(sheet, season, (_store_note(case, rates, band, season, len(safe)),), as_warm=band.below == 0)


def _fastest(case: Case, season: assessment.Season) -> float:
    """The fastest rise within a day with the heater on [K], on days on which the thermostat may be moved."""
    heater = np.where(_left_alone(case), 0.0, season.hours["heater"])
    return thermal_storage.fastest_rise(season.hours["water_temp"].to_numpy(), heater)


def _run(case: Case, rates: TwoRates, band: thermal_storage.Band) -> assessment.Season:
    """A season in a band. Short is still measured against the sheet's set point, not against the higher one."""
    sheet, place = case.sheet, case.place
    cheap, dear = np.zeros((2, len(place.counted)), bool)
    cheap[place.counted] = rates.timed & (rates.cheap > 0.5 + 1e-9)
    dear[place.counted] = rates.timed & ~cheap[place.counted]
    alone = np.zeros(len(place.counted), bool)
    alone[place.counted] = _left_alone(case)
    cheap, dear = cheap & ~alone, dear & ~alone
    wanted = thermal_storage.set_points(place.set_point, cheap, dear, band, sheet.floor, sheet.ceiling)
    season = case.run(sheet, replace(place, set_point=wanted))
    short = _is_short(case, season, np.minimum(place.set_point, wanted))
    return replace(season, short_hours=int(short.sum()))


def _is_short(case: Case, season: assessment.Season, wanted: np.ndarray) -> np.ndarray:
    limit = case.sheet.heater.limit(case.place.hours["air_temp"].to_numpy())[case.place.counted]
    hours = season.hours
    return (
        (hours["heater"] >= limit - 1e-6) & (hours["water_temp"] < wanted[case.place.counted] - assessment.SHORT_BY)
    ).to_numpy()


def _left_alone(case: Case) -> np.ndarray:
    """True in hours of days on which the heater is short as it is and of the day after, and of days on which the water
    as it is comes within a day's custom of the ceiling and of the days before, while stored warmth would last."""
    day = case.index.tz_localize(None).normalize()
    one = pd.Timedelta(days=1)
    short = day[_is_short(case, case.base, case.place.set_point)].unique()
    alone = day.isin(short) | day.isin(short + one)
    if case.sheet.ceiling is not None:
        hot = day[case.base.hours["water_temp"].to_numpy() > case.sheet.ceiling - CUSTOMARY_RATE.value].unique()
        alone = np.logical_or.reduce([alone, *(day.isin(hot - before * one) for before in range(DAYS_AHEAD + 1))])
    return np.asarray(alone)


def _in_cheap_hours(rates: TwoRates, season: assessment.Season) -> float:
    taken = season.hours["electricity"].to_numpy()
    return float(taken @ rates.cheap / taken.sum())


def lost_kwh(season: assessment.Season) -> float:
    """Heat that left the water over a season by all ways [kWh]."""
    return sum(season.routes_kwh.values())


def _store_note(case: Case, rates: TwoRates, band: thermal_storage.Band, season: assessment.Season, tried: int) -> str:
    base, currency = case.base, case.sheet.currency
    change = season.money - base.money
    if change < 0:
        share = f" ({percent(-change / base.money)})" if base.money > 0 else ""
        worth = f"it takes {units.money(-change, currency)} off {units.money(base.money, currency)}{share}"
    else:
        worth = f"it costs {units.money(change, currency)} more than it saves: better left alone"
    lower = f", {band.below:g} K lower in the dear ones" if band.below else ", never lower in the dear ones"
    alone = round(_left_alone(case).sum() / 24)
    idle = (
        f" It is left alone on {alone} days, about those on which the heater is short or the water near its ceiling."
        if alone
        else ""
    )
    extra = lost_kwh(season) - lost_kwh(base)
    warmer = season.hours["water_temp"].mean() - base.hours["water_temp"].mean()
    return (
        f"the best of {tried} safe band{'s' if tried > 1 else ''}: set {band.above:g} K higher in the cheap hours"
        f"{lower}; {worth}. {percent(_in_cheap_hours(rates, season))} of the kWh fall in cheap hours "
        f"({percent(_in_cheap_hours(rates, base))} as it is). On average the water is {max(warmer, 0.0):.2f} K "
        f"warmer and loses {units.digits(abs(extra))} kWh {'more' if extra >= 0 else 'less'}. With the heater on "
        f"it rises by at most {_fastest(case, season):.2f} K within a day ({_fastest(case, base):.2f} K as it is; "
        f"by custom at most {CUSTOMARY_RATE.value:g} K). The thermostat is moved at whole hours; one that is cheap "
        f"for half or less counts as dear.{idle}"
    )


# --- the whole house --------------------------------------------------------------------------------------------------


def on_a_flat_rate(case: Case) -> Outcome | str:
    """The sheet's tariff against one flat rate, with what the house itself takes; the money is the pond's on the flat
    rate and what the house's own bill changes by."""
    sheet, asked, rates = case.sheet, case.asked, case.rates
    if sheet.tariff is None:
        return "the sheet has no tariff"
    if rates is None:
        return "the tariff has the same rate at all hours"
    lacking = [
        words
        for words, value in (
            ("what the house takes in a year (house_kwh)", asked.house_kwh),
            ("its share in the cheap hours (house_cheap_share)", asked.house_cheap_share),
            ("the flat rate to compare with (flat_rate)", asked.flat_rate),
        )
        if value is None
    ]
    if lacking:
        return f"not given: {', '.join(lacking)}"
    house = asked.house_kwh * len(case.index) / YEAR_HOURS
    cheap = house * asked.house_cheap_share
    house_now = cheap * rates.cheap_rate + (house - cheap) * rates.dear_rate
    house_flat = house * asked.flat_rate
    electricity = case.base.hours["electricity"].to_numpy() / 1000
    pond_now, pond_flat = float(electricity @ case.rate), float(electricity.sum()) * asked.flat_rate
    standing = 0.0
    if asked.flat_standing_charge is not None:
        now = sheet.tariff.standing_charge * (1 + case.base.cost.added_tax_rate)
        standing = (asked.flat_standing_charge - now) * case.days
    money = case.base.money - pond_now + pond_flat + house_flat - house_now + standing
    currency = sheet.currency
    alike = (
        " Standing charges are taken as alike."
        if asked.flat_standing_charge is None
        else (f" The standing charge changes by {units.money(standing, currency)}, which is in the difference.")
    )
    whole = house + electricity.sum()
    both = (cheap + float(electricity @ rates.cheap)) / whole if whole else 0.0
    spread = rates.dear_rate - rates.cheap_rate
    even = (rates.dear_rate - asked.flat_rate) / spread
    turning = (
        f" Standing charges aside, both tariffs cost the same when {percent(even)} of all kWh fall in cheap "
        f"hours; here {percent(both)} do."
        if 0 <= even <= 1
        else ""
    )
    return Outcome(
        sheet,
        case.base,
        (
            f"pond: {units.money(pond_flat, currency)} instead of {units.money(pond_now, currency)} for electricity; house "
            f"over the same days, taken evenly over the year: {units.money(house_flat, currency)} instead of "
            f"{units.money(house_now, currency)}. The money is the pond's, with what the house's bill changes by.{alike}"
            f"{turning}",
        ),
        money=money,
    )


# --- one's own panels -------------------------------------------------------------------------------------------------


def fed_by_panels(case: Case) -> Outcome | str:
    """Surplus of one's own panels, hour by hour, at the export price forgone: a kWh that is not sold is not free."""
    sheet, asked = case.sheet, case.asked
    if sheet.tariff is None:
        return "the sheet has no tariff"
    export = asked.export_rate if asked.export_rate is not None else sheet.tariff.export_rate
    lacking = []
    if asked.solar_peak_kw is None and asked.solar_kwh_per_day is None:
        lacking.append("panels (solar_peak_kw, or solar_kwh_per_day sent back on an average day)")
    if export is None:
        lacking.append("the price paid for a kWh sent back (export_rate)")
    if lacking:
        return f"not given: {', '.join(lacking)}"
    taken = case.base.hours["electricity"].to_numpy() / 1000
    surplus, words = _surplus(case)
    own = np.minimum(taken, surplus)
    bought_kwh, own_kwh = float((taken - own).sum()), float(own.sum())
    if own_kwh == 0:
        return "no hour has both sun to spare and something to feed"
    gas = case.base.money - float(taken @ case.rate)
    money = gas + float((taken - own) @ case.rate) + own_kwh * export
    currency = sheet.currency
    note = (
        f"{words}. {units.digits(own_kwh)} of the {units.digits(own_kwh + bought_kwh)} kWh come from the panels. "
        f"Each counts with the {units.rate(export, currency)} it would have been sold for, "
        f"{units.money(own_kwh * export, currency)} in all: your own sun is not free while somebody pays for it. "
        "Matched hour by hour, which flatters a strong heater that runs in short bursts; what panels cost is left out."
    )
    return Outcome(sheet, case.base, (note,), money=money)


def _surplus(case: Case) -> tuple[np.ndarray, str]:
    """What panels have to spare in each hour [kWh], and how that was taken."""
    asked = case.asked
    sun = case.place.hours["solar"].to_numpy()[case.place.counted] / 1000
    if asked.solar_kwh_per_day is not None:
        daily = float(case.record.hours["solar"].mean()) * 24 / 1000
        spread = sun / daily if daily > 0 else np.zeros_like(sun)
        return asked.solar_kwh_per_day * spread, (
            f"{asked.solar_kwh_per_day:g} kWh to spare on the mean day of the weather's span, shared out by its sun"
        )
    made = asked.solar_peak_kw * PERFORMANCE_RATIO.value * sun
    words = (
        f"{asked.solar_peak_kw:g} kW of panels give {PERFORMANCE_RATIO.value:g} of their power times the sun on "
        "flat ground (judgement)"
    )
    if asked.house_kwh is None:
        return made, f"{words}; what the house takes of it first was not given (house_kwh), so nothing is taken off"
    return np.maximum(made - asked.house_kwh / YEAR_HOURS, 0.0), f"{words}; the house, taken evenly, is served first"

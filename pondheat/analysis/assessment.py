"""One pond, one season, open and covered: heat, money, saving, payback and their uncertainty.

`assess(sheet)` gives the whole answer for a pond sheet; shell, panels and decision sheet all use it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pondheat.analysis.ground import ground_of
from pondheat.analysis.results import Assessment, BoundaryConditions, Season, times_of
from pondheat.analysis.uncertainty import (
    NOMINAL_WATER_TEMP,
    SCENARIOS,
    fetched_year_spread,
    input_per_heat,
    season_uncertainty,
)
from pondheat.core import units
from pondheat.core.ranges import OutOfRange
from pondheat.heat.balance import ROUTES
from pondheat.money import running_cost
from pondheat.season import schedule, simulate
from pondheat.season.weather import town_normals, town_weather, weather
from pondheat.season.weather.record import MEASURED, NORMALS
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

if TYPE_CHECKING:
    from pondheat.core.tables.read_log import Repair
    from pondheat.meter.fitting.pond_fit import Fitted

SHORT_SEASON = 120  # days; a shorter season says little about what a cover saves in a year (judgement)
SAME_HEMISPHERE = 10  # degrees of latitude within which the side of the equator does not decide the winter (judgement)
# K between the means of June to August and December to February beyond which one of them is a winter (judgement)
OTHER_SUMMER = 4.0
METER_START_TEMP = 15.0  # °C before the first metered hour where the sheet names none; has no effect after a few days
# Calendar year of a typical year where the sheet names no season: fixed, so that answers do not change with the date.
YEAR_WITHOUT_SEASON = 2025
IMPLAUSIBLE_LOAD = 1.5  # times the heater's full input: above it, a log has another unit or meter (judgement)
SHORTFALL = 0.1  # K below the set point from which a heater at its limit counts as short


def weather_source(chosen: str | Path) -> str:
    """A built-in weather name as given; a path made absolute, relative to the working directory, not the sheet."""
    if str(chosen).strip().lower() in weather.names():
        return str(chosen)
    path = Path(chosen)
    return str(path.resolve()) if weather.file_exists(path) else str(chosen)


def weather_of(sheet: Sheet, real_days: bool = False) -> Weather:
    """The weather that a sheet names: a built-in name, a file beside the sheet or at the given path, or its town's.

    real_days: for a town, whether to take the real days from `sheet.start` to `sheet.end` rather than its typical year.
    Raises `season.weather.record.WeatherError`.
    """
    source: str | Path = sheet.weather
    beside = sheet.folder / source
    if sheet.weather.lower() not in weather.names() and weather.file_exists(beside):
        source = beside
    year = sheet.start.year if sheet.start else YEAR_WITHOUT_SEASON
    if source == town_weather.SOURCE and sheet.town is not None:
        return town_weather.read(
            sheet.town,
            timezone=sheet.timezone,
            year=year,
            days=(sheet.start, sheet.end) if real_days and sheet.start and sheet.end else None,
            altitude=sheet.altitude,
            wind_height=sheet.wind_height,
            spread_seed=sheet.spread_seed,
            beside=sheet.folder,
        )
    return weather.read(
        source,
        timezone=sheet.timezone,
        year=year,
        latitude=sheet.latitude,
        longitude=sheet.longitude,
        altitude=sheet.altitude,
        wind_height=sheet.wind_height,
        spread_seed=sheet.spread_seed,
    )


def boundary_conditions(sheet: Sheet, record: Weather) -> BoundaryConditions:
    """Set point, cover hours, ground and mains temperature of a sheet for every hour of its season and spin-up.

    The spin-up is 60 days, or none where the sheet gives a start temperature. Raises OutOfRange for weather of the
    other hemisphere, `season.weather.record.WeatherError` for a season that the record does not cover.
    """
    _require_same_hemisphere(sheet, record)
    hours = _season_hours(record, sheet.start, sheet.end, 0 if sheet.start_temp is not None else 60).copy()
    index = times_of(hours)
    plan = sheet.cover_plan
    mains = None if sheet.mains_temp is None else np.asarray(sheet.mains_temp)[index.month.to_numpy() - 1]
    ground, note = ground_of(sheet, record, index, mains is not None)
    room = sheet.room or (None, None)
    air = simulate.air_of(hours, record.wind_height, ground, mains, *room)
    set_point = (
        schedule.values_by_date(index, list(sheet.set_point)) if sheet.set_point else np.full(len(index), np.nan)
    )
    covered = schedule.covered_share(index, plan.on, plan.off, plan.days, plan.exceptions)
    notes = (*hours.attrs.get("notes", ()), *([note] if note else ()))
    return BoundaryConditions(hours, air, set_point, covered, ~hours["spin_up"].to_numpy(), sheet.start_temp, notes)


def _require_same_hemisphere(sheet: Sheet, record: Weather) -> None:
    """Raise OutOfRange where a pond's weather is from the other half of the Earth, by its latitude or by its summer."""
    # twelve monthly means are the keeper's own: they say more about the place than a time zone left unchanged
    latitude = sheet.latitude if record.kind == NORMALS else sheet.rough_latitude
    if latitude is None or abs(latitude) <= SAME_HEMISPHERE:
        return
    there = record.latitude
    if there is not None and latitude * there < 0 and abs(there) > SAME_HEMISPHERE:
        found = f"its weather at {there:.0f}°"
    elif latitude * (warmer := _northern_summer(record)) < 0 and abs(warmer) > OTHER_SUMMER:
        found = f"but its weather is warmest in {'June' if warmer > 0 else 'December'} and the months after"
    else:
        return
    told = "" if sheet.latitude is not None else f", as its time zone {sheet.timezone} says"
    raise OutOfRange(
        f"The pond is at {latitude:.3g}°{told}, {found}: there it is winter when here it is summer. Give weather of "
        "your own half of the Earth: [weather] source, or --weather."
    )


@lru_cache(maxsize=4)
def _northern_summer(record: Weather) -> float:
    """How much warmer June to August are than December to February [K]; 0 where a month of them is hardly covered."""
    by_month = record.hours["air_temp"].groupby(times_of(record.hours).month)
    means = by_month.mean().where(by_month.size() >= 20 * 24).reindex(range(1, 13))
    difference = town_normals.northern_summer(means.to_numpy())
    return 0.0 if np.isnan(difference) else difference


@lru_cache(maxsize=4)  # a table of choices asks for the same season again and again
def _season_hours(record: Weather, start: date | None, end: date | None, spin_up_days: int) -> pd.DataFrame:
    return weather.season_hours(record, start, end, spin_up_days)


def run_season(sheet: Sheet, conditions: BoundaryConditions, covered: bool) -> Season:
    """One season of a sheet, simulated open or covered, and priced where the sheet has a tariff."""
    pond = sheet.pond if covered else replace(sheet.pond, cover=None)
    held, share = conditions.set_point, conditions.covered
    frame = simulate.simulate(
        pond,
        conditions.hours,
        conditions.air,
        set_point=held,
        heater=sheet.heater,
        covered=share,
        pump_power=sheet.pump_power,
        pump_heat=sheet.pump_heat,
        start_temp=conditions.initial_water_temp,
    )
    counted, target = conditions.counted, held[conditions.counted]
    frame = frame[counted]

    def heat_to_hold() -> np.ndarray:
        found = simulate.heat_to_hold(pond, conditions.air, set_point=held, covered=share, pump_heat=sheet.pump_heat)
        return found[counted]

    limit = sheet.heater.limit(conditions.hours["air_temp"].to_numpy())[counted]
    cost = None
    if sheet.tariff is not None:
        gas = frame["gas"] / 1000 if sheet.heater.kind == "gas" else None
        cost = running_cost.running_cost(frame["electricity"] / 1000, sheet.tariff, gas, sheet.gas_rate)
    floor, ceiling = sheet.floor, sheet.ceiling
    total = {name: float(watts) / 1000 for name, watts in frame.sum().items()}
    water, most_ice = frame["water_temp"], float(frame["ice"].max())
    return Season(
        hours=frame,
        heat_kwh=total["heater"],
        electricity_kwh=total["electricity"],
        gas_kwh=total["gas"],
        solar_kwh=total["solar"],
        routes_kwh={name: total[name] for name in ROUTES},
        heat_to_hold=heat_to_hold,
        short_hours=int(is_short(frame, limit, target).sum()),
        below_floor_hours=None if floor is None else int((water < floor).sum()),
        above_ceiling_hours=None if ceiling is None else int((water > ceiling).sum()),
        lowest_temp=float(water.min()),
        highest_temp=float(water.max()),
        most_ice_kg=most_ice,
        frozen_share=most_ice / pond.water_mass,
        cost=cost,
        co2_kg=sheet.emission_factors.of(total["electricity"], total["gas"]),
    )


def is_short(frame: pd.DataFrame, limit: np.ndarray, target: np.ndarray) -> np.ndarray:
    """True in hours with the heater at its limit [W], water over 0.1 K below the target [degC]; NaN: no heat held."""
    heater, water = frame["heater"].to_numpy(), frame["water_temp"].to_numpy()
    return (heater >= limit - 1e-6) & (water < target - SHORTFALL)


def assess(
    sheet: Sheet,
    record: Weather | None = None,
    scenarios: int | None = None,
    progress: Callable[[float], None] | None = None,
    fitted: Fitted | None = None,
) -> Assessment:
    """The assessment of a sheet: its season open and covered, saving, payback and uncertainty.

    record: weather already read, otherwise the sheet's own source; scenarios: number of Monte Carlo runs, 0 for none,
    None for the usual number; progress: called with the share done, 0–1; fitted: the fit to the pond's own meter
    (`learn`): the ranges and their medians are then those of the fitted pond, while the hours stay those of the sheet.
    Raises `season.weather.record.WeatherError`, OutOfRange, Unreadable.
    """
    record = record or weather_of(sheet)
    conditions = boundary_conditions(sheet, record)
    open_season = run_season(sheet, conditions, covered=False)
    covered_season = run_season(sheet, conditions, covered=True) if sheet.pond.cover else None
    saved = None
    if covered_season is not None and open_season.cost is not None and covered_season.cost is not None:
        saved = running_cost.saving(open_season.cost, covered_season.cost)
    uncertainty = None
    if count := SCENARIOS if scenarios is None else scenarios:
        uncertainty = season_uncertainty(
            sheet, conditions, count, record.kind, fitted, progress, record.wind_uncertainty
        )
    index = open_season.index
    notes = [*sheet.notes, *record.notes, *conditions.notes]
    if uncertainty is not None and (differed := fetched_year_spread(sheet)) is not None:
        notes.append(
            f"How mild the coming season is, is drawn from how the fetched years differed: ± [{differed:.1f} K]."
        )
    days = len(index) / 24
    if saved is not None and sheet.cover_plan.price is not None and days < SHORT_SEASON:
        span = "this one day" if round(days) == 1 else f"these {days:.0f} days"
        notes.append(f"Payback assumes that the saving of {span} is that of a whole year.")
    return Assessment(
        sheet,
        record,
        index[0].date(),
        index[-1].date(),
        open_season,
        covered_season,
        saved,
        uncertainty,
        tuple(notes),
        fitted,
    )


def learn(
    sheet: Sheet,
    use: pd.DataFrame,
    record: Weather | None = None,
    pump_on_meter: bool = False,
    repairs: Iterable[Repair] = (),
) -> Fitted:
    """A fit of the sheet's pond to the readings of its meter.

    use: readings as `meter.reading.meter_file.read` gives them (indexed by start; kwh, hours, perhaps water_temp);
    record: weather of those days, otherwise the sheet's own source; pump_on_meter: whether the sheet's pump is on the
    same meter as the heater; repairs: those made in the file, listed first among the fit's sentences. Raises
    `pond_fit.InsufficientReadings` where the readings do not suffice, OutOfRange (also for a log above what the
    heater can draw),
    `season.weather.record.WeatherError`.
    """
    from pondheat.meter.fitting import pond_fit  # here: its linear algebra takes a while to load
    from pondheat.meter.reading import spikes

    index = times_of(use)
    days = replace(
        sheet,
        start=index[0].date(),
        end=index[-1].date(),
        start_temp=METER_START_TEMP if sheet.start_temp is None else sheet.start_temp,
    )
    record = record or weather_of(days, real_days=True)
    if record.kind == MEASURED:  # the whole record: the fit drops readings without weather
        days = replace(days, start=None, end=None)
    conditions = boundary_conditions(days, record)
    if np.isnan(conditions.set_point).all() or sheet.heater.kind == "none":
        raise OutOfRange(
            "The sheet has no heating, so its meter says nothing about its losses: give pond.set_point and heater."
        )
    most = largest_draw(sheet, conditions, pump_on_meter)
    _reject_implausible_load(use, most)
    use, spikes_told = spikes.set_aside(use, 1000 * most)
    fitted = pond_fit.fit(
        use,
        pond_fit.Conditions(
            sheet.pond,
            conditions.index,
            conditions.air,
            conditions.set_point,
            conditions.covered,
            sheet.heater.limit(conditions.hours["air_temp"].to_numpy()),
            sheet.pump_heat,
            sheet.pump_power if pump_on_meter else 0.0,
            input_per_heat(conditions, sheet.heater).sum(axis=1),
        ),
    )
    notes = [f"In the meter file: {one.sentence}" for one in repairs]
    if spikes_told:
        notes.append(f"In the meter file: {spikes_told}")
    if record.kind != MEASURED and sheet.room is None:
        notes.append(
            f"This is only a trial: the weather ({record.place}) is not that of the metered days, so what "
            "was learned proves nothing about this pond. Give the weather of those days."
        )
    if sheet.pond.cover is not None and _every_night_covered(conditions, index):
        notes.append(
            "The sheet has the cover on in every metered night. Where it lay beside the pond in some of them, "
            "write their evenings under cover.except: else the cover is learned worse than it is."
        )
    return replace(fitted, sentences=(*notes, *fitted.sentences))


def largest_draw(sheet: Sheet, conditions: BoundaryConditions, pump_on_meter: bool) -> float:
    """The most that the sheet's heater, and its pump where it is on the same meter, can draw in this weather [kW]."""
    outdoor = conditions.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(conditions.set_point), NOMINAL_WATER_TEMP, conditions.set_point)
    electricity, gas = sheet.heater.taken(sheet.heater.limit(outdoor), water, outdoor)
    most = (electricity + gas).max() / 1000
    return float(most + sheet.pump_power / 1000 * pump_on_meter)


def _reject_implausible_load(use: pd.DataFrame, most: float) -> None:
    """Reject logs above what the heater can draw [kW]; a fit would only give wider ranges."""
    hours = float(use["hours"].sum())
    if (mean := float(use["kwh"].sum()) / max(hours, 1e-9)) > IMPLAUSIBLE_LOAD * most:
        raise OutOfRange(
            f"The meter file holds {units.significant(mean * hours)} kWh in {units.digits(hours)} hours, "
            f"{units.significant(mean)} kW on average: the sheet's heater takes at most {units.significant(most)} kW. "
            "Is the file in another unit, such as Wh or W, is it the meter of the whole house, or is the heater's "
            "power wrong?"
        )


def _every_night_covered(conditions: BoundaryConditions, index: pd.DatetimeIndex) -> bool:
    """Whether the cover is on for part of every whole metered day, noon to noon."""
    metered = (conditions.index >= index[0]) & (conditions.index <= index[-1])
    nights = (conditions.index[metered] - pd.Timedelta("12h")).normalize()
    by_night = pd.Series(conditions.covered[metered]).groupby(nights).agg(["max", "size"])
    whole = by_night[by_night["size"] >= 23]
    return bool(len(whole) and (whole["max"] > 0).all())

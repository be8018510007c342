"""One pond, one season, open and covered: heat, money, saving, payback, and how sure.

`assess(sheet)` is the whole answer for a pond sheet; the shell, the panels and the report all read it from here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pondheat.analysis.uncertainty import SCENARIOS, Band, Doubt, doubt, input_per_heat, meaning
from pondheat.core import units
from pondheat.core.ranges import OutOfRange
from pondheat.heat.balance import ROUTES, Air
from pondheat.money import payback, running_cost
from pondheat.money.running_cost import RunningCost, Saving
from pondheat.season import schedule, simulate
from pondheat.season.weather import weather
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

if TYPE_CHECKING:
    from pondheat.meter.fitting.pond_fit import Fitted
    from pondheat.meter.reading.read_log import Repair

SHORT_SEASON = 120  # days; a shorter span than this says little about what a cover saves in a year (judgement)
USUAL_START = 15.0  # °C before the first metered hour, where the sheet names none: forgotten within days
YEAR_WITHOUT_SEASON = (
    2025  # calendar of a typical year where the sheet names no season: fixed, so that answers do not age
)
WAYS = {  # ways of heat as pictures group them
    "evaporation": ("evaporation",),
    "convection": ("convection",),
    "long wave": ("long_wave",),
    "walls and floor": ("walls", "ground"),
    "filter, air, new water": ("falling_water", "casing", "aeration", "water_change"),
}
MOST_OVER = 1.5  # times what the heater can take: a log above that is of another unit or heater (judgement)
SHORT_BY = 0.1  # K below the set point, heater at its limit: the heater does not hold


@dataclass(frozen=True, eq=False)
class Season:
    """One season, open or covered. Hours without spin-up, sums in kWh, money where the sheet has a tariff.

    peak_kw: most heat one hour would need to hold the set point; worst_day_kw: the same for the mean of the worst 24
    hours on end; short_hours: hours in which the heater at its limit leaves the water more than 0.1 K short.
    """

    hours: pd.DataFrame
    heat_kwh: float
    electricity_kwh: float
    gas_kwh: float
    solar_kwh: float
    routes_kwh: dict[str, float]
    peak_kw: float
    worst_day_kw: float
    short_hours: int
    below_floor_hours: int | None
    above_ceiling_hours: int | None
    lowest_temp: float
    highest_temp: float
    most_ice_kg: float
    cost: RunningCost | None

    @property
    def money(self) -> float | None:
        """Price of the pond's energy with its tax, standing charge left out [money]; None without a tariff."""
        return None if self.cost is None else self.cost.energy_money * (1 + self.cost.added_tax_rate)


@dataclass(frozen=True, eq=False)
class Assessment:
    """The whole answer for one sheet."""

    sheet: Sheet
    weather: Weather
    first: dt.date
    last: dt.date
    open: Season
    covered: Season | None
    saving: Saving | None
    doubt: Doubt | None
    notes: tuple[str, ...]
    fitted: Fitted | None = None

    @property
    def as_described(self) -> Season:
        """The season as the sheet describes it: covered where it has a cover."""
        return self.covered or self.open

    @property
    def saving_kwh(self) -> float | None:
        """Electricity and gas that the cover saves [kWh]; None without a cover."""
        if self.covered is None:
            return None
        return self.open.electricity_kwh + self.open.gas_kwh - self.covered.electricity_kwh - self.covered.gas_kwh

    @property
    def payback_years(self) -> float | None:
        """Simple payback of the cover [year], inf for never; None where price or tariff is missing."""
        price = self.sheet.cover_plan.price
        if self.saving is None or price is None:
            return None
        return payback.simple_payback(price, self.saving.total)


@dataclass(frozen=True)
class BoundaryConditions:
    """Everything about a sheet in its weather that does not change between open and covered."""

    hours: pd.DataFrame
    air: Air
    set_point: np.ndarray
    covered: np.ndarray
    counted: np.ndarray
    start_temp: float | None
    notes: tuple[str, ...]


def weather_of(sheet: Sheet) -> Weather:
    """The weather a sheet names: a built-in name, or a file beside the sheet (or on the given path)."""
    source = sheet.weather
    beside = sheet.folder / source
    if source.lower() not in weather.names() and weather.exists(beside):
        source = beside
    year = sheet.start.year if sheet.start else YEAR_WITHOUT_SEASON
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


def setting(sheet: Sheet, record: Weather) -> BoundaryConditions:
    """Lay a sheet's calendar over its weather: set point, cover, ground and mains for every hour, spin-up included."""
    if (
        None not in (sheet.latitude, record.latitude)
        and sheet.latitude * record.latitude < 0
        and min(abs(sheet.latitude), abs(record.latitude)) > 10
    ):
        raise OutOfRange(
            f"The pond lies at {sheet.latitude:g}°, its weather at {record.latitude:.0f}°: there it is "
            "winter when here it is summer. Give weather of your own half of the Earth: [weather] source, "
            "or --weather."
        )
    hours = weather.season_hours(record, sheet.start, sheet.end, 0 if sheet.start_temp is not None else 60)
    index = hours.index
    plan = sheet.cover_plan
    mains = None if sheet.mains_temp is None else np.asarray(sheet.mains_temp)[index.month.to_numpy() - 1]
    notes = list(hours.attrs.get("notes", ()))
    ground = simulate.ground_temperature(record.hours)
    if len(record.hours) >= 300 * 24:  # the wave of the whole record, not of the season cut from it
        by_day = pd.Series(ground, index=record.hours.index.strftime("%m-%d %H")).groupby(level=0).mean()
        ground = by_day.reindex(index.strftime("%m-%d %H")).ffill().bfill().to_numpy()
    else:
        ground = np.full(len(index), ground.mean())
        if any(wall.against == "ground" for wall in sheet.pond.walls) or sheet.pond.water_change and mains is None:
            notes.append(
                "So short a record shows no yearly wave: ground and new water are taken at its mean air "
                f"temperature, {ground[0]:.1f} °C."
            )
    room = sheet.room or (None, None)
    air = simulate.air_of(hours, record.wind_height, ground, mains, *room)
    set_point = schedule.stepped(index, list(sheet.set_point)) if sheet.set_point else np.full(len(index), np.nan)
    covered = schedule.covered_share(index, plan.on, plan.off, plan.days, plan.exceptions)
    return BoundaryConditions(
        hours, air, set_point, covered, ~hours["spin_up"].to_numpy(), sheet.start_temp, tuple(notes)
    )


def run_season(sheet: Sheet, place: BoundaryConditions, covered: bool) -> Season:
    """Run one season of a sheet, open or covered, and price it."""
    pond = sheet.pond if covered else replace(sheet.pond, cover=None)
    frame, need = simulate.simulate_with_need(
        pond,
        place.hours,
        place.air,
        set_point=place.set_point,
        heater=sheet.heater,
        covered=place.covered,
        pump_power=sheet.pump_power,
        pump_heat=sheet.pump_heat,
        start_temp=_begin(place),
    )
    counted, target = place.counted, place.set_point[place.counted]
    frame, need = frame[counted], need[counted]
    limit = sheet.heater.limit(place.hours["air_temp"].to_numpy())[counted]
    cost = None
    if sheet.tariff is not None:
        gas = frame["gas"] / 1000 if sheet.heater.kind == "gas" else None
        cost = running_cost.running_cost(frame["electricity"] / 1000, sheet.tariff, gas, sheet.gas_rate)
    short = (frame["heater"] >= limit - 1e-6) & (frame["water_temp"] < target - SHORT_BY)
    days = np.convolve(need, np.ones(24) / 24, "valid") if len(need) >= 24 else need
    floor, ceiling = sheet.floor, sheet.ceiling
    total = frame.sum() / 1000
    return Season(
        frame,
        float(total["heater"]),
        float(total["electricity"]),
        float(total["gas"]),
        float(total["solar"]),
        {name: float(total[name]) for name in ROUTES},
        float(need.max()) / 1000,
        float(days.max()) / 1000,
        int(short.sum()) if not np.isnan(target).all() else 0,
        None if floor is None else int((frame["water_temp"] < floor).sum()),
        None if ceiling is None else int((frame["water_temp"] > ceiling).sum()),
        float(frame["water_temp"].min()),
        float(frame["water_temp"].max()),
        float(frame["ice"].max()),
        cost,
    )


def _begin(place: BoundaryConditions) -> float:
    """Water at the first hour [degC]: as the sheet says, as it is held, or as the first day's air, not below 0."""
    if place.start_temp is not None:
        return place.start_temp
    held = place.set_point[0]
    return max(float(place.hours["air_temp"].iloc[:24].mean()), 0.0) if np.isnan(held) else float(held)


def assess(
    sheet: Sheet, record: Weather | None = None, scenarios: int = SCENARIOS, progress=None, fitted: Fitted | None = None
) -> Assessment:
    """The whole answer for a sheet.

    record: weather already read; otherwise the sheet's own source is. scenarios: how many runs stand behind the bands,
    0 for none. progress: called with the share done. fitted: what the pond's own meter taught (`learn`): the bands, and
    their middles, are then of the pond as learned, while the hours are still those of the sheet. Raises
    `season.weather.record.WeatherFault`, OutOfRange, Unreadable.
    """
    record = record or weather_of(sheet)
    place = setting(sheet, record)
    bare = run_season(sheet, place, covered=False)
    lidded = run_season(sheet, place, covered=True) if sheet.pond.cover else None
    saved = None
    if lidded is not None and bare.cost is not None:
        saved = running_cost.saving(bare.cost, lidded.cost)
    seasons = {"open": bare} | ({"covered": lidded} if lidded else {})
    unsure = None
    if scenarios:
        unsure = doubt(sheet, place, seasons, _begin(place), scenarios, record.kind, fitted, progress)
    index = bare.hours.index
    notes = [*sheet.notes, *record.notes, *place.notes]
    days = len(index) / 24
    if saved is not None and sheet.cover_plan.price is not None and days < SHORT_SEASON:
        span = "this one day" if round(days) == 1 else f"these {days:.0f} days"
        notes.append(f"Payback takes the saving of {span} for that of a whole year.")
    return Assessment(
        sheet, record, index[0].date(), index[-1].date(), bare, lidded, saved, unsure, tuple(notes), fitted
    )


def learn(
    sheet: Sheet,
    use: pd.DataFrame,
    record: Weather | None = None,
    pump_on_meter: bool = False,
    repairs: Iterable[Repair] = (),
) -> Fitted:
    """What a meter teaches of the sheet's pond.

    use: readings as `meter.reading.meter_file.read` gives them (index: starts; kwh, hours, perhaps water_temp); record: the
    weather of those days, otherwise the sheet's own source. pump_on_meter: whether the sheet's pump stands on the same
    meter as the heater. repairs: what was mended in the file; it is said first. Raises `pond_fit.InsufficientReadings` where the readings
    do not suffice, OutOfRange, also for a log of more than the heater can take, `season.weather.record.WeatherFault`.
    """
    from pondheat.meter.fitting import pond_fit  # only here: its linear algebra takes a while to load

    days = replace(
        sheet,
        start=use.index[0].date(),
        end=use.index[-1].date(),
        start_temp=USUAL_START if sheet.start_temp is None else sheet.start_temp,
    )
    record = record or weather_of(days)
    if record.kind == MEASURED:  # whole: a log begins and ends when it likes, and what has no weather is cut
        days = replace(days, start=None, end=None)
    place = setting(days, record)
    if np.isnan(place.set_point).all() or sheet.heater.kind == "none":
        raise OutOfRange(
            "The sheet heats nothing, so its meter says nothing of its losses: give pond.set_point and heater."
        )
    _refuse_more_than_the_heater(sheet, place, use, pump_on_meter)
    fitted = pond_fit.fit(
        use,
        pond_fit.Conditions(
            sheet.pond,
            place.hours.index,
            place.air,
            place.set_point,
            place.covered,
            sheet.heater.limit(place.hours["air_temp"].to_numpy()),
            sheet.pump_heat,
            sheet.pump_power if pump_on_meter else 0.0,
            input_per_heat(place, sheet.heater).sum(axis=1),
        ),
    )
    said = [f"In the meter file: {one.sentence}" for one in repairs]
    if record.kind != MEASURED and sheet.room is None:
        said.append(
            f"This is for trying only: the weather ({record.place}) is not that of the metered days, so what "
            "was learned proves nothing of this pond. Give the weather of those days."
        )
    if sheet.pond.cover is not None and _every_night_covered(place, use.index):
        said.append(
            "The sheet has the cover on in every metered night. Where it lay beside the pond in some of them, "
            "write their evenings under cover.except: else the cover is learned worse than it is."
        )
    return replace(fitted, sentences=(*said, *fitted.sentences))


def _refuse_more_than_the_heater(
    sheet: Sheet, place: BoundaryConditions, use: pd.DataFrame, pump_on_meter: bool
) -> None:
    """A log of far more than the sheet's heater can take is no log of it; a fit would only widen its doubt in silence."""
    outdoor = place.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(place.set_point), 15.0, place.set_point)
    most = sum(sheet.heater.taken(sheet.heater.limit(outdoor), water, outdoor)).max() / 1000
    most += sheet.pump_power / 1000 * pump_on_meter
    hours = float(use["hours"].sum())
    if (mean := float(use["kwh"].sum()) / max(hours, 1e-9)) > MOST_OVER * most:
        raise OutOfRange(
            f"The meter file holds {units.significant(mean * hours)} kWh in {units.digits(hours)} hours, "
            f"{units.significant(mean)} kW on average: the sheet's heater takes at most {units.significant(most)} kW. "
            "Is the file's unit another, such as Wh or W, is it the meter of the whole house, or is heater.power wrong?"
        )


def _every_night_covered(place: BoundaryConditions, index: pd.DatetimeIndex) -> bool:
    """Whether the cover lies on for part of each whole day, noon to noon, of the metered time."""
    metered = (place.hours.index >= index[0]) & (place.hours.index <= index[-1])
    nights = (place.hours.index[metered] - pd.Timedelta("12h")).normalize()
    by_night = pd.Series(place.covered[metered]).groupby(nights).agg(["max", "size"])
    whole = by_night[by_night["size"] >= 23]
    return bool(len(whole) and (whole["max"] > 0).all())


# --- for other programs --------------------------------------------------------------------------------------------


def _number(value):
    if value is None or not np.isfinite(value):
        return None
    return float(value)


def _band(band: Band | None):
    return None if band is None else {"p10": _number(band.low), "p50": _number(band.middle), "p90": _number(band.high)}


def _season_dict(season: Season | None):
    if season is None:
        return None
    cost = season.cost
    return {
        "heat_kwh": season.heat_kwh,
        "electricity_kwh": season.electricity_kwh,
        "gas_kwh": season.gas_kwh,
        "money": _number(season.money),
        "tax": _number(season.money - cost.energy_money) if cost else None,
        "standing_charge": _number(cost.standing_charge) if cost else None,
        "by_rate": {}
        if cost is None
        else {str(k): {"kwh": float(r.kwh), "money": float(r.money)} for k, r in cost.by_rate.iterrows()},
        "by_month": _months(season),
        "routes_kwh": season.routes_kwh,
        "solar_kwh": season.solar_kwh,
        "pump_heat_kwh": float(season.hours["pump"].sum()) / 1000,
        "stored_kwh": float(season.hours["stored"].sum()) / 1000,
        "peak_kw": season.peak_kw,
        "worst_day_kw": season.worst_day_kw,
        "short_hours": season.short_hours,
        "below_floor_hours": season.below_floor_hours,
        "above_ceiling_hours": season.above_ceiling_hours,
        "lowest_water_temp": season.lowest_temp,
        "highest_water_temp": season.highest_temp,
        "most_ice_kg": season.most_ice_kg,
    }


def _months(season: Season) -> dict:
    if season.cost is not None:
        return {str(k): {"kwh": float(r.kwh), "money": float(r.money)} for k, r in season.cost.by_month.iterrows()}
    taken = (season.hours["electricity"] + season.hours["gas"]) / 1000
    return {k: {"kwh": float(v), "money": None} for k, v in taken.groupby(taken.index.strftime("%Y-%m")).sum().items()}


def as_dict(found: Assessment) -> dict:
    """The assessment as plain data for JSON; a payback that never comes is None."""
    sheet, plan = found.sheet, found.sheet.cover_plan
    saving = payback_part = None
    if found.covered is not None:
        saving = {
            "kwh": found.saving_kwh,
            "money": _number(found.saving.total) if found.saving else None,
            "share": _number(found.saving_kwh / (found.open.electricity_kwh + found.open.gas_kwh))
            if found.open.electricity_kwh + found.open.gas_kwh
            else None,
            "band": None
            if found.doubt is None
            else {"kwh": _band(found.doubt.saving_kwh), "money": _band(found.doubt.saving_money)},
        }
    if found.payback_years is not None:
        yearly = found.saving.total
        payback_part = {
            "years": _number(found.payback_years),
            "in_words": payback.in_words(found.payback_years),
            "discounted": _number(payback.discounted_payback(plan.price, yearly, sheet.discount_rate)),
            "present_value": None
            if plan.life is None
            else _number(payback.present_value(yearly, plan.life, sheet.discount_rate)),
            "net_present_value": None
            if plan.life is None
            else _number(payback.net_present_value(plan.price, yearly, plan.life, sheet.discount_rate)),
            "price": plan.price,
            "life": plan.life,
            "discount_rate": sheet.discount_rate,
            "band": None if found.doubt is None else _band(found.doubt.payback),
        }
    record = found.weather
    return {
        "sheet": {
            "name": sheet.name,
            "timezone": sheet.timezone,
            "currency": sheet.currency.code,
            "surface_area_m2": sheet.pond.surface_area,
            "volume_m3": sheet.pond.volume,
        },
        "weather": {
            "place": record.place,
            "kind": record.kind,
            "source": record.source,
            "latitude": record.latitude,
            "longitude": record.longitude,
            "altitude": record.altitude,
            "summary": weather.summary(record),
        },
        "season": {"start": found.first.isoformat(), "end": found.last.isoformat(), "hours": len(found.open.hours)},
        "open": _season_dict(found.open),
        "covered": _season_dict(found.covered),
        "saving": saving,
        "payback": payback_part,
        "doubt": None
        if found.doubt is None
        else {
            "scenarios": found.doubt.scenarios,
            "open_kwh": _band(found.doubt.open_kwh),
            "open_money": _band(found.doubt.open_money),
            "covered_kwh": _band(found.doubt.covered_kwh),
            "covered_money": _band(found.doubt.covered_money),
            "matters": [
                {"unknown": name, "share": share, "meaning": meaning(name, found.doubt.learned)}
                for name, share in found.doubt.matters
            ],
            "measure_first": [
                {
                    "unknown": one.unknown,
                    "share": one.share,
                    "meaning": one.meaning,
                    "of": one.of,
                    "low": one.low,
                    "middle": one.middle,
                    "high": one.high,
                    "money": one.money,
                    "overturns": one.overturns,
                    "within": one.within,
                    "how": one.how,
                }
                for one in found.doubt.measure_first
            ],
            "learned": found.doubt.learned,
        },
        "meter": None
        if found.fitted is None
        else {"days": len(found.fitted.days), "sentences": list(found.fitted.sentences)},
        "formulas": {
            "evaporation": sheet.pond.evaporation,
            "sky": sheet.pond.sky,
            "convection": "bowen ratio of the evaporation formula",
            "cop": sheet.heater.cop_formula if sheet.heater.kind == "heat pump" else None,
        },
        "notes": list(found.notes),
    }


def write_hours(found: Assessment, path: Path) -> None:
    """The season's hours as the sheet describes them, as CSV: time (ISO, start of the hour) and the columns of `simulate`."""
    frame = found.as_described.hours
    table = frame.round(4)
    table.insert(0, "time", [stamp.isoformat() for stamp in frame.index])
    table.to_csv(path, index=False)

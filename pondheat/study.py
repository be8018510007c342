"""One pond, one season, open and covered: heat, money, saving, payback, and how sure.

`assess(sheet)` is the whole answer for a pond sheet; the shell, the panels and the report all read it from here.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.heat.balance import ROUTES, Air, Pond
from pondheat.money import payback, running_cost
from pondheat.money.running_cost import RunningCost, Saving
from pondheat.ranges import OutOfRange
from pondheat.season import schedule, simulate, weather
from pondheat.season.heaters import Heater
from pondheat.season.spread import spread
from pondheat.season.weather import Weather
from pondheat.sheet import Sheet

# What is not known of a pond, as samples. Editors' judgement unless a source is named; each stands in the output.
SCENARIOS = 200
FORMULAS = ("ryan_harleman", "ryan_harleman", "ryan_harleman", "ryan_harleman", "smith_lof_jones", "penman_1956",
            "rafferty_boyd", "ashrae_quiet")
NEAR_SURFACE = {"smith_lof_jones": 0.4}  # measured with the wind close over the water: its wind over that at 2 m (judgement)
UNKNOWNS = {
    "evaporation": "which evaporation formula is right (the one made for heated ponds half of the time, four others the "
                   "rest, judgement)",
    "wind_shelter": "how much wind reaches the water (63–160 % of the sheet's shelter, at most all, judgement)",
    "sky_view": "how much open sky the water sees (± 0.15, judgement)",
    "u_value": "how well the cover keeps heat (U-value ± 15 %, judgement)",
    "gap_air_flow": "how much air leaks under the cover (a third to three times, judgement)",
    "wall_factor": "what walls and floor lose (± 20 %, as two published ground methods differ)",
}
SHORT_SEASON = 120  # days; a shorter span than this says little about what a cover saves in a year (judgement)
YEAR_WITHOUT_SEASON = 2025  # calendar of a typical year where the sheet names no season: fixed, so that answers do not age
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
class Band:
    """Tenth, middle and ninetieth of a hundred scenarios."""

    low: float
    middle: float
    high: float

    @classmethod
    def of(cls, values) -> Band:
        """The band of sampled values; infinities (never pays) count as such."""
        ordered = np.sort(np.asarray(values, float))
        return cls(*(float(ordered[round(q * (len(ordered) - 1))]) for q in (0.1, 0.5, 0.9)))


@dataclass(frozen=True, eq=False)
class Doubt:
    """Bands from scenario runs of what is taken (heater and pump), and the unknowns by the share of the spread that each
    explains (0–1), largest first."""

    scenarios: int
    open_kwh: Band
    open_money: Band | None
    covered_kwh: Band | None
    covered_money: Band | None
    saving_kwh: Band | None
    saving_money: Band | None
    payback: Band | None
    matters: tuple[tuple[str, float], ...]


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
class Setting:
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
    return weather.read(source, timezone=sheet.timezone, year=year, latitude=sheet.latitude, longitude=sheet.longitude,
                        altitude=sheet.altitude, wind_height=sheet.wind_height, spread_seed=sheet.spread_seed)


def setting(sheet: Sheet, record: Weather) -> Setting:
    """Lay a sheet's calendar over its weather: set point, cover, ground and mains for every hour, spin-up included."""
    if None not in (sheet.latitude, record.latitude) and sheet.latitude * record.latitude < 0 and min(
            abs(sheet.latitude), abs(record.latitude)) > 10:
        raise OutOfRange(f"The pond lies at {sheet.latitude:g}°, its weather at {record.latitude:.0f}°: there it is winter when "
                         "here it is summer. Give weather of your own half of the Earth: [weather] source, or --weather.")
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
            notes.append("So short a record shows no yearly wave: ground and new water are taken at its mean air "
                         f"temperature, {ground[0]:.1f} °C.")
    room = sheet.room or (None, None)
    air = simulate.air_of(hours, record.wind_height, ground, mains, *room)
    set_point = schedule.stepped(index, list(sheet.set_point)) if sheet.set_point else np.full(len(index), np.nan)
    covered = schedule.covered_share(index, plan.on, plan.off, plan.days, plan.exceptions)
    return Setting(hours, air, set_point, covered, ~hours["spin_up"].to_numpy(), sheet.start_temp,
                   tuple(notes))


def run_season(sheet: Sheet, place: Setting, covered: bool) -> Season:
    """Run one season of a sheet, open or covered, and price it."""
    pond = sheet.pond if covered else replace(sheet.pond, cover=None)
    frame, need = simulate.simulate_with_need(
        pond, place.hours, place.air, set_point=place.set_point, heater=sheet.heater, covered=place.covered,
        pump_power=sheet.pump_power, pump_heat=sheet.pump_heat, start_temp=_begin(place))
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
        frame, float(total["heater"]), float(total["electricity"]), float(total["gas"]), float(total["solar"]),
        {name: float(total[name]) for name in ROUTES}, float(need.max()) / 1000, float(days.max()) / 1000,
        int(short.sum()) if not np.isnan(target).all() else 0,
        None if floor is None else int((frame["water_temp"] < floor).sum()),
        None if ceiling is None else int((frame["water_temp"] > ceiling).sum()),
        float(frame["water_temp"].min()), float(frame["water_temp"].max()), float(frame["ice"].max()), cost)


def _begin(place: Setting) -> float:
    """Water at the first hour [degC]: as the sheet says, as it is held, or as the first day's air, not below 0."""
    if place.start_temp is not None:
        return place.start_temp
    held = place.set_point[0]
    return max(float(place.hours["air_temp"].iloc[:24].mean()), 0.0) if np.isnan(held) else float(held)


def assess(sheet: Sheet, record: Weather | None = None, scenarios: int = SCENARIOS, progress=None) -> Assessment:
    """The whole answer for a sheet.

    record: weather already read; otherwise the sheet's own source is. scenarios: how many runs stand behind the bands,
    0 for none. progress: called with the share done. Raises `weather_record.WeatherFault`, OutOfRange, Unreadable.
    """
    record = record or weather_of(sheet)
    place = setting(sheet, record)
    bare = run_season(sheet, place, covered=False)
    lidded = run_season(sheet, place, covered=True) if sheet.pond.cover else None
    saved = None
    if lidded is not None and bare.cost is not None:
        saved = running_cost.saving(bare.cost, lidded.cost)
    doubt = _doubt(sheet, place, bare, lidded, scenarios, progress) if scenarios else None
    index = bare.hours.index
    notes = [*sheet.notes, *record.notes, *place.notes]
    days = len(index) / 24
    if saved is not None and sheet.cover_plan.price is not None and days < SHORT_SEASON:
        notes.append(f"Payback takes the saving of these {days:.0f} days for that of a whole year.")
    return Assessment(sheet, record, index[0].date(), index[-1].date(), bare, lidded, saved, doubt, tuple(notes))


# --- how sure ------------------------------------------------------------------------------------------------------

def samples_of(pond: Pond, count: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Samples of what is not known of this pond, spread evenly (a Latin square), the same every time."""
    rng = np.random.default_rng(seed)

    def even():
        return (rng.permutation(count) + rng.random(count)) / count

    formulas = np.asarray(_formulas_for(pond))[(even() * len(FORMULAS)).astype(int)]
    shelter = np.minimum(pond.wind_shelter * 1.6 ** (2 * even() - 1), 1.0)
    made = {
        "evaporation": formulas,
        "wind_shelter": shelter * np.array([NEAR_SURFACE.get(name, 1.0) if name != pond.evaporation else 1.0
                                            for name in formulas]),
        "sky_view": np.clip(pond.sky_view - 0.15 + 0.3 * even(), 0.0, 1.0),
        "wall_factor": 0.8 + 0.4 * even(),
        "u_value": (pond.cover.u_value if pond.cover else 1.0) * (0.85 + 0.3 * even()),
        "gap_air_flow": (pond.cover.gap_air_flow if pond.cover else 0.0) * np.exp(np.log(1 / 3) + even() * np.log(9)),
    }
    unfelt = {"wind_shelter", "sky_view"} if pond.room else set()
    if not pond.cover or pond.cover.kind == "film":
        unfelt.add("u_value")
    if not pond.cover or not pond.cover.gap_air_flow:
        unfelt.add("gap_air_flow")
    return {name: values for name, values in made.items() if name not in unfelt}


def _formulas_for(pond: Pond) -> tuple[str, ...]:
    """The sheet's own formula in the place of the default, the other moderate ones beside it."""
    return tuple(pond.evaporation if name == FORMULAS[0] else name for name in FORMULAS)


def _per_heat(place: Setting, heater: Heater) -> np.ndarray:
    """What the heater itself takes for each watt of heat, hour by hour over the whole march, as (electricity, gas).

    For a heat pump that of the pump alone: its backup takes one for one, whatever the weather.
    """
    outdoor = place.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(place.set_point), 15.0, place.set_point)
    alone = replace(heater, backup=0.0, lowest_air_temp=-100.0) if heater.kind == "heat pump" else heater
    heat = np.maximum(np.minimum(alone.limit(outdoor), 1.0), 1e-9)
    electricity, gas = alone.taken(heat, water, outdoor)
    return np.column_stack([electricity / heat, gas / heat])


def _doubt(sheet: Sheet, place: Setting, bare: Season, lidded: Season | None, count: int, progress) -> Doubt | None:
    if np.isnan(place.set_point[place.counted]).all() or sheet.heater.kind == "none":
        return None
    samples = samples_of(sheet.pond, count)
    limit = sheet.heater.limit(place.hours["air_temp"].to_numpy())
    taken: dict[str, np.ndarray] = {}
    money: dict[str, np.ndarray] = {}
    for step, (name, season) in enumerate((("open", bare), ("covered", lidded))):
        if season is None:
            continue
        per_heat = _per_heat(place, sheet.heater)
        rate = np.zeros(len(per_heat))
        if sheet.tariff is not None:
            # a price file need not cover the days before the season
            counted = place.hours.index[place.counted]
            rate[place.counted] = sheet.tariff.rates(counted)[0] * (1 + season.cost.added_tax_rate)
        gas_rate = (sheet.gas_rate or 0.0) * (1 + season.cost.added_tax_rate if season.cost else 0.0)
        price = per_heat[:, 0] * rate + per_heat[:, 1] * gas_rate
        pump_limit, backup = None, ()
        if sheet.heater.kind == "heat pump":
            pump_limit = sheet.heater.heat_pump_limit(place.hours["air_temp"].to_numpy())
            backup = (np.ones(len(rate)), rate)
        pond = sheet.pond if name == "covered" else replace(sheet.pond, cover=None)
        used = samples if pond.cover else {k: v for k, v in samples.items() if k not in ("gap_air_flow", "u_value")}
        report = None if progress is None else lambda done, step=step: progress(
            (step + done) / (2 if lidded is not None else 1))
        runs = spread(pond, place.air, used, set_point=place.set_point, limit=limit, covered=place.covered,
                      gain=sheet.pump_heat, counted=place.counted, start_temp=_begin(place), progress=report, first=pump_limit,
                      weights=np.column_stack([per_heat.sum(axis=1), price, *backup]))
        pumped = sheet.pump_power / 1000 * place.counted
        taken[name] = runs.weighted_kwh[:, 0] + pumped.sum()
        money[name] = runs.weighted_kwh[:, 1] + (pumped * rate).sum()
    deciding = taken["open"]
    saving = saving_money = years = None
    if lidded is not None:
        deciding = taken["open"] - taken["covered"]
        saving = Band.of(deciding)
        if sheet.tariff is not None:
            deciding = money["open"] - money["covered"]
            saving_money = Band.of(deciding)
            if sheet.cover_plan.price is not None:
                years = Band.of(payback.simple_payback(sheet.cover_plan.price, deciding))
    priced = sheet.tariff is not None
    return Doubt(count, Band.of(taken["open"]), Band.of(money["open"]) if priced else None,
                 None if lidded is None else Band.of(taken["covered"]),
                 Band.of(money["covered"]) if priced and lidded is not None else None, saving, saving_money, years,
                 _what_matters(samples, deciding))


def _what_matters(samples: dict[str, np.ndarray], result: np.ndarray) -> tuple[tuple[str, float], ...]:
    """Share of the result's variance that each unknown explains on its own (means of its groups), largest first."""
    whole = result.var()
    if whole <= 0:
        return ()
    shares = []
    for name, values in samples.items():
        groups = pd.Series(values) if values.dtype.kind in "UO" else pd.qcut(pd.Series(values).rank(method="first"), 5)
        means = pd.Series(result).groupby(np.asarray(groups.astype(str))).transform("mean")
        shares.append((name, float(means.var(ddof=0) / whole)))
    return tuple(sorted(shares, key=lambda item: -item[1]))


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
        "heat_kwh": season.heat_kwh, "electricity_kwh": season.electricity_kwh, "gas_kwh": season.gas_kwh,
        "money": _number(season.money), "tax": _number(season.money - cost.energy_money) if cost else None,
        "standing_charge": _number(cost.standing_charge) if cost else None,
        "by_rate": {} if cost is None else {str(k): {"kwh": float(r.kwh), "money": float(r.money)}
                                            for k, r in cost.by_rate.iterrows()},
        "by_month": _months(season),
        "routes_kwh": season.routes_kwh, "solar_kwh": season.solar_kwh,
        "pump_heat_kwh": float(season.hours["pump"].sum()) / 1000,
        "stored_kwh": float(season.hours["stored"].sum()) / 1000,
        "peak_kw": season.peak_kw,
        "worst_day_kw": season.worst_day_kw, "short_hours": season.short_hours,
        "below_floor_hours": season.below_floor_hours, "above_ceiling_hours": season.above_ceiling_hours,
        "lowest_water_temp": season.lowest_temp, "highest_water_temp": season.highest_temp,
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
        saving = {"kwh": found.saving_kwh, "money": _number(found.saving.total) if found.saving else None,
                  "share": _number(found.saving_kwh / (found.open.electricity_kwh + found.open.gas_kwh))
                  if found.open.electricity_kwh + found.open.gas_kwh else None,
                  "band": None if found.doubt is None else {"kwh": _band(found.doubt.saving_kwh),
                                                            "money": _band(found.doubt.saving_money)}}
    if found.payback_years is not None:
        yearly = found.saving.total
        payback_part = {
            "years": _number(found.payback_years), "in_words": payback.in_words(found.payback_years),
            "discounted": _number(payback.discounted_payback(plan.price, yearly, sheet.discount_rate)),
            "present_value": None if plan.life is None else _number(
                payback.present_value(yearly, plan.life, sheet.discount_rate)),
            "net_present_value": None if plan.life is None else _number(
                payback.net_present_value(plan.price, yearly, plan.life, sheet.discount_rate)),
            "price": plan.price, "life": plan.life, "discount_rate": sheet.discount_rate,
            "band": None if found.doubt is None else _band(found.doubt.payback)}
    record = found.weather
    return {
        "sheet": {"name": sheet.name, "timezone": sheet.timezone, "currency": sheet.currency.code,
                  "surface_area_m2": sheet.pond.surface_area, "volume_m3": sheet.pond.volume},
        "weather": {"place": record.place, "kind": record.kind, "source": record.source, "latitude": record.latitude,
                    "longitude": record.longitude, "altitude": record.altitude, "summary": weather.summary(record)},
        "season": {"start": found.first.isoformat(), "end": found.last.isoformat(), "hours": len(found.open.hours)},
        "open": _season_dict(found.open), "covered": _season_dict(found.covered), "saving": saving,
        "payback": payback_part,
        "doubt": None if found.doubt is None else {
            "scenarios": found.doubt.scenarios, "open_kwh": _band(found.doubt.open_kwh),
            "open_money": _band(found.doubt.open_money), "covered_kwh": _band(found.doubt.covered_kwh),
            "covered_money": _band(found.doubt.covered_money),
            "matters": [{"unknown": name, "share": share, "meaning": UNKNOWNS[name]} for name, share in found.doubt.matters]},
        "formulas": {"evaporation": sheet.pond.evaporation, "sky": sheet.pond.sky,
                     "convection": "bowen ratio of the evaporation formula", "cop": sheet.heater.cop_formula
                     if sheet.heater.kind == "heat pump" else None},
        "notes": list(found.notes),
    }


def write_hours(found: Assessment, path: Path) -> None:
    """The season's hours as the sheet describes them, as CSV: time (ISO, start of the hour) and the columns of `simulate`."""
    frame = found.as_described.hours
    table = frame.round(4)
    table.insert(0, "time", [stamp.isoformat() for stamp in frame.index])
    table.to_csv(path, index=False)

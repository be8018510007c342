"""The keeper's choices: each changes something in a sheet, or says why that makes no sense for it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.results import Season
from pondheat.analysis.scenarios import cover_choices, tariff_choices
from pondheat.analysis.scenarios.context import (
    ScenarioContext,
    ScenarioResult,
    percent,
    start_of_hour_water_temp,
)
from pondheat.core import units
from pondheat.core.sources import Constant
from pondheat.heat.walls import MATERIALS
from pondheat.money.payback import simple_payback
from pondheat.season.heaters import FIELD_FACTOR, FIELD_HIGH, FIELD_LOW, Heater
from pondheat.sheet.pond_sheet import Sheet

ADDED_INSULATION = Constant(0.05, "m", "practice", "a usual board of EPS (judgement)")
ROOM_WARMER = Constant(2.0, "delta_degC", "practice", "an unheated shed over the day's mean outdoors (judgement)")
ROOM_HUMIDITY = Constant(0.8, "dimensionless", "practice", "air over open water in a closed shed is damp (judgement)")
GROUPS = ("no heat, and other temperatures", "covers", "building and water", "heaters", "tariff and hours")


@dataclass(frozen=True)
class Choice:
    """A scenario that a keeper can choose.

    words: the choice in words; group: one of GROUPS; attempt: gives its result for a context, or why it makes no sense.
    """

    words: str
    group: str
    attempt: Callable[[ScenarioContext], ScenarioResult | str]


def edited(
    change: Callable[[Sheet], Sheet | str], note: Callable[[ScenarioContext, Sheet], str] | None = None
) -> Callable[[ScenarioContext], ScenarioResult | str]:
    """An `attempt` that changes the sheet.

    change: gives the new sheet, or a reason against it; note: on the result, from context and changed sheet.
    """

    def attempt(context: ScenarioContext) -> ScenarioResult | str:
        changed = change(context.sheet)
        if isinstance(changed, str):
            return changed
        notes = () if note is None else (note(context, changed),)
        if changed is context.sheet:
            return ScenarioResult(changed, context.base, notes)
        same_calendar = changed.set_point == context.sheet.set_point and changed.cover_plan == context.sheet.cover_plan
        conditions = context.conditions if same_calendar else assessment.boundary_conditions(changed, context.record)
        return ScenarioResult(changed, context.run(changed, conditions), notes, conditions=conditions)

    return attempt


# --- no heat, and other temperatures ----------------------------------------------------------------------------------


def _no_heat(sheet: Sheet) -> Sheet | str:
    return replace(sheet, set_point=()) if sheet.is_heated else "the sheet has no heating as it is"


def _held_at(temp: float) -> Callable[[Sheet], Sheet | str]:
    def change(sheet: Sheet) -> Sheet | str:
        if sheet.heater.kind == "none":
            return "the sheet has no heater"
        if {step for _, step in sheet.set_point} == {temp}:
            return "the sheet already asks for that"
        return replace(sheet, set_point=(((1, 1), temp),))

    return change


# --- building and water -----------------------------------------------------------------------------------------------


def _insulated_walls(sheet: Sheet) -> Sheet | str:
    resistance = ADDED_INSULATION.value / MATERIALS["EPS"].value
    if sheet.pond.constructions:
        return "the sheet doesn't say what the walls are"
    if not any(wall.against == "air" for wall in sheet.pond.walls):
        return "no wall is in the open air, where boards could be put on it"
    walls = tuple(wall.insulated(resistance) for wall in sheet.pond.walls)
    return replace(sheet, pond=replace(sheet.pond, walls=walls))


def _in_a_room(context: ScenarioContext) -> ScenarioResult | str:
    """The pond in a shed: no wind, no sky and no sun; the shed is not warmed by the pond."""
    if context.sheet.pond.room:
        return "the pond is already in one"
    outdoor = context.conditions.hours["air_temp"]
    humid = f"{percent(ROOM_HUMIDITY.value)} humid"
    if context.inputs.room_temp is None:
        room = outdoor.rolling(24, min_periods=1).mean().to_numpy() + ROOM_WARMER.value
        air = (
            f"[{ROOM_WARMER.value:g} K] warmer than the last 24 hours outdoors and {humid}, whatever the pond gives off"
        )
    else:
        room = np.full(len(outdoor), float(context.inputs.room_temp))
        air = f"[{context.inputs.room_temp:.3g} °C] and {humid} throughout, and what heats the room is not counted"
    sheet = replace(context.sheet, pond=replace(context.sheet.pond, room=True, shade=1.0))
    indoors = replace(
        context.conditions.air, air_temp=room, sky_long_wave=None, rel_humidity=np.full(len(room), ROOM_HUMIDITY.value)
    )
    conditions = replace(context.conditions, air=indoors)
    return ScenarioResult(
        sheet,
        context.run(sheet, conditions),
        (
            f"a crude guess: no wind, no sky, no sun; its air assumed to be {air} (judgement). A room this damp "
            "needs airing.",
        ),
        conditions=conditions,
    )


def _water_changed(factor: float) -> Callable[[Sheet], Sheet | str]:
    def change(sheet: Sheet) -> Sheet | str:
        if not sheet.pond.water_change:
            return "the sheet changes no water"
        return replace(sheet, pond=replace(sheet.pond, water_change=factor * sheet.pond.water_change))

    return change


def _water_note(context: ScenarioContext, changed: Sheet) -> str:
    litres = units.significant(changed.pond.water_change * 86_400_000, 2)  # m³/s to litres a day
    new = f"[{litres} L] of new water a day; " if changed.pond.water_change else ""
    return f"{new}what the fish need is for your water tests to say, not for the heating bill."


# --- heaters ----------------------------------------------------------------------------------------------------------


def _heat_pump(context: ScenarioContext) -> ScenarioResult | str:
    """A heat pump of the heater's power, and its energy by the COP that field trials found."""
    sheet, conditions = context.sheet, context.conditions
    if not sheet.is_heated:
        return "the sheet has no heating"
    if sheet.heater.kind == "heat pump":
        return "the sheet has one already"
    inputs = context.inputs
    backup = 1000 * (inputs.heat_pump_backup_kw or 0.0)
    heater = Heater("heat pump", sheet.heater.power, backup=backup, cop_factor=FIELD_FACTOR.value)
    changed = replace(sheet, heater=heater)
    season = context.run(changed, conditions)
    frame = season.hours
    water = (start_of_hour_water_temp(season) + frame["water_temp"].to_numpy()) / 2
    outdoor = conditions.hours["air_temp"].to_numpy()[conditions.counted]
    variants = [replace(heater, cop_factor=factor.value) for factor in (FIELD_LOW, FIELD_HIGH)]
    heat = frame["heater"].to_numpy()
    hourly = [(one.taken(heat, water, outdoor)[0] + changed.pump_power) / 1000 for one in variants]
    energy = [float(kwh.sum()) for kwh in hourly]
    money = None if season.money is None else [float(kwh @ context.rate) for kwh in hourly]
    alone = season.electricity_kwh - changed.pump_power * len(frame) / 1000
    cop = f"gives {season.heat_kwh / alone:.1f} kWh of heat for each kWh; " if alone > 0 else ""
    span = f"{units.digits(min(energy))} to {units.digits(max(energy))} kWh"
    if money is not None:
        span += f", {units.money(min(money), sheet.currency)} to {units.money(max(money), sheet.currency)}"
    note = (
        f"{cop}its COP follows the air hour by hour, {percent(FIELD_FACTOR.value)} of the laboratory's "
        f"({heater.cop_formula}, with fan and defrosting), as field trials found, for standby and short runs. "
        f"As strong as the sheet's heater at [{heater.rated_air_temp:.3g} °C], weaker in colder air, off below "
        f"[{units.digits(heater.lowest_air_temp)} °C]. From {percent(FIELD_LOW.value)} to {percent(FIELD_HIGH.value)} "
        f"of the laboratory's COP, the range of field trials, makes it {span}."
    )
    missing = (context.base.hours["heater"].to_numpy() - heater.limit(outdoor)).max() / 1000
    short: tuple[str, ...] = ()
    if season.short_hours > context.base.short_hours:
        short = (
            "In its coldest hours the pump gives less than the pond needs: without a backup heater of about "
            f"{units.significant(missing, 2)} kW more it is no substitute (heat_pump_backup_kw).",
        )
    return ScenarioResult(
        changed,
        season,
        (_machine_price(context, season), *short, note),
        energy_range=(min(energy), max(energy)),
        money_range=None if money is None else (min(money), max(money)),
        conditions=conditions,
        price_missing=inputs.heat_pump_price is None,
    )


def _machine_price(context: ScenarioContext, season: Season) -> str:
    """What the machine's price means for the row, or that it is missing."""
    price, sheet = context.inputs.heat_pump_price, context.sheet
    if price is None:
        return (
            "the running cost only. The price of the machine and its fitting is missing, so this is no saving yet: "
            "give heat_pump_price (on page 16: “Price of a heat pump, fitted”)."
        )
    bought = f"bought for {units.money(price, sheet.currency)} fitted"
    if season.money is None:
        return f"{bought}; without a tariff no payback can be worked out."
    years = simple_payback(price, context.base_money - season.money)
    if math.isinf(years):
        return f"{bought} it never pays for itself here."
    return f"{bought} it takes {units.significant(years, 2)} such seasons to pay for itself."


def _half_as_strong(sheet: Sheet) -> Sheet | str:
    if not sheet.is_heated:
        return "the sheet has no heating"
    heater = sheet.heater
    return replace(sheet, heater=replace(heater, power=heater.power / 2, backup=heater.backup / 2))


HEAT, COVERS, BUILDING, HEATERS, HOURS = GROUPS
CHOICES: dict[str, Choice] = {
    "no_heat": Choice("no heat at all", HEAT, edited(_no_heat)),
    "floor_4": Choice("a floor: held at [4 °C]", HEAT, edited(_held_at(4.0))),
    "hold_15": Choice("held at [15 °C]", HEAT, edited(_held_at(15.0))),
    "hold_18": Choice("held at [18 °C]", HEAT, edited(_held_at(18.0))),
    "hold_22": Choice("held at [22 °C]", HEAT, edited(_held_at(22.0))),
    "cover_never": Choice("never covered", COVERS, edited(cover_choices.never_covered)),
    "cover_nights": Choice("covered at night", COVERS, edited(cover_choices.covered_at_night, cover_choices.hours_on)),
    "cover_cold_months": Choice("always covered in cold months", COVERS, cover_choices.covered_when_cold),
    "cover_always": Choice("covered day and night", COVERS, cover_choices.always_covered),
    "cover_lifted": Choice("covered but lifted for sun", COVERS, cover_choices.lifted_for_the_sun),
    "insulated_lid": Choice(
        "an insulated lid at night", COVERS, edited(cover_choices.insulated_lid, cover_choices.lid_note)
    ),
    "mesh_net": Choice("a mesh net while uncovered", COVERS, edited(cover_choices.under_a_net, cover_choices.net_note)),
    "insulated_walls": Choice(
        "50 mm more insulation on walls",
        BUILDING,
        edited(_insulated_walls, lambda context, changed: "of EPS, only on walls and floors in the open air."),
    ),
    "room": Choice("a shed round the pond", BUILDING, _in_a_room),
    "water_none": Choice("no water changes", BUILDING, edited(_water_changed(0.0), _water_note)),
    "water_half": Choice("half the water changes", BUILDING, edited(_water_changed(0.5), _water_note)),
    "water_double": Choice("twice the water changes", BUILDING, edited(_water_changed(2.0), _water_note)),
    "heat_pump": Choice("a heat pump instead", HEATERS, _heat_pump),
    "half_heater": Choice("a heater half as strong", HEATERS, edited(_half_as_strong)),
    "cheap_hours": Choice("heated more in the cheap hours", HOURS, tariff_choices.stored_in_cheap_hours),
    "flat_rate": Choice("house and pond on a flat rate", HOURS, tariff_choices.on_a_flat_rate),
    "own_panels": Choice("fed by your own panels", HOURS, tariff_choices.fed_by_panels),
}

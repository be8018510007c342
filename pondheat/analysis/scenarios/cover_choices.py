"""Cover scenarios: none, at night, in the cold months, always, lifted for the sun, or an insulated lid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pondheat.analysis.scenarios.context import ScenarioContext, ScenarioResult, percent, start_of_hour_water_temp
from pondheat.core import units
from pondheat.core.sources import Constant
from pondheat.heat import balance
from pondheat.heat.covers import Cover
from pondheat.season import schedule
from pondheat.sheet.defaults import LID_U_VALUE
from pondheat.sheet.pond_sheet import Sheet
from pondheat.sheet.unstated import default_leak

NET_OPEN_AREA = Constant(
    0.9, "dimensionless", "practice", "0.5 mm threads every 10 mm leave 90 % open; a leaf net of 20 mm leaves 95 %"
)
NIGHT = (18 * 60, 8 * 60)  # minutes of the clock, where a sheet names no hours: after the sun, before work (judgement)
COLD_MONTHS = (((11, 1), (3, 31)), ((5, 1), (9, 30)))  # north of the equator, south of it
COLD_MONTHS_TEXT = ("November to March", "May to September")


def never_covered(sheet: Sheet) -> Sheet | str:
    """The sheet without its cover, or why that changes nothing."""
    return replace(sheet, pond=replace(sheet.pond, cover=None)) if sheet.pond.cover else "the sheet has no cover"


def _with_nights(sheet: Sheet) -> Sheet:
    """The sheet with cover hours: its own, or the night where it has none or they are day and night."""
    plan = sheet.cover_plan
    if plan.on is not None and plan.on != plan.off:
        return sheet
    return replace(sheet, cover_plan=replace(plan, on=NIGHT[0], off=NIGHT[1]))


def covered_at_night(sheet: Sheet) -> Sheet | str:
    """The sheet with its cover on at its own hours, or at night where it is on day and night."""
    return _with_nights(sheet) if sheet.pond.cover else "the sheet has no cover"


def insulated_lid(sheet: Sheet) -> Sheet | str:
    """The sheet with an opaque lid of `LID_U_VALUE`, on at the hours of its cover, otherwise at night."""
    old = sheet.pond.cover or Cover(gap_air_flow=default_leak(sheet.pond.surface_area))
    if old.kind == "insulated lid" and old.u_value <= LID_U_VALUE.value:
        return "the sheet has a lid as good or better"
    lid = replace(old, kind="insulated lid", u_value=LID_U_VALUE.value, light=0.0)
    return replace(_with_nights(sheet), pond=replace(sheet.pond, cover=lid))


def under_a_net(sheet: Sheet) -> Sheet | str:
    """The sheet with a mesh net over the water while no cover is on it, or why that makes no sense."""
    if sheet.pond.net_open_area < 1:
        return "the sheet already has a net"
    if sheet.pond.room:
        return "the pond is in a room, where no leaves fall"
    return replace(sheet, pond=replace(sheet.pond, net_open_area=NET_OPEN_AREA.value))


def net_note(context: ScenarioContext, changed: Sheet) -> str:
    """Note: what the net is and does, and what it is for."""
    threads = percent(1 - changed.pond.net_open_area)
    when = "while the cover is off" if changed.pond.cover else "day and night"
    return (
        f"{when}, with threads over {threads} of it ({NET_OPEN_AREA.note}). A net keeps birds and leaves off; it "
        "shades, calms the wind and hides the sky by about as much, and hardly changes the heat. Keep it taut, clear "
        "of the water and of snow, so that no fish, bird or hedgehog is caught in it."
    )


def _clock(minutes: int | None) -> str:
    """A time of day, as in 18:00."""
    assert minutes is not None
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def hours_on(context: ScenarioContext, changed: Sheet) -> str:
    """Note: when the cover is on, and where those hours come from."""
    plan = changed.cover_plan
    whose = "as in the sheet" if plan is context.sheet.cover_plan else "taken as the night"
    return f"on from {_clock(plan.on)} to {_clock(plan.off)}, {whose}."


def lid_note(context: ScenarioContext, changed: Sheet) -> str:
    """Note: what was assumed for the lid."""
    return f"U {LID_U_VALUE.value:g} W/m²K ({LID_U_VALUE.note}); no light comes through; {hours_on(context, changed)}"


def _covered(context: ScenarioContext, share: np.ndarray, note: str) -> ScenarioResult:
    """The sheet's season with another share of each hour under the cover [–]."""
    conditions = replace(context.conditions, covered=share)
    return ScenarioResult(context.sheet, context.run(context.sheet, conditions), (note,), conditions=conditions)


def covered_when_cold(context: ScenarioContext) -> ScenarioResult | str:
    """Covered day and night in the cold months, and as the sheet says in the others."""
    if context.sheet.pond.cover is None:
        return "the sheet has no cover"
    always = schedule.covered_share(context.conditions.index, days=(COLD_MONTHS[context.south],))
    share = np.maximum(context.conditions.covered, always)
    if np.array_equal(share, context.conditions.covered):
        return "this changes nothing in the sheet's season"
    return _covered(
        context,
        share,
        f"day and night from {COLD_MONTHS_TEXT[context.south]}, no evening forgotten; as in the sheet in the other "
        "months.",
    )


def always_covered(context: ScenarioContext) -> ScenarioResult | str:
    """Covered day and night, no evening forgotten."""
    if context.sheet.pond.cover is None:
        return "the sheet has no cover"
    if (context.conditions.covered == 1).all():
        return "that is the sheet as it is"
    return _covered(context, np.ones(len(context.conditions.covered)), "on at all hours, no evening forgotten.")


def hours_to_lift(context: ScenarioContext, water_temp: np.ndarray) -> np.ndarray:
    """True in hours in which the open pond would lose less than the covered one, the sun's gain included.

    water_temp: at the start of each hour [degC].
    """
    prepared = [balance.prepare(context.sheet.pond, context.conditions.air, share) for share in (0.0, 1.0)]
    open_loss, covered_loss = (sum(balance.losses(one, water_temp)[0].values()) - one.solar_gain for one in prepared)
    return open_loss < covered_loss


def lifted_for_the_sun(context: ScenarioContext) -> ScenarioResult | str:
    """Covered day and night, except in hours in which the sun let in outweighs what lifting the cover loses."""
    if context.sheet.pond.cover is None:
        return "the sheet has no cover"
    counted = context.conditions.counted
    always = replace(context.conditions, covered=np.ones(len(counted)))
    never_lifted = context.run(context.sheet, always)
    water = np.full(len(counted), np.nan)
    water[counted] = start_of_hour_water_temp(never_lifted)
    lifted = hours_to_lift(context, np.nan_to_num(water, nan=15.0)) & counted
    if context.sheet.ceiling is not None:
        lifted &= ~(water >= context.sheet.ceiling)
    if not lifted.any():
        return "there is no hour in which the sun would bring more than lifting loses"
    hours = context.index[lifted[counted]]
    left_on = (
        f"; left on day and night it would take {units.digits(never_lifted.heat_kwh)} kWh of heat"
        if never_lifted.heat_kwh
        else ""
    )
    days = len(hours.tz_localize(None).normalize().unique())
    return _covered(
        context,
        np.where(lifted, 0.0, 1.0),
        f"off in {units.digits(len(hours))} hours on {days} days, and only when that hour's sun brings more than "
        f"lifting loses{left_on}. Nobody knows each hour in advance, so a keeper gets less of this.",
    )

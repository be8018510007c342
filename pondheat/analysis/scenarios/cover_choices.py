"""Choices of cover: none, at night, in the cold months, always, lifted for the sun, or an insulated lid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.scenarios.context import Case, Outcome, as_hours_begin
from pondheat.core import units
from pondheat.heat import balance
from pondheat.heat.covers import Cover
from pondheat.season import schedule
from pondheat.sheet.defaults import LID_U_VALUE
from pondheat.sheet.pond_sheet import Sheet

NIGHT = (18 * 60, 8 * 60)  # minutes of the clock, where a sheet names no hours: after the sun, before work (judgement)
COLD_MONTHS = (((11, 1), (3, 31)), ((5, 1), (9, 30)))  # north of the equator, south of it
COLD_MONTHS_WORDS = ("November to March", "May to September")


def never_covered(sheet: Sheet) -> Sheet | str:
    """No cover at all."""
    return replace(sheet, pond=replace(sheet.pond, cover=None)) if sheet.pond.cover else "the sheet has no cover"


def _with_nights(sheet: Sheet) -> Sheet:
    """The sheet with its cover's own hours; nights where those are day and night or there is no cover."""
    plan = sheet.cover_plan
    if plan.on is not None and plan.on != plan.off:
        return sheet
    return replace(sheet, cover_plan=replace(plan, on=NIGHT[0], off=NIGHT[1]))


def covered_at_night(sheet: Sheet) -> Sheet | str:
    """The cover at its own hours, or at night where it lies day and night."""
    return _with_nights(sheet) if sheet.pond.cover else "the sheet has no cover"


def insulated_lid(sheet: Sheet) -> Sheet | str:
    """A lid with `LID_U_VALUE` that lets no light through, at the hours of the cover, else at night."""
    old = sheet.pond.cover or Cover()
    if old.kind == "insulated lid" and old.u_value <= LID_U_VALUE.value:
        return "the sheet has a lid as good or better"
    lid = replace(old, kind="insulated lid", u_value=LID_U_VALUE.value, light=0.0)
    return replace(_with_nights(sheet), pond=replace(sheet.pond, cover=lid))


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def hours_on(case: Case, changed: Sheet) -> str:
    """When the cover lies on, and whose hours those are."""
    plan = changed.cover_plan
    whose = "as in the sheet" if plan is case.sheet.cover_plan else "taken as the night"
    return f"on from {_clock(plan.on)} to {_clock(plan.off)}, {whose}."


def lid_note(case: Case, changed: Sheet) -> str:
    """What was taken for the lid."""
    return f"U {LID_U_VALUE.value:g} W/m²K ({LID_U_VALUE.note}); no light comes through; {hours_on(case, changed)}"


def _covered(case: Case, share: np.ndarray) -> assessment.Season:
    return case.run(case.sheet, replace(case.place, covered=share))


def covered_when_cold(case: Case) -> Outcome | str:
    """Day and night in the cold months, as the sheet says in the others."""
    if case.sheet.pond.cover is None:
        return "the sheet has no cover"
    always = schedule.covered_share(case.place.hours.index, days=(COLD_MONTHS[case.south],))
    share = np.maximum(case.place.covered, always)
    if np.array_equal(share, case.place.covered):
        return "this changes nothing in the sheet's season"
    return Outcome(
        case.sheet,
        _covered(case, share),
        (
            f"day and night from {COLD_MONTHS_WORDS[case.south]}, no evening forgotten; as in the sheet in the other "
            "months.",
        ),
    )


def always_covered(case: Case) -> Outcome | str:
    """Day and night, no evening forgotten."""
    if case.sheet.pond.cover is None:
        return "the sheet has no cover"
    if (case.place.covered == 1).all():
        return "that is the sheet as it is"
    return Outcome(
        case.sheet, _covered(case, np.ones(len(case.place.covered))), ("on at all hours, no evening forgotten.",)
    )


def hours_to_lift(case: Case, water_temp: np.ndarray) -> np.ndarray:
    """Hours in which the open pond would come out better than the covered one, sun against loss, at that water."""
    open_, lidded = (balance.prepare(case.sheet.pond, case.place.air, share) for share in (0.0, 1.0))
    net = [sum(balance.losses(one, water_temp)[0].values()) - one.solar_gain for one in (open_, lidded)]
    return net[0] < net[1]


def lifted_for_the_sun(case: Case) -> Outcome | str:
    """Day and night, off in hours when the sun that is let in outweighs what lifting loses."""
    if case.sheet.pond.cover is None:
        return "the sheet has no cover"
    always = np.ones(len(case.place.covered))
    water = np.full(len(always), np.nan)
    season = _covered(case, always)
    water[case.place.counted] = as_hours_begin(season)
    lifted = hours_to_lift(case, np.nan_to_num(water, nan=15.0)) & case.place.counted
    if case.sheet.ceiling is not None:
        lifted &= ~(water >= case.sheet.ceiling)
    if not lifted.any():
        return "there is no hour in which the sun would bring more than lifting loses"
    gained = _covered(case, np.where(lifted, 0.0, 1.0))
    hours = case.index[lifted[case.place.counted]]
    left_on = (
        f"; left on day and night it would take {units.digits(season.heat_kwh)} kWh of heat" if season.heat_kwh else ""
    )
    days = len(hours.tz_localize(None).normalize().unique())
    return Outcome(
        case.sheet,
        gained,
        (
            f"off in {units.digits(len(hours))} hours on {days} days, and only when that hour's sun brings more than "
            f"lifting loses{left_on}. Nobody knows each hour in advance, so a keeper gets less of this.",
        ),
    )

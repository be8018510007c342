"""The handout: two pages to take home, worked out for one pond sheet and its weather.

First page: the four numbers that move a bill, degree-hours with the heat of each square metre, a form for readings.
Second page: two experiments for home.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import cast

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import BoundaryConditions, Season, month_names
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.heat.covers import Cover
from pondheat.lesson.questions import HEAT_OF_WATER
from pondheat.season.heaters import Heater
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.panels import about, about_difference
from pondheat.tutor.papers import paper

TEMPS = (12, 15, 18, 22)  # °C, columns of the degree-hour table
DEFAULT_SET_POINT = 18.0  # °C, for a sheet that names no temperature (judgement)
DEFAULT_NIGHT = (18 * 60, 8 * 60)  # minutes of the clock, for a sheet whose cover has no hours (judgement)
AMPLE_POWER = 3000.0  # W for each m²: a heater that always keeps up, since the table shows what the water needs
LATENT_HEAT = 2450.0  # J/g, as on the cards
BUCKET_DIAMETER = 0.276  # m, of the example
LEAD_RATIOS = (1.04, 1.06, 1.08, 1.10, 1.12, 1.14, 1.16, 1.18, 1.20)  # of the cool-down test
CAUTIONS = ("electricity", "children", "gas_exchange", "fish_disease")


def handout(sheet: Sheet, record: Weather | None = None, usual: DisplayUnits = METRIC) -> str:
    """The handout as an HTML file that prints on two sheets of paper.

    sheet: the pond; record: its weather, otherwise the sheet's own source is read; usual: units shown after °C and m³.
    Raises what `analysis.assessment.weather_of` and `analysis.assessment.boundary_conditions` raise.
    """
    record = record or assessment.weather_of(sheet)
    pond = _completed(sheet)
    conditions = assessment.boundary_conditions(pond, record)
    hours = _counted_hours(conditions)
    whole, steps = _four_numbers(pond, record)
    return paper(
        "handout.html",
        "Handout: the heat of a pond",
        display=usual,
        name=sheet.name,
        area=units.significant(pond.pond.surface_area),
        volume=units.significant(pond.pond.volume),
        place=record.place,
        span=f"{hours[0].day} {hours[0]:%B} to {hours[-1].day} {hours[-1]:%B}",
        whole=whole,
        steps=steps,
        temps=[f"[{temp} °C]" for temp in TEMPS],
        degree_hours=_degree_hours(conditions),
        heat=_heat_per_area(pond, record),
        likely=_likely_percent(pond, record),
        bucket_area=f"{math.pi / 4 * BUCKET_DIAMETER**2:.3f}",
        watts_per_gram=f"{LATENT_HEAT / 3600:.2f}",
        latent_heat=f"{LATENT_HEAT:.0f}",
        heat_of_water=f"{HEAT_OF_WATER:g}",
        logarithms=[
            ["difference ÷ difference", *(f"{ratio:.2f}" for ratio in LEAD_RATIOS)],
            ["its ln", *(f"{math.log(ratio):.3f}" for ratio in LEAD_RATIOS)],
        ],
        cautions=[cautions.CAUTIONS[key] for key in CAUTIONS],
        standing=cautions.STANDING,
    )


def _completed(sheet: Sheet) -> Sheet:
    """The sheet with a cover at night, a set point and an ample heater where it lacks them."""
    set_point = sheet.set_point
    if all(temp is None for _, temp in set_point):
        set_point = (((1, 1), DEFAULT_SET_POINT),)
    plan = sheet.cover_plan
    if plan.on is None or plan.on == plan.off:
        plan = replace(plan, on=DEFAULT_NIGHT[0], off=DEFAULT_NIGHT[1])
    pond = sheet.pond if sheet.pond.cover else replace(sheet.pond, cover=Cover())
    heater = sheet.heater if sheet.heater.kind != "none" else _ample_heater(sheet)
    return replace(sheet, pond=pond, set_point=set_point, cover_plan=plan, heater=heater)


def _ample_heater(sheet: Sheet) -> Heater:
    return Heater("resistance", AMPLE_POWER * sheet.pond.surface_area)


def _held_at(sheet: Sheet, temp: float) -> Sheet:
    """The sheet with one set point all season, an ample heater and no tariff."""
    return replace(sheet, set_point=(((1, 1), temp),), heater=_ample_heater(sheet), tariff=None)


def _run(sheet: Sheet, record: Weather, covered: bool = True) -> Season:
    return assessment.run_season(sheet, assessment.boundary_conditions(sheet, record), covered)


def _counted_hours(conditions: BoundaryConditions) -> pd.DatetimeIndex:
    """The hours of the season, without those of the spin-up."""
    return cast(pd.DatetimeIndex, conditions.hours.index[conditions.counted])


def _four_numbers(sheet: Sheet, record: Weather) -> tuple[str, list[list[str]]]:
    """What the season takes covered by night, and what one step of each of four numbers changes in it."""
    base, currency = _run(sheet, record), sheet.currency
    base_kwh = base.electricity_kwh + base.gas_kwh

    def change(season: Season) -> str:
        if season.money is None or base.money is None:
            more = season.electricity_kwh + season.gas_kwh - base_kwh
            return f"{'−' if more < 0 else '+'}{units.significant(abs(more), 2)} kWh"
        written = about_difference(season.money, base.money, currency)
        return written if written.startswith("−") else f"+{written}"

    warmer = replace(sheet, set_point=tuple((day, None if temp is None else temp + 1) for day, temp in sheet.set_point))
    sheltered = replace(sheet, pond=replace(sheet.pond, wind_shelter=sheet.pond.wind_shelter / 2))
    whole = f"{units.significant(base_kwh, 3)} kWh" + (
        "" if base.money is None else f", or {about(base.money, currency)}"
    )
    per_hundredth = about(base_kwh / 100, currency) if sheet.tariff else "kWh ÷ 100"
    return whole, [
        ["How warm", "[one degree] warmer", change(_run(warmer, record))],
        ["How long covered", "never covered, instead of covered by night", change(_run(sheet, record, covered=False))],
        ["How much wind reaches the water", "half as much: a hedge, a screen", change(_run(sheltered, record))],
        ["What a kWh costs, at which hours", f"one {currency.hundredth} more on every kWh", f"+{per_hundredth}"],
    ]


def _degree_hours(conditions: BoundaryConditions) -> list[list[str]]:
    """Rows of degree-hours [K·h] of each month and of the season, below each of TEMPS."""
    air = conditions.hours["air_temp"][conditions.counted]
    lack = pd.DataFrame({temp: np.maximum(temp - air, 0.0) for temp in TEMPS})
    months = lack.groupby(month_names(_counted_hours(conditions), "%Y-%m"), sort=False).sum()
    rows = [
        [f"{pd.Period(month).strftime('%B')}, K·h", *(units.digits(value) for value in row)]
        for month, row in zip(months.index, months.to_numpy())
    ]
    return [*rows, ["all of it, K·h", *(units.digits(value) for value in lack.sum())]]


def _heat_per_area(sheet: Sheet, record: Weather) -> list[list[str]]:
    """Rows of the heat that the water needs at each of TEMPS [kWh/m²], open and covered by night."""
    rows, plan = [], sheet.cover_plan
    assert plan.on is not None and plan.off is not None  # `_completed` has seen to it
    night = (plan.off - plan.on) % (24 * 60) / 60
    for label, covered in (
        ("open, kWh for each m²", False),
        (f"covered by night ({night:g} h), kWh for each m²", True),
    ):
        seasons = [_run(_held_at(sheet, float(temp)), record, covered) for temp in TEMPS]
        rows.append([label, *(units.significant(one.heat_kwh / sheet.pond.surface_area, 2) for one in seasons)])
    return rows


def _likely_percent(sheet: Sheet, record: Weather) -> tuple[str, str]:
    """P10 and P90 of the open pond's energy in per cent of its median, held at the default set point."""
    uncertainty = assessment.assess(_held_at(sheet, DEFAULT_SET_POINT), record).uncertainty
    assert uncertainty is not None  # a heated pond always has runs
    energy = uncertainty.open_kwh
    low, high = (units.significant(100 * end / energy.middle, 2) for end in (energy.low, energy.high))
    return low, high

"""The handout: two pages to take home, reckoned for one pond sheet and its weather.

First page: the four numbers that move a bill, a table of degree-hours with the heat of each square metre, a form for
readings. Second page: the two experiments for home.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import Season
from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.fish import cautions
from pondheat.heat.covers import Cover
from pondheat.lesson.questions import HEAT_OF_WATER
from pondheat.season.heaters import Heater
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.panels import about
from pondheat.tutor.page import blank, page, said, shortened, table

TEMPS = (12, 15, 18, 22)  # °C, columns of the degree-hour table
USUAL = 18.0  # °C, for a sheet that names no temperature (judgement)
NIGHT = (18 * 60, 8 * 60)  # minutes of the clock, for a sheet whose cover has no hours (judgement)
STRONG = 3000.0  # W for each m²: a heater that is never short, since the table asks what the water needs
LATENT = 2450.0  # J/g, as on the cards


def handout(sheet: Sheet, record: Weather | None = None, usual: Usual = METRIC) -> str:
    """The handout as an HTML page of two sheets of paper.

    sheet: the pond that the numbers are reckoned for; record: its weather, otherwise the sheet's own source is read;
    usual: what stands beside °C and m³.
    Raises what `analysis.assessment.weather_of` and `analysis.assessment.boundary_conditions` raise.
    """
    record = record or assessment.weather_of(sheet)
    own = _heated(sheet)
    body = f'<div class="sheet">{_first(own, sheet, record)}</div>\n<div class="sheet">{_second()}{_care()}</div>'
    return page("Handout: the heat of a pond", body, 9.5, usual)


def _heated(sheet: Sheet) -> Sheet:
    """The sheet with a cover for its nights, a temperature to hold and a heater strong enough, where it lacks them."""
    held = sheet.set_point if any(temp is not None for _, temp in sheet.set_point) else (((1, 1), USUAL),)
    plan = sheet.cover_plan
    if plan.on is None or plan.on == plan.off:
        plan = replace(plan, on=NIGHT[0], off=NIGHT[1])
    pond = sheet.pond if sheet.pond.cover else replace(sheet.pond, cover=Cover())
    heater = sheet.heater if sheet.heater.kind != "none" else Heater("resistance", STRONG * pond.surface_area)
    return replace(sheet, pond=pond, set_point=held, cover_plan=plan, heater=heater)


def _run(sheet: Sheet, record: Weather, covered: bool) -> Season:
    return assessment.run_season(sheet, assessment.boundary_conditions(sheet, record), covered)


def _first(sheet: Sheet, as_it_is: Sheet, record: Weather) -> str:
    pond, place = sheet.pond, assessment.boundary_conditions(sheet, record)
    hours = place.hours.index[place.counted]
    span = f"{hours[0].day} {hours[0]:%B} to {hours[-1].day} {hours[-1]:%B}"
    lead = (
        f"Reckoned for {shortened(as_it_is.name)}: {units.significant(pond.surface_area)} m² of surface, "
        f"{units.significant(pond.volume)} m³, in the weather of {shortened(record.place)}, {span}. Your own pond and your own "
        "weather differ; learn from it what matters, and do not carry the figures home as yours."
    )
    return (
        f"<h1>The heat of a pond</h1><p>{said(lead)}</p><h2>Four numbers move the bill</h2>{_four(sheet, record)}"
        f"<h2>Degree-hours, and the heat each square metre takes</h2>{_degree_hours(sheet, record, place)}"
        f"<h2>Readings</h2><p>The same hour each day; noon is good. Use = this counter − the last.</p>"
        + blank(
            ["date", "time", "counter, kWh", "use, kWh", "water, °C", "air, °C", "cover on last night? (from – to)"], 9
        )
    )


def _four(sheet: Sheet, record: Weather) -> str:
    """What one step of each of the four numbers does to a season, the pond covered by night."""
    now = _run(sheet, record, True)

    def told(season: Season) -> str:
        if now.money is None:
            more = season.electricity_kwh + season.gas_kwh - now.electricity_kwh - now.gas_kwh
            return f"{'−' if more < 0 else '+'}{units.significant(abs(more), 2)} kWh"
        more = season.money - now.money
        return f"{'' if more < 0 else '+'}{about(more, sheet.currency)}"

    warmer = replace(sheet, set_point=tuple((day, None if temp is None else temp + 1) for day, temp in sheet.set_point))
    sheltered = replace(sheet, pond=replace(sheet.pond, wind_shelter=sheet.pond.wind_shelter / 2))
    taken = now.electricity_kwh + now.gas_kwh
    whole = f"{units.digits(taken)} kWh" + ("" if now.money is None else f", {units.money(now.money, sheet.currency)}")
    penny = about(taken / 100, sheet.currency) if sheet.tariff else "kWh ÷ 100"
    rows = [
        ["How warm", "one degree warmer", told(_run(warmer, record, True))],
        ["How long covered", "never covered, instead of by night", told(_run(sheet, record, False))],
        ["How much wind reaches the water", "half as much: a hedge, a screen", told(_run(sheltered, record, True))],
        ["What a kWh costs, at which hours", f"one {sheet.currency.hundredth} more on every kWh", f"+{penny}"],
    ]
    return f"<p>As it is, covered by night, the season takes {said(whole)}.</p>" + table(
        ["the number", "one step", "over the season"], rows, "words"
    )


def _degree_hours(sheet: Sheet, record: Weather, place: assessment.BoundaryConditions) -> str:
    """By month: how cold it was below each temperature, in K·h; below, what one square metre of this pond takes."""
    air = place.hours["air_temp"][place.counted]
    lack = pd.DataFrame({temp: np.maximum(temp - air, 0.0) for temp in TEMPS})
    months = lack.groupby(lack.index.strftime("%Y-%m"), sort=False).sum()
    rows = [
        [f"{pd.Period(month).strftime('%B')}, K·h", *(units.digits(value) for value in row)]
        for month, row in zip(months.index, months.to_numpy())
    ]
    rows.append(["all of it, K·h", *(units.digits(value) for value in lack.sum())])
    strong = replace(sheet, heater=Heater("resistance", STRONG * sheet.pond.surface_area), tariff=None)
    for label, covered in (("open, kWh for each m²", False), ("covered by night, kWh for each m²", True)):
        held = [_run(replace(strong, set_point=(((1, 1), float(temp)),)), record, covered) for temp in TEMPS]
        rows.append([label, *(units.significant(season.heat_kwh / sheet.pond.surface_area, 2) for season in held)])
    doubt = assessment.assess(replace(strong, set_point=(((1, 1), USUAL),)), record).uncertainty
    low, high = (
        units.significant(100 * end / doubt.open_kwh.middle, 2) for end in (doubt.open_kwh.low, doubt.open_kwh.high)
    )
    return (
        table(["water held at", *(f"{temp} °C" for temp in TEMPS)], rows)
        + '<p class="small">kWh for each m² × your own m² × your price of a kWh is a first estimate for a pond like this one, '
        f"with a plain electric heater. Even for this pond it is likely to lie between {low} and {high} % of it. A heat "
        "pump takes about a third of it (judgement), less in mild weather, more in frost.</p>"
    )


def _second() -> str:
    """The two experiments, each half a sheet; the cards in the workbook say more."""
    watts = LATENT / 3600
    area = math.pi / 4 * 0.276**2
    ratios = (1.04, 1.06, 1.08, 1.10, 1.12, 1.14, 1.16, 1.18, 1.20)
    return (
        "<h1>Two experiments for home</h1><h2>Weigh the heat</h2>"
        "<p>Two buckets alike with the same amount of hand-warm water, a kitchen scale that shows single grams, a thermometer, "
        "cling film. No fish go into the buckets. Lay film right on the water of B; A stays open. Stand both outdoors in the "
        "shade, side by side. Dry the outsides; weigh and read every hour.</p>"
        + blank(["time", "A, open: g", "A: °C", "B, film: g", "B: °C", "air: °C"], 4)
        + f"<p>Area of the water: 0.785 × across × across, in metres (27.6 cm across: {area:.3f} m²). Grams lost "
        f"{_BOX} ÷ hours {_BOX} ÷ area {_BOX} = {_BOX} g from each m² in an hour; × {watts:.2f} = {_BOX} watts from each m² "
        f"(1 g takes {LATENT:.0f} joules). A bucket is not a pond: its rim keeps off wind.</p>"
        "<h2>Cool-down test</h2><p>Not when fish are ill or new, the water is already cool or frost is forecast. A still, dull "
        "evening after dark; heater off at its switch, pump and air on; cover as you always have it: on / off. One "
        "thermometer on a string in moving water, read to a tenth. Stop when the water has fallen by one degree, or after "
        "some six hours. Who switches the heater on again, and when? "
        + f"{_BOX}</p>"
        + blank(["", "clock", "water, °C", "air, °C", "lead: water − mean air, K"], 2)
        + f"<p>Heat for one degree = {HEAT_OF_WATER:g} × m³ = {_BOX} kWh/K. First lead ÷ second lead = {_BOX}, its ln = {_BOX}. "
        f"Heat for one degree × ln ÷ hours = {_BOX} <b>kW for each degree</b>. Times the degrees of the lead it is what the "
        "pond loses in that weather.</p>"
        + table(
            ["lead ÷ lead", *(f"{one:.2f}" for one in ratios)],
            [["its ln", *(f"{math.log(one):.3f}" for one in ratios)]],
        )
    )


_BOX = '<span class="box"></span>'


def _care() -> str:
    """The cautions that the two experiments and a winter under a cover need, and the standing one."""
    chosen = "".join(
        f"<p><b>{said(cautions.CAUTIONS[key].title)}:</b> {said(cautions.CAUTIONS[key].text)}</p>"
        for key in ("electricity", "children", "gas_exchange", "fish_disease")
    )
    return f'<div class="care small">{chosen}<p>{said(cautions.STANDING)}</p></div>'

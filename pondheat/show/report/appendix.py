"""The appendix of the decision sheet: the arithmetic of every number, the runs, weather, sources, the sheet itself."""

from __future__ import annotations

import math

from markupsafe import Markup

from pondheat.analysis.results import Assessment
from pondheat.core import units
from pondheat.core.display_units import METRIC
from pondheat.core.sources import cite
from pondheat.heat.balance import ROUTES
from pondheat.season.weather import weather
from pondheat.sheet.pond_sheet import KEYS, Sheet
from pondheat.show.report.energy_numbers import monthly_kwh, seasons_of
from pondheat.show.report.rendering import SHARED, render, with_visible_direction_marks
from pondheat.show.report.sheet_numbers import parsed
from pondheat.show.report.trace import Trace, step_value
from pondheat.text.season_tables import ROUTE_NAMES

LONGEST_VALUE = 80  # characters of a value in the list of keys
MONTHLY = (*ROUTES, "solar", "pump", "heater", "electricity", "gas")  # columns of the monthly tables, in order


def appendix(assessment: Assessment, trace: Trace) -> Markup:
    """The appendix as HTML; call it once all numbers of the first page are in `trace`."""
    sheet = assessment.sheet
    return render(
        SHARED,
        "appendix.html",
        sheet=sheet,
        assessment=assessment,
        derivations=trace.derivations,
        step_value=step_value,
        infinity=math.inf,
        longest_value=LONGEST_VALUE,
        uncertainty=assessment.uncertainty,
        runs=_runs(assessment),
        months=_months(assessment),
        weather_summary=METRIC.with_alt_units(weather.summary(assessment.weather)),
        notes=map(METRIC.with_alt_units, assessment.notes),
        keys=_keys(sheet),
        sources=[(key, cite(key)) for key in sorted(trace.sources)],
        sheet_text=with_visible_direction_marks(sheet.text),
    )


def _runs(assessment: Assessment) -> list[tuple[str, str, str, str, str]]:
    """A row for each unknown: meaning, share of the variance, answer at its low and high end, how to measure it."""
    if assessment.uncertainty is None:
        return []
    currency = assessment.sheet.currency

    def answer(value: float, is_money: bool) -> str:
        return units.money(value, currency) if is_money else f"{units.digits(value)} kWh"

    return [
        (
            METRIC.with_alt_units(one.meaning),
            f"{100 * one.share:.0f} %",
            answer(one.low, one.in_money),
            answer(one.high, one.in_money),
            one.how or "nobody can, in advance",
        )
        for one in assessment.uncertainty.measure_first
    ]


def _months(assessment: Assessment) -> dict[str, dict[str, object]]:
    """By name of season: heads and rows of a table of the heat and energy of each month [kWh]."""
    tables: dict[str, dict[str, object]] = {}
    for case, season in seasons_of(assessment).items():
        sums = monthly_kwh(season)
        columns = [name for name in MONTHLY if name in sums and sums[name].any()]
        tables[case] = {
            "heads": [ROUTE_NAMES.get(name, name) for name in columns],
            "rows": [(month, [units.digits(sums[name][month], 1) for name in columns]) for month in sums.index],
        }
    return tables


def _keys(sheet: Sheet) -> list[dict[str, object]]:
    """A row for each key that a sheet may have: its value if given, where that comes from, its meaning."""
    document, rows = parsed(sheet.text), []
    for group, keys in KEYS.items():
        given = document.get(group, {}) if group else document
        for part in given if isinstance(given, list) else [given]:
            for name, (_, meaning) in keys.items():
                key = f"{group}.{name}" if group else name
                has = isinstance(part, dict) and name in part
                state = "a default or guess" if key in sheet.assumed else "given" if has else "not given"
                rows.append({"key": key, "value": part[name] if has else None, "state": state, "meaning": meaning})
    return rows

"""Behind the first page: the arithmetic of every number, the runs, weather, sources, and the sheet as it was given."""

from __future__ import annotations

from pondheat.analysis.results import Assessment
from pondheat.core import toml_errors, units
from pondheat.core.sources import cite
from pondheat.heat.balance import ROUTES
from pondheat.season.weather import weather
from pondheat.sheet.pond_sheet import KEYS, Sheet
from pondheat.show.report.html_parts import clipped, name, said, table, verbatim
from pondheat.show.report.trace import Trace
from pondheat.text.summary import ROUTE_NAMES

LONGEST_VALUE = 80  # characters of a value in the list of keys


def appendix(sheet: Sheet, found: Assessment, trace: Trace) -> str:
    """Everything behind the first page; call it when all its numbers are written."""
    parts = [
        ("Arithmetic", _arithmetic(trace)),
        ("How a season is reckoned", _formulas(sheet, found)),
        ("The runs", _runs(found)),
        ("Months", _months(found)),
        ("Weather", _weather(found)),
        ("Every key of the sheet", _keys(sheet)),
        ("Sources", _sources(sheet, trace)),
        ("The sheet as it was given", _own_text(sheet)),
    ]
    return (
        '<section class="appendix" id="appendix"><h2>Appendix: where each number comes from</h2>'
        "<p>A number on the first page leads here, and its entry leads back. Steps are printed with more digits than any of them "
        "deserves, so that they can be reckoned again.</p>"
        + "".join(f"<section><h3>{said(title)}</h3>{body}</section>" for title, body in parts)
        + "</section>"
    )


def _arithmetic(trace: Trace) -> str:
    return "".join(entry.html(key) for key, entry in trace.entries.items())


def _formulas(sheet: Sheet, found: Assessment) -> str:
    pond = sheet.pond
    cop = f" COP of the heat pump by {sheet.heater.cop_formula}." if sheet.heater.kind == "heat pump" else ""
    return (
        f"<p>Hour by hour: heat capacity × change of temperature = heater + sun + pump − all losses. Evaporation by "
        f"{said(pond.evaporation)}; convection tied to it by the psychrometric constant; sky by {said(pond.sky)}.{said(cop)} Heat "
        "of an hour in watts, divided by a thousand, is kilowatt-hours; a season is the sum of its hours. The hours themselves: "
        "<code>python -m pondheat season SHEET.toml --hours FILE.csv</code>, once with the cover and once without.</p>"
        f"<p>Left out: layers of warm and cold water, ice that insulates, frost and snow on the cover, splash, rain, topping up, sun "
        f"that warms the cover itself.</p>"
    )


def _end(value: float, money: bool, currency: units.Currency) -> str:
    return said(units.money(value, currency) if money else f"{units.digits(value)} kWh")


def _runs(found: Assessment) -> str:
    doubt, currency = found.uncertainty, found.sheet.currency
    if doubt is None:
        return "<p>No runs: without heat there is no cost of heat to be unsure of.</p>"
    if not doubt.measure_first:  # a pond that takes no heat in this weather, or whose heat costs nothing
        return (
            f"<p>{doubt.scenarios} runs of the whole season, each with its own value of every unknown, all with the same answer: "
            f"nothing that is unsure of this pond changes it. {_learned(found)}</p>"
        )
    rows = [
        [
            said(one.meaning),
            f"{100 * one.share:.0f} %",
            _end(one.low, one.in_money, currency),
            _end(one.high, one.in_money, currency),
            said(one.how or "nobody can, beforehand"),
        ]
        for one in doubt.measure_first
    ]
    return (
        f"<p>{doubt.scenarios} runs of the whole season, each with its own value of every unknown, spread evenly over the ranges "
        f"below. A band runs from the tenth to the ninetieth of a hundred. {_learned(found)}At the low and the high end, "
        f"{said(doubt.measure_first[0].of)} on average over the fifth of the runs in which that unknown is "
        f"lowest or highest{_others(found)}:</p>"
        + table(
            [
                "unknown, and how it is taken",
                "share of the spread it explains alone",
                "at its low end",
                "at its high end",
                "how to measure it",
            ],
            rows,
            "plain runs",
            "Unknowns of the runs",
        )
    )


def _others(found: Assessment) -> str:
    return "" if found.uncertainty.learned else ", less what the other unknowns do in them"


def _learned(found: Assessment) -> str:
    if found.fitted is None:
        return ""
    return (
        "The ranges are what the pond's own meter taught: "
        + " ".join(said(one) for one in found.fitted.sentences)
        + " "
    )


def _months(found: Assessment) -> str:
    made = []
    for which, season in (("open", found.open), ("covered", found.covered)):
        if season is None:
            continue
        frame = season.hours.select_dtypes("number")
        sums = frame.groupby(frame.index.strftime("%b %Y"), sort=False).sum() / 1000
        columns = [c for c in (*ROUTES, "solar", "pump", "heater", "electricity", "gas") if c in sums and sums[c].any()]
        heads = ["month", *(said(ROUTE_NAMES.get(c, c)) for c in columns)]
        rows = [[said(month), *(units.digits(sums[c][month], 1) for c in columns)] for month in sums.index]
        made.append(
            f'<div class="wide" tabindex="0" role="region" aria-label="Months, {which}">'
            + table(heads, rows, "plain", f"Months, {which}, kWh")
            + "</div>"
        )
    return "".join(made)


def _weather(found: Assessment) -> str:
    notes = "".join(f"<li>{said(clipped(note, 400))}</li>" for note in found.notes)
    return (
        f"<p>{said(clipped(weather.summary(found.weather), 300))}. Source: {said(clipped(found.weather.source, 400))}.</p>"
        + (f"<ul>{notes}</ul>" if notes else "")
    )


def _keys(sheet: Sheet) -> str:
    try:
        document = toml_errors.loads(sheet.text)
    except units.Unreadable:
        document = {}
    rows = []
    for group, keys in KEYS.items():
        here = document.get(group, {}) if group else document
        for part in here if isinstance(here, list) else [here]:
            for key, (_, meaning) in keys.items():
                whole = f"{group}.{key}" if group else key
                has = isinstance(part, dict) and key in part
                state = "a start value or guess" if whole in sheet.assumed else "given" if has else "not given"
                rows.append(
                    [f"<code>{said(whole)}</code>", name(part[key], LONGEST_VALUE) if has else "", state, said(meaning)]
                )
    return table(
        ["key", "in the sheet", "state", "meaning"],
        rows,
        "plain",
        "What the sheet gives and what it leaves to start values",
    )


def _sources(sheet: Sheet, trace: Trace) -> str:
    used = {source for entry in trace.entries.values() for source in entry.sources}
    return (
        "<ul>"
        + "".join(
            f'<li id="source-{key}" tabindex="-1"><cite>{said(key)}</cite>: {said(cite(key))}</li>'
            for key in sorted(used)
        )
        + "</ul>"
    )


def _own_text(sheet: Sheet) -> str:
    return (
        f'<pre dir="ltr">{verbatim(sheet.text)}</pre>' if sheet.text else "<p>This sheet was made without a file.</p>"
    )

"""The what-if table as plain text for the shell, and as plain data."""

from __future__ import annotations

import functools
import re
import textwrap
from dataclasses import asdict

from pondheat.analysis.scenarios.context import LIMITS
from pondheat.analysis.scenarios.what_if import ScenarioRow, ScenarioTable
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits, fahrenheit
from pondheat.fish import cautions
from pondheat.fish.temperature import WINTERING_DEPTH
from pondheat.money.emissions import emissions_text
from pondheat.text.best_choice import shortfalls
from pondheat.text.layout import WIDTH, day_text, wrapped
from pondheat.text.result_table import ResultTable

SHORT_HEADS = {  # where columns of text have less room
    "heat, kWh": "heat kWh",
    "taken, kWh": "taken kWh",
    "cost": "money",
    "water, °C": "water °C",
    "water, °F": "°F",
    "hours short": "short h",
    "hours of ice": "ice h",
}
BUT = ", but "  # between a choice and what it does worse by the fish
COVER_CAUTIONS = ("gas_exchange", "children", "structure_and_wind")


def table_text(table: ScenarioTable, cautioned: bool = False, shell: bool = False, usual: DisplayUnits = METRIC) -> str:
    """A table as plain text of at most 100 columns, answers first.

    cautioned: whether the cautions on covers were printed just before; shell: whether a missing input is named as an
    option of the command line; usual: units that are added beside °C.
    """
    fit = functools.partial(wrapped, usual=usual)
    lines = fit(f"{table.name}, {day_text(table.first)} to {day_text(table.last)}: what if?") + [""]
    for sentence in _answers(table):
        lines += fit(sentence)
    lines += ["", *_grid(table, usual), ""]
    lines += _likely_differences(table, usual)
    for note, words in _notes(table, shell).items():
        lines += fit(f"{', '.join(words)}: {note}", "- ")
    for sentence in _meaning(table, shell):
        lines += fit(sentence)
    lines += [*fit(table.weather), "", *fit(cautions.STANDING)]
    for key in () if cautioned else COVER_CAUTIONS:
        caution = cautions.CAUTIONS[key]
        lines += fit(f"{caution.title}: {caution.text}")
    return "\n".join(lines)


def remarks(table: ScenarioTable) -> list[str]:
    """What is to be said of a table of choices on a page: its answers, the notes on its rows, what its numbers mean."""
    notes = [f"{', '.join(words)}: {note}" for note, words in _notes(table).items()]
    return [*_answers(table), *notes, *_meaning(table)]


def _notes(table: ScenarioTable, shell: bool = False) -> dict[str, list[str]]:
    """The rows' notes, each with the rows that it is about."""
    noted: dict[str, list[str]] = {}
    for row in table.rows:
        for note in row.notes:
            noted.setdefault(as_options(note) if shell else note, []).append(row.words)
    return noted


def _meaning(table: ScenarioTable, shell: bool = False) -> list[str]:
    """What the numbers of a table hold and leave out."""
    priced = "Costs are those of heater and pump, with tax but without the standing charge. "
    sentences = [
        "Each line is a whole season in the same weather. "
        f"{'' if table.rows[0].money is None else priced}What a choice costs to buy is left out"
        f"{'' if any(row.likely for row in table.rows) else ', and so is how sure the numbers are'}."
    ]
    factors = table.context.sheet.emission_factors
    used = [factors.electricity, *[factors.gas] * any(row.gas_kwh for row in table.rows)]
    if known := [one.origin for one in used if one.kg_per_kwh is not None]:
        sentences.append(f"CO₂e is every greenhouse gas as carbon dioxide, at {', and '.join(known)}.")
    sentences += [f"No CO₂e: {one.origin}." for one in used if one.kg_per_kwh is None]
    if table.left_out:
        sentences.append(f"Left out: {_left_out(table, shell)}.")
    return sentences


def as_options(text: str) -> str:
    """A text with the names of inputs written as options of the command line."""
    return re.sub("|".join(LIMITS), lambda name: f"--{name[0].replace('_', '-')}", text)


def _left_out(table: ScenarioTable, shell: bool) -> str:
    """The choices that were left out, grouped by reason."""
    by_reason: dict[str, list[str]] = {}
    for words, reason in table.left_out:
        reason = as_options(reason) if shell else reason
        by_reason.setdefault(reason, []).append(words)
    return "; ".join(f"{', '.join(words)} ({reason})" for reason, words in by_reason.items())


def _amount(row: ScenarioRow, table: ScenarioTable) -> str:
    """What a row is compared by: its money, otherwise its energy."""
    return f"{units.digits(row.taken_kwh)} kWh" if row.money is None else units.money(row.money, table.currency)


def _answers(table: ScenarioTable) -> list[str]:
    """The most expensive and the cheapest choice, and what a pond without heat means."""
    unheated = table.unheated
    lines = []
    if unheated is not None and unheated.freezing:
        choice, warning = unheated.words, unheated.freezing
        lines.append(
            f"Warning. {choice[0].upper()}{choice[1:]}: {warning[0].lower()}{warning[1:]} Do not leave this pond "
            "without heat."
        )
    rows = [row for row in table.rows if row.of_pond]
    eligible = [row for row in rows if row.eligible]
    if len(rows) > 1 and eligible:
        dearest, cheapest = max(rows, key=lambda row: row.worth), min(eligible, key=lambda row: row.worth)
        ice = f", with ice in {units.digits(cheapest.ice_hours)} hours" if cheapest.ice_hours else ""
        alike = _amount(dearest, table) == _amount(cheapest, table)
        lines.append(
            f"All of these come to the same, {_amount(cheapest, table)} over the season."
            if alike
            else f"Most expensive: {dearest.words}, {_amount(dearest, table)} over the season. Cheapest: "
            f"{cheapest.words}, {_amount(cheapest, table)}; its water falls to "
            f"[{_degrees(cheapest)} °C]{ice}."
        )
        warm = min((row for row in eligible if row.as_warm), key=lambda row: row.worth, default=cheapest)
        if warm is not cheapest:
            lines.append(
                "The cheapest of those that keep the water as warm as the sheet does, and too warm in no more "
                f"hours: {warm.words}, {_amount(warm, table)}."
            )
    if unheated is not None and not unheated.freezing:
        pump = (
            f"There is no heating to pay for; the pump still takes {units.digits(unheated.electricity_kwh)} kWh"
            + ("" if unheated.money is None else f", {units.money(unheated.money, table.currency)}")
            + "."
            if unheated.electricity_kwh > 0
            else "There is no heating to pay for; a pump, which the sheet doesn't mention, would still cost money."
        )
        lines.append(
            "No heat is normal practice for carp that spend the winter unfed in farm ponds about "
            f"{WINTERING_DEPTH.value:g} m deep. A shallower garden pond with its filter running gets colder; this one "
            f"is {units.significant(table.mean_depth, 2)} m deep on average. {pump} Ask a fish vet about weak or young "
            "fish."
        )
    return lines or ["Nothing is compared with the sheet as it is."]


def _degrees(row: ScenarioRow) -> str:
    return units.digits(row.lowest_temp, 1)


def choice_table(table: ScenarioTable, usual: DisplayUnits = METRIC) -> ResultTable:
    """The choices in groups; one that fails the fish is faint and says so. usual: units that are added beside °C."""
    emitting = any(row.co2_kg is not None for row in table.rows)
    priced = table.rows[0].money is not None
    failing = shortfalls(table)
    heads = (
        "",
        "heat, kWh",
        "taken, kWh",
        *(("cost", "more or less") if priced else ()),
        *["CO₂e"] * emitting,
        "water, °C",
        *["water, °F"] * usual.fahrenheit,
        "hours short",
        "hours of ice",
    )
    rows, groups, group = [], {}, ""
    for at, row in enumerate(table.grouped):
        if row.group != group:
            group = row.group
            groups[at] = f"{group[0].upper()}{group[1:]}"
        but = f"{BUT}{failing[row.key]}" if row.key in failing else ""
        rows.append(
            (
                usual.with_alt_units(f"{row.words}{but}"),
                units.digits(row.heat_kwh),
                units.digits(row.taken_kwh),
                *((_amount(row, table), _difference(row, table)) if priced else ()),
                *["–" if row.co2_kg is None else emissions_text(row.co2_kg)] * emitting,
                f"{_degrees(row)}–{units.digits(row.highest_temp, 1)}",
                *[f"{fahrenheit(row.lowest_temp)}–{fahrenheit(row.highest_temp)}"] * usual.fahrenheit,
                units.digits(row.short_hours),
                units.digits(row.ice_hours),
            )
        )
    faint = frozenset(at for at, row in enumerate(table.grouped) if row.key in failing)
    return ResultTable("Your choices over the season", heads, tuple(rows), groups, faint)


def _grid(table: ScenarioTable, usual: DisplayUnits) -> list[str]:
    """The choices in columns of text, under a line for each group."""
    made = choice_table(table, usual)
    heads = tuple(SHORT_HEADS.get(head, head) for head in made.heads)
    columns = [[row[at] for row in (heads, *made.rows)] for at in range(1, len(heads))]
    widths = [max(map(len, column)) for column in columns]
    words = max(WIDTH - sum(width + 2 for width in widths), 12)
    lines = []
    for at, (name, *cells) in enumerate((heads, *made.rows), -1):
        if at in made.groups:
            lines.append(made.groups[at])
        said, _, but = name.partition(BUT)
        *above, last = textwrap.wrap(said, words) or [""]
        numbers = "".join(f"  {cell:>{width}}" for cell, width in zip(cells, widths))
        lines += [*above, f"{last:<{words}}{numbers}", *([f"  but {but}"] if but else [])]
    return lines


def _difference(row: ScenarioRow, table: ScenarioTable) -> str:
    """What a row costs more or less than the sheet as it is, with its sign."""
    if row.difference is None:
        return ""
    return ("+" if row.difference > 0 else "") + units.money(row.difference, table.currency)


def likely_difference(row: ScenarioRow, table: ScenarioTable) -> str:
    """The likely range of a row's difference to the sheet as it is, as in “−£1,300 to −£820”; empty without one."""
    if row.likely is None:
        return ""

    def amount(value: float) -> str:
        sign = "+" if value > 0 else "−" if value < 0 else ""
        size = float(f"{abs(value):.2g}")
        return sign + (units.money(size, table.currency) if row.money is not None else f"{units.digits(size)} kWh")

    return f"{amount(row.likely.low)} to {amount(row.likely.high)}"


def _likely_differences(table: ScenarioTable, usual: DisplayUnits) -> list[str]:
    """The likely ranges, best choice first, under a line that says what they are; nothing where there are none."""
    rows = sorted((row for row in table.rows if row.likely is not None), key=lambda row: row.worth)
    if not any(row.likely.low or row.likely.high for row in rows if row.likely):
        return []
    lines = wrapped(
        "Likely more or less than the sheet as it is: 8 in 10 of 200 runs fall within, both sides of each run with the "
        f"same {'room' if table.context.sheet.room else 'winter, wind'} and pond:"
    )
    return [*lines, *(f"  {usual.with_alt_units(row.words):<36}  {likely_difference(row, table)}" for row in rows), ""]


def as_dict(table: ScenarioTable) -> dict:
    """The table as plain data for JSON: kWh, money in the sheet's currency, °C."""
    return {
        "sheet": table.name,
        "currency": table.currency.code,
        "weather": table.weather,
        "season": {"start": table.first.isoformat(), "end": table.last.isoformat()},
        "rows": [{**asdict(row), "taken_kwh": row.taken_kwh} for row in table.rows],
        "left_out": [{"choice": words, "reason": reason} for words, reason in table.left_out],
    }

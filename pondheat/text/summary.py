"""An assessment as plain text for the shell: answers first, then heat, water, money, and how it was worked out."""

from __future__ import annotations

import functools
from collections.abc import Callable

from pondheat.analysis.results import Assessment
from pondheat.analysis.scenarios.what_if import ScenarioTable
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.season.weather import weather
from pondheat.text.layout import day_text, wrapped
from pondheat.text.pond_answer import PondAnswer, pond_answer
from pondheat.text.result_table import ResultTable
from pondheat.text.season_tables import season_tables


def season_text(found: Assessment, usual: DisplayUnits = METRIC, table: ScenarioTable | None = None) -> str:
    """The text that `python -m pondheat season` prints.

    usual: units that are added beside °C; table: choices, of which the answer names the best.
    """
    fit = functools.partial(wrapped, usual=usual)
    answer = pond_answer(found, table)
    sheet, pond = found.sheet, found.sheet.pond
    pair = [found.open] if found.covered is None else [found.open, found.covered]
    lines = [
        *_heading(
            f"{sheet.name}: {units.significant(pond.surface_area)} m² of surface, [{units.significant(pond.volume)} "
            f"m³], {_set_points(found)}, {day_text(found.first)} to {day_text(found.last)}",
            usual,
        ),
        *_heading(weather.summary(found.weather), usual),
        *_answer_lines(answer, fit),
        "",
        "In detail",
        *(line for sentence in answer.rest for line in fit(sentence, "- ")),
        *(line for table in season_tables(found, usual) for line in _table_lines(table)),
    ]
    if max(season.most_ice_kg for season in pair) > 0:
        lines += wrapped("* An even sheet of bare ice; snow on it would keep it thinner. It is never safe to stand on.")
    if found.open.cost is None:
        lines += ["", "  No [tariff] in the sheet, so no money."]
    lines += ["", "How this was worked out"]
    first, *notes = how_it_was_worked_out(found)
    lines += fit(first)
    for note in notes:
        lines += fit(note, "- ")
    lines += ["", *wrapped(cautions.STANDING)]
    for key in (*cautions.REPORT_KEYS, "ice"):
        if concerns(key, found):
            caution = cautions.CAUTIONS[key]
            lines += fit(f"{caution.title}. {caution.text}")
    return "\n".join(lines)


def how_it_was_worked_out(found: Assessment) -> list[str]:
    """The formulae, how far the model was tested, and what was assumed, a sentence or two each."""
    pond = found.sheet.pond
    return [
        f"Evaporation by {pond.evaporation}, sky by {pond.sky}, one well-mixed body of water. No measured "
        "heated or covered pond was found to test any of this. With no number fitted, though the sky formula was "
        "chosen partly on that record, the model follows one measured lake, open and unheated, to [0.8 K], [2.7 K] in "
        "the worst hour.",
        *found.notes,
        _emissions_note(found),
    ]


def _heading(text: str, usual: DisplayUnits) -> list[str]:
    """A line of the heading, which is wrapped only where preferred units make it longer."""
    line = METRIC.with_alt_units(text)
    return [line] if usual.with_alt_units(text) == line else wrapped(text, usual=usual)


def _answer_lines(answer: PondAnswer, fit: Callable[..., list[str]]) -> list[str]:
    """The short answer: headline, lines, what no heat means, how sure; fit: as `layout.wrapped`."""
    lines = ["", *fit(f"{answer.headline}."), *fit(str(answer.beside)), ""]
    for title, text in answer.lines:
        lines += fit(f"{title}: {text}", "- ")
    for text in answer.warnings:
        lines += fit(text, "- ")
    if answer.unheated:
        lines += fit(f"{answer.unheated[0]}. {answer.unheated[1]}", "- ")
    return [
        *lines,
        "",
        *fit(f"How sure: {answer.sure[0]}"),
        *(line for text in answer.sure[1:] for line in fit(text)),
    ]


def _emissions_note(found: Assessment) -> str:
    """Which emission factors were used, or why there are none."""
    factors = found.sheet.emission_factors
    if found.open.co2_kg is None:
        return f"No CO₂ figure: {factors.electricity.origin}."
    used = [*[factors.electricity] * bool(found.open.electricity_kwh), *[factors.gas] * bool(found.open.gas_kwh)]
    return f"CO₂ equivalent at {', and '.join(one.origin for one in used)}." if used else "No energy, so no CO₂."


def concerns(key: str, found: Assessment) -> bool:
    """Whether a caution is about something that this pond has; key: of `fish.cautions.CAUTIONS`."""
    kind = found.sheet.heater.kind
    needs = {
        "children": found.covered is not None,
        "gas_exchange": found.covered is not None,
        "structure_and_wind": found.covered is not None,
        "ice": found.as_described.most_ice_kg > 0,
        "burning": kind == "gas",
        "refrigerant": kind == "heat pump",
    }
    return needs.get(key, True)


def _table_lines(table: ResultTable) -> list[str]:
    """A table in columns, an empty line first."""
    first = ", ".join(text for text in (table.caption, table.heads[0] if table.heads[0] in ("kWh",) else "") if text)
    return ["", _row(first, *table.heads[1:]), *(_row(*row) for row in table.rows)]


def _row(label: str, *cells: str) -> str:
    """A line of a table."""
    return f"  {label:<37}" + "".join(f"{cell:>14}" for cell in cells)


def _set_points(found: Assessment) -> str:
    """The set points of the sheet with the days from which they hold."""
    sheet, steps = found.sheet, found.sheet.set_point
    if sheet.heater.kind == "none" or not steps:
        return "no heat"
    if len(steps) == 1:
        return f"held at [{steps[0][1]:.3g} °C]" if steps[0][1] is not None else "no heat"
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return "held at " + ", ".join(
        f"{'no heat' if temp is None else f'[{temp:.3g} °C]'} from {day} {months[month - 1]}"
        for (month, day), temp in steps
    )

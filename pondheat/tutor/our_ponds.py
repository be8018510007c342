"""The page that shows a class's ponds side by side, without names."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup

from pondheat.analysis.class_comparison import ClassComparison, PondResult
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.show import figures
from pondheat.show.report.rendering import render
from pondheat.tutor.papers import TEMPLATES, paper

MOST_REASONS = 3  # given for each pond
POINTS = 11  # pt


def page_html(comparison: ClassComparison, usual: DisplayUnits = METRIC) -> str:
    """The comparison as an HTML file; usual: units shown after °C."""
    return paper(
        "our_ponds.html",
        "Our ponds side by side",
        points=POINTS,
        display=usual,
        sentence=sentence(comparison),
        content=body_html(comparison),
    )


def body_html(comparison: ClassComparison, figure_id: str = "our-ponds") -> Markup:
    """The comparison below its heading and its sentence; `figure_id` begins the ids in its picture."""
    ponds = comparison.ponds
    figure = figures.bars(
        {pond.letter: pond.as_it_is for pond in ponds},
        figure_id,
        "Heat for each square metre over the season, as each pond is covered, kWh",
        {pond.letter: _kwh(pond.as_it_is) for pond in ponds},
    )
    columns = _columns(any(pond.money is not None for pond in ponds))
    return render(
        TEMPLATES,
        "our_ponds_body.html",
        figure=Markup(figure.html()),
        heads=list(columns),
        rows=[[cell(pond) for cell in columns.values()] for pond in ponds],
        left_out=len(comparison.left_out),
        reasons=[(pond.letter, _changes(pond)) for pond in ponds] if len(ponds) > 1 else [],
        standing=cautions.STANDING,
    )


def sentence(comparison: ClassComparison) -> str:
    """The result in one or two sentences, with its numbers."""
    ponds = comparison.ponds
    if len(ponds) == 1:
        return (
            f"One pond only: {_kwh(ponds[0].as_it_is)} kWh for each square metre over the season. Two or more are "
            "needed to see how ponds differ."
        )
    return (
        f"From September to May these {len(ponds)} ponds take {_kwh(ponds[0].as_it_is)} to {_kwh(ponds[-1].as_it_is)} "
        f"kWh for each square metre: {units.significant(comparison.times, 2)} times as much at one as at another. So "
        "no figure carries over from pond to pond."
    )


def _columns(priced: bool) -> dict[str, Callable[[PondResult], str]]:
    """Columns of the table: what each shows of a pond, by its heading."""
    columns: dict[str, Callable[[PondResult], str]] = {
        "pond": lambda pond: pond.letter,
        "held at": lambda pond: f"[{units.digits(pond.temp, 1)} °C]",
        "open, kWh/m²": lambda pond: _kwh(pond.open_kwh),
        "as covered, kWh/m²": lambda pond: "no cover" if pond.covered_kwh is None else _kwh(pond.covered_kwh),
        "the cover saves": lambda pond: "–" if pond.saved is None else f"{100 * pond.saved:.0f} %",
        "for each degree over the air, kWh/(m²·K)": lambda pond: units.significant(pond.per_degree, 2),
    }
    if priced:
        columns["money for each m²"] = lambda pond: (
            "–" if pond.money is None else units.money(pond.money, pond.currency)
        )
    return columns


def _changes(pond: PondResult) -> list[tuple[str, str]]:
    """What would change a pond's heat most if it were as at the middle pond, and by how much [kWh/m²]."""
    return [(text, f"{'−' if change < 0 else '+'}{_kwh(abs(change))}") for text, change in pond.reasons[:MOST_REASONS]]


def _kwh(value: float) -> str:
    return units.significant(value, 2)

"""The page of a class's ponds side by side: one HTML file without a name in it."""

from __future__ import annotations

import html
from collections.abc import Callable

from pondheat.analysis.class_comparison import ClassComparison, PondResult
from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual
from pondheat.fish import cautions
from pondheat.show import figures
from pondheat.tutor.page import page, said, table

REASONS = 3  # told of each pond


def our_ponds(found: ClassComparison, usual: Usual = METRIC) -> str:
    """The page of what `analysis.class_comparison.compare_class` found; usual: what stands beside °C."""
    return page("Our ponds side by side", body(found), 11, usual)


def sentence(found: ClassComparison) -> str:
    """What the page shows, with its numbers."""
    ponds = found.ponds
    if len(ponds) == 1:
        return (
            f"One pond only: {_kwh(ponds[0].as_it_is)} kWh for each square metre over the season. Two or more are needed to see "
            "how ponds differ."
        )
    return (
        f"From September to May these {len(ponds)} ponds take {_kwh(ponds[0].as_it_is)} to {_kwh(ponds[-1].as_it_is)} kWh for "
        f"each square metre: {units.significant(found.times, 2)} times as much at one as at another. So no figure carries "
        "over from pond to pond."
    )


def body(found: ClassComparison, identity: str = "our-ponds") -> str:
    """The page's content as HTML; `identity` begins the ids in its picture."""
    ponds = found.ponds
    figure = figures.bars(
        {pond.letter: pond.as_it_is for pond in ponds},
        identity,
        "Heat for each square metre over the season, as each pond is covered, kWh",
        {pond.letter: _kwh(pond.as_it_is) for pond in ponds},
    )
    priced = any(pond.money is not None for pond in ponds)
    columns: dict[str, Callable[[PondResult], str]] = {
        "pond": lambda pond: pond.letter,
        "held at": lambda pond: f"{units.digits(pond.temp, 1)} °C",
        "open, kWh/m²": lambda pond: _kwh(pond.open_kwh),
        "as covered, kWh/m²": lambda pond: "no cover" if pond.covered_kwh is None else _kwh(pond.covered_kwh),
        "the cover saves": lambda pond: "–" if pond.saved is None else f"{100 * pond.saved:.0f} %",
        "for each degree over the air, kWh/(m²·K)": lambda pond: units.significant(pond.per_degree, 2),
    }
    if priced:
        columns["money for each m²"] = lambda pond: (
            "–" if pond.money is None else units.money(pond.money, pond.currency)
        )
    grid = table(list(columns), [[cell(pond) for cell in columns.values()] for pond in ponds])
    left = len(found.left_out)
    missing = (
        f"<p>{_counted(left)} left out because it could not be compared; the tutor was told why.</p>" if left else ""
    )
    whose = (
        ""
        if len(ponds) == 1
        else (
            "<h2>Why they differ</h2><p>Each pond once more, with one thing as it is at the middle "
            "pond of this class; in brackets what it would then take more or less, in kWh for each "
            f"square metre.</p><ul>{''.join(_why(pond) for pond in ponds)}</ul>"
        )
    )
    return (
        f"<h1>Our ponds side by side</h1><p>{said(sentence(found))}</p>{figure.html()}{grid}{missing}{whose}"
        '<p class="small">Letters were drawn by lot, and taking part was each owner\'s choice. Each pond is reckoned from its '
        "owner's sheet in its own weather, from September to May, with a heater that is never short. Each number is as "
        "unsure as any here: a fifth more or less at the least (judgement), mostly because of the wind.</p>"
        f'<div class="care small"><p>{said(cautions.STANDING)}</p></div>'
    )


def _why(pond: PondResult) -> str:
    parts = [
        f"{html.escape(words)} ({'−' if change < 0 else '+'}{_kwh(abs(change))})"
        for words, change in pond.reasons[:REASONS]
    ]
    return f"<li><b>{pond.letter}</b>: {'; '.join(parts) if parts else 'much like the middle pond in everything'}.</li>"


def _kwh(value: float) -> str:
    return units.significant(value, 2)


def _counted(count: int) -> str:
    return "One sheet was" if count == 1 else f"{count} sheets were"

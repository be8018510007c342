"""The cheapest choice that keeps the fish as well, and what is wrong with each of the others."""

from __future__ import annotations

from pondheat.analysis.results import is_southern, too_warm_above, too_warm_hours
from pondheat.analysis.scenarios.cover_choices import COLD_MONTHS_TEXT
from pondheat.analysis.scenarios.what_if import ScenarioRow, ScenarioTable
from pondheat.core import units
from pondheat.fish.temperature import WINTERING_DEPTH, feeding_by_source

# What can be done tomorrow without buying anything; the sun-lifted cover needs a keeper who knows each hour in advance.
NOTHING_TO_BUY = ("cover_always", "cover_cold_months", "cover_nights", "cheap_hours")
UNHEATED = "no_heat"
WORTH_NAMING = 0.02  # share of the pond's cost; a smaller difference is no advice (judgement)


def best_choice(table: ScenarioTable) -> ScenarioRow | None:
    """The cheapest choice that costs nothing to buy and keeps the fish as well; None where none saves anything."""
    base, *others = table.rows
    rows = [row for row in others if row.key in NOTHING_TO_BUY and row.eligible and row.as_warm]
    best = min(rows, key=lambda row: row.worth, default=None)
    # prices below zero can pay for the heat: there, too, the best is cheaper by that share
    return best if best is not None and best.worth < base.worth - WORTH_NAMING * abs(base.worth) else None


def advice(row: ScenarioRow, table: ScenarioTable) -> str:
    """What to do for one of NOTHING_TO_BUY, as an instruction."""
    sheet, record = table.context.sheet, table.context.record
    return {
        "cover_always": "leave the cover on day and night",
        "cover_cold_months": f"leave the cover on day and night from {COLD_MONTHS_TEXT[is_southern(sheet, record)]}",
        "cover_nights": "take the cover off by day",
        "cheap_hours": "heat more in the cheap hours",
    }[row.key]


def shortfalls(table: ScenarioTable) -> dict[str, str]:
    """What each choice does worse by the fish than the sheet as it is, by its key; choices that do not are left out."""
    sheet, base = table.context.sheet, table.rows[0]
    hot_as_it_is = too_warm_hours(sheet, table.context.base)
    found = {}
    for row in table.rows[1:]:
        if row.freezing:
            found[row.key] = "may freeze through"
        elif row.short_hours > base.short_hours:
            found[row.key] = f"falls to [{units.digits(row.lowest_temp, 1)} °C]"
        elif too_warm_hours(sheet, table.results[row.key].season) > hot_as_it_is:
            found[row.key] = f"reaches [{units.digits(row.highest_temp, 1)} °C], above [{too_warm_above(sheet):.3g} °C]"
    return found


def cold_water_text(temp: float, mean_depth: float, ice_hours: int = 0) -> str:
    """What the lowest water temperature of an unheated pond [degC] means for its fish.

    mean_depth: of this pond [m]; ice_hours: hours with ice on it.
    """
    eating = feeding_by_source(temp)["FAO, farms"].removeprefix("they ")
    ice = f", with ice in {units.digits(ice_hours)} hours: keep a hole open" if ice_hours else ""
    return (
        f"the water falls to [{units.digits(temp, 1)} °C]{ice}. Carp {eating} then; farms overwinter them in ponds "
        f"about {WINTERING_DEPTH.value:g} m deep; yours averages {units.significant(mean_depth, 2)} m. Ask a fish vet "
        "about weak or young fish."
    )

"""The chart of a keeper's choices, of `analysis.scenarios.what_if`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lets_plot import (
    aes,
    geom_rect,
    geom_segment,
    geom_text,
    ggplot,
    scale_fill_identity,
    scale_x_continuous,
    scale_y_continuous,
)

from pondheat.analysis.scenarios.what_if import ScenarioRow
from pondheat.core import display_units, units
from pondheat.show import figures

FAINT, FAINT_INK = "#d6d6d6", "#6b6b6b"  # bars and words of a choice that fails the fish


def choices(
    rows: Sequence[ScenarioRow],
    panel: str,
    currency: units.Currency = units.GBP,
    failing: Mapping[str, str] | None = None,
) -> figures.Figure:
    """Bars from zero for a keeper's choices, in groups: money over the season, or kWh where there is no tariff.

    rows: of `what_if.ScenarioTable.grouped`, first the sheet as it is, which is highlighted and whose end a dotted
    line carries down. At the right are each amount and the season's lowest water temperature; a thin line shows the
    likely range of a choice that is uncertain by itself. failing: what a choice does worse by the fish, by its key: it
    is greyed, and says so.
    """
    priced = rows[0].money is not None

    def written(row: ScenarioRow) -> str:
        return units.money(row.money, currency) if row.money is not None else f"{units.digits(row.taken_kwh)} kWh"

    highs = [band[1] for row in rows if (band := row.money_band if priced else row.taken_band)]
    worths = [row.worth for row in rows]
    most, least = max(*worths, *highs, 1e-9), min(*worths, 0.0)
    wide = most - least
    fahrenheit = display_units.load().fahrenheit
    # room for the names at the left, amounts and water temperatures at the right
    left, right = (
        least - 1.12 * wide,
        most + ((1.05 if fahrenheit else 0.95) if failing else (0.76 if fahrenheit else 0.66)) * wide,
    )
    names = ("names", "heads", "amounts", "waters", "faint names", "faint amounts")
    parts: dict[str, list] = {name: [] for name in names}
    bars_at: dict[str, list] = {"from": [], "to": [], "low": [], "high": [], "fill": []}
    bands: dict[str, list] = {"x": [], "to": [], "y": []}
    y, group, said = 0.0, "", []
    for row in rows:
        if row.group != group:
            group = row.group
            y -= 1.35
            parts["heads"].append((left, y, f"{group[0].upper()}{group[1:]}"))
            said.append(f"{parts['heads'][-1][2]}:")
        y -= 1.0
        but = (failing or {}).get(row.key, "")
        hue = figures.MARKED if row is rows[0] else FAINT if but else figures.NEUTRAL
        for name, value in zip(bars_at, (min(row.worth, 0.0), max(row.worth, 0.0), y - 0.32, y + 0.32, hue)):
            bars_at[name].append(value)
        band = row.money_band if priced else row.taken_band
        if band:
            for name, value in zip(bands, (band[0], band[1], y)):
                bands[name].append(value)
        faint = "faint " if but else ""
        parts[f"{faint}names"].append((left + 0.03 * wide, y, row.words))
        parts[f"{faint}amounts"].append((most + 0.38 * wide, y, written(row)))
        parts["waters"].append((right, y, _lowest_water(row, fahrenheit, but)))
        said.append(
            f"{row.words} {written(row)}, lowest water {display_units.temperature(row.lowest_temp, 1)}"
            + (f", but {but}" if but else ", it may freeze through" if row.freezing else "")
            + (f", short of heat in {units.digits(row.short_hours)} hours" if row.short_hours else "")
            + ";"
        )
    plot = (
        ggplot()
        + geom_rect(
            aes(xmin="from", xmax="to", ymin="low", ymax="high", fill="fill"), data=bars_at, size=0, tooltips="none"
        )
        + scale_fill_identity()
        + geom_segment(
            aes("x", "y", xend="to", yend="end"),
            color=figures.INK,
            size=0.5,
            linetype="dotted",
            tooltips="none",
            data={"x": [worths[0]], "to": [worths[0]], "y": [-0.6], "end": [y - 0.5]},
        )
        + geom_segment(
            aes("x", "y", xend="to", yend="end"),
            color=figures.INK,
            size=0.7,
            tooltips="none",
            data={"x": [0.0], "to": [0.0], "y": [-0.5], "end": [y - 0.5]},
        )
    )
    if bands["x"]:
        plot += geom_segment(
            aes("x", "y", xend="to", yend="y"), data=bands, color=figures.INK, size=1.2, tooltips="none"
        )
    heads_of_columns = [(right, 0.0, "lowest water, °C (°F)" if fahrenheit else "lowest water")]
    for texts, at, face in (
        (parts["names"], 0, "plain"),
        (parts["amounts"], 1, "plain"),
        (parts["heads"], 0, "bold"),
        (parts["waters"], 1, "plain"),
        (parts["faint names"], 0, "faint"),
        (parts["faint amounts"], 1, "faint"),
        (heads_of_columns, 1, "plain"),
    ):
        if texts:
            data = dict(zip(("x", "y", "says"), map(list, zip(*texts))))
            plot += geom_text(
                aes("x", "y", label="says"),
                data=data,
                hjust=at,
                size=7.2,
                color=FAINT_INK if face == "faint" else figures.INK,
                family="inherit",
                fontface="plain" if face == "faint" else face,
            )
    plot += scale_x_continuous(breaks=[], limits=[left, right], expand=[0.005, 0])
    plot += scale_y_continuous(limits=[y - 0.7, 0.6], breaks=[], expand=[0, 0])
    described = " ".join(said).removesuffix(";") + "."
    title = f"{'Money' if priced else 'kWh taken'} over the season for each choice, and the lowest water"
    return figures.finish(
        plot, panel, title, described, {row.key: row.worth for row in rows}, round(26 * (1.3 - y)), grid=False
    )


def _lowest_water(row: ScenarioRow, fahrenheit: bool, but: str) -> str:
    """The lowest water temperature as the chart shows it, or what the choice does worse by the fish."""
    if but or row.freezing:
        return display_units.localise_finished(but.partition(",")[0]) or "may freeze through"
    water = units.digits(row.lowest_temp, 1)
    return f"{water} ({display_units.fahrenheit(row.lowest_temp, 1)})" if fahrenheit else f"{water} °C"

"""The chart of a keeper's choices, of `analysis.scenarios.what_if`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import compress, groupby

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
    priced, failing = rows[0].money is not None, failing or {}

    def written(row: ScenarioRow) -> str:
        return units.money(row.money, currency) if row.money is not None else f"{units.digits(row.taken_kwh)} kWh"

    bands = [row.money_band if priced else row.taken_band for row in rows]
    worths = [row.worth for row in rows]
    most, least = max(*worths, *(band[1] for band in bands if band), 1e-9), min(*worths, 0.0)
    wide = most - least
    fahrenheit = display_units.load().fahrenheit
    # room for the names at the left, amounts and water temperatures at the right
    left, right = (
        least - 1.12 * wide,
        most + ((1.05 if fahrenheit else 0.95) if failing else (0.76 if fahrenheit else 0.66)) * wide,
    )
    heights, headings = _heights(rows)
    lowest = heights[-1]
    plot = ggplot() + _bars(rows, heights, failing) + scale_fill_identity()
    ends = [-0.5, *(y + side for y, _ in headings for side in (0.5, -0.5)), lowest - 0.5]
    plot += _line_down(worths[0], ends, size=0.5, linetype="dotted")
    plot += _line_down(0.0, ends, size=0.7)
    likely = [(*band, y) for band, y in zip(bands, heights) if band]
    if likely:
        data = _columns(("x", "to", "y"), likely)
        plot += geom_segment(
            aes("x", "y", xend="to", yend="y"), data=data, color=figures.INK, size=1.2, tooltips="none"
        )
    names = [(left + 0.03 * wide, y, display_units.METRIC.with_alt_units(row.words)) for row, y in zip(rows, heights)]
    amounts = [(most + 0.38 * wide, y, written(row)) for row, y in zip(rows, heights)]
    waters = [(right, y, _lowest_water(row, fahrenheit, failing.get(row.key, ""))) for row, y in zip(rows, heights)]
    faint = [bool(failing.get(row.key)) for row in rows]
    plain = [not fails for fails in faint]
    for texts, at, color, face in (
        (compress(names, plain), 0, figures.INK, "plain"),
        (compress(amounts, plain), 1, figures.INK, "plain"),
        ([(left, y, heading) for y, heading in headings], 0, figures.INK, "bold"),
        (waters, 1, figures.INK, "plain"),
        (compress(names, faint), 0, FAINT_INK, "plain"),
        (compress(amounts, faint), 1, FAINT_INK, "plain"),
        ([(right, 0.0, "lowest water, °C (°F)" if fahrenheit else "lowest water")], 1, figures.INK, "plain"),
    ):
        if data := _columns(("x", "y", "says"), texts):
            look = {"hjust": at, "size": 7.2, "color": color, "family": "inherit", "fontface": face}
            plot += geom_text(aes("x", "y", label="says"), data=data, **look)
    plot += scale_x_continuous(breaks=[], limits=[left, right], expand=[0.005, 0])
    plot += scale_y_continuous(limits=[lowest - 0.7, 0.6], breaks=[], expand=[0, 0])
    title = f"{'Money' if priced else 'kWh taken'} over the season for each choice, and the lowest water"
    described, numbers = _description(rows, written, failing), {row.key: row.worth for row in rows}
    return figures.finish(plot, panel, title, described, numbers, round(26 * (1.3 - lowest)), grid=False)


def _groups(rows: Sequence[ScenarioRow]) -> Iterator[tuple[str, list[ScenarioRow]]]:
    """The rows of each group under its heading, which is empty for the sheet as it is."""
    for group, members in groupby(rows, key=lambda row: row.group):
        yield group[:1].upper() + group[1:], list(members)


def _heights(rows: Sequence[ScenarioRow]) -> tuple[list[float], list[tuple[float, str]]]:
    """The height of each row, downwards from zero, and of each heading."""
    y, heights, headings = 0.0, [], []
    for heading, members in _groups(rows):
        if heading:
            y -= 1.35
            headings.append((y, heading))
        for _ in members:
            y -= 1.0
            heights.append(y)
    return heights, headings


def _columns(names: tuple[str, ...], points: Iterable[tuple]) -> dict[str, list]:
    """Points as lets-plot reads them: a list for each of the names; nothing where there are no points."""
    return dict(zip(names, map(list, zip(*points))))


def _bars(rows: Sequence[ScenarioRow], heights: Sequence[float], failing: Mapping[str, str]):
    """A bar from zero for each row."""
    hues = [FAINT if failing.get(row.key) else figures.NEUTRAL for row in rows]
    data = {
        "from": [min(row.worth, 0.0) for row in rows],
        "to": [max(row.worth, 0.0) for row in rows],
        "low": [y - 0.32 for y in heights],
        "high": [y + 0.32 for y in heights],
        "fill": [figures.MARKED, *hues[1:]],
    }
    where = aes(xmin="from", xmax="to", ymin="low", ymax="high", fill="fill")
    return geom_rect(where, data=data, size=0, tooltips="none")


def _line_down(x: float, ends: list[float], **look):
    """A vertical line that leaves out the names of groups; ends: of its pieces, from the top."""
    pieces = len(ends) // 2
    data = {"x": [x] * pieces, "to": [x] * pieces, "y": ends[::2], "end": ends[1::2]}
    where = aes("x", "y", xend="to", yend="end")
    return geom_segment(where, data=data, color=figures.INK, tooltips="none", **look)


def _description(rows: Sequence[ScenarioRow], written: Callable[[ScenarioRow], str], failing: Mapping[str, str]) -> str:
    """The chart in words."""
    said = []
    for heading, members in _groups(rows):
        said += [f"{heading}:"] if heading else []
        for row in members:
            but = failing.get(row.key)
            said.append(
                f"{row.words} {written(row)}, lowest water {display_units.temperature(row.lowest_temp, 1)}"
                + (f", but {but}" if but else ", it may freeze through" if row.freezing else "")
                + (f", too little heat for {units.digits(row.short_hours)} hours" if row.short_hours else "")
                + ";"
            )
    return display_units.localise(" ".join(said).removesuffix(";") + ".")


def _lowest_water(row: ScenarioRow, fahrenheit: bool, but: str) -> str:
    """The lowest water temperature as the chart shows it, or what the choice does worse by the fish."""
    if but or row.freezing:
        return display_units.localise(but.partition(",")[0]) or "may freeze through"
    water = units.digits(row.lowest_temp, 1)
    return f"{water} ({display_units.fahrenheit(row.lowest_temp, 1)})" if fahrenheit else f"{water} °C"

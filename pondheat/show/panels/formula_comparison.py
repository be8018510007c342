"""All evaporation formulae side by side: at one moment, and over a pond's season in kWh and money."""

from __future__ import annotations

import html
from pathlib import Path

from pondheat.analysis import formula_spread
from pondheat.analysis.formula_spread import FORMULA_INFO, FormulaSeason
from pondheat.core import units
from pondheat.core.display_units import temperature_range
from pondheat.heat import surface
from pondheat.sheet import pond_sheet as sheets
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice, Slider
from pondheat.show.panels import Panel, about
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.sheet_file import SHEET
from pondheat.show.ponds import invented

OURS = surface.DEFAULT_EVAPORATION
STAR = " *"


def starred(name: str) -> str:
    """A formula's title, with a star if the formula was not made for the wind at 2 m."""
    return FORMULA_INFO[name].title + ("" if FORMULA_INFO[name].outdoors else STAR)


def _ticks(most: float) -> dict[float, str]:
    """Labels at round positions from zero to `most`, in two to five steps."""
    step = next(size for size in (s * 10**p for p in range(8) for s in (1, 2, 5)) if most / size <= 5)
    return {float(at): units.digits(at) for at in range(0, int(most) + 1, step)}


class Formulae(Panel):
    """All evaporation formulae for one state of water, air and wind."""

    def __init__(self):
        super().__init__(
            "formulae",
            {
                "water_temp": Slider("Water temperature", 18, 4, 30, 1, "degC"),
                "air_temp": Slider("Air temperature", 8, -10, 30, 1, "degC"),
                "humidity": Slider("Humidity of the air", 80, 20, 100, 5, "percent"),
                "wind": Slider("Wind over the water, at 2 m", 1, 0, 6, 0.5, "m/s"),
            },
            caution="gas_exchange",
        )

    def redraw(self, water_temp, air_temp, humidity, wind):
        """Evaporation loss of a square metre by every formula in ascending order, the default one highlighted."""
        self.flux = formula_spread.evaporation_by_formula(water_temp, air_temp, humidity / 100, wind)
        low, high = min(0.0, *self.flux.values()), max(50.0, *self.flux.values())
        lines = {starred(name): (value, min(value, 0.0), max(value, 0.0)) for name, value in self.flux.items()}
        written = {starred(name): units.digits(value) for name, value in self.flux.items()}
        title = "Heat that evaporation takes from each square metre, W/m², by every formula"
        return figures.ranges(
            lines, self.name, title, (low, high), _ticks(high), written, (starred(OURS),)
        ), self._text()

    def _text(self) -> str:
        (least, low), *_, (most, high) = self.flux.items()
        factor = f", a factor of {high / low:.1f}" if low > 0.5 else ""
        left_out = [one.title for name, one in FORMULA_INFO.items() if not formula_spread.in_uncertainty(name)]
        dew = " Where the number is negative, dew falls on the water and warms it." if low < -0.5 else ""
        return (
            f"At the same moment they run from {units.digits(low)} W/m² ({FORMULA_INFO[least].title}) to "
            f"{units.digits(high)} W/m² ({FORMULA_INFO[most].title}){factor}. We use {FORMULA_INFO[OURS].title}, "
            f"{units.digits(self.flux[OURS])} W/m²: {FORMULA_INFO[OURS].remark}.{dew} A star: not made "
            f"for the wind at 2 m. Our likely ranges leave out only {' and '.join(left_out)}."
        )

    def arithmetic(self):
        """Each formula's value with its purpose and source."""
        chain = Chain()
        for name, value in self.flux.items():
            whence = source(surface.EVAPORATION[name].source)
            chain.given(FORMULA_INFO[name].title, value, "W/m**2", f"{FORMULA_INFO[name].remark}. {whence}")
        return chain


class OwnSeason(BackgroundTask):
    """A season by every formula, of the garden pond or of the reader's own.

    folder: of the reader's files, by default the current one.
    """

    NOTHING = "No season has been run yet. Choose a pond."
    DOING = "Working out"
    CANCELLED = "Cancelled. Choose the other pond, or this one again."
    PONDS = {"garden": "the garden pond (invented)", "own": f"my own, from {SHEET} beside this page"}

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.whose = Choice("Season to work out by every formula", self.PONDS)
        super().__init__([self.whose])
        self.whose.observe(lambda _: self.run(), "value")

    def run(self) -> None:
        """Run the chosen pond's seasons in the background."""
        self.stop("")
        own, path = self.whose.value == "own", self.folder / SHEET
        if own and not path.exists():
            self.result.value = ""
            self.say(
                f"There is no {SHEET} beside this page yet. Page 16 makes one from a short form; meanwhile you "
                "can choose the garden pond."
            )
            return

        def work(progress):
            sheet = sheets.read(path) if own else invented()
            found = formula_spread.seasons_by_formula(sheet, progress=progress)
            return sentence("Your pond" if own else "The garden pond", found, sheet), result_html(found, sheet)

        self.start("the weather, and a season by each formula", work)


def _amount(one: FormulaSeason, sheet: sheets.Sheet) -> str:
    return f"{units.digits(one.open_kwh)} kWh" if one.open_money is None else about(one.open_money, sheet.currency)


def sentence(whose: str, found: tuple[FormulaSeason, ...], sheet: sheets.Sheet) -> str:
    """The season's heat or cost by all formulae, by those for outdoors and by the sheet's own, in words.

    whose: the pond, as the subject of the sentence; found: of `formula_spread.seasons_by_formula`.
    """
    full_wind = [one for one in found if one.wind == 1]
    if max(one.open_kwh for one in full_wind) <= 0:
        temps = sorted(one.lowest_temp for one in full_wind)
        return (
            f"{whose} is not heated, so the formulae change its temperature, not its cost: its lowest, open, "
            f"runs from {temperature_range(temps[0], temps[-1], 1, ' to ')}."
        )
    default = next(one for one in full_wind if one.formula == sheet.pond.evaporation)
    outdoors = [one for one in full_wind if FORMULA_INFO[one.formula].outdoors]
    text = (
        f"{whose}, open, over its season: {_span(full_wind, sheet)}. By those without a star: {_span(outdoors, sheet)}."
    )
    costs = sorted(one.covered_money for one in full_wind if one.covered_money is not None)
    if sheet.pond.cover is not None and costs:
        low, high = (about(cost, sheet.currency) for cost in (costs[0], costs[-1]))
        text += f" Covered as in the sheet: from {low} to {high}."
    return f"{text} The sheet uses {default.title}, {_amount(default, sheet)}: {FORMULA_INFO[default.formula].remark}."


def _span(rows: list[FormulaSeason], sheet: sheets.Sheet) -> str:
    low, high = (one.open_kwh if one.open_money is None else one.open_money for one in (rows[0], rows[-1]))
    factor = f", a factor of {high / low:.1f}" if low > 0 else ""
    return f"from {_amount(rows[0], sheet)} ({rows[0].title}) to {_amount(rows[-1], sheet)} ({rows[-1].title}){factor}"


def result_html(found: tuple[FormulaSeason, ...], sheet: sheets.Sheet) -> str:
    """The chart of the open season, a table with the covered one, and a remark on each formula, as HTML."""
    names = {one: one.title + ("" if FORMULA_INFO[one.formula].outdoors or one.wind != 1 else STAR) for one in found}
    high = max(max(one.open_kwh for one in found), 1.0)
    money = {one: "" if one.open_money is None else f", {about(one.open_money, sheet.currency)}" for one in found}
    marked = tuple(name for one, name in names.items() if one.formula == sheet.pond.evaporation and one.wind == 1)
    figure = figures.ranges(
        {names[one]: (one.open_kwh, 0.0, one.open_kwh) for one in found},
        "formulae-season",
        "Heat over the season, open, kWh, by every formula",
        (0.0, high),
        _ticks(high),
        {names[one]: f"{units.digits(one.open_kwh)}{money[one]}" for one in found},
        marked,
    )
    short = (
        "<p>Where the heater can't keep up, the water cools instead: heat and cost are then too low for that "
        "formula.</p>"
        if any(one.short_hours for one in found)
        else ""
    )
    known = "".join(
        f"<li>{html.escape(starred(name))}: {html.escape(one.remark)}."
        f"{'' if formula_spread.in_uncertainty(name) else ' Not in our likely ranges.'}</li>"
        for name, one in FORMULA_INFO.items()
    )
    return (
        f"{figure.html()}{_season_table(found, names, sheet)}<div class='ph-words'>{short}<p>* Not made for "
        "the wind at 2 m, but shown all the same. The last row is run with less wind, as it was measured close to the "
        f"water; our likely ranges use it like that.</p><p>What each formula was made for:</p><ul>{known}</ul></div>"
    )


def _season_table(found: tuple[FormulaSeason, ...], names: dict[FormulaSeason, str], sheet: sheets.Sheet) -> str:
    covered = ["covered, kWh", "covered, cost"] if sheet.pond.cover else []
    heads = ["formula", "open, kWh", "open, cost", *covered, "hours too cold, open"]
    top = "".join(f"<th scope='col'>{head}</th>" for head in heads)
    rows = "".join(
        f"<tr><th scope='row' class='ph-text'>{html.escape(names[one])}</th>"
        f"{''.join(f'<td>{html.escape(cell)}</td>' for cell in _cells(one, sheet))}</tr>"
        for one in found
    )
    return (
        f"<table class='ph-steps ph-bench'><caption>The season by every formula</caption><thead><tr>{top}</tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )


def _cells(one: FormulaSeason, sheet: sheets.Sheet) -> list[str]:
    def cost(value: float | None) -> str:
        return "–" if value is None else about(value, sheet.currency)

    covered = [units.digits(one.covered_kwh), cost(one.covered_money)] if one.covered_kwh is not None else []
    return [units.digits(one.open_kwh), cost(one.open_money), *covered, units.digits(one.short_hours)]

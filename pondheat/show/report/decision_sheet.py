"""The decision sheet: one HTML file, its first page for paper, behind it the thread of every number.

`report` writes it from an assessment. The file asks nothing of any other place, runs nothing, and is the same, byte for
byte, for the same sheet.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from pondheat.analysis import calendar
from pondheat.analysis import power_cut as power_cuts
from pondheat.analysis.results import ROUTE_GROUPS, Assessment
from pondheat.analysis.scenarios import what_if as what_ifs
from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual, beside
from pondheat.core.ranges import require
from pondheat.core.sources import BIBLIOGRAPHY
from pondheat.fish import cautions
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.report.answer import Answer
from pondheat.show.report.appendix import appendix
from pondheat.show.report.html_parts import bar, clipped, hatches, name, said, table, time
from pondheat.show.report.numbers import GAINS, SMALL, Numbers, figures
from pondheat.show.report.trace import Trace, given

MOST_RATES, MOST_STEPS, MOST_KEYS = 4, 4, 4  # that the first page names; the appendix has all
FULL, FULLER = (
    5000,
    5450,
)  # characters from which lines stand closer and closer still, so that the first page stays one page
_STYLE = (Path(__file__).parent / "report.css").read_text(encoding="utf-8")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
LEFT_OUT = {  # tables of a sheet without which a pond is reckoned as having none
    "wall": "walls",
    "cover": "cover",
    "filter": "filter",
    "pump": "pump",
    "aeration": "air stones",
    "water": "water changes",
}
STARTS = {  # keys that get a start value where the sheet is silent
    "place.wind_shelter": "wind shelter (half the wind)",
    "place.sky_view": "open sky (all of it)",
    "place.shade": "shade (none)",
    "cover.gap": "leak under the cover (none)",
    "cover.light": "light through the cover",
    "base.u_value": "floor (bare ground)",
    "filter.effectiveness": "filter's effectiveness",
}


def report(
    sheet: Sheet,
    result: Assessment,
    *,
    what_if: what_ifs.ScenarioTable | None = None,
    power_cut: power_cuts.PowerCut | Sequence[power_cuts.PowerCut] = (),
    fish_kg: float | None = None,
    usual: Usual = METRIC,
) -> str:
    """The decision sheet as one self-contained HTML file.

    sheet: the pond; result: its assessment; what_if, power_cut: if given, two lines of each, of power cuts the first
    told whole and of others how fast they cool; fish_kg: [kg] mass of fish, told beside the pond's size; usual: what
    stands beside °C and m³ on the first page. Raises OutOfRange for a mass of fish that is none.
    """
    require(fish_kg=fish_kg)
    trace = Trace()
    cuts = (power_cut,) if isinstance(power_cut, power_cuts.PowerCut) else tuple(power_cut or ())
    first = beside(_FirstPage(sheet, result, trace).html(what_if, cuts, fish_kg), usual)
    length = len(re.sub(r"<[^>]*>", "", first))
    kind = ' class="full fuller"' if length > FULLER else ' class="full"' if length > FULL else ""
    title = f"Decision sheet: {clipped(sheet.name, 80)}"
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{said(title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        '<div class="print-choice"><input type="checkbox" id="print-all"><label for="print-all">Print the appendix '
        "too (otherwise only this first page is printed)</label></div>\n"
        f'<main id="first"{kind}>\n{first}\n</main>\n{appendix(sheet, result, trace)}\n</body>\n</html>\n'
    )


class _FirstPage:
    """What is printed: the pond, the answer, where heat goes, what it costs, what to do, how sure, what to mind."""

    def __init__(self, sheet: Sheet, found: Assessment, trace: Trace):
        self.sheet, self.found, self.trace = sheet, found, trace
        self.numbers = Numbers(found, trace)
        self.heated = sheet.is_heated
        self.cases = list(self.numbers.seasons)

    def html(self, what_if, cuts, fish_kg) -> str:
        answer = Answer(self.found, self.numbers).html(what_if, cuts)
        return "\n".join(
            [
                hatches(),
                self._pond(fish_kg),
                f"<section><h2>The answer</h2>{answer}</section>",
                f'<div class="pair"><section><h2>Where the heat goes</h2>{self._heat()}{self._taken()}{self._asked()}</section>'
                f"<div><section><h2>What is taken and paid</h2>{self._season()}</section>"
                f"<section><h2>Measured and assumed</h2>{self._known()}</section></div></div>",
                f"<section><h2>What to do, month by month; read the meter on the first of each</h2>{self._strip()}</section>",
                f'<section class="care"><h2>Cautions</h2>{self._cautions()}</section>',
            ]
        )

    # --- the pond -------------------------------------------------------------------------------------------------------

    def _pond(self, fish_kg) -> str:
        sheet, numbers, found = self.sheet, self.numbers, self.found
        size = f"{numbers.area()} of surface, {numbers.volume()}"
        if fish_kg is not None:
            size += (
                ", "
                + self.trace.number(
                    "fish",
                    "Mass of fish",
                    [given("mass of fish", fish_kg, "kg", "given with this report")],
                    lambda v: f"{units.significant(v)} kg",
                )
                + " of fish"
            )
        weather = f"weather of {name(found.weather.place, 40)}, {name(found.weather.kind, 30)}"
        lines = [
            ("Pond", size),
            ("Season", f"{time(found.first)} to {time(found.last)}, {weather}"),
            ("Held", self._held()),
            ("Cover", self._cover()),
            ("Heater", self._heater()),
            ("Tariff", self._tariff()),
        ]
        told = " ".join(f"<span><b>{head}</b> {text}.</span>" for head, text in lines)
        return f'<header><h1>Decision sheet: {name(sheet.name, 56)}</h1><p class="facts">{told}</p></header>'

    def _held(self) -> str:
        steps = self.sheet.set_point
        if not self.heated:
            return "no heat"
        told = []
        for place, ((month, day), temp) in enumerate(steps[:MOST_STEPS], 1):
            held = (
                "no heat"
                if temp is None
                else self.numbers.of_sheet(
                    "pond.set_point", "temperature held", temp, "°C", lambda v: f"{v:g} °C", use=f"set-point-{place}"
                )
            )
            on = time(calendar.dt.date(2001, month, day), "%b") if len(steps) > 1 else ""
            told.append(f"{held} from {on}" if on else held)
        return ", ".join(told) + (" and more" if len(steps) > MOST_STEPS else "")

    def _cover(self) -> str:
        cover, plan, numbers = self.sheet.pond.cover, self.sheet.cover_plan, self.numbers
        if cover is None:
            return "none"
        parts = [said(cover.kind)]
        if cover.kind != "film":
            parts.append(
                "U " + numbers.of_sheet("cover.u_value", "U-value", cover.u_value, "W/m²K", lambda v: f"{v:g} W/m²K")
            )
        if plan.on is None or plan.off is None or plan.on == plan.off:
            parts.append("day and night")
        else:
            parts.append(" to ".join(f"<time>{m // 60:02d}:{m % 60:02d}</time>" for m in (plan.on, plan.off)))
        if plan.price is not None:
            parts.append(numbers.of_sheet("cover.price", "price", plan.price, numbers.sign, numbers.money))
        return ", ".join(parts)

    def _heater(self) -> str:
        heater = self.sheet.heater
        if heater.kind == "none":
            return "none"
        power = self.numbers.of_sheet(
            "heater.power", "heater's power", heater.power, "kW", lambda v: f"{v:.4g} kW", 1000.0
        )
        return f"{said(heater.kind)}, {power}" + ("" if self.heated else ", unused: no temperature to hold")

    def _tariff(self) -> str:
        tariff = self.sheet.tariff
        if tariff is None:
            return "none in the sheet, so no money"
        count = len(tariff.rate_names)
        kind = (
            "prices by the half hour"
            if tariff.price_series is not None
            else "one price at all hours"
            if count == 1
            else "prices by the clock"
        )
        return f"{name(tariff.name, 40)}, {kind}" if tariff.name not in ("", "tariff") else kind

    # --- heat and money ---------------------------------------------------------------------------------------------------

    def _heat(self) -> str:
        numbers = self.numbers
        lost = {way: [numbers.heat(which, way) for which in self.cases] for way in ROUTE_GROUPS}
        most = max(value for cells in lost.values() for _, value in cells)
        rows = [
            [said(way)] + [f'<span class="barred">{bar(way, value, most)}{number}</span>' for number, value in cells]
            for way, cells in lost.items()
            if any(abs(value) >= SMALL for _, value in cells)
        ]
        rows.append(["<b>lost in all</b>", *(numbers.lost(which) for which in self.cases)])
        for column, gives in GAINS.items():
            if any(abs(season.hours[column].sum()) >= 1000 * SMALL for season in numbers.seasons.values()):
                rows.append([f"given by the {gives}", *(numbers.gain(which, column) for which in self.cases)])
        return table(
            ["over the season", *(f"{which}, kWh" for which in self.cases)],
            rows,
            "heat",
            "Heat that leaves the water, and what gives it",
        )

    def _season(self) -> str:
        numbers, cost = self.numbers, self.found.open.cost
        if cost is None:
            return table(
                ["over the season", *(f"{which}, kWh" for which in self.cases)],
                [["electricity and gas", *(numbers.taken(which, figures) for which in self.cases)]],
                "money",
                "Energy taken by heater and pump; the sheet has no tariff, so there is no money",
            )
        rates = list(cost.by_rate.index)
        rows = [
            [
                f"{name(rate, 20)}{self._price(place, rate)}",
                *self._pairs(
                    lambda which: numbers.rate_kwh(which, place, rate),
                    lambda which: numbers.rate_money(which, place, rate),
                ),
            ]
            for place, rate in enumerate(rates, 1)
        ]
        if len(rates) > MOST_RATES:
            rows = [*rows[:MOST_RATES], ["other rates: see the appendix", *("" for _ in self.cases for _ in "kp")]]
        if cost.added_tax_rate:
            rows.append(["tax on it", *self._pairs(lambda which: "", numbers.tax)])
        rows.append(
            [
                "<b>in all</b>",
                *self._pairs(
                    lambda which: numbers.taken(which, figures), lambda which: f"<b>{numbers.total_money(which)}</b>"
                ),
            ]
        )
        if cost.standing_charge:
            rows.append(
                ["standing charge, owed anyway", *self._pairs(lambda which: "", lambda which: numbers.standing())]
            )
        sign = said(self.sheet.currency.sign)
        return table(
            ["over the season", *self._pairs(lambda which: "kWh", lambda which: sign)],
            rows,
            "money",
            "Energy of heater and pump, and its price by rate",
            over=self.cases,
        )

    def _price(self, place: int, rate: str) -> str:
        """The price beside a rate's name, where one holds in all its hours."""
        price = self.numbers.price(place, rate)
        return f", {price}" if price else ""

    def _pairs(self, energy, money) -> list[str]:
        """A cell of energy and one of money for each case."""
        return [cell for which in self.cases for cell in (energy(which), money(which))]

    # --- what to do, what is known ------------------------------------------------------------------------------------------

    def _strip(self) -> str:
        rows = []
        for month in calendar.keeper_calendar(self.found):
            tasks = "; ".join(
                " ".join([*(f"<b>{time(day, '%b')}</b>" for day in task.days), said(task.words)])
                for task in month.tasks
            )
            rows.append([time(month.first, "%b %Y", day=False), tasks, ""])
        return table(
            ["month", "to do (common practice, no source)", "meter, kWh"],
            rows,
            "strip",
            "What to do in each month, with room for the meter's reading",
        )

    def _asked(self) -> str:
        asked = " ".join(calendar.questions(self.found.covered is not None))
        return f"<p><b>Ask yourself.</b> {said(asked)}</p>"

    def _known(self) -> str:
        sheet, document = self.sheet, self.numbers.document
        told = [
            "The bands are of this pond as learned from its own meter; heat and money by rate are of the sheet."
            if self.found.fitted
            else "No meter was fitted to this pond: measured is only what its keeper measured for the sheet."
        ]
        if sheet.assumed:
            keys = ", ".join(f"<code>{said(key)}</code>" for key in sheet.assumed[:MOST_KEYS])
            told.append(f"Guesses, says the sheet: {keys}{' and others' if len(sheet.assumed) > MOST_KEYS else ''}.")
        else:
            told.append("The sheet calls no value a guess.")
        silent = [words for key, words in STARTS.items() if self._is_silent(key)]
        if silent:
            told.append(f"At a start value: {said(', '.join(silent))}.")
        lacking = [words for key, words in LEFT_OUT.items() if key not in document]
        if lacking:
            told.append(f"Left out: {said(', '.join(lacking))}.")
        return f"<p>{' '.join(told)}</p>"

    def _taken(self) -> str:
        return "<p>One well-mixed body of water is taken. No measured heated or covered pond was found to test any of this.</p>"

    def _is_silent(self, key: str) -> bool:
        """Whether the sheet leaves a key that the pond needs to its start value."""
        group, _, part = key.partition(".")
        here = self.numbers.document.get(group, {})
        needed = group in self.numbers.document or group in ("place", "base")
        return needed and part not in here and not (key == "base.u_value" and "layers" in here)

    def _cautions(self) -> str:
        told = ""
        for count, (title, text) in enumerate(cautions.five(), 1):
            parts = [cautions.CAUTIONS[key] for key in cautions.FIVE if cautions.CAUTIONS[key].text in text]
            sources = tuple(dict.fromkeys(source for part in parts for source in part.sources))
            told += f"<p><b>{said(title)}.</b> {self.trace.sentence(f'caution-{count}', f'Caution: {title}', text, 'fish.cautions', sources)}</p>"
        return f'<div class="columns"><p><b>{said(cautions.STANDING)}</b></p>{told}{self._sources()}</div>'

    def _sources(self) -> str:
        used = {source for entry in self.trace.entries.values() for source in entry.sources}
        cited = " ".join(
            f'<a class="source" href="#source-{key}"><cite>{said(key)}</cite></a>'
            for key in BIBLIOGRAPHY
            if key in used
        )
        return f"<p><b>Sources</b>, spelled out in the appendix on the screen: {cited}</p>"

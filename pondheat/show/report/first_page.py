"""The first page of the decision sheet, which is printed: the pond, the answer, heat, money, tasks, cautions."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from markupsafe import Markup

from pondheat.analysis import calendar
from pondheat.analysis.power_cut import PowerCut
from pondheat.analysis.results import ROUTE_GROUPS, Assessment
from pondheat.analysis.scenarios import what_if as what_ifs
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.show.pictures.of_sheet import assessed_scene
from pondheat.show.pictures.palette import HUES
from pondheat.show.pictures.pond import SPOKEN, pond_picture
from pondheat.show.report import formats
from pondheat.show.report.answer import Answer
from pondheat.show.report.energy_numbers import GAINS
from pondheat.show.report.key_words import key_words
from pondheat.show.report.numbers import Numbers
from pondheat.show.report.rendering import SHARED, render, with_alt_units
from pondheat.show.report.trace import Trace, single_value

MOST_RATES, MOST_SET_POINTS, MOST_GUESSES = 4, 4, 4  # named on the first page; the appendix has them all
SMALLEST_HEAT = 0.5  # kWh over the season; a way of heat below it is not shown
HATCHES = ("M0 3h6", "M3 0v6", "M0 6L6 0", "M0 0L6 6", "M0 0h6M0 3h6")  # one a hue, so that a print in grey differs
OPTIONAL_TABLES = {  # tables without which the pond is simulated as having none
    "cover": "cover",
    "filter": "filter",
    "pump": "pump",
    "aeration": "air stones",
    "water": "water changes",
}
PICTURE = "The pond on average over the season, its heat as arrows"
WORDS_OF_KIND = {"sheet": "clear sheet", "floating": "floating cover", "film": "liquid film", "resistance": "electric"}
DEFAULTED_KEYS = {  # keys that get a default where the sheet does not give them
    "place.wind_shelter": "wind shelter (half the wind)",
    "place.sky_view": "open sky (four fifths)",
    "place.shade": "shade (a fifth)",
    "cover.gap": "leak under the cover",
    "cover.light": "light through the cover",
    "base.u_value": "floor (bare ground)",
    "filter.effectiveness": "filter's effectiveness",
}


class FirstPage:
    """Prepares the first page of one assessment; the numbers on it are recorded in `trace`.

    usual: units shown after °C and m³.
    """

    def __init__(self, assessment: Assessment, trace: Trace, usual: DisplayUnits = METRIC) -> None:
        self.assessment, self.sheet, self.trace, self.usual = assessment, assessment.sheet, trace, usual
        self.numbers = Numbers(assessment, trace)
        self.cases = list(self.numbers.energy.seasons)

    def html(self, what_if: what_ifs.ScenarioTable | None, cuts: Sequence[PowerCut], fish_kg: float | None) -> Markup:
        """The first page as HTML; what_if, cuts, fish_kg: as in `decision_sheet.report`."""
        values = {
            "answer": Answer(self.assessment, self.numbers).values(what_if, cuts),
            "pond": self._pond(fish_kg),
            "heat_rows": self._heat_rows(),
            "money": self._money(),
            "known": self._known(),
            "months": calendar.keeper_calendar(self.assessment),
            "questions": calendar.questions(self.assessment.covered is not None),
            "cautions": self._cautions(),
            "emissions": self._emissions(),
            "picture": Markup(pond_picture(assessed_scene(self.assessment), "sheet", PICTURE, self.usual)),
        }
        page = render(
            SHARED,
            "first_page.html",
            assessment=self.assessment,
            sheet=self.sheet,
            cases=self.cases,
            kwh_heads=[f"{case}, kWh" for case in self.cases],
            hatches=list(zip(HUES.values(), HATCHES)),
            standing=cautions.STANDING,
            **values,
        )
        return with_alt_units(page, self.usual)

    # --- the pond ---

    def _pond(self, fish_kg: float | None) -> dict[str, object]:
        """The pond in one line: size, temperature held, cover, heater."""
        numbers = self.numbers.sheet
        size = {"area": numbers.area(), "volume": numbers.volume(), "fish": None}
        if fish_kg is not None:
            step = single_value("mass of fish", fish_kg, "kg", "given with this report")
            size["fish"] = self.trace.number("fish", "Mass of fish", [step], lambda v: f"{units.significant(v)} kg")
        return size | {
            "set_points": self._set_points() if self.sheet.is_heated else None,
            "more_set_points": len(self.sheet.set_point) > MOST_SET_POINTS,
            "cover": self._cover(),
            "heater_power": self._heater_power(),
            "heater_words": WORDS_OF_KIND.get(self.sheet.heater.kind, self.sheet.heater.kind),
            "tariff_kind": self._tariff_kind(),
        }

    def _set_points(self) -> list[tuple[Markup | None, dt.date | None]]:
        """The first set points, each with the day from which it is held if there is more than one."""
        steps = self.sheet.set_point
        found = []
        for place, ((month, day), temp) in enumerate(steps[:MOST_SET_POINTS], 1):
            number = None
            if temp is not None:
                number = self.numbers.sheet.value(
                    "pond.set_point", "temperature held", temp, "°C", lambda v: f"[{v:.3g} °C]", f"set-point-{place}"
                )
            found.append((number, dt.date(2001, month, day) if len(steps) > 1 else None))  # any year: it is not shown
        return found

    def _cover(self) -> dict[str, object] | None:
        cover, plan, numbers = self.sheet.pond.cover, self.sheet.cover_plan, self.numbers.sheet
        if cover is None:
            return None
        u_value = price = hours = None
        if cover.kind != "film":
            u_value = numbers.value("cover.u_value", "U-value", cover.u_value, "W/m²K", lambda v: f"{v:g} W/m²K")
        if plan.on is not None and plan.off is not None and plan.on != plan.off:
            hours = [f"{minute // 60:02d}:{minute % 60:02d}" for minute in (plan.on, plan.off)]
        if plan.price is not None:
            currency = self.sheet.currency
            price = numbers.value(
                "cover.price", "price", plan.price, currency.sign, lambda v: formats.money(v, currency)
            )
        return {"words": WORDS_OF_KIND.get(cover.kind, cover.kind), "u_value": u_value, "hours": hours, "price": price}

    def _heater_power(self) -> Markup | None:
        heater = self.sheet.heater
        if heater.kind == "none":
            return None
        return self.numbers.sheet.value(
            "heater.power", "heater's power", heater.power / 1000, "kW", lambda v: f"{formats.as_given(v)} kW"
        )

    def _tariff_kind(self) -> str | None:
        tariff = self.sheet.tariff
        if tariff is None:
            return None
        if tariff.price_series is not None:
            return "prices by the half hour"
        return "one price at all hours" if len(tariff.rate_names) == 1 else "prices by the clock"

    # --- heat and money ---

    def _heat_rows(self) -> dict[str, object]:
        """Rows of the table of heat: losses with their bars, the sum of losses, gains."""
        energy = self.numbers.energy
        lost = {way: [energy.lost_by(case, way) for case in self.cases] for way in ROUTE_GROUPS}
        most = max(value for cells in lost.values() for _, value in cells)
        shown = {
            way: [(number, _bar_width(value, most)) for number, value in cells]
            for way, cells in lost.items()
            if any(abs(value) >= SMALLEST_HEAT for _, value in cells)
        }
        return {
            "lost": [(SPOKEN.get(way, way), list(HUES).index(way), cells) for way, cells in shown.items()],
            "total": [energy.lost(case) for case in self.cases],
            "gained": [
                (source, [energy.gained(case, column) for case in self.cases])
                for column, source in GAINS.items()
                if any(abs(season.hours[column].sum()) >= 1000 * SMALLEST_HEAT for season in energy.seasons.values())
            ],
        }

    def _money(self) -> dict[str, object]:
        """Rows of the table of energy and money; without a tariff only the energy."""
        energy, money = self.numbers.energy, self.numbers.money
        if money is None:
            return {"priced": False, "energy": [energy.used(case) for case in self.cases]}
        cost = money.cost("open")
        rates = [
            {
                "name": rate,
                "price": money.price(place, rate),
                "cells": [
                    (money.rate_kwh(case, place, rate), money.rate_money(case, place, rate)) for case in self.cases
                ],
            }
            for place, rate in enumerate(map(str, cost.by_rate.index), 1)
        ]
        return {
            "priced": True,
            "rates": rates[:MOST_RATES],
            "more_rates": len(rates) > MOST_RATES,
            "taxes": [money.tax(case) for case in self.cases] if cost.added_tax_rate else None,
            "totals": [(energy.used(case), money.total(case)) for case in self.cases],
            "standing": [money.standing_charge() for _ in self.cases] if cost.standing_charge else None,
        }

    def _emissions(self) -> list[Markup] | None:
        """Greenhouse gases open and covered; None where they are not known."""
        told = [self.numbers.energy.emitted(case) for case in self.cases]
        return None if None in told else [one for one in told if one is not None]

    # --- what is known, and cautions ---

    def _known(self) -> dict[str, object]:
        """What the sheet calls a guess, what it leaves to defaults, what it leaves out."""
        return {
            "fitted": self.assessment.fitted is not None,
            "guesses": [key_words(key) for key in self.sheet.assumed[:MOST_GUESSES]],
            "more_guesses": len(self.sheet.assumed) > MOST_GUESSES,
            "defaults": [text for key, text in DEFAULTED_KEYS.items() if self._has_default(key)],
            "absent": [text for table, text in OPTIONAL_TABLES.items() if table not in self.numbers.sheet.document],
        }

    def _has_default(self, key: str) -> bool:
        """Whether the pond needs a key that the sheet does not give."""
        document, (group, _, name) = self.numbers.sheet.document, key.partition(".")
        given = document.get(group, {})
        needed = group in document or group in ("place", "base")
        return needed and name not in given and not (key == "base.u_value" and "layers" in given)

    def _cautions(self) -> list[tuple[str, Markup]]:
        """Title and text of each caution, the numbers in it traced to their sources."""
        return [
            (
                caution.title,
                self.trace.sentence(
                    f"caution-{count}", f"Caution: {caution.title}", caution.text, "fish.cautions", caution.sources
                ),
            )
            for count, caution in enumerate(cautions.report_cautions(), 1)
        ]


def _bar_width(value: float, most: float) -> str:
    """Length of a bar in per cent of the longest, 0 for a gain."""
    return f"{0.0 if most <= 0 else max(min(100 * value / most, 100.0), 0.0):.2f}"

"""Tariffs: one flat rate compared with two, for pond and house, and how a cover changes the share of cheap hours."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.money.running_cost import RunningCost, running_cost
from pondheat.money.tariffs import Tariff
from pondheat.season import schedule
from pondheat.show import figures
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Slider
from pondheat.show.cover_frame import season_frame
from pondheat.show.panels import Panel, known
from pondheat.show.panels.covers import AMPLE, WATER_TEMP
from pondheat.show.pictures.carpet import MIDNIGHT, Carpet, SeasonCarpets
from pondheat.show.ponds import currency, held_all_season
from pondheat.show.tables import show_table

FLAT = Tariff("One rate (invented)", otherwise=0.25, standing_charge=0.50)
STANDING = 0.60  # money a day of the tariff with two rates (invented)
NIGHT = "night"  # name of the cheap window in the pond sheet
CENTRE = 60  # minutes after midnight: the middle of the hours covered
NAMES = {"flat": "one rate", "two": "two rates"}
SCALES = (6000.0, 10_000.0)  # money: for what the page suggests trying, and for all that the sliders reach


class FlatAgainstTwo(Panel):
    """The invented garden pond at 18 °C and a house, from September to May, on two invented tariffs."""

    def __init__(self):
        self.sheet = held_all_season(WATER_TEMP, AMPLE)
        self.place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        self.open_season = assessment.run_season(
            self.sheet, self.place, covered=False
        )  # does not depend on the sliders
        index = times_of(self.open_season.hours)
        self.tariff = known(self.sheet.tariff)
        self.by_day = self.tariff.rates(index)[1][NIGHT].to_numpy() == 0
        self.days = round(len(index) / 24)
        self.carpets = SeasonCarpets(self.place, WATER_TEMP)
        self.unpriced = self.carpets.of(self.sheet.pond)
        self.frame = season_frame("tariff", self._carpet(self.tariff), self.sheet.currency)
        money = self.sheet.currency
        super().__init__(
            "tariff",
            {
                "hours": Slider("Hours covered, each night", 14, 0, 24, 1, "hour"),
                "night_rate": Slider(
                    "Night rate, 00:30 to 07:30", 12, 5, 25, 1, "hundredth_of_money/kWh", currency=money
                ),
                "day_rate": Slider(
                    f"Day rate (the flat tariff: 25 {money.hundredth})",
                    30,
                    20,
                    40,
                    1,
                    "hundredth_of_money/kWh",
                    currency=money,
                ),
                "house": Slider("House, September to May, all by day", 3000, 0, 6000, 500, "kWh"),
            },
            caution="gas_exchange",
        )
        self.show_below(self.frame)

    def _carpet(self, tariff: Tariff) -> Carpet:
        return self.carpets.priced(self.unpriced, tariff, self.sheet.currency.hundredth)

    def season(self, hours: float) -> assessment.Season:
        """The season with a cover on for so many hours each night."""
        covered = schedule.covered_share_around(times_of(self.place.hours), hours, CENTRE)
        return assessment.run_season(self.sheet, replace(self.place, covered=covered), covered=True)

    def redraw(self, hours, night_rate, day_rate, house):
        """Cost of pond and house on both tariffs, open and covered."""
        self.covered_season, self.hours, self.house = self.season(hours), hours, house
        windows = tuple(replace(window, rate=night_rate / 100) for window in self.tariff.windows)
        self.two = replace(self.tariff, windows=windows, otherwise=day_rate / 100, standing_charge=STANDING)
        self.bills: dict[tuple[str, str], RunningCost] = {
            (state, name): running_cost(self._used(season), tariff)
            for state, season in (("open", self.open_season), ("covered", self.covered_season))
            for name, tariff in (("flat", FLAT), ("two", self.two))
        }
        bars = {f"{state}, {NAMES[name]}": bill.total for (state, name), bill in self.bills.items()}
        cheaper = "flat" if self.difference("covered") > 0 else "two"
        figure = figures.bars(
            bars,
            self.name,
            f"Electricity of pond and house, {self.days} days from September to May",
            {name: self._rounded(total) for name, total in bars.items()},
            f"covered, {NAMES[cheaper]}",
            scales=SCALES,
        )
        return figure, self._text()

    def follow(self, hours, night_rate, day_rate, house):
        """The carpet with these prices, and the hours covered as its frame."""
        self.frame.follow(hours, MIDNIGHT + CENTRE / 60, (night_rate, day_rate), lambda: self._carpet(self.two))

    def _used(self, season: assessment.Season) -> pd.Series:
        """Hourly consumption of pond and house [kWh]."""
        return season.hours["electricity"] / 1000 + self.house * self.by_day / self.by_day.sum()

    def difference(self, state: str) -> float:
        """Cost on two rates less cost on one [money]; state: "open" or "covered"."""
        return self.bills[state, "two"].total - self.bills[state, "flat"].total

    @staticmethod
    def cheap_share(season: assessment.Season) -> float:
        """Share of the pond's own consumption in the cheap hours [%]."""
        by_rate = known(season.cost).by_rate["kwh"]
        return 100 * float(by_rate[NIGHT] / by_rate.sum())

    def _rounded(self, value: float) -> str:
        return units.money(abs(value), self.sheet.currency, 0)

    def _standing(self, charge: float) -> str:
        return f"Standing charge, {self.days} days at {units.money(charge, self.sheet.currency)}"

    def _compared(self, state: str) -> str:
        difference = self.difference(state)
        if round(difference) == 0:
            return "both tariffs cost the same"
        return f"two rates are {self._rounded(difference)} {'more expensive' if difference > 0 else 'cheaper'} than one"

    def _text(self) -> str:
        text = (
            f"Open, from September to May, {self.cheap_share(self.open_season):.0f} % of the pond's units fall in the "
            f"cheap hours, and for pond and house {self._compared('open')}."
        )
        if not self.hours:
            return text
        nightly = "day and night" if self.hours == 24 else f"{self.hours:g} hours each night"
        return (
            f"{text} Covered {nightly}, {self.cheap_share(self.covered_season):.0f} % do, and "
            f"{self._compared('covered')}."
        )

    def arithmetic(self):
        """The covered season's bill on both tariffs, and the difference."""
        chain = Chain(self.sheet.currency)
        by_rate = known(self.covered_season.cost).by_rate["kwh"]
        night, day = float(by_rate[NIGHT]), float(by_rate.sum() - by_rate[NIGHT])
        rates = {
            "night": known(self.two.windows[0].rate),
            "day": known(self.two.otherwise),
            "flat": known(FLAT.otherwise),
        }
        invented = "invented tariff"
        bills = {}
        pond = chain.add(
            "The pond takes, covered", [("at night", night), ("by day", day)], "kWh", "the season, hour by hour"
        )
        parts = [
            (
                "pond, night",
                chain.times("Pond at night", (night, "kWh"), (rates["night"], "money/kWh"), "money", invented),
            ),
            ("pond, day", chain.times("Pond by day", (day, "kWh"), (rates["day"], "money/kWh"), "money", invented)),
            ("house", chain.times("House by day", (self.house, "kWh"), (rates["day"], "money/kWh"), "money", invented)),
            ("standing", chain.given(self._standing(STANDING), STANDING * self.days, "money", invented)),
        ]
        bills["two"] = chain.add("Two rates, covered", parts, "money", "the fourth column")
        whole = chain.add("Pond and house", [("pond", pond), ("house", self.house)], "kWh", "shown above")
        parts = [
            ("units", chain.times("At one rate", (whole, "kWh"), (rates["flat"], "money/kWh"), "money", invented)),
            (
                "standing",
                chain.given(self._standing(FLAT.standing_charge), FLAT.standing_charge * self.days, "money", invented),
            ),
        ]
        bills["flat"] = chain.add("One rate, covered", parts, "money", "the third column")
        chain.add(
            "Two rates cost more by",
            [("two rates", bills["two"]), ("one rate", -bills["flat"])],
            "money",
            f"shown above as {self._rounded(self.difference('covered'))}",
        )
        return chain


def panel() -> FlatAgainstTwo:
    """The panel of this page."""
    return FlatAgainstTwo()


SITUATION = {"hour": 1.0, "has_cover": True, "covered": 1.0, "heater": 0.0}
QUESTION = "With the cover on at night, pond and house together pay less with …"
OPTIONS = {
    "two": "two rates: the cover is on in the cheap hours",
    "flat": "one rate: the cover saves mostly cheap hours",
    "no change": "two rates, as before: it changes how much, not when",
}
RIGHT = "flat"
WORDS = {
    "two": "The cover is on in the cheap hours, and that sounds like a bargain. But those are the hours it saves: "
    "what's left to buy is mostly at the day rate.",
    "no change": "That would be right if it saved the same in every hour. But at night it saves most, and by day "
    "nothing.",
}


def print_cover_hours() -> None:
    """Show the share of cheap hours and the savings in units and money by the number of hours covered, as a table."""
    shown = panel()
    without, pence = shown.open_season, currency().hundredth
    rows = []
    for hours in (0, 4, 8, 12, 16, 20, 24):
        season = shown.season(hours)
        units_saved = units.digits(100 * (1 - season.electricity_kwh / without.electricity_kwh))
        money_saved = units.digits(100 * (1 - known(season.money) / known(without.money)))
        rows.append((f"{hours}", f"{shown.cheap_share(season):.0f}", units_saved, money_saved))
    show_table(
        f"The invented pond, {temperature(18)}, September to May; 12 {pence} from 00:30 to 07:30, 30 {pence} otherwise",
        ("hours covered", "in cheap hours, %", "units saved, %", "money saved, %"),
        rows,
    )

"""The first page: a pond's season at every move of a slider, and which of four ponds costs most."""

from __future__ import annotations

from dataclasses import replace

from pondheat.analysis import assessment
from pondheat.analysis.results import ROUTE_GROUPS, LikelyRange, ScenarioArrays, Season
from pondheat.analysis.uncertainty import refined_scenarios, season_samples
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.core.likely import MEANING
from pondheat.lesson.marking import not_quite
from pondheat.sheet import pond_sheet as sheets
from pondheat.show import figures, ponds
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice, Slider
from pondheat.show.live_range import COARSE, SCENARIOS
from pondheat.show.panels import Panel, about, about_difference, known
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.of_sheet import mean_weather, season_scene
from pondheat.show.pictures.scene import PondScene
from pondheat.show.ponds import invented_text
from pondheat.show.tables import show_table


def grouped(season: Season) -> dict[str, float]:
    """A season's heat loss by the groups of the charts [kWh]."""
    return {group: sum(season.routes_kwh[name] for name in names) for group, names in ROUTE_GROUPS.items()}


class FirstPanel(Panel):
    """The invented garden pond's season, open and covered, at every move of a slider."""

    SPAN = "September to May"
    LIVE = True
    TOO_WARM = 28.0  # °C (judgement)
    FULL = 2500.0  # W, of the widest arrow; the same at every move unless a flow is far larger

    def __init__(self):
        self.seasons = ponds.garden_seasons()
        self.weather = mean_weather(self.seasons.place)
        self.sheet = self.seasons.sheet
        self.open_season: Season
        self.covered_season: Season
        start = self.seasons.START
        super().__init__(
            "first",
            {
                "water_temp": Slider("Water temperature", start["water_temp"], 8, 26, 0.5, "degC"),
                "hours": Slider("Hours covered, out of 24", start["hours"], 0, 24, 1, "hour"),
                "night_price": Slider(
                    f"Price of a night unit (day: 30 {self.sheet.currency.hundredth})",
                    start["night_price"],
                    5,
                    40,
                    1,
                    "hundredth_of_money/kWh",
                    currency=self.sheet.currency,
                ),
                "shelter": Slider("Wind that reaches the water", start["shelter"], 20, 100, 5, "percent"),
            },
            caution="gas_exchange",
        )

    def redraw(self, water_temp, hours, night_price, shelter):
        """Heat loss by route, open and covered; seasons a slider does not affect are cached."""
        self.open_season = self.seasons.run(water_temp, night_price, shelter, None)
        self.covered_season = self.seasons.run(water_temp, night_price, shelter, hours)
        self.hours = hours
        return pond_figure(self._scene(shelter), self.name, self._title()), self._text(water_temp)

    def _title(self) -> str:
        return f"Mean heat flows, {self.SPAN}, {'dashed: no cover' if self.hours else 'never covered'}"

    def _scene(self, shelter: float) -> PondScene:
        """The season's mean heat flows, with those of the open pond as outlines where there are hours covered."""
        return season_scene(
            self.sheet,
            self.covered_season if self.hours else self.open_season,
            self.open_season if self.hours else None,
            **(self.weather | {"wind": self.weather["wind"] * shelter / 100}),
            covered=self.hours / 24,
            shelter=shelter / 100,
            full=self.FULL,
        )

    def uncertain(self, water_temp, hours, night_price, shelter):
        """The likely range of this very state: a few runs first, then all."""
        sheet, conditions = self.seasons.moved(water_temp, night_price, shelter, hours)

        def work(dropped):
            samples = season_samples(sheet, conditions, SCENARIOS, self.seasons.kind_of_weather)
            for arrays in refined_scenarios(sheet, conditions, samples, COARSE, dropped):
                yield self._likely_text(arrays, hours)

        return work

    def _likely_text(self, arrays: ScenarioArrays, hours: float) -> str:
        currency, count = self.sheet.currency, len(arrays.open_kwh)

        def likely(values) -> str:
            found = LikelyRange.of(known(values))
            low, middle, high = (about(value, currency) for value in (found.low, found.middle, found.high))
            return f"{low} to {high} (middle {middle})"

        text = f"Likely range ({MEANING} of {count} runs): {likely(arrays.open_money)} without a cover"
        if hours:
            text += f"; {likely(arrays.covered_money)} with it; the cover saves {likely(arrays.saving_money)}"
        return (
            f"{text}. Each run has a different winter, price, wind and formula; the figures above are for one run with "
            "your settings."
        )

    def _text(self, water_temp: float) -> str:
        currency = self.sheet.currency
        open_cost, covered_cost = known(self.open_season.money), known(self.covered_season.money)
        text = (
            f"Kept at {temperature(water_temp)} from {self.SPAN}, this pond's electricity costs about "
            f"{about(open_cost, currency)} without a cover."
        )
        if self.hours:
            text += (
                f" With one on for {self.hours:g} hours a day it costs about {about(covered_cost, currency)}. "
                f"The cover saves about {about_difference(open_cost, covered_cost, currency)} a season."
            )
        short, how = (
            (self.covered_season, "Even covered")
            if self.hours and self.covered_season.short_hours
            else (self.open_season, "Without the cover")
        )
        if short.short_hours:
            text += (
                f" {how}, the {self.sheet.heater.power / 1000:g} kW heater cannot keep up for {short.short_hours} "
                f"hours: the water drops to {temperature(short.lowest_temp, 1)} at worst."
            )
        if self.hours and self.covered_season.highest_temp > self.TOO_WARM:
            text += (
                " A cover on for that long lets the sun heat the water to "
                f"{temperature(self.covered_season.highest_temp, 0)}, too warm "
                "for the fish: take it off on sunny days."
            )
        return text

    def show_one_step_each(self) -> None:
        """Show the change in cost for one step of each control, as a table."""
        values = {name: control.value for name, control in self.controls.items()}
        before_steps = self.open_season, self.covered_season, self.hours
        rows = []
        self.redraw(**values)
        before = known(self.covered_season.money)
        for name, step, words in (
            ("water_temp", 1.0, "[one degree] warmer"),
            ("hours", 2.0, "two hours longer covered"),
            ("night_price", 3.0, f"night unit 3 {self.sheet.currency.hundredth} more"),
            ("shelter", 10.0, "wind 60 %, not 50 %"),
        ):
            self.redraw(**{**values, name: values[name] + step})
            change = known(self.covered_season.money) - before
            sign = "+" if change > 0 else "−"
            amount = f"{sign}{units.money(abs(change), self.sheet.currency)}"
            rows.append((words, amount, f"{sign}{abs(100 * change / before):.0f} %"))
        self.open_season, self.covered_season, self.hours = before_steps
        show_table("The cost of a season with the cover on", ("one step", "changes by", "which is"), rows)

    def arithmetic(self):
        """From heat loss to cost for the covered season, and the saving compared with the open one."""
        chain = Chain(self.sheet.currency)
        season, currency = self.covered_season, self.sheet.currency
        lost = chain.add(
            "Heat lost, covered",
            list(grouped(season).items()),
            "kWh",
            f"evaporation: {source('ryan_harleman_1973')}; sky: {source('try_2010')}",
        )
        pump = float(season.hours["pump"].sum()) / 1000
        stored = float(season.hours["stored"].sum()) / 1000
        heat = chain.add(
            "The heater must give",
            [("lost", lost), ("sun", -season.solar_kwh), ("pump's warmth", -pump), ("stored in the water", stored)],
            "kWh",
            "what is lost must be replaced",
        )
        pump_taken = season.electricity_kwh - season.heat_kwh
        chain.add("Electricity", [("heater, one for one", heat), ("pump", pump_taken)], "kWh", "resistance heater")
        money = 0.0
        for name, row in known(season.cost).by_rate.iterrows():
            price = row.money / row.kwh if row.kwh else 0.0
            money += chain.times(
                f"At the rate “{name}”",
                (float(row.kwh), "kWh"),
                (float(price), "money/kWh"),
                "money",
                "invented tariff",
            )
        chain.given("Covered season", money, "money", f"shown above as {about(money, currency)}")
        open_money = chain.given(
            "Open season, in the same way",
            known(self.open_season.money),
            "money",
            f"shown above as {about(known(self.open_season.money), currency)}",
        )
        chain.add(
            "The cover saves",
            [("open", open_money), ("covered", -money)],
            "money",
            f"shown above as about {about_difference(open_money, money, currency)}",
        )
        return chain


class FourPonds(Panel):
    """A question before its chart: which of four ponds costs most to keep warm?"""

    TARIFF_NOTE = "same weather, same heater, same invented tariff"
    PONDS = {  # name: (surface m², volume m³, °C, covered at night, words)
        "Big, deep": (8, 20, 16, False, "Big and deep"),
        "Wide, shallow": (20, 12, 16, False, "Wide and shallow"),
        "Small, warm": (4, 4, 22, False, "Small and warm"),
        "Wide, covered": (20, 16, 16, True, "Wide, and covered at night"),
    }
    OPTIONS = {
        name: f"{words}: {area}\u00a0m² of surface, [{volume}\u00a0m³], kept at [{temp}\u00a0°C]"
        for name, (area, volume, temp, _, words) in PONDS.items()
    }
    SLIPS = {
        "Big, deep": "Surely so much water takes a lot of heat. But only warming it up does: after that, heat is lost "
        "through the surface, and this pond has little of it for its size.",
        "Small, warm": "Warm water does lose heat faster from each square metre. But here there are only four of them.",
        "Wide, covered": "It has just as much surface. But the cover saves most of the night's heat.",
    }

    def __init__(self):
        text = invented_text()
        self.money: dict[str, float] = {}
        for name, (area, volume, temp, covered, _) in self.PONDS.items():
            changed = sheets.with_values(
                text,
                {
                    "pond": {
                        "surface_area": f"{area} m²",
                        "volume": f"{volume} m³",
                        "set_point": f"{temp} °C",
                        "start_temp": f"{temp} °C",
                    },
                    "wall": None,
                    "base": None,
                    "filter": None,
                    "aeration": None,
                    "heater.power": "12 kW",
                },
            )
            sheet = sheets.from_text(changed)
            sheet = replace(sheet, pond=replace(sheet.pond, walls=()))  # the question is about surface and warmth alone
            self.sheet = sheet
            place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
            self.money[name] = known(assessment.run_season(sheet, place, covered).money)
        self.dearest = max(self.money, key=self.money.__getitem__)
        options = self.OPTIONS | {"": "I don't know, show me"}
        asked = Choice("Which of these four costs most to keep warm from September to May?", options)
        super().__init__("four", {"guess": asked.add_class("ph-lettered").add_class("ph-guess")})

    def redraw(self, guess):
        """Nothing before a choice; then the four costs and a reply to the choice."""
        if guess is None:
            return None, "Choose one to see the costs."
        written = {name: about(value, self.sheet.currency) for name, value in self.money.items()}
        figure = figures.bars(
            self.money, self.name, "Electricity from September to May, " + self.TARIFF_NOTE, written, self.dearest
        )
        right = guess == self.dearest
        start = "Yes. " if right else f"{not_quite(self.SLIPS[guess])} " if guess else ""
        volumes = {name: values[1] for name, values in self.PONDS.items()}
        biggest = max(volumes, key=volumes.__getitem__)
        return figure, (
            f"{start}The wide, shallow pond costs most, {written[self.dearest]}; the one with most water "
            f"costs {written[biggest]}. Heat is lost through the surface, the faster the warmer the water is than the "
            "air. The litres below only decide how slowly the pond warms and cools."
        )

    def arithmetic(self):
        """Cost of each square metre, which explains the chart; None before a choice."""
        if self.controls["guess"].value is None:
            return None
        chain = Chain(self.sheet.currency)
        for name, (area, *_) in self.PONDS.items():
            chain.add(
                f"{name}: {area} m² of surface",
                [("electricity", self.money[name])],
                "money",
                f"{about(self.money[name] / area, self.sheet.currency)} for each square metre",
            )
        return chain


def first() -> FirstPanel:
    """The first panel of the workbook."""
    return FirstPanel()


def four_ponds() -> FourPonds:
    """The first question of the workbook."""
    return FourPonds()

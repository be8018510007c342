"""The numbers of a decision sheet, each written with the steps that lead to it.

Every method gives HTML: a number that links to its entry. Seasons are named "open" and "covered".
"""

from __future__ import annotations

import functools
import math

import numpy as np
import pandas as pd

from pondheat.analysis.results import ROUTE_GROUPS, Assessment, Season
from pondheat.core import toml_errors, units
from pondheat.heat import surface
from pondheat.money import payback
from pondheat.money.tariffs import GAS, OTHER_HOURS
from pondheat.season.heaters import COP_FORMULAS
from pondheat.show.report.html_parts import clipped
from pondheat.show.report.trace import Step, Trace, given
from pondheat.text.summary import ROUTE_NAMES

GAINS = {"solar": "sun", "pump": "pump", "heater": "heater"}  # column of the hours → what gives
SMALL = 0.5  # kWh over the season, below which a way of heat is not shown
HOURS = "hours of the run"


def figures(value: float) -> str:
    """A number as it deserves: three figures, one below 1."""
    return units.significant(value, 3 if abs(value) >= 1 else 1)


def kwh(value: float) -> str:
    """Energy as it deserves [kWh]."""
    return f"{figures(value)} kWh"


class Numbers:
    """Writes the numbers of one assessment and keeps their thread."""

    def __init__(self, found: Assessment, trace: Trace):
        self.found, self.trace, self.currency = found, trace, found.sheet.currency
        self.sign = self.currency.sign
        try:
            self.document = toml_errors.loads(found.sheet.text)
        except units.Unreadable:
            self.document = {}
        self.seasons = {"open": found.open} | ({"covered": found.covered} if found.covered is not None else {})
        self._monthly = functools.cache(self._by_month)
        self._parts = functools.cache(self._rate_parts)

    def money(self, value: float, digits: int = 3) -> str:
        """Money as it deserves: three figures, pennies below twenty."""
        rounded = value if abs(value) < 20 else float(f"{value:.{digits}g}")
        return units.money(rounded, self.currency)

    # --- the sheet ----------------------------------------------------------------------------------------------------

    def standing_of(self, key: str) -> str:
        """What the sheet says of a key: given, called a guess, or silent."""
        table, _, name = key.rpartition(".")
        here = self.document.get(table, {}) if table else self.document
        if key in self.found.sheet.assumed:
            return f"{key}: a start value or guess, says the sheet"
        if isinstance(here, dict) and name in here:
            return f"{key} in the sheet: {clipped(here[name], 40)}"
        return f"{key}: not in the sheet, start value of this workbook"

    def of_sheet(self, key: str, title: str, value: float, unit: str, write, scale: float = 1.0, use: str = "") -> str:
        """A value of the sheet; scale turns the library's unit into the one shown."""
        steps = [given(title, value / scale if scale != 1 else value, unit, self.standing_of(key))]
        return self.trace.number(f"sheet-{(use or key).replace('.', '-').replace('_', '-')}", title, steps, write)

    def _product(self, title: str, keys: tuple[str, ...], value: float, unit: str, lone: str) -> list[Step]:
        """How a size comes from the lengths in the sheet; as given where it does not."""
        body = self.document.get("pond", {})
        try:
            parts = tuple(
                (
                    key,
                    self.found.sheet.pond.surface_area if key == "surface" else units.parse(body[key], "m"),
                    "m²" if key == "surface" else "m",
                )
                for key in keys
            )
        except (KeyError, TypeError, units.Unreadable):
            parts = ()
        if lone not in body and parts and math.isclose(math.prod(part[1] for part in parts), value, rel_tol=1e-9):
            return [Step(title, parts, "×", unit, "lengths in the sheet")]
        return [given(title, value, unit, self.standing_of(f"pond.{lone}"))]

    def area(self) -> str:
        """Surface of the water."""
        steps = self._product(
            "length × width", ("length", "width"), self.found.sheet.pond.surface_area, "m²", "surface_area"
        )
        return self.trace.number("area", "Surface of the water", steps, lambda v: f"{v:.4g} m²")

    def volume(self) -> str:
        """Volume of the water."""
        steps = self._product("surface × depth", ("surface", "depth"), self.found.sheet.pond.volume, "m³", "volume")
        return self.trace.number("volume", "Volume of the water", steps, lambda v: f"{v:.4g} m³")

    def depth(self) -> str:
        """Mean depth of the water."""
        pond = self.found.sheet.pond
        step = Step(
            "volume ÷ surface", (("", pond.volume, "m³"), ("", pond.surface_area, "m²")), "÷", "m", "the two above"
        )
        return self.trace.number("depth", "Mean depth", [step], lambda v: f"{units.significant(v, 2)} m")

    # --- heat -----------------------------------------------------------------------------------------------------------

    def _by_month(self, which: str) -> pd.DataFrame:
        frame = self.seasons[which].hours
        frame = frame.select_dtypes("number")
        return frame.groupby(frame.index.strftime("%b %Y"), sort=False).sum() / 1000

    def _months(self, which: str, column: str, words: str) -> Step:
        values = self._monthly(which)[column]
        return Step(
            words,
            tuple((month, float(v), "kWh") for month, v in values.items()),
            "+",
            "kWh",
            f"{HOURS}, {which}, by month",
        )

    def heat(self, which: str, way: str) -> tuple[str, float]:
        """Heat lost by a way over the season, and its value [kWh]."""
        season = self.seasons[which]
        steps = [
            self._months(which, name, ROUTE_NAMES[name])
            for name in ROUTE_GROUPS[way]
            if abs(season.routes_kwh[name]) > 0
        ]
        steps = steps or [given(way, 0.0, "kWh", f"{HOURS}, {which}")]
        if len(steps) > 1:
            steps.append(
                Step(way, tuple((step.words, step.result, "kWh") for step in steps), "+", "kWh", "the lines above")
            )
        return self.trace.number(
            f"heat-{which}-{list(ROUTE_GROUPS).index(way) + 1}",
            f"Heat lost by {way}, {which}",
            steps,
            figures,
            self._sources_of(way),
        ), steps[-1].result

    def _sources_of(self, way: str) -> tuple[str, ...]:
        pond = self.found.sheet.pond
        known = {
            "evaporation": (surface.EVAPORATION[pond.evaporation].source,),
            "convection": (surface.EVAPORATION[pond.evaporation].source, "fao_56"),
            "long wave": (surface.SKY[pond.sky].source, "walton_1983"),
            "walls and floor": ("iso_6946", "iso_13370", "iso_10456"),
            "filter, air, new water": ("merkel_1925", "practice"),
        }
        return known[way]

    def lost(self, which: str) -> str:
        """All heat lost over the season."""
        parts = tuple(
            (way, math.fsum(self.seasons[which].routes_kwh[name] for name in names), "kWh")
            for way, names in ROUTE_GROUPS.items()
        )
        return self.trace.number(
            f"lost-{which}",
            f"Heat lost in all, {which}",
            [Step("all ways", parts, "+", "kWh", "each has its own entry")],
            figures,
        )

    def gain(self, which: str, column: str) -> str:
        """Heat that sun, pump or heater give over the season."""
        sources = {"solar": ("fao_56",), "heater": self._heater_sources()}.get(column, ())
        return self.trace.number(
            f"gain-{which}-{column}",
            f"Heat from the {GAINS[column]}, {which}",
            [self._months(which, column, f"heat from the {GAINS[column]}")],
            figures,
            sources,
        )

    def _heater_sources(self) -> tuple[str, ...]:
        heater = self.found.sheet.heater
        return (COP_FORMULAS[heater.cop_formula].source,) if heater.kind == "heat pump" else ()

    # --- money ----------------------------------------------------------------------------------------------------------

    def _rate_parts(self, which: str) -> dict[str, tuple[pd.Series, pd.Series]]:
        """By name of rate: kilowatt-hours and money of each month."""
        season, sheet = self.seasons[which], self.found.sheet
        months = season.hours.index.strftime("%b %Y")
        energy = np.maximum(season.hours["electricity"].to_numpy() / 1000, 0.0)
        shares, costs = sheet.tariff.rate_shares(season.hours.index)

        def monthly(values: np.ndarray) -> pd.Series:
            return pd.Series(values).groupby(months, sort=False).sum()

        made = {
            name: (monthly(energy * shares[:, column]), monthly(energy * costs[:, column]))
            for column, name in enumerate(sheet.tariff.rate_names)
        }
        if GAS in season.cost.by_rate.index:
            gas = season.hours["gas"].to_numpy() / 1000
            made[GAS] = (monthly(gas), monthly(gas * sheet.gas_rate))
        return made

    def _one_price(self, rate: str) -> float | None:
        """The price that holds in all hours of a rate [money/kWh]; None where it has several."""
        tariff = self.found.sheet.tariff
        if rate == GAS:
            return self.found.sheet.gas_rate
        prices = {window.rate for window in tariff.windows if window.name == rate}
        if not prices or rate == OTHER_HOURS:
            prices = {*prices, tariff.otherwise if tariff.price_series is None else None}
        return prices.pop() if len(prices) == 1 else None

    def _kwh_step(self, which: str, rate: str) -> Step:
        months = self._parts(which)[rate][0]
        return Step(
            f"taken at “{clipped(rate, 30)}”",
            tuple((m, float(v), "kWh") for m, v in months.items()),
            "+",
            "kWh",
            f"{HOURS}, {which}, by month",
        )

    def _money_step(self, which: str, rate: str) -> Step:
        price, months = self._one_price(rate), self._parts(which)[rate][1]
        if price is None:
            return Step(
                "each hour at its own price",
                tuple((m, float(v), self.sign) for m, v in months.items()),
                "+",
                self.sign,
                f"{HOURS}, {which}, by month",
            )
        return Step(
            "kWh × price",
            (("", self._kwh_step(which, rate).result, "kWh"), ("", price, f"{self.sign}/kWh")),
            "×",
            self.sign,
            "the tariff in the sheet",
        )

    def price(self, place: int, rate: str) -> str:
        """The price of a rate, where one holds in all its hours; else nothing."""
        price = self._one_price(rate)
        if price is None:
            return ""
        return self.trace.number(
            f"rate-{place}",
            f"Price of “{clipped(rate, 30)}”",
            [
                given("price", price, f"{self.sign}/kWh", "the tariff in the sheet"),
                Step(
                    f"in {self.currency.hundredth}",
                    (("", price, self.sign), ("", 100.0, f"{self.currency.hundredth}/{self.sign}")),
                    "×",
                    self.currency.hundredth,
                    "by definition",
                ),
            ],
            lambda v: f"{units.digits(v, 1)} {self.currency.hundredth}",
        )

    def rate_kwh(self, which: str, place: int, rate: str) -> str:
        """Energy taken under one rate."""
        return self.trace.number(
            f"kwh-{which}-{place}", f"Taken at “{clipped(rate, 30)}”, {which}", [self._kwh_step(which, rate)], figures
        )

    def rate_money(self, which: str, place: int, rate: str) -> str:
        """Money for one rate, before tax that is added."""
        return self.trace.number(
            f"money-{which}-{place}",
            f"Money for “{clipped(rate, 30)}”, {which}",
            [self._kwh_step(which, rate), self._money_step(which, rate)],
            self.money,
        )

    def _money_steps(self, which: str) -> list[Step]:
        parts = tuple(
            (clipped(rate, 30), self._money_step(which, rate).result, self.sign) for rate in self._parts(which)
        )
        steps = [Step("all rates", parts, "+", self.sign, "each rate has its own entry")]
        tax = self.seasons[which].cost.added_tax_rate
        if tax:
            steps.append(
                Step(
                    "tax on it",
                    (("", steps[0].result, self.sign), ("", tax, "")),
                    "×",
                    self.sign,
                    "the tariff in the sheet",
                )
            )
            steps.append(
                Step(
                    "with tax",
                    (("", steps[0].result, self.sign), ("tax", steps[1].result, self.sign)),
                    "+",
                    self.sign,
                    "the lines above",
                )
            )
        return steps

    def tax(self, which: str) -> str:
        """Tax added to the rates."""
        return self.trace.number(f"tax-{which}", f"Tax on it, {which}", self._money_steps(which)[:2], self.money)

    def total_money(self, which: str) -> str:
        """What the season's energy costs, with tax, without the standing charge."""
        return self.trace.number(
            f"money-{which}", f"Energy over the season, {which}", self._money_steps(which), self.money
        )

    def _taken_step(self, which: str) -> Step:
        season: Season = self.seasons[which]
        parts = (("electricity", season.electricity_kwh, "kWh"),)
        if season.gas_kwh:
            parts += (("gas", season.gas_kwh, "kWh"),)
        return Step(f"taken, {which}", parts, "+", "kWh", f"{HOURS}, {which}")

    def taken(self, which: str, write=kwh) -> str:
        """Electricity and gas over the season."""
        column = [
            self._months(which, name, name) for name in ("electricity", "gas") if self._monthly(which)[name].any()
        ]
        return self.trace.number(
            f"taken-{which}", f"Electricity and gas taken, {which}", [*column, self._taken_step(which)], write
        )

    def standing(self) -> str:
        """The standing charge over the season."""
        cost, tariff = self.found.open.cost, self.found.sheet.tariff
        days = round(cost.standing_charge / tariff.standing_charge) if tariff.standing_charge else 0
        steps = [
            Step(
                "charge × days",
                (("", tariff.standing_charge, f"{self.sign}/day"), ("", float(days), "days")),
                "×",
                self.sign,
                "the tariff in the sheet; days of the season",
            )
        ]
        if cost.added_tax_rate:
            steps.append(
                Step(
                    "with tax",
                    (("", steps[0].result, self.sign), ("", 1 + cost.added_tax_rate, "")),
                    "×",
                    self.sign,
                    "the tariff in the sheet",
                )
            )
        return self.trace.number("standing", "Standing charge", steps, self.money)

    # --- saving and payback -----------------------------------------------------------------------------------------------

    def _saving_steps(self) -> list[Step]:
        sums = [self._money_steps(which)[-1].result for which in ("open", "covered")]
        return [
            Step(
                "open − covered",
                (("open", sums[0], self.sign), ("covered", sums[1], self.sign)),
                "−",
                self.sign,
                "both have their own entries",
            )
        ]

    def saving_money(self) -> str:
        """What the cover saves in money; in words “less than nothing” is for the caller."""
        return self.trace.number("saving-money", "Saving in money", self._saving_steps(), lambda v: self.money(abs(v)))

    def saving_kwh(self) -> str:
        """What the cover saves in energy."""
        return self.trace.number("saving-kwh", "Saving in energy", [self._saved_step()], lambda v: kwh(abs(v)))

    def _saved_step(self) -> Step:
        opened, covered = (self._taken_step(which).result for which in ("open", "covered"))
        return Step(
            "open − covered",
            (("open", opened, "kWh"), ("covered", covered, "kWh")),
            "−",
            "kWh",
            "both have their own entries",
        )

    def saving_share(self) -> str:
        """The saving over what the open pond takes."""
        opened = self._taken_step("open").result
        steps = [
            self._saved_step(),
            Step(
                "saved ÷ taken open",
                (("", self._saved_step().result, "kWh"), ("", opened, "kWh")),
                "÷",
                "",
                "the lines above",
            ),
            Step(
                "in per cent",
                (("", self._saved_step().result / opened, ""), ("", 100.0, "%")),
                "×",
                "%",
                "by definition",
            ),
        ]
        return self.trace.number("saving-share", "Saving as a share", steps, lambda v: f"{units.digits(v)} %")

    def band(self, key: str, title: str, band, write, unit: str) -> str:
        """Both ends of a band from the runs; where a meter taught their pond, its middle too, as no other number of the
        sheet belongs to that band."""
        doubt = self.found.uncertainty

        def ranked(end: str, place: float) -> str:
            rank = round(place * (doubt.scenarios - 1)) + 1
            step = given(
                f"number {rank} of {doubt.scenarios} runs, smallest first",
                getattr(band, end),
                unit,
                "runs of the season, see “The runs”",
            )
            return self.trace.number(
                f"{key}-{end}", f"{title}, {'middle' if end == 'middle' else f'{end} end'}", [step], write
            )

        learned = f"as learned from its own meter {ranked('middle', 0.5)}, " if doubt.learned else ""
        return f"{learned}likely {ranked('low', 0.1)} to {ranked('high', 0.9)}"

    def runs(self) -> str:
        """How many runs stand behind a band."""
        return self.trace.number(
            "runs",
            "Runs behind each band",
            [given("runs", float(self.found.uncertainty.scenarios), "", "uncertainty.SCENARIOS")],
            units.digits,
            note="Each run takes its own value of every unknown; they are listed under “The runs”.",
        )

    def payback(self) -> str:
        """Years until the price is met, and the winter in which that falls."""
        price = self.found.sheet.cover_plan.price
        years = self.found.payback_years
        steps = [
            *self._saving_steps(),
            Step(
                "price ÷ saving a season",
                (("price", price, self.sign), ("", self._saving_steps()[0].result, self.sign)),
                "÷",
                "seasons",
                "cover.price in the sheet",
            ),
        ]
        if not math.isfinite(years):
            steps = [
                *self._saving_steps(),
                given("nothing is saved, so the price is never met", math.inf, "", "by definition"),
            ]
        return self.trace.number("payback", "Payback", steps, in_winters, ("interest",))

    def leaves(self) -> str | None:
        """What the cover leaves over its life in today's money; None where the sheet names no life."""
        plan, rate = self.found.sheet.cover_plan, self.found.sheet.discount_rate
        if plan.life is None:
            return None
        factor = float(payback.present_worth_factor(rate, plan.life))
        steps = [
            given(
                f"worth today of one a year for {plan.life:g} years at {100 * rate:g} %: (1 − (1 + i)^−n) / i",
                factor,
                "",
                "money.discount_rate, cover.life",
            ),
            Step(
                "saving × that",
                (("", self._saving_steps()[0].result, self.sign), ("", factor, "")),
                "×",
                self.sign,
                "the line above",
            ),
        ]
        steps.append(
            Step(
                "less the price",
                (("", steps[1].result, self.sign), ("price", plan.price, self.sign)),
                "−",
                self.sign,
                "cover.price in the sheet",
            )
        )
        return self.trace.number(
            "leaves",
            "Left over the cover's life, in today's money",
            steps,
            lambda v: f"it {'leaves' if v >= 0 else 'falls short by'} {self.money(abs(v))}",
            ("interest",),
        )

    # --- counts and temperatures ------------------------------------------------------------------------------------------

    def count(self, key: str, title: str, value: float, unit: str, write=None) -> str:
        """A number that the run itself gives: hours counted, a lowest temperature."""
        return self.trace.number(key, title, [given(title, float(value), unit, HOURS)], write or units.digits)


def in_winters(years: float) -> str:
    """A payback as a keeper says it."""
    if math.isinf(years):
        return "never"
    return f"{units.significant(years, 2)} such seasons, {payback.winter_text(years)}"


def years(value: float) -> str:
    """An end of the band of payback."""
    return units.significant(value, 2) if math.isfinite(value) else "never"

"""What the season's energy costs on the sheet's tariff."""

from __future__ import annotations

import functools

import numpy as np
import pandas as pd
from markupsafe import Markup

from pondheat.analysis.results import Assessment, month_names
from pondheat.core import units
from pondheat.money.running_cost import RunningCost
from pondheat.money.tariffs import GAS, OTHER_HOURS
from pondheat.show.report import formats
from pondheat.show.report.energy_numbers import HOURS, MONTH, month_parts, seasons_of
from pondheat.show.report.formats import three_figures
from pondheat.show.report.rendering import shortened
from pondheat.show.report.trace import Step, Trace, single_value, sum_of

TARIFF = "the tariff in the sheet"


class MoneyNumbers:
    """Money of one assessment, open and covered; the sheet must have a tariff."""

    def __init__(self, assessment: Assessment, trace: Trace) -> None:
        assert assessment.sheet.tariff is not None
        self.tariff, self.gas_rate = assessment.sheet.tariff, assessment.sheet.gas_rate
        self.currency, self.trace, self.seasons = assessment.sheet.currency, trace, seasons_of(assessment)
        self.sign = self.currency.sign
        self._by_rate = functools.cache(self._monthly_by_rate)

    def cost(self, case: str) -> RunningCost:
        """The running cost of a season."""
        cost = self.seasons[case].cost
        assert cost is not None
        return cost

    def price(self, place: int, rate: str) -> Markup | None:
        """The price of a rate, None where its hours have several; `place`: its number among the rates, from 1."""
        price = self._only_price(rate)
        if price is None:
            return None
        hundredth = self.currency.hundredth
        steps = [
            single_value("price", price, f"{self.sign}/kWh", TARIFF),
            Step(
                f"in {hundredth}",
                (("", price, self.sign), ("", 100.0, f"{hundredth}/{self.sign}")),
                "×",
                hundredth,
                "by definition",
            ),
        ]
        title = f"Price of “{shortened(rate, 30)}”"
        return self.trace.number(f"rate-{place}", title, steps, lambda v: f"{units.digits(v, 1)} {hundredth}")

    def rate_kwh(self, case: str, place: int, rate: str) -> Markup:
        """Energy used at one rate."""
        title = f"Taken at “{shortened(rate, 30)}”, {case}"
        return self.trace.number(f"kwh-{case}-{place}", title, [self._rate_kwh_step(case, rate)], three_figures)

    def rate_money(self, case: str, place: int, rate: str) -> Markup:
        """Cost of the energy used at one rate, before tax that is added."""
        steps = [self._rate_kwh_step(case, rate), self._rate_money_step(case, rate)]
        return self.trace.number(
            f"money-{case}-{place}", f"Money for “{shortened(rate, 30)}”, {case}", steps, self.text
        )

    def tax(self, case: str) -> Markup:
        """Tax that is added to the rates."""
        return self.trace.number(f"tax-{case}", f"Tax on it, {case}", self.total_steps(case)[:2], self.text)

    def total(self, case: str) -> Markup:
        """What the season's energy costs, with tax, without the standing charge."""
        return self.trace.number(f"money-{case}", f"Energy over the season, {case}", self.total_steps(case), self.text)

    def total_steps(self, case: str) -> list[Step]:
        """Steps that end in the season's energy cost, with tax."""
        parts = [
            (shortened(rate, 30), self._rate_money_step(case, rate).result, self.sign) for rate in self._by_rate(case)
        ]
        steps = [sum_of("all rates", parts, self.sign, "each rate has its own entry")]
        tax = self.cost(case).added_tax_rate
        if tax:
            net = steps[0].result
            steps.append(Step("tax on it", (("", net, self.sign), ("", tax, "")), "×", self.sign, TARIFF))
            parts = [("", net, self.sign), ("tax", steps[1].result, self.sign)]
            steps.append(sum_of("with tax", parts, self.sign, "the lines above"))
        return steps

    def standing_charge(self) -> Markup:
        """The standing charge over the season, with tax."""
        cost, daily = self.cost("open"), self.tariff.standing_charge
        days = round(cost.standing_charge / daily) if daily else 0
        parts = (("", daily, f"{self.sign}/day"), ("", float(days), "days"))
        steps = [Step("charge × days", parts, "×", self.sign, f"{TARIFF}; days of the season")]
        if cost.added_tax_rate:
            parts = (("", steps[0].result, self.sign), ("", 1 + cost.added_tax_rate, ""))
            steps.append(Step("with tax", parts, "×", self.sign, TARIFF))
        return self.trace.number("standing", "Standing charge", steps, self.text)

    def text(self, value: float) -> str:
        """An amount of money as text."""
        return formats.money(value, self.currency)

    def _monthly_by_rate(self, case: str) -> dict[str, tuple[pd.Series, pd.Series]]:
        """By name of rate: energy [kWh] and cost [money] of each month."""
        season = self.seasons[case]
        months = month_names(season.index, MONTH)

        def monthly(values: np.ndarray) -> pd.Series:
            return pd.Series(values).groupby(months, sort=False).sum()

        index = season.hours.index
        assert isinstance(index, pd.DatetimeIndex)
        energy = np.maximum(season.hours["electricity"].to_numpy() / 1000, 0.0)
        shares, costs = self.tariff.rate_shares(index)
        by_rate = {
            name: (monthly(energy * shares[:, column]), monthly(energy * costs[:, column]))
            for column, name in enumerate(self.tariff.rate_names)
        }
        if GAS in self.cost(case).by_rate.index:
            assert self.gas_rate is not None
            gas = season.hours["gas"].to_numpy() / 1000
            by_rate[GAS] = (monthly(gas), monthly(gas * self.gas_rate))
        return by_rate

    def _only_price(self, rate: str) -> float | None:
        """The price of all hours of a rate [money/kWh]; None where it has several."""
        if rate == GAS:
            return self.gas_rate
        prices: set[float | None] = {window.rate for window in self.tariff.windows if window.name == rate}
        if not prices or rate == OTHER_HOURS:
            prices.add(self.tariff.otherwise if self.tariff.price_series is None else None)
        return prices.pop() if len(prices) == 1 else None

    def _rate_kwh_step(self, case: str, rate: str) -> Step:
        parts = month_parts(self._by_rate(case)[rate][0], "kWh")
        return sum_of(f"taken at “{shortened(rate, 30)}”", parts, "kWh", f"{HOURS}, {case}, by month")

    def _rate_money_step(self, case: str, rate: str) -> Step:
        price = self._only_price(rate)
        if price is None:
            parts = month_parts(self._by_rate(case)[rate][1], self.sign)
            return sum_of("each hour at its own price", parts, self.sign, f"{HOURS}, {case}, by month")
        parts = (("", self._rate_kwh_step(case, rate).result, "kWh"), ("", price, f"{self.sign}/kWh"))
        return Step("kWh × price", parts, "×", self.sign, TARIFF)

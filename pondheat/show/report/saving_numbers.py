"""What the cover saves, and when it has paid for itself."""

from __future__ import annotations

import math
from collections.abc import Callable

from markupsafe import Markup

from pondheat.analysis.results import Assessment
from pondheat.core import units
from pondheat.money import payback
from pondheat.show.report import formats
from pondheat.show.report.energy_numbers import EnergyNumbers
from pondheat.show.report.money_numbers import MoneyNumbers
from pondheat.show.report.trace import RUNS, Part, Step, Trace, rounded_step, single_value


class SavingNumbers:
    """Saving and payback of one assessment with a cover; money only where `money` is given."""

    def __init__(self, assessment: Assessment, trace: Trace, energy: EnergyNumbers, money: MoneyNumbers | None) -> None:
        self.assessment, self.trace, self.energy, self._money = assessment, trace, energy, money

    def kwh(self, write: Callable[[float], str], step: float) -> Markup:
        """Energy that the cover saves, without its sign, to a multiple of `step` [kWh]."""
        saved = self._kwh_step()
        steps = [saved, rounded_step(saved.result, step, "kWh")]
        return self.trace.number("saving-kwh", "Saving in energy", steps, lambda v: write(abs(v)))

    def share(self, printed: int) -> Markup:
        """Energy that the cover saves as a share of what the open pond uses; printed: rounded as in the answer [%]."""
        unsure = self.assessment.uncertainty
        if unsure is not None and unsure.learned and unsure.saving_kwh is not None:
            saved, used = unsure.saving_kwh.middle, unsure.open_kwh.middle
            first = [
                single_value("saved, middle of the runs", saved, "kWh", RUNS),
                single_value("taken open, middle of the runs", used, "kWh", RUNS),
            ]
        else:
            saved, used = self._kwh_step().result, self.energy.used_step("open").result
            first = [self._kwh_step()]
        steps = [
            *first,
            Step("saved ÷ taken open", (("", saved, "kWh"), ("", used, "kWh")), "÷", "", "the lines above"),
            Step("in per cent", (("", saved / used, ""), ("", 100.0, "%")), "×", "%", "by definition"),
            single_value("no finer than its likely range", float(printed), "%", "text.amounts"),
        ]
        return self.trace.number("saving-share", "Saving as a share", steps, lambda v: f"{units.digits(v)} %")

    def money(self, write: Callable[[float], str], step: float) -> Markup:
        """Money that the cover saves, without its sign, to a multiple of `step`."""
        saved = self._money_step()
        steps = [saved, rounded_step(saved.result, step, self._amounts.sign)]
        return self.trace.number("saving-money", "Saving in money", steps, lambda v: write(abs(v)))

    def payback(self) -> Markup:
        """Seasons until the cover has paid for itself, and the winter in which that falls."""
        saving = self._money_step()
        years = self.assessment.payback_years
        if years is not None and math.isfinite(years):
            parts = (("price", self._price, self._amounts.sign), ("", saving.result, self._amounts.sign))
            last = Step("price ÷ saving a season", parts, "÷", "seasons", "cover.price in the sheet")
        else:
            last = single_value("nothing is saved, so the price is never recovered", math.inf, "", "by definition")
        return self.trace.number("payback", "Payback", [saving, last], formats.payback_time, ("interest",))

    def net_present_value(self) -> Markup | None:
        """What is left of the savings over the cover's life after its price, in today's money; None without a life."""
        life, rate, sign = (
            self.assessment.sheet.cover_plan.life,
            self.assessment.sheet.discount_rate,
            self._amounts.sign,
        )
        if life is None:
            return None
        factor = float(payback.present_worth_factor(rate, life))
        worth = single_value(
            f"worth today of one a year for {life:g} years at {100 * rate:g} %: (1 − (1 + i)^−n) / i",
            factor,
            "",
            "money.discount_rate, cover.life",
        )
        parts: tuple[Part, ...] = (("", self._money_step().result, sign), ("", factor, ""))
        savings = Step("saving × that", parts, "×", sign, "the line above")
        parts = (("", savings.result, sign), ("price", self._price, sign))
        left = Step("less the price", parts, "−", sign, "cover.price in the sheet")

        def write(value: float) -> str:
            return f"it {'leaves' if value >= 0 else 'falls short by'} {self._amounts.text(abs(value))}"

        title = "Left over the cover's life, in today's money"
        return self.trace.number("leaves", title, [worth, savings, left], write, ("interest",))

    @property
    def _amounts(self) -> MoneyNumbers:
        assert self._money is not None
        return self._money

    @property
    def _price(self) -> float:
        price = self.assessment.sheet.cover_plan.price
        assert price is not None
        return price

    def _kwh_step(self) -> Step:
        return self._difference(self.energy.used_step("open").result, self.energy.used_step("covered").result, "kWh")

    def _money_step(self) -> Step:
        opened, covered = (self._amounts.total_steps(case)[-1].result for case in ("open", "covered"))
        return self._difference(opened, covered, self._amounts.sign)

    def _difference(self, opened: float, covered: float, unit: str) -> Step:
        parts = (("open", opened, unit), ("covered", covered, unit))
        return Step("open − covered", parts, "−", unit, "both have their own entries")

"""Payback: savings less a cover's price after each winter, undiscounted and in today's money."""

from __future__ import annotations

import math
from dataclasses import replace

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.core.number_format import counted
from pondheat.money import payback
from pondheat.season import ensemble
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel, about, about_difference, known
from pondheat.show.ponds import currency, invented
from pondheat.show.tables import show_table, show_text

SIGN = currency().sign
START = {"price": 640, "saving": 150, "life": 6, "interest": 4}
THICKER = {"u_value": 1.4, "light": 0.6}  # of a five-wall sheet of 32 mm
SHARES = (0.5, 0.75, 1.0, 1.25)  # of the expected saving (judgement)
LESS = 0.75  # the share named in the sentence


class LeftOver(Panel):
    """A cover bought now at an invented price that saves the same each winter."""

    MOST_YEARS = 12
    LOW, HIGH = -1000.0, 1000.0  # money, ends of the scale

    def __init__(self):
        super().__init__(
            "payback",
            {
                "price": Slider("Price of the cover", START["price"], 40, 1000, 20, "money", currency=currency()),
                "saving": Slider(
                    "What it saves each winter", START["saving"], 0, 400, 10, "money", currency=currency()
                ),
                "life": Slider("How many winters it lasts", START["life"], 1, self.MOST_YEARS, 1, "winters"),
                "interest": Slider("What your money earns elsewhere, a year", START["interest"], 0, 12, 0.5, "percent"),
            },
            caution="structure_and_wind",
        )

    def redraw(self, price, saving, life, interest):
        """Savings less the price after each winter of its life, undiscounted and in today's money."""
        self.price, self.saving, self.life, self.rate = price, saving, int(life), interest / 100
        winters = list(range(self.life + 1))
        series = {
            "plainly": [saving * winter - price for winter in winters],
            "in today's money": [
                float(payback.net_present_value(price, saving, winter, self.rate)) for winter in winters
            ],
        }
        self.left = {name: values[-1] for name, values in series.items()}
        self.net = self.left["in today's money"]
        self.simple = float(payback.simple_payback(price, saving))
        self.discounted = float(payback.discounted_payback(price, saving, self.rate))
        high = max(self.HIGH, 1000 * math.ceil(max(series["plainly"]) / 1000))
        figure = figures.lines(
            {name: (winters, values) for name, values in series.items()},
            self.name,
            f"Saved so far less the price, {currency().sign}, after each winter",
            (0, self.MOST_YEARS),
            {winter: str(winter) for winter in (0, 3, 6, 9, 12)},
            (self.LOW, high),
            where=lambda winters: f"after {counted(int(winters), 'winter', 'winters')}",
        )
        return figure, self._text()

    def _when(self, years: float) -> str:
        if math.isinf(years):
            return "it is never paid back"
        words = f"it is paid back after {units.digits(years, 1)} winters, {payback.winter_text(years)}"
        return words if years <= self.life + 1e-9 else f"{words}: longer than it lasts"

    def _text(self) -> str:
        life = f"{self.life} winters" if self.life > 1 else "one winter"
        unsure = float(payback.net_present_value(self.price, LESS * self.saving, self.life, self.rate))
        end, worse = (f"{about(abs(net))} {'left' if net >= 0 else 'lost'}" for net in (self.net, unsure))
        return (
            f"Without interest, {self._when(self.simple)}. With interest, {self._when(self.discounted)}. After {life}, "
            f"in today's money: {end}. If it saves a quarter less than hoped: {worse}."
        )

    def arithmetic(self):
        """From the price to the net present value."""
        chain = Chain(currency())
        if self.saving > 0:
            chain.given("Simple payback", self.simple, "year", "price ÷ saving")
        factor = chain.given(
            "Present-worth factor",
            float(payback.present_worth_factor(self.rate, self.life)),
            "",
            f"(1 − (1 + i)^−n) ÷ i, with i = {100 * self.rate:g} % and n = {self.life}; "
            f"{source('guide_energy_management')}",
        )
        worth = chain.times(
            "The savings, in today's money",
            (self.saving, "money"),
            (factor, ""),
            "money",
            "each at the end of its winter",
        )
        chain.add(
            "Left in today's money",
            [("savings", worth), ("price", -self.price)],
            "money",
            f"shown above as {about(abs(self.net))}",
        )
        return chain


def panel() -> LeftOver:
    """The panel of this page."""
    return LeftOver()


SITUATION = {"hour": 18.0, "has_cover": True, "covered": 1.0}
QUESTION = "After six winters, what's left in today's money is …"
OPTIONS = {
    "less": f"clearly less than {SIGN}260: later money is worth less",
    "plain": f"{SIGN}260: six savings of {SIGN}150, minus the price",
    "nothing": "nothing: with interest it never pays for itself",
}
RIGHT = "less"
WORDS = {
    "plain": f"That's right without interest. But the last {SIGN}150 comes six years from now, and is worth less "
    f"than {SIGN}150 today.",
    "nothing": "Interest does eat into the savings. But look where the lower line crosses zero: before the sheet is "
    "worn out.",
}


def print_unsure() -> None:
    """Show the saving of the garden pond's cover and of a thicker one, and payback for other savings than expected."""
    sheet = invented()
    record = assessment.weather_of(sheet)
    ensemble.warm_up()
    found = assessment.assess(sheet, record)
    uncertainty = known(found.uncertainty)
    band, years = known(uncertainty.saving_money), known(uncertainty.payback)
    early, late = payback.winter_text(years.low), payback.winter_text(years.high)
    saves = about_difference(known(found.open.money), known(known(found.covered).money))
    likely = f"{SIGN}{units.significant(band.low, 2)} to {SIGN}{units.significant(band.high, 2)}"
    show_text(
        (
            "The first sheet,",
            f"at {SIGN}640, saves about {saves} a season, likely {likely}: paid back {early}"
            f"{'' if early == late else ', or perhaps ' + late}.",
        ),
        ("A thicker one", f"instead saves {about(further_saving())} more."),
    )
    rows = []
    for share in SHARES:
        saving = share * START["saving"]
        simple = payback.simple_payback(START["price"], saving)
        net = payback.net_present_value(START["price"], saving, START["life"], START["interest"] / 100)
        rows.append((about(saving), f"{simple:.1f} winters", f"{about(abs(net))} {'left' if net >= 0 else 'lost'}"))
    show_table(
        f"A thicker sheet at {SIGN}640, if it saves less or more than hoped",
        ("saves a winter", "paid back after", f"after {START['life']} winters, at {START['interest']} %"),
        rows,
    )


def further_saving() -> float:
    """The additional saving in a season [money] of a thicker sheet in place of the garden pond's own."""
    sheet = invented()
    place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    thicker = replace(
        sheet,
        pond=replace(
            sheet.pond, cover=replace(known(sheet.pond.cover), u_value=THICKER["u_value"], light=THICKER["light"])
        ),
    )
    present, thick = (known(assessment.run_season(one, place, True).money) for one in (sheet, thicker))
    return present - thick

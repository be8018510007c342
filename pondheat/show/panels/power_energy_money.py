"""Power, energy, money: a small pump that always runs and a strong heater that seldom does, over one year."""

from __future__ import annotations

from pondheat.core import units
from pondheat.money.tariffs import energy_cost, energy_of_power
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel, in_full
from pondheat.show.ponds import currency

YEAR = 365 * 24  # hours
SCALES = (1000.0, 2100.0)  # kWh: for what the page suggests trying, and for all that the sliders reach
PUMP, HEATER = "pump, all year", "heater, while on"


class PowerEnergyMoney(Panel):
    """Energy and cost of a pump and a heater in one year."""

    def __init__(self):
        super().__init__(
            "power",
            {
                "pump_power": Slider("Power of the pump, on all year", 100, 20, 200, 10, "W"),
                "heater_power": Slider("Power of the heater", 3, 1, 4, 0.5, "kW"),
                "hours": Slider("Hours the heater runs in the year", 250, 0, 500, 10, "hour"),
                "price": Slider("Price of a kWh", 25, 10, 50, 1, "hundredth_of_money/kWh", currency=currency()),
            },
            caution="electricity",
        )

    def redraw(self, pump_power, heater_power, hours, price):
        """Energy as columns, labelled with its cost."""
        self.state = pump_power, heater_power, hours, price / 100
        self.kwh = {PUMP: energy_of_power(pump_power, float(YEAR)), HEATER: energy_of_power(1000 * heater_power, hours)}
        self.money = {name: energy_cost(kwh, price / 100) for name, kwh in self.kwh.items()}
        self.difference = self.money[PUMP] - self.money[HEATER]
        written = {name: f"{units.digits(kwh)} kWh, {in_full(self.money[name])}" for name, kwh in self.kwh.items()}
        dearer = PUMP if self.difference > 0 else HEATER if self.difference < 0 else None
        figure = figures.bars(self.kwh, self.name, "Electricity in one year, kWh", written, dearer, scales=SCALES)
        return figure, self._text()

    def _text(self) -> str:
        pump_power, heater_power, hours, _ = self.state
        text = (
            f"In a year the {pump_power:g} W pump takes {units.digits(self.kwh[PUMP])} kWh and costs "
            f"{in_full(self.money[PUMP])}; the {heater_power:g} kW heater takes "
            f"{units.digits(self.kwh[HEATER])} kWh in {units.digits(hours)} hours "
            f"and costs {in_full(self.money[HEATER])}."
        )
        if self.difference == 0:
            return f"{text} They cost the same."
        dearer = "pump" if self.difference > 0 else "heater"
        return f"{text} The {dearer} costs {in_full(abs(self.difference))} more."

    def arithmetic(self):
        """From power to energy to cost for both, and the difference."""
        pump_power, heater_power, hours, rate = self.state
        chain = Chain(currency())
        pump = chain.times(
            "Pump, energy in the year", (pump_power, "W"), (float(YEAR), "hour"), "kWh", "365 × 24 hours"
        )
        pump = chain.times("Pump, money", (pump, "kWh"), (rate, "money/kWh"), "money", source("definition"))
        heater = chain.times(
            "Heater, energy in the year", (heater_power, "kW"), (hours, "hour"), "kWh", "only the hours it runs"
        )
        heater = chain.times("Heater, money", (heater, "kWh"), (rate, "money/kWh"), "money", source("definition"))
        first, second = (("pump", pump), ("heater", heater))
        if heater > pump:
            first, second = second, first
        chain.add("The more expensive one costs more by", [first, (second[0], -second[1])], "money", "shown above")
        return chain


def panel() -> PowerEnergyMoney:
    """The panel of this page."""
    return PowerEnergyMoney()


SITUATION = {"heater": 0.0, "pump": 0.0}
QUESTION = "Which costs more over the year?"
OPTIONS = {
    "heater": "the 3 kW heater, on for 250 hours in the year",
    "same": "about the same, to within a twentieth",
    "pump": "the 100 W pump, on day and night all year",
}
RIGHT = "pump"
WORDS = {
    "heater": "It's thirty times as powerful, and power is what the label shows. But the pump runs thirty-five "
    "times as long, and the bill counts both.",
    "same": "Thirty times the power, but only a thirty-fifth of the hours: the two do come close. But the pump "
    "still costs about a sixth more.",
}

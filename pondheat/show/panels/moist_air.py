"""Moist air: the vapour pressure in the air and over the pond, and the dew point."""

from __future__ import annotations

from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.heat import moist_air
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel
from pondheat.show.tables import show_table

WATER_TEMP = 18.0
SCALES = (3000.0, 3500.0)  # Pa: for what the page suggests trying, and for all that the sliders reach
FULL = "full at that temperature"


class MoistAir(Panel):
    """Air of any temperature and humidity over a pond at 18 °C."""

    def __init__(self):
        super().__init__(
            "moist",
            {
                "air_temp": Slider("Air temperature", 8, -10, 25, 1, "degC"),
                "humidity": Slider("Humidity of the air", 100, 20, 100, 5, "percent"),
            },
            caution="legionella",
        )

    def redraw(self, air_temp, humidity):
        """Vapour pressures in the air, in saturated air and over the water."""
        self.air_temp, self.humidity = air_temp, humidity
        self.full = moist_air.saturation_vapour_pressure(air_temp)
        self.inside = moist_air.vapour_pressure(air_temp, humidity / 100)
        self.over = moist_air.saturation_vapour_pressure(WATER_TEMP)
        self.difference = self.over - self.inside
        self.dew = moist_air.dew_point(air_temp, humidity / 100)
        pressures = {"in this air": self.inside, FULL: self.full, "over the pond": self.over}
        written = {name: f"{units.digits(value)} Pa" for name, value in pressures.items()}
        title, shown = "Vapour pressure, pascal", "over the pond"
        figure = figures.bars(pressures, self.name, title, written, shown, scales=SCALES)
        return figure, self._text(written)

    def _text(self, written: dict) -> str:
        held = f"{written['in this air']}; full air would have {written[FULL]}"
        if self.humidity == 100:
            held = f"{written['in this air']}, the most it can hold"
        text = (
            f"Air at {temperature(self.air_temp, 0)} and {self.humidity:g} % humidity has a vapour pressure of {held}. "
            f"Over the pond it is {written['over the pond']}. "
        )
        if abs(self.difference) < 0.5:
            text += "There is no difference: nothing evaporates and nothing condenses."
        elif self.difference > 0:
            text += f"The difference, {units.digits(self.difference)} Pa, drives evaporation."
        else:
            text += f"The air has {units.digits(-self.difference)} Pa more: water condenses on the pond and warms it."
        kind = "dew point" if self.dew >= 0 else "frost point"
        if self.humidity == 100:
            return f"{text} This air is full already: its {kind} is its own temperature."
        return f"{text} Cooled to {temperature(self.dew, 1)} this air would be full: that is its {kind}."

    def arithmetic(self):
        """The saturation vapour pressure, the actual one, and the difference that drives evaporation."""
        chain = Chain()
        full = chain.given(f"Full air of [{units.digits(self.air_temp)} °C]", self.full, "Pa", source("ashrae_f01"))
        inside = chain.times("In this air", (self.humidity, "percent"), (full, "Pa"), "Pa", source("definition"))
        over = chain.given("Over water of [18 °C], where air is full", self.over, "Pa", source("ashrae_f01"))
        chain.add("Pressure difference", [("over the pond", over), ("in this air", -inside)], "Pa", "shown above")
        return chain


def panel() -> MoistAir:
    """The panel of this page."""
    return MoistAir()


SITUATION = {"hour": 8.0, "cloud": 1.0, "air_temp": 8.0}
QUESTION = "How much evaporates from a pond at [18 °C] in fog at [8 °C]?"
OPTIONS = {
    "nothing": "nothing: air in a fog is already full",
    "half": "about half as much as in perfectly dry air",
    "settles": "less than nothing: fog settles on the water",
}
RIGHT = "half"
WORDS = {
    "nothing": "Fog is as full as air can be at [8 °C]. But over the warm water it warms up at once, and then it "
    "can hold more.",
    "settles": "Fog does settle on cold things. But that happens when they're colder than the air's dew point, and "
    "this water is ten degrees warmer.",
}


def print_full_air() -> None:
    """Show the saturation vapour pressure at some temperatures, over water and, below freezing, over ice."""
    show_table(
        "Vapour pressure of full air",
        ("temperature", "over water, Pa", "over ice, Pa"),
        [
            (
                f"[{units.digits(temp)} °C]",
                units.digits(moist_air.saturation_vapour_pressure(temp)),
                units.digits(moist_air.saturation_vapour_pressure_ice(temp)) if temp < 0 else "",
            )
            for temp in (-10, -5, 0, 5, 10, 15, 20, 25)
        ],
    )

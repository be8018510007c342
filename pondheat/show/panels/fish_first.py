"""Fish before money: what warmer water does to its oxygen, to ammonia and to the filter, held against 10 °C."""

from __future__ import annotations

from pondheat import units
from pondheat.fish import temperature
from pondheat.fish.ammonia import unionised_fraction
from pondheat.fish.oxygen import saturation
from pondheat.fish.temperature import nitrification_factor
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel

COOL = 10.0  # °C, what all is held against
MOST = 420.0  # per cent, top of the scale
OXYGEN, AMMONIA, FILTER = "oxygen it can hold", "poisonous share", "speed of the filter"


class FishFirst(Panel):
    """Oxygen at saturation, the un-ionised share of ammonia and the speed of a filter at one temperature and pH."""

    def __init__(self):
        super().__init__("fish", {
            "water_temp": Slider("Water temperature", 14, 4, 24, 1, "degC"),
            "ph": Slider("pH of the water", 7.5, 6.5, 9, 0.1),
            "theta": Slider("Filter: times faster for each degree", temperature.THETA.value,
                            temperature.THETA_LOW.value, temperature.THETA_HIGH.value, 0.01),
        }, caution="fish_disease")

    def redraw(self, water_temp, ph, theta):
        """Each of the three in per cent of its value at 10 °C and the same pH."""
        self.state = water_temp, ph, theta
        self.oxygen, self.share = saturation(water_temp), unionised_fraction(water_temp, ph)
        self.times = {
            OXYGEN: self.oxygen / saturation(COOL), AMMONIA: self.share / unionised_fraction(COOL, ph),
            FILTER: nitrification_factor(water_temp, theta) / nitrification_factor(COOL, theta),
        }
        percent = {name: 100 * times for name, times in self.times.items()}
        written = {name: f"{value:.0f} %" for name, value in percent.items()}
        figure = figures.bars(percent, self.name, f"At {water_temp:g} °C, per cent of the same at {COOL:g} °C", written,
                              most=MOST)
        return figure, self._say()

    def _say(self) -> str:
        water_temp, ph, _ = self.state
        text = (f"At {water_temp:g} °C water full of air holds {units.significant(self.oxygen, 3)} mg/L of oxygen. "
                f"At pH {ph:.1f}, {units.significant(100 * self.share, 2)} % of its ammonia is of the poisonous kind.")
        if water_temp == COOL:
            return text
        return (f"{text} Compared with {COOL:g} °C that is {units.significant(self.times[OXYGEN], 3)} times the oxygen "
                f"and {units.significant(self.times[AMMONIA], 3)} times the poisonous share, and the filter works "
                f"{units.significant(self.times[FILTER], 3)} times as fast.")

    def arithmetic(self):
        """The three ratios; the filter's last."""
        water_temp, ph, theta = self.state
        chain = Chain()
        at, cool = f"{water_temp:g} °C", f"{COOL:g} °C"
        chain.given(f"Oxygen at {cool}", saturation(COOL), "mg/L", source("benson_krause_1984"))
        chain.given(f"Oxygen at {at}", self.oxygen, "mg/L", "the same")
        chain.times("Times the oxygen", (self.oxygen, "mg/L"), (1 / saturation(COOL), "L/mg"), "dimensionless",
                    "one divided by the other")
        chain.given(f"Poisonous share at {cool}", 100 * unionised_fraction(COOL, ph), "percent", source("emerson_1975"))
        chain.given(f"Poisonous share at {at}", 100 * self.share, "percent", "the same")
        chain.times("Times the poisonous share", (self.share, "dimensionless"),
                    (1 / unionised_fraction(COOL, ph), "dimensionless"), "dimensionless", "one divided by the other")
        chain.given(f"Filter at {cool}, of that at 20 °C", nitrification_factor(COOL, theta), "dimensionless",
                    "texts give 1.02 to 1.10 for each degree; filters: " + source("zhu_chen_2002"))
        chain.given(f"Filter at {at}, of that at 20 °C", nitrification_factor(water_temp, theta), "dimensionless",
                    "the same")
        chain.times("Times as fast", (nitrification_factor(water_temp, theta), "dimensionless"),
                    (1 / nitrification_factor(COOL, theta), "dimensionless"), "dimensionless", "shown above")
        return chain


def panel() -> FishFirst:
    """The panel of this page."""
    return FishFirst()


QUESTION = "Which of the two falls as the water warms?"
OPTIONS = {"oxygen": "the oxygen it can hold", "ammonia": "the share of its ammonia that is poisonous",
           "both": "both fall", "neither": "neither falls"}
RIGHT = "oxygen"
WORDS = {
    "ammonia": "That share rises, by about a third. It is the oxygen that falls.",
    "both": "Only one of them. The oxygen falls; the poisonous share rises by about a third.",
    "neither": "Warm water holds less gas, so the oxygen falls. The poisonous share does rise, by about a third.",
}


def print_filter() -> None:
    """Print what different sources make of the filter from 10 to 14 °C."""
    print("From 10 to 14 °C a filter works so many times as fast:")
    for constant in (temperature.THETA_SHORT_OF_OXYGEN, temperature.THETA_LOW, temperature.THETA_SHORT_OF_AMMONIA,
                     temperature.THETA, temperature.THETA_HIGH):
        times = nitrification_factor(14.0, constant.value) / nitrification_factor(COOL, constant.value)
        print(f"{times:5.2f}   {constant.value:.3f} a degree: {constant.note}")


def print_growth() -> None:
    """Print how fast young carp grow at four temperatures."""
    print("Growth of well-fed young carp, per cent of their weight a day:")
    for temp, growth in temperature.CARP_GROWTH.items():
        print(f"{growth:5.2f}   at {temp} °C")
    print(source(temperature.CARP_GROWTH_SOURCE).split(",")[0] + " and Adelman 1984. Juveniles only.")

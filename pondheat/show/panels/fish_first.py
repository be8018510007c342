"""Fish before money: oxygen, ammonia and the filter in warmer water, compared with 10 °C; and what each source says of
growth, food and filter at one temperature."""

from __future__ import annotations

import html
import math
from dataclasses import replace

from pondheat.core import display_units, units
from pondheat.core.number_format import unbroken
from pondheat.fish import temperature
from pondheat.fish.ammonia import unionised_fraction
from pondheat.fish.oxygen import saturation, saturation_at_altitude
from pondheat.fish.temperature import nitrification_factor
from pondheat.heat.moist_air import pressure_at_altitude
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider, status
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.ponds import garden_at_rest
from pondheat.show.tables import show_table, show_text

NOON = 12.0  # hour of the picture
COOL = 10.0  # °C, the temperature compared with
SCALES = (300.0, 400.0)  # per cent: for what the page suggests trying, and for all that the sliders reach
OXYGEN, AMMONIA, FILTER = "oxygen it can hold", "poisonous share", "speed of the filter"
NO_CURE = "Heating does not prevent disease."  # shown with every benefit of warmth
FASTEST = 7.0  # times the filter at 10 °C, top of the scale: 1.10 to the twentieth is 6.7


class FishFirst(Panel):
    """Oxygen saturation, the un-ionised share of ammonia and the speed of a filter at one temperature and pH."""

    def __init__(self):
        super().__init__(
            "fish",
            {
                "water_temp": Slider("Water temperature", 14, 4, 24, 1, "degC"),
                "ph": Slider("pH of the water", 7.5, 6.5, 9, 0.1),
                "theta": Slider(
                    "Filter: times as fast for each degree",
                    temperature.THETA.value,
                    temperature.THETA_LOW.value,
                    temperature.THETA_HIGH.value,
                    0.01,
                ),
            },
            caution="fish_disease",
        )

    def redraw(self, water_temp, ph, theta):
        """Each of the three, in per cent of its value at 10 °C and the same pH."""
        self.state = water_temp, ph, theta
        self.oxygen, self.share = saturation(water_temp), unionised_fraction(water_temp, ph)
        self.times = {
            OXYGEN: self.oxygen / saturation(COOL),
            AMMONIA: self.share / unionised_fraction(COOL, ph),
            FILTER: nitrification_factor(water_temp, theta) / nitrification_factor(COOL, theta),
        }
        percent = {name: 100 * times for name, times in self.times.items()}
        written = {name: f"{value:.0f} %" for name, value in percent.items()}
        title = f"At [{water_temp:g} °C], as a percentage of its value at [{COOL:g} °C]"
        figure = figures.bars(percent, self.name, title, written, scales=SCALES)
        scene = garden_at_rest(water_temp=water_temp, hour=NOON)

        def pond() -> figures.Figure:
            return pond_figure(scene, self.name, f"The pond at [{water_temp:g} °C]")

        return replace(figure, draw_below=pond), self._text()

    def _text(self) -> str:
        water_temp, ph, _ = self.state
        text = (
            f"At {display_units.temperature(water_temp)} water saturated with air holds "
            f"{units.significant(self.oxygen, 3)} mg/L of oxygen. At pH {ph:.1f}, "
            f"{units.significant(100 * self.share, 2)} % of its ammonia is in the poisonous form."
        )
        if water_temp == COOL:
            return text
        warned = f" {NO_CURE}" if water_temp > COOL else ""
        return (
            f"{text} Compared with {display_units.temperature(COOL)} that is "
            f"{units.significant(self.times[OXYGEN], 3)} times the oxygen and "
            f"{units.significant(self.times[AMMONIA], 3)} times the poisonous share, and the filter works "
            f"{units.significant(self.times[FILTER], 3)} times as fast.{warned}"
        )

    def arithmetic(self):
        """The three ratios, the filter's last."""
        water_temp, ph, theta = self.state
        chain = Chain()
        at, cool = f"[{water_temp:g} °C]", f"[{COOL:g} °C]"
        chain.given(f"Oxygen at {cool}", saturation(COOL), "mg/L", source("benson_krause_1984"))
        chain.given(f"Oxygen at {at}", self.oxygen, "mg/L", "the same")
        chain.times(
            "Times the oxygen",
            (self.oxygen, "mg/L"),
            (1 / saturation(COOL), "L/mg"),
            "dimensionless",
            "one divided by the other",
        )
        chain.given(f"Poisonous share at {cool}", 100 * unionised_fraction(COOL, ph), "percent", source("emerson_1975"))
        chain.given(f"Poisonous share at {at}", 100 * self.share, "percent", "the same")
        chain.times(
            "Times the poisonous share",
            (self.share, "dimensionless"),
            (1 / unionised_fraction(COOL, ph), "dimensionless"),
            "dimensionless",
            "one divided by the other",
        )
        chain.given(
            f"Filter at {cool}, of that at [20 °C]",
            nitrification_factor(COOL, theta),
            "dimensionless",
            "texts give 1.02 to 1.10 for each degree; filters: " + source("zhu_chen_2002"),
        )
        chain.given(
            f"Filter at {at}, of that at [20 °C]", nitrification_factor(water_temp, theta), "dimensionless", "the same"
        )
        chain.times(
            "Times as fast",
            (nitrification_factor(water_temp, theta), "dimensionless"),
            (1 / nitrification_factor(COOL, theta), "dimensionless"),
            "dimensionless",
            "shown above",
        )
        return chain


class BySource(Panel):
    """Oxygen saturation at one temperature and height, and what each source says of filter, growth and food."""

    def __init__(self):
        super().__init__(
            "fish-by-source",
            {
                "water_temp": Slider("Water temperature", 18, 4, 30, 1, "degC"),
                "altitude": Slider("Height of the pond above sea level", 100, 0, 3000, 100, "m"),
            },
            caution="fish_disease",
        )

    def redraw(self, water_temp, altitude):
        """The filter's speed by different sources, as a multiple of that at 10 °C."""
        self.state = water_temp, altitude
        self.oxygen = saturation_at_altitude(water_temp, altitude)
        texts, measured = (
            tuple(sorted(_times(water_temp, constant.value) for constant in pair))
            for pair in (
                (temperature.THETA_LOW, temperature.THETA_HIGH),
                (temperature.THETA_SHORT_OF_OXYGEN, temperature.THETA_SHORT_OF_AMMONIA),
            )
        )
        self.least, self.most = min(texts[0], measured[0]), max(texts[1], measured[1])
        rows = {
            "Texts, from memory; the dot is this workbook's": (_times(water_temp, temperature.THETA.value), *texts),
            "Measured on filters (Zhu and Chen 2002)": (math.nan, *measured),
        }
        written = {name: f"{low:.2f} to {high:.2f} times" for name, (_, low, high) in rows.items()}
        figure = figures.ranges(
            rows,
            self.name,
            f"Speed of a filter at [{water_temp:g} °C], times that at [{COOL:g} °C]",
            (0.0, FASTEST),
            {float(at): str(at) for at in range(int(FASTEST) + 1)},
            written,
        )
        return figure, (
            f"At {display_units.temperature(water_temp)}, {altitude:g} m above sea level, water saturated with air "
            f"holds {units.significant(self.oxygen, 3)} mg/L of oxygen. A filter works {self.least:.2f} to "
            f"{self.most:.2f} times as fast as at {display_units.temperature(COOL)}, depending on the source. Growth "
            f"and food are below, each with its source. {NO_CURE}"
        )

    def _move(self, values: dict) -> None:
        super()._move(values)
        self.words.value = status(unbroken(self.sentence())) + self.table()

    def table(self) -> str:
        """What each source says of growth and of food, as HTML."""
        water_temp, _ = self.state
        topics = [
            ("Growth", temperature.growth_by_source(water_temp)),
            ("Food", temperature.feeding_by_source(water_temp)),
        ]
        rows = "".join(
            f"<tr><th scope='row'>{what}</th><td>{html.escape(who)}</td>"
            f"<td>{html.escape(unbroken(display_units.localise(words)))}</td></tr>"
            for what, by_source in topics
            for who, words in by_source.items()
        )
        return (
            "<table class='ph-steps'><thead><tr><th scope='col'>what</th><th scope='col'>who says it</th>"
            f"<th scope='col'>at {unbroken(display_units.temperature(water_temp))}</th></tr></thead>"
            f"<tbody>{rows}</tbody></table>"
        )

    def arithmetic(self):
        """The pressure behind the oxygen, and the filter's speed by each source."""
        water_temp, altitude = self.state
        chain = Chain()
        chain.given(
            "Air pressure at this height",
            pressure_at_altitude(altitude) / 100,
            "hPa",
            "the standard atmosphere; " + source("ashrae_f01"),
        )
        chain.given("Oxygen at sea level", saturation(water_temp), "mg/L", source("benson_krause_1984"))
        chain.given("Oxygen at this height", self.oxygen, "mg/L", "the same, at that pressure")
        for constant in temperature.THETAS:
            warm, cool = (nitrification_factor(temp, constant.value) for temp in (water_temp, COOL))
            chain.times(
                f"Filter, {constant.value:.3f} for each degree",
                (warm, "dimensionless"),
                (1 / cool, "dimensionless"),
                "dimensionless",
                f"at [{water_temp:g} °C] over at [{COOL:g} °C], each of that at [20 °C]; {constant.note}",
            )
        return chain


def _times(water_temp: float, theta: float) -> float:
    """A filter's speed as a multiple of that at 10 °C; theta: factor for each degree."""
    return nitrification_factor(water_temp, theta) / nitrification_factor(COOL, theta)


def panel() -> FishFirst:
    """The panel of this page."""
    return FishFirst()


def by_source() -> BySource:
    """The second panel of this page."""
    return BySource()


SITUATION = {"water_temp": 10.0, "hour": NOON}
QUESTION = "Which of the two falls as the water warms?"
OPTIONS = {
    "ammonia": "the share of its ammonia that is poisonous",
    "both": "both of them: warm water drives gases out",
    "oxygen": "the oxygen that the water can hold",
    "neither": "neither: what's in the water stays in it",
}
RIGHT = "oxygen"
WORDS = {
    "ammonia": "Fish seem livelier in warm water, so the poison ought to fall. But its share rises, by about a "
    "third. It's the oxygen that falls.",
    "both": "Both are gases, and warm water holds less gas. But the poisonous share of the ammonia is a matter of "
    "chemistry, and it rises by about a third.",
    "neither": "You see nothing happen as water warms. But warm water holds less oxygen, and the poisonous share "
    "of its ammonia rises by about a third.",
}


def print_filter() -> None:
    """Show how much faster a filter works at 14 °C than at 10 °C by each source, as a table."""
    show_table(
        "How many times as fast a filter works at [14 °C] as at [10 °C]",
        ("who says so", "for each degree", "for all four"),
        [(one.note, f"× {one.value:.3f}", f"× {_times(14.0, one.value):.2f}") for one in temperature.THETAS],
    )


def print_growth() -> None:
    """Show the growth of young carp at four temperatures, as a table."""
    show_table(
        "Growth of well-fed young carp",
        ("water", "of their weight a day, %"),
        [(f"[{temp} °C]", f"{growth:.2f}") for temp, growth in temperature.CARP_GROWTH.items()],
    )
    first_author = source(temperature.CARP_GROWTH_SOURCE).split(",")[0]
    show_text(("", f"{first_author} and Adelman 1984. Juveniles only. {NO_CURE}"))

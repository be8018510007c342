"""Falling water: bounds for the heat loss of a trickle filter, and a temperature drop too small to read."""

from __future__ import annotations

from pondheat.core import units
from pondheat.core.display_units import quantity, temperature, volume
from pondheat.core.sources import STANDARD_PRESSURE
from pondheat.heat import falling_water, moist_air, water
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.scene import PondScene
from pondheat.show.ponds import BASIN
from pondheat.show.tables import show_table

FLOW = 8 / 3600  # m³/s, the pump's flow: 8 m³ an hour
EFFECTIVENESS = 0.5  # a guess, as in the garden pond's sheet
NOON, FULL = 12.0, 650.0  # hour of the picture; W, of its widest arrow
TITLE = "Heat lost by falling water, watts; dashed: the air's limit"
AIR = STANDARD_PRESSURE.value
RULE = (0.005, 0.010)  # share of the hourly flow that an open waterfall evaporates in a day: common practice, no source


def drop(watts: float, flow: float, water_temp: float) -> float:
    """The temperature drop [K] of a stream that loses heat; watts: [W], flow: [m³/s], water_temp: [°C]."""
    return watts / falling_water.stream_heat(flow, water_temp + 0.5, water_temp - 0.5)


class FallingWater(Panel):
    """8 m³ of water an hour falling through a filter with some outside air."""

    def __init__(self):
        super().__init__(
            "falling",
            {
                "air_flow": Slider("Air that passes the filter", 2, 0, 5, 0.5, "L/s"),
                "water_temp": Slider("Water temperature", 18, 8, 26, 1, "degC"),
                "air_temp": Slider("Air temperature", 8, -10, 25, 1, "degC"),
                "humidity": Slider("Humidity of the air", 80, 20, 100, 5, "percent"),
            },
            caution="legionella",
        )

    def redraw(self, air_flow, water_temp, air_temp, humidity):
        """The bound set by the air and the estimate; the bound set by the water is too large to draw."""
        self.state = air_flow / 1000, water_temp, air_temp, humidity / 100
        self.limit = falling_water.air_side_limit(*self.state)
        self.loss = falling_water.filter_loss(air_flow / 1000, EFFECTIVENESS, 0.0, water_temp, air_temp, humidity / 100)
        self.wet_bulb = moist_air.wet_bulb(air_temp, humidity / 100, AIR)
        # as water it cannot get colder than 0 °C either
        self.water_limit = falling_water.stream_heat(FLOW, water_temp, max(self.wet_bulb, 0.0))
        self.drop = drop(self.loss, FLOW, water_temp)
        watts = {"our estimate": self.loss, "most the air can take": self.limit}
        written = {name: f"{units.significant(value, 3)} W" for name, value in watts.items()}
        scene = PondScene(
            **BASIN,
            losses={"filter": self.loss},
            outlines={"filter": self.limit},
            outlined="at most",
            water_temp=water_temp,
            air_temp=air_temp,
            hour=NOON,
            full=FULL,
        )
        return pond_figure(scene, self.name, TITLE), self._text(written)

    def _text(self, written: dict) -> str:
        if self.limit <= 0:
            if not self.state[0]:
                return "No air passes the filter, so it can carry no heat away."
            most, likely = (units.significant(-value, 3) for value in (self.limit, self.loss))
            return (
                f"This air is so warm and damp that it would warm the water, by {most} W at most and {likely} W by "
                "our estimate."
            )
        bulb = f"the air's wet bulb, {temperature(self.wet_bulb, 1)}"
        if self.wet_bulb < 0:
            bulb = f"{temperature(0)}, where it freezes"
        return (
            f"The air can carry off {written['most the air can take']} at most; half of that, "
            f"{written['our estimate']}, is our estimate. It cools {volume(8)} an hour by "
            f"{quantity(f'{self.drop:.3f}', 'delta_degC')}. "
            f"Water can't cool below {bulb}: that limit "
            f"is {units.significant(self.water_limit / 1000, 3)} kW, far off."
        )

    def arithmetic(self):
        """From the air flow to the heat it carries off."""
        air_flow, water_temp, air_temp, rh = self.state
        chain = Chain()
        dry, outside = falling_water.dry_air_flow(air_flow, air_temp, rh, AIR)
        leaving = moist_air.enthalpy(water_temp, moist_air.saturation_humidity_ratio(water_temp, AIR))
        mass = chain.given("Dry air that passes each second", float(dry), "kg/s", source("ashrae_f01"))
        gain = chain.add(
            "Heat that one kilogram can take up",
            [("full, as warm as the water", leaving), ("as it comes in", -float(outside))],
            "J/kg",
            source("ashrae_f01"),
        )
        limit = chain.times("Most the air can take", (mass, "kg/s"), (gain, "J/kg"), "W", source("merkel_1925"))
        chain.times(
            "Our estimate",
            (100 * EFFECTIVENESS, "percent"),
            (limit, "W"),
            "W",
            "a guess: the air takes up half of what it could; shown above",
        )
        return chain


def panel() -> FallingWater:
    """The panel of this page."""
    return FallingWater()


SITUATION = {"hour": 9.0, "pump": 0.0, "air_temp": 8.0}
QUESTION = "The water comes out cooler by …"
OPTIONS = {
    "hundredth": "less than a hundredth of a degree",
    "tenth": "about a tenth of a degree",
    "degree": "about a degree, or a bit more",
}
RIGHT = "hundredth"
WORDS = {
    "tenth": "It sounds too little to argue about. But even a tenth would be more than 900 W. So little air can't "
    "carry that, however damp it gets.",
    "degree": "We expect running water to cool in cold air. But a degree from [8 m³] an hour would take more than "
    "9 kW, and so little air can't carry that.",
}


def print_drops() -> None:
    """Show the temperature drop of streams that lose heat, as a table."""
    show_table(
        "How much a stream at [18 °C] cools",
        ("heat it loses", "flow in an hour", "cools by"),
        [
            (f"{units.digits(watts)} W", f"[{flow} m³]", f"[{drop(watts, flow / 3600, 18.0):.3f} K]")
            for watts in (100, 1000)
            for flow in (2, 8)
        ],
    )


def by_the_rule(water_temp: float = 18.0) -> tuple[float, float]:
    """Evaporation loss [W] of an open waterfall with the pump's flow, low and high, by the rule of thumb."""
    kilograms = [share * FLOW * 3600 * water.density(water_temp) for share in RULE]
    return tuple(mass * water.latent_heat(water_temp) / 86_400 for mass in kilograms)


def print_open_waterfall() -> None:
    """Show the rule of thumb for an open waterfall next to the estimate for a filter, as a table."""
    low, high = by_the_rule()
    inside = falling_water.filter_loss(0.002, EFFECTIVENESS, 0.0, 18.0, 8.0, 0.8)
    show_table(
        "[8 m³] of water an hour at [18 °C], air at [8 °C] and 80 %",
        ("where it falls", "loses, W", "who says so"),
        [
            ("inside a filter with 2 L/s of air", units.significant(inside, 2), "our estimate"),
            (
                "over an open waterfall",
                f"{units.significant(low, 2)} to {units.significant(high, 2)}",
                "the trade: 0.5 to 1 % of an hour's flow evaporates in a day (common practice, no source)",
            ),
        ],
        texts=(2,),
    )

"""The open surface: heat loss by each route at one moment, and which is largest."""

from __future__ import annotations

from pondheat.core import units
from pondheat.core.display_units import localise_finished, print_localised
from pondheat.heat import surface
from pondheat.heat.moist_air import saturation_curve, vapour_pressure
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.panels import Panel

AREA, WATER_TEMP = 10.0, 18.0
ROUTES = ("evaporation", "convection", "long wave")


class OpenSurface(Panel):
    """10 m² of open water at 18 °C under any sky."""

    def __init__(self):
        super().__init__(
            "surface",
            {
                "wind": Slider("Wind at the water", 1, 0, 6, 0.5, "m/s"),
                "air_temp": Slider("Air temperature", 8, -10, 25, 1, "degC"),
                "humidity": Slider("Humidity of the air", 80, 20, 100, 5, "percent"),
                "cloud": Slider("Sky covered by cloud", 0, 0, 100, 10, "percent"),
            },
            caution="children",
        )

    def redraw(self, wind, air_temp, humidity, cloud):
        """Heat loss by each route in watts, the largest highlighted."""
        rh = humidity / 100
        self.state = wind, air_temp, rh, cloud / 100
        self.watts = {
            "evaporation": AREA * surface.evaporation(WATER_TEMP, air_temp, rh, wind),
            "convection": AREA * surface.convection(WATER_TEMP, air_temp, rh, wind),
            "long wave": AREA * surface.long_wave_loss(WATER_TEMP, air_temp, rh, cloud / 100),
        }
        written = {way: f"{units.significant(self.watts[way], 3)} W" for way in ROUTES}
        shown = {way: max(self.watts[way], 0.0) for way in ROUTES}
        first = max(self.watts, key=self.watts.__getitem__)
        figure = figures.bars(
            shown,
            self.name,
            "Heat that leaves 10 m² of open water at [18 °C], watts",
            written,
            first,
            most=max(2600.0, 1.1 * max(shown.values())),
            hues=True,
        )
        return figure, self._text(written, first)

    def _text(self, written: dict, first: str) -> str:
        total = sum(self.watts.values())
        parts = ", ".join(f"{way} {written[way]}" for way in ROUTES)
        moved = (
            f"loses {units.significant(total, 3)} W" if total >= 0 else f"gains {units.significant(-total, 3)} W in all"
        )
        text = f"The open water {moved}: {parts}."
        gains = [way for way in ROUTES if self.watts[way] < 0]
        if gains:
            return f"{text} Where the number is negative the air gives heat to the water."
        return f"{text} Most goes by {first}, {100 * self.watts[first] / total:.0f} %."

    def arithmetic(self):
        """From vapour pressures to heat loss."""
        wind, air_temp, rh, cloud = self.state
        chain = Chain()
        over, inside = float(saturation_curve(WATER_TEMP)[0]), vapour_pressure(air_temp, rh)
        difference = chain.add(
            "Vapour pressure difference",
            [("over the water", over), ("in the air", -inside)],
            "Pa",
            source("ashrae_f01"),
        )
        evaporation = surface.evaporation(WATER_TEMP, air_temp, rh, wind)
        chain.given(
            "Evaporation coefficient",
            evaporation / difference if difference else 0.0,
            "W/m**2/Pa",
            source("ryan_harleman_1973"),
        )
        chain.times("Evaporation", (AREA, "m**2"), (evaporation, "W/m**2"), "W", "area × coefficient × difference")
        convection = surface.convection(WATER_TEMP, air_temp, rh, wind)
        chain.times(
            "Convection",
            (AREA, "m**2"),
            (convection, "W/m**2"),
            "W",
            "the same coefficient × 0.665e-3 × air pressure × (water − air); " + source("fao_56"),
        )
        chain.given(
            "The sky acts like", surface.sky_temperature(air_temp, rh, cloud), "degC", source("crawford_duchon_1999")
        )
        long_wave = surface.long_wave_loss(WATER_TEMP, air_temp, rh, cloud)
        chain.times("Long wave", (AREA, "m**2"), (long_wave, "W/m**2"), "W", "0.95 × σ × (water⁴ − sky⁴), kelvin")
        chain.add("In all", list(self.watts.items()), "W", "shown above")
        return chain


def panel() -> OpenSurface:
    """The panel of this page."""
    return OpenSurface()


QUESTION = "On a clear night with little wind, most heat goes by …"
OPTIONS = {
    "long wave": "radiation, out to the sky",
    "evaporation": "evaporation, as vapour",
    "convection": "convection, to cold air",
}
RIGHT = "long wave"
WORDS = {
    "evaporation": "It's what most keepers say, and in wind they're right. But on a clear night with little wind "
    "the sky takes even more.",
    "convection": "It's the loss we feel on our own skin. But over still water it's the smallest of the three.",
}


def print_spread() -> None:
    """Print the evaporation loss by every formula for the same state."""
    print_localised("Evaporation from water of [18 °C], air [8 °C], 80 %, wind 1 m/s, in W/m²:")
    values = {name: float(surface.evaporation(18.0, 8.0, 0.8, 1.0, name)) for name in surface.EVAPORATION}
    for name, value in sorted(values.items(), key=lambda item: item[1]):
        record = surface.EVAPORATION[name]
        print(f"{value:5.0f}  {name.replace('_', ' '):<19} {localise_finished(record.validity)}")

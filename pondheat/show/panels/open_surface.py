"""The open surface: heat loss by each route at one moment, and which is largest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.formula_spread import FORMULA_INFO
from pondheat.core import units
from pondheat.heat import balance, surface
from pondheat.heat.moist_air import saturation_curve, vapour_pressure
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Film, Slider
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.scene import PondScene
from pondheat.show.ponds import BASIN, invented
from pondheat.show.tables import show_table

AREA, WATER_TEMP = 10.0, 18.0
ROUTES = ("evaporation", "convection", "long wave")
IN_WORDS = {"long wave": "radiation to the sky"}
DIARY_NOON, HOURS = "2025-09-27 12:00", 24  # the day of the film
SUNRISE, SUNSET = 6.9, 18.7  # hours, late in September
NIGHT, FULL = 1.0, 2600.0  # hour of the picture; W, of its widest arrow
TITLE = "Heat lost from 10 m² of open water at [18 °C] by night, watts"


def day_of_weather() -> pd.DataFrame:
    """Wind at the water, air, humidity, cloud and sun of 24 hours from noon of the diary's day, by their starts.

    wind [m/s]; air_temp [degC]; humidity, cloud [–]; sun: taken in by the invented garden pond [W].
    """
    sheet = invented()
    place = assessment.boundary_conditions(replace(sheet, start_temp=WATER_TEMP), assessment.weather_of(sheet))
    first = int(place.index.searchsorted(pd.Timestamp(DIARY_NOON, tz=place.index.tz)))
    hours = place.hours.iloc[first : first + HOURS]
    at_the_water = surface.wind_at_height(1.0, place.air.wind_height, 2.0) * sheet.pond.wind_shelter
    found = balance.moment(sheet.pond, place.air.part(slice(first, first + HOURS)), np.full(HOURS, WATER_TEMP))
    return pd.DataFrame(
        {
            "wind": hours["wind_speed"] * at_the_water,
            "air_temp": hours["air_temp"],
            "humidity": hours["rel_humidity"],
            "cloud": hours["cloud_cover"],
            "sun": found["solar"],
        }
    )


class OpenSurface(Panel):
    """10 m² of open water at 18 °C under any sky."""

    def __init__(self):
        self.day = day_of_weather()
        self.sliders: tuple[float, ...] = ()
        super().__init__(
            "surface",
            {
                "wind": Slider("Wind at the water", 1, 0, 6, 0.5, "m/s"),
                "air_temp": Slider("Air temperature", 8, -10, 25, 1, "degC"),
                "humidity": Slider("Humidity of the air", 80, 20, 100, 5, "percent"),
                "cloud": Slider("Sky covered by cloud", 0, 0, 100, 10, "percent"),
                "hour": Film("A day as a film: a real day's weather", [f"{moment:%H:%M}" for moment in self.day.index]),
            },
            caution="children",
        )

    def redraw(self, wind, air_temp, humidity, cloud, hour):
        """Heat loss by each route in watts, for the sliders or for an hour of the film."""
        sliders = (wind, air_temp, humidity, cloud)
        if sliders != self.sliders and hour >= 0:
            hour = -1  # a slider has been moved: the film is over
            self.controls["hour"].set_trait("value", hour)
        self.sliders = sliders
        self.moment = None if hour < 0 else self.day.iloc[hour]
        rh, cloud = humidity / 100, cloud / 100
        if self.moment is not None:
            wind, air_temp, rh, cloud = (float(self.moment[name]) for name in ("wind", "air_temp", "humidity", "cloud"))
        self.state = wind, air_temp, rh, cloud
        self.watts = {
            "evaporation": AREA * surface.evaporation(WATER_TEMP, air_temp, rh, wind),
            "convection": AREA * surface.convection(WATER_TEMP, air_temp, rh, wind),
            "long wave": AREA * surface.long_wave_loss(WATER_TEMP, air_temp, rh, cloud),
        }
        written = {way: f"{units.significant(self.watts[way], 3)} W" for way in ROUTES}
        first = max(self.watts, key=self.watts.__getitem__)
        scene = PondScene(
            **BASIN,
            losses=self.watts,
            water_temp=WATER_TEMP,
            air_temp=air_temp,
            hour=NIGHT,
            cloud=cloud,
            wind=wind,
            shelter=None,
            has_filter=False,
            full=FULL,
        )
        if self.moment is None:
            return pond_figure(scene, self.name, TITLE), self._text(written, first)
        at = self.day.index[hour]
        scene = replace(scene, hour=at.hour + 0.5, sunrise=SUNRISE, sunset=SUNSET, sun=float(self.moment["sun"]))
        when = f"{at.day} {at:%B}, {at:%H:%M}"
        title = f"Heat lost from 10 m² of open water at [18 °C], watts, {when}"
        sun = f" The sun gives {units.significant(self.moment['sun'], 3)} W." if self.moment["sun"] >= 1 else ""
        return pond_figure(scene, self.name, title), f"{when}: {self._text(written, first)}{sun}"

    def _text(self, written: dict, first: str) -> str:
        total = sum(self.watts.values())
        parts = ", ".join(f"{IN_WORDS.get(way, way)} {written[way]}" for way in ROUTES)
        moved = (
            f"loses {units.significant(total, 3)} W" if total >= 0 else f"gains {units.significant(-total, 3)} W in all"
        )
        text = f"The open water {moved}: {parts}."
        gains = [way for way in ROUTES if self.watts[way] < 0]
        if gains:
            return f"{text} Where the number is negative, the air warms the water."
        return f"{text} Most is lost by {IN_WORDS.get(first, first)}, {100 * self.watts[first] / total:.0f} %."

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


SITUATION = {"hour": NIGHT, "cloud": 0.0, "air_temp": 8.0}
QUESTION = "On a clear night with little wind, most heat is lost by …"
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
    """Show the evaporation loss by every formula for the same state, as a table."""
    values = {name: float(surface.evaporation(18.0, 8.0, 0.8, 1.0, name)) for name in surface.EVAPORATION}
    show_table(
        "Evaporation from water at [18 °C], air at [8 °C] and 80 %, wind 1 m/s at each formula's own height",
        ("formula", "W/m²", "made for"),
        [
            (FORMULA_INFO[name].title, f"{value:.0f}", surface.EVAPORATION[name].validity)
            for name, value in sorted(values.items(), key=lambda item: item[1])
        ],
        texts=(2,),
    )

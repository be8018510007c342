"""Warming water: heat and hours to warm a pond to 18 °C, with and without losses, in constant weather."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.display_units import quantity, temperature, temperature_difference
from pondheat.core.number_format import counted
from pondheat.heat.balance import ROUTES, Air
from pondheat.heat.water import heat_capacity, warming_energy, warming_hours
from pondheat.season.heaters import Heater
from pondheat.season.simulate import simulate
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider, Switch
from pondheat.show.panels import Panel
from pondheat.show.ponds import invented

GOAL = 18.0  # °C
NIGHT = Air(air_temp=8.0, rel_humidity=0.8, wind_speed=1.0, cloud_cover=1.0, solar=0.0)
HOURS = 40 * 24  # long enough for the slowest heater that reaches the goal
SHOWN = 4 * 24  # hours across the chart
NO_GOAL = 59.0  # °C: a set point never reached, so the heater runs flat out
LOWEST = (12.0, 8.0)  # °C, foot of the scale: for what the page suggests trying, and for all that the sliders reach
DAYS = {24: "1 day", 48: "2 days", 72: "3 days", 96: "4 days"}


class WarmingWater(Panel):
    """The garden pond, 10 m² and any volume, warming to 18 °C under an overcast sky in air of 8 °C."""

    def __init__(self):
        self.pond = invented().pond
        self.weather = pd.DataFrame({"air_temp": NIGHT.air_temp}, index=pd.RangeIndex(HOURS))
        super().__init__(
            "warming",
            {
                "volume": Slider("Water in the pond", 12, 4, 24, 1, "m**3"),
                "rise": Slider("Degrees to warm it by, up to [18 °C]", 3, 1, 8, 0.5, "delta_degC"),
                "power": Slider("Power of the heater", 3, 1, 12, 0.5, "kW"),
                "losses": Switch("Include heat loss", True),
            },
            caution="fish_disease",
        )

    def redraw(self, volume, rise, power, losses):
        """The water temperature hour by hour, and that of a pond without losses as a straight line."""
        start, watts = GOAL - rise, 1000 * power
        deeper = volume / self.pond.volume  # same surface: only walls against the air grow with the depth
        walls = tuple(replace(w, area=w.area * deeper) if w.against == "air" else w for w in self.pond.walls)
        pond = replace(self.pond, volume=volume, walls=walls)
        air = replace(NIGHT, air_temp=np.full(HOURS, NIGHT.air_temp))
        run = simulate(pond, self.weather, air, set_point=NO_GOAL, heater=Heater("resistance", watts), start_temp=start)
        held = simulate(pond, self.weather, air, set_point=GOAL, heater=Heater("resistance", 50_000.0), start_temp=GOAL)
        self.keeping = float(held["heater"].iloc[0])
        self.energy = warming_energy(volume, start, GOAL)
        warm = np.flatnonzero(run["water_temp"].to_numpy() >= GOAL)
        self.mean_loss = 0.0
        if losses:
            lost = run[list(ROUTES)].sum(axis=1)
            self.mean_loss = (
                self._mean_on_the_way(lost, run["water_temp"], start, int(warm[0])) if len(warm) else self.keeping
            )
        self.hours = math.inf if losses and not len(warm) else warming_hours(volume, start, GOAL, watts, self.mean_loss)
        self.state, self.highest = (volume, rise, power, losses), float(run["water_temp"].iloc[-1])
        lossless = warming_hours(volume, start, GOAL, watts)
        hours = np.arange(SHOWN + 1.0)
        corner = np.union1d(hours, min(lossless, SHOWN))
        series = {"no heat loss": (corner, start + rise * np.minimum(corner / lossless, 1.0))}
        if losses:
            way = np.minimum(np.concatenate(([start], run["water_temp"].to_numpy()[:SHOWN])), GOAL)
            series["with heat loss"] = (hours, way)
        lowest = min(values.min() for _, values in series.values())
        figure = figures.lines(
            series,
            self.name,
            "Water temperature while the heater runs, °C",
            (0, SHOWN),
            DAYS,
            (next((foot for foot in LOWEST if foot <= lowest), LOWEST[-1]), 20.0),
            celsius=True,
            where=lambda at: f"after {counted(round(at), 'hour', 'hours')}",
        )
        return figure, self._text()

    @staticmethod
    def _mean_on_the_way(lost: pd.Series, temps: pd.Series, start: float, last: int) -> float:
        """Mean heat loss [W] until the goal is reached in hour `last`, of which only the part needed counts."""
        before = temps.iloc[last - 1] if last else start
        weights = np.append(np.ones(last), (GOAL - before) / (temps.iloc[last] - before))
        return float(np.average(lost.iloc[: last + 1], weights=weights))

    def _text(self) -> str:
        volume, rise, power, losses = self.state
        heat = f"{units.significant(self.energy, 3)} kWh"
        text = f"Warming {quantity(units.digits(volume), 'm**3')} by {temperature_difference(rise)} takes {heat}. "
        if not losses:
            text += f"At {power:g} kW that would take {_time(self.hours)} if no heat were lost."
        elif math.isinf(self.hours):
            balance = math.floor(10 * self.highest) / 10  # rounded down: it stays below the goal
            text += (
                f"At {power:g} kW the water never gets to {temperature(GOAL)}: at {temperature(balance, 1)} it loses "
                "all the heat that the heater gives."
            )
        else:
            text += f"At {power:g} kW, allowing for heat loss, that takes {_time(self.hours)}."
        keeping = units.significant(self.keeping / 1000, 2)
        return f"{text} Keeping it at {temperature(GOAL)} in this weather takes a steady {keeping} kW."

    def arithmetic(self):
        """From the heat capacity to kWh, and from the power left after losses to hours."""
        volume, rise, power, losses = self.state
        chain = Chain()
        middle = GOAL - rise / 2
        each = chain.given("[1 m³] by [1 K]", heat_capacity(1.0, middle), "kWh/m**3/K", source("iapws_95"))
        whole = chain.times(
            "The whole pond by [1 K]", (each, "kWh/m**3/K"), (volume, "m**3"), "kWh/K", "density × specific heat"
        )
        energy = chain.times(
            "Heat to warm it", (whole, "kWh/K"), (rise, "delta_degC"), "kWh", "a difference: K and °C alike"
        )
        left = power
        if losses:
            name = f"Lost at [{GOAL:g} °C]" if math.isinf(self.hours) else "Mean loss on the way"
            loss = chain.given(
                name, self.mean_loss / 1000, "kW", "hour by hour; evaporation: " + source("ryan_harleman_1973")
            )
            left = chain.add(
                "Heater power left over", [("heater", power), ("lost", -loss)], "kW", "lost heat warms no water"
            )
        if math.isinf(self.hours):
            chain.given("Hours", self.hours, "dimensionless", "no power is left before the water is warm")
        else:
            chain.times("Hours: heat ÷ power left", (energy, "kWh"), (1 / left, "1/kW"), "hour", "shown above")
        return chain


def _time(hours: float) -> str:
    days = f", about {hours / 24:.1f} days" if hours >= 36 else ""
    return f"{units.significant(hours, 3)} hours{days}"


def panel() -> WarmingWater:
    """The panel of this page."""
    return WarmingWater()


SITUATION = {"water_temp": 15.0, "heater": 0.0, "hour": 10.0, "cloud": 1.0}
QUESTION = "Twice the water takes twice …"
OPTIONS = {
    "keeping": "the heat to keep it warm all winter",
    "warming": "the heat to warm it up once",
    "both": "both: warming up and keeping warm",
}
RIGHT = "warming"
WORDS = {
    "keeping": "There's twice as much warm water to look after. But heat is lost through the surface, and that "
    "hasn't grown, so only warming it up takes twice as much.",
    "both": "More water sounds like more of everything. But heat is lost through the surface, and that hasn't "
    "grown, so keeping it warm hardly takes more.",
}

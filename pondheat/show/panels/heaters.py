"""Heaters: heat output and heat loss over air temperature, where they cross, and the energy input."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.fish import cautions
from pondheat.heat import balance
from pondheat.season.heaters import APPROACH, COP_FORMULAS, Heater, heat_pump_cop
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice, Slider
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import Figure, pond_figure
from pondheat.show.pictures.of_sheet import basin_of, grouped_losses
from pondheat.show.pictures.scene import PondScene
from pondheat.show.ponds import invented
from pondheat.show.tables import show_table, show_text

KINDS = {"heat pump": "a heat pump", "resistance": "an electric heater, resistance", "gas": "a gas heater"}
NIGHT = {"rel_humidity": 0.8, "wind_speed": 3.0, "cloud_cover": 0.7}  # an ordinary night
COLDEST, WARMEST = -15.0, 20.0
AIRS = np.round(np.arange(COLDEST, WARMEST + 0.05, 0.1), 1)
LENGTH, MIDNIGHT, FULL = 4.0, 0.0, 6000.0  # m, of the invented pond; hour; W, of the picture's widest arrow
TITLE = "An ordinary night: heat flows, watts; dashed: the heater's limit"
NAMES = {"staffell": "Staffell", "ruhnau": "Ruhnau"}  # COP formulae


class HeaterAgainstLoss(Panel):
    """The open garden pond on an ordinary night with a heater, at any air temperature."""

    MOST = 12.5  # kW, top of the scale

    def __init__(self):
        self.pond = invented().pond
        super().__init__(
            "heater",
            {
                "kind": Choice("The pond is heated by", KINDS, "heat pump"),
                "power": Slider("Power on the label", 6, 2, 12, 0.5, "kW"),
                "water_temp": Slider("Water temperature", 18, 8, 26, 1, "degC"),
                "air_temp": Slider("Air temperature", 5, -15, 20, 1, "degC"),
            },
            caution="electricity",
        )

    def redraw(self, kind, power, water_temp, air_temp):
        """Heat loss, greatest heat output and energy input over air temperature, in kW."""
        self.heater = Heater(kind, power * 1000)
        self.water_temp, self.air_temp = water_temp, air_temp
        air = balance.Air(AIRS, **NIGHT)
        self.parts = balance.moment(self.pond, air, np.full(len(AIRS), float(water_temp)))
        self.lost, self.given = np.maximum(self.parts["net"], 0.0), self.heater.limit(AIRS)
        self.heat = np.minimum(self.lost, self.given)
        self.taken = {
            formula: np.sum(replace(self.heater, cop_formula=formula).taken(self.heat, water_temp, AIRS), axis=0)
            for formula in (COP_FORMULAS if kind == "heat pump" else ("staffell",))
        }
        self.chosen = int(np.argmin(np.abs(AIRS - air_temp)))
        fails = np.flatnonzero(self.given < self.lost)  # ascending air temperatures: the last is the warmest
        self.crossing = (
            COLDEST if not fails.size else None if fails[-1] == len(AIRS) - 1 else float(AIRS[fails[-1] + 1])
        )
        what = "gas" if kind == "gas" else "electricity"
        band = np.sort(list(self.taken.values()), axis=0)
        series = {"lost": self.lost, "given at most": self.given} | dict(
            zip(("taken, least", "taken, most"), band) if len(band) > 1 else [("taken", band[0])]
        )

        def curves() -> Figure:
            return figures.lines(
                {name: (list(AIRS[::5]), list(watts[::5] / 1000)) for name, watts in series.items()},
                self.name,
                f"Heat lost, heat given at most, {what} taken, kW, by air temperature",
                (COLDEST, WARMEST),
                {float(air): temperature(air) for air in range(-10, 21, 10)},
                (0, self.MOST),
                where=lambda air: f"air {temperature(air)}",
            )

        return self._moment(curves), self._text(what)

    def _moment(self, curves: Callable[[], Figure]) -> Figure:
        """The pond at the chosen air temperature, above the curves."""
        at = self.chosen
        scene = PondScene(
            **basin_of(self.pond, LENGTH),
            losses=grouped_losses(pd.Series({name: float(self.parts[name][at]) for name in balance.ROUTES})),
            water_temp=self.water_temp,
            air_temp=self.air_temp,
            heater=float(self.heat[at]),
            outlines={"heater": float(self.given[at])},
            outlined="at most",
            hour=MIDNIGHT,
            cloud=NIGHT["cloud_cover"],
            wind=NIGHT["wind_speed"] * self.pond.wind_shelter,
            shelter=self.pond.wind_shelter,
            full=FULL,
        )
        return pond_figure(scene, self.name, TITLE, curves)

    @property
    def spare(self) -> float:
        """Greatest heat output less heat loss at the chosen air temperature [W], negative if it can't keep up."""
        return float(self.given[self.chosen] - self.lost[self.chosen])

    def _text(self, what: str) -> str:
        kw = {
            name: f"{watts / 1000:.1f}"
            for name, watts in (
                ("lost", self.lost[self.chosen]),
                ("given", self.given[self.chosen]),
                ("spare", abs(self.spare)),
            )
        }
        text = (
            f"In air at {temperature(self.air_temp, 0)} the pond at {temperature(self.water_temp)} loses {kw['lost']} "
            f"kW at night, and the heater gives at most {kw['given']} kW: {kw['spare']} kW "
            f"{'to spare' if self.spare >= 0 else 'short'}."
        )
        if self.crossing is None:
            text += f" It can't keep up even in air at {temperature(WARMEST)}."
        elif self.crossing <= COLDEST:
            text += f" It keeps up down to {temperature(COLDEST)}, where this picture ends."
        else:
            text += f" It keeps up down to {temperature(self.crossing, 1)}."
        heat, taken = self.heat[self.chosen], [t[self.chosen] for t in self.taken.values()]
        if heat > 0 and len(taken) > 1:
            low, high = sorted(heat / t for t in taken)
            band = f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"
            text += f" For one kWh of {what} it gives about {band} kWh of heat, by two formulae."
        elif heat > 0:
            text += f" For one kWh of {what} it gives {heat / taken[0]:.1f} kWh of heat."
        return text

    def arithmetic(self):
        """From the routes of heat loss and the rated power to the energy input, and what is to spare or short."""
        chain = Chain()
        part = {name: float(values[self.chosen]) for name, values in self.parts.items() if name in balance.ROUTES}
        lost = chain.add(
            "Heat lost at night",
            [
                ("evaporation", part["evaporation"]),
                ("convection", part["convection"]),
                ("radiation to the sky", part["long_wave"]),
                ("everything else", sum(part[name] for name in balance.ROUTES[3:])),
            ],
            "W",
            source("ryan_harleman_1973"),
        )
        given, heat = float(self.given[self.chosen]), float(self.heat[self.chosen])
        if self.heater.kind == "heat pump":
            chain.times(
                "Given at most",
                (self.heater.power, "W"),
                (given / self.heater.power, "dimensionless"),
                "W",
                f"label × share: {100 * self.heater.fade:g} % less for each degree of air below "
                f"[{self.heater.rated_air_temp:g} °C], nothing below [{units.digits(self.heater.lowest_air_temp)} °C] "
                "(judgement)",
            )
            lift = chain.given(
                "Lift",
                self.water_temp + APPROACH.value - self.air_temp,
                "delta_degC",
                f"water [{self.water_temp:g} °C] + [{APPROACH.value:g} K] for the pump's own water − air "
                f"[{units.digits(self.air_temp)} °C]; {source('practice')}",
            )
            for formula, record in COP_FORMULAS.items():
                cop = chain.given(
                    f"COP, {NAMES[formula]}", heat_pump_cop(lift, formula), "dimensionless", source(record.source)
                )
                chain.times(
                    f"Electricity, {NAMES[formula]}", (heat, "W"), (1 / cop, "dimensionless"), "W", "heat ÷ COP"
                )
        else:
            chain.given("Given at most", given, "W", "its label, in any weather")
            share = self.heater.efficiency if self.heater.kind == "gas" else 1.0
            chain.times(
                "Taken",
                (heat, "W"),
                (1 / share, "dimensionless"),
                "W",
                f"heat ÷ {share:g}; " + ("flue loss, " + source("practice") if share < 1 else "one for one"),
            )
        chain.add(
            "To spare" if self.spare >= 0 else "Short (negative)",
            [("given at most", given), ("lost", -max(lost, 0.0))],
            "W",
            f"shown above as {abs(self.spare) / 1000:.1f} kW",
        )
        return chain


def panel() -> HeaterAgainstLoss:
    """The panel of this page."""
    return HeaterAgainstLoss()


SITUATION = {"hour": 3.0, "cloud": 0.5, "air_temp": -6.0, "heater": 0.0}
QUESTION = "The heat pump keeps up …"
OPTIONS = {
    "sooner": "not that far: it runs short of heat even above freezing",
    "label": "down to about [−6 °C], where the pond loses 6 kW",
    "harder": "even further: it works harder when it's cold",
}
RIGHT = "sooner"
WORDS = {
    "label": "That's what the label promises. But that is for mild air: the colder the air, the less heat a heat "
    "pump finds in it.",
    "harder": "It does work harder in the cold. But it gives less, not more: there's less heat to be had from cold "
    "air.",
}


def print_cop() -> None:
    """Show the COP by every formula at some air temperatures, as a table."""
    rows = []
    for air in (-10.0, 0.0, 7.0):
        cops = [heat_pump_cop(18.0 + APPROACH.value - air, formula) for formula in COP_FORMULAS]
        rows.append((f"[{units.digits(air)} °C]", *(f"{cop:.2f}" for cop in cops)))
    show_table(
        "kWh of heat for one kWh of electricity, pond at [18 °C]",
        ("air", *(f"by {NAMES[formula]}" for formula in COP_FORMULAS)),
        rows,
    )


def print_cautions() -> None:
    """Show the cautions for heat pumps and burners."""
    shown = [cautions.CAUTIONS[key] for key in ("refrigerant", "burning")]
    show_text(*((f"{caution.title}.", caution.text) for caution in shown))

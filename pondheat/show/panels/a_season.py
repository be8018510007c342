"""A pond without its heater: how fast it cools, what depth changes, and an unheated season."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable
from dataclasses import replace

import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature, temperature_difference, temperature_range, volume
from pondheat.core.sources import FUSION_HEAT
from pondheat.heat.balance import ROUTES
from pondheat.heat.water import JOULES_PER_KWH
from pondheat.meter.fitting.pond_fit import cool_down_loss
from pondheat.season import simulate
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice, Film, Slider
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import Figure, pond_figure
from pondheat.show.pictures.of_sheet import scene_of
from pondheat.show.ponds import invented
from pondheat.show.tables import show_table

WATER_TEMP, SHALLOW = 18.0, 0.4
DAYS = 10
FILM_HOURS, FULL = 72, 4500.0  # hours of the film; W, of the picture's widest arrow
DEEPEST, STANDS = 2.4, 1.2  # m: the deepest pond, and how far the water of a deep one stands above the ground
NEVER = "never"
STOPS = {"2025-10-15": "15 October", "2025-11-15": "15 November", "2026-01-15": "15 January", "2026-03-01": "1 March"}
COVERS = {"open": "open", "night": "covered at night"}
PERIMETER = 13.0  # m, of 4 m × 2.5 m: the wall area grows with the depth


class HeaterStops(Panel):
    """The garden pond at any depth, unheated from a midnight on and 18 °C warm then, next to one 0.4 m deep."""

    def __init__(self):
        sheet = invented()
        self.sheet = replace(sheet, start_temp=WATER_TEMP, tariff=None)
        self.place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        self._cached = functools.lru_cache(8)(self.unheated)  # a new depth does not change the shallow pond
        super().__init__(
            "stops",
            {
                "depth": Slider("Depth of the pond", 1.2, 0.4, 2.4, 0.2, "m"),
                "wind": Slider("Wind that reaches the water", 50, 30, 100, 10, "percent"),
                "cover": Choice("The pond is", COVERS, "open").add_class("ph-inline"),
                "stop": Choice(
                    "The heater stops at midnight on", STOPS | {NEVER: "never on: the whole season"}, "2026-01-15"
                ),
                "hour": Film("The first three days as a film", [f"hour {at + 1}" for at in range(FILM_HOURS)], 0),
            },
            caution="power_cut",
        )

    def unheated(
        self, depth: float, wind: float, covered: bool, begin: pd.Timestamp | None, count: int
    ) -> pd.DataFrame:
        """The frame of `simulate` for a pond unheated for `count` hours, its pump on.

        depth: [m]; wind: share that reaches the water [%]; begin: default the start of the season.
        """
        first = 0 if begin is None else int(self.place.hours.index.searchsorted(begin))
        hours = slice(first, first + count)
        side, *others = self.sheet.pond.walls
        pond = replace(
            self.sheet.pond,
            volume=self.sheet.pond.surface_area * depth,
            wind_shelter=wind / 100,
            walls=(replace(side, area=PERIMETER * depth), *others),
            cover=self.sheet.pond.cover if covered else None,
        )
        return simulate.simulate(
            pond,
            self.place.hours.iloc[hours],
            self.place.air.part(hours),
            covered=self.place.covered[hours],
            pump_power=self.sheet.pump_power,
            pump_heat=self.sheet.pump_heat,
            start_temp=WATER_TEMP,
        )

    def redraw(self, depth, wind, cover, stop, hour):
        """Temperatures of both ponds and the air: hourly for ten days, or daily means for the season."""
        whole = stop == NEVER
        begin = None if whole else pd.Timestamp(stop, tz=times_of(self.place.hours).tz)
        count = len(self.place.hours) if whole else 24 * DAYS
        self.frame, self.shallow = (self._cached(d, wind, cover == "night", begin, count) for d in (depth, SHALLOW))
        self.depth, self.stop = depth, stop
        air = self.place.hours["air_temp"].loc[self.frame.index]
        runs = {"this pond": self.frame["water_temp"], f"{SHALLOW:g} m deep": self.shallow["water_temp"], "air": air}
        if whole:
            runs = {name: run.resample("D").mean() for name, run in runs.items()}
            firsts = [d for d in runs["air"].index if d.day == 1 and d.month % 2 == 0]
            ticks = {(d - runs["air"].index[0]).days: f"{d:%b}" for d in firsts}
            across, title = (0, len(runs["air"])), "Water and air, daily means, °C, September to May"
            places = [0.5 + day for day in range(len(runs["air"]))]
        else:
            ticks = {day: f"{day} d" for day in range(2, DAYS + 1, 2)}
            across, title = (0, DAYS), f"Water and air, °C, in the {DAYS} days after the heater stops"
            places = [(hour + 1) / 24 for hour in range(count)]

        def temperatures() -> Figure:
            return figures.lines(
                {name: (places, list(run)) for name, run in runs.items()},
                self.name,
                title,
                across,
                ticks,
                (-10, 30),
                {WATER_TEMP: f"[{WATER_TEMP:g} °C]", 0.0: "freezing"},
                celsius=True,
                where=lambda at: _when(at, runs["air"].index[0] if whole else None),
            )

        return self._moment(max(hour, 0), wind, cover, temperatures), self._text()

    def _moment(self, hour: int, wind: float, cover: str, temperatures: Callable[[], Figure]) -> Figure:
        """The pond in one hour of the film, above the picture of its temperatures."""
        row = self.frame.iloc[hour : hour + 1]
        scene = scene_of(self.sheet, row, self.place.hours)
        has_cover = cover == "night"
        scene = replace(
            scene,
            depth=self.depth,
            raised=min(self.depth, STANDS),
            fit=(scene.length, DEEPEST, STANDS),
            shelter=wind / 100,
            wind=scene.wind / self.sheet.pond.wind_shelter * wind / 100,
            heater=0.0,
            has_cover=has_cover,
            covered=scene.covered if has_cover else 0.0,
            full=FULL,
        )
        at = times_of(row)[0]
        title = f"{at.day} {at:%B}, {at:%H:%M}, {hour + 1} h after the heater stops: heat flows, watts"
        return pond_figure(scene, self.name, title, temperatures)

    def fall(self, frame: pd.DataFrame, hours: int = 24) -> float:
        """The fall of the water temperature after so many hours [K]."""
        return WATER_TEMP - float(frame["water_temp"].iloc[hours - 1])

    def _text(self) -> str:
        water = volume(self.sheet.pond.surface_area * self.depth)
        ice = self.frame["ice"].max()
        frozen = f" Up to {units.significant(ice, 2)} kg of ice are on it." if ice else ""
        last, other = (float(f["water_temp"].iloc[-1]) for f in (self.frame, self.shallow))
        if self.stop == NEVER:
            cold = int((self.frame["water_temp"].resample("D").mean() < 10).sum())
            return (
                f"Never heated, this pond of {water} is colder than {temperature(10)} on {cold} days from September to "
                f"May. The water falls as low as {temperature(self.frame['water_temp'].min(), 1)} and ends May at "
                f"{temperature(last, 1)}.{frozen}"
            )
        moved, shallow = self.fall(self.frame), self.fall(self.shallow)
        return (
            f"The heater stops on {STOPS[self.stop]}; the pump runs on. In the first day this pond of {water} "
            f"{'cools' if moved >= 0 else 'warms'} by {temperature_difference(abs(moved), 1)}; one of {SHALLOW:g} m "
            f"depth {'cools' if shallow >= 0 else 'warms'} by {temperature_difference(abs(shallow), 1)}. After {DAYS} "
            f"days they are at {temperature_range(last, other, 1, ' and ')}.{frozen}"
        )

    def arithmetic(self):
        """From the heat lost to the fall of the water temperature; freezing gives heat without cooling."""
        chain = Chain()
        whole = self.stop == NEVER
        part = self.frame if whole else self.frame.iloc[:24]
        kwh = {name: float(part[name].sum()) / 1000 for name in (*ROUTES, "solar", "pump")}
        lost = chain.add(
            "Heat lost" + ("" if whole else " in the first day"),
            [
                ("evaporation", kwh["evaporation"]),
                ("convection", kwh["convection"]),
                ("radiation to the sky", kwh["long_wave"]),
                ("everything else", sum(kwh[name] for name in ROUTES[3:])),
            ],
            "kWh",
            source("ryan_harleman_1973"),
        )
        frozen = float(part["ice"].iloc[-1]) * FUSION_HEAT.value / JOULES_PER_KWH
        taken = chain.add(
            "From the heat stored in the water",
            [("lost", lost), ("sun", -kwh["solar"]), ("pump's warmth", -kwh["pump"]), ("heat from freezing", -frozen)],
            "kWh",
            "heat lost less heat gained",
        )
        cubic_metres = self.sheet.pond.surface_area * self.depth
        capacity = chain.given(
            "Heat for [one degree]",
            replace(self.sheet.pond, volume=cubic_metres).heat_capacity / JOULES_PER_KWH,
            "kWh/delta_degC",
            f"[{cubic_metres:g} m³]; {source('iapws_95')}",
        )
        shown = "" if whole else f", shown above as [{abs(self.fall(part)):.1f} K]"
        fallen = chain.times(
            "The water falls by" if taken >= 0 else "The water rises, a fall of",
            (taken, "kWh"),
            (1 / capacity, "delta_degC/kWh"),
            "delta_degC",
            "heat ÷ heat for [one degree]" + shown,
        )
        if whole:
            chain.add(
                "At the end of May",
                [("began at", WATER_TEMP), ("change", -fallen)],
                "degC",
                f"shown above as [{float(part['water_temp'].iloc[-1]):.1f} °C]",
            )
        return chain


def panel() -> HeaterStops:
    """The panel of this page."""
    return HeaterStops()


SITUATION = {"hour": 0.5, "heater": 0.0}
QUESTION = "Compared with the first pond, the one twice as deep cools …"
OPTIONS = {
    "same": "just as much: its surface is the same",
    "twice": "twice as much: there is twice the heat to lose",
    "half": "rather more than half as much: it has twice the water",
}
RIGHT = "half"
WORDS = {
    "same": "It does lose nearly as many watts. But the same watts cool twice the water only about half as much.",
    "twice": "It does hold twice the heat. But heat is lost through the surface, and that hasn't grown.",
}

EVENING = dt.datetime(2025, 11, 8, 19)
EVENING_HOURS = 6


def print_cool_down() -> None:
    """Show a cool-down test of the invented pond, read to 0.1 K, and the effect of a misreading."""
    found = panel()
    begin = pd.Timestamp(EVENING, tz=times_of(found.place.hours).tz)
    frame = found.unheated(1.2, 50, False, begin, EVENING_HOURS)
    air = round(float(found.place.hours["air_temp"].loc[frame.index].mean()), 1)
    end = round(float(frame["water_temp"].iloc[-1]), 1)
    first, second, capacity = WATER_TEMP - air, end - air, round(found.sheet.pond.heat_capacity / JOULES_PER_KWH, 2)

    def loss(lead, later):
        return cool_down_loss(capacity, lead, later, EVENING_HOURS)

    pump = found.sheet.pump_heat / 1000 / ((first + second) / 2)
    show_table(
        f"The invented pond, open, {EVENING.day} November: heater off at {EVENING.hour}:00, pump on",
        ("step", "found"),
        [
            (f"the water, and {EVENING_HOURS} hours later", f"[{WATER_TEMP:.1f} °C], [{end:.1f} °C]"),
            ("the air on average", f"[{air:.1f} °C]"),
            (
                f"{capacity} kWh/K × ln({first:.1f} ÷ {second:.1f}) ÷ {EVENING_HOURS} h",
                f"{loss(first, second):.3f} kW/K",
            ),
            ("and what the pump's warmth made up for", f"{pump:.3f} kW/K"),
            ("in all", f"{loss(first, second) + pump:.3f} kW/K"),
            (
                "with each water reading [0.1 K] off",
                f"{loss(first - 0.1, second + 0.1) + pump:.3f} to {loss(first + 0.1, second - 0.1) + pump:.3f} kW/K",
            ),
        ],
    )


def _when(at: float, first: pd.Timestamp | None) -> str:
    """The date, `at` days after the first; without one, the day and hour since the heater stopped."""
    if first is None:
        return f"day {int(at) + 1}, hour {round(24 * at) % 24}"
    day = first + pd.Timedelta(days=int(at))
    return f"{day.day} {day:%B}"

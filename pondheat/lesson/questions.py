"""The bank of questions: what is asked, the right answer and every known wrong road as functions of the same numbers.

Nothing here is a typed result. Numbers may be drawn anew from a seed; a draw is taken only if no two roads, nor a road
and the right answer, lie within each other's tolerance, so that every slip is told apart from every other.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.sources import STEFAN_BOLTZMANN
from pondheat.money import payback

HEAT_OF_WATER = 1.163  # kWh to warm 1 m³ by 1 K, taking 1 m³ as 1000 kg: the workbook's number for work by hand
KELVIN = 273  # as people use it by hand
_SIGMA = STEFAN_BOLTZMANN.value


@dataclass(frozen=True)
class Misconception:
    """A known wrong road: its name, where it leads from the given numbers, and what to say to whoever took it."""

    name: str
    value: Callable[..., float]
    sentence: str


@dataclass(frozen=True)
class Question:
    """One question. `ask`, hints and the worked solution are templates filled with the given numbers.

    unit: asked for [as `units` knows it]; given: the printed numbers; draws: for each number the values it may take;
    tolerance: relative; rounding: words shown with the question; worked: template that may also use {right}; word: what the answer is counted
    in, where that is a word and no unit (“winters”).
    """

    key: str
    notebook: str
    ask: str
    unit: str
    given: dict
    draws: dict
    right: Callable[..., float]
    roads: tuple[Misconception, ...]
    nudge: str
    step: str
    worked: str
    digits: int = 3
    tolerance: float = 0.01
    rounding: str = "three figures are enough"
    word: str = ""

    def values(self, given: dict | None = None) -> tuple[float, dict[str, float]]:
        """The right answer and the end of every road, for these numbers."""
        numbers = given or self.given
        return self.right(**numbers), {road.name: road.value(**numbers) for road in self.roads}

    def told_apart(self, given: dict) -> bool:
        """Whether right answer and roads lie further apart than twice the tolerance (each may be typed rounded)."""
        right, roads = self.values(given)
        ends = [right, *roads.values()]
        return all(
            abs(a - b) > 2.2 * self.tolerance * max(abs(a), abs(b)) and abs(a - b) > 1e-9
            for i, a in enumerate(ends)
            for b in ends[i + 1 :]
        )

    def numbers(self, seed: int | None = None) -> dict:
        """The printed numbers, or fresh ones from a seed, drawn until every road is told apart."""
        if seed is None:
            return dict(self.given)
        rng = random.Random(f"{self.key}/{seed}")
        for _ in range(500):
            drawn = {
                name: rng.choice(list(self.draws[name])) if name in self.draws else value
                for name, value in self.given.items()
            }
            if drawn != self.given and self.told_apart(drawn):
                return drawn
        return dict(self.given)


def _steps(low: float, high: float, step: float) -> tuple[float, ...]:
    count = round((high - low) / step)
    return tuple(round(low + i * step, 6) for i in range(count + 1))


def _pence(value: float) -> float:
    return value / 100


def _saturation(temp: float) -> float:
    from pondheat.heat.moist_air import saturation_vapour_pressure

    return float(saturation_vapour_pressure(temp))


def _u_with(bare: float, thickness: float, conductivity: float) -> float:
    return 1 / (1 / bare + thickness / 1000 / conductivity)


def _day_heat(night: float, day: float, hours: float) -> float:
    return night * hours + day * (24 - hours)


def _meeting(power: float, cold_power: float, warm: float, loss: float, pond: float) -> float:
    fade = (power - cold_power) / warm  # kW per kelvin below the warm point; the cold point is 0 °C
    return (loss * pond - cold_power) / (fade + loss)


def _tariff_day(night_use: float, cheap: float, hours: float, day_use: float, low: float, high: float) -> float:
    """Pence a day: cheap hours all lie in the night of `hours` at night_use kW; the rest of the day takes day_use kW."""
    return night_use * cheap * low + (night_use * (hours - cheap) + day_use * (24 - hours)) * high


_SPELLS = (
    "Spell A, open: {a:g} kWh in {da:g} days, the water {ta:g} K above the air. Spell B, covered at night: {b:g} kWh in {db:g} days, "
    "{tb:g} K. "
)
_TWO = {"a": 210, "da": 7, "ta": 10, "b": 186, "db": 10, "tb": 12}
_TWO_DRAWS = {
    "a": (190, 200, 210, 225),
    "b": (150, 165, 180, 186),
    "db": (9, 10, 11),
    "ta": (9, 10, 11),
    "tb": (12, 13, 14),
}


_BANK: tuple[Question, ...] = (
    # --- 01 power, energy, money ---------------------------------------------------------------------------------
    Question(
        "1.1",
        "01_power_energy_money",
        "A {power:g} kW heater runs without a break for {hours:g} hours. How many kWh is that?",
        "kWh",
        {"power": 3, "hours": 8},
        {"power": _steps(1, 6, 0.5), "hours": (4, 5, 6, 7, 8, 9, 10, 12)},
        lambda power, hours: power * hours,
        (
            Misconception(
                "divided",
                lambda power, hours: power / hours,
                "It looks as if you divided. Every hour adds as much again, so it must grow with the hours.",
            ),
            Misconception(
                "added",
                lambda power, hours: power + hours,
                "It looks as if you added kilowatts and hours. They are different things: one says how fast, one how long.",
            ),
            Misconception(
                "watts",
                lambda power, hours: 1000 * power * hours,
                "That is watt-hours. A thousand of them make one kWh.",
            ),
        ),
        "A kilowatt says how fast heat is given. How long does it go on?",
        "Energy is power times time: kW × h = kWh.",
        "{power:g} kW × {hours:g} h = {right} kWh.",
    ),
    Question(
        "1.1b",
        "01_power_energy_money",
        "A {power:g} kW heater is on for {share:g} % of a whole day. How many kWh is that?",
        "kWh",
        {"power": 3, "share": 40},
        {"power": _steps(1, 6, 0.5), "share": (20, 25, 30, 40, 60, 70)},
        lambda power, share: power * 24 * share / 100,
        (
            Misconception(
                "all day",
                lambda power, share: power * 24,
                "That is the whole day. The thermostat lets the heater run only part of it.",
            ),
            Misconception(
                "forgot the hours",
                lambda power, share: power * share / 100,
                "That is the mean power in kW. Over a day it goes on for 24 hours.",
            ),
        ),
        "How many hours of the day is the heater on?",
        "Hours on = 24 h × share. Then kW × h.",
        "24 h × {share:g} % × {power:g} kW = {right} kWh.",
    ),
    Question(
        "1.2",
        "01_power_energy_money",
        "A {power:g} kW heater ran for {hours:g} hours. A kWh costs {price:g} {h}. What did it cost?",
        "money",
        {"power": 3, "hours": 8, "price": 28},
        {"power": (2, 2.5, 3, 4), "hours": (5, 6, 8, 9), "price": (21, 23, 26, 28, 29, 31, 34)},
        lambda power, hours, price: power * hours * _pence(price),
        (
            Misconception(
                "hundredths",
                lambda power, hours, price: power * hours * price,
                "That number is in hundredths of your money. A hundred of them make one.",
            ),
            Misconception(
                "power for energy",
                lambda power, hours, price: power * _pence(price),
                "It looks as if you took the kW. The bill counts kWh, which hold the hours already.",
            ),
            Misconception(
                "hours twice",
                lambda power, hours, price: power * hours * hours * _pence(price),
                "The hours went in twice. They are inside the kWh already.",
            ),
        ),
        "The price is for one kWh. How many are there?",
        "kW × h = kWh; × price of one; then hundredths into whole money.",
        "{power:g} kW × {hours:g} h × {price:g} {h} = {right}.",
        2,
        rounding="to the nearest hundredth",
    ),
    Question(
        "1.3",
        "01_power_energy_money",
        "A {power:g} W pump runs day and night for a year of 365 days. A kWh costs {price:g} {h}. What does the year cost?",
        "money",
        {"power": 100, "price": 28},
        {"power": (40, 50, 60, 75, 80, 120, 150), "price": (21, 25, 28, 30, 33)},
        lambda power, price: power / 1000 * 8760 * _pence(price),
        (
            Misconception(
                "one day", lambda power, price: power / 1000 * 24 * _pence(price), "That is the cost of one day."
            ),
            Misconception(
                "watts as kilowatts",
                lambda power, price: power * 8760 * _pence(price),
                "That took the watts for kilowatts. A thousand watts make one.",
            ),
        ),
        "First the kWh of a whole year.",
        "W ÷ 1000 = kW; × 24 × 365 hours; × price.",
        "{power:g} W = {power:g}/1000 kW; × 8760 h × {price:g} {h} = {right}.",
        2,
    ),
    # --- 02 warming water ----------------------------------------------------------------------------------------
    Question(
        "2.1",
        "02_warming_water",
        "How many kWh warm {volume:g} m³ of water by {rise:g} K, if none is lost? (1 m³ by 1 K: 1.163 kWh)",
        "kWh",
        {"volume": 12, "rise": 5},
        {"volume": (4, 6, 8, 10, 12, 15, 20), "rise": (2, 3, 4, 5, 6, 8)},
        lambda volume, rise: HEAT_OF_WATER * volume * rise,
        (
            Misconception(
                "one degree", lambda volume, rise: HEAT_OF_WATER * volume, "That is one degree. How many are wanted?"
            ),
            Misconception(
                "megajoules",
                lambda volume, rise: HEAT_OF_WATER * volume * rise * 3.6,
                "That is the number of megajoules. 3.6 MJ make one kWh.",
            ),
            Misconception(
                "added 273",
                lambda volume, rise: HEAT_OF_WATER * volume * (rise + KELVIN),
                "It looks as if 273 was added to a rise. A difference is the same in K and in °C.",
            ),
        ),
        "Each cubic metre needs 1.163 kWh for each degree.",
        "1.163 × m³ × degrees.",
        "1.163 × {volume:g} × {rise:g} = {right} kWh.",
    ),
    Question(
        "2.2",
        "02_warming_water",
        "Warming a pond takes {energy:g} kWh. How many hours does a {power:g} kW heater need at least, if no heat is lost?",
        "hour",
        {"energy": 46.5, "power": 3},
        {"energy": (35, 46.5, 52, 69.8, 81, 93), "power": (2, 2.5, 3, 4, 6)},
        lambda energy, power: energy / power,
        (
            Misconception(
                "multiplied",
                lambda energy, power: energy * power,
                "It looks as if you multiplied. A stronger heater must need less time, not more.",
            ),
            Misconception(
                "upside down",
                lambda energy, power: power / energy,
                "The division is upside down: how often do the kilowatts go into the kilowatt-hours?",
            ),
        ),
        "Each hour the heater gives as many kWh as it has kW.",
        "Hours = kWh ÷ kW.",
        "{energy:g} kWh ÷ {power:g} kW = {right} h. With losses it takes longer.",
    ),
    Question(
        "2.3",
        "02_warming_water",
        "You change {volume:g} m³ of an {pond:g} °C pond of 12 m³ for tap water of {tap:g} °C. How many kWh bring it back? "
        "(1 m³ by 1 K: 1.163 kWh)",
        "kWh",
        {"volume": 1.2, "tap": 7, "pond": 18},
        {"volume": (0.6, 0.8, 1.0, 1.2, 1.5, 2.0), "tap": (6, 7, 8, 9, 10), "pond": (18,)},
        lambda volume, tap, pond: HEAT_OF_WATER * volume * (pond - tap),
        (
            Misconception(
                "whole pond",
                lambda volume, tap, pond: HEAT_OF_WATER * 12 * (pond - tap),
                "That warms the whole pond. Only the new water came in cold.",
            ),
            Misconception(
                "from freezing",
                lambda volume, tap, pond: HEAT_OF_WATER * volume * pond,
                "That warms it from 0 °C. The tap water starts higher.",
            ),
            Misconception(
                "forgot it was cold",
                lambda volume, tap, pond: 0.0,
                "The new water is colder than the pond, so something must warm it.",
            ),
            Misconception(
                "added 273",
                lambda volume, tap, pond: HEAT_OF_WATER * volume * (pond - tap + KELVIN),
                "It looks as if 273 was added to a difference. A difference is the same in K and in °C.",
            ),
        ),
        "Only the new water has to be warmed. From what to what?",
        "1.163 × m³ changed × (pond − tap).",
        "1.163 × {volume:g} × ({pond:g} − {tap:g}) = {right} kWh.",
    ),
    # --- 03 fish first -------------------------------------------------------------------------------------------
    Question(
        "3.1",
        "03_fish_first",
        "How many kW, above the losses, warm {volume:g} m³ by 1 K in a day? (1 m³ by 1 K: 1.163 kWh)",
        "kW",
        {"volume": 12},
        {"volume": (5, 6, 8, 10, 15, 18, 20)},
        lambda volume: HEAT_OF_WATER * volume / 24,
        (
            Misconception(
                "a day as an hour",
                lambda volume: HEAT_OF_WATER * volume,
                "That is the kWh. They have a whole day of hours to be given in.",
            ),
            Misconception(
                "divided twice", lambda volume: HEAT_OF_WATER * volume / 24 / 24, "The 24 hours went in twice."
            ),
        ),
        "First the kWh for one degree. In how many hours are they given?",
        "kW = kWh ÷ 24 h.",
        "1.163 × {volume:g} ÷ 24 = {right} kW.",
        2,
        0.02,
        "two figures are enough",
    ),
    Question(
        "3.2",
        "03_fish_first",
        "At the same pH, {low:g} % of the ammonia is of the poisonous kind at 8 °C and {high:g} % at 18 °C. "
        "How many times as much is that?",
        "dimensionless",
        {"low": 1.56, "high": 3.30},
        {"low": (0.9, 1.1, 1.56, 2.0), "high": (2.9, 3.3, 3.9, 4.6)},
        lambda low, high: high / low,
        (
            Misconception(
                "ratio of degrees",
                lambda low, high: 18 / 8,
                "That is the ratio of the degrees. Degrees count from an arbitrary zero, so their ratio says nothing.",
            ),
            Misconception(
                "difference",
                lambda low, high: high - low,
                "That is the difference of the two shares, not how many times as much.",
            ),
            Misconception(
                "upside down", lambda low, high: low / high, "That is upside down: warmer water has more of it."
            ),
        ),
        "How often does the smaller share go into the larger?",
        "Ratio = share at 18 °C ÷ share at 8 °C.",
        "{high:g} ÷ {low:g} = {right}.",
    ),
    # --- 04 moist air --------------------------------------------------------------------------------------------
    Question(
        "4.1",
        "04_moist_air",
        "Air of {air:g} °C can hold vapour of {full:.0f} Pa at most. Its relative humidity is {humidity:g} %. What is its vapour pressure?",
        "Pa",
        {"air": 8, "humidity": 70, "full": round(_saturation(8)), "warm": round(_saturation(18))},
        {"humidity": (45, 55, 60, 70, 75, 80, 85)},
        lambda air, humidity, full, warm: full * humidity / 100,
        (
            Misconception(
                "per cent as a number",
                lambda air, humidity, full, warm: full * humidity,
                "That took the per cent for a plain number. 100 % is 1.",
            ),
            Misconception(
                "the water's temperature",
                lambda air, humidity, full, warm: warm * humidity / 100,
                "That starts from the pond's 18 °C. The air has its own temperature.",
            ),
            Misconception(
                "no humidity",
                lambda air, humidity, full, warm: float(full),
                "That is full air. This air holds only part of what it could.",
            ),
        ),
        "How much of the most it can hold does it hold?",
        "Vapour pressure = humidity × the most at that temperature.",
        "{humidity:g} % of {full:.0f} Pa = {right} Pa.",
        0,
    ),
    Question(
        "4.2",
        "04_moist_air",
        "Over water of 18 °C the vapour pressure is {warm:.0f} Pa. The air has {vapour:.0f} Pa; full it would have {full:.0f} Pa. "
        "What pressure difference drives evaporation?",
        "Pa",
        {"warm": round(_saturation(18)), "vapour": round(0.8 * _saturation(8)), "full": round(_saturation(8))},
        {"vapour": (480, 540, 600, 700, 760, 858)},
        lambda warm, vapour, full: warm - vapour,
        (
            Misconception(
                "full air",
                lambda warm, vapour, full: warm - full,
                "That takes the air as full. It is not, so more can evaporate.",
            ),
            Misconception(
                "the air's own gap",
                lambda warm, vapour, full: full - vapour,
                "That is what the air lacks at its own temperature. The water's pressure drives evaporation.",
            ),
            Misconception(
                "ignored the air",
                lambda warm, vapour, full: warm,
                "That leaves the air out. Vapour already in the air holds evaporation back.",
            ),
        ),
        "Evaporation goes from the higher pressure to the lower.",
        "Difference = over the water − in the air.",
        "{warm:.0f} − {vapour:.0f} = {right} Pa.",
        0,
    ),
    # --- 05 open surface -----------------------------------------------------------------------------------------
    Question(
        "5.1",
        "05_open_surface",
        "On a breezy evening {area:g} m² of water of {water:g} °C lie in air of {air:g} °C, and {coefficient:g} W go from each square metre "
        "for each degree. How many watts leave by convection?",
        "W",
        {"area": 10, "water": 18, "air": 8, "coefficient": 7.5},
        {"area": (4, 6, 8, 10, 12), "air": (4, 6, 8, 10), "coefficient": (5, 6, 7.5, 9)},
        lambda area, water, air, coefficient: area * coefficient * (water - air),
        (
            Misconception(
                "water's degrees",
                lambda area, water, air, coefficient: area * coefficient * water,
                "That took the water's own degrees. What drives heat is how much warmer the water is than the air.",
            ),
            Misconception(
                "one square metre",
                lambda area, water, air, coefficient: coefficient * (water - air),
                "A factor is missing: area, coefficient and difference all count.",
            ),
        ),
        "How much warmer is the water than the air?",
        "W = area × coefficient × difference.",
        "{area:g} × {coefficient:g} × ({water:g} − {air:g}) = {right} W.",
    ),
    Question(
        "5.2",
        "05_open_surface",
        "{rate:g} kg evaporate from each square metre in an hour, from {area:g} m². Each kilogram takes 2.45 MJ with it. "
        "How many watts is that?",
        "W",
        {"rate": 0.2, "area": 10},
        {"rate": (0.1, 0.15, 0.2, 0.25, 0.3), "area": (4, 6, 8, 10, 12)},
        lambda rate, area: rate * area * 2.45e6 / 3600,
        (
            Misconception(
                "an hour as a second",
                lambda rate, area: rate * area * 2.45e6,
                "A watt is a joule a second, and an hour has 3600 of them.",
            ),
            Misconception(
                "one square metre", lambda rate, area: rate * 2.45e6 / 3600, "That is one square metre of it."
            ),
        ),
        "How many joules go in the hour? How many seconds has it?",
        "W = kg an hour × joules a kilogram ÷ 3600.",
        "{rate:g} × {area:g} × 2 450 000 ÷ 3600 = {right} W.",
    ),
    Question(
        "5.3",
        "05_open_surface",
        "Water of {water:g} °C radiates to a sky that acts like {sky:g} °C. W = {eps:g} × area × 5.67 × ((water ÷ 100)⁴ − (sky ÷ 100)⁴), "
        "both in kelvin (°C + 273). How many watts from {area:g} m²?",
        "W",
        {"water": 18, "sky": -10, "eps": 0.95, "area": 10},
        {"sky": (-15, -12, -10, -6, -2), "area": (4, 6, 8, 10, 12)},
        lambda water, sky, eps, area: area * eps * _SIGMA * ((water + KELVIN) ** 4 - (sky + KELVIN) ** 4),
        (
            Misconception(
                "degrees Celsius",
                lambda water, sky, eps, area: area * eps * _SIGMA * (water**4 - sky**4),
                "Radiation counts from absolute zero: both temperatures in kelvin first.",
            ),
            Misconception(
                "fourth power of the difference",
                lambda water, sky, eps, area: area * eps * _SIGMA * (water - sky) ** 4,
                "First each to the fourth power, then the difference, not the other way round.",
            ),
        ),
        "First both temperatures in kelvin, each divided by 100.",
        "Each four times with itself, then the difference; then times 5.67, 0.95 and the area.",
        "{eps:g} × {area:g} × 5.67 × ((({water:g} + 273) ÷ 100)⁴ − (({sky:g} + 273) ÷ 100)⁴) = {right} W.",
        tolerance=0.015,
    ),
    # --- 06 walls and ground -------------------------------------------------------------------------------------
    Question(
        "6.1",
        "06_walls_and_ground",
        "Walls of {area:g} m², U {u:g} W/(m²·K), water {rise:g} K warmer than the air. The floor has {floor:g} m². "
        "How many watts do the walls lose?",
        "W",
        {"area": 15.6, "u": 0.5, "rise": 8, "floor": 10},
        {"area": (9.6, 12, 13.5, 15.6, 18), "u": (0.4, 0.5, 0.6, 0.8), "rise": (6, 7, 8, 12)},
        lambda area, u, rise, floor: area * u * rise,
        (
            Misconception(
                "the floor's area",
                lambda area, u, rise, floor: floor * u * rise,
                "That is the floor's area. Walls have their own.",
            ),
            Misconception(
                "both areas",
                lambda area, u, rise, floor: area * u * floor,
                "That multiplies one area by the other. How many degrees warmer is the water?",
            ),
            Misconception(
                "resistance for U",
                lambda area, u, rise, floor: area / u * rise,
                "It looks as if you divided by U. A smaller U must lose less.",
            ),
        ),
        "U says how many watts pass one square metre for one degree.",
        "W = area × U × difference.",
        "{area:g} × {u:g} × {rise:g} = {right} W.",
    ),
    Question(
        "6.2",
        "06_walls_and_ground",
        "A bare wall of {area:g} m² and U {bare:g} gets {thickness:g} mm of insulation of {k:g} W/(m·K). The water is {rise:g} K warmer. "
        "How many watts does it lose now?",
        "W",
        {"bare": 2.1, "thickness": 50, "k": 0.035, "area": 15.6, "rise": 10},
        {"thickness": (30, 40, 50, 60, 80), "bare": (1.9, 2.1, 2.5, 3.0), "area": (12, 15.6, 18)},
        lambda bare, thickness, k, area, rise: _u_with(bare, thickness, k) * area * rise,
        (
            Misconception(
                "added U-values",
                lambda bare, thickness, k, area, rise: (bare + k / (thickness / 1000)) * area * rise,
                "It looks as if you added U-values. More layers must lose less: it is the resistances that add.",
            ),
            Misconception(
                "millimetres as metres",
                lambda bare, thickness, k, area, rise: _u_with(bare, 1000 * thickness, k) * area * rise,
                "The thickness went in as metres. Fifty millimetres are 0.05 m.",
            ),
            Misconception(
                "bare",
                lambda bare, thickness, k, area, rise: bare * area * rise,
                "That is the bare wall, before the insulation.",
            ),
            Misconception(
                "resistance for U",
                lambda bare, thickness, k, area, rise: area * rise / _u_with(bare, thickness, k),
                "That multiplies by the resistance. Turn it back first: U is one over it.",
            ),
            Misconception(
                "insulation alone",
                lambda bare, thickness, k, area, rise: k / (thickness / 1000) * area * rise,
                "That is the insulation alone. The bare wall behind it resists too.",
            ),
        ),
        "Turn both into resistances first.",
        "R = 1/U + d/k (d in metres); U = 1/R; then area × U × difference.",
        "R = 1/{bare:g} + 0.001 × {thickness:g}/{k:g}; 1/R × {area:g} × {rise:g} = {right} W.",
    ),
    # --- 07 covers -----------------------------------------------------------------------------------------------
    Question(
        "7.1",
        "07_covers",
        "A pond loses {day:g} kW by day. A cover lies on for {hours:g} hours of night, and then it loses {covered:g} kW "
        "({open:g} without it). What is the mean loss over 24 hours?",
        "kW",
        {"day": 2.08, "hours": 14, "covered": 0.7, "open": 2.8},
        {"hours": (8, 10, 13, 14, 15), "covered": (0.6, 0.7, 0.9), "day": (1.9, 2.08, 2.2)},
        lambda day, hours, covered, open: _day_heat(covered, day, hours) / 24,
        (
            Misconception(
                "plain mean",
                lambda day, hours, covered, open: (covered + day) / 2,
                "That is halfway between the two. But the night and the day are not equally long.",
            ),
            Misconception(
                "swapped",
                lambda day, hours, covered, open: _day_heat(covered, day, 24 - hours) / 24,
                "The hours are the wrong way round: the cover lies on at night.",
            ),
        ),
        "How many kWh go by night, how many by day?",
        "(night kW × night hours + day kW × day hours) ÷ 24.",
        "({covered:g} × {hours:g} + {day:g} × (24 − {hours:g})) ÷ 24 = {right} kW.",
    ),
    Question(
        "7.2",
        "07_covers",
        "Without a cover the pond loses {open:g} kW for {hours:g} hours of night and {day:g} kW by day. With the cover on at night it "
        "loses {covered:g} kW then. What share of the whole day's heat does the cover save?",
        "percent",
        {"open": 2.8, "hours": 14, "day": 2.08, "covered": 0.7},
        {"hours": (10, 12, 13, 14, 15), "covered": (0.6, 0.7, 0.9), "day": (1.9, 2.08, 2.2)},
        lambda open, hours, day, covered: 100 * (1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours)),
        (
            Misconception(
                "covered hours only",
                lambda open, hours, day, covered: 100 * (1 - covered / open),
                "That is what it saves while it lies on. By day it saves nothing.",
            ),
            Misconception(
                "hours only",
                lambda open, hours, day, covered: 100 * hours / 24,
                "That is the share of the hours, as if nothing passed the cover.",
            ),
            Misconception(
                "nights like days",
                lambda open, hours, day, covered: 100 * (1 - covered / open) * hours / 24,
                "That takes nights for days. Nights lose more, so saving them counts for more.",
            ),
            Misconception(
                "fraction",
                lambda open, hours, day, covered: 1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours),
                "That is the share as a number. In per cent it is a hundred times that.",
            ),
            Misconception(
                "what is left",
                lambda open, hours, day, covered: 100 * _day_heat(covered, day, hours) / _day_heat(open, day, hours),
                "That is what is still lost. The saving is the rest.",
            ),
        ),
        "Add up the kWh of the whole day, once without and once with the cover.",
        "Saving = 1 − with ÷ without.",
        "1 − ({covered:g} × {hours:g} + {day:g} × (24 − {hours:g})) ÷ ({open:g} × {hours:g} + {day:g} × (24 − {hours:g})) = {right} %.",
        tolerance=0.008,
    ),
    Question(
        "7.3",
        "07_covers",
        "At noon the open water would lose {open:g} W from each square metre; under a solid lid it loses {covered:g} W. "
        "Above how much absorbed sun, in W/m², does lifting the lid pay?",
        "W/m**2",
        {"open": 297, "covered": 29},
        {"open": (240, 260, 297, 320, 350), "covered": (29, 35, 40)},
        lambda open, covered: open - covered,
        (
            Misconception(
                "open loss alone",
                lambda open, covered: float(open),
                "That sets the sun against the open loss. But under the lid the water loses something too.",
            ),
            Misconception(
                "added",
                lambda open, covered: open + covered,
                "That adds the two losses. Lifting the lid changes one for the other.",
            ),
        ),
        "What does lifting the lid cost, and what does it bring?",
        "It pays when the sun brings more than the extra loss.",
        "{open:g} − {covered:g} = {right} W/m².",
        tolerance=0.03,
        rounding="about",
    ),
    # --- 08 falling water ----------------------------------------------------------------------------------------
    Question(
        "8.1",
        "08_falling_water",
        "{flow:g} L of water an hour fall over stones and cool by {fall:g} K (1 L by 1 K: 4187 J). How many watts is that?",
        "W",
        {"flow": 3000, "fall": 0.3},
        {"flow": (1000, 1500, 2000, 3000, 4000), "fall": (0.1, 0.2, 0.3, 0.4)},
        lambda flow, fall: flow * 4187 * fall / 3600,
        (
            Misconception(
                "kilojoules as watt-hours",
                lambda flow, fall: flow * 4187 * fall / 1000,
                "That is the kilojoules of an hour. A watt is a joule a second.",
            ),
            Misconception(
                "per minute",
                lambda flow, fall: flow * 4187 * fall / 60,
                "That takes the hour for a minute. An hour has 3600 seconds.",
            ),
        ),
        "How many joules leave in an hour? How many seconds has it?",
        "W = litres an hour × 4187 × degrees ÷ 3600.",
        "{flow:g} × 4187 × {fall:g} ÷ 3600 = {right} W.",
    ),
    Question(
        "8.2",
        "08_falling_water",
        "A stream takes {power:g} W from the pond, day and night. How many kWh is that in a day?",
        "kWh",
        {"power": 698},
        {"power": (150, 250, 400, 550, 698, 900)},
        lambda power: power / 1000 * 24,
        (
            Misconception("an hour", lambda power: power / 1000, "That is one hour of it."),
            Misconception("watt-hours", lambda power: power * 24.0, "That is watt-hours. A thousand make one kWh."),
        ),
        "How many hours has a day?",
        "W ÷ 1000 × 24.",
        "{power:g} ÷ 1000 × 24 = {right} kWh.",
    ),
    # --- 09 weather ----------------------------------------------------------------------------------------------
    Question(
        "9.1",
        "09_weather",
        "Four days had means of {a:g}, {b:g}, {c:g} and {d:g} °C. How many degree-days are that for a pond of {base:g} °C?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 18},
        {"a": (9, 10, 11, 12), "b": (3, 5, 6, 7), "c": (-5, -4, -3, -2, -1), "d": (2, 4, 5)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "mean",
                lambda a, b, c, d, base: sum(base - t for t in (a, b, c, d)) / 4,
                "That is the mean of one day. Degree-days are added up.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: sum(base - abs(t) for t in (a, b, c, d)),
                "The minus was lost: a day of frost is further below the pond, not nearer.",
            ),
            Misconception(
                "added temperatures",
                lambda a, b, c, d, base: float(sum((a, b, c, d))),
                "That adds the temperatures. Each day counts by how far it lies below the pond.",
            ),
        ),
        "How far below the pond was each day?",
        "Add (pond − day) for every day.",
        "({base:g} − {a:g}) + ({base:g} − {b:g}) + ({base:g} − ({c:g})) + ({base:g} − {d:g}) = {right} K·d.",
    ),
    Question(
        "9.2",
        "09_weather",
        "The same four days, {a:g}, {b:g}, {c:g} and {d:g} °C, but only a frost guard at {base:g} °C. How many degree-days?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 5},
        {"a": (9, 10, 11, 12), "b": (6, 7, 8), "c": (-5, -4, -3, -2), "d": (2, 3, 4)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "averaged first",
                lambda a, b, c, d, base: max(0.0, base - (a + b + c + d) / 4) * 4,
                "That averages first, so warm days pay for cold ones. They cannot: a warm day gives no heat back.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: float(sum(max(0, base - abs(t)) for t in (a, b, c, d))),
                "The minus was lost: a day of frost lies further below the guard, not nearer.",
            ),
            Misconception(
                "warm days counted too",
                lambda a, b, c, d, base: float(sum(abs(base - t) for t in (a, b, c, d))),
                "Warm days were counted as if they were cold. They need no heat: nothing, not something.",
            ),
        ),
        "Which of the days are below the guard at all?",
        "Add (guard − day) for the cold days only.",
        "Only days below {base:g} °C count; together {right} K·d.",
    ),
    # --- 10 a season ---------------------------------------------------------------------------------------------
    Question(
        "10.1",
        "10_a_season",
        "A pond takes {capacity:g} kWh to warm by 1 K and loses {loss:g} kW for each K above the air. What is its time constant, in hours?",
        "hour",
        {"capacity": 13.956, "loss": 0.25},
        {"capacity": (6.978, 9.304, 11.63, 13.956, 17.445), "loss": (0.15, 0.2, 0.25, 0.3)},
        lambda capacity, loss: capacity / loss,
        (
            Misconception(
                "upside down",
                lambda capacity, loss: loss / capacity,
                "That is upside down: a larger pond must take longer.",
            ),
            Misconception(
                "multiplied",
                lambda capacity, loss: loss * capacity,
                "It looks as if you multiplied. More loss must mean less time.",
            ),
        ),
        "How long would the stored heat last at the present rate?",
        "Hours = kWh per K ÷ kW per K.",
        "{capacity:g} ÷ {loss:g} = {right} h.",
    ),
    Question(
        "10.2",
        "10_a_season",
        "The heater fails. The water is {lead:g} K warmer than the air. It takes {capacity:g} kWh to warm by 1 K and loses {loss:g} kW "
        "for each K above the air. By how many K has it cooled after {hours:g} hours?",
        "delta_degC",
        {"lead": 10, "capacity": 13.956, "loss": 0.25, "hours": 24},
        {"lead": (8, 10, 12, 15), "capacity": (9.304, 11.63, 13.956), "loss": (0.2, 0.25, 0.3), "hours": (18, 24, 30)},
        lambda lead, capacity, loss, hours: lead * (1 - 2.718281828459045 ** (-hours * loss / capacity)),
        (
            Misconception(
                "straight line",
                lambda lead, capacity, loss, hours: lead * hours * loss / capacity,
                "That is a straight line. As the water cools it loses less, so it falls more slowly.",
            ),
            Misconception(
                "one hour", lambda lead, capacity, loss, hours: lead * loss / capacity, "That is the first hour alone."
            ),
            Misconception(
                "what is left",
                lambda lead, capacity, loss, hours: lead * 2.718281828459045 ** (-hours * loss / capacity),
                "That is what is left of the lead. The fall is the rest.",
            ),
        ),
        "First the time constant. What share of the lead is left after that time?",
        "Fall = lead × (1 − e^(−hours ÷ time constant)), with time constant = kWh per K ÷ kW per K.",
        "{lead:g} × (1 − e^(−{hours:g} × {loss:g}/{capacity:g})) = {right} K.",
        tolerance=0.015,
    ),
    Question(
        "10.3",
        "10_a_season",
        "With the heater off, the water went from {first:g} to {second:g} K above the air in {hours:g} hours. It takes {capacity:g} kWh "
        "to warm by 1 K. How many kW does it lose for each K?",
        "kW/K",
        {"first": 10.0, "second": 9.0, "hours": 5.2, "capacity": 13.956},
        {"hours": (4.5, 5.2, 5.9, 6.5, 7.5), "second": (8.8, 9.0, 9.2), "capacity": (9.304, 11.63, 13.956)},
        lambda first, second, hours, capacity: capacity * _log(first / second) / hours,
        (
            Misconception(
                "fall over time alone",
                lambda first, second, hours, capacity: (first - second) / hours,
                "That is how fast it fell, in K an hour. How much heat is behind a degree?",
            ),
            Misconception(
                "forgot the logarithm",
                lambda first, second, hours, capacity: capacity * (first - second) / hours,
                "That is the kW it lost at that time. Divide by the lead too: the logarithm does both.",
            ),
        ),
        "How much heat is behind the fall, and how large was the lead?",
        "kW per K = capacity × ln(first ÷ second) ÷ hours.",
        "{capacity:g} × ln({first:g}/{second:g}) ÷ {hours:g} = {right} kW/K.",
        tolerance=0.02,
    ),
    # --- 11 heaters ----------------------------------------------------------------------------------------------
    Question(
        "11.1",
        "11_heaters",
        "The pond loses {loss:g} kW. You also want to warm its {volume:g} m³ by {rise:g} K in {days:g} days (1 m³ by 1 K: 1.163 kWh). "
        "How many kW must the heater have?",
        "kW",
        {"loss": 2.5, "volume": 12, "rise": 5, "days": 5},
        {"loss": (1.8, 2.2, 2.5, 3.0), "volume": (8, 10, 12, 15), "days": (5, 6, 8)},
        lambda loss, volume, rise, days: loss + HEAT_OF_WATER * volume * rise / (24 * days),
        (
            Misconception(
                "forgot the warming", lambda loss, volume, rise, days: loss, "That only holds. Warming comes on top."
            ),
            Misconception(
                "forgot the loss",
                lambda loss, volume, rise, days: HEAT_OF_WATER * volume * rise / (24 * days),
                "That only warms. The pond loses heat all the while.",
            ),
            Misconception(
                "days as hours",
                lambda loss, volume, rise, days: loss + HEAT_OF_WATER * volume * rise / days,
                "The days went in as hours.",
            ),
        ),
        "Two tasks: hold what is lost, and warm.",
        "kW = loss + 1.163 × m³ × K ÷ hours.",
        "{loss:g} + 1.163 × {volume:g} × {rise:g} ÷ (24 × {days:g}) = {right} kW.",
    ),
    Question(
        "11.2",
        "11_heaters",
        "A heat pump of COP {cop:g} gives {heat:g} kWh of heat. How many kWh of electricity does it take?",
        "kWh",
        {"cop": 4, "heat": 30},
        {"cop": (2.5, 3, 3.5, 4, 5), "heat": (12, 18, 24, 30, 42)},
        lambda cop, heat: heat / cop,
        (
            Misconception(
                "multiplied",
                lambda cop, heat: heat * cop,
                "It looks as if you multiplied. A heat pump takes less than it gives.",
            ),
            Misconception("the same", lambda cop, heat: float(heat), "That is a resistance heater, one for one."),
            Misconception(
                "subtracted",
                lambda cop, heat: heat - cop,
                "It looks as if you took off the COP. It says how many times, not how many.",
            ),
        ),
        "For each kWh of electricity it gives COP kWh of heat.",
        "Electricity = heat ÷ COP.",
        "{heat:g} ÷ {cop:g} = {right} kWh.",
    ),
    Question(
        "11.3",
        "11_heaters",
        "A heat pump is sold as {power:g} kW at 15 °C and gives {cold:g} kW at 0 °C. The pond loses {loss:g} kW per K and is kept at "
        "{pond:g} °C. How many kW are short at 0 °C?",
        "kW",
        {"power": 6, "cold": 3.6, "loss": 0.25, "pond": 18},
        {"cold": (3.0, 3.3, 3.6, 3.9), "loss": (0.23, 0.25, 0.28)},
        lambda power, cold, loss, pond: loss * pond - cold,
        (
            Misconception(
                "the label",
                lambda power, cold, loss, pond: abs(loss * pond - power),
                "That takes the label's power. In the cold a heat pump gives less.",
            ),
            Misconception(
                "label and its weather",
                lambda power, cold, loss, pond: abs(loss * (pond - 15) - power),
                "That is a mild day of 15 °C.",
            ),
            Misconception(
                "the fade",
                lambda power, cold, loss, pond: power - cold,
                "That is what the heat pump has lost. Set what the pond loses against what is left.",
            ),
        ),
        "What does the pond lose at 0 °C, and what does the pump give then?",
        "Short = loss × (pond − 0) − output at 0 °C.",
        "{loss:g} × {pond:g} − {cold:g} = {right} kW.",
        tolerance=0.02,
    ),
    Question(
        "11.4",
        "11_heaters",
        "The same heat pump gives {power:g} kW at 15 °C and {cold:g} kW at 0 °C, on a straight line. The pond loses {loss:g} kW per K "
        "and is kept at {pond:g} °C. At which air temperature does it just hold?",
        "degC",
        {"power": 6, "cold": 3.6, "loss": 0.25, "pond": 18},
        {"cold": (3.0, 3.3, 3.6), "loss": (0.25, 0.28, 0.3)},
        lambda power, cold, loss, pond: _meeting(power, cold, 15, loss, pond),
        (
            Misconception(
                "at the cold point", lambda power, cold, loss, pond: 0.0, "At 0 °C it is still short, as before."
            ),
            Misconception(
                "at the label", lambda power, cold, loss, pond: 15.0, "At 15 °C it gives far more than is lost."
            ),
        ),
        "Write both as straight lines in the air temperature.",
        "loss × (pond − T) = cold + (power − cold)/15 × T; solve for T.",
        "({loss:g} × {pond:g} − {cold:g}) ÷ (({power:g} − {cold:g})/15 + {loss:g}) = {right} °C.",
        tolerance=0.05,
        rounding="to a tenth of a degree",
    ),
    # --- 12 tariffs ----------------------------------------------------------------------------------------------
    Question(
        "12.1",
        "12_tariffs",
        "{day:g} kWh at {high:g} {h} and {night:g} kWh at {low:g} {h}. What is the bill?",
        "money",
        {"day": 20, "high": 30, "night": 12, "low": 12},
        {"day": (14, 18, 20, 25), "night": (8, 10, 12, 30), "high": (28, 30, 33), "low": (9, 12, 14)},
        lambda day, high, night, low: _pence(day * high + night * low),
        (
            Misconception(
                "mean of the rates",
                lambda day, high, night, low: _pence((day + night) * (high + low) / 2),
                "That takes the mean of the two rates. They do not carry equally many kWh.",
            ),
            Misconception(
                "swapped", lambda day, high, night, low: _pence(day * low + night * high), "The rates are swapped."
            ),
            Misconception(
                "hundredths",
                lambda day, high, night, low: day * high + night * low,
                "That number is in hundredths of your money.",
            ),
        ),
        "Each rate has its own kWh.",
        "day kWh × day rate + night kWh × night rate.",
        "{day:g} × {high:g} + {night:g} × {low:g} hundredths = {right}.",
        2,
    ),
    Question(
        "12.2",
        "12_tariffs",
        "A flat tariff costs {flat:g} {h}. Another costs {high:g} {h} by day and {low:g} {h} by night. At what night share "
        "do the two cost the same?",
        "percent",
        {"flat": 25, "high": 30, "low": 12},
        {"flat": (23, 24, 25, 26), "high": (29, 30, 32), "low": (9, 11, 12)},
        lambda flat, high, low: 100 * (high - flat) / (high - low),
        (
            Misconception(
                "ratio of the rates",
                lambda flat, high, low: 100 * low / high,
                "That is one rate over the other. Shares come from weighing.",
            ),
            Misconception(
                "fraction",
                lambda flat, high, low: (high - flat) / (high - low),
                "That is the share as a number. In per cent it is a hundred times that.",
            ),
            Misconception(
                "share of the day",
                lambda flat, high, low: 100 * (flat - low) / (high - low),
                "That is the share of the day. The night is the rest.",
            ),
        ),
        "With what share of night does the mean price become the flat one?",
        "share × low + (1 − share) × high = flat.",
        "({high:g} − {flat:g}) ÷ ({high:g} − {low:g}) = {right} %.",
    ),
    Question(
        "12.3",
        "12_tariffs",
        "Flat {flat:g} {h}, or {high:g} {h} by day and {low:g} {h} by night. A pond takes {pond:g} kWh a year, {share:g} % at night; "
        "the house {house:g} kWh, all by day. How much dearer is the second tariff for both together?",
        "money",
        {"flat": 25, "high": 30, "low": 12, "pond": 3000, "share": 34, "house": 3000},
        {"share": (30, 34, 38, 45), "house": (2500, 3000, 3500), "pond": (2500, 3000, 3500)},
        lambda flat, high, low, pond, share, house: _pence(
            _two_rate(high, low, pond, share, house) - flat * (pond + house)
        ),
        (
            Misconception(
                "the pond alone",
                lambda flat, high, low, pond, share, house: abs(
                    _pence(_two_rate(high, low, pond, share, 0) - flat * pond)
                ),
                "That is the pond alone: it pays less. The house pays the day rate too.",
            ),
            Misconception(
                "all at night",
                lambda flat, high, low, pond, share, house: abs(
                    _pence(low * pond + high * house - flat * (pond + house))
                ),
                "That puts all of the pond into the cheap hours. Only part of it falls there.",
            ),
        ),
        "Reckon the whole bill twice: once flat, once with two rates.",
        "Second: pond's night × low + (pond's day + house) × high.",
        "({pond:g} × {share:g} % × {low:g} + ({pond:g} × (100 − {share:g}) % + {house:g}) × {high:g}) − ({pond:g} + {house:g}) × {flat:g}, "
        "in hundredths, is {right}.",
        0,
        tolerance=0.02,
    ),
    Question(
        "12.4",
        "12_tariffs",
        "Open: {open:g} kW for {hours:g} hours of night, {day:g} kW by day. Covered at night: {covered:g} kW. {cheap:g} of the night's hours cost "
        "{low:g} {h}, all others {high:g} {h}. What share of the money does the cover save?",
        "percent",
        {"open": 2.8, "hours": 14, "day": 2.08, "covered": 0.7, "cheap": 7, "low": 12, "high": 30},
        {"covered": (0.6, 0.7, 0.9), "cheap": (6, 7, 8), "low": (8, 10, 12)},
        lambda open, hours, day, covered, cheap, low, high: (
            100
            * (1 - _tariff_day(covered, cheap, hours, day, low, high) / _tariff_day(open, cheap, hours, day, low, high))
        ),
        (
            Misconception(
                "share of the energy",
                lambda open, hours, day, covered, cheap, low, high: (
                    100 * (1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours))
                ),
                "That is the share of the energy. The cover takes away cheap hours, so it saves less money than heat.",
            ),
            Misconception(
                "fraction",
                lambda open, hours, day, covered, cheap, low, high: (
                    1
                    - (
                        _tariff_day(covered, cheap, hours, day, low, high)
                        / _tariff_day(open, cheap, hours, day, low, high)
                    )
                ),
                "That is the share as a number. In per cent it is a hundred times that.",
            ),
            Misconception(
                "covered hours only",
                lambda open, hours, day, covered, cheap, low, high: 100 * (1 - covered / open),
                "That is what it saves while it lies on. By day it saves nothing.",
            ),
        ),
        "Price each hour at its own rate, once open, once covered.",
        "Saving = 1 − money covered ÷ money open.",
        "Night cheap, night dear and day, each kWh at its own rate: the cover saves {right} % of the money.",
        tolerance=0.02,
    ),
    # --- 13 readings ---------------------------------------------------------------------------------------------
    Question(
        "13.1",
        "13_readings",
        "A meter showed {before:g} kWh, and later {after:g} kWh. How many kWh were used in between?",
        "kWh",
        {"before": 10432, "after": 10604},
        {"before": (10432, 20817, 30295, 41378), "after": (41560, 42115, 43020)},
        lambda before, after: float(after - before),
        (
            Misconception(
                "took the reading for the use",
                lambda before, after: float(after),
                "That is what the meter shows now: all it ever counted. What did it show before?",
            ),
            Misconception(
                "added",
                lambda before, after: float(before + after),
                "It looks as if the readings were added. The use is what lies between them.",
            ),
        ),
        "The meter counts on and never starts anew.",
        "Later reading − earlier reading.",
        "{after:g} − {before:g} = {right} kWh.",
    ),
    Question(
        "13.2",
        "13_readings",
        "Eight readings, one every day at eight in the evening: from the first to the last the meter went up by {use:g} kWh. How many kWh a day?",
        "kWh/day",
        {"use": 182},
        {"use": (147, 161, 189, 196, 203, 217)},
        lambda use: use / 7,
        (
            Misconception("counted the readings", lambda use: use / 8, "Eight readings have seven days between them."),
            Misconception("by the hour", lambda use: use / 168, "That is the use of an hour: the mean power in kW."),
            Misconception(
                "times the days",
                lambda use: use * 7,
                "It looks as if you multiplied. A day has less than the whole time.",
            ),
        ),
        "How many whole days lie between the first reading and the last?",
        "Use ÷ number of days between.",
        "{use:g} kWh ÷ 7 days = {right} kWh a day.",
    ),
    Question(
        "13.3",
        "13_readings",
        "A counter with five places showed {before:05.0f}, a day later {after:05.0f}. How many kWh were used?",
        "kWh",
        {"before": 99979, "after": 17},
        {"before": (99962, 99971, 99984, 99988), "after": (8, 19, 26, 31)},
        lambda before, after: float(100000 - before + after),
        (
            Misconception(
                "as it stands",
                lambda before, after: float(after - before),
                "A meter does not run backwards. It ran through its nines to zero: after 99 999 comes 00 000.",
            ),
            Misconception(
                "only after zero",
                lambda before, after: float(after),
                "That is what it counted after zero. It also counted up to there.",
            ),
            Misconception(
                "only up to zero",
                lambda before, after: float(100000 - before),
                "That is what it counted up to zero. It went on after.",
            ),
            Misconception(
                "one too few",
                lambda before, after: float(99999 - before + after),
                "After 99 999 comes 00 000, and that step is a kWh too.",
            ),
        ),
        "What comes after 99 999 on five places?",
        "(100 000 − before) + after.",
        "(100 000 − {before:g}) + {after:g} = {right} kWh.",
    ),
    # --- 14 two spells -------------------------------------------------------------------------------------------
    Question(
        "14.1",
        "14_two_spells",
        _SPELLS + "Taking the loss to go with the difference: what share did the cover save?",
        "percent",
        _TWO,
        _TWO_DRAWS,
        lambda a, da, ta, b, db, tb: 100 * (1 - (b / db / tb) / (a / da / ta)),
        (
            Misconception(
                "totals",
                lambda a, da, ta, b, db, tb: 100 * (1 - b / a),
                "That compares the totals. The second spell ran longer, and it was colder.",
            ),
            Misconception(
                "per day",
                lambda a, da, ta, b, db, tb: 100 * (1 - (b / db) / (a / da)),
                "That is per day. But the days were not equally cold.",
            ),
            Misconception(
                "per degree",
                lambda a, da, ta, b, db, tb: 100 * (1 - (b / tb) / (a / ta)),
                "That is per degree. But the spells were not equally long.",
            ),
            Misconception(
                "upside down",
                lambda a, da, ta, b, db, tb: 100 * ((a / da / ta) / (b / db / tb) - 1),
                "That is how much more the open pond took. The saving is a share of the open use.",
            ),
            Misconception(
                "what is left",
                lambda a, da, ta, b, db, tb: 100 * (b / db / tb) / (a / da / ta),
                "That is the share that is still used. The rest is saved.",
            ),
        ),
        "Make the spells alike: what does each use per day and degree?",
        "1 − (B ÷ days ÷ degrees) ÷ (A ÷ days ÷ degrees).",
        "1 − ({b:g} ÷ {db:g} ÷ {tb:g}) ÷ ({a:g} ÷ {da:g} ÷ {ta:g}) = {right} %.",
    ),
    Question(
        "14.2",
        "14_two_spells",
        _SPELLS + "How many kWh did the cover keep out of the second spell?",
        "kWh",
        _TWO,
        _TWO_DRAWS,
        lambda a, da, ta, b, db, tb: a / da / ta * db * tb - b,
        (
            Misconception(
                "totals",
                lambda a, da, ta, b, db, tb: float(a - b),
                "That is the difference of the totals. What would B have used, had it been open?",
            ),
            Misconception(
                "forgot the cold",
                lambda a, da, ta, b, db, tb: a / da * db - b,
                "That allows for the length, not for the cold. Each degree counts too.",
            ),
            Misconception(
                "the wrong spell",
                lambda a, da, ta, b, db, tb: a - b / db / tb * da * ta,
                "That is what a cover would have kept out of the first spell. The second was the covered one.",
            ),
            Misconception(
                "forgot to take off",
                lambda a, da, ta, b, db, tb: a / da / ta * db * tb,
                "That is what B would have used, had it been open. It did use something.",
            ),
        ),
        "What would B have used without the cover?",
        "A's use per day and degree × B's days × B's degrees − B's use.",
        "{a:g} ÷ {da:g} ÷ {ta:g} × {db:g} × {tb:g} − {b:g} = {right} kWh.",
        tolerance=0.02,
    ),
    Question(
        "14.3",
        "14_two_spells",
        _SPELLS
        + "But {load:g} kW of air blower and lamps in the shed, on day and night, run through the same meter, and none of their heat reaches the water. "
        "What share did the cover save of the heating?",
        "percent",
        {**_TWO, "load": 0.1},
        {**_TWO_DRAWS, "load": (0.1, 0.12, 0.15)},
        lambda a, da, ta, b, db, tb, load: (
            100 * (1 - ((b - 24 * load * db) / db / tb) / ((a - 24 * load * da) / da / ta))
        ),
        (
            Misconception(
                "left it in",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / (a / da / ta)),
                "That leaves the blower and lamps in. They run whether the pond is covered or not, and make the saving look small.",
            ),
            Misconception(
                "taken off the covered spell only",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - ((b - 24 * load * db) / db / tb) / (a / da / ta)),
                "It was taken off the covered spell only. They ran in both.",
            ),
            Misconception(
                "taken off the open spell only",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / ((a - 24 * load * da) / da / ta)),
                "It was taken off the open spell only. They ran in both.",
            ),
        ),
        "How many kWh did blower and lamps use in each spell?",
        "Take kW × 24 × days off each spell; then as before.",
        "A: {a:g} − 24 × {load:g} × {da:g}; B: {b:g} − 24 × {load:g} × {db:g}; then per day and degree: {right} %.",
        tolerance=0.02,
    ),
    Question(
        "14.3b",
        "14_two_spells",
        _SPELLS
        + "A pump of {load:g} kW lies in the water and runs through the same meter day and night; all its power warms the water. "
        "What share of the heat did the cover save?",
        "percent",
        {**_TWO, "load": 0.1},
        {**_TWO_DRAWS, "load": (0.1, 0.12, 0.15)},
        lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / (a / da / ta)),
        (
            Misconception(
                "taken off",
                lambda a, da, ta, b, db, tb, load: (
                    100 * (1 - ((b - 24 * load * db) / db / tb) / ((a - 24 * load * da) / da / ta))
                ),
                "That takes the pump off. Its heat went into the water, so it stands in for the heater: leave it in.",
            ),
        ),
        "Where does the heat of a pump in the water go?",
        "It heats the pond: nothing to take off.",
        "Nothing to take off: 1 − ({b:g} ÷ {db:g} ÷ {tb:g}) ÷ ({a:g} ÷ {da:g} ÷ {ta:g}) = {right} %.",
        tolerance=0.02,
    ),
    Question(
        "14.4",
        "14_two_spells",
        "An open pond loses {base:g} + {slope:g} × difference, in W/m². In an open spell the difference was {mild:g} K. In a covered spell it was {cold:g} K, "
        "and the pond lost {covered:g} W/m². What share does the cover really save?",
        "percent",
        {"base": 80, "slope": 22, "mild": 5, "cold": 15, "covered": 180},
        {"base": (70, 80, 90), "slope": (20, 22, 24), "covered": (180, 195, 210, 225)},
        lambda base, slope, mild, cold, covered: 100 * (1 - covered / (base + slope * cold)),
        (
            Misconception(
                "per degree",
                lambda base, slope, mild, cold, covered: 100 * (1 - (covered / cold) / ((base + slope * mild) / mild)),
                "That compares per degree. An open pond loses at no difference too, so a mild open spell looks dear per degree.",
            ),
            Misconception(
                "as they stand",
                lambda base, slope, mild, cold, covered: 100 * (1 - covered / (base + slope * mild)),
                "That compares the two as they stand. The covered spell was far colder.",
            ),
            Misconception(
                "what is left",
                lambda base, slope, mild, cold, covered: 100 * covered / (base + slope * cold),
                "That is the share still lost. The rest is saved.",
            ),
        ),
        "What would the open pond have lost in the cold spell?",
        "1 − covered ÷ (base + slope × cold difference).",
        "1 − {covered:g} ÷ ({base:g} + {slope:g} × {cold:g}) = {right} %.",
        tolerance=0.02,
    ),
    # --- 15 payback ----------------------------------------------------------------------------------------------
    Question(
        "15.1",
        "15_payback",
        "A cover costs {sign}{price:g} and saves {sign}{saving:g} each winter. After how many winters is it paid back?",
        "year",
        {"price": 180, "saving": 150},
        {"price": (120, 180, 240, 300, 420), "saving": (80, 110, 150, 200)},
        lambda price, saving: price / saving,
        (
            Misconception(
                "upside down",
                lambda price, saving: saving / price,
                "That is upside down: a dearer cover must take longer.",
            ),
            Misconception(
                "difference",
                lambda price, saving: float(price - saving),
                "That is what is still owed after one winter.",
            ),
            Misconception(
                "the winter it falls in",
                lambda price, saving: float(-(-price // saving)),
                "That is the winter it falls in. Give price ÷ saving.",
            ),
            Misconception(
                "per cent",
                lambda price, saving: 100 * price / saving,
                "Payback is a number of winters, not a per cent.",
            ),
        ),
        "How often does one winter's saving go into the price?",
        "Winters = price ÷ saving.",
        "{price:g} ÷ {saving:g} = {right} winters.",
        word="winters",
    ),
    Question(
        "15.2",
        "15_payback",
        "The cover costs {sign}{price:g}, saves {sign}{saving:g} at the end of each of {years:g} winters, and money earns {rate:g} % a year. "
        "What is left in today's money, price taken off?",
        "money",
        {"price": 180, "saving": 150, "years": 3, "rate": 5},
        {"price": (120, 180, 240), "saving": (110, 150, 200), "years": (3, 4, 5), "rate": (4, 5, 6, 8)},
        lambda price, saving, years, rate: float(payback.net_present_value(price, saving, years, rate / 100)),
        (
            Misconception(
                "no discount",
                lambda price, saving, years, rate: saving * years - price,
                "That counts later money like today's. Each year it is worth a little less.",
            ),
            Misconception(
                "forgot the price",
                lambda price, saving, years, rate: float(payback.present_value(saving, years, rate / 100)),
                "That is what the savings are worth. The price comes off.",
            ),
            Misconception(
                "all at the end",
                lambda price, saving, years, rate: saving * years / (1 + rate / 100) ** years - price,
                "Each winter's saving waits its own time, not all to the last.",
            ),
            Misconception(
                "one winter",
                lambda price, saving, years, rate: saving / (1 + rate / 100) - price,
                "That is the first winter alone.",
            ),
        ),
        "What is each winter's saving worth today?",
        "Divide the first by 1 + rate, the second by that twice, and so on; take off the price.",
        "{saving:g} × (1 − (1 + {rate:g} %)^−{years:g}) ÷ {rate:g} % − {price:g} = {right}.",
        2,
    ),
)


def _log(value: float) -> float:
    import math

    return math.log(value)


def _two_rate(high: float, low: float, pond: float, share: float, house: float) -> float:
    return pond * share / 100 * low + (pond * (1 - share / 100) + house) * high


BANK: dict[str, Question] = {question.key: question for question in _BANK}


def asked(question: Question, given: dict, currency: units.Currency = units.GBP) -> str:
    """The question with its numbers."""
    return _filled(question.ask, given, currency)


def worked(question: Question, given: dict, currency: units.Currency = units.GBP) -> str:
    """The worked solution with its numbers."""
    right = question.right(**given)
    shown = units.money(right, currency, 2) if question.unit == "money" else units.significant(right, 3)
    return _filled(question.worked, {**given, "right": shown}, currency)


def _filled(template: str, given: dict, currency: units.Currency) -> str:
    text = template.format(**given, h=currency.hundredth, sign=currency.sign)
    return re.sub(r"(?<![\w.)-])-(?=\d)", "−", text)  # a true minus, as everywhere else

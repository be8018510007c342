"""Questions of page 04, open surface."""

from __future__ import annotations

from pondheat.core.sources import STEFAN_BOLTZMANN
from pondheat.lesson.question_bank.question import KELVIN, Again, Inverse, Misconception, Question

QUESTIONS = (
    Question(
        "4.1",
        "04_open_surface",
        "On a breezy evening {area:g} m² of water is at [{water:g} °C] and the air at [{air:g} °C]. Each "
        "square metre loses {coefficient:g} W for each degree of difference. How many watts are lost by "
        "convection?",
        "W",
        {"area": 10, "water": 18, "air": 8, "coefficient": 7.5},
        {"area": (4, 6, 8, 10, 12), "air": (4, 6, 8, 10), "coefficient": (5, 6, 7.5, 9)},
        lambda area, water, air, coefficient: area * coefficient * (water - air),
        (
            Misconception(
                "water's degrees",
                lambda area, water, air, coefficient: area * coefficient * water,
                "You used the water temperature itself. What counts is how much warmer the water is than the air.",
            ),
            Misconception(
                "one square metre",
                lambda area, water, air, coefficient: coefficient * (water - air),
                "Something is missing: you need area, coefficient and difference.",
            ),
        ),
        "How much warmer is the water than the air?",
        "W = area × coefficient × difference.",
        "{area:g} × {coefficient:g} × ({water:g} − {air:g}) = {right} W.",
        again=Again(
            "A pond is {length:g} m long and 2 m wide, its water at [{water:g} °C] and the air at "
            "[{air:g} °C]. Each square metre loses {coefficient:g} W for each degree of difference. "
            "How many watts are lost by convection?",
            {"area": (3, 5, 7, 9), "water": (14, 16, 20), "air": (1, 3, 7), "coefficient": (5.5, 6.5, 8)},
            stated={"length": ("area", 0.5)},
            worked="{length:g} × 2 × {coefficient:g} × ({water:g} − {air:g}) = {right} W.",
        ),
        ideas=("surface",),
    ),
    Question(
        "4.2",
        "04_open_surface",
        "Each square metre of a pond of {area:g} m² loses {rate:g} kg of water an hour by evaporation. Each "
        "kilogram takes 2.45 MJ with it. How many watts is that?",
        "W",
        {"rate": 0.2, "area": 10},
        {"rate": (0.1, 0.15, 0.2, 0.25, 0.3), "area": (4, 6, 8, 10, 12)},
        lambda rate, area: rate * area * 2.45e6 / 3600,
        (
            Misconception(
                "an hour as a second",
                lambda rate, area: rate * area * 2.45e6,
                "A watt is a joule per second, and an hour has 3600 seconds.",
            ),
            Misconception(
                "one square metre", lambda rate, area: rate * 2.45e6 / 3600, "That's for one square metre only."
            ),
        ),
        "How many joules are lost in an hour, and how many seconds is that?",
        "W = kg an hour × joules a kilogram ÷ 3600.",
        "{rate:g} × {area:g} × 2 450 000 ÷ 3600 = {right} W.",
        again=Again(
            "A pond of {area:g} m² loses {told:g} W by evaporation. Each kilogram of water takes 2.45 MJ with it. How "
            "many kilograms does each square metre lose in an hour?",
            {"rate": (0.05, 0.125, 0.175, 0.225), "area": (3, 5, 7, 9, 15)},
            worked="{told:g} × 3600 ÷ 2 450 000 ÷ {area:g} = {right} kg in an hour.",
            inverse=Inverse(
                "rate",
                "kg/hour",
                (
                    Misconception(
                        "whole pond",
                        lambda told, area, **_: told * 3600 / 2.45e6,
                        "That's for the whole pond. How much is it for each square metre?",
                    ),
                    Misconception(
                        "a second as an hour",
                        lambda told, area, **_: told / 2.45e6 / area,
                        "That's for one second. A watt is a joule per second; how many seconds are there in an hour?",
                    ),
                    Misconception(
                        "multiplied by the area",
                        lambda told, area, **_: told * 3600 / 2.45e6 * area,
                        "It looks as if you multiplied by the area. One square metre must lose less than the whole "
                        "pond.",
                    ),
                    Misconception(
                        "grams",
                        lambda told, area, **_: told * 3600 / 2450 / area,
                        "That's in grams. A thousand of them make a kilogram.",
                    ),
                ),
                "How many joules does one square metre lose in an hour?",
                "kg an hour = W × 3600 ÷ joules a kilogram ÷ area.",
            ),
        ),
        ideas=("evaporation",),
    ),
    Question(
        "4.3",
        "04_open_surface",
        "Water at [{water:g} °C] radiates to a sky that acts as if it were at [{sky:g} °C]. W = {eps:g} "
        "× area × 5.67 × ((water ÷ 100)⁴ − (sky ÷ 100)⁴), both in kelvin (°C + 273). How many watts does "
        "{area:g} m² lose?",
        "W",
        {"water": 18, "sky": -10, "eps": 0.95, "area": 10},
        {"sky": (-15, -12, -10, -6, -2), "area": (4, 6, 8, 10, 12)},
        lambda water, sky, eps, area: (
            area * eps * STEFAN_BOLTZMANN.value * ((water + KELVIN) ** 4 - (sky + KELVIN) ** 4)
        ),
        (
            Misconception(
                "degrees Celsius",
                lambda water, sky, eps, area: area * eps * STEFAN_BOLTZMANN.value * (water**4 - sky**4),
                "Radiation goes by absolute temperature: convert both to kelvin first.",
            ),
            Misconception(
                "fourth power of the difference",
                lambda water, sky, eps, area: area * eps * STEFAN_BOLTZMANN.value * (water - sky) ** 4,
                "Raise each to the fourth power first, then take the difference, not the other way round.",
            ),
        ),
        "Convert both temperatures to kelvin and divide each by 100.",
        "Raise each to the fourth power, take the difference, then multiply by 5.67, 0.95 and the area.",
        "{eps:g} × {area:g} × 5.67 × ((({water:g} + 273) ÷ 100)⁴ − (({sky:g} + 273) ÷ 100)⁴) = {right} W.",
        tolerance=0.015,
        again=Again(
            "A pond {length:g} m long and 2 m wide is at [{water:g} °C] and radiates to a sky that "
            "acts as if it were at [{sky:g} °C]. W = {eps:g} × area × 5.67 × ((water ÷ 100)⁴ − (sky ÷"
            " 100)⁴), both in kelvin (°C + 273). How many watts does it lose?",
            {"water": (12, 14, 16), "sky": (-18, -14, -8, -4), "area": (3, 5, 7, 9)},
            stated={"length": ("area", 0.5)},
        ),
    ),
)

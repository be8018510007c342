"""Questions of page 05, open surface."""

from __future__ import annotations

from pondheat.core.sources import STEFAN_BOLTZMANN
from pondheat.lesson.question_bank.question import KELVIN, Misconception, Question

QUESTIONS = (
    Question(
        "5.1",
        "05_open_surface",
        "On a breezy evening {area:g} m² of water of [{water:g} °C] lie in air of [{air:g} °C], and "
        "{coefficient:g} W go from each square metre "
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
        "{rate:g} kg evaporate from each square metre in an hour, from {area:g} m². Each kilogram takes 2.45 MJ "
        "with it. "
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
        "Water of [{water:g} °C] radiates to a sky that acts like [{sky:g} °C]. W = {eps:g} × area × 5.67 × "
        "((water ÷ 100)⁴ − (sky ÷ 100)⁴), "
        "both in kelvin (°C + 273). How many watts from {area:g} m²?",
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
                "Radiation counts from absolute zero: both temperatures in kelvin first.",
            ),
            Misconception(
                "fourth power of the difference",
                lambda water, sky, eps, area: area * eps * STEFAN_BOLTZMANN.value * (water - sky) ** 4,
                "First each to the fourth power, then the difference, not the other way round.",
            ),
        ),
        "First both temperatures in kelvin, each divided by 100.",
        "Each four times with itself, then the difference; then times 5.67, 0.95 and the area.",
        "{eps:g} × {area:g} × 5.67 × ((({water:g} + 273) ÷ 100)⁴ − (({sky:g} + 273) ÷ 100)⁴) = {right} W.",
        tolerance=0.015,
    ),
)

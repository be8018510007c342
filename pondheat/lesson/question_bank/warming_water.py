"""Questions of page 02, warming water."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import HEAT_OF_WATER, KELVIN, Misconception, Question

QUESTIONS = (
    Question(
        "2.1",
        "02_warming_water",
        "How many kWh warm [{volume:g} m³] of water by [{rise:g} K], if none is lost? ([1 m³] by [1 K]: 1.163 kWh)",
        "kWh",
        {"volume": 12, "rise": 5},
        {"volume": (4, 6, 8, 10, 12, 15, 20), "rise": (2, 3, 4, 5, 6, 8)},
        lambda volume, rise: HEAT_OF_WATER * volume * rise,
        (
            Misconception(
                "one degree", lambda volume, rise: HEAT_OF_WATER * volume, "That is [one degree]. How many are wanted?"
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
        "Warming a pond takes {energy:g} kWh. How many hours does a {power:g} kW heater need at least, if no "
        "heat is lost?",
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
        "You change [{volume:g} m³] of an [{pond:g} °C] pond of [12 m³] for tap water of [{tap:g} °C]. How many "
        "kWh bring it back? "
        "([1 m³] by [1 K]: 1.163 kWh)",
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
                "That warms it from [0 °C]. The tap water starts higher.",
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
)

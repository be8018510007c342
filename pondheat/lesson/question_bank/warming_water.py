"""Questions of page 02, warming water."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import HEAT_OF_WATER, KELVIN, Again, Inverse, Misconception, Question

QUESTIONS = (
    Question(
        "2.1",
        "02_warming_water",
        "How many kWh does it take to warm [{volume:g} m³] of water by [{rise:g} K], if no heat is lost? "
        "([1 m³] by [1 K]: 1.163 kWh)",
        "kWh",
        {"volume": 12, "rise": 5},
        {"volume": (4, 6, 8, 10, 12, 15, 20), "rise": (2, 3, 4, 5, 6, 8)},
        lambda volume, rise: HEAT_OF_WATER * volume * rise,
        (
            Misconception(
                "one degree",
                lambda volume, rise: HEAT_OF_WATER * volume,
                "That's for [one degree]. How many do you need?",
            ),
            Misconception(
                "megajoules",
                lambda volume, rise: HEAT_OF_WATER * volume * rise * 3.6,
                "That's in megajoules. 3.6 MJ make one kWh.",
            ),
            Misconception(
                "added 273",
                lambda volume, rise: HEAT_OF_WATER * volume * (rise + KELVIN),
                "It looks as if you added 273 to a rise. A difference is the same in K and in °C.",
            ),
        ),
        "Each cubic metre needs 1.163 kWh for each degree.",
        "1.163 × m³ × degrees.",
        "1.163 × {volume:g} × {rise:g} = {right} kWh.",
        again=Again(
            "A heater gave the water of a [{litres:g} L] tank {told:g} kWh, and none of it was lost. By how many K did "
            "the water warm up? ([1 m³] by [1 K]: 1.163 kWh)",
            {"volume": (1.5, 2.5, 3, 4.5, 7), "rise": (2.5, 4, 7, 9)},
            stated={"litres": ("volume", 1000)},
            worked="[{litres:g} L] = [{volume:g} m³]; {told:g} ÷ (1.163 × {volume:g}) = [{right} K].",
            inverse=Inverse(
                "rise",
                "delta_degC",
                (
                    Misconception(
                        "heat of one kelvin left out",
                        lambda told, volume, **_: told / volume,
                        "You shared the heat among the cubic metres. How much heat does each of them take for "
                        "[one degree]?",
                    ),
                    Misconception(
                        "multiplied",
                        lambda told, volume, **_: told * HEAT_OF_WATER * volume,
                        "It looks as if you multiplied. The same heat must warm more water by less.",
                    ),
                    Misconception(
                        "upside down",
                        lambda told, volume, **_: HEAT_OF_WATER * volume / told,
                        "That's the wrong way round: how many times does the heat for [one degree] go into the heat "
                        "given?",
                    ),
                    Misconception(
                        "added 273",
                        lambda told, volume, **_: told / (HEAT_OF_WATER * volume) + KELVIN,
                        "It looks as if you added 273 to a rise. A difference is the same in K and in °C.",
                    ),
                ),
                "How many kWh does it take to warm this tank by [one degree]?",
                "K = kWh ÷ (1.163 × m³).",
            ),
        ),
    ),
    Question(
        "2.2",
        "02_warming_water",
        "It takes {energy:g} kWh to warm a pond. How many hours, at least, does a {power:g} kW heater "
        "need if no heat is lost?",
        "hour",
        {"energy": 46.5, "power": 3},
        {"energy": (35, 46.5, 52, 69.8, 81, 93), "power": (2, 2.5, 3, 4, 6)},
        lambda energy, power: energy / power,
        (
            Misconception(
                "multiplied",
                lambda energy, power: energy * power,
                "It looks as if you multiplied. A more powerful heater must need less time, not more.",
            ),
            Misconception(
                "upside down",
                lambda energy, power: power / energy,
                "You divided the wrong way round: how many times do the kilowatts go into the kilowatt-hours?",
            ),
        ),
        "In an hour, each kW of the heater gives one kWh.",
        "Hours = kWh ÷ kW.",
        "{energy:g} kWh ÷ {power:g} kW = {right} h. With heat loss it takes longer.",
        again=Again(
            "It takes {energy:g} kWh to warm a tank. How many hours, at least, does a heater of {watts:g} W "
            "need if no heat is lost?",
            {"energy": (6, 9, 14, 20, 25), "power": (0.5, 0.8, 1.2, 1.5)},
            stated={"watts": ("power", 1000)},
            worked="{energy:g} kWh ÷ {power:g} kW = {right} h. With heat loss it takes longer.",
        ),
    ),
    Question(
        "2.3",
        "02_warming_water",
        "A pond of [12 m³] is at [{pond:g} °C]. You replace [{volume:g} m³] of it with tap water at "
        "[{tap:g} °C]. How many kWh does it take to get back to where it was? ([1 m³] by [1 K]: 1.163 "
        "kWh)",
        "kWh",
        {"volume": 1.2, "tap": 7, "pond": 18},
        {"volume": (0.6, 0.8, 1.0, 1.2, 1.5, 2.0), "tap": (6, 7, 8, 9, 10), "pond": (18,)},
        lambda volume, tap, pond: HEAT_OF_WATER * volume * (pond - tap),
        (
            Misconception(
                "whole pond",
                lambda volume, tap, pond: HEAT_OF_WATER * 12 * (pond - tap),
                "That would warm the whole pond. Only the new water is cold.",
            ),
            Misconception(
                "from freezing",
                lambda volume, tap, pond: HEAT_OF_WATER * volume * pond,
                "That would warm it from [0 °C]. Tap water is warmer than that.",
            ),
            Misconception(
                "forgot it was cold",
                lambda volume, tap, pond: 0.0,
                "The new water is colder than the pond, so it has to be warmed.",
            ),
            Misconception(
                "added 273",
                lambda volume, tap, pond: HEAT_OF_WATER * volume * (pond - tap + KELVIN),
                "It looks as if you added 273 to a difference. A difference is the same in K and in °C.",
            ),
        ),
        "Only the new water has to be warmed. From what temperature to what?",
        "1.163 × m³ replaced × (pond − tap).",
        "1.163 × {volume:g} × ({pond:g} − {tap:g}) = {right} kWh.",
        again=Again(
            "A pond of [12 m³] is at [{pond:g} °C]. Rinsing the filter takes [{litres:g} L] out of "
            "it, and you top up with tap water at [{tap:g} °C]. How many kWh does it take to get back"
            " to where it was? ([1 m³] by [1 K]: 1.163 kWh)",
            {"volume": (0.3, 0.4, 0.5, 0.7, 0.9), "tap": (5, 11, 12), "pond": (16, 20, 22)},
            stated={"litres": ("volume", 1000)},
            worked="[{litres:g} L] = [{volume:g} m³]; 1.163 × {volume:g} × ({pond:g} − {tap:g}) = {right} kWh.",
        ),
    ),
)

"""Questions of page 08, falling water."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question

QUESTIONS = (
    Question(
        "8.1",
        "08_falling_water",
        "[{flow:g} L] of water an hour falls over stones and cools by [{fall:g} K] ([1 L] by [1 K]: 4187 "
        "J). How many watts is that?",
        "W",
        {"flow": 3000, "fall": 0.3},
        {"flow": (1000, 1500, 2000, 3000, 4000), "fall": (0.1, 0.2, 0.3, 0.4)},
        lambda flow, fall: flow * 4187 * fall / 3600,
        (
            Misconception(
                "kilojoules as watt-hours",
                lambda flow, fall: flow * 4187 * fall / 1000,
                "That's kilojoules per hour. A watt is a joule per second.",
            ),
            Misconception(
                "per minute",
                lambda flow, fall: flow * 4187 * fall / 60,
                "You treated the hour as a minute. There are 3600 seconds in an hour.",
            ),
        ),
        "How many joules are lost in an hour, and how many seconds is that?",
        "W = litres an hour × 4187 × degrees ÷ 3600.",
        "{flow:g} × 4187 × {fall:g} ÷ 3600 = {right} W.",
        again=Again(
            "[{each_minute:g} L] of water a minute runs down a stream, and the stream takes {told:g} W from the pond. "
            "By how many K does the water cool? ([1 L] by [1 K]: 4187 J)",
            {"flow": (600, 900, 1200, 1800, 2400, 4800), "fall": (0.05, 0.15, 0.25, 0.5)},
            stated={"each_minute": ("flow", 1 / 60)},
            worked="{told:g} × 60 ÷ ({each_minute:g} × 4187) = [{right} K].",
            inverse=Inverse(
                "fall",
                "delta_degC",
                (
                    Misconception(
                        "a minute as a second",
                        lambda told, flow, **_: told / (flow / 60 * 4187),
                        "You treated litres a minute as litres a second. A watt is a joule per second.",
                    ),
                    Misconception(
                        "a minute as an hour",
                        lambda told, flow, **_: told * 3600 / (flow / 60 * 4187),
                        "You treated litres a minute as litres an hour.",
                    ),
                    Misconception(
                        "upside down",
                        lambda told, flow, **_: flow / 3600 * 4187 / told,
                        "That's the wrong way round: how many times do the watts for [one degree] go into those lost?",
                    ),
                ),
                "How many joules are lost in a minute, and how many litres share them?",
                "Degrees = W × 60 ÷ (litres a minute × 4187).",
            ),
        ),
    ),
    Question(
        "8.2",
        "08_falling_water",
        "A stream takes {power:g} W of heat from the pond, day and night. How many kWh is that in a day?",
        "kWh",
        {"power": 698},
        {"power": (150, 250, 400, 550, 698, 900)},
        lambda power: power / 1000 * 24,
        (
            Misconception("an hour", lambda power: power / 1000, "That's for one hour."),
            Misconception("watt-hours", lambda power: power * 24.0, "That's in watt-hours. A thousand make one kWh."),
        ),
        "How many hours are there in a day?",
        "W ÷ 1000 × 24.",
        "{power:g} ÷ 1000 × 24 = {right} kWh.",
        again=Again(
            "A waterfall takes {kilowatts:g} kW of heat from the pond, day and night. How many kWh is that in a day?",
            {"power": (180, 320, 470, 620, 760, 840)},
            stated={"kilowatts": ("power", 0.001)},
            worked="{kilowatts:g} kW × 24 h = {right} kWh.",
        ),
    ),
)

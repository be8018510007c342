"""Questions of page 03, fish first."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import HEAT_OF_WATER, Again, Misconception, Question

QUESTIONS = (
    Question(
        "3.1",
        "03_fish_first",
        "How many kW, on top of the heat loss, does it take to warm [{volume:g} m³] by [1 K] in a day? "
        "([1 m³] by [1 K]: 1.163 kWh)",
        "kW",
        {"volume": 12},
        {"volume": (5, 6, 8, 10, 15, 18, 20)},
        lambda volume: HEAT_OF_WATER * volume / 24,
        (
            Misconception(
                "a day as an hour",
                lambda volume: HEAT_OF_WATER * volume,
                "That's the kWh. The heater has a whole day to supply them.",
            ),
            Misconception("divided twice", lambda volume: HEAT_OF_WATER * volume / 24 / 24, "You divided by 24 twice."),
        ),
        "Start with the kWh for [one degree]. How many hours are they spread over?",
        "kW = kWh ÷ 24 h.",
        "1.163 × {volume:g} ÷ 24 = {right} kW.",
        2,
        0.02,
        "two figures are enough",
        again=Again(
            "How many kW, on top of the heat loss, does it take to warm a tank of [{litres:g} L] by "
            "[1 K] in a day? ([1 m³] by [1 K]: 1.163 kWh)",
            {"volume": (1.5, 2.5, 3, 4.5, 7, 9, 11)},
            stated={"litres": ("volume", 1000)},
            worked="[{litres:g} L] = [{volume:g} m³]; 1.163 × {volume:g} ÷ 24 = {right} kW.",
        ),
    ),
    Question(
        "3.2",
        "03_fish_first",
        "At the same pH, {low:g} % of the ammonia is poisonous at [8 °C] and {high:g} % at [18 °C]. How "
        "many times as much is that?",
        "dimensionless",
        {"low": 1.56, "high": 3.30},
        {"low": (0.9, 1.1, 1.56, 2.0), "high": (2.9, 3.3, 3.9, 4.6)},
        lambda low, high: high / low,
        (
            Misconception(
                "ratio of degrees",
                lambda low, high: 18 / 8,
                "That's the ratio of the temperatures. Degrees Celsius start from an arbitrary zero, so their "
                "ratio means nothing.",
            ),
            Misconception(
                "difference",
                lambda low, high: high - low,
                "That's the difference between the two shares, not how many times as much.",
            ),
            Misconception(
                "upside down", lambda low, high: low / high, "That's the wrong way round: warmer water has more of it."
            ),
        ),
        "How many times does the smaller share go into the larger?",
        "Ratio = share at [18 °C] ÷ share at [8 °C].",
        "{high:g} ÷ {low:g} = {right}.",
        again=Again(
            "In another pond the pH is higher: {low:g} % of the ammonia is poisonous at [8 °C] and "
            "{high:g} % at [18 °C]. How many times as much is that?",
            {"low": (4.6, 4.9, 5.2), "high": (9.1, 9.5, 10.1)},
        ),
    ),
)

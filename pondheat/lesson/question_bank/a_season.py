"""Questions of page 10, a season."""

from __future__ import annotations

import math

from pondheat.lesson.question_bank.question import HEAT_OF_WATER, Again, Inverse, Misconception, Question

QUESTIONS = (
    Question(
        "10.1",
        "10_a_season",
        "It takes {capacity:g} kWh to warm a pond by [1 K], and the pond loses {loss:g} kW for each K it "
        "is warmer than the air. What is its time constant, in hours?",
        "hour",
        {"capacity": 13.956, "loss": 0.25},
        {"capacity": (6.978, 9.304, 11.63, 13.956, 17.445), "loss": (0.15, 0.2, 0.25, 0.3)},
        lambda capacity, loss: capacity / loss,
        (
            Misconception(
                "upside down",
                lambda capacity, loss: loss / capacity,
                "That's the wrong way round: a larger pond must take longer.",
            ),
            Misconception(
                "multiplied",
                lambda capacity, loss: loss * capacity,
                "It looks as if you multiplied. More heat loss must mean less time.",
            ),
        ),
        "How long would the stored heat last at this rate of loss?",
        "Hours = kWh per K ÷ kW per K.",
        "{capacity:g} ÷ {loss:g} = {right} h.",
        again=Again(
            "A pond holds [{volume:g} m³] ([1 m³] by [1 K]: 1.163 kWh), and its time constant is {told:g} hours. How "
            "many kW does it lose for each K it is warmer than the air?",
            {"capacity": (3.489, 5.815, 8.141, 10.467, 23.26), "loss": (0.08, 0.12, 0.35, 0.4)},
            stated={"volume": ("capacity", 1 / HEAT_OF_WATER)},
            worked="1.163 × {volume:g} ÷ {told:g} = {right} kW/K.",
            inverse=Inverse(
                "loss",
                "kW/K",
                (
                    Misconception(
                        "upside down",
                        lambda told, capacity, **_: told / capacity,
                        "That's the wrong way round: a pond that cools slowly must lose little.",
                    ),
                    Misconception(
                        "multiplied",
                        lambda told, capacity, **_: told * capacity,
                        "It looks as if you multiplied. A longer time constant must mean less heat loss.",
                    ),
                    Misconception(
                        "cubic metres for heat",
                        lambda told, capacity, **_: capacity / HEAT_OF_WATER / told,
                        "You used the cubic metres themselves. How many kWh does it take to warm them by [one degree]?",
                    ),
                ),
                "How much heat does the pond hold for [one degree]?",
                "kW per K = kWh per K ÷ hours.",
            ),
        ),
    ),
    Question(
        "10.2",
        "10_a_season",
        "The heater fails when the water is [{lead:g} K] warmer than the air. It takes {capacity:g} kWh "
        "to warm the pond by [1 K], and the pond loses {loss:g} kW for each K it is warmer than the air. "
        "By how many K has it cooled after {hours:g} hours?",
        "delta_degC",
        {"lead": 10, "capacity": 13.956, "loss": 0.25, "hours": 24},
        {"lead": (8, 10, 12, 15), "capacity": (9.304, 11.63, 13.956), "loss": (0.2, 0.25, 0.3), "hours": (18, 24, 30)},
        lambda lead, capacity, loss, hours: lead * (1 - 2.718281828459045 ** (-hours * loss / capacity)),
        (
            Misconception(
                "straight line",
                lambda lead, capacity, loss, hours: lead * hours * loss / capacity,
                "That assumes a straight line. As the water cools it loses less heat, so it cools more slowly.",
            ),
            Misconception(
                "one hour", lambda lead, capacity, loss, hours: lead * loss / capacity, "That's only the first hour."
            ),
            Misconception(
                "what is left",
                lambda lead, capacity, loss, hours: lead * 2.718281828459045 ** (-hours * loss / capacity),
                "That's how much of the temperature difference is left. The fall is the rest.",
            ),
        ),
        "Start with the time constant. What share of the temperature difference is left after that time?",
        "Fall = difference × (1 − e^(−hours ÷ time constant)), with time constant = kWh per K ÷ kW per K.",
        "{lead:g} × (1 − e^(−{hours:g} × {loss:g}/{capacity:g})) = [{right} K].",
        tolerance=0.015,
        again=Again(
            "The power fails when the water of a [{volume:g} m³] pond ([1 m³] by [1 K]: 1.163 kWh) is"
            " [{lead:g} K] warmer than the air. The pond loses {loss_watts:g} W for each K it is "
            "warmer than the air. By how many K has it cooled after {hours:g} hours?",
            {
                "lead": (9, 11, 14),
                "capacity": (5.815, 8.141, 10.467),
                "loss": (0.15, 0.18, 0.22),
                "hours": (12, 16, 36),
            },
            stated={"volume": ("capacity", 1 / HEAT_OF_WATER), "loss_watts": ("loss", 1000)},
        ),
    ),
    Question(
        "10.3",
        "10_a_season",
        "With the heater off, the water went from [{first:g} to {second:g} K] above the air temperature "
        "in {hours:g} hours. It takes {capacity:g} kWh to warm the pond by [1 K]. How many kW does it "
        "lose for each K?",
        "kW/K",
        {"first": 10.0, "second": 9.0, "hours": 5.2, "capacity": 13.956},
        {"hours": (4.5, 5.2, 5.9, 6.5, 7.5), "second": (8.8, 9.0, 9.2), "capacity": (9.304, 11.63, 13.956)},
        lambda first, second, hours, capacity: capacity * math.log(first / second) / hours,
        (
            Misconception(
                "fall over time alone",
                lambda first, second, hours, capacity: (first - second) / hours,
                "That's how fast it cooled, in K per hour. How much heat is that for each degree?",
            ),
            Misconception(
                "forgot the logarithm",
                lambda first, second, hours, capacity: capacity * (first - second) / hours,
                "That's how many kW it lost. Divide by the temperature difference as well: the logarithm does both.",
            ),
        ),
        "How much heat did the pond lose as it cooled, and how much warmer than the air was it?",
        "kW per K = capacity × ln(first ÷ second) ÷ hours.",
        "{capacity:g} × ln({first:g}/{second:g}) ÷ {hours:g} = {right} kW/K.",
        tolerance=0.02,
        again=Again(
            "With the heater off, the water of a [{volume:g} m³] pond ([1 m³] by [1 K]: 1.163 kWh) "
            "went from [{first:g} to {second:g} K] above the air temperature in {hours:g} hours. How "
            "many kW does it lose for each K?",
            {"hours": (3.5, 8, 10, 12), "first": (12,), "second": (10.4, 10.8), "capacity": (5.815, 8.141, 10.467)},
            stated={"volume": ("capacity", 1 / HEAT_OF_WATER)},
        ),
    ),
)

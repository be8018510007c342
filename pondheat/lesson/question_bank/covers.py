"""Questions of page 07, covers."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question


def _day_heat(night: float, day: float, hours: float) -> float:
    """Heat of a day [kWh] with `hours` at the night's power and the rest at the day's [kW]."""
    return night * hours + day * (24 - hours)


QUESTIONS = (
    Question(
        "7.1",
        "07_covers",
        "A pond loses {day:g} kW by day. At night it's covered for {hours:g} hours and loses {covered:g} "
        "kW ({open:g} without the cover). What is the average loss over 24 hours?",
        "kW",
        {"day": 2.08, "hours": 14, "covered": 0.6, "open": 2.8},
        {"hours": (8, 10, 13, 14, 15), "covered": (0.5, 0.6, 0.7), "day": (1.9, 2.08, 2.2)},
        lambda day, hours, covered, open: _day_heat(covered, day, hours) / 24,
        (
            Misconception(
                "plain mean",
                lambda day, hours, covered, open: (covered + day) / 2,
                "That's halfway between the two. But night and day aren't equally long.",
            ),
            Misconception(
                "swapped",
                lambda day, hours, covered, open: _day_heat(covered, day, 24 - hours) / 24,
                "The hours are the wrong way round: the cover is on at night.",
            ),
        ),
        "How many kWh are lost at night, and how many by day?",
        "(night kW × night hours + day kW × day hours) ÷ 24.",
        "({covered:g} × {hours:g} + {day:g} × (24 − {hours:g})) ÷ 24 = {right} kW.",
        again=Again(
            "A smaller pond loses {day_watts:g} W by day and {covered_watts:g} W while it's covered at night "
            "({open_watts:g} W on an open night). Over 24 hours it lost {told:g} kW on average. For how many hours was "
            "it covered?",
            {"hours": (9, 11, 13, 16), "covered": (0.25, 0.3, 0.35), "open": (0.95, 1.1), "day": (0.7, 0.8, 0.85)},
            stated={"day_watts": ("day", 1000), "covered_watts": ("covered", 1000), "open_watts": ("open", 1000)},
            worked="In kW: 24 × ({day:g} − {told:g}) ÷ ({day:g} − {covered:g}) = {right} h.",
            inverse=Inverse(
                "hours",
                "hour",
                (
                    Misconception(
                        "the hours without it",
                        lambda told, day, covered, **_: 24 - 24 * (day - told) / (day - covered),
                        "Those are the hours without the cover.",
                    ),
                    Misconception(
                        "fraction",
                        lambda told, day, covered, **_: (day - told) / (day - covered),
                        "That's the covered part of the day as a fraction. How many hours is it?",
                    ),
                    Misconception(
                        "a perfect cover",
                        lambda told, day, **_: 24 * (day - told) / day,
                        "That would be right if nothing were lost under the cover. Some heat still gets through.",
                    ),
                    Misconception(
                        "the open night",
                        lambda told, open, covered, **_: 24 * (open - told) / (open - covered),
                        "You started from an open night. The hours without the cover are daytime, and then the pond "
                        "loses less.",
                    ),
                ),
                "How far is the average below the day's loss, and how far would it be if the pond were always covered?",
                "Hours = 24 × (day − average) ÷ (day − covered), all in kW.",
            ),
        ),
        ideas=("hours covered",),
    ),
    Question(
        "7.2",
        "07_covers",
        "Without a cover the pond loses {open:g} kW for {hours:g} hours at night and {day:g} kW by day. "
        "With the cover on at night it loses only {covered:g} kW at night. What share of the whole day's "
        "heat does the cover save?",
        "percent",
        {"open": 2.8, "hours": 14, "day": 2.08, "covered": 0.6},
        {"hours": (10, 12, 13, 14, 15), "covered": (0.5, 0.6, 0.7), "day": (1.9, 2.08, 2.2)},
        lambda open, hours, day, covered: 100 * (1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours)),
        (
            Misconception(
                "covered hours only",
                lambda open, hours, day, covered: 100 * (1 - covered / open),
                "That's what it saves while it's on. By day it saves nothing.",
            ),
            Misconception(
                "hours only",
                lambda open, hours, day, covered: 100 * hours / 24,
                "That's the share of the hours, as if no heat got through the cover.",
            ),
            Misconception(
                "nights like days",
                lambda open, hours, day, covered: 100 * (1 - covered / open) * hours / 24,
                "That treats nights like days. The pond loses more at night, so covering it then saves more.",
            ),
            Misconception(
                "fraction",
                lambda open, hours, day, covered: 1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours),
                "That's the share as a fraction. As a percentage it's a hundred times that.",
            ),
            Misconception(
                "what is left",
                lambda open, hours, day, covered: 100 * _day_heat(covered, day, hours) / _day_heat(open, day, hours),
                "That's what is still lost. The saving is the rest.",
            ),
        ),
        "Add up the kWh for the whole day, once without the cover and once with it.",
        "Saving = 1 − with ÷ without.",
        "1 − ({covered:g} × {hours:g} + {day:g} × (24 − {hours:g})) ÷ ({open:g} × {hours:g} + {day:g} × (24 − "
        "{hours:g})) = {right} %.",
        tolerance=0.008,
        again=Again(
            "Without a cover a smaller pond loses {open_watts:g} W for {hours:g} hours at night and "
            "{day_watts:g} W by day. With the cover on at night it loses only {covered_watts:g} W at "
            "night. What share of the whole day's heat does the cover save?",
            {"hours": (9, 11, 13, 16), "covered": (0.25, 0.3, 0.35), "open": (0.95, 1.1), "day": (0.7, 0.8, 0.85)},
            stated={"day_watts": ("day", 1000), "covered_watts": ("covered", 1000), "open_watts": ("open", 1000)},
        ),
        ideas=("hours covered",),
    ),
    Question(
        "7.3",
        "07_covers",
        "At noon the open water would lose {open:g} W from each square metre; under a solid lid it loses "
        "{covered:g} W. How much sun must the water absorb, in W/m², before it pays to lift the lid?",
        "W/m**2",
        {"open": 297, "covered": 29},
        {"open": (240, 260, 297, 320, 350), "covered": (29, 35, 40)},
        lambda open, covered: open - covered,
        (
            Misconception(
                "open loss alone",
                lambda open, covered: float(open),
                "That compares the sun with the open loss alone. But the water loses some heat under the lid too.",
            ),
            Misconception(
                "added",
                lambda open, covered: open + covered,
                "You added the two losses. Lifting the lid swaps one for the other.",
            ),
        ),
        "How much more heat is lost with the lid off, and how much comes in?",
        "It pays when the sun brings in more than the extra loss.",
        "{open:g} − {covered:g} = {right} W/m².",
        tolerance=0.03,
        rounding="two figures are enough",
        again=Again(
            "One afternoon a pond of 10 m² would lose {all_open:g} W open; under a solid lid it loses"
            " {all_covered:g} W. How much sun must the water absorb, in W/m², before it pays to lift "
            "the lid?",
            {"open": (180, 200, 220, 400), "covered": (20, 25, 50, 60)},
            stated={"all_open": ("open", 10), "all_covered": ("covered", 10)},
            worked="({all_open:g} − {all_covered:g}) ÷ 10 = {right} W/m².",
        ),
    ),
)

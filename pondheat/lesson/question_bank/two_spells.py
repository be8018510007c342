"""Questions of page 14, two spells."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Misconception, Question

_SPELLS = (
    "Period A, open: {a:g} kWh in {da:g} days, with the water [{ta:g} K] warmer than the air. Period "
    "B, covered at night: {b:g} kWh in {db:g} days, [{tb:g} K] warmer. "
)
_GIVEN = {"a": 210, "da": 7, "ta": 10, "b": 186, "db": 10, "tb": 12}
_DRAWS = {
    "a": (190, 200, 210, 225),
    "b": (150, 165, 180, 186),
    "db": (9, 10, 11),
    "ta": (9, 10, 11),
    "tb": (12, 13, 14),
}
_SMALLER = (
    "A smaller pond. Open: {a:g} kWh in {da:g} days, with the water [{ta:g} K] warmer than the air. Covered at "
    "night: {b:g} kWh in {db:g} days, [{tb:g} K] warmer. "
)
_AGAIN = {
    "a": (86, 92, 105),
    "da": (8,),
    "ta": (8, 9),
    "b": (60, 66, 72),
    "db": (11, 12, 13),
    "tb": (11, 12),
}


QUESTIONS = (
    Question(
        "14.1",
        "14_two_spells",
        _SPELLS + "If heat loss is proportional to the temperature difference, what share did the cover save?",
        "percent",
        _GIVEN,
        _DRAWS,
        lambda a, da, ta, b, db, tb: 100 * (1 - (b / db / tb) / (a / da / ta)),
        (
            Misconception(
                "totals",
                lambda a, da, ta, b, db, tb: 100 * (1 - b / a),
                "That compares the totals. The second period was longer, and colder.",
            ),
            Misconception(
                "per day",
                lambda a, da, ta, b, db, tb: 100 * (1 - (b / db) / (a / da)),
                "That's per day. But the days weren't equally cold.",
            ),
            Misconception(
                "per degree",
                lambda a, da, ta, b, db, tb: 100 * (1 - (b / tb) / (a / ta)),
                "That's per degree. But the periods weren't equally long.",
            ),
            Misconception(
                "upside down",
                lambda a, da, ta, b, db, tb: 100 * ((a / da / ta) / (b / db / tb) - 1),
                "That's how much more the open pond used. The saving is a share of the open use.",
            ),
            Misconception(
                "what is left",
                lambda a, da, ta, b, db, tb: 100 * (b / db / tb) / (a / da / ta),
                "That's the share still used. The rest is saved.",
            ),
        ),
        "Make the periods comparable: how much does each use per day and degree?",
        "1 − (B ÷ days ÷ degrees) ÷ (A ÷ days ÷ degrees).",
        "1 − ({b:g} ÷ {db:g} ÷ {tb:g}) ÷ ({a:g} ÷ {da:g} ÷ {ta:g}) = {right} %.",
        again=Again(
            _SMALLER + "If heat loss is proportional to the temperature difference, what share did the cover save?",
            _AGAIN,
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.2",
        "14_two_spells",
        _SPELLS + "How many kWh did the cover save in the second period?",
        "kWh",
        _GIVEN,
        _DRAWS,
        lambda a, da, ta, b, db, tb: a / da / ta * db * tb - b,
        (
            Misconception(
                "totals",
                lambda a, da, ta, b, db, tb: float(a - b),
                "That's the difference between the totals. What would B have used without the cover?",
            ),
            Misconception(
                "forgot the cold",
                lambda a, da, ta, b, db, tb: a / da * db - b,
                "That allows for the number of days, not for the cold. Each degree counts too.",
            ),
            Misconception(
                "the wrong spell",
                lambda a, da, ta, b, db, tb: a - b / db / tb * da * ta,
                "That's what a cover would have saved in the first period. The second was the covered one.",
            ),
            Misconception(
                "forgot to take off",
                lambda a, da, ta, b, db, tb: a / da / ta * db * tb,
                "That's what B would have used without the cover. Take off what it did use.",
            ),
        ),
        "What would B have used without the cover?",
        "A's use per day and degree × B's days × B's degrees − B's use.",
        "{a:g} ÷ {da:g} ÷ {ta:g} × {db:g} × {tb:g} − {b:g} = {right} kWh.",
        tolerance=0.02,
        again=Again(
            _SMALLER + "How many kWh did the cover save in the second period?",
            _AGAIN,
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.3",
        "14_two_spells",
        _SPELLS + "But an air blower and lights in the shed use {load:g} kW day and night on the same meter, and "
        "none of their heat reaches the water. What share of the heating did the cover save?",
        "percent",
        {**_GIVEN, "load": 0.1},
        {**_DRAWS, "load": (0.1, 0.12, 0.15)},
        lambda a, da, ta, b, db, tb, load: (
            100 * (1 - ((b - 24 * load * db) / db / tb) / ((a - 24 * load * da) / da / ta))
        ),
        (
            Misconception(
                "left it in",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / (a / da / ta)),
                "That leaves the blower and lights in. They run whether the pond is covered or not, and make the "
                "saving look small.",
            ),
            Misconception(
                "taken off the covered period only",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - ((b - 24 * load * db) / db / tb) / (a / da / ta)),
                "You took them off the covered period only. They ran in both.",
            ),
            Misconception(
                "taken off the open period only",
                lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / ((a - 24 * load * da) / da / ta)),
                "You took them off the open period only. They ran in both.",
            ),
        ),
        "How many kWh did the blower and lights use in each period?",
        "Take kW × 24 × days off each period; then as before.",
        "A: {a:g} − 24 × {load:g} × {da:g}; B: {b:g} − 24 × {load:g} × {db:g}; then per day and degree: {right} %.",
        tolerance=0.02,
        again=Again(
            _SMALLER + "An air blower in the shed, on the same meter, uses {load_watts:g} W day and night, and "
            "none of its heat reaches the water. What share of the heating did the cover save?",
            {**_AGAIN, "load": (0.04, 0.05, 0.06)},
            stated={"load_watts": ("load", 1000)},
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.3b",
        "14_two_spells",
        _SPELLS + "A {load:g} kW pump under water runs on the same meter day and night; all its power warms the "
        "water. What share of the heat did the cover save?",
        "percent",
        {**_GIVEN, "load": 0.1},
        {**_DRAWS, "load": (0.1, 0.12, 0.15)},
        lambda a, da, ta, b, db, tb, load: 100 * (1 - (b / db / tb) / (a / da / ta)),
        (
            Misconception(
                "taken off",
                lambda a, da, ta, b, db, tb, load: (
                    100 * (1 - ((b - 24 * load * db) / db / tb) / ((a - 24 * load * da) / da / ta))
                ),
                "You took the pump off. Its heat went into the water and did part of the heater's work, so leave "
                "it in.",
            ),
        ),
        "Where does the heat of a pump in the water go?",
        "It heats the pond, so there's nothing to take off.",
        "Nothing to take off: 1 − ({b:g} ÷ {db:g} ÷ {tb:g}) ÷ ({a:g} ÷ {da:g} ÷ {ta:g}) = {right} %.",
        tolerance=0.02,
        again=Again(
            _SMALLER + "A {load_watts:g} W pump under water runs on the same meter day and night; all its power "
            "warms the water. What share of the heat did the cover save?",
            {**_AGAIN, "load": (0.04, 0.05, 0.06)},
            stated={"load_watts": ("load", 1000)},
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.4",
        "14_two_spells",
        "An open pond loses {base:g} + {slope:g} × temperature difference, in W/m². In an open period "
        "the difference was [{mild:g} K]. In a covered period it was [{cold:g} K], and the pond lost "
        "{covered:g} W/m². What share does the cover really save?",
        "percent",
        {"base": 80, "slope": 22, "mild": 5, "cold": 15, "covered": 180},
        {"base": (70, 80, 90), "slope": (20, 22, 24), "covered": (180, 195, 210, 225)},
        lambda base, slope, mild, cold, covered: 100 * (1 - covered / (base + slope * cold)),
        (
            Misconception(
                "per degree",
                lambda base, slope, mild, cold, covered: 100 * (1 - (covered / cold) / ((base + slope * mild) / mild)),
                "That compares per degree. An open pond loses heat even with no temperature difference, so a "
                "mild open period looks expensive per degree.",
            ),
            Misconception(
                "as they stand",
                lambda base, slope, mild, cold, covered: 100 * (1 - covered / (base + slope * mild)),
                "That compares the two directly. The covered period was far colder.",
            ),
            Misconception(
                "what is left",
                lambda base, slope, mild, cold, covered: 100 * covered / (base + slope * cold),
                "That's the share still lost. The rest is saved.",
            ),
        ),
        "What would the open pond have lost in the cold period?",
        "1 − covered ÷ (base + slope × cold difference).",
        "1 − {covered:g} ÷ ({base:g} + {slope:g} × {cold:g}) = {right} %.",
        tolerance=0.02,
        again=Again(
            "Another pond, of 10 m², loses {all_base:g} + {all_slope:g} × temperature difference, in "
            "W, while open. In an open period the difference was [{mild:g} K]. In a covered period it"
            " was [{cold:g} K], and the pond lost {all_covered:g} W. What share does the cover really"
            " save?",
            {
                "base": (60, 65, 100),
                "slope": (17, 18, 26),
                "mild": (6, 7),
                "cold": (12, 13),
                "covered": (120, 130, 145),
            },
            stated={"all_base": ("base", 10), "all_slope": ("slope", 10), "all_covered": ("covered", 10)},
            worked="1 − {all_covered:g} ÷ ({all_base:g} + {all_slope:g} × {cold:g}) = {right} %.",
        ),
        ideas=("fair line",),
    ),
)

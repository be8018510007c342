"""Questions of page 14, two spells."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Misconception, Question

_SPELLS = (
    "Spell A, open: {a:g} kWh in {da:g} days, the water [{ta:g} K] above the air. "
    "Spell B, covered at night: {b:g} kWh in {db:g} days, [{tb:g} K]. "
)
_GIVEN = {"a": 210, "da": 7, "ta": 10, "b": 186, "db": 10, "tb": 12}
_DRAWS = {
    "a": (190, 200, 210, 225),
    "b": (150, 165, 180, 186),
    "db": (9, 10, 11),
    "ta": (9, 10, 11),
    "tb": (12, 13, 14),
}


QUESTIONS = (
    Question(
        "14.1",
        "14_two_spells",
        _SPELLS + "Taking the loss to go with the difference: what share did the cover save?",
        "percent",
        _GIVEN,
        _DRAWS,
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
        _GIVEN,
        _DRAWS,
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
        _SPELLS + "But {load:g} kW of air blower and lamps in the shed, on day and night, run through the same meter, "
        "and none of their heat reaches the water. "
        "What share did the cover save of the heating?",
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
                "That leaves the blower and lamps in. They run whether the pond is covered or not, and make the "
                "saving look small.",
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
        + "A pump of {load:g} kW lies in the water and runs through the same meter day and night; all its power "
        "warms the water. "
        "What share of the heat did the cover save?",
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
        "An open pond loses {base:g} + {slope:g} × difference, in W/m². In an open spell the difference was "
        "[{mild:g} K]. In a covered spell it was [{cold:g} K], "
        "and the pond lost {covered:g} W/m². What share does the cover really save?",
        "percent",
        {"base": 80, "slope": 22, "mild": 5, "cold": 15, "covered": 180},
        {"base": (70, 80, 90), "slope": (20, 22, 24), "covered": (180, 195, 210, 225)},
        lambda base, slope, mild, cold, covered: 100 * (1 - covered / (base + slope * cold)),
        (
            Misconception(
                "per degree",
                lambda base, slope, mild, cold, covered: 100 * (1 - (covered / cold) / ((base + slope * mild) / mild)),
                "That compares per degree. An open pond loses at no difference too, so a mild open spell looks "
                "dear per degree.",
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
)

"""Questions of page 14, two spells."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question

_LINE = (
    "A line through your open nights reads {base:g} kWh a night where water and air are equally warm, and "
    "{slope:g} kWh more for each kelvin the water is warmer. "
)
_COVERED = "On covered nights with the water [{x:g} K] warmer, the meter counted {c:g} kWh a night. "
_GIVEN = {"base": 25, "slope": 4.5, "x": 14, "c": 41}
_DRAWS = {"base": (20, 24, 25, 30), "slope": (4, 4.5, 5), "x": (12, 13, 14, 15), "c": (36, 38, 40, 41)}
_SMALLER = (
    "A smaller pond's line reads {base:g} kWh a night where water and air are equally warm, and rises by {slope:g} kWh "
    "for each kelvin. "
)
_AGAIN = {"base": (8, 9, 11), "slope": (1.4, 1.6), "x": (9, 10, 11), "c": (12, 13, 14)}


QUESTIONS = (
    Question(
        "14.1",
        "14_two_spells",
        _LINE + "What does it say for a night with the water [{x:g} K] warmer than the air?",
        "kWh",
        {"base": 25, "slope": 4.5, "x": 14},
        {name: _DRAWS[name] for name in ("base", "slope", "x")},
        lambda base, slope, x: base + slope * x,
        (
            Misconception(
                "in proportion",
                lambda base, slope, x: slope * x,
                "That leaves out what the open pond loses even when water and air are equally warm.",
            ),
            Misconception(
                "the start for each kelvin",
                lambda base, slope, x: (base + slope) * x,
                "You counted the start of the line once for each kelvin. It counts once a night.",
            ),
            Misconception(
                "took the start off",
                lambda base, slope, x: slope * x - base,
                "You took the start of the line off. That heat is lost in any weather, so add it on.",
            ),
        ),
        "Where does the line start, and how far does it rise from there?",
        "Start + rise for each kelvin × kelvins.",
        "{base:g} + {slope:g} × {x:g} = {right} kWh.",
        again=Again(
            _SMALLER + "One open night took {told:g} kWh. How many K warmer than the air was the water?",
            {"base": _AGAIN["base"], "slope": _AGAIN["slope"], "x": (7.5, 8.5, 12.5, 13.5)},
            worked="({told:g} − {base:g}) ÷ {slope:g} = [{right} K].",
            inverse=Inverse(
                "x",
                "delta_degC",
                (
                    Misconception(
                        "in proportion",
                        lambda told, slope, **_: told / slope,
                        "That leaves out what the open pond loses even when water and air are equally warm. Take it "
                        "off first.",
                    ),
                    Misconception(
                        "added the start",
                        lambda told, base, slope, **_: (told + base) / slope,
                        "You added the start of the line. It's part of the night's use, so take it off.",
                    ),
                    Misconception(
                        "the rise in kWh",
                        lambda told, base, **_: told - base,
                        "That's how many kWh the night is above the start of the line. How many kelvins is that?",
                    ),
                    Misconception(
                        "the start for each kelvin",
                        lambda told, base, slope, **_: told / (base + slope),
                        "You counted the start of the line once for each kelvin. It counts once a night.",
                    ),
                ),
                "How far is this night above the start of the line?",
                "Kelvins = (use − start) ÷ rise for each kelvin.",
            ),
        ),
        ideas=("fair line",),
    ),
    Question(
        "14.2",
        "14_two_spells",
        _LINE + "On {n:g} covered nights the water was on average [{x:g} K] warmer, and the meter counted {c:g} kWh a "
        "night. How many kWh did the cover save in all?",
        "kWh",
        {"base": 25, "slope": 4.5, "n": 12, "x": 12, "c": 40},
        {
            "base": (20, 24, 25, 30),
            "slope": (4, 4.5, 5),
            "n": (9, 11, 12, 14),
            "x": (12, 13, 14),
            "c": (34, 36, 38, 40),
        },
        lambda base, slope, n, x, c: n * (base + slope * x - c),
        (
            Misconception(
                "in proportion",
                lambda base, slope, n, x, c: n * (slope * x - c),
                "That leaves out what the open pond loses every night even when water and air are equally warm.",
            ),
            Misconception(
                "the start once",
                lambda base, slope, n, x, c: base + n * (slope * x - c),
                "You counted the start of the line for one night only. The open pond loses that heat every night.",
            ),
            Misconception(
                "one night",
                lambda base, slope, n, x, c: base + slope * x - c,
                "That's one night's saving. The question asks for all the covered nights.",
            ),
            Misconception(
                "forgot to take off",
                lambda base, slope, n, x, c: n * (base + slope * x),
                "That's what the open pond would have used. Take off what the covered one did use.",
            ),
        ),
        "What would the open pond have used on an average night of these?",
        "(Line at the covered nights' weather − used) × nights.",
        "({base:g} + {slope:g} × {x:g} − {c:g}) × {n:g} = {right} kWh.",
        tolerance=0.02,
        again=Again(
            _SMALLER
            + "While it was covered, with the water on average [{x:g} K] warmer, it used {c:g} kWh a night. Altogether "
            "the cover saved {told:g} kWh. For how many nights was it on?",
            {**_AGAIN, "n": (8, 10, 15)},
            worked="{told:g} ÷ ({base:g} + {slope:g} × {x:g} − {c:g}) = {right} nights.",
            inverse=Inverse(
                "n",
                "day",
                (
                    Misconception(
                        "forgot to take off",
                        lambda told, base, slope, x, **_: told / (base + slope * x),
                        "You divided by what an open night takes. A covered night saves only part of that.",
                    ),
                    Misconception(
                        "by what was used",
                        lambda told, c, **_: told / c,
                        "You divided by what a covered night used. How much did it save?",
                    ),
                    Misconception(
                        "one night",
                        lambda base, slope, x, c, **_: base + slope * x - c,
                        "That's one night's saving. How many times does it go into the whole?",
                    ),
                    Misconception(
                        "upside down",
                        lambda told, base, slope, x, c, **_: (base + slope * x - c) / told,
                        "That's the wrong way round: how many times does one night's saving go into the whole?",
                    ),
                ),
                "How much does one covered night save?",
                "Nights = saving ÷ (line at the covered nights' weather − used).",
                "to a whole number",
                "nights",
            ),
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.3",
        "14_two_spells",
        _LINE + _COVERED + "But an air blower and lights in the shed use {load:g} kW day and night on the same meter, "
        "open or covered, and none of their heat reaches the water. What share of the heating did the cover save?",
        "percent",
        {**_GIVEN, "load": 0.3},
        {**_DRAWS, "load": (0.3, 0.35, 0.4)},
        lambda base, slope, x, c, load: 100 * (1 - (c - 24 * load) / (base + slope * x - 24 * load)),
        (
            Misconception(
                "left it in",
                lambda base, slope, x, c, load: 100 * (1 - c / (base + slope * x)),
                "That leaves the blower and lights in. They run whether the pond is covered or not, and make the "
                "saving look too small.",
            ),
            Misconception(
                "taken off the covered nights only",
                lambda base, slope, x, c, load: 100 * (1 - (c - 24 * load) / (base + slope * x)),
                "You took them off the covered nights only. They ran on the open ones too.",
            ),
            Misconception(
                "taken off the open nights only",
                lambda base, slope, x, c, load: 100 * (1 - c / (base + slope * x - 24 * load)),
                "You took them off the open nights only. They ran on the covered ones too.",
            ),
        ),
        "How many kWh did the blower and lights use from one noon to the next?",
        "Take kW × 24 off what the line says and off what was used; then compare.",
        "1 − ({c:g} − 24 × {load:g}) ÷ ({base:g} + {slope:g} × {x:g} − 24 × {load:g}) = {right} %.",
        tolerance=0.02,
        again=Again(
            _SMALLER + _COVERED + "An air blower in the shed, on the same meter, uses {load_watts:g} W day and night, "
            "and none of its heat reaches the water. What share of the heating did the cover save?",
            {**_AGAIN, "load": (0.1, 0.12, 0.15)},
            stated={"load_watts": ("load", 1000)},
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.3b",
        "14_two_spells",
        _LINE + _COVERED + "A {load:g} kW pump under water runs on the same meter day and night; all its power warms "
        "the water. What share of the heat did the cover save?",
        "percent",
        {**_GIVEN, "load": 0.3},
        {**_DRAWS, "load": (0.3, 0.35, 0.4)},
        lambda base, slope, x, c, load: 100 * (1 - c / (base + slope * x)),
        (
            Misconception(
                "taken off",
                lambda base, slope, x, c, load: 100 * (1 - (c - 24 * load) / (base + slope * x - 24 * load)),
                "You took the pump off. Its heat went into the water and did part of the heater's work, so leave "
                "it in.",
            ),
        ),
        "Where does the heat of a pump in the water go?",
        "It heats the pond, so there's nothing to take off.",
        "Nothing to take off: 1 − {c:g} ÷ ({base:g} + {slope:g} × {x:g}) = {right} %.",
        tolerance=0.02,
        again=Again(
            _SMALLER + _COVERED + "A {load_watts:g} W pump under water runs on the same meter day and night; all its "
            "power warms the water. What share of the heat did the cover save?",
            {**_AGAIN, "load": (0.1, 0.12, 0.15)},
            stated={"load_watts": ("load", 1000)},
        ),
        ideas=("same weather",),
    ),
    Question(
        "14.4",
        "14_two_spells",
        "Your open nights averaged {a:g} kWh, with the water [{ta:g} K] warmer than the air. Between mild and cold "
        "ones, the use rose by {slope:g} kWh for each kelvin. Your covered nights were milder: {b:g} kWh on "
        "average, at [{tb:g} K]. What share did the cover really save?",
        "percent",
        {"a": 95, "ta": 18, "slope": 4.5, "b": 36, "tb": 12},
        {"a": (90, 95, 100), "ta": (17, 18, 19), "slope": (4, 4.5), "b": (32, 34, 36, 38), "tb": (11, 12, 13)},
        lambda a, ta, slope, b, tb: 100 * (1 - b / (a - slope * (ta - tb))),
        (
            Misconception(
                "averages",
                lambda a, ta, slope, b, tb: 100 * (1 - b / a),
                "That compares the average nights. But the covered ones were milder, and the open pond would have "
                "used less on them too.",
            ),
            Misconception(
                "per degree",
                lambda a, ta, slope, b, tb: 100 * (1 - (b / tb) / (a / ta)),
                "That compares per degree. An open pond loses heat even with no temperature difference, so on mild "
                "nights it would have used more for each degree.",
            ),
            Misconception(
                "the wrong way along the line",
                lambda a, ta, slope, b, tb: 100 * (1 - b / (a + slope * (ta - tb))),
                "You went along the line to colder nights. The covered ones were milder.",
            ),
            Misconception(
                "moved the covered nights",
                lambda a, ta, slope, b, tb: 100 * (1 - (b + slope * (ta - tb)) / a),
                "You moved the covered nights along the open pond's line. A covered pond's use rises less with the "
                "cold, so move the open nights to the covered ones' weather.",
            ),
            Misconception(
                "what is left",
                lambda a, ta, slope, b, tb: 100 * b / (a - slope * (ta - tb)),
                "That's the share still used. The rest is saved.",
            ),
        ),
        "What would the open pond have used in the covered nights' weather?",
        "Go along the line from the open nights to the covered ones' weather; then 1 − covered ÷ that.",
        "1 − {b:g} ÷ ({a:g} − {slope:g} × ({ta:g} − {tb:g})) = {right} %.",
        tolerance=0.02,
        again=Again(
            "A smaller pond used {a:g} kWh on an average open night, with the water [{ta:g} K] warmer than the air. "
            "Its line rises by {slope_wh:g} Wh for each kelvin. Covered nights, at [{tb:g} K], took {b:g} kWh each. "
            "What share did the cover really save?",
            {"a": (30, 32, 34), "ta": (16, 17), "slope": (1.2, 1.4), "b": (13, 14), "tb": (10, 11)},
            stated={"slope_wh": ("slope", 1000)},
        ),
        ideas=("same weather", "fair line"),
    ),
)

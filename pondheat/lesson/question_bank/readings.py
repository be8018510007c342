"""Questions of page 13, readings."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Misconception, Question

QUESTIONS = (
    Question(
        "13.1",
        "13_readings",
        "A meter showed {before:g} kWh, and later {after:g} kWh. How many kWh were used in between?",
        "kWh",
        {"before": 10432, "after": 10604},
        {"before": (10432, 20817, 30295, 41378), "after": (41560, 42115, 43020)},
        lambda before, after: float(after - before),
        (
            Misconception(
                "took the reading for the use",
                lambda before, after: float(after),
                "That's what the meter shows now: everything it has ever counted. What did it show before?",
            ),
            Misconception(
                "added",
                lambda before, after: float(before + after),
                "It looks as if you added the readings. The use is the difference between them.",
            ),
        ),
        "The meter keeps counting up and is never set back.",
        "Later reading − earlier reading.",
        "{after:g} − {before:g} ≈ {right} kWh.",
        again=Again(
            "A meter that counts MWh (1 MWh is 1000 kWh) showed {first:.3f}, and later {last:.3f}. "
            "How many kWh were used in between?",
            {"before": (5204, 7718, 12465), "after": (13070, 13942, 15208)},
            stated={"first": ("before", 0.001), "last": ("after", 0.001)},
        ),
    ),
    Question(
        "13.2",
        "13_readings",
        "You take eight readings, one every day at eight in the evening. From the first to the last the "
        "meter goes up by {use:g} kWh. How many kWh a day is that?",
        "kWh/day",
        {"use": 182},
        {"use": (147, 161, 189, 196, 203, 217)},
        lambda use: use / 7,
        (
            Misconception(
                "counted the readings", lambda use: use / 8, "Between eight daily readings there are seven days."
            ),
            Misconception("by the hour", lambda use: use / 168, "That's the use per hour: the average power in kW."),
            Misconception(
                "times the days",
                lambda use: use * 7,
                "It looks as if you multiplied. One day must be less than all of them together.",
            ),
        ),
        "How many whole days are there between the first reading and the last?",
        "Use ÷ number of days between.",
        "{use:g} kWh ÷ 7 days = {right} kWh a day.",
        again=Again(
            "A pond's meter counts MWh (1 MWh is 1000 kWh). You take eight readings, one every "
            "morning, and from the first to the last it goes up by {megawatt_hours:.3f} MWh. How many"
            " kWh a day is that?",
            {"use": (98, 119, 126, 140, 231, 252, 273)},
            stated={"megawatt_hours": ("use", 0.001)},
            worked="{megawatt_hours:.3f} MWh = {use:g} kWh; ÷ 7 days = {right} kWh a day.",
        ),
    ),
    Question(
        "13.3",
        "13_readings",
        "A counter with five digits showed {before:05.0f}, and a day later {after:05.0f}. How many kWh were used?",
        "kWh",
        {"before": 99979, "after": 17},
        {"before": (99962, 99971, 99984, 99988), "after": (8, 19, 26, 31)},
        lambda before, after: float(100000 - before + after),
        (
            Misconception(
                "plain difference",
                lambda before, after: float(after - before),
                "A meter doesn't run backwards. It went past its nines to zero: after 99 999 comes 00 000.",
            ),
            Misconception(
                "only after zero",
                lambda before, after: float(after),
                "That's only what it counted after zero. It also counted up to zero.",
            ),
            Misconception(
                "only up to zero",
                lambda before, after: float(100000 - before),
                "That's only what it counted up to zero. It went on counting after that.",
            ),
            Misconception(
                "one too few",
                lambda before, after: float(99999 - before + after),
                "After 99 999 comes 00 000, and that step is a kWh too.",
            ),
        ),
        "What comes after 99 999 on a counter with five digits?",
        "(100 000 − before) + after.",
        "(100 000 − {before:g}) + {after:g} ≈ {right} kWh.",
        again=Again(
            "A keeper writes down {before:05.0f} on Monday and {after:05.0f} on Thursday, from a "
            "counter with five digits that nobody has changed. How many kWh were used?",
            {"before": (99976, 99981, 99987, 99992), "after": (5, 11, 14, 22)},
        ),
    ),
)

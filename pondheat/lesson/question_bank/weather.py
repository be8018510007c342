"""Questions of page 09, weather."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Misconception, Question

QUESTIONS = (
    Question(
        "9.1",
        "09_weather",
        "Four days averaged [{a:g}, {b:g}, {c:g} and {d:g} °C]. How many degree-days is that for a pond "
        "at [{base:g} °C]?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 18},
        {"a": (9, 10, 11, 12), "b": (3, 5, 6, 7), "c": (-5, -4, -3, -2, -1), "d": (2, 4, 5)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "mean",
                lambda a, b, c, d, base: sum(base - t for t in (a, b, c, d)) / 4,
                "That's the average for one day. Degree-days are added up.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: sum(base - abs(t) for t in (a, b, c, d)),
                "You lost the minus sign: a frosty day is further below the pond's temperature, not nearer to it.",
            ),
            Misconception(
                "added temperatures",
                lambda a, b, c, d, base: float(sum((a, b, c, d))),
                "You added the temperatures. What counts is how far each day is below the pond's.",
            ),
        ),
        "How far below the pond's temperature was each day?",
        "Add (pond − day) for every day.",
        "({base:g} − {a:g}) + ({base:g} − {b:g}) + ({base:g} − ({c:g})) + ({base:g} − {d:g}) = {right} K·d.",
        again=Again(
            "In another town four days averaged [{a:g}, {b:g}, {c:g} and {d:g} °C]. How many degree-"
            "days is that for a pond at [{base:g} °C]?",
            {"a": (8, 13, 14), "b": (1, 4, 8), "c": (-8, -7, -6), "d": (3, 6), "base": (15, 16, 20, 22)},
        ),
        ideas=("degree-hours",),
    ),
    Question(
        "9.2",
        "09_weather",
        "The same four days, [{a:g}, {b:g}, {c:g} and {d:g} °C], but now for a frost guard set to [{base:g} "
        "°C]. How many degree-days is that?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 5},
        {"a": (9, 10, 11, 12), "b": (6, 7, 8), "c": (-5, -4, -3, -2), "d": (2, 3, 4)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "averaged first",
                lambda a, b, c, d, base: max(0.0, base - (a + b + c + d) / 4) * 4,
                "You averaged first, so warm days cancel cold ones. They can't: a warm day gives no heat back.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: float(sum(max(0, base - abs(t)) for t in (a, b, c, d))),
                "You lost the minus sign: a frosty day is further below the guard's setting, not nearer to it.",
            ),
            Misconception(
                "warm days counted too",
                lambda a, b, c, d, base: float(sum(abs(base - t) for t in (a, b, c, d))),
                "You counted warm days as if they were cold. They need no heat, so they count as zero.",
            ),
        ),
        "Which of the days are below the guard's setting at all?",
        "Add (guard − day) for the cold days only.",
        "Only days below [{base:g} °C] count; together {right} K·d.",
        again=Again(
            "A tank in another town has only a frost guard, set to [{base:g} °C]. Four days averaged "
            "[{a:g}, {b:g}, {c:g} and {d:g} °C]. How many degree-days is that?",
            {"a": (9, 13, 14), "b": (7, 8, 10), "c": (-8, -7, -6), "d": (0, 1, 2), "base": (3, 4, 6)},
        ),
        ideas=("degree-hours",),
    ),
    Question(
        "9.3",
        "09_weather",
        "In one cold week, of 168 hours, the water of your open pond was on average [{d:g} K] warmer than the air, and "
        "the heater took {k:g} kWh. The whole season has {season:,.0f} degree-hours. About how many kWh will it take?",
        "kWh",
        {"d": 14, "k": 588, "season": 66_000},
        {"d": (12, 13, 14, 15), "k": (540, 588, 612, 660), "season": (60_000, 66_000, 72_000, 80_000)},
        lambda d, k, season: k / (168 * d) * season,
        (
            Misconception(
                "by degree-days",
                lambda d, k, season: k / (7 * d) * season,
                "You worked out the heat for each degree-day. The season is given in degree-hours, so count the "
                "week's hours, not its days.",
            ),
            Misconception(
                "by degrees alone",
                lambda d, k, season: k / d * season,
                "You divided by the degrees alone. Every hour of the week counts them again.",
            ),
            Misconception(
                "by hours alone",
                lambda d, k, season: k / 168 * season,
                "You divided by the hours alone. Each hour counts as many degree-hours as the water is degrees warmer.",
            ),
            Misconception(
                "upside down",
                lambda d, k, season: 168 * d / k * season,
                "You took the degree-hours for each kWh. You need the kWh for each degree-hour.",
            ),
        ),
        "How many degree-hours did the week have?",
        "Week's kWh ÷ (hours × degrees) × the season's degree-hours.",
        "{k:g} ÷ (168 × {d:g}) × {season:,.0f} = {right} kWh, if the season is as windy and as sunny as the week was.",
        again=Again(
            "In a cold week of 168 hours a tank's water was on average [{d:g} K] warmer than the air, and its heater "
            "took {k:g} kWh. The winter has {season:,.0f} degree-hours. About how many kWh will the tank take?",
            {"d": (9, 10, 11), "k": (84, 96, 110), "season": (42_000, 45_000, 50_000)},
        ),
        ideas=("degree-hours",),
    ),
)

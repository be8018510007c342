"""Questions of page 09, weather."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Misconception, Question

QUESTIONS = (
    Question(
        "9.1",
        "09_weather",
        "Four days had means of [{a:g}, {b:g}, {c:g} and {d:g} °C]. How many degree-days are that for a pond of "
        "[{base:g} °C]?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 18},
        {"a": (9, 10, 11, 12), "b": (3, 5, 6, 7), "c": (-5, -4, -3, -2, -1), "d": (2, 4, 5)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "mean",
                lambda a, b, c, d, base: sum(base - t for t in (a, b, c, d)) / 4,
                "That is the mean of one day. Degree-days are added up.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: sum(base - abs(t) for t in (a, b, c, d)),
                "The minus was lost: a day of frost is further below the pond, not nearer.",
            ),
            Misconception(
                "added temperatures",
                lambda a, b, c, d, base: float(sum((a, b, c, d))),
                "That adds the temperatures. Each day counts by how far it lies below the pond.",
            ),
        ),
        "How far below the pond was each day?",
        "Add (pond − day) for every day.",
        "({base:g} − {a:g}) + ({base:g} − {b:g}) + ({base:g} − ({c:g})) + ({base:g} − {d:g}) = {right} K·d.",
    ),
    Question(
        "9.2",
        "09_weather",
        "The same four days, [{a:g}, {b:g}, {c:g} and {d:g} °C], but only a frost guard at [{base:g} °C]. How "
        "many degree-days?",
        "delta_degC*day",
        {"a": 12, "b": 6, "c": -2, "d": 4, "base": 5},
        {"a": (9, 10, 11, 12), "b": (6, 7, 8), "c": (-5, -4, -3, -2), "d": (2, 3, 4)},
        lambda a, b, c, d, base: sum(max(0, base - t) for t in (a, b, c, d)),
        (
            Misconception(
                "averaged first",
                lambda a, b, c, d, base: max(0.0, base - (a + b + c + d) / 4) * 4,
                "That averages first, so warm days pay for cold ones. They cannot: a warm day gives no heat back.",
            ),
            Misconception(
                "lost the minus",
                lambda a, b, c, d, base: float(sum(max(0, base - abs(t)) for t in (a, b, c, d))),
                "The minus was lost: a day of frost lies further below the guard, not nearer.",
            ),
            Misconception(
                "warm days counted too",
                lambda a, b, c, d, base: float(sum(abs(base - t) for t in (a, b, c, d))),
                "Warm days were counted as if they were cold. They need no heat: nothing, not something.",
            ),
        ),
        "Which of the days are below the guard at all?",
        "Add (guard − day) for the cold days only.",
        "Only days below [{base:g} °C] count; together {right} K·d.",
    ),
)

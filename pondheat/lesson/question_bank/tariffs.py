"""Questions of page 12, tariffs."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question, pence


def _day_heat(night: float, day: float, hours: float) -> float:
    """Heat of a day [kWh] with `hours` at the night's power and the rest at the day's [kW]."""
    return night * hours + day * (24 - hours)


def _tariff_day(night_use: float, cheap: float, hours: float, day_use: float, low: float, high: float) -> float:
    """Cost of a day [pence]; the cheap hours are all within the night.

    night_use, day_use: [kW]; hours: of the night; low, high: rates [p/kWh].
    """
    return night_use * cheap * low + (night_use * (hours - cheap) + day_use * (24 - hours)) * high


def _two_rate(high: float, low: float, pond: float, share: float, house: float) -> float:
    """Cost [pence] of pond and house; share: of the pond's use in the cheap hours [%]."""
    return pond * share / 100 * low + (pond * (1 - share / 100) + house) * high


QUESTIONS = (
    Question(
        "12.1",
        "12_tariffs",
        "You use {day:g} kWh at {high:g} {h} and {night:g} kWh at {low:g} {h}. What is the bill?",
        "money",
        {"day": 20, "high": 30, "night": 12, "low": 12},
        {"day": (14, 18, 20, 25), "night": (8, 10, 12, 30), "high": (28, 30, 33), "low": (9, 12, 14)},
        lambda day, high, night, low: pence(day * high + night * low),
        (
            Misconception(
                "mean of the rates",
                lambda day, high, night, low: pence((day + night) * (high + low) / 2),
                "You averaged the two rates. But you didn't use the same number of kWh at each.",
            ),
            Misconception(
                "swapped",
                lambda day, high, night, low: pence(day * low + night * high),
                "The rates are the wrong way round.",
            ),
            Misconception(
                "hundredths",
                lambda day, high, night, low: day * high + night * low,
                "That's in pence or cents. Divide by a hundred.",
            ),
        ),
        "Each rate has its own kWh.",
        "day kWh × day rate + night kWh × night rate.",
        "({day:g} × {high:g} + {night:g} × {low:g}) ÷ 100 = {right}.",
        2,
        again=Again(
            "In a cold week you use {day:g} kWh at {sign}{high_money:.2f}, and the rest in the cheap hours, at "
            "{sign}{low_money:.2f}. The bill is {sign}{told:.2f}. How many kWh did you use in the cheap hours?",
            {"day": (45, 60, 75), "night": (22, 35, 50), "high": (27, 31, 34), "low": (10, 13, 16)},
            stated={"high_money": ("high", 0.01), "low_money": ("low", 0.01)},
            worked="({told:.2f} − {day:g} × {high_money:.2f}) ÷ {low_money:.2f} = {right} kWh.",
            inverse=Inverse(
                "night",
                "kWh",
                (
                    Misconception(
                        "the whole bill",
                        lambda told, low, **_: told / pence(low),
                        "That spends the whole bill in the cheap hours. Part of it went on the others.",
                    ),
                    Misconception(
                        "the money",
                        lambda told, day, high, **_: told - pence(day * high),
                        "That's the money that's left for the cheap hours. How many kWh does it buy?",
                    ),
                    Misconception(
                        "at the other rate",
                        lambda told, day, high, **_: told / pence(high) - day,
                        "You divided by the higher rate. In the cheap hours the same money buys more.",
                    ),
                    Misconception(
                        "mean of the rates",
                        lambda told, day, high, low, **_: told / pence((high + low) / 2) - day,
                        "You averaged the two rates. But you didn't use the same number of kWh at each.",
                    ),
                ),
                "How much of the bill is for the other hours?",
                "Cheap kWh = (bill − day kWh × day rate) ÷ night rate.",
            ),
        ),
    ),
    Question(
        "12.2",
        "12_tariffs",
        "A flat tariff costs {flat:g} {h}. Another costs {high:g} {h} by day and {low:g} {h} by night. At what "
        "night share "
        "do the two cost the same?",
        "percent",
        {"flat": 25, "high": 30, "low": 12},
        {"flat": (23, 24, 25, 26), "high": (29, 30, 32), "low": (9, 11, 12)},
        lambda flat, high, low: 100 * (high - flat) / (high - low),
        (
            Misconception(
                "ratio of the rates",
                lambda flat, high, low: 100 * low / high,
                "That's one rate divided by the other. Average the two rates, weighting each by its share.",
            ),
            Misconception(
                "fraction",
                lambda flat, high, low: (high - flat) / (high - low),
                "That's the share as a fraction. As a percentage it's a hundred times that.",
            ),
            Misconception(
                "share of the day",
                lambda flat, high, low: 100 * (flat - low) / (high - low),
                "That's the share used by day. The night is the rest.",
            ),
        ),
        "At what night share does the average price equal the flat one?",
        "share × low + (1 − share) × high = flat.",
        "({high:g} − {flat:g}) ÷ ({high:g} − {low:g}) = {right} %.",
        again=Again(
            "Another town has other prices: a flat tariff at {sign}{flat_money:.2f} a kWh, and one at"
            " {sign}{high_money:.2f} by day and {sign}{low_money:.2f} by night. At what night share "
            "do the two cost the same?",
            {"flat": (22, 27, 28), "high": (31, 33, 35), "low": (10, 13, 15)},
            stated={"flat_money": ("flat", 0.01), "high_money": ("high", 0.01), "low_money": ("low", 0.01)},
        ),
    ),
    Question(
        "12.3",
        "12_tariffs",
        "One tariff is flat at {flat:g} {h}; the other costs {high:g} {h} by day and {low:g} {h} by "
        "night. A pond uses {pond:g} kWh a year, {share:g} % of it at night; the house uses {house:g} "
        "kWh, all by day. How much more does the second tariff cost for both together?",
        "money",
        {"flat": 25, "high": 30, "low": 12, "pond": 3000, "share": 34, "house": 3000},
        {"share": (30, 34, 38, 45), "house": (2500, 3000, 3500), "pond": (2500, 3000, 3500)},
        lambda flat, high, low, pond, share, house: pence(
            _two_rate(high, low, pond, share, house) - flat * (pond + house)
        ),
        (
            Misconception(
                "the pond alone",
                lambda flat, high, low, pond, share, house: abs(
                    pence(_two_rate(high, low, pond, share, 0) - flat * pond)
                ),
                "That's the pond alone, which pays less. The house pays the day rate.",
            ),
            Misconception(
                "all at night",
                lambda flat, high, low, pond, share, house: abs(
                    pence(low * pond + high * house - flat * (pond + house))
                ),
                "That puts all the pond's use into the cheap hours. Only part of it falls there.",
            ),
        ),
        "Work out the whole bill twice: once flat, once with two rates.",
        "Second: pond's night × low + (pond's day + house) × high.",
        "({pond:g} × {share:g} % × {low:g} + ({pond:g} × (100 − {share:g}) % + {house:g}) × {high:g} − "
        "({pond:g} + {house:g}) × {flat:g}) ÷ 100 = {right}.",
        0,
        tolerance=0.02,
        again=Again(
            "One tariff is flat at {flat:g} {h}; the other costs {high:g} {h} by day and {low:g} {h} "
            "by night. A smaller pond uses {pond_month:g} kWh a month on average, {share:g} % of it "
            "at night; the house uses {house_month:g} kWh a month, all by day. How much more does the"
            " second tariff cost in a year for both together?",
            {"share": (25, 28, 40), "pond": (1200, 1800, 2400), "house": (2160, 2760, 3600)},
            stated={"pond_month": ("pond", 1 / 12), "house_month": ("house", 1 / 12)},
        ),
    ),
    Question(
        "12.4",
        "12_tariffs",
        "An open pond uses {open:g} kW for {hours:g} hours at night and {day:g} kW by day. Covered at "
        "night, it uses {covered:g} kW at night. {cheap:g} of the night's hours cost {low:g} {h}, all "
        "other hours {high:g} {h}. What share of the money does the cover save?",
        "percent",
        {"open": 2.8, "hours": 14, "day": 2.08, "covered": 0.7, "cheap": 7, "low": 12, "high": 30},
        {"covered": (0.6, 0.7, 0.9), "cheap": (6, 7, 8), "low": (8, 10, 12)},
        lambda open, hours, day, covered, cheap, low, high: (
            100
            * (1 - _tariff_day(covered, cheap, hours, day, low, high) / _tariff_day(open, cheap, hours, day, low, high))
        ),
        (
            Misconception(
                "share of the energy",
                lambda open, hours, day, covered, cheap, low, high: (
                    100 * (1 - _day_heat(covered, day, hours) / _day_heat(open, day, hours))
                ),
                "That's the share of the energy. The cover saves cheap hours, so it saves a smaller share of the "
                "money.",
            ),
            Misconception(
                "fraction",
                lambda open, hours, day, covered, cheap, low, high: (
                    1
                    - (
                        _tariff_day(covered, cheap, hours, day, low, high)
                        / _tariff_day(open, cheap, hours, day, low, high)
                    )
                ),
                "That's the share as a fraction. As a percentage it's a hundred times that.",
            ),
            Misconception(
                "covered hours only",
                lambda open, hours, day, covered, cheap, low, high: 100 * (1 - covered / open),
                "That's what it saves while it's on. By day it saves nothing.",
            ),
        ),
        "Price each hour at its own rate, once open and once covered.",
        "Saving = 1 − money covered ÷ money open.",
        "1 − ({cheap:g} × {covered:g} × {low:g} + (({hours:g} − {cheap:g}) × {covered:g} + (24 − {hours:g}) × {day:g}) "
        "× {high:g}) ÷ ({cheap:g} × {open:g} × {low:g} + (({hours:g} − {cheap:g}) × {open:g} + (24 − {hours:g}) × "
        "{day:g}) × {high:g}) = {right} %.",
        tolerance=0.02,
        again=Again(
            "A smaller pond uses {open_watts:g} W open for {hours:g} hours at night and {day_watts:g}"
            " W by day. Covered at night, it uses {covered_watts:g} W at night. {cheap:g} of the "
            "night's hours cost {low:g} {h}, all other hours {high:g} {h}. What share of the money "
            "does the cover save?",
            {
                "open": (1.1, 1.2),
                "hours": (12, 13, 15),
                "day": (0.8, 0.85),
                "covered": (0.3, 0.35),
                "cheap": (5, 6),
                "low": (8, 10, 13),
                "high": (27, 33),
            },
            stated={"open_watts": ("open", 1000), "day_watts": ("day", 1000), "covered_watts": ("covered", 1000)},
        ),
        ideas=("hours covered",),
    ),
)

"""Questions of page 12, tariffs."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Misconception, Question, pence


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
        "{day:g} kWh at {high:g} {h} and {night:g} kWh at {low:g} {h}. What is the bill?",
        "money",
        {"day": 20, "high": 30, "night": 12, "low": 12},
        {"day": (14, 18, 20, 25), "night": (8, 10, 12, 30), "high": (28, 30, 33), "low": (9, 12, 14)},
        lambda day, high, night, low: pence(day * high + night * low),
        (
            Misconception(
                "mean of the rates",
                lambda day, high, night, low: pence((day + night) * (high + low) / 2),
                "That takes the mean of the two rates. They do not carry equally many kWh.",
            ),
            Misconception(
                "swapped", lambda day, high, night, low: pence(day * low + night * high), "The rates are swapped."
            ),
            Misconception(
                "hundredths",
                lambda day, high, night, low: day * high + night * low,
                "That number is in hundredths of your money.",
            ),
        ),
        "Each rate has its own kWh.",
        "day kWh × day rate + night kWh × night rate.",
        "{day:g} × {high:g} + {night:g} × {low:g} hundredths = {right}.",
        2,
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
                "That is one rate over the other. Shares come from weighing.",
            ),
            Misconception(
                "fraction",
                lambda flat, high, low: (high - flat) / (high - low),
                "That is the share as a number. In per cent it is a hundred times that.",
            ),
            Misconception(
                "share of the day",
                lambda flat, high, low: 100 * (flat - low) / (high - low),
                "That is the share of the day. The night is the rest.",
            ),
        ),
        "With what share of night does the mean price become the flat one?",
        "share × low + (1 − share) × high = flat.",
        "({high:g} − {flat:g}) ÷ ({high:g} − {low:g}) = {right} %.",
    ),
    Question(
        "12.3",
        "12_tariffs",
        "Flat {flat:g} {h}, or {high:g} {h} by day and {low:g} {h} by night. A pond takes {pond:g} kWh a year, "
        "{share:g} % at night; "
        "the house {house:g} kWh, all by day. How much dearer is the second tariff for both together?",
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
                "That is the pond alone: it pays less. The house pays the day rate too.",
            ),
            Misconception(
                "all at night",
                lambda flat, high, low, pond, share, house: abs(
                    pence(low * pond + high * house - flat * (pond + house))
                ),
                "That puts all of the pond into the cheap hours. Only part of it falls there.",
            ),
        ),
        "Reckon the whole bill twice: once flat, once with two rates.",
        "Second: pond's night × low + (pond's day + house) × high.",
        "({pond:g} × {share:g} % × {low:g} + ({pond:g} × (100 − {share:g}) % + {house:g}) × {high:g}) − "
        "({pond:g} + {house:g}) × {flat:g}, "
        "in hundredths, is {right}.",
        0,
        tolerance=0.02,
    ),
    Question(
        "12.4",
        "12_tariffs",
        "Open: {open:g} kW for {hours:g} hours of night, {day:g} kW by day. Covered at night: {covered:g} kW. "
        "{cheap:g} of the night's hours cost "
        "{low:g} {h}, all others {high:g} {h}. What share of the money does the cover save?",
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
                "That is the share of the energy. The cover takes away cheap hours, so it saves less money than heat.",
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
                "That is the share as a number. In per cent it is a hundred times that.",
            ),
            Misconception(
                "covered hours only",
                lambda open, hours, day, covered, cheap, low, high: 100 * (1 - covered / open),
                "That is what it saves while it lies on. By day it saves nothing.",
            ),
        ),
        "Price each hour at its own rate, once open, once covered.",
        "Saving = 1 − money covered ÷ money open.",
        "Night cheap, night dear and day, each kWh at its own rate: the cover saves {right} % of the money.",
        tolerance=0.02,
    ),
)

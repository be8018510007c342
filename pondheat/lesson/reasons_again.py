"""Ideas of earlier pages tested again on a later one, in another dress, with reasons to choose from."""

from __future__ import annotations

from pondheat.lesson.reason_question import ReasonQuestion

AGAIN = (
    ReasonQuestion(
        "why-06-c",
        "06_walls_and_ground",
        "You raise the wall round your pond by half a metre and fill it up. The surface stays as wide as it was. Why "
        "does keeping it warm cost only a little more?",
        {
            "wall": "only the new strip of wall adds to the heat loss",
            "reserve": "the extra water is a reserve that heats the rest",
            "sun": "more water takes in more heat from the sun by day",
        },
        "wall",
        {
            "reserve": "More water does hold more heat. But that heat had to be put in first, and storing it adds "
            "none.",
            "sun": "The sun does warm the pond. But it comes in through the surface, and that hasn't grown.",
        },
        idea="surface",
        again=True,
    ),
    ReasonQuestion(
        "why-11-c",
        "11_heaters",
        "A keeper has a sheet twice as good as yours, but puts it on for only four hours a night. Why might your "
        "heater still run less?",
        {
            "heater": "a heater needs its rest in the hours before midnight",
            "hours": "most of the night's heat is lost while his is off",
            "thick": "a better sheet takes longer to work at all",
        },
        "hours",
        {
            "heater": "Many tariffs do make those hours special. But a heater needs no rest; it runs when the water "
            "is too cool.",
            "thick": "A thick sheet does warm up slowly. But that takes minutes, and from then on it saves more than "
            "yours does.",
        },
        idea="hours covered",
        again=True,
    ),
    ReasonQuestion(
        "why-13-c",
        "13_readings",
        "Two keepers read their meters for the same week, at the same water temperature. One pond holds three times "
        "the water, and both meters show about the same. Why isn't that a mistake?",
        {
            "slow": "large ponds lose their heat only after a week or more",
            "meter": "a meter counts less when the heater runs evenly",
            "wide": "the two ponds have the same surface and the same warmth",
        },
        "wide",
        {
            "slow": "A large pond does cool more slowly. But kept warm it loses heat every hour, from the first day.",
            "meter": "An even load is easier on the wiring. But a meter counts every kWh alike, at any pace.",
        },
        idea="surface",
        again=True,
    ),
    ReasonQuestion(
        "why-15-c",
        "15_payback",
        "A seller shows two bills: last winter without his cover, this winter with it, a third lower. Why doesn't "
        "that show what the cover saves?",
        {
            "weather": "the two winters may not be equally cold: part of it may be weather",
            "new": "a cover is at its best in its first winter and then wears out",
            "bill": "a bill counts money, and a cover saves nothing but heat",
        },
        "weather",
        {
            "new": "Covers do wear. But even a new one can't be judged by two winters that may not be alike.",
            "bill": "Prices do change between winters. But at the same price, less heat costs less money; the "
            "winters still differ.",
        },
        idea="same weather",
        again=True,
    ),
)

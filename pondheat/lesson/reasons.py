"""Questions for the reason behind a result, with reasons to choose from; one page's idea is needed to answer them."""

from __future__ import annotations

from pondheat.lesson.reason_question import ReasonQuestion
from pondheat.lesson.reasons_again import AGAIN

__all__ = ["REASONS", "ReasonQuestion", "of_page"]


def of_page(notebook: str, again: bool | None = None) -> tuple[ReasonQuestion, ...]:
    """The questions for reasons that a page asks; empty where it asks none.

    again: only those on earlier pages' ideas (True) or on its own (False), by default both.
    """
    return tuple(one for one in REASONS if one.notebook == notebook and again in (None, one.again))


REASONS = (
    ReasonQuestion(
        "why-00-a",
        "00_start_here",
        "Two ponds have the same surface and are kept equally warm, but one is twice as deep. Why doesn't the deep one "
        "cost much more?",
        {
            "slow": "deep water warms up and cools down more slowly",
            "surface": "heat is lost through the surface, not the litres",
            "heater": "a heater works better in a larger pond",
        },
        "surface",
        {
            "slow": "Deep water does cool more slowly. But a heater that keeps the pond warm has to replace the heat "
            "loss, and that's about the same either way.",
            "heater": "A heater does switch on and off less often in a large pond. But a kWh gives the same heat in "
            "any pond.",
        },
        idea="surface",
    ),
    ReasonQuestion(
        "why-00-b",
        "00_start_here",
        "You keep the pond [one degree] cooler. Why does that save heat all winter, and not just once?",
        {
            "difference": "the smaller the difference from the air, the less is lost",
            "warm-up": "there's less water to warm up at the start of the winter",
            "short": "the heater works better when it has less to do each day",
        },
        "difference",
        {
            "warm-up": "Warming up to a lower temperature does take less. But you save that only once, in autumn.",
            "short": "It does run for fewer hours. But in each of them it turns electricity into heat just as "
            "before: it runs less because less heat is lost.",
        },
    ),
    ReasonQuestion(
        "why-04-a",
        "04_open_surface",
        "The wind gets up over a heated pond. Evaporation and convection grow, radiation doesn't. Why?",
        {
            "small": "radiation is too small for wind to matter",
            "cooler": "wind cools the water, so it radiates less",
            "air": "wind moves air, and radiation needs no air",
        },
        "air",
        {
            "small": "Wind does make the other two much larger. But radiation isn't small: on a calm, clear night "
            "it's the largest of the three.",
            "cooler": "Cooler water does radiate less. But this pond is heated, so it stays as warm as before.",
        },
    ),
    ReasonQuestion(
        "why-04-b",
        "04_open_surface",
        "Two nights have the same wind and the same air, but one is clear and one overcast. Why does the pond lose "
        "more on the clear one?",
        {
            "drier": "a clear sky makes the water evaporate faster",
            "sky": "a clear sky sends less heat back than cloud",
            "sinks": "cold air sinks from a clear sky on to the pond",
        },
        "sky",
        {
            "drier": "Clear nights are often drier. But here the air is the same on both, so evaporation is too.",
            "sinks": "Air does get colder under a clear sky. But here it's equally cold on both nights.",
        },
        idea="same weather",
    ),
    ReasonQuestion(
        "why-07-a",
        "07_covers",
        "A sheet saves four fifths while it's on, and it's on for half the hours. Why can it save more than two "
        "fifths of the heat?",
        {
            "nights": "it's on in the hours when the open pond loses most",
            "warm": "the water stays warmer for hours after it comes off",
            "better": "a sheet works better the longer it has been on",
        },
        "nights",
        {
            "warm": "An unheated pond does start the day warmer. But this one is kept at one temperature, so it "
            "carries nothing over into the day.",
            "better": "The air under it does warm up at first. But after that the sheet passes the same heat for the "
            "same difference, hour after hour.",
        },
        idea="hours covered",
    ),
    ReasonQuestion(
        "why-07-b",
        "07_covers",
        "A sheet with half the U-value doesn't save twice as much. Why not?",
        {
            "sun": "a thicker sheet keeps out more of the sun by day",
            "walls": "the rest of the heat is lost through the walls",
            "most": "the first sheet has already saved most of it",
        },
        "most",
        {
            "sun": "A thicker sheet does let less sun through. But at night, when it's on, there's none.",
            "walls": "Walls do lose some heat. But the sheet saves heat at the surface, and there's only a little "
            "left to save there too.",
        },
    ),
    ReasonQuestion(
        "why-09-a",
        "09_weather",
        "Two months both average [4 °C]. Why can a guard at [4 °C] work hard in one, and hardly at all in the other?",
        {
            "nights": "in one of them the nights were longer than in the other",
            "swings": "in one the days swing widely, and warm ones give nothing back",
            "wind": "in one of them it was windier, so more degree-days were counted",
        },
        "swings",
        {
            "nights": "Long nights are often cold ones. But what counts is how far the air is below the setting, and "
            "for how long, dark or not.",
            "wind": "Wind does make a tank lose more. But degree-days count temperature alone, and those differ too.",
        },
        idea="degree-hours",
    ),
    ReasonQuestion(
        "why-09-b",
        "09_weather",
        "For a pond kept at [18 °C] in January, averaging the whole month first does no harm. Why not?",
        {
            "base": "every day is below [18 °C], so no day cancels another",
            "errors": "over a whole month, high and low errors even out",
            "stored": "a pond stores heat from warm days for cold ones",
        },
        "base",
        {
            "errors": "Errors often do even out in a month. But here it's warm days that would cancel cold ones, and "
            "that never evens out.",
            "stored": "A pond does store some heat. But degree-days are worked out from the air alone.",
        },
        idea="degree-hours",
    ),
    ReasonQuestion(
        "why-10-a",
        "10_a_season",
        "Two unheated ponds, one twice as deep. After weeks of steady cold they're about equally cold. Why?",
        {
            "balance": "both end where the weather takes as much as it gives",
            "watts": "the deep pond lost more heat from its larger volume",
            "depth": "depth makes no difference to how fast a pond cools",
        },
        "balance",
        {
            "watts": "It did have more heat to lose. But it loses it through the same surface, so it only takes "
            "longer: the weather decides where it ends.",
            "depth": "Both do lose about the same watts at first. But twice the water cools about half as fast; only "
            "the end is the same.",
        },
    ),
    ReasonQuestion(
        "why-10-b",
        "10_a_season",
        "The heater stops in steady, cold air. The pond cools quickly at first, then more and more slowly. Why?",
        {
            "left": "there's less heat left in the water to be lost",
            "dense": "cold water is denser and keeps its heat better",
            "closer": "the closer it gets to the air, the less it loses",
        },
        "closer",
        {
            "left": "It does hold less heat than before. But what it loses depends on how much warmer than the air "
            "it is, not on how much heat it still holds.",
            "dense": "Cold water is a little denser. But it takes practically the same heat for each degree.",
        },
    ),
    ReasonQuestion(
        "why-12-a",
        "12_tariffs",
        "With two rates, a night cover saves half the units but less than half the money. Why?",
        {
            "standing": "the standing charge is a fixed part of the bill",
            "cheap": "many of the units it saves are the cheap ones",
            "smaller": "small users pay more for each unit they buy",
        },
        "cheap",
        {
            "standing": "The standing charge doesn't shrink with use. But even without it, the money saved is a "
            "smaller share than the units.",
            "smaller": "Some tariffs do charge small users more. But this one has just two rates, set by the clock.",
        },
        idea="hours covered",
    ),
    ReasonQuestion(
        "why-12-b",
        "12_tariffs",
        "Why may a flat rate be the cheaper one once the pond is covered at night?",
        {
            "fewer": "a flat rate is always better for people who use few units",
            "evening": "a covered pond has to be warmed up again in the evening",
            "day": "what's left to buy is mostly by day, at the higher rate",
        },
        "day",
        {
            "fewer": "Simple tariffs do seem made for small users. But which is cheaper depends on when you use the "
            "units, not on how many.",
            "evening": "A pond does cool if the heater can't keep up. But this one stays warm all day; it just buys "
            "fewer units at night.",
        },
    ),
    ReasonQuestion(
        "why-14-a",
        "14_two_spells",
        "An open pond is just as warm as the air. Why does it still need heat to stay that warm?",
        {
            "thermostat": "a thermostat always warms a little too much",
            "vapour": "it still evaporates and radiates to the sky",
            "ground": "the ground under it takes most of the heat",
        },
        "vapour",
        {
            "thermostat": "Thermostats do overshoot. But they switch off for longer afterwards, so it evens out.",
            "ground": "Cold ground does take some heat. But open water loses far more through its surface.",
        },
        idea="fair line",
    ),
    ReasonQuestion(
        "why-14-b",
        "14_two_spells",
        "Why change between open and covered every two nights, at random, instead of a week of each?",
        {
            "weather": "so that mild and cold nights fall on both alike",
            "more": "so that more nights are measured in the same time",
            "stored": "so that heat stored in the water can't mislead",
        },
        "weather",
        {
            "more": "More nights do make a test better. But two weeks have fourteen nights, whichever way you share "
            "them.",
            "stored": "Stored heat can mislead. But the more often you change, the more it matters, not the less.",
        },
        idea="same weather",
    ),
    ReasonQuestion(
        "why-15-a",
        "15_payback",
        "Two covers cost the same and both pay back in three winters, but one lasts four winters and one eight. Which "
        "is the better buy, and why?",
        {
            "long": "the one that lasts: it goes on saving for longer",
            "same": "neither: both have paid for themselves by then",
            "short": "the other: it ties your money up for less time",
        },
        "long",
        {
            "same": "Their payback is the same. But payback looks only at the crossing, not at what a cover saves "
            "after it.",
            "short": "Money that is tied up does earn nothing. But both covers give it back in three winters.",
        },
        idea="payback",
    ),
    ReasonQuestion(
        "why-15-b",
        "15_payback",
        "The interest you could earn goes up. Why is the same cover now worth less to you?",
        {
            "price": "the price has to be paid all at once, at the start",
            "energy": "interest goes up and down with the price of energy",
            "later": "later savings count for less in today's money",
        },
        "later",
        {
            "price": "It is paid at the start. But that was already true: what changes is what later savings are "
            "worth now.",
            "energy": "The two do sometimes rise together. But a higher price of energy would make the cover worth "
            "more.",
        },
        idea="payback",
    ),
    *AGAIN,
)

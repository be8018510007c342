"""Inputs of a season that are not known exactly: how far each may be out, and how a keeper can measure it."""

from __future__ import annotations

from dataclasses import dataclass

from pondheat.meter.fitting.learned_season import YEAR_SPREAD
from pondheat.season.heaters import FIELD_HIGH, FIELD_LOW

FORMULAS = (  # weights by repetition: the formula made for heated ponds has half of the scenarios (judgement)
    "ryan_harleman",
    "ryan_harleman",
    "ryan_harleman",
    "ryan_harleman",
    "smith_lof_jones",
    "penman_1956",
    "rafferty_boyd",
    "ashrae_quiet",
)
# Formulae measured with the wind close over the water: that wind over the wind at 2 m (judgement).
NEAR_SURFACE = {"smith_lof_jones": 0.4}
PRICE_SPREAD = 0.10  # standard deviation of next year's energy price about this year's (judgement)


@dataclass(frozen=True)
class UncertainInput:
    """One uncertain input in words.

    words: the input; spread: how far it may be out, with the source of that; low, high: words for its two ends; how:
    how a keeper measures it by simple means, None where it cannot be measured.
    """

    words: str
    spread: str
    low: str
    high: str
    how: str | None = None

    @property
    def meaning(self) -> str:
        """The input and how far it may be out."""
        return f"{self.words} ({self.spread})"


_CARD = "the card “weigh the heat” (workbook/cards/weigh_the_heat.html)"
_TEST = "the cool-down test (workbook/cards/cool_down_test.html)"
UNCERTAIN_INPUTS = {
    "evaporation": UncertainInput(
        "which evaporation formula is right",
        "the one made for heated ponds half of the time, four others the rest, judgement",
        "with the formula that lets least evaporate",
        "with the one that lets most evaporate",
        f"Weigh what an open bucket beside the pond loses in three hours: {_CARD}. Better still, log the heater's "
        "meter for three weeks: its readings decide among the formulae.",
    ),
    "wind_shelter": UncertainInput(
        "how much wind reaches the water",
        "63–160 % of the sheet's shelter, at most all, judgement",
        "at the calm end",
        "at the windy end",
        "Hold a cup anemometer at knee height over the water for ten minutes on three breezy days, and divide by what "
        "the nearest station reports for open country in the same hour.",
    ),
    "sky_view": UncertainInput(
        "how much open sky the water sees",
        "± 0.15, judgement",
        "with less open sky",
        "with more open sky",
        "Stand at the water's edge and measure with an outstretched fist (some 10°) how high house and trees rise all "
        "round; on page 05 is what that share means.",
    ),
    "u_value": UncertainInput(
        "how well the cover keeps heat",
        "U-value ± 15 %, judgement",
        "with a better cover",
        "with a worse cover",
        "Look up the printed U-value of this very sheet, its thickness and its number of walls.",
    ),
    "gap_air_flow": UncertainInput(
        "how much air leaks under the cover",
        "a third to three times, judgement",
        "with a tighter cover",
        "with a looser cover",
        "Measure with a ruler how long and how high the gaps under the cover are, and write them into the sheet.",
    ),
    "wall_factor": UncertainInput(
        "what walls and floor lose",
        "± 20 %, as two published ground methods differ",
        "with better walls",
        "with worse walls",
        f"Measure the thickness of the insulation. One still evening tells the whole pond: {_TEST}.",
    ),
    "year_warmth": UncertainInput(
        "how mild the coming season is",
        f"its mean air temperature by ± {YEAR_SPREAD:g} K or so, from memory and judgement",
        "in a colder season",
        "in a milder season",
    ),
    "cop_factor": UncertainInput(
        "how much heat the heat pump gives for a kWh in the field",
        f"{FIELD_LOW.value:g}–{FIELD_HIGH.value:g} of the laboratory's COP, as field trials differ",
        "with a poor machine or site",
        "with a machine as good as in the laboratory",
        "Meter the heat pump alone for three cold weeks: its kilowatt-hours against the heat the pond needed give "
        "heater.cop_factor for the sheet.",
    ),
    "price": UncertainInput(
        "what a kWh will cost",
        f"± {100 * PRICE_SPREAD:.0f} % or so, judgement",
        "with cheaper energy",
        "with dearer energy",
    ),
    "surface_factor": UncertainInput(
        "what the open water loses, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Go on logging, with some nights open.",
    ),
    "cover_factor": UncertainInput(
        "what passes the cover, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Go on logging, with some nights covered.",
    ),
    "stream_factor": UncertainInput(
        "what filter, air stones and new water take, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Log some nights with the air stones or the waterfall off, if the fish allow it.",
    ),
    "sun_factor": UncertainInput(
        "how much sun reaches the water, as far as the meter told",
        "as learned",
        "with less sun",
        "with more sun",
        "Go on logging into a sunny spell.",
    ),
}
LEARNED = {"surface_factor", "cover_factor", "wall_factor", "stream_factor", "sun_factor"}  # factors a meter fit gives
_LEARNED_OR_JUDGED = {"evaporation", "wind_shelter", "wall_factor"}  # judged without a meter, fitted with one


def meaning(name: str, learned: bool) -> str:
    """An input in words with how far it may be out: by judgement, or as a fitted meter leaves it.

    name: key of UNCERTAIN_INPUTS; learned: whether a meter was fitted.
    """
    record = UNCERTAIN_INPUTS[name]
    return f"{record.words} (as the meter left it)" if learned and name in _LEARNED_OR_JUDGED else record.meaning

"""Inputs of a season that are not known exactly: how far each may be out, and how a keeper can measure it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from pondheat.core.sources import Constant
from pondheat.heat.sky import DEFAULT_SKY
from pondheat.meter.fitting.learned_season import YEAR_SPREAD
from pondheat.season.heaters import FIELD_HIGH, FIELD_LOW

# How many of 20 scenarios take each evaporation formula. Eight of the ten were run, with nothing fitted, through the
# measured season of an unheated lake (tests/analysis/test_formulas_on_a_lake.py): the mean of the water was missed by
# 0.0 to 0.3 K by the first six, by 1.0 K by Penman 1948 and by 1.5 K by Shah's formula for still air. Sky and wind of
# that record are themselves uncertain by about 0.7 K in the water (judgement), so the six are equally good there and
# the two others are a half and a tenth as likely. A lake says little about water that is 10 K warmer than the air:
# there the loss in calm air decides, so the two formulae that let it grow with the warmth count double. Carrier's and
# VDI 2089's indoor pools missed the lake by 2.2 and 4.1 K and are not used.
FORMULA_WEIGHTS = {
    "ryan_harleman": 6,
    "ashrae_quiet": 3,
    "rafferty_boyd": 3,
    "smith_lof_jones": 2,
    "penman_1956": 2,
    "brady_graves_geyer": 2,
    "penman_1948": 1,
    "shah_quiet": 1,
}
FORMULAS = tuple(name for name, weight in FORMULA_WEIGHTS.items() for _ in range(weight))
# Standard deviation of the logarithm of what open water loses, beyond the choice of a formula. Against eleven measured
# pools the best of eleven formulae was off by 18 % on average and the second-best by 26 % (Shah 2002). Nobody has
# measured which of ours is best for a garden pond, so half way: 22 % on average is a standard deviation of 0.275. Three
# quarters of a heated pond's loss from its surface follow the formula, which makes 0.21; the choice among the formulae
# above has 0.10 of it, and 0.18 is left.
SURFACE_ERROR = 0.18
# The same for what passes a cover: natural convection in the gap and the film outside are known to about 20 % each, and
# make up half of the resistance (judgement).
COVER_ERROR = 0.1
# A pond's own air compared with the station's: a garden is warmer or colder by half a kelvin (judgement).
SITE_WARMTH = 0.5
# Formulae measured with the wind close to the water: that wind over the wind at 2 m (judgement).
NEAR_SURFACE = {"smith_lof_jones": 0.4}
SKY_FORMULAS = (  # by repetition too: the default, then others that follow measured water about as well (judgement)
    DEFAULT_SKY,
    DEFAULT_SKY,
    DEFAULT_SKY,
    DEFAULT_SKY,
    "crawford_duchon_brunt",
    "fao56",
    "clark_allen",
    "idso_jackson",
)
SKY_ERROR = Constant(
    7.5,
    "W/m**2",
    "wmo_8",
    "standard deviation: a good instrument keeps 5 % of a day's sum, about 15 W/m², in 19 of 20 days; computed sky "
    "radiation is off by about as much from day to day (Flerchinger et al. 2009)",
)
ROOM_SPREAD = 1.0  # K, standard deviation of a room's mean air temperature about what its keeper says (judgement)
# A gas heater's efficiency over a season as a share of the sheet's: where the sheet gives it, and where it doesn't. On
# and off, standing losses and pipes take some of what the plate says, and there is little to gain (judgement).
GAS_EFFICIENCY_KNOWN = (0.92, 1.03)
GAS_EFFICIENCY = (0.83, 1.06)
PRICE_SPREAD = 0.10  # standard deviation of next year's energy price about this year's (judgement)


@dataclass(frozen=True)
class Spread:
    """How far a judged input may be out: if the sheet gives it, and if nobody has looked it up or measured it.

    keys: of the sheet; by any of them in `Sheet.unknown` the input counts as not known.
    """

    known: float
    unknown: float
    keys: tuple[str, ...]

    def of(self, unknown: Collection[str]) -> float:
        """The spread for a sheet with these unknown keys."""
        return self.unknown if any(key in unknown for key in self.keys) else self.known


# Ratios of the high end to the sheet's value (its inverse is the low end), or distances from it; judgements all. The
# wider ones reach over what gardens offer: shelter from walled in (0.2) to open field (1); half of the sky; a film or
# five walls instead of two; a lid that fits or a sheet with a hand's gap along one side.
SPREADS = {
    "wind_shelter": Spread(1.6, 2.5, ("place.wind_shelter",)),
    "sky_view": Spread(0.15, 0.3, ("place.sky_view",)),
    "sun_factor": Spread(0.15, 0.3, ("place.shade",)),
    "wall_factor": Spread(0.2, 0.6, ("wall.layers", "wall.u_value", "base.layers", "base.against", "base.u_value")),
    "u_value": Spread(0.15, 0.5, ("cover.u_value",)),
    "gap_air_flow": Spread(3.0, 6.0, ("cover.gap",)),
    "stream_factor": Spread(1.5, 2.0, ("filter.effectiveness", "filter.air_flow")),
    "cover_light": Spread(0.0, 0.3, ("cover.light",)),
}


@dataclass(frozen=True)
class UncertainInput:
    """One uncertain input in words.

    words: the input; spread: how far it may be out, with the source of that; low, high: words for its two ends; how:
    how a keeper measures it by simple means, None where it cannot be measured; guessed: how far it may be out where
    the sheet does not give it, or gives a guess, None where that makes no difference.
    """

    words: str
    spread: str
    low: str
    high: str
    how: str | None = None
    guessed: str | None = None


_CARD = "the card “weigh the heat” (workbook/cards/weigh_the_heat.html)"
_TEST = "the cool-down test (workbook/cards/cool_down_test.html)"
UNCERTAIN_INPUTS = {
    "evaporation": UncertainInput(
        "which evaporation formula is right",
        "eight of them, weighted by how well each follows a measured lake",
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
        guessed="not given: 40–250 % of a garden's half, at most all, judgement",
    ),
    "sky_view": UncertainInput(
        "how much open sky the water sees",
        "± 0.15, judgement",
        "with less open sky",
        "with more open sky",
        "From the water's edge measure with an outstretched fist (about 10°) how high house and trees rise: 30° all "
        "round leaves 75 % of the sky, 45° half.",
        guessed="not given: ± 0.3, judgement",
    ),
    "sky": UncertainInput(
        "how much heat the sky sends down",
        "our sky formula half of the time, four others the rest, judgement",
        "with the formula of the coldest sky",
        "with the formula of the warmest sky",
        "Use weather that includes the sky's radiation, measured by a pyrgeometer nearby.",
    ),
    "sky_error": UncertainInput(
        "how much heat the sky sends down",
        f"± {SKY_ERROR.value:g} W/m² or so on the weather file's own sky radiation, as a good instrument allows",
        "under a colder sky",
        "under a warmer sky",
    ),
    "u_value": UncertainInput(
        "how well the cover keeps heat",
        "U-value ± 15 %, judgement",
        "with a better cover",
        "with a worse cover",
        "Look up the U-value printed for your sheet, its thickness and its number of walls.",
        guessed="a guess: U-value ± 50 %, judgement",
    ),
    "gap_air_flow": UncertainInput(
        "how much air leaks under the cover",
        "a third to three times, judgement",
        "with a tighter cover",
        "with a looser cover",
        "Measure with a ruler how long and how high the gaps under the cover are, and write them into the sheet.",
        guessed="not given: a sixth to six times, judgement",
    ),
    "wall_factor": UncertainInput(
        "what walls and floor lose",
        "± 20 %, as two published ground methods differ",
        "with better walls",
        "with worse walls",
        f"Measure the thickness of the insulation. One still evening shows the loss of the whole pond: {_TEST}.",
        guessed="a guess: ± 60 %, judgement",
    ),
    "construction": UncertainInput(
        "what the walls and the floor are",
        "the sheet doesn't say: sunk or raised, bare or insulated, judgement",
        "in the best insulated of these ponds",
        "in the worst",
        "Write what the sides and the floor are made of under [[wall]] and [base], with the thickness of each layer.",
    ),
    "cover_light": UncertainInput(
        "how much light the cover lets through",
        "± 30 % of all light, as the sheet doesn't say, judgement",
        "with a darker cover",
        "with a clearer cover",
        "Look up the light transmission of your sheet.",
    ),
    "year_warmth": UncertainInput(
        "how mild the coming season is",
        f"its mean air temperature by ± [{YEAR_SPREAD:g} K] or so, as in Germany from 1987 to 2025 (DWD), and the "
        f"garden's against the station's by ± [{SITE_WARMTH:g} K] (judgement)",
        "in a colder season",
        "in a milder season",
    ),
    "room_warmth": UncertainInput(
        "how warm the room is",
        f"its mean air temperature by ± [{ROOM_SPREAD:g} K] or so, judgement",
        "in a colder room",
        "in a warmer room",
        "Hang a thermometer over the water, away from the heater, and read it morning and evening for a week.",
    ),
    "cop_factor": UncertainInput(
        "how much heat the heat pump gives for a kWh in the field",
        f"{FIELD_LOW.value:g}–{FIELD_HIGH.value:g} of the laboratory's COP, as field trials differ",
        "with a poor machine or site",
        "with a machine as good as in the laboratory",
        "Meter the heat pump alone for three cold weeks, and divide the heat that the pond needed by its "
        "kilowatt-hours: that's its COP in your garden.",
    ),
    "efficiency": UncertainInput(
        "how much heat the gas heater gives for a kWh of gas",
        "92–103 % of the sheet's efficiency over a season, judgement",
        "with a poor heater",
        "with a good one",
        "Read the gas meter and a heat meter, or the water's temperature while only the heater runs, for three days.",
        guessed="not given: 75–95 %, judgement",
    ),
    "price": UncertainInput(
        "what a kWh will cost",
        f"± {100 * PRICE_SPREAD:.0f} % or so, judgement",
        "with cheaper energy",
        "with more expensive energy",
    ),
    "surface_factor": UncertainInput(
        "how much more or less heat open water really loses than the formulae say",
        f"± {100 * SURFACE_ERROR:.0f} % or so, as measured pools differ from formulae",
        "at the low end",
        "at the high end",
        "Log the heater's meter for three weeks, with some nights open.",
    ),
    "cover_factor": UncertainInput(
        "how much more or less heat passes the cover than its figures say",
        f"± {100 * COVER_ERROR:.0f} % or so, judgement",
        "at the low end",
        "at the high end",
        "Log the heater's meter for three weeks, with some nights covered.",
    ),
    "stream_factor": UncertainInput(
        "what filter, air stones and new water take",
        "67–150 %, judgement",
        "with little air in the filter",
        "with a lot of air in the filter",
        "Log some nights with the waterfall off, but the pump and the air stones on.",
        guessed="not given: half to twice, judgement",
    ),
    "sun_factor": UncertainInput(
        "how much sun reaches the water",
        "shade ± 0.15, judgement",
        "with less sun",
        "with more sun",
        "On a sunny day note every hour how much of the water is in shade; with a meter, keep logging into "
        "sunny weather.",
        guessed="shade not given: ± 0.3, judgement",
    ),
}
LEARNED = {"surface_factor", "cover_factor", "wall_factor", "stream_factor", "sun_factor"}  # factors a meter fit gives
_LEARNED_OR_JUDGED = {"evaporation", "wind_shelter", *LEARNED}  # judged without a meter, fitted with one


def meaning(name: str, learned: bool, unknown: Collection[str] = ()) -> str:
    """An input in words with how far it may be out: by judgement, or as a fitted meter leaves it.

    name: key of UNCERTAIN_INPUTS; learned: whether a meter was fitted; unknown: keys of the sheet that are guesses or
    missing.
    """
    record = UNCERTAIN_INPUTS[name]
    if learned and name in _LEARNED_OR_JUDGED:
        return f"{record.words} (as the meter left it)"
    is_guessed = name in SPREADS and SPREADS[name].of(unknown) != SPREADS[name].known
    is_guessed |= name == "efficiency" and "heater.efficiency" in unknown
    return f"{record.words} ({record.guessed if is_guessed and record.guessed else record.spread})"

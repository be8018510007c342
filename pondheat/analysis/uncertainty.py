"""How sure a season is: what is not known of a pond, as many runs; bands, and what to measure first.

Without a meter the samples are judgements (`UNKNOWNS`); where a meter has been fitted, what it taught takes their place.
`analysis.assessment.assess` calls `analysis.uncertainty`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.heat.balance import Pond
from pondheat.meter.fitting.learned_season import RECORD_ERROR, YEAR_SPREAD
from pondheat.money import payback
from pondheat.season.ensemble import spread
from pondheat.season.heaters import Heater
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_sheet import Sheet

if TYPE_CHECKING:
    from pondheat.analysis.assessment import BoundaryConditions, Season
    from pondheat.meter.fitting.pond_fit import Fitted

SCENARIOS = 200
SAVES = "the cover saves"
FORMULAS = (
    "ryan_harleman",
    "ryan_harleman",
    "ryan_harleman",
    "ryan_harleman",
    "smith_lof_jones",
    "penman_1956",
    "rafferty_boyd",
    "ashrae_quiet",
)
NEAR_SURFACE = {
    "smith_lof_jones": 0.4
}  # measured with the wind close over the water: its wind over that at 2 m (judgement)
PRICE_SPREAD = 0.10  # standard deviation of next year's rates about this year's (judgement)
SEASONS_WITHOUT_LIFE = (
    5.0  # a cover whose life the sheet does not name is worth buying if it pays within these (judgement)
)


@dataclass(frozen=True)
class Unknown:
    """Something not known of a pond: in words, how far it may be out and by whose word, the words for its low and its
    high end, and how a keeper measures it by simple means; None where nobody can."""

    words: str
    spread: str
    low: str
    high: str
    how: str | None = None

    @property
    def meaning(self) -> str:
        """What is not known, and how far it may be out."""
        return f"{self.words} ({self.spread})"


_CARD = "the card “weigh the heat” (workbook/cards/weigh_the_heat.html)"
_TEST = "the cool-down test (workbook/cards/cool_down_test.html)"
UNKNOWNS = {
    "evaporation": Unknown(
        "which evaporation formula is right",
        "the one made for heated ponds half of the time, four others the rest, judgement",
        "with the formula that lets least evaporate",
        "with the one that lets most evaporate",
        f"Weigh what an open bucket beside the pond loses in three hours: {_CARD}. Better still, log the heater's meter for "
        "three weeks: its readings decide among the formulae.",
    ),
    "wind_shelter": Unknown(
        "how much wind reaches the water",
        "63–160 % of the sheet's shelter, at most all, judgement",
        "at the calm end",
        "at the windy end",
        "Hold a cup anemometer at knee height over the water for ten minutes on three breezy days, and divide by what the "
        "nearest station reports for open country in the same hour.",
    ),
    "sky_view": Unknown(
        "how much open sky the water sees",
        "± 0.15, judgement",
        "with less open sky",
        "with more open sky",
        "Stand at the water's edge and measure with an outstretched fist (some 10°) how high house and trees rise all round; "
        "on page 05 is what that share means.",
    ),
    "u_value": Unknown(
        "how well the cover keeps heat",
        "U-value ± 15 %, judgement",
        "with a better cover",
        "with a worse cover",
        "Look up the printed U-value of this very sheet, its thickness and its number of walls.",
    ),
    "gap_air_flow": Unknown(
        "how much air leaks under the cover",
        "a third to three times, judgement",
        "with a tighter cover",
        "with a looser cover",
        "Measure with a ruler how long and how high the gaps under the cover are, and write them into the sheet.",
    ),
    "wall_factor": Unknown(
        "what walls and floor lose",
        "± 20 %, as two published ground methods differ",
        "with better walls",
        "with worse walls",
        f"Measure the thickness of the insulation. One still evening tells the whole pond: {_TEST}.",
    ),
    "year_warmth": Unknown(
        "how mild the coming season is",
        f"its mean air temperature by ± {YEAR_SPREAD:g} K or so, from memory and judgement",
        "in a colder season",
        "in a milder season",
    ),
    "price": Unknown(
        "what a kWh will cost",
        f"± {100 * PRICE_SPREAD:.0f} % or so, judgement",
        "with cheaper energy",
        "with dearer energy",
    ),
    "surface_factor": Unknown(
        "what the open water loses, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Go on logging, with some nights open.",
    ),
    "cover_factor": Unknown(
        "what passes the cover, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Go on logging, with some nights covered.",
    ),
    "stream_factor": Unknown(
        "what filter, air stones and new water take, as far as the meter told",
        "as learned",
        "at the low end of what the meter allows",
        "at its high end",
        "Log some nights with the air stones or the waterfall off, if the fish allow it.",
    ),
    "sun_factor": Unknown(
        "how much sun reaches the water, as far as the meter told",
        "as learned",
        "with less sun",
        "with more sun",
        "Go on logging into a sunny spell.",
    ),
}
LEARNED = {"surface_factor", "cover_factor", "wall_factor", "stream_factor", "sun_factor"}
_JUDGED_AND_LEARNED = {"evaporation", "wind_shelter", "wall_factor"}  # judged without a meter, drawn from it with one


def meaning(unknown: str, learned: bool) -> str:
    """What is not known, and how far it may be out: by judgement, or as a fitted meter left it."""
    record = UNKNOWNS[unknown]
    return f"{record.words} (as the meter left it)" if learned and unknown in _JUDGED_AND_LEARNED else record.meaning


@dataclass(frozen=True, eq=False)
class Band:
    """Tenth, middle and ninetieth of a hundred scenarios."""

    low: float
    middle: float
    high: float

    @classmethod
    def of(cls, values) -> Band:
        """The band of sampled values; infinities (never pays) count as such."""
        ordered = np.sort(np.asarray(values, float))
        return cls(*(float(ordered[round(q * (len(ordered) - 1))]) for q in (0.1, 0.5, 0.9)))


@dataclass(frozen=True)
class MeasureFirst:
    """One unknown, and what the answer would be if it alone lay at its low or its high end.

    unknown: key of UNKNOWNS; share: part of the spread that it explains on its own [–]; meaning: the unknown in words;
    of: what the numbers are (“the cover saves”, “the open pond takes”); low, high: mean of the answer over the fifth of
    the scenarios in which the unknown is lowest or highest, less what the other unknowns do in them (`told_apart`)
    [money] or [kWh], as `money` says; middle: the answer's middle; overturns: whether low and high fall on different
    sides of what decides, None where nothing is to be decided by it; within: the time in which the cover should have paid for itself, in words; outweighed_by: an unknown that
    nobody can measure and that is likelier to overturn the answer than all that can be measured.
    """

    unknown: str
    share: float
    meaning: str
    of: str
    low: float
    middle: float
    high: float
    money: bool
    overturns: bool | None
    within: str
    outweighed_by: str | None

    @property
    def how(self) -> str | None:
        """How a keeper measures it; None where nobody can."""
        return UNKNOWNS[self.unknown].how

    def sentence(self, currency: units.Currency) -> str:
        """What would overturn the answer, by how much, and how to measure it."""
        unknown = UNKNOWNS[self.unknown]

        def written(value: float) -> str:
            return units.money(float(f"{value:.3g}"), currency) if self.money else f"{units.significant(value, 3)} kWh"

        of, more = self.of, ""
        low, high, middle = self.low, self.high, self.middle
        if of == SAVES and max(low, high, middle) < 0:  # nobody says that a thing saves less than nothing
            of, more = ("the cover costs" if self.money else "the cover takes"), " more"
            low, high, middle = -low, -high, -middle
        among = ", of what can be measured" if self.outweighed_by else ""
        text = (
            f"Most likely to overturn this{among}: {unknown.words}. {_capital(unknown.low)} {of} "
            f"{written(low)}{more} a season, {unknown.high} {written(high)}, in the middle {written(middle)}."
        )
        if self.overturns is not None:
            ends = "Between these lies the point at which" if self.overturns else "Neither end changes whether"
            text += f" {ends} the cover pays for itself {self.within}."
        text += f" {self.how or 'That is not to be measured, only insured against.'}"
        if self.outweighed_by:
            more = _capital(UNKNOWNS[self.outweighed_by].words)
            text += f" {more} weighs more, but is not to be measured, only insured against."
        return text


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


@dataclass(frozen=True, eq=False)
class Doubt:
    """Bands from scenario runs of what is taken (heater and pump), and the unknowns by the share of the spread that each
    explains (0–1), largest first.

    measure_first: what can be measured, that which is likeliest to overturn the answer first, then what nobody can;
    learned: whether a fitted meter stands behind the samples.
    """

    scenarios: int
    open_kwh: Band
    open_money: Band | None
    covered_kwh: Band | None
    covered_money: Band | None
    saving_kwh: Band | None
    saving_money: Band | None
    payback: Band | None
    matters: tuple[tuple[str, float], ...]
    measure_first: tuple[MeasureFirst, ...]
    learned: bool


# --- samples ---------------------------------------------------------------------------------------------------------


class _Draws:
    """A number for each scenario, one from each of as many slices of equal chance, in any order."""

    def __init__(self, count: int, seed: int):
        self.count, self.rng = count, np.random.default_rng(seed)

    def even(self) -> np.ndarray:
        """Evenly from 0 to 1."""
        return (self.rng.permutation(self.count) + self.rng.random(self.count)) / self.count

    def normal(self) -> np.ndarray:
        """Normally about 0, with a standard deviation of 1."""
        return np.array(
            [*map(NormalDist().inv_cdf, self.even())]
        )  # not SciPy's, which takes a tenth of a second to load


def samples_of(pond: Pond, count: int, seed: int = 1, measured_year: bool = False) -> dict[str, np.ndarray]:
    """Samples of what is not known of this pond and its coming season, spread evenly (a Latin square), the same every
    time. measured_year: the weather is that of one real year, which itself was warm or cold."""
    draws = _Draws(count, seed)
    formulas = np.asarray(_formulas_for(pond))[(draws.even() * len(FORMULAS)).astype(int)]
    shelter = np.minimum(pond.wind_shelter * 1.6 ** (2 * draws.even() - 1), 1.0)
    made = {
        "evaporation": formulas,
        "wind_shelter": shelter * _nearness(pond, formulas),
        "sky_view": np.clip(pond.sky_view - 0.15 + 0.3 * draws.even(), 0.0, 1.0),
        "wall_factor": 0.8 + 0.4 * draws.even(),
        "u_value": (pond.cover.u_value if pond.cover else 1.0) * (0.85 + 0.3 * draws.even()),
        "gap_air_flow": (pond.cover.gap_air_flow if pond.cover else 0.0)
        * np.exp(np.log(1 / 3) + draws.even() * np.log(9)),
    } | _coming_year(draws, measured_year)
    return {name: values for name, values in made.items() if name not in _inactive_parameters(pond)}


def _nearness(pond: Pond, formulas: np.ndarray) -> np.ndarray:
    """Wind where each scenario's formula wants it, over the wind at 2 m [–]."""
    return np.array([NEAR_SURFACE.get(name, 1.0) if name != pond.evaporation else 1.0 for name in formulas])


def as_drawn(pond: Pond, samples: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Samples of `samples_of` with the wind as it was drawn: in fifths of the wind that a formula takes near the water,
    the calm end would be that formula's runs rather than calm ponds."""
    if "wind_shelter" not in samples:
        return samples
    return samples | {"wind_shelter": samples["wind_shelter"] / _nearness(pond, samples["evaporation"])}


def learned_samples(
    pond: Pond, fitted: Fitted, count: int, seed: int = 1, measured_year: bool = False
) -> dict[str, np.ndarray]:
    """The same where a meter has been fitted: its draws take the place of the judgements.

    What the log's own weather misled by (`meter.fitting.learned_season.RECORD_ERROR`) is common to all losses; sky and leaks are inside the
    factors that the meter taught.
    """
    drawn = fitted.samples(count, seed)
    draws = _Draws(count, seed + 1)
    misled = np.exp(RECORD_ERROR * draws.normal())
    made = {
        "evaporation": drawn["evaporation"],
        "wind_shelter": np.minimum(pond.wind_shelter * drawn["shelter_factor"], 1.0),
        **{name: drawn[name] * (1.0 if name == "sun_factor" else misled) for name in LEARNED},
    }
    made |= _coming_year(draws, measured_year)
    if pond.cover is None:
        made.pop("cover_factor")
    return {name: values for name, values in made.items() if name not in _inactive_parameters(pond)}


def _coming_year(draws: _Draws, measured_year: bool) -> dict[str, np.ndarray]:
    """How much warmer [K] and how much dearer [–] the coming season is than that of the weather and the tariff."""
    spread_of_years = YEAR_SPREAD * (
        np.sqrt(2) if measured_year else 1.0
    )  # two real years differ more than one from the mean
    return {"year_warmth": spread_of_years * draws.normal(), "price": np.exp(PRICE_SPREAD * draws.normal())}


def _inactive_parameters(pond: Pond) -> set[str]:
    unfelt = {"wind_shelter", "sky_view"} if pond.room else set()
    if not pond.cover or pond.cover.kind == "film":
        unfelt.add("u_value")
    if not pond.cover or not pond.cover.gap_air_flow:
        unfelt.add("gap_air_flow")
    if not pond.walls:
        unfelt.add("wall_factor")
    if not (pond.filter_air_flow or pond.casing_u_value_area or pond.aeration_air_flow or pond.water_change):
        unfelt.add("stream_factor")
    return unfelt


def _formulas_for(pond: Pond) -> tuple[str, ...]:
    """The sheet's own formula in the place of the default, the other moderate ones beside it."""
    return tuple(pond.evaporation if name == FORMULAS[0] else name for name in FORMULAS)


# --- runs ------------------------------------------------------------------------------------------------------------


def input_per_heat(place: BoundaryConditions, heater: Heater) -> np.ndarray:
    """What the heater itself takes for each watt of heat, hour by hour over the whole march, as (electricity, gas).

    For a heat pump that of the pump alone: its backup takes one for one, whatever the weather.
    """
    outdoor = place.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(place.set_point), 15.0, place.set_point)
    alone = replace(heater, backup=0.0, lowest_air_temp=-100.0) if heater.kind == "heat pump" else heater
    heat = np.maximum(np.minimum(alone.limit(outdoor), 1.0), 1e-9)
    electricity, gas = alone.taken(heat, water, outdoor)
    return np.column_stack([electricity / heat, gas / heat])


def doubt(
    sheet: Sheet,
    place: BoundaryConditions,
    seasons: dict[str, Season],
    start_temp: float,
    count: int,
    kind_of_weather: str,
    fitted: Fitted | None = None,
    progress: Callable[[float], None] | None = None,
) -> Doubt | None:
    """Bands of a sheet's season; None for a pond that is not heated.

    seasons: "open" and, where there is a cover, "covered", as `analysis.assessment` ran them; start_temp [degC] of the first hour;
    kind_of_weather: that of its record. progress: called with the share done.
    """
    if np.isnan(place.set_point[place.counted]).all() or sheet.heater.kind == "none":
        return None
    measured = kind_of_weather == MEASURED
    if fitted is None:
        samples = samples_of(sheet.pond, count, measured_year=measured)
    else:
        samples = learned_samples(sheet.pond, fitted, count, measured_year=measured)
    dearer = samples.pop("price")
    taken, money = _run(sheet, place, seasons, samples, start_temp, progress)
    money = {name: values * dearer for name, values in money.items()}
    if sheet.tariff is not None:
        samples["price"] = dearer
    of, deciding, saving, saving_money, years = "the open pond takes", taken["open"], None, None, None
    priced, covered = sheet.tariff is not None, "covered" in seasons
    if priced:
        of, deciding = "the open pond costs", money["open"]
    if covered:
        of, deciding = SAVES, taken["open"] - taken["covered"]
        saving = Band.of(deciding)
        if priced:
            deciding = money["open"] - money["covered"]
            saving_money = Band.of(deciding)
            if sheet.cover_plan.price is not None:
                years = Band.of(payback.simple_payback(sheet.cover_plan.price, deciding))
    if fitted is None:
        samples = as_drawn(sheet.pond, samples)
        each = told_apart(samples, deciding)
    else:  # what a meter taught hangs together: where one is high another is low, and belongs to it
        each = dict.fromkeys(samples, deciding)
    matters = variance_shares(samples, deciding, each)
    return Doubt(
        count,
        Band.of(taken["open"]),
        Band.of(money["open"]) if priced else None,
        Band.of(taken["covered"]) if covered else None,
        Band.of(money["covered"]) if priced and covered else None,
        saving,
        saving_money,
        years,
        matters,
        _measure_first(sheet, samples, deciding, each, matters, of, years is not None, fitted is not None),
        fitted is not None,
    )


def _run(
    sheet: Sheet,
    place: BoundaryConditions,
    seasons: dict[str, Season],
    samples: dict[str, np.ndarray],
    start_temp: float,
    progress,
) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """What heater and pump take [kWh] and what it costs [money] in each season, scenario by scenario."""
    each = input_per_heat(place, sheet.heater)
    rate = np.zeros(len(each))
    cost = seasons["open"].cost
    added_tax = cost.added_tax_rate if cost else 0.0
    if sheet.tariff is not None:
        # a price file need not cover the days before the season
        rate[place.counted] = sheet.tariff.rates(place.hours.index[place.counted])[0] * (1 + added_tax)
    price = each[:, 0] * rate + each[:, 1] * (sheet.gas_rate or 0.0) * (1 + added_tax)
    outdoor, pump_limit, backup = place.hours["air_temp"].to_numpy(), None, ()
    if sheet.heater.kind == "heat pump":
        pump_limit, backup = sheet.heater.heat_pump_limit(outdoor), (np.ones(len(rate)), rate)
    count = len(next(iter(samples.values())))
    # All seasons side by side in one run: most of an hour's work is the same however many scenarios there are.
    lies_on = np.repeat([float(name == "covered") for name in seasons], count)
    used = {name: np.tile(values, len(seasons)) for name, values in samples.items()} | {"cover_used": lies_on}
    runs = spread(
        sheet.pond,
        place.air,
        used,
        set_point=place.set_point,
        limit=sheet.heater.limit(outdoor),
        covered=place.covered,
        gain=sheet.pump_heat,
        counted=place.counted,
        start_temp=start_temp,
        progress=progress,
        first=pump_limit,
        weights=np.column_stack([each.sum(axis=1), price, *backup]),
    )
    pumped = sheet.pump_power / 1000 * place.counted
    kwh, money = runs.weighted_kwh[:, 0] + pumped.sum(), runs.weighted_kwh[:, 1] + (pumped * rate).sum()
    return tuple(dict(zip(seasons, np.split(values, len(seasons)))) for values in (kwh, money))


# --- what matters ----------------------------------------------------------------------------------------------------

ROUNDS = 20  # after which what unknowns drawn apart from each other do no longer shifts from one to another


def told_apart(samples: dict[str, np.ndarray], result: np.ndarray) -> dict[str, np.ndarray]:
    """For each unknown the result less what all the others do to it, taken as adding up.

    A fifth of the runs is few: by chance its wind, say, is stronger than elsewhere, and an unknown that does nothing
    would seem to do what the wind does.
    """
    groups = {name: np.unique(_groups(values), return_inverse=True)[1] for name, values in samples.items()}
    does, left = dict.fromkeys(samples, 0.0), result - result.mean()
    for _ in range(ROUNDS):
        for name, group in groups.items():
            own = left + does[name]
            does[name] = (np.bincount(group, own) / np.bincount(group))[group]
            left = own - does[name]
    return {name: result.mean() + does[name] + left for name in samples}


def variance_shares(
    samples: dict[str, np.ndarray], result: np.ndarray, each: dict[str, np.ndarray] | None = None
) -> tuple[tuple[str, float], ...]:
    """Share of the result's variance that each unknown explains on its own (means of its groups), largest first; each:
    the result for each unknown, from `told_apart` where None."""
    whole = result.var()
    if whole <= 0:
        return ()
    each = each or told_apart(samples, result)
    shares = [
        (name, float(pd.Series(each[name]).groupby(_groups(values)).transform("mean").to_numpy().var() / whole))
        for name, values in samples.items()
    ]
    return tuple(sorted(shares, key=lambda item: -item[1]))


def _groups(values: np.ndarray) -> np.ndarray:
    """Every scenario's group: by formula, or by fifths from the lowest value, 0, to the highest, 4."""
    if values.dtype.kind in "UO":
        return values.astype(str)
    return pd.qcut(pd.Series(values).rank(method="first"), 5, labels=False).to_numpy()


def result_by(values: np.ndarray, result: np.ndarray) -> pd.Series:
    """Mean of the result over each group of an unknown."""
    return pd.Series(result).groupby(_groups(values)).mean()


def _measure_first(
    sheet: Sheet,
    samples: dict[str, np.ndarray],
    deciding: np.ndarray,
    each: dict[str, np.ndarray],
    matters,
    of: str,
    pays: bool,
    learned: bool,
) -> tuple[MeasureFirst, ...]:
    price, life = sheet.cover_plan.price, sheet.cover_plan.life or SEASONS_WITHOUT_LIFE
    within = "in its life" if sheet.cover_plan.life else f"within {SEASONS_WITHOUT_LIFE:g} seasons"
    made = []
    for name, share in matters:
        means = result_by(samples[name], each[name])
        low, high = (means.min(), means.max()) if name == "evaporation" else (means.iloc[0], means.iloc[-1])
        overturns = bool((low * life >= price) != (high * life >= price)) if pays else None
        made.append(
            MeasureFirst(
                name,
                share,
                meaning(name, learned),
                of,
                float(low),
                float(np.median(deciding)),
                float(high),
                sheet.tariff is not None,
                overturns,
                within,
                None,
            )
        )
    return ranked(tuple(made))


def ranked(rows: tuple[MeasureFirst, ...]) -> tuple[MeasureFirst, ...]:
    """What can be measured, likeliest to overturn the answer first, then what nobody can; where the likeliest of all is
    one of those, each that can be measured says so."""
    by_rank = sorted(rows, key=lambda one: (not one.overturns, -one.share))
    likeliest = by_rank[0].unknown if by_rank and by_rank[0].how is None else None
    return tuple(
        [replace(one, outweighed_by=likeliest) for one in by_rank if one.how is not None]
        + [one for one in by_rank if one.how is None]
    )

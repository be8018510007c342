"""The season that a learned pond will take, open and covered, with what was learned and what was not in its band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pondheat.core.ranges import require
from pondheat.meter.fitting.heat_terms import FACTORS, Conditions, Terms, modelled_kwh, terms_of
from pondheat.meter.fitting.priors import SAMPLE_NAMES, Fitted
from pondheat.meter.surface_models import SurfaceModel

# Standard deviation of a heating season's mean air temperature from year to year [K]: months vary by 1.5 to 2.5 K in
# western and central Europe and are weakly linked (memory), which leaves about 0.9 K for seven of them (judgement).
YEAR_SPREAD = 0.9
# Years differ in more than their mean temperature: wind, humidity and cloud on all losses, and the sun itself, as
# standard deviations of a season's sum (judgement).
YEAR_LOSSES, YEAR_SUN = 0.03, 0.06
# Share of all heat that a log's weather misleads by, and more days do not mend: a station off by 0.3 K in a lead of
# 13 K over the air (2.3 %), by a tenth of the wind (about 3 %) and by 0.03 of humidity (about 1 %), together
# (judgement).
RECORD = 0.04
_SUN = FACTORS.index("sun")  # the factors before it are losses


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the meter will count over the season [kWh], one value a scenario; covered_kwh is None without a cover."""

    open_kwh: np.ndarray
    covered_kwh: np.ndarray | None

    @property
    def saving_kwh(self) -> np.ndarray | None:
        """What the cover saves, scenario by scenario [kWh]."""
        return None if self.covered_kwh is None else self.open_kwh - self.covered_kwh


def band(values, confidence: float = 0.9) -> tuple[float, float, float]:
    """Low end, middle and high end of a two-sided band of samples, in their own unit.

    values: samples; confidence: [–]. Raises OutOfRange. Source: by definition (quantiles).

    >>> band(np.arange(101.0), confidence=0.5)
    (25.0, 50.0, 75.0)
    """
    require(confidence=confidence)
    low, middle, high = np.quantile(np.asarray(values, float), [0.5 - confidence / 2, 0.5, 0.5 + confidence / 2])
    return float(low), float(middle), float(high)


def predict(
    fitted: Fitted, season: Conditions, count: int = 200, year_spread: float = YEAR_SPREAD, seed: int = 1
) -> Prediction:
    """The season open and covered for a pond as learned.

    fitted: from `fit`, or `unlearned`; season: the pond, its cover and set point in a year's weather; count: scenarios;
    year_spread: [K] standard deviation of the season's mean air temperature from year to year, 0 for the weather as
    given (wind, cloud and sun then stay too). Each scenario draws its factors and its way of writing the open surface
    from what is now believed, and a year that is warmer or colder throughout; open and covered share their draws.
    """
    drawn = fitted.samples(count, seed)
    factors = np.column_stack([drawn[SAMPLE_NAMES[name]] for name in FACTORS])
    models = [member.surface for member in fitted.members]
    number = {(model.evaporation, model.shelter): at for at, model in enumerate(models)}
    which = np.array([number[pair] for pair in zip(drawn["evaporation"], drawn["shelter_factor"])])
    chance = np.random.default_rng(seed + 1)
    shift = year_spread * chance.standard_normal(count)
    misled = np.exp(RECORD * chance.standard_normal(count)) if len(fitted.days) else np.ones(count)
    factors[:, :_SUN] *= misled[:, None]
    if year_spread:
        factors[:, :_SUN] *= np.exp(YEAR_LOSSES * chance.standard_normal((count, 1)))
        factors[:, _SUN] *= np.exp(YEAR_SUN * chance.standard_normal(count))
    counted = slice(None) if season.counted is None else np.asarray(season.counted, bool)
    totals = [
        modelled_kwh(case, terms, which, factors, shift, warm)[counted].sum(axis=0)
        for case, terms, warm in _cases(season, tuple(models))
    ]
    return Prediction(totals[0], totals[1] if len(totals) > 1 else None)


@lru_cache(maxsize=4)
def _cases(season: Conditions, models: tuple[SurfaceModel, ...]) -> list[tuple[Conditions, Terms, Terms]]:
    """The season open and, where there is a cover, covered, each with its terms and those of weather warmer by 1 K."""
    found = []
    for cover in dict.fromkeys((None, season.pond.cover)):
        case = replace(season, pond=replace(season.pond, cover=cover))
        terms = terms_of(case, models)
        warm = terms_of(replace(case, air=case.air.warmer(1.0)), models)
        about_one_path = warm.value + warm.slope * (terms.middle - warm.middle)[:, None]
        found.append((case, terms, replace(warm, value=about_one_path)))
    return found

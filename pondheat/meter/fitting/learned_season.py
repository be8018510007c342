"""Prediction of a season's energy, open and covered, for a fitted pond, with what remains uncertain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pondheat.core.likely import LIKELY
from pondheat.core.ranges import require
from pondheat.core.sources import Constant
from pondheat.meter.factors import FACTORS
from pondheat.meter.fitting.heat_terms import Conditions, Terms, linear_terms, modelled_kwh
from pondheat.meter.fitting.priors import SAMPLE_NAMES, Fitted
from pondheat.meter.surface_models import SurfaceModel

# Standard deviation of a heating season's mean air temperature between years: that of September to May in Germany is
# 0.91 K (38 seasons), in central England 0.62 K (30 seasons, HadCET); tests/make_year_spread.py works both out.
YEAR_SPREAD = Constant(0.9, "K", "dwd_regions").value
# Years also differ in wind, humidity and cloud, which act on all losses, and in the sun: standard deviations of a
# season's sum (judgement).
YEAR_LOSSES, YEAR_SUN = 0.03, 0.06
# Relative error of all heat from errors of a log's weather record, which more days do not reduce: a station off by
# 0.3 K where the water is 13 K above the air (2.3 %), by a tenth of the wind (about 3 %) and by 0.03 of humidity (about
# 1 %), combined (judgement).
RECORD_ERROR = 0.04
_SUN = FACTORS.index("sun")  # the factors before it are losses


@dataclass(frozen=True, eq=False)
class Prediction:
    """Metered energy of the season [kWh], one value a scenario; covered_kwh is None without a cover."""

    open_kwh: np.ndarray
    covered_kwh: np.ndarray | None

    @property
    def saving_kwh(self) -> np.ndarray | None:
        """Saving of the cover in each scenario [kWh]."""
        return None if self.covered_kwh is None else self.open_kwh - self.covered_kwh


def quantile_interval(values, confidence: float = LIKELY) -> tuple[float, float, float]:
    """Low end, median and high end of the two-sided interval of some samples, in their own unit.

    values: samples; confidence: [–]. Raises OutOfRange. Source: by definition (quantiles).

    >>> quantile_interval(np.arange(101.0), confidence=0.5)
    (25.0, 50.0, 75.0)
    """
    require(confidence=confidence)
    low, middle, high = np.quantile(np.asarray(values, float), [0.5 - confidence / 2, 0.5, 0.5 + confidence / 2])
    return float(low), float(middle), float(high)


def predict(
    fitted: Fitted, season: Conditions, count: int = 200, year_spread: float = YEAR_SPREAD, seed: int = 1
) -> Prediction:
    """Predict the season's energy, open and covered, for a fitted pond.

    fitted: from `fit`, or `prior_fit`; season: the pond, its cover and set point in a year's weather; count: scenarios;
    year_spread: [K] standard deviation of the season's mean air temperature between years, 0 for the weather as given
    (wind, cloud and sun then do not vary either). Each scenario draws factors and a surface model from the posterior,
    and a year that is warmer or colder throughout; open and covered share their draws.
    """
    drawn = fitted.samples(count, seed)
    factors = np.column_stack([drawn[SAMPLE_NAMES[name]] for name in FACTORS])
    models = [member.surface for member in fitted.members]
    number = {(model.evaporation, model.shelter): at for at, model in enumerate(models)}
    which = np.array([number[pair] for pair in zip(drawn["evaporation"], drawn["shelter_factor"])])
    chance = np.random.default_rng(seed + 1)
    shift = year_spread * chance.standard_normal(count)
    misled = np.exp(RECORD_ERROR * chance.standard_normal(count)) if len(fitted.days) else np.ones(count)
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
    """The season open and, if there is a cover, covered, each with its terms and those of weather warmer by 1 K."""
    found = []
    for cover in dict.fromkeys((None, season.pond.cover)):
        case = replace(season, pond=replace(season.pond, cover=cover))
        terms = linear_terms(case, models)
        warm = linear_terms(replace(case, air=case.air.warmer(1.0)), models)
        about_one_path = warm.value + warm.slope * (terms.path - warm.path)[:, None]
        found.append((case, terms, replace(warm, value=about_one_path)))
    return found

"""Posterior distributions of a pond's factors, and samples of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core.likely import LIKELY_REACH
from pondheat.core.ranges import OutOfRange
from pondheat.meter.factors import FACTORS, prior_widths
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.surface_models import SurfaceModel, surface_models

SAMPLE_NAMES = {
    "surface": "surface_factor",
    "cover": "cover_factor",
    "walls": "wall_factor",
    "streams": "stream_factor",
    "sun": "sun_factor",
    "base": "base_factor",
}


class InsufficientReadings(OutOfRange):
    """The readings do not determine what was asked for; the message says which reading would."""


@dataclass(frozen=True, eq=False)
class FitMember:
    """Posterior under one surface model: its weight [–], mean and covariance of the factors' logarithms."""

    surface: SurfaceModel
    weight: float
    centre: np.ndarray
    covariance: np.ndarray


@dataclass(frozen=True, eq=False)
class Fitted:
    """A pond fitted to its meter. Arrays follow `names`, the factors.

    factors, low, high: median and likely range (`core.likely`) of each factor [–], the surface's relative to the
    sheet's own formula; variance_reduction: share of the prior's variance that the readings removed [–]; correlation of
    the factors' logarithms; days: frame by day (measured, predicted, residual [kWh], hours, weight); cv_rmse, nmbe,
    lag_one_correlation [–]; independent: effective number of days; noise: standard deviation of a day [kWh]; freedom:
    degrees of freedom of the noise; members: posteriors by surface model, the mixture that `samples` draws from;
    sentences: findings for the reader; own_long_wave: whether the log's weather brought the sky's long wave;
    prior_widths: of the factors' logarithms before any reading [–].
    """

    names: tuple[str, ...]
    factors: np.ndarray
    low: np.ndarray
    high: np.ndarray
    variance_reduction: np.ndarray
    correlation: np.ndarray
    days: pd.DataFrame
    cv_rmse: float
    nmbe: float
    lag_one_correlation: float
    independent: float
    noise: float
    freedom: float
    members: tuple[FitMember, ...]
    sentences: tuple[str, ...]
    prior_widths: np.ndarray
    own_long_wave: bool

    def samples(self, count: int, seed: int = 1) -> dict[str, np.ndarray]:
        """`count` draws from the posterior: "surface_factor" (on the drawn formula), "cover_factor", "wall_factor",
        "stream_factor", "sun_factor", "base_factor" [–], with "evaporation" (names of formulas) and "shelter_factor"
        [–] on the wind; arrays of one length, the same every time for one seed."""
        rng = np.random.default_rng(seed)
        weights = np.array([member.weight for member in self.members])
        even = (rng.permutation(count) + rng.random(count)) / count
        chosen = np.searchsorted(np.cumsum(weights)[:-1] / weights.sum(), even)
        stretch = np.ones(count)
        if np.isfinite(self.freedom):
            stretch = self.freedom / rng.chisquare(self.freedom, count)
        normal = rng.standard_normal((count, len(FACTORS)))
        logs = np.empty((count, len(FACTORS)))
        prior = self.prior_widths
        for at, member in enumerate(self.members):
            mine = chosen == at
            # Along each axis the precision is the prior's 1 plus that of the readings, which alone depends on noise.
            values, axes = np.linalg.eigh(member.covariance / np.outer(prior, prior))
            values = np.clip(values, 1e-9, 1.0)
            pull = 1 / np.sqrt(1 + (1 / values - 1) / stretch[mine, None])
            logs[mine] = member.centre + (normal[mine] * pull) @ axes.T * prior
        found = {SAMPLE_NAMES[name]: np.exp(logs[:, k]) for k, name in enumerate(FACTORS)}
        found["evaporation"] = np.array([self.members[m].surface.evaporation for m in chosen], dtype=object)
        found["shelter_factor"] = np.array([self.members[m].surface.shelter for m in chosen])
        return found


def prior_fit(conditions: Conditions) -> Fitted:
    """The prior of a pond in the form of a fit: no reading, all factors as assumed."""
    widths = prior_widths(conditions.pond)
    members = tuple(
        FitMember(model, model.weight, np.zeros(len(widths)), np.diag(widths**2))
        for model in surface_models(conditions.pond)
    )
    empty = pd.DataFrame(columns=["measured", "predicted", "residual", "hours", "weight"], dtype=float)
    one = np.ones(len(widths))
    return Fitted(
        FACTORS,
        one,
        np.exp(-LIKELY_REACH * widths),
        np.exp(LIKELY_REACH * widths),
        0 * one,
        np.eye(len(widths)),
        empty,
        np.nan,
        np.nan,
        np.nan,
        0.0,
        np.nan,
        np.inf,
        members,
        ("Nothing was learned: all is as assumed.",),
        widths,
        conditions.air.has_long_wave,
    )

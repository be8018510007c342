"""The saving from sums of open and covered hours, with its standard error.

**The estimate.** Every observation is a sum over its hours: one rate while open times what the method expects of that
hour (modelled loss, degree-hours …), and another rate while covered. Two (or a few more) instruments, the shares of an
observation that are open and covered, give as many equations. Where every observation is a whole night this is the
plain ratio of sums; where a reading straddles a change of the cover it is a regression on open and covered hours. The
saving is that of the compared nights themselves: what they would have used open (A) against what they used (B), the
“avoided energy use” of measurement and verification (IPMVP, from memory), so the use of a covered night that the meter
counted whole has no error of its own, but what it would have used without a cover has.

**The error** combines everything known to be uncertain, carried through the same equations:
- the loss at the water differs from the model's by a relative error that lasts from hours to days (a first-order
  autoregressive process by the hour, σ of a day's loss). Alternating nights share it, two long periods don't, and parts
  of one night share nearly all of it;
- other formulas, wind and sun would have moved the expectation from night to night (`Aligned.alternatives`);
- the share that a cover saves differs from night to night (τ), as wind moves the open loss more than the covered one;
- where a reading straddles a change, the covered hours' use may follow the degrees rather than the open loss, and the
  cover may be moved half an hour from its stated time;
- the water's temperature at either end of an observation is only known so well (`Aligned.water_errors`): stored heat.

σ, τ, how long an error lasts and how well an unlogged temperature was held are not known. Each combination on a grid is
weighted by its restricted likelihood, that is by how well it explains the residuals, and the range comes from the
mixture: few nights give it the long tails of Student's t. Sources: generalised least squares and restricted likelihood,
Patterson and Thompson 1971; autocorrelated residuals in the uncertainty of savings, ASHRAE Guideline 14 (both from
memory).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from scipy.linalg import eigh, solveh_banded
from scipy.sparse import csr_array, vstack
from scipy.special import ndtr

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.observations import Observations

# σ: relative error of a day's loss. At a station some way off, the air differs by half a kelvin out of the ten to
# twenty between water and air, and the wind by a tenth: no day is known to better than a few hundredths (judgement).
DAY_ERRORS = np.geomspace(0.02, 0.6, 9)
NIGHT_ERRORS = np.array([0.04, 0.12])  # τ: of the share saved in one night
LASTING = np.array([3.0, 12.0, 48.0, 200.0])  # h after which 37 % of an error is left
MOVED = 0.5  # h by which the cover may miss its stated times (judgement)
_CONDITION = 1e8


class Undetermined(OutOfRange):
    """The readings do not determine a fit: too few of them, or collinear columns."""


@dataclass(frozen=True, eq=False)
class Basis:
    """What a method expects of each hour.

    open_hours: (hours, terms) per unit of its rates while open; covered_hours: (hours,) while covered; other: (hours,
    alternatives) further errors of the expectation as parts of the modelled open loss [kWh], one standard deviation
    each; lasting [h]: how long an error of the loss may last.
    """

    open_hours: np.ndarray
    covered_hours: np.ndarray
    other: np.ndarray
    lasting: np.ndarray = field(default_factory=lambda: LASTING)


@dataclass(frozen=True, eq=False)
class SavingFit:
    """The saving by one method.

    saving [–]; rates: of the open hours, one a term; expected: use of the compared covered nights had they been open
    [kWh]; errors [–], weights [–]: standard errors of the saving, and how likely each is; lasting [h]: how long an
    error of the loss lasts, by the same weights.
    """

    saving: float
    rates: np.ndarray
    expected: float
    errors: np.ndarray
    weights: np.ndarray
    lasting: float

    def half_width(self, confidence: float) -> float:
        """Half-width of the range that contains the saving with this probability [–]; infinite if nothing limits it."""
        if not np.isfinite(self.errors).all():
            return float("inf")
        largest = float(self.errors.max())
        if largest < 1e-12:
            return 0.0

        def missing(half: float) -> float:
            return confidence - float(self.weights @ (2 * ndtr(half / np.maximum(self.errors, 1e-15)) - 1))

        from scipy.optimize import brentq  # imported here: a season with a meter needs none of what it loads

        return float(brentq(missing, 0.0, 20 * largest))


def fit(aligned: Aligned, observed: Observations, energy: np.ndarray, basis: Basis) -> SavingFit:
    """The saving of the compared covered nights by one method.

    energy: [kWh] measured in each observation.

    Raises Undetermined where the observations cannot tell open from covered hours.
    """
    x, sums = observed.covered, observed.sums
    terms = basis.open_hours.shape[1]
    hourly = np.column_stack([basis.open_hours * (1 - x)[:, None], basis.covered_hours * x])
    design = sums @ hourly
    instruments = _instruments(observed, sums @ basis.open_hours)
    system = instruments.T @ design
    scale = np.sqrt((design**2).sum(axis=0))
    if len(energy) <= terms or not scale.all() or np.linalg.cond(system / scale) > _CONDITION:
        raise Undetermined("The readings can't tell open hours from covered ones.")
    rates = np.linalg.solve(system, instruments.T @ energy)
    in_covered = observed.in_covered
    totals_open = np.append(basis.open_hours[in_covered].sum(axis=0), 0.0)
    totals_used = hourly[in_covered].sum(axis=0)
    expected, used = float(totals_open @ rates), float(totals_used @ rates)
    if expected <= 0:
        raise Undetermined("By the open hours the covered nights would have used nothing.")
    ratio = used / expected
    coefficients = (totals_used - ratio * totals_open) @ np.linalg.solve(system, instruments.T)
    if len(energy) <= terms + 1:
        return SavingFit(1 - ratio, rates[:-1], expected, np.array([np.inf]), np.ones(1), float("nan"))
    errors = _Errors.of(aligned, observed, basis, rates, expected, ratio)
    found, weights, lasting = errors.standard_errors(energy, design, coefficients, ratio)
    return SavingFit(1 - ratio, rates[:-1], expected, found / expected, weights, lasting)


def _instruments(observed: Observations, expected: np.ndarray) -> np.ndarray:
    """Open share of each observation (times its terms, where there are several), and covered share."""
    covered = observed.covered_part
    opened = (1 - covered)[:, None]
    return np.column_stack([opened if expected.shape[1] == 1 else opened * expected, covered])


@dataclass(frozen=True, eq=False)
class _Errors:
    """Hourly errors of the use [kWh], as factors of the unknown sizes: of the loss, of the cover's share, and known
    ones; left: share of an hour's open loss that is lost with the cover on."""

    observed: Observations
    loss: np.ndarray
    left: np.ndarray
    other: np.ndarray
    split: np.ndarray
    saved: np.ndarray
    stored: np.ndarray
    lasting: np.ndarray

    @classmethod
    def of(
        cls, aligned: Aligned, observed: Observations, basis: Basis, rates, expected: float, ratio: float
    ) -> _Errors:
        """The errors of one method, its rates known."""
        hours, x = aligned.hours, observed.covered
        level = expected / hours["open_need"].to_numpy(float)[observed.in_covered].sum()
        base = basis.open_hours @ rates[:-1]
        in_covered_hours = float((base * x)[observed.in_covered].sum())
        share = np.clip(expected * (1 - ratio) / in_covered_hours, 0.0, 0.95) if in_covered_hours > 0 else 0.0
        shape = hours["degree_hours"].to_numpy(float).clip(min=0.0)
        use = rates[-1] * basis.covered_hours * x
        by_degrees = shape * x * (use.sum() / max(float((shape * x).sum()), 1e-9))
        moved = np.append(x[1:] - x[:-1], 0.0) * MOVED  # the cover put on and taken off that much earlier
        return cls(
            observed,
            level * hours["open_loss"].to_numpy(float).clip(min=0.0),
            1 - share * x,
            level * basis.other,
            np.column_stack([by_degrees - use, -share * base * moved]),
            np.abs(base) * x,
            aligned.capacity * np.array(aligned.water_errors),
            basis.lasting,
        )

    def standard_errors(self, measured, design, coefficients, ratio) -> tuple[np.ndarray, np.ndarray, float]:
        """Standard errors of the saved energy [kWh] over the grid of sizes, their weights, and the mean lasting [h]."""
        sums, inside = self.observed.sums, self.observed.in_covered.astype(float)
        in_use = coefficients @ sums - inside  # of each hour's error of the use
        in_loss = in_use * self.left + ratio * inside  # of each hour's error of the loss
        nights = np.unique(self.observed.night, return_inverse=True)[1]
        by_night = np.zeros((len(self.saved), nights.max() + 1))
        by_night[np.arange(len(nights)), nights] = self.saved
        edges = self.observed.edges.toarray()
        rows = sums.multiply(self.left).tocsr()
        known = [rows @ self.other, sums @ self.split]
        fixed = sum(part @ part.T for part in known)
        own = ((in_loss @ self.other) ** 2).sum() + ((in_use @ self.split) ** 2).sum()
        share = sums @ by_night
        share, own_share = share @ share.T, ((in_use @ by_night) ** 2).sum()
        stored, own_stored = edges @ edges.T, ((coefficients @ edges) ** 2).sum()
        found, likelihood, lasting = [], [], []
        place = self.observed.position - self.observed.position[0]
        both = vstack([rows, csr_array(in_loss[None, :])]).multiply(self.loss).tocsr()
        # hours in between are hours too
        both = csr_array((both.data, place[both.indices], both.indptr), shape=(both.shape[0], place[-1] + 1))
        for last in self.lasting:
            shared = _shared(both, last) / _day_variance(last)
            for size, heat in itertools.product(NIGHT_ERRORS, self.stored):
                base = fixed + size**2 * share + heat**2 * stored
                likelihood.append(_restricted_likelihood(measured, design, base, shared[:-1, :-1], DAY_ERRORS))
                variance = own + size**2 * own_share + heat**2 * own_stored + DAY_ERRORS**2 * shared[-1, -1]
                found.append(np.sqrt(variance))
                lasting.append(np.full(len(DAY_ERRORS), last))
        logs = np.concatenate(likelihood)
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        return np.concatenate(found), weights, float(np.exp(weights @ np.log(np.concatenate(lasting))))


def _shared(weights: csr_array, last: float) -> np.ndarray:
    """Covariance of weighted sums over hours of a process of unit variance with correlation exp(−lag/last).

    weights: (sums, hours). Each hour depends directly on its two neighbours only, so the inverse of the correlation has
    three diagonals, and the correlation itself is never written out.
    """
    kept = np.exp(-1 / last)  # of an hour's error in the next hour
    diagonal = np.full(weights.shape[1], 1 + kept**2)
    diagonal[[0, -1]] = 1.0
    inverse = np.vstack([np.full(len(diagonal), -kept), diagonal]) / (1 - kept**2)
    return weights @ solveh_banded(inverse, weights.toarray().T)


def _day_variance(last: float) -> float:
    """Variance of the mean of 24 hours of such a process [–]."""
    lags = np.arange(24)
    return float(np.exp(-np.abs(np.subtract.outer(lags, lags)) / last).mean())


def _restricted_likelihood(measured, design, base, shared, sizes) -> np.ndarray:
    """Restricted log-likelihood of the residuals for the covariances base + size² × shared, one a size."""
    count, terms = design.shape
    base = base + 1e-8 * (np.trace(base) + sizes[0] ** 2 * np.trace(shared)) / count * np.eye(count)
    values, vectors = eigh(shared, base)  # both diagonal at once
    weight = 1 / (1 + sizes[:, None] ** 2 * values.clip(min=0.0))
    design = vectors.T @ (design / np.sqrt((design**2).sum(axis=0)))
    turned = vectors.T @ measured
    information = np.einsum("ni,sn,nj->sij", design, weight, design)
    cross = np.einsum("ni,sn,n->si", design, weight, turned)
    explained = (cross * np.linalg.solve(information, cross[:, :, None])[:, :, 0]).sum(axis=1)
    left = weight @ turned**2 - explained
    # the determinant of the base is the same for all sizes, but not for all bases
    determinant = -2 * np.linalg.slogdet(vectors)[1] - np.log(weight).sum(axis=1)
    return -0.5 * (determinant + np.linalg.slogdet(information)[1] + left)

"""Six methods that compare an open and a covered period, fair ones first: ratios and the residuals behind them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import lstsq, qr, solve_triangular

from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings.night_readings import COVERED, OPEN, Nights

# Open nights below which the regression has fewer terms: at least three readings for each (judgement).
NIGHTS_FOR_SUN, NIGHTS_FOR_WEATHER = 9, 5


@dataclass(frozen=True, eq=False)
class PeriodResiduals:
    """One period's contribution to the uncertainty of a ratio.

    variance: of the ratio [–], if its nights were independent; residuals: of each night, relative to the expected use
    [–]; rows: of the days they belong to; parameters: number of fitted parameters.
    """

    variance: float
    residuals: np.ndarray
    rows: np.ndarray
    parameters: int


@dataclass(frozen=True, eq=False)
class Estimate:
    """Ratio of covered to open use [–] by one method.

    periods: contributions of the open and the covered period; model_variance: added by the model's own uncertainty [–];
    measured, predicted: baseline readings and their fit [kWh].
    """

    ratio: float
    periods: tuple[PeriodResiduals, ...]
    model_variance: float
    measured: np.ndarray
    predicted: np.ndarray


@dataclass(frozen=True)
class Method:
    """A method of comparison: its name, whether it is fair, and its assumptions or how it misleads."""

    name: str
    fair: bool
    why: str


METHODS = (
    Method(
        "against the modelled open loss",
        True,
        "Each night is held against what the open pond would have lost in that night's weather; a fault of the model "
        "cancels as far as both spells have alike weather, and the interval holds what does not.",
    ),
    Method(
        "regression with weather",
        True,
        "What the open nights used, as a line in degree-hours to the water (and sun), is carried to the covered "
        "nights' weather; it needs no pond sheet, but open nights as cold as the covered ones.",
    ),
    Method("totals", False, "It takes colder weather, and a longer spell, for use."),
    Method("per day", False, "It takes colder, windier or duller weather for use."),
    Method(
        "per degree-hour",
        False,
        "An open pond loses heat at no difference of temperature too, by evaporation and to the sky, so a mild spell "
        "looks wasteful and a cold one thrifty; what stands on the meter beside the heater blurs it.",
    ),
    Method(
        "per degree-hour, base load taken off",
        False,
        "Only a load whose heat misses the water may be taken off; an open pond still loses at no difference of "
        "temperature, so a cover used in the colder spell is flattered.",
    ),
)


def ratio_estimate(
    nights: Nights, measured, expected, alternatives=None, weights=None, by_totals: bool = False
) -> Estimate:
    """Ratio of measured to expected use, covered over open.

    alternatives: expected use by other models (days, models); weights: of those that are formulas, 0 for a variation of
    one standard deviation; by_totals: compare totals of the periods instead of means.
    """
    rows = {label: np.flatnonzero(nights.labelled(label)) for label in (OPEN, COVERED)}
    level = {label: measured[at].sum() / expected[at].sum() for label, at in rows.items()}
    ratio = level[COVERED] / level[OPEN]
    periods = []
    for label, at in rows.items():
        mean = expected[at].mean()
        residuals = (measured[at] - level[label] * expected[at]) / mean / level[OPEN]
        if label == OPEN:
            residuals = residuals * ratio
        periods.append(PeriodResiduals(_variance_of_mean(residuals), residuals, at, 1))
    model_variance = 0.0
    if alternatives is not None:
        sums = {label: alternatives[at].sum(axis=0) / expected[at].sum() for label, at in rows.items()}
        change = sums[OPEN] / sums[COVERED] - 1
        model_variance = ratio**2 * float((weights * change**2).sum() + (change[weights == 0] ** 2).sum() / 2)
    if by_totals:
        length_ratio = len(rows[COVERED]) / len(rows[OPEN])
        ratio *= length_ratio
        periods = [
            PeriodResiduals(p.variance * length_ratio**2, p.residuals * length_ratio, p.rows, p.parameters)
            for p in periods
        ]
    open_rows = rows[OPEN]
    return Estimate(
        float(ratio), tuple(periods), model_variance, measured[open_rows], level[OPEN] * expected[open_rows]
    )


def regression_estimate(nights: Nights) -> Estimate | None:
    """Ratio of covered use to a baseline regressed on the open nights; None if the open nights are too few.

    The error of extrapolating to the covered nights' weather is measured on the modelled open loss, where the right
    answer is known, and added to the variance.
    """
    days = nights.days
    open_rows, covered_rows = np.flatnonzero(nights.labelled(OPEN)), np.flatnonzero(nights.labelled(COVERED))
    if len(open_rows) < NIGHTS_FOR_WEATHER or len(covered_rows) < 2:
        return None
    names = ["hours", "degree_hours"] + (["sun"] if len(open_rows) >= NIGHTS_FOR_SUN else [])
    design, used = days[names].to_numpy(float), days["used"].to_numpy(float)
    need = days["open_need"].to_numpy(float)
    try:
        fitted = least_squares(design[open_rows], used[open_rows])
    except Undetermined:
        return None
    predicted = design @ fitted.coefficients
    modelled = design @ least_squares(design[open_rows], need[open_rows]).coefficients
    expected = predicted[covered_rows].sum()
    if expected <= 0:
        return None
    fit_variance = fitted.variance_of(design[covered_rows].sum(axis=0))
    ratio = used[covered_rows].sum() / expected
    extrapolation_error = modelled[covered_rows].sum() / need[covered_rows].sum() - 1
    mean = expected / len(covered_rows)
    covered_residuals = (used[covered_rows] - ratio * predicted[covered_rows]) / mean
    return Estimate(
        float(ratio),
        (
            PeriodResiduals(
                ratio**2 * fit_variance / expected**2,
                (used[open_rows] - predicted[open_rows]) / mean,
                open_rows,
                design.shape[1],
            ),
            PeriodResiduals(_variance_of_mean(covered_residuals), covered_residuals, covered_rows, 1),
        ),
        (ratio * extrapolation_error) ** 2,
        used[open_rows],
        predicted[open_rows],
    )


class Undetermined(OutOfRange):
    """The readings do not determine a fit: too few of them, or collinear columns."""


@dataclass(frozen=True, eq=False)
class LinearFit:
    """A least-squares fit: coefficients, their standard errors, residual standard deviation (divisor n − p)."""

    coefficients: np.ndarray
    standard_errors: np.ndarray
    residual_sd: float
    inverse_r: np.ndarray  # R⁻¹ of the design: sums of squares of its rows are variances over residual_sd²

    def variance_of(self, row: np.ndarray) -> float:
        """Variance of the prediction for a row of the design (or a sum of rows), from the coefficients alone."""
        return float(self.residual_sd**2 * ((row @ self.inverse_r) ** 2).sum())


def least_squares(design, values) -> LinearFit:
    """Ordinary least squares of values on the columns of a design (with a column of ones for an intercept).

    Columns are scaled to equal norms first, so that their magnitudes may differ widely. Raises Undetermined.
    Source: by definition; tests compare it with certified values of NIST.
    """
    design, values = np.asarray(design, float), np.asarray(values, float)
    rows, columns = design.shape
    scale = np.sqrt((design**2).sum(axis=0))
    if rows <= columns or not scale.all():
        raise Undetermined(
            f"{counted(rows, 'reading does', 'readings do')} not determine {counted(columns, 'factor', 'factors')}."
        )
    scaled, _, rank, _ = lstsq(design / scale, values, cond=1e-12)
    if rank < columns:
        raise Undetermined("Two columns of the weather say the same: no line is determined.")
    residuals = values - design @ (scaled / scale)
    residual_sd = float(np.sqrt((residuals**2).sum() / (rows - columns)))
    inverse_r = solve_triangular(qr(design / scale, mode="economic")[1], np.eye(columns)) / scale[:, None]
    return LinearFit(scaled / scale, residual_sd * np.sqrt((inverse_r**2).sum(axis=1)), residual_sd, inverse_r)


def _variance_of_mean(residuals: np.ndarray) -> float:
    """Variance of the mean of independent residuals; infinite for a single one."""
    count = len(residuals)
    return float((residuals**2).sum() / (count * (count - 1))) if count > 1 else np.inf

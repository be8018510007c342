"""Six methods that compare open and covered nights, fair ones first, and what each expects of an hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import lstsq, qr, solve_triangular

from pondheat.core.number_format import counted
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.interval_fit import LASTING, Basis, Undetermined
from pondheat.meter.savings.observations import Observations

# Open readings below which the regression has fewer terms: at least three readings for each (judgement).
NIGHTS_FOR_SUN, NIGHTS_FOR_WEATHER = 9, 5


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
        "Each night is compared with what the open pond would have lost in that night's weather; an error of the "
        "model cancels as far as both kinds of nights have similar weather, and the interval covers the rest.",
    ),
    Method(
        "regression with weather",
        True,
        "A line through the open nights' use against degree-hours (and sun) is read off in "
        "the covered nights' weather; it needs no pond sheet, but it needs open nights as cold as the covered ones.",
    ),
    Method("totals", False, "It counts colder weather, or a longer period, as higher use."),
    Method("per day", False, "It counts colder, windier or duller weather as higher use."),
    Method(
        "per degree-hour",
        False,
        "An open pond loses heat even when air and water are equally warm, by evaporation and to the sky, so a mild "
        "period looks wasteful and a cold one thrifty; anything else on the meter blurs it.",
    ),
    Method(
        "per degree-hour, base load taken off",
        False,
        "Only a load that doesn't warm the water may be taken off; an open pond still loses heat when air and water "
        "are equally warm, so a cover used in the colder period is flattered.",
    ),
)


def modelled_basis(aligned: Aligned) -> Basis:
    """Expectation by the modelled loss of the open pond, with what other models of it would expect."""
    need = aligned.hours["open_need"].to_numpy(float)
    weights = np.where(aligned.weights > 0, aligned.weights, 1.0)  # weight 0: a whole standard deviation
    return Basis(need[:, None], need, (aligned.alternatives - need[:, None]) * np.sqrt(weights))


def weather_basis(aligned: Aligned, observed: Observations) -> Basis:
    """Expectation by a line in hours, degree-hours and sun, for which the pond's sheet is not needed.

    Its error is what such a line, put through the open readings, cannot follow of the modelled open loss, where the
    right answer is known. Raises Undetermined where the open readings are too few.
    """
    opened = 1 - observed.covered_part
    if opened.sum() < NIGHTS_FOR_WEATHER:
        raise Undetermined("The open readings are too few for a line through the weather.")
    names = ["hours", "degree_hours"] + (["sun"] if opened.sum() >= NIGHTS_FOR_SUN else [])
    hourly, need = aligned.hours[names].to_numpy(float), aligned.hours["open_need"].to_numpy(float)
    line = least_squares((observed.sums @ hourly) * opened[:, None], (observed.sums @ need) * opened)
    return Basis(hourly, hourly[:, 1], (need - hourly @ line.coefficients)[:, None])


def plain_basis(aligned: Aligned, column: str) -> Basis:
    """Expectation in proportion to one column, such as hours, by which each night counts as one of its own."""
    values = aligned.hours[column].to_numpy(float)
    return Basis(values[:, None], values, np.zeros((len(values), 0)), LASTING[:1])


@dataclass(frozen=True, eq=False)
class LinearFit:
    """A least-squares fit: coefficients, their standard errors, residual standard deviation (divisor n − p)."""

    coefficients: np.ndarray
    standard_errors: np.ndarray
    residual_sd: float


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
    return LinearFit(scaled / scale, residual_sd * np.sqrt((inverse_r**2).sum(axis=1)), residual_sd)

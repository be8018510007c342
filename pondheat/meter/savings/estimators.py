"""Six ways to compare an open and a covered spell, fair ones first; each gives a ratio and what it hangs on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import lstsq, qr, solve_triangular

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings.night_readings import COVERED, OPEN, Nights

# Nights of baseline below which a regression has fewer terms: three readings stand behind each (judgement).
NIGHTS_FOR_SUN, NIGHTS_FOR_WEATHER = 9, 5


@dataclass(frozen=True, eq=False)
class Part:
    """What one spell adds to the doubt: variance of the ratio [–] were its nights independent, residuals night by night
    over what was expected [–], rows of the days they belong to, and how many parameters were fitted."""

    variance: float
    residuals: np.ndarray
    rows: np.ndarray
    parameters: int


@dataclass(frozen=True, eq=False)
class Estimate:
    """Ratio of covered to open [–] by one way, its parts, what the model's own doubt adds (variance [–]), and the
    baseline's readings as measured and as the way has them [kWh]."""

    ratio: float
    parts: tuple[Part, ...]
    model: float
    measured: np.ndarray
    predicted: np.ndarray


@dataclass(frozen=True)
class Way:
    """Name of a way, whether it is fair, and in what it misleads (or what it rests on)."""

    name: str
    fair: bool
    why: str


WAYS = (
    Way(
        "against the modelled open loss",
        True,
        "Each night is held against what the open pond would have lost in that night's weather; a fault of the model "
        "cancels as "
        "far as both spells have alike weather, and the interval holds what does not.",
    ),
    Way(
        "regression with weather",
        True,
        "What the open nights used, as a line in degree-hours to the water (and sun), is carried to the covered "
        "nights' "
        "weather; it needs no pond sheet, but open nights as cold as the covered ones.",
    ),
    Way("totals", False, "It takes colder weather, and a longer spell, for use."),
    Way("per day", False, "It takes colder, windier or duller weather for use."),
    Way(
        "per degree-hour",
        False,
        "An open pond loses heat at no difference of temperature too, by evaporation and to the sky, so a mild spell "
        "looks "
        "wasteful and a cold one thrifty; what stands on the meter beside the heater blurs it.",
    ),
    Way(
        "per degree-hour, base load taken off",
        False,
        "Only a load whose heat misses the water may be taken off; an open pond still loses at no difference of "
        "temperature, "
        "so a cover used in the colder spell is flattered.",
    ),
)


def by_ratio(nights: Nights, measured, expected, rivals=None, weights=None, longer: bool = False) -> Estimate:
    """Sum of measured over sum of expected, covered over open.

    rivals: expected in other ways (days, ways); weights: of the formulae among them, 0 for a change of one standard
    deviation either way; longer: compare sums, not means.
    """
    rows = {label: np.flatnonzero(nights.of(label)) for label in (OPEN, COVERED)}
    level = {label: measured[at].sum() / expected[at].sum() for label, at in rows.items()}
    ratio = level[COVERED] / level[OPEN]
    parts = []
    for label, at in rows.items():
        mean = expected[at].mean()
        residuals = (measured[at] - level[label] * expected[at]) / mean / level[OPEN]
        if label == OPEN:
            residuals = residuals * ratio
        parts.append(Part(_of_mean(residuals), residuals, at, 1))
    model = 0.0
    if rivals is not None:
        sums = {label: rivals[at].sum(axis=0) / expected[at].sum() for label, at in rows.items()}
        off = sums[OPEN] / sums[COVERED] - 1
        model = ratio**2 * float((weights * off**2).sum() + (off[weights == 0] ** 2).sum() / 2)
    if longer:
        scale = len(rows[COVERED]) / len(rows[OPEN])
        ratio *= scale
        parts = [Part(p.variance * scale**2, p.residuals * scale, p.rows, p.parameters) for p in parts]
    bare = rows[OPEN]
    return Estimate(float(ratio), tuple(parts), model, measured[bare], level[OPEN] * expected[bare])


def by_regression(nights: Nights) -> Estimate | None:
    """A baseline fitted to the open nights and carried to the covered ones; None where the open nights are too few.

    What such a line misses in the covered nights' weather is tried on the modelled open loss, where the right answer is
    known, and added to the doubt.
    """
    days = nights.days
    bare, laid = np.flatnonzero(nights.of(OPEN)), np.flatnonzero(nights.of(COVERED))
    if len(bare) < NIGHTS_FOR_WEATHER or len(laid) < 2:
        return None
    names = ["hours", "degree_hours"] + (["sun"] if len(bare) >= NIGHTS_FOR_SUN else [])
    design, used = days[names].to_numpy(float), days["used"].to_numpy(float)
    need = days["open_need"].to_numpy(float)
    try:
        line = least_squares(design[bare], used[bare])
    except Undetermined:
        return None
    predicted = design @ line.factors
    reckoned = design @ least_squares(design[bare], need[bare]).factors
    expected = predicted[laid].sum()
    if expected <= 0:
        return None
    fit = line.variance_of(design[laid].sum(axis=0))
    ratio = used[laid].sum() / expected
    missed = reckoned[laid].sum() / need[laid].sum() - 1
    mean = expected / len(laid)
    under = (used[laid] - ratio * predicted[laid]) / mean
    return Estimate(
        float(ratio),
        (
            Part(ratio**2 * fit / expected**2, (used[bare] - predicted[bare]) / mean, bare, design.shape[1]),
            Part(_of_mean(under), under, laid, 1),
        ),
        (ratio * missed) ** 2,
        used[bare],
        predicted[bare],
    )


class Undetermined(OutOfRange):
    """The readings do not determine a line: too few, or columns that say the same."""


@dataclass(frozen=True, eq=False)
class Line:
    """A least-squares fit: factors, their standard errors, and the residuals' standard deviation (divisor n − p)."""

    factors: np.ndarray
    errors: np.ndarray
    scatter: float
    unscaled: np.ndarray  # R⁻¹ of the design: its rows' squares are the variances of the factors over scatter²

    def variance_of(self, row: np.ndarray) -> float:
        """Variance of what the line says for such a row of the design (or a sum of rows), for the factors' doubt
        alone."""
        return float(self.scatter**2 * ((row @ self.unscaled) ** 2).sum())


def least_squares(design, values) -> Line:
    """Ordinary least squares of values on the columns of a design (a column of ones where there is an intercept).

    Columns are brought to one size first, so that years and thousands of people can stand side by side. Raises
    Undetermined. Source: by definition; tests hold it against certified values of NIST.
    """
    design, values = np.asarray(design, float), np.asarray(values, float)
    rows, columns = design.shape
    size = np.sqrt((design**2).sum(axis=0))
    if rows <= columns or not size.all():
        raise Undetermined(f"{rows} readings do not determine {columns} factors.")
    factors, _, rank, _ = lstsq(design / size, values, cond=1e-12)
    if rank < columns:
        raise Undetermined("Two columns of the weather say the same: no line is determined.")
    residuals = values - design @ (factors / size)
    scatter = float(np.sqrt((residuals**2).sum() / (rows - columns)))
    unscaled = solve_triangular(qr(design / size, mode="economic")[1], np.eye(columns)) / size[:, None]
    return Line(factors / size, scatter * np.sqrt((unscaled**2).sum(axis=1)), scatter, unscaled)


def _of_mean(residuals: np.ndarray) -> float:
    """Variance of a mean of such residuals, were they independent; nothing is known from one."""
    count = len(residuals)
    return float((residuals**2).sum() / (count * (count - 1))) if count > 1 else np.inf

"""Learn this pond from itself: from a cool-down read off a thermometer, or from its meter.

`fit` takes the physical model of the pond sheet and asks the readings by what factor each of its named terms is out.
The terms stay what they are; a factor of 1.2 on the surface says that this pond loses a fifth more there than the sheet
has it. What the readings do not tell stays as wide as it was before (`PRIORS`), and is said.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.meter.fitting.days import Days, FewDays, days_of
from pondheat.meter.fitting.findings import TOLD, refuse, sentences
from pondheat.meter.fitting.heat_terms import FACTORS, Conditions, Terms, modelled_kwh, terms_of
from pondheat.meter.fitting.learned_season import Prediction, band, predict
from pondheat.meter.fitting.priors import PRIORS, Fitted, Member, Untold, unlearned
from pondheat.meter.savings.period_comparison import cv_rmse, independent_readings
from pondheat.meter.surface_models import surface_models

__all__ = [
    "Conditions",
    "Fitted",
    "Prediction",
    "Untold",
    "band",
    "cool_down_band",
    "cool_down_loss",
    "fit",
    "predict",
    "unlearned",
]
FEWEST_DAYS = 7  # judgement: less than a week says nothing about scatter from day to day
TAIL = 4.0  # degrees of freedom of the day-to-day scatter: one forgotten night must not rule the fit


# --- from a thermometer --------------------------------------------------------------------------------------------


def cool_down_loss(heat_capacity, start_difference, end_difference, hours):
    """What the pond loses for each kelvin above the air [kW/K], from a cool-down: C ln(ΔT₀/ΔT₁)/t.

    heat_capacity: [kWh/K]; start_difference, end_difference: [K], water minus air (its mean over the test, in both);
    hours: [h]; floats or arrays. Heater off, no sun, weather steady; what the pump warms comes on top. Raises
    OutOfRange, also where the water is not above the air at both ends or did not fall. Source: by definition
    (Newton's law of cooling).

    >>> round(cool_down_loss(heat_capacity=13.956, start_difference=10.0, end_difference=9.0, hours=5.9), 3)
    0.249
    """
    require(heat_capacity=heat_capacity, start_difference=start_difference, end_difference=end_difference, hours=hours)
    first, last, time = (np.asarray(given, float) for given in (start_difference, end_difference, hours))
    if np.any(last <= 0) or np.any(first <= 0):
        raise OutOfRange(
            "The water must be warmer than the air at both ends of a cool-down: do the test on a cold night."
        )
    if np.any(last >= first):
        raise OutOfRange(
            "The water did not come nearer to the air: were the two readings exchanged, or was the heater on?"
        )
    if np.any(time <= 0):
        raise OutOfRange("0 hours lie between the two readings.")
    return plain(np.asarray(heat_capacity, float) * np.log(first / last) / time)


def cool_down_band(heat_capacity, start_difference, end_difference, hours, thermometer_step):
    """Least and most of `cool_down_loss` [kW/K] that the thermometer's steps leave open, as a pair.

    heat_capacity: [kWh/K]; start_difference, end_difference: [K]; hours: [h]; thermometer_step: [K], smallest step
    shown; floats or arrays. Three readings (water twice, air) are each off by up to half a step, in the worst way:
    C ln(ΔT₀/(ΔT₁ ± step))/t. A thermometer that reads wrong all the time is not in it, nor is the volume. Raises
    OutOfRange, also where the fall is no more than a step. Source: by definition.

    >>> low, high = cool_down_band(13.956, 10.0, 9.0, 5.9, thermometer_step=0.1)
    >>> round(low, 3), round(high, 3)
    (0.223, 0.276)
    """
    require(thermometer_step=thermometer_step)
    cool_down_loss(heat_capacity, start_difference, end_difference, hours)
    last, step = np.asarray(end_difference, float), np.asarray(thermometer_step, float)
    if np.any(last + step >= np.asarray(start_difference, float)):
        raise OutOfRange(
            "The water fell by no more than a step of the thermometer: wait until it has fallen ten steps."
        )
    if np.any(last - step <= 0):
        raise OutOfRange("The water ended within a step of the air: stop earlier, or wait for a colder night.")
    return tuple(cool_down_loss(heat_capacity, start_difference, end, hours) for end in (last + step, last - step))


# --- from the meter ------------------------------------------------------------------------------------------------


def fit(use: pd.DataFrame, conditions: Conditions, learn: tuple[str, ...] | None = None) -> Fitted:
    """Learn the factors of a pond from its meter.

    use: frame of readings (index: start of each interval; kwh, hours, perhaps water_temp); conditions: pond, weather,
    set point and cover in the same hours. With a logged water temperature the losses are reckoned at it and the heat
    stored is booked; otherwise the water is taken to be held at the set point as the heater's limit and the sun allow.
    learn: names that must be told apart (of FACTORS); None takes what the readings can tell.
    Method: sums of days; scatter of the days by a Student t of four degrees of freedom; log-normal priors; Gauss–Newton
    to the most likely factors and a normal posterior of their logarithms there (Laplace); information reduced to the
    independent readings, n (1 − ρ)/(1 + ρ); the open surface written in several published ways, each weighted by how
    well it explains the days. Raises `Untold` for fewer than seven days, a meter that stood still, and factors in
    `learn` that cannot be told apart, and OutOfRange. Source: Lange, Little, Taylor 1989 (t scatter, memory); Gelman et
    al., Bayesian Data Analysis, chapter 4 (normal approximation, memory).
    """
    for name in learn or ():
        if name not in FACTORS:
            raise OutOfRange(f"“{name}” cannot be learned. Known: {', '.join(FACTORS)}.")
    try:
        days = days_of(use, conditions.index)
    except FewDays as few:
        raise Untold(str(few)) from None
    if len(days.measured) < FEWEST_DAYS:
        count = len(days.measured)
        raise Untold(
            f"{count} whole day{' was' if count == 1 else 's were'} read, and {FEWEST_DAYS} are the least that say anything: "
            "go on reading; three weeks with a few nights of each kind are good."
        )
    if days.measured.max() <= 0:
        raise Untold("The meter stood still on every day: nothing about losses can be learned while the heater is off.")
    models = surface_models(conditions.pond)
    terms = terms_of(conditions, models, days.water_temp)
    fitted = _report(conditions, days, terms, _search(conditions, days, terms, models))
    refuse(fitted, learn or (), conditions, days)
    return fitted


@dataclass(frozen=True, eq=False)
class _Found:
    """The end of the search: noise and predicted are means over the members, weighted as these are."""

    members: tuple[Member, ...]
    noise: float
    correlation: float
    counted: float
    freedom: float
    weights: np.ndarray
    predicted: np.ndarray


def _daily(conditions, days, terms, logs):
    """Daily kWh (rivals, days) at logs (rivals, factors), and its slopes (rivals, days, factors)."""
    step, (rivals, k) = 0.02, logs.shape
    moved = np.repeat(logs[:, None, :], k + 1, axis=1)
    moved[:, np.arange(1, k + 1), np.arange(k)] += step
    which = np.repeat(np.arange(rivals), k + 1)
    daily = days.sums(modelled_kwh(conditions, terms, which, np.exp(moved.reshape(-1, k))))
    daily = daily.T.reshape(rivals, k + 1, -1)
    return daily[:, 0], np.moveaxis((daily[:, 1:] - daily[:, :1]) / step, 1, 2)


def _search(conditions: Conditions, days: Days, terms: Terms, models) -> _Found:
    """The most likely factors of every rival by Gauss–Newton, the scatter estimated anew at every step."""
    count, k = len(days.measured), len(FACTORS)
    widths = np.array([PRIORS[name].width for name in FACTORS])
    precision, size = np.diag(widths**-2.0), np.sqrt(days.hours / 24)  # scatter of a sum grows with its length's root
    logs, counted = np.zeros((len(models), k)), float(count)
    weights, noise = np.ones((len(models), count)), None
    for _ in range(12):
        daily, slopes = _daily(conditions, days, terms, logs)
        left, slopes = (days.measured - daily) / size, slopes / size[:, None]
        if noise is None:
            noise = np.maximum(left.std(axis=1), 1e-6)
        before, hessians, used = logs.copy(), np.empty((len(models), k, k)), np.empty(len(models))
        for r in range(len(models)):
            heavy = weights[r] * counted / count / noise[r] ** 2
            hessians[r] = slopes[r].T @ (slopes[r] * heavy[:, None]) + precision
            gradient = slopes[r].T @ (heavy * left[r]) - precision @ logs[r]
            logs[r] += np.clip(np.linalg.solve(hessians[r], gradient), -0.5, 0.5)
            left[r] -= slopes[r] @ (logs[r] - before[r])
            used[r] = k - np.trace(np.linalg.solve(hessians[r], precision))  # factors that the days paid for
            noise[r] = max(np.sqrt((weights[r] * left[r] ** 2).sum() / max(count - used[r], 1.0)), 1e-6)
            weights[r] = (TAIL + 1) / (TAIL + (left[r] / noise[r]) ** 2)
        best = int(np.argmin(noise))
        correlation = _lag_one(left[best] * np.sqrt(weights[best]), days.dates)
        counted = max(independent_readings(float(count), correlation), 2.0)
        if np.abs(logs - before).max() < 1e-3:
            break
    daily, _ = _daily(conditions, days, terms, logs)
    tails = np.log1p(((days.measured - daily) / size / noise[best]) ** 2 / TAIL).sum(axis=1)
    misfit = counted / count * (TAIL + 1) * tails + ((logs / widths) ** 2).sum(axis=1) + np.linalg.slogdet(hessians)[1]
    chance = np.array([model.weight for model in models]) * np.exp((misfit.min() - misfit) / 2)
    chance /= chance.sum()
    members = tuple(
        Member(model, float(share), log, np.linalg.inv(hessian))
        for model, share, log, hessian in zip(models, chance, logs, hessians)
    )
    return _Found(
        members,
        float(chance @ noise),
        correlation,
        counted,
        max(counted - float(chance @ used), 3.0),
        chance @ weights,
        chance @ daily,
    )


def _lag_one(left, dates) -> float:
    """Correlation of neighbouring days' residuals [–], made up for the shortness of the row (Kendall 1954, memory)."""
    neighbours = np.diff(dates.to_numpy()) <= np.timedelta64(25, "h")
    centred = left - left.mean()
    whole = (centred**2).mean()
    if neighbours.sum() < 3 or whole == 0:
        return 0.0
    raw = float((centred[1:] * centred[:-1])[neighbours].mean() / whole)
    return float(np.clip(raw + (1 + 3 * raw) / len(left), 0.0, 0.9))


def _report(conditions: Conditions, days: Days, terms: Terms, found: _Found) -> Fitted:
    """The members as one: middle, band, how much was told, residuals, and the sentences."""
    widths = np.array([PRIORS[name].width for name in FACTORS])
    share = np.array([member.weight for member in found.members])
    # A rival's factor stands on its own formula: its surface is compared with the sheet's by what both lose here.
    lost = terms.value[:, :, 0].sum(axis=1)
    own = next(at for at, member in enumerate(found.members) if member.surface.shelter == 1.0)
    centres = np.array([member.centre for member in found.members])
    centres[:, 0] += np.log(np.maximum(lost, 1e-9) / max(lost[own], 1e-9))
    within = np.einsum("m,mij->ij", share, np.array([member.covariance for member in found.members]))
    middle = share @ centres
    reach = 1.645 * np.sqrt(np.diag(within) + share @ (centres - middle) ** 2)
    told = np.clip(1 - np.diag(within) / widths**2, 0, 1)
    linked = within / np.sqrt(np.outer(np.diag(within), np.diag(within)))
    left = days.measured - found.predicted
    frame = pd.DataFrame(
        {
            "measured": days.measured,
            "predicted": found.predicted,
            "residual": left,
            "hours": days.hours,
            "weight": found.weights,
        },
        index=days.dates,
    )
    learned = min(int((told >= TOLD).sum()), len(left) - 1)
    fitted = Fitted(
        FACTORS,
        np.exp(middle),
        np.exp(middle - reach),
        np.exp(middle + reach),
        told,
        linked,
        frame,
        cv_rmse(days.measured, found.predicted, parameters=float(learned)),
        float(-left.sum() / days.measured.sum()),
        found.correlation,
        found.counted,
        found.noise,
        found.freedom,
        found.members,
        (),
    )
    return replace(fitted, sentences=(*days.notes, *sentences(fitted, conditions, days)))

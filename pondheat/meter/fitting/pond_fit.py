"""Fits a pond's heat losses to measurements: a cool-down read from a thermometer, or its meter.

`fit` estimates by what factor each named term of the sheet's physical model is out: a factor of 1.2 on the surface
means that this pond loses a fifth more there than the sheet says. Factors that the readings do not determine keep their
prior (`PRIORS`), and are reported as not learned.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.core.likely import LIKELY_REACH
from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.meter.factors import FACTORS, prior_widths
from pondheat.meter.fitting.days import Days, NoWholeDay, daily_readings
from pondheat.meter.fitting.findings import LEARNED, require_identified, sentences
from pondheat.meter.fitting.heat_terms import Conditions, Terms, linear_terms, modelled_kwh
from pondheat.meter.fitting.learned_season import Prediction, predict, quantile_interval
from pondheat.meter.fitting.priors import FitMember, Fitted, InsufficientReadings, prior_fit
from pondheat.meter.fitting.search import SearchResult, posterior_search
from pondheat.meter.savings.period_comparison import cv_rmse
from pondheat.meter.surface_models import surface_models

__all__ = [
    "Conditions",
    "Fitted",
    "InsufficientReadings",
    "Prediction",
    "cool_down_interval",
    "cool_down_loss",
    "fit",
    "predict",
    "prior_fit",
    "quantile_interval",
]
MIN_DAYS = 7  # judgement: less than a week does not show the scatter between days


# --- from a thermometer --------------------------------------------------------------------------------------------


def cool_down_loss(heat_capacity, start_difference, end_difference, hours):
    """Heat loss coefficient of the pond [kW/K] from a cool-down: C ln(ΔT₀/ΔT₁)/t.

    heat_capacity: [kWh/K]; start_difference, end_difference: [K], water minus the mean air of the test; hours: [h];
    floats or arrays. Heater off, no sun, weather steady; heat from the pump has to be added. Raises OutOfRange, also if
    the water is not above the air at both ends or did not fall. Source: by definition (Newton's law of cooling).

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
            "The water did not come nearer to the air: were the two readings swapped, or was the heater on?"
        )
    if np.any(time <= 0):
        raise OutOfRange("There are 0 hours between the two readings.")
    return plain(np.asarray(heat_capacity, float) * np.log(first / last) / time)


def cool_down_interval(heat_capacity, start_difference, end_difference, hours, thermometer_step):
    """Lower and upper limit of `cool_down_loss` [kW/K] given the resolution of the thermometer.

    heat_capacity: [kWh/K]; start_difference, end_difference: [K]; hours: [h]; thermometer_step: [K], smallest step
    shown; floats or arrays. Each of three readings (water twice, air once) may be off by half a step, in the worst
    combination: C ln(ΔT₀/(ΔT₁ ± step))/t. A constant error of the thermometer and an error of the volume are not
    included. Raises OutOfRange, also if the fall is no more than a step. Source: by definition.

    >>> low, high = cool_down_interval(13.956, 10.0, 9.0, 5.9, thermometer_step=0.1)
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
    """Fit the factors of a pond to its meter.

    use: frame of readings (index: start of each interval; kwh, hours, perhaps water_temp); conditions: pond, weather,
    set point and cover in the same hours. With a logged water temperature, losses and stored heat are computed from it;
    otherwise the water is assumed to be held at the set point as far as the heater's limit and the sun allow.
    learn: factors (of FACTORS) that must be determined; None for whatever the readings determine.
    Method: daily sums with Student t noise of four degrees of freedom; log-normal priors; Gauss–Newton to the mode and
    a normal posterior of the factors' logarithms there (Laplace approximation); information scaled to the effective
    number of independent readings, n (1 − ρ)/(1 + ρ); several published models of the open surface, each weighted by
    how well it explains the days. Raises InsufficientReadings for fewer than seven days, a meter that did not move, and
    factors in `learn` that are not determined, and OutOfRange. Source: Lange, Little, Taylor 1989 (t noise, memory);
    Gelman et al., Bayesian Data Analysis, chapter 4 (normal approximation, memory).
    """
    for name in learn or ():
        if name not in FACTORS:
            raise OutOfRange(f"“{name}” cannot be learned. Known: {', '.join(FACTORS)}.")
    try:
        days = daily_readings(use, conditions.index)
    except NoWholeDay as few:
        raise InsufficientReadings(str(few)) from None
    if len(days.measured) < MIN_DAYS:
        count = len(days.measured)
        raise InsufficientReadings(
            f"{count} whole day{' was' if count == 1 else 's were'} read, and at least {MIN_DAYS} are needed: "
            "go on reading; three weeks with a few nights of each kind are good."
        )
    if days.measured.max() <= 0:
        raise InsufficientReadings(
            "The meter did not move on any day: nothing about losses can be learned while the heater is off."
        )
    models = surface_models(conditions.pond)
    terms = linear_terms(conditions, models, days.water_temp)
    fitted = _summary(conditions, days, terms, *_search(conditions, days, terms, models))
    require_identified(fitted, learn or (), conditions, days)
    return fitted


def _daily(conditions, days, terms, logs):
    """Daily energy [kWh] (models, days) at logarithms of factors (models, factors); slopes (models, days, factors)."""
    step, (models, k) = 0.02, logs.shape
    shifted = np.repeat(logs[:, None, :], k + 1, axis=1)
    shifted[:, np.arange(1, k + 1), np.arange(k)] += step
    model_of = np.repeat(np.arange(models), k + 1)
    daily = days.sums(modelled_kwh(conditions, terms, model_of, np.exp(shifted.reshape(-1, k))))
    daily = daily.T.reshape(models, k + 1, -1)
    return daily[:, 0], np.moveaxis((daily[:, 1:] - daily[:, :1]) / step, 1, 2)


def _search(conditions: Conditions, days: Days, terms: Terms, models) -> tuple[SearchResult, tuple[FitMember, ...]]:
    """Posterior of the factors for every surface model, and the same as members of the fit."""
    found = posterior_search(
        days.measured,
        days.hours,
        days.dates,
        lambda logs: _daily(conditions, days, terms, logs),
        prior_widths(conditions.pond),
        np.array([model.weight for model in models]),
    )
    members = tuple(
        FitMember(model, float(share), log, covariance)
        for model, share, log, covariance in zip(models, found.shares, found.centres, found.covariances)
    )
    return found, members


def _summary(
    conditions: Conditions, days: Days, terms: Terms, found: SearchResult, members: tuple[FitMember, ...]
) -> Fitted:
    """The fit from all members: medians, intervals, variance reduction, residuals, and sentences."""
    widths = prior_widths(conditions.pond)
    share = found.shares
    # A surface factor refers to its own formula: convert it to the sheet's by the losses of both in these hours.
    lost = terms.value[:, :, 0].sum(axis=1)
    own = next(at for at, member in enumerate(members) if member.surface.shelter == 1.0)
    centres = found.centres.copy()
    centres[:, 0] += np.log(np.maximum(lost, 1e-9) / max(lost[own], 1e-9))
    within = np.einsum("m,mij->ij", share, found.covariances)
    middle = share @ centres
    reach = LIKELY_REACH * np.sqrt(np.diag(within) + share @ (centres - middle) ** 2)
    variance_reduction = np.clip(1 - np.diag(within) / widths**2, 0, 1)
    correlation = within / np.sqrt(np.outer(np.diag(within), np.diag(within)))
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
    learned = min(int((variance_reduction >= LEARNED).sum()), len(left) - 1)
    fitted = Fitted(
        FACTORS,
        np.exp(middle),
        np.exp(middle - reach),
        np.exp(middle + reach),
        variance_reduction,
        correlation,
        frame,
        cv_rmse(days.measured, found.predicted, parameters=float(learned)),
        float(-left.sum() / days.measured.sum()),
        found.correlation,
        found.effective,
        found.noise,
        found.freedom,
        members,
        (),
        widths,
        conditions.air.has_long_wave,
    )
    return replace(fitted, sentences=(*days.notes, *sentences(fitted, conditions, days)))

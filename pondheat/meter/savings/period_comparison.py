"""The saving of a cover from open and covered nights: six methods side by side, each with its interval.

The first part holds the uncertainty measures that every comparison uses, the second `compare`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from pondheat.core.likely import LIKELY, PROOF
from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.meter.reading.energy_use import start_times
from pondheat.meter.savings import estimators, night_readings
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.estimators import Estimate, Method
from pondheat.meter.savings.night_readings import COVERED, FORGOTTEN, OPEN, Nights
from pondheat.meter.savings.verdict import Comparison, MethodResult, percent, verdict_of, without_forgotten


def independent_readings(readings, lag_one_correlation):
    """Effective number of independent readings [–]: n (1 − ρ)/(1 + ρ).

    readings: [–], n; lag_one_correlation: [–], ρ, of neighbouring residuals; floats or arrays. For a first-order
    autoregressive series. A negative ρ counts as 0, so that there are never more than n.
    Raises OutOfRange. Source: ASHRAE Guideline 14 (memory); agrees with the sum over all lags.

    >>> round(independent_readings(readings=168.0, lag_one_correlation=0.9), 2)      # a week of hours
    8.84
    """
    require(readings=readings, lag_one_correlation=lag_one_correlation)
    correlation = np.maximum(np.asarray(lag_one_correlation, float), 0.0)
    return plain(np.asarray(readings, float) * (1 - correlation) / (1 + correlation))


def cv_rmse(measured, predicted, parameters):
    """Scatter of a fit relative to the measured mean [–]: √(Σ(measured − predicted)²/(n − p)) / mean(measured).

    measured, predicted: [–], one list each, in any one unit; parameters: [–], p, number of fitted parameters.
    The divisor is n − p as in ASHRAE Guideline 14 and CalTRACK 4.3.2.2; dividing by n gives less.
    Raises OutOfRange for lists of different length, for no more readings than parameters, and for a mean that is not
    above 0. Source: ASHRAE Guideline 14-2014; CalTRACK 2.0.

    >>> round(cv_rmse([50, 60, 55, 70, 65, 80], [52, 58, 57, 66, 68, 78], parameters=2), 5)
    0.05055
    """
    measured, predicted = _pair(measured, predicted, parameters)
    return float(np.sqrt(((measured - predicted) ** 2).sum() / (len(measured) - parameters)) / measured.mean())


def _pair(measured, predicted, parameters) -> tuple[np.ndarray, np.ndarray]:
    """Measured and predicted values as comparable arrays; raises OutOfRange."""
    measured, predicted = np.asarray(measured, float), np.asarray(predicted, float)
    require(parameters=parameters)
    if measured.ndim != 1 or measured.shape != predicted.shape:
        raise OutOfRange("measured and predicted must be two lists of the same length.")
    if not (np.isfinite(measured).all() and np.isfinite(predicted).all()):
        raise OutOfRange("measured or predicted holds a value that is not a number.")
    if len(measured) <= parameters:
        raise OutOfRange(
            f"{counted(len(measured), 'reading is', 'readings are')} too few for a fit with {parameters:g} parameters."
        )
    if measured.mean() <= 0:
        raise OutOfRange("The mean of the measured values must be above 0: a scatter is compared with it.")
    return measured, predicted


def savings_uncertainty(
    confidence, cv_rmse, saving_fraction, baseline_readings, parameters, independent, reporting_readings
):
    """Half-width of the interval around a measured saving, as a fraction of that saving [–].

    t · 1.26 · cv_rmse/F · √((n/n′) (1 + 2/n′)/m), t two-sided at `confidence` with n′ − p degrees of freedom.
    confidence: [–]; cv_rmse: [–], of the baseline's fit; saving_fraction: [–], F; baseline_readings: [–], n;
    parameters: [–], p; independent: [–], n′, independent readings of the baseline; reporting_readings: [–], m; floats
    or arrays. For a baseline fitted by regression and applied to the weather of the other period. Above 1 the saving
    is not shown. Raises OutOfRange, also for n′ ≤ p and for F = 0.
    Source: ASHRAE Guideline 14-2014 Annex B, as in CalTRACK 2.0 section 4.3.

    >>> one_week = {"baseline_readings": 7, "independent": 7, "reporting_readings": 7, "parameters": 2}
    >>> round(savings_uncertainty(confidence=0.9, cv_rmse=0.3, saving_fraction=0.5, **one_week), 2)
    0.65
    """
    require(
        confidence=confidence,
        cv_rmse=cv_rmse,
        saving_fraction=saving_fraction,
        baseline_readings=baseline_readings,
        parameters=parameters,
        independent=independent,
        reporting_readings=reporting_readings,
    )
    n, counted, m = (np.asarray(given, float) for given in (baseline_readings, independent, reporting_readings))
    freedom = counted - np.asarray(parameters, float)
    if np.any(freedom <= 0):
        raise OutOfRange("No more readings count as independent than the fit has parameters: nothing can be said.")
    saved = np.abs(np.asarray(saving_fraction, float))
    if np.any(saved == 0):
        raise OutOfRange("A saving of nothing has no uncertainty as a share of itself.")
    t = stdtrit(freedom, 0.5 + np.asarray(confidence, float) / 2)
    spread = np.sqrt(n / counted * (1 + 2 / counted) / m)
    return plain(t * 1.26 * np.asarray(cv_rmse, float) / saved * spread)


def nmbe(measured, predicted, parameters=0):
    """Normalised mean bias error of a model [–]: Σ(measured − predicted)/((n − p) mean(measured)).

    measured, predicted: [–], one list each, in any one unit; parameters: [–], p, number of fitted parameters.
    Above 0 if the model predicts too little (the sign of Guideline 14). Raises OutOfRange as `cv_rmse`.
    Source: ASHRAE Guideline 14-2014 (memory).

    >>> round(nmbe([50, 60, 55, 70, 65, 80], [45, 54, 50, 63, 58, 72]), 3)
    0.1
    """
    measured, predicted = _pair(measured, predicted, parameters)
    return float((measured - predicted).sum() / (len(measured) - parameters) / measured.mean())


def share_needed(saving_fraction, cv_rmse, baseline_readings, reporting_readings, confidence=PROOF, chance=0.8):
    """Smallest share of the heater in a meter at which a saving on the heater can be shown [–].

    (t(confidence) + t(chance)) · cv_rmse · √(1/n + 1/m) / saving_fraction, t with n + m − 2 degrees of freedom.
    saving_fraction: [–], of the heater's use; cv_rmse: [–], scatter of the whole meter's independent days over their
    mean; baseline_readings, reporting_readings: [–], n and m; confidence: [–], two-sided; chance: [–], power, the
    probability that such a saving is then shown; floats or arrays. Above 1 it can't be shown on this meter: log the
    heater by itself, or for longer. Raises OutOfRange. Source: two-sample comparison of means, by definition; the sum
    of two t values is the usual approximation to its power.

    >>> round(share_needed(saving_fraction=0.3, cv_rmse=0.2, baseline_readings=14, reporting_readings=14), 2)
    0.65
    """
    require(
        saving_fraction=saving_fraction,
        cv_rmse=cv_rmse,
        baseline_readings=baseline_readings,
        reporting_readings=reporting_readings,
        confidence=confidence,
        chance=chance,
    )
    n, m = np.asarray(baseline_readings, float), np.asarray(reporting_readings, float)
    freedom = n + m - 2
    if np.any(freedom <= 0):
        raise OutOfRange("One day against one day shows nothing.")
    if np.any(np.asarray(saving_fraction, float) <= 0):
        raise OutOfRange("Give a saving above nothing: how small a saving is to be shown?")
    t = stdtrit(freedom, 0.5 + np.asarray(confidence, float) / 2) + stdtrit(freedom, np.asarray(chance, float))
    return plain(t * np.asarray(cv_rmse, float) * np.sqrt(1 / n + 1 / m) / np.asarray(saving_fraction, float))


# --- comparison -------------------------------------------------------------------------------------------------------


def compare(
    aligned: Aligned,
    *,
    covered: Sequence[dt.date] | None = None,
    open_nights: Sequence[dt.date] | None = None,
    periods: Sequence[tuple[str, object, object]] | None = None,
    from_noon: bool = True,
    confidence: float = LIKELY,
    forgotten: str = FORGOTTEN[0],
) -> Comparison:
    """Compare open and covered nights by six methods, with intervals and a plain verdict.

    aligned: from `alignment.align`; covered, open_nights, periods, from_noon: which nights are which, see
    `night_readings.label_nights`; confidence: [–] of the intervals, two-sided (a saving is shown
    by the stricter `core.likely.PROOF`); forgotten: what to do with covered
    nights that look as if the cover had been forgotten: "left out", "counted as open" or "kept". Raises OutOfRange.
    """
    require(confidence=confidence)
    choose("handling of forgotten nights", forgotten, FORGOTTEN)
    all_nights = night_readings.label_nights(
        aligned, covered=covered, open_nights=open_nights, periods=periods, from_noon=from_noon
    )
    suspect = night_readings.forgotten_nights(all_nights)
    nights, sentences = without_forgotten(all_nights, suspect, forgotten)
    outcomes, correlation = _results(aligned, nights, confidence)
    days = nights.days
    need = [days.loc[nights.labelled(label), "open_need"].mean() for label in (OPEN, COVERED)]
    weather_alone = float(need[1] / need[0])
    sentences = [*aligned.notes, *nights.notes, *sentences]
    if suspect.any() and forgotten == FORGOTTEN[0]:
        with_them = _results(aligned, all_nights, confidence)[0][0]
        sentences.append(
            f"With them kept the saving would read {percent(with_them.saving)} ({percent(with_them.low)} to "
            f"{percent(with_them.high)})."
        )
    sentences.append(
        f"The weather alone makes the covered nights use {percent(abs(weather_alone - 1))} "
        f"{'less' if weather_alone < 1 else 'more'} than the open ones."
    )
    shown, verdict = verdict_of(outcomes, nights, confidence)
    marked = replace(all_nights, days=all_nights.days.assign(forgotten=suspect))
    return Comparison(outcomes, marked, confidence, weather_alone, correlation, shown, verdict, tuple(sentences))


def _results(aligned: Aligned, nights: Nights, confidence: float) -> tuple[tuple[MethodResult, ...], float]:
    """Results of all methods, and the lag-one correlation of the first one's residuals; raises OutOfRange."""
    dates = start_times(nights.days)
    column = {
        name: nights.days[name].to_numpy(float)
        for name in ("kwh", "heat", "used", "open_need", "degree_hours", "hours")
    }
    open_rows = nights.labelled(OPEN)
    for label in (OPEN, COVERED):
        rows = nights.labelled(label)
        if column["open_need"][rows].sum() <= 0 or column["degree_hours"][rows].sum() <= 0:
            raise OutOfRange(f"In the {label} nights the open pond would have needed no heat: wait for colder weather.")
    if column["used"][open_rows].sum() <= 0 or column["heat"][open_rows].sum() <= 0:
        raise OutOfRange(
            "The heater gave nothing in the open nights: is the base load too high, or the water too warm?"
        )
    estimates = (
        estimators.ratio_estimate(nights, column["used"], column["open_need"], nights.alternatives, aligned.weights),
        estimators.regression_estimate(nights),
        estimators.ratio_estimate(nights, column["kwh"], column["hours"], by_totals=True),
        estimators.ratio_estimate(nights, column["kwh"], column["hours"]),
        estimators.ratio_estimate(nights, column["kwh"], column["degree_hours"]),
        estimators.ratio_estimate(nights, column["heat"], column["degree_hours"]),
    )
    correlation = _lag_one(estimates[0], dates)
    unfitted = (column["open_need"][open_rows], *[None] * 5)
    return tuple(
        _result(method, estimate, dates, _lag_one(estimate, dates), confidence, expected)
        for method, estimate, expected in zip(estimators.METHODS, estimates, unfitted)
    ), correlation


def _lag_one(estimate: Estimate | None, dates: pd.DatetimeIndex) -> float:
    """Lag-one correlation of the residuals of consecutive nights, each period's scaled to unit variance.

    Corrected for the bias of short series, (1 + 3 ρ)/n: the mean of each period is taken from its own few nights, so
    that their residuals look less alike than they are. Source: Kendall 1954, Marriott and Pope 1954 (memory).
    """
    if estimate is None:
        return 0.0
    residuals = np.full(len(dates), np.nan)
    for part in estimate.periods:
        size = np.sqrt(np.mean(part.residuals**2))
        residuals[part.rows] = part.residuals / size if size > 0 else 0.0
    follows = np.diff(dates.to_numpy()) == np.timedelta64(1, "D")
    products = (residuals[1:] * residuals[:-1])[follows]
    if len(products) < 3:
        return 0.0
    raw, shortest = float(products.mean()), min(len(part.rows) for part in estimate.periods)
    return float(np.clip(raw + (1 + 3 * raw) / shortest, -0.9, 0.9))


def _variance_inflation(estimate: Estimate, dates: pd.DatetimeIndex, correlation: float) -> float:
    """Variance inflation for autocorrelated nights, at least 1.

    Σ wᵢ wⱼ ρ^|days apart| / Σ wᵢ², with weights of opposite sign for open and covered nights. For two long periods this
    is the factor of `independent_readings`; in alternating blocks most of the common drift cancels.
    """
    upper_limit = 1 / independent_readings(1.0, correlation)
    rows = np.concatenate([part.rows for part in estimate.periods])
    sizes = np.concatenate(
        [
            np.full(len(part.rows), sign * np.sqrt(part.variance / len(part.rows)))
            for sign, part in zip((-1.0, 1.0), estimate.periods)
        ]
    )
    if not np.isfinite(sizes).all() or not sizes.any():
        return upper_limit
    day = (dates[rows] - dates[0]).days.to_numpy()
    autocorrelation = max(correlation, 0.0) ** np.abs(np.subtract.outer(day, day))
    return float(np.clip(sizes @ autocorrelation @ sizes / (sizes @ sizes), 1.0, upper_limit))


def _result(
    method: Method, estimate: Estimate | None, dates: pd.DatetimeIndex, correlation: float, confidence: float, unfitted
) -> MethodResult:
    """Saving and interval of one method, from the inflated variances of both periods; t with Welch's freedom.

    unfitted: the baseline's expected use before scaling, for the bias of a method that scales it; None otherwise.
    """
    nan = float("nan")
    if estimate is None:
        return MethodResult(method, nan, -np.inf, np.inf, -np.inf, 0.0, nan, nan, nan)
    inflation = _variance_inflation(estimate, dates, correlation)
    variance, variance_of_variance, effective = estimate.model_variance, 0.0, []
    for part in estimate.periods:
        independent = max(len(part.residuals) / inflation, 1.0)
        effective.append(independent)
        own = part.variance * inflation
        variance += own
        variance_of_variance += own**2 / max(independent - part.parameters, 0.5)
    freedom = variance**2 / variance_of_variance if 0 < variance_of_variance < np.inf else 0.5
    half, proof = (
        float(stdtrit(freedom, 0.5 + level / 2) * np.sqrt(variance)) if np.isfinite(variance) else np.inf
        for level in (confidence, PROOF)
    )
    saving = 1 - estimate.ratio
    scatter = bias = uncertainty = nan
    parameters, count = estimate.periods[0].parameters, len(estimate.measured)
    if count > parameters and estimate.measured.mean() > 0:
        scatter = cv_rmse(estimate.measured, estimate.predicted, parameters)
        bias = nmbe(
            estimate.measured,
            estimate.predicted if unfitted is None else unfitted,
            parameters if unfitted is None else 0,
        )
        if method.fair and effective[0] > parameters and -10 < saving < 1 and saving != 0:
            uncertainty = savings_uncertainty(
                confidence, scatter, saving, count, parameters, effective[0], len(estimate.periods[1].residuals)
            )
    return MethodResult(
        method,
        saving,
        saving - half,
        saving + half,
        saving - proof,
        float(sum(effective)),
        scatter,
        bias,
        uncertainty,
    )

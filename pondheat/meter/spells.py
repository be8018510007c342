"""How sure a saving is that was measured in two spells: readings that count, scatter of a fit, uncertainty."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from pondheat.ranges import OutOfRange, plain, require


def independent_readings(readings, lag_one_correlation):
    """How many of some readings count as independent [–]: n (1 − ρ)/(1 + ρ).

    readings: [–]; lag_one_correlation: [–], ρ, of neighbouring residuals; floats or arrays. For residuals of which
    each leans on the one before only. A negative ρ is taken as 0: it must not make more readings than were taken.
    Raises OutOfRange. Source: ASHRAE Guideline 14 (memory); agrees with the sum over all lags.

    >>> round(independent_readings(readings=168.0, lag_one_correlation=0.9), 2)      # a week of hours
    8.84
    """
    require(readings=readings, lag_one_correlation=lag_one_correlation)
    correlation = np.maximum(np.asarray(lag_one_correlation, float), 0.0)
    return plain(np.asarray(readings, float) * (1 - correlation) / (1 + correlation))


def cv_rmse(measured, predicted, parameters):
    """Scatter of a fit over the mean of what was measured [–]: √(Σ(measured − predicted)²/(n − p)) / mean(measured).

    measured, predicted: [–], one list each, in any one unit; parameters: [–], p, number of fitted parameters.
    The divisor is n − p as in ASHRAE Guideline 14 and CalTRACK 4.3.2.2; texts that divide by n get less.
    Raises OutOfRange for lists of different length, for no more readings than parameters, and for a mean that is not
    above 0. Source: ASHRAE Guideline 14-2014; CalTRACK 2.0.

    >>> round(cv_rmse([50, 60, 55, 70, 65, 80], [52, 58, 57, 66, 68, 78], parameters=2), 5)
    0.05055
    """
    measured, predicted = np.asarray(measured, float), np.asarray(predicted, float)
    require(parameters=parameters)
    if measured.ndim != 1 or measured.shape != predicted.shape:
        raise OutOfRange("measured and predicted must be two lists of the same length.")
    if not (np.isfinite(measured).all() and np.isfinite(predicted).all()):
        raise OutOfRange("measured or predicted holds a value that is not a number.")
    if len(measured) <= parameters:
        raise OutOfRange(f"{len(measured)} readings are too few for a fit with {parameters:g} parameters.")
    if measured.mean() <= 0:
        raise OutOfRange("The mean of the measured values must be above 0: a scatter is compared with it.")
    return float(np.sqrt(((measured - predicted) ** 2).sum() / (len(measured) - parameters)) / measured.mean())


def savings_uncertainty(confidence, cv_rmse, saving_fraction, baseline_readings, parameters, independent,
                        reporting_readings):
    """Half-width of the band round a measured saving, as a fraction of that saving [–].

    t · 1.26 · cv_rmse/F · √((n/n′) (1 + 2/n′)/m), t two-sided at `confidence` with n′ − p degrees of freedom.
    confidence: [–]; cv_rmse: [–], of the baseline's fit; saving_fraction: [–], F; baseline_readings: [–], n;
    parameters: [–], p; independent: [–], n′, readings of the baseline that count; reporting_readings: [–], m; floats
    or arrays. For a baseline fitted by regression and applied to the weather of the other spell. Above 1 the saving
    is not shown. Raises OutOfRange, also for n′ ≤ p and for F = 0.
    Source: ASHRAE Guideline 14-2014 Annex B, as in CalTRACK 2.0 section 4.3.

    >>> one_week = {"baseline_readings": 7, "independent": 7, "reporting_readings": 7, "parameters": 2}
    >>> round(savings_uncertainty(confidence=0.9, cv_rmse=0.3, saving_fraction=0.5, **one_week), 2)
    0.65
    """
    require(confidence=confidence, cv_rmse=cv_rmse, saving_fraction=saving_fraction,
            baseline_readings=baseline_readings, parameters=parameters, independent=independent,
            reporting_readings=reporting_readings)
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

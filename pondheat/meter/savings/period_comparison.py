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
from pondheat.meter.savings import estimators, night_readings, observations
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.estimators import Method
from pondheat.meter.savings.interval_fit import Basis, SavingFit, Undetermined, fit
from pondheat.meter.savings.night_readings import COVERED, FORGOTTEN, OPEN
from pondheat.meter.savings.observations import CoverTimes, Observations
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
        raise OutOfRange("A saving of zero has no uncertainty as a share of itself.")
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
        raise OutOfRange("Give a saving above zero: how small a saving is to be shown?")
    t = stdtrit(freedom, 0.5 + np.asarray(confidence, float) / 2) + stdtrit(freedom, np.asarray(chance, float))
    return plain(t * np.asarray(cv_rmse, float) * np.sqrt(1 / n + 1 / m) / np.asarray(saving_fraction, float))


# --- comparison -------------------------------------------------------------------------------------------------------


def compare(
    aligned: Aligned,
    *,
    covered: Sequence[dt.date] | None = None,
    open_nights: Sequence[dt.date] | None = None,
    periods: Sequence[tuple[str, object, object]] | None = None,
    cover_times: CoverTimes | None = None,
    confidence: float = LIKELY,
    forgotten: str = FORGOTTEN[0],
) -> Comparison:
    """Compare open and covered nights by six methods, with intervals and a plain verdict.

    aligned: from `alignment.align`; covered, open_nights, periods: which nights are which, see
    `night_readings.label_nights`; cover_times: minutes after midnight at which the cover is put on and taken off,
    needed if readings straddle nights (None: noon to noon); confidence: [–] of the intervals, two-sided (a saving is
    shown at the stricter `core.likely.PROOF`); forgotten: what to do with covered nights that look as if the cover had
    been forgotten: "left out", "counted as open" or "kept". Raises OutOfRange.
    """
    require(confidence=confidence)
    choose("handling of forgotten nights", forgotten, FORGOTTEN)
    all_nights = night_readings.label_nights(aligned, covered=covered, open_nights=open_nights, periods=periods)
    observed = observations.observe(aligned, all_nights, cover_times)
    suspect = np.zeros(len(all_nights.days), bool)
    if not observed.mixed:  # a night's use is known by itself
        suspect = night_readings.forgotten_nights(all_nights)
    nights, sentences = without_forgotten(all_nights, suspect, forgotten)
    kept = observations.observe(aligned, nights, cover_times) if suspect.any() else observed
    outcomes, first = _results(aligned, kept, confidence)
    days = nights.days
    need = [days.loc[nights.labelled(label), "open_need"].mean() for label in (OPEN, COVERED)]
    weather_alone = float(need[1] / need[0])
    sentences = [*aligned.notes, *nights.notes, *sentences]
    if night_readings.usually_long(aligned) and kept.left_out:
        sentences.append(
            f"{counted(kept.left_out, 'metered hour', 'metered hours')} left out: their readings don't say "
            "throughout whether the cover was on, or are shorter than the rest."
        )
    if suspect.any() and forgotten == FORGOTTEN[0]:
        with_them, _ = _by_model(aligned, observed, _measured(aligned, observed)["used"], confidence)
        sentences.append(
            f"Counting them, the saving would be {percent(with_them.saving)} ({percent(with_them.low)} to "
            f"{percent(with_them.high)})."
        )
    sentences.append(
        f"The weather alone makes the covered nights use {percent(abs(weather_alone - 1))} "
        f"{'less' if weather_alone < 1 else 'more'} than the open ones."
    )
    shown, verdict = verdict_of(outcomes, nights, kept.mixed, confidence)
    marked = replace(all_nights, days=all_nights.days.assign(forgotten=suspect))
    return Comparison(
        outcomes,
        marked,
        confidence,
        weather_alone,
        first.expected / len(days[nights.labelled(COVERED)]),
        shown,
        verdict,
        tuple(sentences),
    )


def _measured(aligned: Aligned, observed: Observations) -> dict[str, np.ndarray]:
    """Measured in each reading [kWh]: “kwh”, “heat”, “used”; raises OutOfRange where these can't be compared."""
    measured = {name: observed.measured[name].to_numpy(float) for name in ("kwh", "heat", "used")}
    opened = observed.covered_part < 0.5
    for label, inside in ((OPEN, observed.in_open), (COVERED, observed.in_covered)):
        expected = aligned.hours.loc[inside, ["open_need", "degree_hours"]].sum()
        if (expected <= 0).any():
            raise OutOfRange(f"In the {label} nights the open pond would have needed no heat: wait for colder weather.")
    if measured["used"][opened].sum() <= 0 or measured["heat"][opened].sum() <= 0:
        raise OutOfRange(
            "The heater gave nothing in the open nights: is the base load too high, or the water too warm?"
        )
    return measured


def _by_model(
    aligned: Aligned, observed: Observations, used: np.ndarray, confidence: float
) -> tuple[MethodResult, SavingFit]:
    """Result and fit of the first method; used: [kWh] of each reading."""
    basis = estimators.modelled_basis(aligned)
    found = fit(aligned, observed, used, basis)
    return _result(estimators.METHODS[0], found, observed, used, basis, confidence, 1.0), found


def _results(aligned: Aligned, observed: Observations, confidence: float) -> tuple[tuple[MethodResult, ...], SavingFit]:
    """Results of all methods, and the fit of the first one; raises OutOfRange."""
    measured = _measured(aligned, observed)
    by_model, first = _by_model(aligned, observed, measured["used"], confidence)
    fits: list[tuple[SavingFit | None, str, Basis | None]] = []
    try:
        basis = estimators.weather_basis(aligned, observed)
        fits.append((fit(aligned, observed, measured["used"], basis), "used", basis))
    except Undetermined:
        fits.append((None, "used", None))
    hours, degree_hours = (estimators.plain_basis(aligned, column) for column in ("hours", "degree_hours"))
    for name, basis in (("kwh", hours), ("kwh", degree_hours), ("heat", degree_hours)):
        fits.append((fit(aligned, observed, measured[name], basis), name, basis))
    fits.insert(1, fits[1])  # totals and means of a day are one fit
    nights = [len(pd.unique(observed.night[inside])) for inside in (observed.in_open, observed.in_covered)]
    length = [1.0, nights[1] / nights[0], 1.0, 1.0, 1.0]  # a sum grows with its nights
    others = (
        _result(method, found, observed, measured[name], basis, confidence, times)
        for method, (found, name, basis), times in zip(estimators.METHODS[1:], fits, length)
    )
    return (by_model, *others), first


def _result(
    method: Method,
    found: SavingFit | None,
    observed: Observations,
    measured: np.ndarray,
    basis: Basis | None,
    confidence: float,
    length: float,
) -> MethodResult:
    """Saving and interval of one method, and the scatter of its baseline in the open readings.

    length: covered over open nights, for a method that compares sums; otherwise 1.
    """
    nan = float("nan")
    if found is None or basis is None:
        return MethodResult(method, nan, -np.inf, np.inf, -np.inf, 0.0, nan, nan, nan)
    saving = 1 - (1 - found.saving) * length
    half, proof = (found.half_width(level) * length for level in (confidence, PROOF))
    opened = observed.covered_part == 0
    count, parameters = int(opened.sum()), basis.open_hours.shape[1]
    correlation = float(np.exp(-24 / found.lasting)) if np.isfinite(found.lasting) else 0.0
    independent = independent_readings(float(count), correlation) if count else 0.0
    scatter = bias = uncertainty = nan
    if count > parameters and measured[opened].mean() > 0:
        expected = (observed.sums @ basis.open_hours)[opened]
        predicted = expected @ found.rates
        scatter = cv_rmse(measured[opened], predicted, parameters)
        scaled_up = method is not estimators.METHODS[0]  # the model's own expectation has a bias worth reporting
        bias = nmbe(measured[opened], predicted if scaled_up else expected[:, 0], parameters if scaled_up else 0)
        if method.fair and independent > parameters and -10 < saving < 1 and saving != 0:
            uncertainty = savings_uncertainty(
                confidence, scatter, saving, count, parameters, independent, int((~opened).sum())
            )
    return MethodResult(
        method, saving, saving - half, saving + half, saving - proof, independent, scatter, bias, uncertainty
    )

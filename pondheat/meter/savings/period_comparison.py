"""What a cover saved, from an open and a covered spell: six ways side by side, how sure each is, and a plain verdict.

First the measures of sureness that any comparison shares; then `analysis.savings_comparison`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.units import digits
from pondheat.meter.savings import estimators, night_readings
from pondheat.meter.savings.alignment import Aligned
from pondheat.meter.savings.estimators import Estimate, Way
from pondheat.meter.savings.night_readings import COVERED, FORGOTTEN, OPEN, Nights


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
    measured, predicted = _pair(measured, predicted, parameters)
    return float(np.sqrt(((measured - predicted) ** 2).sum() / (len(measured) - parameters)) / measured.mean())


def _pair(measured, predicted, parameters) -> tuple[np.ndarray, np.ndarray]:
    """Two lists that can be held against each other; raises OutOfRange."""
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
    return measured, predicted


def savings_uncertainty(
    confidence, cv_rmse, saving_fraction, baseline_readings, parameters, independent, reporting_readings
):
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
    """Normalised mean bias error of a model [–]: Σ(measured − predicted)/((n − p) mean(measured)); above 0 it says too
    little.

    measured, predicted: [–], one list each, in any one unit; parameters: [–], p, number of fitted parameters.
    Raises OutOfRange as `cv_rmse`. Source: ASHRAE Guideline 14-2014 (memory), whose sign this is.

    >>> round(nmbe([50, 60, 55, 70, 65, 80], [45, 54, 50, 63, 58, 72]), 3)
    0.1
    """
    measured, predicted = _pair(measured, predicted, parameters)
    return float((measured - predicted).sum() / (len(measured) - parameters) / measured.mean())


def share_needed(saving_fraction, cv_rmse, baseline_readings, reporting_readings, confidence=0.9, chance=0.8):
    """How big the heater's share of a meter must be before a saving on the heater can be shown [–].

    (t(confidence) + t(chance)) · cv_rmse · √(1/n + 1/m) / saving_fraction, t with n + m − 2 degrees of freedom.
    saving_fraction: [–], of the heater's use; cv_rmse: [–], scatter of the whole meter's independent days over their
    mean; baseline_readings, reporting_readings: [–], n and m; confidence: [–], two-sided; chance: [–] with which such a
    saving is then shown; floats or arrays. Above 1 it cannot be shown on this meter: log the heater by itself, or for
    longer. Raises OutOfRange. Source: two-sample comparison of means, by definition; the sum of two t is the usual
    approximation to its power.

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


FEWEST_NIGHTS = 3  # of each kind for a verdict: the scatter of two can be small by luck (judgement)


# --- two spells compared --------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Outcome:
    """What one way says: saving [–], low and high of its interval [–]; independent: nights that count, open and covered
    together; cv_rmse, nmbe [–] of its baseline; uncertainty [–]: half-width over the saving in the form of Guideline 14
    (nan where it has none)."""

    way: Way
    saving: float
    low: float
    high: float
    independent: float
    cv_rmse: float
    nmbe: float
    uncertainty: float

    @property
    def shown(self) -> bool:
        """Whether the whole interval lies above nothing."""
        return bool(self.low > 0)


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two spells side by side. outcomes: in the order of `meter.savings.estimators.WAYS`; nights: the readings, with `forgotten`;
    weather_alone: modelled open loss of the covered nights over that of the open ones [–], per night; shown; verdict:
    one sentence; sentences: what a reader should know besides."""

    outcomes: tuple[Outcome, ...]
    nights: Nights
    confidence: float
    weather_alone: float
    lag_one_correlation: float
    shown: bool
    verdict: str
    sentences: tuple[str, ...]

    def table(self) -> pd.DataFrame:
        """The ways as rows, with what each says and why it misleads."""
        return pd.DataFrame(
            [
                {
                    "way": o.way.name,
                    "fair": o.way.fair,
                    "saving": o.saving,
                    "low": o.low,
                    "high": o.high,
                    "independent": o.independent,
                    "cv_rmse": o.cv_rmse,
                    "nmbe": o.nmbe,
                    "uncertainty": o.uncertainty,
                    "why": o.way.why,
                }
                for o in self.outcomes
            ]
        ).set_index("way")


def compare(
    aligned: Aligned,
    *,
    covered: Sequence[dt.date] | None = None,
    open_nights: Sequence[dt.date] | None = None,
    spells: Sequence[tuple[str, object, object]] | None = None,
    from_noon: bool = True,
    confidence: float = 0.9,
    forgotten: str = FORGOTTEN[0],
) -> Comparison:
    """Compare open and covered spells in six ways, with intervals and a plain verdict.

    aligned: from `alignment.align`; covered, open_nights, spells, from_noon: which nights are which, see
    `meter.savings.night_readings.nights_of`; confidence: [–] of the intervals, two-sided; forgotten: what becomes of covered nights
    that look as if the cover had been forgotten: "left out", "counted as open" or "kept". Raises OutOfRange.
    """
    require(confidence=confidence)
    choose("handling of forgotten nights", forgotten, FORGOTTEN)
    whole = night_readings.nights_of(
        aligned, covered=covered, open_nights=open_nights, spells=spells, from_noon=from_noon
    )
    astray = night_readings.forgotten(whole)
    nights, sentences = _without(whole, astray, forgotten)
    outcomes, correlation = _outcomes(aligned, nights, confidence)
    days = nights.days
    need = [days.loc[nights.of(label), "open_need"].mean() for label in (OPEN, COVERED)]
    alone = float(need[1] / need[0])
    sentences = [*aligned.cut, *nights.notes, *sentences]
    if astray.any() and forgotten == FORGOTTEN[0]:
        kept = _outcomes(aligned, whole, confidence)[0][0]
        sentences.append(
            f"With them kept the saving would read {_percent(kept.saving)} ({_percent(kept.low)} to "
            f"{_percent(kept.high)})."
        )
    sentences.append(
        f"The weather alone makes the covered nights use {_percent(abs(alone - 1))} "
        f"{'less' if alone < 1 else 'more'} than the open ones."
    )
    shown, verdict = _verdict(outcomes, nights, confidence)
    days = whole.days.assign(forgotten=astray)
    return Comparison(
        outcomes, replace(whole, days=days), confidence, alone, correlation, shown, verdict, tuple(sentences)
    )


def _percent(share: float) -> str:
    return f"{digits(100 * share)} %".replace("-", "−") if np.isfinite(share) else "anything"


def _without(nights: Nights, astray: np.ndarray, forgotten: str) -> tuple[Nights, list[str]]:
    """The nights to be compared, and what was done with those on which the cover seems to have been forgotten."""
    if not astray.any():
        return nights, []
    dates = ", ".join(f"{day:%Y-%m-%d}" for day in nights.days.index[astray])
    one = astray.sum() == 1
    said = [
        f"In the night{'' if one else 's'} of {dates} the pond used as much as an open one: was the cover "
        f"forgotten? "
        f"{'It was' if one else 'They were'} {forgotten if forgotten != 'kept' else 'kept as covered'}."
    ]
    if forgotten == "left out":
        return Nights(nights.days[~astray], nights.rivals[~astray], nights.notes), said
    if forgotten == "counted as open":
        days = nights.days.copy()
        days.loc[astray, "label"] = OPEN
        return replace(nights, days=days), said
    return nights, said


def _outcomes(aligned: Aligned, nights: Nights, confidence: float) -> tuple[tuple[Outcome, ...], float]:
    days = nights.days
    column = {
        name: days[name].to_numpy(float) for name in ("kwh", "heat", "used", "open_need", "degree_hours", "hours")
    }
    for label in (OPEN, COVERED):
        if column["open_need"][nights.of(label)].sum() <= 0 or column["degree_hours"][nights.of(label)].sum() <= 0:
            raise OutOfRange(f"In the {label} nights the open pond would have needed no heat: wait for colder weather.")
    if column["used"][nights.of(OPEN)].sum() <= 0 or column["heat"][nights.of(OPEN)].sum() <= 0:
        raise OutOfRange(
            "The heater gave nothing in the open nights: is the base load too high, or the water too warm?"
        )
    estimates = (
        estimators.by_ratio(nights, column["used"], column["open_need"], nights.rivals, aligned.weights),
        estimators.by_regression(nights),
        estimators.by_ratio(nights, column["kwh"], column["hours"], longer=True),
        estimators.by_ratio(nights, column["kwh"], column["hours"]),
        estimators.by_ratio(nights, column["kwh"], column["degree_hours"]),
        estimators.by_ratio(nights, column["heat"], column["degree_hours"]),
    )
    correlation = _lag_one(estimates[0], days.index)
    unfitted = (column["open_need"][nights.of(OPEN)], *[None] * 5)
    return tuple(
        _outcome(way, estimate, days.index, _lag_one(estimate, days.index), confidence, bare)
        for way, estimate, bare in zip(estimators.WAYS, estimates, unfitted)
    ), correlation


def _lag_one(estimate: Estimate | None, dates: pd.DatetimeIndex) -> float:
    """Correlation of residuals of nights that follow each other, each spell's in its own size, over both spells."""
    if estimate is None:
        return 0.0
    residuals = np.full(len(dates), np.nan)
    for part in estimate.parts:
        size = np.sqrt(np.mean(part.residuals**2))
        residuals[part.rows] = part.residuals / size if size > 0 else 0.0
    follows = np.diff(dates.to_numpy()) == np.timedelta64(1, "D")
    products = (residuals[1:] * residuals[:-1])[follows]
    return float(np.clip(products.mean(), -0.9, 0.9)) if len(products) > 2 else 0.0


def _stretch(estimate: Estimate, dates: pd.DatetimeIndex, correlation: float) -> float:
    """By what the variance of independent nights is to be multiplied, for nights that lean on the ones before.

    Two long spells count as `independent_readings` has it; where they change about in blocks, what leans the same way
    in both cancels: Σ wᵢ wⱼ ρ^|days apart|/Σ wᵢ², open nights weighing one way and covered ones the other. Never below
    1.
    """
    most = 1 / independent_readings(1.0, correlation)
    rows = np.concatenate([part.rows for part in estimate.parts])
    sizes = np.concatenate(
        [
            np.full(len(part.rows), sign * np.sqrt(part.variance / len(part.rows)))
            for sign, part in zip((-1.0, 1.0), estimate.parts)
        ]
    )
    if not np.isfinite(sizes).all() or not sizes.any():
        return most
    day = (dates[rows] - dates[0]).days.to_numpy()
    leaning = max(correlation, 0.0) ** np.abs(np.subtract.outer(day, day))
    return float(np.clip(sizes @ leaning @ sizes / (sizes @ sizes), 1.0, most))


def _outcome(
    way: Way, estimate: Estimate | None, dates: pd.DatetimeIndex, correlation: float, confidence: float, unfitted
) -> Outcome:
    """A way's saving with its interval: the parts' variances stretched to the nights that count, t by their number
    (Welch)."""
    nan = float("nan")
    if estimate is None:
        return Outcome(way, nan, -np.inf, np.inf, 0.0, nan, nan, nan)
    stretch = _stretch(estimate, dates, correlation)
    variance, spread_of_variance, counted = estimate.model, 0.0, []
    for part in estimate.parts:
        independent = max(len(part.residuals) / stretch, 1.0)
        counted.append(independent)
        own = part.variance * stretch
        variance += own
        spread_of_variance += own**2 / max(independent - part.parameters, 0.5)
    freedom = variance**2 / spread_of_variance if 0 < spread_of_variance < np.inf else 0.5
    half = float(stdtrit(freedom, 0.5 + confidence / 2) * np.sqrt(variance)) if np.isfinite(variance) else np.inf
    saving = 1 - estimate.ratio
    scatter = bias = uncertainty = nan
    parameters, count = estimate.parts[0].parameters, len(estimate.measured)
    if count > parameters and estimate.measured.mean() > 0:
        scatter = cv_rmse(estimate.measured, estimate.predicted, parameters)
        bias = nmbe(
            estimate.measured,
            estimate.predicted if unfitted is None else unfitted,
            parameters if unfitted is None else 0,
        )
        if way.fair and counted[0] > parameters and -10 < saving < 1 and saving != 0:
            uncertainty = savings_uncertainty(
                confidence, scatter, saving, count, parameters, counted[0], len(estimate.parts[1].residuals)
            )
    return Outcome(way, saving, saving - half, saving + half, float(sum(counted)), scatter, bias, uncertainty)


def _verdict(outcomes: tuple[Outcome, ...], nights: Nights, confidence: float) -> tuple[bool, str]:
    first, second = outcomes[:2]
    few = min(nights.of(label).sum() for label in (OPEN, COVERED)) < FEWEST_NIGHTS
    count = " and ".join(f"{nights.of(label).sum()} {label}" for label in (OPEN, COVERED))
    fitted = np.isfinite(second.saving)
    band = (
        f"{_percent(first.saving)}, {_percent(confidence)} sure between {_percent(first.low)} and "
        f"{_percent(first.high)}"
    )
    if few:
        return False, f"Not shown: {count} nights are too few: how much does one differ from the next ({band})?"
    if first.shown and (second.shown or not fitted):
        return True, f"Shown: over {count} nights the cover saved {band}."
    if first.shown or second.shown:
        return False, (
            f"Not shown: over {count} nights the two fair ways disagree (against the model {band}; by "
            f"regression "
            f"{_percent(second.low)} to {_percent(second.high)}); log more nights."
        )
    if first.high < 0:
        return False, f"Not shown: over {count} nights the covered ones used more ({band})."
    return False, f"Not shown: over {count} nights a saving cannot be told from none ({band})."

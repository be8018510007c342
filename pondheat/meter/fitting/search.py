"""Search for the posterior of a pond's factors, whatever was measured: a meter's energy or a thermometer's water."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.meter.savings.period_comparison import independent_readings

TAIL = 4.0  # degrees of freedom of the t-distributed noise: robust against one forgotten night
Prediction = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True, eq=False)
class SearchResult:
    """Result of the search.

    shares: posterior weight of each model [–]; centres (models, factors), covariances (models, factors, factors) of the
    factors' logarithms; noise [kWh a day], weights and predicted [kWh]: means over the models by their shares;
    correlation: lag one, of the best model's residuals [–]; effective: number of independent days; freedom: of the
    noise.
    """

    shares: np.ndarray
    centres: np.ndarray
    covariances: np.ndarray
    noise: float
    correlation: float
    effective: float
    freedom: float
    weights: np.ndarray
    predicted: np.ndarray


def posterior_search(
    measured: np.ndarray,
    hours: np.ndarray,
    dates: pd.DatetimeIndex,
    predict: Prediction,
    widths: np.ndarray,
    model_weights: np.ndarray,
    most: np.ndarray | float = np.inf,
) -> SearchResult:
    """Posterior mode of the factors for every model, by Gauss–Newton with the noise re-estimated each step.

    measured, hours, dates: energy in kWh, length in h and date of each day; predict: takes logarithms of factors
    (models, factors) and returns the predicted energy in kWh (models, days) and its slopes (models, days, factors);
    widths: standard deviation of each logarithm's prior; model_weights: prior weights of the models; most: largest
    logarithm that makes sense.
    Source: see `pond_fit.fit`.
    """
    count, models, k = len(measured), len(model_weights), len(widths)
    precision, scale = np.diag(widths**-2.0), np.sqrt(hours / 24)  # noise grows with the root of the length
    logs, effective = np.zeros((models, k)), float(count)
    weights = np.ones((models, count))
    noise = np.zeros(0)
    for _ in range(12):
        daily, slopes = predict(logs)
        residuals, slopes = (measured - daily) / scale, slopes / scale[:, None]
        if not noise.size:
            noise = np.maximum(residuals.std(axis=1), 1e-6)
        previous, hessians, fitted_factors = logs.copy(), np.empty((models, k, k)), np.empty(models)
        for r in range(models):
            row_weights = weights[r] * effective / count / noise[r] ** 2
            hessians[r] = slopes[r].T @ (slopes[r] * row_weights[:, None]) + precision
            gradient = slopes[r].T @ (row_weights * residuals[r]) - precision @ logs[r]
            logs[r] = np.minimum(logs[r] + np.clip(np.linalg.solve(hessians[r], gradient), -0.5, 0.5), most)
            residuals[r] -= slopes[r] @ (logs[r] - previous[r])
            fitted_factors[r] = k - np.trace(
                np.linalg.solve(hessians[r], precision)
            )  # effective number of fitted factors
            noise[r] = max(np.sqrt((weights[r] * residuals[r] ** 2).sum() / max(count - fitted_factors[r], 1.0)), 1e-6)
            weights[r] = (TAIL + 1) / (TAIL + (residuals[r] / noise[r]) ** 2)
        best = int(np.argmin(noise))
        correlation = _lag_one(residuals[best] * np.sqrt(weights[best]), dates)
        effective = max(independent_readings(float(count), correlation), 2.0)
        if np.abs(logs - previous).max() < 1e-3:
            break
    daily, _ = predict(logs)
    tail_loss = np.log1p(((measured - daily) / scale / noise[best]) ** 2 / TAIL).sum(axis=1)
    misfit = (
        effective / count * (TAIL + 1) * tail_loss + ((logs / widths) ** 2).sum(axis=1) + np.linalg.slogdet(hessians)[1]
    )
    posterior = model_weights * np.exp((misfit.min() - misfit) / 2)
    posterior /= posterior.sum()
    return SearchResult(
        posterior,
        logs,
        np.linalg.inv(hessians),
        float(posterior @ noise),
        correlation,
        effective,
        max(effective - float(posterior @ fitted_factors), 3.0),
        posterior @ weights,
        posterior @ daily,
    )


def _lag_one(left, dates) -> float:
    """Lag-one correlation of daily residuals [–], corrected for the bias of short series (Kendall 1954, memory)."""
    neighbours = np.diff(dates.to_numpy()) <= np.timedelta64(25, "h")
    centred = left - left.mean()
    whole = (centred**2).mean()
    if neighbours.sum() < 3 or whole == 0:
        return 0.0
    raw = float((centred[1:] * centred[:-1])[neighbours].mean() / whole)
    return float(np.clip(raw + (1 + 3 * raw) / len(left), 0.0, 0.9))

"""Which uncertain inputs an answer depends on: variance shares, effects of single inputs, what to measure first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis.results import InputEffect
from pondheat.analysis.uncertain_inputs import meaning
from pondheat.sheet.pond_sheet import Sheet

SAVES = "the cover saves"
# A cover whose life the sheet does not name is worth buying if it pays back within so many seasons (judgement).
SEASONS_WITHOUT_LIFE = 5.0


def additive_effects(samples: dict[str, np.ndarray], result: np.ndarray) -> dict[str, np.ndarray]:
    """For each input, the result with the other inputs' additive effects removed.

    samples: values of each input by scenario; result: the answer by scenario. A fifth of the scenarios is few: by
    chance its wind, say, is stronger than in the others, and an input without any effect would seem to have the
    wind's. One least-squares fit to all inputs: a curve of the second degree in an input's rank, a level for each
    formula or construction. Few numbers for each input, as steps by fifths would fit the noise of so many inputs.
    """
    bases = {name: _basis(values) for name, values in samples.items()}
    centred = result - result.mean()
    fit = np.linalg.lstsq(np.column_stack(list(bases.values())), centred, rcond=None)[0]
    effects, at = {}, 0
    for name, basis in bases.items():
        effects[name] = basis @ fit[at : at + basis.shape[1]]
        at += basis.shape[1]
    left = centred - sum(effects.values())
    return {name: result.mean() + effects[name] + left for name in samples}


def _basis(values: np.ndarray) -> np.ndarray:
    """Columns of mean zero that an input's effect is fitted with, one row a scenario."""
    if values.dtype.kind in "UO":
        names, group = np.unique(values.astype(str), return_inverse=True)
        columns = (group[:, None] == np.arange(1, len(names))).astype(float)
    else:
        rank = np.argsort(np.argsort(values, kind="stable")) / max(len(values) - 1, 1) - 0.5
        columns = np.column_stack([rank, rank**2])
    return columns - columns.mean(axis=0)


def variance_shares(
    samples: dict[str, np.ndarray], result: np.ndarray, by_input: dict[str, np.ndarray] | None = None
) -> tuple[tuple[str, float], ...]:
    """Share of the result's variance that each input explains alone (variance of its group means), largest first.

    by_input: the result to use for each input; from `additive_effects` where None. Empty where nothing varies.
    """
    whole = result.var()
    if whole <= 0:
        return ()
    by_input = by_input or additive_effects(samples, result)
    shares = []
    for name, values in samples.items():
        group, means = _groups(values)[0], group_means(values, by_input[name]).to_numpy()
        shares.append((name, float(means[group].var() / whole)))
    return tuple(sorted(shares, key=lambda item: -item[1]))


def _groups(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number of each scenario's group, and the groups' names: formulae, or fifths from the lowest values, 0, to 4."""
    if values.dtype.kind in "UO":
        names, group = np.unique(values.astype(str), return_inverse=True)
        return group, names
    rank = np.empty(len(values), int)
    rank[np.argsort(values, kind="stable")] = np.arange(len(values))
    fifths = np.linspace(0, len(values) - 1, 6)[1:-1]
    return np.searchsorted(fifths, rank), np.arange(5)


def group_means(values: np.ndarray, result: np.ndarray) -> pd.Series:
    """Mean of the result over each group of an input: each formula, or fifths from the lowest to the highest values."""
    group, names = _groups(values)
    sums, counts = np.bincount(group, result, len(names)), np.bincount(group, minlength=len(names))
    return pd.Series(np.where(counts > 0, sums / np.maximum(counts, 1), np.nan), index=names)


def input_effects(
    sheet: Sheet,
    samples: dict[str, np.ndarray],
    result: np.ndarray,
    by_input: dict[str, np.ndarray],
    of: str,
    decides_payback: bool,
    learned: bool,
) -> tuple[InputEffect, ...]:
    """The effect of each input on the deciding result, ranked by what to measure first.

    samples, result, by_input: as of `variance_shares`; of: what the result is, in words; decides_payback: whether the
    result is a saving that a priced cover must pay for itself by; learned: whether a meter was fitted.
    """
    price, life = sheet.cover_plan.price, sheet.cover_plan.life or SEASONS_WITHOUT_LIFE
    within = "over its life" if sheet.cover_plan.life else f"within {SEASONS_WITHOUT_LIFE:g} seasons"
    effects = []
    for name, share in variance_shares(samples, result, by_input):
        means = group_means(samples[name], by_input[name])
        low, high = (means.min(), means.max()) if samples[name].dtype.kind in "UO" else (means.iloc[0], means.iloc[-1])
        overturns = None
        if decides_payback and price is not None:
            overturns = bool((low * life >= price) != (high * life >= price))
        effects.append(
            InputEffect(
                name,
                share,
                meaning(name, learned, sheet.unknown),
                of,
                float(low),
                float(np.median(result)),
                float(high),
                sheet.tariff is not None,
                overturns,
                within,
                None,
            )
        )
    return ranked(tuple(effects))


def ranked(effects: tuple[InputEffect, ...]) -> tuple[InputEffect, ...]:
    """Effects in the order of what to measure first, those that cannot be measured last.

    First what overturns the answer, then by share of variance. Where the first of all cannot be measured, each
    measurable one names it as `outweighed_by`.
    """
    by_rank = sorted(effects, key=lambda one: (not one.overturns, -one.share))
    first = by_rank[0].name if by_rank and by_rank[0].how is None else None
    return tuple(
        [replace(one, outweighed_by=first) for one in by_rank if one.how is not None]
        + [one for one in by_rank if one.how is None]
    )

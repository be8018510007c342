"""Findings of a fit in sentences: factors learned and not learned, readings that would help, outlying days."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pondheat.core.number_format import counted
from pondheat.meter.factors import FACTORS
from pondheat.meter.fitting.days import Days
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.fitting.priors import Fitted, InsufficientReadings
from pondheat.meter.reading.energy_use import start_times

LEARNED = 0.5  # a factor is learned if the readings remove this share of its prior variance
ENTANGLED = 0.6  # correlation above which two factors are known only jointly (judgement)
OUTLIER_WEIGHT = 0.4  # weight of a day that is three standard deviations off (judgement)
OUTLIER_SHARE = 0.1  # residual relative to the mean day above which it is reported (judgement)
LABELS = {
    "surface": "the open surface",
    "cover": "the cover",
    "walls": "walls and ground",
    "streams": "filter, air stones and new water",
    "sun": "the sun",
    "base": "what else is on the meter",
}
HELP = {
    "surface": "log three nights open",
    "cover": "log three nights covered",
    "walls": "log three nights covered and three open: under a cover the walls' part is larger",
    "streams": "stop the filter's air for three nights",
    "sun": "log some bright days and some dull ones",
    "base": "read the meter for a day with the heater off",
}


def _cover_confounding(conditions: Conditions, days: Days) -> tuple[str, str, tuple[int, ...]] | None:
    """Why open surface and cover are confounded, which reading helps, and the factors affected; None if they are not.

    Days that are all alike do carry a little information, but too little to rely on.
    """
    cover = conditions.pond.cover
    if cover is None or cover.kind == "film":
        return None
    covered = days.means(conditions.hourly("covered"))
    if covered.max() < 0.02:
        return "The cover was never on", "log three nights covered", (FACTORS.index("cover"),)
    if covered.std() < 0.05:
        return (
            "All nights were covered alike",
            "log three nights open",
            (FACTORS.index("surface"), FACTORS.index("cover")),
        )
    return None


def require_identified(fitted: Fitted, learn: tuple[str, ...], conditions: Conditions, days: Days) -> None:
    """Raise InsufficientReadings for the first factor in `learn` that the readings do not determine."""
    cover, confounding = conditions.pond.cover, _cover_confounding(conditions, days)
    for name in learn:
        at = FACTORS.index(name)
        if name == "cover" and (cover is None or cover.kind == "film"):
            raise InsufficientReadings(
                "The pond has no cover whose factor could be learned."
                if cover is None
                else "A film counts as part of the open surface: it has no factor of its own to learn."
            )
        if confounding is not None and at in confounding[2]:
            raise InsufficientReadings(
                f"{confounding[0]}: the open surface and the cover can't be told apart; {confounding[1]}."
            )
        if fitted.variance_reduction[at] >= LEARNED:
            continue
        other = _partner(fitted.correlation, at)
        beside = f" from {LABELS[FACTORS[other]]}" if other is not None else ""
        raise InsufficientReadings(
            f"{counted(len(fitted.days), 'such day', 'such days')} can't show {LABELS[name]}{beside}: {HELP[name]}."
        )


def _partner(correlation: np.ndarray, at: int) -> int | None:
    """The factor most correlated with this one, if strongly enough, otherwise None."""
    row = np.abs(correlation[at]).copy()
    row[at] = 0
    return int(row.argmax()) if row.max() >= ENTANGLED else None


def sentences(fitted: Fitted, conditions: Conditions, days: Days) -> Iterator[str]:
    """Yield sentences on factors learned, factors not learned, factors known only jointly, and outlying days."""
    confounding = _cover_confounding(conditions, days)
    entangled = np.zeros(len(FACTORS), bool)
    if confounding is not None:
        yield f"{confounding[0]}: the open surface and the cover can't be told apart; {confounding[1]}."
        entangled[list(confounding[2])] = len(confounding[2]) > 1
    learned = fitted.variance_reduction >= LEARNED
    for at in np.flatnonzero(learned & ~entangled).tolist():
        yield (
            f"Learned: {LABELS[FACTORS[at]]} {fitted.factors[at]:.2f} times what the sheet says (likely "
            f"{fitted.low[at]:.2f} to {fitted.high[at]:.2f})."
        )
    if not (learned | entangled).all():
        unknown = ", ".join(LABELS[FACTORS[at]] for at in np.flatnonzero(~(learned | entangled)))
        yield f"Not learned, as the range is nearly as wide as assumed: {unknown}."
    for at in range(len(FACTORS)):
        other = _partner(fitted.correlation, at)
        if other is not None and (other > at or _partner(fitted.correlation, other) != at):
            yield f"Known better together than apart: {LABELS[FACTORS[at]]} and {LABELS[FACTORS[other]]}."
    far = fitted.days["residual"].abs() > OUTLIER_SHARE * fitted.days["measured"].mean()
    outlying = fitted.days[far & (fitted.days["weight"] < OUTLIER_WEIGHT)]
    for date, residual in zip(start_times(outlying), outlying["residual"].tolist()):
        way = "more" if residual > 0 else "less"
        yield (
            f"The day from noon of {date.day} {date:%B %Y} is unusual: {abs(residual):.0f} kWh {way} than the other "
            "days suggest. Was the cover forgotten, a reading wrong, a pump off? It is given little weight."
        )
    yield (
        f"{len(fitted.days)} days count as {fitted.independent:.0f} independent ones; one day scatters by "
        f"{fitted.noise:.1f} kWh."
    )

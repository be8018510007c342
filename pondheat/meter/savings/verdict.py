"""Results of a comparison of open and covered nights: one for each method, and a plain verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.likely import LIKELY, MEANING
from pondheat.core.units import digits
from pondheat.meter.savings.estimators import Method
from pondheat.meter.savings.night_readings import COVERED, OPEN, Nights

MIXED = 0.2  # share of readings with both kinds of night above which noon is recommended (judgement)
TELLS_NOTHING = 1.0  # width of a likely range that can't tell whether a cover saves all or nothing (judgement)
MIN_NIGHTS = 3  # of each kind for a verdict: two may agree by chance (judgement)


@dataclass(frozen=True, eq=False)
class MethodResult:
    """Result of one method.

    saving [–] with the low and high end of its interval [–]; proof_low [–]: the low end at the stricter level of a
    proof (`core.likely.PROOF`); independent: effective number of nights, open and covered together; cv_rmse, nmbe [–]
    of its baseline; uncertainty [–]: half-width over the saving by Guideline 14 (nan if it does not apply).
    """

    method: Method
    saving: float
    low: float
    high: float
    proof_low: float
    independent: float
    cv_rmse: float
    nmbe: float
    uncertainty: float

    @property
    def shown(self) -> bool:
        """Whether the saving is above zero by the level of a proof."""
        return bool(self.proof_low > 0)


@dataclass(frozen=True, eq=False)
class Comparison:
    """Open and covered nights compared.

    outcomes: in the order of `estimators.METHODS`; nights: all readings, with a column `forgotten`; weather_alone: mean
    modelled need of the covered nights over that of the open ones [–]; without_cover [kWh]: heat that a covered night
    would have taken open; shown: whether a saving is shown; verdict: one
    sentence; sentences: further notes for the reader.
    """

    outcomes: tuple[MethodResult, ...]
    nights: Nights
    confidence: float
    weather_alone: float
    without_cover: float
    shown: bool
    verdict: str
    sentences: tuple[str, ...]


def percent(share: float) -> str:
    """A share as a percentage for the reader, “anything” if it is not finite."""
    return f"{digits(100 * share)} %".replace("-", "−") if np.isfinite(share) else "anything"


def without_forgotten(nights: Nights, suspect: np.ndarray, forgotten: str) -> tuple[Nights, list[str]]:
    """Nights to be compared, and a sentence on those on which the cover seems to have been forgotten."""
    if not suspect.any():
        return nights, []
    dates = ", ".join(f"{day:%Y-%m-%d}" for day in nights.days.index[suspect])
    one = suspect.sum() == 1

    def relabelled(label: str) -> pd.Series:
        return nights.label_of.where(~nights.label_of.index.isin(nights.days.index[suspect]), label)

    said = [
        f"On the night{'' if one else 's'} of {dates} the pond used as much as an open one: was the cover forgotten? "
        f"{'That night was' if one else 'Those nights were'} {forgotten if forgotten != 'kept' else 'kept as covered'}."
    ]
    if forgotten == "left out":
        return replace(nights, days=nights.days[~suspect], label_of=relabelled("")), said
    if forgotten == "counted as open":
        return replace(nights, days=nights.days.assign(label=relabelled(OPEN)), label_of=relabelled(OPEN)), said
    return nights, said


def _range_name(confidence: float) -> str:
    """How a range of this level is called: the likely range, or by its level where another one was asked for."""
    return f"likely range ({MEANING})" if confidence == LIKELY else f"{percent(confidence)} range"


def verdict_of(outcomes: tuple[MethodResult, ...], nights: Nights, mixed: float, confidence: float) -> tuple[bool, str]:
    """Whether the two fair methods, the first two, show a saving, and one sentence that says so.

    mixed: dimensionless, share of the readings that hold hours of open and of covered nights.
    """
    first, second = outcomes[:2]
    few = min(nights.labelled(label).sum() for label in (OPEN, COVERED)) < MIN_NIGHTS
    count = " and ".join(f"{nights.labelled(label).sum()} {label}" for label in (OPEN, COVERED))
    fitted = np.isfinite(second.saving)
    interval = f"{percent(first.saving)}, {_range_name(confidence)} {percent(first.low)} to {percent(first.high)}"
    more = "log more nights"
    if mixed > MIXED:
        more = (
            f"{percent(mixed)} of the readings include parts of an open and of a covered night, so read the meter at "
            "noon or log it every hour, or leave the cover on or off for several nights in a row"
        )
    if few:
        return False, f"Not shown: {count} nights are too few: how much does one differ from the next ({interval})?"
    if mixed > MIXED and not first.high - first.low < TELLS_NOTHING:
        return False, f"Not shown: these readings cannot tell open nights from covered ones: {more}."
    if first.shown and (second.shown or not fitted):
        alone = "" if fitted else " By one fair way alone: these nights don't settle the regression, the other one."
        return True, f"Shown: over {count} nights the cover saved {interval}.{alone}"
    if first.shown or second.shown:
        return False, (
            f"Not shown: over {count} nights the two fair ways disagree (against the model {interval}; by regression "
            f"{percent(second.low)} to {percent(second.high)}); {more}."
        )
    if first.low > 0:
        return False, (
            f"Not shown: over {count} nights a saving is likely ({interval}), but it could still be chance "
            f"once in 20 times: {more}."
        )
    if first.high < 0:
        return False, f"Not shown: over {count} nights the covered ones used more ({interval})."
    return False, f"Not shown: over {count} nights a saving can't be told from no saving ({interval}): {more}."

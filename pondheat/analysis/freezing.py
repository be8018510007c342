"""Whether a pond freezes through, in words: a warning that comes before any other answer."""

from __future__ import annotations

from pondheat.core.sources import Constant

FROZEN_THROUGH = 0.999  # share of the water that is ice; the rest is rounding
DEEP_ICE = Constant(
    0.5, "dimensionless", "practice", "share of the water from which a colder winter may freeze it through (judgement)"
)


def freezing_warning(frozen_share: float) -> str:
    """The warning for a season in which so much of the water turns to ice [–]; empty where there is no need for one.

    The middle of a shallow pond may be deeper than its mean, and its edges freeze first.
    """
    if frozen_share >= FROZEN_THROUGH:
        return "The pond freezes through: in this weather all its water turns to ice, and its fish die."
    if frozen_share >= DEEP_ICE.value:
        return (
            f"At its most {100 * frozen_share:.0f} % of the water is ice: a colder winter may freeze the pond through "
            "and kill its fish."
        )
    return ""

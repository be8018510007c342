"""What to say of a fit: what was learned, what was not, which reading would help, which days stand out."""

from __future__ import annotations

import numpy as np

from pondheat.meter.fitting.days import Days
from pondheat.meter.fitting.heat_terms import FACTORS, Conditions
from pondheat.meter.fitting.priors import Fitted, Untold

TOLD = 0.5  # a factor counts as learned where the readings took away half of its variance
TOGETHER = 0.6  # correlation of two factors from which they are called known only together (judgement)
STANDS_OUT = 0.4  # weight of a day three times the usual scatter off (judgement)
WORTH_A_WORD = 0.1  # share of a mean day's use from which such a day is told (judgement)
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
    "sun": "log a bright and a dull spell",
    "base": "read the meter for a day with the heater off",
}


def _cover_story(conditions: Conditions, days: Days) -> tuple[str, str, tuple[int, ...]] | None:
    """Why open surface and cover cannot be told apart, which reading would help, and the factors touched; None where
    both were seen. Days all alike do tell a little, by the model's finest shape: too little to be leaned on."""
    cover = conditions.pond.cover
    if cover is None or cover.kind == "film":
        return None
    covered = days.shares(conditions.every("covered"))
    if covered.max() < 0.02:
        return "The cover never lay on", "log three nights covered", (FACTORS.index("cover"),)
    if covered.std() < 0.05:
        return (
            "All nights were covered alike",
            "log three nights open",
            (FACTORS.index("surface"), FACTORS.index("cover")),
        )
    return None


def refuse(fitted: Fitted, learn: tuple[str, ...], conditions: Conditions, days: Days) -> None:
    """Raise `Untold` for the first name in `learn` that the readings do not tell, with the reading that would."""
    cover, story = conditions.pond.cover, _cover_story(conditions, days)
    for name in learn:
        at = FACTORS.index(name)
        if name == "cover" and (cover is None or cover.kind == "film"):
            raise Untold(
                "The pond has no cover whose factor could be learned."
                if cover is None
                else "A film is reckoned as part of the open surface: it has no factor of its own to learn."
            )
        if story is not None and at in story[2]:
            raise Untold(f"{story[0]}: open surface and cover cannot be told apart; {story[1]}.")
        if fitted.told[at] >= TOLD:
            continue
        other = _partner(fitted.correlation, at)
        beside = f" from {LABELS[FACTORS[other]]}" if other is not None else ""
        raise Untold(f"{len(fitted.days)} such days cannot tell {LABELS[name]}{beside}: {HELP[name]}.")


def _partner(linked, at) -> int | None:
    """The factor that this one is most entangled with, if it is."""
    row = np.abs(linked[at]).copy()
    row[at] = 0
    return int(row.argmax()) if row.max() >= TOGETHER else None


def sentences(fitted: Fitted, conditions: Conditions, days: Days):
    """One after another: factors learned, factors not learned, what is known only together, days that stand out."""
    story = _cover_story(conditions, days)
    entangled = np.zeros(len(FACTORS), bool)
    if story is not None:
        yield f"{story[0]}: open surface and cover cannot be told apart; {story[1]}."
        entangled[list(story[2])] = len(story[2]) > 1
    told = fitted.told >= TOLD
    for at in np.flatnonzero(told & ~entangled):
        yield (
            f"Learned: {LABELS[FACTORS[at]]} {fitted.factors[at]:.2f} times what the sheet says (90 % band "
            f"{fitted.low[at]:.2f} to {fitted.high[at]:.2f})."
        )
    if not (told | entangled).all():
        unknown = ", ".join(LABELS[FACTORS[at]] for at in np.flatnonzero(~(told | entangled)))
        yield f"Not learned, nearly as wide as assumed: {unknown}."
    for at in range(len(FACTORS)):
        other = _partner(fitted.correlation, at)
        if other is not None and (other > at or _partner(fitted.correlation, other) != at):
            yield f"Known rather together than apart: {LABELS[FACTORS[at]]} and {LABELS[FACTORS[other]]}."
    far = fitted.days["residual"].abs() > WORTH_A_WORD * fitted.days["measured"].mean()
    for date, row in fitted.days[far & (fitted.days["weight"] < STANDS_OUT)].iterrows():
        way = "more" if row["residual"] > 0 else "less"
        yield (
            f"The day from noon of {date.day} {date:%B %Y} stands out: {abs(row['residual']):.0f} kWh {way} than "
            "the rest lets expect. Was the cover forgotten, a reading wrong, a pump off? It counts for little."
        )
    yield (
        f"{len(fitted.days)} days count as {fitted.independent:.0f} independent ones; one day scatters by "
        f"{fitted.noise:.1f} kWh."
    )

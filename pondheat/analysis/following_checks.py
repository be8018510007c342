"""What may be wrong with a thermometer's log or its weather, and the verdict on a model that follows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from pondheat.sheet.pond_sheet import Sheet

GOOD, CARE, NOT_YET = "good", "usable with care", "not yet"
# Days, mean error and root mean square error [K] up to which a match is good, or usable with care. Judgement: the heat
# a pond needs grows with how much warmer it is kept than it would be without heat, so with 10 K a mean error of 0.5 K
# is about 5 % of the heat; the typical error is that reported for such models without fitting (1 K), and twice it. A
# single month may be off by twice the mean error.
LIMITS = {GOOD: (28, 0.5, 1.0), CARE: (14, 1.0, 2.0)}
LAST_CHANCE = 12  # h by which a clock may be out
DISTINCT = 0.7  # of the unexplained daily swing: another clock must leave less than this (judgement)
LEAST_SWING = 0.1  # K, standard deviation of a computed daily swing below which nothing is made of it (judgement)
TOO_LIVELY, TOO_QUIET = 1.6, 0.5  # measured over computed daily swing (judgement)
UNRELATED = 0.5  # correlation of day-to-day changes below which the weather is from elsewhere (judgement)
TOO_WARM = 3.0  # K above the computed water from which a heater is suspected (judgement)
RARE = (
    "Readings so far apart don't show how the water warms and cools within a day, so neither the clock nor the probe's "
    "place could be checked. A log of every hour would be a better test."
)


@dataclass(frozen=True)
class Suspicion:
    """Something that may be wrong: its kind, a few words, a sentence with what to do, and whether no verdict can be
    given before it is settled."""

    kind: str
    short: str
    sentence: str
    severe: bool


@dataclass(frozen=True)
class Verdict:
    """GOOD, CARE or NOT_YET, the reasons in sentences, and whether it needs the learned values in the sheet."""

    level: str
    reasons: tuple[str, ...]
    with_learned: bool


def suspicions(scored: pd.DataFrame, sheet: Sheet, hourly: bool, own_days: bool) -> tuple[Suspicion, ...]:
    """Everything that seems wrong, the most serious first.

    scored: rows of `following.Following.frame`; hourly: whether they are hourly means; own_days: whether the weather
    was measured on those days.
    """
    if not own_days:
        return (
            Suspicion(
                "typical year",
                "the weather is a typical year's",
                "The weather is a typical year's, not that of the log's days, so this comparison is only a trial. "
                "Give the weather of those days, from a station nearby.",
                True,
            ),
        )
    scale = _fahrenheit(scored)
    found: list[Suspicion | None] = [scale] if scale else [_other_weather(scored), _heated(scored, sheet)]
    if hourly:
        swing = _swing(scored)
        probe = _probe(swing)
        found.append(probe if probe is not None and probe.severe else _clock(swing) or probe)
    return tuple(sorted((one for one in found if one is not None), key=lambda one: not one.severe))


def _fahrenheit(scored: pd.DataFrame) -> Suspicion | None:
    """Whether the numbers fit far better in the other scale."""
    measured, computed = scored["measured"], scored["computed"]
    error = (measured - computed).abs().mean()
    for scale, other, as_other in (("°C", "°F", (measured - 32) / 1.8), ("°F", "°C", measured * 1.8 + 32)):
        if error > TOO_WARM and (as_other - computed).abs().mean() < 0.5 * error:
            return Suspicion(
                "scale",
                f"the log may be in {other}",
                f"Taken as {scale}, the log is [Δ{error:.0f} °C] away from the computed water; taken as {other} it "
                f'would be far closer. Is it in {other}? Then give unit="{other}".',
                True,
            )
    return None


def _heated(scored: pd.DataFrame, sheet: Sheet) -> Suspicion | None:
    """Whether the water is too warm for an unheated pond."""
    warmer = -float(scored["error"].mean())
    if warmer <= TOO_WARM:
        return None
    heater = (
        "The sheet has a heater, which is left out here: was it on?"
        if sheet.heater.kind != "none" and sheet.set_point
        else "Was a heater on?"
    )
    return Suspicion(
        "heated",
        "the water is warmer than an unheated pond's",
        f"The measured water is [Δ{warmer:.0f} °C] warmer on average than this pond would be without heat. {heater} "
        "The log of a heated pond can't test this; its meter can: season --meter. If nothing heated it, is the "
        "weather that of another place, does warm spring water flow in, or was the probe in the sun?",
        True,
    )


def _other_weather(scored: pd.DataFrame) -> Suspicion | None:
    """Whether the water's day-to-day changes don't match the weather."""
    means = scored[["measured", "computed"]].groupby(pd.DatetimeIndex(scored.index).date).mean().diff().dropna()
    if len(means) < 10 or means["computed"].std() < 0.2:
        return None
    still = means["measured"].std() < 0.5 * means["computed"].std()
    alike = float(means["measured"].corr(means["computed"])) if means["measured"].std() > 0 else 0.0
    if alike >= UNRELATED or (still and scored["error"].mean() < -TOO_WARM):  # held by a thermostat
        return None
    return Suspicion(
        "weather",
        "the water doesn't follow this weather",
        "From day to day the measured water doesn't rise and fall with this weather "
        f"(correlation {alike:.1f}; 1 would be in step). Is the weather of another place or another year, are the "
        "dates of the log wrong, or is the probe not in the water?",
        True,
    )


def _swing(scored: pd.DataFrame) -> pd.DataFrame:
    """Measured and computed water less their running daily means, hour by hour; NaN where a day has gaps."""
    index = pd.DatetimeIndex(scored.index)
    whole = scored[["measured", "computed"]].reindex(pd.date_range(index[0], index[-1], freq="h"))
    return whole - whole.rolling(25, center=True, min_periods=25).mean()


def _clock(swing: pd.DataFrame) -> Suspicion | None:
    """Whether another clock fits the daily swing clearly better."""
    if swing["measured"].count() < 7 * 24 or swing["computed"].std() < LEAST_SWING or not swing["measured"].std() > 0:
        return None
    shifts = range(-LAST_CHANCE, LAST_CHANCE + 1)
    alike = {by: float(swing["computed"].shift(by).corr(swing["measured"])) for by in shifts}
    best = max(alike, key=lambda by: alike[by])
    now = max(alike[0], 0.0)
    if best == 0 or alike[best] < 0.5 or 1 - alike[best] ** 2 > DISTINCT * (1 - now**2):
        return None
    hours = f"{abs(best)} {'hour' if abs(best) == 1 else 'hours'}"
    return Suspicion(
        "clock",
        f"the clocks seem {hours} apart",
        f"The daily ups and downs fit distinctly better if each reading is taken as {hours} "
        f"{'earlier' if best > 0 else 'later'}. Was the logger's clock on winter time or on UTC (give "
        'clock="standard" or clock="utc"), is a time the end of its interval (stamps="end"), or is the weather\'s '
        "clock wrong?" + (" A probe deep in the water also lags by an hour or more." if 0 < best <= 4 else ""),
        abs(best) > 1,
    )


def _probe(swing: pd.DataFrame) -> Suspicion | None:
    """Whether the probe sees more or less of the daily swing than the whole pond can have."""
    both = swing.dropna()
    if len(both) < 7 * 24 or both["computed"].std() < LEAST_SWING:
        return None
    ratio = float(both["measured"].std() / both["computed"].std())
    if ratio > TOO_LIVELY:
        return Suspicion(
            "probe in the sun",
            "the probe sees too large a daily swing",
            f"From day to night the probe swings {ratio:.1f} times as much as the whole pond can. Is it in the sun, "
            "near the surface or out of the water, or is the pond shallower than the sheet says? Put it in the shade, "
            "half way down.",
            True,
        )
    if ratio < TOO_QUIET:
        return Suspicion(
            "layers",
            "the probe sees too small a daily swing",
            f"From day to night the probe swings only {ratio:.1f} times as much as a well-mixed pond would. It may be "
            "deep down, in a layer of its own that the surface doesn't reach, or the pond may be deeper than the sheet "
            "says. Measure once near the surface and once near the bottom on a sunny afternoon.",
            False,
        )
    return None


# --- verdict ------------------------------------------------------------------------------------------------------


class Errors(NamedTuple):
    """Mean and root mean square error [K], and the name and mean error [K] of the month furthest out."""

    bias: float
    rmse: float
    month: str
    month_bias: float


def verdict_of(found: tuple[Suspicion, ...], days: int, hourly: bool, errors: Errors, after: Errors | None) -> Verdict:
    """The verdict on a model's match.

    days: scored; hourly: whether the log shows the daily swing; errors: as the sheet is; after: on held-back days with
    learned values, None where these are not better.
    """
    if any(one.severe for one in found):
        return Verdict(NOT_YET, tuple(one.sentence for one in found), False)
    level, reasons = _level(days, errors)
    better, others = _level(days, after) if after is not None else (level, reasons)
    with_learned = _ORDER.index(better) < _ORDER.index(level)
    if with_learned:
        level, reasons = better, others
    blind = () if hourly else (RARE,)
    if (found or blind) and level == GOOD:
        level = CARE
    return Verdict(level, (*reasons, *blind, *(one.sentence for one in found)), with_learned)


_ORDER = (GOOD, CARE, NOT_YET)


def _off(bias: float) -> str:
    return f"[Δ{abs(bias):.1f} °C] too {'warm' if bias > 0 else 'cold'}"


def _level(days: int, errors: Errors) -> tuple[str, tuple[str, ...]]:
    """The level that days and errors reach, and what keeps it from the next better one."""
    missed: tuple[str, ...] = ()
    for level in (GOOD, CARE):
        least, bias, rmse = LIMITS[level]
        reasons = []
        if days < least:
            reasons.append(f"The log has {days} days to score; {least} are needed for “{level}”.")
        if round(abs(errors.bias), 1) > bias:
            reasons.append(f"On average the computed water is {_off(errors.bias)}; “{level}” allows [Δ{bias:g} °C].")
        if round(abs(errors.month_bias), 1) > 2 * bias:
            reasons.append(
                f"In {errors.month} it is {_off(errors.month_bias)} on average; “{level}” allows [Δ{2 * bias:g} °C] in "
                "a single month."
            )
        if round(errors.rmse, 1) > rmse:
            reasons.append(f"The typical error is [Δ{errors.rmse:.1f} °C]; “{level}” allows [Δ{rmse:g} °C].")
        if not reasons:
            return level, missed
        missed = tuple(reasons)
    return NOT_YET, missed

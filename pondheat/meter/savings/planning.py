"""A plan for a log: how many nights, in which order, and how other orders perform, from trials with synthetic logs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from pondheat.core.likely import LIKELY, MEANING, PROOF
from pondheat.core.ranges import OutOfRange, choose, require
from pondheat.meter.reading.energy_use import start_times
from pondheat.meter.savings import alignment, synthetic_logs
from pondheat.meter.savings.trials import Site, Trial, design_performance, trial

DESIGNS = ("blocks of two", "blocks of three", "single alternate nights", "one block each")
MIN_NIGHTS = 12  # three blocks of two nights of each kind, so that each kind sees varied weather (judgement)
PILOT_NIGHTS = 16  # nights of each trial log that estimates the width of the interval
PILOT_LOGS = 10


@dataclass(frozen=True, eq=False)
class Plan:
    """A plan for a log.

    nights: number in all, half of them open; enough: whether so many show the saving; order: "open" or "covered" for
    each night; expected_half_width [–] of the interval around the saving; designs: for each order of nights the mean
    and root mean square error of the saving [–], the interval's half-width [–], how often a saving was shown and how
    often the interval contained the true value [–]; front: the two weeks of this weather that would mislead totals
    most; sentences: for the reader.
    """

    nights: int
    enough: bool
    order: tuple[str, ...]
    expected_half_width: float
    designs: pd.DataFrame
    front: WeatherFront
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class WeatherFront:
    """Two consecutive weeks, the second the milder.

    first, second: first day of each; claimed: the saving that totals would show for a pond that was never covered [–].
    """

    first: dt.date
    second: dt.date
    claimed: float


def order_of(design: str, nights: int, seed: int) -> tuple[str, ...]:
    """Label of each night for a design; seed: decides at random which block of each pair comes first."""
    choose("order of nights", design, DESIGNS)
    rng = np.random.default_rng(seed)
    length = {"blocks of two": 2, "blocks of three": 3, "single alternate nights": 1}.get(design, (nights + 1) // 2)
    pairs = -(-nights // (2 * length))
    swapped = rng.random(pairs) < 0.5
    if length == 1:
        swapped[:] = swapped[0]  # open, covered, open, covered
    labels: list[str] = []
    for is_swapped in swapped:
        pair = ["open"] * length + ["covered"] * length
        labels += pair[::-1] if is_swapped else pair
    return tuple(labels)


def nights_needed(
    half_width: float,
    nights: int,
    saving_fraction: float,
    confidence: float = LIKELY,
    chance: float = 0.8,
    most: int = 400,
) -> int | None:
    """Number of nights that show a saving with a given probability; None if more than `most`.

    half_width: of the interval around the saving after `nights` nights (0.1 for 10 points); saving_fraction: [–];
    confidence: [–] of the interval; chance: [–], power, the probability that the saving is then shown, at the level
    `core.likely.PROOF`. The half-width falls as t/√n; the saving must exceed the proof's half-width by the t value of
    the power. Multiples of four, at least 12. Source: two-sample comparison of means, by definition.

    >>> nights_needed(0.1, 16, 0.15), nights_needed(0.1, 16, 0.4)
    (28, 12)
    """
    require(saving_fraction=saving_fraction, confidence=confidence, chance=chance)

    def t(count: int, probability: float) -> float:
        return float(stdtrit(count - 2, probability))

    error = half_width * np.sqrt(nights) / t(nights, 0.5 + confidence / 2)
    for count in range(MIN_NIGHTS, most + 1, 4):
        if saving_fraction >= error / np.sqrt(count) * (t(count, 0.5 + PROOF / 2) + t(count, chance)):
            return count
    return None


def plan(
    site: Site,
    saving_fraction: float,
    scatter: float | None = None,
    *,
    confidence: float = LIKELY,
    chance: float = 0.8,
    seed: int = 1,
    trials: int = 8,
    designs=("blocks of two", "single alternate nights", "one block each"),
    progress: Callable[[float], None] | None = None,
) -> Plan:
    """Plan how many nights to log, and in which order, to show a saving of a given size.

    saving_fraction: [–] to be shown, of the energy of the covered nights; scatter: standard deviation of a night's use
    over its modelled open loss, relative to the mean, from the keeper's own log; None estimates it from synthetic logs.
    confidence: [–] of the interval; chance: [–], probability that the saving is then shown; trials: logs for each
    design; progress: called with the share done. Raises OutOfRange, also if the cover saves less or there is too little
    weather.
    """
    require(saving_fraction=saving_fraction, confidence=confidence, chance=chance)
    if saving_fraction <= 0:
        raise OutOfRange("Give a saving above zero: how small a saving is to be shown?")
    available = len(site.index) // 24 - 6
    if available < MIN_NIGHTS:
        raise OutOfRange(f"The weather has room for {max(available, 0)} nights, a plan has at least {MIN_NIGHTS}.")
    # raises where even the full cover saves less
    synthetic_logs.pond_with_saving(site.pond, site.index, site.air, site.schedule, saving_fraction, **site.heating)
    total = len(designs) * trials + (PILOT_LOGS if scatter is None else 0)
    logs = _Trials(site, saving_fraction, confidence, seed, available, total, progress)
    if scatter is None:
        pilot = min(PILOT_NIGHTS, available)
        width = _pilot_width(logs, pilot)
    else:
        pilot = PILOT_NIGHTS
        covered_ratio = 1 - saving_fraction
        width = _t(pilot, confidence) * scatter * np.sqrt((1 + covered_ratio**2) * 2 / pilot)
    needed = nights_needed(width, pilot, saving_fraction, confidence, chance)
    nights = min(needed or available, available) // 4 * 4
    performance = {design: design_performance(logs.of(design, nights, range(trials))) for design in designs}
    made = Plan(
        nights,
        enough=needed is not None and needed <= available,
        order=order_of(DESIGNS[0], nights, int(np.random.default_rng(seed).integers(2**31))),
        expected_half_width=float(width * np.sqrt(pilot / nights) * _t(nights, confidence) / _t(pilot, confidence)),
        designs=pd.DataFrame(performance).T.rename_axis("design"),
        front=passing_front(site),
        sentences=(),
    )
    return replace(made, sentences=_sentences(made, site, saving_fraction, needed, chance))


def _t(nights: int, confidence: float) -> float:
    """Student's t of a two-sided interval from so many nights of two kinds."""
    return float(stdtrit(nights - 2, 0.5 + confidence / 2))


@dataclass
class _Trials:
    """The trials of one plan, which tell its progress; available: nights in the weather; total: number of trials."""

    site: Site
    saving_fraction: float
    confidence: float
    seed: int
    available: int
    total: int
    progress: Callable[[float], None] | None
    done: int = 0

    def of(self, design: str, nights: int, numbers: range) -> list[Trial]:
        """Trials of a design by their numbers, without those that could not be logged."""
        return [one for number in numbers if (one := self._trial(design, nights, number)) is not None]

    def _trial(self, design: str, nights: int, number: int) -> Trial | None:
        seed, order = self.seed + number, order_of(design, nights, self.seed + number)
        latest = max(self.available - len(order), 2)
        first_night = int(np.random.default_rng((self.seed, number)).integers(2, latest + 1))
        try:
            return trial(self.site, order, first_night, seed, self.saving_fraction, confidence=self.confidence)
        except OutOfRange:  # too mild: an open pond would need no heat, and nobody would log
            return None
        finally:
            self.done += 1
            if self.progress is not None:
                self.progress(self.done / self.total)


def _pilot_width(logs: _Trials, nights: int) -> float:
    """Half-width of the interval around the saving [–], the mean of trials with so many nights."""
    widths = [
        max((o.high - o.low) / 2 for o in one.comparison.outcomes[:2] if np.isfinite(o.saving))
        for one in logs.of(DESIGNS[0], nights, range(1000, 1000 + PILOT_LOGS))
    ]
    if not widths:
        raise OutOfRange("In this weather the open pond hardly needs heat: plan the log for a colder time.")
    return float(np.mean(widths))


def passing_front(site: Site, days: int = 7) -> WeatherFront:
    """The two consecutive periods of this weather that differ most: the trap of "one week open, one week covered".

    days: length of each period. Compares the open pond's modelled need at the set point. Raises OutOfRange if there is
    too little weather.
    """
    log = pd.DataFrame({"kwh": 0.0, "hours": 1.0}, index=site.index)
    hours = alignment.align(
        log, site.pond, site.index, site.air, set_point=site.set_point, pump_heat=site.pump_heat
    ).hours
    need = hours["open_need"].clip(lower=0.0)
    daily = need.groupby(start_times(need.to_frame()).tz_localize(None).normalize()).sum()
    period_need = daily.rolling(days).sum().to_numpy()
    if len(daily) < 2 * days or not np.nanmax(period_need) > 0:
        raise OutOfRange(f"The weather is too short, or too mild, for two periods of {days} days.")
    first, second = period_need[days - 1 : -days], period_need[2 * days - 1 :]
    # only periods with at least half of the usual need
    ratio = np.where(first > 0.5 * np.nanmedian(period_need), second / np.maximum(first, 1e-9), np.inf)
    at = int(np.argmin(ratio))
    return WeatherFront(daily.index[at].date(), daily.index[at + days].date(), float(1 - ratio[at]))


def _sentences(made: Plan, site: Site, saving: float, needed: int | None, chance: float) -> tuple[str, ...]:
    """What a plan says; needed: nights, None for more than 400."""
    half, front = made.nights // 2, made.front
    sentences = [
        f"Log {made.nights} nights, {half} open and {half} covered, in blocks of two in the order given: a saving of "
        f"{100 * saving:.0f} % is then likely ({MEANING}) known to ± {100 * made.expected_half_width:.0f} points."
    ]
    if not made.enough:
        sentences.append(
            f"That is all this weather has room for; to show {100 * saving:.0f} % with a chance of {100 * chance:.0f} "
            "% " + (f"{needed} nights are needed." if needed else "more than 400 nights are needed.")
        )
    for design, row in made.designs.iterrows():
        name = str(design)
        sentences.append(
            f"{name[0].upper()}{name[1:]}: in {row['logs']:.0f} invented logs the saving came out wrong by "
            f"{100 * row['rms_error']:.1f} points (root mean square); it was shown in {100 * row['shown']:.0f} %, and "
            f"the interval held the truth in {100 * row['held']:.0f} %."
        )
    sentences.append(
        f"One week each can be fooled: the week from {front.second} needs {100 * front.claimed:.0f} % less than the "
        f"week from {front.first} in this weather, with no cover at all."
    )
    if not site.thermometer_step:
        sentences.append(
            "Log the water's temperature: without it the thermostat's on-off range blurs every change from open to "
            "covered."
        )
    return tuple(sentences)

"""Before logging: how many nights, in which order, and what becomes of other orders. Tried out on invented twins of
the pond."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from pondheat.core.ranges import OutOfRange, choose, require
from pondheat.heat.balance import Air, Pond
from pondheat.meter.reading.energy_use import night_of
from pondheat.meter.savings import alignment, period_comparison, synthetic_logs
from pondheat.meter.savings.period_comparison import Comparison
from pondheat.season.heaters import Heater

NOON = 12


@dataclass(frozen=True, eq=False)
class Site:
    """What a log is planned for: the pond as its sheet has it, its weather (index: starts of hours; air), the cover's
    schedule [–] for each hour, set_point [degC], heater, pump_heat [W] from another meter, base_load [W] on this one,
    thermostat_band [K], noise [–] of each day, counter_step [kWh], thermometer_step [K]."""

    pond: Pond
    index: pd.DatetimeIndex
    air: Air
    schedule: np.ndarray
    set_point: float
    heater: Heater
    pump_heat: float = 0.0
    base_load: float = 0.0
    thermostat_band: float = 0.3
    noise: float = 0.05
    counter_step: float = 0.1
    thermometer_step: float = 0.1

    def part(self, first: int, last: int) -> Site:
        """The same for some of its hours."""
        span = slice(first, last)
        return replace(self, index=self.index[span], air=self.air.part(span), schedule=np.asarray(self.schedule)[span])


@dataclass(frozen=True, eq=False)
class Trial:
    """An invented log compared: what the comparison says, and the true saving of the covered nights [–]."""

    comparison: Comparison
    true_saving: float


def trial(
    site: Site, order, first_night: int, seed: int, saving_fraction: float | None, unlearned: bool = True, **handling
) -> Trial:
    """Log a twin of the site through the nights of `order` and compare.

    order: for each night "open", "covered" or "" (not counted); first_night: its number in the site's weather; seed: of
    the twin and its errors; saving_fraction: [–] that the cover shall save over the log, None for no cover at all;
    unlearned: the twin differs from the sheet and its weather from the record; handling: options of `spells.compare`.
    Raises OutOfRange.
    """
    order = np.asarray(order, dtype=object)
    start = (first_night - 2) * 24 + NOON - site.index[0].hour
    here = site.part(max(start, 0), start + (len(order) + 2) * 24 + 2)
    date = night_of(here.index)
    night = (date - date[0]).days.to_numpy() - 2
    counted = (night >= 0) & (night < len(order))
    laid = np.append(np.asarray(order == "covered"), False)[np.where(counted, night, -1)]
    pond = synthetic_logs.drawn(here.pond, seed) if unlearned else here.pond
    known = {"set_point": here.set_point, "heater": here.heater, "pump_heat": here.pump_heat}
    if saving_fraction is None:
        pond = replace(pond, cover=None)
    else:
        try:
            pond = synthetic_logs.with_saving(
                pond, here.index, here.air, here.schedule, saving_fraction, chosen=counted, **known
            )
        except synthetic_logs.CoverTooSmall:
            pass  # in so cold a spell the whole cover saves a little less; the true saving says so
    twin = synthetic_logs.log(
        pond,
        here.index,
        here.air,
        here.schedule * laid,
        schedule=here.schedule,
        base_load=here.base_load,
        thermostat_band=here.thermostat_band,
        noise=here.noise,
        counter_step=here.counter_step,
        thermometer_step=here.thermometer_step,
        seed=seed,
        **known,
    )
    air = synthetic_logs.seen(here.air, seed + 1) if unlearned else here.air
    aligned = alignment.align(
        twin.use,
        site.pond,
        here.index,
        air,
        set_point=here.set_point,
        base_load=here.base_load,
        pump_heat=here.pump_heat,
    )
    label_of = np.append(order, "")[np.where(counted, night, -1)]
    dates = {label: [d.date() for d in pd.unique(date[label_of == label])] for label in ("open", "covered")}
    found = period_comparison.compare(aligned, covered=dates["covered"], open_nights=dates["open"], **handling)
    return Trial(found, twin.saving(laid & counted))


# --- the plan -------------------------------------------------------------------------------------------------------

DESIGNS = ("blocks of two", "blocks of three", "single alternate nights", "one block each")
FEWEST = 12  # nights: three blocks of two of each kind, so that each kind has seen several weathers (judgement)
PILOT = 16  # nights of the logs that tell how wide the intervals are
PILOTS = 10


@dataclass(frozen=True, eq=False)
class Plan:
    """nights: how many in all, open and covered alike; enough: whether so many show the saving; order: "open" or
    "covered" for each night; expected_half_width [–] of the interval round the saving; designs: per order of nights the
    mean error and the root mean square error of the saving [–], the interval's half-width [–], how often a saving was
    shown and the truth lay in the interval [–]; front: the two weeks of this weather that would fool totals most;
    sentences."""

    nights: int
    enough: bool
    order: tuple[str, ...]
    expected_half_width: float
    designs: pd.DataFrame
    front: Front
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Front:
    """Two weeks one after the other, the second the milder: first day of each, and the saving that totals would claim
    for an open pond that was never covered [–]."""

    first: dt.date
    second: dt.date
    claimed: float


def order_of(design: str, nights: int, seed: int) -> tuple[str, ...]:
    """Labels of so many nights in the order of a design; seed: which of each pair of blocks comes first."""
    choose("order of nights", design, DESIGNS)
    rng = np.random.default_rng(seed)
    length = {"blocks of two": 2, "blocks of three": 3, "single alternate nights": 1}.get(design, (nights + 1) // 2)
    pairs = -(-nights // (2 * length))
    turned = rng.random(pairs) < 0.5
    if length == 1:
        turned[:] = turned[0]  # open, covered, open, covered
    labels: list[str] = []
    for back in turned:
        pair = ["open"] * length + ["covered"] * length
        labels += pair[::-1] if back else pair
    return tuple(labels)


def nights_needed(
    half_width: float,
    nights: int,
    saving_fraction: float,
    confidence: float = 0.9,
    chance: float = 0.8,
    most: int = 400,
) -> int | None:
    """Nights after which a saving is shown with some chance, from how wide the interval is after others; None above
    `most`.

    half_width: half-width of the interval round the saving after so many nights (0.1 for 10 points). saving_fraction:
    [–]; confidence: [–] of the interval; chance: [–]. The width falls as t/√n; the saving must exceed the width's limit
    by the t that belongs to the chance. Multiples of four, at least 12. Source: two-sample comparison of means, by
    definition.

    >>> nights_needed(0.1, 16, 0.15), nights_needed(0.1, 16, 0.4)
    (16, 12)
    """
    require(saving_fraction=saving_fraction, confidence=confidence, chance=chance)

    def t(count: int, probability: float) -> float:
        return float(stdtrit(count - 2, probability))

    error = half_width * np.sqrt(nights) / t(nights, 0.5 + confidence / 2)
    for count in range(FEWEST, most + 1, 4):
        if saving_fraction >= error / np.sqrt(count) * (t(count, 0.5 + confidence / 2) + t(count, chance)):
            return count
    return None


def plan(
    site: Site,
    saving_fraction: float,
    scatter: float | None = None,
    *,
    confidence: float = 0.9,
    chance: float = 0.8,
    seed: int = 1,
    trials: int = 8,
    designs=("blocks of two", "single alternate nights", "one block each"),
    progress: Callable[[float], None] | None = None,
) -> Plan:
    """How many nights to log, in which order, to show a saving of a given size; tried out on twins of the site.

    saving_fraction: [–] that shall be shown, of the energy of the nights that are covered; scatter: standard deviation
    of a night's use over its modelled open loss, as a share of its mean, from an own log (0.1 for a tenth); None lets
    twins tell it. confidence: [–] of the interval; chance: [–] with which the saving is then shown; trials: logs tried
    for each design; progress: called with the share done. Raises OutOfRange, also where the cover saves less than that
    or the weather is too short.
    """
    require(saving_fraction=saving_fraction, confidence=confidence, chance=chance)
    if saving_fraction <= 0:
        raise OutOfRange("Give a saving above nothing: how small a saving is to be shown?")
    available = len(site.index) // 24 - 6
    if available < FEWEST:
        raise OutOfRange(f"The weather has room for {max(available, 0)} nights, a plan has at least {FEWEST}.")
    synthetic_logs.with_saving(
        site.pond,
        site.index,
        site.air,
        site.schedule,
        saving_fraction,
        set_point=site.set_point,
        heater=site.heater,
        pump_heat=site.pump_heat,
    )
    rng = np.random.default_rng(seed)
    total, done = len(designs) * trials + (PILOTS if scatter is None else 0), 0

    def tried(design: str, nights: int, number: int) -> Trial | None:
        nonlocal done
        order = order_of(design, nights, seed + number)
        begin = int(np.random.default_rng((seed, number)).integers(2, max(available - len(order), 2) + 1))
        try:
            return trial(site, order, begin, seed + number, saving_fraction, confidence=confidence)
        except OutOfRange:  # so mild that an open pond needs no heat: nobody would log then
            return None
        finally:
            done += 1
            if progress is not None:
                progress(done / total)

    if scatter is None:
        pilot = min(PILOT, available)
        widths = [
            max((o.high - o.low) / 2 for o in found.comparison.outcomes[:2] if np.isfinite(o.saving))
            for found in (tried(DESIGNS[0], pilot, 1000 + k) for k in range(PILOTS))
            if found is not None
        ]
        if not widths:
            raise OutOfRange("In this weather the open pond hardly needs heat: plan the log for a colder time.")
        width = float(np.mean(widths))
    else:
        pilot = PILOT
        under = 1 - saving_fraction
        width = float(stdtrit(pilot - 2, 0.5 + confidence / 2)) * scatter * np.sqrt((1 + under**2) * 2 / pilot)
    needed = nights_needed(width, pilot, saving_fraction, confidence, chance)
    nights = min(needed or available, available) // 4 * 4
    enough = needed is not None and needed <= available
    expected = (
        width
        * np.sqrt(pilot / nights)
        * stdtrit(nights - 2, 0.5 + confidence / 2)
        / stdtrit(pilot - 2, 0.5 + confidence / 2)
    )
    rows = {}
    for design in designs:
        found = [one for one in (tried(design, nights, k) for k in range(trials)) if one is not None]
        rows[design] = _judged(found)
    front = passing_front(site)
    order = order_of(DESIGNS[0], nights, int(rng.integers(2**31)))
    table = pd.DataFrame(rows).T.rename_axis("design")
    return Plan(
        nights,
        enough,
        order,
        float(expected),
        table,
        front,
        _sentences(site, saving_fraction, nights, enough, needed, chance, expected, table, front),
    )


def _judged(found: list[Trial]) -> dict[str, float]:
    first = [one.comparison.outcomes[0] for one in found]
    error = np.array([o.saving - one.true_saving for o, one in zip(first, found)])
    return {
        "bias": error.mean(),
        "rms_error": np.sqrt((error**2).mean()),
        "half_width": np.mean([(o.high - o.low) / 2 for o in first]),
        "shown": np.mean([one.comparison.shown for one in found]),
        "held": np.mean([o.low <= one.true_saving <= o.high for o, one in zip(first, found)]),
        "logs": float(len(found)),
    }


def passing_front(site: Site, days: int = 7) -> Front:
    """Where in this weather two spells one after the other differ most: the trap of "one week open, one week covered".

    days: length of each spell in days. The open pond's modelled need at the set point, no cover anywhere. Raises
    OutOfRange where the weather is too short.
    """
    log = pd.DataFrame({"kwh": 0.0, "hours": 1.0}, index=site.index)
    hours = alignment.align(
        log, site.pond, site.index, site.air, set_point=site.set_point, pump_heat=site.pump_heat
    ).hours
    need = hours["open_need"].clip(lower=0.0)
    daily = need.groupby(need.index.tz_localize(None).normalize()).sum()
    spell = daily.rolling(days).sum().to_numpy()
    if len(daily) < 2 * days or not np.nanmax(spell) > 0:
        raise OutOfRange(f"The weather is too short, or too mild, for two spells of {days} days.")
    first, second = spell[days - 1 : -days], spell[2 * days - 1 :]
    # only spells in which there is something to heat: half of the usual need
    ratio = np.where(first > 0.5 * np.nanmedian(spell), second / np.maximum(first, 1e-9), np.inf)
    at = int(np.argmin(ratio))
    return Front(daily.index[at].date(), daily.index[at + days].date(), float(1 - ratio[at]))


def _sentences(site, saving, nights, enough, needed, chance, expected, table, front) -> tuple[str, ...]:
    said = [
        f"Log {nights} nights, {nights // 2} open and {nights // 2} covered, in blocks of two in the order given: "
        f"a saving of "
        f"{100 * saving:.0f} % is then known to about ± {100 * expected:.0f} points."
    ]
    if not enough:
        said.append(
            f"That is all this weather has room for; to show {100 * saving:.0f} % with a chance of "
            f"{100 * chance:.0f} % "
            + (f"{needed} nights are needed." if needed else "more than 400 nights are needed.")
        )
    for design, row in table.iterrows():
        said.append(
            f"{design[0].upper()}{design[1:]}: in {row['logs']:.0f} invented logs the saving came out wrong by "
            f"{100 * row['rms_error']:.1f} points (root mean square); it was shown in "
            f"{100 * row['shown']:.0f} %, and the interval "
            f"held the truth in {100 * row['held']:.0f} %."
        )
    said.append(
        f"One week each can be fooled: the week from {front.second} needs {100 * front.claimed:.0f} % less "
        f"than the week from "
        f"{front.first} in this weather, with no cover at all."
    )
    if not site.thermometer_step:
        said.append(
            "Log the water's temperature: without it the thermostat's band blurs every change from open to covered."
        )
    return tuple(said)

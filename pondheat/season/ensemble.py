"""Many scenarios of one season: the same hours with other samples of what is not known for certain.

Each scenario is a run of the hour step (`hour_step.run_scenario`). Compiled, they run one after another on a few
threads; without numba they are stepped side by side as arrays. Kilowatt-hours come back; what they cost is for others
to say.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from pondheat.core.compilation import (
    available,
    cache_folder,
    compiled,
    is_filled,
    is_ready,
    machine_code,
    mark_filled,
    one_at_a_time,
    ready,
)
from pondheat.core.places import PACKAGE
from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.heat.covers import core_resistance
from pondheat.heat.evaporation import EVAPORATION
from pondheat.heat.routes import Coefficients, Moment
from pondheat.season.hour_step import Schedule, run_hours, run_scenario, run_scenarios
from pondheat.season.simulate import integrate

SAMPLED = (
    "evaporation",
    "wind_shelter",
    "sky_view",
    "sky",
    "sky_error",
    "u_value",
    "gap_air_flow",
    "wall_factor",
    "construction",
    "cover_light",
    "surface_factor",
    "cover_factor",
    "stream_factor",
    "sun_factor",
    "year_warmth",
    "cover_used",
)
_FACTORS = ("surface_factor", "cover_factor", "stream_factor", "sun_factor")
_PIECE = 8  # scenarios that a thread takes at a time: some 10 ms of work, so that dropped work ends soon
_LONGEST_ASIDE = 120  # s for compiling in another process, which a busy machine may starve or something may hold up
_DAY = 24  # hours after which arrays report their progress


@dataclass(frozen=True)
class Ensemble:
    """Per scenario: heat over the season [kWh], the same times weights (scenarios, weights) [kWh], and the lowest water
    temperature [degC]."""

    heat_kwh: np.ndarray
    weighted_kwh: np.ndarray
    lowest_temp: np.ndarray


class Dropped(Exception):
    """The run was given up because nobody wants its result any more."""


def run_ensemble(
    pond: Pond,
    air: Air,
    samples: dict[str, np.ndarray],
    *,
    set_point,
    limit,
    covered=0.0,
    gain: float = 0.0,
    weights=None,
    first=None,
    counted=None,
    start_temp: float = 10.0,
    progress: Callable[[float], None] | None = None,
    dropped: Callable[[], bool] | None = None,
) -> Ensemble:
    """Run every scenario through the same hours.

    samples: equally long arrays by name, from SAMPLED: evaporation and sky (names of formulae; sky counts where the
    weather brings no long wave of its own), sky_error [W/m²] added to the sky's long wave, wind_shelter, sky_view [–],
    u_value [W/(m²·K)] of the cover, gap_air_flow [m³/s], cover_light [–]; construction (names of what the pond's
    undescribed walls may be); factors [–] on whole terms: wall_factor on all walls and the
    ground, surface_factor on evaporation, convection and long wave of open water (and of water under a film),
    cover_factor on what passes any other cover or leaks round it, stream_factor on falling water, casing, aeration and
    water change, sun_factor on the sun's gain; year_warmth [K], by which air, sky, ground and new water are warmer
    through all hours at the same relative humidity (straight lines about the weather as given); and cover_used, 1 where
    the cover is on as `covered` says, 0 where it never is. What is not sampled is the pond's own, its factor 1.
    set_point [degC], limit [W], covered [–]: one for each hour or one for all; NaN set point: no heat; gain: [W] pump.
    weights: (hours, k) factors on the heat of each hour, such as the share that falls under a rate. first (in W): only
    heat up to it takes the weights, what is above takes the second half of their columns (a heat pump, then its backup;
    (hours, 2 k) then). counted: which hours are summed (spin-up is not). progress: called with the share done.
    dropped: asked now and then; where it says yes, Dropped is raised. Raises OutOfRange for an unknown name or samples
    of unlike length.
    """
    ponds, shifts = _ponds(pond, samples)
    weather = balance.moment_of(air, covered if pond.cover else 0.0, pond.sky)
    skies = np.stack([balance.moment_of(air, 0.0, name).sky - weather.sky for name in _skies(pond, samples)])
    hours, count = len(weather.air_temp), len(shifts)
    warmer = balance.moment_of(air.warmer(1.0), covered if pond.cover else 0.0, pond.sky)
    per_kelvin = Moment(*(changed - plain for changed, plain in zip(warmer, weather)))
    # a typical year's ground and mains follow its air; `Air.warmer` leaves them
    per_kelvin = per_kelvin._replace(ground_temp=np.ones(hours), mains_temp=np.ones(hours))
    schedule = _schedule(hours, set_point, limit, gain, weights, first, counted)
    heat, lowest = np.zeros(count), np.full(count, np.inf)
    weighted = np.zeros((count, len(schedule.weights)))
    stopped = dropped or (lambda: False)
    run = machine_code(run_scenarios)
    if run is not None:
        state = (weather, per_kelvin, skies, shifts, ponds, schedule, float(start_temp))
        done = _on_threads(lambda begin, end: run(*state, begin, end, heat, lowest, weighted), count, stopped)
    else:
        done = _as_arrays(
            weather, per_kelvin, skies, shifts, ponds, schedule, start_temp, heat, lowest, weighted, stopped
        )
    for share in done:
        if progress is not None:
            progress(share)
    return Ensemble(heat / 1000, weighted / 1000, lowest)


def _skies(pond: Pond, samples: dict[str, np.ndarray]) -> tuple[str, ...]:
    """Names of the sky formulae that the samples hold, the pond's own first."""
    return tuple(dict.fromkeys((pond.sky, *map(str, samples.get("sky", ())))))


def _ponds(pond: Pond, samples: dict[str, np.ndarray]) -> tuple[Coefficients, np.ndarray]:
    """The pond of every scenario, each coefficient an array, and how much warmer its year is [K]."""
    for name in samples:
        if name not in SAMPLED:
            raise OutOfRange(f"“{name}” cannot be sampled. Known: {', '.join(SAMPLED)}.")
    sizes = {len(values) for values in samples.values()}
    if len(sizes) != 1:
        raise OutOfRange("The samples differ in length, or there are none.")
    count = sizes.pop()
    names = samples.get("evaporation", np.full(count, pond.evaporation))
    by_formula = {
        name: balance.coefficients_of(replace(pond, evaporation=str(name), wind_shelter=1.0)) for name in set(names)
    }
    own = balance.coefficients_of(pond)
    arrays = {name: np.full(count, value) for name, value in own._asdict().items()}

    def sampled(name: str, plain: float) -> np.ndarray:
        return np.array(samples[name], float) if name in samples else np.full(count, float(plain))

    shelter = np.zeros(count) if pond.room else sampled("wind_shelter", pond.wind_shelter)
    arrays["evaporation"] = np.array([EVAPORATION[name].number for name in names])
    arrays["condenses"] = np.array([float(EVAPORATION[name].condenses) for name in names])
    arrays["shelter"] = shelter
    arrays["evaporation_wind"] = shelter * np.array([by_formula[name].evaporation_wind for name in names])
    if not pond.room:
        arrays["sky_view"] = sampled("sky_view", pond.sky_view)
    if pond.cover is not None:
        arrays["cover_core"] = np.array(core_resistance(sampled("u_value", pond.cover.u_value)))
        arrays["cover_leak"] = sampled("gap_air_flow", pond.cover.gap_air_flow)
        arrays["cover_share"] = arrays["cover_share"] * sampled("cover_used", 1.0)
        arrays["cover_light"] = sampled("cover_light", own.cover_light)
    built = {}
    if "construction" in samples:
        built = {name: balance.coefficients_of(pond.built_as(str(name))) for name in set(samples["construction"])}
    for name in ("wall_air", "wall_ground"):
        if built:
            arrays[name] = np.array([getattr(built[one], name) for one in samples["construction"]])
        arrays[name] = arrays[name] * sampled("wall_factor", 1.0)
    for name in _FACTORS:
        arrays[name] = sampled(name, 1.0)
    if "sky" in samples:
        row = {name: number for number, name in enumerate(_skies(pond, samples))}
        arrays["sky"] = np.array([row[str(name)] for name in samples["sky"]])
    arrays["sky_error"] = sampled("sky_error", 0.0)
    return Coefficients(**arrays), sampled("year_warmth", 0.0)


def _schedule(hours: int, set_point, limit, gain, weights, first, counted) -> Schedule:
    def hourly(values) -> np.ndarray:
        return np.array(np.broadcast_to(np.asarray(values, float), hours))

    table = np.zeros((hours, 0)) if weights is None else np.asarray(weights, float)
    by_pump, by_backup = (table, table) if first is None else np.split(table, 2, axis=1)
    return Schedule(
        set_point=hourly(set_point),
        limit=hourly(limit),
        pump_limit=hourly(np.inf if first is None else first),
        counted=hourly(1.0 if counted is None else counted),
        weights=np.ascontiguousarray(by_pump.T),
        backup_weights=np.ascontiguousarray(by_backup.T),
        pump_heat=float(gain),
    )


@cache
def _pool() -> ThreadPoolExecutor:
    """The one pool of threads for all ensembles of this process."""
    return ThreadPoolExecutor(max(min(os.cpu_count() or 1, 4), 1), thread_name_prefix="scenarios")


def _on_threads(run: Callable[[int, int], None], count: int, stopped: Callable[[], bool]) -> Iterator[float]:
    """Run all scenarios in pieces on the pool; yields the share done after each piece."""

    def piece(begin: int) -> None:
        if not stopped():
            run(begin, min(begin + _PIECE, count))

    pieces = [_pool().submit(piece, begin) for begin in range(0, count, _PIECE)]
    for done, one in enumerate(pieces, 1):
        one.result()
        if stopped():
            for waiting in pieces:
                waiting.cancel()
            raise Dropped
        yield done / len(pieces)


def _as_arrays(
    weather, per_kelvin, skies, shifts, ponds, schedule, start_temp, heat, lowest, weighted, stopped
) -> Iterator[float]:
    """Step all scenarios side by side, day by day; yields the share done after each day."""
    # what is one number for all scenarios stays one, which spares half of the work
    alike = {name: values[0] if np.all(values == values[0]) else values for name, values in ponds._asdict().items()}
    ponds = Coefficients(**alike)
    hours, count = len(schedule.set_point), len(shifts)
    shift = shifts if shifts.any() else 0.0
    by_weight = np.zeros((weighted.shape[1], count))
    state = (np.full(count, float(start_temp)), np.zeros(count), heat, lowest)
    for begin in range(0, hours, _DAY):
        if stopped():
            raise Dropped
        end = min(begin + _DAY, hours)
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
            state = run_scenario(weather, per_kelvin, skies, shift, ponds, schedule, begin, end, *state, by_weight)
        yield end / hours
    heat[:], lowest[:], weighted[:] = state[2], state[3], by_weight.T


def warm_up() -> float:
    """Compile the hour step, or take it from the cache on disk, and return the seconds that took; 0 without numba.

    Afterwards seasons and ensembles of this process use machine code without a pause.
    """
    if not available():
        return 0.0
    with _warming:
        return 0.0 if is_ready() else _warm_up()


def warm_up_from_disk() -> None:
    """As `warm_up`, unless something would have to be compiled."""
    if available() and (folder := cache_folder()) is not None and is_filled(folder):
        warm_up()


def warm_up_aside() -> None:
    """As `warm_up`, but what must be compiled is compiled by a process of its own, at a low priority.

    Compiling takes many seconds and holds Python's lock for most of them: a page would answer each move a second late.
    Where another page has it compiled already, this one waits for that.
    """
    with _warming:
        if available() and not is_ready() and (folder := cache_folder()) is not None and not is_filled(folder):
            fails = contextlib.suppress(OSError, subprocess.TimeoutExpired)  # then this process compiles
            with fails, one_at_a_time(folder, _LONGEST_ASIDE) as ours:
                if ours:
                    _compile_aside(folder)
        warm_up()


def _compile_aside(folder: Path) -> None:
    code = "import os; getattr(os, 'nice', int)(10); from pondheat.season import ensemble; ensemble.warm_up()"
    subprocess.run(
        [sys.executable, "-c", code],
        cwd=PACKAGE.parent,
        env={**os.environ, "PONDHEAT_CACHE": str(folder.parent.resolve())},  # to find the same folder
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        timeout=_LONGEST_ASIDE,
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),  # Windows would open one
    )


_warming = threading.RLock()


def _warm_up() -> float:
    began = time.perf_counter()
    pond = Pond(10.0, 12.0)
    prepared = balance.prepare(pond, Air(np.full(2, 5.0), 0.8, 2.0), 0.0)
    integrate(prepared, 18.0, 3000.0, 0.0, 18.0, machine_code=compiled(run_hours))
    ponds, shifts = _ponds(pond, {"wall_factor": np.ones(1)})
    schedule = _schedule(2, 18.0, 3000.0, 0.0, np.ones((2, 1)), None, None)
    run = compiled(run_scenarios)
    assert run is not None
    sums = np.zeros(1), np.zeros(1), np.zeros((1, 1))
    run(prepared.moment, prepared.moment, np.zeros((1, 2)), shifts, ponds, schedule, 18.0, 0, 1, *sums)
    ready()
    if (folder := cache_folder()) is not None:
        mark_filled(folder)
    return time.perf_counter() - began

"""Synthetic logs of a known pond: what its meter would have shown, and the true use open and covered.

The physics is that of `season.simulate`, with a real thermostat's switching range around the ideal one.
`perturbed_pond` makes a pond that differs from its sheet as real ones do, `perturbed_weather` the weather as a station
some way off would record it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, require
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.season.heaters import Heater
from pondheat.season.hour_step import HOUR
from pondheat.season.simulate import simulate

# Evaporation formulas that no comparison or fit uses (theirs are in `meter.surface_models`), with the wind near the
# water as a share of that at the formula's height (judgement).
UNSEEN_FORMULAS = {"brady_graves_geyer": 1.0, "penman_1948": 1.0, "carrier": 0.4}
_STEPS = 12  # of five minutes in an hour, for the thermostat


class CoverTooSmall(OutOfRange):
    """Even the full cover saves less than the requested saving."""


@dataclass(frozen=True, eq=False)
class SyntheticLog:
    """A synthetic log and the truth behind it.

    use: as a meter would show it (index start; kwh, hours, water_temp). truth: the same hours without gaps, with the
    heating energy open_kwh and covered_kwh [kWh] with the cover never used, or always by its schedule, without base
    load and meter errors; covered [–], as it really was; water_temp [degC].
    """

    use: pd.DataFrame
    truth: pd.DataFrame

    def saving(self, chosen=None) -> float:
        """True saving of the cover [–], over all hours or those chosen (a mask of the truth's rows)."""
        rows = self.truth if chosen is None else self.truth[np.asarray(chosen, bool)]
        return float(1 - rows["covered_kwh"].sum() / rows["open_kwh"].sum())


def synthetic_log(
    pond: Pond,
    index: pd.DatetimeIndex,
    air: Air,
    covered,
    *,
    set_point: float,
    heater: Heater,
    schedule=None,
    pump_heat: float = 0.0,
    base_load: float = 0.0,
    thermostat_band: float = 0.0,
    noise: float = 0.0,
    gaps: int = 0,
    counter_step: float = 0.0,
    thermometer_step: float = 0.1,
    seed: int = 1,
    spin_up: int = 0,
    truth: bool = True,
) -> SyntheticLog:
    """Simulate a pond and log it as its meter would.

    index: starts of the hours; air: their weather; covered: [–] what the cover really did, one an hour; schedule: what
    it would do if used every night (default: as covered). set_point: [degC]; pump_heat: [W] into the water, on another
    meter; base_load: [W] on this meter, not into the water; thermostat_band: [K] from on to off; noise: [–] standard
    deviation of a day's unexplained heat; gaps: number of missing spans of 3 to 30 hours; counter_step: [kWh] of the
    register; thermometer_step: [K], 0 for no thermometer; seed: same seed, same log; spin_up: first hours, run but not
    logged; truth: False skips the runs with the cover never and always used. Raises OutOfRange.
    """
    require(set_point=set_point, pump_heat=pump_heat, base_load=base_load, thermostat_band=thermostat_band, noise=noise)
    rng = np.random.default_rng(seed)
    covered = np.array(np.broadcast_to(np.asarray(covered, float), len(index)))
    schedule = covered if schedule is None else np.array(np.broadcast_to(np.asarray(schedule, float), len(index)))
    known: dict[str, Any] = {"set_point": set_point, "heater": heater, "pump_heat": pump_heat}
    frame = _season(pond, index, air, covered, **known)
    heat, water = _cycling_thermostat(pond, air, frame, set_point, heater, thermostat_band, rng)
    day = np.unique(index.tz_localize(None).normalize(), return_inverse=True)[1]
    heat = heat * np.exp(noise * rng.standard_normal(day.max() + 1))[day]
    mean_water = (water[1:] + water[:-1]) / 2
    electricity, gas = heater.taken(heat, mean_water, np.broadcast_to(air.air_temp, len(index)))
    metered = (electricity + gas + base_load) / 1000
    if counter_step:
        metered = _by_counter(metered, counter_step, rng)
    use = pd.DataFrame({"kwh": metered, "hours": 1.0}, index=index.rename("start"))
    if thermometer_step:
        use["water_temp"] = _by_thermometer(mean_water, thermometer_step, rng)
    truth_frame = pd.DataFrame({"covered": covered, "water_temp": frame["water_temp"].to_numpy()}, index=use.index)
    if truth:
        for name, share in (("open_kwh", 0.0), ("covered_kwh", schedule)):
            truth_frame[name] = _metered_kwh(_season(pond, index, air, share, **known))
    after_spin_up = np.arange(len(use)) >= spin_up
    return SyntheticLog(use[after_spin_up & ~_in_gaps(len(use), gaps, spin_up, rng)], truth_frame[after_spin_up])


def _season(pond: Pond, index: pd.DatetimeIndex, air: Air, covered, *, set_point: float, **known: Any) -> pd.DataFrame:
    """The simulated season of a pond that begins at its set point; known: heater and pump_heat."""
    weather = pd.DataFrame({"air_temp": np.broadcast_to(air.air_temp, len(index))}, index=index)
    return simulate(pond, weather, air, set_point=set_point, covered=covered, start_temp=set_point, **known)


def _by_counter(kwh: np.ndarray, step: float, rng) -> np.ndarray:
    """Use of each hour as a register shows it that counts in steps [kWh]."""
    register = np.cumsum(np.append(rng.random() * step, kwh))
    return np.diff(np.floor(register / step)) * step


def _by_thermometer(temps: np.ndarray, step: float, rng) -> np.ndarray:
    """Temperatures as a cheap thermometer shows them: with a constant error, in steps [K]."""
    return np.round((temps + rng.normal(0, 0.2)) / step) * step


def _in_gaps(count: int, gaps: int, first: int, rng) -> np.ndarray:
    """Whether each hour is in one of so many gaps of 3 to 30 hours, which begin at random from the hour `first` on."""
    missing = np.zeros(count, bool)
    for _ in range(gaps):
        at = int(rng.integers(first, count))
        missing[at : at + int(rng.integers(3, 31))] = True
    return missing


def _metered_kwh(frame: pd.DataFrame) -> np.ndarray:
    """Energy that heating takes in each hour of a simulated season [kWh]."""
    return ((frame["electricity"] + frame["gas"]) / 1000).to_numpy()


def _cycling_thermostat(pond: Pond, air: Air, frame: pd.DataFrame, set_point: float, heater: Heater, band: float, rng):
    """Heat of each hour [W] and water at the hours' edges [degC] with a thermostat that switches at its band's ends.

    Heat above or below the ideal run's makes the water deviate from that run's path; the deviation decays by the slope
    of the losses.
    """
    ideal = np.concatenate([[set_point], frame["water_temp"].to_numpy()])
    if band <= 0:
        return frame["heater"].to_numpy(), ideal
    prepared = balance.prepare(pond, air, frame["covered"].to_numpy())
    slope = sum(balance.losses(prepared, ideal[:-1])[1].values(), np.zeros(len(frame)))
    limit = heater.limit(np.broadcast_to(air.air_temp, len(frame)))
    capacity, step = pond.heat_capacity, HOUR / _STEPS
    deviation, on = float(rng.uniform(-0.5, 0.5)) * band, bool(rng.random() < 0.5)
    low, high = set_point - band / 2, set_point + band / 2
    heats, water = [], [ideal[0] + deviation]
    for start, end, ideal_heat, limit_now, loss_slope in zip(
        ideal[:-1].tolist(), ideal[1:].tolist(), frame["heater"].tolist(), limit.tolist(), slope.tolist()
    ):
        total = 0.0
        for k in range(_STEPS):
            temp = start + (end - start) * k / _STEPS + deviation
            on = temp < low or on and temp < high
            power = limit_now if on else 0.0
            total += power
            deviation += (power - ideal_heat - loss_slope * deviation) * step / capacity
        heats.append(total / _STEPS)
        water.append(end + deviation)
    return np.array(heats), np.array(water)


def perturbed_pond(pond: Pond, seed: int) -> Pond:
    """A pond that differs from its sheet as real ones do, in every parameter independently.

    Its open surface follows a formula that no comparison uses; wind, sky, shade, walls, filter, leak and lost water
    differ by what a keeper does not know (spreads: editors' judgement). The same seed gives the same pond.
    """
    rng = np.random.default_rng(seed)
    name = tuple(UNSEEN_FORMULAS)[rng.integers(len(UNSEEN_FORMULAS))]
    wind = min(pond.wind_shelter * np.exp(rng.normal(0, 0.3)), 1.0) * UNSEEN_FORMULAS[name]
    cover = pond.cover and replace(
        pond.cover,
        u_value=pond.cover.u_value * rng.uniform(0.8, 1.25),
        gap_air_flow=pond.cover.gap_air_flow * np.exp(rng.normal(0, 0.7)),
    )
    walls = tuple(replace(wall, u_value=wall.u_value * np.exp(rng.normal(0, 0.25))) for wall in pond.walls)
    return replace(
        pond,
        evaporation=name,
        wind_shelter=wind,
        walls=walls,
        cover=cover,
        sky=("swinbank", "brutsaert", "idso_jackson")[rng.integers(3)],
        sky_view=float(np.clip(pond.sky_view + rng.uniform(-0.2, 0.2), 0.2, 1.0)),
        shade=float(np.clip(pond.shade + rng.uniform(-0.2, 0.2), 0.0, 0.9)),
        filter_effectiveness=float(np.clip(pond.filter_effectiveness * np.exp(rng.normal(0, 0.4)), 0, 1)),
        water_change=pond.water_change + rng.exponential(0.005) * pond.volume / 86_400,
        volume=pond.volume * rng.uniform(0.93, 1.07),
    )


def perturbed_weather(air: Air, seed: int) -> Air:
    """The weather as a station some way off records it, each day a little warmer or windier than at the pond.

    Same seed, same errors; their sizes are the editors' judgement.
    """
    rng = np.random.default_rng(seed)
    count = len(np.asarray(air.air_temp))

    def daily(size: float) -> np.ndarray:
        return np.repeat(rng.normal(0, size, count // 24 + 1), 24)[:count]

    offset: Any = rng.normal(0, 0.3) + daily(0.4)  # [K], one value an hour
    warmer = air.warmer(offset)
    humidity = np.clip(np.asarray(air.rel_humidity) + rng.normal(0, 0.03) + daily(0.03), 0.2, 1.0)
    return replace(
        warmer,
        rel_humidity=humidity,
        wind_speed=air.wind_speed * np.exp(rng.normal(0, 0.1) + daily(0.15)),
        solar=air.solar * np.exp(daily(0.1)),
    )


def pond_with_saving(
    pond: Pond,
    index: pd.DatetimeIndex,
    air: Air,
    schedule,
    saving_fraction: float,
    *,
    set_point: float,
    heater: Heater,
    pump_heat: float = 0.0,
    chosen=None,
) -> Pond:
    """The pond with its cover sized so that it saves a given share of these hours' energy.

    saving_fraction: [–]; schedule: share covered, one an hour; set_point: [degC]; pump_heat: [W]; chosen: mask of the
    hours that count. Raises CoverTooSmall if even the full cover saves less.
    """
    require(saving_fraction=saving_fraction, set_point=set_point, pump_heat=pump_heat)
    cover = pond.cover
    if cover is None:
        raise OutOfRange("The pond has no cover whose saving could be set.")
    chosen = np.ones(len(index), bool) if chosen is None else np.asarray(chosen, bool)

    def metered(share: float) -> float:
        sized = replace(pond, cover=replace(cover, share=share))
        frame = _season(sized, index, air, schedule, set_point=set_point, heater=heater, pump_heat=pump_heat)
        return float(_metered_kwh(frame)[chosen].sum())

    open_kwh, full = metered(0.0), metered(1.0)
    most = 1 - full / open_kwh
    if not 0 <= saving_fraction <= most:
        raise CoverTooSmall(
            f"The cover saves at most {100 * most:.0f} % of these hours' energy, {100 * saving_fraction:.0f} % was "
            "asked for: leave it on for longer, or give a better one."
        )
    share = saving_fraction / most
    achieved = 1 - metered(share) / open_kwh  # nearly linear: one secant step is enough
    share = float(np.clip(share * saving_fraction / achieved, 0.0, 1.0)) if achieved > 0 else share
    return replace(pond, cover=replace(cover, share=share))

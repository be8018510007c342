"""A known pond's invented meter: what it would have shown, and what nobody else can know, the same hours open and
covered.

The physics is that of `season.simulate`; about its ideal thermostat the water swings in the band of a real one. `drawn`
makes a pond that differs from its sheet as real ones do, and `seen` the weather as a station some way off writes it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core.ranges import OutOfRange, require
from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.season.heaters import Heater
from pondheat.season.simulate import HOUR, simulate

# Formulae for the open surface that the comparing side never uses (its rivals are those of `meter.fitting.heat_terms`), with the
# wind
# near the water as a share of that at the formula's height (judgement).
OUTSIDE = {"brady_graves_geyer": 1.0, "penman_1948": 1.0, "carrier": 0.4}
_STEPS = 12  # of five minutes in an hour, for the thermostat


class CoverTooSmall(OutOfRange):
    """The whole cover saves less than was asked for."""


@dataclass(frozen=True, eq=False)
class Twin:
    """use: the log as a meter would show it (start; kwh, hours, water_temp). truth: the same hours in full, with
    open_kwh and covered_kwh [kWh] that heating takes had the cover never or always lain on by its schedule, without
    base load and errors of the meter; covered [–]: what it really did; water_temp [degC]."""

    use: pd.DataFrame
    truth: pd.DataFrame

    def saving(self, chosen=None) -> float:
        """True share that the cover saves [–], over all hours or those chosen (a mask of the truth's rows)."""
        rows = self.truth if chosen is None else self.truth[np.asarray(chosen, bool)]
        return float(1 - rows["covered_kwh"].sum() / rows["open_kwh"].sum())


def log(
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
) -> Twin:
    """The log of a pond whose every hour is known.

    index: starts of the hours; air: their weather; covered: [–] what the cover really did, one an hour; schedule: what
    it would do were it used every night (default: what it did). set_point: [degC]; pump_heat: [W] into the water, on
    another meter; base_load: [W] on this meter, its heat misses the water; thermostat_band: [K] from on to off; noise:
    [–] standard deviation of what each day's heat is off for reasons in no model; gaps: number of missing spans of 3 to
    30 hours; counter_step: [kWh] of the register; thermometer_step: [K] of the thermometer, 0 for no thermometer; seed:
    same seed, same log; spin_up: first hours, run but not logged. truth=False leaves out the runs that stand for what
    would have been. Raises OutOfRange.
    """
    require(set_point=set_point, pump_heat=pump_heat, base_load=base_load, thermostat_band=thermostat_band, noise=noise)
    rng = np.random.default_rng(seed)
    covered = np.array(np.broadcast_to(np.asarray(covered, float), len(index)))
    schedule = covered if schedule is None else np.array(np.broadcast_to(np.asarray(schedule, float), len(index)))
    weather = pd.DataFrame({"air_temp": np.broadcast_to(air.air_temp, len(index))}, index=index)

    def run(share) -> pd.DataFrame:
        return simulate(
            pond,
            weather,
            air,
            set_point=set_point,
            heater=heater,
            covered=share,
            pump_heat=pump_heat,
            start_temp=set_point,
        )

    frame = run(covered)
    heat, water = _cycling(pond, air, frame, set_point, heater, thermostat_band, rng)
    day = np.unique(index.tz_localize(None).normalize(), return_inverse=True)[1]
    heat = heat * np.exp(noise * rng.standard_normal(day.max() + 1))[day]
    electricity, gas = heater.taken(heat, (water[1:] + water[:-1]) / 2, weather["air_temp"].to_numpy())
    taken = (electricity + gas + base_load) / 1000
    if counter_step:
        register = np.cumsum(np.append(rng.random() * counter_step, taken))
        taken = np.diff(np.floor(register / counter_step)) * counter_step
    use = pd.DataFrame({"kwh": taken, "hours": 1.0}, index=index.rename("start"))
    if thermometer_step:
        off = rng.normal(0, 0.2)  # no cheap thermometer is right
        use["water_temp"] = np.round(((water[1:] + water[:-1]) / 2 + off) / thermometer_step) * thermometer_step
    known = pd.DataFrame({"covered": covered, "water_temp": frame["water_temp"].to_numpy()}, index=use.index)
    if truth:
        known["open_kwh"], known["covered_kwh"] = (_taken_kwh(run(share)) for share in (0.0, schedule))
    kept = np.arange(len(use)) >= spin_up
    logged = kept.copy()
    for _ in range(gaps):
        at = int(rng.integers(spin_up, len(use)))
        logged[at : at + int(rng.integers(3, 31))] = False
    return Twin(use[logged], known[kept])


def _taken_kwh(frame: pd.DataFrame) -> np.ndarray:
    return ((frame["electricity"] + frame["gas"]) / 1000).to_numpy()


def _cycling(pond: Pond, air: Air, frame: pd.DataFrame, set_point: float, heater: Heater, band: float, rng):
    """Heat of each hour [W] and the water at the hours' ends [degC] with a thermostat that switches at a band's two
    ends.

    What is given beside the ideal run warms or cools the water about its path, and is lost at the slope of the losses
    there.
    """
    ideal = np.concatenate([[set_point], frame["water_temp"].to_numpy()])
    if band <= 0:
        return frame["heater"].to_numpy(), ideal
    prepared = balance.prepare(pond, air, frame["covered"].to_numpy())
    slope = sum(balance.losses(prepared, ideal[:-1])[1].values())
    limit = heater.limit(np.broadcast_to(air.air_temp, len(frame)))
    capacity, step = pond.heat_capacity, HOUR / _STEPS
    extra, on = float(rng.uniform(-0.5, 0.5)) * band, bool(rng.random() < 0.5)
    low, high = set_point - band / 2, set_point + band / 2
    heats, water = [], [ideal[0] + extra]
    for start, end, given, most, away in zip(
        ideal[:-1].tolist(), ideal[1:].tolist(), frame["heater"].tolist(), limit.tolist(), slope.tolist()
    ):
        total = 0.0
        for k in range(_STEPS):
            here = start + (end - start) * k / _STEPS + extra
            on = here < low or on and here < high
            power = most if on else 0.0
            total += power
            extra += (power - given - away * extra) * step / capacity
        heats.append(total / _STEPS)
        water.append(end + extra)
    return np.array(heats), np.array(water)


def drawn(pond: Pond, seed: int) -> Pond:
    """A pond that the sheet of `pond` describes as well as sheets do: each thing off by an amount of its own.

    Its open surface follows a formula that no comparing side uses; wind, sky, shade, walls, filter, leak and lost water
    differ by what a keeper does not know (spreads: editors' judgement). Same seed, same pond.
    """
    rng = np.random.default_rng(seed)
    name = tuple(OUTSIDE)[rng.integers(len(OUTSIDE))]
    wind = min(pond.wind_shelter * np.exp(rng.normal(0, 0.3)), 1.0) * OUTSIDE[name]
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


def seen(air: Air, seed: int) -> Air:
    """The weather as a station some way off writes it: each day a little warmer or windier than at the pond.

    Same seed, same errors; their sizes are the editors' judgement.
    """
    rng = np.random.default_rng(seed)
    count = len(air.air_temp)

    def daily(size: float) -> np.ndarray:
        return np.repeat(rng.normal(0, size, count // 24 + 1), 24)[:count]

    other = air.warmer(rng.normal(0, 0.3) + daily(0.4))
    humidity = np.clip(np.asarray(air.rel_humidity) + rng.normal(0, 0.03) + daily(0.03), 0.2, 1.0)
    return replace(
        other,
        rel_humidity=humidity,
        wind_speed=air.wind_speed * np.exp(rng.normal(0, 0.1) + daily(0.15)),
        solar=air.solar * np.exp(daily(0.1)),
    )


def with_saving(
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
    """The pond with its cover made just so large that it saves a given share of these hours' energy.

    saving_fraction: [–]; schedule: share covered, one an hour; set_point: [degC]; pump_heat: [W]; chosen: mask of the
    hours that count. Raises CoverTooSmall where the whole cover saves less.
    """
    require(saving_fraction=saving_fraction, set_point=set_point, pump_heat=pump_heat)
    if pond.cover is None:
        raise OutOfRange("The pond has no cover whose saving could be set.")
    weather = pd.DataFrame({"air_temp": np.broadcast_to(air.air_temp, len(index))}, index=index)
    chosen = np.ones(len(index), bool) if chosen is None else np.asarray(chosen, bool)

    def taken(share: float) -> float:
        made = replace(pond, cover=replace(pond.cover, share=share))
        frame = simulate(
            made,
            weather,
            air,
            set_point=set_point,
            heater=heater,
            covered=schedule,
            pump_heat=pump_heat,
            start_temp=set_point,
        )
        return float(_taken_kwh(frame)[chosen].sum())

    bare, whole = taken(0.0), taken(1.0)
    most = 1 - whole / bare
    if not 0 <= saving_fraction <= most:
        raise CoverTooSmall(
            f"The cover saves at most {100 * most:.0f} % of these hours' energy, "
            f"{100 * saving_fraction:.0f} % "
            "was asked for: let it lie for longer, or give a better one."
        )
    share = saving_fraction / most
    here = 1 - taken(share) / bare  # nearly a straight line; one step of its secant is enough
    share = float(np.clip(share * saving_fraction / here, 0.0, 1.0)) if here > 0 else share
    return replace(pond, cover=replace(pond.cover, share=share))

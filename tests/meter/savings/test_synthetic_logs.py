"""Invented logs: what they show is what the pond took, and what is known of them beside it."""

from dataclasses import replace

import comparison_pairs as scene
import numpy as np
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings import synthetic_logs
from pondheat.meter.surface_models import surface_models
from pondheat.season.simulate import simulate

HOME = scene.site(0).part(24 * 100, 24 * 121)
KNOWN = {"set_point": HOME.set_point, "heater": HOME.heater, "pump_heat": HOME.pump_heat}


def log(**others):
    return synthetic_logs.log(
        HOME.pond, HOME.index, HOME.air, HOME.schedule, **KNOWN, **{"thermometer_step": 0.0, **others}
    )


def test_a_plain_log_is_the_simulated_season():
    weather = HOME.index.to_frame().assign(air_temp=HOME.air.air_temp)
    frame = simulate(HOME.pond, weather, HOME.air, covered=HOME.schedule, start_temp=HOME.set_point, **KNOWN)
    twin = log(base_load=50.0)
    assert twin.use["kwh"].to_numpy() == pytest.approx(frame["heater"].to_numpy() / 1000 + 0.05)
    assert twin.truth["covered_kwh"].to_numpy() == pytest.approx(frame["heater"].to_numpy() / 1000)
    assert "water_temp" not in twin.use and (twin.use["hours"] == 1).all()
    assert 0.3 < twin.saving() < 0.8


@pytest.mark.parametrize("band", [0.3, 1.0])
def test_a_thermostats_band_moves_heat_about_and_makes_none(band):
    plain, switched = log(), log(thermostat_band=band, thermometer_step=0.001)
    capacity = HOME.pond.heat_capacity / 3.6e6
    # what is in the water at the two ends, and what a band's half warmer or colder water loses more or less
    assert abs(switched.use["kwh"].sum() - plain.use["kwh"].sum()) < 1.5 * band * capacity
    held = plain.truth["water_temp"].to_numpy() == HOME.set_point
    swing = switched.use["water_temp"].to_numpy()[held]
    swing = swing - np.median(swing)  # the thermometer is wrong by a constant
    assert band / 2 * 0.6 < np.abs(swing).max() < band / 2 + HOME.heater.power / HOME.pond.heat_capacity * 3600
    power = switched.use["kwh"].to_numpy()
    assert np.isclose(power, 0, atol=1e-9).mean() > 0.05 and power.max() <= HOME.heater.power / 1000 + 1e-9
    assert switched.truth["open_kwh"].equals(plain.truth["open_kwh"])  # truth knows no thermostat


def test_gaps_steps_and_spin_up():
    twin = log(gaps=3, counter_step=0.1, spin_up=48, seed=4)
    assert len(twin.truth) == len(HOME.index) - 48
    missing = twin.truth.index.difference(twin.use.index)
    assert 3 <= len(missing) <= 90
    steps = twin.use["kwh"] / 0.1
    assert np.allclose(steps, steps.round(), atol=1e-6)
    assert twin.use.equals(log(gaps=3, counter_step=0.1, spin_up=48, seed=4).use)
    assert not twin.use.equals(log(gaps=3, counter_step=0.1, spin_up=48, seed=5).use)


def test_a_drawn_pond_is_none_the_comparison_knows():
    known = {rival.evaporation for rival in surface_models(HOME.pond)}
    for seed in range(12):
        pond = synthetic_logs.drawn(HOME.pond, seed)
        assert (
            pond.evaporation in synthetic_logs.OUTSIDE and pond.evaporation not in known and pond.sky != HOME.pond.sky
        )
        assert pond == synthetic_logs.drawn(HOME.pond, seed)
    assert len({synthetic_logs.drawn(HOME.pond, seed).wind_shelter for seed in range(12)}) == 12


def test_the_station_is_some_way_off():
    other = synthetic_logs.seen(HOME.air, 3)
    off = np.asarray(other.air_temp) - HOME.air.air_temp
    assert 0 < np.abs(off).mean() < 1.5 and off[:24].std() < 1e-9 < off.std()


def test_a_saving_is_set():
    for wanted in (0.1, 0.4):
        pond = synthetic_logs.with_saving(HOME.pond, HOME.index, HOME.air, HOME.schedule, wanted, **KNOWN)
        twin = synthetic_logs.log(pond, HOME.index, HOME.air, HOME.schedule, **KNOWN)
        assert twin.saving() == pytest.approx(wanted, abs=0.005)  # one step of the secant
    with pytest.raises(synthetic_logs.CoverTooSmall, match="saves at most"):
        synthetic_logs.with_saving(HOME.pond, HOME.index, HOME.air, HOME.schedule, 0.95, **KNOWN)
    with pytest.raises(OutOfRange, match="no cover"):
        synthetic_logs.with_saving(replace(HOME.pond, cover=None), HOME.index, HOME.air, HOME.schedule, 0.4, **KNOWN)

"""Synthetic logs: energy, meter errors, perturbations, and their known truth."""

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
    return synthetic_logs.synthetic_log(
        HOME.pond, HOME.index, HOME.air, HOME.schedule, **KNOWN, **{"thermometer_step": 0.0, **others}
    )


def test_a_plain_log_is_the_simulated_season():
    weather = HOME.index.to_frame().assign(air_temp=HOME.air.air_temp)
    frame = simulate(HOME.pond, weather, HOME.air, covered=HOME.schedule, start_temp=HOME.set_point, **KNOWN)
    made = log(base_load=50.0)
    assert made.use["kwh"].to_numpy() == pytest.approx(frame["heater"].to_numpy() / 1000 + 0.05)
    assert made.truth["covered_kwh"].to_numpy() == pytest.approx(frame["heater"].to_numpy() / 1000)
    assert "water_temp" not in made.use and (made.use["hours"] == 1).all()
    assert 0.3 < made.saving() < 0.8


@pytest.mark.parametrize("band", [0.3, 1.0])
def test_a_thermostat_band_shifts_heat_but_adds_none(band):
    plain, switched = log(), log(thermostat_band=band, thermometer_step=0.001)
    capacity = HOME.pond.heat_capacity / 3.6e6
    # heat stored at both ends, and the loss of water warmer or colder by half the band
    assert abs(switched.use["kwh"].sum() - plain.use["kwh"].sum()) < 1.5 * band * capacity
    held = plain.truth["water_temp"].to_numpy() == HOME.set_point
    swing = switched.use["water_temp"].to_numpy()[held]
    swing = swing - np.median(swing)  # the thermometer is wrong by a constant
    assert band / 2 * 0.6 < np.abs(swing).max() < band / 2 + HOME.heater.power / HOME.pond.heat_capacity * 3600
    power = switched.use["kwh"].to_numpy()
    assert np.isclose(power, 0, atol=1e-9).mean() > 0.05 and power.max() <= HOME.heater.power / 1000 + 1e-9
    assert switched.truth["open_kwh"].equals(plain.truth["open_kwh"])  # the truth has no thermostat band


def test_gaps_steps_and_spin_up():
    made = log(gaps=3, counter_step=0.1, spin_up=48, seed=4)
    assert len(made.truth) == len(HOME.index) - 48
    missing = made.truth.index.difference(made.use.index)
    assert 3 <= len(missing) <= 90
    steps = made.use["kwh"] / 0.1
    assert np.allclose(steps, steps.round(), atol=1e-6)
    assert made.use.equals(log(gaps=3, counter_step=0.1, spin_up=48, seed=4).use)
    assert not made.use.equals(log(gaps=3, counter_step=0.1, spin_up=48, seed=5).use)


def test_a_perturbed_pond_is_outside_the_comparison_models():
    known = {rival.evaporation for rival in surface_models(HOME.pond)}
    for seed in range(12):
        pond = synthetic_logs.perturbed_pond(HOME.pond, seed)
        assert (
            pond.evaporation in synthetic_logs.UNSEEN_FORMULAS
            and pond.evaporation not in known
            and pond.sky != HOME.pond.sky
        )
        assert pond == synthetic_logs.perturbed_pond(HOME.pond, seed)
    assert len({synthetic_logs.perturbed_pond(HOME.pond, seed).wind_shelter for seed in range(12)}) == 12


def test_perturbed_weather_differs_day_by_day():
    other = synthetic_logs.perturbed_weather(HOME.air, 3)
    off = np.asarray(other.air_temp) - HOME.air.air_temp
    assert 0 < np.abs(off).mean() < 1.5 and off[:24].std() < 1e-9 < off.std()


def test_a_cover_is_sized_for_a_saving():
    for wanted in (0.1, 0.4):
        pond = synthetic_logs.pond_with_saving(HOME.pond, HOME.index, HOME.air, HOME.schedule, wanted, **KNOWN)
        made = synthetic_logs.synthetic_log(pond, HOME.index, HOME.air, HOME.schedule, **KNOWN)
        assert made.saving() == pytest.approx(wanted, abs=0.005)  # one step of the secant
    with pytest.raises(synthetic_logs.CoverTooSmall, match="saves at most"):
        synthetic_logs.pond_with_saving(HOME.pond, HOME.index, HOME.air, HOME.schedule, 0.95, **KNOWN)
    with pytest.raises(OutOfRange, match="no cover"):
        synthetic_logs.pond_with_saving(
            replace(HOME.pond, cover=None), HOME.index, HOME.air, HOME.schedule, 0.4, **KNOWN
        )

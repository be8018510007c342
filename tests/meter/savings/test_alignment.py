"""Alignment of meter and weather: energy is conserved, gaps are reported, the open loss is that of the heat balance."""

from dataclasses import replace

import comparison_pairs as scene
import numpy as np
import pandas as pd
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.meter.savings import synthetic_logs
from pondheat.meter.savings.alignment import align

HOME = scene.site(0).part(24 * 100, 24 * 110)
POND = HOME.pond


def use_of(kwh, start=None, hours=1.0, step="1h", **columns):
    start = HOME.index[0] if start is None else start
    index = pd.date_range(start, periods=len(kwh), freq=step, name="start")
    return pd.DataFrame({"kwh": np.asarray(kwh, float), "hours": hours, **columns}, index=index)


def aligned_with(use, **others):
    return align(use, POND, HOME.index, HOME.air, **{"set_point": 18.0, **others})


def test_open_loss_is_that_of_the_heat_balance():
    hours = aligned_with(use_of(np.ones(48), water_temp=17.0), pump_heat=100.0).hours
    air = HOME.part(0, 48).air
    moment = balance.moment(replace(POND, cover=None), air, 17.0)
    assert hours["open_loss"].to_numpy() == pytest.approx(sum(moment[name] for name in balance.ROUTES) / 1000)
    assert hours["open_need"].to_numpy() == pytest.approx(moment["net"] / 1000 - 0.1)
    assert hours["degree_hours"].to_numpy() == pytest.approx(17.0 - np.asarray(air.air_temp))


def test_a_synthetic_log_without_errors_agrees_with_the_model():
    """For the sheet's own pond, never covered, heat used equals modelled need wherever nothing is stored."""
    made = synthetic_logs.synthetic_log(
        POND,
        HOME.index,
        HOME.air,
        0.0,
        set_point=18.0,
        heater=replace(HOME.heater, power=50_000.0),
        pump_heat=100.0,
        thermometer_step=0.0,
    )
    hours = aligned_with(made.use, pump_heat=100.0).hours
    held = (made.truth["water_temp"] == 18.0).to_numpy()
    assert held.mean() > 0.8
    after = held & np.append(True, held[:-1])
    assert hours["heat"].to_numpy()[after] == pytest.approx(hours["open_need"].to_numpy()[after], abs=1e-6)


@pytest.mark.parametrize("step, hours", [("15min", 0.25), ("1h", 1.0), ("4h", 4.0), ("24h", 24.0)])
def test_energy_is_conserved_for_any_interval_length(step, hours):
    count = int(96 / hours)
    aligned = aligned_with(use_of(np.arange(count) + 1.0, hours=hours, step=step))
    assert aligned.hours["kwh"].sum() == pytest.approx(count * (count + 1) / 2)
    assert len(aligned.hours) == 96 and aligned.hours["hours"].to_numpy() == pytest.approx(1.0) and not aligned.notes


def test_intervals_across_hours_are_divided():
    aligned = aligned_with(use_of([2.0, 4.0], start=HOME.index[0] + pd.Timedelta("30min")))
    assert aligned.hours["kwh"].tolist() == pytest.approx([1.0, 3.0, 2.0])
    assert aligned.hours["hours"].tolist() == pytest.approx([0.5, 1.0, 0.5])
    assert aligned.hours["open_loss"].iloc[0] == pytest.approx(
        aligned_with(use_of([1.0])).hours["open_loss"].iloc[0] / 2
    )


def test_missing_hours_are_dropped_and_reported():
    use = use_of(np.ones(72)).drop(HOME.index[20:31])
    temps = np.asarray(HOME.air.air_temp, float).copy()
    temps[40:45] = np.nan
    aligned = align(use, POND, HOME.index, replace(HOME.air, air_temp=temps), set_point=18.0)
    assert len(aligned.hours) == 72 - 11 - 5
    assert any("11 hours are missing in the meter" in line for line in aligned.notes)
    assert any("lacks 5 of the meter's hours" in line for line in aligned.notes)
    assert not aligned.hours.index.isin(HOME.index[20:31]).any()
    outside = aligned_with(use_of(np.ones(10), start=HOME.index[0] - pd.Timedelta("4h")))
    assert len(outside.hours) == 6 and "4 readings lie outside" in outside.notes[0]
    swapped = use_of([1.0, 1.0], hours=[2 / 3, 1.0])
    assert any("20 minutes are missing in the meter" in line for line in aligned_with(swapped).notes)


def test_heat_allows_for_cop_and_base_load():
    use = use_of(np.full(24, 2.0))
    assert aligned_with(use, base_load=500.0, cop=3.0).hours["heat"].to_numpy() == pytest.approx(4.5)
    assert aligned_with(use, cop=0.9).hours["heat"].to_numpy() == pytest.approx(1.8)
    assert aligned_with(use).hours["heat"].equals(aligned_with(use).hours["kwh"].rename("heat"))


def test_stored_heat_is_capacity_times_rise():
    warm = 18.0 + np.arange(48) / 48
    aligned = aligned_with(use_of(np.ones(48), water_temp=warm))
    assert aligned.water_logged
    # 12 m³: 13.95 kWh/K; hourly means, so the middles of the first and last hour are 47/48 K apart
    assert aligned.hours["stored"].sum() == pytest.approx(POND.heat_capacity / 3.6e6 * 47 / 48, rel=1e-9)
    unknown = aligned_with(use_of(np.ones(48)))
    assert not unknown.water_logged and not unknown.hours["stored"].any()


def test_alternative_models_spread_around_the_model():
    aligned = aligned_with(use_of(np.ones(240)))
    assert aligned.weights.sum() == pytest.approx(1.0) and aligned.alternatives.shape == (240, len(aligned.weights))
    sums = aligned.alternatives.sum(axis=0) / aligned.hours["open_need"].sum()
    assert 0.4 < sums.min() < 0.95 and 1.05 < sums.max() < 2


@pytest.mark.parametrize(
    "use, sentence",
    [
        (use_of(np.ones(5)).drop(columns="kwh"), "no column “kwh”"),
        (use_of(np.ones(5)).tz_localize(None), "time zone"),
        (use_of([1, np.nan, 1]), "not a number"),
        (use_of(np.ones(3), hours=2.0), "begins before the one above it ends"),
        (use_of(np.ones(3), start=HOME.index[0] - pd.Timedelta("400D")), "same year"),
    ],
)
def test_refuses_unusable_logs(use, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        aligned_with(use)


def test_refuses_unknown_water_temperature():
    with pytest.raises(OutOfRange, match="set point"):
        aligned_with(use_of(np.ones(5)), set_point=None)


def test_no_water_temperature_is_carried_over_a_long_gap():
    """An hourly thermometer that was silent for ten hours: the meter's hours of that time are left out, and told."""
    use = use_of(np.ones(72), water_temp=17.0)
    use.iloc[20:30, use.columns.get_loc("water_temp")] = np.nan
    aligned = aligned_with(use)
    gone = HOME.index[:72].difference(aligned.hours.index)
    assert gone.equals(HOME.index[22:28])
    assert any("6 metered hours" in line for line in aligned.notes)
    short = use_of(np.ones(72), water_temp=17.0)
    short.iloc[20:22, short.columns.get_loc("water_temp")] = np.nan
    assert len(aligned_with(short).hours) == 72

"""Likely ranges against ponds of another model (a sample of tests/long/test_coverage.py), and that model itself."""

import datetime as dt
from dataclasses import replace

import comparison_coverage
import independent_ponds
import numpy as np
import pytest
import twin_coverage


@pytest.fixture(scope="module")
def few():
    """Twenty twins with six cold weeks of season and a fortnight of log."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(twin_coverage, "FIRST", dt.date(2026, 1, 1))
        patch.setattr(twin_coverage, "LAST", dt.date(2026, 2, 11))
        patch.setattr(twin_coverage, "LOG_DAYS", 14)
        yield twin_coverage.coverage(twin_coverage.SEED, 20, scenarios=40)


@pytest.mark.parametrize("way", ["sheet", "learned"])
@pytest.mark.parametrize("answer", twin_coverage.ANSWERS)
def test_likely_ranges_hold_most_truths(few, way, answer):
    """Of 20 ranges that each hold 8 of 10, fewer than 12 or all of 20 hold in 1 % of such samples each."""
    assert 12 <= round(20 * few.loc[(way, answer), "held"]) <= 19


def test_a_meter_narrows_the_range(few):
    for answer in twin_coverage.ANSWERS:
        assert few.loc[("learned", answer), "width"] < 0.75 * few.loc[("sheet", answer), "width"]


@pytest.mark.long
def test_a_few_nights_hold_the_true_saving():
    """Of 10 ranges that each hold 8 of 10, fewer than 5 hold in 1 % of such samples."""
    found = comparison_coverage.coverage(twin_coverage.SEED, 10, (5,), ("two",)).iloc[0]
    assert found["model"] * found["logs"] >= 5


@pytest.mark.long
def test_one_meter_read_four_ways_says_the_same():
    """Every hour, at noon, at eight, by calendar days: four ponds; of 16 such ranges, fewer than 9 hold in 1 %."""
    made = comparison_coverage.comparisons(twin_coverage.SEED, 4, 8, 2)
    assert made.groupby("kind").size().eq(4).all() and made["model"].sum() >= 9
    assert comparison_coverage.agreeing(made) >= 0.9
    # nobody is told of a loss, and no reading of one meter claims half of what another claims
    by_kind = made.pivot(index="pond", columns="kind", values="model saving")
    assert (by_kind.min(axis=1) > 0.6 * by_kind.max(axis=1)).all()


# --- the model itself -----------------------------------------------------------------------------------------------


def test_a_steady_pond_takes_what_it_loses():
    """Constant weather: the heater's mean power is the loss less the pump, by hand for walls and new water alone."""
    sheet = {name: values[:1] for name, values in independent_ponds.sheets_of(np.random.default_rng(1), 1).items()}
    ponds = independent_ponds.true_ponds(np.random.default_rng(2), sheet)
    hours = 120
    still = independent_ponds.Weather(*(np.full((hours, 1), value) for value in (5.0, 0.8, 0.0, 0.0, 300.0)))
    sealed = replace(ponds, area=np.full(1, 1e-6), stream_air=np.zeros(1), cover_leak=np.zeros(1))
    heat, _, _ = independent_ponds.heater_and_water(
        sealed, still, np.full(hours, 8.0), np.zeros(hours), np.full(1, 9e3)
    )
    lead = sheet["set_point"] - 5.0, sheet["set_point"] - 8.0
    loss = (sealed.wall_air + sealed.casing) * lead[0]
    loss = loss + (sealed.wall_ground + sealed.new_water * independent_ponds.WATER) * lead[1] - sealed.pump_heat
    assert heat[24:].mean() * 1000 == pytest.approx(float(loss[0]), rel=0.05)


def test_a_sky_lies_between_a_clear_one_and_the_air():
    clear, overcast = (independent_ponds.sky_long_wave(10.0, 0.8, cloud) for cloud in (0.0, 1.0))
    # 10 °C, 80 %: e 9.8 mbar, Prata's emissivity 0.771 (by hand), black body 364.5 W/m²
    assert clear == pytest.approx(0.771 * 364.5, rel=0.01)
    assert clear < overcast < 364.5


def test_the_series_are_as_wide_and_as_slow_as_said():
    made = independent_ponds.autoregressive(np.random.default_rng(1), 2000, 50, 2.0, 24.0)
    assert made.std() == pytest.approx(2.0, rel=0.05)
    assert np.corrcoef(made[24:].ravel(), made[:-24].ravel())[0, 1] == pytest.approx(np.exp(-1), abs=0.06)

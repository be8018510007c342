"""The fit of an unheated pond to its thermometer: by hand for one pond, and what it refuses."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from pondheat.heat import balance
from pondheat.heat.balance import Air, Pond
from pondheat.heat.covers import Cover
from pondheat.meter.factors import PRIORS
from pondheat.meter.fitting import thermometer_fit
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.fitting.priors import InsufficientReadings
from pondheat.season.simulate import integrate

SHEET = Pond(10.0, 12.0, wind_shelter=0.5, sky_view=0.8, shade=0.2)


def conditions(days: int, pond: Pond = SHEET, covered: float = 0.0, seed: int = 3) -> Conditions:
    """Made-up weather of a spring, day by day another."""
    rng, hours = np.random.default_rng(seed), np.arange(24 * days)
    index = pd.date_range("2026-04-01", periods=len(hours), freq="h", tz="UTC")
    cloud, wind = (np.repeat(rng.uniform(*ends, days), 24) for ends in ((0.0, 1.0), (0.5, 7.0)))
    sun = np.maximum(np.sin((hours % 24 - 6) / 12 * np.pi), 0) * 700 * (1 - 0.7 * cloud)
    air = 10 + np.repeat(rng.normal(0, 3, days), 24) + 4 * np.sin((hours % 24 - 9) / 12 * np.pi)
    return Conditions(pond, index, Air(air, 0.7, wind, cloud, sun), np.nan, covered)


def logged(pond: Pond, known: Conditions, surface_factor: float = 1.0) -> pd.DataFrame:
    """The hourly means of a pond's true water."""
    prepared = balance.prepare(pond, known.air, known.covered).with_factors(surface_factor=surface_factor)
    course = integrate(prepared, np.nan, 0.0, known.pump_heat, 12.0)
    return pd.DataFrame({"water_temp": course.mean, "hours": 1.0}, index=known.index)


def value(fit: thermometer_fit.WaterFit, name: str) -> tuple[float, float, float]:
    at = thermometer_fit.WATER_FACTORS.index(name)
    return float(fit.low[at]), float(fit.factors[at]), float(fit.high[at])


@pytest.mark.parametrize(
    "name, pond",
    [
        ("wind", replace(SHEET, wind_shelter=0.3)),
        ("sky", replace(SHEET, sky_view=0.6)),
        ("sun", replace(SHEET, shade=0.4)),
        ("volume", replace(SHEET, volume=15.0)),
    ],
)
def test_each_key_alone_is_found_without_noise(name, pond):
    """Without noise, the values to write are the truth to a twentieth."""
    truth = {"wind": 0.6, "sky": 0.75, "sun": 0.75, "volume": 1.25}
    known = conditions(40)
    fit = thermometer_fit.fit(logged(pond, known), known)
    low, _, high = value(fit, name)
    assert low <= truth[name] <= high
    for key, found in fit.writable.items():
        assert found == pytest.approx(truth[key] if key == name else 1.0, rel=0.05), key
    if name == "wind":
        assert high < 1


def test_a_surface_that_loses_more_is_found():
    known = conditions(60)
    low, middle, high = value(thermometer_fit.fit(logged(SHEET, known, 1.25), known), "surface")
    assert low <= 1.25 <= high and middle > 1.08


def test_what_the_log_cannot_tell_stays_as_assumed():
    """No cover and no walls: their factors keep the prior, in value and in range."""
    known = conditions(20)
    fit = thermometer_fit.fit(logged(SHEET, known), known)
    for name in ("cover", "walls", "streams"):
        low, middle, high = value(fit, name)
        width = PRIORS[name].width
        assert middle == pytest.approx(1) and high == pytest.approx(np.exp(1.645 * width), rel=1e-3), name
        assert fit.variance_reduction[thermometer_fit.WATER_FACTORS.index(name)] < 1e-3


def test_values_that_no_sheet_can_hold_are_not_reached():
    """A pond in the open field with no shade: no range goes beyond all wind, all sky, all sun."""
    pond = replace(SHEET, wind_shelter=1.0, sky_view=1.0, shade=0.0)
    known = conditions(30, pond)
    fit = thermometer_fit.fit(logged(pond, known, 1.3), known)
    assert all(value(fit, name)[2] <= 1 + 1e-9 for name in ("wind", "sky", "sun"))
    assert all(fit.writable[name] <= 1 + 1e-9 for name in ("wind", "sky", "sun"))


def test_a_cover_that_is_always_on_hides_wind_and_sky():
    pond = replace(SHEET, cover=Cover("sheet", 3.1, 0.8, 0.002))
    known = conditions(30, pond, covered=1.0)
    covered = thermometer_fit.fit(logged(pond, known), known)
    open_ = thermometer_fit.fit(logged(SHEET, conditions(30)), conditions(30))
    for at in (0, 1):  # wind and sky: variance that is left
        assert 1 - covered.variance_reduction[at] > 2 * (1 - open_.variance_reduction[at])


def test_days_at_freezing_point_teach_nothing():
    known = conditions(30)
    log = logged(SHEET, known)
    log.iloc[24 * 10 : 24 * 14, 0] = 0.0
    fit = thermometer_fit.fit(log, known)
    assert any("5 days near freezing point" in note for note in fit.notes)
    assert len(fit.days) <= 29 - 5
    log["water_temp"] = 0.1
    with pytest.raises(InsufficientReadings, match="near freezing point on every day"):
        thermometer_fit.fit(log, known)


@pytest.mark.parametrize("days, said", [(1, "No whole day"), (5, "Only 4 whole days")])
def test_too_few_days(days, said):
    known = conditions(days)
    log = logged(SHEET, known)
    with pytest.raises(InsufficientReadings, match=said):
        thermometer_fit.fit(log.iloc[:10] if days == 1 else log, known)


def test_a_forgotten_day_counts_for_little():
    """A day on which the probe was 4 K off leaves the truth within the range."""
    known = conditions(40)
    log = logged(replace(SHEET, wind_shelter=0.3), known)
    log.iloc[24 * 20 : 24 * 21, 0] += 4.0
    fit = thermometer_fit.fit(log, known)
    low, middle, high = value(fit, "wind")
    assert low <= 0.6 <= high and middle < 0.8
    assert fit.days["weight"].idxmin() in pd.to_datetime(["2026-04-20", "2026-04-21"])

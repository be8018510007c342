"""The weights of the evaporation formulae come from a measured record: each is run through it, with nothing fitted."""

import functools

import numpy as np
import pandas as pd
import pytest

from pondheat.analysis.uncertain_inputs import FORMULA_WEIGHTS, NEAR_SURFACE
from pondheat.core.places import DATA
from pondheat.heat import surface
from pondheat.heat.balance import Pond
from pondheat.season import simulate
from pondheat.season.heaters import Heater
from pondheat.season.weather import weather

LAKE = DATA / "measured" / "shallow_lake_2018.csv"
FIRST_SCORED = 72  # h, after which the start is forgotten
START = 24.98  # °C, the first measured hours
SURE_TO = 0.7  # K, how far sky and wind of the record leave the mean of the water unsure (judgement)


@functools.cache
def lake():
    record = weather.read(LAKE, timezone="Etc/GMT+5", year=2018, latitude=44.15, longitude=-89.5, altitude=336)
    return record.hours, simulate.air_of(record.hours, record.wind_height)


@functools.cache
def error(formula):
    """Bias and root mean square error of the water [K] by a formula, hour means against measured hour means."""
    hours, air = lake()
    pond = Pond(10_000, 15_400, wind_shelter=NEAR_SURFACE.get(formula, 1.0), evaporation=formula)
    found = simulate.simulate(pond, hours, air, set_point=np.nan, heater=Heater("none"), start_temp=START)
    ends = np.append(START, found["water_temp"].to_numpy())
    missed = (ends[1:] + ends[:-1]) / 2 - pd.read_csv(LAKE)["water_temp [°C]"].to_numpy(float)
    missed = missed[FIRST_SCORED:][np.isfinite(missed[FIRST_SCORED:])]
    return missed.mean(), np.sqrt((missed**2).mean())


def test_the_formulae_of_the_likely_ranges_follow_the_lake():
    print()
    for formula in surface.EVAPORATION:
        print(f"{formula:<20} bias {error(formula)[0]:+.2f} K, root mean square {error(formula)[1]:.2f} K")
    heavy = [formula for formula, weight in FORMULA_WEIGHTS.items() if weight > 1]
    assert all(abs(error(formula)[0]) < SURE_TO and error(formula)[1] < 1.0 for formula in heavy)
    missing = set(surface.EVAPORATION) - set(FORMULA_WEIGHTS)
    assert missing == {"carrier", "vdi_2089"} and all(abs(error(formula)[0]) > 2.0 for formula in missing)


@pytest.mark.parametrize("formula", FORMULA_WEIGHTS)
def test_weights_follow_from_the_misses(formula):
    """Likelihood of the bias, doubled where the loss in calm air grows with the warmth of the water, in 20 parts."""

    def likelihood(name):
        doubled = 2 if name in ("ryan_harleman", "shah_quiet") else 1
        return doubled * np.exp(-((error(name)[0] / SURE_TO) ** 2) / 2)

    part = 20 * likelihood(formula) / sum(map(likelihood, FORMULA_WEIGHTS))
    assert sum(FORMULA_WEIGHTS.values()) == 20
    assert FORMULA_WEIGHTS[formula] == pytest.approx(part, abs=1.0)

"""The default model against measured water that nothing was fitted to."""

import numpy as np
import pandas as pd
import pytest

from pondheat.analysis.measured_water import LAKE_FILE, SETTLING_HOURS, computed_water, read_lake, water_error


@pytest.fixture(scope="module")
def lake():
    return read_lake()


def test_the_default_model_follows_the_measured_lake(lake):
    error = water_error(computed_water(lake), lake.water_temp)
    assert error.rmse <= 0.85 and abs(error.bias) <= 0.4
    assert error.hours == 3000 - SETTLING_HOURS - 2  # two hours of water are empty


def test_a_sky_that_is_too_cold_by_cloud_shows_in_the_water(lake):
    new, old = (
        water_error(computed_water(lake, sky=name), lake.water_temp) for name in ("crawford_duchon", "berdahl_martin")
    )
    assert old.rmse - new.rmse > 0.3
    blown = water_error(computed_water(lake, evaporation="carrier"), lake.water_temp)
    assert blown.bias < -1.5  # made for still air indoors: in the full wind it cools too much


def test_the_error_by_hand():
    measured = np.concatenate([np.zeros(SETTLING_HOURS), [10.0, np.nan, 12.0]])
    computed = np.concatenate([np.full(SETTLING_HOURS, 99.0), [11.0, 5.0, 9.0]])
    error = water_error(computed, measured)
    assert (error.bias, error.worst, error.hours) == (-1.0, 3.0, 2) and error.rmse == pytest.approx(np.sqrt(5))


def test_the_record_is_as_described():
    table = pd.read_csv(LAKE_FILE)
    assert len(table) == 3000 and table["water_temp [°C]"].isna().sum() == 2
    stamps = pd.to_datetime(table["time"])
    assert (stamps.diff().dropna() == pd.Timedelta("1h")).all()
    assert table["water_spread [K]"].median() < 0.1  # well mixed
    assert "Carolyn Voter" in (LAKE_FILE.parent / "LICENCE-CSLSdata.txt").read_text(encoding="utf-8")

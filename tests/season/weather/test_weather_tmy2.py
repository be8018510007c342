"""TMY2: Miami in pvlib's wheel. Raw columns are tenths; hours are numbered by their end."""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from pondheat.season.weather import weather

MIAMI = files("pvlib") / "data" / "12839.tm2"


@pytest.fixture(scope="module")
def miami():
    return weather.read("miami", timezone="America/New_York", year=2025)


def test_known_rows(miami):
    # first line of the file: hour 01 of 1 January, dry bulb 200 tenths, 73 %, 1017 mbar, wind 67 tenths, sky 7 tenths
    first = miami.hours.iloc[0]
    assert miami.hours.index[0] == pd.Timestamp("2025-01-01 00:00", tz="America/New_York")
    assert first[["air_temp", "rel_humidity", "wind_speed", "pressure", "cloud_cover"]].tolist() == pytest.approx(
        [20.0, 0.73, 6.7, 101_700, 0.7]
    )
    # hour 10 of 1 January; TMY2 manual table 3-2: global sun in columns 18 to 21
    line = MIAMI.read_text().splitlines()[10]
    assert line[1:9] == "62010110"
    assert miami.hours["solar"].iloc[9] == float(line[17:21])


def test_temperatures_by_column_position(miami):
    # TMY2 manual table 3-2: dry bulb in columns 68 to 71, tenths of a degree
    lines = MIAMI.read_text().splitlines()[1:]
    assert np.allclose(miami.hours["air_temp"], [int(line[67:71]) / 10 for line in lines])


def test_sun_is_in_the_right_hour(miami, minutes_after_noon):
    solar = miami.hours["solar"]
    assert abs(minutes_after_noon(solar, miami.longitude)) < 20
    for hours in (-1, 1):
        assert abs(minutes_after_noon(pd.Series(np.roll(solar, hours), solar.index), miami.longitude)) > 40


def test_annual_means_and_place(miami):
    # recomputed from the file: 24.31 °C, 1792.6 kWh/m²
    assert miami.hours["air_temp"].mean() == pytest.approx(24.31, abs=0.005)
    assert weather.solar_energy(miami) == pytest.approx(1792.6, abs=0.05)
    assert (miami.latitude, miami.longitude, miami.altitude) == pytest.approx((25.8, -80.2667, 2), abs=1e-4)
    assert miami.place == "Miami, FL"

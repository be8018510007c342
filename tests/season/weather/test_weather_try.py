"""German test reference years of 2010, from demandlib's wheel."""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import weather

FOLDER = files("demandlib") / "vdi" / "resources_weather"
POTSDAM = FOLDER / "TRY2010_04_Jahr.dat"


@pytest.fixture(scope="module")
def potsdam():
    return weather.read(timezone="Europe/Berlin", year=2025)


@pytest.fixture(scope="module")
def printed():
    lines = POTSDAM.read_text().splitlines()
    rows = lines[lines.index("***") + 1 :]
    return np.array([[float(cell) for cell in row.split()] for row in rows])


def test_annual_means(potsdam):
    # recomputed from the file with numpy, rows in file order, days of 24 rows
    assert potsdam.hours["air_temp"].mean() == pytest.approx(9.54, abs=0.005)
    assert weather.record_degree_days(potsdam, 18) == pytest.approx(3225, abs=0.5)
    assert weather.solar_energy(potsdam) == pytest.approx(1074.5, abs=0.05)
    assert potsdam.hours["rel_humidity"].mean() == pytest.approx(0.797, abs=0.0005)


def test_rows_are_labelled_by_the_start_of_the_hour(potsdam, printed):
    # columns: RG IS MM DD HH N WR WG t p x RF W B D IK A E IL
    assert printed[0, 2:5].tolist() == [1, 1, 1]
    start = potsdam.hours.index.tz_convert("Etc/GMT-1")
    assert np.array_equal(start.hour + 1, printed[:, 4]) and np.array_equal(start.day, printed[:, 3])
    hours = potsdam.hours
    assert np.allclose(hours["air_temp"], printed[:, 8])
    assert np.allclose(hours["wind_speed"], printed[:, 7])
    assert np.allclose(hours["solar"], printed[:, 13] + printed[:, 14])
    assert np.allclose(hours["sky_long_wave"], printed[:, 16])
    assert np.allclose(hours["pressure"], printed[:, 9] * 100)
    assert np.allclose(hours["cloud_cover"], np.minimum(printed[:, 5], 8) / 8)


def test_sun_is_in_the_right_hour(potsdam, minutes_after_noon):
    """These files follow solar time, in Potsdam 8 minutes ahead of the clock, and afternoons are cloudier."""
    solar = potsdam.hours["solar"]
    assert abs(minutes_after_noon(solar, potsdam.longitude)) < 20
    for hours in (-1, 1):
        assert abs(minutes_after_noon(pd.Series(np.roll(solar, hours), solar.index), potsdam.longitude)) > 40


def test_place_and_source(potsdam):
    assert (potsdam.latitude, potsdam.longitude, potsdam.altitude) == pytest.approx((52 + 23 / 60, 13 + 4 / 60, 81))
    assert potsdam.place == "Potsdam" and potsdam.wind_height == 10
    assert "Deutscher Wetterdienst" in potsdam.source and "licence" in potsdam.source
    assert says(potsdam, "134 hours the sky could not be seen")


@pytest.mark.parametrize("name", [name for name, (package, _) in weather.BUILT_IN.items() if package == "demandlib"])
def test_all_fifteen_stations(name):
    found = weather.read(name, timezone="Europe/Berlin", year=2024)
    assert found.place.lower() == name and len(found.hours) == 8784
    assert 2 < found.hours["air_temp"].mean() < 12
    # cloud is observed there, so nothing is judged from the sun
    assert found.hours.drop(columns="sun_dimming").notna().all().all() and found.hours["sun_dimming"].isna().all()


def test_an_old_encoding_is_noted(tmp_path, potsdam):
    path = tmp_path / "mein_try.dat"
    path.write_bytes(POTSDAM.read_text(encoding="utf-8").encode("cp1252"))
    found = weather.read(path, timezone="Europe/Berlin", year=2025)
    assert found.altitude == 81 and says(found, "mein_try.dat was read as cp1252")


def test_the_2015_form_is_rejected_by_name(written):
    head = "1. Koordinatensystem : Lambert konform konisch\nRechtswert : 4201500 Meter\nArt des TRY : mittleres Jahr\n"
    rows = "RW HW MM DD HH t p WR WG N x RF B D A E IL\n***\n1 2 1 1 1 3.0 1000 200 2 8 5 90 0 0 300 -330 0\n"
    path = written("TRY2017.dat", head + rows)
    with pytest.raises(weather.WeatherError, match="2015/2017.*2010 format"):
        weather.read(path, timezone="Europe/Berlin", year=2025)

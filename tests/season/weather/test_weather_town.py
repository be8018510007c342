"""Normals of a town from twelve temperatures: kept as typed, everything else from the most similar built-in place."""

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.core.ranges import OutOfRange
from pondheat.season.weather import town_normals, weather
from pondheat.season.weather.design_cold import design_temp
from pondheat.season.weather.record import NORMALS, WeatherError

TEMPS = [-3, -2, 2, 7, 12, 16, 18, 17, 13, 8, 2, -2]  # invented


def hours_of(text, tmp_path):
    path = tmp_path / "my_town.toml"
    path.write_text(text, encoding="utf-8")
    return weather.read(path, timezone="UTC", year=2025)


def monthly(record, column):
    hours = record.hours[column]
    return hours.groupby(hours.index.month).mean().to_numpy()


def test_typed_temperatures_and_the_rest_from_the_nearest_place(tmp_path):
    found = town_normals.normals_for_town(TEMPS)
    record = hours_of(found.toml, tmp_path)
    assert record.kind == NORMALS and "temperatures typed in" in record.place and found.nearest_place in record.place
    assert monthly(record, "air_temp") == pytest.approx(TEMPS, abs=0.06)  # made of hours; printed to 0.1 K
    like = next(
        one
        for one in (weather.read(name, timezone="UTC", year=2025) for name in weather.names())
        if one.place == found.nearest_place
    )
    for column, printed in (("wind_speed", 0.05), ("cloud_cover", 0.0005), ("solar", 0.05)):
        assert monthly(record, column) == pytest.approx(monthly(like, column), abs=2 * printed, rel=0.005), column
    assert (record.latitude, record.longitude) == pytest.approx((like.latitude, like.longitude), abs=0.005)


def test_the_table_of_monthly_temperatures_is_that_of_the_records():
    """After a change: python tests/make_monthly_temps.py"""
    table = pd.read_csv(town_normals.MONTHLY_TEMPS, index_col="place", comment="#")
    assert set(table.index) == set(weather.BUILT_IN)
    for place in ("potsdam", "greensboro"):
        of_record = town_normals.monthly_means(town_normals.read_place(place).hours["air_temp"])
        assert table.loc[place].to_numpy() == pytest.approx(of_record, abs=0.006)


@pytest.mark.parametrize("place", some_of(["potsdam", "greensboro", "sand point", "miami", "sollerwick"], 0, 4))
def test_a_place_is_nearest_to_itself(place):
    record = weather.read(place, timezone="UTC", year=2025)
    found = town_normals.normals_for_town(monthly(record, "air_temp"))
    assert found.nearest_place == record.place and found.rms_difference == pytest.approx(0, abs=1e-9)


def test_a_dissimilar_town_is_noted():
    polar = np.array(TEMPS) - 25.0
    assert town_normals.normals_for_town(polar).rms_difference > town_normals.MAX_RMS_DIFFERENCE
    assert "That is not close" in town_normals.explain(town_normals.normals_for_town(polar))
    assert "That is not close" not in town_normals.explain(town_normals.normals_for_town(TEMPS))


@pytest.mark.parametrize("name", ['St. "Quote" \\ upon # Hash', "two\nlines", "Ågård 🐟"])
def test_any_name_makes_a_readable_file(name, tmp_path):
    assert hours_of(town_normals.normals_for_town(TEMPS, name).toml, tmp_path).kind == NORMALS


@pytest.mark.parametrize(
    "temps, said", [(TEMPS[:11], "11 temperatures"), ([*TEMPS, 3], "13 temperatures"), ([], "0 temperatures")]
)
def test_other_than_twelve_values_are_rejected(temps, said):
    with pytest.raises(WeatherError, match=said):
        town_normals.normals_for_town(temps)


def test_implausible_temperatures_are_rejected():
    with pytest.raises(OutOfRange):
        town_normals.normals_for_town([*TEMPS[:11], 90])
    with pytest.raises(OutOfRange):
        town_normals.normals_for_town([*TEMPS[:11], float("nan")])


def test_a_southern_town_is_a_northern_one_shifted_by_six_months(tmp_path):
    """Potsdam's months starting in July give Potsdam, with its sun and cloud shifted along."""
    north = weather.read("potsdam", timezone="UTC", year=2025)
    months = north.hours.groupby(north.hours.index.month)[["air_temp", "solar", "cloud_cover"]].mean()
    made = town_normals.normals_for_town(np.roll(months["air_temp"].to_numpy(), 6))
    assert made.shifted and made.nearest_place == "Potsdam" and made.rms_difference == pytest.approx(0, abs=1e-9)
    (tmp_path / "south.toml").write_text(made.toml, encoding="utf-8")
    south = weather.read(tmp_path / "south.toml", timezone="UTC", year=2025)
    assert south.latitude == pytest.approx(-north.latitude, abs=0.01)
    turned = south.hours.groupby(south.hours.index.month)[["air_temp", "solar", "cloud_cover"]].mean()
    for column, within in (("air_temp", 0.4), ("solar", 8.0), ("cloud_cover", 0.02)):
        assert turned[column].to_numpy() == pytest.approx(np.roll(months[column].to_numpy(), 6), abs=within)
    assert not town_normals.is_southern(np.full(12, 26.0))  # near the equator nothing is said


@pytest.mark.parametrize("place", some_of(["hamburg", "potsdam", "greensboro"], 1))
def test_a_towns_year_is_about_as_cold_as_its_own_place(place, tmp_path):
    """A place's own monthly means, made into a year of hours again, meet the place's design cold; a smooth year not."""
    real = weather.read(place, timezone="UTC", year=2025)
    text = town_normals.normals_for_town(monthly(real, "air_temp")).toml
    cold = design_temp(hours_of(text, tmp_path))
    assert cold == pytest.approx(design_temp(real), abs=2.5)
    smooth = text.replace(next(line for line in text.splitlines() if "day_to_day" in line), 'day_to_day_spread = "0 K"')
    assert design_temp(hours_of(smooth, tmp_path)) > design_temp(real) + 5

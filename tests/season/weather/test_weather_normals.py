"""Hours from monthly normals: monthly means as given, daily cycle, day-to-day variation that keeps the means."""

import functools

import make_day_to_day_spread
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usual_cases import some_of
from weather_notes import says

from pondheat.season import sun
from pondheat.season.weather import normals, weather
from pondheat.season.weather.normals import Normals, hourly_record, read_normals

TEXT = (weather.WEATHER_FOLDER / "sollerwick.toml").read_text(encoding="utf-8")
GIVEN = read_normals(TEXT, "sollerwick.toml")
YEARS = (2024, 2025)


def months_of(hours: pd.DataFrame, column: str) -> np.ndarray:
    return hours[column].groupby(hours.index.month).mean().to_numpy()


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("seed", [None, 1, 2])
def test_monthly_means_come_out_as_given(year, seed):
    hours = hourly_record(GIVEN, year, seed).hours
    temps = [4.6, 4.9, 6.6, 8.9, 12.0, 14.8, 16.8, 16.5, 14.2, 11.0, 7.4, 5.0]
    winds = [4.9, 4.8, 4.6, 4.3, 4.0, 3.8, 3.7, 3.6, 3.7, 4.1, 4.4, 4.7]
    humidity = np.array([87, 84, 79, 75, 73, 73, 74, 76, 80, 84, 87, 88]) / 100
    sun_a_day = [0.66, 1.26, 2.40, 3.78, 4.82, 5.15, 4.94, 4.21, 3.03, 1.74, 0.86, 0.53]  # kWh/m²
    assert months_of(hours, "air_temp") == pytest.approx(temps, abs=0.05)
    assert months_of(hours, "wind_speed") == pytest.approx(winds, abs=0.02)
    assert months_of(hours, "rel_humidity") == pytest.approx(humidity, abs=0.005)
    assert months_of(hours, "solar") * 24 / 1000 == pytest.approx(sun_a_day, abs=0.005)


def test_daily_temperature_cycle():
    hours = hourly_record(GIVEN, 2025, None).hours
    by_hour = hours["air_temp"].groupby(hours.index.hour).mean()
    assert by_hour.idxmax() in (14, 15) and by_hour.idxmin() in (5, 6)
    ranges = hours["air_temp"].resample("D").agg(lambda day: day.max() - day.min())
    # hours are means, so the day's extremes are rounded off a little
    assert ranges.groupby(ranges.index.month).mean().to_numpy() == pytest.approx(GIVEN.months["daily_range"], abs=0.25)
    assert hours["air_temp"].diff().abs().max() < 2.5  # nothing jumps at midnight or at the end of a month


def test_vapour_pressure_is_constant_through_the_day():
    from pondheat.heat.moist_air import saturation_vapour_pressure

    for seed in (None, 5):
        hours = hourly_record(GIVEN, 2025, seed).hours
        assert hours["rel_humidity"].min() > 0 and hours["rel_humidity"].max() <= 1
    hours = hourly_record(GIVEN, 2025, None).hours
    vapour = hours["rel_humidity"] * saturation_vapour_pressure(hours["air_temp"].to_numpy())
    day = vapour[(hours.index.month == 7) & (hours.index.day == 15)]
    assert day.max() / day.min() < 1.05  # the same vapour all day, while relative humidity swings by a third
    assert np.ptp(hours["rel_humidity"][day.index]) > 0.3


def test_reproducible_and_different_by_seed():
    first = hourly_record(GIVEN, 2025, 7).hours
    pd.testing.assert_frame_equal(first, hourly_record(GIVEN, 2025, 7).hours)
    assert not np.allclose(first["air_temp"], hourly_record(GIVEN, 2025, 8).hours["air_temp"])


def departures_of(given: Normals, seed: int) -> np.ndarray:
    """Daily means of a year with spells less those of the smooth year [K]."""
    made, smooth = (hourly_record(given, 2025, one).hours["air_temp"] for one in (seed, None))
    return (made - smooth).resample("D").mean().to_numpy()


@functools.cache
def reference_years():
    return make_day_to_day_spread.statistics()


def test_day_to_day_variation_has_the_stated_statistics():
    """Standard deviation as the file says, whatever the seed; lag-one correlation as in the test reference years."""
    _, kept = reference_years()
    found = [departures_of(GIVEN, seed) for seed in range(8)]
    assert [np.std(days) for days in found] == pytest.approx([3.0] * 8, rel=0.01)
    assert np.mean([np.corrcoef(days[:-1], days[1:])[0, 1] for days in found]) == pytest.approx(kept, abs=0.05)
    wider = read_normals(TEXT.replace('day_to_day_spread = "3 K"', 'day_to_day_spread = "6 K"'), "wider.toml")
    assert departures_of(wider, 0) == pytest.approx(2 * found[0], abs=1e-9)


def test_the_default_spread_is_that_of_the_test_reference_years():
    """After a change of either: python tests/make_day_to_day_spread.py"""
    spread, kept = reference_years()
    assert list(normals._DEFAULT_SPREAD) == pytest.approx(spread, abs=0.05) and kept == pytest.approx(0.68, abs=0.005)
    bare = "\n".join(line for line in TEXT.splitlines() if not line.startswith("day_to_day"))
    days = departures_of(read_normals(bare, "bare.toml"), 1)
    assert np.std(days) == pytest.approx(np.sqrt(np.mean(spread**2)), rel=0.02)
    monthly = TEXT.replace('"3 K"', '"5 5 4 3 2 2 2 2 2 3 4 5 K"')
    days = [departures_of(read_normals(monthly, "m.toml"), seed) for seed in range(8)]
    assert np.std([one[:59] for one in days]) > 1.7 * np.std([one[151:243] for one in days])


def test_spells_are_drawn_without_asking_and_can_be_left_out():
    without = TEXT.replace('day_to_day_spread = "3 K"', 'day_to_day_spread = "0 K"')
    smooth = hourly_record(GIVEN, 2025, None).hours["air_temp"]
    assert hourly_record(read_normals(without, "none.toml"), 2025).hours["air_temp"].to_numpy() == pytest.approx(
        smooth.to_numpy(), abs=1e-9
    )
    default = weather.read("sollerwick", timezone="Europe/London", year=2025)
    assert says(default, "seed 1") and says(default, "3 K") and default.hours["air_temp"].min() < smooth.min() - 4


def test_day_to_day_variation_is_continuous_between_months():
    for seed in range(4):
        air = hourly_record(GIVEN, 2025, seed).hours["air_temp"]
        step = air.diff()
        first = (air.index.day == 1) & (air.index.hour == 0) & (air.index.month > 1)
        # the step into a month's first hour lies between those of its neighbours, to a tenth of a degree
        around = pd.concat([step.shift(1), step.shift(-1)], axis=1)
        assert (step[first] - around.mean(axis=1)[first]).abs().max() < 0.1


def test_sun_is_in_the_right_hour(minutes_after_noon):
    found = weather.read("sollerwick", timezone="Europe/London", year=2025)
    solar = found.hours["solar"]
    assert abs(minutes_after_noon(solar, -1.6)) < 5
    assert abs(minutes_after_noon(pd.Series(np.roll(solar, 1), solar.index), -1.6)) > 40


def test_reading_by_name_and_its_notes():
    found = weather.read("Sollerwick", timezone="Europe/London", year=2024, spread_seed=3)
    assert found.kind == "made from monthly normals" and "nvented" in found.source and "CC0" in found.source
    assert len(found.hours) == 8784 and found.altitude == 85
    for said in ("smooth from month to month", "seed 3", "scaled to the monthly sun"):
        assert says(found, said), said
    assert "no cold spells" in " ".join(hourly_record(GIVEN, 2024, None).notes)
    unused = weather.read("potsdam", timezone="Europe/London", year=2024, spread_seed=3)
    assert says(unused, "only monthly normals use one")


def test_irradiance_from_cloud_and_cloud_from_irradiance():
    cloudy = read_normals("\n".join(line for line in TEXT.splitlines() if not line.startswith("solar")), "cloudy.toml")
    record = hourly_record(cloudy, 2025)
    clear = sun.clear_sky_irradiance(record.true_times(), 52.6, -1.6, 85)
    july = record.hours.index.month == 7
    assert record.hours["solar"][july].sum() / clear[july].sum() == pytest.approx(1 - 0.65 * 0.65, abs=0.01)
    sunny = read_normals("\n".join(line for line in TEXT.splitlines() if not line.startswith("cloud")), "sunny.toml")
    made = hourly_record(sunny, 2025).hours
    share = made["solar"][july].sum() / clear[july].sum()
    assert months_of(made, "cloud_cover")[6] == pytest.approx((1 - share) / 0.65, abs=0.01)
    assert months_of(made, "sun_dimming")[6] == pytest.approx(1 - share, abs=0.01)
    assert months_of(record.hours, "sun_dimming")[6] == pytest.approx(0.65 * 0.65, abs=0.01)


@pytest.mark.parametrize("name", some_of(["potsdam", "greensboro", "sand point", "miami"], 0, 1, 2))
def test_irradiance_from_monthly_cloud_in_four_real_years(name):
    """1 − 0.65 cloud on monthly means: 3 to 11 % low in these four, as the note says (the hourly factor: 25 % high)."""
    record = weather.built_in_record(name)
    month = record.hours.index.month
    clear = pd.Series(sun.clear_sky_irradiance(record.true_times(), record.latitude, record.longitude, record.altitude))
    cloud = record.hours["cloud_cover"].groupby(month).mean()
    made = (clear.groupby(month).sum() * (1 - 0.65 * cloud)).sum()
    assert 0.88 < made / record.hours["solar"].sum() < 0.98


@given(st.lists(st.floats(-15, 25), min_size=12, max_size=12), st.floats(0, 15), st.floats(-60, 60))
@settings(max_examples=6, deadline=None)
def test_any_normals_keep_their_monthly_means(temps, swing, latitude):
    months = {name: np.array(values) for name, values in GIVEN.months.items()}
    months.update(air_temp=np.array(temps), daily_range=np.full(12, swing))
    del months["solar"]
    hours = hourly_record(Normals("anywhere", "invented", months, latitude, 0.0, 0.0), 2023).hours
    assert np.abs(months_of(hours, "air_temp") - temps).max() < 0.05
    assert hours.drop(columns="sky_long_wave").notna().all().all() and hours["rel_humidity"].between(0, 1).all()
    assert hours["solar"].min() >= 0


def test_twelve_texts_and_other_units():
    fahrenheit = [f'"{value * 1.8 + 32:.2f} °F"' for value in GIVEN.months["air_temp"]]
    listed = f"air_temp = [{', '.join(fahrenheit)}]"
    text = "\n".join(listed if line.startswith("air_temp") else line for line in TEXT.splitlines())
    assert read_normals(text, "f.toml").months["air_temp"] == pytest.approx(GIVEN.months["air_temp"], abs=0.01)
    assert GIVEN.months["solar"][0] == pytest.approx(660 / 24)


def test_all_errors_are_reported_together(written):
    text = TEXT
    for right, wrong in (
        ("4.6 4.9", "4.9"),
        ("87 84 79", "870 84 79"),
        ('altitude = "85 m"', 'altitude = "85"'),
        ("daily_range", "dayly_range"),
        ("0.53 kWh/m²/day", "0.53 kWh/m²/month"),
    ):
        assert right in text
        text = text.replace(right, wrong)
    with pytest.raises(weather.WeatherError) as told:
        weather.read(written("mine.toml", text), timezone="Europe/London", year=2025)
    for said in (
        "air_temp has 11 values",
        "8.7 given for rel_humidity",
        "“85” has no unit",
        "Did you mean “daily_range”",
        "daily_range is missing",
        "solar is given per month",
    ):
        assert said in str(told.value), said


@pytest.mark.parametrize(
    "text, said",
    [
        ("air_temp = ", "is missing after ="),
        ("[pond]\nvolume = 3\nair_temp = 3", "not a known key"),
        ('air_temp = "warm"', "air_temp has 0 values"),
    ],
)
def test_other_files_are_rejected(written, text, said):
    with pytest.raises(weather.WeatherError, match=said):
        weather.read(written("bad.toml", text), timezone="UTC", year=2025)

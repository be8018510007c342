"""Built-in names, calendars, time zones, and seasons from typical and measured records."""

import subprocess
import sys
from datetime import date

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import weather
from pondheat.season.weather.record import COLUMNS

ZONES = [
    "Europe/London",
    "Europe/Dublin",
    "America/New_York",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Africa/Casablanca",
    "America/Santiago",
    "UTC",
]


def potsdam(zone="Europe/Berlin", year=2025, **more):
    return weather.read("potsdam", timezone=zone, year=year, **more)


# --- names and arguments ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name, near", [("postdam", "potsdam"), ("greensborough", "greensboro"), ("solerwick", "sollerwick")]
)
def test_an_unknown_name_suggests_the_nearest(name, near):
    with pytest.raises(weather.WeatherError, match=f"Did you mean “{near}”.*Built-in names: bremerhaven"):
        weather.read(name, timezone="Europe/London", year=2025)


def test_missing_file_and_invalid_arguments():
    with pytest.raises(weather.WeatherError, match="“nowhere/file.epw” is neither a weather file nor a built-in name"):
        weather.read("nowhere/file.epw", timezone="Europe/London", year=2025)
    with pytest.raises(ValueError, match="Did you mean “Europe/London”"):
        potsdam("Europe/Lodon")
    with pytest.raises(ValueError, match="latitude"):
        potsdam(latitude=152.0)
    with pytest.raises(ValueError, match="year"):
        potsdam(year=3025)


def test_names_are_known_without_importing_their_packages():
    assert {"potsdam", "greensboro", "sollerwick"} <= set(weather.names())
    loaded = (
        "import sys, pondheat.season.weather.weather; print([m for m in ('pvlib', 'demandlib') if m in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True).stdout.strip() == "[]"


def test_readings_are_independent_copies():
    one, two = potsdam(), potsdam()
    one.hours.iloc[0, 0] = 99
    assert two.hours.iloc[0, 0] != 99 and potsdam().hours.iloc[0, 0] != 99
    assert len(potsdam().notes) == len(two.notes)


def test_wind_height_argument():
    found = potsdam(wind_height=4)
    assert found.wind_height == 4 and says(found, "as you asked; the source says 10 m")


def test_distance_and_height_are_noted():
    found = potsdam("Europe/London", latitude=51.5, longitude=-1.6, altitude=300)
    assert any("a place 10" in note and "km from the pond" in note for note in found.notes)  # about 1010 km
    assert says(found, "219 m above")
    assert not says(potsdam(latitude=52.4, longitude=13.1, altitude=50), "km from")


# --- the calendar -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("year", [2024, 2025])
def test_a_year_of_hours_without_gaps(zone, year):
    hours = potsdam(zone, year).hours
    assert tuple(hours.columns) == COLUMNS and hours.index.name == "time" and str(hours.index.tz) == zone
    assert len(hours) == (8784 if year == 2024 else 8760)
    assert (hours.index[1:] - hours.index[:-1] == pd.Timedelta("1h")).all()
    # the first hour is midnight of winter time, whatever summer time does to the clock
    assert hours["air_temp"].iloc[:3].tolist() == [-2.6, -3.9, -4.6]
    start = hours.index[0]
    assert start - pd.Timestamp(year, 1, 1, tz=zone) in (pd.Timedelta(0), pd.Timedelta("30min"), pd.Timedelta("1h"))


def test_clock_change_days():
    hours = potsdam("Europe/London").hours
    assert (len(hours.loc["2025-03-30"]), len(hours.loc["2025-10-26"]), len(hours.loc["2025-06-01"])) == (23, 25, 24)
    # noon of the file's standard time is one o'clock of summer time
    file_noon = potsdam("UTC").hours["air_temp"].loc["2025-07-01 12:00"]
    assert hours["air_temp"].loc["2025-07-01 13:00"] == file_noon


def test_leap_day_repeats_the_28th():
    leap, plain = potsdam(year=2024), potsdam(year=2025)
    assert leap.hours["air_temp"].loc["2024-02-29"].tolist() == plain.hours["air_temp"].loc["2025-02-28"].tolist()
    assert leap.hours["air_temp"].loc["2024-03-01"].tolist() == plain.hours["air_temp"].loc["2025-03-01"].tolist()
    assert says(leap, "29 February 2024 repeats 28 February")
    assert not says(plain, "29 February")


# --- a season of a typical year -----------------------------------------------------------------------------------


@pytest.mark.parametrize("zone", ZONES)
def test_a_season_across_new_year(zone):
    found = weather.season_hours(potsdam(zone), date(2025, 10, 1), date(2026, 4, 30))
    season = found[~found["spin_up"]]
    assert season.index[0] >= pd.Timestamp("2025-10-01", tz=zone) > found.index[found["spin_up"].to_numpy()][-1]
    assert season.index[-1] < pd.Timestamp("2026-05-01", tz=zone) <= season.index[-1] + pd.Timedelta("1h")
    assert found["spin_up"].sum() == 60 * 24
    assert (found.index[1:] - found.index[:-1] == pd.Timedelta("1h")).all() and found.index.name == "time"
    assert found[list(COLUMNS)].drop(columns="sun_dimming").notna().all().all()
    assert found["sun_dimming"].isna().all()  # cloud was observed there


def test_a_season_uses_the_hours_of_the_year():
    year = potsdam("UTC")
    found = weather.season_hours(year, date(2025, 10, 1), date(2026, 4, 30), spin_up_days=10)
    for stamp in ("2025-09-21 00:00", "2025-10-01 00:00", "2025-12-31 23:00", "2026-01-01 00:00", "2026-04-30 23:00"):
        same = pd.Timestamp(stamp, tz="UTC").replace(year=2025)
        assert found.loc[pd.Timestamp(stamp, tz="UTC"), "air_temp"] == year.hours.loc[same, "air_temp"]
    assert "every year has the same weather" in found.attrs["notes"][0]


def test_spin_up_across_new_year_and_a_leap_day():
    year = potsdam("UTC")
    found = weather.season_hours(year, date(2028, 1, 1), date(2028, 3, 1))
    assert found.index[0] == pd.Timestamp("2027-11-02", tz="UTC") and len(found) == (60 + 61) * 24
    assert found.loc["2028-02-29", "air_temp"].tolist() == found.loc["2028-02-28", "air_temp"].tolist()


def test_whole_year_by_default():
    year = potsdam("UTC")
    found = weather.season_hours(year, None, None, spin_up_days=0)
    assert found["air_temp"].tolist() == year.hours["air_temp"].tolist() and not found["spin_up"].any()


def test_invalid_dates():
    with pytest.raises(weather.WeatherError, match="ends .2025-03-01. before it starts"):
        weather.season_hours(potsdam(), date(2025, 10, 1), date(2025, 3, 1))
    with pytest.raises(ValueError, match="spin_up_days"):
        weather.season_hours(potsdam(), date(2025, 1, 1), date(2025, 3, 1), spin_up_days=-1)


# --- a season of a measured record --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    index = pd.date_range("2024-09-01", "2025-01-31 23:00", freq="h", tz="Europe/London")
    rows = [f"{stamp.isoformat()},{at / 1000:.3f},80,3,100,50,1010" for at, stamp in enumerate(index)]
    path = tmp_path_factory.mktemp("measured") / "garden.csv"
    head = "time,air_temp [°C],rel_humidity [%],wind_speed [m/s],solar [W/m²],cloud_cover [%],pressure [hPa]\n"
    path.write_text(head + "\n".join(rows), encoding="utf-8")
    return weather.read(path, timezone="Europe/London", year=2025, latitude=52, longitude=-1, altitude=50)


def test_spin_up_uses_recorded_hours(measured):
    found = weather.season_hours(measured, date(2024, 11, 15), date(2025, 1, 15))
    assert found["spin_up"].sum() == 60 * 24 and found.attrs["notes"] == ()
    # 60 times 24 hours before midnight of winter time is one o'clock of summer time
    assert found["air_temp"].iloc[0] == measured.hours.loc["2024-09-16 01:00", "air_temp"]
    assert found.index[-1] == pd.Timestamp("2025-01-15 23:00", tz="Europe/London")


def test_first_days_are_repeated_for_a_missing_spin_up(measured):
    found = weather.season_hours(measured, date(2024, 9, 11), date(2024, 12, 1))
    assert found["spin_up"].sum() == 60 * 24
    assert "for the 50 days before that, its first 3 days are repeated" in found.attrs["notes"][0]
    assert (found.index[1:] - found.index[:-1] == pd.Timedelta("1h")).all()
    before = found[found.index < measured.hours.index[0]]
    assert before["air_temp"].max() == pytest.approx(0.071)
    # three days on end: each hour of the day meets its own hour, and the last of them leads to the first real one
    assert before["air_temp"].iloc[-72:].tolist() == pytest.approx(np.arange(72) / 1000)
    assert np.array_equal(before.index[-72:].hour, measured.hours.index[:72].hour)


def test_whole_record_by_default(measured):
    found = weather.season_hours(measured, None, None)
    assert len(found) - found["spin_up"].sum() == len(measured.hours) and found["spin_up"].sum() == 1440


@pytest.mark.parametrize("start, end", [(date(2024, 8, 31), date(2024, 10, 1)), (date(2024, 12, 1), date(2025, 2, 1))])
def test_a_season_outside_the_record_is_rejected(measured, start, end):
    said = "not covered: garden.csv only has hours from 2024-09-01 00:00 to 2025-02-01 00:00"
    with pytest.raises(weather.WeatherError, match=said):
        weather.season_hours(measured, start, end)


# --- what kind of year it is --------------------------------------------------------------------------------------


def test_summary_line(measured):
    assert weather.summary(potsdam("Europe/London")) == (
        "Potsdam, typical year: mean [9.5 °C], 3,225 K·d below [18 °C], sun 1,075 kWh/m²"
    )
    said = "garden.csv, measured, 2024-09-01 to 2025-01-31: mean [1.8 °C], 2,47"
    assert weather.summary(measured).startswith(said)


@pytest.mark.parametrize("zone", ZONES)
def test_degree_days_do_not_depend_on_the_time_zone(zone):
    assert weather.record_degree_days(potsdam(zone), 18) == pytest.approx(3224.9, abs=0.05)


def test_part_of_a_day_counts_in_part(measured):
    # 153 days below 18 by 18 − 0.001 × (number of the hour)
    numbers = np.arange(len(measured.hours)) / 1000
    assert weather.record_degree_days(measured, 18) == pytest.approx((18 - numbers).sum() / 24, abs=1e-6)

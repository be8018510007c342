"""TMY3: the two files in pvlib's wheel, row by row, and the timing of their sun."""

import csv
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import weather

GREENSBORO = files("pvlib") / "data" / "723170TYA.CSV"


@pytest.fixture(scope="module")
def greensboro():
    return weather.read("greensboro", timezone="America/New_York", year=2025)


@pytest.fixture(scope="module")
def printed():
    """The file's own rows, by the csv module: row 0 is 01/01 01:00, the hour that ends at one o'clock."""
    rows = list(csv.DictReader(GREENSBORO.read_text().splitlines()[1:]))
    assert (rows[0]["Date (MM/DD/YYYY)"][:5], rows[0]["Time (HH:MM)"]) == ("01/01", "01:00")
    return rows


def test_annual_means(greensboro):
    # recomputed from the file with numpy, rows in file order, days of 24 rows
    assert greensboro.hours["air_temp"].mean() == pytest.approx(14.42, abs=0.005)
    assert weather.record_degree_days(greensboro, 18) == pytest.approx(2081.5, abs=0.05)
    assert weather.solar_energy(greensboro) == pytest.approx(1566.2, abs=0.05)


def test_sand_point(minutes_after_noon):
    place = weather.read("sand point", timezone="America/Anchorage", year=2025)
    assert place.hours["air_temp"].mean() == pytest.approx(4.42, abs=0.005)
    assert abs(minutes_after_noon(place.hours["solar"], place.longitude)) < 20


def test_rows_are_labelled_by_the_start_of_the_hour(greensboro, printed):
    start = greensboro.hours.index.tz_convert("Etc/GMT+5")
    assert start[0] == pd.Timestamp("2025-01-01 00:00", tz="Etc/GMT+5")
    for column, name, factor in [
        ("air_temp", "Dry-bulb (C)", 1),
        ("solar", "GHI (W/m^2)", 1),
        ("rel_humidity", "RHum (%)", 0.01),
        ("wind_speed", "Wspd (m/s)", 1),
        ("pressure", "Pressure (mbar)", 100),
        ("cloud_cover", "TotCld (tenths)", 0.1),
    ]:
        given = np.array([float(row[name]) * factor for row in printed])
        assert np.allclose(greensboro.hours[column], given), column


def test_a_known_row(greensboro):
    # the row printed 15 July 13:00 is the hour from 12 to 13 standard time
    row = next(
        row
        for row in csv.DictReader(GREENSBORO.read_text().splitlines()[1:])
        if row["Date (MM/DD/YYYY)"].startswith("07/15") and row["Time (HH:MM)"] == "13:00"
    )
    hour = greensboro.hours.loc[pd.Timestamp("2025-07-15 13:00", tz="America/New_York")]  # 12:00 without summer time
    assert (hour["air_temp"], hour["solar"]) == (float(row["Dry-bulb (C)"]), float(row["GHI (W/m^2)"]))


def test_sun_is_in_the_right_hour(greensboro, minutes_after_noon):
    solar = greensboro.hours["solar"]
    assert abs(minutes_after_noon(solar, greensboro.longitude)) < 20
    for hours in (-1, 1):
        shifted = pd.Series(np.roll(solar, hours), index=solar.index)
        assert abs(minutes_after_noon(shifted, greensboro.longitude)) > 40


def test_place_and_source(greensboro):
    assert (greensboro.latitude, greensboro.longitude, greensboro.altitude) == (36.1, -79.95, 273)
    assert greensboro.place == "Greensboro Piedmont Triad Int, NC"
    assert greensboro.kind == "typical year" and "free to use" in greensboro.source and "pvlib" in greensboro.source
    assert greensboro.wind_height == 10 and says(greensboro, "10 m is assumed")


def test_missing_value_codes(tmp_path):
    lines = GREENSBORO.read_text().splitlines()
    rows = [line.split(",") for line in lines]
    for at in (100, 101):
        rows[at][31] = "-9900"
    path = tmp_path / "holes.csv"
    path.write_text("\n".join(",".join(row) for row in rows))
    found = weather.read(path, timezone="America/New_York", year=2025)
    assert says(found, "air_temp: 2 hours missing, filled along a straight line: 5 Jan 02:00 to 5 Jan 03:00")
    before, after = float(rows[99][31]), float(rows[102][31])
    assert found.hours["air_temp"].iloc[98] == pytest.approx(before + (after - before) / 3)
    for at in range(100, 104):
        rows[at][31] = "-9900"
    path.write_text("\n".join(",".join(row) for row in rows))
    said = "air_temp is missing for more than 3 hours in a row: 5 Jan 02:00 to 5 Jan 05:00"
    with pytest.raises(weather.WeatherError, match=said):
        weather.read(path, timezone="America/New_York", year=2025)


def test_midnight_as_00_00_of_the_next_day(tmp_path, greensboro):
    lines = GREENSBORO.read_text().splitlines()
    out = []
    for line in lines:
        parts = line.split(",")
        if len(parts) > 1 and parts[1] == "24:00":
            day = pd.to_datetime(parts[0]) + pd.Timedelta("1D")
            if (day.month, day.day) == (2, 29):  # the months come from different years, some of them leap
                day += pd.Timedelta("1D")
            parts[:2] = [f"{day:%m/%d/%Y}", "00:00"]
        out.append(",".join(parts))
    path = tmp_path / "midnight.csv"
    path.write_text("\n".join(out))
    found = weather.read(path, timezone="America/New_York", year=2025)
    assert np.array_equal(found.hours["air_temp"], greensboro.hours["air_temp"])


def test_a_truncated_file_is_rejected(tmp_path):
    path = tmp_path / "short.csv"
    path.write_text("\n".join(GREENSBORO.read_text().splitlines()[:5000]))
    with pytest.raises(weather.WeatherError, match="air_temp is missing for more than 3 hours"):
        weather.read(path, timezone="America/New_York", year=2025)

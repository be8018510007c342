"""EPW: Greensboro's TMY3 rewritten as an EPW file must give the same hours."""

import csv
import re
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import weather

HEAD = (
    "LOCATION,{place},NC,USA,TMY3,723170,36.10,-79.95,{zone},273.0\nDESIGN CONDITIONS,0\n"
    "TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\n"
    "COMMENTS 1,{comment}\nCOMMENTS 2,\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n"
)


def epw_text(place="Greensboro", zone="-5.0", comment="", change=None) -> str:
    """Rows in the order of the EnergyPlus documentation: hour 1 is the hour that ends at one o'clock."""
    rows = []
    for at, row in enumerate(csv.DictReader((files("pvlib") / "data" / "723170TYA.CSV").read_text().splitlines()[1:])):
        month, day, year = row["Date (MM/DD/YYYY)"].split("/")
        hour = int(row["Time (HH:MM)"][:2])
        fields = {
            "dry": row["Dry-bulb (C)"],
            "dew": row["Dew-point (C)"],
            "rh": row["RHum (%)"],
            "p": str(float(row["Pressure (mbar)"]) * 100),
            "ir": "9999",
            "ghi": row["GHI (W/m^2)"],
            "wind": row["Wspd (m/s)"],
            "sky": row["TotCld (tenths)"],
        }
        if change:
            change(at, fields)
        dry, dew, humid, pressure, infrared, sun, wind, sky = fields.values()
        rows.append(
            f"{year},{int(month)},{int(day)},{hour},0,?9,{dry},{dew},{humid},{pressure},0,0,{infrared},{sun},"
            f"0,0,0,0,0,0,0,{wind},{sky},0,16,77777,9,999999999,15,0.1,0,88,0.2,0.0,1.0"
        )
    return HEAD.format(place=place, zone=zone, comment=comment) + "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    made = tmp_path_factory.mktemp("epw") / "greensboro.epw"
    made.write_text(epw_text())
    return made


@pytest.fixture(scope="module")
def found(path):
    return weather.read(path, timezone="America/New_York", year=2025)


def test_epw_equals_the_tmy3_it_was_made_from(found):
    tmy3 = weather.read("greensboro", timezone="America/New_York", year=2025)
    pd.testing.assert_frame_equal(found.hours, tmy3.hours)


def test_sun_is_in_the_right_hour(found, minutes_after_noon):
    solar = found.hours["solar"]
    assert abs(minutes_after_noon(solar, found.longitude)) < 20
    for hours in (-1, 1):
        assert abs(minutes_after_noon(pd.Series(np.roll(solar, hours), solar.index), found.longitude)) > 40


def test_place_and_source(found):
    assert (found.place, found.latitude, found.altitude, found.wind_height) == ("Greensboro, USA", 36.1, 273, 10)
    assert "greensboro.epw" in found.source and "licence" in found.source


def test_missing_value_codes(written):
    def change(at, fields):
        fields["sky"] = "99"
        if at in (10, 11):
            fields.update(dry="99.9", rh="999", wind="999")

    found = weather.read(written("holes.epw", epw_text(change=change)), timezone="America/New_York", year=2025)
    assert says(found, "cloud_cover: 8760 hours estimated by day from the sun")
    for column in ("air_temp", "wind_speed"):
        assert says(found, f"{column}: 2 hours missing, filled along a straight line: 1 Jan 10:00 to 1 Jan 11:00")


def test_missing_humidity_is_computed_from_dew_point(written, found):
    def change(at, fields):
        fields["rh"] = "999"

    made = weather.read(written("dew.epw", epw_text(change=change)), timezone="America/New_York", year=2025)
    assert says(made, "computed from the dew point")
    # dew points are printed to 0.1 K, humidity to 1 %: half a step of each is 0.8 %. One row in ten of the file
    # contradicts itself (months joined and gaps filled): they are left out.
    assert np.quantile(np.abs(made.hours["rel_humidity"] - found.hours["rel_humidity"]), 0.9) < 0.01


def test_a_wrong_time_zone_in_the_header_is_noted(written):
    made = weather.read(written("zone.epw", epw_text(zone="-8.0")), timezone="America/New_York", year=2025)
    check = [note for note in made.notes if note.startswith("Check the times")]
    late = re.search(r"is (\d+) minutes too late", " ".join(check))
    # hours of UTC−5 read as those of UTC−8 put the sun three hours late
    assert len(check) == 1 and int(late[1]) == pytest.approx(180, abs=5)
    right = weather.read(written("right.epw", epw_text()), timezone="America/New_York", year=2025)
    assert not says(right, "Check the times")


def test_broken_files_are_rejected(written):
    with pytest.raises(weather.WeatherError, match="looks like an EPW file but cannot be read as one"):
        weather.read(written("broken.epw", epw_text()[:3000] + "\nthis is no row"), timezone="UTC", year=2025)
    with pytest.raises(weather.WeatherError, match="no hours|cannot be read"):
        weather.read(written("empty.epw", HEAD.format(place="x", zone="0", comment="")), timezone="UTC", year=2025)

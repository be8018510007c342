"""PVGIS: typical year (CSV, JSON, EPW) and hourly series, written here in its formats with solar positions of pvlib."""

import json

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import weather

YEAR = pd.date_range("2019-01-01", periods=8760, freq="h", tz="UTC")
# One clear day of a file of PVGIS 5.3, © European Union, 45° N 8° E, 2 January 2018, G(h) of hours 8 to 15 UTC, sampled
# 0.1761 h past the hour
CLEAR_DAY = [107.0, 244.0, 336.0, 379.0, 364.0, 309.0, 204.0, 21.0]


def samples(latitude: float, longitude: float, minutes: float, index=YEAR) -> np.ndarray:
    """Clear-sky sun at single moments, as a satellite sees it."""
    from pvlib import clearsky, solarposition

    height = solarposition.ephemeris(index + pd.Timedelta(minutes=minutes), latitude, longitude)["zenith"].to_numpy()
    return clearsky.haurwitz(pd.Series(height))["ghi"].to_numpy().round(2)


def table_of(latitude: float, longitude: float, minutes: float) -> pd.DataFrame:
    solar = samples(latitude, longitude, minutes)
    if longitude == 8:
        solar[24 + 8 : 24 + 16] = CLEAR_DAY
        solar[24 + 16] = 0
    # the air temperature is the number of the UTC hour in the year, in thousandths: it tells which row came where
    return pd.DataFrame(
        {
            "time(UTC)": YEAR.strftime("%Y%m%d:%H%M"),
            "T2m": np.arange(8760) / 1000,
            "RH": 80.0,
            "G(h)": solar,
            "Gb(n)": 0.0,
            "Gd(h)": 0.0,
            "IR(h)": 300.0,
            "WS10m": 3.0,
            "WD10m": 200.0,
            "SP": 99_000.0,
        }
    )


def csv_text(latitude=45.0, longitude=8.0, offset=0.1761, said=True) -> str:
    head = (
        f"Latitude (decimal degrees): {latitude:.3f}\nLongitude (decimal degrees): {longitude:.3f}\n"
        "Elevation (m): 250.0\n"
        + (f"Irradiance Time Offset (h): {offset}\n" if said else "")
        + "month,year\n"
        + "".join(f"{month},2019\n" for month in range(1, 13))
    )
    table = table_of(latitude, longitude, offset * 60).to_csv(index=False, lineterminator="\n")
    return head + table + "\nT2m: 2-m air temperature (degree Celsius)\nPVGIS (c) European Union, 2001-2024\n"


def json_text(latitude=45.0, longitude=8.0, offset=0.1761) -> str:
    place = {"latitude": latitude, "longitude": longitude, "elevation": 250.0, "irradiance_time_offset": offset}
    hours = table_of(latitude, longitude, offset * 60).to_dict("records")
    return json.dumps(
        {
            "inputs": {"location": place, "meteo_data": {}},
            "outputs": {"months_selected": [], "tmy_hourly": hours},
            "meta": {"inputs": {}, "outputs": {}},
        }
    )


def epw_text(latitude=45.0, longitude=8.0, offset=0.1761) -> str:
    rows = [
        f"2019,{at.month},{at.day},{at.hour + 1},0,?,{row['T2m']},-5,{row['RH']},{row['SP']},9999,9999,"
        f"{row['IR(h)']},{row['G(h)']},0,0,999999,999999,999999,9999,200,3.0,99,99,9999,99999,9,999999999,999,"
        "0.999,999,99,999,999,99"
        for at, (_, row) in zip(YEAR, table_of(latitude, longitude, offset * 60).iterrows())
    ]
    return (
        "LOCATION,unknown,-,unknown,ECMWF/ERA,unknown,45.000000,8.000000,1,250\nDESIGN CONDITIONS,0\n"
        "TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVING,No,0,0,0\nCOMMENTS 1,none\n"
        f"COMMENTS 2,Irradiance Time Offset (h):{offset - 1:.4f}\nDATA PERIODS,1,1,Data,Thursday, 1/ 1,12/31\n"
        + "\n".join(rows)
        + "\n"
    )


TEXTS = {"tmy.csv": csv_text, "tmy.json": json_text, "tmy.epw": epw_text}


@pytest.fixture(scope="module", params=TEXTS)
def found(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("pvgis") / request.param
    path.write_text(TEXTS[request.param]())
    return weather.read(path, timezone="Europe/Rome", year=2025)


def test_utc_rows_become_standard_hours(found):
    # 8° E is nearest to UTC+1: the row of 00:00 UTC is the hour from 1 to 2, and the year's last UTC hour comes first
    assert found.hours["air_temp"].iloc[[0, 1, 2]].tolist() == [8.759, 0.0, 0.001]
    assert found.hours.index[1] == pd.Timestamp("2025-01-01 01:00", tz="Europe/Rome")
    assert says(found, "UTC+1")


def test_a_real_clear_day_is_centred_on_solar_noon(found, minutes_after_noon):
    day = found.hours["solar"].loc["2025-01-02"]
    # hourly samples to a whole watt, a winter day with hills: a few minutes
    assert abs(minutes_after_noon(day, 8.0)) < 10
    assert abs(minutes_after_noon(pd.Series(np.roll(day, 1), day.index), 8.0)) > 40
    assert day.sum() == pytest.approx(sum(CLEAR_DAY), rel=0.01)


def test_sun_is_in_the_right_hour(found, minutes_after_noon):
    solar = found.hours["solar"]
    assert abs(minutes_after_noon(solar, found.longitude)) < 5
    for hours in (-1, 1):
        assert abs(minutes_after_noon(pd.Series(np.roll(solar, hours), solar.index), found.longitude)) > 40


def test_samples_are_interpolated_to_mid_hour(found):
    """Hourly means of the same sky, summed from samples five minutes apart."""
    fine = np.mean([samples(45, 8, minutes) for minutes in range(2, 60, 5)], axis=0)
    july = slice(24 * 181, 24 * 212)
    made = np.roll(found.hours["solar"].to_numpy(), -1)[july]
    # across a bow bent by 60 W/m² in an hour a straight line cuts off a few; at sunrise and sunset a little more
    error, high = np.abs(made - fine[july]), fine[july] > 100
    assert error[high].max() < 8 and error[~high].max() < 20
    assert made.sum() == pytest.approx(fine[july].sum(), rel=0.01)


def test_columns_present_and_estimated(found):
    assert found.hours["sky_long_wave"].eq(300).all() and found.hours["pressure"].eq(99_000).all()
    assert says(found, "cloud_cover: 8760 hours estimated by day from the sun")
    assert found.wind_height == 10


def test_a_place_far_from_greenwich(written, minutes_after_noon):
    path = written("sydney.csv", csv_text(-33.9, 151.2, 0.5))
    found = weather.read(path, timezone="Australia/Sydney", year=2025)
    assert abs(minutes_after_noon(found.hours["solar"], 151.2)) < 5
    # midnight without summer time
    assert found.hours.index[0] == pd.Timestamp("2025-01-01 01:00", tz="Australia/Sydney")
    assert found.hours["air_temp"].iloc[10] == 0.0


def test_time_zone_is_exact_at_the_ponds_own_place(written, minutes_after_noon):
    """Madrid is at 4° W and uses UTC+1: rounding its longitude would shift its sun by an hour."""
    path = written("madrid.csv", csv_text(40.4, -3.7))
    borrowed = weather.read(path, timezone="Europe/Madrid", year=2025)
    own = weather.read(path, timezone="Europe/Madrid", year=2025, latitude=40.4, longitude=-3.7)
    assert abs(minutes_after_noon(own.hours["solar"], -3.7)) < 5
    assert minutes_after_noon(borrowed.hours["solar"], -3.7) == pytest.approx(-60, abs=5)
    assert any("UTC+1" in note and "pond's own place" in note for note in own.notes)


def test_an_unknown_sampling_minute_is_assumed_and_noted(written):
    found = weather.read(written("old.csv", csv_text(said=False)), timezone="Europe/Rome", year=2025)
    assert says(found, "10 minutes past the hour is assumed")


# --- hourly series of real years ----------------------------------------------------------------------------------


def series_table() -> pd.DataFrame:
    index = pd.date_range("2023-02-26 00:10", periods=24 * 7, freq="h", tz="UTC")
    air = 6 + 5 * np.sin(2 * np.pi * (index.hour - 9) / 24)
    return pd.DataFrame(
        {
            "time": index.strftime("%Y%m%d:%H%M"),
            "G(i)": samples(45, 8, 0, index),
            "H_sun": 0.0,
            "T2m": air.round(2),
            "WS10m": 2.5,
            "Int": 0.0,
        }
    )


def series_csv(slope="0 deg.") -> str:
    return (
        "Latitude (decimal degrees):\t45.000\nLongitude (decimal degrees):\t8.000\nElevation (m):\t250\n"
        f"Radiation database:\tPVGIS-SARAH3\n\n\nSlope: {slope}\nAzimuth: 0 deg.\n"
        + series_table().to_csv(index=False, lineterminator="\n")
        + "\nT2m: 2-m air temperature (degree Celsius)\n"
    )


def series_json(slope=0) -> str:
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0}
    mounting = {"fixed": {"slope": {"value": slope, "optimal": False}}}
    return json.dumps(
        {
            "inputs": {"location": place, "meteo_data": {}, "mounting_system": mounting},
            "outputs": {"hourly": series_table().to_dict("records")},
            "meta": {"inputs": {}, "outputs": {}},
        }
    )


@pytest.mark.parametrize("name, text", [("series.csv", series_csv), ("series.json", series_json)])
def test_an_hourly_series_keeps_its_dates(written, minutes_after_noon, name, text):
    found = weather.read(written(name, text()), timezone="Europe/Rome", year=1999)
    assert found.kind == "measured"
    assert found.hours.index[0] == pd.Timestamp("2023-02-26 01:00", tz="Europe/Rome")
    assert abs(minutes_after_noon(found.hours["solar"], 8.0)) < 5
    assert found.hours["rel_humidity"].max() == 1.0 and found.hours["rel_humidity"].min() < 0.6
    for said in (
        "dew point is taken as each day's lowest",
        "10 minutes past each hour",
        "1999 is ignored",
        "pressure: 168 hours",
    ):
        assert says(found, said), said


@pytest.mark.parametrize("name, text", [("tilted.csv", series_csv("30 deg.")), ("tilted.json", series_json(30))])
def test_irradiance_on_a_slope_is_rejected(written, name, text):
    with pytest.raises(weather.WeatherError, match="slope 30"):
        weather.read(written(name, text), timezone="Europe/Rome", year=2025)


def test_other_tables_and_damaged_files_are_rejected(written):
    with pytest.raises(weather.WeatherError, match="neither a typical year nor an hourly series"):
        weather.read(written("monthly.json", '{"inputs": {}, "outputs": {"monthly": []}}'), timezone="UTC", year=2025)
    with pytest.raises(weather.WeatherError, match="is cut short"):
        weather.read(written("half.json", json_text()[:5000]), timezone="UTC", year=2025)
    with pytest.raises(weather.WeatherError, match="cannot be read as one"):
        weather.read(written("half.csv", csv_text()[:5000]), timezone="UTC", year=2025)

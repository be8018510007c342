"""Hourly tables of measured weather: names, units, times, clock changes, gaps and errors."""

import gzip
from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of
from weather_notes import says

from pondheat.season import sun
from pondheat.season.weather import columns, weather

EXAMPLE = weather.WEATHER_FOLDER / "sollerwick_2025-10-22_2025-10-28.csv"
HEAD = "time, air_temp [°C], rel_humidity [%], wind_speed [m/s], solar [W/m²], cloud_cover [%], pressure [hPa]"
UNITS = ["°C", "%", "m/s", "W/m²", "%", "hPa"]
DAY = pd.date_range("2024-06-01", periods=48, freq="h")


def rows_of(index=DAY, air=lambda at: 15 + 0.1 * at, form="%Y-%m-%d %H:%M", separator=", ") -> list[str]:
    """Rows of a table, with irradiance shaped like a day's but of no real place."""
    bow = [max(0.0, 600 * np.sin((stamp.hour - 5) / 14 * np.pi)) for stamp in index]
    return [
        separator.join([stamp.strftime(form), f"{air(at):.1f}", "80", "3.0", f"{bow[at]:.0f}", "50", "1010"])
        for at, stamp in enumerate(index)
    ]


def text_of(head=HEAD, rows=None) -> str:
    return "\n".join([head, *(rows_of() if rows is None else rows)]) + "\n"


@pytest.fixture
def read(written):
    def from_text(text, timezone="Etc/GMT", encoding="utf-8", name="table.csv", **more):
        more = {"latitude": 52.6, "longitude": -1.6, "altitude": 85.0} | more
        return weather.read(written(name, text, encoding), timezone=timezone, year=2024, **more)

    return from_text


# --- the example --------------------------------------------------------------------------------------------------


def test_the_example_week_across_the_clock_change(minutes_after_noon):
    found = weather.read(EXAMPLE, timezone="Europe/London", year=2031)
    hours = found.hours
    assert len(hours) == 169 and found.kind == "measured" and found.wind_height == 4
    assert (found.place, found.latitude, found.altitude) == ("Sollerwick (invented)", 52.6, 85)
    # rows 105 and 106 of the file both read 26 October 01:00
    assert hours["air_temp"].loc["2025-10-26"].iloc[[1, 2]].tolist() == [9.0, 8.4]
    assert [stamp.utcoffset().seconds for stamp in hours.loc["2025-10-26"].index[[1, 2]]] == [3600, 0]
    assert (np.diff(hours.index.asi8) == np.diff(hours.index.asi8)[0]).all()
    assert hours["rel_humidity"].loc["2025-10-24 09:00"] == pytest.approx(1.0 + (0.86 - 1.0) / 3, abs=1e-9)
    for said in ("told apart by their order", "rel_humidity: 2 hours missing", "(row 65 to 66)", "2031 is ignored"):
        assert says(found, said), said
    solar = hours["solar"]
    assert abs(minutes_after_noon(solar, found.longitude)) < 20
    assert abs(minutes_after_noon(pd.Series(np.roll(solar, 1), solar.index), found.longitude)) > 40
    assert not says(found, "Check the times")


def test_rows_are_labelled_by_the_start_of_the_hour(read):
    found = read(text_of())
    assert found.hours.index[0] == pd.Timestamp("2024-06-01 00:00", tz="Etc/GMT")
    assert found.hours.iloc[5].tolist()[:3] == pytest.approx([15.5, 0.8, 3.0])
    assert found.hours["pressure"].iloc[0] == 101_000 and found.hours["cloud_cover"].iloc[0] == 0.5
    assert found.hours["sky_long_wave"].isna().all()


@pytest.mark.parametrize("head", ["time_end", "time [hour ending]", "Time (hour ending)", "time end"])
def test_rows_labelled_by_their_end(read, head):
    found = read(text_of(HEAD.replace("time", head, 1)))
    assert found.hours.index[0] == pd.Timestamp("2024-05-31 23:00", tz="Etc/GMT")
    assert found.hours["air_temp"].iloc[0] == 15.0
    assert says(found, "ends of the intervals")


def test_wrong_time_stamps_are_noticed_from_the_sun(read):
    index = pd.date_range("2024-06-01", periods=240, freq="h", tz="UTC")
    clear = sun.clear_sky_irradiance(index, 52.6, -1.6)
    for shift, said in ((0, None), (1, "late"), (-1, "early")):
        rows = [
            f"{stamp:%Y-%m-%d %H:%M}, 15, 80, 3, {value:.0f}, 0, 1010"
            for stamp, value in zip(index, np.roll(clear, shift))
        ]
        if said is None:
            assert not says(read(text_of(rows=rows)), "Check the times")
            continue
        with pytest.raises(weather.WeatherError, match=f"1.0 hours too {said}.*--weather-stamps end"):
            read(text_of(rows=rows))
        if shift == 1:
            assert not says(read("# stamps: end\n" + text_of(rows=rows)), "Check the times")
        assert says(read("# clock: local\n" + text_of(rows=rows)), f"minutes too {said}")
        checks = [note for note in read(text_of(rows=rows[:72])).notes if note.startswith("Check the times")]
        assert f"minutes too {said}" in checks[0]  # three days are told, and not asked about


# --- names, units, separators -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "head",
    [
        "Time;Temperature (°C);Humidity (%);Wind (m/s);GHI (W/m2);Clouds (%);Pressure (mbar)",
        "timestamp;temp_degC;rh_pct;wind_speed_10m;solar_w_m2;cloud_cover_%;surface_pressure_hPa",
        "DATE TIME;Outside Temp [C];Relative Humidity [percent];Wind Speed [m s-1];Global radiation [W m-2];Cloud [%];"
        "sp [hPa]",
        "datetime;temperature_2m (°C);relative_humidity_2m (%);wind_speed_10m (m/s);shortwave_radiation (W/m²);"
        "cloud_cover (%);surface_pressure (hPa)",
        "dateTime;outTempC;humidity%;windSpeed_ms;solarradiation_wm2;cloudcoverpct;baromabsmb",
        "obsTimeLocal;tempc;rh%;windms;SolarRad;clouds %;absbarometer_hpa",
        "Zeit;Temperatur in ℃;Luftfeuchte in %;Wind in m/s;Globalstrahlung in W/m²;Bewölkung in %;Luftdruck in hPa",
    ],
)
def test_spellings_of_names_and_units(read, head):
    found = read(text_of(head, rows_of(separator=";")))
    assert found.hours.iloc[12].tolist()[:5] == pytest.approx([16.2, 0.8, 3.0, 600.0, 0.5], rel=1e-3)
    assert found.hours["pressure"].iloc[0] == 101_000


@pytest.mark.parametrize(
    "column, written_as, value, expected",
    some_of(
        [
            ("air_temp", "°F", "50", 10.0),
            ("air_temp", "K", "283.15", 10.0),
            ("wind_speed", "mph", "10", 4.4704),
            ("wind_speed", "km/h", "18", 5.0),
            ("wind_speed", "knots", "10", 5.14444),
            ("pressure", "kPa", "101", 101_000),
            ("pressure", "Pa", "101000", 101_000),
            ("cloud_cover", "oktas", "4", 0.5),
            ("cloud_cover", "tenths", "5", 0.5),
            ("cloud_cover", "fraction", "0.5", 0.5),
            ("solar", "kJ/m²", "360", 100.0),
            ("solar", "Wh/m²", "100", 100.0),
            ("solar", "kW/m²", "0.1", 100.0),
            ("rel_humidity", "-", "0.8", 0.8),
        ],
        0,
        2,
        5,
        7,
        9,
        10,
        11,
        13,
    ),
)
def test_unit_conversions(read, column, written_as, value, expected):
    names = ["air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover", "pressure"]
    plain = {
        "air_temp": ("°C", "10"),
        "rel_humidity": ("%", "80"),
        "wind_speed": ("m/s", "3"),
        "solar": ("W/m²", "100"),
        "cloud_cover": ("%", "50"),
        "pressure": ("hPa", "1010"),
    }
    plain[column] = (written_as, value)
    head = "time, " + ", ".join(f"{name} [{plain[name][0]}]" for name in names)
    rows = [f"{stamp:%Y-%m-%d %H:%M}, " + ", ".join(plain[name][1] for name in names) for stamp in DAY]
    assert read(text_of(head, rows)).hours[column].iloc[3] == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    "header, column, factor, offset",
    [
        ("tempf", "air_temp", 1 / 1.8, -32 / 1.8),
        ("TempOutF", "air_temp", 1 / 1.8, -32 / 1.8),
        ("temperature_K", "air_temp", 1.0, -273.15),
        ("dewptf", "dew_point", 1 / 1.8, -32 / 1.8),
        ("humidity_pct", "rel_humidity", 0.01, 0.0),
        ("hum%", "rel_humidity", 0.01, 0.0),
        ("windspeedmph", "wind_speed", 0.44704, 0.0),
        ("wind_kmh", "wind_speed", 1 / 3.6, 0.0),
        ("windkts", "wind_speed", 0.514444, 0.0),
        ("baromabsin", "pressure", 3386.39, 0.0),
    ],
)
def test_a_unit_written_together_with_its_name(header, column, factor, offset):
    found = columns.parse_column_header(header)
    assert found is not None and found[0] == column
    assert columns.unit_conversion(column, found[1], 60.0) == pytest.approx((factor, offset), rel=1e-5)


@pytest.mark.parametrize(
    "header",
    [
        "tempinf",
        "humidityin",
        "indoortempf",
        "winddir",
        "winddir_avg2m",
        "windgustmph",
        "baromrelin",
        "rainratein",
        "feelslikef",
        "tempmin",
        "uv",
        "windchillf",
        "heatindexf",
        "soiltempf1",
        "sunrise",
    ],
)
def test_other_quantities_of_a_home_station_are_left_alone(header):
    assert columns.parse_column_header(header) is None


@pytest.mark.parametrize(
    "head, height",
    some_of(
        [
            ("wind_speed [m/s at 2 m]", 2),
            ("wind_speed [m/s at 10 ft]", 3.048),
            ("wind_speed_4m [m/s]", 4),
            ("wind_speed [m/s]", 10),
            ("wind [m/s] at 3 m", 3),
            ("Wind (m/s) 10 ft", 3.048),
        ],
        0,
        2,
        3,
        5,
    ),
)
def test_wind_height_in_the_header(read, head, height):
    found = read(text_of(HEAD.replace("wind_speed [m/s]", head)))
    assert found.wind_height == pytest.approx(height)
    assert says(found, "10 m is assumed") == (head == "wind_speed [m/s]")
    assert read(text_of(HEAD.replace("wind_speed [m/s]", head)), wind_height=3).wind_height == 3


def test_unused_columns_are_noted(read):
    found = read(
        text_of(
            HEAD + ", wind direction [deg], pressure_msl [hPa], water_temp [°C], temp min [°C]",
            [row + ", 200, 1020, 18, 9" for row in rows_of()],
        )
    )
    assert found.hours["pressure"].iloc[0] == 101_000 and found.hours["air_temp"].iloc[0] == 15
    assert says(found, "not used: wind direction [deg], pressure_msl [hPa], water_temp [°C], temp min [°C]")


def test_two_columns_for_one_quantity_are_rejected(read):
    with pytest.raises(weather.WeatherError, match="Two columns of table.csv look like air_temp"):
        read(text_of(HEAD.replace("cloud_cover [%]", "temperature [°C]")))


def test_a_missing_unit_is_assumed_only_if_plausible(read):
    bare = "time, air_temp, rel_humidity [%], wind_speed, solar, cloud_cover [%], pressure [hPa]"
    found = read(text_of(bare))
    assert says(found, "air_temp: the header gives no unit; °C is assumed (15 to 19.7)")
    found = read(text_of(bare.replace("rel_humidity [%]", "rel_humidity")))  # 80 can only be per cent
    assert found.hours["rel_humidity"].iloc[0] == 0.8 and says(found, "Values up to 80 can only be per cent")
    with pytest.raises(weather.WeatherError, match="“pressure” has no unit.*did you mean 1010 hPa"):
        read(text_of(bare.replace("pressure [hPa]", "pressure")))


def test_rows_marked_as_faulty(read):
    rows = [f"{row}, {'bad' if at in (20, 21) else 'good'}" for at, row in enumerate(rows_of())]
    found = read(text_of(HEAD + ", quality", [row.replace(" 17.0,", " 25.0,") for row in rows]))
    assert says(found, "Column 8 marks 2 rows as “bad”, left out: rows 22 to 23")
    assert found.hours["air_temp"].iloc[20] == pytest.approx(17.0, abs=0.01)  # between its neighbours again


def test_a_zone_above_the_table(read):
    found = read("Station 7\nTime zone: UTC\n" + text_of(), timezone="Europe/London")
    assert found.hours.index[0] == pd.Timestamp("2024-06-01 01:00", tz="Europe/London")


def test_a_unit_of_another_dimension_is_rejected(read):
    with pytest.raises(weather.WeatherError, match="unit of the column “wind_speed .kg.”"):
        read(text_of(HEAD.replace("wind_speed [m/s]", "wind_speed [kg]")))


@pytest.mark.parametrize(
    "spelt",
    some_of(
        [
            lambda at: f"{at:%a %d %b %Y %H:%M}",
            lambda at: f"{at:%d.%m.%Y %H:%M Uhr}",
            lambda at: f"{int(at.timestamp())}",
            lambda at: f"{(at - pd.Timestamp('1899-12-30')) / pd.Timedelta('1D'):.6f}",
            lambda at: f"{at:%Y;%m;%d;%H}",
            lambda at: f'="{at:%Y-%m-%d %H:%M}"',
        ],
        0,
        3,
        4,
    ),
)
def test_spelt_times_and_units_in_cells(read, spelt):
    rows = rows_of(separator=";")
    times = [spelt(at) for at in DAY]
    head = "year;month;day;hour" if times[0].count(";") else "time"
    cells = [[f"{cell} {unit}" for cell, unit in zip(row.split(";")[1:], UNITS)] for row in rows]
    text = ";".join([head, "temp", "humidity", "wind", "solar", "cloud", "pressure"]) + "\n"
    found = read(text + "\n".join(";".join([at, *row]) for at, row in zip(times, cells)) + "\n")
    pd.testing.assert_frame_equal(found.hours, read(text_of()).hours)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators_and_byte_order_mark(read, separator):
    head = HEAD.replace(", ", separator)
    found = read("\ufeff# a comment\n\n" + text_of(head, rows_of(separator=separator)))
    assert found.hours["air_temp"].iloc[1] == 15.1


def test_decimal_commas_with_semicolons_or_tabs(read):
    head = HEAD.replace(", ", ";")
    rows = [row.replace(".", ",") for row in rows_of(separator=";")]
    assert read(text_of(head, rows)).hours["air_temp"].iloc[1] == 15.1
    tabs = read(text_of(head.replace(";", "\t"), [row.replace(";", "\t") for row in rows]))
    assert tabs.hours["air_temp"].iloc[1] == 15.1
    quoted = [",".join(f'"{cell}"' for cell in row.split(";")) for row in rows]
    found = read(text_of(HEAD, quoted))
    assert found.hours["air_temp"].iloc[1] == 15.1 and says(found, "commas are decimal, as in “15,0”")
    mixed = [quoted[0], *(row.replace('"15,', '"15.') for row in quoted[1:])]
    with pytest.raises(weather.WeatherError, match="Row 2, air_temp .*does “15,0” mean 15.0"):
        read(text_of(HEAD, mixed))
    with pytest.raises(weather.WeatherError, match="Row 2 of table.csv has more fields than the header"):
        read(text_of(rows=[row.replace(".", ",") for row in rows_of()]))


@pytest.mark.parametrize(
    "packed, told",
    some_of(
        [
            (lambda text: text.encode("utf-16"), "table.csv was read as UTF-16 (little end first)"),
            (lambda text: text.encode("utf-16-be"), "table.csv was read as UTF-16 (big end first)"),
            (lambda text: text.encode("cp1252"), "table.csv was read as cp1252"),
            (lambda text: text.encode("utf-8-sig"), "table.csv was read as UTF-8 with a byte order mark"),
            (lambda text: gzip.compress(text.encode()), "table.csv was unpacked (gzip)"),
            (lambda text: gzip.compress(text.encode("utf-16")), "table.csv was read as UTF-16"),
            (lambda text: text.replace("\n", "\r").encode(), ""),
        ],
        0,
        3,
        5,
    ),
)
def test_every_encoding_gives_the_same_hours(read, tmp_path, packed, told):
    plain = read(text_of())
    (tmp_path / "packed").mkdir()
    path = tmp_path / "packed" / "table.csv"
    path.write_bytes(packed(text_of()))
    found = weather.read(path, timezone="Etc/GMT", year=2024, latitude=52.6, longitude=-1.6, altitude=85.0)
    pd.testing.assert_frame_equal(found.hours, plain.hours)
    assert says(found, told) and not says(plain, "was read as")


@pytest.mark.parametrize(
    "name, codec, packed",
    [
        pytest.param(name, codec, packed, marks=() if name == usual else pytest.mark.long)
        for codec, packed, usual in (
            ("utf-16", bytes, "greensboro"),
            ("cp1252", bytes, "potsdam"),
            ("utf-8", gzip.compress, "miami"),
        )
        for name in ("greensboro", "miami", "potsdam")
    ],
)
def test_typical_years_in_every_encoding(tmp_path, name, codec, packed):
    """A TMY3, a TMY2 and a German test reference year."""
    package, inside = weather.BUILT_IN[name]
    source = Path(str(files(package) / inside))
    path = tmp_path / source.name
    path.write_bytes(packed(source.read_text(encoding="utf-8").encode(codec)))
    found = weather.read(path, timezone="UTC", year=2025)
    pd.testing.assert_frame_equal(found.hours, weather.read(name, timezone="UTC", year=2025).hours)


# --- times --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "form",
    ["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y/%m/%d %H:%M", "%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M", "%m/%d/%Y %I:%M %p"],
)
def test_time_formats(read, form):
    index = pd.date_range("2024-06-12 22:00", periods=60, freq="h")
    found = read(text_of(rows=rows_of(index, form=form)))
    assert found.hours.index[0] == pd.Timestamp("2024-06-12 22:00", tz="Etc/GMT") and len(found.hours) == 60


def test_an_ambiguous_date_is_rejected(read):
    with pytest.raises(weather.WeatherError, match="Row 2: is “01/06/2024 00:00” day/month or month/day"):
        read(text_of(rows=rows_of(form="%d/%m/%Y %H:%M")))


def test_date_and_time_in_two_columns(read):
    head = HEAD.replace("time,", "date, time,")
    found = read(text_of(head, rows_of(form="%Y-%m-%d, %H:%M")))
    assert found.hours.index[0] == pd.Timestamp("2024-06-01", tz="Etc/GMT")


@pytest.mark.parametrize(
    "head, suffix, first",
    [
        ("time [UTC]", "", "2024-06-01 02:00"),
        ("time [UTC+3]", "", "2024-05-31 23:00"),
        ("time", "+05:00", "2024-05-31 21:00"),
        ("time", "Z", "2024-06-01 02:00"),
        ("time [standard time]", "", "2024-06-01 01:00"),
        ("time", "", "2024-06-01 00:00"),
    ],
)
def test_time_zones_in_header_and_cells(read, head, suffix, first):
    rows = [row.replace(",", suffix + ",", 1) for row in rows_of()]
    found = read(text_of(HEAD.replace("time", head, 1), rows), timezone="Europe/Berlin")
    assert found.hours.index[0] == pd.Timestamp(first, tz="Europe/Berlin")


def test_civil_days_of_23_and_25_hours(read):
    for start, length in (("2024-03-30", 23), ("2024-10-26", 25)):
        index = pd.date_range(start, periods=72, freq="h", tz="Europe/London")
        found = read(text_of(rows=rows_of(index)), timezone="Europe/London")
        middle = str((pd.Timestamp(start) + pd.Timedelta("1D")).date())
        assert len(found.hours.loc[middle]) == length
        assert np.allclose(found.hours["air_temp"], [15 + 0.1 * at for at in range(72)], atol=0.051)


def test_a_nonexistent_hour_is_rejected(read):
    index = pd.date_range("2024-03-30", periods=72, freq="h")
    said = "Row 27: 2024-03-31 01:00 does not exist in Europe/London.*standard time"
    with pytest.raises(weather.WeatherError, match=said):
        read(text_of(rows=rows_of(index)), timezone="Europe/London")


def test_a_repeated_hour_written_once(read):
    index = pd.date_range("2024-10-26", periods=72, freq="h")
    with pytest.raises(weather.WeatherError, match="Row 27: on 2024-10-27 .* twice.*--weather-clock utc"):
        read(text_of(rows=rows_of(index)), timezone="Europe/London")
    for clock, hours in (("utc", 72), ("standard", 72), ("local", 73)):
        found = read(f"# clock: {clock}\n" + text_of(rows=rows_of(index)), timezone="Europe/London")
        assert len(found.hours) == hours
    assert says(found, "taken as summer time; the repeat is missing")
    assert says(found, "air_temp: 1 hour missing")


def test_descending_rows_are_reversed(read):
    index = pd.date_range("2024-10-26", periods=72, freq="h", tz="Europe/London")
    found = read(text_of(rows=rows_of(index)[::-1]), timezone="Europe/London")
    assert len(found.hours) == 72 and found.hours["air_temp"].iloc[0] == 15.0
    assert np.all(np.diff(found.hours["air_temp"]) > 0)
    assert says(found, "newest to oldest")


@pytest.mark.parametrize("minutes", [5, 10, 15, 30])
def test_shorter_intervals_are_averaged(read, minutes):
    index = pd.date_range("2024-06-01", periods=2 * 24 * 60 // minutes, freq=f"{minutes}min")
    found = read(text_of(rows=rows_of(index, air=lambda at: at % (60 // minutes))))
    assert len(found.hours) == 48
    assert np.allclose(found.hours["air_temp"], (60 / minutes - 1) / 2)
    assert says(found, f"Rows every {minutes} minutes were averaged")


def test_energy_per_interval_becomes_power(read):
    index = pd.date_range("2024-06-01", periods=96, freq="30min")
    rows = [row.split(", ") for row in rows_of(index)]
    for row in rows:
        row[4] = "50"
    found = read(text_of(HEAD.replace("[W/m²]", "[Wh/m²]"), [", ".join(row) for row in rows]))
    assert np.allclose(found.hours["solar"], 100)  # 50 Wh in half an hour


def test_longer_intervals_are_rejected(read):
    with pytest.raises(weather.WeatherError, match="3 hours apart. Weather must be hourly or finer"):
        read(text_of(rows=rows_of(pd.date_range("2024-06-01", periods=48, freq="3h"))))


def test_minutes_past_the_hour(read):
    found = read(text_of(rows=rows_of(pd.date_range("2024-06-01 00:53", periods=48, freq="h"))))
    assert found.hours.index[0] == pd.Timestamp("2024-06-01 00:00", tz="Etc/GMT")
    assert says(found, "are not on the hour")


def test_half_hour_time_zones(read):
    midnight = pd.Timestamp("2024-06-01 00:00", tz="Asia/Kolkata")
    assert read(text_of(), timezone="Asia/Kolkata").hours.index[0] == midnight
    fine = rows_of(pd.date_range("2024-06-01", periods=96, freq="30min"))
    found = read(text_of(rows=fine), timezone="Asia/Kolkata")
    assert found.hours.index[0] == midnight and len(found.hours) == 48


# --- gaps, doubles, nonsense --------------------------------------------------------------------------------------


def test_gaps_up_to_three_hours_are_interpolated(read):
    rows = rows_of()
    found = read(text_of(rows=rows[:10] + rows[13:]))
    assert found.hours["air_temp"].iloc[9:14].tolist() == pytest.approx([15.9, 16.0, 16.1, 16.2, 16.3])
    assert says(found, "air_temp: 3 hours missing, filled along a straight line: 2024-06-01 10:00 to 2024-06-01 12:00")
    said = "air_temp is missing for more than 3 hours in a row: 2024-06-01 10:00 to 2024-06-01 13:00"
    with pytest.raises(weather.WeatherError, match=said):
        read(text_of(rows=rows[:10] + rows[14:]))


def test_a_long_gap_is_reported_with_its_rows(read):
    rows = rows_of()
    for at in range(20, 26):
        stamp, _, *others = rows[at].split(", ")
        rows[at] = ", ".join([stamp, "", *others])
    with pytest.raises(weather.WeatherError, match=r"\(row 22 to 27\)"):
        read(text_of(rows=rows))


@pytest.mark.parametrize("code", ["-9999", "999.9", "NaN", "n/a", "--", ""])
def test_missing_value_marks(read, code):
    rows = rows_of()
    rows[7] = rows[7].replace("15.7", code)
    found = read(text_of(rows=rows))
    assert found.hours["air_temp"].iloc[7] == pytest.approx(15.7)
    assert says(found, "air_temp: 1 hour missing")


def test_a_plausible_number_is_no_missing_value_code(read):
    rows = [row.replace(", 1010", ", 999") for row in rows_of()]
    assert read(text_of(rows=rows)).hours["pressure"].eq(99_900).all()


def test_an_implausible_value_becomes_a_gap(read):
    rows = rows_of()
    rows[7] = rows[7].replace(", 80,", ", 140,")
    found = read(text_of(rows=rows))
    assert found.hours["rel_humidity"].iloc[7] == pytest.approx(0.8)
    said = [note for note in found.notes if "can't be right" in note]
    assert len(said) == 1 and "(row 9)" in said[0] and "1.4 given for rel_humidity" in said[0]


def test_many_implausible_values_mean_a_wrong_unit(read):
    with pytest.raises(weather.WeatherError, match='is given in °C.*Is it in K.*--weather-unit "air_temp=K"'):
        read(text_of(rows=rows_of(air=lambda at: 283.0)))


def test_slight_instrument_errors_are_clipped(read):
    rows = [row.replace(", 80,", ", 102,").replace(", 0, 50", ", -3, 50") for row in rows_of()]
    found = read(text_of(rows=rows))
    assert found.hours["rel_humidity"].eq(1).all() and found.hours["solar"].min() == 0
    assert sum("just above 100 %" in note or "slightly below zero" in note for note in found.notes) == 2


def test_identical_duplicates_are_dropped_and_others_rejected(read):
    rows = rows_of()
    found = read(text_of(rows=rows[:5] + [rows[4]] + rows[5:]))
    assert len(found.hours) == 48 and says(found, "1 row appears in the table twice")
    said = "Rows 6 and 7 have the same time, 2024-06-01 04:00 UTC, and different values"
    with pytest.raises(weather.WeatherError, match=said):
        read(text_of(rows=rows[:5] + [rows[4].replace("15.4", "11.4")] + rows[5:]))


def test_out_of_order_rows_are_sorted(read):
    rows = rows_of()
    rows[10], rows[30] = rows[30], rows[10]
    found = read(text_of(rows=rows))
    assert found.hours["air_temp"].iloc[10] == 16.0 and says(found, "go back in time in 2 places")


@pytest.mark.parametrize(
    "text, said",
    [
        ("", "is empty"),
        ("  \n\n", "is empty"),
        ("# only a comment\n", "has no table"),
        (HEAD + "\n", "a header but no rows"),
        ("once upon a time\nthere was a pond\n", "should be a header"),
        ("a,b,c\n1,2,3\n", "There is no column time"),
        ("time,b\n2024-01-01 00:00,2\n", "There is no column air_temp"),
        (text_of(rows=rows_of()[:1]), "only one time"),
        (text_of(rows=rows_of()[:20]), "at least a day"),
        (text_of(rows=["yesterday" + row[16:] for row in rows_of()]), "Row 2: “yesterday” is not a time"),
        (
            text_of(rows=[row.replace("2024-06-01 03", "2024-06-31 03") for row in rows_of()]),
            "Row 5: “2024-06-31 03:00” is not a real time",
        ),
        (text_of(rows=[row.replace(", 80,", ", damp,") for row in rows_of()]), "“damp” is not a number .and 47 more"),
        (text_of(HEAD.replace("rel_humidity [%]", "x")), "It has no rel_humidity"),
        (text_of(HEAD.replace("wind_speed [m/s]", "x")), "It has no wind_speed"),
        (text_of(HEAD.replace("solar [W/m²]", "x").replace("cloud_cover [%]", "y")), "neither sun nor cloud"),
        ("<!DOCTYPE html><html></html>", "is a web page"),
        (text_of(rows=[rows_of()[0].replace("00:00", "00:00+01:00"), *rows_of()[1:]]), "are written differently"),
    ],
)
def test_unreadable_tables_are_rejected(read, text, said):
    with pytest.raises(weather.WeatherError, match=said):
        read(text)


def test_files_that_are_not_text(tmp_path):
    for name, raw, said in [
        ("sheet.csv", b"PK\x03\x04rest", "is a workbook or an archive, but it is damaged"),
        ("data.csv", b"\x89HDF\x00\x01\x02", "data.csv is not a text file"),
        ("bad.csv", b"\xff\xfe\x00", "should be a header"),
    ]:
        path = tmp_path / name
        path.write_bytes(raw)
        with pytest.raises(weather.WeatherError, match=said):
            weather.read(path, timezone="UTC", year=2024)
    with pytest.raises(weather.WeatherError, match="is a folder"):
        weather.read(tmp_path, timezone="UTC", year=2024)


# --- one column from another --------------------------------------------------------------------------------------


def test_coordinates_are_needed_only_for_the_suns_position(read):
    nowhere = {"latitude": None, "longitude": None}
    found = read(text_of(), **nowhere)
    assert found.latitude is None and found.hours["air_temp"].iloc[1] == 15.1
    with pytest.raises(weather.WeatherError, match="has no cloud_cover.*give latitude and longitude"):
        read(text_of(HEAD.replace("cloud_cover [%]", "x")), **nowhere)
    with pytest.raises(weather.WeatherError, match="has no solar.*give latitude and longitude"):
        read(text_of(HEAD.replace("solar [W/m²]", "x")), **nowhere)
    sky = [row.replace(", 50, 1010", ", 320, 1010") for row in rows_of()]
    found = read(text_of(HEAD.replace("cloud_cover [%]", "sky_long_wave [W/m²]"), sky), **nowhere)
    assert found.hours["sky_long_wave"].eq(320).all() and says(found, "none is needed")


def test_pressure_from_altitude(read):
    found = read(text_of(HEAD.replace("pressure [hPa]", "x")), altitude=500.0)
    # ASHRAE Fundamentals 2017 ch. 1 table 1: 95.461 kPa at 500 m
    assert found.hours["pressure"].iloc[0] == pytest.approx(95_461, abs=2)
    assert says(found, "taken from the altitude, 500 m")


def test_humidity_from_dew_point(read):
    rows = [f"{stamp:%Y-%m-%d %H:%M}, 10, 5, 3, 100, 50, 1010" for stamp in DAY]
    found = read(text_of(HEAD.replace("rel_humidity [%]", "dew_point [°C]"), rows))
    # 872.6 Pa (ASHRAE Fundamentals table 3, 5 °C) over 1228.2 Pa (IAPWS-95, 10 °C)
    assert found.hours["rel_humidity"].iloc[0] == pytest.approx(872.6 / 1228.2, rel=1e-3)
    exchanged = [row.replace(", 10, 5,", ", 5, 10,") for row in rows]
    with pytest.raises(weather.WeatherError, match="dew point of table.csv is above the air temperature"):
        read(text_of(HEAD.replace("rel_humidity [%]", "dew_point [°C]"), exchanged))


def test_sun_from_cloud_and_cloud_from_sun(read):
    index = pd.date_range("2024-06-01", periods=240, freq="h", tz="UTC")
    clear = sun.clear_sky_irradiance(index, 52.6, -1.6, 85.0)
    half = [f"{stamp:%Y-%m-%d %H:%M}, 15, 80, 3, , 50, 1010" for stamp in index]
    made = read(text_of(rows=half))
    assert np.allclose(made.hours["solar"], clear * (1 - 0.75 * 0.5**3.4))  # Kasten & Czeplak 1980
    assert says(made, "Kasten & Czeplak") and made.hours["sun_dimming"].isna().all()
    dim = [f"{stamp:%Y-%m-%d %H:%M}, 15, 80, 3, {value * 0.625:.2f}, , 1010" for stamp, value in zip(index, clear)]
    back = read(text_of(rows=dim))
    assert np.allclose(back.hours["cloud_cover"], np.sqrt(0.5), atol=1e-3)  # (1 − 0.625)/0.75 = 0.5, by night as by day
    assert np.allclose(back.hours["sun_dimming"], 0.375, atol=1e-3)  # 1 − 0.625
    assert says(back, "interpolated through the night")


def test_place_in_comment_lines(read):
    about = "# latitude: 40.5\n# longitude: -3.5 deg\n# altitude: 2000 ft\n# wind height: 2 m\n# place: A garden\n"
    found = read(about + text_of())
    assert (found.latitude, found.longitude, found.place) == (40.5, -3.5, "A garden")
    assert (found.altitude, found.wind_height) == pytest.approx((609.6, 2))
    with pytest.raises(weather.WeatherError, match="comment lines of table.csv: 140.* given for latitude"):
        read("# latitude: 140\n# longitude: 0\n" + text_of())


def test_half_hourly_rows_across_the_leap_day(read):
    index = pd.date_range("2024-02-01", periods=60 * 48, freq="30min")
    text = text_of(rows=rows_of(index, air=lambda at: 10.0))
    assert len(read(text).hours) == 60 * 24


def test_paths_as_text_or_path():
    assert (
        weather.read(str(EXAMPLE), timezone="Europe/London", year=2025).place
        == weather.read(Path(EXAMPLE), timezone="Europe/London", year=2025).place
    )


def test_an_hour_with_less_than_half_of_its_rows_is_a_gap(read):
    index = pd.date_range("2024-06-01", periods=48 * 6, freq="10min")
    rows = rows_of(index, air=lambda at: 10.0 + at // 6 / 3)
    few = [row for at, row in enumerate(rows) if not 61 <= at <= 64]  # of the hour 10 only 10:00 and 10:50 are left
    enough = [row for at, row in enumerate(rows) if not 61 <= at <= 63]
    assert any("air_temp: 1 hour missing" in note and "10:00" in note for note in read(text_of(rows=few)).notes)
    assert not says(read(text_of(rows=enough)), "missing")

"""Weather tables of other shapes than a row for each hour with a column for each quantity, read as they were meant."""

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.cli import main
from pondheat.season.weather import sampling, table, weather
from pondheat.season.weather.answers import Answers, given
from pondheat.season.weather.record import WeatherError

INDEX = pd.date_range("2025-01-16", periods=120, freq="h")
AT = np.arange(120)
AIR, DAMP, WIND = np.round(5 + 3 * np.sin(AT / 3.8), 1), 80 + AT % 9, np.round(3 + np.cos(AT / 5), 1)
SUN = np.where((INDEX.hour > 7) & (INDEX.hour < 16), 90, 0)
VALUES = (AIR, DAMP, WIND, SUN)
HEAD = "time,temp [°C],humidity [%],wind [m/s],solar [W/m²]"
NAMES = ("Air temperature", "Relative humidity", "Wind speed", "Global radiation")
UNITS = ("°C", "%", "m/s", "W/m²")


@pytest.fixture
def read(written):
    def from_text(text, timezone="Europe/London"):
        return weather.read(
            written("table.csv", text, "utf-8"),
            timezone=timezone,
            year=2025,
            latitude=51.5,
            longitude=-0.1,
            altitude=10.0,
        )

    return from_text


def wide(head=HEAD, form="%Y-%m-%d %H:%M", mark=",", below="") -> str:
    rows = [mark.join([one.strftime(form), *map(str, row)]) for one, *row in zip(INDEX, *VALUES)]
    return "\n".join([head, *rows]) + "\n" + below


def long_rows(names=NAMES, units=UNITS, mark=",", form="%Y-%m-%d %H:%M", decimal=".") -> list[str]:
    return [
        mark.join([one.strftime(form), name, str(value).replace(".", decimal), *([unit] if unit else [])])
        for one, *values in zip(INDEX, *VALUES)
        for name, value, unit in zip(names, values, units)
    ]


def same(found, wind=WIND) -> bool:
    hours = found.hours
    return len(hours) == 120 and all(
        np.allclose(hours[column], values, atol=1e-9)
        for column, values in (("air_temp", AIR), ("rel_humidity", DAMP / 100), ("wind_speed", wind), ("solar", SUN))
    )


def test_a_number_that_lost_its_decimals_is_told(read):
    lines = wide().splitlines()
    assert lines[31].split(",")[3] == str(WIND[30])
    lines[31] = ",".join([*lines[31].split(",")[:3], "2.", *lines[31].split(",")[4:]])
    found = read("\n".join(lines) + "\n")
    assert found.hours["wind_speed"].iloc[30] == 2
    assert says(found, "wind_speed: 1 number with nothing on one side of the decimal mark (“2.”, row 32), kept")


# --- a row for each value -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "\n".join(["time,parameter,value,unit", *long_rows()]),
        "\n".join(
            ["Export of a station", "Height: 12 m", "", "Timestamp,Variable,Reading", *long_rows(units=[""] * 4)]
        ),
        "\n".join(
            [
                "Zeitpunkt;Messgröße;Wert;Einheit",
                *long_rows(
                    ("Lufttemperatur", "Luftfeuchte", "Windgeschwindigkeit", "Globalstrahlung"),
                    mark=";",
                    form="%d.%m.%Y %H:%M",
                    decimal=",",
                ),
            ]
        ),
        "\n".join(["time,quantity,value,unit", *sorted(long_rows(), key=lambda row: row.split(",")[1])]),
        "\n".join(["time,parameter,value", *long_rows(("temp_c", "rh_pct", "wind_ms", "ghi"), [""] * 4)]),
        "\n".join(["site,time,quantity,value,unit", *(f"Orchard,{row}" for row in long_rows())]),
    ],
    ids=["units", "preamble", "German", "by quantity", "units in names", "one station"],
)
def test_long_tables(read, text):
    found = read(text + "\n")
    assert same(found) and says(found, "has a row for each value")
    assert table.is_weather(text)


def test_units_of_a_long_table_are_used(read):
    rows = [row.replace("m/s", "km/h") for row in long_rows()]
    assert same(read("\n".join(["time,parameter,value,unit", *rows]) + "\n"), WIND / 3.6)


def test_faulty_values_of_a_long_table_are_left_out(read):
    rows = [f"{row},{'bad' if at == 200 else 'ok'},x" for at, row in enumerate(long_rows())]
    found = read("\n".join(["time,parameter,value,unit,quality,note", *rows]) + "\n")
    assert says(found, "marks 1 row as “bad”, left out: row 202") and says(found, "not used: quality, note") is False
    assert says(found, "air_temp: 1 hour missing") and says(found, "not used: note")


def test_a_long_table_by_quantity_is_weather():
    rows = sorted(long_rows() * 6, key=lambda row: row.split(",")[1])
    assert table.is_weather("\n".join(["time,quantity,value,unit", *rows]))
    meter = [f"{one:%Y-%m-%d %H:%M},{name},1" for one in INDEX for name in ("power", "temperature")]
    assert not table.is_weather("\n".join(["time,sensor,value", *meter]))


def test_a_wrong_value_of_a_long_table_is_named_by_its_row(read):
    rows = long_rows()
    rows[201] = rows[201].replace(str(DAMP[50]), "wet")
    with pytest.raises(WeatherError, match=r"Row 203, Relative humidity \[%\]: “wet”"):
        read("\n".join(["time,parameter,value,unit", *rows]) + "\n")


def test_the_repeated_hour_of_a_long_table(read):
    index = pd.date_range("2025-10-25 12:00", periods=40, freq="h", tz="Europe/London")
    rows = [
        f"{one:%Y-%m-%d %H:%M},{name},{value}"
        for at, one in enumerate(index)
        for name, value in (("air_temp", at / 2), ("rel_humidity", 80), ("wind_speed", 3), ("cloud_cover [%]", 50))
    ]
    found = read("\n".join(["time,parameter,value", *rows]) + "\n")
    assert found.hours["air_temp"].tolist() == (np.arange(40) / 2).tolist() and says(found, "told apart by their order")


def test_one_of_several_stations(read, tmp_path, capsys):
    rows = [f"{place},{row}" for place, more in (("Orchard", 0), ("Quay", 1)) for row in long_rows()]
    rows = [row.replace(",3.0,", ",2.5,") if row.startswith("Quay") else row for row in rows]
    text = "\n".join(["station,time,parameter,value,unit", *rows]) + "\n"
    with pytest.raises(WeatherError, match="“Orchard”, “Quay”.*--weather-station"):
        read(text)
    with given(Answers(station="orchard")):
        assert same(read(text))
    assert says(read("# station: Quay\n" + text), "Only the rows of “Quay”")
    wide_text = "\n".join(["station," + HEAD, *(f"{place},{row}" for place in "AB" for row in wide().splitlines()[1:])])
    with pytest.raises(WeatherError, match="Column 1 .*“A”, “B”"):
        read(wide_text + "\n")
    (tmp_path / "w.csv").write_text(text, encoding="utf-8")
    zone = ["--timezone", "Europe/London"]
    assert main(["read", str(tmp_path / "w.csv"), "--weather-station", "Orchard", *zone]) == 0
    assert "Only the rows of “Orchard”" in " ".join(capsys.readouterr().out.split())


# --- units beside and below ---------------------------------------------------------------------------------------


def test_units_beside_the_values(read):
    rows = [
        f"{one:%Y-%m-%d %H:%M},{air * 1.8 + 32:.4f},°F,{damp},%,{wind * 3.6:.4f},km/h,{sun},W/m²"
        for one, air, damp, wind, sun in zip(INDEX, *VALUES)
    ]
    assert same(read("\n".join(["time,temp,unit,humidity,unit,wind,unit,solar,unit", *rows]) + "\n"))


def test_a_unit_before_its_value(read):
    rows = [
        f"{one:%Y-%m-%d %H:%M},°F,{air * 1.8 + 32:.4f},%,{damp},m/s,{wind},W/m²,{sun}"
        for one, air, damp, wind, sun in zip(INDEX, *VALUES)
    ]
    assert same(read("\n".join(["time,temp unit,temp,rh unit,humidity,wind unit,wind,sun unit,solar", *rows]) + "\n"))


def test_a_unit_beside_a_column_that_is_not_used(read):
    rows = wide().splitlines()[1:]
    text = "\n".join(
        ["time,temp [°C],humidity [%],wind [m/s],solar [W/m²],rain,unit", *(f"{one},0.2,mm" for one in rows)]
    )
    assert same(read(text + "\n"))


def test_units_in_a_third_line_of_the_header(read):
    head = "time,temp,humidity,wind,solar\n,outdoor,outdoor,mast,mast\n,°C,%,km/h,W/m²"
    assert same(read(wide(head)), WIND / 3.6)


# --- rows that are no readings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "below, told",
    [
        ("Mean,5.1,84,3.0,30\nMax,8.0,88,4.0,90\n", "2 rows of totals, heads or remarks left out: rows 122 to 123"),
        (HEAD + "\n", "1 row of totals, heads or remarks left out: row 122"),
        ("End of report\nPrinted 23/01/2025\n", "2 rows of totals, heads or remarks left out"),
        ("Moyenne,5.1,84,3.0,30\n", "row 122"),
    ],
)
def test_totals_heads_and_remarks(read, below, told):
    found = read(wide(below=below))
    assert same(found) and says(found, told)


def test_a_mistyped_time_is_still_asked_about(read):
    with pytest.raises(WeatherError, match="Row 122: “noon” is not a time"):
        read(wide(below="noon,5.1,84,3.0,30\n"))


# --- cells --------------------------------------------------------------------------------------------------------


def test_words_in_cells(read):
    text = wide().splitlines()
    for at, old, new in ((31, str(WIND[30]), "calm"), (41, str(WIND[40]), "<0.1"), (51, str(DAMP[50]), "***")):
        cells = text[at].split(",")
        text[at] = ",".join(new if cell == old else cell for cell in cells)
    found = read("\n".join(text) + "\n")
    assert found.hours["wind_speed"].iloc[[30, 40]].tolist() == [0.0, 0.05]
    assert says(found, "“calm” mean 0") and says(found, "“<0.1” are taken as half") and says(found, "1 hour missing")
    with pytest.raises(WeatherError, match="“<3” is not a number"):
        read(wide().replace(f",{WIND[60]},", ",<3,"))


@pytest.mark.parametrize(
    "unit, cell, pascals",
    [
        ("Pa", "101,325", 101_325),
        ("hPa", "1,013.2", 101_320),
        ("hPa", "1.013,2", 101_320),
        ("hPa", "1 013,2", 101_320),
        ("kPa", "101,325", 101_325),
        ("hPa", "1,013", 101_300),
    ],
)
def test_groups_of_digits(read, unit, cell, pascals):
    rows = [f"{row};{cell}" for row in wide(mark=";").splitlines()[1:]]
    found = read("\n".join([f"{HEAD.replace(',', ';')};pressure [{unit}]", *rows]) + "\n")
    assert found.hours["pressure"].tolist() == pytest.approx([pascals] * 120)


def test_three_decimals_after_a_comma_stay_decimals(read):
    rows = [
        ";".join([f"{one:%Y-%m-%d %H:%M}", *(f"{value:.3f}".replace(".", ",") for value in values)])
        for one, *values in zip(INDEX, *VALUES)
    ]
    assert same(read("\n".join([HEAD.replace(",", ";"), *rows]) + "\n"))


# --- mixed intervals ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ends", [False, True])
def test_hours_and_then_ten_minutes(read, ends):
    rows = []
    for at, (one, *values) in enumerate(zip(INDEX, *VALUES)):
        step = 60 if at < 48 else 10
        for minute in range(0, 60, step):
            moment = one + pd.Timedelta(minutes=minute + (step if ends else 0))
            rows.append(",".join([f"{moment:%Y-%m-%d %H:%M}", *map(str, values)]))
    head = HEAD.replace("time", "time end") if ends else HEAD
    found = read("\n".join([head, *rows]) + "\n")
    assert same(found) and found.hours.index[0] == pd.Timestamp("2025-01-16", tz="Europe/London")
    assert says(found, "up to 60 minutes apart instead of 10")


def test_a_slow_column_of_energy(read):
    rows = [
        f"{one + pd.Timedelta(minutes=minute):%Y-%m-%d %H:%M},{air},{damp},{wind},{'' if minute else sun * 3.6}"
        for one, air, damp, wind, sun in zip(INDEX, *VALUES)
        for minute in range(0, 60, 10)
    ]
    assert same(read("\n".join([HEAD.replace("W/m²", "kJ/m²"), *rows]) + "\n"))


def test_gaps_are_no_other_interval():
    start = pd.date_range("2025-01-16", periods=400, freq="10min", tz="UTC")
    keep = np.ones(400, bool)
    keep[[50, 51, 52, 100, 101, 200, 201, 202, 203]] = False
    assert sampling.row_minutes(start[keep], 10.0) is None
    slow = start[:144:6].append(start[144:])
    assert (sampling.row_minutes(slow, 10.0) == [60.0] * 24 + [10.0] * 256).all()
    assert (sampling.row_minutes(slow, 10.0, ends=True) == [60.0] * 25 + [10.0] * 255).all()


def test_hours_cut_off_at_the_ends_are_told(read):
    rows = wide().splitlines()
    rows[1:4] = [row.split(",")[0] + ",," + ",".join(row.split(",")[2:]) for row in rows[1:4]]
    rows[1:4] = [",".join([row.split(",")[0], "", *row.split(",")[-3:]]) for row in rows[1:4]]
    assert says(read("\n".join(rows) + "\n"), "3 hours without an air temperature left out")


# --- headers ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "head",
    [
        "Time/Zeit,Temperature/Temperatur (°C),Humidity/Feuchte (%),Wind (m/s),Solar (W/m²)",
        "TIMESTAMP,Tair [degC],RH [%],WS [m/s],SWdown [W/m2]",
        "ts,Mean temp. (°C),Hum. (%),Wind sp. (m/s),Rad. (W/m2)",
        "Datum/Uhrzeit,Temperatur Mittel (°C),Luftfeuchte Mittel (%),Wind Mittel (m/s),Globalstrahlung Mittel (W/m²)",
        "time,T [°C],RH [%],wind avg [m/s],Global [W/m²]",
        '"time","temp\n[°C]","humidity\n[%]","wind\n[m/s]","solar\n[W/m²]"',
    ],
)
def test_other_names(read, head):
    assert same(read(wide(head)))


def test_a_column_of_weekdays(read):
    rows = [f"{one:%a},{row}" for one, row in zip(INDEX, wide().splitlines()[1:])]
    found = read("\n".join([f"Day,{HEAD}", *rows]) + "\n")
    assert same(found) and says(found, "not used: Day")


def test_rows_keep_their_numbers_below_a_header_of_several_lines(read):
    text = wide('"time","temp\n[°C]","humidity\n[%]",wind [m/s],solar [W/m²]').splitlines()
    text[10] = text[10].replace(f",{AIR[7]},", ",warm,")
    with pytest.raises(WeatherError, match="Row 11, temp .*“warm”"):
        read("\n".join(text) + "\n")

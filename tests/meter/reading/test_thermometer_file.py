"""Logs of water temperature alone: columns, scales, gaps and probes out of the water, as a keeper's file has them."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from pondheat.core.tables.read_log import ReadingsFault
from pondheat.meter.reading import thermometer_file

START = dt.datetime(2026, 3, 20)


def table(head: str, temps, hours: float = 1.0, form: str = "%Y-%m-%d %H:%M", separator: str = ",") -> bytes:
    """A log whose rows are a time and what follows it."""
    rows = [f"{START + dt.timedelta(hours=at * hours):{form}}{separator}{value}" for at, value in enumerate(temps)]
    return "\n".join([*([head] if head else []), *rows, ""]).encode()


def read(content: bytes, **options) -> thermometer_file.WaterLog:
    return thermometer_file.read(content, "Europe/London", **options)


def wave(count: int = 72) -> np.ndarray:
    return np.round(12 + 1.5 * np.sin(np.arange(count) / 24 * 2 * np.pi), 2)


def repaired(log: thermometer_file.WaterLog) -> str:
    return " ".join(one.sentence for one in log.repairs)


def test_time_and_temperature_are_enough():
    log = read(table("time,water temp [°C]", wave()))
    assert log.water["water_temp"].to_list() == wave().tolist() and (log.water["hours"] == 1).all()
    assert log.step == 1.0 and not log.by_date and log.repairs == () and log.rows == 72


@pytest.mark.parametrize(
    "head, form, separator",
    [
        ("", "%d.%m.%Y %H:%M", ";"),
        ("when\twater_temp", "%d/%m/%Y %H:%M:%S", "\t"),
        ("Date-Time (GMT),Temperature", "%m/%d/%Y %I:%M:%S %p", ","),
        ("time;value", "%Y-%m-%dT%H:%MZ", ";"),
    ],
)
def test_shapes_of_other_loggers(head, form, separator):
    assert len(read(table(head, wave(), form=form, separator=separator)).water) == 72


def test_a_temperature_that_lost_its_decimals_is_told():
    for separator, cut in ((",", "12."), (";", "12,")):
        temps = [str(temp).replace(".", cut[-1]) for temp in wave()]
        temps[30] = cut
        log = read(table("time,water temp [°C]".replace(",", separator), temps, separator=separator))
        assert "1 number in" in repaired(log) and f"“{cut}”" in repaired(log) and "row 32" in repaired(log)
        assert log.water["water_temp"].iloc[30] == 12


def test_decimal_commas():
    values = [f"{value:.2f}".replace(".", ",") for value in wave()]
    log = read(table("time;water", values, separator=";"))
    assert log.water["water_temp"].to_list() == wave().tolist()


@pytest.mark.parametrize(
    "head, columns, options",
    [
        ("time,air temp,water temp,kWh", "8.5,{},0.4", {}),
        ("time,pond,humidity [%]", "{},81", {}),
        ("time,probe 1,probe 2", "{},9.1", {"temp_column": "probe 1"}),
        ("time,a,b", "3.3,{}", {"temp_column": 3}),
    ],
)
def test_the_water_is_found_among_other_columns(head, columns, options):
    log = read(table(head, [columns.format(value) for value in wave()]), **options)
    assert log.water["water_temp"].to_list() == wave().tolist()


@pytest.mark.parametrize(
    "head, columns, said",
    [
        (
            "time,probe 1 temp,probe 2 temp",
            "{},9.1",
            "Which of these is the water temperature.*probe 2.*temp_column=",
        ),
        ("time,a,b", "{},9.1", "Which column .* is the water temperature.*temp_column="),
        ("time,kWh", "{}", "Which column .* is the water temperature.*: column 2"),
        ("time,air temp", "{}", "Is column 2 .* the water temperature"),
        ("time,water,pond", "{},{}", "Which of these"),
    ],
)
def test_a_column_that_may_be_another_is_asked_for(head, columns, said):
    with pytest.raises(ReadingsFault, match=said):
        read(table(head, [columns.format(value, value) for value in wave()]))


@pytest.mark.parametrize(
    "head, options", [("time,temp °F", {}), ("time,temp", {}), ("time,temp °C", {"unit": "f"}), ("t,x", {"unit": "°F"})]
)
def test_fahrenheit_by_header_numbers_or_option(head, options):
    log = read(table(head, np.round(wave() * 1.8 + 32, 2)), **options)
    assert np.allclose(log.water["water_temp"], wave(), atol=0.006)
    assert any("°F" in sentence for sentence in log.interpretation)


@pytest.mark.parametrize(
    "head, temps, other", [("time,temp °C", wave() * 1.8 + 50, "°F"), ("time,water [°F]", wave(), "°C")]
)
def test_a_scale_in_which_no_pond_could_be_is_named(head, temps, other):
    with pytest.raises(ReadingsFault, match=f'Is it in {other}. Give unit="{other}"'):
        read(table(head, np.round(temps, 2)))


def test_numbers_between_the_scales_are_asked_about():
    with pytest.raises(ReadingsFault, match="in °C or °F"):
        read(table("time,temp", 40 + wave() / 10))


def test_an_unknown_unit():
    with pytest.raises(ReadingsFault, match="“R” is not a temperature unit"):
        read(table("time,temp", wave()), unit="R")


@pytest.mark.parametrize("unit, other", [("K", "°C"), ("°F", "°C")])
def test_a_unit_given_wrongly_is_named(unit, other):
    with pytest.raises(ReadingsFault, match=f'temperature in {unit}: .* In {other} they could. Give unit="{other}"'):
        read(table("time,water °C", wave()), unit=unit)


def test_missing_values_and_missing_rows_are_left_out_and_told():
    values = [str(value) for value in wave(96)]
    values[10:14] = ["NaN", "", "--", "n/a"]
    lines = table("time,water °C", values).decode().splitlines()
    log = read("\n".join([*lines[:51], *lines[61:], ""]).encode())
    assert len(log.water) == 96 - 4 - 10 and np.isfinite(log.water["water_temp"]).all()
    assert "4 rows have no value: rows 12 to 15." in repaired(log) and "10 rows are missing in 1 gap" in repaired(log)


def test_a_probe_out_of_the_water_is_left_out_and_a_cold_front_is_not():
    temps = wave(120)
    temps[30], temps[40:42], temps[60:] = 31.0, 3.0, temps[60:] - 6
    log = read(table("time,water °C", temps))
    assert len(log.water) == 117
    assert "3 readings jump by more than 5 °C" in repaired(log) and "rows 32, 42 to 43" in repaired(log)


def test_a_logger_started_in_the_kitchen_and_taken_home():
    """The computed water would otherwise start at 21 °C."""
    temps = wave(120)
    temps[:9], temps[110:] = 21.0, 19.5
    log = read(table("time,water °C", temps))
    assert log.water["water_temp"].to_list() == wave(120)[9:110].tolist()
    assert "19 readings jump" in repaired(log) and "rows 2 to 10, 112 to 121" in repaired(log)


@pytest.mark.parametrize(
    "head, hours", [("Date Time GMT+01:00", -1), ("time (UTC-05:00)", 5), ("time GMT+0530", -5.5), ("time [UTC]", 0)]
)
def test_an_offset_in_the_header(head, hours):
    log = read(table(f"{head},water °C", wave()))
    assert log.water.index[0].tz_convert("UTC") == pd.Timestamp(START, tz="UTC") + pd.Timedelta(hours=hours)


def test_impossible_values_are_left_out():
    temps = wave()
    temps[5], temps[50] = 85.0, -127.0
    log = read(table("time,water °C", temps))
    assert len(log.water) == 70 and "2 water temperatures outside -5 to 60 °C" in repaired(log)


def test_days_without_a_clock_time():
    log = read(table("date,water °C", wave(20), hours=24, form="%Y-%m-%d"))
    assert log.by_date and log.step == 24 and set(log.water["hours"]) == {24.0, 23.0}  # clocks go forward on 29 March
    assert not read(table("date,water °C", wave(20), hours=24)).by_date


@pytest.mark.parametrize("content", [b"", b"hello\nworld\n", b"time,water\n", b"\x00\x01\x02" * 50, b"PK\3\4 zip"])
def test_what_is_no_log_is_refused_in_a_sentence(content):
    with pytest.raises(ReadingsFault, match=r"\w.*\."):
        read(content)


def test_a_meter_s_option_is_never_ignored():
    with pytest.raises(TypeError, match="no option rating"):
        read(b"time,water temp [C]\n2026-01-05 00:00,8.5\n", rating=3000.0)

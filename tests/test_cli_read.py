"""The commands `read` and `tariff`, what mistyped words are answered with, and what reaches a terminal."""

import io
import json
import os
import re
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest

from pondheat import cli
from pondheat.core.places import CLONE, PONDS

OPEN = CLONE / "data" / "readings" / "garden_pond_open.csv"
WEEK = CLONE / "data" / "weather" / "sollerwick_2025-10-22_2025-10-28.csv"
NIGHT = CLONE / "data" / "tariffs" / "invented_night_hours.toml"
WATER = "time,water °C\n" + "".join(
    f"2026-01-{day:02d} {hour:02d}:00,{8 + day / 10}\n" for day in (5, 6) for hour in range(24)
)


SUMMER = "time (CET/CEST),price [p/kWh]\n" + "".join(
    f"{one:%Y-%m-%d %H:%M},{20 + at % 7}\n"
    for at, one in enumerate(pd.date_range("2025-03-30", periods=142, freq="30min", tz="Europe/Berlin"))
)


@pytest.fixture
def shell(capsys):
    """Runs a command and returns its exit code and what it printed to both streams."""

    def run(*arguments):
        capsys.readouterr()
        try:
            code = cli.main([str(one) for one in arguments])
        except SystemExit as stopped:
            code = stopped.code
        return code, *capsys.readouterr()

    return run


def test_a_meter_s_file(shell):
    code, said, told = shell("read", OPEN, "--timezone", "Europe/London")
    assert code == 0 and told == ""
    assert "1,248.700 kWh in 336.0 hours" in said and "Nothing needed repair" in said
    assert re.search(r"^2026-01-05 +54\.8 +12\.0$", said, re.M) and said.count("\n2026-01-") == 15
    assert 'give --stamps "end"' in said and max(map(len, said.splitlines())) <= 100


def test_as_json(shell):
    code, said, told = shell("read", OPEN, WEEK, "--timezone", "Europe/London", "--json")
    first, second = json.loads(said)["files"]
    assert code == 0 and told == "" and (first["read_as"], second["read_as"]) == ("meter", "weather")
    assert first["days"]["2026-01-05"] == {"kwh": pytest.approx(54.8, abs=0.05), "hours": 12.0}
    assert first["kind"] == "interval" and sum(day["kwh"] for day in first["days"].values()) == pytest.approx(1248.7)
    assert second["days"]["2025-10-22"]["air_temp"] == pytest.approx(13.3, abs=0.05)


def test_without_a_time_zone_the_computer_s_is_taken_and_named(shell, monkeypatch):
    monkeypatch.setenv("TZ", "Europe/Berlin")
    assert "by the clock of Europe/Berlin, this computer's; give --timezone" in shell("read", OPEN)[2]
    monkeypatch.setenv("TZ", "nonsense")
    assert "as this computer's time zone is not known; give --timezone" in shell("read", OPEN)[2]


def test_standard_input_and_a_thermometer(shell, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(WATER.encode())))
    code, said, _ = shell("read", "-", "--timezone", "UTC")
    assert code == 0 and "48 water temperatures" in said and re.search(r"^2026-01-06 +8\.6 +8\.6 +8\.6$", said, re.M)


def test_a_sheet_a_tariff_and_what_cannot_be_read(shell, tmp_path):
    code, said, told = shell("read", PONDS / "garden_pond.toml", NIGHT, tmp_path / "none.csv", "--timezone", "UTC")
    assert code == 2 and "00:30–07:30 night 12 p/kWh" in said
    assert "is a pond sheet" in told and "none.csv" in told and "Traceback" not in told
    code, _, told = shell("read", OPEN, "--as", "mter")
    assert code == 2 and "meter" in told
    code, _, told = shell("read", WEEK, "--rating", "3000", "--timezone", "UTC")
    assert code == 2 and "--rating" in told


def test_a_year_is_shown_by_months(shell, tmp_path):
    rows = [f"2025-{month:02d}-{day:02d},{4 + day % 3}.5\n" for month in range(1, 13) for day in range(1, 29)]
    (tmp_path / "year.csv").write_text("date,use kWh\n" + "".join(rows), encoding="utf-8")
    code, said, _ = shell("read", tmp_path / "year.csv", "--timezone", "UTC")
    january = sum(4.5 + day % 3 for day in range(1, 29))
    assert (
        code == 0 and re.search(rf"^2025-01 +{january:.1f} ", said, re.M) and "2025-01-05" not in said.split("month")[1]
    )


def test_a_week_of_a_tariff(shell, tmp_path):
    code, said, _ = shell("tariff", NIGHT, "--timezone", "Europe/London", "--week", "2026-10-22")
    assert code == 0 and "week from 19 October 2026" in said
    assert "Mon–Sun  00:00–00:30 other hours 30 p/kWh; 00:30–07:30 night 12 p/kWh; 07:30–24:00" in said.replace(
        "\n         ", " "
    )
    week = json.loads(shell("tariff", NIGHT, "--timezone", "UTC", "--json")[1])["week"]
    assert len(week) == 7 and {len(day) for day in week.values()} == {3}
    code, _, told = shell("tariff", NIGHT, "--week", "soon")
    assert code == 2 and "--week soon is not a date" in told


def test_a_week_of_half_hourly_prices(shell, tmp_path):
    """Days as a table, alike days once; the mean is over the 169 hours of the week in which clocks go back."""
    index = pd.date_range("2025-10-20", "2025-10-27", freq="30min", tz="Europe/London", inclusive="left")
    prices = pd.Series(np.where(index.hour < 12, 10.0, 20.0) + np.where(index.minute, 1.0, 0.0), index)
    prices.loc["2025-10-22 02:00":"2025-10-22 03:30"] = -4.5
    prices.loc["2025-10-23 17:30"] = 42.25
    rows = "".join(f"{at.isoformat()},{price}\n" for at, price in prices.items())
    (tmp_path / "p.csv").write_text("time,price [p/kWh]\n" + rows)
    (tmp_path / "t.toml").write_text('name = "x"\nprices = "p.csv"\nstanding_charge = "50 p/day"\n')
    code, said, _ = shell("tariff", str(tmp_path / "t.toml"), "--timezone", "Europe/London")
    flat = " ".join(said.split())
    assert code == 0 and len(said.splitlines()) < 16
    assert "Mon–Tue 10.5 10.5 10.5 10.5 20.5 20.5 20.5 20.5 Wed 5.5 5.5 10.5" in flat and "Fri–Sun" in flat
    assert "Cheapest: −4.5 p/kWh, Wed 02:00–04:00. Most expensive: 42.25 p/kWh, Thu 17:30–18:00." in flat
    assert "Below zero for 2 hours in all: Wed 02:00–04:00." in flat
    assert f"On average {prices.mean():.2f} p/kWh" in flat and len(prices) == 338


def test_a_tariff_of_a_pond_sheet_is_read_in_its_money_and_by_its_clock(shell, tmp_path):
    """Not in pounds by this computer's clock, which would call its cents another currency."""
    sheet = 'timezone = "Europe/Berlin"\ncurrency = "EUR"\n[pond]\ndepth = "1 m"\n[tariff]\nrate = "32 ct/kWh"\n'
    (tmp_path / "pond.toml").write_text(sheet, encoding="utf-8")
    code, said, told = shell("tariff", str(tmp_path / "pond.toml"))
    assert code == 0 and "in EUR" in said and "Europe/Berlin" in said and told == ""
    assert "Europe/Lisbon" in shell("tariff", str(tmp_path / "pond.toml"), "--timezone", "Europe/Lisbon")[1]


def test_a_price_file_s_own_clock_comes_before_this_computer_s(shell, tmp_path):
    path = tmp_path / "spot.csv"
    path.write_text(SUMMER, encoding="utf-8")
    for command in ("tariff", "read"):
        code, said, _ = shell(command, str(path))
        assert code == 0 and "by the clock of Europe/Berlin, as the header names C" in " ".join(said.split()), said
        code, said, told = shell(command, str(path), "--timezone", "Europe/London")
        assert (
            code == 2 and "Is --timezone Europe/Berlin meant?" in said + told and "prices_timezone" not in said + told
        )


def test_a_zone_in_the_header_against_the_option_s(shell, tmp_path):
    text = "time [UTC],price [p/kWh]\n" + "".join(f"2025-01-03 {hour:02}:00,{20 + hour}\n" for hour in range(24))
    path = tmp_path / "spot.csv"
    path.write_text(text, encoding="utf-8")
    code, said, told = shell("tariff", str(path), "--timezone", "Europe/London")
    assert code == 2 and "you gave --timezone Europe/London" in said + told and "Give --timezone UTC" in said + told
    assert shell("tariff", str(path), "--timezone", "UTC")[0] == 0


@pytest.mark.parametrize(
    "arguments, usage, hint",
    [
        (("seson", "x.toml"), "usage: python -m pondheat [-h]", "Did you mean season?"),
        (("season", "x.toml", "--wether", "y"), "usage: python -m pondheat season", "Did you mean --weather"),
        (("compare", "--shet=x"), "usage: python -m pondheat compare", "Did you mean --sheet"),
        (("read", "--jsno"), "usage: python -m pondheat read", "Did you mean --json?"),
        (("--prot", "9000"), "usage: python -m pondheat [-h]", "Did you mean --port?"),
        (("season", "x.toml", "--m", "y"), "usage: python -m pondheat season", "--meter or --meter-weather"),
    ],
)
def test_mistyped_words(shell, arguments, usage, hint):
    code, said, told = shell(*arguments)
    assert code == 2 and said == "" and told.startswith(usage) and hint in told


def test_an_abbreviated_option_still_works(shell):
    assert shell("read", OPEN, "--timez", "Europe/London")[0] == 0


def test_names_cannot_steer_the_terminal(shell, tmp_path):
    odd = tmp_path / "log\x1b[31m\u202egnp.csv"
    odd.write_bytes(OPEN.read_bytes())
    for arguments in (("read", odd, OPEN), ("read", f"{odd}x"), ("season", f"{odd}\r"), ("read", odd, "--json")):
        _, said, told = shell(*arguments, "--timezone", "UTC") if arguments[0] == "read" else shell(*arguments)
        assert not re.search("[\x1b\u202e\r]", said + told)
    assert json.loads(shell("read", odd, "--json", "--timezone", "UTC")[1])["files"][0]["file"] == str(odd)


@pytest.mark.skipif(os.name != "posix", reason="terminals as POSIX has them")
def test_lines_follow_a_narrow_terminal(tmp_path):
    """On a terminal of 64 columns no line is longer; there is no colour where NO_COLOR is set, nor ever in a pipe."""
    import fcntl
    import pty
    import struct
    import termios

    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 64, 0, 0))
    surroundings = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")} | {
        "NO_COLOR": "1"
    }
    command = [sys.executable, "-m", "pondheat", "read", str(OPEN), "--timezone", "Europe/London"]
    with subprocess.Popen(command, stdout=slave, stderr=slave, env=surroundings) as program:
        os.close(slave)
        shown = b""
        while True:
            try:
                piece = os.read(master, 4096)
            except OSError:  # the other end is closed
                break
            if not piece:
                break
            shown += piece
    os.close(master)
    lines = re.split("[\r\n]", shown.decode())  # on a busy machine there is a progress line, which begins with a return
    assert program.returncode == 0 and "kWh in 336.0 hours" in shown.decode()
    assert max(map(len, lines)) <= 64 and "\x1b" not in shown.decode()


def test_an_option_that_does_not_fit_is_named_as_typed(capsys, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("time,kWh\n2026-01-05 00:00,1.5\n2026-01-05 01:00,1.4\n2026-01-05 02:00,1.6\n", encoding="utf-8")
    for given, said in (
        (("--weather-worksheet", "2"), '--weather-worksheet "2" was given, but log.csv is not a workbook'),
        (("--voltage", "230 V"), "--voltage: “230 V” is not a number. Write a number without a unit, such as 230"),
        (("--stamps", "middle"), "“middle” is not a known value of stamps. Known: start, end"),
        (("--as", "cheese"), "“cheese” is not a known kind of file. Known: meter, thermometer"),
    ):
        assert cli.main(["read", str(log), "--timezone", "Europe/London", *given]) == 2
        assert said in capsys.readouterr().err


def test_a_table_without_a_price_is_told_what_to_name_not_that_it_is_no_toml(shell, tmp_path):
    path = tmp_path / "use.csv"
    path.write_text("time,use [kWh]\n" + "".join(f"2026-01-05 {at:02}:00,{at % 5}\n" for at in range(24)), "utf-8")
    code, said, told = shell("tariff", str(path), "--timezone", "Europe/London")
    assert code == 2 and "no column is called a price" in said + told and "TOML" not in said + told


def test_values_in_kwh_are_a_meter_s_and_no_prices(shell, tmp_path):
    """“Wert” is as good a word for a reading as “value”: the unit says which."""
    rows = "".join(
        f"{at:%d.%m.%Y %H:%M};{at + pd.Timedelta('15min'):%d.%m.%Y %H:%M};0,{300 + 40 * (at.minute % 7)};W\n"
        for at in pd.date_range("2026-01-05", periods=300, freq="15min")
    )
    path = tmp_path / "quarter.csv"
    path.write_text("Zeitstempel von;Zeitstempel bis;Wert (kWh);Status\n" + rows, encoding="utf-8")
    code, said, told = shell("read", str(path), "--timezone", "Europe/Berlin")
    assert code == 0 and "kWh in 75.0 hours" in said and "price" not in said, said + told

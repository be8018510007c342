"""The command line as a newcomer uses it: exit codes, sentences, files, and nothing else.

Commands run inside the test's process; three run as programs of their own.
"""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import pytest

import pondheat
from pondheat import cli
from pondheat.analysis import measured_water
from pondheat.core import places
from pondheat.core.places import CLONE
from pondheat.heat.balance import ROUTES
from pondheat.season.simulate import COLUMNS
from pondheat.sheet.pond_sheet import with_values

ROOT = CLONE
GARDEN, TANK = ROOT / "data" / "ponds" / "garden_pond.toml", ROOT / "data" / "ponds" / "growing_on_tank.toml"
WEEK = ROOT / "data" / "weather" / "sollerwick_2025-10-22_2025-10-28.csv"
OPEN_WATER = """name = "Shallow pond"
timezone = "Europe/London"

[place]
wind_shelter = 0.6
{place}

[pond]
surface_area = "30 m²"
depth = "0.4 m"

[base]
against = "ground"

[formulas]
evaporation = "penman_1956"

[weather]
source = "june.csv"
wind_height = "2 m"
{season}"""
PLACE = "latitude = 52.0\nlongitude = -1.0"


class Result(NamedTuple):
    """What a command printed."""

    stdout: str
    stderr: str


@pytest.fixture
def shell(capsys, monkeypatch) -> Callable[..., Result]:
    """Runs a command, in a folder if one is given, and checks its exit code.

    A refusal must say why on standard error, unless `silent`: `check` lists what it could not read with the rest.
    """

    def run(*arguments, folder: Path | None = None, code: int = 0, silent: bool = False) -> Result:
        if folder is not None:
            monkeypatch.chdir(folder)
        capsys.readouterr()
        try:
            found = cli.main([str(one) for one in arguments])
        except SystemExit as stopped:  # the parser's own way to end
            found = stopped.code
        result = Result(*capsys.readouterr())
        assert found == code, (found, result.stderr[-500:])
        assert "Warning" not in result.stderr and (code != 2 or silent or result.stderr.strip())
        return result

    return run


@pytest.fixture
def six_weeks(tmp_path) -> Path:
    """The garden pond's sheet with a season of six weeks."""
    text = with_values(GARDEN.read_text(encoding="utf-8"), {"season": {"start": "2025-11-03", "end": "2025-12-14"}})
    path = tmp_path / "six_weeks.toml"
    path.write_text(text, encoding="utf-8")
    return path


def strict(text: str) -> dict:
    """JSON without the constants that only JavaScript and Python know."""

    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    return json.loads(text, parse_constant=refuse)


def june(start="2025-06-02", days=21) -> pd.DataFrame:
    """Three synthetic weeks: nights of 10 °C, days of 20 °C, warmer and duller weeks, a June sun at 52° north."""
    stamps = pd.date_range(start, periods=24 * days, freq="h")
    hour, day = stamps.hour.to_numpy(), np.arange(len(stamps)) / 24
    dull = 0.5 + 0.4 * np.sin(day / 3)
    height = np.where((hour > 3) & (hour < 21), np.sin(np.pi * (hour + 0.5 - 4) / 17), 0.0)
    return pd.DataFrame(
        {
            "time": stamps.strftime("%Y-%m-%d %H:%M"),
            "air_temp": (15 + 2 * np.sin(day / 4) - 5 * np.cos(2 * np.pi * (hour - 3) / 24)).round(1),
            "rel_humidity": (72 + 15 * np.cos(2 * np.pi * (hour - 3) / 24)).round(),
            "wind_speed": (2.0 + 1.2 * np.sin(day) + 0.8 * np.sin(2 * np.pi * (hour - 9) / 24)).clip(0.2).round(1),
            "solar": (850 * height**1.2 * (1 - 0.6 * dull)).round(),
            "cloud_cover": (100 * dull).round(),
        }
    )


HEADERS = {
    "time": "time",
    "air_temp": "air_temp [°C]",
    "rel_humidity": "rel_humidity [%]",
    "wind_speed": "wind_speed [m/s]",
    "solar": "solar [W/m²]",
    "cloud_cover": "cloud_cover [%]",
}
NO_CLOUD = june().drop(columns="cloud_cover")


@pytest.fixture
def pond(tmp_path):
    """Writes an unheated, uncovered sheet with its weather file and returns the sheet's path."""

    def write(table=NO_CLOUD, place=PLACE, season="", headers=HEADERS, weather=None, **csv):
        path = tmp_path / "pond.toml"
        path.write_text(OPEN_WATER.format(place=place, season=season), encoding="utf-8")
        (tmp_path / "june.csv").write_text(
            weather if weather is not None else table.rename(columns=headers).to_csv(index=False, **csv),
            encoding="utf-8",
        )
        return path

    return write


# --- season: what it prints and writes ----------------------------------------------------------------------------


def test_season_prints_a_table(shell, six_weeks):
    done = shell("season", six_weeks)
    assert done.stderr == ""
    for words in (
        "Garden pond (invented): 10.0 m² of surface, 12.0 m³, held at 18 °C",
        "3 November 2025 to 14 December 2025",
        "lost by evaporation",
        "heat from the heater",
        "By month",
        "The cover saves",
        "likely",
        "What matters most",
        "This is an estimate for learning",
        "30 mA",
    ):
        assert words in done.stdout


def test_season_prints_json_only_and_writes_hours(shell, six_weeks, tmp_path):
    target = tmp_path / "hours out.csv"
    done = shell("season", six_weeks, "--json", "--hours", target)
    told = strict(done.stdout)
    assert done.stderr == f"Written: {target} (the hours of a season).\n"
    assert told["sheet"]["name"] == "Garden pond (invented)"
    assert set(told["open"]["routes_kwh"]) == set(ROUTES) and told["payback"]["years"] > 0
    assert "°" in done.stdout  # characters beyond ASCII as they are
    table = pd.read_csv(target)
    assert tuple(table.columns) == ("time", *COLUMNS)
    assert table["time"].iloc[[0, -1]].tolist() == ["2025-11-03T00:00:00+00:00", "2025-12-14T23:00:00+00:00"]
    stamps = pd.to_datetime(table["time"], utc=True)
    assert (stamps.diff().dropna() == pd.Timedelta("1h")).all() and len(table) == told["season"]["hours"]
    numbers = table.drop(columns="time")
    assert numbers.notna().all().all() and all(pd.api.types.is_numeric_dtype(kind) for kind in numbers.dtypes)
    assert numbers["electricity"].sum() / 1000 == pytest.approx(told["covered"]["electricity_kwh"], rel=1e-6)
    came = numbers["heater"] + numbers["solar"] + numbers["pump"] - numbers[list(ROUTES)].sum(axis=1)
    assert (came - numbers["stored"]).abs().max() < 2e-3  # each column is rounded to 1e-4 W


# --- season: measured water ---------------------------------------------------------------------------------------

LAKE_SHEET = """
timezone = "Etc/GMT+5"
[season]
start = 2018-06-29
end = 2018-10-31
[place]
latitude = 44.15
longitude = -89.5
altitude = "336 m"
wind_shelter = 1.0
sky_view = 1.0
[pond]
surface_area = "10000 m²"
depth = "1.54 m"
start_temp = "25.015 °C"
[base]
u_value = "0 W/m²K"
[[wall]]
area = "1 m²"
u_value = "0 W/m²K"
"""


def test_a_sheet_of_the_measured_lake_gives_the_same_water(shell, tmp_path):
    sheet, target = tmp_path / "lake.toml", tmp_path / "hours.csv"
    sheet.write_text(LAKE_SHEET, encoding="utf-8")
    shell("season", sheet, "--weather", measured_water.LAKE_FILE, "--hours", target)
    end = pd.read_csv(target)["water_temp"].to_numpy()
    lake = measured_water.read_lake()
    mean = (np.concatenate(([25.015], end[:-1])) + end) / 2
    assert np.abs(mean - measured_water.computed_water(lake)).max() < 2e-4  # as written, to a ten-thousandth
    assert measured_water.water_error(mean, lake.water_temp).rmse <= 0.85


# --- season: which weather ----------------------------------------------------------------------------------------


def test_weather_by_a_built_in_name(shell, six_weeks):
    told = strict(shell("season", six_weeks, "--json", "--weather", "Sollerwick").stdout)
    assert told["weather"]["place"] == "Sollerwick (invented)"


def test_weather_by_a_path_seen_from_where_the_command_is_given(shell, pond, tmp_path):
    path = pond()
    elsewhere = tmp_path / "else where"
    elsewhere.mkdir()
    (elsewhere / "mine.csv").write_text(
        june().assign(air_temp=lambda t: t.air_temp + 5).rename(columns=HEADERS).to_csv(index=False), encoding="utf-8"
    )
    plain = strict(shell("season", "../pond.toml", "--json", folder=elsewhere).stdout)
    warm = strict(shell("season", "../pond.toml", "--json", "--weather", "mine.csv", folder=elsewhere).stdout)
    assert (plain["weather"]["place"], warm["weather"]["place"]) == ("june.csv", "mine.csv")
    assert warm["open"]["highest_water_temp"] > plain["open"]["highest_water_temp"] + 2
    again = strict(shell("season", path, "--json", "--weather", elsewhere / "mine.csv").stdout)
    assert again["open"] == warm["open"]


def test_measured_weather_without_the_sheet_s_season(shell):
    """The pond's own season does not lie in the week: a sentence with the hours there are."""
    done = shell("season", GARDEN, "--weather", WEEK, code=2)
    assert "2025-10-22 00:00 to 2025-10-29 00:00" in done.stderr and done.stdout == ""


# --- season: unheated water in measured weather -------------------------------------------------------------------


def test_three_weeks_of_open_water(shell, pond, tmp_path):
    told = strict(shell("season", pond(), "--json", "--hours", "hours.csv", folder=tmp_path).stdout)
    assert told["season"] == {"start": "2025-06-02", "end": "2025-06-22", "hours": 504}
    assert told["formulas"]["evaporation"] == "penman_1956"
    for key in ("covered", "saving", "payback", "doubt"):
        assert told[key] is None
    assert told["open"]["heat_kwh"] == told["open"]["electricity_kwh"] == told["open"]["most_ice_kg"] == 0
    water = pd.read_csv(tmp_path / "hours.csv")["water_temp"]
    air = june()["air_temp"]
    # in June's sun shallow water is a little warmer than the air on average, and swings less than the air does
    assert 0 < water.mean() - air.mean() < 6
    assert water.min() > 10 and water.max() < 28
    swing, of_air = (series.groupby(series.index // 24).agg(np.ptp).mean() for series in (water, air))
    assert 2 < swing < of_air
    # warmest in the late afternoon, coldest about sunrise
    days = water.to_numpy().reshape(-1, 24)
    assert 15 <= np.median(days.argmax(axis=1)) <= 19 and 3 <= np.median(days.argmin(axis=1)) <= 7


def test_a_part_of_the_file_by_the_season(shell, pond):
    part = strict(shell("season", pond(season="[season]\nstart = 2025-06-09\nend = 2025-06-15"), "--json").stdout)
    assert part["season"] == {"start": "2025-06-09", "end": "2025-06-15", "hours": 168}
    one = strict(shell("season", pond(season="[season]\nstart = 2025-06-22\nend = 2025-06-22"), "--json").stdout)
    assert one["season"]["hours"] == 24
    done = shell("season", pond(season="[season]\nstart = 2025-06-20\nend = 2025-06-23"), code=2)
    assert "The season from 2025-06-20 to 2025-06-23 is not covered" in done.stderr
    assert "2025-06-02 00:00 to 2025-06-23 00:00" in done.stderr


def test_a_place_is_asked_for_only_where_it_is_needed(shell, pond):
    """Sun without cloud: cloud is judged from the sun's height. With cloud, or the sky's own radiation, no place is."""
    done = shell("season", pond(place=""), code=2)
    assert "has no cloud_cover" in done.stderr
    assert "give latitude and longitude (in a pond sheet under [place])" in done.stderr
    half = shell("season", pond(place="latitude = 52.0"), code=2)
    assert "latitude and longitude" in half.stderr
    cloudy = strict(shell("season", pond(june(), place=""), "--json").stdout)
    assert cloudy["weather"]["latitude"] is None and 10 < cloudy["open"]["lowest_water_temp"] < 20
    at_place = strict(shell("season", pond(june()), "--json").stdout)
    assert at_place["open"] == cloudy["open"] and at_place["weather"]["latitude"] == 52.0
    sky = strict(
        shell(
            "season",
            pond(NO_CLOUD.assign(sky=330), place="", headers=HEADERS | {"sky": "sky_long_wave [W/m²]"}),
            "--json",
        ).stdout
    )
    assert "file has the radiation from the sky" in " ".join(sky["notes"])
    assert 10 < sky["open"]["lowest_water_temp"] < 20
    dark = shell("season", pond(june().drop(columns="solar"), place=""), code=2)
    assert "has no solar" in dark.stderr and "under [place]" in dark.stderr
    neither = shell("season", pond(NO_CLOUD.drop(columns="solar"), place=""), code=2)
    assert "neither sun nor cloud" in neither.stderr


def fahrenheit(table: pd.DataFrame) -> pd.DataFrame:
    return table.assign(air_temp=(table.air_temp * 1.8 + 32).round(2), wind_speed=(table.wind_speed / 0.44704).round(3))


def test_headers_and_units_of_other_tables(shell, pond):
    """Names without units, other units, semicolons with decimal commas, tabs: the same water each time."""
    first = strict(shell("season", pond(), "--json").stdout)["open"]
    bare = dict(zip(NO_CLOUD, ("timestamp", "temperature", "humidity", "wind", "radiation")))
    for given in (
        {"headers": bare, "table": NO_CLOUD.assign(rel_humidity=NO_CLOUD.rel_humidity / 100)},
        {
            "headers": dict(
                zip(NO_CLOUD, ("Time", "Air temperature (°F)", "RH (%)", "Wind speed (mph)", "Solar radiation (W/m2)"))
            ),
            "table": fahrenheit(NO_CLOUD),
        },
        {"sep": ";", "decimal": ","},
        {"sep": "\t"},
    ):
        got = strict(shell("season", pond(**given), "--json").stdout)["open"]
        assert got["lowest_water_temp"] == pytest.approx(first["lowest_water_temp"], abs=0.02), given.get("headers")
        assert got["highest_water_temp"] == pytest.approx(first["highest_water_temp"], abs=0.02)
    # without a unit, numbers beyond 1.5 can't be fractions: read as per cent, and told
    got = strict(shell("season", pond(headers=bare), "--json").stdout)
    assert got["open"]["lowest_water_temp"] == pytest.approx(first["lowest_water_temp"], abs=0.02)
    assert any("can only be per cent" in note for note in got["notes"])


# --- season: what is refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name, content, sentence",
    [
        ("missing.toml", None, "no such file"),
        ("folder.toml", "folder", "cannot be read"),
        ("empty.toml", b"", "timezone"),
        ("binary.toml", b"\x89PNG\r\n\x1a\n\x00\xff\xfe", "not UTF-8"),
        ("words.toml", b"my pond is 4 m long", "is not TOML"),
        ("web.toml", b"<!doctype html><html></html>", "is not TOML"),
        (
            "wrong.toml",
            b'timezone = "Europe/London"\n[pond]\nsurface_area = "10 m"\nvolume = "9 gallons"',
            "2 things to put right",
        ),
    ],
)
def test_a_sheet_that_cannot_be_read(shell, tmp_path, name, content, sentence):
    path = tmp_path / name
    if content == "folder":
        path.mkdir()
    elif content is not None:
        path.write_bytes(content)
    done = shell("season", name, "--json", "--hours", "hours.csv", folder=tmp_path, code=2)
    assert sentence in done.stderr and done.stdout == "" and name in done.stderr
    assert not (tmp_path / "hours.csv").exists()


@pytest.mark.parametrize(
    "weather, sentence",
    [
        ("potsdm", "Did you mean “potsdam”"),
        ("nowhere.csv", "neither a weather file nor a built-in name"),
        (".", "is a folder"),
        ("~nobody_here/x.csv", "neither a weather file nor a built-in name"),
        ("x" * 5000, "neither a weather file nor a built-in name"),
        ("", "folder"),
    ],
)
def test_weather_that_is_not_there(shell, tmp_path, weather, sentence):
    done = shell("season", GARDEN, "--weather", weather, "--hours", "hours.csv", folder=tmp_path, code=2)
    assert sentence in done.stderr and done.stdout == "" and list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "content, sentence",
    [
        (b"", "is empty"),
        (b"garbage", "header"),
        (b"\x00\x01\x02\x03" * 50, "not a text file"),
        (b"PK\x03\x04zip", "workbook"),
        (b"<html><body>404</body></html>", "web page"),
        (b"a,b\n1,2\n", "There is no column"),
        (b'{"not": "weather"}', "is JSON, not a table"),
        (b"time,air_temp [\xb0C]\n2025-06-01 00:00,12\n", "only one time"),
        (b"LOCATION,cut,off\n", "EPW"),
        (b"time,air_temp,solar\n2025-06-01 00:00,12,5,100\n", "Row 2 of bad.csv has more fields than the header"),
        (b"time,air_temp\n" + b"x,y\n" * 50, "is not a time"),
        (b'time,air_temp\n"2025-06-01 00:00,12\n', "quotation mark"),
    ],
)
def test_weather_that_cannot_be_read(shell, tmp_path, content, sentence):
    (tmp_path / "bad.csv").write_bytes(content)
    done = shell("season", GARDEN, "--weather", "bad.csv", "--hours", "hours.csv", folder=tmp_path, code=2)
    assert sentence in done.stderr and done.stdout == ""
    assert [p.name for p in tmp_path.iterdir()] == ["bad.csv"]


def test_hours_that_cannot_be_written(shell, tmp_path):
    sheet = tmp_path / "pond.toml"
    sheet.write_bytes(TANK.read_bytes())
    for target in ("no/such/folder/hours.csv", ".", tmp_path):
        done = shell("season", sheet, "--hours", target, folder=tmp_path, code=2)
        assert "cannot be written there" in done.stderr and done.stdout == ""
    done = shell("season", sheet, "--hours", "./pond.toml", folder=tmp_path, code=2)
    assert "written over what this command reads" in done.stderr
    assert sheet.read_bytes() == TANK.read_bytes() and [p.name for p in tmp_path.iterdir()] == ["pond.toml"]


def test_hours_are_not_written_over_the_weather(shell, pond, tmp_path):
    path = pond()
    before = (tmp_path / "june.csv").read_bytes()
    done = shell("season", path, "--hours", tmp_path / "june.csv", code=2)
    assert "written over what this command reads" in done.stderr and (tmp_path / "june.csv").read_bytes() == before


def test_nothing_that_is_read_is_written_whatever_its_name(shell, tmp_path):
    """The sheet, its tariff, the tariff's prices, the meter's log and its weather, by hard and symbolic links too."""
    sheet, tariff, prices = tmp_path / "pond.toml", tmp_path / "dear.toml", tmp_path / "prices.csv"
    sheet.write_text(
        f"{TANK.read_text(encoding='utf-8').split('[tariff]')[0]}[tariff]\nfile = 'dear.toml'\n", encoding="utf-8"
    )
    tariff.write_text("[tariff]\nprices = 'prices.csv'\n", encoding="utf-8")
    prices.write_text("time,price\n2025-01-03T04:30Z,0.2\n2025-01-03T05:00Z,0.3\n", encoding="utf-8")
    meter, days = tmp_path / "meter.csv", tmp_path / "days.csv"
    for path in (meter, days):
        path.write_text("time,x\n", encoding="utf-8")
    hard, soft = tmp_path / "hard.csv", tmp_path / "soft.html"
    os.link(tariff, hard)
    os.symlink(prices, soft)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    more = ("--meter", meter, "--meter-weather", days)
    for option, target in (
        ("--hours", sheet),
        ("--report", tariff),
        ("--hours", prices),
        ("--hours", hard),
        ("--report", soft),
        ("--hours", meter),
        ("--hours", days),
    ):
        done = shell("season", sheet, option, target, *more, code=2)
        assert "written over what this command reads" in done.stderr and str(target) in done.stderr, target
        assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_no_file_of_another_kind_is_written_over_nor_two_of_one_name(shell, six_weeks, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text("[tariff]\n", encoding="utf-8")
    done = shell("season", six_weeks, "--report", other, code=2)
    assert "is not a decision sheet from an earlier run" in done.stderr
    done = shell("season", six_weeks, "--hours", tmp_path / "x", "--report", tmp_path / "x", code=2)
    assert "two files would be written to this one name" in done.stderr
    assert other.read_text(encoding="utf-8") == "[tariff]\n" and not (tmp_path / "x").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("season",),
        ("season", GARDEN, "--nonsense"),
        ("season", GARDEN, "--weather"),
        ("seasons", GARDEN),
        ("check",),
        ("season", GARDEN, TANK),
    ],
    ids=str,
)
def test_wrong_command_lines(shell, arguments):
    done = shell(*arguments, code=2)
    assert done.stdout == "" and "usage: python -m pondheat" in done.stderr


@pytest.mark.parametrize(
    "option, value, said",
    [
        ("--solar-peak-kw", "-4", "-4 given for --solar-peak-kw: it should be 0 to 100 kW. Did you mean 4?"),
        ("--room-temp", "200", "200 given for --room-temp: it should be -20 to 45 °C."),
        ("--house-cheap-share", "250%", "--house-cheap-share: “250%” can't be right"),
    ],
)
def test_a_choice_s_input_that_can_t_be_is_refused_before_any_work(shell, monkeypatch, option, value, said):
    for name in ("assess", "learn"):
        monkeypatch.setattr(f"pondheat.analysis.assessment.{name}", lambda *_, **__: pytest.fail("work was begun"))
    meter = ROOT / "data" / "readings" / "garden_pond_open.csv"
    found = shell("season", GARDEN, "--meter", meter, "--what-if", option, value, code=2)
    assert said in found.stderr and not found.stdout


def test_help_and_version(shell):
    assert "SHEET.toml" in shell("season", "--help").stdout and "PATH" in shell("check", "--help").stdout
    assert shell("--version").stdout == f"pondheat {pondheat.__version__}\n"


# --- as programs of their own -------------------------------------------------------------------------------------


def program(*arguments, **options) -> subprocess.CompletedProcess:
    """Run `python -m pondheat`."""
    command = [sys.executable, "-m", "pondheat", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, encoding="utf-8", timeout=120, **options)


def test_the_program_starts():
    done = program("check", CLONE / "data" / "checks" / "fish.csv")
    assert done.returncode == 0 and done.stderr == "" and "0 fail" in done.stdout


def test_the_program_passes_its_exit_code_on(tmp_path):
    done = program("season", "missing.toml", cwd=tmp_path)
    assert done.returncode == 2 and "no such file" in done.stderr and done.stdout == ""


@pytest.mark.parametrize("moment", ["pondheat.cli", "pondheat.front_door.opening"])
def test_ctrl_c_while_it_is_still_starting(tmp_path, moment):
    """The first second goes into importing modules: no traceback then either."""
    (tmp_path / "sitecustomize.py").write_text(
        f"""
import sys
class Press:
    def find_spec(self, name, *_):
        if name == "{moment}":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Press())
""",
        encoding="utf-8",
    )
    path = os.pathsep.join(filter(None, [str(tmp_path), str(CLONE), os.environ.get("PYTHONPATH")]))
    done = program("--version", env={**os.environ, "PYTHONPATH": path})
    assert done.returncode == 130 and "Traceback" not in done.stderr and done.stdout == ""


def test_a_pipe_that_closes_early(pond):
    """`… | head -1` prints one line and no traceback."""
    done = subprocess.run(
        f'"{sys.executable}" -m pondheat season "{pond()}" --json | head -1',
        shell=True,
        env=os.environ | {"PONDHEAT_COMPILE": "0"},  # a month takes less time than loading the machine code
        capture_output=True,
        encoding="utf-8",
        timeout=120,
    )
    assert done.stdout == "{\n" and "Traceback" not in done.stderr


# --- without the repository ---------------------------------------------------------------------------------------


@pytest.fixture
def installed(monkeypatch, tmp_path):
    """The package as in a wheel: without the repository's data and workbook."""
    for name in ("DATA", "WORKBOOK"):
        monkeypatch.setattr(places, name, tmp_path / "none" / name)


def test_what_needs_the_repository_says_so(shell, installed):
    assert "The workbook needs the files of the repository" in shell(code=2).stderr
    assert "The tutor's key needs the files of the repository" in shell("key", code=2).stderr


# --- check --------------------------------------------------------------------------------------------------------


ROW = "id,quantity,inputs,value,unit,tolerance,source,kind,note\n"
HOLDS = "a1,heat.water.density,temp=15 degC,999.1,kg/m**3,rel 0.1%,a table,published,\n"
SHORT = "a2,heat.water.density,temp=15 degC,900,kg/m**3,rel 0.1%,a table,published,\n"
UNREAD = "a3,heat.water.densty,temp=15 degC,900,kg/m**3,rel 0.1%,a table,published,\n"


@pytest.mark.parametrize(
    "rows, code, said",
    [
        (HOLDS, 0, "1 row evaluated, 0 fail, 0 could not be read"),
        (HOLDS + SHORT, 1, "a2 fails"),
        (
            SHORT + UNREAD,
            2,
            "rows.csv:3: a3: “heat.water.densty” is not a quantity of this library. Did you mean heat.water.density?",
        ),
        ("", 0, "0 rows evaluated"),
    ],
)
def test_check_exit_codes(shell, tmp_path, rows, code, said):
    (tmp_path / "rows.csv").write_text(ROW + rows, encoding="utf-8")
    done = shell("check", "rows.csv", folder=tmp_path, code=code, silent=True)
    assert said in done.stdout + done.stderr


def test_check_of_a_folder_a_pattern_and_nothing(shell, tmp_path):
    (tmp_path / "rows.csv").write_text(ROW + HOLDS, encoding="utf-8")
    (tmp_path / "empty").mkdir()
    (tmp_path / "binary.dat").write_bytes(b"\xff\xfe\x00\x81")
    for path in (".", "*.csv", "rows.csv"):
        assert "1 row evaluated" in shell("check", path, folder=tmp_path).stdout
    for path, said in (
        ("empty", "no .csv file in this folder"),
        ("nothing.csv", "no such file or folder"),
        ("binary.dat", "cannot be read as UTF-8"),
    ):
        assert said in shell("check", path, "rows.csv", folder=tmp_path, code=2, silent=True).stdout


def test_the_shipped_check_files_hold(shell):
    assert "0 fail, 0 could not be read." in shell("check", ROOT / "data" / "checks").stdout

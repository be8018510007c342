"""Typical years, PVGIS files, monthly normals and towns that are refused, one row or more for each refusal."""

import importlib.resources
import json

import pandas as pd
from refused import Refused, with_line

from pondheat.season.weather import weather


def shipped(name: str) -> str:
    """The text of a typical year in an installed package."""
    package, inside = weather.BUILT_IN[name]
    return (importlib.resources.files(package) / inside).read_text(encoding="utf-8")


def series(slope=0, key="hourly") -> str:
    """An hourly series as PVGIS writes it in JSON, with invented weather."""
    stamps = pd.date_range("2023-02-26 00:10", periods=72, freq="h").strftime("%Y%m%d:%H%M")
    sun = [0.0] * 8 + [90.0, 200.0, 280.0, 300.0, 290.0, 210.0, 100.0, 10.0] + [0.0] * 8
    hours = [
        {"time": one, "G(i)": sun[at % 24], "H_sun": 0.0, "T2m": 4.0 + at % 24 / 4, "WS10m": 2.5, "Int": 0.0}
        for at, one in enumerate(stamps)
    ]
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0}
    mounting = {"fixed": {"slope": {"value": slope, "optimal": False}}}
    inputs = {"location": place, "meteo_data": {}, "mounting_system": mounting}
    return (
        json.dumps({"inputs": inputs, "outputs": {key: hours}, "meta": {"inputs": {}, "outputs": {}}}, indent=1) + "\n"
    )


def normals(old="", new="") -> str:
    """The invented town's monthly normals with one piece of text in place of another."""
    assert old in NORMALS
    return NORMALS.replace(old, new) if old else NORMALS


NORMALS = (weather.WEATHER_FOLDER / "sollerwick.toml").read_text(encoding="utf-8")
AIR = next(line for line in NORMALS.splitlines() if line.startswith("air_temp"))
CLOUD, SUN = (next(line for line in NORMALS.splitlines() if line.startswith(key)) for key in ("cloud_cover", "solar"))
TMY3, TMY2, TRY = (shipped(name) for name in ("greensboro", "miami", "potsdam"))
FORM_OF_2015 = "Rechtswert : 4201500 Meter\nArt des TRY : mittleres Jahr\nRW HW MM DD HH t p\n***\n1 2 1 1 1 3.0 1000\n"
PLACE = next(line for line in TRY.splitlines() if "Lage:" in line)

ROWS = [
    # --- PVGIS ----------------------------------------------------------------------------------------------------
    Refused("cut JSON", series()[:900] + "\n", ("log.csv", "damaged at line", "ownload it again"), {}, series()),
    Refused("monthly JSON", series(key="monthly"), ("log.csv", "monthly and daily", "ownload “TMY”"), {}, series()),
    Refused("a sloping plane", series(30), ("log.csv", "slope 30", "slope 0"), {}, series()),
    Refused(
        "a damaged series", series().replace('"T2m"', '"T3m"'), ("log.csv", "PVGIS", "ownload it again"), {}, series()
    ),
    Refused("an empty series", series().replace('"time"', '"tome"'), ("PVGIS", "ownload it again"), {}, series()),
    # --- typical years --------------------------------------------------------------------------------------------
    Refused(
        "a cut TMY3",
        "".join(TMY3.splitlines(keepends=True)[:2]),
        ("no hours", "ownload it again"),
        {},
        TMY3,
    ),
    Refused(
        "a damaged TMY3", with_line(TMY3, 1, "723170,GREENSBORO"), ("log.csv", "TMY3", "ownload it again"), {}, TMY3
    ),
    Refused("a damaged TMY2", with_line(TMY2, 9, " 62010"), ("log.csv", "TMY2", "ownload it again"), {}, TMY2),
    Refused("the form of 2015", FORM_OF_2015, ("log.csv", "2015/2017", "hourly CSV"), {}, TRY),
    Refused("no position", TRY.replace(PLACE, "."), ("log.csv", "no position (Lage)", "ownload it again"), {}, TRY),
    Refused("no angle", TRY.replace("°", "^", 1), ("log.csv", "no angle in", "ownload it again"), {}, TRY),
    # --- monthly normals ------------------------------------------------------------------------------------------
    Refused("no TOML", normals(AIR, "air_temp = 4.6 °C"), ("log.csv", "line", "quotation marks"), {}, NORMALS),
    Refused("eleven months", normals('"4.6 4.9', '"4.9'), ("log.csv", "air_temp has 11 values", "twelve"), {}, NORMALS),
    Refused(
        "a bare number", normals(AIR, "air_temp = 4.6"), ("air_temp", "text with a unit", "“4.8 5.0 … °C”"), {}, NORMALS
    ),
    Refused("sun per month", normals("/day", "/month"), ("solar", "per month", "per day or in W/m²"), {}, NORMALS),
    Refused("no unit", normals(" °C", ""), ("air_temp", "has no unit", "°C"), {}, NORMALS),
    Refused("too warm", normals('"4.6 4.9', '"406 4.9'), ("air_temp", "406", "it should be"), {}, NORMALS),
    Refused("a key that is none", normals("air_temp ", "airtemp "), ("“airtemp”", "“air_temp”"), {}, NORMALS),
    Refused("a place of 5", normals('"Sollerwick (invented)"', "5"), ("place", "not 5", "quotation"), {}, NORMALS),
    Refused("no altitude", normals('altitude = "85 m"\n'), ("log.csv", "altitude is missing"), {}, NORMALS),
    Refused(
        "neither cloud nor sun",
        NORMALS.replace(CLOUD, "").replace(SUN, ""),
        ("log.csv", "cloud_cover or solar is missing"),
        {},
        normals(SUN),
    ),
]
TOWN_ROWS = [
    Refused("no town", " ", ("Name a town", "“Leeds, GB”"), {}, "Leeds, GB"),
    Refused("a long text", "x" * 90, ("“xxxxx", "too long", "“Leeds, GB”"), {}, "Leeds, GB"),
    Refused("a slip", "Leds", ("“Leds”", "Did you mean", "“Leeds, England, GB”"), {}, "Leeds, England, GB"),
    Refused("an unknown place", "Zzzzqqq", ("“Zzzzqqq”", "larger town", "“53.8, -1.5”"), {}, "53.8, -1.5"),
    Refused("several", "Newport", ("4 towns", "Which is yours?", "“Newport, Wales, GB”"), {}, "Newport, Wales, GB"),
    Refused(
        "not there", "Newport, Kent", ("“Newport”", "not in “Kent”", "Newport, Wales, GB"), {}, "Newport, Wales, GB"
    ),
    Refused("longitude first", "95, 10", ("95°", "latitude first"), {}, "10, 95"),
]
TEMPS = [4.6, 4.9, 6.6, 8.9, 12.0, 14.8, 16.8, 16.5, 14.2, 11.0, 7.4, 5.0]
TOWN_NORMALS_ROWS = [
    Refused("eleven temperatures", TEMPS[1:], ("11 temperatures", "twelve", "January to December"), {}, TEMPS),
]

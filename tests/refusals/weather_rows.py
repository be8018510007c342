"""Weather files that are refused, one row or more for each refusal of the reader of tables."""

import gzip
from pathlib import Path

import numpy as np
import pandas as pd
from meter_rows import workbook
from refused import Refused, with_line

from pondheat.season import sun
from pondheat.season.weather.answers import Answers

PLACE = "# latitude: 51.5\n# longitude: -0.1\n# altitude: 20 m\n"
HEAD = {
    "time": "time",
    "air": "air_temp [°C]",
    "damp": "rel_humidity [%]",
    "wind": "wind_speed [m/s]",
    "sun": "solar [W/m²]",
}


def weather(
    days=12, start="2025-01-10", place=PLACE, head=HEAD, form="%Y-%m-%d %H:%M", step="h", sep=",", **columns
) -> str:
    """A made-up table: hours in UTC, the sun of a clear sky at 51.5° N; `head`: the columns and what they are called;
    columns: values in place of the made ones."""
    index = pd.date_range(start, periods=24 * days, freq=step, tz="UTC")
    hour = np.arange(len(index))
    values = {
        "time": index.strftime(form),
        "air": np.round(5 + 3 * np.sin(hour / 3.8), 1),
        "damp": 80 + hour % 9,
        "wind": np.round(3 + np.cos(hour / 5), 1),
        "sun": np.round(0.8 * sun.clear_sky_irradiance(index, 51.5, -0.1, 20.0), 1),
        "cloud": 40 + hour % 20,
    }
    values |= {name: np.broadcast_to(np.asarray(given), len(index)) for name, given in columns.items()}
    rows = [sep.join(str(values[name][at]) for name in head) for at in hour]
    return "\n".join([place + sep.join(head.values()), *rows]) + "\n"


def named(**columns: str) -> dict[str, str]:
    """The head with other names of columns; “” leaves one out."""
    return {name: words for name, words in (HEAD | columns).items() if words}


def without(text: str, first: int, last: int) -> str:
    """The text without the values of these rows (from 1)."""
    lines = text.splitlines()
    lines[first - 1 : last] = [line.split(",")[0] + "," * line.count(",") for line in lines[first - 1 : last]]
    return "\n".join(lines) + "\n"


def answers(**given) -> dict:
    return {"answers": Answers(**given)}


def long(text: str, units=("°C", "%", "m/s", "W/m²"), station="") -> str:
    """The same table with a row for each value; station: whose rows they are."""
    place, head, rows = PLACE, text.splitlines()[3].split(","), text.splitlines()[4:]
    names = [one.split(" [")[0] for one in head[1:]]
    made = ["station,time,quantity,value,unit"]
    for row in rows:
        at, *values = row.split(",")
        made += [",".join((station, at, *one)) for one in zip(names, values, units)]
    return place + "\n".join(made) + "\n"


GOOD = weather()
LONG = long(GOOD)
STATIONS = long(GOOD, station="Orchard") + long(GOOD, station="Quay").split("unit\n", 1)[1]
MIXED_UNITS = with_line(LONG, 485, ",2025-01-15 00:00,air_temp,41.0,°F")
BESIDE = weather(head={**HEAD, "wind": "wind_speed [m/s],unit"}, wind=[f"{3 + at % 3},km/h" for at in range(288)])
DULL = named(sun="", cloud="cloud_cover [%]")
SLASHED = weather(days=9, start="2025-01-01", form="%d/%m/%Y %H:%M")
MIXED = [*pd.date_range("2025-01-10", periods=240, freq="h").strftime("%d/%m/%Y %H:%M")]
MIXED += [*pd.date_range("2025-01-20", periods=48, freq="h").strftime("%m/%d/%Y %H:%M")]
GAP = without(weather(days=30), 200, 260)
SPRING = weather(start="2025-03-25")
AUTUMN = weather(start="2025-10-20")
SUN = [line.split(",")[4] for line in GOOD.splitlines()[4:]]
BOTH_GONE = weather(
    place="",
    head=named(cloud="cloud_cover [%]"),
    sun=[*SUN[:30], *[""] * 9, *SUN[39:]],
    cloud=[*[50] * 60, *[""] * 9, *[50] * 219],
)
TWICE = GOOD + GOOD.splitlines()[20].replace(",8", ",7") + "\n"
EXCHANGED = weather(head=named(damp="dew_point [°C]"), damp=12.0)
WET = weather(head=named(damp="wet bulb [°C]"), damp=12.0)
MAY = weather(days=30, start="2025-05-01")

ROWS = [
    Refused("JSON", '[{"time": "2025-01-10"}]\n', ("log.csv is JSON", "as CSV"), {}, GOOD),
    Refused(
        "another zone above the table",
        "Time zone: Europe/Berlin\n" + GOOD,
        ("“Time zone: Europe/Berlin”", "Europe/London", "take the line out"),
        {},
        GOOD,
    ),
    # --- the file -------------------------------------------------------------------------------------------------
    Refused("no such name", "potsdm", ("“potsdm”", "“potsdam”"), {}, GOOD),
    Refused("an empty file", b"\n\n", ("log.csv is empty", "hourly"), {}, GOOD),
    Refused("a folder", Path(__file__).parent, ("refusals",), {}, GOOD),
    Refused("bytes", b"\0\1\2", ("log.csv is not a text file", "control characters", "as CSV"), {}, GOOD),
    Refused("odd UTF-16", b"\xff\xfe\x00\xd8\x41", ("Row 1 of log.csv", "such as: time"), {}, GOOD),
    Refused("cut gzip", gzip.compress(GOOD.encode())[:-30], ("log.csv", "cut short", "ownload it again"), {}, GOOD),
    Refused(
        "two sheets",
        workbook(A=GOOD, B=GOOD),
        ("“A”, “B”", "--weather-worksheet"),
        {},
        None,
        answers(worksheet="A"),
    ),
    Refused("a web page", "<!doctype html>\n<p>", ("This file", "web page", "download it again"), {}, GOOD),
    Refused("a cut EPW", "LOCATION,a,-,-,-,-,52.0,1.0,0.0,10\n", ("no hours", "download it again"), {}, GOOD),
    Refused("a damaged EPW", "LOCATION,a,-\nx\n", ("log.csv", "EPW", "download it again"), {}, GOOD),
    # --- its head -------------------------------------------------------------------------------------------------
    Refused("remarks alone", "# a remark\n", ("log.csv has no table", "time, air_temp"), {}, GOOD),
    Refused("prose", "Dear keeper\nall is well\n", ("Row 1", "Dear keeper", "such as: time"), {}, GOOD),
    Refused("a head alone", GOOD[: GOOD.index("\n2025") + 1], ("log.csv", "no rows", "a day of hours"), {}, GOOD),
    Refused(
        "no air", weather(head=named(air="inside [°C]")), ("air_temp", "row 4", "inside", "above the header"), {}, GOOD
    ),
    Refused(
        "two airs", weather(head=named(damp="temperature [°C]")), ("air_temp", "“temperature [°C]”", "Rename"), {}, GOOD
    ),
    Refused("a wrong place", GOOD.replace("51.5", "151"), ("comment lines of log.csv", "151"), {}, GOOD),
    Refused(
        "an unknown answer",
        "# stamps: middle\n" + GOOD,
        ("log.csv", "“middle”", "start, end"),
        {},
        "# stamps: start\n" + GOOD,
    ),
    Refused("a unit of nothing", "# unit rain: mm\n" + GOOD, ("log.csv", "“rain”", "air_temp"), {}, GOOD),
    Refused("a unit of no column", "# unit pressure: hPa\n" + GOOD, ("log.csv", "pressure", "Leave"), {}, GOOD),
    # --- its shape ------------------------------------------------------------------------------------------------
    Refused(
        "two stations",
        STATIONS,
        ("Column 1 (“station”) of log.csv", "“Orchard”, “Quay”", "--weather-station", "# station: Orchard"),
        {},
        "# station: Orchard\n" + STATIONS,
    ),
    Refused(
        "an unknown station",
        STATIONS,
        ("log.csv", "“Pier”", "“Orchard”, “Quay”"),
        answers(station="Pier"),
        None,
        answers(station="Quay"),
    ),
    Refused(
        "a station in a table without",
        GOOD,
        ("log.csv", "“Pier”", "Leave the station out"),
        answers(station="Pier"),
        None,
        {},
    ),
    Refused(
        "two units of a quantity",
        MIXED_UNITS,
        (
            "Column 5 (“unit”) of log.csv",
            "“°C” (first in row 5)",
            "“°F” (row 485)",
            "--weather-unit",
            "# unit air_temp",
        ),
        {},
        MIXED_UNITS.replace("41.0,°F", "5.0,°C"),
    ),
    Refused(
        "a unit beside that isn't the header's",
        BESIDE,
        ("Column 5 (“unit”) of log.csv", "km/h", "m/s", "--weather-unit"),
        {},
        None,
        answers(units={"wind_speed": "m/s"}),
    ),
    Refused(
        "a row for each value in codes",
        LONG.replace("air_temp", "TT"),
        ("log.csv has a row for each value", "column 3 (“quantity”)", "“TT”, “rel_humidity”", "Call it air_temp"),
        {},
        LONG,
    ),
    Refused(
        "two columns of values",
        LONG.replace("station,time,quantity,value,unit", "value 1,time,quantity,value,unit"),
        ("log.csv has a row for each value", "column 3 (“quantity”)", "“value 1”, “value”"),
        {},
        LONG,
    ),
    # --- its cells ------------------------------------------------------------------------------------------------
    Refused(
        "too many fields",
        with_line(GOOD, 9, "2025-01-10 04:00,1,5,80,3,0"),
        ("Row 9", "more fields", "decimal comma"),
        {},
        GOOD,
    ),
    Refused(
        "a quotation mark", with_line(GOOD, 9, '2025-01-10 04:00,"1,80,3,0'), ("log.csv", "quotation mark"), {}, GOOD
    ),
    Refused(
        "a decimal comma",
        with_line(GOOD, 9, '2025-01-10 04:00,"1,5",80,3,0'),
        ("Row 9", "“1,5”", "semicolons"),
        {},
        weather(sep=";").replace("01-10 04:00;5.9", "01-10 04:00;5,9"),
    ),
    Refused(
        "a word",
        with_line(GOOD, 9, "2025-01-10 04:00,warm,80,3,0"),
        ("Row 9", "“warm”", "empty"),
        {},
        with_line(GOOD, 9, "2025-01-10 04:00,,80,3,0"),
    ),
    Refused(
        "no unit",
        weather(head=named(wind="wind_speed"), wind=300.0),
        ("“wind_speed”", "300", "[km/h]", "--weather-unit"),
        {},
        weather(head=named(wind="wind_speed [cm/s]"), wind=300.0),
    ),
    Refused(
        "a unit that is none",
        weather(head=named(wind="wind_speed [horses]")),
        ("“wind_speed [horses]”", "horses"),
        {},
        None,
        answers(units={"wind_speed": "m/s"}),
    ),
    # --- its times ------------------------------------------------------------------------------------------------
    Refused("no time", with_line(GOOD, 9, "noon,1,80,3,0"), ("Row 9", "“noon”", "2025-12-31 14:00"), {}, GOOD),
    Refused(
        "30 February", with_line(GOOD, 9, "2025-02-30 04:00,1,80,3,0"), ("Row 9", "2025-02-30", "correct"), {}, GOOD
    ),
    Refused(
        "one with an offset", with_line(GOOD, 9, "2025-01-10 04:00Z,1,80,3,0"), ("Row 9", "04:00Z", "or none"), {}, GOOD
    ),
    Refused("both orders", weather(time=np.array(MIXED)), ("13/01/2025", "01/20/2025", "2025-12-31"), {}, GOOD),
    Refused(
        "both orders of years of two digits",
        weather(time=np.array([one.replace("2025", "25") for one in MIXED])),
        ("13/01/25", "01/20/25", "2025-12-31"),
        {},
        GOOD,
    ),
    Refused("day or month", SLASHED, ("Row 5", "“01/01/2025", "--weather-dates"), {}, None, answers(dates="day first")),
    Refused(
        "day or month, in another form",
        weather(days=9, start="2025-01-01", form="%d-%m-%Y %H:%M"),
        ("Row 5", "“01-01-2025", "--weather-dates"),
        {},
        None,
        answers(dates="day first"),
    ),
    Refused(
        "an hour that isn't", SPRING, ("Row", "2025-03-30 01:00", "--weather-clock"), {}, None, answers(clock="utc")
    ),
    Refused("an hour once", AUTUMN, ("Row", "2025-10-26", "--weather-clock utc"), {}, None, answers(clock="utc")),
    Refused(
        "a mistyped year",
        GOOD.replace("2025-01-10 08", "2225-01-10 08"),
        ("Row 13", "“2225-01-10 08:00”", "correct it"),
        {},
        GOOD,
    ),
    Refused("one row", GOOD[: GOOD.index("01:00,") - 11], ("one time", "day of hours"), {}, GOOD),
    Refused("days", weather(step="D", days=2), ("24 hours apart", "hourly"), {}, GOOD),
    Refused("two rows of a time", TWICE, ("Rows 21 and 293", "remove the wrong one"), {}, GOOD),
    Refused("half a day", weather(days=1).rsplit("\n", 12)[0] + "\n", ("log.csv", "13 hours", "a day"), {}, GOOD),
    # --- its numbers ----------------------------------------------------------------------------------------------
    Refused("no air temperature", weather(air=""), ("air_temp", "No row"), {}, GOOD),
    Refused(
        "damp of 1",
        weather(damp=0.8),
        ("rel_humidity", "%", "rel_humidity=fraction"),
        {},
        None,
        answers(units={"rel_humidity": "fraction"}),
    ),
    Refused(
        "another clock",
        MAY,
        ("The sun in log.csv", "1.0 hours too early", "--weather-clock utc"),
        {},
        None,
        answers(clock="utc"),
    ),
    Refused("too much wind", weather(wind=300.0), ("wind_speed", "300", "--weather-unit"), {}, GOOD),
    Refused("a gap", GAP, ("row 200 to 260", "--weather-gaps"), {}, None, answers(gaps="typical year")),
    Refused(
        "a gap in the south",
        GAP.replace("51.5", "-51.5"),
        ("south of the equator", "cut the record"),
        answers(gaps="typical year", clock="local", units={"solar": "W/m²"}),
        GOOD,
        {},
    ),
    Refused(
        "a dew point too high",
        EXCHANGED,
        ("dew point of log.csv", "288 hours", "swapped"),
        {},
        weather(head=named(damp="dew_point [°C]"), damp=1.0),
    ),
    Refused(
        "a wet bulb too high",
        WET,
        ("wet bulb of log.csv", "288 hours", "swapped"),
        {},
        weather(head=named(damp="wet bulb [°C]"), damp=1.0),
    ),
    Refused("neither sun nor cloud", weather(head=named(sun="")), ("log.csv", "solar [W/m²] or cloud_cover"), {}, GOOD),
    Refused(
        "cloud and no place",
        weather(place="", head=DULL),
        ("log.csv has no solar", "latitude and longitude"),
        {},
        weather(head=DULL),
    ),
    Refused(
        "sun, no place",
        weather(place=""),
        ("log.csv", "latitude and longitude"),
        {},
        None,
        {"latitude": 51.5, "longitude": -0.1},
    ),
    Refused(
        "gaps of both, no place",
        BOTH_GONE,
        ("log.csv", "latitude and longitude"),
        {},
        None,
        {"latitude": 51.5, "longitude": -0.1},
    ),
    Refused("polar night", weather(days=4, start="2025-12-20").replace("51.5", "80.0"), ("log.csv", "cloud"), {}, GOOD),
    Refused("year 1", GOOD, ("1800", "1900"), {"year": 1800}, None, {"year": 2025}),
]

"""Meter logs that are refused, one row or more for each refusal of the reader."""

import gzip
import io
from pathlib import Path

import numpy as np
import pandas as pd
from refused import COUNTER, USE, WATER, Refused, table

HOURLY = table("time,use [kWh]", USE)
WATTS = [1000 * one for one in USE]
LOGGED = table("time,reading [kWh]", COUNTER)


def workbook(**sheets: str) -> bytes:
    """A workbook with these texts as its sheets."""
    made = io.BytesIO()
    with pd.ExcelWriter(made, engine="openpyxl") as writer:
        for name, text in sheets.items():
            rows = pd.Series(text.splitlines(), dtype=object).str.split(",", expand=True)
            rows.to_excel(writer, sheet_name=name, header=False, index=False)
    return made.getvalue()


def archive(**parts: str) -> bytes:
    """A zip archive of texts, named with “_” for “/”."""
    import zipfile

    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        for name, text in parts.items():
            packed.writestr(name.replace("_", "/").replace("/xml", ".xml"), text)
    return made.getvalue()


def days(form: str, head="date,use [kWh]", start="2025-01-01", count=12) -> str:
    return table(head, USE, count=count, start=start, freq="D", form=form)


def matrix(start="2025-01-13", extra="", form="%Y-%m-%d", count=5) -> str:
    """A row for each day, with 25 numbered columns of hours, of which the last is `extra`."""
    head = "date," + ",".join(f"H{at}" for at in range(1, 26))
    dates = pd.date_range(start, periods=count).strftime(form)
    rows = [f"{day}," + ",".join(map(str, USE[:24])) + f",{extra}" for day in dates]
    return "\n".join(["all in kWh", head, *rows]) + "\n"


def periods(last=48) -> str:
    """Settlement periods of one day and of the next, the last of which is `last`."""
    rows = [f"2025-01-{day},{number},{USE[number]}" for day in (13, 14) for number in range(1, 49)]
    return "date,settlement period,kWh\n" + "\n".join([*rows[:-1], f"2025-01-14,{last},0.5"]) + "\n"


def falling(count=3000, falls=120) -> str:
    """A counter that falls often, but seldom enough to be one."""
    values = np.array(COUNTER[:count])
    for at in np.linspace(20, count - 20, falls).astype(int):
        values[at:] -= 3.0
    return table("time,reading [kWh]", np.round(values, 1), count=count)


RESET = table("time,reading [kWh]", [*COUNTER[:25], *(one - 10_022 for one in COUNTER[25:])])
BOTH = table("time,pond [kWh],house [kWh]", USE, USE[5:])
TWO_WATERS = table("time,use [kWh],temp inlet °C,temp outlet °C", USE, WATER, WATER)
DEVICES = "time,device,use [kWh]\n" + "\n".join(
    f"2025-01-{10 + at // 24} {at % 24:02d}:00,{name},{USE[at + shift]}"
    for at in range(72)
    for shift, name in enumerate(("pond", "house"))
)
THOUSANDS = table("time;use [kWh]", ["1,500", "2,400", "1,900"] * 16, sep=";")
DOUBLE = "time,use [kWh]\n" + "\n".join(f"2025-01-10 {at // 2:02d}:00,{USE[at]}" for at in range(48))
SPRING = table("time,use [kWh]", USE, start="2025-03-29", freq="30min", count=96)
AUTUMN = table("time,use [kWh]", USE, start="2025-10-25", freq="30min", count=96)
SPANS = table("start,end,use [kWh]", pd.date_range("2025-01-10 01:00", periods=48, freq="h"), USE)
TURNED = table("start,end,use [kWh]", pd.date_range("2025-01-09 23:00", periods=48, freq="h"), USE)
NOONS = "date,time,reading [kWh]\n" + "\n".join(f"2025-01-{10 + at},12:00,{COUNTER[at]}" for at in range(20))
FAHRENHEIT = [round(32 + 1.8 * value, 1) for value in WATER]

ROWS = [
    Refused(
        "gas, beside energy and a probe",
        table("time,energy [Wh],tank", WATTS, WATER),
        ('kind="gas"', "column 2 (“energy [Wh]”) is in Wh, column 3 (“tank”) has no unit", "Leave kind out", "column="),
        {"kind": "gas", "calorific_value": 39.0},
        None,
        {"column": "energy [Wh]"},
    ),
    Refused(
        "gas, beside energy and a temperature",
        table("time,energy [Wh],tank (C)", WATTS, WATER),
        ('kind="gas"', "column 2 (“energy [Wh]”) is in Wh. Leave kind out"),
        {"kind": "gas", "calorific_value": 39.0},
        None,
        {},
    ),
    Refused(
        "prices",
        table("time,price [p/kWh]", USE),
        ("holds prices", "“price [p/kWh]”", "A tariff names it", 'column="price [p/kWh]"'),
        {},
        table("time,use [kWh]", USE),
    ),
    # --- what the file is packed in -------------------------------------------------------------------------------
    Refused(
        "cut gzip", gzip.compress(HOURLY.encode())[:-30], ("the file", "cut short", "ownload it again"), {}, HOURLY
    ),
    Refused("a PDF", b"%PDF-1.4 x", ("the file", "PDF", "as CSV"), {}, HOURLY),
    Refused("an old workbook", b"\xd0\xcf\x11\xe0 x", ("the file", ".xls)", "as CSV"), {}, HOURLY),
    Refused(
        "a sheet of a text",
        HOURLY,
        ('worksheet="2"', "not a workbook", "Leave that option out"),
        {"worksheet": "2"},
        None,
        {},
    ),
    Refused("a cut workbook", workbook(A=HOURLY)[:-40], ("the file", "cut short", "CSV"), {}, workbook(A=HOURLY)),
    Refused("an archive", archive(a_xml="x"), ("the file", "Unpack it", "CSV"), {}, HOURLY),
    Refused("no true workbook", archive(xl_workbook_xml="x"), ("the file", "cannot be read", "CSV"), {}, HOURLY),
    Refused("an empty workbook", workbook(A=""), ("Every sheet of the file is empty", "CSV"), {}, workbook(A=HOURLY)),
    Refused("two sheets", workbook(A=HOURLY, B=HOURLY), ("“A”, “B”", 'worksheet="…"'), {}, None, {"worksheet": "B"}),
    Refused(
        "another sheet",
        workbook(A=HOURLY, B=""),
        ("“C”", "one of “A”", 'worksheet="…"'),
        {"worksheet": "C"},
        None,
        {"worksheet": "A"},
    ),
    # --- the text -------------------------------------------------------------------------------------------------
    Refused("no file at all", 12, ("a path or as its bytes",), {}, HOURLY),
    Refused("a file that isn't there", Path("no_such.csv"), ("no_such.csv: no such file",), {}, HOURLY),
    Refused("a name too long", Path("n" * 300 + ".csv"), ("nnn", "could not be read"), {}, HOURLY),
    Refused("a folder", Path(__file__).parent, ("refusals",), {}, HOURLY),
    Refused("control characters", bytes(range(32)) * 9, ("the file", "control characters", "as CSV"), {}, HOURLY),
    Refused("nothing", b" \n \n", ("the file is empty", "times and readings"), {}, HOURLY),
    Refused("a mark alone", b"\xff\xfe", ("the file is empty", "times and readings"), {}, HOURLY),
    Refused("remarks alone", "# a remark\n", ("the file is empty", "times and readings"), {}, HOURLY),
    Refused("prose", "Dear keeper,\nall is well.\n", ("Row 1", "Dear keeper", "2025-10-01 18:30;10432.5"), {}, HOURLY),
    Refused(
        "decimal commas between commas",
        table("time,use [kWh]", [f"0,{at},7" if at % 5 > 2 else f"0,{at}" if at % 5 else "1" for at in range(50)]),
        ("row 2", "fields", "semicolons"),
        {},
        table("time;use [kWh]", [f"0,{at}" if at % 3 else "1" for at in range(48)], sep=";"),
    ),
    # --- its shape ------------------------------------------------------------------------------------------------
    Refused("several devices", DEVICES, ("Column 2", "“house”, “pond”", 'device="…"'), {}, None, {"device": "pond"}),
    Refused("another device", DEVICES, ("“shed”", "“house”, “pond”"), {"device": "shed"}, None, {"device": "pond"}),
    Refused("a day of 25 hours", matrix(extra="0.4"), ("Row 3", "more values", "timezone"), {}, matrix()),
    Refused("period 49", periods(49), ("Row 97", "no period 49", "correct the row"), {}, periods()),
    Refused(
        "days or months of a matrix",
        matrix(start="2025-01-01", form="%d/%m/%Y"),
        ("Row 3", "“01/01/2025”", 'dates="day first"'),
        {},
        None,
        {"dates": "day first"},
    ),
    Refused(
        "all estimated",
        table("time,use [kWh],type", USE, ["E"] * 48),
        ("48 of 48", "“E” in column 3 (“type”)", "row 2", 'estimates="use"'),
        {},
        None,
        {"estimates": "use"},
    ),
    Refused(
        "a mark that isn't there",
        table("time,use [kWh],type", USE, ["E", "A"] * 24),
        ('estimates="8"', "column 3 (“type”) has “A”, “E”", 'estimates="use"'),
        {"estimates": "8"},
        None,
        {"estimates": "use"},
    ),
    Refused(
        "several units",
        table("time,use,unit", USE, ["kWh", "kWh", "m³"] * 16),
        ("Column 3 (“unit”)", "“kWh”, “m³”", "rows 2, 4", 'device="kWh"'),
        {},
        None,
        {"device": "kWh"},
    ),
    Refused(
        "another unit than the header's",
        table("time,use [kWh],unit", USE, ["Wh"] * 48),
        ("Column 3 (“unit”)", "Wh", "column 2 (“use [kWh]”)", 'unit="kWh"'),
        {},
        None,
        {"unit": "kWh"},
    ),
    Refused(
        "a grid of nothing in particular",
        "".join(f"0{day}/01/2025," + ",".join(map(str, USE[48 * day : 48 * day + 48])) + "\n" for day in range(1, 6)),
        ("day of 48 values", "row 1", "“01/01/2025”", 'unit="kWh"', 'dates="day first"'),
        {},
        None,
        {"unit": "kWh", "dates": "day first"},
    ),
    Refused(
        "a grid of a counter",
        "date,"
        + ",".join(map(str, range(24)))
        + "\n"
        + "".join(
            f"2025-01-0{day}," + ",".join(map(str, COUNTER[24 * day : 24 * day + 24])) + "\n" for day in range(1, 6)
        ),
        ("row 2", "only rise", 'unit="kWh"', 'kind="counter"'),
        {},
        None,
        {"unit": "kWh", "kind": "counter"},
    ),
    Refused("JSON", '[{"time": "2025-01-10", "kWh": 1}]', ("the file is JSON", "[{", "as CSV"), {}, HOURLY),
    Refused("a web page", "<!DOCTYPE html><p>Sign in</p>", ("is a web page", "<!doctype", "as CSV"), {}, HOURLY),
    # --- its times ------------------------------------------------------------------------------------------------
    Refused(
        "times in words",
        NOONS.replace("12:00", "at noon"),
        ("Column 2 (“time”)", "“at noon”", "Write times as 18:30"),
        {},
        NOONS,
    ),
    Refused(
        "few times",
        NOONS.replace(",12:00,", ",,").replace("2025-01-12,,", "2025-01-12,12:00,"),
        ("Column 2 (“time”)", "only 1 of 20 rows", "Fill in the others"),
        {},
        NOONS,
    ),
    Refused(
        "dates with two marks",
        table("time,use [kWh]", USE, form="%Y-%m/%d %H:%M"),
        ("“2025-01/10 00:00", "Write them as 2025-10-01 18:30"),
        {},
        HOURLY,
    ),
    Refused("a word for dates", HOURLY, ("“Sunday”", 'dates="day first"'), {"dates": "Sunday"}, None, {}),
    Refused("not the day first", HOURLY, ("2025-01-10", "Leave"), {"dates": "day first"}, None, {}),
    Refused("not the year first", days("%d.%m.%Y"), ("01.01.2025", "Give"), {"dates": "year first"}, None, {}),
    Refused(
        "both orders",
        days("%d/%m/%Y", count=20) + days("%m/%d/%Y", start="2025-02-01", count=20).partition("\n")[2],
        ("13/01/2025", "02/13/2025", "2025-12-31"),
        {},
        days("%Y-%m-%d"),
    ),
    Refused(
        "day or month",
        days("%d/%m/%Y"),
        ("Row 2", "“01/01/2025”", 'dates="day first"'),
        {},
        None,
        {"dates": "day first"},
    ),
    Refused(
        "times that are none",
        table("time,use [kWh]", USE, form="%Y-%m-%d %H:%M").replace(" 1", " 7"),
        ("Row 12", "“2025-01-10 70:00”", "2025-10-01 18:30"),
        {},
        HOURLY,
    ),
    Refused(
        "a zone that the clocks are not in",
        table("time (EST),use [kWh]", USE),
        ("EST", "the header says", "row 2, on 2025-01-10", 'clock="standard"'),
        {},
        None,
        {"clock": "standard"},
    ),
    Refused(
        "another place's time",
        "Timezone: Europe/Berlin\n" + HOURLY,
        ("Europe/Berlin", "“Timezone: Europe/Berlin”", "Give timezone", 'clock="local"'),
        {},
        None,
        {"clock": "local"},
    ),
    Refused("an hour that isn't", SPRING, ("Row 53", "01:30", 'clock="standard"'), {}, None, {"clock": "standard"}),
    Refused("an hour once", AUTUMN, ("Row 52", "01:00", 'clock="utc"'), {}, None, {"clock": "utc"}),
    Refused("ends before starts", TURNED, ("Rows 2 to 49", "swapped"), {}, SPANS),
    Refused(
        "one row", table("time,use [kWh]", USE, count=1), ("A single row", "second row"), {"kind": "interval"}, HOURLY
    ),
    # --- its columns ----------------------------------------------------------------------------------------------
    Refused(
        "a mistyped year",
        HOURLY.replace("2025-01-10 08", "7025-01-10 08"),
        ("Row 10: 7025-01-10", "5000 years", "2025-01-", "Correct its year"),
        {},
        HOURLY,
    ),
    Refused("no numbers", table("time,use [kWh]", ["n/a"] * 48), ("“use [kWh]”", "numbers"), {}, HOURLY),
    Refused("another column", HOURLY, ("“cost”", "2 use [kWh]"), {"column": "cost"}, None, {"column": "use [kWh]"}),
    Refused(
        "the same column twice",
        BOTH,
        ("“2+2”", "each column once"),
        {"column": "2+2", "kind": "interval"},
        None,
        {"column": "2+3", "kind": "interval"},
    ),
    Refused("two meters", BOTH, ("“pond [kWh]”", "“house [kWh]”", 'column="…"'), {}, None, {"column": 2}),
    Refused(
        "kWh and Wh",
        table("time,day [kWh],night [Wh]", USE, USE),
        ("Column 3", "Wh", "column 2", "kWh", 'column="…"'),
        {"column": "2+3", "kind": "interval"},
        None,
        {"column": "2", "kind": "interval"},
    ),
    Refused("water alone", table("time,water °C", WATER), ("“water °C”", "“reading [kWh]”"), {}, LOGGED),
    Refused("two waters", TWO_WATERS, ("“temp inlet °C”", 'temp_column="…"'), {}, None, {"temp_column": 3}),
    Refused("gas from kWh", HOURLY, ('kind="gas"', "“use [kWh]”", "kWh"), {"kind": "gas"}, None, {}),
    Refused(
        "power of a kWh column",
        HOURLY,
        ('kind="power"', "“use [kWh]”", "kWh"),
        {"kind": "power", "column": 2},
        None,
        {"column": 2},
    ),
    Refused("1,500", THOUSANDS, ("1,500", "“use [kWh]”", 'decimal="comma"'), {}, None, {"decimal": "comma"}),
    Refused("another unit", HOURLY, ("“horses”", "kWh, Wh"), {"unit": "horses"}, None, {"unit": "kWh"}),
    Refused("no unit", table("time,use", USE), ("“use”", 'unit="kWh"'), {}, None, {"unit": "kWh"}),
    Refused(
        "words among numbers",
        table("time,use [kWh]", [f"{USE[at]} x{at}" if at % 5 < 2 else USE[at] for at in range(48)]),
        ("Row 2", "“use [kWh]”", "x0”", "Correct them"),
        {},
        HOURLY,
    ),
    # --- what its numbers mean ------------------------------------------------------------------------------------
    Refused("a falling counter", table("time,reading [kWh]", USE), ("row", "interval"), {}, None, {"kind": "interval"}),
    Refused(
        "few numbers", table("time,[kWh]", USE, count=4), ("column 2", 'kind="counter"'), {}, None, {"kind": "interval"}
    ),
    Refused(
        "a rising use",
        table("time,use [kWh]", COUNTER),
        ("“use [kWh]”", 'kind="counter"'),
        {},
        None,
        {"kind": "counter"},
    ),
    Refused(
        "flashes",
        table("time,flashes", USE),
        ("flashes_per_kwh=1000",),
        {"kind": "flashes"},
        None,
        {"kind": "flashes", "flashes_per_kwh": 1000},
    ),
    Refused("gas", table("time,gas use [m³]", USE), ("calorific_value=39",), {}, None, {"calorific_value": 39}),
    Refused("amps", table("time,current [A]", USE), ("voltage=230",), {}, None, {"voltage": 230}),
    Refused(
        "kWh for Wh",
        table("time,use [kWh]", [1000 * one for one in USE]),
        ("Column 2", "kWh", 'unit="Wh"'),
        {},
        None,
        {"unit": "Wh"},
    ),
    Refused(
        "water of 60",
        table("time,use [kWh],water °C", USE, FAHRENHEIT),
        ("Column 3", "°C", "[°F]"),
        {},
        table("time,use [kWh],water [°F]", USE, FAHRENHEIT),
    ),
    Refused(
        "water of 40",
        table("time,use [kWh],water temp", USE, [40.0] * 48),
        ("column 3", "40", "unit into its header"),
        {},
        table("time,use [kWh],water temp [°F]", USE, [40.0] * 48),
    ),
    Refused("many falls", falling(), ("falls 120 times", "row 22", "kind"), {"kind": "counter"}, falling(falls=0)),
    Refused("three digits", RESET, ("Row 26", "10021.6", "digits=5"), {"digits": 3}, None, {"digits": 5}),
    Refused("a counter too fast", LOGGED, ("row", "100 W", "rating"), {"rating": 100.0}, None, {"rating": 3000.0}),
    Refused("a use too large", HOURLY, ("row 2", "100 W", "rating"), {"rating": 100.0}, None, {"rating": 3000.0}),
    Refused(
        "a clamp turned", table("time,use [kWh]", [-1.0, 1.2, -0.7] * 16), ("row 2", "below zero", "column"), {}, HOURLY
    ),
    Refused("two meters' rows", DOUBLE, ("Rows 2 and 3", "two meters", "Keep the rows of one"), {}, HOURLY),
    Refused(
        "one reading",
        table("time,reading [kWh]", [5.0, "n/a", "n/a"], count=3),
        ("two readings", "only one"),
        {"kind": "counter"},
        LOGGED,
    ),
    Refused(
        "a new counter between two readings",
        table("time,reading [kWh]", [500.0, 3.0], count=2),
        ("Rows 2 to 3", "500", "3", "later one"),
        {"kind": "counter"},
        LOGGED,
    ),
    Refused(
        "a matrix of days that aren't",
        matrix().replace("2025-01-1", "2025-02-3"),
        ("Row 3", "“2025-02-33”", "2025-01-31"),
        {},
        matrix(),
    ),
]

TWO = table("time,temp inlet,temp outlet", WATER, WATER)
THERMOMETER_ROWS = [
    Refused(
        "two numbers",
        table("time,inlet,outlet", WATER, WATER),
        ("“inlet”", 'temp_column="…"'),
        {},
        None,
        {"temp_column": 2},
    ),
    Refused("two temperatures", TWO, ("“temp inlet”", 'temp_column="…"'), {}, None, {"temp_column": "temp outlet"}),
    Refused(
        "the air's", table("time,air temp", WATER), ("“air temp”", 'temp_column="…"'), {}, None, {"temp_column": 2}
    ),
    Refused("words", table("time,water", ["n/a"] * 48), ("“water”", "numbers"), {}, TWO, {"temp_column": 2}),
    Refused(
        "a scale", table("time,water", WATER), ("“Réaumur”", "°C, °F, K"), {"unit": "Réaumur"}, None, {"unit": "°C"}
    ),
    Refused(
        "°F said to be °C",
        table("time,water", FAHRENHEIT),
        ("column 2", "°C", 'unit="°F"'),
        {"unit": "°C"},
        None,
        {"unit": "°F"},
    ),
]

"""Logs as suppliers' portals, gateways and notebooks give them: each is read as its generator's truth, and says how."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import pytest

from pondheat.meter.reading import headers, meter_file, thermometer_file

ZONE = "Europe/London"
HOURS = pd.date_range("2025-01-10", periods=96, freq="h", tz=ZONE)
_draw = np.random.default_rng(12)
KWH = pd.Series(np.round(np.where(_draw.random(96) < 0.3, 0.0, _draw.uniform(0.2, 2.9, 96)), 3), HOURS)
COUNTER = np.round(10_432.5 + np.append(0, np.cumsum(KWH)), 3)  # one more, at the end
ENDS = HOURS.append(HOURS[-1:] + pd.Timedelta("1h"))
STAMPS, ALL_STAMPS = HOURS.strftime("%Y-%m-%d %H:%M"), ENDS.strftime("%Y-%m-%d %H:%M")
GUESSED = np.isin(np.arange(96), [*range(10, 16), 40])  # rows that a supplier estimates


@dataclass(frozen=True, eq=False)
class Log:
    """what: in a few words; content: of the file; truth: energy [kWh] by start; says: parts of the report; given:
    options."""

    what: str
    content: str | bytes
    truth: pd.Series
    says: tuple[str, ...] = ()
    given: dict[str, Any] = field(default_factory=dict)


def lines(head: str, *columns, sep=",") -> str:
    return "\n".join([head, *(sep.join(map(str, row)) for row in zip(*columns))]) + "\n"


def marks(estimated: str, actual: str, which=GUESSED) -> list[str]:
    return [estimated if one else actual for one in which]


def between(readings, at: pd.DatetimeIndex) -> pd.Series:
    """Energy between the readings of a counter."""
    return pd.Series(np.diff(readings), at[:-1])


def wrong(values, which=GUESSED, by=7.7) -> np.ndarray:
    """The values with nonsense where they are estimated."""
    return np.where(which, np.asarray(values) + by, values)


AT_ENDS = np.append(GUESSED, False)  # of the counter's readings
LEFT = KWH[~GUESSED]
SPANNED = between(COUNTER[~AT_ENDS], ENDS[~AT_ENDS])
ESTIMATED = [
    Log(f"{head}: {bad}", lines(f"time,use [kWh],{head}", STAMPS, wrong(KWH), marks(bad, good)), LEFT, (said,))
    for head, bad, good, said in (
        ("read type", "E", "A", "7 readings are marked as estimated (“E” in column 3 (“read type”))"),
        ("", "E", "A", "(“E” in column 3)"),
        ("Quality", "E52", "A", "(“E52” in column 3"),
        ("status", "geschätzt", "abgelesen", "rows 12 to 17, 42"),
        ("Nature", "estimée", "réelle", 'Give estimates="use"'),
        ("soort", "Geschat", "Gemeten", "“Geschat”"),
        ("Estimated?", "Yes", "No", "“Yes”"),
        ("is_estimate", "1", "0", "“1”"),
        ("actual", "false", "true", "“false”"),
        ("remarks", "my estimate; I was away", "", "“my estimate; I was a” in column 3"),
        ("flag", "invalid", "ok", "“invalid”"),
    )
] + [
    Log(
        f"a counter with {bad}",
        lines(f"time,reading [kWh],{head}", ALL_STAMPS, wrong(COUNTER, AT_ENDS), marks(bad, good, AT_ENDS)),
        SPANNED,
        ("7 readings are marked as estimated", "kept as one interval"),
    )
    for head, bad, good in (("type", "E", "A"), ("Ablesart", "Schätzung", "Ablesung"), ("", "estimated", "actual"))
] + [
    Log(
        "an estimate, later the reading itself",
        lines("time,reading [kWh],type", [*ALL_STAMPS[:50], ALL_STAMPS[49], *ALL_STAMPS[50:]],
              [*COUNTER[:49], 10_999, *COUNTER[49:]], [*"A" * 49, "E", *"A" * 48]),
        between(COUNTER, ENDS),
        ("1 time appears twice, once without a value",),
    ),
    Log(
        "estimates used",
        lines("time,use [kWh],type", STAMPS, KWH, marks("E", "A")), KWH, ("like all others, as given",),
        {"estimates": "use"},
    ),
    Log(
        "marks of one's own",
        lines("time,use [kWh],status", STAMPS, wrong(KWH), marks("8", "0")), LEFT, ("“8” in column 3",),
        {"estimates": "8"},
    ),
    Log("strange marks", lines("time,use [kWh],quality", STAMPS, KWH, marks("8", "0")), KWH,
        ("“0”, “8”, of which none is known", 'estimates="8"')),
    Log("remarks about something else", lines("time,use [kWh],remarks", STAMPS, KWH, marks("no estimate", "")), KWH),
    Log("kinds of something else", lines("time,use [kWh],type", STAMPS, KWH, marks("E", "G")), KWH,
        ("Not used: type",)),
]  # fmt: skip
ESTIMATED += [
    Log(
        f"a mark in the cell: {bad}",
        lines(head, ALL_STAMPS, [f"{one} {mark}".strip() for one, mark in zip(wrong(COUNTER, AT_ENDS),
                                                                             marks(bad, good, AT_ENDS))]),
        SPANNED, ("7 readings are marked as estimated",), {"unit": "kWh"},
    )
    for head, bad, good in (("time,reading [kWh]", "E", "A"), ("time,reading", "(est.)", ""))
]  # fmt: skip
UNITS = [
    Log("a unit beside", lines("time,use,unit", STAMPS, KWH, ["kWh"] * 96), KWH, ("Column 3 (“unit”) gives the unit",)),
    Log("Wh beside", lines("time;Verbrauch;Einheit", STAMPS, KWH * 1000, ["Wh"] * 96, sep=";"), KWH,
        ("Column 3 (“Einheit”) gives the unit, Wh",), {"kind": "interval"}),
    Log("a unit before", lines("time,uom,usage", STAMPS, ["kWh"] * 96, KWH), KWH, ("Column 2 (“uom”)",)),
    Log("a unit after the cost", lines("time,usage,cost,unit", STAMPS, KWH, KWH / 4, ["kWh"] * 96), KWH,
        ("Not used: cost",)),
    Log("a unit without a name", lines("time,use,", STAMPS, KWH, ["kWh"] * 96), KWH, ("Column 3 gives the unit",)),
    Log("the same as the head", lines("time,use [kWh],unit", STAMPS, KWH, ["kWh"] * 96), KWH),
    Log("another, and the answer", lines("time,use [kWh],unit", STAMPS, KWH * 1000, ["Wh"] * 96), KWH, (),
        {"unit": "Wh"}),
]  # fmt: skip


def grid(head, cells, sep=",", row=lambda values: values) -> str:
    """A row for each day; row: the cells of a day from its values."""
    days = dict.fromkeys(HOURS.strftime("%Y-%m-%d"))
    return "\n".join([*([head] if head else []), *(
        sep.join([day, *map(str, row(cells[24 * at : 24 * at + 24]))]) for at, day in enumerate(days)
    )]) + "\n"  # fmt: skip


NUMBERS = [str(at) for at in range(1, 25)]
GRIDS = [
    Log("without labels", grid("date" + "," * 24, KWH), KWH, ("24 values, 60 minutes each",), {"unit": "kWh"}),
    Log("without a head", grid("", KWH), KWH, (), {"unit": "kWh"}),
    Log("and their sum", grid("", KWH, row=lambda one: [*one, round(one.sum(), 3)]), KWH, ("column 26 is their sum",),
        {"unit": "kWh"}),
    Log("0100 to 2400", grid("Date;" + ";".join(f"{at}00".zfill(4) for at in NUMBERS), KWH, ";"), KWH, (),
        {"unit": "kWh"}),
    Log("units in the labels", grid("Date," + ",".join(f"kWh_{int(at) - 1:02d}00" for at in NUMBERS), KWH), KWH),
    Log(
        "a mark for each cell",
        grid("date [kWh]," + ",".join(f"HH{at},F{at}" for at in NUMBERS), list(zip(wrong(KWH), marks("E", "A"))),
             row=lambda cells: [one for cell in cells for one in cell]),
        LEFT, ("7 readings are marked as estimated",),
    ),
    Log(
        "a mark for the day",
        grid("date [kWh]," + ",".join(NUMBERS) + ",read type", KWH,
             row=lambda one: [*one, "E" if one.index[0].day == 11 else "A"]),
        KWH[HOURS.day != 11], ("24 readings are marked as estimated",),
    ),
]  # fmt: skip


def stamped(head, stamps, sep=",", kwh=KWH) -> str:
    """A table of times in some spelling, with the use; with a decimal comma between semicolons."""
    cells = [str(value).replace(".", ",") if sep == ";" else value for value in kwh]
    return lines(head, stamps, cells, sep=sep)


def form(text: str) -> list[str]:
    return HOURS.strftime(text).tolist()


def comma(values) -> list[str]:
    return [str(value).replace(".", ",") for value in values]


DAYS_SINCE = [(at.tz_localize(None) - pd.Timestamp("1899-12-30")) / pd.Timedelta("1D") for at in HOURS]
WEEKDAYS = ["Mo", "Di", "Mi", "Do", "Fr", "Sa", "So"]
SPELT = [
    ("12 AM", stamped("time,use [kWh]", form("%m/%d/%Y %I %p"))),
    ("12:00 a.m.", stamped("time,use [kWh]", [one.replace("AM", "a.m.").replace("PM", "p.m.")
                                              for one in form("%d/%m/%Y %I:%M %p")])),
    ("a weekday", stamped("Zeit;Verbrauch kWh", [f"{WEEKDAYS[at.weekday()]} {at:%d.%m.%Y %H:%M}"
                                                for at in HOURS], ";")),
    ("a weekday in full", stamped("time;use kWh", form("%A, %d %B %Y %H:%M"), ";")),
    ("as a browser writes it", stamped("time,use kWh", form("%a %b %d %Y %H:%M:%S GMT+0000 (London)"))),
    ("Januar", stamped("Zeit;Verbrauch kWh", form("%d. Januar %Y %H:%M"), ";")),
    ("janv.", stamped("date;conso kWh", form("%d janv. %Y %H:%M"), ";")),
    ("the 10th", stamped("time;use kWh", form("%dth %b %Y %H:%M"), ";")),
    ("10JAN2025:00:00", stamped("time,use kWh", [one.upper() for one in form("%d%b%Y:%H:%M:%S")])),
    ("at 18:30", stamped("time,use kWh", form("%d/%m/%Y at %H:%M"))),
    ("18:30 Uhr", stamped("Zeit;Verbrauch kWh", form("%d.%m.%Y %H:%M Uhr"), ";")),
    ("18h30", stamped("date;conso kWh", form("%d/%m/%Y %Hh%M"), ";")),
    ("18.30", stamped("Datum;use kWh", form("%d.%m.%Y %H.%M"), ";")),
    ("a span", stamped("interval,use kWh", [f"{at:%Y-%m-%dT%H:%M}/{at + pd.Timedelta('1h'):%Y-%m-%dT%H:%M}"
                                            for at in HOURS])),
    ("a time and a duration", stamped("interval,use kWh", form("%Y-%m-%dT%H:%M:%S/PT1H"))),
    ("a spreadsheet's days", stamped("time,use [kWh]", [f"{one:.6f}" for one in DAYS_SINCE])),
    ("with decimal commas", stamped("Zeit;use [kWh]", comma(f"{one:.6f}" for one in DAYS_SINCE), ";")),
    ("a day and a part of it", lines("date,time,use [kWh]", [int(one + 1e-9) for one in DAYS_SINCE],
                                     [f"{(one + 1e-9) % 1:.6f}" for one in DAYS_SINCE], KWH)),
    ("202501101830", stamped("time,use [kWh]", form("%Y%m%d%H%M"))),
    ("20250110T183000", stamped("time,use [kWh]", form("%Y%m%dT%H%M%S"))),
    ("20250110 and 1830", lines("date,time,use [kWh]", form("%Y%m%d"), form("%H%M"), KWH)),
    ("hours from 0", lines("date,hour,use [kWh]", form("%Y-%m-%d"), HOURS.hour, KWH)),
    ("hours from 1", lines("date,hour,use [kWh]", form("%Y-%m-%d"), HOURS.hour + 1, KWH)),
    ("year, month, day, hour", lines("year,month,day,hour,use [kWh]", *(form(one) for one in ("%Y", "%m", "%d", "%H")),
                                     KWH)),
    ("nanoseconds", stamped("time,use kWh", [int(at.timestamp() * 1e9) for at in HOURS])),
    ("cells as formulae", stamped("time,use kWh", [f'="{one}"' for one in STAMPS])),
    ("single quotation marks", "'time','use kWh'\n" + "".join(f"'{at}','{one}'\n" for at, one in zip(STAMPS, KWH))),
    ("a header like a remark", stamped("#time,use kWh", STAMPS)),
    ("numbered rows", lines("#,time,use kWh", range(96), STAMPS, KWH)),
    ("sep=", "sep=;\n" + stamped("Zeit;Verbrauch kWh", form("%d.%m.%Y %H:%M"), ";")),
    ("a preamble", "Logger: pond 3\nPeriod;10.01.2025 - 13.01.2025\n\n" + stamped("Zeit;Verbrauch (kWh)",
                                                                                form("%d.%m.%Y %H:%M"), ";")),
    ("a sum below", stamped("time,use kWh", STAMPS) + "Total,99\n"),
    ("a header for each day", "".join(stamped("time,use kWh", STAMPS[at : at + 24], kwh=KWH[at : at + 24])
                                      for at in range(0, 96, 24))),
]  # fmt: skip
SPELLINGS = [Log(what, text, KWH) for what, text in SPELT]


def in_summer(zone=ZONE, start="2025-06-10") -> pd.Series:
    return pd.Series(KWH.to_numpy(), pd.date_range(start, periods=96, freq="h", tz=zone))


SUMMER, BERLIN = in_summer(), in_summer("Etc/GMT-1").tz_convert("Europe/Berlin")
IN_UTC = SUMMER.index.tz_convert("UTC").strftime("%Y-%m-%d %H:%M")
BY_CLOCK = SUMMER.index.strftime("%Y-%m-%d %H:%M")
NEW_METER = np.where(np.arange(97) < 50, COUNTER, COUNTER - COUNTER[50] + 10_600).round(3)
CLOCKS = [
    Log("UTC above the table", "Time zone: UTC\n" + stamped("time,use [kWh]", IN_UTC), SUMMER,
        ("a line above the table says (“Time zone: UTC”)",)),
    Log("UTC beside the time", lines("time,zone,use [kWh]", IN_UTC, ["UTC"] * 96, KWH), SUMMER,
        ("Column 2 (“zone”) gives the zone",)),
    Log("an offset beside the time", lines("time,offset,use [kWh]", BY_CLOCK, ["+01:00"] * 96, KWH), SUMMER),
    Log("UTC and the local clock", lines("local,utc,use [kWh]", BY_CLOCK, IN_UTC, KWH), SUMMER),
    Log("CET all year", stamped("time (CET),use [kWh]", in_summer("Etc/GMT-1").index.strftime("%Y-%m-%d %H:%M")),
        BERLIN, (), {"clock": "standard", "timezone": "Europe/Berlin"}),
    Log("BST in summer", stamped("time (BST),use [kWh]", BY_CLOCK), SUMMER),
    Log(
        "a meter exchanged for one that shows more",
        lines("serial,time,reading [kWh]", ["A1"] * 50 + ["B2"] * 47, ALL_STAMPS, NEW_METER),
        between(COUNTER, ENDS).drop(ENDS[49]),
        ("Row 52: the readings are of another meter, “B2” after “A1”",),
    ),
]  # fmt: skip
OTHERS = [
    Log("tenths", lines("time,reading [0.1 kWh]", ALL_STAMPS, COUNTER * 10), between(COUNTER, ENDS), ("in 0.1 of",)),
    Log("tens", lines("time,use (x 10 Wh)", STAMPS, KWH * 100), KWH, ("counts in 10 of its unit",)),
    Log("a length is no multiple", lines("time,kW (60 min)", STAMPS, KWH), KWH),
    Log("what is sent back", lines("time,Import (kWh),Export (kWh)", STAMPS, KWH, KWH / 3), KWH, ("Not used: Export",),
        {"kind": "interval"}),
    Log("apparent power", lines("time,Apparent (VA),Active Power (W)", STAMPS, KWH * 1100, KWH * 1000), KWH),
    Log("joules", lines("time,use [J]", STAMPS, KWH * 3.6e6), KWH),
    Log("therms", lines("time,gas use [therms]", STAMPS, KWH / 29.3071), KWH * 29.30711 / 29.3071),
    Log("a register's number", lines("time,1.8.0,2.8.0", ALL_STAMPS, COUNTER, [3.1] * 97), between(COUNTER, ENDS), (),
        {"column": "1.8.0", "unit": "kWh"}),
    Log("a short year first", stamped("time,use [kWh]", form("%y-%m-%d %H:%M")), KWH, ("YY-MM-DD",)),
    Log("a short year last", stamped("time,use [kWh]", form("%d/%m/%y %H:%M")), KWH),
    Log("a program's rounding error", stamped("time,use [kWh]", STAMPS, kwh=KWH.where(KWH != 2.6, 2.6000000000000001)),
        KWH),
    Log("missing codes", stamped("time,use [kWh]", STAMPS, kwh=np.where(HOURS[9] == HOURS, -999, KWH)),
        KWH.drop(HOURS[9]), ("1 value below zero",)),
]  # fmt: skip
REMOTE = np.round(10_000 + 0.5 * (np.arange(97) > 40) + 0.5 * (np.arange(97) > 80), 1)  # a heater mostly off
OTHERS += [
    Log("aligned with spaces", "time              reading kWh\n" + "".join(
        f"{at}  {one:9.3f}\n" for at, one in zip(ALL_STAMPS, COUNTER)
    ), between(COUNTER, ENDS)),
    Log("signed numbers beside", lines("time,delta,use [kWh]", STAMPS, ["+0130", "-0200"] * 48, KWH), KWH),
    Log("a counter called meter", lines("time,meter", ALL_STAMPS, REMOTE), between(REMOTE, ENDS), (),
        {"unit": "kWh", "kind": "counter"}),
    Log("an estimated cost", lines("time,use [kWh],estimated cost (£)", STAMPS, KWH, KWH / 4), KWH),
    Log("a status of something else", lines("time,use [kWh],status", STAMPS, KWH, ["online"] * 90 + ["offline"] * 6),
        KWH),
]  # fmt: skip
LOGS = [*ESTIMATED, *UNITS, *GRIDS, *SPELLINGS, *CLOCKS, *OTHERS]
WATER = np.round(8 + np.sin(np.arange(96) / 15) * 1.5, 2)
THERMOMETERS = [
    ("several probes in rows", lines("time,sensor,value,unit", np.repeat(STAMPS, 2), ["pond", "air"] * 96,
                                     np.ravel(list(zip(WATER, WATER - 3))), ["°C"] * 192), WATER, {"device": "pond"}),
    ("tempf", lines("time,tempf", STAMPS, (WATER * 1.8 + 32).round(3)), WATER, {}),
    ("tenths", lines("time,water [0.1 °C]", STAMPS, (WATER * 10).round(1)), WATER, {}),
    ("millidegrees", lines("time,water [m°C]", STAMPS, (WATER * 1000).round()), WATER, {}),
    ("degrees in cells", lines("time,water", STAMPS, [f"{one}°" for one in WATER]), WATER, {}),
    ("a bad reading", lines("time,water °C,quality", STAMPS, np.where(np.arange(96) == 50, 12.0, WATER),
                            marks("bad", "good", np.arange(96) == 50)), np.delete(WATER, 50), {}),
]  # fmt: skip


@pytest.mark.parametrize("what, content, truth, given", THERMOMETERS)
def test_a_thermometer_is_read_as_it_is_meant(what, content, truth, given):
    found = thermometer_file.read(content.encode(), ZONE, **given)
    assert np.allclose(found.water["water_temp"], truth, atol=0.006), (what, found.interpretation)


@pytest.mark.parametrize(
    "header, words",
    [
        ("waterTempC", "water temp c"),
        ("poolTempF", "pool temp f"),
        ("tempf", "temp f"),
        ("usagekWh", "usage kwh"),
        ("EnergyKWh", "energy kwh"),
        ("activePowerW", "active power w"),
        ("gasm3", "gas m3"),
        ("useful", "useful"),
        ("accessory", "accessory"),
    ],
)
def test_words_of_a_header_written_together(header, words):
    assert " ".join(headers.header_words(header)) == words


def test_a_temperature_is_known_by_its_header_and_no_phase_is_taken_for_one():
    temps = ("Wassertemperatur", "tankTemp", "Temp1 (F)", "probe 1 (F)", "tank [C]", "tank_c", "température eau")
    assert {header: headers.role_from_header(header) for header in temps} == dict.fromkeys(temps, "temp")
    values = ("phase C", "kWh (C)", "Energy kWh [F]", "Power F", "import (c)")
    assert {header: headers.role_from_header(header) for header in values} == dict.fromkeys(values, "value")


@pytest.mark.parametrize("log", LOGS, ids=[one.what for one in LOGS])
def test_a_log_is_read_as_it_is_meant(log):
    content = log.content.encode() if isinstance(log.content, str) else log.content
    found = meter_file.read(content, **({"timezone": ZONE} | log.given))
    assert (found.use.index == log.truth.index).all(), found.text()
    assert np.allclose(found.use["kwh"], log.truth.to_numpy(), atol=1e-6), found.text()
    for part in log.says:
        assert part in found.text(), found.text()

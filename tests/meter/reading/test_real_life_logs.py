"""Logs as suppliers' portals, gateways and notebooks give them: each is read as its generator's truth, and says how."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import pytest

from pondheat.meter.reading import headers, meter_file

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
LOGS = [*ESTIMATED, *UNITS, *GRIDS]


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


@pytest.mark.parametrize("log", LOGS, ids=[one.what for one in LOGS])
def test_a_log_is_read_as_it_is_meant(log):
    content = log.content.encode() if isinstance(log.content, str) else log.content
    found = meter_file.read(content, ZONE, **log.given)
    assert (found.use.index == log.truth.index).all(), found.text()
    assert np.allclose(found.use["kwh"], log.truth.to_numpy(), atol=1e-6), found.text()
    for part in log.says:
        assert part in found.text(), found.text()

"""Fuzz test of the reader: a damaged file is read right, read with a new remark, or refused with a sentence.

A small sample by default, 1500 files with PONDHEAT_LONG=1; tests/bench/test_meter_speed.py runs ten thousand.
"""

import os
import random
import re

import numpy as np
import pandas as pd
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.core.tables import read_log
from pondheat.core.units import Unreadable
from pondheat.meter.reading.meter_file import read

ZONE = "Europe/London"


def base_files():
    """Small clean files of several kinds, with the options that they need."""
    rng = np.random.default_rng(11)
    hours = pd.date_range("2025-10-20", periods=100, freq="h", tz=ZONE)
    kwh = np.round(np.where(rng.random(100) < 0.4, 0.0, rng.uniform(0.4, 2.9, 100)), 3)
    counter = 9_950 + np.append(0, np.cumsum(kwh)[:-1])
    water = 15 + np.sin(np.arange(100) / 9)

    def lines(head, form, cells, sep=","):
        rows = [sep.join([one, *rest]) for one, *rest in zip(hours.strftime(form), *cells)]
        return "\n".join([head, *rows]) + "\n"

    def written(values, places=3, point="."):
        return [f"{value:.{places}f}".replace(".", point) for value in values]

    return [
        (lines("time,use [kWh],water °C", "%Y-%m-%d %H:%M", [written(kwh), written(water, 1)]), {"rating": 3000.0}),
        (lines("Time;Reading kWh", "%d.%m.%Y %H:%M", [written(counter, 3, ",")], ";"), {"rating": 3000.0}),
        (lines("date\ttime\tpower W", "%d/%m/%Y\t%H:%M:%S", [written(kwh * 1000, 1)], "\t"), {}),
        (lines("time,reading kWh", "%m/%d/%Y %I:%M %p", [written(counter)]), {}),
        (lines("time,kWh", "%Y-%m-%dT%H:%M:%S", [written(kwh)]), {}),
        (lines("time,use Wh,temp °F", "%Y-%m-%d %H:%M", [written(kwh * 1000, 0), written(water * 1.8 + 32, 1)]), {}),
    ]


WORDS = [
    "NaN",
    "n/a",
    "-",
    "---",
    "error",
    "",
    "null",
    "inf",
    "-inf",
    "1e999",
    "nan kWh",
    "12abc",
    "🐟",
    "=SUM(A1)",
    "0x1F",
]
NUMBERS = [
    "-1",
    "-0.001",
    "-99999",
    "1e12",
    "99999999",
    "123456789012345678901234567890",
    "5e5",
    "1,5",
    "1.234.567",
    "1_0",
]
SEPARATORS = [",", ";", "\t", "|", " ", "  "]


def separator_of(line: str, default: str = ",") -> str:
    """The separator of a line."""
    return next((one for one in ("\t", ";", ",") if one in line), default)


def change_cell(rng: random.Random, lines: list[str], change) -> None:
    """Apply `change` to the fields of one line."""
    at = rng.randrange(1, len(lines))
    separator = separator_of(lines[at])
    fields = lines[at].split(separator)
    change(fields)
    lines[at] = separator.join(fields)


def exchange_columns(rng, lines, at):
    for place in [at] if rng.random() < 0.5 else range(rng.randrange(2), len(lines)):
        separator = separator_of(lines[place])
        fields = lines[place].split(separator)
        fields[0], fields[-1] = fields[-1], fields[0]
        lines[place] = separator.join(fields)


def truncate_line(rng, lines, at):
    lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]


def change_separator(rng, lines, at):
    old, new = separator_of(lines[at]), rng.choice(SEPARATORS)
    for place in rng.sample(range(len(lines)), rng.choice((1, min(3, len(lines)), len(lines) // 2, len(lines)))):
        lines[place] = lines[place].replace(old, new)


def put_words(rng, lines, at):
    word = rng.choice(WORDS)
    for _ in range(rng.choice((1, 2, 40)) if len(lines) > 2 else 0):
        change_cell(rng, lines, lambda fields: fields.__setitem__(rng.randrange(len(fields)), word))


def put_number(rng, lines, at):
    number = rng.choice(NUMBERS)
    if len(lines) > 2:
        change_cell(rng, lines, lambda fields: fields.__setitem__(-1 if len(fields) < 3 else 1, number))


def insert_control_characters(rng, lines, at):
    place = rng.randrange(len(lines[at]) + 1)
    odd = rng.choice("\0\1\2\7\b\x0b\x0c\x1a\x1b\x7f\r") * rng.choice((1, 3))
    lines[at] = lines[at][:place] + odd + lines[at][place:]


def repeat_line(rng, lines, at):
    lines.insert(at, lines[rng.randrange(len(lines))])


def delete_lines(rng, lines, at):
    del lines[at : at + rng.choice((1, 2, 30, len(lines)))]


def swap_lines(rng, lines, at):
    other = rng.randrange(len(lines))
    lines[at], lines[other] = lines[other], lines[at]


def insert_text(rng, lines, at):
    lines.insert(at, rng.choice(["", "# note", '"', "Total;99", "page 2", '"' * 3, "\ufeff", ",,,,,,"]))


def reorder_lines(rng, lines, at):
    lines[:] = lines[::-1] if rng.random() < 0.5 else rng.sample(lines, len(lines))


def put_quote(rng, lines, at):
    lines[at] = '"' + lines[at] + rng.choice(('"', ""))


def change_digit_of_time(rng, lines, at):
    place = rng.randrange(min(16, len(lines[at])) or 1)
    lines[at] = lines[at][:place] + rng.choice("0123456789-/: ") + lines[at][place + 1 :]


def change_header(rng, lines, at):
    lines[0] = rng.choice(["", "a,b,c", "time", "kWh,time", "x;y", lines[0].upper(), "°C,°C,°C"])


MUTATIONS = (
    exchange_columns,
    truncate_line,
    change_separator,
    put_words,
    put_number,
    insert_control_characters,
    repeat_line,
    delete_lines,
    swap_lines,
    insert_text,
    reorder_lines,
    put_quote,
    change_digit_of_time,
    change_header,
)


def mutate(rng: random.Random, text: str) -> bytes:
    """A file with up to three faults, in some encoding, and sometimes with damaged bytes."""
    lines = text.splitlines()
    for _ in range(rng.choice((0, 1, 1, 1, 2, 3))):
        if lines:
            rng.choice(MUTATIONS)(rng, lines, rng.randrange(len(lines)))
    made = "\n".join(lines) + ("\n" if rng.random() < 0.9 else "")
    codec = rng.choice(("utf-8",) * 6 + ("utf-16", "utf-16-le", "cp1252", "latin-1", "utf-8-sig"))
    data = made.encode(codec, "replace")
    if rng.random() < 0.06:
        data = rng.choice(
            (
                b"",
                rng.randbytes(rng.randrange(400)),
                data[: rng.randrange(len(data) + 1)],
                data.replace(b"\n", b"\r"),
                data + rng.randbytes(30),
            )
        )
    return data


def words(readings) -> set[str]:
    """Remarks without figures: a sentence with another count is not a new one."""
    return {
        re.sub(r"\d[\d.:-]*", "#", sentence)
        for sentence in [one.sentence for one in readings.repairs] + list(readings.interpretation)
    }


def spoil(count: int, seed: int) -> dict[str, int]:
    """Read `count` damaged files and count the outcomes; an unreported difference fails."""
    rng = random.Random(seed)
    bases = [(text, options, read(text.encode(), ZONE, **options)) for text, options in base_files()]
    came = {"as clean": 0, "with a word": 0, "refused": 0}
    for number in range(count):
        text, options, clean = bases[number % len(bases)]
        data = mutate(rng, text)
        try:
            got = read(data, ZONE, **options)
        except (Unreadable, OutOfRange) as refusal:
            assert len(str(refusal)) > 20 and "Traceback" not in str(refusal)
            came["refused"] += 1
            continue
        assert got.use["kwh"].ge(0).all() and got.use.index.is_monotonic_increasing and got.use.index.is_unique
        named = sum(one.kwh for one in got.repairs)
        scale = max(abs(got.totals["kwh"]), abs(got.totals["kwh_in_file"]), 1e-9)
        assert abs(got.totals["kwh"] - got.totals["kwh_in_file"] - named) <= 1e-9 * scale
        # A file without its first or last lines is a shorter record: compare with the same time of the clean one.
        short = clean.use.loc[got.use.index[0] : got.use.index[-1]]
        for same in (clean.use, short):
            if abs(got.totals["kwh"] - same["kwh"].sum()) <= 1e-9 * clean.totals["kwh"]:
                came["as clean"] += 1
                break
        else:
            assert words(got) - words(clean), (seed, number, got.totals, clean.totals, data)
            came["with a word"] += 1
    return came


def test_damaged_files():
    count = 1500 if os.environ.get("PONDHEAT_LONG") else 100
    came = spoil(count, seed=20)
    assert min(came.values()) > count / 15, came  # the generator reaches all three outcomes


def test_unreported_repairs_are_noticed(monkeypatch):
    """A reader that records no repairs fails the fuzz test."""
    monkeypatch.setattr(read_log.ReadLog, "add_repair", lambda self, *given, **more: None)
    with pytest.raises(AssertionError):
        spoil(60, seed=20)

"""Spoilt files: none read wrongly without a word, none with another error than a sentence, none that hangs.

Fifteen hundred mutations here; tests/bench/test_meter_speed.py runs ten thousand with the same generator.
"""

import random
import re

import numpy as np
import pandas as pd
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.core.units import Unreadable
from pondheat.meter.reading.meter_file import read

ZONE = "Europe/London"


def base_files():
    """Small clean files of several kinds with the options they need, and what they come to."""
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


def cell(rng, lines, change):
    """Change a cell of one line."""
    at = rng.randrange(1, len(lines))
    sep = next(one for one in ("\t", ";", ",") if one in lines[at]) if any(one in lines[at] for one in "\t;,") else ","
    fields = lines[at].split(sep)
    change(fields)
    lines[at] = sep.join(fields)


def mutate(rng: random.Random, text: str) -> bytes:
    """One to three faults put into a file, some of them of its bytes."""
    lines = text.splitlines()
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        kind = rng.randrange(17)
        at = rng.randrange(len(lines)) if lines else 0
        if not lines:
            break
        if kind == 0:  # columns exchanged in one line or in all
            for place in [at] if rng.random() < 0.5 else range(rng.randrange(2), len(lines)):
                sep = next((one for one in ("\t", ";", ",") if one in lines[place]), ",")
                fields = lines[place].split(sep)
                fields[0], fields[-1] = fields[-1], fields[0]
                lines[place] = sep.join(fields)
        elif kind == 1:  # lines cut
            lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
        elif kind == 2:  # another separator in some lines
            old = next((one for one in ("\t", ";", ",") if one in lines[at]), ",")
            new = rng.choice(SEPARATORS)
            for place in rng.sample(range(len(lines)), rng.choice((1, 3, len(lines) // 2, len(lines)))):
                lines[place] = lines[place].replace(old, new)
        elif kind == 3 and len(lines) > 2:
            word = rng.choice(WORDS)
            for _ in range(rng.choice((1, 2, 40))):
                cell(rng, lines, lambda fields, word=word: fields.__setitem__(rng.randrange(len(fields)), word))
        elif kind == 4 and len(lines) > 2:
            cell(rng, lines, lambda fields: fields.__setitem__(-1 if len(fields) < 3 else 1, rng.choice(NUMBERS)))
        elif kind == 5:  # control characters
            place = rng.randrange(len(lines[at]) + 1)
            odd = rng.choice("\0\1\2\7\b\x0b\x0c\x1a\x1b\x7f\r") * rng.choice((1, 3))
            lines[at] = lines[at][:place] + odd + lines[at][place:]
        elif kind == 6:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif kind == 7:
            del lines[at : at + rng.choice((1, 2, 30, len(lines)))]
        elif kind == 8:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif kind == 9:
            lines.insert(at, rng.choice(["", "# note", '"', "Total;99", "page 2", '"' * 3, "\ufeff", ",,,,,,"]))
        elif kind == 10:
            lines = lines[::-1] if rng.random() < 0.5 else rng.sample(lines, len(lines))
        elif kind == 11:  # a stray quotation mark
            lines[at] = '"' + lines[at] + rng.choice(('"', ""))
        elif kind == 12:  # one digit of a time
            place = rng.randrange(min(16, len(lines[at])) or 1)
            lines[at] = lines[at][:place] + rng.choice("0123456789-/: ") + lines[at][place + 1 :]
        elif kind == 13:
            lines[0] = rng.choice(["", "a,b,c", "time", "kWh,time", "x;y", lines[0].upper(), "°C,°C,°C"])
    made = "\n".join(lines) + ("\n" if rng.random() < 0.9 else "")
    codec = rng.choice(("utf-8",) * 6 + ("utf-16", "utf-16-le", "cp1252", "latin-1", "utf-8-sig"))
    data = made.encode(codec, "replace")
    if rng.random() < 0.06:  # bytes
        choice = rng.randrange(4)
        data = (
            b"",
            rng.randbytes(rng.randrange(400)),
            data[: rng.randrange(len(data) + 1)],
            data.replace(b"\n", b"\r") if rng.random() < 0.5 else data + rng.randbytes(30),
        )[choice]
    return data


def words(readings) -> set[str]:
    """What is said, without figures: a sentence that only counts otherwise is no new word."""
    return {
        re.sub(r"\d[\d.:-]*", "#", sentence)
        for sentence in [one.sentence for one in readings.repairs] + list(readings.interpretation)
    }


def spoil(count: int, seed: int) -> dict[str, int]:
    """Read so many spoilt files; what came of them is counted, and anything unsaid fails."""
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
        # A file of which lines are gone at its head or end is a shorter record: the clean one over the same time.
        short = clean.use.loc[got.use.index[0] : got.use.index[-1]]
        for same in (clean.use, short):
            if abs(got.totals["kwh"] - same["kwh"].sum()) <= 1e-9 * clean.totals["kwh"]:
                came["as clean"] += 1
                break
        else:
            assert words(got) - words(clean), (number, got.totals, clean.totals, data)
            came["with a word"] += 1
    return came


def test_fifteen_hundred_spoilt_files():
    came = spoil(1500, seed=20)
    assert min(came.values()) > 100, came  # the generator reaches all three


def test_the_test_itself_would_notice(monkeypatch):
    """A reader that keeps its repairs to itself fails."""
    from pondheat.meter.reading import read_log

    monkeypatch.setattr(read_log.ReadLog, "add_repair", lambda self, *given, **more: None)
    with pytest.raises(AssertionError):
        spoil(60, seed=20)

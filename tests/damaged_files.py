"""Files of every kind the shell reads, damaged at random, and what `read` makes of them against the generator's truth.

`outcomes` reads some: none may end in anything but a report or a sentence, none may write, and a report whose numbers
are not the truth's must say something that the report of the whole file does not.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat import cli
from pondheat.core.places import CLONE

ZONE = "Europe/London"
_WORDS = ["NaN", "n/a", "-", "error", "", "inf", "1e999", "12abc", "=1+1", "\x1b[31m", "1,5", "-1", "99999999", "°F"]
_HEADS = ["", "time", "kWh", "Wh", "W", "°C", "°F", "%", "mph", "UTC", "hour ending", "water", "day", "counter"]


def bases() -> dict[str, tuple[str, tuple[str, ...]]]:
    """Text of a whole file of each shape, and the options that it needs."""
    draw = np.random.default_rng(8)
    hours = pd.date_range("2025-01-20", periods=96, freq="h", tz=ZONE)
    kwh = np.round(np.where(draw.random(96) < 0.4, 0.0, draw.uniform(0.4, 2.9, 96)), 3)
    counter = 9_950 + np.append(0, np.cumsum(kwh)[:-1])
    stamps = hours.strftime("%Y-%m-%d %H:%M")

    def table(head, *columns, sep=",", point="."):
        rows = [sep.join(map(str, row)) for row in zip(*columns)]
        return "\n".join([head, *(row.replace(".", point) if point != "." else row for row in rows)]) + "\n"

    days = kwh.reshape(4, 24)
    matrix = [",".join([f"2025-01-{20 + at}", *map(str, row)]) for at, row in enumerate(days)]
    today = np.cumsum(days, axis=1).round(3).ravel()
    late = (hours + pd.Timedelta("59min")).strftime("%Y-%m-%d %H:%M")
    air = np.round(4 + 3 * np.sin((hours.hour.to_numpy() - 9) / 12 * np.pi), 1)
    sheet = (CLONE / "data" / "ponds" / "my_first_sheet.toml").read_text(encoding="utf-8")
    tariff = (CLONE / "data" / "tariffs" / "invented_night_hours.toml").read_text(encoding="utf-8")
    return {
        "hours": (table("time,use [kWh]", stamps, kwh), ("--rating", "3000")),
        "counter": (table("Time;Reading kWh", hours.strftime("%d.%m.%Y %H:%M"), counter.round(3), sep=";"), ()),
        "power": (table("date\ttime\tpower W", hours.strftime("%d/%m/%Y"), hours.strftime("%H:%M"), kwh * 1000,
                        sep="\t"), ()),
        "matrix": ("\n".join(["date [kWh]," + ",".join(f"{at:02d}:00" for at in range(24)), *matrix]) + "\n", ()),
        "periods": (table("date,settlement period,use kWh", hours.strftime("%Y-%m-%d"),
                          hours.hour.to_numpy() * 2 + 1, kwh), ()),
        "today": (table("time,energy today kWh", late, today), ()),
        "devices": (table("meter id,time,use kWh", np.repeat(["a", "b"], 96), [*stamps, *stamps],
                          [*kwh, *(kwh + 1).round(3)]), ("--device", "a")),
        "spelt": (table("Zeit;Verbrauch;Einheit;Ableseart", hours.strftime("%a %d.%m.%Y %H:%M Uhr"), kwh,
                        ["kWh"] * 96, ["abgelesen"] * 96, sep=";"), ("--kind", "interval")),
        "thermometer": (table("time,water °C", stamps, (8 + np.arange(96) / 50).round(2)), ()),
        "weather": (table("time [UTC],air_temp [°C],rel_humidity [%],wind_speed [m/s],solar [W/m²],cloud_cover [%]",
                          stamps, air, (80 - 2 * air).round(), [3.2] * 96,
                          (300 * np.clip(np.sin((hours.hour.to_numpy() - 8) / 8 * np.pi), 0, 1)).round(), [55] * 96),
                    ()),
        "tariff": (tariff, ()),
        "sheet": (sheet, ()),
    }  # fmt: skip


def damaged(rng: random.Random, text: str) -> bytes:
    """A file with one to three faults, in some encoding."""
    lines = text.splitlines()
    for _ in range(rng.choice((1, 1, 2, 3))):
        at = rng.randrange(len(lines)) if lines else 0
        fault = rng.randrange(9)
        if not lines:
            break
        if fault == 0:
            del lines[at : at + rng.choice((1, 2, 20))]
        elif fault == 1:
            lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
        elif fault in (2, 3):
            mark = next((one for one in "\t;," if one in lines[at]), ",")
            cells = lines[at].split(mark)
            cells[rng.randrange(len(cells))] = rng.choice(_HEADS if at == 0 else _WORDS)
            lines[at] = mark.join(cells)
        elif fault == 4:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif fault == 5:
            place = rng.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:place] + rng.choice("0123456789.,;:-/\"' \0\x07é") + lines[at][place + 1 :]
        elif fault == 6:
            lines.insert(at, rng.choice(["", "# note", "Total;99", lines[at], '"""', "[pond]"]))
        elif fault == 7:
            lines[:] = [lines[0], *lines[:0:-1]]
        else:
            lines[:] = [line.replace(",", ";") for line in lines]
    made = "\n".join(lines) + "\n"
    data = made.encode(rng.choice(("utf-8",) * 5 + ("utf-16", "cp1252", "utf-8-sig")), "replace")
    return data[: rng.randrange(len(data) + 1)] if rng.random() < 0.05 else data


def read_as_json(path: Path, options: tuple[str, ...]) -> tuple[int, dict, str]:
    """Exit code, data and standard error of `read --json`."""
    said, told = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(told):
        code = cli.main(["read", str(path), "--json", "--timezone", ZONE, *options])
    return code, json.loads(said.getvalue())["files"][0], told.getvalue()


def _remarks(data: dict) -> set[str]:
    """What a report says, without figures."""
    said = [*data.get("interpretation", ()), *(one["sentence"] for one in data.get("repairs", ()))]
    return {re.sub(r"\d[\d.:-]*", "#", one) for one in said}


def outcomes(count: int, seed: int, folder: Path, tell: Callable[[str], None] = print) -> dict[str, int]:
    """Read `count` damaged files; returns how many were read as the whole file, with a word, or refused.

    Any other outcome is a fault; all are named when the last file has been read.
    """
    tell(f"seed {seed}")
    rng = random.Random(seed)
    shapes = bases()
    path = folder / "file.csv"
    whole = {}
    for name, (text, options) in shapes.items():
        path.write_text(text, encoding="utf-8")
        whole[name] = read_as_json(path, options)[1]
    found = {"as whole": 0, "with a word": 0, "refused": 0}
    faults = []
    for number in range(count):
        name = list(shapes)[number % len(shapes)]
        text, options = shapes[name]
        path.write_bytes(damaged(rng, text))
        try:
            found[_outcome(name, text, path, options, whole[name])] += 1
        except AssertionError as fault:
            faults.append((seed, number, name, *fault.args))
    assert not faults, f"{len(faults)} of {count}: {faults}"
    return found


def _outcome(name: str, text: str, path: Path, options: tuple[str, ...], whole: dict) -> str:
    """What came of a damaged file; AssertionError where it was read wrongly without a word, or left a trace."""
    data = path.read_bytes()
    code, got, told = read_as_json(path, options)
    where = got, data
    assert [one.name for one in path.parent.iterdir()] == ["file.csv"] and path.read_bytes() == data, where
    assert "Traceback" not in told and "\x1b" not in told, where
    if "error" in got:
        assert code == 2 and len(got["error"]) > 20, where
        return "refused"
    assert code == 0, where
    if got.get("days") == whole.get("days") and got.get("week") == whole.get("week"):
        return "as whole"
    # A tariff or a sheet with other figures is another tariff or sheet: any of its numbers may be meant.
    said = name in ("tariff", "sheet") or _remarks(got) - _remarks(whole)
    assert said or _shorter(got, whole) or _other_numbers(text, data, options), where
    return "with a word"


def _shorter(got: dict, whole: dict) -> bool:
    """Whether a report is of fewer days or hours at the ends of the record, with the same numbers in all that is left.

    A record that was cut at an end is a whole record of less time, which no reader can tell from one. A day with as
    many hours as before must be the same in every figure; of a day at an end, only what a part of it can give.
    """
    days, left = whole.get("days", {}), got.get("days", {})
    if not left or not set(left) <= set(days):
        return False
    for at, (day, row) in enumerate(left.items()):
        before = days[day]
        if row.keys() == before.keys() and all(abs(row[name] - before[name]) < 1e-9 for name in row):
            continue  # but for the last bits: sums begin elsewhere
        if 0 < at < len(left) - 1:
            return False
        if "hours" in row and not (row["hours"] < before["hours"] and row["kwh"] <= before["kwh"] + 1e-9):
            return False
        if "min" in row and not before["min"] <= row["min"] <= row["mean"] <= row["max"] <= before["max"]:
            return False
        if "sun" in row and row["sun"] > before["sun"] + 1e-9:
            return False
    return True


def _other_numbers(text: str, data: bytes, options: tuple[str, ...]) -> bool:
    """Whether the damage only put other numbers into the cells of an unbroken run of the file's own times.

    Nothing can then be noticed: a point that became a digit, or a number that lost its end, leaves a number as good as
    any (the generator's have one to three decimals). A changed, missing or repeated time, or a changed header, is not
    of this kind: it must be told. Rows of a device that isn't asked for may hold anything.
    """
    for codec in ("utf-8-sig", "utf-16", "cp1252"):
        try:
            lines = [line for line in data.decode(codec).splitlines() if line.strip()]
            break
        except UnicodeError:
            continue
    header, *rows = text.splitlines()
    mark = next((one for one in "\t;," if one in header), ",")
    if "--device" in options:
        rows, lines[1:] = ([row for row in part if row.split(mark)[0] == options[-1]] for part in (rows, lines[1:]))
    times = [_time_cells(row, mark) for row in rows]
    found = [_time_cells(line, mark) for line in lines[1:]]
    if lines[:1] != [header] or not found or found[0] not in times:
        return False
    first = times.index(found[0])
    numbers = (cell for line in lines[1:] for cell in line.split(mark) if cell not in _time_cells(line, mark))
    return found == times[first : first + len(found)] and all(re.fullmatch(r"-?\d+(?:\.\d+)?", one) for one in numbers)


def _time_cells(line: str, mark: str) -> tuple[str, ...]:
    """Cells of a line that are no plain number: its times, and the name of a device."""
    return tuple(cell for cell in line.split(mark) if not re.fullmatch(r"-?\d+(?:\.\d+)?", cell))

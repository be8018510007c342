"""The shipped synthetic logs: reproducible, readable, and compared with their known truth."""

import csv
import datetime as dt
import importlib.util
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pondheat.meter.reading import meter_file
from pondheat.meter.savings import period_comparison
from pondheat.meter.savings.alignment import align
from pondheat.season import simulate
from pondheat.season.weather import weather
from pondheat.sheet import pond_sheet

TESTS = Path(__file__).resolve().parents[2]
spec = importlib.util.spec_from_file_location("make_readings", TESTS / "make_readings.py")
make_readings = importlib.util.module_from_spec(spec)
__import__("sys").modules["make_readings"] = make_readings
spec.loader.exec_module(make_readings)
FOLDER = make_readings.FOLDER
PONDS = ("garden_pond", "growing_on_tank")


def truth() -> dict[str, dict[str, str]]:
    lines = (FOLDER / "truth.csv").read_text(encoding="utf-8").splitlines()[1:]
    return {row["file"]: row for row in csv.DictReader(lines)}


def read(name: str):
    return meter_file.read(FOLDER / name, "Europe/London")


def dates(text: str) -> list[dt.date]:
    return [dt.date.fromisoformat(one) for one in text.split()]


def compared(pond: str, uses, covered, base_load=0.0):
    keeper = pond_sheet.read(make_readings.DATA / "ponds" / f"{pond}.toml")
    record = weather.read(keeper.weather, timezone=keeper.timezone, year=2025)
    use = pd.concat(uses)
    hours = weather.season_hours(record, use.index[0].date(), use.index[-1].date(), 0)
    aligned = align(
        use,
        keeper.pond,
        hours.index,
        simulate.air_of(hours, record.wind_height),
        pump_heat=keeper.pump_heat,
        base_load=base_load,
    )
    return period_comparison.compare(aligned, covered=covered)


def test_files_are_reproducible(tmp_path):
    """The same lines, and the same numbers but for the thermostat's chatter.

    A switching thermostat turns the last digit of a sum into another minute of switching on, so single hours differ
    between machines and after any change of the model's rounding; counters and sums don't.
    """
    make_readings.write(tmp_path)
    made = sorted(path.name for path in tmp_path.iterdir())
    assert len(made) == 9
    number = re.compile(r"(?<![\d-])\d+\.\d+")
    for name in made:
        new, kept = ((folder / name).read_text(encoding="utf-8") for folder in (tmp_path, FOLDER))
        assert number.sub("#", new) == number.sub("#", kept), name  # stamps, heads, faults put in by hand
        first, second = (np.array([float(value) for value in number.findall(text)]) for text in (new, kept))
        assert first.sum() == pytest.approx(second.sum(), rel=2e-3), name
        assert (FOLDER / name).stat().st_size < 25_000


@pytest.mark.parametrize("pond", PONDS)
def test_counter_rolls_over(pond):
    found = read(f"{pond}_counter.csv")
    text = (FOLDER / f"{pond}_counter.csv").read_text(encoding="utf-8")
    counter = [float(line.split(",")[1]) for line in text.splitlines()[2:]]
    assert counter[-1] < counter[0]
    assert 0 < found.totals["kwh"] < 2000 and len(found.use) == len(counter) - 1


@pytest.mark.parametrize("pond", PONDS)
def test_the_repeated_hour_is_in_the_file(pond):
    text = (FOLDER / f"{pond}_clock_change.csv").read_text(encoding="utf-8")
    assert text.count("2025-10-26 01:00,") == 2
    assert read(f"{pond}_clock_change.csv").use.index.is_unique


@pytest.mark.parametrize("pond", PONDS)
@pytest.mark.parametrize("kind", ["clock_change", "counter"])
def test_blocks_show_the_true_saving(pond, kind):
    row = truth()[f"{pond}_{kind}.csv"]
    found = compared(pond, [read(row["file"]).use], dates(row["covered_nights"]), float(row["base_load_w"]))
    first = found.outcomes[0]
    assert found.shown and first.low < float(row["saving_in_covered_nights"]) < first.high


@pytest.mark.parametrize("pond", PONDS)
def test_the_forgotten_night_is_found(pond):
    row = truth()[f"{pond}_covered_one_forgotten.csv"]
    found = compared(pond, [read(f"{pond}_open.csv").use, read(row["file"]).use], dates(row["covered_nights"]))
    marked = found.nights.days.index[found.nights.days["forgotten"]]
    assert [day.date() for day in marked] == dates(row["forgotten_nights"])
    first = found.outcomes[0]
    assert found.shown and first.low < float(row["saving_in_covered_nights"]) < first.high

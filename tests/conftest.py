"""Shared by many tests: one invented year of weather, made by rule so that no file can spoil it."""

import numpy as np
import pandas as pd
import pytest

# No doctests stand in these, and two modules of one name cannot both be imported for them.
collect_ignore_glob = ["conftest.py", "*/conftest.py"]


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

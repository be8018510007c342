"""Fixtures of the weather tests: an independent check of the sun's timing, and small files to read."""

import numpy as np
import pandas as pd
import pytest


@pytest.fixture(scope="session")
def minutes_after_noon():
    """Function giving the radiation-weighted mean time of a record's sunshine, in minutes after true solar noon."""
    from pvlib import solarposition

    def measure(solar: pd.Series, longitude: float) -> float:
        utc = solar.index.tz_convert("UTC")
        # Equation of time by Spencer 1971, through pvlib; an hour's middle is half an hour after its start.
        apparent = (
            utc.hour
            + utc.minute / 60
            + 0.5
            + longitude / 15
            + np.asarray(solarposition.equation_of_time_spencer71(utc.day_of_year)) / 60
        ) % 24
        day = (utc + pd.Timedelta(hours=longitude / 15)).floor("D")
        sums = pd.DataFrame({"sun": solar.to_numpy(), "moment": solar.to_numpy() * (apparent - 12)}).groupby(day).sum()
        sums = sums[sums["sun"] > 0]
        return float(60 * np.average(sums["moment"] / sums["sun"], weights=sums["sun"]))

    return measure


@pytest.fixture
def written(tmp_path):
    """Function that writes text to a file and returns its path."""

    def write(name: str, text: str, encoding: str = "utf-8"):
        path = tmp_path / name
        path.write_bytes(text.encode(encoding))
        return path

    return write

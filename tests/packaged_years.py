"""Typical years of installed packages, read once for tests that only look at them."""

import functools

import pytest

from pondheat.season.weather import weather

READ = weather.read


@functools.cache
def read_once(source: str, **place) -> weather.Weather:
    """A packaged year for a time zone, a calendar year and a place."""
    return READ(source, **place)


@pytest.fixture(scope="module", autouse=True)
def packaged_years_read_once():
    """Sheets with the same place and year share their weather."""

    def read(source=weather.DEFAULT, **place):
        return read_once(source, **place) if source in weather.BUILT_IN else READ(source, **place)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(weather, "read", read)
        yield

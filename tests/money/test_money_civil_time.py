"""Local days and windows across clock changes; expected values counted by hand from the IANA time zone database."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core import value_parsers
from pondheat.core.ranges import OutOfRange
from pondheat.core.units import Unreadable
from pondheat.money import civil_time
from pondheat.money.tariffs import hours_in_day, hours_in_window

ZONES = [
    "Europe/London",
    "Asia/Kolkata",
    "Asia/Kathmandu",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "America/St_Johns",
    "America/New_York",
    "America/Havana",
    "Pacific/Apia",
]


@pytest.mark.parametrize(
    "timezone, date, hours",
    [
        ("Europe/London", "2025-03-30", 23.0),
        ("Europe/London", "2025-10-26", 25.0),
        ("America/New_York", "2025-11-02", 25.0),
        ("Australia/Lord_Howe", "2025-04-06", 24.5),  # 02:00 back to 01:30
        ("Australia/Lord_Howe", "2025-10-05", 23.5),  # 02:00 on to 02:30
        ("America/Havana", "2025-11-02", 25.0),  # 01:00 back to 00:00: midnight comes twice
        ("America/Havana", "2025-03-09", 23.0),  # 00:00 on to 01:00: midnight does not come at all
        ("Pacific/Apia", "2011-12-30", 0.0),  # Samoa went west of the date line and had no such day
        ("Asia/Kathmandu", "2025-06-21", 24.0),
    ],
)
def test_length_of_a_day(timezone, date, hours):
    assert hours_in_day(timezone, date) == hours


@pytest.mark.parametrize(
    "timezone, year, start, end, hours",
    [
        ("Europe/London", 2024, "00:30", "07:30", 366 * 7.0),
        ("America/New_York", 2025, "23:00", "07:00", 365 * 8.0),  # across midnight, both pieces of each day
        ("Asia/Kolkata", 2025, "00:15", "00:45", 365 * 0.5),
        ("Australia/Lord_Howe", 2025, "01:45", "02:15", 365 * 0.5),  # cut by both changes, each by 15 minutes
        ("Europe/London", 2025, "00:00", "24:00", 8760.0),
        ("Europe/London", 2025, "01:15", "01:45", 365 * 0.5),  # twice in October, not at all in March
    ],
)
def test_hours_in_a_window_over_a_year(timezone, year, start, end, hours):
    assert hours_in_window(timezone, year, start, end) == hours


@given(st.sampled_from(ZONES), st.integers(2012, 2030))
@settings(max_examples=8, deadline=None)
def test_days_add_up_to_the_year(timezone, year):
    days = pd.date_range(f"{year}-01-01", f"{year}-12-31")
    first, after = (pd.Timestamp(f"{one}-01-01").tz_localize(timezone) for one in (year, year + 1))
    # Samoa gave summer time up in 2021: that year is an hour longer than its days would have it.
    assert sum(hours_in_day(timezone, f"{day:%Y-%m-%d}") for day in days) == (after - first).total_seconds() / 3600


@given(st.sampled_from(ZONES), st.integers(0, 1439), st.integers(0, 1439))
@settings(max_examples=25, deadline=None)
def test_window_and_complement_add_up_to_the_year(timezone, start, end):
    def clock(minute):
        return f"{minute // 60:02d}:{minute % 60:02d}"

    inside = hours_in_window(timezone, 2025, clock(start), clock(end))
    outside = hours_in_window(timezone, 2025, clock(end), clock(start)) if start != end else 0.0
    assert inside + outside == 8760.0


@given(st.sampled_from(ZONES), st.lists(st.integers(1_300_000_000, 1_900_000_000), min_size=1, max_size=40))
@settings(max_examples=20, deadline=None)
def test_local_seconds_agree_with_pandas(timezone, instants):
    expected = pd.to_datetime(instants, unit="s", utc=True).tz_convert(timezone).tz_localize(None).as_unit("s").asi8
    found = civil_time.local_seconds(np.array(instants), value_parsers.time_zone(timezone))
    assert found.tolist() == expected.tolist()


def test_segments_are_split_at_clock_changes():
    # Lord Howe, 6 April 2025: 15:00 UTC on the 5th is 02:00 there, and the clock goes back to 01:30.
    begin = int(pd.Timestamp("2025-04-05 14:00", tz="UTC").timestamp())
    starts, local = civil_time.segments(value_parsers.time_zone("Australia/Lord_Howe"), begin, begin + 2 * 3600, [])
    assert list(starts - begin) == [0, 3600]
    assert [str(np.datetime64(int(second), "s"))[11:16] for second in local] == ["01:00", "01:30"]


def test_invalid_zone_and_date():
    with pytest.raises(Unreadable, match="Did you mean “Europe/London”"):
        hours_in_day("Europe/Lodnon", "2025-03-30")
    with pytest.raises(Unreadable, match="“30.3.2025” is not a date"):
        hours_in_day("Europe/London", "30.3.2025")
    with pytest.raises(OutOfRange):
        hours_in_day("Europe/London", "0025-03-30")
    with pytest.raises(Unreadable, match="carry no time zone"):
        civil_time.instants(pd.date_range("2025-01-01", periods=3, freq="h"))

"""Cover hours and dated set points: nights, clock changes, New Year, exceptions, parts of hours."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from pondheat.season.schedule import covered_share, values_by_date

NIGHT = {"on": 18 * 60, "off": 8 * 60}


def hours(start: str, count: int, zone: str = "Europe/London") -> pd.DatetimeIndex:
    """Hours on the clock of elapsed time from a local start."""
    return pd.date_range(pd.Timestamp(start, tz=zone).tz_convert("UTC"), periods=count, freq="h").tz_convert(zone)


def share(index, **plan) -> pd.Series:
    return pd.Series(covered_share(index, **plan), index=index)


def day(series: pd.Series, date: str) -> float:
    """Hours covered on one local date."""
    return float(series[series.index.strftime("%Y-%m-%d") == date].sum())


def test_a_night_cover():
    index = hours("2025-01-10", 48)
    series = share(index, **NIGHT)
    assert series.to_numpy().tolist() == [1.0] * 8 + [0.0] * 10 + [1.0] * 14 + [0.0] * 10 + [1.0] * 6
    assert day(series, "2025-01-10") == 14


def test_a_day_cover_and_a_permanent_one():
    index = hours("2025-01-10", 24)
    assert share(index, on=9 * 60, off=17 * 60).to_numpy().tolist() == [0.0] * 9 + [1.0] * 8 + [0.0] * 7
    for plan in (
        {},
        {"on": None, "off": 8 * 60},
        {"on": 0, "off": 24 * 60},
        {"on": 600, "off": 600},
        {"on": 24 * 60, "off": 0},
    ):
        assert (share(index, **plan) == 1.0).all(), plan


def test_parts_of_hours():
    index = hours("2025-01-10", 24)
    series = share(index, on=18 * 60 + 30, off=7 * 60 + 15)
    assert (series.iloc[18], series.iloc[17], series.iloc[6], series.iloc[7]) == (0.5, 0.0, 1.0, 0.25)
    assert series.sum() == pytest.approx(12.75)  # 18:30 to 07:15
    assert share(index, on=600, off=610).iloc[10] == pytest.approx(10 / 60)


@pytest.mark.parametrize(
    "date, plan, covered",
    [
        # 30 March 2025: clocks jump from 01:00 to 02:00, the morning from 00:00 to 08:00 has 7 hours
        ("2025-03-30", NIGHT, 13),
        ("2025-03-30", {"on": 90, "off": 480}, 6),  # 01:30 is not on the clock: on from 02:00
        # 26 October 2025: 01:00 to 02:00 comes twice, so the same morning has 9
        ("2025-10-26", NIGHT, 15),
        ("2025-10-26", {}, 25),
        ("2025-03-30", {}, 23),
        # on at 01:30 and off at 02:00: half an hour of each of the two hours called one
        ("2025-10-26", {"on": 90, "off": 120}, 1.0),
    ],
)
def test_days_with_a_clock_change(date, plan, covered):
    index = hours((pd.Timestamp(date) - pd.Timedelta(days=1)).strftime("%Y-%m-%d"), 96)
    series = share(index, **plan)
    assert day(series, date) == covered
    assert day(series, (pd.Timestamp(date) + pd.Timedelta(days=1)).strftime("%Y-%m-%d")) == (
        24 if not plan else ((plan["off"] - plan["on"]) % 1440) / 60
    )


@pytest.mark.parametrize("date", ["2025-03-29", "2025-03-30", "2025-03-31", "2025-10-25", "2025-10-26", "2025-10-27"])
def test_an_exception_removes_the_whole_night(date):
    """The evening's 6 hours and the next morning's 8 (7 or 9 on a clock change)."""
    index = hours((pd.Timestamp(date) - pd.Timedelta(days=2)).strftime("%Y-%m-%d"), 24 * 6)
    kept, forgotten = share(index, **NIGHT), share(index, **NIGHT, exceptions=(dt.date.fromisoformat(date),))
    missing = kept - forgotten
    morning = (pd.Timestamp(date) + pd.Timedelta(days=1)).strftime("%Y-%m-%d")
    own_evening = missing[(missing.index.strftime("%Y-%m-%d") == date) & (missing.index.hour >= 18)].sum()
    own_morning = missing[(missing.index.strftime("%Y-%m-%d") == morning) & (missing.index.hour < 8)].sum()
    assert own_evening == 6
    assert own_morning == {"2025-03-29": 7, "2025-10-25": 9}.get(date, 8)
    assert missing.sum() == own_evening + own_morning


def test_an_exception_of_every_year():
    index = hours("2024-12-20", 24 * 380)
    series = share(index, **NIGHT, exceptions=((12, 24), dt.date(2025, 6, 1)))
    lacking = share(index, **NIGHT) - series
    assert lacking[lacking > 0].groupby(lacking[lacking > 0].index.strftime("%Y-%m-%d")).sum().to_dict() == {
        "2024-12-24": 6,
        "2024-12-25": 8,
        "2025-06-01": 6,
        "2025-06-02": 8,
        "2025-12-24": 6,
        "2025-12-25": 8,
    }


def test_date_range_across_new_year():
    """From 1 October to 30 April: the first covered hour is that evening, the last is the morning of 1 May."""
    index = hours("2025-09-15", 24 * 260)
    series = share(index, **NIGHT, days=(((10, 1), (4, 30)),))
    on = series[series > 0]
    assert on.index[0] == pd.Timestamp("2025-10-01 18:00", tz="Europe/London")
    assert on.index[-1] == pd.Timestamp("2026-05-01 07:00", tz="Europe/London")
    assert day(series, "2026-01-01") == 14 and day(series, "2025-12-31") == 14


def test_date_range_ending_with_the_night_of_a_clock_change():
    """The night that begins on 30 March goes on after midnight of the 31st, though only 23 hours lie between."""
    index = hours("2025-03-28", 24 * 6)
    series = share(index, **NIGHT, days=(((10, 1), (3, 30)),))
    assert series[series > 0].index[-1] == pd.Timestamp("2025-03-31 07:00", tz="Europe/London")
    assert day(series, "2025-03-31") == 8
    ended = share(index, **NIGHT, days=(((10, 1), (3, 29)),))
    assert day(ended, "2025-03-31") == 0 and day(ended, "2025-03-30") == 7


def test_several_date_ranges_and_a_leap_day():
    index = hours("2024-01-01", 24 * 366)
    series = share(index, on=600, off=660, days=(((2, 29), (2, 29)), ((7, 1), (7, 2))))
    assert series[series > 0].index.strftime("%m-%d %H").tolist() == ["02-29 10", "07-01 10", "07-02 10"]


@pytest.mark.parametrize(
    "zone, start",
    [
        ("Asia/Kolkata", "2025-01-10 00:30"),  # hours of UTC in a zone half an hour off
        ("Asia/Kathmandu", "2025-01-10 00:45"),
        ("Australia/Lord_Howe", "2025-01-10 00:30"),  # summer time there is half an hour
    ],
)
def test_time_zones_off_the_full_hour(zone, start):
    index = hours(start, 24 * 5, zone)
    assert set(index.minute) == {int(start[-2:])}
    nights = share(index, **NIGHT).iloc[24:-24]  # whole nights in the middle
    assert nights.groupby(np.arange(len(nights)) // 24).sum().tolist() == [14.0] * 3
    across = nights[nights.index.hour == 23]
    assert (across == 1.0).all()  # the hour over midnight lies wholly in the night
    assert (share(index) == 1.0).all()


def test_hour_across_midnight_at_the_end_of_a_range():
    index = hours("2025-01-10 00:30", 72, "Asia/Kolkata")
    series = share(index, days=(((1, 11), (1, 11)),))
    assert series[series > 0].to_dict() == {stamp: 0.5 if stamp.hour == 23 else 1.0 for stamp in index[23:48]} | {
        index[23]: 0.5,
        index[47]: 0.5,
    }


def test_a_cover_put_on_just_after_midnight():
    """On at 00:10: the last twenty minutes of the hour from 23:30, by the dates of the day that begins in it."""
    index = hours("2025-01-10 00:30", 48, "Asia/Kolkata")
    series = share(index, on=10, off=360, days=(((1, 11), (1, 11)),))
    assert series[series > 0].round(6).tolist() == [pytest.approx(20 / 60, abs=1e-6), *[1.0] * 5, 0.5]
    assert series[series > 0].index[0] == index[23]


def test_set_points_by_date():
    index = hours("2025-08-30", 24 * 400)
    steps = [((9, 1), 18.0), ((12, 1), None), ((3, 15), 14.0)]
    held = pd.Series(values_by_date(index, steps), index=index)

    def at(stamp):
        return held[pd.Timestamp(stamp, tz="Europe/London")]

    assert at("2025-08-31 23:00") == 14 and at("2025-09-01 00:00") == 18 and at("2025-11-30 23:00") == 18
    assert np.isnan(at("2025-12-01 00:00")) and np.isnan(at("2026-01-01 00:00")) and np.isnan(at("2026-03-14 23:00"))
    assert at("2026-03-15 00:00") == 14
    assert np.array_equal(values_by_date(index, steps[::-1]), held, equal_nan=True)
    assert (values_by_date(index, [((6, 1), 20.0)]) == 20.0).all()

"""Hourly rates; expected values counted by hand from the windows' clock times."""

import itertools

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core.units import Unreadable
from pondheat.money.price_series import PriceSeries
from pondheat.money.tariffs import Tariff, TariffError, energy_cost, energy_of_power
from pondheat.money.windows import Window

NIGHT = Tariff("night", (Window("night", 0.12, "00:30", "07:30"),), otherwise=0.30)


def hours(start, periods, timezone, step="h"):
    return pd.date_range(start, periods=periods, freq=step, tz="UTC").tz_convert(timezone)


def night_share(start_utc, periods, timezone, step_minutes=60):
    index = hours(start_utc, periods, timezone, f"{step_minutes}min")
    return NIGHT.rates(index, step_minutes)[1]["night"].to_numpy()


def test_textbook_examples_of_energy_and_cost():
    # OpenStax College Physics ch. 20: a 60 W lamp for 1000 h at 0.12; a 15 W lamp for the same time.
    assert np.allclose(energy_of_power(np.array([60.0, 15.0]), 1000.0), [60.0, 15.0])
    assert np.allclose(energy_cost(np.array([60.0, 15.0]), 0.12), [7.20, 1.80])
    assert type(energy_cost(60.0, 0.12)) is float


def test_hours_are_split_at_the_ends_of_a_window():
    # 00:00–01:00 is half night: (0.12 + 0.30)/2; 07:00–08:00 likewise.
    rates, shares = NIGHT.rates(hours("2025-01-15 00:00", 9, "Europe/London"))
    assert rates == pytest.approx([0.21, *[0.12] * 6, 0.21, 0.30], abs=1e-12)
    assert list(shares.columns) == ["night", "other hours"]
    assert (shares.sum(axis=1) == 1.0).all()


@pytest.mark.parametrize(
    "timezone, start_utc, share",
    [
        ("Europe/London", "2025-07-15 23:00", 0.5),  # summer: 00:00 local
        ("Asia/Kolkata", "2025-01-14 18:00", 0.0),  # 23:30–00:30 local
        ("Asia/Kolkata", "2025-01-14 19:00", 1.0),  # 00:30–01:30 local
        ("Asia/Kathmandu", "2025-01-14 18:00", 0.25),  # 23:45–00:45 local: 15 of 60 minutes
        ("Asia/Kathmandu", "2025-01-15 01:00", 0.75),  # 06:45–07:45 local: 45 of 60 minutes
        ("America/St_Johns", "2025-01-15 04:00", 1.0),  # 00:30 local
        ("America/St_Johns", "2025-01-15 11:00", 0.0),  # 07:30 local
        ("Australia/Adelaide", "2025-01-14 13:00", 0.0),  # summer, +10:30: 23:30–00:30 local
        ("Australia/Adelaide", "2025-01-14 14:00", 1.0),  # 00:30 local
    ],
)
def test_local_clock_time_in_other_zones(timezone, start_utc, share):
    assert night_share(start_utc, 1, timezone)[0] == share


@pytest.mark.parametrize(
    "timezone, begins_utc, length, cheap",
    [
        ("Europe/London", "2025-03-30 00:00", 23, 6.0),  # 01:00–02:00 does not come
        ("Europe/London", "2025-10-25 23:00", 25, 8.0),  # 01:00–02:00 comes twice
        ("America/New_York", "2025-11-02 04:00", 25, 8.0),
        ("Australia/Lord_Howe", "2025-04-05 13:00", 24.5, 7.5),  # 01:30–02:00 comes twice
        ("Australia/Lord_Howe", "2025-10-04 13:30", 23.5, 6.5),  # 02:00–02:30 does not come
    ],
)
def test_days_with_a_clock_change(timezone, begins_utc, length, cheap):
    half_hours = night_share(begins_utc, int(2 * length), timezone, 30)
    assert half_hours.sum() / 2 == cheap
    index = hours(begins_utc, int(2 * length), timezone, "30min")
    assert len(set(index.date)) == 1  # the half hours are all of that one local day


def test_a_clock_change_within_an_interval():
    # Lord Howe, 6 April 2025: 15:00 UTC is the change. 14:30–15:30 UTC is 01:30–02:00, then 01:30–02:00 again;
    # of a window 01:45–02:15 the hour holds two quarters.
    tariff = Tariff("narrow", (Window("narrow", 1.0, "01:45", "02:15"),), otherwise=0.0)
    rate, _ = tariff.rates(hours("2025-04-05 14:30", 1, "Australia/Lord_Howe"))
    assert rate[0] == 0.5
    # 4 October, 15:30 UTC: 02:00 becomes 02:30. 15:00–16:00 UTC is 01:30–02:00, then 02:30–03:00: one quarter.
    rate, _ = tariff.rates(hours("2025-10-04 15:00", 1, "Australia/Lord_Howe"))
    assert rate[0] == 0.25


def test_standard_time_meter_register_against_local_time():
    # 2025 in London: summer time from 30 March to 26 October is 210 days. On each, the hour at one end of the window
    # is charged as night by the register alone and the hour at the other end by the wall clock alone: 420 hours.
    index = pd.date_range("2025-01-01", "2026-01-01", freq="h", tz="Europe/London", inclusive="left")
    by_wall = NIGHT.rates(index)[1]["night"].to_numpy()
    by_register = NIGHT.rates(index.tz_convert("Etc/GMT"))[1]["night"].to_numpy()
    assert np.abs(by_wall - by_register).sum() == 420.0
    assert by_wall.sum() == by_register.sum() == 365 * 7.0  # the year's totals show nothing of it


def test_weekdays_of_a_window_across_midnight():
    # Friday 3 to Sunday 5 January 2025 is 3rd Fri, 4th Sat, 5th Sun.
    weekend = Window("weekend", 0.10, "23:00", "07:00", days=["Sat", "Sunday"])
    tariff = Tariff("weekend", (weekend,), otherwise=0.30)
    index = hours("2025-01-03 00:00", 96, "UTC")
    share = tariff.rates(index)[1]["weekend"]
    held = share[share > 0].index
    assert list(held.strftime("%a %H")) == (
        [f"Sat {h:02d}" for h in range(7)] + ["Sat 23"] + [f"Sun {h:02d}" for h in range(7)] + ["Sun 23"]
    )


def test_date_ranges_across_new_year_and_of_one_year():
    index = hours("2024-10-01 12:00", 500, "UTC", "D")
    winter = Tariff("winter", (Window("w", 0.5, "00:00", "24:00", date_from="11-01", date_to="02-29"),), otherwise=0.3)
    days = index[winter.rates(index)[1]["w"].to_numpy() == 1]
    assert (str(days[0].date()), len(days[days < "2025-06"])) == ("2024-11-01", 30 + 31 + 31 + 28)
    # … and in the second winter again from 1 November; “02-29” in a year without it ends on the 28th.
    assert str(days[days > "2025-06"][0].date()) == "2025-11-01"
    once = Tariff(
        "once", (Window("w", 0.5, "00:00", "24:00", date_from="2025-02-01", date_to="2025-02-03"),), otherwise=0.3
    )
    assert once.rates(index)[1]["w"].sum() == 3
    onward = Tariff("onward", (Window("w", 0.5, "00:00", "24:00", date_from="2026-02-01"),), otherwise=0.3)
    assert onward.rates(index)[1]["w"].sum() == sum(index >= "2026-02-01")


def test_dated_windows_take_precedence():
    both = (
        Window("night", 0.12, "23:00", "07:00"),
        Window("frost", 0.40, "05:00", "08:00", date_from="12-01", date_to="02-28"),
    )
    for order in itertools.permutations(both):
        tariff = Tariff("both", order, otherwise=0.30)
        assert tariff.rates(hours("2025-01-15 04:00", 5, "UTC"))[0] == pytest.approx([0.12, 0.40, 0.40, 0.40, 0.30])
        assert tariff.rates(hours("2025-07-15 04:00", 5, "UTC"))[0] == pytest.approx([0.12, 0.12, 0.12, 0.30, 0.30])


@pytest.mark.parametrize(
    "windows, sentence",
    [
        ((Window("a", 0.1, "23:00", "07:00"), Window("b", 0.2, "06:30", "09:00")), "both apply at 06:30 every day"),
        (
            (Window("a", 0.1, "00:00", "07:00", "weekdays"), Window("b", 0.2, "05:00", "09:00", ["Mon", "Sun"])),
            "both apply at 05:00 on Mondays",
        ),
        (
            (
                Window("a", 0.1, "00:00", "07:00", date_from="12-01", date_to="01-31"),
                Window("b", 0.2, "00:00", "07:00", date_from="01-31", date_to="03-01"),
            ),
            "both apply at 00:00 on 2000-01-31",
        ),
        ((Window("a", 0.1, "00:00", "07:00"), Window("a", 0.2, "08:00", "09:00")), "different rates are called “a”"),
    ],
)
def test_conflicting_windows_are_rejected(windows, sentence):
    with pytest.raises(TariffError, match=sentence):
        Tariff("contradiction", windows, otherwise=0.3)


def test_adjacent_windows_do_not_overlap():
    Tariff("touching", (Window("a", 0.1, "23:00", "07:00"), Window("b", 0.2, "07:00", "23:00")))
    Tariff("days", (Window("a", 0.1, "00:00", "24:00", "weekdays"), Window("b", 0.2, "00:00", "24:00", "weekends")))
    Tariff("one name", (Window("peak", 0.4, "07:00", "09:00"), Window("peak", 0.4, "16:00", "19:00")), otherwise=0.2)


@pytest.mark.parametrize(
    "windows, sentence",
    [
        ((), "No rate is given at all"),
        ((Window("a", 0.1, "23:00", "07:00"), Window("b", 0.2, "07:30", "23:00")), "from 07:00 to 07:30 every day"),
        ((Window("a", 0.1, "00:00", "24:00", "weekdays"),), "from 00:00 to 24:00 on Saturdays, Sundays"),
        ((Window("a", 0.1, "00:00", "00:00", date_from="2025-01-01"),), "from 00:00 to 24:00 on 2000-01-01"),
    ],
)
def test_gaps_without_another_rate_are_rejected(windows, sentence):
    with pytest.raises(TariffError, match=sentence):
        Tariff("gap", windows)
    if windows:
        Tariff("mended", windows, otherwise=0.3)


@given(
    st.lists(st.integers(0, 1439), min_size=2, max_size=6, unique=True),
    st.sampled_from(["Europe/London", "Asia/Kathmandu", "Australia/Lord_Howe", "America/St_Johns"]),
    st.integers(0, 8700),
)
@settings(max_examples=25, deadline=None)
def test_shares_of_windows_that_partition_the_day(marks, timezone, begin):
    marks = sorted(marks)
    named = [f"{mark // 60:02d}:{mark % 60:02d}" for mark in marks]
    windows = tuple(
        Window(f"w{n}", 0.1 * n, start, end)
        for n, (start, end) in enumerate(zip(named, named[1:] + named[:1], strict=True))
    )
    tariff = Tariff("parted", windows)
    index = pd.date_range("2025-01-01", periods=48, freq="h", tz="UTC").tz_convert(timezone) + pd.Timedelta(hours=begin)
    rates, shares = tariff.rates(index)
    assert np.allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    assert np.allclose(shares.to_numpy() @ [window.rate for window in windows], rates, atol=1e-12)
    # The same by looking at every minute's clock on the wall.
    minutes = pd.date_range(index[0].tz_convert("UTC"), periods=48 * 60, freq="min").tz_convert(timezone)
    of_day = (minutes.hour * 60 + minutes.minute).to_numpy()
    first = [((of_day >= marks[0]) & (of_day < marks[1])).reshape(48, 60).mean(axis=1)]
    assert np.allclose(shares["w0"], first, atol=1e-12)


def test_results_do_not_depend_on_the_step():
    for step in (1, 15, 30, 60, 120, 1440):
        index = hours("2025-10-25 23:00", 26 * 1440 // step, "Europe/London", f"{step}min")
        _, shares = NIGHT.rates(index, step)
        assert shares["night"].sum() * step / 60 == pytest.approx(25 * 7 + 8, abs=1e-9)


def series(start, prices, step=1800):
    begin = int(pd.Timestamp(start).timestamp())
    return PriceSeries(begin + step * np.arange(len(prices)), np.array(prices), step)


def test_half_hourly_prices_are_averaged_over_the_hour():
    tariff = Tariff("by the half hour", price_series=series("2025-01-15T00:00Z", [0.10, 0.20, 0.40, -0.10]))
    rates, shares = tariff.rates(hours("2025-01-15 00:00", 2, "Europe/London"))
    assert rates == pytest.approx([0.15, 0.15], abs=1e-12)
    assert list(shares.columns) == ["all hours"]
    # An hour that begins on the quarter: 15 min at 0.10, 30 at 0.20, 15 at 0.40.
    assert tariff.rates(hours("2025-01-15 00:15", 1, "Europe/London"))[0][0] == pytest.approx(0.225, abs=1e-12)


def test_windows_take_precedence_over_half_hourly_prices():
    tariff = Tariff(
        "both", (Window("night", 0.05, "00:00", "00:45"),), price_series=series("2025-01-15T00:00Z", [0.10, 0.20, 0.40])
    )
    # Night for 45 minutes, then 15 at 0.20.
    assert tariff.rates(hours("2025-01-15 00:00", 1, "UTC"))[0][0] == pytest.approx(0.0875, abs=1e-12)


def test_times_without_a_price_are_rejected():
    tariff = Tariff("short", price_series=series("2025-01-15T00:00Z", [0.10, 0.20]))
    with pytest.raises(Unreadable, match=r"There is none for 2025-01-15 01:00 UTC, 2025-01-15 01:30 UTC\."):
        tariff.rates(hours("2025-01-15 00:00", 2, "Europe/London"))
    with pytest.raises(Unreadable, match=r"2025-01-14 20:00 UTC.* and 4 more\."):
        tariff.rates(hours("2025-01-14 20:00", 5, "Europe/London"))


def test_index_without_time_zone_and_empty_index():
    with pytest.raises(Unreadable, match="carry no time zone"):
        NIGHT.rates(pd.date_range("2025-01-01", periods=3, freq="h"))
    rates, shares = NIGHT.rates(pd.DatetimeIndex([], tz="Europe/London"))
    assert rates.shape == (0,) and shares.shape == (0, 2)

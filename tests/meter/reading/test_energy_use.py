"""Statistics, hourly sums and costs: values by hand in five zones at both clock changes; energy is conserved."""

import numpy as np
import pandas as pd
import pytest
from usual_cases import all_in_one

from pondheat.core.ranges import OutOfRange
from pondheat.core.units import Unreadable
from pondheat.meter.reading.energy_use import cost_by_rate, hourly, statistics
from pondheat.meter.reading.meter_file import read
from pondheat.money.price_series import PriceSeries
from pondheat.money.tariffs import Tariff
from pondheat.money.windows import Window

NIGHT = Tariff("invented", (Window("night", 0.10, "00:30", "07:30"),), otherwise=0.30)


def use_of(start, periods, step, zone, kwh=0.5):
    index = pd.date_range(start, periods=periods, freq=step, tz=zone, name="start")
    hours = pd.Timedelta(index[1] - index[0]).total_seconds() / 3600
    return pd.DataFrame({"kwh": kwh, "hours": hours}, index=index)


# Night hours 00:30 to 07:30 on days when the clocks change, by hand: going forward at 01:00 or 02:00 shortens the
# window, going back lengthens it. Source of the changes: IANA time zone database.
HAND = [
    ("Europe/London", "2025-03-30", 23.0, 6.0),
    ("Europe/London", "2025-10-26", 25.0, 8.0),
    ("America/New_York", "2025-03-09", 23.0, 6.0),
    ("America/New_York", "2025-11-02", 25.0, 8.0),
    ("Asia/Kolkata", "2025-03-30", 24.0, 7.0),
    ("Asia/Kolkata", "2025-10-26", 24.0, 7.0),
    ("Australia/Lord_Howe", "2025-10-05", 23.5, 6.5),
    ("Australia/Lord_Howe", "2025-04-06", 24.5, 7.5),
    ("Pacific/Auckland", "2025-09-28", 23.0, 6.0),
    ("Pacific/Auckland", "2025-04-06", 25.0, 8.0),
]


@all_in_one((*one, minutes) for one in HAND for minutes in (1, 5, 30))
def test_kwh_by_rate_on_days_of_a_clock_change(zone, day, hours, night, minutes):
    periods = round(hours * 60 / minutes)
    use = use_of(day, periods, f"{minutes}min", zone, 2.0 * minutes / 60)  # 2 kW all day
    got = cost_by_rate(use, NIGHT)
    assert got.by_rate.loc["night", "kwh"] == pytest.approx(2 * night, rel=1e-12)
    assert got.by_rate.loc["other hours", "kwh"] == pytest.approx(2 * (hours - night), rel=1e-12)
    assert got.energy_money == pytest.approx(2 * (night * 0.10 + (hours - night) * 0.30), rel=1e-12)
    assert len(got.notes) == 1  # nothing was divided
    table = statistics(use, zone)
    assert list(table.by_day["day_hours"]) == [hours] and table.by_day["kwh"].iloc[0] == pytest.approx(2 * hours)


@pytest.mark.parametrize("zone, day, hours, night", HAND)
def test_the_same_from_a_file(zone, day, hours, night):
    index = pd.date_range(day, periods=round(hours * 12), freq="5min", tz=zone)
    text = (
        "time,use kWh\n"
        + "\n".join(f"{one},{(0.1, 0.2)[at % 2]}" for at, one in enumerate(index.strftime("%d/%m/%Y %H:%M")))
        + "\n"
    )
    got = cost_by_rate(read(text.encode(), zone, dates="day first").use, NIGHT)
    assert got.by_rate.loc["night", "kwh"] == pytest.approx(1.8 * night, rel=1e-12)  # 0.15 kWh in 5 min
    assert got.kwh == pytest.approx(1.8 * hours, rel=1e-12)


@pytest.mark.parametrize("zone, day, hours, night", HAND)
def test_a_reading_of_a_whole_day_is_divided_and_reported(zone, day, hours, night):
    index = pd.DatetimeIndex([pd.Timestamp(day, tz=zone)], name="start")
    use = pd.DataFrame({"kwh": [hours], "hours": [hours]}, index=index)
    got = cost_by_rate(use, NIGHT)
    assert got.by_rate.loc["night", "kwh"] == pytest.approx(night, rel=1e-9)
    assert "1 interval " in got.notes[1] and "divided by time" in got.notes[1]


def test_intervals_across_a_change_of_rate():
    use = use_of("2025-01-15 00:00", 2, "h", "Europe/London", 1.0)
    got = cost_by_rate(use, NIGHT)  # the first hour is half night
    assert got.by_rate.loc["night", "kwh"] == 1.5 and "1 interval across a change of rate (1.00 kWh)" in got.notes[1]
    assert cost_by_rate(use, Tariff("invented", otherwise=0.25)).energy_money == 0.5


def test_prices_of_half_hours():
    begin = int(pd.Timestamp("2025-01-15", tz="UTC").timestamp())
    prices = PriceSeries(begin + 1800 * np.arange(4), np.array([0.1, 0.2, 0.3, 0.4]), 1800)
    use = use_of("2025-01-15", 2, "h", "UTC", 2.0)
    assert cost_by_rate(use, Tariff("invented", price_series=prices)).energy_money == pytest.approx(0.3 + 0.7)
    assert "2 intervals" in cost_by_rate(use, Tariff("invented", price_series=prices)).notes[1]
    with pytest.raises(Unreadable, match="There is none"):
        cost_by_rate(use_of("2025-01-15", 3, "h", "UTC"), Tariff("invented", price_series=prices))


@pytest.mark.parametrize(
    "zone", ["Europe/London", "America/New_York", "Asia/Kolkata", "Australia/Lord_Howe", "Pacific/Chatham"]
)
@pytest.mark.parametrize("step", ["1min", "7min", "30min", "90min", "5h"])
def test_hourly_sums_conserve_energy(zone, step):
    rng = np.random.default_rng(3)
    use = use_of("2025-10-03 00:10", 500, step, zone)
    use["kwh"] = rng.uniform(0, 2, 500)
    use["water_temp"] = 12.0
    use = use[rng.random(500) > 0.05]  # gaps
    got = hourly(use)
    assert got["kwh"].sum() == pytest.approx(use["kwh"].sum(), rel=1e-9)
    assert got["hours"].sum() == pytest.approx(use["hours"].sum(), rel=1e-9)
    assert (got["hours"] <= 1 + 1e-9).all() and got.index.is_unique and got.index.is_monotonic_increasing
    assert np.allclose(got["water_temp"], 12.0) and got.index.name == "start"
    winter = {"Asia/Kolkata": 30, "Australia/Lord_Howe": 30, "Pacific/Chatham": 15}.get(zone, 0)  # minutes UTC
    assert set(got.index.tz_convert("UTC").minute) == {winter}
    ends = got.index + pd.to_timedelta(got["hours"] * 3600 - 1e-3, unit="s")
    assert (ends[:-1] < got.index[1:]).all()


def test_hourly_sums_are_exact_and_long_readings_stay():
    use = use_of("2025-01-15", 6, "30min", "Europe/London", [1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    assert list(hourly(use)["kwh"]) == [3.0, 7.0, 11.0]
    late = pd.DataFrame({"kwh": [100.0], "hours": [240.0]}, index=use.index[-1:] + pd.Timedelta(minutes=30))
    both = hourly(pd.concat([use, late]))
    assert list(both["kwh"]) == [3.0, 7.0, 11.0, 100.0] and both["hours"].iloc[-1] == 240
    assert hourly(late).equals(late.rename_axis("start"))


def test_statistics_by_hand():
    use = use_of("2025-01-15 22:00", 4, "h", "Europe/London", [1.0, 3.0, 0.5, 0.5])
    got = statistics(use, "Europe/London")
    assert (got.kwh, got.hours, got.mean, got.highest, got.lowest) == (5.0, 4.0, 1250.0, 3000.0, 500.0)
    assert got.median == 500.0 and got.highest_from == use.index[1] and got.lowest_from == use.index[2]
    assert list(got.by_day["kwh"]) == [4.0, 1.0] and list(got.by_day["hours"]) == [2.0, 2.0]
    assert got.by_hour.loc[23, "power"] == 3000 and np.isnan(got.by_hour.loc[12, "power"])
    assert "3,000 W from 2025-01-15 23:00" in got.text()
    shifted = statistics(use, "Asia/Kolkata")  # 5 h 30 min on: the day begins within an hour
    assert list(shifted.by_day.index) == ["2025-01-16"] and shifted.by_hour.loc[3, "kwh"] == 0.5


def test_refuses_unusable_readings():
    use = use_of("2025-01-15", 3, "h", "Europe/London")
    for work in (lambda bad: cost_by_rate(bad, NIGHT), hourly, lambda bad: statistics(bad, "Europe/London")):
        with pytest.raises(OutOfRange, match="no intervals"):
            work(use.iloc[:0])
        with pytest.raises(Unreadable, match="no time zone"):
            work(use.tz_localize(None))
        with pytest.raises(OutOfRange, match="needs its kwh"):
            work(use.assign(kwh=np.nan))

"""Running cost and saving; expected values worked out by hand beside each case."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.core.units import Unreadable
from pondheat.money.running_cost import running_cost, saving
from pondheat.money.tariffs import Tariff
from pondheat.money.windows import Window

NIGHT = (Window("night", 0.12, "00:30", "07:30"),)
TARIFF = Tariff("night", NIGHT, otherwise=0.30, standing_charge=0.50, tax_rate=0.05)
TAXED = Tariff("night, tax on top", NIGHT, otherwise=0.30, standing_charge=0.50, tax_rate=0.05, tax_included=False)


def hourly(kwh, start="2025-10-01", timezone="Europe/London"):
    kwh = np.asarray(kwh, float)
    begin = pd.Timestamp(start, tz=timezone)
    return pd.Series(kwh, index=pd.date_range(begin, periods=len(kwh), freq="h"))


def test_one_day_by_hand():
    # 1 kWh in each of 24 hours: 7 at 12 p, 17 at 30 p = 0.84 + 5.10 = 5.94; one day of standing charge 0.50.
    cost = running_cost(hourly(np.ones(24)), TARIFF)
    assert cost.by_rate.loc["night"].tolist() == pytest.approx([7.0, 0.84])
    assert cost.by_rate.loc["other hours"].tolist() == pytest.approx([17.0, 5.10])
    assert (cost.energy_money, cost.standing_charge, cost.tax) == pytest.approx((5.94, 0.50, 0.0))
    assert cost.total == pytest.approx(6.44)
    # Of 6.44 with 5 % tax in it, 6.44 × 5/105 = 0.307 is tax.
    assert "The rates include 5 % tax: £0.31 of the total." in cost.notes and "Nothing is rounded." in cost.notes


def test_tax_on_top_and_rounding():
    # (5.94 + 0.50) × 1.05 = 6.762
    cost = running_cost(hourly(np.ones(24)), TAXED)
    assert (cost.tax, cost.total) == pytest.approx((0.322, 6.762))
    rounded = running_cost(hourly(np.ones(24)), Tariff("r", NIGHT, 0.30, 0.50, 0.05, False, rounding="hundredth"))
    assert rounded.total == pytest.approx(6.76, abs=1e-12) and rounded.energy_money == cost.energy_money
    assert "The total is rounded once, to whole p." in rounded.notes
    half = running_cost(hourly([0.5]), Tariff("r", otherwise=0.25, rounding="hundredth"))  # 0.125, half goes up
    assert half.total == pytest.approx(0.13, abs=1e-12)


def test_two_rates_by_hand():
    # 10 kWh at 12 p and 20 kWh at 30 p: £1.20 + £6.00.
    cost = running_cost(hourly([0, 0, 10] + [0] * 7 + [20]), Tariff("night", NIGHT, otherwise=0.30))
    assert cost.total == pytest.approx(7.20)


@pytest.mark.parametrize(
    "start, timezone, periods, days",
    [
        ("2025-03-30", "Europe/London", 23, 1),  # a day of 23 hours
        ("2025-10-26", "Europe/London", 25, 1),
        ("2025-10-01", "Europe/London", 212 * 24, 212),  # to 1 May: a day of 25 hours, one of 23
        ("2025-10-01 18:00", "Europe/London", 7 * 24, 7),
        ("2025-10-01 18:00", "Asia/Kathmandu", 5, 0),
        ("2025-10-01", "Asia/Kolkata", 23, 1),
    ],
)
def test_days_of_standing_charge(start, timezone, periods, days):
    cost = running_cost(hourly(np.zeros(periods), start, timezone), TARIFF)
    assert cost.standing_charge == pytest.approx(0.50 * days) and f"Standing charge for {days} days." in cost.notes


def test_months_are_local():
    # 1 November 00:00 in London is 00:00 UTC, 1 October 00:00 is 23:00 UTC of the day before.
    kwh = hourly(np.ones(31 * 24 + 1 + 24), "2025-10-01")
    cost = running_cost(kwh, TARIFF)
    assert cost.by_month.index.tolist() == ["2025-10", "2025-11"]
    assert cost.by_month["kwh"].tolist() == [31 * 24 + 1, 24]


@given(
    st.lists(st.floats(0, 20), min_size=1, max_size=72),
    st.floats(0, 50),
    st.sampled_from(["Europe/London", "Asia/Kathmandu", "Australia/Lord_Howe", "America/St_Johns"]),
    st.sampled_from(["2025-10-04", "2025-10-25", "2025-12-31"]),
)
@settings(max_examples=25, deadline=None)
def test_cost_is_linear_and_additive(kwh, factor, timezone, start):
    one = running_cost(hourly(kwh, start, timezone), TAXED)
    many = running_cost(hourly(np.array(kwh) * factor, start, timezone), TAXED)
    assert one.by_rate["money"].sum() == pytest.approx(one.energy_money, abs=1e-9)
    assert one.by_month["money"].sum() == pytest.approx(one.energy_money, abs=1e-9)
    assert one.by_month["kwh"].sum() == pytest.approx(sum(kwh), abs=1e-9)
    assert one.by_rate["kwh"].sum() == pytest.approx(sum(kwh), abs=1e-9)
    assert many.energy_money == pytest.approx(factor * one.energy_money, abs=1e-9)
    assert one.total == pytest.approx(one.energy_money + one.tax + one.standing_charge, abs=1e-12)


def test_a_year_of_hours_adds_up():
    kwh = hourly(np.random.default_rng(7).random(8760), "2025-09-01")
    cost = running_cost(kwh, TARIFF)
    assert cost.by_rate["money"].sum() == pytest.approx(cost.energy_money, abs=1e-9)
    assert cost.by_month["money"].sum() == pytest.approx(cost.energy_money, abs=1e-9)
    assert len(cost.by_month) == 12
    rates, _ = TARIFF.rates(kwh.index)
    assert cost.energy_money == pytest.approx((rates * kwh).sum(), abs=1e-9)


def test_gas_is_a_separate_rate():
    cost = running_cost(hourly(np.ones(24)), TAXED, gas_kwh=hourly(np.full(24, 2.0)), gas_rate=0.07)
    assert cost.by_rate.loc["gas"].tolist() == pytest.approx([48.0, 3.36])
    assert cost.energy_money == pytest.approx(5.94 + 3.36) and cost.by_month["kwh"].sum() == pytest.approx(72.0)
    assert cost.tax == pytest.approx(0.05 * (9.30 + 0.50))


def test_exported_electricity():
    tariff = Tariff("with export", otherwise=0.30, export_rate=0.10)
    # 3 kWh bought at 30 p, 2 kWh sent back at 10 p.
    cost = running_cost(hourly([3, -2]), tariff)
    assert cost.by_rate.loc["sent back"].tolist() == pytest.approx([-2.0, -0.20])
    assert cost.total == pytest.approx(0.70)


def test_saving_by_rate_and_month_without_standing_charge():
    # Covered from 00:00 to 08:00 on 31 October and 1 November: of 2 kWh an hour 1 kWh is saved in each of the 8 hours.
    open_kwh = hourly(np.full(48, 2.0), "2025-10-31")
    covered_kwh = open_kwh.where(open_kwh.index.hour >= 8, 1.0)
    saved = saving(running_cost(open_kwh, TAXED), running_cost(covered_kwh, TAXED))
    assert saved.by_rate.loc["night"].tolist() == pytest.approx([14.0, 1.68])
    assert saved.by_rate.loc["other hours"].tolist() == pytest.approx([2.0, 0.60])
    assert saved.by_month["kwh"].tolist() == pytest.approx([8.0, 8.0])
    assert (saved.energy_kwh, saved.energy_money) == pytest.approx((16.0, 2.28))
    assert (saved.tax, saved.total) == pytest.approx((0.114, 2.394))
    # With the tax in the rates the difference is the saving.
    saved = saving(running_cost(open_kwh, TARIFF), running_cost(covered_kwh, TARIFF))
    assert (saved.tax, saved.total) == pytest.approx((0.0, 2.28))


def test_saving_cheap_hours_saves_less_money_than_energy():
    # An invented pond: open 2.8 kW for 14 h of dark and 2.08 kW for 10 h of day, covered 0.7 kW in the dark; cheap
    # from midnight to seven. Saved 2.1 × 14 = 29.4 of 60 kWh, 49.0 %; 2.1 × (7 × 0.12 + 7 × 0.30) = 6.174 of
    # 2.8 × (7 × 0.12 + 7 × 0.30) + 2.08 × 10 × 0.30 = 14.472, 42.7 %.
    tariff = Tariff("seven cheap hours", (Window("night", 0.12, "00:00", "07:00"),), otherwise=0.30)
    dark = (np.arange(24) >= 17) | (np.arange(24) < 7)
    open_cost = running_cost(hourly(np.where(dark, 2.8, 2.08)), tariff)
    covered_cost = running_cost(hourly(np.where(dark, 0.7, 2.08)), tariff)
    saved = saving(open_cost, covered_cost)
    assert saved.energy_kwh / open_cost.by_rate["kwh"].sum() == pytest.approx(0.490)
    assert (saved.energy_money, open_cost.energy_money) == pytest.approx((6.174, 14.472))


def test_saving_between_different_periods_is_rejected():
    with pytest.raises(OutOfRange, match="same months"):
        saving(running_cost(hourly(np.ones(24)), TARIFF), running_cost(hourly(np.ones(24), "2025-11-01"), TARIFF))
    with pytest.raises(OutOfRange, match="same tax"):
        saving(running_cost(hourly(np.ones(24)), TARIFF), running_cost(hourly(np.ones(24)), TAXED))


@pytest.mark.parametrize(
    "kwh, arguments, sentence",
    [
        (hourly([1, np.nan]), {}, "no number for the hour from 2025-10-01 01:00"),
        (hourly([]), {}, "has no hours"),
        (hourly([1, -1]), {}, "export_rate"),
        (hourly([1, 1]).iloc[::-1], {}, "before the one ahead of it has ended"),
        (hourly([1, 1]), {"gas_kwh": hourly([1, 1])}, "gas_rate"),
        (hourly([1, 1]), {"gas_kwh": hourly([1, 1], "2025-10-02"), "gas_rate": 0.07}, "same hours"),
        (hourly([1, 1]), {"gas_kwh": hourly([1, np.inf]), "gas_rate": 0.07}, "gas_kwh: there is no number"),
    ],
)
def test_invalid_hours(kwh, arguments, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        running_cost(kwh, TARIFF, **arguments)


def test_hours_without_a_time_zone_are_rejected():
    with pytest.raises(Unreadable, match="no time zone"):
        running_cost(pd.Series([1.0], index=pd.DatetimeIndex(["2025-10-01"])), TARIFF)

"""Payback and present value: published values with their source, and sums of single payments."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.money import payback


@pytest.mark.parametrize(
    "function, arguments, value, places",
    [
        # Standard compound-interest definitions, recomputed by hand and with numpy-financial 1.0.0, as printed.
        (payback.present_worth_factor, {"discount_rate": 0.35, "years": 10}, 2.715, 3),
        (payback.present_worth_factor, {"discount_rate": 0.0025, "years": 12}, 11.8073, 4),
        (payback.present_value_of_one, {"discount_rate": 0.07, "years": 6}, 0.6663, 4),
        (payback.yearly_cost_of_owning, {"price": 1, "years": 5, "discount_rate": 0.35}, 0.4505, 4),
        (payback.discounted_payback, {"price": 90, "yearly_saving": 20, "discount_rate": 0.04}, 5.060, 3),
        (payback.net_present_value, {"price": 90, "yearly_saving": 20, "years": 8, "discount_rate": 0.04}, 44.65, 2),
        # numpy's financial doctests, in a public repository.
        (payback.present_value, {"yearly_saving": 12000, "years": 20, "discount_rate": 0.07}, 127128.17, 2),
    ],
)
def test_printed_values(function, arguments, value, places):
    assert round(function(**arguments), places) == value


def test_real_and_nominal_routes_agree():
    # Guide to Energy Management, example 4.14: a saving of 25 000 in today's money, rising 25 % a year, over 3 years;
    # 4 % real is 30 % nominal. Both routes print 69 377.
    real = payback.real_rate(nominal=0.30, inflation=0.25)
    assert round(payback.present_value(25_000, 3, real)) == 69_377
    risen = [25_000 * 1.25**year for year in (1, 2, 3)]
    nominal_route = sum(saved * payback.present_value_of_one(0.30, year) for year, saved in enumerate(risen, start=1))
    assert round(nominal_route) == 69_377
    # The mistake: money of the year, brought back with the real rate.
    mixed = sum(saved * payback.present_value_of_one(real, year) for year, saved in enumerate(risen, start=1))
    assert round(mixed) == 109_572


def test_three_winters_at_five_percent():
    # By hand: 150/1.05 + 150/1.1025 + 150/1.157625 = 142.857 + 136.054 + 129.576 = 408.487.
    assert round(payback.present_value(150, 3, 0.05), 2) == 408.49
    assert round(payback.net_present_value(180, 150, 3, 0.05), 2) == 228.49


@given(st.floats(0, 1000), st.integers(0, 60), st.floats(-0.4, 0.9))
def test_present_value_is_the_sum_of_its_flows(saved, years, rate):
    flows = sum(saved / (1 + rate) ** year for year in range(1, years + 1))
    assert payback.present_value(saved, years, rate) == pytest.approx(flows, rel=1e-9, abs=1e-9)


@given(st.floats(1, 1e5), st.floats(0.01, 1e5), st.floats(0, 0.9))
def test_net_present_value_is_zero_at_the_discounted_payback(price, saved, rate):
    years = payback.discounted_payback(price, saved, rate)
    if math.isinf(years):
        # Even for ever the savings are worth no more than saved/rate.
        assert saved <= rate * price
    elif years <= 200:
        assert payback.net_present_value(price, saved, years, rate) == pytest.approx(0.0, abs=1e-6 * price)
    assert years >= payback.simple_payback(price, saved) * (1 - 1e-9)


@given(st.floats(1, 1e5), st.floats(0.5, 60), st.floats(-0.4, 0.9))
def test_present_value_of_the_yearly_cost_is_the_price(price, years, rate):
    yearly = payback.yearly_cost_of_owning(price, years, rate)
    assert payback.present_value(yearly, years, rate) == pytest.approx(price, rel=1e-9)


@given(st.floats(-0.4, 1.9), st.floats(-0.4, 1.9))
def test_real_rate_and_inflation_give_the_nominal_rate(nominal, inflation):
    real = payback.real_rate(nominal, inflation)
    assert (1 + real) * (1 + inflation) == pytest.approx(1 + nominal, rel=1e-12)


def test_no_payback_is_infinite():
    assert payback.simple_payback(100, 0) == payback.simple_payback(100, -1) == math.inf
    assert payback.discounted_payback(100, 5, 0.05) == math.inf  # the saving just pays the interest
    assert payback.discounted_payback(100, 5.01, 0.05) < math.inf
    assert payback.discounted_payback(100, -5, 0.05) == payback.discounted_payback(100, -5, -0.1) == math.inf


def test_zero_interest_gives_the_simple_payback():
    assert payback.discounted_payback(1000, 250, 0) == 4.0
    assert payback.discounted_payback(1000, 250, 1e-12) == pytest.approx(4.0, rel=1e-9)
    assert payback.present_worth_factor(0, 7) == 7.0
    assert payback.present_worth_factor(1e-12, 7) == pytest.approx(7.0, rel=1e-9)


def test_arrays_broadcast_without_a_warning():
    prices, savings = np.array([[100.0], [400.0]]), np.array([0.0, 20.0, 100.0])
    with np.errstate(all="raise"):
        simple = payback.simple_payback(prices, savings)
        assert np.array_equal(simple, [[np.inf, 5.0, 1.0], [np.inf, 20.0, 4.0]])
        rates = np.array([0.0, 0.05, 0.2])
        years = payback.discounted_payback(prices, savings, rates)
    for row, price in enumerate((100.0, 400.0)):
        for column in range(3):
            one = payback.discounted_payback(price, savings[column], rates[column])
            assert type(one) is float and years[row, column] == one


def test_invalid_arguments():
    with pytest.raises(OutOfRange, match="lasts 0 years"):
        payback.yearly_cost_of_owning(100, 0, 0.05)
    with pytest.raises(OutOfRange, match="did you mean 5 %"):
        payback.present_value(100, 3, 5)
    with pytest.raises(OutOfRange):
        payback.winter_text(math.nan)


@pytest.mark.parametrize(
    "years, words",
    [
        (0.83, "in the first winter"),
        (1.0, "in the first winter"),
        (1.2, "in the second winter"),
        (2.0000000001, "in the second winter"),
        (11.5, "in the twelfth winter"),
        (20.5, "in the 21st winter"),
        (12.0, "in the twelfth winter"),
        (21.2, "in the 22nd winter"),
        (110.5, "in the 111th winter"),
        (math.inf, "never"),
        (0.0, "at once"),
    ],
)
def test_winter_text(years, words):
    assert payback.winter_text(years) == words

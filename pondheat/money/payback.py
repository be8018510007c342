"""Payback times and present values.

The price is paid now, the first yearly saving comes at the end of the first year, the others a year apart. Yearly
saving and rate of interest must match: both in today's money (a real rate), or both in the money of the year (a nominal
rate). `real_rate` converts one into the other; mixing them makes a purchase look far better than it is.
"""

from __future__ import annotations

import math

import numpy as np

from pondheat.core.ranges import OutOfRange, plain, require

# A rate below this counts as zero: 1/i would magnify rounding errors, and over 200 years the tenth digit is unaffected.
_ZERO_RATE = 1e-12
_ORDINALS = (
    "",
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
)


def simple_payback(price, yearly_saving):
    """Simple payback time [year]: price / yearly_saving; inf where nothing is saved.

    price: [money]; yearly_saving: [money]; floats or arrays. Ignores interest and wear. Raises OutOfRange.
    Source: by definition.

    >>> simple_payback(price=1000.0, yearly_saving=250.0), simple_payback(price=1000.0, yearly_saving=-5.0)
    (4.0, inf)
    """
    require(price=price, yearly_saving=yearly_saving)
    price, yearly_saving = np.asarray(price, float), np.asarray(yearly_saving, float)
    saves = yearly_saving > 0
    return plain(np.where(saves, price / np.where(saves, yearly_saving, 1.0), np.inf))


def discounted_payback(price, yearly_saving, discount_rate):
    """Discounted payback time [year]; inf where the discounted savings never reach the price.

    price: [money]; yearly_saving: [money]; discount_rate: [–]; floats or arrays.
    Formula: −ln(1 − i P/A) / ln(1 + i), the present-worth factor solved for n, also within a year; infinite where
    A ≤ i P; i = 0 gives the simple payback. The first saving comes after one year. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(discounted_payback(price=400.0, yearly_saving=100.0, discount_rate=0.2), 2)
    8.83
    """
    require(price=price, yearly_saving=yearly_saving, discount_rate=discount_rate)
    price, yearly_saving, rate = (np.asarray(given, float) for given in (price, yearly_saving, discount_rate))
    pays = (yearly_saving > 0) & (yearly_saving > rate * price)
    ratio = price / np.where(pays, yearly_saving, 1.0)
    no_interest = np.abs(rate) < _ZERO_RATE
    nonzero_rate = np.where(no_interest, 1.0, rate)
    discounted = np.log1p(-np.where(pays & ~no_interest, nonzero_rate * ratio, 0.0)) / -np.log1p(nonzero_rate)
    years = np.where(no_interest, ratio, discounted)
    return plain(np.where(pays, years, np.inf))


def present_worth_factor(discount_rate, years):
    """Present worth of one unit of money a year for n years [–]: (1 − (1 + i)^−n)/i; i = 0 gives n.

    discount_rate: [–]; years: [–]; floats or arrays. The first unit comes after one year. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(present_worth_factor(discount_rate=0.03, years=20.0), 5)      # numpy-financial 1.0.0 gives 14.87747
    14.87747
    """
    require(discount_rate=discount_rate, years=years)
    rate, years = np.asarray(discount_rate, float), np.asarray(years, float)
    no_interest = np.abs(rate) < _ZERO_RATE
    nonzero_rate = np.where(no_interest, 1.0, rate)
    return plain(np.where(no_interest, years, -np.expm1(-years * np.log1p(nonzero_rate)) / nonzero_rate))


def present_value_of_one(discount_rate, years):
    """Present value of one unit of money paid once after n years [–]: (1 + i)^−n.

    discount_rate: [–]; years: [–]; floats or arrays. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(present_value_of_one(discount_rate=0.1, years=5.0), 4)
    0.6209
    """
    require(discount_rate=discount_rate, years=years)
    return plain((1 + np.asarray(discount_rate, float)) ** -np.asarray(years, float))


def present_value(yearly_saving, years, discount_rate):
    """Present value of a yearly saving [money]: yearly_saving × present-worth factor.

    yearly_saving: [money]; years: [–]; discount_rate: [–]; floats or arrays. The first saving comes after one year.
    Raises OutOfRange. Source: Guide to Energy Management, example 4.14, prints 69 377 for this:

    >>> round(present_value(yearly_saving=25000.0, years=3.0, discount_rate=0.04))
    69377
    """
    require(yearly_saving=yearly_saving)
    return plain(np.asarray(yearly_saving, float) * present_worth_factor(discount_rate, years))


def net_present_value(price, yearly_saving, years, discount_rate):
    """Net present value of a purchase [money]: present value of the savings − price.

    price: [money], paid now; yearly_saving: [money], the first after one year; years: [–]; discount_rate: [–]; floats
    or arrays. Raises OutOfRange. Source: standard compound-interest definitions.

    >>> round(net_present_value(price=90.0, yearly_saving=20.0, years=8.0, discount_rate=0.04), 2)
    44.65
    """
    require(price=price)
    return plain(present_value(yearly_saving, years, discount_rate) - np.asarray(price, float))


def yearly_cost_of_owning(price, years, discount_rate):
    """Equivalent annual cost of a purchase [money]: price / present-worth factor, paid at the end of each year.

    price: [money]; years: [–], above 0; discount_rate: [–]; floats or arrays. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(yearly_cost_of_owning(price=1.0, years=5.0, discount_rate=0.35), 4)
    0.4505
    """
    require(price=price)
    factor = present_worth_factor(discount_rate, years)
    if np.any(np.asarray(factor) <= 0):
        raise OutOfRange("Something that lasts 0 years has no yearly cost: give a life above 0 years.")
    return plain(np.asarray(price, float) / factor)


def real_rate(nominal, inflation):
    """Real rate of interest, that is in today's money [–]: (1 + nominal)/(1 + inflation) − 1.

    nominal: [–], yearly rate in the money of the year; inflation: [–], yearly rise of the price in question; floats or
    arrays. Raises OutOfRange. Source: Guide to Energy Management, example 4.14 (30 % at 25 % escalation is 4 %).

    >>> round(real_rate(nominal=0.30, inflation=0.25), 10)
    0.04
    """
    require(nominal=nominal, inflation=inflation)
    return plain((1 + np.asarray(nominal, float)) / (1 + np.asarray(inflation, float)) - 1)


def winter_text(years: float) -> str:
    """Text naming the winter in which a payback time of `years` [–] is reached.

    >>> winter_text(1.2), winter_text(0.0), winter_text(13.5), winter_text(float("inf"))
    ('in the second winter', 'at once', 'in the 14th winter', 'never')

    Raises OutOfRange below 0 and for NaN.
    """
    if math.isnan(years) or years < 0:
        raise OutOfRange(f"{years:g} years is not a time in which to pay back.")
    if math.isinf(years):
        return "never"
    # Rounding errors must not push a payback of 2.0000000001 years into the third winter.
    winter = math.ceil(round(years, 6))
    if winter == 0:
        return "at once"
    if winter < len(_ORDINALS):
        return f"in the {_ORDINALS[winter]} winter"
    suffix = "th" if winter % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(winter % 10, "th")
    return f"in the {winter}{suffix} winter"

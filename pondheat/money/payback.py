"""When a purchase is paid back, and what later money is worth today.

The price is paid now; the first yearly saving comes one year on, at the year's end, the others each a year later.
Yearly saving and rate of interest go together: both in today's money (a real rate), or both in the money of the year
(a nominal rate). `real_rate` turns one into the other; mixing them makes a purchase look far better than it is.
"""

from __future__ import annotations

import math

import numpy as np

from pondheat.core.ranges import OutOfRange, plain, require

# Below this a rate of interest is none: 1/i would magnify the rounding of floats, and over 200 years it changes
# nothing in the tenth digit.
_NO_INTEREST = 1e-12
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
    """Years until the savings add up to the price [year]: price / yearly_saving; inf where nothing is saved.

    price: [money]; yearly_saving: [money]; floats or arrays. No interest, no wear. Raises OutOfRange.
    Source: by definition.

    >>> simple_payback(price=1000.0, yearly_saving=250.0), simple_payback(price=1000.0, yearly_saving=-5.0)
    (4.0, inf)
    """
    require(price=price, yearly_saving=yearly_saving)
    price, yearly_saving = np.asarray(price, float), np.asarray(yearly_saving, float)
    saves = yearly_saving > 0
    return plain(np.where(saves, price / np.where(saves, yearly_saving, 1.0), np.inf))


def discounted_payback(price, yearly_saving, discount_rate):
    """Years until the savings, each worth less the later it comes, add up to the price [year]; inf where they never do.

    price: [money]; yearly_saving: [money]; discount_rate: [–]; floats or arrays.
    −ln(1 − i P/A) / ln(1 + i): the present-worth factor's formula carried on inside a year. Never where A ≤ i P;
    i = 0 gives the simple payback. First saving one year on. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(discounted_payback(price=400.0, yearly_saving=100.0, discount_rate=0.2), 2)
    8.83
    """
    require(price=price, yearly_saving=yearly_saving, discount_rate=discount_rate)
    price, yearly_saving, rate = (np.asarray(given, float) for given in (price, yearly_saving, discount_rate))
    pays = (yearly_saving > 0) & (yearly_saving > rate * price)
    ratio = price / np.where(pays, yearly_saving, 1.0)
    free = np.abs(rate) < _NO_INTEREST
    some = np.where(free, 1.0, rate)
    worth_less = np.log1p(-np.where(pays & ~free, some * ratio, 0.0)) / -np.log1p(some)
    years = np.where(free, ratio, worth_less)
    return plain(np.where(pays, years, np.inf))


def present_worth_factor(discount_rate, years):
    """What one unit of money a year for some years is worth today [–]: (1 − (1 + i)^−n)/i; i = 0 gives n.

    discount_rate: [–]; years: [–]; floats or arrays. First unit one year on. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(present_worth_factor(discount_rate=0.03, years=20.0), 5)      # numpy-financial 1.0.0 gives 14.87747
    14.87747
    """
    require(discount_rate=discount_rate, years=years)
    rate, years = np.asarray(discount_rate, float), np.asarray(years, float)
    free = np.abs(rate) < _NO_INTEREST
    some = np.where(free, 1.0, rate)
    return plain(np.where(free, years, -np.expm1(-years * np.log1p(some)) / some))


def present_value_of_one(discount_rate, years):
    """What one unit of money, paid once after some years, is worth today [–]: (1 + i)^−n.

    discount_rate: [–]; years: [–]; floats or arrays. Raises OutOfRange.
    Source: standard compound-interest definitions.

    >>> round(present_value_of_one(discount_rate=0.1, years=5.0), 4)
    0.6209
    """
    require(discount_rate=discount_rate, years=years)
    return plain((1 + np.asarray(discount_rate, float)) ** -np.asarray(years, float))


def present_value(yearly_saving, years, discount_rate):
    """What a saving each year is worth today [money]: yearly_saving × present-worth factor.

    yearly_saving: [money]; years: [–]; discount_rate: [–]; floats or arrays. First saving one year on.
    Raises OutOfRange. Source: Guide to Energy Management, example 4.14, prints 69 377 for this:

    >>> round(present_value(yearly_saving=25000.0, years=3.0, discount_rate=0.04))
    69377
    """
    require(yearly_saving=yearly_saving)
    return plain(np.asarray(yearly_saving, float) * present_worth_factor(discount_rate, years))


def net_present_value(price, yearly_saving, years, discount_rate):
    """What is left after the price, in today's money [money]: present value of the savings − price.

    price: [money], paid now; yearly_saving: [money], first one year on; years: [–]; discount_rate: [–]; floats or
    arrays. Raises OutOfRange. Source: standard compound-interest definitions.

    >>> round(net_present_value(price=90.0, yearly_saving=20.0, years=8.0, discount_rate=0.04), 2)
    44.65
    """
    require(price=price)
    return plain(present_value(yearly_saving, years, discount_rate) - np.asarray(price, float))


def yearly_cost_of_owning(price, years, discount_rate):
    """Even yearly payment that is worth the price [money]: price / present-worth factor, each at the year's end.

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
    """Rate of interest in today's money [–]: (1 + nominal)/(1 + inflation) − 1.

    nominal: [–], yearly rate in the money of the year; inflation: [–], yearly rise of the price in question; floats or
    arrays. Raises OutOfRange. Source: Guide to Energy Management, example 4.14 (30 % at 25 % escalation is 4 %).

    >>> round(real_rate(nominal=0.30, inflation=0.25), 10)
    0.04
    """
    require(nominal=nominal, inflation=inflation)
    return plain((1 + np.asarray(nominal, float)) / (1 + np.asarray(inflation, float)) - 1)


def in_words(years: float) -> str:
    """When a payback of some years [–] falls, as a keeper says it: the winter in which the price is met.

    >>> in_words(1.2), in_words(0.0), in_words(13.5), in_words(float("inf"))
    ('in the second winter', 'at once', 'in the 14th winter', 'never')

    Raises OutOfRange below 0 and for what is no number.
    """
    if math.isnan(years) or years < 0:
        raise OutOfRange(f"{years:g} years is no time to pay back.")
    if math.isinf(years):
        return "never"
    # A payback of 2.0000000001 years, by the last digit of a division, is met in the second winter.
    winter = math.ceil(round(years, 6))
    if winter == 0:
        return "at once"
    if winter < len(_ORDINALS):
        return f"in the {_ORDINALS[winter]} winter"
    last = "th" if winter % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(winter % 10, "th")
    return f"in the {winter}{last} winter"

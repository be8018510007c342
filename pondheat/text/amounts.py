"""Amounts as a keeper says them: no finer than their likely range, money in steps of tens and hundreds."""

from __future__ import annotations

import math

from pondheat.analysis.results import LikelyRange
from pondheat.core import units

WIDE_SHARE = 0.10  # width of a share's likely range [–] from which it is rounded to 5 per cent


def rounding_step(value: float, likely: LikelyRange | None = None) -> float:
    """The step to which an amount is rounded: a tenth of its likely range, otherwise its second or third figure.

    value, likely: money or kWh. Never coarser than a tenth of the amount's own size, so that a wide range does not
    round the amount away.

    >>> rounding_step(1326, LikelyRange(1130, 1320, 1530)), rounding_step(2285), rounding_step(92)
    (10.0, 10.0, 1.0)
    """
    size = abs(value)
    own = _power_of_ten(size) / (100 if size >= 1000 else 10)
    if likely is None or not math.isfinite(likely.high - likely.low):
        return own
    of_range = _power_of_ten(abs(likely.high - likely.low)) / 10  # of one input's effect either end may be the larger
    return max(min(of_range, _power_of_ten(size) / 10), min(own, of_range))


def _power_of_ten(size: float) -> float:
    """The largest power of ten that is not above a size; 1e-2 for next to nothing."""
    return 10.0 ** math.floor(math.log10(max(size, 0.01)) + 1e-9)


def rounded(value: float, step: float) -> float:
    """A value rounded to a multiple of `step`, halves away from zero.

    >>> rounded(1326, 10), rounded(-25, 10)
    (1330.0, -30.0)
    """
    size = math.floor(abs(value) / step + 0.5) * step
    return math.copysign(size, value) if size else 0.0


def keeper_money(value: float, currency: units.Currency, step: float) -> str:
    """An amount of money rounded to a step, with its hundredths only below 20.

    >>> keeper_money(1326, units.GBP, 10), keeper_money(18.41, units.GBP, 1)
    ('£1,330', '£18')
    """
    return units.money(rounded(value, step), currency, 2 if step < 1 and abs(value) < 20 else 0)


def keeper_kwh(value: float, step: float) -> str:
    """An energy [kWh] rounded to a step, with its unit; one decimal place below 10."""
    return f"{units.digits(rounded(value, step), 1 if step < 1 and abs(value) < 10 else 0)} kWh"


def keeper_amount(value: float, currency: units.Currency | None, step: float) -> str:
    """An amount of money rounded to a step; of energy [kWh] where there is no currency."""
    return keeper_kwh(value, step) if currency is None else keeper_money(value, currency, step)


def rounded_share(share: float, width: float = 0.0) -> int:
    """A share [–] in per cent, to a step of 5 where its likely range is at least WIDE_SHARE wide [–].

    A step of 2 would look like an exact number and contradict the one in the details.

    >>> rounded_share(0.551, 0.37), rounded_share(0.551)
    (55, 55)
    """
    step = 5 if width >= WIDE_SHARE else 1
    return step * math.floor(100 * share / step + 0.5)


def share_of(amount: float, whole: float, likely: LikelyRange | None = None) -> int:
    """An amount as a share of a whole, in per cent, as `rounded_share` rounds it; likely: the amount's likely range.

    >>> share_of(551, 1000, LikelyRange(400, 560, 770)), share_of(551, 1000), share_of(582, 1000)
    (55, 55, 58)
    """
    width = 0.0 if likely is None else likely.high - likely.low
    return rounded_share(amount / whole, width / whole if math.isfinite(width) else 1.0)


def hours_text(hours: float) -> str:
    """A number of hours with the word, in the singular after 1.

    >>> hours_text(1), hours_text(1234)
    ('1 hour', '1,234 hours')
    """
    return f"{units.digits(hours)} {'hour' if units.digits(hours) == '1' else 'hours'}"

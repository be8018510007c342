"""How numbers are printed on the decision sheet."""

from __future__ import annotations

import math

from pondheat.core import units
from pondheat.money import payback


def three_figures(value: float) -> str:
    """A number with three significant figures, one below 1."""
    return units.significant(value, 3 if abs(value) >= 1 else 1)


def as_given(value: float) -> str:
    """A size of the sheet with up to four significant figures, no trailing zeros, and no power of ten.

    >>> as_given(10.0), as_given(3.3981), as_given(20000.0)
    ('10', '3.398', '20,000')
    """
    return f"{value:.4g}" if abs(value) < 9999.5 else units.significant(value, 4)


def money(value: float, currency: units.Currency, figures: int = 3) -> str:
    """An amount of money with `figures` significant figures, to the hundredth below 20."""
    return units.money(value if abs(value) < 20 else float(f"{value:.{figures}g}"), currency)


def seasons(value: float) -> str:
    """A number of seasons with two significant figures, or “never”."""
    return units.significant(value, 2) if math.isfinite(value) else "never"


def payback_time(value: float) -> str:
    """A payback in seasons and as the winter in which it falls, or “never”."""
    return f"{seasons(value)} such seasons, {payback.winter_text(value)}" if math.isfinite(value) else "never"

"""Plain text for the shell: line width, and how amounts, dates and likely ranges are written."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
import textwrap
from collections.abc import Callable
from typing import TextIO

from pondheat.analysis.results import LikelyRange
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits


def terminal_width(stream: TextIO = sys.stdout) -> int:
    """Columns of text for a stream: 100, or those of a narrower terminal, though never less than 60."""
    if not stream.isatty():
        return 100
    return max(60, min(100, shutil.get_terminal_size((100, 25)).columns))


WIDTH = terminal_width()


def wrapped(text: str, bullet: str = "", usual: DisplayUnits = METRIC) -> list[str]:
    """Lines of at most WIDTH columns, the first after a bullet and the others indented below it.

    usual: units that are added to the quantities marked in the text.
    """
    return textwrap.wrap(usual.with_alt_units(text), WIDTH, initial_indent=bullet, subsequent_indent=" " * len(bullet))


def kwh_text(value: float) -> str:
    """An energy [kWh] without its unit; below 10 with one decimal place."""
    return units.digits(value, 0 if abs(value) >= 10 else 1)


def kw_text(value: float) -> str:
    """A power [kW] without its unit; below 1 in two figures, so that a small tank's heater can be chosen by it.

    >>> kw_text(0.1736), kw_text(4.71), kw_text(6359.96)
    ('0.17', '4.7', '6,360')
    """
    return units.digits(value, 1 if value < 100 else 0) if value >= 1 else units.significant(value, 2)


def day_text(date: dt.date) -> str:
    """A date, as in 1 September 2025."""
    return f"{date.day} {date:%B %Y}"


def range_text(found: LikelyRange, write: Callable[[float], str]) -> str:
    """A likely range; write: turns one of its ends into text."""
    return f"likely {write(found.low)} to {write(found.high)}"

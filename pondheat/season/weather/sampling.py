"""The interval that each row of a measured table stands for, in tables that change it or have slower columns."""

from __future__ import annotations

import numpy as np
import pandas as pd

_FEWEST = 6  # equal steps in a row that are another interval; fewer are gaps


def row_minutes(start: pd.DatetimeIndex, usual: float, ends: bool = False) -> np.ndarray | None:
    """Minutes that each row stands for, in the order given; None where all stand for the usual interval.

    start: times of the rows; usual: the commonest interval [min]; ends: whether a time is the end of its interval.
    A row stands for more than usual only among at least six equal, longer steps of up to an hour: a single long step
    is a gap.
    """
    moments = start.as_unit("ns").asi8
    order = np.argsort(moments, kind="stable")
    moments = moments[order]
    steps = np.round(np.diff(moments) / 60e9, 3)
    long = (steps > 1.5 * usual) & (steps <= 60)
    if long.sum() < _FEWEST:
        return None
    begins = np.flatnonzero(np.append(True, steps[1:] != steps[:-1]))
    lengths = np.diff(np.append(begins, len(steps)))
    own = np.repeat(lengths >= _FEWEST, lengths) & long
    if not own.any():
        return None
    minutes = np.full(len(moments), usual)
    at = np.flatnonzero(own)
    minutes[at + ends] = steps[at]
    if not ends and own[-1]:
        minutes[-1] = steps[-1]
    elif ends and own[0]:
        minutes[0] = steps[0]
    found = np.empty(len(moments))
    found[order] = minutes
    return found


def present_minutes(start: pd.DatetimeIndex, present: np.ndarray, usual: float) -> np.ndarray | None:
    """`row_minutes` of the rows that have a value, zero for the others; None where all have the usual interval."""
    found = row_minutes(start[present], usual) if present.any() else None
    if found is None:
        return None
    minutes = np.zeros(len(present))
    minutes[present] = found
    return minutes

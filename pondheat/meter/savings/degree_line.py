"""A straight line through nights, by hand or by least squares: a night's use against how cold it was.

It is the simplest fair comparison: covered nights against what the open line gives for their own weather. The two short
ways that mislead, average nights and use per degree, are worked out beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.meter.savings.estimators import least_squares


@dataclass(frozen=True)
class StraightLine:
    """Use of a night with water and air equally warm [kWh], and for each kelvin that the water is warmer [kWh/K]."""

    at_zero: float
    per_kelvin: float

    def at(self, warmer):
        """Use of a night with the water that much warmer than the air [kWh]; float or array [K]."""
        return self.at_zero + self.per_kelvin * warmer

    def squares(self, warmer, used) -> float:
        """Sum of the squared misses of some nights [kWh²]."""
        return float(((np.asarray(used, float) - self.at(np.asarray(warmer, float))) ** 2).sum())

    def typical_miss(self, warmer, used) -> float:
        """Root of the mean squared miss of some nights [kWh]."""
        return float(np.sqrt(self.squares(warmer, used) / len(used)))


def line_between(first: tuple[float, float], second: tuple[float, float]) -> StraightLine:
    """The line through two points of temperature difference [K] and use [kWh]; the differences must not be equal."""
    slope = (second[1] - first[1]) / (second[0] - first[0])
    return StraightLine(first[1] - slope * first[0], slope)


def fitted_line(warmer, used) -> StraightLine:
    """The line with the least sum of squared misses; raises Undetermined for fewer than three nights.

    warmer: of each night, by how many kelvin the water was warmer than the air; used: its kWh.
    """
    warmer = np.asarray(warmer, float)
    return StraightLine(*least_squares(np.column_stack([np.ones(len(warmer)), warmer]), used).coefficients.tolist())


@dataclass(frozen=True)
class NightSavings:
    """The saving of the same covered nights in three ways [–]: the open nights' line, average nights, per degree."""

    by_line: float
    by_average: float
    per_degree: float


def savings_of_nights(open_warmer, open_used, covered_warmer, covered_used) -> NightSavings:
    """What the covered nights saved, by the line through the open ones and by the two ways that mislead.

    All arguments: one value a night, differences in kelvin and uses in kWh.
    """
    opened, covered = np.asarray(open_warmer, float), np.asarray(covered_warmer, float)
    used, took = np.asarray(open_used, float), np.asarray(covered_used, float)
    expected = fitted_line(opened, used).at(covered)
    return NightSavings(
        1 - float(took.sum() / expected.sum()),
        1 - float(took.mean() / used.mean()),
        1 - float((took.sum() / covered.sum()) / (used.sum() / opened.sum())),
    )

"""The pond as a store of heat: a little warmer in the cheap hours, a little cooler in the dear ones.

Warm water loses more, so stored heat is never free; how much it loses only a run hour by hour can tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

DAY_HOURS = 24
LIQUID = 1.0  # °C; no band takes water that is held nearer to freezing


@dataclass(frozen=True)
class Band:
    """How far the thermostat is set above the set point in cheap hours, and below it in dear ones [K]."""

    above: float
    below: float

    @property
    def width(self) -> float:
        """From the one to the other [K]."""
        return self.above + self.below


# Few and round, none wider than the customary 1 K a day (judgement); a wider band would store more and stress more.
BANDS = (Band(0.5, 0.0), Band(0.75, 0.0), Band(1.0, 0.0), Band(0.5, 0.25), Band(0.75, 0.25), Band(0.5, 0.5))


def set_points(
    set_point: np.ndarray,
    cheap: np.ndarray,
    dear: np.ndarray,
    band: Band,
    floor: float | None = None,
    ceiling: float | None = None,
) -> np.ndarray:
    """The thermostat's setting of each hour in a band about the set point, as an array.

    set_point: [degC] one an hour, NaN where nothing is held; cheap, dear: True in such hours, both False where the band
    is not used; floor, ceiling: lowest and highest water that is accepted, never passed by the band, though a set point
    that already lies beyond one is left where it is.

    >>> night, day = np.array([True, False, False]), np.array([False, True, False])
    >>> set_points(np.full(3, 18.0), night, day, Band(0.75, 0.25)).tolist()
    [18.75, 17.75, 18.0]
    """
    warmest = np.maximum(set_point, np.inf if ceiling is None else ceiling)
    coolest = np.minimum(set_point, max(LIQUID, LIQUID if floor is None else floor))
    stepped = np.where(cheap, np.minimum(set_point + band.above, warmest), set_point)
    return np.where(dear, np.maximum(set_point - band.below, coolest), stepped)


def fastest_rise(water_temp: np.ndarray, heater: np.ndarray) -> float:
    """The most by which water stood above its coldest of the 24 hours before while the heater ran [K], 0 for never.

    water_temp: [degC] at the end of each hour; heater: mean heat of each hour, any unit. What the sun alone warms is
    left out.

    >>> fastest_rise(np.array([18.0, 17.5, 17.9, 20.0]), np.array([0.0, 0.0, 3000.0, 0.0]))
    0.4
    """
    water = pd.Series(np.asarray(water_temp, float))
    rise = (water - water.rolling(DAY_HOURS, min_periods=1).min().shift(1))[np.asarray(heater) > 0].max()
    return 0.0 if np.isnan(rise) else round(max(float(rise), 0.0), 9)

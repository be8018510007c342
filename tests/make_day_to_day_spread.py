"""Print how much daily mean temperatures scatter about the smooth year, for `season.weather.normals`.

    python tests/make_day_to_day_spread.py

Worked out from the fifteen German test reference years (Deutscher Wetterdienst and BBSR, hours of real days of 1988 to
2007) that the package demandlib holds. Of each: daily means, less the curve that is linear between mid-months and keeps
every monthly mean; of what is left the standard deviation in each month, and the correlation from one day to the next.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from pondheat.season.weather import weather
from pondheat.season.weather.normals import MONTHS, YearGrid

_YEAR = 2025  # any year without 29 February


def departures(name: str) -> np.ndarray:
    """Daily mean temperatures of a built-in year less its smooth curve [K]."""
    temps = weather.read(name, timezone="Etc/GMT-1", year=_YEAR).hours["air_temp"].to_numpy()
    grid = YearGrid(_YEAR)
    return (temps - grid.smooth(grid.monthly_means(temps))).reshape(-1, 24).mean(axis=1)


def statistics() -> tuple[np.ndarray, float]:
    """Standard deviation by month [K] and correlation from day to day [–], over all fifteen years."""
    month = pd.date_range(f"{_YEAR}-01-01", periods=365).month.to_numpy() - 1
    years = [departures(name) for name, (package, _) in weather.BUILT_IN.items() if package == "demandlib"]
    squares = np.mean([[np.mean(one[month == each] ** 2) for each in range(MONTHS)] for one in years], axis=0)
    return np.sqrt(squares), float(np.mean([np.corrcoef(one[:-1], one[1:])[0, 1] for one in years]))


if __name__ == "__main__":
    spread, kept = statistics()
    print("standard deviation from January [K]:", " ".join(f"{value:.1f}" for value in spread))
    print(f"kept from one day to the next: {kept:.2f}")

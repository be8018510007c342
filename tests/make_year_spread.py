"""Print how much a heating season's mean air temperature differs from year to year, for `YEAR_SPREAD`.

    python tests/make_year_spread.py FOLDER          # twelve files regional_averages_tm_01.txt to _12.txt
    python tests/make_year_spread.py FILE            # cetml1659on.dat

FOLDER: the monthly means over Germany of the Deutscher Wetterdienst, CC BY 4.0, from opendata.dwd.de under
climate_environment/CDC/regional_averages_DE/monthly/air_temperature_mean. FILE: the monthly means of central England,
HadCET (Parker, Legg and Folland 1992; Met Office Hadley Centre, Crown copyright). Neither is shipped here. Of each: the
mean of September to May, weighted by the days of the months, for every whole season that begins in 1987 or later.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

FIRST = 1987
_DAYS = dict(zip(range(1, 13), (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)))
_SEASON = (9, 10, 11, 12, 1, 2, 3, 4, 5)


def of_germany(folder: Path) -> pd.DataFrame:
    """Monthly means by year (index) and month [degC]."""
    months = {}
    for month in range(1, 13):
        path = next(folder.glob(f"*{month:02d}.txt"))
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if ";" in line]
        head = [cell.strip() for cell in next(line for line in lines if "Jahr" in line).split(";")]
        rows = [line.split(";") for line in lines if line[:4].isdigit()]
        at = head.index("Deutschland")
        months[month] = pd.Series({int(cells[0]): float(cells[at]) for cells in rows})
    return pd.DataFrame(months)


def of_england(file: Path) -> pd.DataFrame:
    """Monthly means by year (index) and month [degC]."""
    rows = [line.split() for line in file.read_text(encoding="utf-8").splitlines()]
    rows = [cells for cells in rows if len(cells) >= 13 and cells[0].isdigit()]
    values = pd.DataFrame({int(cells[0]): [float(one) for one in cells[1:13]] for cells in rows}).T
    return values.set_axis(range(1, 13), axis=1).mask(lambda table: table < -90)


def seasons(months: pd.DataFrame) -> pd.Series:
    """Mean of September to May by the year of its September [degC]."""
    found = {}
    for year in range(FIRST, int(months.index[-1])):
        if year in months.index and year + 1 in months.index:
            values = [months.loc[year if month >= 9 else year + 1, month] for month in _SEASON]
            found[year] = float(np.average(values, weights=[_DAYS[month] for month in _SEASON]))
    return pd.Series(found).dropna()


if __name__ == "__main__":
    given = Path(sys.argv[1])
    means = seasons(of_germany(given) if given.is_dir() else of_england(given))
    print(f"{len(means)} seasons from {means.index[0]}: {' '.join(f'{mean:.2f}' for mean in means)}")
    print(f"standard deviation {means.std():.2f} K")

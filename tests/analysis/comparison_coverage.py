"""How often the comparison of open and covered nights holds the true saving of independent ponds."""

from __future__ import annotations

import independent_ponds
import numpy as np
import pandas as pd
import twin_coverage

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings import period_comparison
from pondheat.meter.savings.alignment import align
from pondheat.season import simulate
from pondheat.season.weather import weather

NIGHTS = (5, 7, 10, 15, 25)  # of each kind
COLD = 110  # days from the season's first, so that every open pond needs heat


def comparisons(seed: int, count: int, nights: int, block: int) -> pd.DataFrame:
    """For each pond: whether likely range and proof of each fair method held, shown, refused; `nights` of each kind."""
    hours = weather.season_hours(twin_coverage.planned(), twin_coverage.FIRST, twin_coverage.LAST, 0).iloc[: 24 * COLD]
    index = pd.DatetimeIndex(hours.index)
    typical = twin_coverage.typical_of(hours)
    on = np.array([float(hour >= 18 or hour < 8) for hour in range(24)])
    logs = independent_ponds.short_logs(seed, count, typical, 6.0, on, nights, block)
    rows = []
    for number in range(count):
        stamps = index[logs.rows[:, number]]
        sheet = twin_coverage.sheet_of(logs.sheets, number)
        use = pd.DataFrame({"kwh": logs.kwh[:, number], "hours": 1.0}, index=stamps.rename("start"))
        use["water_temp"] = logs.water[:, number].round(1)
        recorded = twin_coverage.recorded(logs.weather, stamps, number)
        aligned = align(
            use,
            sheet.pond,
            stamps,
            simulate.air_of(recorded, twin_coverage.planned().wind_height, 6.0, 6.0),
            pump_heat=sheet.pump_heat,
        )
        dates = (stamps - pd.Timedelta("12h")).date
        by_night = {int(night): date for night, date in zip(logs.night, dates, strict=True) if night >= 0}
        open_nights, covered = ([by_night[n] for n in np.flatnonzero(logs.covered == is_on)] for is_on in (False, True))
        truth = logs.saving[number]
        if not np.isfinite(truth):
            continue  # so mild that the open pond took no heat in these nights
        try:
            found = period_comparison.compare(aligned, covered=covered, open_nights=open_nights)
        except OutOfRange:
            continue
        row: dict[str, float] = {"shown": float(found.shown)}
        for name, one in zip(("model", "regression"), found.outcomes):
            row[name] = float(one.low <= truth <= one.high) if np.isfinite(one.saving) else np.nan
            row[f"{name} proof"] = float(truth >= one.proof_low) if np.isfinite(one.saving) else np.nan
            row[f"{name} error"] = one.saving - truth
            row[f"{name} half"] = (one.high - one.low) / 2 if np.isfinite(one.low) else np.nan
        rows.append(row)
    return pd.DataFrame(rows)


def coverage(seed: int, count: int, sizes=NIGHTS, blocks=("two", "one each")) -> pd.DataFrame:
    """Means of `comparisons` by order of nights and number of nights of each kind."""
    found = {}
    for order in blocks:
        for nights in sizes:
            made = comparisons(seed, count, nights, nights if order == "one each" else 2)
            row = made.mean()
            for name in ("model", "regression"):
                row[f"{name} error"] = np.sqrt((made[f"{name} error"] ** 2).mean())
            row["logs"] = float(len(made))
            found[order, nights] = row
    return pd.DataFrame(found).T.rename_axis(["blocks of", "nights"])

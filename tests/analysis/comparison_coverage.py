"""How often the comparison of open and covered nights holds the true saving of independent ponds, however it is read.

One meter is read four ways: every hour, at noon, at eight in the morning, and as the kilowatt-hours of calendar days.
"""

from __future__ import annotations

import itertools

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
ORDERS = ("two", "one each", "single")
BEGINS = {"noon": 12, "eight": 8, "calendar": 0}  # hour of the clock at which a day's reading begins
KINDS = ("hourly", *BEGINS)
METHODS = ("model", "regression")
COLD = 110  # days from the season's first, so that every open pond needs heat
LAID, LIFTED = 18, 8


def use_of(logs: independent_ponds.ShortLogs, stamps: pd.DatetimeIndex, number: int, kind: str) -> pd.DataFrame:
    """One pond's meter as read: hours with the water's temperature, or sums of 24 hours without."""
    kwh = logs.kwh[:, number]
    if kind == "hourly":
        water = logs.water[:, number].round(1)
        return pd.DataFrame({"kwh": kwh, "hours": 1.0, "water_temp": water}, index=stamps.rename("start"))
    first = int(np.flatnonzero(stamps.hour == BEGINS[kind])[0])
    days = (len(kwh) - first) // 24
    sums = kwh[first : first + 24 * days].reshape(days, 24).sum(axis=1)
    starts = stamps[first : first + 24 * days : 24].rename("start")
    return pd.DataFrame({"kwh": sums, "hours": 24.0}, index=starts)


def comparisons(seed: int, count: int, nights: int, block: int, kinds=KINDS, with_cover: bool = True) -> pd.DataFrame:
    """For each pond and kind of reading: whether range and proof of each fair method held, shown, error and width.

    with_cover: False for logs whose covered nights had none after all, so that there is no saving to be shown.
    """
    hours = weather.season_hours(twin_coverage.planned(), twin_coverage.FIRST, twin_coverage.LAST, 0).iloc[: 24 * COLD]
    index = pd.DatetimeIndex(hours.index)
    typical = twin_coverage.typical_of(hours)
    on = np.array([float(with_cover and (hour >= LAID or hour < LIFTED)) for hour in range(24)])
    logs = independent_ponds.short_logs(seed, count, typical, 6.0, on, nights, block)
    rows = []
    for number, kind in itertools.product(range(count), kinds):
        truth = logs.saving[number]
        if not np.isfinite(truth):
            continue  # so mild that the open pond took no heat in these nights
        stamps = index[logs.rows[:, number]]
        sheet = twin_coverage.sheet_of(logs.sheets, number)
        recorded = twin_coverage.recorded(logs.weather, stamps, number)
        dates = (stamps - pd.Timedelta("12h")).date
        by_night = {int(night): date for night, date in zip(logs.night, dates, strict=True) if night >= 0}
        try:
            aligned = align(
                use_of(logs, stamps, number, kind),
                sheet.pond,
                stamps,
                simulate.air_of(recorded, twin_coverage.planned().wind_height, 6.0, 6.0),
                set_point=float(logs.sheets["set_point"][number]),
                pump_heat=sheet.pump_heat,
            )
            found = period_comparison.compare(
                aligned,
                covered=[by_night[night] for night in np.flatnonzero(logs.covered)],
                cover_times=(60 * LAID, 60 * LIFTED),
            )
        except OutOfRange:
            continue
        row: dict[str, object] = {"pond": number, "kind": kind, "shown": float(found.shown)}
        for name, one in zip(METHODS, found.outcomes):
            known = np.isfinite(one.saving)
            row[name] = float(one.low <= truth <= one.high) if known else np.nan
            row[f"{name} proof"] = float(truth >= one.proof_low) if known else np.nan
            row[f"{name} saving"] = one.saving
            row[f"{name} error"] = one.saving - truth
            row[f"{name} half"] = (one.high - one.low) / 2 if np.isfinite(one.low) else np.nan
        rows.append(row)
    return pd.DataFrame(rows)


def agreeing(made: pd.DataFrame) -> float:
    """Share of pairs of two readings of one meter whose savings differ by no more than both half ranges together."""
    saving = made.pivot(index="pond", columns="kind", values="model saving")
    half = made.pivot(index="pond", columns="kind", values="model half")
    pairs = list(itertools.combinations(saving.columns, 2))
    return float(
        np.mean([((saving[a] - saving[b]).abs() <= half[a] + half[b])[saving[a].notna()].mean() for a, b in pairs])
    )


def coverage(seed: int, count: int, sizes=NIGHTS, orders=("two", "one each"), kinds=("hourly",)) -> pd.DataFrame:
    """Means of `comparisons` by order, nights of each kind and kind of reading; errors as root mean squares."""
    found = {}
    for order, nights in itertools.product(orders, sizes):
        made = comparisons(seed, count, nights, {"two": 2, "one each": nights, "single": 1}[order], kinds)
        agreed = agreeing(made) if len(kinds) > 1 else np.nan
        for kind, part in made.groupby("kind", sort=False):
            row = part.drop(columns=["kind", "pond"]).mean()
            for name in METHODS:
                row[f"{name} error"] = np.sqrt((part[f"{name} error"] ** 2).mean())
            row["logs"], row["agreed"] = float(len(part)), agreed
            found[order, nights, kind] = row
    return pd.DataFrame(found).T.rename_axis(["blocks of", "nights", "kind"])

"""Computed and measured water of an unheated pond side by side, from a thermometer's log, and how far they differ."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.analysis.assessment import boundary_conditions
from pondheat.analysis.results import times_of
from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Pond
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.reading import energy_use
from pondheat.meter.reading.thermometer_file import WaterLog
from pondheat.season.hour_step import Course
from pondheat.season.simulate import integrate
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

SETTLING = 72  # h left out of the score: starting at the log's own value flatters them
HOURLY, LONGEST_STEP = 1.01, 3.01  # h between readings: hourly means, and readings still averaged to hours (judgement)
HOUR = pd.Timedelta("1h")
MEANS, DAY_MEANS, MOMENTS = "hourly means", "daily means", "single readings"


@dataclass(frozen=True)
class Score:
    """How far computed water is from measured: mean error (bias) and root mean square error [K], and the coefficient of
    determination, 1 − Σ(error²)/Σ(deviation from the measured mean²) [–], of `count` readings."""

    bias: float
    rmse: float
    r_squared: float
    count: int

    @classmethod
    def of(cls, frame: pd.DataFrame) -> Score:
        """The score of a frame with measured and computed [degC]."""
        measured = frame["measured"].to_numpy(float)
        error = frame["computed"].to_numpy(float) - measured
        varies = float(((measured - measured.mean()) ** 2).sum())
        share = 1 - float((error**2).sum()) / varies if varies > 0 else float("nan")
        return cls(float(error.mean()), float(np.sqrt((error**2).mean())), share, len(frame))


@dataclass(frozen=True, eq=False)
class Setting:
    """Boundary conditions from the log's first hour on, and the water temperature there [degC]."""

    index: pd.DatetimeIndex
    conditions: Conditions
    daylight: np.ndarray
    start_temp: float
    notes: tuple[str, ...]


def measured_water(log: WaterLog) -> tuple[pd.DataFrame, str, list[str]]:
    """The log as it can be compared: a frame with water_temp and hours, what its rows are, and notes."""
    if log.by_date:
        return log.water, DAY_MEANS, ["The log names days without a time: each value is compared with its day's mean."]
    if log.step <= HOURLY:
        hours = energy_use.hourly(log.water.assign(kwh=0.0))
        return hours[(hours["hours"] >= 0.5) & (hours["hours"] <= HOURLY)].dropna(), MEANS, []
    if log.step <= LONGEST_STEP:
        at = times_of(log.water).as_unit("us").asi8 / 3.6e9
        whole = np.arange(np.ceil(at[0]), np.floor(at[-1]))
        after = np.clip(np.searchsorted(at, whole + 0.5), 1, len(at) - 1)
        near = at[after] - at[after - 1] <= LONGEST_STEP + 0.2
        temps = np.interp(whole + 0.5, at, log.water["water_temp"].to_numpy())
        index = pd.DatetimeIndex((whole * 3.6e9).astype("int64").astype("datetime64[us]"), tz="UTC")
        joined = pd.DataFrame({"water_temp": temps, "hours": 1.0}, index.tz_convert(times_of(log.water).tz))
        return joined[near], MEANS, [f"The readings are {log.step:.3g} hours apart and were joined by straight lines."]
    return (
        log.water,
        MOMENTS,
        ["The readings are more than three hours apart: each is compared with the computed water at its moment."],
    )


def setting_of(days: Sheet, record: Weather, measured: pd.DataFrame) -> Setting:
    """Conditions from the first reading that is in the weather's hours."""
    if record.kind == MEASURED:
        days = replace(days, start=None, end=None)
    found = boundary_conditions(replace(days, start_temp=15.0), record)  # the start is replaced below
    index, starts = found.index, times_of(measured)
    inside = (starts >= index[0]) & (starts < index[-1] + HOUR)
    if not inside.any():
        raise OutOfRange(
            f"The log is of {starts[0]:%Y-%m-%d} to {starts[-1]:%Y-%m-%d}, the weather of {index[0]:%Y-%m-%d} to "
            f"{index[-1]:%Y-%m-%d}: no day is in both. Is one of them of another year? Give the weather of the log's "
            "days."
        )
    first = int(index.searchsorted(starts[inside][0], side="right")) - 1
    part = slice(first, None)
    return Setting(
        index[part],
        Conditions(
            days.pond,
            index[part],
            found.air.part(part),
            np.nan,
            np.broadcast_to(np.asarray(found.covered, float), len(index))[part],
            pump_heat=days.pump_heat,
        ),
        found.hours["solar"].to_numpy()[part] > 1.0,
        max(float(measured["water_temp"].to_numpy()[inside][0]), 0.0),
        found.notes,
    )


def _run(pond: Pond, setting: Setting) -> Course:
    """The unheated pond from the log's first value on."""
    known = setting.conditions
    prepared = balance.prepare(pond, known.air, known.covered)
    return integrate(prepared, np.nan, 0.0, known.pump_heat, setting.start_temp)


def compared(pond: Pond, setting: Setting, measured: pd.DataFrame, shape: str) -> pd.DataFrame:
    """Measured and computed water by reading; see `Following.frame`."""
    index, starts = setting.index, times_of(measured)
    inside = (starts >= index[0]) & (starts < index[-1] + HOUR)
    rows = measured[inside]
    at = ((times_of(rows) - index[0]) / HOUR).to_numpy(float)
    course = _run(pond, setting)
    hour = np.minimum(at.astype(int), len(index) - 1)
    if shape == MEANS:
        computed = course.mean[hour]
    elif shape == MOMENTS:
        computed = np.interp(at, np.arange(len(index) + 1), np.append(course.start[0], course.end))
    else:
        running = np.append(0.0, np.cumsum(course.mean))
        length = rows["hours"].to_numpy(float)
        end = np.minimum(at + length, len(index))
        edges = np.arange(len(index) + 1)
        computed = (np.interp(end, edges, running) - np.interp(at, edges, running)) / (end - at)
    found = pd.DataFrame({"measured": rows["water_temp"].to_numpy(), "computed": computed}, index=rows.index)
    found["error"] = found["computed"] - found["measured"]
    return found.assign(daylight=setting.daylight[hour], scored=at >= SETTLING)


def outside_note(measured: pd.DataFrame, setting: Setting) -> tuple[str, ...]:
    """A note on readings outside the weather's days."""
    starts = times_of(measured)
    outside = int(((starts < setting.index[0]) | (starts >= setting.index[-1] + HOUR)).sum())
    if not outside:
        return ()
    which = "1 reading is" if outside == 1 else f"{outside} readings are"
    return (
        f"{which} outside the weather's days, {setting.index[0]:%Y-%m-%d} to {setting.index[-1]:%Y-%m-%d}, and "
        f"{'was' if outside == 1 else 'were'} left out.",
    )

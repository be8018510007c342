"""Computed against measured water of an unheated pond, what the log teaches, and whether the model fits this pond.

`follow(sheet, log)` gives the whole answer for a pond sheet and a thermometer's log.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.analysis.assessment import boundary_conditions, weather_of
from pondheat.analysis.following_checks import Suspicion, Verdict, suspicions, verdict_of
from pondheat.analysis.results import BoundaryConditions, hour_starts
from pondheat.core.ranges import OutOfRange
from pondheat.heat import balance
from pondheat.heat.balance import Pond
from pondheat.meter.fitting.findings import LEARNED
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.fitting.priors import InsufficientReadings
from pondheat.meter.reading import energy_use
from pondheat.meter.reading.thermometer_file import WaterLog
from pondheat.season.heaters import Heater
from pondheat.season.hour_step import Course
from pondheat.season.simulate import integrate
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

SETTLING = 72  # h left out of the score: the start at the log's own value flatters them
HOURLY, LONGEST_STEP = 1.01, 3.01  # h between readings: hourly means, and what is still joined to hours (judgement)
LEAST_SCORED = 24  # hours, or as many readings where they are rarer as LEAST_READINGS
LEAST_READINGS = 3
LEARNING_DAYS = 14  # days from which two thirds are enough for the fit (judgement)
FITTED_SHARE = 2 / 3  # of the days; the rest is held back to test what was learned
BETTER = 0.95  # of the error before: what is learned must lower it by a twentieth to be worth writing (judgement)
HOUR, DAY = pd.Timedelta("1h"), pd.Timedelta("1D")
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


@dataclass(frozen=True)
class LearnedValue:
    """One property of the pond as learned: its sheet key (None: no key), the sheet's value, the likeliest, the ends of
    the 90 % range, whether the log narrowed it by half or more, and the value to write (None: nothing to write)."""

    name: str
    key: str | None
    sheet: float
    middle: float
    low: float
    high: float
    learned: bool
    write: float | None


@dataclass(frozen=True, eq=False)
class Learned:
    """What a log taught: values; days fitted, and how many independent ones they count as; before, after: scores on the
    days from `held_from` on, held back from the fit that `after` uses; better: whether the values are worth writing."""

    values: tuple[LearnedValue, ...]
    days: int
    independent: float
    held_from: dt.date
    before: Score
    after: Score
    better: bool
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Following:
    """A sheet's unheated pond beside its log.

    frame: measured, computed, error (computed − measured) [degC, K], daylight, scored, indexed by time; shape: what a
    row is (MEANS, DAY_MEANS, MOMENTS); whole, day, night: scores (day and night None for daily means); by_month: score
    by “YYYY-MM”; learned: None where nothing was, with the reason in `not_learned`.
    """

    sheet: Sheet
    weather: Weather
    log: WaterLog
    frame: pd.DataFrame
    shape: str
    whole: Score
    day: Score | None
    night: Score | None
    by_month: dict[str, Score]
    learned: Learned | None
    not_learned: str | None
    suspicions: tuple[Suspicion, ...]
    verdict: Verdict
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Setting:
    """Boundary conditions from the log's first hour on, and the water temperature there [degC]."""

    index: pd.DatetimeIndex
    conditions: Conditions
    daylight: np.ndarray
    start_temp: float
    notes: tuple[str, ...]


def follow(sheet: Sheet, log: WaterLog, record: Weather | None = None) -> Following:
    """Computed against measured water, what the log teaches of the pond, and a verdict.

    sheet: its heater and set point are left out; log: as `meter.reading.thermometer_file.read` gives it; record:
    weather of those days, else the sheet's own source. Raises `season.weather.record.WeatherError`, and OutOfRange for
    a log outside the weather's days, or too short to be scored.
    """
    unheated = replace(sheet, set_point=(), heater=Heater("none"))
    starts = hour_starts(log.water)
    days = replace(unheated, start=starts[0].date(), end=starts[-1].date())
    record = record or weather_of(days)
    measured, shape, notes = _measured(log)
    setting = _setting(days, record, measured)
    frame = _frame(sheet.pond, setting, measured, shape)
    scored = frame[frame["scored"]]
    least = LEAST_SCORED if shape == MEANS else LEAST_READINGS
    if len(scored) < least:
        raise OutOfRange(
            f"The log is too short: its first {SETTLING} hours are not scored, and after them there "
            f"{'is' if len(scored) == 1 else 'are'} {len(scored)} {'reading' if len(scored) == 1 else 'readings'}. "
            "Log for two weeks at least; four are better."
        )
    found = suspicions(scored, sheet, shape == MEANS, record.kind == MEASURED)
    learned, why = None, _no_learning(shape, found, scored)
    if why is None:
        try:
            learned = _learn(setting, measured, frame)
        except InsufficientReadings as few:
            why = str(few)
    whole = Score.of(scored)
    hourly = shape != DAY_MEANS
    return Following(
        sheet,
        record,
        log,
        frame,
        shape,
        whole,
        _part(scored, scored["daylight"]) if hourly else None,
        _part(scored, ~scored["daylight"]) if hourly else None,
        {str(month): Score.of(part) for month, part in scored.groupby(hour_starts(scored).strftime("%Y-%m"))},
        learned,
        why,
        found,
        verdict_of(found, _days_of(scored), (whole.bias, whole.rmse), _errors_after(learned)),
        tuple(dict.fromkeys((*notes, *setting.notes, *_outside_note(measured, setting)))),
    )


def _part(frame: pd.DataFrame, which: pd.Series) -> Score | None:
    """The score of some rows; None where there are too few."""
    return Score.of(frame[which]) if which.sum() >= LEAST_READINGS else None


def _errors_after(learned: Learned | None) -> tuple[float, float] | None:
    """Bias and RMSE on held-back days with the learned values, where these are better."""
    return (learned.after.bias, learned.after.rmse) if learned is not None and learned.better else None


def _days_of(scored: pd.DataFrame) -> int:
    """Number of days with a scored reading."""
    return int(hour_starts(scored).normalize().nunique())


# --- measured and computed ----------------------------------------------------------------------------------------


def _measured(log: WaterLog) -> tuple[pd.DataFrame, str, list[str]]:
    """The log as it can be compared: a frame with water_temp and hours, what its rows are, and notes."""
    if log.by_date:
        return log.water, DAY_MEANS, ["The log names days without a time: each value is compared with its day's mean."]
    if log.step <= HOURLY:
        hours = energy_use.hourly(log.water.assign(kwh=0.0))
        return hours[(hours["hours"] >= 0.5) & (hours["hours"] <= HOURLY)].dropna(), MEANS, []
    if log.step <= LONGEST_STEP:
        at = hour_starts(log.water).as_unit("us").asi8 / 3.6e9
        whole = np.arange(np.ceil(at[0]), np.floor(at[-1]))
        after = np.clip(np.searchsorted(at, whole + 0.5), 1, len(at) - 1)
        near = at[after] - at[after - 1] <= LONGEST_STEP + 0.2
        temps = np.interp(whole + 0.5, at, log.water["water_temp"].to_numpy())
        index = pd.DatetimeIndex((whole * 3.6e9).astype("int64").astype("datetime64[us]"), tz="UTC")
        joined = pd.DataFrame({"water_temp": temps, "hours": 1.0}, index.tz_convert(hour_starts(log.water).tz))
        return joined[near], MEANS, [f"The readings are {log.step:.3g} hours apart and were joined by straight lines."]
    return (
        log.water,
        MOMENTS,
        ["The readings are more than three hours apart: each is compared with the computed water at its moment."],
    )


def _setting(days: Sheet, record: Weather, measured: pd.DataFrame) -> _Setting:
    """Conditions from the first reading that lies in the weather's hours."""
    if record.kind == MEASURED:
        days = replace(days, start=None, end=None)
    found = boundary_conditions(replace(days, start_temp=15.0), record)  # the start is replaced below
    index, starts = found.index, hour_starts(measured)
    inside = (starts >= index[0]) & (starts < index[-1] + HOUR)
    if not inside.any():
        raise OutOfRange(
            f"The log is of {starts[0]:%Y-%m-%d} to {starts[-1]:%Y-%m-%d}, the weather of {index[0]:%Y-%m-%d} to "
            f"{index[-1]:%Y-%m-%d}: no day is in both. Is one of them of another year? Give the weather of the log's "
            "days."
        )
    first = int(np.searchsorted(index, starts[inside][0], side="right")) - 1
    part = slice(first, None)
    return _Setting(
        index[part],
        Conditions(
            days.pond,
            index[part],
            found.air.part(part),
            np.nan,
            _from(found, first),
            pump_heat=days.pump_heat,
        ),
        found.hours["solar"].to_numpy()[part] > 1.0,
        max(float(measured["water_temp"].to_numpy()[inside][0]), 0.0),
        found.notes,
    )


def _from(found: BoundaryConditions, first: int) -> np.ndarray:
    """Share of each hour under the cover, from one hour on."""
    return np.broadcast_to(np.asarray(found.covered, float), len(found.index))[first:]


def _run(pond: Pond, setting: _Setting) -> Course:
    """The unheated pond from the log's first value on."""
    known = setting.conditions
    prepared = balance.prepare(pond, known.air, known.covered)
    return integrate(prepared, np.nan, 0.0, known.pump_heat, setting.start_temp)


def _frame(pond: Pond, setting: _Setting, measured: pd.DataFrame, shape: str) -> pd.DataFrame:
    """Measured and computed water by reading; see `Following.frame`."""
    index, starts = setting.index, hour_starts(measured)
    inside = (starts >= index[0]) & (starts < index[-1] + HOUR)
    rows = measured[inside]
    at = ((hour_starts(rows) - index[0]) / HOUR).to_numpy(float)
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


def _outside_note(measured: pd.DataFrame, setting: _Setting) -> tuple[str, ...]:
    """A note on readings outside the weather's days."""
    starts = hour_starts(measured)
    outside = int(((starts < setting.index[0]) | (starts >= setting.index[-1] + HOUR)).sum())
    if not outside:
        return ()
    which = "1 reading is" if outside == 1 else f"{outside} readings are"
    return (
        f"{which} outside the weather's days, {setting.index[0]:%Y-%m-%d} to {setting.index[-1]:%Y-%m-%d}, and "
        f"{'was' if outside == 1 else 'were'} left out.",
    )


# --- learning -----------------------------------------------------------------------------------------------------


def _no_learning(shape: str, found: tuple[Suspicion, ...], scored: pd.DataFrame) -> str | None:
    """Why nothing is learned from this log; None if something may be."""
    if severe := [one for one in found if one.severe]:
        return f"Nothing was learned, because the log and the model don't belong together yet: {severe[0].short}."
    if shape != MEANS:
        return "Nothing was learned: that takes readings at least every three hours."
    if _days_of(scored) < LEARNING_DAYS:
        return f"Nothing was learned: that takes {LEARNING_DAYS} days after the first {SETTLING} hours."
    return None


def _learn(setting: _Setting, measured: pd.DataFrame, frame: pd.DataFrame) -> Learned:
    """Fit to the first two thirds, test on the rest, then fit to all days."""
    from pondheat.meter.fitting import thermometer_fit  # here: its linear algebra takes a while to load

    pond, water = setting.conditions.pond, measured.loc[frame.index]
    first, last = frame.index[0], frame.index[-1]
    split = (first + FITTED_SHARE * (last - first)).normalize()
    early = thermometer_fit.fit(water[water.index < split], setting.conditions)
    held = frame[frame.index >= split]
    again = _frame(_with_values(pond, early.writable), setting, measured, MEANS)
    before, after = Score.of(held), Score.of(again.loc[held.index])
    fitted = thermometer_fit.fit(water, setting.conditions)
    better = after.rmse < BETTER * before.rmse
    written = _with_values(pond, fitted.writable) if better else None
    return Learned(
        tuple(_values(pond, fitted, written)),
        len(fitted.days),
        fitted.independent,
        split.date(),
        before,
        after,
        better,
        fitted.notes,
    )


def _with_values(pond: Pond, factors: dict[str, float]) -> Pond:
    """The pond with learned factors in its keys, rounded as they are written into a sheet."""
    return replace(
        pond,
        wind_shelter=round(min(pond.wind_shelter * factors["wind"], 1.0), 2),
        sky_view=round(min(pond.sky_view * factors["sky"], 1.0), 2),
        shade=round(max(1 - (1 - pond.shade) * factors["sun"], 0.0), 2),
        volume=float(f"{pond.volume * factors['volume']:.3g}"),
    )


def _values(pond: Pond, fitted, written: Pond | None):
    """Yield each learned value, those with a key first; cover, walls and streams only if the log tells of them."""
    from pondheat.meter.fitting.thermometer_fit import WATER_FACTORS

    keys = {"wind": "place.wind_shelter", "sky": "place.sky_view", "sun": "place.shade", "volume": "pond.volume"}
    fields = {"wind": "wind_shelter", "sky": "sky_view", "sun": "shade", "volume": "volume"}
    for at, name in enumerate(WATER_FACTORS):
        learned = bool(fitted.variance_reduction[at] >= LEARNED)
        if name in ("cover", "walls", "streams") and not learned:
            continue
        own = getattr(pond, fields[name]) if name in fields else 1.0
        ends = [float(values[at]) for values in (fitted.factors, fitted.low, fitted.high)]
        if name == "sun":
            middle, high, low = (max(1 - (1 - own) * factor, 0.0) for factor in ends)
        else:
            middle, low, high = (own * factor for factor in ends)
        value = getattr(written, fields[name]) if written is not None and name in fields else None
        unchanged = value is not None and abs(value - own) < 0.005 * max(own, 1.0)
        yield LearnedValue(name, keys.get(name), own, middle, low, high, learned, None if unchanged else value)

"""Computed and measured water of an unheated pond, what the log shows, and whether the model fits this pond.

`follow(sheet, log)` gives the whole answer for a pond sheet and a thermometer's log.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import pandas as pd

from pondheat.analysis.assessment import weather_of
from pondheat.analysis.following_checks import Errors, Suspicion, Verdict, suspicions, verdict_of
from pondheat.analysis.results import month_names, times_of
from pondheat.analysis.water_comparison import (
    DAY_MEANS,
    MEANS,
    SETTLING,
    Score,
    Setting,
    compared,
    measured_water,
    outside_note,
    setting_of,
)
from pondheat.core.ranges import OutOfRange
from pondheat.heat.balance import Pond
from pondheat.meter.fitting.findings import LEARNED
from pondheat.meter.fitting.priors import InsufficientReadings
from pondheat.meter.reading.thermometer_file import WaterLog
from pondheat.season.heaters import Heater
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

LEAST_SCORED = 24  # hours, or LEAST_READINGS readings where they are less frequent
LEAST_READINGS = 3
MONTH_SHARE = 0.1  # of all readings from which a month counts in the verdict (judgement)
LEARNING_DAYS = 14  # days of which two thirds are enough for the fit (judgement)
FITTED_SHARE = 2 / 3  # of the days; the rest is held back to test what was learned
BETTER = 0.95  # of the previous error: a fit must lower it by a twentieth to be worth writing (judgement)


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
    """What was learned from a log: values; days fitted, and how many independent ones they count as; before, after:
    scores on the days from `held_from` on, held back from the fit that `after` uses; better: whether the values are
    worth writing, since the error falls and something was learned; notes: on days that told nothing."""

    values: tuple[LearnedValue, ...]
    days: int
    independent: float
    held_from: dt.date
    before: Score
    after: Score
    after_by_month: dict[str, Score]
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


def follow(sheet: Sheet, log: WaterLog, record: Weather | None = None) -> Following:
    """Computed and measured water, what the log tells about the pond, and a verdict.

    sheet: its heater and set point are left out; log: as `meter.reading.thermometer_file.read` gives it; record:
    weather of those days, otherwise the sheet's own source. Raises `season.weather.record.WeatherError`, and OutOfRange
    for a log outside the weather's days, or too short to be scored.
    """
    unheated = replace(sheet, set_point=(), heater=Heater("none"))
    starts = times_of(log.water)
    days = replace(unheated, start=starts[0].date(), end=starts[-1].date())
    record = record or weather_of(days)
    measured, shape, notes = measured_water(log)
    setting = setting_of(days, record, measured)
    frame = compared(sheet.pond, setting, measured, shape)
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
    hourly, months = shape != DAY_MEANS, _by_month(scored)
    after = _errors(learned.after, learned.after_by_month) if learned is not None and learned.better else None
    return Following(
        sheet,
        record,
        log,
        frame,
        shape,
        whole,
        _part(scored, scored["daylight"]) if hourly else None,
        _part(scored, ~scored["daylight"]) if hourly else None,
        months,
        learned,
        why,
        found,
        verdict_of(found, _days_of(scored), shape == MEANS, _errors(whole, months), after),
        (*_sheet_notes(sheet, setting), *notes, *setting.notes, *outside_note(measured, setting)),
    )


def _sheet_notes(sheet: Sheet, setting: Setting) -> tuple[str, ...]:
    """What is left out of the sheet, and how its cover is treated."""
    notes = []
    if sheet.heater.kind != "none" and sheet.set_point:
        notes.append("The sheet's heater and set point are left out: this is about the water without heat.")
    if sheet.pond.cover is not None:
        share = 100 * float(setting.conditions.hourly("covered").mean())
        notes.append(f"The cover is assumed to be on in {share:.0f} % of the hours, as the sheet says.")
    return tuple(notes)


def _part(frame: pd.DataFrame, which: pd.Series) -> Score | None:
    """The score of some rows; None where there are too few."""
    return Score.of(frame[which]) if which.sum() >= LEAST_READINGS else None


def _by_month(frame: pd.DataFrame) -> dict[str, Score]:
    """The score of each month."""
    return {str(month): Score.of(part) for month, part in frame.groupby(month_names(times_of(frame), "%Y-%m"))}


def _errors(whole: Score, by_month: dict[str, Score]) -> Errors:
    """The errors that a verdict looks at; months with few readings do not count."""
    months = {month: score.bias for month, score in by_month.items() if score.count >= MONTH_SHARE * whole.count}
    worst = max(months, key=lambda month: abs(months[month]))
    return Errors(whole.bias, whole.rmse, f"{pd.Timestamp(worst):%B %Y}", months[worst])


def _days_of(scored: pd.DataFrame) -> int:
    """Number of days with a scored reading."""
    return int(times_of(scored).normalize().nunique())


# --- learning -----------------------------------------------------------------------------------------------------


def _no_learning(shape: str, found: tuple[Suspicion, ...], scored: pd.DataFrame) -> str | None:
    """Why nothing can be learned from this log; None if something can."""
    if severe := [one for one in found if one.severe or one.kind == "clock"]:
        return f"Nothing was learned, because this has to be settled first: {severe[0].short}."
    if shape != MEANS:
        return "Nothing was learned: that takes readings at least every three hours."
    if _days_of(scored) < LEARNING_DAYS:
        return f"Nothing was learned: that takes {LEARNING_DAYS} days after the first {SETTLING} hours."
    return None


def _learn(setting: Setting, measured: pd.DataFrame, frame: pd.DataFrame) -> Learned:
    """Fit to the first two thirds, test on the rest, then fit to all days."""
    from pondheat.meter.fitting import thermometer_fit  # here: its linear algebra takes a while to load

    pond, water = setting.conditions.pond, measured.loc[frame.index]
    first, last = frame.index[0], frame.index[-1]
    split = (first + FITTED_SHARE * (last - first)).normalize()
    early = thermometer_fit.fit(water[water.index < split], setting.conditions)
    held = frame[frame.index >= split]
    again = compared(_with_values(pond, early.writable), setting, measured, MEANS)
    again = again.loc[held.index]
    before, after = Score.of(held), Score.of(again)
    fitted = thermometer_fit.fit(water, setting.conditions)
    narrowed = dict(zip(thermometer_fit.WATER_FACTORS, fitted.variance_reduction >= LEARNED))
    better = after.rmse < BETTER * before.rmse and any(narrowed[name] for name in thermometer_fit.WITH_KEY)
    written = _with_values(pond, fitted.writable) if better else None
    return Learned(
        tuple(_values(pond, fitted, written)),
        len(fitted.days),
        fitted.independent,
        split.date(),
        before,
        after,
        _by_month(again),
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
    """Yield each learned value, those with a key first; cover, walls and streams only if the log covers them."""
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
        unchanged = value is not None and abs(value - own) < (0.02 * own if name == "volume" else 0.005)
        yield LearnedValue(name, keys.get(name), own, middle, low, high, learned, None if unchanged else value)

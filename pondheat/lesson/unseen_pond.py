"""Ponds for the final challenge: an invented pond, its season, and a meter's record with one trap in it.

Each number gives the same pond again. The record is cut from the pond's simulated season, open and covered, so what
the cover really saved is known.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import Assessment, Season
from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings.estimators import least_squares
from pondheat.money import payback
from pondheat.sheet import pond_sheet
from pondheat.sheet.pond_sheet import Sheet

SHIPPED = 1  # the number of the pond that has a sheet of its own among the shipped ones
HIGHEST = 999
RUNS = 60  # for the range of what the cover saves
TRAPS = {"milder": 3, "forgotten": 2, "blower": 3, "midnight": 2}  # and how often each is tried: two seldom fit
VERDICTS = ("sure", "likely", "unlikely", "no")
DAYS = 12  # of a record
BLOCKS = {  # whether the cover was to be on in each night of a record
    True: (False, False, True, True) * 3,  # read at midnight: changed every two nights
    False: (False,) * 6 + (True,) * 6,
}
CLEAR = 0.1  # share by which the largest way of losing heat, or a verdict, must stand out
SEEN = 0.85  # share of the open pond's use from which a forgotten night shows
Halves = dict[tuple[dt.date, bool], tuple[float, float]]  # by date and whether after noon: use [kWh], difference [K]
ALIKE, MILDER = 1.5, 4.0  # K between two sets of days that are about equally cold, and that are not
FIRST, LAST = (11, 8), (3, 8)  # month and day between which records begin
MOST_LOAD = 300.0  # W of blower and lights in a shed
DEAREST = 400.0  # money for a square metre of cover, fitted
FOLLOWS = 1 / 3  # least share of an open day's use that follows the weather: a flatter line looks like a mistake
TRUTH = 0.04  # how far the line may be from what the cover really saved, as a share of the open pond's use


@dataclass(frozen=True)
class Day:
    """A line of the record: date, what the keeper says of the cover, how much warmer the water was [K], use [kWh].

    counted: whether its reading is of whole nights, open or covered as told.
    """

    date: dt.date
    covered: bool
    warmer: float
    kwh: float
    counted: bool = True


@dataclass(frozen=True)
class Record:
    """A meter's record: its days, its trap, the power of a blower on the same meter [W], what the cover saved [–].

    saved: of the simulated pond, over the covered days that count.
    """

    days: tuple[Day, ...]
    trap: str
    blower: float
    saved: float

    def chosen(self, covered: bool, counted: bool = True) -> list[Day]:
        """The open or the covered days: only those that count, or all that the keeper names so."""
        return [day for day in self.days if day.covered == covered and (day.counted or not counted)]

    def mean(self, covered: bool, name: str, counted: bool = True) -> float:
        """Mean of a number of the open or the covered days."""
        return float(np.mean([getattr(day, name) for day in self.chosen(covered, counted)]))

    def line(self) -> tuple[float, float]:
        """Use of the open days by the degrees they are colder: what it would be at none [kWh], and for each [kWh/K]."""
        days = self.chosen(covered=False)
        fit = least_squares([[1.0, day.warmer] for day in days], [day.kwh for day in days])
        base, slope = (round(float(one), 2) for one in fit.coefficients)
        return base, slope


@dataclass(frozen=True, eq=False)
class UnseenPond:
    """A pond of the challenge: number, sheet, assessment, meter's record, price of the cover and what becomes of it.

    verdict: one of VERDICTS, for a price in today's money; saving: low end, middle and high end of the likely range of
    a winter's saving [money].
    """

    number: int
    sheet: Sheet
    assessed: Assessment
    record: Record
    price: float
    saving: tuple[float, float, float]
    verdict: str

    @property
    def open(self) -> Season:
        """The season without a cover."""
        return self.assessed.open

    @property
    def degree_hours(self) -> float:
        """Degree-hours of the season's air below the water that the open pond keeps [K·h]."""
        conditions = assessment.boundary_conditions(self.sheet, self.assessed.weather)
        lack = conditions.set_point - conditions.hours["air_temp"].to_numpy()
        return float(np.maximum(lack, 0.0)[conditions.counted].sum())

    @property
    def losses(self) -> dict[str, float]:
        """Heat that the open pond loses over the season [kWh], by the ways the challenge asks for."""
        return losses_of(self.open)


def losses_of(season: Season) -> dict[str, float]:
    """Heat lost over a season [kWh] by evaporation, convection, radiation to the sky, and through walls and floor."""
    ways = season.routes_kwh
    return {
        "evaporation": ways["evaporation"],
        "convection": ways["convection"],
        "sky": ways["long_wave"],
        "walls": ways["walls"] + ways["ground"],
    }


def unseen_pond(number: int, text: str) -> UnseenPond:
    """The pond with this number.

    text: an invented pond's sheet, which pond 1 takes as it is, and the others with values of their own. Raises
    OutOfRange for a number below 1 or above 999.
    """
    if not 1 <= number <= HIGHEST:
        raise OutOfRange(f"There are ponds 1 to {HIGHEST}; choose one of these.")
    for attempt in range(50):
        rng = random.Random(f"pond {number}, attempt {attempt}")
        sheet = pond_sheet.from_text(text if number == SHIPPED else _invented(number, text, rng))
        if found := _complete(number, sheet, rng):
            return found
    raise OutOfRange(f"Pond {number} could not be made; choose another number.")


def _complete(number: int, sheet: Sheet, rng: random.Random) -> UnseenPond | None:
    """The pond of a sheet with its season and record; None where an answer would be too close to call."""
    assessed = assessment.assess(sheet, scenarios=0)
    ways = sorted(losses_of(assessed.open).values(), reverse=True)
    record = next(_records(assessed, rng), None)
    if record is None or ways[0] < (1 + CLEAR) * ways[1]:
        return None
    assessed = assessment.assess(sheet, assessed.weather, RUNS)
    likely = assessed.uncertainty.saving_money if assessed.uncertainty else None
    assert likely is not None  # every sheet of the challenge has a cover and a tariff
    low, middle, high = (float(round(end, -1)) for end in (likely.low, likely.middle, likely.high))
    years, rate = sheet.cover_plan.life or 0.0, sheet.discount_rate
    price = sheet.cover_plan.price or 0.0
    if number != SHIPPED:
        price = _price((low, middle, high), years, rate, DEAREST * sheet.pond.surface_area, rng)
    verdict = verdict_at(price, (low, middle, high), years, rate)
    return UnseenPond(number, sheet, assessed, record, price, (low, middle, high), verdict) if verdict else None


def _invented(number: int, text: str, rng: random.Random) -> str:
    """A sheet's text with a pond, a cover and prices of its own."""
    length, width = rng.choice((2.5, 3, 3.5, 4.5, 5, 6)), rng.choice((1.5, 2, 2.5, 3, 3.5))
    depth, wall = rng.choice((0.7, 0.9, 1.1, 1.4, 1.6)), rng.choice((0.4, 0.8, 2.5, 5))
    low, high = rng.choice((10, 13, 16)), rng.choice((27, 31, 34))
    text = pond_sheet.with_values(
        text,
        {
            "name": f"Pond {number} (invented)",
            "place.wind_shelter": rng.choice((0.15, 0.3, 0.5, 0.8)),
            "place.sky_view": rng.choice((0.6, 0.8, 0.95)),
            "pond.length": f"{length:g} m",
            "pond.width": f"{width:g} m",
            "pond.depth": f"{depth:g} m",
            "pond.set_point": f"{rng.choice((10, 11, 12, 14, 16, 18))} °C",
            "pond.floor": None,
            "cover.u_value": f"{rng.choice((1.4, 2.3, 3.1))} W/m²K",
            "cover.life": f"{rng.choice((2, 3, 4, 6))} years",
            "pump.power": f"{rng.choice((40, 60, 100))} W",
            "heater.power": f"{round(length * width)} kW",
            "tariff.name": "Two rates (invented)",
        },
    )
    sides = f"{2 * (length + width) * depth:.1f} m²"
    for before, after in (
        ('area = "15.6 m²', f'area = "{sides}'),
        ('u_value = "0.5 ', f'u_value = "{wall:g} '),
        ('otherwise = "30 ', f'otherwise = "{high} '),
        ('rate = "12 ', f'rate = "{low} '),
    ):
        text = text.replace(before, after, 1)
    return text


def _price(saving: tuple[float, ...], years: float, rate: float, most: float, rng: random.Random) -> float:
    """A price up to `most` [money] for which one of the four verdicts, drawn at random, is true."""
    low, middle, high = (float(payback.present_value(max(end, 1.0), years, rate)) for end in saving)
    between = {"sure": 0.7 * low, "likely": (low + middle) / 2, "unlikely": (middle + high) / 2, "no": 1.4 * high}
    return float(round(rng.choice([price for price in between.values() if price <= most] or [most]), -1))


def verdict_at(price: float, saving: tuple[float, ...], years: float, rate: float) -> str | None:
    """Whether a cover pays at all three savings or only at the larger ones; None where one of them is too close."""
    left = [float(payback.net_present_value(price, end, years, rate)) for end in saving]
    if any(abs(one) < CLEAR * price / 2 for one in left):
        return None
    return VERDICTS[sum(one < 0 for one in left)]


def _records(assessed: Assessment, rng: random.Random) -> Iterator[Record]:
    """Records of one trap that shows, and on whose other days nothing looks like a trap."""
    conditions = assessment.boundary_conditions(assessed.sheet, assessed.weather)
    air = pd.Series(conditions.hours["air_temp"].to_numpy(), conditions.index)
    halves = {False: _half_days(assessed.open, air), True: _half_days(assessed.covered, air)}
    trap = rng.choices(list(TRAPS), list(TRAPS.values()))[0]
    year = assessed.open.index[0].year
    first, last = dt.date(year, *FIRST), dt.date(year + 1, *LAST)
    starts = [first + dt.timedelta(days=days) for days in range((last - first).days)]
    rng.shuffle(starts)
    for start in starts:
        record = _record(trap, start, halves, rng)
        if _fair(record):
            yield record


def _half_days(season: Season | None, air: pd.Series) -> Halves:
    """Use of heater and pump [kWh], and how much warmer than the air the water is [K], before and after each noon."""
    assert season is not None  # every sheet of the challenge has a cover
    hours = season.hours
    frame = pd.DataFrame({"kwh": hours["electricity"] / 1000, "warmer": hours["water_temp"] - air.loc[season.index]})
    halves = frame.groupby([season.index.date, season.index.hour >= 12]).agg({"kwh": "sum", "warmer": "mean"})
    return {half: (float(kwh), float(warmer)) for half, (kwh, warmer) in zip(halves.index, halves.to_numpy())}


def _record(trap: str, start: dt.date, halves: dict[bool, Halves], rng: random.Random) -> Record:
    """The record that begins on a date, with this trap."""
    midnight = trap == "midnight"
    told, later = BLOCKS[midnight], rng.choice((6, 10, 14, 18)) if trap == "milder" else 0
    dates = [start + dt.timedelta(days=at + later * (at >= DAYS // 2)) for at in range(DAYS)]
    forgotten = rng.randrange(DAYS // 2 + 1, DAYS - 1) if trap == "forgotten" else None

    def reading(at: int, before: bool, after: bool) -> tuple[float, float]:
        """Use and difference of a line, with these covers in its first and in its second half."""
        day = dt.timedelta(days=0 if midnight else 1)
        parts = halves[before][dates[at], not midnight], halves[after][dates[at] + day, midnight]
        return sum(kwh for kwh, _ in parts), sum(warmer for _, warmer in parts) / 2

    open_kwh = [reading(at, False, False)[0] for at in range(DAYS)]
    blower = float(round(0.15 * np.mean(open_kwh) / 24 * 1000, -1)) if trap == "blower" else 0.0
    days, kept, open_kept = [], 0.0, 0.0
    for at, covered in enumerate(told):
        really = covered and at != forgotten
        before = told[max(at - 1, 0)] if midnight else really  # until noon it is the night before
        kwh, warmer = reading(at, before, really)
        counted = before == really == covered
        days.append(Day(dates[at], covered, round(warmer, 1), round(kwh + 24 * blower / 1000, 1), counted))
        if covered and counted:
            kept, open_kept = kept + kwh, open_kept + open_kwh[at]
    return Record(tuple(days), trap, blower, 1 - kept / open_kept)


def _fair(record: Record) -> bool:
    """Whether the trap shows, no other trap seems to be there, and the line tells what the cover saved."""
    base, slope = record.line()
    if base < 0 or slope <= 0 or record.blower > MOST_LOAD or min(day.warmer for day in record.days) <= 0:
        return False
    milder = record.mean(False, "warmer") - record.mean(True, "warmer")
    if milder < MILDER if record.trap == "milder" else abs(milder) > ALIKE:
        return False
    load = 24 * record.blower / 1000
    if slope * record.mean(False, "warmer") < FOLLOWS * (record.mean(False, "kwh") - load):
        return False
    shares = [(day.kwh - load) / (base + slope * day.warmer - load) for day in record.days]
    covered = [share for share, day in zip(shares, record.days) if day.covered and day.counted]
    forgotten = [share for share, day in zip(shares, record.days) if day.covered and not day.counted]
    if max(covered) > SEEN - CLEAR or (record.trap == "forgotten" and min(forgotten) < SEEN):
        return False
    return abs(1 - float(np.mean(covered)) - record.saved) <= TRUTH

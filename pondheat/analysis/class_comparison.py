"""The ponds of a class side by side without names, to see that no pond's figure carries over to another.

Each pond is run in its own weather, then again with one thing at a time set as at the median pond; what that changes
shows why the ponds differ. Letters are drawn at random, so that neither they nor the order show whose pond it is.
"""

from __future__ import annotations

import datetime as dt
import random
import statistics
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from pondheat.analysis import assessment
from pondheat.analysis.assessment import boundary_conditions, run_season
from pondheat.core import units
from pondheat.heat.balance import Pond
from pondheat.season.heaters import Heater
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_sheet import Sheet

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # without I and O, which look like digits
AMPLE_POWER = 3000.0  # W/m² of heater, so that heat demands are compared and not heaters
SEASON = (dt.date(2025, 9, 1), dt.date(2026, 5, 31))  # for all ponds, so that its length is no reason (judgement)
MAX_PONDS = len(LETTERS)


class NoComparablePonds(ValueError):
    """A folder without any pond that can be compared; the message says why."""


@dataclass(frozen=True)
class PondResult:
    """One pond under its letter, per square metre of water.

    open_kwh, covered_kwh: heat over the season [kWh/m²], None without a cover; per_degree: heat of the pond as
    described per degree of its mean difference from the air [kWh/(m²·K)]; saved: share of the heat that the cover saves
    [–]; money [money/m²], None where it was not asked for or there is no tariff; temp: mean set point [degC]; reasons:
    change in heat with one thing set as at the median pond [kWh/m²], largest first.
    """

    letter: str
    open_kwh: float
    covered_kwh: float | None
    per_degree: float
    saved: float | None
    money: float | None
    currency: units.Currency
    temp: float
    reasons: tuple[tuple[str, float], ...]

    @property
    def as_it_is(self) -> float:
        """Heat of the pond as its sheet describes it: covered where it has a cover [kWh/m²]."""
        return self.open_kwh if self.covered_kwh is None else self.covered_kwh


@dataclass(frozen=True)
class ClassComparison:
    """All ponds of a class, the smallest heat first; left_out: files without a result and why, for the tutor only."""

    ponds: tuple[PondResult, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def times(self) -> float:
        """Heat per square metre of the last pond over that of the first [–]."""
        return self.ponds[-1].as_it_is / max(self.ponds[0].as_it_is, 1e-9)


def compare_class(
    folder: Path, *, money: bool = False, seed: int | None = None, progress: Callable[[float], None] | None = None
) -> ClassComparison:
    """All pond sheets (*.toml) of a folder compared.

    money: also the price per square metre on each sheet's own tariff; seed: for the letters, None for new ones each
    time; progress: called with the share done, 0–1. A sheet that cannot be read or heats nothing is left out with the
    reason. Raises NoComparablePonds for a folder that is missing or has no usable sheet.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise NoComparablePonds(
            f"{folder}: no such folder. Make one, and let everyone who wants to drop a pond sheet into it."
        )
    read, left_out = [], []
    for path in sorted(folder.glob("*.toml")):
        try:
            read.append((path, *_ready(sheets.read(path))))
        except (ValueError, OSError) as wrong:
            left_out.append((path.name, " ".join(str(wrong).split())))
    lots = random.SystemRandom() if seed is None else random.Random(seed)
    if len(read) > MAX_PONDS:
        lots.shuffle(read)
        left_out += [
            (path.name, f"more than {MAX_PONDS} ponds do not fit on one page; these were drawn at random.")
            for path, *_ in read[MAX_PONDS:]
        ]
        read = read[:MAX_PONDS]
    if not read:
        why = f" {left_out[0][0]}: {left_out[0][1]}" if left_out else " It has no file that ends in .toml."
        raise NoComparablePonds(f"{folder}: no pond here can be compared.{why}")
    letters = lots.sample(LETTERS[: len(read)], len(read))
    ponds = []
    everyone = [(sheet, record) for _, sheet, record in read]
    for at, (sheet, record) in enumerate(everyone):
        ponds.append(_pond_result(letters[at], sheet, record, everyone, money))
        if progress is not None:
            progress((at + 1) / len(read))
    return ClassComparison(tuple(sorted(ponds, key=lambda pond: pond.as_it_is)), tuple(left_out))


def _ready(sheet: Sheet) -> tuple[Sheet, Weather]:
    """A sheet with the season that all ponds share, and its weather; raises NoComparablePonds without heating."""
    if all(temp is None for _, temp in sheet.set_point):
        raise NoComparablePonds("it has no heating, so there is no heat to compare.")
    like = replace(sheet, start=SEASON[0], end=SEASON[1], start_temp=None)
    record = assessment.weather_of(like)
    boundary_conditions(like, record)  # raises for weather of another season or the other hemisphere
    return like, record


def _with_ample_heater(sheet: Sheet) -> Sheet:
    """The sheet with a heater that is never short, and no tariff."""
    return replace(sheet, heater=Heater("resistance", AMPLE_POWER * sheet.pond.surface_area), tariff=None)


def _heat(sheet: Sheet, record: Weather, covered: bool) -> tuple[float, float]:
    """Heat over the season [kWh/m²], and mean temperature difference between water and air [K]."""
    conditions = boundary_conditions(sheet, record)
    season = run_season(_with_ample_heater(sheet), conditions, covered and sheet.pond.cover is not None)
    lead = (season.hours["water_temp"] - conditions.hours["air_temp"][conditions.counted]).mean()
    return season.heat_kwh / sheet.pond.surface_area, float(lead)


def _pond_result(
    letter: str, sheet: Sheet, record: Weather, everyone: list[tuple[Sheet, Weather]], money: bool
) -> PondResult:
    """One pond's heat, and how it changes with one thing at a time as at the median pond."""
    open_kwh, lead = _heat(sheet, record, False)
    covered_kwh = _heat(sheet, record, True)[0] if sheet.pond.cover else None
    now = open_kwh if covered_kwh is None else covered_kwh
    others = [one for one, _ in everyone]
    by_air_temp = sorted((weather for _, weather in everyone), key=lambda one: float(one.hours["air_temp"].mean()))
    changed = {
        "the temperature it is held at": (
            replace(sheet, set_point=(((1, 1), statistics.median(map(_temp, others))),)),
            record,
        ),
        "its cover": (_with_median_cover(sheet, others), record),
        "the wind that reaches it": (_with(sheet, wind_shelter=_median(others, "wind_shelter")), record),
        "the sky and sun it sees": (
            _with(sheet, sky_view=_median(others, "sky_view"), shade=_median(others, "shade")),
            record,
        ),
        "its walls and floor": (_with_median_walls(sheet, others), record),
        "its filter, air stones and new water": (_with_median_streams(sheet, others), record),
        "its weather": (sheet, by_air_temp[len(by_air_temp) // 2]),
    }
    reasons = {
        words: change
        for words, (one, weather) in changed.items()
        if abs(change := _change(one, weather, now)) > 0.01 * max(now, 1.0)
    }
    price = None
    if money and sheet.tariff is not None:
        season = run_season(sheet, boundary_conditions(sheet, record), sheet.pond.cover is not None)
        price = None if season.money is None else season.money / sheet.pond.surface_area
    saved = None if covered_kwh is None or open_kwh <= 0 else 1 - covered_kwh / open_kwh
    return PondResult(
        letter,
        open_kwh,
        covered_kwh,
        now / max(lead, 1.0),
        saved,
        price,
        sheet.currency,
        _temp(sheet),
        tuple(sorted(reasons.items(), key=lambda reason: -abs(reason[1]))),
    )


def _change(sheet: Sheet, record: Weather, now: float) -> float:
    """Heat of the changed pond less its present heat [kWh/m²]; 0 if it does not fit the weather (other hemisphere)."""
    try:
        return _heat(sheet, record, True)[0] - now
    except ValueError:
        return 0.0


def _with(sheet: Sheet, **changes) -> Sheet:
    """The sheet with some fields of its pond changed."""
    return replace(sheet, pond=replace(sheet.pond, **changes))


def _temp(sheet: Sheet) -> float:
    """Mean of the set points [degC]."""
    return statistics.fmean(temp for _, temp in sheet.set_point if temp is not None)


def _median(others: list[Sheet], name: str) -> float:
    """Median of a field of all ponds."""
    return statistics.median(getattr(one.pond, name) for one in others)


def _loss(pond: Pond) -> float:
    """Heat transmission of walls and floor per square metre of water [W/(m²·K)]."""
    return sum(wall.u_value * wall.area for wall in pond.walls) / pond.surface_area


def _with_median_walls(sheet: Sheet, others: list[Sheet]) -> Sheet:
    """The sheet with its walls scaled to the median pond's transmission per square metre of water."""
    own = _loss(sheet.pond)
    if own <= 0:
        return sheet
    factor = statistics.median(_loss(one.pond) for one in others) / own
    return _with(sheet, walls=tuple(replace(wall, u_value=wall.u_value * factor) for wall in sheet.pond.walls))


def _with_median_streams(sheet: Sheet, others: list[Sheet]) -> Sheet:
    """The sheet with the median flows of filter, air stones and new water per square metre of water."""
    return _with(
        sheet,
        **{
            name: statistics.median(getattr(one.pond, name) / one.pond.surface_area for one in others)
            * sheet.pond.surface_area
            for name in ("filter_air_flow", "aeration_air_flow", "water_change")
        },
    )


def _with_median_cover(sheet: Sheet, others: list[Sheet]) -> Sheet:
    """The sheet with the cover and cover hours of the pond that is the median by covered hours a day."""

    def hours(one: Sheet) -> float:
        plan = one.cover_plan
        if one.pond.cover is None:
            return 0.0
        if plan.on is None or plan.off is None:
            return 24.0
        return ((plan.off - plan.on) % 1440 or 1440) / 60

    median = sorted(others, key=hours)[len(others) // 2]
    return replace(sheet, pond=replace(sheet.pond, cover=median.pond.cover), cover_plan=median.cover_plan)

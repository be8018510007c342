"""A class pools its ponds: every sheet in a folder side by side, without a name, to see that no figure carries over.

Each pond is reckoned in its own weather, then once more with one thing at a time made as it is at the middle pond. What
that changes is why they differ. Letters are drawn by lot, so that neither they nor the order tell whose a pond is.
"""

from __future__ import annotations

import datetime as dt
import random
import statistics
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.heat.balance import Pond
from pondheat.season.heaters import Heater
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_sheet import Sheet

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # without I and O, which look like figures
STRONG = 3000.0  # W for each m²: what the water needs is compared, not what a heater can give
SEASON = (dt.date(2025, 9, 1), dt.date(2026, 5, 31))  # for all, so that a longer season is no reason (judgement)
MOST = len(LETTERS)


class Nothing(ValueError):
    """A folder that holds no pond that can be compared."""


@dataclass(frozen=True)
class PondResult:
    """One pond under its letter: heat over the season for each square metre [kWh/m²], open and as it is covered (None
    without a cover); the same for each degree of its mean lead over the air [kWh/(m²·K)]; share of the heat that the
    cover saves [–]; money [money/m²], None where it was not asked for or has no tariff.

    reasons: what would change, most first, if one thing were as at the middle pond [kWh/m²].
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
        """Heat of the pond as its sheet describes it [kWh/m²]."""
        return self.open_kwh if self.covered_kwh is None else self.covered_kwh


@dataclass(frozen=True)
class Together:
    """All ponds of a class, the one that takes least first; `text.limitations`: file and why, for the tutor alone."""

    ponds: tuple[PondResult, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def times(self) -> float:
        """How many times as much the dearest pond takes as the cheapest, for each square metre [–]."""
        return self.ponds[-1].as_it_is / max(self.ponds[0].as_it_is, 1e-9)


def together(
    folder: Path, *, money: bool = False, seed: int | None = None, progress: Callable[[float], None] | None = None
) -> Together:
    """Every pond sheet (*.toml) of a folder, held against the others.

    money: also what a square metre costs, on each sheet's own tariff. seed: of the letters; None draws them anew each
    time. progress: called with the share done, 0–1. A sheet that cannot be read or heats nothing is left out with its
    reason, and never stops the others. Raises Nothing for a folder that is missing or holds no usable sheet.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise Nothing(f"{folder}: no such folder. Make one, and let everyone who wants to drop a pond sheet into it.")
    read, left_out = [], []
    for path in sorted(folder.glob("*.toml")):
        try:
            read.append((path, *_ready(sheets.read(path))))
        except (ValueError, OSError) as wrong:
            left_out.append((path.name, " ".join(str(wrong).split())))
    lots = random.SystemRandom() if seed is None else random.Random(seed)
    if len(read) > MOST:
        lots.shuffle(read)
        left_out += [
            (path.name, f"more than {MOST} ponds do not go on one page; these were drawn by lot.")
            for path, *_ in read[MOST:]
        ]
        read = read[:MOST]
    if not read:
        why = f" {left_out[0][0]}: {left_out[0][1]}" if left_out else " It holds no file that ends in .toml."
        raise Nothing(f"{folder}: no pond here can be compared.{why}")
    letters = lots.sample(LETTERS[: len(read)], len(read))
    ponds = []
    for at, (_, one, record) in enumerate(read):
        ponds.append(_held(letters[at], one, record, [(sheet, weather) for _, sheet, weather in read], money))
        if progress is not None:
            progress((at + 1) / len(read))
    return Together(tuple(sorted(ponds, key=lambda pond: pond.as_it_is)), tuple(left_out))


def _ready(sheet: Sheet) -> tuple[Sheet, Weather]:
    """A sheet made comparable: the same months, a heater that is never short; raises `Nothing` where nothing is heated."""
    if all(temp is None for _, temp in sheet.set_point):
        raise Nothing("it heats nothing, so there is no heat to compare.")
    like = replace(sheet, start=SEASON[0], end=SEASON[1], start_temp=None)
    record = assessment.weather_of(like)
    assessment.setting(like, record)  # refuses weather of another season or another half of the Earth
    return like, record


def _strong(sheet: Sheet) -> Sheet:
    return replace(sheet, heater=Heater("resistance", STRONG * sheet.pond.surface_area), tariff=None)


def _heat(sheet: Sheet, record: Weather, covered: bool) -> tuple[float, float]:
    """Heat for each square metre [kWh/m²], and the mean lead of water over air while heat is asked for [K]."""
    place = assessment.setting(sheet, record)
    season = assessment.run_season(_strong(sheet), place, covered and sheet.pond.cover is not None)
    lead = (season.hours["water_temp"] - place.hours["air_temp"][place.counted]).mean()
    return season.heat_kwh / sheet.pond.surface_area, float(lead)


def _held(letter: str, sheet: Sheet, record: Weather, everyone: list[tuple[Sheet, Weather]], money: bool) -> PondResult:
    bare, lead = _heat(sheet, record, False)
    covered = _heat(sheet, record, True)[0] if sheet.pond.cover else None
    now = bare if covered is None else covered
    others = [one for one, _ in everyone]
    middling = sorted((weather for _, weather in everyone), key=lambda one: float(one.hours["air_temp"].mean()))
    changed = {
        "the temperature it is held at": (
            replace(sheet, set_point=(((1, 1), statistics.median(map(_temp, others))),)),
            record,
        ),
        "its cover": (_with_middle_cover(sheet, others), record),
        "the wind that reaches it": (_with(sheet, wind_shelter=_middle(others, "wind_shelter")), record),
        "the sky and sun it sees": (
            _with(sheet, sky_view=_middle(others, "sky_view"), shade=_middle(others, "shade")),
            record,
        ),
        "its walls and floor": (_with_middle_walls(sheet, others), record),
        "its filter, air stones and new water": (_with_middle_streams(sheet, others), record),
        "its weather": (sheet, middling[len(middling) // 2]),
    }
    reasons = {
        words: change
        for words, (one, weather) in changed.items()
        if abs(change := _change(one, weather, now)) > 0.01 * max(now, 1.0)
    }
    cost = None
    if money and sheet.tariff is not None:
        season = assessment.run_season(sheet, assessment.setting(sheet, record), sheet.pond.cover is not None)
        cost = season.money / sheet.pond.surface_area
    saved = None if covered is None or bare <= 0 else 1 - covered / bare
    return PondResult(
        letter,
        bare,
        covered,
        now / max(lead, 1.0),
        saved,
        cost,
        sheet.currency,
        _temp(sheet),
        tuple(sorted(reasons.items(), key=lambda reason: -abs(reason[1]))),
    )


def _change(sheet: Sheet, record: Weather, now: float) -> float:
    """What the changed pond takes more [kWh/m²]; 0 where it does not fit that weather (another half of the Earth)."""
    try:
        return _heat(sheet, record, True)[0] - now
    except ValueError:
        return 0.0


def _with(sheet: Sheet, **changes) -> Sheet:
    return replace(sheet, pond=replace(sheet.pond, **changes))


def _temp(sheet: Sheet) -> float:
    return statistics.fmean(temp for _, temp in sheet.set_point if temp is not None)


def _middle(others: list[Sheet], name: str) -> float:
    return statistics.median(getattr(one.pond, name) for one in others)


def _loss(pond: Pond) -> float:
    """Transmittance of all sides for each square metre of water [W/(m²·K)]."""
    return sum(wall.u_value * wall.area for wall in pond.walls) / pond.surface_area


def _with_middle_walls(sheet: Sheet, others: list[Sheet]) -> Sheet:
    """The sheet with its sides so good or bad that each square metre of water loses what the middle pond's does."""
    own = _loss(sheet.pond)
    if own <= 0:
        return sheet
    factor = statistics.median(_loss(one.pond) for one in others) / own
    return _with(sheet, walls=tuple(replace(wall, u_value=wall.u_value * factor) for wall in sheet.pond.walls))


def _with_middle_streams(sheet: Sheet, others: list[Sheet]) -> Sheet:
    return _with(
        sheet,
        **{
            name: statistics.median(getattr(one.pond, name) / one.pond.surface_area for one in others)
            * sheet.pond.surface_area
            for name in ("filter_air_flow", "aeration_air_flow", "water_change")
        },
    )


def _with_middle_cover(sheet: Sheet, others: list[Sheet]) -> Sheet:
    """The sheet with the cover and the hours of that pond whose cover is the middle one by hours a day; none counts 0."""

    def hours(one: Sheet) -> float:
        plan = one.cover_plan
        if one.pond.cover is None:
            return 0.0
        return 24.0 if plan.on is None else ((plan.off - plan.on) % 1440 or 1440) / 60

    middle = sorted(others, key=hours)[len(others) // 2]
    return replace(sheet, pond=replace(sheet.pond, cover=middle.pond.cover), cover_plan=middle.cover_plan)

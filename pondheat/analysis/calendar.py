"""A calendar of the cold months: what to do in each, dated from the pond's own sheet and weather.

Nine months, September to May; March to November south of the equator. The tasks are common practice without a source;
the dates come from the sheet (season, cover, set point, forgotten evenings) and its weather year (first frost,
coldest day).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from pondheat.analysis.results import Assessment, is_southern, times_of
from pondheat.season import schedule
from pondheat.sheet.pond_sheet import Sheet

MONTHS = 9
FIRST_MONTH = (9, 3)  # September; March south of the equator
_MAX_FORGOTTEN = 2  # forgotten evenings listed


@dataclass(frozen=True)
class Task:
    """A task, and the days it is due on, if any."""

    words: str
    days: tuple[dt.date, ...] = ()


@dataclass(frozen=True)
class Month:
    """A month, by its first day, and its tasks: dated ones in order, then the others."""

    first: dt.date
    tasks: tuple[Task, ...]


def questions(covered: bool) -> tuple[str, ...]:
    """Questions that no sheet can answer: insurance, holidays, alarm."""
    away = (
        "Who lifts the cover and sees to the fish when you are away?"
        if covered
        else "Who sees to the fish when you are away?"
    )
    return (
        "Does your insurance cover spilt water, lost fish and the heater?",
        away,
        "What wakes you when the pump stops?",
    )


def keeper_calendar(found: Assessment) -> tuple[Month, ...]:
    """The nine cold months that an assessment's season belongs to, with their tasks."""
    sheet = found.sheet
    begin = _first_month(found.first, found.last, FIRST_MONTH[is_southern(sheet, found.weather)])
    firsts = [_months_later(begin, count) for count in range(MONTHS)]
    end = _months_later(begin, MONTHS)
    dated = sorted(
        ((day, words) for words, day in _dated(found, begin, end) if begin <= day < end), key=lambda one: one[0]
    )
    undated = _undated(sheet)
    months = []
    for count, first in enumerate(firsts):
        own = [(day, words) for day, words in dated if (day.year, day.month) == (first.year, first.month)]
        months.append(Month(first, (*_merged(own), *map(Task, undated.get(count, ())))))
    return tuple(months)


def _merged(dated: list[tuple[dt.date, str]]) -> list[Task]:
    """Merge tasks that share a date, and dates that share their tasks."""
    days: dict[dt.date, list[str]] = {}
    for day, words in dated:
        days.setdefault(day, []).append(words)
    same: dict[str, list[dt.date]] = {}
    for day, tasks in days.items():
        same.setdefault(", ".join(tasks), []).append(day)
    return [Task(words, tuple(on)) for words, on in same.items()]


def _months_later(date: dt.date, count: int) -> dt.date:
    """The first day of the month that many months later."""
    years, month = divmod(date.month - 1 + count, 12)
    return date.replace(year=date.year + years, month=month + 1, day=1)


def _first_month(first: dt.date, last: dt.date, month: int) -> dt.date:
    """Start of the cold months: the one within the season, otherwise of those that overlap it most."""
    begins = [dt.date(year, month, 1) for year in (first.year - 1, first.year, first.year + 1)]
    inside = [begin for begin in begins if first <= begin <= last]
    if inside:
        return inside[0]

    def shared(begin: dt.date) -> int:
        return max((min(last, _months_later(begin, MONTHS)) - max(first, begin)).days, 0)

    most = max(map(shared, begins))
    return next(begin for begin in begins if (shared(begin) == most if most else begin >= first.replace(day=1)))


def _on(begin: dt.date, month: int, day: int) -> dt.date:
    """A day of the year on or after `begin`; the last of February where there is no such day."""
    year = begin.year + ((month, day) < (begin.month, begin.day))
    try:
        return dt.date(year, month, day)
    except ValueError:
        return dt.date(year, month, 28)


def _dated(found: Assessment, begin: dt.date, end: dt.date) -> list[tuple[str, dt.date]]:
    """Tasks with a date from the sheet or its weather."""
    sheet, plan = found.sheet, found.sheet.cover_plan
    tasks = [("the season begins", found.first)]
    if sheet.pond.cover is not None:
        for days in plan.days:
            if days != schedule.ALWAYS:
                tasks += [
                    ("first evening under the cover", _on(begin, *days[0])),
                    ("last evening under the cover", _on(begin, *days[1])),
                ]
        given = [day if isinstance(day, dt.date) else _on(begin, *day) for day in plan.exceptions]
        forgotten = [day for day in sorted(given) if begin <= day < end]
        tasks += [("cover forgotten, according to the sheet", day) for day in forgotten[:_MAX_FORGOTTEN]]
    if sheet.is_heated and len(sheet.set_point) > 1:
        tasks += [
            ("new set point" if temp is not None else "the heat ends", _on(begin, *day))
            for day, temp in sheet.set_point
        ]
    return [
        *tasks,
        *_weather_days(found.weather.hours["air_temp"], begin),
        ("the season ends: check the meter against this sheet", found.last),
    ]


def _weather_days(air_temp: pd.Series, begin: dt.date) -> list[tuple[str, dt.date]]:
    """First frost and coldest day of a whole weather year; none for a shorter record, which may miss them."""
    days = air_temp.groupby(times_of(air_temp).date).agg(["min", "mean"])
    if len(days) < 360:
        return []
    days = days.iloc[:365]
    days.index = [_on(begin, day.month, day.day) for day in days.index]
    days = days.sort_index()
    frost = days.index[days["min"] < 0]
    tasks = [("first frost of the weather year", frost[0])] if len(frost) else []
    return [*tasks, ("coldest day of the weather year", days["mean"].idxmin())]


def _undated(sheet: Sheet) -> dict[int, list[str]]:
    """Undated tasks by month, counted from the first; those of a cover or a heater only where there is one."""
    covered, heated = sheet.pond.cover is not None, sheet.is_heated
    tasks = {
        0: ["press the test button of the residual-current device", "alarm test: stop the pump for a minute"],
        1: ["check the thermometer against a second"],
        2: ["empty hoses that could freeze"],
        3: ["test button again"],
        4: ["alarm test again"],
        5: ["look for chafed cables" + (" and loose ties" if covered else "")],
        6: ["test button again"],
        7: ["clean the filter a part at a time"],
        8: ["a last reading"],
    }
    if covered:
        tasks[0].append("mend the cover, try the tie-downs")
        tasks[2].append("note each night on which the cover is forgotten")
        tasks[4].append("clear snow from the side, keep a vent open")
        tasks[7].append("wash the cover")
        tasks[8].append("dry and store the cover")
    else:
        tasks[2].append("keep leaves out of the pump")
    if heated:
        tasks[1].append(
            "cool-down test on a still evening"
            + (", once open, once covered" if covered else "")
            + "; not with ill fish or frost to come"
        )
        tasks[6].append("warm back slowly, about [one degree] a day by custom")
    else:
        tasks[1].append("read the water on a still evening, top and bottom")
    return tasks

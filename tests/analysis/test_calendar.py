"""The strip of the cold months: which months, which dates, and only what this pond has."""

import datetime as dt
from dataclasses import replace

import pytest

from pondheat.analysis import assessment, calendar
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet

GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")


def found(**changes) -> assessment.Assessment:
    return assessment.assess(pond_sheet.from_text(pond_sheet.with_values(GARDEN, changes), PONDS), scenarios=0)


@pytest.fixture(scope="module")
def garden():
    return found()


def days_of(months, words: str) -> list[dt.date]:
    return [day for month in months for task in month.tasks if words in task.words for day in task.days]


def all_words(months) -> str:
    return "; ".join(task.words for month in months for task in month.tasks)


def test_nine_months_from_september_by_the_sheets_season(garden):
    months = calendar.keeper_calendar(garden)
    assert [(one.first.year, one.first.month) for one in months] == [
        (2025, 9),
        (2025, 10),
        (2025, 11),
        (2025, 12),
        (2026, 1),
        (2026, 2),
        (2026, 3),
        (2026, 4),
        (2026, 5),
    ]
    assert days_of(months, "the season begins") == [dt.date(2025, 9, 1)]
    assert days_of(months, "the season ends") == [dt.date(2026, 5, 31)]


@pytest.mark.parametrize(
    ("first", "last", "begin"),
    [
        (dt.date(2025, 10, 1), dt.date(2026, 4, 30), dt.date(2025, 9, 1)),  # begins late
        (dt.date(2026, 1, 1), dt.date(2026, 3, 31), dt.date(2025, 9, 1)),  # the second half only
        (dt.date(2025, 6, 2), dt.date(2025, 6, 22), dt.date(2025, 9, 1)),  # summer: the months to come
        (dt.date(2025, 1, 1), dt.date(2025, 12, 31), dt.date(2025, 9, 1)),  # a whole year: those that begin in it
        (dt.date(2025, 8, 1), dt.date(2026, 7, 31), dt.date(2025, 9, 1)),
    ],
)
def test_the_months_that_a_season_belongs_to(garden, first, last, begin):
    assert calendar.keeper_calendar(replace(garden, first=first, last=last))[0].first == begin


def test_south_of_the_equator_the_cold_months_begin_in_march(garden):
    south = replace(garden, sheet=replace(garden.sheet, latitude=-35.0))
    months = calendar.keeper_calendar(south)
    assert [one.first.month for one in months] == [3, 4, 5, 6, 7, 8, 9, 10, 11]
    assert [task.words for task in months[0].tasks if not task.days] == [
        task.words for task in calendar.keeper_calendar(garden)[0].tasks if not task.days
    ]


def test_the_time_zone_alone_tells_the_half_of_the_earth(garden):
    sheet = replace(garden.sheet, latitude=None, timezone="Australia/Sydney")
    assert calendar.keeper_calendar(replace(garden, sheet=sheet))[0].first.month == 3
    nowhere = replace(garden.sheet, latitude=None, timezone="UTC")  # then the weather's place does
    assert calendar.keeper_calendar(replace(garden, sheet=nowhere))[0].first.month == 9
    southern = replace(garden, sheet=nowhere, weather=replace(garden.weather, latitude=-35.0))
    assert calendar.keeper_calendar(southern)[0].first.month == 3


def test_cover_dates_and_forgotten_evenings_are_the_sheets():
    months = calendar.keeper_calendar(
        found(**{"cover.from": "1 Oct", "cover.to": "30 Apr", "cover.except": ["2025-12-24", "2026-01-03"]})
    )
    assert days_of(months, "first evening under the cover") == [dt.date(2025, 10, 1)]
    assert days_of(months, "last evening under the cover") == [dt.date(2026, 4, 30)]
    assert days_of(months, "cover forgotten") == [dt.date(2025, 12, 24), dt.date(2026, 1, 3)]


def test_frost_and_the_coldest_day_are_the_weathers(garden):
    months = calendar.keeper_calendar(garden)
    air = garden.weather.hours["air_temp"]
    lowest = air.groupby(air.index.strftime("%m-%d")).min()
    frost = next(day for day in (*sorted(lowest.index[lowest.index >= "09-01"]), *lowest.index) if lowest[day] < 0)
    mean = air.groupby(air.index.strftime("%m-%d")).mean()
    assert [f"{day:%m-%d}" for day in days_of(months, "first frost")] == [frost]
    assert [f"{day:%m-%d}" for day in days_of(months, "coldest day")] == [mean.idxmin()]


def test_a_short_record_dates_no_frost(garden):
    brief = replace(garden.weather, hours=garden.weather.hours.iloc[: 24 * 200])
    assert "frost of the weather" not in all_words(calendar.keeper_calendar(replace(garden, weather=brief)))


def test_tasks_fit_what_the_pond_has(garden):
    whole = all_words(calendar.keeper_calendar(garden))
    for wanted in (
        "residual-current device",
        "thermometer",
        "alarm test",
        "tie-downs",
        "cool-down test on a still evening",
        "forgotten",
        "snow from the side",
        "warm back slowly",
        "clean the filter",
        "wash the cover",
    ):
        assert wanted in whole, wanted
    bare = all_words(calendar.keeper_calendar(found(cover=None, heater=None, **{"pond.set_point": None})))
    for unwanted in ("cover", "cool-down", "warm back", "tie"):
        assert unwanted not in bare, unwanted


def test_questions_for_the_keeper():
    for covered in (True, False):
        asked = calendar.questions(covered)
        assert all(one.endswith("?") for one in asked) and len(asked) == 3
        for topic in ("insurance", "away", "pump stops"):
            assert sum(topic in one for one in asked) == 1

"""A season's heat from degree-hours: by hand, against the season's own sum, and where it misleads."""

import numpy as np
import pytest

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.season.weather.weather import record_degree_days
from pondheat.show.panels import degree_hours
from pondheat.show.panels.degree_hours import MONTHS, WATER_TEMP


@pytest.fixture(scope="module")
def panel():
    return degree_hours.SeasonByDegreeHours()


def read(panel, month):
    panel.controls["month"].value = str(month)
    assert panel.error.value == ""


def test_degree_hours_by_hand_and_by_the_days(panel):
    place = assessment.boundary_conditions(panel.sheet, assessment.weather_of(panel.sheet))
    air = place.hours["air_temp"][place.counted]
    january = air[air.index.month == 1].to_numpy()
    assert len(january) == 31 * 24
    assert panel.cold[1] == pytest.approx(sum(WATER_TEMP - one for one in january if one < WATER_TEMP))
    # hours find at least the cold that days find, and little more while every day is cold
    days = january.reshape(31, 24).mean(axis=1)
    assert panel.cold[1] == pytest.approx(24 * np.maximum(WATER_TEMP - days, 0).sum(), rel=1e-6)
    assert sum(panel.cold.values()) < 24 * record_degree_days(assessment.weather_of(panel.sheet), WATER_TEMP) * 1.1


@pytest.mark.parametrize("month", MONTHS)
def test_the_sentence_holds_the_numbers(panel, month):
    read(panel, month)
    rate = panel.heat[month] / panel.cold[month]
    assert panel.rough == pytest.approx(rate * sum(panel.cold.values()))
    for value, unit in (
        (panel.cold[month], "degree-hours"),
        (panel.heat[month], "kWh on the meter"),
        (panel.rough, "kWh; hour by hour"),
        (panel.true, "kWh, so"),
    ):
        assert f"{units.digits(value)} {unit}" in panel.sentence()
    out = 100 * (panel.rough / panel.true - 1)
    assert f"{units.digits(abs(out))} % too {'much' if out > 0 else 'little'}. " in panel.sentence()


def test_the_season_is_the_librarys(panel):
    place = assessment.boundary_conditions(panel.sheet, assessment.weather_of(panel.sheet))
    season = assessment.run_season(panel.sheet, place, covered=False)
    assert panel.true == pytest.approx(season.heat_kwh, rel=1e-6)
    assert list(panel.heat) == [9, 10, 11, 12, 1, 2, 3, 4, 5]


def test_winter_months_give_the_season_and_may_does_not(panel):
    """What the page says: roughly the season's heat from a winter's month; a sunny one misleads."""
    for month, most in ((11, 0.1), (1, 0.1), (3, 0.1)):
        read(panel, month)
        assert abs(panel.rough / panel.true - 1) < most and "May is furthest out" in panel.sentence()
    read(panel, 5)
    assert panel.rough < 0.6 * panel.true


def test_arithmetic_ends_in_the_number_shown(panel):
    for month in MONTHS:
        read(panel, month)
        first, *_, last = panel.arithmetic().lines
        assert first[1] == "1.00 h × 10.0 K = 10.0 K·h"
        assert last[1].endswith(f"= {units.digits(panel.rough)} kWh")
        assert last[2].endswith(f"shown above as {units.digits(panel.rough)} kWh")


def test_the_picture_has_both_ways(panel):
    read(panel, 1)
    figure = panel.redraw("1")[0]
    drawn = {name: list(values) for name, (_, values) in figure.numbers.items()}
    assert drawn["hour by hour"] == pytest.approx(list(panel.heat.values()))
    assert drawn["degree-hours"] == pytest.approx([panel.rate * cold for cold in panel.cold.values()])
    assert max(map(max, drawn.values())) < panel.MOST

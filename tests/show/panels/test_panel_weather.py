"""The panels of the weather: degree-days day by day, the short way that fails, and an hour's shift between records."""

import numpy as np
import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.season.weather.weather import record_degree_days
from pondheat.sheet import pond_sheet as sheets
from pondheat.show.panels import weather
from pondheat.show.ponds import PONDS

START = {"base": 4.0, "month": 11}


@pytest.fixture(scope="module")
def panel():
    return weather.panel()


@pytest.fixture(scope="module")
def records():
    return weather.two_records()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    before = panel.total
    assert "November averages" in panel.sentence() and f"{units.digits(before)} degree-days" in panel.sentence()
    put(panel, base=5)
    assert panel.total > before
    put(panel, month=12)
    assert panel.total > before and "December" in panel.sentence()
    put(panel, month=7, base=4)
    assert panel.total == 0 and "no day is below" in panel.sentence()
    put(panel, month=1, base=18)
    assert panel.total == pytest.approx(panel.averaged) and "no day is above" in panel.sentence()


def test_arithmetic_ends_in_the_number_shown(panel):
    for values in ({}, {"base": 18}, {"base": 10, "month": 4}):
        put(panel, **values)
        lines = panel.arithmetic().lines
        end = lines[-1][1].rsplit("= ", 1)[1].removesuffix(" K·d").replace(",", "")
        assert float(end) == pytest.approx(panel.total, rel=0.005)
        assert f"{units.digits(panel.total)} degree-days" in panel.sentence()
        assert all(line[2] for line in lines)
    put(panel, month=7)
    assert panel.arithmetic().lines[-1][1].endswith("= 0 K·d")


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert weather.RIGHT == "much" and set(weather.WORDS) == set(weather.OPTIONS) - {weather.RIGHT}
    # the page says that November's mean lies just above the guard
    assert units.digits(panel.means.mean(), 1) == "4.1"
    assert panel.averaged == 0 and panel.total > 20


def test_months_add_up_to_the_year(panel):
    """Twelve months are the library's own sum over the year, by another road."""
    total = 0.0
    for month in range(1, 13):
        put(panel, base=18, month=month)
        total += panel.total
    assert total == pytest.approx(
        record_degree_days(assessment.weather_of(sheets.read(PONDS / "garden_pond.toml")), 18.0)
    )


def test_degree_days_by_hand(panel):
    put(panel, base=4, month=11)
    by_hand = sum(4.0 - mean for mean in panel.means if mean < 4.0)
    assert panel.total == pytest.approx(by_hand)
    assert len(panel.means) == 30


@pytest.mark.parametrize("base", (0, 26))
@pytest.mark.parametrize("month", some_of(range(1, 13), 0, 3, 6, 9))
def test_extremes(panel, base, month):
    put(panel, base=base, month=month)
    assert panel.means.min() > panel.LOW and panel.means.max() < panel.HIGH
    assert panel.averaged <= panel.total + 1e-9


def test_finer_looks_find_more_cold():
    found = list(weather.ways().values())
    assert found[0] <= found[1] <= found[3]
    assert found[2] == pytest.approx(found[3], rel=0.1)


def test_records_lie_nearest_one_hour_back(records):
    """The garden's logger names an hour by its end: so its record must go back by one."""
    apart = {}
    for shift in range(-3, 4):
        records.controls["shift"].value = shift
        assert records.error.value == ""
        apart[shift] = records.mean_apart
        assert f"differ by {units.digits(apart[shift], 2)} K" in records.sentence()
    assert min(apart, key=apart.get) == -1
    # rounding to whole degrees alone leaves a quarter of a degree: the mean of |x| for x even in ± 0.5
    assert apart[-1] == pytest.approx(0.25, abs=0.03)
    assert apart[0] > 2 * apart[-1]


def test_records_arithmetic(records):
    records.controls["shift"].value = -1
    lines = records.arithmetic().lines
    assert lines[-1][1].startswith(units.significant(records.mean_apart, 3))
    assert records.mean_apart == pytest.approx(float(np.mean(records.apart)))
    records.controls["shift"].value = 0

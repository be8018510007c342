"""The panel of moist air: what it says, the arithmetic behind it, and the fog it asks about."""

import pytest

from pondheat.core import units
from pondheat.show import figures
from pondheat.show.panels import moist_air


@pytest.fixture(scope="module")
def panel():
    return moist_air.panel()


def put(panel, air_temp=8, humidity=100):
    panel.controls["air_temp"].value, panel.controls["humidity"].value = air_temp, humidity
    assert panel.error.value == "", panel.error.value


def test_sentence_follows_the_controls(panel):
    put(panel, 12, 60)
    before = panel.difference
    assert (
        "Air at 12 °C and 60 % humidity" in panel.sentence()
        and f"{units.digits(before)} Pa, drives" in panel.sentence()
    )
    put(panel, 12, 90)
    assert panel.difference < before
    put(panel, 5, 60)
    assert panel.difference > before


def test_handbook_value_by_hand(panel):
    """ASHRAE Fundamentals 2017 ch. 1 table 3 prints 872.6 Pa at 5 °C: half of it at 50 %."""
    put(panel, 5, 50)
    assert panel.inside == pytest.approx(436.3, abs=0.5)


def test_dew_point_is_where_the_air_is_full(panel):
    put(panel, 10, 80)
    assert panel.dew == pytest.approx(6.71, abs=0.03)  # psychrolib 2.5.0
    held = panel.inside
    put(panel, 7, 100)
    assert panel.full == pytest.approx(held, rel=0.03)  # 7 °C is near that dew point
    put(panel, -5, 80)
    assert "frost point" in panel.sentence()


@pytest.mark.parametrize("air_temp, humidity", [(8, 100), (12, 65), (25, 95)])
def test_arithmetic_ends_in_the_number_shown(panel, air_temp, humidity):
    put(panel, air_temp, humidity)
    lines = panel.arithmetic().lines
    shown = units.digits(panel.difference)
    assert lines[-1][1].endswith(f"= {shown} Pa") and shown.lstrip("−-") in panel.sentence()
    assert all(line[2] for line in lines)


def test_right_choice_is_borne_out(panel):
    put(panel)
    # into quite dry air the whole pressure over the water would drive
    assert 0.42 < panel.difference / panel.over < 0.58 and moist_air.RIGHT == "half"
    assert set(moist_air.WORDS) == set(moist_air.OPTIONS) - {moist_air.RIGHT}
    assert panel.dew < moist_air.WATER_TEMP  # hence nothing settles


def test_damp_warm_air_gives_water_to_the_pond(panel):
    put(panel, 25, 95)
    assert panel.difference < 0 and "condenses on the pond" in panel.sentence()
    assert panel.dew > moist_air.WATER_TEMP


def test_full_air_as_warm_as_the_water(panel):
    put(panel, 18, 100)
    assert panel.difference == pytest.approx(0, abs=1e-6) and "nothing evaporates" in panel.sentence()


@pytest.mark.parametrize("air_temp", (-10, 25))
@pytest.mark.parametrize("humidity", (20, 100))
def test_extremes(panel, air_temp, humidity):
    put(panel, air_temp, humidity)
    assert figures.ROOM * max(panel.redraw(air_temp, humidity)[0].numbers.values()) <= moist_air.SCALES[-1]
    put(panel)

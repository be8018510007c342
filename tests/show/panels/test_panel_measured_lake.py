"""The measured lake beside the computed one: the sentence has the errors of the record, the picture both lines."""

import numpy as np
import pytest

from pondheat.analysis.measured_water import computed_water, water_error
from pondheat.core import units
from pondheat.show.panels import measured_lake


@pytest.fixture(scope="module")
def panel():
    return measured_lake.panel()


def test_the_sentence_has_the_errors_of_the_whole_record(panel):
    error = water_error(computed_water(panel.lake), panel.lake.water_temp)
    for number in (abs(error.bias), error.rmse, error.worst):
        assert f"{number:.1f} K" in panel.sentence()
    assert f"{units.digits(2926)} hours" in panel.sentence() and "nothing about a cover or a heater" in panel.sentence()


def test_each_month_and_sky_has_its_own_line(panel):
    made = computed_water(panel.lake, sky="berdahl_martin")
    panel.controls["sky"].value = "berdahl_martin"
    for month, name in measured_lake.MONTHS.items():
        panel.controls["month"].value = month
        chosen = panel.lake.weather.hours.index.month == int(month)
        difference = float(np.nanmean((made - panel.lake.water_temp)[chosen]))
        assert panel.month_error == pytest.approx(difference, abs=1e-9)
        side = "warmer" if difference > 0 else "colder"
        assert f"In {name} the computed water is {abs(difference):.1f} K {side}" in panel.sentence()
        assert "measured runs from" in panel.picture.value and "computed runs from" in panel.picture.value
    assert f"{panel.lake_error.rmse:.3g}"[:3] in panel.arithmetic().text()

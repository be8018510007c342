"""The panel of a season hour by hour: its hardest hour, all hours as a carpet, and the frame that stays."""

import re

import numpy as np
import pytest
from panel_values import putting

from pondheat.analysis import assessment
from pondheat.show.panels import season_hours
from pondheat.show.ponds import held_all_season

put = putting({"water_temp": 18, "wind": 50})


@pytest.fixture(scope="module")
def panel():
    return season_hours.panel()


def test_the_hardest_hour_is_that_of_the_carpet(panel):
    put(panel)
    carpet, at = panel.frame.carpet, panel.worst.index[0]
    row, day = np.unravel_index(carpet.open.argmax(), carpet.open.shape)
    night = at.date().toordinal() - (at.hour < 12)
    assert ((row + 12) % 24, carpet.days[day].toordinal()) == (at.hour, night)
    assert carpet.open.max() == pytest.approx(panel.lost.max())
    assert f"({at.day} {at:%B}, {at:%H:%M})" in panel.sentence() and f"{at:%H:%M}" in panel.picture.value


def test_a_season_run_hour_by_hour_loses_as_much(panel):
    """With a heater that always keeps up, from one hour at 18 °C to the next: else the sun has warmed the water."""
    put(panel)
    sheet = held_all_season(18.0, 30_000.0)
    place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    hours = assessment.run_season(sheet, place, covered=False).hours
    held = (hours["water_temp"] - 18).abs() < 1e-6
    steady = held & held.shift(1, fill_value=False)
    run = hours[list(season_hours.ROUTES)].sum(axis=1)
    assert steady.sum() > 3000 and np.allclose(run[steady], panel.lost[steady], atol=1)
    assert np.allclose(hours["heater"][steady], panel.hours["heater"][steady], atol=1)


def test_wind_and_warmth_move_the_sentence_and_leave_the_frame(panel):
    put(panel)
    panel.frame.frame = [30, 200, 20, 31]
    before = panel.lost.mean(), panel.frame.carpet.open.sum(), panel.frame.says
    put(panel, wind=80)
    assert panel.lost.mean() > before[0] and panel.frame.carpet.open.sum() > before[1]
    assert panel.frame.frame == [30, 200, 20, 31] and panel.frame.says != before[2]
    put(panel, water_temp=8)
    assert "Held at 8 °C" in panel.sentence() and panel.lost.mean() < before[0]


def test_the_hardest_tenth_is_counted(panel):
    put(panel)
    watts = np.sort(panel.lost.to_numpy())[::-1]
    tenth = round(len(watts) / 10)
    share = int(re.search(r"make up (\d+) % of the season's loss", panel.sentence())[1])
    assert share == round(100 * watts[:tenth].sum() / watts.sum()) > 10


@pytest.mark.parametrize("values", [{}, {"water_temp": 22, "wind": 80}, {"water_temp": 8, "wind": 30}])
def test_arithmetic_ends_in_the_number_shown(panel, values):
    put(panel, **values)
    lines = panel.arithmetic().lines
    reached = float(re.search(r"= ([\d.]+) kW$", lines[-1][1])[1])
    assert reached == pytest.approx(panel.lost.max() / 1000, rel=0.01)
    assert re.search(r"shown above as (.*)$", lines[-1][2])[1] in panel.sentence()

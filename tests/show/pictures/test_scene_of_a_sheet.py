"""The scene of a pond sheet: its sizes as the sheet gives them, its flows as the season has them."""

from dataclasses import replace

import pytest

from pondheat.analysis import assessment
from pondheat.heat.balance import Wall
from pondheat.sheet import pond_sheet
from pondheat.show.pictures.of_sheet import assessed_scene, basin_of, length_of, scene_of
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.ponds import invented, invented_text


@pytest.fixture(scope="module")
def season():
    sheet = pond_sheet.from_text(
        pond_sheet.with_values(invented_text(), {"season": {"start": "2026-01-01", "end": "2026-01-10"}})
    )
    sheet = replace(sheet, start_temp=18.0)
    conditions = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    return sheet, conditions, assessment.run_season(sheet, conditions, covered=True)


def test_sizes_are_those_of_the_sheet():
    sheet = invented()
    assert length_of(sheet) == 4.0
    assert basin_of(sheet.pond, 4.0) == pytest.approx({"length": 4.0, "depth": 1.2, "raised": 1.2})
    sunk = replace(sheet.pond, walls=(Wall(15.6, 0.5, "ground"),))
    assert basin_of(sunk) == pytest.approx({"length": 10**0.5, "depth": 1.2, "raised": 0.0})
    assert length_of(replace(sheet, text='[pond]\nlength = "13 ft"')) == pytest.approx(3.9624)
    assert length_of(replace(sheet, text="[pond]\nsurface_area = 10")) is None
    assert length_of(replace(sheet, text="[pond")) is None


def test_one_hour_is_a_moment_with_its_own_light(season):
    sheet, conditions, result = season
    for hour, night in ((2, True), (12, False)):
        row = result.hours.iloc[24 + hour : 25 + hour]
        scene = scene_of(sheet, row, conditions.hours)
        assert scene.hour == hour + 0.5 and (scene.daylight < 0.1) is night
        assert sum(scene.losses.values()) == pytest.approx(
            float(row[["evaporation", "convection", "long_wave", "walls", "ground"]].sum(axis=1).iloc[0])
            + float(row[["falling_water", "casing", "aeration", "water_change"]].sum(axis=1).iloc[0])
        )
        assert scene.heater == float(row["heater"].iloc[0]) and scene.covered == float(row["covered"].iloc[0])
        assert scene.air_temp == conditions.hours["air_temp"].loc[row.index[0]]


def test_many_hours_are_their_mean(season):
    sheet, conditions, result = season
    scene = scene_of(sheet, result.hours, conditions.hours, full=5000.0)
    assert scene.hour is None and scene.scale == 5000.0
    assert scene.losses["evaporation"] == pytest.approx(result.hours["evaporation"].mean())
    assert scene.covered == pytest.approx(14 / 24) and scene.pump == pytest.approx(97.0, abs=1)
    assert "<svg" in pond_picture(scene)


def test_without_its_cover_every_flow_is_the_open_pond_s(season):
    found = assessment.assess(season[0], scenarios=0)
    scene = assessed_scene(found, with_cover=False)
    mean = found.open.hours.mean()
    assert (scene.heater, scene.sun, scene.water_temp) == pytest.approx((mean.heater, mean.solar, mean.water_temp))
    assert scene.heater > 1.2 * found.covered.hours["heater"].mean()
    outlines = assessed_scene(found).outlines
    assert not scene.outlines and outlines == pytest.approx({**scene.losses, "heater": scene.heater})


def test_what_a_sheet_lacks_is_not_drawn(season):
    sheet, _, result = season
    bare = replace(sheet, pump_power=0.0, pond=replace(sheet.pond, cover=None, room=True))
    scene = scene_of(bare, result.hours.iloc[:1])
    assert scene.pump is None and scene.sun is None and scene.air_temp is None and not scene.has_cover
    assert "pump" not in pond_picture(scene)

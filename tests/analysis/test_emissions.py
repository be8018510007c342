"""Greenhouse gases of a season and of each choice, in every form in which they are told."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest

from pondheat.analysis import assessment, export
from pondheat.analysis.scenarios import what_if
from pondheat.core.number_format import unbroken
from pondheat.core.places import PONDS
from pondheat.core.ranges import OutOfRange
from pondheat.money.emissions import emissions_text
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import from_text, with_values
from pondheat.show.report.decision_sheet import report
from pondheat.text import summary, what_if_text

GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
TWO_WEEKS = {"season.start": "2025-11-03", "season.end": "2025-11-16"}
OWN = {"emissions.electricity": "0.1 kg/kWh", "emissions.gas": "0.2 kg/kWh"}
GAS = {"heater.kind": "gas", "heater.gas_rate": "9 p/kWh"}


def sheet_of(*changes):
    text = GARDEN
    for change in (TWO_WEEKS, *changes):
        text = with_values(text, change)
    return from_text(text, PONDS)


def assessed(*changes):
    return assessment.assess(sheet_of(*changes), scenarios=0)


@pytest.fixture(scope="module")
def own():
    return assessed(OWN)


def test_energy_times_factor(own):
    assert own.open.co2_kg == pytest.approx(0.1 * own.open.electricity_kwh)
    assert own.saving_co2_kg == pytest.approx(0.1 * own.saving_kwh)


def test_gas_and_the_pumps_electricity_each_by_its_own():
    season = assessed(OWN, GAS).open
    assert season.gas_kwh > 100 and season.electricity_kwh > 10
    assert season.co2_kg == pytest.approx(0.1 * season.electricity_kwh + 0.2 * season.gas_kwh)


def test_the_shell_says_it_rounded_and_names_the_factor(own):
    text = re.sub(r"\s+", " ", summary.season_text(own))
    for season in (own.open, own.covered):
        assert emissions_text(season.co2_kg) in text
    assert f"the cover saves about {emissions_text(own.saving_co2_kg)}" in text
    assert "CO₂ equivalent at 0.1 kg a kWh, as emissions.electricity says" in text
    published = re.sub(r"\s+", " ", summary.season_text(assessed()))
    assert "UK grid 2025" in published and "UK Government greenhouse gas conversion factors" in published


def test_an_unknown_grid_gives_no_figure_and_says_how_to_get_one():
    found = assessed({"timezone": "Europe/Paris", "currency": "EUR", "tariff": None, "cover.price": None})
    text = re.sub(r"\s+", " ", summary.season_text(found))
    assert found.open.co2_kg is None and found.saving_co2_kg is None
    assert "No CO₂ figure: no published factor is kept here for the grid of Europe/Paris" in text
    assert "[emissions] electricity" in text
    assert export.as_dict(found)["open"]["co2_kg"] is None
    table = what_if.what_if(found.sheet, found.weather, ["no_heat"])
    free = what_if.what_if(replace(found.sheet, pump_power=0.0, pump_heat=0.0), found.weather, ["no_heat"])
    assert any(row.co2_kg == 0 for row in free.rows), "no energy, no gases"
    said = re.sub(r"\s+", " ", what_if_text.table_text(free))
    assert "as carbon dioxide, at no" not in said and "No CO₂e: no published factor" in said
    assert all(row.co2_kg is None for row in table.rows) and "CO₂e  " not in what_if_text.table_text(table)


def test_plain_data(own):
    data = json.loads(json.dumps(export.as_dict(own)))
    assert data["emissions"]["electricity_kg_per_kwh"] == 0.1 and data["emissions"]["gas_kg_per_kwh"] == 0.2
    assert data["open"]["co2_kg"] - data["covered"]["co2_kg"] == pytest.approx(data["saving"]["co2_kg"])


def test_each_choice(own):
    table = what_if.what_if(
        own.sheet, own.weather, ["no_heat", "heat_pump", "own_panels"], solar_peak_kw=5.0, export_rate=0.05
    )
    rows = {row.key: row for row in table.rows}
    for key in ("as_it_is", "no_heat", "heat_pump"):
        assert rows[key].co2_kg == pytest.approx(0.1 * rows[key].electricity_kwh)
    assert rows["own_panels"].co2_kg < rows["as_it_is"].co2_kg  # only what comes from the grid
    text = what_if_text.table_text(table)
    assert "CO₂e" in text and all(emissions_text(row.co2_kg) in text for row in table.rows)
    assert what_if_text.as_dict(table)["rows"][1]["co2_kg"] == rows["no_heat"].co2_kg
    assert max(map(len, text.splitlines())) <= 100


def test_the_decision_sheet_says_it_once_and_shows_the_arithmetic(own):
    page = report(own.sheet, own)
    row = re.search(r"CO₂e, about</th>(.*?)</tr>", page, re.DOTALL)
    assert page.count("CO₂e, about") == 1
    told = [cell for cell in re.sub(r"<[^>]+>", "|", row[1]).split("|") if cell.strip()]
    assert told == [unbroken(emissions_text(season.co2_kg)) for season in (own.open, own.covered)]
    assert own.saving_co2_kg == pytest.approx(own.open.co2_kg - own.covered.co2_kg) and told[0] != told[1]
    text = re.sub(r"<[^>]+>|\s+", " ", page)
    assert "Greenhouse gases, open" in text and "Greenhouse gases, covered" in text and "kg/kWh" in text


# --- the half of the Earth, and a pond that needs no heat -------------------------------------------------------------


def test_weather_of_the_other_half_is_refused_by_the_time_zone_alone():
    sheet = sheet_of({"timezone": "Australia/Sydney", "place.latitude": None, "place.longitude": None})
    assert sheet.latitude is None
    with pytest.raises(OutOfRange, match="as its time zone Australia/Sydney says"):
        assessment.assess(sheet, scenarios=0)


def test_weather_that_says_no_latitude_is_known_by_its_summer(year):
    sheet = sheet_of({"timezone": "Australia/Sydney", "place.latitude": None, "place.longitude": None})
    northern = Weather(year, "made by rule", None, None, 0.0, 10.0, MEASURED, "made by rule", ())
    southern = replace(northern, hours=year.assign(air_temp=np.roll(year["air_temp"], len(year) // 2)))
    winter = replace(northern, hours=year.iloc[-24 * 260 : -24 * 180])
    with pytest.raises(OutOfRange, match="but its weather is warmest in June and the months after: there it is winter"):
        assessment.assess(sheet, northern, scenarios=0)
    for record in (southern, winter):
        assert assessment._require_same_hemisphere(sheet, record) is None
    assert assessment._require_same_hemisphere(replace(sheet, timezone="Asia/Singapore"), northern) is None
    with pytest.raises(OutOfRange, match="warmest in December and the months after"):
        assessment._require_same_hemisphere(replace(sheet, timezone="Europe/London"), southern)


ROOM = {"place.surroundings": "room", "place.room_humidity": "70 %"}


def test_a_room_is_not_told_of_mild_seasons():
    found = assessment.assess(sheet_of(ROOM, {"place.room_temp": "12 °C"}), scenarios=30)
    text = summary.season_text(found)
    assert "mild" not in text and "There may be colder years" not in text
    assert "room_warmth" in dict(found.uncertainty.variance_shares)
    assert "year_warmth" not in dict(found.uncertainty.variance_shares)
    outdoors = assessment.assess(sheet_of(), scenarios=30)
    assert "year_warmth" in dict(outdoors.uncertainty.variance_shares)


def test_a_season_without_heat_is_not_told_what_overturns_it():
    found = assessment.assess(sheet_of(ROOM, {"place.room_temp": "25 °C"}), scenarios=30)
    assert not found.needs_heat and found.open.heat_kwh < 0.5
    text = re.sub(r"\s+", " ", summary.season_text(found))
    assert "stays as warm as you ask by itself" in text
    page = re.sub(r"<[^>]+>|\s+", " ", report(found.sheet, found))
    for words in ("overturn", "pays for itself", "What matters most", "Break our number"):
        assert words not in text and words not in page.split("How each number")[0]
    assert "The pond stays as warm as you ask by itself" in page
    assert "indoors" in page and re.search(r"air\s+25\.0\s°C", page)  # the room's air, not the weather's

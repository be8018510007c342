"""Page 16, the reader's own town: with the net (a local stand-in), with what was fetched before, and with neither."""

import pytest

from pondheat.analysis import assessment
from pondheat.season.weather import real_winters, stored
from pondheat.sheet import pond_sheet
from pondheat.show.panels.sheet_file import SHEET
from pondheat.show.panels.your_pond import YourPond
from pondheat.show.panels.your_pond_form import Line

SIZE = {"length": "15 ft", "width": "10 ft", "depth": "4 ft", "start": "2025-11-03", "end": "2025-11-09"}

pytestmark = pytest.mark.usefixtures("few_runs")


def given(panel, **answers):
    """Answers as the browser sends them, and what is said under each at the end."""
    for key, value in answers.items():
        field = panel.form.fields[key]
        field._answer(field, {"asked": "1"} | ({"typed": value} if isinstance(field, Line) else {"value": value}), [])
    return {key: panel.form.fields[key].says for key in answers}


def worked(panel):
    panel.work_out()
    panel.wait(120)
    return panel.progress_line.value + panel.headline.value + panel.result.value


@pytest.fixture(autouse=True)
def nothing_by_itself(monkeypatch):
    """An answer is worked out where a test asks for it."""
    monkeypatch.setattr(YourPond, "_sharpen", lambda self: None)


@pytest.fixture
def panel(tmp_path, services):
    return YourPond(tmp_path)


def test_the_town_is_asked_for_where_it_is_chosen(panel):
    assert panel.form.fields["town"].layout.display == "none" and panel.town.layout.display == "none"
    said = given(panel, place="town")
    assert panel.form.fields["town"].layout.display == "" and "Leeds, GB" in panel.form.fields["town"].says, said
    assert panel.town.layout.display == "none"


def test_a_town_is_understood_or_asked_back(panel, tmp_path):
    said = given(panel, place="town", town="leeds, gb")["town"]
    assert "Leeds, England, GB: 53.8° N, 1.6° W" in said and "GeoNames" in said
    assert 'town = "leeds, gb"' in (tmp_path / SHEET).read_text(encoding="utf-8")
    assert "Newport, Wales, GB" in given(panel, town="Newport")["town"] and panel.town.layout.display == "none"
    assert "Did you mean “Leeds" in given(panel, town="Leads, GB")["town"]
    assert "GeoNames" in given(panel, town="53.8, -1.5")["town"]


def test_its_clock_and_season_are_start_values(panel):
    given(panel, place="town", town="Berlin, DE")
    assert panel.form.answers()["timezone"] == "Europe/Berlin"
    start = panel.form.answers()["start"]
    given(panel, town="Sydney, AU")
    answers = panel.form.answers()
    assert answers["timezone"] == "Australia/Sydney"
    assert answers["start"] == f"{int(start[:4]) + 1}-03-01" and answers["end"] == f"{answers['start'][:4]}-11-30"
    given(panel, town="Leeds, GB")
    assert panel.form.answers()["start"] == start


def test_nothing_is_fetched_before_the_button_and_all_is_told(panel, services):
    given(panel, place="town", town="Leeds, GB", **SIZE)
    said = panel.town.about.value
    for part in ("PVGIS", "53.8", "-1.6", "Licence", "internet address", stored.FOLDER):
        assert part in said, part
    assert services.requests == [] and panel.town.winters.layout.display == "none"


def test_with_the_net_then_from_what_was_fetched(panel, services, tmp_path):
    given(panel, place="town", town="Leeds, GB", **SIZE)
    panel.town.year.click()
    panel.town.wait(60)
    assert "used offline" in panel.town.progress_line.value and len(services.requests) == 1
    assert [path.name for path in (tmp_path / stored.FOLDER).iterdir()] == ["53.8_-1.6_typical-year.json"]
    assert panel.town.year.layout.display == "none" and "is here" in panel.town.about.value
    services.how = "error"
    said = worked(panel)
    assert "Leeds, England, GB" in said and "PVGIS" in said and len(services.requests) == 1
    again = YourPond(tmp_path)
    assert "is here" in again.town.about.value and again.form.answers()["town"] == "Leeds, GB"
    assert pond_sheet.read(tmp_path / SHEET).weather == "town"


def test_without_the_net_the_place_used_instead_is_named(panel, services, tmp_path):
    services.how = "error"
    given(panel, place="town", town="Leeds, GB", **SIZE)
    panel.town.year.click()
    panel.town.wait(60)
    assert "PVGIS" in panel.town.progress_line.value and "Try again later" in panel.town.progress_line.value
    assert panel.town.year.layout.display == ""
    said = assessment.weather_of(pond_sheet.read(tmp_path / SHEET)).notes[0]
    assert "has not been fetched yet" in said and "Sollerwick" in said


def test_a_fetch_can_be_cancelled(panel, services, tmp_path):
    services.how = "hang"
    given(panel, place="town", town="Leeds, GB")
    panel.town.year.click()
    panel.town.cancel.click()
    panel.town.wait(10)
    assert "Cancelled" in panel.town.progress_line.value and not (tmp_path / stored.FOLDER).exists()


@pytest.mark.long
def test_the_last_winters(panel, services, monkeypatch):
    monkeypatch.setattr(real_winters, "COUNT", 2)
    given(panel, place="town", town="Leeds, GB")
    panel.town.year.click()
    panel.town.wait(60)
    assert "NASA" in panel.town.about_winters.value and "2 requests" in panel.town.about_winters.value
    panel.town.winters.click()
    panel.town.wait(60)
    assert len(services.requests) == 3 and panel.town.winters.layout.display == "none"

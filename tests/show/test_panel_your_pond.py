"""Your own pond, without a browser: nothing is written before an answer, all is kept after, faults are told in place."""

from pathlib import Path

import pytest

from pondheat import pond_form, sheet
from pondheat.show.panels import your_pond
from pondheat.show.panels.your_pond import ASIDE, REPORT, SHEET, TOWN, Line, YourPond

LOGS = Path(__file__).resolve().parents[2] / "data" / "readings"
HOSTILE = "<script>alert(1)</script>\"'&\\ 🐟"


def given(panel, **answers):
    """Type answers as the browser would, and give back what is said under each."""
    said = {}
    for key, value in answers.items():
        field = panel.fields[key]
        if isinstance(field, Line):
            field.says = field._take({"typed": value})
        else:
            field.says = field._take({"value": value})
        said[key] = field.says
    return said


@pytest.fixture
def panel(tmp_path):
    return YourPond(tmp_path)


def worked(panel):
    panel.work_out()
    panel.wait(120)
    return panel.said.value


def test_opening_writes_nothing(panel, tmp_path):
    assert list(tmp_path.iterdir()) == [] and panel._repr_mimebundle_()["text/plain"] == YourPond.NOTHING


def test_start_values_are_marked(panel):
    marked = {key for key, field in panel.fields.items() if field.says == your_pond.START}
    assert marked == panel.untouched and {"held", "cover", "rate", "u_value"} <= marked


def test_what_is_missing_is_named(panel, tmp_path):
    assert "length of the water, width of the water, mean depth" in worked(panel)
    assert list(tmp_path.iterdir()) == []


def test_from_three_numbers_to_a_sheet_of_paper(panel, tmp_path):
    said = given(panel, length="15 ft", width="10 ft", depth="4 ft")
    assert "4.57 m" in said["length"]
    assert "The cover saves" in worked(panel)
    assert {path.name for path in tmp_path.iterdir()} == {SHEET, REPORT}
    assert f'href="{REPORT}"' in panel.result.value and "Break our number" in panel.result.value
    assert len(panel.below.children) == 1
    made = sheet.read(tmp_path / SHEET)
    assert "cover.u_value" in made.assumed and "pond.length" not in made.assumed
    assert "Guesses, says the sheet" in (tmp_path / REPORT).read_text(encoding="utf-8")


def test_reopened_it_goes_on_where_it_was(panel, tmp_path):
    given(panel, length="15 ft", width="10 ft", depth="4 ft", cover="insulated lid", rate="31 p/kWh", held="warm")
    again = YourPond(tmp_path)
    for key, value in (("length", "15 ft"), ("cover", "insulated lid"), ("rate", "31 p/kWh"), ("held", "warm")):
        assert again.fields[key].value == value
    assert "warm" in again.fields["held"].says and "rate" not in again.untouched and "gap" in again.untouched


def test_a_wrong_answer_is_told_in_place_and_nothing_is_lost(panel):
    said = given(panel, length="4", width="10 ft", depth="four feet", held=HOSTILE)
    assert "4 m" in said["length"] and "four feet" in said["depth"] and panel.fields["held"].value == HOSTILE
    told = worked(panel)
    assert 'role="alert"' in told and "Length of the water" in told and "<script" not in told
    assert panel.fields["width"].value == "10 ft"


def test_too_long_an_answer_is_refused_in_words(panel):
    assert "too long" in given(panel, length="9" * 10_000)["length"] and panel.fields["length"].value == ""


@pytest.mark.parametrize("key", [key for key, question in pond_form.questions().items() if question.choices is None])
def test_hostile_text_in_every_line_is_only_text(key, panel, tmp_path):
    given(panel, **{"length": "15 ft", "width": "10 ft", "depth": "4 ft", "heater": "gas", key: HOSTILE})
    assert panel.fields[key].value == YourPond(tmp_path).fields[key].value == HOSTILE
    try:
        sheet.read(tmp_path / SHEET)
    except sheet.SheetFaults as faults:
        panel.fault(faults)
        assert 'role="alert"' in panel.said.value and "<script" not in panel.said.value


def test_a_hostile_name_does_not_run(panel, tmp_path):
    given(panel, length="15 ft", width="10 ft", depth="4 ft", name=HOSTILE)
    said = worked(panel)
    assert "<script" not in said + panel.result.value + (tmp_path / REPORT).read_text(encoding="utf-8")


def test_a_broken_sheet_is_said_copied_aside_and_never_lost(tmp_path):
    (tmp_path / SHEET).write_text("this is <no> sheet", encoding="utf-8")
    panel = YourPond(tmp_path)
    assert "cannot be read" in panel.saved.value and "<no>" not in panel.saved.value
    assert [path.name for path in tmp_path.iterdir()] == [SHEET]
    given(panel, length="4 m")
    assert (tmp_path / ASIDE).read_text(encoding="utf-8") == "this is <no> sheet"
    assert 'length = "4 m"' in (tmp_path / SHEET).read_text(encoding="utf-8")


def test_what_was_changed_by_hand_meanwhile_is_kept(panel, tmp_path):
    given(panel, length="4 m", width="2.5 m", depth="1.2 m")
    text = sheet.with_values((tmp_path / SHEET).read_text(encoding="utf-8"), {"pond.floor": "8 °C"})
    (tmp_path / SHEET).write_text(text, encoding="utf-8")
    given(panel, rate="33 p/kWh")
    assert sheet.read(tmp_path / SHEET).floor == 8


def test_twelve_temperatures_of_ones_own_town(panel, tmp_path):
    given(panel, length="4 m", width="2.5 m", depth="1.2 m")
    panel.town.says = panel.town._take({"typed": "1 2 4"})
    assert "3 numbers" in panel.town.says
    panel.town._take({"typed": "-3 -2 2 7 12 16 18 17 13 8 2 -2"})
    assert (tmp_path / TOWN).exists() and panel.fields["place"].value == "own"
    assert "The cover saves" in worked(panel)
    assert "My town" in (tmp_path / REPORT).read_text(encoding="utf-8")


def test_a_weather_file_of_ones_own(panel, tmp_path):
    given(panel, length="4 m", width="2.5 m", depth="1.2 m")
    panel.weather.content, panel.weather.value = b"nonsense", "station.csv"
    panel.weather.turn += 1
    assert panel.fields["place"].value == "own" and (tmp_path / "my_weather.csv").read_bytes() == b"nonsense"
    assert 'role="alert"' in worked(panel)


def test_a_meter_narrows_the_band_or_is_refused_in_words(panel, tmp_path):
    given(panel, length="4 m", width="2.5 m", depth="1.2 m", held="18 °C", power="6 kW", place="potsdam", start="2025-09-01",
          end="2026-05-31")
    panel.meter.content = (LOGS / "garden_pond_open.csv").read_bytes()
    told = worked(panel)
    assert "saves" in told or 'role="alert"' in told
    if 'role="alert"' not in told:
        assert "learned from its own meter" in (tmp_path / REPORT).read_text(encoding="utf-8")
    panel.meter.content = b"a,b\nnonsense\n"
    assert 'role="alert"' in worked(panel)


def test_no_heat(panel):
    given(panel, length="4 m", width="2.5 m", depth="1.2 m", held="no heat")
    assert "No heat, no heating cost" in worked(panel)


def test_fields_are_few():
    asked = pond_form.questions().values()
    print(sum(not one.more for one in asked), "lines in the short form,", sum(one.needed for one in asked), "of them without a start value")
    assert sum(not one.more for one in asked) <= 14

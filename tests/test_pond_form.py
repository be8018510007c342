"""A pond's form: answers as typed make a sheet, the sheet gives them back, and what was added by hand is kept."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat import pond_form, sheet, study
from pondheat.pond_form import BY_HAND, NO_HEAT, answers_of, echo, questions, sheet_text
from pondheat.units import Unreadable

ASKED = questions()
SIZE = {"length": "4 m", "width": "2.5 m", "depth": "1.2 m"}


def filled(**answers) -> dict[str, str]:
    return {key: question.start for key, question in ASKED.items()} | SIZE | answers


def made(untouched=frozenset(), **answers) -> sheet.Sheet:
    return sheet.from_text(sheet_text(filled(**answers), set(untouched)))


# --- from answers to a sheet and back ------------------------------------------------------------------------------------

@pytest.mark.parametrize("answers", [
    {}, {"held": NO_HEAT}, {"cover": "none"}, {"cover": "insulated lid"}, {"cover": "floating"}, {"heater": "heat pump", "power": "9 kW"},
    {"heater": "gas"}, {"sunk": "above", "insulation": "50 mm EPS", "base": "50 mm XPS"}, {"cheap": "12 p/kWh from 00:30 to 07:30"},
    {"volume": "12 m³", "depth": ""}, {"hours": "day and night"}, {"rate": ""}, {"place": "potsdam"}, {"length": "13 ft"},
    {"shelter": "walled"}, {"heater": "none", "held": NO_HEAT}], ids=str)
def test_every_form_gives_a_sheet_that_can_be_reckoned_and_reads_back(answers):
    text = sheet_text(filled(**answers), set())
    pond = sheet.from_text(text)
    found = study.run_season(pond, study.setting(pond, study.weather_of(pond)), pond.pond.cover is not None)
    assert found.lowest_temp >= 0
    back, _ = answers_of(text)
    for key, value in filled(**answers).items():
        belongs_to_another = (key in ("cover_price", "u_value", "gap", "life") and answers.get("cover") == "none"
                              or key == "gas_rate" and answers.get("heater") != "gas" or key == "standing" and answers.get("rate") == ""
                              or key == "u_value" and answers.get("cover") == "insulated lid" or key == "depth" and "volume" in answers)
        assert back[key] == value or belongs_to_another, key


def test_units_stay_as_typed():
    text = sheet_text(filled(length="13 ft", volume="1500 UK gallons", held="64 °F"), set())
    for typed in ("13 ft", "1500 UK gallons", "64 °F"):
        assert f'"{typed}"' in text


def test_the_pond_is_the_one_that_was_described():
    pond = made(sunk="above", insulation="50 mm EPS", shelter="walled", cheap="12 p/kWh from 00:30 to 07:30")
    assert pond.pond.surface_area == 10 and pond.pond.volume == 12 and pond.pond.wind_shelter == 0.25
    assert pond.pond.walls[0].area == pytest.approx(15.6) and pond.pond.walls[0].against == "air" and pond.pond.walls[0].u_value < 1
    assert set(pond.tariff.rate_names) == {"cheap hours", "other hours"}


def test_start_values_are_named_in_the_sheet_until_somebody_touches_them():
    untouched = {key for key, question in ASKED.items() if question.start} - {"name"}
    pond = made(untouched)
    assert {"cover.u_value", "place.wind_shelter", "tariff.rate", "wall.layers", "heater.power"} <= set(pond.assumed)
    assert "pond.length" not in pond.assumed
    touched = made(untouched - {"u_value", "rate"})
    assert not {"cover.u_value", "tariff.rate"} & set(touched.assumed)
    _, again = answers_of(sheet_text(filled(), untouched))
    assert again == untouched - {"gas_rate", "standing"} | ({"standing"} & again)


def test_what_was_added_by_hand_stays():
    before = sheet_text(filled(), set()) + '\n[formulas]\nevaporation = "carrier"\n'
    before = sheet.with_values(before, {"cover.except": ["2026-12-24"], "pond.floor": "8 °C", "pond.set_point": {
        "1 Sep": "18 °C", "1 Dec": "12 °C"}, "wall": [{"name": "north", "area": "4 m²", "u_value": "0.5 W/m²K", "against": "air"}]})
    answers, _ = answers_of(before)
    assert answers["held"] == answers["sunk"] == BY_HAND
    after = sheet.from_text(sheet_text(answers | {"width": "3 m"}, set(), before))
    assert after.pond.evaporation == "carrier" and after.floor == 8 and len(after.set_point) == 2
    assert after.pond.walls[0].area == 4 and after.pond.surface_area == 12 and after.cover_plan.exceptions


def test_a_cover_taken_away_and_put_back_keeps_its_own_keys():
    before = sheet.with_values(sheet_text(filled(), set()), {"cover.except": ["2026-12-24"]})
    gone = sheet_text(answers_of(before)[0] | {"cover": "none"}, set(), before)
    assert sheet.from_text(gone).pond.cover is None and "2026-12-24" in gone


@settings(max_examples=60, deadline=None)
@given(key=st.sampled_from([key for key, question in ASKED.items() if question.choices is None]), text=st.text(max_size=400))
def test_no_answer_breaks_the_form(key, text):
    """Whatever is typed: understood or refused in words; and the sheet that holds it is TOML that gives it back."""
    try:
        echo(ASKED[key], text)
    except Unreadable as fault:
        assert str(fault)
    answers = filled(**{key: text})
    made = sheet_text(answers, set())
    answers_of(made)
    try:
        sheet.from_text(made)
    except sheet.SheetFaults as faults:
        assert all(fault.sentence for fault in faults.faults)


# --- what is said under a line -------------------------------------------------------------------------------------------

@pytest.mark.parametrize("key, typed, said", [
    ("length", "4 m", "13.1 ft"), ("length", "13 ft", "3.96 m"), ("length", "400 cm", "4.00 m"), ("held", "64 °F", "17.8 °C"),
    ("held", "no heat", "No heat."), ("volume", "1500 UK gallons", "6.82 m³"), ("power", "3 kW", "3.00 kW"),
    ("hours", "18:00 to 08:00", "14 hours."), ("hours", "day and night", "Day and night."), ("rate", "28 p/kWh", "£0.280"),
    ("cheap", "12 p/kWh, 00:30-07:30", "from 00:30 to 07:30"), ("cheap", "", "Left out.")])
def test_what_was_understood_is_said(key, typed, said):
    assert said in echo(ASKED[key], typed)


@pytest.mark.parametrize("key, typed, said", [
    ("length", "4", "4 m"), ("length", "", "needed"), ("length", "four", "four"), ("held", "warm", "warm"), ("rate", "28", "28"),
    ("hours", "at night", "18:00 to 08:00"), ("cheap", "12 p", "from 00:30 to 07:30"), ("insulation", "thick", "50 mm EPS"),
    ("length", "x" * 10_000, "too long"), ("power", "3 m", "3 m"), ("hours", "18:00 to 29:00", "29:00")])
def test_what_is_wrong_is_said_with_what_is_wanted(key, typed, said):
    with pytest.raises(Unreadable) as fault:
        echo(ASKED[key], typed)
    assert said in str(fault.value) and len(str(fault.value)) < 300


@pytest.mark.parametrize("day, year", [(dt.date(2026, 11, 25), 2026), (dt.date(2027, 2, 1), 2026), (dt.date(2027, 7, 1), 2027)])
def test_the_season_is_the_coming_or_the_present_winter(day, year):
    asked = questions(today=day)
    assert (asked["start"].start, asked["end"].start) == (f"{year}-09-01", f"{year + 1}-05-31")


def test_the_short_form_is_short():
    short = [question for question in ASKED.values() if not question.more]
    assert len(short) <= 14 and sum(question.needed for question in short) == 3
    assert pond_form.LONGEST <= 1000

"""A pond's form: answers as typed make a sheet, the sheet gives them back, and what was added by hand is kept."""

import datetime as dt
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usual_cases import all_in_one, some_of

from pondheat.analysis import assessment
from pondheat.core.units import Unreadable
from pondheat.sheet import pond_form, pond_sheet
from pondheat.sheet.form_sheet import PATHS, answers_of, question_of, sheet_text
from pondheat.sheet.pond_form import BY_HAND, NO_HEAT, echo, is_asked, questions

ASKED = questions()
SIZE = {"length": "4 m", "width": "2.5 m", "depth": "1.2 m"}
STARTS = {key for key, question in ASKED.items() if question.start and key not in ("name", *SIZE)}
TYPED = [key for key, question in ASKED.items() if question.choices is None]
HOSTILE = "<script>alert(1)</script>\"'&\\ 🐟"


def filled(**answers) -> dict[str, str]:
    return {key: question.start for key, question in ASKED.items()} | SIZE | answers


def made(untouched=frozenset(), **answers) -> pond_sheet.Sheet:
    return pond_sheet.from_text(sheet_text(filled(**answers), set(untouched)))


# --- from answers to a sheet and back -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "answers",
    some_of(
        [
            {},
            {"held": NO_HEAT},
            {"cover": "none"},
            {"cover": "insulated lid"},
            {"cover": "floating"},
            {"heater": "heat pump", "power": "9 kW"},
            {"heater": "gas"},
            {"sunk": "above", "insulation": "50 mm EPS", "base": "50 mm XPS"},
            {"cheap": "12 p/kWh from 00:30 to 07:30"},
            {"depth": "12 m³"},
            {"depth": "2600 UK gallons"},
            {"hours": "day and night"},
            {"rate": ""},
            {"place": "potsdam"},
            {"length": "13 ft"},
            {"shelter": "walled"},
            {"heater": "none", "held": NO_HEAT},
        ],
        *(0, 1, 3, 5, 6, 7, 8, 10, 13, 16),
    ),
    ids=str,
)
def test_every_form_gives_a_sheet_that_runs_and_reads_back(answers):
    answers = answers | {"start": "2025-10-01", "end": "2025-10-31"}  # a month is enough to run every part
    text = sheet_text(filled(**answers), set())
    pond = pond_sheet.from_text(text)
    found = assessment.run_season(
        pond, assessment.boundary_conditions(pond, assessment.weather_of(pond)), pond.pond.cover is not None
    )
    assert found.lowest_temp >= 0
    wanted, (back, untouched) = filled(**answers), answers_of(text)
    assert back == wanted
    assert not {key for key in untouched if is_asked(key, wanted)}
    assert sheet_text(back, untouched, text) == text


def test_units_stay_as_typed():
    text = sheet_text(filled(length="13 ft", depth="1500 UK gallons", held="64 °F"), set())
    for typed in ("13 ft", "1500 UK gallons", "64 °F"):
        assert f'"{typed}"' in text


def test_the_pond_is_the_one_that_was_described():
    pond = made(sunk="above", insulation="50 mm EPS", shelter="walled", cheap="12p 00:30-07:30")
    assert pond.pond.surface_area == 10 and pond.pond.volume == 12 and pond.pond.wind_shelter == 0.25
    assert (
        pond.pond.walls[0].area == pytest.approx(15.6)
        and pond.pond.walls[0].against == "air"
        and pond.pond.walls[0].u_value < 1
    )
    assert set(pond.tariff.rate_names) == {"cheap hours", "other hours"}
    assert made(depth="12 m³").pond.walls[0].area == pytest.approx(15.6)  # a volume tells the depth too


def test_a_bare_price_is_per_kwh():
    assert (
        made(rate="28p").tariff.otherwise
        == made(rate="£0.28").tariff.otherwise
        == made(rate="28 p/kWh").tariff.otherwise
    )


def test_no_heater_means_no_heat():
    assert made(heater="none").set_point == () and made(held=NO_HEAT).set_point == ()


# --- start values ---------------------------------------------------------------------------------------------------


def test_unchanged_defaults_are_listed_as_assumed():
    pond = made(STARTS)
    assert {"cover.u_value", "place.wind_shelter", "tariff.rate", "wall.layers", "heater.power"} <= set(pond.assumed)
    assert "pond.length" not in pond.assumed
    touched = made(STARTS - {"u_value", "rate"})
    assert not {"cover.u_value", "tariff.rate"} & set(touched.assumed)
    assert answers_of(sheet_text(filled(), STARTS))[1] == STARTS


@pytest.mark.parametrize(
    "answers, gone",
    [({"cover": "none"}, "cover."), ({"heater": "none", "held": NO_HEAT}, "heater.power"), ({"rate": ""}, "tariff.")],
)
def test_defaults_that_do_not_matter_are_not_listed(answers, gone):
    listed = made(STARTS - set(answers), **answers).assumed
    assert listed and not [one for one in listed if one.startswith(gone)]
    assert answers_of(sheet_text(filled(**answers), STARTS - set(answers)))[1] >= STARTS - set(answers)


def test_a_lid_starts_with_the_u_value_of_a_lid_and_a_place_with_its_clock():
    start = {
        key: pond_form.start_value(ASKED[key], filled(cover="insulated lid", place="greensboro"))
        for key in ("u_value", "timezone")
    }
    assert start == {"u_value": "0.7 W/m²K", "timezone": "America/New_York"}
    lid = sheet_text(filled(cover="insulated lid"), set())
    assert pond_sheet.from_text(lid).pond.cover.light == 0
    assert pond_sheet.from_text(sheet_text(filled(), set(), lid)).pond.cover.light > 0, (
        "a sheet lets light through again"
    )


# --- what a keeper wrote --------------------------------------------------------------------------------------------


def test_values_added_by_hand_stay():
    before = sheet_text(filled(), STARTS) + '\n[formulas]\nevaporation = "carrier"\n'
    before = pond_sheet.with_values(
        before,
        {
            "cover.except": ["2026-12-24"],
            "pond.floor": "8 °C",
            "pond.set_point": {"1 Sep": "18 °C", "1 Dec": "12 °C"},
            "wall": [{"name": "north", "area": "4 m²", "u_value": "0.5 W/m²K", "against": "air"}],
            "place.sky_view": 0.7,
            "cover.light": "82 %",
            "assumed": ["pond.floor", "cover.gap"],
        },
    )
    answers, untouched = answers_of(before)
    assert answers["held"] == answers["sunk"] == BY_HAND
    text = sheet_text(answers | {"width": "3 m"}, untouched, before)
    after = pond_sheet.from_text(text)
    assert (
        after.pond.evaporation == "carrier"
        and after.floor == 8
        and len(after.set_point) == 2
        and after.pond.cover.light == 0.82
    )
    assert after.pond.walls[0].area == 4 and after.pond.surface_area == 12 and after.cover_plan.exceptions
    assert after.assumed == ("pond.floor", "cover.gap") and "sky_view = 0.7\n" in text
    for table, values in tomllib.loads(before).items():
        now = tomllib.loads(text)[table]
        assert now == values or {f"{table}.{key}" for key in values if now[key] != values[key]} == {"pond.width"}


def test_a_pond_that_is_no_rectangle_keeps_its_surface():
    before = pond_sheet.with_values(
        sheet_text(filled(), set()), {"pond.length": None, "pond.width": None, "pond.surface_area": "9 m²"}
    )
    answers, untouched = answers_of(before)
    assert answers["length"] == answers["width"] == BY_HAND
    assert pond_sheet.from_text(sheet_text(answers | {"rate": "31p"}, untouched, before)).pond.surface_area == 9


def test_a_cover_taken_away_and_put_back_keeps_its_own_keys():
    before = pond_sheet.with_values(sheet_text(filled(u_value="2 W/m²K"), set()), {"cover.except": ["2026-12-24"]})
    gone = sheet_text(answers_of(before)[0] | {"cover": "none"}, set(), before)
    assert pond_sheet.from_text(gone).pond.cover is None and "2026-12-24" in gone
    back = pond_sheet.from_text(sheet_text(answers_of(gone)[0] | {"cover": "sheet"}, set(), gone))
    assert back.pond.cover.u_value == 2 and back.cover_plan.exceptions


@pytest.mark.parametrize(
    "text",
    [
        "cover = 3",
        "wall = 3",
        "wall = [3]",
        "[[wall]]\nname = 'sides (from the form)'\nlayers = [3, 4]",
        "tariff = 'x'",
        "tariff = [1]",
        "[[tariff]]\nrate = 3",
        "[tariff]\nwindow = [3]\notherwise = 3",
        "assumed = 3",
        "assumed = [3]",
        "base = 'x'",
        "base = {layers = [3]}",
        "[cover]\non = 18:00:00\noff = 08:00:00",
        "[cover]\non = 3",
        "[pond]\nlength = 4\ndepth = [1]",
        "heater = 'gas'",
        "[heater]\nkind = 3",
        "[weather]\nsource = 3",
        "[weather.source]\na = 1",
        "weather = 3",
        "place = 1",
        "[season]\nstart = 1",
        "name = {a = 1}",
        "currency = 3",
    ],
)
def test_strange_sheets_can_be_opened(text):
    answers, untouched = answers_of(text)
    assert set(answers) == set(ASKED) and all(isinstance(answer, str) for answer in answers.values())
    try:
        changed = sheet_text(answers | SIZE, untouched, text)
        pond_sheet.from_text(changed)
    except pond_sheet.SheetError as faults:
        assert all(fault.sentence for fault in faults.faults)


@settings(max_examples=25, deadline=None)
@given(key=st.sampled_from(TYPED), text=st.text(max_size=400))
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
        pond_sheet.from_text(made)
    except pond_sheet.SheetError as faults:
        assert all(fault.sentence for fault in faults.faults)


@all_in_one(TYPED)
def test_hostile_text_comes_back_as_it_was_typed(key):
    answers = filled(heater="gas", **{key: HOSTILE})
    assert answers_of(sheet_text(answers, set()))[0][key] == HOSTILE


# --- what is said under a line --------------------------------------------------------------------------------------

UNDERSTOOD = {
    "length": [("4 m", "13.1 ft"), ("13 ft", "3.96 m"), ("400 cm", "4.00 m"), ("13 ft 6 in", "4.11 m")],
    "width": [("2.5 m", "8.20 ft"), ("8 ft", "2.44 m"), ("250 cm", "2.50 m")],
    "depth": [
        ("1.2 m", "3.94 ft"),
        ("4 ft", "1.22 m"),
        ("12 m³", "US gallons"),
        ("1500 UK gallons", "6.82 m³"),
        ("9000 L", "9.00 m³"),
    ],
    "held": [("18 °C", "64.4 °F"), ("64 °F", "17.8 °C"), ("18 C", "64.4"), ("no heat", "No heat at all.")],
    "power": [("3 kW", "3.00 kW"), ("3000 W", "3.00 kW"), ("10 MJ/h", "2.78 kW")],
    "gas_rate": [("9 p/kWh", "£0.090"), ("9p", "£0.090"), ("£0.09/kWh", "£0.090")],
    "hours": [
        ("18:00 to 08:00", "14 hours"),
        ("18.00-8.00", "14 hours"),
        ("from 6:30 until 17:00", "10.5 hours"),
        ("day and night", "day and night"),
        ("6 pm to 8 am", "14 hours, from 18:00 to 08:00"),
    ],
    "cover_price": [("£180", ""), ("18000p", ""), ("180 GBP", "")],
    "machine_price": [("£2,500", ""), ("2500 GBP", ""), ("", "This is left out.")],
    "rate": [("28 p/kWh", "£0.280"), ("28p", "£0.280"), ("£0.28 per kWh", "£0.280")],
    "cheap": [
        ("12 p/kWh, 00:30-07:30", "from 00:30 to 07:30"),
        ("12p from 0:30 to 7:30", "£0.120"),
        ("", "This is left out."),
    ],
    "standing": [("53 p/day", "£0.530"), ("£16 a month", "£0.526"), ("£0.53/day", "£0.530")],
    "u_value": [("3 W/m²K", ""), ("3 W/(m²·K)", ""), ("0.53 BTU/h/ft²/°F", "")],
    "insulation": [("none", "None."), ("50 mm EPS", ""), ("2 in XPS", "")],
    "base": [("none", "None."), ("50 mm XPS", ""), ("5 cm EPS", "")],
    "latitude": [("51.5", ""), ("51.5 N", ""), ("-33.9", "")],
    "longitude": [("-1.5", ""), ("1.5 W", ""), ("13.4 deg", "")],
    "life": [("6 years", ""), ("72 months", ""), ("6 yr", "")],
    "pump": [("60 W", "0.0600 kW"), ("0.06 kW", "60.0 W"), ("60 watts", "60.0 W")],
}


@all_in_one((key, *one) for key, pairs in UNDERSTOOD.items() for one in pairs)
def test_echo_says_what_was_understood(key, typed, said):
    assert said in echo(ASKED[key], typed)
    pond_sheet.from_text(sheet_text(filled(heater="gas" if key == "gas_rate" else "resistance", **{key: typed}), set()))


@pytest.mark.parametrize(
    "key, typed, said",
    [
        ("length", "4", "4 m"),
        ("length", "", "needed"),
        ("length", "four", "four"),
        ("held", "warm", "warm"),
        ("rate", "28", "28"),
        ("hours", "at night", "18:00 to 08:00"),
        ("cheap", "12 p", "from 00:30 to 07:30"),
        ("insulation", "thick", "50 mm EPS"),
        ("length", "x" * 10_000, "too long"),
        ("power", "3 m", "3 m"),
        ("hours", "18:00 to 29:00", "29:00"),
        ("depth", "4", "“4 m” or “4 ft”"),
        ("depth", "1500 gallons", "Which gallon"),
        ("depth", "3 kW", "3 kW"),
        ("hours", "8:00 to 08:00", "same"),
        ("standing", "53", "53"),
    ],
)
def test_wrong_answers_are_refused_with_a_hint(key, typed, said):
    with pytest.raises(Unreadable) as fault:
        echo(ASKED[key], typed)
    assert said in str(fault.value) and len(str(fault.value)) < 300


@all_in_one(key for key in TYPED if key != "name")
def test_nonsense_is_refused_for_its_own_question(key):
    """Each fault belongs to the question that caused it, so that the form can show it there."""
    with pytest.raises((Unreadable, pond_sheet.SheetError)) as wrong:
        echo(ASKED[key], "nonsense")
        pond_sheet.from_text(sheet_text(filled(heater="gas", **{key: "nonsense"}), set()))
    if isinstance(wrong.value, pond_sheet.SheetError):
        assert {question_of(fault.key) for fault in wrong.value.faults} == {key}


def test_every_key_of_the_form_leads_back_to_its_question():
    assert all(question_of(path) for paths in PATHS.values() for path in paths)
    assert question_of("wall[1].layers") == "insulation" and question_of("tariff.window[1].rate") == "cheap"
    assert question_of("pond.floor") is None


@pytest.mark.parametrize(
    "day, year", [(dt.date(2026, 11, 25), 2026), (dt.date(2027, 2, 1), 2026), (dt.date(2027, 7, 1), 2027)]
)
def test_the_default_season_is_this_or_the_coming_winter(day, year):
    asked = questions(today=day)
    assert (asked["start"].start, asked["end"].start) == (f"{year}-09-01", f"{year + 1}-05-31")


def test_the_short_form_is_short():
    short = [key for key, question in ASKED.items() if not question.more and is_asked(key, filled())]
    assert len(short) <= 14 and sum(question.needed for question in ASKED.values()) == 3
    assert sum(is_asked(key, filled(cover="none", held=NO_HEAT)) for key in short) <= 10
    assert pond_form.LONGEST <= 1000


@pytest.mark.parametrize("key", pond_form.FILLED)
def test_an_emptied_line_shows_its_default(key):
    with pytest.raises(Unreadable, match="Nothing has been typed here. Type it like this"):
        echo(ASKED[key], "")


def test_no_insulation_may_be_left_empty():
    assert echo(ASKED["insulation"], "") == "This is left out." and made(insulation="", base="no").pond == made().pond

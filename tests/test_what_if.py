"""What if: every choice is the season of a sheet edited by hand, and costs move the way they must."""

import re
from dataclasses import FrozenInstanceError, fields
from pathlib import Path

import pytest

from pondheat import study, what_if
from pondheat.fish import cautions
from pondheat.heat.walls import MATERIALS
from pondheat.ranges import OutOfRange
from pondheat.sheet import from_text, with_values
from pondheat.what_if import AS_IT_IS, CHOICES, LID_U_VALUE

PONDS = Path(__file__).resolve().parents[1] / "data" / "ponds"
GARDEN, TANK = ((PONDS / f"{name}.toml").read_text(encoding="utf-8") for name in ("garden_pond", "growing_on_tank"))
# The last covered evening is that of 30 March, so that nights and cold months end within the same day.
COLD_ONLY = {"cover.from": "1 Nov", "cover.to": "30 Mar"}
LID = {"cover.kind": "insulated lid", "cover.u_value": f"{LID_U_VALUE.value} W/m²K", "cover.light": "0 %"}
WALLS = {"wall": [{"area": "15.6 m²", "u_value": f"{1 / (1 / 0.5 + 0.05 / MATERIALS['EPS'].value)!r} W/m²K"}]}
BY_HAND = {
    "no_heat": {"pond.set_point": None},
    "floor_4": {"pond.set_point": "4 °C"},
    "hold_15": {"pond.set_point": "15 °C"},
    "hold_18": {"pond.set_point": "18 °C"},
    "hold_22": {"pond.set_point": "22 °C"},
    "cover_never": {"cover": None},
    "cover_nights": {},
    "cover_cold_months": {"cover.on": None, "cover.off": None, "cover.to": "31 Mar"},
    "insulated_lid": LID,
    "insulated_walls": WALLS,
    "heat_pump": {"heater.kind": "heat pump"},
    "half_heater": {"heater.power": "3 kW"},
}
WINTER = {"season.start": "2025-10-25", "season.end": "2026-04-10", "pond.set_point": "16 °C"} | COLD_ONLY


def compared(text: str, changes: dict | None = None, choices=None) -> what_if.Table:
    return what_if.what_if(from_text(with_values(text, changes or {})), choices=choices)


def row(table: what_if.Table, key: str) -> what_if.Row:
    return next(one for one in table.rows if one.key == key)


def by_hand(text: str, *changes: dict) -> study.Season:
    """The season of a sheet whose text was edited, as the sheet describes it."""
    for change in changes:
        text = with_values(text, change)
    return study.assess(from_text(text), scenarios=0).as_described


def assert_same(one: what_if.Row, season: study.Season) -> None:
    found = (one.heat_kwh, one.electricity_kwh, one.gas_kwh, one.money, one.lowest_temp)
    assert found == pytest.approx((season.heat_kwh, season.electricity_kwh, season.gas_kwh, season.money,
                                   season.lowest_temp), rel=1e-6, abs=1e-6)
    assert (one.short_hours, one.ice_hours) == (season.short_hours, (season.hours["ice"] > 0).sum())


@pytest.fixture(scope="module")
def winter():
    """The garden pond from late October to April, covered at night in the cold months only."""
    return compared(GARDEN, WINTER)


@pytest.fixture(scope="module")
def garden():
    return compared(GARDEN)


# --- against sheets edited by hand ------------------------------------------------------------------------------------

def test_every_choice_is_tried():
    assert BY_HAND.keys() == CHOICES.keys()


@pytest.mark.parametrize("key", CHOICES)
def test_a_choice_is_the_sheet_edited_by_hand(winter, key):
    season, before = by_hand(GARDEN, WINTER, BY_HAND[key]), by_hand(GARDEN, WINTER)
    assert_same(row(winter, key), season)
    assert row(winter, key).difference == pytest.approx(season.money - before.money, rel=1e-6, abs=1e-6)
    assert row(winter, key).words == CHOICES[key].words


def test_the_first_row_is_the_sheet_as_it_is(winter):
    assert winter.rows[0].key == AS_IT_IS and winter.rows[0].difference == 0 and winter.rows[0].as_warm
    assert_same(winter.rows[0], by_hand(GARDEN, WINTER))
    assert [one.key for one in winter.rows[1:]] == list(CHOICES) and winter.left_out == ()


def test_layers_of_a_wall_get_one_more():
    """The tank's side with 50 mm of EPS as one more layer of its own."""
    wall = [{"area": "3.7 m²", "layers": ["6 mm PP", "50 mm PIR", "12 mm plywood", "50 mm EPS"]}]
    assert_same(compared(TANK, choices=["insulated_walls"]).rows[1], by_hand(TANK, {"wall": wall}))


def test_other_sheets_edited_by_hand():
    """A gas heater, a pond without cover, a cover that lies day and night, a heat pump half as strong."""
    gas = {"heater": {"kind": "gas", "power": "6 kW", "gas_rate": "9 p/kWh"}}
    pump = {"heater": {"kind": "heat pump", "power": "6 kW", "cold_power": "3.6 kW", "backup": "2 kW"}}
    half = {"heater": {"kind": "heat pump", "power": "3 kW", "cold_power": "1.8 kW", "backup": "1 kW"}}
    bare, always = {"cover": None}, {"cover.on": None, "cover.off": None}
    night = {"cover.on": "18:00", "cover.off": "08:00"}
    assert_same(compared(GARDEN, gas, ["heat_pump"]).rows[1],
                by_hand(GARDEN, {"heater": {"kind": "heat pump", "power": "6 kW"}}))
    assert_same(compared(GARDEN, gas, ["half_heater"]).rows[1], by_hand(GARDEN, gas, {"heater.power": "3 kW"}))
    assert_same(compared(GARDEN, pump, ["half_heater"]).rows[1], by_hand(GARDEN, half))
    assert_same(compared(GARDEN, bare, ["insulated_lid"]).rows[1], by_hand(GARDEN, bare, LID, night))
    assert_same(compared(GARDEN, always, ["cover_nights"]).rows[1], by_hand(GARDEN, always, night))
    assert_same(compared(GARDEN, always, ["insulated_lid"]).rows[1], by_hand(GARDEN, always, night, LID))


def test_cold_months_come_half_a_year_later_in_the_south():
    sheet = from_text(GARDEN)
    place = study.setting(sheet, study.weather_of(sheet))
    north, south = (what_if._always_when_cold(place, latitude).covered for latitude in (52.0, -35.0))
    months, noon = place.hours.index.month, place.hours.index.hour == 12
    assert set(months[noon & (north == 1)]) == {11, 12, 1, 2, 3}
    assert set(months[noon & (south == 1)]) == {5, 7, 8, 9} & set(months) and 6 not in set(months)
    assert (north >= place.covered).all() and (south >= place.covered).all()


# --- the way costs move -----------------------------------------------------------------------------------------------

@pytest.mark.parametrize("text", (GARDEN, TANK), ids=("garden pond", "tank"))
def test_costs_and_warmth_move_as_they_must(text):
    table = compared(text)
    base, cold = table.rows[0], row(table, "no_heat")
    assert cold.heat_kwh == 0 and cold.short_hours == 0 and cold.ice_hours > 0
    assert cold.lowest_temp < min(one.lowest_temp for one in table.rows if one.key != "no_heat")
    pump = from_text(text).pump_power * len(study.assess(from_text(text), scenarios=0).open.hours) / 1000
    assert cold.electricity_kwh == pytest.approx(pump)
    temps = {"no_heat": 0, "floor_4": 4, "hold_15": 15, "hold_18": 18, "hold_22": 22,
             AS_IT_IS: 18 if text is GARDEN else 22}
    warmer = sorted((one for one in table.rows if one.key in temps), key=lambda one: temps[one.key])
    assert len(warmer) == 5
    for colder, hotter in zip(warmer, warmer[1:]):
        assert colder.money < hotter.money and colder.heat_kwh < hotter.heat_kwh
    assert row(table, "cover_never").money > row(table, "cover_nights").money >= row(table, "cover_cold_months").money
    assert row(table, "insulated_walls").money < base.money and row(table, "insulated_lid").money < base.money
    taken = row(table, "heat_pump")
    assert taken.electricity_kwh < base.electricity_kwh and taken.money < base.money
    assert row(table, "half_heater").short_hours > base.short_hours and not row(table, "half_heater").as_warm


# --- what is left out, what is wrong ----------------------------------------------------------------------------------

@pytest.mark.parametrize("changes, gone, reason", (
    ({"wall": None, "base": None}, {"insulated_walls"}, "no walls"),
    ({"wall": None}, {"insulated_walls"}, "no wall stands in the air"),
    ({"cover": None}, {"cover_never", "cover_nights", "cover_cold_months"}, "no cover"),
    ({"cover.on": None, "cover.off": None, "cover.from": None, "cover.to": None}, {"cover_cold_months"},
     "changes nothing"),
    ({"heater": {"kind": "heat pump", "power": "6 kW"}}, {"heat_pump"}, "one already"),
    ({"cover.kind": "insulated lid", "cover.u_value": "0.5 W/m²K"}, {"insulated_lid"}, "as good or better"),
    ({"heater": None, "pond.set_point": None},
     {"no_heat", "floor_4", "hold_15", "hold_22", "heat_pump", "half_heater"}, "no heater"),
    ({"pond.set_point": None}, {"no_heat", "heat_pump", "half_heater"}, "heats nothing"),
))
def test_what_makes_no_sense_is_left_out_and_said(changes, gone, reason):
    table = compared(GARDEN, {"season.start": "2025-10-25", "season.end": "2025-11-20"} | changes)
    asked_already = set() if "pond.set_point" in changes else {"hold_18"}
    if "heater" in changes and changes["heater"] is None:
        asked_already = {"hold_18"}
    kept = {one.key for one in table.rows}
    assert set(CHOICES) - kept == gone | asked_already
    assert {words for words, _ in table.left_out} == {CHOICES[key].words for key in gone | asked_already}
    assert any(reason in sentence for _, sentence in table.left_out)
    text = re.sub(r"\s+", " ", what_if.table_text(table))
    assert all(f"{words} ({sentence})" in text for words, sentence in table.left_out)


def test_faults_are_sentences():
    sheet = from_text(GARDEN)
    for wrong in ("no heat", ["hold_51"], ["no_heat", 4]):
        with pytest.raises(OutOfRange, match="is not a known choice.*Known: no_heat, floor_4"):
            what_if.what_if(sheet, choices=wrong)
    with pytest.raises(OutOfRange, match="Did you mean “cover_nights”"):
        what_if.what_if(sheet, choices=["cover_night"])
    with pytest.raises(OutOfRange, match="there it is winter when here it is summer"):
        compared(GARDEN, {"place.latitude": -35.0})


def test_choices_are_taken_as_asked():
    sheet = from_text(GARDEN)
    record, shares = study.weather_of(sheet), []
    table = what_if.what_if(sheet, record, ["hold_15", "no_heat", "hold_15"], shares.append)
    assert [one.key for one in table.rows] == [AS_IT_IS, "hold_15", "no_heat"]
    assert shares == sorted(shares) and shares[-1] == 1.0 and len(shares) > 2
    assert what_if.what_if(sheet, record, "no_heat").rows[1] == table.rows[2]
    with pytest.raises(FrozenInstanceError):
        table.rows = ()
    assert {"key", "words", "heat_kwh", "electricity_kwh", "money", "difference", "lowest_temp", "short_hours",
            "ice_hours", "notes"} <= {field.name for field in fields(what_if.Row)}


# --- as text ----------------------------------------------------------------------------------------------------------

def test_answers_come_first(garden):
    text = what_if.table_text(garden)
    flat = re.sub(r"\s+", " ", text)
    dearest, cheapest = max(garden.rows, key=lambda one: one.money), min(garden.rows, key=lambda one: one.money)
    assert flat.index(f"Dearest: {dearest.words}") < flat.index(f"Cheapest: {cheapest.words}") < flat.index("heat kWh")
    warm = min((one for one in garden.rows if one.as_warm), key=lambda one: one.money)
    assert f"the cheapest: {warm.words}" in flat and warm.short_hours <= garden.rows[0].short_hours
    for said in ("No heat is normal practice for carp", "unfed", "farm ponds about 2 m deep", "shallower garden pond",
                 "filter running gets colder", "The pump still takes 655 kWh",
                 "Ask a fish vet about weak or young fish", "What a choice costs to buy is not in it"):
        assert said in flat
    for one in garden.rows:
        assert len([line for line in text.splitlines() if line.startswith(one.words + "  ")]) == 1


@pytest.mark.parametrize("changes", (
    {}, {"tariff": None}, {"pump": None},
    {"currency": {"code": "SEK", "sign": "kronor", "hundredth": "öre"}, "cover.price": None,
     "tariff": {"name": "Invented", "rate": "2 kronor/kWh"}},
    {"name": "A pond with a name that goes on for a while " * 4}))
def test_text_fits_the_page(changes):
    table = compared(GARDEN, changes, ["no_heat", "hold_22", "cover_never"])
    text = what_if.table_text(table)
    assert max(map(len, text.splitlines())) <= 100 and "None" not in text and "nan" not in text
    if changes.get("tariff", "") is None:
        assert all(one.money is None and one.difference is None for one in table.rows) and "money" not in text.lower()
        dearest = max(table.rows, key=lambda one: one.taken_kwh)
        assert f"Dearest: {dearest.words}, " in text and "£" not in text
    if "pump" in changes:
        assert "A pump, of which the sheet says nothing, would still cost." in re.sub(r"\s+", " ", text)


def test_nothing_compared_is_said():
    text = what_if.table_text(compared(GARDEN, choices=[]))
    assert "Nothing is compared" in text and "Dearest" not in text


def test_cautions_stand_beside_the_table():
    text = " ".join(what_if.table_text(compared(GARDEN, choices=["no_heat"])).split())
    for said in (cautions.STANDING, *(cautions.CAUTIONS[key].text for key in ("gas_exchange", "children", "structure_and_wind"))):
        assert said in text

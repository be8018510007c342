"""What if: every choice is the season of a sheet edited by hand, and costs move the way they must."""

import json
import re
from dataclasses import FrozenInstanceError, fields, replace

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat import cli as front
from pondheat.analysis import assessment
from pondheat.analysis.results import LikelyRange
from pondheat.analysis.scenarios import tariff_choices, what_if
from pondheat.analysis.scenarios.context import ScenarioContext, ScenarioInputs
from pondheat.analysis.scenarios.cover_choices import hours_to_lift
from pondheat.analysis.scenarios.what_if import AS_IT_IS, CHOICES, GROUPS
from pondheat.core import units
from pondheat.core.display_units import METRIC, without_marks
from pondheat.core.places import PONDS
from pondheat.core.ranges import OutOfRange
from pondheat.fish import cautions
from pondheat.heat import balance
from pondheat.heat.walls import MATERIALS
from pondheat.season import thermal_storage
from pondheat.season.heaters import FIELD_FACTOR, FIELD_HIGH, FIELD_LOW
from pondheat.sheet.defaults import LID_U_VALUE
from pondheat.sheet.pond_sheet import from_text, with_values
from pondheat.text import what_if_text

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
    "cover_always": {"cover.on": None, "cover.off": None, "cover.from": None, "cover.to": None},
    "insulated_lid": LID,
    "insulated_walls": WALLS,
    "heat_pump": {"heater.kind": "heat pump"},
    "half_heater": {"heater.power": "3 kW"},
    "mesh_net": {"place.net": "90 %"},
    "water_none": {"water": None},
    "water_half": {"water.change_per_day": "0.5 %"},
    "water_double": {"water.change_per_day": "2 %"},
}
ON_THEIR_OWN = {"cover_lifted", "room", "cheap_hours", "flat_rate", "own_panels"}  # no sheet can say these
NEED_NUMBERS = {"flat_rate", "own_panels"}
WINTER = {"season.start": "2025-10-25", "season.end": "2026-04-10", "pond.set_point": "16 °C"} | COLD_ONLY


def compared(text: str, changes: dict | None = None, choices=None, **asked) -> what_if.ScenarioTable:
    return what_if.what_if(from_text(with_values(text, changes or {})), choices=choices, **asked)


def context_of(text: str, changes: dict | None = None, **asked) -> ScenarioContext:
    sheet = from_text(with_values(text, changes or {}))
    return ScenarioContext(sheet, assessment.weather_of(sheet), ScenarioInputs(**asked))


def row(table: what_if.ScenarioTable, key: str) -> what_if.ScenarioRow:
    return next(one for one in table.rows if one.key == key)


def by_hand(text: str, *changes: dict) -> assessment.Season:
    """The season of a sheet whose text was edited, as the sheet describes it."""
    for change in changes:
        text = with_values(text, change)
    return assessment.assess(from_text(text), scenarios=0).as_described


def assert_same(one: what_if.ScenarioRow, season: assessment.Season) -> None:
    found = (one.heat_kwh, one.electricity_kwh, one.gas_kwh, one.money, one.lowest_temp)
    assert found == pytest.approx(
        (season.heat_kwh, season.electricity_kwh, season.gas_kwh, season.money, season.lowest_temp), rel=1e-6, abs=1e-6
    )
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
    assert BY_HAND.keys() | ON_THEIR_OWN == CHOICES.keys()
    assert [choice.group for choice in CHOICES.values()] == sorted(
        (choice.group for choice in CHOICES.values()), key=GROUPS.index
    )


@pytest.fixture(scope="module")
def before():
    """The season of that pond as it is."""
    return by_hand(GARDEN, WINTER)


# One choice of each kind is tried every time.
USUAL = ("no_heat", "hold_15", "cover_cold_months", "cover_always", "insulated_lid", "insulated_walls", "heat_pump")
USUAL += ("half_heater", "mesh_net", "water_half")


@pytest.mark.parametrize("key", [pytest.param(key, marks=() if key in USUAL else pytest.mark.long) for key in BY_HAND])
def test_a_choice_is_the_sheet_edited_by_hand(winter, before, key):
    season = by_hand(GARDEN, WINTER, BY_HAND[key])
    assert_same(row(winter, key), season)
    assert row(winter, key).difference == pytest.approx(season.money - before.money, rel=1e-6, abs=1e-6)
    assert row(winter, key).words == CHOICES[key].words


def test_the_first_row_is_the_sheet_as_it_is(winter, before):
    assert winter.rows[0].key == AS_IT_IS and winter.rows[0].difference == 0 and winter.rows[0].as_warm
    assert_same(winter.rows[0], before)
    gone = NEED_NUMBERS | {"cover_lifted"}  # its sheet lets most of the sun through
    assert [one.key for one in winter.rows[1:]] == [key for key in CHOICES if key not in gone]
    assert {words for words, _ in winter.left_out} == {CHOICES[key].words for key in gone}


def test_layers_of_a_wall_get_one_more():
    """The tank's side with 50 mm of EPS as one more layer of its own."""
    wall = [{"area": "3.7 m²", "layers": ["6 mm PP", "50 mm PIR", "12 mm plywood", "50 mm EPS"]}]
    assert_same(compared(TANK, choices=["insulated_walls"]).rows[1], by_hand(TANK, {"wall": wall}))


@pytest.mark.long
def test_other_sheets_edited_by_hand():
    """A gas heater, a pond without cover, a cover that lies day and night, a heat pump half as strong."""
    weeks = with_values(GARDEN, {"season": {"start": "2025-10-25", "end": "2025-12-06"}})
    gas = {"heater": {"kind": "gas", "power": "6 kW", "gas_rate": "9 p/kWh"}}
    pump = {"heater": {"kind": "heat pump", "power": "6 kW", "cold_power": "3.6 kW", "backup": "2 kW"}}
    half = {"heater": {"kind": "heat pump", "power": "3 kW", "cold_power": "1.8 kW", "backup": "1 kW"}}
    bare, always = {"cover": None}, {"cover.on": None, "cover.off": None}
    night = {"cover.on": "18:00", "cover.off": "08:00"}
    assert_same(
        compared(weeks, gas, ["heat_pump"]).rows[1],
        by_hand(weeks, {"heater": {"kind": "heat pump", "power": "6 kW"}}),
    )
    assert_same(compared(weeks, gas, ["half_heater"]).rows[1], by_hand(weeks, gas, {"heater.power": "3 kW"}))
    assert_same(compared(weeks, pump, ["half_heater"]).rows[1], by_hand(weeks, half))
    assert_same(compared(weeks, bare, ["insulated_lid"]).rows[1], by_hand(weeks, bare, LID, night))
    assert_same(compared(weeks, always, ["cover_nights"]).rows[1], by_hand(weeks, always, night))
    assert_same(compared(weeks, always, ["insulated_lid"]).rows[1], by_hand(weeks, always, night, LID))


def test_cold_months_come_half_a_year_later_in_the_south():
    context = context_of(GARDEN)
    nowhere = replace(context.sheet, timezone="UTC")  # so that the weather's place decides
    tables = [
        what_if.what_if(nowhere, replace(context.record, latitude=latitude), "cover_cold_months")
        for latitude in (52.0, -35.0)
    ]
    assert "November to March" in tables[0].rows[1].notes[0] and "May to September" in tables[1].rows[1].notes[0]
    cold = {
        north: by_hand(GARDEN, {"cover.on": None, "cover.off": None, "cover.from": first, "cover.to": last})
        for north, first, last in ((True, "1 Nov", "31 Mar"), (False, "1 May", "30 Sep"))
    }
    for table, north in zip(tables, (True, False)):  # covered at night in the other months too, so it takes less
        assert table.rows[1].heat_kwh < min(table.rows[0].heat_kwh, cold[north].heat_kwh)
    assert tables[0].rows[1].heat_kwh < tables[1].rows[1].heat_kwh  # the weather is that of the north


# --- the way costs move -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", some_of((GARDEN, TANK), 0), ids=("garden pond", "tank"))
def test_costs_and_temperatures_move_the_right_way(text, garden):
    table = garden if text is GARDEN else compared(text)
    base, cold = table.rows[0], row(table, "no_heat")
    assert cold.heat_kwh == 0 and cold.short_hours == 0 and cold.ice_hours > 0
    assert all(cold.lowest_temp <= one.lowest_temp <= one.mean_temp <= one.highest_temp for one in table.rows)
    pump = from_text(text).pump_power * len(assessment.assess(from_text(text), scenarios=0).open.hours) / 1000
    assert cold.electricity_kwh == pytest.approx(pump)
    temps = {
        "no_heat": 0,
        "floor_4": 4,
        "hold_15": 15,
        "hold_18": 18,
        "hold_22": 22,
        AS_IT_IS: 18 if text is GARDEN else 22,
    }
    warmer = sorted((one for one in table.rows if one.key in temps), key=lambda one: temps[one.key])
    assert len(warmer) == 5
    for colder, hotter in zip(warmer, warmer[1:]):
        assert colder.money < hotter.money and colder.heat_kwh < hotter.heat_kwh
    assert row(table, "cover_never").money > row(table, "cover_nights").money >= row(table, "cover_cold_months").money
    assert row(table, "cover_cold_months").heat_kwh >= row(table, "cover_always").heat_kwh
    none, half, twice = (row(table, f"water_{name}") for name in ("none", "half", "double"))
    assert none.heat_kwh < half.heat_kwh < base.heat_kwh < twice.heat_kwh
    assert half.heat_kwh - none.heat_kwh == pytest.approx(base.heat_kwh - half.heat_kwh, rel=0.1)
    assert row(table, "insulated_walls").money < base.money and row(table, "insulated_lid").money < base.money
    taken = row(table, "heat_pump")
    assert taken.electricity_kwh < base.electricity_kwh and taken.money < base.money
    assert row(table, "half_heater").short_hours > base.short_hours and not row(table, "half_heater").as_warm


# --- covers lifted, a shed, a heat pump -------------------------------------------------------------------------------

OPAQUE = {"cover.light": "0 %"}


def test_a_cover_is_lifted_only_where_that_hour_gains():
    context = context_of(GARDEN, OPAQUE)
    water = np.where(context.conditions.covered > 0, 18.0, 16.0)
    lifted = hours_to_lift(context, water)
    found = [balance.moment(context.sheet.pond, context.conditions.air, water, share)["net"] for share in (0.0, 1.0)]
    assert np.array_equal(lifted, found[0] < found[1])
    assert (
        0 < lifted.sum() < len(water) / 2 and (context.conditions.hours["solar"].to_numpy()[lifted] > 0).mean() > 0.95
    )
    assert not hours_to_lift(context_of(GARDEN, OPAQUE | {"place.shade": "100 %"}), water)[
        context.conditions.hours["air_temp"].to_numpy() < 10
    ].any()  # without sun nothing is gained over cold air


def test_lifting_for_the_sun_takes_less_heat_than_leaving_the_cover_on():
    table = compared(GARDEN, OPAQUE, ["cover_always", "cover_lifted", "cover_nights"])
    always, lifted = row(table, "cover_always"), row(table, "cover_lifted")
    assert lifted.heat_kwh < always.heat_kwh and lifted.lowest_temp >= always.lowest_temp - 0.1
    assert re.search(r"off in [\d,]+ hours on \d+ days", lifted.notes[0])
    capped = row(compared(GARDEN, OPAQUE | {"pond.ceiling": "18.2 °C"}, "cover_lifted"), "cover_lifted")
    off = [int(re.search(r"off in ([\d,]+) hours", one.notes[0])[1].replace(",", "")) for one in (capped, lifted)]
    assert off[0] < off[1]  # water at its ceiling wants no more sun
    dark = compared(
        GARDEN,
        OPAQUE | {"place.shade": "100 %", "season.start": "2025-12-01", "season.end": "2026-02-10"},
        "cover_lifted",
    )
    assert len(dark.rows) == 1 and "there is no hour" in dark.left_out[0][1]


def test_a_shed_keeps_wind_and_sky_off():
    cold, warm = (row(compared(GARDEN, choices="room", room_temp=temp), "room") for temp in (5.0, 12.0))
    base = compared(GARDEN, choices="room")
    shed = row(base, "room")
    assert warm.heat_kwh < cold.heat_kwh and shed.heat_kwh < base.rows[0].heat_kwh
    assert "crude guess" in shed.notes[0] and "[12 °C] and 80 % humid" in warm.notes[0]
    outdoor = context_of(GARDEN).conditions.hours["air_temp"]
    assert "[2 K] warmer than the last 24 hours outdoors" in shed.notes[0]
    mild = context_of(GARDEN)
    room = np.array([outdoor.iloc[max(at - 23, 0) : at + 1].mean() for at in range(len(outdoor))]) + 2.0
    inside = replace(mild.conditions.air, air_temp=room, rel_humidity=np.full(len(room), 0.8), sky_long_wave=None)
    housed = replace(mild.sheet, pond=replace(mild.sheet.pond, room=True, shade=1.0))
    by_rule = mild.run(housed, replace(mild.conditions, air=inside))
    assert shed.heat_kwh == pytest.approx(
        by_rule.heat_kwh, rel=1e-6
    )  # no sun, no wind, two kelvin above the day's mean
    same = context_of(GARDEN, {"place": {"surroundings": "room", "room_temp": "12 °C", "room_humidity": "80 %"}})
    assert warm.heat_kwh == pytest.approx(same.base.heat_kwh, rel=1e-6)  # a sheet that says so itself


def test_the_range_of_a_heat_pump_is_that_of_its_cop():
    table = compared(GARDEN, choices="heat_pump")
    taken, (low, high) = row(table, "heat_pump"), row(table, "heat_pump").taken_band
    pump = 0.1 * len(context_of(GARDEN).index)
    heating = FIELD_FACTOR.value * (taken.electricity_kwh - pump)
    assert (high - pump) * FIELD_LOW.value == pytest.approx(heating, rel=2e-3)
    assert (low - pump) * FIELD_HIGH.value == pytest.approx(heating, rel=2e-3)
    assert high - taken.electricity_kwh >= taken.electricity_kwh - low  # it does not lean towards the better machine
    assert taken.money_band[0] < taken.money < taken.money_band[1]
    poor = compared(GARDEN, {"heater": {"kind": "heat pump", "power": "6 kW", "cop_factor": FIELD_LOW.value}}, [])
    assert poor.rows[0].money == pytest.approx(taken.money_band[1], rel=2e-3)


def test_a_heat_pump_without_its_price_is_no_saving_yet():
    """The row tells the running cost, names what is missing and is not the best choice; its price changes that."""
    only = ["heat_pump", "half_heater"]
    table = compared(GARDEN, choices=only)
    pump = row(table, "heat_pump")
    assert pump.price_missing and not pump.eligible and pump.money == min(one.money for one in table.rows)
    assert pump.notes[0].startswith("the running cost only.") or "the running cost only." in " ".join(pump.notes)
    flat = re.sub(r"\s+", " ", what_if_text.table_text(table))
    assert "Cheapest: a heat pump" not in flat and "give heat_pump_price" in flat
    assert "give --heat-pump-price" in re.sub(r"\s+", " ", what_if_text.table_text(table, shell=True))
    priced = row(compared(GARDEN, choices=only, heat_pump_price=4000.0), "heat_pump")
    assert priced.eligible and priced.money == pytest.approx(pump.money, rel=1e-9)
    years = 4000.0 / (table.rows[0].money - pump.money)
    assert f"bought for £4,000 fitted it takes {years:.2g} such seasons" in " ".join(priced.notes)
    in_sheet = row(compared(GARDEN, {"money.heat_pump_price": "£4,000"}, "heat_pump"), "heat_pump")
    assert in_sheet.eligible and in_sheet.notes == priced.notes
    dear = row(compared(GARDEN, {"tariff": None, "cover.price": None}, "heat_pump", heat_pump_price=1.0), "heat_pump")
    assert "without a tariff no payback" in " ".join(dear.notes)
    with pytest.raises(OutOfRange, match="heat_pump_price"):
        compared(GARDEN, choices=only, heat_pump_price=-1.0)


def test_a_heat_pump_that_falls_short_is_told_to_need_a_backup():
    """The backup named holds the pond as well as the heater that it replaces did."""
    small = {"heater.power": "3 kW"}
    table = compared(GARDEN, small, "heat_pump", heat_pump_price=4000.0)
    pump, told = row(table, "heat_pump"), " ".join(row(table, "heat_pump").notes)
    assert pump.short_hours > table.rows[0].short_hours and not pump.as_warm
    found = re.search(r"backup heater of about ([\d.]+) kW more", told)
    assert found and "heat_pump_backup_kw" in told
    helped = row(compared(GARDEN, small, "heat_pump", heat_pump_backup_kw=1.1 * float(found[1])), "heat_pump")
    assert helped.short_hours <= table.rows[0].short_hours and "backup heater" not in " ".join(helped.notes)
    assert helped.electricity_kwh > pump.electricity_kwh


# --- heat stored in the cheap hours -----------------------------------------------------------------------------------


def stored(changes: dict | None = None):
    context = context_of(GARDEN, changes)
    return context, tariff_choices.stored_in_cheap_hours(context)


@pytest.mark.parametrize(
    "changes",
    some_of(
        (
            {},
            {"heater.power": "3 kW"},
            {"heater": {"kind": "heat pump", "power": "9 kW"}},
            {"pond.ceiling": "20 °C"},
            {"pond.floor": "17.9 °C"},
            {"pond.set_point": {"1 Sep": "18 °C", "1 Dec": "12 °C"}},
        ),
        0,
        2,
    ),
)
def test_heat_storage_moves_heat_to_cheap_hours_within_its_limits(changes):
    context, outcome = stored(changes)
    base, season, hours = context.base, outcome.season, outcome.season.hours
    night = np.isin(context.index.hour, range(1, 7))
    assert hours["heater"][night].sum() > 1.2 * base.hours["heater"][night].sum()
    assert hours["heater"][~night].sum() < base.hours["heater"][~night].sum()
    assert season.money < base.money and "it takes £" in outcome.notes[0]
    # as warm, no hotter than accepted, no faster than the custom, no stronger than the heater
    assert hours["water_temp"].mean() >= base.hours["water_temp"].mean() - tariff_choices.NO_COLDER
    assert season.lowest_temp >= base.lowest_temp - 0.5 and season.short_hours <= base.short_hours
    assert tariff_choices._fastest_rise(context, season) <= 1.0
    assert season.above_ceiling_hours <= base.above_ceiling_hours
    ceiling = context.sheet.ceiling
    assert (hours["water_temp"] <= np.maximum(ceiling, base.hours["water_temp"]) + 1e-6).all()
    if context.sheet.floor > 15:
        assert season.lowest_temp >= min(base.lowest_temp, context.sheet.floor) - 0.11
    limit = context.sheet.heater.limit(context.conditions.hours["air_temp"].to_numpy())[context.conditions.counted]
    assert (hours["heater"] <= limit + 1e-6).all()
    # no safe band is cheaper, and none is safe that is colder on average: half a kelvin down for half a kelvin up is
    money = {band: tariff_choices._run(context, context.rates, band)[0] for band in thermal_storage.BANDS}
    safe = [
        one
        for one in money.values()
        if one.hours["water_temp"].mean() > base.hours["water_temp"].mean() - 0.01
        and tariff_choices._fastest_rise(context, one) <= 1.0
        and one.short_hours <= base.short_hours
        and one.above_ceiling_hours <= base.above_ceiling_hours
    ]
    assert season.money == pytest.approx(min(one.money for one in safe)) and thermal_storage.Band(0.75, 0.0) in money
    # the books balance: what came in left or is still in the water
    came = season.heat_kwh + season.solar_kwh + hours["pump"].sum() / 1000
    assert came == pytest.approx(tariff_choices.lost_kwh(season) + hours["stored"].sum() / 1000, abs=1e-3)


def test_an_hour_that_is_half_cheap_counts_as_dear():
    """The night rate ends at 07:30 and begins at 00:30: the thermostat is moved at 01:00 and at 07:00."""
    context, _ = stored()
    season, _ = tariff_choices._run(context, context.rates, thermal_storage.Band(0.5, 0.0))
    winter = (context.index.month == 12) & ~tariff_choices._excluded_hours(context)
    warm = pd.Series(season.hours["water_temp"].to_numpy()[winter]).groupby(context.index.hour[winter]).max()
    assert warm[1] > 18.3 and warm[6] == pytest.approx(18.5) and warm[0] < 18.3  # at each hour's end


def test_a_band_that_costs_more_than_it_saves_is_noted():
    """Warmest while the pond lies open, for a tenth of a penny."""
    noon = {"name": "noon", "rate": "29.9 p/kWh", "start": "10:00", "end": "15:00"}
    context, outcome = stored({"tariff": {"otherwise": "30 p/kWh", "window": [noon]}})
    assert outcome.season.money > context.base.money and "more than it saves: better left alone" in outcome.notes[0]


def test_where_no_day_is_safe_nothing_is_stored():
    assert "around every day" in stored({"pond.ceiling": "18.3 °C"})[1]
    frost = {"season.start": "2025-12-01", "season.end": "2026-02-20"}
    assert "around every day" in stored({"heater.power": "500 W"} | frost)[1]
    assert "left in the water at the end" in stored({"season.start": "2026-01-10", "season.end": "2026-01-12"})[1]


def test_cheap_hours_are_those_of_the_tariff():
    rates = context_of(GARDEN).rates
    assert (rates.cheap_rate, rates.dear_rate) == pytest.approx((0.12, 0.30))
    days = len(rates.cheap) / 24
    assert rates.cheap.sum() == pytest.approx(7 * days, abs=1.01)  # an hour is lost or won where clocks change
    taxed = context_of(GARDEN, {"tariff.tax_included": False}).rates
    assert taxed.dear_rate == pytest.approx(0.30 * 1.05)
    weekend = {
        "otherwise": "30 p/kWh",
        "window": [{"name": "w", "rate": "10 p/kWh", "start": "00:00", "end": "06:00", "days": "weekends"}],
    }
    context = context_of(GARDEN, {"tariff": weekend})
    assert set(context.index.day_of_week[context.rates.timed]) == {5, 6}


def test_prices_by_the_half_hour_have_cheap_hours_too(tmp_path):
    """Cheap before six, a little dearer every third day: each day has its own middle."""
    stamps = pd.date_range("2025-12-01", "2026-02-01", freq="30min", tz="Europe/London", inclusive="left")
    price = 0.30 - 0.12 * (stamps.hour < 6) + 0.01 * (stamps.day % 3)
    table = pd.DataFrame({"time": [stamp.isoformat() for stamp in stamps], "price": price})
    table.to_csv(tmp_path / "prices.csv", index=False)
    changes = {"tariff": {"prices": "prices.csv"}, "season.start": "2025-12-01", "season.end": "2026-01-31"}
    sheet = from_text(with_values(GARDEN, changes), tmp_path)
    context = ScenarioContext(sheet, assessment.weather_of(sheet), ScenarioInputs())
    assert np.array_equal(context.rates.cheap == 1, context.index.hour < 6)
    assert tariff_choices.stored_in_cheap_hours(context).season.money < context.base.money


# --- the whole house, one's own panels --------------------------------------------------------------------------------


def test_a_flat_rate_is_compared_for_the_whole_house():
    context = context_of(GARDEN)
    electricity = context.base.hours["electricity"].to_numpy() / 1000
    alone = row(compared(GARDEN, choices="flat_rate", house_kwh=0, house_cheap_share=0.5, flat_rate=0.25), "flat_rate")
    assert alone.money == pytest.approx(0.25 * electricity.sum())
    house = 4000 * len(context.index) / 8766
    for share in (0.1, 0.6):
        whole = row(
            compared(GARDEN, choices="flat_rate", house_kwh=4000, house_cheap_share=share, flat_rate=0.25), "flat_rate"
        )
        change = house * (0.25 - 0.12 * share - 0.30 * (1 - share))
        assert whole.difference == pytest.approx(alone.difference + change)
        assert whole.money - context.base.money == pytest.approx(whole.difference)
    # both tariffs cost the same where the note says they do
    cheap = 0.6 * house + electricity @ context.rates.cheap
    even = 0.30 - 0.18 * cheap / (house + electricity.sum())
    same = row(
        compared(GARDEN, choices="flat_rate", house_kwh=4000, house_cheap_share=0.6, flat_rate=even), "flat_rate"
    )
    assert same.difference == pytest.approx(0, abs=0.5)  # the pond's half hours are spread evenly over theirs
    dearer = row(
        compared(
            GARDEN, choices="flat_rate", house_kwh=0, house_cheap_share=0, flat_rate=0.25, flat_standing_charge=0.60
        ),
        "flat_rate",
    )
    assert dearer.money == pytest.approx(alone.money + 0.10 * len(context.index) / 24)


def test_a_flat_rate_s_note_by_hand():
    """From 30 p in dear hours to 25 p is 5 of the 18 p between the rates: break-even with 28 % in cheap hours."""
    context = context_of(GARDEN)
    electricity = context.base.hours["electricity"].to_numpy() / 1000
    house = 4000 * len(context.index) / 8766
    (note,) = row(
        compared(GARDEN, choices="flat_rate", house_kwh=4000, house_cheap_share=0.1, flat_rate=0.25), "flat_rate"
    ).notes
    here = 100 * (0.1 * house + electricity @ context.rates.cheap) / (house + electricity.sum())
    assert f"both tariffs cost the same when 28 % of all kWh fall in cheap hours; here {here:.0f} % do." in note


def test_a_standing_charge_is_compared_with_its_tax():
    """50 p a day and 5 % on it are 52.5 p; the flat rate's 60 p hold their tax."""
    untaxed = {"tariff.tax_included": False}
    without, with_charge = (
        row(
            compared(GARDEN, untaxed, "flat_rate", house_kwh=0, house_cheap_share=0, flat_rate=0.25, **more),
            "flat_rate",
        ).money
        for more in ({}, {"flat_standing_charge": 0.60})
    )
    assert with_charge - without == pytest.approx(0.075 * len(context_of(GARDEN).index) / 24)


def test_panels_do_not_feed_a_gas_heater():
    """Only the pump's 100 W can be fed; the gas is paid for as before."""
    gas = {"tariff": {"rate": "25 p/kWh"}, "heater": {"kind": "gas", "power": "6 kW", "gas_rate": "9 p/kWh"}}
    context = context_of(GARDEN, gas)
    own = np.minimum(
        0.1, 4 * 0.8 * context.conditions.hours["solar"].to_numpy()[context.conditions.counted] / 1000
    ).sum()
    fed = row(compared(GARDEN, gas, "own_panels", solar_peak_kw=4, export_rate=0.05), "own_panels")
    assert fed.difference == pytest.approx(-own * 0.20) and context.base.gas_kwh > 1000


def test_solar_power_is_priced_at_the_export_rate():
    flat = {"tariff": {"rate": "25 p/kWh"}}
    context = context_of(GARDEN, flat)
    taken = context.base.hours["electricity"].to_numpy() / 1000
    sun = context.conditions.hours["solar"].to_numpy()[context.conditions.counted] / 1000
    own = np.minimum(taken, 4 * 0.8 * sun)
    for export in (0.0, 0.10, 0.25):
        one = row(compared(GARDEN, flat, "own_panels", solar_peak_kw=4, export_rate=export), "own_panels")
        assert one.difference == pytest.approx(-own.sum() * (0.25 - export), abs=1e-9)
        assert one.electricity_kwh == context.base.electricity_kwh
    housed = row(compared(GARDEN, flat, "own_panels", solar_peak_kw=4, export_rate=0, house_kwh=4000), "own_panels")
    assert housed.difference == pytest.approx(-0.25 * np.minimum(taken, np.maximum(3.2 * sun - 4000 / 8766, 0)).sum())
    daily = row(compared(GARDEN, flat, "own_panels", solar_kwh_per_day=5, export_rate=0), "own_panels")
    mean = context.record.hours["solar"].mean() * 24 / 1000
    assert daily.difference == pytest.approx(-0.25 * np.minimum(taken, 5 / mean * sun).sum())
    stated = {"tariff": {"rate": "25 p/kWh", "export_rate": "25 p/kWh"}}
    sold = row(compared(GARDEN, stated, "own_panels", solar_peak_kw=4), "own_panels")
    assert sold.difference == pytest.approx(0, abs=1e-9)


def test_missing_inputs_are_not_guessed():
    reasons = dict(compared(GARDEN, choices=["flat_rate", "own_panels"], house_kwh=3000).left_out)
    assert reasons[CHOICES["flat_rate"].words] == (
        "not given: its share in the cheap hours (house_cheap_share), the flat rate to compare with (flat_rate)"
    )
    assert "export_rate" in reasons[CHOICES["own_panels"].words] and "panels" in reasons[CHOICES["own_panels"].words]


@pytest.mark.parametrize(
    "given",
    (
        {"house_kwh": -1},
        {"house_cheap_share": 30},
        {"flat_rate": float("nan")},
        {"solar_peak_kw": 1e6},
        {"export_rate": "10 p"},
        {"room_temp": 300},
    ),
)
def test_implausible_inputs_are_refused(given):
    with pytest.raises(OutOfRange, match=next(iter(given))):
        compared(GARDEN, choices=[], **given)


# --- what is left out, what is wrong ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes, gone, reason",
    some_of(
        (
            ({"wall": None, "base": None}, {"insulated_walls"}, "doesn't say what the walls are"),
            ({"water": None}, {"water_none", "water_half", "water_double"}, "changes no water"),
            ({"tariff": None}, {"cheap_hours"}, "no tariff"),
            ({"tariff": {"rate": "25 p/kWh"}}, {"cheap_hours"}, "the same rate at all hours"),
            (
                {"heater": {"kind": "gas", "power": "6 kW", "gas_rate": "9 p/kWh"}},
                {"cheap_hours"},
                "gas costs the same",
            ),
            (
                {"place": {"surroundings": "room", "room_temp": "10 °C", "room_humidity": "80 %"}},
                {"room", "mesh_net"},
                "is already in one",
            ),
            (
                {"wall": [{"area": "15.6 m²", "u_value": "0.5 W/m²K", "against": "ground"}]},
                {"insulated_walls"},
                "no wall is in the open air",
            ),
            ({"cover": None}, {"cover_never", "cover_nights", "cover_cold_months", "cover_always"}, "no cover"),
            (
                {"cover.on": None, "cover.off": None, "cover.from": None, "cover.to": None},
                {"cover_cold_months", "cover_always"},
                "changes nothing",
            ),
            ({"heater": {"kind": "heat pump", "power": "6 kW"}}, {"heat_pump"}, "one already"),
            ({"cover.kind": "insulated lid", "cover.u_value": "0.5 W/m²K"}, {"insulated_lid"}, "as good or better"),
            (
                {"heater": None, "pond.set_point": None},
                {"no_heat", "floor_4", "hold_15", "hold_22", "heat_pump", "half_heater", "cheap_hours"},
                "no heater",
            ),
            ({"pond.set_point": None}, {"no_heat", "heat_pump", "half_heater", "cheap_hours"}, "has no heating"),
        ),
        1,
        3,
        11,
    ),
)
def test_choices_without_sense_are_left_out_with_a_reason(changes, gone, reason):
    table = compared(GARDEN, {"season.start": "2025-10-25", "season.end": "2025-11-20"} | changes)
    asked_already = set() if "pond.set_point" in changes else {"hold_18"}
    if "heater" in changes and changes["heater"] is None:
        asked_already = {"hold_18"}
    asked_already |= NEED_NUMBERS
    kept = {one.key for one in table.rows}
    sunny = "cover_lifted"  # whether any hour is worth lifting for is the weather's say
    assert set(CHOICES) - kept - {sunny} == gone | asked_already
    assert {words for words, _ in table.left_out} - {CHOICES[sunny].words} == {
        CHOICES[key].words for key in gone | asked_already
    }
    assert any(reason in sentence for _, sentence in table.left_out)
    text = re.sub(r"\s+", " ", what_if_text.table_text(table))
    assert all(
        re.search(rf"{re.escape(words)}[^()]*\({re.escape(sentence)}\)", text)
        for words, sentence in without_marks(table.left_out)
    )


def test_errors_are_sentences():
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
    record, shares = assessment.weather_of(sheet), []
    table = what_if.what_if(sheet, record, ["hold_15", "no_heat", "hold_15"], shares.append)
    assert [one.key for one in table.rows] == [AS_IT_IS, "hold_15", "no_heat"]
    assert shares == sorted(shares) and shares[-1] == 1.0 and len(shares) > 2
    assert what_if.what_if(sheet, record, "no_heat").rows[1] == table.rows[2]
    with pytest.raises(FrozenInstanceError):
        table.rows = ()
    assert {
        "key",
        "words",
        "heat_kwh",
        "electricity_kwh",
        "money",
        "difference",
        "lowest_temp",
        "short_hours",
        "ice_hours",
        "notes",
    } <= {field.name for field in fields(what_if.ScenarioRow)}


# --- as text ----------------------------------------------------------------------------------------------------------


def test_answers_come_first(garden):
    text = what_if_text.table_text(garden)
    flat = re.sub(r"\s+", " ", text)
    dearest, cheapest = max(garden.rows, key=lambda one: one.money), min(garden.rows, key=lambda one: one.money)
    assert (
        flat.index(f"Most expensive: {dearest.words}")
        < flat.index(f"Cheapest: {cheapest.words}")
        < flat.index("heat kWh")
    )
    warm = min((one for one in garden.rows if one.as_warm), key=lambda one: one.money)
    assert f"and too warm in no more hours: {warm.words}" in flat and warm.short_hours <= garden.rows[0].short_hours
    for said in (
        "No heat is normal practice for carp",
        "unfed",
        "farm ponds about 2 m deep",
        "shallower garden pond",
        "filter running gets colder",
        "There is no heating to pay for; the pump still takes 655 kWh",
        "Ask a fish vet about weak or young fish",
        "What a choice costs to buy is left out",
    ):
        assert said in flat
    for one in garden.rows:
        heat = units.digits(one.heat_kwh)
        assert f"{METRIC.with_alt_units(one.words)} {heat} " in flat  # a long name goes on in the next line


def test_too_warm_a_choice_is_not_called_the_cheapest(garden):
    """A cover that lies on by day in May takes least heat, and its water passes the sheet's 28 °C by far."""
    always, base = row(garden, "cover_always"), garden.rows[0]
    assert always.money < row(garden, "cover_cold_months").money and always.highest_temp > 30 > base.highest_temp
    assert not always.as_warm and base.as_warm and row(garden, "cover_cold_months").as_warm
    assert always.notes[-1].startswith(
        f"the water gets too warm: [{always.highest_temp:.1f} °C] at its highest, above [28 °C] in "
    )
    flat = re.sub(r"\s+", " ", what_if_text.table_text(garden))
    assert "and too warm in no more hours: always covered in cold months" in flat and "17.9–27.9" in flat
    lenient = compared(GARDEN, {"pond.ceiling": "40 °C"}, ["cover_always"])
    assert row(lenient, "cover_always").as_warm and "too warm" not in " ".join(row(lenient, "cover_always").notes)
    silent = compared(GARDEN, {"pond.ceiling": None}, ["cover_always"])  # a sheet without a ceiling is not without fish
    assert not row(silent, "cover_always").as_warm


def test_a_house_s_bill_is_not_compared_with_a_pond_s():
    """A large house that leaves a dear tariff may gain more than the pond costs: that is no price of the pond."""
    table = compared(GARDEN, {}, ["no_heat", "flat_rate"], house_kwh=20_000, house_cheap_share=0.05, flat_rate=0.15)
    assert row(table, "flat_rate").money < 0
    flat = re.sub(r"\s+", " ", what_if_text.table_text(table))
    assert "Cheapest: no heat at all" in flat and "no more hours: house and pond" not in flat


@pytest.mark.parametrize(
    "changes",
    some_of(
        (
            {},
            {"tariff": None},
            {"pump": None},
            {
                "currency": {"code": "SEK", "sign": "kronor", "hundredth": "öre"},
                "cover.price": None,
                "tariff": {"name": "Invented", "rate": "2 kronor/kWh"},
            },
            {"name": "A pond with a name that goes on for a while " * 4},
        ),
        1,
        3,
    ),
)
def test_text_fits_the_page(changes):
    table = compared(GARDEN, changes, ["no_heat", "hold_22", "cover_never"])
    text = what_if_text.table_text(table)
    assert max(map(len, text.splitlines())) <= 100 and "None" not in text and "nan" not in text
    if changes.get("tariff", "") is None:
        assert all(one.money is None and one.difference is None for one in table.rows) and "money" not in text.lower()
        dearest = max(table.rows, key=lambda one: one.taken_kwh)
        assert f"Most expensive: {dearest.words}, " in text and "£" not in text
    if "pump" in changes:
        assert (
            "There is no heating to pay for; a pump, which the sheet doesn't mention, would still cost money."
            in re.sub(r"\s+", " ", text)
        )


def test_choices_that_come_to_the_same_have_no_dearest_nor_likely_differences():
    bare = {"pond.set_point": None, "heater": None, "tariff": None, "pump": None, "cover": None, "filter": None}
    table = compared(GARDEN, bare, ["insulated_lid"])
    table = replace(table, rows=tuple(replace(row, likely=LikelyRange(0.0, 0.0, 0.0)) for row in table.rows))
    text = re.sub(r"\s+", " ", what_if_text.table_text(table))
    assert "All of these come to the same, 0 kWh over the season." in text
    assert "Most expensive" not in text and "Likely more or less" not in text


def test_a_table_without_choices_says_so():
    text = what_if_text.table_text(compared(GARDEN, choices=[]))
    assert "Nothing is compared" in text and "Most expensive" not in text


def test_cautions_follow_the_table():
    text = " ".join(what_if_text.table_text(compared(GARDEN, choices=["no_heat"])).split())
    for said in (
        cautions.STANDING,
        *(cautions.CAUTIONS[key].text for key in ("gas_exchange", "children", "structure_and_wind")),
    ):
        assert said in text


HOSTILE = "<script>alert(1)</script> & {x} %s\\n \u202e pond"


def test_a_hostile_name_stays_text():
    table = compared(GARDEN, {"name": HOSTILE}, ["no_heat"])
    assert table.name == HOSTILE and HOSTILE.split()[0] in what_if_text.table_text(table)
    assert json.loads(json.dumps(what_if_text.as_dict(table), allow_nan=False))["sheet"] == HOSTILE


def test_as_data(garden):
    told = json.loads(json.dumps(what_if_text.as_dict(garden), allow_nan=False))
    assert [one["key"] for one in told["rows"]] == [one.key for one in garden.rows]
    assert told["rows"][1]["taken_kwh"] == garden.rows[1].taken_kwh and told["currency"] == "GBP"
    assert {one["choice"] for one in told["left_out"]} == {words for words, _ in garden.left_out}
    assert {one["group"] for one in told["rows"][1:]} == set(GROUPS)


def test_rows_are_grouped(garden):
    text = what_if_text.table_text(garden)
    places = [text.index(f"\n{group[0].upper()}{group[1:]}\n") for group in GROUPS]
    assert places == sorted(places)
    mixed = what_if.what_if(from_text(GARDEN), choices=["half_heater", "no_heat"])
    assert [one.key for one in mixed.grouped] == [AS_IT_IS, "no_heat", "half_heater"]


def test_cautions_are_printed_once():
    table = compared(GARDEN, choices=[])
    assert cautions.CAUTIONS["children"].text[:40] in what_if_text.table_text(table).replace("\n", " ")
    assert cautions.CAUTIONS["children"].title not in what_if_text.table_text(table, cautioned=True)


# --- from the shell ---------------------------------------------------------------------------------------------------

SHELL = ["season", str(PONDS / "garden_pond.toml"), "--what-if"]


def test_the_command_prints_the_table_after_the_season(capsys, tmp_path, few_runs):
    weeks = tmp_path / "six_weeks.toml"
    season = {"season": {"start": "2025-11-03", "end": "2025-12-14"}}
    weeks.write_text(with_values(GARDEN, season), encoding="utf-8")
    command = ["season", str(weeks), "--what-if"]
    given = [
        "--house-kwh",
        "3000",
        "--house-cheap-share",
        "25 %",
        "--flat-rate",
        "25 p/kWh",
        "--solar-peak-kw",
        "4",
        "--export-rate",
        "10 p/kWh",
    ]
    assert front.main(command + given) == 0
    text = capsys.readouterr().out
    assert text.index("How this was worked out") < text.index("what if?") < text.index("house and pond on a flat rate")
    assert text.count(cautions.CAUTIONS["children"].title) == 1
    assert front.main(command) == 0
    assert "flat rate to compare with (--flat-rate)" in " ".join(capsys.readouterr().out.split())
    assert front.main(command + given + ["--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {"own_panels", "flat_rate"} <= {one["key"] for one in told["what_if"]["rows"]}
    assert told["what_if"]["rows"][0]["money"] == pytest.approx(told["covered"]["money"])


@pytest.mark.parametrize(
    "given, said",
    (
        (["--flat-rate", "25"], "25 p/kWh"),
        (["--house-kwh", "much"], "--house-kwh: "),
        (["--house-kwh", "-3"], "it should be"),
        (["--room-temp", "warm"], "--room-temp"),
        (["--house-cheap-share", "130 %"], "--house-cheap-share"),
    ),
)
def test_the_command_says_what_it_cannot_read(capsys, given, said):
    assert front.main(SHELL + given) == 2 and said in capsys.readouterr().err


def test_numbers_for_the_house_belong_to_the_choices(capsys):
    assert front.main([*SHELL[:2], "--house-kwh", "3000"]) == 2
    assert "--house-kwh belongs to --what-if" in capsys.readouterr().err


def test_a_choice_beyond_60_degrees_is_left_out_and_the_others_stay():
    """By night this tight clear cover is harmless; left on in the summer sun it is not."""
    hot = {
        "season": {"start": "2025-06-01", "end": "2025-08-31"},
        "wall": [{"area": "1 m²", "u_value": "0.1 W/m²K"}],
        "base": {"u_value": "0.1 W/m²K"},
        "pond.depth": "0.6 m",
        "filter": None,
        "aeration": None,
        "cover": {"u_value": "1 W/m²K", "light": "90 %", "gap": "0 L/s", "on": "20:00", "off": "07:00"},
    }
    table = compared(GARDEN, hot, ("cover_never", "cover_always"))
    assert [row.key for row in table.rows] == [AS_IT_IS, "cover_never"]
    assert table.left_out == (("covered day and night", "the water would pass [60 °C] in the sun"),)

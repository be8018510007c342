"""Without power: the fall against the closed form, what slows it, oxygen by hand, and what is never guessed."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.analysis import assessment
from pondheat.analysis import power_cut as cuts
from pondheat.core.places import PONDS
from pondheat.core.ranges import OutOfRange
from pondheat.core.sources import Constant
from pondheat.fish.cautions import CAUTIONS
from pondheat.heat import balance
from pondheat.heat.balance import Air
from pondheat.season.weather.record import MEASURED, WeatherError
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet as sheets
from pondheat.text.power_cut_text import power_cut_text

START = "2026-01-20 18:00"


@pytest.fixture(scope="module")
def garden():
    return sheets.read(PONDS / "garden_pond.toml")


@pytest.fixture(scope="module")
def record(garden):
    return assessment.weather_of(garden)


@pytest.fixture(scope="module")
def constant():
    """Sixty days of weather that never changes: 3 °C, 75 %, 2.5 m/s at 10 m, half cloud, no sun."""
    index = pd.date_range("2025-12-15", periods=60 * 24, freq="h", tz="Europe/London")
    hours = pd.DataFrame(
        {
            "air_temp": 3.0,
            "rel_humidity": 0.75,
            "wind_speed": 2.5,
            "solar": 0.0,
            "cloud_cover": 0.5,
            "sky_long_wave": np.nan,
            "pressure": 101_325.0,
        },
        index=index.rename("time"),
    )
    return Weather(hours, "made by rule", 51.5, -1.0, 0.0, 10.0, MEASURED, "made by rule", ())


def bare(depth: float) -> sheets.Sheet:
    """A pond of 10 m² with no walls, pump, air or new water, held at 18 °C."""
    return sheets.from_text(
        f'timezone = "Europe/London"\n[pond]\nsurface_area = "10 m²"\ndepth = "{depth} m"\n'
        'set_point = "18 °C"\n[[wall]]\narea = "1 m²"\nu_value = "0 W/m²K"\nagainst = "air"\n'
        '[base]\nu_value = "0 W/m²K"\nagainst = "ground"\n'
        '[heater]\nkind = "resistance"\npower = "20 kW"\n'
    )


def test_cooling_follows_the_closed_form(constant):
    """T − E falls as exp(−t S/C) while the losses follow a line: here the line through both ends of each fall."""
    sheet = bare(1.2)
    air = Air(3.0, 0.75, 2.5, 0.5, ground_temp=3.0, mains_temp=3.0)
    found = cuts.power_cut(sheet, constant, start=START, covered=False)
    assert found.start_temp == pytest.approx(18.0, abs=1e-9)
    for fall, hours in found.hours_to.items():
        first, last = (balance.moment(sheet.pond, air, temp)["net"] for temp in (18.0, 18.0 - fall))
        slope = (first - last) / fall
        lead = first / slope  # of the water over the temperature at which the line loses nothing
        wanted = sheet.pond.heat_capacity / slope * math.log(lead / (lead - fall)) / 3600
        assert hours == pytest.approx(wanted, rel=0.02), fall
    # 12 m³ hold 13.95 kWh/K: the first kelvin takes 13.95 kWh ÷ the open pond's loss at about 17.5 °C
    loss = balance.moment(sheet.pond, air, 17.5)["net"] / 1000
    assert found.hours_to[1.0] == pytest.approx(13.95 / loss, rel=0.02)
    course = np.append(found.start_temp, found.water_temps)
    assert found.fastest_rate == pytest.approx(course[0] - course[24])  # in constant air the first day is the fastest
    assert len(found.water_temps) == 240 and (np.diff(course) <= 0).all()  # down to freezing


def test_deeper_is_slower_by_the_ratio_of_depths(constant):
    shallow, deep = (cuts.power_cut(bare(depth), constant, start=START, covered=False) for depth in (0.8, 1.6))
    for fall in cuts.FALLS:
        assert deep.hours_to[fall] == pytest.approx(2 * shallow.hours_to[fall], rel=0.01)


@pytest.mark.parametrize("start", ["2025-07-15 12:00", "2025-11-03 05:00", START])
def test_covered_is_slower_than_open_at_any_hour_of_the_year(garden, record, start):
    bare_water, lidded = (cuts.power_cut(garden, record, start=start, covered=covered) for covered in (False, True))
    assert bare_water.start_temp == lidded.start_temp
    for fall in cuts.FALLS:
        assert lidded.hours_to[fall] >= bare_water.hours_to[fall]
    assert lidded.hours_to[1.0] > 1.5 * bare_water.hours_to[1.0]
    assert lidded.fastest_rate < bare_water.fastest_rate
    assert str(bare_water.water_temps.index[0]).startswith(start)


def test_pump_filter_and_air_stones_stop(garden, record):
    """What a pump's stream, casing and air stones would lose or bring plays no part once the power is gone."""
    busy = replace(
        garden,
        pump_power=500.0,
        pump_heat=485.0,
        pond=replace(garden.pond, filter_air_flow=0.02, casing_u_value_area=20.0, aeration_air_flow=0.01),
        heater=replace(garden.heater, power=60_000.0),
    )
    calm = replace(
        busy,
        pump_power=0.0,
        pump_heat=0.0,
        pond=replace(busy.pond, filter_air_flow=0.0, casing_u_value_area=0.0, aeration_air_flow=0.0),
    )
    one, other = (cuts.power_cut(sheet, record, start=START, covered=False) for sheet in (busy, calm))
    assert one.start_temp == other.start_temp == 18.0
    assert np.array_equal(one.water_temps, other.water_temps)


def test_no_other_evening_cools_faster_than_the_worst(garden, record):
    for covered in (False, True):
        worst = cuts.worst_start(garden, record, covered=covered)
        assert worst.hour == 18
        soonest = cuts.power_cut(garden, record, start=worst, covered=covered).hours_to[3.0]
        for days in (-30, -2, -1, 1, 2, 40):
            other = cuts.power_cut(garden, record, start=worst + pd.Timedelta(days=days), covered=covered)
            assert other.hours_to[3.0] > soonest - 1e-6


def test_the_worst_evening_is_one_on_which_the_heater_is_needed(garden, record):
    """In April the sun warms this pond 9 K above its set point; that the next night takes it is no harm of the cut."""
    cool = replace(garden, set_point=(((1, 1), 10.0),))
    evenings = cuts.every_evening(cool, record)
    assert evenings["over"][evenings["hours"].idxmin()] > 3  # the evening that would be named else
    assert evenings["over"][cuts.worst_start(cool, record)] <= cuts.HEATER_RESTS


@pytest.mark.parametrize("covered", some_of([False, True], 1))
def test_all_starts_at_once_agree_with_one_at_a_time(garden, record, covered):
    evenings = cuts.every_evening(garden, record, covered=covered)
    counted = evenings[evenings["over"] <= cuts.HEATER_RESTS]
    assert cuts.worst_start(garden, record, covered=covered) == counted["hours"].idxmin()  # though it stops there
    assert len(evenings) == 273 - 10 and (evenings.index.hour == 18).all()  # the last ten evenings lack ten days after
    for start in evenings.index[[40, 100, 150, 200, 250]]:  # sun, frost, and spring
        alone = cuts.power_cut(garden, record, start=start, covered=covered)
        # the loop follows the same line within each hour; the starts agree to what 60 days of run-up forget
        assert evenings["hours"][start] == pytest.approx(alone.hours_to[3.0], rel=1e-6), start
        assert evenings["fall"][start] == pytest.approx(max(alone.start_temp - alone.water_temps.min(), 0), abs=1e-6)


def test_a_season_shorter_than_the_cut_is_refused(garden, record):
    short = replace(garden, start=pd.Timestamp("2026-01-12").date(), end=pd.Timestamp("2026-01-20").date())
    with pytest.raises(OutOfRange, match="too short"):
        cuts.worst_start(short, record)


def test_without_a_fall_of_three_kelvin_the_greatest_fall_decides(garden, record):
    """A pond twenty metres deep under its cover: no ten days cool it so far."""
    deep = replace(
        garden,
        pond=replace(garden.pond, volume=200.0),
        heater=replace(garden.heater, power=90_000.0),
        start=pd.Timestamp("2026-01-01").date(),
        end=pd.Timestamp("2026-01-14").date(),
    )
    evenings = [f"2026-01-0{day} 18:00" for day in (1, 2, 3, 4)]
    found = [cuts.power_cut(deep, record, start=evening, covered=True) for evening in evenings]
    assert all(math.isinf(cut.hours_to[3.0]) for cut in found)
    assert all("not by" in power_cut_text(cut)[0] or "falls not" in power_cut_text(cut)[0] for cut in found)
    falls = [cut.start_temp - cut.water_temps.min() for cut in found]
    assert f"{cuts.worst_start(deep, record, covered=True):%Y-%m-%d %H:%M}" == evenings[int(np.argmax(falls))]


def test_oxygen_by_hand():
    # Benson and Krause (APHA table): 10 °C, one atmosphere, 11.288 mg/L; down to 4 leaves 7.288 g in each m³
    assert cuts.oxygen_stock(12.0, 10.0, 101_325.0) == pytest.approx(12 * 7.288, rel=1e-4)
    # saturated air of 10 °C: vapour 1228 Pa (ASHRAE table); (101 325 − 1228) × 0.2095 × 31.998 ÷ (8.31446 × 283.15)
    # = 285.0 g/m³, of which 1 − 4 ÷ 11.288 = 64.6 % can be had
    assert cuts.air_oxygen_stock(1.0, 10.0, 101_325.0) == pytest.approx(285.0 * 0.6456, rel=1e-3)
    nearly = Constant(12.0, "mg/L", "practice")  # more than full water holds
    assert cuts.oxygen_stock(12.0, 10.0, 101_325.0, nearly) == 0 == cuts.air_oxygen_stock(1.0, 10.0, 101_325.0, nearly)


def test_hours_of_oxygen(garden, record):
    given = {"start": START, "fish_kg": 10.0}
    plain = cuts.power_cut(garden, record, covered=False, **given)
    pressure = float(record.hours["pressure"].loc[record.hours.index.strftime("%m-%d %H") == "01-20 18"].iloc[0])
    stock = float(cuts.oxygen_stock(12.0, plain.start_temp, pressure))
    assert plain.oxygen_hours == plain.water_oxygen_hours == pytest.approx(stock / (10 * 0.2))
    assert any(
        "takes up some oxygen by itself; that is not counted" in line and "would add to the hours" in line
        for line in power_cut_text(plain)
    )
    assert plain.oxygen_stock == pytest.approx(stock) and any(
        "would leave fewer hours" in line for line in power_cut_text(plain)
    )
    lidded = cuts.power_cut(garden, record, covered=True, lid_air_height=0.2, **given)
    air = float(cuts.air_oxygen_stock(10 * 0.2, plain.start_temp, pressure))  # 10 m² × 0.2 m
    assert lidded.water_oxygen_hours == plain.water_oxygen_hours
    assert lidded.oxygen_hours == pytest.approx((stock + air) / (10 * 0.2))
    half = replace(garden, pond=replace(garden.pond, cover=replace(garden.pond.cover, share=0.5)))
    part = cuts.power_cut(half, record, covered=True, lid_air_height=0.2, **given)
    assert part.oxygen_hours == pytest.approx((stock + air / 2) / (10 * 0.2))  # there is air under half the water only
    floating = replace(garden, pond=replace(garden.pond, cover=replace(garden.pond.cover, kind="floating")))
    flat = cuts.power_cut(floating, record, covered=True, lid_air_height=0.2, **given)
    assert flat.oxygen_hours == flat.water_oxygen_hours and any("not counted" in line for line in power_cut_text(flat))
    hungry = Constant(0.4, "g/kg/hour", "practice", "twice as much, for the test")
    twice = cuts.power_cut(garden, record, covered=False, respiration=hungry, **given)
    assert twice.oxygen_hours == pytest.approx(plain.oxygen_hours / 2)
    assert any("twice as much, for the test" in line for line in power_cut_text(twice))
    assert any("leave a vent open" in line for line in power_cut_text(lidded)[:-1])
    read = Constant(0.2, "g/kg/hour", "fao_carp")
    cited = cuts.power_cut(garden, record, covered=False, respiration=read, **given)
    assert any("(FAO, common carp" in line for line in power_cut_text(cited))  # the reference, not its key
    for constant in (cuts.RESPIRATION, cuts.LOWEST_OXYGEN):
        assert any(f"common practice, no source; {constant.note}" in line for line in power_cut_text(plain))


def test_without_a_mass_of_fish_no_oxygen_hours(garden, record):
    found = cuts.power_cut(garden, record, start=START, covered=True, lid_air_height=0.2)
    assert found.oxygen_hours is None and found.water_oxygen_hours is None
    assert any("they need the mass of your fish" in line for line in power_cut_text(found))
    assert power_cut_text(found)[-1] == CAUTIONS["power_cut"].text
    assert "the usual limit is [1 K] a day (common practice, no source)" in power_cut_text(found)[1]


def test_implausible_arguments_are_refused(garden, record, constant):
    good = {"start": START, "covered": False}
    for wrong, words in (
        ({"start": "soon"}, "write it as"),
        ({"start": "05/01/2026 18:00"}, "write it as"),
        ({"start": "18:00"}, "write it as"),
        ({"start": "now"}, "write it as"),
        ({"start": None}, "write it as"),
        ({"start": "2026-13-01"}, "write it as"),
        ({"start": 5}, "write it as"),
        ({"start": "1500-01-01"}, "year"),
        ({"days": 0}, "whole number"),
        ({"days": 2.5}, "whole number"),
        ({"fish_kg": 0.0}, "fish_kg"),
        ({"fish_kg": -5.0}, "fish_kg"),
        ({"lid_air_height": 30.0}, "lid_air"),
        ({"respiration": 0.2}, "Constant"),
        ({"respiration": Constant(200.0, "mg/kg/hour", "practice")}, "g/kg/hour"),
        ({"respiration": Constant(0.0, "g/kg/hour", "practice")}, "living fish"),
    ):
        with pytest.raises(OutOfRange, match=words):
            cuts.power_cut(garden, record, **(good | wrong))
    uncovered = replace(garden, pond=replace(garden.pond, cover=None))
    with pytest.raises(OutOfRange, match="no cover"):
        cuts.power_cut(uncovered, record, start=START, covered=True)
    with pytest.raises(WeatherError, match="not covered"):
        cuts.power_cut(bare(1.2), constant, start="2026-06-01 12:00", covered=False)


def test_any_hour_and_any_zone(garden, record):
    local = cuts.power_cut(garden, record, start="2025-07-15 12:00", covered=False)
    abroad = cuts.power_cut(garden, record, start=pd.Timestamp("2025-07-15 11:00", tz="UTC"), covered=False)
    assert local.water_temps.equals(abroad.water_temps)
    within = cuts.power_cut(garden, record, start="2025-07-15 12:40", covered=False)
    assert within.start == local.start  # the hour that it lies in
    unheated = replace(garden, set_point=())
    cold, begun = (
        cuts.power_cut(replace(unheated, start_temp=temp), record, start="2026-01-20 00:00", covered=False)
        for temp in (None, 25.0)
    )
    assert begun.water_temps.equals(cold.water_temps)  # what the season began with is not what the cut begins with
    assert cold.start_temp < 5 and math.isinf(cold.hours_to[5.0])  # there is no falling below freezing


def test_net_loss_is_the_heat_the_water_lost(constant):
    """C × fall = the sum of the hours' net losses, each by its ways, while nothing freezes."""
    found = cuts.power_cut(bare(1.2), constant, start=START, covered=False, days=4)
    gone = found.heat_capacity * (found.start_temp - found.water_temps.iloc[-1])
    assert found.heat_capacity == pytest.approx(12 * 1.163, rel=0.01)  # 1 m³ by 1 K takes 1.163 kWh
    assert found.net_loss.sum() / 1000 == pytest.approx(gone, rel=1e-4)
    assert found.net_loss.index.equals(found.water_temps.index)


def test_a_room_round_the_pond_is_mentioned(garden, record):
    housed = replace(garden, room=(12.0, 0.8))
    for sheet, said in ((housed, True), (garden, False)):
        told = power_cut_text(cuts.power_cut(sheet, record, start=START, covered=False))
        assert any("room round the pond" in line for line in told) == said


def test_the_fastest_fall_is_within_a_day_and_not_from_day_to_day(garden, record):
    """What a night takes and the sun brings back has been a fall to the fish all the same."""
    unheated = replace(garden, set_point=())
    found = cuts.power_cut(unheated, record, start="2026-04-20 18:00", covered=False)
    course = np.append(found.start_temp, found.water_temps)
    wanted = max(course[i] - course[i + 1 : i + 25].min() for i in range(len(course) - 1))
    assert found.fastest_rate == pytest.approx(wanted)
    assert found.fastest_rate > max(course[i] - course[i + 24] for i in range(len(course) - 24)) + 1.0


def test_an_unheated_pond_is_said_to_be_unheated(garden, record):
    none = replace(garden, set_point=())
    for sheet, said in ((none, True), (garden, False)):
        found = cuts.power_cut(sheet, record, start=START, covered=False)
        assert any("is not heated" in line for line in power_cut_text(found)) == said


# --- ice


def frozen(record: Weather, air_temp: float) -> Weather:
    return replace(record, hours=record.hours.assign(air_temp=air_temp))


def test_a_pond_that_freezes_says_so_first(constant):
    cold = frozen(constant, -12.0)
    cut = cuts.power_cut(bare(0.4), cold, start=START, covered=False, days=10)
    temps = np.append(cut.start_temp, cut.water_temps)
    begins = int(np.argmax(temps <= 1e-9))
    assert abs(cut.hours_to_ice - begins) <= 1 and 0 < cut.frozen_share < 1
    # what the water loses once it is at 0 °C is heat of fusion: 334 kJ for each kg (CRC Handbook)
    lost = cut.net_loss.iloc[begins + 1 :].sum() * 3600 / 334e3 / (0.4 * 10 * 1000)
    assert cut.frozen_share == pytest.approx(lost, rel=0.15)
    text = power_cut_text(cut)
    assert "begins to freeze after" in text[0] and text[-1] == CAUTIONS["ice"].text and text[-2] != text[-1]
    through = power_cut_text(cuts.power_cut(bare(0.2), frozen(constant, -30.0), start=START, covered=False, days=20))
    assert through[0].startswith("The pond freezes through")


def test_no_ice_is_not_spoken_of_and_ice_that_is_there_stays(constant, garden, record):
    mild = cuts.power_cut(bare(1.0), constant, start=START, covered=False, days=2)
    assert mild.frozen_share == 0 and mild.hours_to_ice == math.inf
    assert not any("freez" in line or "ice" in line.split() for line in power_cut_text(mild)[:2])
    unheated, cold = replace(bare(2.0), set_point=()), frozen(constant, -4.0)
    kept_warm, cut, longer = (
        cuts.power_cut(sheet, cold, start=START, covered=False, days=days)
        for sheet, days in ((bare(2.0), 5), (unheated, 5), (unheated, 10))
    )
    assert cut.hours_to_ice == 0 and cut.start_temp == pytest.approx(0, abs=1e-9)
    assert kept_warm.frozen_share == 0  # so what is frozen after five days had mostly frozen before
    assert 0.2 < cut.frozen_share < longer.frozen_share < 1
    assert "There is ice on the pond when the power goes" in power_cut_text(cut)[0]

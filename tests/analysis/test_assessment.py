"""The whole answer: two real runs, sums that agree, money by the clock, bands, JSON that other programs can take."""

import json
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.analysis import assessment, export, uncertainty
from pondheat.analysis.results import LikelyRange
from pondheat.analysis.samples import samples_of
from pondheat.analysis.sensitivity import variance_shares
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core.places import PONDS
from pondheat.core.ranges import OutOfRange
from pondheat.heat.balance import ROUTES
from pondheat.money import payback
from pondheat.season import heaters, simulate
from pondheat.season.schedule import covered_share
from pondheat.season.weather.record import MEASURED
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet
from pondheat.sheet.pond_sheet import from_text, with_values
from pondheat.text import summary

JUDGED = {
    "evaporation",
    "wind_shelter",
    "sky_view",
    "u_value",
    "gap_air_flow",
    "wall_factor",
    "stream_factor",
    "sun_factor",
    "surface_factor",
    "cover_factor",
    "year_warmth",
}
GARDEN, TANK = ((PONDS / f"{name}.toml").read_text(encoding="utf-8") for name in ("garden_pond", "growing_on_tank"))
GAS = {"heater": {"kind": "gas", "power": "9 kW", "efficiency": "85 %", "gas_rate": "9 p/kWh"}}
HEAT_PUMP = {
    "heater": {
        "kind": "heat pump",
        "power": "6 kW",
        "cold_power": "3.6 kW",
        "lowest_air_temp": "0 °C",
        "backup": "2 kW",
    }
}


def found(
    text: str, changes: dict | None = None, record: Weather | None = None, scenarios: int = 0
) -> assessment.Assessment:
    return assessment.assess(from_text(with_values(text, changes or {})), record, scenarios)


@pytest.fixture(scope="module")
def garden():
    return found(GARDEN)


@pytest.fixture(scope="module")
def assessed(garden_assessment, tank_assessment):
    """Both shipped ponds with their likely ranges."""
    return {"garden_pond": garden_assessment, "growing_on_tank": tank_assessment}


def made_weather(index: pd.DatetimeIndex, air, **columns) -> Weather:
    """Weather by rule, as if measured at sea level; 75 % humidity, 2.5 m/s at 10 m, half cloud, no sun."""
    hours = pd.DataFrame(
        {
            "air_temp": air,
            "rel_humidity": 0.75,
            "wind_speed": 2.5,
            "solar": 0.0,
            "cloud_cover": 0.5,
            "sky_long_wave": np.nan,
            "pressure": 101_325.0,
        }
        | columns,
        index=index.rename("time"),
    )
    return Weather(hours, "made by rule", 51.5, -1.0, 0.0, 10.0, MEASURED, "made by rule", ())


def hours(start: str, end: str, zone="Europe/London") -> pd.DatetimeIndex:
    """Hours from a local midnight to before another."""
    return pd.date_range(
        *(pd.Timestamp(day, tz=zone).tz_convert("UTC") for day in (start, end)), freq="h", inclusive="left"
    ).tz_convert(zone)


def balanced(season: assessment.Season) -> float:
    """What is left over when all ways of loss and the heat stored are taken from all that came in [kWh]."""
    frame = season.hours
    return (
        season.heat_kwh
        + season.solar_kwh
        + frame["pump"].sum() / 1000
        - sum(season.routes_kwh.values())
        - frame["stored"].sum() / 1000
    )


# --- two runs -----------------------------------------------------------------------------------------------------


def test_open_is_the_pond_without_its_cover(garden):
    bare = found(GARDEN, {"cover": None})
    assert bare.covered is None and bare.saving is None and bare.payback_years is None
    assert bare.open.hours.equals(garden.open.hours)
    assert (garden.open.hours["covered"] == 0).all() and set(garden.covered.hours["covered"]) == {0.0, 1.0}
    assert garden.as_described is garden.covered and bare.as_described is bare.open
    always = found(GARDEN, {"cover.on": None, "cover.off": None, "cover.from": None, "cover.to": None})
    assert (always.covered.hours["covered"] == 1).all() and always.open.hours.equals(garden.open.hours)


def test_seasons_are_those_of_simulate(garden):
    """The study's own bookkeeping against a run made here by hand."""
    described = garden.sheet
    record = assessment.weather_of(described)
    place = assessment.boundary_conditions(described, record)
    covered = covered_share(place.hours.index, 18 * 60, 8 * 60, (((9, 1), (5, 31)),))
    frame = simulate.simulate(
        described.pond,
        place.hours,
        place.air,
        set_point=18.0,
        heater=described.heater,
        covered=covered,
        pump_power=100.0,
        pump_heat=97.0,
        start_temp=18.0,
    )
    assert frame[~place.hours["spin_up"]].equals(garden.covered.hours)


def test_spin_up_does_not_count(garden):
    index = garden.open.hours.index
    assert (str(index[0]), str(index[-1])) == ("2025-09-01 00:00:00+01:00", "2026-05-31 23:00:00+01:00")
    assert len(index) == 273 * 24  # 26 October has 25 hours, 29 March 23
    assert garden.open.electricity_kwh == pytest.approx(garden.open.hours["electricity"].sum() / 1000)
    assert garden.open.cost.standing_charge == pytest.approx(0.5 * 273)
    assert (garden.first.isoformat(), garden.last.isoformat()) == ("2025-09-01", "2026-05-31")


@pytest.mark.parametrize(
    "changes", some_of([{}, GAS, HEAT_PUMP, {"pond.set_point": None}, {"cover": None}], 0, 2), ids=str
)
def test_energy_balance_closes(changes):
    got = found(GARDEN, changes)
    for season in (got.open, got.covered):
        if season is not None:
            turned_over = sum(abs(v) for v in season.routes_kwh.values())
            assert turned_over > 1000 and abs(balanced(season)) < 1e-6 * turned_over
            assert set(season.routes_kwh) == set(ROUTES)
            # the water's own heat, from its temperature at both ends: 1 K of 12 m³ is 13.95 kWh
            water, stored = season.hours["water_temp"], season.hours["stored"] / 1000
            per_kelvin = got.sheet.pond.heat_capacity / 3.6e6
            assert per_kelvin == pytest.approx(13.95, abs=0.01)
            assert stored.iloc[1:].sum() == pytest.approx((water.iloc[-1] - water.iloc[0]) * per_kelvin, abs=1e-6)


# --- money --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("changes", some_of([{}, GAS, HEAT_PUMP, {"tariff": {"rate": "25 p/kWh"}}], 0, 2), ids=str)
def test_costs_by_rate_and_by_month_add_up(changes):
    got = found(GARDEN, changes)
    for season in (got.open, got.covered):
        taken = season.electricity_kwh + season.gas_kwh
        for table in (season.cost.by_rate, season.cost.by_month):
            assert table["kwh"].sum() == pytest.approx(taken)
            assert table["money"].sum() == pytest.approx(season.cost.energy_money)
        hourly = (season.hours["electricity"] + season.hours["gas"]) / 1000
        months = hourly.groupby(hourly.index.strftime("%Y-%m")).sum()
        assert season.cost.by_month["kwh"].to_dict() == pytest.approx(months.to_dict())
        assert list(season.cost.by_month.index) == pd.period_range("2025-09", "2026-05", freq="M").astype(str).tolist()
    difference = got.open.cost.by_rate - got.covered.cost.by_rate
    assert got.saving.by_rate.to_numpy() == pytest.approx(difference.to_numpy())
    assert got.saving.total == pytest.approx(got.open.money - got.covered.money)
    assert got.saving_kwh == pytest.approx(got.saving.energy_kwh)


def test_night_hours_priced_by_hand(garden):
    """12 p from 00:30 to 07:30 by the clock on the wall, 30 p else: the hours 00 and 07 are split in the middle."""
    for season in (garden.open, garden.covered):
        clock, taken = season.hours.index.hour, season.hours["electricity"] / 1000
        night = taken[(clock >= 1) & (clock < 7)].sum() + taken[(clock == 0) | (clock == 7)].sum() / 2
        assert season.cost.by_rate.kwh["night"] == pytest.approx(night)
        assert season.money == pytest.approx(0.12 * night + 0.30 * (taken.sum() - night))


@pytest.mark.parametrize(
    "first, last, cheap",
    some_of(
        [
            ("2025-03-30", "2025-03-30", 6),
            ("2025-10-26", "2025-10-26", 8),
            ("2025-10-25", "2025-10-25", 7),
            ("2025-03-29", "2025-03-31", 20),
        ],
        0,
        1,
    ),
)
def test_days_of_23_and_25_hours_in_by_rate(first, last, cheap):
    """A 100 W pump and no heat: 00:30–07:30 holds 6 hours on the day clocks go forward, 8 on the day they go back."""
    got = found(
        GARDEN, {"season": {"start": first, "end": last}, "pond.set_point": None, "weather.source": "sollerwick"}
    )
    assert got.open.cost.by_rate.kwh["night"] == pytest.approx(0.1 * cheap)
    length = pd.Timestamp(last, tz="Europe/London") + pd.DateOffset(days=1) - pd.Timestamp(first, tz="Europe/London")
    assert got.open.electricity_kwh == pytest.approx(0.1 * length / pd.Timedelta("1h"))
    days = (pd.Timestamp(last) - pd.Timestamp(first)).days + 1
    assert got.open.cost.standing_charge == pytest.approx(0.5 * days)


def test_standing_charge_is_left_out_of_saving_and_payback(garden):
    dear = found(GARDEN, {"tariff.standing_charge": "£5/day"})
    assert dear.open.cost.standing_charge == pytest.approx(5 * 273)
    assert (dear.open.money, dear.covered.money, dear.saving.total, dear.payback_years) == (
        garden.open.money,
        garden.covered.money,
        garden.saving.total,
        garden.payback_years,
    )


def test_tax_on_top_of_the_rates(garden):
    taxed = found(GARDEN, {"tariff.tax_included": False, "tariff.tax": "20 %"})
    assert taxed.open.money == pytest.approx(1.2 * garden.open.money)
    assert taxed.saving.total == pytest.approx(1.2 * garden.saving.total)
    assert taxed.payback_years == pytest.approx(garden.payback_years / 1.2)
    told = export.as_dict(taxed)["open"]
    assert sum(part["money"] for part in told["by_rate"].values()) + told["tax"] == pytest.approx(told["money"])
    assert export.as_dict(garden)["open"]["tax"] == 0


def test_payback_by_hand(garden):
    told = export.as_dict(garden)["payback"]
    yearly = garden.open.money - garden.covered.money
    assert told["years"] == pytest.approx(640 / yearly)
    assert told["discounted"] == pytest.approx(payback.discounted_payback(640.0, yearly, 0.04))
    # six savings, each a year later, at 4 %: Σ 1.04^−n
    assert told["present_value"] == pytest.approx(yearly * sum(1.04**-n for n in range(1, 7)))
    assert told["net_present_value"] == pytest.approx(told["present_value"] - 640)
    assert (told["price"], told["life"], told["discount_rate"], told["in_words"]) == (
        640,
        6,
        0.04,
        "in the first winter",
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"pond.set_point": None},  # nothing heated, so nothing saved
        # a lid at noon in June over a pond that is hardly heated keeps the sun out
        {
            "season": {"start": "2025-06-01", "end": "2025-08-31"},
            "pond.set_point": "19 °C",
            "weather.source": "sollerwick",
            "cover": {
                "kind": "insulated lid",
                "u_value": "2 W/m²K",
                "on": "09:00",
                "off": "17:00",
                "price": "£100",
                "life": "5 years",
            },
        },
    ],
    ids=["no heat", "lid at noon"],
)
def test_a_cover_that_never_pays(changes):
    got = found(GARDEN, changes, scenarios=12)
    assert got.saving.total <= 0 and np.isinf(got.payback_years)
    told = strict(got)["payback"]
    assert told["years"] is None and told["discounted"] is None and told["in_words"] == "never"
    assert told["net_present_value"] < 0
    assert "never pays" in summary.season_text(got)


WORSE = {
    "pond.set_point": "12 °C",
    "place.shade": 0.0,
    "cover": {
        "kind": "floating",
        "u_value": "5 W/m²K",
        "light": "0 %",
        "on": "09:00",
        "off": "17:00",
        "price": "£120",
        "life": "1 year",
    },
}
HOT = {
    "season": {"start": "2025-06-01", "end": "2025-08-31"},
    "wall": [{"area": "1 m²", "u_value": "0.1 W/m²K"}],
    "base": {"u_value": "0.1 W/m²K"},
    "pond.depth": "0.6 m",
    "filter": None,
    "aeration": None,
    "cover": {"u_value": "1 W/m²K", "light": "90 %", "gap": "0 L/s"},
    "pond.set_point": "18 °C",
}


def test_a_negative_saving_is_worded_as_a_loss():
    """A cover that keeps the sun out takes more; the bands are said to be those of a saving."""
    told = " ".join(summary.season_text(found(GARDEN, WORSE, scenarios=20)).split())
    assert "saves nothing: it takes" in told and "in money it costs £" in told and "(as a saving, likely −" in told
    assert "saves −" not in told and "(-" not in told and "the cover costs £" in told


def test_water_beyond_60_degrees_is_refused():
    with pytest.raises(simulate.TooHot, match="would go above 60 °C.*lift it by day"):
        found(GARDEN, HOT)


def test_singular_for_one_day_and_one_year():
    got = found(GARDEN, {"season": {"start": "2026-01-10", "end": "2026-01-10"}, "cover.life": "1 year"})
    told = " ".join(summary.season_text(got).split())
    assert "saving of this one day is" in told and "Over 1 year it" in told


def test_small_powers_are_printed_in_two_figures():
    got = found(
        TANK,
        {
            "pond": {"length": "60 cm", "width": "40 cm", "depth": "50 cm", "set_point": "20 °C"},
            "heater.power": "150 W",
        },
    )
    told = re.search(r"worst 24 hours need, kW +([\d.]+)", summary.season_text(got))[1]
    assert float(told) == pytest.approx(got.open.worst_day_kw, rel=0.05) and got.open.worst_day_kw < 1


# --- heaters ------------------------------------------------------------------------------------------------------


def test_gas_is_heat_over_efficiency(garden):
    got = found(GARDEN, GAS)
    for season in (got.open, got.covered):
        assert season.gas_kwh == pytest.approx(season.heat_kwh / 0.85)
        assert season.cost.by_rate.kwh["gas"] == pytest.approx(season.gas_kwh)
        assert season.cost.by_rate.money["gas"] == pytest.approx(0.09 * season.gas_kwh)
        assert season.electricity_kwh == pytest.approx(0.1 * 273 * 24)  # the pump alone
    assert got.covered.heat_kwh == pytest.approx(garden.covered.heat_kwh, rel=1e-3)  # 9 kW instead of 6 changes no hour
    assert "The cheapest hours (night) account for" in summary.season_text(got)


def test_a_heat_pump_and_its_backup():
    got = found(GARDEN, HEAT_PUMP)
    air = assessment.boundary_conditions(got.sheet, got.weather).hours.query("not spin_up")["air_temp"]
    frame = got.open.hours
    taken = frame["electricity"] - 100
    frost = air < 0
    assert frost.sum() > 300
    # below its lowest working temperature the backup alone: 2 kW at most, watt for watt
    assert frame["heater"][frost].max() == pytest.approx(2000) and np.allclose(taken[frost], frame["heater"][frost])
    own = np.minimum(frame["heater"], 6000 * np.clip(1 - 0.4 / 15 * (15 - air), 0, 1))[~frost]
    beside = frame["heater"][~frost] - own
    assert beside.max() > 500
    cop = 0.85 * heaters.heat_pump_cop(18.0 + 5 - air[~frost].to_numpy())  # in the field, where the sheet gives none
    held = ((frame["water_temp"] == 18.0) & (frame["water_temp"].shift(1) == 18.0))[~frost]
    assert held.sum() > 2000
    assert np.allclose(taken[~frost][held], (own / cop + beside)[held])
    assert got.open.short_hours > 200 and got.open.lowest_temp < 16
    assert got.open.electricity_kwh < 0.6 * found(GARDEN).open.electricity_kwh


def test_short_hours_and_peaks(garden):
    assert garden.open.short_hours > 0 and garden.covered.short_hours == 0
    limit, water = 6000.0, garden.open.hours["water_temp"]
    at_limit = garden.open.hours["heater"] >= limit - 1e-6
    assert garden.open.short_hours == (at_limit & (water < 17.9)).sum()
    large = found(GARDEN, {"heater.power": "30 kW"})
    assert large.open.short_hours == 0 and large.open.lowest_temp == 18.0
    # with a heater that always holds, what the worst hour needs is what it gave
    assert large.open.hours["heater"].max() / 1000 == pytest.approx(large.open.peak_kw)
    assert large.open.hours["heater"].rolling(24).mean().max() / 1000 == pytest.approx(large.open.worst_day_kw)
    assert garden.open.peak_kw == pytest.approx(large.open.peak_kw)  # need does not hang on the heater
    # like with like: an open pond that cools out of want of power flatters itself
    text = " ".join(summary.season_text(garden).split())
    assert f"Without its cover, the heater can't keep up for {garden.open.short_hours} hours" in text
    assert f"({100 * garden.saving_kwh / garden.open.electricity_kwh:.0f} %)" in text  # of what the open pond takes
    assert "The heater holds the set point to within 0.1 K in every hour" in text
    assert "Open, the heater is short" not in summary.season_text(large)
    assert large.saving_kwh > garden.saving_kwh


# --- other ponds --------------------------------------------------------------------------------------------------


def test_no_heat_at_all():
    got = found(GARDEN, {"pond.set_point": None, "heater": None})
    assert got.open.heat_kwh == got.covered.heat_kwh == got.open.short_hours == got.open.peak_kw == 0
    assert got.open.most_ice_kg > 0 and got.open.lowest_temp == 0.0 and got.uncertainty is None
    assert got.open.below_floor_hours == (got.open.hours["water_temp"] < 10).sum() > 3000
    assert got.covered.hours["water_temp"].mean() > got.open.hours["water_temp"].mean()
    text = summary.season_text(got)
    assert "never safe to stand on" in text and "no heat" in text and "saves" not in text


def test_no_heat_no_pump_no_rate_to_name():
    """Nothing is bought at all: no cheapest hours, no share of nothing."""
    got = found(GARDEN, {"pond.set_point": None, "heater": None, "pump": None})
    assert got.open.electricity_kwh == 0 and got.open.money == 0
    assert "cheapest hours" not in summary.season_text(got)
    assert strict(got)["saving"]["share"] is None


def test_no_tariff_and_no_cover():
    got = found(TANK, {"tariff": None, "cover": None}, scenarios=8)
    told = strict(got)
    assert told["open"]["money"] is None and told["open"]["by_rate"] == {} and told["covered"] is None
    assert told["saving"] is None and told["payback"] is None and told["doubt"]["open_money"] is None
    assert sum(month["kwh"] for month in told["open"]["by_month"].values()) == pytest.approx(got.open.electricity_kwh)
    assert "gap_air_flow" not in [one["unknown"] for one in told["doubt"]["matters"]]
    assert "No [tariff] in the sheet, so no money." in summary.season_text(got)


def test_no_tariff_with_a_cover():
    got = found(TANK, {"tariff": None}, scenarios=8)
    told = strict(got)
    assert told["saving"]["money"] is None and told["saving"]["kwh"] > 500 and told["payback"] is None
    assert told["saving"]["band"]["money"] is None and told["saving"]["band"]["kwh"]["p50"] > 500


def test_a_tank_in_a_greenhouse():
    """Neither sky nor wind nor sun; the room's air stands in place of the weather's, for walls too."""
    room = {"place": {"surroundings": "greenhouse", "room_temp": "12 °C", "room_humidity": "80 %"}}
    got, outside = found(TANK, room), found(TANK)
    assert got.open.solar_kwh == 0 and got.open.heat_kwh < outside.open.heat_kwh
    # walls 3.7 m² at their U over 10 K, hour after hour
    side = got.sheet.pond.walls[0]
    assert got.open.routes_kwh["walls"] == pytest.approx(side.area * side.u_value * 10 * 273 * 24 / 1000, rel=1e-6)
    stormy = found(TANK, {**room, "weather.source": "sollerwick"})
    for route in ("evaporation", "convection", "long_wave"):  # but for the air pressure nothing of the weather is left
        assert stormy.open.routes_kwh[route] == pytest.approx(got.open.routes_kwh[route], rel=5e-3)


def test_a_pond_sunk_in_the_garden(garden):
    sunk = {
        "wall": [{"area": "15.6 m²", "layers": ["1 mm EPDM", "50 mm XPS"], "against": "ground", "depth": "1.2 m"}],
        "base": {"layers": ["1 mm EPDM"], "depth": "1.2 m"},
    }
    got = found(GARDEN, sunk)
    assert got.open.routes_kwh["walls"] == 0 and 500 < got.open.routes_kwh["ground"] < 2000
    ground = assessment.boundary_conditions(got.sheet, got.weather).air.ground_temp
    # the ground's own wave: smaller and later than the air's 9.5 ± 9.5 °C, never frozen a metre down
    assert 9 < ground.mean() < 10.5 and ground.min() > 2 and ground.max() < 17
    conductance = sum(wall.area * wall.u_value for wall in got.sheet.pond.walls)
    counted = assessment.boundary_conditions(got.sheet, got.weather).counted
    by_hand = conductance * (got.open.hours["water_temp"].mean() - ground[counted].mean()) * 273 * 24 / 1000
    assert got.open.routes_kwh["ground"] == pytest.approx(by_hand, rel=0.01)


def test_heat_off_in_winter():
    got = found(GARDEN, {"pond.set_point": {"1 Sep": "16 °C", "1 Dec": "off", "1 Mar": "12 °C"}})
    months = got.open.hours["heater"].groupby(got.open.hours.index.strftime("%Y-%m")).sum() / 1000
    assert (months["2025-12":"2026-02"] == 0).all() and (
        months[["2025-10", "2025-11", "2026-03", "2026-04"]] > 200
    ).all()
    water = got.open.hours["water_temp"]
    assert water["2026-01"].mean() < 5 and water["2025-11-30"].iloc[-1] > 15.9
    # out of the cold at 6 kW: 12 m³ need 14 kWh a kelvin, so a day or two at the limit before 12 °C are reached
    integrate = got.open.hours["2026-03-01":"2026-03-04"]
    assert integrate["heater"].iloc[0] == 6000 and 18 < (integrate["water_temp"] < 12).sum() < 60
    assert (integrate["heater"][integrate["water_temp"] < 11.9] == 6000).all() and integrate["water_temp"].iloc[
        -1
    ] >= 12
    text = " ".join(summary.season_text(got).split())
    assert "held at 16 °C from 1 Sep, no heat from 1 Dec, 12 °C from 1 Mar" in text
    assert "warming up after a change of set point" in text


def test_a_start_temperature_needs_no_days_before():
    short = {"season": {"start": "2025-10-01", "end": "2025-10-31"}, "pond.set_point": None, "heater": None}
    warm, cold = (found(GARDEN, {**short, "pond.start_temp": t}).open.hours["water_temp"] for t in ("25 °C", "5 °C"))
    assert warm.iloc[0] > 24 and cold.iloc[0] < 6 and len(warm) == 31 * 24 + 1
    assert 0 < warm.iloc[-1] - cold.iloc[-1] < 2  # a month later nearly forgotten
    own = found(GARDEN, short).open.hours["water_temp"]
    assert cold.iloc[0] < own.iloc[0] < warm.iloc[0]


def test_spin_up_forgets_the_initial_temperature():
    """A start at 0 °C is 0 °C in the runs behind the bands too."""
    got = found(
        GARDEN,
        {"heater.power": "20 kW", "pond.start_temp": "0 °C", "season": {"start": "2026-01-01", "end": "2026-01-14"}},
        scenarios=20,
    )
    # warming 12 m³ from 0 to 18 °C takes 251 kWh on top: every scenario pays it
    held = found(
        GARDEN,
        {"heater.power": "20 kW", "pond.start_temp": "18 °C", "season": {"start": "2026-01-01", "end": "2026-01-14"}},
        scenarios=20,
    )
    assert got.uncertainty.open_kwh.low > held.uncertainty.open_kwh.low + 100
    assert got.uncertainty.open_kwh.low <= got.open.electricity_kwh <= got.uncertainty.open_kwh.high


def test_a_season_over_new_year_and_a_whole_file():
    across = found(GARDEN, {"season": {"start": "2025-12-15", "end": "2026-01-15"}})
    assert list(across.open.cost.by_month.index) == ["2025-12", "2026-01"] and len(across.open.hours) == 32 * 24
    whole = found(GARDEN, {"season": None})
    index = whole.open.hours.index
    assert len(index) in (8760, 8784) and index[0].month == index[0].day == 1 and index[-1].month == 12
    assert whole.open.heat_kwh > across.open.heat_kwh


def test_a_leap_day_counts():
    got = found(GARDEN, {"season": {"start": "2027-09-01", "end": "2028-05-31"}})
    assert len(got.open.hours) == 274 * 24 and "2028-02-29" in got.open.hours.index.strftime("%Y-%m-%d")
    assert got.open.cost.standing_charge == pytest.approx(0.5 * 274)


@pytest.mark.parametrize(
    "zone", some_of(["Asia/Kolkata", "Australia/Lord_Howe", "America/St_Johns", "Africa/Casablanca"], 1, 3)
)
def test_zones_of_half_hours_and_of_odd_summer_times(zone):
    got = found(GARDEN, {"timezone": zone, "place.latitude": 52.4})
    length = pd.Timestamp("2026-06-01", tz=zone) - pd.Timestamp("2025-09-01", tz=zone)
    assert len(got.open.hours) == length / pd.Timedelta("1h")
    # 273 evenings of 14 hours, the last of which ends after the season's own end; clock changes in it cancel
    assert got.covered.hours["covered"].sum() == pytest.approx(273 * 14 - 8, abs=1)
    assert got.covered.cost.by_rate.kwh.sum() == pytest.approx(got.covered.electricity_kwh)


def test_an_american_sheet():
    got = found(
        """
name = "Back yard pond (invented)"
timezone = "America/New_York"
currency = "USD"
[season]
start = 2025-10-01
end = 2026-04-30
[place]
altitude = "900 ft"
[pond]
length = "13 ft"
width = "8 ft"
volume = "2500 US gallons"
set_point = "60 °F"
floor = "50 °F"
[[wall]]
area = "168 sq ft"
u_value = "0.1 Btu/h/ft²/°F"
[base]
layers = ["2 in XPS"]
[cover]
u_value = "0.5 Btu/h/ft²/°F"
gap = "4 cfm"
on = "18:00"
off = "08:00"
price = "$500"
life = "5 years"
[pump]
power = "100 W"
[heater]
power = "20000 Btu/h"
[tariff]
otherwise = "16 ¢/kWh"
standing_charge = "$12/month"
[[tariff.window]]
name = "super off-peak"
rate = "$0.09/kWh"
start = "22:00"
end = "06:00"
days = "weekdays"
[weather]
source = "greensboro"
""",
        scenarios=8,
    )
    pond = got.sheet.pond
    assert pond.surface_area == pytest.approx(104 * 0.3048**2) and pond.volume == pytest.approx(2500 * 3.785411784e-3)
    assert pond.walls[0].u_value == pytest.approx(0.567826, rel=1e-5)  # 0.1 Btu/(h·ft²·°F), 1 = 5.678263 W/(m²·K)
    assert got.sheet.heater.power == pytest.approx(20_000 * 0.29307107)
    assert pond.cover.gap_air_flow == pytest.approx(4 * 4.71947e-4, rel=1e-5)
    assert got.sheet.set_point[0][1] == pytest.approx(15.5556, abs=1e-4)
    told = strict(got)
    assert told["sheet"]["currency"] == "USD" and told["open"]["money"] > told["covered"]["money"] > 0
    assert set(told["open"]["by_rate"]) == {"super off-peak", "other hours"}
    assert "$" in summary.season_text(got) and "£" not in summary.season_text(got)


def test_half_hourly_prices_need_not_cover_the_days_before(tmp_path):
    """A price file of the season itself: the sixty days that only bring the water to temperature cost nothing."""
    index = hours("2025-11-01", "2025-12-01")
    half = index.union(index + pd.Timedelta("30min"))
    lines = [f"{stamp.isoformat()},{0.10 + 0.002 * stamp.hour:.4f}" for stamp in half]
    (tmp_path / "prices.csv").write_text("time,price [£/kWh]\n" + "\n".join(lines) + "\n", encoding="utf-8")
    text = with_values(
        GARDEN,
        {
            "tariff": {"name": "half hours", "prices": "prices.csv"},
            "season": {"start": "2025-11-01", "end": "2025-11-30"},
        },
    )
    got = assessment.assess(from_text(text, tmp_path), scenarios=12)
    taken = got.open.hours["electricity"] / 1000
    assert got.open.money == pytest.approx((taken * (0.10 + 0.002 * taken.index.hour)).sum(), rel=1e-9)
    assert got.uncertainty.saving_money.low <= got.saving.total <= got.uncertainty.saving_money.high


def test_a_short_measured_record_in_frost():
    """Ground and new water are taken from the record; new water never comes frozen, and the reader is told."""
    record = made_weather(hours("2026-01-05", "2026-01-26"), -8.0)
    got = found(GARDEN, {"season": None}, record)
    assert "ground and new water are assumed to be at its mean air temperature, [-8.0 °C]" in " ".join(got.notes)
    assert "the saving of these 21 days is that of a whole year" in " ".join(got.notes)
    # 1 % of 12 m³ a day from 0 °C: 5.6 to 5.9 W/K of flow
    flow = got.open.routes_kwh["water_change"] * 1000 / (21 * 24) / got.open.hours["water_temp"].mean()
    assert flow == pytest.approx(0.12 * 999.1 * 4188 / 86_400, rel=2e-3)


def test_reference_tank_of_the_trade():
    """An insulated open tank of 1 m³ at 22 °C in nights of 7 and days of 17 °C draws about 280 W (210–450), and covered
    at night with 32 mm multiwall sheet about half of that (70–270): common practice, no source."""
    index = hours("2025-10-01", "2025-10-25", "UTC")
    text = """timezone = "UTC"
[place]
wind_shelter = 0.5
[pond]
surface_area = "1.1 m²"
volume = "1 m³"
set_point = "22 °C"
start_temp = "22 °C"
[[wall]]
area = "4.5 m²"
u_value = "0.5 W/m²K"
[base]
u_value = "0.5 W/m²K"
against = "air"
[cover]
u_value = "1.4 W/m²K"
gap = "0.5 L/s"
on = "19:00"
off = "08:00"
[heater]
power = "2 kW"
"""
    for wind in (2.0, 3.0):
        record = made_weather(index, 12 - 5 * np.cos(2 * np.pi * (index.hour - 5) / 24), wind_speed=wind)
        got = found(text, {}, record)
        drawn, covered = (season.heat_kwh * 1000 / len(index) for season in (got.open, got.covered))
        assert 210 < drawn < 450
        assert 70 < covered < 270
        assert 0.4 < covered / drawn < 0.65


# --- how sure -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["garden_pond", "growing_on_tank"])
def test_likely_ranges_contain_the_answer(assessed, name):
    got = assessed[name]
    found = got.uncertainty
    answers = {
        "open_kwh": got.open.electricity_kwh,
        "covered_kwh": got.covered.electricity_kwh,
        "saving_kwh": got.saving_kwh,
        "open_money": got.open.money,
        "covered_money": got.covered.money,
        "saving_money": got.saving.total,
        "payback": got.payback_years,
    }
    for key, answer in answers.items():
        band = getattr(found, key)
        assert band.low < band.middle < band.high, key
        assert band.low <= answer <= band.high, key
        assert band.high < 3 * band.low, key


@pytest.mark.parametrize("name", ["garden_pond", "growing_on_tank"])
def test_variance_shares_of_the_shipped_ponds(assessed, name):
    names, shares = zip(*assessed[name].uncertainty.variance_shares)
    assert set(names) == JUDGED | {"sky_error", "price"} and list(shares) == sorted(shares, reverse=True)
    # wind at the water and the formula that takes it outweigh walls, sky and gap together, in a pond as in a tank
    share = dict(zip(names, shares))
    assert share["wind_shelter"] + share["evaporation"] > 2 * sum(
        share[one] for one in ("wall_factor", "sky_view", "gap_air_flow")
    )
    assert 0.8 < sum(shares) < 1.25
    assert UNCERTAIN_INPUTS[names[0]].words in " ".join(summary.season_text(assessed[name]).split())


def test_an_input_that_alone_moves_the_result_explains_it_all():
    rng = np.random.default_rng(0)
    samples = {
        "wind_shelter": rng.random(200),
        "wall_factor": rng.random(200),
        "evaporation": rng.choice(["a", "b"], 200),
    }
    matters = dict(variance_shares(samples, samples["wind_shelter"] * 5 + 3))
    assert matters["wind_shelter"] > 0.95 and matters["wall_factor"] < 0.1 and matters["evaporation"] < 0.1
    assert variance_shares(samples, np.ones(200)) == ()


def test_samples_fit_the_pond():
    pond = from_text(GARDEN).pond
    samples = samples_of(pond, 200)
    assert set(samples) == JUDGED | {"sky", "price"}
    assert (samples["sky"] == "crawford_duchon").mean() == pytest.approx(0.5, abs=0.01)
    measured = samples_of(pond, 200, own_long_wave=True)
    assert set(measured) == JUDGED | {"sky_error", "price"}
    assert measured["sky_error"].mean() == pytest.approx(0, abs=0.1) and measured["sky_error"].std() == pytest.approx(
        7.5, rel=0.02
    )
    # 63–160 % of 0.5, ± 0.15 round 0.8, ± 20 %, ± 15 % of 3.1, a third to three times 2 L/s, spread evenly
    near = samples["evaporation"] == "smith_lof_jones"  # that one's wind stands closer over the water
    shelter = samples["wind_shelter"] / np.where(near, 0.4, 1.0)
    assert 0.5 / 1.6 <= shelter.min() < 0.33 and 0.76 < shelter.max() <= 0.8 and near.sum() == 20
    for name, low, high in (
        ("u_value", 0.85 * 3.1, 1.15 * 3.1),
        ("sky_view", 0.65, 0.95),
        ("wall_factor", 0.8, 1.2),
        ("gap_air_flow", 0.002 / 3, 0.006),
    ):
        assert low <= samples[name].min() < low * 1.05 and high * 0.95 < samples[name].max() <= high
    assert (samples["evaporation"] == "ryan_harleman").mean() == pytest.approx(0.3, abs=0.01)
    assert set(samples_of(replace(pond, room=True), 10)) == {
        *(JUDGED - {"wind_shelter", "sky_view", "year_warmth"}),
        "room_warmth",
        "price",
    }
    assert "gap_air_flow" not in samples_of(replace(pond, cover=None), 10)
    assert np.array_equal(samples_of(pond, 50)["sky_view"], samples_of(pond, 50)["sky_view"])


@pytest.mark.parametrize("changes", some_of([GAS, HEAT_PUMP], 1), ids=["gas", "heat pump"])
def test_likely_ranges_for_other_heaters(changes):
    got = found(GARDEN, changes | {"season": {"start": "2025-11-03", "end": "2025-12-14"}}, scenarios=40)
    for band, answer in (
        (got.uncertainty.open_kwh, got.open.electricity_kwh + got.open.gas_kwh),
        (got.uncertainty.covered_kwh, got.covered.electricity_kwh + got.covered.gas_kwh),
        (got.uncertainty.open_money, got.open.money),
        (got.uncertainty.saving_money, got.saving.total),
    ):
        assert band.low <= answer <= band.high


def test_added_tax_scales_the_likely_ranges():
    plain, taxed = (
        found(
            GARDEN, {"season": {"start": "2025-11-01", "end": "2025-11-30"}, "tariff.tax_included": held}, scenarios=12
        )
        for held in (True, False)
    )
    assert taxed.uncertainty.saving_money.middle == pytest.approx(1.05 * plain.uncertainty.saving_money.middle)
    assert taxed.uncertainty.open_money.low == pytest.approx(1.05 * plain.uncertainty.open_money.low)


def test_likely_range_of_values():
    band = LikelyRange.of(np.arange(101.0)[::-1])
    assert (band.low, band.middle, band.high) == (10, 50, 90)
    assert LikelyRange.of([1.0, 2.0, np.inf]).high == np.inf
    assert export._range(LikelyRange.of([1.0, 2.0, np.inf]))["p90"] is None


def test_progress_reaches_the_end():
    told = []
    assessment.assess(from_text(TANK), scenarios=20, progress=told.append)
    assert told == sorted(told) and told[0] > 0 and told[-1] == 1


# --- for other programs -------------------------------------------------------------------------------------------


def strict(got: assessment.Assessment) -> dict:
    """Through text and back; infinities and things that are not numbers are refused on both ways."""

    def refuse(constant):
        raise AssertionError(constant)

    return json.loads(json.dumps(export.as_dict(got), allow_nan=False), parse_constant=refuse)


def test_json_has_the_documented_keys(assessed):
    told = strict(assessed["garden_pond"])
    assert {"sheet", "weather", "season", "open", "covered", "saving", "payback", "formulas", "doubt", "notes"} <= set(
        told
    )
    for part in ("open", "covered"):
        assert {
            "heat_kwh",
            "electricity_kwh",
            "money",
            "by_rate",
            "by_month",
            "routes_kwh",
            "peak_kw",
            "short_hours",
        } <= set(told[part])
        assert set(told[part]["routes_kwh"]) == set(ROUTES)
        season = told[part]
        came = season["heat_kwh"] + season["solar_kwh"] + season["pump_heat_kwh"]
        assert sum(season["routes_kwh"].values()) + season["stored_kwh"] == pytest.approx(came)
    assert {"kwh", "money", "band"} <= set(told["saving"]) and {"kwh", "money"} == set(told["saving"]["band"])
    assert {"years", "discounted", "present_value", "band"} <= set(told["payback"])
    assert told["weather"]["place"] == "Potsdam" and told["season"] == {
        "start": "2025-09-01",
        "end": "2026-05-31",
        "hours": 6552,
    }
    assert told["formulas"]["evaporation"] == "ryan_harleman" and told["formulas"]["cop"] is None
    assert told["saving"]["kwh"] == pytest.approx(told["open"]["electricity_kwh"] - told["covered"]["electricity_kwh"])


def test_the_same_sheet_gives_the_same_json(assessed):
    again = assessment.assess(pond_sheet.read(PONDS / "growing_on_tank.toml"))
    assert json.dumps(export.as_dict(again)) == json.dumps(export.as_dict(assessed["growing_on_tank"]))


def test_hours_written(tmp_path, garden):
    export.write_hours(garden, tmp_path / "hours.csv")
    table = pd.read_csv(tmp_path / "hours.csv")
    assert list(table.columns) == ["time", *simulate.COLUMNS]
    assert np.allclose(table["heater"], garden.covered.hours["heater"], atol=1e-4)  # as the sheet describes it


def test_gas_without_a_price_is_refused():
    described = replace(from_text(with_values(GARDEN, GAS)), gas_rate=None)
    with pytest.raises(OutOfRange, match="gas_rate, its price per kWh, is not given"):
        assessment.assess(described, scenarios=0)


def test_weather_of_the_other_half_of_the_earth_is_refused():
    with pytest.raises(OutOfRange, match="winter when here it is summer"):
        found(GARDEN, {"place.latitude": -35.0})
    assert found(GARDEN, {"place.latitude": 35.0}).open.heat_kwh > 0


def test_warm_water_and_a_small_heater_are_mentioned():
    """A clear cover left on day and night cooks the pond; a heater too small is named before the money."""
    hot = summary.season_text(found(GARDEN, {"cover.on": None, "cover.off": None}))
    assert "gets too warm" in hot and "Lift the cover on sunny days" in hot
    small = summary.season_text(found(GARDEN, {"cover": None, "heater.power": "2 kW"}))
    assert small.index("The heater is too small") < small.index("Heat over the season")
    fine = summary.season_text(found(GARDEN, {"cover": None, "heater.power": "20 kW"}))
    assert "too warm" not in fine and "too small" not in fine


def test_the_wider_the_gap_the_less_a_cover_saves():
    """Never less than nothing: air under the cover cannot carry off more than the open surface would lose."""
    saved = [found(GARDEN, {"cover.gap": gap}).saving_kwh for gap in ("0 L/s", "2 L/s", "20 L/s", "200 L/s", "900 L/s")]
    assert saved == sorted(saved, reverse=True) and saved[-1] > 0
    nothing = found(GARDEN, {"cover.share": "0 %", "cover.gap": "20 L/s"})
    assert nothing.saving_kwh == pytest.approx(0.0, abs=1e-6)


def test_scenarios_split_a_heat_pump_and_its_backup():
    """In a windier scenario the surplus comes from the backup, one for one: held against exact seasons."""
    text = with_values(
        GARDEN,
        {"heater": {"kind": "heat pump", "power": "6 kW", "cold_power": "3.6 kW", "backup": "6 kW"}, "cover": None},
    )
    described = from_text(text)
    record = assessment.weather_of(described)
    place = assessment.boundary_conditions(described, record)
    limit = described.heater.limit(place.hours["air_temp"].to_numpy())
    pump = described.heater.heat_pump_limit(place.hours["air_temp"].to_numpy())
    input_per_heat = uncertainty.input_per_heat(place, described.heater)
    from pondheat.season.ensemble import run_ensemble

    shelters = np.array([0.3, 0.75])
    runs = run_ensemble(
        described.pond,
        place.air,
        {"wind_shelter": shelters},
        set_point=place.set_point,
        limit=limit,
        gain=described.pump_heat,
        counted=place.counted,
        start_temp=18.0,
        first=pump,
        weights=np.column_stack([input_per_heat.sum(axis=1), np.ones(len(pump))]),
    )
    for shelter, got in zip(shelters, runs.weighted_kwh[:, 0]):
        exact = assessment.run_season(
            replace(described, pond=replace(described.pond, wind_shelter=shelter)), place, False
        )
        pumped = described.pump_power / 1000 * len(exact.hours)
        assert got == pytest.approx(exact.electricity_kwh - pumped, rel=2e-3)

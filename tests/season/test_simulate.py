"""The hour-by-hour season: its books balance, its step is exact, its ends are where they should be."""

from math import exp

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import solve_ivp

from pondheat.core.ranges import OutOfRange
from pondheat.heat import covers, falling_water, surface, walls
from pondheat.heat.balance import ROUTES, Air, Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.heat.water import density, specific_heat
from pondheat.season.heaters import Heater
from pondheat.season.schedule import covered_share
from pondheat.season.simulate import COLUMNS, air_of, ground_temperature, heat_to_hold, simulate, time_constant

NIGHT = (20 * 60, 8 * 60)
LID = Cover("sheet", u_value=1.4, light=0.7, gap_air_flow=0.0005)
# The six cases that any scheme must pass: small and shallow ponds are quick, a heater too small is always regaining.
CASES = {
    "1 m³ tank, bare": (Pond(1.0, 1.0, (Wall(5, 0.5),)), 22.0, 3000.0),
    "1 m³ tank, covered at night": (Pond(1.0, 1.0, (Wall(5, 0.5),), cover=LID), 22.0, 3000.0),
    "1 m³ tank, 0.4 m shallow": (Pond(2.5, 1.0, (Wall(3, 0.5),)), 22.0, 6000.0),
    "1 m³ tank, heater too small": (Pond(1.0, 1.0, (Wall(5, 0.5),), cover=LID), 22.0, 300.0),
    "20 m³ pond, covered at night": (
        Pond(15.0, 20.0, (Wall(24, 0.6, "ground"),), 0.002, 0.6, 2.0, 0.0005, cover=LID),
        18.0,
        12000.0,
    ),
    "20 m³ pond, heater too small": (Pond(15.0, 20.0, (Wall(24, 0.6, "ground"),), cover=LID), 18.0, 2500.0),
}
# Those at the set point throughout are told by the others too, and a tank's heater is too small as a pond's is.
USUAL = {"1 m³ tank, heater too small", "20 m³ pond, covered at night"}


def run(case, hours, **more):
    pond, set_point, power = CASES[case]
    covered = covered_share(hours.index, *NIGHT)
    return simulate(
        pond,
        hours,
        air_of(hours, 10.0),
        set_point=set_point,
        heater=Heater(power=power),
        covered=covered,
        **{"start_temp": set_point, **more},
    )


@pytest.mark.parametrize("case", CASES)
def test_every_hour_balances(case, year):
    frame = run(case, year, pump_power=60.0, pump_heat=40.0)
    left_over = frame.heater + frame.solar + frame.pump - frame[list(ROUTES)].sum(axis=1) - frame.stored
    assert left_over.abs().max() < 1e-3
    # stored must be the water's own: heat capacity × the change from the hour before
    capacity = CASES[case][0].heat_capacity
    change = np.diff(np.concatenate(([CASES[case][1]], frame.water_temp)))
    assert np.allclose(frame.stored, capacity * change / 3600, atol=1e-6)


def reference(case, hours):
    """The same physics another way: public functions summed, scipy's solver at rtol 1e-8, an event at the set point."""
    pond, set_point, power = CASES[case]
    air, share = air_of(hours, 10.0), covered_share(hours.index, *NIGHT) if pond.cover else np.zeros(len(hours))
    capacity = density(15.0) * specific_heat(15.0) * pond.volume
    temp, temps, energy = set_point, [], 0.0
    for i in range(len(hours)):
        ta, rh, p = float(air.air_temp[i]), float(air.rel_humidity[i]), float(air.pressure[i])
        wind = pond.wind_shelter * surface.wind_at_height(float(air.wind_speed[i]), 10.0, 2.0)
        under, sun = float(share[i]), surface.solar_gain(float(air.solar[i]))
        sky = surface.sky_temperature(ta, rh, float(air.cloud_cover[i]))

        def loss(tw):
            whole = sum(
                walls.wall_loss(w.area, w.u_value, tw, ta if w.against == "air" else float(air.ground_temp[i]))
                for w in pond.walls
            )
            whole += falling_water.filter_loss(
                pond.filter_air_flow, pond.filter_effectiveness, pond.casing_u_value_area, tw, ta, rh, p
            )
            whole += falling_water.air_side_limit(pond.aeration_air_flow, tw, ta, rh, p)
            if under < 1:
                whole += (
                    (1 - under)
                    * pond.surface_area
                    * (
                        surface.evaporation(tw, ta, rh, wind, pressure=p)
                        + surface.convection(tw, ta, rh, wind, pressure=p)
                        + surface.long_wave_loss(tw, ta, rh, float(air.cloud_cover[i]))
                        - sun
                    )
                )
            if under > 0:
                whole += under * (
                    pond.surface_area
                    * (
                        covers.sheet_loss(tw, ta, wind, sky, 1.0, pond.cover.u_value, pressure=p)
                        - pond.cover.light * sun
                    )
                    + covers.leak_loss(pond.cover.gap_air_flow, tw, ta, rh, p)
                )
            return whole

        left = 3600.0
        while left > 1e-9:
            need = loss(set_point)
            if temp == set_point and 0 <= need <= power:
                energy += need * left
                break
            heat = power if temp < set_point or (temp == set_point and need > power) else 0.0

            def event(t, y):
                return y[0] - set_point

            event.terminal = True
            start = temp
            if temp == set_point:  # leave the set point first, else the event fires at once
                event = None
            solution = solve_ivp(
                lambda t, y: [(heat - loss(float(y[0]))) / capacity],
                (0, left),
                [start],
                rtol=1e-8,
                atol=1e-10,
                events=event,
            )
            energy += heat * solution.t[-1]
            left -= solution.t[-1]
            temp = set_point if solution.status == 1 else float(solution.y[0, -1])
        temps.append(temp)
    return np.array(temps), energy / 3.6e6


@pytest.mark.parametrize(
    "case", [pytest.param(case, marks=() if case in USUAL else pytest.mark.long) for case in CASES]
)
def test_step_against_scipy(case, year):
    """Within 0.1 % of the energy and 0.05 K: a thermometer and a meter could not tell them apart."""
    hours = pd.concat([year.iloc[24 * 141 : 24 * 143], year.iloc[24 * 241 : 24 * 243]])  # days in January and in May
    temps, energy = reference(case, hours)
    frame = run(case, hours)
    assert frame.heater.sum() / 1000 == pytest.approx(energy, rel=1e-3)
    assert np.abs(frame.water_temp - temps).max() < 0.05


def test_cool_then_top_up_is_wrong(year):
    """The tempting scheme: let the water cool for an hour, then heat it back. It must lose more than 1 % here."""
    hours = year.iloc[: 24 * 60]
    pond, set_point, power = CASES["1 m³ tank, 0.4 m shallow"]
    from pondheat.heat.balance import losses, prepare

    prepared, topped = prepare(pond, air_of(hours, 10.0), 0.0), 0.0
    temp = set_point
    for i, sun in enumerate(prepared.solar_gain):
        loss, slope = (float(sum(part.values())[0]) for part in losses(prepared.at([i]), temp))
        temp -= (loss - sun) * (1 - exp(-slope * 3600 / pond.heat_capacity)) / slope
        refill = min(max(set_point - temp, 0) * pond.heat_capacity, power * 3600)
        topped += refill / 3.6e6
        temp += refill / pond.heat_capacity
    true = run("1 m³ tank, 0.4 m shallow", hours).heater.sum() / 1000
    assert topped < 0.99 * true


def test_columns_and_cover_switch(year):
    frame = run("20 m³ pond, covered at night", year.iloc[:48])
    assert tuple(frame.columns) == COLUMNS
    assert set(frame.covered) == {0.0, 1.0}
    assert frame.covered.iloc[21] == 1.0 and frame.covered.iloc[12] == 0.0
    assert (frame.electricity == frame.heater).all() and (frame.gas == 0).all()


def test_a_cover_never_adds_loss_while_the_open_surface_loses(year):
    """Hour by hour at one and the same held temperature, sun left out: covered ≤ open wherever open loses heat."""
    from pondheat.heat.balance import losses, prepare

    air = air_of(year, 10.0)
    cases = (
        ("sheet", 5.6, 0.0),
        ("sheet", 1.2, 0.0),
        ("insulated lid", 0.5, 0.0),
        ("floating", 3.0, 0.0),
        ("film", 3.0, 0.0),
        ("sheet", 1.2, 0.002),
        ("sheet", 1.2, 0.05),
        ("insulated lid", 0.5, 1.0),
    )
    for kind, u, gap in cases:
        pond = Pond(10.0, 12.0, cover=Cover(kind, u_value=u, gap_air_flow=gap))
        for temp in (6.0, 14.0, 22.0):
            ways = losses(prepare(pond, air, 0.0), temp)[0]
            bare = sum(ways.values())
            under = sum(losses(prepare(pond, air, 1.0), temp)[0].values())
            losing = bare > 0
            if gap:  # where warm damp air or a warm sky heats open water, a lid that leaks may keep that gain away
                losing &= (ways["evaporation"] > 0) & (ways["convection"] > 0) & (ways["long_wave"] > 0)
            assert losing.sum() > 1000
            assert (under[losing] <= bare[losing] + 1e-6).all(), kind


def test_warmer_air_never_costs_more(year):
    base = year.iloc[: 24 * 90]
    costs = []
    for shift in (-2.0, 0.0, 2.0, 4.0):
        hours = base.assign(air_temp=base.air_temp + shift)
        # vapour kept: relative humidity moves with the air
        ratio = (
            surface.saturation_curve(base.air_temp.to_numpy())[0]
            / surface.saturation_curve(hours.air_temp.to_numpy())[0]
        )
        hours["rel_humidity"] = np.clip(base.rel_humidity * ratio, 0.0, 1.0)
        costs.append(run("1 m³ tank, covered at night", hours).heater.sum())
    assert costs == sorted(costs, reverse=True)


def test_heat_to_hold_is_what_a_large_heater_gives(year):
    """In every hour that begins and ends at the set point, whether a cover is on or not; none in unheated hours."""
    hours = year.iloc[24 * 140 : 24 * 160]
    pond, air = Pond(10.0, 12.0, (Wall(15.6, 0.5),), cover=Cover("sheet", 3.0, 0.8, 0.002)), air_of(hours, 10.0)
    covered = covered_share(hours.index, 20 * 60, 8 * 60)
    wanted = np.where(np.arange(len(hours)) < 400, 18.0, np.nan)
    frame = simulate(
        pond,
        hours,
        air,
        set_point=wanted,
        heater=Heater(power=50_000),
        covered=covered,
        pump_heat=97.0,
        start_temp=18.0,
    )
    need = heat_to_hold(pond, air, set_point=wanted, covered=covered, pump_heat=97.0)
    ends = frame["water_temp"].to_numpy()
    held = (ends == 18.0) & (np.append(18.0, ends[:-1]) == 18.0) & (wanted == 18.0)
    assert held.sum() > 300 and need[held].min() >= 0.0
    assert np.allclose(need[held], frame["heater"].to_numpy()[held], rtol=1e-6, atol=1e-3)
    assert np.all(need[np.isnan(wanted)] == 0.0)


def test_ice_is_heat_owed():
    """Still cold air: freezing gives off 334 kJ/kg, the water stays at 0 °C, and thawing takes the same heat back."""
    index = pd.date_range("2026-01-01", periods=24 * 24, freq="h", tz="UTC")
    cold = np.where(np.arange(len(index)) < 24 * 4, -8.0, 15.0)
    hours = pd.DataFrame(
        {
            "air_temp": cold,
            "rel_humidity": 0.8,
            "wind_speed": 2.0,
            "solar": 0.0,
            "cloud_cover": 1.0,
            "sky_long_wave": np.nan,
            "pressure": 101_325.0,
        },
        index=index,
    )
    pond = Pond(10.0, 4.0)
    frame = simulate(pond, hours, air_of(hours, 10.0, ground_temp=5.0), start_temp=2.0)
    assert frame.water_temp.min() == 0.0
    assert frame.ice.max() > 50
    full = frame.ice.shift(1).gt(0) & frame.ice.gt(0)  # hours frozen from end to end
    lost = frame[list(ROUTES)].sum(axis=1)
    # lost heat [W] against 334 kJ for every kilogram
    assert np.allclose(frame.ice.diff()[full] * 333_550 / 3600, lost[full], atol=1e-3)
    assert frame.ice.iloc[-1] == 0.0 and frame.water_temp.iloc[-1] > 1.0
    # over the weeks all ice has come and gone: only the water's own heat is left in the books
    assert -lost.sum() * 3600 == pytest.approx(pond.heat_capacity * (frame.water_temp.iloc[-1] - 2.0), rel=1e-9)


def test_cooling_follows_the_logarithm():
    """Without surface terms (a walls-only tank in a room of its own) the cool-down is the textbook exponential."""
    index = pd.date_range("2026-01-01", periods=48, freq="h", tz="UTC")
    hours = pd.DataFrame(
        {
            "air_temp": 8.0,
            "rel_humidity": 0.8,
            "wind_speed": 0.0,
            "solar": 0.0,
            "cloud_cover": 1.0,
            "sky_long_wave": np.nan,
            "pressure": 101_325.0,
        },
        index=index,
    )
    pond = Pond(0.05, 12.0, (Wall(500.0, 0.5),), evaporation="vdi_2089", emissivity=0.0)
    frame = simulate(pond, hours, air_of(hours, 10.0), start_temp=18.0)
    rate = (500 * 0.5) / pond.heat_capacity
    assert frame.water_temp.iloc[-1] - 8 == pytest.approx(10 * exp(-rate * 48 * 3600), rel=2e-3)


def test_set_point_change_and_heat_pump(year):
    hours = year.iloc[: 24 * 20]
    wanted = np.where(np.arange(len(hours)) < 240, 18.0, 12.0)
    pump = Heater("heat pump", power=6000, backup=0.0)
    frame = simulate(
        CASES["20 m³ pond, covered at night"][0],
        hours,
        air_of(hours, 10.0),
        set_point=wanted,
        heater=pump,
        start_temp=18.0,
    )
    assert (frame.electricity <= frame.heater + 1e-9).all()
    assert frame.electricity.sum() < 0.5 * frame.heater.sum()
    assert frame.water_temp.iloc[239] == pytest.approx(18.0)
    assert frame.heater.iloc[241] == 0.0  # cooling down to the new set point


def test_heat_pump_stops_in_frost():
    pump = Heater("heat pump", power=6000, rated_air_temp=15, fade=0.4 / 15, lowest_air_temp=-5, backup=1000)
    limit = pump.limit(np.array([15.0, 0.0, -4.9, -5.1]))
    assert limit[0] == 7000 and limit[1] == pytest.approx(4600) and limit[3] == 1000
    electricity, gas = pump.taken(np.array([1000.0]), np.array([18.0]), np.array([-6.0]))
    assert electricity[0] == 1000 and gas[0] == 0


def test_bad_input_is_a_sentence(year):
    pond = CASES["1 m³ tank, bare"][0]
    with pytest.raises(OutOfRange, match="did you mean 80 %"):
        simulate(pond, year, Air(year.air_temp.to_numpy(), np.full(len(year), 80.0), 1.0), set_point=18.0)
    with pytest.raises(OutOfRange, match="no hours"):
        simulate(pond, year.iloc[:0], air_of(year, 10.0), set_point=18.0)
    with pytest.raises(OutOfRange, match="liquid"):
        simulate(pond, year, air_of(year, 10.0), set_point=-1.0)


def test_ground_lags_the_air(year):
    ground = ground_temperature(year)
    assert abs(ground.mean() - year.air_temp.mean()) < 0.3
    smooth = year.air_temp.rolling(24 * 30, center=True, min_periods=1).mean().to_numpy()
    assert 0.4 < np.ptp(ground) / np.ptp(smooth) < 0.8
    assert 15 < (np.argmin(ground) - np.argmin(smooth)) / 24 < 50
    assert np.ptp(ground_temperature(year.iloc[:500])) == 0


def test_time_constant_of_the_table():
    # ρ c d / U by hand: 999.1 × 4188 × 1.5 / 20 / 86400
    assert time_constant(1.5, 20.0) / 24 == pytest.approx(3.63, abs=0.01)

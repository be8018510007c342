"""Ice: it insulates the water, never exceeds it, and the hour's books still balance."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from pondheat.core import compilation
from pondheat.heat import ice as ice_sheet
from pondheat.heat import routes
from pondheat.heat.balance import ROUTES, Pond, Wall, coefficients_of, prepare
from pondheat.heat.covers import Cover
from pondheat.season.ensemble import run_ensemble
from pondheat.season.heaters import Heater
from pondheat.season.schedule import covered_share
from pondheat.season.simulate import air_of, simulate
from pondheat.season.weather import weather

WINTER = slice(24 * 130, 24 * 200)  # January to mid-March
POND = Pond(10.0, 12.0, (Wall(15.6, 0.5), Wall(10.0, 0.4, "ground")), 0.001, 0.5)
LID = replace(POND, cover=Cover("sheet", u_value=3.0, light=0.7, gap_air_flow=0.002))
SURFACE = ("evaporation", "convection", "long_wave")
FUSION, DENSITY, CONDUCTIVITY = 333_550.0, 916.7, 2.14
# 0.5 to 0.8 in/√(°F·d), CRREL Technical Note 04-3, from a lake with snow to a windy lake without, in m/√(K·d)
SNOWY, WINDY = (printed * 0.0254 * 1.8**0.5 for printed in (0.5, 0.8))


def frost(days, air_temp, **more):
    """Steady hours of one kind."""
    index = pd.date_range("2026-01-01", periods=24 * days, freq="h", tz="UTC")
    steady = {
        "air_temp": air_temp,
        "rel_humidity": 0.8,
        "wind_speed": 3.0,
        "solar": 0.0,
        "cloud_cover": 1.0,
        "sky_long_wave": np.nan,
        "pressure": 101_325.0,
    }
    return pd.DataFrame(steady | more, index=index)


def left_over(frame):
    """What the hour's energy books miss [W]."""
    return frame.heater + frame.solar + frame.pump - frame[list(ROUTES)].sum(axis=1) - frame.stored


def reference(pond, hours, covered, start_temp):
    """The same physics another way: the ice's surface by bisection, temperature and ice by scipy's solver."""
    prepared = prepare(pond, air_of(hours, 10.0), covered)
    sums = compilation.on_floats(routes.route_losses)
    whole = prepared.coefficients
    temp, ice, temps, masses = start_temp, 0.0, [], []
    for i, gain in enumerate(prepared.solar_gain):
        moment = routes.Moment(*(float(values[i]) for values in prepared.moment))

        def losses(water):
            found = sums(water, moment, whole)[0]
            surface = sum(getattr(found, name) for name in SURFACE)
            return surface, sum(found) - surface

        def thawing(t, y):
            """Heat into the ice [W] over its heat of fusion: negative while it grows."""
            at_zero, streams = losses(0.0)
            if at_zero > 0 and y[0] > 0:
                conductance = CONDUCTIVITY * DENSITY * pond.surface_area**2 / y[0]
                top = brentq(lambda face: losses(face)[0] + conductance * face, -60.0, 0.0, xtol=1e-9)
                at_zero = -conductance * top
            return [-(gain - streams - at_zero) / FUSION]

        left = 3600.0
        while left > 1e-6:
            if temp == 0.0 and (ice > 0.0 or gain < sum(losses(0.0))):
                start, end = ice, lambda t, y: y[0]
                solution = solve_ivp(thawing, (0, left), [max(ice, 1e-9)], rtol=1e-8, atol=1e-9, events=stops(end))
                ice = 0.0 if solution.status == 1 else float(solution.y[0, -1])
                assert ice > 0 or start > 0
            else:
                solution = solve_ivp(
                    lambda t, y: [(gain - sum(losses(float(y[0])))) / pond.heat_capacity],
                    (0, left),
                    [temp],
                    rtol=1e-8,
                    atol=1e-10,
                    events=stops(lambda t, y: y[0]),
                )
                temp = 0.0 if solution.status == 1 else float(solution.y[0, -1])
            left -= solution.t[-1]
        temps.append(temp)
        masses.append(ice)
    return np.array(temps), np.array(masses)


def stops(event):
    """An event that ends the solution where it falls to zero."""
    event.terminal, event.direction = True, -1
    return event


@pytest.mark.parametrize("pond", [POND, LID], ids=["open", "covered at night"])
def test_ice_against_scipy(pond, year):
    """Three days of hard frost and two of thaw: within 0.05 K, and the ice to 0.1 % of its most."""
    hours = year.iloc[WINTER].iloc[: 24 * 5]
    hours = hours.assign(air_temp=hours.air_temp + np.where(np.arange(len(hours)) < 72, -9.0, 9.0))
    covered = covered_share(hours.index, 20 * 60, 8 * 60) if pond.cover else np.zeros(len(hours))
    temps, masses = reference(pond, hours, covered, 0.5)
    frame = simulate(pond, hours, air_of(hours, 10.0), covered=covered, start_temp=0.5)
    assert masses.max() > 100 and masses[-1] < 0.9 * masses.max()
    assert np.abs(frame.water_temp - temps).max() < 0.05
    assert np.abs(frame.ice - masses).max() < 1e-3 * masses.max()
    assert left_over(frame).abs().max() < 1e-3


def test_ice_by_the_degree_day_rule():
    """A bare sheet lies between the manual's lake with snow and its windy lake without, and below Stefan's own."""
    record = weather.read("potsdam", timezone="Europe/Berlin", year=2025)
    hours = weather.season_hours(record, dt.date(2025, 11, 1), dt.date(2026, 3, 31), 0)
    frame = simulate(Pond(10.0, 20.0), hours, air_of(hours, record.wind_height, ground_temp=4.0), start_temp=5.0)
    frost_sum = most = 0.0
    for mean in hours.air_temp.resample("D").mean():
        frost_sum = max(frost_sum - mean, 0.0)
        most = max(most, frost_sum)
    thickness = ice_sheet.ice_thickness(frame.ice.max(), 10.0)
    assert most > 30
    assert SNOWY * most**0.5 < thickness < WINDY * most**0.5 < ice_sheet.stefan_ice_thickness(most)


def test_ice_grows_as_in_ashtons_formula():
    """A sheet grows by the printed formula where its surface loses heat in proportion to what it is above the air.

    In a room, with no vapour and no radiation, convection alone does so, but for its free part: the coefficient is
    taken from the model's own loss and slope, and the formula has to lie between the two.
    """
    hours = frost(40, -12.0, rel_humidity=1.0, wind_speed=10.0)
    pond = Pond(10.0, 20.0, wind_shelter=1.0, emissivity=0.0)
    air = air_of(hours, 10.0, ground_temp=0.0)
    frame = simulate(pond, hours, air, start_temp=0.0)
    prepared = prepare(pond, air, 0.0).at([0])
    ends = []
    for top in (0.0, -12.0):  # the coefficient of a surface as warm as the water, and of one as cold as the air
        _, slopes = routes.route_losses(np.array([top]), prepared.moment, prepared.coefficients)
        ends.append(sum(float(getattr(slopes, name)[0]) for name in SURFACE) / 10.0)
    low, high = (ice_sheet.ice_growth(-12.0, each, 960.0) for each in sorted(ends))
    thickness = ice_sheet.ice_thickness(frame.ice.iloc[-1], 10.0)
    assert low < thickness < high and high - low < 0.1


def test_ice_without_a_surface_loss_is_not_insulated():
    """What the walls lose does not pass the ice."""
    hours = frost(3, -8.0)
    walled = Pond(0.05, 12.0, (Wall(500.0, 0.5),), evaporation="vdi_2089", emissivity=0.0)
    frame = simulate(walled, hours, air_of(hours, 10.0), start_temp=0.0)
    assert frame.walls.iloc[-1] == pytest.approx(500 * 0.5 * 8.0)
    assert frame.ice.iloc[-1] == pytest.approx(500 * 0.5 * 8.0 * 72 * 3600 / FUSION, rel=0.01)


def test_a_cover_keeps_ice_thin():
    """Under a cover less ice, and thicker ice slows its own growth."""
    hours = frost(30, -8.0)
    masses = []
    for pond, on in ((LID, 0.0), (LID, 0.5), (LID, 1.0)):
        frame = simulate(pond, hours, air_of(hours, 10.0, ground_temp=4.0), covered=on, start_temp=0.0)
        assert left_over(frame).abs().max() < 1e-3
        grown = np.diff(frame.ice[23::24])
        assert np.all(grown > 0) and np.all(np.diff(grown) < 0)
        masses.append(frame.ice.iloc[-1])
    assert masses[0] > 1.1 * masses[1] > 1.1**2 * masses[2]


@pytest.mark.parametrize("machine", [True, False])
def test_ice_never_exceeds_the_water(machine, monkeypatch):
    """Frozen through, the pond gives off no more than it takes in; then it thaws like any other ice."""
    if not machine:
        monkeypatch.setenv("PONDHEAT_COMPILE", "0")
    hours = pd.concat([frost(40, -25.0), frost(40, 12.0)])
    hours.index = pd.date_range("2026-01-01", periods=len(hours), freq="h", tz="UTC")
    hours["solar"] = np.where(hours.index.hour == 12, 80.0, 0.0)
    shallow = Pond(10.0, 2.0, (Wall(5.0, 0.5), Wall(10.0, 0.4, "ground")))
    air = air_of(hours, 10.0, ground_temp=4.0)
    frame = simulate(shallow, hours, air, start_temp=3.0, pump_heat=20.0)
    water = shallow.heat_capacity / 4188.1
    assert frame.ice.max() == pytest.approx(water, rel=1e-4)
    assert left_over(frame).abs().max() < 1e-3
    through = frame.ice == frame.ice.max()
    assert through.sum() > 100 and frame.water_temp[through].max() == 0.0
    lost = frame[list(ROUTES)].sum(axis=1)
    whole_hours = through & through.shift(1, fill_value=False)
    assert np.allclose(lost[whole_hours], (frame.solar + 20.0)[whole_hours], atol=1e-6)
    assert frame.ice.iloc[-1] == 0.0 and frame.water_temp.iloc[-1] > 3.0


def test_a_heater_under_ice_melts_it():
    """Heated out of the ice, the heater pays for melting it and for what passes it meanwhile."""
    hours = frost(20, -6.0)
    wanted = np.where(np.arange(len(hours)) < 240, np.nan, 4.0)
    frame = simulate(POND, hours, air_of(hours, 10.0), set_point=wanted, heater=Heater(power=8000), start_temp=0.0)
    assert frame.ice.max() > 500 and frame.water_temp.iloc[-1] == pytest.approx(4.0)
    assert left_over(frame).abs().max() < 1e-3
    melted = frame.ice.max() * FUSION / 3.6e6
    assert frame.heater.iloc[240:].sum() / 1000 > melted


# Compiling the ice alone takes seconds; compiled winters with ice are tested against another solver every time.
@pytest.mark.parametrize("bind", [compilation.on_floats, pytest.param(compilation.compiled, marks=pytest.mark.long)])
@pytest.mark.parametrize("pond", [POND, LID], ids=["open", "covered"])
def test_ice_is_the_same_in_every_form(pond, bind):
    """Arrays with frozen and unfrozen ponds side by side, floats and machine code."""
    rng, count = np.random.default_rng(4), 60
    hours = frost(1, -5.0).iloc[:1]
    moment = prepare(pond, air_of(hours, 10.0), 0.6).moment
    moment = moment._replace(
        air_temp=rng.uniform(-15, 5, count), wind=rng.uniform(0, 6, count), sky=rng.uniform(180, 330, count)
    )
    moment = routes.Moment(*(np.array(np.broadcast_to(values, count)) for values in moment))
    ice = np.where(rng.random(count) < 0.3, 0.0, rng.uniform(0, 2000, count))
    given, temp, whole = rng.uniform(0, 4000, count), np.where(ice > 0, 0.0, 6.0), coefficients_of(pond)
    losses, slopes = routes.route_losses(temp, moment, whole)
    side_by_side = ice_sheet.losses_through_ice(losses, slopes, ice, given, moment, whole)
    sums = compilation.on_floats(routes.route_losses)
    form = bind(ice_sheet.losses_through_ice)
    if form is None:
        pytest.skip("no numba here")
    for i in range(count):
        here = routes.Moment(*(float(values[i]) for values in moment))
        loss, slope = sums(float(temp[i]), here, whole)
        if ice[i] > 0:
            one = form(loss, slope, float(ice[i]), float(given[i]), here, whole)
            assert sum(one) == pytest.approx(sum(values[i] for values in side_by_side), abs=0.05)
            assert sum(one) <= sum(loss) + 1e-6
    thawed = ice == 0.0
    assert np.array_equal(side_by_side.evaporation[thawed], losses.evaporation[thawed])


def test_scenarios_freeze_as_the_season_does(year, monkeypatch):
    """Frozen and thawed again in many scenarios at once, with machine code and without."""
    hours = year.iloc[24 * 130 : 24 * 172].assign(air_temp=year.air_temp - 4)
    air = air_of(hours, 10.0)
    wanted = np.where(np.arange(len(hours)) < 24 * 30, np.nan, 8.0)
    fixed = {"set_point": wanted, "limit": 6000.0, "start_temp": 2.0}
    own = []
    for shelter in (0.2, 0.5, 1.0):
        frame = simulate(
            replace(POND, wind_shelter=shelter), hours, air, set_point=wanted, heater=Heater(power=6000), start_temp=2.0
        )
        assert frame.ice.max() > 300
        own.append(frame.heater.sum() / 1000)
    samples = {"wind_shelter": np.array([0.2, 0.5, 1.0])}
    assert run_ensemble(POND, air, samples, **fixed).heat_kwh == pytest.approx(own, rel=1e-6)
    monkeypatch.setenv("PONDHEAT_COMPILE", "0")
    assert run_ensemble(POND, air, samples, **fixed).heat_kwh == pytest.approx(own, rel=1e-4)

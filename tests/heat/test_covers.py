"""Covers: the sheet's two faces solved by another method, how the loss moves with each input, leaks and wind."""

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from pondheat.core.ranges import OutOfRange
from pondheat.heat import covers, falling_water, moist_air, routes
from pondheat.heat.covers import Cover
from pondheat.heat.sky import black_body

SIGMA, KELVIN = 5.670374419e-8, 273.15  # CODATA 2018


def states(count, seed):
    """Random states: water, air, wind, sky, sky view, U, emissivity, pressure."""
    rng = np.random.default_rng(seed)
    air = rng.uniform(-30, 40, count)
    return (
        rng.uniform(-0.5, 36, count),
        air,
        rng.uniform(0, 20, count) * rng.integers(0, 2, count),
        air - rng.uniform(-3, 40, count),
        rng.uniform(0, 1, count),
        10 ** rng.uniform(-1, 1.2, count),
        rng.uniform(0.05, 0.98, count),
        rng.uniform(75e3, 104e3, count),
    )


def gap(water, face, emissivity, pressure):
    """Heat from the water to the inner face, term by term as the balance is written."""
    film = 1.52 * abs(water - face) ** (1 / 3)
    grey = SIGMA * ((water + KELVIN) ** 4 - (face + KELVIN) ** 4) / (1 / 0.95 + 1 / emissivity - 1)
    vapour = moist_air.saturation_vapour_pressure(water) - moist_air.saturation_vapour_pressure(face)
    return film * (water - face) + grey + max(film * vapour / (0.665e-3 * pressure), 0.0)


def shed(face, air, wind, sky, view, emissivity):
    """Heat from the outer face to air, sky and surroundings."""
    fourth = [(t + KELVIN) ** 4 for t in (face, air, sky)]
    return (4 + 4 * wind) * (face - air) + emissivity * SIGMA * (
        view * (fourth[0] - fourth[2]) + (1 - view) * (fourth[0] - fourth[1])
    )


def reference(water, air, wind, sky, view, u_value, emissivity, pressure):
    """The loss from a bracketed root in the outer face: there is one, and it lies between water, air and sky."""
    core = max(1 / u_value - 0.10 - 0.04, 1e-4)

    def miss(face):
        lost = shed(face, air, wind, sky, view, emissivity)
        return gap(water, min(max(face + core * lost, -99.0), 199.0), emissivity, pressure) - lost

    face = brentq(miss, min(air, sky, water) - 1e-6, max(air, sky, water) + 1e-6, xtol=1e-13)
    return shed(face, air, wind, sky, view, emissivity)


def test_sheet_loss_against_a_bracketed_root():
    given = states(300, 1)
    ours = covers.sheet_loss(*given)
    expected = np.array([reference(*map(float, state)) for state in zip(*given)])
    assert np.allclose(ours, expected, rtol=1e-6, atol=1e-6)
    # one by one the same as side by side
    alone = np.array([covers.sheet_loss(*map(float, state)) for state in list(zip(*given))[:60]])
    assert np.allclose(alone, expected[:60], rtol=1e-6, atol=1e-6)


def test_the_two_faces_satisfy_the_balance():
    # usual states, where a general solver finds both faces from a rough guess
    rng = np.random.default_rng(2)
    for _ in range(60):
        water, air, wind = rng.uniform(8, 30), rng.uniform(-10, 7), rng.uniform(0, 8)
        sky, view, u_value = air - rng.uniform(0, 20), rng.uniform(0, 1), rng.uniform(0.8, 6)
        core = 1 / u_value - 0.14

        def misses(faces):
            inner, outer = faces
            through = (inner - outer) / core
            return gap(water, inner, 0.9, 101_325) - through, shed(outer, air, wind, sky, view, 0.9) - through

        (inner, outer), _, found, _ = fsolve(misses, (water - 3, air + 1), xtol=1e-12, full_output=True)
        assert found == 1
        balance = covers.sheet_balance(water, air, wind, sky, view, u_value)
        assert balance.inside_temp == pytest.approx(inner, abs=1e-4)
        assert balance.outside_temp == pytest.approx(outer, abs=1e-4)
        assert balance.flux == pytest.approx((inner - outer) / core, rel=1e-5)
        assert balance.to_air + balance.to_sky == pytest.approx(balance.flux, rel=1e-12)
        assert balance.to_air == pytest.approx((4 + 4 * wind) * (outer - air), abs=2e-3)


def test_a_floating_sheet_lies_on_the_water():
    water, air, wind, sky, view, u_value, emissivity, pressure = states(200, 3)
    balance = covers.sheet_balance(water, air, wind, sky, view, u_value, emissivity, pressure, floating=True)
    core = np.maximum(1 / u_value - 0.14, 1e-4)
    assert np.array_equal(balance.inside_temp, water)
    assert np.allclose(balance.flux, (water - balance.outside_temp) / core, rtol=1e-5, atol=1e-5)
    assert np.allclose(
        balance.flux, [shed(*map(float, s)) for s in zip(balance.outside_temp, air, wind, sky, view, emissivity)]
    )
    # no gap between: it lets through more than the same sheet over air, whichever way the heat goes
    over = covers.sheet_balance(water, air, wind, sky, view, u_value, emissivity, pressure)
    assert np.all(np.abs(balance.flux) >= np.abs(over.flux) - 1e-6)


@pytest.mark.parametrize("far", [False, True], ids=["plausible", "as far as numbers go"])
def test_a_season_finds_the_same_loss_with_one_look_at_the_gap(far):
    """Its search may end early: what the last step leaves over is worked out from the gap's second derivative."""
    water, air, wind, sky, view, u_value, emissivity, pressure = states(400, 5)
    if not far:
        water, air, u_value = 10 + water / 3, air / 2, np.maximum(u_value, 0.8)
    incoming = emissivity * (view * black_body(sky) + (1 - view) * black_body(air))
    given = water, *moist_air.saturation_curve(water), air, wind, incoming, covers.core_resistance(u_value), emissivity

    def search(settled):
        return covers.sheet_flux(*given, pressure, False, settled)

    early, late = search(routes._SETTLED), search(1e-9)
    assert np.allclose(early[0], late[0], rtol=2e-6, atol=2e-5)
    assert np.allclose(early[4], late[4], atol=1e-5)
    assert np.allclose(early[1], late[1], rtol=1e-3)


def test_monotony():
    at = (18.0, 8.0, 1.0, -5.0, 0.8)
    assert np.all(np.diff(covers.sheet_loss(*at, np.linspace(0.2, 10, 50))) >= 0)
    assert np.all(np.diff(covers.sheet_loss(*at, np.linspace(0.2, 7, 50))) > 0)
    assert np.all(np.diff(covers.sheet_loss(18.0, 8.0, 1.0, np.linspace(-40, 8, 40), 0.8, 3.1)) < 0)
    assert np.all(np.diff(covers.sheet_loss(18.0, 8.0, 1.0, -5.0, np.linspace(0, 1, 20), 3.1)) > 0)
    assert np.all(np.diff(covers.sheet_loss(np.linspace(0, 36, 145), 8.0, 1.0, -5.0, 0.8, 3.1)) > 0)
    assert np.all(np.diff(covers.sheet_loss(18.0, np.linspace(-20, 30, 60), 1.0, -25.0, 0.8, 3.1)) < 0)
    # wind helps the loss where the sheet is warmer than the air, and warms a sheet that the sky has cooled below it
    assert np.all(np.diff(covers.sheet_loss(18.0, 8.0, np.linspace(0, 10, 30), 8.0, 1.0, 3.1)) > 0)
    assert np.all(np.diff(covers.sheet_loss(18.0, 8.0, np.linspace(0, 10, 30), -15.0, 1.0, 1.4)) < 0)
    assert covers.sheet_loss(15.0, 15.0, 1.0, 15.0, 0.5, 3.1) == pytest.approx(0.0, abs=1e-6)
    assert covers.sheet_loss(18.0, 8.0, 1.0, -5.0, 1.0, 0.0) < 0.01 * (18 + 5)  # as good a lid as is counted


def test_what_the_water_sees_of_a_stated_u_value():
    # the workbook's own figures: under a clear sky 1.4 to 1.5 times the stated U, under an overcast one 0.9
    for sky, low, high in ((-10.0, 1.35, 1.55), (8.0, 0.85, 0.95)):
        assert low < covers.sheet_loss(18.0, 8.0, 1.0, sky, 1.0, 3.1) / (3.1 * 10) < high


def test_leaks_are_air():
    rng = np.random.default_rng(6)
    given = rng.uniform(0, 0.01, 50), rng.uniform(0, 30, 50), rng.uniform(-10, 25, 50), rng.uniform(0.1, 1, 50)
    assert np.array_equal(covers.leak_loss(*given), falling_water.air_side_limit(*given))
    # the workbook's own figures: about 37 W per L/s at 18/8 °C, 80 %; a gap of 1 cm × 1 m at 0.5 m/s is 5 L/s, 184 W
    assert covers.leak_loss(0.001, 18.0, 8.0, 0.8) == pytest.approx(37, abs=0.5)
    assert covers.leak_loss(covers.gap_air_flow(1.0, 0.01, 0.5), 18.0, 8.0, 0.8) == pytest.approx(184, abs=1)


def test_a_loose_sheet_lifts():
    # 2.7 kg/m² under 0.613 v²: 6.6 m/s
    assert covers.wind_pressure(6.6) == pytest.approx(2.7 * 9.80665, rel=0.01)
    assert np.all(np.diff(covers.wind_pressure(np.linspace(0, 40, 41))) > 0)


def test_what_no_cover_can_be_is_refused():
    for wrong in (
        dict(kind="lid"),
        dict(u_value=-1),
        dict(share=1.2),
        dict(light=80),
        dict(emissivity=0.0),
        dict(gap_air_flow=-0.1),
        dict(evaporation_cut=15),
    ):
        with pytest.raises(OutOfRange):
            Cover(**wrong)
    with pytest.raises(OutOfRange, match="polished metal"):
        covers.sheet_loss(18.0, 8.0, 1.0, -5.0, 1.0, 3.1, emissivity=0.0)
    with pytest.raises(OutOfRange, match="Did you mean “sheet”"):
        Cover("sheets")

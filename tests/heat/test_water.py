"""Water: printed properties, sums and their round trips."""

import numpy as np
import pytest
from scipy.integrate import quad

from pondheat.core.ranges import OutOfRange
from pondheat.heat import water


# CRC Handbook of Chemistry and Physics, density of standard mean ocean water at 101 325 Pa [kg/m³] (memory)
@pytest.mark.parametrize(
    "temp, printed", [(0.1, 999.8493), (4, 999.9750), (15, 999.1026), (25, 997.0479), (50, 988.0393)]
)
def test_density_as_printed(temp, printed):
    assert water.density(temp) == pytest.approx(printed, rel=5e-6)


def test_water_is_densest_at_four_degrees():
    temps = np.linspace(0, 10, 1001)
    assert temps[np.argmax(water.density(temps))] == pytest.approx(3.98, abs=0.02)


# Steam tables after IAPWS-95, enthalpy of evaporation [kJ/kg] (memory); the straight line of FAO-56 keeps 0.1 %.
@pytest.mark.parametrize("temp, printed", [(0.01, 2500.9), (10, 2477.2), (15, 2465.4), (25, 2441.7), (50, 2382.0)])
def test_latent_heat_as_printed(temp, printed):
    assert water.latent_heat(temp) / 1000 == pytest.approx(printed, rel=1e-3)


def test_latent_heat_is_fao_56s_line():
    # FAO-56 Annex 3: λ = 2.501 − 2.361e-3 T MJ/kg; 2.45 at 20 °C
    for temp in (0.0, 20.0, 50.0):
        assert water.latent_heat(temp) == pytest.approx((2.501 - 2.361e-3 * temp) * 1e6, rel=1e-12)
    assert water.latent_heat(20.0) == pytest.approx(2.45e6, abs=5e3)


# Specific heat at 1 atm after IAPWS-95 [kJ/(kg·K)] (memory)
@pytest.mark.parametrize("temp, printed", [(15, 4.1885), (25, 4.1813), (50, 4.1813), (60, 4.1851)])
def test_specific_heat_as_printed(temp, printed):
    assert water.specific_heat(temp) / 1000 == pytest.approx(printed, rel=3e-4)


def test_the_calorie():
    # the 15 °C calorie, 4.1855 J, is the heat of one gram from 14.5 to 15.5 °C (CIPM 1950)
    assert water.specific_heat(15.0) == pytest.approx(4185.5, rel=1e-3)


@pytest.mark.parametrize("start, end", [(0, 40), (5, 18), (10, 60), (22, 8), (18, 18)])
def test_warming_energy_is_the_integral_of_the_heat_capacity(start, end):
    exact = quad(lambda t: water.heat_capacity(1.0, t), start, end)[0]
    assert water.warming_energy(1.0, start, end) == pytest.approx(exact, rel=1.5e-3, abs=1e-12)


def test_warming_and_cooling_undo_each_other():
    start, end = np.array([4.0, 8.0, 25.0]), np.array([18.0, 22.0, 10.0])
    assert np.allclose(water.warming_energy(12.0, start, end), -water.warming_energy(12.0, end, start))


def test_hours_times_power_is_the_energy():
    hours = water.warming_hours(12.0, 13.0, 18.0, 3000.0, 1000.0)
    assert hours * 2.0 == pytest.approx(water.warming_energy(12.0, 13.0, 18.0), rel=1e-12)
    assert water.warming_hours(12.0, 13.0, 18.0, 1000.0, 1000.0) == np.inf
    assert water.warming_hours(12.0, 13.0, 18.0, 1000.0, 4000.0) == np.inf
    assert water.warming_hours(12.0, 18.0, 13.0, 0.0, 4000.0) == 0.0
    more = water.warming_hours(12.0, 13.0, 18.0, np.array([1500.0, 3000.0, 6000.0]), 1000.0)
    assert np.all(np.diff(more) < 0)


def test_what_no_pond_can_be_is_refused():
    with pytest.raises(OutOfRange, match="64 °C given for water_temp.*64 °F"):
        water.density(64)
    with pytest.raises(OutOfRange, match="volume"):
        water.heat_capacity(-1.0)

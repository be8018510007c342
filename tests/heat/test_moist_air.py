"""Moist air: printed tables, an independent implementation over the whole range, round trips and order."""

import numpy as np
import psychrolib
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.heat import moist_air

psychrolib.SetUnitSystem(psychrolib.SI)
TEMPS = np.linspace(-30, 50, 81)
HUMIDITIES = np.array([0.02, 0.1, 0.3, 0.55, 0.8, 0.95, 1.0])
PRESSURES = (70_000.0, 95_461.0, 101_325.0)
SEA_LEVEL = 101_325.0


# ASHRAE Fundamentals 2017 ch. 1 Table 3, over water and over ice; the handbook claims its equations to 300 ppm.
@pytest.mark.parametrize("temp, printed", [(25, 3169.7), (50, 12_351.3), (100, 101_418.0), (150, 476_101.4)])
def test_saturation_over_water_as_printed(temp, printed):
    assert moist_air.saturation_vapour_pressure(temp) == pytest.approx(printed, rel=3e-4)


@pytest.mark.parametrize("temp, printed, digits", [(-60, 1.08, 0.01), (-5, 401.74, 0.12)])
def test_saturation_over_ice_as_printed(temp, printed, digits):
    assert moist_air.saturation_vapour_pressure_ice(temp) == pytest.approx(printed, abs=digits)


def test_the_two_curves_meet_at_the_triple_point_and_part_below():
    # 611.657 Pa at 0.01 °C, IAPWS-95 (Wagner & Pruß 2002)
    assert moist_air.saturation_vapour_pressure(0.01) == pytest.approx(611.657, rel=3e-4)
    assert moist_air.saturation_vapour_pressure_ice(0.01) == pytest.approx(611.657, rel=3e-4)
    below = np.linspace(-40, -0.5, 80)
    assert np.all(moist_air.saturation_vapour_pressure(below) > moist_air.saturation_vapour_pressure_ice(below))
    above = np.linspace(0.02, 60, 50)
    assert np.array_equal(moist_air.saturation_vapour_pressure(above), moist_air.saturation_vapour_pressure_ice(above))


def test_the_slope_of_the_saturation_curve_is_its_slope():
    pressure, slope = moist_air.saturation_curve(TEMPS)
    step = 1e-4
    numerical = (moist_air.saturation_curve(TEMPS + step)[0] - moist_air.saturation_curve(TEMPS - step)[0]) / (2 * step)
    assert np.allclose(slope, numerical, rtol=1e-7)


# ASHRAE Fundamentals 2017 ch. 1 Table 1, to the printed Pa.
@pytest.mark.parametrize("altitude, printed", [(-450, None), (1000, 89_875), (4000, 61_640)])
def test_standard_atmosphere(altitude, printed):
    assert moist_air.pressure_at_altitude(altitude) == pytest.approx(
        printed or psychrolib.GetStandardAtmPressure(altitude), abs=1
    )


# ASHRAE Fundamentals 2017 ch. 1 Table 2, of the real gas; the ideal-gas form stays up to 0.7 % below it.
@pytest.mark.parametrize("temp, printed", [(-20, 0.0006373), (25, 0.020173), (50, 0.086863)])
def test_saturation_humidity_ratio_as_printed(temp, printed):
    ours = moist_air.saturation_humidity_ratio(temp, SEA_LEVEL)
    assert printed * 0.993 < ours < printed


# ASHRAE Fundamentals 2017 ch. 1 Table 2, enthalpy of saturated air; the ideal-gas form is within 1 % from 5 °C on.
@pytest.mark.parametrize("temp, printed", [(5, 18_639), (25, 76_504), (50, 275_353)])
def test_enthalpy_of_saturated_air_as_printed(temp, printed):
    ratio = moist_air.saturation_humidity_ratio(temp, SEA_LEVEL)
    assert moist_air.enthalpy(temp, ratio) == pytest.approx(printed, rel=0.01)


def test_the_handbooks_worked_example():
    # ASHRAE Fundamentals 2017 ch. 1, Example 1: 40 °C, wet bulb 20 °C, 101.325 kPa, read from the chart:
    # W 0.0065, relative humidity 14 %, enthalpy 56.7 kJ/kg, dew point 7 °C, volume 0.896 m³/kg.
    assert moist_air.wet_bulb(40, 0.14, SEA_LEVEL) == pytest.approx(20, abs=0.1)
    ratio = moist_air.humidity_ratio(40, 0.14, SEA_LEVEL)
    assert ratio == pytest.approx(0.0065, abs=1e-4)
    assert moist_air.enthalpy(40, ratio) == pytest.approx(56_700, abs=300)
    assert moist_air.dew_point(40, 0.14) == pytest.approx(7, abs=0.5)
    assert 1 / moist_air.dry_air_density(40, ratio, SEA_LEVEL) == pytest.approx(0.896, abs=0.001)


def grid():
    return [(t, h, p) for t in TEMPS[::8] for h in HUMIDITIES for p in PRESSURES]


def theirs_of(function, *columns):
    """A function of psychrolib, which takes numbers only, row by row."""
    return np.array([function(*map(float, row)) for row in zip(*columns)])


def test_the_whole_range_against_psychrolib():
    temp, humidity, pressure = np.array(grid()).T
    ratio = theirs_of(psychrolib.GetHumRatioFromRelHum, temp, humidity, pressure)
    assert moist_air.humidity_ratio(temp, humidity, pressure) == pytest.approx(np.maximum(ratio, 1e-7), rel=1e-5)
    assert moist_air.enthalpy(temp, ratio) == pytest.approx(
        theirs_of(psychrolib.GetMoistAirEnthalpy, temp, ratio), abs=0.5
    )
    assert moist_air.density(temp, humidity, pressure) == pytest.approx(
        theirs_of(psychrolib.GetMoistAirDensity, temp, ratio, pressure), rel=1e-5
    )
    assert moist_air.dew_point(temp, humidity) == pytest.approx(
        theirs_of(psychrolib.GetTDewPointFromRelHum, temp, humidity), abs=0.02
    )


def test_wet_bulb_against_psychrolib():
    temps, humidities, pressures = np.array(grid()).T
    found = moist_air.wet_bulb(temps, humidities, pressures)
    for temp, humidity, pressure, ours in zip(temps, humidities, pressures, found):
        ratio = psychrolib.GetHumRatioFromRelHum(temp, humidity, pressure)
        assert psychrolib.GetHumRatioFromTWetBulb(temp, ours, pressure) == pytest.approx(max(ratio, 1e-7), abs=2e-8)
        theirs = psychrolib.GetTWetBulbFromRelHum(temp, humidity, pressure)
        # theirs stops at 0.001 K; near freezing two wet bulbs fit the same air, one under ice and one under water
        assert ours == pytest.approx(theirs, abs=0.005) or (-1.5 < theirs < 0 <= ours or -1.5 < ours < 0 <= theirs)


def test_the_wet_bulb_stays_under_water_where_it_can():
    air = np.linspace(-5, 15, 401)
    wet = moist_air.wet_bulb(air, 0.5, SEA_LEVEL)
    assert np.all(np.diff(wet) > 0)
    step = np.argmax(np.diff(wet))
    assert wet[step] < 0 <= wet[step + 1]  # the one step, from ice to water
    for temp, one in zip(air, wet):
        if temp > 0 > one:  # no wet bulb under water fits this air
            at_nil = psychrolib.GetHumRatioFromTWetBulb(temp, 1e-9, SEA_LEVEL)
            assert at_nil > moist_air.humidity_ratio(temp, 0.5, SEA_LEVEL)


def test_dew_point_and_vapour_pressure_undo_each_other():
    air, humidity = (a.ravel() for a in np.meshgrid(TEMPS, HUMIDITIES))
    dew = moist_air.dew_point(air, humidity)
    back = moist_air.saturation_vapour_pressure_ice(dew)
    assert np.allclose(back, humidity * moist_air.saturation_vapour_pressure_ice(air), rtol=1e-7)
    warm = dew > 0.01
    assert warm.sum() > 100  # over water the weather services' own definition closes too
    assert np.allclose(back[warm], moist_air.vapour_pressure(air[warm], humidity[warm]), rtol=1e-7)


def test_saturated_air_has_one_temperature():
    assert np.allclose(moist_air.dew_point(TEMPS, 1.0), TEMPS, atol=1e-6)
    assert np.allclose(moist_air.wet_bulb(TEMPS, 1.0, SEA_LEVEL), TEMPS, atol=1e-6)


def test_order_and_monotony():
    air, humidity = (a.ravel() for a in np.meshgrid(TEMPS, HUMIDITIES[1:-1]))
    dew, wet = moist_air.dew_point(air, humidity), moist_air.wet_bulb(air, humidity, SEA_LEVEL)
    assert np.all(dew < wet) and np.all(wet < air)
    for function in (moist_air.saturation_vapour_pressure, moist_air.saturation_vapour_pressure_ice):
        assert np.all(np.diff(function(np.linspace(-60, 60, 1201))) > 0)
    for temp in (-10.0, 5.0, 30.0):
        across = np.linspace(0.05, 1, 40)
        for rising in (
            moist_air.vapour_pressure(temp, across),
            moist_air.humidity_ratio(temp, across, SEA_LEVEL),
            moist_air.dew_point(temp, across),
            moist_air.wet_bulb(temp, across, SEA_LEVEL),
            -moist_air.density(temp, across, SEA_LEVEL),
        ):
            assert np.all(np.diff(rising) > 0)
    assert np.all(np.diff(moist_air.pressure_at_altitude(np.linspace(-450, 6000, 50))) < 0)


def test_what_no_air_can_be_is_refused():
    with pytest.raises(OutOfRange, match="80 given for rel_humidity.*80 %"):
        moist_air.vapour_pressure(10.0, 80)
    with pytest.raises(OutOfRange, match="boils"):
        moist_air.saturation_humidity_ratio(120.0, SEA_LEVEL)
    with pytest.raises(OutOfRange, match="no dew point"):
        moist_air.dew_point(10.0, 0.0)
    with pytest.raises(OutOfRange, match="did you mean 1021 hPa"):
        moist_air.density(10.0, 0.8, 1021)
    with pytest.raises(OutOfRange, match="not a number"):
        moist_air.dew_point(np.array([10.0, np.nan]), 0.5)

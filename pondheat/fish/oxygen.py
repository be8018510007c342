"""Oxygen saturation of fresh water, which falls with temperature and altitude."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import plain, require
from pondheat.core.sources import STANDARD_PRESSURE, ZERO_CELSIUS
from pondheat.heat.moist_air import pressure_at_altitude


def saturation(water_temp, pressure=STANDARD_PRESSURE.value):
    """Dissolved oxygen of fresh water in equilibrium with moist air [mg/L].

    water_temp: [degC]; pressure: [Pa], at the place itself, not reduced to sea level; floats or arrays.
    ln C = −139.34411 + 1.575701e5/T − 6.642308e7/T² + 1.243800e10/T³ − 8.621949e11/T⁴ at one atmosphere, T in kelvin;
    times P (1 − u/P)(1 − θP)/((1 − u)(1 − θ)), P and u in atmospheres, u = vapour pressure of the water, θ from °C.
    Valid from 0 to 40 °C and 0.5 to 1.1 atmospheres. A pond holds less when fish and filter use oxygen faster than it
    is renewed. Raises OutOfRange.
    Source: Benson & Krause 1980/1984, APHA form; the table prints 11.288 at 10 °C:

    >>> round(saturation(water_temp=10.0, pressure=101_325.0), 3)
    11.288
    """
    require(water_temp=water_temp, pressure=pressure)
    celsius = np.asarray(water_temp, float)
    kelvin = celsius + ZERO_CELSIUS.value
    atmospheres = np.asarray(pressure, float) / STANDARD_PRESSURE.value
    at_one = np.exp(
        -139.34411 + 1.575701e5 / kelvin - 6.642308e7 / kelvin**2 + 1.243800e10 / kelvin**3 - 8.621949e11 / kelvin**4
    )
    vapour = np.exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * celsius + 6.436e-8 * celsius**2
    height = (atmospheres - vapour) * (1 - theta * atmospheres) / ((1 - vapour) * (1 - theta))
    return plain(at_one * height)


def saturation_at_altitude(water_temp, altitude):
    """Dissolved oxygen at saturation at an altitude, in the standard atmosphere [mg/L].

    water_temp: [degC]; altitude: [m]; floats or arrays. Weather changes it by about ± 3 %, so use
    `saturation` if the air pressure at the place is known. Raises OutOfRange.
    Sources: `saturation`, and the pressure of ASHRAE Fundamentals 2017 ch. 1 eq 3 (`heat.moist_air`). The
    altitude table in an oxygen meter's manual prints 10.1 for 10 °C, 900 m:

    >>> round(saturation_at_altitude(water_temp=10.0, altitude=900.0), 1)
    10.1
    """
    return saturation(water_temp, pressure_at_altitude(altitude))

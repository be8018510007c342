"""Falling water: a trickle filter or waterfall. Its loss has two honest bounds; no home thermometer sees its drop."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import plain, require
from pondheat.core.sources import STANDARD_PRESSURE
from pondheat.heat.moist_air import dry_air_density, enthalpy_of_air, humidity_ratio, saturation_humidity_ratio
from pondheat.heat.water import density, specific_heat


def dry_air_flow(air_flow, air_temp, rel_humidity, pressure):
    """Dry air in a flow of outside air [kg/s] and the enthalpy of that air per mass of dry air [J/kg]."""
    ratio = np.asarray(humidity_ratio(air_temp, rel_humidity, pressure))
    air_temp = np.asarray(air_temp, float)
    return (
        np.asarray(air_flow, float) * dry_air_density(air_temp, ratio, np.asarray(pressure, float)),
        enthalpy_of_air(air_temp, ratio),
    )


def air_side_limit(air_flow, water_temp, air_temp, rel_humidity, pressure=STANDARD_PRESSURE.value):
    """Most heat an air flow can take from warm water [W]: it cannot leave above saturation at the water's temperature.

    air_flow: [m³/s] at the state of the outside air; water_temp, air_temp: [degC]; rel_humidity: [–]; pressure: [Pa];
    floats or arrays. dry air × (h_sat(Tw) − h_air); negative where warm damp air heats cold water.
    Raises OutOfRange. Source: Merkel 1925; ASHRAE Fundamentals 2017 ch. 1 for the air.

    >>> round(air_side_limit(0.001, 22.0, 12.0, 0.8), 1)
    42.7
    """
    require(air_flow=air_flow, water_temp=water_temp, air_temp=air_temp, rel_humidity=rel_humidity, pressure=pressure)
    mass, outside = dry_air_flow(air_flow, air_temp, rel_humidity, pressure)
    leaving = enthalpy_of_air(
        np.asarray(water_temp, float), np.asarray(saturation_humidity_ratio(water_temp, pressure))
    )
    return plain(mass * (leaving - outside))


def stream_heat(flow, start_temp, end_temp):
    """Heat a stream of water gives off between two temperatures [W]: density × specific heat × flow × fall.

    flow: [m³/s]; start_temp, end_temp: [degC]; floats or arrays. Raises OutOfRange. Source: by definition.

    >>> round(stream_heat(8 / 3600, 22.5, 21.5) / 1000, 2)
    9.27
    """
    require(flow=flow, start_temp=start_temp, end_temp=end_temp)
    middle = (np.asarray(start_temp, float) + np.asarray(end_temp, float)) / 2
    fall = np.asarray(start_temp, float) - np.asarray(end_temp, float)
    return plain(density(middle) * specific_heat(middle) * np.asarray(flow, float) * fall)


def filter_loss(
    air_flow, effectiveness, casing_u_value_area, water_temp, air_temp, rel_humidity, pressure=STANDARD_PRESSURE.value
):
    """Heat lost by a filter that water falls through [W]: effectiveness × `air_side_limit` + casing.

    air_flow: [m³/s]; effectiveness: [–]; casing_u_value_area: [W/K]; water_temp, air_temp: [degC]; rel_humidity: [–];
    pressure: [Pa]; floats or arrays. Raises OutOfRange. Source: Merkel 1925; the effectiveness is the reader's guess.
    """
    require(effectiveness=effectiveness, casing_u_value_area=casing_u_value_area)
    falling = np.asarray(effectiveness, float) * air_side_limit(air_flow, water_temp, air_temp, rel_humidity, pressure)
    casing = np.asarray(casing_u_value_area, float) * (np.asarray(water_temp, float) - np.asarray(air_temp, float))
    return plain(falling + casing)

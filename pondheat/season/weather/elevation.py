"""Corrects weather from the height it was measured at to the height of the pond."""

from __future__ import annotations

from dataclasses import replace

from pondheat.core import ranges
from pondheat.core.sources import ZERO_CELSIUS, Constant
from pondheat.heat import moist_air
from pondheat.season.weather.weather import Weather

LAPSE_RATE = Constant(
    6.5e-3, "K/m", "iso_2533", "of the standard atmosphere; on a single night it may even be colder below"
)


def at_altitude(record: Weather, altitude: float) -> Weather:
    """The weather at a height of `altitude` [m]: air cooler by 6.5 K per kilometre, at the pressure of that height.

    Relative humidity and wind are unchanged (judgement); the sky's long-wave radiation changes as the fourth power of
    the air's absolute temperature, so that the sky's emissivity stays. Raises OutOfRange.
    Source: ISO 2533, Standard Atmosphere.
    """
    ranges.require(altitude=altitude)
    rise = altitude - record.altitude
    cooler = LAPSE_RATE.value * rise
    hours = record.hours.copy()
    kelvin = hours["air_temp"] + ZERO_CELSIUS.value
    hours["air_temp"] -= cooler
    hours["sky_long_wave"] *= ((kelvin - cooler) / kelvin) ** 4
    hours["pressure"] *= moist_air.pressure_at_altitude(altitude) / moist_air.pressure_at_altitude(record.altitude)
    note = (
        f"The pond is {abs(rise):.0f} m {'above' if rise > 0 else 'below'} the height of this weather "
        f"({record.altitude:.0f} m), so the air is taken as [{abs(cooler):.1f} K] {'cooler' if rise > 0 else 'warmer'} "
        f"([{1000 * LAPSE_RATE.value:g} K] per km, ISO 2533), and its pressure is corrected too."
    )
    return replace(record, hours=hours, altitude=altitude, notes=(*record.notes, note))

"""Power and energy from a meter's display: its flashing light, its counter, a volume of gas, a clamp meter."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.heat.water import JOULES_PER_KWH

_MEGAJOULES_PER_KWH = 3.6


def power_from_flashes(seconds_per_flash, flashes_per_kwh):
    """Present power [W] from the time between two flashes: 3 600 000 / (seconds × flashes per kWh).

    seconds_per_flash: [s]; flashes_per_kwh: [–], printed on the meter (“1000 imp/kWh”); floats or arrays.
    Time ten flashes and divide by ten. Raises OutOfRange. Source: by definition.

    >>> power_from_flashes(seconds_per_flash=6.0, flashes_per_kwh=1000.0)
    600.0
    """
    require(seconds_per_flash=seconds_per_flash, flashes_per_kwh=flashes_per_kwh)
    per_kwh = np.asarray(seconds_per_flash, float) * np.asarray(flashes_per_kwh, float)
    return plain(JOULES_PER_KWH / per_kwh)


def energy_from_flashes(flashes, flashes_per_kwh):
    """Energy [kWh] from a number of flashes: flashes / flashes_per_kwh.

    flashes: [–]; flashes_per_kwh: [–]; floats or arrays. Raises OutOfRange. Source: by definition.

    >>> energy_from_flashes(flashes=500.0, flashes_per_kwh=1000.0)
    0.5
    """
    require(flashes=flashes, flashes_per_kwh=flashes_per_kwh)
    return plain(np.asarray(flashes, float) / np.asarray(flashes_per_kwh, float))


def energy_from_gas(volume, calorific_value, correction_factor=1.0):
    """Energy [kWh] in a volume of gas: volume × correction factor × calorific value / 3.6.

    volume: [m³], as the meter counts it; calorific_value: [MJ/m³]; correction_factor: [–], converts the metered volume
    to the pressure and temperature of the calorific value; both are on the bill; floats or arrays. The heat that
    reaches the water is less, by the boiler's efficiency. Raises OutOfRange. Source: by definition, 3.6 MJ are 1 kWh.

    >>> energy_from_gas(volume=36.0, calorific_value=39.0, correction_factor=1.0)
    390.0
    """
    require(volume=volume, calorific_value=calorific_value, correction_factor=correction_factor)
    normal = np.asarray(volume, float) * np.asarray(correction_factor, float)
    return plain(normal * np.asarray(calorific_value, float) / _MEGAJOULES_PER_KWH)


def counter_use(previous, now, digits):
    """Energy between two readings of a counter [kWh]: now − previous, plus 10^digits if it rolled over.

    previous, now: [–], kWh as shown, with decimals; digits: [–], number of digits before the decimal point; floats or
    arrays. The counter is assumed to have rolled over at most once, and by less than half its range: a larger fall
    means a misread digit, or two readings in the wrong order. Raises OutOfRange for that, and for a reading with more
    digits than the counter has. Source: by definition.

    >>> counter_use(previous=10432.0, now=10600.0, digits=5), counter_use(previous=99998.0, now=12.0, digits=5)
    (168.0, 14.0)
    """
    require(previous=previous, now=now, digits=digits)
    previous, now, full = np.asarray(previous, float), np.asarray(now, float), 10.0 ** np.asarray(digits, float)
    for name, reading in (("previous", previous), ("now", now)):
        if np.any(reading >= full):
            raise OutOfRange(
                f"{np.max(reading):g} given for {name} has more digits before the decimal point than the counter."
            )
    use = np.where(now < previous, now - previous + full, now - previous)
    if np.any((now < previous) & (use > full / 2)):
        raise OutOfRange(
            "The later reading is the smaller one, and the counter hasn't gone round through zero. Are the two "
            "swapped, or was a digit misread?"
        )
    return plain(use)


def power_from_current(current, voltage, power_factor=1.0):
    """Power [W] from a clamp meter: current × voltage × power factor, single phase.

    current: [A]; voltage: [V]; power_factor: [–], 1 for a resistance heater, less for pumps and compressors (taking 1
    for them gives too high a power); floats or arrays. Raises OutOfRange. Source: by definition.

    >>> power_from_current(current=4.0, voltage=230.0, power_factor=1.0)
    920.0
    """
    require(current=current, voltage=voltage, power_factor=power_factor)
    return plain(np.asarray(current, float) * np.asarray(voltage, float) * np.asarray(power_factor, float))

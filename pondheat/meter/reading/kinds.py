"""What the numbers of a meter file mean: counter or use per interval, energy per unit, °C or °F."""

from __future__ import annotations

import numpy as np

from pondheat.core import units
from pondheat.core.number_format import counted, times
from pondheat.core.ranges import RANGES, require
from pondheat.core.tables.read_log import ReadingsFault, ReadLog, rows_text
from pondheat.meter.reading.columns import Column, Roles
from pondheat.meter.reading.conversions import energy_from_flashes, energy_from_gas, power_from_current
from pondheat.meter.reading.headers import UNIT_FACTOR, header_words
from pondheat.meter.reading.open_table import ReadingOptions

SCALES = {  # of temperature, each with the words for it, in lower case
    "°C": {"°c", "c", "degc", "celsius"},
    "°F": {"°f", "f", "degf", "fahrenheit"},
    "K": {"k", "kelvin"},
}
_KELVIN = (268.0, 310.0)  # a pond's water is between these in kelvins [K]
_POND = (-0.5, 33.0)  # the median of a pond's temperatures over any record is between these [°C] (judgement)
_MIN_RISES = 8  # fewer rising numbers in a row prove nothing (judgement)


def is_counter(values: np.ndarray, roles: Roles, rows: np.ndarray, given: bool, read_log: ReadLog) -> bool:
    """Whether values in order of time are readings of a counter, judging by the header and by how often they fall.

    given: whether the caller gave the kind. Raises ReadingsFault where header and numbers disagree or don't settle it.
    """
    known = np.isfinite(values)
    if not known.all():
        values, rows = values[known], rows[known]
    change = np.diff(values)
    rises, falls = int((change > 0).sum()), int((change < 0).sum())
    rising = falls <= max(0.02 * rises, 1 if rises >= _MIN_RISES else 0) and rises > 0
    label, subject, header_says = roles.value.label, roles.value.subject, roles.counter
    if roles.is_power:
        return False
    ask = 'Give kind="counter" or kind="interval".'
    if roles.quantity in ("gas", "flashes"):
        ask = f'Give kind="{roles.quantity}" or kind="{"gas" if roles.quantity == "gas" else "flash"} counter".'
    if header_says and falls > max(0.05 * (rises + falls), 3):
        at = int(np.flatnonzero(change < 0)[0]) + 1
        raise ReadingsFault(
            f"{subject} should be a counter, but it falls {times(falls)}, first in row {rows[at]} ({values[at - 1]:g}, "
            f"then {values[at]:g}). A counter only goes up. {ask}"
        )
    if given:
        read_log.interpretation.append(f"{subject} is a {'counter' if header_says else 'use per interval'}, as given.")
        return bool(header_says)
    if header_says is None:
        if rising and rises >= _MIN_RISES:
            read_log.interpretation.append(
                f"{subject} is taken as a counter: it rises {times(rises)} and falls {times(falls)}."
            )
            return True
        if falls > 0.2 * rises and falls >= 3:
            read_log.interpretation.append(
                f"{subject} is taken as the use of each interval: it falls {times(falls)} and rises "
                f"{times(rises)}, which no counter does."
            )
            return False
        raise ReadingsFault(
            f"Is {label} a counter or the use of each interval? It rises {times(rises)} and falls {times(falls)}, "
            f"which doesn't settle it. {ask}"
        )
    if not header_says and rising and rises >= 3 * _MIN_RISES:
        raise ReadingsFault(
            f"The header of {label} says it is use, but the numbers only rise ({rises} times), as a counter's do. {ask}"
        )
    read_log.interpretation.append(
        f"{subject} is {'a counter' if header_says else 'the use of each interval'}, as its header says."
    )
    return header_says


def conversion_factor(roles: Roles, options: ReadingOptions, read_log: ReadLog) -> float:
    """Factor from the meter column's unit to kWh (energy, gas, flashes) or W (power, current at its voltage)."""
    unit, label = roles.value.unit, roles.value.label
    if roles.quantity is None or (not unit and roles.quantity in ("energy", "power", "gas")):
        raise ReadingsFault(
            f'The header of {label} has no unit. Give unit="kWh", "Wh", "W", "kW", "A", "m³", "ft³" or "flashes".'
        )
    factor = UNIT_FACTOR.get(unit, 1.0)
    if roles.quantity == "flashes":
        if options.flashes_per_kwh is None:
            raise ReadingsFault(
                "How many flashes make a kilowatt-hour? It is printed on the meter, such as 1000 imp/kWh: give "
                "flashes_per_kwh=1000."
            )
        read_log.interpretation.append(f"{options.flashes_per_kwh:g} flashes are 1 kWh.")
        return energy_from_flashes(1.0, options.flashes_per_kwh)
    if roles.quantity == "gas":
        if options.calorific_value is None:
            raise ReadingsFault(
                "To turn a volume of gas into energy takes its calorific value: it is on the bill, about 39 MJ/m³ for "
                "natural gas. Give calorific_value=39."
            )
        energy = factor * energy_from_gas(1.0, options.calorific_value, options.correction_factor)
        read_log.interpretation.append(
            f"1 {unit} of gas is {energy:.6g} kWh: calorific value {options.calorific_value:g} MJ/m³, correction "
            f"factor {options.correction_factor:g}."
        )
        return energy
    if roles.quantity == "current":
        voltage = options.voltage
        if voltage is None and not roles.voltage:
            raise ReadingsFault(
                "To turn a current into power takes its voltage: give voltage=230 (or 120), and power_factor for "
                "pumps and compressors."
            )
        if voltage is not None:
            require(voltage=voltage)
        require(power_factor=options.power_factor)
        volts = "the voltage column" if roles.voltage else f"{voltage:g} V"
        share = "the power factor column" if roles.factor else f"power factor {options.power_factor:g}"
        read_log.interpretation.append(f"Power is current times {volts} times {share}, single phase.")
        return power_from_current(1.0, 1.0 if roles.voltage else voltage, 1.0 if roles.factor else options.power_factor)
    read_log.interpretation.append(f"{roles.value.subject} is in {unit}.")
    return factor


def in_celsius(values, scale: str):
    """Temperatures [°C] from those in a scale: a key of SCALES."""
    if scale == "K":
        return units.convert(0.0, "kelvin", "degC") + values
    return units.convert(0.0, "degF", "degC") + values / 1.8 if scale == "°F" else values + 0.0


def _ask_for_scale(column: Column, scale: str, middle: float, by_option: bool) -> None:
    """Raise ReadingsFault where the median temperature can't be a pond's in this scale, but could be in another."""
    if _POND[0] <= in_celsius(middle, scale) <= _POND[1]:
        return
    fit = [one for one in SCALES if one != scale and _POND[0] <= in_celsius(middle, one) <= _POND[1]]
    if fit:
        cure = f'Give unit="{fit[0]}", or unit="{scale}" if it is right.'
        raise ReadingsFault(
            f"{column.subject} in {scale}: half of its numbers are above {middle:.3g}, which can't be a "
            f"pond's. Is it in {fit[0]}? {cure if by_option else f'Write [{fit[0]}] into its header.'}"
        )


def water_temp_celsius(
    column: Column,
    values: np.ndarray,
    rows: np.ndarray,
    read_log: ReadLog,
    unit: str | None = None,
    by_option: bool = False,
) -> tuple[np.ndarray, str]:
    """Water temperatures [°C] of a column, and the scale they are in; impossible ones become NaN and are reported.

    unit: a key of SCALES as the caller gave it, None to go by header and numbers; by_option: whether the caller
    can give it, rather than change the header. Raises ReadingsFault where the numbers can't be a pond's in the scale
    that the header names, but could be in another.
    """
    known = values[np.isfinite(values)]
    if not len(known):
        return values, ""
    words = set(header_words(column.header))
    named = next((one for one in ("°F", "°C", "K") if words & SCALES[one]), None)
    middle, limits = float(np.median(known)), RANGES["water_temp"]
    if unit is not None:
        scale, why = unit, "as given"
    elif named is not None:
        scale, why = named, "as its header says"
    elif _KELVIN[0] < middle < _KELVIN[1]:
        scale, why = "K", "as numbers so large can only be kelvins"
    elif 45 < middle < 100:
        scale, why = "°F", f"as no pond is at {middle:.0f} °C"
    elif middle <= 35:
        scale, why = "°C", f"as half of the numbers are below {middle:.3g}"
    else:
        raise ReadingsFault(
            f"Is {column.label} in °C or °F? Half of its numbers are above {middle:.3g}. Write the unit into its "
            "header."
        )
    read_log.interpretation.append(f"{column.subject} is the water temperature in {scale}, {why}.")
    celsius = in_celsius(values, scale)
    if unit is None:
        _ask_for_scale(column, scale, middle, by_option)
    bad = np.isfinite(celsius) & ((celsius < limits.least) | (celsius > limits.most))
    if bad.any():
        read_log.add_repair(
            "temperature",
            f"{counted(bad.sum(), 'water temperature', 'water temperatures')} outside {limits.least:g} to "
            f"{limits.most:g} °C, left out: {rows_text(rows[bad])}.",
            rows[bad],
        )
        celsius[bad] = np.nan
    return celsius, scale

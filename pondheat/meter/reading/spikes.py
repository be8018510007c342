"""Readings above anything the heater and pump on a meter can draw are set aside and reported."""

from __future__ import annotations

import pandas as pd

from pondheat.core.number_format import counted
from pondheat.core.units import significant
from pondheat.meter.reading.energy_use import start_times

BEYOND = 1.2  # times the largest draw: allows for a nameplate's tolerance and a high mains voltage (judgement)
OFTEN = 0.02  # share of the time above which it is not a spike, but something else on the meter (judgement)


def beyond(use: pd.DataFrame, power: float) -> pd.Series:
    """Whether each reading of a use is more than can be drawn, allowing for its register's step.

    use: see `energy_use`; power: largest draw of everything on the meter [W].
    """
    step = use["kwh"][use["kwh"] > 0].min()  # a register's; of a steady power at most one more interval of it
    return use["kwh"] > BEYOND * power / 1000 * use["hours"] + (step if use["hours"].max() < 2 else 0.0)


def set_aside(use: pd.DataFrame, power: float) -> tuple[pd.DataFrame, str | None]:
    """A use without its spikes, and a sentence on them; None where there are none, or where they are no exceptions.

    use: see `energy_use`; power: largest draw of everything on the meter [W].
    """
    spikes = beyond(use, power) if power > 0 else pd.Series(False, use.index)
    hours = use.loc[spikes, "hours"].sum()
    if not spikes.any() or hours > OFTEN * use["hours"].sum():
        return use, None
    worst = (use["kwh"] / use["hours"])[spikes]
    first = start_times(use[spikes])[0]
    return use[~spikes], (
        f"{counted(int(spikes.sum()), 'reading', 'readings')} above the {significant(power / 1000)} kW that the "
        f"sheet's heater and pump can draw, up to {significant(worst.max())} kW, the first at "
        f"{first:%Y-%m-%d %H:%M}: set aside with {significant(use.loc[spikes, 'kwh'].sum())} kWh."
    )

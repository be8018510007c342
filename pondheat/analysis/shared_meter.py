"""What else is on the meter: readings above all that the heater can draw, and a meter of the whole house."""

from __future__ import annotations

import pandas as pd

from pondheat.meter.reading import spikes
from pondheat.meter.savings import period_comparison
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.meter.savings.verdict import Comparison
from pondheat.season.heaters import Heater
from pondheat.sheet.pond_sheet import Sheet

TOO_MUCH = 2.5  # times the open pond's modelled need: beyond a sheet's error, not the heater alone (judgement)
HALVED = 0.5  # saving used to give the heater's least share of a whole-house meter


def without_spikes(use: pd.DataFrame, sheet: Sheet, most: float, notes: list[str]) -> pd.DataFrame:
    """Readings without those above all that can be drawn (most, kW); as they are where the sheet has no heater."""
    if sheet.heater.kind == "none":
        return use
    use, told = spikes.set_aside(use, 1000 * most)
    notes += [told] if told else []
    return use


def beyond_the_heater(use: pd.DataFrame, heater: Heater, most: float) -> str | None:
    """A sentence if the meter often counts more than can be drawn (most, kW); None for a heat pump or no heater."""
    if heater.kind not in ("resistance", "gas"):
        return None
    often = use.loc[spikes.beyond(use, 1000 * most), "hours"].sum() / use["hours"].sum()
    if often <= spikes.OFTEN:
        return None
    return (
        f"In {100 * often:.0f} % of the time the meter counted more than the sheet's heater takes ({most:g} kW): if "
        "something else is on it, take that off with --base-load, or log the heater by itself."
    )


def whole_house(found: Comparison) -> str | None:
    """A sentence if the open nights used far more than the pond could, with the share the heater must have."""
    days = found.nights.days[~found.nights.days["forgotten"]]
    open_nights = days[days["label"] == OPEN]
    used, need = open_nights["used"].mean(), open_nights["open_need"].mean()
    if used <= TOO_MUCH * need:
        return None
    count = [int((days["label"] == which).sum()) for which in (OPEN, COVERED)]
    sentence = (
        f"The meter counted {used:.3g} kWh of heat in an open night, of which this pond, by its sheet, needs about "
        f"{need:.3g} ({100 * need / used:.0f} %): does it count the whole house, or is the sheet of another pond? "
    )
    if min(count) < 2:
        return sentence + "Log the heater by itself."
    scatter = float(open_nights["kwh"].std() / open_nights["kwh"].mean())
    needed = period_comparison.share_needed(HALVED, scatter, *map(float, count))
    if needed > 1:
        return sentence + (
            f"Its use differs from night to night by {100 * scatter:.0f} %, so that over {sum(count)} "
            "nights not even a halved heater would show: log the heater by itself."
        )
    return sentence + (
        f"Its use differs from night to night by {100 * scatter:.0f} %: before a cover that halves the "
        f"heater's use can be shown over {sum(count)} nights, the heater must be {100 * needed:.0f} % of "
        "the meter. Log the heater by itself, or take off the rest with --base-load if it is steady."
    )

"""What to measure first, as sentences."""

from __future__ import annotations

from pondheat.analysis.results import Assessment, InputEffect
from pondheat.analysis.sensitivity import SAVES
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core import units

UNMEASURABLE = "You can't measure that, only insure against it."


def measurement_text(effect: InputEffect, currency: units.Currency) -> str:
    """Sentences: which input is likeliest to overturn the answer, by how much, and how to measure it."""
    known = UNCERTAIN_INPUTS[effect.name]

    def amount(value: float) -> str:
        return units.money(float(f"{value:.3g}"), currency) if effect.in_money else f"{units.significant(value, 3)} kWh"

    of, more = effect.of, ""
    low, high, middle = effect.low, effect.high, effect.middle
    if of == SAVES and max(low, high, middle) < 0:  # nobody says that a thing saves less than nothing
        of, more = ("the cover costs" if effect.in_money else "the cover takes"), " more"
        low, high, middle = -low, -high, -middle
    among = ", of what can be measured" if effect.outweighed_by else ""
    if of == SAVES and min(low, high, middle) < 0:  # a saving at one end and a loss at the other
        verb = "costs" if effect.in_money else "takes"
        told = [f"{of} {amount(v)}" if v >= 0 else f"the cover {verb} {amount(-v)} more" for v in (low, high, middle)]
    else:
        told = [f"{of} {amount(low)}{more}", amount(high), amount(middle)]
    text = (
        f"Most likely to overturn this{among}: {known.words}. {capital(known.low)} {told[0]} a season, "
        f"{known.high} {told[1]}, in the middle {told[2]}."
    )
    if effect.overturns is not None:
        ends = "Somewhere between the two is the point at which" if effect.overturns else "Neither end changes whether"
        text += f" {ends} the cover pays for itself {effect.within}."
    text += f" {effect.how or UNMEASURABLE}"
    if effect.outweighed_by:
        weightier = capital(UNCERTAIN_INPUTS[effect.outweighed_by].words)
        text += f" {weightier} matters more, but you can't measure it, only insure against it."
    return text


def headline_value(found: Assessment, effect: InputEffect) -> float:
    """The headline's figure [money or kWh] for the quantity that `effect` moves: the sheet's, or the middle run's."""
    if effect.of != SAVES:
        value = found.open.money if effect.in_money else found.open.input_kwh
    elif effect.in_money:
        value = None if found.saving is None else found.saving.total
    else:
        value = found.saving_kwh
    learned = found.uncertainty is not None and found.uncertainty.learned
    return effect.middle if value is None or learned else value


def capital(text: str) -> str:
    """A text with a capital first letter."""
    return text[0].upper() + text[1:]

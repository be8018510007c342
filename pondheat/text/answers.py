"""An assessment in full sentences: saving, payback, what they depend on, whether the heater keeps up."""

from __future__ import annotations

import math
from collections.abc import Callable

from pondheat.analysis.assessment import SHORTFALL
from pondheat.analysis.results import (
    Assessment,
    LikelyRange,
    Season,
    Uncertainty,
    too_warm_above,
    too_warm_hours,
)
from pondheat.core import units
from pondheat.core.likely import MEANING
from pondheat.money import payback
from pondheat.money.emissions import emissions_text
from pondheat.money.tariffs import EXPORT, GAS
from pondheat.season.weather.design_cold import heater_caution
from pondheat.text.amounts import hours_text, share_of
from pondheat.text.layout import kw_text, kwh_text, range_text
from pondheat.text.uncertainty_text import measurement_text

FOR_TRYING = "only a trial"  # so says a fit whose weather is not that of the metered days
MANY_HOURS = 0.05  # share of a season's hours with too little heat, from which it is said beside the saving (judgement)
IDLE = (
    "The water stays as warm as you ask by itself: the heater has nothing to do all season, and there is no heat for "
    "a cover to save."
)


def details(found: Assessment) -> list[str]:
    """Everything about an assessment that its short answer (`text.pond_answer`) leaves out, a sentence or two each."""
    if found.sheet.is_heated and not found.needs_heat:
        return [IDLE, *_emissions(found), *_too_warm(found)]
    sentences = []
    if found.covered is not None and found.saving_kwh is not None:
        sentences += _saving(found)
    elif found.uncertainty is not None:
        sentences += _open_pond(found, found.uncertainty)
    sentences += _emissions(found)
    if found.uncertainty is not None and found.uncertainty.variance_shares:
        sentences += _what_matters(found, found.uncertainty)
    if found.fitted is not None:
        sentences += _from_the_meter(found)
    return sentences + _heater(found) + _too_warm(found)


def _amount(found: Assessment) -> Callable[[float], str]:
    """Writes money in the sheet's currency."""
    return lambda value: units.money(value, found.sheet.currency)


def _saving(found: Assessment) -> list[str]:
    """What the cover saves, when it has paid for itself, and the share of the cheap hours."""
    lines, amount, uncertainty, saved = [], _amount(found), found.uncertainty, found.saving_kwh
    if found.open.heat_kwh > 0 and saved is not None:
        likely = None if uncertainty is None else uncertainty.saving_kwh
        share = f" over the season ({share_of(abs(saved), found.open.input_kwh, likely)} %)"
        learned = uncertainty if uncertainty is not None and uncertainty.learned else None
        kwh_range = money_range = None
        if uncertainty is not None and learned is None:  # ranges of a learned pond are not those of the sheet's
            kwh_range, money_range = uncertainty.saving_kwh, uncertainty.saving_money
        money = "" if found.saving is None else _saved_money(found.saving.total, amount, money_range)
        by_sheet = f"cover {_saved_energy(saved, share, kwh_range)}{money}."
        if learned is not None and learned.saving_kwh is not None:
            kwh, price = learned.saving_kwh, learned.saving_money
            money = "" if price is None else _saved_money(price.middle, amount, price)
            lines += [
                f"Going by the sheet, the {by_sheet} Going by the pond's own meter, it "
                f"{_saved_energy(kwh.middle, '', kwh)}{money}."
            ]
        else:
            lines += [f"The {by_sheet}"]
    if found.payback_years is not None:
        lines += [_payback_sentence(found, found.payback_years)]
    return lines + _cheap_hours(found)


def _emissions(found: Assessment) -> list[str]:
    """Greenhouse gases of the season; nothing where a factor is not known, or nothing is taken."""
    open_kg, saved = found.open.co2_kg, found.saving_co2_kg
    if not open_kg:
        return []
    if saved is None or found.covered is None or found.covered.co2_kg is None:
        return [f"That is about {emissions_text(open_kg)} of CO₂ equivalent."]
    told = f"CO₂ equivalent: about {emissions_text(open_kg)} open and {emissions_text(found.covered.co2_kg)} covered"
    if abs(saved) < 0.005 * open_kg:
        return [f"{told}."]
    change = "saves" if saved >= 0 else "adds"
    return [f"{told}; the cover {change} about {emissions_text(abs(saved))}."]


def _open_pond(found: Assessment, uncertainty: Uncertainty) -> list[str]:
    """What a pond without a cover takes, by its sheet and as learned."""
    amount, kwh, price = _amount(found), uncertainty.open_kwh, uncertainty.open_money
    told, money = kwh_text(found.open.input_kwh), ""
    if uncertainty.learned:
        if price is not None:
            money = f"; in money {amount(price.middle)}, {range_text(price, amount)}"
        return [
            f"Going by the sheet, the open pond takes {told} kWh over the season. Going by "
            f"its meter, it takes {kwh_text(kwh.middle)} kWh, {range_text(kwh, kwh_text)}{money}."
        ]
    if price is not None and found.open.money is not None:
        money = f"; in money {amount(found.open.money)}, {range_text(price, amount)}"
    return [f"The open pond takes {told} kWh over the season, {range_text(kwh, kwh_text)}{money}."]


def _what_matters(found: Assessment, uncertainty: Uncertainty) -> list[str]:
    """The input with the largest share of the variance, and what to measure first."""
    name, share = uncertainty.variance_shares[0]
    first = uncertainty.measure_first[0]
    unit = "money" if first.in_money else "kWh"
    return [
        f"What matters most for the likely range in {unit} ({MEANING} of {uncertainty.scenarios} runs of the season): "
        f"{uncertainty.meaning_of(name)}; alone it explains {100 * share:.0f} %."
    ] + [measurement_text(first, found.sheet.currency)]


def _saved_energy(value: float, share: str, likely: LikelyRange | None) -> str:
    """What the cover saves in energy, or takes more where the saving is negative."""
    told = (
        f"saves {kwh_text(value)} kWh{share}"
        if value >= 0
        else f"saves nothing: it takes {kwh_text(-value)} kWh more{share}"
    )
    return told + _likely_saving(value, likely, kwh_text)


def _saved_money(value: float, amount: Callable[[float], str], likely: LikelyRange | None) -> str:
    """What the cover saves in money, or costs more where the saving is negative."""
    told = f"; in money {amount(value)}" if value >= 0 else f"; in money it costs {amount(-value)} more"
    return told + _likely_saving(value, likely, amount)


def _likely_saving(value: float, likely: LikelyRange | None, write: Callable[[float], str]) -> str:
    """The likely range after a saving; named as that of a saving where the number before it is a loss."""
    if likely is None:
        return ""
    return f", {range_text(likely, write)}" if value >= 0 else f" (as a saving, {range_text(likely, write)})"


def _from_the_meter(found: Assessment) -> list[str]:
    """Which numbers are of the pond as learned and which of the sheet, and what the meter told."""
    uncertainty, beside = found.uncertainty, ""
    if uncertainty is not None and uncertainty.covered_kwh is not None and found.covered is not None:
        beside = (
            f" Going by its meter, the open pond takes {kwh_text(uncertainty.open_kwh.middle)} kWh and the covered one "
            f"{kwh_text(uncertainty.covered_kwh.middle)} kWh; going by the sheet, {kwh_text(found.open.input_kwh)} "
            f"kWh and {kwh_text(found.covered.input_kwh)} kWh."
        )
    lines = [
        "The likely ranges are for this pond as learned from its meter; the table below still follows the sheet."
        + beside
    ]
    return lines + list(found.fitted.sentences if found.fitted is not None else ())


def unproved_by_the_fit(found: Assessment) -> list[str]:
    """What takes away the proof from what a meter taught, such as the weather of other days."""
    return [text for text in (found.fitted.sentences if found.fitted is not None else ()) if FOR_TRYING in text]


def _cheap_hours(found: Assessment) -> list[str]:
    """Share of each pond's electricity in the cheapest hours; nothing without a tariff or at one rate for all hours."""
    covered = found.covered
    if covered is None or covered.cost is None or found.open.cost is None:
        return []
    bought = [cost.by_rate.drop([GAS, EXPORT], errors="ignore") for cost in (found.open.cost, covered.cost)]
    used = bought[0][bought[0].kwh > 0]
    if len(used) < 2 or not bought[1].kwh.sum() > 0:
        return []
    cheap = used.index[int((used.money / used.kwh).to_numpy().argmin())]
    shares = [100 * float(rates.kwh.loc[cheap]) / rates.kwh.sum() for rates in bought]
    return [
        f"The cheapest hours ({cheap}) account for {shares[0]:.0f} % of the open pond's electricity and "
        f"{shares[1]:.0f} % of the covered one's."
    ]


def _payback_sentence(found: Assessment, years: float) -> str:
    """When the cover has paid for itself, simply and at interest, and what is left over its life."""
    plan, rate, amount = found.sheet.cover_plan, found.sheet.discount_rate, _amount(found)
    assert found.saving is not None and plan.price is not None  # without them there is no payback
    uncertainty = found.uncertainty
    likely = None if uncertainty is None else uncertainty.payback

    def in_years(value: float) -> str:
        return units.significant(value, 2) if math.isfinite(value) else "never"

    told = ""
    if likely is not None and uncertainty is not None:
        middle = f"as learned {in_years(likely.middle)}, " if uncertainty.learned else ""
        told = f", {middle}{range_text(likely, in_years)}"
    if math.isinf(years):
        may = told if likely is not None and math.isfinite(likely.low) else ""
        return f"Bought for {amount(plan.price)}, the cover never pays for itself here{may}."
    discounted = payback.discounted_payback(plan.price, found.saving.total, rate)
    sentence = (
        f"Bought for {amount(plan.price)}, it is paid back after {units.significant(years, 2)} such "
        f"seasons ({payback.winter_text(years)}){told}"
    )
    if math.isinf(discounted):
        sentence += f"; never at {100 * rate:g} % interest"
    elif years >= 1:
        sentence += f"; {units.significant(discounted, 2)} at {100 * rate:g} % interest, first saving a year on"
    if plan.life is not None:
        net = payback.net_present_value(plan.price, found.saving.total, plan.life, rate)
        plural = "" if plan.life == 1 else "s"
        sentence += f". Over {plan.life:g} year{plural} it leaves {amount(net)} in today's money"
    return sentence + "."


def _too_warm(found: Assessment) -> list[str]:
    """A sentence where the water gets too warm, as under a cover left on in the sun."""
    sheet, season = found.sheet, found.as_described
    hours = too_warm_hours(sheet, season)
    if not hours:
        return []
    under = "Under this cover the" if found.covered is not None else "The"
    return [
        f"{under} water gets too warm: [{season.highest_temp:.1f} °C] at its highest, above "
        f"[{too_warm_above(sheet):.3g} °C] in {units.digits(hours)} {'hour' if hours == 1 else 'hours'}. Warm water "
        f"holds little oxygen.{too_warm_advice(found)}"
    ]


def too_warm_advice(found: Assessment) -> str:
    """What to do about water that gets too warm: mend a set point that asks for it, or lift the cover."""
    asked = max((temp for _, temp in found.sheet.set_point if temp is not None), default=0.0)
    if found.sheet.is_heated and asked > too_warm_above(found.sheet):
        return f" The set point itself, [{asked:.3g} °C], is above that."
    return " Lift the cover on sunny days: a lid that stays on can cook a pond." if found.covered is not None else ""


def _backup_advice(found: Assessment) -> str:
    """What a heat pump that falls short needs; empty for other heaters."""
    if found.sheet.heater.kind != "heat pump":
        return ""
    needed = "a stronger" if found.sheet.heater.backup else "a"
    return (
        f" A heat pump gives least when it is coldest: it needs {needed} backup heater for these hours (heater.backup)."
    )


def _colder_open(bare: Season, covered: Season) -> bool:
    """Whether a heater that can't keep up leaves the pond colder without its cover."""
    return bare.short_hours > covered.short_hours or bare.lowest_temp < covered.lowest_temp - SHORTFALL


def _colder_open_text(found: Assessment) -> list[str]:
    """What a saving means where the heater can't keep the open pond as warm; nothing where it can."""
    if found.covered is None or not found.open.short_hours or not _colder_open(found.open, found.covered):
        return []
    return [
        f"Without its cover, the heater can't keep up for {hours_text(found.open.short_hours)}: to stay as warm as the "
        "covered pond it would take more kWh than shown here, and the cover would save more."
    ]


def much_colder_open(found: Assessment) -> list[str]:
    """The same where the open pond is short of heat for so long that it belongs beside the saving."""
    many = found.needs_heat and found.open.short_hours > MANY_HOURS * len(found.open.hours)
    return _colder_open_text(found) if many else []


def _heater(found: Assessment) -> list[str]:
    """Whether the heater keeps up, and what the numbers mean where it does not."""
    sheet, season = found.sheet, found.as_described
    if not sheet.is_heated:
        return []
    lines = [] if much_colder_open(found) else _colder_open_text(found)
    if season.short_hours and len(sheet.set_point) > 1:
        return lines + [
            "The water is below the set point, with the heater at its limit, in "
            f"{hours_text(season.short_hours)}; that includes warming up after a change of set point."
        ]
    if season.short_hours:
        return lines + [
            f"The heater is too small: in {hours_text(season.short_hours)} it does not hold the set point, "
            f"and the water falls to [{season.lowest_temp:.1f} °C] at its lowest. The cost here is that of a pond not "
            f"kept as warm as you ask; the worst 24 hours would need {kw_text(season.worst_day_kw)} kW, the worst hour "
            f"{kw_text(season.peak_kw)} kW.{_backup_advice(found)}"
        ]
    return lines + [
        f"The heater holds the set point to within [{SHORTFALL:g} K] in every hour"
        + ("." if sheet.room else f" of this weather year. {heater_caution(found.weather)}")
    ]

"""An assessment as calm text for the shell: where heat goes, what it costs, what the cover saves, how sure."""

from __future__ import annotations

import math
import textwrap

from pondheat.analysis.assessment import SHORT_BY, Assessment, Season
from pondheat.analysis.uncertainty import Band, meaning
from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual, beside, beside_in_lines, fahrenheit
from pondheat.fish import cautions
from pondheat.heat.balance import ROUTES
from pondheat.money import payback
from pondheat.money.tariffs import EXPORT, GAS
from pondheat.season.weather import weather
from pondheat.sheet.pond_sheet import Sheet

WIDTH = 100
ROUTE_WORDS = {
    "evaporation": "evaporation",
    "convection": "convection to the air",
    "long_wave": "long wave to sky and around",
    "walls": "walls",
    "ground": "floor and ground",
    "falling_water": "falling water",
    "casing": "filter casing",
    "aeration": "air stones",
    "water_change": "water changes",
}


def _row(label: str, *cells: str) -> str:
    return f"  {label:<37}" + "".join(f"{cell:>14}" for cell in cells)


def _kwh(value: float) -> str:
    return units.digits(value, 0 if abs(value) >= 10 else 1)


def _kw(value: float) -> str:
    """A power; a tank's of some watts in two figures, so that a heater can be chosen by it."""
    return units.digits(value, 1) if value >= 1 else units.significant(value, 2)


def _day(date) -> str:
    return f"{date.day} {date:%B %Y}"


def _span(band: Band, write) -> str:
    return f"likely {write(band.low)} to {write(band.high)}"


def season_text(found: Assessment, usual: Usual = METRIC) -> str:
    """What `python -m pondheat season` prints; usual: what stands beside °C."""
    sheet, open_, covered = found.sheet, found.open, found.covered
    pair = [open_] if covered is None else [open_, covered]
    heads = ["open"] if covered is None else ["open", "covered"]
    lines = [weather.summary(found.weather), ""]
    pond = sheet.pond
    held = "no heat" if sheet.heater.kind == "none" or not sheet.set_point else _set_points(found)
    lines += [
        f"{sheet.name}: {units.significant(pond.surface_area)} m² of surface, {units.significant(pond.volume)} m³, "
        f"{held}",
        f"{_day(found.first)} to {_day(found.last)}",
    ]
    lines += answers(found)
    lines += ["", _row("Heat over the season, kWh", *heads)]
    for name in ROUTES:
        values = [s.routes_kwh[name] for s in pair]
        if any(abs(v) >= 0.5 for v in values):
            lines.append(_row(f"lost by {ROUTE_WORDS[name]}", *map(_kwh, values)))
    lines.append(_row("taken in from the sun", *(_kwh(s.solar_kwh) for s in pair)))
    if sheet.pump_heat:
        lines.append(_row("taken in from the pump", *(_kwh(float(s.hours["pump"].sum()) / 1000) for s in pair)))
    lines.append(_row("given by the heater", *(_kwh(s.heat_kwh) for s in pair)))
    lines += ["", _row("Water and heater", *heads)]
    lines.append(_row("water, lowest and highest °C", *(f"{s.lowest_temp:.1f} – {s.highest_temp:.1f}" for s in pair)))
    if usual.fahrenheit:
        ends = (f"{fahrenheit(s.lowest_temp, 1)} – {fahrenheit(s.highest_temp, 1)}" for s in pair)
        lines.append(_row("water, lowest and highest °F", *ends))
    if max(s.most_ice_kg for s in pair) > 0:
        lines.append(_row("ice, most, kg *", *(_kwh(s.most_ice_kg) for s in pair)))
    if open_.below_floor_hours is not None:
        lines.append(
            _row(beside(f"hours below {sheet.floor:g} °C", usual), *(units.digits(s.below_floor_hours) for s in pair))
        )
    if open_.above_ceiling_hours is not None:
        lines.append(
            _row(
                beside(f"hours above {sheet.ceiling:g} °C", usual), *(units.digits(s.above_ceiling_hours) for s in pair)
            )
        )
    if sheet.heater.kind != "none" and sheet.set_point:
        lines.append(_row("peak hour needs, kW", *(_kw(s.peak_kw) for s in pair)))
        lines.append(_row("worst 24 hours need, kW", *(_kw(s.worst_day_kw) for s in pair)))
        lines.append(_row("hours the heater is short", *(units.digits(s.short_hours) for s in pair)))
    lines += _money_lines(found, pair, heads)
    if max(s.most_ice_kg for s in pair) > 0:
        lines += wrapped(
            "* Ice is an amount of heat, not a thickness, and never safe to stand on. Here it does not insulate "
            "the water below, so in hard frost there is less of it in truth."
        )
    lines += ["", "How this was reckoned"]
    lines += wrapped(
        f"Evaporation by {pond.evaporation}, sky by {pond.sky}, one well-mixed body of water. No measured "
        "heated or covered pond was found to test any of this; formulae like these, unfitted, are "
        "reported to follow unheated open water to about 1 K, worst hours 2–3 K.",
        usual=usual,
    )
    for note in found.notes:
        lines += wrapped(note, "- ", usual)
    lines += ["", *wrapped(cautions.STANDING)]
    for key in cautions.REPORT_KEYS:
        if concerns(key, found):
            caution = cautions.CAUTIONS[key]
            lines += wrapped(f"{caution.title}. {caution.text}", usual=usual)
    return beside_in_lines("\n".join(lines), usual, WIDTH)


def concerns(key: str, found: Assessment) -> bool:
    """Whether a caution is about something that this pond has."""
    kind = found.sheet.heater.kind
    needs = {
        "children": found.covered is not None,
        "gas_exchange": found.covered is not None,
        "structure_and_wind": found.covered is not None,
        "burning": kind == "gas",
        "refrigerant": kind == "heat pump",
    }
    return needs.get(key, True)


def _set_points(found: Assessment) -> str:
    steps = found.sheet.set_point
    if len(steps) == 1:
        return f"held at {steps[0][1]:g} °C" if steps[0][1] is not None else "no heat"
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return "held at " + ", ".join(
        f"{'no heat' if v is None else f'{v:g} °C'} from {d} {months[m - 1]}" for (m, d), v in steps
    )


def _money_lines(found: Assessment, pair: list[Season], heads: list[str]) -> list[str]:
    lines = ["", _row("Electricity and gas", *heads)]
    lines.append(_row("taken over the season, kWh", *(_kwh(_taken(s)) for s in pair)))
    if pair[0].cost is None:
        return lines + ["  No [tariff] in the sheet, so no money."]
    currency = found.sheet.currency

    def amount(value):
        return units.money(value, currency)

    for rate in pair[0].cost.by_rate.index:
        cells = [f"{_kwh(s.cost.by_rate.kwh.get(rate, 0.0))} kWh" for s in pair]
        lines.append(_row(f"{rate}", *cells))
        lines.append(_row("", *(amount(s.cost.by_rate.money.get(rate, 0.0)) for s in pair)))
    if pair[0].cost.added_tax_rate:
        lines.append(_row("tax on it", *(amount(s.cost.energy_money * s.cost.added_tax_rate) for s in pair)))
    before = ", before tax" if pair[0].cost.added_tax_rate else ""
    lines.append(_row("in all, with tax" if before else "in all", *(amount(s.money) for s in pair)))
    lines.append(_row(f"standing charge, owed anyway{before}", *(amount(s.cost.standing_charge) for s in pair)))
    lines += ["", _row(f"By month{before}", *(f"{h} {u}" for h in heads for u in ("kWh", currency.sign)))]
    for month in pair[0].cost.by_month.index:
        cells = []
        for season in pair:
            row = season.cost.by_month.loc[month]
            cells += [_kwh(row.kwh), amount(row.money)]
        lines.append(_row(str(month), *cells))
    return lines


def answers(found: Assessment) -> list[str]:
    """What the assessment answers, as lines of text after an empty one."""
    doubt, currency = found.doubt, found.sheet.currency
    lines = [""]

    def amount(value):
        return units.money(value, currency)

    if found.covered is not None and found.saving_kwh is not None:
        if found.open.heat_kwh > 0:
            share = f" over the season ({100 * abs(found.saving_kwh) / _taken(found.open):.0f} %)"
            bands = (doubt.saving_kwh, doubt.saving_money) if doubt else (None, None)
            own = (None, None) if doubt and doubt.learned else bands  # else a band is of another pond than the sheet's
            money = "" if found.saving is None else _saved_money(found.saving.total, amount, own[1])
            by_sheet = f"cover {_saved_energy(found.saving_kwh, share, own[0])}{money}."
            if doubt and doubt.learned:
                money = _saved_money(bands[1].middle, amount, bands[1]) if bands[1] else ""
                lines += wrapped(
                    f"By the sheet the {by_sheet} As learned from the pond's meter it "
                    f"{_saved_energy(bands[0].middle, '', bands[0])}{money}."
                )
            else:
                lines += wrapped(f"The {by_sheet}")
        if found.payback_years is not None:
            lines += wrapped(_payback_sentence(found))
        if found.open.cost is not None:
            lines += _cheap_hours(found)
    elif doubt is not None and doubt.learned:
        money = (
            ""
            if doubt.open_money is None
            else (f"; in money {amount(doubt.open_money.middle)}, {_span(doubt.open_money, amount)}")
        )
        lines += wrapped(
            f"By the sheet the open pond takes {_kwh(_taken(found.open))} kWh over the season. As learned "
            f"from its meter it takes {_kwh(doubt.open_kwh.middle)} kWh, {_span(doubt.open_kwh, _kwh)}{money}."
        )
    elif doubt is not None:
        money = (
            ""
            if doubt.open_money is None
            else (f"; in money {amount(found.open.money)}, {_span(doubt.open_money, amount)}")
        )
        lines += wrapped(
            f"The open pond takes {_kwh(_taken(found.open))} kWh over the season, {_span(doubt.open_kwh, _kwh)}{money}."
        )
    if doubt is not None and doubt.matters:
        name, share = doubt.matters[0]
        band = "money" if doubt.measure_first[0].money else "kWh"
        lines += wrapped(
            f"What matters most for the band in {band} (eight in ten of {doubt.scenarios} runs of the season): "
            f"{meaning(name, doubt.learned)}; alone it explains {100 * share:.0f} %."
        )
        lines += wrapped(doubt.measure_first[0].sentence(currency))
    if found.fitted is not None:
        lines += _taught(found)
    lines += _holding(found)
    lines += _too_warm(found)
    return lines


def _saved_energy(value: float, share: str, band: Band | None) -> str:
    """What the cover saves in energy, or, where that is less than nothing, takes more."""
    told = (
        f"saves {_kwh(value)} kWh{share}" if value >= 0 else f"saves nothing: it takes {_kwh(-value)} kWh more{share}"
    )
    return told + _likely(value, band, _kwh)


def _saved_money(value: float, amount, band: Band | None) -> str:
    """The same in money."""
    told = f"; in money {amount(value)}" if value >= 0 else f"; in money it costs {amount(-value)} more"
    return told + _likely(value, band, amount)


def _likely(value: float, band: Band | None, write) -> str:
    """The band of a saving beside it; said to be that of a saving where the number before it is not."""
    if band is None:
        return ""
    return f", {_span(band, write)}" if value >= 0 else f" (as a saving, {_span(band, write)})"


def _taken(season: Season) -> float:
    """What heater and pump take [kWh]."""
    return season.electricity_kwh + season.gas_kwh


def _taught(found: Assessment) -> list[str]:
    """Which numbers are of the pond as learned and which of the sheet, and what the meter told."""
    doubt, beside = found.doubt, ""
    if doubt is not None and found.covered is not None:
        beside = (
            f" As learned the open pond takes {_kwh(doubt.open_kwh.middle)} kWh and the covered one "
            f"{_kwh(doubt.covered_kwh.middle)} kWh; by the sheet {_kwh(_taken(found.open))} kWh and "
            f"{_kwh(_taken(found.covered))} kWh."
        )
    lines = wrapped(
        "The bands are of this pond as learned from its meter; the table below is still that of the sheet." + beside
    )
    for sentence in found.fitted.sentences:
        lines += wrapped(sentence, "- ")
    return lines


def _cheap_hours(found: Assessment) -> list[str]:
    """How much of each pond's electricity falls into the cheapest hours; nothing where one rate holds at all hours."""
    bought = [s.cost.by_rate.drop([GAS, EXPORT], errors="ignore") for s in (found.open, found.covered)]
    used = bought[0][bought[0].kwh > 0]
    if len(used) < 2 or not bought[1].kwh.sum() > 0:
        return []
    cheap = (used.money / used.kwh).idxmin()
    shares = [100 * rates.kwh[cheap] / rates.kwh.sum() for rates in bought]
    return wrapped(
        f"Cheapest hours ({cheap}) carry {shares[0]:.0f} % of the open pond's electricity and "
        f"{shares[1]:.0f} % of the covered one's."
    )


def _payback_sentence(found: Assessment) -> str:
    plan, years, currency = found.sheet.cover_plan, found.payback_years, found.sheet.currency
    band, learned = (None, False) if found.doubt is None else (found.doubt.payback, found.doubt.learned)

    def written(value: float) -> str:
        return units.significant(value, 2) if math.isfinite(value) else "never"

    likely = "" if band is None else f"; {_span(band, written)}"
    if learned and band is not None:
        likely = f"; as learned {written(band.middle)}, {_span(band, written)}"
    if math.isinf(years):
        may = likely if band is not None and math.isfinite(band.low) else ""
        return f"Bought for {units.money(plan.price, currency)}, the cover never pays for itself here{may}."
    rate = found.sheet.discount_rate
    later = payback.discounted_payback(plan.price, found.saving.total, rate)
    sentence = (
        f"Bought for {units.money(plan.price, currency)}, it is paid back after {units.significant(years, 2)} such "
        f"seasons ({payback.in_words(years)})"
    )
    if math.isinf(later):
        sentence += f"; never at {100 * rate:g} % interest"
    elif years >= 1:
        sentence += f"; {units.significant(later, 2)} at {100 * rate:g} % interest, first saving a year on"
    sentence += likely
    if plan.life is not None:
        net = payback.net_present_value(plan.price, found.saving.total, plan.life, rate)
        sentence += f". Over {plan.life:g} year{'' if plan.life == 1 else 's'} it leaves {units.money(net, currency)} in today's money"
    return sentence + "."


WARM = 28.0  # °C from which a heated pond is told to be too warm where the sheet names no ceiling (judgement)


def too_warm_above(sheet: Sheet) -> float:
    """Water above this is told to be too warm [degC]."""
    return WARM if sheet.ceiling is None else sheet.ceiling


def too_warm_hours(sheet: Sheet, season: Season) -> int:
    """Hours of a season in which the water is above that."""
    return int((season.hours["water_temp"] > too_warm_above(sheet)).sum())


def _too_warm(found: Assessment) -> list[str]:
    """A sentence where the water gets warmer than is good, which a cover left on in the sun does."""
    sheet, season = found.sheet, found.as_described
    limit = too_warm_above(sheet)
    hours = too_warm_hours(sheet, season)
    if not hours:
        return []
    under = "Under this cover the" if found.covered is not None else "The"
    lift = " Lift the cover on sunny days; a lid that stays on can cook a pond." if found.covered is not None else ""
    return wrapped(
        f"{under} water gets too warm: {season.highest_temp:.1f} °C at its highest, above {limit:g} °C in "
        f"{units.digits(hours)} hours. Warm water holds little oxygen.{lift}"
    )


def _holding(found: Assessment) -> list[str]:
    sheet, season = found.sheet, found.as_described
    if not sheet.is_heated:
        return []
    lines = []
    if found.covered is not None and found.open.short_hours > season.short_hours:
        lines += wrapped(
            f"Open, the heater is short in {units.digits(found.open.short_hours)} hours: kept as warm as "
            "the covered pond it would take more kWh, and the cover would save more kWh, than stand here."
        )
    if season.short_hours and len(sheet.set_point) > 1:
        return lines + wrapped(
            f"The water is below the set point, with the heater at its limit, in {units.digits(season.short_hours)} "
            "hours; those of warming up after a change of set point are among them."
        )
    if season.short_hours:
        return lines + wrapped(
            f"The heater is too small: in {units.digits(season.short_hours)} hours it does not hold the set point, and the "
            f"water falls to {season.lowest_temp:.1f} °C at its lowest. The money here is that of a pond not kept as warm as "
            f"asked; the worst 24 hours would need {_kw(season.worst_day_kw)} kW, the worst hour {_kw(season.peak_kw)} kW."
        )
    return lines + wrapped(
        f"The heater holds the set point to {SHORT_BY:g} K in every hour of this weather year; a colder one may come."
    )


def wrapped(text: str, bullet: str = "", usual: Usual = METRIC) -> list[str]:
    """Lines of at most WIDTH columns, the first after a bullet and the others under its text."""
    return textwrap.wrap(beside(text, usual), WIDTH, initial_indent=bullet, subsequent_indent=" " * len(bullet))

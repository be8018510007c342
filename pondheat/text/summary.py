"""An assessment as plain text for the shell: answers first, then heat, water, money, and how it was worked out."""

from __future__ import annotations

from pondheat.analysis.results import Assessment, Season
from pondheat.analysis.scenarios.what_if import ScenarioTable
from pondheat.core import units
from pondheat.core.display_units import METRIC, Usual, beside, beside_in_lines, fahrenheit
from pondheat.fish import cautions
from pondheat.heat.balance import ROUTES
from pondheat.heat.ice import ice_thickness
from pondheat.money.emissions import emissions_text
from pondheat.season.weather import weather
from pondheat.text.layout import WIDTH, day_text, kw_text, kwh_text, wrapped
from pondheat.text.pond_answer import PondAnswer, pond_answer

ROUTE_NAMES = {
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


def season_text(found: Assessment, usual: Usual = METRIC, table: ScenarioTable | None = None) -> str:
    """The text that `python -m pondheat season` prints.

    usual: units that are added beside °C; table: choices, of which the answer names the best.
    """
    answer = pond_answer(found, table)
    sheet, pond = found.sheet, found.sheet.pond
    pair = [found.open] if found.covered is None else [found.open, found.covered]
    heads = ["open"] if found.covered is None else ["open", "covered"]
    lines = [
        f"{sheet.name}: {units.significant(pond.surface_area)} m² of surface, {units.significant(pond.volume)} m³, "
        f"{_set_points(found)}, {day_text(found.first)} to {day_text(found.last)}",
        weather.summary(found.weather),
        *_answer_lines(answer),
        "",
        "In detail",
        *(line for sentence in answer.rest for line in wrapped(sentence, "- ")),
        *_heat_lines(found, pair, heads),
        *_water_lines(found, pair, heads, usual),
        *_money_lines(found, pair, heads),
    ]
    if max(season.most_ice_kg for season in pair) > 0:
        lines += wrapped("* An even sheet of bare ice; snow on it would keep it thinner. It is never safe to stand on.")
    lines += ["", "How this was worked out"]
    lines += wrapped(
        f"Evaporation by {pond.evaporation}, sky by {pond.sky}, one well-mixed body of water. No measured "
        "heated or covered pond was found to test any of this; with nothing fitted the model follows one "
        "measured lake, open and unheated, to 0.8 K, 2.7 K in the worst hour.",
        usual=usual,
    )
    for note in (*found.notes, _emissions_note(found)):
        lines += wrapped(note, "- ", usual)
    lines += ["", *wrapped(cautions.STANDING)]
    for key in (*cautions.REPORT_KEYS, "ice"):
        if concerns(key, found):
            caution = cautions.CAUTIONS[key]
            lines += wrapped(f"{caution.title}. {caution.text}", usual=usual)
    return beside_in_lines("\n".join(lines), usual, WIDTH)


def _answer_lines(answer: PondAnswer) -> list[str]:
    """The short answer: headline, lines, what no heat means, how sure."""
    lines = ["", *wrapped(f"{answer.headline}."), *wrapped(str(answer.beside)), ""]
    for title, text in answer.lines:
        lines += wrapped(f"{title}: {text}", "- ")
    for text in answer.warnings:
        lines += wrapped(text, "- ")
    if answer.unheated:
        lines += wrapped(f"{answer.unheated[0]}. {answer.unheated[1]}", "- ")
    return [
        *lines,
        "",
        *wrapped(f"How sure: {answer.sure[0]}"),
        *(line for text in answer.sure[1:] for line in wrapped(text)),
    ]


def _emissions_note(found: Assessment) -> str:
    """Which emission factors were used, or why there are none."""
    factors = found.sheet.emission_factors
    if found.open.co2_kg is None:
        return f"No CO₂ figure: {factors.electricity.origin}."
    used = [*[factors.electricity] * bool(found.open.electricity_kwh), *[factors.gas] * bool(found.open.gas_kwh)]
    return f"CO₂ equivalent at {', and '.join(one.origin for one in used)}." if used else "No energy, so no CO₂."


def concerns(key: str, found: Assessment) -> bool:
    """Whether a caution is about something that this pond has; key: of `fish.cautions.CAUTIONS`."""
    kind = found.sheet.heater.kind
    needs = {
        "children": found.covered is not None,
        "gas_exchange": found.covered is not None,
        "structure_and_wind": found.covered is not None,
        "ice": found.as_described.most_ice_kg > 0,
        "burning": kind == "gas",
        "refrigerant": kind == "heat pump",
    }
    return needs.get(key, True)


def _row(label: str, *cells: str) -> str:
    """A line of the table."""
    return f"  {label:<37}" + "".join(f"{cell:>14}" for cell in cells)


def _centimetres(ice: float, area: float) -> str:
    """Thickness of so much ice [kg] on a surface [m²], in centimetres."""
    return units.digits(100 * ice_thickness(ice, area), 1)


def _set_points(found: Assessment) -> str:
    """The set points of the sheet with the days from which they hold."""
    sheet, steps = found.sheet, found.sheet.set_point
    if sheet.heater.kind == "none" or not steps:
        return "no heat"
    if len(steps) == 1:
        return f"held at {steps[0][1]:g} °C" if steps[0][1] is not None else "no heat"
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return "held at " + ", ".join(
        f"{'no heat' if temp is None else f'{temp:g} °C'} from {day} {months[month - 1]}"
        for (month, day), temp in steps
    )


def _heat_lines(found: Assessment, pair: list[Season], heads: list[str]) -> list[str]:
    """Heat by route over the season."""
    lines = ["", _row("Heat over the season, kWh", *heads)]
    for name in ROUTES:
        values = [season.routes_kwh[name] for season in pair]
        if any(abs(value) >= 0.5 for value in values):
            lines.append(_row(f"lost by {ROUTE_NAMES[name]}", *map(kwh_text, values)))
    lines.append(_row("taken in from the sun", *(kwh_text(season.solar_kwh) for season in pair)))
    if found.sheet.pump_heat:
        pumped = (float(season.hours["pump"].sum()) / 1000 for season in pair)
        lines.append(_row("taken in from the pump", *map(kwh_text, pumped)))
    return [*lines, _row("given by the heater", *(kwh_text(season.heat_kwh) for season in pair))]


def _water_lines(found: Assessment, pair: list[Season], heads: list[str], usual: Usual) -> list[str]:
    """Water temperatures, ice and how far the heater is used."""
    sheet = found.sheet
    lines = ["", _row("Water and heater", *heads)]
    temps = [(season.lowest_temp, season.highest_temp) for season in pair]
    lines.append(_row("water, lowest and highest °C", *(f"{low:.1f} – {high:.1f}" for low, high in temps)))
    if usual.fahrenheit:
        both = (f"{fahrenheit(low, 1)} – {fahrenheit(high, 1)}" for low, high in temps)
        lines.append(_row("water, lowest and highest °F", *both))
    if max(season.most_ice_kg for season in pair) > 0:
        area = found.sheet.pond.surface_area
        lines.append(_row("ice, thickest, cm *", *(_centimetres(season.most_ice_kg, area) for season in pair)))
    for side, limit, hours in (
        ("below", sheet.floor, [season.below_floor_hours for season in pair]),
        ("above", sheet.ceiling, [season.above_ceiling_hours for season in pair]),
    ):
        if limit is not None:
            counts = (units.digits(count) for count in hours if count is not None)
            lines.append(_row(beside(f"hours {side} {limit:g} °C", usual), *counts))
    if sheet.heater.kind != "none" and sheet.set_point:
        lines.append(_row("peak hour needs, kW", *(kw_text(season.peak_kw) for season in pair)))
        lines.append(_row("worst 24 hours need, kW", *(kw_text(season.worst_day_kw) for season in pair)))
        lines.append(_row("hours the heater is short", *(units.digits(season.short_hours) for season in pair)))
    return lines


def _money_lines(found: Assessment, pair: list[Season], heads: list[str]) -> list[str]:
    """Energy taken, and its price by rate and by month."""
    lines = ["", _row("Electricity and gas", *heads)]
    lines.append(_row("taken over the season, kWh", *(kwh_text(season.input_kwh) for season in pair)))
    emitted = [season.co2_kg for season in pair if season.co2_kg is not None]
    if emitted:
        lines.append(_row("CO₂ equivalent, about", *map(emissions_text, emitted)))
    costs = [season.cost for season in pair if season.cost is not None]
    if not costs:
        return [*lines, "  No [tariff] in the sheet, so no money."]
    currency = found.sheet.currency

    def amount(value: float) -> str:
        return units.money(value, currency)

    for rate in costs[0].by_rate.index:
        lines.append(_row(f"{rate}", *(f"{kwh_text(cost.by_rate.kwh.get(rate, 0.0))} kWh" for cost in costs)))
        lines.append(_row("", *(amount(cost.by_rate.money.get(rate, 0.0)) for cost in costs)))
    taxed = bool(costs[0].added_tax_rate)
    if taxed:
        lines.append(_row("tax on it", *(amount(cost.energy_money * cost.added_tax_rate) for cost in costs)))
    before = ", before tax" if taxed else ""
    totals = (amount(season.money) for season in pair if season.money is not None)
    lines.append(_row("in all, with tax" if taxed else "in all", *totals))
    lines.append(_row(f"standing charge, owed anyway{before}", *(amount(cost.standing_charge) for cost in costs)))
    lines += ["", _row(f"By month{before}", *(f"{head} {unit}" for head in heads for unit in ("kWh", currency.sign)))]
    for month in costs[0].by_month.index:
        rows = [cost.by_month.loc[month] for cost in costs]
        lines.append(_row(str(month), *(cell for row in rows for cell in (kwh_text(row.kwh), amount(row.money)))))
    return lines

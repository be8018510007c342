"""The tables of a season: heat by route, water and heater, energy and money, and the money by month."""

from __future__ import annotations

import itertools

from pondheat.analysis.results import Assessment, Season
from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits, fahrenheit
from pondheat.heat.balance import ROUTES
from pondheat.heat.ice import ice_thickness
from pondheat.money.emissions import emissions_text
from pondheat.text.layout import kw_text, kwh_text
from pondheat.text.result_table import ResultTable

ROUTE_NAMES = {
    "evaporation": "evaporation",
    "convection": "convection to the air",
    "long_wave": "radiation to the sky and around",
    "walls": "walls",
    "ground": "floor and ground",
    "falling_water": "falling water",
    "casing": "filter casing",
    "aeration": "air stones",
    "water_change": "water changes",
}
Rows = list[tuple[str, ...]]


def season_tables(found: Assessment, usual: DisplayUnits = METRIC) -> tuple[ResultTable, ...]:
    """All tables of an assessment, open and covered side by side; usual: units that are added beside °C."""
    pair = [found.open] if found.covered is None else [found.open, found.covered]
    heads = ("open",) if found.covered is None else ("open", "covered")
    made = [
        ResultTable("Heat over the season", ("kWh", *heads), tuple(_heat_rows(found, pair))),
        ResultTable("Water and heater", ("", *heads), tuple(_water_rows(found, pair, usual))),
        ResultTable("Electricity and gas", ("", *heads), tuple(_energy_rows(pair, found.sheet.currency))),
    ]
    if costs := [season.cost for season in pair if season.cost is not None]:
        columns = [f"{head}, {unit}" for head in heads for unit in ("kWh", found.sheet.currency.sign)]
        rows = tuple(
            (
                str(month),
                *itertools.chain(
                    *(
                        (kwh_text(row.kwh), units.money(row.money, found.sheet.currency))
                        for row in (cost.by_month.loc[month] for cost in costs)
                    )
                ),
            )
            for month in costs[0].by_month.index
        )
        made.append(ResultTable(f"By month{_before_tax(pair)}", ("month", *columns), rows))
    return tuple(made)


def _before_tax(pair: list[Season]) -> str:
    costs = [season.cost for season in pair if season.cost is not None]
    return ", before tax" if costs and costs[0].added_tax_rate else ""


def _centimetres(ice: float, area: float) -> str:
    """Thickness of so much ice [kg] on a surface [m²], in centimetres."""
    return units.digits(100 * ice_thickness(ice, area), 1)


def _heat_rows(found: Assessment, pair: list[Season]) -> Rows:
    """Heat by route over the season [kWh]."""
    rows: Rows = []
    for name in ROUTES:
        values = [season.routes_kwh[name] for season in pair]
        if any(abs(value) >= 0.5 for value in values):
            rows.append((f"lost by {ROUTE_NAMES[name]}", *map(kwh_text, values)))
    rows.append(("heat from the sun", *(kwh_text(season.solar_kwh) for season in pair)))
    if found.sheet.pump_heat:
        pumped = (float(season.hours["pump"].sum()) / 1000 for season in pair)
        rows.append(("heat from the pump", *map(kwh_text, pumped)))
    return [*rows, ("heat from the heater", *(kwh_text(season.heat_kwh) for season in pair))]


def _water_rows(found: Assessment, pair: list[Season], usual: DisplayUnits) -> Rows:
    """Water temperatures, ice and how far the heater is used."""
    sheet = found.sheet
    temps = [(season.lowest_temp, season.highest_temp) for season in pair]
    rows: Rows = [("water, lowest and highest, °C", *(f"{low:.1f} – {high:.1f}" for low, high in temps))]
    if usual.fahrenheit:
        both = (f"{fahrenheit(low, 1)} – {fahrenheit(high, 1)}" for low, high in temps)
        rows.append(("water, lowest and highest, °F", *both))
    if max(season.most_ice_kg for season in pair) > 0:
        area = found.sheet.pond.surface_area
        rows.append(("ice, thickest, cm *", *(_centimetres(season.most_ice_kg, area) for season in pair)))
    for side, limit, hours in (
        ("below", sheet.floor, [season.below_floor_hours for season in pair]),
        ("above", sheet.ceiling, [season.above_ceiling_hours for season in pair]),
    ):
        if limit is not None:
            counts = (units.digits(count) for count in hours if count is not None)
            rows.append((f"hours {side} {usual.quantity(f'{limit:.3g}', 'degC')}", *counts))
    if sheet.heater.kind != "none" and sheet.set_point:
        rows.append(("peak hour needs, kW", *(kw_text(season.peak_kw) for season in pair)))
        rows.append(("worst 24 hours need, kW", *(kw_text(season.worst_day_kw) for season in pair)))
        rows.append(("hours the heater can't keep up", *(units.digits(season.short_hours) for season in pair)))
    return rows


def _energy_rows(pair: list[Season], currency: units.Currency) -> Rows:
    """Energy taken, and its price by rate."""
    rows: Rows = [("taken over the season, kWh", *(kwh_text(season.input_kwh) for season in pair))]
    emitted = [season.co2_kg for season in pair if season.co2_kg is not None]
    if emitted:
        rows.append(("CO₂ equivalent, about", *map(emissions_text, emitted)))
    costs = [season.cost for season in pair if season.cost is not None]
    if not costs:
        return rows

    def amount(value: float) -> str:
        return units.money(value, currency)

    for rate in costs[0].by_rate.index:
        rows.append((f"{rate}, kWh", *(kwh_text(cost.by_rate.kwh.get(rate, 0.0)) for cost in costs)))
        rows.append((f"{rate}, {currency.sign}", *(amount(cost.by_rate.money.get(rate, 0.0)) for cost in costs)))
    if costs[0].added_tax_rate:
        rows.append(("tax on it", *(amount(cost.energy_money * cost.added_tax_rate) for cost in costs)))
    totals = (amount(season.money) for season in pair if season.money is not None)
    rows.append(("in all, with tax" if costs[0].added_tax_rate else "in all", *totals))
    standing = f"standing charge, owed anyway{_before_tax(pair)}"
    return [*rows, (standing, *(amount(cost.standing_charge) for cost in costs))]

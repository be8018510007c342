"""An assessment for other programs: plain data for JSON, and the season's hours as CSV."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pondheat.analysis.following import Following
from pondheat.analysis.results import Assessment, LikelyRange, Season, Uncertainty, month_names
from pondheat.core.files import COMPARED_HOURS, SEASON_HOURS, write_atomically
from pondheat.money import payback
from pondheat.season.weather import weather
from pondheat.sheet.unstated import missing_text


def as_dict(found: Assessment) -> dict:
    """The assessment as plain data for JSON: kWh, kW, °C, the sheet's currency; null for “never” and for “none”."""
    sheet, record = found.sheet, found.weather
    return {
        "sheet": {
            "name": sheet.name,
            "timezone": sheet.timezone,
            "currency": sheet.currency.code,
            "surface_area_m2": sheet.pond.surface_area,
            "volume_m3": sheet.pond.volume,
        },
        "weather": {
            "place": record.place,
            "kind": record.kind,
            "source": record.source,
            "latitude": record.latitude,
            "longitude": record.longitude,
            "altitude": record.altitude,
            "summary": weather.summary(record),
            "stand_in": record.stand_in or None,
        },
        "season": {"start": found.first.isoformat(), "end": found.last.isoformat(), "hours": len(found.open.hours)},
        "open": _season(found.open),
        "covered": None if found.covered is None else _season(found.covered),
        "saving": _saving(found),
        "emissions": {
            "electricity_kg_per_kwh": sheet.emission_factors.electricity.kg_per_kwh,
            "electricity_origin": sheet.emission_factors.electricity.origin,
            "gas_kg_per_kwh": sheet.emission_factors.gas.kg_per_kwh,
            "gas_origin": sheet.emission_factors.gas.origin,
        },
        "payback": _payback(found),
        "doubt": None if found.uncertainty is None else _uncertainty(found.uncertainty),
        "meter": None
        if found.fitted is None
        else {"days": len(found.fitted.days), "sentences": list(found.fitted.sentences)},
        "formulas": {
            "evaporation": sheet.pond.evaporation,
            "sky": sheet.pond.sky,
            "convection": "bowen ratio of the evaporation formula",
            "cop": sheet.heater.cop_formula if sheet.heater.kind == "heat pump" else None,
        },
        "left_out": missing_text(sheet.unstated),
        "notes": list(found.notes),
    }


def write_hours(found: Assessment, path: Path) -> None:
    """Write the hours of the season as the sheet describes the pond, as CSV.

    Columns: time (ISO 8601, start of the hour) and those of `season.simulate.simulate`.
    """
    season = found.as_described
    table = season.hours.round(4)
    table.insert(0, "time", [stamp.isoformat() for stamp in season.index])
    write_atomically(path, table.to_csv(index=False, lineterminator="\n").encode("utf-8"), SEASON_HOURS)


def write_compared(found: Following, path: Path) -> None:
    """Write measured and computed water side by side, as CSV.

    Columns: time (ISO 8601, start of the hour, or moment of the reading), measured, computed [degC], error [K], scored
    (0 while the start is still felt).
    """
    table = found.frame[["measured", "computed", "error"]].round(3)
    table["scored"] = found.frame["scored"].astype(int)
    table.insert(0, "time", [stamp.isoformat() for stamp in found.frame.index])
    write_atomically(path, table.to_csv(index=False, lineterminator="\n").encode("utf-8"), COMPARED_HOURS)


def _number(value) -> float | None:
    if value is None or not np.isfinite(value):
        return None
    return float(value)


def _range(found: LikelyRange | None) -> dict | None:
    if found is None:
        return None
    return {"p10": _number(found.low), "p50": _number(found.middle), "p90": _number(found.high)}


def _season(season: Season) -> dict:
    cost = season.cost
    return {
        "heat_kwh": season.heat_kwh,
        "electricity_kwh": season.electricity_kwh,
        "gas_kwh": season.gas_kwh,
        "co2_kg": _number(season.co2_kg),
        "money": _number(season.money),
        "tax": None if cost is None else _number(cost.energy_money * (1 + cost.added_tax_rate) - cost.energy_money),
        "standing_charge": None if cost is None else _number(cost.standing_charge),
        "by_rate": {}
        if cost is None
        else {str(name): {"kwh": float(row.kwh), "money": float(row.money)} for name, row in cost.by_rate.iterrows()},
        "by_month": _months(season),
        "routes_kwh": season.routes_kwh,
        "solar_kwh": season.solar_kwh,
        "pump_heat_kwh": float(season.hours["pump"].sum()) / 1000,
        "stored_kwh": float(season.hours["stored"].sum()) / 1000,
        "peak_kw": season.peak_kw,
        "worst_day_kw": season.worst_day_kw,
        "short_hours": season.short_hours,
        "below_floor_hours": season.below_floor_hours,
        "above_ceiling_hours": season.above_ceiling_hours,
        "lowest_water_temp": season.lowest_temp,
        "highest_water_temp": season.highest_temp,
        "most_ice_kg": season.most_ice_kg,
        "frozen_share": season.frozen_share,
    }


def _months(season: Season) -> dict:
    if season.cost is not None:
        rows = season.cost.by_month.iterrows()
        return {str(month): {"kwh": float(row.kwh), "money": float(row.money)} for month, row in rows}
    used = (season.hours["electricity"] + season.hours["gas"]) / 1000
    by_month = used.groupby(month_names(season.index, "%Y-%m")).sum()
    return {month: {"kwh": float(kwh), "money": None} for month, kwh in by_month.items()}


def _saving(found: Assessment) -> dict | None:
    saved, uncertainty = found.saving_kwh, found.uncertainty
    if saved is None:
        return None
    open_kwh = found.open.input_kwh
    return {
        "kwh": saved,
        "money": _number(found.saving.total) if found.saving else None,
        "share": _number(saved / open_kwh) if open_kwh else None,
        "co2_kg": _number(found.saving_co2_kg),
        "band": None
        if uncertainty is None
        else {"kwh": _range(uncertainty.saving_kwh), "money": _range(uncertainty.saving_money)},
    }


def _payback(found: Assessment) -> dict | None:
    plan, rate, years = found.sheet.cover_plan, found.sheet.discount_rate, found.payback_years
    if years is None or found.saving is None:
        return None
    yearly = found.saving.total
    present = net = None
    if plan.life is not None:
        present = _number(payback.present_value(yearly, plan.life, rate))
        net = _number(payback.net_present_value(plan.price, yearly, plan.life, rate))
    return {
        "years": _number(years),
        "in_words": payback.winter_text(years),
        "discounted": _number(payback.discounted_payback(plan.price, yearly, rate)),
        "present_value": present,
        "net_present_value": net,
        "price": plan.price,
        "life": plan.life,
        "discount_rate": rate,
        "band": None if found.uncertainty is None else _range(found.uncertainty.payback),
    }


def _uncertainty(found: Uncertainty) -> dict:
    return {
        "scenarios": found.scenarios,
        "open_kwh": _range(found.open_kwh),
        "open_money": _range(found.open_money),
        "covered_kwh": _range(found.covered_kwh),
        "covered_money": _range(found.covered_money),
        "matters": [
            {"unknown": name, "share": share, "meaning": found.meaning_of(name)}
            for name, share in found.variance_shares
        ],
        "measure_first": [
            {
                "unknown": one.name,
                "share": one.share,
                "meaning": one.meaning,
                "of": one.of,
                "low": one.low,
                "middle": one.middle,
                "high": one.high,
                "money": one.in_money,
                "overturns": one.overturns,
                "within": one.within,
                "how": one.how,
            }
            for one in found.measure_first
        ],
        "learned": found.learned,
    }

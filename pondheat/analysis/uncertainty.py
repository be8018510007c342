"""Monte Carlo uncertainty of a season.

Every scenario draws all uncertain inputs (`analysis.samples`) and runs the whole season, open and covered;
`analysis.sensitivity` says which inputs the spread comes from. `analysis.assessment.assess` calls this module.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from pondheat.analysis.results import BoundaryConditions, LikelyRange, ScenarioArrays, Uncertainty
from pondheat.analysis.samples import heater_samples, learned_samples, samples_of, with_wind_as_drawn
from pondheat.analysis.sensitivity import SAVES, additive_effects, input_effects, variance_shares
from pondheat.meter.fitting.learned_season import YEAR_SPREAD
from pondheat.money import payback
from pondheat.season.ensemble import run_ensemble
from pondheat.season.heaters import Heater
from pondheat.season.weather import real_winters, stored, town_weather
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_sheet import Sheet

if TYPE_CHECKING:
    from pondheat.meter.fitting.pond_fit import Fitted

SCENARIOS = 200
# Samples that scale a season's energy or money without changing its physics.
_AFTERWARDS = ("price", "cop_factor", "efficiency")
NOMINAL_WATER_TEMP = 15.0  # °C, for the COP in hours without a set point


def input_per_heat(conditions: BoundaryConditions, heater: Heater) -> np.ndarray:
    """Electricity and gas the heater takes per watt of heat [W/W], as columns, for every hour with spin-up.

    For a heat pump that of the pump alone: its backup takes 1 W per watt in any weather.
    """
    outdoor = conditions.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(conditions.set_point), NOMINAL_WATER_TEMP, conditions.set_point)
    alone = replace(heater, backup=0.0, lowest_air_temp=-100.0) if heater.kind == "heat pump" else heater
    heat = np.maximum(np.minimum(alone.limit(outdoor), 1.0), 1e-9)
    electricity, gas = alone.taken(heat, water, outdoor)
    return np.column_stack([electricity / heat, gas / heat])


def season_samples(
    sheet: Sheet,
    conditions: BoundaryConditions,
    count: int,
    kind_of_weather: str,
    fitted: Fitted | None = None,
    wind_uncertainty: float = 0.0,
) -> dict[str, np.ndarray]:
    """Samples of a sheet's uncertain inputs by name, “price” [–] among them; always the same draws for one count.

    conditions: of the sheet in its weather; kind_of_weather: of the weather record; a measured year is itself warm or
    cold; fitted: what a meter taught, in the wind of the same weather; wind_uncertainty: of the weather record.
    """
    measured, own = kind_of_weather == MEASURED, conditions.air.has_long_wave
    spread, of_heater = fetched_year_spread(sheet) or YEAR_SPREAD, heater_samples(sheet.heater, count, sheet.unknown)
    if fitted is None:
        judged = samples_of(
            sheet.pond,
            count,
            sheet.unknown,
            measured_year=measured,
            own_long_wave=own,
            year_spread=spread,
            wind_uncertainty=wind_uncertainty,
        )
        return judged | of_heater
    return of_heater | learned_samples(
        sheet.pond, fitted, count, measured_year=measured, own_long_wave=own, year_spread=spread
    )


def fetched_year_spread(sheet: Sheet) -> float | None:
    """How much the sheet's season differed between the years fetched for its town: standard deviation of its mean air
    [K].

    None where the sheet's weather is not its town's, or fewer than ten years were fetched.
    """
    if sheet.weather != town_weather.SOURCE or sheet.town is None or sheet.start is None or sheet.end is None:
        return None
    return real_winters.year_spread(sheet.town, stored.folders(sheet.folder), sheet.start, sheet.end)


def season_uncertainty(
    sheet: Sheet,
    conditions: BoundaryConditions,
    count: int,
    kind_of_weather: str,
    fitted: Fitted | None = None,
    progress: Callable[[float], None] | None = None,
    wind_uncertainty: float = 0.0,
) -> Uncertainty | None:
    """Monte Carlo uncertainty of a sheet's season; None for a pond that is not heated.

    conditions: of the sheet in its weather; count: number of scenarios; kind_of_weather: of the weather record;
    fitted: what a meter taught, otherwise the ranges are judgements; progress: called with the share done, 0–1;
    wind_uncertainty: of the weather record.
    """
    if not conditions.has_set_point or sheet.heater.kind == "none":
        return None
    samples = season_samples(sheet, conditions, count, kind_of_weather, fitted, wind_uncertainty)
    arrays = run_scenarios(sheet, conditions, samples, progress)
    if sheet.tariff is None:
        del samples["price"]
    of, deciding = _deciding(arrays)
    saving, years = arrays.saving_money, None
    if saving is not None and sheet.cover_plan.price is not None:
        years = LikelyRange.of(payback.simple_payback(sheet.cover_plan.price, saving))
    if fitted is None:
        samples = with_wind_as_drawn(sheet.pond, samples)
        by_input = additive_effects(samples, deciding)
    else:  # fitted factors are correlated: the others' effect belongs to each and must not be removed
        by_input = dict.fromkeys(samples, deciding)
    return Uncertainty(
        count,
        LikelyRange.of(arrays.open_kwh),
        _range(arrays.open_money),
        _range(arrays.covered_kwh),
        _range(arrays.covered_money),
        _range(arrays.saving_kwh),
        _range(saving),
        years,
        variance_shares(samples, deciding, by_input),
        input_effects(sheet, samples, deciding, by_input, of, years is not None, fitted is not None),
        fitted is not None,
        arrays,
    )


def _range(values: np.ndarray | None) -> LikelyRange | None:
    return None if values is None else LikelyRange.of(values)


def _deciding(arrays: ScenarioArrays) -> tuple[str, np.ndarray]:
    """The deciding answer in words, and its values: the cover's saving, otherwise what the open pond uses."""
    if (saved := arrays.saving_money) is not None or (saved := arrays.saving_kwh) is not None:
        return SAVES, saved
    if arrays.open_money is not None:
        return "the open pond costs", arrays.open_money
    return "the open pond takes", arrays.open_kwh


def run_scenarios(
    sheet: Sheet,
    conditions: BoundaryConditions,
    samples: dict[str, np.ndarray],
    progress: Callable[[float], None] | None = None,
    dropped: Callable[[], bool] | None = None,
) -> ScenarioArrays:
    """Energy and money of heater and pump in every scenario, open and (where the sheet has a cover) covered.

    samples: of `season_samples`. Two sheets run with the same count have the same draws: their arrays can be
    subtracted scenario by scenario. progress: called with the share done, 0–1; dropped: asked now and then, and where
    it says yes, `season.ensemble.Dropped` is raised.
    """
    per_heat, rate, added_tax = input_per_heat(conditions, sheet.heater), np.zeros(len(conditions.hours)), 0.0
    if sheet.tariff is not None:
        added_tax = 0.0 if sheet.tariff.tax_included else sheet.tariff.tax_rate
        # a price file need not cover the days before the season
        counted_rates = sheet.tariff.rates(conditions.index[conditions.counted])[0]
        rate[conditions.counted] = counted_rates * (1 + added_tax)
    price = per_heat[:, 0] * rate + per_heat[:, 1] * (sheet.gas_rate or 0.0) * (1 + added_tax)
    weights = [per_heat.sum(axis=1), price]
    input_scale = np.ones(len(samples["price"]))
    for name, own in (("cop_factor", sheet.heater.cop_factor), ("efficiency", sheet.heater.efficiency)):
        if name in samples:
            input_scale = own / samples[name]
    outdoor, pump_limit = conditions.hours["air_temp"].to_numpy(), None
    if sheet.heater.kind == "heat pump":
        pump_limit = sheet.heater.heat_pump_limit(outdoor)
        nothing = np.zeros(len(rate))  # the pump's use in the first two sums, its backup's in the last two
        weights += [nothing, nothing, nothing, nothing, np.ones(len(rate)), rate]
    cases = [0.0] if sheet.pond.cover is None else [0.0, 1.0]  # whether the cover is used
    count = len(samples["price"])
    physical = {  # year and room both warm the air over the water
        "year_warmth" if name == "room_warmth" else name: np.tile(values, len(cases))
        for name, values in samples.items()
        if name not in _AFTERWARDS
    }
    # Open and covered side by side in one run: most of an hour's work does not depend on the number of scenarios.
    runs = run_ensemble(
        sheet.pond,
        conditions.air,
        physical | {"cover_used": np.repeat(cases, count)},
        set_point=conditions.set_point,
        limit=sheet.heater.limit(outdoor),
        covered=conditions.covered,
        gain=sheet.pump_heat,
        counted=conditions.counted,
        start_temp=conditions.initial_water_temp,
        progress=progress,
        dropped=dropped,
        first=pump_limit,
        weights=np.column_stack(weights),
    )
    pump_kwh = sheet.pump_power / 1000 * conditions.counted
    used = runs.weighted_kwh[:, :2] * np.tile(input_scale, len(cases))[:, None]
    if pump_limit is not None:
        used = used + runs.weighted_kwh[:, 2:]
    kwh = np.split(used[:, 0] + pump_kwh.sum(), len(cases))
    money = np.split(used[:, 1] + (pump_kwh * rate).sum(), len(cases))
    money = [values * samples["price"] for values in money]
    priced, covered = sheet.tariff is not None, len(cases) == 2
    return ScenarioArrays(
        kwh[0],
        money[0] if priced else None,
        kwh[1] if covered else None,
        money[1] if priced and covered else None,
    )


def refined_scenarios(
    sheet: Sheet,
    conditions: BoundaryConditions,
    samples: dict[str, np.ndarray],
    first: int,
    dropped: Callable[[], bool] | None = None,
) -> Iterator[ScenarioArrays]:
    """The runs of `run_scenarios`: first a few of the scenarios, then all of them; none is run twice."""

    def run(part: slice) -> ScenarioArrays:
        chosen = {name: values[part] for name, values in samples.items()}
        return run_scenarios(sheet, conditions, chosen, dropped=dropped)

    few = run(slice(0, first))
    yield few
    if first < len(samples["price"]):
        yield few.joined(run(slice(first, None)))

"""What if: the keeper's choices for one pond in one weather year, side by side.

`CHOICES` lists them. Each changes the sheet and runs a whole season, or prices the same season differently.
`text.what_if_text` writes the table.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.freezing import freezing_warning
from pondheat.analysis.results import LikelyRange, too_warm_above, too_warm_hours
from pondheat.analysis.scenarios.choices import CHOICES, GROUPS
from pondheat.analysis.scenarios.context import ScenarioContext, ScenarioInputs, ScenarioResult
from pondheat.analysis.uncertainty import SCENARIOS, run_scenarios, season_samples
from pondheat.core import units
from pondheat.core.ranges import choose
from pondheat.season.hour_step import HOTTEST
from pondheat.season.simulate import TooHot
from pondheat.season.weather import weather
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

__all__ = [
    "AS_IT_IS",
    "CHOICES",
    "GROUPS",
    "ScenarioRow",
    "ScenarioTable",
    "pending_rows",
    "what_if",
    "with_likely_ranges",
]
AS_IT_IS = "as_it_is"


@dataclass(frozen=True)
class ScenarioRow:
    """One choice over one season.

    key: of CHOICES; words: the choice in words; group: one of GROUPS, empty for the sheet as it is; energies [kWh];
    money, difference to the sheet as it is: None without a tariff [money]; water temperatures [degC]; short_hours:
    with the heater short; ice_hours: with ice on the water; as_warm: the same set points, short in no more hours, and
    too warm in no more; taken_band [kWh], money_band [money]: low and high where the choice itself is uncertain;
    frozen_share: largest share of the water that is ice [–]; price_missing: whether it needs a machine whose price was
    not given; likely: range of the difference to the sheet as it is, from runs with the same draws on both sides
    [money], or [kWh] without a tariff, None where it has not been worked out; co2_kg: greenhouse gases of the energy
    taken, as carbon dioxide [kg], None where a factor is not known. In the row of a flat rate the money includes what
    the house's own bill changes by.
    """

    key: str
    words: str
    group: str
    heat_kwh: float
    electricity_kwh: float
    gas_kwh: float
    money: float | None
    difference: float | None
    lowest_temp: float
    mean_temp: float
    highest_temp: float
    short_hours: int
    ice_hours: int
    as_warm: bool
    taken_band: tuple[float, float] | None = None
    money_band: tuple[float, float] | None = None
    notes: tuple[str, ...] = ()
    likely: LikelyRange | None = None
    co2_kg: float | None = None
    frozen_share: float = 0.0
    price_missing: bool = False

    @property
    def taken_kwh(self) -> float:
        """Electricity and gas [kWh]."""
        return self.electricity_kwh + self.gas_kwh

    @property
    def of_pond(self) -> bool:
        """Whether the money is for the pond alone, and so comparable with other rows."""
        return self.key != "flat_rate"

    @property
    def freezing(self) -> str:
        """The warning if the pond freezes through, or may; otherwise empty."""
        return freezing_warning(self.frozen_share)

    @property
    def eligible(self) -> bool:
        """Whether the row may be called the best: its money is the pond's alone, and complete; nothing freezes."""
        return self.of_pond and not self.freezing and not self.price_missing

    @property
    def worth(self) -> float:
        """What rows are compared by: money, or energy [kWh] without a tariff."""
        return self.taken_kwh if self.money is None else self.money


@dataclass(frozen=True)
class ScenarioTable:
    """All choices for one sheet, the sheet as it is first.

    left_out: each choice without a row and why it has none; context, results: what `with_likely_ranges` runs again, by
    key of the row.
    """

    name: str
    currency: units.Currency
    first: dt.date
    last: dt.date
    weather: str
    mean_depth: float
    rows: tuple[ScenarioRow, ...]
    left_out: tuple[tuple[str, str], ...]
    context: ScenarioContext
    results: Mapping[str, ScenarioResult]

    @property
    def grouped(self) -> tuple[ScenarioRow, ...]:
        """The rows in the order of GROUPS, the sheet as it is first."""
        return tuple(sorted(self.rows, key=lambda row: GROUPS.index(row.group) if row.group else -1))

    @property
    def unheated(self) -> ScenarioRow | None:
        """The first row without any heating."""
        return next((row for row in self.rows if row.heat_kwh == 0), None)


def what_if(
    sheet: Sheet,
    record: Weather | None = None,
    choices: Iterable[str] | None = None,
    progress: Callable[[float], None] | None = None,
    **given: float | None,
) -> ScenarioTable:
    """The keeper's choices for one pond in the same weather, each over its whole season.

    record: weather already read, otherwise the sheet's own source; choices: keys of CHOICES, all where None; the sheet
    as it is always comes first; progress: called with the share done, 0–1; given: fields of `ScenarioInputs`; a choice
    that needs one that is not given is left out. Raises OutOfRange for an unknown key or an
    implausible number, and what `assessment.boundary_conditions` and `assessment.weather_of` raise.
    """
    keys = [choices] if isinstance(choices, str) else list(CHOICES if choices is None else dict.fromkeys(choices))
    for key in keys:
        choose("choice", key, CHOICES)
    inputs = ScenarioInputs(**given)
    if inputs.heat_pump_price is None:
        inputs = replace(inputs, heat_pump_price=sheet.heat_pump_price)
    context = ScenarioContext(sheet, record or assessment.weather_of(sheet), inputs)
    results = {AS_IT_IS: ScenarioResult(sheet, context.base)}
    rows, left_out = [_row(AS_IT_IS, "the sheet as it is", "", context, results[AS_IT_IS])], []
    for done, key in enumerate(keys, 1):
        if progress is not None:
            progress(done / (len(keys) + 1))
        choice = CHOICES[key]
        try:
            result = choice.attempt(context)
        except TooHot:  # the other choices are still of use
            result = f"the water would pass [{HOTTEST:g} °C] in the sun"
        if isinstance(result, str):
            left_out.append((choice.words, result))
        else:
            rows.append(_row(key, choice.words, choice.group, context, result))
            results[key] = result
    if progress is not None:
        progress(1.0)
    return ScenarioTable(
        sheet.name,
        sheet.currency,
        context.index[0].date(),
        context.index[-1].date(),
        weather.summary(context.record),
        sheet.pond.volume / sheet.pond.surface_area,
        tuple(rows),
        tuple(left_out),
        context,
        results,
    )


def with_likely_ranges(
    table: ScenarioTable, scenarios: int | None = None, dropped: Callable[[], bool] | None = None
) -> Iterator[ScenarioTable]:
    """The table again and again, each time with the likely range of one more row, the best row first.

    Every row is run with the same draws as the sheet as it is and subtracted scenario by scenario, so that what is not
    known about the pond or the winter is the same on both sides. A choice that only prices the season as it is
    differently has no range. scenarios: Monte Carlo runs of each row, None for the usual number; dropped: as for
    `uncertainty.run_scenarios`.
    """
    context, count = table.context, SCENARIOS if scenarios is None else scenarios

    def described(result: ScenarioResult) -> np.ndarray:
        """What the pond as described takes in each scenario: money, or energy without a tariff."""
        assert result.conditions is not None
        samples = season_samples(
            result.sheet,
            result.conditions,
            count,
            context.record.kind,
            wind_uncertainty=context.record.wind_uncertainty,
        )
        arrays = run_scenarios(result.sheet, result.conditions, samples, dropped=dropped)
        return arrays.described_kwh if arrays.described_money is None else arrays.described_money

    base: np.ndarray | None = None
    for row in pending_rows(table):
        if base is None:
            base = described(ScenarioResult(context.sheet, context.base, conditions=context.conditions))
        likely = LikelyRange.of(described(table.results[row.key]) - base)
        rows = tuple(replace(one, likely=likely) if one.key == row.key else one for one in table.rows)
        table = replace(table, rows=rows)
        yield table


def pending_rows(table: ScenarioTable) -> list[ScenarioRow]:
    """Rows whose likely range can be worked out and has not been, the best first."""
    waiting = [row for row in table.rows if row.likely is None and table.results[row.key].conditions is not None]
    return sorted(waiting, key=lambda row: row.worth)


def _row(key: str, words: str, group: str, context: ScenarioContext, result: ScenarioResult) -> ScenarioRow:
    """The table's row of one scenario."""
    season, base = result.season, context.base
    money = season.money if result.money is None else result.money
    shorter = season.short_hours > base.short_hours
    hot, hot_as_it_is = (too_warm_hours(context.sheet, one) for one in (season, base))
    as_warm = result.as_warm
    if as_warm is None:
        as_warm = result.sheet.set_point == context.sheet.set_point and not shorter
    as_warm = as_warm and hot <= hot_as_it_is
    notes = result.notes
    if hot > hot_as_it_is:
        notes = (
            *notes,
            f"the water gets too warm: [{season.highest_temp:.1f} °C] at its highest, above "
            f"[{too_warm_above(context.sheet):.3g} °C] in {units.digits(hot)} hours "
            f"({units.digits(hot_as_it_is)} as it is). Warm water holds little oxygen.",
        )
    if shorter:
        notes = (
            "too little heat for more hours than in the pond as described, so this is the use of a pond not kept as "
            "warm as you ask.",
            *notes,
        )
    warning = freezing_warning(season.frozen_share)
    if warning:
        notes = (f"{warning[0].lower()}{warning[1:]}", *notes)
    return ScenarioRow(
        key=key,
        words=words,
        group=group,
        heat_kwh=season.heat_kwh,
        electricity_kwh=season.electricity_kwh,
        gas_kwh=season.gas_kwh,
        money=money,
        difference=None if money is None or base.money is None else money - base.money,
        lowest_temp=season.lowest_temp,
        mean_temp=float(season.hours["water_temp"].mean()),
        highest_temp=season.highest_temp,
        short_hours=season.short_hours,
        ice_hours=int((season.hours["ice"] > 0).sum()),
        as_warm=as_warm,
        taken_band=result.energy_range,
        money_band=result.money_range,
        notes=notes,
        co2_kg=result.sheet.emission_factors.of(season.electricity_kwh - result.own_kwh, season.gas_kwh),
        frozen_share=season.frozen_share,
        price_missing=result.price_missing,
    )

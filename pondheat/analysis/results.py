"""Records that the season's analysis passes around: boundary conditions, one season, likely ranges, the assessment.

Data, and what follows from it, so that the season, its uncertainty and everything built on them can import these
without a cycle.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core.likely import QUANTILES
from pondheat.heat.balance import Air
from pondheat.money import payback
from pondheat.money.running_cost import RunningCost, Saving
from pondheat.season.simulate import unstated_start_temp
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

if TYPE_CHECKING:
    from pondheat.meter.fitting.pond_fit import Fitted

WARM = 28.0  # °C above which water counts as too warm where the sheet names no ceiling (judgement)
LEAST_HEAT = 0.5  # kWh over a season; less is shown as zero
ROUTE_GROUPS = {  # routes of heat loss as pictures group them
    "evaporation": ("evaporation",),
    "convection": ("convection",),
    "long wave": ("long_wave",),
    "walls and floor": ("walls", "ground"),
    "filter, air, new water": ("falling_water", "casing", "aeration", "water_change"),
}


@dataclass(frozen=True)
class BoundaryConditions:
    """What open and covered runs of a sheet share: weather, set point, cover hours, for each hour with spin-up.

    hours: weather frame; air: the same as the heat balance takes it; set_point [degC], NaN without heat; covered:
    share of each hour under the cover [–]; counted: False during spin-up; start_temp [degC], None where the sheet
    gives none; notes: sentences on what was assumed.
    """

    hours: pd.DataFrame
    air: Air
    set_point: np.ndarray
    covered: np.ndarray
    counted: np.ndarray
    start_temp: float | None
    notes: tuple[str, ...]

    @property
    def index(self) -> pd.DatetimeIndex:
        """Starts of all hours, spin-up included."""
        return times_of(self.hours)

    @property
    def has_set_point(self) -> bool:
        """Whether any counted hour has a set point."""
        return not bool(np.isnan(self.set_point[self.counted]).all())

    @property
    def initial_water_temp(self) -> float:
        """Water temperature at the first hour [degC].

        The sheet's own start temperature, otherwise the first set point, otherwise `simulate.unstated_start_temp`.
        """
        if self.start_temp is not None:
            return self.start_temp
        first = self.set_point[0]
        return unstated_start_temp(self.hours["air_temp"]) if np.isnan(first) else float(first)


@dataclass(frozen=True, eq=False)
class Season:
    """Results of one season, open or covered, without spin-up.

    hours: the frame of `season.simulate`; energies [kWh]; heat_to_hold: gives the heat demand of each hour [W];
    short_hours: hours at the heater's limit with the water more than 0.1 K below the set point; below_floor_hours,
    above_ceiling_hours: None where the sheet has no such limit; lowest_temp, highest_temp [degC]; most_ice_kg [kg];
    frozen_share: of the water that is ice then [–]; cost: None without a tariff; co2_kg: greenhouse gases of the energy
    taken, as carbon dioxide [kg], None where a factor is not known.
    """

    hours: pd.DataFrame
    heat_kwh: float
    electricity_kwh: float
    gas_kwh: float
    solar_kwh: float
    routes_kwh: dict[str, float]
    heat_to_hold: Callable[[], np.ndarray]
    short_hours: int
    below_floor_hours: int | None
    above_ceiling_hours: int | None
    lowest_temp: float
    highest_temp: float
    most_ice_kg: float
    frozen_share: float
    cost: RunningCost | None
    co2_kg: float | None = None

    @property
    def index(self) -> pd.DatetimeIndex:
        """Starts of the season's hours."""
        return times_of(self.hours)

    @cached_property
    def _demand_kw(self) -> np.ndarray:
        """Heat demand of each hour [kW]; worked out when first asked for, as most panels never do."""
        return self.heat_to_hold() / 1000

    @property
    def peak_kw(self) -> float:
        """Largest hourly heat demand [kW]."""
        return float(self._demand_kw.max())

    @property
    def worst_day_kw(self) -> float:
        """Largest mean heat demand of any 24 hours [kW]."""
        sums = np.concatenate([[0.0], np.cumsum(self._demand_kw)])
        days = (sums[24:] - sums[:-24]) / 24 if len(sums) > 24 else self._demand_kw
        return float(days.max())

    @property
    def input_kwh(self) -> float:
        """Electricity and gas used by heater and pump [kWh]."""
        return self.electricity_kwh + self.gas_kwh

    @property
    def money(self) -> float | None:
        """Price of the energy with tax, without the standing charge [money]; None without a tariff."""
        return None if self.cost is None else self.cost.energy_money * (1 + self.cost.added_tax_rate)


@dataclass(frozen=True, eq=False)
class LikelyRange:
    """P10, median and P90 of the scenarios (`core.likely`)."""

    low: float
    middle: float
    high: float

    @classmethod
    def of(cls, values) -> LikelyRange:
        """The range of sampled values, by rank; infinities (never pays back) sort last."""
        ordered = np.sort(np.asarray(values, float))
        low, middle, high = (float(ordered[round(q * (len(ordered) - 1))]) for q in QUANTILES)
        return cls(low, middle, high)


@dataclass(frozen=True)
class InputEffect:
    """How far one uncertain input alone moves the answer.

    name: key of `analysis.uncertain_inputs.UNCERTAIN_INPUTS`; share: of the answer's variance that it explains alone
    [–]; meaning: the input in words; of: what the numbers are, such as “the cover saves”; low, high: mean of the
    answer over the fifth of the scenarios in which the input is lowest or highest, additive effects of the other
    inputs removed [money] or [kWh], as `in_money` says; middle: median of the answer; overturns: whether low and high
    fall on different sides of break-even, None where nothing is decided by it; within: the time in which the cover
    should have paid for itself, in words; outweighed_by: an input that cannot be measured and is likelier to overturn
    the answer than any that can, otherwise None.
    """

    name: str
    share: float
    meaning: str
    of: str
    low: float
    middle: float
    high: float
    in_money: bool
    overturns: bool | None
    within: str
    outweighed_by: str | None

    @property
    def how(self) -> str | None:
        """How a keeper measures the input; None where it cannot be measured."""
        return UNCERTAIN_INPUTS[self.name].how


@dataclass(frozen=True, eq=False)
class ScenarioArrays:
    """Energy [kWh] and money [money] of each scenario, in the order in which the scenarios were drawn.

    The same number of scenarios with the same seed gives the same draws, so arrays of two sheets can be subtracted
    scenario by scenario: a range of paired differences, not of two independent runs. Money is None without a tariff,
    covered arrays are None without a cover.
    """

    open_kwh: np.ndarray
    open_money: np.ndarray | None
    covered_kwh: np.ndarray | None
    covered_money: np.ndarray | None

    def joined(self, others: ScenarioArrays) -> ScenarioArrays:
        """These scenarios and others of the same sheet after them."""

        def both(one: np.ndarray | None, other: np.ndarray | None) -> np.ndarray | None:
            return None if one is None or other is None else np.concatenate([one, other])

        return ScenarioArrays(
            np.concatenate([self.open_kwh, others.open_kwh]),
            both(self.open_money, others.open_money),
            both(self.covered_kwh, others.covered_kwh),
            both(self.covered_money, others.covered_money),
        )

    @property
    def saving_kwh(self) -> np.ndarray | None:
        """Energy that the cover saves in each scenario [kWh]."""
        return None if self.covered_kwh is None else self.open_kwh - self.covered_kwh

    @property
    def saving_money(self) -> np.ndarray | None:
        """Money that the cover saves in each scenario [money]."""
        if self.open_money is None or self.covered_money is None:
            return None
        return self.open_money - self.covered_money

    @property
    def described_kwh(self) -> np.ndarray:
        """Energy of the pond as its sheet describes it: covered where it has a cover [kWh]."""
        return self.open_kwh if self.covered_kwh is None else self.covered_kwh

    @property
    def described_money(self) -> np.ndarray | None:
        """Money of the pond as its sheet describes it: covered where it has a cover [money]."""
        return self.open_money if self.covered_kwh is None else self.covered_money


@dataclass(frozen=True, eq=False)
class Uncertainty:
    """Monte Carlo ranges of a season's energy (heater and pump) and money, and which inputs they come from.

    scenarios: number of runs; ranges are None without a tariff or a cover; variance_shares: share of the deciding
    answer's variance that each input explains alone [–], largest first; measure_first: measurable inputs, the one
    likeliest to overturn the answer first, then those that cannot be measured; learned: whether the samples come from
    a fitted meter; arrays: the runs themselves.
    """

    scenarios: int
    open_kwh: LikelyRange
    open_money: LikelyRange | None
    covered_kwh: LikelyRange | None
    covered_money: LikelyRange | None
    saving_kwh: LikelyRange | None
    saving_money: LikelyRange | None
    payback: LikelyRange | None
    variance_shares: tuple[tuple[str, float], ...]
    measure_first: tuple[InputEffect, ...]
    learned: bool
    arrays: ScenarioArrays

    def meaning_of(self, name: str) -> str:
        """An uncertain input in words, and how far it may be out."""
        return next(one.meaning for one in self.measure_first if one.name == name)


@dataclass(frozen=True, eq=False)
class Assessment:
    """A sheet's season, open and covered, with saving, payback and uncertainty.

    first, last: days of the season; covered, saving: None without a cover (or tariff); uncertainty: None where it was
    not asked for or nothing is heated; notes: sentences, their quantities marked (see `core.display_units`); fitted:
    what a meter taught, otherwise None.
    """

    sheet: Sheet
    weather: Weather
    first: dt.date
    last: dt.date
    open: Season
    covered: Season | None
    saving: Saving | None
    uncertainty: Uncertainty | None
    notes: tuple[str, ...]
    fitted: Fitted | None = None

    @property
    def as_described(self) -> Season:
        """The season as the sheet describes the pond: covered where it has a cover."""
        return self.covered or self.open

    @property
    def needs_heat(self) -> bool:
        """Whether the heater has anything to do; a room or the summer may keep the open pond warm enough anyway."""
        # a heat pump that stops in the cold gives none where it is needed most
        return self.open.heat_kwh >= LEAST_HEAT or self.open.short_hours > 0

    @property
    def saving_kwh(self) -> float | None:
        """Electricity and gas that the cover saves [kWh]; None without a cover."""
        if self.covered is None:
            return None
        return self.open.electricity_kwh + self.open.gas_kwh - self.covered.electricity_kwh - self.covered.gas_kwh

    @property
    def saving_co2_kg(self) -> float | None:
        """Greenhouse gases that the cover saves [kg]; None without a cover, or where a factor is not known."""
        if self.covered is None or self.open.co2_kg is None or self.covered.co2_kg is None:
            return None
        return self.open.co2_kg - self.covered.co2_kg

    @property
    def payback_years(self) -> float | None:
        """Simple payback of the cover [year], inf for never; None without its price or a tariff."""
        price = self.sheet.cover_plan.price
        if self.saving is None or price is None:
            return None
        return payback.simple_payback(price, self.saving.total)


def times_of(frame: pd.DataFrame | pd.Series) -> pd.DatetimeIndex:
    """The times of a frame or series by time; of an hourly one, each hour's start."""
    assert isinstance(frame.index, pd.DatetimeIndex)
    return frame.index


def month_names(hours: pd.DatetimeIndex, form: str) -> pd.Index:
    """The month of each hour in a form of strftime, such as “2025-10”: one text a month, not one an hour."""
    _, first, month = np.unique(hours.year * 12 + hours.month, return_index=True, return_inverse=True)
    return hours[first].strftime(form).take(month)


def is_southern(sheet: Sheet, record: Weather) -> bool:
    """Whether a pond is south of the equator, from its sheet, otherwise from its weather; False if neither says."""
    latitude = record.latitude if sheet.rough_latitude is None else sheet.rough_latitude
    return latitude is not None and latitude < 0


def too_warm_above(sheet: Sheet) -> float:
    """Temperature above which the sheet's water counts as too warm [degC]."""
    return WARM if sheet.ceiling is None else sheet.ceiling


def too_warm_hours(sheet: Sheet, season: Season) -> int:
    """Hours of a season in which the water is too warm."""
    return int((season.hours["water_temp"] > too_warm_above(sheet)).sum())

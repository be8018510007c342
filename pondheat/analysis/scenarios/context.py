"""What every scenario starts from: a sheet in its weather, its season as described, and the prices of its hours."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import BoundaryConditions, Season, is_southern
from pondheat.core.ranges import OutOfRange
from pondheat.money.tariffs import Tariff
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

YEAR_HOURS = 8766.0  # 365.25 days

# Plausible minimum and maximum (judgement), and the unit in words.
LIMITS = {
    "house_kwh": (0.0, 200_000.0, "kWh a year"),
    "house_cheap_share": (0.0, 1.0, "as a share, 0.3 for 30 %,"),
    "flat_rate": (-100.0, 100.0, "a kWh, in whole units of money,"),
    "flat_standing_charge": (0.0, 1000.0, "a day, in whole units of money,"),
    "solar_peak_kw": (0.0, 100.0, "kW"),
    "solar_kwh_per_day": (0.0, 600.0, "kWh a day"),
    "export_rate": (-100.0, 100.0, "a kWh, in whole units of money,"),
    "room_temp": (-20.0, 45.0, "°C"),
    "heat_pump_price": (0.0, 1e6, "in whole units of money"),
    "heat_pump_backup_kw": (0.0, 100.0, "kW"),
}


@dataclass(frozen=True)
class ScenarioInputs:
    """What some scenarios need that no pond sheet says and nobody should guess; None if it was not given.

    house_kwh: use of the house in a year without the pond [kWh]; house_cheap_share: share of it in the tariff's cheap
    hours [–]; flat_rate: of an alternative tariff with one rate, tax included [money/kWh]; flat_standing_charge: of
    that tariff, tax included [money/day]; solar_peak_kw: peak power of the panels [kW]; or solar_kwh_per_day: what
    panels export on an average day of the year [kWh]; export_rate: paid for exported energy [money/kWh]; room_temp: of
    a room round the pond [°C]; heat_pump_price: of a heat pump with fitting it [money]; heat_pump_backup_kw: of an
    electric heater that helps it in the cold [kW]. Raises OutOfRange for anything that is not a number or not
    plausible.
    """

    house_kwh: float | None = None
    house_cheap_share: float | None = None
    flat_rate: float | None = None
    flat_standing_charge: float | None = None
    solar_peak_kw: float | None = None
    solar_kwh_per_day: float | None = None
    export_rate: float | None = None
    room_temp: float | None = None
    heat_pump_price: float | None = None
    heat_pump_backup_kw: float | None = None

    def __post_init__(self):
        for field in fields(self):
            value, (least, most, unit) = getattr(self, field.name), LIMITS[field.name]
            if isinstance(value, bool) or not isinstance(value, (int, float, np.number, type(None))):
                raise OutOfRange(f"{field.name} is not a number.")
            if value is not None and not least <= value <= most:  # NaN is in no range
                meant = f" Did you mean {-value:g}?" if value < 0 and least <= -value <= most else ""
                raise OutOfRange(f"{value:g} given for {field.name}: it should be {least:g} to {most:g} {unit}.{meant}")


def percent(share: float) -> str:
    """A share in whole per cent.

    >>> percent(0.153)
    '15 %'
    """
    return f"{100 * share:.0f} %"


def start_of_hour_water_temp(season: Season) -> np.ndarray:
    """Start-of-hour water temperature [degC]; hour 0 uses its end value."""
    end = season.hours["water_temp"].to_numpy()
    return np.append(end[0], end[:-1])


@dataclass(frozen=True)
class TwoRates:
    """Cheap and expensive hours of a tariff over a season.

    cheap: share of each hour at a cheap rate [–]; timed: True in hours of days that have both; cheap_rate, dear_rate:
    means with tax [money/kWh].
    """

    cheap: np.ndarray
    timed: np.ndarray
    cheap_rate: float
    dear_rate: float


@dataclass(frozen=True, eq=False)
class ScenarioContext:
    """A sheet in its weather, with everything that scenarios share computed once."""

    sheet: Sheet
    record: Weather
    inputs: ScenarioInputs

    @cached_property
    def conditions(self) -> BoundaryConditions:
        """Boundary conditions of the sheet as it is."""
        return assessment.boundary_conditions(self.sheet, self.record)

    @cached_property
    def base(self) -> Season:
        """The season as the sheet describes it."""
        return self.run(self.sheet, self.conditions)

    @property
    def index(self) -> pd.DatetimeIndex:
        """Starts of the season's hours."""
        return self.conditions.index[self.conditions.counted]

    @property
    def days(self) -> float:
        """Length of the season [day]."""
        return len(self.index) / 24

    @property
    def south(self) -> bool:
        """Whether the pond is south of the equator; False if nothing says so."""
        return is_southern(self.sheet, self.record)

    @staticmethod
    def run(sheet: Sheet, conditions: BoundaryConditions) -> Season:
        """One season of a sheet as it describes the pond."""
        return assessment.run_season(sheet, conditions, covered=sheet.pond.cover is not None)

    @property
    def tariff(self) -> Tariff:
        """The sheet's tariff, which must be there."""
        assert self.sheet.tariff is not None
        return self.sheet.tariff

    @property
    def base_money(self) -> float:
        """Price of the season as described [money]; the sheet must have a tariff."""
        return priced(self.base)

    @cached_property
    def _parts(self) -> tuple[np.ndarray, np.ndarray]:
        shares, costs = self.tariff.rate_shares(self.index)
        return shares, costs * (1 + self.added_tax_rate)

    @property
    def added_tax_rate(self) -> float:
        """Tax that is added to the tariff's rates [–]; the sheet must have a tariff."""
        assert self.base.cost is not None
        return self.base.cost.added_tax_rate

    @cached_property
    def rate(self) -> np.ndarray:
        """Rate of each hour with tax [money/kWh]; the sheet must have a tariff."""
        return self._parts[1].sum(axis=1)

    @cached_property
    def rates(self) -> TwoRates | None:
        """Cheap and expensive hours: below and above the middle between a day's lowest and highest rate.

        An hour that is partly cheap counts by its part. None without a tariff, or where no day has both.
        """
        if self.sheet.tariff is None:
            return None
        shares, costs = self._parts
        by_day = pd.Series(self.rate).groupby(np.asarray(self.index.tz_localize(None).normalize()))
        low, high = (by_day.transform(name).to_numpy() for name in ("min", "max"))
        each = np.divide(costs, shares, out=np.full_like(costs, np.inf), where=shares > 0)
        below = (each < ((low + high) / 2 - 1e-9)[:, None]) & (high - low > 1e-9)[:, None]
        cheap = (shares * below).sum(axis=1)
        if not cheap.any():
            return None
        return TwoRates(
            cheap,
            high - low > 1e-9,
            float((costs * below).sum() / cheap.sum()),
            float((costs * ~below).sum() / (1 - cheap).sum()),
        )


@dataclass(frozen=True, eq=False)
class ScenarioResult:
    """One scenario: the changed sheet, its season, and notes on what numbers cannot say.

    money: of the season where the tariff's price of it is not what counts [money]; own_kwh: of its electricity that
    does not come from the grid [kWh]; energy_range [kWh], money_range
    [money]: low and high where the scenario itself is uncertain; as_warm: whether the water is kept as warm as in the
    sheet, None where the set points decide that; conditions: of the run, where it was run anew, for Monte Carlo runs
    of the same scenario; price_missing: whether it needs a machine whose price was not given.
    """

    sheet: Sheet
    season: Season
    notes: tuple[str, ...] = ()
    money: float | None = None
    own_kwh: float = 0.0
    energy_range: tuple[float, float] | None = None
    money_range: tuple[float, float] | None = None
    as_warm: bool | None = None
    conditions: BoundaryConditions | None = None
    price_missing: bool = False


def priced(season: Season) -> float:
    """Price of a season that has a tariff [money]."""
    assert season.money is not None
    return season.money

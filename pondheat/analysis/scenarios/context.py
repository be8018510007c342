"""What a choice is tried on: one sheet in its weather, the season as it is, and the prices of its hours."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.core.ranges import OutOfRange
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

YEAR_HOURS = 8766.0  # 365.25 days


# Least and most that can be meant (judgement), and the unit as a reader reads it.
LIMITS = {
    "house_kwh": (0.0, 200_000.0, "kWh a year"),
    "house_cheap_share": (0.0, 1.0, "as a share, 0.3 for 30 %,"),
    "flat_rate": (-100.0, 100.0, "a kWh, in whole units of money,"),
    "flat_standing_charge": (0.0, 1000.0, "a day, in whole units of money,"),
    "solar_peak_kw": (0.0, 100.0, "kW"),
    "solar_kwh_per_day": (0.0, 600.0, "kWh a day"),
    "export_rate": (-100.0, 100.0, "a kWh, in whole units of money,"),
    "room_temp": (-20.0, 45.0, "°C"),
}


@dataclass(frozen=True)
class Asked:
    """What no pond sheet says and nobody should guess; None where it was not given.

    house_kwh: what the house takes in a year, pond left out; house_cheap_share: share of it in the tariff's cheap
    hours, 0–1; flat_rate: one rate for all hours that could be had instead, tax within; flat_standing_charge: its
    standing charge a day, tax within; solar_peak_kw: panels; or solar_kwh_per_day: what panels send back on an
    average day of the year; export_rate: paid for a kWh sent back; room_temp: °C of a room round the pond.
    """

    house_kwh: float | None = None
    house_cheap_share: float | None = None
    flat_rate: float | None = None
    flat_standing_charge: float | None = None
    solar_peak_kw: float | None = None
    solar_kwh_per_day: float | None = None
    export_rate: float | None = None
    room_temp: float | None = None

    def __post_init__(self):
        for field in fields(self):
            value, (least, most, unit) = getattr(self, field.name), LIMITS[field.name]
            if isinstance(value, bool) or not isinstance(value, (int, float, np.number, type(None))):
                raise OutOfRange(f"{field.name} is not a number.")
            if value is not None and not least <= value <= most:  # not-a-number is in no range
                raise OutOfRange(f"{value:g} given for {field.name}: {least:g} to {most:g} {unit} is plausible.")


def percent(share: float) -> str:
    """A share as a reader reads it.

    >>> percent(0.153)
    '15 %'
    """
    return f"{100 * share:.0f} %"


def as_hours_begin(season: assessment.Season) -> np.ndarray:
    """The water as each hour begins [degC]; that of the first hour's end for the first."""
    end = season.hours["water_temp"].to_numpy()
    return np.append(end[0], end[:-1])


@dataclass(frozen=True)
class TwoRates:
    """Cheap and dear hours of a tariff over a season.

    cheap: share of each hour that is cheap [–]; cheap_rate, dear_rate: mean of each, tax added [money/kWh];
    timed: True in hours of days that have both.
    """

    cheap: np.ndarray
    timed: np.ndarray
    cheap_rate: float
    dear_rate: float


@dataclass(frozen=True, eq=False)
class Case:
    """A sheet in its weather, with everything that choices share reckoned once."""

    sheet: Sheet
    record: Weather
    asked: Asked

    @cached_property
    def place(self) -> assessment.BoundaryConditions:
        """The sheet's calendar over its weather."""
        return assessment.setting(self.sheet, self.record)

    @cached_property
    def base(self) -> assessment.Season:
        """The season as the sheet describes it."""
        return self.run(self.sheet, self.place)

    @property
    def index(self) -> pd.DatetimeIndex:
        """Starts of the season's hours."""
        return self.place.hours.index[self.place.counted]

    @property
    def days(self) -> float:
        """Length of the season [day]."""
        return len(self.index) / 24

    @property
    def south(self) -> bool:
        """Whether the pond lies south of the equator; where nobody says, it does not."""
        latitude = self.sheet.latitude if self.sheet.latitude is not None else self.record.latitude
        return latitude is not None and latitude < 0

    @staticmethod
    def run(sheet: Sheet, place: assessment.BoundaryConditions) -> assessment.Season:
        """One season of a sheet as it describes the pond."""
        return assessment.run_season(sheet, place, covered=sheet.pond.cover is not None)

    @cached_property
    def _parts(self) -> tuple[np.ndarray, np.ndarray]:
        shares, costs = self.sheet.tariff.rate_shares(self.index)
        return shares, costs * (1 + self.base.cost.added_tax_rate)

    @cached_property
    def rate(self) -> np.ndarray:
        """Rate of each hour, tax added [money/kWh]. The sheet must have a tariff."""
        return self._parts[1].sum(axis=1)

    @cached_property
    def rates(self) -> TwoRates | None:
        """Cheap and dear hours: below and above the middle between a day's lowest and highest rate; None where no day
        has both. An hour that is partly cheap counts by its part."""
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
class Outcome:
    """What a choice comes to: the changed sheet and its season, and words for what a number cannot say.

    money: of the season where that is not the tariff's price of it [money]; taken_band, money_band: low and high where
    a choice is itself uncertain [kWh, money]; as_warm: where the set point alone does not tell.
    """

    sheet: Sheet
    season: assessment.Season
    notes: tuple[str, ...] = ()
    money: float | None = None
    taken_band: tuple[float, float] | None = None
    money_band: tuple[float, float] | None = None
    as_warm: bool | None = None

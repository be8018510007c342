"""The invented ponds used on the pages, priced in the reader's preferred currency, and their seasons."""

from __future__ import annotations

import functools
import threading
from dataclasses import replace
from typing import Any

import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.results import BoundaryConditions, Season, times_of
from pondheat.core import display_units, units
from pondheat.core.places import PONDS
from pondheat.season import schedule
from pondheat.season.heaters import Heater
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.pictures.scene import PondScene

BASIN: dict[str, Any] = {"length": 4.0, "depth": 1.2, "raised": 1.2}  # m: the invented garden pond, as in its sheet


def currency() -> units.Currency:
    """The preferred currency, in which the pages show invented prices."""
    return display_units.load().currency


def invented_text(name: str = "garden_pond", money: units.Currency | None = None) -> str:
    """The sheet of a shipped pond as text, its prices in `money` (default: the preferred currency).

    The prices are invented, so they keep their numbers in any currency.
    """
    text, money = (PONDS / f"{name}.toml").read_text(encoding="utf-8"), money or currency()
    if money == units.GBP:
        return text
    return (
        text.replace('currency = "GBP"', f'currency = "{money.code}"')
        .replace("£", money.sign)
        .replace(" p/", f" {money.hundredth}/")
    )


def invented(name: str = "garden_pond", money: units.Currency | None = None) -> Sheet:
    """The sheet of a shipped pond, read; arguments as for `invented_text`."""
    return sheets.from_text(invented_text(name, money), PONDS)


def held_all_season(water_temp: float, power: float) -> Sheet:
    """The invented garden pond kept at one temperature [°C] by an electric heater of this power [W].

    It starts the season that warm, so the weeks before it need not be run.
    """
    heater = Heater("resistance", power)
    return replace(invented(), start_temp=water_temp, set_point=(((1, 1), water_temp),), heater=heater)


def garden_at_rest(**changed) -> PondScene:
    """The scene of the invented garden pond at its set point, with no heat that moves.

    changed: fields of the scene to set otherwise; a heater or a pump that gives 0 W is drawn at rest. No sheet is
    read for it: a page that needs none would wait.
    """
    return replace(PondScene(**BASIN, losses={}, water_temp=GardenSeasons.START["water_temp"]), **changed)


class GardenSeasons:
    """Seasons of the invented garden pond for values of the first panel's sliders, each simulated once."""

    CENTRE = 60  # minutes after midnight: the middle of the hours covered
    START = {"water_temp": 18.0, "hours": 14.0, "night_price": 12.0, "shelter": 50.0}  # of the sliders

    def __init__(self, money: units.Currency):
        self.sheet = invented(money=money)
        # a heated pond starts the season warm, so the weeks before it need not be run at every move
        self.sheet = replace(self.sheet, start_temp=self.sheet.set_point[0][1])
        record = assessment.weather_of(self.sheet)
        self.place = assessment.boundary_conditions(self.sheet, record)
        self.kind_of_weather = record.kind
        self._covers = functools.lru_cache(32)(self._cover)
        self.run = functools.lru_cache(32)(self._season)

    def _cover(self, hours: float) -> np.ndarray:
        return schedule.covered_share_around(times_of(self.place.hours), hours, self.CENTRE)

    def _season(self, water_temp: float, night_price: float, shelter: float, hours: float | None) -> Season:
        """One season of the pond, `hours` None without its cover; else as `moved`."""
        return assessment.run_season(*self.moved(water_temp, night_price, shelter, hours or 0), hours is not None)

    def moved(
        self, water_temp: float, night_price: float, shelter: float, hours: float
    ) -> tuple[Sheet, BoundaryConditions]:
        """The pond and its conditions for these values of the controls.

        water_temp: [°C]; night_price: [hundredth of money/kWh]; shelter: share of the wind [%]; hours: covered of each
        24.
        """
        place = replace(
            self.place,
            set_point=np.full(len(self.place.hours), float(water_temp)),
            covered=self._covers(hours),
            start_temp=float(water_temp),
        )
        tariff = self.sheet.tariff
        assert tariff is not None
        windows = tuple(replace(w, rate=night_price / 100) for w in tariff.windows)
        moved = replace(
            self.sheet,
            pond=replace(self.sheet.pond, wind_shelter=shelter / 100),
            tariff=replace(tariff, windows=windows),
            set_point=(((1, 1), float(water_temp)),),
        )
        return moved, place


_known_seasons = functools.lru_cache(2)(GardenSeasons)
_loading = threading.RLock()


def garden_seasons() -> GardenSeasons:
    """The garden pond's seasons in the preferred currency, those of the untouched sliders simulated.

    If another thread is already running them, this waits for it.
    """
    with _loading:
        seasons = _known_seasons(currency())
        water_temp, hours, night_price, shelter = seasons.START.values()
        seasons.run(water_temp, night_price, shelter, None)
        seasons.run(water_temp, night_price, shelter, hours)
        return seasons

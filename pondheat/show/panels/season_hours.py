"""A season hour by hour: its hardest hour as a picture, all its hours as a carpet with the cover's frame over it."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.heat.balance import ROUTES, Pond, moment
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.cover_frame import season_frame
from pondheat.show.panels import Panel
from pondheat.show.pictures.carpet import SeasonCarpets, day_name
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.of_sheet import scene_of
from pondheat.show.ponds import invented

WATER_TEMP, FULL = 18.0, 6000.0  # °C at first; W, of the picture's widest arrow
HARD_SHARE = 0.1  # of all hours: those that are spoken of together


class SeasonHourByHour(Panel):
    """The garden pond held at one temperature from September to May: what each hour loses, and what a cover saves."""

    def __init__(self):
        self.sheet = invented()
        self.place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        self._carpets = functools.lru_cache(8)(functools.partial(SeasonCarpets, self.place))
        self.frame = season_frame("season", self._carpets(WATER_TEMP).of(self.sheet.pond), self.sheet.currency)
        super().__init__(
            "season",
            {
                "water_temp": Slider("Water is held at", WATER_TEMP, 8, 22, 1, "degC"),
                "wind": Slider("Wind that reaches the water", 50, 30, 80, 10, "percent"),
            },
            caution="gas_exchange",
        )
        self.show_below(self.frame)

    def redraw(self, water_temp, wind):
        """The pond in the hour in which it loses most."""
        pond = replace(self.sheet.pond, wind_shelter=wind / 100)
        self.water_temp = water_temp
        self.hours = self._hours(pond)
        self.lost = self.hours[list(ROUTES)].sum(axis=1)
        self.worst = self.hours.iloc[[int(self.lost.to_numpy().argmax())]]
        self.pond = pond
        scene = scene_of(replace(self.sheet, pond=pond), self.worst, self.place.hours, has_cover=False, full=FULL)
        return pond_figure(scene, self.name, f"The hardest hour, {self._when()}: heat flows, watts"), self._text()

    def follow(self, water_temp, wind):
        """The carpet of all hours."""
        self.frame.draw(self._carpets(water_temp).of(self.pond))

    def _hours(self, pond: Pond) -> pd.DataFrame:
        """The season's hours of the open pond, its water held: one row an hour, as `scene_of` takes them."""
        counted = self.place.counted
        found = moment(replace(pond, cover=None), self.place.air, np.full(len(counted), self.water_temp))
        hours = pd.DataFrame(found, index=self.place.index)[counted]
        heater = (hours["net"] - self.sheet.pump_heat).clip(lower=0.0)
        return hours.assign(water_temp=self.water_temp, heater=heater, pump=self.sheet.pump_heat, covered=0.0, ice=0.0)

    def _when(self) -> str:
        at = times_of(self.worst)[0]
        return f"{day_name(at)}, {at:%H:%M}"

    def _text(self) -> str:
        """The hour that loses most beside the mean one, and the share of the hours that lose most."""
        watts = self.lost.sort_values(ascending=False)
        hard = watts.iloc[: round(HARD_SHARE * len(watts))]
        hour = times_of(hard).hour
        share = 100 * hard.sum() / watts.sum()
        at_night = 100 * ((hour >= 18) | (hour < 8)).mean()
        return (
            f"Held at {temperature(self.water_temp)}, the open pond loses {_kw(watts.iloc[0])} in its hardest hour "
            f"({self._when()}) and {_kw(watts.mean())} on average. The hardest tenth of the hours make up "
            f"{share:.0f} % of the season's loss; {at_night:.0f} % of them are between 18:00 and 08:00."
        )

    def arithmetic(self):
        """The hardest hour by the ways the heat goes."""
        chain = Chain()
        row = self.worst.iloc[0]
        lost = chain.add(
            f"Lost in the hour from {self._when()}",
            [
                ("evaporation", float(row["evaporation"])),
                ("convection", float(row["convection"])),
                ("radiation to the sky", float(row["long_wave"])),
                ("all else", float(sum(row[name] for name in ROUTES[3:]))),
            ],
            "W",
            source("ryan_harleman_1973"),
        )
        chain.times("In kW", (lost, "W"), (0.001, "kW/W"), "kW", f"shown above as {_kw(lost)}")
        return chain


def _kw(watts: float) -> str:
    return f"{units.significant(watts / 1000, 2)} kW"


def panel() -> SeasonHourByHour:
    """The panel of a season hour by hour."""
    return SeasonHourByHour()

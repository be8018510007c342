"""A cover over a whole season: what it saves while it is on, what it saves in total, and when to lift it."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np

from pondheat.analysis import assessment
from pondheat.analysis.results import Season, month_names, times_of
from pondheat.analysis.scenarios.cover_choices import NET_OPEN_AREA
from pondheat.core import units
from pondheat.core.display_units import temperature
from pondheat.core.sources import Constant
from pondheat.heat import balance
from pondheat.heat.covers import Cover, sheet_loss
from pondheat.season import schedule
from pondheat.show import figures
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Slider
from pondheat.show.cover_frame import season_frame
from pondheat.show.panels import Panel, known
from pondheat.show.panels.start_here import grouped
from pondheat.show.pictures.carpet import MIDNIGHT, SeasonCarpets
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.of_sheet import mean_weather, season_scene
from pondheat.show.ponds import held_all_season, invented
from pondheat.show.tables import show_table

WATER_TEMP = 18.0
AMPLE = 12_000.0  # W: a heater that always keeps up, so the two seasons differ by the cover alone
SOLID_LID = Cover("insulated lid", u_value=0.5, light=0.0, gap_air_flow=0.002)
# What others have published of pool covers: shares of the heating, and of evaporation, from low to high.
DOE_SAVING = tuple(Constant(share, "dimensionless", "doe_covers") for share in (0.50, 0.70))
COVERED_EVAPORATION = tuple(Constant(share, "dimensionless", "cal_poly_2015") for share in (0.94, 0.96))
FILM_EVAPORATION = tuple(Constant(share, "dimensionless", "cal_poly_2015") for share in (0.14, 0.16))
TITLE = "Mean heat flows, September to May, dashed: no cover"
CLOCK = {hour: f"{hour} h" for hour in (0, 6, 12, 18, 24)}


class CoverSeason(Panel):
    """The invented garden pond at 18 °C from September to May, open and covered, hour by hour."""

    CENTRE = 60  # minutes after midnight: the middle of the hours covered
    MOST = 5.0  # kW, top of the scale
    FULL = 2500.0  # W, of the picture's widest arrow

    def __init__(self):
        self.sheet = replace(held_all_season(WATER_TEMP, AMPLE), tariff=None)
        self.place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        self.open_season = assessment.run_season(
            self.sheet, self.place, covered=False
        )  # does not depend on the sliders
        self._hour_of_day = times_of(self.place.hours).hour.to_numpy()
        self._open_day = self._mean_day(self.open_season)
        self._covers = functools.lru_cache(32)(self._cover)
        self.weather = mean_weather(self.place)
        self.carpets = SeasonCarpets(self.place, WATER_TEMP)
        self.frame = season_frame("cover", self.carpets.of(self.sheet.pond), self.sheet.currency)
        super().__init__(
            "cover",
            {
                "hours": Slider("Hours covered, each night", 14, 0, 24, 1, "hour"),
                "u_value": Slider("U-value of the cover", 3.1, 0.3, 6, 0.1, "W/m**2/K"),
                "gap": Slider("Outside air that leaks under it", 2, 0, 20, 1, "L/s"),
                "light": Slider("Sun that the cover lets through", 80, 0, 90, 10, "percent"),
            },
            caution="gas_exchange",
        )
        self.show_below(self.frame)

    def redraw(self, hours, u_value, gap, light):
        """The heater's output over the mean day, open and covered."""
        covered = self._covers(hours)
        cover = replace(known(self.sheet.pond.cover), u_value=u_value, gap_air_flow=gap / 1000, light=light / 100)
        moved = replace(self.sheet, pond=replace(self.sheet.pond, cover=cover))
        self.covered_season = assessment.run_season(moved, replace(self.place, covered=covered), covered=True)
        self.hours, self.on = hours, covered
        self.saved = self.open_season.heat_kwh - self.covered_season.heat_kwh
        day = {"open": self._open_day, "covered": self._mean_day(self.covered_season)}
        self.pond = moved.pond
        scene = season_scene(
            moved,
            self.covered_season,
            self.open_season,
            **(self.weather | {"wind": self.weather["wind"] * moved.pond.wind_shelter}),
            covered=hours / 24,
            full=self.FULL,
        )
        return pond_figure(scene, self.name, TITLE, lambda: self._profile(day)), self._text()

    def _profile(self, day: dict[str, np.ndarray]) -> figures.Figure:
        """The heater's output in each hour of the average day [kW], by name of line."""
        return figures.lines(
            {name: ([0.5 + hour for hour in range(24)], list(mean)) for name, mean in day.items()},
            self.name,
            "Heat from the heater on an average day, kW, September to May",
            (0, 24),
            CLOCK,
            (0, self.MOST),
            where=lambda at: f"{int(at)}:00 to {int(at) + 1}:00",
        )

    def follow(self, hours, u_value, gap, light):
        """The carpet of this cover, with the hours covered as its frame."""
        middle = MIDNIGHT + self.CENTRE / 60
        self.frame.follow(hours, middle, (u_value, gap, light), lambda: self.carpets.of(self.pond))

    def _mean_day(self, season: Season) -> np.ndarray:
        """Heat from the heater in each hour of the average day [kW]."""
        heat = np.bincount(self._hour_of_day, season.hours["heater"].to_numpy())
        return heat / np.bincount(self._hour_of_day) / 1000

    def _cover(self, hours: float) -> np.ndarray:
        return schedule.covered_share_around(times_of(self.place.hours), hours, self.CENTRE)

    @property
    def share(self) -> float:
        """Share of the season's heat that the cover saves [%]."""
        return 100 * self.saved / self.open_season.heat_kwh

    @property
    def share_while_on(self) -> float:
        """Share of the heat that the cover saves in the hours it is on [%]."""
        seasons = self.open_season, self.covered_season
        without, with_cover = ((season.hours["heater"].to_numpy() * self.on).sum() for season in seasons)
        return 100 * (1 - with_cover / without) if without else 0.0

    def _text(self) -> str:
        kwh = units.significant(self.open_season.heat_kwh, 3)
        if not self.hours:
            return (
                f"From September to May the open pond takes {kwh} kWh of heat to stay at {temperature(WATER_TEMP)}. "
                "No cover, no saving."
            )
        nightly = "day and night" if self.hours == 24 else f"{self.hours:g} hours each night"
        text = (
            f"From September to May the open pond takes {kwh} kWh of heat to stay at {temperature(WATER_TEMP)}. "
            f"Covered {nightly} it takes {units.significant(self.covered_season.heat_kwh, 3)} kWh. The cover saves "
            f"{units.significant(self.saved, 3)} kWh, {self.share:.0f} %"
        )
        text += "." if self.hours == 24 else f"; while it is on, {self.share_while_on:.0f} %."
        warmest, ceiling = self.covered_season.highest_temp, self.sheet.ceiling
        if ceiling is not None and warmest > ceiling:
            text += (
                f" In the warmest hour the water reaches {temperature(warmest, 0)}, above this pond's limit of "
                f"{temperature(ceiling)}: take the cover off before then."
            )
        return text

    def arithmetic(self):
        """From heat loss to heat from the heater for both seasons, and the saving."""
        chain = Chain()
        given = {}
        for name, season in (("open", self.open_season), ("covered", self.covered_season)):
            lost = chain.add(
                f"Heat lost, {name}",
                list(grouped(season).items()),
                "kWh",
                f"evaporation: {source('ryan_harleman_1973')}; sky: {source('try_2010')}; cover: {source('iso_6946')}",
            )
            pump, stored = (float(season.hours[column].sum()) / 1000 for column in ("pump", "stored"))
            given[name] = chain.add(
                f"The heater must give, {name}",
                [("lost", lost), ("sun", -season.solar_kwh), ("pump's warmth", -pump), ("stored in the water", stored)],
                "kWh",
                "what is lost must be replaced",
            )
        saved = chain.add(
            "The cover saves",
            [("open", given["open"]), ("covered", -given["covered"])],
            "kWh",
            f"shown above as {units.significant(self.saved, 3)} kWh",
        )
        chain.given(
            "Share of the whole season",
            100 * saved / given["open"],
            "percent",
            f"saved ÷ open, shown above as {self.share:.0f} %",
        )
        return chain


def panel() -> CoverSeason:
    """The panel of this page."""
    return CoverSeason()


SITUATION = {"hour": 22.0, "has_cover": True, "covered": 1.0}
QUESTION = "Of the whole season's heat the cover saves …"
OPTIONS = {
    "by the clock": "less than half, because it's on for 14 hours out of 24",
    "four fifths": "four fifths, because that's what it saves while it's on",
    "between": "more than half, because more is lost at night than by day",
}
RIGHT = "between"
WORDS = {
    "by the clock": "Four fifths of 14 hours out of 24 would be right if every hour were the same. But a pond "
    "loses more heat at night than by day, and that's when the cover is on.",
    "four fifths": "That's what it saves while it's on, and the figure people quote. But by day it's off the pond "
    "and saves nothing.",
}


def lifting_hours() -> dict[str, tuple[int, int]]:
    """Hours of daylight in which a solid lid is better off the water, and all hours of daylight, by month."""
    sheet = invented()
    place = assessment.boundary_conditions(replace(sheet, start_temp=WATER_TEMP), assessment.weather_of(sheet))
    pond = replace(sheet.pond, cover=SOLID_LID)
    water = np.full(len(place.hours), WATER_TEMP)
    pays = balance.moment(pond, place.air, water, 0.0)["net"] < balance.moment(pond, place.air, water, 1.0)["net"]
    light = place.hours["solar"].to_numpy() > 0
    months = month_names(times_of(place.hours), "%B")
    return {
        month: (int((pays & light)[months == month].sum()), int(light[months == month].sum()))
        for month in dict.fromkeys(months)
    }


def print_lifting() -> None:
    """Show by month in how many hours of daylight lifting a solid lid gains more heat than it loses."""
    show_table(
        "Hours of daylight when the water is better off without a solid lid, at [18 °C]",
        ("month", "better without", "hours of daylight"),
        [(month, f"{pays}", f"{light}") for month, (pays, light) in lifting_hours().items()],
    )


def net_seasons() -> dict[str, float]:
    """Heat from the heater from September to May without anything, with a net, a sheet by night, and both [kWh]."""
    panel = CoverSeason()
    bare = replace(panel.sheet, pond=replace(panel.sheet.pond, cover=None))
    netted = replace(bare, pond=replace(bare.pond, net_open_area=NET_OPEN_AREA.value))
    both = replace(panel.sheet, pond=replace(panel.sheet.pond, net_open_area=NET_OPEN_AREA.value))
    nights = replace(panel.place, covered=panel.on)
    return {
        "nothing on it": panel.open_season.heat_kwh,
        "a mesh net, day and night": assessment.run_season(netted, panel.place, covered=False).heat_kwh,
        "a sheet by night": panel.covered_season.heat_kwh,
        "a sheet by night, a net by day": assessment.run_season(both, nights, covered=True).heat_kwh,
    }


def print_net() -> None:
    """Show what a mesh net changes over the season, beside a sheet by night."""
    heat = net_seasons()
    bare = heat["nothing on it"]
    rows = []
    for name, kwh in heat.items():
        change = "" if kwh == bare else f"{100 * (kwh / bare - 1):+.0f}".replace("-", "−")
        rows.append((name, units.significant(kwh, 3), change))
    show_table(
        f"Heat from September to May at [18 °C]; the net is {100 * NET_OPEN_AREA.value:.0f} % open",
        ("on the pond", "kWh", "change, %"),
        rows,
    )


def print_sky() -> None:
    """Show the heat loss through the same sheet under a clear and an overcast sky."""
    rows = []
    for sky, words in (
        (-12.0, "clear, with a sky like a surface at [−12 °C]"),
        (8.0, "overcast, a sky as warm as the air"),
    ):
        loss = sheet_loss(WATER_TEMP, 8.0, 1.0, sky, 1.0, 3.1)
        rows.append((words, f"{loss:.0f}", f"{loss / (3.1 * (WATER_TEMP - 8.0)):.2f}"))
    show_table(
        "A sheet of U 3.1 W/(m²·K) over water at [18 °C], air at [8 °C], wind 1 m/s",
        ("sky", "loses, W/m²", "times U × difference"),
        rows,
    )


def print_published() -> None:
    """Show what others have published of covers, each with its source."""
    published = (
        ("the heating of swimming pools saved by a cover", DOE_SAVING),
        ("evaporation stopped by a full cover", COVERED_EVAPORATION),
        ("evaporation stopped by a liquid film", FILM_EVAPORATION),
    )
    show_table(
        "Published savings of covers",
        ("what was measured", "%", "source"),
        [
            (words, f"{100 * low.value:.0f} to {100 * high.value:.0f}", source(low.source))
            for words, (low, high) in published
        ],
        texts=(2,),
    )

"""The scene of a pond sheet: its pond's sizes, and the heat that moved in hours of its season."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from pondheat.analysis.results import ROUTE_GROUPS, Assessment, BoundaryConditions, Season, times_of
from pondheat.core import toml_errors, units
from pondheat.heat.balance import Pond
from pondheat.heat.ice import ice_thickness
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.pictures.scene import PondScene


def basin_of(pond: Pond, length: float | None = None) -> dict[str, Any]:
    """Length, depth and height above the ground of a pond [m], as arguments of a `PondScene`.

    length: of the pond [m], by default the side of a square as large. The share of its walls that is against air
    is drawn above the ground.
    """
    length = length or math.sqrt(pond.surface_area)
    depth = pond.volume / pond.surface_area
    sides = 2 * (length + pond.surface_area / length) * depth
    in_air = sum(wall.area for wall in pond.walls if wall.against == "air")
    return {"length": length, "depth": depth, "raised": depth * min(1.0, in_air / sides)}


def length_of(sheet: Sheet) -> float | None:
    """The length [m] that a sheet gives its pond, None where it gives none."""
    return _length_in(sheet.text)


@functools.lru_cache(8)
def _length_in(text: str) -> float | None:
    try:
        given = toml_errors.loads(text).get("pond", {}).get("length")
        return None if given is None else units.parse(str(given), "m", bare=True)
    except units.Unreadable:
        return None


def scene_of(sheet: Sheet, hours: pd.DataFrame, weather: pd.DataFrame | None = None, **changed) -> PondScene:
    """The scene of a sheet's pond in one hour of a season, or the mean of many.

    hours: rows of a season's frame (`assessment.run_season(…).hours`, or `season.simulate`): one row is a moment, with
    its night or day; many are a mean. weather: air_temp, wind_speed and cloud_cover of the same hours and perhaps more
    (`BoundaryConditions.hours`); without it no air is shown. changed: fields of the scene to set otherwise, such as
    `full`, `fit` or `outlines`.
    """
    mean = means(hours)
    pond = sheet.pond
    scene = PondScene(
        **basin_of(pond, length_of(sheet)),
        losses=grouped_losses(mean),
        water_temp=float(mean["water_temp"]),
        sun=None if pond.room else float(mean["solar"]),
        heater=float(mean["heater"]) if sheet.is_heated else None,
        pump=float(mean["pump"]) if sheet.pump_power else None,
        has_cover=pond.cover is not None,
        covered=float(mean["covered"]) if pond.cover is not None else 0.0,
        shelter=None if pond.room else pond.wind_shelter,
        ice=float(ice_thickness(float(mean["ice"]), pond.surface_area)),
        room=pond.room,
        has_filter=bool(pond.filter_air_flow or pond.casing_u_value_area),
    )
    if weather is not None:
        of_hours = weather.reindex(hours.index)
        air = of_hours.mean()
        scene = replace(
            scene,
            air_temp=sheet.room[0] if sheet.room else float(air["air_temp"]),
            cloud=float(np.nan_to_num(air["cloud_cover"], nan=0.5)),
            wind=float(air["wind_speed"]) * pond.wind_shelter,
        )
    if len(hours) == 1:
        scene = replace(scene, **_light(hours, weather))
    return replace(scene, **changed)


def season_scene(sheet: Sheet, season: Season, open_season: Season | None = None, **changed) -> PondScene:
    """The scene of a season's mean heat flows; open_season: the same without the cover, drawn as outlines.

    changed: as for `scene_of`.
    """
    outlines = {}
    if open_season is not None:
        mean = means(open_season.hours)
        outlines = grouped_losses(mean) | ({"heater": float(mean["heater"])} if sheet.is_heated else {})
    return scene_of(sheet, season.hours, None, outlines=outlines, **changed)


def assessed_scene(found: Assessment, with_cover: bool = True, **changed) -> PondScene:
    """The scene of an assessed season as it was described, with the open pond as outlines where there is a cover.

    with_cover: otherwise the open season, all of it. changed: as for `scene_of`.
    """
    season, open_season = found.as_described, None if found.covered is None else found.open
    if not with_cover:
        season, open_season = found.open, None
        changed |= {"has_cover": False, "covered": 0.0}
    full = max(*mean_losses(found.open).values(), 1.0)
    outdoors = found.weather.hours["air_temp"].reindex(season.index)
    air_temp = found.sheet.room[0] if found.sheet.room else float(outdoors.mean())
    return replace(season_scene(found.sheet, season, open_season, full=full, air_temp=air_temp), **changed)


def mean_weather(conditions: BoundaryConditions) -> dict[str, Any]:
    """The season's mean air, cloud and wind in the open, as arguments of a `PondScene`."""
    air = means(conditions.hours[conditions.counted][["air_temp", "cloud_cover", "wind_speed"]])
    return {"air_temp": float(air["air_temp"]), "cloud": float(air["cloud_cover"]), "wind": float(air["wind_speed"])}


def mean_losses(season: Season) -> dict[str, float]:
    """Mean losses of a season by the groups of the pictures [W]."""
    return grouped_losses(means(season.hours))


def means(frame: pd.DataFrame) -> pd.Series:
    """The mean of each column of a frame of numbers."""
    return pd.Series(frame.to_numpy().mean(axis=0), frame.columns)


def grouped_losses(watts: pd.Series) -> dict[str, float]:
    """Losses by the groups of the pictures, from a row of a season's frame [W]."""
    return {group: float(sum(watts[name] for name in names)) for group, names in ROUTE_GROUPS.items()}


def _light(hours: pd.DataFrame, weather: pd.DataFrame | None) -> dict[str, Any]:
    """The middle of an hour, and when the sun rises and sets on its day, by the weather's own sun."""
    start = times_of(hours)[0]
    found: dict[str, Any] = {"hour": start.hour + 0.5}
    if weather is not None:
        index = times_of(weather)
        light = index[(index.normalize() == start.normalize()) & (weather["solar"].to_numpy() > 0)].hour
        if len(light):
            found |= {"sunrise": float(light[0]), "sunset": float(light[-1] + 1)}
    return found

"""How far the model is from measured water: a shallow, unheated, open lake, hour by hour, with nothing fitted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.core import places
from pondheat.core.sources import Constant
from pondheat.heat.balance import Pond
from pondheat.heat.evaporation import DEFAULT_EVAPORATION
from pondheat.heat.sky import DEFAULT_SKY
from pondheat.season.simulate import air_of, simulate
from pondheat.season.weather import weather as weathers
from pondheat.season.weather.weather import Weather

LAKE_FILE = places.MEASURED / "shallow_lake_2018.csv"
_LATITUDE, _LONGITUDE, _ALTITUDE = 44.15, -89.5, 336.0
LAKE_ZONE = "Etc/GMT+5"  # the file's clock, UTC−5 all year
LAKE_DEPTH = Constant(1.54, "m", "csls_data", "mean of the season; a little less in July, a little more in October")
# The error of a lake does not depend on its size: every route goes with the surface. Open water, open sky, full wind.
LAKE = Pond(10_000.0, 10_000.0 * LAKE_DEPTH.value, wind_shelter=1.0, sky_view=1.0)
SETTLING_HOURS = 72  # not scored: the water starts at its surface temperature, with layers in it that day


@dataclass(frozen=True, eq=False)
class MeasuredWater:
    """A record of weather and water.

    weather: as read; water_temp: mean of each hour over the depths [degC], NaN where it was not measured.
    """

    weather: Weather
    water_temp: np.ndarray

    @property
    def start_temp(self) -> float:
        """Water at the start of the first hour [degC], extrapolated from that hour's mean and rise."""
        return float(self.water_temp[0] - (self.water_temp[1] - self.water_temp[0]) / 2)


@dataclass(frozen=True)
class WaterError:
    """Computed minus measured water over the scored hours [K]: mean, root mean square, and largest; hours: how many."""

    bias: float
    rmse: float
    worst: float
    hours: int


def read_lake() -> MeasuredWater:
    """The shipped record of the shallow lake. Raises FileNotFoundError in an installed package."""
    places.require_clone("The measured lake")
    weather = weathers.read(
        str(LAKE_FILE), timezone=LAKE_ZONE, year=2018, latitude=_LATITUDE, longitude=_LONGITUDE, altitude=_ALTITUDE
    )
    return MeasuredWater(weather, pd.read_csv(LAKE_FILE)["water_temp [°C]"].to_numpy(float))


def computed_water(
    lake: MeasuredWater,
    evaporation: str = DEFAULT_EVAPORATION,
    sky: str = DEFAULT_SKY,
    sky_long_wave: np.ndarray | None = None,
) -> np.ndarray:
    """The lake's computed water temperature, mean of each hour [degC].

    evaporation, sky: names of formulae; sky_long_wave: [W/m²] to take instead of a sky formula by name. The model
    gives the water at each hour's end; the mean of two neighbours is compared with the hour's measured mean.
    """
    hours = lake.weather.hours
    air = air_of(hours, lake.weather.wind_height)
    if sky_long_wave is not None:
        air = replace(air, sky_long_wave=sky_long_wave)
    pond = replace(LAKE, evaporation=evaporation, sky=sky)
    end = simulate(pond, hours, air, start_temp=lake.start_temp)["water_temp"].to_numpy()
    return (np.concatenate(([lake.start_temp], end[:-1])) + end) / 2


def water_error(computed: np.ndarray, measured: np.ndarray) -> WaterError:
    """Error of computed against measured water, without the first `SETTLING_HOURS` and hours that lack a reading.

    computed, measured: [degC], one for each hour.
    """
    difference = (computed - measured)[SETTLING_HOURS:]
    difference = difference[np.isfinite(difference)]
    rmse = float(np.sqrt((difference**2).mean()))
    return WaterError(float(difference.mean()), rmse, float(np.abs(difference).max()), len(difference))

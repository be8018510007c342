"""The open surface: evaporation, convection, long wave and sun, every formula by name.

Losses are positive outward. Published evaporation formulae disagree by a factor of four at one and the same state;
they stand side by side here, each a record with its source, its wind height and what it was made for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import (
    MOLAR_RATIO,
    PSYCHROMETRIC,
    STANDARD_PRESSURE,
    STEFAN_BOLTZMANN,
    WATER_ALBEDO,
    WATER_EMISSIVITY,
    ZERO_CELSIUS,
)
from pondheat.heat.moist_air import dry_air_per_volume, vapour_pressure, water_curve
from pondheat.heat.water import latent_heat

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value
_RATIO = MOLAR_RATIO.value
_MMHG = 133.322  # Pa
_PSI = 6894.757  # Pa
_BTU_PER_HOUR_FT2 = 3.154591  # W/m²
_STEP = 0.05  # K: over so small a rise a coefficient is as good as straight


@dataclass(frozen=True)
class EvaporationFormula:
    """One published way to reckon evaporation.

    `coefficient(water_temp, air_temp, water_vapour, air_vapour, wind, pressure)` → W/m² per Pa of vapour difference;
    plain arithmetic only, so that floats and arrays both pass. `wind_height` [m], None where the source gives the wind
    over the surface "as given" or has none. `condenses`: a negative vapour difference warms the water; otherwise the
    formula stops at zero. `wind_only`: the coefficient takes nothing but the wind. `pair`: the coefficient and its slope in the water's temperature [1/K of it], from the same
    arguments with the slope of the water's vapour pressure behind it; made by a small step where none is given.
    """

    name: str
    coefficient: Callable
    source: str
    wind_height: float | None
    validity: str
    condenses: bool = True
    wind_only: bool = False
    pair: Callable | None = None

    def __post_init__(self):
        if self.pair is None:
            object.__setattr__(self, "pair", self._level if self.wind_only else self._stepped)

    def _level(self, tw, ta, pw, pa, v, p, slope):
        return self.coefficient(tw, ta, pw, pa, v, p), 0.0

    def _stepped(self, tw, ta, pw, pa, v, p, slope):
        here = self.coefficient(tw, ta, pw, pa, v, p)
        return here, (self.coefficient(tw + _STEP, ta, pw + slope * _STEP, pa, v, p) - here) / _STEP


def _carrier(tw, ta, pw, pa, v, p):
    return (89.0 + 78.2 * v) / 1000


def _quiet(tw, ta, pw, pa, v, p):
    return 0.5 * _carrier(tw, ta, pw, pa, v, p)


def _smith(tw, ta, pw, pa, v, p):
    return (64.1 + 68.2 * v) / 1000


def _rafferty(tw, ta, pw, pa, v, p):
    # lb/(h·ft²) per psi with wind in mph; 1050 Btu/lb is the latent heat the source's heat column implies (memory)
    return (0.097 + 0.038 * v / 0.44704) * 1050.0 * _BTU_PER_HOUR_FT2 / _PSI


_RYAN_FREE, _RYAN_WIND = 3.59 / _MMHG, 4.26 / _MMHG


def _ryan_pair(tw, ta, pw, pa, v, p, slope):
    lightness = 0.378 / p
    dry = 1.0 - lightness * pw
    virtual = (tw + 273.15) / dry
    warm = virtual - (ta + 273.15) / (1.0 - lightness * pa)
    warm = 0.5 * (warm + abs(warm))  # the lighter air over the water rises; nothing where it is heavier
    root = warm ** (1 / 3)
    # 1e-3 K keeps the slope finite where the root begins; the loss itself is exact
    steep = root * (1.0 + lightness * slope * virtual) / ((3.0 * warm + 3e-3) * dry)
    return _RYAN_FREE * root + _RYAN_WIND * v, _RYAN_FREE * steep


def _ryan(tw, ta, pw, pa, v, p):
    return _ryan_pair(tw, ta, pw, pa, v, p, 0.0)[0]


def _penman(tw, ta, pw, pa, v, p):
    return 6.43e6 * (1 + 0.536 * v) / 86_400 / 1000


def _penman_later(tw, ta, pw, pa, v, p):
    return 6.43e6 * (0.5 + 0.536 * v) / 86_400 / 1000


def _brady(tw, ta, pw, pa, v, p):
    return (19.0 + 0.95 * v * v) * 0.48426 / _MMHG


def _vdi(tw, ta, pw, pa, v, p):
    return 7.0 / 3600 / (461.52 * (0.5 * (tw + ta) + _KELVIN)) * (2.501e6 - 2361.0 * tw)


def _shah(tw, ta, pw, pa, v, p):
    saturated = _RATIO * pw / (p - pw)
    room = _RATIO * pa / (p - pa)
    # kg of DRY air in a cubic metre of the mixture, as the source's tables need it
    over_water = dry_air_per_volume(tw, saturated, p)
    in_room = dry_air_per_volume(ta, room, p)
    lighter = in_room - over_water
    lighter = 0.5 * (lighter + abs(lighter))
    per_pascal = 35.0 * over_water * lighter ** (1 / 3) * _RATIO * p / ((p - pw) * (p - pa))
    least = 5e-5
    rate = 0.5 * (per_pascal + least + abs(per_pascal - least))  # the larger of the two, kg/(h·m²·Pa)
    return rate / 3600 * (2.501e6 - 2361.0 * tw)


EVAPORATION: dict[str, EvaporationFormula] = {
    f.name: f
    for f in (
        EvaporationFormula(
            "ryan_harleman",
            _ryan,
            "ryan_harleman_1973",
            2.0,
            "heated ponds and cooling lakes: calm-air loss grows with the warmth of the water",
            pair=_ryan_pair,
        ),
        EvaporationFormula(
            "carrier", _carrier, "carrier_1918", None, "indoor pool with bathers; high outdoors", wind_only=True
        ),
        EvaporationFormula(
            "ashrae_quiet", _quiet, "ashrae_apps", None, "Carrier, halved for a quiet pool", wind_only=True
        ),
        EvaporationFormula(
            "smith_lof_jones", _smith, "smith_1994", None, "unoccupied outdoor heated pool, measured", wind_only=True
        ),
        EvaporationFormula(
            "rafferty_boyd", _rafferty, "rafferty_boyd", None, "outdoor fish ponds and raceways", wind_only=True
        ),
        EvaporationFormula(
            "penman_1948", _penman, "penman_1948", 2.0, "open water near air temperature", wind_only=True
        ),
        EvaporationFormula(
            "penman_1956", _penman_later, "penman_1956", 2.0, "open water near air temperature", wind_only=True
        ),
        EvaporationFormula(
            "brady_graves_geyer", _brady, "brady_1969", 7.0, "cooling lakes of power stations", wind_only=True
        ),
        EvaporationFormula("vdi_2089", _vdi, "vdi_2089", None, "indoor pool at rest; no wind term", condenses=False),
        EvaporationFormula(
            "shah_quiet", _shah, "shah_2012", None, "indoor pool, quiet, still air; no wind term", condenses=False
        ),
    )
}
DEFAULT_EVAPORATION = "ryan_harleman"


def evaporation(
    water_temp, air_temp, rel_humidity, wind_speed, formula=DEFAULT_EVAPORATION, pressure=STANDARD_PRESSURE.value
):
    """Heat lost by evaporation from open water [W/m²]; negative where vapour condenses on cold water.

    water_temp, air_temp: [degC]; rel_humidity: [–]; wind_speed: [m/s] at the formula's own height
    (`EVAPORATION[formula].wind_height`); pressure: [Pa]; floats or arrays that broadcast; formula: key of EVAPORATION.
    coefficient × (saturation pressure at the water − vapour pressure of the air). Raises OutOfRange.
    Sources: each record's own; honest accuracy of any of them ±20–30 % (Shah 2012).

    >>> round(evaporation(22.0, 10.0, 0.8, 1.0, "carrier"))
    278
    """
    require(water_temp=water_temp, wind_speed=wind_speed, pressure=pressure)
    chosen = EVAPORATION[choose("evaporation formula", formula, EVAPORATION)]
    pa = np.asarray(vapour_pressure(air_temp, rel_humidity))
    tw, ta, wind, pressure = (np.asarray(x, float) for x in (water_temp, air_temp, wind_speed, pressure))
    pw = water_curve(tw)[0]
    difference = pw - pa
    if not chosen.condenses:
        difference = np.maximum(difference, 0.0)
    # some formulae know no wind: the answer still has the shape of all that was given
    return plain(chosen.coefficient(tw, ta, pw, pa, wind, pressure) * difference + 0 * (wind + pressure))


def evaporation_rate(
    water_temp, air_temp, rel_humidity, wind_speed, formula=DEFAULT_EVAPORATION, pressure=STANDARD_PRESSURE.value
):
    """Water evaporated from an open surface [kg/(m²·h)]: `evaporation` over the latent heat at the water temperature.

    water_temp, air_temp: [degC]; rel_humidity: [–]; wind_speed: [m/s]; pressure: [Pa]; floats or arrays.
    formula: a key of EVAPORATION. Raises OutOfRange. Source: each record's own.
    """
    flux = evaporation(water_temp, air_temp, rel_humidity, wind_speed, formula, pressure)
    return plain(np.asarray(flux) * 3600 / latent_heat(water_temp))


@dataclass(frozen=True)
class ConvectionFormula:
    """A convection coefficient h = still + per_wind × wind [W/(m²·K)]."""

    name: str
    still: float
    per_wind: float
    source: str
    note: str = ""


CONVECTION: dict[str, ConvectionFormula] = {
    f.name: f
    for f in (
        ConvectionFormula(
            "mcadams", 5.7, 3.8, "mcadams_1954", "its 5.7 already holds radiation (memory): never add long wave"
        ),
        ConvectionFormula("iso_6946", 4.0, 4.0, "iso_6946"),
        ConvectionFormula("czarnecki", 3.1, 4.1, "czarnecki_1978"),
        ConvectionFormula("watmuff", 2.8, 3.0, "watmuff_1977"),
    )
}


def convection_coefficient(wind_speed, formula="iso_6946"):
    """Convection coefficient over a surface [W/(m²·K)], linear in wind.

    wind_speed: [m/s], float or array; formula: a key of CONVECTION. Raises OutOfRange. Source: each record's own.

    >>> convection_coefficient(1.0, "iso_6946")
    8.0
    """
    require(wind_speed=wind_speed)
    record = CONVECTION[choose("convection formula", formula, CONVECTION)]
    return plain(record.still + record.per_wind * np.asarray(wind_speed, float))


def convection(
    water_temp, air_temp, rel_humidity, wind_speed, formula=DEFAULT_EVAPORATION, pressure=STANDARD_PRESSURE.value
):
    """Heat lost by convection from open water [W/m²], tied to evaporation: γ × evaporation coefficient × (Tw − Ta).

    water_temp, air_temp: [degC]; rel_humidity: [–]; wind_speed: [m/s] at the evaporation formula's height;
    pressure: [Pa]; floats or arrays. formula: a key of EVAPORATION (its coefficient is used).
    The Bowen ratio written so that it holds for either sign of the vapour difference and runs smoothly through zero.
    Raises OutOfRange. Source: γ = 0.665e-3 P, FAO-56 eq 8.
    """
    require(water_temp=water_temp, wind_speed=wind_speed, pressure=pressure)
    chosen = EVAPORATION[choose("evaporation formula", formula, EVAPORATION)]
    pa = np.asarray(vapour_pressure(air_temp, rel_humidity))
    tw, ta, wind, pressure = (np.asarray(x, float) for x in (water_temp, air_temp, wind_speed, pressure))
    pw = water_curve(tw)[0]
    coefficient = chosen.coefficient(tw, ta, pw, pa, wind, pressure)
    return plain(PSYCHROMETRIC.value * pressure * coefficient * (tw - ta) + 0 * (wind + pa))


def bowen_ratio(water_temp, air_temp, rel_humidity, pressure=STANDARD_PRESSURE.value):
    """Convection over evaporation [–]: γ (Tw − Ta)/(pw − pa).

    water_temp, air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays.
    No meaning where the vapour difference is nil: inf or nan there; `convection` avoids the division.
    Raises OutOfRange. Source: FAO-56 eq 8 for γ; 8 % lower with 0.61e-3 (Lewis number).
    """
    require(water_temp=water_temp, pressure=pressure)
    difference = water_curve(np.asarray(water_temp, float))[0] - vapour_pressure(air_temp, rel_humidity)
    with np.errstate(divide="ignore", invalid="ignore"):
        return plain(
            PSYCHROMETRIC.value
            * np.asarray(pressure, float)
            * (np.asarray(water_temp, float) - np.asarray(air_temp, float))
            / difference
        )


# --- long wave ----------------------------------------------------------------------------------------------------


def _dew(vapour):
    """Dew point over water from vapour pressure [degC], as the sky formulae want it (Magnus form, FAO-56 eq 3-11)."""
    logarithm = np.log(np.maximum(vapour, 1.0) / 610.8)
    return 237.3 * logarithm / (17.27 - logarithm)


@dataclass(frozen=True)
class SkyFormula:
    """Emissivity of a clear sky from air temperature [degC] and vapour pressure [Pa]."""

    name: str
    clear: Callable
    source: str


SKY: dict[str, SkyFormula] = {
    f.name: f
    for f in (
        SkyFormula(
            "berdahl_martin",
            lambda ta, e: 0.711 + 0.56 * _dew(e) / 100 + 0.73 * (_dew(e) / 100) ** 2,
            "berdahl_martin_1984",
        ),
        SkyFormula("swinbank", lambda ta, e: (0.0552 * (ta + _KELVIN) ** 1.5 / (ta + _KELVIN)) ** 4, "swinbank_1963"),
        SkyFormula("brutsaert", lambda ta, e: 1.24 * (e / 100 / (ta + _KELVIN)) ** (1 / 7), "brutsaert_1975"),
        SkyFormula("brunt_fao56", lambda ta, e: 0.66 + 0.14 * np.sqrt(e / 1000), "fao_56"),
        SkyFormula("idso_jackson", lambda ta, e: 1 - 0.261 * np.exp(-7.77e-4 * ta**2), "idso_jackson_1969"),
        SkyFormula(
            "clark_allen", lambda ta, e: 0.787 + 0.764 * np.log((_dew(e) + _KELVIN) / _KELVIN), "clark_allen_1978"
        ),
    )
}
DEFAULT_SKY = "berdahl_martin"


def sky_emissivity(air_temp, rel_humidity, cloud_cover, formula=DEFAULT_SKY):
    """Emissivity of the sky referred to the air temperature [–], at most 1.

    air_temp: [degC]; rel_humidity: [–]; cloud_cover: [–] 0 to 1; floats or arrays. formula: a key of SKY.
    Clear-sky formula × Walton's cloud factor 1 + 0.0224 N − 0.0035 N² + 0.00028 N³, N in tenths. Raises OutOfRange.
    Sources: each record's own; cloud: Walton 1983. Clear-sky formulae differ by some 6 K of sky temperature.

    >>> round(sky_emissivity(10.0, 0.8, 0.0, "swinbank"), 3)
    0.744
    """
    require(cloud_cover=cloud_cover)
    chosen = SKY[choose("sky formula", formula, SKY)]
    vapour = np.maximum(np.asarray(vapour_pressure(air_temp, rel_humidity)), 1.0)
    tenths = 10 * np.asarray(cloud_cover, float)
    cloud = 1 + 0.0224 * tenths - 0.0035 * tenths**2 + 0.00028 * tenths**3
    return plain(np.minimum(chosen.clear(np.asarray(air_temp, float), vapour) * cloud, 1.0))


def sky_temperature(air_temp, rel_humidity, cloud_cover, formula=DEFAULT_SKY):
    """Temperature of a black sky that sends down the same radiation [degC].

    air_temp: [degC]; rel_humidity, cloud_cover: [–]; floats or arrays. formula: a key of SKY. Raises OutOfRange.
    Source: as `sky_emissivity`.
    """
    emissivity = np.asarray(sky_emissivity(air_temp, rel_humidity, cloud_cover, formula))
    return plain(emissivity**0.25 * (np.asarray(air_temp, float) + _KELVIN) - _KELVIN)


def black_body(temp):
    """Radiation of a black surface at temp [degC] in W/m², unchecked."""
    square = (temp + _KELVIN) * (temp + _KELVIN)  # numpy's fourth power is several times slower
    return _SIGMA * square * square


def long_wave_loss(
    water_temp,
    air_temp,
    rel_humidity,
    cloud_cover,
    sky_view=1.0,
    emissivity=WATER_EMISSIVITY.value,
    formula=DEFAULT_SKY,
):
    """Net heat lost by long-wave radiation [W/m²]: to the sky, and to surroundings at air temperature for the rest.

    water_temp, air_temp: [degC]; rel_humidity, cloud_cover, sky_view, emissivity: [–]; floats or arrays.
    formula: a key of SKY. sky_view·ε σ (Tw⁴ − ε_sky Ta⁴) + (1 − sky_view)·ε σ (Tw⁴ − Ta⁴), kelvin. Raises OutOfRange.
    Source: Stefan–Boltzmann (CODATA 2018); sky as `sky_emissivity`.
    """
    require(water_temp=water_temp, sky_view=sky_view, emissivity=emissivity)
    sky = np.asarray(sky_emissivity(air_temp, rel_humidity, cloud_cover, formula))
    view = np.asarray(sky_view, float)
    incoming = black_body(np.asarray(air_temp, float)) * (view * sky + 1 - view)
    return plain(np.asarray(emissivity, float) * (black_body(np.asarray(water_temp, float)) - incoming))


# --- sun and wind -------------------------------------------------------------------------------------------------


def solar_gain(solar):
    """Sun taken up by open water [W/m²]: (1 − albedo) × irradiance.

    solar: [W/m²] on the level, float or array. Albedo 0.08 (0.06–0.10 in texts, memory). Raises OutOfRange.
    Source: `core.sources.WATER_ALBEDO`.

    >>> round(solar_gain(100.0), 1)
    92.0
    """
    require(solar=solar)
    return plain((1 - WATER_ALBEDO.value) * np.asarray(solar, float))


PROFILES = ("fao56", "power")


def wind_at_height(wind_speed, from_height, to_height, profile="fao56"):
    """Wind speed brought from one height to another [m/s], over open ground.

    wind_speed: [m/s]; from_height, to_height: [m]; floats or arrays. profile: "fao56" (logarithmic over short grass,
    eq 47, heights above 0.1 m) or "power" (one-seventh power; memory). Raises OutOfRange. Source: FAO-56 eq 47.

    >>> round(wind_at_height(3.2, 10.0, 2.0), 1)      # FAO-56 Example 14 prints 2.4
    2.4
    """
    require(wind_speed=wind_speed, from_height=from_height, to_height=to_height)
    choose("wind profile", profile, PROFILES)
    wind, low, high = (np.asarray(x, float) for x in (wind_speed, from_height, to_height))
    if profile == "power":
        return plain(wind * (high / low) ** (1 / 7))
    if np.any(67.8 * np.minimum(low, high) <= 6.5):
        raise OutOfRange("The FAO-56 wind profile holds above 0.1 m height only; use profile=power below.")
    return plain(wind * np.log(67.8 * high - 5.42) / np.log(67.8 * low - 5.42))

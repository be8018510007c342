"""The open surface: evaporation, convection, long wave and sun. Losses are positive outward."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import PSYCHROMETRIC, STANDARD_PRESSURE, WATER_ALBEDO, WATER_EMISSIVITY, ZERO_CELSIUS
from pondheat.heat import sky
from pondheat.heat.evaporation import DEFAULT_EVAPORATION, EVAPORATION, evaporation_coefficient
from pondheat.heat.moist_air import saturation_curve, vapour_pressure
from pondheat.heat.sky import DEFAULT_SKY, SKY, black_body
from pondheat.heat.water import latent_heat

_KELVIN = ZERO_CELSIUS.value


def _coefficient_and_difference(water_temp, air_temp, rel_humidity, wind_speed, formula, pressure):
    """Coefficient of a formula [W/(m²·Pa)] and the vapour difference that drives it [Pa], after checking everything."""
    require(water_temp=water_temp, wind_speed=wind_speed, pressure=pressure)
    record = EVAPORATION[choose("evaporation formula", formula, EVAPORATION)]
    air_vapour = np.asarray(vapour_pressure(air_temp, rel_humidity))
    water_temp, air_temp, wind_speed, pressure = (
        np.asarray(value, float) for value in (water_temp, air_temp, wind_speed, pressure)
    )
    water_vapour, slope = saturation_curve(water_temp)
    coefficient = evaporation_coefficient(
        record.number, water_temp, air_temp, water_vapour, slope, air_vapour, wind_speed, pressure
    )[0]
    # some formulae know no wind: the answer still has the shape of all that was given
    shape = 0.0 * (wind_speed + pressure + air_vapour)
    difference = water_vapour - air_vapour
    return coefficient + shape, difference if record.condenses else np.maximum(difference, 0.0)


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
    coefficient, difference = _coefficient_and_difference(
        water_temp, air_temp, rel_humidity, wind_speed, formula, pressure
    )
    return plain(coefficient * difference)


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
            "mcadams",
            5.7,
            3.8,
            "mcadams_1954",
            "its 5.7 already includes radiation (memory): never add radiation to it",
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
    coefficient = _coefficient_and_difference(water_temp, air_temp, rel_humidity, wind_speed, formula, pressure)[0]
    warmer = np.asarray(water_temp, float) - np.asarray(air_temp, float)
    return plain(PSYCHROMETRIC.value * np.asarray(pressure, float) * coefficient * warmer)


def bowen_ratio(water_temp, air_temp, rel_humidity, pressure=STANDARD_PRESSURE.value):
    """Convection over evaporation [–]: γ (Tw − Ta)/(pw − pa).

    water_temp, air_temp: [degC]; rel_humidity: [–]; pressure: [Pa]; floats or arrays.
    No meaning where the vapour difference is nil: inf or nan there; `convection` avoids the division.
    Raises OutOfRange. Source: FAO-56 eq 8 for γ; 8 % lower with 0.61e-3 (Lewis number).
    """
    require(water_temp=water_temp, pressure=pressure)
    difference = saturation_curve(np.asarray(water_temp, float))[0] - vapour_pressure(air_temp, rel_humidity)
    with np.errstate(divide="ignore", invalid="ignore"):
        return plain(
            PSYCHROMETRIC.value
            * np.asarray(pressure, float)
            * (np.asarray(water_temp, float) - np.asarray(air_temp, float))
            / difference
        )


# --- long wave ----------------------------------------------------------------------------------------------------


def sky_emissivity(air_temp, rel_humidity, cloud_cover, formula=DEFAULT_SKY):
    """Emissivity of the sky referred to the air temperature [–], at most 1.

    air_temp: [degC]; rel_humidity: [–]; cloud_cover: [–] 0 to 1; floats or arrays. formula: a key of SKY.
    Cloud that was observed; `sky_emissivity_by_sun` is for cloud judged from the sun. By default the clear sky ε of
    Idso and Jackson, and ε + (1 − ε)·0.75 N^3.4. Named after a clear sky: its ε × Walton's cloud factor 1 + 0.0224 N −
    0.0035 N² + 0.00028 N³, N in tenths. Raises OutOfRange. Sources: Crawford & Duchon 1999 with the sun behind cloud by
    Kasten & Czeplak 1980; others: each record's own. Clear-sky formulae differ by some 6 K of sky temperature.

    >>> round(sky_emissivity(10.0, 0.8, 0.0, "swinbank"), 3)
    0.744
    """
    require(cloud_cover=cloud_cover)
    record = SKY[choose("sky formula", formula, SKY)]
    vapour = np.asarray(vapour_pressure(air_temp, rel_humidity))
    return plain(sky.sky_emissivity(record, np.asarray(air_temp, float), vapour, np.asarray(cloud_cover, float)))


def sky_emissivity_by_sun(air_temp, rel_humidity, sun_dimming, formula=DEFAULT_SKY):
    """Emissivity of the sky referred to the air temperature [–], with the cloud judged from the sun, at most 1.

    air_temp: [degC]; rel_humidity: [–]; sun_dimming: [–] share of the clear sky's sun that is kept off, 0 to 1; floats
    or arrays. formula: a key of SKY. By default ε + (1 − ε)·sun_dimming with the clear sky ε of Berdahl and Martin.
    Raises OutOfRange. Sources: Crawford & Duchon 1999; others: each record's own.

    >>> round(sky_emissivity_by_sun(10.0, 0.8, 0.5), 3)
    0.876
    """
    require(sun_dimming=sun_dimming)
    record = SKY[choose("sky formula", formula, SKY)]
    vapour = np.asarray(vapour_pressure(air_temp, rel_humidity))
    dimming = np.asarray(sun_dimming, float)
    return plain(sky.sky_emissivity(record, np.asarray(air_temp, float), vapour, 0.0 * dimming, dimming))


def sky_temperature(air_temp, rel_humidity, cloud_cover, formula=DEFAULT_SKY):
    """Temperature of a black sky that sends down the same radiation [degC].

    air_temp: [degC]; rel_humidity, cloud_cover: [–]; floats or arrays. formula: a key of SKY. Raises OutOfRange.
    Source: as `sky_emissivity`.
    """
    emissivity = np.asarray(sky_emissivity(air_temp, rel_humidity, cloud_cover, formula))
    return plain(emissivity**0.25 * (np.asarray(air_temp, float) + _KELVIN) - _KELVIN)


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
    from_sky = np.asarray(sky_emissivity(air_temp, rel_humidity, cloud_cover, formula))
    view = np.asarray(sky_view, float)
    incoming = black_body(np.asarray(air_temp, float)) * (view * from_sky + 1 - view)
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

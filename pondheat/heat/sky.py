"""Long-wave radiation: black surfaces, and what the published formulae say of a clear and of a cloudy sky."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pondheat.core.compilation import exp, formula, log, maximum, minimum
from pondheat.core.sources import STEFAN_BOLTZMANN, ZERO_CELSIUS

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value


@formula
def black_body(temp):
    """Radiation of a black surface [W/m²] at temp [degC], unchecked."""
    square = (temp + _KELVIN) * (temp + _KELVIN)  # several times faster than a fourth power of arrays
    return _SIGMA * square * square


@formula
def _magnus_dew_point(vapour):
    """Dew point over water [degC] from vapour pressure [Pa]: Magnus form, the one that sky formulae use (FAO-56)."""
    logarithm = log(maximum(vapour, 1.0) / 610.8)
    return 237.3 * logarithm / (17.27 - logarithm)


@formula
def _berdahl_martin(_, vapour):
    dew_point = _magnus_dew_point(vapour) / 100
    return 0.711 + 0.56 * dew_point + 0.73 * dew_point * dew_point


@formula
def _swinbank(air_temp, _):
    kelvin = air_temp + _KELVIN
    return (0.0552 * kelvin**1.5 / kelvin) ** 4


@formula
def _brutsaert(air_temp, vapour):
    return 1.24 * (vapour / 100 / (air_temp + _KELVIN)) ** (1 / 7)


@formula
def _brunt_fao56(_, vapour):
    return 0.66 + 0.14 * (vapour / 1000) ** 0.5


@formula
def _idso_jackson(air_temp, _):
    return 1 - 0.261 * exp(-7.77e-4 * air_temp * air_temp)


@formula
def _clark_allen(_, vapour):
    return 0.787 + 0.764 * log((_magnus_dew_point(vapour) + _KELVIN) / _KELVIN)


@formula
def cloud_factor(cloud_cover):
    """Emissivity of a sky with cloud_cover [–] over that of the clear sky [–] (Walton 1983, cover in tenths)."""
    tenths = 10.0 * cloud_cover
    return 1 + tenths * (0.0224 + tenths * (-0.0035 + tenths * 0.00028))


@dataclass(frozen=True)
class SkyFormula:
    """Emissivity of a clear sky: `clear(air_temp [degC], vapour [Pa])` → [–]."""

    name: str
    clear: Callable
    source: str


def cloudy_emissivity(formula: SkyFormula, air_temp, vapour, cloud_cover):
    """Emissivity of the sky [–], at most 1, unchecked arrays.

    air_temp: [degC]; vapour in Pa; cloud_cover: [–]. The formula's clear sky × `cloud_factor`.
    """
    vapour = maximum(vapour, 1.0)
    # a formula may know only one of the two: the answer still has the shape of both
    shape = 0.0 * (air_temp + vapour)
    return minimum(formula.clear(air_temp, vapour) * cloud_factor(cloud_cover), 1.0) + shape


SKY: dict[str, SkyFormula] = {
    record.name: record
    for record in (
        SkyFormula("berdahl_martin", _berdahl_martin, "berdahl_martin_1984"),
        SkyFormula("swinbank", _swinbank, "swinbank_1963"),
        SkyFormula("brutsaert", _brutsaert, "brutsaert_1975"),
        SkyFormula("brunt_fao56", _brunt_fao56, "fao_56"),
        SkyFormula("idso_jackson", _idso_jackson, "idso_jackson_1969"),
        SkyFormula("clark_allen", _clark_allen, "clark_allen_1978"),
    )
}
DEFAULT_SKY = "berdahl_martin"

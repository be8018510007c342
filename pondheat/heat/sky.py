"""Long-wave radiation: black surfaces, and what the published formulae say of a clear and of a cloudy sky."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pondheat.core.compilation import exp, formula, log, maximum, minimum, where
from pondheat.core.sources import STEFAN_BOLTZMANN, ZERO_CELSIUS, Constant

_KELVIN = ZERO_CELSIUS.value
_SIGMA = STEFAN_BOLTZMANN.value
CLOUD_BASE = Constant(2000.0, "m", "martin_berdahl_1984", "low cloud, where its height is not known (memory)")
CLOUD_SCALE = Constant(8200.0, "m", "martin_berdahl_1984", "over which a cloud's share fades with its base (memory)")
_CLOUD_BASE, _CLOUD_SCALE = CLOUD_BASE.value, CLOUD_SCALE.value


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


@formula
def dimming_of_cloud(cloud_cover):
    """Share of the clear sky's sun that a cloud_cover [–] keeps off [–] (Kasten & Czeplak 1980)."""
    return 0.75 * cloud_cover**3.4


@formula
def cloud_of_dimming(sun_dimming):
    """Cloud cover [–] judged from the share of the sun that is kept off [–]; see `season.sun.cloud_from_clearness`."""
    return (minimum(maximum(sun_dimming, 0.0), 0.75) / 0.75) ** 0.5


@formula
def _walton(clear, cloud_cover):
    return clear * cloud_factor(cloud_cover)


@formula
def _walton_by_sun(clear, sun_dimming):
    return clear * cloud_factor(cloud_of_dimming(sun_dimming))


@formula
def _crawford_duchon(clear, sun_dimming):
    return clear + (1 - clear) * sun_dimming


@formula
def _kasten_crawford(clear, cloud_cover):
    return clear + (1 - clear) * dimming_of_cloud(cloud_cover)


@formula
def _fao56(clear, sun_dimming):
    return clear + (1 - clear) * minimum(1.35 * sun_dimming, 1.0)


@formula
def _kasten_fao56(clear, cloud_cover):
    return clear + (1 - clear) * minimum(1.35 * dimming_of_cloud(cloud_cover), 1.0)


@formula
def _martin_berdahl(clear, cloud_cover):
    return clear + (1 - clear) * cloud_cover * exp(-_CLOUD_BASE / _CLOUD_SCALE)


@formula
def _martin_berdahl_by_sun(clear, sun_dimming):
    return clear + (1 - clear) * cloud_of_dimming(sun_dimming) * exp(-_CLOUD_BASE / _CLOUD_SCALE)


@dataclass(frozen=True)
class ClearSky:
    """Emissivity of a clear sky: `emissivity(air_temp [degC], vapour [Pa])` → [–]."""

    name: str
    emissivity: Callable
    source: str


@dataclass(frozen=True)
class CloudRule:
    """What cloud does to a clear sky.

    observed: (clear-sky emissivity, cloud cover) → emissivity [–], for cloud that somebody or a satellite saw; by_sun:
    (clear-sky emissivity, sun dimming) → emissivity [–], for cloud judged from the sun.
    """

    name: str
    observed: Callable
    by_sun: Callable
    source: str


CLEAR_SKY: dict[str, ClearSky] = {
    record.name: record
    for record in (
        ClearSky("berdahl_martin", _berdahl_martin, "berdahl_martin_1984"),
        ClearSky("swinbank", _swinbank, "swinbank_1963"),
        ClearSky("brutsaert", _brutsaert, "brutsaert_1975"),
        ClearSky("brunt_fao56", _brunt_fao56, "fao_56"),
        ClearSky("idso_jackson", _idso_jackson, "idso_jackson_1969"),
        ClearSky("clark_allen", _clark_allen, "clark_allen_1978"),
    )
}
CLOUD_RULES: dict[str, CloudRule] = {
    record.name: record
    for record in (
        CloudRule("walton", _walton, _walton_by_sun, "walton_1983"),
        CloudRule("crawford_duchon", _kasten_crawford, _crawford_duchon, "crawford_duchon_1999"),
        CloudRule("fao56", _kasten_fao56, _fao56, "fao_56"),
        CloudRule("martin_berdahl", _martin_berdahl, _martin_berdahl_by_sun, "martin_berdahl_1984"),
    )
}


@dataclass(frozen=True)
class SkyFormula:
    """Emissivity of a clear or cloudy sky.

    clear: the clear sky where cloud was observed; clear_by_sun: where cloud is judged from the sun; cloud: what cloud
    adds to either. An hour without a single cloud in an observer's eye is hazier than one in which the sun is as
    strong as it can be, so the two may differ.
    """

    name: str
    clear: ClearSky
    clear_by_sun: ClearSky
    cloud: CloudRule

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the bibliography, each once."""
        return tuple(dict.fromkeys((self.clear.source, self.clear_by_sun.source, self.cloud.source)))


def sky_emissivity(formula: SkyFormula, air_temp, vapour, cloud_cover, sun_dimming=None):
    """Emissivity of the sky [–], at most 1, unchecked arrays.

    air_temp: [degC]; vapour in Pa; cloud_cover: [–] observed; sun_dimming: [–] where cloud is judged from the sun, NaN
    (or None) where it was observed.
    """
    vapour = maximum(vapour, 1.0)
    # a formula may know only one of the two: the answer still has the shape of both
    shape = 0.0 * (air_temp + vapour)
    found = formula.cloud.observed(formula.clear.emissivity(air_temp, vapour) + shape, cloud_cover)
    if sun_dimming is not None:
        clear = formula.clear_by_sun.emissivity(air_temp, vapour) + shape
        judged = sun_dimming == sun_dimming
        found = where(judged, formula.cloud.by_sun(clear, where(judged, sun_dimming, 0.0)), found)
    return minimum(found, 1.0)


def _formula(name: str, clear: str, cloud: str, clear_by_sun: str | None = None) -> SkyFormula:
    return SkyFormula(name, CLEAR_SKY[clear], CLEAR_SKY[clear_by_sun or clear], CLOUD_RULES[cloud])


# The six that bear a clear sky's name go with Walton's cloud factor.
SKY: dict[str, SkyFormula] = {
    record.name: record
    for record in (
        _formula("crawford_duchon", "idso_jackson", "crawford_duchon", clear_by_sun="berdahl_martin"),
        *(_formula(name, name, "walton") for name in CLEAR_SKY),
        _formula("crawford_duchon_brunt", "brunt_fao56", "crawford_duchon"),
        _formula("fao56", "brunt_fao56", "fao56"),
        _formula("martin_berdahl", "berdahl_martin", "martin_berdahl"),
    )
}
DEFAULT_SKY = "crawford_duchon"

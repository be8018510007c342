"""How far the evaporation formulae differ for one pond: at one moment, and over a season in heat and money."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pondheat.analysis import assessment
from pondheat.analysis.uncertain_inputs import FORMULAS, NEAR_SURFACE, SKY_FORMULAS
from pondheat.heat import surface
from pondheat.heat.evaporation import FORMULA_WIND_HEIGHT
from pondheat.heat.sky import SkyFormula
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet


@dataclass(frozen=True)
class FormulaInfo:
    """An evaporation formula in words.

    title: its name; remark: what it was made for; outdoors: whether it suits a pond outdoors with the wind at 2 m.
    """

    title: str
    remark: str
    outdoors: bool = True


FORMULA_INFO: dict[str, FormulaInfo] = {
    "ryan_harleman": FormulaInfo(
        "Ryan and Harleman", "made for heated ponds; its loss in calm air grows with the warmth of the water"
    ),
    "carrier": FormulaInfo(
        "Carrier", "made for indoor pools with bathers; in the open wind it cools water too much", outdoors=False
    ),
    "ashrae_quiet": FormulaInfo("Carrier, halved", "the same, for a quiet pool"),
    "smith_lof_jones": FormulaInfo(
        "Smith, Löf and Jones",
        "measured at an outdoor heated pool, with the wind close over the "
        "water; in the wind at 2 m it cools water too much",
        outdoors=False,
    ),
    "rafferty_boyd": FormulaInfo("Rafferty and Boyd", "made for fish ponds and raceways outdoors"),
    "penman_1948": FormulaInfo(
        "Penman 1948", "made for open water near the air's temperature; its author halved the calm-air part later"
    ),
    "penman_1956": FormulaInfo("Penman 1956", "made for open water near the air's temperature"),
    "brady_graves_geyer": FormulaInfo(
        "Brady, Graves and Geyer", "made for the cooling lakes of power stations, with the wind at 7 m"
    ),
    "vdi_2089": FormulaInfo("VDI 2089", "made for indoor pools; it knows no wind", outdoors=False),
    "shah_quiet": FormulaInfo(
        "Shah", "made for still air indoors; it knows no wind and takes too little outdoors", outdoors=False
    ),
}


def in_uncertainty(formula: str) -> bool:
    """Whether the Monte Carlo uncertainty of a season samples this formula."""
    return formula in FORMULAS


def skies_in_uncertainty() -> tuple[SkyFormula, ...]:
    """The sky formulae that the Monte Carlo uncertainty of a season samples, the default first."""
    return tuple(surface.SKY[name] for name in dict.fromkeys(SKY_FORMULAS))


@dataclass(frozen=True)
class FormulaSeason:
    """A season by one formula, open and (None without a cover) covered.

    Heat [kWh]; money [money], None without a tariff; short_hours: with the heater at its limit and the water too cold,
    in which case the money is too little; lowest_temp: of the water [degC]; wind: factor on the sheet's wind shelter
    [–], 1 except for a formula of wind close over the water.
    """

    formula: str
    open_kwh: float
    covered_kwh: float | None
    open_money: float | None
    covered_money: float | None
    short_hours: int
    lowest_temp: float
    wind: float = 1.0

    @property
    def title(self) -> str:
        """The formula's name, with its wind where that was changed."""
        near = "" if self.wind == 1 else f", at {self.wind:g} of the wind"
        return f"{FORMULA_INFO[self.formula].title}{near}"


def evaporation_by_formula(
    water_temp: float, air_temp: float, rel_humidity: float, wind_speed: float
) -> dict[str, float]:
    """Evaporative heat loss of open water by every formula [W/m²], smallest first.

    water_temp, air_temp [degC]; rel_humidity [–]; wind_speed over the water at 2 m [m/s], converted to each formula's
    own height. Raises OutOfRange.
    """
    found = {}
    for name, record in surface.EVAPORATION.items():
        height = record.wind_height or FORMULA_WIND_HEIGHT
        wind = surface.wind_at_height(wind_speed, FORMULA_WIND_HEIGHT, height)
        found[name] = float(surface.evaporation(water_temp, air_temp, rel_humidity, wind, name))
    return dict(sorted(found.items(), key=lambda item: item[1]))


def seasons_by_formula(
    sheet: Sheet, record: Weather | None = None, progress: Callable[[float], None] | None = None
) -> tuple[FormulaSeason, ...]:
    """The sheet's season by each formula of `heat.surface.EVAPORATION`, all else equal, the least heat first.

    Last come those of `uncertain_inputs.NEAR_SURFACE` again, in the wind they were measured in. record: weather
    already read, otherwise the sheet's own source; progress: called with the share done, 0–1. Raises what
    `assessment.weather_of` and `assessment.boundary_conditions` raise.
    """
    record = record or assessment.weather_of(sheet)
    conditions = assessment.boundary_conditions(sheet, record)
    runs = [(name, 1.0) for name in surface.EVAPORATION] + list(NEAR_SURFACE.items())
    found = []
    for done, (name, wind) in enumerate(runs, 1):
        pond = replace(sheet.pond, evaporation=name, wind_shelter=wind * sheet.pond.wind_shelter)
        changed = replace(sheet, pond=pond)
        open_season = assessment.run_season(changed, conditions, covered=False)
        covered_season = assessment.run_season(changed, conditions, covered=True) if sheet.pond.cover else None
        found.append(
            FormulaSeason(
                name,
                open_season.heat_kwh,
                None if covered_season is None else covered_season.heat_kwh,
                open_season.money,
                None if covered_season is None else covered_season.money,
                open_season.short_hours,
                open_season.lowest_temp,
                wind,
            )
        )
        if progress is not None:
            progress(done / len(runs))
    return tuple(sorted(found, key=lambda one: (one.wind != 1, one.open_kwh)))

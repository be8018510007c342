"""One pond by every evaporation formula: how far they lie apart, at one moment and over a season, in money."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pondheat.analysis import assessment
from pondheat.analysis.uncertainty import FORMULAS as IN_THE_BANDS
from pondheat.analysis.uncertainty import NEAR_SURFACE
from pondheat.heat import surface
from pondheat.heat.balance import FORMULA_WIND_HEIGHT
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet


@dataclass(frozen=True)
class Known:
    """A formula as a reader meets it: its name in words, what to know of it, whether it is taken for a pond outdoors in
    the wind at 2 m."""

    title: str
    remark: str
    outdoors: bool = True


KNOWN: dict[str, Known] = {
    "ryan_harleman": Known(
        "Ryan and Harleman", "made for heated ponds; its loss in calm air grows with the warmth of the water"
    ),
    "carrier": Known(
        "Carrier", "made for indoor pools with bathers; in the open wind it cools water too much", outdoors=False
    ),
    "ashrae_quiet": Known("Carrier, halved", "the same, for a quiet pool"),
    "smith_lof_jones": Known(
        "Smith, Löf and Jones",
        "measured at an outdoor heated pool, with the wind close over the "
        "water; in the wind at 2 m it cools water too much",
        outdoors=False,
    ),
    "rafferty_boyd": Known("Rafferty and Boyd", "made for fish ponds and raceways outdoors"),
    "penman_1948": Known(
        "Penman 1948", "made for open water near the air's temperature; its author halved the calm-air part later"
    ),
    "penman_1956": Known("Penman 1956", "made for open water near the air's temperature"),
    "brady_graves_geyer": Known(
        "Brady, Graves and Geyer", "made for the cooling lakes of power stations, with the wind at 7 m"
    ),
    "vdi_2089": Known("VDI 2089", "made for indoor pools; it knows no wind", outdoors=False),
    "shah_quiet": Known(
        "Shah", "made for still air indoors; it knows no wind and takes too little outdoors", outdoors=False
    ),
}


def banded(formula: str) -> bool:
    """Whether the bands of the other pages take this formula, in some wind."""
    return formula in IN_THE_BANDS


@dataclass(frozen=True)
class Apart:
    """One formula's season, open and as the sheet covers it: heat [kWh], money [money] (None without a tariff), hours in
    which the heater at its limit was short (the money is then too little), lowest water [degC].

    wind: what the sheet's wind shelter was multiplied by [–]; 1 but for a formula of wind close over the water.
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
        """The formula's name in words."""
        near = "" if self.wind == 1 else f", at {self.wind:g} of the wind"
        return f"{KNOWN[self.formula].title}{near}"


def moment(water_temp: float, air_temp: float, rel_humidity: float, wind_speed: float) -> dict[str, float]:
    """Heat that evaporation takes from open water by every formula [W/m²], the least first.

    water_temp, air_temp: [degC]; rel_humidity: [–]; wind_speed: [m/s] over the water at 2 m, brought from there to each
    formula's own height. Raises OutOfRange.
    """
    found = {}
    for name, record in surface.EVAPORATION.items():
        height = record.wind_height or FORMULA_WIND_HEIGHT
        wind = surface.wind_at_height(wind_speed, FORMULA_WIND_HEIGHT, height)
        found[name] = float(surface.evaporation(water_temp, air_temp, rel_humidity, wind, name))
    return dict(sorted(found.items(), key=lambda item: item[1]))


def apart(
    sheet: Sheet, record: Weather | None = None, progress: Callable[[float], None] | None = None
) -> tuple[Apart, ...]:
    """The sheet's season by each formula of `heat.surface.EVAPORATION`, all else alike, the least heat first; behind them
    those of `analysis.uncertainty.NEAR_SURFACE` once more, in the wind they were measured in.

    progress: called with the share done, 0–1. Raises what `analysis.assessment.weather_of` and `analysis.assessment.setting` raise.
    """
    record = record or assessment.weather_of(sheet)
    place = assessment.setting(sheet, record)
    asked = [(name, 1.0) for name in surface.EVAPORATION] + list(NEAR_SURFACE.items())
    made = []
    for done, (name, wind) in enumerate(asked, 1):
        pond = replace(sheet.pond, evaporation=name, wind_shelter=wind * sheet.pond.wind_shelter)
        one = replace(sheet, pond=pond)
        bare = assessment.run_season(one, place, covered=False)
        lidded = assessment.run_season(one, place, covered=True) if sheet.pond.cover else None
        made.append(
            Apart(
                name,
                bare.heat_kwh,
                lidded and lidded.heat_kwh,
                bare.money,
                lidded and lidded.money,
                bare.short_hours,
                bare.lowest_temp,
                wind,
            )
        )
        if progress is not None:
            progress(done / len(asked))
    return tuple(sorted(made, key=lambda one: (one.wind != 1, one.open_kwh)))

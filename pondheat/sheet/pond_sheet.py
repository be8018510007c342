"""Read pond sheets: one TOML file that describes a pond, with values as people write them.

An error lists everything that is wrong with a sheet, each with its key, the value given, what is plausible and a likely
correction. `KEYS` has all keys with their meanings.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pondheat.core import toml_errors, units, value_parsers
from pondheat.core.display_units import quantity, temperature
from pondheat.core.files import NotThere, read_input_text, why_not_read
from pondheat.core.time_zones import zone_place
from pondheat.core.value_parsers import TableReader
from pondheat.heat import surface
from pondheat.heat.balance import Pond
from pondheat.money import emissions, tariffs
from pondheat.season import heaters
from pondheat.season.weather import towns
from pondheat.season.weather.town_weather import SOURCE as TOWN
from pondheat.sheet import parts
from pondheat.sheet.construction import RAISED, SUNK
from pondheat.sheet.keys import KEYS, SheetError, SheetFault
from pondheat.sheet.parts import CoverPlan
from pondheat.sheet.toml_writer import text_of, with_values
from pondheat.sheet.unstated import SKY_VIEW, WIND_SHELTER, unstated_keys
from pondheat.sheet.values import (
    Reader,
    date,
    emission_factor,
    keys_of_the_sheet,
    mains,
    one_of,
    set_point,
    water_change,
    whole,
)

__all__ = ["KEYS", "CoverPlan", "SheetFault", "Sheet", "SheetError", "from_text", "read", "text_of", "with_values"]
_ROOMS = ("room", "greenhouse", "pond house")
_MOST_PUMP = 20_000  # W; a pond pump takes tens to hundreds


@dataclass(frozen=True)
class Sheet:
    """A pond sheet in the library's own units.

    start, end: of the season, None for the whole of the weather; cover_plan: hours and price of `pond.cover`;
    set_point: steps ((month, day), °C or None for no heat); floor, ceiling: lowest and highest accepted water
    temperature [°C]; room: air temperature [°C] and relative humidity [–] of a room round the pond; pump_power,
    pump_heat [W]; mains_temp [°C] by month; gas_rate [money/kWh]; emission_factors: of electricity and gas;
    heat_pump_price: of one that might be bought, fitted [money]; wind_height [m]; assumed: keys whose values are
    guesses; unstated: keys and tables of `unstated.UNSTATED` that the sheet does not give; town: whose weather is meant
    where `weather` is “town”; folder: of the file.
    """

    name: str
    timezone: str
    currency: units.Currency
    start: dt.date | None
    end: dt.date | None
    pond: Pond
    cover_plan: CoverPlan
    set_point: tuple = ()
    floor: float | None = None
    ceiling: float | None = None
    start_temp: float | None = None
    room: tuple[float, float] | None = None
    pump_power: float = 0.0
    pump_heat: float = 0.0
    mains_temp: tuple[float, ...] | None = None
    heater: heaters.Heater = field(default_factory=lambda: heaters.Heater("none"))
    gas_rate: float | None = None
    tariff: tariffs.Tariff | None = None
    emission_factors: emissions.Factors = field(default_factory=emissions.no_factors)
    discount_rate: float = 0.04
    heat_pump_price: float | None = None
    weather: str = "potsdam"
    wind_height: float | None = None
    spread_seed: int | None = None
    latitude: float | None = None
    longitude: float | None = None
    altitude: float | None = None
    town: towns.Town | None = None
    assumed: tuple[str, ...] = ()
    unstated: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    text: str = ""
    folder: Path = field(default_factory=Path)

    @property
    def unknown(self) -> frozenset[str]:
        """Keys whose values nobody looked up or measured: guesses, and what the sheet does not give."""
        return frozenset((*self.assumed, *self.unstated))

    @property
    def rough_latitude(self) -> float | None:
        """Latitude [deg], otherwise that of its time zone's city: enough to tell its half of the Earth."""
        if self.latitude is not None:
            return self.latitude
        place = zone_place(self.timezone)
        return None if place is None else place.latitude

    @property
    def is_heated(self) -> bool:
        """Whether the pond has a heater and a set point."""
        return self.heater.kind != "none" and any(temp is not None for _, temp in self.set_point)


def read(path, weather: str | None = None) -> Sheet:
    """Sheet from a TOML file. Raises `SheetError` with everything that is wrong.

    weather: source to use instead of the sheet's own.
    """
    path = Path(path)
    try:
        text = read_input_text(path)
    except NotThere as wrong:
        raise SheetError([SheetFault(str(path), "", wrong.finding)]) from None
    except (OSError, ValueError) as wrong:
        reason = "it is not UTF-8 text." if isinstance(wrong, UnicodeDecodeError) else why_not_read(wrong)
        raise SheetError([SheetFault(str(path), "", f"cannot be read: {reason}")]) from None
    return from_text(text, path.parent, str(path), weather)


def from_text(text: str, folder: Path = Path(), where: str = "the sheet", weather: str | None = None) -> Sheet:
    """Sheet from TOML text; files that it names are looked up in `folder`. Raises `SheetError`."""
    try:
        document = toml_errors.loads(text)
    except units.Unreadable as wrong:
        raise SheetError([SheetFault("the file", "", str(wrong))], where) from None
    reader = Reader(document, Path(folder))
    sheet = _sheet(reader, text, weather)
    if sheet is None:
        raise SheetError(reader.faults, where)
    return sheet


def _sheet(reader: Reader, text: str, weather: str | None) -> Sheet | None:
    """Sheet of a document; None where the reader has found faults."""
    top = reader.top
    name = top.take("name", value_parsers.text, "Pond")
    zone = top.take("timezone", lambda value: value_parsers.time_zone(value).key, example='"Europe/London"')
    reader.currency = top.take("currency", units.currency_of, units.GBP) or units.GBP
    assumed = top.take("assumed", keys_of_the_sheet, ())
    reader.close(top)
    start, end = _span(reader)
    where, site, conductivity, room = _place(reader)
    body = reader.table("pond")
    area, volume, outline = parts.size(reader, body)
    temperatures, construction = _basin(reader, body)
    depth = volume / area if area and volume else 1.0
    walls = parts.sides(reader, area or 1.0, depth, outline, conductivity or 1.5, construction, room is not None)
    cover, plan = parts.cover(reader, area or 1.0)
    streams, pump = _streams(reader, volume)
    heater, gas_rate = _heating(reader, body, area, temperatures["set_point"])
    tariff = parts.tariff(reader)
    factors = _emission_factors(reader, zone)
    outside, formulas = _outside(reader, where["town"] is not None)
    if reader.faults or area is None or volume is None or heater is None:
        reader.forget_other_currencies()
        return None
    return Sheet(
        name=name,
        timezone=zone,
        currency=reader.currency,
        start=start,
        end=end,
        pond=Pond(area, volume, walls, cover=cover, room=room is not None, **site, **streams, **formulas),
        cover_plan=plan,
        room=room,
        heater=heater,
        gas_rate=gas_rate,
        tariff=tariff,
        emission_factors=factors,
        **where,
        **temperatures,
        **pump,
        **(outside | ({"weather": weather} if weather else {})),
        assumed=assumed,
        unstated=unstated_keys(reader.document),
        notes=tuple(reader.notes),
        text=text,
        folder=reader.folder,
    )


def _basin(reader: Reader, body: TableReader) -> tuple[dict[str, Any], str | None]:
    """What is asked of the water's temperature, by the names of `Sheet`, and the pond's construction, if it says so."""
    held = body.take("set_point", set_point, ())
    floor = reader.value(body, "floor", "degC", "water_temp")
    ceiling = reader.value(body, "ceiling", "degC", "water_temp")
    start_temp = reader.value(body, "start_temp", "degC", "water_temp")
    construction = body.take("construction", one_of("construction", (SUNK, RAISED)), None)
    if floor is not None and ceiling is not None and floor >= ceiling:
        low, high = (quantity(f"{limit:.3g}", "degC") for limit in (floor, ceiling))
        body.fault("floor", f"the floor ({low}) is not below the ceiling ({high}).")
    if start_temp is not None and start_temp < 0:
        body.fault(
            "start_temp", f"“{body.values['start_temp']}” can't be right: water can't be below {temperature(0)}."
        )
    reader.close(body)
    return {"set_point": held, "floor": floor, "ceiling": ceiling, "start_temp": start_temp}, construction


def _streams(reader: Reader, volume: float | None) -> tuple[dict[str, Any], dict[str, Any]]:
    """Filter, pump, air and new water: what the `Pond` takes of them, and what the `Sheet` does."""
    stream, pump, air, water = (reader.table(n) for n in ("filter", "pump", "aeration", "water"))
    of_pond = {
        "filter_air_flow": reader.value(stream, "air_flow", "m**3/s", "air_flow", 0.0),
        "filter_effectiveness": reader.value(stream, "effectiveness", "dimensionless", "effectiveness", 0.5),
        "casing_u_value_area": reader.value(stream, "casing", "W/K", "casing_u_value_area", 0.0),
        "aeration_air_flow": reader.value(air, "air_flow", "m**3/s", "air_flow", 0.0),
    }
    power = reader.value(pump, "power", "W", "power", 0.0)
    if power and power > _MOST_PUMP:
        pump.fault(
            "power",
            f"“{pump.values['power']}” can't be right: a pond's pump takes at most {_MOST_PUMP / 1000:g} kW; "
            f"did you mean {power / 1000:g} W?",
        )
    submerged = pump.take("submerged", value_parsers.yes_or_no, True)
    of_pond["water_change"] = water.take("change_per_day", lambda v: water_change(v, volume), 0.0)
    mains_temp = water.take("mains_temp", mains, None)
    reader.close(stream, pump, air, water)
    share = heaters.SUBMERGED_SHARE.value if submerged else heaters.DRY_SHARE.value
    return of_pond, {"pump_power": power, "pump_heat": (power or 0.0) * share, "mains_temp": mains_temp}


def _heating(
    reader: Reader, body: TableReader, area: float | None, held: tuple | None
) -> tuple[heaters.Heater | None, float | None]:
    """Heater and the price of its gas, checked against the set point `held` of the table [pond]."""
    heater, gas_rate = parts.heater(reader, area)
    warmed = any(temp is not None for _, temp in held or ())
    if warmed and heater and heater.kind == "none":
        key, given = ("heater.kind", "none") if "heater" in reader.document else ("heater", "")
        reader.faults.append(
            SheetFault(
                key,
                given,
                "a set point is given but no heater; give a heater, or leave set_point out for a pond without heat.",
            )
        )
    if "heater" in reader.document and "set_point" not in body.values and heater and heater.kind != "none":
        reader.notes.append("A heater is given but no pond.set_point: nothing is heated.")
    return heater, gas_rate


def _outside(reader: Reader, in_town: bool) -> tuple[dict[str, Any], dict[str, Any]]:
    """Money and weather, by the names of `Sheet`, and the names of the formulae, by those of `Pond`."""
    money, outside, formulas = (reader.table(n) for n in ("money", "weather", "formulas"))
    discount = reader.value(money, "discount_rate", "dimensionless", "discount_rate", 0.04)
    heat_pump_price = reader.value(money, "heat_pump_price", "money", "price")
    source = outside.take("source", value_parsers.text, TOWN if in_town else "potsdam")
    if source == TOWN and not in_town:
        outside.fault("source", 'this is the weather of a town: write town = "Leeds, GB" under [place] too.')
    of_sheet = {
        "discount_rate": discount,
        "heat_pump_price": heat_pump_price,
        "weather": source,
        "wind_height": reader.value(outside, "wind_height", "m", "from_height"),
        "spread_seed": outside.take("spread_seed", whole, None),
    }
    names = {
        "evaporation": formulas.take(
            "evaporation", one_of("evaporation formula", surface.EVAPORATION), surface.DEFAULT_EVAPORATION
        ),
        "sky": formulas.take("sky", one_of("sky formula", surface.SKY), surface.DEFAULT_SKY),
    }
    reader.close(money, outside, formulas)
    return of_sheet, names


def _emission_factors(reader: Reader, zone: str | None) -> emissions.Factors:
    """Emission factors as the sheet gives them, otherwise the published ones of its time zone and currency."""
    table = reader.table("emissions")
    electricity, gas = (table.take(key, emission_factor, None) for key in ("electricity", "gas"))
    reader.close(table)
    named = reader.currency.code if "currency" in reader.top.values else None
    return emissions.Factors(
        emissions.grid_factor(zone or "", named)
        if electricity is None
        else emissions.own_factor(electricity, "emissions.electricity"),
        emissions.gas_factor() if gas is None else emissions.own_factor(gas, "emissions.gas"),
    )


def _span(reader: Reader) -> tuple[dt.date | None, dt.date | None]:
    """First and last day of the season; None for the whole of the weather."""
    season = reader.table("season")
    start, end = season.take("start", date, None), season.take("end", date, None)
    if start and end and end < start:
        season.fault("end", f"the season ends ({end}) before it begins ({start}); the end may be in the next year.")
    elif start and end and (end - start).days > 366:
        season.fault("end", f"{(end - start).days} days given: a season can't be longer than a year.")
    if ("start" in season.values) != ("end" in season.values):
        season.fault(
            "start" if "end" in season.values else "end",
            "give both start and end, or neither for the whole weather file.",
        )
    reader.close(season)
    return start, end


def _place(reader: Reader) -> tuple[dict[str, Any], dict[str, Any], float | None, tuple[float, float] | None]:
    """Location, by the names of `Sheet`; site, by those of `Pond`; conductivity of the ground [W/(m·K)]; and the room
    (air temperature [°C], relative humidity [–]), None for a pond in the open."""
    place = reader.table("place")
    around = place.take("surroundings", one_of("surroundings", ("open air", *_ROOMS)), "open air")
    inside = around in _ROOMS
    room_temp = reader.value(place, "room_temp", "degC", "room_temp")
    room_humidity = reader.value(place, "room_humidity", "dimensionless", "rel_humidity")
    lacking = [key for key in ("room_temp", "room_humidity") if key not in place.values]
    if inside and lacking:
        place.fault(lacking[0], 'a room needs room_temp and room_humidity, such as "12 °C" and "80 %".')
    for key in ("room_temp", "room_humidity"):
        if around == "open air" and key in place.values:
            place.fault(key, 'belongs to a room: write surroundings = "room" too, or take it out.')
    town = place.take("town", towns.find, None)
    where = {
        "town": town,
        "latitude": reader.value(place, "latitude", "deg", "latitude", town and town.latitude),
        "longitude": reader.value(place, "longitude", "deg", "longitude", town and town.longitude),
        "altitude": reader.value(place, "altitude", "m", "altitude"),
    }
    sky_view = reader.value(place, "sky_view", "dimensionless", "sky_view", SKY_VIEW)
    # what hides the sky keeps off as much of the sun (judgement)
    shade = 1.0 if inside or sky_view is None else round(1.0 - sky_view, 6)
    site = {
        "wind_shelter": reader.value(place, "wind_shelter", "dimensionless", "share", WIND_SHELTER),
        "sky_view": sky_view,
        "shade": reader.value(place, "shade", "dimensionless", "share", shade),
        "net_open_area": reader.value(place, "net", "dimensionless", "open_area", 1.0),
    }
    conductivity = reader.value(place, "ground_conductivity", "W/m/K", "ground_conductivity", 1.5)
    reader.close(place)
    return where, site, conductivity, (room_temp, room_humidity) if inside else None

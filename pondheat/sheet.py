"""The pond sheet: one TOML file that says all about a pond, with values as people write them.

Every fault is told in one go, with its key, what was given, what is plausible and what was perhaps meant. The keys, with
what each means, stand in `KEYS`; `python -m pondheat season` reads the file, `text_of` writes one.
"""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
import zoneinfo
from dataclasses import dataclass, field
from pathlib import Path

from pondheat import ranges, units, written
from pondheat.heat import surface, walls
from pondheat.heat.balance import Pond, Wall
from pondheat.heat.covers import KINDS as COVER_KINDS
from pondheat.heat.covers import Cover, gap_air_flow
from pondheat.money import tariffs
from pondheat.season import heaters, schedule
from pondheat.units import Unreadable
from pondheat.written import Table

# What may stand in a sheet: table → key → (example, meaning). The order is the order in which a sheet is written.
KEYS: dict[str, dict[str, tuple[str, str]]] = {
    "": {
        "name": ('"Garden pond"', "what you call the pond"),
        "timezone": ('"Europe/London"', "IANA time zone; clock times in the sheet and the tariff are local civil time"),
        "currency": ('"GBP"', "GBP, EUR or USD"),
    },
    "season": {
        "start": ("2025-09-01", "first day reckoned"),
        "end": ("2026-05-31", "last day reckoned; may lie in the next year"),
    },
    "place": {
        "latitude": ("51.5", "degrees, north positive; weather files bring their own"),
        "longitude": ("-1.0", "degrees, east positive"),
        "altitude": ('"60 m"', "above sea level; sets the air pressure where the weather does not"),
        "wind_shelter": ("0.5", "wind at the water over wind at the same height in the open: 0.2 walled in, 1 open field"),
        "sky_view": ("0.8", "share of the sky above the water that is open"),
        "shade": ("0.2", "share of the sun kept off by trees and walls"),
        "surroundings": ('"open air"', "open air, or room (greenhouse, pond house)"),
        "room_temp": ('"12 °C"', "air temperature of the room"),
        "room_humidity": ('"80 %"', "relative humidity of the room"),
        "ground_conductivity": ('"1.5 W/m/K"', "of the ground round the pond: clay 1.5, sand 2.0"),
    },
    "pond": {
        "surface_area": ('"10 m²"', "of the water; or give length and width"),
        "length": ('"4 m"', "of a rectangular surface"),
        "width": ('"2.5 m"', "of a rectangular surface"),
        "volume": ('"12 m³"', "of water; or give depth"),
        "depth": ('"1.2 m"', "mean depth of the water"),
        "set_point": ('"18 °C"', "temperature to hold: the middle of the thermostat's band; by date: "
                                 '{ "1 Sep" = "18 °C", "1 Dec" = "12 °C" }; leave out for no heat'),
        "floor": ('"8 °C"', "lowest temperature you accept; hours below it are counted"),
        "ceiling": ('"26 °C"', "highest temperature you accept; hours above it are counted"),
        "start_temp": ('"14 °C"', "at the start; otherwise the 60 days before the season are run first"),
    },
    "wall": {
        "name": ('"sides"', "for your own eyes"),
        "area": ('"15.6 m²"', "of this wall"),
        "u_value": ('"0.5 W/m²K"', "thermal transmittance; or give layers"),
        "layers": ('["2 mm HDPE", "50 mm EPS"]', "inside to outside"),
        "against": ('"air"', "air or ground"),
        "depth": ('"1.2 m"', "for a wall in the ground built from layers: how deep it reaches"),
    },
    "base": {
        "area": ('"10 m²"', "of the floor; left out: the water's surface"),
        "u_value": ('"0.4 W/m²K"', "thermal transmittance; or give layers, or neither for bare ground"),
        "layers": ('["50 mm XPS"]', "inside to outside"),
        "against": ('"ground"', "ground or air"),
        "perimeter": ('"13 m"', "outline of the floor; left out: that of the surface"),
        "depth": ('"0 m"', "how far the floor lies below the ground's surface"),
    },
    "cover": {
        "kind": ('"sheet"', "sheet, insulated lid, floating or film"),
        "u_value": ('"3.1 W/m²K"', "thermal transmittance as sold (not for film)"),
        "light": ('"80 %"', "share of the sun's energy it lets through"),
        "gap": ('"2 L/s"', 'air that leaks under it, or the open gap: "1 m x 1 cm" (taken at 0.5 m/s)'),
        "share": ('"100 %"', "part of the surface it covers"),
        "evaporation_cut": ('"15 %"', "for film: share of evaporation it stops"),
        "on": ('"19:00"', "laid on at; with off left out: day and night"),
        "off": ('"08:00"', "taken off at"),
        "from": ('"1 Oct"', "first evening of the year it is used"),
        "to": ('"30 Apr"', "last evening"),
        "except": ('["2025-12-24"]', "evenings on which it is forgotten"),
        "price": ('"£180"', "to buy"),
        "life": ('"6 years"', "how long it lasts"),
    },
    "filter": {
        "air_flow": ('"2 L/s"', "air that meets falling water in a trickle filter or waterfall"),
        "effectiveness": ('"50 %"', "how near that air comes to leaving warm and saturated"),
        "casing": ('"3 W/K"', "transmittance times area of the filter's casing"),
    },
    "pump": {
        "power": ('"60 W"', "electricity it takes, day and night"),
        "submerged": ("true", "under water nearly all of it warms the pond"),
    },
    "aeration": {"air_flow": ('"40 L/min"', "air blown through the water")},
    "water": {
        "change_per_day": ('"5 %"', "share of the volume, or an amount such as 600 L/day"),
        "mains_temp": ('"10 °C"', "of the new water; one value, or twelve from January; left out: the ground's"),
    },
    "heater": {
        "kind": ('"resistance"', "none, resistance, heat pump or gas"),
        "power": ('"3 kW"', "heat it can give; for a heat pump at power_at"),
        "power_at": ('"15 °C"', "air temperature for which a heat pump's power is stated"),
        "cold_power": ('"3.6 kW"', "heat pump: what is left of it at cold_power_at"),
        "cold_power_at": ('"0 °C"', "air temperature for cold_power"),
        "lowest_air_temp": ('"-10 °C"', "heat pump: stops below this"),
        "backup": ('"1 kW"', "resistance heater that helps a heat pump"),
        "efficiency": ('"90 %"', "of a gas heater"),
        "cop_factor": ("1.0", "heat pump: your COP over that of the formula"),
        "cop_formula": ('"staffell"', "heat pump: staffell or ruhnau"),
        "gas_rate": ('"9 p/kWh"', "price of gas per kWh burnt"),
    },
    "tariff": {"file": ('"night.toml"', "a tariff in a file of its own; or its keys stand here")},
    "money": {"discount_rate": ('"4 %"', "yearly rate at which later money is worth less")},
    "weather": {
        "source": ('"potsdam"', "a built-in place or a file beside the sheet"),
        "wind_height": ('"10 m"', "height of the wind in the file, where it does not say"),
        "spread_seed": ("1", "with monthly normals: a whole number makes days differ, the same every time"),
    },
    "formulas": {
        "evaporation": (f'"{surface.DEFAULT_EVAPORATION}"', "name of the evaporation formula"),
        "sky": (f'"{surface.DEFAULT_SKY}"', "name of the clear-sky formula"),
    },
}
CRACK_WIND = 0.5  # m/s in a gap behind a hedge: common practice, no source


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a sheet: its key, the value given ("" where nothing was), and a sentence."""

    key: str
    given: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.key}: {self.sentence}"


class SheetFaults(ValueError):
    """Everything wrong with a sheet, in one go."""

    def __init__(self, faults: list[Fault], where: str = ""):
        self.faults, self.where = faults, where
        count = f"{len(faults)} thing{'s' if len(faults) > 1 else ''} to mend"
        head = f"{count} in {where}:" if where else f"{count}:"
        super().__init__("\n".join([head, *(f"  {fault}" for fault in faults)]))


@dataclass(frozen=True)
class CoverPlan:
    """When the cover lies on, what it costs and how long it lasts; clock in minutes, None for day and night."""

    on: int | None = None
    off: int | None = None
    days: tuple = (schedule.ALWAYS,)
    exceptions: tuple = ()
    price: float | None = None
    life: float | None = None


@dataclass(frozen=True)
class Sheet:
    """A pond sheet in the library's own units. `pond.cover` holds the cover; `uncovered` is the same pond without."""

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
    discount_rate: float = 0.04
    weather: str = "potsdam"
    wind_height: float | None = None
    spread_seed: int | None = None
    latitude: float | None = None
    longitude: float | None = None
    altitude: float | None = None
    notes: tuple[str, ...] = ()
    text: str = ""
    folder: Path = field(default_factory=Path)


class _Reader:
    """Takes values out of the sheet's tables and gathers faults."""

    def __init__(self, document: dict, folder: Path):
        self.document, self.folder = document, folder
        self.faults: list[Fault] = []
        self.notes: list[str] = []
        self.currency = units.GBP
        tables = [name for name in KEYS if name]
        known = (*KEYS[""], *tables)
        self.top = self._table({k: v for k, v in document.items() if k not in tables}, known, "")

    def _table(self, values, known, path) -> Table:
        if not isinstance(values, dict):
            self.faults.append(Fault(path, str(values)[:40], f"This is a table: begin it with [{path}]."))
            values = {}
        return Table(values, tuple(known), path)

    def table(self, name: str) -> Table:
        """The table `name`, empty where the sheet has none."""
        return self._table(self.document.get(name, {}), KEYS[name], name)

    def close(self, *taken: Table) -> None:
        """Gather what went wrong in these tables."""
        for table in taken:
            for path, sentence in table.faults:
                value = table.values.get(path.removeprefix(table.path), "")
                self.faults.append(Fault(path, str(value)[:60], sentence))

    def value(self, table: Table, key: str, unit: str, name: str | None = None, absent=None, positive=False):
        """A quantity in the library's unit, held against the plausible range of parameter `name`."""
        def read(given):
            got = units.parse(given, unit, self.currency)
            wrong = ranges.fault(name, got, unit) if name else None
            if wrong:
                raise Unreadable(_about_the_value(wrong, name, got, unit, given))
            if positive and got <= 0:
                raise Unreadable(f"“{given}” is not above nothing.")
            if name and ranges.unusual(name, got):
                self.notes.append(f"{table.path}{key} = {given}: unusual, taken as it stands.")
            return got
        return table.take(key, read, absent, KEYS[table.path.rstrip(".").split("[")[0]][key][0])


def _about_the_value(sentence: str, name: str, got: float, unit: str, given) -> str:
    """The range's sentence, begun with what the person wrote rather than with the library's own number."""
    rest = sentence.split(f"given for {name}: ", 1)[-1]
    return f"“{given}” given: {rest}"


def _layer(text: str) -> tuple[float, float]:
    match = re.fullmatch(r"\s*(.+?)\s+([A-Za-z][A-Za-z ]*?)\s*", str(text))
    known = {name.lower(): name for name in walls.MATERIALS}
    if match:
        # "50 mm EPS": the last word is the material, the rest a thickness
        thickness_text, _, material = str(text).strip().rpartition(" ")
        if material.lower() in known:
            return units.parse(thickness_text, "m"), walls.MATERIALS[known[material.lower()]].value
    raise Unreadable(f"“{text}” is not a layer. Write a thickness and a material: 50 mm EPS. "
                     f"Known: {', '.join(walls.MATERIALS)}.")


def _layers(value) -> tuple[list[float], list[float]]:
    if not isinstance(value, list) or not value:
        raise Unreadable('A list is wanted, inside to outside: ["2 mm HDPE", "50 mm EPS"].')
    pairs = [_layer(item) for item in value]
    for thickness, _ in pairs:
        if not 0 < thickness <= 2:
            raise Unreadable(f"A layer {thickness:g} m thick is given: between 0 and 2 m is plausible.")
    return [t for t, _ in pairs], [k for _, k in pairs]


def _gap(value) -> float:
    """A leak as an air flow, or as an open gap "1 m x 1 cm"."""
    match = re.fullmatch(r"\s*(.+?)\s*[x×]\s*(.+?)\s*", str(value))
    if match:
        return gap_air_flow(units.parse(match[1], "m"), units.parse(match[2], "m"), CRACK_WIND)
    return units.parse(value, "m**3/s")


def _set_point(value) -> tuple:
    """((month, day), °C or None) steps from one value or a table by date."""
    def one(given):
        if str(given).strip().lower() in ("none", "off", "no heat"):
            return None
        got = units.parse(given, "degC")
        if not 1 <= got <= 35:
            raise Unreadable(f"“{given}” given: a pond is held between 1 and 35 °C"
                             + ("; " + hint if (hint := ranges.meant("water_temp", got)) else "."))
        return got
    if isinstance(value, dict):
        if not value:
            raise Unreadable('No date is given. Write { "1 Sep" = "18 °C" } or one temperature.')
        return tuple((written.day_of_year(day), one(given)) for day, given in value.items())
    return (((1, 1), one(value)),)


def _date(value) -> dt.date:
    if isinstance(value, dt.datetime):
        return value.date()
    if isinstance(value, dt.date):
        return value
    try:
        return dt.date.fromisoformat(str(value).strip())
    except ValueError:
        raise Unreadable(f"“{value}” is not a date. Write it as 2025-09-01.") from None


def _zone(value) -> str:
    import difflib
    if value in zoneinfo.available_timezones():
        return value
    near = difflib.get_close_matches(str(value), zoneinfo.available_timezones(), 1, 0.6)
    raise Unreadable(f"“{value}” is not a time zone this computer knows."
                     + (f" Did you mean {near[0]}?" if near else " Write it as Europe/London."))


def _one_of(what: str, known):
    def read(value):
        given = str(value).strip().lower()
        return ranges.choose(what, given, known)
    return read


def read(path, weather: str | None = None) -> Sheet:
    """A sheet from a TOML file. Raises `SheetFaults` with everything wrong in one go.

    `weather`: takes the place of the sheet's own weather source.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise SheetFaults([Fault(str(path), "", "no such file.")]) from None
    except (OSError, UnicodeDecodeError) as wrong:
        reason = "it is not UTF-8 text" if isinstance(wrong, UnicodeDecodeError) else wrong.strerror or str(wrong)
        raise SheetFaults([Fault(str(path), "", f"cannot be read: {reason}.")]) from None
    return from_text(text, path.parent, str(path), weather)


def from_text(text: str, folder: Path = Path(), where: str = "the sheet", weather: str | None = None) -> Sheet:
    """A sheet from TOML text; files it names are looked for in `folder`. Raises `SheetFaults`."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise SheetFaults([Fault("the file", "", f"is not TOML: {wrong}. Text values stand between quotation "
                                                 f'marks: volume = "12 m³".')], where) from None
    reader = _Reader(document, Path(folder))
    sheet = _sheet(reader, text, weather)
    if reader.faults:
        raise SheetFaults(reader.faults, where)
    return sheet


def _sheet(reader: _Reader, text: str, weather: str | None) -> Sheet | None:
    top = reader.top
    name = top.take("name", written.text, "Pond")
    zone = top.take("timezone", _zone, example='"Europe/London"')
    code = top.take("currency", lambda v: ranges.choose("currency", str(v).strip().upper(), units.CURRENCIES), "GBP")
    reader.currency = units.CURRENCIES.get(code, units.GBP)
    season = reader.table("season")
    start, end = season.take("start", _date, None), season.take("end", _date, None)
    if start and end and end <= start:
        season.fault("end", f"the season ends ({end}) before it begins ({start}); the end may lie in the next year.")
    if start and end and (end - start).days > 366:
        season.fault("end", f"{(end - start).days} days given: a season of up to a year is reckoned.")
    if bool(start) != bool(end):
        season.fault("start" if end else "end", "give both start and end, or neither for the whole weather file.")
    reader.close(top, season)

    place = reader.table("place")
    surroundings = place.take("surroundings", _one_of("surroundings", ("open air", "room")), "open air")
    inside = surroundings == "room"
    room_temp = reader.value(place, "room_temp", "degC", "room_temp")
    room_humidity = reader.value(place, "room_humidity", "dimensionless", "rel_humidity")
    if inside and (room_temp is None or room_humidity is None) and not place.faults:
        place.fault("room_temp", 'a room needs room_temp and room_humidity, such as "12 °C" and "80 %".')
    where = {
        "latitude": reader.value(place, "latitude", "deg", "latitude"),
        "longitude": reader.value(place, "longitude", "deg", "longitude"),
        "altitude": reader.value(place, "altitude", "m", "altitude"),
    }
    shelter = reader.value(place, "wind_shelter", "dimensionless", "share", 0.5)
    view = reader.value(place, "sky_view", "dimensionless", "sky_view", 1.0)
    shade = reader.value(place, "shade", "dimensionless", "share", 1.0 if inside else 0.0)
    conductivity = reader.value(place, "ground_conductivity", "W/m/K", "ground_conductivity", 1.5)
    reader.close(place)

    body = reader.table("pond")
    area, volume, outline = _size(reader, body)
    set_point = body.take("set_point", _set_point, ())
    floor = reader.value(body, "floor", "degC", "water_temp")
    ceiling = reader.value(body, "ceiling", "degC", "water_temp")
    start_temp = reader.value(body, "start_temp", "degC", "water_temp")
    if floor is not None and ceiling is not None and floor >= ceiling:
        body.fault("floor", f"the floor ({floor:g} °C) does not lie below the ceiling ({ceiling:g} °C).")
    reader.close(body)

    sides = _walls(reader, area, outline, conductivity or 1.5)
    cover, plan = _cover(reader)
    stream, pump, air, water = (reader.table(n) for n in ("filter", "pump", "aeration", "water"))
    filter_air = reader.value(stream, "air_flow", "m**3/s", "air_flow", 0.0)
    effectiveness = reader.value(stream, "effectiveness", "dimensionless", "effectiveness", 0.5)
    casing = reader.value(stream, "casing", "W/K", "casing_u_value_area", 0.0)
    aeration = reader.value(air, "air_flow", "m**3/s", "air_flow", 0.0)
    pump_power = reader.value(pump, "power", "W", "power", 0.0)
    submerged = pump.take("submerged", written.yes_or_no, True)
    change = water.take("change_per_day", lambda v: _change(v, volume), 0.0)
    mains = water.take("mains_temp", _mains, None)
    reader.close(stream, pump, air, water)

    heater, gas_rate = _heater(reader)
    if set_point and heater and heater.kind == "none" and any(v is not None for _, v in set_point):
        reader.faults.append(Fault("heater.kind", "none", "a set point is given but no heater; give a heater, or leave "
                                                          "set_point out for a pond without heat."))
    tariff = _tariff(reader)
    if heater and heater.kind == "gas" and tariff and gas_rate is None:
        reader.faults.append(Fault("heater.gas_rate", "", 'a gas heater on a tariff needs gas_rate = "9 p/kWh".'))
    money, outside, formulas = (reader.table(n) for n in ("money", "weather", "formulas"))
    discount = reader.value(money, "discount_rate", "dimensionless", "discount_rate", 0.04)
    source = outside.take("source", written.text, "potsdam")
    wind_height = reader.value(outside, "wind_height", "m", "from_height")
    seed = outside.take("spread_seed", _whole, None)
    evaporation = formulas.take("evaporation", _one_of("evaporation formula", surface.EVAPORATION),
                                surface.DEFAULT_EVAPORATION)
    sky = formulas.take("sky", _one_of("sky formula", surface.SKY), surface.DEFAULT_SKY)
    reader.close(money, outside, formulas)
    if reader.faults:
        return None
    pond = Pond(area, volume, sides, filter_air, effectiveness, casing, aeration, change, cover, shelter, view, shade,
                evaporation, sky, room=inside)
    share = heaters.SUBMERGED_SHARE.value if submerged else heaters.DRY_SHARE.value
    return Sheet(name, zone, reader.currency, start, end, pond, plan, set_point, floor, ceiling, start_temp,
                 (room_temp, room_humidity) if inside else None, pump_power, pump_power * share, mains, heater, gas_rate,
                 tariff, discount, weather or source, wind_height, seed, **where, notes=tuple(reader.notes), text=text,
                 folder=reader.folder)


def _size(reader: _Reader, body: Table) -> tuple[float, float, float]:
    """Surface, volume and outline of the water; 1 where a fault has been noted."""
    area = reader.value(body, "surface_area", "m**2", "surface_area")
    length = reader.value(body, "length", "m", "perimeter", positive=True)
    width = reader.value(body, "width", "m", "perimeter", positive=True)
    volume = reader.value(body, "volume", "m**3", "volume", positive=True)
    depth = reader.value(body, "depth", "m", "depth")
    given = body.values
    if area is None and length and width:
        area = length * width
        if wrong := ranges.fault("surface_area", area):
            body.fault("length", wrong)
    elif "surface_area" not in given and ("length" not in given or "width" not in given):
        body.fault("surface_area", 'missing: write surface_area = "10 m²", or length and width.')
    elif area and length and width and abs(area / (length * width) - 1) > 0.2:
        body.fault("surface_area", f"{area:g} m² given, but {length:g} m × {width:g} m is {length * width:g} m²: which?")
    if volume is None and "volume" not in given:
        if depth and area:
            volume = area * depth
        elif "depth" not in given:
            body.fault("volume", 'missing: write volume = "12 m³", or depth.')
    if area and volume and not body.faults:
        mean = volume / area
        if not 0.05 <= mean <= 8:
            litres = f"{volume * 1000:g} L"
            body.fault("volume", f"{volume:g} m³ ({litres}) over {area:g} m² is {mean:.3g} m deep on average: between "
                                 f"0.05 and 8 m is plausible. Check the unit of each.")
        elif depth and abs(mean / depth - 1) > 0.5:
            reader.notes.append(f"volume and surface make a mean depth of {mean:.2g} m, the sheet says {depth:.2g} m; "
                                "the volume is used.")
    outline = 2 * (length + width) if length and width else 2 * math.sqrt(math.pi * (area or 1.0))
    return area or 1.0, volume or 1.0, outline


def _walls(reader: _Reader, surface_area: float, outline: float, conductivity: float) -> tuple[Wall, ...]:
    made: list[Wall] = []
    listed = reader.document.get("wall", [])
    if not isinstance(listed, list):
        reader.faults.append(Fault("wall", "", "walls are a list: begin each with [[wall]] in double brackets."))
        listed = []
    for number, values in enumerate(listed, start=1):
        table = reader._table(values, KEYS["wall"], f"wall[{number}]")
        table.take("name", written.text, "")
        area = reader.value(table, "area", "m**2", "area", positive=True)
        if "area" not in table.values:
            table.fault("area", 'missing: write area = "15.6 m²".')
        against = table.take("against", _one_of("far side of a wall", ("air", "ground")), "air")
        u = _u_value(reader, table, against, conductivity)
        reader.close(table)
        if area and u is not None:
            made.append(Wall(area, u, against))
    if not listed:
        reader.notes.append("No [[wall]] is given: what the sides lose is left out.")
    if "base" in reader.document:
        base = reader.table("base")
        area = reader.value(base, "area", "m**2", "area", surface_area, positive=True)
        against = base.take("against", _one_of("far side of the base", ("air", "ground")), "ground")
        around = reader.value(base, "perimeter", "m", "perimeter", outline, positive=True)
        depth = reader.value(base, "depth", "m", absent=0.0)
        u = reader.value(base, "u_value", "W/m**2/K", "u_value")
        layers = base.take("layers", _layers, None)
        if u is None and not base.faults:
            resistance = sum(t / k for t, k in zip(*layers)) if layers else 0.0
            if against == "air":
                if layers is None:
                    base.fault("u_value", "a base against air needs u_value or layers.")
                else:
                    u = walls.u_value(*layers)
            elif depth > 0:
                u = walls.sunk_floor_u_value(area, around, depth, conductivity, 0.1, resistance)
            else:
                u = walls.ground_u_value(area, around, conductivity, 0.1, resistance, 0.0)
        reader.close(base)
        if area and u is not None:
            made.append(Wall(area, float(u), against))
    else:
        reader.notes.append("No [base] is given: what the floor loses is left out.")
    return tuple(made)


def _u_value(reader: _Reader, table: Table, against: str | None, conductivity: float) -> float | None:
    u = reader.value(table, "u_value", "W/m**2/K", "u_value")
    layers = table.take("layers", _layers, None)
    depth = reader.value(table, "depth", "m", "depth")
    if u is not None or table.faults:
        return u
    if layers is None:
        table.fault("u_value", 'missing: write u_value = "0.5 W/m²K", or layers.')
        return None
    if against == "ground":
        if depth is None:
            table.fault("depth", 'a wall in the ground built from layers needs depth, such as "1.2 m".')
            return None
        return float(walls.sunk_wall_u_value(depth, conductivity, 0.1, sum(t / k for t, k in zip(*layers))))
    return walls.u_value(*layers)


def _cover(reader: _Reader) -> tuple[Cover | None, CoverPlan]:
    if "cover" not in reader.document:
        return None, CoverPlan()
    table = reader.table("cover")
    kind = table.take("kind", _one_of("kind of cover", COVER_KINDS), "sheet")
    usual = {"sheet": 0.8, "insulated lid": 0.0, "floating": 0.5, "film": 1.0}
    u = reader.value(table, "u_value", "W/m**2/K", "u_value", positive=True)
    if u is None and kind not in (None, "film") and "u_value" not in table.values:
        table.fault("u_value", 'missing: write u_value = "3.1 W/m²K" (twin wall 10 mm 2.8–3.2, 16 mm 2.1–2.5, 32 mm '
                               "five-wall about 1.4).")
    light = reader.value(table, "light", "dimensionless", "share", usual.get(kind, 0.8))
    gap = table.take("gap", _gap, 0.0)
    share = reader.value(table, "share", "dimensionless", "share", 1.0)
    cut = reader.value(table, "evaporation_cut", "dimensionless", "share", 0.15)
    on, off = (table.take(key, written.clock_minutes, None) for key in ("on", "off"))
    if ("on" in table.values) != ("off" in table.values):
        table.fault("off" if "on" in table.values else "on", "give both on and off, or neither for day and night.")
    first, last = (table.take(key, written.day_of_year, None) for key in ("from", "to"))
    if ("from" in table.values) != ("to" in table.values):
        table.fault("to" if "from" in table.values else "from", "give both from and to, or neither for every day.")
    exceptions = table.take("except", _evenings, ())
    price = reader.value(table, "price", "money", "price")
    life = reader.value(table, "life", "year", "years", positive=True)
    reader.close(table)
    plan = CoverPlan(on, off, ((first, last),) if first and last else (schedule.ALWAYS,), exceptions or (), price, life)
    if table.faults:
        return None, plan
    return Cover(kind, u if u is not None else 3.0, light, gap, share, evaporation_cut=cut), plan


def _evenings(value) -> tuple:
    listed = value if isinstance(value, list) else [value]
    days = []
    for item in listed:
        full = re.fullmatch(r"\d{4}-\d{2}-\d{2}", str(item).strip())
        days.append(_date(item) if full or isinstance(item, dt.date) else written.day_of_year(item))
    return tuple(days)


def _change(value, volume: float) -> float:
    """A water change as a flow [m³/s]: a share of the volume each day, or an amount."""
    try:
        share = units.parse(value, "dimensionless")
    except units.WrongDimension:
        text = str(value)
        return units.parse(text if "/" in text or " per " in text or " a " in text else f"{text}/day", "m**3/s")
    if not 0 <= share <= 5:
        raise Unreadable(f"“{value}” given: between 0 and 500 % of the volume a day is plausible"
                         + (f"; did you mean {share:g} %?" if share <= 100 else "."))
    return share * volume / 86_400


def _mains(value) -> tuple[float, ...]:
    listed = value if isinstance(value, list) else [value]
    if len(listed) not in (1, 12):
        raise Unreadable(f"{len(listed)} values given: one, or twelve from January to December, are wanted.")
    temps = tuple(units.parse(item, "degC") for item in listed)
    for given, temp in zip(listed, temps):
        if wrong := ranges.fault("mains_temp", temp):
            raise Unreadable(_about_the_value(wrong, "mains_temp", temp, "degC", given))
    return temps * (12 // len(temps))


def _whole(value) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise Unreadable(f"“{value}” is not a whole number.")
    return value


def _heater(reader: _Reader) -> tuple[heaters.Heater | None, float | None]:
    if "heater" not in reader.document:
        return heaters.Heater("none"), None
    table = reader.table("heater")
    kind = table.take("kind", _one_of("kind of heater", heaters.KINDS), "resistance")
    power = reader.value(table, "power", "W", "power")
    if power is None and kind not in (None, "none") and "power" not in table.values:
        table.fault("power", 'missing: write power = "3 kW".')
    if power is not None and power < 10 and kind != "none":
        table.fault("power", f"{power:g} W given: a heater has at least some tens of watts; did you mean {power:g} kW?")
    warm = reader.value(table, "power_at", "degC", "air_temp", 15.0)
    cold_power = reader.value(table, "cold_power", "W", "power")
    cold = reader.value(table, "cold_power_at", "degC", "air_temp", 0.0)
    lowest = reader.value(table, "lowest_air_temp", "degC", "air_temp", -10.0)
    backup = reader.value(table, "backup", "W", "power", 0.0)
    efficiency = reader.value(table, "efficiency", "dimensionless", "efficiency", 0.9)
    factor = reader.value(table, "cop_factor", "dimensionless", "cop", 1.0)
    formula = table.take("cop_formula", _one_of("COP formula", heaters.COP_FORMULAS), "staffell")
    gas_rate = table.take("gas_rate", lambda v: written.rate(v, reader.currency), None)
    fade = 0.027
    if cold_power is not None and power and warm is not None and cold is not None:
        if cold >= warm or cold_power > power:
            table.fault("cold_power", "the cold point lies below the warm one, in air temperature and in power.")
        else:
            fade = heaters.fade_between(power, warm, cold_power, cold)
    if kind not in ("heat pump", None):
        strange = [k for k in ("power_at", "cold_power", "cold_power_at", "lowest_air_temp", "backup", "cop_factor",
                               "cop_formula") if k in table.values]
        for key in strange:
            table.fault(key, f"belongs to a heat pump; this heater is of kind {kind}.")
    reader.close(table)
    if table.faults:
        return None, gas_rate
    return heaters.Heater(kind, power or 0.0, warm, fade, lowest, backup, efficiency, formula, factor), gas_rate


def _tariff(reader: _Reader) -> tariffs.Tariff | None:
    table = reader.document.get("tariff")
    if table is None:
        return None
    if not isinstance(table, dict):
        reader.faults.append(Fault("tariff", str(table)[:40], "This is a table: begin it with [tariff]."))
        return None
    if "file" in table:
        if len(table) > 1:
            reader.faults.append(Fault("tariff.file", str(table["file"]), "a tariff stands in a file or here, not both."))
            return None
        tariff, faults = tariffs.read(reader.folder / str(table["file"]), reader.currency)
    else:
        tariff, faults = tariffs.from_table(table, reader.currency, reader.folder)
    for path, sentence in faults:
        given = table.get(path, "") if "." not in path else ""
        reader.faults.append(Fault(f"tariff.{path}" if path else "tariff", str(given)[:60], sentence))
    return tariff


def with_values(text: str, changes: dict[str, object]) -> str:
    """A sheet's text with some values changed: {"pond.set_point": "16 °C", "cover": None}; None takes a key or table out.

    Comments and order are not kept. Raises `SheetFaults` only where the text itself is not TOML.
    """
    document = tomllib.loads(text)
    for path, value in changes.items():
        *tables, key = path.split(".")
        here = document
        for name in tables:
            here = here.setdefault(name, {})
        if value is None:
            here.pop(key, None)
        else:
            here[key] = value
    return text_of(document)


def text_of(document: dict) -> str:
    """TOML text of a sheet's document, in the order of `KEYS`. The text reads back as the same document."""
    lines: list[str] = []
    order = [*KEYS[""], *(name for name in KEYS if name)]
    keys = sorted(document, key=lambda k: order.index(k) if k in order else len(order))
    for key in keys:
        if not _is_table(document[key]):
            lines.append(f"{_key(key)} = {_toml(document[key])}")
    for key in keys:
        value = document[key]
        if _is_table(value):
            for one in value if isinstance(value, list) else [value]:
                _write_table(lines, [key], one, isinstance(value, list))
    return "\n".join(lines) + "\n"


def _is_table(value) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value))


def _write_table(lines: list[str], path: list[str], table: dict, listed: bool) -> None:
    name = ".".join(_key(p) for p in path)
    lines += ["", f"[[{name}]]" if listed else f"[{name}]"]
    for key, value in table.items():
        if not _is_table(value) or (path, key) == (["pond"], "set_point"):
            lines.append(f"{_key(key)} = {_toml(value)}")
    for key, value in table.items():
        if _is_table(value) and (path, key) != (["pond"], "set_point"):
            for one in value if isinstance(value, list) else [value]:
                _write_table(lines, [*path, key], one, isinstance(value, list))


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _toml(key)


def _toml(value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, list):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_toml(v)}" for k, v in value.items()) + " }"
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in text) + '"'

"""Build the parts of a pond from its sheet: size, walls, cover, heater, tariff."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from pondheat.core import display_units, ranges, value_parsers
from pondheat.core.value_parsers import TableReader
from pondheat.heat import walls
from pondheat.heat.balance import Wall
from pondheat.heat.covers import KINDS as COVER_KINDS
from pondheat.heat.covers import Cover
from pondheat.money import tariffs
from pondheat.season import heaters, schedule
from pondheat.sheet import construction
from pondheat.sheet.keys import SheetFault
from pondheat.sheet.unstated import NO_COVER, default_leak
from pondheat.sheet.values import Reader, evenings, layers, leak, one_of

# Share of light let through where the sheet has none: twin wall, opaque lid, bubbles, clear liquid (judgement).
_LIGHT = {"sheet": 0.8, "insulated lid": 0.0, "floating": 0.5, "film": 1.0}
_HEAT_PUMP_KEYS = ("power_at", "cold_power", "cold_power_at", "lowest_air_temp", "backup", "cop_factor", "cop_formula")
_MOST_HEATER = 50_000  # W per m² of water; thirty times the heat loss in the coldest gale


@dataclass(frozen=True)
class CoverPlan:
    """Times of use of a cover (minutes after midnight, None for day and night), its price and its life [years]."""

    on: int | None = None
    off: int | None = None
    days: tuple = (schedule.ALWAYS,)
    exceptions: tuple = ()
    price: float | None = None
    life: float | None = None


def size(reader: Reader, body: TableReader) -> tuple[float | None, float | None, float]:
    """Surface area [m²], volume [m³] and outline [m] of the water; the first two None where they have a fault."""
    area = reader.value(body, "surface_area", "m**2", "surface_area")
    length = reader.value(body, "length", "m", "perimeter", positive=True)
    width = reader.value(body, "width", "m", "perimeter", positive=True)
    volume = reader.value(body, "volume", "m**3", "volume", positive=True)
    depth = reader.value(body, "depth", "m", "depth")
    given = body.values
    if "surface_area" not in given and length and width:
        area = length * width
        if wrong := ranges.range_error("surface_area", area):
            body.fault("length", wrong)
    elif "surface_area" not in given and ("length" not in given or "width" not in given):
        body.fault("surface_area", 'missing: write surface_area = "10 m²", or length and width.')
    elif area and length and width and abs(area / (length * width) - 1) > 0.2:
        body.fault(
            "surface_area", f"{area:g} m² given, but {length:g} m × {width:g} m is {length * width:g} m²: which is it?"
        )
    if volume is None and "volume" not in given:
        if depth and area:
            volume = area * depth
        elif "depth" not in given:
            body.fault("volume", 'missing: write volume = "12 m³", or depth.')
    if area and volume and not body.faults:
        mean = volume / area
        if not 0.05 <= mean <= 8:
            litres = display_units.quantity(f"{volume:g}", "L")
            hint = f"Did you mean {litres}?" if 0.05 <= mean / 1000 <= 8 else "Check the unit of each."
            body.fault(
                "volume" if "volume" in given else "depth",
                f"{display_units.volume(volume)} ({volume * 1000:.0f} L) over {area:g} m² is {mean:.3g} m deep on "
                f"average: it should be between 0.05 and 8 m. {hint}",
            )
        elif depth and abs(mean / depth - 1) > 0.5:
            reader.notes.append(
                f"volume and surface make a mean depth of {mean:.2g} m, the sheet says {depth:.2g} m; "
                "the volume is used."
            )
    if body.faults:
        return None, None, 4.0
    return area, volume, 2 * (length + width) if length and width else 2 * math.sqrt(math.pi * area)


def sides(
    reader: Reader,
    surface_area: float,
    depth: float,
    outline: float,
    conductivity: float,
    kind: str | None,
    indoors: bool,
) -> tuple[Wall, ...]:
    """Walls and floor of a pond with this surface area [m²], mean depth and outline [m].

    conductivity: of the ground [W/(m·K)]; kind: `construction.SUNK` or RAISED, None where the sheet doesn't say;
    indoors: whether the pond is in a room.
    """
    made: list[Wall] = []
    tables = reader.listed("wall")
    for table in tables:
        table.take("name", value_parsers.text, "")
        area = reader.value(table, "area", "m**2", "area", positive=True)
        if "area" not in table.values:
            table.fault("area", 'missing: write area = "15.6 m²".')
        against = table.take("against", one_of("far side of a wall", ("air", "ground")), "air")
        u = _wall_u_value(reader, table, against, conductivity)
        reader.close(table)
        if u is not None and not table.faults:
            made.append(Wall(area, u, against))
    if tables and made and kind is None:
        kind = construction.SUNK if any(wall.against == "ground" for wall in made) else construction.RAISED
    base = reader.document.get("base")
    if kind is None and isinstance(base, dict) and str(base.get("depth", "0")).strip()[:1] in "123456789":
        kind = construction.SUNK  # a floor below the ground
    choices = construction.possible(kind, indoors)
    if not tables:
        made.append(construction.default_sides(outline * depth, depth, conductivity, choices))
    if base is not None:
        floor = _floor(reader, surface_area, depth, outline, conductivity, choices)
        made += [floor] if floor else []
    else:
        made.append(construction.default_floor(surface_area, outline, depth, conductivity, choices))
    missing = [name for name, is_missing in (("[[wall]]", not tables), ("[base]", base is None)) if is_missing]
    if missing:
        first, *others = choices.values()
        reader.notes.append(
            f"No {' and no '.join(missing)} is given, so we assume the pond is {first.words}. The likely range allows "
            f"for others: {'; '.join(one.words for one in others)}."
        )
    return tuple(made)


def _stated_u_value(reader: Reader, table: TableReader) -> tuple[float | None, tuple | None]:
    """U-value [W/(m²·K)] and layers (thicknesses [m], conductivities [W/(m·K)]) of a wall, None where not given."""
    u, stacked = reader.value(table, "u_value", "W/m**2/K", "u_value"), table.take("layers", layers, None)
    if u is not None and stacked is not None:
        reader.notes.append(f"{table.path}u_value is used; the layers beside it are not.")
    return u, stacked


def _u_value_from(table: TableReader, formula, *arguments) -> float | None:
    """U-value [W/(m²·K)] from `formula`; None and a fault where its arguments are out of range."""
    try:
        return float(formula(*arguments))
    except ranges.OutOfRange as wrong:
        table.fault(
            "layers" if "layers" in table.values else "area", f"these sizes and layers don't make a wall: {wrong}"
        )
        return None


def _wall_u_value(reader: Reader, table: TableReader, against: str | None, conductivity: float) -> float | None:
    """U-value [W/(m²·K)] of a wall, as given or from its layers; None where it has a fault."""
    u, stacked = _stated_u_value(reader, table)
    depth = reader.value(table, "depth", "m", "depth")
    if u is not None or table.faults:
        return u
    if stacked is None:
        table.fault("u_value", 'missing: write u_value = "0.5 W/m²K", or layers.')
        return None
    if against == "air":
        return _u_value_from(table, walls.u_value, *stacked)
    if depth is None:
        table.fault("depth", 'a wall in the ground built from layers needs depth, such as "1.2 m".')
        return None
    return _u_value_from(
        table, walls.sunk_wall_u_value, depth, conductivity, construction.FLOOR_EDGE, _resistance(stacked)
    )


def _resistance(stacked: tuple | None) -> float:
    """Thermal resistance [m²·K/W] of layers; 0 without any."""
    return sum(thickness / conductivity for thickness, conductivity in zip(*stacked)) if stacked else 0.0


def _floor(
    reader: Reader,
    surface_area: float,
    pond_depth: float,
    outline: float,
    conductivity: float,
    choices: dict[str, construction.Construction],
) -> Wall | None:
    """Floor of a pond, arguments as of `sides`; None where it has a fault."""
    base = reader.table("base")
    area = reader.value(base, "area", "m**2", "area", surface_area, positive=True)
    against = base.take("against", one_of("far side of the base", ("air", "ground")), "ground")
    around = reader.value(base, "perimeter", "m", "perimeter", outline, positive=True)
    depth = reader.value(base, "depth", "m", absent=0.0)
    if depth is not None and not 0 <= depth <= 20:
        base.fault(
            "depth", f"“{base.values['depth']}” can't be right: it should be between 0 and 20 m below the ground."
        )
    u, stacked = _stated_u_value(reader, base)
    bare = False
    if u is None and not base.faults:
        if against == "air" and stacked is not None:
            u = _u_value_from(base, walls.u_value, *stacked)
        elif against == "air":
            base.fault("u_value", "a base against air needs u_value or layers.")
        elif stacked is not None:
            u = _u_value_from(base, construction.floor_u_value, area, around, depth, conductivity, _resistance(stacked))
        else:  # bare ground is taken, and insulation is possible
            u = _u_value_from(base, construction.floor_u_value, area, around, depth, conductivity, 0.0)
            bare = u is not None
    reader.close(base)
    if bare and not base.faults:
        return construction.default_floor(area, around, pond_depth, conductivity, choices, depth)
    return Wall(area, u, against) if u is not None and not base.faults else None


def cover(reader: Reader, surface_area: float) -> tuple[Cover | None, CoverPlan]:
    """Cover and its plan; the cover is None for a pond without one, or with a fault. surface_area: of the pond [m²]."""
    if "cover" not in reader.document:
        return None, CoverPlan()
    table = reader.table("cover")
    if str(table.values.get("kind", "")).strip().lower() in NO_COVER:
        return None, CoverPlan()
    kind = table.take("kind", one_of("kind of cover", COVER_KINDS), "sheet")
    u = reader.value(table, "u_value", "W/m**2/K", "u_value", positive=True)
    if u is None and kind not in (None, "film") and "u_value" not in table.values:
        table.fault(
            "u_value",
            'missing: write u_value = "3.1 W/m²K" (twin wall 10 mm 2.8–3.2, 16 mm 2.1–2.5, 32 mm five-wall about 1.4).',
        )
    light = reader.value(table, "light", "dimensionless", "share", _LIGHT.get(kind, 0.8))
    gap = table.take("gap", leak, 0.0 if kind in (None, "film", "floating") else default_leak(surface_area))
    share = reader.value(table, "share", "dimensionless", "share", 1.0)
    cut = reader.value(table, "evaporation_cut", "dimensionless", "share", 0.15)
    owner, strange = (
        ("other covers", ("u_value", "light", "gap")) if kind == "film" else ("a film", ("evaporation_cut",))
    )
    for key in strange if kind else ():
        if key in table.values:
            table.fault(key, f"belongs to {owner}; this cover is of kind {kind}.")
    on, off = (table.take(key, value_parsers.clock_minutes, None) for key in ("on", "off"))
    if ("on" in table.values) != ("off" in table.values):
        table.fault("off" if "on" in table.values else "on", "give both on and off, or neither for day and night.")
    first, last = (table.take(key, value_parsers.day_of_year, None) for key in ("from", "to"))
    if ("from" in table.values) != ("to" in table.values):
        table.fault("to" if "from" in table.values else "from", "give both from and to, or neither for every day.")
    exceptions = table.take("except", evenings, ())
    price = reader.value(table, "price", "money", "price")
    life = reader.value(table, "life", "year", "years", positive=True)
    reader.close(table)
    plan = CoverPlan(on, off, ((first, last),) if first and last else (schedule.ALWAYS,), exceptions or (), price, life)
    if table.faults:
        return None, plan
    return Cover(kind, 3.0 if u is None else u, light, gap, share, evaporation_cut=cut), plan


def heater(reader: Reader, surface_area: float | None) -> tuple[heaters.Heater | None, float | None]:
    """Heater of a pond with this surface area [m²], None where it has a fault, and the price of gas [money/kWh]."""
    if "heater" not in reader.document:
        return heaters.Heater("none"), None
    table = reader.table("heater")
    kind = table.take("kind", one_of("kind of heater", heaters.KINDS), "resistance")
    power = reader.value(table, "power", "W", "power")
    if power is None and kind not in (None, "none") and "power" not in table.values:
        table.fault("power", 'missing: write power = "3 kW".')
    if power is not None and power < 10 and kind != "none":
        hint = f"; did you mean {power:g} kW?" if power else "."
        table.fault("power", f"{power:g} W can't be right: a heater has at least some tens of watts{hint}")
    elif power is not None and surface_area and power > _MOST_HEATER * surface_area:
        table.fault(
            "power",
            f"“{table.values['power']}” can't be right for {surface_area:g} m² of water: at most "
            f"{_MOST_HEATER / 1000:g} kW for each; did you mean {power / 1000:g} W?",
        )
    warm = reader.value(table, "power_at", "degC", "air_temp", 15.0)
    cold_power = reader.value(table, "cold_power", "W", "power")
    cold = reader.value(table, "cold_power_at", "degC", "air_temp", 0.0)
    lowest = reader.value(table, "lowest_air_temp", "degC", "air_temp", -10.0)
    backup = reader.value(table, "backup", "W", "power", 0.0)
    efficiency = reader.value(table, "efficiency", "dimensionless", "efficiency", 0.9)
    factor = reader.value(table, "cop_factor", "dimensionless", "cop", heaters.FIELD_FACTOR.value)
    formula = table.take("cop_formula", one_of("COP formula", heaters.COP_FORMULAS), "staffell")
    gas_rate = table.take("gas_rate", lambda v: value_parsers.rate(v, reader.currency), None)
    fade = heaters.Heater.fade
    if cold_power is not None and power and warm is not None and cold is not None:
        if cold >= warm or cold_power > power:
            table.fault("cold_power", "the cold point must be below the warm one, in air temperature and in power.")
        else:
            fade = heaters.fade_between(power, warm, cold_power, cold)
    elif kind == "heat pump" and "cold_power" not in table.values:
        reader.notes.append(
            f"We assume the heat pump's output falls by {100 * fade:.1f} % for each kelvin of colder "
            "air; give cold_power if you know it."
        )
    if kind is not None:
        for owner, keys in (("heat pump", _HEAT_PUMP_KEYS), ("gas", ("efficiency", "gas_rate"))):
            for key in keys if kind != owner else ():
                if key in table.values:
                    table.fault(key, f"belongs to a heater of kind {owner}; this one is of kind {kind}.")
    if kind == "gas" and "tariff" in reader.document and "gas_rate" not in table.values:
        table.fault("gas_rate", 'a gas heater on a tariff needs gas_rate = "9 p/kWh".')
    reader.close(table)
    if table.faults:
        return None, gas_rate
    return heaters.Heater(kind, power or 0.0, warm, fade, lowest, backup, efficiency, formula, factor), gas_rate


def tariff(reader: Reader) -> tariffs.Tariff | None:
    """Tariff from the sheet or a file of its own; None without one, or where it has a fault."""
    table = reader.document.get("tariff")
    if table is None:
        return None
    if not isinstance(table, dict):
        reader.faults.append(SheetFault("tariff", str(table)[:40], "this is a table: begin it with [tariff]."))
        return None
    if "file" not in table:
        made, faults = tariffs.from_table(table, reader.currency, reader.folder)
    elif len(table) > 1:
        made, faults = None, [("file", "give the tariff in a file or here, not both.")]
    elif not isinstance(table["file"], str) or "\0" in table["file"]:
        made, faults = None, [("file", "this needs the name of a file, as text.")]
    else:
        made, faults = tariffs.read(reader.folder / table["file"], reader.currency)
        faults = [(path or "file", sentence) for path, sentence in faults]
    for path, sentence in faults:
        reader.faults.append(SheetFault(f"tariff.{path}" if path else "tariff", _given_at(table, path), sentence))
    return made


def _given_at(table: dict, path: str) -> str:
    """Value at a key path such as window[2].rate, numbered from 1; "" where there is none."""
    here: object = table
    for name, number in re.findall(r"([^.\[\]]+)(?:\[(\d+)\])?", path):
        here = here.get(name) if isinstance(here, dict) else None
        if number and isinstance(here, list):
            here = here[int(number) - 1] if int(number) <= len(here) else None
    return "" if here is None or isinstance(here, (dict, list)) else str(here)[:60]

"""Keys of a pond sheet with an example and a meaning each, and the errors that a sheet can have."""

from __future__ import annotations

from dataclasses import dataclass

from pondheat.heat import surface

# Keys of a tariff inside the sheet whose values may be listed as assumed.
TARIFF_KEYS = ("tariff.rate", "tariff.otherwise", "tariff.window", "tariff.standing_charge", "tariff.tax")
# Table → key → (example, meaning). The order is the order in which a sheet is written.
KEYS: dict[str, dict[str, tuple[str, str]]] = {
    "": {
        "name": ('"Garden pond"', "what you call the pond"),
        "timezone": ('"Europe/London"', "IANA time zone; clock times in the sheet and the tariff are local civil time"),
        "currency": ('"GBP"', 'GBP, EUR, USD, or your own: { code = "SEK", sign = "kr", hundredth = "öre" }'),
        "assumed": (
            '["cover.u_value"]',
            "keys whose values are defaults or guesses, not looked up or measured; reports say so",
        ),
    },
    "season": {
        "start": ("2025-09-01", "first day"),
        "end": ("2026-05-31", "last day; may be in the next year"),
    },
    "place": {
        "town": (
            '"Leeds, GB"',
            "a town, or latitude and longitude in one; its weather is used once you have fetched it",
        ),
        "latitude": ("51.5", "degrees, north positive; weather files give their own"),
        "longitude": ("-1.0", "degrees, east positive"),
        "altitude": (
            '"60 m"',
            "above sea level; sets the air pressure where the weather does not, and corrects a town's",
        ),
        "wind_shelter": ("0.5", "wind at the water over wind at that height in the open: 0.2 walled in, 1 open field"),
        "sky_view": ("0.8", "share of the sky above the water that is open"),
        "shade": ("0.2", "share of the sun blocked by trees and walls"),
        "net": ('"90 %"', "open area of a mesh net over the water whenever the cover is off; if left out, no net"),
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
        "construction": ('"sunk"', "sunk or raised: what we assume of walls and floor if the sheet describes none"),
        "set_point": (
            '"18 °C"',
            "temperature to hold: the middle of the thermostat's range; by date: "
            '{ "1 Sep" = "18 °C", "1 Dec" = "12 °C" }; leave out for no heat',
        ),
        "floor": ('"8 °C"', "lowest temperature you accept; hours below it are counted"),
        "ceiling": ('"26 °C"', "highest temperature you accept; hours above it are counted"),
        "start_temp": ('"14 °C"', "at the start; otherwise the 60 days before the season are run first"),
    },
    "wall": {
        "name": ('"sides"', "for your own use"),
        "area": ('"15.6 m²"', "of this wall"),
        "u_value": ('"0.5 W/m²K"', "thermal transmittance; or give layers"),
        "layers": ('["2 mm HDPE", "50 mm EPS"]', "inside to outside"),
        "against": ('"air"', "air or ground"),
        "depth": ('"1.2 m"', "for a wall in the ground built from layers: how deep it reaches"),
    },
    "base": {
        "area": ('"10 m²"', "of the floor; if left out, the water's surface"),
        "u_value": ('"0.4 W/m²K"', "thermal transmittance; or give layers, or neither for bare ground"),
        "layers": ('["50 mm XPS"]', "inside to outside"),
        "against": ('"ground"', "ground or air"),
        "perimeter": ('"13 m"', "outline of the floor; if left out, that of the surface"),
        "depth": ('"0 m"', "how far the floor is below ground level"),
    },
    "cover": {
        "kind": ('"sheet"', "sheet, insulated lid, floating (on the water), film (a liquid film, not a foil), or none"),
        "u_value": ('"3.1 W/m²K"', "thermal transmittance as sold (not for film)"),
        "light": ('"80 %"', "share of the sun's energy it lets through"),
        "gap": ('"2 L/s"', 'air that leaks under it, or the open gap: "1 m x 1 cm" (half of it inlet, at 0.5 m/s)'),
        "share": ('"100 %"', "part of the surface it covers"),
        "evaporation_cut": ('"15 %"', "for film: share of evaporation it stops"),
        "on": ('"19:00"', "laid on at; if on and off are left out, day and night"),
        "off": ('"08:00"', "taken off at"),
        "from": ('"1 Oct"', "first evening of the year it is used"),
        "to": ('"30 Apr"', "last evening"),
        "except": ('["2025-12-24"]', "evenings on which it is forgotten"),
        "price": ('"£180"', "to buy"),
        "life": ('"6 years"', "how long it lasts"),
    },
    "filter": {
        "air_flow": ('"2 L/s"', "air that meets falling water in a trickle filter or waterfall"),
        "effectiveness": ('"50 %"', "how close that air is to warm and saturated when it leaves"),
        "casing": ('"3 W/K"', "transmittance times area of the filter's casing"),
    },
    "pump": {
        "power": ('"60 W"', "electricity it takes, day and night"),
        "submerged": ("true", "under water nearly all of it warms the pond"),
    },
    "aeration": {"air_flow": ('"40 L/min"', "air blown through the water")},
    "water": {
        "change_per_day": ('"5 %"', "share of the volume, or an amount such as 600 L/day"),
        "mains_temp": ('"10 °C"', "of the new water; one value, or twelve from January; if left out, the ground's"),
    },
    "heater": {
        "kind": ('"resistance"', "none, resistance, heat pump or gas"),
        "power": ('"3 kW"', "heat it can give; for a heat pump at power_at"),
        "power_at": ('"15 °C"', "air temperature for which a heat pump's power is stated"),
        "cold_power": ('"1.8 kW"', "heat pump: the heat it still gives at cold_power_at"),
        "cold_power_at": ('"0 °C"', "air temperature for cold_power"),
        "lowest_air_temp": ('"-10 °C"', "heat pump: stops below this"),
        "backup": ('"1 kW"', "resistance heater that helps a heat pump"),
        "efficiency": ('"90 %"', "of a gas heater"),
        "cop_factor": ("0.85", "heat pump: your COP over that of the formula; if left out, 0.85, as in field trials"),
        "cop_formula": ('"staffell"', "heat pump: staffell or ruhnau"),
        "gas_rate": ('"9 p/kWh"', "price of gas per kWh burnt"),
    },
    "tariff": {"file": ('"night.toml"', "a tariff in a file of its own; or give its keys here")},
    "emissions": {
        "electricity": (
            '"0.2 kg/kWh"',
            "greenhouse gases of a kWh from the grid, as your supplier states; if left out, your country's published "
            "figure, where we have one",
        ),
        "gas": ('"0.18 kg/kWh"', "of a kWh of gas burnt; if left out, natural gas"),
    },
    "money": {
        "discount_rate": ('"4 %"', "yearly rate at which later money is worth less"),
        "heat_pump_price": ('"£2,500"', "a heat pump, fitted, for the choice of buying one"),
    },
    "weather": {
        "source": ('"potsdam"', "a built-in place, a file beside the sheet, or town for that of [place] town"),
        "wind_height": ('"10 m"', "height of the wind in the file, where it does not say"),
        "spread_seed": (
            "1",
            "with monthly normals: a whole number that chooses which cold spells are drawn; the same number draws "
            "the same ones",
        ),
    },
    "formulas": {
        "evaporation": (f'"{surface.DEFAULT_EVAPORATION}"', "name of the evaporation formula"),
        "sky": (f'"{surface.DEFAULT_SKY}"', "name of the sky formula"),
    },
}


@dataclass(frozen=True)
class SheetFault:
    """One error in a sheet: its key, the value given ("" where there was none), and a sentence."""

    key: str
    given: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.key}: {self.sentence}"


class SheetError(ValueError):
    """A sheet cannot be used; `faults` lists all its errors, `where` names the file."""

    def __init__(self, faults: list[SheetFault], where: str = ""):
        self.faults, self.where = faults, where
        count = f"{len(faults)} thing{'s' if len(faults) > 1 else ''} to put right"
        head = f"{count} in {where}:" if where else f"{count}:"
        super().__init__("\n".join([head, *(f"  {fault}" for fault in faults)]))

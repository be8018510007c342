"""Words for the keys of a pond sheet, as its keeper would say them."""

from __future__ import annotations

_WORDS = {
    "pond.length": "the length",
    "pond.width": "the width",
    "pond.depth": "the depth",
    "pond.volume": "the volume",
    "pond.surface_area": "the surface",
    "pond.set_point": "the temperature to hold",
    "place.wind_shelter": "the shelter from wind",
    "place.sky_view": "the open sky above it",
    "place.shade": "the shade",
    "cover.kind": "the kind of cover",
    "cover.u_value": "the cover's U-value",
    "cover.gap": "the leak under the cover",
    "cover.light": "the light through the cover",
    "cover.on": "the hours of the cover",
    "cover.price": "the price of the cover",
    "cover.life": "the life of the cover",
    "heater.kind": "the heater",
    "heater.power": "the heater's power",
    "heater.gas_rate": "the price of gas",
    "tariff.rate": "the price of electricity",
    "tariff.otherwise": "the price of electricity",
    "tariff.window": "the cheap hours",
    "tariff.standing_charge": "the standing charge",
    "weather.source": "the weather",
    "wall.layers": "the walls",
    "wall.against": "what is outside the walls",
    "base.layers": "the floor",
    "base.against": "what is under the floor",
    "filter.air_flow": "the filter's air",
    "filter.effectiveness": "the filter's effectiveness",
    "pump.power": "the pump's power",
    "aeration.air_flow": "the air blown through the water",
    "water.change_per_day": "the water changes",
    "season.start": "the first day",
    "season.end": "the last day",
    "timezone": "the time zone",
}


def key_words(key: str) -> str:
    """A key of the pond sheet in words.

    >>> key_words("place.wind_shelter"), key_words("heater.cold_power")
    ('the shelter from wind', 'the cold power of the heater')
    """
    table, _, name = key.rpartition(".")
    plain = name.replace("_", " ")
    return _WORDS.get(key) or (f"the {plain} of the {table}" if table else f"the {plain}")

"""Another model of ponds, written apart from the library's: the truth that likely ranges are tested against.

Nothing of the library's heat balance or simulator is used here, and no formula that its uncertainty samples. A twin is
a pond that differs from its sheet in everything a keeper cannot know; its world is stepped by explicit Euler at ten
minutes, all twins side by side as numpy arrays.

What is other than in the library:
- evaporation by wind functions of other authors, one for each twin: Sweers 1976 (with the size of the water),
  Meyer 1942, McMillan 1973, and Adams et al. 1990 for heated water (all from memory), wind at 2 m;
- convection by a Bowen ratio of 0.61–0.66 mbar/K;
- long wave: clear sky by Prata 1996, clouds by Unsworth and Monteith 1975 (both from memory), and an error of the
  world's sky that lasts days (AR(1)), with a standard deviation of 8 W/m² and 5 W/m² of its mean;
- a cover as four resistances in series with the sky's radiation on its outer face, solved in closed form;
- a thermostat that switches at ± 0.15 K;
- the weather of the coming year and the station's errors: AR(1) series, no other station's hours.

Spreads of the twins about their sheets (standard deviations of logarithms, or absolute; judgement, as no survey of
garden ponds was found): wind shelter 0.3, sky view 0.09, shade 0.09, walls 0.12, U-value of the cover 0.09, leak 0.65,
filter 0.25, volume 0.03.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

STEPS = 6  # of ten minutes in an hour
WATER = 4.186e6  # J/(m³·K)
SIGMA = 5.67e-8
WIND_FUNCTIONS = ("sweers", "meyer", "mcmillan", "adams")


def vapour_pressure(temp):
    """Saturation vapour pressure [mbar] (Bolton 1980, memory)."""
    return 6.112 * np.exp(17.67 * temp / (temp + 243.5))


@dataclass(frozen=True)
class Weather:
    """Hours of weather, (hours, twins): air [°C], humidity [–], wind [m/s at 10 m], sun and long wave down [W/m²]."""

    air: np.ndarray
    humidity: np.ndarray
    wind: np.ndarray
    sun: np.ndarray
    long_wave: np.ndarray


@dataclass(frozen=True)
class Ponds:
    """The true ponds, one value for each twin."""

    area: np.ndarray
    volume: np.ndarray
    shelter: np.ndarray
    sky_view: np.ndarray
    shade: np.ndarray
    wall_air: np.ndarray
    wall_ground: np.ndarray
    stream_air: np.ndarray
    casing: np.ndarray
    new_water: np.ndarray
    cover_u: np.ndarray
    cover_light: np.ndarray
    cover_leak: np.ndarray
    set_point: np.ndarray
    pump_heat: np.ndarray
    formula: np.ndarray
    bowen: np.ndarray


def autoregressive(rng: np.random.Generator, hours: int, twins: int, size, last: float) -> np.ndarray:
    """AR(1) series (hours, twins) of standard deviation `size`; last: hours after which 37 % is left."""
    keep = np.exp(-1 / last)
    shocks = rng.standard_normal((hours, twins)) * np.sqrt(1 - keep**2)
    found = np.empty((hours, twins))
    found[0] = rng.standard_normal(twins)
    for hour in range(1, hours):
        found[hour] = keep * found[hour - 1] + shocks[hour]
    return found * size


def sky_long_wave(air, humidity, cloud) -> np.ndarray:
    """Long wave down [W/m²]: Prata 1996 under a clear sky, Unsworth and Monteith 1975 under cloud [–]."""
    kelvin = air + 273.15
    water = 46.5 * humidity * vapour_pressure(air) / kelvin  # precipitable water, cm
    clear = 1 - (1 + water) * np.exp(-np.sqrt(1.2 + 3.0 * water))
    return (clear + (1 - clear) * 0.84 * cloud) * SIGMA * kelvin**4


def evaporation(ponds: Ponds, water, air, vapour, wind) -> tuple[np.ndarray, np.ndarray]:
    """Heat lost by evaporation and by convection from open water [W/m²]; wind: at 2 m over the water [m/s]."""
    at_three = 1.06 * wind  # 3 m over 2 m, seventh-power law
    buoyant = np.maximum(
        (water + 273.15) * (1 + 0.378 * vapour_pressure(water) / 1013) - (air + 273.15) * (1 + 0.378 * vapour / 1013),
        0.0,
    )
    functions = (
        (5e6 / ponds.area) ** 0.05 * (3.6 + 2.5 * at_three),
        7.7 + 2.1 * wind,  # 11 inches a month and inch of mercury × (1 + 0.1 miles per hour at 25 ft)
        3.6 + 2.5 * at_three,
        np.sqrt((2.7 * np.cbrt(buoyant)) ** 2 + (3.1 * wind) ** 2),
    )
    transfer = np.choose(ponds.formula, functions)  # W/(m²·mbar)
    return transfer * (vapour_pressure(water) - vapour), transfer * ponds.bowen * (water - air)


def covered_loss(ponds: Ponds, water, air, vapour, wind, sky, kelvin4) -> np.ndarray:
    """Heat that passes a covered square metre, and leaks round it [W/m²]."""
    core = np.maximum(1 / ponds.cover_u - 0.17, 0.01)  # as sold, less the surface resistances of the trade's value
    # within the gap: radiation 5.2, air 3.0 and vapour that condenses on the sheet, 1.55 mbar/K × slope × 3.0 W/(m²·K)
    slope = vapour_pressure(water) * 17.67 * 243.5 / (water + 243.5) ** 2
    within = 5.2 + 3.0 + 1.55 * 3.0 * slope
    convective, radiant = 4.5 + 3.0 * wind, 4 * 0.9 * SIGMA * (air + 273.15) ** 3
    through = 1 / (1 / within + core)
    net_sky = 0.9 * ponds.sky_view * (sky - kelvin4)  # what the sky gives less than surroundings at air temperature
    face = (through * water + (convective + radiant) * air + net_sky) / (through + convective + radiant)
    leaked = (
        ponds.cover_leak
        / ponds.area
        * 1.25
        * (1005 * (water - air) + 2.5e6 * 0.622 / 1013 * (vapour_pressure(water) - vapour))
    )
    return through * (water - face) + leaked


def heater_and_water(
    ponds: Ponds, weather: Weather, ground: np.ndarray, covered: np.ndarray, power: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Heat of the heater [kWh], mean water [°C] and heat stored in the water [kWh] of each hour, (hours, twins).

    ground: [°C] one an hour; covered: 0 or 1, (hours,) or (hours, twins); power: of the heater [W].
    """
    hours, twins = weather.air.shape
    covered = np.broadcast_to(covered.reshape(hours, -1), (hours, twins))
    water, on = ponds.set_point.copy(), np.zeros(twins, bool)
    heat, mean, stored = np.zeros((hours, twins)), np.zeros((hours, twins)), np.zeros((hours, twins))
    capacity = WATER * ponds.volume
    for hour in range(hours):
        air, wind = weather.air[hour], weather.wind[hour] * ponds.shelter * (2 / 10) ** (1 / 7)
        vapour = weather.humidity[hour] * vapour_pressure(air)
        kelvin4, sky = SIGMA * (air + 273.15) ** 4, weather.long_wave[hour]
        around = ponds.sky_view * sky + (1 - ponds.sky_view) * kelvin4
        sun = 0.93 * (1 - ponds.shade) * weather.sun[hour] * ponds.area
        lid, began = covered[hour], water
        for _ in range(STEPS):
            by_vapour, by_air = evaporation(ponds, water, air, vapour, wind)
            open_loss = by_vapour + by_air + 0.97 * (SIGMA * (water + 273.15) ** 4 - around)
            under = covered_loss(ponds, water, air, vapour, wind, sky, kelvin4)
            lost = ponds.area * ((1 - lid) * open_loss + lid * under)
            lost += (ponds.wall_air + ponds.casing) * (water - air)
            lost += (ponds.wall_ground + ponds.new_water * WATER) * (water - ground[hour])
            lost += (
                ponds.stream_air
                * 1.25
                * (1005 * (water - air) + 2.5e6 * 0.622 / 1013 * (vapour_pressure(water) - vapour))
            )
            gained = ponds.pump_heat + sun * (1 - lid + lid * ponds.cover_light)
            on = (water < ponds.set_point - 0.15) | (on & (water < ponds.set_point + 0.15))
            mean[hour] += water / STEPS
            heat[hour] += on * power / STEPS / 1000
            water = np.maximum(water + (gained + on * power - lost) * 3600 / STEPS / capacity, 0.1)
        stored[hour] = capacity * (water - began) / 3.6e6
    return heat, mean, stored


# --- sheets, worlds and logs ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Twins:
    """Sheets as their keepers wrote them, and the truth.

    sheets: values by name, one for each twin; open_kwh, covered_kwh: true energy of heater and pump over the season;
    log_kwh, log_water: of each hour of the log, as its meter and thermometer showed it, (hours, twins); log_weather:
    as the station recorded it; log_start: first hour of the log in the season; log_covered: share covered, (hours,).
    """

    sheets: dict[str, np.ndarray]
    open_kwh: np.ndarray
    covered_kwh: np.ndarray
    log_kwh: np.ndarray
    log_water: np.ndarray
    log_weather: Weather
    log_start: np.ndarray
    log_covered: np.ndarray


def sheets_of(rng: np.random.Generator, twins: int) -> dict[str, np.ndarray]:
    """What keepers write: sizes, temperature held, shelter, cover, filter, all differing from pond to pond."""

    def between(low, high):
        return rng.uniform(low, high, twins).round(2)

    length, ratio = between(2.2, 5.5), between(0.6, 1.0)
    width = (length * ratio).round(2)
    return {
        "length": length,
        "width": width,
        "depth": between(0.8, 1.5),
        "set_point": between(10, 20),
        "wind_shelter": between(0.3, 0.7),
        "sky_view": between(0.6, 0.9),
        "shade": between(0.1, 0.4),
        "wall_u": between(0.4, 1.5),
        "floor_u": between(0.3, 0.6),
        "cover_u": between(1.4, 3.5),
        "cover_light": between(0.5, 0.8),
        "gap": (0.15 * 2 * (length + width) * between(0.7, 1.4)).round(2),  # L/s
        "filter_air": between(0.5, 2.5),  # L/s
        "change": between(0.5, 3.0),  # % a day
        "pump": between(40, 120).round(),
    }


def true_ponds(rng: np.random.Generator, sheet: dict[str, np.ndarray]) -> Ponds:
    """The ponds as they are: each value off by what its keeper cannot know."""
    twins = len(sheet["length"])

    def off(size: float) -> np.ndarray:
        return np.exp(rng.normal(0, size, twins))

    area = sheet["length"] * sheet["width"]
    sides = 2 * (sheet["length"] + sheet["width"]) * sheet["depth"]
    volume = area * sheet["depth"] * off(0.03)
    walls = off(0.12)
    return Ponds(
        area=area,
        volume=volume,
        shelter=np.minimum(sheet["wind_shelter"] * off(0.3), 1.0),
        sky_view=np.clip(sheet["sky_view"] + rng.normal(0, 0.09, twins), 0.2, 1.0),
        shade=np.clip(sheet["shade"] + rng.normal(0, 0.09, twins), 0.0, 0.9),
        wall_air=sides * sheet["wall_u"] * walls,
        wall_ground=area * sheet["floor_u"] * walls,
        stream_air=sheet["filter_air"] / 1000 * np.minimum(0.5 * off(0.25), 1.0),
        casing=np.full(twins, 2.0) * off(0.25),
        new_water=volume * sheet["change"] / 100 / 86_400 * off(0.25),
        cover_u=sheet["cover_u"] * off(0.09),
        cover_light=sheet["cover_light"],
        cover_leak=sheet["gap"] / 1000 * off(0.65),
        set_point=sheet["set_point"],
        pump_heat=sheet["pump"] * 0.97,
        formula=rng.integers(len(WIND_FUNCTIONS), size=twins),
        bowen=rng.uniform(0.61, 0.66, twins),
    )


def true_year(rng: np.random.Generator, typical: dict[str, np.ndarray], twins: int) -> Weather:
    """A coming season for each twin: the typical one, warmer or colder, windier, sunnier, and day by day another."""
    hours = len(typical["air"])

    def typical_of(name: str) -> np.ndarray:
        return typical[name][:, None]

    air = typical_of("air") + rng.normal(0, 0.9, twins) + autoregressive(rng, hours, twins, 2.0, 60.0)
    humidity = np.clip(typical_of("humidity") + autoregressive(rng, hours, twins, 0.05, 24.0), 0.2, 1.0)
    wind = typical_of("wind") * np.exp(rng.normal(0, 0.06, twins) + autoregressive(rng, hours, twins, 0.2, 36.0))
    sun = typical_of("sun") * np.exp(rng.normal(0, 0.06, twins) + autoregressive(rng, hours, twins, 0.2, 24.0))
    sky_error = rng.normal(0, 5.0, twins) + autoregressive(rng, hours, twins, 8.0, 72.0)
    return Weather(air, humidity, wind, sun, sky_long_wave(air, humidity, typical_of("cloud")) + sky_error)


def station_record(rng: np.random.Generator, true: Weather) -> Weather:
    """The weather as a station some way off records it; its long wave is measured, to 2 %."""
    hours, twins = true.air.shape

    def off(mean: float, size: float) -> np.ndarray:
        return rng.normal(0, mean, twins) + autoregressive(rng, hours, twins, size, 12.0)

    return Weather(
        true.air + off(0.3, 0.6),
        np.clip(true.humidity + off(0.03, 0.03), 0.2, 1.0),
        true.wind * np.exp(off(0.1, 0.15)),
        true.sun * np.exp(off(0.05, 0.1)),
        true.long_wave * (1 + off(0.02, 0.005)),
    )


def twins_of(
    seed: int, twins: int, typical: dict[str, np.ndarray], ground: np.ndarray, covered: np.ndarray, log_days: int
) -> Twins:
    """Twins with their true season and a log of some days of it, alternate nights open and covered.

    typical: air, humidity, wind, sun, cloud of each hour of the season, as the keepers plan by; ground: [°C] of each
    hour; covered: 1 in hours in which the cover lies on. The same seed gives the same twins.
    """
    rng = np.random.default_rng(seed)
    sheet = sheets_of(rng, twins)
    ponds, year = true_ponds(rng, sheet), true_year(rng, typical, twins)
    power = 1500.0 * ponds.area
    open_heat, _, _ = heater_and_water(ponds, year, ground, np.zeros(len(covered)), power)
    covered_heat, _, _ = heater_and_water(ponds, year, ground, covered, power)
    pump_kwh = sheet["pump"] * len(covered) / 1000
    hours = 24 * log_days
    start = 24 * rng.integers(10, len(covered) // 24 - log_days - 10, twins)
    rows = start + np.arange(hours)[:, None]
    part = Weather(*(getattr(year, name)[rows, np.arange(twins)] for name in Weather.__dataclass_fields__))
    night = (np.arange(hours) + 12) // 24  # from noon to noon
    laid = covered[:hours] * (night % 2)
    heat, water, _ = heater_and_water(ponds, part, np.full(hours, ground.mean()), laid, power)
    heat = heat * np.exp(autoregressive(rng, hours, twins, 0.05, 12.0))
    return Twins(
        sheet,
        open_heat.sum(axis=0) + pump_kwh,
        covered_heat.sum(axis=0) + pump_kwh,
        heat,
        water + rng.normal(0, 0.2, twins),
        station_record(rng, part),
        start,
        laid,
    )


@dataclass(frozen=True)
class ShortLogs:
    """Logs of some nights open and as many covered, and the truth.

    kwh, water: of each hour as the meter and the thermometer showed it, (hours, twins); weather: as recorded; rows: of
    the hours in the season, (hours, twins); night: number of each hour's night, −1 before the first; covered: by night;
    saving: true saving of the cover in its nights [–], of what the pond lost: where in its band the thermostat was as
    a night began is nobody's saving.
    """

    sheets: dict[str, np.ndarray]
    kwh: np.ndarray
    water: np.ndarray
    weather: Weather
    rows: np.ndarray
    night: np.ndarray
    covered: np.ndarray
    saving: np.ndarray


def short_logs(
    seed: int, twins: int, typical: dict[str, np.ndarray], ground: float, laid: np.ndarray, nights: int, block: int
) -> ShortLogs:
    """Logs of `nights` open and as many covered nights, in blocks of `block` nights; arguments as of `twins_of`.

    laid: 1 in hours of the day in which the cover lies on, (24,). The log begins at noon, a day after the pond does.
    """
    rng = np.random.default_rng([seed, nights, block])
    sheet = sheets_of(rng, twins)
    ponds, hours = true_ponds(rng, sheet), 24 * (2 * nights + 2)
    start = 24 * rng.integers(0, len(typical["air"]) // 24 - 2 * nights - 3, twins)
    rows = start + np.arange(hours)[:, None]
    part = true_year(rng, typical, twins)
    weather = Weather(*(getattr(part, name)[rows, np.arange(twins)] for name in Weather.__dataclass_fields__))
    night = (np.arange(hours) - 36) // 24
    night = np.where((night >= 0) & (night < 2 * nights), night, -1)
    covered = np.arange(2 * nights) // block % 2 == 1
    on = np.tile(laid, hours // 24) * np.where(night >= 0, covered[night], False)
    power = 1500.0 * ponds.area
    heat, water, stored = heater_and_water(ponds, weather, np.full(hours, ground), on, power)
    bare, _, stored_bare = heater_and_water(ponds, weather, np.full(hours, ground), np.zeros(hours), power)
    in_covered = (night >= 0) & covered[night]
    with np.errstate(invalid="ignore", divide="ignore"):
        saving = 1 - (heat - stored)[in_covered].sum(axis=0) / (bare - stored_bare)[in_covered].sum(axis=0)
    scatter = np.exp(autoregressive(rng, hours, twins, 0.05, 12.0))
    return ShortLogs(
        sheet,
        heat * scatter,
        water + rng.normal(0, 0.2, twins),
        station_record(rng, weather),
        rows,
        night,
        covered,
        saving,
    )

"""Units and meanings of all parameter names, and the unit that each checkable function returns.

One name has one unit and one meaning everywhere. A test checks every public signature and docstring against these
tables.
``None`` for a unit means text (a formula's name, a time zone, a date or a clock time).
"""

from __future__ import annotations

PARAMETERS: dict[str, tuple[str | None, str]] = {
    # temperatures on a scale
    "temp": ("degC", "temperature of the substance in question"),
    "water_temp": ("degC", "temperature of the pond water"),
    "air_temp": ("degC", "air temperature, dry bulb"),
    "sky_temp": ("degC", "temperature of a black sky that sends down the same long-wave radiation"),
    "ground_temp": ("degC", "ground temperature on the far side of a wall or floor"),
    "room_temp": ("degC", "air temperature of a room round the pond"),
    "mains_temp": ("degC", "temperature of the water that replaces pond water"),
    "start_temp": ("degC", "temperature at the start"),
    "end_temp": ("degC", "temperature at the end"),
    "base_temp": ("degC", "base temperature of degree-days; for a heated pond, the pond's own"),
    "max_temp": ("degC", "highest temperature of a day"),
    "min_temp": ("degC", "lowest temperature of a day"),
    "mean_temp": ("degC", "mean temperature of a day"),
    "daily_temps": ("degC", "daily mean temperatures, one after another"),
    "inside_temp": ("degC", "temperature of a cover's inner face"),
    "outside_temp": ("degC", "temperature of a cover's outer face"),
    "set_point": ("degC", "temperature a heater holds"),
    # temperature differences
    "amplitude": ("delta_degC", "half the swing of a sine-shaped day"),
    "lift": ("delta_degC", "temperature a heat pump lifts heat through: water it makes minus air it takes from"),
    "temp_difference": ("delta_degC", "difference between two temperatures"),
    "start_difference": ("delta_degC", "water minus air at the start of a cool-down"),
    "end_difference": ("delta_degC", "water minus air at the end of a cool-down"),
    "thermometer_step": ("delta_degC", "smallest step a thermometer shows"),
    "year_spread": ("delta_degC", "standard deviation of a season's mean air temperature from year to year"),
    # air
    "rel_humidity": ("dimensionless", "relative humidity, 0 to 1"),
    "pressure": ("Pa", "air pressure at the place itself, not reduced to sea level"),
    "vapour_pressure": ("Pa", "water vapour pressure of the air"),
    "humidity_ratio": ("dimensionless", "water vapour per mass of dry air, kg/kg"),
    "altitude": ("m", "height above sea level"),
    "wind_speed": ("m/s", "wind speed at the height the formula was published for"),
    "wind_height": ("m", "height above ground of a weather record's wind"),
    "from_height": ("m", "height above ground at which the wind was measured"),
    "to_height": ("m", "height above ground for which the wind is wanted"),
    "cloud_cover": ("dimensionless", "share of the sky covered by cloud, 0 to 1"),
    "air_flow": ("m**3/s", "air flow at the state of the outside air"),
    # radiation
    "sky_view": ("dimensionless", "share of the hemisphere above the pond that is open sky, 0 to 1"),
    "sky_long_wave": ("W/m**2", "long-wave radiation of the sky, downward on the level"),
    "clearness": ("dimensionless", "sun on the level over the sun of a clear sky"),
    "sky_emissivity": ("dimensionless", "emissivity of the sky referred to the air temperature"),
    "emissivity": ("dimensionless", "long-wave emissivity of a surface"),
    "solar": ("W/m**2", "global solar irradiance on the level"),
    "absorbed_sun": ("W/m**2", "sun absorbed per area of the surface named"),
    "latitude": ("deg", "latitude, north positive"),
    "longitude": ("deg", "longitude, east positive"),
    "day_of_year": ("dimensionless", "number of the day in the year, 1 to 366"),
    # geometry and building
    "area": ("m**2", "area"),
    "surface_area": ("m**2", "area of the water surface"),
    "perimeter": ("m", "outline of the floor in contact with the ground"),
    "depth": ("m", "depth of water"),
    "volume": ("m**3", "volume of water"),
    "air_volume": ("m**3", "volume of air over the water"),
    "lid_air_height": ("m", "mean height of the air between water and lid"),
    "fish_kg": ("kg", "mass of all fish together"),
    "thickness": ("m", "thickness of a layer"),
    "thicknesses": ("m", "thicknesses of the layers of one wall, inside to outside"),
    "wall_thickness": ("m", "thickness of the walls that stand round a floor"),
    "conductivities": ("W/m/K", "thermal conductivities of the layers of one wall, inside to outside"),
    "conductivity": ("W/m/K", "thermal conductivity"),
    "ground_conductivity": ("W/m/K", "thermal conductivity of the ground"),
    "inside_resistance": ("m**2*K/W", "surface resistance on the inner side"),
    "outside_resistance": ("m**2*K/W", "surface resistance on the outer side"),
    "floor_resistance": ("m**2*K/W", "thermal resistance of the floor's own layers"),
    "wall_resistance": ("m**2*K/W", "thermal resistance of the wall's own layers"),
    "u_value": ("W/m**2/K", "thermal transmittance"),
    "layers": ("dimensionless", "number of hollow layers of a multiwall sheet, one above the other"),
    "direction": (None, "direction of heat flow through an air layer: upward, horizontal or downward"),
    "gap_length": ("m", "length of an open gap"),
    "gap_width": ("m", "width of an open gap"),
    "casing_u_value_area": ("W/K", "transmittance times area of a filter's casing"),
    "effectiveness": ("dimensionless", "share of a limit that is reached, 0 to 1"),
    "covered": ("dimensionless", "share of a moment for which the cover lies on the water, 0 to 1"),
    "share": ("dimensionless", "a share, 0 to 1"),
    # water and machines
    "flow": ("m**3/s", "water flow"),
    "head": ("m", "height a pump lifts water through, friction included"),
    "efficiency": ("dimensionless", "useful power over power taken, 0 to 1"),
    "loss_coefficient": ("W/m**2/K", "heat loss per water surface and degree of difference"),
    "pond_loss": ("kW/K", "heat loss of the whole pond per degree of difference"),
    "heat_capacity": ("kWh/K", "heat to warm the whole pond by one degree"),
    "power": ("W", "power"),
    "losses": ("W", "heat lost"),
    "limit": ("W", "most heat a heater can give"),
    "pump_power": ("W", "power a pump takes"),
    "pump_heat": ("W", "share of a pump's power that warms the water"),
    "gain": ("W", "heat from sun and pump"),
    "start_ice": ("kg", "ice at the start"),
    "cop": ("dimensionless", "coefficient of performance: heat given over electricity taken"),
    "hours": ("hour", "time the power runs, or time that passes"),
    # names
    "formula": (None, "name of a published formula"),
    "profile": (None, "name of a wind profile"),
    # money
    "energy": ("kWh", "energy"),
    "rate": ("money/kWh", "price of a kilowatt-hour"),
    "price": ("money", "what is paid at the start"),
    "yearly_saving": ("money", "what is saved each year"),
    "years": ("dimensionless", "number of yearly payments"),
    "discount_rate": ("dimensionless", "yearly rate of interest at which later money is worth less"),
    "nominal": ("dimensionless", "yearly rate of interest in the money of the year"),
    "inflation": ("dimensionless", "yearly rise of the price in question"),
    "otherwise": ("money/kWh", "price of a kilowatt-hour in all hours that no window covers"),
    "export_rate": ("money/kWh", "what is paid for a kilowatt-hour sent back"),
    "standing_charge": ("money/day", "what is owed each day whether anything is used or not"),
    "tax_rate": ("dimensionless", "tax as a share of the price without it"),
    "electricity_kwh": ("kWh", "electricity used in each hour"),
    "gas_kwh": ("kWh", "gas used in each hour"),
    "gas_rate": ("money/kWh", "price of a kilowatt-hour of gas"),
    "step_minutes": ("minute", "length of an interval"),
    "kg_per_kwh": ("kg/kWh", "carbon dioxide equivalent per kilowatt-hour"),
    "timezone": (None, "IANA name of a time zone"),
    "date": (None, "a date, YYYY-MM-DD"),
    "start": (None, "start: a clock time HH:MM or a date"),
    "end": (None, "end: a clock time HH:MM or a date"),
    "year": ("dimensionless", "a calendar year"),
    "spin_up_days": ("day", "days run before a season starts, so that the start temperature is the pond's own"),
    # meter
    "seconds_per_flash": ("s", "time between two flashes of a meter's lamp"),
    "flashes": ("dimensionless", "number of flashes counted"),
    "flashes_per_kwh": ("dimensionless", "flashes (impulses) per kilowatt-hour, printed on the meter"),
    "previous": ("dimensionless", "earlier counter reading in kWh, as shown"),
    "now": ("dimensionless", "later counter reading in kWh, as shown"),
    "digits": ("dimensionless", "digits of the counter before the point"),
    "current": ("A", "electric current"),
    "voltage": ("V", "voltage"),
    "power_factor": ("dimensionless", "real power over current times voltage"),
    "calorific_value": ("MJ/m**3", "energy in a cubic metre of gas, as the bill names it"),
    "correction_factor": ("dimensionless", "cubic metres of gas at standard state for one that a meter counts"),
    "confidence": ("dimensionless", "two-sided confidence, 0 to 1"),
    "cv_rmse": ("dimensionless", "root mean square error over mean"),
    "saving_fraction": ("dimensionless", "saving over what would have been used"),
    "baseline_readings": ("dimensionless", "readings in the baseline"),
    "reporting_readings": ("dimensionless", "readings in the period whose saving is reported"),
    "independent": ("dimensionless", "readings in the baseline that count as independent"),
    "parameters": ("dimensionless", "fitted parameters"),
    "readings": ("dimensionless", "number of readings"),
    "lag_one_correlation": ("dimensionless", "correlation of neighbouring readings"),
    "measured": ("dimensionless", "measured values, any one unit"),
    "predicted": ("dimensionless", "predicted values, same unit as measured"),
    "base_load": ("W", "power on the same meter whose heat misses the water"),
    "thermostat_band": (
        "delta_degC",
        "from the temperature at which a thermostat switches on to that at which it switches off",
    ),
    "noise": ("dimensionless", "standard deviation of a day's use, as a share, for reasons in no model"),
    "counter_step": ("kWh", "smallest step of a meter's register"),
    "chance": ("dimensionless", "chance with which something that is there is shown"),
    # fish
    "ph": ("dimensionless", "pH"),
    "total_ammonia": ("mg/L", "ammonia of both kinds together, as a test kit tells it"),
    "measured_as": (None, "what a test kit's numbers count: N, NH3 or NH4"),
    "told_as": (None, "what the answer's numbers are to count: N, NH3 or NH4"),
    "theta": ("dimensionless", "factor by which a living process speeds up for each degree"),
}

# Unit that each checkable function returns. Only these may be the `quantity` of a check row.
RETURNS: dict[str, str] = {
    "heat.moist_air.saturation_vapour_pressure": "Pa",
    "heat.moist_air.saturation_vapour_pressure_ice": "Pa",
    "heat.moist_air.vapour_pressure": "Pa",
    "heat.moist_air.pressure_at_altitude": "Pa",
    "heat.moist_air.saturation_humidity_ratio": "kg/kg",
    "heat.moist_air.humidity_ratio": "kg/kg",
    "heat.moist_air.wet_bulb": "degC",
    "heat.moist_air.dew_point": "degC",
    "heat.moist_air.density": "kg/m**3",
    "heat.moist_air.enthalpy": "J/kg",
    "heat.water.density": "kg/m**3",
    "heat.water.specific_heat": "J/kg/K",
    "heat.water.latent_heat": "J/kg",
    "heat.water.heat_capacity": "kWh/K",
    "heat.water.warming_energy": "kWh",
    "heat.water.warming_hours": "hour",
    "heat.surface.evaporation": "W/m**2",
    "heat.surface.evaporation_rate": "kg/h/m**2",
    "heat.surface.convection": "W/m**2",
    "heat.surface.convection_coefficient": "W/m**2/K",
    "heat.surface.bowen_ratio": "dimensionless",
    "heat.surface.sky_emissivity": "dimensionless",
    "heat.surface.sky_temperature": "degC",
    "heat.surface.long_wave_loss": "W/m**2",
    "heat.surface.solar_gain": "W/m**2",
    "heat.surface.wind_at_height": "m/s",
    "heat.walls.outside_resistance": "m**2*K/W",
    "heat.walls.air_layer_resistance": "m**2*K/W",
    "heat.walls.u_value": "W/m**2/K",
    "heat.walls.multiwall_u_value": "W/m**2/K",
    "heat.walls.ground_u_value": "W/m**2/K",
    "heat.walls.sunk_floor_u_value": "W/m**2/K",
    "heat.walls.sunk_wall_u_value": "W/m**2/K",
    "heat.walls.wall_loss": "W",
    "heat.covers.sheet_loss": "W/m**2",
    "heat.covers.leak_loss": "W",
    "heat.covers.gap_air_flow": "m**3/s",
    "heat.covers.wind_pressure": "Pa",
    "heat.falling_water.air_side_limit": "W",
    "heat.falling_water.stream_heat": "W",
    "heat.falling_water.filter_loss": "W",
    "season.sun.extraterrestrial_day": "MJ/m**2",
    "season.sun.daylight_hours": "hour",
    "season.degree_days.degree_days": "delta_degC*day",
    "season.degree_days.degree_days_from_extremes": "delta_degC*day",
    "season.degree_days.degree_days_of_sine": "delta_degC*day",
    "season.heaters.pump_power": "W",
    "season.heaters.heat_pump_cop": "dimensionless",
    "season.simulate.time_constant": "hour",
    "money.tariffs.energy_of_power": "kWh",
    "money.tariffs.energy_cost": "money",
    "money.tariffs.hours_in_day": "hour",
    "money.tariffs.hours_in_window": "hour",
    "money.payback.simple_payback": "year",
    "money.payback.discounted_payback": "year",
    "money.payback.present_worth_factor": "dimensionless",
    "money.payback.present_value_of_one": "dimensionless",
    "money.payback.present_value": "money",
    "money.payback.net_present_value": "money",
    "money.payback.yearly_cost_of_owning": "money",
    "money.payback.real_rate": "dimensionless",
    "money.emissions.emissions": "kg",
    "meter.reading.conversions.counter_use": "kWh",
    "meter.reading.conversions.energy_from_flashes": "kWh",
    "meter.reading.conversions.energy_from_gas": "kWh",
    "meter.reading.conversions.power_from_flashes": "W",
    "meter.reading.conversions.power_from_current": "W",
    "meter.fitting.pond_fit.cool_down_loss": "kW/K",
    "meter.savings.period_comparison.independent_readings": "dimensionless",
    "meter.savings.period_comparison.cv_rmse": "dimensionless",
    "meter.savings.period_comparison.savings_uncertainty": "dimensionless",
    "fish.oxygen.saturation": "mg/L",
    "fish.oxygen.saturation_at_altitude": "mg/L",
    "fish.ammonia.unionised_fraction": "dimensionless",
    "fish.ammonia.unionised_ammonia": "mg/L",
    "fish.temperature.nitrification_factor": "dimensionless",
}

# Arguments that take one list (the layers of a wall, a run of days) and are never broadcast.
LISTS = {"thicknesses", "conductivities", "daily_temps", "measured", "predicted"}
TEXTS = {name for name, (unit, _) in PARAMETERS.items() if unit is None}


def unit_of(name: str) -> str | None:
    """Unit of a parameter, None for text. Raises KeyError for an unknown name."""
    return PARAMETERS[name][0]


# Former name of a quantity → its name now. Check rows with a former name still work.
RENAMED: dict[str, str] = {
    old + name: new + name
    for old, new, names in (
        (
            "meter.readings.",
            "meter.reading.conversions.",
            ("counter_use", "energy_from_flashes", "energy_from_gas", "power_from_flashes", "power_from_current"),
        ),
        (
            "meter.spells.",
            "meter.savings.period_comparison.",
            ("independent_readings", "cv_rmse", "savings_uncertainty"),
        ),
        ("meter.fitting.", "meter.fitting.pond_fit.", ("cool_down_loss",)),
    )
    for name in names
}


def current_name(quantity: str) -> str:
    """Today's name of a quantity; unknown names come back unchanged."""
    return RENAMED.get(quantity, quantity)


def rename_note(quantity: str) -> str:
    """One sentence with today's name of a renamed quantity; "" for any other.

    >>> rename_note("meter.spells.cv_rmse")
    'meter.spells.cv_rmse is now called meter.savings.period_comparison.cv_rmse.'
    """
    return f"{quantity} is now called {RENAMED[quantity]}." if quantity in RENAMED else ""

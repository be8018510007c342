"""Walls and ground: resistances in series, air layers, multiwall sheet, slab on ground, pond sunk in the ground."""

from __future__ import annotations

import math

import numpy as np

from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange, choose, plain, require
from pondheat.core.sources import Constant

# Design conductivities [W/(m·K)]; declared ranges for insulation are in the note.
MATERIALS: dict[str, Constant] = {
    "HDPE": Constant(0.50, "W/m/K", "iso_10456"),
    "LDPE": Constant(0.33, "W/m/K", "iso_10456"),
    "PP": Constant(0.22, "W/m/K", "iso_10456"),
    "PVC": Constant(0.17, "W/m/K", "iso_10456"),
    "polycarbonate": Constant(0.20, "W/m/K", "iso_10456"),
    "timber": Constant(0.13, "W/m/K", "iso_10456", "500 kg/m³"),
    "plywood": Constant(0.13, "W/m/K", "iso_10456", "500 kg/m³"),
    "concrete": Constant(2.0, "W/m/K", "iso_10456", "2400 kg/m³"),
    "EPDM": Constant(0.25, "W/m/K", "iso_10456"),
    "clay": Constant(1.5, "W/m/K", "iso_10456"),
    "sand": Constant(2.0, "W/m/K", "iso_10456"),
    "EPS": Constant(0.036, "W/m/K", "iso_10456", "declared 0.030–0.045 (EN 13163)"),
    "XPS": Constant(0.034, "W/m/K", "iso_10456", "declared 0.031–0.036 (EN 13164)"),
    "PIR": Constant(0.024, "W/m/K", "iso_10456", "declared 0.022–0.028 (EN 13165)"),
    "GRP": Constant(0.40, "W/m/K", "practice", "glass-fibre laminate (memory)"),
    "brick": Constant(0.77, "W/m/K", "iso_10456", "(memory)"),
}
STILL_OUTSIDE_RESISTANCE = Constant(0.04, "m**2*K/W", "iso_6946", "outside, wind about 4 m/s")
SLAB_INSIDE_RESISTANCE = Constant(0.17, "m**2*K/W", "iso_6946", "air above a floor, heat flowing down")

# ISO 6946:2007 Table 2, unventilated air layers: thickness [mm] → resistance [m²·K/W] by direction of heat flow.
_LAYER_MM = (0, 5, 7, 10, 15, 25, 50, 100, 300)
_LAYERS = {
    "upward": (0.00, 0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16),
    "horizontal": (0.00, 0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18),
    "downward": (0.00, 0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23),
}


def outside_resistance(wind_speed):
    """Surface resistance on the outer side [m²·K/W]: 1/(4 + 4 v + 4.14).

    wind_speed: [m/s] along the surface, float or array. Raises OutOfRange. Source: ISO 6946:2007 Annex A.

    >>> round(outside_resistance(4.0), 2)
    0.04
    """
    require(wind_speed=wind_speed)
    return plain(1 / (4 + 4 * np.asarray(wind_speed, float) + 4.14))


def air_layer_resistance(thickness, direction="horizontal"):
    """Resistance of a closed layer of air [m²·K/W], straight lines between the printed thicknesses.

    thickness: [m], float or array, at most 0.3; direction of heat flow: "upward", "horizontal" or "downward".
    Raises OutOfRange. Source: ISO 6946:2007 Table 2 (surfaces of high emissivity).

    >>> air_layer_resistance(0.010)
    0.15
    """
    require(thickness=thickness)
    choose("direction of heat flow", direction, _LAYERS)
    millimetres = 1000 * np.asarray(thickness, float)
    if np.any(millimetres > 300):
        raise OutOfRange("The table of air layers ends at 300 mm.")
    return plain(np.interp(millimetres, _LAYER_MM, _LAYERS[direction]))


def u_value(thicknesses, conductivities, inside_resistance=0.0, outside_resistance=STILL_OUTSIDE_RESISTANCE.value):
    """Thermal transmittance of a wall of layers [W/(m²·K)]: 1/(Rsi + Σ d/k + Rse).

    thicknesses: [m] and conductivities: [W/(m·K)], two lists of one length, inside to outside (one assembly);
    inside_resistance, outside_resistance: [m²·K/W]. A water side has next to no resistance, hence 0.
    Raises OutOfRange; ValueError where the lists differ in length. Source: ISO 6946.

    >>> round(u_value([0.002, 0.05, 0.012], [0.5, 0.038, 0.13]), 2)
    0.69
    """
    thicknesses, conductivities = np.atleast_1d(thicknesses), np.atleast_1d(conductivities)
    require(
        thicknesses=thicknesses,
        conductivities=conductivities,
        inside_resistance=inside_resistance,
        outside_resistance=outside_resistance,
    )
    if thicknesses.shape != conductivities.shape:
        raise OutOfRange(
            f"{counted(len(thicknesses), 'thickness', 'thicknesses')} and "
            f"{counted(len(conductivities), 'conductivity', 'conductivities')}: every layer needs both."
        )
    total = inside_resistance + float(np.sum(thicknesses / conductivities)) + outside_resistance
    if total <= 0:
        raise OutOfRange("The resistances add up to zero: give at least one layer or a surface resistance.")
    return 1 / total


def multiwall_u_value(thickness, layers):
    """Transmittance of multiwall sheet as the trade states it [W/(m²·K)]: 1/(0.17 + n·R_air(d/n, upward) + 0.004).

    thickness: [m] of the whole sheet; layers: [–] number of hollow layers n (1 for twin wall); floats or arrays.
    Surface resistances 0.13 + 0.04 (a vertical pane, as the trade states its values), 0.004 for the plastic itself.
    Raises OutOfRange. Source: built from ISO 6946:2007 Table 2; trade ranges: 10 mm 2.8–3.2, 16 mm 2.1–2.5.

    >>> 2.8 < multiwall_u_value(0.010, 1) < 3.2
    True
    """
    require(thickness=thickness, layers=layers)
    thickness, layers = np.asarray(thickness, float), np.asarray(layers, float)
    if np.any(layers != np.round(layers)):
        raise OutOfRange("A whole number of hollow layers is needed (1 for twin wall).")
    return plain(1 / (0.17 + layers * air_layer_resistance(thickness / layers, "upward") + 0.004))


def _equivalent_thickness(wall_thickness, conductivity, resistance):
    """Ground that resists heat as much as a floor and its surfaces [m]: dt = w + λ(R + 0.04)."""
    return np.asarray(wall_thickness, float) + conductivity * (np.asarray(resistance, float) + 0.04)


def _floor_u_value(area, perimeter, conductivity, path):
    """Transmittance of a floor over ground [W/(m²·K)]; path: equivalent thickness, plus half the depth if sunk [m]."""
    width = np.asarray(area, float) / (np.asarray(perimeter, float) / 2)  # B' in ISO 13370
    poor = 2 * conductivity / (math.pi * width + path) * np.log(math.pi * width / path + 1)
    good = conductivity / (0.457 * width + path)
    return plain(np.where(path < width, poor, good))


def ground_u_value(
    area,
    perimeter,
    ground_conductivity=1.5,
    wall_thickness=0.1,
    floor_resistance=0.0,
    inside_resistance=SLAB_INSIDE_RESISTANCE.value,
):
    """Transmittance of a floor lying on the ground, edge losses included [W/(m²·K)].

    area: [m²]; perimeter: [m]; ground_conductivity: [W/(m·K)]; wall_thickness: [m]; floor_resistance and
    inside_resistance: [m²·K/W] (0.17 with air above the floor; 0 under water); floats or arrays.
    B' = A/(P/2), dt = w + λ(Rsi + Rf + 0.04); dt < B': 2λ/(πB' + dt)·ln(πB'/dt + 1), else λ/(0.457 B' + dt).
    Meant for buildings; at 3 m × 3 m two published methods differ by 20 %; moving groundwater is not covered.
    Raises OutOfRange. Source: ISO 13370.

    >>> round(ground_u_value(400.0, 80.0, 1.5, 0.3), 2)
    0.37
    """
    require(
        area=area,
        perimeter=perimeter,
        ground_conductivity=ground_conductivity,
        wall_thickness=wall_thickness,
        floor_resistance=floor_resistance,
        inside_resistance=inside_resistance,
    )
    conductivity = np.asarray(ground_conductivity, float)
    resistance = np.asarray(inside_resistance, float) + np.asarray(floor_resistance, float)
    path = _equivalent_thickness(wall_thickness, conductivity, resistance)
    return _floor_u_value(area, perimeter, conductivity, path)


def sunk_floor_u_value(area, perimeter, depth, ground_conductivity=1.5, wall_thickness=0.1, floor_resistance=0.0):
    """Transmittance of the floor of a pond sunk in the ground [W/(m²·K)]: a heated basement with water inside.

    area: [m²]; perimeter: [m]; depth: [m] of the floor below the ground's surface; ground_conductivity: [W/(m·K)];
    wall_thickness: [m]; floor_resistance: [m²·K/W]; floats or arrays. Inside resistance nil (water).
    2λ/(πB' + dt + z/2)·ln(πB'/(dt + z/2) + 1); well insulated floors λ/(0.457 B' + dt + z/2). Raises OutOfRange.
    Source: ISO 13370.
    """
    require(
        area=area,
        perimeter=perimeter,
        depth=depth,
        ground_conductivity=ground_conductivity,
        wall_thickness=wall_thickness,
        floor_resistance=floor_resistance,
    )
    conductivity = np.asarray(ground_conductivity, float)
    path = _equivalent_thickness(wall_thickness, conductivity, floor_resistance) + np.asarray(depth, float) / 2
    return _floor_u_value(area, perimeter, conductivity, path)


def sunk_wall_u_value(depth, ground_conductivity=1.5, wall_thickness=0.1, wall_resistance=0.0, floor_resistance=0.0):
    """Transmittance of the walls of a pond sunk in the ground, mean over their depth [W/(m²·K)].

    depth: [m]; ground_conductivity: [W/(m·K)]; wall_thickness: [m]; wall_resistance, floor_resistance: [m²·K/W];
    floats or arrays. 2λ/(πz)·(1 + 0.5 dt/(dt + z))·ln(z/dw + 1), dw = λ(Rw + 0.04), dt of the floor but not above dw.
    Raises OutOfRange. Source: ISO 13370 (this wall form from memory).
    """
    require(
        depth=depth,
        ground_conductivity=ground_conductivity,
        wall_thickness=wall_thickness,
        wall_resistance=wall_resistance,
        floor_resistance=floor_resistance,
    )
    conductivity, depth = np.asarray(ground_conductivity, float), np.asarray(depth, float)
    wall_path = conductivity * (np.asarray(wall_resistance, float) + 0.04)
    floor_path = np.minimum(_equivalent_thickness(wall_thickness, conductivity, floor_resistance), wall_path)
    return plain(
        2
        * conductivity
        / (math.pi * depth)
        * (1 + 0.5 * floor_path / (floor_path + depth))
        * np.log(depth / wall_path + 1)
    )


def wall_loss(area, u_value, water_temp, air_temp):
    """Heat lost through a wall [W]: area × U × (water − air).

    area: [m²]; u_value: [W/(m²·K)]; water_temp, air_temp: [degC]; floats or arrays. Raises OutOfRange.
    Source: by definition.

    >>> wall_loss(15.6, 0.5, 18.0, 8.0)
    78.0
    """
    require(area=area, u_value=u_value, water_temp=water_temp, air_temp=air_temp)
    return plain(
        np.asarray(area, float)
        * np.asarray(u_value, float)
        * (np.asarray(water_temp, float) - np.asarray(air_temp, float))
    )

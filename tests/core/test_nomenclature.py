"""One name, one unit: in signatures, docstrings, ranges and check rows. Floats stay floats."""

import csv
import importlib
import inspect
import itertools
import pkgutil
import re

import numpy as np
import pytest
from usual_cases import all_in_one

from pondheat.core import compilation, ranges, units
from pondheat.core.nomenclature import LISTS, PARAMETERS, RETURNS, TEXTS
from pondheat.core.places import CHECKS
from pondheat.core.units import Unreadable

CHECK_FILES = sorted(CHECKS.glob("*.csv"))
ROOMS = ("heat", "season", "money", "meter", "fish")


def function_of(quantity: str):
    module, name = quantity.rsplit(".", 1)
    return getattr(importlib.import_module(f"pondheat.{module}"), name)


def public_functions():
    for room in ROOMS:
        package = importlib.import_module(f"pondheat.{room}")
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            here = importlib.import_module(module.name)
            for name, function in vars(here).items():
                if not inspect.isfunction(function) or function.__module__ != here.__name__ or name.startswith("_"):
                    continue
                if function not in compilation.FORMULAS:  # inner formulas are described in their own module's terms
                    yield f"{module.name}.{name}".removeprefix("pondheat."), function


FUNCTIONS = dict(public_functions())


def same_unit(written: str, unit: str) -> bool:
    """Whether a docstring's unit in brackets is the nomenclature's, in its plain or its printed form."""
    plain = {"–": "dimensionless", "°": "deg", "°C": "degC"}.get(written, written)
    if plain == unit or written in (units.pretty(unit), unit.replace("**2", "²").replace("**3", "³").replace("*", "·")):
        return True
    try:
        source, target = (units.registry().Unit(u) for u in (plain.replace("·", "*").replace("−", "-"), unit))
    except Exception:  # not a unit at all
        return False
    return source == target


def brackets(function) -> dict[str, list[str]]:
    """Every unit that the docstring's words give a parameter: “water_temp, air_temp: [degC]”, “depth: [m]”."""
    first, _, body = (inspect.getdoc(function) or "").replace("`", "").split(">>>")[0].partition("\n\n")
    first = re.sub(r"(?<!:) \[[^\]]+\]", "", first, count=1)  # the first bracket is the return's
    text = re.sub(r"\s+", " ", f"{first} {body}")
    known = inspect.signature(function).parameters
    found: dict[str, list[str]] = {}
    for names, unit in re.findall(r"((?:\w+(?:, | and ))*\w+):? \[([^\]]+)\]", text):
        for name in re.split(r", | and ", names):
            if name in known:
                found.setdefault(name, []).append(unit)
    return found


@all_in_one(RETURNS)
def test_every_checkable_function(quantity):
    assert quantity in FUNCTIONS, "not a public function of its module"
    function = function_of(quantity)
    documented, text = brackets(function), inspect.getdoc(function)
    for name in inspect.signature(function).parameters:
        assert name in PARAMETERS, f"{name} is not in the nomenclature"
        unit = PARAMETERS[name][0]
        if unit is None:
            assert re.search(rf"\b{name}\b", text), f"the docstring does not name {name}"
        else:
            assert name in documented, f"the docstring gives {name} no unit"
    returned = re.search(r"\[([^\]]+)\]", text.split("\n\n")[0])
    assert returned and same_unit(returned[1], RETURNS[quantity]), "the first lines do not give the unit returned"
    assert re.search(r"Source|Sources|by definition", text), "no source"


def test_units_in_docstrings_are_the_nomenclatures():
    wrong = [
        f"{quantity}: {name} [{unit}]"
        for quantity, function in FUNCTIONS.items()
        for name, written in brackets(function).items()
        for unit in written
        if not (name in PARAMETERS and PARAMETERS[name][0] and same_unit(unit, PARAMETERS[name][0]))
    ]
    assert wrong == []


def test_public_functions_are_documented():
    # the readers of weather formats share one signature, described where they are chosen
    shared = ("season.weather.typical_years.", "season.weather.pvgis_reader.")
    bare = [name for name, one in FUNCTIONS.items() if not inspect.getdoc(one) and not name.startswith(shared)]
    assert bare == [] and len(FUNCTIONS) > 150


def test_same_unit():
    for written, unit in (
        ("degC", "degC"),
        ("–", "dimensionless"),
        ("W/(m²·K)", "W/m**2/K"),
        ("m³/s", "m**3/s"),
        ("h", "hour"),
        ("K", "delta_degC"),
        ("kg/(m²·h)", "kg/h/m**2"),
        ("m²·K/W", "m**2*K/W"),
        ("W/m²", "W/m**2"),
    ):
        assert same_unit(written, unit)
    for written, unit in (
        ("degC", "delta_degC"),
        ("Pa", "kPa"),
        ("W", "W/m**2"),
        ("m", "m**2"),
        ("any", "m"),
        ("K", "degC"),
    ):
        assert not same_unit(written, unit)


def test_the_tables_are_consistent():
    for name, (unit, meaning) in PARAMETERS.items():
        assert name.isidentifier() and meaning and not meaning.endswith("."), name
        if unit is not None:
            units.registry().Unit(unit)
            assert name in ranges.RANGES, f"no plausible range for {name}"
            low = ranges.RANGES[name]
            assert low.least <= low.low < low.high <= low.most, name
    assert not set(ranges.RANGES) - set(PARAMETERS)
    assert not LISTS - set(PARAMETERS)
    assert {name for name, (unit, _) in PARAMETERS.items() if unit is None} == TEXTS
    for unit in RETURNS.values():
        units.registry().Unit(unit)


def test_every_check_row_names_a_known_quantity():
    rows = [row for path in CHECK_FILES for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())]
    assert len(rows) >= 257
    for row in rows:
        assert row["quantity"] in RETURNS, row["id"]
        for part in row["inputs"].split(";"):
            assert part.split("=")[0].strip() in PARAMETERS, row["id"]
    assert len({row["id"] for row in rows}) == len(rows)


# One plausible value of every parameter that a checkable function takes.
VALUES = {
    "temp": 12.0,
    "water_temp": 18.0,
    "air_temp": 8.0,
    "sky_temp": -5.0,
    "start_temp": 13.0,
    "end_temp": 18.0,
    "base_temp": 18.0,
    "max_temp": 21.0,
    "min_temp": 12.0,
    "mean_temp": 14.0,
    "amplitude": 5.0,
    "lift": 30.0,
    "rel_humidity": 0.8,
    "pressure": 101_325.0,
    "humidity_ratio": 0.006,
    "altitude": 85.0,
    "wind_speed": 2.0,
    "from_height": 10.0,
    "to_height": 2.0,
    "cloud_cover": 0.4,
    "air_flow": 0.002,
    "sun_dimming": 0.4,
    "sky_view": 0.8,
    "emissivity": 0.9,
    "solar": 300.0,
    "latitude": 52.0,
    "day_of_year": 100.0,
    "area": 12.0,
    "surface_area": 10.0,
    "perimeter": 14.0,
    "depth": 1.2,
    "volume": 12.0,
    "thickness": 0.016,
    "layers": 2.0,
    "wall_thickness": 0.1,
    "conductivity": 2.14,
    "ground_conductivity": 1.5,
    "inside_resistance": 0.1,
    "outside_resistance": 0.04,
    "floor_resistance": 0.5,
    "wall_resistance": 0.5,
    "u_value": 2.4,
    "gap_length": 1.0,
    "gap_width": 0.01,
    "casing_u_value_area": 3.0,
    "effectiveness": 0.6,
    "flow": 0.002,
    "head": 2.0,
    "efficiency": 0.4,
    "loss_coefficient": 20.0,
    "power": 3000.0,
    "losses": 1000.0,
    "ice": 400.0,
    "freezing_degree_days": 120.0,
    "hours": 8.0,
    "energy": 24.0,
    "rate": 0.28,
    "price": 180.0,
    "yearly_saving": 150.0,
    "years": 3.0,
    "discount_rate": 0.05,
    "nominal": 0.05,
    "inflation": 0.02,
    "kg_per_kwh": 0.2,
    "seconds_per_flash": 5.0,
    "flashes": 500.0,
    "flashes_per_kwh": 1000.0,
    "previous": 10_432.0,
    "now": 10_600.0,
    "digits": 5.0,
    "current": 4.0,
    "voltage": 230.0,
    "power_factor": 0.9,
    "calorific_value": 39.0,
    "correction_factor": 1.02,
    "confidence": 0.9,
    "cv_rmse": 0.3,
    "saving_fraction": 0.4,
    "baseline_readings": 30.0,
    "reporting_readings": 30.0,
    "independent": 20.0,
    "parameters": 2.0,
    "start_difference": 10.0,
    "end_difference": 9.0,
    "heat_capacity": 14.0,
    "readings": 168.0,
    "lag_one_correlation": 0.9,
    "ph": 8.0,
    "theta": 1.06,
    "thread_width": 0.0005,
    "mesh_width": 0.01,
    "open_area": 0.9,
}
WHOLE = {"layers", "digits", "parameters", "years", "day_of_year"}
# Clock times, dates and lists are taken one by one; names of formulae go with arrays.
SINGLE = LISTS | TEXTS - {"formula", "profile", "direction"}
BROADCASTING = [q for q in RETURNS if not set(inspect.signature(function_of(q)).parameters) & SINGLE]


def arguments(quantity):
    parameters = inspect.signature(function_of(quantity)).parameters
    return {name: VALUES[name] for name in parameters if name not in TEXTS}


def test_only_lists_and_clock_times_do_not_broadcast():
    left = set(RETURNS) - set(BROADCASTING)
    assert left == {
        "heat.walls.u_value",
        "season.degree_days.degree_days",
        "meter.savings.period_comparison.cv_rmse",
        "money.tariffs.hours_in_day",
        "money.tariffs.hours_in_window",
        "fish.ammonia.unionised_ammonia",
    }


@all_in_one(BROADCASTING)
def test_floats_stay_floats(quantity):
    function, given = function_of(quantity), arguments(quantity)
    assert type(function(**given)) is float
    whole = {name: int(value) if value == int(value) else value for name, value in given.items()}
    assert type(function(**whole)) is float and function(**whole) == function(**given)
    assert type(function(**{name: np.float64(value) for name, value in given.items()})) is float


@all_in_one(BROADCASTING)
def test_arrays_broadcast(quantity):
    function, given = function_of(quantity), arguments(quantity)
    alone = function(**given)

    def spread(name, count=2):
        step = 1 if name in WHOLE else 0.01 * VALUES[name]
        return VALUES[name] + step * np.arange(count)

    for name in given:
        got = function(**{**given, name: spread(name)})
        assert isinstance(got, np.ndarray) and got.shape == (2,), name
        assert got[0] == pytest.approx(alone, rel=1e-9), name
        assert got[1] == pytest.approx(function(**{**given, name: float(spread(name)[1])}), rel=1e-9), name
    for one, other in itertools.combinations(given, 2):
        both = {**given, one: spread(one, 2)[:, None], other: spread(other, 3)}
        assert function(**both).shape == (2, 3), (one, other)


@all_in_one(BROADCASTING)
def test_values_out_of_range_are_refused_with_a_message(quantity):
    function, given = function_of(quantity), arguments(quantity)
    for name in given:
        for wrong in (ranges.RANGES[name].most * 2 + 1, np.nan, np.array([VALUES[name], np.nan]), "many"):
            with pytest.raises(ValueError) as refusal:
                function(**{**given, name: wrong})
            assert (
                isinstance(refusal.value, (ranges.OutOfRange, Unreadable)) or type(refusal.value) is not ValueError
            ), name
            assert len(str(refusal.value)) > 10

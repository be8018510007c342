"""Conversion between units with one pint registry, which also knows money."""

from __future__ import annotations

import functools
import re
import shutil

import pint

from pondheat.core.errors import Unreadable, WrongDimension
from pondheat.core.files import cache_folder


@functools.cache
def registry() -> pint.UnitRegistry:
    """The one pint registry, made at first use: reading pint's list of units takes 0.4 s, its cache on disk 0.03 s."""
    folder = cache_folder(f"units-of-pint-{pint.__version__}")
    try:
        made: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=False, cache_folder=folder)
    except Exception:  # whatever a damaged cache raises; the next start makes it anew
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)
        made = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    made.define("money = [currency]")
    made.define("hundredth_of_money = 0.01 * money")
    return made


# Names, products, quotients and one small power each: pint would work out 9**9**9, which never ends.
_UNIT_TEXT = re.compile(
    r"(?:[A-Za-zµμΩ°%][A-Za-z0-9_µμ]*+|\s|[()/·]|\*(?!\*)|1(?=\s*/)"
    r"|(?:\*\*|\^)\s*-?[1-4](?!\s*[\d.^]|\s*\*\*)|[²³⁴](?![²³⁴]))*+"
)
BARE_GALLON = re.compile(r"\b(?:gal|gals|gallons?|gph|gpm)\b", re.IGNORECASE)


def shorten(text: str) -> str:
    """Text as a message repeats it: at most 40 characters."""
    return text if len(text) <= 40 else text[:37] + "…"


def _unit(text: str) -> pint.Unit:
    """Unit that pint knows by this name. Raises `Unreadable`."""
    if not text.strip():
        text = "dimensionless"
    if BARE_GALLON.search(text):
        raise Unreadable("Which gallon? Write imperial_gallon (4.546 L) or US_liquid_gallon (3.785 L).")
    try:
        if len(text) <= 80 and _UNIT_TEXT.fullmatch(text):
            return registry().Unit(text)
    except Exception:  # pint raises whatever its tokenizer and its arithmetic raise
        pass
    raise Unreadable(f"“{shorten(text)}” is not a unit this workbook knows.")


@functools.lru_cache(maxsize=1024)
def _pair(unit: str, to: str) -> tuple[pint.Unit, pint.Unit]:
    """Two units by their names; a sheet's few are looked up again and again. Raises as `convert` does."""
    source, target = _unit(unit), _unit(to)
    if {_temperature_kind(source), _temperature_kind(target)} == {"scale", "difference"}:
        raise WrongDimension(f"{unit} cannot be turned into {to}: one is a temperature, the other a difference of two.")
    return source, target


def _temperature_kind(unit: pint.Unit) -> str:
    if str(unit).startswith("delta_"):
        return "difference"
    return "scale" if str(unit) in ("degree_Celsius", "degree_Fahrenheit") else ""


def convert(value, unit: str, to: str):
    """A float or list converted from `unit` to unit `to`.

    Temperatures (degC, degF) and temperature differences (delta_degC) cannot be converted into each other; kelvin may
    be either.

    >>> round(convert(13, "ft", "m"), 4)
    3.9624
    >>> round(convert(50, "degF", "degC"), 6), convert(6, "K", "delta_degC")
    (10.0, 6.0)

    Raises `WrongDimension` where the units measure different things, `Unreadable` for an unknown unit.
    """
    if isinstance(value, (list, tuple)):
        return [convert(one, unit, to) for one in value]
    source, target = _pair(unit, to)
    try:
        return float(registry().Quantity(value, source).to(target).magnitude)
    except pint.DimensionalityError:
        raise WrongDimension(
            f"{unit or 'A bare number'} cannot be turned into {to}: they measure different things."
        ) from None
    except (pint.PintError, ArithmeticError):
        raise Unreadable(f"{unit} cannot be turned into {to}.") from None

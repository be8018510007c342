"""Every number knows where it comes from: keys resolve, and no entry of the bibliography stands idle."""

import ast
import csv
import dataclasses
import importlib
import pkgutil
import re
from pathlib import Path

import pytest
from syntax_trees import tree_of

import pondheat
from pondheat.core import sources, units
from pondheat.core.sources import BIBLIOGRAPHY, Constant
from pondheat.fish.cautions import CAUTIONS
from pondheat.heat import surface

LIBRARY = Path(pondheat.__file__).parent
CHECKS = sorted((LIBRARY.parent / "data" / "checks").glob("*.csv"))
FILES = [path for path in sorted(LIBRARY.rglob("*.py")) if path.name != "sources.py"]


def modules():
    """Every module of the library below the interface, loaded."""
    for module in pkgutil.walk_packages([str(LIBRARY)], "pondheat."):
        if not module.name.startswith(("pondheat.show", "pondheat.__main__")):
            yield importlib.import_module(module.name)


def texts(path: Path) -> list[str]:
    """Every string and every comment of a module."""
    source = path.read_text(encoding="utf-8")
    strings = [
        node.value for node in ast.walk(tree_of(path)) if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    comments = re.findall("#.*", source)  # and ends of strings with a #, which are texts as well
    return [" ".join(text.split()) for text in strings + comments]


def records():
    """Every Constant and every formula record that a module holds, also inside its tables."""
    for module in modules():
        for name, value in vars(module).items():
            for one in value.values() if isinstance(value, dict) else [value]:
                record = dataclasses.is_dataclass(one) and not isinstance(one, type)
                if record and isinstance(getattr(one, "source", None), str):
                    yield f"{module.__name__}.{name}", one


def test_every_record_names_an_entry():
    found = list(records())
    assert len({where for where, _ in found}) > 10 and len(found) > 60
    for where, record in found:
        assert record.source in BIBLIOGRAPHY, where
        if isinstance(record, Constant):
            units.registry().Unit(record.unit)


def test_every_key_asked_for_in_the_code_resolves():
    asked = set()
    may_ask = re.compile(r"source\s*=|cite|Constant")
    for path in (path for path in LIBRARY.rglob("*.py") if may_ask.search(path.read_text(encoding="utf-8"))):
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                keys = [k.value for k in node.keywords if k.arg == "source"] + (node.args[:1] if name == "cite" else [])
                keys += node.args[2:3] if name == "Constant" else []
                asked |= {
                    k.value
                    for k in keys
                    if isinstance(k, ast.Constant) and re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)+", str(k.value))
                }
    assert len(asked) > 5 and asked <= set(BIBLIOGRAPHY)


@pytest.fixture(scope="module")
def written():
    rows = [
        " ".join((row["source"], row["note"] or ""))
        for path in CHECKS
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    ]
    cautioned = [key for caution in CAUTIONS.values() for key in caution.sources]  # their words are no Python
    return [text.lower() for path in FILES for text in texts(path)] + [row.lower() for row in rows] + cautioned


def test_every_entry_is_used(written):
    whole = "\n".join(written)  # a text has no line breaks of its own
    assert [key for key in BIBLIOGRAPHY if not is_used(key, written, whole)] == []


def is_used(key: str, written: list[str], whole: str) -> bool:
    """Whether a source is used by its key, or named in prose by the words of its key or its first words."""
    first, *_ = key.split("_")
    words = [re.compile(rf"\b{re.escape(word)}\b") for word in key.split("_")]
    opening = BIBLIOGRAPHY[key].split(",")[0].lower()
    in_constants = any(constant.source == key for constant in vars(sources).values() if isinstance(constant, Constant))
    return (
        in_constants
        or opening in whole
        or any(text == key or (first in text and all(word.search(text) for word in words)) for text in written)
    )


def test_entries_can_be_found_again():
    assert len(set(BIBLIOGRAPHY.values())) == len(BIBLIOGRAPHY)
    for key, entry in BIBLIOGRAPHY.items():
        assert re.fullmatch(r"[a-z0-9]+(_[a-z0-9]+)*", key) and len(entry) > 10 and not entry.endswith("."), key
        year = re.search(r"_(\d{4})$", key)
        assert not year or year[1] in entry, key
        assert sources.cite(key) == entry
    with pytest.raises(KeyError):
        sources.cite("nobody_1900")
    with pytest.raises(KeyError, match="not in the bibliography"):
        Constant(1.0, "m", "nobody_1900")


def test_what_is_quoted_from_memory_says_so():
    for key in ("kell_1975", "watmuff_1977", "iso_13370_wall"):
        assert "(memory)" in BIBLIOGRAPHY[key]
    assert surface.CONVECTION["watmuff"].source == "watmuff_1977"


def test_constants():
    # CODATA 2018: σ exact to the printed digits; standard gravity and atmosphere are definitions
    assert sources.STEFAN_BOLTZMANN.value == 5.670374419e-8
    assert sources.ZERO_CELSIUS.value == 273.15 and sources.STANDARD_PRESSURE.value == 101_325.0
    assert sources.GRAVITY.value == 9.80665
    ureg = units.registry()
    sigma = ureg.Quantity(1, "stefan_boltzmann_constant").to("W/m**2/K**4").magnitude
    assert sigma == pytest.approx(sources.STEFAN_BOLTZMANN.value, rel=1e-9)
    # ASHRAE: 18.015268/28.966 and 8314.472/28.966
    assert sources.MOLAR_RATIO.value == pytest.approx(18.015268 / 28.966, rel=1e-5)
    assert sources.DRY_AIR_GAS.value == pytest.approx(8314.472 / 28.966, rel=1e-5)


# Written once


def numbers_in(path: Path) -> list[tuple[int, float]]:
    """Every number written in a module's code, with its line; docstrings and comments may repeat what they explain."""
    return [
        (node.lineno, float(node.value))
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool)
    ]


def digits(value: float) -> str:
    """A number by its digits, so that 101325 Pa and 1013.25 hPa are the same; with few digits, by its power too."""
    mantissa, power = f"{abs(value):.12e}".split("e")
    written = mantissa.replace(".", "").rstrip("0")
    return written if len(written) > 3 else f"{written}e{power}"


SHARED = {
    **{name: one.value for name, one in vars(sources).items() if isinstance(one, Constant)},
    # of moist air and its vapour, whether or not they are records yet
    "heat capacity of dry air": 1006.0,
    "heat capacity of water vapour": 1860.0,
    "heat of evaporation at 0 °C": 2.501e6,
}


def written_again(paths: list[Path]) -> list[str]:
    """Where a shared constant with three or more digits is written outside `sources.py`, or in a second module."""
    telling = {digits(value): name for name, value in SHARED.items() if len(digits(value).split("e")[0]) >= 3}
    places: dict[str, dict[Path, list[int]]] = {}
    for path in paths:
        for line, value in numbers_in(path):
            if digits(value) in telling:
                places.setdefault(telling[digits(value)], {}).setdefault(path, []).append(line)
    return [
        f"{name} ({SHARED[name]:g}) in {path.name}, lines {lines}"
        for name, found in places.items()
        for path, lines in found.items()
        if name.isupper() or len(found) > 1
    ]


def test_a_shared_constant_is_written_once():
    found = written_again(FILES)
    assert not found, "import these from core/sources.py:\n" + "\n".join(found)


def test_a_constant_written_again_is_found(tmp_path):
    one, other = tmp_path / "one.py", tmp_path / "other.py"
    one.write_text('"""From 273.15 K."""\nKELVIN = 273.15\nHEAT = 1006.0\n', encoding="utf-8")
    assert written_again([one]) == ["ZERO_CELSIUS (273.15) in one.py, lines [2]"]
    other.write_text("def f(pressure=1013.25):\n    return 1.006 * pressure + 18\n", encoding="utf-8")
    assert [line.split(" (")[0] for line in written_again([one, other])] == [
        "ZERO_CELSIUS",
        "heat capacity of dry air",
        "heat capacity of dry air",
        "STANDARD_PRESSURE",
    ]

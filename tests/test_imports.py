"""The import contract, read from the source: arrows point one way, and only the room of panels knows widgets."""

import ast
from pathlib import Path

import pytest

import pondheat

LIBRARY = Path(pondheat.__file__).parent
# From left to right; a module imports only from its own place, its own room, or further left.
ORDER = [
    {"units", "nomenclature", "sources", "ranges", "written", "toml_text", "usual"},
    {"heat"},
    {"season"},
    {"money"},
    {"meter", "fish"},
    {"sheet"},
    {"study", "doubt"},
    {"bench", "bench_opened", "bench_own", "summary", "what_if", "what_if_case", "what_if_choices", "what_if_covers", "what_if_money", "what_if_words",
     "power_cut", "power_cut_words", "calendar_strip", "pond_form", "pond_form_sheet",
     "left_out", "formulae_apart", "compare", "compare_words", "together", "lesson"},
    {"show"},
    {"tutor"},
    {"__main__"},
]
FRONT_DOOR = {"front_door"}  # opens the workbook; it needs nothing of the library but the readers of text
PLACE = {name: place for place, names in enumerate(ORDER) for name in names}
INTERFACE = {"ipywidgets", "anywidget", "lets_plot", "IPython", "ipykernel", "traitlets", "matplotlib", "plotly"}
FILES = {str(path.relative_to(LIBRARY)): path for path in sorted(LIBRARY.rglob("*.py"))}


def part_of(path: Path) -> str:
    """The room (or lone module) a file belongs to; the sheet is kept in several modules of one beginning."""
    inside = path.relative_to(LIBRARY)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem.split("sheet_")[0] or "sheet"


def called(node: ast.Call) -> str:
    """The bare name of what is called."""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def imported(path: Path) -> set[str]:
    """Every module that a file imports, anywhere in it, by dotted name."""
    package = ["pondheat", *path.relative_to(LIBRARY).parts[:-1]]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            start = ".".join(package[:len(package) - node.level + 1]) + "." if node.level else ""
            found |= {f"{start}{node.module or ''}".strip(".") + f".{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Call) and called(node) in ("import_module", "__import__"):
            if node.args and isinstance(node.args[0], ast.Constant):
                found.add(str(node.args[0].value))
    return found


def parts_imported(path: Path) -> set[str]:
    """The library's parts that a file imports."""
    dotted = [name.split(".") for name in imported(path) if name.split(".")[0] == "pondheat"]
    found = {LIBRARY / words[1] for words in dotted if len(words) > 1}
    return {part_of(place / "x.py" if place.is_dir() else place) for place in found
            if place.is_dir() or place.with_suffix(".py").exists()}


def test_every_part_has_its_place():
    parts = {part_of(path) for path in FILES.values()} - {"__init__"}
    assert parts <= set(PLACE) | FRONT_DOOR
    for name in PLACE:
        assert (LIBRARY / name).is_dir() or (LIBRARY / f"{name}.py").exists(), f"{name} is no longer there"


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_imported_from_further_right(name):
    path, part = FILES[name], part_of(FILES[name])
    for other in parts_imported(path) - {part}:
        if part in FRONT_DOOR:
            assert PLACE[other] == 0, other
        elif other in FRONT_DOOR:
            assert part in ("__main__", "lesson", "show"), f"{part} opens no doors"
        elif part == "__init__":
            raise AssertionError(f"the package itself imports {other}")
        else:
            assert PLACE[other] <= PLACE[part], f"{part} imports {other}"


def test_of_money_meter_and_fish_only_meter_imports_money():
    for name, path in FILES.items():
        part, others = part_of(path), parts_imported(path)
        if part in ("money", "fish", "meter"):
            allowed = {"money"} if part == "meter" else set()
            assert others & ({"money", "fish", "meter"} - {part}) <= allowed, name
        beside = {"bench", "summary", "compare", "lesson"}  # none leans on another
        if part in beside:
            assert not others & (beside - {part}), name


@pytest.mark.parametrize("name", FILES)
def test_only_the_room_of_panels_knows_widgets_and_drawing(name):
    if part_of(FILES[name]) != "show":
        assert not {dotted.split(".")[0] for dotted in imported(FILES[name])} & INTERFACE


def test_the_contract_can_fail(tmp_path, monkeypatch):
    """The reader of imports sees every way of writing one."""
    here = tmp_path / "heat"
    here.mkdir()
    (tmp_path / "money").mkdir()
    (here / "bad.py").write_text("from ..money import payback\ndef f():\n    import ipywidgets.widgets\n"
                                 "    from pondheat import money as m\n    importlib.import_module('lets_plot')\n",
                                 encoding="utf-8")
    monkeypatch.setitem(globals(), "LIBRARY", tmp_path)
    assert imported(here / "bad.py") == {"pondheat.money.payback", "ipywidgets.widgets", "pondheat.money", "lets_plot"}
    assert parts_imported(here / "bad.py") == {"money"}

"""The import rules, checked in the source: rooms in one order, no cycles, and only the pages know widgets."""

import ast
import functools
from pathlib import Path

from syntax_trees import tree_of

import pondheat

LIBRARY = Path(pondheat.__file__).parent
# A module imports from its own room, or from a room that comes before it here.
ROOMS = [
    "core",
    "heat",
    "season",
    "money",
    "fish",
    "meter",
    "sheet",
    "analysis",
    "checks",
    "text",
    "front_door",
    "lesson",
    "show",
    "tutor",
    "cli",
    "__main__",
]
MOST_LEVELS = 10
INTERFACE = {"ipywidgets", "anywidget", "lets_plot", "IPython", "ipykernel", "traitlets", "matplotlib", "plotly"}
FILES = {str(path.relative_to(LIBRARY)): path for path in sorted(LIBRARY.rglob("*.py"))}


def room_of(name: str) -> str:
    """The room of a file, or the name of a module at the top."""
    return Path(name).parts[0] if len(Path(name).parts) > 1 else Path(name).stem


def dotted(name: str) -> str:
    """The module's name below `pondheat`."""
    parts = Path(name).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {dotted(name): name for name in FILES}


@functools.cache
def imported(path: Path) -> set[str]:
    """Every module that a file imports, anywhere in it (also for types only), by dotted name."""
    package = ["pondheat", *path.relative_to(LIBRARY).parts[:-1]]
    found = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            start = ".".join(package[: len(package) - node.level + 1]) + "." if node.level else ""
            found |= {f"{start}{node.module or ''}".strip(".") + f".{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Call):
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if called in ("import_module", "__import__") and node.args and isinstance(node.args[0], ast.Constant):
                found.add(str(node.args[0].value))
    return found


def modules_imported(path: Path) -> set[str]:
    """The library's own modules that a file imports, below `pondheat`."""
    found = set()
    for name in imported(path):
        words = name.split(".")
        if words[0] != "pondheat":
            continue
        whole, holder = ".".join(words[1:]), ".".join(words[1:-1])
        target = whole if whole in MODULES else holder
        if target in MODULES:
            found.add(target)
    return found


@functools.cache
def arrows() -> dict[str, set[str]]:
    """What each module imports of the others."""
    return {module: modules_imported(FILES[name]) - {module} for module, name in MODULES.items()}


def test_every_file_is_in_a_room():
    assert {room_of(name) for name in FILES} - {"__init__"} <= set(ROOMS)
    assert {path.name for path in LIBRARY.glob("*.py")} == {"__init__.py", "__main__.py"}


def test_no_room_imports_from_a_later_one():
    wrong = [
        f"{module} imports {other}"
        for module, others in arrows().items()
        for other in others
        if module and other and ROOMS.index(other.split(".")[0]) > ROOMS.index(room_of(MODULES[module]))
    ]
    assert not wrong, "\n".join(wrong)


def levels() -> dict[str, int]:
    """Each module's level: one above the highest that it imports. Fails on a cycle."""
    found: dict[str, int] = {}

    def level(module: str, way: tuple[str, ...] = ()) -> int:
        assert module not in way, f"imports run in a circle: {' → '.join((*way, module))}"
        if module not in found:
            found[module] = 1 + max((level(other, (*way, module)) for other in arrows()[module] if other), default=0)
        return found[module]

    for module in MODULES:
        level(module)
    return found


def room_arrows() -> set[tuple[str, str]]:
    """Pairs of rooms of which the first imports the second; sub-rooms count as rooms."""

    def room(module: str) -> str:
        return module.rsplit(".", 1)[0] if "." in module else module

    return {(room(a), room(b)) for a, others in arrows().items() for b in others if a and b and room(a) != room(b)}


def room_levels(whole: bool) -> int:
    """On how many levels the rooms stand (whole ones, or sub-rooms apart); raises on a circle of rooms."""
    arrows: dict[str, set[str]] = {}
    for a, b in room_arrows():
        a, b = (a.split(".")[0], b.split(".")[0]) if whole else (a, b)
        if a != b:
            arrows.setdefault(a, set()).add(b)

    def level(room: str, way: tuple[str, ...] = ()) -> int:
        assert room not in way, f"rooms import each other in a circle: {' → '.join((*way, room))}"
        return 1 + max((level(other, (*way, room)) for other in arrows.get(room, ())), default=0)

    return max(level(room) for room in arrows)


def test_imports_have_no_cycle():
    levels()


def test_the_rooms_stand_on_few_levels():
    assert room_levels(whole=True) <= MOST_LEVELS
    room_levels(whole=False)  # nor do sub-rooms import each other in a circle


def test_only_pages_know_widgets_and_drawing():
    wrong = {
        name: known
        for name, path in FILES.items()
        if room_of(name) != "show" and (known := {module.split(".")[0] for module in imported(path)} & INTERFACE)
    }
    assert wrong == {}


def test_every_way_of_importing_is_seen(tmp_path, monkeypatch):
    here = tmp_path / "heat"
    here.mkdir()
    (here / "bad.py").write_text(
        "from ..money import payback\ndef f():\n    import ipywidgets.widgets\n"
        "    from pondheat import money as m\n    importlib.import_module('lets_plot')\n",
        encoding="utf-8",
    )
    monkeypatch.setitem(globals(), "LIBRARY", tmp_path)
    assert imported(here / "bad.py") == {"pondheat.money.payback", "ipywidgets.widgets", "pondheat.money", "lets_plot"}
    assert modules_imported(here / "bad.py") == {"money", "money.payback"}

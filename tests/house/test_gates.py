"""The linters and the rules of the house, as tests: style, types, sizes, exceptions with reasons, nothing unused."""

import ast
import functools
import importlib
import json
import os
import re
import subprocess
import sys
import tokenize
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from syntax_trees import tree_of
from usual_cases import all_in_one

from pondheat.core import nomenclature
from pondheat.core.places import CLONE

LIBRARY, TESTS, WORKBOOK = CLONE / "pondheat", CLONE / "tests", CLONE / "workbook"
PYTHON_FILES = sorted([*LIBRARY.rglob("*.py"), *TESTS.rglob("*.py"), *WORKBOOK.rglob("*.py")])
CONFIG = tomllib.loads((CLONE / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
MOST_LINES, MOST_COMPLEX = 350, 15
# Files that may be longer, each with the reason why splitting it would not help its readers.
LONGER: dict[str, str] = {}
MOST_TEST_LINES = 900  # a test file holds the cases of one module, side by side
# Public definitions that nothing in the package or the workbook uses, each with the reason why it is there.
UNUSED_ON_PURPOSE = {
    "fish.ammonia.from_test_kit": "part of the public library: what a keeper's test kit reads, as ammonia",
    "text.power_cut_text.power_cut_text": "part of the public library: a power cut in sentences, caution included",
    "text.season_results.SeasonResults._repr_html_": "called by notebooks",
}


def path_in_clone(path: Path) -> str:
    """A file's path below the clone, with forward slashes on every system."""
    return path.relative_to(CLONE).as_posix()


def run(*command: str) -> None:
    """Run a linter as a module in the clone; its complaints are the failure's text."""
    done = subprocess.run([sys.executable, "-m", *command], cwd=CLONE, capture_output=True, text=True, encoding="utf-8")
    if done.returncode:
        pytest.fail(f"python -m {' '.join(command)}\n{done.stdout}{done.stderr}", pytrace=False)


OURS = ("pondheat", "tests", "workbook")


def test_ruff_finds_nothing():
    run("ruff", "check", "--output-format=concise", "--no-cache", *OURS)


def test_fixtures_end_with_their_folder():
    """One that every test of a folder gets, and that lasts until all tests are done, would reach later folders."""
    lasting = re.compile(r"@pytest\.fixture\((?=[^)]*autouse=True)[^)]*scope=\"(session|package)\"")
    below = (path for path in TESTS.rglob("*.py") if path.parent != TESTS)
    assert not [path_in_clone(path) for path in below if lasting.search(path.read_text(encoding="utf-8"))]


def test_ruff_would_format_nothing():
    run("ruff", "format", "--check", "--no-cache", *OURS)


@pytest.mark.timeout(600)
def test_mypy_finds_nothing():
    """Takes most of a minute where `.mypy_cache` is empty, a few seconds afterwards; nobody comes back to CI's."""
    kept = ["--cache-dir=/dev/null"] if os.environ.get("CI") == "true" else []
    run("mypy", "--no-error-summary", "--no-pretty", *kept)


# The linters themselves stay switched on


def test_ruff_is_not_loosened():
    lint = CONFIG["ruff"]["lint"]
    assert {"E", "F", "W", "I", "UP", "B", "C90", "SIM", "RUF100"} <= set(lint["select"])
    assert lint["mccabe"]["max-complexity"] <= MOST_COMPLEX and CONFIG["ruff"]["line-length"] <= 120
    assert not {"per-file-ignores", "extend-per-file-ignores", "exclude", "extend-ignore"} & {*lint, *CONFIG["ruff"]}
    # SIM108 would turn readable branches into conditional expressions; B905 asks for zip(strict=) everywhere; B023
    # mistakes a function that is called at once, within its turn of the loop, for one that outlives it.
    assert set(lint["ignore"]) <= {"SIM108", "B905", "B023"}


def test_mypy_is_not_loosened():
    mypy = CONFIG["mypy"]
    assert mypy["files"] == ["pondheat"] and mypy["check_untyped_defs"] and mypy["warn_unused_ignores"]
    assert not {"ignore_errors", "disable_error_code", "exclude", "follow_imports"} & set(mypy)
    for override in mypy.get("overrides", ()):
        assert set(override) == {"module", "ignore_missing_imports"}, "only foreign packages without types are excused"
        assert not [name for name in override["module"] if name.startswith("pondheat")]


def comments(path: Path) -> Iterator[tuple[int, str]]:
    """Each comment of a Python file, with its line."""
    with tokenize.open(path) as file:
        for token in tokenize.generate_tokens(file.readline):
            if token.type == tokenize.COMMENT:
                yield token.start[0], token.string


BLANKET = re.compile(
    r"#\s*type:\s*ignore(?!\[)|#\s*noqa(?!:\s*[A-Z])|#\s*(ruff|flake8):\s*noqa|#\s*mypy:", re.IGNORECASE
)


@pytest.mark.parametrize(
    "comment, blanket",
    [
        ("# type: ignore", True),
        ("# type: ignore[arg-type]", False),
        ("x  # noqa", True),
        ("# noqa: E402", False),
        ("# ruff: noqa: E501", True),
        ("# mypy: ignore-errors", True),
    ],
)
def test_a_blanket_excuse_is_recognised(comment, blanket):
    assert bool(BLANKET.search(comment)) is blanket


def test_every_excuse_from_a_linter_names_its_rule():
    found = [
        f"{path_in_clone(path)}:{line}: {comment}"
        for path in PYTHON_FILES
        if BLANKET.search(path.read_text(encoding="utf-8"))  # few files have any; reading every comment is slow
        for line, comment in comments(path)
        if BLANKET.search(comment)
    ]
    assert not found, "\n".join(found)


# Sizes


def test_no_file_is_too_long():
    lines = {path_in_clone(path): len(path.read_text(encoding="utf-8").splitlines()) for path in PYTHON_FILES}
    most = {path: MOST_TEST_LINES if path.startswith("tests/") else MOST_LINES for path in lines}
    long = {path: count for path, count in lines.items() if count > most[path]}
    listed = [f"{count} lines: {path}" for path, count in long.items() if path not in LONGER]
    assert not listed, f"longer than {MOST_LINES} lines, split by topic:\n" + "\n".join(listed)
    assert set(LONGER) <= set(long), "an exception that is no longer needed"


# Nothing unused


def definitions(tree: ast.Module) -> Iterator[tuple[str, ast.AST]]:
    """Functions and classes at the top of a module, and the methods of its classes, as (name, node)."""
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            yield node.name, node
        if isinstance(node, ast.ClassDef):
            yield from ((f"{node.name}.{one.name}", one) for one in node.body if isinstance(one, ast.FunctionDef))


@functools.cache
def references(tree: ast.AST) -> Counter[str]:
    """How often each name is read, imported, or written as a string (a registry's key, a dotted quantity)."""
    found: Counter[str] = Counter()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            found[node.id] += 1
        elif isinstance(node, ast.Attribute):
            found[node.attr] += 1
        elif isinstance(node, ast.ImportFrom):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.update(re.findall(r"[A-Za-z_]\w*", node.value) if re.fullmatch(r"[\w.]+", node.value) else ())
    return found


def notebook_code() -> Iterator[ast.Module]:
    """The code cells of every notebook of the workbook."""
    for path in WORKBOOK.rglob("*.ipynb"):
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                yield ast.parse("".join(cell["source"]))


def foreign_hooks(module: str, class_name: str) -> set[str]:
    """Methods that a class overrides from foreign bases, such as a widget's display method: called from outside."""
    bases = getattr(importlib.import_module(module), class_name).__mro__
    return {name for base in bases if not base.__module__.startswith("pondheat") for name in vars(base)}


def unused(files: dict[str, ast.Module], used: Counter[str]) -> list[str]:
    """Dotted names of definitions that only they themselves refer to; `files` are parsed modules by dotted name.

    Python calls `__names__`, and a notebook `_repr_…_`.
    """
    found = []
    for module, tree in files.items():
        in_file = references(tree)
        for name, node in definitions(tree):
            own = name.split(".")[-1]
            decorated = any("validate" in ast.dump(one) or "observe" in ast.dump(one) for one in node.decorator_list)
            if own.startswith(("__", "_repr_")) or decorated:
                continue
            if used[own] > in_file[own] or used[own] > references(node)[own]:  # another file's use needs no second look
                continue
            if "." in name and own in foreign_hooks(f"pondheat.{module}", name.split(".")[0]):
                continue
            found.append(f"{module}.{name}")
    return found


def test_nothing_in_the_library_is_unused():
    """Used means: in the library, in the workbook, by a script that prepares it, or offered as a checkable quantity."""
    files = {".".join(path.relative_to(LIBRARY).with_suffix("").parts): tree_of(path) for path in LIBRARY.rglob("*.py")}
    scripts = [path for path in (*TESTS.glob("*.py"), *WORKBOOK.rglob("*.py")) if not path.name.startswith("test_")]
    used: Counter[str] = Counter(name.split(".")[-1] for name in nomenclature.RETURNS)
    for tree in (*files.values(), *notebook_code(), *map(tree_of, scripts)):
        used.update(references(tree))
    found = [name for name in unused(files, used) if not name.startswith(tuple(UNUSED_ON_PURPOSE))]
    assert not found, "nothing calls these; remove them:\n" + "\n".join(found)


def test_what_is_unused_is_found():
    tree = ast.parse("def a():\n    return a()\n\ndef b():\n    return c\n\ndef c():\n    return b()\n\ndef d(): ...")
    used = references(tree) + references(ast.parse('REGISTRY = {"room.d": 1}'))
    assert unused({"made.up": tree}, used) == ["made.up.a"]  # that it calls itself is no use


# Families of cases in one test


def test_every_case_that_fails_is_named():
    @all_in_one((one, one % 3) for one in range(7))
    def whole(number, rest):
        assert rest

    with pytest.raises(ExceptionGroup, match="3 cases fail") as told:
        whole()
    assert [fault.__notes__ for fault in told.value.exceptions] == [["with (0, 0)"], ["with (3, 0)"], ["with (6, 0)"]]

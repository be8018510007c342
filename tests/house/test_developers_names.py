"""Every path, dotted name and name of code between backticks in DEVELOPERS.md exists."""

import fnmatch
import functools
import re
from pathlib import Path

import pytest

from pondheat.core.places import CLONE
from pondheat.sheet.pond_sheet import KEYS

# The tables of the pond sheet at the end are tested as a whole.
TEXT = (CLONE / "DEVELOPERS.md").read_text(encoding="utf-8").split("## The pond sheet")[0]
TICKED = sorted(set(re.findall(r"`([^`\n]+)`", TEXT)))
ELSEWHERE = {
    "my-workbook/": "the reader's folder",
    "share/": "of an installed Jupyter",
    "etc/": "of an installed Jupyter",
    "~/.netrc": "in the reader's home",
    "workbook/NN_name.ipynb": "a pattern",
    "workbook/tutor/NN_name.md": "a pattern",
}
FILES = {
    path.relative_to(CLONE).as_posix()
    for room in ("pondheat", "tests", "workbook", "data", ".ci")
    for path in (CLONE / room).rglob("*")
    if "__pycache__" not in path.parts
} | {path.name for path in CLONE.iterdir()}
SOURCES = sorted(name for name in FILES if name.endswith((".py", ".js", ".toml")))
RECIPES = TEXT.split("## How to add")[1].split("## The front door")[0]


@functools.cache
def source_of(name: str) -> str:
    return (CLONE / name).read_text(encoding="utf-8")


@functools.cache
def words_of_code() -> set[str]:
    """Every word in the sources."""
    return {word for name in SOURCES for word in re.findall(r"\w+", source_of(name))}


@functools.cache
def found(path: str) -> list[str]:
    """Files and folders whose path is this, or ends in it; a pattern such as `*.csv` is one too."""
    return [name for name in FILES if fnmatch.fnmatch(f"/{name}", f"*/{path.rstrip('/')}")]


def defines(module: str, name: str) -> bool:
    """Whether a module, or one directly in a folder, defines or assigns a name, as a variable, class, function, or
    attribute."""
    modules = [module] if module.endswith(".py") else [one for one in SOURCES if str(Path(one).parent) == module]
    return any(
        re.search(
            rf"^\s*(?:def|class) {name}\b|^\s*(?:\w+\.)?{name}(?::[^=\n]+)?(?: =|$)", source_of(one), re.MULTILINE
        )
        for one in modules
        if one.endswith(".py")
    )


def resolves(dotted: str) -> bool:
    """Whether `room.module.name`, `module.name` or `Class.attribute` exists."""
    parts = dotted.split(".")
    if parts[0] in KEYS and parts[-1] in KEYS[parts[0]]:
        return True
    for count in range(len(parts), 0, -1):
        path = "/".join(parts[:count])
        modules = [*found(f"{path}.py"), *(name for name in found(path) if (CLONE / name).is_dir())]
        if modules:
            return count == len(parts) or any(defines(module, parts[-1]) for module in modules)
    classes = [name for name in SOURCES if name.endswith(".py") and defines(name, parts[0])]
    return any(defines(name, parts[-1]) for name in classes)


def words(test) -> list[str]:
    return sorted({word for ticked in TICKED for word in ticked.split() if test(word)} - set(ELSEWHERE))


def is_path(word: str) -> bool:
    return bool(re.fullmatch(r"[\w.*~/-]+/[\w.*/-]*|[\w*]+\.(?:py|js|md|json|toml|txt|csv|ipynb)", word))


def test_paths_exist():
    paths = words(is_path)
    missing = [path for path in paths if not (found(path.replace("NN", "[0-9][0-9]")) or found(f"{path}.py"))]
    assert paths and missing == []


def test_dotted_names_exist():
    names = words(lambda word: re.fullmatch(r"[A-Za-z_]\w*(\.\w+)+", word) and not is_path(word))
    assert names and [name for name in names if not resolves(name)] == []


def test_names_of_code_exist():
    """Constants, classes and names with an underscore."""
    names = words(lambda word: re.fullmatch(r"[A-Z]\w+|\w*_\w*[a-z]", word) and "wasm" not in word)
    assert names and [name for name in names if name not in words_of_code()] == []


@pytest.mark.parametrize(
    "line",
    [line for line in RECIPES.splitlines() if re.search(r"`[A-Z_]{3,}`", line)],
    ids=lambda line: line.strip()[:40],
)
def test_recipes_name_the_file_that_holds_a_table(line):
    """`NAMES` in capitals are in one of the files or modules that the same line of a recipe names."""
    ticked = re.findall(r"`([^`]+)`", line)
    files = [
        name for one in ticked for name in found(one) + found(f"{one.replace('.', '/')}.py") if name.endswith(".py")
    ]
    for name in (one for one in ticked if re.fullmatch(r"[A-Z_]{3,}", one)):
        assert files and any(defines(file, name) for file in files), f"`{name}` is not in {files}"


def test_exceptions_are_needed():
    assert all(any(name in ticked for ticked in TICKED) for name in ELSEWHERE)
    assert not [name for name in ELSEWHERE if found(name)]

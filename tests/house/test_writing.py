"""Every file is written by `core.files.write_atomically`: any other way of writing is found in the source."""

import ast
from pathlib import Path

import pytest
from syntax_trees import tree_of

import pondheat

LIBRARY = Path(pondheat.__file__).parent
WRITERS = {
    "write_text", "write_bytes", "to_excel", "to_parquet", "to_pickle", "savefig", "savetxt", "savez", "tofile",
    "mkstemp", "NamedTemporaryFile", "copyfile", "copy2", "copytree", "replace_file", "link_to", "hardlink_to",
}  # fmt: skip
OF_MODULES = {("os", "replace"), ("os", "rename"), ("os", "open"), ("os", "truncate"), ("shutil", "copy"),
              ("shutil", "move"), ("json", "dump"), ("np", "save"), ("tomlkit", "dump")}  # fmt: skip

ADDRESSES = {"_direct"}  # openers of addresses, not of files


def mode_of(call: ast.Call, place: int) -> str:
    """The mode of a call of open, "r" where none is written."""
    given = [one.value for one in call.keywords if one.arg == "mode"] + call.args[place : place + 1]
    return str(given[0].value) if given and isinstance(given[0], ast.Constant) else "?" if given else "r"


NAMES = {"open", "to_csv", "to_json", *WRITERS, *(name for _, name in OF_MODULES)}  # one is in every module that writes


def writes(tree: ast.AST) -> list[str]:
    """Calls in a module that write a file, as their lines and names."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        owner = getattr(getattr(node.func, "value", None), "id", "")
        opened = (
            name == "open"
            and owner not in ADDRESSES
            and set(mode_of(node, 0 if isinstance(node.func, ast.Attribute) else 1)) & set("wax+?")
        )
        to_path = name in ("to_csv", "to_json") and (
            node.args or any(one.arg == "path_or_buf" for one in node.keywords)
        )
        if opened or to_path or name in WRITERS or (owner, name) in OF_MODULES:
            found.append(f"line {node.lineno}: {owner}.{name}".replace(": .", ": "))
    return found


def test_files_are_written_in_one_place():
    found = {}
    for path in sorted(LIBRARY.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if any(name in text for name in NAMES) and (here := writes(tree_of(path))):
            found[path.relative_to(LIBRARY).as_posix()] = here
    in_one_place = found.pop("core/files.py")
    assert [one.split(": ")[1] for one in in_one_place] == ["tempfile.mkstemp", "os.replace", "os.open"]
    assert not found, f"write with core.files.write_atomically: {found}"


@pytest.mark.parametrize(
    "code, found",
    [
        ("open(path, 'w')", True),
        ("open(path, mode='ab')", True),
        ("open(path, 'rb')", False),
        ("open(path)", False),
        ("path.open('w')", True),
        ("path.open()", False),
        ("open(path, chosen)", True),
        ("path.write_text('x')", True),
        ("table.to_csv(path)", True),
        ("table.to_csv(index=False)", False),
        ("os.replace(a, b)", True),
        ("text.replace(a, b)", False),
        ("json.dump(x, file)", True),
        ("json.dumps(x)", False),
    ],
)
def test_ways_of_writing_are_found(code, found):
    assert bool(writes(ast.parse(code))) is found

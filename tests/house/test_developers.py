"""DEVELOPERS.md is complete where a test can tell: keys of the pond sheet, modules, dependencies."""

import re
import tomllib

from pondheat.core.places import CLONE
from pondheat.sheet.pond_sheet import KEYS

TEXT = (CLONE / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_key_of_the_sheet_is_explained():
    """The tables consist of exactly these lines; after a change of KEYS, copy them from the failure message."""
    wanted = [
        f"| `{key}` | `{example}` | {meaning} |" for keys in KEYS.values() for key, (example, meaning) in keys.items()
    ]
    section = TEXT.split("## The pond sheet")[1]
    found = [line for line in section.splitlines() if re.match(r"\| `\w+` \| `", line)]
    assert found == wanted, "\n".join(wanted)


def test_every_room_is_named():
    for module in (CLONE / "pondheat").glob("*.py"):
        if module.name != "__init__.py":
            stem = module.stem if module.stem != "__main__" else "__main__"
            assert stem in TEXT, f"{module.name} is not named in DEVELOPERS.md"
    for room in (CLONE / "pondheat").iterdir():
        if room.is_dir() and not room.name.startswith("__"):
            assert f"{room.name}/" in TEXT


def test_every_dependency_has_a_reason():
    project = tomllib.loads((CLONE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    table = TEXT.split("## Dependencies")[1].split("##")[0]
    for name in (re.split(r"[<>=]", line)[0] for line in asked):
        assert name in table, f"{name} has no line in the table of dependencies"

"""Routes through the workbook for an evening or more: their pages, and what of a page belongs to its core."""

from __future__ import annotations

import json
import re
from pathlib import Path

from pondheat.core.places import WORKBOOK
from pondheat.lesson.questions import BANK

# By file name: title, and numbers of the pages. Their minutes are in workbook/tutor/how_to_run_an_evening.md.
ROUTES: dict[str, tuple[str, tuple[str, ...]]] = {
    "one_hour": ("One hour", ("00", "07", "16")),
    "two_hours": ("A club evening of two hours", ("00", "04", "07", "16")),
    "four_evenings": ("Four evenings", tuple(f"{number:02d}" for number in range(17) if number != 8)),  # 08 is optional
}
SHORT = "one_hour"  # the route whose challenge has three decisions; the others' has five


def pages_of(route: str) -> list[Path]:
    """The notebooks of a route, in order. Raises KeyError for an unknown route."""
    return [path for number in ROUTES[route][1] for path in sorted(WORKBOOK.glob(f"{number}_*.ipynb"))]


def returning_on(path: Path) -> list[str]:
    """Keys of the questions of earlier pages that a notebook asks again, in order."""
    asked = re.findall(r'\bexercise\("([^"]+)"', "\n".join(_sources(path)))
    return [key for key in asked if BANK[key].notebook != path.stem]


def returns(folder: Path = WORKBOOK) -> dict[str, list[str]]:
    """By key of a question: the later notebooks that ask it again."""
    found: dict[str, list[str]] = {key: [] for key in BANK}
    for path in sorted(folder.glob("[0-9][0-9]_*.ipynb")):
        for key in returning_on(path):
            found[key].append(path.stem)
    return found


def title_of(path: Path) -> str:
    """The heading of a notebook, which is the question it answers."""
    return _sources(path)[0].strip().splitlines()[0].removeprefix("# ")


def core_keys(path: Path, called: str = "exercise") -> list[str]:
    """Keys of the questions in a notebook's core, in order: all that a route has time for.

    The core is what comes before the first heading, and the sections whose heading is marked ◆. called: the function
    that the page's cells call with the key, `exercise` or `worked_example`.
    """
    keys, in_core = [], True
    for source in _sources(path):
        if heading := re.match(r"## (◆?)", source):
            in_core = bool(heading[1])
        if in_core:
            keys += re.findall(rf'\b{called}\("([^"]+)"', source)
    return keys


def _sources(path: Path) -> list[str]:
    """The text of each cell of a notebook."""
    return ["".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]]

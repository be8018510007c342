"""Routes through the workbook for an evening or more: their pages and the title of each page."""

from __future__ import annotations

import json
import re
from pathlib import Path

from pondheat.core.places import WORKBOOK
from pondheat.lesson.questions import BANK

# By file name: title, and numbers of the pages. Their minutes are in workbook/tutor/how_to_run_an_evening.md.
ROUTES: dict[str, tuple[str, tuple[str, ...]]] = {
    "one_hour": ("One hour", ("00", "05", "07", "16")),
    "two_hours": ("A club evening of two hours", ("00", "05", "07", "12", "16")),
    "four_evenings": ("Four evenings", tuple(f"{number:02d}" for number in range(17))),
}


def pages_of(route: str) -> list[Path]:
    """The notebooks of a route, in order. Raises KeyError for an unknown route."""
    return [path for number in ROUTES[route][1] for path in sorted(WORKBOOK.glob(f"{number}_*.ipynb"))]


def returning_on(path: Path) -> list[str]:
    """Keys of the questions of earlier pages that a notebook asks again, in order."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    asked = re.findall(r'\bexercise\("([^"]+)"', code)
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
    first = "".join(json.loads(path.read_text(encoding="utf-8"))["cells"][0]["source"])
    return first.strip().splitlines()[0].removeprefix("# ")

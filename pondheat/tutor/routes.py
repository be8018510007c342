"""Ways through the workbook for an evening or more: which pages, and the title that each page bears."""

from __future__ import annotations

import json
from pathlib import Path

from pondheat.core.places import WORKBOOK

# A route's file name → its title and its pages, by number; the minutes stand in workbook/tutor/how_to_run_an_evening.md.
ROUTES: dict[str, tuple[str, tuple[str, ...]]] = {
    "one_hour": ("One hour", ("00", "05", "07", "16")),
    "two_hours": ("A club evening of two hours", ("00", "05", "07", "12", "16")),
    "four_evenings": ("Four evenings", tuple(f"{number:02d}" for number in range(17))),
}


def pages_of(route: str) -> list[Path]:
    """The pages of a route, in order; raises KeyError for one that is not known."""
    return [path for number in ROUTES[route][1] for path in sorted(WORKBOOK.glob(f"{number}_*.ipynb"))]


def title_of(path: Path) -> str:
    """The question a page bears as its heading."""
    first = "".join(json.loads(path.read_text(encoding="utf-8"))["cells"][0]["source"])
    return first.strip().splitlines()[0].removeprefix("# ")

"""Rewrite the counts that README.md and data/README.md give of data/checks and of tables of weather.

    python tests/refresh_counts.py

Run it after adding or removing a check row. Only numbers change; the words around them are the places where they are
found. `tests/house/test_layout.py` compares both files with what this script makes.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from pathlib import Path

CLONE = Path(__file__).parents[1]
DATA = CLONE / "data"
FILES = (CLONE / "README.md", DATA / "README.md")
_NUMBER = r"\b(?:\d+|no|one|two|three|four|five|six|seven|eight|nine)\b"
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
# words after a number in README.md -> kinds of check rows that it counts; no kinds: all rows
PHRASES: dict[str, tuple[str, ...]] = {
    "listed values": (),
    "printed in handbooks": ("published",),
    "from independent libraries": ("library",),
    "recomputed by hand": ("derived", "practice"),
    "from memory": ("memory",),
}


class PhraseMissing(ValueError):
    """A text no longer contains the words that mark a count."""


def rows_of(path: Path) -> list[dict[str, str]]:
    """Rows of a CSV file, comment lines left out."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def readme(text: str) -> str:
    """README.md with the present counts of check rows; raises `PhraseMissing` unless each phrase occurs once."""
    kinds = Counter(row["kind"] for path in sorted((DATA / "checks").glob("*.csv")) for row in rows_of(path))
    for phrase, counted in PHRASES.items():
        count = sum(kinds[kind] for kind in counted) if counted else kinds.total()
        number = str(count) if count >= len(_SMALL) else _SMALL[count]
        text, found = re.subn(rf"{_NUMBER} {phrase}\b", f"{number} {phrase}", text)
        if found != 1:
            raise PhraseMissing(f"README.md has “… {phrase}” {found} times; it marks a count and must occur once.")
    return text


def data_readme(text: str) -> str:
    """data/README.md with the present counts of values and rows in the files that it lists."""

    def counted(match: re.Match) -> str:
        return f"{match[1]}{len(rows_of(DATA / match[2]))}{match[3]}"

    text = re.sub(r"(?m)^(\| (checks/[\w.-]+) \| )\d+( values)", counted, text)
    return re.sub(r"(?m)^(\| (weather/[\w.-]+\.csv) \|[^|]*?\()\d+( rows)", counted, text)


def refreshed() -> dict[Path, str]:
    """Text of each file with the present counts."""
    return {path: change(path.read_text(encoding="utf-8")) for path, change in zip(FILES, (readme, data_readme))}


if __name__ == "__main__":
    for changed, new in refreshed().items():
        changed.write_text(new, encoding="utf-8")

"""The one text of the cautions: what stands beside a result wherever it could lead to work on a pond.

None of these checks anything. They say what this workbook does not know and who does. The words are in `cautions.toml`.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from pondheat.core.sources import BIBLIOGRAPHY

# The five headings of every report; what burns and what must not leak stand under one.
_HEADINGS = (("electricity",), ("children",), ("gas_exchange",), ("structure_and_wind",), ("burning", "refrigerant"))
FIVE: tuple[str, ...] = tuple(key for keys in _HEADINGS for key in keys)


@dataclass(frozen=True)
class Caution:
    """A caution: what it is about, the text as shown, and keys of its sources in the bibliography."""

    title: str
    text: str
    sources: tuple[str, ...] = ("practice",)

    def __post_init__(self):
        for key in self.sources:
            if key not in BIBLIOGRAPHY:
                raise KeyError(f"source {key!r} is not in the bibliography")


def five() -> list[tuple[str, str]]:
    """The title and the text of each of the five headings, in the order in which a report shows them."""
    shown = []
    for keys in _HEADINGS:
        first, *others = (CAUTIONS[key] for key in keys)
        title = ", ".join([first.title, *(other.title[0].lower() + other.title[1:] for other in others)])
        shown.append((title, " ".join([first.text, *(other.text for other in others)])))
    return shown


def _flowing(text: str) -> str:
    """Text without its line ends."""
    return " ".join(text.split())


def _read() -> tuple[str, dict[str, Caution]]:
    """The standing sentence and all cautions."""
    told = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))
    standing = _flowing(told.pop("standing"))
    return standing, {
        key: Caution(one["title"], _flowing(one["text"]), tuple(one.get("sources", ("practice",))))
        for key, one in told.items()
    }


STANDING, CAUTIONS = _read()

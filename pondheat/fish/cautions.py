"""The cautions that are shown wherever a result could lead to work on a pond.

A caution checks nothing: it says what this workbook does not know and who decides. Their text is in `cautions.toml`.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from pondheat.core.sources import BIBLIOGRAPHY

# Cautions of every report by heading; burners and refrigerant share one.
_REPORT_HEADINGS = (
    ("electricity",),
    ("children",),
    ("gas_exchange",),
    ("structure_and_wind",),
    ("burning", "refrigerant"),
)
REPORT_KEYS: tuple[str, ...] = tuple(key for keys in _REPORT_HEADINGS for key in keys)


@dataclass(frozen=True)
class Caution:
    """A caution: its title, the text as shown, and keys of its sources. Raises KeyError for an unknown source."""

    title: str
    text: str
    sources: tuple[str, ...] = ("practice",)

    def __post_init__(self) -> None:
        for key in self.sources:
            if key not in BIBLIOGRAPHY:
                raise KeyError(f"source {key!r} is not in the bibliography")


def report_cautions() -> list[Caution]:
    """The cautions of a report, one for each of its five headings, in the order in which they are shown."""
    return [_merged([CAUTIONS[key] for key in keys]) for keys in _REPORT_HEADINGS]


def _merged(parts: list[Caution]) -> Caution:
    """Several cautions under one heading."""
    first, *others = parts
    return Caution(
        ", ".join([first.title, *(other.title[0].lower() + other.title[1:] for other in others)]),
        " ".join(part.text for part in parts),
        tuple(dict.fromkeys(source for part in parts for source in part.sources)),
    )


def _unwrapped(text: str) -> str:
    """Text on one line."""
    return " ".join(text.split())


def _read() -> tuple[str, dict[str, Caution]]:
    """The standing sentence, and all cautions by key."""
    tables = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))
    standing = _unwrapped(tables.pop("standing"))
    return standing, {
        key: Caution(table["title"], _unwrapped(table["text"]), tuple(table.get("sources", ("practice",))))
        for key, table in tables.items()
    }


STANDING, CAUTIONS = _read()

"""Text from files and file names made safe to print."""

from __future__ import annotations

import unicodedata
from pathlib import Path

LONGEST_NAME = 60  # characters


def without_controls(text: str, but: str = "") -> str:
    """Text with “?” in place of characters that steer a screen: control characters, direction marks and the like.

    but: such characters that stay.
    """
    return "".join("?" if unicodedata.category(letter)[0] == "C" and letter not in but else letter for letter in text)


def printable_name(name) -> str:
    """A file's name fit for one line of a screen: without control characters, shortened in the middle if long."""
    text = without_controls(Path(str(name)).name)
    return text if len(text) <= LONGEST_NAME else f"{text[:40]}…{text[-15:]}"

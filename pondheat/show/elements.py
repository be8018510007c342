"""The scripts of widgets that build their own elements: what these share is written once."""

from __future__ import annotations

from pathlib import Path

HERE = Path(__file__).parent


def with_elements(script: Path) -> str:
    """A widget's script with `elements.js` before it: a widget is sent as one text, which can't import another file."""
    return "".join(path.read_text(encoding="utf-8") for path in (HERE / "elements.js", script))

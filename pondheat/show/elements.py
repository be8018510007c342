"""What all widgets with elements of their own share: how they are made, and scripts that are written once."""

from __future__ import annotations

from pathlib import Path

import anywidget

HERE = Path(__file__).parent


def with_elements(script: Path) -> str:
    """A widget's script with `elements.js` before it: a widget is sent as one text, which can't import another file."""
    return "".join(path.read_text(encoding="utf-8") for path in (HERE / "elements.js", script))


class Element(anywidget.AnyWidget):
    """A widget with a script of its own, made in half the time.

    anywidget adds script, style and name to each widget as traits of a class made for this widget alone, which takes as
    long as all the rest. They are the same for all widgets of a class, so that class is made once.
    """

    _made: type[Element] | None = None  # the class with these traits, kept by each class for itself

    def add_traits(self, **traits) -> None:
        """Add traits as the base class does, but to a class that all widgets of this class share."""
        kind = type(self)
        made = kind.__dict__.get("_made")
        if made is None:
            super().add_traits(**traits)
            kind._made = type(self)
            return
        self.__class__ = made
        for name in traits:
            getattr(made, name).instance_init(self)

"""Where an outdoor fish pond's heat goes, what it costs, and what a cover saves.

The interface for Python users, loaded at first use so that importing the package stays cheap:

- `read_sheet(path)`: a pond sheet from a TOML file;
- `assess(sheet, weather=None)`: its season, open and covered, as `SeasonResults`.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pondheat.text.season_results import SeasonResults, assess, read_sheet

__all__ = ["SeasonResults", "__version__", "assess", "read_sheet"]
__version__ = "1.0.0"

_INTERFACE = "pondheat.text.season_results"


def __getattr__(name: str) -> Any:
    """A name of the public interface, imported at first use (PEP 562)."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_INTERFACE), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})

"""Currency and time zone that a tariff's file states, before its prices are read in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pondheat.core import toml_errors, units
from pondheat.core.files import read_input_text


def currency_in(path: Path) -> units.Currency | None:
    """The currency that a tariff file names; None where it names none, or cannot be read (`read` says why)."""
    named = _said_in(path, "currency")
    try:
        return None if named is None else units.currency_of(named)
    except ValueError:
        return None


def timezone_in(path: Path) -> str | None:
    """The time zone that a pond sheet names, whose tariff is looked at; None where there is none."""
    named = _said_in(path, "timezone")
    return named if isinstance(named, str) else None


def _said_in(path: Path, key: str) -> Any:
    """The value of a key of a tariff's file or table, or of the pond sheet around it; None where it has none."""
    try:
        values = toml_errors.loads(read_input_text(path))
        return values.get("tariff", values).get(key, values.get(key))
    except (OSError, ValueError, AttributeError):
        return None

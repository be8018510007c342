"""Currency and time zone that a tariff's file states, before its prices are read in them; or asks its reader for."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pondheat.core import toml_errors, units
from pondheat.core.files import read_input_text


@dataclass(frozen=True)
class ZoneOption:
    """How a file's reader gives the zone of its clock, for messages, and the zone where neither they nor the file say.

    name: of the option; form: with a zone; verb: of giving it; said: before the zone that was given.
    """

    name: str = "prices_timezone"
    form: str = 'prices_timezone = "{}"'
    verb: str = "Write"
    said: str = "the tariff says"
    default: str | None = None


OF_TARIFF = ZoneOption()


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

"""The reader's answers to what a weather table doesn't say: comment lines in the table, or options of the shell.

A comment line above the header of a table answers for good, whatever reads it::

    # unit wind_speed: mph
    # clock: utc                  (or standard, that is winter time all year, or local)
    # stamps: end                 (or start)
    # dates: day first            (or month first)
    # gaps: typical year          (longer gaps are bridged from a typical year)
    # station: Orchard            (where a column names several)

The shell's options `--weather-unit` and so on answer for one run, and take precedence over such lines.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field

from pondheat.season.weather.columns import COLUMN_UNITS
from pondheat.season.weather.record import WeatherError

CHOICES = {
    "clock": ("local", "standard", "utc"),
    "stamps": ("start", "end"),
    "dates": ("day first", "month first"),
    "gaps": ("typical year",),
}
_LINE = re.compile(r"\s*#\s*(?:unit\s+(\w+)|(clock|stamps|dates|gaps|station))\s*[:=]\s*(.+?)\s*$", re.I)


@dataclass(frozen=True)
class Answers:
    """What the reader said about a table.

    units: column → unit, whatever its header says; clock, stamps, dates, gaps: one of CHOICES or None; station: whose
    rows are read, where a column names several; worksheet: of a workbook.
    """

    units: Mapping[str, str] = field(default_factory=dict)
    clock: str | None = None
    stamps: str | None = None
    dates: str | None = None
    gaps: str | None = None
    station: str | None = None
    worksheet: str | None = None


_SHELL: ContextVar[Answers | None] = ContextVar("answers", default=None)


@contextlib.contextmanager
def given(answers: Answers) -> Iterator[None]:
    """Within this context, weather tables are read with the shell's answers."""
    token = _SHELL.set(answers)
    try:
        yield
    finally:
        _SHELL.reset(token)


def of_shell() -> Answers:
    """The shell's answers for this run."""
    return _SHELL.get() or Answers()


def in_text(text: str, name: str) -> Answers:
    """The answers in a table's comment lines, overridden by the shell's; raises WeatherError for a wrong one."""
    units: dict[str, str] = {}
    rest: dict[str, str] = {}
    for line in text.splitlines():
        if not line.lstrip().startswith("#") or (found := _LINE.match(line)) is None:
            continue
        if found[1]:
            units[checked_column(found[1].lower(), name)] = found[3]
        elif found[2].lower() == "station":
            rest["station"] = found[3]
        else:
            rest[found[2].lower()] = checked_choice(found[2].lower(), found[3], name)
    shell = of_shell()
    chosen = {key: getattr(shell, key) or rest.get(key) for key in (*CHOICES, "station")}
    return Answers(units | dict(shell.units), **chosen, worksheet=shell.worksheet)


def checked_column(column: str, name: str) -> str:
    """The name of a weather column; raises WeatherError for another."""
    if column not in COLUMN_UNITS:
        raise WeatherError(
            f"{name}: a unit is given for “{column[:30]}”, which is not a column known here. Known: "
            f"{', '.join(COLUMN_UNITS)}."
        )
    return column


def checked_choice(key: str, value: str, name: str) -> str:
    """One of CHOICES of this key; raises WeatherError for another value."""
    wanted = value.strip().lower()
    if wanted not in CHOICES[key]:
        raise WeatherError(
            f"{name}: “{value[:30]}” is not an answer for {key}. Choose from: {', '.join(CHOICES[key])}."
        )
    return wanted


def ask(column: str, unit: str, other: str) -> str:
    """How to give a column's unit, as an option and as a line in the file."""
    return (
        f'Give --weather-unit "{column}={other}", or write the line “# unit {column}: {other}” above the header. If it '
        f"is right as it is, do the same with {unit}."
    )

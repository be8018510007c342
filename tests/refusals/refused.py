"""A refused file, what its refusal must say, and the file or the options as the sentence asks for them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

ZONE = "Europe/London"
USE = [round(0.5 + (7 * at % 11) / 10, 1) for at in range(3000)]  # rises and falls as a use does
COUNTER = [10_000.0 + round(0.9 * at + (at % 3) / 10, 1) for at in range(3000)]
WATER = [round(15 + (at % 24) / 10, 1) for at in range(3000)]


@dataclass(frozen=True, eq=False)
class Refused:
    """what: in a few words; content: text, bytes, or a path; says: parts of the sentence, among them the place and
    what was seen; given: options; cured, cured_given: text and options as the sentence asks for them, the same where
    left out."""

    what: str
    content: Any
    says: tuple[str, ...]
    given: dict[str, Any] = field(default_factory=dict)
    cured: Any = None
    cured_given: dict[str, Any] | None = None

    def as_told(self) -> tuple[Any, dict[str, Any]]:
        """Content and options after the sentence was followed."""
        return (
            self.content if self.cured is None else self.cured,
            self.given if self.cured_given is None else self.cured_given,
        )


def table(head: str, *columns, count=48, start="2025-01-10", freq="h", form="%Y-%m-%d %H:%M", sep=",") -> str:
    """A table of invented times and the first cells of each column."""
    stamps = pd.date_range(start, periods=count, freq=freq).strftime(form)
    return "\n".join([head, *(sep.join(map(str, row)) for row in zip(stamps, *columns))]) + "\n"


def with_line(text: str, row: int, line: str) -> str:
    """The text with another line in a row (from 1)."""
    lines = text.splitlines()
    lines[row - 1] = line
    return "\n".join(lines) + "\n"

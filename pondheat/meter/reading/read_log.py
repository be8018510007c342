"""What was taken for what and what was mended while a meter file is read: sentences with rows and kilowatt-hours."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pondheat.core.units import Unreadable

_SHOWN = 4  # places named in one sentence


class ReadingsFault(Unreadable):
    """A meter file that cannot be read without guessing; the message says where and why, and what to give."""


@dataclass(frozen=True)
class Repair:
    """One fault and what was done: kind in a word, sentence, rows of the file (from 1), and by how much the total
    [kWh] is another than the file's own because of it."""

    kind: str
    sentence: str
    rows: tuple[int, ...] = ()
    kwh: float = 0.0


@dataclass
class Ledger:
    """Gathers, while a file is read, what each thing was taken for and every repair."""

    took: list[str] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)

    def add(self, kind: str, sentence: str, rows=(), kwh: float = 0.0) -> None:
        """Note a repair."""
        self.repairs.append(Repair(kind, sentence, tuple(int(row) for row in rows), float(kwh)))


def where(rows, one: str = "row", many: str = "rows") -> str:
    """Rows as words: runs joined, the first few named.

    >>> where([3]), where([3, 4, 5, 9])
    ('row 3', 'rows 3 to 5, 9')
    """
    rows = np.unique(np.asarray(rows, dtype=np.int64))
    cuts = np.flatnonzero(np.diff(rows) != 1) + 1
    runs = np.split(rows, cuts[:_SHOWN])  # the first so many are whole
    words = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs[:_SHOWN]]
    named = sum(len(run) for run in runs[:_SHOWN])
    more = f" and {len(rows) - named} more" if len(rows) > named else ""
    return f"{one if len(rows) == 1 else many} {', '.join(words)}{more}"

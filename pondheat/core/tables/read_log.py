"""The log of reading a meter file: how each part was interpreted and what was repaired, with rows and energy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from pondheat.core.units import Unreadable

_SHOWN = 4  # runs of rows named in one sentence


class ReadingsFault(Unreadable):
    """A meter file that cannot be read without guessing; the message says where, why, and which option settles it."""


@dataclass(frozen=True)
class Repair:
    """One repair: its kind in one word, a sentence for the reader, the rows of the file (from 1), and how much it
    changes the file's own total [kWh]."""

    kind: str
    sentence: str
    rows: tuple[int, ...] = ()
    kwh: float = 0.0


@dataclass(frozen=True)
class OptionNames:
    """How the caller asks for what a table doesn't say: as it writes `dates` and `device` before their values, names
    `timezone`, says what a column of devices does, and says where the options are written."""

    dates: str = "dates="
    device: str = "device="
    timezone: str = "timezone"
    several: str = "names several devices with"
    where: str = ""


OF_READER = OptionNames()


@dataclass
class ReadLog:
    """Collects what is found as a file is read: how each part was interpreted, and every repair; asks: for messages."""

    interpretation: list[str] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    asks: OptionNames = OF_READER

    def add_repair(self, kind: str, sentence: str, rows=(), kwh: float = 0.0) -> None:
        """Record a repair."""
        self.repairs.append(Repair(kind, sentence, tuple(int(row) for row in rows), float(kwh)))


def listed(names: Sequence[str]) -> str:
    """The first twelve names, and how many more there are.

    >>> listed(["“A”", "“B”"]), listed(list("abcdefghijklmn"))[-12:]
    ('“A”, “B”', 'l and 2 more')
    """
    return ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def rows_text(rows, one: str = "row", many: str = "rows") -> str:
    """Row numbers as text: consecutive rows joined, the first few runs named, the rest counted.

    >>> rows_text([3]), rows_text([3, 4, 5, 9])
    ('row 3', 'rows 3 to 5, 9')
    """
    rows = np.unique(np.asarray(rows, dtype=np.int64))
    cuts = np.flatnonzero(np.diff(rows) != 1) + 1
    runs = np.split(rows, cuts[:_SHOWN])  # the first _SHOWN runs are complete
    words = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs[:_SHOWN]]
    named = sum(len(run) for run in runs[:_SHOWN])
    more = f" and {len(rows) - named} more" if len(rows) > named else ""
    return f"{one if len(rows) == 1 else many} {', '.join(words)}{more}"

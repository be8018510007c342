"""What was renumbered when pages of the workbook changed places, so that a learner's copy and answers can follow.

A later change of places makes this a list, one table for each `NUMBERING`.
"""

from __future__ import annotations

from typing import TypeVar

_Value = TypeVar("_Value")
NUMBERING = 2  # of pages and questions; saved with a learner's progress, whose keys are renumbered only once

PAGES = {  # former name of a page -> its present one
    "04_moist_air": "05_moist_air",
    "05_open_surface": "04_open_surface",
}
KEYS = {  # former key of a question, a reason or a guess -> its present one
    "4.1": "5.1",
    "4.2": "5.2",
    "5.1": "4.1",
    "5.2": "4.2",
    "5.3": "4.3",
    "why-05-a": "why-04-a",
    "why-05-b": "why-04-b",
    "predict-04_moist_air": "predict-05_moist_air",
    "predict-05_open_surface": "predict-04_open_surface",
}


def present_keys(by_key: dict[str, _Value]) -> dict[str, _Value]:
    """A dictionary with the present keys in place of the former ones.

    >>> present_keys({"4.1": "right", "5.1": "not yet", "7.2": "right"})
    {'5.1': 'right', '4.1': 'not yet', '7.2': 'right'}
    """
    return {KEYS.get(key, key): value for key, value in by_key.items()}


def former_files(name: str) -> list[str]:
    """Former paths of a file of the workbook, by its present one: a page, or the tutor's notes on it.

    >>> former_files("tutor/05_moist_air.md")
    ['tutor/04_moist_air.md']
    """
    folder, slash, last = name.rpartition("/")
    stem, dot, suffix = last.partition(".")
    return [f"{folder}{slash}{former}{dot}{suffix}" for former, present in PAGES.items() if present == stem]

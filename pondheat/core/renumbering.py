"""What was renumbered when pages of the workbook changed places, so that a learner's copy and answers can follow."""

from __future__ import annotations

from typing import TypeVar

_Value = TypeVar("_Value")

PAGES = {  # every former name of a page -> its present one
    "04_moist_air": "05_moist_air",
    "05_open_surface": "04_open_surface",
}
# For each renumbering, the first first: a question's, a reason's or a guess's key before it -> its key after it.
KEYS: tuple[dict[str, str], ...] = (
    {
        "4.1": "5.1",
        "4.2": "5.2",
        "5.1": "4.1",
        "5.2": "4.2",
        "5.3": "4.3",
        "why-05-a": "why-04-a",
        "why-05-b": "why-04-b",
        "predict-04_moist_air": "predict-05_moist_air",
        "predict-05_open_surface": "predict-04_open_surface",
    },
)
NUMBERING = 1 + len(KEYS)  # saved with a learner's progress, whose keys go through each renumbering only once


def present_keys(by_key: dict[str, _Value], numbering: int) -> dict[str, _Value]:
    """A dictionary with the present keys in place of those of an earlier `NUMBERING`.

    >>> present_keys({"4.1": "right", "5.1": "not yet", "7.2": "right"}, 1)
    {'5.1': 'right', '4.1': 'not yet', '7.2': 'right'}
    """
    for renumbered in KEYS[max(numbering, 1) - 1 :]:
        by_key = {renumbered.get(key, key): value for key, value in by_key.items()}
    return by_key


def former_files(name: str) -> list[str]:
    """Former paths of a file of the workbook, by its present one: a page, or the tutor's notes on it.

    >>> former_files("tutor/05_moist_air.md")
    ['tutor/04_moist_air.md']
    """
    folder, slash, last = name.rpartition("/")
    stem, dot, suffix = last.partition(".")
    return [f"{folder}{slash}{former}{dot}{suffix}" for former, present in PAGES.items() if present == stem]

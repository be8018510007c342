"""Every refusal of a reader says where, what it saw and what to do; doing that gets the file read."""

from __future__ import annotations

import ast
import traceback
from functools import cache
from pathlib import Path

import meter_rows
import pytest
from refused import ZONE, Refused

import pondheat
from pondheat.meter.reading import meter_file, thermometer_file

PACKAGE = Path(pondheat.__file__).parent
ROOMS = ("core/tables", "meter/reading")
# Raised for other reasons than a reader's file, or by what no file here can do.
NO_ROW = {
    "unpacks to more than": "more than a test should unpack",
    "_TOO_LARGE": "more than a test should unpack",
    "the package openpyxl": "the package is there",
}


def read(one: Refused, content, given):
    content = content.encode() if isinstance(content, str) else content
    return meter_file.read(content, ZONE, **given)


def read_water(one: Refused, content, given):
    return thermometer_file.read(content.encode(), ZONE, **given)


CASES = [(read, one) for one in meter_rows.ROWS] + [(read_water, one) for one in meter_rows.THERMOMETER_ROWS]
cases = pytest.mark.parametrize("number", range(len(CASES)), ids=[one.what for _, one in CASES])


@cache
def refusal(number: int) -> Exception | None:
    """What a row's file is refused with; None where it is read."""
    reader, one = CASES[number]
    try:
        reader(one, one.content, one.given)
    except ValueError as wrong:
        return wrong
    return None


@cases
def test_the_sentence_names_place_finding_and_cure(number):
    wrong, one = refusal(number), CASES[number][1]
    assert wrong is not None, "it is read"
    for part in one.says:
        assert part in str(wrong), str(wrong)


@cases
def test_following_the_sentence_reads_the_file(number):
    reader, one = CASES[number]
    assert reader(one, *one.as_told()) is not None


def raised_at(wrong: BaseException | None) -> set[tuple[str, int]]:
    """File and line of every frame that an exception, and those it replaced, came through."""
    found = set()
    while wrong is not None:
        found |= {(frame.f_code.co_filename, line) for frame, line in traceback.walk_tb(wrong.__traceback__)}
        wrong = wrong.__context__
    return found


def test_every_refusal_in_the_source_has_a_row():
    reached = set().union(*(raised_at(refusal(number)) for number in range(len(CASES))))
    missed = []
    for path in sorted(one for room in ROOMS for one in PACKAGE.glob(f"{room}/*.py")):
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.Raise) or node.exc is None or "Fault" not in (said := ast.unparse(node.exc)):
                continue
            if not any((str(path), line) in reached for line in range(node.lineno, node.end_lineno + 1)):
                if not any(part in said for part in NO_ROW):
                    missed.append(f"{path.name}:{node.lineno} {said[:120]}")
    assert not missed, "\n".join(missed)

"""Every refusal of a reader says where, what it saw and what to do; doing that gets the file read."""

from __future__ import annotations

import ast
import tempfile
import traceback
from functools import cache
from pathlib import Path

import meter_rows
import price_rows
import pytest
import weather_rows
import year_rows
from refused import ZONE, Refused
from usual_cases import all_in_one

import pondheat
from pondheat.core import toml_errors
from pondheat.core.units import GBP
from pondheat.meter.reading import meter_file, thermometer_file
from pondheat.money import price_file, tariffs
from pondheat.season.weather import answers, town_normals, towns, weather

PACKAGE = Path(pondheat.__file__).parent
READERS = (
    "core/tables/*.py",
    "meter/reading/*.py",
    "money/price_*.py",
    "money/tariffs.py",
    "money/windows.py",
    "season/weather/[abdnprw]*.py",
    "season/weather/formats.py",
    "season/weather/t*.py",
)
SENTENCES = ("money/tariffs.py", "money/windows.py")  # whose sentences are collected, so that all are told at once
COLLECTED = (*SENTENCES, "season/weather/normals.py")
REFUSALS = ("Unreadable", "units.Unreadable", "ReadingsFault", "WeatherError", "_wrong_scale", "_no_numbers", "Value")
# Raised for other reasons than a reader's file, or by what no file here can do.
NO_ROW = {
    "once unpacked": "tried with a smaller limit beside the other shapes",
    "_TOO_LARGE": "the same",
    "and openpyxl, the package": "the package is there",
    "comes with the package": "the package is there",
    "cannot be read: {error": "a file that the system won't give",
    "The prices run from": "of a season, not of a file",
    "The season ends": "of a season, not of a file",
    "has not been fetched": "of a town whose weather isn't kept: tests/season/weather/test_fetching.py",
}


def read(one: Refused, content, given):
    content = content.encode() if isinstance(content, str) else content
    return meter_file.read(content, ZONE, **given)


def read_water(one: Refused, content, given):
    return thermometer_file.read(content.encode(), ZONE, **given)


def read_weather(one: Refused, content, given):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv" if "\n" in str(content) or isinstance(content, bytes) else content
        if path != content:
            path.write_bytes(content.encode() if isinstance(content, str) else content)
        options = {"year": 2025} | given
        with answers.given(options.pop("answers", answers.Answers())):
            return weather.read(path, timezone=ZONE, **options)


def read_prices(one: Refused, content, given):
    with tempfile.TemporaryDirectory() as folder:
        path = content if isinstance(content, Path) else Path(folder) / "prices.csv"
        if path != content:
            path.write_bytes(content.encode() if isinstance(content, str) else content)
        return price_file.read(path, GBP, **given)


def read_tariff(one: Refused, content, given):
    found, faults = tariffs.from_table(toml_errors.loads(content), GBP)
    if faults:  # the errors themselves are told as sentences, with the key each is of
        raise ValueError("; ".join(f"{where}: {said}" for where, said in faults))
    return found


def read_tariff_file(one: Refused, content, given):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "night.toml"
        (Path(folder) / "prices.csv").write_text(price_rows.GOOD, encoding="utf-8")
        if content is not None:
            path.write_bytes(content.encode() if isinstance(content, str) else content)
        found, faults = tariffs.read(path, GBP)
    if faults:
        raise ValueError("; ".join(f"{where}: {said}" for where, said in faults))
    return found


def find_town(one: Refused, content, given):
    return towns.find(content)


def normals_of_town(one: Refused, content, given):
    return town_normals.normals_for_town(content)


CASES = [
    *((read, one) for one in meter_rows.ROWS),
    *((read_water, one) for one in meter_rows.THERMOMETER_ROWS),
    *((read_weather, one) for one in weather_rows.ROWS),
    *((read_prices, one) for one in price_rows.ROWS),
    *((read_tariff, one) for one in price_rows.TARIFF_ROWS),
    *((read_tariff_file, one) for one in price_rows.TARIFF_FILE_ROWS),
    *((read_weather, one) for one in year_rows.ROWS),
    *((find_town, one) for one in year_rows.TOWN_ROWS),
    *((normals_of_town, one) for one in year_rows.TOWN_NORMALS_ROWS),
]
cases = all_in_one(range(len(CASES)))


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
    assert wrong is not None, f"{one.what}: it is read"
    for part in one.says:
        assert part in str(wrong), f"{one.what}: {wrong}"


READ = {}  # what many rows are told to write instead is the same file, read once with the same options


@cases
def test_following_the_sentence_reads_the_file(number):
    reader, one = CASES[number]
    content, given = one.as_told()
    key = reader, repr((content, given))
    if key not in READ:
        READ[key] = reader(one, content, given) is not None
    assert READ[key], one.what


def raised_at(wrong: BaseException | None) -> set[tuple[str, int]]:
    """File and line of every frame that an exception, and those it replaced, came through."""
    found = set()
    while wrong is not None:
        found |= {(frame.f_code.co_filename, line) for frame, line in traceback.walk_tb(wrong.__traceback__)}
        wrong = wrong.__context__
    return found


def all_said() -> str:
    """What every row is refused with, as one text."""
    return "\n".join(str(refusal(number)) for number in range(len(CASES)))


def fixed_part(node: ast.AST) -> str:
    """The longest piece of text in an expression that is the same in every message."""
    return max(
        (one.value for one in ast.walk(node) if isinstance(one, ast.Constant) and type(one.value) is str), key=len
    )


def test_every_refusal_in_the_source_has_a_row():
    """By the line that raised it; a sentence that a reader collects with others, by its words."""
    reached = set().union(*(raised_at(refusal(number)) for number in range(len(CASES))))
    missed = []
    for path in sorted(one for pattern in READERS for one in PACKAGE.glob(pattern)):
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            said = ast.unparse(node.exc) if isinstance(node, ast.Raise) and node.exc else ""
            if not said.startswith(REFUSALS):
                continue
            hit = any((str(path), line) in reached for line in range(node.lineno, node.end_lineno + 1))
            hit = hit or path.relative_to(PACKAGE).as_posix() in COLLECTED and fixed_part(node.exc) in all_said()
            if not hit and not any(part in said for part in NO_ROW):
                missed.append(f"{path.name}:{node.lineno} {said[:120]}")
    assert not missed, "\n".join(missed)


@pytest.mark.parametrize("module", SENTENCES)
def test_every_collected_sentence_has_a_row(module):
    """Every text of five words or more that is no docstring."""
    tree = ast.parse((PACKAGE / module).read_text(encoding="utf-8"))
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    sentences = []
    for node in ast.walk(tree):
        words = node.values if isinstance(node, ast.JoinedStr) else [node]
        words = [one.value for one in words if isinstance(one, ast.Constant) and type(one.value) is str]
        if id(node) not in told | parts and len(" ".join(words).split()) >= 5:
            sentences.append((node.lineno, fixed_part(node)))
    assert len(sentences) > 5
    missed = [f"{module}:{line} {part}" for line, part in sentences if part not in all_said()]
    assert not missed, "\n".join(missed)

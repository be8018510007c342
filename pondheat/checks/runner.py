"""Evaluate check files: compare printed values, row by row, with what the library computes.

A row names a public function by its dotted name, its arguments with units, and a printed value with unit, tolerance and
source. Units are converted both ways, so a reader can check any printed value without writing code.
"""

from __future__ import annotations

import csv
import difflib
import glob
import importlib
import inspect
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from pondheat.core import nomenclature, ranges, units
from pondheat.core.files import NotRead, read_input_text
from pondheat.core.number_format import counted

COLUMNS = ("id", "quantity", "inputs", "value", "unit", "tolerance", "source", "kind", "note")
KINDS = ("published", "library", "derived", "practice", "memory")


class CheckError(ValueError):
    """A check row or file cannot be read; the message says where and why."""


@dataclass(frozen=True)
class CheckResult:
    """Result of one evaluated row: the library's value in the row's unit and the printed value.

    quantity: today's name; printed_text: the printed value with all its digits, as in the row; allowed: tolerance in
    the row's unit; place: file and line; former_name: the quantity as the row names it, where it has been renamed.
    """

    id: str
    quantity: str
    inputs: str
    printed: float
    ours: float
    unit: str
    tolerance: str
    allowed: float
    source: str
    kind: str
    note: str
    place: str
    printed_text: str = ""
    former_name: str = ""

    @property
    def difference(self) -> float:
        """The library's value minus the printed one, in the row's unit."""
        return 0.0 if self.ours == self.printed else self.ours - self.printed

    @property
    def holds(self) -> bool:
        """Whether the difference is within the tolerance, give or take 1e-9 of it for floating-point rounding."""
        return abs(self.difference) <= self.allowed * (1 + 1e-9)

    @property
    def share_of_tolerance(self) -> float:
        """The difference as a share of the tolerance; above 1 the row fails."""
        return abs(self.difference) / self.allowed if self.allowed else (0.0 if self.holds else math.inf)

    @property
    def relative(self) -> float:
        """The difference as a share of the printed value [–]; infinite where only the printed value is 0."""
        return 0.0 if not self.difference else abs(self.difference / self.printed) if self.printed else math.inf


def find_files(paths) -> tuple[list[Path], list[str]]:
    """Check files found under files, folders and glob patterns, and an error for each that matches nothing."""
    found: dict[Path, Path] = {}
    errors = []
    for given in paths:
        places = [Path(given)] if Path(given).exists() else [Path(p) for p in glob.glob(str(given), recursive=True)]
        if not places:
            errors.append(f"{given}: no such file or folder.")
        for here in sorted(places):
            files = [here] if here.is_file() else [p for p in here.rglob("*") if p.suffix.lower() == ".csv"]
            inside = sorted(p for p in files if p.is_file())
            if not inside:
                errors.append(f"{here}: no .csv file in this folder.")
            for path in inside:
                found.setdefault(path.resolve(), path)  # two patterns may match one file
    return list(found.values()), errors


def _nearest(written: str, known) -> str:
    near = difflib.get_close_matches(written, known, 1, 0.5)
    return f" Did you mean {near[0]}?" if near else ""


def function_of(quantity: str):
    """The public function of a row's `quantity`, by its current or a former name.

    Raises `CheckError` naming the nearest known quantity.
    """
    quantity = nomenclature.current_name(quantity)
    if quantity not in nomenclature.RETURNS:
        hint = _nearest(quantity, nomenclature.RETURNS)
        raise CheckError(f"“{quantity}” is not a quantity of this library.{hint}")
    module, name = quantity.rsplit(".", 1)
    return getattr(importlib.import_module(f"pondheat.{module}"), name)


_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"


def _argument(name: str, text: str):
    unit = nomenclature.PARAMETERS[name][0]
    if unit is None:
        return text
    match = re.fullmatch(rf"({_NUMBER}(?:\s*\|\s*{_NUMBER})*)\s*([^\d\s|].*)?", text)
    if not match:
        raise CheckError(f"{name}={text} is not written as a number and a unit, such as 1 {unit}.")
    numbers = [float(part) for part in match[1].split("|")]
    written = (match[2] or "").strip()
    if not written and unit != "dimensionless":
        raise CheckError(f"{name}={text} has no unit; one such as {unit} is needed.")
    try:
        numbers = units.convert(numbers, written or "dimensionless", unit)
    except units.Unreadable as error:
        raise CheckError(f"{name}={text}: {error}") from None
    if name in nomenclature.LISTS:
        return numbers
    if len(numbers) > 1:
        raise CheckError(f"{name} takes one value, {len(numbers)} given.")
    return numbers[0]


def arguments_of(function: Callable, inputs: str) -> dict:
    """A row's `inputs` as keyword arguments in the library's own units. Raises `CheckError`."""
    known = inspect.signature(function).parameters
    given = {}
    for part in inputs.split(";"):
        if not part.strip():
            continue
        name, equals, text = (piece.strip() for piece in part.partition("="))
        if not equals or not text:
            raise CheckError(f"“{part.strip()}” is not written as name=value.")
        if name not in known or name not in nomenclature.PARAMETERS:
            raise CheckError(f"{function.__name__} has no argument “{name}”.{_nearest(name, known)}")
        if name in given:
            raise CheckError(f"{name} is given twice.")
        given[name] = _argument(name, text)
    missing = [n for n, p in known.items() if p.default is p.empty and n not in given]
    if missing:
        raise CheckError(f"{', '.join(missing)} not given.")
    return given


def _allowed(tolerance: str, printed: float) -> float:
    match = re.fullmatch(rf"\s*(?:rel\s+(?!-)({_NUMBER})\s*%|abs\s+(?!-)({_NUMBER}))\s*", tolerance)
    if not match:
        raise CheckError(f"tolerance “{tolerance}” is not written as “rel 1%” or “abs 0.5”.")
    size = float(match[1] or match[2])
    if not math.isfinite(size):
        raise CheckError(f"tolerance “{tolerance}” is not finite.")
    return abs(printed) * size / 100 if match[1] else size


def evaluate(row: dict, place: str = "") -> CheckResult:
    """Result of one row (a dict of COLUMNS). Raises `CheckError` with the reason where it cannot be evaluated."""
    empty = [c for c in COLUMNS[:8] if not (row.get(c) or "").strip()]
    if empty:
        raise CheckError(f"{', '.join(empty)} left empty.")
    text = {c: (row.get(c) or "").strip() for c in COLUMNS}
    if text["kind"] not in KINDS:
        raise CheckError(f"kind “{text['kind']}” is not one of {', '.join(KINDS)}.")
    try:
        printed = float(text["value"])
    except ValueError:
        raise CheckError(f"value “{text['value']}” is not a number.") from None
    if not math.isfinite(printed):
        raise CheckError(f"value “{text['value']}” is not a finite number.")
    quantity = nomenclature.current_name(text["quantity"])
    function = function_of(quantity)
    given = arguments_of(function, text["inputs"])
    try:
        ranges.require(**{n: v for n, v in given.items() if n in ranges.RANGES})
        value = float(function(**given))
    except (ValueError, ArithmeticError) as error:
        raise CheckError(str(error)) from None
    try:
        ours = units.convert(value, nomenclature.RETURNS[quantity], text["unit"])
    except units.Unreadable as error:
        raise CheckError(f"unit {text['unit']}: {error}") from None
    return CheckResult(
        text["id"],
        quantity,
        text["inputs"],
        printed,
        ours,
        text["unit"],
        text["tolerance"],
        _allowed(text["tolerance"], printed),
        text["source"],
        text["kind"],
        text["note"],
        place,
        text["value"],
        text["quantity"] if quantity != text["quantity"] else "",
    )


def _cells(line: str) -> list[str]:
    """Cells of one line. Lines are parsed one by one, so that an unclosed quotation mark affects its own row only."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], strict=True))]
    except csv.Error:
        raise CheckError("a quotation mark is left open or is inside a cell; inside a cell, write it twice.") from None


def _text(path: Path) -> str:
    try:
        return read_input_text(path)
    except NotRead as wrong:
        raise CheckError(str(wrong)) from None
    except (OSError, UnicodeDecodeError) as error:
        raise CheckError(f"{path}: cannot be read as UTF-8 text ({type(error).__name__}).") from None


def split_rows(text: str, path: Path | str) -> tuple[list[str], list[tuple[int, str]]]:
    """Header cells and numbered lines of a check file. Raises `CheckError` with file and line."""
    lines = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", text), 1) if line.strip()]
    if not lines:
        raise CheckError(f"{path}: the file is empty.")
    number, first = lines[0]
    header = _cells(first)
    missing = [c for c in COLUMNS[:8] if c not in header]
    if missing:
        raise CheckError(f"{path}:{number}: the header lacks {', '.join(missing)}; it must be {','.join(COLUMNS)}.")
    return header, lines[1:]


def run(paths, quantity: str = "") -> tuple[list[CheckResult], list[str]]:
    """Results of all rows under `paths` (files, folders, patterns), and an error for each row that cannot be read.

    quantity: only rows whose quantity begins so.
    """
    files, errors = find_files(paths)
    results: list[CheckResult] = []
    for path in files:
        try:
            text = _text(path)
        except CheckError as error:
            errors.append(str(error))
            continue
        made, wrong = run_text(text, path, {o.id: o.place for o in results}, quantity=quantity)
        results += made
        errors += wrong
    return results, errors


def run_text(
    text: str,
    path: Path | str,
    taken: dict[str, str] | None = None,
    progress: Callable[[float], None] | None = None,
    quantity: str = "",
) -> tuple[list[CheckResult], list[str]]:
    """Results of all rows of one check file's text, and an error for each row that cannot be read.

    path: name of the file in error messages; taken: ids of earlier rows with their places; progress: called with the
    share done, 0–1; quantity: only rows whose quantity begins so.
    """
    results: list[CheckResult] = []
    errors: list[str] = []
    seen = dict(taken or {})
    try:
        header, lines = split_rows(text, path)
    except CheckError as error:
        return [], [str(error)]
    for done, (number, line) in enumerate(lines):
        if progress is not None:
            progress(done / len(lines))
        place, named = f"{path}:{number}", "row without id"
        try:
            cells = _cells(line)
            row = dict(zip(header, cells))
            named = row.get("id") or named
            if len(cells) > len(header):
                raise CheckError("more cells than the header names; put text with commas in quotation marks.")
            if not nomenclature.current_name(row.get("quantity", "")).startswith(quantity):
                continue
            result = evaluate(row, place)
            if result.id in seen:
                raise CheckError(f"this id is already used at {seen[result.id]}.")
            seen[result.id] = place
            results.append(result)
        except CheckError as error:
            errors.append(f"{place}: {named}: {error}")
    return results, errors


def rename_notes(results: Iterable[CheckResult]) -> list[str]:
    """One sentence for each former name of a quantity that these rows use."""
    return [nomenclature.rename_note(name) for name in dict.fromkeys(one.former_name for one in results) if name]


def report(results: list[CheckResult], errors: list[str]) -> tuple[str, int]:
    """Text that `python -m pondheat check` prints, and its exit code.

    0: every row is within its tolerance; 1: some are not; 2: something could not be read. Notes on renamed quantities
    leave the exit code as it is.
    """
    short = [o for o in results if not o.holds]
    lines = []
    for o in sorted(short, key=lambda o: -o.share_of_tolerance):
        lines.append(f"{o.place}: {o.id} fails: {o.quantity}({o.inputs})")
        lines.append(
            f"    ours {o.ours:.6g} {o.unit}, printed {o.printed:.6g} ({o.source}), "
            f"difference {o.difference:+.3g}, tolerance {o.tolerance}"
        )
    lines += errors
    lines += rename_notes(results)
    lines.append(
        f"{counted(len(results), 'row', 'rows')} evaluated, {counted(len(short), 'fails', 'fail')}, "
        f"{len(errors)} could not be read."
    )
    return "\n".join(lines), 2 if errors else 1 if short else 0

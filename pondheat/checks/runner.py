"""The checking bench: every row of a check file evaluated against the library.

A row names a public function by its dotted name, its arguments with units, a printed value with unit, tolerance and
source. pint converts on the way in and on the way out, so any printed value a reader owns can be checked without code.
"""

from __future__ import annotations

import csv
import difflib
import glob
import importlib
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pondheat.core import nomenclature, ranges, units

COLUMNS = ("id", "quantity", "inputs", "value", "unit", "tolerance", "source", "kind", "note")
KINDS = ("published", "library", "derived", "practice", "memory")


class Refused(ValueError):
    """A row or file that cannot be read; the message says where and why."""


@dataclass(frozen=True)
class Outcome:
    """One evaluated row: the library's value in the row's unit beside the printed one.

    written: the printed value as the row has it, with all its digits; place: file and line.
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
    written: str = ""

    @property
    def difference(self) -> float:
        """Ours minus the printed value, in the row's unit."""
        return 0.0 if self.ours == self.printed else self.ours - self.printed

    @property
    def holds(self) -> bool:
        """Whether the difference lies within the tolerance (a rounding hair of 1e-9 of it allowed)."""
        return abs(self.difference) <= self.allowed * (1 + 1e-9)

    @property
    def share_of_tolerance(self) -> float:
        """How much of its tolerance the difference uses up; above 1 the row falls short."""
        return abs(self.difference) / self.allowed if self.allowed else (0.0 if self.holds else math.inf)

    @property
    def relative(self) -> float:
        """The difference as a share of the printed value [–]; infinite where that is 0 and ours is not."""
        return 0.0 if not self.difference else abs(self.difference / self.printed) if self.printed else math.inf


def find_files(paths) -> tuple[list[Path], list[str]]:
    """Check files behind files, folders and patterns, and a sentence for each that leads nowhere."""
    found: dict[Path, Path] = {}
    faults = []
    for given in paths:
        places = [Path(given)] if Path(given).exists() else [Path(p) for p in glob.glob(str(given), recursive=True)]
        if not places:
            faults.append(f"{given}: no such file or folder.")
        for here in sorted(places):
            files = [here] if here.is_file() else [p for p in here.rglob("*") if p.suffix.lower() == ".csv"]
            inside = sorted(p for p in files if p.is_file())
            if not inside:
                faults.append(f"{here}: no .csv file in this folder.")
            for path in inside:
                found.setdefault(path.resolve(), path)  # two patterns may lead to one file
    return list(found.values()), faults


def _nearest(written: str, known) -> str:
    near = difflib.get_close_matches(written, known, 1, 0.5)
    return f" Did you mean {near[0]}?" if near else ""


def function_of(quantity: str):
    """The public function behind a row's `quantity`; raises `Refused` naming the nearest known."""
    quantity = nomenclature.RENAMED.get(quantity, quantity)
    if quantity not in nomenclature.RETURNS:
        hint = _nearest(quantity, nomenclature.RETURNS)
        raise Refused(f"“{quantity}” is not a quantity of this library.{hint}")
    module, name = quantity.rsplit(".", 1)
    return getattr(importlib.import_module(f"pondheat.{module}"), name)


_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"


def _argument(name: str, text: str):
    unit = nomenclature.PARAMETERS[name][0]
    if unit is None:
        return text
    match = re.fullmatch(rf"({_NUMBER}(?:\s*\|\s*{_NUMBER})*)\s*([^\d\s|].*)?", text)
    if not match:
        raise Refused(f"{name}={text} is not written as a number and a unit.")
    numbers = [float(part) for part in match[1].split("|")]
    written = (match[2] or "").strip()
    if not written and unit != "dimensionless":
        raise Refused(f"{name}={text} has no unit; one like {unit} is wanted.")
    try:
        numbers = units.convert(numbers, written or "dimensionless", unit)
    except units.Unreadable as fault:
        raise Refused(f"{name}={text}: {fault}") from None
    if name in nomenclature.LISTS:
        return numbers
    if len(numbers) > 1:
        raise Refused(f"{name} takes one value, {len(numbers)} given.")
    return numbers[0]


def arguments_of(function, inputs: str) -> dict:
    """A row's `inputs` as keyword arguments in the library's own units; raises `Refused`."""
    import inspect

    known = inspect.signature(function).parameters
    given = {}
    for part in inputs.split(";"):
        if not part.strip():
            continue
        name, equals, text = (piece.strip() for piece in part.partition("="))
        if not equals or not text:
            raise Refused(f"“{part.strip()}” is not written as name=value.")
        if name not in known or name not in nomenclature.PARAMETERS:
            raise Refused(f"{function.__name__} has no argument “{name}”.{_nearest(name, known)}")
        if name in given:
            raise Refused(f"{name} is given twice.")
        given[name] = _argument(name, text)
    missing = [n for n, p in known.items() if p.default is p.empty and n not in given]
    if missing:
        raise Refused(f"{', '.join(missing)} not given.")
    return given


def _allowed(tolerance: str, printed: float) -> float:
    match = re.fullmatch(rf"\s*(?:rel\s+(?!-)({_NUMBER})\s*%|abs\s+(?!-)({_NUMBER}))\s*", tolerance)
    if not match:
        raise Refused(f"tolerance “{tolerance}” is not written as “rel 1%” or “abs 0.5”.")
    size = float(match[1] or match[2])
    if not math.isfinite(size):
        raise Refused(f"tolerance “{tolerance}” is not finite.")
    return abs(printed) * size / 100 if match[1] else size


def evaluate(row: dict, place: str = "") -> Outcome:
    """Evaluate one row (a dict of COLUMNS); raises `Refused` with the reason."""
    empty = [c for c in COLUMNS[:8] if not (row.get(c) or "").strip()]
    if empty:
        raise Refused(f"{', '.join(empty)} left empty.")
    text = {c: (row.get(c) or "").strip() for c in COLUMNS}
    if text["kind"] not in KINDS:
        raise Refused(f"kind “{text['kind']}” is none of {', '.join(KINDS)}.")
    try:
        printed = float(text["value"])
    except ValueError:
        raise Refused(f"value “{text['value']}” is not a number.") from None
    if not math.isfinite(printed):
        raise Refused(f"value “{text['value']}” is not a finite number.")
    function = function_of(text["quantity"])
    given = arguments_of(function, text["inputs"])
    try:
        ranges.require(**{n: v for n, v in given.items() if n in ranges.RANGES})
        result = float(function(**given))
    except (ValueError, ArithmeticError) as fault:
        raise Refused(str(fault)) from None
    try:
        ours = units.convert(result, nomenclature.RETURNS[nomenclature.RENAMED.get(text["quantity"], text["quantity"])], text["unit"])
    except units.Unreadable as fault:
        raise Refused(f"unit {text['unit']}: {fault}") from None
    return Outcome(
        text["id"],
        text["quantity"],
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
    )


def _cells(line: str) -> list[str]:
    """The cells of one line. Lines are read one by one: a quotation mark left open spoils its own row only."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], strict=True))]
    except csv.Error:
        raise Refused("a quotation mark is left open or stands inside a cell; write one inside a cell twice.") from None


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise Refused(f"{path}: cannot be read as UTF-8 text ({type(fault).__name__}).") from None


def rows_of(text: str, path: Path | str) -> tuple[list[str], list[tuple[int, str]]]:
    """The header's cells and the numbered lines under it; raises `Refused` with file and line."""
    lines = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", text), 1) if line.strip()]
    if not lines:
        raise Refused(f"{path}: the file is empty.")
    number, first = lines[0]
    header = _cells(first)
    missing = [c for c in COLUMNS[:8] if c not in header]
    if missing:
        raise Refused(f"{path}:{number}: the header lacks {', '.join(missing)}; it must be {','.join(COLUMNS)}.")
    return header, lines[1:]


def run(paths) -> tuple[list[Outcome], list[str]]:
    """Every row behind `paths` (files, folders, patterns): (outcomes, sentences on what could not be read)."""
    files, faults = find_files(paths)
    outcomes: list[Outcome] = []
    for path in files:
        try:
            text = _text(path)
        except Refused as fault:
            faults.append(str(fault))
            continue
        made, wrong = run_text(text, path, {o.id: o.place for o in outcomes})
        outcomes += made
        faults += wrong
    return outcomes, faults


def run_text(
    text: str, path: Path | str, taken: dict[str, str] | None = None, progress: Callable[[float], None] | None = None
) -> tuple[list[Outcome], list[str]]:
    """Every row of one check file's text, as `run`.

    path: how the file is called in faults; taken: ids of earlier rows, each with its place; progress: called with the
    share done, 0–1.
    """
    outcomes: list[Outcome] = []
    faults: list[str] = []
    seen = dict(taken or {})
    try:
        header, lines = rows_of(text, path)
    except Refused as fault:
        return [], [str(fault)]
    for done, (number, line) in enumerate(lines):
        if progress is not None:
            progress(done / len(lines))
        place, named = f"{path}:{number}", "row without id"
        try:
            cells = _cells(line)
            row = dict(zip(header, cells))
            named = row.get("id") or named
            if len(cells) > len(header):
                raise Refused("more cells than the header names; put text with commas in quotation marks.")
            outcome = evaluate(row, place)
            if outcome.id in seen:
                raise Refused(f"this id stands already at {seen[outcome.id]}.")
            seen[outcome.id] = place
            outcomes.append(outcome)
        except Refused as fault:
            faults.append(f"{place}: {named}: {fault}")
    return outcomes, faults


def report(outcomes: list[Outcome], faults: list[str]) -> tuple[str, int]:
    """What `python -m pondheat check` prints, and its exit code: 0 all hold, 1 some fall short, 2 something unread."""
    short = [o for o in outcomes if not o.holds]
    lines = []
    for o in sorted(short, key=lambda o: -o.share_of_tolerance):
        lines.append(f"{o.place}: {o.id} falls short: {o.quantity}({o.inputs})")
        lines.append(
            f"    ours {o.ours:.6g} {o.unit}, printed {o.printed:.6g} ({o.source}), "
            f"difference {o.difference:+.3g}, tolerance {o.tolerance}"
        )
    lines += faults
    lines.append(f"{len(outcomes)} rows evaluated, {len(short)} fall short, {len(faults)} could not be read.")
    return "\n".join(lines), 2 if faults else 1 if short else 0

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
from dataclasses import dataclass
from pathlib import Path

from pondheat import nomenclature, ranges, units

COLUMNS = ("id", "quantity", "inputs", "value", "unit", "tolerance", "source", "kind", "note")
KINDS = ("published", "library", "derived", "practice", "memory")


class Refused(ValueError):
    """A row or file that cannot be read; the message says where and why."""


@dataclass(frozen=True)
class Outcome:
    """One evaluated row: the library's value in the row's unit beside the printed one."""

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


def find_files(paths) -> tuple[list[Path], list[str]]:
    """Check files behind files, folders and patterns, and a sentence for each that leads nowhere."""
    found: list[Path] = []
    faults = []
    for given in paths:
        here = Path(given)
        if here.is_dir():
            inside = sorted(p for p in here.rglob("*.csv"))
            if not inside:
                faults.append(f"{given}: no .csv file in this folder.")
        elif here.is_file():
            inside = [here]
        else:
            inside = sorted(Path(p) for p in glob.glob(str(given), recursive=True) if Path(p).is_file())
            if not inside:
                faults.append(f"{given}: no such file or folder.")
        found += [p for p in inside if p not in found]
    return found, faults


def function_of(quantity: str):
    """The public function behind a row's `quantity`; raises `Refused` naming the nearest known."""
    if quantity not in nomenclature.RETURNS:
        near = difflib.get_close_matches(quantity, nomenclature.RETURNS, 1, 0.5)
        raise Refused(f"“{quantity}” is not a quantity of this library." + (f" Did you mean {near[0]}?" if near else ""))
    module, name = quantity.rsplit(".", 1)
    return getattr(importlib.import_module(f"pondheat.{module}"), name)


def _argument(name: str, text: str):
    unit = nomenclature.PARAMETERS[name][0]
    if unit is None:
        return text
    match = re.fullmatch(r"([-+\d.eE|\s]+?)(?:\s+([A-Za-z%µ].*))?", text)
    if not match or not match[1].strip():
        raise Refused(f"{name}={text} holds no number.")
    try:
        numbers = [float(part) for part in match[1].split("|")]
    except ValueError:
        raise Refused(f"{name}={text} holds no number.") from None
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
            near = difflib.get_close_matches(name, known, 1, 0.5)
            raise Refused(f"{function.__name__} has no argument “{name}”." + (f" Did you mean {near[0]}?" if near else ""))
        if name in given:
            raise Refused(f"{name} is given twice.")
        given[name] = _argument(name, text)
    missing = [n for n, p in known.items() if p.default is p.empty and n not in given]
    if missing:
        raise Refused(f"{', '.join(missing)} not given.")
    return given


def _allowed(tolerance: str, printed: float) -> float:
    match = re.fullmatch(r"\s*(?:rel\s+([\d.eE+-]+)\s*%|abs\s+([\d.eE+-]+))\s*", tolerance)
    if not match:
        raise Refused(f"tolerance “{tolerance}” is not written as “rel 1%” or “abs 0.5”.")
    try:
        size = float(match[1] or match[2])
    except ValueError:
        raise Refused(f"tolerance “{tolerance}” holds no number.") from None
    if size < 0:
        raise Refused("a tolerance is not negative.")
    return abs(printed) * size / 100 if match[1] else size


def evaluate(row: dict, place: str = "") -> Outcome:
    """Evaluate one row (a dict of COLUMNS); raises `Refused` with the reason."""
    empty = [c for c in COLUMNS[:8] if not (row.get(c) or "").strip()]
    if empty:
        raise Refused(f"{', '.join(empty)} left empty.")
    if None in row:
        raise Refused("more cells than the header names; put text with commas in quotation marks.")
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
    except ValueError as fault:
        raise Refused(str(fault)) from None
    try:
        ours = units.convert(result, nomenclature.RETURNS[text["quantity"]], text["unit"])
    except units.Unreadable as fault:
        raise Refused(f"unit {text['unit']}: {fault}") from None
    return Outcome(text["id"], text["quantity"], text["inputs"], printed, ours, text["unit"], text["tolerance"],
                   _allowed(text["tolerance"], printed), text["source"], text["kind"], text["note"], place)


def run(paths) -> tuple[list[Outcome], list[str]]:
    """Every row behind `paths` (files, folders, patterns): (outcomes, sentences on what could not be read)."""
    files, faults = find_files(paths)
    outcomes: list[Outcome] = []
    seen: dict[str, str] = {}
    for path in files:
        try:
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as fault:
            faults.append(f"{path}: cannot be read as UTF-8 text ({type(fault).__name__}).")
            continue
        reader = csv.DictReader(text.splitlines())
        missing = [c for c in COLUMNS[:8] if c not in (reader.fieldnames or [])]
        if missing:
            faults.append(f"{path}:1: the header lacks {', '.join(missing)}; it must be {','.join(COLUMNS)}.")
            continue
        try:
            for row in reader:
                place = f"{path}:{reader.line_num}"
                try:
                    outcome = evaluate(row, place)
                    if outcome.id in seen:
                        raise Refused(f"id {outcome.id} stands already at {seen[outcome.id]}.")
                    seen[outcome.id] = place
                    outcomes.append(outcome)
                except Refused as fault:
                    faults.append(f"{place}: {row.get('id') or 'row without id'}: {fault}")
        except csv.Error as fault:
            faults.append(f"{path}:{reader.line_num}: {fault}.")
    return outcomes, faults


def report(outcomes: list[Outcome], faults: list[str]) -> tuple[str, int]:
    """What `python -m pondheat check` prints, and its exit code: 0 all hold, 1 some fall short, 2 something unread."""
    short = [o for o in outcomes if not o.holds]
    lines = []
    for o in sorted(short, key=lambda o: -o.share_of_tolerance):
        lines.append(f"{o.place}: {o.id} falls short: {o.quantity}({o.inputs})")
        lines.append(f"    ours {o.ours:.6g} {o.unit}, printed {o.printed:.6g} ({o.source}), "
                     f"difference {o.difference:+.3g}, tolerance {o.tolerance}")
    lines += faults
    lines.append(f"{len(outcomes)} rows evaluated, {len(short)} fall short, {len(faults)} could not be read.")
    return "\n".join(lines), 2 if faults else 1 if short else 0

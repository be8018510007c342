"""Check rows typed by a reader: find the quantity, make the row, add it to the reader's own check file."""

from __future__ import annotations

import csv
import difflib
import inspect
import io
import re

from pondheat.checks import runner
from pondheat.checks.explain import half_digit, quantity_label
from pondheat.checks.runner import COLUMNS, CheckError, CheckResult
from pondheat.core import nomenclature, units

NAME = "my_checks.csv"
FIELDS = ("quantity", "inputs", "value", "unit", "tolerance", "source", "kind")
NEEDED = ("quantity", "inputs", "value", "source")
_ID = "MY-"
_SAME = ("quantity", "inputs", "printed_text", "unit", "source")  # rows that agree in these are duplicates


def find_quantity(typed: str) -> str:
    """Dotted name of a quantity from its dotted name, a former name or its label.

    Raises `CheckError` naming the nearest known quantities.

    >>> find_quantity("wet bulb"), find_quantity("heat.moist_air.dew_point")
    ('heat.moist_air.wet_bulb', 'heat.moist_air.dew_point')
    """
    if typed.strip() in nomenclature.RENAMED:
        return nomenclature.current_name(typed.strip())
    wanted = _plain(typed)
    if not wanted:
        raise CheckError("Name what is checked, such as wet bulb.")
    for called in (lambda name: name, quantity_label, lambda name: name.rsplit(".", 1)[1]):
        found = [name for name in nomenclature.RETURNS if _plain(called(name)) == wanted]
        if len(found) == 1:
            return found[0]
        if found:
            raise CheckError(f"“{typed}” may be {' or '.join(found)}. Which one?")
    by_words = {_plain(quantity_label(name)): name for name in nomenclature.RETURNS}
    holding = [name for words, name in by_words.items() if wanted in words]
    near = holding or [by_words[words] for words in difflib.get_close_matches(wanted, by_words, 3, 0.5)]
    said = f"“{typed[:60]}” isn't something we work out here."
    if not near:
        raise CheckError(f"{said} The list below has everything we do.")
    raise CheckError(f"{said} Did you mean {' or '.join(quantity_label(name) for name in near[:3])}?")


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^0-9a-z]+", " ", text.casefold()).split())


def inputs_needed(quantity: str) -> str:
    """A sentence with a quantity's inputs and its unit, in the form in which a row is typed."""
    taken = inspect.signature(runner.function_of(quantity)).parameters
    parts = [f"{name}{_example(name)}" for name, one in taken.items() if one.default is one.empty]
    parts += [f"{name}{_example(name)} if you like" for name, one in taken.items() if one.default is not one.empty]
    unit = nomenclature.RETURNS[quantity]
    answer = units.pretty(unit) or "a plain number"
    return f"{quantity_label(quantity)}. Its inputs: {'; '.join(parts)}. The result is in {answer}."


def describe_quantity(typed: str) -> str:
    """Inputs and unit of the quantity that was typed, with a note where its name is a former one.

    Raises `CheckError` naming the nearest known quantities.
    """
    return f"{nomenclature.rename_note(typed.strip())} {inputs_needed(find_quantity(typed))}".strip()


def _example(parameter: str) -> str:
    unit, meaning = nomenclature.PARAMETERS[parameter]
    if unit is None:
        return f"=… ({meaning})"
    return "=…" if unit == "dimensionless" else f"=… {unit}"


def make_row(typed: dict[str, str], name: str = "yours") -> dict[str, str]:
    """Check row from what was typed into FIELDS.

    Defaults: the library's own unit, a tolerance of half the last printed digit, and the kind “published”. Raises
    `CheckError` naming what is missing, or for an unknown quantity.
    """
    row = {field: "".join(filter(str.isprintable, " ".join(typed.get(field, "").split()))) for field in FIELDS}
    missing = [field for field in NEEDED if not row[field]]
    if missing:
        raise CheckError(f"Still to be typed: {', '.join(missing)}.")
    row["quantity"] = find_quantity(row["quantity"])
    row["unit"] = row["unit"] or nomenclature.RETURNS[row["quantity"]]
    row["kind"] = row["kind"] or "published"
    if not row["tolerance"]:
        try:
            row["tolerance"] = f"abs {half_digit(row['value']):g}"
        except ArithmeticError:
            raise CheckError(f"value “{row['value'][:40]}” is not a number.") from None
    return {"id": name, **row, "note": ""}


def add_row(before: bytes | None, typed: dict[str, str], name: str = NAME) -> tuple[bytes, CheckResult]:
    """Content of a check file with one row added, and the result of that row.

    before: the file's content, which is kept byte for byte, or None where there is no file yet. Raises `CheckError`
    where the row cannot be read or is in the file already, or where the content is not a check file.
    """
    if before is None:
        before = (",".join(COLUMNS) + "\n").encode()
    try:
        text = before.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CheckError(f"{name} cannot be read as UTF-8 text; nothing was added.") from None
    header, lines = runner.split_rows(text, name)
    numbers = [int(number) for number in re.findall(rf"\b{_ID}(\d{{1,9}})\b", text)]
    row = make_row(typed, f"{_ID}{max(numbers, default=0) + 1}")
    made = runner.evaluate(row, f"{name}:{lines[-1][0] + 1 if lines else 2}")
    for kept in runner.run_text(text, name)[0]:
        if all(getattr(kept, part) == getattr(made, part) for part in _SAME):
            raise CheckError(f"This row is in {name} already, as {kept.id}.")
    line, end = io.StringIO(), "\r\n" if "\r\n" in text else "\n"
    csv.writer(line, lineterminator=end).writerow([row.get(column, "") for column in header])
    between = b"" if before.endswith((b"\n", b"\r")) else end.encode()
    return before + between + line.getvalue().encode("utf-8"), made

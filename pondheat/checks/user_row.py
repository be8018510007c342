"""A check row of a reader's own: its quantity found by words, the row made of what was typed, the file it goes into."""

from __future__ import annotations

import csv
import difflib
import inspect
import io
import re

from pondheat.checks import runner
from pondheat.checks.explain import half_digit, in_words
from pondheat.checks.runner import COLUMNS, Outcome, Refused
from pondheat.core import nomenclature, units

NAME = "my_checks.csv"
FIELDS = ("quantity", "inputs", "value", "unit", "tolerance", "source", "kind")
NEEDED = ("quantity", "inputs", "value", "source")
_ID = "MY-"
_SAME = ("quantity", "inputs", "written", "unit", "source")  # a row that agrees in these stands there already


def find_quantity(typed: str) -> str:
    """The dotted name of a quantity from its dotted name or its words; raises `Refused` naming the nearest known.

    >>> find_quantity("wet bulb"), find_quantity("heat.moist_air.dew_point")
    ('heat.moist_air.wet_bulb', 'heat.moist_air.dew_point')
    """
    wanted = _plain(typed)
    if not wanted:
        raise Refused("Name what is checked, such as wet bulb.")
    for called in (lambda name: name, in_words, lambda name: name.rsplit(".", 1)[1]):
        found = [name for name in nomenclature.RETURNS if _plain(called(name)) == wanted]
        if len(found) == 1:
            return found[0]
        if found:
            raise Refused(f"“{typed}” may be {' or '.join(found)}. Which one?")
    by_words = {_plain(in_words(name)): name for name in nomenclature.RETURNS}
    holding = [name for words, name in by_words.items() if wanted in words]
    near = holding or [by_words[words] for words in difflib.get_close_matches(wanted, by_words, 3, 0.5)]
    said = f"“{typed[:60]}” is nothing that is reckoned here."
    if not near:
        raise Refused(f"{said} The list below has all that is.")
    raise Refused(f"{said} Did you mean {' or '.join(in_words(name) for name in near[:3])}?")


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^0-9a-z]+", " ", text.casefold()).split())


def wants(quantity: str) -> str:
    """What a quantity's inputs are and in which unit it answers, in words a row can be typed from."""
    taken = inspect.signature(runner.function_of(quantity)).parameters
    parts = [f"{name}{_example(name)}" for name, one in taken.items() if one.default is one.empty]
    parts += [f"{name}{_example(name)} if you like" for name, one in taken.items() if one.default is not one.empty]
    unit = nomenclature.RETURNS[quantity]
    return (
        f"{in_words(quantity)}. Its inputs: {'; '.join(parts)}. It answers in {units.pretty(unit) or 'a plain number'}."
    )


def _example(parameter: str) -> str:
    unit, meaning = nomenclature.PARAMETERS[parameter]
    if unit is None:
        return f"=… ({meaning})"
    return "=…" if unit == "dimensionless" else f"=… {unit}"


def row_of(typed: dict[str, str], name: str = "yours") -> dict[str, str]:
    """A check row from what was typed into FIELDS.

    An empty unit is the library's own, an empty tolerance half of the last printed digit, an empty kind “published”.
    Raises `Refused` naming what is missing, or for an unknown quantity.
    """
    row = {field: "".join(filter(str.isprintable, " ".join(typed.get(field, "").split()))) for field in FIELDS}
    missing = [field for field in NEEDED if not row[field]]
    if missing:
        raise Refused(f"Still to be typed: {', '.join(missing)}.")
    row["quantity"] = find_quantity(row["quantity"])
    row["unit"] = row["unit"] or nomenclature.RETURNS[row["quantity"]]
    row["kind"] = row["kind"] or "published"
    if not row["tolerance"]:
        try:
            row["tolerance"] = f"abs {half_digit(row['value']):g}"
        except ArithmeticError:
            raise Refused(f"value “{row['value'][:40]}” is not a number.") from None
    return {"id": name, **row, "note": ""}


def with_row(before: bytes | None, typed: dict[str, str], name: str = NAME) -> tuple[bytes, Outcome]:
    """A check file's content with one row more, and that row evaluated.

    before: the file as it is, None where there is none yet: what stands in it stays, byte for byte. Raises `Refused`
    where the row cannot be read or stands there already, or where the content is no check file.
    """
    if before is None:
        before = (",".join(COLUMNS) + "\n").encode()
    try:
        text = before.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(f"{name} cannot be read as UTF-8 text; nothing was added.") from None
    header, lines = runner.rows_of(text, name)
    numbers = [int(number) for number in re.findall(rf"\b{_ID}(\d{{1,9}})\b", text)]
    row = row_of(typed, f"{_ID}{max(numbers, default=0) + 1}")
    made = runner.evaluate(row, f"{name}:{lines[-1][0] + 1 if lines else 2}")
    for kept in runner.run_text(text, name)[0]:
        if all(getattr(kept, part) == getattr(made, part) for part in _SAME):
            raise Refused(f"This row stands in {name} already, as {kept.id}.")
    line, end = io.StringIO(), "\r\n" if "\r\n" in text else "\n"
    csv.writer(line, lineterminator=end).writerow([row.get(column, "") for column in header])
    between = b"" if before.endswith((b"\n", b"\r")) else end.encode()
    return before + between + line.getvalue().encode("utf-8"), made

"""Write workbook/reference.md: every checkable function of the library, from its docstring, units and check rows.

    python tests/make_reference.py

Run it after a change of a signature, a docstring, `core/nomenclature.py` or data/checks; the test in
`tests/house/test_reference.py` compares the file with what this script makes.
"""

from __future__ import annotations

import csv
import importlib
import inspect
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

CLONE = Path(__file__).parents[1]
sys.path.insert(0, str(CLONE))

import pondheat  # noqa: E402
from pondheat.core import nomenclature, units  # noqa: E402

REFERENCE = CLONE / "workbook" / "reference.md"
CHECKS = CLONE / "data" / "checks"
PUBLIC = ("read_sheet", "assess")  # functions of the package itself; listed once they exist
ROOMS = {
    "heat": "Heat: moist air, water, heat losses and gains at one moment",
    "season": "Season: sun, degree-days, heaters and the simulation hour by hour",
    "money": "Money: tariffs, payback and emissions",
    "meter": "Meter: readings, fits and savings",
    "fish": "Fish: oxygen, ammonia and temperature",
}
INTRODUCTION = """# Reference

Every function that a check row can name, with the units of its arguments and of its result. This file is made by
`tests/make_reference.py` from the library itself; don't edit it by hand.

- A **quantity** such as `heat.water.density` is the name to write in a check row (see `data/README.md`), and the place
  of the function in Python: `from pondheat.heat.water import density`.
- Arguments are plain floats, or arrays where the details say so, in the unit shown. “–” is a dimensionless number.
- Money has no fixed currency: [money] is whatever currency the prices are in.
- Values outside a plausible range raise `OutOfRange` with a sentence that says what is plausible.
- **Checked by** lists the rows of `data/checks` that compare the function with a published or recomputed value. Run
  them with `python -m pondheat check data/checks`."""
_SECTION = re.compile(r"(?:(?<=^)|(?<=[.;:)] ))(Raises\b|Sources?:)")


@dataclass(frozen=True)
class Docstring:
    """Parts of a function's docstring: its first paragraph, the details, the errors raised and the source."""

    summary: str
    details: str
    raises: str
    source: str


def _one_line(text: str) -> str:
    return " ".join(text.split())


def parse_docstring(text: str) -> Docstring:
    """Parts of a docstring, in which “Raises …” and “Source: …” begin a sentence; examples are left out."""
    summary, _, body = text.split(">>>")[0].partition("\n\n")
    body = _one_line(body)
    details, raises, source = [], [], []
    starts = [match.start() for match in _SECTION.finditer(body)]
    for begin, end in zip([0, *starts], [*starts, len(body)]):
        part = body[begin:end].strip()
        if part.startswith("Source"):
            source.append(part.partition(":")[2].strip())
        elif part.startswith("Raises"):
            # anything after the sentence on errors belongs to the details
            sentence = re.match(r".*?\.(?= [A-Z]|$)", part)
            raises.append((sentence[0] if sentence else part).removeprefix("Raises").strip())
            details.append(part[len(sentence[0]) :].strip() if sentence else "")
        else:
            details.append(part)
    return Docstring(
        _one_line(summary), *(" ".join(filter(None, parts)).rstrip(":") for parts in (details, raises, source))
    )


def function_of(quantity: str) -> Callable:
    """The function behind a quantity's dotted name."""
    module, name = quantity.rsplit(".", 1)
    return getattr(importlib.import_module(f"pondheat.{module}"), name)


def signature_of(name: str, function: Callable) -> str:
    """Call with argument names and defaults, without annotations."""
    signature = inspect.signature(function)
    plain = [each.replace(annotation=inspect.Parameter.empty) for each in signature.parameters.values()]
    return name + str(signature.replace(parameters=plain, return_annotation=inspect.Signature.empty))


def unit_text(unit: str | None) -> str:
    """A unit as readers write it; “–” for dimensionless numbers, “text” for names, dates and times."""
    if unit is None:
        return "text"
    if unit == "dimensionless":
        return "–"
    return unit if "money" in unit else units.pretty(unit)


def check_rows() -> dict[str, list[str]]:
    """Ids of the check rows of each quantity, in the order of the files."""
    found: dict[str, list[str]] = {}
    for path in sorted(CHECKS.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                quantity = nomenclature.RENAMED.get(row["quantity"], row["quantity"])
                found.setdefault(quantity, []).append(row["id"])
    return found


def _arguments(function: Callable) -> list[str]:
    lines = ["| argument | unit | meaning |", "|---|---|---|"]
    for name, parameter in inspect.signature(function).parameters.items():
        unit, meaning = nomenclature.PARAMETERS[name]
        default = "" if parameter.default is parameter.empty else f"; default `{parameter.default!r}`"
        lines.append(f"| `{name}` | {unit_text(unit)} | {_cell(meaning + default)} |")
    return lines


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _text(text: str) -> str:
    """Docstring text as Markdown: stars and tildes are not markup, code in double backquotes has single ones."""
    parts = text.replace("``", "`").split("`")
    return "`".join(
        part if at % 2 else re.sub(r"([*~<]|(?<!\w)_|_(?!\w))", r"\\\1", part) for at, part in enumerate(parts)
    )


def entry(quantity: str, rows: list[str]) -> list[str]:
    """Lines of one function's entry."""
    function = function_of(quantity)
    parts = parse_docstring(inspect.getdoc(function) or "")
    lines = [
        f"#### `{quantity}`",
        "",
        _text(parts.summary),
        "",
        f"`{signature_of(quantity.rsplit('.', 1)[1], function)}`",
        "",
        *_arguments(function),
        "",
        f"- **Returns:** [{unit_text(nomenclature.RETURNS[quantity])}]",
    ]
    for title, text in (("Details", parts.details), ("Raises", parts.raises), ("Source", parts.source)):
        if text:
            lines.append(f"- **{title}:** {_text(text)}")
    if not parts.source and "by definition" in parts.summary + parts.details:
        lines.append("- **Source:** by definition")
    lines.append(f"- **Checked by:** {', '.join(rows) if rows else 'no row yet'}")
    return [*lines, ""]


def _heading(module: str) -> str:
    """Heading of a module, which is also its link target: unique, without capitals, dots or spaces.

    GitHub and JupyterLab make link targets from headings in different ways, which agree for such headings only.
    """
    modules = {quantity.rsplit(".", 1)[0] for quantity in nomenclature.RETURNS}
    last = module.rsplit(".", 1)[-1]
    clashes = last in ROOMS or sum(each.rsplit(".", 1)[-1] == last for each in modules) > 1
    return module.replace(".", "-") if clashes else last


def _interface() -> list[str]:
    functions = [(name, getattr(pondheat, name, None)) for name in PUBLIC]
    lines = []
    for name, function in functions:
        if function is None:
            continue
        parts = parse_docstring(inspect.getdoc(function) or "")
        lines += [f"#### `pondheat.{name}`", "", _text(parts.summary), "", f"`{signature_of(name, function)}`", ""]
        for title, text in (("Details", parts.details), ("Raises", parts.raises)):
            if text:
                lines.append(f"- **{title}:** {_text(text)}")
        lines.append("")
    return ["## pondheat", "", "A whole pond in two calls.", "", *lines] if lines else []


def make() -> str:
    """The text of the reference."""
    rows, interface = check_rows(), _interface()
    modules: dict[str, list[str]] = {}
    for quantity in nomenclature.RETURNS:
        modules.setdefault(quantity.rsplit(".", 1)[0], []).append(quantity)
    contents = ["- [pondheat](#pondheat): the public interface"] if interface else []
    body = [*interface]
    for room, title in ROOMS.items():
        mine = [module for module in modules if module.split(".")[0] == room]
        contents.append(f"- [{room}](#{room}): " + ", ".join(f"[{_heading(each)}](#{_heading(each)})" for each in mine))
        body += [f"## {room}", "", title + ".", ""]
        for module in mine:
            about = (inspect.getdoc(importlib.import_module(f"pondheat.{module}")) or "").split("\n\n")[0]
            body += [f"### {_heading(module)}", "", f"`pondheat.{module}` – {_text(_one_line(about))}", ""]
            for quantity in modules[module]:
                body += entry(quantity, rows.get(quantity, []))
    return "\n".join([INTRODUCTION, "", "**Contents**", "", *contents, "", *body]).rstrip() + "\n"


if __name__ == "__main__":
    REFERENCE.write_text(make(), encoding="utf-8")

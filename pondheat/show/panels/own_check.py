"""A printed value of the reader's own, held against the library and kept in a file beside the page; or a file of them."""

from __future__ import annotations

import html
from pathlib import Path

import ipywidgets

from pondheat.analysis.savings_comparison import plain, printable
from pondheat.checks import runner, user_row
from pondheat.checks.explain import ROOMS, in_words, why
from pondheat.checks.runner import Outcome, Refused
from pondheat.checks.user_row import NAME
from pondheat.core import nomenclature, units
from pondheat.front_door.copying import write_atomically
from pondheat.show.controls import Choice, File, Given, fold
from pondheat.show.pages import KINDS
from pondheat.show.panels.background_task import Aside
from pondheat.show.panels.check_rows import opened, table, used

LINES = {
    "quantity": "What is checked, such as wet bulb",
    "inputs": "Its inputs with units, with a semicolon between: air_temp=20 degC; rel_humidity=0.5",
    "value": "The printed value, with all its digits",
    "unit": "Its unit; nothing for the library's own",
    "tolerance": "Tolerance, such as abs 0.1 or rel 1%; nothing for half of the last printed digit",
    "source": "Source, down to the page",
}
SHOWN = 40  # rows of a file, and faults, shown at once


class OwnRow(Aside):
    """A row typed line by line and evaluated at once; a button keeps it. `folder`: where the reader's files are."""

    NOTHING = "Nothing has been typed yet."
    RESULT = ipywidgets.HTML  # numbers as a source prints them, and differences in their unit: nothing comes beside
    CANCELLED = "Cancelled. Choose the file again, or type a row."

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        answers = {key: lambda _: "" for key in LINES} | {"quantity": self._quantity_said}
        self.lines = {key: Given(label, "", answers[key]) for key, label in LINES.items()}
        self.kind = Choice("Where the value comes from", KINDS, "published")
        self.keep = ipywidgets.Button(description=f"Add it to {NAME}", layout=ipywidgets.Layout(width="auto"))
        self.keep.add_class("ph-go")
        self.file = File("Or a whole check file of your own (CSV)")
        halves = [
            [self.lines[key] for key in ("quantity", "inputs", "value", "unit")],
            [self.lines["tolerance"], self.lines["source"], self.kind],
        ]
        pair = ipywidgets.Box([ipywidgets.VBox(half).add_class("ph-left") for half in halves]).add_class("ph-pair")
        super().__init__([pair, ipywidgets.HTML(quantities()), self.keep, self.file])
        for line in self.lines.values():
            line.observe(lambda _: self.evaluate(), "turn")
        self.kind.observe(lambda _: self.evaluate(), "value")
        self.keep.on_click(lambda _: self.add())
        self.file.observe(lambda _: self.read_file(), "turn")

    @staticmethod
    def _quantity_said(typed: str) -> str:
        try:
            return user_row.wants(user_row.find_quantity(typed))
        except Refused as fault:
            return str(fault)

    def typed(self) -> dict[str, str]:
        """The row as typed so far."""
        return {**{key: line.value for key, line in self.lines.items()}, "kind": self.kind.value or ""}

    def evaluate(self) -> None:
        """Evaluate the row as it stands and say how it went, or what is still missing."""
        self.stop("")
        self.result.value, self.name = "", ""
        try:
            found = runner.evaluate(user_row.row_of(self.typed()))
        except Refused as fault:
            self.say(str(fault))
            return
        self.say(verdict(found))
        self.result.value = fold("How ours came", opened(found))

    def add(self) -> None:
        """Add the row to the reader's file; what stands there stays."""
        self.stop("")
        path, self.name = self.folder / NAME, ""
        try:
            content, found = user_row.with_row(path.read_bytes() if path.exists() else None, self.typed())
            write_atomically(path, content)
        except Refused as fault:
            self.say(f"Not added. {fault}")
        except OSError as fault:
            self.say(f"Not added: {NAME} cannot be written or read ({fault.strerror}).")
        else:
            self.say(
                f"Added to {NAME} as {found.id}. It stands in the table when this page is opened next. {verdict(found)}"
            )

    def read_file(self) -> None:
        """Evaluate a whole file of rows, beside the page."""
        self.stop("")
        content, name = self.file.content, printable(self.file.value)

        def work(progress):
            try:
                text = content.decode("utf-8-sig")
            except UnicodeDecodeError:
                raise Refused("it cannot be read as UTF-8 text. Save it as CSV UTF-8.") from None
            found, faults = runner.run_text(text, name, progress=progress)
            rows = sorted(found, key=lambda one: -one.share_of_tolerance)
            caption = f"Rows of {name}, most of their tolerance used first: {min(len(rows), SHOWN)} of {len(rows)}"
            return f"{name}: {counted(found, faults)}", faults_list(faults) + table(rows[:SHOWN], caption)

        self.start(name, work)


def verdict(found: Outcome) -> str:
    """How a row came out, in words."""
    unit = units.pretty(found.unit)
    ours = f"Ours is {units.significant(found.ours, 5)} {unit}".strip()
    printed = f"the source has {found.written} {unit}".strip()
    off = units.significant(abs(found.difference), 2)
    how = (
        "It holds."
        if found.holds
        else ("It falls short: look for a slip in the inputs first, then you may have overturned a number.")
    )
    return f"{ours}, {printed}: {off} off, tolerance {found.tolerance}, used {used(found)}. {how} {why(found)}"


def counted(found: list[Outcome], faults: list[str]) -> str:
    """How many rows of a file hold, fall short, or could not be read."""
    held = sum(one.holds for one in found)
    return f"{len(found)} rows evaluated, {held} hold, {len(found) - held} fall short; {len(faults)} could not be read."


def faults_list(faults: list[str]) -> str:
    """What could not be read, by line, as HTML; nothing where all could."""
    if not faults:
        return ""
    shown = [*faults[:SHOWN], *([f"And {len(faults) - SHOWN} more."] if len(faults) > SHOWN else [])]
    lines = "".join(f"<li>{html.escape(plain(one))}</li>" for one in shown)
    return f"<div class='ph-words'><p>Could not be read:</p><ul>{lines}</ul></div>"


def quantities() -> str:
    """All that can be checked, by room, with the names of the inputs, folded."""
    lists = []
    for room, words in ROOMS.items():
        inside = "".join(_quantity(name) for name in nomenclature.RETURNS if name.startswith(f"{room}."))
        lists.append(f"<p><b>{words}</b></p><ul>{inside}</ul>")
    return f"<div class='ph-words'>{fold('All that can be checked, with its inputs', ''.join(lists))}</div>"


def _quantity(name: str) -> str:
    return f"<li>{html.escape(user_row.wants(name).replace(in_words(name), f'{in_words(name)} ({name})', 1))}</li>"

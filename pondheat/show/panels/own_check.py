"""The reader's own printed values, checked against the library: one typed and saved in a file, or a whole file."""

from __future__ import annotations

import html
from pathlib import Path

import ipywidgets

from pondheat.analysis.printable import printable_name, without_controls
from pondheat.checks import runner, user_row
from pondheat.checks.explain import ROOMS, quantity_label, rounding_note
from pondheat.checks.runner import CheckError, CheckResult
from pondheat.checks.user_row import NAME
from pondheat.core import nomenclature, units
from pondheat.core.files import write_atomically
from pondheat.core.number_format import counted
from pondheat.show.controls import AnsweredText, Choice, fold
from pondheat.show.file_control import File
from pondheat.show.pages import KINDS
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.check_rows import opened, table, used

LINES = {
    "quantity": "What is checked, such as wet bulb",
    "inputs": "Its inputs with units, separated by semicolons: air_temp=20 degC; rel_humidity=0.5",
    "value": "The printed value, with all its digits",
    "unit": "Its unit; leave empty for the library's own",
    "tolerance": "Tolerance, such as abs 0.1 or rel 1%; leave empty for half of the last printed digit",
    "source": "Source, down to the page",
}
SHOWN = 40  # rows of a file, and errors, shown at once


class OwnRow(BackgroundTask):
    """A row typed line by line and evaluated at once; a button saves it.

    folder: of the reader's files, by default the current one.
    """

    NOTHING = "Nothing has been typed yet."
    CANCELLED = "Cancelled. Choose the file again, or type a row."

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        answers = {key: lambda _: "" for key in LINES} | {"quantity": self._quantity_reply}
        self.lines = {key: AnsweredText(label, "", answers[key]) for key, label in LINES.items()}
        self.kind = Choice("Where the value comes from", KINDS, "published")
        self.save_button = ipywidgets.Button(description=f"Add it to {NAME}", layout=ipywidgets.Layout(width="auto"))
        self.save_button.add_class("ph-go")
        self.file = File("Or a whole check file of your own (CSV)")
        halves = [
            [self.lines[key] for key in ("quantity", "inputs", "value", "unit")],
            [self.lines["tolerance"], self.lines["source"], self.kind],
        ]
        pair = ipywidgets.Box([ipywidgets.VBox(half).add_class("ph-left") for half in halves]).add_class("ph-pair")
        super().__init__([pair, ipywidgets.HTML(quantities()), self.save_button, self.file])
        for line in self.lines.values():
            line.observe(lambda _: self.evaluate(), "turn")
        self.kind.observe(lambda _: self.evaluate(), "value")
        self.save_button.on_click(lambda _: self.add())
        self.file.observe(lambda _: self.read_file(), "turn")

    @staticmethod
    def _quantity_reply(typed: str) -> str:
        try:
            return user_row.describe_quantity(typed)
        except CheckError as fault:
            return str(fault)

    def typed(self) -> dict[str, str]:
        """The row as typed so far, by column."""
        return {**{key: line.value for key, line in self.lines.items()}, "kind": self.kind.value or ""}

    def evaluate(self) -> None:
        """Evaluate the row and show the result, or what is still missing."""
        self.stop("")
        self.result.value, self.name = "", ""
        try:
            found = runner.evaluate(user_row.make_row(self.typed()))
        except CheckError as fault:
            self.say(str(fault))
            return
        self.say(verdict(found))
        self.result.value = fold("How we got ours", opened(found))

    def add(self) -> None:
        """Append the row to the reader's file."""
        self.stop("")
        path, self.name = self.folder / NAME, ""
        try:
            content, found = user_row.add_row(path.read_bytes() if path.exists() else None, self.typed())
            write_atomically(path, content)
        except CheckError as fault:
            self.say(f"Not added. {fault}")
        except OSError as fault:
            self.say(f"Not added: {NAME} cannot be written or read ({fault.strerror}).")
        else:
            self.say(
                f"Added to {NAME} as {found.id}. It will be in the table the next time this page is opened. "
                f"{verdict(found)}"
            )

    def read_file(self) -> None:
        """Evaluate a whole file of rows in the background."""
        self.stop("")
        content, name = self.file.content, printable_name(self.file.value)

        def work(progress):
            try:
                text = content.decode("utf-8-sig")
            except UnicodeDecodeError:
                raise CheckError("it cannot be read as UTF-8 text. Save it as CSV UTF-8.") from None
            found, errors = runner.run_text(text, name, progress=progress)
            rows = sorted(found, key=lambda one: -one.share_of_tolerance)
            caption = f"Rows of {name}, nearest to their tolerance first: {min(len(rows), SHOWN)} of {len(rows)}"
            reply = " ".join([outcome_text(found, errors), *runner.rename_notes(found)])
            return f"{name}: {reply}", errors_html(errors) + table(rows[:SHOWN], caption)

        self.start(name, work)


def verdict(found: CheckResult) -> str:
    """The result of a row in words."""
    unit = units.pretty(found.unit)
    ours = f"Ours is {units.significant(found.ours, 5)} {unit}".strip()
    printed = f"the source has {found.printed_text} {unit}".strip()
    off = units.significant(abs(found.difference), 2)
    how = (
        "It agrees."
        if found.holds
        else ("It fails: look for a slip in the inputs first; then you may have overturned a number.")
    )
    compared = f"{ours}, {printed}: {off} off, tolerance {found.tolerance}, used {used(found)}."
    return f"{compared} {how} {rounding_note(found)}"


def outcome_text(found: list[CheckResult], errors: list[str]) -> str:
    """How many rows of a file hold, fail and could not be read, in words."""
    held = sum(one.holds for one in found)
    return (
        f"{counted(len(found), 'row', 'rows')} evaluated, {counted(held, 'agrees', 'agree')}, "
        f"{counted(len(found) - held, 'fails', 'fail')}; {len(errors)} could not be read."
    )


def errors_html(errors: list[str]) -> str:
    """The rows that could not be read, as HTML; empty if there are none."""
    if not errors:
        return ""
    shown = [*errors[:SHOWN], *([f"And {len(errors) - SHOWN} more."] if len(errors) > SHOWN else [])]
    lines = "".join(f"<li>{html.escape(without_controls(one))}</li>" for one in shown)
    return f"<div class='ph-words'><p>Could not be read:</p><ul>{lines}</ul></div>"


def quantities() -> str:
    """All quantities that can be checked with the names of their inputs, by room, folded."""
    lists = []
    for room, words in ROOMS.items():
        inside = "".join(_quantity(name) for name in nomenclature.RETURNS if name.startswith(f"{room}."))
        lists.append(f"<p><b>{words}</b></p><ul>{inside}</ul>")
    return f"<div class='ph-words'>{fold('All that can be checked, with its inputs', ''.join(lists))}</div>"


def _quantity(name: str) -> str:
    label = quantity_label(name)
    return f"<li>{html.escape(user_row.inputs_needed(name).replace(label, f'{label} ({name})', 1))}</li>"

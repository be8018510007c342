"""Page 17: every check row evaluated live and sorted by disagreement, and why the first one disagrees.

`formula_comparison` has the evaporation formulae side by side, `own_check` a row of the reader's own.
"""

from __future__ import annotations

import functools
import math
from collections import Counter
from pathlib import Path

import ipywidgets

from pondheat.checks import explain, runner, user_row
from pondheat.checks.explain import ROOMS, room_of
from pondheat.checks.runner import CheckResult
from pondheat.core.files import read_input_text
from pondheat.core.number_format import counted
from pondheat.core.places import CHECKS
from pondheat.show import figures
from pondheat.show.controls import Choice, Text, as_text, status
from pondheat.show.pages import KINDS
from pondheat.show.panels import Panel
from pondheat.show.panels.check_rows import opened, table, used
from pondheat.show.panels.formula_comparison import Formulae, OwnSeason  # noqa: F401  used by the page
from pondheat.show.panels.own_check import OwnRow, errors_html  # noqa: F401
from pondheat.show.tables import show_text
from pondheat.text import limitations

ALL = "all"
FIRST, MORE = 10, 30  # rows shown at first, and how many more at a press
BANDS = {"under 10 %": 0.1, "10 to 25 %": 0.25, "25 to 50 %": 0.5, "50 to 100 %": 1 + 1e-9, "fails": math.inf}


@functools.cache
def shipped() -> tuple[CheckResult, ...]:
    """Every row of data/checks, evaluated once."""
    return tuple(runner.run([CHECKS])[0])


def most_disagreeing(rows) -> CheckResult:
    """The row that uses most of its tolerance, of several the first."""
    return max(rows, key=_share)


def _share(one: CheckResult) -> float:
    return math.inf if math.isnan(one.share_of_tolerance) else one.share_of_tolerance


def _apart(one: CheckResult) -> float:
    return math.inf if math.isnan(one.relative) else one.relative


ORDERS = {
    "share": ("how much of its tolerance a row uses", _share),
    "apart": ("by what percentage it is off", _apart),
    "file": ("its place in the files", None),
}


class Rows(Panel):
    """Every check row, filtered and sorted; folder: of the reader's own rows, by default the current one."""

    def __init__(self, folder: Path | None = None):
        folder = Path.cwd() if folder is None else folder
        self.outcomes: list[CheckResult] = list(shipped())
        self.read_errors: list[str] = []
        self._take_own(folder / user_row.NAME)
        self.table, self.count = ipywidgets.HTML(), FIRST
        self.more = ipywidgets.Button(layout=ipywidgets.Layout(width="auto"))
        self.more.add_class("ph-go")
        self.more.on_click(lambda _: self.show_more())
        super().__init__(
            "bench",
            {
                "room": Choice("Which rows", {ALL: "all rooms", **ROOMS}, ALL),
                "kind": Choice("Where the other value comes from", {ALL: "all of them", **_kinds(self.outcomes)}, ALL),
                "order": Choice("Sorted by", {key: words for key, (words, _) in ORDERS.items()}, "share"),
                "words": Text("Only rows that contain these words: a source, a quantity, a row's name", "Find"),
            },
        )
        self.fold.label = "Show how we got the first row's value"
        left, right = self.children[1].children
        left.children = tuple(self.controls[name] for name in ("room", "kind"))
        right.children = (self.picture,)
        below = ipywidgets.VBox([self.controls[name] for name in ("order", "words")]).add_class("ph-said")
        at = self.children.index(self.words) + 1
        errors = [ipywidgets.HTML(errors_html(self.read_errors))] if self.read_errors else []
        self.children = (
            *self.children[:at],
            below,
            self.fold,
            *errors,
            self.table,
            self.more,
            *(part for part in self.children[at:] if part is not self.fold),
        )

    def _take_own(self, path: Path) -> None:
        if not path.exists():
            return
        try:
            text = read_input_text(path)
        except (OSError, UnicodeDecodeError):
            self.read_errors = [f"{path.name} cannot be read as UTF-8 text. It stays as it is."]
            return
        own, self.read_errors = runner.run_text(text, path.name, {one.id: one.place for one in self.outcomes})
        self.outcomes += own

    def redraw(self, room, kind, order, words):
        """How much of their tolerance the chosen rows use; the rows go into the table, sorted."""
        sought = words.casefold().split()
        rows = [
            one
            for one in self.outcomes
            if room in (ALL, room_of(one)) and kind in (ALL, one.kind) and _has(one, sought)
        ]
        key = ORDERS[order][1]
        self.rows = rows if key is None else sorted(rows, key=lambda one: -key(one))
        self.order, self.count = order, FIRST
        self._put()
        if not rows:
            return None, "No row fits these choices. Use fewer words, or all rooms."
        counts = Counter(next(band for band, most in BANDS.items() if _share(one) <= most) for one in rows)
        values = {band: float(counts[band]) for band in BANDS}
        figure = figures.bars(
            values,
            self.name,
            "How much of its tolerance a row uses: how many rows",
            {band: str(counts[band]) for band in BANDS},
            "fails",
        )
        return figure, self._text()

    def _text(self) -> str:
        count, held = len(self.rows), sum(one.holds for one in self.rows)
        if count == 1:
            result = f"One row, and it {'agrees' if held else 'fails'}"
        else:
            held_too = f"of which {counted(held, 'agrees', 'agree')}"
            whole = counted(count, "row, and it agrees", "rows, and all agree")
            result = whole if held == count else f"{counted(count, 'row', 'rows')}, {held_too}"
        printed = sum(one.kind == "published" for one in self.rows)
        most = most_disagreeing(self.rows)
        return (
            f"{result}, run just now. Printed in a book or paper: {printed}. Nearest to its tolerance is "
            f"{most.id}, {explain.quantity_label(most.quantity)}: {used(most)}."
        )

    def _put(self) -> None:
        shown = self.rows[: self.count]
        self.table.value = table(
            shown, f"Rows 1 to {len(shown)} of {len(self.rows)}, sorted by {ORDERS[self.order][0]}"
        )
        left = len(self.rows) - len(shown)
        self.more.description = f"Show {min(left, MORE)} more"
        self.more.layout.display = "" if left else "none"

    def show_more(self) -> None:
        """Show MORE further rows."""
        self.count += MORE
        self._put()

    def _arithmetic(self) -> str:
        return opened(self.rows[0]) if self.rows else "<p>No row is shown.</p>"


def _kinds(rows: list[CheckResult]) -> dict[str, str]:
    return {kind: words for kind, words in KINDS.items() if any(one.kind == kind for one in rows)}


def _has(one: CheckResult, sought: list[str]) -> bool:
    parts = (
        one.id,
        one.quantity,
        explain.quantity_label(one.quantity),
        one.inputs,
        one.source,
        one.note,
        Path(one.place).name,
    )
    text = " ".join(parts).casefold()
    return all(word in text for word in sought)


class WhyFirst(ipywidgets.VBox):
    """A question: why does the shipped row that uses most of its tolerance disagree? Its printed digits decide."""

    QUESTION = "Look at the first of all rows, sorted by tolerance. Why does it disagree?"
    OPTIONS = {
        "rounding": "The source rounds what it prints, and that explains all of it",
        "more": "Rounding is not enough: something else differs, too",
        "broken": "Our function is broken",
    }
    FOUND_OUT = {  # what is known of a row beyond its digits; a test checks it
        "FW-A102": "We don't know how the manual's table was worked out. But if the pressure falls by the same "
        "share with each metre, to 1/e in 8 km, you get all eight of its values in this table. We use the standard "
        "atmosphere, in which air gets colder with height: its pressure at 1500 m is 0.7 % higher.",
    }

    def __init__(self):
        self.row = most_disagreeing(shipped())
        self.right = "broken" if not self.row.holds else "rounding" if explain.is_rounding(self.row) else "more"
        self.guess = Choice(self.QUESTION, self.OPTIONS)
        self.reply = ipywidgets.HTML()
        super().__init__([self.guess, self.reply])
        self.guess.observe(self._chosen, "value")

    def _chosen(self, _change) -> None:
        why = explain.rounding_note(self.row)
        if self.guess.value == self.right:
            self.reply.value = status(f"That's right. {why} {self.FOUND_OUT.get(self.row.id, '')}".strip())
        elif self.guess.value == "broken":
            self.reply.value = status(
                f"Then it would fail; it uses {used(self.row)} of its tolerance. Open it, and compare the digits."
            )
        else:
            self.reply.value = status(f"Compare again. {why}")

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), f"{self.QUESTION}\nNothing chosen yet.")


def panel() -> Rows:
    """The panel of this page."""
    return Rows()


QUESTION = "Which room has the row that uses most of its tolerance?"
OPTIONS = dict(ROOMS)
RIGHT = room_of(most_disagreeing(shipped()))
WORDS = {
    room: "Every room has rows that were rounded in print. But sort by how much of its tolerance a row uses, and see "
    "which one comes first."
    for room in ROOMS
    if room != RIGHT
}
ON = "That's right. Now open the first row of the table: why does it disagree?"


def print_left_out() -> None:
    """Show what the model leaves out, each with its size."""
    show_text(*((f"{what}:", size) for what, size in limitations.LEFT_OUT))


def print_measured() -> None:
    """Show how far measurements have been from formulae like these."""
    show_text(*((f"{what}:", f"{far} ({whence})" if whence else far) for what, far, whence in limitations.MEASURED))

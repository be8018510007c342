"""The panel that compares a class's ponds: it takes a folder of pond sheets and shows no names."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pondheat.analysis import class_comparison
from pondheat.show.controls import Switch, Text
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.tutor.our_ponds import body_html, sentence


class OurPonds(BackgroundTask):
    """Compares the ponds of a folder.

    Which sheets were left out, and why, is not shown here, as the whole room sees this page.
    """

    NOTHING = "No folder has been read yet."
    CANCELLED = "Cancelled. The folder is as it was."

    def __init__(self) -> None:
        self.money = Switch("Show money too (only if everyone agrees)")
        self.folder = Text("Folder with the class's pond sheets", "Put them side by side", "our-ponds")
        super().__init__([self.folder, self.money])
        self.folder.observe(lambda _: self.read(), "turn")

    def read(self) -> None:
        """Read the folder that was named last."""
        self.stop("")
        folder = Path(self.folder.value.strip().strip("\"'“”")).expanduser().absolute()  # says where a name leads
        money = self.money.value

        def compare(progress: Callable[[float], None]) -> tuple[str, str]:
            comparison = class_comparison.compare_class(folder, money=money, progress=progress)
            return sentence(comparison), f"<div class='ph-words'>{body_html(comparison)}</div>"

        self.start("the ponds", compare)

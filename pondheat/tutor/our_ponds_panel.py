"""The class's ponds side by side, on a page: a folder of pond sheets in, no name out."""

from __future__ import annotations

from pathlib import Path

from pondheat.analysis import class_comparison
from pondheat.show.controls import Switch, Text
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.tutor.our_ponds import body, sentence


class OurPonds(BackgroundTask):
    """A folder's ponds; which sheets were left out, and why, is not said on this page, which the whole room sees."""

    NOTHING = "No folder has been read yet."
    CANCELLED = "Cancelled. The folder is as it was."

    def __init__(self):
        self.money = Switch("Show money too (only if everyone agrees)")
        self.folder = Text("Folder with the class's pond sheets", "Put them side by side", "our-ponds")
        super().__init__([self.folder, self.money])
        self.folder.observe(lambda _: self.read(), "turn")

    def read(self) -> None:
        """Read the folder that was named last."""
        self.stop("")
        folder, money = Path(self.folder.value.strip().strip("\"'“”")).expanduser(), self.money.value

        def work(progress):
            found = class_comparison.compare_class(folder, money=money, progress=progress)
            return sentence(found), f"<div class='ph-words'>{body(found)}</div>"

        self.start("the ponds", work)


def panel() -> OurPonds:
    """The panel of a class's ponds."""
    return OurPonds()

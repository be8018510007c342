"""Work beside the page: a reader's own files are read in a thread, so that the page stays alive and it can be cancelled."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import ipywidgets

from pondheat.analysis.printable import without_controls
from pondheat.show.controls import Words, alert, as_text, fault_sentence, status
from pondheat.show.panels import _STYLE

TICK = 0.1  # seconds between two signs of life


class Cancelled(Exception):
    """The reader of the page does not want this any more."""


class Aside(ipywidgets.VBox):
    """Controls, a line that says how it goes, a Cancel button while something is under way, and a place for the result.

    Whatever is wrong is said; what was typed and chosen stays. Its stored text form is the same for every reader.
    """

    NOTHING = "No file has been read yet."
    DOING = "Reading"
    RESULT = Words
    CANCELLED = "Cancelled. Nothing of the file was kept; change what you like and read it again."

    def __init__(self, controls: list):
        self.said, self.result = Words(status(self.NOTHING)), self.RESULT()
        self.cancel = ipywidgets.Button(description="Cancel")
        self.cancel.on_click(lambda _: self.stop())
        self.name = ""
        self._turn, self._job = 0, None
        self._show_cancel(False)
        super().__init__([ipywidgets.HTML(f"<style>{_STYLE}</style>"), *controls, self.said, self.cancel, self.result])
        self.add_class("ph-panel")

    def start(self, name: str, work: Callable[[Callable[[float], None]], tuple[str, str]]) -> None:
        """Begin `work`, which is given a function to tell how far it is and hands back a sentence and HTML."""
        self.name = name
        self.result.value = ""
        self.say(f"{self.DOING} {name} …")
        self._show_cancel(True)
        self._job = threading.Thread(target=self._work, daemon=True, args=(self._turn, work))
        self._job.start()

    def stop(self, said: str | None = None) -> None:
        """Drop what is under way; say so, in other words, or with "" nothing."""
        self._turn += 1
        self._show_cancel(False)
        if said != "":
            self.say(said or self.CANCELLED)

    def wait(self, seconds: float = 60) -> None:
        """Until nothing is under way any more."""
        if self._job is not None:
            self._job.join(seconds)

    def _work(self, turn: int, work) -> None:
        told = time.monotonic()

        def progress(share: float) -> None:
            nonlocal told
            if turn != self._turn:
                raise Cancelled
            if time.monotonic() - told > TICK:
                told = time.monotonic()
                self.say(f"{self.DOING} {self.name}: {100 * share:.0f} % done.", share)

        try:
            sentence, shown = work(progress)
        except Cancelled:
            return
        except Exception as fault:  # any: a reader of the page must be told, whatever went wrong with his file
            if turn == self._turn:
                self.fault(fault)
            return
        if turn == self._turn:
            self._show_cancel(False)
            self.result.value = shown
            self.say(sentence)

    def fault(self, fault: Exception) -> None:
        """Say what is wrong."""
        self._show_cancel(False)
        said = " ".join(self.words_of(fault).split())
        name = f"{self.name}: " if self.name and self.name not in said else ""
        self.said.value = alert(without_controls(name + said))

    def words_of(self, fault: Exception) -> str:
        """A fault as this page words it."""
        return fault_sentence(fault)

    def say(self, text: str, share: float | None = None) -> None:
        """Say how it goes, with a bar for the share done."""
        bar = (
            ""
            if share is None
            else (
                f'<progress class="ph-progress" max="1" value="{share:.2f}" '
                'aria-label="How much of the work is done"></progress>'
            )
        )
        self.said.value = status(without_controls(text)) + bar

    def _show_cancel(self, shown: bool) -> None:
        self.cancel.layout.display = "" if shown else "none"

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), self.NOTHING)

"""Work in a background thread, so that the page stays responsive and the work can be cancelled."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import ipywidgets

from pondheat.analysis.printable import without_controls
from pondheat.core.number_format import NO_BREAK
from pondheat.show.controls import alert, as_text, error_sentence, status
from pondheat.show.live_picture import LivePicture
from pondheat.show.panels import STYLE

TICK = 0.1  # seconds between two progress messages


class Cancelled(Exception):
    """The reader cancelled the work."""


class BackgroundTask(ipywidgets.VBox):
    """Controls, a progress line with a Cancel button while work is running, and a place for its result.

    Errors are shown in the progress line; what was typed and chosen stays. The text form is the same for every reader.
    """

    children: tuple[ipywidgets.Widget, ...]
    NOTHING = "No file has been read yet."
    DOING = "Reading"
    CANCELLED = "Cancelled. Nothing from the file was kept; change what you like and read it again."
    PATIENCE = 0.0  # seconds of work before anything is said of it
    KEEPS_RESULT = False  # whether the last result stays until the next one is there

    def __init__(self, controls: list):
        self.progress_line, self.result = ipywidgets.HTML(status(self.NOTHING)), LivePicture()
        self.cancel = ipywidgets.Button(description="Cancel").add_class("ph-cancel")
        self.cancel.on_click(lambda _: self.stop())
        self.name = ""
        self._turn = 0  # counts starts and stops: a thread of an earlier turn is out of date
        self._job: threading.Thread | None = None
        self._until = 0.0  # moment before which no progress is told
        self._show_cancel(False)
        style = ipywidgets.HTML(f"<style>{STYLE}</style>")
        super().__init__([style, *controls, self.progress_line, self.cancel, self.result])
        self.add_class("ph-panel")

    def start(self, name: str, work: Callable[[Callable[[float], None]], tuple[str, str]]) -> None:
        """Run `work` in a thread; it takes a progress function (share done, 0–1) and returns a sentence and HTML.

        name: what is worked on, for the progress line.
        """
        self.name = name
        if not self.KEEPS_RESULT:
            self.result.value = ""
        self._until = time.monotonic() + self.PATIENCE
        if self.PATIENCE:
            reminder = threading.Timer(self.PATIENCE, self._tell_of_work, (self._turn,))
            reminder.daemon = True
            reminder.start()
        else:
            self._tell_of_work(self._turn, True)
        self._job = threading.Thread(target=self._work, daemon=True, args=(self._turn, work), name="work of a page")
        self._job.start()

    def _tell_of_work(self, turn: int, begun: bool | None = None) -> None:
        """Say that work is under way, if it still is."""
        if turn == self._turn and (begun or (self._job is not None and self._job.is_alive())):
            self.say(f"{self.DOING} {self.name} …")
            self._show_cancel(True)

    def stop(self, message: str | None = None) -> None:
        """Drop the running work and show `message`, by default that it was cancelled; "" shows nothing."""
        self._turn += 1
        self._show_cancel(False)
        if message != "":
            self.say(message or self.CANCELLED)

    def wait(self, seconds: float = 60) -> None:
        """Wait until the running work has ended, at most so many seconds."""
        if self._job is not None:
            self._job.join(seconds)

    def _work(self, turn: int, work) -> None:
        last_message = time.monotonic()

        def progress(share: float) -> None:
            nonlocal last_message
            if turn != self._turn:
                raise Cancelled
            if time.monotonic() - last_message > TICK and time.monotonic() > self._until:
                last_message = time.monotonic()
                self.say(self.progress_text(share), share)

        try:
            sentence, shown = work(progress)
        except Cancelled:
            return
        except Exception as error:  # any: the reader must be told whatever went wrong with the file
            if turn == self._turn:
                self.show_error(error)
            return
        if turn == self._turn:
            self._show_cancel(False)
            self.result.value = shown
            self.say(sentence)

    def progress_text(self, share: float) -> str:
        """The progress line at this share of the work (0–1)."""
        return f"{self.DOING} {self.name}: {100 * share:.0f}{NO_BREAK}% done."

    def show_error(self, error: Exception) -> None:
        """Show an error in the progress line."""
        self._show_cancel(False)
        message = " ".join(self.error_text(error).split())
        name = f"{self.name}: " if self.name and self.name not in message else ""
        self.progress_line.value = alert(without_controls(name + message))

    def error_text(self, error: Exception) -> str:
        """The message of an error as this page words it."""
        return error_sentence(error)

    def say(self, text: str, share: float | None = None) -> None:
        """Show `text` in the progress line, with a bar for the share done."""
        bar = (
            ""
            if share is None
            else (
                f'<progress class="ph-progress" max="1" value="{share:.2f}" '
                'aria-label="How much of the work is done"></progress>'
            )
        )
        self.progress_line.value = status(without_controls(text)) + bar

    def _show_cancel(self, shown: bool) -> None:
        self.cancel.layout.display = "" if shown else "none"

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), self.NOTHING)

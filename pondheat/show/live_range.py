"""What follows a panel's moves: a second chart once they rest, and a likely range, worked out in the background, coarse
first, dropped at the next move.
"""

from __future__ import annotations

import asyncio
import functools
import threading
import time
import warnings
from collections.abc import Callable, Iterable, Iterator

import ipywidgets

from pondheat.core import compilation
from pondheat.core.number_format import unbroken
from pondheat.season import ensemble

SCENARIOS = 200
COARSE = 40  # scenarios behind the first sight of a range
PICTURE_FIRST = 1.0  # s from the first move to compiling: its picture is on the page by then
UNCOMPILED = 2.0  # s without a move before a range has the model compiled, which would hold up the first moves
QUIET = 0.18  # s without a move before what follows it begins: longer than from one press to the next picture
PENDING = "Likely range: working it out…"

Dropped = Callable[[], bool]
Work = Callable[[Dropped], Iterator[str]]


class _Worker:
    """One thread for all live ranges of this process; each range's newest request takes the place of its older ones."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._waiting: dict[LiveRange, tuple[float, Work]] = {}
        self._thread: threading.Thread | None = None
        self._busy = False

    def ask(self, line: LiveRange, work: Work) -> None:
        """Work on this as soon as there has been no newer request for a moment."""
        with self._changed:
            quick = compilation.is_ready() or not compilation.available()
            self._waiting[line] = (time.monotonic() + (QUIET if quick else UNCOMPILED), work)
            if self._thread is None:
                self._thread = threading.Thread(target=self._go_on, daemon=True, name="likely ranges")
                self._thread.start()
            self._changed.notify()

    def wait(self, seconds: float) -> bool:
        """Until nothing is waiting or under way; False if that takes longer."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._waiting and not self._busy, seconds)

    def newer(self, line: LiveRange) -> bool:
        """Whether this range has been asked for anew."""
        return line in self._waiting

    def _next(self) -> tuple[LiveRange, Work]:
        with self._changed:
            while True:
                if self._waiting:
                    line, (due, work) = min(self._waiting.items(), key=lambda item: item[1][0])
                    left = due - time.monotonic()
                    if left <= 0:
                        del self._waiting[line]
                        self._busy = True
                        return line, work
                    self._changed.wait(left)
                else:
                    self._changed.wait()

    def _go_on(self) -> None:
        while True:
            line, work = self._next()
            try:
                ensemble.warm_up_aside()
                newer = functools.partial(self.newer, line)
                line.show(work(newer), newer)
            except Exception as error:  # whatever went wrong, the reader is told, and the next move is answered
                line.say(f"No likely range can be given here: {' '.join(str(error).split()) or type(error).__name__}")
            finally:
                with self._changed:
                    self._busy = False
                    self._changed.notify_all()


_worker = _Worker()


def avoid_pauses() -> None:
    """In a notebook, compile in the background once a panel has its first picture, instead of before it."""
    from IPython.core.getipython import get_ipython

    if getattr(get_ipython(), "kernel", None) is not None:
        # libraries loaded in the background have words for programmers, which would turn up in the middle of a page
        warnings.simplefilter("ignore")
        compilation.avoid_pauses(_warm_up_soon)


def _warm_up_soon() -> None:
    timer = threading.Timer(PICTURE_FIRST, ensemble.warm_up_aside)
    timer.daemon = True
    timer.start()


class Rest:
    """Does the newest of what it is asked for, once a page's reader has made no further move for a moment."""

    def __init__(self) -> None:
        self._due: asyncio.TimerHandle | None = None

    def ask(self, act: Callable[[], None]) -> None:
        """Do this when the moves have come to rest; at once where nobody can move, as in a script."""
        self.drop()
        try:
            self._due = asyncio.get_running_loop().call_later(QUIET, act)
        except RuntimeError:
            act()

    def drop(self) -> None:
        """Do no more of what was asked for."""
        if self._due is not None:
            self._due.cancel()


class LiveRange(ipywidgets.HTML):
    """A line that says how likely a panel's numbers are, for the state that it shows now."""

    def follow(self, work: Work) -> None:
        """The panel has moved. `work`, given a test whether it is still wanted, yields better and better sentences."""
        self.say(PENDING)
        _worker.ask(self, work)

    def show(self, sentences: Iterable[str], newer: Dropped) -> None:
        """Show each sentence as it comes, unless the panel has moved again."""
        try:
            for sentence in sentences:
                if newer():
                    return
                self.say(sentence)
        except ensemble.Dropped:
            return

    def drop(self) -> None:
        """Show nothing, and drop what is under way."""
        _worker.ask(self, lambda _: iter(()))
        self.say("")

    def say(self, sentence: str) -> None:
        """Show a sentence, or other HTML."""
        self.value = f'<div class="ph-likely">{unbroken(sentence)}</div>' if sentence else ""

    @staticmethod
    def wait(seconds: float = 120.0) -> bool:
        """Until all ranges asked for are there, for tests and scripts; False if that takes longer."""
        return _worker.wait(seconds)

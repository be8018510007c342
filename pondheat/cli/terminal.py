"""What the shell needs of a terminal: safe printing, a progress bar, and a parser that guesses what was meant."""

from __future__ import annotations

import argparse
import difflib
import json
import sys
import time
import unicodedata
from collections.abc import Sequence
from typing import NoReturn, TextIO, cast

from pondheat.analysis.printable import without_controls

_PATIENCE = 1.0  # s without a sign of life that a reader takes for a program at work (judgement)
_LINE = 60  # columns of the progress line


def steerless(text: str) -> str:
    """Text with “?” in place of characters that steer a terminal, such as escapes and direction marks.

    Line ends and tabs stay, and a leading return, with which a progress line begins.
    """
    if text.isascii() and text.isprintable():
        return text
    begin = "\r" if text.startswith("\r") else ""
    return begin + without_controls(text.removeprefix("\r"), but="\n\t")


class SafeStream:
    """A text stream that writes no characters that steer a terminal, wherever a text comes from."""

    def __init__(self, stream: TextIO):
        self._stream = stream

    def write(self, text: str) -> int:
        """Write the text without what would steer the terminal."""
        return self._stream.write(steerless(text))

    def __getattr__(self, name: str):
        return getattr(self._stream, name)


def safe(stream: TextIO) -> TextIO:
    """The stream as one that is safe to print anything to."""
    return cast(TextIO, SafeStream(stream))


def json_text(data: dict) -> str:
    """JSON in readable letters and metric units, with characters that would steer a terminal as their escapes."""
    from pondheat.core.display_units import without_marks  # it loads pint, which opening the workbook needn't wait for

    text = json.dumps(without_marks(data), indent=2, ensure_ascii=False, allow_nan=False)
    return "".join(
        json.dumps(letter)[1:-1] if letter != "\n" and unicodedata.category(letter)[0] == "C" else letter
        for letter in text
    )


class Bar:
    """A progress bar on standard error, if that is a terminal and the work takes more than a second; wiped at the end.

    progress: the function to call with the share done, None where there is no terminal.
    """

    def __init__(self, what: str):
        self._what, self._begun, self._drawn = what, time.monotonic(), False
        self.progress = self._draw if sys.stderr.isatty() else None

    def __enter__(self) -> Bar:
        return self

    def __exit__(self, *_) -> None:
        if self._drawn:
            print("\r" + " " * _LINE + "\r", end="", file=sys.stderr)

    def _draw(self, done: float) -> None:
        if time.monotonic() - self._begun < _PATIENCE:
            return
        self._drawn = True
        filled = round(30 * done)
        bar = "#" * filled + "." * (30 - filled)
        print(f"\r{f'  {self._what}: [{bar}]'[:_LINE]}", end="", file=sys.stderr, flush=True)


class Parser(argparse.ArgumentParser):
    """A parser that answers a mistyped command or option with the usage it belongs to and what was perhaps meant."""

    def parse_args(self, args=None, namespace=None):
        """The parsed arguments; ends the program with a sentence where they are wrong."""
        given = list(sys.argv[1:] if args is None else args)
        commands = self._commands()
        known = next((word for word in given if word in commands), None)
        if known is not None:
            place = given.index(known)
            commands[known].refuse_unknown(given[place + 1 :])
            self.refuse_unknown(given[:place])
        elif given and not given[0].startswith("-"):
            self.error(f"there is no command “{given[0]}”.{meant(given[0], list(commands))}")
        else:
            self.refuse_unknown(given)
        return super().parse_args(given, namespace)

    def refuse_unknown(self, given: Sequence[str]) -> None:
        """End the program where one of these words looks like an option and is none."""
        known = [one for action in self._actions for one in action.option_strings]
        for word in given:
            if word == "--":
                return
            option = word.split("=")[0]
            if not option.startswith("--") or option in known:
                continue
            begins = [one for one in known if one.startswith(option)]
            if len(begins) > 1:
                self.error(f"{option} may be {' or '.join(begins)}: write it in full.")
            if not begins:
                self.error(f"there is no option {option} here.{meant(option, known)}")

    def _commands(self) -> dict[str, Parser]:
        return {
            name: parser
            for action in self._actions
            if isinstance(action, argparse._SubParsersAction)
            for name, parser in action.choices.items()
        }

    def error(self, message: str) -> NoReturn:
        """Print the usage and the sentence, and end the program with 2."""
        self.print_usage(sys.stderr)
        self.exit(2, f"{self.prog}: {message}\n")


def meant(word: str, known: list[str]) -> str:
    """“ Did you mean …?” with the nearest known words, or nothing."""
    full = {one.lstrip("-"): one for one in known}
    near = [full[one] for one in difflib.get_close_matches(word.lstrip("-"), list(full), 2, 0.6)]
    return f" Did you mean {' or '.join(near)}?" if near else ""

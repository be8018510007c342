"""The reader's pond sheet in his folder: read at the start, written after each answer, nothing in it lost."""

from __future__ import annotations

from collections.abc import Mapping, Set
from pathlib import Path

from pondheat.core import toml_errors, units
from pondheat.core.units import Currency
from pondheat.front_door.copying import write_atomically
from pondheat.sheet import form_sheet, pond_form
from pondheat.sheet.pond_form import OWN

SHEET, ASIDE = "my_pond.toml", "my_pond.before.toml"


class Kept:
    """The sheet's file. `text`: its last good text, "" where there was none; `word`: what the reader is to be told of it."""

    def __init__(self, folder: Path, currency: Currency):
        self.path = folder / SHEET
        self.currency = currency
        self.text, self.word = "", ""
        self._seen: bytes | None = None  # the file as it was read or written last
        self.look()

    def look(self) -> bool:
        """Whether the file was changed since it was last seen, and can be read; then `text` is the new one."""
        try:
            content = self.path.read_bytes()
        except FileNotFoundError:
            return False
        except OSError as wrong:
            self.word = f"{SHEET} cannot be read: {wrong.strerror}. It stays as it is."
            return False
        if content == self._seen:
            return False
        try:
            text = content.decode("utf-8-sig")
            document = toml_errors.loads(text)
        except ValueError as wrong:
            reason = "it is not UTF-8 text." if isinstance(wrong, UnicodeDecodeError) else str(wrong)
            self.word = (
                f"{SHEET} cannot be read: {' '.join(reason.split())} It stays as it is; before anything new is "
                f"written, it is copied to {self._aside(content).name}."
            )
            return False
        self.text, self._seen, self.word = text, content, ""
        try:
            self.currency = units.currency_of(document["currency"])
        except (KeyError, ValueError):
            pass  # without one it is the usual one; a strange one its reader tells
        return True

    def answers(self) -> tuple[dict[str, str], set[str]]:
        """The answers in the sheet, and those of them that are start values; all start values where there is no sheet."""
        asked = pond_form.questions(self.currency)
        if self.text:
            answers, untouched = form_sheet.answers_of(self.text, self.currency)
            if {"start", "end"} <= untouched and answers["place"] != OWN:  # another year has come
                answers |= {key: asked[key].start for key in ("start", "end")}
            return answers, untouched
        return (
            {key: question.start for key, question in asked.items()},
            {key for key, question in asked.items() if question.start and key != "name"},
        )

    def own_source(self) -> str | None:
        """The weather source in the sheet, where it is none of the form's own."""
        found = toml_errors.loads(self.text).get("weather", {}) if self.text else {}
        source = found.get("source") if isinstance(found, dict) else None
        return source if isinstance(source, str) and source not in pond_form.questions()["place"].choices else None

    def write(self, answers: Mapping[str, str], untouched: Set[str], weather: str | None) -> None:
        """Write the answers into the sheet; a file that cannot be read is copied aside. Raises OSError, SheetFaults."""
        made = form_sheet.sheet_text(answers, untouched, self.text, self.currency, weather)
        content = made.encode("utf-8")
        if self.path.exists():
            there = self.path.read_bytes()
            if there != self._seen:
                write_atomically(self._aside(there), there)
        write_atomically(self.path, content)
        self.text, self._seen, self.word = made, content, ""

    def _aside(self, content: bytes) -> Path:
        """Where such a file is copied: a name that is free, or the one under which it lies already."""
        place, number = self.path.with_name(ASIDE), 2
        while place.exists() and place.read_bytes() != content:
            place, number = self.path.with_name(ASIDE.replace(".toml", f"-{number}.toml")), number + 1
        return place

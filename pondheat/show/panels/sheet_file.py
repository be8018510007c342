"""The file of the reader's pond sheet: read at the start and written after each answer without losing anything."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Mapping, Set
from pathlib import Path

from pondheat.core import toml_errors, units
from pondheat.core.files import write_atomically
from pondheat.core.units import Currency
from pondheat.sheet import form_sheet, pond_form
from pondheat.sheet.pond_form import OWN

SHEET, BACKUP = "my_pond.toml", "my_pond.before.toml"


class SheetFile:
    """The file of a pond sheet.

    text: its last readable content, "" if there was none; message: what to tell the reader about it, or "".
    """

    def __init__(self, folder: Path, currency: Currency):
        self.path = folder / SHEET
        self.currency = currency
        self.text, self.message = "", ""
        self._seen: bytes | None = None  # content read or written last
        self._lock = threading.RLock()  # Jupyter may handle two answers at once: neither takes the other's for a change
        self.reload()

    def reload(self) -> bool:
        """Read the file if it was changed; returns whether `text` is new. If it can't be read, `message` says so."""
        with self._lock:
            return self._reload()

    def _reload(self) -> bool:
        try:
            content = self.path.read_bytes()
        except FileNotFoundError:
            return False
        except OSError as error:
            self.message = f"{SHEET} cannot be read: {error.strerror}. It stays as it is."
            return False
        if content == self._seen:
            return False
        try:
            text = content.decode("utf-8-sig")
            document = toml_errors.loads(text)
        except ValueError as error:
            reason = "it is not UTF-8 text." if isinstance(error, UnicodeDecodeError) else str(error)
            self.message = (
                f"{SHEET} cannot be read: {' '.join(reason.split())} It stays as it is; before anything new is "
                f"written, it is copied to {self._backup_path(content).name}."
            )
            return False
        self.text, self._seen, self.message = text, content, ""
        # a missing currency leaves the preferred one; an unreadable one is reported when the sheet is read
        with contextlib.suppress(KeyError, ValueError):
            self.currency = units.currency_of(document["currency"])
        return True

    def answers(self) -> tuple[dict[str, str], set[str]]:
        """The answers in the sheet, and the keys of those that are defaults; without a sheet all are defaults."""
        asked = pond_form.questions(self.currency)
        if self.text:
            answers, untouched = form_sheet.answers_of(self.text, self.currency)
            if {"start", "end"} <= untouched and answers["place"] != OWN:  # defaults of another year
                answers |= {key: asked[key].start for key in ("start", "end")}
            return answers, untouched
        return (
            {key: question.start for key, question in asked.items()},
            {key for key, question in asked.items() if question.start and key != "name"},
        )

    def own_source(self) -> str | None:
        """The sheet's weather source if the form does not offer it, otherwise None."""
        found = toml_errors.loads(self.text).get("weather", {}) if self.text else {}
        source = found.get("source") if isinstance(found, dict) else None
        return (
            source if isinstance(source, str) and source not in (pond_form.questions()["place"].choices or {}) else None
        )

    def write(self, answers: Mapping[str, str], untouched: Set[str], weather: str | None) -> None:
        """Write the answers into the sheet; an unreadable or changed file is backed up first.

        untouched: keys of answers that are defaults; weather: source of the reader's own, or None. Raises OSError,
        SheetError.
        """
        made = form_sheet.sheet_text(answers, untouched, self.text, self.currency, weather)
        content = made.encode("utf-8")
        with self._lock:
            if self.path.exists():
                there = self.path.read_bytes()
                if there != self._seen:
                    write_atomically(self._backup_path(there), there)
            write_atomically(self.path, content)
            self.text, self._seen, self.message = made, content, ""

    def preview(self, answers: Mapping[str, str], untouched: Set[str], weather: str | None) -> str:
        """The text of the sheet with these answers, without writing it; arguments and errors as for `write`."""
        return form_sheet.sheet_text(answers, untouched, self.text, self.currency, weather)

    def keep_copy(self) -> str:
        """Copy the file as it is to a backup; returns that file's name, "" where there is no file. Raises OSError."""
        if not self.path.exists():
            return ""
        content = self.path.read_bytes()
        place = self._backup_path(content)
        write_atomically(place, content)
        return place.name

    def _backup_path(self, content: bytes) -> Path:
        """Where to back up this content: the first name that is free or already has it."""
        place, number = self.path.with_name(BACKUP), 2
        while place.exists() and place.read_bytes() != content:
            place, number = self.path.with_name(BACKUP.replace(".toml", f"-{number}.toml")), number + 1
        return place

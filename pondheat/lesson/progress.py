"""The reader's progress, in one small file on the reader's own machine.

The file is replaced atomically, so it survives a crash at any moment; a damaged one is renamed and reported. It names
the numbering of its keys, so those of a file from before a renumbering are translated, and never twice.
"""

from __future__ import annotations

import contextlib
import json
from dataclasses import dataclass, field
from pathlib import Path

from pondheat.core.files import write_atomically
from pondheat.core.renumbering import NUMBERING, present_keys

NAME = "progress.json"
_NO_TRY = ("not tried yet", "not read")


@dataclass
class Progress:
    """Outcomes by question.

    answers: key → outcome; misses: key → number of confident wrong answers; message: what went wrong with the file, or
    "".
    """

    path: Path
    answers: dict[str, str] = field(default_factory=dict)
    misses: dict[str, int] = field(default_factory=dict)
    message: str = ""

    def note(self, key: str, outcome: str, sure: bool = False) -> None:
        """Record an outcome and save it. A right answer stays right; an unreadable one does not replace a try."""
        tried = outcome not in _NO_TRY
        if self.answers.get(key) != "right" and (tried or self.answers.get(key) is None):
            self.answers[key] = outcome
        if sure and tried and outcome != "right":
            self.misses[key] = self.misses.get(key, 0) + 1
        elif outcome == "right":
            self.misses.pop(key, None)
        self.write()

    def write(self) -> None:
        """Replace the file atomically; if that fails, set `message` and carry on."""
        kept = {"answers": self.answers, "misses": self.misses, "numbering": NUMBERING}
        content = json.dumps(kept, indent=1, sort_keys=True, ensure_ascii=False)
        try:
            write_atomically(self.path, content.encode("utf-8"))
            self.message = ""
        except OSError as error:
            self.message = f"Your progress couldn't be saved: {error.strerror or error}."

    def dots(self, keys: list[str]) -> str:
        """One sign for each question: ● right, ◐ tried, ○ not yet."""
        signs = {"right": "●", None: "○", "not tried yet": "○", "not read": "○"}
        return "".join(signs.get(self.answers.get(key), "◐") for key in keys)


def load(folder: Path) -> Progress:
    """The progress stored in a folder, by present keys; a damaged file is renamed and `message` says so."""
    path = Path(folder) / NAME
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        answers, misses, numbering = found["answers"], found["misses"], found.get("numbering", 1)
        if not (
            isinstance(answers, dict)
            and all(isinstance(v, str) for v in answers.values())
            and isinstance(misses, dict)
            and all(isinstance(v, int) for v in misses.values())
            and isinstance(numbering, int)
        ):
            raise ValueError
        return Progress(path, present_keys(answers, numbering), present_keys(misses, numbering))
    except FileNotFoundError:
        return Progress(path)
    except OSError as error:
        return Progress(path, message=f"Your progress couldn't be read: {error.strerror or error}.")
    except (ValueError, KeyError, TypeError):
        backup = path.with_name(f"{path.stem}-damaged{path.suffix}")
        count = 1
        while backup.exists():
            count += 1
            backup = path.with_name(f"{path.stem}-damaged-{count}{path.suffix}")
        with contextlib.suppress(OSError):
            path.rename(backup)
        message = f"Your progress file couldn't be read. It has been kept as {backup.name}, and a new one started."
        return Progress(path, message=message)

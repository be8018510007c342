"""What a reader has done, kept on his own machine in one small file; nothing leaves it.

The file is written whole or not at all, survives being killed at any moment, and a damaged one is set aside and said.
"""

from __future__ import annotations

import json
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

NAME = "progress.json"
_NO_TRY = ("not tried yet", "not read")


@dataclass
class Progress:
    """`answers`: key → outcome of the last attempt; `misses`: key → how often it was missed while sure."""

    path: Path
    answers: dict[str, str] = field(default_factory=dict)
    misses: dict[str, int] = field(default_factory=dict)
    said: str = ""

    def note(self, key: str, outcome: str, sure: bool = False) -> None:
        """Keep an outcome and write the file. A right answer stays right, and a try stays one when nonsense follows."""
        tried = outcome not in _NO_TRY
        if self.answers.get(key) != "right" and (tried or self.answers.get(key) is None):
            self.answers[key] = outcome
        if sure and tried and outcome != "right":
            self.misses[key] = self.misses.get(key, 0) + 1
        elif outcome == "right":
            self.misses.pop(key, None)
        self.write()

    def write(self) -> None:
        """Write the file in one stroke; where it cannot be written, `said` tells so and all goes on."""
        content = json.dumps(
            {"answers": self.answers, "misses": self.misses}, indent=1, sort_keys=True, ensure_ascii=False
        )
        name = None
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.path.parent, prefix=".progress-")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, self.path)
            self.said = ""
        except OSError as fault:
            if name is not None and os.path.exists(name):
                os.unlink(name)
            self.said = f"Your progress could not be kept: {fault.strerror or fault}."

    def dots(self, keys: list[str]) -> str:
        """One sign a question: ● right, ◐ tried, ○ not yet."""
        signs = {"right": "●", None: "○", "not tried yet": "○", "not read": "○"}
        return "".join(signs.get(self.answers.get(key), "◐") for key in keys)


def load(folder: Path) -> Progress:
    """The progress kept in a folder; a damaged file is renamed, not lost, and `said` tells so."""
    path = Path(folder) / NAME
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        answers, misses = found["answers"], found["misses"]
        if not (
            isinstance(answers, dict)
            and all(isinstance(v, str) for v in answers.values())
            and isinstance(misses, dict)
            and all(isinstance(v, int) for v in misses.values())
        ):
            raise ValueError
        return Progress(path, answers, misses)
    except FileNotFoundError:
        return Progress(path)
    except OSError as fault:
        return Progress(path, said=f"Your progress could not be read: {fault.strerror or fault}.")
    except (ValueError, KeyError, TypeError):
        aside = path.with_name(f"{path.stem}-damaged{path.suffix}")
        count = 1
        while aside.exists():
            count += 1
            aside = path.with_name(f"{path.stem}-damaged-{count}{path.suffix}")
        try:
            path.rename(aside)
        except OSError:
            pass
        return Progress(
            path, said=f"Your progress file could not be read. It is kept as {aside.name}; a new one begins."
        )

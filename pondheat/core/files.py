"""Files of the reader's: written whole or not at all, and where caches belong on each system."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path


def write_atomically(path: Path, content: bytes) -> None:
    """Write a file by replacing it, so that a failure or a power cut leaves the old file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        if os.name == "posix":
            os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def user_cache_folder() -> Path | None:
    """The folder for caches of this user on this system; None without a home."""
    try:
        if sys.platform == "win32":
            return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
        if sys.platform == "darwin":
            return Path.home() / "Library" / "Caches"
        return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    except (RuntimeError, KeyError):
        return None

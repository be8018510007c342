"""Files of the reader's: read only where they have an end, written whole or not at all, never one over another.

`read_input` and `write_atomically` are the only ways in which files of the reader's are read and written. Inside
`one_run`, as every command of the shell is, the second refuses whatever the first has read.
"""

from __future__ import annotations

import contextlib
import difflib
import os
import re
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from pondheat.core.places import PACKAGE

LARGEST = 300_000_000  # bytes; a year of seconds as a plain table has some 900 MB, a year of minutes 25 (judgement)
_HEAD = 4096  # bytes from which the kind of a file is recognised


class NotWritten(OSError):
    """A file was not written, and what was there before is unchanged; the message is a sentence that names it.

    reason: in the system's words, where the system refused.
    """

    def __init__(self, sentence: str, reason: str | None = None):
        super().__init__(sentence)
        self.strerror = reason


class NotRead(OSError):
    """A path holds no file that can be read to its end; the message is a sentence that names it."""


class NotThere(NotRead, FileNotFoundError):
    """There is no such file; the message names the one of that folder whose name is most like it."""

    def __init__(self, path: Path):
        try:
            beside = [one.name for one in path.parent.iterdir() if one.suffix.lower() == path.suffix.lower()]
        except OSError:
            beside = []
        near = difflib.get_close_matches(path.name, beside, 1, 0.75)
        self.finding = f"no such file; did you mean {path.with_name(near[0])}?" if near else "no such file."
        super().__init__(f"{str(path)[:200]}: {self.finding}")


def why_not_read(wrong: Exception) -> str:
    """Why a file could not be read, as the end of a sentence that has named it."""
    if isinstance(wrong, NotThere):
        return wrong.finding
    return str(getattr(wrong, "strerror", None) or wrong).removesuffix(".") + "."


class OutputKind(NamedTuple):
    """A kind of file that the product writes.

    name: with its article, for sentences; suffixes: of its file names; head: pattern that the first bytes of such a
    file match, by which an earlier one is told from anything else.
    """

    name: str
    suffixes: tuple[str, ...]
    head: re.Pattern[bytes]


class _Identity(NamedTuple):
    """What all names of one file share, hard and symbolic links included."""

    device: int
    number: int


@dataclass
class _Run:
    """Files that one run has read, and paths that it has written."""

    inputs: dict[_Identity, Path] = field(default_factory=dict)
    outputs: set[str] = field(default_factory=set)

    def mark_input(self, path: Path) -> None:
        """Note a file that is read, if it exists."""
        if (identity := _identity(path)) is not None:
            self.inputs.setdefault(identity, path)

    def refuse_twice(self, path: Path) -> None:
        """Raise NotWritten for a path that is written already."""
        if os.path.realpath(path) in self.outputs:
            raise NotWritten(f"{path}: two files would be written to this one name; give each a name of its own.")


_RUN: ContextVar[_Run | None] = ContextVar("run", default=None)


@contextlib.contextmanager
def one_run() -> Iterator[None]:
    """Within it, no file that was read is written, and none is written twice."""
    token = _RUN.set(_Run())
    try:
        yield
    finally:
        _RUN.reset(token)


def _identity(path: Path) -> _Identity | None:
    """The identity of an existing file; None where there is none, or none can be told."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return _Identity(found.st_dev, found.st_ino) if found.st_ino else None


# --- reading ------------------------------------------------------------------------------------------------------


def read_input(path: Path, most: int = LARGEST) -> bytes:
    """Contents of a file of the reader's.

    most: largest size that is read [bytes]. Raises NotRead for a folder, a pipe, a device (they may have no end) and a
    file that is too large, NotThere where there is none; other OSErrors as they come.
    """
    try:
        known = os.stat(path)
    except FileNotFoundError:
        raise NotThere(Path(path)) from None
    if stat.S_ISDIR(known.st_mode):
        raise NotRead(f"{path} is a folder; name one file in it.")
    if not stat.S_ISREG(known.st_mode):
        raise NotRead(
            f"{path} is a pipe or a device, which may have no end, and not a file: save what comes out of it in a file."
        )
    if (run := _RUN.get()) is not None:
        run.mark_input(path)
    with open(path, "rb") as file:
        content = file.read(most + 1) if known.st_size <= most else b""
    if max(known.st_size, len(content)) > most:
        raise NotRead(
            f"{path} is larger than {most // 1_000_000} MB, the most that is read at once: split it into years or "
            "months and read those."
        )
    return content


def read_input_text(path: Path) -> str:
    """Text of a file of the reader's in UTF-8; raises UnicodeDecodeError, and what `read_input` raises."""
    return read_input(path).decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")


# --- writing ------------------------------------------------------------------------------------------------------


def write_atomically(path: Path, content: bytes, kind: OutputKind | None = None) -> None:
    """Write a file by replacing it in one step, so that a reader sees the old content or the new, never half of it.

    kind: of the file; None for files of the product's own names in its own folders, over which it may write anything.
    Folders are made where they are missing. A link is followed. Raises NotWritten, after which everything is as it
    was: for a path that `check_target` refuses, a full disk, a missing permission.
    """
    check_target(path, kind)
    target = Path(os.path.realpath(path))
    name = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".writing-")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if os.name == "posix":
            os.chmod(name, stat.S_IMODE(os.stat(target).st_mode) if target.exists() else 0o644)
        os.replace(name, target)
    except OSError as wrong:
        raise NotWritten(
            f"{path} could not be written: {(wrong.strerror or str(wrong)).lower()}. "
            f"{'The earlier file is as it was' if target.exists() else 'No file was made'}.",
            wrong.strerror,
        ) from None
    finally:
        if name is not None:
            Path(name).unlink(missing_ok=True)
    _sync_folder(target.parent)
    if (run := _RUN.get()) is not None:
        run.outputs.add(str(target))


def _sync_folder(folder: Path) -> None:
    """Have the new name reach the disk too, where the system can do so."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def check_target(path: Path, kind: OutputKind | None = None, inputs: tuple[Path, ...] = ()) -> None:
    """Raise NotWritten where a file must not be written: nothing is touched.

    inputs: files that the run is going to read, beside those it has read. Refused are an input by whatever name, a
    path written before in the same run, a folder, a pipe or device, a write-protected file, and with `kind` a file of
    another kind and a name with the ending of one.
    """
    run, identity = _RUN.get() or _Run(), _identity(path)
    for one in inputs:
        run.mark_input(one)
    if identity is not None and identity in run.inputs:
        same = run.inputs[identity]
        also = "" if str(same) == str(path) else f" ({same} is the same file)"
        raise NotWritten(f"{path} would be written over what this command reads{also}: name another file.")
    run.refuse_twice(path)
    if identity is not None:
        _check_existing(path, kind)
    elif kind is not None and path.suffix.lower() in _OTHER_SUFFIXES - set(kind.suffixes):
        raise NotWritten(f"{path}: {kind.name} can't be a {path.suffix} file; the name must end in {kind.suffixes[0]}.")


def check_targets(targets: list[tuple[Path, OutputKind]], inputs: tuple[Path, ...] = ()) -> None:
    """Raise NotWritten before any work where one of these files cannot be written, or two have one name.

    inputs: as for `check_target`.
    """
    planned = _Run()
    for path, kind in targets:
        if not Path(os.path.realpath(path)).parent.is_dir():
            raise NotWritten(f"{path} cannot be written there: there is no folder {path.parent}.")
        check_target(path, kind, inputs)
        planned.refuse_twice(path)
        planned.outputs.add(os.path.realpath(path))


def _check_existing(path: Path, kind: OutputKind | None) -> None:
    """Raise NotWritten unless what exists there may be replaced."""
    mode = os.stat(path).st_mode
    if stat.S_ISDIR(mode):
        raise NotWritten(f"{path} is a folder, so a file cannot be written there: name a file.")
    if not stat.S_ISREG(mode):
        raise NotWritten(f"{path} is a pipe or a device, and no file can be written there: name a file.")
    if not mode & 0o222 or not os.access(path, os.W_OK):
        raise NotWritten(f"{path} is write-protected and is left as it is: name another file.")
    if kind is None:
        return
    try:
        with open(path, "rb") as file:
            head = file.read(_HEAD)
    except OSError as wrong:
        raise NotWritten(f"{path} exists and cannot be looked at ({wrong.strerror}): name another file.") from None
    if head.strip() and not kind.head.match(head):
        raise NotWritten(
            f"{path} exists already and is not {kind.name} from an earlier run, and is left alone: name another file, "
            "or move that one away."
        )


def _csv_head(columns: str) -> re.Pattern[bytes]:
    return re.compile(rb"(?:\xef\xbb\xbf)?" + columns.encode() + rb"[,\r\n]")


SEASON_HOURS = OutputKind("the hours of a season", (".csv", ".txt"), _csv_head("time,water_temp,ice"))
COMPARED_HOURS = OutputKind("a comparison of water temperatures", (".csv", ".txt"), _csv_head("time,measured,computed"))
DECISION_SHEET = OutputKind(
    "a decision sheet", (".html", ".htm"), re.compile(rb"(?s)\s*<!DOCTYPE html>.{0,600}<title>Decision sheet: ")
)
PAPER = OutputKind(  # the head of tutor/templates/paper.html
    "a printed paper",
    (".html", ".htm"),
    re.compile(
        rb'\s*<!DOCTYPE html>\s*<html lang="en-GB">\s*<head>\s*<meta charset="utf-8">\s*'
        rb'<meta name="viewport" content="width=device-width">\s*<title>'
    ),
)
# Endings of files that hold something else than any of the above, or than one of them.
_OTHER_SUFFIXES = {".csv", ".html", ".htm", ".toml", ".json", ".xlsx", ".gz", ".epw", ".ipynb", ".py", ".md", ".pdf"}


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


def cache_folder(name: str) -> Path | None:
    """Where something is kept that can always be made anew: `PONDHEAT_CACHE`, beside the package, the user's cache, or
    a temporary folder, the first of them that can be written; None where none can.

    name: of the folder there; it says all that what is kept depends on.
    """
    own, user = os.environ.get("PONDHEAT_CACHE"), user_cache_folder()
    who = str(os.getuid()) if hasattr(os, "getuid") else ""
    places = [
        Path(own) / name if own else None,
        PACKAGE / "__pycache__" / name,
        user / "pondheat" / name if user else None,
        Path(tempfile.gettempdir()) / f"pondheat-{who}" / name,
    ]
    return next((folder for folder in places if folder is not None and _can_be_written(folder)), None)


def _can_be_written(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False

"""The learner's own copy of the workbook: made and updated without ever losing the learner's work."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass, field
from pathlib import Path

from pondheat.core.files import write_atomically
from pondheat.core.renumbering import former_files

MANIFEST = ".copied.json"
EARLIER = "earlier"
SHIPPED_LIST = Path(__file__).parent / "labextensions" / "pondheat-open" / "served" / "shipped.json"
_COPIED_TYPES = {".ipynb", ".md", ".html", ".svg", ".png", ".jpg", ".pdf"}
TUTOR_FOLDER = "tutor"  # not copied for learners


class NotANotebook(ValueError):
    """A file that can't be read as a notebook."""


@dataclass(frozen=True)
class Fingerprints:
    """Fingerprints of one file: of its code cells and of its other cells, without outputs and metadata."""

    code: str
    text: str = ""


@dataclass
class CopyResult:
    """What an update did with each file, by its path in the learner's folder."""

    moved: dict[str, str] = field(default_factory=dict)  # former path -> present one
    added: list[str] = field(default_factory=list)
    replaced: list[str] = field(default_factory=list)
    set_aside: dict[str, str] = field(default_factory=dict)
    kept: list[str] = field(default_factory=list)
    unreadable: list[str] = field(default_factory=list)


def _digest(sources: list[str]) -> str:
    # Blank cells come and go by accident, so they don't count. NUL separates, as no source that runs can contain it.
    return hashlib.sha256("\0".join(source for source in sources if source.strip()).encode("utf-8")).hexdigest()


def notebook_fingerprints(text: str) -> Fingerprints:
    """Fingerprints of a notebook.

    text: the notebook's JSON. `served/open.js` makes the same fingerprint of the code cells before it runs a page.
    Raises NotANotebook.
    """
    try:
        cells = [(cell["cell_type"], "".join(cell["source"])) for cell in json.loads(text)["cells"]]
        return Fingerprints(
            _digest([source for kind, source in cells if kind == "code"]),
            _digest([source for kind, source in cells if kind != "code"]),
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        raise NotANotebook("This file cannot be read as a notebook.") from None


def file_fingerprints(path: Path) -> Fingerprints:
    """Fingerprints of a notebook's cells, or of any other file's bytes. Raises NotANotebook, OSError."""
    content = path.read_bytes()
    if path.suffix != ".ipynb":
        return Fingerprints(hashlib.sha256(content).hexdigest())
    try:
        return notebook_fingerprints(content.decode("utf-8"))
    except UnicodeDecodeError:
        raise NotANotebook("This file cannot be read as a notebook.") from None


def shipped_files(workbook: Path, tutor: bool = False) -> list[str]:
    """Sorted paths within `workbook` of all files for a learner's copy; tutor: for a tutor's copy."""
    names = []
    for path in workbook.rglob("*"):
        parts = path.relative_to(workbook).parts
        hidden = any(part.startswith((".", "_")) for part in parts)
        if path.is_file() and path.suffix in _COPIED_TYPES and not hidden and (tutor or parts[0] != TUTOR_FOLDER):
            names.append("/".join(parts))
    return sorted(names)


def read_shipped_list(path: Path = SHIPPED_LIST) -> dict[str, list[str]]:
    """Fingerprints of the code of every version ever shipped, newest first, by the notebook's path in the workbook."""
    return json.loads(path.read_text(encoding="utf-8"))


def with_present_notebooks(known: dict[str, list[str]], workbook: Path) -> dict[str, list[str]]:
    """The list of shipped fingerprints with those of the notebooks now in `workbook` put first."""
    pages = sorted([*workbook.glob("*.ipynb"), *workbook.glob(f"{TUTOR_FOLDER}/*.ipynb")])
    present = {path.relative_to(workbook).as_posix(): file_fingerprints(path).code for path in pages}
    return {name: [code, *(old for old in known.get(name, []) if old != code)] for name, code in present.items()}


def _read_manifest(folder: Path) -> dict[str, Fingerprints]:
    try:
        entries = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {name: Fingerprints(str(entry["code"]), str(entry["text"])) for name, entry in entries.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}  # then only copies that equal a shipped version count as unchanged


def _write_manifest(folder: Path, manifest: dict[str, Fingerprints]) -> None:
    entries = {name: {"code": prints.code, "text": prints.text} for name, prints in manifest.items()}
    write_atomically(folder / MANIFEST, (json.dumps(entries, indent=1, sort_keys=True) + "\n").encode("utf-8"))


def _free_place(folder: Path, name: str) -> Path:
    """Where a file of the learner's can be kept under `earlier/`, with nothing there yet."""
    path = Path(name)
    number = 1
    while True:
        ending = "" if number == 1 else f"-{number}"
        target = folder / EARLIER / path.with_name(f"{path.stem}{ending}{path.suffix}")
        if not os.path.lexists(target):
            return target
        number += 1


def _set_aside(folder: Path, name: str) -> str:
    """Save a copy of the learner's file under `earlier/`, and return its path there."""
    target = _free_place(folder, name)
    write_atomically(target, (folder / name).read_bytes())
    return target.relative_to(folder).as_posix()


def _follow_renumbering(
    folder: Path, names: list[str], manifest: dict[str, Fingerprints], known: dict[str, list[str]]
) -> dict[str, str]:
    """Move files that have an earlier number: the learner's changed ones under `earlier/`, others to the present name.

    names: present paths; manifest: gets what is known of a file under its present name. Returns the present path by the
    former. Each move is one renaming to a free name, so a start that was killed leaves only whole files, and the next
    one moves the rest.
    """
    moved = {}
    for name in names:
        for former in former_files(name):
            copied = manifest.pop(former, None)
            if copied is not None:
                manifest.setdefault(name, copied)
            own, target = folder / former, folder / name
            if own.is_symlink() or not own.is_file():
                continue
            if os.path.lexists(target) or not _is_as_shipped(own, copied, known.get(name, [])):
                target = _free_place(folder, former)
                target.parent.mkdir(parents=True, exist_ok=True)
            own.rename(target)
            moved[former] = target.relative_to(folder).as_posix()
    return moved


def _is_as_shipped(path: Path, copied: Fingerprints | None, known: list[str]) -> bool:
    """Whether a file has neither code nor text of the learner's; copied: what it was when it was copied, if known."""
    try:
        own = file_fingerprints(path)
    except NotANotebook:
        return False
    return copied is not None and own.text == copied.text and own.code in {copied.code, *known}


def update_copy(workbook: Path, folder: Path, known: dict[str, list[str]], tutor: bool = False) -> CopyResult:
    """Add files that are missing from the learner's folder, replace unchanged ones by newer versions, keep the rest.

    known: fingerprints of every shipped version (`read_shipped_list`); tutor: also copy the tutor's folder. A notebook
    counts as changed if its code is; a learner's own text beside unchanged code is saved under `earlier/` before the
    page is replaced. A page that was renumbered is moved first. Nothing is ever deleted.
    """
    folder.mkdir(parents=True, exist_ok=True)
    manifest, names = _read_manifest(folder), shipped_files(workbook, tutor)
    result = CopyResult(moved=_follow_renumbering(folder, names, manifest, known))
    for name in names:
        source, target = workbook / name, folder / name
        newest, copied = file_fingerprints(source), manifest.get(name)
        if not os.path.lexists(target):
            result.added.append(name)
        else:
            try:
                own = file_fingerprints(target)
            except (NotANotebook, OSError):
                result.unreadable.append(name)
                continue
            if own == newest:
                manifest[name] = newest
                continue
            unchanged = own.code in {newest.code, copied and copied.code, *known.get(name, [])}
            if not unchanged:
                result.kept.append(name)
                continue
            if copied == newest:
                continue  # only the learner's own text differs, and there is nothing newer
            if copied is None or own.text != copied.text:
                result.set_aside[name] = _set_aside(folder, name)
            result.replaced.append(name)
        write_atomically(target, source.read_bytes())
        manifest[name] = newest
    _write_manifest(folder, manifest)
    return result


def messages(result: CopyResult, folder: Path, first_time: bool) -> list[str]:
    """One sentence for the learner about each thing that an update did."""
    lines = []
    if first_time:
        lines.append(f"Your own copy of the workbook was made in {folder}.")
    elif result.added:
        lines.append(f"New in your copy: {', '.join(result.added)}.")
    if result.moved:
        moves = ", ".join(f"{former} is now {present}" for former, present in result.moved.items())
        lines.append(f"Pages were renumbered, and your answers go with them: {moves}.")
    if any(present.startswith(f"{EARLIER}/") for present in result.moved.values()):
        lines.append(
            f"The pages that you had changed are in {EARLIER}, just as you left them; new ones take their place. "
            "Exercises in the old pages keep their old numbers."
        )
    if result.replaced:
        lines.append(f"Brought up to date: {', '.join(result.replaced)}.")
    for name, place in result.set_aside.items():
        lines.append(f"Your earlier {name}, with what you wrote in it, is kept as {place}.")
    if result.kept:
        lines.append(f"Kept as you changed them (a changed page does not run by itself): {', '.join(result.kept)}.")
    if result.unreadable:
        lines.append(f"Kept, although they cannot be read: {', '.join(result.unreadable)}.")
    return lines

"""The learner's own copy of the workbook: made, brought up to date, and never at the cost of the learner's work."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

MANIFEST = ".copied.json"
EARLIER = "earlier"
SHIPPED_LIST = Path(__file__).parent / "labextensions" / "pondheat-open" / "static" / "shipped.json"
_KINDS = {".ipynb", ".md", ".html", ".svg", ".png", ".jpg", ".pdf"}
TUTORS = "tutor"  # the folder that learners are not given


class NotANotebook(ValueError):
    """The file cannot be read as a notebook."""


@dataclass(frozen=True)
class Prints:
    """Fingerprints of one file: of its code cells, and of its other cells. Outputs and metadata do not count."""

    code: str
    text: str = ""


@dataclass
class Outcome:
    """What happened to each file, by its path within the learner's folder."""

    added: list[str] = field(default_factory=list)
    replaced: list[str] = field(default_factory=list)
    set_aside: dict[str, str] = field(default_factory=dict)
    kept: list[str] = field(default_factory=list)
    unreadable: list[str] = field(default_factory=list)


def _digest(sources: list[str]) -> str:
    # Blank cells come and go by accident, so they do not count. No source can hold a NUL that Python would run.
    return hashlib.sha256("\0".join(source for source in sources if source.strip()).encode("utf-8")).hexdigest()


def notebook_prints(text: str) -> Prints:
    """Fingerprints of a notebook's text (JSON); raises `NotANotebook` where it is none.

    `static/open.js` makes the same fingerprint of the code cells before it runs a page.
    """
    try:
        cells = [(cell["cell_type"], "".join(cell["source"])) for cell in json.loads(text)["cells"]]
        return Prints(
            _digest([source for kind, source in cells if kind == "code"]),
            _digest([source for kind, source in cells if kind != "code"]),
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        raise NotANotebook("This file cannot be read as a notebook.") from None


def file_prints(path: Path) -> Prints:
    """Fingerprints of a notebook, or of any other file's bytes; raises `NotANotebook` or `OSError`."""
    content = path.read_bytes()
    if path.suffix != ".ipynb":
        return Prints(hashlib.sha256(content).hexdigest())
    try:
        return notebook_prints(content.decode("utf-8"))
    except UnicodeDecodeError:
        raise NotANotebook("This file cannot be read as a notebook.") from None


def shipped_files(workbook: Path, tutor: bool = False) -> list[str]:
    """Paths within `workbook` that belong in a learner's copy, or in a tutor's, sorted."""
    found = []
    for path in workbook.rglob("*"):
        parts = path.relative_to(workbook).parts
        hidden = any(part.startswith((".", "_")) for part in parts)
        if path.is_file() and path.suffix in _KINDS and not hidden and (tutor or parts[0] != TUTORS):
            found.append("/".join(parts))
    return sorted(found)


def read_shipped_list(path: Path = SHIPPED_LIST) -> dict[str, list[str]]:
    """Fingerprints of the code of every shipped version, newest first, by the notebook's path within the workbook."""
    return json.loads(path.read_text(encoding="utf-8"))


def brought_up_to_date(known: dict[str, list[str]], workbook: Path) -> dict[str, list[str]]:
    """The list of shipped fingerprints with the present notebooks of `workbook` first."""
    pages = sorted([*workbook.glob("*.ipynb"), *workbook.glob(f"{TUTORS}/*.ipynb")])
    present = {path.relative_to(workbook).as_posix(): file_prints(path).code for path in pages}
    return {name: [code, *(old for old in known.get(name, []) if old != code)] for name, code in present.items()}


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all, also when the power goes in between."""
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


def _read_manifest(folder: Path) -> dict[str, Prints]:
    try:
        entries = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {name: Prints(str(entry["code"]), str(entry["text"])) for name, entry in entries.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}  # without it, only copies that equal some shipped version count as unchanged


def _write_manifest(folder: Path, manifest: dict[str, Prints]) -> None:
    entries = {name: {"code": prints.code, "text": prints.text} for name, prints in manifest.items()}
    write_whole(folder / MANIFEST, (json.dumps(entries, indent=1, sort_keys=True) + "\n").encode("utf-8"))


def _set_aside(folder: Path, name: str) -> str:
    """Keep a second copy of the learner's file under `earlier/`; its path there."""
    source = folder / name
    number = 1
    while True:
        ending = "" if number == 1 else f"-{number}"
        target = folder / EARLIER / Path(name).with_name(f"{source.stem}{ending}{source.suffix}")
        if not target.exists():
            write_whole(target, source.read_bytes())
            return target.relative_to(folder).as_posix()
        number += 1


def bring_up_to_date(workbook: Path, folder: Path, known: dict[str, list[str]], tutor: bool = False) -> Outcome:
    """Add what is missing in the learner's `folder`, replace what is unchanged and has a newer version, keep the rest.

    `known`: fingerprints of every shipped version (`read_shipped_list`). Changed means changed code; a learner's own
    text beside unchanged code goes to `earlier/` before the page is replaced. tutor: with the tutor's folder. Nothing is
    ever deleted.
    """
    folder.mkdir(parents=True, exist_ok=True)
    manifest = _read_manifest(folder)
    outcome = Outcome()
    for name in shipped_files(workbook, tutor):
        source, target = workbook / name, folder / name
        newest, copied = file_prints(source), manifest.get(name)
        if not os.path.lexists(target):
            outcome.added.append(name)
        else:
            try:
                own = file_prints(target)
            except (NotANotebook, OSError):
                outcome.unreadable.append(name)
                continue
            if own == newest:
                manifest[name] = newest
                continue
            unchanged = own.code in {newest.code, copied and copied.code, *known.get(name, [])}
            if not unchanged:
                outcome.kept.append(name)
                continue
            if copied == newest:
                continue  # only the learner's own text differs, and there is nothing newer
            if copied is None or own.text != copied.text:
                outcome.set_aside[name] = _set_aside(folder, name)
            outcome.replaced.append(name)
        write_whole(target, source.read_bytes())
        manifest[name] = newest
    _write_manifest(folder, manifest)
    return outcome


def sentences(outcome: Outcome, folder: Path, first_time: bool) -> list[str]:
    """What the learner is told, a sentence for each thing that happened."""
    said = []
    if first_time:
        said.append(f"Your own copy of the workbook was made in {folder}.")
    elif outcome.added:
        said.append(f"New in your copy: {', '.join(outcome.added)}.")
    if outcome.replaced:
        said.append(f"Brought up to date: {', '.join(outcome.replaced)}.")
    for name, place in outcome.set_aside.items():
        said.append(f"Your earlier {name}, with what you wrote in it, is kept as {place}.")
    if outcome.kept:
        said.append(f"Kept as you changed them (a changed page does not run by itself): {', '.join(outcome.kept)}.")
    if outcome.unreadable:
        said.append(f"Kept, although they cannot be read: {', '.join(outcome.unreadable)}.")
    return said

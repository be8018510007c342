"""Run the workbook's notebooks and store them so that a second run gives the same bytes.

    python tests/refresh_notebooks.py                 run and tidy all of workbook/, renew the list of shipped code
    python tests/refresh_notebooks.py workbook/05*    only these (the list is renewed for all)
    python tests/refresh_notebooks.py --check         change nothing; say which are not tidy or not in the list

What each page shows once it has run is kept beside that list, for a browser to show until Python answers.
Exit 0, or 1 where --check finds something. To start the list of shipped code anew, put {} into it and run this.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat
import stored_pages
from nbclient import NotebookClient

from pondheat.core.number_format import unbroken
from pondheat.core.places import CLONE
from pondheat.front_door import copying

SHIPPED = CLONE / "pondheat" / "front_door" / "labextensions" / "pondheat-open" / "served" / "shipped.json"
STORED = "stored"  # the folder of what the pages show, beside the list
KERNELSPEC = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
# A page's Python ends a cell only when its work in the background has ended, so that its answer is stored.
WAITING = """
import threading
def wait(result):
    for thread in threading.enumerate():
        if thread.name == "work of a page":
            thread.join(60)
get_ipython().events.register("post_run_cell", wait)
"""
KEPT_IN_CELLS = {"tags", "jupyter"}  # jupyter.source_hidden folds the code
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def tidy(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """`notebook` without what changes from run to run: versions, times, the widgets' state and their addresses.

    In its prose, numbers are kept with their units.
    """
    notebook.metadata = nbformat.from_dict(
        {
            "kernelspec": KERNELSPEC,
            "language_info": {"name": "python"},
            "pondheat": notebook.metadata.get("pondheat", {}),
        }
    )
    for cell in notebook.cells:
        cell.metadata = nbformat.from_dict({key: cell.metadata[key] for key in KEPT_IN_CELLS & cell.metadata.keys()})
        if cell.cell_type == "markdown":
            cell.source = unbroken(cell.source)
        for output in cell.get("outputs", []):
            if "data" in output:
                output.data.pop(WIDGET_VIEW, None)
                output.metadata = nbformat.from_dict({})
    notebook.nbformat, notebook.nbformat_minor = 4, 5
    return notebook


def written(notebook: nbformat.NotebookNode) -> bytes:
    """The bytes of a tidy notebook."""
    return (nbformat.writes(notebook) + "\n").encode("utf-8")


def refresh(path: Path, workbook: Path, shown: Path) -> bool:
    """Run and tidy one notebook, and store what it shows; True if its bytes changed."""
    before = path.read_bytes()
    notebook = nbformat.reads(before.decode("utf-8"), as_version=4)
    NotebookClient(
        notebook,
        timeout=120,
        kernel_name="python3",
        record_timing=False,
        coalesce_streams=True,
        resources={"metadata": {"path": str(path.parent)}},
        extra_arguments=[f"--IPKernelApp.exec_lines={WAITING}"],
    ).execute()
    shown.mkdir(exist_ok=True)
    copying.write_atomically(
        stored_pages.place(shown, path.resolve().relative_to(workbook.resolve()).as_posix()),
        stored_pages.written(stored_pages.stored(notebook)),
    )
    nbformat.validate(tidy(notebook))
    after = written(notebook)
    if after != before:
        copying.write_atomically(path, after)
    return after != before


def faults(path: Path) -> list[str]:
    """What keeps one notebook from being as `refresh` leaves it, as far as that shows without running it."""
    content = path.read_bytes()
    notebook = nbformat.reads(content.decode("utf-8"), as_version=4)
    nbformat.validate(notebook)
    found = []
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    if [cell.execution_count for cell in code] != list(range(1, len(code) + 1)):
        found.append("its cells were not run from top to bottom in one go")
    if any(output.output_type == "error" for cell in code for output in cell.outputs):
        found.append("a cell ended in an error")
    if written(tidy(notebook)) != content:
        found.append("it is not tidy")
    return [f"{path.name}: {fault}" for fault in found]


def stored_faults(path: Path, workbook: Path, shown: Path) -> list[str]:
    """Whether a page's stored picture is that of its present cells."""
    kept = stored_pages.place(shown, path.resolve().relative_to(workbook.resolve()).as_posix())
    if not kept.exists():
        return [f"{path.name}: what it shows is not stored"]
    content, notebook = json.loads(kept.read_bytes()), nbformat.read(path, as_version=4)
    code = {cell.id for cell in notebook.cells if cell.cell_type == "code"}
    if any("Working out your pond" in shown for shown in content["cells"].values()):
        return [f"{path.name}: what is stored of it was made before its answer"]
    return [] if content["cells"].keys() == code else [f"{path.name}: what is stored of it is not of its present cells"]


def titles(workbook: Path) -> bytes:
    """The list of the pages' titles by path, for the list of contents."""
    found = {
        path.relative_to(workbook).as_posix(): stored_pages.title(nbformat.read(path, as_version=4))
        for path in sorted([*workbook.glob("*.ipynb"), *workbook.glob("tutor/*.ipynb")])
    }
    return stored_pages.written(found)


def check(paths: list[Path], workbook: Path, listed: Path) -> list[str]:
    """Everything that is wrong with the notebooks and with the list of shipped code, a line each."""
    found = [fault for path in paths for fault in faults(path)]
    found += [fault for path in paths for fault in stored_faults(path, workbook, listed.parent / STORED)]
    kept_titles = listed.parent / STORED / "titles.json"
    if not kept_titles.exists() or kept_titles.read_bytes() != titles(workbook):
        found.append(f"{kept_titles.name}: it does not name the pages' present titles")
    known = copying.read_shipped_list(listed)
    if known != copying.with_present_notebooks(known, workbook):
        found.append(f"{listed.name}: it does not name the notebooks' present code")
    return found


def main(arguments: list[str] | None = None) -> int:
    """Refresh, or with --check only look; returns the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("paths", nargs="*", type=Path)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--workbook", type=Path, default=CLONE / "workbook")
    parser.add_argument("--shipped", type=Path, default=SHIPPED)
    args = parser.parse_args(arguments)
    paths = args.paths or sorted([*args.workbook.glob("*.ipynb"), *args.workbook.glob("tutor/*.ipynb")])
    if args.check:
        found = check(paths, args.workbook, args.shipped)
        print("\n".join(found) or f"{len(paths)} notebooks are as a refresh leaves them.")
        return 1 if found else 0
    os.environ["PYTHONPATH"] = str(CLONE)
    with ThreadPoolExecutor(2) as pool:
        shown = args.shipped.parent / STORED
        for path, changed in zip(paths, pool.map(lambda path: refresh(path, args.workbook, shown), paths)):
            print("changed" if changed else "same   ", path)
    copying.write_atomically(shown / "titles.json", titles(args.workbook))
    known = copying.with_present_notebooks(copying.read_shipped_list(args.shipped), args.workbook)
    copying.write_atomically(args.shipped, (json.dumps(known, indent=1, sort_keys=True) + "\n").encode("utf-8"))
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The workbook's own command, run in a copy of the clone as a person with a fresh home would start it."""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from pondheat.core.places import CLONE
from pondheat.front_door import copying

# Runs a command in its own process group and ends the whole group when its input closes, that is, when the tests have
# ended in whatever way. A Ctrl-C to the group is meant for the command alone.
GUARD = """
import os, signal, subprocess, sys, threading
signal.signal(signal.SIGINT, lambda *_: None)
command = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL)
def watch():
    sys.stdin.buffer.read()
    os.killpg(0, signal.SIGKILL)
threading.Thread(target=watch, daemon=True).start()
os._exit(command.wait())
"""


def write_notebook(path: Path, *cells: str, run_on_open: bool = True) -> None:
    """Write a notebook like those of the workbook: cells that start with ``# `` are text, the others folded code."""
    made = [
        new_markdown_cell(cell, id=f"text-{at}")
        if cell.startswith("# ") and "\n" not in cell
        else new_code_cell(cell, id=f"code-{at}", metadata={"jupyter": {"source_hidden": True}})
        for at, cell in enumerate(cells)
    ]
    kernelspec = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    nbformat.write(
        new_notebook(cells=made, metadata={"kernelspec": kernelspec, "pondheat": {"run_on_open": run_on_open}}), path
    )


def copy_clone(copy: Path, more: dict[str, tuple[str, ...]]) -> None:
    """Copy the clone, with more pages in its workbook (their cells by name), which count as shipped."""
    for room in ("pondheat", "workbook", "data"):
        shutil.copytree(CLONE / room, copy / room, ignore=shutil.ignore_patterns("__pycache__", ".ipynb_checkpoints"))
    for name, cells in more.items():
        write_notebook(copy / "workbook" / name, *cells)
    listed = copy / copying.SHIPPED_LIST.relative_to(CLONE)
    known = copying.with_present_notebooks(copying.read_shipped_list(listed), copy / "workbook")
    listed.write_text(json.dumps(known), encoding="utf-8")


class Workbook:
    """`python -m pondheat`, running in a clone; its address comes by way of the BROWSER variable."""

    def __init__(self, clone: Path, home: Path, *options: str):
        self.clone, self.home = clone, home
        asked = [option.removeprefix("--folder=") for option in options if option.startswith("--folder=")]
        self.folder = Path(asked[0]) if asked else clone / "my-workbook"
        home.mkdir(parents=True)
        told = home / "address"
        browser = home / "browser"
        browser.write_text(f'#!/bin/sh\nprintf %s "$1" > "{told}.part" && mv "{told}.part" "{told}"\n')
        browser.chmod(0o755)
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("JUPYTER", "XDG_", "IPYTHON", "PYTHON", "PYTEST", "COV_"))
        }
        environment = {
            **kept,
            "HOME": str(home),
            "BROWSER": str(browser),
            "IPYTHONDIR": str(home / "ipython"),
            "MPLCONFIGDIR": str(home / "mpl"),
            "PYTHONUTF8": "1",
        }
        if not any(option.startswith("--port=") for option in options):
            # Each test process has its own range of ports: two servers that start at the same moment find the same port
            # free, and the later one then ends.
            worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
            options = (*options, f"--port={8888 + 60 * worker}")
        self.started = time.perf_counter()
        with (home / "said").open("w") as said:
            self._process = subprocess.Popen(
                [sys.executable, "-c", GUARD, sys.executable, "-m", "pondheat", *options],
                cwd=clone,
                env=environment,
                stdin=subprocess.PIPE,
                stdout=said,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        atexit.register(self.end)
        wait_for(
            lambda: (
                self._process.poll() is not None
                or ("The workbook is open" in self.said() and (told.exists() or "--no-browser" in options))
            ),
            30,
            self.said,
        )
        if self._process.poll() is not None:
            raise RuntimeError(f"python -m pondheat ended: {self.said()}")
        self.opened = told.read_text() if told.exists() else None
        parts = urllib.parse.urlsplit(re.search(r"http://127\.0\.0\.1:\d+/\S*", self.said())[0])
        self.base = f"{parts.scheme}://{parts.netloc}"
        self.token = urllib.parse.parse_qs(parts.query)["token"][0]
        wait_for(self._answers, 30, self.said)
        self.is_new = True  # no test has had it yet
        self._new = {path: path.read_bytes() for path in self.folder.rglob("*") if path.is_file()}

    def runs(self) -> bool:
        """Whether the command is still running."""
        return self._process.poll() is None

    def restore_folder(self) -> None:
        """Make the learner's folder what it was at the start: no answers, no sheet, no saved pages."""
        for path in [path for path in self.folder.rglob("*") if path.is_file() and path not in self._new]:
            path.unlink()
        for path, content in self._new.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)

    def said(self) -> str:
        """Everything that the command has printed."""
        return (self.home / "said").read_text()

    def address(self, name: str) -> str:
        """The address of one page of the learner's folder, in the view that shows a single document."""
        return f"{self.base}/doc/tree/{urllib.parse.quote(name)}?token={self.token}&reset"

    def ask(self, path: str, method: str = "GET"):
        """The answer of the server's API, from JSON."""
        request = urllib.request.Request(
            f"{self.base}/api/{path}", method=method, headers={"Authorization": f"token {self.token}"}
        )
        content = urllib.request.urlopen(request, timeout=10).read()
        return json.loads(content) if content else None

    def _answers(self) -> bool:
        """Whether the server answers yet; the command may say that it is open a moment earlier."""
        try:
            return bool(self.ask("status"))
        except OSError:
            return False

    def kernel(self, name: str) -> dict | None:
        """The server's record of a page's kernel."""
        return next((one["kernel"] for one in self.ask("sessions") if one["path"] == name), None)

    def close_pages(self) -> None:
        """End every kernel. A page that is being closed may end its own first, or have asked for one a moment ago."""

        def closed() -> bool:
            for one in self.ask("sessions"):
                with contextlib.suppress(urllib.error.HTTPError):
                    self.ask(f"sessions/{one['id']}", "DELETE")
            return self.ask("sessions") == []

        wait_for(closed, 20, self.said)

    def interrupt(self) -> int:
        """Send Ctrl-C to the whole process group, as a terminal does; returns the command's exit code."""
        os.killpg(self._process.pid, signal.SIGINT)
        return self._process.wait(20)

    def end(self) -> None:
        """End the whole process group, whatever state it is in."""
        self._process.stdin.close()
        self._process.wait(20)  # the guard ends with its group
        atexit.unregister(self.end)


def wait_for(happened, seconds: float, tell=lambda: "it did not happen"):
    """Wait until `happened()` is true and return its value; `TimeoutError` with what `tell()` returns."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if value := happened():
            return value
        time.sleep(0.05)
    raise TimeoutError(tell())

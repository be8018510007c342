"""Drive the workbook in a real browser: the command itself, a watched page, and the moments worth waiting for."""

from __future__ import annotations

import atexit
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

CLONE = Path(__file__).resolve().parents[2]
SCREENSHOTS = CLONE / "screenshots"
CHROMIUM_OPTIONS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                    "--disable-background-networking", "--disable-component-update", "--disable-sync"]

# Runs a command in a process group of its own and ends the whole group when its own input closes, that is, when the
# tests are gone, however they went. A Ctrl-C to the group is for the command alone.
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


def find_chromium() -> str | None:
    """Chromium's path: PONDHEAT_CHROMIUM, else one found on PATH."""
    asked = os.environ.get("PONDHEAT_CHROMIUM")
    if asked:
        return asked if Path(asked).exists() else None
    names = ("chromium", "chromium-browser", "google-chrome", "chrome",
             "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome")
    return next((found for name in names if (found := shutil.which(name))), None)


def write_notebook(path: Path, *cells: str, run_on_open: bool = True) -> None:
    """A notebook as the workbook has them: text cells start with ``#`` and a space, all others are folded code."""
    made = [new_markdown_cell(cell, id=f"text-{at}") if cell.startswith("# ") and "\n" not in cell
            else new_code_cell(cell, id=f"code-{at}", metadata={"jupyter": {"source_hidden": True}})
            for at, cell in enumerate(cells)]
    kernelspec = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    nbformat.write(new_notebook(cells=made, metadata={"kernelspec": kernelspec,
                                                      "pondheat": {"run_on_open": run_on_open}}), path)


class Workbook:
    """`python -m pondheat` in a clone, as a person with a fresh home would start it; its address comes by BROWSER."""

    def __init__(self, clone: Path, home: Path, *options: str):
        self.clone, self.home, self.folder = clone, home, clone / "my-workbook"
        home.mkdir(parents=True)
        told = home / "address"
        browser = home / "browser"
        browser.write_text(f'#!/bin/sh\nprintf %s "$1" > "{told}.part" && mv "{told}.part" "{told}"\n')
        browser.chmod(0o755)
        kept = {name: value for name, value in os.environ.items()
                if not name.startswith(("JUPYTER", "XDG_", "IPYTHON", "PYTHON", "PYTEST", "COV_"))}
        environment = {**kept, "HOME": str(home), "BROWSER": str(browser), "IPYTHONDIR": str(home / "ipython"),
                       "MPLCONFIGDIR": str(home / "mpl"), "PYTHONUTF8": "1"}
        self.started = time.perf_counter()
        with (home / "said").open("w") as said:
            self._process = subprocess.Popen([sys.executable, "-c", GUARD, sys.executable, "-m", "pondheat",
                                              *options],
                                             cwd=clone, env=environment, stdin=subprocess.PIPE, stdout=said,
                                             stderr=subprocess.STDOUT, start_new_session=True)
        atexit.register(self.end)
        wait_for(lambda: self._process.poll() is not None or (
            "The workbook is open" in self.said() and (told.exists() or "--no-browser" in options)), 30, self.said)
        if self._process.poll() is not None:
            raise RuntimeError(f"python -m pondheat ended: {self.said()}")
        self.opened = told.read_text() if told.exists() else None
        parts = urllib.parse.urlsplit(re.search(r"http://127\.0\.0\.1:\d+/\S*", self.said())[0])
        self.base = f"{parts.scheme}://{parts.netloc}"
        self.token = urllib.parse.parse_qs(parts.query)["token"][0]

    def said(self) -> str:
        """All that the command has printed."""
        return (self.home / "said").read_text()

    def address(self, name: str) -> str:
        """Where one page of the learner's folder opens, in the view that shows a single document."""
        return f"{self.base}/doc/tree/{urllib.parse.quote(name)}?token={self.token}&reset"

    def ask(self, path: str, method: str = "GET"):
        """The server's own answer, as JSON."""
        request = urllib.request.Request(f"{self.base}/api/{path}", method=method,
                                         headers={"Authorization": f"token {self.token}"})
        content = urllib.request.urlopen(request, timeout=10).read()
        return json.loads(content) if content else None

    def kernel(self, name: str) -> dict | None:
        """The kernel of one page, as the server has it."""
        return next((one["kernel"] for one in self.ask("sessions") if one["path"] == name), None)

    def close_pages(self) -> None:
        """End every kernel."""
        for one in self.ask("sessions"):
            self.ask(f"sessions/{one['id']}", "DELETE")

    def interrupt(self) -> int:
        """Ctrl-C, as a terminal sends it: to the whole group. Returns the command's exit code."""
        os.killpg(self._process.pid, signal.SIGINT)
        return self._process.wait(20)

    def end(self) -> None:
        """End the whole group, whatever state it is in."""
        self._process.stdin.close()
        self._process.wait(20)  # the guard ends with its group
        atexit.unregister(self.end)


class Watch:
    """Collects what a page must not show: errors anywhere, and requests that leave this machine."""

    # JupyterLab asks for the state of widgets before ipywidgets is imported; the kernel answers with one of these.
    HARMLESS = (b"No such comm: ", b"No such comm target registered: jupyter.widget.control")
    BAD = (b'"msg_type": "error"', b'"msg_type":"error"', b"Traceback (most recent call last)", b'"name": "stderr"',
           b'"name":"stderr"')

    def __init__(self, page):
        self.console, self.page, self.kernel, self.outside, self.dialogs = [], [], [], [], []
        self.sent, self.received = [], []
        page.on("console", lambda message: self.console.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self.page.append(str(error)))
        page.on("request", lambda request: self._request(request.url))
        page.on("websocket", self._websocket)
        page.on("dialog", self._dialog)

    def _dialog(self, dialog) -> None:
        self.dialogs.append((dialog.type, dialog.message))
        dialog.accept()

    def _request(self, url: str) -> None:
        if not url.startswith(("http://127.0.0.1:", "data:", "blob:", "file:")):
            self.outside.append(url)

    def _websocket(self, socket) -> None:
        if not socket.url.startswith("ws://127.0.0.1:"):
            self.outside.append(socket.url)
        socket.on("framesent", lambda frame: self.sent.append((time.perf_counter(), _bytes(frame))))
        socket.on("framereceived", lambda frame: self._frame(_bytes(frame)))

    def _frame(self, frame: bytes) -> None:
        self.received.append((time.perf_counter(), frame))
        if any(mark in frame for mark in self.BAD) and not any(mark in frame for mark in self.HARMLESS):
            self.kernel.append(frame[-2500:].decode("utf-8", "replace"))

    def faults(self) -> dict[str, list]:
        """All that was wrong, by kind; empty where nothing was."""
        kinds = ("console", "page", "kernel", "outside", "dialogs")
        return {kind: found for kind in kinds if (found := getattr(self, kind))}


def _bytes(frame) -> bytes:
    return frame if isinstance(frame, bytes) else frame.encode("utf-8")


def wait_for(happened, seconds: float, tell=lambda: "it did not happen"):
    """Wait until `happened()` is true; its value. Raises `TimeoutError` with what `tell()` says."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if value := happened():
            return value
        time.sleep(0.05)
    raise TimeoutError(tell())


def wait_until_ready(page, workbook: Workbook, name: str) -> None:
    """Until the page's kernel is attached and idle: by the server's word and the status bar's.

    Lab's own indicator says idle too early, and cells run before this lose their outputs.
    """
    def ready() -> bool:
        kernel = workbook.kernel(name)
        bar = page.locator("#jp-main-statusbar")
        return bool(kernel and kernel["execution_state"] == "idle" and kernel["connections"]
                    and bar.count() and "| Idle" in bar.inner_text())
    end = time.monotonic() + 30
    while not ready():
        if time.monotonic() > end:
            raise TimeoutError(f"the kernel of {name} is not ready: {workbook.kernel(name)}")
        page.wait_for_timeout(50)  # lets the page's events through, as time.sleep would not


def choose_from_menu(page, menu: str, entry: re.Pattern | str) -> None:
    """A menu's entry, by the names on the screen."""
    page.get_by_role("menuitem", name=menu, exact=True).click()
    page.get_by_role("menuitem", name=entry, exact=isinstance(entry, str)).click()


def take_screenshots(page, name: str, widths: tuple[int, ...] = (1280, 800)) -> list[Path]:
    """The page at each width, in `screenshots/`."""
    SCREENSHOTS.mkdir(exist_ok=True)
    before, taken = page.viewport_size, []
    for width in widths:
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_timeout(150)
        taken.append(SCREENSHOTS / f"{name}-{width}.png")
        page.screenshot(path=taken[-1])
    page.set_viewport_size(before)
    return taken

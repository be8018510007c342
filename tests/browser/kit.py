"""Drive the workbook in a real browser: the command itself, a watched page, and the moments worth waiting for."""

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
import urllib.parse
import urllib.request
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from pondheat.core.places import CLONE
from pondheat.front_door import copying

CHROMIUM_OPTIONS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

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
    names = (
        "chromium",
        "chromium-browser",
        "google-chrome",
        "chrome",
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    )
    return next((found for name in names if (found := shutil.which(name))), None)


def write_notebook(path: Path, *cells: str, run_on_open: bool = True) -> None:
    """A notebook as the workbook has them: text cells start with ``#`` and a space, all others are folded code."""
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
    """A copy of the clone, with some pages more in its workbook: their cells by name; they count as shipped."""
    for room in ("pondheat", "workbook", "data"):
        shutil.copytree(CLONE / room, copy / room, ignore=shutil.ignore_patterns("__pycache__", ".ipynb_checkpoints"))
    for name, cells in more.items():
        write_notebook(copy / "workbook" / name, *cells)
    listed = copy / copying.SHIPPED_LIST.relative_to(CLONE)
    known = copying.with_present_notebooks(copying.read_shipped_list(listed), copy / "workbook")
    listed.write_text(json.dumps(known), encoding="utf-8")


class Workbook:
    """`python -m pondheat` in a clone, as a person with a fresh home would start it; its address comes by BROWSER."""

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
            # Each of several test processes looks in a range of its own: two servers that start in the same moment find
            # the same port free, and the later one then ends.
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
        """All that the command has printed."""
        return (self.home / "said").read_text()

    def address(self, name: str) -> str:
        """Where one page of the learner's folder opens, in the view that shows a single document."""
        return f"{self.base}/doc/tree/{urllib.parse.quote(name)}?token={self.token}&reset"

    def ask(self, path: str, method: str = "GET"):
        """The server's own answer, as JSON."""
        request = urllib.request.Request(
            f"{self.base}/api/{path}", method=method, headers={"Authorization": f"token {self.token}"}
        )
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
    BAD = (
        b'"msg_type": "error"',
        b'"msg_type":"error"',
        b"Traceback (most recent call last)",
        b'"name": "stderr"',
        b'"name":"stderr"',
    )

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


@contextlib.contextmanager
def watched_page(profile):
    """A page; `page.watch` collects what goes wrong on it."""
    page = profile.new_page()
    page.watch = Watch(page)
    yield page
    page.close()


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
        return bool(
            kernel
            and kernel["execution_state"] == "idle"
            and kernel["connections"]
            and bar.count()
            and "| Idle" in bar.inner_text()
        )

    end = time.monotonic() + 30
    while not ready():
        if time.monotonic() > end:
            raise TimeoutError(f"the kernel of {name} is not ready: {workbook.kernel(name)}")
        page.wait_for_timeout(50)  # lets the page's events through, as time.sleep would not


# What is wider than the window, or whose words do not fit into it.
CUT = """() => [...document.querySelectorAll("body *")].filter(node => {
  const box = node.getBoundingClientRect();
  return box.right > innerWidth + 0.5 || box.left < -0.5 || node.scrollWidth > node.clientWidth + 1 && node.clientWidth;
}).map(node => node.outerHTML.slice(0, 80))"""


def sheets(pdf: bytes) -> int:
    """How many sheets of paper a PDF has."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def choose_from_menu(page, menu: str, entry: re.Pattern | str) -> None:
    """A menu's entry, by the names on the screen."""
    page.get_by_role("menuitem", name=menu, exact=True).click()
    page.get_by_role("menuitem", name=entry, exact=isinstance(entry, str)).click()


def open_lesson(page, workbook: Workbook, name: str) -> None:
    """Open one page of the workbook and wait until it has run by itself, to its last cell."""
    page.goto(workbook.address(name), wait_until="commit")
    wait_until_run(page)


def wait_until_run(page) -> None:
    """Until the page has run and all that its cells show is drawn.

    As long as cells wait or run, Lab marks them with a star; a control that the browser has not drawn yet is an empty
    element.
    """
    page.locator(".ph-control").first.wait_for(state="attached", timeout=60000)
    page.wait_for_function(
        """() => {
      const prompts = [...document.querySelectorAll(".jp-CodeCell .jp-InputPrompt, .jp-CodeCell .jp-OutputPrompt")];
      return !prompts.some(prompt => prompt.textContent.includes("*"))
        && document.querySelector("#jp-main-statusbar").innerText.includes("| Idle")
        && !document.querySelector(".jp-OutputArea-output .lm-Widget:empty");
    }""",
        timeout=60000,
    )


def drag(page, slider, to: float, moves: int = 30, seconds: float = 1.5) -> float:
    """Drag a slider's thumb to a value; the moment the mouse was let go."""
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    least, most, now = (float(slider.evaluate(f"node => node.{of}")) for of in ("min", "max", "value"))

    def place(value: float) -> tuple[float, float]:
        return box["x"] + 12 + (box["width"] - 24) * (value - least) / (most - least), box["y"] + box["height"] / 2

    page.mouse.move(*place(now))
    page.mouse.down()
    for move in range(1, moves + 1):
        page.wait_for_timeout(1000 * seconds / moves)
        page.mouse.move(*place(now + (to - now) * move / moves))
    page.mouse.up()
    return time.perf_counter()


@contextlib.contextmanager
def whole_in_view(page, width: int = 1280):
    """The window as tall as the page's content, so that nothing of it is scrolled away."""
    before = page.viewport_size

    def all_seen() -> bool:
        # Lab keeps room below the last cell, which grows with the window: the last cell's foot is the measure.
        wanted = page.evaluate("""() => {
          document.querySelector(".jp-WindowedPanel-outer").scrollTop = 0;
          return Math.ceil([...document.querySelectorAll(".jp-Cell")].at(-1).getBoundingClientRect().bottom) + 20;
        }""")
        if seen := page.viewport_size["width"] == width and wanted <= page.viewport_size["height"]:
            return seen
        page.set_viewport_size({"width": width, "height": wanted + 40})
        page.wait_for_timeout(100)  # lets the page lay itself out anew
        return False

    try:
        wait_for(all_seen, 30, lambda: "the page does not come into view as a whole")
        yield
    finally:
        page.set_viewport_size(before)


def take_screenshots(page, folder: Path, name: str, widths: tuple[int, ...] = (1280, 800)) -> list[Path]:
    """The whole page at each width, in a folder."""
    taken = []
    for width in widths:
        with whole_in_view(page, width):
            taken.append(folder / f"{name}-{width}.png")
            page.screenshot(path=taken[-1])
    return taken


OUR_OWN = [".jp-Notebook .jp-OutputArea-output", ".jp-Notebook .jp-RenderedMarkdown"]  # what Lab draws is Lab's


def barriers(page) -> list[str]:
    """What axe finds serious or critical in what the page itself draws, a line each; empty where nothing is."""
    from axe_playwright_python.base import AXE_SCRIPT

    # What is scrolled away, and all that stands in a body without height (as Lab's has), axe would take for hidden.
    with whole_in_view(page):
        page.add_style_tag(content="body { height: 100vh; }")
        page.evaluate(AXE_SCRIPT)
        found = page.evaluate(
            "([where, how]) => axe.run(where, how)",
            [OUR_OWN, {"resultTypes": ["violations", "passes"], "rules": {"target-size": {"enabled": True}}}],
        )
    looked_at = {rule["id"] for rule in found["passes"]}
    if missing := {"color-contrast", "label", "svg-img-alt", "target-size"} - looked_at:
        raise AssertionError(f"axe saw nothing to judge by {sorted(missing)}: the page was not in view")
    return [
        f"{rule['impact']}, {rule['id']}: {rule['help']}: {node['html'][:200]} {node['failureSummary']}"
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
        for node in rule["nodes"]
    ]


def open_everything(page) -> None:
    """Bring out what a reader may bring out: panels, arithmetic, hints, and a sentence under every answer."""
    questions = page.locator("fieldset.ph-control")
    how_sure = questions.filter(has_text="How sure are you?")  # comes out once a guess is made
    for question in questions.filter(has_not_text="How sure are you?", visible=True).all():
        question.get_by_role("radio").first.check()
    for question in how_sure.all():
        question.get_by_role("radio").first.check()
    page.locator(".ph-panel").first.wait_for()
    closed = page.locator("details.ph-fold:not([open]) > summary")
    while closed.count():
        closed.first.click()
    page.wait_for_function("() => !document.querySelector('details.ph-fold[open] > div:empty, .ph-fold:not([open])')")
    exercises = page.locator(".ph-answer").all()
    for exercise in exercises:  # all are asked before the first is waited for: Python answers one after another
        answer = exercise.get_by_role("textbox", name="Your answer")
        answer.fill("a few")
        answer.press("Enter")
    for exercise in exercises:
        exercise.get_by_text("Not read").wait_for()
    hinting = [exercise for exercise in exercises if exercise.get_by_role("button", name="Hint").is_visible()]
    for exercise in hinting:
        exercise.get_by_role("button", name="Hint").click()
    for exercise in hinting:
        exercise.get_by_role("listitem").first.wait_for()

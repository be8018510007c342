"""Drive the workbook in a real browser: a watched page, the moments worth waiting for, and what is measured on it."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import time
from pathlib import Path

from command import Workbook, copy_clone, wait_for

from pondheat.core.places import CLONE

__all__ = ["CLONE", "Workbook", "copy_clone", "wait_for"]

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


class Watch:
    """Collects what a page must not have: errors anywhere, and requests that leave this machine."""

    # JupyterLab asks for the state of widgets before ipywidgets is imported; the kernel answers with one of these.
    HARMLESS = (b"No such comm: ", b"No such comm target registered: jupyter.widget.control")
    # JupyterLab's word for a widget that Python closes when the page, on its way to another document, no longer has it.
    LEFT = "Comm not found for comm id "
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
        page.on("console", self._console)
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

    def _console(self, message) -> None:
        if message.type == "error" and not message.text.startswith(self.LEFT):
            self.console.append(f"{message.text} {message.location.get('url', '')}".strip())

    def faults(self) -> dict[str, list]:
        """Everything that went wrong, by kind."""
        kinds = ("console", "page", "kernel", "outside", "dialogs")
        return {kind: found for kind in kinds if (found := getattr(self, kind))}


def _bytes(frame) -> bytes:
    return frame if isinstance(frame, bytes) else frame.encode("utf-8")


@contextlib.contextmanager
def watched_page(profile):
    """A new page; `page.watch` collects what goes wrong on it."""
    page = profile.new_page()
    page.watch = Watch(page)
    yield page
    page.close()


@contextlib.contextmanager
def without_python(page):
    """In this block no document that the page opens gets a Python: the questions for one, which it gives, wait.

    They would reach the server once the page is closed, so the page leaves its document first.
    """
    waiting = []
    page.route(
        "**/api/sessions*",
        lambda route: waiting.append(route) if route.request.method == "POST" else route.continue_(),
    )
    yield waiting
    if not page.is_closed():
        page.goto("about:blank")


SEEN = ".jp-NotebookPanel:not(.lm-mod-hidden)"  # the notebook on view


def wait_until_ready(page, workbook: Workbook, name: str) -> None:
    """Wait until the page's kernel is attached and idle, according to the server and to the page itself.

    Lab's own indicator says idle too early; cells run before this lose their outputs.
    """

    def ready() -> bool:
        kernel = workbook.kernel(name)
        return bool(
            kernel
            and kernel["execution_state"] == "idle"
            and kernel["connections"]
            and page.locator(f"{SEEN}[data-python=idle]").count()
        )

    end = time.monotonic() + 30
    while not ready():
        if time.monotonic() > end:
            raise TimeoutError(f"the kernel of {name} is not ready: {workbook.kernel(name)}")
        page.wait_for_timeout(50)  # lets the page's events through, as time.sleep would not


# Elements that stick out of the window, or whose text doesn't fit into them. The words of a drawing must stay in its
# frame: their own lengths are in units of the drawing.
CUT = """() => [...document.querySelectorAll("body *")].filter(node => {
  const box = node.getBoundingClientRect(), drawing = node.ownerSVGElement;
  if (box.right > innerWidth + 0.5 || box.left < -0.5) return true;
  if (!drawing) return node.scrollWidth > node.clientWidth + 1 && node.clientWidth;
  const frame = drawing.getBoundingClientRect();
  return node.localName === "text" && (box.left < frame.left - 0.5 || box.right > frame.right + 0.5
    || box.top < frame.top - 0.5 || box.bottom > frame.bottom + 0.5);
}).map(node => node.outerHTML.slice(0, 80))"""


# Controls of a first panel over which something else lies once they have the keys. In a small window, the picture
# that moves with them must be in view, too.
COVERED = """() => {
  const panel = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-OutputArea .ph-panel");
  const picture = panel.querySelector(".ph-right:not(:has(table, .ph-control, .ph-stays)) figure svg");
  return [...panel.querySelectorAll(".ph-left input")].filter(input => {
    if (!input.checkVisibility()) return false;
    input.focus();
    const box = input.getBoundingClientRect(), there = picture?.getBoundingClientRect();
    const seen = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    return seen !== input || (there && (there.top < 40 || there.bottom > innerHeight + 0.5));
  }).map(input => input.outerHTML.slice(0, 80));
}"""


# Pictures of a panel whose box is of another shape than what is drawn: a pointer would read another place of a chart.
LOOSE = """() => [...document.querySelectorAll(".ph-panel .ph-figure > svg")].filter(svg => {
  const box = svg.getBoundingClientRect(), drawn = svg.viewBox.baseVal;
  return box.width && Math.abs(box.width * drawn.height / (box.height * drawn.width) - 1) > 0.01;
}).map(svg => svg.outerHTML.slice(0, 80))"""


def sheets(pdf: bytes) -> int:
    """How many sheets of paper a PDF has."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


@contextlib.contextmanager
def jupyter_shown(page):
    """All of Jupyter, by the reader's key; the reading view again afterwards, where the page was in it."""
    reading = page.locator("body.pondheat-reading").count()
    if reading:
        page.keyboard.press("F8")
    yield
    if reading:
        page.keyboard.press("F8")
        page.locator("body.pondheat-reading").wait_for(state="attached")


def choose_from_menu(page, menu: str, entry: re.Pattern | str) -> None:
    """Choose an entry of a menu, by the names on the screen."""
    with jupyter_shown(page):
        page.get_by_role("menuitem", name=menu, exact=True).click()
        page.get_by_role("menuitem", name=entry, exact=isinstance(entry, str)).click()


def restart_python(page, workbook: Workbook, name: str) -> None:
    """Give the page on view a new Python, its outputs cleared, as it is on another day, and run it."""
    choose_from_menu(page, "Kernel", re.compile("^Restart Kernel and Clear Outputs"))
    page.get_by_role("button", name="Confirm Kernel Restart").click()
    page.wait_for_function("() => !document.querySelector('.jp-OutputArea-output')")
    wait_until_ready(page, workbook, name)
    choose_from_menu(page, "Run", "Run All Cells")
    wait_until_run(page)


def open_lesson(page, workbook: Workbook, name: str) -> None:
    """Open a page of the workbook and wait until it has run by itself, to its last cell."""
    page.goto(workbook.address(name), wait_until="commit")
    wait_until_run(page)


def wait_until_run(page) -> None:
    """Wait until the page has run and its outputs are drawn.

    Until its own output is drawn, a cell shows what it showed when it last ran; a control that isn't drawn yet is an
    empty element.
    """
    page.locator(".jp-OutputArea .ph-control").first.wait_for(state="attached", timeout=60000)
    page.wait_for_function(
        """() => document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden)[data-python=idle][data-run=done]")
        && !document.querySelector(".jp-OutputArea-output .lm-Widget:empty, .pondheat-still")""",
        timeout=60000,
    )


def drag(page, slider, to: float, moves: int = 30, seconds: float = 1.5) -> float:
    """Drag a slider's thumb to a value; returns the moment at which the mouse was released."""
    slider.scroll_into_view_if_needed()
    least, most, now = (float(slider.evaluate(f"node => node.{of}")) for of in ("min", "max", "value"))

    def across(value: float) -> float:
        return 12 + (box["width"] - 24) * (value - least) / (most - least)

    box = slider.bounding_box()
    # Unlike a move of the mouse, this waits until nothing moves or lies over the slider any more.
    slider.hover(position={"x": across(now), "y": box["height"] / 2})
    box = slider.bounding_box()
    page.mouse.down()
    assert slider.evaluate("node => node.matches(':active')"), f"the thumb at {now:g}, in {box}, wasn't caught"
    for move in range(1, moves + 1):
        page.wait_for_timeout(1000 * seconds / moves)
        page.mouse.move(box["x"] + across(now + (to - now) * move / moves), box["y"] + box["height"] / 2)
    page.mouse.up()
    return time.perf_counter()


@contextlib.contextmanager
def whole_in_view(page, width: int = 1280):
    """Make the window as tall as the page's content, so that nothing is scrolled out of view."""
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


def barriers(page) -> list[str]:
    """Findings of axe in the whole document, as a reader has it before them, a line each."""
    from axe_playwright_python.base import AXE_SCRIPT

    # axe takes for hidden what is scrolled away, and anything in a body without height, as Lab's is.
    with whole_in_view(page):
        page.add_style_tag(content="body { height: 100vh; }")
        page.evaluate(AXE_SCRIPT)
        found = page.evaluate(
            "how => axe.run(document, how)",
            {"resultTypes": ["violations", "passes"], "rules": {"target-size": {"enabled": True}}},
        )
    looked_at = {rule["id"] for rule in found["passes"]}
    if missing := {"color-contrast", "label", "svg-img-alt", "target-size"} - looked_at:
        raise AssertionError(f"axe saw nothing to judge by {sorted(missing)}: the page was not in view")
    return [
        f"{rule['impact']}, {rule['id']}: {rule['help']}: {node['html'][:200]} {node['failureSummary']}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def open_everything(page) -> None:
    """Show everything that a reader can: panels, arithmetic, hints, and a sentence under every answer."""
    questions = page.locator("fieldset.ph-control:not(.ph-folded)")
    how_sure = questions.filter(has_text="How sure are you?", visible=True)  # comes out once a guess is made
    for question in questions.filter(has_not_text="How sure are you?", visible=True).all():
        question.get_by_role("radio").first.check()
    unguessed = page.locator(".jp-OutputArea-output .ph-predict:not(.ph-guessed)")
    while unguessed.count():
        wait_for(lambda: how_sure.count() or not unguessed.count(), 30)
        if left := how_sure.count():
            how_sure.first.get_by_role("radio").first.check()
            wait_for(lambda: how_sure.count() < left, 30)
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

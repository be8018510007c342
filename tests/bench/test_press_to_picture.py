"""From a key press to the frame after the new picture, in the browser. Run with  pytest tests/bench -s

Printed and never asserted, as a slow day must not fail a test.

Beside each panel is a bare one whose Python draws nothing: what is left is the browser's and JupyterLab's part. Page 00
comes twice: right after an installation, while the hourly model is being compiled in the background, and afterwards.
Where a panel has a likely range, the time from the last press to its first and to its last sight follows. On page 16
it is the time from the Enter that ends an answer to the frame in which the pond's picture has followed.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
import kit

pytest.importorskip("playwright")

PRESSES = 20
BARE_PAGE = "97_bare.ipynb"
BARE = """
# Code for this panel: press the dots to read it
from ipywidgets import HTML, VBox
from pondheat.show.controls import Slider, live

bare, said = Slider("Bare", 0, 0, 40), HTML()

def redraw(values):
    said.value = f"<p>{values['bare']:.0f}</p>"

live({"bare": bare}, redraw, HTML())
VBox([bare, said.add_class("ph-right")])
""".strip()
BOX = "Mean depth; or the volume, if you know it"
DEPTH, WIND = "Depth of the pond", "Wind that reaches the water"
RIGHT, LEFT = "ArrowRight", "ArrowLeft"
FIRST = "00_start_here.ipynb"
# Each press leads to a new state, so that no cached result can answer it.
PAGES = {
    BARE_PAGE: [("Bare", RIGHT)] * PRESSES,
    FIRST: [("Water temperature", RIGHT)] * PRESSES,  # from its lower end
    "07_covers.ipynb": [("U-value of the cover", RIGHT)] * PRESSES,
    "10_a_season.ipynb": [(DEPTH, RIGHT)] * 10 + [(WIND, RIGHT)] + [(DEPTH, LEFT)] * 9,
    "15_payback.ipynb": [("Price of the cover", RIGHT)] * PRESSES,
    # A form has boxes instead of sliders: each gets its next depth once the answer to the last one is complete.
    "16_your_pond.ipynb": [(BOX, f"{1 + count / 50:.2f} m") for count in range(PRESSES)],
}
CLOCK = """moved => {
  let pressed = 0;
  window.took = [];
  document.addEventListener(moved, () => { pressed = performance.now(); }, true);
  new MutationObserver(() => {
    if (!pressed) return;
    const from = pressed;
    pressed = 0;
    requestAnimationFrame(() => window.took.push(performance.now() - from));
  }).observe(document.querySelector(".ph-right"), { childList: true, subtree: true, characterData: true });
}"""


RANGE = """() => {
  const line = document.querySelector(".ph-likely"), began = performance.now(), seen = [];
  window.ranges = seen;
  if (!line) return;
  new MutationObserver(() => {
    const text = document.querySelector(".ph-likely")?.textContent ?? "";
    const runs = Number(text.match(/of (\\d+) runs/)?.[1] ?? 0);
    if (runs && runs !== seen.at(-1)?.runs) seen.push({ runs, after: performance.now() - began });
  }).observe(line.parentElement, { childList: true, subtree: true, characterData: true });
}"""


def until_the_range(page, steps) -> list[dict]:
    """Runs behind each sight of the likely range after one more press, and the milliseconds until it is there."""
    page.wait_for_timeout(3000)  # until the range of the last press is complete
    page.evaluate(RANGE)
    page.get_by_role("slider", name=steps[-1][0]).first.press(RIGHT)
    if page.locator(".ph-likely").count():
        page.wait_for_function("() => window.ranges.at(-1)?.runs === 200")
    return page.evaluate("() => window.ranges")


def presses(page, steps):
    """Milliseconds from each press to the frame that shows its result."""
    if steps[0][0] == BOX:
        page.evaluate(CLOCK, "keydown")
        for count, (name, typed) in enumerate(steps, 1):
            page.wait_for_timeout(2500)
            page.get_by_role("textbox", name=name).fill(typed)
            page.keyboard.press("Enter")
            page.wait_for_function("count => window.took.length >= count", arg=count)
        return page.evaluate("() => window.took")
    page.get_by_role("slider", name=steps[0][0]).first.press("Home")
    page.wait_for_timeout(1000)  # until the redraw for Home is over
    page.evaluate(CLOCK, "input")
    for count, (name, key) in enumerate(steps, 1):
        page.get_by_role("slider", name=name).first.press(key)
        page.wait_for_function("count => window.took.length >= count", arg=count)
    return page.evaluate("() => window.took")


def test_from_the_command_to_an_answered_move(tmp_path, capsys):
    """With the browser open, as most readers' is: a first start, on which the model is compiled, and a second one."""
    found = kit.find_chromium()
    if found is None:
        pytest.skip("no Chromium found")
    from playwright.sync_api import sync_playwright

    clone = tmp_path / "clone"
    kit.copy_clone(clone, {})
    took = {}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch_persistent_context(
            tmp_path / "profile", executable_path=found, args=kit.CHROMIUM_OPTIONS
        )
        for start in ("first", "second", "third"):
            page = browser.new_page()
            workbook = kit.Workbook(clone, tmp_path / start)
            page.goto(workbook.opened, wait_until="commit")
            slider = page.locator(".jp-OutputArea .ph-panel input[type=range]:enabled").first
            slider.wait_for()
            said = page.locator(".jp-OutputArea .ph-panel .ph-sentence").first
            before, seen = said.inner_text(), time.perf_counter()
            slider.press(RIGHT)
            page.wait_for_function(
                "before => document.querySelector('.jp-OutputArea .ph-panel .ph-sentence').innerText !== before",
                arg=before,
            )
            took[start] = seen - workbook.started, time.perf_counter() - workbook.started
            subprocess.run([sys.executable, "-m", "pondheat", "prepare"], cwd=clone, check=True, capture_output=True)
            page.close()
            workbook.end()
        browser.close()
    with capsys.disabled():
        for start, (live, moved) in took.items():
            print(f"\n  {start} start: the panel is live after {live:.1f} s and has moved after {moved:.1f} s", end="")
        print()


def test_press_to_picture(tmp_path, capsys):
    found = kit.find_chromium()
    if found is None:
        pytest.skip("no Chromium found")
    from playwright.sync_api import sync_playwright

    clone = tmp_path / "clone"
    kit.copy_clone(clone, {BARE_PAGE: ("# Bare", BARE)})
    workbook = kit.Workbook(clone, tmp_path / "home")
    ranges: dict[str, list[dict]] = {}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=kit.CHROMIUM_OPTIONS)

        def measured(name: str, warming: bool = False) -> list[float]:
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            kit.open_lesson(page, workbook, name)
            if (ask := page.get_by_label("I don't know, show me").first).count() and not name.startswith("00"):
                ask.check()
            took = presses(page, PAGES[name])
            if not warming and PAGES[name][0][0] != BOX:
                ranges[name] = until_the_range(page, PAGES[name])
            page.close()
            workbook.close_pages()
            return took

        cold = measured(FIRST, warming=True)
        subprocess.run([sys.executable, "-m", "pondheat", "prepare"], cwd=clone, check=True, stdout=subprocess.DEVNULL)
        found_of = {name: measured(name) for name in PAGES}
        browser.close()
    workbook.end()
    bare = statistics.median(found_of[BARE_PAGE])
    with capsys.disabled():
        for name, took in {f"{FIRST}, still compiling": cold, **found_of}.items():
            median = statistics.median(took)
            print(
                f"\n  {name:<38} median {median:4.0f} ms, slowest {max(took):4.0f} ms of {len(took)} presses; "
                f"{median / bare:4.1f} times the bare panel",
                end="",
            )
        for name, sights in ranges.items():
            if sights:
                told = ", ".join(f"{sight['runs']} runs after {sight['after']:.0f} ms" for sight in sights)
                print(f"\n  {name:<38} likely range of {told}", end="")
        print()

"""Take pictures of the workbook's pages in a browser, to look at them.

    python tests/take_pictures.py FOLDER                  every page
    python tests/take_pictures.py FOLDER 00 04_open card  those whose name begins so

Of each page, once it has run: its first screen at 1280 × 800 and 800 × 800 and at a zoom of 200 %, in the dark theme,
with the guess made where the page asks for one, the whole page at 1280, and the printed page.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

from pondheat.core.places import CLONE

sys.path.insert(0, str(CLONE / "tests" / "browser"))

import kit

SCREENS = {"1280": (1280, 800), "800": (800, 800), "200": (640, 400)}  # the last is 1280 × 800 at a zoom of 200 %

PAPER_MARGIN = dict.fromkeys(("top", "bottom", "left", "right"), "10mm")  # as browsers print; less paper, fewer columns


def _pages(folder: Path, asked: list[str]) -> list[str]:
    found = [
        *sorted(folder.glob("*.ipynb")),
        *folder.glob("tutor/*.ipynb"),
        folder / "glossary.md",
        *sorted(folder.glob("cards/*.html")),
    ]
    names = [path.relative_to(folder).as_posix() for path in found]
    return [name for name in names if not asked or name.split("/")[-1].startswith(tuple(asked))]


def _resize(page, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.wait_for_timeout(400)  # lets the page lay itself out anew


def _shoot(page, folder: Path, name: str, kind: str) -> None:
    page.screenshot(path=folder / f"{name}-{kind}.png")


def _open(page, workbook: kit.Workbook, name: str) -> None:
    if name.endswith(".ipynb"):
        kit.open_lesson(page, workbook, name)
    else:
        page.goto(workbook.address(name).replace("%2F", "/"))
        page.locator(".jp-MarkdownViewer, .jp-HTMLViewer iframe").first.wait_for()
    page.wait_for_timeout(500)


def _guess(page) -> bool:
    """Give up on the guess, so that the picture comes; False where the page asks for none."""
    give_up = page.get_by_label("I don't know, show me").first
    if not give_up.count():
        return False
    give_up.check()
    page.locator(".ph-panel").first.wait_for()
    page.wait_for_timeout(500)
    return True


def take(page, workbook: kit.Workbook, name: str, folder: Path) -> None:
    """All pictures of one page."""
    stem = Path(name).stem
    _resize(page, *SCREENS["1280"])
    _open(page, workbook, name)
    for kind, screen in SCREENS.items():
        _resize(page, *screen)
        _shoot(page, folder, stem, kind)
    _resize(page, *SCREENS["1280"])  # else the guess would be scrolled to in the smallest window
    if name.endswith(".ipynb") and _guess(page):
        for kind, screen in SCREENS.items():
            _resize(page, *screen)
            _shoot(page, folder, stem, f"{kind}-guessed")
    _resize(page, *SCREENS["1280"])
    page.emulate_media(color_scheme="dark")
    page.wait_for_timeout(3000)  # Lab loads its other theme behind a splash
    _shoot(page, folder, stem, "dark")
    page.emulate_media(color_scheme="light")
    page.wait_for_timeout(3000)
    (folder / f"{stem}-print.pdf").write_bytes(page.pdf(format="A4", margin=PAPER_MARGIN))
    if name.endswith(".ipynb"):
        page.evaluate("document.activeElement.blur()")
        _resize(page, 1280, _height(page))
        _shoot(page, folder, stem, "whole")


def _height(page) -> int:
    """The window's height in which the whole page is seen [px]."""
    return page.evaluate("""() => {
      const view = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer");
      return Math.ceil(view.getBoundingClientRect().top + view.scrollHeight);
    }""")


def main(arguments: list[str] | None = None) -> int:
    """Take the pictures; returns the exit code."""
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("pages", nargs="*", help="beginnings of page names; none for all")
    args = parser.parse_args(arguments)
    args.folder.mkdir(parents=True, exist_ok=True)
    found = kit.find_chromium()
    if found is None:
        print("No Chromium found: install one, or name it in PONDHEAT_CHROMIUM.", file=sys.stderr)
        return 2
    os.environ.setdefault("PONDHEAT_COMPILE", "0")
    with tempfile.TemporaryDirectory() as room, sync_playwright() as playwright:
        clone = Path(room) / "clone"
        kit.copy_clone(clone, {})  # in which notebooks that were only just edited count as shipped
        workbook = kit.Workbook(clone, Path(room) / "home", "--tutor")
        settings = (
            workbook.folder / ".jupyter/lab/user-settings/@jupyterlab/apputils-extension/themes.jupyterlab-settings"
        )
        settings.parent.mkdir(parents=True, exist_ok=True)
        settings.write_text('{"adaptive-theme": true}')  # the theme follows what the browser says of the system
        browser = playwright.chromium.launch(executable_path=found, args=kit.CHROMIUM_OPTIONS)
        try:
            for name in _pages(workbook.folder, args.pages):
                with kit.watched_page(browser.new_context(viewport={"width": 1280, "height": 800})) as page:
                    take(page, workbook, name, args.folder)
                    print(name, page.watch.faults() or "", flush=True)
                workbook.close_pages()
        finally:
            browser.close()
            workbook.end()
    return 0


if __name__ == "__main__":
    sys.exit(main())

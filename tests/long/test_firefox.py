"""Every page of the workbook is live in a second browser, Firefox, and its first slider answers to the keyboard."""

import asyncio
import os
import sys
from pathlib import Path

import pytest
from firefox import Firefox, find_firefox

from pondheat.core.places import CLONE, WORKBOOK

sys.path.insert(0, str(CLONE / "tests" / "browser"))
import kit

ARROW_RIGHT = "\ue014"
SLIDER = "[...document.querySelectorAll('.ph-panel input[type=range]')].find(node => node.offsetParent)"
SENTENCE = "[...document.querySelectorAll('.ph-panel .ph-sentence')].map(node => node.innerText).join()"


async def page_is_live(firefox: Firefox, address: str) -> None:
    """Open a page; where it shows a slider before any guess, press an arrow on it."""
    await firefox.open(address)
    await firefox.until("!!document.querySelector('.ph-control')")
    await firefox.until("!!document.querySelector('.jp-NotebookPanel[data-python=idle][data-run=done]')")
    await firefox.until("!document.querySelector('.pondheat-still')")  # which the live controls are still hidden behind
    problems = "[...document.querySelectorAll('[data-mime-type=\"application/vnd.jupyter.stderr\"]')].length"
    assert await firefox.run(problems) == 0
    if await firefox.run(f"!!{SLIDER}"):
        await firefox.click(SLIDER)
        await firefox.until(f"document.activeElement === {SLIDER}")
        await asyncio.sleep(1)  # a click moves the slider, and its sentence follows
        before = await firefox.run(f"[{SLIDER}.value, {SENTENCE}]")
        await firefox.press(ARROW_RIGHT)
        await firefox.until(f"{SLIDER}.value !== {before[0]!r}")
        await firefox.until(f"{SENTENCE} !== {before[1]!r}")


async def all_pages(workbook: kit.Workbook, path: str, profile: Path) -> None:
    async with Firefox(path, profile) as firefox:
        for page in sorted(WORKBOOK.glob("*.ipynb")):
            await page_is_live(firefox, workbook.address(page.name))
            print(f"  live in Firefox: {page.name}")
            workbook.close_pages()


@pytest.mark.long
@pytest.mark.timeout(1800)
@pytest.mark.skipif(os.name != "posix", reason="the command is started and ended as a POSIX process group")
def test_every_page_is_live_in_firefox(tmp_path):
    path = find_firefox()
    if path is None:
        pytest.skip("no Firefox found: install one, or name it in PONDHEAT_FIREFOX")
    kit.copy_clone(tmp_path / "clone", {})
    workbook = kit.Workbook(tmp_path / "clone", tmp_path / "home")
    try:
        asyncio.run(all_pages(workbook, path, tmp_path / "profile"))
    finally:
        workbook.end()

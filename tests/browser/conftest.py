"""A browser, and the workbook opened by its own command in a copy of the clone; every page is watched."""

from __future__ import annotations

import os
from pathlib import Path

import kit
import pytest
from controls_page import CONTROLS, CONTROLS_PAGE, LAST_PAGE, RUNNING, RUNNING_PAGE, SLOW


@pytest.fixture(scope="session")
def clone(tmp_path_factory):
    """A copy of the clone, on a path with a space and an umlaut, with pages more: all controls, a slow one, a last one."""
    copy = tmp_path_factory.mktemp("browser") / "a clone für Gäste"
    link = f"# To the [last page]({LAST_PAGE})"
    kit.copy_clone(
        copy,
        {
            CONTROLS_PAGE: ("# The controls", CONTROLS, SLOW, link),
            RUNNING_PAGE: ("# A page that runs for a while", *RUNNING),
            LAST_PAGE: ("# The last page", "print('The last page has run.')"),
        },
    )
    return copy


@pytest.fixture(scope="session")
def pictures(tmp_path_factory):
    """Where screenshots go: the folder that PONDHEAT_PICTURES names, else one of pytest's own."""
    asked = os.environ.get("PONDHEAT_PICTURES")
    folder = Path(asked) if asked else tmp_path_factory.mktemp("pictures")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="module")
def workbook(clone, tmp_path_factory):
    """The command, started once for each file of tests."""
    if os.name != "posix":
        pytest.skip("these tests start and end the command as a POSIX process group")
    running = kit.Workbook(clone, tmp_path_factory.mktemp("person") / "home")
    yield running
    running.end()


@pytest.fixture(scope="module")
def chromium():
    """Chromium; without one these tests are skipped, unless CI or PONDHEAT_NEED_BROWSER=1 asks for them."""
    found = kit.find_chromium()
    if found is None:
        reason = "no Chromium found: install one, or name it in PONDHEAT_CHROMIUM"
        if os.environ.get("CI") == "true" or os.environ.get("PONDHEAT_NEED_BROWSER") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=20000)
    # Per file, not per session: as long as it runs, asyncio thinks a loop is running, and kernels cannot be driven.
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=kit.CHROMIUM_OPTIONS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def profile(chromium):
    """A fresh profile for each file of tests."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    yield context
    context.close()


@pytest.fixture
def page(profile, workbook):
    """A watched page; afterwards nothing hidden may have gone wrong on it."""
    with kit.watched_page(profile) as page:
        yield page
    workbook.close_pages()
    assert page.watch.faults() == {}


@pytest.fixture
def paper(profile):
    """A watched page of its own, without the workbook."""
    with kit.watched_page(profile) as page:
        yield page
    assert page.watch.faults() == {}


@pytest.fixture(scope="module")
def lesson(request, profile, workbook):
    """The page that a file of tests names as PAGE, opened once; nothing hidden may go wrong on it."""
    with kit.watched_page(profile) as page:
        kit.open_lesson(page, workbook, request.module.PAGE)
        yield page
    assert page.watch.faults() == {}


@pytest.fixture(scope="module")
def panel_page(profile, workbook):
    """The page with the controls, live by itself, opened once for a file of tests."""
    from playwright.sync_api import expect

    with kit.watched_page(profile) as page:
        page.goto(workbook.address(CONTROLS_PAGE))
        expect(page.get_by_text("Drawn at 0.")).to_be_visible()
        yield page


@pytest.fixture
def panel(panel_page):
    """The page with the controls, its water at 18 °C and no sentence left from before; nothing hidden goes wrong.

    A test that provokes an error clears `panel.watch` of it.
    """
    box = panel_page.get_by_role("textbox", name="Water temperature")
    for value in ("17", "18"):
        box.fill(value)
        box.press("Enter")
    panel_page.get_by_text("Water 18.0 °C").wait_for()
    yield panel_page
    assert panel_page.watch.faults() == {}

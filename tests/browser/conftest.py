"""A browser, and the workbook opened by its own command in a copy of the clone; errors on any page fail its test."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import kit
import pytest
from controls_page import CONTROLS, CONTROLS_PAGE, LAST_PAGE, RUNNING, RUNNING_PAGE, SLOW

from pondheat.core import compilation
from pondheat.core.places import CLONE


def worker() -> str:
    """The name of this test process among those that run in parallel; empty where it is the only one."""
    return os.environ.get("PYTEST_XDIST_WORKER", "")


def bring_compiled_code(copy: Path) -> bool:
    """Copy what is compiled of the clone, if all is; numba looks for it under a hash of the sources' folder."""
    compiled = compilation.cache_folder()
    if compiled is None or not compilation.is_filled(compiled) or CLONE not in compiled.parents:
        return False
    from numba.core.caching import _CacheLocator

    place = copy / compiled.relative_to(CLONE)
    shutil.copytree(compiled, place)
    for room in (CLONE / "pondheat").iterdir():
        was, is_now = (
            _CacheLocator.get_suitable_cache_subpath(top / "pondheat" / room.name / "_") for top in (CLONE, copy)
        )
        if (place / was).exists():
            (place / was).rename(place / is_now)
    return True


@pytest.fixture(scope="session")
def clone(tmp_path_factory):
    """A copy of the clone, on a path with a space and an umlaut, with three more pages to test controls and links.

    All test processes of a run share it, as compiling its model takes long: the first to ask for it makes it.
    """
    base = tmp_path_factory.getbasetemp()
    place = (base.parent if worker() else base) / "browser"
    copy, made = place / "a clone für Gäste", place / "made"
    try:
        place.mkdir()
    except FileExistsError:
        kit.wait_for(made.exists, 240, lambda: "another test process has not made the copy of the clone")
        return copy
    link = f"# To the [last page]({LAST_PAGE})"
    kit.copy_clone(
        copy,
        {
            CONTROLS_PAGE: ("# The controls", CONTROLS, SLOW, link),
            RUNNING_PAGE: ("# A page that runs for a while", *RUNNING),
            LAST_PAGE: ("# The last page", "print('The last page has run.')"),
        },
    )
    # Once for all kernels: each would otherwise compile the model anew, in the middle of what a browser waits for.
    if not bring_compiled_code(copy):
        subprocess.run([sys.executable, "-m", "pondheat", "prepare"], cwd=copy, check=True, stdout=subprocess.DEVNULL)
    made.touch()
    return copy


@pytest.fixture(scope="session")
def pictures():
    """Takes screenshots of a page into the folder that PONDHEAT_PICTURES names; does nothing where it names none."""
    asked = os.environ.get("PONDHEAT_PICTURES")
    if not asked:
        return lambda page, name: None
    folder = Path(asked)
    folder.mkdir(parents=True, exist_ok=True)
    return lambda page, name: kit.take_screenshots(page, folder, name)


@pytest.fixture(scope="session")
def started(clone, tmp_path_factory):
    """Gives the running command, which is started once for all files; a new one where a test has ended it."""
    if os.name != "posix":
        pytest.skip("these tests start and end the command as a POSIX process group")
    running: list[kit.Workbook] = []
    # The first has its folder where it is by default; the others, which share the clone, each one of their own.
    options = [] if worker() in ("", "gw0") else [f"--folder={clone.parent / worker() / 'my-workbook'}"]

    def give() -> kit.Workbook:
        if running and not running[-1].runs():
            running[-1].restore_folder()
        if not running or not running[-1].runs():
            running.append(kit.Workbook(clone, tmp_path_factory.mktemp("person") / "home", *options))
            # Once the Python that the command starts for its first page is there, it can be ended: see `workbook`.
            kit.wait_for(lambda: running[-1].kernel("00_start_here.ipynb"), 60)
        return running[-1]

    yield give
    for workbook in running:
        workbook.end()


@pytest.fixture(scope="module")
def workbook(started):
    """The command, with the learner's folder as it was when new: no answers, no sheet, no other file's pages.

    One that has just been started keeps the Python that it has started for its first page.
    """
    running = started()
    if running.is_new:
        running.is_new = False
    else:
        running.close_pages()
        running.restore_folder()
    return running


class Browser:
    """Chromium, started when a file of tests first needs it and used by all that follow, as starting it takes long."""

    def __init__(self):
        self.context, self._origins, self._open = None, set(), contextlib.ExitStack()

    def start(self, folder: Path):
        """The browser, started with its profile in this folder if it doesn't run."""
        from playwright.sync_api import expect, sync_playwright

        if self.context is None:
            # These two are of use only where a test fails, or the machine is busy.
            expect.set_options(timeout=60000)
            started = self._open.enter_context(sync_playwright()).chromium.launch_persistent_context(
                folder,
                executable_path=kit.find_chromium(),
                args=kit.CHROMIUM_OPTIONS,
                viewport={"width": 1280, "height": 900},
            )
            started.set_default_timeout(60000)
            started.on("page", lambda page: page.on("framenavigated", lambda frame: self._origins.add(frame.url)))
            self.context = self._open.enter_context(started)
        return self.context

    def forget(self) -> None:
        """Empty the profile, save for JupyterLab's compiled scripts."""
        page = self.context.new_page()
        storage = self.context.new_cdp_session(page)
        for origin in {"/".join(url.split("/")[:3]) for url in self._origins if url.startswith("http")}:
            storage.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
        page.close()
        self._origins.clear()

    def close(self) -> None:
        self._open.close()
        self.context = None


BROWSER = Browser()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(nextitem):
    """Close the browser after the last of this folder's tests.

    While it runs, asyncio believes that a loop is running, and kernels, which other tests need, can't be driven.
    """
    try:
        return (yield)
    finally:
        if nextitem is None or Path(__file__).parent not in nextitem.path.parents:
            BROWSER.close()


@pytest.fixture(scope="session")
def chromium(tmp_path_factory):
    """A folder for Chromium's profile. Without Chromium its tests are skipped.

    With CI=true or PONDHEAT_NEED_BROWSER=1 they fail instead.
    """
    if kit.find_chromium() is None:
        reason = "no Chromium found: install one, or name it in PONDHEAT_CHROMIUM"
        if os.environ.get("CI") == "true" or os.environ.get("PONDHEAT_NEED_BROWSER") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    return tmp_path_factory.mktemp("chromium")


@pytest.fixture(scope="module")
def profile(chromium):
    """The browser, for each file of tests with a profile that remembers nothing but JupyterLab's compiled scripts."""
    yield BROWSER.start(chromium)
    BROWSER.forget()


@pytest.fixture
def page(profile, workbook):
    """A page; errors in its console, its kernel or its network fail the test afterwards."""
    with kit.watched_page(profile) as page:
        yield page
    workbook.close_pages()
    assert page.watch.faults() == {}


@pytest.fixture
def paper(profile):
    """A page for files, without the workbook."""
    with kit.watched_page(profile) as page:
        yield page
    assert page.watch.faults() == {}


@pytest.fixture(scope="module")
def lesson(request, profile, workbook):
    """The notebook that a file of tests names as PAGE, opened once for all its tests."""
    with kit.watched_page(profile) as page:
        kit.open_lesson(page, workbook, request.module.PAGE)
        yield page
    assert page.watch.faults() == {}

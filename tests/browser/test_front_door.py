"""`python -m pondheat` as a newcomer meets it: pages that run by themselves and look like a book, with Jupyter one key
away; no question on leaving, save about the reader's own words; and no stranger's code is run.

The first page has a file of its own. Here one tab visits made pages, one test after another.
"""

import json
import re
import socket
import urllib.error
import urllib.parse
import urllib.request

import kit
import pytest
from controls_page import CONTROLS_PAGE, LAST_PAGE, RUNNING_PAGE
from playwright.sync_api import expect
from test_first_page import frame, is_alone, leaves

ADDED = "01_power_energy_money.ipynb"  # a page of ours, to which somebody adds a cell
# Whether the browser would ask if the page were left now: what Lab and the page answer to the event itself.
ASKS = """() => { const event = document.createEvent("BeforeUnloadEvent"); event.initEvent("beforeunload", false, true);
  window.dispatchEvent(event); return event.defaultPrevented || event.returnValue !== ""; }"""


@pytest.fixture(scope="module")
def tab(profile, workbook):
    """A page of ours, opened by its address."""
    with kit.watched_page(profile) as page:
        page.goto(workbook.address(CONTROLS_PAGE))
        expect(page.get_by_role("heading", name="The controls")).to_be_visible()
        yield page
    assert page.watch.faults() == {}


def is_live(page):
    """The page must be live without a click: a slider that answers, code folded, its top in view."""
    control = page.get_by_role("slider", name="Water temperature")
    expect(control).to_be_visible()
    expect(page.get_by_text("Water 18.0 °C")).to_be_visible()
    assert page.locator(".jp-WindowedPanel-outer").evaluate("node => node.scrollTop") == 0
    expect(page.locator("dialog, .Toastify__toast")).to_have_count(0)
    expect(page.get_by_text("Loading widget")).to_have_count(0)
    control.press("ArrowRight")
    expect(page.get_by_text("Water 18.5 °C")).to_be_visible()


def is_jupyters(page):
    expect(page.get_by_role("menuitem", name="File", exact=True)).to_be_visible()
    expect(page.locator("#jp-main-statusbar")).to_be_visible()
    expect(page.locator(".jp-CodeCell .cm-content").first).to_be_visible()
    assert frame(page)[1] > 44


def printed(page, text):
    """The place where a cell has printed this text, as opposed to the first line of its folded code."""
    return page.locator(".jp-OutputArea-output").get_by_text(text)


def goes_to(page, place):
    """Open a document as the browser's Back does: by its address."""
    page.evaluate(
        "address => { history.pushState({}, '', address); dispatchEvent(new PopStateEvent('popstate')); }",
        f"/doc/tree/{urllib.parse.quote(place)}",
    )


def test_keys_lead_from_the_skip_link_through_the_bar_into_the_page(tab):
    is_alone(tab)
    tab.wait_for_function("document.activeElement.id === 'pondheat-bar'")
    tab.keyboard.press("PageDown")  # scrolls the page, though the bar comes first
    tab.wait_for_function("document.activeElement.closest('.jp-Notebook')")
    tab.evaluate("document.getElementById('pondheat-bar').focus()")
    said = []
    for _ in range(7):
        tab.keyboard.press("Tab")
        said.append(
            tab.evaluate("document.activeElement.getAttribute('aria-label') || document.activeElement.innerText")
        )
    assert said[:3] == ["Skip to the page", "Contents", "Previous page: 97 running"], said
    assert said[3:] == ["Next page: 99 last", "Larger text", "Projector", "Show the code"], said
    tab.keyboard.press("Tab")
    assert tab.evaluate("Boolean(document.activeElement.closest('.jp-NotebookPanel'))")
    tab.get_by_role("button", name="Skip to the page").press("Enter")
    assert tab.evaluate("Boolean(document.activeElement.closest('.jp-Notebook'))")


def test_a_shipped_page_runs_by_itself_and_looking_at_it_does_not_change_it(tab, workbook):
    tab.locator(".jp-WindowedPanel-outer").evaluate("node => { node.scrollTop = 0; }")
    is_live(tab)
    is_alone(tab)
    assert tab.locator(".jp-CodeCell .cm-content:visible, .jp-InputPrompt:visible").count() == 0
    assert not tab.evaluate(ASKS)
    name = CONTROLS_PAGE
    assert (workbook.folder / name).read_bytes() == (workbook.clone / "workbook" / name).read_bytes()


def test_the_code_and_larger_text_are_remembered_and_a_saved_page_is_live_again(tab, workbook):
    """A saved page's outputs name widgets of a kernel that is gone; none of them may be left on the page."""
    own = workbook.folder / CONTROLS_PAGE
    shipped = own.read_bytes()
    heading = tab.get_by_role("heading", name="The controls")
    before = heading.bounding_box()["height"]
    for _ in range(3):
        tab.get_by_role("button", name="Larger text").click()
    expect(tab.get_by_role("button", name="Larger text")).to_be_disabled()
    assert heading.bounding_box()["height"] == pytest.approx(1.5 * before, rel=0.02)
    tab.keyboard.press("F8")
    is_jupyters(tab)
    tab.keyboard.press("Alt+j")
    is_alone(tab)
    tab.get_by_role("button", name="Show the code").click()
    is_jupyters(tab)
    try:
        with tab.expect_response(lambda answer: answer.request.method == "PUT" and CONTROLS_PAGE in answer.url):
            kit.choose_from_menu(tab, "File", re.compile("^Save Notebook(?! As)"))
        kit.wait_for(lambda: b"widget-view" in own.read_bytes(), 20, lambda: "the page was not kept with its outputs")
        workbook.close_pages()
        tab.reload()
        is_live(tab)
        tab.watch.console.clear()  # what Lab may have asked of the Python that had just been ended
        is_jupyters(tab)
        tab.get_by_role("button", name="Hide the code").click()
        is_alone(tab)
        kit.wait_for(lambda: tab.wait_for_timeout(50) or heading.bounding_box()["height"] > 1.4 * before, 20)
        for _ in range(3):
            tab.get_by_role("button", name="Smaller text").click()
        tab.locator(".jp-Notebook").focus()
        with tab.expect_response(lambda answer: answer.request.method == "PUT" and CONTROLS_PAGE in answer.url):
            tab.keyboard.press("Control+s")  # Jupyter's own key sleeps here; the browser's would save the address
    finally:
        own.write_bytes(shipped)
    assert tab.watch.dialogs == []


def test_a_page_runs_when_linked_to_and_only_unsaved_words_of_the_reader_are_asked_about(tab, workbook):
    own = workbook.folder / LAST_PAGE
    shipped = own.read_bytes()
    tab.get_by_role("link", name="last page").click()
    expect(printed(tab, "The last page has run.")).to_be_visible()
    is_alone(tab)
    assert not tab.evaluate(ASKS) and own.read_bytes() == shipped
    try:
        tab.keyboard.press("F8")  # a text is edited where Jupyter is shown
        writes(tab, ", with a word of mine")
        kit.wait_for(lambda: tab.wait_for_timeout(50) or tab.evaluate(ASKS), 20, lambda: "nothing is asked")
        tab.keyboard.press("Control+s")
        kit.wait_for(lambda: b"a word of mine" in own.read_bytes(), 20, lambda: "the page was not kept")
        kit.wait_for(lambda: tab.wait_for_timeout(50) or not tab.evaluate(ASKS), 20)
        tab.keyboard.press("F8")
        tab.locator("body.pondheat-reading").wait_for(state="attached")
        assert not tab.evaluate(ASKS)
    finally:
        own.write_bytes(shipped)


def writes(page, words):
    """Write some words at the end of the heading of the last page."""
    heading = page.get_by_role("heading", name="The last page")
    text = page.locator(f"{kit.SEEN} .jp-MarkdownCell .cm-content").first
    kit.wait_for(lambda: page.wait_for_timeout(50) or heading.is_visible() or text.is_visible(), 20)
    if heading.is_visible():  # and not its source, from an earlier time
        heading.dblclick()
    text.press("End")
    page.keyboard.type(words)


def test_leaving_a_page_that_still_runs_asks_nothing(tab):
    goes_to(tab, RUNNING_PAGE)
    expect(printed(tab, "It has begun.")).to_be_visible()
    assert not tab.evaluate(ASKS)


def test_code_that_was_not_shipped_does_not_run(tab, workbook):
    """A stranger's page, a shipped page with one more cell, and one in a folder that might hold its own library."""
    trace = workbook.folder / "it ran"
    ours, page_of_ours = (
        json.loads((workbook.clone / "workbook" / name).read_text(encoding="utf-8")) for name in (CONTROLS_PAGE, ADDED)
    )
    added = (workbook.folder / ADDED).read_bytes()
    more = {
        "cell_type": "code",
        "id": "more",
        "metadata": {},
        "outputs": [],
        "execution_count": None,
        "source": f"open({str(trace)!r}, 'w').close()",
    }
    for cell in page_of_ours["cells"]:
        if cell["cell_type"] == "code":  # as it is when it has not been run
            cell.update(outputs=[], execution_count=None)
    places = {
        "stranger.ipynb": {**ours, "cells": [more]},
        ADDED: {**page_of_ours, "cells": [more, *page_of_ours["cells"]]},
        f"from a friend/{CONTROLS_PAGE}": ours,
    }
    try:
        for place, notebook in places.items():
            path = workbook.folder / place
            path.parent.mkdir(exist_ok=True)
            path.write_text(json.dumps(notebook), encoding="utf-8")
            goes_to(tab, place)
            kit.wait_until_ready(tab, workbook, place)
        tab.wait_for_timeout(1500)  # a shipped page would have begun to run by now
        for place in places:
            goes_to(tab, place)
            expect(tab).to_have_title(re.compile(re.escape(place.split("/")[-1][:12])))  # Lab cuts it there
            prompts = tab.locator(f"{kit.SEEN} .jp-CodeCell .jp-InputPrompt").all_inner_texts()
            assert prompts and not any("*" in prompt or re.search(r"\d", prompt) for prompt in prompts)
            assert tab.locator(f"{kit.SEEN} :is(.jp-OutputArea-output, .pondheat-still)").count() == 0
            expect(tab.locator("#pondheat-bar")).to_be_hidden()  # it is Jupyter's page, not ours
            expect(tab.get_by_role("menuitem", name="File", exact=True)).to_be_visible()
        assert not trace.exists()
        goes_to(tab, LAST_PAGE)
        expect(printed(tab, "The last page has run.")).to_be_visible()  # its heading may be open to be edited
    finally:  # the others stay until the tab is closed: Lab still asks for a page some time after it was left
        (workbook.folder / ADDED).write_bytes(added)


def test_the_browser_asks_about_unsaved_words_when_the_tab_is_closed(tab):
    """Last of the tab: it closes it."""
    goes_to(tab, LAST_PAGE)
    tab.locator("body.pondheat-reading").wait_for(state="attached")
    tab.keyboard.press("F8")
    writes(tab, ", and one more")
    tab.keyboard.press("F8")
    tab.locator("body.pondheat-reading").wait_for(state="attached")
    assert leaves(tab) == ["beforeunload"]
    tab.watch.dialogs.clear()  # it is what this test provokes


@pytest.mark.long
def test_a_bookmark_from_before_a_renumbering_leads_to_the_page_unless_a_file_has_that_name(profile, workbook):
    """By its address in a new tab, and as the browser's Back brings it. No page gets a Python: links need none."""
    former, foggy = "04_moist_air.ipynb", "Does the pond dry up in fog?"
    own = workbook.folder / former
    with kit.watched_page(profile) as page:
        kit.without_python(page)
        page.goto(workbook.address(former))
        expect(page.get_by_role("heading", name=foggy)).to_be_visible()
        assert "/tree/05_moist_air.ipynb" in page.url
        goes_to(page, LAST_PAGE)
        expect(page.get_by_role("heading", name="The last page")).to_be_visible()
        goes_to(page, former)
        expect(page.get_by_role("heading", name=foggy)).to_be_visible()
        try:
            own.write_bytes((workbook.clone / "workbook" / LAST_PAGE).read_bytes())
            goes_to(page, former)
            expect(page.get_by_role("heading", name="The last page")).to_be_visible()
            assert f"/tree/{former}" in page.url and page.watch.faults() == {}
        finally:
            own.unlink()


def test_a_busy_port_another_folder_and_ctrl_c(clone, tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        folder = tmp_path / "mein Teich"
        running = kit.Workbook(clone, tmp_path / "home", "--no-browser", f"--port={port}", f"--folder={folder}")
        assert running.base != f"http://127.0.0.1:{port}"
        assert running.opened is None and (folder / CONTROLS_PAGE).exists()
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(f"{running.base}/api/contents")  # without the token
        kit.wait_for(lambda: running.kernel("00_start_here.ipynb"), 60)  # before any browser has asked for the page
        script = f"{running.base}/lab/extensions/pondheat-open/served/open.js"
        with urllib.request.urlopen(script) as answer:  # or an updated workbook would go on with the old one
            assert answer.headers["Cache-Control"] == "no-cache"
        assert CONTROLS_PAGE in [one["name"] for one in running.ask("contents")["content"]]
        assert running.interrupt() == 0  # while a kernel runs
        said = running.said().splitlines()
        assert said[-1] == "The workbook is closed."
        assert [line for line in said if "Traceback" in line or "y/[n]" in line] == []
        with pytest.raises(OSError):
            urllib.request.urlopen(running.base, timeout=2)
        running.end()

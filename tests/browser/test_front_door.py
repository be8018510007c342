"""`python -m pondheat` as a newcomer meets it: a live first page, no questions, and no stranger's code is run."""

import json
import re
import socket
import urllib.request

import kit
import pytest
from controls_page import CONTROLS_PAGE, LAST_PAGE, RUNNING_PAGE
from playwright.sync_api import expect

FIRST_SLIDER = "Water temperature"
FIRST_SENTENCE = re.compile(r"[£€$]\s?\d")


def expect_live_page(page, slider, sentence):
    """The page must be live without a click: a slider that answers, code folded, its top in view."""
    control = page.get_by_role("slider", name=slider)
    expect(control).to_be_visible()
    told = page.locator(".jp-OutputArea-output").get_by_text(sentence).first
    expect(told).to_be_visible()
    before = told.inner_text()
    assert page.locator(".jp-CodeCell .cm-content:visible").count() == 0
    assert page.locator(".jp-WindowedPanel-outer").evaluate("node => node.scrollTop") == 0
    expect(page.locator("dialog, .Toastify__toast")).to_have_count(0)
    control.press("ArrowRight")
    expect(told).not_to_have_text(before)


def leaves(page) -> list[str]:
    """Close the page as its tab's cross does; returns the kinds of dialog that the browser showed."""
    page.mouse.click(5, 400)  # browsers ask only if the reader has done something
    with page.expect_event("close"):
        page.close(run_before_unload=True)
    return [kind for kind, _ in page.watch.dialogs]


def printed(page, text):
    """The place where a cell has printed this text, as opposed to the first line of its folded code."""
    return page.locator(".jp-OutputArea-output").get_by_text(text)


def test_the_command_opens_the_first_page_live(page, workbook, pictures):
    page.goto(workbook.opened)
    expect_live_page(page, FIRST_SLIDER, FIRST_SENTENCE)
    pictures(page, "first-page")
    assert leaves(page) == []


def test_a_shipped_page_runs_when_opened_reloaded_or_linked_to(page, workbook):
    shipped = (workbook.clone / "workbook" / CONTROLS_PAGE).read_bytes()
    page.goto(workbook.address(CONTROLS_PAGE))
    expect_live_page(page, "Water temperature", re.compile(r"Water 1\d"))
    expect(page.get_by_text("Water 18.5 °C")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Water 18.0 °C")).to_be_visible()
    page.get_by_role("link", name="last page").click()
    expect(printed(page, "The last page has run.")).to_be_visible()
    assert leaves(page) == []
    assert (workbook.folder / CONTROLS_PAGE).read_bytes() == shipped  # looking at a page does not change it


def test_leaving_a_page_that_still_runs_asks_nothing(page, workbook):
    page.goto(workbook.address(RUNNING_PAGE))
    expect(printed(page, "It has begun.")).to_be_visible()
    assert leaves(page) == []


def test_leaving_asks_about_unsaved_text_of_the_reader(page, workbook):
    own = workbook.folder / LAST_PAGE
    shipped = own.read_bytes()
    try:
        for kept in (False, True):
            with kit.watched_page(page.context) as tab:
                tab.goto(workbook.address(LAST_PAGE))
                expect(printed(tab, "The last page has run.")).to_be_visible()
                tab.keyboard.press("F8")  # a text is edited where Jupyter is shown
                tab.get_by_role("heading", name="The last page").dblclick()
                tab.locator(".jp-MarkdownCell .cm-content").press("End")
                tab.keyboard.type(", with a word of mine")
                if kept:
                    tab.keyboard.press("Control+s")
                    kit.wait_for(lambda: b"a word of mine" in own.read_bytes(), 20, lambda: "the page was not kept")
                    tab.wait_for_timeout(500)  # Lab learns a little later that the file is saved
                tab.keyboard.press("F8")
                tab.locator("body.pondheat-reading").wait_for(state="attached")
                assert leaves(tab) == ([] if kept else ["beforeunload"])
    finally:
        own.write_bytes(shipped)


def test_a_page_that_was_saved_is_live_again_when_opened(page, workbook):
    """Its stored outputs name widgets of a kernel that is gone; none of them may be left on the page."""
    own = workbook.folder / CONTROLS_PAGE
    shipped = own.read_bytes()
    try:
        page.goto(workbook.address(CONTROLS_PAGE))
        expect_live_page(page, "Water temperature", re.compile(r"Water 1\d"))
        with page.expect_response(
            lambda answer: answer.request.method == "PUT" and f"/api/contents/{CONTROLS_PAGE}" in answer.url
        ):
            kit.choose_from_menu(page, "File", re.compile("^Save Notebook(?! As)"))
        kit.wait_for(lambda: b"widget-view" in own.read_bytes(), 20, lambda: "the page was not kept with its outputs")
        page.reload()
        expect_live_page(page, "Water temperature", re.compile(r"Water 1\d"))
        expect(page.get_by_text("Loading widget")).to_have_count(0)
    finally:
        own.write_bytes(shipped)


def test_code_that_was_not_shipped_does_not_run(page, workbook):
    """A stranger's page, a shipped page with one more cell, and one in a folder that might hold its own library."""
    trace = workbook.folder / "it ran"
    own = (workbook.folder / CONTROLS_PAGE).read_bytes()
    ours = json.loads((workbook.clone / "workbook" / CONTROLS_PAGE).read_text(encoding="utf-8"))
    more = {
        "cell_type": "code",
        "id": "more",
        "metadata": {},
        "outputs": [],
        "execution_count": None,
        "source": f"open({str(trace)!r}, 'w').close()",
    }
    places = {
        "stranger.ipynb": {**ours, "cells": [more]},
        CONTROLS_PAGE: {**ours, "cells": [more, *ours["cells"]]},
        f"from a friend/{CONTROLS_PAGE}": ours,
    }
    tabs = {}
    try:
        for place, notebook in places.items():
            path = workbook.folder / place
            path.parent.mkdir(exist_ok=True)
            path.write_text(json.dumps(notebook), encoding="utf-8")
            tabs[place] = page.context.new_page()
            tabs[place].goto(workbook.address(place), wait_until="commit")
        for place, tab in tabs.items():
            kit.wait_until_ready(tab, workbook, place)
        page.wait_for_timeout(1500)  # a shipped page would have begun to run by now
        for tab in tabs.values():
            prompts = tab.locator(".jp-CodeCell .jp-InputPrompt").all_inner_texts()
            assert prompts and not any("*" in prompt or re.search(r"\d", prompt) for prompt in prompts)
            assert tab.locator(".jp-OutputArea-output, .pondheat-still").count() == 0
            expect(tab.locator("#pondheat-bar")).to_be_hidden()  # it is Jupyter's page, not ours
            expect(tab.get_by_role("menuitem", name="File", exact=True)).to_be_visible()
        assert not trace.exists()
    finally:
        for place, tab in tabs.items():
            tab.close()
            (workbook.folder / place).unlink()
        (workbook.folder / CONTROLS_PAGE).write_bytes(own)


def test_a_busy_port_and_another_folder(clone, tmp_path):
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
        kit.wait_for(lambda: running.kernel("00_start_here.ipynb"), 20)  # before any browser has asked for the page
        script = f"{running.base}/lab/extensions/pondheat-open/served/open.js"
        with urllib.request.urlopen(script) as answer:  # or an updated workbook would go on with the old one
            assert answer.headers["Cache-Control"] == "no-cache"
        assert CONTROLS_PAGE in [one["name"] for one in running.ask("contents")["content"]]
        assert running.interrupt() == 0
        running.end()


def test_ctrl_c_closes_it_without_a_question(workbook):
    """Must be last in this file: it ends the command while a kernel runs."""
    workbook.ask("kernels", "POST")
    kit.wait_for(lambda: workbook.ask("kernels"), 10)
    assert workbook.interrupt() == 0
    said = workbook.said().splitlines()
    assert said[-1] == "The workbook is closed."
    assert [line for line in said if "Traceback" in line or "y/[n]" in line] == []
    with pytest.raises(OSError):
        urllib.request.urlopen(workbook.base, timeout=2)

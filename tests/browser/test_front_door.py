"""`python -m pondheat` as a newcomer meets it: pages that run by themselves and look like a book, with Jupyter one key
away; no question on leaving, save about the reader's own words; and no stranger's code is run.

The first page has a file of its own. Here one tab visits made pages, one test after another: first the page that has
every control of the workbook.
"""

import itertools
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

GONE = "Python is not running this page. Reload the page to go on."
FORMULAS = "style[id^=MJX]"  # MathJax's, as soon as it is loaded
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
    assert tab.locator(FORMULAS).count() == 0  # loading what sets them takes half a second, and it has none
    assert not tab.evaluate(ASKS)
    name = CONTROLS_PAGE
    assert (workbook.folder / name).read_bytes() == (workbook.clone / "workbook" / name).read_bytes()


# The controls: keys, typing, dragging, Lab's shortcuts, and a kernel that is gone.


@pytest.fixture
def panel(tab):
    """The page with the controls, its water at 18 °C and no message left over.

    A test that provokes an error removes it from `panel.watch`.
    """
    expect(tab.get_by_text("Drawn at ")).to_be_visible()
    box = tab.get_by_role("textbox", name="Water temperature")
    for value in ("17", "18"):
        box.fill(value)
        box.press("Enter")
        tab.get_by_text(f"Water {value}.0 °C").wait_for()
    yield tab
    assert tab.watch.faults() == {}


def slider(panel, name):
    return panel.get_by_role("slider", name=name)


def field(panel, name):
    return panel.get_by_role("textbox", name=name)


def told(panel, name):
    return panel.locator(".ph-control").filter(has=slider(panel, name)).get_by_role("status")


def test_keys(panel):
    water = slider(panel, "Water temperature")
    expect(water).to_have_attribute("aria-valuetext", "18.0 °C")
    water.focus()
    for key, value in (
        ("ArrowRight", "18.5"),
        ("ArrowUp", "19.0"),
        ("ArrowLeft", "18.5"),
        ("Home", "4.0"),
        ("ArrowRight", "4.5"),
        ("End", "30.0"),
        ("ArrowDown", "29.5"),
    ):
        water.press(key)
        expect(water).to_have_attribute("aria-valuetext", f"{value} °C")
    expect(panel.get_by_text("Water 29.5 °C")).to_be_visible()
    for key, grows in (("PageDown", False), ("PageUp", True)):
        before = float(water.input_value())
        water.press(key)
        assert (float(water.input_value()) > before) is grows
        assert abs(float(water.input_value()) - before) > 0.5  # a larger stride than an arrow's


def test_the_focus_is_visible_and_controls_are_large_enough(panel):
    slider(panel, "Water temperature").focus()
    panel.keyboard.press("Tab")
    expect(field(panel, "Water temperature")).to_be_focused()
    panel.keyboard.press("Shift+Tab")
    ring = slider(panel, "Water temperature").evaluate("node => getComputedStyle(node).outline")
    assert "solid" in ring and "3px" in ring
    controls = panel.locator(".ph-control input")
    heights = controls.evaluate_all("nodes => nodes.map(node => node.getBoundingClientRect().height)")
    assert min(heights) >= 24


@pytest.mark.parametrize("typed, value", [("21", "21.0"), ("68 F", "20.0"), ("19.5 °C", "19.5")])
def test_typed(panel, typed, value):
    box = field(panel, "Water temperature")
    box.fill(typed)
    box.press("Enter")
    expect(panel.get_by_text(f"Water {value} °C")).to_be_visible()
    expect(box).to_have_value(value)
    expect(slider(panel, "Water temperature")).to_have_value(value.removesuffix(".0"))
    expect(told(panel, "Water temperature")).to_have_text("")


def test_nonsense_is_answered_and_the_value_kept(panel):
    box = field(panel, "Water temperature")
    for typed, answer in (
        ("warm", "No number was found in “warm”"),
        ("45", "45 °C is outside this control, which runs from 4.0 to 30.0 °C."),
        ("3 kW", "something like 18 °C or 64 °F is needed here."),
    ):
        box.fill(typed)
        box.press("Tab")
        expect(told(panel, "Water temperature")).to_contain_text(answer)
        expect(told(panel, "Water temperature")).to_contain_text("It stays at 18.0 °C.")
        expect(box).to_have_value("18.0")
    box.fill("18.3")
    box.press("Enter")
    expect(told(panel, "Water temperature")).to_have_text("Set to 18.5 °C: this control moves in steps of 0.5.")
    slider(panel, "Water temperature").press("ArrowRight")
    expect(told(panel, "Water temperature")).to_have_text("")
    expect(panel.get_by_text("Water 19.0 °C")).to_be_visible()


def test_an_answer_that_arrives_does_not_overwrite_what_is_being_typed(panel):
    box = field(panel, "Water temperature")
    box.fill("25")
    box.press("Enter")
    box.fill("2")
    expect(panel.get_by_text("Water 25.0 °C")).to_be_visible()
    panel.wait_for_timeout(200)
    expect(box).to_have_value("2")
    box.fill("21")
    box.press("Enter")
    expect(panel.get_by_text("Water 21.0 °C")).to_be_visible()
    expect(box).to_have_value("21.0")


def test_choice(panel):
    group = panel.get_by_role("group", name="Which pond is dearer to heat")
    group.get_by_label("A deep one under a lid").check()
    expect(panel.get_by_text("pond deep.")).to_be_visible()
    panel.keyboard.press("ArrowDown")
    expect(panel.get_by_text("pond shallow.")).to_be_visible()
    expect(group.get_by_label("A shallow one in the wind")).to_be_checked()


def test_labs_shortcuts_do_nothing_in_a_control(panel):
    cells = panel.locator(".jp-Cell")
    before = cells.count()
    for control in (
        slider(panel, "Water temperature"),
        field(panel, "Water temperature"),
        panel.get_by_label("A deep one under a lid"),
    ):
        control.focus()
        panel.keyboard.type("ddaabbxmjk00")  # delete, insert, cut, turn to text, go elsewhere, restart
        expect(control).to_be_focused()
    field(panel, "Water temperature").press("Escape")
    expect(field(panel, "Water temperature")).to_have_value("18.0")
    panel.get_by_role("heading", name="The controls").click()
    panel.keyboard.type("ddaabbxm")  # nor does a stray key outside the controls lose anything
    assert cells.count() == before
    expect(panel.get_by_role("heading", name="The controls")).to_be_visible()


def messages(frames, named):
    return [(moment, found[1]) for moment, frame in frames if (found := re.search(named, frame))]


def test_a_fast_drag_leaves_no_backlog(panel):
    panel.watch.sent.clear()
    panel.watch.received.clear()
    released = kit.drag(panel, slider(panel, "Slow to draw"), 60)
    expect(panel.get_by_text("Drawn at 60.")).to_be_visible()
    everything = messages(panel.watch.sent, rb'"asked":"(.+?)"')
    control = everything[-1][1].split(b":")[0]  # the fixture's last message, of another control, may be among them
    asked = [(moment, message) for moment, message in everything if message.startswith(control)]
    answered = {message: moment for moment, message in messages(panel.watch.received, rb'"seen": "(.+?)"')}
    assert all(answered[before] < moment for (_, before), (moment, _) in itertools.pairwise(asked))  # one at a time
    span = asked[-1][0] - asked[0][0]
    assert 3 <= len(asked) <= span / 0.15 + 2  # of 30 moves, as many as could be drawn at 0.15 s each
    assert sum(moment > released for moment, _ in asked) <= 2  # no more are left to be drawn after the release


def test_an_error_while_drawing_is_shown_in_the_panel(panel):
    night = slider(panel, "Hours of night")
    night.press("End")
    alert = panel.get_by_role("alert")
    expect(alert).to_contain_text("could not work out an answer for these settings (ZeroDivisionError")
    night.press("Home")
    expect(alert).to_have_count(0)
    expect(panel.get_by_text("0 h at 12.0 p")).to_be_visible()
    assert [frame for frame in panel.watch.kernel if "ZeroDivisionError" not in frame] == []
    panel.watch.kernel.clear()  # the trace, folded in the panel, is the error that this test provokes


def test_a_slow_kernel_is_reported_and_what_is_set_last_counts(panel):
    slow = slider(panel, "Slow to draw")
    slow.press("End")
    slow.press("ArrowLeft")  # waits for the answer
    expect(told(panel, "Slow to draw")).to_contain_text("Python has not answered yet.")
    panel.watch.sent.clear()
    slow.press("Home")  # waits no longer
    expect(panel.get_by_text("Drawn at 0.")).to_be_visible()
    expect(told(panel, "Slow to draw")).to_have_text("")
    panel.wait_for_timeout(500)  # in which the one that waited would follow
    assert [value for _, value in messages(panel.watch.sent, rb'"value":([\d.]+)')][-1] == b"0"
    expect(panel.get_by_text("Drawn at 0.")).to_be_visible()


def test_a_lost_kernel_is_reported(panel):
    """Last of these: it ends the page's kernel, twice. The next test gives the page another."""
    water = slider(panel, "Water temperature")
    kit.choose_from_menu(panel, "Kernel", re.compile("^Restart Kernel…"))
    panel.get_by_role("button", name="Confirm Kernel Restart").click()
    expect(told(panel, "Water temperature")).to_have_text(GONE)  # at once, before anything is touched
    kit.choose_from_menu(panel, "Run", "Run All Cells")
    expect(told(panel, "Water temperature")).to_have_text("")
    water.press("ArrowRight")
    expect(panel.get_by_text("Water 18.5 °C")).to_be_visible()

    kit.choose_from_menu(panel, "Kernel", "Shut Down Kernel")
    expect(panel.locator(".pondheat-told")).to_have_text("Python has stopped.")
    water.press("ArrowRight")
    expect(told(panel, "Water temperature")).to_have_text(GONE)
    expect(water).to_have_attribute("aria-valuetext", "18.5 °C")  # what the sentence below it still says


# The front door again.


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
    formula = {"cell_type": "markdown", "id": "formula", "metadata": {}, "source": r"It loses $U A \Delta T$."}
    places = {
        "stranger.ipynb": {**ours, "cells": [more, formula]},
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
        goes_to(tab, "stranger.ipynb")
        expect(tab.locator(f"{kit.SEEN} mjx-container")).to_be_visible()
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
    with kit.watched_page(profile) as page, kit.without_python(page):
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

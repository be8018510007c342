"""The reading view: the workbook's pages under one bar of their own, picture first, with Jupyter one key away."""

import re

import kit
import pytest
from controls_page import LAST_PAGE
from playwright.sync_api import expect

FIRST = "00_start_here.ipynb"
# Where the page on view begins and what its width is, and whether any of Jupyter's bars is on view.
FRAME = """() => {
  const page = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Notebook").getBoundingClientRect();
  const bars = "#jp-menu-panel, #jp-top-panel, #jp-main-statusbar, .jp-SideBar, .jp-NotebookPanel-toolbar";
  const seen = bar => bar.checkVisibility() && bar.offsetWidth && bar.offsetHeight;
  return [page.left, page.top, innerWidth - page.right, innerHeight - page.bottom,
    [...document.querySelectorAll(bars)].filter(seen).length];
}"""
ALONE = [0, 44, 0, 0, 0]


def frame(page):
    return [round(value) for value in page.evaluate(FRAME)]


def is_alone(page):
    kit.wait_for(lambda: page.wait_for_timeout(50) or frame(page) == ALONE, 20, lambda: f"the frame is {frame(page)}")


def is_jupyters(page):
    expect(page.get_by_role("menuitem", name="File", exact=True)).to_be_visible()
    expect(page.locator("#jp-main-statusbar")).to_be_visible()
    expect(page.locator(".jp-CodeCell .cm-content").first).to_be_visible()
    assert frame(page)[1] > 44


def test_the_code_is_shown_by_a_button_and_two_keys_and_that_is_remembered(page, workbook):
    own = workbook.folder / LAST_PAGE
    shipped = own.read_bytes()
    page.goto(workbook.address(LAST_PAGE))
    expect(page.locator(".jp-OutputArea").get_by_text("The last page has run.")).to_be_visible()
    is_alone(page)
    assert page.locator(".jp-CodeCell .cm-content:visible, .jp-InputPrompt:visible").count() == 0
    page.keyboard.press("F8")
    is_jupyters(page)
    page.keyboard.press("Alt+j")
    is_alone(page)
    page.get_by_role("button", name="Show the code").click()
    is_jupyters(page)
    page.reload()
    expect(page.locator(".jp-OutputArea").get_by_text("The last page has run.")).to_be_visible()
    is_jupyters(page)
    page.get_by_role("button", name="Hide the code").click()
    is_alone(page)
    page.keyboard.press("Control+s")  # Jupyter's own key sleeps in the page; the browser's would save the address
    page.wait_for_timeout(300)
    assert page.watch.dialogs == []
    own.write_bytes(shipped)


def test_keys_lead_from_the_skip_link_through_the_bar_into_the_page(page, workbook):
    page.goto(workbook.address(LAST_PAGE))
    expect(page.locator(".jp-OutputArea").get_by_text("The last page has run.")).to_be_visible()
    is_alone(page)
    page.wait_for_function("document.activeElement.id === 'pondheat-bar'")
    said = []
    for _ in range(6):
        page.keyboard.press("Tab")
        said.append(
            page.evaluate("document.activeElement.getAttribute('aria-label') || document.activeElement.innerText")
        )
    assert said[:2] == ["Skip to the page", "Contents"], said
    assert said[2:] == ["Previous page: 98 controls", "Larger text", "Projector", "Show the code"], said
    page.keyboard.press("Tab")
    assert page.evaluate("Boolean(document.activeElement.closest('.jp-NotebookPanel'))")
    page.get_by_role("button", name="Skip to the page").press("Enter")
    assert page.evaluate("Boolean(document.activeElement.closest('.jp-Notebook'))")
    page.reload()
    page.wait_for_function("document.activeElement.id === 'pondheat-bar'")
    page.keyboard.press("PageDown")  # scrolls the page, though the bar comes first
    page.wait_for_function("document.activeElement.closest('.jp-Notebook')")


def test_larger_text_is_remembered(page, workbook):
    page.goto(workbook.address(LAST_PAGE))
    heading = page.get_by_role("heading", name="The last page")
    expect(heading).to_be_visible()
    is_alone(page)
    before = heading.bounding_box()["height"]
    for _ in range(3):
        page.get_by_role("button", name="Larger text").click()
    expect(page.get_by_role("button", name="Larger text")).to_be_disabled()
    assert heading.bounding_box()["height"] == pytest.approx(1.5 * before, rel=0.02)
    page.reload()
    expect(heading).to_be_visible()
    kit.wait_for(lambda: page.wait_for_timeout(50) or heading.bounding_box()["height"] > 1.4 * before, 20)
    for _ in range(3):
        page.get_by_role("button", name="Smaller text").click()


def stored_pages(workbook):
    """The names of the pages whose stored pictures are there, in their order."""
    return sorted(path.name for path in workbook.folder.glob("[0-9][0-9]_*.ipynb") if int(path.name[:2]) < 90)


# Of the page on view: the top of its first control, the foot of its panel's sentence or of its question's last choice.
FIRST_SCREEN = """() => {
  const page = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden)");
  const still = page.querySelector(".pondheat-still:has(.ph-panel, .ph-predict)");
  const seen = [...still.querySelectorAll(".ph-control")].filter(node => node.checkVisibility());
  const asks = still.querySelector(".ph-predict");
  const last = asks ? ".ph-option:last-of-type" : ".ph-sentence, .ph-buttons";
  const foot = (asks ?? still).querySelector(last);
  const first = seen[0].getBoundingClientRect(), title = page.querySelector("h1").getBoundingClientRect();
  return { top: first.top, foot: foot.getBoundingClientRect().bottom, title: title.height,
    wide: page.querySelector(".jp-WindowedPanel-outer").scrollWidth };
}"""


def test_every_page_shows_its_picture_or_its_question_on_the_first_screen(page, workbook):
    """Before Python answers, and without it: what is stored of a page is what is seen first."""
    page.set_viewport_size({"width": 1280, "height": 680})
    page.route("**/api/sessions*", lambda route: None if route.request.method == "POST" else route.continue_())
    names, late = stored_pages(workbook), {}
    assert len(names) == 18
    page.goto(workbook.address(names[0]))
    for name in names:
        page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .pondheat-still").first.wait_for()
        page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) h1").first.wait_for()
        is_alone(page)
        found = page.evaluate(FIRST_SCREEN)
        if found["top"] > 320 or found["foot"] > 680 or found["title"] > 44 or found["wide"] > 1280:
            late[name] = found
        if name != names[-1]:
            page.get_by_role("button", name=re.compile("^Next page")).click()
            page.wait_for_url(re.compile(names[names.index(name) + 1]))
    assert late == {}


def test_the_live_panel_takes_the_stored_ones_place(page, workbook, pictures):
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(workbook.address(FIRST))
    still = page.locator(".pondheat-still input[type=range]").first
    still.wait_for()
    is_alone(page)
    stored = still.bounding_box()
    live = page.get_by_role("slider", name="Water temperature")
    expect(live).to_be_visible()
    expect(page.locator(".jp-Cell:has(.ph-panel) > .pondheat-still").first).to_be_hidden()
    placed = live.bounding_box()
    assert (placed["x"], placed["y"], placed["width"]) == pytest.approx(
        (stored["x"], stored["y"], stored["width"]), abs=4
    )
    kit.wait_until_run(page)
    pictures(page, "reading")
    assert kit.barriers(page) == []


def test_beside_its_text_the_panel_stays_in_view(page, workbook):
    page.set_viewport_size({"width": 1280, "height": 800})
    kit.open_lesson(page, workbook, FIRST)
    panel, prompts = page.locator(".ph-panel").first, page.get_by_role("heading", name="Look", exact=False).first
    beside, left = panel.bounding_box(), prompts.bounding_box()
    assert left["x"] + left["width"] <= beside["x"] and abs(left["y"] - beside["y"]) < 80
    page.set_viewport_size({"width": 800, "height": 800})
    kit.wait_for(
        lambda: page.wait_for_timeout(50) or abs(prompts.bounding_box()["x"] - panel.bounding_box()["x"]) < 4, 20
    )
    assert prompts.bounding_box()["y"] < panel.bounding_box()["y"]
    # At a zoom of 200 %: the slider that has the keys and its picture are on one screen.
    page.set_viewport_size({"width": 640, "height": 400})
    for slider in panel.get_by_role("slider").all():
        slider.focus()
        page.wait_for_timeout(200)
        held, picture = slider.bounding_box(), panel.locator("figure svg").bounding_box()
        assert held["y"] >= 44 and held["y"] + held["height"] <= picture["y"]
        assert picture["y"] + picture["height"] <= 400
    assert page.evaluate("document.documentElement.scrollWidth") <= 640


def test_things_to_try_can_be_ticked_and_stay_ticked(page, workbook):
    page.goto(workbook.address(FIRST))
    ticks = page.get_by_role("checkbox", name="Tried: ", exact=False)
    expect(ticks.first).to_be_visible()
    assert 3 <= ticks.count() <= 4
    ticks.nth(1).focus()
    page.keyboard.press("Space")
    expect(ticks.nth(1)).to_be_checked()
    page.reload()
    expect(ticks.nth(1)).to_be_checked()
    assert [ticks.nth(at).is_checked() for at in (0, 1, 2)] == [False, True, False]
    page.keyboard.press("F8")
    expect(ticks.first).to_be_hidden()  # Jupyter's own view shows the notebook as it is
    page.keyboard.press("F8")


def test_paper_shows_the_page_without_the_bar(page, workbook):
    kit.open_lesson(page, workbook, FIRST)
    page.emulate_media(media="print")
    assert page.locator("#pondheat-bar").is_hidden()
    assert kit.sheets(page.pdf(format="A4")) > 2  # all of the page, not the part that was on view
    page.emulate_media(media="screen")

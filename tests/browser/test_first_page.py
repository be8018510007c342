"""The first page, opened once as the command opens it, and from it the list of pages, the word list and a card.

Its tests follow one another like the visits of a reader, and each leaves the page as the others need it. The workbook
was read before: one exercise of page 07 was right.
"""

import re
from pathlib import Path
from urllib.parse import unquote, urlsplit

import kit
import pytest
from playwright.sync_api import expect
from test_first_path import Panel, plays_with, shows_no_trace, withstands_stray_keys

from pondheat.core.places import CLONE
from pondheat.lesson import progress
from pondheat.show.panels import start_here

FIRST = "00_start_here.ipynb"
SLIDER = "Water temperature"
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


def leaves(page) -> list[str]:
    """Close the page as its tab's cross does; returns the kinds of dialog that the browser showed."""
    page.mouse.click(5, 400)  # browsers ask only if the reader has done something
    with page.expect_event("close"):
        page.close(run_before_unload=True)
    return [kind for kind, _ in page.watch.dialogs]


# Of the page on view: the top of its first control, the foot of its panel's sentence or of its question's last choice.
PAGE, STATE = r"GET .*/api/contents/00_start_here\.ipynb\?", r"PUT .*/lab/api/workspaces/"
FIRST_SCREEN = """() => {
  const page = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden)");
  const still = page.querySelector(".pondheat-still:has(.ph-panel, .ph-predict)");
  const seen = [...still.querySelectorAll(".ph-control")].filter(node => node.checkVisibility());
  const asks = still.querySelector(".ph-predict");
  const last = asks ? ".ph-option:last-of-type" : ".ph-sentence, .ph-buttons";
  const foot = (asks ?? still).querySelector(last), pond = still.querySelector(".ph-situation svg");
  const first = seen[0].getBoundingClientRect(), title = page.querySelector("h1").getBoundingClientRect();
  return { top: first.top, foot: foot.getBoundingClientRect().bottom, title: title.height,
    pond: pond ? pond.getBoundingClientRect().bottom : 0,
    wide: page.querySelector(".jp-WindowedPanel-outer").scrollWidth };
}"""


def is_on_the_first_screen(page) -> None:
    """What is stored of the page on view: its picture or its question is seen at 1280 × 680 without scrolling."""
    page.locator(f"{kit.SEEN} .pondheat-still").first.wait_for()
    page.locator(f"{kit.SEEN} h1").first.wait_for()
    is_alone(page)
    found = page.evaluate(FIRST_SCREEN)
    assert found["top"] <= 320 and max(found["foot"], found["pond"]) <= 680, found
    assert found["title"] <= 44 and found["wide"] <= 1280, found


# What the bar tells of one state of a page's Python after the other, and whether it offers to reload the page.
SAYS = """async states => {
  const { tellState } = await import("/lab/extensions/pondheat-open/served/told.js");
  const signal = { connect: () => {} }, sessionContext = { kernelDisplayStatus: "unknown", isReady: false };
  for (const name of ["statusChanged", "connectionStatusChanged", "kernelChanged"]) sessionContext[name] = signal;
  const told = [];
  const say = tellState({ context: { saveState: signal }, sessionContext }, (...said) => told.push(said));
  for (sessionContext.kernelDisplayStatus of states) say();
  return told;
}"""


@pytest.fixture(scope="module")
def first(profile, workbook):
    """The address that the command has opened. Its Python is let go on once what is stored of the page was looked at.

    No other page gets a Python: links, and what is stored of a page, need none.
    """
    progress.load(workbook.folder).note("7.1", "right")
    workbook.close_pages()  # also the Python that the command has started for this page
    with kit.watched_page(profile) as page, kit.without_python(page) as waiting:
        page.asked = []
        page.on("request", lambda request: page.asked.append(f"{request.method} {request.url}"))
        page.set_viewport_size({"width": 1280, "height": 680})
        page.goto(workbook.opened)
        is_on_the_first_screen(page)
        page.stored = page.locator(".pondheat-still input[type=range]").first.bounding_box()
        kit.wait_for(lambda: page.wait_for_timeout(50) or waiting, 20, lambda: "Python was not asked for")
        waiting.pop().continue_()
        kit.wait_until_run(page)
        yield page
    assert page.watch.faults() == {}


def test_the_page_is_opened_before_lab_saves_its_state(first):
    """Lab puts that off for a second, and would open the page only then."""
    page, state = ([bool(re.match(what, one)) for one in first.asked].index(True) for what in (PAGE, STATE))
    assert page < state


def test_python_is_said_to_be_starting_until_it_is_there_and_gone_only_then(first):
    gone = ["Python has stopped.", True]
    assert first.evaluate(SAYS, ["idle", "unknown", "dead"]) == [["Starting Python …", False], ["", False], gone, gone]


def test_the_live_panel_takes_the_stored_ones_place_without_a_click(first, workbook):
    live = first.get_by_role("slider", name=SLIDER)
    expect(live).to_be_visible()
    expect(first.locator(".jp-Cell:has(.ph-panel) > .pondheat-still").first).to_be_hidden()
    placed = live.bounding_box()
    assert [placed[side] for side in ("x", "y", "width")] == pytest.approx(
        [first.stored[side] for side in ("x", "y", "width")], abs=4
    )
    assert first.locator(".jp-CodeCell .cm-content:visible").count() == 0
    assert first.locator(".jp-WindowedPanel-outer").evaluate("node => node.scrollTop") == 0
    expect(first.locator("dialog, .Toastify__toast")).to_have_count(0)
    assert not [url for url in first.asked if "nbconvert" in url]  # it keeps the server busy for seconds
    passed_on = Path(unquote(urlsplit(workbook.opened).path)).read_text()
    assert 'content="0;' in passed_on  # from the file that holds the token to the page, without Jupyter's pause
    expect(Panel(first, SLIDER).sentence).to_have_text(re.compile(r"[£€$]\s?\d"))


def test_everything_on_it_answers(first, workbook, pictures):
    plays_with(first, SLIDER, "64 F", "18.0 °C")
    four = first.get_by_role("group", name="Which of these four costs most")
    slip, dearest = (four.get_by_label(words) for words in ("Big and deep", "Wide and shallow"))
    slip.check()
    said = first.get_by_text(start_here.FourPonds.SLIPS["Big, deep"])
    expect(said).to_be_visible()
    dearest.check()
    expect(said).to_have_count(0)
    expect(first.get_by_text("Yes. The wide, shallow pond costs most")).to_be_visible()
    shown = first.get_by_role("img", name="Electricity from September to May")
    expect(shown).to_be_visible()
    choices, chart = four.bounding_box(), shown.bounding_box()
    assert choices["x"] + choices["width"] <= chart["x"] and chart["y"] < choices["y"] + choices["height"] / 2
    pictures(first, FIRST[:2])
    box = first.get_by_role("textbox", name=SLIDER)
    withstands_stray_keys(first, workbook, FIRST, first.get_by_role("slider", name=SLIDER), box, dearest)
    shows_no_trace(first)


def test_things_to_try_can_be_ticked(first):
    ticks = first.get_by_role("checkbox", name="Tried: ", exact=False)
    expect(ticks.first).to_be_visible()
    assert 3 <= ticks.count() <= 4
    ticks.nth(1).focus()
    first.keyboard.press("Space")
    expect(ticks.nth(1)).to_be_checked()
    first.keyboard.press("F8")
    expect(ticks.first).to_be_hidden()  # Jupyter's own view shows the notebook as it is
    first.keyboard.press("F8")
    expect(ticks.first).to_be_visible()


def test_no_barrier(first):
    assert kit.barriers(first) == []


def test_forced_colours_leave_no_letters_on_their_own_colour(first):
    """The system's own colours: no box round a text, no light ground that light letters could come to stand on."""
    first.emulate_media(forced_colors="active")
    first.set_viewport_size({"width": 800, "height": 800})
    drawn = first.evaluate("""() => {
      const style = node => getComputedStyle(document.querySelector(`.jp-NotebookPanel:not(.lm-mod-hidden) ${node}`));
      return [style(".jp-MarkdownOutput").borderTopWidth, style(".ph-right").backgroundImage];
    }""")
    first.emulate_media(forced_colors="none")
    first.set_viewport_size({"width": 1280, "height": 680})
    assert drawn == ["0px", "none"]


def test_on_the_projector_a_slider_keeps_its_arrows_but_not_the_page_keys(first):
    slider = first.locator("input[type=range]").first
    first.get_by_role("button", name="Projector").click()
    told = first.locator(".pondheat-part")
    while not slider.is_visible():
        first.keyboard.press("PageDown")
    slider.focus()
    held, part = slider.input_value(), told.inner_text()
    for _ in range(3):
        first.keyboard.press("PageDown")
    assert slider.input_value() == held and told.inner_text() != part
    first.keyboard.press("F9")
    expect(told).to_have_count(0)


def test_beside_its_text_the_panel_stays_in_view(first):
    first.set_viewport_size({"width": 1280, "height": 800})
    first.locator(".jp-WindowedPanel-outer").evaluate("node => { node.scrollTop = 0; }")
    panel, prompts = first.locator(".ph-panel").first, first.get_by_role("heading", name="Look", exact=False).first

    def stand() -> bool:
        beside, left = panel.bounding_box(), prompts.bounding_box()
        return left["x"] + left["width"] <= beside["x"] and abs(left["y"] - beside["y"]) < 80

    kit.wait_for(lambda: first.wait_for_timeout(50) or stand(), 20)
    first.set_viewport_size({"width": 800, "height": 800})
    kit.wait_for(
        lambda: first.wait_for_timeout(50) or abs(prompts.bounding_box()["x"] - panel.bounding_box()["x"]) < 4, 20
    )
    assert prompts.bounding_box()["y"] < panel.bounding_box()["y"]
    assert first.evaluate(kit.COVERED) == [] and first.evaluate(kit.LOOSE) == []
    # At a zoom of 200 %: the slider that has the keys is below its picture, and both are on one screen.
    first.set_viewport_size({"width": 640, "height": 400})
    first.wait_for_timeout(200)
    assert first.evaluate(kit.COVERED) == []
    for slider in panel.get_by_role("slider").all():
        slider.focus()
        held, picture = slider.bounding_box(), panel.locator("figure svg").bounding_box()
        assert picture["y"] + picture["height"] <= held["y"] and held["y"] + held["height"] <= 400
    assert first.evaluate("document.documentElement.scrollWidth") <= 640
    first.set_viewport_size({"width": 1280, "height": 680})


def test_paper_shows_the_page_without_the_bar(first):
    first.emulate_media(media="print")
    assert first.locator("#pondheat-bar").is_hidden()
    assert first.locator(f"{kit.SEEN} .jp-Cell button:visible").count() == 0  # nothing to press on paper
    assert kit.sheets(first.pdf(format="A4")) > 2  # all of the page, not the part that was on view
    first.emulate_media(media="screen")


def at(page, name):
    """Wait until the page shows this document of the workbook."""
    page.wait_for_url(re.compile(rf"/doc/(.+/)?tree/{re.escape(name)}(\?|$)"))
    return page.locator(kit.SEEN)


def opens(page, name):
    """Open a page from the list in the bar."""
    page.locator("#pondheat-bar summary").click()
    page.locator(f"#pondheat-bar a[data-path='{name}']").click()
    return at(page, name)


def shows(page, name, heading):
    expect(at(page, name).get_by_role("heading", name=heading, exact=True)).to_be_visible()


def listed(page):
    """The links of the first page's list."""
    links = page.locator(f"{kit.SEEN} .jp-OutputArea .ph-pages a")
    expect(links.first).to_be_visible()
    return links


def test_the_list_of_pages_counts_what_was_right_and_leads_to_a_page_and_its_last_lines_on_and_back(first, workbook):
    names = [one.get_attribute("href") for one in listed(first).all()]
    assert names == sorted(path.name for path in workbook.folder.glob("[0-9][0-9]_*.ipynb"))
    for number, count in (("04", "0 of 3 right"), ("07", "1 of 3 right")):
        row = first.locator(f".ph-pages li:has(a[href^='{number}_'])")
        expect(row.get_by_role("img", name=count)).to_be_visible()
    listed(first).nth(names.index("01_power_energy_money.ipynb")).press("Enter")
    at(first, "01_power_energy_money.ipynb").get_by_role("link", name="How long does it take to warm my pond?").press(
        "Enter"
    )
    shows(first, "02_warming_water.ipynb", "How long does it take to warm my pond?")
    first.locator(kit.SEEN).get_by_role("link", name="All pages").click()
    at(first, FIRST)


def test_back_and_forward_take_one_press_for_each_page(first):
    at(first, FIRST)
    pages = {
        FIRST: "What does it cost to keep my pond warm?",
        "01_power_energy_money.ipynb": "What does an hour of heating cost?",
        "02_warming_water.ipynb": "How long does it take to warm my pond?",
    }
    for name, heading in list(pages.items())[1:]:
        opens(first, name)
        shows(first, name, heading)
    back, forward = first.go_back, first.go_forward
    for go, at_page in ((back, 1), (back, 0), (forward, 1), (forward, 2), (back, 1), (back, 0)):
        go()
        shows(first, *list(pages.items())[at_page])


@pytest.mark.long
def test_the_glossary_opens_as_text_and_leads_back(first):
    opens(first, FIRST).get_by_role("link", name="glossary", exact=True).click()
    at(first, "glossary.md")
    expect(first.get_by_role("heading", name="Glossary", exact=True)).to_be_visible()
    assert first.locator(".cm-content:visible").count() == 0  # not the raw text
    first.get_by_role("link", name="Page 04").first.press("Enter")
    shows(first, "04_open_surface.ipynb", "Where does the heat go?")
    first.locator(kit.SEEN).get_by_role("link", name="Glossary").press("Enter")
    at(first, "glossary.md")
    expect(first.get_by_role("heading", name="Glossary", exact=True)).to_be_visible()
    first.go_back()
    shows(first, "04_open_surface.ipynb", "Where does the heat go?")


@pytest.mark.long
def test_a_card_opens_from_its_page_prints_and_leads_to_the_first_page(first):
    opens(first, "04_open_surface.ipynb").get_by_role("link", name="The card to print").click()
    first.wait_for_url(re.compile("cards/weigh_the_heat.html"))
    inside = first.frame_locator(".jp-HTMLViewer iframe").last
    expect(inside.get_by_role("heading", name="Weigh the heat")).to_be_visible()
    # By the browser's own printing, the card is as wide as the paper.
    first.emulate_media(media="print")
    first.set_viewport_size({"width": 718, "height": 900})
    held = first.locator(".jp-HTMLViewer:not(.lm-mod-hidden) iframe").last
    assert 600 < held.bounding_box()["width"] <= 718 and held.bounding_box()["height"] > 900
    whole = inside.locator("html")
    assert whole.evaluate("node => node.scrollWidth <= node.clientWidth && node.scrollHeight <= node.clientHeight")
    assert kit.sheets(first.pdf(format="A4")) == 1
    first.emulate_media(media="screen")
    first.set_viewport_size({"width": 1280, "height": 680})
    # For printing, the card alone is put into a frame for a moment.
    first.evaluate("""() => new MutationObserver(changes => changes.forEach(change => {
      for (const node of change.addedNodes) if (node.tagName === "IFRAME") node.addEventListener("load", () => {
        window.printed = node.contentDocument.body.innerText;
        node.contentWindow.print = () => {};
      });
    })).observe(document.body, { childList: true, subtree: true })""")
    first.get_by_role("button", name="Print", exact=True).click()
    first.wait_for_function("(window.printed || '').startsWith('Weigh the heat')")
    with kit.jupyter_shown(first):
        first.get_by_role("menuitem", name="File", exact=True).click()
        printing = first.get_by_role("menuitem", name=re.compile(r"^Print…"))
        expect(printing).not_to_have_attribute("aria-disabled", "true")
        first.keyboard.press("Escape")
        first.get_by_role("button", name="All pages", exact=True).press("Enter")
        at(first, FIRST)


def stored_pages(workbook):
    """The names of the pages whose stored pictures are there, in their order."""
    return sorted(path.name for path in workbook.folder.glob("[0-9][0-9]_*.ipynb") if int(path.name[:2]) < 90)


# A page whose guess stands in the picture's place, and the form; all pages are in the long run.
@pytest.mark.parametrize("number", ["07", "16"])
def test_a_stored_page_shows_its_picture_or_its_question_on_the_first_screen(first, workbook, number):
    name = next(name for name in stored_pages(workbook) if name.startswith(number))
    opens(first, name)
    is_on_the_first_screen(first)


@pytest.mark.long
def test_every_stored_page_shows_its_picture_or_its_question_on_the_first_screen(page, workbook):
    page.set_viewport_size({"width": 1280, "height": 680})
    workbook.close_pages()  # a Python that already runs would put a live page in the stored one's place
    with kit.without_python(page):
        names = stored_pages(workbook)
        assert len(names) == len(list(CLONE.glob("workbook/[0-9][0-9]_*.ipynb")))
        page.goto(workbook.address(names[0]))
        for name in names:
            at(page, name)
            is_on_the_first_screen(page)
            if name != names[-1]:
                page.get_by_role("button", name=re.compile("^Next page")).click()


@pytest.mark.long
def test_after_a_reload_the_ticks_are_there_and_leaving_asks_nothing(first, workbook):
    """Last of the visits: it closes the page. Leaving the live one, by the reload, asks nothing either."""
    opens(first, FIRST)
    ticks = first.get_by_role("checkbox", name="Tried: ", exact=False)
    ticks.nth(1).check()
    first.goto(workbook.address(FIRST), wait_until="commit")
    expect(ticks.nth(1)).to_be_checked()
    assert [ticks.nth(number).is_checked() for number in (0, 1, 2)] == [False, True, False]
    assert leaves(first) == []

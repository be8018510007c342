"""The cards and the glossary on a screen, on paper and in the workbook; links there and back, by mouse and keyboard."""

import re

import kit
import pytest
from playwright.sync_api import expect

FIRST = "00_start_here.ipynb"
CARDS = sorted((kit.CLONE / "workbook" / "cards").glob("*.html"))
cards = pytest.mark.parametrize("card", CARDS, ids=lambda card: card.stem)


@cards
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_card_is_one_sheet_of_paper(paper, card, size):
    paper.goto(card.as_uri())
    assert kit.sheets(paper.pdf(format=size)) == 1
    paper.evaluate("document.body.append(document.body.cloneNode(true))")
    assert kit.sheets(paper.pdf(format=size)) > 1  # so more than one sheet would be seen


@cards
def test_a_card_is_whole_on_a_narrow_screen(paper, card):
    paper.set_viewport_size({"width": 800, "height": 900})
    paper.goto(card.as_uri())
    assert paper.evaluate(kit.CUT) == []
    assert paper.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 16
    paper.add_style_tag(content="table { width: 900px }")
    assert paper.evaluate(kit.CUT) != []


def at(page, name):
    """Wait until the page shows this document of the workbook."""
    page.wait_for_url(re.compile(rf"/doc/(.+/)?tree/{re.escape(name)}(\?|$)"))
    return page


def shows(page, name, heading):
    expect(at(page, name).get_by_role("heading", name=heading, exact=True)).to_be_visible()


def test_the_glossary_opens_as_text_and_leads_back(page, workbook):
    page.goto(workbook.address(FIRST))
    page.get_by_role("link", name="glossary", exact=True).click()
    at(page, "glossary.md")
    expect(page.get_by_role("heading", name="Glossary", exact=True)).to_be_visible()
    assert page.locator(".cm-content:visible").count() == 0  # not the raw text
    page.get_by_role("link", name="Page 04").first.press("Enter")
    shows(page, "04_open_surface.ipynb", "Where does the heat go?")
    page.get_by_role("link", name="Glossary").press("Enter")
    shows(page, "glossary.md", "Glossary")
    page.go_back()
    shows(page, "04_open_surface.ipynb", "Where does the heat go?")
    page.get_by_role("link", name="Glossary").click()
    at(page, "glossary.md").get_by_role("link", name="All pages").first.click()
    at(page, FIRST)


def test_a_card_opens_from_its_page_prints_and_leads_back(page, workbook):
    page.goto(workbook.address("04_open_surface.ipynb"))
    page.get_by_role("link", name="The card to print").click()
    at(page, "cards/weigh_the_heat.html")
    inside = page.frame_locator(".jp-HTMLViewer iframe").last
    expect(inside.get_by_role("heading", name="Weigh the heat")).to_be_visible()
    # For printing, the card alone is put into a frame for a moment.
    page.evaluate("""() => new MutationObserver(changes => changes.forEach(change => change.addedNodes.forEach(node => {
      if (node.tagName === "IFRAME") node.addEventListener("load", () => {
        window.printed = node.contentDocument.body.innerText;
        node.contentWindow.print = () => {};
      });
    }))).observe(document.body, { childList: true, subtree: true })""")
    page.get_by_role("button", name="Print", exact=True).click()
    page.wait_for_function("(window.printed || '').startsWith('Weigh the heat')")
    with kit.jupyter_shown(page):
        page.get_by_role("menuitem", name="File", exact=True).click()
        expect(page.get_by_role("menuitem", name=re.compile(r"^Print…"))).not_to_have_attribute("aria-disabled", "true")
        page.keyboard.press("Escape")
        page.get_by_role("button", name="All pages", exact=True).press("Enter")
    at(page, FIRST)


def test_the_list_of_pages_leads_to_a_page_and_its_last_lines_lead_on_and_back(page, workbook):
    page.goto(workbook.address(FIRST))
    listed = page.locator(".jp-OutputArea .ph-pages a")
    expect(listed.first).to_be_visible()
    names = [one.get_attribute("href") for one in listed.all()]
    assert names == sorted(path.name for path in workbook.folder.glob("[0-9][0-9]_*.ipynb"))
    listed.nth(names.index("01_power_energy_money.ipynb")).click()
    at(page, "01_power_energy_money.ipynb").get_by_role("link", name="How long does it take to warm my pond?").press(
        "Enter"
    )
    shows(page, "02_warming_water.ipynb", "How long does it take to warm my pond?")
    seen = page.locator(".jp-NotebookPanel:visible")
    seen.get_by_role("link", name="All pages").press("Enter")
    at(page, FIRST)
    seen.locator(".jp-OutputArea .ph-pages a").nth(names.index("03_fish_first.ipynb")).press("Enter")
    shows(page, "03_fish_first.ipynb", "Do my fish need the warmth at all?")

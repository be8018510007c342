"""The pages for an American club, with dollars, and with °F and gallons next to °C and cubic metres.

A part of the long run: every page is opened and everything on it brought out; then two things are checked: no quantity
is in °C or cubic metres alone, and axe finds no barrier. With the usual units a page draws a part of what it draws
here. In the usual run tests/core/test_display_units.py looks at what the library writes in these units.
"""

import re

import kit
import pytest
from playwright.sync_api import expect
from test_first_page import FIRST

pytestmark = pytest.mark.long
YOUR_POND = "16_your_pond.ipynb"
PAGES = sorted(path.name for path in (kit.CLONE / "workbook").glob("[0-9][0-9]_*.ipynb"))
MUST_SHOW = {  # something that only an American club sees on these pages
    "01_power_energy_money.ipynb": "A kWh costs 28 ¢",
    "02_warming_water.ipynb": "US gallons",
    "08_falling_water.ipynb": "°F)",
    "09_weather.ipynb": "°F)",
    "10_a_season.ipynb": "°F)",
}
BARE = re.compile(r"\d[ \u00a0](?:°C|m³|K)(?![\w·/])(?!\s+\([^()]*(?:°F|gallons)\))")
DRAWN = """() => [...document.querySelectorAll(".ph-panel, .ph-control, .ph-words, .jp-OutputArea-output pre")]
  .filter(node => node.offsetParent !== null).map(node => node.innerText
    + [...node.querySelectorAll("svg text, svg desc")].map(text => `\\n${text.textContent}`).join("")).join("\\n")"""
CUT_TEXTS = """svg => [...svg.querySelectorAll("text")].filter(text =>
  text.getBoundingClientRect().right > svg.getBoundingClientRect().right + 1).map(text => text.textContent)"""


@pytest.fixture(scope="module")
def workbook(clone, tmp_path_factory):
    """The command with the units of an American club."""
    running = kit.Workbook(
        clone,
        tmp_path_factory.mktemp("american") / "home",
        "--money-and-units",
        "USD, °F, US gallons",
        f"--folder={tmp_path_factory.mktemp('club') / 'my-workbook'}",
    )
    yield running
    running.end()


def test_the_first_page_shows_dollars_and_fahrenheit(page, workbook, pictures):
    kit.open_lesson(page, workbook, FIRST)
    panel = page.locator(".ph-panel").first
    expect(panel.locator(".ph-beside").first).to_have_text("64.4 °F")
    slider = panel.get_by_role("slider", name="Water temperature")
    assert "64.4 °F" in slider.get_attribute("aria-valuetext")
    said = panel.locator(".ph-sentence").first
    expect(said).to_contain_text("$")
    expect(said).not_to_contain_text("£")
    slider.press("ArrowRight")
    expect(panel.locator(".ph-beside").first).to_have_text("65.3 °F")
    expect(panel.get_by_text("¢").first).to_be_visible()
    pictures(page, "american-first")


@pytest.mark.parametrize("name", [name for name in PAGES if name != YOUR_POND])
def test_a_page_has_both_units_and_no_barrier(name, page, workbook, pictures):
    kit.open_lesson(page, workbook, name)
    kit.open_everything(page)
    pictures(page, f"american-{name[:2]}")
    if page.locator(".ph-panel .ph-pair").count():
        for width, height in ((800, 800), (640, 400)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(300)
            assert page.evaluate(kit.COVERED) == []
        page.set_viewport_size({"width": 1280, "height": 900})
    drawn = page.evaluate(DRAWN).replace("\u00a0", " ")
    if name in MUST_SHOW:
        expect(page.get_by_text(MUST_SHOW[name]).first).to_be_attached()
    if MUST_SHOW.get(name) == "°F)" or "gallons" in MUST_SHOW.get(name, ""):
        # What says in which unit to answer names that unit alone.
        drawn = re.sub(r"such as [\d.]+ K\.", "", drawn.replace("Write it as 18 °C or 64 °F", ""))
        assert [drawn[max(0, one.start() - 40) : one.end() + 20] for one in BARE.finditer(drawn)] == []
        for picture in page.locator("figure.ph-figure").filter(has_text="°C", visible=True).all():
            title = picture.locator("figcaption").inner_text()
            if ", °C" in title:
                assert ", °C (°F)" in title and picture.locator("svg text", has_text="(").count() >= 3
            assert picture.locator("svg").evaluate(CUT_TEXTS) == []
    assert kit.barriers(page) == []


def test_your_pond_and_its_decision_sheet(page, workbook, pictures):
    kit.open_lesson(page, workbook, YOUR_POND)
    for label, size in (("Length", "13 ft"), ("Width", "8 ft"), ("depth", "4 ft")):
        box = page.get_by_role("textbox", name=re.compile(label, re.IGNORECASE)).first
        box.fill(size)
        box.press("Tab")
    page.get_by_text("Your decision sheet is ready").wait_for(timeout=120000)
    page.get_by_text("All choices, as a table").click()
    expect(page.locator("table", has_text="°F").first).to_be_visible()
    pictures(page, "american-your-pond")
    texts = page.evaluate("""() => [...document.querySelectorAll("figure.ph-figure svg text")].map(text => {
      const box = text.getBoundingClientRect();
      return [text.textContent.trim(), box.left, box.right];
    })""")
    amounts, waters = (
        [box for said, *box in texts if re.fullmatch(sought, said)]
        for sought in (r"\$[\d.,]+", r"−?\d+\.\d \(−?\d+\.\d\)")
    )
    # A choice that fails the fish or the set point says so in words where the others have their water.
    assert len(amounts) >= len(waters) > 5 and max(right for _, right in amounts) < min(left for left, _ in waters)
    sheet = next(workbook.folder.glob("*report.html")).read_text(encoding="utf-8").split('id="appendix"')[0]
    assert "US gallons" in sheet and "°F" in sheet and "£" not in sheet
    for switch in reversed(page.get_by_role("switch").all()):  # what one shows moves all that are below it
        switch.check()
    kit.open_everything(page)
    assert kit.barriers(page) == []

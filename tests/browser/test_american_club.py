"""An American club: dollars, °F and gallons beside what the pages reckon in, asked for by one line."""

import re

import kit
import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect  # noqa: E402


@pytest.fixture(scope="module")
def workbook(clone, tmp_path_factory):
    """The command with the line of an American club."""
    folder = tmp_path_factory.mktemp("club") / "my-workbook"
    running = kit.Workbook(
        clone,
        tmp_path_factory.mktemp("american") / "home",
        "--money-and-units",
        "USD, °F, US gallons",
        f"--folder={folder}",
    )
    running.learners = folder
    yield running
    running.end()


def test_dollars_and_degrees_fahrenheit_stand_beside(page, workbook, pictures):
    kit.open_lesson(page, workbook, "00_start_here.ipynb")
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
    page.screenshot(path=pictures / "usual-american.png")


def test_volumes_in_gallons_and_exercises_in_dollars(page, workbook):
    kit.open_lesson(page, workbook, "02_warming_water.ipynb")
    kit.open_everything(page)
    expect(page.get_by_text("US gallons").first).to_be_attached()
    kit.open_lesson(page, workbook, "01_power_energy_money.ipynb")
    expect(page.get_by_text("A kWh costs 28 ¢").first).to_be_attached()


BARE = re.compile(r"\d[ \u00a0](?:°C|m³|K)(?![\w·/])(?!\s+\([^()]*(?:°F|gallons)\))")
DRAWN = """() => [...document.querySelectorAll(".ph-panel, .ph-control, .ph-words, .jp-OutputArea-output pre")]
  .filter(node => node.offsetParent !== null).map(node => node.innerText
    + [...node.querySelectorAll("svg text, svg desc")].map(text => `\\n${text.textContent}`).join("")).join("\\n")"""


@pytest.mark.parametrize("name", ["02_warming_water", "08_falling_water", "09_weather", "10_a_season"])
def test_nothing_that_a_page_draws_is_in_celsius_or_cubic_metres_alone(name, page, workbook, pictures):
    kit.open_lesson(page, workbook, f"{name}.ipynb")
    kit.open_everything(page)
    drawn = page.evaluate(DRAWN).replace("Write it as 18 °C or 64 °F", "")
    assert "°F)" in drawn
    assert [drawn[max(0, one.start() - 40) : one.end() + 20] for one in BARE.finditer(drawn)] == []
    kit.take_screenshots(page, pictures, f"usual-{name}")
    for picture in page.locator("figure.ph-figure").filter(has_text="°C", visible=True).all():
        title = picture.locator("figcaption").inner_text()
        if ", °C" in title:
            assert ", °C (°F)" in title and picture.locator("svg text", has_text="(").count() >= 3
        cut = picture.locator("svg").evaluate("""svg => [...svg.querySelectorAll("text")].filter(text =>
          text.getBoundingClientRect().right > svg.getBoundingClientRect().right + 1).map(text => text.textContent)""")
        assert cut == []


def test_the_choices_and_the_decision_sheet_have_it(page, workbook, pictures):
    kit.open_lesson(page, workbook, "16_your_pond.ipynb")
    for label, size in (("Length", "13 ft"), ("Width", "8 ft"), ("depth", "4 ft")):
        box = page.get_by_role("textbox", name=re.compile(label, re.IGNORECASE)).first
        box.fill(size)
        box.press("Tab")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_text("Your decision sheet is ready").wait_for(timeout=120000)
    page.get_by_text("All choices, as a table").click()
    expect(page.locator("pre", has_text=re.compile(r"water °C +°F")).first).to_be_visible()
    kit.take_screenshots(page, pictures, "usual-your-pond")
    texts = page.evaluate("""() => [...document.querySelectorAll("figure.ph-figure svg text")].map(text => {
      const box = text.getBoundingClientRect();
      return [text.textContent.trim(), box.left, box.right];
    })""")
    amounts, waters = (
        [box for said, *box in texts if re.fullmatch(sought, said)]
        for sought in (r"\$[\d.\u202f]+", r"−?\d+\.\d \(−?\d+\.\d\)")
    )
    assert len(amounts) == len(waters) > 5 and max(right for _, right in amounts) < min(left for left, _ in waters)
    sheet = next(workbook.learners.glob("*report.html")).read_text(encoding="utf-8").split('id="appendix"')[0]
    assert "US gallons" in sheet and "°F" in sheet and "£" not in sheet

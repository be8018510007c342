"""An American club: dollars, °F and gallons beside what the pages reckon in, asked for by one line."""

import kit
import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect  # noqa: E402


@pytest.fixture(scope="module")
def workbook(clone, tmp_path_factory):
    """The command with the line of an American club."""
    running = kit.Workbook(clone, tmp_path_factory.mktemp("american") / "home", "--money-and-units", "USD, °F, US gallons",
                           f"--folder={tmp_path_factory.mktemp('club') / 'my-workbook'}")
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

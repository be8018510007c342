"""Projector mode: larger type, one part at a time, by keys alone, and everything restored afterwards."""

import kit
from playwright.sync_api import expect

HEADINGS = (
    "[...document.querySelectorAll('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-RenderedMarkdown :is(h1, h2)')]"
    ".filter(node => node.offsetParent).map(node => node.textContent)"
)


def focused(page):
    return page.evaluate("document.activeElement.getAttribute('type')")


def test_parts_are_turned_by_keys_and_the_page_is_restored(page, workbook):
    page.set_viewport_size({"width": 1280, "height": 800})
    kit.open_lesson(page, workbook, "07_covers.ipynb")
    all_parts = page.evaluate(HEADINGS)
    size = """(() => { const text = document.querySelector('.jp-RenderedMarkdown p'), zoom = node => node
      ? (+getComputedStyle(node).zoom || 1) * zoom(node.parentElement) : 1;
      return parseFloat(getComputedStyle(text).fontSize) * zoom(text); })()"""
    before = page.evaluate(size)
    page.keyboard.press("F9")
    told = page.locator(".pondheat-part")
    expect(told).to_contain_text("Part 1 of")
    assert page.evaluate(HEADINGS) == all_parts[:1] and page.evaluate(size) > 1.3 * before
    assert page.locator("#pondheat-bar").is_hidden()
    page.keyboard.press("PageDown")
    expect(told).to_contain_text("Part 2 of")
    assert focused(page) == "radio"
    page.keyboard.press("ArrowDown")  # the second choice, then how sure, by keys
    expect(page.get_by_text("How sure are you?")).to_be_visible()
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    slider = page.get_by_role("slider").first
    expect(slider).to_be_visible()
    # What to try and the panel, side by side, whole on the screen, and no other part.
    look = page.get_by_role("heading", name="Look")
    expect(look).to_be_visible()
    assert [heading for heading in page.evaluate(HEADINGS) if "Look" not in heading] == []
    sentence = page.locator(".ph-panel .ph-sentence:visible").first
    kit.wait_for(lambda: page.wait_for_timeout(50) or look.bounding_box()["y"] < 200, 20)
    assert look.bounding_box()["x"] < slider.bounding_box()["x"]
    for part in (page.locator(".pondheat-beside:visible ol"), page.locator(".ph-panel figure:visible").first, sentence):
        assert part.bounding_box()["y"] + part.bounding_box()["height"] <= told.bounding_box()["y"]
    slider.focus()
    held = slider.input_value()
    page.keyboard.press("ArrowRight")
    assert slider.input_value() != held
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for _ in range(3):
        page.keyboard.press("PageUp")
    expect(told).to_contain_text("Part 1 of")
    page.keyboard.press("F9")
    expect(told).to_have_count(0)
    assert page.evaluate(HEADINGS) == all_parts and page.evaluate(size) == before
    expect(page.get_by_role("button", name="Projector")).to_be_visible()


def test_opened_by_its_button_a_slider_keeps_its_arrows_but_not_the_page_keys(page, workbook):
    kit.open_lesson(page, workbook, "00_start_here.ipynb")
    slider = page.locator("input[type=range]").first
    page.get_by_role("button", name="Projector").click()
    told = page.locator(".pondheat-part")
    while not slider.is_visible():
        page.keyboard.press("PageDown")
    slider.focus()
    held, part = slider.input_value(), told.inner_text()
    page.keyboard.press("PageDown")
    page.keyboard.press("PageDown")
    page.keyboard.press("PageDown")
    assert slider.input_value() == held and told.inner_text() != part


def test_the_tutors_page_counts_hands_by_keys(clone, profile, tmp_path):
    running = kit.Workbook(clone, tmp_path / "home", "--tutor", f"--folder={tmp_path / 'mine'}")
    try:
        assert running.opened is None or "tutor/for_the_tutor.ipynb" in running.said()
        with kit.watched_page(profile) as page:
            page.goto(running.address("tutor/for_the_tutor.ipynb").replace("%2F", "/"))
            kit.wait_until_run(page)
            for letter, hands in (("A", 2), ("B", 7)):
                slider = page.get_by_role("slider", name=f"Hands for {letter}")
                slider.focus()
                for _ in range(hands):
                    page.keyboard.press("ArrowRight")
            expect(page.get_by_text("Most agree, 7 of 9.")).to_be_visible()
            page.get_by_role("radio", name="A", exact=True).check()
            expect(page.get_by_text("Most chose another, B: 7 of 9.")).to_be_visible()
            page.get_by_role("link", name="How to run an evening").click()
            expect(page.get_by_role("heading").first).to_be_visible()
            assert page.watch.faults() == {}
    finally:
        running.end()

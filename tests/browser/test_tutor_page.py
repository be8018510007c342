"""The tutor's own page: a link to how an evening is run, and hands counted by keys."""

import kit
import pytest
from playwright.sync_api import expect


@pytest.mark.long
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

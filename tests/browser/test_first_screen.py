"""At 1280 × 680, what a browser leaves of 1280 × 800, a page's panel is seen down to the sentence with its answer.

On a page that asks first, its question and choices are seen before the choice, and picture and answer after it.
"""

import re

import kit
import pytest

from pondheat.core.places import CLONE

pytestmark = pytest.mark.long  # the usual run has the choices in `test_first_page`, a guess in `test_first_path`
PAGES = [path.name for path in sorted(CLONE.glob("workbook/[0-9][0-9]_*.ipynb"))]
# Of the first panel or guess of the page on view: the feet of what a reader must see, and how far the page is scrolled.
FEET = """() => {
  const page = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden)");
  const first = page.querySelector(".jp-OutputArea :is(.ph-predict, .ph-panel)");
  const parts = first.matches(".ph-predict:not(.ph-guessed)") ? { choices: ".ph-option" } : {
    picture: ".ph-figure > svg, .ph-fit svg", controls: ".ph-left .ph-control, .ph-fit button",
    answer: ".ph-panel .ph-sentence" };
  const feet = { scrolled: page.querySelector(".jp-WindowedPanel-outer").scrollTop };
  for (const [name, selector] of Object.entries(parts)) {
    const seen = [...first.querySelectorAll(selector)]
      .filter(node => node.checkVisibility() && !node.closest(".ph-chart"));
    const shown = name === "controls" || name === "choices" ? seen : seen.slice(0, 1);
    feet[name] = Math.round(Math.max(...shown.map(node => node.getBoundingClientRect().bottom)));
  }
  return feet;
}"""
SHOW_ME = re.compile("^(I don't know|I've made my guess before), show me$")


def is_seen(page, *parts: str) -> None:
    """These parts of the page end on its first screen."""
    page.wait_for_timeout(300)  # lets the page lay itself out
    feet = page.evaluate(FEET)
    assert set(feet) == {"scrolled", *parts}
    assert feet.pop("scrolled") == 0 and max(feet.values()) <= 680 and min(feet.values()) > 160, feet


@pytest.mark.parametrize("name", [name for name in PAGES if not name.startswith("16")])
def test_choices_then_picture_controls_and_answer_are_on_the_first_screen(page, workbook, name):
    page.set_viewport_size({"width": 1280, "height": 680})
    kit.open_lesson(page, workbook, name)
    asks = page.locator(f"{kit.SEEN} .ph-predict:not(.ph-guessed)").first
    if asks.count():
        is_seen(page, "choices")
        asks.get_by_label(SHOW_ME).check()
        page.locator(f"{kit.SEEN} .ph-guessed .ph-panel .ph-sentence").first.wait_for()
    is_seen(page, "picture", "controls", "answer")


def all_is_seen_now_and_after_another_choice(page) -> None:
    """Once guessed, and again after choosing again, a page's picture, controls and answer are seen."""
    asks = page.locator(f"{kit.SEEN} .ph-predict").first
    page.locator(f"{kit.SEEN} .ph-guessed .ph-panel .ph-sentence").first.wait_for()
    is_seen(page, "picture", "controls", "answer")
    asks.get_by_role("button", name="Choose again").first.click()
    asks.locator(".ph-guess").get_by_role("radio").nth(1).click()
    asks.locator(".ph-guess input").first.wait_for(state="hidden")  # one line again
    is_seen(page, "picture", "controls", "answer")


@pytest.mark.parametrize("name", [name for name in PAGES if name[:2] not in ("00", "07", "16")])  # 07: test_first_path
def test_after_a_guess_its_reply_picture_and_answer_are_on_the_first_screen(page, workbook, name):
    page.set_viewport_size({"width": 1280, "height": 680})
    kit.open_lesson(page, workbook, name)
    asks = page.locator(f"{kit.SEEN} .ph-predict").first
    asks.locator(".ph-guess").get_by_role("radio").first.check()
    asks.get_by_label("Just a guess").check()
    all_is_seen_now_and_after_another_choice(page)

"""A newcomer's way through four pages, by keys and mouse: each is live by itself, answers, keeps what was done, and is
not harmed by a stray key.

The `page` fixture sees to it that nothing went wrong unseen on any page, and that nothing was asked of another machine.
"""

import importlib
import json
import re

import kit
import pytest
from playwright.sync_api import expect

from pondheat.lesson import progress
from pondheat.lesson.marking import SIGNS, Exercise
from pondheat.show.pages import PredictFirst
from pondheat.show.panels import start_here

FIRST = "00_start_here.ipynb"
# Page: its first slider, what is typed into its box (far from where the mouse lets go), how that is shown, an exercise.
LESSONS = {
    "04_open_surface": ("Wind at the water", "5.5", "5.5 m/s", "4.1"),
    "07_covers": ("Hours covered, each night", "21", "21 h", "7.1"),
    "12_tariffs": ("Hours covered, each night", "21", "21 h", "12.1"),
}
STRAY = ("d", "d", "x", "a", "b", "m", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight")


class Panel:
    """A panel on a page, found by the name of its first slider, with its picture and its sentence."""

    def __init__(self, page, name):
        self.slider = page.get_by_role("slider", name=name)
        self.box = page.get_by_role("textbox", name=name)
        self.told = page.locator(".ph-control").filter(has=self.slider).get_by_role("status")
        whole = page.locator(".ph-panel").filter(has=self.slider)
        self.sentence, self.picture = whole.locator(".ph-sentence").first, whole.get_by_role("img").first

    def answers(self, act):
        """Do something; the sentence and the picture must both change."""
        sentence, picture = self.sentence.inner_text(), self.picture.inner_html()
        act()
        expect(self.sentence).not_to_have_text(sentence)
        kit.wait_for(lambda: self.picture.inner_html() != picture, 20, lambda: f"the picture stayed: {picture[:300]}")


def plays_with(page, name, typed, said):
    """Move a slider by arrows, page keys, end keys, mouse and its box."""
    panel = Panel(page, name)
    for key in ("ArrowRight", "PageUp", "Home", "End", "ArrowLeft"):
        panel.answers(lambda key=key: panel.slider.press(key))
    least, most = (float(panel.slider.get_attribute(of)) for of in ("min", "max"))
    panel.answers(lambda: kit.drag(page, panel.slider, least + (most - least) / 4, moves=6, seconds=0.2))
    panel.box.fill(typed)
    panel.answers(lambda: panel.box.press("Enter"))
    expect(panel.slider).to_have_attribute("aria-valuetext", said)
    panel.box.fill("warm")
    panel.box.press("Enter")
    expect(panel.told).to_contain_text("No number was found in “warm”")
    expect(panel.told).to_contain_text(f"It stays at {said}.")


def question(page, topic):
    """A page's question, as a group of choices."""
    return page.get_by_role("group", name=topic.QUESTION, exact=True)


def exercise(page, key):
    """The box of one exercise, which must show the printed numbers, and a way to answer it."""
    box = page.get_by_role("group", name=Exercise(key).text(), exact=True)

    def answer(typed, says):
        box.get_by_role("textbox", name="Your answer").fill(typed)
        box.get_by_role("button", name="Check", exact=True).click()
        expect(box.get_by_role("status")).to_contain_text(says)

    return box, answer


def answers(page, key):
    """Each misconception has its own sentence, nonsense is asked back, the right answer is confirmed."""
    asked = Exercise(key).question
    right, roads = asked.values()
    _, answer = exercise(page, key)
    for road in asked.misconceptions:
        answer(f"{roads[road.name]:.6g}", f"{SIGNS['a common slip']} {road.sentence}")
    answer("a few", f"{SIGNS['not read']} There's no number in that")
    answer(f"{right:.6g}", SIGNS["right"])


def sources(path):
    """A notebook's cells without their outputs; None while the file is being written."""
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    except ValueError:
        return None
    return [(cell["id"], cell["cell_type"], "".join(cell["source"])) for cell in cells]


def withstands_stray_keys(page, workbook, name, *controls):
    """Press Lab's shortcut keys in each control; the page that Lab then saves must be the shipped one, cell by cell."""
    for control in controls:
        control.focus()
        for key in STRAY:
            page.keyboard.press(key)
        expect(page.locator(":focus")).to_have_attribute("data-lm-suppress-shortcuts", "true")
    file, shipped = workbook.folder / name, workbook.clone / "workbook" / name
    with page.expect_response(lambda answer: answer.request.method == "PUT" and f"/api/contents/{name}" in answer.url):
        kit.choose_from_menu(page, "File", re.compile("^Save Notebook(?! As)"))
    kept = kit.wait_for(lambda: sources(file), 20, lambda: "the page was not kept")
    assert kept == sources(shipped)
    file.write_bytes(shipped.read_bytes())  # without the outputs of a kernel that will be gone


def shows_no_trace(page):
    assert "Traceback" not in page.locator(".jp-Notebook").text_content()
    expect(page.get_by_role("alert")).to_have_count(0)


def kept(workbook):
    return json.loads((workbook.folder / progress.NAME).read_text(encoding="utf-8"))


def test_the_first_page(page, workbook, pictures):
    kit.open_lesson(page, workbook, FIRST)
    plays_with(page, "Water temperature", "64 F", "18.0 °C")
    four = page.get_by_role("group", name="Which of these four costs most")
    slip, dearest = (four.get_by_label(words) for words in ("Big and deep", "Wide and shallow"))
    slip.check()
    said = page.get_by_text(start_here.FourPonds.SLIPS["Big, deep"])
    expect(said).to_be_visible()
    dearest.check()
    expect(said).to_have_count(0)
    expect(page.get_by_text("Yes. The wide, shallow pond costs most")).to_be_visible()
    expect(page.get_by_role("img", name="Electricity from September to May")).to_be_visible()
    pictures(page, FIRST[:2])
    withstands_stray_keys(
        page,
        workbook,
        FIRST,
        page.get_by_role("slider", name="Water temperature"),
        page.get_by_role("textbox", name="Water temperature"),
        dearest,
    )
    shows_no_trace(page)
    assert kit.barriers(page) == []


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson(page, workbook, pictures, name):
    """Guess, look, work by hand. On the first page the guess is confident and wrong; the next page returns to it."""
    slider, typed, said, key = LESSONS[name]
    topic = importlib.import_module(f"pondheat.show.panels.{name[3:]}")
    kit.open_lesson(page, workbook, f"{name}.ipynb")
    panel, asked = Panel(page, slider), question(page, topic)
    expect(panel.slider).to_be_hidden()
    chosen = next(iter(topic.WORDS)) if name == "04_open_surface" else topic.RIGHT
    asked.get_by_label(topic.OPTIONS[chosen], exact=True).check()
    expect(page.get_by_text(PredictFirst.HOW_SURE)).to_be_visible()
    expect(panel.slider).to_be_hidden()
    page.get_by_role("group", name="How sure are you?").get_by_label("Sure", exact=True).check()
    expect(panel.slider).to_be_visible()
    expect(page.get_by_text(PredictFirst.ON if chosen == topic.RIGHT else topic.WORDS[chosen])).to_be_visible()
    plays_with(page, slider, typed, said)

    answers(page, key)
    box, _ = exercise(page, key)
    assert kept(workbook)["answers"][key] == "right"
    pictures(page, name[:2])
    withstands_stray_keys(
        page,
        workbook,
        f"{name}.ipynb",
        panel.slider,
        panel.box,
        box.get_by_role("textbox", name="Your answer"),
        box.get_by_role("button", name="Check"),
        page.locator(".ph-fold > summary").first,
        asked.get_by_role("button", name="Choose again"),
    )
    if name == "07_covers":
        earlier = importlib.import_module("pondheat.show.panels.open_surface")
        again = question(page, earlier)
        expect(page.get_by_text("From page 04. You were sure then")).to_be_visible()
        again.get_by_label(earlier.OPTIONS[earlier.RIGHT], exact=True).check()
        expect(page.get_by_text("That's right.", exact=True)).to_be_visible()
    shows_no_trace(page)
    kit.open_everything(page)
    assert kit.barriers(page) == []


def test_what_was_done_outlives_the_kernel(page, workbook):
    """Must be last in this file: it counts what the earlier tests have done."""
    name = "04_open_surface.ipynb"
    before = kept(workbook)
    kit.open_lesson(page, workbook, name)
    kit.choose_from_menu(page, "Kernel", re.compile("^Restart Kernel…"))
    page.get_by_role("button", name="Confirm Kernel Restart").click()
    gone = page.get_by_text("Python is not running this page.").first
    expect(gone).to_be_visible()
    assert kept(workbook) == before
    kit.wait_until_ready(page, workbook, name)
    kit.choose_from_menu(page, "Run", "Run All Cells")
    expect(gone).to_have_count(0)
    right, _ = Exercise("4.2").question.values()
    exercise(page, "4.2")[1](f"{right:.6g}", SIGNS["right"])
    assert kept(workbook)["answers"] == {**before["answers"], "4.2": "right"}

    page.get_by_role("link", name="All pages").click()
    for number, count in (("04", "2 of 3 right"), ("07", "1 of 3 right"), ("12", "1 of 4 right")):
        link = page.get_by_role("link", name=re.compile(f"^{number} "))
        row = page.locator(".ph-pages").get_by_role("listitem").filter(has=link)
        expect(row.get_by_role("img", name=count)).to_be_visible()
